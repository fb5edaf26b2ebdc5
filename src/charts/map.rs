//! The map: every cell coloured and lettered by what happens first there, with the lines between which it works.

use plotters::style::{Color, RGBColor};

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture, Type};
use super::frame::{NARROW_MARGIN, foot, heading, heading_height};
use super::scale::largest;
use super::style::{AXIS, BANDS, INK, LABEL, MUTED, OTHERS, PAPER, SMALL};
use super::text::wrap;
use crate::findings::words::{duration, figure};
use crate::study::map::{Axis, CellOutcome, CellPlace, ColumnEdge, ColumnWindow, Map, Spot};

/// Width of what is said at the right, pixels.
const LEGEND: f64 = 236.0;
/// From the left edge of the legend to its text, pixels.
const TEXT: f64 = 34.0;
/// Height of a verdict in the legend, of a line of a remark, and what is left free under a remark, pixels.
const ENTRY: f64 = 42.0;
const NOTE: f64 = 17.0;
const NOTE_GAP: f64 = 13.0;
/// How much of its colour a cell keeps that was not simulated.
const PALE: f64 = 0.42;

/// Height of the cells on a telephone, pixels, and of what their axes take below them.
const NARROW_CELLS: f64 = 290.0;
const NARROW_AXIS: f64 = 50.0;

/// The picture.
pub fn picture(map: &Map, format: Format) -> Picture {
    let (title, subtitle) = (map.answer(), subtitle(map));
    let height = match format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => {
            // The legend stands under the cells; how high it is its lines say before there is a canvas.
            let plot = Area {
                left: NARROW_MARGIN,
                top: 0.0,
                right: f64::from(NARROW) - NARROW_MARGIN,
                bottom: NARROW_CELLS,
            };
            let legend = MapBody { map, plot }.legend_height(plot.width());
            let above = heading_height(&title, &subtitle, NARROW) + 22.0;
            above + NARROW_CELLS + NARROW_AXIS + legend + 46.0
        }
    };
    format.picture(height, |canvas| {
        let question = &map.grid.question;
        let area = heading(canvas, &title, &subtitle);
        let runs = format!(
            "seed {}, up to {} runs of {} a cell",
            question.seed,
            question.runs,
            duration(question.hours * 3600.0)
        );
        foot(canvas, &map.grid.title, &runs);
        let (plot, legend) = places(&area, canvas.is_narrow());
        let sheet = MapBody { map, plot };
        sheet.cells(canvas);
        sheet.axes(canvas);
        sheet.lines(canvas);
        sheet.own(canvas);
        sheet.legend(canvas, &legend);
    })
}

/// Where the cells stand, and the legend: beside them, on a telephone below.
fn places(area: &Area, narrow: bool) -> (Area, Area) {
    let top = area.top + 22.0;
    if narrow {
        let plot = Area {
            left: area.left + 30.0,
            top,
            right: area.right,
            bottom: top + NARROW_CELLS,
        };
        let legend = Area {
            top: plot.bottom + NARROW_AXIS,
            ..*area
        };
        return (plot, legend);
    }
    let plot = Area {
        left: area.left + 52.0,
        top,
        right: area.right - LEGEND - 28.0,
        bottom: area.bottom - 40.0,
    };
    let legend = Area {
        left: area.right - LEGEND,
        top,
        ..*area
    };
    (plot, legend)
}

fn subtitle(map: &Map) -> String {
    if let Some(column) = map.main_column()
        && let Some(around) = map.around(column)
    {
        return around;
    }
    "What is wrong first, the gravest first.".to_owned()
}

/// The colour of a verdict, and of the letter on it; all from the bands, whose differences are tested.
fn colours(verdict: CellOutcome) -> (RGBColor, RGBColor) {
    match verdict {
        CellOutcome::Works => (BANDS[2], INK),
        CellOutcome::Starved => (BANDS[7], INK),
        CellOutcome::Backlog => (BANDS[9], INK),
        CellOutcome::Overflow => (BANDS[1], PAPER),
        CellOutcome::Jams => (BANDS[0], INK),
        CellOutcome::Gridlock => (BANDS[8], PAPER),
        CellOutcome::RunsDry => (BANDS[5], PAPER),
        CellOutcome::Impossible => (PAPER, OTHERS),
    }
}

