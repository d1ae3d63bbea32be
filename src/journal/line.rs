//! One line of a journal: what the caller gives, what is kept, and the seal between them.
//!
//! This file knows the bytes of a line and nothing about files. A sealed line is read without
//! parsing its JSON: the seal already proves that these are the bytes that were written.

use std::fmt;

use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use crate::disk::hex_digits;

/// What a caller wants kept as one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it happened; kept to the millisecond, with its offset.
    pub at: DateTime<FixedOffset>,
    /// Who did it.
    pub by: String,
    /// At which bench (which computer) it was written down.
    pub bench: String,
    /// `deed` first, with the tag of the deed, then the deed's own fields. The names that
    /// belong to the line itself ([`LINE_FIELDS`]) are not free.
    pub body: Map<String, Value>,
    /// When it was typed, if that was after the fact.
    pub entered_later: Option<DateTime<FixedOffset>>,
}

/// The fields of a line that no deed may use for itself.
pub const LINE_FIELDS: [&str; 6] = ["n", "at", "by", "bench", "entered_later", "seal"];

/// One line as it stands on the disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its count, from 1.
    pub n: u64,
    /// When it happened.
    pub at: DateTime<FixedOffset>,
    /// The whole line without its line end.
    pub text: String,
}

impl Kept {
    /// Returns the seal of the line as it is written; `None` where none stands at its end.
    pub fn seal(&self) -> Option<String> {
        split_seal(self.text.as_bytes()).map(|(_, seal)| seal.to_string())
    }

    /// Returns the fields of the line in their order, those of the line itself included.
    ///
    /// Parses the text; a reader of many lines reads [`Kept::text`] into its own type once.
    /// Empty only for a line whose seal is right and whose text is not JSON, which this
    /// program never writes.
    pub fn fields(&self) -> Map<String, Value> {
        serde_json::from_str(&self.text).unwrap_or_default()
    }

    /// Returns when the line was written down: when it was typed, for a line entered later,
    /// else when it happened. Unless a clock did,
    /// this time does not go back in a journal by more than [`super::OUT_OF_STEP`].
    pub fn written(&self) -> DateTime<FixedOffset> {
        let body = split_seal(self.text.as_bytes()).map(|(body, _)| body);
        body.and_then(entered_later).unwrap_or(self.at)
    }
}

/// The seal of one line: 32 hexadecimal digits, the first 16 bytes of a SHA-256.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Seal([u8; SEAL_DIGITS]);

/// Hexadecimal digits in a seal. 128 bits: far beyond any accident, and short enough to be
/// compared by eye. It shows damage and edits; it is no signature, for anyone who can write
/// the file can seal it anew from that line on.
const SEAL_DIGITS: usize = 32;

/// What stands between the body of a line and the digits of its seal.
const SEAL_OPENS: &str = ",\"seal\":\"";

/// What stands after the digits of the seal.
const SEAL_CLOSES: &str = "\"}";

impl Seal {
    /// Returns the seal of a line: over the seal before it (nothing for the first line), a
    /// line feed, and `body`, which is the line's object without its seal and closing brace.
    pub(super) fn over(previous: Option<Seal>, body: &[u8]) -> Self {
        let mut hash = Sha256::new();
        if let Some(previous) = previous {
            hash.update(previous.0);
        }
        hash.update(b"\n");
        hash.update(body);
        hash.update(b"}");
        let digest = hash.finalize();
        let mut digits = [b'0'; SEAL_DIGITS];
        for (place, digit) in digits
            .iter_mut()
            .zip(digest.iter().copied().flat_map(hex_digits))
        {
            *place = digit;
        }
        Self(digits)
    }
}

impl fmt::Display for Seal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0
            .iter()
            .try_for_each(|digit| write!(f, "{}", char::from(*digit)))
    }
}

impl fmt::Debug for Seal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Seal({self})")
    }
}

