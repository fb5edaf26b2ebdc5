//! The place of a pocket wheel: a ramp that butts on the wheel's face, its walls, and the guide on the rising side.
//!
//! Frame: the wheel's axle along x through the origin, the face at x = 0, the ramp at x < 0 under the lowest pocket, z up.
//! Pockets move to +y past the ramp's end and rise there.

use super::G;
use super::law::{Law, Materials};
use super::pocket_wheel::{TorqueLine, TurningWheel, WheelDimensions};
use super::surface::{Block, Surface};
use super::vector::{Vector, vector};
use super::world::{FixedSurface, Surroundings};

/// How the ends of the channel's walls are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WallEnds {
    /// Square to the ramp: on a slope their top corners lean towards the wheel.
    Square,
    /// Upright, so that they stand parallel to the wheel's face.
    Upright,
}

/// The guide that keeps marbles in rising pockets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Guide {
    /// Goes on from the end of the wall.
    FromWall,
    /// Starts so far from the middle of the channel, m, with its edge bevelled at 45 degrees over 12 mm.
    From(f64, GuideBevel),
    /// There is none.
    No,
}

/// How the edge of a guide that does not start at the wall is bevelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuideBevel {
    /// Its sharp edge stands at the wheel and turns back what is not in a pocket.
    Scraper,
    /// It opens towards the channel and leads marbles into the pockets.
    LeadIn,
}

/// A start ramp at a wheel. Lengths in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ramp {
    /// Slope, rad.
    pub slope_rad: f64,
    /// Standard deviation of the slope from one ramp to the next made like it, rad.
    pub slope_sd_rad: f64,
    /// Length along the slope.
    pub length_m: f64,
    /// Clear width of the channel.
    pub channel_m: f64,
    /// Half the width of the floor, which goes on beyond the walls.
    pub half_floor_m: f64,
    /// Gap between the wheel's face and ramp, walls and guide.
    pub gap_m: f64,
    /// Height of its end over the lowest point of the lowest pocket's mouth.
    pub end_height_m: f64,
    /// Standard deviation of that height, from one pocket to the next and one ramp to the next.
    pub end_height_sd_m: f64,
    /// Height of the walls.
    pub wall_height_m: f64,
    /// Ends of the walls.
    pub ends: WallEnds,
    /// How far the wall on the rising side stops short.
    pub cut_back_m: f64,
    /// Whether a fence stands on the open side where the wall is cut back, from the wall to one diameter before the wheel,
    /// where the guide starts.
    pub fence: bool,
    /// Clear height under a lid that starts two diameters from the end; none if `None`.
    pub lid_m: Option<f64>,
    /// Speed at which a lone marble comes to the wheel, m/s.
    pub arrives_m_s: f64,
}

/// Marbles of one kind, and what they meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarbleProperties {
    /// Mean diameter, m.
    pub diameter_m: f64,
    /// Standard deviation of the diameter, m.
    pub diameter_sd_m: f64,
    /// Density, kg/m3.
    pub density_kg_m3: f64,
    /// On ramp, walls and wheel.
    pub on_wood: Materials,
    /// On the guide.
    pub on_guide: Materials,
    /// On each other.
    pub on_marbles: Materials,
}

/// All that decides what happens at a wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WheelPlace {
    /// The marbles.
    pub marbles: MarbleProperties,
    /// The wheel.
    pub wheel: WheelDimensions,
    /// What turns it.
    pub drive: TorqueLine,
    /// The ramp.
    pub ramp: Ramp,
    /// The guide.
    pub guide: Guide,
}

/// How finely contacts are followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Stiffness per unit of effective mass, /s2.
    pub stiffness: f64,
    /// Step, s.
    pub step_s: f64,
}

impl Fineness {
    /// Fine enough for what wedges: at 4e7 /s2 a stall of a small gearmotor presses a marble in by under 1 % of its
    /// diameter, and a hit lasts ten steps of 50 microseconds.
    pub const FINE: Fineness = Fineness {
        stiffness: 4e7,
        step_s: 5e-5,
    };

    /// A step so many times as long, and overlaps by its square.
    pub fn coarser(self, times: f64) -> Fineness {
        Fineness {
            stiffness: self.stiffness / (times * times),
            step_s: self.step_s * times,
        }
    }

