//! A return floor: two boards pitched to a valley, walls about them, and a mouth at the valley's end with or without funnel
//! walls before it.
//!
//! Frame: x along the valley from the wall far from the mouth, y across from the valley, z up from the valley's upper end.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::G;
use super::crowd::{Coming, CrowdPlace, Entry, Whereabouts};
use super::place::MarbleProperties;
use super::scatter::halton;
use super::surface::{Block, Plane, Surface};
use super::vector::{Vector, vector};
use super::world::Sphere;

/// Where marbles land.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LandingSpot {
    /// Anywhere on the floor, evenly.
    Anywhere,
    /// About a spot, by the normal law.
    About {
        /// Along the valley from the wall far from the mouth, m.
        x_m: f64,
        /// Across from the valley, m.
        y_m: f64,
        /// Standard deviation both ways, m.
        spread_m: f64,
    },
}

/// How marbles come down on a floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloorEntrance {
    /// Where.
    pub spot: LandingSpot,
    /// Speed along the floor's plane that they bring with them, rolling, m/s.
    pub speed_m_s: f64,
    /// Which way that goes, from straight to the mouth towards the side of growing y, rad.
    pub heading_rad: f64,
}

/// A return floor and its marbles. Lengths in m.
#[derive(Clone, Debug, PartialEq)]
pub struct FloorPlace {
    /// How marbles come down, by entrance, at least one.
    pub landings: Vec<FloorEntrance>,
    /// Height from which they fall.
    pub fall_m: f64,
    /// The marbles.
    pub marbles: MarbleProperties,
    /// Along the valley.
    pub length_m: f64,
    /// Across the valley, wall to wall; the valley runs down the middle.
    pub width_m: f64,
    /// Fall of each board towards the valley, rad.
    pub cross_pitch_rad: f64,
    /// Fall of the valley towards the mouth, rad.
    pub valley_pitch_rad: f64,
    /// Clear width of the mouth and of the single-file lane behind it.
    pub mouth_m: f64,
    /// Half the angle between the funnel's walls, rad; a right angle for an end wall without a funnel.
    pub funnel_rad: f64,
}

/// Half the thickness of funnel walls.
const HALF_WALL_M: f64 = 0.005;
/// Half the height of blocks, which stand in the floor.
const HALF_TALL_M: f64 = 4.0;
/// Length of the lane that is there behind the mouth, in marbles.
const LANE_DIAMETERS: f64 = 8.0;
/// Funnels flatter than this are an end wall.
const FLAT_RAD: f64 = FRAC_PI_2 - 1e-6;

/// Marbles fall clear of others by so many radii from middle to middle.
const CLEAR_RADII: f64 = 2.4;

impl FloorPlace {
    /// Height of the boards at a place.
    pub fn board_z_m(&self, x: f64, y: f64) -> f64 {
        y.abs() * libm::tan(self.cross_pitch_rad) - x * libm::tan(self.valley_pitch_rad)
    }

    /// How far from the valley the walls stand at `x`: the side walls, or the funnel's before the mouth.
    pub fn half_width_m(&self, x: f64) -> f64 {
        let side = self.width_m / 2.0;
        if self.funnel_rad >= FLAT_RAD {
            return side;
        }
        let before = (self.length_m - x).max(0.0);
        side.min(self.mouth_m / 2.0 + before * libm::tan(self.funnel_rad))
    }

    fn boards_and_walls(&self) -> Vec<Surface> {
        let along = libm::tan(self.valley_pitch_rad);
        let across = libm::tan(self.cross_pitch_rad);
        let scale = 1.0 / (1.0 + along * along + across * across).sqrt();
        let side = self.width_m / 2.0;
        let plane = |at: Vector, out: Vector| Surface::Plane(Plane { at, out });
        vec![
            plane(Vector::ZERO, vector(along * scale, -across * scale, scale)),
            plane(Vector::ZERO, vector(along * scale, across * scale, scale)),
            plane(Vector::ZERO, vector(1.0, 0.0, 0.0)),
            plane(vector(0.0, -side, 0.0), vector(0.0, 1.0, 0.0)),
            plane(vector(0.0, side, 0.0), vector(0.0, -1.0, 0.0)),
        ]
    }

