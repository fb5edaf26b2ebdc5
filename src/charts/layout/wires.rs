//! The ways as lines: down from a box, along a track of their own in the gap between two rows, on through the next row.

use std::iter::zip;

use super::order::Routes;
use super::place::{Places, WAY_IN};
use super::rows::Rows;
use super::{Graph, Layout, Sizes, Wire};
use crate::charts::canvas::Area;
use crate::charts::labels::{WantedPlace, side_by_side};

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
        for (k, g) in gaps_of(stops, rows).into_iter().enumerate() {
            gaps[g].push((link, k));
        }
        pieces.push(pieces_of(stops, rows, places, ends[link]));
    }
    let (mut tops, mut heights) = (Vec::new(), Vec::new());
    let mut y = 0.0;
    for (g, gap) in gaps.iter().enumerate() {
        let tracks = assign(gap, &mut pieces);
        let height = height(GapPlace::of(g, rows), gap, tracks);
        tops.push(y);
        heights.push(height);
        y += height + sizes.height;
    }
    let mut wires = Vec::new();
    for (link, &(from, to)) in graph.links.iter().enumerate() {
        let mut points = Vec::new();
        for (piece, g) in zip(&pieces[link], gaps_of(&routes.stops[link], rows)) {
            corners(piece, tops[g], heights[g], &mut points);
        }
        points.dedup();
        wires.push(Wire {
            from,
            to,
            label: label(&points, rows.rising[from], sizes),
            points,
        });
    }
    let mut boxes = Vec::new();
    for (n, &row) in rows.row.iter().enumerate() {
        let top = tops[row] + heights[row];
        let (x, half) = (places.x[n], places.half[n]);
        boxes.push(Area {
            left: x - half,
            top,
            right: x + half,
            bottom: top + sizes.height,
        });
    }
    Layout {
        boxes,
        rising: rows.rising.clone(),
        wires,
        width: places.width,
        height: y - sizes.height + EDGE,
    }
}

/// Where each link leaves its first box and enters its last, by link.
fn ends(graph: &Graph, routes: &Routes, places: &Places, sizes: &Sizes) -> Vec<[f64; 2]> {
    let mut ends = vec![[0.0; 2]; graph.links.len()];
    for n in 0..graph.lifts.len() {
        let mut out = Vec::new();
        for (link, _) in graph.links.iter().enumerate().filter(|(_, l)| l.0 == n) {
            out.push((places.x[routes.stops[link][1]], link));
        }
        out.sort_by(|a, b| a.0.total_cmp(&b.0));
        let middle = (out.len() as f64 - 1.0) / 2.0;
        for (k, &(_, link)) in out.iter().enumerate() {
            ends[link][0] = places.x[n] + (k as f64 - middle) * sizes.label;
        }
    }
    for n in 0..graph.lifts.len() {
        let mut into = Vec::new();
        for (link, _) in graph.links.iter().enumerate().filter(|(_, l)| l.1 == n) {
            let from = match routes.stops[link][..] {
                [_, _] => ends[link][0],
                [.., before, _] => places.x[before],
                _ => places.x[n],
            };
            into.push((from, link));
        }
        let (low, high) = (
            places.x[n] - places.half[n] + WAY_IN / 2.0,
            places.x[n] + places.half[n] - WAY_IN / 2.0,
        );
        for (link, x) in ways_in(&into, low, high) {
            ends[link][1] = x;
        }
    }
    ends
}

/// Where links, each with where it comes from, enter a box between `low` and `high`.
fn ways_in(from: &[(f64, usize)], low: f64, high: f64) -> Vec<(usize, f64)> {
    let mut wishes = Vec::new();
    for &(x, link) in from {
        wishes.push((wished(x, low, high, from.len()), link));
    }
    wishes.sort_by(|a, b| a.0.middle.total_cmp(&b.0.middle));
    let wanted: Vec<WantedPlace> = wishes.iter().map(|wish| wish.0).collect();
    let found = side_by_side(&wanted, low - WAY_IN / 2.0);
    let over = match found.last() {
        Some(last) => (last - high).max(0.0),
        None => 0.0,
    };
    let mut ways = Vec::new();
    for (k, (_, link)) in wishes.into_iter().enumerate() {
        ways.push((link, (found[k] - over).max(low + k as f64 * WAY_IN)));
    }
    ways
}

