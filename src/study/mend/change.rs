//! What can be changed in a machine, and changes of it.

use std::collections::BTreeSet;

use crate::findings::words::count;
use crate::machine::kind::{KINDS, knobs, splits, swapped_in};
use crate::machine::knobs::{CostClass, Knob, KnobChange, beside};
use crate::machine::law::TimeLaw;
use crate::machine::units::{System, plain};
use crate::machine::{Machine, Setting, write_law};
use crate::sheet::dimensions::{DimensionGroup, From, dimensions};
use crate::study::axis::amount;

/// An inch, and the parts of it that a tape shows, as a power of two.
const INCH_MM: f64 = 25.4;
const TAPE_HALVINGS: f64 = -5.0;
/// Measured times are changed by so much of themselves.
const TIME_STEP: f64 = 0.05;

/// A key of the machine that can be changed, and what it stands at.
#[derive(Clone, Debug, PartialEq)]
pub struct Changeable {
    /// The dotted key.
    pub key: String,
    /// What sentences call it: `` `lift` ``, `` part 2 of `zig-zag` ``; empty for the machine as a whole.
    pub element: String,
    /// How it is changed.
    pub knob: Knob,
    /// Its value as it stands, with its unit.
    pub stands_at: String,
    /// The law of its times, where it is such.
    pub time: Option<TimeLaw>,
    /// The kind of element in whose place another is put; none where a key of an element is changed.
    pub swapped: Option<&'static str>,
}

/// A key that is changed in one direction, by more and more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ladder<'a> {
    /// The key.
    pub of: &'a Changeable,
    /// Whether its value grows.
    pub more: bool,
}

/// A key changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Alteration {
    /// The key.
    pub of: Changeable,
    /// By so many steps of it.
    pub steps: u32,
    /// Its new value, with its unit.
    pub to: String,
    more: bool,
}

/// Which keys may be changed, as typed: elements, keys, or ends of keys.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Touchable {
    /// Only these; empty: all.
    pub only: Vec<String>,
    /// None of these.
    pub not: Vec<String>,
}

impl Touchable {
    /// Whether `key` may be changed.
    pub fn allows(&self, key: &str) -> bool {
        let any = |all: &[String]| all.iter().any(|one| names(one, key));
        (self.only.is_empty() || any(&self.only)) && !any(&self.not)
    }
}

/// Whether somebody who types `typed` means the dotted key: the whole of it, with or without its kind, an element, or the last
/// word alone.
pub fn names(typed: &str, key: &str) -> bool {
    let short = match key {
        "marbles.count" => "marbles",
        "drive.speed" => "rpm",
        other => other,
    };
    let parts: Vec<&str> = key.split('.').collect();
    let without_kind = match parts.as_slice() {
        ["circuit", element, _, rest @ ..] => format!("circuit.{element}.{}", rest.join(".")),
        _ => key.to_owned(),
    };
    let begins = |whole: &str| {
        whole == typed
            || whole
                .strip_prefix(typed)
                .is_some_and(|rest| rest.starts_with('.'))
    };
    let element = key.strip_prefix("circuit.").is_some_and(begins);
    short == typed
        || begins(key)
        || begins(&without_kind)
        || element
        || parts.last() == Some(&typed)
}

impl Ladder<'_> {
    /// Both directions of every key; a word has but one.
    pub fn all(of: &[Changeable]) -> Vec<Ladder<'_>> {
        let mut all = Vec::new();
        for one in of {
            all.push(Ladder {
                of: one,
                more: true,
            });
            if !matches!(one.knob.change, KnobChange::Word { .. }) {
                all.push(Ladder {
                    of: one,
                    more: false,
                });
            }
        }
        all
    }

    /// How many steps make all of the value as it stands; none of a word.
    pub(super) fn steps_of_all(&self) -> Option<f64> {
        match self.of.knob.change {
            KnobChange::Word { .. } => None,
            KnobChange::Amount { step, .. } => {
                let (value, _) = amount(&self.of.stands_at).ok()?;
                Some(value / step)
            }
            KnobChange::Time { .. } => Some(1.0 / TIME_STEP),
        }
    }

    /// The change by so many steps, none where there are no such.
    pub fn change(&self, steps: u32) -> Option<Alteration> {
        let sign = if self.more { 1.0 } else { -1.0 };
        let to = match self.of.knob.change {
            KnobChange::Word { to, .. } if steps == 1 => to.to_owned(),
            KnobChange::Word { .. } => return None,
            KnobChange::Amount { step, unit, .. } => {
                let (from, _) = amount(&self.of.stands_at).ok()?;
                let value = from + sign * f64::from(steps) * step;
                let value = (value * 1e6).round() / 1e6;
                with_unit(value, unit)
            }
            KnobChange::Time { .. } => {
                let by = 1.0 + sign * f64::from(steps) * TIME_STEP;
                let law = self.of.time.as_ref().filter(|_| by > TIME_STEP / 2.0)?;
                write_law::law(&law.scaled(by))
            }
        };
        Some(Alteration {
            of: self.of.clone(),
            steps,
            to,
            more: self.more,
        })
    }
}

