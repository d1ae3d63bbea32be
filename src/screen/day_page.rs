//! The supervisor's page on the screen: its ten points, a row in front, and the line behind a
//! row in full. The page itself is made by `report`; here it is laid out and turned.

use ratatui::layout::Rect;

use crate::report::DayPage;

use super::column::Column;
use super::ink::{Ink, wrap};
use super::keys::Act;
use super::lists;
use super::look::Tone;
use super::pane::Pane;
use super::sight::Sight;
use super::view::{DayLeaf, Over, Said, View};

/// Columns before the words of a row: its key, and the mark of the row in front.
const LEAD: u16 = 6;

/// Turns the Day by an act; says whether the act was meant for it.
pub(super) fn turn(view: &mut View, sight: &Sight, act: Act) -> bool {
    if view.day.entry.is_some() {
        return turn_entry(view, act);
    }
    match act {
        Act::NextLeaf => {
            view.day.leaf = view.day.leaf.next();
            view.day.back = 0;
            (view.day.row, view.scroll, view.skip) = (0, 0, 0);
        }
        Act::PartBefore => {
            view.day.back = view.day.back.saturating_add(1);
            (view.day.row, view.scroll) = (0, 0);
        }
        Act::NextPart => {
            view.day.back = view.day.back.saturating_sub(1);
            (view.day.row, view.scroll) = (0, 0);
        }
        Act::Only => {
            if view.day.leaf == DayLeaf::Journal {
                view.day.leaf = DayLeaf::Page;
            }
            view.over = Over::List(lists::only(sight));
        }
        _ => return view.day.leaf != DayLeaf::Journal && turn_page(view, sight, act),
    }
    true
}

fn turn_entry(view: &mut View, act: Act) -> bool {
    let closes = matches!(act, Act::Back | Act::Next);
    if closes {
        view.day.entry = None;
    }
    closes || matches!(act, Act::Pick(_) | Act::Row(_) | Act::Up | Act::Down)
}

fn turn_page(view: &mut View, sight: &Sight, act: Act) -> bool {
    let Some(page) = sight.paper.as_deref() else {
        return false;
    };
    let last = page.rows().count().saturating_sub(1);
    let at = view.day.row.min(last);
    match act {
        Act::Up => view.day.row = at.saturating_sub(1),
        Act::Down => view.day.row = (at + 1).min(last),
        Act::FarUp => view.day.row = at.saturating_sub(10),
        Act::FarDown => view.day.row = (at + 10).min(last),
        Act::More => view.day.row = if at + 9 <= last { at + 9 } else { 0 },
        Act::Next => open(view, page, at),
        Act::Pick(digit) => open(view, page, at + usize::from(digit.saturating_sub(1))),
        Act::Row(row) => open(view, page, usize::from(row)),
        _ => return false,
    }
    true
}

/// Opens the line behind a row.
fn open(view: &mut View, page: &DayPage, row: usize) {
    let Some((_, shown)) = page.rows().nth(row) else {
        return;
    };
    view.day.row = row;
    view.day.entry.clone_from(&shown.line);
    if shown.line.is_none() {
        let words = "no line is behind this: it stands on a card, or is a sum of many lines";
        view.said = Some(Said::Hint(words.to_owned()));
    }
}

/// Draws the page, or the line that is open.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let mut column = Column::new(ink, area);
    if pane.view.day.entry.is_some() {
        return entry(&mut column, pane);
    }
    let Some(paper) = pane.sight.paper.as_deref() else {
        return column.line("the page cannot be read", Tone::Bole);
    };
    head(&mut column, paper);
    let parts = parts(paper, column.width());
    let at = pane.view.day.row.min(parts.rows.saturating_sub(1));
    for part in parts.around(at, usize::from(column.free())) {
        write(&mut column, part, at);
    }
}

