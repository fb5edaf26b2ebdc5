//! The face of a pocket wheel to scale: pockets on their circle, pick-up, guide, release, slide mouth, and a section through
//! a pocket. Something to print and take to the bench.

use std::f64::consts::PI;
use std::iter::zip;

use plotters::style::RGBColor;

use super::canvas::{
    Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture, Ring, WIDTH, picture as drawn,
};
use super::frame::{MARGIN, foot, heading, heading_height, margin};
use super::labels::spread;
use super::scale::round_step;
use super::style::{AXIS, CATCH, COURSE, GRID, INK, LABEL, LIMIT, MUTED, PALE, PAPER, SMALL, WOOD};
use crate::findings::words::{count, figure};
use crate::sheet::face::Face;
use crate::sheet::units::{degrees, inches};

/// Room kept around the wheel, pixels.
const AROUND: f64 = 34.0;
/// Where the table of dimensions begins.
const TABLE: f64 = 790.0;
/// Height of a line of the table, pixels.
const LINE: f64 = 20.5;
/// Height of the face on a telephone, pixels.
const NARROW_FACE: f64 = 350.0;
/// Between labels beside the wheel, pixels.
const LABEL_GAP: f64 = 19.0;

/// A wheel on paper: metres and angles to pixels.
struct FaceScale {
    centre: (f64, f64),
    /// Pixels a metre.
    scale: f64,
    /// Radius around which labels stand, pixels.
    outside: f64,
    /// Lowest line of the drawing.
    bottom: f64,
}

impl FaceScale {
    fn new(face: &Face, area: &Area) -> Self {
        let radius = area.height() / 2.0 - AROUND;
        let centre = (
            area.left + AROUND + radius,
            area.top + area.height() / 2.0 - 6.0,
        );
        FaceScale {
            centre,
            scale: radius / face.least_radius_m(),
            outside: radius + 12.0,
            bottom: area.bottom,
        }
    }

    /// The point so many pixels from the axle at an angle past the lowest place.
    fn at(&self, radius: f64, angle: f64) -> (f64, f64) {
        (
            self.centre.0 + radius * libm::sin(angle),
            self.centre.1 + radius * libm::cos(angle),
        )
    }
}

/// The picture of one face; `machine` is its title.
pub fn picture(face: &Face, machine: &str) -> Picture {
    drawn(|canvas| {
        let area = heading(canvas, &title(face), &subtitle(face));
        let sheet = FaceScale::new(face, &area);
        wheel(canvas, &sheet, face);
        labels(canvas, &sheet, face);
        bars(canvas, &sheet);
        let below = table(canvas, face, (TABLE, area.top + 4.0));
        section(
            canvas,
            face,
            &Area {
                left: TABLE,
                top: below + 10.0,
                right: area.right,
                bottom: area.bottom,
            },
        );
        footing(canvas, machine);
    })
}

/// The same for a telephone: the face with its parts by colour, and the dimensions under it.
pub fn narrow_picture(face: &Face, machine: &str) -> Picture {
    let title = title(face);
    let subtitle = "To scale, seen from the ramp; mirror it for the other turn. Pale blue: the guide. Pale red: the slide's \
                    mouth. Red line: where marbles leave.";
    let heads = heading_height(&title, subtitle, NARROW);
    let lines = dimensions(face).len() as f64;
    let height = heads + NARROW_FACE + LINE * lines + 62.0;
    Format::Narrow.picture(height, |canvas| {
        let area = heading(canvas, &title, subtitle);
        let drawn = Area {
            bottom: area.top + NARROW_FACE - 44.0,
            right: area.right,
            ..area
        };
        let radius = drawn.height() / 2.0 - 6.0;
        let sheet = FaceScale {
            centre: (
                (area.left + area.right) / 2.0,
                (drawn.top + drawn.bottom) / 2.0,
            ),
            scale: radius / face.least_radius_m(),
            outside: radius,
            bottom: area.top + NARROW_FACE,
        };
        wheel(canvas, &sheet, face);
        bars(canvas, &sheet);
        table(canvas, face, (area.left, area.top + NARROW_FACE + 8.0));
        foot(
            canvas,
            machine,
            "Clamp the wheel to drill it, guard your eyes.",
        );
    })
}

/// What is drilled, in a sentence without its point.
pub fn title(face: &Face) -> String {
    let (bore, circle) = (
        face.units.length(face.shape.bore_m),
        face.units.length(2.0 * face.shape.pitch_radius_m),
    );
    let names = face.names.join(", ");
    let times = if face.names.len() > 1 {
        format!(" ({} wheels alike)", face.names.len())
    } else {
        String::new()
    };
    format!(
        "{}{times}: {} of {bore} on a circle of {circle}",
        names,
        count(u64::from(face.pockets), "pocket")
    )
}