/// What a verdict means, in the words of the legend.
fn meaning(verdict: CellOutcome) -> &'static str {
    match verdict {
        CellOutcome::Works => "good enough for the file",
        CellOutcome::Starved => "too few marbles, or too fast",
        CellOutcome::Backlog => "a pile deeper than allowed",
        CellOutcome::Overflow => "marbles spill or find no room",
        CellOutcome::Jams => "more jams than allowed",
        CellOutcome::Gridlock => "full elements block each other",
        CellOutcome::RunsDry => "every marble comes to rest",
        CellOutcome::Impossible => "no such machine",
    }
}

struct MapBody<'a> {
    map: &'a Map,
    plot: Area,
}

impl MapBody<'_> {
    fn size(&self) -> (f64, f64) {
        let question = &self.map.grid.question;
        (
            self.plot.width() / question.across.count as f64,
            self.plot.height() / question.along.count as f64,
        )
    }

    /// Columns run to the right, rows upwards; a fraction is a place within a cell.
    fn x(&self, column: f64) -> f64 {
        self.plot.left + column * self.size().0
    }

    fn y(&self, row: f64) -> f64 {
        self.plot.bottom - row * self.size().1
    }

    fn area(&self, place: CellPlace) -> Area {
        let (column, row) = (place.column as f64, place.row as f64);
        Area {
            left: self.x(column),
            right: self.x(column + 1.0),
            top: self.y(row + 1.0),
            bottom: self.y(row),
        }
    }

    fn cells(&self, canvas: &mut Canvas<'_>) {
        let (width, height) = self.size();
        let gap = if width.min(height) >= 8.0 { 0.75 } else { 0.0 };
        for (column, spots) in self.map.columns.iter().enumerate() {
            for (row, spot) in spots.iter().enumerate() {
                let all = self.area(CellPlace { column, row });
                let area = Area {
                    left: all.left + gap,
                    top: all.top + gap,
                    right: all.right - gap,
                    bottom: all.bottom - gap,
                };
                self.cell(canvas, spot, &area);
            }
        }
    }

    fn cell(&self, canvas: &mut Canvas<'_>, spot: &Spot, area: &Area) {
        let (colour, ink) = colours(spot.verdict());
        match spot {
            Spot::Simulated(_) => canvas.rect(area, colour),
            Spot::Inferred { .. } => canvas.rect(area, colour.mix(PALE)),
            Spot::Impossible { .. } => hatch(canvas, area),
        }
        let Some(cell) = spot.cell() else { return };
        let doubt = if cell.sure { "" } else { "?" };
        let sign = format!("{}{doubt}", cell.verdict.letter());
        let size = (area.height() * 0.66).min(14.0);
        let look = letter(size, ink);
        if size >= 8.0 && look.width(&sign) <= area.width() {
            canvas.text(
                (area.left + area.right) / 2.0,
                (area.top + area.bottom) / 2.0,
                &sign,
                look,
            );
        }
    }

    fn axes(&self, canvas: &mut Canvas<'_>) {
        let MapBody { map, plot } = self;
        let (along, across) = (&map.grid.question.along, &map.grid.question.across);
        let (width, height) = self.size();
        let numbers = (0..across.count).map(|n| across.value(n).to_string());
        let longest = largest(numbers.map(|number| SMALL.width(&number)));
        let every = (((longest + 12.0) / width).ceil() as usize).max(1);
        for column in (0..across.count).step_by(every) {
            let x = self.x(column as f64 + 0.5);
            canvas.text(
                x,
                plot.bottom + 13.0,
                &across.value(column).to_string(),
                SMALL.at(Anchor::Middle),
            );
        }
        let every = ((17.0 / height).ceil() as usize).max(1);
        for row in (0..along.count).step_by(every) {
            let y = self.y(row as f64 + 0.5);
            canvas.text(
                plot.left - 8.0,
                y,
                &along.value(row).to_string(),
                SMALL.at(Anchor::Right),
            );
        }
        canvas.text(plot.left, plot.top - 14.0, &axis_name(along), LABEL);
        canvas.text(
            plot.right,
            plot.bottom + 32.0,
            &axis_name(across),
            LABEL.at(Anchor::Right),
        );
    }

    /// The least and the most that works of every column, joined between neighbours, each with where the truth may lie.
    fn lines(&self, canvas: &mut Canvas<'_>) {
        let windows = &self.map.windows;
        for (column, window) in windows.iter().enumerate() {
            let Some(window) = window else {
                continue;
            };
            let (low, high) = self.ends(window);
            let (left, right) = (self.x(column as f64), self.x(column as f64 + 1.0));
            for y in [low, high] {
                canvas.line(&[(left, y), (right, y)], 3.0, INK);
            }
            if column == 0 || windows[column - 1].is_none() {
                canvas.line(&[(left, low), (left, high)], 3.0, INK);
            }
            if let Some(Some(next)) = windows.get(column + 1) {
                let (next_low, next_high) = self.ends(next);
                canvas.line(&[(right, low), (right, next_low)], 3.0, INK);
                canvas.line(&[(right, high), (right, next_high)], 3.0, INK);
            } else {
                canvas.line(&[(right, low), (right, high)], 3.0, INK);
            }
            self.whisker(canvas, column, &window.least, false);
            self.whisker(canvas, column, &window.most, true);
        }
    }

    /// Where the window of a column begins and ends.
    fn ends(&self, window: &ColumnWindow) -> (f64, f64) {
        (
            self.y(window.least.row as f64),
            self.y(window.most.row as f64 + 1.0),
        )
    }

    /// From the nearest cell outside that surely fails to the nearest inside that surely works, where they do not touch; an
    /// end that is not known has no cap.
    fn whisker(&self, canvas: &mut Canvas<'_>, column: usize, edge: &ColumnEdge, up: bool) {
        let rows = self.map.grid.question.along.count as f64;
        let (outer, inner, end) = if up {
            (0.0, 1.0, rows)
        } else {
            (1.0, 0.0, 0.0)
        };
        let fails = edge.fails.map(|row| row as f64 + outer);
        let works = edge.works.map(|row| row as f64 + inner);
        let (from, to) = (
            fails.unwrap_or(end),
            works.unwrap_or(edge.row as f64 + inner),
        );
        if from == to {
            return;
        }
        let x = self.x(column as f64 + 0.86);
        canvas.line(&[(x, self.y(from)), (x, self.y(to))], 1.5, INK);
        for row in [fails, works].into_iter().flatten() {
            canvas.line(&[(x - 4.0, self.y(row)), (x + 4.0, self.y(row))], 1.5, INK);
        }
    }

    /// Where the file's own values lie, in cells from the corner; `None` where that is off the map.
    fn own_place(&self) -> Option<(f64, f64)> {
        let (question, own) = (&self.map.grid.question, self.map.grid.own);
        let column = place_on(&question.across, own.1?)?;
        let row = place_on(&question.along, own.0?)?;
        Some((column, row))
    }

    fn own(&self, canvas: &mut Canvas<'_>) {
        if let Some((column, row)) = self.own_place() {
            let question = &self.map.grid.question;
            let within = |place: f64, count: usize| (place as usize).min(count - 1);
            let place = CellPlace {
                column: within(column, question.across.count),
                row: within(row, question.along.count),
            };
            framed(canvas, &self.area(place));
        }
    }

    fn any(&self, is: impl Fn(&Spot) -> bool) -> bool {
        self.map.columns.iter().flatten().any(is)
    }

    fn legend(&self, canvas: &mut Canvas<'_>, area: &Area) {
        let mut y = area.top + 9.0;
        for verdict in self.verdicts() {
            legend_entry(canvas, verdict, area.left, y);
            y += ENTRY;
        }
        y += 6.0;
        let text = area.left + TEXT;
        for (sign, says) in self.remarks() {
            sign.draw(canvas, area.left, y);
            y = note(canvas, (text, y), area.right - text, &says);
        }
    }

    /// How high the legend is where it is so wide.
    fn legend_height(&self, width: f64) -> f64 {
        let notes = self.remarks();
        let notes = notes
            .iter()
            .map(|(_, says)| NOTE * note_lines(says, width - TEXT).len() as f64 + NOTE_GAP);
        ENTRY * self.verdicts().count() as f64 + 6.0 + notes.sum::<f64>()
    }

    /// The verdicts that are somewhere on this map.
    fn verdicts(&self) -> impl Iterator<Item = CellOutcome> {
        CellOutcome::ALL
            .into_iter()
            .filter(|verdict| self.any(|spot| spot.verdict() == *verdict))
    }

    /// What else is drawn on this map, under the verdicts of the legend.
    fn remarks(&self) -> Vec<(RemarkSign, String)> {
        let mut all = Vec::new();
        if self.any(|spot| matches!(spot, Spot::Inferred { .. })) {
            let pale = "pale: not simulated, between two cells that are alike";
            all.push((RemarkSign::Pale, pale.to_owned()));
        }
        if self.any(|spot| matches!(spot, Spot::Simulated(cell) if !cell.sure)) {
            let unsure = "not 95 % sure after all runs";
            all.push((RemarkSign::Unsure, unsure.to_owned()));
        }
        if self.map.windows.iter().any(Option::is_some) {
            let whisker =
                "the least and the most that works; thin: from surely failing to surely working";
            all.push((RemarkSign::Whisker, whisker.to_owned()));
        }
        if let ((Some(along), Some(across)), Some(_)) = (self.map.grid.own, self.own_place()) {
            let question = &self.map.grid.question;
            let (along, across) = (
                own_value(&question.along, along),
                own_value(&question.across, across),
            );
            let own = format!("framed: the file, {along}, {across}");
            all.push((RemarkSign::Framed, own));
        }
        all
    }
}

