//! Will this marble machine run by itself for an afternoon?

use std::process::ExitCode;

fn main() -> ExitCode {
    marblewright::cli::main()
}
