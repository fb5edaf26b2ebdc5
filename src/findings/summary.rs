//! What many runs mean together: every figure with its interval.

use serde::ser::{Serialize, SerializeMap, Serializer};

use super::figures::RunFigures;
use super::limit::Causes;
use super::looked::{Counted, jams_widened, widened};
use super::over_runs::OverRuns;
use super::runs::Runs;
use super::totals::RunTotals;
use crate::circuit::Circuit;
use crate::engine::Outcome;
use crate::stats::Estimate;
use crate::stats::survival::kaplan_meier;

/// Confidence level of every interval.
pub const LEVEL: f64 = 0.95;

/// The results of a study of one machine at one load and speed; its JSON is what `--json` prints.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Summary {
    /// Version of this layout.
    pub format: u32,
    /// The machine's title.
    pub title: String,
    /// The load.
    pub marbles: u32,
    /// Speed of the drive, turns a minute; null where the machine has none.
    pub rpm: Option<f64>,
    /// The seed.
    pub seed: u64,
    /// Number of runs.
    pub runs: usize,
    /// Hours of machine time in each.
    pub hours: f64,
    /// Shares of runs by how they ended.
    pub outcomes: Outcomes,
    /// Share of runs in which a part of the machine locked up for good while the rest went on.
    pub locked_in_part: Estimate,
    /// Marbles a minute past the first wheel, laps a minute where there is no wheel, over the time of all runs together; so
    /// are all averages over time.
    pub throughput_per_min: Estimate,
    /// Mean lap time, seconds, over the laps of all runs.
    pub lap_s: Estimate,
    /// Number of runs in which none did.
    pub runs_without_a_lap: usize,
    /// The wheels by name.
    pub wheels: ByName<WheelSummary>,
    /// The elements by name.
    pub elements: ByName<ElementSummary>,
    /// Median time to the first jam, hours, counting runs without a jam as censored.
    pub time_to_jam_h: Estimate,
    /// Jams in eight hours of running.
    pub jams_per_8h: Estimate,
    /// Marbles lost in `hours` of running; so are all counts: runs that ended early weigh by their time.
    pub spills: Estimate,
    /// Marbles that never found room to be poured in.
    pub left_in_hand: Estimate,
    /// Marbles that had to wait in the hand while the others were poured in.
    pub waited_in_hand: Estimate,
    /// When the last marble left the hand, seconds; null where some never did.
    pub poured_in_s: Estimate,
    /// What comes to lie at the start when the motor stops; null where nobody asked or nothing came to rest.
    pub motor_stop: Option<MotorStop>,
    /// What was tried to find what limits the flow and starves wheels; null where nobody asked.
    pub causes: Option<Causes>,
    /// What ended a study before its last run: `verdict` or `time`; of one that was to reach a precision, `precision` or
    /// `budget`. Left out of others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stopped_by: Option<&'static str>,
}

/// Marbles where they are poured in, when the motor stops at the end of a run and once all have come to rest.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct MotorStop {
    /// Runs in which all came to rest.
    pub runs: usize,
    /// On the start when the motor stops.
    pub on_start: Estimate,
    /// On it at rest.
    pub at_rest: Estimate,
    /// On it at rest, the most of all runs.
    pub at_rest_max: u32,
    /// That come to rest before it because it is full.
    pub waiting_above: Estimate,
    /// Lost over its side.
    pub lost: Estimate,
}

/// Shares of runs by how they ended, with exact intervals (Clopper-Pearson), which cover more often than they say.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Outcomes {
    /// Ran to the end.
    pub ran: Estimate,
    /// Stopped by a jam that nobody cleared.
    pub jammed: Estimate,
    /// Full elements waited for each other.
    pub gridlocked: Estimate,
    /// No marble was on its way any more.
    pub ran_dry: Estimate,
}

/// One wheel over many runs.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct WheelSummary {
    /// Share of passing pockets that carry a marble.
    pub fill: Estimate,
    /// Longest run of empty pockets in a run, mean over runs.
    pub empty_streak_max: Estimate,
    /// Marbles missed in the study's hours of running.
    pub missed: Estimate,
    /// Marbles pinched in as many.
    pub pinched: Estimate,
    /// Marbles carried over the top in as many.
    pub carried_over: Estimate,
}

/// One element over many runs.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct ElementSummary {
    /// Mean number of marbles waiting.
    pub backlog_mean: Estimate,
    /// Number waiting that is not exceeded 95 % of the time in a run, mean over runs weighed by their time.
    pub backlog_p95: Estimate,
    /// Most waiting in a run, mean over runs.
    pub backlog_peak: Estimate,
    /// Share of the time with every place taken.
    pub full_share: Estimate,
    /// Marbles that entered in the study's hours of running.
    pub entries: Estimate,
    /// Marbles lost over its side in as many.
    pub spills: Estimate,
    /// Times marbles wedged or stuck in as many.
    pub arches: Estimate,
    /// Room; null for as many as come.
    pub places: Option<u32>,
    /// Mean number inside, travelling and waiting.
    pub held_mean: Estimate,
    /// Share of the time with any marble waiting.
    pub waiting_share: Estimate,
    /// Marbles that found no place and waited before it, in as many.
    pub refused: Estimate,
}

/// Things by the names of their elements, in the order of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct ByName<T>(pub Vec<(String, T)>);

impl<T> ByName<T> {
    /// The thing called `name`.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.0
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, thing)| thing)
    }
}

impl<T: Serialize> Serialize for ByName<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, thing) in &self.0 {
            map.serialize_entry(name, thing)?;
        }
        map.end()
    }
}

