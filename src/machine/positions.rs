//! Where every value of a YAML text stands, and what can be seen wrong in passing: syntax, duplicate keys, nesting and
//! aliases out of bounds.

use std::collections::BTreeMap;

use saphyr_parser::{Event, Parser, ScanError, Span};

use super::limits;
use super::problem::{Place, Problem};
use super::syntax;

/// The places of a value and of what is inside it.
pub struct ValuePlaces {
    /// Of the value.
    pub place: Place,
    /// For a map, keys and values in turn; for a list, its items.
    pub inside: Vec<ValuePlaces>,
}

impl ValuePlaces {
    /// Reads the places of a YAML text.
    ///
    /// # Errors
    /// The first fault of syntax, nesting or aliases, or else every duplicate key.
    pub fn read(text: &str) -> Result<ValuePlaces, Vec<Problem>> {
        let mut reader = Reader::new(text);
        for event in Parser::new_from_str(text) {
            let read = event
                .map_err(|error| reader.fault(&error))
                .and_then(|(event, span)| reader.take(&event, &span));
            read.map_err(|problem| vec![problem])?;
        }
        if !reader.duplicates.is_empty() {
            return Err(reader.duplicates);
        }
        let mut all = reader.open.swap_remove(0).places;
        Ok(if all.inside.is_empty() {
            all
        } else {
            all.inside.swap_remove(0)
        })
    }
}

/// A list or map that has not ended yet; the outermost stands for the file.
struct Open {
    places: ValuePlaces,
    /// The keys so far, where it is a map.
    keys: Option<BTreeMap<String, Place>>,
    anchor: usize,
    values_before: usize,
}

struct Reader<'t> {
    text: &'t str,
    index: ByteIndex,
    open: Vec<Open>,
    documents: usize,
    /// Values so far, each alias counted as what it repeats.
    values: usize,
    sizes: BTreeMap<usize, usize>,
    duplicates: Vec<Problem>,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str) -> Self {
        let place = Place::File {
            start: 0,
            end: 0,
            line: 1,
            column: 1,
        };
        let places = ValuePlaces {
            place,
            inside: Vec::new(),
        };
        let file = Open {
            places,
            keys: None,
            anchor: 0,
            values_before: 0,
        };
        let (open, sizes, duplicates) = (vec![file], BTreeMap::new(), Vec::new());
        Reader {
            text,
            index: ByteIndex::new(text),
            open,
            documents: 0,
            values: 0,
            sizes,
            duplicates,
        }
    }

    fn take(&mut self, event: &Event, span: &Span) -> Result<(), Problem> {
        let place = self.index.place(span);
        match event {
            Event::DocumentStart(_) => self.documents += 1,
            Event::Scalar(text, _, anchor, _) => {
                self.values += 1;
                self.sizes.insert(*anchor, 1);
                self.note_key(text, place);
                self.close(ValuePlaces {
                    place,
                    inside: Vec::new(),
                });
            }
            Event::Alias(anchor) => {
                let size = self
                    .sizes
                    .get(anchor)
                    .ok_or_else(|| syntax::repeats_itself(place))?;
                self.values += size;
                self.close(ValuePlaces {
                    place,
                    inside: Vec::new(),
                });
            }
            Event::SequenceStart(anchor, _) => self.open(place, None, *anchor),
            Event::MappingStart(anchor, _) => self.open(place, Some(BTreeMap::new()), *anchor),
            Event::SequenceEnd | Event::MappingEnd => self.end(),
            _ => {}
        }
        match () {
            () if self.documents > 1 => Err(syntax::second_document(place)),
            () if self.open.len() > limits::NESTING + 1 => Err(syntax::too_deep(place)),
            () if self.values > limits::VALUES => Err(syntax::too_many(place)),
            () => Ok(()),
        }
    }

    fn open(&mut self, place: Place, keys: Option<BTreeMap<String, Place>>, anchor: usize) {
        self.values += 1;
        // The parser's span of an opening bracket may take in the space after it.
        let place = match place {
            Place::File {
                start,
                line,
                column,
                ..
            } => Place::File {
                start,
                end: self.index.next(start),
                line,
                column,
            },
            other => other,
        };
        let places = ValuePlaces {
            place,
            inside: Vec::new(),
        };
        self.open.push(Open {
            places,
            keys,
            anchor,
            values_before: self.values - 1,
        });
    }

    fn end(&mut self) {
        if self.open.len() > 1
            && let Some(done) = self.open.pop()
        {
            self.sizes
                .insert(done.anchor, self.values - done.values_before);
            self.close(done.places);
        }
    }

    fn close(&mut self, done: ValuePlaces) {
        if let Some(outer) = self.open.last_mut() {
            outer.places.inside.push(done);
        }
    }

    fn note_key(&mut self, text: &str, place: Place) {
        let Some(map) = self.open.last_mut() else {
            return;
        };
        let is_key = map.places.inside.len().is_multiple_of(2);
        let Some(keys) = map.keys.as_mut().filter(|_| is_key) else {
            return;
        };
        match keys.get(text) {
            Some(&first) => self.duplicates.push(syntax::duplicate(text, first, place)),
            None => drop(keys.insert(text.to_owned(), place)),
        }
    }

    fn fault(&self, error: &ScanError) -> Problem {
        let at = error.marker();
        let place = self.index.place(&Span::new(*at, *at));
        let opened = self.open.last().map(|open| open.places.place);
        syntax::explain(self.text, error.info(), place, opened)
    }
}

/// Turns the character counts of the parser into byte ranges.
struct ByteIndex {
    starts: Option<Vec<usize>>,
    len: usize,
}

impl ByteIndex {
    fn new(text: &str) -> Self {
        let starts = (!text.is_ascii()).then(|| text.char_indices().map(|(at, _)| at).collect());
        ByteIndex {
            starts,
            len: text.len(),
        }
    }

    fn byte(&self, character: usize) -> usize {
        match &self.starts {
            Some(starts) => starts.get(character).copied().unwrap_or(self.len),
            None => character.min(self.len),
        }
    }

    /// The byte at which the character after the one at byte `start` begins.
    fn next(&self, start: usize) -> usize {
        match &self.starts {
            Some(starts) => starts
                .get(starts.partition_point(|&s| s <= start))
                .copied()
                .unwrap_or(self.len),
            None => (start + 1).min(self.len),
        }
    }

    fn place(&self, span: &Span) -> Place {
        let start = self.byte(span.start.index());
        Place::File {
            start,
            end: self.byte(span.end.index()).max(start),
            line: span.start.line(),
            column: span.start.col() + 1,
        }
    }
}
