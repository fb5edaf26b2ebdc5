//! A stretch of one run as a film: marbles moving through the drawn circuit, wheels turning, pockets full and empty.

pub mod animated;
pub mod scene;
pub mod stage;
mod stamp;

use super::bitmap::Pixels;
use super::canvas::{Area, Canvas, FOR_TELEPHONES, Format, NARROW, Type, pixels};
use super::circuit::{arrow, frame, graph};
use super::excerpt::Excerpt;
use super::frame::{MARGIN, NARROW_MARGIN, foot, heading, heading_height};
use super::layout::{Layout, Sizes, layout};
use super::signs::sign;
use super::style::{COURSE, INK, LABEL, LIMIT, SMALL, TITLE};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::findings::replay::Replay;
use crate::findings::words::{count, duration};
use scene::{FilmScene, Frame};

/// Frames a second; a film larger than [`LIMIT_BYTES`] is made at the next rate.
pub const RATES: [u16; 3] = [15, 10, 6];
/// How large a film may be, bytes: what forums take.
pub const LIMIT_BYTES: usize = 5_000_000;
/// Stills in the strip.
const STILLS: u64 = 4;
/// Width of the arrows, pixels.
const ARROW: f64 = 3.0;
/// Height of what stands above the circuit and below it, pixels.
const AROUND: f64 = 146.0;
/// How long an incident is captioned, seconds.
const CAPTIONED_S: f64 = 3.0;

/// What is to be filmed.
#[derive(Clone, Copy, Debug)]
pub struct Shot<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// The run; from its end on everything stands still.
    pub replay: &'a Replay,
    /// The machine's title.
    pub title: &'a str,
    /// How to repeat it: the setting, seed and run.
    pub repeat: &'a str,
    /// The first instant.
    pub from: Nanos,
    /// How long the film lasts.
    pub length: Nanos,
}

/// The files of a film: an animated PNG, the same for telephones, and a strip of stills, name and bytes.
pub fn files(shot: &Shot<'_>) -> Vec<(String, Vec<u8>)> {
    let (wide, narrow) = (placed(shot.circuit), placed_for_telephone(shot));
    let wide = Film::new(shot, &wide, Format::Wide);
    let narrow = Film::new(shot, &narrow, Format::Narrow);
    let instant = |k: u64| shot.from + shot.length * k / (STILLS - 1);
    let stills = (0..STILLS).map(|k| wide.picture(instant(k)).halved());
    let stills: Vec<Pixels> = stills.collect();
    vec![
        ("film.png".to_owned(), wide.moving()),
        (format!("film{FOR_TELEPHONES}.png"), narrow.moving()),
        (
            "film-strip.png".to_owned(),
            animated::still(&strip(&stills, 2)),
        ),
    ]
}

/// A shot drawn at one width.
struct Film<'a> {
    shot: &'a Shot<'a>,
    scene: FilmScene<'a>,
    /// Everything that does not move.
    ground: Pixels,
    format: Format,
}

/// The film at the highest of [`RATES`] at which it keeps to [`LIMIT_BYTES`]; at the lowest where it does at none.
pub fn small_enough(film_at: impl Fn(u16) -> Vec<u8>) -> Vec<u8> {
    let mut film = Vec::new();
    for rate in RATES {
        film = film_at(rate);
        if film.len() <= LIMIT_BYTES {
            break;
        }
    }
    film
}

/// How many frames a shot has at `rate` a second.
pub fn frames(shot: &Shot<'_>, rate: u16) -> u32 {
    ((u128::from(shot.length) * u128::from(rate)).div_ceil(1_000_000_000) as u32).max(1)
}

/// When frame `k` is.
pub fn instant(shot: &Shot<'_>, k: u32, rate: u16) -> Nanos {
    shot.from + u64::from(k) * 1_000_000_000 / u64::from(rate)
}

/// How large a film draws things.
const SIZES: Sizes = Sizes {
    width: stage::WIDTH,
    height: stage::HEIGHT,
    label: 26.0,
    abreast: 5,
    room: 780.0,
};

/// Around a circuit in the page and between boxes side by side in it, pixels.
const AIR: f64 = 4.0;
const BETWEEN: f64 = 12.0;
/// Under a box on a telephone, where it says what it leads to, pixels.
const LEADS: f64 = 22.0;
/// Over the boxes of a narrow film, for marbles in the hand and what goes wrong, pixels.
const SAID: f64 = 34.0;
const NARROW_SUBTITLE: &str = "Marbles take their time in the boxes; between them they only flit.";

/// Whether a film has room for the whole circuit; part of one would lose marbles from sight.
pub fn fits(circuit: &Circuit) -> bool {
    Excerpt::of(circuit, &SIZES, (2.0 * MARGIN, AROUND))
        .shown
        .len()
        == circuit.nodes.len()
}

