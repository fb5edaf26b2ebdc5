//! The part of a circuit that a picture has room for: all of it, or where that would be too large, what is nearest the start.

use super::circuit::graph;
use super::layout::{Graph, Layout, Sizes, layout};
use crate::circuit::Circuit;

/// Most pixels of a picture: drawn at twice its size it then takes under 100 MB.
pub const LARGEST: f64 = 6e6;
/// Most elements that are laid out; more make a picture that nobody reads.
const MOST: usize = 64;
/// So few elements are always drawn.
const FEWEST: usize = 8;

/// The drawn part of a circuit.
pub struct Excerpt {
    /// The elements drawn, in the order of the circuit.
    pub shown: Vec<usize>,
    /// Where they are, a box for each of `shown`; its ways lead from and to elements by their numbers in the circuit.
    pub layout: Layout,
}

impl Excerpt {
    /// As much of `circuit` as fits with so much width and height around it, pixels.
    pub fn of(circuit: &Circuit, sizes: &Sizes, around: (f64, f64)) -> Self {
        let whole = graph(circuit);
        let near = by_distance(&whole);
        let mut count = near.len().min(MOST);
        loop {
            let mut shown = near[..count].to_vec();
            shown.sort_unstable();
            let mut layout = layout(&part(&whole, &shown), sizes);
            let pixels = (layout.width + around.0) * (layout.height + around.1);
            if pixels <= LARGEST || count <= FEWEST {
                for wire in &mut layout.wires {
                    (wire.from, wire.to) = (shown[wire.from], shown[wire.to]);
                }
                return Excerpt { shown, layout };
            }
            count = (count * 3 / 4).max(FEWEST);
        }
    }

    /// What the picture says of elements that it leaves out; nothing where it leaves out none.
    pub fn left_out(&self, circuit: &Circuit) -> String {
        match circuit.nodes.len() - self.shown.len() {
            0 => String::new(),
            n => format!(
                " Left out: the {n} of {} elements farthest from the start.",
                circuit.nodes.len()
            ),
        }
    }
}

/// All elements, those first that a marble comes to first.
fn by_distance(graph: &Graph) -> Vec<usize> {
    let mut near = Vec::with_capacity(graph.lifts.len());
    let mut met = vec![false; graph.lifts.len()];
    // What cannot be reached from the start comes last.
    let mut starts: Vec<usize> = (0..graph.lifts.len()).collect();
    starts.sort_by_key(|&n| n != graph.start);
    for first in starts {
        if std::mem::replace(&mut met[first], true) {
            continue;
        }
        let mut next = near.len();
        near.push(first);
        while let Some(&from) = near.get(next) {
            next += 1;
            for link in graph.links.iter().filter(|link| link.0 == from) {
                if !std::mem::replace(&mut met[link.1], true) {
                    near.push(link.1);
                }
            }
        }
    }
    near
}

/// The graph of `shown` alone, numbered anew in that order.
fn part(whole: &Graph, shown: &[usize]) -> Graph {
    let mut links = Vec::new();
    for (from, to) in &whole.links {
        if let (Ok(from), Ok(to)) = (shown.binary_search(from), shown.binary_search(to)) {
            links.push((from, to));
        }
    }
    Graph {
        lifts: shown.iter().map(|&n| whole.lifts[n]).collect(),
        links,
        start: shown.binary_search(&whole.start).unwrap_or(0),
    }
}
