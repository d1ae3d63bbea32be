//! What lies over a screen: lists, a line of text, the air, questions, alarms, a fault.

use ratatui::layout::Rect;

use crate::alarm::{Urgency, short, urgency, words as words_of};
use crate::card::DEFERRAL;
use crate::deed::Use;
use crate::standing::{ClockState, ClockView, PUT_OFF_MIN};
use crate::trouble::Trouble;

use super::ask::number;
use super::column::Column;
use super::hand::list_skip;
use super::ink::{Ink, cells, cut, wrap};
use super::keys::Act;
use super::letters;
use super::look::Tone;
use super::pane::Pane;
use super::sight::Sight;
use super::times;
use super::view::{AirEntry, List, Over, Question, Row, Write};

/// Draws what lies over the screen.
pub(super) fn draw(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>) {
    match &pane.view.over {
        Over::Nothing | Over::Help => {}
        Over::List(rows) => list(ink, body, pane, rows),
        Over::Write(line) => write(ink, body, line),
        Over::Air(entry) => air(ink, body, pane, entry),
        Over::Question(asked) => question(ink, body, asked),
        Over::Deferral => deferral(ink, body, pane),
    }
}

/// The sentence above every card, and the shop's own emergency lines.
fn deferral(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>) {
    let person = &pane.sight.person;
    let inside = board(
        ink,
        body,
        10,
        &format!("{person}, before the first tin is opened"),
    );
    let mut column = Column::new(ink, inside);
    column.wrap(DEFERRAL, Tone::Chalk, 6);
    column.gap(1);
    column.wrap(&pane.sight.shop.emergency.in_words(), Tone::Bole, 2);
    column.next_key("Space", "I have read it", Act::Next);
}

/// How wide the inside of a board is.
fn inside_width(body: Rect) -> u16 {
    body.width.min(100).saturating_sub(4)
}

/// Lays a board over the middle of the body and returns its inside.
fn board(ink: &mut Ink<'_>, body: Rect, rows: u16, title: &str) -> Rect {
    let width = body.width.min(100);
    let titles = wrap(title, width.saturating_sub(4));
    let head = u16::try_from(titles.len()).unwrap_or(1);
    let height = (rows + head + 3).min(body.height);
    let area = Rect {
        x: body.x + (body.width - width) / 2,
        y: body.y + (body.height - height) / 2,
        width,
        height,
    };
    ink.ground(area, Tone::Chalk);
    let edge = "━".repeat(usize::from(width));
    ink.put((area.x, area.y), &edge, Tone::Gilt, width);
    ink.put((area.x, area.bottom() - 1), &edge, Tone::Gilt, width);
    for (row, line) in (1u16..).zip(&titles) {
        ink.put((area.x + 2, area.y + row), line, Tone::Gilt, width - 4);
    }
    Rect {
        x: area.x + 2,
        y: (area.y + head + 2).min(area.bottom()),
        width: width - 4,
        height: height.saturating_sub(head + 3),
    }
}

/// A note longer than this is told in lines of its own, cells.
const LONG: u16 = 60;

/// Rows of a list that stand on one page: each has a key of its own.
const ON_A_PAGE: usize = 9;

fn list(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>, list: &List) {
    let skip = list_skip(pane.view, list.rows.len());
    let shown: Vec<&Row> = list.rows.iter().skip(skip).take(ON_A_PAGE).collect();
    let told = told_lines(body, &list.title, &shown);
    let lines = shown.len() + told.iter().sum::<usize>();
    let spaced = usize::from(body.height) > lines + shown.len() + 7;
    let gaps = if spaced { shown.len() } else { 0 };
    let rows = u16::try_from(lines + gaps).unwrap_or(18) + 1;
    let inside = board(ink, body, rows, &list.title);
    let mut column = Column::new(ink, inside);
    if list.rows.is_empty() {
        column.line("nothing to pick from; Esc closes this", Tone::Rubbed);
    }
    for (place, row) in shown.iter().enumerate() {
        match told.get(place) {
            None => column.pick(place + 1, &row.words, &row.note),
            Some(lines) => {
                column.pick(place + 1, &row.words, "");
                reasons(&mut column, &row.note, *lines);
            }
        }
        column.gap(u16::from(spaced));
    }
    if list.rows.len() > ON_A_PAGE {
        column.keys(&[("0", "more", Act::More), ("Esc", "close", Act::Back)]);
    } else {
        column.keys(&[("Esc", "close", Act::Back)]);
    }
}

