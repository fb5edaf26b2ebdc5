//! Exact mean-value analysis of closed networks with one kind of customer: Reiser and Lavenberg, "Mean-value analysis of
//! closed multichain queueing networks", Journal of the ACM 27(2), 313-322 (1980).

/// A station: mean service time a visit and visits a cycle.
#[derive(Clone, Copy, Debug)]
pub struct Station {
    pub service_s: f64,
    pub visits: f64,
}

/// What the analysis gives.
#[derive(Clone, Debug)]
pub struct Solution {
    /// Cycles a second.
    pub throughput: f64,
    /// Mean time a visit, by station, seconds.
    pub stay_s: Vec<f64>,
    /// Mean number of customers, by station.
    pub held: Vec<f64>,
}

/// `customers` going round `stations`, with `delay_s` a cycle spent where nobody waits.
pub fn solve(stations: &[Station], delay_s: f64, customers: u32) -> Solution {
    let mut held = vec![0.0; stations.len()];
    let mut solution = Solution {
        throughput: 0.0,
        stay_s: held.clone(),
        held: held.clone(),
    };
    for n in 1..=customers {
        let stay_s: Vec<f64> = stations
            .iter()
            .zip(&held)
            .map(|(s, held)| s.service_s * (1.0 + held))
            .collect();
        let response: f64 = stations
            .iter()
            .zip(&stay_s)
            .map(|(s, stay)| s.visits * stay)
            .sum();
        let throughput = f64::from(n) / (response + delay_s);
        held = stations
            .iter()
            .zip(&stay_s)
            .map(|(s, stay)| throughput * s.visits * stay)
            .collect();
        solution = Solution {
            throughput,
            stay_s,
            held: held.clone(),
        };
    }
    solution
}
