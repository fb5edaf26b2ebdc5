//! The lap as a profile of heights: every element with its length along and its height up to one scale, what falls, what
//! has to be lifted, and what the file does not tell.

mod strips;
mod terrain;

use super::canvas::{Anchor, Canvas, Format, Picture};
use super::frame::{foot, heading, heading_height};
use super::scale::round_step;
use super::style::{INK, SMALL};
use crate::circuit;
use crate::findings::words::count;
use crate::machine::Machine;
use crate::machine::units::System;
use crate::sheet::profile::{LapHeights, Profile, profile};
use strips::strips;

/// Room for the scale bar and the foot, pixels.
const BELOW: f64 = 74.0;
/// Strips drawn at most.
const MOST: usize = 24;

/// What everything in the picture is drawn from.
struct ProfileView<'a> {
    machine: &'a Machine,
    /// Pixels a metre.
    scale: f64,
    /// Marbles that stand on the first element as they are poured in.
    poured: u32,
    /// Whether some height is not known.
    unknown: bool,
}

/// The picture of a machine; `None` where its file tells no lengths.
pub fn picture(machine: &Machine, format: Format) -> Option<Picture> {
    let profile = profile(machine);
    if !profile.has_lengths() {
        return None;
    }
    let (scale, mut strips) = strips(machine, &profile, format);
    let left_out = strips.len().saturating_sub(MOST);
    strips.truncate(MOST);
    let view = ProfileView {
        machine,
        scale,
        poured: poured(machine),
        unknown: !profile.unknown().is_empty(),
    };
    let title = title(&profile, machine.units);
    let subtitle = subtitle(&view, &profile, left_out);
    let heads = heading_height(&title, &subtitle, format.width());
    let height = heads + strips.iter().map(|strip| strip.height(scale)).sum::<f64>() + BELOW;
    let paint = |canvas: &mut Canvas<'_>| {
        let area = heading(canvas, &title, &subtitle);
        let mut top = area.top;
        for strip in &strips {
            terrain::paint(canvas, &view, strip, (area.left, top));
            top += strip.height(scale);
        }
        bars(canvas, &view, (area.left, top + 10.0));
        foot(
            canvas,
            &machine.title,
            "from the file's heights and lengths alone",
        );
    };
    Some(format.picture(height, paint))
}

/// How many marbles stand on the first element when all are poured in.
fn poured(machine: &Machine) -> u32 {
    let rooms = circuit::rooms(machine);
    let places = rooms.nodes[machine.start].places();
    places.unwrap_or(u32::MAX).min(machine.marbles.count)
}

fn title(profile: &Profile, units: System) -> String {
    let Some(LapHeights { lifted_m, left_m }) = profile.lap else {
        return "No way leads back: what falls is not lifted again".to_owned();
    };
    let (lifted, falls) = (units.length(lifted_m), units.length(lifted_m - left_m));
    let (left, missing) = (units.length(left_m), units.length(-left_m));
    let unknown = !profile.unknown().is_empty();
    match (profile.lifts_are_unknown(), unknown) {
        (true, _) => {
            format!("A lap falls {falls} or more; how far it is lifted is not known")
        }
        (_, true) if left_m < 0.0 => {
            format!("A lap falls {falls} or more and lifts {lifted}: at least {missing} too little")
        }
        (_, true) => {
            format!("A lap lifts {lifted} and falls {falls} or more: at most {left} left over")
        }
        _ if left_m < 0.0 => {
            format!("A lap falls {falls} and lifts only {lifted}: {missing} too little")
        }
        _ => format!("A lap lifts {lifted} and falls {falls}: {left} left over"),
    }
}

fn subtitle(view: &ProfileView, profile: &Profile, left_out: usize) -> String {
    let machine = view.machine;
    let mut says = vec![
        match profile.has_wheels() {
            true => {
                "Lengths along and heights up to one scale, the lap unrolled, wheels facing you."
            }
            false => "Lengths along and heights up to one scale, the lap unrolled.",
        }
        .to_owned(),
    ];
    let unknown: Vec<String> = profile
        .unknown()
        .into_iter()
        .map(|(n, what)| format!("{what} {}", machine.elements[n].name))
        .collect();
    if !unknown.is_empty() {
        says.push(format!(
            "Dashed, as not known from the file: {}.",
            unknown.join(", ")
        ));
    }
    if let Some(diameter_m) = machine.marbles.diameter_m {
        let all = machine.marbles.count;
        let on = &machine.elements[machine.start].name;
        let marbles = count(u64::from(all), "marble");
        let size = machine.units.length(diameter_m);
        says.push(if view.poured < all {
            format!(
                "{marbles} of {size} as poured in: {} fit on {on}.",
                view.poured
            )
        } else {
            format!("{marbles} of {size} as poured in.")
        });
    }
    if left_out > 0 {
        says.push(format!("{left_out} more stretches are not drawn."));
    }
    says.join(" ")
}

/// A bar along and one up, to measure by.
fn bars(canvas: &mut Canvas<'_>, view: &ProfileView, (left, top): (f64, f64)) {
    let (metres, says) = bar(view);
    let length = metres * view.scale;
    let (x, y) = (left + 4.0, top + 12.0);
    canvas.line(&[(x, y), (x + length, y)], 2.0, INK);
    for x in [x, x + length] {
        canvas.line(&[(x, y - 4.0), (x, y + 4.0)], 2.0, INK);
    }
    canvas.text(x + length + 8.0, y, &says, SMALL.at(Anchor::Left));
}

/// A round length of at most 120 pixels and how it is said.
fn bar(view: &ProfileView) -> (f64, String) {
    let most_m = 120.0 / view.scale;
    match view.machine.units {
        System::Millimetres => {
            let mm = round_step(most_m * 1e3 / 2.5, 1);
            (mm / 1e3, format!("{mm} mm, along and up"))
        }
        System::Inches => {
            let lengths = [0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0];
            let fits = lengths.into_iter().rev().find(|x| x * 0.0254 <= most_m);
            let inches = fits.unwrap_or(0.5);
            (inches * 0.0254, format!("{inches} in, along and up"))
        }
    }
}
