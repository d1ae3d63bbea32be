//! The Floor screen: every figure of the shop, the one that needs a hand first.

use ratatui::layout::Rect;

use crate::standing::{ClockState, FloorRow};

use super::column::Column;
use super::hand::list_skip;
use super::ink::{Ink, cells};
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::times;

/// Draws the floor.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let rows = &pane.sight.floor;
    let mut column = Column::new(ink, area);
    if rows.is_empty() {
        column.line("no figure is in the shop", Tone::Rubbed);
        return;
    }
    column.line(
        "all figures, the one that needs a hand first; its number takes it to the bench",
        Tone::Rubbed,
    );
    let skip = list_skip(pane.view, rows.len());
    let each = if usize::from(area.height) > rows.len().min(9) * 4 + 2 {
        4
    } else {
        3
    };
    for (nth, row) in rows.iter().enumerate().skip(skip).take(9) {
        if column.free() < 3 {
            break;
        }
        figure(&mut column, pane, row, nth - skip + 1);
        column.gap(each - 3);
    }
    if rows.len() > 9 {
        let words = format!("{} figures in all: the next ones", rows.len());
        column.keys(&[("0", &words, Act::More)]);
    }
}

fn figure(column: &mut Column<'_, '_>, pane: &Pane<'_>, row: &FloorRow, place: usize) {
    let now = pane.sight.now;
    let at = column.rest();
    let (done, all) = row.route;
    let promised = row
        .promised
        .map(|day| format!(", promised {}{}", day.format("%d %b"), at_risk(pane, row)))
        .unwrap_or_default();
    let right = format!("{done} of {all} operations{promised}");
    let left = format!("{}  ·  {}", row.name, row.room);
    column.pick(place, &left, "");
    // A narrow page has no room for the promise; the count comes before it.
    let short = format!("{done} of {all}");
    let room = at.width.saturating_sub(cells(&left) + 6);
    if let Some(right) = [right, short].iter().find(|words| cells(words) <= room) {
        column.ink.put_right(at, 0, right, Tone::Rubbed);
    }
    let doing = match &row.doing {
        Some((work, step)) => {
            let target = work.target.as_deref().unwrap_or("whole figure");
            let title = pane.sight.operation_title(&work.operation);
            format!("{title} · {target}: {step}")
        }
        None => "nothing begun".to_owned(),
    };
    indent(column, |column| {
        let sign = state(row);
        column.sign(sign, &doing, Tone::Chalk);
    });
    let since = row
        .since
        .map(|at| format!(", since {}", times::hour(at, now)))
        .unwrap_or_default();
    let mut words = Vec::new();
    if !row.waits_for.is_empty() {
        words.push(format!("waits for {}{since}", row.waits_for));
    }
    if let Some(clock) = &row.next {
        let name = times::clock_name(clock.clock);
        words.push(format!("{name} {}", times::in_words(clock, now)));
    }
    if row.holds > 0 {
        words.push(format!("✎ {} to sign", row.holds));
    }
    if row.unanswered > 0 {
        words.push(format!("? {} to answer", row.unanswered));
    }
    indent(column, |column| {
        column.line(&words.join("  ·  "), Tone::Rubbed);
    });
}

/// A promise that the last forecast saw at risk.
fn at_risk(pane: &Pane<'_>, row: &FloorRow) -> String {
    let words = pane.sight.at_risk.get(&row.figure);
    words.map_or_else(String::new, |words| format!(" ({words})"))
}

fn indent(column: &mut Column<'_, '_>, write: impl FnOnce(&mut Column<'_, '_>)) {
    let rest = column.rest();
    let inner = Rect {
        x: rest.x + 4,
        width: rest.width.saturating_sub(4),
        ..rest
    };
    let mut inside = Column::new(&mut *column.ink, inner);
    write(&mut inside);
    column.gap(1);
}

fn state(row: &FloorRow) -> Sign {
    let over = row.next.as_ref().map(|clock| clock.state);
    match (over, row.waits_for.is_empty(), &row.doing) {
        (Some(ClockState::Over), _, _) => Sign::new("▲", "over", Tone::BolePlate),
        (Some(ClockState::Come), _, _) => Sign::new("●", "come", Tone::Verdigris),
        (_, false, _) => Sign::new("◇", "waits", Tone::Rubbed),
        (_, true, Some(_)) => Sign::new("◆", "in hand", Tone::Gilt),
        (_, true, None) => Sign::new("○", "free", Tone::Verdigris),
    }
}
