//! From a machine as meant to a circuit that runs: the one place where dimensions become times, rooms and chances.

use super::batch::BatchState;
use super::close_look::Effort;
use super::draw::{Draw, Shares, nanos};
use super::joints;
use super::plan::{Cause, Circuit, Plan, Role, Way, blockage, room};
use super::round_robin::RoundRobinState;
use super::workshop::Workshop;
use super::{bowl, line, return_floor, wheel_shape};
use crate::machine::law::TimeLaw;
use crate::machine::model::{
    self, Element, Escapement, Exit, Fall, Kind, Landing, Machine, Tending, TurnedBy, WhenFull,
};
use crate::physics::G;

/// How return floors, which take most of the time, are made ready.
#[derive(Clone, Copy)]
enum Floors<'a> {
    /// By following marbles home from one in so many of the usual spots.
    Follow(usize),
    /// As they are in another circuit of the same elements.
    Like(&'a Circuit),
}

/// Turns a machine into an event graph.
pub fn circuit(machine: &Machine) -> Circuit {
    build(machine, Floors::Follow(1), Some(Effort::FULL))
}

/// The same in a quarter of the time, for comparing machines with each other: fewer marbles are followed over the floor and
/// at the wheels.
pub fn sketch(machine: &Machine) -> Circuit {
    build(machine, Floors::Follow(4), Some(Effort::BRIEF))
}

/// The same without a close look at the wheels, whose every pocket takes the waiting marble: for what asks only for rooms
/// and times.
pub fn outline(machine: &Machine) -> Circuit {
    build(machine, Floors::Follow(1), None)
}

/// The same of a machine whose return floors are those of `other`, a circuit of the same elements.
pub fn sketch_like(machine: &Machine, other: &Circuit) -> Circuit {
    build(machine, Floors::Like(other), Some(Effort::BRIEF))
}

fn build(machine: &Machine, floors: Floors, effort: Option<Effort>) -> Circuit {
    let (entries, ways) = entries_and_ways(machine);
    let mut nodes = Vec::new();
    for ((n, element), ways) in machine.elements.iter().enumerate().zip(ways) {
        let workshop = Workshop::new(machine, element);
        let plan = plan(n, element, &entries, (floors, effort), &workshop);
        nodes.push(Plan { ways, ..plan });
    }
    move_up_at_wheels(machine, &mut nodes);
    Circuit {
        nodes,
        start: machine.start,
        marbles: machine.marbles.count,
        drives: 1 + machine.elements.len(),
        tending: match machine.tending {
            Tending::Stop => None,
            Tending::ClearAfter(after_s) => Some(nanos(after_s)),
        },
        lap_line: lap_line(machine),
    }
}

/// Before a wheel that was looked at a line moves up at once: how long it takes is part of what the next pocket does with it.
fn move_up_at_wheels(machine: &Machine, nodes: &mut [Plan]) {
    for n in 0..nodes.len() {
        let Some(line) = machine.elements[n].kind.line() else {
            continue;
        };
        if line.advance_s.is_none()
            && nodes[n]
                .ways
                .iter()
                .any(|way| nodes[way.to].looked().is_some())
        {
            nodes[n].advance = 0;
        }
    }
}

