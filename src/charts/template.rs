//! A drilling template: the face of a wheel at its own size, on as many sheets of paper as it takes. Sheets overlap, and
//! crosses in the overlap lie on each other where they are put together.

use super::canvas::{Anchor, Area, Canvas, Ring, Type, at_full_size};
use super::style::{AXIS, INK, MUTED};
use super::wheel_face::title;
use crate::sheet::face::Face;
use crate::sheet::units::degrees;

/// Dots in a millimetre: 300 in an inch.
const DOTS_MM: f64 = 300.0 / 25.4;
/// Dots in a metre, as the file says them.
const DOTS_M: u32 = 11_811;
/// What printers leave white at every edge, millimetres: common practice, no source.
const WHITE_MM: f64 = 10.0;
/// What two neighbours both show, millimetres.
const OVERLAP_MM: f64 = 12.0;
/// Under the drawing, where the bars and the text stand, millimetres.
const FOOT_MM: f64 = 42.0;
/// Width of a line to drill by, and of any other, millimetres.
const LINE_MM: f64 = 0.3;
const FINE_MM: f64 = 0.15;
/// Length of a cross's arms, millimetres.
const ARM_MM: f64 = 4.0;

/// What it is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8 1/2 in by 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl Paper {
    /// Width and height, millimetres.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }

    /// Width and height of what is drawn on it, millimetres.
    fn drawn_mm(self) -> (f64, f64) {
        let (width, height) = self.size_mm();
        (width - 2.0 * WHITE_MM, height - 2.0 * WHITE_MM - FOOT_MM)
    }
}

/// One sheet of paper of several.
struct Tile {
    paper: Paper,
    column: u32,
    row: u32,
    columns: u32,
    rows: u32,
    /// Half of what all sheets together show across, millimetres.
    half_mm: (f64, f64),
}

/// How many sheets side by side show so much, of which each shows a part.
fn sheets(all_mm: f64, each_mm: f64) -> u32 {
    let more = (all_mm - each_mm).max(0.0) / (each_mm - OVERLAP_MM);
    more.ceil() as u32 + 1
}

/// The sheets of a face as PNG bytes, row by row from the upper left; `machine` is its title.
pub fn sheets_of(face: &Face, machine: &str, paper: Paper) -> Vec<Vec<u8>> {
    let (width, height) = paper.drawn_mm();
    let across = 2.0 * (face.least_radius_m() * 1e3 + 2.0);
    let (columns, rows) = (sheets(across, width), sheets(across, height));
    let spans = |n: u32, each: f64| each + f64::from(n - 1) * (each - OVERLAP_MM);
    let half_mm = (spans(columns, width) / 2.0, spans(rows, height) / 2.0);
    let mut all = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let tile = Tile {
                paper,
                column,
                row,
                columns,
                rows,
                half_mm,
            };
            all.push(tile.png(face, machine));
        }
    }
    all
}

impl Tile {
    fn png(&self, face: &Face, machine: &str) -> Vec<u8> {
        let (width, height) = self.paper.size_mm();
        let dots = |mm: f64| (mm * DOTS_MM).round() as u32;
        let pixels = at_full_size((dots(width), dots(height)), |canvas| {
            self.face(canvas, face);
            self.frame(canvas);
            for seam in self.seams() {
                self.seam(canvas, seam);
            }
            self.foot(canvas, face, machine);
        });
        pixels.grey_png(DOTS_M)
    }

    /// The dot of a point so many millimetres right of the axle and below it.
    fn at(&self, x_mm: f64, y_mm: f64) -> (f64, f64) {
        let (width, height) = self.paper.drawn_mm();
        let left = f64::from(self.column) * (width - OVERLAP_MM) - self.half_mm.0;
        let top = f64::from(self.row) * (height - OVERLAP_MM) - self.half_mm.1;
        (
            (WHITE_MM + x_mm - left) * DOTS_MM,
            (WHITE_MM + y_mm - top) * DOTS_MM,
        )
    }

