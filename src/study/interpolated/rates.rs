//! Chances of several classes over the numbers of a place: each class has odds of its own, and all classes of a group go by
//! the place alike.

use rayon::prelude::*;

use super::{FOLDS, Foreseen, HeldOut};
use crate::stats::regression::{RegressionPlane, ShareReading, chance, logit, ridge_chance};

/// How often something happened, of how many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct HitCount {
    /// So often.
    pub hits: u32,
    /// Of so many.
    pub trials: u32,
}

/// One look: where its place is (as `Columns::at` has it), and what happened, class by class.
#[derive(Clone, Debug)]
pub struct RateLook {
    /// Where.
    pub at: Vec<f64>,
    /// What.
    pub counts: Vec<HitCount>,
}

/// Chances by class and place.
#[derive(Clone, Debug)]
pub struct Rates {
    /// The group of each class.
    groups: Vec<usize>,
    /// Chance of each class where its group is as usual.
    usual: Vec<f64>,
    /// Which of the numbers of a place the chances go by.
    by: Vec<usize>,
    /// How the logits of each group go by these.
    planes: Vec<RegressionPlane>,
}

/// What one look tells of a group, all its classes together.
#[derive(Clone, Copy, Debug)]
struct GroupCount {
    hits: f64,
    trials: f64,
    /// Logit of the usual chance of as many of each class.
    logit: f64,
}

/// What looks tell of their groups, as it is seen from the usual chances of some of them.
struct Prepared<'a> {
    looks: Vec<&'a RateLook>,
    usual: Vec<f64>,
    /// By look and group; `None` where nothing varies.
    counts: Vec<Vec<Option<GroupCount>>>,
}

/// The ridge penalty: hardly any, but enough where chances go from 0 to 1 at once.
const PENALTY: f64 = 1.0;
/// Numbers that chances go by, at most.
const MOST: usize = 8;
/// What one more number must take off the deviance of looks that were not used (H. Akaike, "A new look at the statistical
/// model identification", IEEE Trans. Autom. Control 19 (1974) 716).
const WORTH: f64 = 2.0;
/// What a class of few is thought to have seen as its group usually does.
const BORROWED: f64 = 1.0;
/// Correlation of what happens at one place beyond its numbers: many pockets of one look tell less than as many of many
/// looks (D. A. Williams, "Extra-binomial variation in logistic linear models", Appl. Stat. 31 (1982) 144).
const ALIKE: f64 = 0.02;
/// No chance that is foreseen is judged to be surer than this.
const SUREST: f64 = 1e-3;

impl Rates {
    /// The chances that foresee best what they were not made from: number after number is added that helps most, as long as
    /// one helps (M. A. Efroymson, "Multiple regression analysis", in Mathematical Methods for Digital Computers, 1960). How
    /// well looks are foreseen is judged of looks that had no part in that choice either.
    pub fn of(looks: &[RateLook], groups: &[usize], what: Foreseen) -> (Rates, HeldOut) {
        let all: Vec<&RateLook> = looks.iter().collect();
        let parts: Vec<[f64; 4]> = (0..FOLDS)
            .into_par_iter()
            .map(|fold| {
                let rates = Rates::chosen(&others(&all, fold), groups);
                let held_out: Vec<&RateLook> =
                    all.iter().skip(fold).step_by(FOLDS).copied().collect();
                rates.held_out(&held_out)
            })
            .collect();
        let sum = |n: usize| parts.iter().map(|part| part[n]).sum::<f64>();
        let weights = sum(0).max(f64::MIN_POSITIVE);
        let held_out = HeldOut {
            element: 0,
            what,
            off: (sum(1) / weights).sqrt(),
            noise: (sum(2) / weights).sqrt(),
            misjudged: sum(3) / looks.len().max(1) as f64,
        };
        (Rates::chosen(&all, groups), held_out)
    }

