//! Gates and cautions as a step shows them.

use crate::card::{Caution, DEFERRAL_SHORT, GateKind};
use crate::standing::{Ask, OpensBy, Prompt, Verdict};

use super::ask::{self, number};
use super::column::Column;
use super::ink::{cells, wrap};
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::times;

/// Returns the rows of the cautions at the foot of a step: those of the first rank in full,
/// the others as far as a quarter of the page goes, then whom to call and what comes before
/// every card.
pub(super) fn caution_rows(pane: &Pane<'_>, prompt: &Prompt, (width, height): (u16, u16)) -> Rows {
    if matches!(prompt.ask, Ask::Cautions(_)) {
        return Vec::new();
    }
    let mut rows = Vec::new();
    let mut shown = 0;
    for caution in &prompt.cautions {
        let lines = caution_lines(caution, width);
        let first = caution.rank <= 1;
        if !first && rows.len() + lines.len() > usize::from(height / 4) {
            break;
        }
        rows.extend(lines);
        shown += 1;
    }
    let more = prompt.cautions.len() - shown;
    // What is done now comes before what stands above it: it must never push a row away.
    let headline = wrap(&ask::headline(prompt), width.saturating_sub(4)).len();
    let needs = headline + ask::rows_wanted(&prompt.ask);
    let foot = first_rank_rows(pane, &prompt.cautions, width);
    let mut left = usize::from(height).saturating_sub(rows.len() + needs);
    // What was ticked and does not fit is named, so that nobody takes the rest for all.
    if more > 0 && left > 0 {
        rows.push((format!("△ {more} more: ? shows them"), Tone::Chalk));
        left -= 1;
    }
    rows.extend(that_fits(foot, left));
    rows
}

/// Returns what stands beside the count of steps where a caution of the first rank is near
/// and the page is too small for whole sentences.
pub(super) fn in_brief(prompt: &Prompt) -> Option<&'static str> {
    let mut cautions = prompt.cautions.iter();
    let is_first = cautions.any(|caution| caution.rank <= 1);
    is_first.then_some("data sheet first; in doubt, stop")
}

/// Rows as they are written, each with its tone.
type Rows = Vec<(String, Tone)>;

/// Where a caution of the first rank is shown: the emergency lines, if it is about what hurts
/// at once, and the sentence that comes before every card.
fn first_rank_rows(pane: &Pane<'_>, cautions: &[Caution], width: u16) -> [Rows; 2] {
    let mut first = cautions
        .iter()
        .filter(|caution| caution.rank <= 1)
        .peekable();
    if first.peek().is_none() {
        return [Vec::new(), Vec::new()];
    }
    let mut call = Vec::new();
    if first.any(Caution::is_of_first_aid) {
        let emergency = &pane.sight.shop.emergency;
        let whole = emergency.in_words();
        let shown = if cells(&whole) <= width {
            whole
        } else {
            emergency.first_in_words()
        };
        call.push((shown, Tone::Bole));
    }
    let before = wrap(DEFERRAL_SHORT, width).into_iter();
    [call, before.map(|line| (line, Tone::Rubbed)).collect()]
}

/// Returns as much of what stands under the first rank as there are rows for: a sentence is
/// shown whole or not at all, and whom to call comes before it.
fn that_fits([call, before]: [Rows; 2], rows: usize) -> Rows {
    if call.len() + before.len() <= rows {
        [call, before].concat()
    } else if call.len() <= rows {
        call
    } else {
        Vec::new()
    }
}

fn caution_lines(caution: &Caution, width: u16) -> Rows {
    let (mark, tone) = if caution.rank <= 1 {
        ("▲ ", Tone::Bole)
    } else {
        ("△ ", Tone::Chalk)
    };
    wrap(&caution.say, width.saturating_sub(2))
        .into_iter()
        .enumerate()
        .map(|(row, line)| {
            let lead = if row == 0 { mark } else { "  " };
            (format!("{lead}{line}"), tone)
        })
        .collect()
}

