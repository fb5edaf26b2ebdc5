//! Floors and bowls whose times, arches and losses go by how many are inside: the rules of src/handbook/rules.md on a floor
//! whose classes are set by hand, known to the nanosecond.

use crate::support::{circuit, entered_at, index, run, traced};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Chance, Draw, Nanos};
use marblewright::circuit::plan::{Blockage, Cause};
use marblewright::contact::crowd_counts::CROWDS;

const S: Nanos = 1_000_000_000;

/// Marbles come onto a floor every second; the lone one takes 10 s, two 20 s, three 30 s, and so on by class. The floor's
/// one way in comes first among its entries: the hand does not pour onto it.
fn floor() -> Circuit {
    let mut circuit = circuit(
        4,
        "src: { escapement: { time: 1 s }, to: floor }
         floor: { return-floor: { time: 1 s, mouth-time: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let floor = index(&circuit, "floor");
    let entries = circuit.nodes[floor].travel.len();
    let plan = &mut circuit.nodes[floor];
    plan.by_crowd = true;
    plan.travel = (0..entries * CROWDS)
        .map(|n| Draw::Fixed((n % CROWDS + 1) as u64 * 10 * S))
        .collect();
    for way in circuit.nodes.iter_mut().flat_map(|plan| &mut plan.ways) {
        if way.to == floor {
            way.entry *= CROWDS;
        }
    }
    circuit
}

/// At 1, 2, 3 and 4 s they come as the first, second, third and fourth inside: four and five are one class.
#[test]
fn how_long_a_marble_takes_goes_by_how_many_are_inside() {
    let circuit = floor();
    let (_, trace) = traced(&circuit, 100.0);
    assert_eq!(
        entered_at(&circuit, &trace, "end", S),
        [11, 22, 33, 44],
        "10, 20, 30 and 40 s after they came"
    );
}

/// A place that is empty again counts as empty: here marbles come every 15 s, after the one before has gone.
#[test]
fn who_has_gone_is_no_company() {
    let mut circuit = floor();
    circuit.nodes[0] = circuit_of_pace(15).nodes[0].clone();
    let (_, trace) = traced(&circuit, 100.0);
    assert_eq!(entered_at(&circuit, &trace, "end", S), [25, 40, 55, 70]);
}

fn circuit_of_pace(seconds: u32) -> Circuit {
    circuit(
        4,
        &format!(
            "src: {{ escapement: {{ time: {seconds} s }}, to: floor }}
             floor: {{ return-floor: {{ time: 1 s, mouth-time: 0 s }}, to: end }}
             end: {{ track: {{ time: 0 s }}, to: none }}"
        ),
    )
}

fn arch_with(class: usize) -> Blockage {
    Blockage {
        chance: (0..CROWDS)
            .map(|of| Chance::new(f64::from(u8::from(of == class))))
            .collect(),
        by_crowd: true,
        clears: Some(Draw::Fixed(5 * S)),
        cause: Cause::Arch,
        counterfactual: None,
    }
}

/// The first comes to the mouth at 11 s with four inside, and arches with them though nobody waits there; where only three
/// arch, the second does, at 22 s.
#[test]
fn whether_marbles_arch_goes_by_how_many_are_inside() {
    for (class, expected) in [(3, [16, 22, 33, 44]), (2, [11, 27, 33, 44])] {
        let mut circuit = floor();
        circuit.nodes[1].blockage = Some(arch_with(class));
        let (result, trace) = traced(&circuit, 100.0);
        assert_eq!(entered_at(&circuit, &trace, "end", S), expected);
        assert_eq!(result.elements[1].blockages, 1);
    }
}

/// With a chance of one for the third inside and for nobody else, the marbles of 3 and 4 s go over the side: each is the third.
#[test]
fn whether_a_marble_stays_in_goes_by_how_many_are_inside() {
    let mut circuit = floor();
    circuit.nodes[1].thrown_out = (0..CROWDS)
        .map(|class| Chance::new(f64::from(u8::from(class == 2))))
        .collect();
    let (_, trace) = traced(&circuit, 100.0);
    assert_eq!(entered_at(&circuit, &trace, "end", S), [11, 22]);
    let result = run(&circuit, 100.0);
    assert_eq!(
        (result.elements[1].spills, result.elements[1].entries),
        (2, 4)
    );
    assert_eq!(result.elements[1].first_spill, Some(3 * S));
}

/// A marble thrown out of a full place makes room for the one that waits outside: here for one place and all thrown out,
/// four marbles come and go as fast as they are let go.
#[test]
fn who_is_thrown_out_leaves_its_place() {
    let mut circuit = floor();
    circuit.nodes[1].thrown_out = vec![Chance::new(1.0); CROWDS];
    circuit.nodes[1].room = 1;
    let result = run(&circuit, 100.0);
    assert_eq!(result.elements[1].spills, 4);
    assert_eq!(result.elements[0].exits, 4);
}
