//! Writing on the page: clipped, wide characters counted, nothing from a journal or a card
//! can steer the terminal. While it draws, the ink notes what can be touched.

use ratatui::{buffer::Buffer, layout::Rect};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::keys::Act;
use super::look::{Look, Rgb, Sign, Tone};
use super::pane::Drawn;
use crate::report::harmless;

/// A part of the page that acts when it is touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Touch {
    /// Where.
    pub area: Rect,
    /// What it does.
    pub act: Act,
}

/// Buffer, look and the list of touches, passed through all drawing.
#[derive(Debug)]
pub(super) struct Ink<'a> {
    buffer: &'a mut Buffer,
    look: Look,
    drawn: Drawn,
}

impl<'a> Ink<'a> {
    /// Returns ink for a buffer.
    pub(super) fn new(buffer: &'a mut Buffer, look: Look) -> Self {
        Self {
            buffer,
            look,
            drawn: Drawn::default(),
        }
    }

    /// Returns what the drawing left behind beside the page.
    pub(super) fn dry(self) -> Drawn {
        self.drawn
    }

    /// Notes how many rows of a list fit on the page.
    pub(super) fn rows(&mut self, fit: usize) {
        self.drawn.rows = fit;
    }

    /// Notes that something that must be read did not fit.
    pub(super) fn hide(&mut self) {
        self.drawn.hidden = true;
    }

    /// Writes text on one line in at most `width` cells; text that is too long ends in `…`.
    /// Returns the cells used.
    pub(super) fn put(&mut self, (x, y): (u16, u16), text: &str, tone: Tone, width: u16) -> u16 {
        let area = self.buffer.area;
        if y < area.top() || area.bottom() <= y || x < area.left() || area.right() <= x {
            return 0;
        }
        let room = width.min(area.right() - x);
        self.uncover(Rect::new(x, y, room, 1));
        let text = cut(&plain(text), room);
        let style = self.look.style(tone);
        let (end, _) = self
            .buffer
            .set_stringn(x, y, &text, usize::from(room), style);
        end.saturating_sub(x)
    }

    /// Writes text at the right end of an area's row. Returns the column it begins at.
    pub(super) fn put_right(&mut self, area: Rect, row: u16, text: &str, tone: Tone) -> u16 {
        let wide = cells(text).min(area.width);
        let x = area.right().saturating_sub(wide);
        self.put((x, area.y + row), text, tone, wide);
        x
    }

    /// Writes a sign as symbol and word. Returns the cells used.
    pub(super) fn sign(&mut self, x: u16, y: u16, sign: Sign, width: u16) -> u16 {
        self.put(
            (x, y),
            &format!("{} {}", sign.symbol, sign.word),
            sign.tone,
            width,
        )
    }

    /// Writes two pixels, one above the other, into a cell; says whether the terminal shows
    /// enough colours for it. Only photographs and swatches are drawn so.
    pub(super) fn pixels(&mut self, (x, y): (u16, u16), [top, low]: [Rgb; 2]) -> bool {
        let (Some(top), Some(low)) = (self.look.paint(top), self.look.paint(low)) else {
            return false;
        };
        if let Some(cell) = self.buffer.cell_mut((x, y)) {
            cell.reset();
            cell.set_symbol("▀").set_fg(top).set_bg(low);
        }
        true
    }

    /// Lays an even ground, and takes away what could be touched under it.
    pub(super) fn ground(&mut self, area: Rect, tone: Tone) {
        let area = area.intersection(self.buffer.area);
        let style = self.look.style(tone);
        for position in area.positions() {
            if let Some(cell) = self.buffer.cell_mut(position) {
                cell.reset();
                cell.set_style(style);
            }
        }
        self.drawn
            .touches
            .retain(|touch| touch.area.intersection(area).is_empty());
        self.uncover(area);
    }

    /// Keeps an area free for one of the two photographs, by its place, which the terminal
    /// shows in its own pixels once the page is drawn.
    pub(super) fn photograph(&mut self, area: Rect, nth: usize) {
        self.ground(area, Tone::Chalk);
        if !area.is_empty() {
            self.drawn.photographs.push((nth, area));
        }
    }

