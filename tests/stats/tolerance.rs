//! How many makers have a machine that works, and what decides: where the truth is known in closed form.

use marblewright::circuit::draw::nanos;
use marblewright::machine::Machine;
use marblewright::stats::importance::{SobolIndices, SobolSample};
use marblewright::stats::latin_hypercube::unit;
use marblewright::stats::proportion::wilson;
use marblewright::study::repeat::Study;
use marblewright::study::tolerance::{Plans, Tolerance, ToleranceEffort, share};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::support::{file, machine};

/// T. Ishigami, T. Homma, ISUMA (1990) 398: y = sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1, each x even from -pi to pi.
fn ishigami(x: [f64; 3]) -> f64 {
    let [one, two, three] = x;
    let (sine, other) = (libm::sin(one), libm::sin(two));
    sine + 7.0 * other * other + 0.1 * three.powi(4) * sine
}

/// Its indices from so many points.
fn indices_of_ishigami(points: usize, seed: u64) -> [SobolIndices; 3] {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut sample = || -> Vec<[f64; 3]> {
        let mut point = || [0; 3].map(|_| std::f64::consts::PI * (2.0 * unit(&mut random) - 1.0));
        (0..points).map(|_| point()).collect()
    };
    let (first, second) = (sample(), sample());
    let values = |of: &[[f64; 3]]| -> Vec<f64> { of.iter().map(|&x| ishigami(x)).collect() };
    let (a, b) = (values(&first), values(&second));
    [0, 1, 2].map(|input| {
        let mut redrawn = first.clone();
        for (one, other) in redrawn.iter_mut().zip(&second) {
            one[input] = other[input];
        }
        let sample = SobolSample {
            first: &a,
            second: &b,
            one_redrawn: &values(&redrawn),
        };
        sample.indices(0.99)
    })
}

/// Exact values recomputed from the integrals (variance 13.844588). A general library, scipy 1.17.1 `sobol_indices` with
/// 2^14 points, gives 0.3139, 0.4423, -0.0001 and 0.5576, 0.4424, 0.2441.
#[test]
fn the_importance_of_three_inputs_is_that_of_the_integrals() {
    let (first, total) = ([0.313905, 0.442411, 0.0], [0.557589, 0.442411, 0.243684]);
    let found = indices_of_ishigami(1 << 14, 1);
    for (n, of) in found.iter().enumerate() {
        println!("x{}: first {:.4?}, total {:.4?}", n + 1, of.first, of.total);
        for (estimate, truth) in [(of.first, first[n]), (of.total, total[n])] {
            let value = estimate.value.expect("a value");
            assert!((value - truth).abs() < 0.03, "x{}: {estimate:?}", n + 1);
            let (low, high) = (
                estimate.low.expect("an end"),
                estimate.high.expect("an end"),
            );
            assert!(
                high - low < 0.1 && low - 0.01 < truth && truth < high + 0.01,
                "{estimate:?}"
            );
        }
    }
    let totals = found.map(|of| of.total.value.expect("a value"));
    assert!(totals[0] > totals[1] && totals[1] > totals[2], "{totals:?}");
}

/// Newcombe, Stat. Med. 17, 857-872 (1998), table I, method 3, as recomputed to more figures.
#[test]
fn wilson_is_method_3_of_newcombe() {
    for (hits, of, low, high) in [
        (81, 263, 0.255_288_5, 0.366_209_6),
        (15, 148, 0.062_386_4, 0.160_487_2),
        (0, 20, 0.0, 0.161_125_2),
        (1, 29, 0.006_113_2, 0.171_755_2),
        (20, 20, 0.838_874_8, 1.0),
    ] {
        let found = wilson(hits, of, 0.95);
        let ends = [found.low.expect("low"), found.high.expect("high")];
        assert!(
            (ends[0] - low).abs() < 1e-6 && (ends[1] - high).abs() < 1e-6,
            "{hits}/{of}: {ends:?}"
        );
    }
    assert_eq!(wilson(0, 0, 0.95).value, None);
}

/// A ring whose marbles are back at the pick-up after 9.9 s. Each takes the next of pockets that come every 3 s / rpm, so that
/// 12 marbles fill 12 in ceil(9.9 rpm / 3): 60 % up to 20 x 3 / 9.9 = 6.0606 rpm, 57.1 % beyond.
const RING: &str = "ramp: { ramp: { time: 2 s, places: 20, advance: 0.1 s }, to: wheel }
     wheel: { pocket-wheel: { pockets: 20, lift: 4 s }, to: track }
     track: { track: { time: 3.9 s, places: 30, advance: 0.1 s }, to: ramp }";
