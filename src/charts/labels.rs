//! Where labels stand so that none covers another.

use std::iter::{repeat_n, zip};

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
    let mut reduced = Vec::new();
    for (rank, &i) in order.iter().enumerate() {
        reduced.push((wanted[i] - rank as f64 * gap, 1.0));
    }
    let levels = isotonic(&reduced);
    let highest = high - n.saturating_sub(1) as f64 * gap;
    let mut places = vec![0.0; n];
    for (rank, &i) in order.iter().enumerate() {
        places[i] = levels[rank].min(highest).max(low) + rank as f64 * gap;
    }
    places
}

/// Where something of some width is wanted, and how much that counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WantedPlace {
    /// Where its middle is wanted.
    pub middle: f64,
    /// How much that counts.
    pub weight: f64,
    /// Half of its width.
    pub half: f64,
}

/// Middles of things of unlike width along a line from `low` on, in the order given: as near as can be, by weight, to
/// where each is wanted, and none covers another.
pub fn side_by_side(wanted: &[WantedPlace], low: f64) -> Vec<f64> {
    let (mut edge, mut offsets, mut reduced) = (0.0, Vec::new(), Vec::new());
    for of in wanted {
        let offset = edge + of.half;
        edge += 2.0 * of.half;
        offsets.push(offset);
        reduced.push((of.middle - offset, of.weight));
    }
    let mut places = isotonic(&reduced);
    for (place, offset) in zip(&mut places, offsets) {
        *place = place.max(low) + offset;
    }
    places
}

/// The rising sequence nearest to values with weights, in least squares.
fn isotonic(values: &[(f64, f64)]) -> Vec<f64> {
    let mut pools: Vec<(f64, f64, usize)> = Vec::new();
    for &(value, weight) in values {
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
    let mut rising = Vec::new();
    for (mean, _, count) in pools {
        rising.extend(repeat_n(mean, count));
    }
    rising
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
