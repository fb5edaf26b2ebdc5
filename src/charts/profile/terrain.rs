//! One strip of a profile, drawn.

use std::f64::consts::PI;

use plotters::style::RGBColor;

use super::ProfileView;
use super::strips::{
    self, ABOVE, FIGURES, LABEL_GAP, LINE, NAMES, ProfileStrip, StripItem, UNDER, UNKNOWN,
};
use crate::charts::canvas::{Anchor, Canvas, Ring};
use crate::charts::labels::{WantedPlace, side_by_side};
use crate::charts::style::{AXIS, COURSE, GRID, INK, LIMIT, MUTED, PALE, PALER, WOOD};
use crate::sheet::profile::{ProfilePiece, StretchEnd};

/// Width of what marbles roll on, pixels.
const TRACK: f64 = 2.4;
/// Thickness of the wood under it, pixels.
const BOARD: f64 = 6.0;

/// A strip on paper.
struct StripSheet<'v> {
    view: &'v ProfileView<'v>,
    left: f64,
    /// Where height 0 is, pixels from the top.
    zero: f64,
    /// Where labels begin.
    labels: f64,
}

impl StripSheet<'_> {
    fn y(&self, height_m: f64) -> f64 {
        self.zero - height_m * self.view.scale
    }
}

/// Draws a strip with its upper left corner at (`left`, `top`).
pub fn paint(
    canvas: &mut Canvas<'_>,
    view: &ProfileView,
    strip: &ProfileStrip,
    (left, top): (f64, f64),
) {
    let zero = top + ABOVE + strip.top_m * view.scale;
    let sheet = StripSheet {
        view,
        left,
        zero,
        labels: zero - strip.low_m * view.scale + UNDER + 8.0,
    };
    if let Some(level_m) = strip.level_m {
        let right = canvas.size().0 - left;
        canvas.dashes(left, right, sheet.y(level_m), AXIS);
    }
    labels(canvas, &sheet, strip);
    // What stands behind: wheels, then boards, then the line that marbles follow.
    for item in &strip.items {
        wheel(canvas, &sheet, item);
    }
    for item in &strip.items {
        pieces(canvas, &sheet, item);
    }
    if let Some(item) = strip.items.first() {
        beginning(canvas, &sheet, strip, item);
        if strip.from.is_none() && !strip.continues {
            marbles(canvas, &sheet, item);
        }
    }
    ending(canvas, &sheet, strip, top);
}

/// Where marbles are along an element: corners with what leads to each.
fn corners(sheet: &StripSheet, item: &StripItem) -> Vec<((f64, f64), Option<ProfilePiece>)> {
    let (mut x, mut height_m) = (sheet.left + item.x, item.passed.entry_m);
    let mut corners = vec![((x, sheet.y(height_m)), None)];
    for piece in &item.passed.pieces {
        x += match piece {
            ProfilePiece::Unknown(_) => UNKNOWN,
            _ => piece.along_m() * sheet.view.scale,
        };
        height_m += piece.rise_m();
        corners.push(((x, sheet.y(height_m)), Some(*piece)));
    }
    corners
}

fn pieces(canvas: &mut Canvas<'_>, sheet: &StripSheet, item: &StripItem) {
    let corners = corners(sheet, item);
    let (x, y) = corners[0].0;
    if item.passed.spare_m > 0.0 {
        dashed(
            canvas,
            (x, sheet.y(item.passed.entry_m + item.passed.spare_m)),
            (x, y),
            MUTED,
        );
    }
    let mut from = (x, y);
    for (to, piece) in corners {
        match piece {
            Some(ProfilePiece::Roll { .. }) => {
                canvas.band(
                    &[(from.0, from.1, from.1 + BOARD), (to.0, to.1, to.1 + BOARD)],
                    WOOD,
                );
                canvas.line(&[from, to], TRACK, INK);
            }
            Some(ProfilePiece::Drop { .. }) => canvas.line(&[from, to], 1.4, MUTED),
            Some(ProfilePiece::Hollow { .. }) => bowl(canvas, from, to),
            Some(ProfilePiece::Lift { .. }) => raised(canvas, from, to),
            Some(ProfilePiece::Unknown(_)) => {
                dashed(canvas, from, to, MUTED);
                canvas.text(
                    (from.0 + to.0) / 2.0,
                    from.1 - 10.0,
                    "?",
                    NAMES.coloured(MUTED).at(Anchor::Middle),
                );
            }
            Some(ProfilePiece::Wheel { .. }) | None => {}
        }
        from = to;
    }
}

