//! A marble in the air: off an edge, against a backstop, bouncing on the next floor until it rolls.
//!
//! Rigid-body mechanics in the upright plane of the path. Between hits it flies freely. At a hit the normal speed is
//! reversed times the restitution, and friction changes speed and spin by the impulse that would stop the slip,
//! 1/(1 + (5/2) rho^2) of it (2/7 on a plane), or by friction times the normal impulse if that is less (the usual
//! two-constant collision of a rigid sphere). Where bounces stay under [`SETTLED_M`] it goes on rolling with what is
//! left: its momentum about the contact is kept, so a marble set down without spin keeps 5/7 of its speed.
//!
//! Left out: air drag and the side walls.

use crate::physics::G;
use crate::physics::material::Surface;
use crate::physics::rolling::{self, Seat};

/// A bounce lower than this counts as rolling, m: a hundredth of a millimetre, well under a marble's own roughness.
pub const SETTLED_M: f64 = 1e-5;

const MOST_HITS: usize = 400;

/// A marble in the plane of its path. Heights and ways are of its centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ball {
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
pub struct Floor {
    /// Slope along x, rad, positive downhill.
    pub slope_rad: f64,
    /// Length along the slope, m.
    pub length_m: f64,
    /// How the marble sits on it.
    pub seat: Seat,
    /// Restitution of an upright backstop at the upper end, if there is one.
    pub backstop: Option<f64>,
}

/// What became of a marble that fell on a floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Landing {
    /// It rolls on, at a way along the slope (m) and with a speed (m/s).
    Rolls {
        /// Way along the slope from the floor's upper end, m.
        at_m: f64,
        /// Speed down the slope, m/s.
        speed_m_s: f64,
    },
    /// It is still in the air over the floor's lower end.
    FliesOver(Ball),
}

/// A marble, a floor and their contact.
struct Fall<'a> {
    ball: Ball,
    floor: &'a Floor,
    surface: &'a Surface,
    radius_m: f64,
    sin: f64,
    cos: f64,
    time_s: f64,
}

