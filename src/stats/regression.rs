//! Linear and logistic regression with a ridge penalty: how a mean or a chance goes by several numbers at once.
//!
//! Sources, from memory: A. E. Hoerl, R. W. Kennard, "Ridge regression: biased estimation for nonorthogonal problems",
//! Technometrics 12 (1970) 55; S. le Cessie, J. C. van Houwelingen, "Ridge estimators in logistic regression", Appl. Stat. 41
//! (1992) 191.

/// One reading of a mean.
#[derive(Clone, Debug)]
pub struct MeanReading<'a> {
    /// The numbers it goes by.
    pub at: &'a [f64],
    /// The mean that was seen.
    pub mean: f64,
    /// How much it counts, above 0.
    pub weight: f64,
}

/// One reading of a chance.
#[derive(Clone, Debug)]
pub struct ShareReading<'a> {
    /// The numbers it goes by.
    pub at: &'a [f64],
    /// How often it happened; a share of 1 may count as part of one.
    pub hits: f64,
    /// Of how many, at least as many.
    pub trials: f64,
    /// Its logit as far as it is known without these numbers.
    pub logit: f64,
}

/// What a mean, or the logit of a chance, is at the middle of the numbers, and how it goes by each.
#[derive(Clone, Debug, PartialEq)]
pub struct RegressionPlane {
    /// Where every number is 0.
    pub level: f64,
    /// For one of each number.
    pub slopes: Vec<f64>,
}

/// So little of a penalty on the level that it only keeps the equations solvable.
const LEVEL_PENALTY: f64 = 1e-6;
/// Steps of Newton's method at most, and the step from which they stop.
const STEPS: usize = 40;
const STILL: f64 = 1e-9;
/// A step changes the logit of no reading by more than about this.
const LONGEST: f64 = 4.0;

impl RegressionPlane {
    /// The same everywhere: 0.
    pub fn flat(numbers: usize) -> RegressionPlane {
        RegressionPlane {
            level: 0.0,
            slopes: vec![0.0; numbers],
        }
    }

    /// Its height at some numbers.
    pub fn height(&self, at: &[f64]) -> f64 {
        let slopes = self.slopes.iter().zip(at);
        self.level + slopes.map(|(slope, x)| slope * x).sum::<f64>()
    }

    fn from_parts(parts: &[f64]) -> RegressionPlane {
        RegressionPlane {
            level: parts[0],
            slopes: parts[1..].to_vec(),
        }
    }
}

/// The chance of a logit.
pub fn chance(logit: f64) -> f64 {
    1.0 / (1.0 + libm::exp(-logit))
}

/// The logit of a chance between 0 and 1.
pub fn logit(chance: f64) -> f64 {
    libm::log(chance / (1.0 - chance))
}

/// The plane through means with the least sum of weighted squares and `penalty` times the squares of its slopes.
pub fn ridge_mean(readings: &[MeanReading], penalty: f64) -> RegressionPlane {
    let Some(first) = readings.first() else {
        return RegressionPlane::flat(0);
    };
    let mut normal = Normal::new(first.at.len(), penalty);
    for reading in readings {
        normal.add(reading.at, reading.weight, reading.weight * reading.mean);
    }
    match normal.solve() {
        Some(parts) => RegressionPlane::from_parts(&parts),
        None => RegressionPlane::flat(first.at.len()),
    }
}

/// The plane of logits, above those that are known, with the greatest likelihood less half of `penalty` times the squares of
/// its slopes; by Newton's method.
pub fn ridge_chance(readings: &[ShareReading], penalty: f64) -> RegressionPlane {
    let Some(first) = readings.first() else {
        return RegressionPlane::flat(0);
    };
    let mut plane = RegressionPlane::flat(first.at.len());
    for _ in 0..STEPS {
        let mut normal = Normal::new(first.at.len(), penalty);
        for reading in readings {
            let expected = chance(reading.logit + plane.height(reading.at));
            let weight = (reading.trials * expected * (1.0 - expected)).max(1e-9);
            let pull = reading.hits - reading.trials * expected;
            normal.add(reading.at, weight, pull);
        }
        normal.pull_back(&plane);
        let Some(mut step) = normal.solve() else {
            break;
        };
        let size = step.iter().fold(0.0f64, |most, part| most.max(part.abs()));
        if size > LONGEST {
            step.iter_mut().for_each(|part| *part *= LONGEST / size);
        }
        plane.level += step[0];
        (plane.slopes.iter_mut().zip(&step[1..])).for_each(|(slope, part)| *slope += part);
        if size < STILL {
            break;
        }
    }
    plane
}

/// The normal equations of least squares.
struct Normal {
    matrix: Vec<Vec<f64>>,
    right: Vec<f64>,
    penalty: f64,
}

impl Normal {
    fn new(numbers: usize, penalty: f64) -> Normal {
        let mut matrix = vec![vec![0.0; numbers + 1]; numbers + 1];
        for (n, row) in matrix.iter_mut().enumerate() {
            row[n] = if n == 0 { LEVEL_PENALTY } else { penalty };
        }
        Normal {
            matrix,
            right: vec![0.0; numbers + 1],
            penalty,
        }
    }

