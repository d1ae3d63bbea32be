//! Looks for bytes in a journal before anything is read as JSON, so that a search over many
//! years costs about as much as reading the files.

use std::ops::Range;

use memchr::memmem::Finder;
use memchr::{memchr, memrchr};

/// Texts of which one has to stand in a line for the line to be looked at.
#[derive(Debug)]
pub(super) struct Needles {
    finders: Vec<Finder<'static>>,
}

impl Needles {
    /// Returns needles for these texts; an empty text stands in every line.
    pub(super) fn new<T: AsRef<[u8]>>(texts: impl IntoIterator<Item = T>) -> Self {
        let finders = texts.into_iter();
        Self {
            finders: finders
                .map(|text| Finder::new(text.as_ref()).into_owned())
                .collect(),
        }
    }

    /// Returns needles for whole JSON strings with these values.
    pub(super) fn values<'a>(values: impl IntoIterator<Item = &'a str>) -> Self {
        let quoted = values.into_iter();
        Self::new(quoted.map(|value| serde_json::Value::from(value).to_string()))
    }

    /// Returns how many texts there are.
    pub(super) fn count(&self) -> usize {
        self.finders.len()
    }

    /// Returns whether one of them stands anywhere in these bytes.
    pub(super) fn is_in(&self, bytes: &[u8]) -> bool {
        let mut finders = self.finders.iter();
        finders.any(|finder| finder.find(bytes).is_some())
    }

    /// Returns the lines in which one of them stands, in their order, without line ends.
    pub(super) fn lines_in(&self, bytes: &[u8]) -> Vec<Range<usize>> {
        let mut found: Vec<Range<usize>> = Vec::new();
        for finder in &self.finders {
            let mut from = 0;
            while let Some(at) = rest(bytes, from).and_then(|rest| finder.find(rest)) {
                let line = line_at(bytes, from + at);
                // An empty text is found behind the last line end as well.
                if line.is_empty() && bytes.len() <= line.end {
                    break;
                }
                from = line.end + 1;
                found.push(line);
            }
        }
        found.sort_by_key(|line| line.start);
        found.dedup();
        found
    }
}

fn rest(bytes: &[u8], from: usize) -> Option<&[u8]> {
    bytes.get(from..)
}

/// Returns the line around a place.
fn line_at(bytes: &[u8], at: usize) -> Range<usize> {
    let before = bytes.get(..at).unwrap_or_default();
    let start = memrchr(b'\n', before).map_or(0, |end| end + 1);
    let after = bytes.get(at..).unwrap_or_default();
    let end = memchr(b'\n', after).map_or(bytes.len(), |end| at + end);
    start..end
}

#[cfg(test)]
mod tests {
    use super::Needles;

    fn found<'t>(text: &'t str, needles: &[&str]) -> Vec<&'t str> {
        let lines = Needles::new(needles).lines_in(text.as_bytes());
        lines
            .into_iter()
            .map(|line| text.get(line).unwrap())
            .collect()
    }

    #[test]
    fn each_line_is_found_once_and_whole() {
        let text = "one lot lot\nnothing\nlot at the start\nat the end lot\nlast without end: lot";
        let lines = [
            "one lot lot",
            "lot at the start",
            "at the end lot",
            "last without end: lot",
        ];
        assert_eq!(found(text, &["lot"]), lines);
        assert_eq!(found(text, &["lot", "one", "end"]), lines);
        assert_eq!(found(text, &["tin"]), [""; 0]);
        assert_eq!(found("", &["lot"]), [""; 0]);
        assert_eq!(found("a\nb\n", &[""]), ["a", "b"]);
        assert_eq!(found("a\nb", &[""]), ["a", "b"]);
    }

    #[test]
    fn a_value_is_looked_for_as_it_is_written() {
        let needles = Needles::values(["7\"b"]);
        assert!(needles.is_in(br#"{"lot":"7\"b"}"#));
        assert!(!needles.is_in(br#"{"lot":"17\"b"}"#));
    }
}
