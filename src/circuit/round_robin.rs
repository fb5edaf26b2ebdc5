//! Routing in turn, left, right, left: a switch goes over as a marble leaves it, and while it does, the next marble follows the
//! one ahead.

use super::draw::Nanos;

/// A switch and its position.
#[derive(Clone, Debug)]
pub struct RoundRobinState {
    /// How long the switch takes to go over.
    pub throw: Nanos,
    /// Number of ways it serves in turn.
    pub ways: usize,
    /// The way it stands to, or goes over to until `over_at`.
    stands: usize,
    /// The way of the marble under which it went over last.
    last: usize,
    over_at: Nanos,
    /// The way of the marble that has come and not left yet.
    coming: Option<usize>,
}

impl RoundRobinState {
    /// A switch that stands to its first way.
    pub fn new(throw: Nanos, ways: usize) -> Self {
        RoundRobinState {
            throw,
            ways,
            stands: 0,
            last: 0,
            over_at: 0,
            coming: None,
        }
    }

    /// The way of the marble that is there at `now`, settled as it comes: where the switch stands, or, while it goes over, that
    /// of the one ahead.
    pub fn way(&mut self, now: Nanos) -> usize {
        let here = if now < self.over_at {
            self.last
        } else {
            self.stands
        };
        *self.coming.get_or_insert(here)
    }

    /// The marble leaves: under it the switch goes over to the next way, unless it only followed the one ahead.
    pub fn turn(&mut self, now: Nanos) {
        if self.coming.take() == Some(self.stands) {
            self.last = self.stands;
            self.stands = (self.stands + 1) % self.ways;
            self.over_at = now + self.throw;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The ways of marbles that come and leave at these times.
    fn ways(throw: Nanos, times: &[(Nanos, Nanos)]) -> Vec<usize> {
        let mut switch = RoundRobinState::new(throw, 2);
        let pass = |&(comes, leaves): &(Nanos, Nanos)| {
            let way = switch.way(comes);
            assert_eq!(
                switch.way(leaves),
                way,
                "a marble keeps its way while it waits"
            );
            switch.turn(leaves);
            way
        };
        times.iter().map(pass).collect()
    }

    #[test]
    fn marbles_go_in_turn_and_two_in_one_throw_go_together() {
        assert_eq!(
            ways(
                100,
                &[(0, 0), (100, 100), (150, 150), (200, 200), (500, 500)]
            ),
            [0, 1, 1, 0, 1]
        );
    }

    #[test]
    fn the_throw_begins_as_the_marble_leaves_and_a_follower_begins_none() {
        assert_eq!(
            ways(
                100,
                &[
                    (0, 900),
                    (950, 2000),
                    (2000, 2000),
                    (2099, 2099),
                    (2100, 2100)
                ]
            ),
            [0, 0, 1, 1, 0]
        );
    }
}
