//! The Bench screen: one figure, one step, the one time that matters.

use ratatui::layout::Rect;

use crate::card::ClockName;
use crate::standing::{Ask, ClockState, ClockView, Prompt};

use super::ask;
use super::column::Column;
use super::hand::list_skip;
use super::ink::{Ink, cells, wrap};
use super::keys::Act;
use super::letters;
use super::lists;
use super::look::Tone;
use super::pane::{Pane, on_board};
use super::plate::{hour_plate, time_plate, under};
use super::safety;
use super::sight::name_of;
use super::sums;
use super::times;

/// On a body lower than this the sentence that comes before every card is cut to a few words.
const LOW: u16 = 22;

/// Draws the bench.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let Some(prompt) = &pane.sight.prompt else {
        return beginnings(ink, area, pane);
    };
    title(ink, area, pane, prompt);
    let body = under(area, 2);
    let read_all = matches!(prompt.ask, Ask::Cautions(_));
    if area.width >= 74 {
        let times = if area.width >= 150 && area.height >= 40 {
            2
        } else {
            1
        };
        let wide = letters::figures_width("00:00", times) + 4;
        let left = Rect {
            width: wide,
            ..body
        };
        let right = Rect {
            x: body.x + wide + 2,
            width: body.width - wide - 2,
            ..body
        };
        side(ink, left, pane, prompt, times);
        step(ink, right, pane, prompt, true);
    } else if read_all {
        step(ink, body, pane, prompt, true);
    } else {
        narrow(ink, body, pane, prompt);
    }
}

/// Narrow: the time above the step. Only one of two numbers can be large: a running cup
/// comes before the number that is being typed.
fn narrow(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>, prompt: &Prompt) {
    let clock = plate_clock(pane, prompt);
    let pressing = clock.is_some_and(is_pressing);
    let wants_number = ask::number_words(&prompt.ask).is_some();
    // Rows that are picked must all be seen: where the plate leaves too few, it goes.
    let under_plate = body.height.saturating_sub(letters::FIGURE_ROWS + 1);
    let others = wrap(&ask::headline(prompt), body.width.saturating_sub(4)).len()
        + safety::caution_rows(pane, prompt, (body.width, under_plate)).len();
    let left = usize::from(under_plate).saturating_sub(others);
    let no_room = ask::rows_needed(&prompt.ask) > left;
    let Some(clock) = clock.filter(|_| !no_room && (pressing || !wants_number)) else {
        let left = one_line_time(ink, body, pane, prompt);
        return step(ink, left, pane, prompt, true);
    };
    let plate = Rect {
        height: letters::FIGURE_ROWS,
        ..body
    };
    ink.ground(plate, Tone::Board);
    let (figures, words) = times::figures(clock, pane.sight.now);
    let sign = times::sign(clock);
    let tone = on_board(sign.tone);
    let used = letters::draw_figures(ink, plate, &figures, 1, tone);
    let x = plate.x + used + 2;
    let width = plate.right().saturating_sub(x);
    ink.sign(x, plate.y, sign, width);
    let name = times::clock_name(clock.clock);
    ink.put((x, plate.y + 1), name, Tone::Board, width);
    ink.put((x, plate.y + 2), &clock.about, Tone::BoardRubbed, width);
    ink.put((x, plate.y + 4), words, tone, width);
    step(
        ink,
        under(body, letters::FIGURE_ROWS + 1),
        pane,
        prompt,
        false,
    );
}

/// Writes the time that matters on one line, where something else needs the room; returns
/// what is left.
fn one_line_time(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>, prompt: &Prompt) -> Rect {
    let Some(clock) = plate_clock(pane, prompt) else {
        return body;
    };
    let sign = times::sign(clock);
    let name = times::clock_name(clock.clock);
    let (figures, left) = times::figures(clock, pane.sight.now);
    let words = format!("{} {} · {name}: {figures} {left}", sign.symbol, sign.word);
    ink.put((body.x, body.y), &words, sign.tone, body.width);
    under(body, 1)
}

fn title(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, prompt: &Prompt) {
    let figure = pane.view.figure.as_deref().unwrap_or_default();
    let count = format!("step {} of {}", prompt.number, prompt.of);
    let x = ink.put_right(area, 0, &count, Tone::Chalk);
    let room = x.saturating_sub(area.x + 1);
    let name = pane.sight.figure_name(figure);
    let mut at = area.x + ink.put((area.x, area.y), name, Tone::Gilt, room);
    let round = if prompt.work.round > 1 {
        format!(", round {}", prompt.work.round)
    } else {
        String::new()
    };
    let target = if pane.sight.target.is_empty() {
        String::new()
    } else {
        format!("  ·  {}", pane.sight.target)
    };
    let words = format!("  ·  {}{target}{round}", prompt.title);
    at += ink.put((at, area.y), &words, Tone::Chalk, x.saturating_sub(at + 1));
    ink.touch(Rect::new(area.x, area.y, at - area.x, 1), Act::Go);
    let of = u16::try_from(prompt.of).unwrap_or(u16::MAX).max(1);
    let done = prompt.number.saturating_sub(1);
    let share = u32::try_from(done).map_or(0.0, f64::from) / f64::from(of);
    let row = under(area, 1);
    let brief = safety::in_brief(prompt).filter(|_| area.height < LOW);
    let x = brief.map_or(area.right(), |brief| {
        ink.put_right(row, 0, brief, Tone::Bole)
    });
    let room = x.saturating_sub(area.x + u16::from(brief.is_some()));
    let leaves = times::bar(share, of.min(room));
    ink.put((area.x, area.y + 1), &leaves, Tone::Rubbed, room);
}

