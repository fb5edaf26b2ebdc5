//! The lowest point of a function of a few numbers, without its slopes.

/// Steps of the search at most.
const STEPS: usize = 2_000;
/// So many steps without a lower place end the search: what is left to gain is hidden by rounding.
const STALLED: usize = 60;

/// Where `function` is lowest near `start`, searched with a first step of `sizes` along each axis, and its value there.
///
/// Where the function does not exist it should be infinite; at `start` it must be finite, or the answer is `None`.
/// A simplex that has shrunk onto a ridge is opened once more where it lies, and the search goes on from there.
///
/// Source: Nelder & Mead, "A simplex method for function minimization", The Computer Journal 7 (1965); from memory.
pub fn lowest(
    start: &[f64],
    sizes: &[f64],
    tolerance: f64,
    function: impl Fn(&[f64]) -> f64,
) -> Option<(Vec<f64>, f64)> {
    let first = search(start, sizes, tolerance, &function)?;
    let quarters: Vec<f64> = sizes.iter().map(|size| size / 4.0).collect();
    search(&first.0, &quarters, tolerance, &function)
}

type Corner = (Vec<f64>, f64);

fn search(
    start: &[f64],
    sizes: &[f64],
    tolerance: f64,
    function: &impl Fn(&[f64]) -> f64,
) -> Option<Corner> {
    let mut simplex = vec![corner(start.to_vec(), function)];
    if !simplex[0].1.is_finite() {
        return None;
    }
    for (axis, size) in sizes.iter().enumerate() {
        let mut at = start.to_vec();
        at[axis] += size;
        simplex.push(corner(at, function));
    }
    let (mut low, mut stalled) = (f64::INFINITY, 0);
    for _ in 0..STEPS {
        simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
        stalled = if low - simplex[0].1 > level(&simplex, tolerance) {
            0
        } else {
            stalled + 1
        };
        low = low.min(simplex[0].1);
        if stalled > STALLED || settled(&simplex, tolerance) {
            break;
        }
        step(&mut simplex, function);
    }
    simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
    Some(simplex.swap_remove(0))
}

/// A place with its height; where the function is no number, none is higher.
fn corner(at: Vec<f64>, function: &impl Fn(&[f64]) -> f64) -> Corner {
    let height = function(&at);
    if height.is_nan() {
        return (at, f64::INFINITY);
    }
    (at, height)
}

/// Whether all corners are as high and lie as near as the tolerance asks.
fn settled(simplex: &[Corner], tolerance: f64) -> bool {
    let (low, high) = (&simplex[0], &simplex[simplex.len() - 1]);
    high.1 - low.1 <= level(simplex, tolerance)
        && simplex
            .iter()
            .all(|other| near(&other.0, &low.0, tolerance))
}

fn near(place: &[f64], to: &[f64], tolerance: f64) -> bool {
    let mut axes = place.iter().zip(to);
    axes.all(|(a, b)| (a - b).abs() <= tolerance * (1.0 + b.abs()))
}

/// Heights that differ by less are the same to the tolerance.
fn level(simplex: &[Corner], tolerance: f64) -> f64 {
    tolerance * tolerance.max(1e-4) * (1.0 + simplex[0].1.abs())
}

/// One step: the highest corner is turned over, stretched or pulled in, or else all corners draw near the lowest.
fn step(simplex: &mut [Corner], function: &impl Fn(&[f64]) -> f64) {
    let n = simplex.len() - 1;
    let middle: Vec<f64> = (0..n)
        .map(|axis| simplex[..n].iter().map(|(at, _)| at[axis]).sum::<f64>() / n as f64)
        .collect();
    let away = |by: f64| corner(beyond(&middle, &simplex[n].0, by), function);
    let turned = away(1.0);
    let better = if turned.1 < simplex[0].1 {
        let stretched = away(2.0);
        if stretched.1 < turned.1 {
            stretched
        } else {
            turned
        }
    } else if turned.1 < simplex[n - 1].1 {
        turned
    } else if turned.1 < simplex[n].1 {
        away(0.5)
    } else {
        away(-0.5)
    };
    if better.1 < simplex[n].1 {
        simplex[n] = better;
        return;
    }
    let low = simplex[0].0.clone();
    for other in &mut simplex[1..] {
        *other = corner(beyond(&low, &other.0, -0.5), function);
    }
}

/// The place beyond `middle` as seen from `from`, by so many times the way between them; with a `by` below 0, on this side.
fn beyond(middle: &[f64], from: &[f64], by: f64) -> Vec<f64> {
    let axes = middle.iter().zip(from);
    axes.map(|(m, from)| m + by * (m - from)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H. H. Rosenbrock's curved valley (The Computer Journal 3, 1960): lowest at (1, 1).
    #[test]
    fn it_finds_the_end_of_a_curved_valley() {
        let valley = |x: &[f64]| 100.0 * (x[1] - x[0] * x[0]).powi(2) + (1.0 - x[0]).powi(2);
        let (at, height) = lowest(&[-1.2, 1.0], &[0.5, 0.5], 1e-8, valley).expect("a start");
        assert!(
            (at[0] - 1.0).abs() < 1e-6 && (at[1] - 1.0).abs() < 1e-6,
            "{at:?} {height}"
        );
    }

    #[test]
    fn it_stays_where_the_function_exists() {
        let walled = |x: &[f64]| if x[0] < 0.25 { f64::INFINITY } else { x[0] };
        let (at, _) = lowest(&[3.0], &[1.0], 1e-9, walled).expect("a start");
        assert!((at[0] - 0.25).abs() < 1e-6, "{at:?}");
        assert!(lowest(&[0.0], &[1.0], 1e-9, walled).is_none());
    }

    /// Heights with a millionth of noise, as a difference between two nearly equal shares has: no step of the search makes them
    /// the same to the tolerance.
    #[test]
    fn it_stops_where_rounding_hides_what_is_lower() {
        let asked = std::cell::Cell::new(0);
        let noise = |x: &[f64]| {
            let bits = x[0].to_bits() ^ x[1].to_bits().rotate_left(21);
            (bits.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 40) as f64 / f64::from(1 << 24)
        };
        let rough = |x: &[f64]| {
            asked.set(asked.get() + 1);
            (x[0] - 3.0).powi(2) + (x[1] + 1.0).powi(2) + 1e-6 * noise(x)
        };
        let (at, _) = lowest(&[0.0, 0.0], &[0.5, 0.5], 1e-8, rough).expect("a start");
        assert!(
            (at[0] - 3.0).abs() < 2e-3 && (at[1] + 1.0).abs() < 2e-3,
            "{at:?}"
        );
        assert!(asked.get() < 800, "{}", asked.get());
    }
}
