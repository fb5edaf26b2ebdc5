//! How a profile is cut into strips that fit the width of the picture, and at what scale.

use crate::charts::canvas::{Format, Type};
use crate::charts::frame::{MARGIN, NARROW_MARGIN};
use crate::charts::style::{LABEL, SMALL};
use crate::machine::Machine;
use crate::machine::units::System;
use crate::sheet::profile::{Passed, Profile, ProfilePath, ProfilePiece, StretchEnd};

/// How long a piece is drawn of which the file tells no length, pixels.
pub const UNKNOWN: f64 = 44.0;
/// Between the labels of two elements, pixels.
pub const LABEL_GAP: f64 = 10.0;
/// Height of a line of a label, pixels.
pub const LINE: f64 = 16.0;
/// Above the highest point of a strip and between its lowest and its labels, pixels.
pub const ABOVE: f64 = 46.0;
pub const UNDER: f64 = 16.0;
/// Names get this much room at most, pixels.
const NAME: f64 = 116.0;
/// A scale from which strips are easy to read, pixels a metre.
const EASY: f64 = 210.0;
/// No larger than this, pixels a metre.
const LARGEST: f64 = 900.0;
/// Nor so large that a strip gets higher than this, pixels.
const HIGHEST: f64 = 460.0;

/// An element on a strip.
pub struct StripItem {
    pub passed: Passed,
    /// Where it begins, pixels from the left of the strip.
    pub x: f64,
    /// Where it ends.
    pub end: f64,
}

/// What stands side by side.
pub struct ProfileStrip {
    pub items: Vec<StripItem>,
    /// Whether it begins where another strip ends in the middle of a stretch.
    pub continues: bool,
    /// The splitter that its stretch leaves, where it is the beginning of one.
    pub from: Option<usize>,
    /// How the stretch ends, on its last strip.
    pub end: Option<StretchEnd>,
    /// Highest and lowest point, metres.
    pub top_m: f64,
    pub low_m: f64,
    /// Lines of the longest label.
    lines: usize,
    /// Height of the top of the start's element, where that is in it, metres.
    pub level_m: Option<f64>,
}

impl ProfileStrip {
    /// Height of all of it, pixels.
    pub fn height(&self, scale: f64) -> f64 {
        ABOVE + (self.top_m - self.low_m) * scale + UNDER + self.lines as f64 * LINE + 12.0
    }
}

/// Less to spare is not worth a word, metres.
const LEAST_SPARE_M: f64 = 0.000_05;

/// The types of a label's first line and of the others.
pub const NAMES: Type = LABEL.sized(12.5).bold();
pub const FIGURES: Type = SMALL.sized(11.5);

/// What is said of an element, line by line, without its name.
pub fn about(passed: &Passed, units: System) -> Vec<String> {
    let mut lines = Vec::new();
    let mut unknown = false;
    let (mut along_m, mut lifts_m, mut falls_m) = (0.0, 0.0, 0.0);
    for piece in &passed.pieces {
        match piece {
            ProfilePiece::Roll {
                along_m: on,
                fall_m,
            } => along_m += libm::hypot(*on, *fall_m),
            ProfilePiece::Unknown(_) => unknown = true,
            ProfilePiece::Hollow { .. }
            | ProfilePiece::Drop { .. }
            | ProfilePiece::Lift { .. }
            | ProfilePiece::Wheel { .. } => {}
        }
        let rise_m = piece.rise_m();
        lifts_m += rise_m.max(0.0);
        falls_m -= rise_m.min(0.0);
    }
    if along_m > 0.0 {
        lines.push(format!("{} long", units.length(along_m)));
    }
    if lifts_m > 0.0 {
        lines.push(format!("lifts {}", units.length(lifts_m)));
    }
    if falls_m > 0.0 {
        lines.push(format!("falls {}", units.length(falls_m)));
    }
    if passed.spare_m > LEAST_SPARE_M {
        lines.push(format!("{} to spare", units.length(passed.spare_m)));
    }
    if unknown {
        let rest = if lines.is_empty() {
            "not known"
        } else {
            "rest not known"
        };
        lines.push(rest.to_owned());
    }
    lines
}

/// The name of an element as it is drawn.
pub fn name(machine: &Machine, n: usize) -> String {
    NAMES.shorten(&machine.elements[n].name, NAME)
}

/// Width of an element's label, pixels.
pub fn label_width(machine: &Machine, passed: &Passed) -> f64 {
    let lines = about(passed, machine.units);
    let widths = lines.iter().map(|line| FIGURES.width(line));
    widths.fold(NAMES.width(&name(machine, passed.n)), f64::max)
}

/// Room that an element needs at both sides of its way, and along it, pixels.
fn extent(passed: &Passed, scale: f64) -> (f64, f64, f64) {
    let (mut before, mut along, mut after) = (0.0_f64, 0.0, 0.0_f64);
    for piece in &passed.pieces {
        after = 0.0;
        match *piece {
            ProfilePiece::Unknown(_) => along += UNKNOWN,
            ProfilePiece::Wheel {
                pitch_radius_m,
                bore_m,
                ..
            } => {
                let radius = (pitch_radius_m + bore_m) * scale;
                before = before.max(radius - along);
                along += piece.along_m() * scale;
                after = radius - piece.along_m() * scale;
            }
            _ => along += piece.along_m() * scale,
        }
    }
    (before, along, after)
}

