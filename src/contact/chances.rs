//! What a close look at a wheel's place tells an event simulation: chances for one passing pocket.
//!
//! A look is a list of independent [`Loop`]s, each a pure function of place, loop and step. They may be followed on any
//! number of threads: what is gathered are whole numbers, so their order changes nothing.

use super::passes::{Loop, Pass, Seen};

/// Classes of the number in line: 1, 2, 3, 4 and 5, 6 to 8, 9 and more.
pub const COMPANIES: usize = 6;
/// Upper ends of the classes of arrival, s before the pocket's leading edge passes the lowest point; below 0 the head
/// comes later than that edge. The last class has no end.
pub const ARRIVALS_S: [f64; 8] = [-0.15, -0.05, 0.0, 0.07, 0.15, 0.4, 1.0, f64::INFINITY];
/// Arrivals slower than this count as a line that moves up, faster ones as marbles that roll in, m/s.
pub const ROLLS_IN_M_S: f64 = 0.2;
/// Passes below which a cell borrows from its neighbours.
const ENOUGH: u32 = 30;

const SPEEDS: usize = 2;
const ARRIVALS: usize = ARRIVALS_S.len();

/// How often what happened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Pockets that passed.
    pub passes: u32,
    /// That took a marble, and did not stall.
    pub taken: u32,
    /// That stalled the wheel.
    pub stalled: u32,
    /// Marbles thrown off, or over the open side.
    pub lost: u32,
}

impl Tally {
    fn add(&mut self, other: Tally) {
        self.passes += other.passes;
        self.taken += other.taken;
        self.stalled += other.stalled;
        self.lost += other.lost;
    }

    fn of(pass: &Pass) -> Tally {
        Tally {
            passes: 1,
            taken: u32::from(pass.taken && !pass.stalled),
            stalled: u32::from(pass.stalled),
            lost: pass.lost,
        }
    }
}

/// Chances of one pocket that passes somebody, with the error they are known to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Chances {
    /// It takes the marble.
    pub take: f64,
    /// It wedges the marble and stalls the drive.
    pub stall: f64,
    /// Marbles lost meanwhile, mean.
    pub lost: f64,
    /// Standard error of `take`; wide, not 0, where all passes went alike.
    pub take_error: f64,
    /// Standard error of `stall`.
    pub stall_error: f64,
    /// Passes they rest on.
    pub passes: u32,
}

/// Standard error of a share, by the shrunk share of A. Agresti, B. A. Coull, Am. Stat. 52 (1998) 119.
fn share_error(hits: u32, of: u32) -> f64 {
    let (hits, of) = (f64::from(hits) + 2.0, f64::from(of) + 4.0);
    (hits / of * (1.0 - hits / of) / of).sqrt()
}

impl Chances {
    fn of(tally: Tally) -> Chances {
        let share = |hits: u32| f64::from(hits) / f64::from(tally.passes.max(1));
        Chances {
            take: share(tally.taken),
            stall: share(tally.stalled),
            lost: share(tally.lost),
            take_error: share_error(tally.taken, tally.passes),
            stall_error: share_error(tally.stalled, tally.passes),
            passes: tally.passes,
        }
    }
}

/// Chances by number in line, by when the head came (which is also the pocket's phase), and by how fast.
#[derive(Clone, Debug, PartialEq)]
pub struct PickUpChances {
    cells: [[[Chances; SPEEDS]; ARRIVALS]; COMPANIES],
    all: Tally,
}

fn company(in_line: u32) -> usize {
    match in_line {
        0 | 1 => 0,
        2 => 1,
        3 => 2,
        4 | 5 => 3,
        6..=8 => 4,
        _ => 5,
    }
}

fn arrival(before_s: f64) -> usize {
    ARRIVALS_S.iter().position(|&end| before_s < end).unwrap_or(ARRIVALS - 1)
}

type Tallies = [[[Tally; SPEEDS]; ARRIVALS]; COMPANIES];

/// A cell, or with its neighbours where it holds too few: first both speeds, then one more arrival and company either
/// side, and so on.
fn borrowed(tallies: &Tallies, at: (usize, usize, usize)) -> Tally {
    let own = tallies[at.0][at.1][at.2];
    if own.passes >= ENOUGH {
        return own;
    }
    let mut sum = Tally::default();
    for reach in 0..ARRIVALS {
        sum = Tally::default();
        for (c, arrivals) in tallies.iter().enumerate().filter(|(c, _)| c.abs_diff(at.0) <= reach) {
            for (a, speeds) in arrivals.iter().enumerate().filter(|(a, _)| a.abs_diff(at.1) + c.abs_diff(at.0) <= reach)
            {
                // Late arrivals and those who wait are different things: never one for the other.
                if (ARRIVALS_S[a] > 0.0) == (ARRIVALS_S[at.1] > 0.0) {
                    speeds.iter().for_each(|tally| sum.add(*tally));
                }
            }
        }
        if sum.passes >= ENOUGH {
            break;
        }
    }
    sum
}

impl PickUpChances {
    /// Gathers what was seen.
    pub fn gather(seen: &[Seen]) -> PickUpChances {
        let mut tallies: Tallies = Default::default();
        let mut all = Tally::default();
        for pass in seen.iter().flat_map(|seen| &seen.passes) {
            all.add(Tally::of(pass));
            let Some(before) = pass.waited_s.or(pass.late_s.map(|late| -late)) else { continue };
            let fast = usize::from(pass.arrived_m_s >= ROLLS_IN_M_S);
            tallies[company(pass.in_line)][arrival(before)][fast].add(Tally::of(pass));
        }
        let mut cells: [[[Chances; SPEEDS]; ARRIVALS]; COMPANIES] = Default::default();
        for (c, arrivals) in cells.iter_mut().enumerate() {
            for (a, speeds) in arrivals.iter_mut().enumerate() {
                for (s, cell) in speeds.iter_mut().enumerate() {
                    *cell = Chances::of(borrowed(&tallies, (c, a, s)));
                }
            }
        }
        PickUpChances { cells, all }
    }

    /// Chances for a pocket whose leading edge passes the lowest point with so many in line, `before_s` after the head
    /// came (below 0: before it comes) at a speed (m/s). A look-up.
    pub fn of(&self, in_line: u32, before_s: f64, arrived_m_s: f64) -> &Chances {
        &self.cells[company(in_line)][arrival(before_s)][usize::from(arrived_m_s >= ROLLS_IN_M_S)]
    }

    /// All pockets of the look together.
    pub fn all(&self) -> Tally {
        self.all
    }
}

/// The loops of one look: 1 to 12 marbles, so that every company is met, each several times on its own chance. `passes` is
/// for each loop of up to four; longer lines, whose pockets go more alike, get fewer, so that all take about as long.
pub fn loops(seed: u64, replications: u64, passes: usize) -> Vec<Loop> {
    let numbers: [u32; 6] = [1, 2, 3, 5, 8, 12];
    let first = seed.wrapping_mul(1 << 20);
    let one = |k: u64, marbles: u32| Loop {
        marbles,
        passes: (passes * 4).div_ceil(marbles.max(4) as usize),
        back_at: 9.0,
        seed: first.wrapping_add(k * 64 + u64::from(marbles)),
    };
    (0..replications).flat_map(|k| numbers.map(|marbles| one(k, marbles))).collect()
}
