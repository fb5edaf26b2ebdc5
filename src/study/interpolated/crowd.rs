//! What marbles do in company, over the numbers of a floor or a bowl.

use super::columns::Columns;
use super::rates::{HitCount, RateLook, Rates};
use super::speed::{LogPlane, SpeedSurface};
use super::{Foreseen, HeldOut, LookAt};
use crate::circuit::looked_place::LookAnswer;
use crate::contact::crowd_counts::{CROWDS, CameInto, CrowdCounts, EndCounts};
use crate::stats::regression::MeanReading;

/// Marbles that end in a full look, about.
const FULL_LOOK: u32 = 400;
/// Times of a class that are kept: enough for the form of their law.
const KEPT: usize = 200;

/// What looks at a floor or a bowl have shown.
#[derive(Clone, Debug)]
pub struct CrowdSurface {
    columns: Columns,
    /// By entrance.
    times: Vec<EntranceTimes>,
    /// Marbles that ended, by class of crowd, over all looks.
    ended: Vec<u32>,
    arched: Rates,
    over: Rates,
    lone: SpeedSurface,
    held_out: Vec<HeldOut>,
}

/// Times of those who came in one way.
#[derive(Clone, Debug)]
struct EntranceTimes {
    /// How the logarithm goes by the place.
    by_place: LogPlane,
    /// Times by class of crowd as they would be at the middle of all places, s.
    at_middle_s: [Vec<f64>; CROWDS],
}

/// One look: where, and what it showed.
type CrowdAt<'a> = (Vec<f64>, &'a CrowdCounts);

impl CrowdSurface {
    pub fn of(looks: &[LookAt]) -> CrowdSurface {
        let places: Vec<&[f64]> = looks.iter().map(|(place, _)| place.as_slice()).collect();
        let columns = Columns::of(&places);
        let mut seen: Vec<CrowdAt> = Vec::new();
        let mut lone = Vec::new();
        for (place, shown) in looks {
            if let (Some(at), LookAnswer::Crowd(counts)) = (columns.at(place), shown) {
                seen.push((at, counts));
                lone.push((place.clone(), counts.lone_speed_m_s().unwrap_or(0.0)));
            }
        }
        let (arched, arch_off) = rates(&seen, |ends| ends.arched);
        let (over, _) = rates(&seen, |ends| ends.over);
        let entrances = seen.first().map_or(0, |(_, counts)| counts.entrances());
        let mut times = Vec::new();
        let mut held_out = vec![arch_off];
        for entrance in 0..entrances {
            let (of, off) = EntranceTimes::of(&seen, entrance, &columns);
            times.push(of);
            held_out.push(off);
        }
        let ended = |class| {
            seen.iter()
                .map(|(_, counts)| counts.ends_of_class(class).all())
                .sum()
        };
        CrowdSurface {
            times,
            ended: (0..CROWDS).map(ended).collect(),
            arched,
            over,
            lone: SpeedSurface::of(&lone),
            held_out,
            columns,
        }
    }

    pub fn held_out(&self) -> Vec<HeldOut> {
        self.held_out.clone()
    }

    /// What a look at a place would show; `None` where it differs in something that none of the looks did.
    pub fn at(&self, numbers: &[f64]) -> Option<CrowdCounts> {
        let at = self.columns.at(numbers)?;
        let times_us = self.times.iter().map(|of| of.at(&at)).collect();
        let rare = |rates: &Rates| rates.rare(&at, &self.ended, FULL_LOOK);
        let (arched, over) = (rare(&self.arched), rare(&self.over));
        let mut ends = [EndCounts::default(); CROWDS];
        for (class, ends) in ends.iter_mut().enumerate() {
            let many = f64::from(self.ended[class]);
            ends.arched = (many * arched[class]).round() as u32;
            ends.over = (many * over[class]).round() as u32;
            ends.out = self.ended[class].saturating_sub(ends.arched + ends.over);
        }
        let lone_m_s = self.lone.speed_m_s(numbers).filter(|speed| *speed > 0.0);
        Some(CrowdCounts::from_classes(times_us, ends, lone_m_s))
    }
}

