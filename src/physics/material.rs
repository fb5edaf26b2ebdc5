//! What marbles are made of, and how marble and track rub and bounce.

use std::f64::consts::PI;

/// Density of soda-lime glass, kg/m3 (EN 572-1).
pub const GLASS_KG_M3: f64 = 2500.0;

/// Density of bearing steel, kg/m3: mean implied by a ball maker's table of pieces per kilogram
/// (10 to 25.4 mm, 7827 to 7846); the usual round figures 7800 and 7850 are both off.
pub const BEARING_STEEL_KG_M3: f64 = 7835.0;

/// Density of alumina, kg/m3: a usual handbook figure, not checked against a standard.
pub const ALUMINA_KG_M3: f64 = 3900.0;

/// Density of beech turned into balls, kg/m3: a range of about 650 to 750, no single source; weigh ten.
pub const BEECH_KG_M3: f64 = 700.0;

/// A solid ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marble {
    /// Diameter, m, above 0.
    pub diameter_m: f64,
    /// Density, kg/m3, above 0.
    pub density_kg_m3: f64,
}

impl Marble {
    /// Radius, m.
    pub fn radius_m(&self) -> f64 {
        self.diameter_m / 2.0
    }

    /// Mass of the ball, kg: density times pi d^3 / 6.
    pub fn mass_kg(&self) -> f64 {
        self.density_kg_m3 * PI * self.diameter_m * self.diameter_m * self.diameter_m / 6.0
    }
}

/// How a marble and the track under it resist and bounce. All are inputs that no table settles for wood:
/// the defaults are the middle of a range in common use, and an answer should be given over the range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceProperties {
    /// Lever arm of rolling resistance at a contact, m: the resisting moment is lever arm times normal force.
    /// The coefficient on a plane is lever arm over marble radius, so a bigger marble rolls more easily.
    pub rolling_lever_m: f64,
    /// Lever arm of drilling (spinning about the contact normal), m; it counts only where a marble rides on the
    /// flanks of a groove or on rails.
    pub drilling_lever_m: f64,
    /// Coefficient of sliding friction, above 0.
    pub sliding_friction: f64,
    /// Coefficient of restitution: speed after over speed before a square hit, 0 to 1.
    pub restitution: f64,
    /// Share of the slip between marble and face that one hit stops where friction can grip: 1 plus the tangential
    /// restitution of the three-constant collision of spheres.
    pub hit_grip: f64,
}

/// Lever arm of rolling resistance of a glass or steel marble on finished wood, m: 0.0057 on a 14 mm marble.
/// Assumed, within [`ROLLING_LEVER_RANGE_M`].
pub const ROLLING_LEVER_M: f64 = 4e-5;
/// Range of the lever arm of rolling resistance on finished wood, m: a coefficient of about 0.001 to 0.011 on a 14 mm
/// marble. A range, no single source: published measurements on hard surfaces resolve 0.0001 and rise with roughness
/// and speed (Cross, "Coulomb's law for rolling friction", Am. J. Phys.).
pub const ROLLING_LEVER_RANGE_M: (f64, f64) = (1e-5, 8e-5);

/// Lever arm of drilling friction, m: (3 pi / 16) times sliding friction times the radius of a Hertz contact, which is
/// about 0.05 mm for a 14 mm glass marble under its own weight on wood. Assumed, within
/// [`DRILLING_LEVER_RANGE_M`].
pub const DRILLING_LEVER_M: f64 = 1e-5;
/// Range of the lever arm of drilling friction, m. A range, no single source.
pub const DRILLING_LEVER_RANGE_M: (f64, f64) = (0.0, 2e-5);

/// Sliding friction of glass on finished wood. Assumed, within [`SLIDING_FRICTION_RANGE`].
pub const SLIDING_FRICTION: f64 = 0.35;
/// Range of sliding friction of glass or steel on finished wood. A range, no single source.
pub const SLIDING_FRICTION_RANGE: (f64, f64) = (0.2, 0.5);

/// Restitution of glass or steel on solid wood. Assumed, within [`RESTITUTION_RANGE`].
pub const RESTITUTION: f64 = 0.5;
/// Range of the restitution of glass or steel on solid wood: it depends on thickness and support, scatters from hit to
/// hit (Montaine et al., "The coefficient of restitution as a fluctuating quantity", 2011) and is higher for lower
/// drops (Styer and Besson, JOMA 7, 2007). A range, no single source.
pub const RESTITUTION_RANGE: (f64, f64) = (0.4, 0.7);

/// Share of the slip that one hit stops. Assumed, within [`HIT_GRIP_RANGE`]: a contact of about 2 ms, as on soft wood, ends
/// before the slip does (0.75 to 0.8 in the rigid-body engine the tests are held to).
pub const HIT_GRIP: f64 = 0.8;
/// Range of the share of slip that one hit stops: above 1 the slip is turned round, as with hard springy spheres. A range,
/// no single source.
pub const HIT_GRIP_RANGE: (f64, f64) = (0.7, 1.4);

/// Sliding friction of glass marbles on each other. Assumed, within [`MARBLE_FRICTION_RANGE`].
pub const MARBLE_FRICTION: f64 = 0.15;
/// Range of the friction of glass marbles, clean to dusty, on each other. A range, no single source.
pub const MARBLE_FRICTION_RANGE: (f64, f64) = (0.08, 0.3);

/// Restitution of toy marbles on each other. Assumed, within [`MARBLE_RESTITUTION_RANGE`].
pub const MARBLE_RESTITUTION: f64 = 0.85;
/// Range of the restitution of marbles on each other: up to 0.97 for polished soda-lime glass (S. F. Foerster, M. Y. Louge,
/// H. Chang, K. Allia, Phys. Fluids 6 (1994) 1108, from memory), less for toy marbles. A range, no single source.
pub const MARBLE_RESTITUTION_RANGE: (f64, f64) = (0.7, 0.97);

impl SurfaceProperties {
    /// Finished wood under a glass or steel marble, every figure at its assumed default.
    pub const WOOD: SurfaceProperties = SurfaceProperties {
        rolling_lever_m: ROLLING_LEVER_M,
        drilling_lever_m: DRILLING_LEVER_M,
        sliding_friction: SLIDING_FRICTION,
        restitution: RESTITUTION,
        hit_grip: HIT_GRIP,
    };
}
