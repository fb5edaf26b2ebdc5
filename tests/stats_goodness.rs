//! Fit tests and the law of the longest run.

mod stats_support;

use marblewright::stats::goodness::{anderson_darling, chi_square_equal_shares, chi_square_shares, ks_p, ks_statistic};
use marblewright::stats::longest_run::{expected_longest_run, longest_run, longest_run_at_most};
use stats_support::{close, draws, study, uniform};

const SAMPLE: [f64; 10] = [0.621, 0.503, 0.203, 0.477, 0.710, 0.581, 0.329, 0.480, 0.554, 0.382];

/// Ten numbers against the uniform law; recomputed with scipy 1.17.1 (`kstest`, exact).
#[test]
fn kolmogorov_smirnov_of_ten_numbers() {
    let d = ks_statistic(&SAMPLE, |x| x).unwrap();
    close(d, 0.29, 1e-14);
    close(ks_p(d, 10).unwrap(), 0.306734906, 5e-10);
}

/// By hand: the gap may lie under the step, over it, or at the last of them.
#[test]
fn the_largest_gap_on_either_side_of_a_step() {
    let gap = |xs: &[f64]| ks_statistic(xs, |x| x).unwrap();
    close(gap(&[0.1, 0.95]), 0.45, 1e-14);
    close(gap(&[0.1, 0.2, 0.3]), 0.7, 1e-14);
    close(gap(&[0.2, 0.5, 0.9, 0.95]), 0.4, 1e-14);
}

/// Exact 5 % critical values; recomputed with scipy 1.17.1 (`kstwo`).
#[test]
fn kolmogorov_smirnov_critical_values() {
    let table = [(5, 0.563275), (10, 0.409246), (20, 0.294075), (30, 0.241703), (50, 0.188406), (100, 0.134028)];
    for (n, d) in table {
        // p falls by about 4 n d p = 0.27 sqrt(n) per unit of d, and d is rounded to six digits.
        close(ks_p(d, n).unwrap(), 0.05, 2e-7 * (n as f64).sqrt());
    }
}

/// Kolmogorov's limit; its critical values recomputed with scipy 1.17.1.
#[test]
fn kolmogorov_smirnov_in_large_samples() {
    close(ks_p(1.358098639e-3, 1_000_000).unwrap(), 0.05, 1e-9);
    close(ks_p(1.627623612e-3, 1_000_000).unwrap(), 0.01, 1e-9);
    // The exact law comes near its limit at the rate 1/sqrt(n).
    close(ks_p(1.358098639 / 4000_f64.sqrt(), 4000).unwrap(), 0.05, 0.002);
}

/// One observation: the gap is max(u, 1 - u), so P(gap >= d) = 2 (1 - d). For n of them P(gap < d) =
/// n! (2 d - 1/n)^n where 1/(2n) <= d <= 1/n (Kolmogorov's law in its first piece).
#[test]
fn kolmogorov_smirnov_in_closed_form() {
    for d in [0.5, 0.6, 0.75, 0.99, 1.0] {
        close(ks_p(d, 1).unwrap(), 2.0 * (1.0 - d), 1e-13);
    }
    for n in 2..=12_usize {
        let d = 0.8 / n as f64;
        let factorial: f64 = (1..=n).map(|i| i as f64).product();
        let under = factorial * libm::pow(2.0 * d - 1.0 / n as f64, n as f64);
        close(ks_p(d, n).unwrap(), 1.0 - under, 1e-12);
    }
}

#[test]
fn p_values_are_evenly_spread_where_the_law_is_true() {
    let p_value = |number: u64| {
        let mut rng = study(8, number);
        ks_p(ks_statistic(&draws(12, || uniform(&mut rng)), |x| x).unwrap(), 12).unwrap()
    };
    let p_values: Vec<f64> = (0..2000).map(p_value).collect();
    // The 1 % critical gap of 2,000 numbers.
    assert!(ks_statistic(&p_values, |p| p).unwrap() < 1.6276 / 2000_f64.sqrt());
}

/// Case 0, a law known in full: recomputed with numpy.
#[test]
fn anderson_darling_of_ten_numbers() {
    close(anderson_darling(&SAMPLE, |x| x).unwrap(), 1.389162209, 5e-10);
    assert_eq!(anderson_darling(&[0.0, 0.5], |x| x), None);
    assert_eq!(anderson_darling(&[], |x| x), None);
}

#[test]
fn gaps_that_cannot_be() {
    assert_eq!(ks_p(0.3, 0), None);
    assert_eq!(ks_p(1.1, 5), None);
    assert_eq!(ks_p(0.0, 5), Some(1.0));
    assert_eq!(ks_statistic(&[], |x| x), None);
    assert_eq!(ks_statistic(&[f64::NAN], |_| 0.5), None);
    assert!(ks_p(0.9, 4999).unwrap() < 1e-100);
}

/// Mendel's peas, 315 : 108 : 101 : 32 against 9 : 3 : 3 : 1, chi-square 0.470024 with 3 degrees of
/// freedom, by hand: 2.25^2/312.75 + 3.75^2/104.25 + 3.25^2/104.25 + 2.75^2/34.75.
#[test]
fn counts_against_shares() {
    let test = chi_square_shares(&[315, 108, 101, 32], &[9.0, 3.0, 3.0, 1.0]).unwrap();
    close(test.statistic, 0.470024, 5e-7);
    assert_eq!(test.degrees_of_freedom, 3.0);
    // Three degrees of freedom in closed form: 2 (1 - Phi(s)) + s sqrt(2 / pi) e^(-x / 2), s = sqrt(x).
    let s = test.statistic.sqrt();
    let density = (2.0 / std::f64::consts::PI).sqrt() * libm::exp(-test.statistic / 2.0);
    close(test.p, libm::erfc(s / 2_f64.sqrt()) + s * density, 1e-12);
}

