//! A machine file's tree to a [`Machine`]: the top level, the circuit and its exits.

use super::fields::Fields;
use super::limits;
use super::model::*;
use super::problem::{Place, Report};
use super::suggest::did_you_mean;
use super::units::{CURRENT, LENGTH, SPEED, TORQUE};
use super::yaml::{Entry, Node, Value};
use crate::physics::material;

/// Reads the machine that the tree describes; what is wrong goes to `report`.
///
/// `Some` may come with problems reported: it is a machine only if the report is empty.
pub fn machine(tree: &Node, report: &Report) -> Option<Machine> {
    let mut file = Fields::open(tree, "", report)?;
    file.format();
    let title = file.text("title").unwrap_or("Untitled machine").to_owned();
    let marbles = file.marbles();
    let drive = file.drive();
    let circuit = file.get("circuit");
    let start_node = file.get("start");
    let start_name = file.text("start");
    let elements = match circuit {
        Some(node) => elements(node, report),
        None => {
            file.required::<()>(
                "circuit",
                "{ ... }` with at least one element, `start-ramp: { ramp: {...}, to: lift }",
                None,
            );
            None
        }
    };
    let names: Vec<String> = elements.iter().flatten().map(|e| e.name.clone()).collect();
    file.required("start", names.first().map_or("start-ramp", |n| n), start_name);
    let start = start_name.zip(start_node).and_then(|(name, node)| index_of(name, &names, "start", node.place, report));
    let machine = Machine {
        title,
        marbles,
        drive,
        start: start.unwrap_or(0),
        workable: file.workable(&names),
        tending: file.tending(),
        assume: file.assume(),
        elements: elements?,
    };
    file.finish();
    Some(machine)
}

/// The index of the element called `name`, or a problem at `place`.
fn index_of(name: &str, names: &[String], key: &str, place: Place, report: &Report) -> Option<usize> {
    let found = names.iter().position(|known| known == name);
    if found.is_none() {
        let what = format!("there is no element called `{name}`");
        report.add(Some(place), key, what, did_you_mean(name, names.iter().map(String::as_str)));
    }
    found
}

fn elements(node: &Node, report: &Report) -> Option<Vec<Element>> {
    let circuit = Fields::open(node, "circuit", report)?;
    let entries = circuit.entries();
    if entries.is_empty() || entries.len() > limits::ELEMENTS {
        let what = format!("the circuit has {} elements", entries.len());
        report.add(Some(node.place), "circuit", what, format!("a circuit has from 1 to {} elements", limits::ELEMENTS));
        return None;
    }
    let names: Vec<String> = entries.iter().map(|entry| entry.key.clone()).collect();
    let all: Vec<_> = entries.iter().map(|entry| element(entry, &names, report)).collect();
    all.into_iter().collect()
}

fn element(entry: &Entry, names: &[String], report: &Report) -> Option<Element> {
    let path = format!("circuit.{}", entry.key);
    if entry.key == "none" {
        let mend = "`to: none` already means a dead end: give the element another name";
        report.add(Some(entry.key_place), &path, "an element cannot be called `none`", mend);
    }
    let mut of = Fields::open(&entry.node, &path, report)?;
    let to = exits(&mut of, names);
    let kinds: Vec<&Entry> = of.entries().iter().filter(|e| e.key != "to").collect();
    let kind = match kinds.as_slice() {
        [only] => of.known_kind(&only.key, only.key_place).and_then(|name| {
            let mut dimensions = of.map(name)?;
            let kind = dimensions.kind(name);
            dimensions.finish();
            kind
        }),
        [] => {
            let what = format!("`{}` does not say what it is", entry.key);
            report.add(Some(entry.key_place), &path, what, format!("add one of {}", KINDS.join(", ")));
            None
        }
        several => {
            let list: Vec<_> = several.iter().map(|e| format!("`{}`", e.key)).collect();
            let what = format!(
                "`{}` has {} keys beside `to` ({}), where one kind is due",
                entry.key,
                several.len(),
                list.join(", ")
            );
            report.add(
                Some(entry.key_place),
                &path,
                what,
                "indent a dimension under its kind, or make two elements of it",
            );
            None
        }
    };
    Some(Element { name: entry.key.clone(), kind: kind?, to: to? })
}

