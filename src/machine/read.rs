//! A machine file's tree to a [`Machine`]: everything but the circuit.

use super::assumed::{DIAMETER_SPREAD_M, ENTRY_SCATTER, GEAR_EFFICIENCY, WAITING_SLOPE_RAD};
use super::fields::Fields;
use super::limits;
use super::model::*;
use super::outline::{Group, Shape};
use super::problem::Report;
use super::read_circuit::{Parts, elements, index_of};
use super::text::one_line;
use super::units::{self, ANGLE, CURRENT, DURATION, LENGTH, SPEED, System, TORQUE, VOLTAGE};
use super::workmanship::WorkshopError;
use super::yaml::{Value, YamlNode};
use crate::physics::material;

/// A machine as far as it could be read; it is one only if no problem was reported.
pub struct MachineDraft {
    /// The machine, with a placeholder for every part that could not be read.
    pub machine: Machine,
    /// For each element, whether what it is could be read.
    pub kind_known: Vec<bool>,
    /// For each element, whether all its ways out could be read.
    pub ways_known: Vec<bool>,
    /// Whether the start could be read.
    pub start_known: bool,
}

/// Reads the machine that the tree describes; what is wrong goes to `report`. `None` where there is no circuit to check.
pub fn machine(tree: &YamlNode, report: &Report) -> Option<MachineDraft> {
    if matches!(tree.value, Value::Null) {
        let help = "a machine begins with `format: 1`, and below it `marbles`, `drive`, `start` and `circuit`";
        report.add(
            Some(tree.place),
            "",
            "there is nothing in this machine file",
            help,
        );
        return None;
    }
    let mut file = Fields::open(tree, tree.place, "", report)?;
    let (machine, circuit, names, start_known) = whole(&mut file);
    file.finish();
    let parts = elements(&circuit?, &names, report)?;
    Some(MachineDraft {
        start_known,
        ..draft(machine, names, parts)
    })
}

/// Everything but the elements; with it the circuit, its elements' names, and whether the start could be read.
fn whole<'t>(file: &mut Fields<'t>) -> (Machine, Option<Fields<'t>>, Vec<String>, bool) {
    file.format();
    let title = file.text("title").unwrap_or("Untitled machine");
    let title = one_line(title.trim());
    let marbles = file.marbles();
    let drive = file.drive();
    let example = "{ start-ramp: { ramp: { length: 400 mm, slope: 4 deg }, to: lift } }";
    file.note("circuit", || Shape::Shared("circuit"));
    let circuit = file.map("circuit");
    file.required("circuit", example, circuit.as_ref().map(|_| ()));
    let names: Vec<String> = circuit
        .iter()
        .flat_map(Fields::entries)
        .map(|entry| entry.key.clone())
        .collect();
    let start = file.start(&names);
    let workable = file.workable(&names);
    let (tending, assume, allow) = (file.tending(), file.assume(), file.allow());
    let mend_order = file.mend_order();
    let workshop = file.workshop();
    let machine = Machine {
        title,
        marbles,
        drive,
        start: start.unwrap_or(0),
        elements: Vec::new(),
        workable,
        tending,
        assume,
        assumed: Vec::new(),
        allow,
        mend_order,
        workshop,
        units: System::Millimetres,
    };
    (machine, circuit, names, start.is_some())
}

/// What may stand in a machine file beside its elements, as its reader asks for it.
pub fn outline() -> Group {
    let report = Report::default();
    let mut file = Fields::outline(&report);
    whole(&mut file);
    file.into_group()
}

fn draft(machine: Machine, names: Vec<String>, parts: Vec<Parts>) -> MachineDraft {
    let kind_known = parts.iter().map(|(kind, _)| kind.is_some()).collect();
    let ways_known = parts.iter().map(|(_, to)| to.is_some()).collect();
    let mut elements = Vec::with_capacity(names.len());
    for (name, (kind, to)) in names.into_iter().zip(parts) {
        elements.push(Element {
            name,
            kind: kind.unwrap_or_else(Kind::stand_in),
            to: to.unwrap_or_default(),
        });
    }
    MachineDraft {
        machine: Machine {
            elements,
            ..machine
        },
        kind_known,
        ways_known,
        start_known: true,
    }
}

