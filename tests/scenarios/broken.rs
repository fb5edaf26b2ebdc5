//! The broken machines are broken, and the scenarios that they come from work.

use marblewright::circuit;
use marblewright::findings::workable::{Verdict, judge};
use marblewright::study::repeat::{Study, repeat};

use crate::support::broken_machines::BROKEN;
use crate::support::machine;

const STUDY: Study = Study {
    seed: 1,
    horizon: 2 * 3_600_000_000_000,
};

/// What 60 runs show of a scenario with these settings, and the criteria that they show broken.
fn shown(name: &str, settings: &[(&str, &str)]) -> (Verdict, Vec<String>) {
    let path = format!("{}/scenarios/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("a scenario");
    let machine = machine(&text, settings);
    let circuit = circuit::circuit(&machine);
    let runs = repeat(&circuit, &STUDY, 60, || ());
    let judgement = judge(&circuit, &machine.workable, &runs, 0.95);
    let broken = judgement.broken();
    let said = broken.map(|one| format!("{:?} {:.3?}", one.criterion, one.figure.value));
    (judgement.verdict(), said.collect())
}

#[test]
#[ignore = "2,400 runs"]
fn each_is_broken_and_works_with_what_was_changed_changed_back() {
    let mut wrong = Vec::new();
    for one in &BROKEN {
        let (verdict, broken) = shown(one.scenario, &[(one.key, one.value)]);
        println!("{}: {}: {verdict:?} {broken:?}", one.scenario, one.fault);
        let (sound, _) = shown(one.scenario, &[]);
        if verdict != Verdict::Broken || sound != Verdict::Met {
            wrong.push(one.fault);
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}
