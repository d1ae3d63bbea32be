//! What the trials share: moments, drafts, a disk that fails on demand, scenes, golden pages.

pub(crate) mod faulty;
pub(crate) mod golden;
pub(crate) mod nights;
pub(crate) mod picture;
pub(crate) mod scenes;
pub(crate) mod sealed;

use chrono::{DateTime, FixedOffset, TimeDelta};
use knuckle::journal::Draft;
use serde_json::json;

/// Returns a moment written as in a journal.
pub(crate) fn moment(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

/// Returns the moment at which trials begin, `seconds` later.
pub(crate) fn later(seconds: i64) -> DateTime<FixedOffset> {
    moment("2031-03-04T09:00:00.000+01:00") + TimeDelta::seconds(seconds)
}

/// Returns a jotted line, as Odile would write it at the long bench.
pub(crate) fn jot(at: DateTime<FixedOffset>, text: &str) -> Draft {
    Draft {
        at,
        by: "Odile".to_owned(),
        bench: "long bench".to_owned(),
        body: json!({"deed": "jot", "text": text})
            .as_object()
            .unwrap()
            .clone(),
        entered_later: None,
    }
}