/// What stands beside a remark of the legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum RemarkSign {
    Pale,
    Unsure,
    Whisker,
    Framed,
}

impl RemarkSign {
    fn draw(self, canvas: &mut Canvas<'_>, left: f64, y: f64) {
        match self {
            RemarkSign::Pale => canvas.rect(&swatch(left, y), MUTED.mix(0.25)),
            RemarkSign::Unsure => {
                canvas.text(left + 11.0, y, "?", letter(15.0, INK));
            }
            RemarkSign::Whisker => {
                canvas.line(&[(left, y), (left + 22.0, y)], 3.0, INK);
                canvas.line(&[(left + 18.0, y - 8.0), (left + 18.0, y + 8.0)], 1.5, INK);
            }
            RemarkSign::Framed => framed(canvas, &swatch(left, y)),
        }
    }
}

/// A value of the file as its other charts say it: a motor's speed is computed, with more digits than anybody wants.
fn own_value(axis: &Axis, value: f64) -> String {
    match axis.is_speed() {
        true => format!("{} rpm", figure(value)),
        false => axis.said(value),
    }
}

/// Where a value lies on an axis, in cells from its beginning; `None` where that is off the map.
fn place_on(axis: &Axis, value: f64) -> Option<f64> {
    let place = (value - axis.from) / axis.step + 0.5;
    Some(place).filter(|place| (0.0..=axis.count as f64).contains(place))
}

