//! The ways as lines: down from a box, along a track of their own in the gap between two rows, on through the next row.

use super::order::Routes;
use super::place::{Places, WAY_IN};
use super::rows::Rows;
use super::{Graph, Layout, Sizes, Wire};
use crate::charts::canvas::Area;
use crate::charts::labels::side_by_side;

/// From one track to the next in a gap, pixels.
const TRACK: f64 = 12.0;
/// Above and below the tracks of a gap, where labels and arrowheads stand, pixels.
const CLEAR: f64 = 22.0;
/// Room for the width of the uppermost way, pixels.
const TOP: f64 = 6.0;
/// Room for the width of the lowest way, pixels.
const EDGE: f64 = 6.0;
/// Ways nearer to each other than this count as touching, pixels.
const NEAR: f64 = 9.0;
/// Ways that are nearer to straight than this are drawn straight, pixels.
const STRAIGHT: f64 = 1.5;

/// Which side of a gap a way comes from or goes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum GapSide {
    Upper,
    Lower,
    /// Neither: where a piece changes from one track to another.
    Between,
}

/// A piece of a way inside one gap, from one end to the other.
#[derive(Clone, Copy, Debug)]
struct Piece {
    ends: [(f64, GapSide); 2],
    /// Its track; none where it is straight.
    track: Option<usize>,
    /// Where it changes to another track, and to which.
    change: Option<(f64, usize)>,
}

/// Draws all boxes and ways.
pub fn draw(graph: &Graph, rows: &Rows, routes: &Routes, places: &Places, sizes: &Sizes) -> Layout {
    let ends = ends(graph, routes, places, sizes);
    let mut gaps: Vec<Vec<(usize, usize)>> = vec![Vec::new(); rows.count + 1];
    let mut pieces: Vec<Vec<Piece>> = Vec::new();
    for (link, stops) in routes.stops.iter().enumerate() {
        let (gap, piece) = pieces_of(link, stops, rows, places, &ends);
        gap.iter()
            .enumerate()
            .for_each(|(k, &g)| gaps[g].push((link, k)));
        pieces.push(piece);
    }
    let tracks: Vec<usize> = gaps.iter().map(|gap| assign(gap, &mut pieces)).collect();
    let heights: Vec<f64> = gaps
        .iter()
        .zip(&tracks)
        .enumerate()
        .map(|(g, (gap, &n))| height(g, gap, n, rows))
        .collect();
    // The top of each gap.
    let mut y = 0.0;
    let tops: Vec<f64> = heights
        .iter()
        .map(|height| {
            let top = y;
            y += height + sizes.height;
            top
        })
        .collect();
    let wire = |link: usize| {
        let (from, to) = graph.links[link];
        let mut points = Vec::new();
        for (piece, g) in pieces[link].iter().zip(gaps_of(&routes.stops[link], rows)) {
            corners(piece, tops[g], heights[g], &mut points);
        }
        points.dedup();
        Wire {
            from,
            to,
            label: label(&points, rows.rising[from], sizes),
            points,
        }
    };
    let area = |n: usize| {
        let top = tops[rows.row[n]] + heights[rows.row[n]];
        let (x, half) = (places.x[n], places.half[n]);
        Area {
            left: x - half,
            top,
            right: x + half,
            bottom: top + sizes.height,
        }
    };
    Layout {
        boxes: (0..graph.lifts.len()).map(area).collect(),
        rising: rows.rising.clone(),
        wires: (0..graph.links.len()).map(wire).collect(),
        width: places.width,
        height: y - sizes.height + EDGE,
    }
}

