//! Ranking and selection: the best of several designs, with a stated chance of being right.
//!
//! Larger is better throughout; turn the sign where less is better. "Right" means that the design
//! chosen is the best whenever the best leads by at least `indifference`.

use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};
use statrs::function::gamma::ln_gamma;

use super::describe;
use super::root::rising_root;
use super::significance::{normal_cdf, valid};

/// What the Kim-Nelson procedure is asked to guarantee.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KimNelson {
    /// Runs of every design before the first comparison, 2 or more; 10 to 30 serve well.
    pub first_stage: u64,
    /// Largest probability of a wrong choice, between 0 and 1.
    pub error: f64,
    /// The smallest lead worth finding, above 0, in the unit of the figure.
    pub indifference: f64,
    /// The budget: runs of a design at which the race is broken off undecided.
    pub most_runs: u64,
}

/// What the Kim-Nelson procedure chose.
#[derive(Clone, Debug, PartialEq)]
pub struct Selection {
    /// Index of the design chosen; `None` where the budget was spent first.
    pub best: Option<usize>,
    /// Designs not ruled out, in order; the best alone once it is chosen.
    pub racing: Vec<usize>,
    /// Runs spent on each design.
    pub runs: Vec<u64>,
}

impl KimNelson {
    /// The constant h^2 for `designs` designs: 2 eta (n0 - 1), eta = ((2 error / (k - 1))^(-2 / (n0 - 1)) - 1) / 2.
    ///
    /// `None` under two designs or two first runs, or with an error outside 0 to 1.
    pub fn h_squared(&self, designs: usize) -> Option<f64> {
        if designs < 2 || self.first_stage < 2 {
            return None;
        }
        let freedom = self.first_stage as f64 - 1.0;
        let share = 2.0 * valid(self.error)? / (designs as f64 - 1.0);
        let eta = (libm::pow(share, -2.0 / freedom) - 1.0) / 2.0;
        Some(2.0 * eta * freedom)
    }

    /// How far the sum of one design may lag behind another's after `runs` runs and stay in,
    /// in the unit of the figure; `variance` is that of their paired difference.
    pub fn continuation_width(&self, h_squared: f64, variance: f64, runs: u64) -> f64 {
        let delta = self.indifference;
        (delta / 2.0 * (h_squared * variance / (delta * delta) - runs as f64)).max(0.0)
    }

    /// Finds the best of `designs` designs, running those still in the race one run at a time.
    ///
    /// `draw(design, run)` gives the figure of a run, counted from 0; designs may share their luck run
    /// by run, which saves runs. It is asked for run after run of one design, then of the next, over
    /// the first stage, and afterwards for one run of each design in the race. `None` for settings out of range or a figure that is not finite.
    ///
    /// Source: Kim & Nelson, "A fully sequential procedure for indifference-zone selection in
    /// simulation", ACM TOMACS 11(3) (2001), with c = 1.
    pub fn select(&self, designs: usize, mut draw: impl FnMut(usize, u64) -> f64) -> Option<Selection> {
        let h_squared = self.h_squared(designs).filter(|_| self.indifference > 0.0)?;
        let first: Vec<Vec<f64>> =
            (0..designs).map(|d| (0..self.first_stage).map(|run| draw(d, run)).collect()).collect();
        let variances = difference_variances(&first)?;
        let mut sums: Vec<f64> = first.iter().map(|row| row.iter().sum()).collect();
        let mut runs = vec![self.first_stage; designs];
        let mut racing: Vec<usize> = (0..designs).collect();
        let mut done = self.first_stage;
        loop {
            racing = self.survivors(&racing, &sums, |i, l| self.continuation_width(h_squared, variances[i][l], done));
            // The widths shrink to 0, so that the race ends at the latest when only equals are left.
            let widest = self.widest(&racing, &variances, h_squared, done);
            if racing.len() == 1 || widest == 0.0 {
                racing.truncate(1);
                let best = racing.first().copied();
                return Some(Selection { best, racing, runs });
            }
            if done >= self.most_runs {
                let best = None;
                return Some(Selection { best, racing, runs });
            }
            for design in &racing {
                sums[*design] += Some(draw(*design, done)).filter(|x| x.is_finite())?;
                runs[*design] += 1;
            }
            done += 1;
        }
    }

    fn survivors(&self, racing: &[usize], sums: &[f64], width: impl Fn(usize, usize) -> f64) -> Vec<usize> {
        let stays = |i: usize| {
            let mut others = racing.iter().filter(|l| **l != i);
            others.all(|l| sums[i] >= sums[*l] - width(i, *l))
        };
        racing.iter().copied().filter(|i| stays(*i)).collect()
    }

    fn widest(&self, racing: &[usize], variances: &[Vec<f64>], h_squared: f64, done: u64) -> f64 {
        let pairs = racing.iter().flat_map(|i| racing.iter().map(move |l| (*i, *l)));
        pairs.map(|(i, l)| self.continuation_width(h_squared, variances[i][l], done)).fold(0.0, f64::max)
    }
}

