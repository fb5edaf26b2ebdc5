//! Settings laid over a scenario: the first line of the input picks it, every other line is one `KEY=VALUE`.
#![no_main]

#[path = "../../support/sound.rs"]
mod sound;

use libfuzzer_sys::fuzz_target;
use marblewright::machine::{self, Setting};

const SCENARIOS: [&str; 3] = [
    include_str!("../../../scenarios/lantern-walk.yaml"),
    include_str!("../../../scenarios/circuit-a.yaml"),
    include_str!("../../../scenarios/tide-clock.yaml"),
];

fuzz_target!(|text: &str| {
    let scenario = SCENARIOS[text.bytes().next().unwrap_or(0) as usize % SCENARIOS.len()];
    let setting = |line: &str| {
        let (key, value) = line.split_once('=')?;
        Some(Setting { key: key.trim().to_owned(), value: value.to_owned() })
    };
    let settings: Vec<Setting> = text.split('\n').skip(1).take(8).filter_map(setting).collect();
    if let Err(problems) = machine::read(scenario, &settings) {
        sound::assert_sound(&problems, scenario, &settings);
    }
    for n in 0..settings.len() {
        // Of the settings before it, as `map` asks.
        machine::written(scenario, &settings[..n], &settings[n].key);
        machine::place(scenario, &settings[..n], &settings[n].key);
    }
});
