//! Ctrl-C, and a scheduler's request to end: exit code 130 from every command, and no file left half written.

use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};

static ASKED: AtomicBool = AtomicBool::new(false);
static RUNS_ARE_KEPT: AtomicBool = AtomicBool::new(false);

/// From now on a request to stop ends the program with 130.
pub fn listen() {
    // Where no handler can be had, Ctrl-C ends the program by its signal, and the journal still holds what was finished.
    let _ = ctrlc::set_handler(stop);
}

fn stop() {
    if ASKED.swap(true, Ordering::SeqCst) || !RUNS_ARE_KEPT.load(Ordering::SeqCst) {
        super::write::remove_unfinished();
        std::process::exit(130);
    }
    let _ = writeln!(
        super::print::err(),
        "\nStopping when the runs under way are done; once more stops at once."
    );
}

/// From now on the first request to stop is noted for [`asked`], so that the runs under way can be kept, and only the second
/// obeyed at once.
pub fn finish_runs() {
    RUNS_ARE_KEPT.store(true, Ordering::SeqCst);
}

/// Whether somebody wants to stop.
pub fn asked() -> bool {
    ASKED.load(Ordering::SeqCst)
}
