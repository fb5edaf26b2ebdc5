//! The place of an element where a close look is taken, and what the look shows.

use super::close_look::{Effort, look, look_at_crowd};
use crate::contact::bowl_place::BowlPlace;
use crate::contact::crowd_counts::CrowdCounts;
use crate::contact::floor_place::{FloorEntrance, FloorPlace, LandingSpot};
use crate::contact::law::Materials;
use crate::contact::pick_up_chances::PickUpCounts;
use crate::contact::place::{Guide, GuideBevel, MarbleProperties, Ramp, WallEnds, WheelPlace};
use crate::contact::pocket_wheel::{TorqueLine, WheelDimensions};

/// Where a close look is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum LookedPlace {
    /// At the foot of a wheel.
    AtWheel(Box<WheelPlace>),
    /// On a return floor.
    OnFloor(FloorPlace),
    /// In a bowl, of which there may be several alike that differ in what the file does not tell.
    InBowls(Vec<BowlPlace>),
}

/// What a close look shows.
#[derive(Clone, Debug, PartialEq)]
pub enum LookAnswer {
    /// Of pockets that pass a ramp.
    PickUp(Box<PickUpCounts>),
    /// Of marbles in company.
    Crowd(CrowdCounts),
}

impl LookedPlace {
    /// What a look of this length shows.
    pub fn look(&self, effort: Effort) -> LookAnswer {
        match self {
            LookedPlace::AtWheel(place) => LookAnswer::PickUp(Box::new(look(place, effort))),
            LookedPlace::OnFloor(place) => {
                LookAnswer::Crowd(look_at_crowd(std::slice::from_ref(place), effort))
            }
            LookedPlace::InBowls(places) => LookAnswer::Crowd(look_at_crowd(places, effort)),
        }
    }

    /// All that decides what is seen there, as numbers in SI units; what has no size counts as 0, 1 and so on.
    pub fn numbers(&self) -> Vec<f64> {
        let mut numbers = Vec::new();
        match self {
            LookedPlace::AtWheel(place) => wheel(place, &mut numbers),
            LookedPlace::OnFloor(place) => floor(place, &mut numbers),
            LookedPlace::InBowls(places) => {
                places.iter().for_each(|place| bowl(place, &mut numbers))
            }
        }
        numbers
    }
}

// Every field is named in these, so that the compiler asks about a new one.

fn wheel(place: &WheelPlace, numbers: &mut Vec<f64>) {
    let WheelPlace {
        marbles: of,
        wheel,
        drive,
        ramp,
        guide,
    } = place;
    marbles(of, numbers);
    let WheelDimensions {
        pitch_radius_m,
        pockets,
        bore_m,
        depth_m,
        tilt_rad,
    } = *wheel;
    numbers.extend([
        pitch_radius_m,
        f64::from(pockets),
        bore_m,
        depth_m,
        tilt_rad,
    ]);
    let TorqueLine {
        speed_rad_s,
        torque_n_m,
        gain_n_m_s,
        inertia_kg_m2,
    } = *drive;
    numbers.extend([speed_rad_s, torque_n_m, gain_n_m_s, inertia_kg_m2]);
    ramp_numbers(ramp, numbers);
    // What wedging hangs on: the play that these leave a marble under the guide, in its pocket and in the channel.
    let d = of.diameter_m;
    numbers.extend([depth_m + ramp.gap_m - d, bore_m - d, ramp.channel_m - d]);
    numbers.extend(match *guide {
        Guide::No => [0.0, 0.0],
        Guide::FromWall => [1.0, 0.0],
        Guide::From(from_m, GuideBevel::Scraper) => [2.0, from_m],
        Guide::From(from_m, GuideBevel::LeadIn) => [3.0, from_m],
    });
}

fn ramp_numbers(ramp: &Ramp, numbers: &mut Vec<f64>) {
    let Ramp {
        slope_rad,
        slope_sd_rad,
        length_m,
        channel_m,
        half_floor_m,
        gap_m,
        end_height_m,
        end_height_sd_m,
        wall_height_m,
        ends,
        cut_back_m,
        fence,
        lid_m,
        arrives_m_s,
    } = *ramp;
    numbers.extend([
        slope_rad,
        slope_sd_rad,
        length_m,
        channel_m,
        half_floor_m,
        gap_m,
    ]);
    numbers.extend([
        end_height_m,
        end_height_sd_m,
        wall_height_m,
        cut_back_m,
        arrives_m_s,
    ]);
    numbers.extend([
        f64::from(u8::from(ends == WallEnds::Square)),
        f64::from(u8::from(fence)),
    ]);
    numbers.extend([f64::from(u8::from(lid_m.is_some())), lid_m.unwrap_or(0.0)]);
}

fn floor(place: &FloorPlace, numbers: &mut Vec<f64>) {
    let FloorPlace {
        landings,
        fall_m,
        marbles: of,
        length_m,
        width_m,
        cross_pitch_rad,
        valley_pitch_rad,
        mouth_m,
        funnel_rad,
    } = place;
    marbles(of, numbers);
    numbers.extend([*fall_m, *length_m, *width_m, *mouth_m, *funnel_rad]);
    numbers.extend([*cross_pitch_rad, *valley_pitch_rad]);
    for &FloorEntrance {
        spot,
        speed_m_s,
        heading_rad,
    } in landings
    {
        numbers.extend(match spot {
            LandingSpot::Anywhere => [0.0; 4],
            LandingSpot::About { x_m, y_m, spread_m } => [1.0, x_m, y_m, spread_m],
        });
        numbers.extend([speed_m_s, heading_rad]);
    }
}

fn bowl(place: &BowlPlace, numbers: &mut Vec<f64>) {
    let BowlPlace {
        marbles: of,
        width_m,
        depth_m,
        holes,
        hole_m,
        hole_circle_m,
        turn_rad,
        fenced,
        entry_m_s,
        entry_sd_m_s,
        inward_rad,
    } = *place;
    marbles(&of, numbers);
    numbers.extend([
        width_m,
        depth_m,
        holes as f64,
        hole_m,
        hole_circle_m,
        turn_rad,
    ]);
    numbers.extend([
        f64::from(u8::from(fenced)),
        entry_m_s,
        entry_sd_m_s,
        inward_rad,
    ]);
}

fn marbles(of: &MarbleProperties, numbers: &mut Vec<f64>) {
    let MarbleProperties {
        diameter_m,
        diameter_sd_m,
        density_kg_m3,
        on_wood,
        on_guide,
        on_marbles,
    } = *of;
    numbers.extend([diameter_m, diameter_sd_m, density_kg_m3]);
    for on in [on_wood, on_guide, on_marbles] {
        let Materials {
            friction,
            restitution,
            scatter,
            rolling_lever_m,
        } = on;
        numbers.extend([friction, restitution, scatter, rolling_lever_m]);
    }
}
