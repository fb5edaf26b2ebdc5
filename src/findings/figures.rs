//! What one run means, in the figures a maker asks for.

use crate::circuit::draw::{Nanos, seconds};
use crate::engine::outcome::{Jam, Lock};
use crate::engine::statistics::ElementResult;
use crate::engine::{Outcome, RunResult};
use crate::stats::survival::Observation;

/// The figures of one run, or of a batch of them. A figure that does not exist in it is `None`.
///
/// Of a batch, averages over time are those of all its time, longest and deepest are means over its runs, counts and `end_s`
/// are sums.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFigures {
    /// The run's number; of a batch that of its first.
    pub run: u64,
    /// Runs in the batch; 1 for one run.
    pub runs: u32,
    /// How it ended.
    pub outcome: Outcome,
    /// When it ended, seconds.
    pub end_s: f64,
    /// Marbles a minute past the first wheel; laps a minute where there is no wheel.
    pub throughput_per_min: Option<f64>,
    /// Mean lap time, seconds; `None` where no marble came round.
    pub lap_s: Option<f64>,
    /// Whole laps.
    pub laps: u64,
    /// The elements, in the order of the file.
    pub elements: Vec<ElementFigures>,
    /// Jams that needed somebody.
    pub jams: Vec<Jam>,
    /// Marbles that had to wait in the hand while the others were poured in.
    pub waited_in_hand: u32,
    /// When the last marble left the hand, seconds; `None` where some never did.
    pub poured_in_s: Option<f64>,
    /// Parts that locked up for good while others went on.
    pub locks: Vec<Lock>,
    /// Marbles that never found room to be poured in.
    pub left_in_hand: u32,
    /// Entries into elements, all together.
    pub moves: u64,
}

/// The figures of one element in one run.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementFigures {
    /// Mean number of marbles waiting.
    pub backlog_mean: Option<f64>,
    /// Number waiting that is not exceeded 95 % of the time.
    pub backlog_p95: Option<f64>,
    /// Most waiting for any length of time.
    pub backlog_peak: f64,
    /// Share of the time with any marble waiting.
    pub waiting_share: Option<f64>,
    /// Mean number of marbles inside, travelling and waiting.
    pub held_mean: Option<f64>,
    /// Share of the time with every place taken.
    pub full_share: Option<f64>,
    /// Marbles that entered.
    pub entries: u64,
    /// Marbles that found no place and waited before it.
    pub refused: u64,
    /// When that first happened, seconds.
    pub first_refused_s: Option<f64>,
    /// Marbles lost over its side.
    pub spills: u64,
    /// When that first happened, seconds.
    pub first_spill_s: Option<f64>,
    /// Times marbles wedged or stuck.
    pub blockages: u64,
    /// What its pockets did, if it is a wheel.
    pub wheel: Option<WheelFigures>,
    /// Of a batch, means that take each run alike.
    pub of_runs: Option<OfRuns>,
}

/// Means over runs that take each alike, however long it lasted; 0 where the figure does not exist.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfRuns {
    /// Number waiting that is not exceeded 95 % of the time.
    pub backlog_p95: f64,
    /// Share of passing pockets that carry a marble.
    pub fill: f64,
}

/// The figures of one wheel in one run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WheelFigures {
    /// Share of passing pockets that carry a marble.
    pub fill: Option<f64>,
    /// Longest run of empty pockets.
    pub empty_streak_max: f64,
    /// Marbles missed.
    pub missed: u64,
    /// Marbles pinched.
    pub pinched: u64,
    /// Marbles carried over the top.
    pub carried_over: u64,
}

impl RunFigures {
    /// How full wheel `n` was; `None` where it is no wheel or no pocket of it went by.
    pub fn fill(&self, n: usize) -> Option<f64> {
        self.elements[n].fill()
    }

    /// What the pockets of wheel `n` did; nothing where it is no wheel.
    pub fn wheel(&self, n: usize) -> WheelFigures {
        self.elements[n].wheel.unwrap_or_default()
    }

    /// The figures of run number `run`.
    pub fn new(run: u64, result: &RunResult) -> Self {
        let minutes = seconds(result.end) / 60.0;
        let all_poured_in = result.left_in_hand == 0;
        RunFigures {
            run,
            runs: 1,
            outcome: result.outcome,
            end_s: seconds(result.end),
            throughput_per_min: ratio(result.laps.passed as f64, minutes),
            lap_s: ratio(result.laps.sum as f64 * 1e-9, result.laps.count as f64),
            laps: result.laps.count,
            elements: result
                .elements
                .iter()
                .map(|element| ElementFigures::new(element, result.end))
                .collect(),
            jams: result.jams.clone(),
            waited_in_hand: result.poured.waited,
            poured_in_s: all_poured_in.then_some(seconds(result.poured.until)),
            locks: result.locks.clone(),
            left_in_hand: result.left_in_hand,
            moves: result.moves,
        }
    }

