//! The Floor screen: every figure of the shop against the journey, what it waits for and since
//! when, and the promises at risk. Few figures have three rows each; many have two, or one on
//! a wide page.

use ratatui::layout::Rect;

use crate::card::Flaw;
use crate::standing::{FloorRow, Leg, UNREAD};

use super::column::Column;
use super::floor_rows::{AtRisk, is_done, leg, shown, sought, state};
use super::ink::{Ink, cells, cut};
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::times;
use crate::reckon::counted;

/// From this width on a figure among many has one row, cells.
const ONE_ROW_WIDTH: u16 = 150;

/// The most of a row that a name and its room take, cells.
const NAME_WIDTH: u16 = 46;

/// What a row among many keeps for how far and by when, cells.
const HEAD_WIDTH: u16 = 38;

/// Draws the floor.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let all = &pane.sight.floor;
    let mut column = Column::new(ink, area);
    if all.is_empty() {
        column.line("no figure is in the shop", Tone::Rubbed);
        return;
    }
    column.line(&counts(pane), Tone::Chalk);
    let rows = shown(pane.view, pane.sight);
    let room = Rect {
        y: area.y + 2,
        height: area.height.saturating_sub(3),
        ..area
    };
    let form = Form::of(room, rows.len());
    let fit = usize::from(room.height / form.height());
    let skip = pane.view.skip.min(rows.len().saturating_sub(fit));
    let seen = rows.get(skip..).unwrap_or_default();
    let seen = seen.get(..fit.min(seen.len())).unwrap_or_default();
    position(&mut column, pane, (skip, seen.len(), rows.len()));
    column.ink.rows(fit);
    let mut column = Column::new(ink, room);
    for (row, place) in seen.iter().zip(1..) {
        figure(&mut column, (pane, form), row, place);
    }
    if rows.is_empty() {
        column.line("no figure has these words; Esc shows all", Tone::Rubbed);
    }
    legend(ink, area);
}

/// How much room a figure has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Three rows and one between.
    Wide,
    /// Three rows.
    Three,
    /// Two rows.
    Two,
    /// One row.
    One,
}

impl Form {
    fn of(room: Rect, rows: usize) -> Self {
        let fits = |form: Self| rows * usize::from(form.height()) <= usize::from(room.height);
        let forms = [Self::Wide, Self::Three, Self::Two];
        let many = if room.width < ONE_ROW_WIDTH {
            Self::Two
        } else {
            Self::One
        };
        forms.into_iter().find(|form| fits(*form)).unwrap_or(many)
    }

    fn height(self) -> u16 {
        match self {
            Self::Wide => 4,
            Self::Three => 3,
            Self::Two => 2,
            Self::One => 1,
        }
    }
}

/// How many figures stand how; what somebody must see to first, for a narrow screen cuts the end.
fn counts(pane: &Pane<'_>) -> String {
    let all = &pane.sight.floor;
    let mut words = vec![counted(all.len(), "figure")];
    let stand = |word: &str| {
        let mut signs = all.iter().map(state).filter(|sign| sign.word == word);
        let sign = signs.next()?;
        Some(format!("{} {} {word}", sign.symbol, signs.count() + 1))
    };
    words.extend(stand("over"));
    let risk = pane.sight.at_risk.len();
    if 0 < risk {
        let noted = pane.sight.risk_noted.map_or_else(String::new, |at| {
            format!(", as noted {}", at.format("%a %-d %b"))
        });
        words.push(format!("▲ {} at risk{noted}", counted(risk, "promise")));
    }
    let sum = |count: fn(&FloorRow) -> usize| all.iter().map(count).sum();
    words.extend(asks([
        sum(|row| row.holds),
        sum(|row| row.unanswered),
        sum(|row| row.refused),
    ]));
    words.extend(
        ["come", "in hand", "waits", "free", "done"]
            .iter()
            .filter_map(|word| stand(word)),
    );
    if pane.sight.reckoning {
        words.push("promises: reckoning…".to_owned());
    }
    words.join(" · ")
}

/// What is to be signed, to be answered, and was refused.
fn asks([holds, unanswered, refused]: [usize; 3]) -> impl Iterator<Item = String> {
    let words = [
        (holds, "✎", "to sign"),
        (unanswered, "?", "to answer"),
        (refused, "✗", "refused"),
    ];
    let some = words.into_iter().filter(|(count, ..)| 0 < *count);
    some.map(|(count, sign, word)| format!("{sign} {count} {word}"))
}

