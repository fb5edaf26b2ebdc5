//! The return floor: two boards pitched to a valley that runs down to a mouth in the end wall.
//!
//! A marble falls, bounces, rolls down to the valley, swings across it and mostly misses the mouth at first: it hits
//! the end wall beside it, where the wall's friction takes spin and speed from it, until it finds the way out. One
//! marble is followed by stepping a ball among the boards and walls ([`crate::physics::floor_ball`]): the single time is
//! as chancy as the real one, the mean over an area of fall is not.
//!
//! Valid for one marble at a time; a crowd at the mouth is in [`crate::physics::mouth`]. No constant was fitted.

use crate::physics::floor_ball::{Obstacle, RollingBall, Vector3, dot};
use crate::physics::material::{Marble, SurfaceProperties};

/// A return floor. Places on it: `x` along the valley from the wall far from the mouth, `y` across it from the valley.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Floor {
    /// Along the valley, m.
    pub length_m: f64,
    /// Across the valley, wall to wall, m; the valley runs down the middle.
    pub width_m: f64,
    /// Fall of each board towards the valley, rad.
    pub cross_pitch_rad: f64,
    /// Fall of the valley towards the mouth, rad.
    pub valley_pitch_rad: f64,
    /// Clear width of the mouth and of the single-file lane behind it, m.
    pub mouth_m: f64,
    /// How the marble rolls and bounces on boards and walls.
    pub surface: SurfaceProperties,
}

const STEP_S: f64 = 5e-4;
/// A marble not home by then is taken for one that stays.
const LONGEST_S: f64 = 60.0;

impl Floor {
    /// Which way the board on one side (1 or -1) faces.
    fn facing(&self, side: f64) -> Vector3 {
        let along = libm::tan(self.valley_pitch_rad);
        let across = -side * libm::tan(self.cross_pitch_rad);
        let scale = 1.0 / (1.0 + along * along + across * across).sqrt();
        [along * scale, across * scale, scale]
    }

    /// The end wall with its mouth, or the lane behind it: the nearest upright line of wood.
    fn end_wall(&self, centre: Vector3, radius_m: f64) -> Obstacle {
        let half = self.mouth_m / 2.0;
        let side = if centre[1] < 0.0 { -1.0 } else { 1.0 };
        let beside = centre[1].abs() >= half;
        let x = if beside {
            self.length_m
        } else {
            self.length_m.max(centre[0])
        };
        let y = if beside { centre[1] } else { side * half };
        let away = [centre[0] - x, centre[1] - y];
        let far = (away[0] * away[0] + away[1] * away[1]).sqrt().max(1e-12);
        Obstacle {
            normal: [away[0] / far, away[1] / far, 0.0],
            gap_m: far - radius_m,
        }
    }

    /// Everything that can touch a ball; the boards face as [`Floor::facing`] says.
    fn near(&self, boards: &[Vector3; 2], ball: &RollingBall) -> [Obstacle; 6] {
        let (r, centre, half) = (ball.radius_m, ball.centre, self.width_m / 2.0);
        let board = |normal: Vector3| Obstacle {
            normal,
            gap_m: dot(normal, centre) - r,
        };
        [
            board(boards[0]),
            board(boards[1]),
            self.end_wall(centre, r),
            Obstacle {
                normal: [1.0, 0.0, 0.0],
                gap_m: centre[0] - r,
            },
            Obstacle {
                normal: [0.0, 1.0, 0.0],
                gap_m: centre[1] + half - r,
            },
            Obstacle {
                normal: [0.0, -1.0, 0.0],
                gap_m: half - centre[1] - r,
            },
        ]
    }

    /// A ball held at a height above the boards.
    fn dropped(&self, x_m: f64, y_m: f64, marble: &Marble, height_m: f64) -> RollingBall {
        let board =
            y_m.abs() * libm::tan(self.cross_pitch_rad) - x_m * libm::tan(self.valley_pitch_rad);
        let radius_m = marble.radius_m();
        RollingBall {
            radius_m,
            centre: [x_m, y_m, board + radius_m + height_m],
            velocity: [0.0; 3],
            spin: [0.0; 3],
        }
    }
}

/// A marble at the mouth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homecoming {
    /// Since it was dropped, s.
    pub time_s: f64,
    /// Out of the mouth, m/s.
    pub speed_m_s: f64,
}

/// From the drop at (`x_m`, `y_m`), `height_m` above the floor, until the marble's centre is half a diameter past the
/// mouth; `None` if it does not come home within a minute.
pub fn roll_home(
    x_m: f64,
    y_m: f64,
    floor: &Floor,
    marble: &Marble,
    height_m: f64,
) -> Option<Homecoming> {
    let mut ball = floor.dropped(x_m, y_m, marble, height_m);
    let home = floor.length_m + ball.radius_m;
    let boards = [floor.facing(1.0), floor.facing(-1.0)];
    let mut time_s = 0.0;
    while time_s < LONGEST_S {
        if ball.centre[0] >= home {
            return Some(Homecoming {
                time_s,
                speed_m_s: ball.velocity[0],
            });
        }
        time_s += ball.step(&floor.near(&boards, &ball), &floor.surface, STEP_S);
    }
    None
}

/// The digits of `k` in a base, mirrored behind the point: Halton's points take one base for each direction.
pub fn van_der_corput(mut k: usize, base: u32) -> f64 {
    let (mut value, mut place) = (0.0, 1.0);
    while k > 0 {
        place /= f64::from(base);
        value += place * (k % base as usize) as f64;
        k /= base as usize;
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ball of 7 mm on a floor of 300 by 400 mm, 50 mm from the wall on one side and 100 mm from the far wall.
    #[test]
    fn walls_stand_where_the_floor_ends() {
        let floor = Floor {
            length_m: 0.400,
            width_m: 0.300,
            cross_pitch_rad: 0.05,
            valley_pitch_rad: 0.03,
            mouth_m: 0.018,
            surface: SurfaceProperties::WOOD,
        };
        for side in [1.0, -1.0] {
            let ball = RollingBall {
                radius_m: 0.007,
                centre: [0.100, side * 0.100, 0.05],
                velocity: [0.0; 3],
                spin: [0.0; 3],
            };
            let near = floor.near(&[floor.facing(1.0), floor.facing(-1.0)], &ball);
            let gap = |normal: Vector3| {
                near.iter()
                    .find(|near| dot(near.normal, normal) > 1.0 - 1e-12)
                    .expect("a wall")
                    .gap_m
            };
            assert!((gap([-1.0, 0.0, 0.0]) - 0.293).abs() < 1e-12, "end wall");
            assert!((gap([1.0, 0.0, 0.0]) - 0.093).abs() < 1e-12, "far wall");
            assert!((gap([0.0, -side, 0.0]) - 0.043).abs() < 1e-12, "near side");
            assert!((gap([0.0, side, 0.0]) - 0.243).abs() < 1e-12, "other side");
        }
    }
}
