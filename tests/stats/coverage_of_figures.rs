//! How often each figure of a study holds: many short studies as JSON, each on its own seed, against the truth, which is
//! the figure of all their runs taken as one study.
//!
//! ```text
//! cargo test --release --test stats coverage_of_figures:: -- --ignored --nocapture
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::support;
use crate::support::circuit_of;
use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::findings::{RunFigures, Runs, StudyScope, summarize};
use marblewright::stats::simultaneous::{Correction, adjusted_p};
use marblewright::study::decided::{Budget, run_until_decided};
use marblewright::study::repeat::{Study, repeat};
use rayon::prelude::*;
use serde_json::Value;
use statrs::distribution::{Binomial, DiscreteCDF};

/// Five minutes, as short as a maker would ask for.
const HOURS: f64 = 1.0 / 12.0;
const RARE: &str = include_str!("../machines/jams-in-two-runs-of-a-hundred.yaml");
const HALF: &str = include_str!("../machines/jams-in-half-of-the-runs.yaml");
const BURSTS: &str = include_str!("../machines/comes-in-bursts.yaml");

/// What is wrong with a figure of a machine.
#[derive(Default)]
struct Row {
    name: String,
    studies: u64,
    held: u64,
    /// Studies whose interval has no width.
    no_width: u64,
    /// Whether studies give different values.
    varies: bool,
}

fn machines() -> Vec<(&'static str, Circuit, u32)> {
    let pinch = |text: &str, from: &str, to: &str| circuit_of(&text.replacen(from, to, 1));
    vec![
        ("runs through", pinch(HALF, "pinch: 0.002", "pinch: 0"), 20),
        ("2 % jam", circuit_of(RARE), 60),
        ("half jam", circuit_of(HALF), 20),
        (
            "nearly all jam",
            pinch(HALF, "pinch: 0.002", "pinch: 0.01"),
            20,
        ),
        ("bursts", circuit_of(BURSTS), 20),
    ]
}

fn summary(circuit: &Circuit, runs: &[RunFigures]) -> Value {
    let question = StudyScope {
        title: String::new(),
        rpm: None,
        seed: 1,
        hours: HOURS,
    };
    let mut kept = Runs::new(circuit.start);
    kept.extend(runs.iter().cloned());
    serde_json::to_value(summarize(&question, circuit, &kept)).expect("JSON")
}

/// Value, low and high of every figure by its path; those without a value are left out.
fn figures(
    json: &Value,
    path: &str,
    found: &mut BTreeMap<String, (f64, Option<f64>, Option<f64>)>,
) {
    let Value::Object(map) = json else { return };
    if let (true, Some(value)) = (
        map.contains_key("low"),
        map.get("value").and_then(Value::as_f64),
    ) {
        found.insert(
            path.to_owned(),
            (value, map["low"].as_f64(), map["high"].as_f64()),
        );
    }
    map.iter()
        .for_each(|(key, inner)| figures(inner, &format!("{path} {key}"), found));
}

fn figures_of(json: &Value) -> BTreeMap<String, (f64, Option<f64>, Option<f64>)> {
    let mut found = BTreeMap::new();
    figures(json, "", &mut found);
    found
}

/// Seeds of studies begin here.
const STUDIES: u64 = 10_000;

fn study(seed: u64) -> Study {
    Study {
        seed,
        horizon: nanos(HOURS * 3600.0),
    }
}

/// Every figure of a machine in so many studies of so many runs.
fn rows(name: &str, circuit: &Circuit, studies: u64, runs: u32) -> Vec<Row> {
    let all: Vec<Vec<RunFigures>> = (0..studies)
        .into_par_iter()
        .map(|k| repeat(circuit, &study(STUDIES + k), runs, || {}))
        .collect();
    let truth = figures_of(&summary(circuit, &all.concat()));
    held(name, circuit, &truth, &all)
}

/// The same in studies that stop as soon as they show whether the machine works, against the truth of studies that do not.
fn rows_of_decided(name: &str, text: &str, studies: u64) -> Vec<Row> {
    let machine = support::machine(text, &[]);
    let circuit = circuit::circuit(&machine);
    let whole: Vec<Vec<RunFigures>> = (0..studies)
        .into_par_iter()
        .map(|k| repeat(&circuit, &study(2 * STUDIES + k), 200, || {}))
        .collect();
    let truth = figures_of(&summary(&circuit, &whole.concat()));
    let stopped: Vec<Vec<RunFigures>> = (0..studies)
        .into_par_iter()
        .map(|k| {
            let budget = Budget {
                runs: 200,
                every_run: false,
                is_over: &|| false,
                error: 0.05,
            };
            let asked = (&circuit, &machine.workable);
            let (runs, _) = run_until_decided(asked, &study(STUDIES + k), &budget, |_| {}, |_| {});
            runs.batches
        })
        .collect();
    let lengths: BTreeSet<usize> = stopped.iter().map(Vec::len).collect();
    println!("{name}: studies of {lengths:?} runs");
    assert!(name.contains("through") || lengths.len() > 1, "{lengths:?}");
    held(name, &circuit, &truth, &stopped)
}

