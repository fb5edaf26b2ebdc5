//! Ctrl-C, and a scheduler's request to end: the work under way is finished and kept, then the program stops.

use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};

static ASKED: AtomicBool = AtomicBool::new(false);

/// From now on the first request to stop is noted, and the second obeyed at once.
pub fn listen() {
    let handler = || {
        if ASKED.swap(true, Ordering::SeqCst) {
            std::process::exit(130);
        }
        let _ = writeln!(std::io::stderr(), "\nStopping when the runs under way are done; once more stops at once.");
    };
    // Where no handler can be had, Ctrl-C ends the program at once, and the journal still holds what was finished.
    let _ = ctrlc::set_handler(handler);
}

/// Whether somebody wants to stop.
pub fn asked() -> bool {
    ASKED.load(Ordering::SeqCst)
}
