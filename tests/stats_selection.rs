//! Ranking and selection: constants against published tables, promises against repeated studies.

mod stats_support;

use marblewright::stats::selection::{KimNelson, dudewicz_dalal_h, rinott_h, rinott_runs};
use stats_support::{close, normal, study};

/// Constants for 20 first runs and 2 to 10 designs, recomputed with scipy 1.17.1; to three decimals they
/// are Law & Kelton's table of h1 (that table from memory).
#[test]
fn dudewicz_dalal_constants() {
    let ninety = [1.8957, 2.3423, 2.5834, 2.7471, 2.8704, 2.9690, 3.0509, 3.1209, 3.1820];
    let ninety_five = [2.4525, 2.8716, 3.1011, 3.2580, 3.3768, 3.4720, 3.5514, 3.6194, 3.6788];
    for (confidence, row) in [(0.90, ninety), (0.95, ninety_five)] {
        for (designs, h) in (2..).zip(row) {
            close(dudewicz_dalal_h(designs, 20, confidence).unwrap(), h, 5.1e-5);
        }
    }
}

/// Rinott, Communications in Statistics A7 (1978): his integral, recomputed with scipy 1.17.1; for nine
/// designs with a second quadrature, which gives 3.806058.
#[test]
fn rinott_constants() {
    let twenty = [2.4525, 2.9372, 3.2032, 3.3854, 3.5235, 3.6344, 3.7268, 3.8061, 3.8753];
    for (designs, h) in (2..).zip(twenty) {
        close(rinott_h(designs, 20, 0.95).unwrap(), h, 5.1e-5);
    }
    for (designs, h) in [(2, 2.6141), (3, 3.1657), (5, 3.6926), (10, 4.2895)] {
        close(rinott_h(designs, 10, 0.95).unwrap(), h, 5.1e-5);
    }
}

/// For two designs the two integrals are one: the difference of two t variables.
#[test]
fn the_two_procedures_agree_for_two_designs() {
    for first_stage in [2, 3, 5, 10, 50, 400] {
        let rinott = rinott_h(2, first_stage, 0.9).unwrap();
        let dudewicz_dalal = dudewicz_dalal_h(2, first_stage, 0.9).unwrap();
        close(rinott, dudewicz_dalal, 1e-7 * rinott);
    }
}

#[test]
fn constants_out_of_range_do_not_exist() {
    assert_eq!(rinott_h(1, 20, 0.95), None);
    assert_eq!(rinott_h(2, 1, 0.95), None);
    assert_eq!(rinott_h(4, 20, 0.25), None);
    assert_eq!(dudewicz_dalal_h(2, 20, 1.0), None);
}

fn kim_nelson(first_stage: u64, error: f64) -> KimNelson {
    KimNelson { first_stage, error, indifference: 1.0, most_runs: 100_000 }
}

/// Kim & Nelson, ACM TOMACS 11(3) (2001): the constants by their formula with c = 1, worked
/// independently; eta of the first is 0.334050269.
#[test]
fn kim_nelson_constants() {
    let table = [(2, 10, 6.012904835), (3, 20, 7.043786521), (5, 10, 11.429410773), (10, 24, 11.014333637)];
    for (designs, first_stage, h_squared) in table {
        let actual = kim_nelson(first_stage, 0.05).h_squared(designs).unwrap();
        close(actual, h_squared, 5e-9);
    }
    close(6.012904835 / (2.0 * 9.0), 0.334050269, 5e-10);
}

/// Variance 4 and indifference 1, two designs, ten first runs: at most 24 more comparisons by Kim and
/// Nelson, 28 runs by Rinott.
#[test]
fn how_far_a_design_may_lag() {
    let rule = kim_nelson(10, 0.05);
    let h_squared = rule.h_squared(2).unwrap();
    close(rule.continuation_width(h_squared, 4.0, 10), 7.025809670, 5e-9);
    assert_eq!((h_squared * 4.0).floor(), 24.0);
    assert!(rule.continuation_width(h_squared, 4.0, 24) > 0.0);
    assert_eq!(rule.continuation_width(h_squared, 4.0, 25), 0.0);
    assert_eq!(rinott_runs(rinott_h(2, 10, 0.95).unwrap(), 2.0, 1.0, 10), 28);
    assert_eq!(rinott_runs(2.0, 0.1, 1.0, 10), 10);
}

