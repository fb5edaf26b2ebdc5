//! The dimensions of each element kind, from the file's keys.

use std::f64::consts::PI;
use std::ops::RangeInclusive;

use super::assumed::{FLOOR_FALL_M, PITCH_ERROR_M, SLOPE_ERROR_RAD};
use super::fields::Fields;
use super::limits;
use super::limits::LENGTHS;
use super::model::*;
use super::outline::{Group, Shape};
use super::problem::Report;
use super::units::{self, ANGLE, DURATION, INERTIA, LENGTH, SPEED, TORQUE, VELOCITY};
use super::yaml::Value;

const CHANCE: RangeInclusive<f64> = 0.0..=1.0;
/// Height of the drop through a gate, over a peg or a weir where none is given, metres.
pub const DEFAULT_DROP_M: f64 = 0.03;

/// What may stand in the braces of a kind, as its reader asks for it.
pub fn outline(kind: &str) -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    of.kind(kind);
    of.into_group()
}

impl Fields<'_> {
    /// The kind named `name` with the dimensions in this map.
    pub fn kind(&mut self, name: &str) -> Option<Kind> {
        match name {
            "ramp" => self.line().map(|line| Kind::Ramp(Ramp(line))),
            "slide" => self.line().map(|line| Kind::Slide(Slide(line))),
            "track" => self.line().map(|line| Kind::Track(Track(line))),
            "pocket-wheel" => self.pocket_wheel().map(|k| Kind::PocketWheel(Box::new(k))),
            "bowl" => self.bowl().map(|k| Kind::Bowl(Box::new(k))),
            "flip-gate" => self.flip_gate().map(Kind::FlipGate),
            "peg" => Some(Kind::Peg(Peg {
                fall: self.fall(),
                shares: self.shares(),
            })),
            "weir" => Some(Kind::Weir(Weir { fall: self.fall() })),
            "escapement" => self.escapement().map(Kind::Escapement),
            "tipping-cup" => self.tipping_cup().map(Kind::TippingCup),
            _ => self.return_floor().map(|k| Kind::ReturnFloor(Box::new(k))),
        }
    }

    /// What happens when the element is full.
    pub fn when_full(&mut self, default: WhenFull) -> WhenFull {
        self.choice(
            "when-full",
            &[("hold", WhenFull::Hold), ("spill", WhenFull::Spill)],
        )
        .unwrap_or(default)
    }

    /// A room: a number of places or `unlimited`.
    pub fn room(&mut self, key: &'static str) -> Option<Room> {
        self.note(key, || Shape::Shared("room"));
        match &self.get(key)?.value {
            Value::Text(word) if word == "unlimited" => Some(Room::Unlimited),
            Value::Text(word) => {
                let node = self.get(key)?;
                self.wrong(
                    key,
                    node,
                    format!("`{key}: {word}` is not a number of marbles"),
                    "write a number or `unlimited`",
                );
                None
            }
            _ => self.count(key, 1..=limits::PLACES).map(Room::Places),
        }
    }

    fn pocket_wheel(&mut self) -> Option<PocketWheel> {
        let pockets = self.count("pockets", 1..=limits::POCKETS);
        let pockets = self.required("pockets", "20", pockets);
        let shape = self.wheel_shape();
        let wheel = PocketWheel {
            pockets: pockets.unwrap_or(1),
            shape,
            turned_by: self.turned_by(),
            phase_rad: self
                .quantity("phase", &ANGLE, -2.0 * PI..=2.0 * PI)
                .unwrap_or(0.0),
            lift: self.lift(),
            pick_up: self.pick_up(),
            release: self.number("release", CHANCE),
        };
        pockets.map(|_| wheel)
    }

    fn wheel_shape(&mut self) -> Option<WheelShape> {
        let pitch_radius = self.quantity("pitch-radius", &LENGTH, 0.01..=5.0);
        let bore = self.quantity("bore", &LENGTH, 0.002..=0.2);
        let depth = self.quantity("depth", &LENGTH, 0.001..=0.2);
        let tilt = self.quantity("tilt", &ANGLE, 0.0..=PI / 4.0);
        let guide_rad = self.quantity("guide", &ANGLE, 0.0..=2.0 * PI);
        let mouth_rad = self.quantity("mouth-ends", &ANGLE, PI / 2.0..=2.0 * PI);
        let channel_m = self.quantity("channel", &LENGTH, 0.002..=0.5);
        let relieved = self
            .choice("wall", &[("square", false), ("relieved", true)])
            .unwrap_or(false);
        let cut_back = self.quantity("cut-back", &LENGTH, 0.0..=0.5);
        let square_ends = self
            .choice("wall-ends", &[("upright", false), ("square", true)])
            .unwrap_or(false);
        let guide_from_m = self.quantity("guide-from", &LENGTH, 0.001..=0.5);
        let lead_in = self
            .choice("guide-edge", &[("scraper", false), ("lead-in", true)])
            .unwrap_or(false);
        let fence = self.choice("fence", &[("yes", true), ("no", false)]);
        let torque_nm = self.quantity("torque", &TORQUE, 1e-3..=20.0);
        let inertia_kg_m2 = self.quantity("inertia", &INERTIA, 1e-5..=10.0);
        let gap_m = self.quantity("gap", &LENGTH, 0.0..=0.02).unwrap_or(0.001);
        let pitch_error_m = self
            .quantity("pitch-error", &LENGTH, 0.0..=0.02)
            .unwrap_or(PITCH_ERROR_M.0);
        let slope_error_rad = self
            .quantity("slope-error", &ANGLE, 0.0..=PI / 18.0)
            .unwrap_or(SLOPE_ERROR_RAD.0);
        self.together(&["pitch-radius", "bore", "depth", "tilt"]);
        if pitch_radius.is_none() && bore.is_none() && depth.is_none() && tilt.is_none() {
            return None;
        }
        let pitch_radius_m = self.required("pitch-radius", "120 mm", pitch_radius)?;
        let bore_m = self.required("bore", "18 mm", bore)?;
        Some(WheelShape {
            pitch_radius_m,
            bore_m,
            depth_m: self.required("depth", "14 mm", depth)?,
            tilt_rad: self.required("tilt", "7 deg", tilt)?,
            guide_rad,
            mouth_rad,
            channel_m,
            relieved,
            cut_back,
            square_ends,
            guide_from_m,
            lead_in,
            fence,
            torque_nm,
            inertia_kg_m2,
            gap_m,
            pitch_error_m,
            slope_error_rad,
        })
    }

    fn turned_by(&mut self) -> TurnedBy {
        let own = self.quantity("speed", &SPEED, 0.01..=limits::FASTEST_RPM);
        let ratio = self.number("gear", 0.001..=1000.0);
        if self.get("speed").is_some()
            && let Some(node) = self.get("gear")
        {
            self.wrong(
                "gear",
                node,
                "this wheel has both a motor of its own (`speed`) and gears from the drive (`gear`)",
                "take one of the two away",
            );
        }
        match own {
            Some(rpm) => TurnedBy::OwnMotor { rpm },
            None => TurnedBy::Drive {
                ratio: ratio.unwrap_or(1.0),
            },
        }
    }

    fn lift(&mut self) -> Option<Lift> {
        self.note("lift", || Shape::Shared("lift"));
        let node = self.get("lift")?;
        let typed = match &node.value {
            Value::Text(text) if units::quantity(text, &DURATION).is_ok() => {
                return self.duration("lift").map(Lift::Time);
            }
            Value::Text(text) if units::quantity(text, &ANGLE).is_ok() => {
                return self
                    .quantity("lift", &ANGLE, PI / 18.0..=2.0 * PI - PI / 18.0)
                    .map(Lift::Arc);
            }
            Value::Text(text) => format!("`lift: {text}`"),
            other => format!("`lift` is {}, which", other.kind()),
        };
        let help = "write an arc, as in `180 deg`, or a measured time, as in `4.2 s`";
        self.wrong(
            "lift",
            node,
            format!("{typed} is neither an angle nor a time"),
            help,
        );
        None
    }

    fn pick_up(&mut self) -> Option<PickUp> {
        let mut of = self.map("pick-up")?;
        let take = of.number("take", CHANCE).unwrap_or(1.0);
        let pinch = of.number("pinch", CHANCE).unwrap_or(0.0);
        let place = of.place;
        let path = of.path.clone();
        of.finish();
        if take + pinch > 1.0 {
            let what = format!(
                "`take` and `pinch` together are {}, more than 1",
                units::plain(take + pinch)
            );
            self.report().add(
                Some(place),
                &path,
                what,
                "lower one: what is left over is the chance of a miss",
            );
            return None;
        }
        Some(PickUp { take, pinch })
    }

    fn shares(&mut self) -> Vec<f64> {
        let shares = self.numbers("shares", 0.0..=1e6).unwrap_or_default();
        if !shares.is_empty()
            && shares.iter().sum::<f64>() <= 0.0
            && let Some(node) = self.get("shares")
        {
            self.wrong(
                "shares",
                node,
                "the shares sum to zero",
                "give at least one way a share above zero, as in `[1, 1]`",
            );
        }
        shares
    }

    fn arch(&mut self, key: &'static str) -> Option<Arch> {
        let mut of = self.map(key)?;
        let chance = of.number("chance", CHANCE);
        let chance = of.required("chance", "0.01", chance);
        let clears = of.law("clears");
        of.finish();
        chance.map(|chance| Arch { chance, clears })
    }

    fn bowl(&mut self) -> Option<Bowl> {
        self.ways(&[&["swirl"], &["width", "depth", "hole"]]);
        let swirl = self.law("swirl");
        let shape = self.bowl_shape();
        if self.get("width").is_none() && self.get("depth").is_none() {
            self.required(
                "swirl",
                "{ lognormal: { mean: 2 s, cv: 0.4 } }",
                swirl.as_ref(),
            );
        }
        Some(Bowl {
            swirl,
            shape,
            shares: self.shares(),
            room: self.room("room"),
            hole_time_s: self.duration("hole-time"),
            arch: self.arch("arch"),
            when_full: self.when_full(WhenFull::Spill),
        })
    }

    fn bowl_shape(&mut self) -> Option<BowlShape> {
        let width = self.quantity("width", &LENGTH, 0.02..=3.0);
        let depth = self.quantity("depth", &LENGTH, 0.001..=1.0);
        let hole = self.quantity("hole", &LENGTH, 0.002..=0.5);
        let circle = self.quantity("hole-circle", &LENGTH, 0.0..=1.0);
        let entry_m_s = self.quantity("entry-speed", &VELOCITY, 0.01..=10.0);
        width.or(depth)?;
        let width_m = self.required("width", "180 mm", width)?;
        Some(BowlShape {
            width_m,
            depth_m: self.required("depth", "35 mm", depth)?,
            hole_m: self.required("hole", "20 mm", hole)?,
            hole_circle_m: circle.unwrap_or(width_m / 8.0),
            entry_m_s,
        })
    }

    fn fall(&mut self) -> Fall {
        Fall {
            drop_m: self
                .quantity("drop", &LENGTH, 0.0..=2.0)
                .unwrap_or(DEFAULT_DROP_M),
            time: self.law("time"),
        }
    }

    fn flip_gate(&mut self) -> Option<FlipGate> {
        Some(FlipGate {
            fall: self.fall(),
            throw_s: self.duration("throw").unwrap_or(0.15),
            stick: self.arch("stick"),
        })
    }

    fn escapement(&mut self) -> Option<Escapement> {
        let time = self.law("time");
        let time = self.required("time", "1.5 s", time);
        let room = self.room("places").unwrap_or(Room::Unlimited);
        let when_full = self.when_full(WhenFull::Hold);
        time.map(|time| Escapement {
            time,
            room,
            when_full,
        })
    }

    fn tipping_cup(&mut self) -> Option<TippingCup> {
        let gathers = self.count("gathers", 1..=limits::MARBLES);
        let gathers = self.required("gathers", "6", gathers);
        let tip_s = self.duration("tip").unwrap_or(0.4);
        let reset_s = self.duration("reset").unwrap_or(0.6);
        let when_full = self.when_full(WhenFull::Hold);
        gathers.map(|gathers| TippingCup {
            gathers,
            tip_s,
            reset_s,
            when_full,
        })
    }

    fn return_floor(&mut self) -> Option<ReturnFloor> {
        self.ways(&[
            &["width", "depth", "cross-pitch", "valley-pitch", "mouth"],
            &["time"],
        ]);
        let shape = self.floor_shape();
        let time = self.law("time");
        let dimensions = ["width", "depth", "cross-pitch", "valley-pitch", "mouth"];
        if dimensions.iter().all(|key| self.get(key).is_none()) {
            self.required(
                "time",
                "{ uniform: { low: 1 s, high: 4 s } }",
                time.as_ref(),
            );
        }
        Some(ReturnFloor {
            shape,
            time,
            room: self.room("room"),
            mouth_time_s: self.duration("mouth-time"),
            arch: self.arch("arch"),
            when_full: self.when_full(WhenFull::Spill),
        })
    }

    fn floor_shape(&mut self) -> Option<FloorShape> {
        let width = self.quantity("width", &LENGTH, LENGTHS);
        let depth = self.quantity("depth", &LENGTH, LENGTHS);
        let cross = self.quantity("cross-pitch", &ANGLE, 0.001..=PI / 6.0);
        let valley = self.quantity("valley-pitch", &ANGLE, 0.001..=PI / 6.0);
        let mouth = self.quantity("mouth", &LENGTH, 0.002..=1.0);
        let fall_m = self
            .quantity("fall", &LENGTH, 0.0..=3.0)
            .unwrap_or(FLOOR_FALL_M.0);
        self.together(&["width", "depth", "cross-pitch", "valley-pitch", "mouth"]);
        width.or(depth).or(cross).or(valley).or(mouth)?;
        let width = self.required("width", "600 mm", width);
        let depth = self.required("depth", "450 mm", depth);
        let cross = self.required("cross-pitch", "2 deg", cross);
        let valley = self.required("valley-pitch", "2 deg", valley);
        let mouth = self.required("mouth", "18 mm", mouth);
        Some(FloorShape {
            width_m: width?,
            depth_m: depth?,
            cross_rad: cross?,
            valley_rad: valley?,
            mouth_m: mouth?,
            fall_m,
        })
    }
}