/// The look of the letters on cells.
fn letter(size: f64, colour: RGBColor) -> Type {
    Type::new(size, colour).bold().at(Anchor::Middle)
}

/// The patch of colour of a line of the legend.
fn swatch(left: f64, y: f64) -> Area {
    Area {
        left,
        right: left + 22.0,
        top: y - 9.0,
        bottom: y + 9.0,
    }
}

/// A verdict in the legend.
fn legend_entry(canvas: &mut Canvas<'_>, verdict: CellOutcome, left: f64, y: f64) {
    let (colour, ink) = colours(verdict);
    if verdict == CellOutcome::Impossible {
        hatch(canvas, &swatch(left, y));
    } else {
        canvas.rect(&swatch(left, y), colour);
        let sign = verdict.letter().to_string();
        canvas.text(left + 11.0, y, &sign, letter(13.0, ink));
    }
    canvas.text(left + TEXT, y - 6.0, verdict.name(), LABEL.bold());
    canvas.text(left + TEXT, y + 11.0, meaning(verdict), SMALL);
}

/// The lines of a remark of the legend.
fn note_lines(text: &str, width: f64) -> Vec<String> {
    wrap(text, SMALL.size, SMALL.weight, width, 3)
}

/// A remark of the legend; where the next one stands.
fn note(canvas: &mut Canvas<'_>, (left, mut y): (f64, f64), width: f64, text: &str) -> f64 {
    for line in note_lines(text, width) {
        canvas.text(left, y, &line, SMALL);
        y += NOTE;
    }
    y + NOTE_GAP
}

/// A frame that can be seen on any colour, and leaves free what is in it.
fn framed(canvas: &mut Canvas<'_>, area: &Area) {
    let corners = [
        (area.left, area.top),
        (area.right, area.top),
        (area.right, area.bottom),
        (area.left, area.bottom),
        (area.left, area.top),
    ];
    for (width, colour) in [(7.0, INK), (4.0, PAPER), (1.5, INK)] {
        canvas.line(&corners, width, colour);
    }
}

fn hatch(canvas: &mut Canvas<'_>, area: &Area) {
    canvas.rect(area, PAPER);
    canvas.hatched_band(
        &[
            (area.left, area.top, area.bottom),
            (area.right, area.top, area.bottom),
        ],
        true,
        AXIS,
    );
}

/// `load, marbles`; `bore of lift, mm`.
fn axis_name(axis: &Axis) -> String {
    match axis.unit_word() {
        "" => axis.name(),
        unit => format!("{}, {unit}", axis.name()),
    }
}
