//! From where to where along a column it works, and how surely each end is known.

use super::{CellOutcome, Spot};

/// One end of a window, in rows of the column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColumnEdge {
    /// The outermost row that works.
    pub row: usize,
    /// The nearest row outside that surely does not work; `None` where the map ends before.
    pub fails: Option<usize>,
    /// The nearest row, from `row` inwards, that surely works; `None` where no row of the window does.
    pub works: Option<usize>,
}

/// The longest stretch of a column in which every cell works; of equal ones the first.
///
/// The true edge lies beyond `fails` and no further in than `works`: with 95 % confidence for each of the two cells, every
/// look at its runs counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColumnWindow {
    /// Its lower end.
    pub least: ColumnEdge,
    /// Its upper end.
    pub most: ColumnEdge,
    /// What breaks in the row under it.
    pub below: Option<(CellOutcome, Option<String>)>,
    /// What breaks in the row over it.
    pub above: Option<(CellOutcome, Option<String>)>,
}

impl ColumnWindow {
    /// Rows in it.
    pub fn rows(&self) -> usize {
        self.most.row - self.least.row + 1
    }
}

/// The window of a column.
pub fn window(column: &[Spot]) -> Option<ColumnWindow> {
    let works = |row: usize| column[row].verdict() == CellOutcome::Works;
    let mut longest: Option<(usize, usize)> = None;
    let mut first = 0;
    for row in 0..column.len() {
        if !works(row) {
            first = row + 1;
        } else if longest.is_none_or(|(from, to)| row - first > to - from) {
            longest = Some((first, row));
        }
    }
    let (from, to) = longest?;
    let sure = |row: &usize| column[*row].cell().is_none_or(|cell| cell.sure);
    let simulated = |row: &usize| column[*row].cell().is_some_and(|cell| cell.sure);
    // A cell that cannot be built surely does not work.
    let fails = |row: &usize| !works(*row) && sure(row);
    let broken = |row: usize| Some((column[row].verdict(), column[row].at().map(str::to_owned)));
    Some(ColumnWindow {
        least: ColumnEdge {
            row: from,
            fails: (0..from).rev().find(fails),
            works: (from..=to).find(simulated),
        },
        most: ColumnEdge {
            row: to,
            fails: (to + 1..column.len()).find(fails),
            works: (from..=to).rev().find(simulated),
        },
        below: from.checked_sub(1).and_then(broken),
        above: Some(to + 1)
            .filter(|row| *row < column.len())
            .and_then(broken),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::Estimate;
    use crate::study::map::cell::{Cell, Figures};

    /// Capitals are sure, small letters are not, a dot stands between equal neighbours.
    fn column(text: &str) -> Vec<Spot> {
        let unknown = Estimate::unknown();
        let figures = Figures {
            ran: unknown,
            gridlocked: unknown,
            ran_dry: unknown,
            jams_per_8h: unknown,
            spills: unknown,
            left_in_hand: unknown,
            throughput_per_min: unknown,
            fill: Default::default(),
            backlog_p95: Default::default(),
        };
        let spot = |(row, letter): (usize, char)| {
            let verdict = *CellOutcome::ALL
                .iter()
                .find(|v| v.letter() == letter.to_ascii_uppercase())
                .expect("a letter");
            let (sure, at, figures) = (letter.is_uppercase(), None, figures.clone());
            Spot::Simulated(Box::new(Cell {
                column: 0,
                row,
                verdict,
                at,
                sure,
                runs: 10,
                figures,
            }))
        };
        text.chars().enumerate().map(spot).collect()
    }

    /// The row of an edge, and those between which it surely lies.
    type Sides = (usize, Option<usize>, Option<usize>);

    fn edges(text: &str) -> Option<[Sides; 2]> {
        let window = window(&column(text))?;
        Some([window.least, window.most].map(|edge| (edge.row, edge.fails, edge.works)))
    }

    #[test]
    fn sure_neighbours_hold_an_edge_between_them() {
        assert_eq!(
            edges("SSWWWBB"),
            Some([(2, Some(1), Some(2)), (4, Some(5), Some(4))])
        );
    }

    #[test]
    fn unsure_cells_widen_an_edge() {
        assert_eq!(
            edges("SsswwWWwbB"),
            Some([(3, Some(0), Some(5)), (7, Some(9), Some(6))])
        );
    }

    #[test]
    fn an_edge_off_the_map_is_unknown_and_no_window_has_none() {
        assert_eq!(edges("wwB"), Some([(0, None, None), (1, Some(2), None)]));
        assert_eq!(edges("SSB"), None);
        assert_eq!(edges(""), None);
    }

    #[test]
    fn the_longest_of_several_stretches_is_the_window() {
        assert_eq!(
            edges("WSWWWSW").map(|edges| [edges[0].0, edges[1].0]),
            Some([2, 4])
        );
        assert_eq!(
            edges("WWSWW").map(|edges| [edges[0].0, edges[1].0]),
            Some([0, 1])
        );
    }

    #[test]
    fn a_window_has_its_rows_and_fails_on_both_sides() {
        let rows = |text: &str| window(&column(text)).map(|window| window.rows());
        assert_eq!(
            [rows("SSWWWB"), rows("W"), rows("SW"), rows("S")],
            [Some(3), Some(1), Some(1), None]
        );
        assert_eq!(
            edges("SWB"),
            Some([(1, Some(0), Some(1)), (1, Some(2), Some(1))])
        );
    }
}
