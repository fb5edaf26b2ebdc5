//! Places that come round, as the pockets of a wheel: they pass the pick-up by the clock of its drive, and each takes, misses or pinches.
//!
//! Pockets are numbered by *ticks*: tick k is the k-th pocket to pass the pick-up since the start. Times here are of the
//! drive's own clock, which stands still while the drive does, so that stops never wear the clock's exactness.

use std::collections::VecDeque;

use super::draw::{Chance, Nanos};
use super::pick_up::PickUpOdds;
use crate::contact::pick_up_chances::LineLeft;
use crate::machine::model::WayBack;

/// A pocket wheel: its clock, its chances, and which pockets ahead are already taken.
#[derive(Clone, Debug)]
pub struct CarouselState {
    /// When pockets pass the pick-up.
    pub clock: PocketClock,
    /// From the pick-up to the top.
    pub lift: Nanos,
    /// What passing pockets do with waiting marbles.
    pub pick_up: PickUpOdds,
    /// Chance that a marble at the top gets out in time.
    pub release: Chance,
    /// The instant at which it misses a marble that it would pinch: for replays that ask what would have been.
    pub counterfactual: Option<Nanos>,
    /// Index of its drive.
    pub drive: usize,
    /// What one of its places is called.
    pub seat: &'static str,
    /// How its places come back to the foot; `None`: round in a circle, as those of a wheel.
    pub back: Option<WayBack>,
    next: PassingPocket,
    /// What has passed so far.
    pub count: PocketCount,
    /// Ticks ahead whose pocket still carries a marble that was carried over, in order.
    carried: VecDeque<u64>,
    last_carrying: Option<u64>,
    /// When it last took a marble or was freed of one, in machine time: who asks at that instant has moved up.
    pub emptied: Nanos,
    /// The line as the last pocket left it.
    pub line: LineLeft,
}

/// What a wheel's pockets did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PocketCount {
    /// Pockets that passed the pick-up.
    pub passed: u64,
    /// Of these, how many carried a marble on.
    pub carrying: u64,
    /// Longest run of pockets without one.
    pub longest_empty: u64,
    /// Marbles that a pocket missed.
    pub missed: u64,
    /// Marbles pinched.
    pub pinched: u64,
    /// Marbles carried over the top.
    pub carried_over: u64,
}

impl CarouselState {
    /// A wheel before its first pocket.
    pub fn new(
        clock: PocketClock,
        lift: Nanos,
        pick_up: PickUpOdds,
        release: Chance,
        drive: usize,
    ) -> Self {
        let clock_start = clock.time(0);
        CarouselState {
            clock,
            lift,
            pick_up,
            release,
            counterfactual: None,
            drive,
            seat: "pocket",
            back: None,
            next: PassingPocket {
                tick: 0,
                time: clock_start,
                place: 0,
            },
            count: PocketCount::default(),
            carried: VecDeque::new(),
            last_carrying: None,
            emptied: Nanos::MAX,
            line: LineLeft::default(),
        }
    }

    /// The same, whose places are called so and come back to the foot so.
    pub fn of_seats(self, seat: &'static str, back: WayBack) -> Self {
        CarouselState {
            seat,
            back: Some(back),
            ..self
        }
    }

    /// The first undecided pocket at or after `time` that is free; notes the carried-over ones it skips.
    #[inline]
    pub fn next_free_pocket(&mut self, time: Nanos) -> PassingPocket {
        if self.next.time < time {
            self.clock.step(&mut self.next);
            if self.next.time < time {
                self.next = self.clock.pocket(self.clock.tick_at_or_after(time));
            }
        }
        while let Some(&occupied) = self.carried.front().filter(|&&c| c <= self.next.tick) {
            self.carried.pop_front();
            self.note_carrying(occupied);
            if occupied == self.next.tick {
                self.clock.step(&mut self.next);
            }
        }
        self.next
    }

    /// The next pocket has been decided.
    #[inline]
    pub fn pass_pocket(&mut self) {
        self.clock.step(&mut self.next);
    }

    /// Notes that the pocket of `tick` goes on with a marble.
    pub fn note_carrying(&mut self, tick: u64) {
        let since = self.last_carrying.map_or(0, |last| last + 1);
        self.count.longest_empty = self.count.longest_empty.max(tick - since);
        self.count.carrying += 1;
        self.last_carrying = Some(tick);
    }

    /// A marble due at the top at `time` stays in its pocket: it comes round again.
    pub fn carry_over(&mut self, time: Nanos) {
        let tick = self.clock.tick_at_or_after(time - self.lift) + u64::from(self.clock.pockets());
        self.carried.push_back(tick);
        self.count.carried_over += 1;
    }

    /// Closes the count at the end of a run, when the drive's clock shows `time`.
    pub fn close(&mut self, time: Nanos) {
        let passed = self.clock.ticks_up_to(time);
        while let Some(tick) = self.carried.pop_front().filter(|&c| c < passed) {
            self.note_carrying(tick);
        }
        // Carried-over pockets that a waiting marble has already been answered for, but that have yet to pass.
        self.count.carrying -= self.next.tick.saturating_sub(passed);
        self.count.passed = passed;
        let since = self.last_carrying.map_or(0, |last| last + 1);
        self.count.longest_empty = self.count.longest_empty.max(passed.saturating_sub(since));
    }
}

/// One pocket passing the pick-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PassingPocket {
    /// Its tick.
    pub tick: u64,
    /// When, by the drive's clock.
    pub time: Nanos,
    /// Its place on the wheel.
    place: usize,
}

