//! The leaf of readings: moisture with the line that it must come under, air, coats, words of
//! the test. Points are joined by straight lines; nothing is smoothed.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};
use ratatui::layout::Rect;

use crate::card::WordScale;
use crate::standing::{Depth, TimePoint, is_one_round, words};

use super::super::column::Column;
use super::super::hand::list_skip;
use super::super::ink::{Ink, cells};
use super::super::keys::Act;
use super::super::look::Tone;
use super::super::pane::Pane;
use super::dots::{Dots, whole};
use super::roll::Roll;
use super::seen::{Dossier, PlotOf};
use crate::reckon::counted;

/// Cells of the numbers left of a plot.
const AXIS: u16 = 9;

/// Most lines of one plot; more cannot be told apart.
const MOST_LINES: usize = 8;

/// Tones of lines, in turn; each line also has a letter at its end.
const TONES: [Tone; 4] = [Tone::Gilt, Tone::Verdigris, Tone::Bole, Tone::Chalk];

/// One line of a plot.
struct Line {
    name: String,
    points: Vec<TimePoint>,
}

/// A plot, ready to be drawn.
struct Plot {
    title: String,
    unit: &'static str,
    lines: Vec<Line>,
    /// Names of the lines left out.
    undrawn: Vec<String>,
    /// A level to hold against, and its name.
    level: Option<(f64, String)>,
    /// Words for whole numbers of the axis, from 0; numbers where empty.
    ticks: &'static [&'static str],
}

impl Plot {
    /// Whether measures were all read in one round; coats and words have no unit.
    fn is_one_round(&self) -> bool {
        let points = self.lines.iter().flat_map(|line| &line.points);
        !self.unit.is_empty() && is_one_round(points.map(|point| point.at))
    }
}

/// Draws the leaf.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let at = pane
        .view
        .dossier
        .plot
        .min(dossier.plots.len().saturating_sub(1));
    let Some(of) = dossier.plots.get(at) else {
        Column::new(ink, area).line("nothing was read over time yet", Tone::Rubbed);
        return;
    };
    let wide = (area.width / 4).clamp(18, 30);
    let list = Rect {
        x: area.right().saturating_sub(wide),
        width: wide,
        ..area
    };
    let field = Rect {
        width: area.width.saturating_sub(wide + 1),
        ..area
    };
    let plot = plot(of, dossier);
    let used = plots(ink, list, (pane, dossier), at);
    if plot.is_one_round() {
        return one_round(ink, field, &plot, pane);
    }
    let legend = Rect {
        y: list.y + used,
        height: list.height.saturating_sub(used),
        ..list
    };
    names(ink, legend, &plot, pane.view.scroll);
    lay_out(ink, field, &plot, pane);
}

