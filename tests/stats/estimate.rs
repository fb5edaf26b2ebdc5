//! Means, spreads, quantiles and intervals against certified and published values.

use crate::studies::{close, ends};
use marblewright::stats::Estimate;
use marblewright::stats::describe::{mean, sd, variance};
use marblewright::stats::estimate::{mean_interval, weighted_mean_interval, with_unseen_runs};
use marblewright::stats::quantile::quantile;
use marblewright::stats::significance::{normal_critical, student_critical};

/// NIST StRD, univariate NumAcc2 to NumAcc4: 1001 values made by the rule b, then b - 0.1 and b + 0.1
/// five hundred times; the three are given as written, since adding would round twice.
fn num_acc(b: f64, below: f64, above: f64) -> Vec<f64> {
    let waves = (0..500).flat_map(|_| [below, above]);
    std::iter::once(b).chain(waves).collect()
}

fn num_acc_4() -> Vec<f64> {
    num_acc(10000000.2, 10000000.1, 10000000.3)
}

/// Certified values: NIST Statistical Reference Datasets, univariate summary statistics (NumAcc1-4,
/// read second-hand in the test suites of several libraries).
fn certified(xs: &[f64], expected: [f64; 2], relative: f64) {
    let actual = [mean(xs), sd(xs)];
    for (a, e) in actual.into_iter().zip(expected) {
        close(a.unwrap(), e, relative * e.abs());
    }
}

#[test]
fn numerically_hard_sets_keep_their_digits() {
    certified(
        &[10000001.0, 10000003.0, 10000002.0],
        [10000002.0, 1.0],
        1e-15,
    );
    certified(&num_acc(1.2, 1.1, 1.3), [1.2, 0.1], 1e-14);
    // The decimal 0.1 next to a million keeps ten digits in a double, next to ten million nine.
    certified(
        &num_acc(1000000.2, 1000000.1, 1000000.3),
        [1000000.2, 0.1],
        1e-9,
    );
    certified(&num_acc_4(), [10000000.2, 0.1], 1e-8);
}

/// Rounding of the input alone gives this deviation, computed to 14 digits with two passes.
#[test]
fn the_hardest_set_is_off_by_the_rounding_of_its_input_only() {
    close(sd(&num_acc_4()).unwrap(), 0.10000000055879, 1e-14);
}

/// Student's t, two-sided 95 %, as printed in every table (NIST/SEMATECH e-Handbook); nine
/// digits recomputed with scipy 1.17.1.
#[test]
fn critical_values() {
    let expected = [(9.0, 2.262157163), (19.0, 2.093024054), (29.0, 2.045229642)];
    for (freedom, t) in expected {
        close(student_critical(0.95, freedom).unwrap(), t, 5e-10);
    }
    close(normal_critical(0.95).unwrap(), 1.959963984540054, 1e-14);
}

/// Student's t with 1 and 2 degrees of freedom has quantiles in closed form, and with very many it is
/// the normal; the inverse in the library must not drift or hang at either end.
#[test]
fn critical_values_at_the_ends_of_the_table() {
    for level in [0.5_f64, 0.9, 0.95, 0.99, 0.999] {
        let cauchy = libm::tan(std::f64::consts::PI * level / 2.0);
        close(student_critical(level, 1.0).unwrap(), cauchy, 1e-9 * cauchy);
        let two = level * (2.0 / (1.0 - level * level)).sqrt();
        close(student_critical(level, 2.0).unwrap(), two, 1e-9 * two);
        let normal = normal_critical(level).unwrap();
        close(student_critical(level, 1e9).unwrap(), normal, 1e-7 * normal);
    }
    assert_eq!(student_critical(0.95, 0.0), None);
    assert_eq!(student_critical(1.0, 9.0), None);
    assert_eq!(normal_critical(f64::NAN), None);
}

/// Ten replications, computed independently with scipy 1.17.1.
#[test]
fn interval_of_ten_replications() {
    let x = [5.31, 4.95, 5.62, 5.10, 4.88, 5.44, 5.27, 5.05, 5.19, 5.36];
    let estimate = mean_interval(&x, 0.95);
    close(estimate.value.unwrap(), 5.217, 1e-14);
    close(sd(&x).unwrap(), 0.228815792, 5e-10);
    close(estimate.half_width().unwrap(), 0.163684957, 5e-10);
    ends(estimate, 5.053315043, 5.380684957, 5e-10);
}

/// From 10,000 degrees of freedom an expansion takes over from the search: the two must meet. Between the
/// two sides t itself moves by about (t^3 + t) / 4 per 10^8 times 0.001.
#[test]
fn critical_values_where_the_expansion_takes_over() {
    for level in [0.5, 0.8, 0.95, 0.99, 0.999] {
        let searched = student_critical(level, 9_999.999).unwrap();
        let expanded = student_critical(level, 10_000.0).unwrap();
        let moved = (searched.powi(3) + searched) / 4.0 * 1e-11;
        close(searched - expanded, moved, 1e-10);
    }
}

