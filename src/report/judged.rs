//! What runs show against what is good enough, as JSON.

use serde::Serialize;

use crate::circuit::Circuit;
use crate::findings::Tally;
use crate::findings::judge::{Criterion, Judgement, Ruling, Verdict};
use crate::findings::rulings::example;
use crate::stats::Estimate;

/// Whether it works, and how it stands with each criterion.
#[derive(Serialize)]
pub struct JudgementJson<'a> {
    verdict: Verdict,
    criteria: Vec<RulingJson<'a>>,
}

#[derive(Serialize)]
struct RulingJson<'a> {
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
    pub fn new(circuit: &'a Circuit, judgement: &Judgement, tally: &Tally) -> Self {
        let ruling = |ruling: &Ruling| {
            let (criterion, element) = named(circuit, ruling.criterion);
            let broken = ruling.verdict == Verdict::Broken;
            RulingJson {
                criterion,
                element,
                verdict: ruling.verdict,
                figure: ruling.figure,
                limit: ruling.limit,
                default: ruling.by_default,
                example_run: example(ruling, tally).filter(|_| broken),
            }
        };
        JudgementJson { verdict: judgement.verdict(), criteria: judgement.rulings.iter().map(ruling).collect() }
    }
}

fn named(circuit: &Circuit, criterion: Criterion) -> (&'static str, Option<&str>) {
    let name = |n: usize| Some(circuit.nodes[n].name.as_str());
    match criterion {
        Criterion::Gridlock => ("gridlock", None),
        Criterion::RanDry => ("ran-dry", None),
        Criterion::Jams => ("jams", None),
        Criterion::Spills => ("spills", None),
        Criterion::PouredIn => ("poured-in", None),
        Criterion::Fill(n) => ("fill", name(n)),
        Criterion::Backlog(n) => ("backlog", name(n)),
    }
}
