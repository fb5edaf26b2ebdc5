//! What a maker would regret of a machine that is sound: said before a marble runs, from its dimensions alone.
//!
//! What was measured is never doubted: a wheel with a measured pick-up has no computed limit.

use crate::circuit::drive::wheel_rpm;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::circuit::{self, Circuit, wheel_shape};
use crate::machine::Machine;
use crate::machine::allow::Warning;
use crate::machine::model::{self, Element, Kind, Line, PocketWheel, TurnedBy, WheelShape};
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
    let mut all = Vec::new();
    all.extend(look.start_room());
    all.extend(look.cups_together());
    for (n, element) in machine.elements.iter().enumerate() {
        match &element.kind {
            Kind::PocketWheel(wheel) => all.extend(look.wheel(n, element, wheel)),
            Kind::Ramp(model::Ramp(line))
            | Kind::Slide(model::Slide(line))
            | Kind::Track(model::Track(line)) => all.extend(look.stall(n, element, line)),
            Kind::TippingCup(cup) => all.extend(look.cup(element, cup.gathers)),
            _ => {}
        }
    }
    all.retain(|warned| !machine.allow.contains(&warned.warning));
    all
}

/// The fastest speed up to `rpm` at which a wheel surely hands over; `None` where it would not, however slowly it turned.
fn fastest_release_rpm(shape: &WheelShape, rpm: f64, workshop: &Workshop) -> Option<f64> {
    if !lets_go(shape, SLOWEST_RPM, workshop) {
        return None;
    }
    let (mut slow, mut fast) = (SLOWEST_RPM, rpm);
    for _ in 0..12 {
        let middle = (slow + fast) / 2.0;
        if lets_go(shape, middle, workshop) {
            slow = middle
        } else {
            fast = middle
        }
    }
    Some(slow)
}

fn lets_go(shape: &WheelShape, rpm: f64, workshop: &Workshop) -> bool {
    match wheel_shape::hand_over(shape, rpm, workshop) {
        Some((_, chance)) => chance >= SURE,
        None => false,
    }
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
        if wheel.pick_up.is_none()
            && let Some(ramp) = wheel_shape::at_pick_up(shape, &workshop)
        {
            all.extend(self.pick_up(element, wheel, shape, &ramp));
        }
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
        if shape.bore_m < 2.0 * diameter_m {
            return None;
        }
        let (bore, marble) = (
            self.system.length(shape.bore_m),
            self.system.length(diameter_m),
        );
        let what = format!(
            "two marbles of {marble} fit side by side into a pocket of {bore} of `{}`",
            element.name
        );
        let help = "drill it narrower than two marbles";
        Some(warn(Warning::Bore, key_of(element, "bore"), what, help))
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
        let (motor_rpm, name) = match wheel.turned_by {
            TurnedBy::OwnMotor { .. } => (rpm, &element.name),
            TurnedBy::Drive { ratio } => (rpm / ratio, &element.name),
        };
        // Rounded down: the nearest figure may lie beyond the limit.
        let below = figure((motor_rpm * 10.0).floor() / 10.0);
        match wheel.turned_by {
            TurnedBy::OwnMotor { .. } => format!("turn `{name}` at {below} rpm or less"),
            TurnedBy::Drive { ratio: 1.0 } => format!("turn the drive at {below} rpm or less"),
            TurnedBy::Drive { .. } => {
                format!("turn the drive at {below} rpm or less, or gear `{name}` down")
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
        let (_, at_speed) = wheel_shape::hand_over(shape, rpm, workshop)?;
        if at_speed >= SURE {
            return None;
        }
        let what = format!(
            "`{name}` turns at {} rpm and lets {} of its marbles out in time",
            figure(rpm),
            percent(at_speed)
        );
        let help = match fastest_release_rpm(shape, rpm, workshop) {
            None => {
                "give its pockets more tilt, or end the slide's mouth later: slower does not help"
                    .to_owned()
            }
            Some(rpm) => format!(
                "{}, or give its pockets more tilt",
                self.slow_to(element, wheel, rpm)
            ),
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
        let mut elements = self.machine.elements.iter();
        let before = elements.find(|before| {
            matches!(before.kind, Kind::PocketWheel(_))
                && before.name != element.name
                && self.wheel_after(before) == Some(n)
        })?;
        let Kind::PocketWheel(feeder) = &before.kind else {
            return None;
        };
        let (own, brought) = (self.pockets_per_min(wheel), self.pockets_per_min(feeder));
        // Gear ratios are rounded to what a tooth count gives: a thousandth is no difference.
        if own >= 0.999 * brought {
            return None;
        }
        let what = format!(
            "`{}` carries at most {} marbles a minute, and `{}` before it brings up to {}",
            element.name,
            figure(own),
            before.name,
            figure(brought)
        );
        let key = format!("circuit.{}", element.name);
        let help = "turn it faster, or give it more pockets";
        Some(warn(Warning::SlowerWheel, key, what, help))
    }

    fn pockets_per_min(&self, wheel: &PocketWheel) -> f64 {
        f64::from(wheel.pockets) * wheel_rpm(wheel, self.machine)
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
            let mut room = ramp;
            for (feeder, plan) in self.machine.elements.iter().zip(&self.circuit.nodes) {
                let leads_here = feeder.to.iter().any(|exit| exit.to == start);
                if leads_here && !matches!(feeder.kind, Kind::PocketWheel(_)) {
                    room = room.saturating_add(plan.places()?);
                }
            }
            if load <= room {
                return None;
            }
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
        if gathers <= load {
            return None;
        }
        let load = count(u64::from(load), "marble");
        let what = format!(
            "`{}` gathers {gathers} marbles and the machine has {load}, so it never tips",
            element.name
        );
        let help = "let it tip with fewer, well below the load";
        Some(warn(
            Warning::Gathers,
            key_of(element, "gathers"),
            what,
            help,
        ))
    }

    /// Whether all marbles may come to rest in cups, each one short of tipping.
    fn cups_together(&self) -> Option<Warned> {
        let load = self.machine.marbles.count;
        let (mut cups, mut held) = (0, 0);
        for element in &self.machine.elements {
            if let Kind::TippingCup(cup) = &element.kind {
                if cup.gathers > load {
                    // That is said of the cup itself.
                    return None;
                }
                cups += 1;
                held += cup.gathers - 1;
            }
        }
        if cups < 2 || held < load {
            return None;
        }
        let what = format!(
            "the cups can hold {held} marbles without tipping, and the machine has {load}: all may come to rest in them"
        );
        let help = "let them tip with fewer, or run more marbles";
        Some(warn(Warning::Gathers, "circuit".to_owned(), what, help))
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
