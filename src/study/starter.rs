//! The load of a first machine, found by trial runs.

use super::assumptions::{Moved, SensitivityEffort, sensitivity};
use super::repeat::{Study, repeat};
use crate::circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::findings::summary::LEVEL;
use crate::findings::workable::judge;
use crate::machine::starter::Choices;
use crate::machine::{self, Machine};

/// Loads tried, one after the other.
const LOADS: [u32; 18] = [
    8, 10, 12, 14, 16, 18, 20, 23, 26, 30, 34, 38, 43, 48, 54, 62, 70, 80,
];
/// Speeds tried, as shares of the usual.
const PACES: [f64; 4] = [1.0, 0.8, 0.65, 0.5];
/// Loads tried at both ends of what is assumed, from the least that works as assumed: what makes a lap longer asks for more
/// marbles.
const LOADS_AT_ALL_ENDS: usize = 3;
const RUNS: u32 = 6;
const RUN_S: f64 = 1_200.0;

/// The least of a few loads that works, and the one after it if that works too, so that a few marbles may go astray.
/// `None` where none works.
pub fn load(choices: &Choices) -> Option<u32> {
    let least = LOADS.iter().position(|load| works(choices, *load))?;
    match LOADS.get(least + 1) {
        Some(more) if works(choices, *more) => Some(*more),
        _ => Some(LOADS[least]),
    }
}

fn works(choices: &Choices, load: u32) -> bool {
    machine::read(&choices.text(load), &[]).is_ok_and(|machine| workable(&machine))
}

/// The choices with a speed, and a load, that works also at both ends of what the file leaves to be assumed; where no speed
/// tried has such a load, the fastest that works as assumed. `None` where none works.
pub fn settled(choices: &Choices) -> Option<(Choices, u32)> {
    let mut fastest = None;
    for pace in PACES {
        let slowed = Choices {
            pace,
            ..choices.clone()
        };
        let Some(least) = load(&slowed) else { continue };
        let more = LOADS.into_iter().filter(|more| *more >= least);
        for load in more.take(LOADS_AT_ALL_ENDS) {
            let machine = machine::read(&slowed.text(load), &[]);
            if machine.is_ok_and(|machine| works_at_all_ends(&machine)) {
                return Some((slowed, load));
            }
        }
        fastest = fastest.or(Some((slowed, least)));
    }
    fastest
}

/// Whether the machine works whatever is assumed, by the same few runs as its bench sheet.
fn works_at_all_ends(machine: &Machine) -> bool {
    let found = sensitivity(
        machine,
        &SensitivityEffort::short(&Study {
            seed: 1,
            horizon: Nanos::MAX,
        }),
    );
    let mut ends = found.constants.iter().flat_map(Moved::ends);
    found.as_assumed.works && ends.all(|end| end.outcome.works)
}

/// Whether the machine did what its file calls good enough in a few short runs, which are too few to be sure of it.
fn workable(machine: &Machine) -> bool {
    let circuit = circuit::sketch(machine);
    let runs = repeat(
        &circuit,
        &Study {
            seed: 1,
            horizon: nanos(RUN_S),
        },
        RUNS,
        || (),
    );
    judge(&circuit, &machine.workable, &runs, LEVEL).likely()
}
