//! Where labels stand so that none covers another.

/// Places of labels along a line: as near as can be to where each is `wanted`, at least `gap` apart, all from `low` to
/// `high`, in the order of `wanted` (equal ones in the order given). Closer than `gap`, evenly, only where they would not
/// fit otherwise.
///
/// Nearest in the sense of least squares: taking `gap` off once for each label before it leaves an isotonic regression,
/// solved by pooling adjacent violators (Barlow, Bartholomew, Bremner & Brunk, "Statistical Inference under Order
/// Restrictions", 1972).
pub fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let n = wanted.len();
    let gap = if n > 1 {
        gap.min((high - low) / (n - 1) as f64)
    } else {
        gap
    };
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let reduced = order
        .iter()
        .enumerate()
        .map(|(rank, &i)| (wanted[i] - rank as f64 * gap, 1.0));
    let highest = high - n.saturating_sub(1) as f64 * gap;
    let mut places = vec![0.0; n];
    for (rank, (&i, level)) in order.iter().zip(isotonic(reduced)).enumerate() {
        places[i] = level.min(highest).max(low) + rank as f64 * gap;
    }
    places
}

/// Places of things of unlike width along a line from `low` on, in the order given: as near as can be, by `weights`, to
/// where each is `wanted`, and none covers another. `halves` are half of their widths.
pub fn side_by_side(wanted: &[f64], weights: &[f64], halves: &[f64], low: f64) -> Vec<f64> {
    let mut edge = 0.0;
    let offsets: Vec<f64> = halves
        .iter()
        .map(|half| {
            let middle = edge + half;
            edge += 2.0 * half;
            middle
        })
        .collect();
    let reduced = wanted.iter().zip(&offsets).map(|(x, offset)| x - offset);
    let levels = isotonic(reduced.zip(weights.iter().copied()));
    levels
        .into_iter()
        .zip(&offsets)
        .map(|(level, offset)| level.max(low) + offset)
        .collect()
}

/// The rising sequence nearest to values with weights, in least squares.
fn isotonic(values: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
    let mut pools: Vec<(f64, f64, usize)> = Vec::new();
    for (value, weight) in values {
        let mut pool = (value, weight, 1);
        while let Some(&(mean, weight, count)) = pools.last().filter(|last| last.0 > pool.0) {
            pools.pop();
            let together = weight + pool.1;
            pool = (
                (mean * weight + pool.0 * pool.1) / together,
                together,
                count + pool.2,
            );
        }
        pools.push(pool);
    }
    pools
        .into_iter()
        .flat_map(|(mean, _, count)| std::iter::repeat_n(mean, count))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_are_wanted() {
        assert_eq!(
            spread(&[50.0, 10.0, 90.0], 20.0, 0.0, 100.0),
            [50.0, 10.0, 90.0]
        );
    }

    #[test]
    fn labels_on_one_spot_part_evenly_around_it() {
        assert_eq!(
            spread(&[50.0, 50.0, 50.0], 20.0, 0.0, 100.0),
            [30.0, 50.0, 70.0]
        );
    }

    #[test]
    fn labels_at_the_edge_are_pushed_inwards() {
        assert_eq!(spread(&[98.0, 99.0], 20.0, 0.0, 100.0), [80.0, 100.0]);
    }

    #[test]
    fn too_many_labels_share_the_line_evenly() {
        assert_eq!(
            spread(&[5.0; 5], 60.0, 0.0, 100.0),
            [0.0, 25.0, 50.0, 75.0, 100.0]
        );
        assert!(spread(&[], 60.0, 0.0, 100.0).is_empty());
    }
}