fn exits(of: &mut Fields, names: &[String]) -> Option<Vec<Exit>> {
    let to = of.required("to", "next-element` (or `to: none` for a dead end)", Some(()).filter(|()| of_has_to(of)));
    to?;
    let node = of.get("to")?;
    let path = of.path_of("to");
    match &node.value {
        Value::Text(word) if word == "none" => Some(Vec::new()),
        Value::List(items) if items.is_empty() || items.len() > limits::WAYS => {
            let mend = format!("name 1 to {} elements, or write `to: none` for a dead end", limits::WAYS);
            of.wrong("to", node, format!("{} ways out", items.len()), mend);
            None
        }
        Value::List(items) => {
            let all: Vec<_> = items.iter().map(|item| exit(item, names, &path, of.report())).collect();
            all.into_iter().collect()
        }
        _ => exit(node, names, &path, of.report()).map(|exit| vec![exit]),
    }
}

fn of_has_to(of: &Fields) -> bool {
    of.entries().iter().any(|entry| entry.key == "to")
}

fn exit(node: &Node, names: &[String], path: &str, report: &Report) -> Option<Exit> {
    match &node.value {
        Value::Text(name) => index_of(name, names, path, node.place, report).map(|to| Exit { to, landing: None }),
        Value::Map(entries) if entries.len() == 1 => {
            let entry = &entries[0];
            let landing = landing(&entry.node, &format!("{path}.{}", entry.key), report);
            let to = index_of(&entry.key, names, path, entry.key_place, report)?;
            Some(Exit { to, landing: Some(landing?) })
        }
        other => {
            let what = format!("a way out is {}, where an element's name is due", other.kind());
            report.add(
                Some(node.place),
                path,
                what,
                "write its name, or `{ floor: { at: [150 mm, 300 mm], spread: 40 mm } }`",
            );
            None
        }
    }
}

fn landing(node: &Node, path: &str, report: &Report) -> Option<Landing> {
    let mut of = Fields::open(node, path, report)?;
    let spread_m = of.quantity("spread", &LENGTH, 0.0..=2.0).unwrap_or(0.02);
    let at = of.get("at");
    let point = at.and_then(|node| match &node.value {
        Value::List(items) if items.len() == 2 => {
            let read = |n: usize| match &items[n].value {
                Value::Text(text) => super::units::quantity(text, &LENGTH).ok(),
                _ => None,
            };
            read(0).zip(read(1))
        }
        _ => None,
    });
    of.required("at", "[150 mm, 300 mm]", point);
    if let (Some(node), None) = (at, point) {
        let mend =
            "write two lengths: across from the left edge and along from the back edge, as in `at: [150 mm, 300 mm]`";
        of.wrong("at", node, "`at` is not a spot on the floor", mend);
    }
    of.finish();
    point.map(|(x_m, y_m)| Landing { x_m, y_m, spread_m })
}

