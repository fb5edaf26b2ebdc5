//! Lists dimensions one by one, each with its key, both units, and where it comes from.

use std::collections::BTreeSet;

use super::{Dimension, DimensionGroup, From};
use crate::circuit::draw::seconds;
use crate::circuit::plan::Plan;
use crate::findings::words::figure;
use crate::machine::Machine;
use crate::machine::assumed::End;
use crate::machine::law::TimeLaw;
use crate::machine::model::{Arch, Channel, Fall, Landing, PickUp, WhenFull};
use crate::machine::units::{
    ANGLE, CHARGE, CURRENT, DURATION, INERTIA, MASS, TORQUE, VELOCITY, VOLTAGE, plain,
};
use crate::machine::write_law;
use crate::sheet::units::{Units, inches};

/// What is listed of one part.
pub struct Lister<'a> {
    machine: &'a Machine,
    written: &'a BTreeSet<String>,
    /// The dotted key of the part in the file.
    path: String,
    /// What stands before each key below it.
    prefix: String,
    /// The element, if it is one.
    element: Option<usize>,
    dimensions: Vec<Dimension>,
}

impl<'a> Lister<'a> {
    /// An empty list of what stands at `path`.
    pub fn new(
        machine: &'a Machine,
        written: &'a BTreeSet<String>,
        path: &str,
        element: Option<usize>,
    ) -> Self {
        Lister {
            machine,
            written,
            path: path.to_owned(),
            prefix: String::new(),
            element,
            dimensions: Vec::new(),
        }
    }

    /// What was listed.
    pub fn part(self, title: String) -> DimensionGroup {
        DimensionGroup {
            title,
            path: self.path,
            dimensions: self.dimensions,
        }
    }

    /// Whether the file gives `key`.
    pub fn is_written(&self, key: &str) -> bool {
        self.written
            .contains(&format!("{}.{}{key}", self.path, self.prefix))
    }

    /// Lists what stands in the group called `key`.
    pub fn under(&mut self, key: &str, list: impl FnOnce(&mut Self)) {
        let outer = self.prefix.clone();
        self.prefix = format!("{outer}{key}.");
        list(self);
        self.prefix = outer;
    }

    fn add(&mut self, key: &str, metric: String, inches: String) {
        let from = if self.is_written(key) {
            From::Given
        } else {
            From::Assumed(self.range(key))
        };
        self.dimensions.push(Dimension {
            key: format!("{}{key}", self.prefix),
            metric,
            inches,
            from,
        });
    }

    /// The range that a constant the file leaves open may be in.
    fn range(&self, key: &str) -> Option<(String, String)> {
        let whole = format!("{}.{key}", self.path);
        let mut assumed = self.machine.assumed.iter();
        let open = assumed.find(|of| match self.element {
            Some(n) => of.what.key() == key && of.elements.contains(&n),
            None => of.what.key() == whole,
        });
        let what = open?.what;
        Some((
            what.show(what.value(End::Low)),
            what.show(what.value(End::High)),
        ))
    }

    /// What follows from other dimensions.
    pub fn computed(&mut self, key: &str, metric: String) {
        let key = format!("{}{key}", self.prefix);
        self.dimensions.push(Dimension {
            key,
            metric,
            inches: String::new(),
            from: From::Computed,
        });
    }

    /// A length.
    pub fn length(&mut self, key: &str, metres: f64) {
        self.add(key, millimetres(metres), inches(metres));
    }

    /// A length, where there is one.
    pub fn lengths(&mut self, key: &str, metres: Option<f64>) {
        metres.iter().for_each(|&metres| self.length(key, metres));
    }

    /// An angle.
    pub fn angle(&mut self, key: &str, radians: f64) {
        self.add(key, ANGLE.show(radians), String::new());
    }

    /// A slope, in inches as so much on so much.
    pub fn slope(&mut self, key: &str, radians: f64) {
        let run = 1.0 / libm::tan(radians).abs();
        let ratio = if run < 1000.0 {
            format!("1 in {}", figure(run))
        } else {
            String::new()
        };
        let rises = if radians < 0.0 && !ratio.is_empty() {
            " uphill"
        } else {
            ""
        };
        self.add(key, ANGLE.show(radians), format!("{ratio}{rises}"));
    }

    /// A time in seconds.
    pub fn time(&mut self, key: &str, time_s: f64) {
        self.add(key, DURATION.show(time_s), String::new());
    }

    /// A time law, where there is one.
    pub fn law(&mut self, key: &str, law: Option<&TimeLaw>) {
        law.iter()
            .for_each(|law| self.add(key, write_law::law(law), String::new()));
    }

    /// A speed of turning.
    pub fn rpm(&mut self, key: &str, rpm: f64) {
        self.add(key, format!("{} rpm", plain(rpm)), String::new());
    }

    /// A velocity.
    pub fn velocity(&mut self, key: &str, metres_s: f64) {
        self.add(key, VELOCITY.show(metres_s), Units::Inches.speed(metres_s));
    }

    /// A torque.
    pub fn torque(&mut self, key: &str, newton_metres: f64) {
        self.add(
            key,
            TORQUE.show(newton_metres),
            Units::Inches.torque(newton_metres),
        );
    }

    /// A moment of inertia.
    pub fn inertia(&mut self, key: &str, kilogram_square_metres: f64) {
        self.add(key, INERTIA.show(kilogram_square_metres), String::new());
    }

