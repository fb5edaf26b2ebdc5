//! What turns the wheel: a DC gearmotor, the loaded pockets it lifts, and the battery it empties.

use crate::physics::G;

/// A brushed DC motor, or a gearmotor seen at its output, at its rated voltage: torque falls in a straight line from
/// stall to no load (Mabuchi, "Basics of motor performance"; Lessard, course notes "Motor performance").
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DcMotor {
    /// Torque at standstill, N m, above 0.
    pub stall_torque_n_m: f64,
    /// Speed without load, rad/s, above 0.
    pub no_load_rad_s: f64,
    /// Current at standstill, A.
    pub stall_current_a: f64,
    /// Current without load, A, above 0, below the stall current.
    pub no_load_current_a: f64,
}

impl DcMotor {
    /// Speed (rad/s) under a steady torque; `None` where the torque stalls it.
    pub fn speed_rad_s(&self, torque_n_m: f64) -> Option<f64> {
        if torque_n_m < self.stall_torque_n_m {
            Some(self.no_load_rad_s * (1.0 - torque_n_m / self.stall_torque_n_m))
        } else {
            None
        }
    }

    /// Current (A) under a torque: in a straight line from no load to stall.
    pub fn current_a(&self, torque_n_m: f64) -> f64 {
        let share = torque_n_m / self.stall_torque_n_m;
        self.no_load_current_a + (self.stall_current_a - self.no_load_current_a) * share
    }

    /// The motor on pulses of this duty (0 to 1, continuous current), or at this share of its voltage: no-load speed and
    /// stall torque both shrink, their ratio stays.
    pub fn at_duty(&self, duty: f64) -> DcMotor {
        DcMotor {
            stall_torque_n_m: self.stall_torque_n_m * duty,
            no_load_rad_s: self.no_load_rad_s * duty,
            stall_current_a: self.stall_current_a * duty,
            ..*self
        }
    }

    /// The motor seen behind a reduction of `ratio` to 1 of this efficiency (0 to 1).
    pub fn geared(&self, ratio: f64, efficiency: f64) -> DcMotor {
        DcMotor {
            stall_torque_n_m: self.stall_torque_n_m * ratio * efficiency,
            no_load_rad_s: self.no_load_rad_s / ratio,
            ..*self
        }
    }
}

/// Torque (N m) that marbles in pockets at these angles (rad past the lowest point) ask of the wheel: the sum of
/// m g R sin phi.
pub fn lift_torque_n_m(angles_rad: &[f64], marble_kg: f64, pitch_radius_m: f64) -> f64 {
    let arms: f64 = angles_rad.iter().map(|&phi| libm::sin(phi)).sum();
    marble_kg * G * pitch_radius_m * arms
}

/// Mean torque (N m) of lifting, over whole turns: each filled pocket raises its marble from the lowest point to
/// `leave_rad`, so fill n m g R (1 - cos phi) / (2 pi).
pub fn mean_lift_torque_n_m(
    pockets: u32,
    fill: f64,
    marble_kg: f64,
    pitch_radius_m: f64,
    leave_rad: f64,
) -> f64 {
    let raised_m = pitch_radius_m * (1.0 - libm::cos(leave_rad));
    fill * f64::from(pockets) * marble_kg * G * raised_m / (2.0 * std::f64::consts::PI)
}

/// Greatest torque (N m) of lifting with every rising pocket filled: the worst of 360 places of the pockets on the wheel.
pub fn peak_lift_torque_n_m(
    pockets: u32,
    marble_kg: f64,
    pitch_radius_m: f64,
    leave_rad: f64,
) -> f64 {
    let spacing = 2.0 * std::f64::consts::PI / f64::from(pockets.max(1));
    let mut most: f64 = 0.0;
    for place in 0..360 {
        let first = spacing * f64::from(place) / 360.0;
        let angles: Vec<f64> = (0..pockets)
            .map(|i| first + spacing * f64::from(i))
            .filter(|&phi| phi < leave_rad)
            .collect();
        most = most.max(lift_torque_n_m(&angles, marble_kg, pitch_radius_m));
    }
    most
}

/// Capacity of a cell against a steady current: (A, Ah), rising current. Falls with current, so that hours are not
/// simply rated capacity over current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Discharge(pub &'static [(f64, f64)]);

/// Alkaline AA, an independent discharge test (PowerStream).
pub const ALKALINE_AA_TESTED: Discharge =
    Discharge(&[(0.1, 2.20), (0.5, 1.30), (1.0, 0.83), (2.0, 0.54)]);

impl Discharge {
    /// Capacity (Ah) at a current (A), between the table's points in proportion to the logarithm of the current; below
    /// the first point its capacity is kept (nothing is promised beyond the test). `None` above the last point or at no
    /// current.
    pub fn capacity_ah(&self, current_a: f64) -> Option<f64> {
        let (first, last) = (self.0.first()?, self.0.last()?);
        if !(current_a > 0.0 && current_a <= last.0) {
            return None;
        }
        if current_a <= first.0 {
            return Some(first.1);
        }
        let next = self.0.iter().position(|point| current_a <= point.0)?;
        let (low, high) = (self.0[next - 1], self.0[next]);
        let share = libm::log(current_a / low.0) / libm::log(high.0 / low.0);
        Some(low.1 + (high.1 - low.1) * share)
    }

    /// Hours at a steady current (A) from `in_parallel` cells (or strings of cells) side by side; `None` as
    /// [`Discharge::capacity_ah`], or without cells.
    pub fn hours(&self, current_a: f64, in_parallel: u32) -> Option<f64> {
        if in_parallel == 0 {
            return None;
        }
        let each_a = current_a / f64::from(in_parallel);
        Some(self.capacity_ah(each_a)? / each_a)
    }
}
