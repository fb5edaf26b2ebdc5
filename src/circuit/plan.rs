//! A circuit ready to run: every element as a queue-and-transit node, its dimensions turned into times and chances.

use super::batch::BatchState;
use super::carousel::CarouselState;
use super::draw::{Chance, Draw, Nanos, Shares};
use super::pick_up::{Looked, PickUpOdds};
use super::round_robin::RoundRobinState;
use super::trip::TripState;
use crate::contact::crowd_counts::EndCounts;
use crate::machine::model::{Arch, Room};

/// A machine as an event graph. Immutable: all runs of a study share one.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// The elements, in the order of the file.
    pub nodes: Vec<Plan>,
    /// Index of the element where marbles are poured in.
    pub start: usize,
    /// The load.
    pub marbles: u32,
    /// Number of independent drives; wheels name theirs by index.
    pub drives: usize,
    /// How long a jam lasts until somebody clears it; `None`: it ends the run.
    pub tending: Option<Nanos>,
    /// The element whose entry begins each lap: the first wheel after the start, else the start itself.
    pub lap_line: usize,
}

/// An element as a node: marbles travel through it, queue at its gates, and a role decides when and where they go on.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Its name in the file.
    pub name: String,
    /// Its kind as the file writes it.
    pub kind: &'static str,
    /// How many marbles it has room for; `u32::MAX`: as many as come.
    pub room: u32,
    /// Whether a marble it has no room for falls over its side and is lost.
    pub spills: bool,
    /// Travel time, by entry (see [`Way::entry`]); empty where marbles do not travel.
    pub travel: Vec<Draw>,
    /// Whether travel times go by how many are inside: each entry then has one for each class of
    /// [`crowd`](crate::contact::crowd_counts::crowd), the lone marble's first.
    pub by_crowd: bool,
    /// Chance that a marble that comes in goes over the side, by class of crowd; empty: none does.
    pub thrown_out: Vec<Chance>,
    /// Whether marbles may overtake each other while they travel.
    pub overtaking: bool,
    /// Whether marbles of many ways come together in it, so that its backlog is one of the first figures to look at.
    pub collects: bool,
    /// Whether a marble strikes it, so that it is heard, as it comes to the exit.
    pub rings: bool,
    /// The gates that marbles trip as they come in, by index.
    pub trips: Vec<usize>,
    /// Whether a marble does not get through it by itself.
    pub stalls: bool,
    /// Why it does not, where it does not.
    pub halts: Cause,
    /// From one marble leaving a gate until the next may follow.
    pub advance: Nanos,
    /// From a marble leaving while it was full until the freed place has come to the entrance.
    pub entrance_delay: Nanos,
    /// Marbles wedging at a gate.
    pub blockage: Option<Blockage>,
    /// How all marbles ended that a close look followed, where it tells how they wedge.
    pub followed: Option<EndCounts>,
    /// Where it leads.
    pub ways: Vec<Way>,
    /// How it sends marbles on.
    pub role: Role,
}

/// One way out of an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Index of the element it leads to.
    pub to: usize,
    /// Which of that element's travel times applies.
    pub entry: usize,
}

/// How an element sends marbles on: its routing and its service. Roles with a state are copied for each run.
#[derive(Clone, Debug)]
pub enum Role {
    /// One gate, one way.
    Through,
    /// A gate for each way, one of them chosen at random, by share, as a marble arrives.
    RandomGate(Shares),
    /// One gate, the way chosen at random, by share.
    RandomWay(Shares),
    /// One gate, the first way that has room: the others take what overflows.
    FirstWithRoom,
    /// One gate, the ways in turn.
    RoundRobin(RoundRobinState),
    /// One gate, which serves marbles one at a time, each for a time.
    Server(Draw),
    /// Marbles gather and go on together.
    Batch(BatchState),
    /// One gate, which lets marbles go when another element was entered.
    Trip(TripState),
    /// Places that come round, each of which takes one marble along.
    Carousel(Box<CarouselState>),
}

/// How marbles wedge at a gate.
#[derive(Clone, Debug)]
pub struct Blockage {
    /// Chance that an arriving marble wedges, by the number of marbles it meets at the gate, or by the class of crowd inside;
    /// the last holds beyond.
    pub chance: Vec<Chance>,
    /// Whether it goes by the crowd inside.
    pub by_crowd: bool,
    /// How long until they free themselves; `None`: never.
    pub clears: Option<Draw>,
    /// What the file and the findings call it.
    pub cause: Cause,
    /// The instant at which marbles that would wedge pass all the same: for replays that ask what would have been.
    pub counterfactual: Option<Nanos>,
}