    /// The end wall and the lane's walls behind it: a block on each side of the mouth.
    fn end_walls(&self) -> [Block; 2] {
        let lane = LANE_DIAMETERS * self.marbles.diameter_m / 2.0;
        let wide = (self.width_m - self.mouth_m).max(0.0) / 4.0 + HALF_WALL_M;
        [1.0, -1.0].map(|side| Block {
            middle: vector(
                self.length_m + lane,
                side * (self.mouth_m / 2.0 + wide),
                0.0,
            ),
            along: [
                vector(1.0, 0.0, 0.0),
                vector(0.0, 1.0, 0.0),
                vector(0.0, 0.0, 1.0),
            ],
            half: [lane, wide, HALF_TALL_M],
        })
    }

    /// The funnel's walls, their faces from the edges of the mouth to the side walls.
    fn funnel_walls(&self) -> Vec<Block> {
        if self.funnel_rad >= FLAT_RAD {
            return Vec::new();
        }
        let (s, c) = (libm::sin(self.funnel_rad), libm::cos(self.funnel_rad));
        let half = (self.width_m - self.mouth_m).max(0.0) / 4.0 / s;
        let wall = |side: f64| {
            let back = vector(-c, side * s, 0.0);
            let out = vector(s, side * c, 0.0);
            let edge = vector(self.length_m, side * self.mouth_m / 2.0, 0.0);
            Block {
                middle: edge + back * half + out * HALF_WALL_M,
                along: [back, out, vector(0.0, 0.0, 1.0)],
                half: [half, HALF_WALL_M, HALF_TALL_M],
            }
        };
        vec![wall(1.0), wall(-1.0)]
    }

    /// The next place on a spot and inside the walls: Halton's points (bases 2 and 3), about a spot by the normal law.
    fn place_of(&self, coming: Coming, radius: f64) -> Vector {
        let (u, v) = (halton(coming.number, 2), halton(coming.number, 3));
        let (x, y) = match self.landings[coming.entrance].spot {
            LandingSpot::Anywhere => (self.length_m * u, self.width_m * (v - 0.5)),
            LandingSpot::About { x_m, y_m, spread_m } => {
                let far = spread_m * (-2.0 * libm::log(u)).sqrt();
                let turn = TAU * v;
                (x_m + far * libm::cos(turn), y_m + far * libm::sin(turn))
            }
        };
        let x = x.clamp(radius, self.length_m - radius);
        let half = (self.half_width_m(x) - radius).max(0.0);
        let y = y.clamp(-half, half);
        vector(x, y, self.board_z_m(x, y) + radius)
    }

    /// Velocity along the floor's plane with which marbles of an entrance come down.
    fn brought(&self, entrance: usize) -> Vector {
        let FloorEntrance {
            speed_m_s,
            heading_rad,
            ..
        } = self.landings[entrance];
        vector(libm::cos(heading_rad), libm::sin(heading_rad), 0.0) * speed_m_s
    }
}

impl CrowdPlace for FloorPlace {
    fn marbles(&self) -> &MarbleProperties {
        &self.marbles
    }

    fn surfaces(&self) -> Vec<Surface> {
        let mut surfaces = self.boards_and_walls();
        surfaces.extend(self.end_walls().map(Surface::Block));
        surfaces.extend(self.funnel_walls().into_iter().map(Surface::Block));
        surfaces
    }

    fn entrances(&self) -> usize {
        self.landings.len()
    }

    /// As it touches down; higher up where others are in its way.
    fn entry(&self, coming: Coming, radius: f64, spheres: &[Sphere]) -> Option<Entry> {
        let clear = CLEAR_RADII * radius;
        let mut at = self.place_of(coming, radius);
        while spheres
            .iter()
            .any(|sphere| (sphere.at - at).square() < clear * clear)
        {
            at.z += clear;
        }
        let brought = self.brought(coming.entrance);
        Some(Entry {
            at,
            velocity: brought - vector(0.0, 0.0, (2.0 * G * self.fall_m).sqrt()),
            spin: vector(0.0, 0.0, 1.0).cross(brought) * (1.0 / radius),
            on_the_way_s: (2.0 * self.fall_m / G).sqrt(),
        })
    }

    /// Out when half a diameter past the mouth.
    fn whereabouts(&self, sphere: &Sphere) -> Whereabouts {
        if sphere.at.x < self.length_m + sphere.radius {
            Whereabouts::Inside
        } else {
            Whereabouts::Out
        }
    }
}