/// In which order, which of all, and what was sought.
fn position(column: &mut Column<'_, '_>, pane: &Pane<'_>, (skip, seen, of): (usize, usize, usize)) {
    let first = if seen == 0 { 0 } else { skip + 1 };
    let place = format!("{first}–{} of {of}", skip + seen);
    let rest = column.rest();
    column.ink.put_right(rest, 0, &place, Tone::Gilt);
    let mut keys = vec![(
        "o",
        format!("first: {}", pane.view.floor.order.words()),
        Act::Order,
    )];
    let sought = sought(pane.view);
    let find = if sought.is_empty() {
        "seek a figure".to_owned()
    } else {
        format!("sought: {sought}")
    };
    keys.push(("/", find, Act::Find));
    let mut x = rest.x;
    for (shown, words, act) in keys {
        let room = rest.right().saturating_sub(x + cells(&place) + 6);
        let words = cut(&words, room);
        let tones = [Tone::GiltPlate, Tone::Rubbed];
        x += column.ink.key((x, rest.y), (shown, &words), act, tones) + 1;
    }
}

/// What the signs of the bar mean.
fn legend(ink: &mut Ink<'_>, area: Rect) {
    let y = area.bottom().saturating_sub(1);
    let mut x = area.x;
    for it in [Leg::Done, Leg::AtWork, Leg::Ahead, Leg::Off] {
        let room = area.right().saturating_sub(x);
        x += ink.sign(x, y, leg(it), room) + 2;
    }
    let words = "the journey from left to right";
    ink.put((x, y), words, Tone::Rubbed, area.right().saturating_sub(x));
}

