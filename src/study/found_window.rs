//! The window that a search found: which values work, from where to where, how surely, and where it has holes. Values are
//! given by their position on the axis searched.

use super::looks::FEW_LOOKS;
use crate::findings::Runs;
use crate::findings::workable::{Judgement, Verdict};

/// A value that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct TriedValue {
    /// Its position on the axis.
    pub position: usize,
    /// Why it makes no machine; none where it makes one.
    pub impossible: Option<String>,
    /// What its runs show; of no machine, nothing.
    pub judgement: Judgement,
    /// Its runs.
    pub runs: Runs,
    pub(super) looks: usize,
}

impl TriedValue {
    /// Whether it works. What makes no machine does not.
    pub fn verdict(&self) -> Verdict {
        match self.impossible {
            Some(_) => Verdict::Broken,
            None => self.judgement.verdict(),
        }
    }

    /// What it is taken to be: what its runs show; of a value that was not looked at to the end, since it is like those beside
    /// it, what they look like.
    pub fn taken_as(&self) -> Verdict {
        match self.verdict() {
            Verdict::Unsure if self.looks < FEW_LOOKS && self.likely() => Verdict::Met,
            Verdict::Unsure if self.looks < FEW_LOOKS => Verdict::Broken,
            verdict => verdict,
        }
    }

    /// Whether the figures as they stand, without their bounds, make a machine that works.
    pub fn likely(&self) -> bool {
        self.impossible.is_none() && self.judgement.likely()
    }
}

/// One edge of the window: the true edge is from `low` to `high`, as surely as the search was asked to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WindowEdge {
    /// The value at which the figures, as they stand, change.
    pub value: usize,
    /// The least it may be.
    pub low: usize,
    /// The most it may be.
    pub high: usize,
    /// Whether the search ended here without having met a value that does not work.
    pub open: bool,
}

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// The values tried, in order.
    pub tried: Vec<TriedValue>,
    /// The least workable value; `None` where none was shown to work.
    pub least: Option<WindowEdge>,
    /// The most.
    pub most: Option<WindowEdge>,
    /// Runs made in all.
    pub runs: u64,
}

impl WindowEdge {
    pub(super) fn least(tried: &[TriedValue]) -> Option<Self> {
        let first_sure = tried
            .iter()
            .position(|load| load.verdict() == Verdict::Met)?;
        let broken = tried
            .iter()
            .take_while(|load| load.taken_as() == Verdict::Broken)
            .count();
        let low = match broken {
            0 => 0,
            n => tried[n - 1].position + 1,
        };
        let value = tried[broken..=first_sure].iter().find(|load| load.likely());
        let high = tried[first_sure].position;
        Some(WindowEdge {
            value: value.map_or(high, |load| load.position),
            low,
            high,
            open: broken == 0,
        })
    }

    pub(super) fn most(count: usize, tried: &[TriedValue]) -> Option<Self> {
        let last_sure = tried
            .iter()
            .rposition(|load| load.verdict() == Verdict::Met)?;
        let broken = tried
            .iter()
            .rev()
            .take_while(|load| load.taken_as() == Verdict::Broken)
            .count();
        let kept = tried.len() - broken;
        let high = tried.get(kept).map_or(count, |load| load.position) - 1;
        let value = tried[last_sure..kept]
            .iter()
            .rev()
            .find(|load| load.likely());
        let low = tried[last_sure].position;
        Some(WindowEdge {
            value: value.map_or(low, |load| load.position),
            low,
            high,
            open: broken == 0,
        })
    }
}

impl Window {
    /// The nearest value below the window that is shown not to work.
    pub fn below(&self) -> Option<&TriedValue> {
        let low = self.least?.low;
        self.tried.iter().rfind(|load| load.position < low)
    }

    /// The nearest value above it.
    pub fn above(&self) -> Option<&TriedValue> {
        let high = self.most?.high;
        self.tried.iter().find(|load| load.position > high)
    }

    /// Values strictly inside the window, between values that work, that are taken to be of this `verdict`; neighbours among
    /// the values tried are reported together, as the first and the last of them.
    pub fn inside(&self, verdict: Verdict) -> Vec<(usize, usize)> {
        let (Some(least), Some(most)) = (self.least, self.most) else {
            return Vec::new();
        };
        let inner = self
            .tried
            .iter()
            .filter(|load| least.high < load.position && load.position < most.low);
        let inner: Vec<&TriedValue> = inner.collect();
        let groups = inner.chunk_by(|a, b| a.taken_as() == b.taken_as());
        let such = groups.filter(|group| group[0].taken_as() == verdict);
        such.map(|group| (group[0].position, group[group.len() - 1].position))
            .collect()
    }

