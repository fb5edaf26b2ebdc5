//! Where things stand in their rows: near what they are joined to, long ways straight.

use std::iter::zip;

use super::order::Routes;
use super::rows::Rows;
use super::{Graph, Sizes};
use crate::charts::labels::{WantedPlace, side_by_side};
use crate::charts::scale::largest;

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
    let rising = (0..elements).filter(|&n| rows.rising[n]);
    let column = largest(rising.map(|n| half[n]));
    let low = if column > 0.0 {
        2.0 * column + BESIDE
    } else {
        -GAP / 2.0
    };
    let mut taken: Vec<f64> = half.iter().map(|half| half + GAP / 2.0).collect();
    taken.resize(routes.row.len(), LANE / 2.0);
    let sweeps = RowSweeps {
        routes,
        order,
        elements,
        taken,
        low,
    };
    let mut x = vec![column; routes.row.len()];
    sweeps.place(&mut x);
    let (left, right) = sweeps.ends(&x);
    let right = right.max(2.0 * column);
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

/// Moves what stands in the rows, row by row, nearer to what it is joined to.
struct RowSweeps<'a> {
    routes: &'a Routes,
    order: &'a [Vec<usize>],
    /// How many elements there are; what comes after them are passages.
    elements: usize,
    /// By element and passage: half of the width it takes.
    taken: Vec<f64>,
    /// Where the rows begin.
    low: f64,
}

impl RowSweeps<'_> {
    fn place(&self, x: &mut [f64]) {
        for row in self.order {
            let mut edge = self.low;
            for &s in row {
                x[s] = edge + self.taken[s];
                edge += 2.0 * self.taken[s];
            }
        }
        for sweep in 0..SWEEPS {
            for step in 0..self.order.len() {
                let row = if sweep % 2 == 0 {
                    &self.order[self.order.len() - 1 - step]
                } else {
                    &self.order[step]
                };
                let late = sweep + 2 >= SWEEPS;
                let wanted = row.iter().map(|&s| self.wish(x, s, late));
                let found = side_by_side(&wanted.collect::<Vec<_>>(), self.low);
                for (&s, place) in zip(row, found) {
                    x[s] = place;
                }
            }
        }
    }

    /// From where to where the rows reach.
    fn ends(&self, x: &[f64]) -> (f64, f64) {
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        for &s in self.order.iter().flatten() {
            left = left.min(x[s] - self.taken[s]);
            right = right.max(x[s] + self.taken[s]);
        }
        (left, right)
    }

    /// Where `s` would stand, `late` in the sweeps, and how much that counts.
    fn wish(&self, x: &[f64], s: usize, late: bool) -> WantedPlace {
        let followed = self.followed(s, late);
        let (mut middle, mut weight) = (x[s], 1.0);
        if !followed.is_empty() {
            middle = followed.iter().map(|&t| x[t]).sum::<f64>() / followed.len() as f64;
            if self.is_passage(s) {
                weight = STRAIGHT;
            }
        }
        WantedPlace {
            middle,
            weight,
            half: self.taken[s],
        }
    }

    /// What `s` keeps to. A passage keeps to the other passages of its way, at last to what comes before it only.
    fn followed(&self, s: usize, late: bool) -> Vec<usize> {
        let Routes { row, rising, .. } = self.routes;
        let mut all = self.routes.joined[s].clone();
        all.retain(|&t| !rising[t] && row[t] != row[s]);
        if self.is_passage(s) {
            if all.iter().any(|&t| self.is_passage(t)) {
                all.retain(|&t| self.is_passage(t));
            }
            if late {
                all.truncate(1);
            }
        }
        all
    }

    fn is_passage(&self, s: usize) -> bool {
        s >= self.elements
    }
}