fn head(column: &mut Column<'_, '_>, page: &DayPage) {
    let only = match page.only() {
        only if only.is_empty() => only,
        only => format!(" · {only}"),
    };
    let words = format!("{}, {}{only}", page.days(), page.stood());
    column.line(&words, Tone::Gilt);
}

/// A point's title or a row, as wrapped words.
struct Part {
    /// Place among the rows; `None` for a title.
    row: Option<usize>,
    words: Vec<String>,
}

struct Parts {
    all: Vec<Part>,
    rows: usize,
}

fn parts(page: &DayPage, width: u16) -> Parts {
    let mut parts = Parts {
        all: Vec::new(),
        rows: 0,
    };
    for point in &page.points {
        let none = if point.rows.is_empty() { ": –" } else { "" };
        parts.all.push(Part {
            row: None,
            words: vec![format!("{}{none}", point.head())],
        });
        for row in &point.rows {
            parts.all.push(Part {
                row: Some(parts.rows),
                words: wrap(&row.told(), width.saturating_sub(LEAD)),
            });
            parts.rows += 1;
        }
    }
    parts
}

impl Parts {
    /// Returns the sheet on which a row stands: the parts are laid on sheets of this height
    /// from the first on, so that nothing moves while the hand goes from row to row.
    fn around(&self, row: usize, height: usize) -> Vec<&Part> {
        let (mut sheet, mut used, mut found) = (Vec::new(), 0, false);
        for part in &self.all {
            let high = part.words.len();
            if height < used + high {
                if found {
                    break;
                }
                sheet.clear();
                used = 0;
            }
            used += high;
            found |= part.row == Some(row) || self.rows == 0;
            sheet.push(part);
        }
        sheet
    }
}

fn write(column: &mut Column<'_, '_>, part: &Part, at: usize) {
    let Some(row) = part.row else {
        for words in &part.words {
            column.line(words, Tone::Verdigris);
        }
        return;
    };
    let rest = column.rest();
    let key = (row + 1)
        .checked_sub(at)
        .filter(|key| (1..=9).contains(key));
    if let Some(key) = key {
        let plate = format!(" {key} ");
        column.ink.put((rest.x, rest.y), &plate, Tone::GiltPlate, 3);
    }
    let (mark, tone) = if row == at {
        ("▸", Tone::Gilt)
    } else {
        (" ", Tone::Chalk)
    };
    column.ink.put((rest.x + 4, rest.y), mark, Tone::Gilt, 1);
    let width = rest.width.saturating_sub(LEAD);
    for (down, words) in (0u16..).zip(&part.words) {
        if down < rest.height {
            let place = (rest.x + LEAD, rest.y + down);
            column.ink.put(place, words, tone, width);
        }
    }
    let high = u16::try_from(part.words.len()).unwrap_or(u16::MAX);
    if let Ok(row) = u16::try_from(row) {
        let area = Rect {
            height: high.min(rest.height),
            ..rest
        };
        column.ink.touch(area, Act::Row(row));
    }
    column.gap(high);
}

/// A line in full.
fn entry(column: &mut Column<'_, '_>, pane: &Pane<'_>) {
    let Some(entry) = pane.sight.entry.as_deref() else {
        return column.line("this line cannot be read; `audit` tells more", Tone::Bole);
    };
    column.line(&entry.number, Tone::Gilt);
    for (head, words) in &entry.rows {
        let rest = column.rest();
        if rest.height < 3 {
            break;
        }
        column.ink.put((rest.x, rest.y), head, Tone::Rubbed, 13);
        let width = rest.width.saturating_sub(14);
        let lines = wrap(words, width);
        for (down, line) in (0u16..).zip(lines.iter().take(3)) {
            let place = (rest.x + 14, rest.y + down);
            column.ink.put(place, line, Tone::Chalk, width);
        }
        column.gap(u16::try_from(lines.len().clamp(1, 3)).unwrap_or(1));
    }
    column.keys(&[("Esc", "back to the page", Act::Back)]);
}