    /// Half the step and a quarter of the overlap.
    pub fn finer(self) -> Fineness {
        Fineness {
            stiffness: self.stiffness * 4.0,
            step_s: self.step_s / 2.0,
        }
    }
}

/// Half the thickness of walls and end pieces, m.
const HALF_WALL_M: f64 = 0.002;
/// Length of the upright end pieces and of half the bevel, m.
const END_PIECE_M: f64 = 0.006;
/// Half the thickness of the guide, m.
const HALF_GUIDE_M: f64 = 0.0015;
/// Room between channel and fence where no guide tells it, in marbles.
const FENCE_DIAMETERS: f64 = 1.5;
/// Half the thickness of the ramp, m.
const HALF_RAMP_M: f64 = 0.004;

const LAW_WOOD: usize = 0;
const LAW_GUIDE: usize = 1;
const LAW_MARBLES: usize = 2;

/// Directions of the ramp: down along it, across, and out of it.
fn ramp_axes(slope_rad: f64) -> [Vector; 3] {
    let (c, s) = (libm::cos(slope_rad), libm::sin(slope_rad));
    [vector(c, 0.0, -s), vector(0.0, 1.0, 0.0), vector(s, 0.0, c)]
}

fn upright(middle: Vector, half: [f64; 3]) -> Block {
    Block {
        middle,
        along: [
            vector(1.0, 0.0, 0.0),
            vector(0.0, 1.0, 0.0),
            vector(0.0, 0.0, 1.0),
        ],
        half,
    }
}

impl WheelPlace {
    /// Height of the ramp's surface at its end, m.
    pub fn end_z_m(&self) -> f64 {
        let mouth = self.wheel.bore_m / 2.0 / libm::cos(self.wheel.tilt_rad);
        -self.wheel.pitch_radius_m - mouth + self.ramp.end_height_m
    }

    /// Where the middle of a marble lies on the ramp, so far back from the face along x (m), to one side by y (m).
    pub fn on_ramp(&self, back_m: f64, y: f64) -> Vector {
        let slope = self.ramp.slope_rad;
        let up = self.marbles.diameter_m / 2.0 / libm::cos(slope) + back_m * libm::tan(slope);
        vector(-back_m, y, self.end_z_m() + up)
    }

    /// A block that lies along the ramp: middle and half sizes in the ramp's own directions, from its end.
    fn along_ramp(&self, middle: (f64, f64, f64), half: [f64; 3]) -> Block {
        let along = ramp_axes(self.ramp.slope_rad);
        let end = vector(-self.ramp.gap_m, 0.0, self.end_z_m());
        let middle = end + along[0] * middle.0 + along[1] * middle.1 + along[2] * middle.2;
        Block {
            middle,
            along,
            half,
        }
    }

    fn walls(&self) -> Vec<Block> {
        let ramp = &self.ramp;
        let (half, side) = (ramp.length_m / 2.0, ramp.channel_m / 2.0 + HALF_WALL_M);
        let short = if ramp.ends == WallEnds::Upright {
            END_PIECE_M
        } else {
            0.0
        };
        let tall = ramp.wall_height_m / 2.0;
        let mut blocks = Vec::new();
        for (side, cut) in [(side, ramp.cut_back_m), (-side, 0.0)] {
            let back = if cut > 0.0 { cut } else { short };
            blocks.push(self.along_ramp((-half - back, side, tall), [half, HALF_WALL_M, tall]));
            if ramp.ends == WallEnds::Upright && cut <= 0.0 {
                let middle = vector(
                    -ramp.gap_m - END_PIECE_M,
                    side,
                    self.end_z_m() + ramp.wall_height_m / 2.0,
                );
                blocks.push(upright(
                    middle,
                    [END_PIECE_M, HALF_WALL_M, tall + HALF_WALL_M],
                ));
            }
        }
        blocks
    }

