//! What a maker would regret of a machine that is sound: said before a marble runs, from its dimensions alone.
//!
//! What was measured is never doubted: a wheel with a measured pick-up has no computed limit.

use crate::circuit::drive::wheel_rpm;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::circuit::{self, Circuit, wheel_shape};
use crate::machine::Machine;
use crate::machine::allow::Warning;
use crate::machine::model::{Element, Kind, Line, PocketWheel, TurnedBy, WheelShape};
use crate::machine::units::System;
use crate::physics::path::Halt;
use crate::physics::pick_up;

use super::words::{count, figure, percent};

/// Share of marbles that a wheel should take, and hand over, in one go: nine in ten.
const SURE: f64 = 0.9;
/// Narrowest pocket, in marbles, into which marbles come off a ramp that is not built to a hair: common practice, no
/// source.
pub const LEAST_BORE: f64 = 1.1;
/// Slowest speed at which a limit is looked for, turns a minute.
const SLOWEST_RPM: f64 = 0.1;

/// One warning: what it is about, what there is to regret, and how to fix it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warned {
    /// Which warning.
    pub warning: Warning,
    /// The key it concerns, dotted.
    pub key: String,
    /// What a maker would regret, one sentence.
    pub what: String,
    /// How to fix it, one sentence.
    pub help: String,
}

/// All warnings that the machine does not allow, in the order of its elements; lengths in `system`.
pub fn warnings(machine: &Machine, system: System) -> Vec<Warned> {
    let circuit = circuit::outline(machine);
    let look = MachineView {
        machine,
        circuit: &circuit,
        system,
    };
    let mut all: Vec<Warned> = look
        .start_room()
        .into_iter()
        .chain(look.cups_together())
        .collect();
    for (n, element) in machine.elements.iter().enumerate() {
        match &element.kind {
            Kind::PocketWheel(wheel) => all.extend(look.wheel(n, element, wheel)),
            Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => {
                all.extend(look.stall(n, element, line))
            }
            Kind::TippingCup(cup) => all.extend(look.cup(element, cup.gathers)),
            _ => {}
        }
    }
    all.retain(|warned| !machine.allow.contains(&warned.warning));
    all
}

struct MachineView<'a> {
    machine: &'a Machine,
    circuit: &'a Circuit,
    system: System,
}

fn warn(warning: Warning, key: String, what: String, help: impl Into<String>) -> Warned {
    Warned {
        warning,
        key,
        what,
        help: help.into(),
    }
}

fn key_of(element: &Element, key: &str) -> String {
    format!("circuit.{}.{}.{key}", element.name, element.kind.name())
}

