//! What a close look at a wheel's place tells an event simulation: how often a passing pocket does what.
//!
//! A look is a list of independent [`Loop`]s, each a pure function of place, loop and step. They may be followed on any
//! number of threads: what is gathered are whole numbers, so their order changes nothing.

use super::passes::{Loop, LoopRecord, Pass};
use super::place::WheelPlace;

/// Classes of the number in line: 1, 2, 3, 4 and 5, 6 to 8, 9 and more.
pub const COMPANIES: usize = 6;
/// Ends of the classes of marbles that rolled in, s before the pocket's leading edge passed the lowest point; below 0 they
/// came after it. The last class has no end.
pub const ROLLED_IN_S: [f64; 8] = [-0.15, -0.05, 0.0, 0.07, 0.15, 0.4, 1.0, f64::INFINITY];
/// Ends of the classes of those whom so many pockets have missed since the line last changed: who was missed often lies aside,
/// and will be missed again.
pub const MISSES: [u32; 5] = [1, 3, 7, 15, u32::MAX];
/// Ends of the classes of those whom one more has joined after so many pockets had missed them.
pub const JOINED_AFTER: [u32; 2] = [3, u32::MAX];
/// Classes of meetings: those who rolled in, who moved up, whom one more has joined, whom pockets have missed.
pub const MEETINGS: usize = ROLLED_IN_S.len() + 1 + JOINED_AFTER.len() + MISSES.len();
const MOVED_UP: usize = ROLLED_IN_S.len();
const JOINED: usize = MOVED_UP + 1;
const MISSED: usize = JOINED + JOINED_AFTER.len();
/// Passes that a class borrows from those most like it.
const BORROWED: f64 = 5.0;
/// No more classes are asked once those asked hold so many passes, and so many marbles that went.
const ENOUGH: u32 = 30;
const ENOUGH_GONE: u32 = 3;

/// How a pocket finds the marble that it meets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Encounter {
    /// It rolled in so long before the pocket's leading edge passed the lowest point, s; below 0 after it.
    RolledIn(f64),
    /// It moved up in line behind one that the pocket before has taken.
    MovedUp,
    /// One more has come to those who waited since the pocket before, and whom so many pockets had missed.
    Joined(u32),
    /// So many pockets, 1 or more, have missed it.
    Missed(u32),
}

impl Encounter {
    /// Its class, below [`MEETINGS`].
    pub fn class(self) -> usize {
        match self {
            Encounter::RolledIn(before_s) => ROLLED_IN_S
                .iter()
                .position(|&end| before_s < end)
                .unwrap_or(MOVED_UP - 1),
            Encounter::MovedUp => MOVED_UP,
            Encounter::Joined(times) => JOINED + class_of(times, &JOINED_AFTER),
            Encounter::Missed(times) => MISSED + class_of(times, &MISSES),
        }
    }
}

/// The first class whose end a number does not exceed.
fn class_of(number: u32, ends: &[u32]) -> usize {
    let class = ends.iter().position(|&end| number <= end);
    class.unwrap_or(ends.len() - 1)
}

/// The line at a wheel as a pocket left it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LineLeft {
    /// How many waited on.
    waiting: u32,
    /// Pockets that have missed the one that waits there longest.
    missed: u32,
    /// Whether one had joined those who waited when the pocket came.
    joined: bool,
}

impl LineLeft {
    /// How a further pocket meets so many, 1 or more; `None`: the pocket before left nobody, or only some who moved up.
    #[inline]
    pub fn is_met_with(&mut self, waiting: u32) -> Option<Encounter> {
        self.joined = self.waiting > 0 && waiting > self.waiting;
        if self.waiting == 0 {
            self.missed = 0;
        }
        let meeting = match (self.joined, self.missed) {
            (true, missed) => Some(Encounter::Joined(missed)),
            (false, 0) => None,
            (false, missed) => Some(Encounter::Missed(missed)),
        };
        self.waiting = waiting;
        self.missed += 1;
        meeting
    }

    /// One of those whom the last pocket met is gone. Where one had joined others who had been missed, it is the one that came:
    /// who was missed lies aside, and is missed again.
    #[inline]
    pub fn one_is_gone(&mut self) {
        self.waiting = self.waiting.saturating_sub(1);
        // The last pocket is counted although it took one.
        if self.waiting == 0 || !self.joined || self.missed <= 1 {
            self.missed = 0;
        }
    }

    /// How many waited on.
    pub fn waiting(&self) -> u32 {
        self.waiting
    }
}

/// The class of a number of marbles in line, below [`COMPANIES`].
pub fn company(in_line: u32) -> usize {
    match in_line {
        0 | 1 => 0,
        2 => 1,
        3 => 2,
        4 | 5 => 3,
        6..=8 => 4,
        _ => 5,
    }
}