/// A bowl cut through its middle, from its rim at the left to its hole.
fn bowl(canvas: &mut Canvas<'_>, from: (f64, f64), to: (f64, f64)) {
    let (half, depth) = ((to.0 - from.0) / 2.0, to.1 - from.1);
    let mut rim = Vec::new();
    let mut inside = Vec::new();
    for k in 0..=24 {
        let part = f64::from(k) / 12.0 - 1.0;
        let at = (
            from.0 + half * (1.0 + part),
            from.1 + depth * (1.0 - part * part),
        );
        rim.push(at);
        inside.push((at.0, from.1, at.1));
    }
    canvas.band(&inside, PALER);
    canvas.line(&rim, TRACK, INK);
    let hole = (from.0 + half, to.1);
    canvas.line(&[hole, to], 1.0, MUTED);
}

fn wheel(canvas: &mut Canvas<'_>, sheet: &StripSheet, item: &StripItem) {
    let mut at = corners(sheet, item)[0].0;
    for (to, piece) in corners(sheet, item) {
        if let Some(ProfilePiece::Wheel {
            pitch_radius_m,
            bore_m,
            pockets,
            leave_rad,
        }) = piece
        {
            let scale = sheet.view.scale;
            let (radius, bore) = (pitch_radius_m * scale, bore_m / 2.0 * scale);
            let centre = (at.0, at.1 - radius);
            canvas.ring(&Ring::disc(centre, radius + bore + 2.0), PALE);
            for k in 0..pockets {
                let angle = 2.0 * PI * f64::from(k) / f64::from(pockets);
                let pocket = (
                    centre.0 + radius * libm::sin(angle),
                    centre.1 + radius * libm::cos(angle),
                );
                canvas.ring(&Ring::line(pocket, bore.max(1.0), 1.0), AXIS);
            }
            canvas.ring(&Ring::disc(centre, 2.5), MUTED);
            lifted(canvas, centre, radius, leave_rad);
        }
        at = to;
    }
}

/// The way straight up, with an arrow at its end.
fn raised(canvas: &mut Canvas<'_>, from: (f64, f64), to: (f64, f64)) {
    canvas.line(&[from, (to.0, to.1 + 6.0)], 3.0, COURSE);
    let wings = [to, (to.0 - 5.0, to.1 + 9.0), (to.0 + 5.0, to.1 + 9.0)];
    canvas.shape(&wings, COURSE);
}

/// The way up in a wheel, with an arrow at its end.
fn lifted(canvas: &mut Canvas<'_>, centre: (f64, f64), radius: f64, leave_rad: f64) {
    let at = |angle: f64, radius: f64| {
        (
            centre.0 + radius * libm::sin(angle),
            centre.1 + radius * libm::cos(angle),
        )
    };
    let steps = 40;
    let arc: Vec<(f64, f64)> = (0..=steps)
        .map(|k| at(leave_rad * f64::from(k) / f64::from(steps), radius))
        .collect();
    canvas.line(&arc, 3.0, COURSE);
    let back = leave_rad - (9.0 / radius).min(0.5);
    canvas.shape(
        &[
            at(leave_rad, radius),
            at(back, radius + 5.0),
            at(back, radius - 5.0),
        ],
        COURSE,
    );
}

/// The marbles as poured in, on what the first element is.
fn marbles(canvas: &mut Canvas<'_>, sheet: &StripSheet, item: &StripItem) {
    let Some(diameter_m) = sheet.view.machine.marbles.diameter_m else {
        return;
    };
    let size = diameter_m * sheet.view.scale;
    let line: Vec<(f64, f64)> = corners(sheet, item).iter().map(|corner| corner.0).collect();
    let whole: f64 = line.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
    let mut far = size / 2.0;
    for _ in 0..sheet.view.poured {
        if far > whole {
            break;
        }
        let (x, y) = before_end(&line, far);
        canvas.ring(
            &Ring::disc((x, y - size / 2.0 - TRACK / 2.0), size / 2.0),
            COURSE,
        );
        far += size;
    }
}

fn distance(from: (f64, f64), to: (f64, f64)) -> f64 {
    libm::hypot(to.0 - from.0, to.1 - from.1)
}

/// The point of a line so far before its end.
fn before_end(line: &[(f64, f64)], mut far: f64) -> (f64, f64) {
    for pair in line.windows(2).rev() {
        let piece = distance(pair[0], pair[1]);
        if far <= piece {
            let part = far / piece;
            return (
                pair[1].0 + (pair[0].0 - pair[1].0) * part,
                pair[1].1 + (pair[0].1 - pair[1].1) * part,
            );
        }
        far -= piece;
    }
    line.first().copied().unwrap_or_default()
}

