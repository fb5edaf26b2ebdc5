//! What a close look at a floor or a bowl tells an event simulation: how long marbles are inside, how often they arch or go
//! over the side, by how many are inside.
//!
//! A look is a list of independent [`CrowdLoop`]s, each a pure function of place, loop and step.

use super::crowd::{CrowdLoop, CrowdRecord};

/// Classes of the number inside: 1, 2, 3, 4 and 5, 6 to 8, 9 to 12, 13 and more.
pub const CROWDS: usize = 7;
/// Marbles kept inside in the loops of a look: as these fill and empty, every class is met.
const NUMBERS: [usize; 5] = [1, 2, 4, 8, 14];
/// Times below which a class borrows from its neighbours, and marbles that left.
const ENOUGH: usize = 24;
const ENOUGH_ENDS: u32 = 100;

/// From one entry to the next at least in the loops of a look, s.
const APART_S: f64 = 0.2;

/// The class of a number of marbles inside, below [`CROWDS`].
pub fn crowd(inside: u32) -> usize {
    match inside {
        0 | 1 => 0,
        2 => 1,
        3 => 2,
        4 | 5 => 3,
        6..=8 => 4,
        9..=12 => 5,
        _ => 6,
    }
}

/// Share of the entries of a loop that every entrance has at least, and the larger one that it has of lone marbles.
const EACH: (usize, usize) = (4, 2);

/// How long a look is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CrowdLook {
    /// Ways in, 1 or more.
    pub entrances: usize,
    /// Entries in each loop; more where there are many entrances.
    pub entries: usize,
}

/// The loops of a look, the most crowded first: no core is left with it at the end.
pub fn crowd_loops(look: CrowdLook) -> Vec<CrowdLoop> {
    let CrowdLook { entrances, entries } = look;
    let mut loops = Vec::new();
    for (class, kept) in NUMBERS.into_iter().enumerate().rev() {
        let share = if kept == 1 { EACH.1 } else { EACH.0 };
        let entries = entries.max(entries / share * entrances);
        loops.push(CrowdLoop {
            kept,
            entries,
            apart_s: APART_S,
            first: 1 + class * entries / entrances,
            seed: class as u64,
        });
    }
    loops
}

/// How a marble came in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CameInto {
    /// By which entrance.
    pub entrance: usize,
    /// Into a crowd of which class, itself among it; below [`CROWDS`].
    pub class: usize,
}

/// How marbles ended that had so many about them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EndCounts {
    /// Went out.
    pub out: u32,
    /// Went over the side.
    pub over: u32,
    /// Arched, and the next that came did not free them.
    pub arched: u32,
}

impl EndCounts {
    /// All of them.
    pub fn all(self) -> u32 {
        self.out + self.over + self.arched
    }

    /// Chance that one that is about to leave arches with the others instead.
    pub fn arch_share(self) -> f64 {
        f64::from(self.arched) / f64::from(self.all().max(1))
    }

    /// Share that goes over the side.
    pub fn over_share(self) -> f64 {
        f64::from(self.over) / f64::from(self.all().max(1))
    }
}

/// What was seen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CrowdCounts {
    /// Times from the entry until a marble is out, microseconds: by entrance, then by class of crowd.
    times_us: Vec<[Vec<u32>; CROWDS]>,
    ends: [EndCounts; CROWDS],
    /// Mean speed with which lone marbles go out, micrometres a second; 0 where none did.
    lone_speed_um_s: u32,
}

impl CrowdCounts {
    /// Gathers what was seen at a place with so many entrances.
    pub fn gather(entrances: usize, seen: &[CrowdRecord]) -> CrowdCounts {
        let mut counts = CrowdCounts {
            times_us: vec![Default::default(); entrances],
            ..CrowdCounts::default()
        };
        let (mut speeds, mut lone) = (0.0, 0.0);
        for passage in seen.iter().flat_map(|record| &record.out) {
            let micros = (passage.time_s * 1e6).round() as u32;
            counts.times_us[passage.entrance][crowd(passage.met)].push(micros);
            counts.ends[crowd(passage.left)].out += 1;
            if passage.met == 1 && passage.left == 1 {
                (speeds, lone) = (speeds + passage.speed_m_s, lone + 1.0);
            }
        }
        for record in seen {
            for &inside in &record.over {
                counts.ends[crowd(inside)].over += 1;
            }
            for arch in &record.arches {
                counts.ends[crowd(arch.inside)].arched += u32::from(!arch.freed);
            }
        }
        if lone > 0.0 {
            counts.lone_speed_um_s = (speeds / lone * 1e6).round() as u32;
        }
        counts
    }