fn figure(
    column: &mut Column<'_, '_>,
    (pane, form): (&Pane<'_>, Form),
    row: &FloorRow,
    place: usize,
) {
    let at = column.rest();
    let whole = Rect {
        height: form.height().min(at.height),
        ..at
    };
    column.ink.touch(whole, touched(place));
    if place <= 9 {
        let cap = format!(" {place} ");
        column.ink.put((at.x, at.y), &cap, Tone::GiltPlate, 3);
    }
    let name_width = NAME_WIDTH.min((at.width * 3 / 10).max(20));
    let name = format!("{} · {}", row.name, row.room);
    column
        .ink
        .put((at.x + 4, at.y), &name, Tone::Chalk, name_width);
    let bar_x = at.x + 4 + name_width + 1;
    let bar = bar(column.ink, (bar_x, at.y), &row.journey);
    let free = match form {
        Form::One => HEAD_WIDTH,
        _ => at.right().saturating_sub(bar_x + bar + 1),
    };
    let risk = pane.sight.at_risk.get(&row.figure).copied();
    let head = heads(row, risk)
        .into_iter()
        .find(|words| cells(words) <= free);
    let tone = if risk.is_some() {
        Tone::Bole
    } else {
        Tone::Rubbed
    };
    let x = bar_x + bar + 1;
    if let Some(words) = &head {
        column.ink.put((x, at.y), words, tone, free);
    }
    if form == Form::One {
        let x = x + HEAD_WIDTH + 1;
        let room = at.right().saturating_sub(x);
        says(column.ink, (x, at.y, room), state(row), &short(pane, row));
        column.gap(1);
        return;
    }
    column.gap(1);
    let untold = risk.filter(|_| head.is_none());
    below(column, (pane, form), row, untold);
}

/// The rows under the first one.
fn below(
    column: &mut Column<'_, '_>,
    (pane, form): (&Pane<'_>, Form),
    row: &FloorRow,
    untold: Option<AtRisk>,
) {
    let rest = column.rest();
    let (x, width) = (rest.x + 4, rest.width.saturating_sub(4));
    let mut words = untold.map_or_else(Vec::new, |risk| vec![risk.words(row.promised)]);
    if form == Form::Two {
        words.push(short(pane, row));
        says(
            column.ink,
            (x, rest.y, width),
            state(row),
            &words.join(" · "),
        );
    } else {
        says(
            column.ink,
            (x, rest.y, width),
            state(row),
            &doing(pane, row),
        );
        words.extend(pane.sight.flawed.figures.get(&row.figure).map(Flaw::told));
        words.extend(notes(pane, row));
        let line = words.join("  ·  ");
        column.ink.put((x, rest.y + 1), &line, Tone::Rubbed, width);
    }
    column.gap(form.height() - 1);
}

fn says(ink: &mut Ink<'_>, (x, y, width): (u16, u16, u16), sign: Sign, words: &str) {
    let used = ink.sign(x, y, sign, width) + 2;
    ink.put(
        (x + used, y),
        words,
        Tone::Chalk,
        width.saturating_sub(used),
    );
}

fn touched(place: usize) -> Act {
    Act::Pick(u8::try_from(place).unwrap_or(u8::MAX))
}

/// The journey, one cell for each operation; returns its width.
fn bar(ink: &mut Ink<'_>, (x, y): (u16, u16), journey: &[Leg]) -> u16 {
    let mut at = x;
    for it in journey {
        let sign = leg(*it);
        at += ink.put((at, y), sign.symbol, sign.tone, 1);
    }
    at - x
}

/// How far, and by when: the longest form first; a promise at risk is in all of them.
fn heads(row: &FloorRow, risk: Option<AtRisk>) -> Vec<String> {
    let (done, of) = row.route;
    let count = if row.unread {
        format!("? of {of}")
    } else {
        format!("{done} of {of}")
    };
    let Some(day) = row.promised.map(|day| day.format("%d %b").to_string()) else {
        return vec![
            format!("{count} operations done everywhere"),
            format!("{count} operations"),
            count,
        ];
    };
    match risk {
        Some(risk) => vec![
            format!("{count}, promised {day} {}", risk.words(row.promised)),
            format!("{count}, {day} {}", risk.words(row.promised)),
            format!("{count}, {day} {}", risk.short(row.promised)),
            // The bar beside it shows how far; what was promised stands nowhere else.
            format!("due {day} {}", risk.short(row.promised)),
            format!("{day} {}", risk.short(row.promised)),
            format!("due {day} ▲ late in {} %", risk.late_percent),
            format!("▲ late in {} %", risk.late_percent),
        ],
        None => vec![
            format!("{count}, promised {day}"),
            format!("{count}, {day}"),
            count,
        ],
    }
}

/// The work and the step in front; else what could be begun.
fn doing(pane: &Pane<'_>, row: &FloorRow) -> String {
    let named = |work: &crate::deed::Work| {
        let target = work.target.as_deref().unwrap_or("whole figure");
        format!("{} · {target}", pane.sight.operation_title(&work.operation))
    };
    match (&row.doing, &row.ahead) {
        (Some((work, step)), _) => format!("{}: {step}", named(work)),
        (None, _) if is_done(row) => "its route is walked to the end".to_owned(),
        (None, Some(work)) => format!("next: {}", named(work)),
        (None, None) if row.unread => UNREAD.to_owned(),
        (None, None) if row.route.0 == 0 => "nothing begun".to_owned(),
        (None, None) => "nothing open".to_owned(),
    }
}

/// What it waits for and since when, its clock, and what waits for the supervisor.
fn notes(pane: &Pane<'_>, row: &FloorRow) -> Vec<String> {
    let now = pane.sight.now;
    let mut words = Vec::new();
    if !row.waits_for.is_empty() && !row.unread {
        // Since when comes first: what it waits for may be longer than the row. A gate may have
        // shut long after the last act.
        let is_gate = row.waits_for.starts_with("gate: ");
        let since = row.since.filter(|_| !is_gate);
        let since = since.map(|at| format!("since {} ", times::hour(at, now)));
        words.push(format!(
            "waits {}for {}",
            since.unwrap_or_default(),
            row.waits_for
        ));
    }
    if let Some(clock) = &row.next {
        let name = times::clock_name(clock.clock);
        words.push(format!("{name} {}", times::in_words(clock, now)));
    }
    words.extend(row.answered.clone());
    words.extend(asks([row.holds, row.unanswered, row.refused]));
    words
}

/// On one row: what it waits for first, then the work.
fn short(pane: &Pane<'_>, row: &FloorRow) -> String {
    let is_flawed = pane.sight.flawed.figures.contains_key(&row.figure);
    let flawed = is_flawed.then(|| "card flawed".to_owned());
    let mut words: Vec<String> = flawed.into_iter().chain(notes(pane, row)).collect();
    words.push(doing(pane, row));
    let words = words.join(" · ");
    // The sign before it says that it waits.
    match words.strip_prefix("waits ") {
        Some(rest) if state(row).word == "waits" => rest.to_owned(),
        _ => words,
    }
}
