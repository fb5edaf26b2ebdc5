//! Laps: from one crossing of the lap line to the next, by marble.

use crate::circuit::draw::Nanos;

/// The account of laps while a run goes on.
#[derive(Clone, Debug)]
pub struct Laps {
    /// When each marble last crossed; [`Nanos::MAX`] before its first time.
    since: Vec<Nanos>,
    /// Whether the lap line is a wheel, which a marble passes even on its first way round.
    at_wheel: bool,
    result: LapResult,
}

/// Laps of one run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LapResult {
    /// Marbles that passed: at a wheel every crossing, else whole laps, since pouring in is no flow.
    pub passed: u64,
    /// Whole laps.
    pub count: u64,
    /// Sum of their times.
    pub sum: u128,
    /// The shortest, 0 without any.
    pub shortest: Nanos,
    /// The longest, 0 without any.
    pub longest: Nanos,
}

impl Laps {
    /// For so many marbles, and a lap line that is a wheel or the start of a circuit without any.
    pub fn new(marbles: u32, at_wheel: bool) -> Self {
        Laps {
            since: vec![Nanos::MAX; marbles as usize],
            at_wheel,
            result: LapResult::default(),
        }
    }

    /// A marble crosses the lap line.
    #[inline]
    pub fn cross(&mut self, marble: u32, now: Nanos) {
        let since = std::mem::replace(&mut self.since[marble as usize], now);
        let result = &mut self.result;
        let again = since != Nanos::MAX;
        result.passed += u64::from(again || self.at_wheel);
        if !again {
            return;
        }
        let lap = now - since;
        result.shortest = if result.count == 0 {
            lap
        } else {
            result.shortest.min(lap)
        };
        result.longest = result.longest.max(lap);
        result.count += 1;
        result.sum += u128::from(lap);
    }

    /// The account at the end.
    pub fn finish(self) -> LapResult {
        self.result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shortest_and_the_longest_lap_may_come_at_any_time() {
        let mut laps = Laps::new(2, false);
        for (marble, now) in [(0, 5), (1, 6), (0, 15), (0, 18), (1, 10), (0, 25)] {
            laps.cross(marble, now);
        }
        let of = laps.finish();
        assert_eq!((of.passed, of.count, of.sum), (4, 4, 10 + 3 + 4 + 7));
        assert_eq!((of.shortest, of.longest), (3, 10));
    }

    #[test]
    fn a_wheel_is_passed_on_the_first_way_round_too() {
        let mut laps = Laps::new(2, true);
        for (marble, now) in [(0, 5), (1, 6), (0, 15)] {
            laps.cross(marble, now);
        }
        let of = laps.finish();
        assert_eq!((of.passed, of.count), (3, 1));
    }
}
