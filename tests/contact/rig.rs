//! The rig in which the curves of queues at a wheel were measured, for the tests and the bench of close looks.

use std::f64::consts::TAU;

use marblewright::contact::law::Materials;
use marblewright::contact::place::*;
use marblewright::contact::pocket_wheel::{TorqueLine, WheelDimensions};

const WOOD: Materials = Materials {
    friction: 0.35,
    restitution: 0.5,
    scatter: 0.1,
    rolling_lever_m: 4e-5,
};

/// The rig of the curves at a number of turns a minute: pitch radius 120 mm, marbles 14 mm, 24 pockets of 1.3 d and 1 d
/// deep tilted by 7 degrees, ramp 4 degrees, channel 1.15 d, gap 1 mm, 0.5 N m, 0.01 kg m2.
pub fn rig(rpm: f64) -> WheelPlace {
    let d = 0.014;
    let on_marbles = Materials {
        friction: 0.15,
        restitution: 0.85,
        scatter: 0.05,
        rolling_lever_m: 0.0,
    };
    let on_guide = Materials {
        friction: 0.2,
        rolling_lever_m: 1e-5,
        ..WOOD
    };
    let (bore_m, tilt_rad) = (1.3 * d, 7f64.to_radians());
    let speed_rad_s = rpm * TAU / 60.0;
    WheelPlace {
        marbles: MarbleProperties {
            diameter_m: d,
            diameter_sd_m: 0.00015,
            density_kg_m3: 2500.0,
            on_wood: WOOD,
            on_guide,
            on_marbles,
        },
        wheel: WheelDimensions {
            pitch_radius_m: 0.12,
            pockets: 24,
            bore_m,
            depth_m: d,
            tilt_rad,
        },
        drive: TorqueLine {
            speed_rad_s,
            torque_n_m: 0.5,
            gain_n_m_s: 5.0,
            inertia_kg_m2: 0.01,
        },
        ramp: Ramp {
            slope_rad: 4f64.to_radians(),
            slope_sd_rad: 0.0,
            length_m: 20.0 * d,
            channel_m: 1.15 * d,
            half_floor_m: 0.03,
            gap_m: 0.001,
            end_height_m: bore_m / 2.0 / libm::cos(tilt_rad) - d / 2.0,
            end_height_sd_m: 0.0,
            wall_height_m: 2.0 * d,
            ends: WallEnds::Upright,
            cut_back_m: 0.0,
            fence: false,
            lid_m: Some(1.7 * d),
            arrives_m_s: 0.0,
        },
        guide: Guide::FromWall,
    }
}

/// The rig with a wall cut back, in diameters: then the guide begins two diameters beyond the channel.
pub fn cut(mut place: WheelPlace, cut_back: f64) -> WheelPlace {
    if cut_back > 0.0 {
        let d = place.marbles.diameter_m;
        place.ramp.cut_back_m = cut_back * d;
        place.guide = Guide::From(place.ramp.channel_m / 2.0 + 2.0 * d, GuideBevel::Scraper);
    }
    place
}
