//! What stands behind the chances at a wheel: how many pockets were followed, and how rare a stall could have been missed.

use super::RunFigures;
use super::sentences::{Finding, FindingWriter};
use super::summary::LEVEL;
use super::words::{count, figure, percent, two_figures};
use crate::circuit::Circuit;
use crate::circuit::plan::Plan;
use crate::stats::Estimate;
use crate::stats::proportion::{clopper_pearson, zero_event_bound};

/// What pockets are counted to have done, each a share that is known only as well as so many pockets tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Took a marble, of those that meet a line.
    Taken,
    /// Took none, nor stalled.
    Missed,
    /// Stalled the drive.
    Stalled,
}

/// A figure that grows as how often pockets of wheel `plan` do this, with what a close look leaves unsure of it.
///
/// Pockets are taken as independent, and the figure as proportional to the share: where few marbles come, a miss only
/// delays them, and the interval is too wide. What no pocket did adds nothing here: the sentence on the look tells how rare it is.
pub fn widened(figure: Estimate, plan: &Plan, counted: Counted, level: f64) -> Estimate {
    let share = share_seen(plan, counted, level);
    let (Some(value), Some(share)) = (figure.value, share) else {
        return figure;
    };
    let (below, above) = arms(share);
    figure
        .widened(value * below, value * above)
        .within(0.0, f64::INFINITY)
}

/// Jams, where those that looks foresee, pinches at wheels and arches in bowls and on floors, are as unsure as the looks:
/// `figure` is of all jams of `runs`.
pub fn jams_widened(
    figure: Estimate,
    circuit: &Circuit,
    runs: &[RunFigures],
    level: f64,
) -> Estimate {
    let all: u64 = runs.iter().map(RunFigures::jam_count).sum();
    let (Some(value), 1..) = (figure.value, all) else {
        return figure;
    };
    let mut figure = figure;
    for (n, plan) in circuit.nodes.iter().enumerate() {
        let stopping = share_seen(plan, Counted::Stalled, level);
        let Some(share) = stopping.or_else(|| share_arched(plan, level)) else {
            continue;
        };
        let jams = runs.iter().flat_map(|run| &run.jams);
        let here: u64 = jams.filter(|jam| jam.node == n).map(|jam| jam.count).sum();
        let of_these = value * here as f64 / all as f64;
        let (below, above) = arms(share);
        figure = figure
            .widened(of_these * below, of_these * above)
            .within(0.0, f64::INFINITY);
    }
    figure
}

/// How often pockets did this, of those followed; `None` without a close look, or where none did.
fn share_seen(plan: &Plan, counted: Counted, level: f64) -> Option<Estimate> {
    let counts = &plan.looked()?.counts;
    let all = counts.all();
    let (hits, of) = match counted {
        Counted::Taken if counts.line().passes > 0 => (counts.line().taken, counts.line()),
        Counted::Taken => (all.taken, all),
        Counted::Missed => (all.passes - all.taken - all.stalled, all),
        Counted::Stalled => (all.stalled, all),
    };
    if hits == 0 {
        return None;
    }
    Some(clopper_pearson(
        u64::from(hits),
        u64::from(of.passes),
        level,
    ))
}

/// How often marbles arched, of those followed; `None` without a close look, or where none did.
fn share_arched(plan: &Plan, level: f64) -> Option<Estimate> {
    let ends = plan.followed.filter(|ends| ends.arched > 0)?;
    Some(clopper_pearson(
        u64::from(ends.arched),
        u64::from(ends.all()),
        level,
    ))
}

/// The arms of an interval, in the figure.
fn arms(share: Estimate) -> (f64, f64) {
    let Estimate { value, low, high } = share;
    (arm(value, low), arm(value, high))
}

fn arm(value: Option<f64>, end: Option<f64>) -> f64 {
    match (value, end) {
        (Some(value), Some(end)) => (end / value - 1.0).abs(),
        _ => 0.0,
    }
}

