//! The inside of an element's box in a film: the line marbles roll along, the heap they lie in, the wheel they ride on.

use crate::charts::canvas::{Area, Canvas};
use crate::charts::style::{AXIS, PALE};
use crate::circuit::plan::{Plan, Role};
use crate::machine::model::WayBack;

/// Width of a box, pixels.
pub const WIDTH: f64 = 150.0;
/// Height of a box, pixels.
pub const HEIGHT: f64 = 96.0;
/// Radius of a marble, pixels.
pub const MARBLE: f64 = 4.5;
/// Radius of a wheel's pocket circle, pixels.
const WHEEL: f64 = 28.0;
/// From the middle of a belt to either side, pixels.
const BELT: f64 = 16.0;
/// From marble to marble where they wait, pixels.
const APART: f64 = 9.5;
/// Turns of a swirling marble on its way to the hole.
const SWIRLS: f64 = 3.0;

/// The inside of one box.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    shape: BoxShape,
    area: Area,
}

/// How marbles go through a box: down, but for a wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BoxShape {
    /// One behind the other down a slope; so many places.
    File(u32),
    /// Round and round towards a hole.
    Swirl,
    /// From anywhere to a mouth, or into a cup.
    Heap,
    /// Round with the pockets; the part of a turn to the top.
    Wheel(f64),
    /// Up one side and down the other; the part of a turn to the top.
    Belt(f64),
    /// Up, and at the foot again; the part of a turn to the top.
    Climb(f64),
    /// Up, down the same way, and standing at the foot; the part of a turn to the top.
    Rocker(f64),
}

impl BoxShape {
    /// The shape for an element.
    pub fn of(plan: &Plan) -> Self {
        match &plan.role {
            Role::Carousel(wheel) => {
                let top = wheel.lift as f64 / wheel.clock.turn() as f64;
                match wheel.back {
                    None => BoxShape::Wheel(top),
                    Some(WayBack::OtherSide) => BoxShape::Belt(top),
                    Some(WayBack::Falls) => BoxShape::Climb(top),
                    Some(WayBack::SameWay) => BoxShape::Rocker(top),
                }
            }
            Role::RandomGate(_) => BoxShape::Swirl,
            Role::Batch(_) => BoxShape::Heap,
            _ if plan.overtaking => BoxShape::Heap,
            _ => BoxShape::File(plan.room.min(400)),
        }
    }

    /// Its name in the page's player.
    pub fn name(self) -> &'static str {
        match self {
            BoxShape::File(_) => "file",
            BoxShape::Swirl => "swirl",
            BoxShape::Heap => "heap",
            BoxShape::Wheel(_) => "wheel",
            BoxShape::Belt(_) => "belt",
            BoxShape::Climb(_) => "climb",
            BoxShape::Rocker(_) => "rocker",
        }
    }
}

impl Stage {
    /// The stage of `plan` in its box.
    pub fn new(plan: &Plan, area: Area) -> Self {
        Stage {
            shape: BoxShape::of(plan),
            area,
        }
    }

    /// Where marbles come in.
    pub fn entry(&self) -> (f64, f64) {
        match self.shape {
            BoxShape::File(_) => self.slope()[0],
            BoxShape::Wheel(_) | BoxShape::Belt(_) | BoxShape::Climb(_) | BoxShape::Rocker(_) => {
                self.rim(0.0)
            }
            BoxShape::Swirl | BoxShape::Heap => (self.middle(), self.area.top + 24.0),
        }
    }

    /// Where marbles go out.
    pub fn exit(&self) -> (f64, f64) {
        match self.shape {
            BoxShape::File(_) => self.slope()[1],
            BoxShape::Wheel(top)
            | BoxShape::Belt(top)
            | BoxShape::Climb(top)
            | BoxShape::Rocker(top) => self.rim(top),
            BoxShape::Swirl | BoxShape::Heap => self.mouth(),
        }
    }

    /// The way of marbles that roll one behind the other.
    fn slope(&self) -> [(f64, f64); 2] {
        let area = &self.area;
        [
            (area.left + 13.0, area.top + 31.0),
            (area.right - 13.0, area.bottom - 13.0),
        ]
    }

    fn middle(&self) -> f64 {
        (self.area.left + self.area.right) / 2.0
    }

    fn mouth(&self) -> (f64, f64) {
        (self.middle(), self.area.bottom - 8.0)
    }

