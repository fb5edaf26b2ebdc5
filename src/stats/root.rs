//! Where a rising function reaches a value.

/// The x >= 0 at which a function that rises from below `target` reaches it, by doubling and bisection,
/// down to neighbouring floats or nearly; `None` if it does not by x = 1e12.
///
/// Slow and sure: quantile searches by Newton's method have been seen to circle for ever.
pub(crate) fn rising_root(function: impl Fn(f64) -> f64, target: f64) -> Option<f64> {
    let (mut low, mut high) = (0.0, 1.0);
    while function(high) < target {
        (low, high) = (high, high * 2.0);
        if high > 1e12 {
            return None;
        }
    }
    while high - low > 1e-15 * high {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if function(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}