    /// Of looks that were not used: trials, squares of what is off and of what chance alone has off, by trials; and how many
    /// were misjudged.
    fn held_out(&self, looks: &[&RateLook]) -> [f64; 4] {
        let mut sums = [0.0; 4];
        for look in looks {
            let trials: f64 = look
                .counts
                .iter()
                .map(|count| f64::from(count.trials))
                .sum();
            let (off, noise) = self.off(look);
            let misjudged = f64::from(u8::from(self.misjudges(look)));
            for (sum, more) in
                sums.iter_mut()
                    .zip([trials, trials * off, trials * noise, misjudged])
            {
                *sum += more;
            }
        }
        sums
    }

    /// Numbers are added one by one.
    fn chosen(looks: &[&RateLook], groups: &[usize]) -> Rates {
        let folds: Vec<(Prepared, Prepared)> = (0..FOLDS)
            .map(|fold| {
                let used = Prepared::of(others(looks, fold), groups);
                let held_out = looks.iter().skip(fold).step_by(FOLDS).copied();
                let held_out = used.seen_from(held_out.collect(), groups);
                (used, held_out)
            })
            .collect();
        let foreseen = |by: &[usize]| -> f64 {
            let one =
                |(used, held_out): &(Prepared, Prepared)| held_out.deviance(&used.planes(by), by);
            folds.iter().map(one).sum()
        };
        let numbers = looks.first().map_or(0, |look| look.at.len());
        let all = Prepared::of(looks.to_vec(), groups);
        let (mut by, mut least): (Vec<usize>, f64) = (Vec::new(), foreseen(&[]));
        while all.varies() && by.len() < MOST.min(numbers) {
            let with = |number: usize| [&by[..], &[number]].concat();
            let left: Vec<usize> = (0..numbers).filter(|number| !by.contains(number)).collect();
            let tried = left
                .into_iter()
                .map(|number| (foreseen(&with(number)), number));
            let best = tried.min_by(|one, other| one.0.total_cmp(&other.0));
            let Some((deviance, number)) = best.filter(|best| best.0 <= least - WORTH) else {
                break;
            };
            (least, by) = (deviance, with(number));
        }
        Rates {
            groups: groups.to_vec(),
            planes: all.planes(&by),
            usual: all.usual,
            by,
        }
    }

    /// The numbers of a place that the chances go by.
    fn picked(&self, at: &[f64]) -> Vec<f64> {
        self.by.iter().map(|&number| at[number]).collect()
    }

    /// The chances of all classes at a place.
    pub fn chances(&self, at: &[f64]) -> Vec<f64> {
        let at = self.picked(at);
        let heights: Vec<f64> = self.planes.iter().map(|plane| plane.height(&at)).collect();
        let mut chances = Vec::new();
        for (&usual, &group) in self.usual.iter().zip(&self.groups) {
            let varies = usual > 0.0 && usual < 1.0;
            chances.push(if varies {
                chance(logit(usual) + heights[group])
            } else {
                usual
            });
        }
        chances
    }

    /// Whether a look showed what it should sooner not have shown at all, or the contrary.
    fn misjudges(&self, look: &RateLook) -> bool {
        let trials: Vec<u32> = look.counts.iter().map(|count| count.trials).collect();
        let hits: u32 = look.counts.iter().map(|count| count.hits).sum();
        let expected = mean(&self.chances(&look.at), &trials);
        (hits > 0) != is_seen(expected, trials.iter().sum())
    }

    /// Chances of what is rare, by class, at a place where so many of each class are met; none at all where so many trials as
    /// a look has would sooner show none than any.
    pub fn rare(&self, at: &[f64], met: &[u32], look: u32) -> Vec<f64> {
        let chances = self.chances(at);
        if is_seen(mean(&chances, met), look) {
            chances
        } else {
            vec![0.0; chances.len()]
        }
    }

    /// The squares of how far the share of all classes of a look is off, and of how far chance alone would have it.
    fn off(&self, look: &RateLook) -> (f64, f64) {
        let (mut hits, mut trials, mut expected, mut variance) = (0.0, 0.0, 0.0, 0.0);
        for (count, share) in look.counts.iter().zip(self.chances(&look.at)) {
            hits += f64::from(count.hits);
            trials += f64::from(count.trials);
            expected += f64::from(count.trials) * share;
            variance += f64::from(count.trials) * share * (1.0 - share);
        }
        if trials == 0.0 {
            return (0.0, 0.0);
        }
        let off = (hits - expected) / trials;
        (off * off, variance / (trials * trials))
    }
}