    /// The rim, the pitch circle and the pockets, the first one lowest.
    fn face(&self, canvas: &mut Canvas<'_>, face: &Face) {
        let axle = self.at(0.0, 0.0);
        let (pitch, bore) = (face.shape.pitch_radius_m * 1e3, face.shape.bore_m * 1e3);
        let circle = |centre, radius_mm: f64, width_mm: f64| {
            Ring::line(centre, radius_mm * DOTS_MM, width_mm * DOTS_MM)
        };
        canvas.ring(&circle(axle, face.least_radius_m() * 1e3, LINE_MM), INK);
        canvas.ring(&circle(axle, pitch, FINE_MM), AXIS);
        self.cross(canvas, (0.0, 0.0), 2.0 * ARM_MM);
        for k in 0..face.pockets {
            let angle = f64::from(k) * face.indexing_rad();
            let (sin, cos) = (libm::sin(angle), libm::cos(angle));
            let (x, y) = (pitch * sin, pitch * cos);
            canvas.ring(&circle(self.at(x, y), bore / 2.0, LINE_MM), INK);
            self.cross(canvas, (x, y), ARM_MM);
            let inner = pitch - bore / 2.0 - 4.0;
            let number = (inner * sin, inner * cos);
            let mut seams = self.seams().into_iter();
            let is_near =
                |seam: (f64, f64)| libm::hypot(seam.0 - number.0, seam.1 - number.1) < 8.0;
            let (x, y) = self.at(number.0, number.1);
            let look = Type::new(3.0 * DOTS_MM, MUTED).at(Anchor::Middle);
            if self.shows(canvas, (x, y)) && !seams.any(is_near) {
                canvas.text(x, y, &(k + 1).to_string(), look);
            }
        }
    }

    /// Whether a text about this dot stands whole on the drawn part.
    fn shows(&self, canvas: &Canvas<'_>, (x, y): (f64, f64)) -> bool {
        let room = (WHITE_MM + 4.0) * DOTS_MM;
        let (width, height) = canvas.size();
        let below = height - FOOT_MM * DOTS_MM - room;
        (room..width - room).contains(&x) && (room..below).contains(&y)
    }

    /// A cross at a point about the axle.
    fn cross(&self, canvas: &mut Canvas<'_>, (x, y): (f64, f64), arm_mm: f64) {
        for (dx, dy) in [(arm_mm, 0.0), (0.0, arm_mm)] {
            let ends = [self.at(x - dx, y - dy), self.at(x + dx, y + dy)];
            canvas.line(&ends, FINE_MM * DOTS_MM, INK);
        }
    }

    /// Covers what reaches out of the drawn part, and draws its edge.
    fn frame(&self, canvas: &mut Canvas<'_>) {
        let (width, height) = canvas.size();
        let (drawn_width, drawn_height) = self.paper.drawn_mm();
        let left = WHITE_MM * DOTS_MM;
        let (right, bottom) = (left + drawn_width * DOTS_MM, left + drawn_height * DOTS_MM);
        for (left, top, right, bottom) in [
            (0.0, 0.0, width, left),
            (0.0, bottom, width, height),
            (0.0, 0.0, left, height),
            (right, 0.0, width, height),
        ] {
            let edge = Area {
                left,
                top,
                right,
                bottom,
            };
            canvas.rect(&edge, super::style::PAPER);
        }
        let corners = [
            (left, left),
            (right, left),
            (right, bottom),
            (left, bottom),
            (left, left),
        ];
        canvas.line(&corners, FINE_MM * DOTS_MM, AXIS);
    }

    /// Where crosses stand: in the middle of every overlap, three along each, millimetres about the axle.
    fn seams(&self) -> Vec<(f64, f64)> {
        let (width, height) = self.paper.drawn_mm();
        let start = |n: u32, each: f64, half: f64| f64::from(n) * (each - OVERLAP_MM) - half;
        let mut seams = Vec::new();
        for part in [0.2, 0.5, 0.8] {
            for column in [self.column, self.column + 1] {
                if (1..self.columns).contains(&column) {
                    let x = start(column, width, self.half_mm.0) + OVERLAP_MM / 2.0;
                    seams.push((x, start(self.row, height, self.half_mm.1) + part * height));
                }
            }
            for row in [self.row, self.row + 1] {
                if (1..self.rows).contains(&row) {
                    let y = start(row, height, self.half_mm.1) + OVERLAP_MM / 2.0;
                    seams.push((start(self.column, width, self.half_mm.0) + part * width, y));
                }
            }
        }
        seams
    }

