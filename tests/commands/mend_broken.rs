//! `mend` on machines that work, each broken in one way: is what undoes it among what is shown, and does what is shown work?

use std::fmt::Write as _;
use std::time::Instant;

use marblewright::circuit::circuit;
use marblewright::circuit::draw::nanos;
use marblewright::findings::workable::judge;
use marblewright::machine::{self, Setting};
use marblewright::study::axis::amount;
use marblewright::study::mend::change::names;
use marblewright::study::mend::{
    Alteration, Mend, MendFollower, MendTrials, Touchable, changeables, mend,
};
use marblewright::study::repeat::{Study, repeat};

use crate::support::broken_machines::{BROKEN, BrokenMachine};

/// As the command has them where nobody says otherwise.
const HOURS: f64 = 2.0;
const RUNS: u32 = 200;
/// Runs on other luck that each mend is put to.
const OTHERS: u32 = 200;

struct Nobody;

impl MendFollower for Nobody {
    fn go_on(&self) -> bool {
        true
    }
    fn planned(&self, _: u64) {}
    fn ran(&self) {}
}

fn study(seed: u64) -> Study {
    Study {
        seed,
        horizon: nanos(HOURS * 3600.0),
    }
}

fn setting(key: &str, value: &str) -> Setting {
    Setting {
        key: key.to_owned(),
        value: value.to_owned(),
    }
}

/// The value of the broken key in the sound file, and in the broken one: numbers where both are.
fn sound_and_broken(text: &str, one: &BrokenMachine) -> Option<(f64, f64)> {
    let value = |settings: &[Setting]| {
        let machine = machine::read(text, settings).expect("a machine");
        let written = machine::written_keys(text, settings);
        let keys = changeables(&machine, &written, &Touchable::default());
        let of = keys.iter().find(|of| names(one.key, &of.key))?;
        amount(&of.stands_at).ok().map(|(value, _)| value)
    };
    Some((value(&[])?, value(&[setting(one.key, one.value)])?))
}

/// Whether a change gives the broken key back some of what it lost; of what had no such number in the sound file, whether it
/// changes it at all.
fn undoes(text: &str, one: &BrokenMachine, change: &Alteration) -> bool {
    names(one.key, &change.of.key)
        && sound_and_broken(text, one)
            .is_none_or(|(sound, broken)| change.ladder().more == (sound > broken))
}

/// Whether the machine keeps to what is good enough in runs on luck that the search never had.
fn works(text: &str, before: &Setting, mend: &Mend) -> bool {
    let mut settings = vec![before.clone()];
    settings.extend(mend.changes.iter().map(Alteration::setting));
    let machine = machine::read(text, &settings).expect("a machine");
    let circuit = circuit(&machine);
    let runs = repeat(&circuit, &study(4711), OTHERS, || ());
    judge(&circuit, &machine.workable, &runs, 0.95).likely()
}

/// Of all twenty, or of those whose number is in `ONLY`.
#[test]
#[ignore = "a quarter of an hour"]
fn what_undoes_it_is_among_the_five() {
    marblewright::cli::keep_looks(true);
    let only = std::env::var("ONLY").unwrap_or_default();
    let only: Vec<usize> = only.split(',').filter_map(|n| n.parse().ok()).collect();
    let (mut table, mut found, mut tried) = (String::new(), 0, 0);
    let (mut shown, mut working) = (0, 0);
    for (n, one) in BROKEN.iter().enumerate() {
        if !only.is_empty() && !only.contains(&n) {
            continue;
        }
        let began = Instant::now();
        let path = format!(
            "{}/scenarios/{}.yaml",
            env!("CARGO_MANIFEST_DIR"),
            one.scenario
        );
        let text = std::fs::read_to_string(path).expect("a scenario");
        let before = setting(one.key, one.value);
        let settings = [before.clone()];
        let machine = machine::read(&text, &settings).expect("a machine");
        let written = machine::written_keys(&text, &settings);
        let keys = changeables(&machine, &written, &Touchable::default());
        let trials = MendTrials {
            text: &text,
            settings: &settings,
            study: study(1),
            runs: RUNS,
            follower: &Nobody,
            made: Default::default(),
        };
        let mends = mend(&trials, &keys, &machine.mend_order).expect("nobody stops it");
        let seconds = began.elapsed().as_secs();
        let mut all = String::new();
        let mut undone = false;
        for mend in &mends.shown {
            let does = mend.changes.iter().any(|change| undoes(&text, one, change));
            let holds = works(&text, &before, mend);
            undone |= does;
            shown += 1;
            working += u32::from(holds);
            let says: Vec<String> = mend.changes.iter().map(Alteration::says).collect();
            let marks = [(does, " (undoes it)"), (!holds, " (DOES NOT WORK)")];
            let marks = marks.map(|(is, mark)| if is { mark } else { "" }).concat();
            writeln!(all, "     {}{marks}", says.join(", and ")).expect("a text");
        }
        found += u32::from(undone);
        tried += 1;
        let mark = if undone { "yes" } else { "NO" };
        let name = format!("{n} {}: {}, {}", one.scenario, one.fault, one.value);
        let row = format!(
            "{mark:4}{name}: {} changes, {seconds} s\n{all}",
            mends.tried
        );
        println!("{row}");
        table += &row;
    }
    println!("{table}\n{found} of {tried} are undone by one of those shown");
    println!("{working} of {shown} mends shown keep to what is good enough on other luck");
    assert!(
        f64::from(working) >= 0.95 * f64::from(shown),
        "{working} of {shown}"
    );
}