/// Lets a marble of `radius_m` fall on a floor until it rolls down it or has flown over it: time (s) and outcome.
pub fn land(ball: Ball, floor: &Floor, radius_m: f64, surface: &Surface) -> (f64, Landing) {
    let mut fall = Fall {
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

impl Fall<'_> {
    fn run(&mut self) -> Landing {
        for _ in 0..MOST_HITS {
            let landed = if self.settled() { self.roll() } else { self.fly() };
            if let Some(landing) = landed {
                return landing;
            }
        }
        self.rolls(self.along_m().max(0.0), 0.0)
    }

    fn rolls(&self, at_m: f64, speed_m_s: f64) -> Landing {
        Landing::Rolls { at_m, speed_m_s }
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

    /// Flies to the next hit on floor or backstop.
    fn fly(&mut self) -> Option<Landing> {
        let pull = G * self.cos;
        let away = self.away_speed();
        let height_m = self.above_m().max(0.0);
        let floor_s = (away + (away * away + 2.0 * pull * height_m).sqrt()) / pull;
        let stop_s = self.backstop_in_s();
        if stop_s < floor_s {
            self.advance(stop_s);
            self.hit_backstop();
            return None;
        }
        let there_m = self.along_m() + self.along_speed() * floor_s + 0.5 * G * self.sin * floor_s * floor_s;
        if there_m > self.floor.length_m {
            return Some(Landing::FliesOver(self.ball));
        }
        self.advance(floor_s);
        self.hit_floor();
        None
    }

    fn backstop_in_s(&self) -> f64 {
        if self.floor.backstop.is_none() || self.ball.x_speed >= 0.0 {
            return f64::INFINITY;
        }
        ((self.ball.x_m - self.radius_m) / -self.ball.x_speed).max(0.0)
    }

    fn advance(&mut self, time_s: f64) {
        let ball = &mut self.ball;
        ball.x_m += ball.x_speed * time_s;
        ball.z_m += (ball.z_speed - 0.5 * G * time_s) * time_s;
        ball.z_speed -= G * time_s;
        self.time_s += time_s;
    }

    fn hit_floor(&mut self) {
        let seat = self.floor.seat;
        let (away, along) = (self.away_speed(), self.along_speed());
        let push = (1.0 + self.surface.restitution) * -away;
        let drag = self.drag(push * seat.load_ratio, along, seat.radius_ratio);
        self.set_speed(along + drag, away + push);
    }

    fn hit_backstop(&mut self) {
        let restitution = self.floor.backstop.unwrap_or(0.0);
        let push = (1.0 + restitution) * -self.ball.x_speed;
        self.ball.x_speed += push;
        // Along an upright face met from the right, rolling onward is downward.
        let drag = self.drag(push, -self.ball.z_speed, 1.0);
        self.ball.z_speed -= drag;
    }

    /// Change of speed along a face by friction, and the change of spin that goes with it.
    fn drag(&mut self, push: f64, along: f64, rho: f64) -> f64 {
        let slip = along - rho * self.radius_m * self.ball.spin;
        let most = self.surface.sliding_friction * push.abs();
        let drag = (-slip / (1.0 + 2.5 * rho * rho)).clamp(-most, most);
        self.ball.spin -= 2.5 * rho * drag / self.radius_m;
        drag
    }

    fn set_speed(&mut self, along: f64, away: f64) {
        self.ball.x_speed = along * self.cos + away * self.sin;
        self.ball.z_speed = away * self.cos - along * self.sin;
    }

    /// Rolls on with the momentum left; uphill it comes back, or off the backstop.
    fn roll(&mut self) -> Option<Landing> {
        let seat = self.floor.seat;
        let h = self.seat_height_m();
        let spun = 0.4 * self.radius_m * self.radius_m / h * self.ball.spin;
        let speed = (self.along_speed() + spun) * seat.rolling_share();
        let at_m = self.along_m();
        if at_m > self.floor.length_m {
            return Some(Landing::FliesOver(self.ball));
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
        if self.floor.backstop.is_none() {
            return f64::INFINITY;
        }
        ((self.ball.x_m - self.radius_m) / self.cos).max(0.0)
    }

    fn roll_to_backstop(&mut self, uphill: f64, rise: f64, room_m: f64) {
        let there = (uphill * uphill - 2.0 * rise * room_m).max(0.0).sqrt();
        self.time_s += 2.0 * room_m / (uphill + there);
        let x_m = self.ball.x_m - room_m * self.cos;
        let z_m = self.ball.z_m + room_m * self.sin;
        let spin = -there / self.seat_height_m();
        self.ball = Ball { x_m, z_m, x_speed: 0.0, z_speed: 0.0, spin };
        self.set_speed(-there, 0.0);
        self.hit_backstop();
    }
}

/// A marble that rolls over a square edge at `speed_m_s` on a slope: time (s) until the edge no longer carries it, and
/// the ball then, x and z from the edge. It pivots about the edge (energy kept, no slip) until the edge would have to
/// pull: cos T (1 + K) = K cos t + v^2/(g h), K twice the rolling share; a marble faster than sqrt(g h cos t) flies at once.
pub fn over_edge(speed_m_s: f64, slope_rad: f64, seat: Seat, radius_m: f64) -> (f64, Ball) {
    let h = radius_m * seat.radius_ratio;
    let k = 2.0 * seat.rolling_share();
    let cos_start = libm::cos(slope_rad);
    // From rest it would balance on the edge for ever: a creeping speed tips it.
    let entry = speed_m_s.max(1e-3);
    let cos_end = (k * cos_start + entry * entry / (G * h)) / (1.0 + k);
    let end_rad = if cos_end < cos_start { libm::acos(cos_end) } else { slope_rad };
    let speed_at = |lean: f64| (entry * entry + k * G * h * (cos_start - libm::cos(lean)).max(0.0)).sqrt();
    let time_s = pivot_time_s(slope_rad, end_rad, h, speed_at);
    let speed = speed_at(end_rad);
    let (sin, cos) = (libm::sin(end_rad), libm::cos(end_rad));
    let ball = Ball { x_m: h * sin, z_m: h * cos, x_speed: speed * cos, z_speed: -speed * sin, spin: speed / h };
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
