//! The course of a figure over time: in each step, where the runs are.

use super::canvas::Canvas;
use super::frame::Panel;
use super::style::{COURSE, SPREAD};
use crate::findings::timeline::Timeline;
use crate::stats::quantile::quantile;

/// Where the runs are at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Time, seconds.
    pub time_s: f64,
    /// What 5 % of the runs are under.
    pub low: f64,
    /// What half of the runs are under.
    pub middle: f64,
    /// What 95 % of the runs are under.
    pub high: f64,
}

/// A stretch of time without a gap in the data, from the beginning of its first step to the end of its last.
pub type Stretch = Vec<Point>;

/// Where the runs are over time, by the figures `of` each; a step in which it exists in none of them is a gap.
pub fn over_runs<'a>(
    courses: &'a [Timeline],
    of: impl Fn(&'a Timeline) -> Option<&'a [Option<f64>]>,
) -> Vec<Stretch> {
    let figures: Vec<&[Option<f64>]> = courses.iter().filter_map(of).collect();
    let step_s = courses
        .iter()
        .map(|course| course.step_s)
        .fold(0.0, f64::max);
    let span_s = courses
        .iter()
        .map(|course| course.end_s)
        .fold(0.0, f64::max);
    let steps = figures.iter().map(|run| run.len()).max().unwrap_or(0);
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut open = false;
    for k in 0..steps {
        let values: Vec<f64> = figures.iter().filter_map(|run| *run.get(k)?).collect();
        let begin_s = k as f64 * step_s;
        let end_s = (begin_s + step_s).min(span_s);
        let Some(point) = point(&values, (begin_s + end_s) / 2.0).filter(|_| begin_s < end_s)
        else {
            open = false;
            continue;
        };
        if !open {
            stretches.push(vec![Point {
                time_s: begin_s,
                ..point
            }]);
            open = true;
        }
        if let Some(stretch) = stretches.last_mut() {
            // The end of the step before it was only the end for want of this one.
            if stretch.len() > 2 {
                stretch.pop();
            }
            stretch.extend([
                point,
                Point {
                    time_s: end_s,
                    ..point
                },
            ]);
        }
    }
    stretches
}

fn point(values: &[f64], time_s: f64) -> Option<Point> {
    let at = |p: f64| quantile(values, p);
    Some(Point {
        time_s,
        low: at(0.05)?,
        middle: at(0.5)?,
        high: at(0.95)?,
    })
}

/// The largest figure that is drawn.
pub fn highest(stretches: &[Stretch]) -> f64 {
    stretches
        .iter()
        .flatten()
        .map(|point| point.high)
        .fold(0.0, f64::max)
}

/// Draws the spread and the median over it, both cut off at the top of the panel.
pub fn draw(canvas: &mut Canvas<'_>, panel: &Panel, stretches: &[Stretch]) {
    let y = |figure: f64| panel.y.at(figure.min(panel.y.figures.1));
    for stretch in stretches {
        let band: Vec<(f64, f64, f64)> = stretch
            .iter()
            .map(|p| (panel.x.at(p.time_s), y(p.high), y(p.low)))
            .collect();
        canvas.band(&band, SPREAD);
    }
    for stretch in stretches {
        let line: Vec<(f64, f64)> = stretch
            .iter()
            .map(|p| (panel.x.at(p.time_s), y(p.middle)))
            .collect();
        canvas.line(&line, 2.0, COURSE);
    }
}