fn plan(
    n: usize,
    element: &Element,
    entries: &[Vec<Entrance>],
    (floors, effort): (Floors, Option<Effort>),
    workshop: &Workshop,
) -> Plan {
    let ways = element.to.len();
    match &element.kind {
        Kind::Ramp(model::Ramp(l))
        | Kind::Slide(model::Slide(l))
        | Kind::Track(model::Track(l)) => {
            let speeds: Vec<f64> = entries[n].iter().map(|entry| entry.speed_m_s).collect();
            line::plan(l, &speeds, workshop)
        }
        Kind::PocketWheel(wheel) => {
            let drive = if matches!(wheel.turned_by, TurnedBy::OwnMotor { .. }) {
                1 + n
            } else {
                0
            };
            wheel_shape::plan(wheel, drive, effort, workshop)
        }
        Kind::Bowl(b) => bowl::plan(b, ways, workshop),
        Kind::FlipGate(gate) => Plan {
            blockage: gate
                .stick
                .as_ref()
                .map(|stick| blockage(stick, Cause::Stick)),
            role: Role::RoundRobin(RoundRobinState::new(nanos(gate.throw_s), ways)),
            ..splitter(&gate.fall, workshop)
        },
        Kind::Peg(peg) => Plan {
            role: Role::RandomWay(Shares::new(&peg.shares, ways)),
            ..splitter(&peg.fall, workshop)
        },
        Kind::Weir(weir) => Plan {
            role: Role::FirstWithRoom,
            ..splitter(&weir.fall, workshop)
        },
        Kind::Escapement(escapement) => escapement_plan(escapement, workshop),
        Kind::TippingCup(cup) => Plan {
            room: cup.gathers,
            spills: cup.when_full == WhenFull::Spill,
            role: Role::Batch(BatchState {
                gathers: cup.gathers,
                tip: nanos(cup.tip_s),
                reset: nanos(cup.reset_s),
            }),
            ..workshop.blank()
        },
        Kind::ReturnFloor(floor) => match floors {
            Floors::Follow(thinned) => {
                let landings: Vec<_> = entries[n].iter().map(|entry| entry.landing).collect();
                return_floor::plan(floor, &landings, thinned, workshop)
            }
            Floors::Like(other) => other.nodes[n].clone(),
        },
    }
}

/// A gate, peg or weir: one marble at a time falls through it.
fn splitter(fall: &Fall, workshop: &Workshop) -> Plan {
    let falling = TimeLaw::Fixed {
        time_s: (2.0 * fall.drop_m / G).sqrt(),
    };
    Plan {
        room: 1,
        travel: vec![Draw::new(fall.time.as_ref().unwrap_or(&falling))],
        ..workshop.blank()
    }
}

fn escapement_plan(escapement: &Escapement, workshop: &Workshop) -> Plan {
    Plan {
        room: room(Some(escapement.room)),
        spills: escapement.when_full == WhenFull::Spill,
        role: Role::Server(Draw::new(&escapement.time)),
        ..workshop.blank()
    }
}

/// How marbles come into an element.
#[derive(Clone, Copy, PartialEq)]
struct Entrance {
    /// Where on a return floor.
    landing: Option<Landing>,
    /// How fast into a line, m/s.
    speed_m_s: f64,
}

impl Entrance {
    const POURED_IN: Entrance = Entrance {
        landing: None,
        speed_m_s: 0.0,
    };

    fn of(machine: &Machine, from: &Element, exit: &Exit) -> Entrance {
        let to = &machine.elements[exit.to];
        let speed_m_s = match to.kind.line() {
            Some(_) => joints::speed_across_m_s(machine, from, to),
            None => 0.0,
        };
        Entrance {
            landing: exit.landing,
            speed_m_s,
        }
    }
}

/// The different ways in which marbles come into each element, always at least one; and the ways out of each.
fn entries_and_ways(machine: &Machine) -> (Vec<Vec<Entrance>>, Vec<Vec<Way>>) {
    let mut entries: Vec<Vec<Entrance>> = vec![Vec::new(); machine.elements.len()];
    entries[machine.start].push(Entrance::POURED_IN);
    let mut ways = Vec::new();
    for element in &machine.elements {
        let mut out = Vec::new();
        for exit in &element.to {
            let entrance = Entrance::of(machine, element, exit);
            let known = &mut entries[exit.to];
            let entry = known.iter().position(|other| *other == entrance);
            out.push(Way {
                to: exit.to,
                entry: entry.unwrap_or(known.len()),
            });
            if entry.is_none() {
                known.push(entrance);
            }
        }
        ways.push(out);
    }
    for known in entries.iter_mut().filter(|known| known.is_empty()) {
        known.push(Entrance::POURED_IN);
    }
    (entries, ways)
}

/// The first pocket wheel on the way from the start; the start itself where there is none.
fn lap_line(machine: &Machine) -> usize {
    let mut seen = vec![false; machine.elements.len()];
    let mut next = std::collections::VecDeque::from([machine.start]);
    while let Some(n) = next.pop_front() {
        if matches!(machine.elements[n].kind, Kind::PocketWheel(_)) {
            return n;
        }
        if !std::mem::replace(&mut seen[n], true) {
            next.extend(machine.elements[n].to.iter().map(|exit| exit.to));
        }
    }
    machine.start
}
