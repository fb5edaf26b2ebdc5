//! What does an answer cost, without the command line: the demo read and built, run, searched, mapped and drawn?

mod circuits;

use std::hint::black_box;

use circuits::DEMO;
use criterion::{Criterion, criterion_group, criterion_main};
use marblewright::circuit::draw::nanos;
use marblewright::findings::workable::judge;
use marblewright::findings::{self, summarize};
use marblewright::machine::{self, Machine};
use marblewright::study::assumptions::{SensitivityEffort, sensitivity};
use marblewright::study::map::{self, Cell, Grid};
use marblewright::study::repeat::Study;
use marblewright::study::window::Search;
use marblewright::{circuit, report, study};

fn demo() -> Machine {
    machine::read(DEMO, &[]).expect("a sound machine")
}

fn start(c: &mut Criterion) {
    c.bench_function("the file read", |b| {
        b.iter(|| machine::read(black_box(DEMO), &[]))
    });
    let machine = demo();
    c.bench_function("dimensions made into times", |b| {
        b.iter(|| circuit::circuit(&machine))
    });
}

fn run(c: &mut Criterion) {
    let mut group = c.benchmark_group("run");
    group.sample_size(10);
    let (machine, horizon) = (demo(), nanos(7200.0));
    let circuit = circuit::circuit(&machine);
    group.bench_function("20 runs of 2 h", |b| {
        b.iter(|| study::repeat(&circuit, &Study { seed: 1, horizon }, 20, || {}))
    });
    group.bench_function("how sure?", |b| {
        b.iter(|| {
            sensitivity(
                &machine,
                &SensitivityEffort::short(&Study { seed: 1, horizon }),
            )
        })
    });
    let figures = study::repeat(&circuit, &Study { seed: 1, horizon }, 20, || {});
    let mut runs = findings::Runs::new(circuit.start);
    runs.extend(figures.iter().cloned());
    let question = findings::StudyScope {
        title: machine.title.clone(),
        rpm: Some(7.0),
        seed: 1,
        hours: 2.0,
    };
    group.bench_function("findings of 20 runs", |b| {
        b.iter(|| summarize(&question, &circuit, &runs))
    });
    let summary = summarize(&question, &circuit, &runs);
    let all = Study { seed: 1, horizon };
    group.bench_function("all tables and charts", |b| {
        let judgement = judge(&circuit, &machine.workable, &figures, 0.95);
        let rows = || {
            figures
                .iter()
                .map(|run| report::run_row(run) + &report::element_rows(&circuit, run))
        };
        let tables = || {
            let json = report::json(
                &circuit,
                (&summary, &judgement, None),
                black_box(&runs.totals),
            );
            json + &rows().collect::<String>()
        };
        b.iter(|| {
            (
                tables(),
                report::run_charts(&circuit, &all, &summary, black_box(&runs)),
            )
        })
    });
    group.finish();
}

fn window(c: &mut Criterion) {
    let mut group = c.benchmark_group("window");
    group.sample_size(10);
    let machine = demo();
    let circuit = circuit::circuit(&machine);
    let search = Search {
        axis: map::Axis::loads(10..=40),
        runs: 40,
        seed: 1,
        horizon: nanos(600.0),
        error: 0.05,
    };
    group.bench_function("10 to 40 marbles, 40 runs of 10 min", |b| {
        b.iter(|| search.window(&circuit, &machine.workable, |_| {}, || {}))
    });
    group.finish();
}

/// Nobody follows.
struct Alone;

impl map::Follower for Alone {
    fn go_on(&self) -> bool {
        true
    }
    fn ran(&self) {}
    fn finished(&self, _: &Cell) {}
}

fn a_map(c: &mut Criterion) {
    let mut group = c.benchmark_group("map");
    group.sample_size(10);
    let axis = |text| map::Axis::parse(text).expect("an axis");
    let question = map::Question {
        version: String::new(),
        machine: DEMO.to_owned(),
        settings: Vec::new(),
        along: axis("marbles=8..48/8"),
        across: axis("rpm=4..8/2"),
        seed: 1,
        runs: 10,
        hours: 0.2,
        every_cell: true,
    };
    group.bench_function("6 loads by 3 speeds, 10 runs of 12 min", |b| {
        b.iter(|| {
            Grid::new(question.clone())
                .expect("a grid")
                .simulate(&[0, 1, 2], &[], &Alone)
        })
    });
    group.finish();
}

criterion_group!(benches, start, run, window, a_map);
criterion_main!(benches);
