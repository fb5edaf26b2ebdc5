//! What can be counted or timed at a machine, and over how long or of how many.

use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::{Plan, Role};
use crate::findings::words::{count, duration};

/// Something that a maker can count or time. Elements are given by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measurable {
    /// Of the pockets that came to a waiting marble, those that missed it.
    Misses(usize),
    /// Of the pockets that went by, those that took no marble along.
    Empty(usize),
    /// Marbles that came round in their pocket again.
    Carried(usize),
    /// Times that marbles wedged, at one element or anywhere.
    Jams(Option<usize>),
    /// Marbles found on the table, of one element or of all.
    Spills(Option<usize>),
    /// The most that waited at once.
    Most(usize),
    /// Time from coming in to going out.
    Time(usize),
    /// Time once round.
    Lap,
    /// Marbles past the first wheel in a minute; laps where there is none.
    PerMinute,
}

/// Over how long or of how many something is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exposure {
    /// Of so many pockets.
    Of(u32),
    /// In so long.
    During(Nanos),
    /// So many readings, the mean of which is taken.
    Readings(u32),
}

/// What is counted, and how much of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measure {
    /// What.
    pub what: Measurable,
    /// How much of it.
    pub exposure: Exposure,
}

/// A measure as a maker took it.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenCount {
    /// What was counted.
    pub measure: Measure,
    /// What came of it: a count, or the mean of readings, seconds or marbles.
    pub value: f64,
}

/// The words by which a measure is typed, of an element or alone.
pub const OF_ELEMENTS: [&str; 7] = [
    "misses", "empty", "carried", "jams", "spills", "most", "time",
];
/// The same of the machine.
pub const OF_THE_WHOLE: [&str; 4] = ["jams", "spills", "lap", "per-minute"];

impl Measurable {
    /// The measure of element `n` by its word.
    pub fn of_element(word: &str, n: usize) -> Option<Self> {
        Some(match word {
            "misses" => Measurable::Misses(n),
            "empty" => Measurable::Empty(n),
            "carried" => Measurable::Carried(n),
            "jams" => Measurable::Jams(Some(n)),
            "spills" => Measurable::Spills(Some(n)),
            "most" => Measurable::Most(n),
            "time" => Measurable::Time(n),
            _ => return None,
        })
    }

    /// The measure of the whole machine by its word.
    pub fn of_the_whole(word: &str) -> Option<Self> {
        Some(match word {
            "jams" => Measurable::Jams(None),
            "spills" => Measurable::Spills(None),
            "lap" => Measurable::Lap,
            "per-minute" => Measurable::PerMinute,
            _ => return None,
        })
    }

    /// Whether this can happen at the element it is about, by what kind of node that is.
    pub fn exists(self, circuit: &Circuit) -> bool {
        let plan = |n: usize| &circuit.nodes[n];
        match self {
            Measurable::Misses(n) | Measurable::Empty(n) | Measurable::Carried(n) => {
                plan(n).wheel().is_some()
            }
            Measurable::Jams(Some(n)) => can_wedge(plan(n)),
            Measurable::Most(n) => can_queue(plan(n)),
            Measurable::Time(n) => plan(n).wheel().is_none(),
            _ => true,
        }
    }

    /// How it is typed: `floor.jams`, `lap`.
    pub fn typed(self, circuit: &Circuit) -> String {
        let name = |n: usize, word: &str| format!("{}.{word}", circuit.nodes[n].name);
        match self {
            Measurable::Misses(n) => name(n, "misses"),
            Measurable::Empty(n) => name(n, "empty"),
            Measurable::Carried(n) => name(n, "carried"),
            Measurable::Jams(Some(n)) => name(n, "jams"),
            Measurable::Spills(Some(n)) => name(n, "spills"),
            Measurable::Most(n) => name(n, "most"),
            Measurable::Time(n) => name(n, "time"),
            Measurable::Jams(None) => "jams".to_owned(),
            Measurable::Spills(None) => "spills".to_owned(),
            Measurable::Lap => "lap".to_owned(),
            Measurable::PerMinute => "per-minute".to_owned(),
        }
    }
}

fn can_wedge(plan: &Plan) -> bool {
    plan.wheel().is_some()
        || plan.blockage.is_some()
        || plan.collects
        || plan.stalls
        || is_split(plan)
}

fn is_split(plan: &Plan) -> bool {
    matches!(plan.role, Role::RandomGate(_) | Role::RoundRobin(_))
}

fn can_queue(plan: &Plan) -> bool {
    plan.wheel().is_none() && !matches!(plan.role, Role::FirstWithRoom | Role::RandomWay(_))
}

