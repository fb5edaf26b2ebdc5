//! What a maker would count at a simulated machine: the same things, over the same time or of as many.

use super::measure::{Exposure, Measurable, Measure};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Cause;
use crate::engine::watch::{TraceEvent, TraceRecord, Watcher};

/// The machine runs for so long before anything is counted, nanoseconds: till the marbles that were poured in have spread out.
pub const RUNNING_IN: Nanos = 300_000_000_000;
/// A minute, nanoseconds.
const MINUTE: Nanos = 60_000_000_000;
/// From the beginning of one reading to that of the next, at least, nanoseconds.
const BETWEEN_READINGS: Nanos = 20_000_000_000;

/// Everything of one run that can be counted, from the end of the running in on.
#[derive(Debug)]
pub struct Counter {
    elements: Vec<ElementCount>,
    wheels: Vec<WheelCount>,
    lap_line: usize,
    lap: TimedPassages,
    passed: Vec<Nanos>,
    readings: usize,
}

#[derive(Clone, Debug, Default)]
struct ElementCount {
    wedged: Vec<Nanos>,
    lost: Vec<Nanos>,
    waiting: u32,
    /// Each time that more waited than ever before, and how many.
    peaks: Vec<(Nanos, u32)>,
    timed: TimedPassages,
}

#[derive(Clone, Debug, Default)]
struct WheelCount {
    /// Of each pocket that met a waiting marble, whether it missed it.
    missed: Vec<bool>,
    taken: Vec<Nanos>,
    carried: Vec<Nanos>,
    pocket: Nanos,
}

/// Marbles timed one after another.
#[derive(Clone, Debug, Default)]
struct TimedPassages {
    watched: Option<(u32, Nanos)>,
    next: Nanos,
    times_s: Vec<f64>,
}

impl TimedPassages {
    fn begin(&mut self, marble: u32, now: Nanos, readings: usize) {
        if self.watched.is_none() && now >= self.next && self.times_s.len() < readings {
            self.watched = Some((marble, now));
            self.next = now + BETWEEN_READINGS;
        }
    }

    fn end(&mut self, marble: u32, now: Nanos) {
        if let Some((watched, since)) = self.watched
            && watched == marble
        {
            self.times_s.push(seconds(now - since));
            self.watched = None;
        }
    }

    fn give_up(&mut self, marble: u32) {
        if self.watched.is_some_and(|(watched, _)| watched == marble) {
            self.watched = None;
        }
    }
}

impl Counter {
    /// For one run of `circuit`; so many readings of each time at most.
    pub fn new(circuit: &Circuit, readings: usize) -> Self {
        let wheel = |plan: &crate::circuit::plan::Plan| WheelCount {
            pocket: plan.wheel().map_or(0, |wheel| {
                wheel.clock.turn() / u64::from(wheel.clock.pockets())
            }),
            ..WheelCount::default()
        };
        Counter {
            elements: vec![ElementCount::default(); circuit.nodes.len() + 1],
            wheels: circuit.nodes.iter().map(wheel).collect(),
            lap_line: circuit.lap_line,
            lap: TimedPassages::default(),
            passed: Vec::new(),
            readings,
        }
    }

    fn moved(&mut self, marble: u32, (from, to): (usize, usize), now: Nanos) {
        self.elements[from].timed.end(marble, now);
        let readings = self.readings;
        self.elements[to].timed.begin(marble, now, readings);
        if let Some(wheel) = self.wheels.get_mut(to).filter(|wheel| wheel.pocket > 0) {
            wheel.missed.push(false);
            wheel.taken.push(now);
        }
        if to == self.lap_line {
            self.passed.push(now);
            self.lap.end(marble, now);
            self.lap.begin(marble, now, readings);
        }
    }

    fn lost(&mut self, marble: u32, (from, at): (usize, usize), now: Nanos) {
        self.elements[at].lost.push(now);
        self.elements[from].timed.give_up(marble);
        self.elements[at].timed.give_up(marble);
        self.lap.give_up(marble);
    }

