//! A marble rolling across a hole in a bowl: does it fall in, and what speed is left if not?
//!
//! Over the hole the centre flies free, or leans on the near edge where the path only grazes the hole. It is caught if
//! it sinks half a diameter before the far edge meets it: on a flat board, straight across the middle, that is
//! v_max = (L - D/2) sqrt(g/D) (B. W. Holmes, "Putting: How a golf ball and hole interact", Am. J. Phys. 59, 1991).
//! If it sinks less, it strikes the far edge at an angle, loses part of its speed there and may still fall back.

use crate::physics::bowl::Hole;

/// One pass over a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Speed along the board, m/s.
    pub speed_m_s: f64,
    /// What presses the marble to the board, m/s2: g on a level board, more on a curved one.
    pub press_m_s2: f64,
    /// How far the path of the contact passes the centre of the hole, m.
    pub offset_m: f64,
    /// Diameter of the hole, m.
    pub hole_m: f64,
}

/// A hole reached by a path.
pub(crate) struct Reached {
    /// Which hole.
    pub hole: usize,
    /// The pass, without speed and press.
    pub crossing: Crossing,
}

/// A hole with its place seen from above.
pub(crate) struct Placed {
    centre: [f64; 2],
    diameter_m: f64,
}

impl Placed {
    /// Is the contact over this hole?
    pub fn under(&self, contact: [f64; 2]) -> bool {
        libm::hypot(contact[0] - self.centre[0], contact[1] - self.centre[1])
            < self.diameter_m / 2.0
    }
}

impl Crossing {
    /// Speed left after the pass, m/s, or `None` if the hole takes the marble.
    ///
    /// With the marble sunk by s, the far edge meets it u = sqrt(2 r s - s^2) before its centre; the hit takes
    /// (1 + e) times the speed along the normal, and the spin it keeps gives back: it rolls again at
    /// (5/7) v + (2/7) of the old speed. It falls in if what is left cannot lift it by s.
    pub fn outcome(&self, radius_m: f64, restitution: f64) -> Option<f64> {
        if self.hole_m <= 2.0 * radius_m {
            return Some(self.speed_m_s);
        }
        let half = self.hole_m / 2.0;
        let chord = 2.0
            * (half * half - self.offset_m * self.offset_m)
                .max(0.0)
                .sqrt();
        let sunk = self.sunk_m(radius_m, chord)?;
        let along = (2.0 * radius_m * sunk - sunk * sunk).sqrt();
        let falling = (2.0 * self.press_m_s2 * sunk).sqrt();
        let up = radius_m - sunk;
        let hit = (1.0 + restitution) * (self.speed_m_s * along + falling * up) / radius_m;
        let slid = self.speed_m_s - hit * along / radius_m;
        let rolling = (5.0 * slid + 2.0 * self.speed_m_s) / 7.0;
        let rising = (hit * up / radius_m - falling).max(0.0);
        let lift = 0.7 * rolling * rolling + 0.5 * rising * rising;
        (rolling > 0.0 && lift >= self.press_m_s2 * sunk).then_some(rolling)
    }

    /// How far the marble has sunk when the far edge meets it, m; `None` if it is in by then.
    fn sunk_m(&self, radius_m: f64, chord_m: f64) -> Option<f64> {
        let leaning = self.leaning_m(radius_m, chord_m);
        let sunk_at = |time_s: f64| (self.press_m_s2 * time_s * time_s / 2.0).min(leaning);
        let (mut early, mut late) = (0.0, chord_m / self.speed_m_s.max(1e-6));
        for _ in 0..60 {
            let middle = (early + late) / 2.0;
            let sunk = sunk_at(middle).min(radius_m);
            let across = (2.0 * radius_m * sunk - sunk * sunk).sqrt();
            if chord_m - self.speed_m_s * middle - across > 0.0 {
                early = middle
            } else {
                late = middle
            }
        }
        let sunk = sunk_at(early);
        if sunk < radius_m * (1.0 - 1e-9) {
            Some(sunk)
        } else {
            None
        }
    }

    /// How far the near edge lets the marble sink, m. A path that grazes the hole keeps leaning on that edge, and leans
    /// over ever faster: x'' = (5/7) (press/r) x, x the contact's distance inside the edge.
    fn leaning_m(&self, radius_m: f64, chord_m: f64) -> f64 {
        let rate = (5.0 / 7.0 * self.press_m_s2 / radius_m).sqrt();
        let growth = libm::cosh((rate * chord_m / self.speed_m_s.max(1e-6)).min(20.0));
        let edge = ((self.hole_m / 2.0 - self.offset_m) * growth).clamp(0.0, radius_m);
        radius_m - (radius_m * radius_m - edge * edge).sqrt()
    }

    /// Time over the hole, s.
    pub fn time_s(&self) -> f64 {
        let half = self.hole_m / 2.0;
        2.0 * (half * half - self.offset_m * self.offset_m)
            .max(0.0)
            .sqrt()
            / self.speed_m_s.max(1e-6)
    }
}

/// Holes turned by an angle, as seen from above.
pub(crate) fn placed(holes: &[Hole], turn_rad: f64) -> Vec<Placed> {
    let mut all = Vec::with_capacity(holes.len());
    for hole in holes {
        let angle = hole.azimuth_rad + turn_rad;
        all.push(Placed {
            centre: [
                hole.circle_m * libm::cos(angle),
                hole.circle_m * libm::sin(angle),
            ],
            diameter_m: hole.diameter_m,
        });
    }
    all
}

/// The hole that the contact is over and still heading across, if any.
pub(crate) fn reached(holes: &[Placed], contact: [f64; 2], velocity: [f64; 3]) -> Option<Reached> {
    let level = libm::hypot(velocity[0], velocity[1]).max(1e-12);
    let heading = [velocity[0] / level, velocity[1] / level];
    holes.iter().enumerate().find_map(|(hole, placed)| {
        let away = [contact[0] - placed.centre[0], contact[1] - placed.centre[1]];
        let offset_m = (away[0] * heading[1] - away[1] * heading[0]).abs();
        let inbound = away[0] * heading[0] + away[1] * heading[1] < 0.0;
        let crossing = Crossing {
            speed_m_s: 0.0,
            press_m_s2: 0.0,
            offset_m,
            hole_m: placed.diameter_m,
        };
        (placed.under(contact) && inbound).then_some(Reached { hole, crossing })
    })
}
