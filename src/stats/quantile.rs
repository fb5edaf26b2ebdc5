//! Quantiles: what nine runs in ten stay under.

/// Sample quantile, 0 <= p <= 1: definition 7, straight lines between order statistics with the
/// smallest at 0 and the largest at 1.
///
/// `None` without data, or where an observation is not finite.
/// Source: Hyndman & Fan, "Sample quantiles in statistical packages", The American Statistician 50,
/// (1996).
pub fn quantile(xs: &[f64], p: f64) -> Option<f64> {
    interpolate(&sorted(xs)?, p)
}

fn sorted(xs: &[f64]) -> Option<Vec<f64>> {
    if xs.is_empty() || !xs.iter().all(|x| x.is_finite()) {
        return None;
    }
    let mut sorted = xs.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(sorted)
}

fn interpolate(sorted: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let place = p * (sorted.len() - 1) as f64;
    let below = sorted[place.floor() as usize];
    let above = sorted[place.ceil() as usize];
    Some(below + (above - below) * (place - place.floor()))
}