    /// What was counted; `None` where the run gave nothing to count or to time.
    pub fn value(&self, measure: &Measure) -> Option<f64> {
        match (measure.what, measure.exposure) {
            (Measurable::Misses(n), Exposure::Of(of)) => self.misses(n, of),
            (Measurable::Empty(n), Exposure::Of(of)) => Some(self.empty(n, of)),
            (Measurable::Carried(n), Exposure::During(time)) => {
                Some(within(&self.wheels[n].carried, time))
            }
            (Measurable::Jams(n), Exposure::During(time)) => {
                Some(self.over(n, |element| within(&element.wedged, time)))
            }
            (Measurable::Spills(n), Exposure::During(time)) => {
                Some(self.over(n, |element| within(&element.lost, time)))
            }
            (Measurable::Most(n), Exposure::During(time)) => Some(self.most(n, time)),
            (Measurable::Time(n), Exposure::Readings(n_times)) => {
                mean(&self.elements[n].timed.times_s, n_times as usize)
            }
            (Measurable::Lap, Exposure::Readings(n_times)) => {
                mean(&self.lap.times_s, n_times as usize)
            }
            (Measurable::PerMinute, Exposure::Readings(minutes)) => Some(self.per_minute(minutes)),
            _ => None,
        }
    }

    fn over(&self, n: Option<usize>, count: impl Fn(&ElementCount) -> f64) -> f64 {
        match n {
            Some(n) => count(&self.elements[n]),
            None => self.elements.iter().map(count).sum(),
        }
    }

    /// Of so many pockets; where fewer met a marble, as large a share.
    fn misses(&self, n: usize, of: u32) -> Option<f64> {
        let met = &self.wheels[n].missed;
        let met = &met[..met.len().min(of as usize)];
        let missed = met.iter().filter(|&&missed| missed).count() as f64;
        (!met.is_empty()).then(|| missed * f64::from(of) / met.len() as f64)
    }

    fn empty(&self, n: usize, of: u32) -> f64 {
        let wheel = &self.wheels[n];
        let time = wheel.pocket.saturating_mul(u64::from(of));
        let full = within(&wheel.taken, time) + within(&wheel.carried, time);
        (f64::from(of) - full).max(0.0)
    }

    fn most(&self, n: usize, time: Nanos) -> f64 {
        let element = &self.elements[n];
        let peaks = element.peaks.iter();
        let before = peaks.take_while(|(at, _)| *at <= RUNNING_IN + time);
        f64::from(before.last().map_or(element.waiting, |(_, most)| *most))
    }

    /// The mean of minutes with one minute between them.
    fn per_minute(&self, minutes: u32) -> f64 {
        let mut sum = 0.0;
        for k in 0..u64::from(minutes) {
            let from = RUNNING_IN + 2 * k * MINUTE;
            let in_it = |time: &&Nanos| (from..from + MINUTE).contains(*time);
            sum += self.passed.iter().filter(in_it).count() as f64;
        }
        sum / f64::from(minutes.max(1))
    }
}

/// How many of these happened in so long after the running in.
fn within(times: &[Nanos], time: Nanos) -> f64 {
    times.partition_point(|&at| at <= RUNNING_IN.saturating_add(time)) as f64
}

fn mean(times_s: &[f64], most: usize) -> Option<f64> {
    let times_s = &times_s[..times_s.len().min(most)];
    (!times_s.is_empty()).then(|| times_s.iter().sum::<f64>() / times_s.len() as f64)
}

impl Watcher for Counter {
    fn see(&mut self, seen: TraceRecord) {
        let now = seen.time;
        if now < RUNNING_IN {
            return;
        }
        match seen.what {
            TraceEvent::Moved { marble, from, to } => self.moved(marble, (from, to), now),
            TraceEvent::Spilled { marble, from, at } => self.lost(marble, (from, at), now),
            TraceEvent::Missed { wheel } => self.wheels[wheel].missed.push(true),
            TraceEvent::CarriedOver { wheel, .. } => self.wheels[wheel].carried.push(now),
            TraceEvent::Blocked { node, cause } => {
                self.elements[node].wedged.push(now);
                if cause == Cause::Pinch {
                    self.wheels[node].missed.push(false);
                }
            }
            _ => {}
        }
    }

    #[inline(always)]
    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32) {
        let element = &mut self.elements[node];
        if time < RUNNING_IN {
            element.waiting = waiting;
            return;
        }
        let most = element
            .peaks
            .last()
            .map_or(element.waiting, |(_, most)| *most);
        if waiting > most || element.peaks.is_empty() {
            element.peaks.push((time, waiting.max(most)));
        }
    }
}

/// How long a run must go on for all of these to be counted.
pub fn horizon(measures: &[Measure]) -> Nanos {
    let mut longest = 0;
    for measure in measures {
        longest = longest.max(match measure.exposure {
            Exposure::During(time) => time,
            Exposure::Readings(n) => u64::from(n) * 2 * MINUTE,
            Exposure::Of(_) => 10 * MINUTE,
        });
    }
    RUNNING_IN + longest
}