fn subtitle(face: &Face) -> String {
    let tilt = if face.shape.tilt_rad > 0.0 {
        format!(
            " Pockets lean {}: the deeper, the farther from the axle.",
            degrees(face.shape.tilt_rad)
        )
    } else {
        String::new()
    };
    format!("Face of the wheel to scale, seen from the ramp; mirror it for the other turn.{tilt}")
}

fn wheel(canvas: &mut Canvas<'_>, sheet: &FaceScale, face: &Face) {
    let (pitch, bore) = (
        face.shape.pitch_radius_m * sheet.scale,
        face.shape.bore_m / 2.0 * sheet.scale,
    );
    let pockets = Ring {
        centre: sheet.centre,
        inner: pitch - bore,
        outer: pitch + bore,
        piece: None,
    };
    if let Some((from, to)) = face.guide_rad() {
        canvas.ring(&pockets.piece(from, to), PALE);
    }
    if let Some(exit) = face.exit {
        let (first, last) = exit.mouth_rad();
        let half = face.marble_m.unwrap_or(0.0) / 2.0 / face.shape.pitch_radius_m;
        canvas.ring(&pockets.piece(first - half, last + half), CATCH);
    }
    canvas.ring(
        &Ring::line(sheet.centre, face.least_radius_m() * sheet.scale, 1.6),
        INK,
    );
    pitch_circle(canvas, sheet, pitch);
    if let Some(marble_m) = face.marble_m {
        canvas.ring(
            &Ring::disc(sheet.at(pitch, 0.0), marble_m / 2.0 * sheet.scale),
            COURSE,
        );
    }
    for k in 0..face.pockets {
        let at = sheet.at(pitch, f64::from(k) * face.indexing_rad());
        canvas.ring(&Ring::line(at, bore, 1.4), INK);
        cross(
            canvas,
            at,
            (bore * 0.35).min(5.0),
            if k == 0 { PAPER } else { MUTED },
        );
    }
    cross(canvas, sheet.centre, 9.0, INK);
    if let Some(exit) = face.exit {
        let rim = face.least_radius_m() * sheet.scale;
        canvas.line(
            &[
                sheet.at(0.32 * pitch, exit.leave_rad),
                sheet.at(rim, exit.leave_rad),
            ],
            1.6,
            LIMIT,
        );
    }
    turning(canvas, sheet, face, pitch - bore);
}

fn pitch_circle(canvas: &mut Canvas<'_>, sheet: &FaceScale, pitch: f64) {
    let dashes = (pitch * PI / 7.0).ceil();
    for k in 0..dashes as u32 {
        let from = 2.0 * PI / dashes * f64::from(k);
        canvas.line(
            &[sheet.at(pitch, from), sheet.at(pitch, from + PI / dashes)],
            1.0,
            AXIS,
        );
    }
}

fn cross(canvas: &mut Canvas<'_>, (x, y): (f64, f64), arm: f64, colour: RGBColor) {
    canvas.line(&[(x - arm, y), (x + arm, y)], 1.0, colour);
    canvas.line(&[(x, y - arm), (x, y + arm)], 1.0, colour);
}

/// An arrow for the direction of turn, with the speed under the axle.
fn turning(canvas: &mut Canvas<'_>, sheet: &FaceScale, face: &Face, room: f64) {
    let radius = (0.30 * room).max(12.0);
    let (from, to) = (0.25 * PI, 0.75 * PI);
    canvas.ring(&Ring::line(sheet.centre, radius, 2.4).piece(from, to), INK);
    let tip = sheet.at(radius, to + 6.0 / radius);
    for side in [-6.0, 6.0] {
        canvas.line(&[sheet.at(radius + side, to - 7.0 / radius), tip], 2.4, INK);
    }
    let says = format!("turns {} rpm", figure(face.rpm));
    if LABEL.width(&says) < 1.6 * room {
        canvas.text(
            sheet.centre.0,
            sheet.centre.1 + 0.55 * room,
            &says,
            LABEL.at(Anchor::Middle),
        );
    }
}

/// What stands beside the wheel.
struct FaceLabel {
    says: String,
    /// At which angle.
    angle: f64,
    colour: RGBColor,
}