/// What a pocket found at the ramp, as a class that is counted by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PassClass {
    /// How many in line, as [`company`] has it; below [`COMPANIES`].
    pub company: usize,
    /// How they met, as [`Encounter::class`] has it; below [`MEETINGS`].
    pub meeting: usize,
}

impl PassClass {
    /// Every class.
    pub fn all() -> impl Iterator<Item = PassClass> {
        let meetings = |company| (0..MEETINGS).map(move |meeting| PassClass { company, meeting });
        (0..COMPANIES).flat_map(meetings)
    }

    /// Its manner, in which classes differ less than manners do: 0, who rolled in; 1, who moved up or was joined by one more;
    /// 2, whom pockets have missed.
    pub fn manner(self) -> usize {
        match self.meeting {
            ..MOVED_UP => 0,
            MOVED_UP..MISSED => 1,
            _ => 2,
        }
    }
}

/// How often what happened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PassCounts {
    /// Pockets that met a marble.
    pub passes: u32,
    /// That took one, and did not stall.
    pub taken: u32,
    /// That stalled the wheel.
    pub stalled: u32,
    /// Marbles thrown off, or over the open side.
    pub lost: u32,
}

/// Shares of the pockets that met a marble.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassShares {
    /// Took it.
    pub take: f64,
    /// Wedged it and stalled the drive.
    pub stall: f64,
    /// Marbles lost meanwhile, a pocket.
    pub lost: f64,
}

impl PassCounts {
    fn add(&mut self, other: PassCounts) {
        self.passes += other.passes;
        self.taken += other.taken;
        self.stalled += other.stalled;
        self.lost += other.lost;
    }

    fn sum<'a>(tallies: impl IntoIterator<Item = &'a PassCounts>) -> PassCounts {
        let mut sum = PassCounts::default();
        tallies.into_iter().for_each(|passes| sum.add(*passes));
        sum
    }

    fn of(pass: &Pass) -> PassCounts {
        let taken = u32::from(pass.taken && !pass.stalled);
        PassCounts {
            passes: 1,
            taken,
            stalled: u32::from(pass.stalled),
            lost: pass.lost,
        }
    }

    /// As shares; all 0 where no pocket met anybody.
    pub fn shares(self) -> PassShares {
        let of = |hits: u32| f64::from(hits) / f64::from(self.passes.max(1));
        PassShares {
            take: of(self.taken),
            stall: of(self.stalled),
            lost: of(self.lost).min(1.0),
        }
    }
}

/// What pockets did, by number in line and by how they met whom they met.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PickUpCounts {
    cells: [[PassCounts; MEETINGS]; COMPANIES],
}

impl PickUpCounts {
    /// Gathers what was seen at a place.
    pub fn gather(place: &WheelPlace, seen: &[LoopRecord]) -> PickUpCounts {
        let mut counts = PickUpCounts::default();
        // While its mouth passes the lowest point: who comes later meets the next pocket.
        let open_s = place.wheel.bore_m / (place.wheel.pitch_radius_m * place.drive.speed_rad_s);
        for seen in seen {
            let mut line = LineLeft::default();
            for pass in &seen.passes {
                let came_s = pass
                    .waited_s
                    .or(pass.late_s.map(|late| -late))
                    .filter(|came| *came > -open_s);
                // Who was missed still waits, even where it has bounced back or aside and is not at the face.
                let left = line.waiting();
                if left == 0 && came_s.is_none() {
                    continue;
                }
                let there = pass.met.max(left).max(1);
                let meeting = match (line.is_met_with(there), came_s) {
                    (Some(meeting), _) => meeting,
                    (None, Some(came_s)) if left == 0 => Encounter::RolledIn(came_s),
                    (None, _) => Encounter::MovedUp,
                };
                counts.cells[company(there)][meeting.class()].add(PassCounts::of(pass));
                if pass.taken || pass.stalled || pass.lost > 0 {
                    line.one_is_gone();
                }
            }
        }
        counts
    }

    /// From the counts of each class.
    pub fn from_classes(of: impl Fn(PassClass) -> PassCounts) -> PickUpCounts {
        let mut counts = PickUpCounts::default();
        for class in PassClass::all() {
            counts.cells[class.company][class.meeting] = of(class);
        }
        counts
    }

    /// The counts of one class alone.
    pub fn of_class(&self, class: PassClass) -> PassCounts {
        self.cells[class.company][class.meeting]
    }

    /// Shares of one class: of its own passes and of [`BORROWED`] more as in the classes most like it.
    ///
    /// Passes of one episode hang together: a line that stood blocked for forty pockets until the look ended does not show
    /// that no pocket ever takes one of it.
    pub fn of(&self, class: PassClass) -> PassShares {
        let own = self.of_class(class);
        let akin = self.akin(class).shares();
        let passes = f64::from(own.passes) + BORROWED;
        let with = |own: u32, akin: f64| (f64::from(own) + BORROWED * akin) / passes;
        PassShares {
            take: with(own.taken, akin.take),
            stall: with(own.stalled, akin.stall),
            lost: with(own.lost, akin.lost).min(1.0),
        }
    }

