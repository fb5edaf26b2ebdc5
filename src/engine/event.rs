//! Events and their order.

use crate::circuit::draw::Nanos;

/// Something due at an instant, at an element, for a marble: one 128-bit number that sorts as events happen.
///
/// **The order of events is total**: first by time; at the same nanosecond, the element that comes first in the file (the
/// maker's hand comes after all elements); at the same element, by [`Turn`]; of the same turn, by the order in which they
/// were scheduled, which for marbles that arrive is the order in which they entered. That number grows by one with every
/// event scheduled in a run, so no two events are equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(transparent)]
pub struct Event(u128);

/// What is due at an element; the order is that at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turn {
    /// Its entrance opens to those who wait outside, or the drive of a wheel starts again.
    Entrance,
    /// A gate opens to its head, or a pocket passes the pick-up.
    Gate,
    /// A marble comes to its exit, or to the top of a wheel.
    Arrival,
}

const MARBLE_BITS: u32 = 14;
const ORDER_BITS: u32 = 39;
const TURN_BITS: u32 = 2;
const NODE_BITS: u32 = 9;
const ORDER_SHIFT: u32 = MARBLE_BITS;
const TURN_SHIFT: u32 = ORDER_SHIFT + ORDER_BITS;
const NODE_SHIFT: u32 = TURN_SHIFT + TURN_BITS;
const TIME_SHIFT: u32 = NODE_SHIFT + NODE_BITS;

/// Most marbles an event can tell apart.
pub const MARBLES: u32 = 1 << MARBLE_BITS;
/// Most elements an event can tell apart.
pub const NODES: usize = 1 << NODE_BITS;
/// Most events in one run.
pub const EVENTS: u64 = 1 << ORDER_BITS;

impl Event {
    /// What is never due.
    pub const NEVER: Event = Event(u128::MAX);

    /// An event at `time`, at element `node`, the `order`-th scheduled, for `marble` (0 where no marble is meant).
    #[inline]
    pub fn new(time: Nanos, node: usize, turn: Turn, order: u64, marble: u32) -> Self {
        let place = (node as u64) << NODE_SHIFT | (turn as u64) << TURN_SHIFT;
        let low = place | order << ORDER_SHIFT | u64::from(marble);
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
        (self.0 as u64 >> ORDER_SHIFT) & (EVENTS - 1)
    }

    /// The element it happens at.
    #[inline]
    pub fn node(self) -> usize {
        (self.0 as u64 >> NODE_SHIFT) as usize
    }

    /// The marble it is about.
    #[inline]
    pub fn marble(self) -> u32 {
        self.0 as u32 & (MARBLES - 1)
    }

    /// The earlier of the two.
    #[inline]
    pub fn or(self, other: Event) -> Self {
        Event(std::hint::select_unpredictable(
            other.0 < self.0,
            other.0,
            self.0,
        ))
    }

    /// The same event, later by `delay`; never stays never.
    #[inline]
    pub fn delayed(self, delay: Nanos) -> Self {
        if self == Event::NEVER {
            self
        } else {
            Event(self.0 + (u128::from(delay) << TIME_SHIFT))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_comes_before_the_element_then_the_turn_then_the_order_of_scheduling() {
        let events = [
            Event::new(1, 3, Turn::Arrival, 9, 0),
            Event::new(1, 500, Turn::Entrance, 8, 16_000),
            Event::new(1, 500, Turn::Gate, 2, 0),
            Event::new(1, 500, Turn::Arrival, 1, 7),
            Event::new(1, 500, Turn::Arrival, 7, 3),
            Event::new(2, 0, Turn::Entrance, 1, 0),
            Event::NEVER,
        ];
        assert!(events.is_sorted());
        let second = events[1];
        assert_eq!(
            (
                second.time(),
                second.order(),
                second.node(),
                second.marble()
            ),
            (1, 8, 500, 16_000)
        );
        assert_eq!(
            second.delayed(5),
            Event::new(6, 500, Turn::Entrance, 8, 16_000)
        );
        assert_eq!(Event::NEVER.delayed(5), Event::NEVER);
    }
}
