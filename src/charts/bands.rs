//! The bands of a stack: where the marbles of one run are, step by step.

use std::iter::zip;

use plotters::style::RGBColor;

use super::ChartData;
use super::style::{BANDS, HATCHING, OTHERS};
use crate::findings::timeline::{ElementTimeline, Timeline};

/// Steps of time at most: finer ones show the coming and going of single marbles and hide the picture.
const STEPS: usize = 120;
/// A band that is thinner than this on average is not seen.
const UNSEEN: f64 = 0.005;

/// All bands of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Stack {
    /// Length of a step, seconds; the last may be shorter.
    pub step_s: f64,
    /// When the data end, seconds.
    pub end_s: f64,
    /// From the lowest to the highest: elements in the order of the file, then others, the hand, and the lost.
    pub bands: Vec<Band>,
    /// Mean number of marbles that wait anywhere.
    pub waiting: f64,
}

/// A band: an element, or several, or the marbles that are in none.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// What to call it.
    pub name: String,
    /// What it stands for.
    pub kind: BandKind,
    /// Its colour.
    pub colour: RGBColor,
    /// Mean number of marbles in each step.
    pub held: Vec<f64>,
    /// Mean number over the run.
    pub mean: f64,
    /// Number in the last step.
    pub end: f64,
}

/// What a band stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BandKind {
    /// Marbles in one element.
    Element,
    /// Marbles in several elements.
    Others,
    /// Marbles not yet poured in.
    Hand,
    /// Marbles over the side.
    Lost,
}

/// The bands of the first watched run; `None` where it has no data.
pub fn stack(study: &ChartData<'_>) -> Option<Stack> {
    let course = study.courses.first()?;
    let steps = (0..course.spilled.len())
        .take_while(|&k| lasted_s(course, k) > 0.0 && known(course, k))
        .count();
    let group = steps.div_ceil(STEPS);
    let mut bands = bands(study, course, steps);
    if bands.is_empty() {
        return None;
    }
    for band in &mut bands {
        band.held = grouped(course, &band.held, group);
    }
    let elements = course.elements.iter();
    Some(Stack {
        step_s: course.step_s * group as f64,
        end_s: (steps as f64 * course.step_s).min(course.end_s),
        bands,
        waiting: elements
            .map(|element| mean(course, &known_part(&element.waiting), 0))
            .sum(),
    })
}

impl Stack {
    /// Beginning and end of step `k`, seconds.
    pub fn step(&self, k: usize) -> (f64, f64) {
        let begin_s = k as f64 * self.step_s;
        (begin_s, (begin_s + self.step_s).min(self.end_s))
    }
}

fn bands(study: &ChartData<'_>, course: &Timeline, steps: usize) -> Vec<Band> {
    let nodes = &study.circuit.nodes;
    let mut elements = Vec::new();
    for (n, plan) in nodes.iter().enumerate() {
        let held = held(course.elements.get(n), steps);
        elements.push(band(course, &plan.name, BandKind::Element, held));
    }
    elements.retain(is_seen);
    let mut bands = coloured(elements);
    let hand = held(course.elements.get(nodes.len()), steps);
    bands.push(band(course, "still in the hand", BandKind::Hand, hand));
    let lost = lost(study, course, steps);
    bands.push(band(course, "lost", BandKind::Lost, lost));
    bands.retain(is_seen);
    bands
}

fn band(course: &Timeline, name: &str, kind: BandKind, held: Vec<f64>) -> Band {
    Band {
        name: name.to_owned(),
        kind,
        colour: match kind {
            BandKind::Element | BandKind::Others => OTHERS,
            BandKind::Hand | BandKind::Lost => HATCHING,
        },
        mean: mean(course, &held, 0),
        end: held.last().copied().unwrap_or(0.0),
        held,
    }
}

fn is_seen(band: &Band) -> bool {
    band.mean >= UNSEEN
}

fn held(element: Option<&ElementTimeline>, steps: usize) -> Vec<f64> {
    match element {
        Some(element) => first(&element.held, steps),
        None => Vec::new(),
    }
}

/// Whether every element's figure exists in step `k`.
fn known(course: &Timeline, k: usize) -> bool {
    let mut elements = course.elements.iter();
    elements.all(|element| matches!(element.held.get(k), Some(Some(_))))
}

fn first(figures: &[Option<f64>], steps: usize) -> Vec<f64> {
    figures.iter().take(steps).map_while(|x| *x).collect()
}

fn known_part(figures: &[Option<f64>]) -> Vec<f64> {
    first(figures, figures.len())
}

/// How much of step `k` the run lasted, seconds.
fn lasted_s(course: &Timeline, k: usize) -> f64 {
    (course.end_s - k as f64 * course.step_s).min(course.step_s)
}

/// The mean over time of the steps that begin with step `from`.
fn mean(course: &Timeline, held: &[f64], from: usize) -> f64 {
    let (mut sum, mut time) = (0.0, 0.0);
    for (k, x) in held.iter().enumerate() {
        let lasted_s = lasted_s(course, from + k).max(0.0);
        sum += lasted_s * x;
        time += lasted_s;
    }
    if time > 0.0 { sum / time } else { 0.0 }
}

/// Every `group` steps as one.
fn grouped(course: &Timeline, held: &[f64], group: usize) -> Vec<f64> {
    let groups = held.chunks(group.max(1)).enumerate();
    groups
        .map(|(k, steps)| mean(course, steps, k * group))
        .collect()
}

/// The marbles lost, step by step: those of the load that are nowhere, in a run that loses any.
fn lost(study: &ChartData<'_>, course: &Timeline, steps: usize) -> Vec<f64> {
    let mut lost = vec![0.0; steps];
    if course.spilled.last().copied().unwrap_or(0) == 0 {
        return lost;
    }
    let load = f64::from(study.circuit.marbles);
    for (k, lost) in lost.iter_mut().enumerate() {
        let held = course.elements.iter().filter_map(|element| element.held[k]);
        *lost = (load - held.sum::<f64>()).max(0.0);
    }
    lost
}

/// Gives every band a colour; of more than there are colours, the smallest become one.
fn coloured(bands: Vec<Band>) -> Vec<Band> {
    let mut largest: Vec<usize> = (0..bands.len()).collect();
    largest.sort_by(|&a, &b| bands[b].mean.total_cmp(&bands[a].mean));
    let mut colours = BANDS.to_vec();
    // One band alone in the colour of the others keeps its place and its name.
    if bands.len() == BANDS.len() + 1 {
        colours.push(OTHERS);
    }
    largest.truncate(colours.len());
    let mut colours = colours.into_iter();
    let (mut named, mut rest): (Vec<Band>, Vec<Band>) = (Vec::new(), Vec::new());
    for (n, mut band) in bands.into_iter().enumerate() {
        if largest.contains(&n)
            && let Some(colour) = colours.next()
        {
            band.colour = colour;
            named.push(band);
        } else {
            rest.push(band);
        }
    }
    named.extend(together(rest));
    named
}

/// Several bands as one.
fn together(bands: Vec<Band>) -> Option<Band> {
    let name = format!("{} others", bands.len());
    let mut bands = bands.into_iter();
    let mut all = bands.next()?;
    for band in bands {
        all.mean += band.mean;
        all.end += band.end;
        for (sum, x) in zip(&mut all.held, &band.held) {
            *sum += x;
        }
    }
    (all.name, all.kind) = (name, BandKind::Others);
    Some(all)
}