    /// When the first jam happened that needed somebody, seconds.
    pub fn first_jam_s(&self) -> Option<f64> {
        self.jams.iter().map(|jam| jam.first).min().map(seconds)
    }

    /// Time to the first jam in hours, censored at the end where there was none.
    pub fn time_to_jam_h(&self) -> Observation {
        let first_jam_s = self.first_jam_s();
        Observation {
            time: first_jam_s.unwrap_or(self.end_s) / 3600.0,
            event: first_jam_s.is_some(),
        }
    }

    /// Number of jams that needed somebody.
    pub fn jam_count(&self) -> u64 {
        self.jams.iter().map(|jam| jam.count).sum()
    }

    /// Whether the machine or a part of it locked up for good.
    pub fn locks_up(&self) -> bool {
        self.outcome == Outcome::Gridlocked || !self.locks.is_empty()
    }

    /// Whether something went wrong that a maker has to fix: it ended early or jammed, lost marbles, or had no room at
    /// its `start` for those that came home.
    pub fn went_wrong(&self, start: usize) -> bool {
        let held = self
            .elements
            .get(start)
            .is_some_and(|element| element.refused > 0);
        self.outcome != Outcome::Ran
            || !self.jams.is_empty()
            || !self.locks.is_empty()
            || self.spills() > 0
            || held
    }

    /// Marbles lost.
    pub fn spills(&self) -> u64 {
        self.elements.iter().map(|element| element.spills).sum()
    }
}

impl ElementFigures {
    /// Share of passing pockets that carry a marble, of a wheel.
    pub fn fill(&self) -> Option<f64> {
        self.wheel?.fill
    }

    /// Means over runs that take each alike.
    pub fn of_runs(&self) -> OfRuns {
        self.of_runs.unwrap_or(OfRuns {
            backlog_p95: self.backlog_p95.unwrap_or(0.0),
            fill: self.fill().unwrap_or(0.0),
        })
    }

    fn new(result: &ElementResult, end: Nanos) -> Self {
        let time = end as f64;
        let idle = result.waited.first().copied().unwrap_or(0);
        ElementFigures {
            backlog_mean: ratio(result.waited_time() as f64, time),
            backlog_p95: result.backlog_quantile(0.95).map(f64::from),
            backlog_peak: f64::from(result.backlog_peak()),
            waiting_share: ratio((end - idle) as f64, time),
            held_mean: ratio(result.held_time as f64, time),
            full_share: ratio(result.full_time as f64, time),
            entries: result.entries,
            refused: result.refused,
            first_refused_s: result.first_refused.map(seconds),
            spills: result.spills,
            first_spill_s: result.first_spill.map(seconds),
            blockages: result.blockages,
            wheel: result.pockets.map(|pockets| WheelFigures {
                fill: ratio(pockets.carrying as f64, pockets.passed as f64),
                empty_streak_max: pockets.longest_empty as f64,
                missed: pockets.missed,
                pinched: pockets.pinched,
                carried_over: pockets.carried_over,
            }),
            of_runs: None,
        }
    }
}

fn ratio(top: f64, bottom: f64) -> Option<f64> {
    if bottom > 0.0 {
        Some(top / bottom)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::Cause;
    use crate::findings::made_up::MadeUp;

    /// Each by itself is wrong; all else of a run is not.
    #[test]
    fn one_thing_that_went_wrong_is_enough() {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let wrong = |change: fn(&mut RunFigures)| {
            let mut run = made_up.run(0, |_| 0.1);
            change(&mut run);
            run.went_wrong(0)
        };
        let jam = |run: &mut RunFigures| {
            run.jams.push(Jam {
                node: 1,
                cause: Cause::Pinch,
                first: 0,
                count: 1,
            })
        };
        let lock = |run: &mut RunFigures| {
            run.locks.push(Lock {
                node: 1,
                time: 0,
                marbles: 2,
            })
        };
        let each: [fn(&mut RunFigures); 7] = [
            |run| run.outcome = Outcome::RanDry,
            jam,
            lock,
            |run| run.elements[1].spills = 1,
            |run| run.elements[0].refused = 1,
            |run| run.elements[1].refused = 1,
            |run| run.waited_in_hand = 3,
        ];
        assert_eq!(
            each.map(wrong),
            [true, true, true, true, true, false, false]
        );
    }
}
