//! The map: every cell coloured and lettered by what happens first there, with the lines between which it works.

use plotters::style::{Color, RGBColor};

use super::canvas::{Anchor, Area, Canvas, Picture, Type, picture as drawn};
use super::frame::{foot, heading};
use super::scale::largest;
use super::style::{AXIS, BANDS, INK, LABEL, MUTED, OTHERS, PAPER, SMALL};
use super::text::wrap;
use crate::findings::words::duration;
use crate::study::map::{Axis, CellOutcome, CellPlace, ColumnEdge, ColumnWindow, Map, Spot};

/// Width of what is said at the right, pixels.
const LEGEND: f64 = 236.0;
/// From the left edge of the legend to its text, pixels.
const TEXT: f64 = 34.0;
/// How much of its colour a cell keeps that was not simulated.
const PALE: f64 = 0.42;

/// The picture.
pub fn picture(map: &Map) -> Picture {
    drawn(|canvas| {
        let question = &map.grid.question;
        let area = heading(canvas, &map.answer(), &subtitle(map));
        let runs = format!(
            "seed {}, up to {} runs of {} a cell",
            question.seed,
            question.runs,
            duration(question.hours * 3600.0)
        );
        foot(canvas, &map.grid.title, &runs);
        let plot = Area {
            left: area.left + 52.0,
            top: area.top + 22.0,
            right: area.right - LEGEND - 28.0,
            bottom: area.bottom - 40.0,
        };
        let sheet = MapBody { map, plot };
        sheet.cells(canvas);
        sheet.axes(canvas);
        sheet.lines(canvas);
        sheet.own(canvas);
        sheet.legend(canvas, area.right - LEGEND);
    })
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

    fn legend(&self, canvas: &mut Canvas<'_>, left: f64) {
        let mut y = self.plot.top + 9.0;
        for verdict in CellOutcome::ALL {
            if self.any(|spot| spot.verdict() == verdict) {
                legend_entry(canvas, verdict, left, y);
                y += 42.0;
            }
        }
        self.remarks(canvas, left, y + 6.0);
    }

    /// What else is drawn on this map, under the verdicts of the legend.
    fn remarks(&self, canvas: &mut Canvas<'_>, left: f64, mut y: f64) {
        let text = left + TEXT;
        if self.any(|spot| matches!(spot, Spot::Inferred { .. })) {
            canvas.rect(&swatch(left, y), MUTED.mix(0.25));
            let pale = "pale: not simulated, between two cells that are alike";
            y = note(canvas, text, y, pale);
        }
        if self.any(|spot| matches!(spot, Spot::Simulated(cell) if !cell.sure)) {
            canvas.text(left + 11.0, y, "?", letter(15.0, INK));
            y = note(canvas, text, y, "not 95 % sure after all runs");
        }
        if self.map.windows.iter().any(Option::is_some) {
            canvas.line(&[(left, y), (left + 22.0, y)], 3.0, INK);
            canvas.line(&[(left + 18.0, y - 8.0), (left + 18.0, y + 8.0)], 1.5, INK);
            let whisker =
                "the least and the most that works; thin: from surely failing to surely working";
            y = note(canvas, text, y, whisker);
        }
        if let ((Some(along), Some(across)), Some(_)) = (self.map.grid.own, self.own_place()) {
            framed(canvas, &swatch(left, y));
            let question = &self.map.grid.question;
            let (along, across) = (question.along.said(along), question.across.said(across));
            note(
                canvas,
                text,
                y,
                &format!("framed: the file, {along}, {across}"),
            );
        }
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

/// A remark of the legend; where the next one stands.
fn note(canvas: &mut Canvas<'_>, left: f64, mut y: f64, text: &str) -> f64 {
    for line in wrap(text, SMALL.size, SMALL.weight, LEGEND - TEXT, 3) {
        canvas.text(left, y, &line, SMALL);
        y += 17.0;
    }
    y + 13.0
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
