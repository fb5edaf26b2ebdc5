//! A first machine file from a few choices: every size follows from the marble's by a rule of the workshop.
//!
//! The rules are common practice, no source; each stands as a comment in the file that is written.

use super::starter_heights::radius_m;
use super::starter_lifts::{self, LiftChoice, lift};
use super::starter_parts::{home, modules, splitter, wheels};
use super::starter_shows::Show;
use super::text::one_line;

/// How marbles are shared among the modules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Splitter {
    /// No sharing: one module.
    None,
    /// A splitter bowl.
    Bowl,
    /// A flip gate, two modules in turn.
    FlipGate,
    /// A peg.
    Peg,
    /// A weir: the next module takes what the first has no room for.
    Weir,
    /// A see-saw, two modules in turn, three marbles at a time.
    SeeSaw,
}

/// The splitters by the names that may be typed.
pub const SPLITTERS: [(&str, Splitter); 6] = [
    ("none", Splitter::None),
    ("bowl", Splitter::Bowl),
    ("flip-gate", Splitter::FlipGate),
    ("peg", Splitter::Peg),
    ("weir", Splitter::Weir),
    ("see-saw", Splitter::SeeSaw),
];

/// How marbles come home.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Return {
    /// Over a tilted floor.
    Floor,
    /// Down one slide that all tracks lead to.
    Slide,
}

/// The ways home by the names that may be typed.
pub const RETURNS: [(&str, Return); 2] = [("floor", Return::Floor), ("slide", Return::Slide)];

/// What a maker chooses.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// What the machine is called.
    pub title: String,
    /// Whether the file is written in inches.
    pub inches: bool,
    /// Diameter of the marbles, metres.
    pub marble_m: f64,
    /// What lifts the marbles.
    pub lift: LiftChoice,
    /// Pocket wheels, one above the other: 1 to 3.
    pub wheels: u32,
    /// Pockets in each wheel.
    pub pockets: u32,
    /// How marbles are shared among the modules.
    pub splitter: Splitter,
    /// Module tracks: 1 to 4.
    pub modules: u32,
    /// What there is to look at.
    pub show: Show,
    /// How marbles come home.
    pub home: Return,
    /// Speed of the drive, as a share of the usual.
    pub pace: f64,
}

/// Bounds of what may be chosen.
pub mod bounds {
    use std::ops::RangeInclusive;

    /// Marble diameters, metres.
    pub const MARBLE_M: RangeInclusive<f64> = 0.008..=0.03;
    /// Pocket wheels.
    pub const WHEELS: RangeInclusive<u32> = 1..=3;
    /// Pockets in a wheel.
    pub const POCKETS: RangeInclusive<u32> = 10..=36;
    /// Module tracks.
    pub const MODULES: RangeInclusive<u32> = 1..=4;
}

/// Least pocket spacing in marble diameters: a bore, and more wood than that between two of them.
const SPACING: f64 = 3.0;
/// Speed of the pockets for a marble of 16 mm, metres a second; it grows with the root of the marble's size, as rolling does.
const RIM_M_S: f64 = 0.083;
/// Slope of the slide from the last wheel into a bowl, and into anything else, degrees.
pub const TOP_SLIDES_DEG: (f64, f64) = (2.0, 4.0);

impl Choices {
    /// What cannot be had together, and how to fix it.
    pub fn clash(&self) -> Option<(String, &'static str)> {
        if self.lift != LiftChoice::Wheels && self.wheels > 1 {
            let what = "several lifts one above the other are pocket wheels here".to_owned();
            return Some((what, "choose --wheels 1, or --lift pocket-wheel"));
        }
        if self.splitter == Splitter::Weir && self.show == Show::Jump {
            let what = "marbles leave the first way of a weir too slowly for a jump".to_owned();
            return Some((what, "choose another --splitter, or another --part"));
        }
        match (self.splitter, self.modules) {
            (Splitter::None, 1) | (Splitter::FlipGate | Splitter::Weir | Splitter::SeeSaw, 2) => {
                None
            }
            (Splitter::None, n) => Some((
                format!("{n} modules need a splitter"),
                "choose --splitter bowl, flip-gate, peg, weir or see-saw",
            )),
            (_, 1) => {
                let what = "a splitter needs more than one module".to_owned();
                Some((what, "choose --splitter none, or more --modules"))
            }
            // A third way of a weir would only see marbles once the second is full, which an open track never is.
            (Splitter::FlipGate | Splitter::Weir | Splitter::SeeSaw, n) => {
                let what = format!(
                    "a flip gate, weir or see-saw has two ways here, and there are {n} modules"
                );
                Some((what, "choose --modules 2, or another --splitter"))
            }
            _ => None,
        }
    }

    /// A length as this file writes it: whole or half millimetres, or sixteenths of an inch.
    pub fn length(&self, metres: f64) -> String {
        if !self.inches {
            let mm = metres * 1e3;
            let mm = if mm < 40.0 {
                (mm * 2.0).round() / 2.0
            } else {
                (mm / 5.0).round() * 5.0
            };
            return format!("{mm} mm");
        }
        let sixteenths = ((metres / 0.0254 * 16.0).round() as u64).max(1);
        let (whole, rest) = (sixteenths / 16, sixteenths % 16);
        let low = 1 << rest.trailing_zeros().min(4);
        match (whole, rest) {
            (whole, 0) => format!("{whole} in"),
            (0, rest) => format!("{}/{} in", rest / low, 16 / low),
            (whole, rest) => format!("{whole} {}/{} in", rest / low, 16 / low),
        }
    }

    /// A length of so many marble diameters.
    pub(super) fn times(&self, diameters: f64) -> String {
        self.length(diameters * self.marble_m)
    }

