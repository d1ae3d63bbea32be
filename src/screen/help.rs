//! The help of the screen in front: its keys, why the step is asked, what goes wrong.

use ratatui::layout::Rect;

use super::column::Column;
use super::hand::places;
use super::ink::{Ink, cells};
use super::keys::{Act, rows_for};
use super::look::Tone;
use super::pane::Pane;
use super::view::{Over, Page};

/// One row of the help page.
type HelpRow = (String, Tone);

/// Draws the help.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>) {
    let rows = rows(pane, area.width);
    let mut column = Column::new(ink, area);
    let skip = pane.view.scroll.min(rows.len().saturating_sub(1));
    let last = usize::from(area.height.saturating_sub(1));
    for (row, tone) in rows.iter().skip(skip).take(last) {
        column.line(row, *tone);
    }
    let more = rows.len().saturating_sub(skip + last);
    let down = format!("{more} rows more");
    if more > 0 {
        column.keys(&[("PgDn", &down, Act::FarDown), ("?", "close", Act::Help)]);
    } else {
        column.keys(&[("?", "close", Act::Help)]);
    }
}

fn rows(pane: &Pane<'_>, width: u16) -> Vec<HelpRow> {
    let mut rows = Vec::new();
    let screen = pane.view.page;
    put(&mut rows, about(screen), Tone::Gilt, width);
    if screen == Page::Bench {
        of_step(&mut rows, pane, width);
    }
    rows.push((String::new(), Tone::Chalk));
    let mut under = pane.view.clone();
    under.over = Over::Nothing;
    let mut place = None;
    for key in rows_for(&places(&under, pane.sight)) {
        if place != Some(key.place) {
            place = Some(key.place);
            rows.push((key.place.words().to_owned(), Tone::Gilt));
        }
        let gap = " ".repeat(usize::from(11u16.saturating_sub(cells(key.shown))));
        rows.push((format!("  {}{gap}{}", key.shown, key.words), Tone::Chalk));
    }
    if screen == Page::Dossier {
        for (words, tone) in super::dossier::legend() {
            if words.is_empty() || words.starts_with(' ') {
                rows.push((words, tone));
            } else {
                put(&mut rows, &words, tone, width);
            }
        }
    }
    rows
}

fn of_step(rows: &mut Vec<HelpRow>, pane: &Pane<'_>, width: u16) {
    let Some(prompt) = &pane.sight.prompt else {
        return;
    };
    put(
        rows,
        &format!("the step: {}", prompt.act),
        Tone::Chalk,
        width,
    );
    if let Some(why) = &prompt.why {
        put(rows, &format!("why: {why}"), Tone::Chalk, width);
    }
    for (line, tone) in super::sums::in_full(prompt) {
        put(rows, &line, tone, width);
    }
    for caution in &prompt.cautions {
        let lead = if caution.rank <= 1 { "▲" } else { "△" };
        let words = format!("{lead} {} ({})", caution.say, caution.source);
        put(rows, &words, Tone::Bole, width);
    }
    for fault in &prompt.goes_wrong {
        let cause = if fault.cause.is_empty() {
            String::new()
        } else {
            format!(" — likely {}", fault.cause)
        };
        let words = format!("if {}{cause}: {}", fault.sign, fault.remedy);
        put(rows, &words, Tone::Chalk, width);
    }
    if !pane.sight.shop.name.is_empty() {
        let emergency = &pane.sight.shop.emergency;
        put(rows, &emergency.in_words(), Tone::Bole, width);
    }
}

fn put(rows: &mut Vec<HelpRow>, text: &str, tone: Tone, width: u16) {
    rows.extend(
        super::ink::wrap(text, width)
            .into_iter()
            .map(|line| (line, tone)),
    );
}

fn about(page: Page) -> &'static str {
    match page {
        Page::Bench => {
            "Bench shows one figure and one step. The large line is the one thing to do; the \
             key to press stands under it. The large time is the one that matters: left for \
             what must be done before, to wait for what must come."
        }
        Page::Clocks => {
            "Clocks shows all that runs, what dies first first. Time running out never \
             completes a step: only a hand does."
        }
        Page::Dossier => {
            "Dossier shows one figure's record in five leaves: map, joints, old paint, photographs, \
             readings. `v` and `z` turn them; a digit, the arrows or a touch pick a part. Nothing \
             can be changed here. Below the keys stands what every symbol and colour means."
        }
        Page::Floor => {
            "Floor shows every figure, the one whose clock dies first first. Its bar is the \
             journey: what is done, at work, ahead, or not on its route. Below stands what it \
             waits for and since when. A promise is at risk where more than one run in ten of the \
             forecast ends after it."
        }
        Page::Day => {
            "Day shows what waits for a signature or an answer, then every line of the day's \
             journals. `v` turns to the one page of the day and to that of the week: ten points, \
             each row with the line that it leads to; its number, Enter or a touch opens it, and \
             what waits there is signed or answered with 1. A row keeps its number. \
             Nothing is deleted: a struck line stays and is marked."
        }
        Page::Night => {
            "Night shows when to lay oil size this evening, so that all of it takes leaf while \
             somebody is there tomorrow. The large time is the lay time with the most to spare; \
             a panel's number leaves it for another night. Ready is counted late, dead early; \
             the chip and the knuckle decide."
        }
    }
}
