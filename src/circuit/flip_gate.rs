//! The flip gate: left, right, left; while it goes over, a marble follows the one ahead.

use super::draw::Nanos;

/// A flip gate and its position.
#[derive(Clone, Debug)]
pub struct FlipGate {
    /// How long the gate takes to go over.
    pub throw: Nanos,
    /// Number of ways it serves in turn.
    pub ways: usize,
    next: usize,
    last: usize,
    over_at: Nanos,
}

impl FlipGate {
    /// A gate that stands to its first way.
    pub fn new(throw: Nanos, ways: usize) -> Self {
        FlipGate { throw, ways, next: 0, last: 0, over_at: 0 }
    }

    /// The way of a marble that comes at `now`; marbles in one throw share it.
    pub fn way(&mut self, now: Nanos) -> usize {
        if now >= self.over_at {
            self.last = self.next;
            self.next = (self.next + 1) % self.ways;
            self.over_at = now + self.throw;
        }
        self.last
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marbles_go_in_turn_and_two_in_one_throw_go_together() {
        let mut gate = FlipGate::new(100, 2);
        let ways: Vec<_> = [0, 100, 150, 200, 500].map(|t| gate.way(t)).into();
        assert_eq!(ways, [0, 1, 1, 0, 1]);
    }
}