/// Draws a gate: why it is shut, what opens it, who may pass it.
pub(super) fn gate(column: &mut Column<'_, '_>, pane: &Pane<'_>, verdict: &Verdict) {
    let kind = if verdict.hard {
        "it stops; only a second person may pass it"
    } else {
        "it warns; a reason passes it"
    };
    let sign = if verdict.open {
        Sign::new("○", "open", Tone::Verdigris)
    } else {
        Sign::new("■", "shut", Tone::Bole)
    };
    if column.width() > cells(kind) + 9 {
        column.sign(sign, kind, Tone::Rubbed);
    } else {
        column.sign(sign, "", Tone::Rubbed);
        column.wrap(kind, Tone::Rubbed, 2);
    }
    column.wrap(&verdict.why, Tone::Chalk, 4);
    let often = pane.sight.overruled_words(verdict.gate);
    if !often.is_empty() {
        column.wrap(&often, Tone::Bole, 2);
    }
    column.gap(1);
    match &verdict.opens_by {
        OpensBy::Vouch(what) => {
            column.wrap(what, Tone::Chalk, 6);
            column.next_key("Space", "I have looked, and it is so", Act::Next);
        }
        OpensBy::AirReading(room) => {
            let rooms = &pane.sight.shop.rooms;
            let name = rooms.iter().find(|known| known.id == *room);
            let name = name.map_or(room.as_str(), |known| known.name.as_str());
            column.next_key("Space", &format!("read the air: {name}"), Act::Next);
        }
        OpensBy::Surface => {
            number(column, pane, "°C, surface of the figure");
            column.keys(&[("Enter", "take it", Act::Next)]);
        }
        OpensBy::Operation(operation) if is_here(pane, operation) => {
            column.next_key("Space", "take the readings again", Act::Next);
            column.keys(&[("o", "overrule", Act::Overrule)]);
            return;
        }
        OpensBy::Operation(operation) => {
            let title = pane.sight.operation_title(operation);
            column.next_key("Space", &format!("go to: {title}"), Act::Next);
        }
        OpensBy::Renew { figure, clock } => {
            let name = pane
                .sight
                .clocks
                .iter()
                .find(|known| known.figure == *figure && known.id == *clock)
                .map_or("it", |known| times::clock_name(known.clock));
            column.next_key("Space", &format!("changed: {name}"), Act::Next);
        }
        OpensBy::Wait(what) if verdict.gate == GateKind::MixLive => {
            column.wrap(&format!("◇ waits for: {what}"), Tone::Gilt, 3);
            column.next_key("Space", "throw it away", Act::Next);
        }
        OpensBy::Wait(what) => column.wrap(&format!("◇ waits for: {what}"), Tone::Gilt, 3),
        OpensBy::Nothing => {}
    }
    column.keys(&[
        ("r", "read again", Act::ReadAgain),
        ("o", "overrule", Act::Overrule),
    ]);
}

/// Whether the operation that opens a gate is the one at the bench.
fn is_here(pane: &Pane<'_>, operation: &str) -> bool {
    let work = pane.view.work.as_ref();
    work.is_some_and(|work| work.operation == operation)
}

/// The gap and the key under cautions, rows.
const KEY_ROWS: usize = 2;

/// Those of the first rank stay; the others turn over until all have been shown.
pub(super) fn cautions_to_read(column: &mut Column<'_, '_>, pane: &Pane<'_>, cautions: &[Caution]) {
    let width = column.width();
    let (first, others): (Vec<_>, Vec<_>) = cautions.iter().partition(|one| one.rank <= 1);
    for caution in &first {
        for (line, tone) in caution_lines(caution, width) {
            column.line(&line, tone);
        }
    }
    // A page on which no other caution found room would never be read to its end.
    let most = others
        .iter()
        .map(|one| caution_lines(one, width).len())
        .max();
    let least = most.unwrap_or_default() + KEY_ROWS;
    let left = usize::from(column.free()).saturating_sub(least);
    let foot = that_fits(first_rank_rows(pane, cautions, width), left);
    let skip = pane.view.scroll.min(others.len().saturating_sub(1));
    let mut shown = 0;
    for caution in others.iter().skip(skip) {
        let lines = caution_lines(caution, width);
        if usize::from(column.free()) < lines.len() + foot.len() + KEY_ROWS {
            break;
        }
        for (line, tone) in lines {
            column.line(&line, tone);
        }
        shown += 1;
    }
    let more = others.len().saturating_sub(skip + shown);
    for (line, tone) in foot {
        column.line(&line, tone);
    }
    column.gap(1);
    if more > 0 {
        column.ink.hide();
        column.next_key("Space", &format!("{more} more below"), Act::Next);
    } else {
        column.next_key("Space", "I have read them", Act::Next);
    }
}
