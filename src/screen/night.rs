//! The Night screen: when to lay size this evening. The one time large, if it is sure; the
//! ruler of the night as bars, panel by panel and place by place; and where nothing is sure
//! that word, what would open it, and what is likely in small.

use chrono::{DateTime, FixedOffset};
use ratatui::layout::Rect;

use crate::plan::{Certainty, LaySpan, Leafing, Night};
use crate::reckon::LeafPlace;
use crate::report::{NightScale, Stretch};

use super::column::Column;
use super::hand::list_skip;
use super::ink::{Ink, cut};
use super::keys::Act;
use super::letters;
use super::lists;
use super::look::{Sign, Tone};
use super::pane::{Pane, on_board};
use super::plate::under;
use crate::reckon::counted;

/// Draws the night.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let Some(night) = &pane.sight.night else {
        return whose(ink, area, pane);
    };
    title(ink, area, pane, night);
    let times = if area.width >= 150 && area.height >= 40 {
        2
    } else {
        1
    };
    let height = (letters::FIGURE_ROWS * times + 1).min(area.height);
    let plate = Rect {
        height,
        ..under(area, 1)
    };
    lay_plate(ink, plate, night, times);
    let keys = keys(pane, night);
    let rest = under(area, 1 + height);
    let foot = Rect {
        y: rest.bottom().saturating_sub(1),
        height: rest.height.min(1),
        ..rest
    };
    let body = Rect {
        height: rest.height.saturating_sub(1),
        ..rest
    };
    ruler(ink, body, pane, night);
    let keys: Vec<(&str, &str, Act)> = keys
        .iter()
        .map(|(shown, words, act)| (*shown, words.as_str(), *act))
        .collect();
    Column::new(ink, foot).keys(&keys);
}

/// No figure is at the bench: whose night is it?
fn whose(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let list = lists::nights(pane.sight);
    let mut column = Column::new(ink, area);
    column.line(&list.title, Tone::Gilt);
    column.gap(1);
    let skip = list_skip(pane.view, list.rows.len());
    for (place, row) in list.rows.iter().skip(skip).take(9).enumerate() {
        column.pick(place + 1, &row.words, &row.note);
    }
    if list.rows.len() > 9 {
        column.keys(&[("0", "more", Act::More)]);
    }
}

fn title(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, night: &Night) {
    let name = pane.sight.figure_name(&night.figure);
    let size = night.size.as_ref().map_or_else(String::new, |size| {
        format!("{}, lot {} · {}", size.name, size.lot, size.provenance)
    });
    let used = ink.put((area.x, area.y), name, Tone::Gilt, area.width);
    let width = area.width.saturating_sub(used + 2);
    let right = Rect {
        x: area.x + used + 2,
        width,
        height: 1,
        ..area
    };
    ink.put_right(right, 0, &cut(&size, width), Tone::Rubbed);
}

/// The best sure lay time in large figures, with what goes with it beside. What is only likely
/// is never large: who reads from afar would lay the size on it.
fn lay_plate(ink: &mut Ink<'_>, plate: Rect, night: &Night, times: u16) {
    ink.ground(plate, Tone::Board);
    let sign = certainty(night);
    let tone = on_board(sign.tone);
    let sure = night.best.filter(|_| is_sure(night));
    let text = sure.map_or_else(
        || "--:--".to_owned(),
        |best| best.format("%H:%M").to_string(),
    );
    let digits = Rect {
        x: plate.x + 2,
        width: plate.width.saturating_sub(2),
        ..plate
    };
    let used = letters::draw_figures(ink, digits, &text, times, tone);
    let beside = Rect {
        x: digits.x + used + 2,
        width: digits.width.saturating_sub(used + 3),
        ..plate
    };
    let head = Sign { tone, ..sign };
    ink.sign(beside.x, beside.y, head, beside.width);
    let mut column = Column::new(ink, under(beside, 1));
    for line in beside_words(night) {
        column.line(&line, Tone::Board);
    }
}

fn certainty(night: &Night) -> Sign {
    match night.certainty {
        Some(Certainty::Sure) => Sign::new("●", "lay the size: sure", Tone::Verdigris),
        Some(Certainty::Likely) => Sign::new("▲", "nothing is sure", Tone::Bole),
        None => Sign::new("▲", "no time works", Tone::Bole),
    }
}