/// The circuit laid out for a page.
pub fn for_page(circuit: &Circuit) -> Layout {
    let mut laid_out = layout(&graph(circuit), &SIZES).moved(AIR, AIR);
    laid_out.width += 2.0 * AIR;
    laid_out.height += 2.0 * AIR;
    laid_out
}

/// The same for a telephone, which has no room for ways: the elements two by two, in the order of the file.
pub fn for_telephone(circuit: &Circuit) -> Layout {
    let nodes = circuit.nodes.len();
    let mut boxes = Vec::new();
    for n in 0..nodes {
        let (row, column) = ((n / 2) as f64, (n % 2) as f64);
        let (left, top) = (
            AIR + column * (stage::WIDTH + BETWEEN),
            AIR + row * (stage::HEIGHT + LEADS),
        );
        boxes.push(Area {
            left,
            top,
            right: left + stage::WIDTH,
            bottom: top + stage::HEIGHT,
        });
    }
    Layout {
        boxes,
        rising: vec![false; nodes],
        wires: Vec::new(),
        width: 2.0 * (AIR + stage::WIDTH) + BETWEEN,
        height: AIR + nodes.div_ceil(2) as f64 * (stage::HEIGHT + LEADS),
    }
}

/// The circuit laid out for a film, where it stands in the picture.
pub fn placed(circuit: &Circuit) -> Layout {
    layout(&graph(circuit), &SIZES).moved(MARGIN, AROUND - 46.0)
}

/// The same for a telephone.
fn placed_for_telephone(shot: &Shot<'_>) -> Layout {
    let laid_out = for_telephone(shot.circuit);
    let side = (f64::from(NARROW) - laid_out.width) / 2.0;
    laid_out.moved(side, narrow_head(shot) + SAID)
}

/// How much of a narrow film's height its title and what is under it take, pixels.
fn narrow_head(shot: &Shot<'_>) -> f64 {
    heading_height(&narrow_title(shot), NARROW_SUBTITLE, NARROW)
}

/// The title beside a clock.
fn narrow_title(shot: &Shot<'_>) -> String {
    TITLE.sized(17.0).shorten(shot.title, 224.0)
}

impl<'a> Film<'a> {
    fn new(shot: &'a Shot<'a>, layout: &'a Layout, format: Format) -> Self {
        let scene = FilmScene::new(shot, layout);
        let ground = match format {
            Format::Wide => ground(shot, layout, &scene),
            Format::Narrow => narrow_ground(shot, layout, &scene),
        };
        Film {
            shot,
            scene,
            ground,
            format,
        }
    }

    /// The animated PNG.
    fn moving(&self) -> Vec<u8> {
        let shot = self.shot;
        small_enough(|rate| {
            animated::png(frames(shot, rate), rate, |k| {
                self.picture(instant(shot, k, rate))
            })
            .unwrap_or_default()
        })
    }

    /// One frame as pixels.
    fn picture(&self, time: Nanos) -> Pixels {
        let frame = self.scene.frame(time);
        let mut pixels = self.ground.clone();
        for pocket in &frame.pockets {
            stamp::pocket(&mut pixels, *pocket);
        }
        for dot in &frame.dots {
            stamp::marble(&mut pixels, dot.at, dot.marble);
        }
        let (right, heights, large) = match self.format {
            Format::Wide => (f64::from(pixels.width) - MARGIN, [44.0, 66.0, 86.0], 26.0),
            Format::Narrow => {
                let head = narrow_head(self.shot);
                let right = f64::from(NARROW) - NARROW_MARGIN;
                (right, [28.0, head + 6.0, head + 24.0], 20.0)
            }
        };
        let time = Type::new(large, INK).bold();
        stamp::text_to(&mut pixels, (right, heights[0]), &clock(frame.time), time);
        let small = Type::new(13.0, INK);
        let missing = missing(&frame);
        stamp::text_to(&mut pixels, (right, heights[1]), &missing, small);
        if let Some(says) = incident(self.shot, &self.scene, frame.time) {
            let alarm = Type::new(14.0, LIMIT).bold();
            let says = alarm.shorten(&says, right - NARROW_MARGIN);
            stamp::text_to(&mut pixels, (right, heights[2]), &says, alarm);
        }
        pixels
    }
}

/// The marbles that are in no element.
fn missing(frame: &Frame) -> String {
    let mut missing = Vec::new();
    if frame.in_hand > 0 {
        let marbles = count(frame.in_hand as u64, "marble");
        missing.push(format!("{marbles} in the hand"));
    }
    if frame.lost > 0 {
        missing.push(format!("{} lost", frame.lost));
    }
    missing.join(", ")
}

