//! `handbook`: the pages about the program, which it carries inside.

use std::io::Write;

use clap::Args;
use clap_complete::engine::{ArgValueCandidates, CompletionCandidate};

use super::Answer;
use super::failure::Failure;
use crate::handbook::{PAGES, page};
use crate::machine::suggest::did_you_mean;
use crate::machine::text::one_line;

/// The options of `handbook`.
#[derive(Args, Debug)]
pub struct HandbookArgs {
    /// The page to print; without one, the pages there are
    #[arg(value_name = "PAGE", add = ArgValueCandidates::new(candidates))]
    pub page: Option<String>,
}

/// Prints a page, or what pages there are.
pub fn print(args: &HandbookArgs) -> Result<Answer, Failure> {
    let mut out = super::print::out_buffered();
    match &args.page {
        Some(name) => write!(out, "{}", page(name).ok_or_else(|| unknown(name))?.text)?,
        None => {
            let widest = PAGES.iter().map(|page| page.name.len()).max().unwrap_or(0);
            for page in PAGES {
                writeln!(out, "{:widest$}   {}", page.name, page.about)?;
            }
        }
    }
    out.flush()?;
    Ok(Answer::Given)
}

fn unknown(name: &str) -> Failure {
    let help = did_you_mean(name, PAGES.map(|page| page.name));
    Failure::asked(
        format!("the handbook has no page `{}`", one_line(name)),
        help,
    )
}

fn candidates() -> Vec<CompletionCandidate> {
    PAGES
        .iter()
        .map(|page| CompletionCandidate::new(page.name).help(Some(page.about.into())))
        .collect()
}
