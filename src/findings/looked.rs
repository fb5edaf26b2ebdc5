//! What stands behind the chances at a wheel: how many pockets were followed, and how rare a stall could have been missed.

use super::sentences::{Finding, Teller};
use super::summary::LEVEL;
use super::words::{count, figure, percent};
use crate::contact::chances::Tally;
use crate::stats::proportion::{clopper_pearson, zero_event_bound};

impl Teller<'_> {
    /// What a close look at wheel `n` saw, if there was one.
    pub(super) fn looked(&self, n: usize) -> Option<Finding> {
        let plan = self.plan(n);
        let counts = &plan.looked()?.counts;
        let (all, line, alone) = (counts.all(), counts.line(), counts.alone());
        let taken = |tally: Tally| percent(tally.shares().take);
        let text = format!(
            "A close look at `{}` followed {}: they took {} of a line and {} of lone marbles, {}.",
            plan.name,
            count(u64::from(all.passes), "pocket"),
            taken(line),
            taken(alone),
            stalls(all)
        );
        Some(Teller::say(&plan.name, all.stalled == 0, text))
    }
}

/// How many of the pockets stalled the drive, and how sure that is.
fn stalls(all: Tally) -> String {
    let (stalled, passes) = (u64::from(all.stalled), u64::from(all.passes));
    if stalled == 0 {
        let rarest = zero_event_bound(passes, LEVEL).filter(|bound| *bound > 0.0);
        let bound = rarest.map_or(String::new(), |b| format!(" (95 % sure: fewer than 1 in {})", figure(1.0 / b)));
        return format!("and none stalled the drive{bound}");
    }
    let share = clopper_pearson(stalled, passes, LEVEL);
    let one_in = |share: Option<f64>| share.filter(|s| *s > 0.0).map_or("?".to_owned(), |s| figure(1.0 / s));
    format!("and {stalled} stalled the drive (95 % sure: 1 in {} to 1 in {})", one_in(share.high), one_in(share.low))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rule of three: none of 300 leaves fewer than 1 in 100 (J. A. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743).
    #[test]
    fn none_seen_is_not_none() {
        let of = |stalled| Tally { passes: 300, taken: 290, stalled, lost: 0 };
        assert_eq!(stalls(of(0)), "and none stalled the drive (95 % sure: fewer than 1 in 101)");
        assert!(stalls(of(3)).starts_with("and 3 stalled the drive (95 % sure: 1 in "), "{}", stalls(of(3)));
    }
}