    /// A cross in a ring, which nothing to be drilled looks like.
    fn seam(&self, canvas: &mut Canvas<'_>, at: (f64, f64)) {
        self.cross(canvas, at, ARM_MM);
        let centre = self.at(at.0, at.1);
        canvas.ring(&Ring::line(centre, 2.0 * DOTS_MM, FINE_MM * DOTS_MM), INK);
    }

    /// What it is, how to print it, the bars to check the printer by, and what to take care of.
    fn foot(&self, canvas: &mut Canvas<'_>, face: &Face, machine: &str) {
        let (_, height) = self.paper.size_mm();
        let (left, top) = (WHITE_MM * DOTS_MM, (height - WHITE_MM - FOOT_MM) * DOTS_MM);
        let line = |n: f64| top + n * DOTS_MM;
        let (bold, look) = (
            Type::new(3.3 * DOTS_MM, INK).bold(),
            Type::new(3.0 * DOTS_MM, INK),
        );
        let (column, row) = (self.column + 1, self.row + 1);
        let (columns, rows) = (self.columns, self.rows);
        let place = match columns * rows {
            1 => String::new(),
            all => {
                let n = self.row * columns + column;
                format!(" Sheet {n} of {all}: row {row}, column {column}.")
            }
        };
        let room = self.paper.drawn_mm().0 * DOTS_MM - bold.width(&place);
        let head = bold.shorten(&format!("{}.", title(face)), room) + &place;
        canvas.text(left, line(4.0), &head, bold);
        let tilt = face.shape.tilt_rad;
        let lean = match tilt > 0.0 {
            true => format!(
                " Pockets lean {}: the deeper, the farther from the axle.",
                degrees(tilt)
            ),
            false => String::new(),
        };
        let machine = look.shorten(machine, 60.0 * DOTS_MM);
        let seen = format!("{machine}: seen from the ramp; mirror it for the other turn.{lean}");
        canvas.text(left, line(9.5), &seen, look);
        let print = "Print at 100 %, not fitted to the page. Measure both bars before you drill. Lay the ringed crosses of neighbours on each other.";
        canvas.text(left, line(14.5), print, look);
        for (n, length_mm, says) in [(20.5, 100.0, "100 mm"), (27.0, 101.6, "4 in")] {
            bar(canvas, (left, line(n)), length_mm, says);
        }
        for (n, says) in [
            (
                33.5,
                "Clamp the wheel to drill it, guard your eyes, and follow the drill's instructions. Turning wheels pinch fingers.",
            ),
            (
                38.5,
                "Marbles are small parts: not for children under three. Try one pocket on scrap wood first.",
            ),
        ] {
            canvas.text(left, line(n), says, look);
        }
    }
}

/// A bar that is this long over all, with ticks at its ends and tenths.
fn bar(canvas: &mut Canvas<'_>, (x, y): (f64, f64), length_mm: f64, says: &str) {
    let (length, thick) = (length_mm * DOTS_MM, LINE_MM * DOTS_MM);
    let mut block = |left: f64, right: f64, arm: f64| {
        let area = Area {
            left: left.round(),
            top: y - arm,
            right: right.round(),
            bottom: y + arm,
        };
        canvas.rect(&area, INK);
    };
    let x = x.round();
    block(x, x + length, thick / 2.0);
    for k in 0..=10 {
        let at = x + (length - thick) * f64::from(k) / 10.0;
        let arm = if k % 10 == 0 { 2.2 } else { 1.0 } * DOTS_MM;
        block(at, at + thick, arm);
    }
    let look = Type::new(3.0 * DOTS_MM, INK);
    canvas.text(x + length + 3.0 * DOTS_MM, y, says, look);
}
