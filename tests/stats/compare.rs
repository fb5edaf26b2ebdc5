//! Comparisons of two and of several designs against published examples.

use crate::studies::interval::contains;
use crate::studies::{close, draws, ends, normal, study};
use marblewright::stats::Estimate;
use marblewright::stats::compare::{SampleSummary, paired_t, runs_to_settle};
use marblewright::stats::significance::student_critical;
use marblewright::stats::simultaneous::{
    Correction, adjusted_p, all_pairs, bonferroni_level, clear_highest, clear_lowest,
};

const DRUG_1: [f64; 10] = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
const DRUG_2: [f64; 10] = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];

/// Student, "The probable error of a mean", Biometrika 6 (1908): extra hours of sleep; recomputed with
/// scipy 1.17.1.
#[test]
fn sleep_paired() {
    let test = paired_t(&DRUG_1, &DRUG_2, 0.95).unwrap();
    close(test.statistic.unwrap(), -4.062127683, 5e-10);
    close(test.p, 0.002832890, 5e-10);
    assert_eq!(test.degrees_of_freedom, 9.0);
    ends(test.difference, -2.459885763, -0.700114237, 5e-10);
}

#[test]
fn samples_that_cannot_be_compared() {
    assert_eq!(paired_t(&[1.0, 2.0], &[1.0], 0.95), None);
    assert_eq!(paired_t(&[1.0], &[2.0], 0.95), None);
    assert_eq!(paired_t(&[1.0, f64::NAN], &[2.0, 3.0], 0.95), None);
    assert_eq!(SampleSummary::of(&[2.0]), None);
}

/// Sign test: n differences of one sign have probability 2 / 2^n under no difference.
#[test]
fn two_runs_that_differ_alike_are_no_proof() {
    let two = paired_t(&[1.0, 1.0], &[0.0, 0.0], 0.95).unwrap();
    assert_eq!((two.statistic, two.p), (None, 0.5));
    assert_eq!(two.difference, Estimate::interval(1.0, 1.0, 1.0));
    assert_eq!(paired_t(&[1.0; 8], &[0.0; 8], 0.95).unwrap().p, 2.0 / 256.0);
    assert_eq!(paired_t(&[1.0; 8], &[1.0; 8], 0.95).unwrap().p, 1.0);
}

/// Worked by hand from Holm, Scandinavian Journal of Statistics 6 (1979): sorted p-values times 4, 3,
/// 2, 1, never falling.
#[test]
fn corrected_p_values() {
    let p = [0.01, 0.04, 0.03, 0.005];
    let expected = [0.03, 0.06, 0.06, 0.02];
    for (actual, expected) in adjusted_p(&p, Correction::Holm).into_iter().zip(expected) {
        close(actual, expected, 1e-15);
    }
    let expected = [0.04, 0.16, 0.12, 0.02];
    for (actual, expected) in adjusted_p(&p, Correction::Bonferroni)
        .into_iter()
        .zip(expected)
    {
        close(actual, expected, 1e-15);
    }
    assert_eq!(adjusted_p(&[0.5, 0.9], Correction::Bonferroni), [1.0, 1.0]);
    close(bonferroni_level(0.95, 10).unwrap(), 0.995, 1e-15);
    assert_eq!(bonferroni_level(0.95, 0), None);
}

fn three_designs() -> Vec<Vec<f64>> {
    let mut rng = study(1, 0);
    let random = draws(30, || normal(&mut rng));
    let mut design = |lead: f64| -> Vec<f64> {
        random
            .iter()
            .map(|l| l + lead + 0.3 * normal(&mut rng))
            .collect()
    };
    vec![design(0.0), design(1.0), design(0.02)]
}

#[test]
fn a_winner_is_named_only_where_the_evidence_carries_it() {
    for correction in [Correction::Bonferroni, Correction::Holm] {
        let pairs = all_pairs(&three_designs(), 0.95, correction).unwrap();
        let found: Vec<_> = pairs
            .iter()
            .map(|p| (p.first, p.second, p.distinct))
            .collect();
        assert_eq!(found, [(0, 1, true), (0, 2, false), (1, 2, true)]);
        assert_eq!(clear_highest(&pairs), Some(1));
        assert_eq!(clear_lowest(&pairs), None);
    }
}

#[test]
fn bonferroni_finds_a_difference_where_its_interval_leaves_out_nought() {
    let pairs = all_pairs(&three_designs(), 0.95, Correction::Bonferroni).unwrap();
    for pair in pairs {
        assert_eq!(contains(&pair.test.difference, 0.0), !pair.distinct);
    }
}

#[test]
fn one_design_has_nothing_to_compare() {
    assert_eq!(all_pairs(&[vec![1.0, 2.0]], 0.95, Correction::Holm), None);
    assert_eq!(clear_highest(&[]), None);
}

