//! A page as its parts: what is said, not yet how it is marked up. Markdown and HTML are made from the same parts, so that
//! neither can say what the other does not.

use super::player::Player;
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
    /// A run to watch, where the page can move.
    Player(Player),
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
    /// The same drawn for a telephone, where that is another drawing.
    pub narrow: Option<Vec<u8>>,
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
        let mut spans = Vec::new();
        for (n, part) in text.split('`').enumerate() {
            match n % 2 {
                _ if part.is_empty() => {}
                0 => spans.push(Span::Plain(text::one_line(part))),
                _ => spans.push(Span::Code(one_line(part))),
            }
        }
        Text(spans)
    }

    /// It with weight.
    pub fn strong(mut self) -> Self {
        for span in &mut self.0 {
            if let Span::Plain(text) = span {
                *span = Span::Strong(std::mem::take(text));
            }
        }
        self
    }

    /// It behind a mark.
    pub fn marked(self, mark: &str) -> Self {
        let mut marked = Text(vec![
            Span::Mark(mark.to_owned()),
            Span::Plain(" ".to_owned()),
        ]);
        marked.push(self);
        marked
    }

    /// Puts another text behind it.
    pub fn push(&mut self, more: Text) {
        self.0.extend(more.0);
    }

    /// It without any mark-up.
    pub fn words(&self) -> String {
        self.0.iter().map(Span::text).collect()
    }
}

impl Span {
    fn text(&self) -> &str {
        match self {
            Span::Plain(text) | Span::Code(text) | Span::Strong(text) | Span::Mark(text) => text,
        }
    }
}

impl PageTable {
    /// These rows as they are.
    pub fn of(about: &str, rows: &TextTable) -> Self {
        PageTable {
            about: about.to_owned(),
            header: plain_cells(&rows.header),
            sides: rows.sides.clone(),
            rows: rows.rows.iter().map(|row| plain_cells(row)).collect(),
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

fn plain_cells(row: &[String]) -> Vec<Text> {
    row.iter().map(|cell| Text::plain(cell)).collect()
}

/// On one line, and without spaces at the ends.
fn one_line(text: &str) -> String {
    text::one_line(text).trim().to_owned()
}
