//! A lap seen from the side, unrolled: how far marbles go along and how far they fall or are lifted, element by element,
//! from the heights and lengths of the file alone.
//!
//! Heights are counted from the top of the element where marbles are poured in. Where ways meet, the deepest one says how
//! high the place stands, and the others have the difference to spare.

use std::collections::VecDeque;

use super::entry::SheetEntry;
use super::heights::{MARGIN_M, floor_fall_is_open, leave_rad, wheel};
use crate::machine::Machine;
use crate::machine::kind::each_kind;
use crate::machine::model::Exit as Way;

/// What a wheel without dimensions does not tell.
const UNKNOWN_LIFT: &str = "lift of";

/// A piece of the way through an element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ProfilePiece {
    /// Rolls so far along while falling so much, metres.
    Roll {
        /// Along, level.
        along_m: f64,
        /// Down.
        fall_m: f64,
    },
    /// Falls freely.
    Drop {
        /// Height, metres.
        fall_m: f64,
    },
    /// Swirls down a bowl, from its rim to its middle.
    Hollow {
        /// Across the rim, metres.
        width_m: f64,
        /// Depth, metres.
        depth_m: f64,
    },
    /// Rides up in a pocket wheel, from its lowest point.
    Wheel {
        /// Axle to pocket centre, metres.
        pitch_radius_m: f64,
        /// Diameter of the pockets, metres.
        bore_m: f64,
        /// Number of pockets.
        pockets: u32,
        /// Where marbles leave, radians past the lowest point.
        leave_rad: f64,
    },
    /// Is lifted otherwise, metres.
    Lift {
        /// Height.
        rise_m: f64,
    },
    /// What the file does not tell, before the element's name: `depth of`, `fall onto`.
    Unknown(&'static str),
}

impl ProfilePiece {
    /// How far it leads along, metres; 0 where that is not known.
    pub fn along_m(&self) -> f64 {
        match *self {
            ProfilePiece::Roll { along_m, .. } => along_m,
            ProfilePiece::Hollow { width_m, .. } => width_m,
            ProfilePiece::Wheel {
                pitch_radius_m,
                leave_rad,
                ..
            } => pitch_radius_m * libm::sin(leave_rad),
            ProfilePiece::Drop { .. } | ProfilePiece::Lift { .. } | ProfilePiece::Unknown(_) => 0.0,
        }
    }

    /// How far it leads up, metres: below 0 for a fall, 0 where that is not known.
    pub fn rise_m(&self) -> f64 {
        match *self {
            ProfilePiece::Roll { fall_m, .. } | ProfilePiece::Drop { fall_m } => -fall_m,
            ProfilePiece::Hollow { depth_m, .. } => -depth_m,
            ProfilePiece::Wheel {
                pitch_radius_m,
                leave_rad,
                ..
            } => pitch_radius_m * (1.0 - libm::cos(leave_rad)),
            ProfilePiece::Lift { rise_m } => rise_m,
            ProfilePiece::Unknown(_) => 0.0,
        }
    }
}

/// What all of `pieces` rise, metres.
pub fn rise_m(pieces: &[ProfilePiece]) -> f64 {
    pieces.iter().map(ProfilePiece::rise_m).sum()
}

/// An element on the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Passed {
    /// Index of the element.
    pub n: usize,
    /// Height that the way there has to spare, metres: marbles drop so far onto it, or it is taken up otherwise.
    pub spare_m: f64,
    /// Height at which it begins, metres.
    pub entry_m: f64,
    /// From its entry to its exit.
    pub pieces: Vec<ProfilePiece>,
}

impl Passed {
    /// Height of its exit, metres.
    pub fn exit_m(&self) -> f64 {
        self.entry_m + rise_m(&self.pieces)
    }
}

/// How a stretch ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StretchEnd {
    /// Back at an element that the marbles have passed, so much above its entry, metres; below 0 where it is too low.
    Closes {
        /// The element.
        to: usize,
        /// Height left over.
        left_m: f64,
    },
    /// At an element that another stretch shows, so much above its entry, metres.
    Joins {
        /// The element.
        to: usize,
        /// Height to spare.
        spare_m: f64,
    },
    /// Nowhere.
    DeadEnd,
}

/// A way without a branch: from the start, or from a splitter shown before.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePath {
    /// The element that it leaves and the height there, metres; `None` at the start.
    pub from: Option<(usize, f64)>,
    /// The elements on it.
    pub passed: Vec<Passed>,
    /// How it ends.
    pub end: StretchEnd,
}

/// What a lap lifts and lets fall, where one comes round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LapHeights {
    /// Lifted on the way with the least height left over, metres.
    pub lifted_m: f64,
    /// Height left over on it, metres.
    pub left_m: f64,
}

