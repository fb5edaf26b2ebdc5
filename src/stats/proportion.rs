//! Shares: how often something happened in a number of trials.

use super::Estimate;
use super::significance::{beta_quantile, normal_critical, tail, valid};

/// Clopper-Pearson interval: exact, so it covers at least `level`, and often more.
///
/// Source: Clopper & Pearson, "The use of confidence or fiducial limits illustrated in the case of
/// the binomial", Biometrika 26 (1934).
pub fn clopper_pearson(successes: u64, trials: u64, level: f64) -> Estimate {
    if trials == 0 || successes > trials {
        return Estimate::unknown();
    }
    let share = successes as f64 / trials as f64;
    let (hits, misses) = (successes as f64, (trials - successes) as f64);
    let Some(tail) = tail(level) else {
        return Estimate::point(share);
    };
    let low = match successes {
        0 => Some(0.0),
        _ => beta_quantile(tail, hits, misses + 1.0),
    };
    let high = match trials - successes {
        0 => Some(1.0),
        _ => beta_quantile(1.0 - tail, hits + 1.0, misses),
    };
    Estimate::from_parts(Some(share), low, high)
}

/// Wilson's interval of a share: close to what it says on average, and never empty.
///
/// Source: Wilson, "Probable inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22 (1927) 209,
/// as method 3 of Newcombe, Stat. Med. 17, 857-872 (1998).
pub fn wilson(successes: u64, trials: u64, level: f64) -> Estimate {
    if trials == 0 || successes > trials {
        return Estimate::unknown();
    }
    let (n, share) = (trials as f64, successes as f64 / trials as f64);
    let Some(z) = normal_critical(level) else {
        return Estimate::point(share);
    };
    let middle = (share + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let arm = z / (1.0 + z * z / n) * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    let low = if successes == 0 { 0.0 } else { middle - arm };
    let high = if successes == trials {
        1.0
    } else {
        middle + arm
    };
    Estimate::interval(share, low, high)
}

/// The largest share that is still compatible with no event in `trials`: 1 - (1 - level)^(1/n).
///
/// One-sided. The familiar 3/n approximates it at level 0.95 and is useless for a few trials.
/// Source: Hanley & Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249,
/// 1743-1745 (1983).
pub fn zero_event_bound(trials: u64, level: f64) -> Option<f64> {
    let n = Some(trials).filter(|n| *n > 0)? as f64;
    Some(-libm::expm1(libm::log1p(-valid(level)?) / n))
}
