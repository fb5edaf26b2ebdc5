//! What single keys cannot show: exits, ways in, loops, and dimensions that do not go together.

use super::model::*;
use super::problem::{Place, Report};
use super::yaml::{Node, Value};

/// Checks a machine as a whole; problems go to `report` with the places that `tree` gives.
pub fn check(machine: &Machine, tree: &Node, report: &Report) {
    let check = Check { machine, tree, report };
    check.drive();
    for (n, element) in machine.elements.iter().enumerate() {
        check.ways(n, element);
        check.dimensions(element);
    }
    check.reachable();
    check.timeless_loops();
}

struct Check<'m> {
    machine: &'m Machine,
    tree: &'m Node,
    report: &'m Report,
}

impl Check<'_> {
    /// The place of a dotted key, or of the nearest part of it that was written.
    fn place(&self, key: &str) -> Option<Place> {
        let mut node = self.tree;
        let mut place = None;
        for part in key.split('.') {
            let Value::Map(entries) = &node.value else { break };
            let Some(entry) = entries.iter().find(|entry| entry.key == part) else { break };
            place = Some(if matches!(entry.node.value, Value::Map(_)) { entry.key_place } else { entry.node.place });
            node = &entry.node;
        }
        place
    }

    fn wrong(&self, key: &str, what: impl Into<String>, mend: impl Into<String>) {
        self.report.add(self.place(key), key, what, mend);
    }

    fn drive(&self) {
        let on_drive =
            |e: &Element| matches!(&e.kind, Kind::PocketWheel(w) if matches!(w.turned_by, TurnedBy::Drive { .. }));
        let drive = &self.machine.drive;
        if let Some(wheel) = self.machine.elements.iter().find(|e| on_drive(e))
            && drive.rpm == 0.0
            && drive.motor.is_none()
        {
            self.wrong(
                "drive",
                format!("nothing turns `{}`: the file has no `drive`", wheel.name),
                "add `drive: { speed: 9 rpm }`",
            );
        }
    }

    fn ways(&self, n: usize, element: &Element) {
        let key = format!("circuit.{}.to", element.name);
        let name = &element.name;
        let splits = matches!(element.kind, Kind::Bowl(_) | Kind::FlipGate(_) | Kind::Peg(_) | Kind::Weir(_));
        if !splits && element.to.len() > 1 {
            let what = format!("a {} has one way out, and `{name}` leads to {}", element.kind.name(), element.to.len());
            self.wrong(&key, what, "put a bowl, flip-gate, peg or weir between");
        }
        if splits && element.to.is_empty() {
            self.wrong(&key, format!("`{name}` shares marbles out but leads nowhere"), "name the elements it feeds");
        }
        if matches!(element.kind, Kind::PocketWheel(_)) && element.to.is_empty() {
            self.wrong(&key, format!("the wheel `{name}` lifts marbles to nowhere"), "name the slide at its top");
        }
        let shares = match &element.kind {
            Kind::Bowl(bowl) => bowl.shares.len(),
            Kind::Peg(peg) => peg.shares.len(),
            _ => 0,
        };
        if shares != 0 && shares != element.to.len() {
            let key = format!("circuit.{name}.{}.shares", element.kind.name());
            let what = format!("`{name}` has {shares} shares for {} ways out", element.to.len());
            self.wrong(&key, what, "give each way out one share");
        }
        for exit in &element.to {
            self.way(n, element, exit, &key);
        }
    }

    fn way(&self, n: usize, element: &Element, exit: &Exit, key: &str) {
        let target = &self.machine.elements[exit.to];
        let name = &element.name;
        if exit.to == n {
            self.wrong(key, format!("`{name}` leads straight back into itself"), "name another element");
        }
        let wheel = |e: &Element| matches!(e.kind, Kind::PocketWheel(_));
        if wheel(element) && wheel(target) {
            let what = format!("the wheel `{name}` hands marbles straight to the wheel `{}`", target.name);
            self.wrong(key, what, "put a slide between, where they can wait for a pocket");
        }
        let Some(landing) = exit.landing else { return };
        match &target.kind {
            Kind::ReturnFloor(floor) => {
                if let Some(shape) = floor.shape
                    && !((0.0..=shape.width_m).contains(&landing.x_m) && (0.0..=shape.depth_m).contains(&landing.y_m))
                {
                    let what = format!("marbles from `{name}` land beside `{}`", target.name);
                    self.wrong(key, what, "`at` is across and along the floor, from its left back corner");
                }
            }
            _ => self.wrong(
                key,
                format!("`{}` is not a return floor, so marbles do not land on it", target.name),
                "write only the element's name",
            ),
        }
    }

    fn dimensions(&self, element: &Element) {
        let needs_marble = match &element.kind {
            Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => !line.segments.is_empty(),
            Kind::PocketWheel(wheel) => wheel.shape.is_some(),
            Kind::Bowl(bowl) => bowl.shape.is_some(),
            Kind::ReturnFloor(floor) => floor.shape.is_some(),
            _ => false,
        };
        let Some(diameter) = self.machine.marbles.diameter_m else {
            if needs_marble {
                let what = format!("the dimensions of `{}` need to know the marbles", element.name);
                self.wrong("marbles.diameter", what, "add `diameter: 16 mm` to `marbles`");
            }
            return;
        };
        let base = format!("circuit.{}.{}", element.name, element.kind.name());
        match &element.kind {
            Kind::PocketWheel(wheel) => self.wheel(&base, wheel, diameter),
            Kind::Bowl(bowl) => {
                if let Some(shape) = bowl.shape {
                    self.wider(&format!("{base}.hole"), "hole", shape.hole_m, diameter);
                    if shape.hole_circle_m + shape.hole_m / 2.0 > shape.width_m / 2.0 {
                        self.wrong(
                            &format!("{base}.hole-circle"),
                            "the holes stand beyond the rim",
                            "make `hole-circle` smaller",
                        );
                    }
                }
            }
            Kind::ReturnFloor(floor) => {
                if let Some(shape) = floor.shape {
                    self.wider(&format!("{base}.mouth"), "mouth", shape.mouth_m, diameter);
                }
            }
            _ => {}
        }
    }

    fn wider(&self, key: &str, what: &str, opening_m: f64, diameter_m: f64) {
        if opening_m <= diameter_m {
            let what =
                format!("a {:.1} mm marble does not pass a {what} of {:.1} mm", diameter_m * 1e3, opening_m * 1e3);
            self.wrong(key, what, format!("make it wider than {:.1} mm", diameter_m * 1.1e3));
        }
    }

    fn wheel(&self, base: &str, wheel: &PocketWheel, diameter_m: f64) {
        let Some(shape) = &wheel.shape else { return };
        self.wider(&format!("{base}.bore"), "pocket", shape.bore_m, diameter_m);
        let spacing = 2.0 * shape.pitch_radius_m * libm::sin(std::f64::consts::PI / f64::from(wheel.pockets));
        if wheel.pockets > 1 && spacing <= shape.bore_m {
            let what = format!(
                "{} pockets of {:.1} mm run into each other: their centres are {:.1} mm apart",
                wheel.pockets,
                shape.bore_m * 1e3,
                spacing * 1e3
            );
            self.wrong(&format!("{base}.pockets"), what, "drill fewer pockets, or a larger pitch circle");
        }
        if shape.bore_m >= 2.0 * shape.pitch_radius_m {
            self.wrong(
                &format!("{base}.bore"),
                "the pocket is wider than the pitch circle",
                "make `pitch-radius` larger",
            );
        }
    }

    fn reachable(&self) {
        let elements = &self.machine.elements;
        let mut reached = vec![false; elements.len()];
        let mut next = vec![self.machine.start];
        while let Some(n) = next.pop() {
            if !std::mem::replace(&mut reached[n], true) {
                next.extend(elements[n].to.iter().map(|exit| exit.to));
            }
        }
        for (element, _) in elements.iter().zip(&reached).filter(|(_, reached)| !**reached) {
            let what = format!("no marble can reach `{}`", element.name);
            self.wrong(
                &format!("circuit.{}", element.name),
                what,
                "lead another element to it with `to`, or take it out",
            );
        }
    }

    /// A loop in which nothing takes any time would turn for ever at one instant.
    fn timeless_loops(&self) {
        let elements = &self.machine.elements;
        let timeless: Vec<bool> = elements.iter().map(|e| takes_no_time(&e.kind)).collect();
        for start in (0..elements.len()).filter(|&n| timeless[n]) {
            let mut seen = vec![false; elements.len()];
            let mut next: Vec<usize> = elements[start].to.iter().map(|exit| exit.to).collect();
            while let Some(n) = next.pop().filter(|_| !seen[start]) {
                if timeless[n] && !std::mem::replace(&mut seen[n], true) {
                    next.extend(elements[n].to.iter().map(|exit| exit.to));
                }
            }
            if seen[start] {
                let what = format!("a loop through `{}` takes no time at all", elements[start].name);
                self.wrong(
                    &format!("circuit.{}", elements[start].name),
                    what,
                    "give one element of the loop a time above zero",
                );
                return;
            }
        }
    }
}

fn takes_no_time(kind: &Kind) -> bool {
    let zero = |law: &Option<TimeLaw>| law.as_ref().is_some_and(TimeLaw::is_zero);
    let falls = |fall: &Fall| zero(&fall.time) || (fall.time.is_none() && fall.drop_m == 0.0);
    match kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => zero(&line.time),
        Kind::PocketWheel(_) => false,
        Kind::Bowl(bowl) => zero(&bowl.swirl),
        Kind::FlipGate(gate) => falls(&gate.fall),
        Kind::Peg(peg) => falls(&peg.fall),
        Kind::Weir(weir) => falls(&weir.fall),
        Kind::Escapement(escapement) => escapement.time.is_zero(),
        Kind::TippingCup(cup) => cup.tip_s == 0.0 && cup.reset_s == 0.0,
        Kind::ReturnFloor(floor) => zero(&floor.time),
    }
}