/// When pockets pass the pick-up: pocket `k` of a turn exactly at `k / n` of it, rounded down to a nanosecond, for ever. Where
/// pockets come in groups, as places in a cup, it is the groups that do, and pockets follow in them one after another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PocketClock {
    turn: Nanos,
    phase: Nanos,
    /// Pockets in a group.
    group: u64,
    offsets: Box<[Nanos]>,
}

impl PocketClock {
    /// A wheel of `pockets` pockets that turns once in `turn` and whose first pocket comes at once.
    pub fn new(turn: Nanos, pockets: u32) -> Self {
        let n = u128::from(pockets);
        let turn = turn.max(Nanos::from(pockets)).max(1);
        let offsets = (0..n)
            .map(|k| (k * u128::from(turn) / n) as Nanos)
            .collect();
        PocketClock {
            turn,
            phase: 0,
            group: 1,
            offsets,
        }
    }

    /// The same wheel with `size` pockets in place of each, one `apart` after another; all before those of the next.
    pub fn in_groups(self, size: u32, apart: Nanos) -> Self {
        let least = self.turn / self.offsets.len() as u64;
        let size = u64::from(size.max(1));
        let apart = apart.min(least.saturating_sub(1) / size);
        let groups = self.offsets.iter();
        let offsets = groups
            .flat_map(|first| (0..size).map(move |place| first + place * apart))
            .collect();
        PocketClock {
            group: size,
            offsets,
            ..self
        }
    }

    /// The same wheel, whose first pocket comes at `phase`.
    pub fn starting_at(self, phase: Nanos) -> Self {
        PocketClock { phase, ..self }
    }

    /// Number of pockets.
    pub fn pockets(&self) -> u32 {
        self.offsets.len() as u32
    }

    /// Duration of a turn.
    pub fn turn(&self) -> Nanos {
        self.turn
    }

    /// The pocket of `tick`.
    fn pocket(&self, tick: u64) -> PassingPocket {
        PassingPocket {
            tick,
            time: self.time(tick),
            place: (tick % self.offsets.len() as u64) as usize,
        }
    }

    /// Goes on to the next pocket, without a division.
    #[inline]
    fn step(&self, pocket: &mut PassingPocket) {
        let before = self.offsets[pocket.place];
        pocket.tick += 1;
        pocket.place += 1;
        if let Some(offset) = self.offsets.get(pocket.place) {
            pocket.time += offset - before;
        } else {
            pocket.place = 0;
            pocket.time += self.turn - before;
        }
    }

    /// When the pocket of `tick` passes the pick-up.
    #[inline]
    pub fn time(&self, tick: u64) -> Nanos {
        let n = self.offsets.len() as u64;
        self.phase + tick / n * self.turn + self.offsets[(tick % n) as usize]
    }

    /// The first tick at or after `time`.
    #[inline]
    pub fn tick_at_or_after(&self, time: Nanos) -> u64 {
        let Some(since) = time.checked_sub(self.phase) else {
            return 0;
        };
        let n = self.offsets.len() as u64;
        let (turns, rest) = (since / self.turn, since % self.turn);
        // The guess is the first of the true pocket's group or of the one before it, since offsets are rounded down.
        let groups = n / self.group;
        let guess =
            (u128::from(rest) * u128::from(groups) / u128::from(self.turn)) as u64 * self.group;
        let mut tick = turns * n + guess;
        while self.time(tick) < time {
            tick += 1;
        }
        tick
    }

    /// Number of ticks up to and including `time`.
    pub fn ticks_up_to(&self, time: Nanos) -> u64 {
        self.tick_at_or_after(time + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_does_not_drift() {
        let clock = PocketClock::new(6_666_666_667, 7).starting_at(5);
        assert_eq!(clock.time(7_000_000_000), 5 + 1_000_000_000 * 6_666_666_667);
        for tick in [0, 1, 6, 7, 8, 13, 700_001] {
            let t = clock.time(tick);
            assert_eq!(clock.tick_at_or_after(t), tick);
            assert_eq!(clock.tick_at_or_after(t + 1), tick + 1);
            assert_eq!(clock.ticks_up_to(t), tick + 1);
        }
    }

    #[test]
    fn pockets_in_groups_follow_one_another() {
        let clock = PocketClock::new(1000, 3).in_groups(4, 70).starting_at(5);
        assert_eq!(clock.pockets(), 12);
        let first: Vec<Nanos> = (0..6).map(|tick| clock.time(tick)).collect();
        assert_eq!(first, [5, 75, 145, 215, 338, 408]);
        for time in 0..3000 {
            let tick = (0..).find(|&tick| clock.time(tick) >= time);
            assert_eq!(Some(clock.tick_at_or_after(time)), tick, "{time}");
        }
    }

    #[test]
    fn carried_pockets_are_skipped_and_counted() {
        let clock = PocketClock::new(400, 4);
        let mut wheel =
            CarouselState::new(clock, 200, PickUpOdds::alike(1.0, 0.0), Chance::new(1.0), 0);
        assert_eq!(wheel.next_free_pocket(0).tick, 0);
        wheel.note_carrying(0);
        wheel.pass_pocket();
        wheel.carry_over(200);
        assert_eq!(wheel.next_free_pocket(400), wheel.clock.pocket(5));
        wheel.close(799);
        assert_eq!(wheel.count.carrying, 2);
        assert_eq!(wheel.count.passed, 8);
        assert_eq!(wheel.count.longest_empty, 3);
        assert_eq!(wheel.count.carried_over, 1);
    }
}
