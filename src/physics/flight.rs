//! A marble in the air: off an edge, against a backstop, bouncing on the next floor until it rolls.
//!
//! Rigid-body mechanics in the upright plane of the path. Between hits it flies freely. At a hit the normal speed is
//! reversed times the restitution, and friction changes speed and spin by the impulse that would stop the slip,
//! 1/(1 + (5/2) rho^2) of it (2/7 on a plane), times the grip of a hit, or by friction times the normal impulse if that is
//! less (the usual three-constant collision of a rigid sphere: restitution, friction, tangential restitution). Where bounces stay under [`SETTLED_M`] it goes on rolling with what is
//! left: its momentum about the contact is kept, so a marble set down without spin keeps 5/7 of its speed.
//!
//! Left out: air drag and the side walls.

use crate::physics::G;
use crate::physics::material::SurfaceProperties;
use crate::physics::rolling::{self, Seat};

/// A bounce lower than this counts as rolling, m: a hundredth of a millimetre, well under a marble's own roughness.
pub const SETTLED_M: f64 = 1e-5;

const MOST_HITS: usize = 400;
/// Step in which the way past the end of an upper floor is searched, s: a tenth of a millimetre at 1 m/s.
const LOOK_S: f64 = 1e-4;

/// A marble in the plane of its path. Heights and ways are of its centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FallingMarble {
    /// Way along the level, m, from the floor's upper end.
    pub x_m: f64,
    /// Height over the floor's upper end, m.
    pub z_m: f64,
    /// Speed along the level, m/s.
    pub x_speed: f64,
    /// Speed upward, m/s.
    pub z_speed: f64,
    /// Spin, rad/s, positive as when rolling along x.
    pub spin: f64,
}

/// The floor a marble falls on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ImpactFloor {
    /// Slope along x, rad, positive downhill.
    pub slope_rad: f64,
    /// Length along the slope, m.
    pub length_m: f64,
    /// How the marble sits on it.
    pub seat: Seat,
    /// What the marble came round to get here, if it did.
    pub corner: Option<CornerGeometry>,
}

/// A zig-zag corner seen from the lower floor: an upright backstop at the floor's upper end, and before it the end of the
/// upper floor, under which the marble has to pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerGeometry {
    /// From the backstop to the end of the upper floor, m.
    pub gap_m: f64,
    /// From the end of the upper floor straight down to the lower one, m.
    pub fall_m: f64,
    /// Thickness of the upper floor, m.
    pub thickness_m: f64,
    /// Slope of the upper floor, rad.
    pub slope_rad: f64,
    /// Restitution of the backstop.
    pub restitution: f64,
}

/// What became of a marble that fell on a floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LandingOutcome {
    /// It rolls on, at a way along the slope (m) and with a speed (m/s).
    Rolls {
        /// Way along the slope from the floor's upper end, m.
        at_m: f64,
        /// Speed down the slope, m/s.
        speed_m_s: f64,
    },
    /// It is still in the air over the floor's lower end.
    FliesOver(FallingMarble),
}

/// A marble, a floor and their contact.
struct FloorImpact<'a> {
    ball: FallingMarble,
    floor: &'a ImpactFloor,
    surface: &'a SurfaceProperties,
    radius_m: f64,
    sin: f64,
    cos: f64,
    time_s: f64,
}

/// Lets a marble of `radius_m` fall on a floor until it rolls down it or has flown over it: time (s) and outcome.
pub fn land(
    ball: FallingMarble,
    floor: &ImpactFloor,
    radius_m: f64,
    surface: &SurfaceProperties,
) -> (f64, LandingOutcome) {
    let mut fall = FloorImpact {
        ball,
        floor,
        surface,
        radius_m,
        sin: libm::sin(floor.slope_rad),
        cos: libm::cos(floor.slope_rad),
        time_s: 0.0,
    };
    let landing = fall.run();
    (fall.time_s, landing)
}