impl MachineView<'_> {
    fn plan(&self, n: usize) -> &Plan {
        &self.circuit.nodes[n]
    }

    fn wheel(&self, n: usize, element: &Element, wheel: &PocketWheel) -> Vec<Warned> {
        let workshop = Workshop::new(self.machine, element);
        let mut all: Vec<Warned> = self.slower(n, element, wheel).into_iter().collect();
        let (Some(shape), Some(diameter_m)) = (&wheel.shape, self.machine.marbles.diameter_m)
        else {
            return all;
        };
        if shape.depth_m <= diameter_m / 2.0 {
            // In so shallow a pocket neither picking up nor letting go means anything.
            all.push(self.shallow(element, shape, diameter_m));
            return all;
        }
        all.extend(self.two_at_once(element, shape, diameter_m));
        let computed = wheel
            .pick_up
            .is_none()
            .then(|| wheel_shape::at_pick_up(shape, &workshop));
        all.extend(
            computed
                .flatten()
                .and_then(|pick_up| self.pick_up(element, wheel, shape, &pick_up)),
        );
        if wheel.lift.is_none() && wheel.release.is_none() {
            all.extend(self.release(element, wheel, shape, &workshop));
        }
        all
    }

    fn two_at_once(
        &self,
        element: &Element,
        shape: &WheelShape,
        diameter_m: f64,
    ) -> Option<Warned> {
        (shape.bore_m >= 2.0 * diameter_m).then(|| {
            let (bore, marble) = (
                self.system.length(shape.bore_m),
                self.system.length(diameter_m),
            );
            let what = format!(
                "two marbles of {marble} fit side by side into a pocket of {bore} of `{}`",
                element.name
            );
            warn(
                Warning::Bore,
                key_of(element, "bore"),
                what,
                "drill it narrower than two marbles",
            )
        })
    }

    fn shallow(&self, element: &Element, shape: &WheelShape, diameter_m: f64) -> Warned {
        let (depth, marble) = (
            self.system.length(shape.depth_m),
            self.system.length(diameter_m),
        );
        let what = format!(
            "a marble of {marble} stands more than half out of the pockets of `{}`, {depth} deep",
            element.name
        );
        let help = format!(
            "drill them deeper than {}",
            self.system.length(diameter_m / 2.0)
        );
        warn(Warning::ShallowPocket, key_of(element, "depth"), what, help)
    }

    /// Whether its pockets take the marbles that wait, at the speed it turns.
    fn pick_up(
        &self,
        element: &Element,
        wheel: &PocketWheel,
        shape: &WheelShape,
        at: &pick_up::RampAtWheel,
    ) -> Option<Warned> {
        let name = &element.name;
        let rpm = wheel_rpm(wheel, self.machine);
        let speed = wheel_shape::rim_speed_m_s(shape, rpm);
        let limit = at.face_speed_m_s();
        if limit <= 0.0 {
            let (bore, marble) = (
                self.system.length(shape.bore_m),
                self.system.length(at.marble_m),
            );
            let what = format!(
                "no marble of {marble} rolls into a pocket of {bore} of `{name}` by itself"
            );
            let help = "drill it wider, or make the ramp before it steeper";
            return Some(warn(Warning::Bore, key_of(element, "bore"), what, help));
        }
        if shape.bore_m < LEAST_BORE * at.marble_m {
            let (bore, play) = (
                self.system.length(shape.bore_m),
                self.system.length(shape.bore_m - at.marble_m),
            );
            let what =
                format!("a pocket of {bore} of `{name}` leaves a marble only {play} of play");
            let help = format!(
                "drill it {} wide or more",
                self.system.length(LEAST_BORE * at.marble_m)
            );
            return Some(warn(Warning::Bore, key_of(element, "bore"), what, help));
        }
        if speed <= limit {
            return None;
        }
        let (rpm, limit_rpm) = (figure(rpm), rpm * limit / speed);
        let what = format!(
            "`{name}` turns at {rpm} rpm, where a pocket is past before a marble has rolled in by itself; `run` looks closer"
        );
        Some(warn(
            Warning::PickUpLimit,
            format!("circuit.{name}"),
            what,
            self.slow_to(element, wheel, limit_rpm),
        ))
    }

    /// How to turn a wheel at this speed or less: by its own motor, its gears or the drive.
    fn slow_to(&self, element: &Element, wheel: &PocketWheel, rpm: f64) -> String {
        // Rounded down: the nearest figure may lie beyond the limit.
        let below = |rpm: f64| figure((rpm * 10.0).floor() / 10.0);
        match wheel.turned_by {
            TurnedBy::OwnMotor { .. } => {
                format!("turn `{}` at {} rpm or less", element.name, below(rpm))
            }
            TurnedBy::Drive { ratio: 1.0 } => {
                format!("turn the drive at {} rpm or less", below(rpm))
            }
            TurnedBy::Drive { ratio } => {
                format!(
                    "turn the drive at {} rpm or less, or gear `{}` down",
                    below(rpm / ratio),
                    element.name
                )
            }
        }
    }

    /// Whether marbles roll out before the slide's mouth is past.
    fn release(
        &self,
        element: &Element,
        wheel: &PocketWheel,
        shape: &WheelShape,
        workshop: &Workshop,
    ) -> Option<Warned> {
        let name = &element.name;
        let rpm = wheel_rpm(wheel, self.machine);
        let chance = |rpm| wheel_shape::hand_over(shape, rpm, workshop).map(|(_, chance)| chance);
        let at_speed = chance(rpm).filter(|&chance| chance < SURE)?;
        let lets_go = |rpm: f64| chance(rpm).is_some_and(|chance| chance >= SURE);
        let what = format!(
            "`{name}` turns at {} rpm and lets {} of its marbles out in time",
            figure(rpm),
            percent(at_speed)
        );
        let help = match lets_go(SLOWEST_RPM) {
            false => {
                "give its pockets more tilt, or end the slide's mouth later: slower does not help"
                    .to_owned()
            }
            true => {
                let (mut slow, mut fast) = (SLOWEST_RPM, rpm);
                for _ in 0..12 {
                    let middle = (slow + fast) / 2.0;
                    *(if lets_go(middle) {
                        &mut slow
                    } else {
                        &mut fast
                    }) = middle;
                }
                format!(
                    "{}, or give its pockets more tilt",
                    self.slow_to(element, wheel, slow)
                )
            }
        };
        Some(warn(
            Warning::ReleaseLimit,
            format!("circuit.{name}"),
            what,
            help,
        ))
    }

    /// Whether the wheel that feeds this one, by slides alone, brings more than it can carry.
    fn slower(&self, n: usize, element: &Element, wheel: &PocketWheel) -> Option<Warned> {
        let carries =
            |wheel: &PocketWheel| f64::from(wheel.pockets) * wheel_rpm(wheel, self.machine);
        let (before, feeder) = self.machine.elements.iter().find_map(|e| match &e.kind {
            Kind::PocketWheel(feeder) if e.name != element.name => {
                (self.wheel_after(e)? == n).then_some((e, feeder))
            }
            _ => None,
        })?;
        let (own, brought) = (carries(wheel), carries(feeder));
        // Gear ratios are rounded to what a tooth count gives: a thousandth is no difference.
        (own < 0.999 * brought).then(|| {
            let what = format!(
                "`{}` carries at most {} marbles a minute, and `{}` before it brings up to {}",
                element.name,
                figure(own),
                before.name,
                figure(brought)
            );
            warn(
                Warning::SlowerWheel,
                format!("circuit.{}", element.name),
                what,
                "turn it faster, or give it more pockets",
            )
        })
    }

    fn wheel_after(&self, element: &Element) -> Option<usize> {
        let mut at = element;
        for _ in &self.machine.elements {
            let [exit] = at.to.as_slice() else {
                return None;
            };
            at = &self.machine.elements[exit.to];
            match at.kind {
                Kind::PocketWheel(_) => return Some(exit.to),
                Kind::Ramp(_) | Kind::Slide(_) | Kind::Track(_) => {}
                _ => return None,
            }
        }
        None
    }

    /// Whether the load finds places when it is poured in, or comes to rest while the wheel stands.
    fn start_room(&self) -> Option<Warned> {
        let (start, load) = (self.machine.start, self.machine.marbles.count);
        let element = &self.machine.elements[start];
        let Kind::Ramp(_) = element.kind else {
            return None;
        };
        let (name, ramp) = (&element.name, self.plan(start).places()?);
        let load_is = count(u64::from(load), "marble");
        let (what, help) = if self.plan(start).spills {
            if load <= ramp {
                return None;
            }
            let what =
                format!("`{name}` has {ramp} places and an open side, and {load_is} are poured in");
            (
                what,
                format!("make it longer, pour in {ramp} or fewer, or write `when-full: hold`"),
            )
        } else {
            let leads_here = |e: &&Element| e.to.iter().any(|exit| exit.to == start);
            let feeders = self.machine.elements.iter().zip(&self.circuit.nodes);
            let feeders =
                feeders.filter(|(e, _)| leads_here(e) && !matches!(e.kind, Kind::PocketWheel(_)));
            let before: Option<u32> = feeders.map(|(_, plan)| plan.places()).sum();
            if load <= ramp.saturating_add(before?) {
                return None;
            }
            let room = ramp + before?;
            let what = format!(
                "{load_is} come to rest before `{name}` when its wheel stands, and there and just before it are {room} places"
            );
            (
                what,
                "make the ramp longer, or let a return floor lead to it".to_owned(),
            )
        };
        Some(warn(
            Warning::StartRoom,
            format!("circuit.{name}"),
            what,
            help,
        ))
    }

    fn cup(&self, element: &Element, gathers: u32) -> Option<Warned> {
        let load = self.machine.marbles.count;
        (gathers > load).then(|| {
            let load = count(u64::from(load), "marble");
            let what = format!(
                "`{}` gathers {gathers} marbles and the machine has {load}, so it never tips",
                element.name
            );
            let help = "let it tip with fewer, well below the load";
            warn(Warning::Gathers, key_of(element, "gathers"), what, help)
        })
    }

    /// Whether all marbles may come to rest in cups, each one short of tipping.
    fn cups_together(&self) -> Option<Warned> {
        let gathers = |e: &Element| {
            if let Kind::TippingCup(cup) = &e.kind {
                Some(cup.gathers)
            } else {
                None
            }
        };
        let cups: Vec<u32> = self.machine.elements.iter().filter_map(gathers).collect();
        let load = self.machine.marbles.count;
        let held: u32 = cups.iter().map(|gathers| gathers - 1).sum();
        let one_is_told = cups.iter().any(|&gathers| gathers > load);
        (cups.len() > 1 && held >= load && !one_is_told).then(|| {
            let what = format!("the cups can hold {held} marbles without tipping, and the machine has {load}: all may come to rest in them");
            warn(Warning::Gathers, "circuit".to_owned(), what, "let them tip with fewer, or run more marbles")
        })
    }

    /// Whether a marble comes to rest, or does not get through.
    fn stall(&self, n: usize, element: &Element, line: &Line) -> Option<Warned> {
        if !self.plan(n).stalls {
            return None;
        }
        let name = &element.name;
        let halt = Workshop::new(self.machine, element).roll(line)?.err()?;
        let (what, help) = match halt {
            Halt::Stall { segment, at_m } => {
                let at = self.system.length(at_m);
                (
                    format!(
                        "a marble comes to rest in segment {} of `{name}`, {at} along it",
                        segment + 1
                    ),
                    "make that segment steeper or shorter",
                )
            }
            Halt::TipsOff { segment, .. } => (
                format!(
                    "a marble leaves `{name}` in the bend of segment {}",
                    segment + 1
                ),
                "widen the bend, or come in more slowly",
            ),
            Halt::Misfit { segment, .. } => (
                format!("a marble does not fit segment {} of `{name}`", segment + 1),
                "look at the channel and the corner's gap",
            ),
        };
        Some(warn(Warning::Stall, format!("circuit.{name}"), what, help))
    }
}
