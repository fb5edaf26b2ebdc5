//! The map: every cell coloured and lettered by what happens first there, with the lines between which it works.

use plotters::style::{Color, RGBColor};

use super::canvas::{Anchor, Area, Canvas, Picture, Type, picture as drawn};
use super::frame::{foot, heading};
use super::style::{AXIS, BANDS, INK, LABEL, MUTED, OTHERS, PAPER, SMALL};
use super::text::{Weight, wrap};
use crate::findings::words::duration;
use crate::study::map::{Axis, CellOutcome, ColumnEdge, Map, Spot};

/// Width of what is said at the right, pixels.
const LEGEND: f64 = 236.0;
/// Half of the mark of the file's own values, pixels.
const MARK: f64 = 11.0;
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
    let around = map.main_column().and_then(|column| map.around(column));
    around.unwrap_or_else(|| "What is wrong first, the gravest first.".to_owned())
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

    fn area(&self, column: usize, row: usize) -> Area {
        let (column, row) = (column as f64, row as f64);
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
                let all = self.area(column, row);
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
        let letter = format!(
            "{}{}",
            cell.verdict.letter(),
            if cell.sure { "" } else { "?" }
        );
        let size = (area.height() * 0.66).min(14.0);
        let look = Type {
            size,
            weight: Weight::Bold,
            colour: ink,
            anchor: Anchor::Middle,
        };
        if size >= 8.0 && look.width(&letter) <= area.width() {
            canvas.text(
                (area.left + area.right) / 2.0,
                (area.top + area.bottom) / 2.0,
                &letter,
                look,
            );
        }
    }

    fn axes(&self, canvas: &mut Canvas<'_>) {
        let MapBody { map, plot } = self;
        let (along, across) = (&map.grid.question.along, &map.grid.question.across);
        let (width, height) = self.size();
        let longest = longest_number(across);
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
        let sides = |column: usize| {
            windows
                .get(column)?
                .as_ref()
                .map(|window| (window.least, window.most))
        };
        for column in 0..windows.len() {
            let Some((least, most)) = sides(column) else {
                continue;
            };
            let (low, high) = (self.y(least.row as f64), self.y(most.row as f64 + 1.0));
            let (left, right) = (self.x(column as f64), self.x(column as f64 + 1.0));
            for y in [low, high] {
                canvas.line(&[(left, y), (right, y)], 3.0, INK);
            }
            let mut side = |next: Option<(ColumnEdge, ColumnEdge)>, x: f64| match next {
                Some((least, most)) => {
                    canvas.line(&[(x, low), (x, self.y(least.row as f64))], 3.0, INK);
                    canvas.line(&[(x, high), (x, self.y(most.row as f64 + 1.0))], 3.0, INK);
                }
                None => canvas.line(&[(x, low), (x, high)], 3.0, INK),
            };
            if column == 0 || sides(column - 1).is_none() {
                side(None, left);
            }
            side(sides(column + 1), right);
            self.whisker(canvas, column, &least, false);
            self.whisker(canvas, column, &most, true);
        }
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
        let question = &self.map.grid.question;
        let place = |axis: &Axis, own: Option<f64>| {
            let place = (own? - axis.from) / axis.step + 0.5;
            (0.0..=axis.count as f64).contains(&place).then_some(place)
        };
        Some((
            place(&question.across, self.map.grid.own.1)?,
            place(&question.along, self.map.grid.own.0)?,
        ))
    }

    fn own(&self, canvas: &mut Canvas<'_>) {
        if let Some((column, row)) = self.own_place() {
            diamond(canvas, self.x(column), self.y(row));
        }
    }

    fn legend(&self, canvas: &mut Canvas<'_>, left: f64) {
        let mut y = self.plot.top + 9.0;
        let text = left + 34.0;
        let shown = |verdict: &&CellOutcome| {
            self.map
                .columns
                .iter()
                .flatten()
                .any(|spot| spot.verdict() == **verdict)
        };
        for &verdict in CellOutcome::ALL.iter().filter(shown) {
            let (colour, ink) = colours(verdict);
            let swatch = Area {
                left,
                right: left + 22.0,
                top: y - 9.0,
                bottom: y + 9.0,
            };
            match verdict {
                CellOutcome::Impossible => hatch(canvas, &swatch),
                _ => canvas.rect(&swatch, colour),
            }
            let look = Type {
                size: 13.0,
                weight: Weight::Bold,
                colour: ink,
                anchor: Anchor::Middle,
            };
            if verdict != CellOutcome::Impossible {
                canvas.text(left + 11.0, y, &verdict.letter().to_string(), look);
            }
            canvas.text(text, y - 6.0, verdict.name(), LABEL.bold());
            canvas.text(text, y + 11.0, meaning(verdict), SMALL);
            y += 42.0;
        }
        y += 6.0;
        let any = |is: &dyn Fn(&Spot) -> bool| self.map.columns.iter().flatten().any(is);
        if any(&|spot| matches!(spot, Spot::Inferred { .. })) {
            canvas.rect(
                &Area {
                    left,
                    right: left + 22.0,
                    top: y - 9.0,
                    bottom: y + 9.0,
                },
                MUTED.mix(0.25),
            );
            y = note(
                canvas,
                text,
                y,
                "pale: not simulated, between two cells that are alike",
            );
        }
        if any(&|spot| spot.cell().is_some_and(|cell| !cell.sure)) {
            let look = Type {
                size: 15.0,
                weight: Weight::Bold,
                colour: INK,
                anchor: Anchor::Middle,
            };
            canvas.text(left + 11.0, y, "?", look);
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
            diamond(canvas, left + 11.0, y);
            let question = &self.map.grid.question;
            note(
                canvas,
                text,
                y,
                &format!(
                    "the file: {}, {}",
                    question.along.said(along),
                    question.across.said(across)
                ),
            );
        }
    }
}

/// A remark of the legend; where the next one stands.
fn note(canvas: &mut Canvas<'_>, left: f64, mut y: f64, text: &str) -> f64 {
    for line in wrap(text, SMALL.size, SMALL.weight, LEGEND - 34.0, 3) {
        canvas.text(left, y, &line, SMALL);
        y += 17.0;
    }
    y + 13.0
}

/// A diamond that can be seen on any colour, and what is in it too.
fn diamond(canvas: &mut Canvas<'_>, x: f64, y: f64) {
    let around = |r: f64| {
        [
            (x, y - r),
            (x + r, y),
            (x, y + r),
            (x - r, y),
            (x, y - r),
            (x + r, y),
        ]
    };
    canvas.line(&around(MARK), 5.0, PAPER);
    canvas.line(&around(MARK), 2.5, INK);
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

fn longest_number(axis: &Axis) -> f64 {
    (0..axis.count)
        .map(|n| SMALL.width(&axis.value(n).to_string()))
        .fold(0.0, f64::max)
}

/// `load, marbles`; `bore of lift, mm`.
fn axis_name(axis: &Axis) -> String {
    match axis.unit_word() {
        "" => axis.name(),
        unit => format!("{}, {unit}", axis.name()),
    }
}
