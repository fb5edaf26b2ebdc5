//! `completions`: completions for a shell, or the manual pages.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, CommandFactory, ValueEnum};
use clap_complete::env::Shells;

use super::Answer;
use super::args::Cli;
use super::failure::Failure;
use super::write::OutDir;

/// The variable by which the printed lines ask the program for completions.
const VARIABLE: &str = "COMPLETE";

/// The options of `completions`.
#[derive(Args, Debug)]
pub struct CompletionsArgs {
    /// For which shell; or `man` for the manual pages
    #[arg(value_name = "SHELL")]
    pub of: Of,
    /// Write files into this directory instead of printing; `man` then gives a page a command
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// What completions or pages are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Of {
    /// GNU Bash
    Bash,
    /// Zsh
    Zsh,
    /// Fish
    Fish,
    /// Elvish
    Elvish,
    /// PowerShell
    Powershell,
    /// The manual pages
    Man,
}

impl Of {
    /// The shell's name, and what its completions are called in the directory where it looks for them.
    fn shell(self) -> (&'static str, &'static str) {
        match self {
            Of::Bash => ("bash", "marblewright"),
            Of::Zsh => ("zsh", "_marblewright"),
            Of::Fish => ("fish", "marblewright.fish"),
            Of::Elvish => ("elvish", "marblewright.elv"),
            Of::Powershell => ("powershell", "_marblewright.ps1"),
            Of::Man => ("", "marblewright.1"),
        }
    }
}

/// Prints or writes them.
pub fn print(args: &CompletionsArgs) -> Result<Answer, Failure> {
    let files = match args.of {
        Of::Man => pages(args.out.is_none())?,
        shell => vec![(shell.shell().1.to_owned(), script(shell.shell().0)?)],
    };
    let mut stdout = std::io::stdout().lock();
    let Some(out) = &args.out else {
        for (_, bytes) in &files {
            stdout.write_all(bytes)?;
        }
        return Ok(Answer::Given);
    };
    writeln!(stdout, "{}", OutDir::make(out)?.write_all(&files)?)?;
    Ok(Answer::Given)
}

/// The lines that a shell reads when it starts; they ask the program itself at each press of Tab.
fn script(shell: &str) -> Result<Vec<u8>, Failure> {
    let name = Cli::command().get_name().to_owned();
    let mut bytes = Vec::new();
    if let Some(completer) = Shells::builtins().completer(shell) {
        completer.write_registration(VARIABLE, &name, &name, &name, &mut bytes)?;
    }
    Ok(bytes)
}

/// The manual page, and unless `one` is enough, that of every command.
fn pages(one: bool) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let mut cli = Cli::command();
    cli.build();
    let mut commands: Vec<clap::Command> = cli.get_subcommands().cloned().collect();
    commands.retain(|command| !one && command.get_name() != "help");
    commands.insert(0, cli);
    commands.into_iter().map(page).collect()
}

fn page(command: clap::Command) -> Result<(String, Vec<u8>), Failure> {
    let page = clap_mangen::Man::new(command);
    let mut bytes = Vec::new();
    page.render(&mut bytes)?;
    Ok((page.get_filename(), bytes))
}
