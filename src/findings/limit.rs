//! What limits the flow and what starves a wheel, as found by trying: the same runs with one thing relieved.
//!
//! Here is what was tried and how it is read; `study::bottleneck` does the runs. A cause is named only where the 95 % interval
//! of the paired difference lies above zero and the difference is one that a maker would notice.

use super::summary::ByName;
use crate::stats::Estimate;

/// A rise of less than this share is none that a maker would notice. Common practice, no source.
pub const NOTICED: f64 = 0.005;
/// The same of a wheel at another speed: two looks at one place differ by as much.
const NOTICED_AT_ANOTHER_SPEED: f64 = 0.02;
/// Misses explain a starved wheel where without them it would get back this share of what it lacks, at least. Common
/// practice, no source.
const EXPLAINS: f64 = 0.5;

/// What is relieved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Relief {
    /// More marbles: `from` and `to` are loads.
    Marbles,
    /// One wheel turns otherwise, by its gears or its motor: `from` and `to` are its turns a minute.
    WheelSpeed,
    /// The drive, or the own motor of the element named, turns slower: `from` and `to` are its turns a minute.
    DriveSpeed,
    /// The wheel, or every wheel, takes marbles that it would have missed: `from` and `to` are chances of a miss a pocket,
    /// the highest of all wheels.
    NoMisses,
    /// All that the element does takes less time: `from` and `to` are shares of that time.
    Quicker,
}

/// A wheel's fill with something relieved.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Fill {
    /// What it is then, 0 to 1.
    pub there: Estimate,
    /// By how much more than as it stands, in the same runs.
    pub more: Estimate,
}

/// One thing relieved, and what came of it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Trial {
    /// What is relieved.
    pub relief: Relief,
    /// The element it belongs to; null for the load, the drive and all wheels together.
    pub element: Option<String>,
    /// As it stands.
    pub from: f64,
    /// As it was tried.
    pub to: f64,
    /// By how many marbles a minute more, in the same runs.
    pub throughput_per_min: Estimate,
    /// The wheels by name.
    pub fill: ByName<Fill>,
}

/// All that was tried, by few short runs with the random numbers of the study.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Causes {
    /// Runs of each.
    pub runs: u32,
    /// Hours of machine time in each.
    pub hours: f64,
    /// Marbles a minute as it stands, in these runs; null where a run has none.
    pub throughput_per_min: Option<f64>,
    /// What was tried.
    pub tried: Vec<Trial>,
}

/// Whether `by` is surely above zero and at least such a share of `from`.
fn rises(by: &Estimate, from: f64, share: f64) -> bool {
    by.low > Some(0.0) && by.value >= Some(share * from)
}

impl Trial {
    /// The share by which it was relieved, above 0.
    fn dose(&self) -> f64 {
        (self.to / self.from - 1.0).abs()
    }

    /// Share of the flow from which a gain is one.
    fn noticed(&self) -> f64 {
        if self.relief == Relief::WheelSpeed {
            NOTICED_AT_ANOTHER_SPEED
        } else {
            NOTICED
        }
    }

    /// Marbles a minute gained for each share of relief.
    fn gain(&self) -> f64 {
        self.throughput_per_min.value.unwrap_or(0.0) / self.dose()
    }

    /// Whether it takes misses away that explain what `wheel`, whose fill is `fill`, lacks to `enough`.
    fn explains_by_misses(&self, wheel: &str, fill: f64, enough: f64) -> bool {
        let Some(Fill { more, .. }) = self.fill.get(wheel) else {
            return false;
        };
        self.relief == Relief::NoMisses
            && rises(more, fill, NOTICED)
            && more.value >= Some(EXPLAINS * (enough - fill))
    }
}

impl Causes {
    /// What limits the flow: of all that, relieved alone, surely raises it, the one that raises it most for the same share
    /// of relief; `None` where nothing does.
    pub fn limit(&self) -> Option<&Trial> {
        let from = self.throughput_per_min?;
        let helps = self.tried.iter().filter(|trial| match trial.relief {
            Relief::Marbles | Relief::WheelSpeed | Relief::Quicker => {
                rises(&trial.throughput_per_min, from, trial.noticed())
            }
            Relief::DriveSpeed | Relief::NoMisses => false,
        });
        helps.max_by(|a, b| a.gain().total_cmp(&b.gain()))
    }

    /// The trial without misses that explain what `wheel`, whose fill is `fill`, lacks to `enough`: its own, else another
    /// wheel's, else those of all wheels together.
    pub fn misses(&self, wheel: &str, fill: f64, enough: f64) -> Option<&Trial> {
        let tried = self.tried.iter();
        let mut explain: Vec<&Trial> = tried
            .filter(|trial| trial.explains_by_misses(wheel, fill, enough))
            .collect();
        explain.sort_by_key(|trial| match &trial.element {
            Some(own) if own == wheel => 0,
            Some(_) => 1,
            None => 2,
        });
        explain.first().copied()
    }