    /// The ramp's floor, then walls, fence and lid.
    pub fn ramp_blocks(&self) -> Vec<Block> {
        let (ramp, d) = (&self.ramp, self.marbles.diameter_m);
        let half = ramp.length_m / 2.0;
        let mut blocks = vec![self.along_ramp(
            (-half, 0.0, -HALF_RAMP_M),
            [half, ramp.half_floor_m, HALF_RAMP_M],
        )];
        blocks.extend(self.walls());
        blocks.push(self.along_ramp(
            (-ramp.length_m, 0.0, d),
            [HALF_WALL_M, ramp.half_floor_m, d],
        ));
        blocks.extend(self.fence());
        if let Some(lid) = ramp.lid_m {
            let (middle, half) = (-half - d, half - d);
            blocks.push(self.along_ramp(
                (middle, 0.0, lid + 0.1 * d),
                [half, ramp.half_floor_m, 0.1 * d],
            ));
        }
        blocks
    }

    /// A fence flush with the wheel would wedge marbles against it as a wall does.
    fn fence(&self) -> Option<Block> {
        let (ramp, d) = (&self.ramp, self.marbles.diameter_m);
        let aside = match self.guide {
            Guide::From(start, _) => start,
            Guide::FromWall | Guide::No => ramp.channel_m / 2.0 + FENCE_DIAMETERS * d,
        };
        let (half, tall) = (ramp.length_m / 2.0, ramp.wall_height_m / 2.0);
        let middle = (-half - d, aside + HALF_WALL_M, tall);
        (ramp.fence && ramp.cut_back_m > d)
            .then(|| self.along_ramp(middle, [half, HALF_WALL_M, tall]))
    }

    /// The guide and its bevel.
    pub fn guide_blocks(&self) -> Vec<Block> {
        let start = match self.guide {
            Guide::No => return Vec::new(),
            Guide::FromWall => self.ramp.channel_m / 2.0 + 2.0 * HALF_WALL_M,
            Guide::From(start, _) => start,
        };
        let (gap, radius) = (self.ramp.gap_m, self.wheel.pitch_radius_m);
        let (wide, tall) = (1.25 * radius, radius / 2.0 + 2.0 * self.wheel.bore_m);
        let middle = vector(-gap - HALF_GUIDE_M, start + wide, -radius / 2.0);
        let mut blocks = vec![upright(middle, [HALF_GUIDE_M, wide, tall])];
        if let Guide::From(_, edge) = self.guide {
            let c = std::f64::consts::FRAC_1_SQRT_2;
            let (leads, scrapes) = (vector(c, c, 0.0), vector(-c, c, 0.0));
            let along = match edge {
                GuideBevel::Scraper => [leads, scrapes, vector(0.0, 0.0, 1.0)],
                GuideBevel::LeadIn => [scrapes, leads, vector(0.0, 0.0, 1.0)],
            };
            let middle = vector(
                -gap - END_PIECE_M * c,
                start - END_PIECE_M * c,
                -radius / 2.0,
            );
            blocks.push(Block {
                middle,
                along,
                half: [1e-4, END_PIECE_M, tall],
            });
        }
        blocks
    }

    /// Surfaces and laws, followed so finely.
    pub fn setting(&self, fineness: Fineness) -> Surroundings {
        let fixed = |law: usize| {
            move |block: Block| FixedSurface {
                surface: Surface::Block(block),
                law,
            }
        };
        let wood = self.ramp_blocks().into_iter().map(fixed(LAW_WOOD));
        let guide = self.guide_blocks().into_iter().map(fixed(LAW_GUIDE));
        let law = |materials: Materials| Law::new(materials, fineness.stiffness, fineness.step_s);
        let MarbleProperties {
            on_wood,
            on_guide,
            on_marbles,
            ..
        } = self.marbles;
        Surroundings {
            fixed: wood.chain(guide).collect(),
            laws: vec![law(on_wood), law(on_guide), law(on_marbles)],
            between: LAW_MARBLES,
            at_wheel: LAW_WOOD,
            gravity: vector(0.0, 0.0, -G),
            step_s: fineness.step_s,
        }
    }

    /// The wheel at an angle (rad), turning at the speed that its drive is set to.
    pub fn turning_wheel(&self, angle: f64) -> TurningWheel {
        let mut wheel = TurningWheel::new(self.wheel, self.drive);
        wheel.turn_to(angle);
        wheel.speed = self.drive.speed_rad_s;
        wheel
    }
}
