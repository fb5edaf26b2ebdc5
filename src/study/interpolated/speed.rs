//! How fast lone marbles come out of a place, over its numbers; and how the mean of the logarithm of anything goes by them.

use super::FOLDS;
use super::columns::Columns;
use crate::stats::regression::{MeanReading, RegressionPlane, ridge_mean};

/// Penalties tried, in readings.
const PENALTIES: [f64; 6] = [0.1, 0.5, 2.0, 8.0, 32.0, 1e9];

/// How fast lone marbles come out.
#[derive(Clone, Debug)]
pub struct SpeedSurface {
    columns: Columns,
    /// Logarithm of the speed; `None` where none came out of most places.
    speed: Option<LogPlane>,
}

/// The mean of a logarithm over the numbers of a place.
#[derive(Clone, Debug)]
pub struct LogPlane {
    plane: RegressionPlane,
    used: usize,
    /// How far off it was where it was not made from, root mean square of the logarithm.
    pub off: f64,
}

impl SpeedSurface {
    /// From the numbers of places and the speeds seen there, m/s.
    pub fn of(seen: &[(Vec<f64>, f64)]) -> SpeedSurface {
        let places: Vec<&[f64]> = seen.iter().map(|(place, _)| place.as_slice()).collect();
        let columns = Columns::of(&places);
        let mut at = Vec::new();
        for (place, speed) in seen {
            if let Some(place) = columns.at(place).filter(|_| *speed > 0.0) {
                at.push((place, libm::log(*speed)));
            }
        }
        let readings: Vec<MeanReading> = (at.iter())
            .map(|(at, mean)| MeanReading {
                at,
                mean: *mean,
                weight: 1.0,
            })
            .collect();
        let enough = 2 * readings.len() > seen.len();
        SpeedSurface {
            speed: enough.then(|| LogPlane::of(&readings, columns.count())),
            columns,
        }
    }

    /// The speed at a place, m/s; 0 where none comes out, `None` where it differs in something that none of those looked at did.
    pub fn speed_m_s(&self, numbers: &[f64]) -> Option<f64> {
        let at = self.columns.at(numbers)?;
        Some(
            self.speed
                .as_ref()
                .map_or(0.0, |of| libm::exp(of.height(&at))),
        )
    }
}

impl LogPlane {
    /// The one that foresees readings best that it was not made from, with the first `plain` numbers alone or their squares
    /// as well.
    pub fn of(readings: &[MeanReading], plain: usize) -> LogPlane {
        let mut best: Option<LogPlane> = None;
        let mut how = (plain, 1e9);
        for used in [plain, 2 * plain] {
            for penalty in PENALTIES {
                let off = foreseen(readings, used, penalty);
                if best.as_ref().is_none_or(|best| off < best.off) {
                    how = (used, penalty);
                    best = Some(LogPlane {
                        plane: RegressionPlane::flat(used),
                        used,
                        off,
                    });
                }
            }
        }
        let (used, penalty) = how;
        LogPlane {
            plane: fit(readings.iter(), used, penalty),
            used,
            off: best.map_or(0.0, |best| best.off),
        }
    }

    /// The mean logarithm at a place.
    pub fn height(&self, at: &[f64]) -> f64 {
        if self.plane.slopes.is_empty() {
            return self.plane.level;
        }
        self.plane.height(&at[..self.used])
    }
}

fn fit<'a>(
    readings: impl Iterator<Item = &'a MeanReading<'a>>,
    used: usize,
    penalty: f64,
) -> RegressionPlane {
    let short: Vec<MeanReading> = readings
        .map(|reading| MeanReading {
            at: &reading.at[..used],
            ..*reading
        })
        .collect();
    ridge_mean(&short, penalty)
}

fn foreseen(readings: &[MeanReading], used: usize, penalty: f64) -> f64 {
    let (mut squares, mut weights) = (0.0, 0.0);
    for fold in 0..FOLDS {
        let others = readings
            .iter()
            .enumerate()
            .filter(|(n, _)| n % FOLDS != fold);
        let plane = fit(others.map(|(_, reading)| reading), used, penalty);
        for reading in readings.iter().skip(fold).step_by(FOLDS) {
            let height = if plane.slopes.is_empty() {
                plane.level
            } else {
                plane.height(&reading.at[..used])
            };
            squares += reading.weight * (reading.mean - height) * (reading.mean - height);
            weights += reading.weight;
        }
    }
    (squares / f64::max(weights, f64::MIN_POSITIVE)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eight looks that each tell a mean of 0 but the last, of 10 and twice the weight. It is foreseen as 0, the others as
    /// 20 / 8: (2 * 100 + 7 * 6.25) / 9 = 27.08 is the mean square.
    #[test]
    fn means_are_foreseen_from_the_others() {
        let readings: Vec<MeanReading> = (0..8)
            .map(|n| MeanReading {
                at: &[],
                mean: if n == 7 { 10.0 } else { 0.0 },
                weight: if n == 7 { 2.0 } else { 1.0 },
            })
            .collect();
        let off = foreseen(&readings, 0, 1.0);
        assert!((off - (243.75_f64 / 9.0).sqrt()).abs() < 1e-5, "{off}");
    }

    /// Speeds of exp(x) at x from 1 to 8, and none at 0: at the farthest place a penalty of 0.1 in eight readings leaves no more than
    /// one part in 80 of the slope away.
    #[test]
    fn speeds_follow_their_logarithm_and_places_without_one_say_nothing() {
        let seen = |none: u32| -> Vec<(Vec<f64>, f64)> {
            let speed = |x: u32| {
                if x < none {
                    0.0
                } else {
                    libm::exp(f64::from(x))
                }
            };
            (0..=8).map(|x| (vec![f64::from(x)], speed(x))).collect()
        };
        let surface = SpeedSurface::of(&seen(1));
        let at = |x: f64| libm::log(surface.speed_m_s(&[x]).expect("a speed"));
        assert!((at(8.0) - 8.0).abs() < 0.06, "{}", at(8.0));
        assert!((at(1.0) - 1.0).abs() < 0.06, "{}", at(1.0));
        assert_eq!(SpeedSurface::of(&seen(5)).speed_m_s(&[8.0]), Some(0.0));
        assert!(SpeedSurface::of(&seen(4)).speed_m_s(&[8.0]) > Some(1000.0));
    }
}