impl FloorImpact<'_> {
    fn run(&mut self) -> LandingOutcome {
        for _ in 0..MOST_HITS {
            let landed = if self.settled() {
                self.roll()
            } else {
                self.fly()
            };
            if let Some(landing) = landed {
                return landing;
            }
        }
        // So springy that it never settles: what is left of the bounce is dropped.
        let along = self.along_speed();
        self.ball.x_speed = along * self.cos;
        self.ball.z_speed = -along * self.sin;
        let here = self.rolls(self.along_m().max(0.0), 0.0);
        self.roll().unwrap_or(here)
    }

    fn rolls(&self, at_m: f64, speed_m_s: f64) -> LandingOutcome {
        LandingOutcome::Rolls { at_m, speed_m_s }
    }

    fn seat_height_m(&self) -> f64 {
        self.radius_m * self.floor.seat.radius_ratio
    }

    fn along_m(&self) -> f64 {
        self.ball.x_m * self.cos - self.ball.z_m * self.sin
    }

    fn above_m(&self) -> f64 {
        self.ball.x_m * self.sin + self.ball.z_m * self.cos - self.seat_height_m()
    }

    fn away_speed(&self) -> f64 {
        self.ball.x_speed * self.sin + self.ball.z_speed * self.cos
    }

    fn along_speed(&self) -> f64 {
        self.ball.x_speed * self.cos - self.ball.z_speed * self.sin
    }

    fn settled(&self) -> bool {
        let away = self.away_speed();
        let bounce_m = self.above_m() + away * away / (2.0 * G * self.cos);
        bounce_m < SETTLED_M
    }

    /// Flies to the next hit on floor, backstop or upper floor.
    fn fly(&mut self) -> Option<LandingOutcome> {
        let floor_s = self.floor_in_s();
        let stop_s = self.backstop_in_s();
        if let Some((deck_s, normal)) = self.deck_in_s(floor_s.min(stop_s)) {
            self.advance(deck_s);
            self.hit(normal, self.surface.restitution, Seat::PLANE);
            return None;
        }
        if stop_s < floor_s {
            self.advance(stop_s);
            self.hit_backstop();
            return None;
        }
        let there_m =
            self.along_m() + self.along_speed() * floor_s + 0.5 * G * self.sin * floor_s * floor_s;
        if there_m > self.floor.length_m {
            return Some(LandingOutcome::FliesOver(self.ball));
        }
        self.advance(floor_s);
        self.hit(
            (self.sin, self.cos),
            self.surface.restitution,
            self.floor.seat,
        );
        None
    }

    fn floor_in_s(&self) -> f64 {
        let pull = G * self.cos;
        let away = self.away_speed();
        let height_m = self.above_m().max(0.0);
        (away + (away * away + 2.0 * pull * height_m).sqrt()) / pull
    }

    fn backstop_in_s(&self) -> f64 {
        if self.floor.corner.is_none() || self.ball.x_speed >= 0.0 {
            return f64::INFINITY;
        }
        ((self.ball.x_m - self.radius_m) / -self.ball.x_speed).max(0.0)
    }

    /// First touch of the upper floor's end or underside within `most_s`, looked for in short steps, and its normal.
    fn deck_in_s(&self, most_s: f64) -> Option<(f64, (f64, f64))> {
        let turn = self.floor.corner?;
        let steps = (most_s / LOOK_S) as usize;
        (1..=steps).map(|i| i as f64 * LOOK_S).find_map(|time_s| {
            let ball = flown(self.ball, time_s);
            let normal = self.touches_deck(&turn, &ball)?;
            Some((time_s, normal))
        })
    }

    /// Normal from the upper floor to the marble, if they touch and close in.
    fn touches_deck(&self, turn: &CornerGeometry, ball: &FallingMarble) -> Option<(f64, f64)> {
        let (sin, cos) = (libm::sin(turn.slope_rad), libm::cos(turn.slope_rad));
        let edge_z_m = turn.fall_m - turn.gap_m * self.sin / self.cos;
        let (x, z) = (ball.x_m - turn.gap_m, ball.z_m - edge_z_m);
        let (along, over) = (x * cos + z * sin, z * cos - x * sin);
        // Nearest point of the upper floor, which reaches away from its end and down by its thickness.
        let (dx, dz) = (
            along - along.max(0.0),
            over - over.clamp(-turn.thickness_m, 0.0),
        );
        let away_m = (dx * dx + dz * dz).sqrt();
        if away_m >= self.radius_m || away_m == 0.0 {
            return None;
        }
        let (nx, nz) = (
            (dx * cos - dz * sin) / away_m,
            (dx * sin + dz * cos) / away_m,
        );
        (ball.x_speed * nx + ball.z_speed * nz < 0.0).then_some((nx, nz))
    }

    fn advance(&mut self, time_s: f64) {
        self.ball = flown(self.ball, time_s);
        self.time_s += time_s;
    }

    fn hit_backstop(&mut self) {
        let restitution = self.floor.corner.map_or(0.0, |turn| turn.restitution);
        self.hit((1.0, 0.0), restitution, Seat::PLANE);
    }

    /// A hit on a face of this normal: speed back by the restitution, friction and rolling resistance by its impulse.
    fn hit(&mut self, (nx, nz): (f64, f64), restitution: f64, seat: Seat) {
        let (rho, r) = (seat.radius_ratio, self.radius_m);
        // Along the face as the marble rolls on it.
        let (tx, tz) = (nz, -nx);
        let ball = &mut self.ball;
        let push = (1.0 + restitution) * -(ball.x_speed * nx + ball.z_speed * nz);
        // The moment of rolling resistance is that of the normal impulse: over many bounces the mean force is the
        // weight, so a bouncing marble is held back as much as one that rolls.
        let held = rolling::resistance(seat, r, self.surface) * push;
        let spin = (ball.spin.abs() - 2.5 * rho * held / r).max(0.0);
        ball.spin = spin.copysign(ball.spin);
        let slip = ball.x_speed * tx + ball.z_speed * tz - rho * r * ball.spin;
        let most = self.surface.sliding_friction * push * seat.load_ratio;
        let grip = -slip * self.surface.hit_grip / (1.0 + 2.5 * rho * rho);
        let drag = grip.clamp(-most.abs(), most.abs());
        ball.spin -= 2.5 * rho * drag / r;
        ball.x_speed += push * nx + drag * tx;
        ball.z_speed += push * nz + drag * tz;
    }

    /// Rolls on with the momentum left; uphill it comes back, or off the backstop.
    fn roll(&mut self) -> Option<LandingOutcome> {
        let seat = self.floor.seat;
        let h = self.seat_height_m();
        let spun = 0.4 * self.radius_m * self.radius_m / h * self.ball.spin;
        let speed = (self.along_speed() + spun) * seat.rolling_share();
        let at_m = self.along_m();
        if at_m > self.floor.length_m {
            return Some(LandingOutcome::FliesOver(self.ball));
        }
        if speed >= 0.0 {
            return Some(self.rolls(at_m + self.skid_lead_m(), speed));
        }
        let rise = -rolling::acceleration(-self.floor.slope_rad, seat, self.radius_m, self.surface);
        let room_m = self.room_to_backstop_m();
        let stop_m = speed * speed / (2.0 * rise.max(1e-9));
        if stop_m < room_m {
            self.time_s += -speed / rise;
            return Some(self.rolls(at_m - stop_m, 0.0));
        }
        self.roll_to_backstop(-speed, rise, room_m);
        None
    }

    /// How far a marble that skids before it rolls gets ahead of one that rolled at once: u^2 / (2 mu L g (1 + (5/2)
    /// rho^2)^2) for a slip u; 2 v^2 / (49 mu g) set down without spin on a plane.
    fn skid_lead_m(&self) -> f64 {
        let seat = self.floor.seat;
        let slip = self.along_speed() - self.seat_height_m() * self.ball.spin;
        let grip = self.surface.sliding_friction * seat.load_ratio * G * self.cos;
        let share = 1.0 + 2.5 * seat.radius_ratio * seat.radius_ratio;
        slip * slip.abs() / (2.0 * grip.max(1e-9) * share * share)
    }

    fn room_to_backstop_m(&self) -> f64 {
        if self.floor.corner.is_none() {
            return f64::INFINITY;
        }
        ((self.ball.x_m - self.radius_m) / self.cos).max(0.0)
    }

    fn roll_to_backstop(&mut self, uphill: f64, rise: f64, room_m: f64) {
        let there = (uphill * uphill - 2.0 * rise * room_m).max(0.0).sqrt();
        self.time_s += 2.0 * room_m / (uphill + there);
        let x_m = self.ball.x_m - room_m * self.cos;
        let z_m = self.ball.z_m + room_m * self.sin;
        self.ball = FallingMarble {
            x_m,
            z_m,
            x_speed: -there * self.cos,
            z_speed: there * self.sin,
            spin: -there / self.seat_height_m(),
        };
        self.hit_backstop();
    }
}

