//! From a machine as meant to a circuit that runs.

use super::close_look::Effort;
use super::draw::nanos;
use super::joints;
use super::looked_place::{LookAnswer, LookedPlace};
use super::plan::{Circuit, Plan, Role, Way};
use super::planned::{Entrance, Planned, Site};
use super::workshop::Workshop;
use crate::contact::crowd_counts::CROWDS;
use crate::machine::kind::each_kind;
use crate::machine::model::{Element, Exit, Machine, Tending};

/// Who tells what a close look at each element shows.
#[derive(Clone, Copy)]
enum Looks<'a> {
    /// A look of this length at wheels, and of that at floors and bowls; `None`: no look. Without one every pocket takes the
    /// waiting marble, and marbles pass floors and bowls in no time.
    Close(Option<Effort>, Option<Effort>),
    /// Element by element, whoever knows it.
    Known(&'a [Option<LookAnswer>]),
}

/// Turns a machine into an event graph.
pub fn circuit(machine: &Machine) -> Circuit {
    build(
        machine,
        Looks::Close(Some(Effort::FULL), Some(Effort::FULL)),
    )
}

/// The same in a quarter of the time, for comparing machines with each other: fewer marbles are followed.
pub fn sketch(machine: &Machine) -> Circuit {
    build(
        machine,
        Looks::Close(Some(Effort::BRIEF), Some(Effort::BRIEF)),
    )
}

/// The same in a tenth of the time, for telling what is worth a longer look.
pub fn glance(machine: &Machine) -> Circuit {
    build(
        machine,
        Looks::Close(Some(Effort::GLANCE), Some(Effort::GLANCE)),
    )
}

/// The same without a close look at the wheels, whose every pocket takes the waiting marble: for what asks only for rooms
/// and times.
pub fn outline(machine: &Machine) -> Circuit {
    build(machine, Looks::Close(None, Some(Effort::FULL)))
}

/// The same without any close look: for what asks only for rooms.
pub fn rooms(machine: &Machine) -> Circuit {
    build(machine, Looks::Close(None, None))
}

/// The same with a short look at the wheels alone: for comparing wheels among floors and bowls that have been looked at.
pub fn sketch_wheels(machine: &Machine) -> Circuit {
    build(
        machine,
        Looks::Close(Some(Effort::BRIEF), Some(Effort::FULL)),
    )
}

/// The same from what is known, element by element, of what a close look would show.
pub fn with_looks(machine: &Machine, known: &[Option<LookAnswer>]) -> Circuit {
    build(machine, Looks::Known(known))
}

/// Where close looks at a machine are taken, element by element; `None` where there is nothing to look at.
pub fn looked_places(machine: &Machine) -> Vec<Option<LookedPlace>> {
    let (entries, ways) = entries_and_ways(machine);
    let mut places = Vec::new();
    for (n, element) in machine.elements.iter().enumerate() {
        let site = site(machine, n, &entries[n], &ways[n]);
        places.push(each_kind!(&element.kind, of => of.looked_place(&site)));
    }
    places
}

/// Whether anything of a machine is looked at.
pub fn is_looked_at(machine: &Machine) -> bool {
    looked_places(machine).iter().any(Option::is_some)
}

fn site<'a>(machine: &'a Machine, n: usize, entrances: &'a [Entrance], ways: &[Way]) -> Site<'a> {
    Site {
        n,
        ways: ways.len(),
        entrances,
        seen: None,
        workshop: Workshop::new(machine, &machine.elements[n]),
    }
}

impl Looks<'_> {
    fn at(self, n: usize, place: impl FnOnce() -> Option<LookedPlace>) -> Option<LookAnswer> {
        let (wheels, crowds) = match self {
            Looks::Known(known) => return known.get(n).cloned().flatten(),
            Looks::Close(None, None) => return None,
            Looks::Close(wheels, crowds) => (wheels, crowds),
        };
        let place = place()?;
        let effort = match place {
            LookedPlace::AtWheel(_) => wheels,
            LookedPlace::OnFloor(_) | LookedPlace::InBowls(_) => crowds,
        };
        Some(place.look(effort?))
    }
}

fn build(machine: &Machine, looks: Looks) -> Circuit {
    let (entries, ways) = entries_and_ways(machine);
    let mut nodes = Vec::new();
    for ((n, element), ways) in machine.elements.iter().enumerate().zip(ways) {
        let mut site = site(machine, n, &entries[n], &ways);
        site.seen = looks.at(
            n,
            || each_kind!(&element.kind, of => of.looked_place(&site)),
        );
        let plan = each_kind!(&element.kind, of => of.plan(&site));
        nodes.push(Plan { ways, ..plan });
    }
    number_entries(&mut nodes);
    move_up_at_wheels(machine, &mut nodes);
    lay_levers(&mut nodes);
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

/// An entry's number is that of its first travel time: where these go by the crowd inside, each entry has several.
fn number_entries(nodes: &mut [Plan]) {
    let by_crowd: Vec<bool> = nodes.iter().map(|plan| plan.by_crowd).collect();
    for way in nodes.iter_mut().flat_map(|plan| &mut plan.ways) {
        if by_crowd[way.to] {
            way.entry *= CROWDS;
        }
    }
}

/// Tells each element which gates its marbles trip.
fn lay_levers(nodes: &mut [Plan]) {
    for gate in 0..nodes.len() {
        if let Role::Trip(trip) = nodes[gate].role {
            nodes[trip.by].trips.push(gate);
        }
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

impl Entrance {
    fn of(machine: &Machine, from: &Element, exit: &Exit) -> Entrance {
        let to = &machine.elements[exit.to];
        let speed_m_s = if each_kind!(&to.kind, of => of.takes_speed()) {
            joints::speed_across_m_s(machine, from, to)
        } else {
            0.0
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

/// The first lift on the way from the start; the start itself where there is none.
fn lap_line(machine: &Machine) -> usize {
    let mut seen = vec![false; machine.elements.len()];
    let mut next = std::collections::VecDeque::from([machine.start]);
    while let Some(n) = next.pop_front() {
        if machine.elements[n].kind.is_lift() {
            return n;
        }
        if !std::mem::replace(&mut seen[n], true) {
            next.extend(machine.elements[n].to.iter().map(|exit| exit.to));
        }
    }
    machine.start
}
