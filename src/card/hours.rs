//! Opening hours as a person writes them: `mon: "07:30-17:30"`, or `closed`.

use chrono::{NaiveTime, Weekday};
use serde::{Deserialize, Deserializer, de::Error};

/// Opening hours by day of the week.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OpenHours {
    /// Monday.
    pub mon: Hour,
    /// Tuesday.
    pub tue: Hour,
    /// Wednesday.
    pub wed: Hour,
    /// Thursday.
    pub thu: Hour,
    /// Friday.
    pub fri: Hour,
    /// Saturday.
    pub sat: Hour,
    /// Sunday.
    pub sun: Hour,
}

impl OpenHours {
    /// Returns the hours of one day; `None` inside means closed.
    pub fn on(&self, day: Weekday) -> Hour {
        match day {
            Weekday::Mon => self.mon,
            Weekday::Tue => self.tue,
            Weekday::Wed => self.wed,
            Weekday::Thu => self.thu,
            Weekday::Fri => self.fri,
            Weekday::Sat => self.sat,
            Weekday::Sun => self.sun,
        }
    }
}

/// One day's hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hour(pub Option<Span>);

/// From opening to closing on one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Doors open.
    pub from: NaiveTime,
    /// Doors close.
    pub to: NaiveTime,
}

impl<'de> Deserialize<'de> for Hour {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        if text.trim() == "closed" {
            return Ok(Self(None));
        }
        let wrong = || {
            D::Error::custom(format!(
                "`{text}` is not hours such as `07:30-17:30`, or `closed`"
            ))
        };
        let (from, to) = text.split_once('-').ok_or_else(wrong)?;
        let time = |part: &str| {
            NaiveTime::parse_from_str(part.trim(), "%H:%M").map_err(|_not_a_time| wrong())
        };
        let span = Span {
            from: time(from)?,
            to: time(to)?,
        };
        if span.from < span.to {
            Ok(Self(Some(span)))
        } else {
            Err(wrong())
        }
    }
}