impl Fields<'_> {
    fn format(&mut self) {
        self.note("format", || Shape::Count(1.0, 1.0));
        let format = self.count("format", 1..=1000);
        self.required("format", "1", format);
        if let (Some(found), Some(node)) = (format, self.get("format"))
            && found != 1
        {
            let help = "this program reads format 1: write `format: 1`, or use a newer program";
            self.wrong("format", node, format!("format {found} is not known"), help);
        }
    }

    fn start(&mut self, names: &[String]) -> Option<usize> {
        let first = names.first().map_or("start-ramp", |name| name);
        if let Some(node) = self.get("start")
            && matches!(node.value, Value::List(_))
        {
            self.note("start", || Shape::Text);
            let what = "`start` names several elements, and marbles are poured in at one";
            self.wrong(
                "start",
                node,
                what,
                format!("name one, as in `start: {first}`; from it they can part at a splitter"),
            );
            return None;
        }
        let name = self.text("start");
        let name = self.required("start", first, name)?;
        let place = self.get("start")?.place;
        index_of(name, names, "start", place, self.report())
    }

    fn marbles(&mut self) -> Marbles {
        let mut marbles = Marbles {
            count: 1,
            diameter_m: None,
            spread_m: 0.0,
            material: Material::Glass,
        };
        let inside = self.map("marbles");
        let Some(mut of) = self.required("marbles", "{ count: 30, diameter: 16 mm }", inside)
        else {
            return marbles;
        };
        let count = of.count("count", 1..=limits::MARBLES);
        marbles.count = of.required("count", "30", count).unwrap_or(1);
        marbles.diameter_m = of.quantity("diameter", &LENGTH, 0.002..=0.1);
        marbles.spread_m = of
            .quantity("spread", &LENGTH, 0.0..=0.005)
            .unwrap_or(DIAMETER_SPREAD_M.0);
        let materials = [
            ("glass", Material::Glass),
            ("steel", Material::Steel),
            ("ceramic", Material::Ceramic),
            ("wood", Material::Wood),
        ];
        marbles.material = of.choice("material", &materials).unwrap_or(Material::Glass);
        of.finish();
        marbles
    }

    fn drive(&mut self) -> Drive {
        let Some(mut of) = self.map("drive") else {
            return Drive {
                rpm: 0.0,
                motor: None,
            };
        };
        let rpm = of.quantity("speed", &SPEED, 0.01..=limits::FASTEST_RPM);
        of.ways(&[&["speed"], &["motor"]]);
        let motor = of.motor();
        if motor.is_none() && of.get("motor").is_none() {
            of.required("speed", "9 rpm", rpm);
        }
        of.finish();
        Drive {
            rpm: rpm.unwrap_or(0.0),
            motor,
        }
    }

    fn motor(&mut self) -> Option<Motor> {
        let mut of = self.map("motor")?;
        let no_load = of.quantity("no-load-speed", &SPEED, 0.1..=100_000.0);
        let no_load = of.required("no-load-speed", "30 rpm", no_load);
        let stall_torque = of.quantity("stall-torque", &TORQUE, 1e-5..=100.0);
        let stall_torque = of.required("stall-torque", "0.5 N m", stall_torque);
        let no_load_current_a = of
            .quantity("no-load-current", &CURRENT, 0.0..=100.0)
            .unwrap_or(0.06);
        let stall_current_a = of
            .quantity("stall-current", &CURRENT, 0.001..=500.0)
            .unwrap_or(0.9);
        of.draws_more_at_stall(no_load_current_a, stall_current_a);
        let teeth = of.teeth().unwrap_or((1, 1));
        let module_m = of.quantity("module", &LENGTH, 0.0001..=0.1);
        let duty = of.number("duty", 0.01..=1.0).unwrap_or(1.0);
        let rated_v = of.quantity("voltage", &VOLTAGE, 0.5..=60.0);
        let supply = of.supply();
        of.finish();
        Some(Motor {
            no_load_rpm: no_load?,
            stall_torque_nm: stall_torque?,
            no_load_current_a,
            stall_current_a,
            teeth,
            module_m,
            duty,
            rated_v,
            supply,
        })
    }

    fn draws_more_at_stall(&mut self, no_load_a: f64, stall_a: f64) {
        let node = self.get("stall-current").or(self.get("no-load-current"));
        if let Some(node) = node.filter(|_| stall_a <= no_load_a) {
            let (stall, no_load) = (CURRENT.show(stall_a), CURRENT.show(no_load_a));
            let what = format!(
                "the motor draws {stall} when it stalls and {no_load} when it turns freely"
            );
            self.wrong(
                "stall-current",
                node,
                what,
                "a motor draws most when it stalls: look the two up again",
            );
        }
    }

    fn teeth(&mut self) -> Option<(u32, u32)> {
        self.note("teeth", || Shape::Shared("teeth"));
        let teeth = self.numbers("teeth", 4.0..=1000.0)?;
        match teeth.as_slice() {
            &[motor, drive] if motor.fract() == 0.0 && drive.fract() == 0.0 => {
                Some((motor as u32, drive as u32))
            }
            _ => {
                let help = "write the motor's gear and the drive's, in whole teeth, as in `teeth: [12, 48]`";
                let node = self.get("teeth")?;
                self.wrong("teeth", node, "`teeth` is not a pair of gears", help);
                None
            }
        }
    }

    fn workable(&mut self, names: &[String]) -> Workable {
        let unset = Unset {
            least_fill: true,
            jams_per_8h: true,
            spills: true,
        };
        let mut workable = Workable {
            least_fill: 0.8,
            jams_per_8h: 1.0,
            spills: 0,
            backlog: Vec::new(),
            unset,
        };
        let Some(mut of) = self.map("workable") else {
            return workable;
        };
        let mut unset = |key| of.get(key).is_none();
        workable.unset = Unset {
            least_fill: unset("least-fill"),
            jams_per_8h: unset("jams-per-8h"),
            spills: unset("spills"),
        };
        workable.least_fill = of
            .number("least-fill", 0.0..=1.0)
            .unwrap_or(workable.least_fill);
        workable.jams_per_8h = of
            .number("jams-per-8h", 0.0..=1e6)
            .unwrap_or(workable.jams_per_8h);
        workable.spills = of.count("spills", 0..=limits::MARBLES).unwrap_or(0);
        of.note("backlog", || Shape::Shared("backlog"));
        if let Some(backlog) = of.map("backlog") {
            for entry in backlog.entries() {
                let path = backlog.path_of(&entry.key);
                let element = index_of(&entry.key, names, &path, entry.key_place, self.report());
                match &entry.node.value {
                    &Value::Number(n)
                        if n >= 0.0 && n.fract() == 0.0 && n <= f64::from(limits::PLACES) =>
                    {
                        workable.backlog.extend(element.map(|e| (e, n as u32)));
                    }
                    _ => {
                        let what =
                            format!("the backlog of `{}` is not a number of marbles", entry.key);
                        backlog.wrong(
                            &entry.key,
                            &entry.node,
                            what,
                            "write a whole number, as in `12`",
                        );
                    }
                }
            }
        }
        of.finish();
        workable
    }

    fn tending(&mut self) -> Tending {
        self.note("tending", || Shape::Shared("tending"));
        let Some(text) = self.text("tending") else {
            return Tending::Stop;
        };
        let cleared = text
            .strip_prefix("clear after ")
            .map(|t| units::quantity(t, &DURATION));
        match (text, cleared) {
            ("stop", _) => Tending::Stop,
            (_, Some(Ok(after))) if (0.0..=limits::LONGEST_TIME_S).contains(&after) => {
                Tending::ClearAfter(after)
            }
            _ => {
                if let Some(node) = self.get("tending") {
                    let what = format!("`tending: {text}` is not understood");
                    self.wrong(
                        "tending",
                        node,
                        what,
                        "write `stop`, or `clear after 2 min` with the time in its unit",
                    );
                }
                Tending::Stop
            }
        }
    }

    /// The warnings that the maker has read and does not want to hear again.
    fn allow(&mut self) -> Vec<Warning> {
        let choices = Warning::ALL.map(|warning| (warning.code(), warning));
        self.choices("allow", &choices).unwrap_or_default()
    }

    /// How exactly the workshop works: standard deviations of what it makes.
    fn workshop(&mut self) -> Workmanship {
        let mut workshop = Workmanship::default();
        let Some(mut of) = self.map("workshop") else {
            return workshop;
        };
        for what in WorkshopError::ALL {
            let (key, range) = (what.key(), 0.0..=what.most());
            let sd = match what.unit() {
                Some(unit) => of.quantity(key, unit, range),
                None => of.number(key, range),
            };
            if let Some(sd) = sd {
                workshop.give(what, sd);
            }
        }
        of.finish();
        workshop
    }

    fn assume(&mut self) -> Assume {
        let mut assume = Assume::default();
        let Some(mut of) = self.map("assume") else {
            return assume;
        };
        assume.rolling_m = of
            .quantity("rolling-resistance", &LENGTH, 0.0..=0.005)
            .unwrap_or(assume.rolling_m);
        assume.restitution = of
            .number("restitution", 0.0..=0.98)
            .unwrap_or(assume.restitution);
        assume.bend_loss = of.number("bend-loss", 0.0..=0.95);
        assume.friction = of.number("friction", 0.01..=2.0).unwrap_or(assume.friction);
        assume.drilling = of.quantity("drilling-resistance", &LENGTH, 0.0..=0.005);
        assume.hit_grip = of.number("hit-grip", 0.1..=2.0).unwrap_or(assume.hit_grip);
        assume.gear_efficiency = of
            .number("gear-efficiency", 0.05..=1.0)
            .unwrap_or(assume.gear_efficiency);
        assume.entry_scatter = of
            .number("entry-scatter", 0.0..=0.5)
            .unwrap_or(assume.entry_scatter);
        assume.slope_rad = of
            .quantity("slope", &ANGLE, LEAST_SLOPE_RAD..=0.5)
            .unwrap_or(assume.slope_rad);
        assume.marble_friction = of
            .number("marble-friction", 0.0..=2.0)
            .unwrap_or(assume.marble_friction);
        assume.marble_restitution = of
            .number("marble-restitution", 0.05..=0.99)
            .unwrap_or(assume.marble_restitution);
        of.finish();
        assume
    }
}

impl Default for Assume {
    fn default() -> Self {
        Assume {
            rolling_m: material::ROLLING_LEVER_M,
            restitution: material::RESTITUTION,
            bend_loss: None,
            friction: material::SLIDING_FRICTION,
            drilling: None,
            hit_grip: material::HIT_GRIP,
            gear_efficiency: GEAR_EFFICIENCY.0,
            entry_scatter: ENTRY_SCATTER.0,
            slope_rad: WAITING_SLOPE_RAD.0,
            marble_friction: material::MARBLE_FRICTION,
            marble_restitution: material::MARBLE_RESTITUTION,
        }
    }
}

/// The least slope on which marbles may be said to wait, radians: a tenth of a degree.
const LEAST_SLOPE_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

impl Assume {
    /// Lever arm of drilling friction, metres. Where none is given it stands to that of rolling resistance as their
    /// defaults do, since both grow with the patch on which the marble touches: no resistance at all where that is 0.
    pub fn drilling_m(&self) -> f64 {
        self.drilling
            .unwrap_or(self.rolling_m * (material::DRILLING_LEVER_M / material::ROLLING_LEVER_M))
    }
}
