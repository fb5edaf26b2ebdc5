//! Circuits of many machines that differ a little, without a close look at each: what was seen at a few places is
//! interpolated.
//!
//! **How it is used.** Whoever asks about machines that differ in dimensions or constants makes a few of them that span what
//! may differ (a Latin hypercube, [`crate::stats::latin_hypercube`], is a good choice), has their places looked at by
//! [`Interpolated::of`], and asks [`Interpolated::circuit`] for the circuit of any machine among or between them. One table
//! of looks serves every question about one machine. It knows nothing of what differs: it goes by the numbers of
//! the places themselves ([`LookedPlace::numbers`]). A machine that differs in something that none of the first did gets a
//! close look of its own, and so does one of another kind; where no place differs, nothing is interpolated.
//!
//! **How it interpolates.** The logit of each chance and the logarithm of each time are planes over the numbers that differ
//! and their squares (a response surface: G. E. P. Box, K. B. Wilson, "On the experimental attainment of optimum conditions",
//! J. R. Stat. Soc. B 13 (1951) 1), held back by a ridge penalty. Classes of company and meeting keep the ratios of their
//! odds. Over which numbers, and at which penalty, is chosen by what is foreseen of looks that were not used (in [`FOLDS`]
//! parts; M. Stone, "Cross-validatory choice and assessment of statistical predictions", J. R. Stat. Soc. B 36 (1974) 111);
//! [`Interpolated::held_out`] says how far off they were. Sources from memory.

mod columns;
mod crowd;
pub mod design;
mod rates;
mod speed;
mod wheel;

use rayon::prelude::*;

use self::crowd::CrowdSurface;
use self::speed::SpeedSurface;
use self::wheel::WheelSurface;
use crate::circuit::close_look::Effort;
use crate::circuit::joints::speed_out_m_s;
use crate::circuit::looked_place::{LookAnswer, LookedPlace};
use crate::circuit::{self, Circuit, looked_places};
use crate::machine::Machine;

/// Parts into which looks are divided, one of which at a time is foreseen from the others.
pub const FOLDS: usize = 8;

/// What was seen of a few machines, ready to tell what would be seen of those between them.
#[derive(Clone, Debug)]
pub struct Interpolated {
    elements: Vec<ElementLooks>,
    mouths: Vec<Option<SpeedSurface>>,
    looks: usize,
}

/// What is known of one element.
#[derive(Clone, Debug)]
enum ElementLooks {
    /// There is nothing to look at.
    Nothing,
    /// Its place is the same in all machines.
    Same(Vec<f64>, Box<LookAnswer>),
    /// The place of a wheel.
    Wheel(Box<WheelSurface>),
    /// A floor or a bowl.
    Crowd(Box<CrowdSurface>),
}

/// How well looks that were not used are foreseen, at one element.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct HeldOut {
    /// The element's index.
    #[serde(skip)]
    pub element: usize,
    /// What is foreseen.
    pub what: Foreseen,
    /// How far off it is, as a root mean square over looks by what they show: of a chance, or as a share of a time.
    pub off: f64,
    /// How far off the shortness of the looks alone would have it.
    pub noise: f64,
    /// Share of looks of which it was foreseen wrongly whether they show it at all.
    pub misjudged: f64,
}

/// What is foreseen of a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Foreseen {
    /// The chance that a pocket takes the marble that it meets.
    Take,
    /// The chance that it stalls the wheel.
    Stall,
    /// The mean time of marbles inside.
    Time,
    /// The chance that one that is about to leave arches with the others instead.
    Arch,
}

impl HeldOut {
    /// What the interpolation adds to the noise of short looks.
    pub fn beyond_noise(&self) -> f64 {
        (self.off * self.off - self.noise * self.noise)
            .max(0.0)
            .sqrt()
    }
}

/// One look: the numbers of its place, and what it showed.
pub(super) type LookAt = (Vec<f64>, LookAnswer);

impl Interpolated {
    /// Looks closely at the places of these machines, of which there must be one at least and which are of the same elements.
    pub fn of(machines: &[Machine]) -> Interpolated {
        let (mouths, machines) = with_mouths_known(machines);
        let places: Vec<Vec<Option<LookedPlace>>> =
            machines.par_iter().map(looked_places).collect();
        let count = places.first().map_or(0, Vec::len);
        let elements: Vec<ElementLooks> = (0..count)
            .into_par_iter()
            .map(|n| ElementLooks::of(places.iter().map(|of| of[n].as_ref()).collect()))
            .collect();
        Interpolated {
            elements,
            mouths,
            looks: machines.len(),
        }
    }

    /// How many machines were looked at.
    pub fn looks(&self) -> usize {
        self.looks
    }

