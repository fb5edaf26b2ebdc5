//! The course of a figure over time: in each step, where the runs are.

use super::canvas::Canvas;
use super::frame::Panel;
use super::scale::largest;
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
    let step_s = largest(courses.iter().map(|course| course.step_s));
    let span_s = largest(courses.iter().map(|course| course.end_s));
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
            let begin = Point {
                time_s: begin_s,
                ..point
            };
            stretches.push(vec![begin]);
            open = true;
        }
        if let Some(stretch) = stretches.last_mut() {
            // The end of the step before it was only the end for want of this one.
            if stretch.len() > 2 {
                stretch.pop();
            }
            let end = Point {
                time_s: end_s,
                ..point
            };
            stretch.extend([point, end]);
        }
    }
    stretches
}

fn point(values: &[f64], time_s: f64) -> Option<Point> {
    Some(Point {
        time_s,
        low: quantile(values, 0.05)?,
        middle: quantile(values, 0.5)?,
        high: quantile(values, 0.95)?,
    })
}

/// The largest figure that is drawn.
pub fn highest(stretches: &[Stretch]) -> f64 {
    largest(stretches.iter().flatten().map(|point| point.high))
}

/// Draws the spread and the median over it, both cut off at the top of the panel.
pub fn draw(canvas: &mut Canvas<'_>, panel: &Panel, stretches: &[Stretch]) {
    let mut lines = Vec::new();
    for stretch in stretches {
        let (mut band, mut line) = (Vec::new(), Vec::new());
        for p in stretch {
            let [low, middle, high] =
                [p.low, p.middle, p.high].map(|figure| panel.y.at(figure.min(panel.y.figures.1)));
            let x = panel.x.at(p.time_s);
            band.push((x, high, low));
            line.push((x, middle));
        }
        canvas.band(&band, SPREAD);
        lines.push(line);
    }
    for line in lines {
        canvas.line(&line, 2.0, COURSE);
    }
}
