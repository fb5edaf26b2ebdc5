//! A watcher that keeps where every marble was: its stay in each element from entry to exit.

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;
use crate::engine::watch::{TraceEvent, TraceRecord, Watcher};

/// One marble's stay in one element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visit {
    /// The element; the index after the last is the maker's hand.
    pub node: usize,
    /// The element it came from.
    pub from: usize,
    /// When it came in.
    pub entered: Nanos,
    /// When it came to stand at the exit; `None` if it went straight on or has not come so far.
    pub queued: Option<Nanos>,
    /// When it left; `None` if it has not.
    pub left: Option<Nanos>,
    /// Whether it left over the side and is lost.
    pub lost: bool,
}

/// Marbles that wedged or stuck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlockageStart {
    /// When.
    pub time: Nanos,
    /// Where.
    pub node: usize,
    /// How.
    pub cause: Cause,
}

/// All stays of all marbles in one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Visits {
    /// By marble, in order of time; a marble is in exactly one element from each entry to the next.
    pub marbles: Vec<Vec<Visit>>,
    /// In order of time.
    pub blockages: Vec<BlockageStart>,
}

/// Where a marble is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarblePlace<'v> {
    /// In an element, or still in the hand.
    In(&'v Visit),
    /// Over the side.
    Lost,
}

impl Visits {
    /// Before a run of `circuit`: all marbles are in the maker's hand.
    pub fn new(circuit: &Circuit) -> Self {
        let hand = circuit.nodes.len();
        let held = Visit {
            node: hand,
            from: hand,
            entered: 0,
            queued: Some(0),
            left: None,
            lost: false,
        };
        Visits {
            marbles: vec![vec![held]; circuit.marbles as usize],
            blockages: Vec::new(),
        }
    }

    /// Where `marble` is at `time`; of several places at the same instant, the last.
    pub fn place(&self, marble: usize, time: Nanos) -> Option<MarblePlace<'_>> {
        let stays = self.marbles.get(marble)?;
        let visit = &stays[stays
            .partition_point(|visit| visit.entered <= time)
            .checked_sub(1)?];
        let lost = visit.lost && visit.left.is_some_and(|left| left <= time);
        Some(if lost {
            MarblePlace::Lost
        } else {
            MarblePlace::In(visit)
        })
    }

    fn open(&mut self, marble: u32) -> Option<&mut Visit> {
        self.marbles.get_mut(marble as usize)?.last_mut()
    }
}

impl Watcher for Visits {
    fn see(&mut self, seen: TraceRecord) {
        match seen.what {
            TraceEvent::Moved { marble, from, to } => {
                if let Some(visit) = self.open(marble) {
                    visit.left = Some(seen.time);
                }
                let visit = Visit {
                    node: to,
                    from,
                    entered: seen.time,
                    queued: None,
                    left: None,
                    lost: false,
                };
                if let Some(stays) = self.marbles.get_mut(marble as usize) {
                    stays.push(visit);
                }
            }
            TraceEvent::Queued { marble, .. } => {
                if let Some(visit) = self.open(marble) {
                    visit.queued = Some(seen.time);
                }
            }
            TraceEvent::Spilled { marble, .. } => {
                if let Some(visit) = self.open(marble) {
                    visit.left = Some(seen.time);
                    visit.lost = true;
                }
            }
            TraceEvent::Blocked { node, cause } => self.blockages.push(BlockageStart {
                time: seen.time,
                node,
                cause,
            }),
            _ => {}
        }
    }

    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}
