//! Progress with time left, on a terminal only.

use std::io::IsTerminal;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// How often the bar is drawn again.
const TICK: Duration = Duration::from_millis(250);

/// A bar over so many runs on standard error; hidden when that is not a terminal or `quiet`.
pub fn bar(runs: u64, quiet: bool) -> ProgressBar {
    let visible = !quiet && std::io::stderr().is_terminal();
    let target = if visible { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let bar = ProgressBar::with_draw_target(Some(runs), target);
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} runs  {bar:32}  {elapsed} so far, {eta} left") {
        bar.set_style(style);
    }
    if visible {
        // From the first moment, also while the first run is still under way.
        bar.enable_steady_tick(TICK);
    }
    bar
}
