//! Runs of one circuit made one after another, kept in memory that hardly grows with their number.

use super::figures::{ElementFigures, OfRuns, RunFigures, WheelFigures};
use super::totals::RunTotals;

/// Runs that are kept one by one. Of more, as many batches of equally many runs are, at least half of this number: so many
/// that their t interval is that of single runs, by the table of Student's t to 0.1 %.
const MOST: usize = 2_000;

/// Many runs of one circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Runs {
    /// The runs, or, of many, batches of them: from these, means get their intervals.
    pub batches: Vec<RunFigures>,
    /// What is counted.
    pub totals: RunTotals,
    runs_a_batch: u32,
}

impl Runs {
    /// None yet, of a circuit whose marbles are poured in at element `start`.
    pub fn new(start: usize) -> Self {
        Runs {
            batches: Vec::new(),
            totals: RunTotals::new(start),
            runs_a_batch: 1,
        }
    }

    /// One run more; runs come in the order of their numbers.
    pub fn push(&mut self, run: RunFigures) {
        self.totals.add(&run);
        match self
            .batches
            .last_mut()
            .filter(|last| last.runs < self.runs_a_batch)
        {
            Some(last) => last.absorb(&run),
            None => self.batches.push(run),
        }
        let whole = self
            .batches
            .last()
            .is_some_and(|last| last.runs == self.runs_a_batch);
        if self.batches.len() == MOST && whole {
            self.runs_a_batch *= 2;
            let singles = std::mem::take(&mut self.batches);
            self.batches.extend(singles.chunks(2).map(together));
        }
    }

    /// Number of runs.
    pub fn count(&self) -> usize {
        self.totals.runs as usize
    }
}

impl Extend<RunFigures> for Runs {
    fn extend<T: IntoIterator<Item = RunFigures>>(&mut self, runs: T) {
        runs.into_iter().for_each(|run| self.push(run));
    }
}

fn together(batches: &[RunFigures]) -> RunFigures {
    let mut all = batches[0].clone();
    for other in &batches[1..] {
        all.absorb(other);
    }
    all
}

impl RunFigures {
    /// Makes this the figures of a batch, with those of `other` in it: averages over time weighed by their time, others by
    /// their runs, counts and time in sum.
    fn absorb(&mut self, other: &RunFigures) {
        let (times, runs) = (
            (self.end_s, other.end_s),
            (f64::from(self.runs), f64::from(other.runs)),
        );
        merge(
            &mut self.throughput_per_min,
            other.throughput_per_min,
            times,
        );
        merge(
            &mut self.lap_s,
            other.lap_s,
            (self.laps as f64, other.laps as f64),
        );
        self.poured_in_s = self
            .poured_in_s
            .zip(other.poured_in_s)
            .map(|both| weighed(both, runs));
        for (element, more) in self.elements.iter_mut().zip(&other.elements) {
            element.absorb(more, times, runs);
        }
        for jam in &other.jams {
            match self
                .jams
                .iter_mut()
                .find(|known| (known.node, known.cause) == (jam.node, jam.cause))
            {
                Some(known) => known.count += jam.count,
                None => self.jams.push(*jam),
            }
        }
        self.waited_in_hand += other.waited_in_hand;
        self.left_in_hand += other.left_in_hand;
        self.laps += other.laps;
        self.moves += other.moves;
        self.end_s += other.end_s;
        self.runs += other.runs;
    }
}

impl ElementFigures {
    fn absorb(&mut self, other: &ElementFigures, times: (f64, f64), runs: (f64, f64)) {
        let (one, two) = (self.of_runs(), other.of_runs());
        self.of_runs = Some(OfRuns {
            backlog_p95: weighed((one.backlog_p95, two.backlog_p95), runs),
            fill: weighed((one.fill, two.fill), runs),
        });
        merge(&mut self.backlog_mean, other.backlog_mean, times);
        merge(&mut self.backlog_p95, other.backlog_p95, times);
        self.backlog_peak = weighed((self.backlog_peak, other.backlog_peak), runs);
        merge(&mut self.waiting_share, other.waiting_share, times);
        merge(&mut self.held_mean, other.held_mean, times);
        merge(&mut self.full_share, other.full_share, times);
        self.entries += other.entries;
        self.refused += other.refused;
        self.spills += other.spills;
        self.blockages += other.blockages;
        if let (Some(wheel), Some(more)) = (&mut self.wheel, &other.wheel) {
            wheel.absorb(more, times, runs);
        }
    }
}

impl WheelFigures {
    fn absorb(&mut self, other: &WheelFigures, times: (f64, f64), runs: (f64, f64)) {
        merge(&mut self.fill, other.fill, times);
        self.empty_streak_max = weighed((self.empty_streak_max, other.empty_streak_max), runs);
        self.missed += other.missed;
        self.pinched += other.pinched;
        self.carried_over += other.carried_over;
    }
}

