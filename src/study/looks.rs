//! When the runs of a load or a cell are looked at, and where a search looks next.
//!
//! Numbers of runs are fixed beforehand and each look has its share of the chance of error (Bonferroni), so that all looks
//! together err no more often than was promised, and the answer depends on nothing but the runs.

/// Runs before the first look, if the budget allows: a few agree by accident.
const FIRST_RUNS: u32 = 10;
/// Runs before the first look at one machine alone, its share of the chance of error, and that of the second look: what
/// plainly fails shows in a few runs, so surely that a share is enough which leaves the later looks the runs they would take
/// without it; and what never goes wrong shows as soon as so many runs can show that.
const PLAINLY: u32 = 20;
const PLAIN_SHARE: f64 = 0.01;
const SECOND_SHARE: f64 = 0.5;
/// Runs of a glance, which tells nothing but how a load looks.
const GLANCE: u32 = 4;
/// Shares of the budget and of the error of few looks. The last has the most: what never happens can only be shown by many
/// runs.
const FEW: [(f64, f64); 3] = [(1.0 / 16.0, 0.1), (0.25, 0.1), (1.0, 0.8)];

/// One look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// After so many runs in all.
    pub runs: u32,
    /// Its share of the chance of error.
    pub error_share: f64,
}

/// How many looks are few: a glance and those after it.
pub const FEW_LOOKS: usize = 1 + FEW.len();

/// Looks for a search of many loads that share one chance of error, a glance first.
pub fn few(budget: u32) -> [Look; FEW_LOOKS] {
    let [first, second, last] = FEW.map(|(part, error_share)| Look {
        runs: ((f64::from(budget) * part).round() as u32)
            .max(FIRST_RUNS)
            .min(budget),
        error_share,
    });
    let glance = Look {
        runs: GLANCE.min(budget),
        error_share: 0.0,
    };
    [glance, first, second, last]
}

/// Looks at one machine, where `shown_by` is the number of runs that can show something never to happen with a share of the
/// chance of error.
pub fn one_machine(budget: u32, shown_by: impl Fn(f64) -> u32) -> Vec<Look> {
    looks((PLAINLY, budget), shown_by)
}

fn looks((plainly, budget): (u32, u32), shown_by: impl Fn(f64) -> u32) -> Vec<Look> {
    let early = [
        (plainly, PLAIN_SHARE),
        (shown_by(SECOND_SHARE), SECOND_SHARE),
    ];
    let mut looks: Vec<Look> = Vec::new();
    let mut left = 1.0;
    for (runs, error_share) in early {
        if runs < budget && looks.last().is_none_or(|look| look.runs < runs) {
            looks.push(Look { runs, error_share });
            left -= error_share;
        }
    }
    looks.push(Look {
        runs: budget,
        error_share: left,
    });
    looks
}

/// As [`one_machine`], for one of many cells of which each has its chance of error, and none is read by itself.
pub fn one_cell(budget: u32, shown_by: impl Fn(f64) -> u32) -> Vec<Look> {
    looks((FIRST_RUNS, budget), shown_by)
}

/// The places half-way between neighbours that are `unlike` and do not yet stand side by side.
pub fn half_way<T>(known: &[(u32, T)], unlike: impl Fn(&T, &T) -> bool) -> Vec<u32> {
    known
        .windows(2)
        .filter(|pair| pair[0].0 + 1 < pair[1].0 && unlike(&pair[0].1, &pair[1].1))
        .map(|pair| pair[0].0 + (pair[1].0 - pair[0].0) / 2)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_machine_is_looked_at_when_something_can_be_shown() {
        let runs = |budget, needed| -> Vec<u32> {
            let looks = one_machine(budget, |_| needed);
            looks.iter().map(|look| look.runs).collect()
        };
        assert_eq!(runs(200, 72), [20, 72, 200]);
        assert_eq!(runs(60, 72), [20, 60]);
        assert_eq!(runs(200, 12), [20, 200]);
        assert_eq!(runs(5, 72), [5]);
        let cell: Vec<u32> = one_cell(200, |_| 72).iter().map(|look| look.runs).collect();
        assert_eq!(cell, [10, 72, 200]);
    }

    #[test]
    fn shares_of_the_error_add_up_to_all_of_it() {
        let one = |budget| one_machine(budget, |_| 72);
        let looks = [
            few(200).to_vec(),
            one_cell(200, |_| 72),
            one_cell(3, |_| 72),
        ];
        for looks in looks.into_iter().chain([one(3), one(72), one(200)]) {
            let sum: f64 = looks.iter().map(|look| look.error_share).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{looks:?}");
        }
    }

    /// A sixteenth of 200 runs is 12.5; fewer than ten runs tell nothing, and more than there are cannot be made.
    #[test]
    fn few_looks_are_a_glance_a_sixteenth_a_quarter_and_all() {
        let runs = |budget| few(budget).map(|look| look.runs);
        assert_eq!(runs(200), [4, 13, 50, 200]);
        assert_eq!(runs(60), [4, 10, 15, 60]);
        assert_eq!(runs(6), [4, 6, 6, 6]);
        assert_eq!(runs(3), [3, 3, 3, 3]);
        assert_eq!(few(200).map(|look| look.error_share), [0.0, 0.1, 0.1, 0.8]);
    }
}
