//! Service in batches: marbles gather, go on all at once, and none is taken until a while after; each batch by the next way.

use super::draw::Nanos;

/// What gathers marbles and sends them on together.
#[derive(Clone, Debug)]
pub struct BatchState {
    /// How many marbles make a batch.
    pub gathers: u32,
    /// From the last marble in to the first out.
    pub tip: Nanos,
    /// From the last marble out until it takes the next.
    pub reset: Nanos,
    /// Ways that batches take in turn.
    ways: usize,
    /// The way of the batch that gathers or goes.
    side: usize,
}

impl BatchState {
    /// Batches of so many that go on so long after the last has come, by one way; others may come at once then.
    pub fn new(gathers: u32, tip: Nanos) -> Self {
        BatchState {
            gathers,
            tip,
            reset: 0,
            ways: 1,
            side: 0,
        }
    }

    /// None is taken for so long after a batch.
    pub fn back_after(self, reset: Nanos) -> Self {
        BatchState { reset, ..self }
    }

    /// Each batch goes on by the next of so many ways.
    pub fn each_way_in_turn(self, ways: usize) -> Self {
        BatchState {
            ways: ways.max(1),
            ..self
        }
    }

    /// The way of the batch that gathers or goes.
    pub fn way(&self) -> usize {
        self.side
    }

    /// A batch has gone.
    pub fn turn(&mut self) {
        self.side = (self.side + 1) % self.ways;
    }
}
