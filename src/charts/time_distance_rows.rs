//! Where each marble's line runs in a string-line chart: time along, the elements in order of travel downwards.

use std::ops::RangeInclusive;

use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Role;
use crate::findings::replay::{Replay, Stay};

/// The part of the picture that belongs to an element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ElementBand {
    /// The element.
    pub node: usize,
    /// Its upper edge.
    pub top: f64,
    /// Its lower edge.
    pub bottom: f64,
}

/// From waiting marble to waiting marble at most, pixels.
const APART: f64 = 3.0;
/// Between a row's lower edge and the head of its queue, pixels.
const EXIT: f64 = 3.0;

/// The elements in order of travel from the start.
pub fn travel_order(circuit: &Circuit) -> Vec<usize> {
    let mut seen = vec![false; circuit.nodes.len()];
    let mut left: Vec<usize> = Vec::new();
    // Depth first; an element is put before all that lead on from it and were not met before.
    let mut open: Vec<(usize, usize)> = vec![(circuit.start, 0)];
    seen[circuit.start] = true;
    while let Some((n, tried)) = open.pop() {
        let ways = &circuit.nodes[n].ways;
        match ways.iter().rev().nth(tried).map(|way| way.to) {
            None => left.push(n),
            Some(to) => {
                open.push((n, tried + 1));
                if !std::mem::replace(&mut seen[to], true) {
                    open.push((to, 0));
                }
            }
        }
    }
    left.reverse();
    left
}

/// A row for each of `nodes` from `top` to `bottom`; splitters, through which marbles only fall, have low ones.
pub fn rows(circuit: &Circuit, nodes: &[usize], top: f64, bottom: f64) -> Vec<ElementBand> {
    let share = |n: usize| match circuit.nodes[n].role {
        Role::RandomWay(_) | Role::FirstWithRoom | Role::RoundRobin(_) => 0.6,
        _ => 1.0,
    };
    let all: f64 = nodes.iter().map(|&n| share(n)).sum();
    let mut y = top;
    let row = |&node: &usize| {
        let above = y;
        y += (bottom - top) * share(node) / all.max(1e-9);
        ElementBand {
            node,
            top: above,
            bottom: y,
        }
    };
    nodes.iter().map(row).collect()
}

/// The line of one stay in a row: points of time in seconds and height in pixels.
pub struct StayLine<'a> {
    /// All stays there that matter, in order of coming to the exit.
    stays: Vec<&'a Stay>,
    row: ElementBand,
    apart: f64,
    /// How long marbles travel there on average.
    travel: f64,
    end: Nanos,
}

impl<'a> StayLine<'a> {
    /// The queue of the element of `row` in some time.
    pub fn new(replay: &'a Replay, row: ElementBand, time: RangeInclusive<Nanos>) -> Self {
        let (from, to) = time.into_inner();
        let here = |visit: &&Stay| {
            visit.node == row.node && visit.enter <= to && visit.leave.is_none_or(|t| t >= from)
        };
        let mut stays: Vec<&Stay> = replay.stays.iter().filter(here).collect();
        stays.sort_by_key(|visit| visit.reach().unwrap_or(Nanos::MAX));
        let times: Vec<f64> = stays
            .iter()
            .filter_map(|v| Some(seconds(v.reach()? - v.enter)))
            .collect();
        let travel = if times.is_empty() {
            1.0
        } else {
            times.iter().sum::<f64>() / times.len() as f64
        };
        let end = replay.result.end;
        let mut queue = StayLine {
            stays,
            row,
            apart: APART,
            travel,
            end,
        };
        let reached = queue
            .stays
            .iter()
            .enumerate()
            .filter_map(|(n, v)| Some((n, v.reach()?)));
        let longest = reached
            .map(|(n, reach)| queue.ahead(n, reach))
            .max()
            .unwrap_or(0);
        queue.apart = APART.min((row.bottom - row.top - 2.0 * EXIT) / (longest + 1) as f64);
        queue
    }

    /// The stays, in order of coming to the exit.
    pub fn stays(&self) -> &[&'a Stay] {
        &self.stays
    }

    /// How many that came to the exit before the `n`-th stay are still there at `time`.
    fn ahead(&self, n: usize, time: Nanos) -> usize {
        self.stays[..n]
            .iter()
            .filter(|v| v.leave.is_none_or(|t| t > time))
            .count()
    }

    fn level(&self, n: usize, time: Nanos) -> f64 {
        self.row.bottom - EXIT - self.ahead(n, time) as f64 * self.apart
    }

    /// The line of the `n`-th stay: down to the end of the queue, level while it waits, out.
    pub fn line(&self, n: usize) -> Vec<(f64, f64)> {
        let visit = self.stays[n];
        let at = |time: Nanos| seconds(time);
        let mut points = vec![(at(visit.enter), self.row.top)];
        let leave = visit.leave.unwrap_or(self.end);
        let Some(reach) = visit.reach() else {
            let part = (seconds(leave - visit.enter) / self.travel.max(1e-3)).min(0.9);
            let low = self.row.bottom - EXIT;
            points.push((at(leave), self.row.top + part * (low - self.row.top)));
            return points;
        };
        let mut level = self.level(n, reach);
        points.push((at(reach), level));
        let ahead = self.stays[..n].iter();
        let mut gone: Vec<Nanos> = ahead
            .filter_map(|v| v.leave)
            .filter(|&t| t > reach && t < leave)
            .collect();
        gone.sort_unstable();
        for time in gone {
            points.push((at(time), level));
            level = self.level(n, time);
            points.push((at(time), level));
        }
        points.push((at(leave), level));
        if visit.leave.is_some() {
            points.push((at(leave), self.row.bottom));
        }
        points
    }
}

/// The part of a line through `points` from `from` to `to`; empty where it lies outside.
pub fn clipped(points: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    let mut inside: Vec<(f64, f64)> = Vec::new();
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x1 < from || x0 > to {
            continue;
        }
        let y = |x: f64| {
            if x1 > x0 {
                y0 + (y1 - y0) * (x - x0) / (x1 - x0)
            } else {
                y1
            }
        };
        let (begin, end) = (x0.max(from), x1.min(to));
        let first = if x0 < from {
            (begin, y(begin))
        } else {
            (x0, y0)
        };
        let last = if x1 > to { (end, y(end)) } else { (x1, y1) };
        if inside.last() != Some(&first) {
            inside.push(first);
        }
        inside.push(last);
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_at_both_ends_of_the_window() {
        let line = [(0.0, 0.0), (10.0, 100.0), (20.0, 100.0)];
        assert_eq!(
            clipped(&line, 5.0, 15.0),
            [(5.0, 50.0), (10.0, 100.0), (15.0, 100.0)]
        );
        assert!(clipped(&line, 30.0, 40.0).is_empty());
    }
}
