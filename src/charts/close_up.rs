//! A wheel's pick-up from near, to scale: the end of the ramp from the side, and the wheel's face as the ramp sees it.

use plotters::style::{Color, RGBColor};

use super::bitmap::Pixels;
use super::canvas::{Anchor, Area, Canvas, FOR_TELEPHONES, NARROW, Ring, narrow_pixels, pixels};
use super::film::{animated, small_enough, strip};
use super::frame::{MARGIN, NARROW_MARGIN, foot, heading};
use super::outline::{closed, corners, end, hull};
use super::style::{AXIS, COURSE, INK, LABEL, LIMIT, MUTED, PALE, PAPER, SMALL, WOOD};
use crate::contact::passes::{MarbleSeen, Still};
use crate::contact::place::WheelPlace;
use crate::contact::surface::Block;
use crate::contact::vector::Vector;
use crate::study::close_up::{CloseUp, Deed, Scene};

/// How many times slower than the machine a film is shown.
pub const SLOWER: f64 = 6.0;
/// Stills of a scene in the strip.
const STILLS: usize = 4;
/// Size of a frame, pixels.
const SIZE: (u32, u32) = (1120, 552);
/// Height of a still for a telephone, pixels.
const NARROW_STILL: f64 = 214.0;
/// What the views show, in marbles: along the ramp to the wheel's face and into it, across, and from below the lowest marble up.
pub const ALONG: (f64, f64) = (4.2, 1.6);
/// See [`ALONG`].
pub const ACROSS: (f64, f64) = (2.6, 3.4);
/// See [`ALONG`].
pub const UP: (f64, f64) = (1.0, 3.4);
/// Between the two views, pixels.
const GAP: f64 = 40.0;
/// What lies so far before the face, in marbles, stands between it and whoever looks at it along the ramp: of marbles only the
/// edge is drawn, of all else nothing.
pub const BEFORE_THE_FACE: f64 = 1.5;

/// What is shown, in a maker's words.
pub fn deed(deed: Deed) -> &'static str {
    match deed {
        Deed::Takes => "a pocket takes a marble",
        Deed::Misses => "a pocket misses a marble",
        Deed::Stalls => "a marble wedges and stalls the drive",
    }
}

/// A view on paper: two directions of the machine to pixels.
struct View {
    area: Area,
    scale: f64,
    /// What is at the left edge and at the lower one, m.
    origin: (f64, f64),
    /// Whether it shows x and z, or y and z.
    from_side: bool,
}

impl View {
    fn at(&self, place: Vector) -> (f64, f64) {
        let along = if self.from_side { place.x } else { place.y };
        (
            self.area.left + (along - self.origin.0) * self.scale,
            self.area.bottom - (place.z - self.origin.1) * self.scale,
        )
    }

    fn outline(&self, corners: &[Vector]) -> Vec<(f64, f64)> {
        hull(corners.iter().map(|&corner| self.at(corner)))
    }

    /// Whether anything of a disc would be seen.
    fn shows(&self, (x, y): (f64, f64), radius: f64) -> bool {
        let area = &self.area;
        x + radius > area.left
            && x - radius < area.right
            && y + radius > area.top
            && y - radius < area.bottom
    }
}

/// The drawing of one wheel.
struct Drawing<'a> {
    place: &'a WheelPlace,
    side: View,
    face: View,
    blocks: Vec<Block>,
    /// Number of the first block of the guide.
    guide_from: usize,
}

impl<'a> Drawing<'a> {
    fn new(place: &'a WheelPlace, area: &Area, gap: f64) -> Self {
        let d = place.marbles.diameter_m;
        let wide = ALONG.0 + ALONG.1 + ACROSS.0 + ACROSS.1;
        let scale = ((area.width() - gap) / wide).min((area.height() - 24.0) / (UP.0 + UP.1)) / d;
        let low = place.end_z_m() - UP.0 * d;
        let height = (UP.0 + UP.1) * d * scale;
        let view = |left: f64, (before, after): (f64, f64), from_side: bool| View {
            area: Area {
                left,
                top: area.top + 22.0,
                right: left + (before + after) * d * scale,
                bottom: area.top + 22.0 + height,
            },
            scale,
            origin: (-before * d, low),
            from_side,
        };
        let side = view(area.left, ALONG, true);
        let face = view(side.area.right + gap, ACROSS, false);
        let (mut blocks, guide) = (place.ramp_blocks(), place.guide_blocks());
        let guide_from = blocks.len();
        blocks.extend(guide);
        Drawing {
            place,
            side,
            face,
            blocks,
            guide_from,
        }
    }

