//! The answer of a map in plain sentences.

use std::ops::RangeInclusive;

use super::{CellOutcome, ColumnWindow, Map, Spot};
use crate::findings::words::{capital, count};

impl Map {
    /// The column that is spoken of first: nearest to the file's own value if it works anywhere, else the widest.
    pub fn main_column(&self) -> Option<usize> {
        self.own_column()
            .filter(|&column| self.windows[column].is_some())
            .or(self.widest_column())
    }

    /// The column nearest to the file's own value, if that is on the map; of two equally near ones the first.
    fn own_column(&self) -> Option<usize> {
        let own = self.grid.own.1?;
        let across = &self.grid.question.across;
        let off = |column: &usize| (across.value(*column) - own).abs();
        let nearest = (0..across.count).min_by(|a, b| off(a).total_cmp(&off(b)))?;
        Some(nearest).filter(|column| off(column) <= across.step)
    }

    /// The column with the widest window; of equal ones the first.
    pub fn widest_column(&self) -> Option<usize> {
        (0..self.windows.len())
            .rev()
            .max_by_key(|&column| self.rows(column))
            .filter(|&column| self.rows(column) > 0)
    }

    /// Rows in the window of a column.
    fn rows(&self, column: usize) -> usize {
        self.windows[column].as_ref().map_or(0, ColumnWindow::rows)
    }

    /// The answer in one sentence, also the title of the picture.
    pub fn answer(&self) -> String {
        let (Some(main), Some(widest)) = (self.main_column(), self.widest_column()) else {
            return format!("Works nowhere {}: {}", self.extent(), self.commonest());
        };
        let own = self
            .own_column()
            .filter(|&column| self.windows[column].is_none());
        let first = match own {
            Some(column) => format!(
                "Works nowhere {}, but {}{}",
                self.across(column),
                if self.is_sure(widest) { "" } else { "perhaps " },
                self.place(widest)
            ),
            None if self.is_sure(main) => format!("Works {}", self.place(main)),
            None => format!("Perhaps works {}: none is sure", self.place(main)),
        };
        let widest = match self.rows(widest) > self.rows(main) {
            true if self.is_sure(widest) => format!("; widest {}", self.place(widest)),
            true => format!("; widest perhaps {}", self.place(widest)),
            false => String::new(),
        };
        format!("{first}{widest}{}", self.nowhere(own))
    }

    /// The answer with what share of runs may go wrong.
    pub fn sentence(&self) -> String {
        format!("{} ({}).", self.answer(), self.grid.standard.tolerance)
    }

    /// What breaks on both sides of the window of a column.
    pub fn around(&self, column: usize) -> Option<String> {
        let window = self.windows[column].as_ref()?;
        let along = &self.grid.question.along;
        let say = |side: &Option<(CellOutcome, Option<String>)>, row: usize, ends: &str| match side
        {
            Some((verdict, at)) => {
                format!("at {} {}", along.value(row), verdict.named(at.as_deref()))
            }
            None => ends.to_owned(),
        };
        let below = say(
            &window.below,
            window.least.row.saturating_sub(1),
            "below it the map ends",
        );
        let above = say(&window.above, window.most.row + 1, "above it the map ends");
        Some(format!(
            "{}: {below}; {above}.",
            capital(&self.across(column))
        ))
    }

    /// How much was simulated.
    pub fn effort(&self) -> String {
        let cells: Vec<_> = self
            .columns
            .iter()
            .flatten()
            .filter_map(|spot| spot.cell())
            .collect();
        let all = self.columns.iter().map(Vec::len).sum::<usize>();
        let runs: u64 = cells.iter().map(|cell| u64::from(cell.runs)).sum();
        let hours = self.grid.question.hours * 3600.0;
        let made = format!("{} of {} simulated", cells.len(), count(all as u64, "cell"));
        let made = format!(
            "{made}, {} of {}",
            count(runs, "run"),
            crate::findings::words::duration(hours)
        );
        let unsure = cells.iter().filter(|cell| !cell.sure).count();
        let unsure = match unsure {
            0 => "; every verdict is 95 % sure".to_owned(),
            n => format!(
                "; {} not sure after {}",
                count(n as u64, "verdict"),
                self.most_runs()
            ),
        };
        let impossible = self
            .columns
            .iter()
            .flatten()
            .filter(|spot| spot.verdict() == CellOutcome::Impossible)
            .count();
        let impossible = match impossible {
            0 => String::new(),
            n => format!("; {} can't be built", count(n as u64, "cell")),
        };
        format!("{made}{unsure}{impossible}.")
    }

