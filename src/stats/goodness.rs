//! Goodness of fit: do the data look as the law says?
//!
//! The p-values hold for a law fixed beforehand. Fitted on the same data, every law looks better than
//! it is, and these p-values are too large.

use super::significance::{Test, chi_square_p};

/// Kolmogorov-Smirnov statistic: the largest gap between the sample's and the law's distribution
/// function, 0 to 1. `None` without data or where something is not finite.
///
/// Source: NIST/SEMATECH e-Handbook.
pub fn ks_statistic(xs: &[f64], cdf: impl Fn(f64) -> f64) -> Option<f64> {
    let heights = sorted_heights(xs, cdf)?;
    let n = heights.len() as f64;
    let gap = |(i, f): (usize, &f64)| ((i as f64 + 1.0) / n - f).max(f - i as f64 / n);
    Some(heights.iter().enumerate().map(gap).fold(0.0, f64::max))
}

/// Above this sample size the exact distribution costs too much and its limit serves.
const LARGEST_EXACT: usize = 5000;

/// p-value of a Kolmogorov-Smirnov statistic: the probability of a gap at least as large.
///
/// Exact to about 13 decimals (not digits: a p of 1e-14 is not resolved) up to 5,000 observations,
/// and up to n d^2 = 9, beyond which p is under 1e-7 and its limit 2 exp(-2 n d^2) is returned; for
/// larger samples Kolmogorov's limit. `None` without observations or for a gap outside 0 to 1.
///
/// Source: Marsaglia, Tsang & Wang, "Evaluating Kolmogorov's distribution", Journal of Statistical
/// Software 8(18) (2003).
pub fn ks_p(d: f64, n: usize) -> Option<f64> {
    if n == 0 || !(0.0..=1.0).contains(&d) {
        return None;
    }
    let scaled = n as f64 * d * d;
    let p = match () {
        _ if scaled > 9.0 => 2.0 * libm::exp(-2.0 * scaled),
        _ if n > LARGEST_EXACT => kolmogorov_limit(scaled.sqrt()),
        _ => 1.0 - kolmogorov_exact(d, n),
    };
    Some(p.clamp(0.0, 1.0))
}

/// Kolmogorov's limit: probability that sqrt(n) d exceeds `x` in a large sample.
fn kolmogorov_limit(x: f64) -> f64 {
    // Under 0.2 the alternating series would need many terms to say 1.
    if x < 0.2 {
        return 1.0;
    }
    let term = |k: i32| {
        let sign = if k % 2 == 1 { 2.0 } else { -2.0 };
        sign * libm::exp(-2.0 * f64::from(k * k) * x * x)
    };
    (1..=100).map(term).sum()
}

/// Probability that the gap stays under `d`: an entry of a matrix to the nth power.
fn kolmogorov_exact(d: f64, n: usize) -> f64 {
    let k = (n as f64 * d) as usize + 1;
    let h = k as f64 - n as f64 * d;
    let power = Scaled::power(&transition_matrix(k, h), n);
    let mut probability = power.entries[k - 1][k - 1];
    let mut exponent = power.exponent;
    for i in 1..=n {
        probability *= i as f64 / n as f64;
        if probability < 1e-140 {
            probability *= 1e140;
            exponent -= 140;
        }
    }
    probability * libm::pow(10.0, f64::from(exponent))
}

type Matrix = Vec<Vec<f64>>;

fn transition_matrix(k: usize, h: f64) -> Matrix {
    let m = 2 * k - 1;
    let corner = |i: usize| libm::pow(h, i as f64);
    let entry = |i: usize, j: usize| {
        let mut x = if j <= i + 1 { 1.0 } else { 0.0 };
        if j == 0 {
            x -= corner(i + 1);
        }
        if i == m - 1 {
            x -= corner(m - j);
        }
        if i == m - 1 && j == 0 && 2.0 * h - 1.0 > 0.0 {
            x += libm::pow(2.0 * h - 1.0, m as f64);
        }
        (1..=(i + 1).saturating_sub(j)).fold(x, |x, g| x / g as f64)
    };
    (0..m).map(|i| (0..m).map(|j| entry(i, j)).collect()).collect()
}

