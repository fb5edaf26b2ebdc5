//! What pockets of a wheel do, over the numbers of its place.

use super::columns::Columns;
use super::rates::{HitCount, RateLook, Rates};
use super::{Foreseen, HeldOut, LookAt};
use crate::circuit::looked_place::LookAnswer;
use crate::contact::pick_up_chances::{PassClass, PassCounts, PickUpCounts};

/// Pockets of a full look, about.
const FULL_LOOK: u32 = 720;

/// What looks at the place of a wheel have shown.
#[derive(Clone, Debug)]
pub struct WheelSurface {
    columns: Columns,
    /// Pockets of each class, over all looks.
    passes: Vec<u32>,
    /// Of all, those that stall.
    stall: Rates,
    /// Of those that do not, those that take.
    take: Rates,
    /// Of all, those at which a marble is lost.
    lost: Rates,
    held_out: Vec<HeldOut>,
}

impl WheelSurface {
    pub fn of(looks: &[LookAt]) -> WheelSurface {
        let places: Vec<&[f64]> = looks.iter().map(|(place, _)| place.as_slice()).collect();
        let columns = Columns::of(&places);
        let mut seen: Vec<(Vec<f64>, &PickUpCounts)> = Vec::new();
        for (place, shown) in looks {
            if let (Some(at), LookAnswer::PickUp(counts)) = (columns.at(place), shown) {
                seen.push((at, counts));
            }
        }
        let manners: Vec<usize> = PassClass::all().map(PassClass::manner).collect();
        // What is rare is too rare to tell manners apart.
        let together = vec![0; manners.len()];
        let rates = |what, groups: &[usize], count: fn(PassCounts) -> HitCount| {
            let one = |(at, counts): &(Vec<f64>, &PickUpCounts)| RateLook {
                at: at.clone(),
                counts: PassClass::all()
                    .map(|class| count(counts.of_class(class)))
                    .collect(),
            };
            let looks: Vec<RateLook> = seen.iter().map(one).collect();
            Rates::of(&looks, groups, what)
        };
        let (stall, stall_off) = rates(Foreseen::Stall, &together, |of| HitCount {
            hits: of.stalled,
            trials: of.passes,
        });
        let (take, take_off) = rates(Foreseen::Take, &manners, |of| HitCount {
            hits: of.taken,
            trials: of.passes - of.stalled,
        });
        let (lost, _) = rates(Foreseen::Stall, &together, |of| HitCount {
            hits: of.lost.min(of.passes),
            trials: of.passes,
        });
        let passes = |class| {
            seen.iter()
                .map(|(_, counts)| counts.of_class(class).passes)
                .sum()
        };
        WheelSurface {
            passes: PassClass::all().map(passes).collect(),
            columns,
            stall,
            take,
            lost,
            held_out: vec![take_off, stall_off],
        }
    }

    pub fn held_out(&self) -> Vec<HeldOut> {
        self.held_out.clone()
    }

    /// What a look at a place would show; `None` where it differs in something that none of the looks did.
    pub fn at(&self, numbers: &[f64]) -> Option<PickUpCounts> {
        let at = self.columns.at(numbers)?;
        let rare = |rates: &Rates| rates.rare(&at, &self.passes, FULL_LOOK);
        let (stall, lost) = (rare(&self.stall), rare(&self.lost));
        let take = self.take.chances(&at);
        let mut classes = Vec::new();
        for (class, &passes) in self.passes.iter().enumerate() {
            let many = f64::from(passes);
            let stalled = (many * stall[class]).round();
            let taken = ((many - stalled) * take[class]).round();
            let lost = (many * lost[class]).round();
            classes.push(PassCounts {
                passes,
                taken: taken as u32,
                stalled: stalled as u32,
                lost: lost as u32,
            });
        }
        let of = |class: PassClass| PassClass::all().position(|other| other == class);
        Some(PickUpCounts::from_classes(|class| {
            of(class).map_or(PassCounts::default(), |n| classes[n])
        }))
    }
}