    fn ground(&self, canvas: &mut Canvas<'_>) {
        let (look, face) = match canvas.is_narrow() {
            true => (SMALL.sized(10.5), "along the ramp"),
            false => (LABEL, "the wheel's face, along the ramp"),
        };
        for (view, says) in [(&self.side, "from the side"), (&self.face, face)] {
            let says = look.shorten(says, view.area.width());
            canvas.text(view.area.left, view.area.top - 10.0, &says, look);
        }
        let bar = 0.01 * self.side.scale;
        let (left, y) = (self.side.area.left, self.side.area.bottom + 14.0);
        canvas.line(&[(left, y), (left + bar, y)], 2.0, INK);
        let look = if canvas.is_narrow() {
            SMALL.sized(10.5)
        } else {
            SMALL
        };
        canvas.text(left + bar + 8.0, y, "10 mm", look);
    }

    fn still(&self, canvas: &mut Canvas<'_>, still: &Still, marked: usize) {
        self.side_view(canvas, still, marked);
        self.face_view(canvas, still, marked);
        for view in [&self.side, &self.face] {
            let Area {
                left,
                top,
                right,
                bottom,
            } = view.area;
            let (width, height) = canvas.size();
            // What sticks out of a view is covered.
            for over in [
                Area {
                    left: 0.0,
                    top: 0.0,
                    right: width,
                    bottom: top,
                },
                Area {
                    left: 0.0,
                    top: bottom,
                    right: width,
                    bottom: height,
                },
            ] {
                canvas.rect(&over, PAPER);
            }
            let corners = [
                (left, top),
                (right, top),
                (right, bottom),
                (left, bottom),
                (left, top),
            ];
            canvas.line(&corners, 1.0, AXIS);
        }
        let (side, face) = (self.side.area, self.face.area);
        let (width, _) = canvas.size();
        for over in [
            Area {
                left: 0.0,
                right: side.left,
                ..side
            },
            Area {
                left: side.right,
                right: face.left,
                ..side
            },
            Area {
                left: face.right,
                right: width,
                ..face
            },
        ] {
            canvas.rect(&over, PAPER);
        }
    }

    /// Middle of the mouth of pocket `k`.
    fn mouth(&self, still: &Still, k: u32) -> Vector {
        let pitch = std::f64::consts::TAU / f64::from(self.place.wheel.pockets);
        let past = still.pocket_rad - f64::from(k) * pitch;
        let radius = self.place.wheel.pitch_radius_m;
        Vector {
            x: 0.0,
            y: radius * libm::sin(past),
            z: -radius * libm::cos(past),
        }
    }

    fn side_view(&self, canvas: &mut Canvas<'_>, still: &Still, marked: usize) {
        let view = &self.side;
        let wheel = &self.place.wheel;
        let Area {
            right, top, bottom, ..
        } = view.area;
        let face_x = view.at(Vector::ZERO).0;
        canvas.rect(
            &Area {
                left: face_x,
                top,
                right,
                bottom,
            },
            WOOD,
        );
        // The pocket at the ramp, cut through the middle.
        let nearest = (0..wheel.pockets)
            .map(|k| self.mouth(still, k))
            .min_by(|a, b| a.z.total_cmp(&b.z));
        if let Some(mouth) = nearest.filter(|mouth| mouth.y.abs() < wheel.bore_m / 2.0) {
            let (c, s) = (libm::cos(wheel.tilt_rad), libm::sin(wheel.tilt_rad));
            let half = libm::sqrt(wheel.bore_m * wheel.bore_m / 4.0 - mouth.y * mouth.y) / c;
            let deep = |z: f64| Vector {
                x: wheel.depth_m * c,
                y: 0.0,
                z: z - wheel.depth_m * s,
            };
            let at = |z: f64| Vector { x: 0.0, y: 0.0, z };
            let corners = [
                at(mouth.z + half),
                deep(mouth.z + half),
                deep(mouth.z - half),
                at(mouth.z - half),
            ];
            canvas.shape(&corners.map(|corner| view.at(corner)), PAPER);
        }
        if let Some(floor) = self.blocks.first() {
            canvas.shape(&view.outline(&corners(floor)), PALE);
        }
        self.marbles(canvas, view, still, marked, |_| true);
        for block in &self.blocks {
            closed(canvas, &view.outline(&corners(block)), AXIS);
        }
        canvas.line(&[(face_x, top), (face_x, bottom)], 1.2, MUTED);
    }

