//! The supervisor's page on the screen: its ten points, a row in front, and the line behind a
//! row in full. The page itself is made by `report`; here it is laid out and turned.

use ratatui::layout::Rect;

use crate::report::{DayPage, NOT_RECKONED};

use super::column::Column;
use super::ink::{Ink, wrap};
use super::keys::Act;
use super::lists;
use super::look::Tone;
use super::pane::Pane;
use super::sight::{Sight, Waiting};
use super::view::{DayLeaf, Over, Question, Said, Then, View};

/// The last number that two keys can say.
const LAST_NUMBER: usize = 99;

/// Columns before the words of a row: its number, and the mark of the row in front.
const LEAD: u16 = 6;

/// Turns the Day by an act; says whether the act was meant for it.
pub(super) fn turn(view: &mut View, sight: &Sight, act: Act) -> bool {
    if view.day.entry.is_some() {
        return turn_entry(view, sight, act);
    }
    let typed = view.day.typed.take();
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
        _ => return view.day.leaf != DayLeaf::Journal && turn_page(view, sight, (act, typed)),
    }
    true
}

fn turn_entry(view: &mut View, sight: &Sight, act: Act) -> bool {
    if act == Act::Pick(1)
        && let Some(question) = question(view, sight)
    {
        view.over = Over::Question(question);
        return true;
    }
    let closes = matches!(act, Act::Back | Act::Next);
    if closes {
        view.day.entry = None;
    }
    closes || matches!(act, Act::Pick(_) | Act::Row(_) | Act::Up | Act::Down)
}

/// Returns the question to be signed or answered of which the open line tells, if it waits.
fn question(view: &View, sight: &Sight) -> Option<Question> {
    let (book, n) = view.day.entry.as_ref()?;
    let is_it = |one: &Waiting| one.figure == *book && one.line == *n;
    let place = sight.waiting.iter().position(is_it)?;
    match lists::waiting(sight).rows.into_iter().nth(place)?.then {
        Then::Question(question) => Some(*question),
        _ => None,
    }
}

/// Returns the place on the page of the row in front.
fn place_of(view: &View, sight: &Sight) -> usize {
    let mut numbers = sight.paper_numbers.iter();
    let place = numbers.position(|number| *number == view.day.row + 1);
    place.unwrap_or_default()
}

fn turn_page(view: &mut View, sight: &Sight, (act, typed): (Act, Option<usize>)) -> bool {
    let Some(page) = sight.paper.as_deref() else {
        return false;
    };
    let last = page.rows().count().saturating_sub(1);
    let at = place_of(view, sight);
    let to = match (act, typed) {
        (Act::Pick(digit), first) => {
            number(view, (sight, page), first, usize::from(digit));
            return true;
        }
        (Act::More, Some(first)) => {
            number(view, (sight, page), Some(first), 0);
            return true;
        }
        (Act::Next, Some(first)) => {
            open_number(view, (sight, page), first);
            return true;
        }
        (Act::Next, None) => {
            open(view, (sight, page), at);
            return true;
        }
        (Act::Row(row), _) => {
            open(view, (sight, page), usize::from(row));
            return true;
        }
        (Act::Up, _) => at.saturating_sub(1),
        (Act::Down, _) => (at + 1).min(last),
        (Act::FarUp, _) => at.saturating_sub(10),
        (Act::FarDown, _) => (at + 10).min(last),
        (Act::More, None) if at + 9 <= last => at + 9,
        (Act::More, None) => 0,
        (Act::Back, Some(_)) => at,
        _ => return false,
    };
    go(view, sight, to);
    true
}

/// Puts a row in front.
fn go(view: &mut View, sight: &Sight, place: usize) {
    if let Some(number) = sight.paper_numbers.get(place) {
        view.day.row = number.saturating_sub(1);
    }
}

/// Takes one figure of a number: it opens the row as soon as no other number begins so.
fn number(view: &mut View, on: (&Sight, &DayPage), first: Option<usize>, digit: usize) {
    let number = first.unwrap_or_default() * 10 + digit;
    let longest = on.0.paper_numbers.iter().max().copied().unwrap_or_default();
    if first.is_none() && number * 10 <= longest {
        view.day.typed = Some(number);
    } else {
        open_number(view, on, number);
    }
}

fn open_number(view: &mut View, on: (&Sight, &DayPage), number: usize) {
    let mut numbers = on.0.paper_numbers.iter();
    match numbers.position(|known| *known == number) {
        Some(place) => open(view, on, place),
        None => view.said = Some(Said::Hint(format!("no row has the number {number} now"))),
    }
}

/// Opens the line behind a row.
fn open(view: &mut View, (sight, page): (&Sight, &DayPage), row: usize) {
    let Some((_, shown)) = page.rows().nth(row) else {
        return;
    };
    go(view, sight, row);
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
    head(&mut column, paper, pane.view.day.typed);
    let parts = parts(pane, paper, column.width());
    let at = place_of(pane.view, pane.sight);
    for part in parts.around(at, usize::from(column.free())) {
        write(&mut column, part, (at, &pane.sight.paper_numbers));
    }
}

fn head(column: &mut Column<'_, '_>, page: &DayPage, typed: Option<usize>) {
    let only = match page.only() {
        only if only.is_empty() => only,
        only => format!(" · {only}"),
    };
    let typed = typed.map_or_else(String::new, |typed| {
        format!("▸ {typed}_ (Space opens {typed}) · ")
    });
    let words = format!("{typed}{}, {}{only}", page.days(), page.stood());
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

fn parts(pane: &Pane<'_>, paper: &DayPage, width: u16) -> Parts {
    let mut parts = Parts {
        all: Vec::new(),
        rows: 0,
    };
    for point in &paper.points {
        let none = match point.none() {
            Some(NOT_RECKONED) if pane.sight.reckoning => ": reckoning…".to_owned(),
            Some(none) => format!(": {none}"),
            None => String::new(),
        };
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

fn write(column: &mut Column<'_, '_>, part: &Part, (at, numbers): (usize, &[usize])) {
    let Some(row) = part.row else {
        for words in &part.words {
            column.line(words, Tone::Verdigris);
        }
        return;
    };
    let rest = column.rest();
    if let Some(number) = numbers.get(row).filter(|number| **number <= LAST_NUMBER) {
        let plate = format!("{number:>2} ");
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
    let mut keys = vec![("Esc", "back to the page", Act::Back)];
    if question(pane.view, pane.sight).is_some() {
        keys.insert(0, ("1", "sign or answer it: yes or no", Act::Pick(1)));
    }
    column.keys(&keys);
}
