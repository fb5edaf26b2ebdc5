//! Questions on a terminal; elsewhere the defaults answer.

use std::io::{BufRead, Write};

use super::failure::Failure;

/// Asks for what was not typed.
pub struct Asker {
    terminal: bool,
}

impl Asker {
    /// Asks only if this is a `terminal`.
    pub fn new(terminal: bool) -> Self {
        Asker { terminal }
    }

    /// What was `given` for an option, or the answer to its `question`, or else its `default`. A wrong answer is asked for
    /// again; the end of the input takes the default.
    ///
    /// # Errors
    /// Where what was given is wrong.
    pub fn ask<T>(
        &mut self,
        given: &Option<String>,
        option: &str,
        question: &str,
        default: &str,
        parse: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, Failure> {
        if let Some(text) = given {
            return parse(text).map_err(|help| refused(option, text, help));
        }
        while self.terminal {
            let mut out = super::print::out();
            write!(out, "{question} [{default}] ")?;
            out.flush()?;
            let mut line = String::new();
            let read = std::io::stdin().lock().read_line(&mut line)?;
            if read == 0 {
                self.terminal = false;
                writeln!(out)?;
            }
            let answer = if line.trim().is_empty() {
                default
            } else {
                line.trim()
            };
            match parse(answer) {
                Ok(value) => return Ok(value),
                Err(help) => writeln!(out, "  {help}")?,
            }
        }
        parse(default).map_err(|help| refused(option, default, help))
    }
}

fn refused(option: &str, text: &str, help: String) -> Failure {
    Failure::asked(format!("`{option} {text}` cannot be taken"), help)
}