fn face_labels(face: &Face) -> Vec<FaceLabel> {
    let mut all = Vec::new();
    if let Some((from, to)) = face.guide_rad() {
        let (first, last) = (from.to_degrees(), to.to_degrees());
        all.push(FaceLabel {
            says: format!("guide {first:.0} to {last:.0} deg"),
            angle: (from + to) / 2.0,
            colour: COURSE,
        });
    }
    if let Some(exit) = face.exit {
        all.push(FaceLabel {
            says: format!("leaves at {}", degrees(exit.leave_rad)),
            angle: exit.leave_rad,
            colour: LIMIT,
        });
        let (first, last) = exit.mouth_rad();
        all.push(FaceLabel {
            says: match face.mouth_m() {
                Some(width_m) => format!("slide mouth {}", face.units.length(width_m)),
                None => "slide mouth".to_owned(),
            },
            angle: first.midpoint(last),
            colour: LIMIT,
        });
    }
    all
}

fn labels(canvas: &mut Canvas<'_>, sheet: &FaceScale, face: &Face) {
    let all = face_labels(face).into_iter();
    let (right, left): (Vec<_>, Vec<_>) = all.partition(|of| libm::sin(of.angle) >= -0.05);
    for (side, anchor, part) in [(1.0, Anchor::Left, right), (-1.0, Anchor::Right, left)] {
        let wanted = part.iter().map(|of| sheet.at(sheet.outside, of.angle).1);
        let (highest, lowest) = (
            sheet.centre.1 - sheet.outside,
            sheet.centre.1 + sheet.outside - 30.0,
        );
        let places = spread(&wanted.collect::<Vec<_>>(), LABEL_GAP, highest, lowest);
        for (of, y) in zip(part, places) {
            let x = sheet.centre.0
                + side
                    * (sheet.outside + 14.0).min(sheet.at(sheet.outside, of.angle).0.abs() + 400.0);
            canvas.line(
                &[
                    sheet.at(sheet.outside - 10.0, of.angle),
                    (x - side * 5.0, y),
                ],
                1.0,
                of.colour,
            );
            let look = LABEL.coloured(of.colour).at(anchor);
            let says = look.shorten(&of.says, TABLE - 20.0 - x.min(TABLE - 60.0));
            canvas.text(x, y, &says, look);
        }
    }
    let (x, y) = sheet.at(sheet.outside + 8.0, 0.0);
    canvas.text(x, y, "pick-up", LABEL.bold().at(Anchor::Middle));
}

/// Scale bars in both systems.
fn bars(canvas: &mut Canvas<'_>, sheet: &FaceScale) {
    let most_m = 130.0 / sheet.scale;
    let mm = round_step(most_m * 1e3 / 2.5, 1);
    let inch = [0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0];
    let inch = inch
        .into_iter()
        .rev()
        .find(|x| x * 0.0254 <= most_m)
        .unwrap_or(0.25);
    for (y, length_m, says) in [
        (sheet.bottom - 22.0, mm / 1e3, format!("{mm} mm")),
        (sheet.bottom - 4.0, inch * 0.0254, inches(inch * 0.0254)),
    ] {
        let left = margin(canvas);
        let right = left + length_m * sheet.scale;
        canvas.line(&[(left, y), (right, y)], 2.0, INK);
        for x in [left, right] {
            canvas.line(&[(x, y - 4.0), (x, y + 4.0)], 2.0, INK);
        }
        canvas.text(right + 8.0, y, &says, SMALL);
    }
}

/// The dimensions in both systems; returns where the table ends.
fn table(canvas: &mut Canvas<'_>, face: &Face, (left, top): (f64, f64)) -> f64 {
    let right = canvas.size().0 - margin(canvas);
    let (inches, look) = match canvas.is_narrow() {
        true => (124.0, LABEL.sized(11.0)),
        false => (156.0, LABEL),
    };
    let mut y = top + 8.0;
    for (name, value, inch) in dimensions(face) {
        canvas.text(left, y, &name, look);
        match inch {
            Some(inch) => {
                canvas.text(right - inches, y, &value, look.at(Anchor::Right));
                canvas.text(right, y, &inch, look.at(Anchor::Right));
            }
            None => drop(canvas.text(right, y, &value, look.at(Anchor::Right))),
        }
        canvas.line(
            &[(left, y + LINE / 2.0), (right, y + LINE / 2.0)],
            1.0,
            GRID,
        );
        y += LINE;
    }
    y - LINE / 2.0
}

/// What it is, how much, and in inches where it is a length.
type FaceDimension = (String, String, Option<String>);

fn length(name: &str, m: f64) -> FaceDimension {
    let (mm, inches) = (format!("{:.1} mm", m * 1e3), inches(m));
    (name.to_owned(), mm, Some(inches))
}