impl Alteration {
    /// It laid over the file.
    pub fn setting(&self) -> Setting {
        Setting {
            key: self.of.key.clone(),
            value: self.to.clone(),
        }
    }

    /// The ladder that it stands on.
    pub fn ladder(&self) -> Ladder<'_> {
        Ladder {
            of: &self.of,
            more: self.more,
        }
    }

    /// What it costs.
    pub fn class(&self) -> CostClass {
        self.of.knob.class
    }

    /// How large it is beside others of its class: a part of another kind is more than any part of the same kind made again.
    pub fn size(&self) -> (bool, u32) {
        (self.of.swapped.is_some(), self.steps)
    }

    /// What is to be done: ``cut the wall at `lift` back by 18 mm (20 to 38 mm)``.
    pub fn says(&self) -> String {
        let (step, unit, phrase) = match self.of.knob.change {
            KnobChange::Word { says, .. } => {
                let other = self.of.knob.key;
                return says.replace('@', &self.of.element).replace('#', other);
            }
            KnobChange::Amount {
                step,
                unit,
                more,
                less,
            } => (step, unit, if self.more { more } else { less }),
            KnobChange::Time { more, less } => {
                let phrase = if self.more { more } else { less };
                return self.says_time(&phrase.replace('@', &self.of.element));
            }
        };
        let said = plain(f64::from(self.steps) * step);
        let phrase = phrase.replace('@', &self.of.element);
        let from = amount(&self.of.stands_at).map_or(0.0, |(value, _)| value);
        let from = with_unit(from, unit);
        let from = from.trim_end_matches(unit).trim_end();
        let range = format!("({from} to {})", self.to);
        if phrase.contains("# marbles") {
            let marbles = count(u64::from(self.steps), "marble");
            return format!("{} {range}", phrase.replace("# marbles", &marbles));
        }
        if phrase.contains('#') {
            return format!("{} {range}", phrase.replace('#', &said));
        }
        let by = match unit {
            "in" => with_unit(f64::from(self.steps) * step, unit),
            _ => format!("{said} {unit}").trim_end().to_owned(),
        };
        format!("{phrase} by {by} {range}")
    }

    fn says_time(&self, phrase: &str) -> String {
        let share = f64::from(self.steps) * TIME_STEP;
        let now = self.of.time.as_ref().map_or(0.0, TimeLaw::typical_s);
        let then = now * if self.more { 1.0 + share } else { 1.0 - share };
        format!(
            "{phrase} by {} % ({} to {} s)",
            plain((share * 100.0).round()),
            write_law::factor(now),
            write_law::factor(then)
        )
    }
}

/// Every key of the machine that can be changed and may be; `written` are those that its file or the command line gives.
pub fn changeables(
    machine: &Machine,
    written: &BTreeSet<String>,
    touch: &Touchable,
) -> Vec<Changeable> {
    let mut all = Vec::new();
    for group in dimensions(machine, written) {
        all.extend(of_group(machine, &group));
    }
    all.extend(other_splitters(machine));
    all.retain(|one| touch.allows(&one.key));
    all
}