fn is_sure(night: &Night) -> bool {
    night.certainty == Some(Certainty::Sure)
}

fn beside_words(night: &Night) -> Vec<String> {
    let mut words = Vec::new();
    let sure = is_sure(night);
    let spans = if night.works.is_empty() {
        &night.likely
    } else {
        &night.works
    };
    let span = |span: &LaySpan| format!("{}–{}", hour(span.from), hour(span.to));
    let spans: Vec<String> = spans.iter().map(span).collect();
    if !spans.is_empty() {
        let how = if sure { "any time" } else { "likely" };
        words.push(format!("{how} {}", spans.join(", ")));
    }
    if let Some(best) = night.best.filter(|_| !sure) {
        words.push(format!("best {}, the chip decides", hour(best)));
    }
    if let Some(come) = night.come_in_at {
        words.push(format!("come in {}", day(come)));
    }
    if let Some(test) = night.first_test {
        words.push(format!("first test {}", day(test)));
    }
    if let Some(margin) = night.margin.filter(|_| sure) {
        words.push(format!("{:.0} min to spare", margin.0.floor()));
    }
    words
}

fn hour(at: DateTime<FixedOffset>) -> String {
    at.format("%H:%M").to_string()
}

fn day(at: DateTime<FixedOffset>) -> String {
    at.format("%a %H:%M").to_string()
}

/// Why nothing is sure and what opens it, the bars, the panels in their order, the notes.
fn ruler(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, night: &Night) {
    let mut column = Column::new(ink, area);
    if column.free() >= 18 {
        column.gap(1);
    }
    let panels = u16::try_from(pane.sight.panels.len().min(9)).unwrap_or(9);
    if let Some(why) = &night.why_empty {
        let rows = if column.free() >= 16 { 3 } else { 1 };
        column.wrap(&format!("▲ {why}"), Tone::Bole, rows);
        let most = column.free().saturating_sub(panels * 2 + 3);
        for way in night.would_open.iter().take(usize::from(most.max(1))) {
            column.line(&format!("  opens it: {way}"), Tone::Verdigris);
        }
    }
    bars(&mut column, night, panels);
    let roomy = column.free() > panels * 2 + 6;
    column.gap(u16::from(roomy));
    self::panels(&mut column, pane, night);
    column.gap(u16::from(roomy));
    for (panel, why) in &night.left_out {
        column.line(&format!("not planned: {panel}, {why}"), Tone::Rubbed);
    }
    for note in &night.notes {
        column.wrap(&format!("△ {note}"), Tone::Chalk, 2);
    }
    if !night.because.is_empty() {
        column.wrap(&format!("because: {}", night.because), Tone::Rubbed, 3);
    }
}

/// The bars, if there is a plan: a scale of hours, who is there, when to lay, each panel.
fn bars(column: &mut Column<'_, '_>, night: &Night, panels: u16) {
    let name = if column.width() < 90 { 14 } else { 24 };
    let widest = column.width().saturating_sub(name);
    let Some(scale) = NightScale::of(night, i64::from(widest)) else {
        return;
    };
    let rows = |each: usize| {
        let all: usize = night
            .order
            .iter()
            .map(|row| row.places.len().min(each))
            .sum();
        u16::try_from(all).unwrap_or(u16::MAX)
    };
    let left = column.free().saturating_sub(panels);
    let by_place = rows(9).saturating_add(6) <= left;
    axis(column, &scale, name);
    if by_place || 5 + rows(1) <= left {
        bar(column, (name, "shop open"), &scale, |nth| {
            scale.presence(night, nth)
        });
    }
    bar(column, (name, "lay the size"), &scale, |nth| {
        scale.laying(night, nth)
    });
    for row in &night.order {
        if by_place {
            places(column, name, &scale, row);
        } else {
            bar(column, (name, &row.piece.name), &scale, |nth| {
                scale.panel(row, nth)
            });
        }
    }
    if by_place || 6 + rows(1) <= left {
        let words = "─ may be laid  ▼ best  ≈ sizing  · not yet  □ takes leaf  ■ leafing  × dead";
        let how = if is_sure(night) { "" } else { "only likely: " };
        column.wrap(&format!("{how}{words}"), Tone::Rubbed, 2);
    }
}