    /// Whether anything is interpolated at all.
    pub fn interpolates(&self) -> bool {
        let differ =
            |of: &ElementLooks| matches!(of, ElementLooks::Wheel(_) | ElementLooks::Crowd(_));
        self.elements.iter().any(differ)
    }

    /// The circuit of a machine among or between those looked at.
    pub fn circuit(&self, machine: &Machine) -> Circuit {
        let mut machine = machine.clone();
        for (n, mouth) in self.mouths.iter().enumerate() {
            if let Some(surface) = mouth {
                let place = looked_places(&machine)[n]
                    .as_ref()
                    .map(LookedPlace::numbers);
                let speed = place.and_then(|numbers| surface.speed_m_s(&numbers));
                if let Some(floor) = machine.elements[n].kind.floor_mut() {
                    floor.mouth_m_s = speed;
                }
            }
        }
        let places = looked_places(&machine);
        let known: Vec<Option<LookAnswer>> = (places.iter().zip(&self.elements))
            .map(|(place, of)| Some(of.at(place.as_ref()?)))
            .collect();
        circuit::with_looks(&machine, &known)
    }

    /// How well looks that were not used are foreseen, element by element.
    pub fn held_out(&self) -> Vec<HeldOut> {
        let mut all = Vec::new();
        for (n, of) in self.elements.iter().enumerate() {
            let held_out = match of {
                ElementLooks::Wheel(surface) => surface.held_out(),
                ElementLooks::Crowd(surface) => surface.held_out(),
                ElementLooks::Nothing | ElementLooks::Same(..) => Vec::new(),
            };
            all.extend(
                held_out
                    .into_iter()
                    .map(|one| HeldOut { element: n, ..one }),
            );
        }
        all
    }
}

/// How fast marbles come out of the mouths of floors: looked at first, because what stands behind a mouth goes by it.
fn with_mouths_known(machines: &[Machine]) -> (Vec<Option<SpeedSurface>>, Vec<Machine>) {
    let mut machines = machines.to_vec();
    let elements = machines.first().map_or(0, |machine| machine.elements.len());
    let mut mouths = Vec::new();
    for n in 0..elements {
        let is_open = |machine: &Machine| {
            let floor = machine.elements[n].kind.floor();
            floor.is_some_and(|floor| floor.shape.is_some() && floor.mouth_m_s.is_none())
        };
        if !machines.iter().all(is_open) || looked_places(&machines[0])[n].is_none() {
            mouths.push(None);
            continue;
        }
        let speeds: Vec<(Vec<f64>, f64)> = machines
            .par_iter()
            .map(|machine| {
                let place = looked_places(machine)[n].as_ref().map(LookedPlace::numbers);
                let speed = speed_out_m_s(machine, &machine.elements[n]);
                (place.unwrap_or_default(), speed)
            })
            .collect();
        for (machine, (_, speed)) in machines.iter_mut().zip(&speeds) {
            if let Some(floor) = machine.elements[n].kind.floor_mut() {
                floor.mouth_m_s = Some(*speed);
            }
        }
        mouths.push(Some(SpeedSurface::of(&speeds)));
    }
    (mouths, machines)
}

impl ElementLooks {
    fn of(places: Vec<Option<&LookedPlace>>) -> ElementLooks {
        let Some(places) = places.into_iter().collect::<Option<Vec<_>>>() else {
            return ElementLooks::Nothing;
        };
        let Some((first, rest)) = places.split_first() else {
            return ElementLooks::Nothing;
        };
        if rest.iter().all(|other| other == first) {
            return ElementLooks::Same(first.numbers(), Box::new(first.look(Effort::FULL)));
        }
        let looks: Vec<LookAt> = places
            .par_iter()
            .map(|place| (place.numbers(), place.look(Effort::BRIEF)))
            .collect();
        match first {
            LookedPlace::AtWheel(_) => ElementLooks::Wheel(Box::new(WheelSurface::of(&looks))),
            LookedPlace::OnFloor(_) | LookedPlace::InBowls(_) => {
                ElementLooks::Crowd(Box::new(CrowdSurface::of(&looks)))
            }
        }
    }

    /// What a look at this place would show.
    fn at(&self, place: &LookedPlace) -> LookAnswer {
        let numbers = place.numbers();
        let seen = match self {
            ElementLooks::Nothing => None,
            ElementLooks::Same(known, seen) => (*known == numbers).then(|| LookAnswer::clone(seen)),
            ElementLooks::Wheel(surface) => {
                surface.at(&numbers).map(Box::new).map(LookAnswer::PickUp)
            }
            ElementLooks::Crowd(surface) => surface.at(&numbers).map(LookAnswer::Crowd),
        };
        seen.unwrap_or_else(|| place.look(Effort::BRIEF))
    }
}