fn plots(
    ink: &mut Ink<'_>,
    area: Rect,
    (pane, dossier): (&Pane<'_>, &Dossier),
    shown: usize,
) -> u16 {
    let skip = list_skip(pane.view, dossier.plots.len());
    let mut column = Column::new(ink, area);
    for (nth, of) in dossier.plots.iter().enumerate().skip(skip).take(9) {
        let row = column.rest();
        column.pick(nth - skip + 1, &format!("  {}", name(dossier, of)), "");
        if nth == shown {
            column.ink.put((row.x + 4, row.y), "▸", Tone::Gilt, 1);
        }
    }
    if dossier.plots.len() > 9 {
        column.keys(&[("0", "more", Act::More)]);
    }
    area.height - column.free() + 1
}

fn name(dossier: &Dossier, of: &PlotOf) -> String {
    match of {
        PlotOf::Moisture(target) if target.is_empty() => "moisture".to_owned(),
        // The place first: a narrow list cuts off the end.
        PlotOf::Moisture(target) => format!("{}, moisture", dossier.zone_name(target)),
        PlotOf::Warmth => "air, warmth".to_owned(),
        PlotOf::Humidity => "air, humidity".to_owned(),
        PlotOf::Coats => "coats".to_owned(),
        PlotOf::Words => "knuckle test".to_owned(),
    }
}

fn plot(of: &PlotOf, dossier: &Dossier) -> Plot {
    let mut plot = Plot {
        title: name(dossier, of),
        unit: "",
        lines: Vec::new(),
        undrawn: Vec::new(),
        level: None,
        ticks: &[],
    };
    match of {
        PlotOf::Moisture(target) => moisture(&mut plot, dossier, target),
        PlotOf::Warmth => {
            plot.unit = "°C";
            plot.lines = one(&dossier.air.room, &dossier.air.temp_c);
        }
        PlotOf::Humidity => {
            plot.unit = "%";
            plot.lines = one(&dossier.air.room, &dossier.air.humidity_percent);
        }
        PlotOf::Coats => plot.lines = coats(dossier),
        PlotOf::Words => {
            plot.ticks = words(WordScale::Tack).0;
            plot.lines = said(dossier);
        }
    }
    // What is told in words needs no line that can be told apart.
    if !plot.is_one_round() {
        let undrawn = plot.lines.iter().skip(MOST_LINES);
        plot.undrawn = undrawn.map(|line| line.name.clone()).collect();
        plot.lines.truncate(MOST_LINES);
    }
    plot
}

fn one(name: &str, points: &[TimePoint]) -> Vec<Line> {
    vec![Line {
        name: name.to_owned(),
        points: points.to_vec(),
    }]
}

/// The wettest last reading first: the worst point counts.
fn moisture(plot: &mut Plot, dossier: &Dossier, target: &str) {
    plot.unit = "%";
    plot.level = Some((dossier.target, format!("at most {} %", dossier.target)));
    let here = dossier
        .moisture
        .iter()
        .filter(|series| series.target.as_deref().unwrap_or_default() == target);
    plot.lines = here
        .map(|series| {
            let depth = match series.depth {
                Depth::Skin => "skin",
                Depth::Core => "core",
            };
            Line {
                name: format!("{} {depth}", series.point),
                points: series.points.clone(),
            }
        })
        .collect();
    let last = |line: &Line| line.points.last().map_or(0.0, |point| point.value);
    plot.lines
        .sort_by(|one, other| last(other).total_cmp(&last(one)));
}

/// Coats add up, whatever was laid: the count of a zone.
fn coats(dossier: &Dossier) -> Vec<Line> {
    let mut lines: BTreeMap<&str, Vec<TimePoint>> = BTreeMap::new();
    for coat in &dossier.coats {
        let points = lines.entry(dossier.zone_name(&coat.target)).or_default();
        let before = points.last().map_or(0.0, |point| point.value);
        // A step: between two coats there is no part of one.
        points.extend([before, before + 1.0].map(|value| TimePoint { at: coat.at, value }));
    }
    named(lines)
}

fn said(dossier: &Dossier) -> Vec<Line> {
    let mut lines: BTreeMap<String, Vec<TimePoint>> = BTreeMap::new();
    for word in &dossier.words {
        let step = word.step.and_then(|step| u32::try_from(step).ok());
        if let Some(step) = step {
            let name = format!("{} {}", dossier.zone_name(&word.target), word.place);
            lines.entry(name).or_default().push(TimePoint {
                at: word.at,
                value: f64::from(step),
            });
        }
    }
    named(lines)
}

fn named<N: Into<String>>(lines: BTreeMap<N, Vec<TimePoint>>) -> Vec<Line> {
    let lines = lines.into_iter();
    lines
        .map(|(name, points)| Line {
            name: name.into(),
            points,
        })
        .collect()
}

fn letter(nth: usize) -> char {
    u8::try_from(nth).map_or('?', |nth| char::from(b'a'.saturating_add(nth.min(25))))
}

fn tone(nth: usize) -> Tone {
    TONES.get(nth % TONES.len()).copied().unwrap_or_default()
}

fn names(ink: &mut Ink<'_>, area: Rect, plot: &Plot, scroll: usize) {
    let mut roll = Roll::new(area.width);
    for (nth, line) in plot.lines.iter().enumerate() {
        let last = line
            .points
            .last()
            .map_or_else(String::new, |point| format!(" {}", tick(plot, point.value)));
        roll.wrap(&format!("{} {}{last}", letter(nth), line.name), tone(nth));
    }
    if !plot.undrawn.is_empty() {
        let words = format!("{} not drawn", counted(plot.undrawn.len(), "more line"));
        roll.wrap(&words, Tone::Rubbed);
        for name in &plot.undrawn {
            roll.wrap(&format!("  {name}"), Tone::Rubbed);
        }
    }
    if let Some((_, name)) = &plot.level {
        roll.wrap(&format!("┄ {name}"), Tone::Rubbed);
    }
    roll.draw(ink, area, scroll);
}

/// Readings of one round, in words: a curve over an hour tells of nothing that changed.
fn one_round(ink: &mut Ink<'_>, area: Rect, plot: &Plot, pane: &Pane<'_>) {
    let zone = pane.sight.now.offset();
    let mut roll = Roll::new(area.width);
    roll.wrap(&format!("{}, read in one round:", plot.title), Tone::Gilt);
    for line in &plot.lines {
        for point in &line.points {
            let at = point.at.with_timezone(zone).format("%d %b %H:%M");
            let value = tick(plot, point.value);
            let words = format!("{}: {value} {}, {at}", line.name, plot.unit);
            roll.wrap(&words, Tone::Chalk);
        }
    }
    if let Some((_, name)) = &plot.level {
        roll.wrap(name, Tone::Rubbed);
    }
    roll.draw(ink, area, pane.view.scroll);
}

/// The range of values and moments shown.
struct Range {
    low: f64,
    high: f64,
    from: DateTime<FixedOffset>,
    to: DateTime<FixedOffset>,
}

impl Range {
    fn of(plot: &Plot) -> Option<Self> {
        let points = || plot.lines.iter().flat_map(|line| &line.points);
        let level = plot.level.as_ref().map(|(level, _)| *level);
        let values = || points().map(|point| point.value).chain(level);
        let (low, high) = (values().reduce(f64::min)?, values().reduce(f64::max)?);
        let air = ((high - low) * 0.1).max(0.5);
        Some(Self {
            low: if 0.0 <= low {
                (low - air).max(0.0)
            } else {
                low - air
            },
            high: high + air,
            from: points().map(|point| point.at).min()?,
            to: points().map(|point| point.at).max()?,
        })
    }

    /// A value as a row of dots from the top.
    fn row(&self, value: f64, height: u16) -> f64 {
        let dots = f64::from(height) * 4.0 - 1.0;
        (self.high - value) / (self.high - self.low) * dots
    }

    /// A moment as a share of the width.
    fn share(&self, at: DateTime<FixedOffset>) -> f64 {
        let millis = |span: chrono::TimeDelta| {
            #[expect(
                clippy::cast_precision_loss,
                reason = "milliseconds of centuries fit in a double"
            )]
            let millis = span.num_milliseconds() as f64;
            millis
        };
        let all = millis(self.to - self.from);
        if 0.0 < all {
            millis(at - self.from) / all
        } else {
            0.5
        }
    }
}