/// The mean chance where so many of each class are met.
fn mean(chances: &[f64], met: &[u32]) -> f64 {
    let hits = chances
        .iter()
        .zip(met)
        .map(|(chance, &met)| chance * f64::from(met));
    hits.sum::<f64>() / f64::from(met.iter().sum::<u32>().max(1))
}

/// Whether so many trials in one look would sooner show any hit than none, by the beta-binomial law of trials that are
/// [`ALIKE`]: no plane of logits is ever quite 0, but most looks at what is rare see nothing of it, and `run` takes what a
/// look does not see as never.
fn is_seen(chance: f64, trials: u32) -> bool {
    let both = (1.0 - ALIKE) / ALIKE;
    let (hits, misses) = (chance * both, (1.0 - chance) * both);
    let mut none = 1.0;
    for trial in 0..trials {
        none *= (misses + f64::from(trial)) / (hits + misses + f64::from(trial));
    }
    none < 0.5
}

/// What each of so many trials in one look counts.
fn weight(trials: f64) -> f64 {
    1.0 / (1.0 + (trials - 1.0).max(0.0) * ALIKE)
}

/// All looks but those of one part.
fn others<'a>(looks: &[&'a RateLook], fold: usize) -> Vec<&'a RateLook> {
    let others = looks.iter().enumerate().filter(|(n, _)| n % FOLDS != fold);
    others.map(|(_, look)| *look).collect()
}

impl<'a> Prepared<'a> {
    fn of(looks: Vec<&'a RateLook>, groups: &[usize]) -> Prepared<'a> {
        let many = groups.iter().max().map_or(0, |most| most + 1);
        let prepared = Prepared {
            usual: usual(&looks, groups, many),
            looks: Vec::new(),
            counts: Vec::new(),
        };
        prepared.seen_from(looks, groups)
    }

    /// Other looks from the same usual chances.
    fn seen_from<'b>(&self, looks: Vec<&'b RateLook>, groups: &[usize]) -> Prepared<'b> {
        let many = groups.iter().max().map_or(0, |most| most + 1);
        let counts = looks.iter().map(|look| {
            let count = |group| group_count(look, &self.usual, groups, group);
            (0..many).map(count).collect()
        });
        Prepared {
            counts: counts.collect(),
            usual: self.usual.clone(),
            looks,
        }
    }

    fn varies(&self) -> bool {
        self.counts.iter().flatten().any(Option::is_some)
    }

    /// How each group goes by these numbers.
    fn planes(&self, by: &[usize]) -> Vec<RegressionPlane> {
        let places: Vec<Vec<f64>> = (self.looks.iter())
            .map(|look| by.iter().map(|&number| look.at[number]).collect())
            .collect();
        let groups = self.counts.first().map_or(0, Vec::len);
        let mut planes = Vec::new();
        for group in 0..groups {
            let mut readings = Vec::new();
            for (counts, place) in self.counts.iter().zip(&places) {
                if let Some(count) = counts[group] {
                    let weight = weight(count.trials);
                    readings.push(ShareReading {
                        at: place,
                        hits: count.hits * weight,
                        trials: count.trials * weight,
                        logit: count.logit,
                    });
                }
            }
            planes.push(match readings.is_empty() {
                true => RegressionPlane::flat(by.len()),
                false => ridge_chance(&readings, PENALTY),
            });
        }
        planes
    }

    /// Twice the logarithm of how unlikely these looks are under planes over some numbers.
    fn deviance(&self, planes: &[RegressionPlane], by: &[usize]) -> f64 {
        let mut deviance = 0.0;
        for (look, counts) in self.looks.iter().zip(&self.counts) {
            let place: Vec<f64> = by.iter().map(|&number| look.at[number]).collect();
            for (count, plane) in counts.iter().zip(planes) {
                let Some(count) = count else { continue };
                let share = chance(count.logit + plane.height(&place)).clamp(SUREST, 1.0 - SUREST);
                let misses = count.trials - count.hits;
                let log = count.hits * libm::log(share) + misses * libm::log(1.0 - share);
                deviance -= 2.0 * weight(count.trials) * log;
            }
        }
        deviance
    }
}