/// Where each link leaves its first box and enters its last, by link.
fn ends(graph: &Graph, routes: &Routes, places: &Places, sizes: &Sizes) -> Vec<[f64; 2]> {
    let mut ends = vec![[0.0; 2]; graph.links.len()];
    let links = |n: usize, end: fn(&(usize, usize)) -> usize| -> Vec<usize> {
        (0..graph.links.len())
            .filter(|&link| end(&graph.links[link]) == n)
            .collect()
    };
    for n in 0..graph.lifts.len() {
        let mut out = links(n, |link| link.0);
        let towards = |link: usize| places.x[routes.stops[link][1]];
        out.sort_by(|&a, &b| towards(a).total_cmp(&towards(b)));
        let middle = (out.len() as f64 - 1.0) / 2.0;
        for (k, &link) in out.iter().enumerate() {
            ends[link][0] = places.x[n] + (k as f64 - middle) * sizes.label;
        }
    }
    for n in 0..graph.lifts.len() {
        let into = links(n, |link| link.1);
        let (low, high) = (
            places.x[n] - places.half[n] + WAY_IN / 2.0,
            places.x[n] + places.half[n] - WAY_IN / 2.0,
        );
        let from = |link: usize| match routes.stops[link][..] {
            [_, _] => ends[link][0],
            [.., before, _] => places.x[before],
            _ => places.x[n],
        };
        let mut wishes: Vec<(f64, f64, usize)> = into
            .iter()
            .map(|&link| {
                let (x, weight) = wished(from(link), low, high, into.len());
                (x, weight, link)
            })
            .collect();
        wishes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let wanted: Vec<f64> = wishes.iter().map(|wish| wish.0).collect();
        let weights: Vec<f64> = wishes.iter().map(|wish| wish.1).collect();
        let halves = vec![WAY_IN / 2.0; wishes.len()];
        let found = side_by_side(&wanted, &weights, &halves, low - WAY_IN / 2.0);
        let over = found.last().map_or(0.0, |last| (last - high).max(0.0));
        for (k, (&(_, _, link), x)) in wishes.iter().zip(&found).enumerate() {
            ends[link][1] = (x - over).max(low + k as f64 * WAY_IN);
        }
    }
    ends
}

/// Straight down where that hits the box, which counts most; else in its middle, or towards the side it comes from if
/// others come too.
fn wished(x: f64, low: f64, high: f64, all: usize) -> (f64, f64) {
    let (middle, quarter) = ((low + high) / 2.0, (high - low) / 4.0);
    match x {
        x if (low..=high).contains(&x) => (x, 1000.0),
        _ if all == 1 => (middle, 1.0),
        x if x < low => (middle - quarter, 1.0),
        _ => (middle + quarter, 1.0),
    }
}

/// The gaps a link runs through, in its order.
fn gaps_of(stops: &[usize], rows: &Rows) -> Vec<usize> {
    let (out, into) = (rows.out_gap(stops[0]), rows.in_gap(stops[stops.len() - 1]));
    if out <= into {
        (out..=into).collect()
    } else {
        (into..=out).rev().collect()
    }
}

fn pieces_of(
    link: usize,
    stops: &[usize],
    rows: &Rows,
    places: &Places,
    ends: &[[f64; 2]],
) -> (Vec<usize>, Vec<Piece>) {
    let gaps = gaps_of(stops, rows);
    let last = stops.len() - 1;
    let up = rows.out_gap(stops[0]) > rows.in_gap(stops[last]);
    let piece = |k: usize| {
        let begin = match k {
            0 => (
                ends[link][0],
                if rows.rising[stops[0]] {
                    GapSide::Lower
                } else {
                    GapSide::Upper
                },
            ),
            _ => (
                places.x[stops[k]],
                if up { GapSide::Lower } else { GapSide::Upper },
            ),
        };
        let end = match k + 1 {
            next if next == last => (
                ends[link][1],
                if rows.rising[stops[last]] {
                    GapSide::Upper
                } else {
                    GapSide::Lower
                },
            ),
            next => (
                places.x[stops[next]],
                if up { GapSide::Upper } else { GapSide::Lower },
            ),
        };
        Piece {
            ends: [begin, end],
            track: None,
            change: None,
        }
    };
    let pieces = (0..gaps.len()).map(piece).collect();
    (gaps, pieces)
}