/// Two ways: (a - b)^2 / (a + b), the square of the normal score.
#[test]
fn equal_shares() {
    let test = chi_square_equal_shares(&[130, 120]).unwrap();
    close(test.statistic, 0.4, 1e-14);
    close(test.p, libm::erfc((0.4_f64 / 2.0).sqrt()), 1e-12);
    assert_eq!(chi_square_equal_shares(&[7]), None);
    assert_eq!(chi_square_equal_shares(&[0, 0]), None);
    assert_eq!(chi_square_shares(&[1, 2], &[1.0]), None);
    assert_eq!(chi_square_shares(&[1, 2], &[1.0, 0.0]), None);
    assert_eq!(chi_square_shares(&[1, 2], &[1.0, f64::INFINITY]), None);
}

/// All sequences of `n` ways, as digits to the base of the number of ways.
fn sequences(ways: usize, n: usize) -> impl Iterator<Item = Vec<usize>> {
    let count = ways.pow(n as u32);
    (0..count).map(move |code| (0..n).map(|i| code / ways.pow(i as u32) % ways).collect())
}

/// Every sequence weighed by its probability: what the recursion must give, to rounding.
fn counted(n: usize, longest: usize, shares: &[f64]) -> f64 {
    let kept = sequences(shares.len(), n).filter(|s| longest_run(s) <= longest);
    kept.map(|s| s.iter().map(|way| shares[*way]).product::<f64>()).sum()
}

#[test]
fn the_recursion_is_what_counting_every_sequence_gives() {
    let pegs: [&[f64]; 5] = [&[0.5, 0.5], &[0.3, 0.7], &[0.2, 0.3, 0.5], &[0.25, 0.25, 0.25, 0.25], &[0.0, 1.0]];
    for shares in pegs {
        for n in 0..=8 {
            for longest in 0..=n {
                let recursion = longest_run_at_most(n, longest, shares).unwrap();
                // Up to 65,536 probabilities are added up here, each rounded.
                close(recursion, counted(n, longest, shares), 1e-13);
            }
        }
    }
}

/// Schilling, "The longest run of heads", College Mathematics Journal 21 (1990): A_n(3), the sequences of
/// n tosses without more than three heads on end, is 1, 2, 4, 8, 15, 29, 56, 108, 208 (remembered; it is
/// the sequence each of whose terms is the sum of the four before), and runs of heads or tails in n
/// tosses are runs of heads, one shorter, in n - 1.
#[test]
fn longest_runs_of_a_fair_coin() {
    let mut heads: Vec<f64> = vec![1.0, 2.0, 4.0, 8.0];
    for n in 4..60 {
        heads.push(heads[n - 4..n].iter().sum());
    }
    assert_eq!(heads[..9], [1.0, 2.0, 4.0, 8.0, 15.0, 29.0, 56.0, 108.0, 208.0]);
    for (n, count) in heads.iter().enumerate() {
        let share = count / libm::exp2(n as f64);
        close(longest_run_at_most(n + 1, 4, &[0.5, 0.5]).unwrap(), share, 1e-13);
    }
}

/// In 200 tosses of a fair coin the expected longest run of heads or tails is near log2(200) + 1/3 +
/// 0.577 / ln 2 - 1/2 = 7.31 + ... by the extreme-value approximation; the exact sum must be within 0.05.
#[test]
fn expected_longest_run_of_a_fair_peg() {
    let euler = 0.577_215_664_901_532_9;
    // Runs of heads in 199 tosses, and one: log2(n / 2) + gamma / ln 2 - 1/2 + 1.
    let approximation = libm::log2(199.0 / 2.0) + euler / std::f64::consts::LN_2 + 0.5;
    let exact = expected_longest_run(200, &[0.5, 0.5]).unwrap();
    close(exact, approximation, 0.05);
    let counted: f64 = (0..8).map(|k| 1.0 - counted(8, k, &[0.5, 0.5])).sum();
    close(expected_longest_run(8, &[0.5, 0.5]).unwrap(), counted, 1e-12);
}

#[test]
fn longest_run_seen() {
    assert_eq!(longest_run(&["left", "left", "right", "left"]), 2);
    assert_eq!(longest_run::<u8>(&[]), 0);
    assert_eq!(longest_run_at_most(5, 2, &[0.5, 0.6]), None);
    assert_eq!(longest_run_at_most(5, 2, &[1.5, -0.5]), None);
    assert_eq!(longest_run_at_most(5, 2, &[]), None);
}

/// Marsaglia, Tsang & Wang, J. Stat. Softw. 8(18) (2003): K(2000, 0.04) = 0.99676943191713676985 (from memory). The product
/// of so many factors under one has to be kept from running out of its exponent.
#[test]
fn kolmogorov_smirnov_of_hundreds() {
    close(ks_p(0.04, 2000).expect("a p-value"), 1.0 - 0.996_769_431_917_136_8, 1e-12);
    // Their matrix worked in 60 digits (mpmath 1.4.1); scipy's `kstwo.sf` approximates here and is off by up to 2e-7.
    for (d, n, p) in
        [(0.05, 400, 0.261_212_602_925_651), (0.06, 500, 0.052_434_595_771_508), (0.045, 600, 0.170_729_363_949_204)]
    {
        close(ks_p(d, n).expect("a p-value"), p, 1e-12);
    }
}

/// A gap so small that nearly every large sample has a larger one.
#[test]
fn the_smallest_gaps_prove_nothing() {
    for d in [0.0, 1e-6, 1e-5, 1e-4] {
        assert_eq!(ks_p(d, 1_000_000), Some(1.0), "{d}");
    }
}
