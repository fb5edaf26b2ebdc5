//! The way to the terminal: all that the program says passes here, cleaned of what a terminal would obey instead of show.

use std::io::{self, Write};

use crate::machine::text::lines;

/// A writer that lets no letter through that a terminal would obey, but for line ends.
///
/// What is written at once has to be whole letters, as it is through `write!`.
pub struct Clean<W: Write>(W);

impl<W: Write> Write for Clean<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0
            .write_all(lines(&String::from_utf8_lossy(bytes)).as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// The answer.
pub fn out() -> Clean<io::StdoutLock<'static>> {
    Clean(io::stdout().lock())
}

/// The answer, where it is many lines.
pub fn out_buffered() -> Clean<io::BufWriter<io::StdoutLock<'static>>> {
    Clean(io::BufWriter::new(io::stdout().lock()))
}

/// What is wrong, and what else is no part of the answer.
pub fn err() -> Clean<io::StderrLock<'static>> {
    Clean(io::stderr().lock())
}

/// Draws `text` over the last so many lines that were printed: up to the first of them (ECMA-48, CUU), all from there on
/// erased (ED), all in one write.
pub fn redraw(lines_before: usize, text: &str) -> io::Result<()> {
    let up = match lines_before {
        0 => String::new(),
        n => format!("\x1b[{n}A\r\x1b[J"),
    };
    let mut out = io::stdout().lock();
    out.write_all(format!("{up}{}\n", lines(text)).as_bytes())?;
    out.flush()
}