/// Returns the clock whose time is shown large: a pressing one before the one waited for,
/// and that before any other of this figure.
fn plate_clock<'a>(pane: &Pane<'a>, prompt: &'a Prompt) -> Option<&'a ClockView> {
    let own = pane.sight.clocks_of(pane.view.figure.as_deref());
    let pressing = own.iter().find(|clock| is_pressing(clock)).copied();
    let waited = match &prompt.ask {
        Ask::Wait { clock, .. } => clock.as_ref(),
        Ask::Test { clocks, .. } => clocks.first(),
        _ => None,
    };
    pressing.or(waited).or_else(|| own.first().copied())
}

fn is_pressing(clock: &ClockView) -> bool {
    let at_hand = matches!(clock.clock, ClockName::Cup | ClockName::Closing);
    at_hand
        && matches!(
            clock.state,
            ClockState::Running | ClockState::Over | ClockState::Unsure
        )
}

fn side(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, prompt: &Prompt, times: u16) {
    let clock = plate_clock(pane, prompt);
    let height = (letters::FIGURE_ROWS * times + 7).min(area.height);
    let plate = Rect { height, ..area };
    match clock {
        Some(clock) => time_plate(ink, plate, pane, clock, times),
        None => hour_plate(ink, plate, pane, times),
    }
    let mut column = Column::new(ink, under(area, height + 1));
    for other in pane.sight.clocks_of(pane.view.figure.as_deref()) {
        if clock.is_some_and(|clock| clock.id == other.id) {
            continue;
        }
        if column.free() == 0 {
            return;
        }
        let sign = times::sign(other);
        let left = times::in_words(other, pane.sight.now);
        let mut words = format!("{} {left}", times::clock_name(other.clock));
        let whole = format!("{words} · {}", other.provenance);
        if cells(&whole) + cells(sign.word) + 4 <= column.width() {
            words = whole;
        }
        column.sign(sign, &words, Tone::Chalk);
    }
    good_until(&mut column, pane);
}

/// How long what opened the gates of this step is still good, in the room that is left.
fn good_until(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    for one in &pane.sight.evidence {
        let hour = times::hour(one.good_until, pane.sight.now);
        column.line(&format!("{}: good until {hour}", one.name), Tone::Rubbed);
    }
}

/// The step: what it is about, the one line, what it asks, and the cautions at its foot.
fn step(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, prompt: &Prompt, roomy: bool) {
    let cautions = safety::caution_rows(pane, prompt, (area.width, area.height));
    let foot = u16::try_from(cautions.len()).unwrap_or(0).min(area.height);
    let top = Rect {
        height: area.height - foot,
        ..area
    };
    let mut column = Column::new(&mut *ink, top);
    interrupted(&mut column, pane, prompt);
    if let Some(no) = &pane.sight.no_mark {
        let remedy = no.remedy.as_deref().unwrap_or_default();
        column.wrap(&format!("✗ {}; {remedy}", no.why), Tone::Bole, 2);
        column.keys(&[("w", "somebody else is here", Act::Who)]);
    }
    if let Some(why) = prompt.again.as_ref().filter(|_| roomy && top.height > 8) {
        let round = prompt.work.round;
        column.wrap(&format!("round {round}, because: {why}"), Tone::Gilt, 2);
    }
    said(&mut column, pane);
    let headline = ask::headline(prompt);
    if headline != prompt.act && roomy && top.height > 12 && !prompt.act.is_empty() {
        column.line(&prompt.act, Tone::Rubbed);
    }
    headline_plate(&mut column, &headline, ask::tone(&prompt.ask), roomy);
    if top.height > 8 {
        column.gap(1);
    }
    ask::draw(&mut column, pane, prompt);
    sums::draw(&mut column, prompt);
    let mut column = Column::new(ink, under(area, area.height - foot));
    for (line, tone) in cautions {
        column.line(&line, tone);
    }
}

/// On a step lower than this only one thing that was said to the bench is told, on one row.
const LOW_STEP: u16 = 15;

/// What the supervisor said to the bench: refusals first, then answers, the last first.
fn said(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let (many, rows) = if column.free() < LOW_STEP {
        (1, 1)
    } else {
        (2, 2)
    };
    for open in pane.sight.said.iter().take(many) {
        let Some((_, why, stamp)) = &open.answer else {
            continue;
        };
        let by = name_of(&pane.sight.shop.people, &stamp.by);
        let (words, tone) = match open.refusal() {
            Some(_) => (format!("✗ refused by {by}: {why}"), Tone::Bole),
            None => (format!("▸ {by} answers: {why}"), Tone::Gilt),
        };
        column.wrap(&format!("{words} · {}", open.what), tone, rows);
    }
}

