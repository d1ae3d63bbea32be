//! The Clocks screen: all that runs, what dies first first.

use ratatui::layout::Rect;

use super::column::Column;
use super::hand::list_skip;
use super::ink::Ink;
use super::keys::Act;
use super::letters;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::plate::time_plate;
use super::times;
use crate::report::grounds;

/// Draws the clocks.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let sight = pane.sight;
    let skip = list_skip(pane.view, sight.clocks.len());
    let Some(first) = sight.clocks.get(skip) else {
        Column::new(ink, area).line("nothing runs", Tone::Rubbed);
        return;
    };
    let big = if area.width >= 100 && area.height >= 34 {
        2
    } else {
        1
    };
    let height = (letters::FIGURE_ROWS * big + 5).min(area.height);
    let plate = Rect { height, ..area };
    time_plate(ink, plate, pane, first, big);
    let figure = sight.figure_name(&first.figure);
    ink.put_right(
        Rect {
            width: area.width - 2,
            ..plate
        },
        0,
        figure,
        Tone::BoardGilt,
    );
    ink.put((plate.x, plate.y), "1", Tone::GiltPlate, 1);
    ink.touch(plate, Act::Pick(1));
    let rest = Rect {
        y: area.y + height,
        height: area.height.saturating_sub(height),
        ..area
    };
    let mut column = Column::new(ink, rest);
    others(&mut column, pane, skip);
    foot(&mut column, pane);
}

/// The clocks after the first, each with its bar and what its times rest on.
fn others(column: &mut Column<'_, '_>, pane: &Pane<'_>, skip: usize) {
    let sight = pane.sight;
    column.line(
        "its number ends a clock by hand: used up, cold, changed",
        Tone::Rubbed,
    );
    for (nth, clock) in sight.clocks.iter().enumerate().skip(skip + 1).take(8) {
        if column.free() < 2 {
            break;
        }
        let digit = nth - skip + 1;
        let at = column.rest();
        let sign = times::sign(clock);
        let name = times::clock_name(clock.clock);
        let left = times::in_words(clock, sight.now);
        let figure = sight.figure_name(&clock.figure);
        let words = format!(
            "                {left:>14}  {name} · {figure}, {}",
            clock.about
        );
        column.pick(digit, &words, "");
        column.ink.sign(at.x + 4, at.y, sign, 15);
        let second = column.rest();
        let bar = times::bar(clock.share, 14);
        column
            .ink
            .put((second.x + 4, second.y), &bar, sign.tone.on_slate(), 14);
        let width = second.width.saturating_sub(36);
        let grounds = grounds(clock);
        column
            .ink
            .put((second.x + 36, second.y), &grounds, Tone::Rubbed, width);
        column.gap(1);
    }
}

/// More clocks, lots that may be trusted, lots near their date.
fn foot(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let sight = pane.sight;
    let mut keys = Vec::new();
    if sight.clocks.len() > 9 {
        keys.push(("0", "more clocks", Act::More));
    }
    let own = sight.own_times.iter();
    if own
        .into_iter()
        .any(|own| own.enough && own.trusted.is_none())
    {
        keys.push(("l", "a lot has times of its own: trust it", Act::Lots));
    }
    if !keys.is_empty() {
        column.keys(&keys);
    }
    open_gates(column, pane);
    shelf(column, pane);
}

/// What opened the gates of all works, and until when it is good.
fn open_gates(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let sight = pane.sight;
    for one in &sight.open_gates {
        let hour = times::hour(one.evidence.good_until, sight.now);
        let operation = sight.operation_title(&one.work.operation);
        let target = one.work.target.as_deref();
        let target = target.map_or_else(String::new, |target| format!(", {target}"));
        let figure = sight.figure_name(&one.figure);
        let name = one.evidence.name;
        let words = format!("{name}: good until {hour} · {figure}, {operation}{target}");
        column.sign(
            Sign::new("◇", "gate open", Tone::Rubbed),
            &words,
            Tone::Rubbed,
        );
    }
}

/// Lots near or past their date, after all that runs.
fn shelf(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    for lot in &pane.sight.shelf {
        let sign = if lot.days_left < 0 {
            Sign::new("▲", "past its date", Tone::Bole)
        } else {
            Sign::new("◇", "near its date", Tone::Rubbed)
        };
        let words = format!("{}, lot {}: {}", lot.name, lot.lot, lot.expires);
        column.sign(sign, &words, Tone::Rubbed);
    }
}