fn of_group(machine: &Machine, group: &DimensionGroup) -> Vec<Changeable> {
    let (element, known, measured) = match group.path.split('.').collect::<Vec<_>>().as_slice() {
        ["circuit", name, kind] => {
            let measured = measured(machine, name);
            (format!("`{name}`"), knobs(kind).to_vec(), measured)
        }
        _ => (String::new(), beside(&group.path), None),
    };
    let mut all = Vec::new();
    for dimension in &group.dimensions {
        let (part, key) = part_and_key(&dimension.key);
        let Some(knob) = known.iter().find(|knob| knob.key == key) else {
            continue;
        };
        let changes = match knob.change {
            KnobChange::Word { to, .. } => dimension.metric != to,
            KnobChange::Amount { unit, .. } => {
                amount(&dimension.metric).is_ok_and(|(_, written)| written == unit)
            }
            KnobChange::Time { .. } => measured.is_some(),
        };
        if !changes || dimension.from == From::Computed {
            continue;
        }
        let (knob, stands_at) = match (machine.units, *knob, amount(&dimension.metric)) {
            (System::Inches, knob, Ok((mm, "mm"))) => in_inches(knob, mm),
            (_, knob, _) => (knob, dimension.metric.clone()),
        };
        all.push(Changeable {
            key: format!("{}.{}", group.path, dimension.key),
            element: match part {
                Some(n) => format!("part {} of {element}", n + 1),
                None => element.clone(),
            },
            knob,
            time: measured.clone(),
            stands_at,
            swapped: None,
        });
    }
    all
}

/// A value as a file writes it; inches as on a tape, where it shows them.
fn with_unit(value: f64, unit: &str) -> String {
    let parts = value / libm::exp2(TAPE_HALVINGS);
    if unit == "in" && (parts - parts.round()).abs() < 1e-6 {
        return System::Inches.length(value * INCH_MM / 1e3);
    }
    format!("{value} {unit}").trim_end().to_owned()
}

/// A length of so many millimetres in inches, and its knob in steps of what a tape shows.
fn in_inches(mut knob: Knob, mm: f64) -> (Knob, String) {
    if let KnobChange::Amount { step, unit, .. } = &mut knob.change {
        let halvings = libm::round(libm::log2(*step / INCH_MM));
        *step = libm::exp2(halvings.max(TAPE_HALVINGS));
        *unit = "in";
    }
    let inches = (mm / INCH_MM * 1e6).round() / 1e6;
    (knob, format!("{inches} in"))
}

/// The law of an element's times, where they are measured.
fn measured(machine: &Machine, name: &str) -> Option<TimeLaw> {
    let element = machine.elements.iter().find(|one| one.name == name)?;
    element.kind.clone().take_time()
}

/// The number of a segment, from 0, and the key below it; of what is no segment, the key as it stands.
fn part_and_key(key: &str) -> (Option<usize>, &str) {
    let inside = key.strip_prefix("segments.");
    let Some((part, below)) = inside.and_then(|inside| inside.split_once('.')) else {
        return (None, key);
    };
    (part.parse().ok(), below)
}

