//! Chances of several classes over the numbers of a place: each class has odds of its own, and all classes of a group go by
//! the place alike.

use super::{FOLDS, Foreseen, HeldOut};
use crate::stats::regression::{Plane, ShareReading, chance, logit, ridge_chance};

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
    planes: Vec<Plane>,
}

/// What the chances are made to go by, and how strongly.
#[derive(Clone, Debug)]
struct RateModel {
    by: Vec<usize>,
    penalty: f64,
}

/// Penalties tried.
const PENALTIES: [f64; 2] = [1.0, 3.0];
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
        let (mut squares, mut noise, mut misjudged) = (0.0, 0.0, 0.0);
        let mut weights = f64::MIN_POSITIVE;
        for fold in 0..FOLDS {
            let others = others(&all, fold);
            let rates = Rates::fit(&others, groups, &chosen(&others, groups));
            for look in all.iter().skip(fold).step_by(FOLDS) {
                let (off, chance) = rates.off(look);
                let trials: u32 = look.counts.iter().map(|count| count.trials).sum();
                weights += f64::from(trials);
                squares += f64::from(trials) * off;
                noise += f64::from(trials) * chance;
                misjudged += f64::from(u8::from(rates.misjudges(look)));
            }
        }
        let many = looks.len().max(1) as f64;
        let held_out = HeldOut {
            element: 0,
            what,
            off: (squares / weights).sqrt(),
            noise: (noise / weights).sqrt(),
            misjudged: misjudged / many,
        };
        (Rates::fit(&all, groups, &chosen(&all, groups)), held_out)
    }

    fn fit(looks: &[&RateLook], groups: &[usize], model: &RateModel) -> Rates {
        let many = groups.iter().max().map_or(0, |most| most + 1);
        let mut rates = Rates {
            groups: groups.to_vec(),
            usual: usual(looks, groups, many),
            by: model.by.clone(),
            planes: Vec::new(),
        };
        let places: Vec<Vec<f64>> = looks.iter().map(|look| rates.picked(&look.at)).collect();
        for group in 0..many {
            let readings: Vec<ShareReading> = (looks.iter().zip(&places))
                .filter_map(|(look, place)| rates.reading(look, place, group))
                .collect();
            let decides = readings.iter().any(|reading| reading.hits > 0.0)
                && readings.iter().any(|reading| reading.hits < reading.trials);
            let plane = if decides {
                ridge_chance(&readings, model.penalty)
            } else {
                Plane::flat(rates.by.len())
            };
            rates.planes.push(plane);
        }
        rates
    }

    /// The numbers of a place that the chances go by.
    fn picked(&self, at: &[f64]) -> Vec<f64> {
        self.by.iter().map(|&number| at[number]).collect()
    }

    /// What a look tells of a group, all its classes together.
    fn reading<'a>(
        &self,
        look: &RateLook,
        at: &'a [f64],
        group: usize,
    ) -> Option<ShareReading<'a>> {
        let (mut hits, mut trials, mut expected) = (0.0, 0.0, 0.0);
        for (class, count) in look.counts.iter().enumerate() {
            if self.groups[class] == group {
                hits += f64::from(count.hits);
                trials += f64::from(count.trials);
                expected += f64::from(count.trials) * self.usual[class];
            }
        }
        let (usual, weight) = (expected / trials, weight(trials));
        (trials > 0.0 && usual > 0.0 && usual < 1.0).then(|| ShareReading {
            at,
            hits: hits * weight,
            trials: trials * weight,
            logit: logit(usual),
        })
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

    /// Twice the logarithm of how unlikely a look is.
    fn deviance(&self, look: &RateLook) -> f64 {
        let mut trials = vec![0.0; self.planes.len()];
        for (class, count) in look.counts.iter().enumerate() {
            trials[self.groups[class]] += f64::from(count.trials);
        }
        let mut deviance = 0.0;
        for (class, share) in self.chances(&look.at).into_iter().enumerate() {
            let (count, weight) = (look.counts[class], weight(trials[self.groups[class]]));
            let share = share.clamp(SUREST, 1.0 - SUREST);
            let misses = f64::from(count.trials - count.hits);
            deviance -= 2.0 * weight * f64::from(count.hits) * libm::log(share);
            deviance -= 2.0 * weight * misses * libm::log(1.0 - share);
        }
        deviance
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

/// The model that foresees looks best that it was not made from.
fn chosen(looks: &[&RateLook], groups: &[usize]) -> RateModel {
    let mut best = RateModel {
        by: Vec::new(),
        penalty: PENALTIES[0],
    };
    let flat = foreseen(looks, groups, &best);
    let mut least = flat;
    for penalty in PENALTIES {
        let (model, deviance) = grown(looks, groups, (penalty, flat));
        if deviance < least {
            (best, least) = (model, deviance);
        }
    }
    best
}

/// Numbers added one by one at a penalty, from a flat model with a deviance on; and the deviance in the end.
fn grown(looks: &[&RateLook], groups: &[usize], (penalty, flat): (f64, f64)) -> (RateModel, f64) {
    let numbers = looks.first().map_or(0, |look| look.at.len());
    let mut model = RateModel {
        by: Vec::new(),
        penalty,
    };
    let mut least = flat;
    while model.by.len() < MOST.min(numbers) {
        let with = |number: usize| {
            let mut by = model.by.clone();
            by.push(number);
            RateModel { by, penalty }
        };
        let left = (0..numbers).filter(|number| !model.by.contains(number));
        let tried = left.map(|number| (foreseen(looks, groups, &with(number)), number));
        let Some((deviance, number)) = tried.min_by(|one, other| one.0.total_cmp(&other.0)) else {
            break;
        };
        if deviance > least - WORTH {
            break;
        }
        least = deviance;
        model.by.push(number);
    }
    (model, least)
}

/// The deviance of looks under rates made from those of the other parts.
fn foreseen(looks: &[&RateLook], groups: &[usize], model: &RateModel) -> f64 {
    let mut sum = 0.0;
    for fold in 0..FOLDS {
        let rates = Rates::fit(&others(looks, fold), groups, model);
        let held_out = looks.iter().skip(fold).step_by(FOLDS);
        sum += held_out.map(|look| rates.deviance(look)).sum::<f64>();
    }
    sum
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

    /// 64 looks of 300 trials at places of six numbers, where the first alone decides: none hit below its middle.
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
            held_out.off < 0.12 && held_out.misjudged < 0.1,
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
}