/// All ways of a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// ProfilePath by stretch, the one from the start first.
    pub stretches: Vec<ProfilePath>,
    /// The lap with the least height left over; `None` where no way leads back.
    pub lap: Option<LapHeights>,
}

impl Profile {
    /// What is not in the file: of which element and what, each once.
    pub fn unknown(&self) -> Vec<(usize, &'static str)> {
        let mut all = Vec::new();
        for passed in self.stretches.iter().flat_map(|stretch| &stretch.passed) {
            for piece in &passed.pieces {
                if let ProfilePiece::Unknown(what) = *piece
                    && !all.contains(&(passed.n, what))
                {
                    all.push((passed.n, what));
                }
            }
        }
        all
    }

    /// Whether the file does not tell how far something lifts, rather than how far it falls.
    pub fn lifts_are_unknown(&self) -> bool {
        self.unknown().iter().any(|(_, what)| *what == UNKNOWN_LIFT)
    }

    /// Whether the file gives any length.
    pub fn has_lengths(&self) -> bool {
        self.pieces().any(|piece| piece.along_m() > 0.0)
    }

    /// Whether a wheel of known size is among its lifts.
    pub fn has_wheels(&self) -> bool {
        self.pieces()
            .any(|piece| matches!(piece, ProfilePiece::Wheel { .. }))
    }

    fn pieces(&self) -> impl Iterator<Item = &ProfilePiece> {
        let passed = self.stretches.iter().flat_map(|stretch| &stretch.passed);
        passed.flat_map(|passed| &passed.pieces)
    }
}

/// The profile of a machine.
pub fn profile(machine: &Machine) -> Profile {
    let ways = WayOrder::of(machine);
    let levels = Levels::of(machine, &ways);
    let mut stretches = Vec::new();
    let mut seen = vec![false; machine.elements.len()];
    let mut open = VecDeque::from([None]);
    while let Some(from) = open.pop_front() {
        let walk = PathWalk {
            machine,
            ways: &ways,
            levels: &levels,
        };
        stretches.push(walk.stretch(from, &mut seen, &mut open));
    }
    Profile {
        stretches,
        lap: levels.lap,
    }
}

/// A way out: of which element, and which of its ways.
type WayOut = (usize, usize);

/// Which ways lead back to an element on the way there, and the elements so ordered that all others lead on.
struct WayOrder {
    back: Vec<Vec<bool>>,
    order: Vec<usize>,
}

impl WayOrder {
    /// By going into the depth, first ways first.
    fn of(machine: &Machine) -> Self {
        let elements = &machine.elements;
        let mut back: Vec<Vec<bool>> = Vec::new();
        for element in elements {
            back.push(vec![false; element.to.len()]);
        }
        let (mut entered, mut done) = (vec![false; elements.len()], vec![false; elements.len()]);
        let mut order = Vec::new();
        let mut path = vec![(machine.start, 0)];
        entered[machine.start] = true;
        while let Some((n, way)) = path.pop() {
            let Some(to) = elements[n].to.get(way).map(|exit| exit.to) else {
                done[n] = true;
                order.push(n);
                continue;
            };
            path.push((n, way + 1));
            if !entered[to] {
                entered[to] = true;
                path.push((to, 0));
            } else if !done[to] {
                back[n][way] = true;
            }
        }
        order.reverse();
        WayOrder { back, order }
    }
}

/// Through element `n` itself, without what depends on where marbles land.
fn inside(machine: &Machine, n: usize) -> Vec<ProfilePiece> {
    let kind = &machine.elements[n].kind;
    if let Some(lifting) = kind.lifting(machine.marbles.diameter_m) {
        let rise_m = lifting.rise_m;
        return vec![ProfilePiece::Lift { rise_m }];
    }
    if kind.wheel().is_none() {
        return each_kind!(kind, of => of.pieces());
    }
    let (Some(shape), Some(leave_rad)) = (wheel(machine, n), leave_rad(machine, n)) else {
        return vec![ProfilePiece::Unknown(UNKNOWN_LIFT)];
    };
    vec![ProfilePiece::Wheel {
        pitch_radius_m: shape.pitch_radius_m,
        bore_m: shape.bore_m,
        pockets: kind.wheel().map_or(0, |wheel| wheel.pockets),
        leave_rad,
    }]
}

/// From where marbles of a way land to the exit of what they land on.
fn landed(machine: &Machine, way: &Way) -> Vec<ProfilePiece> {
    let open = floor_fall_is_open(machine, way.to);
    each_kind!(&machine.elements[way.to].kind, of => of.landing_pieces(way.landing, open))
}