/// A matrix times a power of ten, so that high powers stay in range.
struct Scaled {
    entries: Matrix,
    exponent: i32,
}

impl Scaled {
    fn power(base: &Matrix, n: usize) -> Self {
        if n == 1 {
            return Self { entries: base.clone(), exponent: 0 };
        }
        let half = Self::power(base, n / 2);
        let mut entries = product(&half.entries, &half.entries);
        if n % 2 == 1 {
            entries = product(base, &entries);
        }
        Self { entries, exponent: 2 * half.exponent }.normalised()
    }

    fn normalised(mut self) -> Self {
        let middle = self.entries.len() / 2;
        if self.entries[middle][middle] > 1e140 {
            self.entries.iter_mut().flatten().for_each(|x| *x *= 1e-140);
            self.exponent += 140;
        }
        self
    }
}

fn product(a: &Matrix, b: &Matrix) -> Matrix {
    let m = a.len();
    let mut c = vec![vec![0.0; m]; m];
    for (i, row) in c.iter_mut().enumerate() {
        for (l, b_row) in b.iter().enumerate() {
            let factor = a[i][l];
            row.iter_mut().zip(b_row).for_each(|(x, y)| *x += factor * y);
        }
    }
    c
}

/// Anderson-Darling statistic for a law known in full (case 0): weighs the tails more than the
/// Kolmogorov-Smirnov gap does. `None` without data, or where an observation is impossible under the
/// law. Its 5 % critical value is about 2.49.
///
/// Source: NIST/SEMATECH e-Handbook.
pub fn anderson_darling(xs: &[f64], cdf: impl Fn(f64) -> f64) -> Option<f64> {
    let heights = sorted_heights(xs, cdf)?;
    let n = heights.len() as f64;
    let pairs = heights.iter().zip(heights.iter().rev()).enumerate();
    let sum: f64 = pairs.map(|(i, (low, high))| (2.0 * i as f64 + 1.0) * (libm::log(*low) + libm::log1p(-high))).sum();
    Some(-n - sum / n).filter(|a| a.is_finite())
}

/// Chi-square test that counts fall by the given shares; degrees of freedom are one under the number
/// of ways.
///
/// `None` with under two ways, differing lengths, no count at all, or a share that is not above 0.
/// The p-value wants about 5 expected a way. Shares are taken in proportion.
/// Source: NIST/SEMATECH e-Handbook.
pub fn chi_square_shares(counts: &[u64], shares: &[f64]) -> Option<Test> {
    let usable = counts.len() == shares.len() && shares.iter().all(|s| *s > 0.0);
    let total = counts.iter().sum::<u64>() as f64;
    if counts.len() < 2 || !usable || total == 0.0 {
        return None;
    }
    let whole: f64 = shares.iter().sum();
    let term = |(count, share): (&u64, &f64)| {
        let expected = total * share / whole;
        (*count as f64 - expected) * (*count as f64 - expected) / expected
    };
    let statistic = counts.iter().zip(shares).map(term).sum();
    let degrees_of_freedom = (counts.len() - 1) as f64;
    Some(Test { statistic, degrees_of_freedom, p: chi_square_p(statistic, degrees_of_freedom)? })
}

/// Chi-square test that a splitter shares out evenly; `None` as for [`chi_square_shares`].
pub fn chi_square_equal_shares(counts: &[u64]) -> Option<Test> {
    chi_square_shares(counts, &vec![1.0; counts.len()])
}

fn sorted_heights(xs: &[f64], cdf: impl Fn(f64) -> f64) -> Option<Vec<f64>> {
    let mut heights: Vec<f64> = xs.iter().map(|x| cdf(*x)).collect();
    let usable = xs.iter().chain(&heights).all(|x| x.is_finite());
    if xs.is_empty() || !usable {
        return None;
    }
    heights.sort_by(f64::total_cmp);
    Some(heights)
}