#[test]
fn what_does_not_exist_is_unknown_and_never_zero() {
    assert_eq!(mean_interval(&[], 0.95), Estimate::unknown());
    assert_eq!(mean_interval(&[3.0], 0.95), Estimate::point(3.0));
    assert_eq!(mean_interval(&[3.0, 4.0], 1.0), Estimate::point(3.5));
    assert_eq!(mean_interval(&[3.0, f64::NAN], 0.95), Estimate::unknown());
    assert_eq!(
        mean_interval(&[3.0, f64::INFINITY], 0.95),
        Estimate::unknown()
    );
    assert_eq!(variance(&[3.0]), None);
    let json = serde_json::to_string(&Estimate::point(3.0)).unwrap();
    assert_eq!(json, r#"{"value":3.0,"low":null,"high":null}"#);
}

#[test]
fn replications_all_alike_have_an_interval_without_width() {
    assert_eq!(
        mean_interval(&[0.1; 7], 0.95),
        Estimate::interval(0.1, 0.1, 0.1)
    );
}

/// 2^52 and twice the next number: their mean cannot be written, and their variance is 1/3 all the same.
#[test]
fn the_rounding_of_the_mean_is_put_right() {
    let offset = 2f64.powi(52);
    close(
        variance(&[offset, offset + 1.0, offset + 1.0]).expect("a variance"),
        1.0 / 3.0,
        1e-12,
    );
}

/// Hyndman & Fan, The American Statistician 50 (1996), definition 7: the k-th of n order statistics
/// stands at (k - 1) / (n - 1), straight lines between.
#[test]
fn order_statistics_stand_at_their_places() {
    let xs = [9.0, 1.0, 4.0, 2.0, 7.0];
    for (k, x) in [1.0, 2.0, 4.0, 7.0, 9.0].into_iter().enumerate() {
        close(quantile(&xs, k as f64 / 4.0).unwrap(), x, 1e-12);
    }
    close(quantile(&xs, 0.30).unwrap(), 2.4, 1e-12);
    close(quantile(&[1.0, 2.0, 3.0, 4.0], 0.25).unwrap(), 1.75, 1e-12);
}

#[test]
fn a_quantile_needs_data_and_a_share() {
    assert_eq!(quantile(&[], 0.5), None);
    assert_eq!(quantile(&[1.0, f64::NAN], 0.5), None);
    assert_eq!(quantile(&[1.0], 1.1), None);
    assert_eq!(quantile(&[1.0], f64::NAN), None);
    assert_eq!(quantile(&[2.0], 0.0), Some(2.0));
}

/// A jackknife by hand: the mean again and again with one replication left out.
#[test]
fn a_weighted_mean_has_the_jackknifes_spread() {
    let values: [(f64, f64); 5] = [(1.0, 2.0), (3.0, 1.0), (2.0, 4.0), (5.0, 0.5), (2.5, 3.0)];
    let mean = |left_out: usize| {
        let kept = values
            .iter()
            .enumerate()
            .filter(|(k, _)| *k != left_out)
            .map(|(_, pair)| pair);
        let (sum, weight) = kept.fold((0.0, 0.0), |(sum, weight), (v, w)| {
            (sum + v * w, weight + w)
        });
        sum / weight
    };
    let whole = mean(usize::MAX);
    let variance = (0..5).map(|k| (mean(k) - whole).powi(2)).sum::<f64>() * 4.0 / 5.0;
    let weights = values.map(|(_, w)| w);
    let alike = weights.iter().sum::<f64>().powi(2) / weights.iter().map(|w| w * w).sum::<f64>();
    let half = student_critical(0.95, alike - 1.0).expect("degrees of freedom") * variance.sqrt();
    let estimate = weighted_mean_interval(&values, 0.95);
    for (found, expected) in [
        (estimate.value, whole),
        (estimate.low, whole - half),
        (estimate.high, whole + half),
    ] {
        assert!(
            (found.expect("an end") - expected).abs() < 1e-12,
            "{found:?} is not {expected}"
        );
    }
}

#[test]
fn equal_weights_weigh_nothing_and_no_weight_has_no_value() {
    let values = [1.0, 4.0, 2.0, 8.0];
    let weighed = values.map(|value| (value, 0.3));
    assert_eq!(
        weighted_mean_interval(&weighed, 0.95),
        mean_interval(&values, 0.95)
    );
    assert_eq!(
        weighted_mean_interval(&[(1.0, 0.0)], 0.95),
        Estimate::unknown()
    );
    assert_eq!(
        weighted_mean_interval(&[(1.0, 2.0), (7.0, 0.0)], 0.95),
        Estimate::point(1.0)
    );
}

/// Twenty runs that agree do not show what one in ten would: 12 % of the time none of twenty differs.
#[test]
fn replications_all_alike_leave_room_for_others() {
    let alike = with_unseen_runs(&[(12.0, 1.0); 20], (11.0, 13.0), 0.95);
    assert!(alike.high.expect("an end") > 12.1 && alike.low.expect("an end") < 11.9);
    assert!(alike.high.expect("an end") < 12.3);
    assert_eq!(alike.value, Some(12.0));
    assert_eq!(
        with_unseen_runs(&[(12.0, 1.0)], (11.0, 13.0), 0.95),
        Estimate::point(12.0)
    );
}

/// Two replications at the middle of a wide spread would make it seem smaller.
#[test]
fn unseen_replications_never_narrow_an_interval() {
    let values: Vec<(f64, f64)> = (0..20)
        .map(|k| (f64::from(k * k), 1.0 + f64::from(k % 3)))
        .collect();
    let seen = weighted_mean_interval(&values, 0.95);
    let mean = seen.value.expect("a mean");
    let wider = with_unseen_runs(&values, (mean - 1.0, mean + 1.0), 0.95);
    assert!(
        wider.low <= seen.low && wider.high >= seen.high,
        "{wider:?} {seen:?}"
    );
}
