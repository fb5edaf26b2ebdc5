//! Start ramps, slides and tracks: their segments, channel, times and room.

use std::f64::consts::PI;

use super::fields::Fields;
use super::limits;
use super::limits::{LENGTHS, SLOPES};
use super::model::{Channel, Segment};
use super::outline::{Group, Shape};
use super::problem::{Place, Report};
use super::suggest::did_you_mean;
use super::units::{ANGLE, LENGTH};
use super::yaml::{Value, YamlNode};

const SEGMENTS: [&str; 5] = ["length", "bend", "drop", "steps", "corner"];

/// What each kind of segment may be written as, as its reader asks for it.
pub fn segment_outlines() -> Vec<Group> {
    let report = Report::default();
    let mut outlines = Vec::with_capacity(SEGMENTS.len());
    for name in SEGMENTS {
        let mut of = Fields::outline(&report);
        of.segment_named(name);
        of.required(name, "", Some(()));
        outlines.push(of.into_group());
    }
    outlines
}

/// The grooves that a channel may have, as their reader asks for them: one of these keys.
pub fn groove_outline() -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    of.grooves();
    of.into_group()
}

impl Fields<'_> {
    /// The parts of a line: one straight, or a list of them.
    pub fn segments(&mut self) -> Vec<Segment> {
        self.note("segments", || Shape::Shared("segments"));
        let segments = self.get("segments");
        if self.get("length").is_some() || self.get("slope").is_some() || self.outlining() {
            if let Some(node) = segments {
                let help = "write the straight as the first of the `segments`, `{ length: 300 mm, slope: 4 deg }`";
                self.wrong(
                    "segments",
                    node,
                    "`segments` stands beside `length` and `slope`",
                    help,
                );
            }
            return self.straight().into_iter().collect();
        }
        let Some(node) = segments else {
            return Vec::new();
        };
        let Value::List(items) = &node.value else {
            self.wrong(
                "segments",
                node,
                "`segments` is not a list",
                "write `segments: [ { length: 300 mm, slope: 3 deg } ]`",
            );
            return Vec::new();
        };
        if items.is_empty() || items.len() > limits::SEGMENTS {
            let what = format!("`segments` has {} parts", items.len());
            let help = format!(
                "write 1 to {} parts, and join straight parts of equal slope",
                limits::SEGMENTS
            );
            self.wrong("segments", node, what, help);
            return Vec::new();
        }
        items
            .iter()
            .enumerate()
            .filter_map(|(n, item)| self.segment(n, item))
            .collect()
    }

    fn straight(&mut self) -> Option<Segment> {
        let length = self.quantity("length", &LENGTH, LENGTHS);
        let length = self.required("length", "300 mm", length);
        let slope = self.quantity("slope", &ANGLE, SLOPES);
        let slope = self.required("slope", "4 deg", slope);
        Some(Segment::Straight {
            length_m: length?,
            slope_rad: slope?,
        })
    }

    fn segment(&mut self, n: usize, item: &YamlNode) -> Option<Segment> {
        let path = self.path_of(&format!("segments[{n}]"));
        let mut of = Fields::open(item, item.place, &path, self.report())?;
        let mut named = SEGMENTS.into_iter().filter(|name| of.get(name).is_some());
        let (first, second) = (named.next(), named.next());
        if let (Some(first), Some(second)) = (first, second) {
            let what = format!("this segment is two things at once, `{first}` and `{second}`");
            self.report().add(
                Some(item.place),
                &path,
                what,
                "give each its own braces in the list",
            );
            return None;
        }
        let Some(name) = first else {
            of.no_segment();
            return None;
        };
        let segment = of.segment_named(name);
        of.finish();
        segment
    }

    fn segment_named(&mut self, name: &str) -> Option<Segment> {
        match name {
            "length" => self.straight(),
            "drop" => self
                .quantity("drop", &LENGTH, 0.0..=3.0)
                .map(|height_m| Segment::Drop { height_m }),
            "bend" => self.bend(),
            "steps" => self.steps(),
            _ => self.corner(),
        }
    }

    fn no_segment(&self) {
        let (place, what, help) = match self.entries().first() {
            Some(entry) => {
                let what = format!("`{}` is not a kind of segment", entry.key);
                (entry.key_place, what, did_you_mean(&entry.key, SEGMENTS))
            }
            None => (
                self.place,
                "this segment is empty".to_owned(),
                did_you_mean("", SEGMENTS),
            ),
        };
        self.report().add(Some(place), &self.path, what, help);
    }

    fn bend(&mut self) -> Option<Segment> {
        let mut of = self.map("bend")?;
        let radius = of.quantity("radius", &LENGTH, LENGTHS);
        let radius = of.required("radius", "80 mm", radius);
        let turn = of.quantity("turn", &ANGLE, PI / 180.0..=20.0 * PI);
        let turn = of.required("turn", "90 deg", turn);
        let slope = of.quantity("slope", &ANGLE, SLOPES);
        let slope = of.required("slope", "4 deg", slope);
        of.finish();
        Some(Segment::Bend {
            radius_m: radius?,
            turn_rad: turn?,
            slope_rad: slope?,
        })
    }

    fn steps(&mut self) -> Option<Segment> {
        let mut of = self.map("steps")?;
        let count = of.count("count", 1..=200);
        let count = of.required("count", "8", count);
        let rise = of.quantity("rise", &LENGTH, 0.001..=0.5);
        let rise = of.required("rise", "12 mm", rise);
        let run = of.quantity("run", &LENGTH, 0.001..=1.0);
        let run = of.required("run", "30 mm", run);
        let slope_rad = of
            .quantity("slope", &ANGLE, SLOPES)
            .unwrap_or(2.0 * PI / 180.0);
        of.finish();
        Some(Segment::Steps {
            count: count?,
            rise_m: rise?,
            run_m: run?,
            slope_rad,
        })
    }

    fn corner(&mut self) -> Option<Segment> {
        let mut of = self.map("corner")?;
        let fall = of.quantity("fall", &LENGTH, 0.0..=1.0);
        let fall = of.required("fall", "25 mm", fall);
        let gap = of.quantity("gap", &LENGTH, 0.0..=1.0);
        let gap = of.required("gap", "24 mm", gap);
        let thickness_m = of
            .quantity("thickness", &LENGTH, 0.0005..=0.1)
            .unwrap_or(0.006);
        of.finish();
        Some(Segment::Corner {
            fall_m: fall?,
            gap_m: gap?,
            thickness_m,
        })
    }

    /// What marbles roll in.
    pub fn channel(&mut self) -> Channel {
        self.note("channel", || Shape::Shared("channel"));
        let Some(node) = self.get("channel") else {
            return Channel::Plane;
        };
        match &node.value {
            Value::Text(word) if word == "plane" => Channel::Plane,
            Value::Map(_) => self.grooved(node.place).unwrap_or(Channel::Plane),
            _ => {
                let help = "write `plane`, `{ vee: 90 deg }`, `{ rails: 8 mm }` or `{ rods: { diameter: 4 mm, spacing: 10 mm } }`";
                self.wrong(
                    "channel",
                    node,
                    "`channel` is none of the shapes known",
                    help,
                );
                Channel::Plane
            }
        }
    }

    fn grooved(&mut self, place: Place) -> Option<Channel> {
        let mut of = self.map("channel")?;
        let [vee, rails, rods] = of.grooves();
        let shapes = ["vee", "rails", "rods"];
        let named = shapes
            .iter()
            .filter(|&&shape| of.get(shape).is_some())
            .count();
        if named > 1 || (named == 0 && !shapes.iter().any(|shape| of.misspelt(shape))) {
            let what = format!("`channel` names {named} shapes, where one is due");
            of.report().add(
                Some(place),
                &of.path,
                what,
                "write one of `vee`, `rails` and `rods`",
            );
        }
        of.finish();
        vee.or(rails).or(rods)
    }

    fn grooves(&mut self) -> [Option<Channel>; 3] {
        let vee = self
            .quantity("vee", &ANGLE, PI / 9.0..=PI)
            .map(|angle_rad| Channel::Vee { angle_rad });
        let rails = self
            .quantity("rails", &LENGTH, 0.0005..=0.2)
            .map(|gap_m| Channel::SharpRails { gap_m });
        [vee, rails, self.rods()]
    }

    fn rods(&mut self) -> Option<Channel> {
        let mut of = self.map("rods")?;
        let diameter = of.quantity("diameter", &LENGTH, 0.0005..=0.1);
        let diameter = of.required("diameter", "4 mm", diameter);
        let spacing = of.quantity("spacing", &LENGTH, 0.001..=0.3);
        let spacing = of.required("spacing", "10 mm", spacing);
        of.finish();
        Some(Channel::RoundRails {
            rod_radius_m: diameter? / 2.0,
            spacing_m: spacing?,
        })
    }
}
