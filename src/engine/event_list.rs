//! The event list: each element keeps its own events in order, and a tournament tree finds the earliest of their heads.
//!
//! Marbles in single file reach their exit in the order they came, so most elements need no more than a queue; only the
//! heads compete. This keeps nearly every event out of any heap.

use super::event::{Event, NODES};

/// A winner tree over one event for each element, `2^LEVELS` elements at most.
///
/// The number of levels is known when the program is compiled: in a loop of unknown length the compiler turns the choice
/// of the winner into a branch, which is mispredicted half of the time.
#[derive(Clone, Debug)]
pub struct EventList<const LEVELS: usize> {
    /// `tree[1]` is the winner; leaves stand from index `2^LEVELS` on. The size is that of the largest tree: an index
    /// masked to it needs no bounds check.
    tree: Box<[Event; SIZE]>,
}

const SIZE: usize = 2 * NODES;

impl<const LEVELS: usize> Default for EventList<LEVELS> {
    /// A list with nothing due.
    fn default() -> Self {
        EventList {
            tree: Box::new([Event::NEVER; SIZE]),
        }
    }
}

impl<const LEVELS: usize> EventList<LEVELS> {
    /// The earliest event of all.
    #[inline]
    pub fn first(&self) -> Event {
        self.tree[1]
    }

    /// Puts `event` at the head of element `node`.
    #[inline(always)]
    pub fn set(&mut self, node: usize, event: Event) {
        let mut at = ((1 << LEVELS) + node) & (SIZE - 1);
        let mut winner = event;
        self.tree[at] = event;
        for _ in 0..LEVELS {
            winner = winner.or(self.tree[at ^ 1]);
            at >>= 1;
            self.tree[at] = winner;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::event::Turn;
    use super::*;

    #[test]
    fn the_earliest_head_wins() {
        let mut list = EventList::<3>::default();
        for (node, time) in [(0, 50), (1, 30), (2, 40), (4, 10)] {
            list.set(node, Event::new(time, node, Turn::Gate, time, 0));
        }
        let mut order = Vec::new();
        while list.first() != Event::NEVER {
            order.push(list.first().node());
            list.set(list.first().node(), Event::NEVER);
        }
        assert_eq!(order, [4, 1, 2, 0]);
    }
}