const RPM: f64 = 5.9;
const LIMIT_RPM: f64 = 20.0 * 3.0 / 9.9;
const SD: f64 = 0.03;

fn ring(more: &str) -> Machine {
    let head = format!(
        "drive: {{ speed: {RPM} rpm }}\nworkshop: {{ speed: {SD}{more} }}\nworkable: {{ least-fill: 0.585 }}"
    );
    machine(&file(12, &head, RING), &[])
}

fn studied(machine: &Machine, makers: u32, seed: u64) -> (Plans, Tolerance) {
    let effort = ToleranceEffort {
        makers,
        runs: 1,
        study: Study {
            seed,
            horizon: nanos(900.0),
        },
    };
    let plans = Plans::of(machine, effort);
    let found = plans.study(|_| {}, &|| true);
    (plans, found)
}

fn normal() -> Normal {
    Normal::new(0.0, 1.0).expect("a law")
}

#[test]
fn where_the_speed_decides_the_share_is_that_of_the_normal_law() {
    let truth = normal().cdf((LIMIT_RPM / RPM - 1.0) / SD);
    let machine = ring("");
    let (mut covered, mut scales) = (0, Vec::new());
    for seed in 0..100 {
        let (plans, found) = studied(&machine, 60, seed);
        let works = share(&found.outcomes);
        covered += u32::from(works.low < Some(truth) && works.high > Some(truth));
        assert_eq!(plans.errors.len(), 1);
        let ranking = found.ranking.expect("ranked");
        let total = ranking.errors[0].indices.total.value;
        assert!(
            total.is_none_or(|total| total > 0.5),
            "it alone decides: {total:?}"
        );
        assert_eq!(ranking.by_chance.value, Some(0.0), "nothing else does");
        if let [last] = found.exactness.expect("searched").as_slice() {
            scales.push(last.scale.expect("exact enough works"));
        }
    }
    let mean = scales.iter().sum::<f64>() / scales.len() as f64;
    // 95 of 100 work from a standard deviation of (6.0606 / 5.9 - 1) / 1.645 on; searched in twentieths from below, among
    // sixty makers.
    let exact = (LIMIT_RPM / RPM - 1.0) / normal().inverse_cdf(0.95) / SD;
    println!(
        "true share {truth:.4}, covered {covered} of 100; scale {mean:.3} on average of {}, exactly {exact:.3}",
        scales.len()
    );
    assert!(covered >= 90, "{covered}");
    assert!(
        scales.len() > 80 && (mean - exact).abs() < 0.1,
        "{mean} {exact}"
    );
}

#[test]
fn one_error_more_changes_no_draw_of_another() {
    let text = include_str!("../../scenarios/starter-loop.yaml");
    let few = "workshop: { length: 0 mm, bore: 0 mm, slope: 0 deg }";
    let plans = [text.to_owned(), format!("{text}\n{few}\n")].map(|text| {
        let machine = machine(
            &text,
            &[
                ("circuit.wheel.pick-up", "{ take: 1 }"),
                ("circuit.floor.time", "2 s"),
                ("circuit.floor.arch", "{ chance: 0 }"),
            ],
        );
        studied(&machine, 1, 7).0
    });
    let [all, fewer] = &plans;
    assert!(all.errors.len() > fewer.errors.len() + 3);
    for maker in [0, 1, 99] {
        let amounts = [all, fewer].map(|plans| plans.amounts(maker, &plans.makers()));
        for (error, amount) in fewer.errors.iter().zip(&amounts[1]) {
            let same = all.errors.iter().position(|other| other.key == error.key);
            assert_eq!(
                amounts[0][same.expect("it is in both")],
                *amount,
                "{}",
                error.key
            );
        }
    }
}

#[test]
fn one_thread_and_three_find_the_same_and_who_stops_keeps_what_was_done() {
    let machine = ring("");
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads")
            .install(|| studied(&machine, 130, 3).1)
    };
    let all = on(1);
    assert_eq!(all, on(3));
    let (plans, _) = studied(&machine, 130, 3);
    let left = std::sync::atomic::AtomicI64::new(100);
    let go_on = || left.fetch_sub(1, std::sync::atomic::Ordering::Relaxed) > 0;
    let stopped = plans.study(|_| {}, &go_on);
    let done = stopped.outcomes.len();
    assert!(
        (64..=100).contains(&done) && !stopped.is_complete(),
        "{done}"
    );
    assert_eq!(stopped.outcomes, all.outcomes[..done]);
}
