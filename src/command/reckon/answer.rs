//! One answer in both shapes: aligned lines to read, and a flat JSON object to test and to pipe.

use serde_json::{Map, Value};
use unicode_width::UnicodeWidthStr;

/// What a topic answers: figures with their key, and the reasons below them.
///
/// Built up in the order of showing; the last word of every answer is its source.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    figures: Vec<Figure>,
    notes: Vec<(&'static str, String)>,
}

#[derive(Debug, Clone)]
struct Figure {
    key: &'static str,
    value: Value,
    label: String,
    shown: String,
}

impl Answer {
    /// Returns an answer without figures.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a number: JSON `key` in full precision, `label` and unit with `places` digits after
    /// the point for reading. A number that is not finite becomes `null` in JSON.
    #[must_use]
    pub fn number(self, key: &'static str, value: f64, shown: (&str, usize, &str)) -> Self {
        let (label, places, unit) = shown;
        let rounded = format!("{value:.places$}");
        let unsigned = rounded.trim_start_matches('-');
        // A rounded nought keeps no sign, for `-0.0 °C` puzzles the reader.
        let digits = if unsigned.chars().all(|it| matches!(it, '0' | '.')) {
            unsigned
        } else {
            &rounded
        };
        let text = if unit.is_empty() {
            digits.to_owned()
        } else {
            format!("{digits} {unit}")
        };
        self.figure(key, Value::from(value), label, text)
    }

    /// Adds a whole number.
    #[must_use]
    pub fn count(self, key: &'static str, value: usize, label: &str) -> Self {
        self.figure(key, Value::from(value), label, value.to_string())
    }

    /// Adds a yes or no; `words` are what is read for true and for false.
    #[must_use]
    pub fn truth(self, key: &'static str, value: bool, label: &str, words: [&str; 2]) -> Self {
        let [yes, no] = words;
        let text = if value { yes } else { no };
        self.figure(key, Value::from(value), label, text.to_owned())
    }

    /// Adds a word or short phrase.
    #[must_use]
    pub fn word(self, key: &'static str, value: &str, label: &str) -> Self {
        self.figure(key, Value::from(value), label, value.to_owned())
    }

    /// Adds a figure that has no value here, `null` in JSON, with what is read instead.
    #[must_use]
    pub fn missing(self, key: &'static str, label: &str, words: &str) -> Self {
        self.figure(key, Value::Null, label, words.to_owned())
    }

    /// Adds a line of reason, such as `because`, `holds`, `safe_side`, `source`; also a JSON key.
    /// A second line of the same name is joined to the first in JSON.
    #[must_use]
    pub fn note(mut self, name: &'static str, text: impl Into<String>) -> Self {
        self.notes.push((name, text.into()));
        self
    }

    /// Returns the answer as aligned lines, figures first, each ended.
    pub fn lines(&self) -> String {
        let labels = self.figures.iter().map(|it| it.label.as_str());
        let width = labels
            .chain(self.notes.iter().map(|it| it.0))
            .map(UnicodeWidthStr::width)
            .max()
            .unwrap_or(0);
        let mut text = String::new();
        let mut line = |label: &str, words: &str| {
            let pad = " ".repeat(width.saturating_sub(label.width()));
            text.extend([label, &pad, "  ", words, "\n"]);
        };
        for it in &self.figures {
            line(&it.label, &it.shown);
        }
        for (name, words) in &self.notes {
            line(&name.replace('_', " "), words);
        }
        text
    }

    /// Returns the answer as one flat JSON object on one line, ended.
    pub fn json(&self) -> String {
        let mut object = Map::new();
        for it in &self.figures {
            object.insert(it.key.to_owned(), it.value.clone());
        }
        for (name, words) in &self.notes {
            match object.get_mut(*name) {
                Some(Value::String(said)) => {
                    said.push_str("; ");
                    said.push_str(words);
                }
                _ => {
                    object.insert((*name).to_owned(), Value::from(words.as_str()));
                }
            }
        }
        format!("{}\n", Value::Object(object))
    }

    fn figure(mut self, key: &'static str, value: Value, label: &str, shown: String) -> Self {
        self.figures.push(Figure {
            key,
            value,
            label: label.to_owned(),
            shown,
        });
        self
    }
}

#[cfg(test)]
mod tests {
    use super::Answer;

    #[test]
    fn both_shapes_hold_the_same_figures() {
        let answer = Answer::new()
            .number("emc_percent", 9.25, ("the air allows", 1, "%"))
            .truth("reaches", true, "reaches", ["yes", "no"])
            .missing("late_h", "late", "unknown")
            .note("because", "21 °C")
            .note("because", "50 %");
        assert_eq!(
            answer.lines(),
            "the air allows  9.2 %\nreaches         yes\nlate            unknown\nbecause         21 °C\nbecause         50 %\n"
        );
        assert_eq!(
            answer.json(),
            "{\"emc_percent\":9.25,\"reaches\":true,\"late_h\":null,\"because\":\"21 °C; 50 %\"}\n"
        );
    }

    #[test]
    fn a_rounded_nought_has_no_sign() {
        let answer = Answer::new().number("x_mm", -0.001, ("x", 1, "mm"));
        assert_eq!(answer.lines(), "x  0.0 mm\n");
    }
}