impl Piece {
    fn is_straight(&self) -> bool {
        (self.ends[0].0 - self.ends[1].0).abs() < STRAIGHT && self.ends[0].1 != self.ends[1].1
    }

    fn span(&self) -> (f64, f64) {
        let (a, b) = (self.ends[0].0, self.ends[1].0);
        (a.min(b), a.max(b))
    }

    /// Whether its end on the upper side stands over the other's on the lower one, so that it must run above it.
    fn stands_over(&self, other: &Piece) -> bool {
        let on = |piece: &Piece, side: GapSide| -> Vec<f64> {
            piece
                .ends
                .iter()
                .filter(|end| end.1 == side)
                .map(|end| end.0)
                .collect()
        };
        let lower = on(other, GapSide::Lower);
        on(self, GapSide::Upper)
            .iter()
            .any(|x| lower.iter().any(|y| (x - y).abs() < NEAR))
    }

    /// Pieces with smaller keys run higher, so that few cross.
    fn key(&self) -> (u8, f64) {
        let (left, right) = self.span();
        let (begin, end) = if self.ends[0].1 == GapSide::Upper {
            (0, 1)
        } else {
            (1, 0)
        };
        match (self.ends[0].1, self.ends[1].1) {
            (GapSide::Upper, GapSide::Upper) => (0, right - left),
            (GapSide::Lower, GapSide::Lower) => (2, left - right),
            _ if self.ends[begin].0 < self.ends[end].0 => (1, -self.ends[begin].0),
            _ => (1, self.ends[begin].0),
        }
    }
}

/// A piece, or one half of it, that looks for a track.
#[derive(Clone, Copy)]
struct TrackSearch {
    at: (usize, usize),
    /// 0 for a whole piece, 1 for the half from its upper end, 2 for the half to its lower end.
    half: u8,
    piece: Piece,
}

impl TrackSearch {
    /// Whether it must run above `other`.
    fn above(&self, other: &TrackSearch) -> bool {
        (self.at == other.at && self.half == 1 && other.half == 2)
            || (self.at != other.at && self.piece.stands_over(&other.piece))
    }

    /// Both halves of it, joined at `x`.
    fn halves(&self, x: f64) -> [TrackSearch; 2] {
        let [a, b] = self.piece.ends;
        let (upper, lower) = if a.1 == GapSide::Upper {
            (a, b)
        } else {
            (b, a)
        };
        let half = |half, ends| TrackSearch {
            half,
            piece: Piece { ends, ..self.piece },
            ..*self
        };
        [
            half(1, [upper, (x, GapSide::Between)]),
            half(2, [(x, GapSide::Between), lower]),
        ]
    }
}

