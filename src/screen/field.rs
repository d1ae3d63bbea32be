//! One line of text being written. Backspace takes whole letters back, with their accents.

use unicode_width::UnicodeWidthChar;

use super::ink::plain;

/// The longest line that is taken, in letters: a reason, not an essay.
pub(super) const LONGEST: usize = 240;

/// One line of text being written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Field {
    text: String,
}

impl Field {
    /// Adds a letter; one that could steer the terminal becomes harmless first.
    pub fn letter(&mut self, letter: char) {
        if self.text.chars().count() < LONGEST {
            self.text.push_str(&plain(letter.encode_utf8(&mut [0; 4])));
        }
    }

    /// Adds a pasted text on this one line.
    pub fn paste(&mut self, text: &str) {
        for letter in text.chars() {
            self.letter(letter);
        }
    }

    /// Takes the last letter back, together with the marks that sit on it.
    pub fn rub(&mut self) {
        while let Some(letter) = self.text.pop() {
            if letter.width().unwrap_or(0) > 0 {
                break;
            }
        }
    }

    /// Returns the line without blanks at its ends.
    pub fn words(&self) -> &str {
        self.text.trim()
    }

    /// Returns the line as it is being written.
    pub fn text(&self) -> &str {
        &self.text
    }
}

#[cfg(test)]
mod tests {
    use super::{Field, LONGEST};

    #[test]
    fn accents_go_with_their_letter() {
        let mut field = Field::default();
        field.paste("nail e\u{301}");
        field.rub();
        assert_eq!(field.text(), "nail ");
        assert_eq!(field.words(), "nail");
    }

    #[test]
    fn nothing_harmful_is_kept() {
        let mut field = Field::default();
        field.paste("a\u{1b}[2J\nb\u{202e}");
        assert_eq!(field.text(), "a␛[2J b‹U+202E›");
    }

    #[test]
    fn a_line_has_an_end() {
        let mut field = Field::default();
        field.paste(&"x".repeat(LONGEST + 9));
        assert_eq!(field.text().len(), LONGEST);
    }
}
