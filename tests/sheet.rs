//! The bench sheet of every scenario, and the directions a maker expects of dimensions.

use marblewright::circuit::draw::seconds;
use marblewright::circuit::{self, Circuit};
use marblewright::machine::{self, Machine, Setting};
use marblewright::sheet::{Units, sheet};

const STARTER: &str = include_str!("../scenarios/starter-loop.yaml");

fn machine(text: &str, settings: &[(&str, &str)]) -> Machine {
    let setting = |&(key, value): &(&str, &str)| Setting { key: key.to_owned(), value: value.to_owned() };
    let settings: Vec<Setting> = settings.iter().map(setting).collect();
    machine::read(text, &settings).expect("a sound machine")
}

fn starter(settings: &[(&str, &str)]) -> Circuit {
    circuit::circuit(&machine(STARTER, settings))
}

fn travel_s(circuit: &Circuit, name: &str) -> f64 {
    let plan = circuit.nodes.iter().find(|plan| plan.name == name).expect("an element");
    seconds(plan.travel[0].quantile(0.5))
}

/// Chance that a passing pocket takes the waiting marble, by many uniform numbers against its threshold.
fn take(settings: &[(&str, &str)]) -> f64 {
    let circuit = starter(settings);
    let wheel = circuit.nodes[1].wheel().expect("a wheel");
    let steps = 10_000u64;
    (0..steps).filter(|n| wheel.take.happens(n * (u64::MAX / steps))).count() as f64 / steps as f64
}

#[test]
fn a_steeper_slope_is_quicker() {
    let gentle = starter(&[("circuit.ramp.slope", "3 deg")]);
    let steep = starter(&[("circuit.ramp.slope", "6 deg")]);
    assert!(travel_s(&steep, "ramp") < 0.8 * travel_s(&gentle, "ramp"));
    assert!(steep.nodes[0].advance < gentle.nodes[0].advance, "its file moves up sooner, too");
}

#[test]
fn a_slope_too_shallow_stalls() {
    assert!(starter(&[("circuit.ramp.slope", "0.1 deg")]).nodes[0].stalls);
    assert!(!starter(&[]).nodes[0].stalls);
}

#[test]
fn a_faster_wheel_takes_less_and_a_larger_bore_more() {
    let (slow, fast) = (take(&[("rpm", "5")]), take(&[("rpm", "9")]));
    assert!(slow > fast + 0.2, "{slow} at 5 rpm, {fast} at 9 rpm");
    let wide = take(&[("rpm", "7"), ("circuit.wheel.bore", "23 mm")]);
    let narrow = take(&[("rpm", "7"), ("circuit.wheel.bore", "19 mm")]);
    assert!(wide > narrow + 0.2, "{wide} in a wide bore, {narrow} in a narrow one");
}

#[test]
fn more_tilt_lets_go_lower() {
    let lift = |tilt: &str| starter(&[("circuit.wheel.tilt", tilt)]).nodes[1].wheel().expect("a wheel").lift;
    assert!(lift("10 deg") < lift("5 deg"));
}

#[test]
fn pockets_off_their_circle_take_less() {
    let (true_, rough) =
        (take(&[("circuit.wheel.pitch-error", "0 mm")]), take(&[("circuit.wheel.pitch-error", "2.5 mm")]));
    assert!(true_ > rough + 0.05, "{true_} on the circle, {rough} off it");
}

#[test]
fn every_scenario_has_a_sheet_without_holes() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    for entry in std::fs::read_dir(folder).expect("scenarios/ is there") {
        let path = entry.expect("an entry").path();
        let machine = machine(&std::fs::read_to_string(&path).expect("text"), &[]);
        for units in [Units::Millimetres, Units::Inches] {
            let sections = sheet(&machine, units);
            assert!(sections.len() > 2, "{}", path.display());
            for row in sections.iter().flat_map(|section| &section.rows) {
                assert!(!row.value.contains("NaN") && !row.value.contains("inf"), "{}: {row:?}", path.display());
            }
        }
    }
}
