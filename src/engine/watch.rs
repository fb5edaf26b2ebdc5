//! Watchers: they see what happens in a run and change nothing. `()` watches nothing and costs nothing.

use super::streams::DrawId;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;

/// Something that happened, with the number of the event in whose course it happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TraceRecord {
    /// When.
    pub time: Nanos,
    /// The event (see [`super::event::Event::order`]) in whose course it happened; 0 for the pouring in.
    pub event: u64,
    /// What.
    pub what: TraceEvent,
}

/// What a watcher can see. Elements are given by index; the index after the last is the maker's hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TraceEvent {
    /// A marble went from one element into another.
    Moved {
        /// The marble.
        marble: u32,
        /// From this element.
        from: usize,
        /// Into this one.
        to: usize,
    },
    /// A marble went over the side of `at` and is lost.
    Spilled {
        /// The marble.
        marble: u32,
        /// From this element.
        from: usize,
        /// For want of a place in this one.
        at: usize,
    },
    /// A marble came to an exit and did not go straight on: it stands there, or behind those that do.
    Queued {
        /// The marble.
        marble: u32,
        /// The element at whose exit it stands.
        node: usize,
    },
    /// The head of a gate found no place in the next element.
    Refused {
        /// The marble.
        marble: u32,
        /// It stays in this element.
        from: usize,
        /// For want of a place in this one.
        by: usize,
    },
    /// A pocket passed the waiting head and missed it.
    Missed {
        /// The wheel.
        wheel: usize,
    },
    /// A marble at the top stayed in its pocket.
    CarriedOver {
        /// The marble.
        marble: u32,
        /// The wheel.
        wheel: usize,
    },
    /// Marbles wedged; they free themselves or wait for somebody.
    Blocked {
        /// Where.
        node: usize,
        /// How.
        cause: Cause,
    },
    /// Marbles can never move again, while others go on.
    Locked {
        /// Where it was found.
        node: usize,
        /// How many are caught.
        marbles: u32,
    },
    /// The end: no marble anywhere can ever move again.
    Gridlocked {
        /// Where it was found.
        node: usize,
    },
}

/// Sees a run as it goes.
pub trait Watcher {
    /// Something happened.
    fn see(&mut self, seen: TraceRecord);

    /// The event numbered `event` was scheduled in the course of the event numbered `cause`.
    fn scheduled(&mut self, event: u64, cause: u64);

    /// The number of marbles waiting in `node` is now `waiting`.
    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32);

    /// At `node` a random number was drawn.
    #[inline(always)]
    fn drew(&mut self, node: usize, drawn: DrawId, number: u64) {
        let _ = (node, drawn, number);
    }
}

impl Watcher for () {
    #[inline(always)]
    fn see(&mut self, _: TraceRecord) {}

    #[inline(always)]
    fn scheduled(&mut self, _: u64, _: u64) {}

    #[inline(always)]
    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}
