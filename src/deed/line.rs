//! A journal line as the program thinks of it. Numbering, sealing and disk belong to `journal`.

use chrono::{DateTime, FixedOffset};
use serde_json::{Map, Value as Json};

use super::Deed;

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
    pub by: String,
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
            by: self.by.clone(),
        }
    }
}

fn take_text(fields: &mut Map<String, Json>, key: &str) -> Option<String> {
    match fields.shift_remove(key) {
        Some(Json::String(text)) => Some(text),
        _ => None,
    }
}

fn take_time(fields: &mut Map<String, Json>, key: &str) -> Option<DateTime<FixedOffset>> {
    DateTime::parse_from_rfc3339(&take_text(fields, key)?).ok()
}
