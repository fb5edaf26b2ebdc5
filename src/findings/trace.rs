//! A watcher that keeps everything that happened, and what caused it.

use crate::circuit::draw::Nanos;
use crate::engine::watch::{Seen, Watcher};

/// Everything seen in a run, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trace {
    /// What happened.
    pub seen: Vec<Seen>,
    /// For each event by number (the pouring in is 0), the event in whose course it was scheduled.
    causes: Vec<u64>,
}

impl Trace {
    /// The event that caused `event` to be scheduled; `None` for the pouring in and for unknown numbers.
    pub fn cause(&self, event: u64) -> Option<u64> {
        let at = usize::try_from(event).ok()?.checked_sub(1)?;
        self.causes.get(at).copied()
    }
}

impl Watcher for Trace {
    fn see(&mut self, seen: Seen) {
        self.seen.push(seen);
    }

    fn scheduled(&mut self, event: u64, cause: u64) {
        debug_assert_eq!(event, self.causes.len() as u64 + 1, "events are numbered one by one");
        self.causes.push(cause);
    }

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}