    fn face_view(&self, canvas: &mut Canvas<'_>, still: &Still, marked: usize) {
        let view = &self.face;
        canvas.rect(&view.area, WOOD);
        let radius = self.place.wheel.bore_m / 2.0 * view.scale;
        for k in 0..self.place.wheel.pockets {
            let at = view.at(self.mouth(still, k));
            if view.shows(at, radius) {
                canvas.ring(&Ring::disc(at, radius), PAPER);
                canvas.ring(&Ring::line(at, radius, 1.2), MUTED);
            }
        }
        let near = -BEFORE_THE_FACE * self.place.marbles.diameter_m;
        self.marbles(canvas, view, still, marked, |at| at.x > near);
        for (n, block) in self.blocks.iter().enumerate() {
            let is_guide = n >= self.guide_from;
            let ends = corners(block)
                .into_iter()
                .map(|corner| corner.x)
                .fold(f64::NEG_INFINITY, f64::max);
            if ends < near {
                continue;
            }
            // Of what lies along the ramp the end at the wheel is seen.
            let seen = if is_guide {
                view.outline(&corners(block))
            } else {
                view.outline(&end(block))
            };
            canvas.shape(&seen, PALE.mix(if is_guide { 0.6 } else { 0.8 }));
            closed(canvas, &seen, MUTED);
        }
        for marble in still.marbles.iter().filter(|marble| marble.at.x <= near) {
            let (at, radius) = (view.at(marble.at), marble.radius * view.scale);
            if view.shows(at, radius) {
                canvas.ring(&Ring::line(at, radius, 1.0), AXIS);
            }
        }
    }

    /// Discs, those further away first.
    fn marbles(
        &self,
        canvas: &mut Canvas<'_>,
        view: &View,
        still: &Still,
        marked: usize,
        shown: impl Fn(Vector) -> bool,
    ) {
        let depth = |at: Vector| if view.from_side { -at.y } else { at.x };
        let mut order = still.marbles.clone();
        order.retain(|marble| shown(marble.at));
        order.sort_by(|a, b| depth(b.at).total_cmp(&depth(a.at)));
        for marble in order {
            let (at, radius) = (view.at(marble.at), marble.radius * view.scale);
            if view.shows(at, radius) {
                canvas.ring(
                    &Ring::disc(at, radius),
                    if marble.number == marked {
                        LIMIT
                    } else {
                        COURSE
                    },
                );
                canvas.ring(&Ring::line(at, radius, 1.0), PAPER);
            }
        }
    }
}

/// The number of the marble that is described: the one nearest to where pockets pass when the pocket's leading edge does.
pub fn marked(place: &WheelPlace, scene: &Scene) -> usize {
    let at = scene
        .stills
        .iter()
        .find(|still| still.time_s >= scene.led_s)
        .or(scene.stills.last());
    let low = Vector {
        x: -place.marbles.diameter_m / 2.0,
        y: 0.0,
        z: place.end_z_m() + place.marbles.diameter_m / 2.0,
    };
    let far = |marble: &MarbleSeen| (marble.at - low).square();
    at.and_then(|still| {
        still
            .marbles
            .iter()
            .min_by(|a, b| far(a).total_cmp(&far(b)))
    })
    .map_or(0, |marble| marble.number)
}

/// The files of a close-up of an element: an animated PNG, a strip of stills and one for telephones, name and bytes.
pub fn files(close_up: &CloseUp, element: &str, machine: &str) -> Vec<(String, Vec<u8>)> {
    let shown: Vec<(&Scene, usize)> = close_up
        .scenes
        .iter()
        .map(|scene| (scene, marked(&close_up.place, scene)))
        .collect();
    let draw = |scene: &Scene, marked: usize, still: &Still| {
        picture(close_up, (element, machine), (scene, marked), still)
    };
    let film = small_enough(|rate| {
        let apart_s = 1.0 / (f64::from(rate) * SLOWER);
        let mut frames: Vec<(&Scene, usize, &Still)> = Vec::new();
        for &(scene, marked) in &shown {
            frames.extend(every(scene, apart_s).map(|still| (scene, marked, still)));
        }
        if frames.is_empty() {
            return Vec::new();
        }
        let frame = |k: u32| {
            let (scene, marked, still) = frames[k as usize];
            draw(scene, marked, still)
        };
        animated::png(frames.len() as u32, rate, frame).unwrap_or_default()
    });
    vec![
        ("close-up.png".to_owned(), film),
        (
            "close-up-strip.png".to_owned(),
            stills(close_up, element, machine),
        ),
        (
            format!("close-up{FOR_TELEPHONES}.png"),
            narrow_stills(close_up, element),
        ),
    ]
}