/// What a look tells of a group; `None` where nothing was met, or it always or never happens.
fn group_count(
    look: &RateLook,
    usual: &[f64],
    groups: &[usize],
    group: usize,
) -> Option<GroupCount> {
    let (mut hits, mut trials, mut expected) = (0.0, 0.0, 0.0);
    for (class, count) in look.counts.iter().enumerate() {
        if groups[class] == group {
            hits += f64::from(count.hits);
            trials += f64::from(count.trials);
            expected += f64::from(count.trials) * usual[class];
        }
    }
    let usual = expected / trials;
    (trials > 0.0 && usual > 0.0 && usual < 1.0).then(|| GroupCount {
        hits,
        trials,
        logit: logit(usual),
    })
}

/// The chance of each class over all looks; of classes that are rarely met, nearly that of their group.
fn usual(looks: &[&RateLook], groups: &[usize], many: usize) -> Vec<f64> {
    let mut classes = vec![(0.0, 0.0); groups.len()];
    let mut of_group = vec![(0.0, 0.0); many];
    for look in looks {
        for (class, count) in look.counts.iter().enumerate() {
            for sum in [&mut classes[class], &mut of_group[groups[class]]] {
                sum.0 += f64::from(count.hits);
                sum.1 += f64::from(count.trials);
            }
        }
    }
    let share = |class: usize| {
        let (hits, trials) = classes[class];
        let (all_hits, all_trials) = of_group[groups[class]];
        if all_trials == 0.0 {
            return 0.0;
        }
        (hits + BORROWED * all_hits / all_trials) / (trials + BORROWED)
    };
    (0..groups.len()).map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 64 looks of 300 trials at places of six numbers, where the first alone decides, by a step. A smooth law smears the step:
    /// of places that were not used one in four is misjudged.
    #[test]
    fn the_number_that_decides_is_found_and_the_rest_is_left_alone() {
        let mut looks = Vec::new();
        for n in 0..64u32 {
            let at: Vec<f64> = [13, 29, 37, 47, 53, 59]
                .map(|by| f64::from(n * by % 64) / 32.0 - 0.98)
                .to_vec();
            let hits = if at[0] > 0.3 { 280 } else { 0 };
            let counts = vec![HitCount { hits, trials: 300 }];
            looks.push(RateLook { at, counts });
        }
        let (rates, held_out) = Rates::of(&looks, &[0], Foreseen::Stall);
        assert_eq!(rates.by[0], 0, "{rates:?}");
        assert!(
            held_out.off < 0.2 && held_out.misjudged < 0.3,
            "{held_out:?}"
        );
        let place = |first: f64| [first, 0.0, 0.0, 0.0, 0.0, 0.0];
        assert_eq!(rates.rare(&place(-0.5), &[300], 720), [0.0]);
        assert!(rates.rare(&place(0.8), &[300], 720)[0] > 0.8);
    }

    /// One look that saw a few does not make all places stall a little.
    #[test]
    fn what_one_look_in_many_saw_counts_as_never() {
        let look = |n: u32| RateLook {
            at: vec![f64::from(n * 13 % 64)],
            counts: vec![HitCount {
                hits: if n == 20 { 15 } else { 0 },
                trials: 300,
            }],
        };
        let looks: Vec<RateLook> = (0..64).map(look).collect();
        let (rates, held_out) = Rates::of(&looks, &[0], Foreseen::Stall);
        assert_eq!(rates.rare(&[5.0], &[300], 720), [0.0]);
        assert!(
            (held_out.misjudged - 1.0 / 64.0).abs() < 1e-12,
            "{held_out:?}"
        );
    }

    const OF_300: [HitCount; 2] = [
        HitCount {
            hits: 6,
            trials: 100,
        },
        HitCount {
            hits: 30,
            trials: 200,
        },
    ];

    fn assert_near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found}, not {expected}");
    }

    fn look(counts: &[HitCount]) -> RateLook {
        RateLook {
            at: Vec::new(),
            counts: counts.to_vec(),
        }
    }

    /// Of 49 equal parts, one of them a hit, none of `n` trials hits with a chance of 48 / (48 + n): half of it at 48.
    #[test]
    fn trials_that_are_alike_show_less_than_as_many_others() {
        assert!(!is_seen(1.0 / 49.0, 47));
        assert!(is_seen(1.0 / 49.0, 49));
        assert!(is_seen(0.51, 1) && !is_seen(0.49, 1));
        assert!(!is_seen(1.0, 0) && !is_seen(0.0, 1000));
        assert_near(weight(1.0), 1.0);
        assert_near(weight(51.0), 0.5);
        assert_near(weight(0.0), 1.0);
    }

    /// A class borrows one trial from its group; two looks with 10 and 5 of 20 hits in the first class.
    #[test]
    fn classes_of_few_borrow_from_their_group() {
        let of = |hits, trials| HitCount { hits, trials };
        let looks = [
            look(&[of(10, 20), of(0, 0), of(3, 4)]),
            look(&[of(5, 20), of(5, 10), of(0, 0)]),
        ];
        let looks: Vec<&RateLook> = looks.iter().collect();
        let found = usual(&looks, &[0, 0, 1], 2);
        // The first group's hits: 20 of 50.
        assert_near(found[0], 15.4 / 41.0);
        assert_near(found[1], 5.4 / 11.0);
        assert_near(found[2], 3.75 / 5.0);
        assert_eq!(usual(&[], &[0], 1), [0.0]);
    }

    #[test]
    fn classes_of_a_group_count_together() {
        let count = |groups: &[usize], usual: &[f64]| group_count(&look(&OF_300), usual, groups, 0);
        let both = count(&[0, 0], &[0.06, 0.27]).expect("some");
        assert_near(both.hits, 36.0);
        assert_near(both.trials, 300.0);
        // 6 and 54 of 300 are expected, odds of 1 to 4.
        assert_near(both.logit, -libm::log(4.0));
        let first = count(&[0, 1], &[0.2, 0.9]).expect("some");
        assert_near(first.trials, 100.0);
        assert_near(first.logit, -libm::log(4.0));
        assert!(count(&[1, 1], &[0.5, 0.5]).is_none());
        assert!(count(&[0, 0], &[0.0, 0.0]).is_none());
        assert!(count(&[0, 0], &[1.0, 1.0]).is_none());
    }

    /// Chances of 0.1 and 0.2 at a place where nothing varies: 10 and 40 are expected of 100 and 200, and 36 were seen.
    #[test]
    fn how_far_off_a_look_is_goes_by_all_its_classes() {
        let rates = Rates {
            groups: vec![0, 0],
            usual: vec![0.1, 0.2],
            by: Vec::new(),
            planes: vec![RegressionPlane::flat(0)],
        };
        assert_near(mean(&[0.1, 0.2], &[1, 3]), 0.175);
        assert_near(mean(&[0.1, 0.2], &[0, 0]), 0.0);
        let (off, noise) = rates.off(&look(&OF_300));
        assert_near(off, (14.0_f64 / 300.0) * (14.0 / 300.0));
        assert_near(noise, (9.0 + 32.0) / 90_000.0);
        assert_eq!(rates.off(&look(&[])), (0.0, 0.0));
        let none = look(&[HitCount {
            hits: 0,
            trials: 300,
        }]);
        assert!(!rates.misjudges(&look(&OF_300)) && rates.misjudges(&none));
        let [trials, off_all, noise_all, misjudged] = rates.held_out(&[&look(&OF_300), &none]);
        assert_near(trials, 600.0);
        // Of the second look 30 are expected, all of the first class, and none was seen.
        assert_near(off_all, 300.0 * off + 300.0 * 0.01);
        assert_near(noise_all, 300.0 * noise + 27.0 / 300.0);
        assert_near(misjudged, 1.0);
    }
}