/// Straight down where that hits the box, which counts most; else in its middle, or towards the side it comes from if
/// others come too.
fn wished(x: f64, low: f64, high: f64, all: usize) -> WantedPlace {
    let (mean, quarter) = ((low + high) / 2.0, (high - low) / 4.0);
    let (middle, weight) = match x {
        x if (low..=high).contains(&x) => (x, 1000.0),
        _ if all == 1 => (mean, 1.0),
        x if x < low => (mean - quarter, 1.0),
        _ => (mean + quarter, 1.0),
    };
    WantedPlace {
        middle,
        weight,
        half: WAY_IN / 2.0,
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

/// The pieces of a link from where it leaves its first box to where it enters its last, one a gap.
fn pieces_of(stops: &[usize], rows: &Rows, places: &Places, [x0, x1]: [f64; 2]) -> Vec<Piece> {
    let last = stops.len() - 1;
    let up = rows.out_gap(stops[0]) > rows.in_gap(stops[last]);
    let mut pieces = Vec::new();
    for pair in stops.windows(2) {
        pieces.push(Piece {
            ends: [
                (places.x[pair[0]], lower_if(up)),
                (places.x[pair[1]], lower_if(!up)),
            ],
            track: None,
            change: None,
        });
    }
    pieces[0].ends[0] = (x0, lower_if(rows.rising[stops[0]]));
    pieces[last - 1].ends[1] = (x1, lower_if(!rows.rising[stops[last]]));
    pieces
}

fn lower_if(lower: bool) -> GapSide {
    if lower {
        GapSide::Lower
    } else {
        GapSide::Upper
    }
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
        for (upper, _) in self.ends.iter().filter(|end| end.1 == GapSide::Upper) {
            let mut under = other.ends.iter().filter(|end| end.1 == GapSide::Lower);
            if under.any(|(lower, _)| (upper - lower).abs() < NEAR) {
                return true;
            }
        }
        false
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
        let joint = (x, GapSide::Between);
        [(1, [upper, joint]), (2, [joint, lower])].map(|(half, ends)| TrackSearch {
            half,
            piece: Piece { ends, ..self.piece },
            ..*self
        })
    }
}

/// Gives every piece of a gap that is not straight a track of its own wherever it would touch another; returns how many
/// tracks there are. The first free track is taken, from above (the left-edge method of channel routing: Hashimoto &
/// Stevens, "Wire routing by optimizing channel assignment within large apertures", 1971); of pieces that would each have
/// to run above the next in a circle, one changes its track half-way.
fn assign(gap: &[(usize, usize)], pieces: &mut [Vec<Piece>]) -> usize {
    let (mut open, mut taken) = (Vec::new(), Vec::new());
    for &at in gap {
        let piece = pieces[at.0][at.1];
        taken.extend(piece.ends.map(|end| end.0));
        if !piece.is_straight() {
            open.push(TrackSearch { at, half: 0, piece });
        }
    }
    open.sort_by(|a, b| {
        let (a, b) = (a.piece.key(), b.piece.key());
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let mut done: Vec<TrackSearch> = Vec::new();
    while !open.is_empty() {
        let Some(at) = (0..open.len()).find(|&at| !open.iter().any(|other| other.above(&open[at])))
        else {
            let at = open.iter().position(|search| search.half == 0).unwrap_or(0);
            let whole = open.remove(at);
            let x = free_place(&whole.piece, &taken);
            taken.push(x);
            open.splice(at..at, whole.halves(x));
            continue;
        };
        let mut search = open.remove(at);
        search.piece.track = Some(free_track(&done, &search));
        done.push(search);
    }
    for search in &done {
        let piece = &mut pieces[search.at.0][search.at.1];
        match (search.half, search.piece.track) {
            (2, Some(track)) => piece.change = Some((search.piece.ends[0].0, track)),
            (_, track) => piece.track = track,
        }
    }
    tracks(&done)
}

/// How many tracks are taken.
fn tracks<'a>(searches: impl IntoIterator<Item = &'a TrackSearch>) -> usize {
    let mut tracks = 0;
    for search in searches {
        if let Some(track) = search.piece.track {
            tracks = tracks.max(track + 1);
        }
    }
    tracks
}

/// The uppermost track under all that must run above `search` on which it touches nothing.
fn free_track(done: &[TrackSearch], search: &TrackSearch) -> usize {
    let mut track = tracks(done.iter().filter(|other| other.above(search)));
    while !is_free(done, track, search.piece.span()) {
        track += 1;
    }
    track
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
fn free_place(piece: &Piece, taken: &[f64]) -> f64 {
    let (left, right) = piece.span();
    let middle = (left + right) / 2.0;
    for k in 0..400 {
        for x in [middle + f64::from(k), middle - f64::from(k)] {
            if taken.iter().all(|other| (other - x).abs() > NEAR) {
                return x;
            }
        }
    }
    middle
}

/// Where a gap lies.
#[derive(Clone, Copy, PartialEq, Eq)]
enum GapPlace {
    /// Above all rows.
    Top,
    /// Between two rows.
    Between,
    /// Under all rows.
    Bottom,
}

impl GapPlace {
    fn of(g: usize, rows: &Rows) -> Self {
        match g {
            0 => GapPlace::Top,
            _ if g == rows.count => GapPlace::Bottom,
            _ => GapPlace::Between,
        }
    }
}

/// Height of a gap; the outermost ones need room on one side only, and none where nothing runs through them.
fn height(place: GapPlace, gap: &[(usize, usize)], tracks: usize) -> f64 {
    let outermost = place != GapPlace::Between;
    let sides = if outermost { 1.0 } else { 2.0 };
    if gap.is_empty() {
        return if outermost { 0.0 } else { CLEAR };
    }
    // Above the uppermost track there is nothing to stand off from.
    let above = if place == GapPlace::Top { TOP } else { 0.0 };
    above + sides * CLEAR + (tracks.saturating_sub(1)) as f64 * TRACK
}

fn corners(piece: &Piece, top: f64, height: f64, points: &mut Vec<(f64, f64)>) {
    let [(x0, side0), (x1, side1)] = piece.ends;
    let [begin, end] = [side0, side1].map(|side| match side {
        GapSide::Upper => top,
        _ => top + height,
    });
    points.push((x0, begin));
    match (piece.track, piece.change) {
        (None, _) => return points.push((x0, end)),
        (Some(track), None) => {
            let y = track_y(track, top);
            points.extend([(x0, y), (x1, y)]);
        }
        (Some(upper), Some((x, lower))) => {
            let (upper, lower) = (track_y(upper, top), track_y(lower, top));
            let (first, second) = if side0 == GapSide::Upper {
                (upper, lower)
            } else {
                (lower, upper)
            };
            points.extend([(x0, first), (x, first), (x, second), (x1, second)]);
        }
    }
    points.push((x1, end));
}

/// How far down a track of a gap runs.
fn track_y(track: usize, top: f64) -> f64 {
    let above = if top == 0.0 { TOP } else { CLEAR };
    top + above + track as f64 * TRACK
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
