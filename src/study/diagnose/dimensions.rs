//! The dimensions written in a machine file that may be off in the workshop, each by how much.

use crate::machine::units::{LENGTH, QuantityKind, SPEED, System, plain, quantity, system_of};
use crate::machine::workmanship::WorkshopError;
use crate::machine::{self, Machine, Setting};

/// A dimension may be off by so many standard deviations of what the workshop makes: by more than it errs, and by less than
/// anybody would see. Common practice, no source.
const AMISS: f64 = 5.0;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// The load may be counted wrong by so many marbles.
const MISCOUNTED: f64 = 4.0;
/// Times that a range is halved until both its ends make a machine.
const HALVINGS: u32 = 4;

/// A dimension of the file with the range it may be in.
#[derive(Clone, Debug)]
pub struct DimensionRange {
    /// Its dotted key.
    pub key: String,
    /// As it is written.
    pub typed: String,
    /// The same as a number, in SI units or turns a minute.
    pub written: f64,
    /// The least and the most it may be.
    pub range: (f64, f64),
    /// What kind of quantity; a whole number where there is none.
    pub kind: Option<&'static QuantityKind>,
    system: System,
}

impl DimensionRange {
    /// A value of it as the file would write it, as finely as it can be measured.
    pub fn show(&self, value: f64) -> String {
        self.show_in(value, self.system)
    }

    /// The same in these units.
    pub fn show_in(&self, value: f64, system: System) -> String {
        let fine = |x: f64, step: f64| plain((x / step).round() * step);
        let Some(kind) = self.kind else {
            return plain(value.round());
        };
        if kind.name == SPEED.name {
            format!("{} rpm", fine(value, 0.01))
        } else if kind.name == LENGTH.name {
            match system {
                System::Millimetres => format!("{} mm", fine(value * 1e3, 0.01)),
                System::Inches => format!("{} in", fine(value / 0.0254, 0.001)),
            }
        } else {
            format!("{} deg", fine(value / DEGREE, 0.01))
        }
    }

    /// This value of it laid over the file.
    pub fn setting(&self, value: f64) -> Setting {
        Setting {
            key: self.key.clone(),
            value: self.show(value),
        }
    }

    /// The element that has it, where one has.
    pub fn element(&self) -> Option<&str> {
        let mut parts = self.key.split('.');
        (parts.next() == Some("circuit"))
            .then(|| parts.next())
            .flatten()
    }

    /// Its own name: `bore`, `slope of part 2`.
    pub fn name(&self) -> String {
        let parts: Vec<&str> = self.key.split('.').collect();
        let last = parts.last().copied().unwrap_or_default();
        match parts.iter().find_map(|part| part.parse::<usize>().ok()) {
            Some(n) => format!("{last} of part {}", n + 1),
            None => last.to_owned(),
        }
    }
}

/// The dimensions of a file with these settings laid over it that may be off, in the order of their keys.
pub fn dimensions(text: &str, settings: &[Setting]) -> Vec<DimensionRange> {
    let mut all = Vec::new();
    let Ok(machine) = machine::read(text, settings) else {
        return all;
    };
    for key in machine::written_keys(text, settings) {
        let Some(found) = dimension(&machine, (text, settings), key) else {
            continue;
        };
        all.extend(narrowed(text, settings, found));
    }
    all
}

fn dimension(
    machine: &Machine,
    (text, settings): (&str, &[Setting]),
    key: String,
) -> Option<DimensionRange> {
    let last = key.rsplit('.').next()?;
    let typed = machine::written(text, settings, &key)?;
    if key == "marbles.count" {
        let count: f64 = typed.parse().ok()?;
        return Some(DimensionRange {
            key,
            typed,
            written: count,
            range: ((count - MISCOUNTED).max(1.0), count + MISCOUNTED),
            kind: None,
            system: System::Millimetres,
        });
    }
    let error = WorkshopError::of_key(last)?;
    let kind = error.unit().unwrap_or(&SPEED);
    let written = quantity(&typed, kind).ok().filter(|value| *value > 0.0)?;
    let sd = machine.workshop.sd(error, machine.marbles.material);
    let by = AMISS
        * if error.unit().is_none() {
            sd * written
        } else {
            sd
        };
    if by <= 0.0 {
        return None;
    }
    Some(DimensionRange {
        key,
        written,
        range: ((written - by).max(0.0), written + by),
        kind: Some(kind),
        system: system_of(&typed),
        typed,
    })
}

/// The same with a range whose ends both make a machine; `None` where even the narrowest does not.
fn narrowed(text: &str, settings: &[Setting], mut found: DimensionRange) -> Option<DimensionRange> {
    for _ in 0..HALVINGS {
        let is_sound = |value: f64| {
            let mut all = settings.to_vec();
            all.push(found.setting(value));
            machine::read(text, &all).is_ok()
        };
        if is_sound(found.range.0) && is_sound(found.range.1) {
            return Some(found);
        }
        let half = |end: f64| (end + found.written) / 2.0;
        found.range = (half(found.range.0), half(found.range.1));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::read;

    #[test]
    fn every_end_of_every_range_makes_a_machine() {
        for text in [
            include_str!("../../../scenarios/starter-loop.yaml"),
            include_str!("../../../scenarios/tide-clock.yaml"),
            include_str!("../../../scenarios/harbour-weir.yaml"),
        ] {
            let all = dimensions(text, &[]);
            let keys: Vec<&str> = all.iter().map(|one| one.key.as_str()).collect();
            assert!(keys.contains(&"marbles.count"), "{keys:?}");
            for one in &all {
                assert!(
                    one.range.0 < one.written && one.written < one.range.1,
                    "{one:?}"
                );
                for end in [one.range.0, one.range.1] {
                    assert!(read(text, &[one.setting(end)]).is_ok(), "{one:?}");
                }
            }
        }
    }
}