/// Height lost at a way's end to workmanship, as on the bench sheet.
fn margin_m(machine: &Machine, way: &Way) -> f64 {
    if machine.elements[way.to].kind.is_lift() {
        MARGIN_M
    } else {
        0.0
    }
}

/// How high everything stands.
struct Levels {
    /// Where marbles come into each element, those that land on it excepted: they are at its exit.
    entry_m: Vec<f64>,
    lap: Option<LapHeights>,
}

impl Levels {
    fn of(machine: &Machine, ways: &WayOrder) -> Self {
        let mut entry: Vec<Option<(f64, f64)>> = vec![None; machine.elements.len()];
        entry[machine.start] = Some((0.0, 0.0));
        let mut lap: Option<LapHeights> = None;
        for &n in &ways.order {
            let Some((entry_m, mut lifted_m)) = entry[n] else {
                continue;
            };
            let rise = rise_m(&inside(machine, n));
            lifted_m += rise.max(0.0);
            for (way, leads_back) in machine.elements[n].to.iter().zip(&ways.back[n]) {
                let falls = rise_m(&landed(machine, way)) - margin_m(machine, way);
                let arrives_m = entry_m + rise + falls;
                let known = entry[way.to];
                if *leads_back {
                    let left_m = arrives_m - known.map_or(0.0, |known| known.0);
                    let lifted_m = lifted_m - known.map_or(0.0, |known| known.1);
                    if lap.is_none_or(|least| left_m < least.left_m) {
                        lap = Some(LapHeights { lifted_m, left_m });
                    }
                } else if known.is_none_or(|known| arrives_m < known.0) {
                    entry[way.to] = Some((arrives_m, lifted_m));
                }
            }
        }
        let entry_m = entry.into_iter().map(|of| of.map_or(0.0, |of| of.0));
        Levels {
            entry_m: entry_m.collect(),
            lap,
        }
    }
}

/// What a stretch is walked by.
struct PathWalk<'a> {
    machine: &'a Machine,
    ways: &'a WayOrder,
    levels: &'a Levels,
}

impl PathWalk<'_> {
    /// The stretch that begins with the way `from`, or at the start; splitters on it leave their other ways in `open`.
    fn stretch(
        &self,
        from: Option<WayOut>,
        seen: &mut [bool],
        open: &mut VecDeque<Option<WayOut>>,
    ) -> ProfilePath {
        let mut passed = Vec::new();
        let mut next = from;
        if from.is_none() {
            passed.push(self.passed(self.machine.start, Vec::new(), 0.0));
            next = self.enter(self.machine.start, seen, open);
        }
        let from = from.map(|(n, _)| (n, self.exit_m(n)));
        loop {
            let Some((n, k)) = next else {
                let end = StretchEnd::DeadEnd;
                return ProfilePath { from, passed, end };
            };
            let way = &self.machine.elements[n].to[k];
            let landed = landed(self.machine, way);
            let arrives_m = self.exit_m(n) - margin_m(self.machine, way) + rise_m(&landed);
            let spare_m = arrives_m - self.levels.entry_m[way.to];
            if self.ways.back[n][k] {
                let (to, left_m) = (way.to, spare_m);
                let end = StretchEnd::Closes { to, left_m };
                return ProfilePath { from, passed, end };
            }
            if seen[way.to] {
                let (to, mut joins_m) = (way.to, spare_m);
                if !landed.is_empty() {
                    passed.push(self.passed(to, landed, spare_m));
                    joins_m = 0.0;
                }
                let spare_m = joins_m;
                let end = StretchEnd::Joins { to, spare_m };
                return ProfilePath { from, passed, end };
            }
            passed.push(self.passed(way.to, landed, spare_m));
            next = self.enter(way.to, seen, open);
        }
    }

    /// Marks `n` as shown, leaves its other ways open, and returns its first.
    fn enter(
        &self,
        n: usize,
        seen: &mut [bool],
        open: &mut VecDeque<Option<WayOut>>,
    ) -> Option<WayOut> {
        seen[n] = true;
        let ways = self.machine.elements[n].to.len();
        open.extend((1..ways).map(|k| Some((n, k))));
        (ways > 0).then_some((n, 0))
    }

    fn exit_m(&self, n: usize) -> f64 {
        self.levels.entry_m[n] + rise_m(&inside(self.machine, n))
    }

    fn passed(&self, n: usize, landed: Vec<ProfilePiece>, spare_m: f64) -> Passed {
        let entry_m = self.levels.entry_m[n] - rise_m(&landed);
        let mut pieces = landed;
        pieces.extend(inside(self.machine, n));
        Passed {
            n,
            spare_m,
            entry_m,
            pieces,
        }
    }
}
