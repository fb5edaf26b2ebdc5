//! Progress with time left, on a terminal only.

use std::io::IsTerminal;
use std::time::Duration;

use indicatif::{HumanDuration, ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};

use crate::study::repeat::PARTS;

/// How often the bar is drawn again.
const TICK: Duration = Duration::from_millis(250);

/// A bar over so many runs, of [`PARTS`] parts each, on standard error; hidden when that is not a terminal or `quiet`.
pub fn bar(runs: u64, quiet: bool) -> ProgressBar {
    let visible = !quiet && std::io::stderr().is_terminal();
    let target = if visible {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(runs * PARTS), target);
    if let Ok(style) =
        ProgressStyle::with_template("{made} of {all} runs  {bar:32}  {elapsed} so far, {left}")
    {
        bar.set_style(
            style
                .with_key("left", left)
                .with_key("made", made)
                .with_key("all", all),
        );
    }
    if visible {
        // From the first moment, also while the first run is still under way.
        bar.enable_steady_tick(TICK);
    }
    bar
}

/// A sentence with the time it has taken so far, for what nobody knows the length of; gone when it is finished.
pub fn waiting(sentence: &'static str) -> ProgressBar {
    let target = if std::io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(None, target).with_message(sentence);
    if let Ok(style) = ProgressStyle::with_template("{msg}  {elapsed} so far") {
        bar.set_style(style);
    }
    if std::io::stderr().is_terminal() {
        bar.enable_steady_tick(TICK);
    }
    bar
}

fn made(state: &ProgressState, text: &mut dyn std::fmt::Write) {
    let _ = write!(text, "{}", state.pos() / PARTS);
}

fn all(state: &ProgressState, text: &mut dyn std::fmt::Write) {
    let _ = write!(text, "{}", state.len().unwrap_or(0) / PARTS);
}

/// How long it still takes, once a part of a run is done to tell it by.
fn left(state: &ProgressState, text: &mut dyn std::fmt::Write) {
    // What cannot be written to the terminal is only a guess.
    let _ = match state.pos() {
        0 => write!(text, "time left not known yet"),
        _ => write!(text, "{} left", HumanDuration(state.eta())),
    };
}