    /// What is written over a place kept free takes it: a photograph never covers words.
    fn uncover(&mut self, area: Rect) {
        self.drawn
            .photographs
            .retain(|(_, kept)| kept.intersection(area).is_empty());
    }

    /// Notes that an area acts when touched.
    pub(super) fn touch(&mut self, area: Rect, act: Act) {
        let area = area.intersection(self.buffer.area);
        if !area.is_empty() {
            self.drawn.touches.push(Touch { area, act });
        }
    }

    /// Writes a key as a small plate with its word beside it, and makes both touchable.
    /// Returns the cells used with the gap behind; nothing is drawn if it does not fit.
    pub(super) fn key(
        &mut self,
        (x, y): (u16, u16),
        (shown, words): (&str, &str),
        act: Act,
        [plate, tone]: [Tone; 2],
    ) -> u16 {
        let wide = cells(shown) + 2 + 1 + cells(words);
        if x + wide > self.buffer.area.right() {
            return 0;
        }
        let cap = self.put((x, y), &format!(" {shown} "), plate, cells(shown) + 2);
        self.put((x + cap + 1, y), words, tone, cells(words));
        self.touch(Rect::new(x, y, wide, 1), act);
        wide + 2
    }
}

/// Returns how many cells a text takes once it is made harmless.
pub(super) fn cells(text: &str) -> u16 {
    u16::try_from(plain(text).width()).unwrap_or(u16::MAX)
}

/// Returns the text with every sign that could steer a terminal, turn the reading order or hide
/// made visible, as [`harmless`] does; tabs and line ends become blanks.
pub fn plain(text: &str) -> String {
    harmless(&text.replace(['\t', '\n', '\r'], " ")).into_owned()
}

/// Returns the text in at most so many cells, the cut shown as `…`.
pub(super) fn cut(text: &str, width: u16) -> String {
    let width = usize::from(width);
    if text.width() <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = 0;
    for character in text.chars() {
        let wide = character.width().unwrap_or(0);
        if used + wide + 1 > width {
            break;
        }
        used += wide;
        kept.push(character);
    }
    if width > 0 {
        kept.push('…');
    }
    kept
}

/// Returns the text in lines of at most so many cells, broken at spaces where there are any.
pub(super) fn wrap(text: &str, width: u16) -> Vec<String> {
    let limit = usize::from(width.max(1));
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in plain(text).split_whitespace() {
        let mut word = word.to_owned();
        let gap = usize::from(!line.is_empty());
        if line.width() + gap + word.width() <= limit {
            line.push_str(if gap == 1 { " " } else { "" });
            line.push_str(&word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        while word.width() > limit {
            let (head, tail) = split_at_width(&word, limit);
            if head.is_empty() {
                break;
            }
            lines.push(head);
            word = tail;
        }
        line = word;
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

fn split_at_width(word: &str, limit: usize) -> (String, String) {
    let mut used = 0;
    let mut head = String::new();
    let mut tail = String::new();
    for character in word.chars() {
        used += character.width().unwrap_or(0);
        if used <= limit && tail.is_empty() {
            head.push(character);
        } else {
            tail.push(character);
        }
    }
    (head, tail)
}

#[cfg(test)]
mod tests {
    use super::{cut, plain, wrap};

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(plain("a\u{1b}[2Jb"), "a␛[2Jb");
        assert_eq!(plain("abc\u{202e}fed"), "abc‹U+202E›fed");
        assert_eq!(plain("one\ntwo"), "one two");
    }

    #[test]
    fn text_is_cut_by_cells_and_not_by_letters() {
        assert_eq!(cut("hare", 4), "hare");
        assert_eq!(cut("hares", 4), "har…");
        assert_eq!(cut("金箔金箔", 5), "金箔…");
        assert_eq!(cut("金箔", 3), "金…");
        assert_eq!(cut("x", 0), "");
    }

    #[test]
    fn lines_break_at_spaces_and_long_words_are_split() {
        assert_eq!(wrap("lay the size thin", 8), ["lay the", "size", "thin"]);
        assert_eq!(wrap("abcdefgh", 3), ["abc", "def", "gh"]);
        assert!(wrap("金", 1).len() <= 1);
        assert!(wrap("", 9).is_empty());
    }
}