/// How many lines each row has for what stands behind it, in lines of its own; empty where notes
/// are short, or where there is no room for a line each: they stand beside their rows then.
fn told_lines(body: Rect, title: &str, rows: &[&Row]) -> Vec<usize> {
    let width = inside_width(body);
    let head = wrap(title, width).len() + 4;
    let mut room = usize::from(body.height).saturating_sub(head + rows.len());
    let is_long = rows.iter().any(|row| LONG < cells(&row.note));
    let needs = rows.iter().map(|row| match row.note.as_str() {
        "" => 0,
        note => wrap(note, width.saturating_sub(MARGIN)).len(),
    });
    let needs: Vec<usize> = needs.collect();
    let mut left = needs.iter().filter(|need| 0 < **need).count();
    if !is_long || room < left {
        return Vec::new();
    }
    // The first rows matter most, but none of them takes the line of another.
    needs
        .into_iter()
        .map(|need| {
            left = left.saturating_sub(usize::from(0 < need));
            let own = need.min(room.saturating_sub(left));
            room -= own;
            own
        })
        .collect()
}

/// Cells by which what stands behind a row is set in.
const MARGIN: u16 = 4;

/// What stands behind a row, below it and in full as far as there is room.
fn reasons(column: &mut Column<'_, '_>, note: &str, lines: usize) {
    let width = column.width().saturating_sub(MARGIN);
    let all = wrap(note, width);
    let is_cut = lines < all.len();
    for (place, line) in all.iter().take(lines).enumerate() {
        let goes_on = is_cut && place + 1 == lines;
        let line = if goes_on {
            cut(&format!("{line} …"), width)
        } else {
            line.clone()
        };
        column.line(&format!("    {line}"), Tone::Rubbed);
    }
}

fn write(ink: &mut Ink<'_>, body: Rect, line: &Write) {
    let inside = board(ink, body, 4, &line.title);
    let mut column = Column::new(ink, inside);
    // The end of a long line is the part that is being written.
    let text = line.field.text();
    let room = column.width().saturating_sub(1);
    let shown = tail(text, room);
    column.line(&format!("{shown}▏"), Tone::Chalk);
    column.gap(1);
    column.keys(&[
        ("Enter", "that is it", Act::Next),
        ("Esc", "leave it", Act::Back),
    ]);
}

fn tail(text: &str, room: u16) -> &str {
    let mut shown = text;
    while cells(shown) > room {
        let mut letters = shown.chars();
        letters.next();
        shown = letters.as_str();
    }
    shown
}

fn air(ink: &mut Ink<'_>, body: Rect, pane: &Pane<'_>, entry: &AirEntry) {
    let (title, asked, unit) = match entry {
        AirEntry::Cup { about, .. } => {
            let asked = "temperature of the wall, low down".to_owned();
            (format!("cup of {about}"), asked, "°C")
        }
        AirEntry::Room { room, temp_c } => {
            let rooms = &pane.sight.shop.rooms;
            let known = rooms.iter().find(|known| known.id == *room);
            let name = known.map_or(room.as_str(), |known| known.name.as_str());
            let (asked, unit) = match temp_c {
                None => ("temperature of the air".to_owned(), "°C"),
                Some(temp_c) => {
                    let read = times::number(*temp_c);
                    (format!("{read} °C; now the relative humidity"), "%")
                }
            };
            (format!("air of {name}"), asked, unit)
        }
    };
    let inside = board(ink, body, 9, &title);
    let mut column = Column::new(ink, inside);
    column.line(&asked, Tone::Chalk);
    number(&mut column, pane, unit);
    column.keys(&[
        ("Enter", "take it", Act::Next),
        ("Esc", "leave it", Act::Back),
    ]);
}

fn question(ink: &mut Ink<'_>, body: Rect, asked: &Question) {
    let width = body.width.min(100).saturating_sub(4);
    let rows: usize = asked
        .words
        .iter()
        .map(|words| wrap(words, width).len().min(5))
        .sum();
    let rows = u16::try_from(rows).unwrap_or(5);
    let inside = board(ink, body, rows + 2, &asked.title);
    let mut column = Column::new(ink, inside);
    for words in &asked.words {
        column.wrap(words, Tone::Chalk, 5);
    }
    column.gap(1);
    column.keys(&[
        ("y", "yes", Act::Yes),
        ("n", "no", Act::No),
        ("Esc", "neither", Act::Back),
    ]);
}

/// Returns the room of an alarm above the body, and what is left of the body: an alarm
/// covers neither the time nor the act.
pub(super) fn alarm_room(body: Rect, sight: &Sight) -> (Rect, Rect) {
    let height = match body.height {
        _ if sight.ringing().is_empty() => 0,
        30.. => 7,
        _ => 3,
    };
    let alarm = Rect { height, ..body };
    let left = Rect {
        y: body.y + height,
        height: body.height - height,
        ..body
    };
    (alarm, left)
}