    /// The stretches of values that work, each from its first to its last, where others lie between: both ends are shown to.
    pub fn sure(&self) -> Vec<(usize, usize)> {
        let groups = self
            .tried
            .chunk_by(|a, b| (a.taken_as() == Verdict::Met) == (b.taken_as() == Verdict::Met));
        let such = groups.filter(|group| group[0].taken_as() == Verdict::Met);
        such.map(|group| (group[0].position, group[group.len() - 1].position))
            .collect()
    }

    /// The first and the last value that may work, where none is shown to.
    pub fn likely(&self) -> Option<(usize, usize)> {
        let mut likely = self.tried.iter().filter(|load| load.likely());
        let first = likely.next()?.position;
        let last = likely.next_back().map_or(first, |load| load.position);
        Some((first, last))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::workable::{Criterion, CriterionResult, TOLERATED};
    use crate::stats::Estimate;

    /// Values from position 0 up with these verdicts: `+` met, `-` broken, `x` no machine, `?` unsure but likely, `~` unsure
    /// and unlikely, `p` and `m` the same after few runs, ` ` not tried.
    fn window(verdicts: &str) -> Window {
        let load = |(n, letter): (usize, char)| {
            let (verdict, likely) = match letter {
                '+' => (Verdict::Met, true),
                '-' => (Verdict::Broken, false),
                _ => (Verdict::Unsure, letter == '?' || letter == 'p'),
            };
            let impossible = (letter == 'x').then(|| "it is too long".to_owned());
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
            TriedValue {
                position: n,
                impossible,
                judgement: Judgement {
                    results: vec![result],
                },
                runs: Runs::new(0),
                looks: match letter {
                    'p' | 'm' => 2,
                    _ => FEW_LOOKS,
                },
            }
        };
        let tried: Vec<TriedValue> = verdicts
            .chars()
            .enumerate()
            .filter(|(_, letter)| *letter != ' ')
            .map(load)
            .collect();
        let (least, most) = (WindowEdge::least(&tried), WindowEdge::most(20, &tried));
        Window {
            tried,
            least,
            most,
            runs: 0,
        }
    }

    fn ends(edge: Option<WindowEdge>) -> Option<(usize, usize, usize, bool)> {
        edge.map(|edge| (edge.low, edge.value, edge.high, edge.open))
    }

    #[test]
    fn edges_reach_over_what_is_unsure() {
        let found = window("--~?+++??~--        ");
        assert_eq!(ends(found.least), Some((2, 3, 4, false)));
        assert_eq!(ends(found.most), Some((6, 8, 9, false)));
        assert_eq!(
            (
                found.below().map(|l| l.position),
                found.above().map(|l| l.position)
            ),
            (Some(1), Some(10))
        );
    }

    #[test]
    fn what_is_like_its_neighbours_is_taken_to_be_like_them() {
        let found = window("mm-+pp p-p+-m   m   ");
        assert_eq!(ends(found.least), Some((3, 3, 3, false)));
        assert_eq!(ends(found.most), Some((10, 10, 10, false)));
        assert_eq!(found.inside(Verdict::Broken), [(8, 8)]);
        assert_eq!(found.inside(Verdict::Unsure), []);
        assert_eq!(found.above().map(|load| load.position), Some(11));
    }

    #[test]
    fn an_edge_may_lie_between_loads_that_were_not_tried() {
        let found = window("-   +++    -        ");
        assert_eq!(ends(found.least), Some((1, 4, 4, false)));
        assert_eq!(ends(found.most), Some((6, 6, 10, false)));
    }

    #[test]
    fn what_makes_no_machine_is_broken() {
        let found = window("xx?++x++-xx         ");
        assert_eq!(ends(found.least), Some((2, 2, 3, false)));
        assert_eq!(ends(found.most), Some((7, 7, 7, false)));
        assert_eq!(found.inside(Verdict::Broken), [(5, 5)]);
    }

    #[test]
    fn holes_and_doubts_inside_the_window_are_named() {
        let found = window("-++--+~++-          ");
        assert_eq!(ends(found.least), Some((1, 1, 1, false)));
        assert_eq!(ends(found.most), Some((8, 8, 8, false)));
        assert_eq!(
            (found.inside(Verdict::Broken), found.inside(Verdict::Unsure)),
            (vec![(3, 4)], vec![(6, 6)])
        );
        assert_eq!(found.sure(), [(1, 2), (5, 5), (7, 8)]);
    }

    #[test]
    fn a_search_that_meets_no_edge_says_so_and_one_that_finds_nothing_has_none() {
        let found = window("++++++++++++++++++++");
        assert_eq!(
            (ends(found.least), ends(found.most)),
            (Some((0, 0, 0, true)), Some((19, 19, 19, true)))
        );
        let found = window("--~~--");
        assert_eq!((ends(found.least), ends(found.most)), (None, None));
    }
}
