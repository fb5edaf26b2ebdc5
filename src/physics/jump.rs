//! A ball that rolls off a lip, flies over a gap and rolls on.
//!
//! Flight without drag (any mechanics text): from a lip that rises at the angle a, at speed v, down by f,
//! x = v cos a (v sin a + sqrt(v^2 sin^2 a + 2 g f)) / g, and so v^2 = g x^2 / (2 cos^2 a (x tan a + f)). The ball lands dead and
//! rolls on with what its spin leaves it: about the point of contact its moment of momentum stays, so that it goes on at
//! v (5 cos a + 2) / 7. Left out: bounces on the landing, which take no part in where it lands.

use super::G;

/// A gap to fly over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// From the lip to where the landing begins, level, m.
    pub gap_m: f64,
    /// Length of the landing, level, m.
    pub landing_m: f64,
    /// From the lip down to the landing, m, at least 0.
    pub fall_m: f64,
    /// How steeply the lip rises, rad, from 0 up.
    pub rises_rad: f64,
}

/// Over the gap and along the landing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leap {
    /// How long it takes, s.
    pub time_s: f64,
    /// How far from the lip it lands, level, m.
    pub reaches_m: f64,
    /// Speed along the landing, m/s.
    pub exit_m_s: f64,
}

impl Gap {
    /// Least speed at the lip that reaches the landing, m/s.
    pub fn least_m_s(&self) -> f64 {
        self.reaching_m_s(self.gap_m)
    }

    /// Greatest speed at the lip that does not fly past the landing, m/s.
    pub fn most_m_s(&self) -> f64 {
        self.reaching_m_s(self.gap_m + self.landing_m)
    }

    fn reaching_m_s(&self, reach_m: f64) -> f64 {
        let cosine = libm::cos(self.rises_rad);
        let rise_m = reach_m * libm::tan(self.rises_rad) + self.fall_m;
        (G * reach_m * reach_m / (2.0 * cosine * cosine * rise_m)).sqrt()
    }

    /// The flight at this speed at the lip, m/s; `None` where it falls short of the landing or flies past it.
    pub fn leap(&self, entry_m_s: f64) -> Option<Leap> {
        if !(self.least_m_s()..=self.most_m_s()).contains(&entry_m_s) {
            return None;
        }
        let (along, up) = (
            entry_m_s * libm::cos(self.rises_rad),
            entry_m_s * libm::sin(self.rises_rad),
        );
        let flies_s = (up + (up * up + 2.0 * G * self.fall_m).sqrt()) / G;
        let reaches_m = along * flies_s;
        let exit_m_s = (5.0 * along + 2.0 * entry_m_s) / 7.0;
        let rolls_m = (self.gap_m + self.landing_m - reaches_m).max(0.0);
        Some(Leap {
            time_s: flies_s + rolls_m / exit_m_s,
            reaches_m,
            exit_m_s,
        })
    }
}
