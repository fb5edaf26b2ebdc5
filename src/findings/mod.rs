//! What runs mean: figures of one run, summaries of many, and sentences a maker would say.

pub mod figures;
pub mod limit;
pub mod sentences;
pub mod summary;
pub mod timeline;
pub mod trace;
pub mod verdict;
pub mod visits;
pub mod words;

pub use figures::RunFigures;
pub use summary::{Question, Summary, summarize};