fn flown(ball: FallingMarble, time_s: f64) -> FallingMarble {
    FallingMarble {
        x_m: ball.x_m + ball.x_speed * time_s,
        z_m: ball.z_m + (ball.z_speed - 0.5 * G * time_s) * time_s,
        z_speed: ball.z_speed - G * time_s,
        ..ball
    }
}

/// A marble that rolls over a square edge at `speed_m_s` on a slope: time (s) until the edge no longer carries it, and
/// the ball then, x and z from the edge. It pivots about the edge (energy kept, no slip) until the edge would have to
/// pull: cos T (1 + K) = K cos t + v^2/(g h), K twice the rolling share; a marble faster than sqrt(g h cos t) flies at once.
pub fn over_edge(
    speed_m_s: f64,
    slope_rad: f64,
    seat: Seat,
    radius_m: f64,
) -> (f64, FallingMarble) {
    let h = radius_m * seat.radius_ratio;
    let k = 2.0 * seat.rolling_share();
    let cos_start = libm::cos(slope_rad);
    // From rest it would balance on the edge for ever: a creeping speed tips it.
    let entry = speed_m_s.max(1e-3);
    let cos_end = (k * cos_start + entry * entry / (G * h)) / (1.0 + k);
    let end_rad = if cos_end < cos_start {
        libm::acos(cos_end)
    } else {
        slope_rad
    };
    let speed_at =
        |lean: f64| (entry * entry + k * G * h * (cos_start - libm::cos(lean)).max(0.0)).sqrt();
    let time_s = pivot_time_s(slope_rad, end_rad, h, speed_at);
    let speed = speed_at(end_rad);
    let (sin, cos) = (libm::sin(end_rad), libm::cos(end_rad));
    let ball = FallingMarble {
        x_m: h * sin,
        z_m: h * cos,
        x_speed: speed * cos,
        z_speed: -speed * sin,
        spin: speed / h,
    };
    (time_s, ball)
}