/// Other kinds in the place of each splitter.
fn other_splitters(machine: &Machine) -> Vec<Changeable> {
    let mut all = Vec::new();
    for element in machine.elements.iter().filter(|one| one.to.len() > 1) {
        let own = element.kind.name();
        for kind in KINDS.into_iter().filter(|kind| *kind != own) {
            let Some(dimensions) = swapped_in(kind).filter(|_| splits(own) && splits(kind)) else {
                continue;
            };
            all.push(Changeable {
                key: format!("circuit.{}.{kind}", element.name),
                element: format!("`{}`", element.name),
                knob: Knob::word(
                    (kind, CostClass::Rebuild),
                    dimensions,
                    "build a # in the place of @",
                ),
                time: None,
                stands_at: own.to_owned(),
                swapped: Some(own),
            });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine;

    const HARBOUR: &str = include_str!("../../../scenarios/harbour-weir.yaml");

    fn all(touch: &Touchable) -> Vec<Changeable> {
        all_of(include_str!("../../../scenarios/starter-loop.yaml"), touch)
    }

    fn all_of(file: &str, touch: &Touchable) -> Vec<Changeable> {
        let machine = machine::read(file, &[]).expect("a sound file");
        changeables(&machine, &machine::written_keys(file, &[]), touch)
    }

    /// The time of a slide that was measured.
    fn measured_time() -> Changeable {
        let key = "circuit.jetty.slide.time";
        let mut all = all_of(HARBOUR, &Touchable::default()).into_iter();
        all.find(|one| one.key == key).expect(key)
    }

    fn said(key: &str, more: bool, steps: u32) -> String {
        let all = all(&Touchable::default());
        let of = all.iter().find(|one| one.key == key).expect(key);
        let change = Ladder { of, more }.change(steps).expect("a change");
        let file = include_str!("../../../scenarios/starter-loop.yaml");
        machine::read(file, &[change.setting()]).expect("a machine");
        change.says()
    }

    #[test]
    fn changes_are_said_as_a_maker_would() {
        assert_eq!(said("marbles.count", true, 4), "add 4 marbles (14 to 18)");
        assert_eq!(
            said("marbles.count", false, 1),
            "take out 1 marble (14 to 13)"
        );
        assert_eq!(
            said("drive.speed", true, 2),
            "turn the drive faster by 0.5 rpm (3 to 3.5 rpm)"
        );
        assert_eq!(
            said("circuit.zig-zag.track.segments.2.length", false, 3),
            "shorten part 3 of `zig-zag` by 15 mm (260 to 245 mm)"
        );
        assert_eq!(
            said("circuit.wheel.pocket-wheel.bore", true, 1),
            "drill the pockets of `wheel` wider by 0.5 mm (21 to 21.5 mm)"
        );
        assert_eq!(
            said("circuit.wheel.pocket-wheel.pockets", true, 2),
            "drill 2 pockets more into `wheel` (14 to 16)"
        );
    }

    #[test]
    fn measured_times_keep_the_form_of_their_law() {
        let of = measured_time();
        let less = Ladder {
            of: &of,
            more: false,
        };
        let change = less.change(6).expect("a change");
        machine::read(HARBOUR, &[change.setting()]).expect("a machine");
        assert_eq!(change.to, "{ normal: { mean: 0.77 s, sd: 0.035 s } }");
        assert_eq!(
            change.says(),
            "let marbles take less long through `jetty` by 30 % (1.1 to 0.77 s)"
        );
        assert_eq!(less.change(20), None);
    }

    /// Who measures with a tape in inches is told what it shows.
    #[test]
    fn a_file_in_inches_is_changed_by_parts_of_an_inch() {
        let file = include_str!("../../../scenarios/tide-clock.yaml");
        let machine = machine::read(file, &[]).expect("a sound file");
        let written = machine::written_keys(file, &[]);
        let all = changeables(&machine, &written, &Touchable::default());
        let more = |key: &str| {
            let of = all.iter().find(|one| one.key == key).expect(key);
            let change = Ladder { of, more: true }.change(2).expect("a change");
            machine::read(file, &[change.setting()]).expect("a machine");
            change.says()
        };
        assert_eq!(
            more("circuit.wheel.pocket-wheel.bore"),
            "drill the pockets of `wheel` wider by 1/16 in (7/8 to 15/16 in)"
        );
        assert_eq!(
            more("circuit.ramp.ramp.length"),
            "lengthen `ramp` by 1/2 in (14 to 14 1/2 in)"
        );
    }

    #[test]
    fn keys_are_meant_by_their_ends_and_beginnings() {
        let bore = "circuit.wheel.pocket-wheel.bore";
        for typed in [bore, "circuit.wheel.bore", "circuit.wheel", "wheel", "bore"] {
            assert!(names(typed, bore), "{typed}");
        }
        for typed in ["whe", "circuit.wheel.bor", "ore", "rpm", "wheel.depth"] {
            assert!(!names(typed, bore), "{typed}");
        }
        assert!(names("marbles", "marbles.count") && names("rpm", "drive.speed"));
        let only = Touchable {
            only: vec!["wheel".to_owned()],
            not: vec!["bore".to_owned()],
        };
        let keys: Vec<String> = all(&only).into_iter().map(|one| one.key).collect();
        assert!(keys.len() > 5 && keys.iter().all(|key| key.contains(".wheel.")));
        assert!(!keys.iter().any(|key| key == bore), "{keys:?}");
    }

    /// Steps: one marble of 14, 0.25 rpm of 3, half a millimetre of 21; of a time a twentieth.
    #[test]
    fn ladders_have_so_many_steps_and_changes_so_many_of_them() {
        let all = all(&Touchable::default());
        let ladder = |key: &str| {
            let of = all.iter().find(|one| one.key == key).expect(key);
            Ladder { of, more: false }
        };
        let bore = "circuit.wheel.pocket-wheel.bore";
        for (key, steps) in [("marbles.count", 14.0), ("drive.speed", 12.0), (bore, 42.0)] {
            assert_eq!(ladder(key).steps_of_all(), Some(steps), "{key}");
        }
        let mut change = ladder(bore).change(3).expect("a change");
        assert_eq!(change.size(), (false, 3));
        change.of.swapped = Some("track");
        assert_eq!(change.size(), (true, 3));
        let of = measured_time();
        let less = Ladder {
            of: &of,
            more: false,
        };
        assert_eq!(less.steps_of_all(), Some(20.0));
        assert_eq!(
            [18, 19, 20].map(|steps| less.change(steps).is_some()),
            [true, true, false]
        );
    }
}
