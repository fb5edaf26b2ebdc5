//! What single keys cannot show: what turns the wheels, exits, ways in, and loops.
//!
//! A part that could not be read has been reported already; it is passed over here, so that one mistake is one problem.

use super::description::Description;
use super::kind::{self, KINDS, each_kind};
use super::limits;
use super::model::*;
use super::problem::{Place, Report};
use super::read::MachineDraft;
use super::yaml::{Value, YamlNode};

/// Checks a machine as a whole; problems go to `report` with the places that `tree` gives.
pub fn check(draft: &MachineDraft, tree: &YamlNode, report: &Report) {
    let check = Check {
        draft,
        machine: &draft.machine,
        tree,
        report,
    };
    check.drive();
    check.marbles();
    for (n, element) in check.machine.elements.iter().enumerate() {
        if draft.kind_known[n] {
            check.dimensions(element);
            if draft.ways_known[n] {
                check.ways(n, element);
            }
        }
    }
    if draft.ways_known.iter().all(|&known| known) {
        check.reachable();
        check.gates_open();
        check.timeless_loops();
    }
}

/// The place of a dotted key (items of lists count from 0), or of the nearest outer one that was written; and whether the
/// key itself was.
pub fn find(tree: &YamlNode, key: &str) -> (Place, bool) {
    let (mut node, mut place) = (tree, tree.place);
    for part in key.split('.') {
        let key_place;
        (node, key_place) = match step(node, part) {
            Some(inner) => inner,
            None => return (place, false),
        };
        place = if matches!(node.value, Value::Map(_)) {
            key_place
        } else {
            node.place
        };
    }
    (place, true)
}

/// The value under a key or item number of `node`, and the place of the key or item.
fn step<'t>(node: &'t YamlNode, part: &str) -> Option<(&'t YamlNode, Place)> {
    match &node.value {
        Value::Map(entries) => {
            let entry = entries.iter().find(|entry| entry.key == part)?;
            Some((&entry.node, entry.key_place))
        }
        Value::List(items) => {
            let item = items.get(part.parse::<usize>().ok()?)?;
            Some((item, item.place))
        }
        _ => None,
    }
}

/// The checks of one machine.
pub struct Check<'m> {
    draft: &'m MachineDraft,
    /// The machine.
    pub machine: &'m Machine,
    tree: &'m YamlNode,
    report: &'m Report,
}

