//! Time laws made ready for drawing: one uniform number in, whole nanoseconds out.

use std::sync::Arc;

use super::quantile::quantile;
use crate::machine::law::TimeLaw;

/// Nanoseconds of machine time.
pub type Nanos = u64;

/// As good as never: 146 years, which still leaves room to add a run's time to it.
const NEVER: Nanos = Nanos::MAX / 4;

/// Whole nanoseconds of a time in seconds, at most 146 years; negative times and not-a-number give 0.
pub fn nanos(time_s: f64) -> Nanos {
    ((time_s * 1e9).round() as Nanos).min(NEVER)
}

/// Seconds of a time in nanoseconds.
pub fn seconds(time: Nanos) -> f64 {
    time as f64 * 1e-9
}

/// A time law ready for drawing.
#[derive(Clone, Debug)]
pub enum Draw {
    /// Always the same time.
    Fixed(Nanos),
    /// Any smooth law.
    Smooth(Arc<Smooth>),
    /// One of a list of times, equally likely.
    Samples(Arc<[Nanos]>),
}

impl Draw {
    /// Makes `law` ready.
    pub fn new(law: &TimeLaw) -> Self {
        match law {
            TimeLaw::Fixed { time_s } => Draw::Fixed(nanos(*time_s)),
            TimeLaw::Samples { times_s } => {
                Draw::Samples(times_s.iter().map(|&t| nanos(t)).collect())
            }
            TimeLaw::Normal { mean_s, sd_s } | TimeLaw::Lognormal { mean_s, sd_s }
                if *sd_s == 0.0 =>
            {
                Draw::Fixed(nanos(*mean_s))
            }
            _ => Draw::Smooth(Arc::new(Smooth::new(law))),
        }
    }

    /// Whether every draw is the same.
    pub fn is_fixed(&self) -> bool {
        matches!(self, Draw::Fixed(_))
    }

    /// Whether every draw is zero.
    pub fn is_zero(&self) -> bool {
        matches!(self, Draw::Fixed(0))
    }

    /// The same with every time multiplied by `share`, above 0.
    pub fn scaled(&self, share: f64) -> Self {
        let less = |time: Nanos| (time as f64 * share) as Nanos;
        match self {
            Draw::Fixed(time) => Draw::Fixed(less(*time)),
            Draw::Smooth(smooth) => Draw::new(&smooth.law.scaled(share)),
            Draw::Samples(times) => Draw::Samples(times.iter().map(|&time| less(time)).collect()),
        }
    }

    /// The time below which a share `p` (0 < p < 1) of the draws falls.
    pub fn quantile(&self, p: f64) -> Nanos {
        match self {
            Draw::Fixed(time) => *time,
            Draw::Smooth(smooth) => nanos(quantile(&smooth.law, p)),
            Draw::Samples(times) => {
                let mut sorted = times.to_vec();
                sorted.sort_unstable();
                sorted[((p * sorted.len() as f64) as usize).min(sorted.len() - 1)]
            }
        }
    }

    /// The time that a uniform 64-bit number picks; a fixed law asks for none.
    #[inline(always)]
    pub fn draw(&self, random: impl FnOnce() -> u64) -> Nanos {
        match self {
            Draw::Fixed(time) => *time,
            Draw::Smooth(smooth) => smooth.at(random()),
            Draw::Samples(times) => {
                times[((u128::from(random()) * times.len() as u128) >> 64) as usize]
            }
        }
    }
}

const CELLS: usize = 256;
/// Cells at each end where the quantile bends too fast for a cubic and is computed outright.
const EDGE: usize = 4;

/// A smooth law as its quantile function: a cubic in each of 256 equal cells of probability, exact at the cells' ends
/// and thirds, and the exact function in the four outermost cells at each end.
///
/// The cubics are within 2e-4 standard deviations of the exact normal quantile, and cost a quarter of it a draw.
#[derive(Debug)]
pub struct Smooth {
    cells: Box<[[f64; 4]; CELLS]>,
    law: TimeLaw,
}

impl Smooth {
    fn new(law: &TimeLaw) -> Self {
        let exact = |thirds: usize| {
            let p = thirds as f64 / (3 * CELLS) as f64;
            quantile(law, p.clamp(1e-12, 1.0 - 1e-12)) * 1e9
        };
        let mut cells = Box::new([[0.0; 4]; CELLS]);
        for (n, cell) in cells.iter_mut().enumerate() {
            *cell = cubic([
                exact(3 * n),
                exact(3 * n + 1),
                exact(3 * n + 2),
                exact(3 * n + 3),
            ]);
        }
        Smooth {
            cells,
            law: law.clone(),
        }
    }

    /// The time at the probability `u / 2^64`.
    #[inline]
    fn at(&self, u: u64) -> Nanos {
        let cell = (u >> 56) as usize;
        if !(EDGE..CELLS - EDGE).contains(&cell) {
            return self.outside(u);
        }
        let x = (u & ((1 << 56) - 1)) as f64 * (1.0 / (1u64 << 56) as f64);
        let [a, b, c, d] = self.cells[cell];
        (((d * x + c) * x + b) * x + a) as i64 as Nanos
    }

    #[cold]
    fn outside(&self, u: u64) -> Nanos {
        nanos(quantile(&self.law, share(u)))
    }
}

/// The uniform number `u` as a share between 0 and 1, neither included.
pub fn share(u: u64) -> f64 {
    // The highest would round up to 1, at which most laws have no end.
    (((u >> 11) as f64 + 0.5) * (1.0 / (1u64 << 53) as f64)).min(1.0 - f64::EPSILON / 2.0)
}