impl Fields<'_> {
    fn format(&mut self) {
        let format = self.count("format", 1..=1000);
        self.required("format", "1", format);
        if let (Some(found), Some(node)) = (format, self.get("format"))
            && found != 1
        {
            let mend = "this program reads format 1: write `format: 1`, or use a newer program";
            self.wrong("format", node, format!("format {found} is not known"), mend);
        }
    }

    fn marbles(&mut self) -> Marbles {
        let mut marbles = Marbles { count: 1, diameter_m: None, spread_m: 0.0, material: Material::Glass };
        let Some(mut of) = self.map("marbles") else {
            self.required::<()>("marbles", "{ count: 30, diameter: 16 mm }", None);
            return marbles;
        };
        let count = of.count("count", 1..=limits::MARBLES);
        marbles.count = of.required("count", "30", count).unwrap_or(1);
        marbles.diameter_m = of.quantity("diameter", &LENGTH, 0.002..=0.1);
        marbles.spread_m = of.quantity("spread", &LENGTH, 0.0..=0.005).unwrap_or(0.0001);
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
        let Some(mut of) = self.map("drive") else { return Drive { rpm: 0.0, motor: None } };
        let rpm = of.quantity("speed", &SPEED, 0.01..=limits::FASTEST_RPM);
        let motor = of.motor();
        if motor.is_none() && of.get("motor").is_none() {
            of.required("speed", "9 rpm", rpm);
        }
        of.finish();
        Drive { rpm: rpm.unwrap_or(0.0), motor }
    }

    fn motor(&mut self) -> Option<Motor> {
        let mut of = self.map("motor")?;
        let no_load = of.quantity("no-load-speed", &SPEED, 0.1..=100_000.0);
        let no_load = of.required("no-load-speed", "30 rpm", no_load);
        let stall_torque = of.quantity("stall-torque", &TORQUE, 1e-5..=100.0);
        let stall_torque = of.required("stall-torque", "0.5 N m", stall_torque);
        let no_load_current_a = of.quantity("no-load-current", &CURRENT, 0.0..=100.0).unwrap_or(0.06);
        let stall_current_a = of.quantity("stall-current", &CURRENT, 0.001..=500.0).unwrap_or(0.9);
        let teeth = of.numbers("teeth", 4.0..=1000.0).unwrap_or(vec![1.0, 1.0]);
        if teeth.len() != 2
            && let Some(node) = of.get("teeth")
        {
            of.wrong(
                "teeth",
                node,
                "`teeth` is not a pair",
                "write motor gear and drive gear, as in `teeth: [12, 48]`",
            );
        }
        let pair = (teeth.first().map_or(1, |&t| t as u32), teeth.get(1).map_or(1, |&t| t as u32));
        let module_m = of.quantity("module", &LENGTH, 0.0001..=0.1);
        let duty = of.number("duty", 0.01..=1.0).unwrap_or(1.0);
        let cells = of.count("cells", 1..=100);
        of.finish();
        Some(Motor {
            no_load_rpm: no_load?,
            stall_torque_nm: stall_torque?,
            no_load_current_a,
            stall_current_a,
            teeth: pair,
            module_m,
            duty,
            cells,
        })
    }

    fn workable(&mut self, names: &[String]) -> Workable {
        let mut workable = Workable { least_fill: 0.8, jams_per_8h: 1.0, spills: 0, backlog: Vec::new() };
        let Some(mut of) = self.map("workable") else { return workable };
        workable.least_fill = of.number("least-fill", 0.0..=1.0).unwrap_or(workable.least_fill);
        workable.jams_per_8h = of.number("jams-per-8h", 0.0..=1e6).unwrap_or(workable.jams_per_8h);
        workable.spills = of.count("spills", 0..=limits::MARBLES).unwrap_or(0);
        if let Some(backlog) = of.map("backlog") {
            for entry in backlog.entries() {
                let path = backlog.path_of(&entry.key);
                let element = index_of(&entry.key, names, &path, entry.key_place, self.report());
                match entry.node.value {
                    Value::Number(n) if n >= 0.0 && n.fract() == 0.0 && n <= f64::from(limits::PLACES) => {
                        workable.backlog.extend(element.map(|e| (e, n as u32)));
                    }
                    _ => backlog.wrong(
                        &entry.key,
                        &entry.node,
                        "this is not a number of marbles",
                        "write a whole number",
                    ),
                }
            }
        }
        of.finish();
        workable
    }

    fn tending(&mut self) -> Tending {
        let Some(text) = self.text("tending") else { return Tending::Stop };
        let cleared = text.strip_prefix("clear after").map(|t| super::units::quantity(t, &super::units::DURATION));
        match (text, cleared) {
            ("stop", _) => Tending::Stop,
            (_, Some(Ok(after))) if (0.0..=limits::LONGEST_TIME_S).contains(&after) => Tending::ClearAfter(after),
            _ => {
                if let Some(node) = self.get("tending") {
                    self.wrong("tending", node, "`tending` is not understood", "write `stop` or `clear after 2 min`");
                }
                Tending::Stop
            }
        }
    }

    fn assume(&mut self) -> Assume {
        let mut assume = Assume::default();
        let Some(mut of) = self.map("assume") else { return assume };
        assume.rolling_m = of.quantity("rolling-resistance", &LENGTH, 0.0..=0.005).unwrap_or(assume.rolling_m);
        assume.restitution = of.number("restitution", 0.0..=0.98).unwrap_or(assume.restitution);
        assume.bend_loss = of.number("bend-loss", 0.0..=0.95);
        assume.friction = of.number("friction", 0.01..=2.0).unwrap_or(assume.friction);
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
        }
    }
}
