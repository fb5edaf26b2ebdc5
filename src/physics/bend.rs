//! A marble in a bend: what holds it, what it loses.
//!
//! On an outer wall the marble's side slides until the spin the wall gives it about the upright matches its speed:
//! friction mu m v^2/R takes (5/7) mu of the speed and gives (5/2) mu of rim speed a radian (Newton and Euler, the floor
//! not slipping). A bend long enough to finish this, some 65 degrees at mu 0.35, keeps 7/9 of the speed whatever the
//! friction; a bend the other way straight after has that spin to turn round first. On rails and in grooves there is no
//! wall to rub on: the marble tips off when it is too fast.
//!
//! No published energy loss of a small ball in a bend was found; the wall's is held to curves measured in a general 3-D
//! rigid-body engine (`tests/truth/bend.csv`). Left out: the knock where a marble first meets the wall, and the shift
//! of the rolling axis between floor and wall.

use crate::physics::G;
use crate::physics::material::SurfaceProperties;
use crate::physics::rolling::{self, Seat};

/// How a bend takes energy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// Nothing but rolling resistance.
    None,
    /// This share of the kinetic energy over the bend, 0 to 1.
    Share(f64),
    /// Rubbing on the outer wall.
    Wall,
}

/// A bend as a marble finds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Radius of the marble's way, m, above 0.
    pub radius_m: f64,
    /// Length of the way left to go, m.
    pub length_m: f64,
    /// Slope, rad, positive downhill.
    pub slope_rad: f64,
    /// How it takes energy.
    pub loss: Loss,
}

/// A marble on its way round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendState {
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// Spin about the upright times the marble's radius, m/s, positive as the bend turns.
    pub side_spin_m_s: f64,
    /// Time so far, s.
    pub time_s: f64,
    /// Way so far, m.
    pub gone_m: f64,
}

/// Highest speed (m/s) at which a marble stays on its rails or in its groove in a level bend of `radius_m`:
/// v^2 / (g R) = tan of the contacts' angle from the upright. Quasi-static, own derivation; infinite in a flat channel,
/// whose wall holds the marble.
pub fn tip_off_speed_m_s(seat: Seat, radius_m: f64) -> f64 {
    let rho = seat.radius_ratio;
    if rho >= 1.0 {
        return f64::INFINITY;
    }
    let tangent = (1.0 - rho * rho).sqrt() / rho;
    (G * radius_m * tangent).sqrt()
}

const PARTS: usize = 100;

/// Takes a marble round a bend, from how it enters, in a hundred short arcs.
///
/// # Errors
/// The course up to where the marble stops.
pub fn round(
    bend: &Bend,
    entering: BendState,
    seat: Seat,
    marble_radius_m: f64,
    surface: &SurfaceProperties,
) -> Result<BendState, BendState> {
    let mut course = entering;
    let part_m = bend.length_m / PARTS as f64;
    for _ in 0..PARTS {
        let a = acceleration(bend, course.speed_m_s, seat, marble_radius_m, surface);
        let steps = rolling::exit_speed_m_s(part_m, course.speed_m_s, a).zip(rolling::time_s(
            part_m,
            course.speed_m_s,
            a,
        ));
        let Some((speed, time_s)) = steps else {
            return Err(course);
        };
        course.speed_m_s = speed;
        course.time_s += time_s;
        course.gone_m += part_m;
        lose(bend, &mut course, part_m, surface.sliding_friction);
    }
    Ok(course)
}

/// The bend's push adds to the weight on rails, and to the sum of the forces between floor and wall.
fn acceleration(bend: &Bend, speed: f64, seat: Seat, r: f64, surface: &SurfaceProperties) -> f64 {
    let push = speed * speed / (bend.radius_m * G);
    let load = match bend.loss {
        Loss::Wall => 1.0 + push,
        _ => (1.0 + push * push).sqrt(),
    };
    let heavier = SurfaceProperties {
        rolling_lever_m: surface.rolling_lever_m * load,
        drilling_lever_m: surface.drilling_lever_m * load,
        ..*surface
    };
    rolling::acceleration(bend.slope_rad, seat, r, &heavier)
}

fn lose(bend: &Bend, course: &mut BendState, part_m: f64, friction: f64) {
    match bend.loss {
        Loss::None => {}
        Loss::Share(share) => {
            // Even along the bend: the energy falls by 1 - share over its length.
            let left = libm::log1p(-share.clamp(0.0, 0.999));
            course.speed_m_s *= libm::exp(left * part_m / bend.length_m / 2.0);
        }
        Loss::Wall if course.side_spin_m_s >= course.speed_m_s => {}
        Loss::Wall => {
            let rub = friction * part_m / bend.radius_m;
            course.side_spin_m_s += 2.5 * rub * course.speed_m_s;
            course.speed_m_s *= libm::exp(-5.0 / 7.0 * rub);
        }
    }
}

/// Drilling friction takes the spin a bend's wall gave, (5/2) p g / r of its rim speed a second: what is left of it
/// after `time_s`.
pub fn spin_left_m_s(
    side_spin_m_s: f64,
    time_s: f64,
    marble_radius_m: f64,
    surface: &SurfaceProperties,
) -> f64 {
    let lost = 2.5 * surface.drilling_lever_m * G / marble_radius_m * time_s;
    (side_spin_m_s.abs() - lost)
        .max(0.0)
        .copysign(side_spin_m_s)
}
