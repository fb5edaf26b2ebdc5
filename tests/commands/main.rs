//! The commands from outside, and what stands behind each.

#[path = "../support/mod.rs"]
mod support;

mod assumptions;
mod cache;
mod causes;
mod cli;
mod cli_sheet;
mod cli_studies;
mod close_up;
mod compare;
mod diagnose;
mod film;
mod fit;
mod handbook;
mod kinds;
mod log;
mod map;
mod map_interrupted;
mod maps;
mod mend;
mod mend_broken;
mod new;
mod outside;
mod program;
mod sheet;
mod shell;
mod tolerance;
mod watch;
mod why;
mod window;
mod window_over;
