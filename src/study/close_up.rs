//! Single pockets of a close look, to be shown: one that takes a marble, one that misses it, one that stalls.

use rayon::prelude::*;

use crate::circuit::close_look::Effort;
use crate::circuit::drive::wheel_rpm;
use crate::circuit::plan::Cause;
use crate::circuit::wheel_shape;
use crate::circuit::workshop::Workshop;
use crate::contact::passes::{Loop, LoopRecord, Pass, Still, follow, watch};
use crate::contact::place::{Fineness, WheelPlace};
use crate::findings::incidents::{Incident, IncidentKind};
use crate::machine::Machine;

/// What a pocket does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// It takes a marble.
    Takes,
    /// It misses a marble that waited.
    Misses,
    /// It wedges a marble and stalls the drive.
    Stalls,
}

/// One pocket, from a little before its mouth comes by until it is settled what it did.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// What it does.
    pub deed: Deed,
    /// When its leading edge passes the lowest point, s.
    pub led_s: f64,
    /// Where everything is, every millisecond.
    pub stills: Vec<Still>,
}

/// Pockets of a wheel seen from near.
#[derive(Clone, Debug, PartialEq)]
pub struct CloseUp {
    /// The wheel's place.
    pub place: WheelPlace,
    /// A scene of each kind that was seen.
    pub scenes: Vec<Scene>,
    /// Pockets that met a marble, of the loops that were followed.
    pub pockets: usize,
}

/// Shown before the leading edge comes, s, and after it at most.
const BEFORE_S: f64 = 0.25;
const AFTER_S: f64 = 1.1;
/// A wheel that turns more slowly than this share of its speed for so long, s, stands: there a stall ends.
const STANDS: (f64, f64) = (0.2, 0.12);
/// Marbles in line that show best what happens.
const SHOWN_BEST: std::ops::RangeInclusive<u32> = 2..=5;

impl CloseUp {
    /// The same with the scenes of one kind alone; `None` where there is none.
    pub fn only(self, deed: Deed) -> Option<CloseUp> {
        let mut scenes = self.scenes;
        scenes.retain(|scene| scene.deed == deed);
        if scenes.is_empty() {
            return None;
        }
        Some(CloseUp { scenes, ..self })
    }
}

/// How a marble wedged, where an incident was a pinch at a wheel that can be looked at, and the look saw one.
pub fn of_pinch(machine: &Machine, incident: &Incident) -> Option<CloseUp> {
    if !is_pinch(incident) {
        return None;
    }
    close_up(place(machine, incident.node)?).only(Deed::Stalls)
}

/// Whether a marble was caught between ramp and wheel.
pub fn is_pinch(incident: &Incident) -> bool {
    matches!(
        incident.kind,
        IncidentKind::Jam(Cause::Pinch) | IncidentKind::Blockage(Cause::Pinch)
    )
}

/// The wheel to show beside a run: the one at which a marble was caught, or else the first that can be looked at.
pub fn beside(machine: &Machine, incident: Option<&Incident>) -> Option<(usize, CloseUp)> {
    let caught = incident.filter(|incident| is_pinch(incident));
    let mut wheels = caught
        .map(|incident| incident.node)
        .into_iter()
        .chain(0..machine.elements.len());
    let (n, place) = wheels.find_map(|n| Some((n, place(machine, n)?)))?;
    Some((n, close_up(place)))
}

/// The place of the element at `n`, if it is a wheel that can be looked at.
pub fn place(machine: &Machine, n: usize) -> Option<WheelPlace> {
    let element = machine.elements.get(n)?;
    let wheel = element.kind.wheel()?;
    wheel_shape::place(
        wheel,
        wheel_rpm(wheel, machine),
        &Workshop::new(machine, element),
    )
}

/// Looks for the first pocket of each kind in the loops of a full look; those in which a few marbles wait come first.
pub fn close_up(place: WheelPlace) -> CloseUp {
    let tasks = Effort::FULL.loops(1);
    let seen: Vec<(Loop, LoopRecord)> = tasks
        .into_par_iter()
        .filter_map(|task| Some((task, follow(&place, task, Fineness::FINE).ok()?)))
        .collect();
    let passes = seen.iter().flat_map(|(_, seen)| &seen.passes);
    let pockets = passes.filter(|pass| pass.met > 0).count();
    let scenes = [Deed::Takes, Deed::Misses, Deed::Stalls]
        .into_iter()
        .filter_map(|deed| scene(&place, deed, &seen));
    CloseUp {
        scenes: scenes.collect(),
        place,
        pockets,
    }
}

fn scene(place: &WheelPlace, deed: Deed, all: &[(Loop, LoopRecord)]) -> Option<Scene> {
    let mut such: Vec<(Loop, Fineness, &Pass)> = Vec::new();
    for (task, seen) in all {
        for pass in &seen.passes {
            if pass.led_s > 0.0 && does(pass, deed) {
                such.push((*task, seen.fineness, pass));
            }
        }
    }
    let best = such
        .iter()
        .find(|(.., pass)| SHOWN_BEST.contains(&pass.met));
    let (task, fineness, pass) = *best.or(such.first())?;
    let until_s = if deed == Deed::Stalls {
        pass.judged_s
    } else {
        pass.judged_s.min(pass.led_s + AFTER_S)
    };
    let mut stills = watch(place, task, fineness, (pass.led_s - BEFORE_S, until_s));
    if deed == Deed::Stalls {
        stills.truncate(stands(&stills));
    }
    Some(Scene {
        deed,
        led_s: pass.led_s,
        stills,
    })
}

fn does(pass: &Pass, deed: Deed) -> bool {
    match deed {
        Deed::Takes => pass.taken && !pass.stalled && pass.met > 0,
        Deed::Misses => !pass.taken && !pass.stalled && pass.lost == 0 && pass.met > 0,
        Deed::Stalls => pass.stalled,
    }
}

/// How many stills there are until the wheel has stood for long enough.
fn stands(stills: &[Still]) -> usize {
    let mut since = None;
    for (k, still) in stills.iter().enumerate() {
        if still.wheel_speed >= STANDS.0 {
            since = None;
        } else if still.time_s - *since.get_or_insert(still.time_s) > STANDS.1 {
            return k;
        }
    }
    stills.len()
}
