//! The longest run on one way: how long a fair splitter may send marble after marble the same way.
//!
//! Source: Schilling, "The longest run of heads", The College Mathematics Journal 21, 196-207
//! (1990), whose recursion for coins is the case of two equal shares; the tests hold it against
//! every sequence of a small number of trials.

/// Probability that in `trials` independent trials no way is taken more than `longest` times on end.
///
/// `shares` holds each way's probability; two halves are a fair peg. `None` unless the shares are
/// probabilities that add up to 1.
///
/// With s_w(n) = all(n) - end_w(n) the probability that n good trials do not end on way w, a run of
/// j on w after them gives end_w(n) = sum over j = 1..longest of p_w^j s_w(n - j), which differs from
/// the term before it by one step in and one step out.
pub fn longest_run_at_most(trials: usize, longest: usize, shares: &[f64]) -> Option<f64> {
    if !are_shares(shares) {
        return None;
    }
    let too_long: Vec<f64> = shares.iter().map(|p| libm::pow(*p, longest as f64 + 1.0)).collect();
    // all[n] and end[n][way] for n good trials; none at all end on no way.
    let mut all = vec![1.0];
    let mut end = vec![vec![0.0; shares.len()]];
    for n in 1..=trials {
        let ends: Vec<f64> = (0..shares.len())
            .map(|way| {
                let broken = match n.checked_sub(longest + 1) {
                    Some(before) => too_long[way] * (all[before] - end[before][way]),
                    None => 0.0,
                };
                (shares[way] * all[n - 1] - broken).max(0.0)
            })
            .collect();
        all.push(ends.iter().sum());
        end.push(ends);
    }
    all.pop()
}

/// Expected longest run on one way in `trials` independent trials; `None` as for [`longest_run_at_most`].
pub fn expected_longest_run(trials: usize, shares: &[f64]) -> Option<f64> {
    let mut expected = 0.0;
    for longest in 0..trials {
        let longer = 1.0 - longest_run_at_most(trials, longest, shares)?;
        // Rounding of the recursion, and a tail too small to move the sum.
        if longer < 1e-12 {
            break;
        }
        expected += longer;
    }
    Some(expected)
}

/// The longest run of equal neighbours in what was seen, 0 for nothing.
pub fn longest_run<T: PartialEq>(ways: &[T]) -> usize {
    ways.chunk_by(|a, b| a == b).map(<[T]>::len).max().unwrap_or(0)
}

fn are_shares(shares: &[f64]) -> bool {
    let probabilities = shares.iter().all(|p| (0.0..=1.0).contains(p));
    probabilities && (shares.iter().sum::<f64>() - 1.0).abs() < 1e-9
}