fn lay_out(ink: &mut Ink<'_>, area: Rect, plot: &Plot, pane: &Pane<'_>) {
    let title = if plot.unit.is_empty() {
        plot.title.clone()
    } else {
        format!("{}, {}", plot.title, plot.unit)
    };
    ink.put((area.x, area.y), &title, Tone::Gilt, area.width);
    let field = Rect {
        x: area.x + AXIS,
        y: area.y + 1,
        width: area.width.saturating_sub(AXIS + 2),
        height: area.height.saturating_sub(2),
    };
    let Some(range) = Range::of(plot).filter(|_| 2 < field.height && 4 < field.width) else {
        return;
    };
    axis(ink, (area, field), plot, &range);
    dates(ink, area, &range, pane);
    let place = |value: f64| range.row(value, field.height);
    if let Some((level, _)) = plot.level
        && let Some(row) =
            whole((place(level) / 4.0).floor()).and_then(|row| u16::try_from(row).ok())
    {
        let line: String = std::iter::repeat_n('┄', usize::from(field.width)).collect();
        ink.put((field.x, field.y + row), &line, Tone::Rubbed, field.width);
    }
    let wide = f64::from(field.width) * 2.0 - 1.0;
    // Lines that share a cell share its sign, so that none tears a hole into another.
    let mut dots = Dots::new(field.width, field.height);
    for (nth, line) in plot.lines.iter().enumerate() {
        let at = |point: &TimePoint| [range.share(point.at) * wide, place(point.value)];
        let mut own = Dots::new(field.width, field.height);
        if let [only] = line.points.as_slice() {
            own.line(at(only), at(only));
        }
        for pair in line.points.windows(2) {
            if let [from, to] = pair {
                own.line(at(from), at(to));
            }
        }
        dots.add(&own);
        for y in 0..field.height {
            for x in 0..field.width {
                if let (Some(_), Some(sign)) = (own.sign(x, y), dots.sign(x, y)) {
                    let at = (field.x + x, field.y + y);
                    ink.put(at, &sign.to_string(), tone(nth), 1);
                }
            }
        }
        let Some([x, y]) = line.points.last().map(at) else {
            continue;
        };
        let cell = (whole((x / 2.0).floor()), whole((y / 4.0).floor()));
        if let (Some(x), Some(y)) = cell
            && let (Ok(x), Ok(y)) = (u16::try_from(x), u16::try_from(y))
        {
            let at = (field.x + x + 1, field.y + y.min(field.height - 1));
            ink.put(at, &letter(nth).to_string(), tone(nth), 1);
        }
    }
}

