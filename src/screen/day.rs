//! The Day screen: what waits for the supervisor, then the day's lines, the last first.

use ratatui::layout::Rect;

use crate::report::{DayLine, DayMark};

use super::column::Column;
use super::day_page;
use super::hand::list_skip;
use super::ink::{Ink, wrap};
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::sight::{REFUSED, WaitingAt};
use super::view::DayLeaf;
use crate::reckon::counted;

/// Draws the day.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    if pane.view.day.leaf != DayLeaf::Journal || pane.view.day.entry.is_some() {
        return day_page::draw(ink, area, pane);
    }
    let waiting = &pane.sight.waiting;
    let top = area.height / 2;
    let often = pane.sight.overrules.iter();
    let mut column = Column::new(
        ink,
        Rect {
            height: top,
            ..area
        },
    );
    for count in often.filter(|count| count.is_many()) {
        column.wrap(&format!("▲ {}", count.words()), Tone::Bole, 2);
    }
    let back = waiting.iter().filter(|one| one.kind == REFUSED).count();
    if waiting.is_empty() {
        column.line(
            "✓ nothing waits for a signature or an answer",
            Tone::Verdigris,
        );
    } else {
        let refused = match back {
            0 => String::new(),
            back => format!(", {back} refused and back at the bench"),
        };
        let words = format!(
            "{} to sign or answer{refused}; its number asks yes or no",
            waiting.len() - back
        );
        column.line(&words, Tone::Gilt);
    }
    let skip = list_skip(pane.view, waiting.len());
    for (place, one) in waiting.iter().skip(skip).take(9).enumerate() {
        if column.free() < 2 {
            break;
        }
        let figure = pane.sight.figure_name(&one.figure);
        let symbol = match one.at {
            WaitingAt::Hold(_) => "✎",
            WaitingAt::Line(_) if one.kind == "question" => "?",
            WaitingAt::Line(_) if one.kind == REFUSED => "✗",
            WaitingAt::Line(_) => "▲",
        };
        let words = format!("{symbol} {} · {figure}: {}", one.kind, one.what);
        column.pick(place + 1, &words, &one.who);
    }
    if waiting.len() > 9 {
        column.keys(&[("0", "more", Act::More)]);
    }
    column.gap(1);
    let used = top - column.free();
    let rest = Rect {
        y: area.y + used,
        height: area.height - used,
        ..area
    };
    lines(&mut Column::new(ink, rest), pane);
}

fn lines(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let day = &pane.sight.day;
    let today = pane.sight.now.date_naive();
    let date = pane.sight.other_day.unwrap_or(today).format("%A %d %B");
    column.line(
        &format!("{date}: {}, the last first", counted(day.len(), "line")),
        Tone::Gilt,
    );
    let skip = pane.view.scroll.min(day.len().saturating_sub(1));
    for line in day.iter().rev().skip(skip) {
        if column.free() == 0 {
            return;
        }
        written(column, pane, line);
    }
}

fn written(column: &mut Column<'_, '_>, pane: &Pane<'_>, line: &DayLine) {
    let figure = if line.figure.is_empty() {
        "shop"
    } else {
        pane.sight.figure_name(&line.figure)
    };
    let rest = column.rest();
    let head = format!(
        "{:>5} {} {:<10} {:<14} ",
        line.n,
        line.at
            .with_timezone(pane.sight.now.offset())
            .format("%H:%M"),
        super::ink::cut(&line.by, 10),
        super::ink::cut(figure, 14)
    );
    let used = column
        .ink
        .put((rest.x, rest.y), &head, Tone::Rubbed, rest.width);
    let sign = sign(line.mark);
    let text = format!("{}{}", sign.map_or_else(String::new, lead), line.text);
    let tone = sign.map_or(Tone::Chalk, |sign| sign.tone);
    let width = rest.width.saturating_sub(used);
    for (row, part) in (0u16..).zip(wrap(&text, width).iter().take(3)) {
        if row >= rest.height {
            break;
        }
        column
            .ink
            .put((rest.x + used, rest.y + row), part, tone, width);
    }
    let rows = wrap(&text, width).len().clamp(1, 3);
    column.gap(u16::try_from(rows).unwrap_or(1));
}

fn lead(sign: Sign) -> String {
    let gap = if sign.word.is_empty() { "" } else { ": " };
    format!("{} {}{gap}", sign.symbol, sign.word)
}

/// The sentence itself says most of these words; only what it cannot know is added.
fn sign(mark: DayMark) -> Option<Sign> {
    match mark {
        DayMark::Plain => None,
        DayMark::Finished => Some(Sign::new("●", "", Tone::Verdigris)),
        DayMark::Signed => Some(Sign::new("✎", "", Tone::Verdigris)),
        DayMark::Deviation => Some(Sign::new("▲", "", Tone::Bole)),
        DayMark::Overrule => Some(Sign::new("■", "", Tone::Bole)),
        DayMark::Question => Some(Sign::new("?", "", Tone::Gilt)),
        DayMark::Struck => Some(Sign::new("✗", "struck", Tone::Rubbed)),
        DayMark::Unknown => Some(Sign::new("¤", "newer version", Tone::Gilt)),
    }
}