fn rates(seen: &[CrowdAt], hits: fn(EndCounts) -> u32) -> (Rates, HeldOut) {
    let one = |(at, counts): &CrowdAt| RateLook {
        at: at.clone(),
        counts: (0..CROWDS)
            .map(|class| {
                let ends = counts.ends_of_class(class);
                HitCount {
                    hits: hits(ends),
                    trials: ends.all(),
                }
            })
            .collect(),
    };
    let looks: Vec<RateLook> = seen.iter().map(one).collect();
    Rates::of(&looks, &[0; CROWDS], Foreseen::Arch)
}

impl EntranceTimes {
    fn of(seen: &[CrowdAt], entrance: usize, columns: &Columns) -> (EntranceTimes, HeldOut) {
        let logs = |counts: &CrowdCounts, class: usize| -> Vec<f64> {
            let times = counts.times_of_class_us(CameInto { entrance, class });
            times
                .iter()
                .map(|&micros| libm::log(f64::from(micros.max(1)) / 1e6))
                .collect()
        };
        let mut middles = [0.0; CROWDS];
        for (class, middle) in middles.iter_mut().enumerate() {
            let all: Vec<f64> = seen
                .iter()
                .flat_map(|(_, counts)| logs(counts, class))
                .collect();
            *middle = all.iter().sum::<f64>() / all.len().max(1) as f64;
        }
        let mut readings = Vec::new();
        let mut noise = 0.0;
        for (at, counts) in seen {
            let mut off = Vec::new();
            for (class, middle) in middles.iter().enumerate() {
                off.extend(logs(counts, class).iter().map(|log| log - middle));
            }
            if off.len() > 1 {
                let many = off.len() as f64;
                let mean = off.iter().sum::<f64>() / many;
                let squares: f64 = off.iter().map(|x| (x - mean) * (x - mean)).sum();
                noise += squares / (many - 1.0);
                readings.push(MeanReading {
                    at,
                    mean,
                    weight: many,
                });
            }
        }
        let weights: f64 = readings.iter().map(|reading| reading.weight).sum();
        let many = readings.len().max(1) as f64;
        for reading in &mut readings {
            reading.weight *= many / weights;
        }
        let by_place = LogPlane::of(&readings, columns.count());
        let mut at_middle_s: [Vec<f64>; CROWDS] = Default::default();
        for (class, times) in at_middle_s.iter_mut().enumerate() {
            for (at, counts) in seen {
                let shift = by_place.height(at);
                times.extend(logs(counts, class).iter().map(|log| libm::exp(log - shift)));
            }
            thin(times);
        }
        let held_out = HeldOut {
            element: 0,
            what: Foreseen::Time,
            off: by_place.off,
            noise: (noise / f64::max(weights, 1.0)).sqrt(),
            misjudged: 0.0,
        };
        (
            EntranceTimes {
                by_place,
                at_middle_s,
            },
            held_out,
        )
    }

    fn at(&self, at: &[f64]) -> [Vec<u32>; CROWDS] {
        let factor = libm::exp(self.by_place.height(at));
        let micros = |time: &f64| (time * factor * 1e6).round() as u32;
        std::array::from_fn(|class| self.at_middle_s[class].iter().map(micros).collect())
    }
}

/// Keeps so many of sorted times, evenly.
fn thin(times: &mut Vec<f64>) {
    times.sort_by(f64::total_cmp);
    if times.len() > KEPT {
        let kept = |n: usize| times[(2 * n + 1) * times.len() / (2 * KEPT)];
        *times = (0..KEPT).map(kept).collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of 1000 times one in five is kept, each from the middle of its five; of 200 all are.
    #[test]
    fn times_are_thinned_evenly() {
        let thinned = |many: u32| {
            let mut times: Vec<f64> = (0..many).rev().map(f64::from).collect();
            thin(&mut times);
            times
        };
        let of_1000: Vec<f64> = (0..200).map(|n| f64::from(5 * n + 2)).collect();
        assert_eq!(thinned(1000), of_1000);
        assert_eq!(thinned(200), (0..200).map(f64::from).collect::<Vec<f64>>());
        assert_eq!(thinned(201).len(), 200);
    }
}
