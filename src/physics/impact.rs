//! A marble that strikes something smooth and heavy, as a bell: the part of its speed along the normal comes back times the
//! coefficient of restitution, the part along the face stays (oblique impact on a smooth plane, any textbook of mechanics).
//!
//! Restitutions measured vary with speed and from hit to hit (G. Guettler, D. Heisselmann, J. Blum, S. Krijt, "Normal
//! collisions of spheres: a literature survey on available experiments", arXiv:1204.0001 (2012)); none for marbles on bells
//! was found, so that the file's own figure counts, or that of wood. Spin is left out.

/// One strike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SmoothImpact {
    /// Speed before it, m/s.
    pub speed_m_s: f64,
    /// From the way of the marble to the normal of the face, rad; 0: head-on.
    pub angle_rad: f64,
    /// Coefficient of restitution, 0 to 1.
    pub restitution: f64,
}

impl SmoothImpact {
    /// Share of its energy that is left after it: e^2 cos^2 b + sin^2 b.
    pub fn energy_left(&self) -> f64 {
        let back = self.restitution * libm::cos(self.angle_rad);
        let along = libm::sin(self.angle_rad);
        back * back + along * along
    }

    /// Speed after it, m/s.
    pub fn out_m_s(&self) -> f64 {
        self.speed_m_s * self.energy_left().sqrt()
    }
}