    /// The point of a wheel's pocket circle, or of another lift's way, so many turns past its lowest point; a wheel turns
    /// clockwise.
    pub fn rim(&self, turns: f64) -> (f64, f64) {
        let turned = turns.rem_euclid(1.0);
        let (beside, up) = match self.shape {
            BoxShape::Belt(top) if is_up(turned, top) => (-BELT, turned / top),
            BoxShape::Belt(top) => (BELT, (1.0 - turned) / (1.0 - top).max(1e-9)),
            BoxShape::Climb(top) if is_up(turned, top) => (0.0, turned / top),
            BoxShape::Climb(_) => (0.0, 0.0),
            BoxShape::Rocker(top) if is_up(turned, top) => (0.0, turned / top),
            BoxShape::Rocker(top) => (0.0, (2.0 - turned / top).max(0.0)),
            _ => return self.round(turns),
        };
        let side = self.belt_side(beside);
        along(&side, up.min(1.0) * length(&side))
    }

    fn round(&self, turns: f64) -> (f64, f64) {
        let angle = turns * std::f64::consts::TAU;
        let centre = (self.middle(), self.area.top + 58.0);
        (
            centre.0 - WHEEL * libm::sin(angle),
            centre.1 + WHEEL * libm::cos(angle),
        )
    }

    /// One side of a belt from the bottom to the top, so far beside the middle.
    fn belt_side(&self, beside: f64) -> [(f64, f64); 4] {
        let (x, top, bottom) = (self.middle(), self.area.top + 28.0, self.area.bottom - 9.0);
        [
            (x, bottom),
            (x + beside, bottom - 7.0),
            (x + beside, top + 7.0),
            (x, top),
        ]
    }

    /// Where a marble is that has done `part` of its way, 0 to 1, with so many waiting before it.
    pub fn travelling(&self, part: f64, waiting: usize, marble: u32) -> (f64, f64) {
        match self.shape {
            BoxShape::File(places) => {
                let line = self.slope();
                let whole = length(&line);
                let tail = (whole - waiting as f64 * self.apart(whole, places, waiting)).max(0.0);
                along(&line, (part * whole).min(tail))
            }
            BoxShape::Swirl => {
                let turns = part * SWIRLS + golden(marble);
                let angle = turns * std::f64::consts::TAU;
                let out = 1.0 - 0.85 * part;
                let (x, y) = (self.middle(), self.area.top + 54.0);
                (
                    x + 50.0 * out * libm::cos(angle),
                    y + 20.0 * out * libm::sin(angle),
                )
            }
            BoxShape::Heap => {
                let spread = self.area.left + 16.0 + golden(marble) * (self.area.width() - 32.0);
                let way = [self.entry(), (spread, self.area.top + 36.0), self.mouth()];
                along(&way, part * length(&way))
            }
            BoxShape::Wheel(top)
            | BoxShape::Belt(top)
            | BoxShape::Climb(top)
            | BoxShape::Rocker(top) => self.rim(part * top),
        }
    }

    /// Where the marble waits that has `before` others before it, of so many in all; `before` may be between two places.
    pub fn waiting(&self, before: f64, all: usize) -> (f64, f64) {
        match self.shape {
            BoxShape::File(places) => {
                let line = self.slope();
                let whole = length(&line);
                let far = (whole - before * self.apart(whole, places, all)).max(0.0);
                along(&line, far)
            }
            _ => self.heaped(before, all),
        }
    }

    /// At the nearest place of those in rows above the mouth, two more in each than in the one below; rows closer together where there are many.
    fn heaped(&self, before: f64, all: usize) -> (f64, f64) {
        let before = before.round() as usize;
        let row_of = |k: usize| (0..).find(|row| k < (row + 1) * (row + 2)).unwrap_or(0);
        let rows = row_of(all.saturating_sub(1));
        let step = APART.min((self.area.height() - 44.0) / rows.max(1) as f64);
        let row = row_of(before);
        let (place, width) = (before - row * (row + 1), 2 * (row + 1));
        let apart = APART.min((self.area.width() - 30.0) / width as f64);
        let (x, y) = self.mouth();
        (
            x + (place as f64 - (width - 1) as f64 / 2.0) * apart,
            y - row as f64 * step,
        )
    }

    fn apart(&self, whole: f64, places: u32, waiting: usize) -> f64 {
        APART.min(whole / f64::from(places.clamp(waiting as u32, waiting as u32 + 30)).max(1.0))
    }

