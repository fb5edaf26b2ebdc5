//! A marble's way through a slide or track, segment after segment, its speed carried over.
//!
//! Straights and bends are rolled with the acceleration of [`crate::physics::rolling`] (sliding where the slope is past
//! the slip limit); drops, steps and corners are flown and bounced with [`crate::physics::flight`]. A marble that loses
//! its speed is reported where it stalls, not averaged away.
//!
//! Left out: wandering between the walls of a wide channel, the spin a drop or corner leaves about the upright.

use crate::physics::G;
use crate::physics::bend::{self, Bend, BendState, Loss};
use crate::physics::flight::{self, CornerGeometry, FallingMarble, ImpactFloor, LandingOutcome};
use crate::physics::material::{Marble, SurfaceProperties};
use crate::physics::rolling::{self, Channel, Misfit, Seat};

/// A piece of a slide or track. Lengths are along the slope, slopes positive downhill (rad).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PathSegment {
    /// Straight.
    Straight {
        /// Length, m.
        length_m: f64,
        /// Slope, rad.
        slope_rad: f64,
    },
    /// A level curve, or a helix.
    Bend {
        /// Radius of the marble's way, m.
        radius_m: f64,
        /// Angle turned, rad, positive to the left. It matters which way only where one bend follows another.
        angle_rad: f64,
        /// Slope, rad.
        slope_rad: f64,
        /// Share of the kinetic energy lost in the bend; `None`: rubbing on the outer wall of a flat channel, nothing
        /// on rails and in grooves, which have no wall. No published figure was found: measure it if it matters.
        energy_loss: Option<f64>,
    },
    /// The floor ends and goes on lower down, in the same direction; the next segment begins at its foot.
    Drop {
        /// From floor to floor, m.
        height_m: f64,
    },
    /// A flight of equal steps, each a drop and then a tread.
    Steps {
        /// How many.
        count: usize,
        /// Height of one, m.
        height_m: f64,
        /// Length of a tread, m.
        run_m: f64,
        /// Slope of the treads, rad.
        slope_rad: f64,
    },
    /// A zig-zag corner: the marble flies off the end against an upright backstop and goes back the other way on the next
    /// segment, whose length counts from the backstop.
    Corner {
        /// From the end of the upper floor straight down to the lower one, m.
        fall_m: f64,
        /// Clear way from the end of the upper floor to the backstop, m, above the marble's diameter.
        gap_m: f64,
        /// Thickness of the upper floor, m, under which the marble goes back.
        thickness_m: f64,
        /// Restitution of the backstop: assumed as [`crate::physics::material::RESTITUTION`], within its range.
        restitution: f64,
    },
}

/// A completed passage.
#[derive(Clone, Debug, PartialEq)]
pub struct Passage {
    /// Whole time, s.
    pub time_s: f64,
    /// Speed along the path at the end, m/s.
    pub exit_speed_m_s: f64,
    /// Time in each segment, s. A fall counts to the segment it lands on, a last one to itself.
    pub segment_times_s: Vec<f64>,
}

/// Why a marble does not get through. `segment` counts from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Halt {
    /// It stops.
    Stall {
        /// In which segment.
        segment: usize,
        /// Way along it, m.
        at_m: f64,
    },
    /// It leaves the rails in a bend: v^2 / (g R) past the tangent of the rails' half angle.
    TipsOff {
        /// In which segment.
        segment: usize,
        /// Speed there, m/s.
        speed_m_s: f64,
        /// Highest speed the bend takes, m/s.
        limit_m_s: f64,
    },
    /// It does not fit the channel, or a corner is narrower than the marble.
    Misfit {
        /// In which segment.
        segment: usize,
        /// How.
        misfit: Misfit,
    },
}

/// Follows a marble from the start of the first segment, entered at `entry_speed_m_s` (at least 0), to the end of the last.
///
/// # Errors
/// [`Halt`] where it stalls, tips off or does not fit.
pub fn travel(
    path: &[PathSegment],
    entry_speed_m_s: f64,
    channel: &Channel,
    marble: &Marble,
    surface: &SurfaceProperties,
) -> Result<Passage, Halt> {
    let radius_m = marble.radius_m();
    let seat = channel
        .seat(radius_m)
        .map_err(|misfit| Halt::Misfit { segment: 0, misfit })?;
    let mut walk = Walk {
        seat,
        radius_m,
        surface,
        segment: 0,
        slope_rad: 0.0,
        time_s: 0.0,
        side_spin: 0.0,
        motion: Motion::Rolls {
            at_m: 0.0,
            speed: entry_speed_m_s,
        },
    };
    let mut times = Vec::with_capacity(path.len());
    for (segment, piece) in path.iter().enumerate() {
        (walk.segment, walk.time_s) = (segment, 0.0);
        walk.take(piece)?;
        times.push(walk.time_s);
    }
    walk.time_s = 0.0;
    let exit_speed_m_s = walk.come_down();
    if let Some(last) = times.last_mut() {
        *last += walk.time_s;
    }
    Ok(Passage {
        time_s: times.iter().sum(),
        exit_speed_m_s,
        segment_times_s: times,
    })
}