    /// The machine that is listed.
    pub fn machine(&self) -> &'a Machine {
        self.machine
    }

    /// A current.
    pub fn current(&mut self, key: &str, amperes: f64) {
        self.add(key, CURRENT.show(amperes), String::new());
    }

    /// A voltage, where there is one.
    pub fn voltages(&mut self, key: &str, volts: Option<f64>) {
        volts
            .iter()
            .for_each(|&volts| self.add(key, VOLTAGE.show(volts), String::new()));
    }

    /// A mass.
    pub fn mass(&mut self, key: &str, kilograms: f64) {
        self.add(key, MASS.show(kilograms), Units::Inches.weight(kilograms));
    }

    /// What a cell holds.
    pub fn charge(&mut self, key: &str, ampere_hours: f64) {
        self.add(key, CHARGE.show(ampere_hours), String::new());
    }

    /// A whole number.
    pub fn count(&mut self, key: &str, count: u32) {
        self.add(key, count.to_string(), String::new());
    }

    /// A number without unit.
    pub fn number(&mut self, key: &str, number: f64) {
        self.add(key, plain(number), String::new());
    }

    /// Numbers without unit; none of them stands for equal ones.
    pub fn shares(&mut self, shares: &[f64]) {
        let value = shares
            .iter()
            .map(|&share| plain(share))
            .collect::<Vec<_>>()
            .join(" : ");
        self.add(
            "shares",
            if shares.is_empty() {
                "equal".to_owned()
            } else {
                value
            },
            String::new(),
        );
    }

    /// A word.
    pub fn word(&mut self, key: &str, word: &str) {
        self.add(key, word.to_owned(), String::new());
    }

    /// How many marbles it has room for, under the key that may say so.
    pub fn room(&mut self, key: &str, plan: &Plan) {
        match plan.places() {
            None => self.word(key, "unlimited"),
            Some(places) if self.is_written(key) => self.count(key, places),
            Some(places) => self.computed(key, places.to_string()),
        }
    }

    /// From one marble through a gate to the next, under the key that may say so; nothing where that takes no time.
    pub fn advance(&mut self, key: &str, plan: &Plan) {
        let time_s = seconds(plan.advance);
        if self.is_written(key) {
            self.time(key, time_s);
        } else if plan.advance > 0 {
            self.computed(key, format!("{time_s:.2} s"));
        }
    }

    /// What happens when it is full.
    pub fn when_full(&mut self, of: WhenFull) {
        self.word(
            "when-full",
            if of == WhenFull::Hold {
                "hold"
            } else {
                "spill"
            },
        );
    }

    /// How marbles wedge in it, where they do.
    pub fn arch(&mut self, key: &str, of: Option<&Arch>) {
        let Some(of) = of else { return };
        self.under(key, |list| {
            list.number("chance", of.chance);
            match &of.clears {
                Some(law) => list.law("clears", Some(law)),
                None => list.word("clears", "never"),
            }
        });
    }

    /// Measured chances where a lift takes marbles.
    pub fn pick_up(&mut self, chances: PickUp) {
        self.under("pick-up", |list| {
            list.number("take", chances.take);
            list.number("pinch", chances.pinch);
        });
    }

    /// What marbles roll in.
    pub fn channel(&mut self, of: Channel) {
        match of {
            Channel::Plane => self.word("channel", "plane"),
            Channel::Vee { angle_rad } => {
                self.under("channel", |list| list.angle("vee", angle_rad))
            }
            Channel::SharpRails { gap_m } => {
                self.under("channel", |list| list.length("rails", gap_m))
            }
            Channel::RoundRails {
                rod_radius_m,
                spacing_m,
            } => self.under("channel", |list| {
                list.under("rods", |list| {
                    list.length("diameter", 2.0 * rod_radius_m);
                    list.length("spacing", spacing_m);
                });
            }),
        }
    }

    /// The fall through a gate.
    pub fn fall(&mut self, of: &Fall) {
        match &of.time {
            Some(time) => self.law("time", Some(time)),
            None => self.length("drop", of.drop_m),
        }
    }

    /// Where on the floor called `floor` marbles of the element called `name` land.
    pub fn landing(&mut self, name: &str, floor: &str, landing: &Landing) {
        let Landing {
            x_m,
            y_m,
            spread_m,
            heading_rad,
        } = *landing;
        let given = |key: &str| {
            let begins = format!("circuit.{name}.to.");
            self.written
                .iter()
                .any(|k| k.starts_with(&begins) && k.ends_with(&format!("{floor}.{key}")))
        };
        let from = |key: &str| {
            if given(key) {
                From::Given
            } else {
                From::Assumed(None)
            }
        };
        for (what, metres, from) in [
            ("from the left", x_m, From::Given),
            ("from the back", y_m, From::Given),
            ("spread", spread_m, from("spread")),
        ] {
            let key = format!("to {floor}: {what}");
            self.dimensions.push(Dimension {
                key,
                metric: millimetres(metres),
                inches: inches(metres),
                from,
            });
        }
        self.dimensions.push(Dimension {
            key: format!("to {floor}: heading"),
            metric: ANGLE.show(heading_rad),
            inches: String::new(),
            from: from("heading"),
        });
    }
}

fn millimetres(metres: f64) -> String {
    format!("{} mm", plain(metres * 1e3))
}