    fn add(&mut self, at: &[f64], weight: f64, pull: f64) {
        let part = |n: usize| if n == 0 { 1.0 } else { at[n - 1] };
        for n in 0..self.right.len() {
            self.right[n] += pull * part(n);
            for m in 0..=n {
                self.matrix[n][m] += weight * part(n) * part(m);
            }
        }
    }

    /// What the penalty pulls back from where the slopes are.
    fn pull_back(&mut self, plane: &RegressionPlane) {
        self.right[0] -= LEVEL_PENALTY * plane.level;
        for (right, slope) in self.right[1..].iter_mut().zip(&plane.slopes) {
            *right -= self.penalty * slope;
        }
    }

    /// By Cholesky's method; `None` where the equations are not positive definite.
    fn solve(mut self) -> Option<Vec<f64>> {
        let size = self.right.len();
        for n in 0..size {
            for m in 0..=n {
                let mut rest = self.matrix[n][m];
                for k in 0..m {
                    rest -= self.matrix[n][k] * self.matrix[m][k];
                }
                if n == m {
                    if rest <= 0.0 || !rest.is_finite() {
                        return None;
                    }
                    self.matrix[n][n] = rest.sqrt();
                } else {
                    self.matrix[n][m] = rest / self.matrix[m][m];
                }
            }
        }
        for n in 0..size {
            for k in 0..n {
                self.right[n] -= self.matrix[n][k] * self.right[k];
            }
            self.right[n] /= self.matrix[n][n];
        }
        for n in (0..size).rev() {
            for k in n + 1..size {
                self.right[n] -= self.matrix[k][n] * self.right[k];
            }
            self.right[n] /= self.matrix[n][n];
        }
        Some(self.right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST StRD, Norris (certified: B0 -0.262323073774029, B1 1.00211681802045), the first and last readings of the set do
    /// not matter: the line through all 36.
    const NORRIS: [(f64, f64); 36] = [
        (0.2, 0.1),
        (337.4, 338.8),
        (118.2, 118.1),
        (884.6, 888.0),
        (10.1, 9.2),
        (226.5, 228.1),
        (666.3, 668.5),
        (996.3, 998.5),
        (448.6, 449.1),
        (777.0, 778.9),
        (558.2, 559.2),
        (0.4, 0.3),
        (0.6, 0.1),
        (775.5, 778.1),
        (666.9, 668.8),
        (338.0, 339.3),
        (447.5, 448.9),
        (11.6, 10.8),
        (556.0, 557.7),
        (228.1, 228.3),
        (995.8, 998.0),
        (887.6, 888.8),
        (120.2, 119.6),
        (0.3, 0.3),
        (0.3, 0.6),
        (556.8, 557.6),
        (339.1, 339.3),
        (887.2, 888.0),
        (999.0, 998.5),
        (779.0, 778.9),
        (11.1, 10.2),
        (118.3, 117.6),
        (229.2, 228.9),
        (669.1, 668.4),
        (448.9, 449.2),
        (0.5, 0.2),
    ];

    #[test]
    fn without_a_penalty_a_line_is_that_of_nist() {
        let at: Vec<[f64; 1]> = NORRIS.iter().map(|&(x, _)| [x]).collect();
        let readings: Vec<MeanReading> = (at.iter().zip(NORRIS))
            .map(|(at, (_, mean))| MeanReading {
                at,
                mean,
                weight: 1e3,
            })
            .collect();
        let line = ridge_mean(&readings, 0.0);
        assert!(
            (line.level + 0.262_323_073_774_029).abs() < 1e-6
                && (line.slopes[0] - 1.002_116_818_020_45).abs() < 1e-9,
            "{line:?}"
        );
    }

    /// With one two-valued number and no penalty the chances are the shares themselves, whatever the number's scale.
    #[test]
    fn without_a_penalty_chances_are_the_shares_seen_and_with_one_they_lie_between() {
        let readings = |hits: f64| [(-1.0, hits), (1.0, 30.0)].map(|(x, hits)| ([x], hits));
        let of = readings(10.0);
        let shares: Vec<ShareReading> = (of.iter())
            .map(|(at, hits)| ShareReading {
                at,
                hits: *hits,
                trials: 40.0,
                logit: 0.0,
            })
            .collect();
        let free = ridge_chance(&shares, 0.0);
        let held = ridge_chance(&shares, 20.0);
        let free = [-1.0, 1.0].map(|x| chance(free.height(&[x])));
        let held = [-1.0, 1.0].map(|x| chance(held.height(&[x])));
        assert!(
            (free[0] - 0.25).abs() < 1e-6 && (free[1] - 0.75).abs() < 1e-6,
            "{free:?}"
        );
        assert!(held[0] > 0.3 && held[1] < 0.7, "{held:?}");
        assert!((chance(logit(0.2)) - 0.2).abs() < 1e-12);
    }
}