/// The chance of any false finding among three equal designs, over 2,000 studies: at most 5 % and a
/// little for random (three standard errors are 1.5 %).
#[test]
fn corrections_keep_false_findings_down() {
    let mut false_findings = 0;
    for number in 0..2000 {
        let mut rng = study(2, number);
        let designs: Vec<Vec<f64>> = (0..3).map(|_| draws(8, || normal(&mut rng))).collect();
        let pairs = all_pairs(&designs, 0.95, Correction::Holm).unwrap();
        false_findings += u32::from(pairs.iter().any(|p| p.distinct));
    }
    assert!(
        (20..=130).contains(&false_findings),
        "{false_findings} of 2000"
    );
}

/// NIST/SEMATECH e-Handbook: a one-sided 5 % test (both sides 10 %) with 10 % risk of missing
/// a difference of one standard deviation: 9 by the normal, 11 by t. Remembered, not seen; the next
/// test is the ground.
#[test]
fn runs_to_find_a_difference_of_one_deviation() {
    assert_eq!(runs_to_settle(1.0, 1.0, 0.90, 0.90), Some(11));
    assert_eq!(runs_to_settle(-1.0, 1.0, 0.90, 0.90), Some(11));
}

/// By its definition, n counted up one by one: sqrt(n) d/s >= t(level) + t(power), both with n - 1 degrees of freedom. The
/// one-sided t of the power is the two-sided t of 2 power - 1.
#[test]
fn no_fewer_runs_would_do() {
    for ratio in (20..300).map(|n| f64::from(n) / 100.0) {
        let enough = |n: u64| {
            let t = |level: f64| student_critical(level, n as f64 - 1.0).unwrap();
            (n as f64).sqrt() * ratio >= t(0.95) + t(0.8)
        };
        assert_eq!(
            runs_to_settle(ratio, 1.0, 0.95, 0.9),
            (2..).find(|n| enough(*n)),
            "{ratio}"
        );
    }
}

/// With the runs asked for, the share of studies that find the difference is the power, give or take
/// three standard errors (2 % at 2,000 studies); with a third fewer it is clearly less.
#[test]
fn runs_asked_for_give_the_power_promised() {
    let found = |runs: usize| {
        let finds = |number: &u64| {
            let mut rng = study(3, *number);
            let a = draws(runs, || 0.5 + normal(&mut rng));
            paired_t(&a, &vec![0.0; runs], 0.95).unwrap().p <= 0.05
        };
        (0..2000).filter(finds).count() as f64 / 2000.0
    };
    let runs = runs_to_settle(0.5, 1.0, 0.95, 0.90).unwrap() as usize;
    close(found(runs), 0.90, 0.02);
    assert!(found(runs * 2 / 3) < 0.85);
}

#[test]
fn a_tie_cannot_be_settled() {
    assert_eq!(runs_to_settle(0.0, 1.0, 0.95, 0.9), None);
    assert_eq!(runs_to_settle(1e-9, 1.0, 0.95, 0.9), None);
    assert_eq!(runs_to_settle(0.0, 0.0, 0.95, 0.9), None);
    assert_eq!(runs_to_settle(1.0, 1.0, 1.0, 0.9), None);
}

/// Without any spread the sign test decides: 2^(1 - n) is within 0.05 from n = 6 on.
#[test]
fn a_difference_without_spread_is_settled_by_the_sign_test() {
    assert_eq!(runs_to_settle(1.0, 0.0, 0.95, 0.9), Some(6));
    let p = |n: usize| {
        paired_t(&vec![1.0; n], &vec![0.0; n], 0.95)
            .expect("a test")
            .p
    };
    assert!(p(6) <= 0.05 && p(5) > 0.05);
}

/// How many runs settle a difference hangs on the difference in deviations, not on its unit.
#[test]
fn runs_to_settle_have_no_unit() {
    for unit in [1e-6, 0.25, 4.0, 1e9] {
        assert_eq!(
            runs_to_settle(0.5 * unit, unit, 0.95, 0.9),
            runs_to_settle(0.5, 1.0, 0.95, 0.9),
            "{unit}"
        );
    }
}

/// A power under one half takes its t from the other side: sqrt(n)/2 >= t(0.975) - t(0.8), by the table of t 1.541 at 7
/// runs, 1.469 at 8 and 1.417 at 9, of which only the last is under sqrt(9)/2. With a hundredth of a deviation the normal
/// law decides, 10^4 (1.959964 - 0.841621)^2 = 12507, and t in its place asks for a few more.
#[test]
fn a_power_under_one_half_is_had_for_fewer_runs() {
    assert_eq!(runs_to_settle(0.5, 1.0, 0.95, 0.2), Some(9));
    let many = runs_to_settle(0.01, 1.0, 0.95, 0.2).expect("a number");
    assert!((12_507..12_520).contains(&many), "{many}");
}
