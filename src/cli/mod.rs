//! The command line: reads what was typed, asks the library, prints the answer.

mod answer;
mod args;
mod cache;
mod check;
mod command_line;
mod compare;
mod complete;
mod completions;
mod diagnose;
mod diagnose_into;
mod diagnostics;
mod failure;
mod film;
mod fit;
mod fit_into;
mod fit_rolling;
mod fit_text;
mod gather;
mod handbook;
mod interrupt;
mod journal;
mod log;
mod map;
mod mend;
mod new;
mod print;
mod progress;
mod prompt;
mod rewrite;
mod run;
mod scenarios;
mod schema;
mod sheet;
mod simulate;
mod source;
mod tables;
mod terminal;
mod threads;
mod tolerance;
mod usage;
mod warn;
mod watch;
mod why;
mod window;
mod write;

use std::io::Write;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};
use clap_complete::CompleteEnv;

use args::{Cli, Command};
use failure::Failure;

use crate::circuit::close_look;

/// How a command ended that could answer.
enum Answer {
    Given,
    NotWorkable,
    Interrupted,
}

/// Keeps close looks in the user's cache folder from now on, if that is `wanted`, and shows how far they are.
pub fn keep_looks(wanted: bool) {
    close_look::keep_with(Box::new(cache::Cache::new(wanted)));
}

/// Runs the program with the arguments of the process.
pub fn main() -> ExitCode {
    CompleteEnv::with_factory(Cli::command).complete();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return usage::report(&error),
    };
    keep_looks(!cli.no_cache);
    interrupt::listen();
    write::outlive_size_limits();
    let answer = match &cli.command {
        None => run::run(&cli.run),
        Some(Command::Run(args)) => run::run(args),
        Some(Command::Check(args)) => check::check(args),
        Some(Command::Diagnose(args)) => diagnose::diagnose(args),
        Some(Command::Film(args)) => film::film(args),
        Some(Command::Sheet(args)) => sheet::print(args),
        Some(Command::Why(args)) => why::why(args),
        Some(Command::Compare(args)) => compare::compare(args),
        Some(Command::Window(args)) => window::window(args),
        Some(Command::Map(args)) => map::map(args),
        Some(Command::Mend(args)) => mend::mend(args),
        Some(Command::Tolerance(args)) => tolerance::tolerance(args),
        Some(Command::Log(args)) => log::log(args),
        Some(Command::Gather(args)) => gather::gather(args),
        Some(Command::Fit(args)) => fit::fit(args),
        Some(Command::New(args)) => new::new(args),
        Some(Command::Handbook(args)) => handbook::print(args),
        Some(Command::Schema) => schema::print(),
        Some(Command::Completions(args)) => completions::print(args),
    };
    match answer {
        Ok(Answer::Given) => ExitCode::SUCCESS,
        Ok(Answer::NotWorkable) => ExitCode::from(1),
        Ok(Answer::Interrupted) => ExitCode::from(130),
        Err(failure) => {
            let help = if let Failure::NoFile(path) = &failure {
                usage::near_name(path)
            } else {
                String::new()
            };
            let text = format!("{failure}{help}");
            if !text.is_empty() {
                // Whoever closed standard error wants no message; the exit code still tells.
                let _ = writeln!(print::err(), "{text}");
            }
            ExitCode::from(failure.code())
        }
    }
}