fn difference_variances(rows: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let variance = |a: &[f64], b: &[f64]| {
        let differences: Vec<f64> = a.iter().zip(b).map(|(x, y)| x - y).collect();
        describe::variance(&differences)
    };
    let row = |a: &Vec<f64>| rows.iter().map(|b| variance(a, b)).collect();
    rows.iter().map(row).collect()
}

/// Runs that Rinott's procedure asks of a design in all: ceil(h^2 s^2 / indifference^2), and no fewer
/// than the first stage; `sd` is the design's own over that stage.
pub fn rinott_runs(h: f64, sd: f64, indifference: f64, first_stage: u64) -> u64 {
    let ratio = h * sd / indifference;
    // A cast of a float to an integer saturates, so that no input can overflow it.
    ((ratio * ratio).ceil() as u64).max(first_stage)
}

/// Rinott's constant h: with it, the best of `designs` independent designs is chosen with probability
/// `confidence` at least.
///
/// `None` under two designs or two first runs, or unless 1 / designs < confidence < 1.
/// Solves E[ E[ Phi(h / sqrt(v (1/X + 1/Y))) | Y ]^(k - 1) ] = confidence for X, Y chi-square with
/// v = n0 - 1 degrees of freedom, by the trapezoidal rule over ln x and bisection.
///
/// Source: Rinott, "On two-stage selection procedures and related probability-inequalities",
/// Communications in Statistics A7 (1978).
pub fn rinott_h(designs: usize, first_stage: u64, confidence: f64) -> Option<f64> {
    let freedom = selection_freedom(designs, first_stage, confidence)?;
    let nodes = chi_square_nodes(freedom);
    let exponent = designs as f64 - 1.0;
    let probability = |h: f64| -> f64 {
        let beaten = |y: f64| -> f64 {
            let terms = nodes.iter().map(|(x, weight)| weight * normal_cdf(h / (freedom * (1.0 / x + 1.0 / y)).sqrt()));
            terms.sum()
        };
        let terms = nodes.iter().map(|(y, weight)| weight * libm::pow(beaten(*y), exponent));
        terms.sum()
    };
    rising_root(probability, confidence)
}

/// Dudewicz and Dalal's constant h: as Rinott's, for their weighted means; equal for two designs, else smaller.
///
/// `None` as for [`rinott_h`]. Solves E[ F(T + h)^(k - 1) ] = confidence for Student's T, F its
/// distribution function with n0 - 1 degrees of freedom.
///
/// Source: Dudewicz & Dalal, "Allocation of observations in ranking and selection with unequal
/// variances", Sankhya B37 (1975).
pub fn dudewicz_dalal_h(designs: usize, first_stage: u64, confidence: f64) -> Option<f64> {
    let freedom = selection_freedom(designs, first_stage, confidence)?;
    let student = StudentsT::new(0.0, 1.0, freedom).ok()?;
    let exponent = designs as f64 - 1.0;
    // t = sinh u: the tails of Student's density then fall exponentially.
    let step = 0.05;
    let reach = (40.0 / freedom + 6.0) / step;
    let nodes: Vec<(f64, f64)> = (-reach as i32..=reach as i32)
        .map(|i| step * f64::from(i))
        .map(|u| (libm::sinh(u), libm::cosh(u)))
        .map(|(t, stretch)| (t, step * stretch * student.pdf(t)))
        .collect();
    let probability = |h: f64| -> f64 {
        let terms = nodes.iter().map(|(t, weight)| weight * libm::pow(student.cdf(t + h), exponent));
        terms.sum()
    };
    rising_root(probability, confidence)
}

fn selection_freedom(designs: usize, first_stage: u64, confidence: f64) -> Option<f64> {
    let better_than_chance = 1.0 / (designs as f64) < valid(confidence)?;
    (designs >= 2 && first_stage >= 2 && better_than_chance).then_some(first_stage as f64 - 1.0)
}

/// Places x and weights of the chi-square density, evenly spaced in ln x and out to where it vanishes.
fn chi_square_nodes(freedom: f64) -> Vec<(f64, f64)> {
    let half = freedom / 2.0;
    let log_scale = half * std::f64::consts::LN_2 + ln_gamma(half);
    // The density of ln x has a spread of about sqrt(2 / freedom) around its peak at ln freedom.
    let step = 0.2 * (2.0 / freedom).sqrt().min(1.0);
    let weight = |i: i32| {
        let u = libm::log(freedom) + step * f64::from(i);
        let x = libm::exp(u);
        (x, step * libm::exp(half * u - x / 2.0 - log_scale))
    };
    let matters = |node: &(f64, f64)| node.1 > 1e-17;
    let below = (1..).map(|i| weight(-i)).take_while(matters);
    let above = (0..).map(weight).take_while(matters);
    below.chain(above).collect()
}
