//! Dimensions that do not go together, and times that contradict the speed.

use std::f64::consts::PI;

use super::check::Check;
use super::model::*;
use super::units::{ANGLE, DURATION, LENGTH, SPEED};

impl Check<'_> {
    /// Dimensions mean nothing without the size of the marbles.
    pub fn marbles(&self) {
        let marbles = &self.machine.marbles;
        if marbles.diameter_m.is_some()
            || self.written("marbles.diameter")
            || !self.written("marbles.count")
        {
            return;
        }
        let mut names = self
            .machine
            .elements
            .iter()
            .filter(|e| has_dimensions(&e.kind))
            .map(|e| &e.name);
        if let Some(first) = names.next() {
            let others = match names.count() {
                0 => String::new(),
                1 => " and one more element".to_owned(),
                n => format!(" and {n} more elements"),
            };
            let what = format!(
                "the dimensions of `{first}`{others} mean nothing without the size of the marbles"
            );
            self.wrong(
                "marbles.diameter",
                what,
                "add `diameter: 16 mm` to `marbles`",
            );
        }
    }

    /// Whether the dimensions of one element go together, and with the marbles.
    pub fn dimensions(&self, element: &Element) {
        let base = format!("circuit.{}.{}", element.name, element.kind.name());
        if let Kind::PocketWheel(wheel) = &element.kind {
            self.lift(&base, wheel);
        }
        let Some(diameter_m) = self.machine.marbles.diameter_m else {
            return;
        };
        match &element.kind {
            Kind::Ramp(Ramp(line)) | Kind::Slide(Slide(line)) | Kind::Track(Track(line)) => {
                self.line(&base, line, diameter_m)
            }
            Kind::PocketWheel(wheel) => self.wheel(&base, wheel, diameter_m),
            Kind::Bowl(bowl) => self.bowl(&base, bowl, element.to.len(), diameter_m),
            Kind::ReturnFloor(floor) => {
                if let Some(shape) = &floor.shape {
                    self.floor(&base, shape, diameter_m);
                }
            }
            _ => {}
        }
    }

    fn wider(&self, key: &str, what: &str, opening_m: f64, diameter_m: f64) {
        if opening_m <= diameter_m {
            let (marble, opening) = (LENGTH.show(diameter_m), LENGTH.show(opening_m));
            let what = format!("a {marble} marble does not pass a {what} of {opening}");
            self.wrong(
                key,
                what,
                format!("make it {} or wider", LENGTH.show(diameter_m * 1.1)),
            );
        }
    }

    fn floor(&self, base: &str, shape: &FloorShape, diameter_m: f64) {
        self.wider(&format!("{base}.mouth"), "mouth", shape.mouth_m, diameter_m);
        if shape.mouth_m > shape.width_m {
            let (mouth, width) = (LENGTH.show(shape.mouth_m), LENGTH.show(shape.width_m));
            let what =
                format!("a mouth of {mouth} does not fit at the end of a floor {width} wide");
            self.wrong(
                &format!("{base}.width"),
                what,
                format!("make it {mouth} or wider"),
            );
        }
        if shape.depth_m <= diameter_m {
            let (marble, depth) = (LENGTH.show(diameter_m), LENGTH.show(shape.depth_m));
            let what = format!("a {marble} marble does not fit on a floor {depth} deep");
            self.wrong(&format!("{base}.depth"), what, "make it deeper");
        }
    }

    fn lift(&self, base: &str, wheel: &PocketWheel) {
        let rpm = match wheel.turned_by {
            TurnedBy::Drive { ratio } => self.machine.drive.rpm * ratio,
            TurnedBy::OwnMotor { rpm } => rpm,
        };
        let Some(Lift::Time(lift_s)) = wheel.lift else {
            return;
        };
        // Without a speed in the file there is nothing to hold the time against.
        if rpm > 0.0 && lift_s >= 60.0 / rpm {
            let (lift, turn) = (DURATION.show(lift_s), DURATION.show(60.0 / rpm));
            let what = format!(
                "`lift` takes {lift}, longer than a whole turn at {} ({turn})",
                SPEED.show(rpm)
            );
            self.wrong(
                &format!("{base}.lift"),
                what,
                "write it as an arc, as in `lift: 180 deg`, or turn more slowly",
            );
        }
    }

    fn wheel(&self, base: &str, wheel: &PocketWheel, diameter_m: f64) {
        let Some(shape) = &wheel.shape else { return };
        self.wider(&format!("{base}.bore"), "pocket", shape.bore_m, diameter_m);
        if let Some(channel_m) = shape.channel_m {
            self.wider(&format!("{base}.channel"), "channel", channel_m, diameter_m);
        }
        self.pockets(base, wheel.pockets, shape);
        if let (Some(guide), Some(mouth)) = (shape.guide_rad, shape.mouth_rad)
            && mouth <= guide
        {
            let (guide, mouth) = (ANGLE.show(guide), ANGLE.show(mouth));
            let what =
                format!("the slide's mouth ends at {mouth}, before the guide ends at {guide}");
            self.wrong(
                &format!("{base}.mouth-ends"),
                what,
                "end the guide lower: marbles leave between the two",
            );
        }
    }

    fn pockets(&self, base: &str, pockets: u32, shape: &WheelShape) {
        let spacing_m = 2.0 * shape.pitch_radius_m * libm::sin(PI / f64::from(pockets));
        let (bore, spacing) = (LENGTH.show(shape.bore_m), LENGTH.show(spacing_m));
        if shape.bore_m >= 2.0 * shape.pitch_radius_m {
            let what = format!("a pocket of {bore} covers the whole pitch circle");
            self.wrong(&format!("{base}.bore"), what, "make `pitch-radius` larger");
        } else if pockets > 1 && spacing_m <= shape.bore_m {
            let what = format!(
                "{pockets} pockets of {bore} run into each other: their centres are {spacing} apart"
            );
            self.wrong(
                &format!("{base}.pockets"),
                what,
                "drill fewer pockets, or make `pitch-radius` larger",
            );
        }
    }

    fn bowl(&self, base: &str, bowl: &Bowl, holes: usize, diameter_m: f64) {
        let Some(shape) = bowl.shape else { return };
        self.wider(&format!("{base}.hole"), "hole", shape.hole_m, diameter_m);
        let key = format!("{base}.hole-circle");
        if shape.hole_circle_m + shape.hole_m / 2.0 > shape.width_m / 2.0 {
            let what = "the holes stand beyond the rim";
            self.wrong(
                &key,
                what,
                "make `hole-circle`, the radius they stand on, smaller",
            );
        } else if holes > 1
            && 2.0 * shape.hole_circle_m * libm::sin(PI / holes as f64) <= shape.hole_m
        {
            let what = format!(
                "{holes} holes of {} run into each other",
                LENGTH.show(shape.hole_m)
            );
            self.wrong(
                &key,
                what,
                "make `hole-circle`, the radius they stand on, larger",
            );
        }
    }

    fn line(&self, base: &str, line: &Line, diameter_m: f64) {
        self.channel(&format!("{base}.channel"), line.channel, diameter_m);
        for (n, segment) in line.segments.iter().enumerate() {
            if let Segment::Corner { fall_m, gap_m, .. } = *segment {
                let key = format!("{base}.segments.{n}.corner");
                self.wider(&format!("{key}.gap"), "gap", gap_m, diameter_m);
                if fall_m < diameter_m {
                    let (fall, marble) = (LENGTH.show(fall_m), LENGTH.show(diameter_m));
                    let what = format!(
                        "a {marble} marble does not get under a leg that is only {fall} above the next"
                    );
                    self.wrong(
                        &format!("{key}.fall"),
                        what,
                        format!("make the fall {marble} or more"),
                    );
                }
            }
        }
    }

    fn channel(&self, key: &str, channel: Channel, diameter_m: f64) {
        let marble = LENGTH.show(diameter_m);
        match channel {
            Channel::SharpRails { gap_m } if gap_m >= diameter_m => {
                let what = format!(
                    "a {marble} marble falls between rails {} apart",
                    LENGTH.show(gap_m)
                );
                self.wrong(&format!("{key}.rails"), what, "set the rails closer");
            }
            Channel::RoundRails {
                rod_radius_m,
                spacing_m,
            } if spacing_m >= 2.0 * rod_radius_m + diameter_m => {
                let what = format!(
                    "a {marble} marble falls between rods {} apart",
                    LENGTH.show(spacing_m)
                );
                self.wrong(&format!("{key}.rods.spacing"), what, "set the rods closer");
            }
            Channel::RoundRails {
                rod_radius_m,
                spacing_m,
            } if spacing_m < 2.0 * rod_radius_m => {
                let what = format!(
                    "rods of {} do not fit {} apart",
                    LENGTH.show(2.0 * rod_radius_m),
                    LENGTH.show(spacing_m)
                );
                self.wrong(
                    &format!("{key}.rods.spacing"),
                    what,
                    "`spacing` is from centre to centre: make it larger",
                );
            }
            _ => {}
        }
    }
}

fn has_dimensions(kind: &Kind) -> bool {
    match kind {
        Kind::Ramp(Ramp(line)) | Kind::Slide(Slide(line)) | Kind::Track(Track(line)) => {
            !line.segments.is_empty()
        }
        Kind::PocketWheel(wheel) => wheel.shape.is_some(),
        Kind::Bowl(bowl) => bowl.shape.is_some(),
        Kind::ReturnFloor(floor) => floor.shape.is_some(),
        _ => false,
    }
}