/// The cubic through four values at 0, 1/3, 2/3 and 1.
fn cubic([y0, y1, y2, y3]: [f64; 4]) -> [f64; 4] {
    let (d1, d2, d3) = (y1 - y0, y2 - 2.0 * y1 + y0, y3 - 3.0 * y2 + 3.0 * y1 - y0);
    [y0, 3.0 * d1 - 1.5 * d2 + d3, 4.5 * d2 - 4.5 * d3, 4.5 * d3]
}

/// A chance as a threshold for a uniform `u64`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chance(u128);

impl Chance {
    /// The chance `p`, 0 to 1.
    pub fn new(p: f64) -> Self {
        Chance((p.clamp(0.0, 1.0) * (1u128 << 64) as f64) as u128)
    }

    /// Whether it can never happen.
    pub fn never(self) -> bool {
        self.0 == 0
    }

    /// Whether it always happens, or never does.
    pub fn is_certain(self) -> bool {
        self.never() || self.happens(u64::MAX)
    }

    /// The chance as a number, 0 to 1.
    pub fn share(self) -> f64 {
        self.0 as f64 / (1u128 << 64) as f64
    }

    /// Whether it happens, for the uniform number `u`.
    #[inline]
    pub fn happens(self, u: u64) -> bool {
        u128::from(u) < self.0
    }
}

/// Weights of several ways as running thresholds for a uniform `u64`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shares(Box<[Chance]>);

impl Shares {
    /// `weights` for each way; an empty list gives `ways` equal ones.
    pub fn new(weights: &[f64], ways: usize) -> Self {
        let equal = vec![1.0; ways];
        let weights = if weights.is_empty() { &equal } else { weights };
        let total: f64 = weights.iter().sum();
        let mut sum = 0.0;
        let running = weights.iter().map(|w| {
            sum += w;
            Chance::new(sum / total)
        });
        Shares(running.collect())
    }

    /// The way that the uniform number `u` picks.
    #[inline]
    pub fn way(&self, u: u64) -> usize {
        self.0
            .iter()
            .position(|c| c.happens(u))
            .unwrap_or(self.0.len() - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_follow_the_exact_quantiles() {
        let laws = [
            TimeLaw::Normal {
                mean_s: 5.0,
                sd_s: 0.15,
            },
            TimeLaw::Lognormal {
                mean_s: 2.0,
                sd_s: 0.8,
            },
            TimeLaw::Gamma {
                shape: 2.5,
                scale_s: 1.0,
            },
            TimeLaw::Weibull {
                shape: 1.5,
                scale_s: 3.0,
            },
            TimeLaw::Triangular {
                low_s: 1.0,
                mode_s: 2.0,
                high_s: 6.0,
            },
            TimeLaw::Uniform {
                low_s: 1.0,
                high_s: 4.0,
            },
            TimeLaw::Exponential { mean_s: 1.0 },
        ];
        for law in laws {
            let smooth = Smooth::new(&law);
            let sd = (quantile(&law, 0.84) - quantile(&law, 0.16)) / 2.0;
            for n in 1..10_000u64 {
                let u = n * (u64::MAX / 10_000) + 12_345;
                let exact = quantile(&law, u as f64 / u64::MAX as f64);
                let off = (seconds(smooth.at(u)) - exact).abs() / sd;
                assert!(off < 2e-4, "{law:?} at {n}: {off} sd off");
            }
        }
    }

    #[test]
    fn the_ends_of_a_law_and_its_middle() {
        let normal = Draw::new(&TimeLaw::Normal {
            mean_s: 5.0,
            sd_s: 0.15,
        });
        let Draw::Smooth(smooth) = &normal else {
            panic!("{normal:?}")
        };
        assert!(
            (3.5..3.9).contains(&seconds(smooth.at(0)))
                && (6.1..6.5).contains(&seconds(smooth.at(u64::MAX)))
        );
        let samples = Draw::new(&TimeLaw::Samples {
            times_s: vec![4.0, 1.0, 3.0, 2.0],
        });
        assert_eq!(
            [0.1, 0.3, 0.6, 0.9, 1.0].map(|p| seconds(samples.quantile(p))),
            [1.0, 2.0, 3.0, 4.0, 4.0]
        );
    }

    /// A time added to the clock must come out later: a wrapped one would lie in the past.
    #[test]
    fn a_time_beyond_counting_can_still_be_added_to_the_clock() {
        let law = Draw::new(&TimeLaw::Weibull {
            shape: 0.05,
            scale_s: 3600.0,
        });
        let Draw::Smooth(smooth) = &law else {
            panic!("{law:?}")
        };
        for longest in [
            nanos(f64::INFINITY),
            smooth.at(u64::MAX),
            law.quantile(1.0 - 1e-15),
        ] {
            assert_eq!(longest, NEVER);
            let run = nanos(crate::machine::limits::HOURS * 3600.0);
            assert!(longest > run && run.checked_add(longest).is_some());
        }
    }

    #[test]
    fn shares_cut_the_unit_interval() {
        let shares = Shares::new(&[1.0, 0.0, 3.0], 3);
        assert_eq!(shares.way(0), 0);
        assert_eq!(shares.way(u64::MAX / 4 + 2), 2);
        assert_eq!(shares.way(u64::MAX), 2);
        assert_eq!(
            [0.0, 0.375, 1.0].map(|p| Chance::new(p).share()),
            [0.0, 0.375, 1.0]
        );
        assert!(Chance::new(1.0).happens(u64::MAX) && !Chance::new(0.0).happens(0));
    }
}
