//! What runs mean: figures of one run, summaries of many, and sentences a maker would say.

mod bottleneck;
mod brief;
pub mod counterfactual;
mod criteria;
pub mod figures;
pub mod incidents;
pub mod limit;
pub mod looked;
#[cfg(test)]
pub mod made_up;
pub mod over_runs;
mod pouring;
pub mod queue;
pub mod replay;
pub mod runs;
pub mod sentences;
pub mod standstill;
pub mod starved;
pub mod story;
pub mod strikes;
pub mod summary;
pub mod timeline;
pub mod totals;
pub mod trace;
pub mod verdict_text;
pub mod warnings;
pub mod ways;
pub mod wedged;
pub mod words;
pub mod workable;

pub use figures::RunFigures;
pub use runs::Runs;
pub use summary::{StudyScope, Summary, summarize};
pub use totals::RunTotals;