#[derive(Clone, Copy)]
enum Motion {
    /// On the floor, at a way along the segment to come.
    Rolls { at_m: f64, speed: f64 },
    /// In the air; x and z from the upper end of the floor to come.
    Flies {
        ball: FallingMarble,
        corner: Option<CornerGeometry>,
    },
}

struct Walk<'a> {
    seat: Seat,
    radius_m: f64,
    surface: &'a SurfaceProperties,
    segment: usize,
    /// Slope of the floor last rolled.
    slope_rad: f64,
    time_s: f64,
    /// Spin about the upright from the wall of a bend, times the marble's radius, positive to the left.
    side_spin: f64,
    motion: Motion,
}

impl Walk<'_> {
    fn take(&mut self, piece: &PathSegment) -> Result<(), Halt> {
        match *piece {
            PathSegment::Straight {
                length_m,
                slope_rad,
            } => self.straight(length_m, slope_rad),
            PathSegment::Bend {
                radius_m,
                angle_rad,
                slope_rad,
                energy_loss,
            } => self.bend(radius_m, angle_rad, slope_rad, energy_loss),
            PathSegment::Drop { height_m } => {
                self.drop(height_m);
                Ok(())
            }
            PathSegment::Steps {
                count,
                height_m,
                run_m,
                slope_rad,
            } => self.steps(count, height_m, run_m, slope_rad),
            PathSegment::Corner {
                fall_m,
                gap_m,
                thickness_m,
                restitution,
            } => self.corner(CornerGeometry {
                gap_m,
                fall_m,
                thickness_m,
                slope_rad: self.slope_rad,
                restitution,
            }),
        }
    }

    /// On the floor: way already gone and speed; in the air over the whole floor: `None`.
    fn set_down(&mut self, length_m: f64, slope_rad: f64) -> Option<(f64, f64)> {
        self.slope_rad = slope_rad;
        let (mut ball, corner) = match self.motion {
            Motion::Rolls { at_m, speed } => return Some((at_m, speed)),
            Motion::Flies { ball, corner } => (ball, corner),
        };
        let floor = ImpactFloor {
            slope_rad,
            length_m,
            seat: self.seat,
            corner,
        };
        // A corner's fall is measured under the upper end, the floor's height at the backstop.
        ball.z_m -= corner.map_or(0.0, |turn| turn.gap_m * libm::tan(slope_rad));
        let (time_s, landing) = flight::land(ball, &floor, self.radius_m, self.surface);
        self.time_s += time_s;
        match landing {
            LandingOutcome::Rolls { at_m, speed_m_s } => Some((at_m, speed_m_s)),
            LandingOutcome::FliesOver(mut ball) => {
                ball.x_m -= length_m * libm::cos(slope_rad);
                ball.z_m += length_m * libm::sin(slope_rad);
                self.motion = Motion::Flies { ball, corner: None };
                None
            }
        }
    }

    fn stall(&self, at_m: f64) -> Halt {
        Halt::Stall {
            segment: self.segment,
            at_m,
        }
    }

    fn misfit(&self, misfit: Misfit) -> Halt {
        Halt::Misfit {
            segment: self.segment,
            misfit,
        }
    }

    /// Down a slope past the slip limit a marble slides faster than it could roll.
    fn acceleration(&self, slope_rad: f64) -> f64 {
        let grip = self.surface.sliding_friction * self.seat.load_ratio;
        let slides = G * (libm::sin(slope_rad) - grip * libm::cos(slope_rad));
        rolling::acceleration(slope_rad, self.seat, self.radius_m, self.surface).max(slides)
    }

    fn straight(&mut self, length_m: f64, slope_rad: f64) -> Result<(), Halt> {
        let Some((at_m, speed)) = self.set_down(length_m, slope_rad) else {
            return Ok(());
        };
        let rest_m = (length_m - at_m).max(0.0);
        let a = self.acceleration(slope_rad);
        let stopped = at_m
            + if a < 0.0 {
                -speed * speed / (2.0 * a)
            } else {
                0.0
            };
        let out = rolling::exit_speed_m_s(rest_m, speed, a).ok_or(self.stall(stopped))?;
        let time_s = rolling::time_s(rest_m, speed, a).ok_or(self.stall(stopped))?;
        self.time_s += time_s;
        self.side_spin = bend::spin_left_m_s(self.side_spin, time_s, self.radius_m, self.surface);
        self.motion = Motion::Rolls {
            at_m: (at_m - length_m).max(0.0),
            speed: out,
        };
        Ok(())
    }

    fn bend(
        &mut self,
        radius_m: f64,
        angle_rad: f64,
        slope_rad: f64,
        energy_loss: Option<f64>,
    ) -> Result<(), Halt> {
        if !(radius_m > 0.0 && radius_m.is_finite()) {
            return Err(self.misfit(Misfit::Impossible));
        }
        let length_m = radius_m * angle_rad.abs();
        let side = 1f64.copysign(angle_rad);
        let Some((at_m, speed)) = self.set_down(length_m, slope_rad) else {
            return Ok(());
        };
        let curve = Bend {
            radius_m,
            length_m: (length_m - at_m).max(0.0),
            slope_rad,
            loss: self.loss(energy_loss),
        };
        let entering = BendState {
            speed_m_s: speed,
            side_spin_m_s: side * self.side_spin,
            time_s: 0.0,
            gone_m: 0.0,
        };
        let course = bend::round(&curve, entering, self.seat, self.radius_m, self.surface)
            .map_err(|stopped| self.stall(at_m + stopped.gone_m))?;
        self.hold_on_rails(speed.max(course.speed_m_s), radius_m)?;
        self.time_s += course.time_s;
        self.side_spin = side * course.side_spin_m_s;
        self.motion = Motion::Rolls {
            at_m: (at_m - length_m).max(0.0),
            speed: course.speed_m_s,
        };
        Ok(())
    }

    fn loss(&self, energy_loss: Option<f64>) -> Loss {
        match energy_loss {
            Some(share) => Loss::Share(share),
            None if self.seat.radius_ratio >= 1.0 => Loss::Wall,
            None => Loss::None,
        }
    }

    fn hold_on_rails(&self, speed_m_s: f64, bend_m: f64) -> Result<(), Halt> {
        let limit_m_s = bend::tip_off_speed_m_s(self.seat, bend_m);
        if speed_m_s <= limit_m_s {
            return Ok(());
        }
        Err(Halt::TipsOff {
            segment: self.segment,
            speed_m_s,
            limit_m_s,
        })
    }

    /// In the air: over the edge it rolls to, or as it flies already.
    fn take_off(&mut self) -> FallingMarble {
        match self.motion {
            Motion::Flies { ball, .. } => ball,
            Motion::Rolls { at_m, speed } => {
                let (time_s, mut ball) =
                    flight::over_edge(speed, self.slope_rad, self.seat, self.radius_m);
                self.time_s += time_s;
                ball.x_m += at_m;
                ball
            }
        }
    }

    fn drop(&mut self, height_m: f64) {
        let mut ball = self.take_off();
        ball.z_m += height_m;
        self.side_spin = 0.0;
        self.motion = Motion::Flies { ball, corner: None };
    }

    fn steps(
        &mut self,
        count: usize,
        height_m: f64,
        run_m: f64,
        slope_rad: f64,
    ) -> Result<(), Halt> {
        for _ in 0..count {
            self.drop(height_m);
            self.straight(run_m, slope_rad)?;
        }
        Ok(())
    }

    fn corner(&mut self, turn: CornerGeometry) -> Result<(), Halt> {
        let needs_m = 2.0 * self.radius_m;
        if turn.gap_m < needs_m || turn.fall_m < needs_m + turn.thickness_m {
            return Err(self.misfit(Misfit::Impossible));
        }
        let ball = self.take_off();
        self.side_spin = 0.0;
        let turned = FallingMarble {
            x_m: (turn.gap_m - ball.x_m).max(self.radius_m),
            z_m: ball.z_m + turn.fall_m,
            x_speed: -ball.x_speed,
            spin: -ball.spin,
            ..ball
        };
        self.motion = Motion::Flies {
            ball: turned,
            corner: Some(turn),
        };
        Ok(())
    }

    /// Speed at the end. A marble still in the air has yet to pass the end of a floor, or to fall until it first touches.
    fn come_down(&mut self) -> f64 {
        let ball = match self.motion {
            Motion::Rolls { speed, .. } => return speed,
            Motion::Flies { ball, .. } => ball,
        };
        if ball.x_m < 0.0 && ball.x_speed > 0.0 {
            self.time_s += -ball.x_m / ball.x_speed;
            return ball.x_speed;
        }
        let fall_m = (ball.z_m - self.radius_m).max(0.0);
        let v = ball.z_speed;
        self.time_s += (v + (v * v + 2.0 * G * fall_m).sqrt()) / G;
        ball.x_speed.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A marble that came to roll only past the end of its floor leaves from there, at once if it is fast.
    #[test]
    fn a_marble_leaves_from_where_it_came_to_roll() {
        let mut walk = Walk {
            seat: Seat::PLANE,
            radius_m: 0.007,
            surface: &SurfaceProperties::WOOD,
            segment: 0,
            slope_rad: 0.0,
            time_s: 0.0,
            side_spin: 0.0,
            motion: Motion::Rolls {
                at_m: 0.012,
                speed: 1.5,
            },
        };
        let ball = walk.take_off();
        assert_eq!(
            (ball.x_m, ball.z_m, ball.x_speed, walk.time_s),
            (0.012, 0.007, 1.5, 0.0)
        );
    }
}