/// What the study was about, for its summary.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyScope {
    /// The machine's title.
    pub title: String,
    /// Speed of the drive.
    pub rpm: Option<f64>,
    /// The seed.
    pub seed: u64,
    /// Hours of machine time in each run.
    pub hours: f64,
}

/// Sums up `runs` of `circuit`.
pub fn summarize(question: &StudyScope, circuit: &Circuit, runs: &Runs) -> Summary {
    let (over_runs, totals) = (OverRuns::new(circuit, &runs.batches), &runs.totals);
    let flow = over_runs.throughput_per_min();
    Summary {
        format: 1,
        title: question.title.clone(),
        marbles: circuit.marbles,
        rpm: question.rpm,
        seed: question.seed,
        runs: runs.count(),
        hours: question.hours,
        outcomes: outcomes(totals),
        locked_in_part: totals.share(totals.locked_in_part.runs),
        throughput_per_min: match circuit.nodes.get(circuit.lap_line) {
            Some(plan) if plan.wheel().is_some() => widened(flow, plan, Counted::Taken, LEVEL),
            _ => flow,
        },
        lap_s: over_runs.lap_s(),
        runs_without_a_lap: totals.without_a_lap as usize,
        wheels: ByName(wheels(circuit, &over_runs, question.hours)),
        elements: ByName(elements(circuit, &over_runs, question.hours)),
        time_to_jam_h: time_to_jam_h(totals),
        jams_per_8h: jams_widened(over_runs.jams(8.0), circuit, &runs.batches, LEVEL),
        spills: over_runs.mishaps(question.hours, RunFigures::spills),
        left_in_hand: over_runs.extreme(|batch| per_run(batch, batch.left_in_hand)),
        waited_in_hand: over_runs.extreme(|batch| per_run(batch, batch.waited_in_hand)),
        poured_in_s: over_runs.mean(|run| run.poured_in_s),
        motor_stop: None,
        causes: None,
        stopped_by: None,
    }
}

fn per_run(batch: &RunFigures, marbles: u32) -> f64 {
    f64::from(marbles) / f64::from(batch.runs)
}

fn outcomes(totals: &RunTotals) -> Outcomes {
    Outcomes {
        ran: totals.share(totals.ended(Outcome::Ran)),
        jammed: totals.share(totals.ended(Outcome::Jammed)),
        gridlocked: totals.share(totals.ended(Outcome::Gridlocked)),
        ran_dry: totals.share(totals.ended(Outcome::RanDry)),
    }
}

fn wheels(circuit: &Circuit, runs: &OverRuns, hours: f64) -> Vec<(String, WheelSummary)> {
    let mut all = Vec::new();
    for n in circuit.wheels() {
        let plan = &circuit.nodes[n];
        let fill = runs.share(|run| run.fill(n));
        let missed = runs.mishaps(hours, |run| run.wheel(n).missed);
        let pinched = runs.mishaps(hours, |run| run.wheel(n).pinched);
        let wheel = WheelSummary {
            fill: widened(fill, plan, Counted::Taken, LEVEL).within(0.0, 1.0),
            empty_streak_max: runs.extreme(|run| run.wheel(n).empty_streak_max),
            missed: widened(missed, plan, Counted::Missed, LEVEL),
            pinched: widened(pinched, plan, Counted::Stalled, LEVEL),
            carried_over: runs.mishaps(hours, |run| run.wheel(n).carried_over),
        };
        all.push((plan.name.clone(), wheel));
    }
    all
}

/// What cannot happen at all is known not to.
fn if_ever(ever: bool, estimate: Estimate) -> Estimate {
    if ever {
        estimate
    } else {
        Estimate::interval(0.0, 0.0, 0.0)
    }
}

fn elements(circuit: &Circuit, runs: &OverRuns, hours: f64) -> Vec<(String, ElementSummary)> {
    let mut all = Vec::new();
    for (n, plan) in circuit.nodes.iter().enumerate() {
        let room = f64::from(plan.room.min(circuit.marbles));
        // Marbles wait before a wheel, never in it.
        let queues = plan.wheel().is_none();
        let wedges = plan.blockage.is_some() || plan.stalls;
        let element = ElementSummary {
            backlog_mean: if_ever(
                queues,
                runs.average(|run| run.elements[n].backlog_mean, room),
            ),
            backlog_p95: if_ever(
                queues,
                runs.level_over_time(|run| run.elements[n].backlog_p95),
            ),
            backlog_peak: if_ever(queues, runs.extreme(|run| run.elements[n].backlog_peak)),
            full_share: if_ever(
                plan.places().is_some(),
                runs.share(|run| run.elements[n].full_share),
            ),
            entries: runs.flow(hours, |run| run.elements[n].entries),
            spills: if_ever(
                plan.spills,
                runs.mishaps(hours, |run| run.elements[n].spills),
            ),
            arches: if_ever(wedges, runs.mishaps(hours, |run| run.elements[n].blockages)),
            places: plan.places(),
            held_mean: runs.average(|run| run.elements[n].held_mean, room),
            waiting_share: if_ever(queues, runs.share(|run| run.elements[n].waiting_share)),
            refused: runs.mishaps(hours, |run| run.elements[n].refused),
        };
        all.push((plan.name.clone(), element));
    }
    all
}

fn time_to_jam_h(totals: &RunTotals) -> Estimate {
    match kaplan_meier(&totals.first_jams()) {
        Some(curve) => curve.median(LEVEL),
        None => Estimate::unknown(),
    }
}