/// Where a strip comes from.
fn beginning(canvas: &mut Canvas<'_>, sheet: &StripSheet, strip: &ProfileStrip, first: &StripItem) {
    let y = sheet.y(strip.top_m) - 24.0;
    let says = match strip.from {
        Some(n) => format!("from {}:", sheet.view.machine.elements[n].name),
        None if strip.continues => "… goes on:".to_owned(),
        None => return,
    };
    canvas.text(sheet.left + first.x, y, &says, FIGURES);
}

/// Where a strip leads to.
fn ending(canvas: &mut Canvas<'_>, sheet: &StripSheet, strip: &ProfileStrip, top: f64) {
    let (Some(end), Some(last)) = (strip.end, strip.items.last()) else {
        return;
    };
    let machine = sheet.view.machine;
    let length = |metres: f64| machine.units.length(metres);
    let right = canvas.size().0 - sheet.left;
    let (says, colour) = match end {
        StretchEnd::DeadEnd => ("ends here".to_owned(), MUTED),
        StretchEnd::Joins { to, spare_m } => {
            let name = &machine.elements[to].name;
            let spare = match spare_m > 0.0005 {
                true => format!(", {} to spare", length(spare_m)),
                false => String::new(),
            };
            (format!("on to {name}{spare}"), MUTED)
        }
        StretchEnd::Closes { to, left_m } => {
            let name = &machine.elements[to].name;
            let (x, unknown) = (sheet.left + last.end, sheet.view.unknown);
            let (here, there) = (last.passed.exit_m(), last.passed.exit_m() - left_m);
            let (said, colour) = match left_m < 0.0 {
                true => (format!("{} too low", length(-left_m)), LIMIT),
                false if unknown => (format!("at most {} left over", length(left_m)), COURSE),
                false => (format!("{} left over", length(left_m)), COURSE),
            };
            canvas.line(&[(x, sheet.y(here)), (x, sheet.y(there))], 3.0, colour);
            (format!("back at {name}: {said}"), colour)
        }
    };
    canvas.text(
        right,
        top + 6.0,
        &says,
        FIGURES.bold().coloured(colour).at(Anchor::Right),
    );
}

/// Names and figures under the elements, each with a thin line up to it.
fn labels(canvas: &mut Canvas<'_>, sheet: &StripSheet, strip: &ProfileStrip) {
    let machine = sheet.view.machine;
    let mut wanted = Vec::new();
    for item in &strip.items {
        wanted.push(WantedPlace {
            middle: (item.x + item.end) / 2.0,
            weight: 1.0,
            half: (strips::label_width(machine, &item.passed) + LABEL_GAP) / 2.0,
        });
    }
    let room = canvas.size().0 - 2.0 * sheet.left;
    let places = within(&wanted, room);
    for ((item, of), place) in strip.items.iter().zip(&wanted).zip(places) {
        let x = sheet.left + place;
        let lowest = corners(sheet, item)
            .iter()
            .map(|corner| corner.0.1)
            .fold(0.0, f64::max);
        let at = sheet.left + of.middle;
        canvas.line(
            &[
                (at, lowest + BOARD + 3.0),
                (at, sheet.labels - 14.0),
                (x, sheet.labels - 9.0),
            ],
            1.0,
            GRID,
        );
        let name = strips::name(machine, item.passed.n);
        canvas.text(x, sheet.labels, &name, NAMES.at(Anchor::Middle));
        let mut y = sheet.labels;
        for line in strips::about(&item.passed, machine.units) {
            y += LINE;
            let colour = label_colour(&line);
            canvas.text(x, y, &line, FIGURES.coloured(colour).at(Anchor::Middle));
        }
    }
}

fn label_colour(line: &str) -> RGBColor {
    if line.starts_with("lifts") {
        COURSE
    } else {
        MUTED
    }
}

/// Side by side from 0 to `room`: from the left, then what goes beyond pushed back from the right.
fn within(wanted: &[WantedPlace], room: f64) -> Vec<f64> {
    let mut places = side_by_side(wanted, 0.0);
    let mut edge = room;
    for (place, of) in places.iter_mut().zip(wanted).rev() {
        *place = place.min(edge - of.half);
        edge = *place - of.half;
    }
    places
}

/// A dashed line.
fn dashed(canvas: &mut Canvas<'_>, from: (f64, f64), to: (f64, f64), colour: RGBColor) {
    let whole = distance(from, to);
    let dashes = (whole / 8.0).ceil().max(1.0);
    for k in 0..dashes as u32 {
        let at = |part: f64| {
            (
                from.0 + (to.0 - from.0) * part,
                from.1 + (to.1 - from.1) * part,
            )
        };
        let (begin, end) = (f64::from(k) / dashes, (f64::from(k) + 0.6) / dashes);
        canvas.line(&[at(begin), at(end)], 1.6, colour);
    }
}