    /// Draws what does not move.
    pub fn paint(&self, canvas: &mut Canvas<'_>) {
        let area = &self.area;
        match self.shape {
            BoxShape::File(_) => {
                let under = MARBLE + 2.0;
                let board = self.slope().map(|(x, y)| (x, y + under));
                canvas.line(&board, 3.0, AXIS);
            }
            BoxShape::Swirl => {
                let rim: Vec<(f64, f64)> =
                    (0..=24).map(|k| self.oval(f64::from(k) / 24.0)).collect();
                canvas.shape(&rim, PALE);
                canvas.disc((self.middle(), area.top + 54.0), 6.0, AXIS);
            }
            BoxShape::Heap => {
                let (x, y) = self.mouth();
                let top = area.top + 36.0;
                canvas.line(&[(area.left + 9.0, top), (x - 9.0, y + 6.0)], 3.0, AXIS);
                canvas.line(&[(area.right - 9.0, top), (x + 9.0, y + 6.0)], 3.0, AXIS);
            }
            BoxShape::Wheel(_) => {
                canvas.disc((self.middle(), area.top + 58.0), WHEEL + MARBLE + 2.5, PALE);
                canvas.disc((self.middle(), area.top + 58.0), 3.0, AXIS);
            }
            BoxShape::Belt(_) => {
                for beside in [-BELT, BELT] {
                    canvas.line(&self.belt_side(beside), 2.0 * MARBLE + 2.0, PALE);
                }
            }
            BoxShape::Climb(_) | BoxShape::Rocker(_) => {
                canvas.line(&self.belt_side(0.0), 2.0 * MARBLE + 2.0, PALE);
            }
        }
    }

    fn oval(&self, turns: f64) -> (f64, f64) {
        let angle = turns * std::f64::consts::TAU;
        (
            self.middle() + 58.0 * libm::cos(angle),
            self.area.top + 54.0 + 27.0 * libm::sin(angle),
        )
    }
}

/// Whether a place of a lift is on its way up, at this part of a turn; at the top it is.
fn is_up(turned: f64, top: f64) -> bool {
    top > 0.0 && turned <= top + 1e-9
}

/// A number from 0 to 1 for each marble, well spread (the golden ratio's multiples).
fn golden(marble: u32) -> f64 {
    (f64::from(marble) * 0.618_033_988_749_894_9).fract()
}

/// Length of a line.
pub fn length(line: &[(f64, f64)]) -> f64 {
    line.windows(2)
        .map(|pair| libm::hypot(pair[1].0 - pair[0].0, pair[1].1 - pair[0].1))
        .sum()
}

/// The point of a line so far from its beginning; its end beyond.
pub fn along(line: &[(f64, f64)], mut far: f64) -> (f64, f64) {
    for pair in line.windows(2) {
        let piece = libm::hypot(pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        if far < piece {
            let part = far / piece;
            return (
                pair[0].0 + (pair[1].0 - pair[0].0) * part,
                pair[0].1 + (pair[1].1 - pair[0].1) * part,
            );
        }
        far -= piece;
    }
    line.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    const AREA: Area = Area {
        left: 0.0,
        top: 0.0,
        right: WIDTH,
        bottom: HEIGHT,
    };

    fn height(shape: BoxShape, turns: f64) -> f64 {
        HEIGHT - Stage { shape, area: AREA }.rim(turns).1
    }

    /// All are at the foot as a turn begins and at the top after the same part of it; then they differ.
    #[test]
    fn lifts_come_back_each_in_its_way() {
        let (belt, climb, rocker) = (
            BoxShape::Belt(0.4),
            BoxShape::Climb(0.4),
            BoxShape::Rocker(0.4),
        );
        for shape in [belt, climb, rocker] {
            assert!(
                height(shape, 0.0) < 10.0 && height(shape, 0.4) > 60.0,
                "{shape:?}"
            );
            assert!(height(shape, 0.1) < height(shape, 0.2), "{shape:?}");
        }
        // A belt comes down all the rest of the turn, a screw's next thread is at the foot, a tray comes down as fast as it rose.
        assert!(height(belt, 0.5) > height(belt, 0.9) && height(belt, 0.9) > 10.0);
        assert!(height(climb, 0.41) < 10.0);
        assert!((height(rocker, 0.6) - height(rocker, 0.2)).abs() < 1e-9);
        assert!(height(rocker, 0.81) < 10.0 && height(rocker, 0.99) < 10.0);
    }
}
