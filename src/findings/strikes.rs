//! When bells ring: every strike of a marble in the first run, how often they come, and how far apart.

use super::replay::{Replay, RunId};
use super::sentences::Finding;
use super::words::{count, figure};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos, seconds};

/// Watched so long at most, s: an hour tells the rhythm.
const WATCHED_S: f64 = 3600.0;
/// Of the gaps between strikes so many are named: nine in ten, from the 5 % to the 95 % point.
const GAPS: (f64, f64) = (0.05, 0.95);

/// All strikes of one run.
#[derive(Clone, Debug)]
pub struct Strikes {
    /// The bells, in the order of the file.
    pub bells: Vec<BellStrikes>,
    /// How long they were listened to, s.
    pub watched_s: f64,
    /// Which run it was.
    pub run: u64,
}

/// The strikes of one bell.
#[derive(Clone, Debug)]
pub struct BellStrikes {
    /// Its name.
    pub name: String,
    /// When it was struck, and by which marble.
    pub strikes: Vec<(Nanos, u32)>,
}

/// How often a bell rings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rhythm {
    /// Strikes a minute, from the first to the last.
    pub per_min: f64,
    /// The short gaps and the long ones, s.
    pub gaps_s: (f64, f64),
}

impl Strikes {
    /// The strikes of a run, or of its first hour; `None` where the machine has no bell.
    pub fn of(circuit: &Circuit, id: RunId) -> Option<Self> {
        if !circuit.nodes.iter().any(|plan| plan.rings) {
            return None;
        }
        let horizon = id.horizon.min(nanos(WATCHED_S));
        let replay = Replay::of(circuit, RunId { horizon, ..id });
        let mut bells = Vec::new();
        for (n, plan) in circuit.nodes.iter().enumerate() {
            if plan.rings {
                let stays = replay.stays.iter().filter(|stay| stay.node == n);
                let mut strikes: Vec<(Nanos, u32)> = stays
                    .filter_map(|stay| Some((stay.reach()?, stay.marble)))
                    .collect();
                strikes.sort();
                bells.push(BellStrikes {
                    name: plan.name.clone(),
                    strikes,
                });
            }
        }
        Some(Strikes {
            bells,
            watched_s: seconds(replay.result.end),
            run: id.run,
        })
    }

    /// What there is to say of each bell.
    pub fn findings(&self) -> Vec<Finding> {
        let say = |bell: &BellStrikes| Finding {
            about: bell.name.clone(),
            good: !bell.strikes.is_empty(),
            text: self.sentence(bell),
        };
        self.bells.iter().map(say).collect()
    }

    fn sentence(&self, bell: &BellStrikes) -> String {
        let name = &bell.name;
        match bell.rhythm() {
            Some(rhythm) => format!(
                "`{name}` rings {} times a minute, gaps {} to {} s for nine in ten (run {}).",
                figure(rhythm.per_min),
                figure(rhythm.gaps_s.0),
                figure(rhythm.gaps_s.1),
                self.run
            ),
            None => {
                let times = count(bell.strikes.len() as u64, "time");
                let minutes = figure(self.watched_s / 60.0);
                format!(
                    "`{name}` rings {times} in {minutes} min (run {}).",
                    self.run
                )
            }
        }
    }
}

impl BellStrikes {
    /// Its rhythm; `None` where there are too few strikes for one.
    pub fn rhythm(&self) -> Option<Rhythm> {
        let (first, last) = (self.strikes.first()?.0, self.strikes.last()?.0);
        let mut gaps: Vec<f64> = Vec::new();
        for pair in self.strikes.windows(2) {
            gaps.push(seconds(pair[1].0 - pair[0].0));
        }
        if gaps.is_empty() || last == first {
            return None;
        }
        gaps.sort_by(f64::total_cmp);
        let at = |share: f64| gaps[(share * (gaps.len() - 1) as f64).round() as usize];
        Some(Rhythm {
            per_min: gaps.len() as f64 / seconds(last - first) * 60.0,
            gaps_s: (at(GAPS.0), at(GAPS.1)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn struck(at_s: &[u64]) -> BellStrikes {
        BellStrikes {
            name: "low".to_owned(),
            strikes: at_s.iter().map(|s| (s * 1_000_000_000, 0)).collect(),
        }
    }

    /// Four gaps in 20 s are 12 strikes a minute; of gaps of 2, 4, 5 and 9 s the outermost are the 5 and the 95 % points.
    #[test]
    fn a_rhythm_is_that_of_the_gaps() {
        let rhythm = struck(&[10, 14, 16, 25, 30]).rhythm();
        assert_eq!(
            rhythm,
            Some(Rhythm {
                per_min: 12.0,
                gaps_s: (2.0, 9.0)
            })
        );
        for few in [vec![], vec![3], vec![3, 3]] {
            assert_eq!(struck(&few).rhythm(), None);
        }
    }

    #[test]
    fn a_bell_that_rings_is_good_news_and_one_that_never_does_is_not() {
        let strikes = Strikes {
            bells: vec![struck(&[10, 14]), struck(&[7]), struck(&[])],
            watched_s: 90.0,
            run: 3,
        };
        let said = strikes.findings();
        let said: Vec<(bool, &str)> = said
            .iter()
            .map(|one| (one.good, one.text.as_str()))
            .collect();
        assert_eq!(
            said,
            [
                (
                    true,
                    "`low` rings 15 times a minute, gaps 4 to 4 s for nine in ten (run 3)."
                ),
                (true, "`low` rings 1 time in 1.5 min (run 3)."),
                (false, "`low` rings 0 times in 1.5 min (run 3)."),
            ]
        );
    }
}
