//! Events and their order.

use crate::circuit::draw::Nanos;

/// Something due at an instant, at an element, for a marble: one 128-bit number that sorts as events happen.
///
/// **The order of events is total**: first by time; at the same nanosecond, by the order in which they were scheduled
/// (a number that grows by one with every event scheduled in a run, so no two events are equal). Nothing else, neither
/// element, nor marble, nor chance, decides a tie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(transparent)]
pub struct Event(u128);

const MARBLE_BITS: u32 = 14;
const NODE_BITS: u32 = 9;
const ORDER_BITS: u32 = 41;
const TIME_SHIFT: u32 = MARBLE_BITS + NODE_BITS + ORDER_BITS;

/// Most marbles an event can tell apart.
pub const MARBLES: u32 = 1 << MARBLE_BITS;
/// Most elements an event can tell apart.
pub const NODES: usize = 1 << NODE_BITS;
/// Most events in one run.
pub const EVENTS: u64 = 1 << ORDER_BITS;

impl Event {
    /// What is never due.
    pub const NEVER: Event = Event(u128::MAX);

    /// An event at `time`, the `order`-th scheduled, at element `node` for `marble` (0 where no marble is meant).
    #[inline]
    pub fn new(time: Nanos, order: u64, node: usize, marble: u32) -> Self {
        let low = order << (NODE_BITS + MARBLE_BITS) | (node as u64) << MARBLE_BITS | u64::from(marble);
        Event(u128::from(time) << TIME_SHIFT | u128::from(low))
    }

    /// When it is due.
    #[inline]
    pub fn time(self) -> Nanos {
        (self.0 >> TIME_SHIFT) as Nanos
    }

    /// Its number in the order of scheduling.
    #[inline]
    pub fn order(self) -> u64 {
        self.0 as u64 >> (NODE_BITS + MARBLE_BITS)
    }

    /// The element it happens at.
    #[inline]
    pub fn node(self) -> usize {
        (self.0 as u64 >> MARBLE_BITS) as usize & (NODES - 1)
    }

    /// The marble it is about.
    #[inline]
    pub fn marble(self) -> u32 {
        self.0 as u32 & (MARBLES - 1)
    }

    /// The earlier of the two.
    #[inline]
    pub fn or(self, other: Event) -> Self {
        Event(std::hint::select_unpredictable(other.0 < self.0, other.0, self.0))
    }

    /// The same event, later by `delay`; never stays never.
    #[inline]
    pub fn delayed(self, delay: Nanos) -> Self {
        if self == Event::NEVER { self } else { Event(self.0 + (u128::from(delay) << TIME_SHIFT)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_comes_before_order_and_order_before_all_else() {
        let late = Event::new(2, 1, 0, 0);
        let first = Event::new(1, 7, 500, 16_000);
        let second = Event::new(1, 8, 3, 0);
        assert!(first < second && second < late && late < Event::NEVER);
        assert_eq!((first.time(), first.order(), first.node(), first.marble()), (1, 7, 500, 16_000));
        assert_eq!(first.delayed(5).time(), 6);
        assert_eq!(Event::NEVER.delayed(5), Event::NEVER);
    }
}