impl Draft {
    /// Returns the name of a field that has no business in the body, if there is one.
    pub(super) fn misplaced_field(&self) -> Option<&str> {
        if self.body.keys().next().map(String::as_str) != Some("deed") {
            return Some("deed");
        }
        self.body
            .keys()
            .map(String::as_str)
            .find(|name| LINE_FIELDS.contains(name))
    }

    /// Returns the line for this draft, without its line end, and its seal.
    pub(super) fn seal(&self, n: u64, previous: Option<Seal>) -> (String, Seal) {
        let mut object = Map::new();
        object.insert("n".to_owned(), n.into());
        object.insert("at".to_owned(), in_text(self.at).into());
        object.insert("by".to_owned(), self.by.clone().into());
        object.insert("bench".to_owned(), self.bench.clone().into());
        object.extend(self.body.clone());
        if let Some(typed) = self.entered_later {
            object.insert("entered_later".to_owned(), in_text(typed).into());
        }
        let mut text = Value::Object(object).to_string();
        // The closing brace comes back after the seal.
        text.pop();
        let seal = Seal::over(previous, text.as_bytes());
        text += SEAL_OPENS;
        text += &seal.to_string();
        text += SEAL_CLOSES;
        (text, seal)
    }
}

/// Returns a moment as it stands in a line.
fn in_text(moment: DateTime<FixedOffset>) -> String {
    moment.to_rfc3339_opts(SecondsFormat::Millis, false)
}

/// What a line says about itself, before its seal is compared with the line before it.
#[derive(Debug)]
pub(super) struct Parts<'a> {
    pub(super) n: u64,
    pub(super) at: DateTime<FixedOffset>,
    /// The object without its seal and closing brace, and the seal; `None` when the line is
    /// JSON but its seal is missing or not written as this program writes it.
    pub(super) sealed: Option<(&'a [u8], Seal)>,
}

/// Returns the parts of a line without its line end; `None` when it is no line of a journal.
///
/// The fast way looks only at the two ends of the line. It proves nothing about the middle:
/// the caller compares the seal, and where that does not fit asks [`is_whole`].
pub(super) fn parts(line: &str) -> Option<Parts<'_>> {
    let sealed = split_seal(line.as_bytes());
    if sealed.is_some()
        && let Some((n, at)) = head(line)
    {
        return Some(Parts { n, at, sealed });
    }
    let object: Map<String, Value> = serde_json::from_str(line).ok()?;
    Some(Parts {
        n: object.get("n")?.as_u64()?,
        at: moment(object.get("at")?.as_str()?)?,
        sealed,
    })
}

/// Returns whether the line is JSON throughout; only asked where a seal does not fit.
pub(super) fn is_whole(line: &str) -> bool {
    serde_json::from_str::<serde::de::IgnoredAny>(line).is_ok()
}

/// Cuts a line into its object without closing brace, and its seal.
pub(super) fn split_seal(line: &[u8]) -> Option<(&[u8], Seal)> {
    let tail_len = SEAL_OPENS.len() + SEAL_DIGITS + SEAL_CLOSES.len();
    let (body, tail) = line.split_at_checked(line.len().checked_sub(tail_len)?)?;
    let digits: [u8; SEAL_DIGITS] = tail
        .strip_prefix(SEAL_OPENS.as_bytes())?
        .strip_suffix(SEAL_CLOSES.as_bytes())?
        .try_into()
        .ok()?;
    let lower_hex = |digit: &u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
    digits.iter().all(lower_hex).then_some((body, Seal(digits)))
}

/// Reads `{"n":…,"at":"…"` from the beginning of a line.
fn head(line: &str) -> Option<(u64, DateTime<FixedOffset>)> {
    let (n, rest) = line.strip_prefix("{\"n\":")?.split_once(",\"at\":\"")?;
    let (at, _) = rest.split_once('"')?;
    // `parse` would also take a plus sign, which is not JSON.
    let plain = n.bytes().all(|digit| digit.is_ascii_digit());
    Some((plain.then_some(n)?.parse().ok()?, moment(at)?))
}

