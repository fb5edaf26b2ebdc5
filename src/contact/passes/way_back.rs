//! The way of marbles round the loop: off the wheel or the ramp, away for a while, and onto the ramp again.

use super::{Looking, normal, past, uniform};
use crate::G;
use crate::vector::vector;
use crate::world::Sphere;

/// How far marbles put on the ramp lie off its middle, standard deviation, m.
pub(super) const ASIDE_M: f64 = 0.0003;

/// How far beyond where pockets are judged marbles are carried, in pockets: nothing that happens there is asked.
const CARRIED: f64 = 0.6;
/// How much longer they are away for it, in pockets, so that loops are as long as the numbers in them were chosen for.
const NOT_CARRIED: f64 = 0.7;

/// A marble that is neither on the ramp nor on the wheel.
pub(super) struct AwayMarble {
    number: usize,
    radius_m: f64,
    /// When it is put back at the earliest, s.
    due_s: f64,
}

impl Looking {
    /// Height under which a marble has fallen off, m.
    pub(super) fn fallen_z_m(&self) -> f64 {
        self.place.end_z_m() - 0.05
    }

    /// Room behind the last marble, m from the face.
    pub(super) fn place_behind(&self) -> f64 {
        let (d, floor) = (self.place.marbles.diameter_m, self.fallen_z_m());
        let mut last = f64::NEG_INFINITY;
        for sphere in &self.world.spheres {
            if sphere.at.z >= floor {
                last = last.max(-sphere.at.x);
            }
        }
        (last + 1.6 * d).max(self.task.back_at * d * libm::cos(self.place.ramp.slope_rad))
    }

    pub(super) fn furthest(&self) -> f64 {
        self.place.ramp.length_m - 1.5 * self.place.marbles.diameter_m
    }

    /// A marble on the ramp so far back from the face, with the speed that lets it come to the wheel as lone ones do.
    fn on_ramp(&self, radius: f64, back_m: f64, aside_m: f64) -> Sphere {
        let (ramp, d) = (&self.place.ramp, self.place.marbles.diameter_m);
        let (c, s) = (libm::cos(ramp.slope_rad), libm::sin(ramp.slope_rad));
        let lever = self.place.marbles.on_wood.rolling_lever_m;
        let gained = 10.0 / 7.0 * G * (s - c * 2.0 * lever / d) * back_m / c;
        let speed = (ramp.arrives_m_s * ramp.arrives_m_s - gained)
            .max(0.0)
            .sqrt();
        let at = self.place.on_ramp(back_m, aside_m);
        let mut sphere = Sphere::new(radius, self.place.marbles.density_kg_m3, at);
        sphere.velocity = vector(speed * c, 0.0, -speed * s);
        sphere.spin = vector(0.0, speed * 2.0 / d, 0.0);
        sphere
    }

    /// Puts a marble elsewhere on the ramp.
    pub(super) fn put_on_ramp(&mut self, sphere: usize, back_m: f64, aside_m: f64) {
        let put = self.on_ramp(self.world.spheres[sphere].radius, back_m, aside_m);
        self.world.put(sphere, put.at, put.velocity, put.spin);
    }

    /// Takes away who is well up the wheel or over the side.
    pub(super) fn take_away(&mut self) {
        let radius = self.place.wheel.pitch_radius_m;
        let floor = self.fallen_z_m();
        let up_to = self.judged_at + CARRIED * self.pitch;
        let pocket_s = self.pitch / self.place.drive.speed_rad_s;
        for i in (0..self.world.spheres.len()).rev() {
            let sphere = &self.world.spheres[i];
            let up = sphere.at.x > -3.0 * sphere.radius && past(sphere.at, up_to);
            let out = (sphere.at.z < floor || sphere.at.y.abs() > radius * 1.5) && !up;
            if !up && !out {
                continue;
            }
            self.now.lost += u32::from(out);
            self.away.push(AwayMarble {
                number: self.numbers.remove(i),
                radius_m: sphere.radius,
                due_s: self.world.time
                    + (NOT_CARRIED + uniform(&mut self.chance) * self.task.away_pockets) * pocket_s,
            });
            self.world.take_out(i);
        }
    }

    /// Puts back on the ramp who has been away for its while, the first due first, where there is room.
    pub(super) fn put_back(&mut self) {
        let first =
            (0..self.away.len()).min_by(|&a, &b| self.away[a].due_s.total_cmp(&self.away[b].due_s));
        let Some(first) = first.filter(|&first| self.away[first].due_s <= self.world.time) else {
            return;
        };
        let back = self.place_behind();
        if back <= self.furthest() {
            let aside = normal(&mut self.chance, ASIDE_M);
            let marble = self.away.remove(first);
            self.numbers.push(marble.number);
            self.world.add(self.on_ramp(marble.radius_m, back, aside));
        }
    }
}
