//! What one element went through in one run. Whole numbers only, so that sums are exact.

use crate::circuit::carousel::PocketCount;
use crate::circuit::draw::Nanos;

/// The running account of one element.
#[derive(Clone, Debug, Default)]
pub struct NodeStatistics {
    /// Marbles that entered.
    pub entries: u64,
    /// Marbles that left.
    pub exits: u64,
    /// Sum of the times of entry and of leaving, from which the mean number inside follows without a multiplication a move.
    entered_sum: u128,
    left_sum: u128,
    /// Marbles waiting now.
    pub waiting: u32,
    waiting_since: Nanos,
    /// Time spent with so many marbles waiting.
    waited: Vec<Nanos>,
    full_since: Option<Nanos>,
    full_time: Nanos,
    /// Marbles that found no place and had to wait before it.
    pub refused: u64,
    /// When that first happened.
    pub first_refused: Option<Nanos>,
    /// Marbles lost over its side.
    pub spills: u64,
    /// When that first happened.
    pub first_spill: Option<Nanos>,
    /// Times marbles wedged at one of its gates.
    pub blockages: u64,
}

impl NodeStatistics {
    /// A marble comes in; `full` when it takes the last place.
    #[inline]
    pub fn enter(&mut self, now: Nanos, full: bool) {
        self.entries += 1;
        self.entered_sum += u128::from(now);
        if full {
            self.full_since = Some(now);
        }
    }

    /// A marble goes out; `was_full` when it frees the last place.
    #[inline]
    pub fn leave(&mut self, now: Nanos, was_full: bool) {
        self.exits += 1;
        self.left_sum += u128::from(now);
        if was_full {
            self.full_time += now - self.full_since.take().unwrap_or(now);
        }
    }

    /// The number waiting becomes `waiting`.
    #[inline]
    pub fn wait(&mut self, now: Nanos, waiting: u32) {
        let level = self.waiting as usize;
        if level >= self.waited.len() {
            self.waited.resize(level + 1, 0);
        }
        self.waited[level] += now - self.waiting_since;
        self.waiting = waiting;
        self.waiting_since = now;
    }

    /// A marble found no place.
    pub fn refuse(&mut self, now: Nanos) {
        self.refused += 1;
        self.first_refused.get_or_insert(now);
    }

    /// A marble went over the side.
    pub fn spill(&mut self, now: Nanos) {
        self.spills += 1;
        self.first_spill.get_or_insert(now);
    }

    /// Most that waited for any length of time, and for how long any did, up to `end`: the account of the hand, into which
    /// no marble ever comes.
    pub fn waits(mut self, end: Nanos) -> (u32, Nanos) {
        self.wait(end, self.waiting);
        let most = self.waited.iter().rposition(|&time| time > 0).unwrap_or(0);
        (most as u32, self.waited.iter().skip(1).sum())
    }

    /// The account closed at `end`.
    pub fn close(mut self, end: Nanos, pockets: Option<PocketCount>) -> ElementResult {
        self.wait(end, self.waiting);
        if let Some(since) = self.full_since {
            self.full_time += end - since;
        }
        let inside = u128::from(self.entries - self.exits) * u128::from(end);
        let held_time = self.left_sum + inside - self.entered_sum;
        ElementResult {
            entries: self.entries,
            exits: self.exits,
            held_time,
            waited: self.waited,
            full_time: self.full_time,
            refused: self.refused,
            first_refused: self.first_refused,
            spills: self.spills,
            first_spill: self.first_spill,
            blockages: self.blockages,
            pockets,
        }
    }
}

/// What one element went through in one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ElementResult {
    /// Marbles that entered.
    pub entries: u64,
    /// Marbles that left.
    pub exits: u64,
    /// Marble-nanoseconds spent inside, unfinished visits included.
    pub held_time: u128,
    /// Nanoseconds with 0, 1, 2 ... marbles waiting.
    pub waited: Vec<Nanos>,
    /// Nanoseconds with every place taken.
    pub full_time: Nanos,
    /// Marbles that found no place and waited before it.
    pub refused: u64,
    /// When that first happened.
    pub first_refused: Option<Nanos>,
    /// Marbles lost over its side.
    pub spills: u64,
    /// When that first happened.
    pub first_spill: Option<Nanos>,
    /// Times marbles wedged at one of its gates.
    pub blockages: u64,
    /// What its pockets did, if it is a wheel.
    pub pockets: Option<PocketCount>,
}

impl ElementResult {
    /// Marble-nanoseconds spent waiting.
    pub fn waited_time(&self) -> u128 {
        self.waited
            .iter()
            .zip(0u128..)
            .map(|(&time, level)| u128::from(time) * level)
            .sum()
    }

    /// The backlog that is not exceeded for `share` of the time; `None` without any time.
    pub fn backlog_quantile(&self, share: f64) -> Option<u32> {
        let total: u128 = self.waited.iter().map(|&t| u128::from(t)).sum();
        if total == 0 {
            return None;
        }
        let mut so_far = 0u128;
        let reached = self.waited.iter().position(|&time| {
            so_far += u128::from(time);
            so_far as f64 >= share * total as f64
        });
        Some(reached.unwrap_or(self.waited.len() - 1) as u32)
    }

    /// The deepest backlog that lasted any time.
    pub fn backlog_peak(&self) -> u32 {
        self.waited.iter().rposition(|&time| time > 0).unwrap_or(0) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_backlog_of_a_share_of_the_time_is_counted_off() {
        let mut statistics = NodeStatistics::default();
        for (until, waiting) in [(50, 1), (80, 2)] {
            statistics.wait(until, waiting);
        }
        let waited_0_for_50_1_for_30_2_for_20 = statistics.close(100, None);
        let backlogs = [0.0, 0.5, 0.51, 0.8, 0.81, 1.0, 1.5].map(|share| {
            waited_0_for_50_1_for_30_2_for_20
                .backlog_quantile(share)
                .expect("time has passed")
        });
        assert_eq!(backlogs, [0, 0, 1, 1, 2, 2, 2]);
        assert_eq!(
            NodeStatistics::default()
                .close(0, None)
                .backlog_quantile(0.5),
            None
        );
    }
}