/// Returns the moment at the very end of a body, where a line entered later has it.
pub(super) fn entered_later(body: &[u8]) -> Option<DateTime<FixedOffset>> {
    const OPENS: &[u8] = b",\"entered_later\":\"";
    /// Characters in a moment as [`in_text`] writes it, for the years 0 to 9999.
    const MOMENT: usize = 29;
    let rest = body.strip_suffix(b"\"")?;
    let (front, text) = rest.split_at_checked(rest.len().checked_sub(MOMENT)?)?;
    front.strip_suffix(OPENS)?;
    moment(std::str::from_utf8(text).ok()?)
}

fn moment(text: &str) -> Option<DateTime<FixedOffset>> {
    DateTime::parse_from_rfc3339(text).ok()
}

#[cfg(test)]
mod tests {
    use super::{Draft, Seal, entered_later, parts, split_seal};
    use chrono::DateTime;
    use serde_json::json;

    fn draft(later: bool) -> Draft {
        let at = DateTime::parse_from_rfc3339("2031-03-04T09:12:33.120+01:00").unwrap();
        Draft {
            at,
            by: "Odile".into(),
            bench: "long bench".into(),
            body: json!({"deed": "jot", "text": "the tail \"sits\" proud"})
                .as_object()
                .unwrap()
                .clone(),
            entered_later: later.then_some(at),
        }
    }

    /// The seals were worked out apart from this program, with `printf '\n%s' … | sha256sum`
    /// and `printf '%s\n%s' … | sha256sum` (GNU coreutils), as the room's page says.
    #[test]
    fn a_line_is_written_in_the_order_that_the_format_promises() {
        let (first, seal) = draft(false).seal(1, None);
        assert_eq!(
            first,
            r#"{"n":1,"at":"2031-03-04T09:12:33.120+01:00","by":"Odile","bench":"long bench","deed":"jot","text":"the tail \"sits\" proud","seal":"c7d9b84661880a217a6675befa159e91"}"#
        );
        let (second, _) = draft(true).seal(2, Some(seal));
        assert_eq!(
            second,
            r#"{"n":2,"at":"2031-03-04T09:12:33.120+01:00","by":"Odile","bench":"long bench","deed":"jot","text":"the tail \"sits\" proud","entered_later":"2031-03-04T09:12:33.120+01:00","seal":"24f09524d231feb34888031eb5179e5e"}"#
        );
    }

    #[test]
    fn a_line_is_read_back_from_its_two_ends() {
        let (text, seal) = draft(true).seal(7, None);
        let read = parts(&text).unwrap();
        assert_eq!((read.n, read.at), (7, draft(true).at));
        let (body, found) = read.sealed.unwrap();
        assert_eq!((found, Seal::over(None, body)), (seal, seal));
        assert_eq!(entered_later(body), draft(true).entered_later);
    }

    #[test]
    fn a_field_of_the_same_name_inside_a_deed_is_not_taken_for_the_line_s_own() {
        let mut nested = draft(false);
        nested.body.insert(
            "inner".into(),
            json!({"entered_later": "2031-03-04T09:12:33.120+01:00"}),
        );
        let (text, _) = nested.seal(1, None);
        let (body, _) = split_seal(text.as_bytes()).unwrap();
        assert_eq!(entered_later(body), None);
    }

    #[test]
    fn the_fields_of_the_line_are_not_free_for_a_deed() {
        let mut taken = draft(false);
        taken.body.insert("seal".into(), json!("x"));
        assert_eq!(taken.misplaced_field(), Some("seal"));
        let mut nameless = draft(false);
        nameless.body.shift_remove("deed");
        assert_eq!(nameless.misplaced_field(), Some("deed"));
        assert_eq!(draft(true).misplaced_field(), None);
    }
}