/// Five designs, the best ahead by just the indifference, spread 2, on shared luck or each on its own:
/// chosen in at least 95 % of 400 studies, less three standard errors (3.3 %).
#[test]
fn kim_nelson_keeps_its_promise() {
    let rule = kim_nelson(10, 0.05);
    let mut spent = [0, 0];
    for (shared, total) in [0.0_f64, 0.8].into_iter().zip(&mut spent) {
        let own = (1.0 - shared * shared).sqrt();
        let mut right = 0;
        for number in 0..400 {
            let selection = rule.select(5, |design, run| {
                let lead = if design == 3 { 1.0 } else { 0.0 };
                let luck = normal(&mut study(7 + number, run));
                let alone = normal(&mut study(1_000_000 + 1000 * number + design as u64, run));
                lead + 2.0 * (shared * luck + own * alone)
            });
            let selection = selection.unwrap();
            right += u32::from(selection.best == Some(3));
            *total += selection.runs.iter().sum::<u64>();
        }
        assert!(right >= 367, "{right} of 400 right");
    }
    // Shared luck leaves 36 % of the variance of a difference, and the race is that much shorter.
    assert!(spent[1] * 2 < spent[0], "{spent:?}");
}

#[test]
fn a_plain_leader_is_found_in_the_first_stage() {
    let rule = kim_nelson(10, 0.05);
    let selection = rule.select(3, |design, run| design as f64 * 100.0 + (run % 2) as f64);
    let selection = selection.unwrap();
    assert_eq!(selection.best, Some(2));
    assert_eq!((selection.racing, selection.runs), (vec![2], vec![10, 10, 10]));
}

#[test]
fn a_budget_spent_first_names_nobody() {
    let rule = KimNelson { indifference: 1e-6, most_runs: 50, ..kim_nelson(10, 0.05) };
    let selection = rule.select(2, |design, run| normal(&mut study(design as u64, run)));
    let selection = selection.unwrap();
    assert_eq!((selection.best, selection.runs), (None, vec![50, 50]));
    assert_eq!(selection.racing, [0, 1]);
}

#[test]
fn settings_out_of_range_select_nothing() {
    let zero = KimNelson { indifference: 0.0, ..kim_nelson(10, 0.05) };
    assert!(zero.select(2, |_, _| 0.0).is_none());
    assert!(kim_nelson(1, 0.05).select(2, |_, _| 0.0).is_none());
    assert!(kim_nelson(10, 0.05).select(1, |_, _| 0.0).is_none());
    assert!(kim_nelson(10, 0.05).select(2, |_, _| f64::NAN).is_none());
}

/// Equals in every run leave nothing to wait for: the race ends with the first stage, and the first of them is taken.
#[test]
fn equals_are_not_raced_on() {
    let race = kim_nelson(10, 0.05);
    let chosen =
        race.select(3, |design, run| if design == 2 { -50.0 } else { f64::from(run as u32 % 3) }).expect("a race");
    assert_eq!((chosen.best, chosen.racing, chosen.runs), (Some(0), vec![0], vec![10, 10, 10]));
}

/// (3 * 2 / 0.5)^2 = 144.
#[test]
fn rinott_runs_by_hand() {
    assert_eq!(rinott_runs(3.0, 2.0, 0.5, 10), 144);
    assert_eq!(rinott_runs(3.0, 2.0, 50.0, 10), 10);
}

#[test]
fn one_first_run_or_a_guess_has_no_constant() {
    assert_eq!([0, 1].map(|first| kim_nelson(first, 0.05).h_squared(3)), [None; 2]);
    for (designs, first_stage, confidence) in [(2, 1, 0.9), (2, 0, 0.9), (2, 10, 0.4), (4, 10, 0.2), (1, 10, 0.9)] {
        assert_eq!(rinott_h(designs, first_stage, confidence), None, "{designs} {first_stage} {confidence}");
        assert_eq!(dudewicz_dalal_h(designs, first_stage, confidence), None, "{designs} {first_stage} {confidence}");
    }
}