impl Check<'_> {
    /// Whether the file has this key.
    pub fn written(&self, key: &str) -> bool {
        find(self.tree, key).1
    }

    /// Notes a problem with `key`, at its place or at that of the nearest outer key that was written.
    pub fn wrong(&self, key: &str, what: impl Into<String>, help: impl Into<String>) {
        self.report
            .add(Some(find(self.tree, key).0), key, what, help);
    }

    fn drive(&self) {
        if self.written("drive") {
            return;
        }
        for Element { name, kind, .. } in &self.machine.elements {
            let key = format!("circuit.{name}.{}", kind.name());
            if kind.is_on_drive() && !self.written(&format!("{key}.speed")) {
                let what = format!("nothing turns `{name}`: the file has no `drive`");
                let help = "add `drive: { speed: 9 rpm }` to the file";
                return self.wrong(&key, what, help);
            }
        }
    }

    fn ways(&self, n: usize, element: &Element) {
        let key = format!("circuit.{}.to", element.name);
        let name = &element.name;
        if !kind::splits(element.kind.name()) && element.to.len() > 1 {
            let what = format!(
                "a {} has one way out, and `{name}` leads to {}",
                element.kind.name(),
                element.to.len()
            );
            self.wrong(&key, what, format!("put a {} between", splitters()));
        }
        if element.to.is_empty()
            && let Some((what, help)) = kind::dead_end(element.kind.name(), name)
        {
            self.wrong(&key, what, help);
        }
        self.shares(element);
        let listed = self.written(&format!("{key}.0"));
        for (nth, exit) in element.to.iter().enumerate() {
            let key = if listed {
                format!("{key}.{nth}")
            } else {
                key.clone()
            };
            self.way(n, element, exit, &key);
        }
    }

    fn shares(&self, element: &Element) {
        let shares = each_kind!(&element.kind, of => of.shares().len());
        let ways = element.to.len();
        if shares != 0 && ways != 0 && shares != ways {
            let key = format!("circuit.{}.{}.shares", element.name, element.kind.name());
            let ways_out = if ways == 1 { "way out" } else { "ways out" };
            let what = format!(
                "`{}` has {shares} shares for {ways} {ways_out}",
                element.name
            );
            self.wrong(&key, what, "give each way out one share");
        }
    }

    fn way(&self, n: usize, element: &Element, exit: &Exit, key: &str) {
        let target = &self.machine.elements[exit.to];
        let name = &element.name;
        if exit.to == n {
            self.wrong(
                key,
                format!("`{name}` leads straight back into itself"),
                "name another element",
            );
        }
        if element.kind.is_lift() && target.kind.is_lift() && exit.to != n {
            let what = format!(
                "`{name}` hands marbles straight to `{}`, and both are lifts",
                target.name
            );
            self.wrong(
                key,
                what,
                "put a slide between, where they can wait to be lifted",
            );
        }
        if self.draft.kind_known[exit.to] {
            self.landing(element, target, exit, key);
        }
    }

    fn landing(&self, element: &Element, target: &Element, exit: &Exit, key: &str) {
        let Some(landing) = exit.landing else { return };
        let key = format!("{key}.{}.at", target.name);
        let Some(floor) = target.kind.floor() else {
            let what = format!(
                "`{}` is not a return floor, so marbles do not land on it",
                target.name
            );
            self.wrong(
                &key,
                what,
                format!("write only its name, `to: {}`", target.name),
            );
            return;
        };
        let Some(shape) = floor.shape else { return };
        if !((0.0..=shape.width_m).contains(&landing.x_m)
            && (0.0..=shape.depth_m).contains(&landing.y_m))
        {
            let what = format!(
                "marbles from `{}` land beside `{}`",
                element.name, target.name
            );
            let (wide, deep) = (
                super::units::LENGTH.show(shape.width_m),
                super::units::LENGTH.show(shape.depth_m),
            );
            let help = format!(
                "write up to {wide} from the left edge and up to {deep} from the back edge"
            );
            self.wrong(&key, what, help);
        }
    }

    fn reachable(&self) {
        if !self.draft.start_known {
            return;
        }
        let elements = &self.machine.elements;
        let mut reached = vec![false; elements.len()];
        let mut next = vec![self.machine.start];
        while let Some(n) = next.pop() {
            if !std::mem::replace(&mut reached[n], true) {
                next.extend(elements[n].to.iter().map(|exit| exit.to));
            }
        }
        for n in (0..elements.len()).filter(|&n| !reached[n]) {
            let name = &elements[n].name;
            let what = format!("no marble can reach `{name}`");
            let help = format!("lead another element to it with `to: {name}`, or take it out");
            self.wrong(&format!("circuit.{name}"), what, help);
        }
    }

    /// A gate that opens only for marbles that cannot come by before it has opened never does.
    fn gates_open(&self) {
        if !self.draft.start_known {
            return;
        }
        let elements = &self.machine.elements;
        let mut reached = vec![false; elements.len()];
        let opens = |n: usize, reached: &[bool]| {
            let by = each_kind!(&elements[n].kind, of => of.tripped_by());
            let named = |by: &str| elements.iter().position(|element| element.name == by);
            by.and_then(named).is_none_or(|by| reached[by])
        };
        // Each time round opens a gate more, or none.
        for _ in 0..=elements.len() {
            let mut next = vec![self.machine.start];
            let mut passed = vec![false; elements.len()];
            while let Some(n) = next.pop() {
                reached[n] = true;
                if !std::mem::replace(&mut passed[n], true) && opens(n, &reached) {
                    next.extend(elements[n].to.iter().map(|exit| exit.to));
                }
            }
        }
        for n in (0..elements.len()).filter(|&n| reached[n] && !opens(n, &reached)) {
            let (name, kind) = (&elements[n].name, &elements[n].kind);
            let by = each_kind!(kind, of => of.tripped_by()).unwrap_or_default();
            let what = format!("`{name}` can never open: no marble comes to `{by}` before it does");
            let help =
                "let an element before it trip it, or let some go at the start, as in `first: 1`";
            self.wrong(&format!("circuit.{name}.{}.trip", kind.name()), what, help);
        }
    }

    /// A loop in which nothing takes any time would turn for ever at one instant.
    fn timeless_loops(&self) {
        let elements = &self.machine.elements;
        let timeless: Vec<bool> = elements
            .iter()
            .map(|element| {
                each_kind!(&element.kind, of => of.typical_s()) < limits::SHORTEST_LOOP_S
            })
            .collect();
        let mut noted = vec![false; elements.len()];
        for start in (0..elements.len()).filter(|&n| timeless[n]) {
            let seen = self.reached_in_no_time(start, &timeless);
            if seen[start] && !noted[start] {
                for (n, seen) in seen.iter().enumerate() {
                    noted[n] |= seen;
                }
                let what = format!(
                    "a loop through `{}` takes no time at all",
                    elements[start].name
                );
                let help = "give one element of the loop a time of 1 ms or more";
                self.wrong(&format!("circuit.{}", elements[start].name), what, help);
            }
        }
    }

    fn reached_in_no_time(&self, start: usize, timeless: &[bool]) -> Vec<bool> {
        let mut seen = vec![false; timeless.len()];
        let mut next = vec![&self.machine.elements[start]];
        while let Some(element) = next.pop() {
            for exit in &element.to {
                if timeless[exit.to] && !std::mem::replace(&mut seen[exit.to], true) {
                    next.push(&self.machine.elements[exit.to]);
                }
            }
        }
        seen
    }
}

/// The kinds that share marbles out, in words.
fn splitters() -> String {
    let mut names: Vec<String> = Vec::new();
    for name in KINDS.into_iter().filter(|name| kind::splits(name)) {
        names.push(format!("`{name}`"));
    }
    match names.split_last() {
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
        None => String::new(),
    }
}