    fn most_runs(&self) -> String {
        count(u64::from(self.grid.question.runs), "run")
    }

    /// What is sure first: `from 25 to 60 marbles at 6 rpm, perhaps from 20 to 65`.
    fn place(&self, column: usize) -> String {
        let along = &self.grid.question.along;
        let Some(window) = &self.windows[column] else {
            return String::new();
        };
        let name = if along.is_load() {
            String::new()
        } else {
            format!("with {} ", along.name())
        };
        let (all, across) = (window.least.row..=window.most.row, self.across(column));
        let range = |rows: &RangeInclusive<usize>| self.rows_said(rows);
        match (window.least.works, window.most.works) {
            (Some(least), Some(most)) if (least..=most) == all => {
                format!("{name}{} {across}", range(&all))
            }
            (Some(least), Some(most)) => {
                let sure = range(&(least..=most));
                let (from, to) = (along.value(*all.start()), along.value(*all.end()));
                format!("{name}{sure} {across}, perhaps from {from} to {to}")
            }
            _ => format!("{name}{} {across}", range(&all)),
        }
    }

    /// Whether any cell in the window of a column surely works.
    fn is_sure(&self, column: usize) -> bool {
        let window = self.windows[column].as_ref();
        window.is_some_and(|window| window.least.works.is_some())
    }

    /// `from 25 to 60 marbles`, `with 25 marbles`.
    fn rows_said(&self, rows: &RangeInclusive<usize>) -> String {
        let along = &self.grid.question.along;
        let (first, last) = (along.value(*rows.start()), along.value(*rows.end()));
        match rows.start() == rows.end() {
            true if along.is_load() => format!("with {}", along.said(first)),
            true => along.said(first),
            false => format!("from {first} to {}", along.said(last)),
        }
    }

    fn across(&self, column: usize) -> String {
        let across = &self.grid.question.across;
        across.at(across.value(column))
    }

    fn extent(&self) -> String {
        let range = |axis: &super::Axis| {
            let name = if axis.unit_word().is_empty() || axis.unit_word() == axis.unit {
                format!("{} ", axis.name())
            } else {
                String::new()
            };
            format!(
                "{name}from {} to {}",
                axis.value(0),
                axis.said(axis.value(axis.count - 1))
            )
        };
        format!(
            "{} and {}",
            range(&self.grid.question.along),
            range(&self.grid.question.across)
        )
    }

    /// The verdict of most cells.
    fn commonest(&self) -> String {
        format!(
            "mostly {}",
            self.commonest_of(&self.columns.concat()).name()
        )
    }

    /// The verdict of most of these cells; of equal ones the first in the legend.
    pub fn commonest_of(&self, spots: &[Spot]) -> CellOutcome {
        let cells = |verdict: &CellOutcome| {
            spots
                .iter()
                .filter(|spot| spot.verdict() == *verdict)
                .count()
        };
        CellOutcome::ALL
            .into_iter()
            .rev()
            .max_by_key(cells)
            .unwrap_or(CellOutcome::Works)
    }

    /// Where no value along the column works, but for the column that was spoken of.
    fn nowhere(&self, text: Option<usize>) -> String {
        let across = &self.grid.question.across;
        let dead: Vec<usize> = (0..across.count)
            .filter(|&column| self.windows[column].is_none())
            .collect();
        let (Some(&first), Some(&last)) = (dead.first(), dead.last()) else {
            return String::new();
        };
        let in_a_row = dead.len() == last - first + 1;
        let value = |column: usize| across.said(across.value(column));
        let name = if across.is_speed() || across.is_load() {
            String::new()
        } else {
            format!("with {} ", across.name())
        };
        match dead.len() {
            1 if text == Some(first) => String::new(),
            1 => format!("; nowhere {}", self.across(first)),
            _ if in_a_row && last + 1 == across.count => {
                format!("; nowhere {name}from {} up", value(first))
            }
            _ if in_a_row && first == 0 => format!("; nowhere {name}up to {}", value(last)),
            n => format!("; nowhere in {n} of {} columns", across.count),
        }
    }
}