fn other(name: &str, says: String) -> FaceDimension {
    (name.to_owned(), says, None)
}

fn dimensions(face: &Face) -> Vec<FaceDimension> {
    let shape = &face.shape;
    let indexing = degrees(face.indexing_rad());
    let mut all = vec![
        other("pockets", format!("{}, every {indexing}", face.pockets)),
        length("pitch circle", 2.0 * shape.pitch_radius_m),
        length("bore", shape.bore_m),
        length("depth", shape.depth_m),
    ];
    if let Some(spacing) = face.spacing_m() {
        all.push(length("centre to centre", spacing));
        all.push(length("web between", spacing - shape.bore_m));
    }
    all.push(length("wheel at least", 2.0 * face.least_radius_m()));
    all.extend(face.marble_m.map(|marble| length("marbles", marble)));
    all.extend(face.lift_m().map(|lift| length("lifts", lift)));
    let Some(exit) = face.exit else {
        all.push(other("leaves", "not before it is carried over".to_owned()));
        return all;
    };
    let (first, last) = exit.mouth_rad();
    let (leave, out) = (degrees(exit.leave_rad), degrees(exit.out_rad));
    let half = (exit.leave_rad - first).to_degrees();
    all.push(other("leaves, out", format!("{leave}, {out} ±{half:.1}")));
    let (first, last) = (degrees(first), degrees(last));
    all.push(other("mouth open", format!("{first} to {last}")));
    all.extend(face.mouth_m().map(|mouth| length("slide mouth", mouth)));
    all
}

/// A section through a pocket at the lowest place, upright, the ramp's side to the left.
fn section(canvas: &mut Canvas<'_>, face: &Face, area: &Area) {
    let (bore, depth, tilt) = (face.shape.bore_m, face.shape.depth_m, face.shape.tilt_rad);
    let (high, deep) = (1.7 * bore + depth * libm::sin(tilt), 1.5 * depth);
    let scale = ((area.height() - 34.0) / high).min(150.0 / deep);
    if scale * bore < 12.0 {
        return;
    }
    let block = Area {
        left: area.left + 6.0,
        top: area.top + 26.0,
        right: area.left + 6.0 + deep * scale,
        bottom: area.top + 26.0 + high * scale,
    };
    canvas.text(
        area.left,
        area.top + 10.0,
        "section through the lowest pocket",
        SMALL,
    );
    canvas.rect(&block, WOOD);
    let middle = block.top + 0.85 * bore * scale;
    let (half, end) = (
        bore / 2.0 / libm::cos(tilt) * scale,
        depth * libm::cos(tilt) * scale,
    );
    let falls = end * libm::tan(tilt);
    let (above, below, bottom) = (middle - half, middle + half, block.left + end);
    canvas.band(
        &[
            (block.left, above, below),
            (bottom, above + falls, below + falls),
        ],
        PAPER,
    );
    let pocket = [
        (block.left, above),
        (bottom, above + falls),
        (bottom, below + falls),
        (block.left, below),
    ];
    canvas.line(&[(block.left, block.top), pocket[0]], 1.6, INK);
    canvas.line(&pocket, 1.6, INK);
    canvas.line(&[pocket[3], (block.left, block.bottom)], 1.6, INK);
    if let Some(marble_m) = face.marble_m {
        let r = marble_m / 2.0 * scale;
        let x = end - r;
        let y = below + x * libm::tan(tilt) - r / libm::cos(tilt);
        canvas.ring(&Ring::disc((block.left + x, y), r), COURSE);
    }
    let says = [
        format!("tilt {} out of square", degrees(tilt)),
        format!("depth {} along the tilt", face.units.length(depth)),
        "axle above, ramp to the left".to_owned(),
    ];
    let x = block.right + 16.0;
    let mut y = block.top + 12.0;
    for line in &says {
        canvas.text(x, y, &SMALL.shorten(line, area.right - x), SMALL);
        y += 18.0;
    }
}

fn footing(canvas: &mut Canvas<'_>, machine: &str) {
    let y = f64::from(HEIGHT) - 22.0;
    let safe = "Measure by the bars. Clamp the wheel to drill it, guard your eyes; turning wheels pinch fingers.";
    let width = canvas.text(f64::from(WIDTH) - MARGIN, y, safe, SMALL.at(Anchor::Right));
    let room = f64::from(WIDTH) - 2.0 * MARGIN - width - 24.0;
    canvas.text(MARGIN, y, &SMALL.shorten(machine, room), SMALL);
}