    /// The counts of the classes most like one, it among them: first those of the same company, then those of others.
    fn akin(&self, class: PassClass) -> PassCounts {
        let PassClass { company, meeting } = class;
        let mut sum = PassCounts::default();
        for reach in 1..COMPANIES + ROLLED_IN_S.len() {
            sum = PassCounts::default();
            for (c, cells) in self.cells.iter().enumerate() {
                for (m, cell) in cells.iter().enumerate() {
                    let akin = m == meeting
                        || (m < MOVED_UP && meeting < MOVED_UP && late(m) == late(meeting))
                        || (m >= MISSED && meeting >= MISSED)
                        || ((JOINED..MISSED).contains(&m) && (JOINED..MISSED).contains(&meeting));
                    if akin && c.abs_diff(company) * 2 + m.abs_diff(meeting) <= reach {
                        sum.add(*cell);
                    }
                }
            }
            if sum.passes >= ENOUGH && sum.taken + sum.stalled >= ENOUGH_GONE {
                break;
            }
        }
        sum
    }

    /// Pockets that met one of a line of four and more that moves up.
    pub fn line(&self) -> PassCounts {
        PassCounts::sum(
            self.cells[company(4)..]
                .iter()
                .flat_map(|cells| &cells[MOVED_UP..]),
        )
    }

    /// Pockets that met a marble alone.
    pub fn alone(&self) -> PassCounts {
        PassCounts::sum(&self.cells[company(1)])
    }

    /// All pockets that met a marble.
    pub fn all(&self) -> PassCounts {
        PassCounts::sum(self.cells.iter().flatten())
    }

    /// As plain numbers, which [`PickUpCounts::from_numbers`] reads.
    pub fn to_numbers(&self) -> Vec<u32> {
        self.cells
            .iter()
            .flatten()
            .flat_map(|cell| [cell.passes, cell.taken, cell.stalled, cell.lost])
            .collect()
    }

    /// Adds what a further look at the same place saw.
    pub fn add(&mut self, other: &PickUpCounts) {
        let theirs = other.cells.iter().flatten();
        self.cells
            .iter_mut()
            .flatten()
            .zip(theirs)
            .for_each(|(cell, more)| cell.add(*more));
    }

    /// From plain numbers; `None` where they are not as many.
    pub fn from_numbers(numbers: &[u32]) -> Option<PickUpCounts> {
        let mut counts = PickUpCounts::default();
        let (cells, rest) = numbers.as_chunks::<4>();
        if !rest.is_empty() || cells.len() != COMPANIES * MEETINGS {
            return None;
        }
        for (cell, &[passes, taken, stalled, lost]) in counts.cells.iter_mut().flatten().zip(cells)
        {
            *cell = PassCounts {
                passes,
                taken,
                stalled,
                lost,
            };
        }
        Some(counts)
    }
}

/// Whether a class of those who rolled in came after the leading edge: never one for the other.
fn late(class: usize) -> bool {
    ROLLED_IN_S[class] <= 0.0
}

/// Marbles in the loops of a look that come back within a pocket: every company is met.
const DENSE: [u32; 5] = [1, 2, 3, 5, 8];
/// Marbles in the loops whose marbles are away for longer: who lies aside does so for long, and meets those who come one by one.
const SPARSE: [u32; 3] = [4, 8, 14];
/// For how many pockets marbles are away at most.
const AWAY_POCKETS: (f64, f64) = (1.0, 20.0);
/// A sparse loop is so many times as long as a dense one.
const LONGER: usize = 2;

/// The loops of one look, each on its own chance: so many of each number that is dense and one of each that is sparse, for so
/// many pockets each, the sparse ones longer.
pub fn loops(seed: u64, replications: u64, passes: usize) -> Vec<Loop> {
    let first = seed.wrapping_mul(1 << 20);
    let one = |k: u64, marbles: u32| Loop {
        marbles,
        passes,
        back_at: 9.0,
        away_pockets: AWAY_POCKETS.0,
        seed: first.wrapping_add(k * 64 + u64::from(marbles)),
    };
    // The longest first, so that no core is left alone with one at the end.
    let mut loops = Vec::new();
    for marbles in SPARSE.into_iter().rev() {
        loops.push(Loop {
            passes: LONGER * passes,
            away_pockets: AWAY_POCKETS.1,
            ..one(replications, marbles)
        });
    }
    for k in 0..replications {
        for marbles in DENSE.into_iter().rev() {
            loops.push(one(k, marbles));
        }
    }
    loops
}
