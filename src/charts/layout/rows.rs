//! In which row each element stands: the lift from the bottom up, the others from the top down.

use super::Graph;

/// The row of each element; row 0 is the uppermost.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// By element.
    pub row: Vec<usize>,
    /// By element: whether it stands in the lift's column.
    pub rising: Vec<bool>,
    /// How many rows there are.
    pub count: usize,
}

impl Rows {
    /// The gap that marbles leave `n` into; gap `g` is above row `g`.
    pub fn out_gap(&self, n: usize) -> usize {
        if self.rising[n] {
            self.row[n]
        } else {
            self.row[n] + 1
        }
    }

    /// The gap from which marbles come into `n`.
    pub fn in_gap(&self, n: usize) -> usize {
        if self.rising[n] {
            self.row[n] + 1
        } else {
            self.row[n]
        }
    }
}

/// The rows of `graph`, with at most so many elements of the falling part in each.
pub fn rows(graph: &Graph, abreast: usize) -> Rows {
    let n = graph.lifts.len();
    let column = column(graph);
    let mut rising = vec![false; n];
    for &lift in &column {
        rising[lift] = true;
    }
    let falls = split(&ranks(graph, &rising), abreast);
    let depth = match falls.iter().flatten().max() {
        Some(deepest) => deepest + 1,
        None => 0,
    };
    let count = depth.max(column.len()).max(1);
    let falling = RowSteps {
        steps: depth,
        rows: count,
    };
    let mut row: Vec<usize> = falls
        .iter()
        .map(|rank| falling.row(rank.unwrap_or(0)))
        .collect();
    let rises = RowSteps {
        steps: column.len(),
        rows: count,
    };
    for (k, &lift) in column.iter().enumerate() {
        row[lift] = count - 1 - rises.row(k);
    }
    Rows { row, rising, count }
}

/// So many steps, spread over so many rows.
struct RowSteps {
    steps: usize,
    rows: usize,
}

impl RowSteps {
    /// The row of step `k`.
    fn row(&self, k: usize) -> usize {
        if self.steps < 2 {
            k
        } else {
            (k * (self.rows - 1) + (self.steps - 1) / 2) / (self.steps - 1)
        }
    }
}

/// The elements from the start to the last wheel before the circuit branches.
fn column(graph: &Graph) -> Vec<usize> {
    let mut chain: Vec<usize> = Vec::new();
    let mut next = Some(graph.start).filter(|&start| start < graph.lifts.len());
    while let Some(n) = next.filter(|n| !chain.contains(n)) {
        chain.push(n);
        let mut after = graph.after(n);
        next = after.next().filter(|_| after.next().is_none());
    }
    while let Some(&last) = chain.last()
        && !graph.lifts[last]
    {
        chain.pop();
    }
    chain
}

/// For each element that falls, the longest way to it from the top, ways back left out.
fn ranks(graph: &Graph, rising: &[bool]) -> Vec<Option<usize>> {
    let n = rising.len();
    let mut visit = DepthFirst {
        graph,
        rising,
        state: vec![VisitState::New; n],
        done: Vec::new(),
        back: Vec::new(),
    };
    if graph.start < n {
        visit.from(graph.start);
    }
    for root in 0..n {
        visit.from(root);
    }
    let mut rank = vec![0; n];
    for &m in visit.done.iter().rev().filter(|&&m| !rising[m]) {
        for to in graph
            .after(m)
            .filter(|&to| !rising[to] && !visit.back.contains(&(m, to)))
        {
            rank[to] = rank[to].max(rank[m] + 1);
        }
    }
    (0..n)
        .map(|m| Some(rank[m]).filter(|_| !rising[m]))
        .collect()
}

#[derive(Clone, Copy, PartialEq)]
enum VisitState {
    New,
    Open,
    Done,
}

/// A search in depth that finds the ways back and an order in which every other way leads on.
struct DepthFirst<'g> {
    graph: &'g Graph,
    rising: &'g [bool],
    state: Vec<VisitState>,
    /// In the order they were left.
    done: Vec<usize>,
    back: Vec<(usize, usize)>,
}

impl DepthFirst<'_> {
    fn from(&mut self, n: usize) {
        if self.state[n] != VisitState::New {
            return;
        }
        self.state[n] = VisitState::Open;
        for to in self.graph.after(n) {
            match self.state[to] {
                VisitState::Open if !self.rising[to] => self.back.push((n, to)),
                _ => self.from(to),
            }
        }
        self.state[n] = VisitState::Done;
        self.done.push(n);
    }
}

/// Ranks with more elements than may stand side by side become several.
fn split(ranks: &[Option<usize>], abreast: usize) -> Vec<Option<usize>> {
    let mut split = vec![None; ranks.len()];
    let mut row = 0;
    for rank in 0..=ranks.iter().flatten().max().copied().unwrap_or(0) {
        let alike: Vec<usize> = (0..ranks.len())
            .filter(|&n| ranks[n] == Some(rank))
            .collect();
        let lines = alike.len().div_ceil(abreast.max(1)).max(1);
        for (k, &n) in alike.iter().enumerate() {
            split[n] = Some(row + k * lines / alike.len());
        }
        row += lines;
    }
    split
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(wheels: &[usize], links: &[(usize, usize)]) -> Rows {
        let n = links
            .iter()
            .map(|link| link.0.max(link.1) + 1)
            .max()
            .unwrap_or(1);
        let lifts = (0..n).map(|m| wheels.contains(&m)).collect();
        rows(
            &Graph {
                lifts,
                links: links.to_vec(),
                start: 0,
            },
            4,
        )
    }

    #[test]
    fn a_lift_rises_and_its_tracks_fall_to_the_floor_beside_the_start() {
        // Ramp, wheel, bowl, two tracks, floor, and home.
        let rows = of(
            &[1],
            &[(0, 1), (1, 2), (2, 3), (2, 4), (3, 5), (4, 5), (5, 0)],
        );
        assert_eq!(rows.row, [2, 0, 0, 1, 1, 2]);
        assert_eq!(rows.rising, [true, true, false, false, false, false]);
    }

    #[test]
    fn a_circuit_without_a_wheel_only_falls_and_a_long_lift_stretches_the_rest() {
        assert_eq!(of(&[], &[(0, 1), (1, 2), (2, 0)]).row, [0, 1, 2]);
        assert_eq!(
            of(&[3], &[(0, 1), (1, 2), (2, 3), (3, 4), (4, 5), (5, 0)]).row,
            [3, 2, 1, 0, 0, 3]
        );
    }

    #[test]
    fn more_than_fit_side_by_side_take_a_second_row() {
        let links: Vec<(usize, usize)> = (1..=6).map(|to| (0, to)).collect();
        assert_eq!(of(&[], &links).row, [0, 1, 1, 1, 2, 2, 2]);
    }
}
