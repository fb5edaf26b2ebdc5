//! The window that a search found: which loads work, from where to where, how surely, and where it has holes.

use crate::findings::Runs;
use crate::findings::workable::{Judgement, Verdict};

/// A load that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct TriedLoad {
    /// The load.
    pub marbles: u32,
    /// What its runs show.
    pub judgement: Judgement,
    /// Its runs.
    pub runs: Runs,
    pub(super) looks: usize,
}

/// One edge of the window: the true edge is from `low` to `high`, as surely as the search was asked to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct WindowEdge {
    /// The load at which the figures, as they stand, change.
    pub value: u32,
    /// The least it may be.
    pub low: u32,
    /// The most it may be.
    pub high: u32,
    /// Whether the search ended here without having met a load that does not work.
    pub open: bool,
}

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// The loads tried, in order.
    pub tried: Vec<TriedLoad>,
    /// The least workable load; `None` where no load was shown to work.
    pub least: Option<WindowEdge>,
    /// The most.
    pub most: Option<WindowEdge>,
    /// Runs made in all.
    pub runs: u64,
}

impl WindowEdge {
    pub(super) fn least(from: u32, tried: &[TriedLoad]) -> Option<Self> {
        let first_sure = tried
            .iter()
            .position(|load| load.judgement.verdict() == Verdict::Met)?;
        let broken = tried
            .iter()
            .take_while(|load| load.judgement.verdict() == Verdict::Broken)
            .count();
        let low = if broken == 0 {
            from
        } else {
            tried[broken - 1].marbles + 1
        };
        let value = tried[broken..=first_sure]
            .iter()
            .find(|load| load.judgement.likely());
        let high = tried[first_sure].marbles;
        Some(WindowEdge {
            value: value.map_or(high, |load| load.marbles),
            low,
            high,
            open: broken == 0,
        })
    }

    pub(super) fn most(to: u32, tried: &[TriedLoad]) -> Option<Self> {
        let last_sure = tried
            .iter()
            .rposition(|load| load.judgement.verdict() == Verdict::Met)?;
        let broken = tried
            .iter()
            .rev()
            .take_while(|load| load.judgement.verdict() == Verdict::Broken)
            .count();
        let kept = tried.len() - broken;
        let high = tried.get(kept).map_or(to, |load| load.marbles - 1);
        let value = tried[last_sure..kept]
            .iter()
            .rev()
            .find(|load| load.judgement.likely());
        let low = tried[last_sure].marbles;
        Some(WindowEdge {
            value: value.map_or(low, |load| load.marbles),
            low,
            high,
            open: broken == 0,
        })
    }
}

impl Window {
    /// The nearest load below the window that is shown not to work.
    pub fn below(&self) -> Option<&TriedLoad> {
        let low = self.least?.low;
        self.tried.iter().rfind(|load| load.marbles < low)
    }

    /// The nearest load above it.
    pub fn above(&self) -> Option<&TriedLoad> {
        let high = self.most?.high;
        self.tried.iter().find(|load| load.marbles > high)
    }

    /// Loads strictly inside the window, between loads that work, of which the runs show `verdict`; neighbours among the
    /// loads tried are reported together, as the first and the last of them.
    pub fn inside(&self, verdict: Verdict) -> Vec<(u32, u32)> {
        let (Some(least), Some(most)) = (self.least, self.most) else {
            return Vec::new();
        };
        let inner = self
            .tried
            .iter()
            .filter(|load| least.high < load.marbles && load.marbles < most.low);
        let inner: Vec<&TriedLoad> = inner.collect();
        let groups = inner.chunk_by(|a, b| a.judgement.verdict() == b.judgement.verdict());
        let such = groups.filter(|group| group[0].judgement.verdict() == verdict);
        such.map(|group| (group[0].marbles, group[group.len() - 1].marbles))
            .collect()
    }

    /// The loads that may work, where none is shown to.
    pub fn likely(&self) -> Vec<u32> {
        self.tried
            .iter()
            .filter(|load| load.judgement.likely())
            .map(|load| load.marbles)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::workable::{Criterion, CriterionResult, TOLERATED};
    use crate::stats::Estimate;

    /// Loads from 1 up with these verdicts: `+` met, `-` broken, `?` unsure but likely, `~` unsure and unlikely, ` ` not tried.
    fn window(verdicts: &str) -> Window {
        let load = |(n, letter): (usize, char)| {
            let (verdict, likely) = match letter {
                '+' => (Verdict::Met, true),
                '-' => (Verdict::Broken, false),
                _ => (Verdict::Unsure, letter == '?'),
            };
            let (criterion, figure) = (Criterion::Gridlock, Estimate::unknown());
            let result = CriterionResult {
                criterion,
                verdict,
                figure,
                of_runs: true,
                limit: TOLERATED,
                by_default: false,
                likely,
            };
            TriedLoad {
                marbles: n as u32 + 1,
                judgement: Judgement {
                    results: vec![result],
                },
                runs: Runs::new(0),
                looks: 3,
            }
        };
        let tried: Vec<TriedLoad> = verdicts
            .chars()
            .enumerate()
            .filter(|(_, letter)| *letter != ' ')
            .map(load)
            .collect();
        let (least, most) = (WindowEdge::least(1, &tried), WindowEdge::most(20, &tried));
        Window {
            tried,
            least,
            most,
            runs: 0,
        }
    }

    fn ends(edge: Option<WindowEdge>) -> Option<(u32, u32, u32, bool)> {
        edge.map(|edge| (edge.low, edge.value, edge.high, edge.open))
    }

    #[test]
    fn edges_reach_over_what_is_unsure() {
        let found = window("--~?+++??~--        ");
        assert_eq!(ends(found.least), Some((3, 4, 5, false)));
        assert_eq!(ends(found.most), Some((7, 9, 10, false)));
        assert_eq!(
            (
                found.below().map(|l| l.marbles),
                found.above().map(|l| l.marbles)
            ),
            (Some(2), Some(11))
        );
    }

    #[test]
    fn an_edge_may_lie_between_loads_that_were_not_tried() {
        let found = window("-   +++    -        ");
        assert_eq!(ends(found.least), Some((2, 5, 5, false)));
        assert_eq!(ends(found.most), Some((7, 7, 11, false)));
    }

    #[test]
    fn holes_and_doubts_inside_the_window_are_named() {
        let found = window("-++--+~++-          ");
        assert_eq!(ends(found.least), Some((2, 2, 2, false)));
        assert_eq!(ends(found.most), Some((9, 9, 9, false)));
        assert_eq!(
            (found.inside(Verdict::Broken), found.inside(Verdict::Unsure)),
            (vec![(4, 5)], vec![(7, 7)])
        );
    }

    #[test]
    fn a_search_that_meets_no_edge_says_so_and_one_that_finds_nothing_has_none() {
        let found = window("++++++++++++++++++++");
        assert_eq!(
            (ends(found.least), ends(found.most)),
            (Some((1, 1, 1, true)), Some((20, 20, 20, true)))
        );
        let found = window("--~~--");
        assert_eq!((ends(found.least), ends(found.most)), (None, None));
    }
}