fn places(column: &mut Column<'_, '_>, name: u16, scale: &NightScale, row: &Leafing) {
    for (nth, place) in row.places.iter().enumerate() {
        let word = match place.place {
            LeafPlace::Edge => "edge",
            LeafPlace::Flat => "flat",
            LeafPlace::Hollow => "hollow",
        };
        let panel = if nth == 0 {
            row.piece.name.as_str()
        } else {
            ""
        };
        let room = name.saturating_sub(8);
        let panel = cut(panel, room);
        let label = format!("{panel:<width$} {word}", width = usize::from(room));
        bar(column, (name, &label), scale, |column| {
            scale.place(row, place, column)
        });
    }
}

/// The hours, every third one.
fn axis(column: &mut Column<'_, '_>, scale: &NightScale, name: u16) {
    if column.free() == 0 {
        return;
    }
    let rest = column.rest();
    for (x, nth) in (rest.x + name..rest.right()).zip(0..scale.columns()) {
        if scale.is_marked(nth) && x + 1 < rest.right() {
            let hour = scale.at(nth).format("%H").to_string();
            column.ink.put((x, rest.y), &hour, Tone::Rubbed, 2);
        }
    }
    column.gap(1);
}

fn bar(
    column: &mut Column<'_, '_>,
    (name, label): (u16, &str),
    scale: &NightScale,
    stretch: impl Fn(i64) -> Stretch,
) {
    if column.free() == 0 {
        return;
    }
    let rest = column.rest();
    let label = cut(label, name.saturating_sub(1));
    column.ink.put((rest.x, rest.y), &label, Tone::Chalk, name);
    for (x, nth) in (rest.x + name..rest.right()).zip(0..scale.columns()) {
        let (symbol, tone) = sign(stretch(nth));
        column.ink.put((x, rest.y), symbol, tone, 1);
    }
    column.gap(1);
}

fn sign(stretch: Stretch) -> (&'static str, Tone) {
    match stretch {
        Stretch::Before => (" ", Tone::Rubbed),
        Stretch::Away | Stretch::Shut | Stretch::Wet => ("·", Tone::Rubbed),
        Stretch::There => ("━", Tone::Chalk),
        Stretch::Works => ("─", Tone::Verdigris),
        Stretch::Best => ("▼", Tone::Gilt),
        Stretch::Sizing => ("≈", Tone::Gilt),
        Stretch::Ready => ("□", Tone::Verdigris),
        Stretch::Leafing => ("■", Tone::Gilt),
        Stretch::Dead => ("×", Tone::Bole),
    }
}

/// The panels that wait, in the order in which they are laid; a number takes one out or in.
fn panels(column: &mut Column<'_, '_>, pane: &Pane<'_>, night: &Night) {
    let rows = lists::panels(pane.view, pane.sight);
    let skip = list_skip(pane.view, rows.rows.len());
    for (place, row) in rows.rows.iter().skip(skip).take(9).enumerate() {
        column.pick(place + 1, &row.words, &row.note);
    }
    if rows.rows.is_empty() && night.why_empty.is_none() {
        column.line("no panel waits for size", Tone::Rubbed);
    }
}

/// Returns a panel of the plan as one line; what is only likely says so.
pub(super) fn panel_words(row: &Leafing, certainty: Option<Certainty>) -> String {
    let how = match certainty {
        Some(Certainty::Sure) => "",
        Some(Certainty::Likely) | None => "likely ",
    };
    format!(
        "{}: {how}leaf {}–{}, dead {} · {}, {} + 1 spare",
        row.piece.name,
        day(row.start),
        hour(row.end),
        hour(row.dead),
        counted(row.piece.leaves, "leaf"),
        counted(row.piece.books, "book")
    )
}

fn keys(pane: &Pane<'_>, night: &Night) -> Vec<(&'static str, String, Act)> {
    let gilders = format!("gilders: {}", pane.view.night.gilders());
    let mut keys = vec![
        ("s", "another size".to_owned(), Act::Size),
        ("m", gilders, Act::Hands),
    ];
    let lot = night.size.as_ref().map(|size| size.lot.as_str());
    let own = pane.sight.own_times.iter();
    let may_trust = own
        .filter(|own| own.enough && own.trusted.is_none())
        .any(|own| Some(own.lot.as_str()) == lot);
    if may_trust {
        keys.push(("l", "trust its lot".to_owned(), Act::Lots));
    }
    keys
}