    /// The fastest speed tried of the motor that turns wheel `turned` at which, and at every slower one tried, `wheel` surely
    /// carries `enough`.
    pub fn fills_at(&self, wheel: &str, turned: &str, enough: f64) -> Option<&Trial> {
        let mut speeds = self.motor_speeds(Some(turned));
        if speeds.is_empty() {
            speeds = self.motor_speeds(None);
        }
        speeds.sort_by(|a, b| a.to.total_cmp(&b.to));
        let mut fastest = None;
        for trial in speeds {
            match trial.fill.get(wheel) {
                Some(fill) if fill.there.low >= Some(enough) => fastest = Some(trial),
                _ => break,
            }
        }
        fastest
    }

    /// The trials at other speeds of the own motor of an element, or of the drive.
    fn motor_speeds(&self, of: Option<&str>) -> Vec<&Trial> {
        let tried = self.tried.iter();
        tried
            .filter(|trial| trial.relief == Relief::DriveSpeed && trial.element.as_deref() == of)
            .collect()
    }

    /// The least load tried with which `wheel`, whose fill is `fill`, surely carries more.
    pub fn want_of_marbles(&self, wheel: &str, fill: f64) -> Option<&Trial> {
        self.tried.iter().find(|trial| {
            let there = trial.fill.get(wheel);
            trial.relief == Relief::Marbles
                && there.is_some_and(|there| rises(&there.more, fill, NOTICED))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tried(
        relief: Relief,
        element: Option<&str>,
        [from, to]: [f64; 2],
        flow: [f64; 3],
        fill: [f64; 3],
    ) -> Trial {
        let interval = |[value, low, high]: [f64; 3]| Estimate::interval(value, low, high);
        let there = Fill {
            there: interval(fill.map(|x| 0.5 + x)),
            more: interval(fill),
        };
        Trial {
            relief,
            element: element.map(str::to_owned),
            from,
            to,
            throughput_per_min: interval(flow),
            fill: ByName(vec![("wheel".to_owned(), there)]),
        }
    }

    fn causes(tried: Vec<Trial>) -> Causes {
        Causes {
            runs: 8,
            hours: 0.5,
            throughput_per_min: Some(50.0),
            tried,
        }
    }

    const NONE: [f64; 3] = [0.0, -0.1, 0.1];

    #[test]
    fn what_is_undecided_or_too_small_to_notice_limits_nothing() {
        let undecided = tried(Relief::Marbles, None, [40.0, 44.0], [3.0, -0.1, 6.1], NONE);
        let tiny = tried(
            Relief::Quicker,
            Some("lock"),
            [1.0, 0.9],
            [0.2, 0.19, 0.21],
            NONE,
        );
        let slower = tried(Relief::DriveSpeed, None, [9.0, 8.1], [3.0, 2.9, 3.1], NONE);
        assert_eq!(causes(vec![undecided, tiny, slower]).limit(), None);
    }

    #[test]
    fn what_raises_the_flow_most_for_the_same_share_of_relief_limits_it() {
        let load = tried(Relief::Marbles, None, [40.0, 60.0], [6.0, 5.0, 7.0], NONE);
        let lock = tried(
            Relief::Quicker,
            Some("lock"),
            [1.0, 0.9],
            [2.0, 1.0, 3.0],
            NONE,
        );
        let causes = causes(vec![load, lock]);
        assert_eq!(
            causes.limit().map(|trial| trial.relief),
            Some(Relief::Quicker),
            "6 for a half, 2 for a tenth"
        );
    }

    #[test]
    fn misses_explain_a_starved_wheel_only_where_they_cost_half_of_what_it_lacks() {
        let of = |fill| {
            causes(vec![tried(
                Relief::NoMisses,
                Some("wheel"),
                [0.3, 0.0],
                NONE,
                fill,
            )])
        };
        assert!(of([0.06, 0.05, 0.07]).misses("wheel", 0.5, 0.6).is_some());
        assert!(of([0.04, 0.03, 0.05]).misses("wheel", 0.5, 0.6).is_none());
        assert!(
            of([0.06, -0.01, 0.13]).misses("wheel", 0.5, 0.6).is_none(),
            "undecided"
        );
    }

    #[test]
    fn a_wheel_fills_below_a_speed_only_if_it_fills_at_every_slower_one_tried() {
        let at = |to, fill| {
            tried(
                Relief::DriveSpeed,
                None,
                [12.0, to],
                NONE,
                [fill, fill - 0.01, fill + 0.01],
            )
        };
        let all = causes(vec![at(10.0, 0.05), at(8.0, 0.2), at(6.0, 0.3)]);
        assert_eq!(
            all.fills_at("wheel", "wheel", 0.6).map(|trial| trial.to),
            Some(8.0)
        );
        let geared = tried(
            Relief::WheelSpeed,
            Some("wheel"),
            [12.0, 10.8],
            NONE,
            [0.2, 0.19, 0.21],
        );
        let all = causes(vec![geared, at(10.0, 0.05), at(8.0, 0.2)]);
        assert_eq!(
            all.fills_at("wheel", "wheel", 0.6).map(|trial| trial.to),
            Some(8.0),
            "not by its gears alone"
        );
        let gap = causes(vec![at(8.0, 0.2), at(6.0, 0.05)]);
        assert_eq!(gap.fills_at("wheel", "wheel", 0.6), None);
    }
}
