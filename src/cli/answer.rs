//! The answer of a study, as it is printed and as it is written.

use std::io::Write;

use super::args::OutputArgs;
use super::failure::Failure;
use super::write::OutDir;
use super::{print, terminal};
use crate::findings::sentences::Finding;

/// What a study found, and what is wanted of it.
pub struct StudyAnswer<'a> {
    /// What to put out.
    pub output: &'a OutputArgs,
    /// Heads the sentences.
    pub title: &'a str,
    /// All of it as one object.
    pub json: String,
    /// The sentences, the answer first.
    pub findings: Vec<Finding>,
    /// A table after them, where there is one.
    pub table: Option<String>,
}

impl StudyAnswer<'_> {
    /// Prints it: the object alone, the first sentence alone, or all sentences.
    ///
    /// # Errors
    /// Where nobody listens.
    pub fn print(&self) -> Result<(), Failure> {
        let mut out = print::out();
        if self.output.json {
            writeln!(out, "{}", self.json)?;
            return Ok(());
        }
        if self.output.quiet {
            if let Some(answer) = self.findings.first() {
                writeln!(out, "{}", answer.text)?;
            }
            return Ok(());
        }
        writeln!(out, "{}\n", self.title)?;
        for finding in &self.findings {
            writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
        }
        if let Some(table) = &self.table {
            writeln!(out, "\n{table}")?;
        }
        Ok(())
    }

    /// Writes the object to `name`.json, then the pictures; says where they are.
    ///
    /// # Errors
    /// At the first that cannot be written, or where nobody listens.
    pub fn write<N: AsRef<str>>(
        &self,
        out: &OutDir,
        name: &str,
        pictures: impl FnOnce() -> Vec<(N, Vec<u8>)>,
    ) -> Result<(), Failure> {
        let written = self.files(out, name, pictures)?;
        if !self.output.answer_alone() {
            writeln!(print::out(), "\n{written}")?;
        }
        Ok(())
    }

    /// Prints it and writes its files, if there is where to: also where nobody listens.
    ///
    /// # Errors
    /// As [`StudyAnswer::print`] and [`StudyAnswer::write`].
    pub fn publish<N: AsRef<str>>(
        &self,
        out: Option<&OutDir>,
        name: &str,
        pictures: impl FnOnce() -> Vec<(N, Vec<u8>)>,
    ) -> Result<(), Failure> {
        let printed = self.print();
        match out {
            Some(out) if printed.is_ok() => self.write(out, name, pictures)?,
            Some(out) => self.files(out, name, pictures).map(drop)?,
            None => {}
        }
        printed
    }

    fn files<N: AsRef<str>>(
        &self,
        out: &OutDir,
        name: &str,
        pictures: impl FnOnce() -> Vec<(N, Vec<u8>)>,
    ) -> Result<String, Failure> {
        let json = format!("{}\n", self.json);
        out.write_before(&[(format!("{name}.json"), json)], || Ok(pictures()))
    }
}