/// Says to whoever comes back what was done last and what does not count yet.
fn interrupted(column: &mut Column<'_, '_>, pane: &Pane<'_>, prompt: &Prompt) {
    let Some(since) = &prompt.interrupted else {
        return;
    };
    let hour = times::hour(since.since, pane.sight.now);
    let last = match &prompt.last_done {
        Some(last) => format!("last completed: {}", last.act),
        None => "nothing completed yet".to_owned(),
    };
    let again = if prompt.checks.iter().any(|(_, counts)| !counts) {
        "its checks start again"
    } else {
        "not counted yet"
    };
    // On a low page the tally under it names what was done last anyway.
    let (words, rows) = if column.free() < 9 {
        (format!("◆ you were interrupted at {hour}: {again}"), 1)
    } else {
        let words = format!("◆ you were interrupted at {hour}; {last}; this step: {again}");
        (words, 3)
    };
    column.wrap(&words, Tone::Bole, rows);
}

/// The one line, as large as the room allows and never cut.
fn headline_plate(column: &mut Column<'_, '_>, text: &str, tone: Tone, roomy: bool) {
    let width = column.width().saturating_sub(4);
    let fit = |lines: Option<Vec<String>>, rows: u16, share: u16| {
        lines.filter(|lines| {
            let count = u16::try_from(lines.len()).unwrap_or(u16::MAX);
            roomy && count.saturating_mul(rows + 1) < column.free() / share
        })
    };
    let big = fit(letters::figure_lines(text, width), letters::FIGURE_ROWS, 2);
    let middle = fit(letters::letter_lines(text, width), letters::LETTER_ROWS, 2);
    let (lines, rows, pad) = match (big, middle) {
        (Some(lines), _) => (lines, letters::FIGURE_ROWS, 1),
        (None, Some(lines)) if column.free() >= 20 => (lines, letters::LETTER_ROWS, 1),
        _ => (
            wrap(text, width),
            0,
            u16::from(roomy && column.free() >= 14),
        ),
    };
    let each = rows.max(1) + u16::from(rows > 0);
    let count = u16::try_from(lines.len()).unwrap_or(1);
    let bottom = if rows > 0 { 0 } else { pad };
    let plate = Rect {
        height: (count * each + pad + bottom).min(column.free()),
        ..column.rest()
    };
    column.ink.ground(plate, tone);
    column.gap(pad);
    for line in lines {
        let rest = column.rest();
        let at = Rect {
            x: rest.x + 2,
            width,
            ..rest
        };
        match rows {
            0 => {
                column.ink.put((at.x, at.y), &line, tone, width);
            }
            letters::LETTER_ROWS => letters::draw_letters(column.ink, at, &line, tone),
            _ => {
                letters::draw_figures(column.ink, at, &line, 1, tone);
            }
        }
        column.gap(each);
    }
    column.gap(bottom);
}

fn beginnings(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let list = lists::beginnings(pane.view, pane.sight);
    let title = match &pane.view.figure {
        Some(figure) => format!(
            "{}: which operation? its number takes it up",
            pane.sight.figure_name(figure)
        ),
        None => "which figure is at the bench?".to_owned(),
    };
    let mut column = Column::new(ink, area);
    column.line(&title, Tone::Gilt);
    column.gap(1);
    if list.rows.is_empty() {
        column.wrap(
            "nothing here to begin: press g to go to another figure",
            Tone::Chalk,
            3,
        );
        return;
    }
    let skip = list_skip(pane.view, list.rows.len());
    let spaced = column.free() >= 20;
    for (place, row) in list.rows.iter().skip(skip).take(9).enumerate() {
        column.pick(place + 1, &row.words, &row.note);
        column.gap(u16::from(spaced));
    }
    let more = list.rows.len().saturating_sub(skip + 9);
    if more > 0 || skip > 0 {
        let words = format!("{more} more");
        if cells(&words) < column.width() {
            column.keys(&[("0", &words, Act::More)]);
        }
    }
    without_place(&mut column, pane);
}

/// Says why an operation of the route is not in the list, and what brings it there.
fn without_place(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let [zones, joints, panels] = pane.sight.without_place;
    let Some(figure) = &pane.view.figure else {
        return;
    };
    let lacking = [
        (joints, "on joints: the card names no joint"),
        (zones, "on zones: no zone has their path yet"),
        (panels, "on panels: the card names no panel"),
    ];
    let mut lacking = lacking.iter().filter(|(count, _)| 0 < *count).peekable();
    if lacking.peek().is_none() || column.free() < 6 {
        return;
    }
    column.gap(1);
    column.line("not in this list yet, from the route:", Tone::Rubbed);
    for (count, why) in lacking {
        column.line(&format!("  {count} {why}"), Tone::Rubbed);
    }
    let card = format!("figures/{figure}/figure.yaml");
    let words = format!("Write them on {card}, then leave with q and start again.");
    column.wrap(&words, Tone::Chalk, 2);
}