/// Everything that does not move.
fn ground(shot: &Shot<'_>, layout: &Layout, scene: &FilmScene<'_>) -> Pixels {
    let (width, height) = (layout.width + 2.0 * MARGIN, layout.height + AROUND);
    let size = (width.ceil() as u32, height.ceil() as u32);
    let drawn = pixels(size, |canvas| {
        let title = TITLE.shorten(shot.title, (layout.width - 330.0).max(200.0));
        let subtitle = "Marbles take their time in the boxes; along an arrow they only flit.";
        heading(canvas, &title, subtitle);
        foot(canvas, shot.title, shot.repeat);
        for wire in &layout.wires {
            arrow(canvas, &wire.points, ARROW);
        }
        boxes(canvas, shot, layout, scene);
    });
    drawn.0
}

/// The same for a telephone: under each box the names of what it leads to.
fn narrow_ground(shot: &Shot<'_>, layout: &Layout, scene: &FilmScene<'_>) -> Pixels {
    let height = narrow_head(shot) + SAID + layout.height + 46.0;
    let drawn = pixels((NARROW, height.ceil() as u32), |canvas| {
        heading(canvas, &narrow_title(shot), NARROW_SUBTITLE);
        foot(canvas, shot.title, shot.repeat);
        boxes(canvas, shot, layout, scene);
        let nodes = &shot.circuit.nodes;
        for (plan, area) in nodes.iter().zip(&layout.boxes) {
            let to = plan.ways.iter().filter_map(|way| nodes.get(way.to));
            let to: Vec<&str> = to.map(|to| to.name.as_str()).collect();
            let says = match to.is_empty() {
                true => "ends".to_owned(),
                false => format!("to {}", to.join(", ")),
            };
            let look = SMALL.sized(11.0);
            let says = look.shorten(&says, area.width() - 8.0);
            canvas.text(area.left + 4.0, area.bottom + 10.0, &says, look);
        }
    });
    drawn.0
}

/// The elements: a box each, with its sign, its name and its stage.
fn boxes(canvas: &mut Canvas<'_>, shot: &Shot<'_>, layout: &Layout, scene: &FilmScene<'_>) {
    let nodes = shot.circuit.nodes.iter();
    for ((plan, area), stage) in nodes.zip(&layout.boxes).zip(&scene.stages) {
        frame(canvas, area, false);
        stage.paint(canvas);
        let at = (area.left + 16.0, area.top + 14.0);
        sign(canvas, plan.kind, at, COURSE);
        let look = Type {
            size: 12.5,
            colour: INK,
            ..LABEL
        }
        .bold();
        let name = look.shorten(&plan.name, area.width() - 44.0);
        canvas.text(area.left + 32.0, area.top + 12.0, &name, look);
    }
}

/// The last incident, while it is fresh.
fn incident(shot: &Shot<'_>, scene: &FilmScene<'_>, time: Nanos) -> Option<String> {
    let mut blockages = shot.replay.blockages();
    let (begin, node, cause) = blockages.rfind(|(begin, ..)| *begin <= time)?;
    let lasts = if scene.stands(node, time) {
        Nanos::MAX
    } else {
        nanos(CAPTIONED_S)
    };
    let name = &shot.circuit.nodes.get(node)?.name;
    (time - begin < lasts).then(|| format!("{} at {name}", cause.name()))
}

/// A time of the run as a clock shows it: `1:30.4`, `1:02:30.4`.
pub fn clock(time: Nanos) -> String {
    let tenths = time / 100_000_000;
    let (hours, minutes, seconds) = (tenths / 36_000, tenths / 600 % 60, tenths / 10 % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02}.{}", tenths % 10),
        _ => format!("{hours}:{minutes:02}:{seconds:02}.{}", tenths % 10),
    }
}

/// Stills, so many side by side.
pub fn strip(stills: &[Pixels], across: u32) -> Pixels {
    let (width, height) = stills
        .first()
        .map_or((1, 1), |still| (still.width, still.height));
    let down = (stills.len() as u32).div_ceil(across);
    let mut strip = Pixels {
        width: across * width,
        height: down * height,
        rgb: vec![255; (across * width * down * height * 3) as usize],
    };
    for (k, still) in stills.iter().enumerate() {
        let (column, row) = (k as u32 % across, k as u32 / across);
        strip.put(still, (column * width, row * height));
    }
    strip
}

/// What the film is about, for its caption: `20 s from 1:30.0`.
pub fn stretch(shot: &Shot<'_>) -> String {
    format!(
        "{} from {}",
        duration(shot.length as f64 * 1e-9),
        clock(shot.from)
    )
}
