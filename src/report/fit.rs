//! What `fit` found, as JSON.

use serde_json::{Map, Value, json};

use crate::machine::law::TimeLaw;
use crate::machine::write_law;
use crate::stats::Estimate;
use crate::stats::readings::Readings;
use crate::study::fit::TriedLaw;
use crate::study::rolling::LeverArm;

/// The law taken for one element, and the laws tried.
pub struct Fitted<'a> {
    /// The element.
    pub element: &'a str,
    /// Its readings.
    pub readings: &'a Readings,
    /// The laws, most plausible first.
    pub tried: &'a [TriedLaw],
    /// The law taken.
    pub taken: Option<&'a TimeLaw>,
}

/// The fits of every element as one JSON object.
pub fn elements_json(seed: u64, all: &[Fitted]) -> String {
    let elements: Map<String, Value> = all
        .iter()
        .map(|one| (one.element.to_owned(), element(one)))
        .collect();
    let error_s = all.first().map(|one| one.readings.error_s);
    pretty(&json!({ "seed": seed, "reading_error_s": error_s, "elements": elements }))
}

fn element(of: &Fitted) -> Value {
    json!({
        "readings": of.readings.count(),
        "cut_short": of.readings.over.len(),
        "laws": of.tried.iter().map(law).collect::<Vec<_>>(),
        "taken": of.taken.map(write_law::law),
    })
}

fn law(tried: &TriedLaw) -> Value {
    json!({
        "law": tried.fit.name,
        "time": write_law::law(&tried.fit.law),
        "log_likelihood": tried.fit.log_likelihood,
        "aicc": tried.fit.aicc,
        "p": tried.p,
        "refused": tried.refused(),
    })
}

/// The lever arm of rolling resistance as one JSON object.
pub fn lever_json(found: &LeverArm) -> String {
    let lever = Estimate::from_parts(found.lever_m.value, found.lever_m.low, found.lever_m.high);
    pretty(&json!({
        "rolling_resistance_m": lever,
        "rolls": found.fitted_s.len(),
        "fitted_s": found.fitted_s,
        "per_tenth_degree_m": found.per_tenth_degree_m,
        "assume": lever.value.map(write_law::millimetres),
    }))
}

fn pretty(value: &Value) -> String {
    serde_json::to_string_pretty(value).unwrap_or_default()
}
