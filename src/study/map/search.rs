//! Which cells of a column are worth simulating: a few first, then those between neighbours that differ.

use crate::study::looks::half_way;

/// What is known of a cell: enough to tell whether something changes between it and another.
pub trait Known: Clone {
    /// Whether both are the same verdict, as surely.
    fn same(&self, other: &Self) -> bool;
}

/// Simulates cells `0..n` of a stretch until every two neighbours that differ stand side by side; cells between two that
/// are the same are left out. With `every`, no cell is left out.
///
/// Which cells are asked for depends on nothing but what earlier ones were. A change and its reversal that both fall
/// between two first cells are not seen. `None` when stopped.
pub fn explore<T: Known>(
    n: usize,
    every: bool,
    ask: impl Fn(&[usize]) -> Option<Vec<T>>,
) -> Option<Vec<Option<T>>> {
    let mut known: Vec<Option<T>> = vec![None; n];
    let mut wanted = first_cells(n, every);
    while !wanted.is_empty() {
        for (&row, cell) in wanted.iter().zip(ask(&wanted)?) {
            known[row] = Some(cell);
        }
        let cells = known.iter().enumerate();
        let done: Vec<(u32, &T)> = cells
            .filter_map(|(row, cell)| Some((row as u32, cell.as_ref()?)))
            .collect();
        let between = half_way(&done, |a, b| !a.same(b));
        wanted = between.into_iter().map(|row| row as usize).collect();
    }
    Some(known)
}

/// Both ends and every fourth between them; every second where there are few, so that a narrow window is not passed over.
fn first_cells(n: usize, every: bool) -> Vec<usize> {
    let stride = match n {
        _ if every => 1,
        0..=8 => 2,
        _ => 4,
    };
    (0..n)
        .filter(|row| row % stride == 0 || row + 1 == n)
        .collect()
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;

    impl Known for char {
        fn same(&self, other: &Self) -> bool {
            self == other
        }
    }

    fn explored(column: &str, every: bool) -> String {
        let truth: Vec<char> = column.chars().collect();
        let asked = RefCell::new(0);
        let known = explore(truth.len(), every, |rows| {
            *asked.borrow_mut() += rows.len();
            Some(rows.iter().map(|&row| truth[row]).collect())
        });
        let known = known.expect("nobody says stop");
        assert_eq!(
            asked.into_inner(),
            known.iter().flatten().count(),
            "no cell is asked for twice"
        );
        known.into_iter().map(|cell| cell.unwrap_or('.')).collect()
    }

    #[test]
    fn cells_are_spent_where_the_verdict_changes() {
        assert_eq!(
            explored("SSSSSSSSSSSWWWWWWWWWWWWWWWBBBBBB", false),
            "S...S...S.SWW...W...W...WWB.B..B"
        );
        assert_eq!(explored("SSSSSSSSSSSSSSSS", false), "S...S...S...S..S");
        assert_eq!(explored("SWB", false), "SWB");
        assert_eq!(explored("W", false), "W");
        assert_eq!(explored("", false), "");
        assert_eq!(explored("SSSSWWWW", true), "SSSSWWWW");
    }

    #[test]
    fn who_says_stop_gets_nothing() {
        assert_eq!(explore(9, false, |_| None::<Vec<char>>), None);
    }
}
