//! The JSON of `diagnose`.

use serde::Serialize;

use super::diagnose::DiagnosisReport;
use crate::circuit::draw::seconds;
use crate::study::diagnose::file_change::{FileChange, changes};

/// The answer as one JSON object.
pub(super) fn json(of: &DiagnosisReport) -> String {
    let causes = of.found.causes.iter().map(|cause| CauseJson {
        cause: of.name(cause.hypothesis),
        share: cause.share,
        size: cause.size.map(|size| SizeJson {
            value: size.middle,
            low: size.low,
            high: size.high,
        }),
        file: cause.size.map_or(Vec::new(), |size| {
            changes(of.hypotheses, cause.hypothesis, size.middle)
        }),
    });
    let next = of.found.next.iter().map(|step| StepJson {
        step: of.step(&step.step),
        bits: step.bits,
    });
    let json = DiagnosisJson {
        format: 1,
        title: &of.hypotheses.machine().title,
        seed: of.seed,
        draws: of.found.draws,
        hours: seconds(of.watched) / 3600.0,
        seen: of
            .seen
            .iter()
            .map(|one| one.measure.result(&of.hypotheses.circuit, one.value))
            .collect(),
        explained: of.explained(),
        fits: of.found.fits,
        causes: causes.collect(),
        unknown_bits: of.found.unknown_bits,
        next: next.collect(),
    };
    serde_json::to_string_pretty(&json).unwrap_or_default()
}

#[derive(Serialize)]
struct DiagnosisJson<'a> {
    format: u32,
    title: &'a str,
    seed: u64,
    draws: usize,
    hours: f64,
    seen: Vec<String>,
    explained: bool,
    fits: f64,
    causes: Vec<CauseJson>,
    unknown_bits: f64,
    next: Vec<StepJson>,
}

#[derive(Serialize)]
struct CauseJson {
    cause: String,
    share: f64,
    size: Option<SizeJson>,
    file: Vec<FileChange>,
}

#[derive(Serialize)]
struct SizeJson {
    value: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct StepJson {
    step: String,
    bits: f64,
}
