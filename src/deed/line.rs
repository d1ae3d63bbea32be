//! A journal line as the program thinks of it. Numbering, sealing and disk belong to `journal`.

use chrono::{DateTime, FixedOffset};
use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::{Map, Value as Json};

use super::{Deed, Word};

/// One line of a journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Count from 1 within its journal.
    pub n: u64,
    /// When it happened, with the offset of the place.
    pub at: DateTime<FixedOffset>,
    /// Who did it, a person's short name.
    pub by: String,
    /// At which bench it was entered.
    pub bench: String,
    /// What was done.
    pub deed: Deed,
    /// When it was typed, if that was after the fact.
    pub entered_later: Option<DateTime<FixedOffset>>,
    /// Fields that a newer version wrote into a known deed.
    pub strange: Vec<String>,
}

/// Who and when, kept beside a fact in a standing.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamp {
    /// Line number.
    pub n: u64,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Who.
    pub by: Word,
}

/// A text that is not a journal line.
#[derive(Debug, thiserror::Error)]
pub enum NotALine {
    /// It is not a JSON object.
    #[error("the line is not a JSON object")]
    NotJson(#[source] serde_json::Error),
    /// A field that every line has is missing or of the wrong kind.
    #[error("the line has no usable `{field}`")]
    Field {
        /// The field.
        field: &'static str,
    },
}

impl Line {
    /// Returns the line read from its text.
    ///
    /// # Errors
    /// When the text is no JSON object or lacks `n`, `at`, `by` or `bench`.
    pub fn read(text: &str) -> Result<Self, NotALine> {
        match Self::read_own(text) {
            Some(line) => Ok(line),
            None => Self::read_any(text),
        }
    }

    /// Reads a line that stands there exactly as this version would write it, which nearly
    /// every line does: its deed, written again, gives the same text. So nothing in it is
    /// strange. Many times as fast as looking at every field; `None` for all other lines.
    fn read_own(text: &str) -> Option<Self> {
        let (head, after) = text.split_once(",\"deed\":")?;
        let deed: Deed = serde_json::from_str(&format!("{{\"deed\":{after}")).ok()?;
        let again = serde_json::to_string(&deed).ok()?;
        let own = again.strip_prefix("{\"deed\":")?.strip_suffix('}')?;
        let tail = after.strip_prefix(own)?.strip_prefix(',')?;
        let head: Head = serde_json::from_str(&format!("{head}}}")).ok()?;
        let tail: Tail = serde_json::from_str(&format!("{{{tail}")).ok()?;
        Some(Self {
            n: head.n,
            at: time(&head.at)?,
            by: head.by,
            bench: head.bench,
            deed,
            entered_later: match tail.entered_later {
                Some(typed) => Some(time(&typed)?),
                None => None,
            },
            strange: Vec::new(),
        })
    }

    fn read_any(text: &str) -> Result<Self, NotALine> {
        let mut fields: Map<String, Json> =
            serde_json::from_str(text).map_err(NotALine::NotJson)?;
        let n = fields
            .shift_remove("n")
            .and_then(|n| n.as_u64())
            .ok_or(NotALine::Field { field: "n" })?;
        let at = take_time(&mut fields, "at").ok_or(NotALine::Field { field: "at" })?;
        let by = take_text(&mut fields, "by").ok_or(NotALine::Field { field: "by" })?;
        let bench = take_text(&mut fields, "bench").ok_or(NotALine::Field { field: "bench" })?;
        let entered_later = take_time(&mut fields, "entered_later");
        fields.shift_remove("seal");
        let deed = Deed::read(fields.clone());
        let strange = deed.strange_fields(&fields);
        Ok(Self {
            n,
            at,
            by,
            bench,
            deed,
            entered_later,
            strange,
        })
    }

    /// Returns who and when.
    pub fn stamp(&self) -> Stamp {
        Stamp {
            n: self.n,
            at: self.at,
            by: self.by.as_str().into(),
        }
    }
}

/// What stands in a line before its deed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    n: u64,
    at: String,
    by: String,
    bench: String,
}

/// What stands in a line after its deed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tail {
    entered_later: Option<String>,
    #[serde(rename = "seal")]
    _seal: IgnoredAny,
}

fn take_text(fields: &mut Map<String, Json>, key: &str) -> Option<String> {
    match fields.shift_remove(key) {
        Some(Json::String(text)) => Some(text),
        _ => None,
    }
}

fn take_time(fields: &mut Map<String, Json>, key: &str) -> Option<DateTime<FixedOffset>> {
    time(&take_text(fields, key)?)
}

fn time(text: &str) -> Option<DateTime<FixedOffset>> {
    DateTime::parse_from_rfc3339(text).ok()
}

#[cfg(test)]
mod tests {
    use super::Line;
    use crate::deed::Deed;

    /// Reads a line both ways.
    fn read(text: &str) -> (Option<Line>, Line) {
        (Line::read_own(text), Line::read_any(text).unwrap())
    }

    #[test]
    fn a_line_of_this_version_is_read_alike_both_ways() {
        for end in [
            r#""seal":"8c""#,
            r#""entered_later":"2031-03-04T18:00:00.000+01:00","seal":"8c""#,
        ] {
            let head = r#"{"n":7,"at":"2031-03-04T09:12:33.120+01:00","by":"odile","bench":"long, \"old\" bench","#;
            let (own, any) = read(&format!(
                "{head}{}{end}}}",
                r#""deed":"jotted","text":"the \"tail\"","#
            ));
            assert_eq!(own, Some(any));
        }
    }

    #[test]
    fn a_line_with_anything_else_in_it_is_read_field_by_field() {
        let head = r#"{"n":7,"at":"2031-03-04T09:12:33.120+01:00","by":"odile","bench":"b","#;
        for (middle, strange) in [
            (
                r#""deed":"jotted","text":"x","colour":"red""#,
                vec!["colour"],
            ),
            (
                r#""deed":"jotted","colour":"red","text":"x""#,
                vec!["colour"],
            ),
            (
                r#""colour":"red","deed":"jotted","text":"x""#,
                vec!["colour"],
            ),
            (r#""deed":"carved","text":"x""#, vec![]),
        ] {
            let (own, any) = read(&format!("{head}{middle},\"seal\":\"8c\"}}"));
            assert_eq!(any.strange, strange, "{middle}");
            assert_eq!(own, None, "{middle}");
            let is_unknown = matches!(any.deed, Deed::Unknown(_));
            assert_eq!(is_unknown, middle.contains("carved"));
        }
    }
}
