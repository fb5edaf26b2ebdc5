//! Where the elements of a circuit stand in a picture, and how the ways between them run, with nothing over anything else.
//!
//! The elements up to the last wheel before the circuit branches stand in a column at the left and lead upwards; all
//! others hang in rows from the top, so that marbles go down through them; what leads back runs under or between them.
//! Rows, order within the rows and places follow the layered method of Sugiyama, Tagawa & Toda, "Methods for visual
//! understanding of hierarchical system structures", IEEE Transactions on Systems, Man, and Cybernetics 11 (1981).

mod order;
mod place;
mod rows;
mod wires;

use super::canvas::Area;

/// What is to be laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Graph {
    /// For each element, whether it lifts marbles.
    pub lifts: Vec<bool>,
    /// From which element to which; each pair once.
    pub links: Vec<(usize, usize)>,
    /// The element where marbles are poured in.
    pub start: usize,
}

/// How large things are, pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizes {
    /// Least width of an element's box.
    pub width: f64,
    /// Height of every box.
    pub height: f64,
    /// Room for the label at the beginning of a way.
    pub label: f64,
    /// Boxes side by side at most.
    pub abreast: usize,
    /// Width that is there anyway; the layout is wider only where it has to be.
    pub room: f64,
}

/// Where everything is, pixels from the upper left corner of the layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The box of each element.
    pub boxes: Vec<Area>,
    /// Whether marbles go up through it: in at the bottom, out at the top.
    pub rising: Vec<bool>,
    /// The ways, in the order of the graph's links.
    pub wires: Vec<Wire>,
    /// Width of all.
    pub width: f64,
    /// Height of all.
    pub height: f64,
}

/// A way from one box to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// From this element.
    pub from: usize,
    /// To this one.
    pub to: usize,
    /// Its corners, from the edge of the one box to the edge of the other.
    pub points: Vec<(f64, f64)>,
    /// The part that is kept free for its label.
    pub label: Area,
}

/// Lays out `graph`.
pub fn layout(graph: &Graph, sizes: &Sizes) -> Layout {
    let rows = rows::rows(graph, sizes.abreast);
    let routes = order::routes(graph, &rows);
    let order = order::order(&rows, &routes);
    let places = place::places(graph, &rows, &routes, &order, sizes);
    wires::draw(graph, &rows, &routes, &places, sizes)
}

impl Layout {
    /// The same, so far to the right and down.
    pub fn moved(&self, x: f64, y: f64) -> Layout {
        let mut moved = self.clone();
        for area in &mut moved.boxes {
            area.shift(x, y);
        }
        for wire in &mut moved.wires {
            wire.label.shift(x, y);
            for point in &mut wire.points {
                *point = (point.0 + x, point.1 + y);
            }
        }
        moved
    }
}

impl Graph {
    /// The elements that `n` leads to.
    fn after(&self, n: usize) -> impl Iterator<Item = usize> + '_ {
        self.links
            .iter()
            .filter(move |link| link.0 == n)
            .map(|link| link.1)
    }
}