    /// From times (microseconds) by entrance and class of crowd, ends by class, and the mean speed of lone marbles (m/s).
    pub fn from_classes(
        times_us: Vec<[Vec<u32>; CROWDS]>,
        ends: [EndCounts; CROWDS],
        lone_speed_m_s: Option<f64>,
    ) -> CrowdCounts {
        CrowdCounts {
            times_us,
            ends,
            lone_speed_um_s: lone_speed_m_s.map_or(0, |speed| (speed * 1e6).round() as u32),
        }
    }

    /// Times of those who came so and no other, microseconds.
    pub fn times_of_class_us(&self, came: CameInto) -> &[u32] {
        &self.times_us[came.entrance][came.class]
    }

    /// How marbles of such a crowd and no other ended.
    pub fn ends_of_class(&self, class: usize) -> EndCounts {
        self.ends[class]
    }

    /// How many entrances were looked at.
    pub fn entrances(&self) -> usize {
        self.times_us.len()
    }

    /// Times of those who came so, s; with those of neighbouring classes where there are too few. Empty where nobody goes out.
    pub fn times_s(&self, came: CameInto) -> Vec<f64> {
        let CameInto { entrance, class } = came;
        let classes = &self.times_us[entrance];
        let mut times = Vec::new();
        for reach in 0..CROWDS {
            times.clear();
            for (other, of) in classes.iter().enumerate() {
                if other.abs_diff(class) <= reach {
                    times.extend(of.iter().map(|&micros| f64::from(micros) / 1e6));
                }
            }
            if times.len() >= ENOUGH {
                break;
            }
        }
        times
    }

    /// How marbles of such a crowd ended; with its neighbours' where there are too few.
    pub fn ends(&self, class: usize) -> EndCounts {
        let mut sum = EndCounts::default();
        for reach in 0..CROWDS {
            sum = EndCounts::default();
            for (other, of) in self.ends.iter().enumerate() {
                if other.abs_diff(class) <= reach {
                    sum.out += of.out;
                    sum.over += of.over;
                    sum.arched += of.arched;
                }
            }
            if sum.all() >= ENOUGH_ENDS {
                break;
            }
        }
        sum
    }

    /// Mean speed with which lone marbles go out, m/s; `None` where none did.
    pub fn lone_speed_m_s(&self) -> Option<f64> {
        (self.lone_speed_um_s > 0).then(|| f64::from(self.lone_speed_um_s) / 1e6)
    }

    /// As plain numbers, which [`CrowdCounts::from_numbers`] reads.
    pub fn to_numbers(&self) -> Vec<u32> {
        let mut numbers = vec![self.lone_speed_um_s];
        for ends in &self.ends {
            numbers.extend([ends.out, ends.over, ends.arched]);
        }
        for times in self.times_us.iter().flatten() {
            numbers.push(times.len() as u32);
            numbers.extend(times);
        }
        numbers
    }

    /// From plain numbers; `None` where they do not stand for such counts.
    pub fn from_numbers(numbers: &[u32]) -> Option<CrowdCounts> {
        let mut numbers = numbers.iter().copied();
        let mut counts = CrowdCounts {
            lone_speed_um_s: numbers.next()?,
            ..CrowdCounts::default()
        };
        for ends in &mut counts.ends {
            ends.out = numbers.next()?;
            ends.over = numbers.next()?;
            ends.arched = numbers.next()?;
        }
        while numbers.len() > 0 {
            let mut classes: [Vec<u32>; CROWDS] = Default::default();
            for times in &mut classes {
                let many = numbers.next()? as usize;
                times.extend(numbers.by_ref().take(many));
                if times.len() != many {
                    return None;
                }
            }
            counts.times_us.push(classes);
        }
        Some(counts)
    }
}