fn tick(plot: &Plot, value: f64) -> String {
    let word = whole(value).and_then(|step| plot.ticks.get(step));
    match word {
        Some(word) => (*word).to_owned(),
        None if plot.unit.is_empty() => format!("{value:.0}"),
        None => format!("{value:.1}"),
    }
}

fn axis(ink: &mut Ink<'_>, (area, field): (Rect, Rect), plot: &Plot, range: &Range) {
    for row in 0..field.height {
        ink.put((field.x - 1, field.y + row), "│", Tone::Rubbed, 1);
    }
    // Words and counts stand at whole numbers only.
    let least = if plot.unit.is_empty() { 1.0 } else { 1e-3 };
    let step = tick_step(range, field.height, least);
    let mut value = (range.low / step).ceil() * step;
    while value <= range.high {
        let row = whole((range.row(value, field.height) / 4.0).floor());
        if let Some(row) = row.and_then(|row| u16::try_from(row).ok()) {
            let words = tick(plot, value);
            let x = area.x + (AXIS - 1).saturating_sub(cells(&words));
            ink.put((x, field.y + row), &words, Tone::Rubbed, AXIS - 1);
        }
        value += step;
    }
}

/// A step of 1, 2 or 5 times a power of ten, so that numbers stand three rows apart or more.
fn tick_step(range: &Range, rows: u16, least: f64) -> f64 {
    let least = least.max((range.high - range.low) * 3.0 / f64::from(rows.max(1)));
    let power = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * power);
    steps
        .into_iter()
        .find(|step| least <= *step)
        .unwrap_or(10.0 * power)
}

fn dates(ink: &mut Ink<'_>, area: Rect, range: &Range, pane: &Pane<'_>) {
    let zone = pane.sight.now.offset();
    let words =
        |at: DateTime<FixedOffset>| at.with_timezone(zone).format("%d %b %H:%M").to_string();
    let row = Rect {
        y: area.bottom().saturating_sub(1),
        height: 1,
        ..area
    };
    if range.from == range.to {
        // One moment stands under its point, in the middle.
        let words = words(range.from);
        let middle = (row.width.saturating_sub(AXIS + 2 + cells(&words))) / 2;
        ink.put(
            (row.x + AXIS + middle, row.y),
            &words,
            Tone::Rubbed,
            row.width,
        );
        return;
    }
    ink.put(
        (row.x + AXIS, row.y),
        &words(range.from),
        Tone::Rubbed,
        row.width,
    );
    ink.put_right(row, 0, &words(range.to), Tone::Rubbed);
}