/// The strip as PNG: scene by scene, stills from the first instant to the last.
pub fn stills(close_up: &CloseUp, element: &str, machine: &str) -> Vec<u8> {
    let stills = close_up.scenes.iter().flat_map(|scene| {
        let marked = marked(&close_up.place, scene);
        let last = scene.stills.len().saturating_sub(1);
        let shown = (0..STILLS).filter_map(move |k| scene.stills.get(k * last / (STILLS - 1)));
        shown.map(move |still| {
            picture(close_up, (element, machine), (scene, marked), still).halved()
        })
    });
    animated::still(&strip(&stills.collect::<Vec<Pixels>>(), 2))
}

/// The same for a telephone, one still under the other.
pub fn narrow_stills(close_up: &CloseUp, element: &str) -> Vec<u8> {
    let mut stills: Vec<Pixels> = Vec::new();
    for scene in &close_up.scenes {
        let marked = marked(&close_up.place, scene);
        let last = scene.stills.len().saturating_sub(1);
        for k in 0..STILLS {
            let Some(still) = scene.stills.get(k * last / (STILLS - 1)) else {
                continue;
            };
            // What it shows stands over the first still of a scene.
            let about = (k == 0).then(|| format!("{element}: {}", deed(scene.deed)));
            stills.push(narrow_still(
                close_up,
                &about.unwrap_or_default(),
                (scene, marked),
                still,
            ));
        }
    }
    animated::still(&strip(&stills, 1))
}

fn narrow_still(
    close_up: &CloseUp,
    about: &str,
    (scene, marked): (&Scene, usize),
    still: &Still,
) -> Pixels {
    narrow_pixels(NARROW_STILL, |canvas| {
        let blank = Area {
            left: NARROW_MARGIN,
            top: 46.0,
            right: f64::from(NARROW) - NARROW_MARGIN,
            bottom: NARROW_STILL - 14.0,
        };
        let drawing = Drawing::new(&close_up.place, &blank, 16.0);
        drawing.still(canvas, still, marked);
        drawing.ground(canvas);
        let look = LABEL.bold().sized(13.0);
        let about = look.shorten(about, blank.width());
        canvas.text(blank.left, 14.0, &about, look);
        canvas.text(blank.left, 36.0, &clock(scene, still), look);
        let (turns, colour) = turns(still);
        let look = SMALL.coloured(colour).at(Anchor::Right);
        canvas.text(blank.right, 36.0, &turns, look);
    })
}

/// How long before or after the pocket's leading edge passes the ramp.
fn clock(scene: &Scene, still: &Still) -> String {
    let since_s = (100.0 * (still.time_s - scene.led_s)).round() / 100.0 + 0.0;
    format!("{since_s:+.2} s")
}

/// How fast the wheel turns, and the colour to say it in.
fn turns(still: &Still) -> (String, RGBColor) {
    let turns = format!(
        "wheel at {:.0} % of its speed",
        100.0 * still.wheel_speed.max(0.0)
    );
    let colour = if still.wheel_speed < 0.5 {
        LIMIT
    } else {
        MUTED
    };
    (turns, colour)
}

/// Stills so far apart, s.
fn every(scene: &Scene, apart_s: f64) -> impl Iterator<Item = &Still> {
    let mut next = f64::NEG_INFINITY;
    scene.stills.iter().filter(move |still| {
        let due = still.time_s >= next;
        if due {
            next = still.time_s.max(next + apart_s);
        }
        due
    })
}

fn picture(
    close_up: &CloseUp,
    (element, machine): (&str, &str),
    (scene, marked): (&Scene, usize),
    still: &Still,
) -> Pixels {
    let (pixels, _) = pixels(SIZE, |canvas| {
        let blank = Area {
            left: MARGIN,
            top: 84.0,
            right: canvas.size().0 - MARGIN,
            bottom: canvas.size().1 - 46.0,
        };
        let drawing = Drawing::new(&close_up.place, &blank, GAP);
        drawing.still(canvas, still, marked);
        let rpm = close_up.place.drive.speed_rad_s * 60.0 / std::f64::consts::TAU;
        let says = format!(
            "{rpm:.1} rpm, {SLOWER} times slower than it is; the marble at the wheel is red"
        );
        heading(canvas, &format!("{element}: {}", deed(scene.deed)), &says);
        drawing.ground(canvas);
        let look = LABEL.bold().sized(22.0).at(Anchor::Right);
        let right = canvas.size().0 - MARGIN;
        canvas.text(right, 36.0, &clock(scene, still), look);
        let (turns, colour) = turns(still);
        let look = LABEL.coloured(colour).at(Anchor::Right);
        canvas.text(right, 64.0, &turns, look);
        foot(
            canvas,
            machine,
            "one of the pockets that the close look followed",
        );
    });
    pixels
}
