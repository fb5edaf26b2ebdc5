//! A picture in memory: shapes and text in pixels from the top left, and its bytes as PNG.

use plotters::coord::Shift;
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::prelude::{BitMapBackend, DrawingArea, IntoDrawingArea};
use plotters::style::{Color, RGBColor, ShapeStyle};

use super::bitmap::Pixels;
use super::film::animated::still;
use super::text::{self, ABOVE, BELOW, CAPITALS, Weight};

/// Width of most charts, pixels.
pub const WIDTH: u32 = 1200;
/// Height of most charts, pixels.
pub const HEIGHT: u32 = 700;
/// Width of a chart for a telephone, pixels as its text counts them.
pub const NARROW: u32 = 360;
/// What the name of a chart for a telephone ends in, where it is a file beside the wide one.
pub const FOR_TELEPHONES: &str = "-narrow";
/// No text comes nearer to the edge than this, pixels.
pub const EDGE: f64 = 16.0;
/// The same in a narrow picture.
const NARROW_EDGE: f64 = 8.0;
/// Drawn at this many times its size and averaged, because plotters leaves most edges jagged.
const FINE: usize = 2;
/// A narrow picture keeps this many pixels for each of its own: telephones show so many.
const DENSE: usize = 2;

/// A finished picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// Its bytes as PNG.
    pub png: Vec<u8>,
    /// What its texts cover.
    pub texts: Vec<Area>,
}

/// A part of a picture, pixels from the top left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Area {
    /// Width, pixels.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Height, pixels.
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Moves it so far to the right and down.
    pub fn shift(&mut self, x: f64, y: f64) {
        self.left += x;
        self.right += x;
        self.top += y;
        self.bottom += y;
    }
}

/// A ring about a centre, or a piece of one. Angles are counted from straight down, counter-clockwise, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    /// Centre, pixels.
    pub centre: (f64, f64),
    /// Inner radius, pixels; 0 for a disc.
    pub inner: f64,
    /// Outer radius, pixels.
    pub outer: f64,
    /// Where the piece begins and ends; `None` for the whole ring.
    pub piece: Option<(f64, f64)>,
}

impl Ring {
    /// A circle drawn with a line `width` pixels wide.
    pub fn line(centre: (f64, f64), radius: f64, width: f64) -> Self {
        Ring {
            centre,
            inner: (radius - width / 2.0).max(0.0),
            outer: radius + width / 2.0,
            piece: None,
        }
    }

    /// A filled disc.
    pub fn disc(centre: (f64, f64), radius: f64) -> Self {
        Ring {
            centre,
            inner: 0.0,
            outer: radius,
            piece: None,
        }
    }

    /// The piece of it from one angle to another.
    pub fn piece(self, from: f64, to: f64) -> Self {
        Ring {
            piece: Some((from, to)),
            ..self
        }
    }

    fn holds(&self, angle: f64) -> bool {
        match self.piece {
            Some((from, to)) => (angle - from).rem_euclid(std::f64::consts::TAU) <= to - from,
            None => true,
        }
    }
}

/// Which point of a text its place means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Left,
    /// Its middle is there.
    Middle,
    /// It ends there.
    Right,
}

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Type {
    /// Pixels an em.
    pub size: f64,
    /// How heavy.
    pub weight: Weight,
    /// Colour.
    pub colour: RGBColor,
    /// Which of its points its place means.
    pub anchor: Anchor,
}

impl Type {
    /// Regular text that begins at its place.
    pub const fn new(size: f64, colour: RGBColor) -> Self {
        Type {
            size,
            weight: Weight::Regular,
            colour,
            anchor: Anchor::Left,
        }
    }

    /// The same, bold.
    pub const fn bold(self) -> Self {
        Type {
            weight: Weight::Bold,
            ..self
        }
    }

    /// The same so large.
    pub const fn sized(self, size: f64) -> Self {
        Type { size, ..self }
    }

    /// The same in another colour.
    pub const fn coloured(self, colour: RGBColor) -> Self {
        Type { colour, ..self }
    }