/// Gives every piece of a gap that is not straight a track of its own wherever it would touch another; returns how many
/// tracks there are. The first free track is taken, from above (the left-edge method of channel routing: Hashimoto &
/// Stevens, "Wire routing by optimizing channel assignment within large apertures", 1971); of pieces that would each have
/// to run above the next in a circle, one changes its track half-way.
fn assign(gap: &[(usize, usize)], pieces: &mut [Vec<Piece>]) -> usize {
    let taken: Vec<f64> = gap
        .iter()
        .flat_map(|&(link, k)| pieces[link][k].ends)
        .map(|end| end.0)
        .collect();
    let all = gap.iter().map(|&at| TrackSearch {
        at,
        half: 0,
        piece: pieces[at.0][at.1],
    });
    let mut open: Vec<TrackSearch> = all.filter(|search| !search.piece.is_straight()).collect();
    open.sort_by(|a, b| {
        let (a, b) = (a.piece.key(), b.piece.key());
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let mut changes: Vec<f64> = Vec::new();
    let mut done: Vec<TrackSearch> = Vec::new();
    while !open.is_empty() {
        let Some(at) = (0..open.len()).find(|&at| !open.iter().any(|other| other.above(&open[at])))
        else {
            let at = open.iter().position(|search| search.half == 0).unwrap_or(0);
            let whole = open.remove(at);
            let x = free_place(&whole.piece, taken.iter().chain(&changes));
            changes.push(x);
            open.splice(at..at, whole.halves(x));
            continue;
        };
        let mut search = open.remove(at);
        let lowest = done
            .iter()
            .filter(|other| other.above(&search))
            .filter_map(|other| other.piece.track)
            .max();
        let span = search.piece.span();
        search.piece.track =
            (lowest.map_or(0, |track| track + 1)..).find(|&track| is_free(&done, track, span));
        done.push(search);
    }
    for search in &done {
        let piece = &mut pieces[search.at.0][search.at.1];
        match search.half {
            2 => piece.change = Some(search.piece.ends[0].0).zip(search.piece.track),
            _ => piece.track = search.piece.track,
        }
    }
    done.iter()
        .filter_map(|search| search.piece.track)
        .max()
        .map_or(0, |track| track + 1)
}

fn is_free(done: &[TrackSearch], track: usize, (left, right): (f64, f64)) -> bool {
    done.iter()
        .filter(|other| other.piece.track == Some(track))
        .all(|other| {
            let (begin, end) = other.piece.span();
            right + NEAR < begin || end + NEAR < left
        })
}

/// Where `piece` can change its track: as near to its middle as nothing else comes down.
fn free_place<'a>(piece: &Piece, taken: impl Iterator<Item = &'a f64> + Clone) -> f64 {
    let (left, right) = piece.span();
    let steps = (0..400).flat_map(|k| [f64::from(k), -f64::from(k)]);
    let mut places = steps.map(|k| (left + right) / 2.0 + k);
    let free = |x: &f64| taken.clone().all(|other| (other - x).abs() > NEAR);
    places.find(free).unwrap_or((left + right) / 2.0)
}

/// Height of a gap; the outermost ones need room on one side only, and none where nothing runs through them.
fn height(g: usize, gap: &[(usize, usize)], tracks: usize, rows: &Rows) -> f64 {
    let sides = match g {
        _ if gap.is_empty() => {
            return if g == 0 || g == rows.count {
                0.0
            } else {
                CLEAR
            };
        }
        0 => 1.0,
        g if g == rows.count => 1.0,
        _ => 2.0,
    };
    // Above the uppermost track there is nothing to stand off from.
    let above = if g == 0 { TOP } else { 0.0 };
    above + sides * CLEAR + (tracks.saturating_sub(1)) as f64 * TRACK
}

fn corners(piece: &Piece, top: f64, height: f64, points: &mut Vec<(f64, f64)>) {
    let edge = |side: GapSide| {
        if side == GapSide::Upper {
            top
        } else {
            top + height
        }
    };
    let [(x0, side0), (x1, side1)] = piece.ends;
    let above = if top == 0.0 { TOP } else { CLEAR };
    let y = |track: usize| top + above + track as f64 * TRACK;
    points.push((x0, edge(side0)));
    match (piece.track, piece.change) {
        (None, _) => return points.push((x0, edge(side1))),
        (Some(track), None) => points.extend([(x0, y(track)), (x1, y(track))]),
        (Some(upper), Some((x, lower))) => {
            let (first, second) = if side0 == GapSide::Upper {
                (upper, lower)
            } else {
                (lower, upper)
            };
            points.extend([
                (x0, y(first)),
                (x, y(first)),
                (x, y(second)),
                (x1, y(second)),
            ]);
        }
    }
    points.push((x1, edge(side1)));
}

/// The part beside the beginning of a way.
fn label(points: &[(f64, f64)], up: bool, sizes: &Sizes) -> Area {
    let (x, y) = points.first().copied().unwrap_or_default();
    let (top, bottom) = if up {
        (y - CLEAR + 4.0, y - 2.0)
    } else {
        (y + 2.0, y + CLEAR - 4.0)
    };
    Area {
        left: x + 7.0,
        top,
        right: x + sizes.label - 3.0,
        bottom,
    }
}
