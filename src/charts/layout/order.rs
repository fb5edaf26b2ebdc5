//! The order within each row: ways cross as seldom as a few sweeps can make them.

use super::Graph;
use super::rows::Rows;

/// Sweeps over the rows; after a few nothing gets better.
const SWEEPS: usize = 12;

/// Everything that takes up width in some row: the elements, and after them the passages of ways through rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Routes {
    /// By link: element, passages, element.
    pub stops: Vec<Vec<usize>>,
    /// By element and passage: its row.
    pub row: Vec<usize>,
    /// By element and passage: whether it stands in the lift's column.
    pub rising: Vec<bool>,
    /// By element and passage: what it is joined to.
    pub joined: Vec<Vec<usize>>,
}

/// Sends every link through the rows between its elements.
pub fn routes(graph: &Graph, rows: &Rows) -> Routes {
    let mut routes = Routes {
        stops: Vec::new(),
        row: rows.row.clone(),
        rising: rows.rising.clone(),
        joined: vec![Vec::new(); rows.row.len()],
    };
    for &(from, to) in &graph.links {
        let (out, into) = (rows.out_gap(from), rows.in_gap(to));
        let passed: Vec<usize> = if out <= into {
            (out..into).collect()
        } else {
            (into..out).rev().collect()
        };
        let mut stops = vec![from];
        for row in passed {
            stops.push(routes.row.len());
            routes.row.push(row);
            routes
                .rising
                .push(rows.rising[from] && rows.rising[to] && out > into);
            routes.joined.push(Vec::new());
        }
        stops.push(to);
        for pair in stops.windows(2) {
            routes.joined[pair[0]].push(pair[1]);
            routes.joined[pair[1]].push(pair[0]);
        }
        routes.stops.push(stops);
    }
    routes
}

/// For each row, what stands in it outside the lift's column, from left to right.
///
/// Each row in turn is sorted by the mean place of what its members are joined to (barycenters), down and up again; the
/// order with the fewest crossings is kept.
pub fn order(rows: &Rows, routes: &Routes) -> Vec<Vec<usize>> {
    let mut order: Vec<Vec<usize>> = (0..rows.count)
        .map(|row| {
            (0..routes.row.len())
                .filter(|&s| routes.row[s] == row && !routes.rising[s])
                .collect()
        })
        .collect();
    let mut best = order.clone();
    let mut fewest = crossings(routes, &best);
    for sweep in 0..SWEEPS {
        for step in 0..rows.count {
            let row = if sweep % 2 == 0 {
                step
            } else {
                rows.count - 1 - step
            };
            let place = place(routes, &order);
            let wishes = order[row].iter().map(|&s| (wish(routes, &place, s), s));
            let mut wishes: Vec<(f64, usize)> = wishes.collect();
            wishes.sort_by(|a, b| a.0.total_cmp(&b.0));
            order[row] = wishes.into_iter().map(|(_, s)| s).collect();
        }
        let now = crossings(routes, &order);
        if now < fewest {
            (fewest, best) = (now, order.clone());
        }
    }
    best
}

/// Where everything stands in its row, 0 to 1; the column stands left of all.
fn place(routes: &Routes, order: &[Vec<usize>]) -> Vec<f64> {
    let mut place = vec![-0.5; routes.row.len()];
    for row in order {
        for (k, &s) in row.iter().enumerate() {
            place[s] = (k as f64 + 0.5) / row.len() as f64;
        }
    }
    place
}

fn wish(routes: &Routes, place: &[f64], s: usize) -> f64 {
    let others: Vec<f64> = routes.joined[s]
        .iter()
        .filter(|&&t| routes.row[t] != routes.row[s])
        .map(|&t| place[t])
        .collect();
    if others.is_empty() {
        place[s]
    } else {
        others.iter().sum::<f64>() / others.len() as f64
    }
}

/// How many pairs of pieces between neighbouring rows cross.
fn crossings(routes: &Routes, order: &[Vec<usize>]) -> usize {
    let place = place(routes, order);
    let mut pieces: Vec<Vec<(f64, f64)>> = vec![Vec::new(); order.len()];
    for stops in &routes.stops {
        for pair in stops.windows(2) {
            let (a, b) = if routes.row[pair[0]] <= routes.row[pair[1]] {
                (pair[0], pair[1])
            } else {
                (pair[1], pair[0])
            };
            if routes.row[a] != routes.row[b] {
                pieces[routes.row[a]].push((place[a], place[b]));
            }
        }
    }
    let mut crossings = 0;
    for pieces in &pieces {
        for (i, a) in pieces.iter().enumerate() {
            let before = pieces[..i].iter();
            crossings += before.filter(|b| (a.0 - b.0) * (a.1 - b.1) < 0.0).count();
        }
    }
    crossings
}