    /// The same, anchored elsewhere.
    pub const fn at(self, anchor: Anchor) -> Self {
        Type { anchor, ..self }
    }

    /// Width of `text` in this type, pixels.
    pub fn width(&self, text: &str) -> f64 {
        text::width(text, self.size, self.weight)
    }

    /// `text` shortened in its middle to `room` pixels.
    pub fn shorten(&self, text: &str, room: f64) -> String {
        text::shorten(text, self.size, self.weight, room)
    }
}

/// Where a picture is being drawn.
///
/// plotters' results are passed over: drawing into memory has nothing that could fail.
pub struct Canvas<'a> {
    area: DrawingArea<BitMapBackend<'a>, Shift>,
    size: (f64, f64),
    /// Fine pixels to a pixel.
    fine: usize,
    texts: Vec<Area>,
}

/// How wide the picture is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// For a desk.
    Wide,
    /// For a telephone.
    Narrow,
}

impl Format {
    /// Its width, pixels.
    pub fn width(self) -> u32 {
        match self {
            Format::Wide => WIDTH,
            Format::Narrow => NARROW,
        }
    }

    /// The picture that `paint` draws on white, of this height.
    pub fn picture(self, height: f64, paint: impl FnOnce(&mut Canvas<'_>)) -> Picture {
        match self {
            Format::Wide => picture_of((WIDTH, height.ceil() as u32), paint),
            Format::Narrow => narrow(height, paint),
        }
    }
}

/// The picture that `paint` draws on white.
pub fn picture(paint: impl FnOnce(&mut Canvas<'_>)) -> Picture {
    picture_of((WIDTH, HEIGHT), paint)
}

/// A picture of another size.
pub fn picture_of(size: (u32, u32), paint: impl FnOnce(&mut Canvas<'_>)) -> Picture {
    let (pixels, texts) = pixels(size, paint);
    Picture {
        size,
        png: pixels.png(),
        texts,
    }
}

/// A picture for a telephone, [`NARROW`] wide and of this height; its bytes hold more pixels.
fn narrow(height: f64, paint: impl FnOnce(&mut Canvas<'_>)) -> Picture {
    let size = (NARROW, height.ceil() as u32);
    let (pixels, texts) = painted(size, DENSE * FINE, paint);
    Picture {
        size,
        // In as few colours as a film has: a page carries many of them.
        png: still(&pixels),
        texts,
    }
}

/// The pixels of a picture for a telephone of this height.
pub fn narrow_pixels(height: f64, paint: impl FnOnce(&mut Canvas<'_>)) -> Pixels {
    painted((NARROW, height.ceil() as u32), DENSE * FINE, paint).0
}

/// The pixels that `paint` draws on white, and what its texts cover.
pub fn pixels(size: (u32, u32), paint: impl FnOnce(&mut Canvas<'_>)) -> (Pixels, Vec<Area>) {
    painted(size, FINE, paint)
}

/// The pixels that `paint` draws on white dot by dot, for a printer.
pub fn at_full_size(size: (u32, u32), paint: impl FnOnce(&mut Canvas<'_>)) -> Pixels {
    on_white(size, 1, paint).0
}

/// Drawn with so many fine pixels to a pixel, and averaged.
fn painted(
    size: (u32, u32),
    fine: usize,
    paint: impl FnOnce(&mut Canvas<'_>),
) -> (Pixels, Vec<Area>) {
    let (drawn, texts) = on_white(size, fine, paint);
    (drawn.averaged(FINE), texts)
}

/// All fine pixels.
fn on_white(
    (width, height): (u32, u32),
    fine: usize,
    paint: impl FnOnce(&mut Canvas<'_>),
) -> (Pixels, Vec<Area>) {
    let fine_size = (width * fine as u32, height * fine as u32);
    let mut drawn = Pixels {
        width: fine_size.0,
        height: fine_size.1,
        rgb: vec![255; fine_size.0 as usize * fine_size.1 as usize * 3],
    };
    let texts = {
        let area = BitMapBackend::with_buffer(&mut drawn.rgb, fine_size).into_drawing_area();
        let mut canvas = Canvas {
            area,
            size: (f64::from(width), f64::from(height)),
            fine,
            texts: Vec::new(),
        };
        paint(&mut canvas);
        canvas.texts
    };
    (drawn, texts)
}

impl Canvas<'_> {
    /// Width and height, pixels.
    pub fn size(&self) -> (f64, f64) {
        self.size
    }

    /// Whether it is a picture for a telephone.
    pub fn is_narrow(&self) -> bool {
        self.size.0 <= f64::from(NARROW)
    }

    fn edge(&self) -> f64 {
        if self.is_narrow() { NARROW_EDGE } else { EDGE }
    }

    fn fine(&self, x: f64) -> i32 {
        (x * self.fine as f64).round() as i32
    }

    /// The fine columns (x, upper y, lower y) between two lines through `points`; none where the lines meet.
    fn columns(&self, points: &[(f64, f64, f64)]) -> Vec<(i32, i32, i32)> {
        let mut columns = Vec::new();
        for pair in points.windows(2) {
            let ((x0, top0, low0), (x1, top1, low1)) = (pair[0], pair[1]);
            for x in self.fine(x0)..self.fine(x1) {
                let at = (f64::from(x) + 0.5) / self.fine as f64;
                let part = ((at - x0) / (x1 - x0)).clamp(0.0, 1.0);
                let top = self.fine(top0 + (top1 - top0) * part);
                let low = self.fine(low0 + (low1 - low0) * part);
                if top < low {
                    columns.push((x, top, low));
                }
            }
        }
        columns
    }

    /// A filled circle.
    pub fn disc(&mut self, (x, y): (f64, f64), radius: f64, colour: impl Color) {
        let radius = (radius * self.fine as f64).round().max(1.0) as u32;
        let _ = self.area.draw(&Circle::new(
            (self.fine(x), self.fine(y)),
            radius,
            colour.filled(),
        ));
    }

    /// A filled shape with corners at `points`.
    pub fn shape(&mut self, points: &[(f64, f64)], colour: impl Color) {
        let corners: Vec<(i32, i32)> = points
            .iter()
            .map(|&(x, y)| (self.fine(x), self.fine(y)))
            .collect();
        let _ = self.area.draw(&Polygon::new(corners, colour.filled()));
    }

    /// A filled rectangle.
    pub fn rect(&mut self, area: &Area, colour: impl Color) {
        let corners = [
            (self.fine(area.left), self.fine(area.top)),
            (self.fine(area.right), self.fine(area.bottom)),
        ];
        let _ = self.area.draw(&Rectangle::new(corners, colour.filled()));
    }

    /// A line through `points`, `width` pixels wide, with round joints.
    pub fn line(&mut self, points: &[(f64, f64)], width: f64, colour: impl Color) {
        let fine_points: Vec<(i32, i32)> = points
            .iter()
            .map(|&(x, y)| (self.fine(x), self.fine(y)))
            .collect();
        let stroke = ShapeStyle::from(&colour)
            .stroke_width((width * self.fine as f64).round().max(1.0) as u32);
        for pair in fine_points.windows(2).filter(|pair| pair[0] != pair[1]) {
            let _ = self.area.draw(&PathElement::new(pair.to_vec(), stroke));
        }
        let inner = fine_points
            .get(1..fine_points.len().saturating_sub(1))
            .unwrap_or_default();
        let radius = stroke.stroke_width / 2;
        for &joint in inner.iter().filter(|_| radius > 1) {
            let _ = self.area.draw(&Circle::new(joint, radius, colour.filled()));
        }
    }

    /// A level line of dashes, one pixel and a half wide.
    pub fn dashes(&mut self, left: f64, right: f64, y: f64, colour: impl Color) {
        let mut x = left;
        while x < right {
            let dash = Area {
                left: x,
                top: y - 0.75,
                right: (x + 6.0).min(right),
                bottom: y + 0.75,
            };
            self.rect(&dash, colour.to_rgba());
            x += 10.0;
        }
    }

    /// The area between two lines, given as points (x, upper y, lower y) with rising x.
    ///
    /// Column by column: plotters' polygons draw a hair line even where the two lines meet.
    pub fn band(&mut self, points: &[(f64, f64, f64)], colour: impl Color) {
        for (column, top, low) in self.columns(points) {
            let _ = self.area.draw(&Rectangle::new(
                [(column, top), (column + 1, low)],
                colour.filled(),
            ));
        }
    }

    /// The same, hatched: by lines that rise, or fall, to the right.
    pub fn hatched_band(&mut self, points: &[(f64, f64, f64)], rising: bool, colour: impl Color) {
        let (apart, thick) = (9 * self.fine as i32, self.fine as i32);
        for (column, top, low) in self.columns(points) {
            let slant = if rising { -column } else { column };
            let mut y = top + (slant - top).rem_euclid(apart);
            while y < low {
                let end = (y + thick).min(low);
                let _ = self.area.draw(&Rectangle::new(
                    [(column, y), (column + 1, end)],
                    colour.filled(),
                ));
                y += apart;
            }
        }
    }

    /// A disc, a ring or a piece of one, its edges smoothed.
    pub fn ring(&mut self, ring: &Ring, colour: impl Color) {
        let scale = self.fine as f64;
        let (x, y) = (ring.centre.0 * scale, ring.centre.1 * scale);
        let (inner, outer) = (ring.inner * scale, ring.outer * scale);
        let reach = outer.ceil() as i32 + 1;
        for row in y as i32 - reach..=y as i32 + reach {
            for column in x as i32 - reach..=x as i32 + reach {
                let (dx, dy) = (f64::from(column) + 0.5 - x, f64::from(row) + 0.5 - y);
                let squared = dx * dx + dy * dy;
                let near = (inner - 1.0).max(0.0);
                if squared > (outer + 1.0) * (outer + 1.0) || squared < near * near {
                    continue;
                }
                let radius = squared.sqrt();
                let cover =
                    (outer - radius + 0.5).clamp(0.0, 1.0) * (radius - inner + 0.5).clamp(0.0, 1.0);
                // A disc has no hole, not even of half a pixel.
                let cover = if inner <= 0.0 {
                    (outer - radius + 0.5).clamp(0.0, 1.0)
                } else {
                    cover
                };
                if cover > 0.0 && ring.holds(libm::atan2(dx, dy)) {
                    let _ = self
                        .area
                        .draw_pixel((column, row), &colour.to_rgba().mix(cover));
                }
            }
        }
    }

    /// Text whose capitals have their middle at height `y`, moved and shortened where it would come too near a side of the
    /// picture; returns its width, pixels.
    pub fn text(&mut self, x: f64, y: f64, text: &str, look: Type) -> f64 {
        let right = self.size.0 - self.edge();
        let x = x.clamp(self.edge(), right);
        let (before, after) = (x - self.edge(), right - x);
        let room = match look.anchor {
            Anchor::Left => after,
            Anchor::Middle => 2.0 * before.min(after),
            Anchor::Right => before,
        };
        let text = look.shorten(text, room);
        let width = look.width(&text);
        let left = match look.anchor {
            Anchor::Left => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::Right => x - width,
        };
        if text.is_empty() {
            return 0.0;
        }
        let baseline = y + look.size * CAPITALS / 2.0;
        let (top, bottom) = (baseline - look.size * ABOVE, baseline + look.size * BELOW);
        self.texts.push(Area {
            left,
            top,
            right: left + width,
            bottom,
        });
        let scale = self.fine as f64;
        let place = (left * scale, baseline * scale);
        for (at, cover) in text::pixels(&text, place, look.size * scale, look.weight) {
            let _ = self.area.draw_pixel(at, &look.colour.mix(cover));
        }
        width
    }
}
