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
    /// How the logits of each group go by the place.
    planes: Vec<Plane>,
    /// How many of the numbers count: without their squares, or with them.
    used: usize,
}

/// Penalties tried, from hardly any to one under which nothing goes by the place.
const PENALTIES: [f64; 7] = [1.0, 4.0, 16.0, 64.0, 256.0, 1024.0, 1e9];
/// What a class of few is thought to have seen as its group usually does.
const BORROWED: f64 = 1.0;
/// No chance that is foreseen is judged to be surer than this.
const SUREST: f64 = 1e-4;

impl Rates {
    /// The chances that foresee looks best that they were not made from, with the first `plain` numbers of a place alone or
    /// with their squares; and how well.
    pub fn of(
        looks: &[RateLook],
        groups: &[usize],
        plain: usize,
        what: Foreseen,
    ) -> (Rates, HeldOut) {
        let mut best: Option<(f64, usize, f64)> = None;
        for used in [plain, 2 * plain] {
            for penalty in PENALTIES {
                let deviance = foreseen(looks, groups, (used, penalty), |rates, look| {
                    rates.deviance(look)
                });
                if best.is_none_or(|(least, ..)| deviance < least) {
                    best = Some((deviance, used, penalty));
                }
            }
        }
        let (_, used, penalty) = best.unwrap_or((0.0, plain, 1e9));
        let all: Vec<&RateLook> = looks.iter().collect();
        let squares = foreseen(looks, groups, (used, penalty), |rates, look| {
            rates.off(look).0
        });
        let noise = foreseen(looks, groups, (used, penalty), |rates, look| {
            rates.off(look).1
        });
        let many = looks.len().max(1) as f64;
        let held_out = HeldOut {
            element: 0,
            what,
            off: (squares / many).sqrt(),
            noise: (noise / many).sqrt(),
        };
        (Rates::fit(&all, groups, (used, penalty)), held_out)
    }

    fn fit(looks: &[&RateLook], groups: &[usize], (used, penalty): (usize, f64)) -> Rates {
        let many = groups.iter().max().map_or(0, |most| most + 1);
        let mut rates = Rates {
            groups: groups.to_vec(),
            usual: usual(looks, groups, many),
            planes: Vec::new(),
            used,
        };
        for group in 0..many {
            let readings: Vec<ShareReading> = looks
                .iter()
                .filter_map(|look| rates.reading(look, group))
                .collect();
            let decides = readings.iter().any(|reading| reading.hits > 0.0)
                && readings.iter().any(|reading| reading.hits < reading.trials);
            let plane = if decides {
                ridge_chance(&readings, penalty)
            } else {
                Plane::flat(used)
            };
            rates.planes.push(plane);
        }
        rates
    }

    /// What a look tells of a group, all its classes together.
    fn reading<'a>(&self, look: &'a RateLook, group: usize) -> Option<ShareReading<'a>> {
        let (mut hits, mut trials, mut expected) = (0.0, 0.0, 0.0);
        for (class, count) in look.counts.iter().enumerate() {
            if self.groups[class] == group {
                hits += f64::from(count.hits);
                trials += f64::from(count.trials);
                expected += f64::from(count.trials) * self.usual[class];
            }
        }
        let usual = expected / trials;
        (trials > 0.0 && usual > 0.0 && usual < 1.0).then(|| ShareReading {
            at: &look.at[..self.used],
            hits,
            trials,
            logit: logit(usual),
        })
    }

    /// The chance of a class at a place.
    pub fn chance(&self, class: usize, at: &[f64]) -> f64 {
        let usual = self.usual[class];
        if usual <= 0.0 || usual >= 1.0 {
            return usual;
        }
        let plane = &self.planes[self.groups[class]];
        chance(logit(usual) + plane.height(&at[..self.used]))
    }

    /// Twice the logarithm of how unlikely a look is.
    fn deviance(&self, look: &RateLook) -> f64 {
        let mut deviance = 0.0;
        for (class, count) in look.counts.iter().enumerate() {
            let share = self.chance(class, &look.at).clamp(SUREST, 1.0 - SUREST);
            let misses = f64::from(count.trials - count.hits);
            deviance -= 2.0 * f64::from(count.hits) * libm::log(share);
            deviance -= 2.0 * misses * libm::log(1.0 - share);
        }
        deviance
    }

    /// The squares of how far the share of all classes of a look is off, and of how far chance alone would have it.
    fn off(&self, look: &RateLook) -> (f64, f64) {
        let (mut hits, mut trials, mut expected, mut variance) = (0.0, 0.0, 0.0, 0.0);
        for (class, count) in look.counts.iter().enumerate() {
            let share = self.chance(class, &look.at);
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

/// A figure of each look under rates made from looks of the other parts, summed up.
fn foreseen(
    looks: &[RateLook],
    groups: &[usize],
    how: (usize, f64),
    figure: impl Fn(&Rates, &RateLook) -> f64,
) -> f64 {
    let mut sum = 0.0;
    for fold in 0..FOLDS {
        let others = looks.iter().enumerate().filter(|(n, _)| n % FOLDS != fold);
        let others: Vec<&RateLook> = others.map(|(_, look)| look).collect();
        let rates = Rates::fit(&others, groups, how);
        for look in looks.iter().skip(fold).step_by(FOLDS) {
            sum += figure(&rates, look);
        }
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