/// Draws the loudest ringing clock, in word, symbol and colour.
pub(super) fn alarm(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let ringing = pane.sight.ringing();
    let Some((clock, (mark, since))) = ringing
        .first()
        .and_then(|clock| Some((*clock, clock.ringing?)))
    else {
        return;
    };
    let tone = alarm_tone(pane, clock, mark);
    ink.ground(area, tone);
    let width = area.width - 4;
    let mut y = area.y;
    let words = alarm_words(clock);
    let spoken = short(clock, mark);
    let large =
        letters::letter_lines(&spoken, width).filter(|lines| lines.len() == 1 && area.height >= 7);
    if large.is_some() {
        let at = Rect::new(area.x + 2, area.y + 1, width, letters::LETTER_ROWS);
        letters::draw_letters(ink, at, &spoken, tone);
        y += letters::LETTER_ROWS + 1;
    } else {
        y += u16::from(area.height >= 7);
        ink.put((area.x + 2, y), &words, tone, width);
        y += 1;
    }
    let (_, action) = words_of(clock, mark);
    // Large letters have no room for the mark: it stands before what is to be done.
    let lead = if large.is_some() {
        stars(clock, mark)
    } else {
        "▸"
    };
    ink.put((area.x + 2, y), &format!("{lead} {action}"), tone, width);
    let about = format!(
        "{}{} · {} · rings since {}",
        pane.sight.figure_name(&clock.figure),
        large.map_or_else(String::new, |_| format!(", {}", clock.about)),
        times::in_words(clock, pane.sight.now),
        times::hour(since, pane.sight.now)
    );
    let answer = answer_words(pane, clock, ringing.len());
    if area.height < 7 {
        let both = format!("{answer} · {about}");
        ink.put((area.x + 2, y + 1), &cut(&both, width), tone, width);
    } else {
        ink.put((area.x + 2, y + 1), &about, tone, width);
        ink.put((area.x + 2, y + 2), &cut(&answer, width), tone, width);
    }
    ink.touch(area, Act::Next);
}

fn alarm_tone(pane: &Pane<'_>, clock: &ClockView, mark: u32) -> Tone {
    let bright = pane.sight.beat() || pane.sight.quiet;
    match (clock.state, mark) {
        (ClockState::Come, _) | (ClockState::Running, 0) => Tone::VerdigrisPlate,
        (_, 90..) if bright => Tone::BolePlate,
        (_, 90..) => Tone::Bole,
        _ => Tone::GiltPlate,
    }
}

/// Which keys answer, and who answers by them.
fn answer_words(pane: &Pane<'_>, clock: &ClockView, count: usize) -> String {
    let later = match clock.side {
        Use::WaitUntil => format!("; z: rings again in {PUT_OFF_MIN} min"),
        Use::DoBefore | Use::Window => String::new(),
    };
    let more = if count > 1 {
        format!("; {} more ring", count - 1)
    } else {
        String::new()
    };
    let quiet = if pane.sight.quiet {
        " (quiet: no sound)"
    } else {
        ""
    };
    if pane.view.by.is_empty() {
        return format!(
            "say who is at the bench, by the number; then any key answers it{more}{quiet}"
        );
    }
    let person = &pane.sight.person;
    format!("Space or any key: {person} answers it{later}{more}{quiet}")
}

/// Returns what a ringing clock says: marks of urgency, its name, what has come of it.
pub(super) fn alarm_words(clock: &ClockView) -> String {
    let mark = clock.ringing.map_or(0, |(mark, _)| mark);
    let (headline, _) = words_of(clock, mark);
    format!("{} {headline}", stars(clock, mark))
}

fn stars(clock: &ClockView, mark: u32) -> &'static str {
    match (urgency(clock, mark), clock.state) {
        (_, ClockState::Come) => "●",
        _ if mark == 0 => "●",
        (Urgency::High, _) => "▲▲▲",
        (Urgency::Middle, _) => "▲▲",
        (Urgency::Low, _) => "△",
    }
}

/// Draws a fault over the whole body: writing stops, nothing else can be done here.
pub(super) fn fault(ink: &mut Ink<'_>, area: Rect, fault: &Trouble) {
    ink.ground(area, Tone::Chalk);
    let inside = Rect {
        x: area.x + 2,
        y: area.y + 1,
        width: area.width - 4,
        height: area.height - 2,
    };
    let mut column = Column::new(ink, inside);
    column.line("▲ WRITING HAS STOPPED", Tone::BolePlate);
    column.gap(1);
    column.wrap(&fault.what, Tone::Bole, 6);
    column.gap(1);
    if let Some(place) = &fault.place {
        column.wrap(&format!("where: {place}"), Tone::Chalk, 4);
    }
    if let Some(remedy) = &fault.remedy {
        column.wrap(&format!("do: {remedy}"), Tone::Chalk, 4);
    }
    column.gap(1);
    column.wrap("Clocks run on, and reading goes on.", Tone::Chalk, 2);
    column.gap(1);
    column.keys(&[
        ("Esc", "back to reading", Act::Back),
        ("q", "leave", Act::Quit),
    ]);
}
