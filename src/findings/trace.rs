//! A watcher that keeps everything that happened, and what caused it.

use crate::circuit::draw::Nanos;
use crate::engine::watch::{TraceRecord, Watcher};

/// Everything seen in a run, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trace {
    /// What happened.
    pub seen: Vec<TraceRecord>,
    /// For each event by number (the pouring in is 0), the event in whose course it was scheduled.
    causes: Vec<u64>,
}

impl Trace {
    /// The nearest event that led to each event and in whose course anything was seen, by number; `None` for the pouring
    /// in, 0.
    pub fn seen_causes(&self) -> Vec<Option<u64>> {
        let mut any = vec![false; self.causes.len() + 1];
        any[0] = true;
        for seen in &self.seen {
            any[seen.event as usize] = true;
        }
        let mut nearest: Vec<Option<u64>> = vec![None];
        for &cause in &self.causes {
            // A cause has the lower number, so it is known already.
            nearest.push(if any[cause as usize] {
                Some(cause)
            } else {
                nearest[cause as usize]
            });
        }
        nearest
    }
}

impl Watcher for Trace {
    fn see(&mut self, seen: TraceRecord) {
        self.seen.push(seen);
    }

    fn scheduled(&mut self, event: u64, cause: u64) {
        debug_assert_eq!(
            event,
            self.causes.len() as u64 + 1,
            "events are numbered one by one"
        );
        self.causes.push(cause);
    }

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}