/// The highest and the lowest point of an element, metres.
fn heights_m(passed: &Passed) -> (f64, f64) {
    let mut at_m = passed.entry_m;
    let (mut top_m, mut low_m) = (at_m + passed.spare_m.max(0.0), at_m);
    for piece in &passed.pieces {
        if let ProfilePiece::Wheel {
            pitch_radius_m,
            bore_m,
            ..
        } = *piece
        {
            top_m = top_m.max(at_m + 2.0 * pitch_radius_m + bore_m);
            low_m = low_m.min(at_m - bore_m);
        }
        at_m += piece.rise_m();
        top_m = top_m.max(at_m);
        low_m = low_m.min(at_m);
    }
    (top_m, low_m)
}

/// Room for what is drawn, pixels.
fn room(format: Format) -> f64 {
    let margin = match format {
        Format::Wide => MARGIN,
        Format::Narrow => NARROW_MARGIN,
    };
    f64::from(format.width()) - 2.0 * margin
}

/// The strips, and their scale in pixels a metre: the first stretch on as few strips as its labels allow, or on more where
/// it would get too small, and then as large as fits.
pub fn strips(machine: &Machine, profile: &Profile, format: Format) -> (f64, Vec<ProfileStrip>) {
    let room = room(format);
    let first = &profile.stretches[0];
    let cut = |scale: f64| {
        let cutter = Cutter {
            machine,
            scale,
            room,
        };
        cutter.cut(first, 0.0).map(|strips| strips.len())
    };
    let mut best = 1.0;
    for most in cut(1.0).unwrap_or(1)..=first.passed.len().max(1) {
        let mut scale = LARGEST;
        while scale > best && cut(scale).is_none_or(|strips| strips > most) {
            scale *= 0.97;
        }
        best = scale.max(best);
        if best >= EASY {
            break;
        }
    }
    // Other stretches may have a longer element, or a higher one.
    loop {
        let cutter = Cutter {
            machine,
            scale: best,
            room,
        };
        let strips = cutter.cut_all(profile).unwrap_or_default();
        let high = strips
            .iter()
            .any(|strip| (strip.top_m - strip.low_m) * best > HIGHEST);
        if (!strips.is_empty() && !high) || best < 1.0 {
            return (best, strips);
        }
        best *= 0.97;
    }
}

/// What cuts stretches into strips.
struct Cutter<'a> {
    machine: &'a Machine,
    scale: f64,
    room: f64,
}

impl Cutter<'_> {
    /// The strips of all stretches, each that fits beginning under the end of the splitter that it leaves; `None` where an
    /// element does not fit at this scale.
    fn cut_all(&self, profile: &Profile) -> Option<Vec<ProfileStrip>> {
        let mut ends = vec![0.0_f64; self.machine.elements.len()];
        let mut all = Vec::new();
        for of in &profile.stretches {
            let long: f64 = of.passed.iter().map(|of| extent(of, self.scale).1).sum();
            let from = of.from.map_or(0.0, |(n, _)| ends[n]);
            let strips = self.cut(of, from.min(self.room - long).max(0.0))?;
            for item in strips.iter().flat_map(|strip| &strip.items) {
                ends[item.passed.n] = item.end;
            }
            all.extend(strips);
        }
        Some(all)
    }

    /// The strips of a stretch that begins so far from the left; `None` where one of its elements does not fit at this scale.
    fn cut(&self, of: &ProfilePath, left: f64) -> Option<Vec<ProfileStrip>> {
        let mut strips: Vec<ProfileStrip> = vec![self.strip(of.from.map(|from| from.0), false)];
        let (mut x, mut labels) = (left, 0.0);
        for passed in &of.passed {
            let (before, along, after) = extent(passed, self.scale);
            let label = label_width(self.machine, passed) + LABEL_GAP;
            if before + along + after > self.room {
                return None;
            }
            let fits = x.max(before) + along + after <= self.room && labels + label <= self.room;
            if !fits && strips.last().is_some_and(|strip| !strip.items.is_empty()) {
                strips.push(self.strip(None, true));
                (x, labels) = (0.0, 0.0);
            }
            x = x.max(before);
            labels += label;
            let strip = strips.last_mut()?;
            let (top_m, low_m) = heights_m(passed);
            strip.top_m = strip.top_m.max(top_m);
            strip.low_m = strip.low_m.min(low_m);
            let lines = 1 + about(passed, self.machine.units).len();
            strip.lines = strip.lines.max(lines);
            strip.items.push(StripItem {
                passed: passed.clone(),
                x,
                end: x + along,
            });
            x += along;
        }
        let strip = strips.last_mut()?;
        strip.end = Some(of.end);
        if let (StretchEnd::Closes { left_m, .. }, Some(item)) = (of.end, strip.items.last()) {
            let level_m = item.passed.exit_m() - left_m;
            strip.level_m = Some(level_m);
            strip.top_m = strip.top_m.max(level_m);
            strip.low_m = strip.low_m.min(level_m);
        }
        // A floor that ends a stretch is drawn: nothing more to say.
        let last = strip.items.last().map(|item| item.passed.n);
        if matches!(strip.end, Some(StretchEnd::Joins { to, .. }) if last == Some(to)) {
            strip.end = None;
        }
        strips.retain(|strip| !strip.items.is_empty());
        Some(strips)
    }

    fn strip(&self, from: Option<usize>, continues: bool) -> ProfileStrip {
        ProfileStrip {
            items: Vec::new(),
            continues,
            from,
            end: None,
            top_m: f64::NEG_INFINITY,
            low_m: f64::INFINITY,
            lines: 0,
            level_m: None,
        }
    }
}