impl Measure {
    /// What is to be done, as after `next,`: "count the misses at `wheel` in 100 pockets".
    pub fn says(&self, circuit: &Circuit) -> String {
        let name = |n: usize| format!("`{}`", circuit.nodes[n].name);
        let within = match self.exposure {
            Exposure::During(time) => format!(" in {}", duration(seconds(time))),
            Exposure::Of(of) => format!(" in {}", count(u64::from(of), "pocket")),
            Exposure::Readings(times) => format!(", {}", count(u64::from(times), "reading")),
        };
        match self.what {
            Measurable::Misses(n) => format!(
                "count how often {} misses a waiting marble{within}",
                name(n)
            ),
            Measurable::Empty(n) => format!("count the empty pockets of {}{within}", name(n)),
            Measurable::Carried(n) => format!(
                "count the marbles that {} carries over the top{within}",
                name(n)
            ),
            Measurable::Jams(Some(n)) => format!("count the jams at {}{within}", name(n)),
            Measurable::Jams(None) => format!("count all jams{within}"),
            Measurable::Spills(Some(n)) => {
                format!("count the marbles that {} loses{within}", name(n))
            }
            Measurable::Spills(None) => format!("count the marbles on the table{within}"),
            Measurable::Most(n) => {
                format!("note the most that wait in {} at once{within}", name(n))
            }
            Measurable::Time(n) => format!("time marbles through {}{within}", name(n)),
            Measurable::Lap => format!("time marbles once round{within}"),
            Measurable::PerMinute => {
                format!("count the marbles a minute{within} of one minute each")
            }
        }
    }

    /// What was seen of it, as in `12 misses at `wheel` in 100 pockets`.
    pub fn result(&self, circuit: &Circuit, value: f64) -> String {
        let name = |n: usize| format!("`{}`", circuit.nodes[n].name);
        let number = crate::findings::words::figure(value);
        let within = match self.exposure {
            Exposure::During(time) => format!(" in {}", duration(seconds(time))),
            Exposure::Of(of) => format!(" in {of} pockets"),
            Exposure::Readings(_) => String::new(),
        };
        match self.what {
            Measurable::Misses(n) => format!("{number} misses at {}{within}", name(n)),
            Measurable::Empty(n) => format!("{number} empty pockets at {}{within}", name(n)),
            Measurable::Carried(n) => {
                format!("{number} marbles carried over by {}{within}", name(n))
            }
            Measurable::Jams(Some(n)) => format!("{number} jams at {}{within}", name(n)),
            Measurable::Jams(None) => format!("{number} jams{within}"),
            Measurable::Spills(Some(n)) => format!("{number} marbles lost by {}{within}", name(n)),
            Measurable::Spills(None) => format!("{number} marbles on the table{within}"),
            Measurable::Most(n) => format!("{number} waiting in {} at once{within}", name(n)),
            Measurable::Time(n) => format!("{} through {}", duration(value), name(n)),
            Measurable::Lap => format!("a lap of {}", duration(value)),
            Measurable::PerMinute => format!("{number} marbles a minute"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::{Blockage, Cause};
    use crate::circuit::round_robin::RoundRobinState;
    use crate::findings::made_up::MadeUp;

    #[test]
    fn measures_of_the_whole_are_typed_as_they_are_read() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        for word in ["jams", "spills", "lap", "per-minute"] {
            let measure = Measurable::of_the_whole(word).expect(word);
            assert_eq!(measure.typed(&circuit), word);
        }
        assert_eq!(Measurable::of_the_whole("time"), None);
    }

    /// Each of these alone lets marbles wedge at an element: here the slide.
    #[test]
    fn jams_exist_where_anything_can_wedge() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let exists = |change: &dyn Fn(&mut Plan)| {
            let mut circuit = circuit.clone();
            change(&mut circuit.nodes[2]);
            Measurable::Jams(Some(2)).exists(&circuit)
        };
        assert!(Measurable::Jams(Some(1)).exists(&circuit));
        assert!(!exists(&|_| {}));
        assert!(exists(&|plan| plan.collects = true));
        assert!(exists(&|plan| plan.stalls = true));
        assert!(exists(
            &|plan| plan.role = Role::RoundRobin(RoundRobinState::new(0, 2))
        ));
        assert!(exists(&|plan| {
            plan.blockage = Some(Blockage {
                chance: Vec::new(),
                by_crowd: false,
                clears: None,
                cause: Cause::Arch,
                counterfactual: None,
            });
        }));
    }
}
