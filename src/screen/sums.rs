//! What the trade's arithmetic says at a step: a line or two under what is asked, all of it in
//! the help.

use crate::standing::{Ask, Prompt, StepSum, Weight};

use super::column::Column;
use super::ink::wrap;
use super::look::Tone;

/// The rows of one sum; what does not fit stands in the help.
const ROWS: u16 = 2;

/// Draws the sums as far as there is room under the ask; a line is begun only if it fits whole,
/// so that no figure loses its unit or its limit.
pub(super) fn draw(column: &mut Column<'_, '_>, prompt: &Prompt) {
    // What must be read before anything counts has the room for itself.
    if matches!(prompt.ask, Ask::Cautions(_)) {
        return;
    }
    let mut is_first = true;
    for sum in &prompt.sums {
        let text = format!("{} {}", sign(sum.weight), sum.line);
        let rows = u16::try_from(wrap(&text, column.width()).len()).unwrap_or(u16::MAX);
        let gap = u16::from(is_first && rows < column.free());
        if column.free() < rows + gap {
            if 0 < column.free() {
                column.line("= ? shows what is reckoned here", Tone::Rubbed);
            }
            return;
        }
        column.gap(gap);
        column.wrap(&text, tone(sum.weight), rows.max(ROWS));
        is_first = false;
    }
}

/// Returns the rows of the help about the sums.
pub(super) fn in_full(prompt: &Prompt) -> Vec<(String, Tone)> {
    let of_one = |sum: &StepSum| {
        let first = (
            format!("{} {}", sign(sum.weight), sum.line),
            tone(sum.weight),
        );
        let more = sum
            .more
            .iter()
            .map(|line| (format!("· {line}"), Tone::Rubbed));
        std::iter::once(first).chain(more).collect::<Vec<_>>()
    };
    prompt.sums.iter().flat_map(of_one).collect()
}

fn sign(weight: Weight) -> &'static str {
    match weight {
        Weight::Plain => "=",
        Weight::Mind => "▲ mind:",
        Weight::Missing => "◇ lacking:",
    }
}

fn tone(weight: Weight) -> Tone {
    match weight {
        Weight::Plain => Tone::Verdigris,
        Weight::Mind => Tone::Bole,
        Weight::Missing => Tone::Gilt,
    }
}
