//! The parts of a first machine file: wheels, splitter, modules, and the way home.

use super::starter::{Choices, Return, Splitter};
use super::starter_heights::{ONTO_FLOOR, SHRINK};
use super::starter_shows;

/// The wheels, each above the one before and turning a little faster, so that none holds another back.
pub fn wheels(of: &Choices, load: u32) -> String {
    let lowest_m = of.pitch_radius_m(load);
    (1..=of.wheels).map(|n| wheel(of, lowest_m, n)).collect()
}

/// Wheel number `n`, above the lowest, which has a pitch radius of `lowest_m`.
fn wheel(of: &Choices, lowest_m: f64, n: u32) -> String {
    let above = f64::from(n - 1);
    let gear = if n == 1 {
        String::new()
    } else {
        format!(", gear: {}, phase: {} deg", 1.0 + 0.1 * above, 7 * (n - 1))
    };
    let radius_m = lowest_m * (1.0 - SHRINK * above);
    let rule = match n {
        1 => {
            "   # wide enough to lift as high as a lap falls; pockets three marbles apart or more, bored two fifths \
             wider than the marble and one marble deep"
        }
        _ => "   # geared up a little, so that it never holds back the wheel below",
    };
    let wheel = format!(
        "  wheel-{n}:{rule}\n    pocket-wheel: {{ pockets: {}, pitch-radius: {}, bore: {}, depth: {}, tilt: 8 deg, \
         guide: 140 deg, wall: relieved, guide-edge: lead-in{gear} }}\n",
        of.pockets,
        of.length(radius_m),
        of.times(1.4),
        of.times(1.0),
    );
    if n == of.wheels {
        return format!("{wheel}    to: top-slide\n");
    }
    let slide = format!(
        "    slide: {{ length: {}, slope: 5 deg }}\n    to: wheel-{}\n",
        of.times(14.0),
        n + 1
    );
    format!("{wheel}    to: hand-over-{n}\n  hand-over-{n}:\n{slide}")
}

/// Arm of a see-saw in marble diameters, and how far it swings, degrees.
pub const SEE_SAW: (f64, f64) = (7.5, 34.0);

/// What shares the marbles among the modules.
pub fn splitter(of: &Choices) -> String {
    let kind = match of.splitter {
        Splitter::None => return String::new(),
        Splitter::Bowl => format!(
            "   # eight marbles wide, holes half as wide again as the marble; a full bowl holds the slide\n    \
             bowl: {{ width: {}, depth: {}, hole: {}, hole-circle: {}, when-full: hold }}",
            of.times(8.0),
            of.times(1.6),
            of.times(1.5),
            of.times(1.6),
        ),
        Splitter::FlipGate => {
            format!(
                "   # left, right, left ...\n    flip-gate: {{ drop: {}, throw: 0.2 s }}",
                of.times(2.0)
            )
        }
        Splitter::Peg => format!(
            "   # by chance, one as often as the other\n    peg: {{ drop: {} }}",
            of.times(3.0)
        ),
        Splitter::SeeSaw => format!(
            "   # three marbles to one side, three to the other\n    \
             see-saw: {{ gathers: 3, arm: {}, swing: {} deg, beam: {} }}",
            of.times(SEE_SAW.0),
            SEE_SAW.1,
            if of.inches { "3 oz" } else { "80 g" }
        ),
        Splitter::Weir => format!(
            "   # the next module takes what the first has no room for\n    weir: {{ drop: {} }}",
            of.times(2.0)
        ),
    };
    let names: Vec<String> = (1..=of.modules).map(|n| format!("module-{n}")).collect();
    format!("  splitter:{kind}\n    to: [{}]\n", names.join(", "))
}

/// The modules' tracks, each of another shape.
pub fn modules(of: &Choices) -> String {
    let shown = starter_shows::part(of, &landing(of, 1));
    let modules: String = (1..=of.modules).map(|n| module(of, n)).collect();
    modules + &shown
}

fn module(of: &Choices, n: u32) -> String {
    let to = match starter_shows::first(of.show) {
        Some(first) if n == 1 => first.to_owned(),
        _ => landing(of, n),
    };
    if of.splitter == Splitter::Weir && n == 1 {
        // Without something that holds marbles back, the first way of a weir would never be full.
        return format!(
            "  module-1:   # fills up behind the escapement, so that the weir has something to send on\n    \
             track: {{ length: {}, slope: 3 deg }}\n    to: tick\n  \
             tick:   # lets one go every two seconds, as a clock would\n    \
             escapement: {{ time: 2 s, places: 2 }}\n    to: {to}\n",
            of.times(10.0)
        );
    }
    let t = |diameters: f64| of.times(diameters);
    let corner = format!(
        "        - {{ corner: {{ fall: {}, gap: {} }} }}\n",
        t(2.0),
        t(1.75)
    );
    let leg = format!("        - {{ length: {}, slope: 4 deg }}\n", t(20.0));
    let (rule, track) = match n {
        1 => (
            "a zig-zag: backstops one and three quarter marbles off the end of each leg",
            format!("\n      segments:\n{leg}{corner}{leg}{corner}{leg}"),
        ),
        2 => (
            "a flight of steps, each about a marble high",
            format!(
                "\n      segments:\n        - {{ length: {}, slope: 3 deg }}\n        - {{ steps: {{ count: 9, rise: {}, run: {} }} }}\n        - {{ length: {}, slope: 3 deg }}\n",
                t(13.0),
                t(0.9),
                t(2.7),
                t(10.0)
            ),
        ),
        3 => (
            "a long straight run",
            format!(" {{ length: {}, slope: 4 deg }}\n", t(50.0)),
        ),
        _ => (
            "once and a half round a bend",
            format!(
                "\n      segments:\n        - {{ bend: {{ radius: {}, turn: 540 deg, slope: 4 deg }} }}\n        - {{ length: {}, slope: 4 deg }}\n",
                t(8.0),
                t(10.0)
            ),
        ),
    };
    format!("  module-{n}:   # {rule}\n    track:{track}    to: {to}\n")
}

/// Floor width and depth in marble diameters.
const FLOOR: (f64, f64) = (36.0, 28.0);

/// Where a module's marbles go: a spot of their own on the floor, or the slide home.
fn landing(of: &Choices, n: u32) -> String {
    match of.home {
        Return::Slide => "home-slide".to_owned(),
        Return::Floor => {
            let x = FLOOR.0 * f64::from(n) / f64::from(of.modules + 1);
            format!(
                "{{ floor: {{ at: [{}, {}], spread: {} }} }}",
                of.times(x),
                of.times(8.0),
                of.times(1.7)
            )
        }
    }
}

/// The way home.
pub fn home(of: &Choices) -> String {
    match of.home {
        Return::Slide => format!(
            "  home-slide:   # all tracks run together on it, so leave it room\n    slide: {{ length: {}, slope: 4 deg }}\n    to: start-ramp\n",
            of.times(40.0)
        ),
        Return::Floor => format!(
            "  floor:   # its mouth is more than two marbles wide, since narrow ones arch\n    \
             return-floor: {{ width: {}, depth: {}, cross-pitch: 2 deg, valley-pitch: 2 deg, mouth: {}, fall: {} }}\n    to: start-ramp\n",
            of.times(FLOOR.0),
            of.times(FLOOR.1),
            of.times(2.4),
            of.times(ONTO_FLOOR),
        ),
    }
}
