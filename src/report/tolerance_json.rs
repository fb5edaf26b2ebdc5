//! The JSON of `tolerance`.

use serde::Serialize;

use super::tolerance::{ToleranceStudy, WrongCount};
use crate::circuit::draw::seconds;
use crate::machine::build_error::BuildErrorLaw;
use crate::stats::Estimate;
use crate::study::interpolated::HeldOut;
use crate::study::tolerance::importance::Importance;
use crate::study::tolerance::share;

/// All that is known of a plan's makers.
#[derive(Serialize)]
pub(super) struct ToleranceJson {
    format: u32,
    title: String,
    marbles: u32,
    rpm: Option<f64>,
    seed: u64,
    hours: f64,
    runs_each: u32,
    makers: usize,
    complete: bool,
    works: Estimate,
    wrong: Vec<WrongCount>,
    /// Share of makers for whom the answer turns with other runs alone; null where it was not done.
    by_chance: Option<Estimate>,
    ranked_makers: Option<u32>,
    errors: Vec<ErrorJson>,
    exactness: Option<Vec<ExactnessJson>>,
    interpolation: Option<InterpolationJson>,
    each: Vec<MakerJson>,
}

/// An error; SI units, radians.
#[derive(Serialize)]
struct ErrorJson {
    key: String,
    name: String,
    standard_deviation: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    /// Null where it was not done.
    turns: Option<Estimate>,
    first_order: Option<Estimate>,
    total: Option<Estimate>,
}

#[derive(Serialize)]
struct ExactnessJson {
    errors: Vec<String>,
    /// Null where even exact they are not enough.
    scale: Option<f64>,
    works: Estimate,
}

#[derive(Serialize)]
struct InterpolationJson {
    looks: usize,
    held_out: Vec<HeldOutJson>,
}

#[derive(Serialize)]
struct HeldOutJson {
    element: String,
    #[serde(flatten)]
    held_out: HeldOut,
}

#[derive(Serialize)]
struct MakerJson {
    works: bool,
    first_run: u32,
    amounts: Vec<f64>,
}

impl ToleranceJson {
    pub(super) fn of(study: &ToleranceStudy) -> ToleranceJson {
        let (plans, found) = (study.plans, study.found);
        let effort = plans.effort();
        let ranking = found.ranking.as_ref();
        let makers = plans.makers();
        let mut each = Vec::new();
        for (maker, outcome) in (0u32..).zip(&found.outcomes) {
            each.push(MakerJson {
                works: outcome.works(),
                first_run: plans.first_run(maker, makers.redrawn),
                amounts: plans.amounts(maker, &makers),
            });
        }
        ToleranceJson {
            format: 1,
            title: study.plan().title.clone(),
            marbles: study.plan().marbles.count,
            rpm: study.rpm,
            seed: effort.study.seed,
            hours: seconds(effort.study.horizon) / 3600.0,
            runs_each: effort.runs,
            makers: found.outcomes.len(),
            complete: found.is_complete(),
            works: share(&found.outcomes),
            wrong: study.wrongs(),
            by_chance: ranking.map(|ranking| ranking.by_chance),
            ranked_makers: ranking.map(|ranking| ranking.makers),
            errors: errors(study),
            exactness: exactness(study),
            interpolation: interpolation(study),
            each,
        }
    }

    pub(super) fn text(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// In the order in which they are drawn, which is that of every maker's amounts.
fn errors(study: &ToleranceStudy) -> Vec<ErrorJson> {
    let mut all = Vec::new();
    for (n, error) in study.plans.errors.iter().enumerate() {
        let ranked = study
            .found
            .ranking
            .iter()
            .flat_map(|ranking| &ranking.errors);
        let found: Option<&Importance> = ranked.into_iter().find(|one| one.error == n);
        let (standard_deviation, low, high) = match error.law {
            BuildErrorLaw::Normal { sd } => (Some(sd), None, None),
            BuildErrorLaw::Uniform { low, high, .. } => (None, Some(low), Some(high)),
        };
        all.push(ErrorJson {
            key: error.key.clone(),
            name: error.name.clone(),
            standard_deviation,
            low,
            high,
            turns: found.map(|one| one.turns),
            first_order: found.map(|one| one.indices.first),
            total: found.map(|one| one.indices.total),
        });
    }
    all
}

fn exactness(study: &ToleranceStudy) -> Option<Vec<ExactnessJson>> {
    let tried = study.found.exactness.as_ref()?;
    let mut all = Vec::new();
    for one in tried {
        let keys = one
            .errors
            .iter()
            .map(|&n| study.plans.errors[n].key.clone());
        all.push(ExactnessJson {
            errors: keys.collect(),
            scale: one.scale,
            works: one.share,
        });
    }
    Some(all)
}

fn interpolation(study: &ToleranceStudy) -> Option<InterpolationJson> {
    let table = &study.plans.table;
    let one = |held_out: HeldOut| HeldOutJson {
        element: study.plan().elements[held_out.element].name.clone(),
        held_out,
    };
    table.interpolates().then(|| InterpolationJson {
        looks: table.looks(),
        held_out: table.held_out().into_iter().map(one).collect(),
    })
}