/// Why marbles stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A marble caught between ramp and wheel; the wheel stops.
    Pinch,
    /// Marbles wedged across an opening.
    Arch,
    /// A flip gate stuck half-way.
    Stick,
    /// A slope too shallow to roll on.
    Stall,
    /// A marble that came too slowly or too fast to stay on its way.
    Fall,
}

impl Cause {
    /// All causes.
    pub const ALL: [Cause; 5] = [
        Cause::Pinch,
        Cause::Arch,
        Cause::Stick,
        Cause::Stall,
        Cause::Fall,
    ];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Cause::Pinch => "pinch",
            Cause::Arch => "arch",
            Cause::Stick => "stick",
            Cause::Stall => "stall",
            Cause::Fall => "fall",
        }
    }
}

impl Circuit {
    /// Whether chance decides anything in it: if not, all runs are alike.
    pub fn is_random(&self) -> bool {
        self.nodes.iter().any(Plan::is_random)
    }

    /// The indices of its wheels.
    pub fn wheels(&self) -> impl Iterator<Item = usize> {
        (0..self.nodes.len()).filter(|&n| self.nodes[n].wheel().is_some())
    }

    /// What the places of all its lifts are called, and what all its lifts are.
    pub fn carriers(&self) -> (String, &'static str) {
        let mut lifts = self.wheels().map(|n| self.nodes[n].seats());
        let first = lifts.next().unwrap_or_else(|| "pockets".to_owned());
        match first.as_str() {
            _ if lifts.any(|other| other != first) => ("places".to_owned(), "lift"),
            "pockets" => (first, "wheel"),
            _ => (first, "lift"),
        }
    }
}

impl Plan {
    fn is_random(&self) -> bool {
        let by_role = match &self.role {
            Role::RandomGate(_) | Role::RandomWay(_) => self.ways.len() > 1,
            Role::Server(held) => !held.is_fixed(),
            Role::Carousel(wheel) => !wheel.pick_up.is_certain() || !wheel.release.is_certain(),
            _ => false,
        };
        let by_blockage = match &self.blockage {
            Some(Blockage { chance, clears, .. }) => {
                clears.iter().any(|clears| !clears.is_fixed())
                    || chance.iter().any(|chance| !chance.is_certain())
            }
            None => false,
        };
        let by_side = self.thrown_out.iter().any(|chance| !chance.is_certain());
        by_role || by_blockage || by_side || self.travel.iter().any(|travel| !travel.is_fixed())
    }

    /// Number of gates: one for each way where marbles choose a gate, else one.
    pub fn gates(&self) -> usize {
        if matches!(self.role, Role::RandomGate(_)) {
            self.ways.len()
        } else {
            1
        }
    }

    /// The room in marbles; `None`: as many as come.
    pub fn places(&self) -> Option<u32> {
        (self.room != u32::MAX).then_some(self.room)
    }

    /// What a close look saw, if it is a wheel whose place was looked at.
    pub fn looked(&self) -> Option<&Looked> {
        match &self.wheel()?.pick_up {
            PickUpOdds::Looked(looked) => Some(looked),
            PickUpOdds::Alike(_) => None,
        }
    }

    /// What one of its places is called, if it is a lift.
    pub fn seat(&self) -> &'static str {
        self.wheel().map_or("place", |wheel| wheel.seat)
    }

    /// The same of several.
    pub fn seats(&self) -> String {
        format!("{}s", self.seat())
    }

    /// The wheel, if it is one.
    pub fn wheel(&self) -> Option<&CarouselState> {
        match &self.role {
            Role::Carousel(wheel) => Some(wheel),
            _ => None,
        }
    }
}

/// A room as a number of marbles, `u32::MAX` for as many as come.
pub fn room(room: Option<Room>) -> u32 {
    match room {
        Some(Room::Places(places)) => places,
        Some(Room::Unlimited) | None => u32::MAX,
    }
}

/// A measured chance of wedging: nothing for a marble alone, the same for any that meets others.
pub fn blockage(arch: &Arch, cause: Cause) -> Blockage {
    let alone = if cause == Cause::Stick {
        arch.chance
    } else {
        0.0
    };
    Blockage {
        chance: vec![Chance::new(alone), Chance::new(arch.chance)],
        by_crowd: false,
        clears: arch.clears.as_ref().map(Draw::new),
        cause,
        counterfactual: None,
    }
}