/// How often the figures of studies hold the true ones.
fn held(
    name: &str,
    circuit: &Circuit,
    truth: &BTreeMap<String, (f64, Option<f64>, Option<f64>)>,
    all: &[Vec<RunFigures>],
) -> Vec<Row> {
    let found: Vec<_> = all
        .par_iter()
        .map(|runs| figures_of(&summary(circuit, runs)))
        .collect();
    let row = |(path, &(truth, ..)): (&String, &(f64, _, _))| {
        let mut row = Row {
            name: format!("{name}:{path}"),
            ..Row::default()
        };
        let mut values = BTreeSet::new();
        for &(value, low, high) in found.iter().filter_map(|figures| figures.get(path)) {
            // An end that is unknown is as far out as can be.
            let (low, high) = (
                low.unwrap_or(f64::NEG_INFINITY),
                high.unwrap_or(f64::INFINITY),
            );
            let rounding = 1e-9 * truth.abs();
            row.studies += 1;
            row.held += u64::from(low - rounding <= truth && truth <= high + rounding);
            row.no_width += u64::from(low == high);
            values.insert(value.to_bits());
        }
        row.varies = values.len() > 1;
        row
    };
    truth.iter().map(row).collect()
}

/// Rows that hold less often than 95 % by the exact binomial test, Holm over all rows, at 1 %; and rows that claim to be
/// sure of what varies.
fn wrong(rows: &[Row]) -> Vec<String> {
    let of = |row: &Row| Binomial::new(0.95, row.studies).expect("a share");
    // Twice the tail: the interval that holds too often is no fault, but is not known beforehand.
    let short = |row: &Row| (2.0 * of(row).cdf(row.held)).min(1.0);
    let rejected = adjusted_p(
        &rows.iter().map(short).collect::<Vec<_>>(),
        Correction::Holm,
    );
    let tell = |row: &Row| {
        format!(
            "{}: {} of {}, {} of no width",
            row.name, row.held, row.studies, row.no_width
        )
    };
    let too_seldom = rows
        .iter()
        .zip(rejected)
        .filter(|(_, p)| *p < 0.01)
        .map(|(row, _)| tell(row));
    let no_width = rows
        .iter()
        .filter(|row| row.varies && row.no_width > 0)
        .map(tell);
    too_seldom.chain(no_width).collect()
}

fn print(rows: &[Row]) {
    println!("| machine: figure | studies | hold |\n| --- | ---: | ---: |");
    for row in rows.iter().filter(|row| row.varies) {
        println!(
            "| {} | {} | {:.1} % |",
            row.name,
            row.studies,
            100.0 * row.held as f64 / row.studies as f64
        );
    }
}

/// So few studies see only what is far off.
#[test]
fn intervals_of_every_figure_hold_roughly_and_none_has_no_width() {
    let all: Vec<Row> = machines()
        .iter()
        .flat_map(|(name, circuit, _)| rows(name, circuit, 120, 20))
        .collect();
    assert_eq!(wrong(&all), Vec::<String>::new());
}

#[test]
#[ignore = "slow: the table of tests/EVIDENCE.md"]
fn intervals_of_every_figure_hold() {
    let studies =
        std::env::var("STUDIES").map_or(2000, |studies| studies.parse().expect("a number"));
    let all: Vec<Row> = machines()
        .iter()
        .flat_map(|(name, circuit, runs)| rows(name, circuit, studies, *runs))
        .collect();
    print(&all);
    assert_eq!(wrong(&all), Vec::<String>::new());
}

/// A machine whose jams lie on the limit, so that some studies stop early and some do not.
fn on_the_limit() -> String {
    HALF.replacen("workable: {", "workable: { jams-per-8h: 90,", 1)
}

#[test]
fn intervals_hold_roughly_where_studies_stop_early() {
    let all = rows_of_decided("half jam", &on_the_limit(), 120);
    assert_eq!(wrong(&all), Vec::<String>::new());
}

#[test]
#[ignore = "slow: the table of tests/EVIDENCE.md"]
fn intervals_hold_where_studies_stop_early() {
    let runs_through = HALF.replacen("pinch: 0.002", "pinch: 0", 1);
    let mut all = rows_of_decided("half jam", &on_the_limit(), 2000);
    all.extend(rows_of_decided("runs through", &runs_through, 1000));
    print(&all);
    assert_eq!(wrong(&all), Vec::<String>::new());
}

/// Where nothing is drawn, all runs are alike and every figure is known.
#[test]
fn a_machine_without_chance_has_figures_of_no_width() {
    let circuit = support::circuit(
        3,
        "a: { track: { time: 5 s, places: 4 }, to: b }
         b: { track: { time: 3 s, places: 4 }, to: a }",
    );
    let runs = repeat(&circuit, &study(1), 5, || {});
    let json = summary(&circuit, &runs);
    for (path, (value, low, high)) in figures_of(&json) {
        // Shares of runs and jams have exact intervals, which do not ask whether chance decides.
        if !["outcomes", "locked_in_part", "jams"]
            .iter()
            .any(|of_runs| path.contains(of_runs))
        {
            assert_eq!((low, high), (Some(value), Some(value)), "{path}");
        }
    }
}