    /// Axle to pocket centre of the lowest wheel, metres: wide enough for the pockets, and for the height of a lap.
    pub(super) fn pitch_radius_m(&self, load: u32) -> f64 {
        let spaced_m = SPACING * self.marble_m
            / 2.0
            / libm::sin(std::f64::consts::PI / f64::from(self.pockets));
        spaced_m.max(radius_m(self, load))
    }

    /// Turns of the drive a minute with this load, in halves.
    pub fn rpm(&self, load: u32) -> f64 {
        if self.lift != LiftChoice::Wheels {
            return (self.pace * starter_lifts::rpm(self) * 2.0)
                .floor()
                .max(1.0)
                / 2.0;
        }
        let rim_m_s = self.pace * RIM_M_S * (self.marble_m / 0.016).sqrt();
        let rpm = rim_m_s / (std::f64::consts::TAU * self.pitch_radius_m(load)) * 60.0;
        (rpm * 2.0).floor().max(1.0) / 2.0
    }

    /// The machine file with this load.
    pub fn text(&self, load: u32) -> String {
        let splits = self.splitter != Splitter::None;
        let first = if splits { "splitter" } else { "module-1" };
        let parts = [
            self.head(load),
            self.ramp(load),
            self.lifts(load),
            self.top_slide(first),
            splitter(self),
            modules(self),
            home(self),
            self.foot(),
        ];
        parts.concat()
    }

    fn lifts(&self, load: u32) -> String {
        match self.lift {
            LiftChoice::Wheels => wheels(self, load),
            _ => lift(self, load),
        }
    }

    /// What the speed comes to, as a comment.
    fn speed_rule(&self, load: u32) -> String {
        let rpm = self.rpm(load);
        if self.lift != LiftChoice::Wheels {
            return starter_lifts::pace(self, rpm);
        }
        let rim_m_s = rpm / 60.0 * std::f64::consts::TAU * self.pitch_radius_m(load);
        let rim = (rim_m_s * 1e3).round();
        format!("Pockets pass the ramp at about {rim} mm/s, slow enough for marbles to roll in.")
    }

    fn head(&self, load: u32) -> String {
        format!(
            "# {title}. Every size follows from the marble's ({marble}) by rules of thumb of the workshop,\n\
             # which are common practice, no source: see what they mean with `marblewright sheet`, change them, and run again.\n\
             # Marbles are small parts, a choking hazard: not for children under three. Turning wheels pinch fingers.\n\
             format: 1\n\
             title: {quoted}\n\
             # The load was found by trial runs: it keeps every {kind} fed, with some to spare.\n\
             marbles: {{ count: {load}, diameter: {marble}, spread: {spread} }}\n\
             # {rule}\n\
             drive: {{ speed: {rpm} rpm }}\n\
             start: start-ramp\n\n\
             circuit:\n",
            title = plain(&self.title),
            quoted = quoted(&self.title),
            marble = self.length(self.marble_m),
            spread = if self.inches { "0.005 in" } else { "0.1 mm" },
            kind = match self.lift {
                LiftChoice::Wheels => "wheel",
                _ => "lift",
            },
            rule = self.speed_rule(load),
            rpm = self.rpm(load),
        )
    }

    /// A start ramp that holds the whole load and two more marbles.
    fn ramp(&self, load: u32) -> String {
        format!(
            "  start-ramp:   # long enough for the whole load at rest\n    \
             ramp: {{ length: {}, slope: 5 deg }}\n    to: {}\n",
            self.times(f64::from(load) + 2.0),
            match self.lift {
                LiftChoice::Wheels => "wheel-1",
                _ => "lift",
            }
        )
    }

    /// The slide from the last wheel on. Into a bowl marbles roll slowly, or they circle in it so long that it holds up the flow.
    fn top_slide(&self, to: &str) -> String {
        let (rule, slope) = match self.splitter {
            Splitter::Bowl => (
                "   # gentle: what comes into a bowl fast circles in it for long",
                TOP_SLIDES_DEG.0,
            ),
            _ => ("", TOP_SLIDES_DEG.1),
        };
        let length = self.times(12.0);
        format!(
            "  top-slide:{rule}\n    slide: {{ length: {length}, slope: {slope} deg }}\n    to: {to}\n"
        )
    }

    fn foot(&self) -> String {
        "\n# What you call good enough; runs are held to it.\n\
         workable: { least-fill: 0.5, jams-per-8h: 1, spills: 0 }\n\
         # Nobody clears a jam; for somebody who does: `clear after 2 min`.\n\
         tending: stop\n"
            .to_owned()
    }
}

/// The title without what would end a comment.
fn plain(title: &str) -> String {
    one_line(title)
}

/// The title as YAML text in double quotes.
fn quoted(title: &str) -> String {
    format!(
        "\"{}\"",
        plain(title).replace('\\', "\\\\").replace('"', "\\\"")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_what_a_tape_shows() {
        let metric = Choices {
            title: "x".to_owned(),
            inches: false,
            marble_m: 0.016,
            lift: LiftChoice::Wheels,
            wheels: 1,
            pockets: 18,
            splitter: Splitter::None,
            modules: 1,
            show: Show::None,
            home: Return::Floor,
            pace: 1.0,
        };
        assert_eq!(
            [0.0213, 0.1382].map(|m| metric.length(m)),
            ["21.5 mm", "140 mm"]
        );
        let inches = Choices {
            inches: true,
            ..metric
        };
        let written = [0.015875, 0.0254, 0.0365125, 0.0047].map(|m| inches.length(m));
        assert_eq!(written, ["5/8 in", "1 in", "1 7/16 in", "3/16 in"]);
    }
}
