//! A watcher that counts which way marbles leave each splitter, and how many on end take the same one.

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::engine::watch::{TraceEvent, TraceRecord, Watcher};

/// How one splitter shared its marbles in one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split {
    /// Index of the splitter.
    pub node: usize,
    /// Marbles that took each way; ways into the same element count as the first of them.
    pub counts: Vec<u64>,
    /// Most marbles on end that took the same way.
    pub longest: u64,
    targets: Vec<usize>,
    streak: Option<(usize, u64)>,
}

impl Split {
    /// Share of the busiest way less that of the quietest, 0 where all are alike; `None` where no marble came.
    pub fn unevenness(&self) -> Option<f64> {
        let all: u64 = self.counts.iter().sum();
        let (most, least) = (self.counts.iter().max()?, self.counts.iter().min()?);
        (all > 0).then(|| (most - least) as f64 / all as f64)
    }

    /// Share of each way; `None` where no marble came.
    pub fn shares(&self) -> Option<Vec<f64>> {
        let all: u64 = self.counts.iter().sum();
        (all > 0).then(|| {
            self.counts
                .iter()
                .map(|&count| count as f64 / all as f64)
                .collect()
        })
    }

    fn count(&mut self, to: usize) {
        let Some(way) = self.targets.iter().position(|&target| target == to) else {
            return;
        };
        self.counts[way] += 1;
        let streak = match self.streak {
            Some((last, times)) if last == way => times + 1,
            _ => 1,
        };
        self.streak = Some((way, streak));
        self.longest = self.longest.max(streak);
    }
}

/// Counts the ways taken at every element with several.
#[derive(Clone, Debug)]
pub struct Ways {
    /// The splitters, in the order of the file.
    pub splits: Vec<Split>,
    place: Vec<Option<usize>>,
}

impl Ways {
    /// For a run of `circuit`.
    pub fn new(circuit: &Circuit) -> Self {
        let mut splits = Vec::new();
        let mut place = vec![None; circuit.nodes.len()];
        for (node, plan) in circuit
            .nodes
            .iter()
            .enumerate()
            .filter(|(_, plan)| plan.ways.len() > 1)
        {
            let mut targets: Vec<usize> = Vec::new();
            for way in &plan.ways {
                if !targets.contains(&way.to) {
                    targets.push(way.to);
                }
            }
            place[node] = Some(splits.len());
            splits.push(Split {
                node,
                counts: vec![0; targets.len()],
                longest: 0,
                targets,
                streak: None,
            });
        }
        Ways { splits, place }
    }

    /// What is counted of the ways out of `node`, if it has several.
    fn split(&mut self, node: usize) -> Option<&mut Split> {
        let place = (*self.place.get(node)?)?;
        self.splits.get_mut(place)
    }
}

impl Split {
    /// The elements its ways lead to.
    pub fn targets(&self) -> &[usize] {
        &self.targets
    }
}

impl Watcher for Ways {
    fn see(&mut self, seen: TraceRecord) {
        let (from, to) = match seen.what {
            TraceEvent::Moved { from, to, .. } => (from, to),
            // Over the side, but sent that way.
            TraceEvent::Spilled { from, at, .. } => (from, at),
            _ => return,
        };
        if let Some(split) = self.split(from) {
            split.count(to);
        }
    }

    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}
