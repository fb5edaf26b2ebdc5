//! A page as its parts: what is said, not yet how it is marked up. Markdown and HTML are made from the same parts, so that
//! neither can say what the other does not.

use crate::machine::text;
use crate::report::rows::{Alignment, TextTable};

/// A page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// What stands on it, from top to bottom.
    pub blocks: Vec<PagePart>,
}

/// A part of a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PagePart {
    /// A heading of the second level.
    Chapter(Text),
    /// A heading of the third level.
    Heading(Text),
    /// A paragraph.
    Paragraph(Text),
    /// A list.
    List(Vec<Text>),
    /// A table.
    Table(PageTable),
    /// A picture.
    Figure(PageFigure),
    /// Text to be taken as it stands, such as a command or a file.
    Verbatim(String),
}

/// A table: its cells are texts, so that names stand out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageTable {
    /// What it shows, for whoever cannot see it.
    pub about: String,
    /// What stands above each column.
    pub header: Vec<Text>,
    /// To which side each column is set.
    pub sides: Vec<Alignment>,
    /// The rows, each as long as the header.
    pub rows: Vec<Vec<Text>>,
}

/// A picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageFigure {
    /// The name of its file.
    pub name: String,
    /// Its bytes, a PNG.
    pub png: Vec<u8>,
    /// What it shows, for whoever cannot see it.
    pub alt: Text,
    /// What to see in it.
    pub caption: Text,
}

/// Text on one line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Text(pub Vec<Span>);

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Span {
    /// As it is read.
    Plain(String),
    /// A name or a key.
    Code(String),
    /// What carries the weight.
    Strong(String),
    /// A mark at what is not as it should be.
    Mark(String),
}

impl Text {
    /// Text that means nothing but itself, whatever is in it; line breaks become spaces.
    pub fn plain(text: &str) -> Self {
        Text(vec![Span::Plain(one_line(text))])
    }

    /// A name or a key.
    pub fn code(text: &str) -> Self {
        Text(vec![Span::Code(one_line(text))])
    }

    /// One of this program's sentences, in which names stand between backticks.
    pub fn sentence(text: &str) -> Self {
        let parts = text
            .split('`')
            .enumerate()
            .filter(|(_, part)| !part.is_empty());
        let span = |(n, part): (usize, &str)| match n % 2 {
            0 => Span::Plain(text::one_line(part)),
            _ => Span::Code(one_line(part)),
        };
        Text(parts.map(span).collect())
    }

    /// It with weight.
    pub fn strong(self) -> Self {
        let span = |span: Span| {
            if let Span::Plain(text) = span {
                Span::Strong(text)
            } else {
                span
            }
        };
        Text(self.0.into_iter().map(span).collect())
    }

    /// It behind a mark.
    pub fn marked(self, mark: &str) -> Self {
        let spans = [Span::Mark(mark.to_owned()), Span::Plain(" ".to_owned())];
        Text(spans.into_iter().chain(self.0).collect())
    }

    /// Another text behind it.
    pub fn then(self, more: Text) -> Self {
        Text(self.0.into_iter().chain(more.0).collect())
    }

    /// It without any mark-up.
    pub fn words(&self) -> String {
        let word = |span: &Span| match span {
            Span::Plain(text) | Span::Code(text) | Span::Strong(text) | Span::Mark(text) => {
                text.clone()
            }
        };
        self.0.iter().map(word).collect()
    }
}

impl PageTable {
    /// These rows as they are.
    pub fn of(about: &str, rows: &TextTable) -> Self {
        let texts = |row: &Vec<String>| row.iter().map(|cell| Text::plain(cell)).collect();
        PageTable {
            about: about.to_owned(),
            header: texts(&rows.header),
            sides: rows.sides.clone(),
            rows: rows.rows.iter().map(texts).collect(),
        }
    }

    /// Words under a header.
    pub fn words(about: &str, header: &[&str], rows: Vec<Vec<Text>>) -> Self {
        let header: Vec<Text> = header.iter().map(|name| Text::plain(name)).collect();
        PageTable {
            about: about.to_owned(),
            sides: vec![Alignment::Left; header.len()],
            header,
            rows,
        }
    }
}

/// On one line, and without spaces at the ends.
fn one_line(text: &str) -> String {
    text::one_line(text).trim().to_owned()
}
