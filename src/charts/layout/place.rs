//! Where things stand in their rows: near what they are joined to, long ways straight.

use super::order::Routes;
use super::rows::Rows;
use super::{Graph, Sizes};
use crate::charts::labels::side_by_side;

/// Between two boxes, pixels.
const GAP: f64 = 22.0;
/// From one passing way to the next, pixels.
const LANE: f64 = 18.0;
/// Between the lift's column and the rest, pixels.
const BESIDE: f64 = 34.0;
/// From one way in to the next at a box, pixels.
pub const WAY_IN: f64 = 20.0;
/// Sweeps over the rows.
const SWEEPS: usize = 10;
/// How much more a passage keeps to its way than a box does to what it is joined to.
const STRAIGHT: f64 = 50.0;

/// The places of elements and passages.
#[derive(Clone, Debug, PartialEq)]
pub struct Places {
    /// By element and passage: its middle, pixels.
    pub x: Vec<f64>,
    /// By element: half of its width, pixels.
    pub half: Vec<f64>,
    /// Width of all, pixels.
    pub width: f64,
}

/// Places everything.
pub fn places(
    graph: &Graph,
    rows: &Rows,
    routes: &Routes,
    order: &[Vec<usize>],
    sizes: &Sizes,
) -> Places {
    let elements = graph.lifts.len();
    let half: Vec<f64> = (0..elements).map(|n| half_width(graph, n, sizes)).collect();
    let taken = |s: usize| half.get(s).map_or(LANE / 2.0, |half| half + GAP / 2.0);
    let column = (0..elements)
        .filter(|&n| rows.rising[n])
        .map(|n| half[n])
        .fold(0.0, f64::max);
    let low = if column > 0.0 {
        2.0 * column + BESIDE
    } else {
        -GAP / 2.0
    };
    let mut x = vec![column; routes.row.len()];
    for row in order {
        let mut edge = low;
        for &s in row {
            x[s] = edge + taken(s);
            edge += 2.0 * taken(s);
        }
    }
    for sweep in 0..SWEEPS {
        for step in 0..order.len() {
            let row = if sweep % 2 == 0 {
                order.len() - 1 - step
            } else {
                step
            };
            let wishes: Vec<(f64, f64)> = order[row]
                .iter()
                .map(|&s| wish(routes, elements, &x, s, sweep))
                .collect();
            let (wanted, weights): (Vec<f64>, Vec<f64>) = wishes.into_iter().unzip();
            let halves: Vec<f64> = order[row].iter().map(|&s| taken(s)).collect();
            for (&s, place) in order[row]
                .iter()
                .zip(side_by_side(&wanted, &weights, &halves, low))
            {
                x[s] = place;
            }
        }
    }
    let edges = |pick: fn(f64, f64) -> f64, side: f64, none: f64| {
        order
            .iter()
            .flatten()
            .map(|&s| x[s] + side * taken(s))
            .fold(none, pick)
    };
    let (left, right) = (
        edges(f64::min, -1.0, f64::INFINITY),
        edges(f64::max, 1.0, 2.0 * column),
    );
    // The spare width goes to both sides and between the column and the rest.
    let left = if left.is_finite() { left } else { low };
    let spare = (sizes.room - low - (right - left).max(0.0)).max(0.0);
    let aside = if column > 0.0 { spare / 4.0 } else { 0.0 };
    let shift = low - left + (spare + aside * 2.0) / 2.0;
    for (s, x) in x.iter_mut().enumerate() {
        *x += if routes.rising[s] { aside } else { shift };
    }
    Places {
        x,
        half,
        width: (right + shift).max(sizes.room),
    }
}

/// Wide enough for its ways in, and for its ways out with their labels.
fn half_width(graph: &Graph, n: usize, sizes: &Sizes) -> f64 {
    let out = graph.links.iter().filter(|link| link.0 == n).count() as f64;
    let into = graph.links.iter().filter(|link| link.1 == n).count() as f64;
    let labels = (out - 1.0) * sizes.label + 2.0 * sizes.label;
    sizes.width.max(labels).max((into + 1.0) * WAY_IN) / 2.0
}

/// Where `s` would stand, and how much that counts.
fn wish(routes: &Routes, elements: usize, x: &[f64], s: usize, sweep: usize) -> (f64, f64) {
    let passage = |s: usize| s >= elements;
    let joined = routes.joined[s]
        .iter()
        .filter(|&&t| !routes.rising[t] && routes.row[t] != routes.row[s]);
    let all: Vec<usize> = joined.copied().collect();
    let passages: Vec<usize> = all.iter().copied().filter(|&t| passage(t)).collect();
    let late = sweep + 2 >= SWEEPS;
    // A passage keeps to the other passages of its way, at last to what comes before it only.
    let followed = if passage(s) && !passages.is_empty() {
        if late {
            passages[..1].to_vec()
        } else {
            passages
        }
    } else if passage(s) && late {
        all.into_iter().take(1).collect()
    } else {
        all
    };
    if followed.is_empty() {
        return (x[s], 1.0);
    }
    let mean = followed.iter().map(|&t| x[t]).sum::<f64>() / followed.len() as f64;
    (mean, if passage(s) { STRAIGHT } else { 1.0 })
}