/// The mean of a figure; one that does not exist says nothing.
fn merge(figure: &mut Option<f64>, other: Option<f64>, weights: (f64, f64)) {
    *figure = match (*figure, other) {
        (Some(one), Some(two)) if weights.0 + weights.1 > 0.0 => Some(weighed((one, two), weights)),
        (one, two) => one.or(two),
    };
}

fn weighed((one, two): (f64, f64), (first, second): (f64, f64)) -> f64 {
    (one * first + two * second) / (first + second)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::Cause;
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::{MadeUp, normal, random};
    use crate::findings::workable::{judge, judge_all};
    use crate::findings::{StudyScope, Summary, summarize};
    use crate::stats::Estimate;

    fn summary(made_up: &MadeUp, runs: &Runs) -> Summary {
        let question = StudyScope {
            title: String::new(),
            rpm: None,
            seed: 1,
            hours: 1.0,
        };
        summarize(&question, &made_up.circuit, runs)
    }

    /// Five times as many runs as are kept one by one, which last unlike long and whose figures vary; the last batch is not whole.
    fn many() -> (MadeUp, Vec<RunFigures>) {
        let made_up = MadeUp::new(
            1,
            "least-fill: 0.5, jams-per-8h: 1, spills: 9, backlog: { ramp: 9 }",
        );
        let mut random = random(1);
        let mut run = |n: u32| {
            let mut run = made_up.run(n, |_| 0.6 + 0.05 * normal(&mut random));
            run.end_s = 3600.0 * (1.0 + 0.2 * normal(&mut random)).clamp(0.2, 1.0);
            run.elements[0].backlog_mean = Some(3.0 + normal(&mut random));
            run.elements[0].backlog_p95 = Some((8.0 + normal(&mut random)).round());
            run.elements[0].spills = u64::from(normal(&mut random) > 1.0);
            run.laps = u64::from(n % 7);
            run.lap_s = (run.laps > 0).then(|| 20.0 + normal(&mut random));
            run
        };
        let runs = (0..5 * MOST as u32 + 3).map(&mut run).collect();
        (made_up, runs)
    }

    fn one_by_one(made_up: &MadeUp, runs: &[RunFigures]) -> Runs {
        Runs {
            batches: runs.to_vec(),
            totals: RunTotals::of(made_up.circuit.start, runs),
            runs_a_batch: 1,
        }
    }

    /// Means are the same but for rounding; an interval from a thousand means of ten runs is itself known to 1/sqrt(2 * 1000),
    /// 2.2 %, so that four times that is allowed.
    fn alike(batched: &Estimate, single: &Estimate, what: &str) {
        let (Some(one), Some(other)) = (batched.value, single.value) else {
            panic!("{what}")
        };
        assert!(
            (one - other).abs() <= 1e-9 * other.abs(),
            "{what}: {one} {other}"
        );
        let (half, as_single) = (
            batched.half_width().expect(what),
            single.half_width().expect(what),
        );
        assert!(
            (half / as_single - 1.0).abs() < 0.09 || half == as_single,
            "{what}: {half} {as_single}"
        );
    }

    #[test]
    fn batches_say_what_their_runs_say() {
        let (made_up, singles) = many();
        let mut runs = Runs::new(made_up.circuit.start);
        runs.extend(singles.iter().cloned());
        assert!(runs.batches.len() <= MOST && runs.count() == singles.len());
        let (batched, single) = (
            summary(&made_up, &runs),
            summary(&made_up, &one_by_one(&made_up, &singles)),
        );
        let (ramp, as_single) = (&batched.elements.0[0].1, &single.elements.0[0].1);
        alike(
            &batched.wheels.0[0].1.fill,
            &single.wheels.0[0].1.fill,
            "fill",
        );
        alike(&batched.lap_s, &single.lap_s, "lap");
        alike(&batched.spills, &single.spills, "spills");
        alike(&ramp.backlog_mean, &as_single.backlog_mean, "backlog");
        alike(&ramp.backlog_p95, &as_single.backlog_p95, "95 % below");
        assert_eq!(batched.outcomes, single.outcomes);
        assert_eq!(batched.time_to_jam_h, single.time_to_jam_h);
        let judged = judge_all(&made_up.circuit, &made_up.workable, &runs, 0.95).results;
        let as_single = judge(&made_up.circuit, &made_up.workable, &singles, 0.95).results;
        for (result, other) in judged.iter().zip(&as_single) {
            assert_eq!(
                (result.criterion, result.verdict),
                (other.criterion, other.verdict)
            );
            alike(
                &result.figure,
                &other.figure,
                &format!("{:?}", result.criterion),
            );
        }
    }

    #[test]
    fn few_runs_are_kept_as_they_are() {
        let (made_up, singles) = many();
        let few = &singles[..MOST - 1];
        let mut runs = Runs::new(made_up.circuit.start);
        runs.extend(few.iter().cloned());
        assert_eq!(runs, one_by_one(&made_up, few));
    }

    /// A run of an hour with one lap, and one of three hours with three.
    fn two() -> (MadeUp, [RunFigures; 2]) {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let of = |k: u32, hours: f64| {
            let share = hours / 10.0;
            let mut run = made_up.run(k, |_| share);
            (run.end_s, run.laps, run.lap_s) = (3600.0 * hours, u64::from(k), Some(20.0 * hours));
            run.throughput_per_min = Some(hours);
            run.poured_in_s = Some(hours);
            (run.waited_in_hand, run.left_in_hand, run.moves) = (k + 1, k + 2, u64::from(k + 3));
            let ramp = &mut run.elements[0];
            ramp.backlog_mean = Some(hours);
            ramp.backlog_p95 = Some(hours);
            ramp.backlog_peak = hours;
            (ramp.waiting_share, ramp.held_mean, ramp.full_share) =
                (Some(share), Some(hours), Some(share));
            (ramp.entries, ramp.refused) = (u64::from(k + 4), u64::from(k + 5));
            (ramp.spills, ramp.blockages) = (u64::from(k + 6), u64::from(k + 7));
            let wheel = run.elements[1].wheel.as_mut().expect("a wheel");
            wheel.empty_streak_max = hours;
            (wheel.missed, wheel.pinched, wheel.carried_over) =
                (u64::from(k + 8), u64::from(k + 9), u64::from(k + 10));
            run
        };
        let runs = [of(1, 1.0), of(3, 3.0)];
        (made_up, runs)
    }

    /// Of 1 and 3, that lasted 1 and 3 h, the mean over time is (1 * 1 + 3 * 3) / 4 = 2.5, over runs 2; counts are added.
    #[test]
    fn two_runs_make_a_batch() {
        let (_, [mut one, other]) = two();
        let jam = |node, cause, count| Jam {
            node,
            cause,
            first: 0,
            count,
        };
        one.jams = vec![jam(1, Cause::Pinch, 2), jam(0, Cause::Arch, 5)];
        let mut other = other;
        other.jams = vec![jam(0, Cause::Arch, 7), jam(0, Cause::Stall, 1)];
        one.absorb(&other);
        assert_eq!(
            one.jams,
            [
                jam(1, Cause::Pinch, 2),
                jam(0, Cause::Arch, 12),
                jam(0, Cause::Stall, 1)
            ]
        );
        assert_eq!((one.runs, one.end_s, one.laps), (2, 4.0 * 3600.0, 4));
        assert_eq!((one.throughput_per_min, one.lap_s), (Some(2.5), Some(50.0)));
        assert_eq!(one.poured_in_s, Some(2.0));
        assert_eq!(
            (one.waited_in_hand, one.left_in_hand, one.moves),
            (6, 8, 10)
        );
        let ramp = &one.elements[0];
        assert_eq!(
            (ramp.backlog_mean, ramp.backlog_p95, ramp.backlog_peak),
            (Some(2.5), Some(2.5), 2.0)
        );
        assert_eq!(
            (ramp.waiting_share, ramp.held_mean, ramp.full_share),
            (Some(0.25), Some(2.5), Some(0.25))
        );
        assert_eq!((ramp.entries, ramp.refused), (12, 14));
        assert_eq!((ramp.spills, ramp.blockages), (16, 18));
        assert_eq!(ramp.of_runs().backlog_p95, 2.0);
        let wheel = one.wheel(1);
        assert_eq!((wheel.fill, wheel.empty_streak_max), (Some(0.25), 2.0));
        assert_eq!(
            (wheel.missed, wheel.pinched, wheel.carried_over),
            (20, 22, 24)
        );
        assert_eq!(one.elements[1].of_runs().fill, 0.2);
    }

    #[test]
    fn what_does_not_exist_or_lasted_no_time_says_nothing() {
        let merged = |one, other, weights| {
            let mut figure = one;
            merge(&mut figure, other, weights);
            figure
        };
        assert_eq!(merged(Some(1.0), Some(3.0), (0.0, 0.0)), Some(1.0));
        assert_eq!(merged(Some(1.0), Some(3.0), (0.0, 1.0)), Some(3.0));
        assert_eq!(merged(None, Some(3.0), (1.0, 1.0)), Some(3.0));
        assert_eq!(merged(Some(1.0), None, (1.0, 1.0)), Some(1.0));
        assert_eq!(merged(None, None, (1.0, 1.0)), None);
    }
}
