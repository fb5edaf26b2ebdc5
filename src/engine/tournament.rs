//! The event list: each element keeps its own events in order, and a tournament finds the earliest of their heads.
//!
//! Marbles in single file reach their exit in the order they came, so most elements need no more than a queue; only the
//! heads compete. This keeps nearly every event out of any heap.

use super::event::{Event, NODES};

/// A winner tree over one event for each element.
///
/// The tree has a fixed size, of which small circuits use the first part: an index masked to it needs no bounds check.
#[derive(Clone, Debug)]
pub struct Tournament {
    /// `tree[1]` is the winner; leaves stand from index `leaves` on.
    tree: Box<[Event; SIZE]>,
    leaves: usize,
}

const SIZE: usize = 2 * NODES;

impl Tournament {
    /// A tournament of `elements` elements with nothing due.
    pub fn new(elements: usize) -> Self {
        let levels = [3, 4, 5, 6, 9].into_iter().find(|&levels| 1 << levels >= elements);
        let leaves = 1 << levels.expect("an event can tell no more elements apart");
        Tournament { tree: Box::new([Event::NEVER; SIZE]), leaves }
    }

    /// The earliest event of all.
    #[inline]
    pub fn first(&self) -> Event {
        self.tree[1]
    }

    /// Puts `event` at the head of element `node`.
    ///
    /// The climb has a fixed number of levels in each case: in a loop the compiler turns the choice of the winner into a
    /// branch, which is mispredicted half of the time.
    #[inline(always)]
    pub fn set(&mut self, node: usize, event: Event) {
        match self.leaves {
            8 => self.climb::<3>(node, event),
            16 => self.climb::<4>(node, event),
            32 => self.climb::<5>(node, event),
            64 => self.climb::<6>(node, event),
            _ => self.climb::<9>(node, event),
        }
    }

    #[inline(always)]
    fn climb<const LEVELS: usize>(&mut self, node: usize, event: Event) {
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
    use super::*;

    #[test]
    fn the_earliest_head_wins() {
        let mut list = Tournament::new(5);
        for (node, time) in [(0, 50), (1, 30), (2, 40), (4, 10)] {
            list.set(node, Event::new(time, time, node, 0));
        }
        let mut order = Vec::new();
        while list.first() != Event::NEVER {
            order.push(list.first().node());
            list.set(list.first().node(), Event::NEVER);
        }
        assert_eq!(order, [4, 1, 2, 0]);
    }
}
