//! The event list: each element keeps its own events in order, and a tournament finds the earliest of their heads.
//!
//! Marbles in single file reach their exit in the order they came, so most elements need no more than a queue; only the
//! heads compete. This keeps nearly every event out of any heap.

use super::event::Event;

/// A winner tree over one event for each element.
#[derive(Clone, Debug)]
pub struct Tournament {
    /// `tree[1]` is the winner; the leaves are the second half.
    tree: Vec<Event>,
    leaves: usize,
}

impl Tournament {
    /// A tournament of `elements` elements with nothing due.
    pub fn new(elements: usize) -> Self {
        let leaves = elements.next_power_of_two().max(2);
        Tournament { tree: vec![Event::NEVER; 2 * leaves], leaves }
    }

    /// The earliest event of all.
    #[inline]
    pub fn first(&self) -> Event {
        self.tree[1]
    }

    /// Puts `event` at the head of element `node`.
    #[inline]
    pub fn set(&mut self, node: usize, event: Event) {
        let mut at = self.leaves + node;
        let mut winner = event;
        self.tree[at] = event;
        while at > 1 {
            winner = winner.min(self.tree[at ^ 1]);
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