/// Readings of a time that are wanted at most.
pub fn most_readings(measures: &[Measure]) -> usize {
    let mut most = 0;
    for measure in measures {
        if let Exposure::Readings(n) = measure.exposure {
            most = most.max(n as usize);
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::draw::nanos;
    use crate::findings::made_up::MadeUp;

    const RAMP: usize = 0;
    const WHEEL: usize = 1;
    const SLIDE: usize = 2;

    /// What is counted of a ramp, a wheel with a pocket every 0.4 s and a slide where this happens, seconds after the running in;
    /// of each time two readings.
    fn counter(seen: &[(f64, TraceEvent)]) -> Counter {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let names = circuit.nodes.iter().map(|plan| plan.name.as_str());
        assert!(names.eq(["ramp", "wheel-0", "slide-0"]));
        assert_eq!(circuit.lap_line, WHEEL);
        let mut counter = Counter::new(&circuit, 2);
        for &(after_s, what) in seen {
            let time = nanos(300.0 + after_s);
            counter.see(TraceRecord {
                time,
                event: 0,
                what,
            });
        }
        counter
    }

    fn moved(marble: u32, from: usize) -> TraceEvent {
        let to = (from + 1) % 3;
        TraceEvent::Moved { marble, from, to }
    }

    fn during(counter: &Counter, what: Measurable, seconds: f64) -> Option<f64> {
        let exposure = Exposure::During(nanos(seconds));
        counter.value(&Measure { what, exposure })
    }

    fn readings(counter: &Counter, what: Measurable, times: u32) -> Option<f64> {
        let exposure = Exposure::Readings(times);
        counter.value(&Measure { what, exposure })
    }

    fn of_pockets(counter: &Counter, what: Measurable, of: u32) -> Option<f64> {
        let exposure = Exposure::Of(of);
        counter.value(&Measure { what, exposure })
    }

    #[test]
    fn one_marble_after_another_is_timed() {
        let through = counter(&[
            (0.0, moved(1, WHEEL)),
            (1.0, moved(2, WHEEL)),
            (2.0, moved(2, SLIDE)),
            (3.0, moved(1, SLIDE)),
            // Sooner than 20 s after the first, and then not.
            (19.0, moved(3, WHEEL)),
            (20.0, moved(4, WHEEL)),
            (24.0, moved(3, SLIDE)),
            (25.0, moved(4, SLIDE)),
            // A third, where two are enough.
            (60.0, moved(5, WHEEL)),
            (90.0, moved(5, SLIDE)),
        ]);
        let slide = Measurable::Time(SLIDE);
        assert_eq!(readings(&through, slide, 1), Some(3.0));
        assert_eq!(readings(&through, slide, 2), Some(4.0));
        assert_eq!(readings(&through, slide, 9), Some(4.0));
        assert_eq!(readings(&through, Measurable::Time(RAMP), 9), None);
    }

    #[test]
    fn whoever_is_lost_is_not_timed_on() {
        let spilled = TraceEvent::Spilled {
            marble: 1,
            from: WHEEL,
            at: SLIDE,
        };
        let timed = counter(&[
            (0.0, moved(1, RAMP)),
            (3.0, spilled),
            (30.0, moved(2, RAMP)),
            (32.0, moved(2, WHEEL)),
            (39.0, moved(2, RAMP)),
        ]);
        assert_eq!(readings(&timed, Measurable::Time(WHEEL), 9), Some(2.0));
        assert_eq!(readings(&timed, Measurable::Lap, 9), Some(9.0));
        assert_eq!(
            during(&timed, Measurable::Spills(Some(SLIDE)), 3.0),
            Some(1.0)
        );
        assert_eq!(
            during(&timed, Measurable::Spills(Some(SLIDE)), 2.0),
            Some(0.0)
        );
        assert_eq!(
            during(&timed, Measurable::Spills(Some(WHEEL)), 9.0),
            Some(0.0)
        );
        assert_eq!(during(&timed, Measurable::Spills(None), 9.0), Some(1.0));
    }

    /// A marble that is lost while another is timed leaves that one's reading alone.
    #[test]
    fn another_that_is_lost_stops_no_reading() {
        let spilled = TraceEvent::Spilled {
            marble: 2,
            from: RAMP,
            at: WHEEL,
        };
        let timed = counter(&[
            (0.0, moved(1, RAMP)),
            (1.0, spilled),
            (2.0, moved(1, WHEEL)),
        ]);
        assert_eq!(readings(&timed, Measurable::Time(WHEEL), 9), Some(2.0));
    }

    #[test]
    fn pockets_miss_take_and_stall() {
        let missed = TraceEvent::Missed { wheel: WHEEL };
        let wedged = |cause| TraceEvent::Blocked { node: WHEEL, cause };
        let carried = TraceEvent::CarriedOver {
            marble: 1,
            wheel: WHEEL,
        };
        let seen = counter(&[
            (0.4, moved(1, RAMP)),
            (0.8, missed),
            (1.2, wedged(Cause::Pinch)),
            (1.6, missed),
            (3.2, carried),
            (4.0, moved(2, RAMP)),
        ]);
        let misses = |of| of_pockets(&seen, Measurable::Misses(WHEEL), of);
        // Of five that met a marble, the first, the first two, all; and as large a share of ten.
        assert_eq!(misses(1), Some(0.0));
        assert_eq!(misses(2), Some(1.0));
        assert_eq!(misses(5), Some(2.0));
        assert_eq!(misses(10), Some(4.0));
        // Of ten pockets, which take 4 s to go by, two took a marble and one brought one back; of nine one less took.
        let empty = |of| of_pockets(&seen, Measurable::Empty(WHEEL), of);
        assert_eq!(empty(10), Some(7.0));
        assert_eq!(empty(9), Some(7.0));
        assert_eq!(empty(2), Some(1.0));
        assert_eq!(during(&seen, Measurable::Carried(WHEEL), 3.2), Some(1.0));
        assert_eq!(during(&seen, Measurable::Carried(WHEEL), 3.1), Some(0.0));
        assert_eq!(during(&seen, Measurable::Jams(Some(WHEEL)), 9.0), Some(1.0));
        assert_eq!(during(&seen, Measurable::Jams(Some(SLIDE)), 9.0), Some(0.0));
        assert_eq!(during(&seen, Measurable::Jams(None), 1.0), Some(0.0));
        assert_eq!(during(&seen, Measurable::Jams(None), 9.0), Some(1.0));
        let met_nobody = of_pockets(&counter(&[]), Measurable::Misses(WHEEL), 5);
        assert_eq!(met_nobody, None);
    }

    /// Marbles into the wheel, the line of laps, are counted in minutes 1, 3 and 5.
    #[test]
    fn minutes_are_counted_with_one_between_them() {
        let at_s = [
            -1.0, 0.0, 59.0, 60.0, 119.0, 120.0, 180.0, 240.0, 299.0, 300.0,
        ];
        let passed: Vec<_> = (1..)
            .zip(at_s)
            .map(|(n, at)| (at, moved(n, RAMP)))
            .collect();
        let seen = counter(&passed);
        let per_minute = |minutes| readings(&seen, Measurable::PerMinute, minutes);
        assert_eq!(per_minute(1), Some(2.0));
        assert_eq!(per_minute(2), Some(1.5));
        assert_eq!(per_minute(3), Some(5.0 / 3.0));
    }

    #[test]
    fn the_most_that_waited_is_of_the_time_that_was_watched() {
        let mut seen = counter(&[]);
        for (at_s, waiting) in [
            (100.0, 9),
            (200.0, 3),
            (310.0, 2),
            (320.0, 5),
            (330.0, 4),
            (340.0, 7),
        ] {
            seen.waiting(nanos(at_s), RAMP, waiting);
        }
        let most = |seconds| during(&seen, Measurable::Most(RAMP), seconds);
        // Three waited when it began.
        assert_eq!(most(5.0), Some(3.0));
        assert_eq!(most(19.0), Some(3.0));
        assert_eq!(most(20.0), Some(5.0));
        assert_eq!(most(39.0), Some(5.0));
        assert_eq!(most(40.0), Some(7.0));
        assert_eq!(during(&seen, Measurable::Most(SLIDE), 40.0), Some(0.0));
    }

    #[test]
    fn a_run_is_as_long_as_the_longest_measure() {
        let lasts = |exposures: &[Exposure]| {
            let one = |&exposure: &Exposure| Measure {
                what: Measurable::Lap,
                exposure,
            };
            let measures: Vec<Measure> = exposures.iter().map(one).collect();
            (horizon(&measures), most_readings(&measures))
        };
        assert_eq!(lasts(&[]), (nanos(300.0), 0));
        let hour = Exposure::During(nanos(3600.0));
        let readings = [Exposure::Readings(3), Exposure::Readings(2)];
        assert_eq!(lasts(&readings), (nanos(300.0 + 360.0), 3));
        assert_eq!(lasts(&[Exposure::Of(9), readings[0]]), (nanos(900.0), 3));
        assert_eq!(lasts(&[hour, Exposure::Of(9)]), (nanos(3900.0), 0));
    }
}
