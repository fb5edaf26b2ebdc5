//! What runs show against what is good enough, as JSON.

use serde::Serialize;

use crate::circuit::Circuit;
use crate::findings::RunTotals;
use crate::findings::verdict_text::example;
use crate::findings::workable::{Criterion, Judgement, Verdict};
use crate::stats::Estimate;

/// Whether it works, and how it stands with each criterion.
#[derive(Serialize)]
pub struct JudgementJson<'a> {
    verdict: Verdict,
    criteria: Vec<ResultJson<'a>>,
}

#[derive(Serialize)]
struct ResultJson<'a> {
    criterion: &'static str,
    element: Option<&'a str>,
    verdict: Verdict,
    figure: Estimate,
    limit: f64,
    default: bool,
    example_run: Option<u64>,
}

impl<'a> JudgementJson<'a> {
    /// Of `judgement`, with a run to look at for each criterion that is broken.
    pub fn new(circuit: &'a Circuit, judgement: &Judgement, totals: &RunTotals) -> Self {
        let mut criteria = Vec::new();
        for result in &judgement.results {
            let (criterion, element) = named(circuit, result.criterion);
            let broken = result.verdict == Verdict::Broken;
            criteria.push(ResultJson {
                criterion,
                element,
                verdict: result.verdict,
                figure: result.figure,
                limit: result.limit,
                default: result.by_default,
                example_run: example(result, totals).filter(|_| broken),
            });
        }
        JudgementJson {
            verdict: judgement.verdict(),
            criteria,
        }
    }

    /// The same with another verdict: of what was never run.
    pub fn with_verdict(self, verdict: Verdict) -> Self {
        JudgementJson { verdict, ..self }
    }
}

fn named(circuit: &Circuit, criterion: Criterion) -> (&'static str, Option<&str>) {
    let (name, element) = match criterion {
        Criterion::Gridlock => ("gridlock", None),
        Criterion::RanDry => ("ran-dry", None),
        Criterion::Jams => ("jams", None),
        Criterion::Spills => ("spills", None),
        Criterion::PouredIn => ("poured-in", None),
        Criterion::Fill(n) => ("fill", Some(n)),
        Criterion::Backlog(n) => ("backlog", Some(n)),
    };
    (name, element.map(|n| circuit.nodes[n].name.as_str()))
}