impl FindingWriter<'_> {
    /// How many arched of those that a close look at a bowl or a floor followed, if there was one.
    pub(super) fn followed(&self, n: usize) -> Option<Finding> {
        let plan = self.plan(n);
        let ends = plan.followed?;
        let (arched, all) = (u64::from(ends.arched), u64::from(ends.all()));
        let text = format!(
            "A close look at `{}` followed {}; {}.",
            plan.name,
            count(all, "marble"),
            how_many((arched, all), "arched")
        );
        Some(FindingWriter::say(&plan.name, arched == 0, text))
    }

    /// What a close look at wheel `n` saw, if there was one.
    pub(super) fn looked(&self, n: usize) -> Option<Finding> {
        let plan = self.plan(n);
        let counts = &plan.looked()?.counts;
        let (all, line, alone) = (counts.all(), counts.line(), counts.alone());
        let text = format!(
            "A close look at `{}` followed {}. They took {} of a line and {} of lone marbles; {}.",
            plan.name,
            count(u64::from(all.passes), "pocket"),
            percent(line.shares().take),
            percent(alone.shares().take),
            how_many(
                (u64::from(all.stalled), u64::from(all.passes)),
                "stalled the drive"
            )
        );
        Some(FindingWriter::say(&plan.name, all.stalled == 0, text))
    }
}

/// How many of those followed did this, and how sure that is.
fn how_many((hits, of): (u64, u64), did: &str) -> String {
    if hits == 0 {
        return match zero_event_bound(of, LEVEL) {
            Some(rarest) => format!(
                "none {did} (95 % sure: fewer than 1 in {})",
                figure(1.0 / rarest)
            ),
            None => format!("none {did}"),
        };
    }
    let share = clopper_pearson(hits, of, LEVEL);
    format!(
        "{hits} {did} (95 % sure: 1 in {} to 1 in {})",
        one_in(share.high),
        one_in(share.low)
    )
}

fn one_in(share: Option<f64>) -> String {
    match share {
        Some(share) if share > 0.0 => two_figures(1.0 / share),
        _ => "?".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::Cause;
    use crate::contact::crowd_counts::EndCounts;
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::MadeUp;

    /// Rule of three: none of 300 leaves fewer than 1 in 100 (J. A. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743).
    #[test]
    fn none_seen_is_not_none() {
        assert_eq!(
            how_many((0, 300), "stalled the drive"),
            "none stalled the drive (95 % sure: fewer than 1 in 101)"
        );
        let three = how_many((3, 300), "stalled the drive");
        assert!(
            three.starts_with("3 stalled the drive (95 % sure: 1 in "),
            "{three}"
        );
    }

    /// A share of 0.2 between 0.1 and 0.25 is off by half of it at most below, by a quarter above.
    #[test]
    fn arms_are_shares_of_the_share() {
        let (below, above) = arms(Estimate::interval(0.2, 0.1, 0.25));
        assert!((below - 0.5).abs() < 1e-12 && (above - 0.25).abs() < 1e-12);
        assert_eq!(arms(Estimate::point(0.2)), (0.0, 0.0));
    }

    /// Of ten jams in eight hours a fifth are arches at a floor that was followed: 3 of 300 arched there.
    #[test]
    fn jams_are_as_unsure_as_the_look_that_foresaw_them() {
        let mut made_up = MadeUp::new(1, "least-fill: 0.5");
        let jam = |node, count| Jam {
            node,
            cause: Cause::Arch,
            first: 0,
            count,
        };
        let mut run = made_up.run(0, |_| 1.0);
        run.jams = vec![jam(0, 8), jam(2, 2)];
        let ends = EndCounts {
            arched: 3,
            out: 297,
            ..EndCounts::default()
        };
        assert_eq!(ends.all(), 300);
        made_up.circuit.nodes[2].followed = Some(ends);
        let rate = Estimate::interval(10.0, 9.0, 12.0);
        let wider = jams_widened(rate, &made_up.circuit, &[run], 0.95);
        let share = clopper_pearson(3, 300, 0.95);
        let arm = |end: Option<f64>| 2.0 * (end.expect("an end") / 0.01 - 1.0).abs();
        let low = 10.0 - libm::hypot(1.0, arm(share.low));
        let high = 10.0 + libm::hypot(2.0, arm(share.high));
        assert!((wider.low.expect("an end") - low).abs() < 1e-9, "{wider:?}");
        assert!(
            (wider.high.expect("an end") - high).abs() < 1e-9,
            "{wider:?}"
        );
    }
}
