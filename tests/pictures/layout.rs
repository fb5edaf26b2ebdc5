//! The drawn circuit: for any circuit, nothing stands or runs over anything else.

use std::collections::BTreeSet;

use crate::support;
use crate::support::legible::overlaps;
use crate::support::random_circuits::{Gene, Genes, text};
use marblewright::charts::canvas::Area;
use marblewright::charts::circuit::graph;
use marblewright::charts::film::placed;
use marblewright::charts::layout::{Graph, Layout, Sizes, layout};
use marblewright::circuit::Circuit;
use proptest::prelude::*;

const LARGE: Sizes = Sizes {
    width: 196.0,
    height: 94.0,
    label: 52.0,
    abreast: 4,
    room: 1120.0,
};
const SMALL: Sizes = Sizes {
    width: 150.0,
    height: 54.0,
    label: 48.0,
    abreast: 5,
    room: 1120.0,
};

/// A line from corner to corner as a thin area, without its ends.
fn piece(a: (f64, f64), b: (f64, f64)) -> Area {
    let thin = 0.5;
    let (left, right) = (a.0.min(b.0), a.0.max(b.0));
    let (top, bottom) = (a.1.min(b.1), a.1.max(b.1));
    if right - left > bottom - top {
        Area {
            left: left + thin,
            right: right - thin,
            top: top - thin,
            bottom: bottom + thin,
        }
    } else {
        Area {
            left: left - thin,
            right: right + thin,
            top: top + thin,
            bottom: bottom - thin,
        }
    }
}

fn check(graph: &Graph, layout: &Layout) {
    let boxes = &layout.boxes;
    let labels: Vec<&Area> = layout.wires.iter().map(|wire| &wire.label).collect();
    assert_eq!(
        (boxes.len(), labels.len()),
        (graph.lifts.len(), graph.links.len())
    );
    for (n, area) in boxes.iter().chain(labels.iter().copied()).enumerate() {
        let inside = area.left >= -1e-9 && area.right <= layout.width + 1e-9;
        assert!(
            inside && area.top >= -1e-9 && area.bottom <= layout.height + 1e-9,
            "{area:?} leaves the picture"
        );
        for other in boxes.iter().chain(labels.iter().copied()).take(n) {
            assert!(!overlaps(area, other), "{area:?} covers {other:?}");
        }
    }
    let mut pieces: Vec<(usize, Area)> = Vec::new();
    for (w, wire) in layout.wires.iter().enumerate() {
        for pair in wire.points.windows(2) {
            let piece = piece(pair[0], pair[1]);
            assert!(
                boxes.iter().all(|area| !overlaps(area, &piece)),
                "a way runs through a box: {wire:?}"
            );
            assert!(
                labels.iter().all(|area| !overlaps(area, &piece)),
                "a way runs through a label: {wire:?}"
            );
            pieces.push((w, piece));
        }
        joins(layout, wire);
    }
    run_apart(&pieces);
}

/// A way begins at the edge of the one box and ends at the edge of the other.
fn joins(layout: &Layout, wire: &marblewright::charts::layout::Wire) {
    let on_edge = |n: usize, (x, y): (f64, f64), top: bool| {
        let area = &layout.boxes[n];
        let edge = if top { area.top } else { area.bottom };
        (y - edge).abs() < 1e-6 && (area.left..=area.right).contains(&x)
    };
    let (first, last) = (wire.points[0], wire.points[wire.points.len() - 1]);
    assert!(
        on_edge(wire.from, first, layout.rising[wire.from]),
        "{wire:?} begins nowhere"
    );
    assert!(
        on_edge(wire.to, last, !layout.rising[wire.to]),
        "{wire:?} ends nowhere"
    );
}

/// Ways may cross, but no two run along one another on the same line.
fn run_apart(pieces: &[(usize, Area)]) {
    let level = |area: &Area| area.width() > area.height();
    for (n, (one, a)) in pieces.iter().enumerate() {
        for (other, b) in &pieces[..n] {
            let along = level(a) == level(b)
                && a.width().max(a.height()) > 2.0
                && b.width().max(b.height()) > 2.0;
            assert!(
                one == other || !along || !overlaps(a, b),
                "ways {one} and {other} run on one line: {a:?} {b:?}"
            );
        }
    }
}

fn scenarios() -> Vec<Circuit> {
    support::scenarios()
        .iter()
        .map(|file| support::circuit_of(&std::fs::read_to_string(file).expect("text")))
        .collect()
}

#[test]
fn every_scenario_is_laid_out_cleanly_and_the_same_every_time() {
    for circuit in scenarios() {
        let graph = graph(&circuit);
        for sizes in [LARGE, SMALL] {
            let once = layout(&graph, &sizes);
            check(&graph, &once);
            assert_eq!(once, layout(&graph, &sizes));
        }
    }
}

#[test]
fn wheels_lift_on_the_left_and_everything_else_falls() {
    for circuit in scenarios() {
        let layout = layout(&graph(&circuit), &LARGE);
        let left = layout
            .boxes
            .iter()
            .map(|area| area.left)
            .fold(f64::INFINITY, f64::min);
        for (n, plan) in circuit.nodes.iter().enumerate() {
            let area = &layout.boxes[n];
            if plan.wheel().is_some() {
                assert!(
                    layout.rising[n] && area.left == left,
                    "{} is not in the lift",
                    plan.name
                );
            }
            for way in plan.ways.iter().filter(|way| way.to != circuit.start) {
                let to = &layout.boxes[way.to];
                let up = layout.rising[n] && layout.rising[way.to];
                let falls = !layout.rising[n] && to.top > area.top;
                assert!(
                    up && to.top < area.top || falls || layout.rising[n],
                    "{} leads the wrong way",
                    plan.name
                );
            }
        }
    }
}

#[test]
fn chains_fans_and_tangles_are_laid_out_cleanly() {
    let chain: Vec<(usize, usize)> = (0..39).map(|n| (n, n + 1)).chain([(39, 0)]).collect();
    let fan: Vec<(usize, usize)> = (1..39)
        .flat_map(|n| [(0, n), (n, 39)])
        .chain([(39, 0)])
        .collect();
    let tangle: Vec<(usize, usize)> = (0..40)
        .flat_map(|n| {
            [
                (n, (n + 1) % 40),
                (n, (7 * n + 3) % 40),
                (n, (11 * n + 5) % 40),
            ]
        })
        .collect();
    let tangle: BTreeSet<(usize, usize)> =
        tangle.into_iter().filter(|link| link.0 != link.1).collect();
    for links in [chain, fan, tangle.into_iter().collect()] {
        for lifts in [vec![false; 40], (0..40).map(|n| n % 5 == 1).collect()] {
            let graph = Graph {
                lifts,
                links: links.clone(),
                start: 0,
            };
            check(&graph, &layout(&graph, &SMALL));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn random_circuits_are_laid_out_cleanly(head: Gene, elements in prop::collection::vec(any::<Gene>(), 3..=40)) {
        let circuit = support::circuit_of(&text(&Genes { head, elements }));
        let graph = graph(&circuit);
        check(&graph, &layout(&graph, &LARGE));
        check(&graph, &layout(&graph, &SMALL));
        // The film moves its layout under a title.
        let film = placed(&circuit);
        prop_assert!(film.boxes.iter().enumerate().all(|(n, a)| film.boxes[..n].iter().all(|b| !overlaps(a, b))));
    }
}
