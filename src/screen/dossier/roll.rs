//! A roll of rows: what does not fit is counted at its foot, and the arrow keys bring it.

use ratatui::layout::Rect;

use super::super::column::Column;
use super::super::ink::{Ink, cells, cut, wrap};
use super::super::keys::Act;
use super::super::look::{Sign, Tone};
use super::pixels;
use crate::reckon::colour::Colour;

/// Cells that a swatch and the gap behind it take.
const SWATCH: u16 = 4;

/// Words behind columns have at least so many cells, or stand below them.
const LEAST_WORDS: u16 = 20;

/// One row of a roll.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    /// Words one behind the other, each with its tone.
    words: Vec<(String, Tone)>,
    /// A patch of colour in front of them.
    swatch: Option<Colour>,
    /// A digit that picks it, and a note at its right end.
    pick: Option<(usize, String)>,
}

/// Rows being gathered for a width.
#[derive(Debug)]
pub(super) struct Roll {
    width: u16,
    rows: Vec<Row>,
}

impl Roll {
    /// Returns an empty roll for an area so wide.
    pub(super) fn new(width: u16) -> Self {
        Self {
            width,
            rows: Vec::new(),
        }
    }

    /// Returns how wide it is.
    pub(super) fn width(&self) -> u16 {
        self.width
    }

    /// Returns how many rows it has.
    pub(super) fn len(&self) -> u16 {
        u16::try_from(self.rows.len()).unwrap_or(u16::MAX)
    }

    /// Adds words over as many rows as they want.
    pub(super) fn wrap(&mut self, text: &str, tone: Tone) {
        let rows = wrap(text, self.width).into_iter();
        self.rows.extend(rows.map(|line| Row {
            words: vec![(line, tone)],
            ..Row::default()
        }));
    }

    /// Adds words over as many rows as they want, all of them set in.
    pub(super) fn set_in(&mut self, text: &str, tone: Tone) {
        self.row(None, (&[], []), text, tone);
    }

    /// Adds a row of a table: a patch of colour, columns so wide, and words that go on below
    /// themselves.
    pub(super) fn row<const N: usize>(
        &mut self,
        colour: Option<Colour>,
        (columns, wide): (&[String; N], [usize; N]),
        text: &str,
        tone: Tone,
    ) {
        let columns: String = columns
            .iter()
            .zip(wide)
            .map(|(words, wide)| fitted(words, wide) + "  ")
            .collect();
        let lead = " ".repeat(usize::from(SWATCH));
        let mut below = " ".repeat(usize::from(cells(&columns)));
        let mut room = self.width.saturating_sub(SWATCH + cells(&columns));
        let mut lines = Vec::new();
        if room < LEAST_WORDS {
            // The columns stand alone, and the words below them.
            below = " ".repeat(usize::from(SWATCH));
            room = self.width.saturating_sub(SWATCH * 2);
            lines.push(String::new());
        }
        lines.extend(wrap(text, room));
        if lines.is_empty() {
            lines.push(String::new());
        }
        for (line, nth) in lines.into_iter().zip(0..) {
            let lead = if nth == 0 && colour.is_some() {
                ""
            } else {
                &lead
            };
            let columns = if nth == 0 { &columns } else { &below };
            self.rows.push(Row {
                words: vec![(format!("{lead}{columns}{line}"), tone)],
                swatch: colour.filter(|_| nth == 0),
                pick: None,
            });
        }
    }

    /// Adds a sign and words beside it.
    pub(super) fn sign(&mut self, sign: Sign, words: &str, tone: Tone) {
        let said = format!("{} {}", sign.symbol, sign.word);
        self.cells(vec![(said, sign.tone), (format!("  {words}"), tone)]);
    }

    /// Adds one row of words in several tones.
    pub(super) fn cells(&mut self, words: Vec<(String, Tone)>) {
        self.rows.push(Row {
            words,
            ..Row::default()
        });
    }

    /// Adds a row that a digit picks, with a note at its right end.
    pub(super) fn pick(&mut self, place: usize, words: &str, note: &str) {
        self.rows.push(Row {
            words: vec![(words.to_owned(), Tone::Chalk)],
            swatch: None,
            pick: Some((place, note.to_owned())),
        });
    }

    /// Draws it from the row scrolled to; what stands above and below is counted.
    pub(super) fn draw(&self, ink: &mut Ink<'_>, area: Rect, scroll: usize) {
        let (all, room) = (self.rows.len(), usize::from(area.height));
        if room == 0 {
            return;
        }
        let shown = if all <= room { all } else { room - 1 };
        let above = scroll.min(all - shown);
        let mut column = Column::new(ink, area);
        for row in self.rows.iter().skip(above).take(shown) {
            draw_row(&mut column, row);
        }
        let below = all - above - shown;
        let (words, act) = match (above, below) {
            (0, 0) => return,
            (0, below) => (format!("… {below} more ↓"), Act::Down),
            (above, 0) => (format!("… {above} above ↑"), Act::Up),
            (above, below) => (format!("… {below} more ↓ {above} above ↑"), Act::Down),
        };
        let foot = column.rest();
        column.line(&words, Tone::Gilt);
        column.ink.touch(Rect { height: 1, ..foot }, act);
    }
}

/// Words in so many cells: cut, or filled up with blanks.
fn fitted(words: &str, wide: usize) -> String {
    let words = cut(words, u16::try_from(wide).unwrap_or(u16::MAX));
    let blank = wide.saturating_sub(usize::from(cells(&words)));
    words + &" ".repeat(blank)
}

fn draw_row(column: &mut Column<'_, '_>, row: &Row) {
    if let Some((place, note)) = &row.pick {
        let words: String = row.words.iter().map(|(words, _)| words.as_str()).collect();
        column.pick(*place, &words, note);
        return;
    }
    let rest = column.rest();
    let mut x = rest.x;
    if let Some(colour) = row.swatch {
        pixels::swatch(column.ink, (x, rest.y), colour, SWATCH - 1);
        x += SWATCH;
    }
    for (words, tone) in &row.words {
        let room = rest.right().saturating_sub(x);
        column.ink.put((x, rest.y), words, *tone, room);
        x += cells(words);
    }
    column.gap(1);
}