/// Time along the arc by Simpson's rule, in the square root of the lean, which tames the slow start.
fn pivot_time_s(from_rad: f64, to_rad: f64, h: f64, speed_at: impl Fn(f64) -> f64) -> f64 {
    const PARTS: usize = 200;
    let span = to_rad - from_rad;
    if span <= 0.0 {
        return 0.0;
    }
    let part = 1.0 / PARTS as f64;
    let rate = |u: f64| 2.0 * u * span * h / speed_at(from_rad + span * u * u);
    let sum: f64 = (0..PARTS)
        .map(|i| {
            let u = i as f64 * part;
            rate(u) + 4.0 * rate(u + part / 2.0) + rate(u + part)
        })
        .sum();
    sum * part / 6.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From the nearest point of the stretch from `a` to `b` to `c`.
    fn away([ax, az]: [f64; 2], [bx, bz]: [f64; 2], [cx, cz]: [f64; 2]) -> [f64; 2] {
        let (ux, uz) = (bx - ax, bz - az);
        let t = (((cx - ax) * ux + (cz - az) * uz) / (ux * ux + uz * uz)).clamp(0.0, 1.0);
        [cx - ax - t * ux, cz - az - t * uz]
    }

    /// From the nearest point of three stretches to `c`.
    fn nearest(faces: [[[f64; 2]; 2]; 3], c: [f64; 2]) -> [f64; 2] {
        faces
            .map(|[a, b]| away(a, b, c))
            .into_iter()
            .min_by(|a, b| a[0].hypot(a[1]).total_cmp(&b[0].hypot(b[1])))
            .expect("three")
    }

    /// How many marbles going each of eight ways touch the upper floor, whose nearest point lies so far from their centre.
    fn touches(
        fall: &FloorImpact,
        turn: &CornerGeometry,
        [nx, nz]: [f64; 2],
        centre: [f64; 2],
    ) -> u32 {
        let gap = nx.hypot(nz);
        let mut met = 0;
        for eighth in 0..8 {
            let (z_speed, x_speed) = (f64::from(eighth) * 45.0 + 6.0).to_radians().sin_cos();
            let ball = FallingMarble {
                x_m: centre[0],
                z_m: centre[1],
                x_speed,
                z_speed,
                spin: 0.0,
            };
            let closes = x_speed * nx + z_speed * nz < 0.0;
            let found = fall.touches_deck(turn, &ball);
            assert_eq!(found.is_some(), gap < 0.007 && closes, "{centre:?} {gap}");
            if let Some((x, z)) = found {
                assert!(
                    (x - nx / gap).abs() < 1e-9 && (z - nz / gap).abs() < 1e-9,
                    "{x} {z} at {centre:?}"
                );
                met += 1;
            }
        }
        met
    }

    /// The upper floor as three straight faces, its end and the two sides that go on from there, in the frame of the lower
    /// one: places all round the end, each with a marble going each of eight ways.
    #[test]
    fn a_marble_touches_the_upper_floor_where_it_is() {
        let surface = SurfaceProperties::WOOD;
        for (lower, upper) in [(0.0_f64, 0.0_f64), (5.0, 12.0), (25.0, 3.0), (40.0, 35.0)] {
            let turn = CornerGeometry {
                gap_m: 0.040,
                fall_m: 0.070,
                thickness_m: 0.009,
                slope_rad: upper.to_radians(),
                restitution: 0.5,
            };
            let floor = ImpactFloor {
                slope_rad: lower.to_radians(),
                length_m: 1.0,
                seat: Seat::PLANE,
                corner: Some(turn),
            };
            let (sin, cos) = floor.slope_rad.sin_cos();
            let still = FallingMarble {
                x_m: 0.0,
                z_m: 0.0,
                x_speed: 0.0,
                z_speed: 0.0,
                spin: 0.0,
            };
            let fall = FloorImpact {
                ball: still,
                floor: &floor,
                surface: &surface,
                radius_m: 0.007,
                sin,
                cos,
                time_s: 0.0,
            };
            // Straight down from its end to the lower floor, which falls away from the backstop, it is 70 mm.
            let (up_x, up_z) = (libm::cos(turn.slope_rad), libm::sin(turn.slope_rad));
            let top = [0.040, 0.070 - 0.040 * libm::tan(floor.slope_rad)];
            let bottom = [top[0] + 0.009 * up_z, top[1] - 0.009 * up_x];
            let far = |from: [f64; 2]| [from[0] + up_x, from[1] + up_z];
            let faces = [[top, bottom], [top, far(top)], [bottom, far(bottom)]];
            let mut met = 0;
            for (i, j) in (0..40).flat_map(|i| (0..40).map(move |j| (f64::from(i), f64::from(j)))) {
                let centre = [0.0201 + 0.001 * i, top[1] - 0.0247 + 0.001 * j];
                let inside = {
                    let (x, z) = (centre[0] - top[0], centre[1] - top[1]);
                    let (along, over) = (x * up_x + z * up_z, z * up_x - x * up_z);
                    along > 0.0 && (-0.009..0.0).contains(&over)
                };
                if inside {
                    continue;
                }
                met += touches(&fall, &turn, nearest(faces, centre), centre);
            }
            assert!(met > 1000, "{met}");
        }
    }
}
