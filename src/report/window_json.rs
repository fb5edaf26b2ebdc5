//! A window as JSON: that of the load in marbles, that of any other key in its unit.

use serde::Serialize;
use serde_json::Number;

use super::judged::JudgementJson;
use super::window::WindowStudy;
use crate::findings::workable::Verdict;
use crate::study::axis::Axis;
use crate::study::found_window::{TriedValue, WindowEdge};

#[derive(Serialize)]
struct WindowJson<'a> {
    format: u32,
    title: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    over: Option<OverJson<'a>>,
    rpm: Option<f64>,
    seed: u64,
    hours: f64,
    runs_each: u32,
    runs: u64,
    from: Number,
    to: Number,
    error: f64,
    least: Option<EdgeJson>,
    most: Option<EdgeJson>,
    holes: Vec<(Number, Number)>,
    unsure: Vec<(Number, Number)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    loads: Option<Vec<LoadJson<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    values: Option<Vec<ValueJson<'a>>>,
}

/// What was searched, where that is not every load; and the ranges that lead the answer.
#[derive(Serialize)]
struct OverJson<'a> {
    key: &'a str,
    unit: &'a str,
    step: Number,
    marbles: u32,
    surely: Option<(Number, Number)>,
    perhaps: Option<(Number, Number)>,
}

#[derive(Serialize)]
struct EdgeJson {
    value: Number,
    low: Number,
    high: Number,
    open: bool,
}

#[derive(Serialize)]
struct LoadJson<'a> {
    marbles: Number,
    runs: usize,
    /// What it is taken to be where its runs, few since it is like those beside it, prove nothing.
    taken_as: Verdict,
    #[serde(flatten)]
    judged: JudgementJson<'a>,
}

#[derive(Serialize)]
struct ValueJson<'a> {
    value: Number,
    runs: usize,
    taken_as: Verdict,
    /// Why there is no such machine; null where there is.
    impossible: Option<&'a str>,
    #[serde(flatten)]
    judged: JudgementJson<'a>,
}

/// The study as JSON.
pub fn json(study: &WindowStudy) -> String {
    let (search, window) = (study.search, study.window);
    let axis = &search.axis;
    let pairs = |verdict| -> Vec<(Number, Number)> {
        let stretches = window.inside(verdict).into_iter();
        stretches
            .map(|(first, last)| (value(axis, first), value(axis, last)))
            .collect()
    };
    let tried = window.tried.iter();
    let every_load = axis.is_every_load();
    let all = WindowJson {
        format: 1,
        title: study.title,
        over: (!every_load).then(|| over(study)),
        rpm: study.rpm,
        seed: search.seed,
        hours: study.hours,
        runs_each: search.runs,
        runs: window.runs,
        from: value(axis, 0),
        to: value(axis, axis.count - 1),
        error: search.error,
        least: window.least.map(|one| edge(axis, one)),
        most: window.most.map(|one| edge(axis, one)),
        holes: pairs(Verdict::Broken),
        unsure: pairs(Verdict::Unsure),
        loads: every_load.then(|| tried.clone().map(|one| load(study, one)).collect()),
        values: (!every_load).then(|| tried.map(|one| any_value(study, one)).collect()),
    };
    serde_json::to_string_pretty(&all).unwrap_or_default()
}

/// A value of the axis, whole numbers without a point.
fn value(axis: &Axis, position: usize) -> Number {
    number(axis.value(position))
}

fn number(value: f64) -> Number {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        return Number::from(value as i64);
    }
    Number::from_f64(value).unwrap_or(Number::from(0))
}

fn over<'a>(study: &WindowStudy<'a>) -> OverJson<'a> {
    let axis = &study.search.axis;
    let edges = study.window.least.zip(study.window.most);
    let range = |first, last| (value(axis, first), value(axis, last));
    OverJson {
        key: &axis.key,
        unit: axis.unit_word(),
        step: number(axis.step),
        marbles: study.circuit.marbles,
        surely: edges.map(|(least, most)| range(least.high, most.low)),
        perhaps: edges.map(|(least, most)| range(least.low, most.high)),
    }
}

fn edge(axis: &Axis, edge: WindowEdge) -> EdgeJson {
    EdgeJson {
        value: value(axis, edge.value),
        low: value(axis, edge.low),
        high: value(axis, edge.high),
        open: edge.open,
    }
}

fn load<'a>(study: &WindowStudy<'a>, one: &'a TriedValue) -> LoadJson<'a> {
    LoadJson {
        marbles: value(&study.search.axis, one.position),
        runs: one.runs.count(),
        taken_as: one.taken_as(),
        judged: judged(study, one),
    }
}

fn any_value<'a>(study: &WindowStudy<'a>, one: &'a TriedValue) -> ValueJson<'a> {
    ValueJson {
        value: value(&study.search.axis, one.position),
        runs: one.runs.count(),
        taken_as: one.taken_as(),
        impossible: one.impossible.as_deref(),
        judged: judged(study, one),
    }
}

fn judged<'a>(study: &WindowStudy<'a>, one: &'a TriedValue) -> JudgementJson<'a> {
    let judged = JudgementJson::new(study.circuit, &one.judgement, &one.runs.totals);
    judged.with_verdict(one.verdict())
}
