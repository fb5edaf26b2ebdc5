//! A see-saw that goes over under the weight of marbles, held back by a weight above its pivot.

use super::G;

/// Steps of the integral over the swing; even.
const STEPS: u32 = 200;

/// A beam with a tray at either end, level trays when it stands half-way, and a weight above its pivot which holds it down on
/// one side until the marbles in the raised tray are enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TippingBeam {
    /// From the pivot to where marbles lie, m.
    pub arm_m: f64,
    /// From one side down to the other side down, rad.
    pub swing_rad: f64,
    /// Mass of the beam, kg, even along it.
    pub beam_kg: f64,
    /// Mass of a marble, kg.
    pub marble_kg: f64,
    /// Marbles with which it tips.
    pub gathers: u32,
}

impl TippingBeam {
    /// Mass times height of a weight above the pivot, kg m, that holds with all but half a marble of those that tip it: the
    /// balance of moments, (n - 1/2) m a cos(s/2) = W h sin(s/2).
    pub fn weight_kg_m(&self) -> f64 {
        let held = f64::from(self.gathers) - 0.5;
        held * self.marble_kg * self.arm_m / libm::tan(self.swing_rad / 2.0)
    }

    /// From the last marble in to the other side down, s.
    ///
    /// Energy: I w^2 / 2 is what the marbles lose in height less what the weight gains, with I = M a^2 / 3 + n m a^2 (a uniform
    /// rod about its middle, and marbles as points); the time is the integral of 1 / w over the swing. The weight's own inertia,
    /// friction of the pivot and marbles that roll meanwhile are left out.
    pub fn tips_in_s(&self) -> f64 {
        let half = self.swing_rad / 2.0;
        let load = f64::from(self.gathers) * self.marble_kg;
        let inertia = self.arm_m * self.arm_m * (self.beam_kg / 3.0 + load);
        let (pull, hold) = (load * G * self.arm_m, self.weight_kg_m() * G);
        // What is left to turn it where it lies; above 0, as it holds half a marble less.
        let first = pull * libm::cos(half) - hold * libm::sin(half);
        // With the angle half - u^2 the integrand stays finite where the beam is at rest.
        let slowness = |u: f64| {
            if u == 0.0 {
                return 2.0 / (2.0 * first / inertia).sqrt();
            }
            let angle = half - u * u;
            let lost = pull * (libm::sin(half) - libm::sin(angle))
                - hold * (libm::cos(angle) - libm::cos(half));
            2.0 * u / (2.0 * lost / inertia).sqrt()
        };
        let step = self.swing_rad.sqrt() / f64::from(STEPS);
        let mut sum = slowness(0.0) + slowness(step * f64::from(STEPS));
        for k in 1..STEPS {
            let weight = if k % 2 == 1 { 4.0 } else { 2.0 };
            sum += weight * slowness(step * f64::from(k));
        }
        sum * step / 3.0
    }
}
