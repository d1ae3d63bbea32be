//! A column of a page, written from its top down; what does not fit is not begun.

use ratatui::layout::Rect;

use super::ink::{Ink, cells, wrap};
use super::keys::Act;
use super::letters;
use super::look::{Sign, Tone};

/// A key's plate and the words beside it.
const KEY_TONES: [Tone; 2] = [Tone::GiltPlate, Tone::Chalk];

/// A column being written.
#[derive(Debug)]
pub(super) struct Column<'i, 'b> {
    /// The ink, for what is no plain row.
    pub(super) ink: &'i mut Ink<'b>,
    area: Rect,
    row: u16,
    /// Columns already taken in the last row by keys that must not be lost.
    foot: u16,
}

impl<'i, 'b> Column<'i, 'b> {
    /// Returns an empty column.
    pub(super) fn new(ink: &'i mut Ink<'b>, area: Rect) -> Self {
        Self {
            ink,
            area,
            row: 0,
            foot: 0,
        }
    }

    /// Returns how many rows are free.
    pub(super) fn free(&self) -> u16 {
        self.area.height.saturating_sub(self.row)
    }

    /// Returns its width.
    pub(super) fn width(&self) -> u16 {
        self.area.width
    }

    /// Returns the free part.
    pub(super) fn rest(&self) -> Rect {
        Rect::new(
            self.area.x,
            self.area.y + self.row.min(self.area.height),
            self.area.width,
            self.free(),
        )
    }

    /// Leaves rows free.
    pub(super) fn gap(&mut self, rows: u16) {
        self.row = self.row.saturating_add(rows).min(self.area.height);
    }

    /// Writes one row.
    pub(super) fn line(&mut self, text: &str, tone: Tone) {
        if self.free() > 0 {
            let rest = self.rest();
            self.ink.put((rest.x, rest.y), text, tone, rest.width);
            self.row += 1;
        }
    }

    /// Writes text over at most so many rows; the last ends in `…` if there is more.
    pub(super) fn wrap(&mut self, text: &str, tone: Tone, rows: u16) {
        let lines = wrap(text, self.width());
        let most = usize::from(rows.min(self.free()));
        let cut = lines.len() > most;
        for (place, line) in lines.iter().take(most).enumerate() {
            if cut && place + 1 == most {
                self.line(&format!("{line} …"), tone);
            } else {
                self.line(line, tone);
            }
        }
    }

    /// Writes a sign and more words beside it.
    pub(super) fn sign(&mut self, sign: Sign, words: &str, tone: Tone) {
        if self.free() > 0 {
            let rest = self.rest();
            let used = self.ink.sign(rest.x, rest.y, sign, rest.width);
            let width = rest.width.saturating_sub(used + 2);
            self.ink
                .put((rest.x + used + 2, rest.y), words, tone, width);
            self.row += 1;
        }
    }

    /// Writes large figures if they fit, with words at their foot; one row otherwise.
    pub(super) fn figures(&mut self, text: &str, words: &str, tone: Tone, large: bool) {
        let wide = letters::figures_width(text, 1);
        if !large || self.free() < letters::FIGURE_ROWS || self.width() < wide {
            self.line(&format!("▸ {text} {words}"), tone);
            return;
        }
        let rest = self.rest();
        let used = letters::draw_figures(self.ink, rest, text, 1, tone);
        let left = rest.width.saturating_sub(used + 1);
        let foot = rest.y + letters::FIGURE_ROWS - 1;
        self.ink.put((rest.x + used + 1, foot), words, tone, left);
        self.gap(letters::FIGURE_ROWS);
    }

    /// Writes the key of the one next act, as large as the room allows.
    pub(super) fn next_key(&mut self, shown: &str, words: &str, act: Act) {
        let words_at = letters::letters_width(shown) + 6;
        let wide = words_at + letters::letters_width(words) + 2;
        let drawn = letters::can_draw(words) && letters::can_draw(shown);
        if self.free() < 9 || self.width() < wide || !drawn {
            self.keys(&[(shown, words, act)]);
            return;
        }
        let plate = Rect {
            width: wide,
            height: letters::LETTER_ROWS + 2,
            ..self.rest()
        };
        self.ink.ground(plate, Tone::Board);
        self.ink.touch(plate, act);
        let row = Rect {
            x: plate.x + 2,
            y: plate.y + 1,
            width: wide - 2,
            height: letters::LETTER_ROWS,
        };
        letters::draw_letters(self.ink, row, shown, Tone::BoardGilt);
        let row = Rect {
            x: plate.x + words_at,
            ..row
        };
        letters::draw_letters(self.ink, row, words, Tone::Board);
        self.gap(letters::LETTER_ROWS + 3);
    }

    /// Writes keys with their words side by side, over more rows if they must. Where no row
    /// is free they take the last one: a key is never cut off.
    pub(super) fn keys(&mut self, keys: &[(&str, &str, Act)]) {
        let mut x = 0;
        for (shown, words, act) in keys {
            let wide = cells(shown) + 3 + cells(words);
            if x > 0 && x + wide > self.width() {
                self.gap(1);
                x = 0;
            }
            if self.free() == 0 {
                self.key_at_foot(shown, words, *act);
                continue;
            }
            let rest = self.rest();
            let words = &super::ink::cut(words, rest.width.saturating_sub(cells(shown) + 3));
            let at = (rest.x + x, rest.y);
            x += self.ink.key(at, (shown, words), *act, KEY_TONES);
        }
        if x > 0 {
            self.gap(1);
            self.foot = if self.free() == 0 { x } else { 0 };
        }
    }

    fn key_at_foot(&mut self, shown: &str, words: &str, act: Act) {
        if self.area.height == 0 {
            return;
        }
        let last = Rect {
            y: self.area.bottom() - 1,
            height: 1,
            ..self.area
        };
        if self.foot == 0 {
            self.ink.ground(last, Tone::Chalk);
        }
        let room = last.width.saturating_sub(self.foot + cells(shown) + 3);
        let words = super::ink::cut(words, room);
        let at = (last.x + self.foot, last.y);
        self.foot += self.ink.key(at, (shown, &words), act, KEY_TONES);
    }

    /// Writes a numbered row that can be picked, with a note at its right end if it fits.
    pub(super) fn pick(&mut self, place: usize, words: &str, note: &str) {
        if self.free() == 0 {
            return;
        }
        let rest = self.rest();
        let digit = u8::try_from(place).unwrap_or(0);
        let cap = format!(" {place} ");
        let used = self.ink.put((rest.x, rest.y), &cap, Tone::GiltPlate, 3) + 1;
        let room = rest.width.saturating_sub(used);
        let written = self
            .ink
            .put((rest.x + used, rest.y), words, Tone::Chalk, room);
        let left = room.saturating_sub(written + 2);
        if left >= 12 && !note.is_empty() {
            let x = rest.x + used + written + 2;
            self.ink.put((x, rest.y), note, Tone::Rubbed, left);
        }
        let row = Rect::new(rest.x, rest.y, rest.width, 1);
        self.ink.touch(row, Act::Pick(digit));
        self.row += 1;
    }
}
