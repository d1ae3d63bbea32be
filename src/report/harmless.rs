//! Signs that would act instead of being read, shown so that they can be read.
//!
//! A journal line may come from a sensor, from an old disk or from somebody who means no
//! good. What it says is shown; what it would do to a terminal, or to the order in which
//! the letters of a line stand, is not done.

use std::borrow::Cow;
use std::fmt::Write;

/// Returns the text with every control sign made visible: `␛` for an escape, `␊` for a line
/// feed, `‹U+202E›` for a sign that turns the direction of reading. One line goes in, one
/// line comes out.
pub fn harmless(text: &str) -> Cow<'_, str> {
    if !text.chars().any(acts) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    for sign in text.chars() {
        match picture(sign) {
            Some(picture) => shown.push(picture),
            None if acts(sign) => put(&mut shown, format_args!("‹U+{:04X}›", u32::from(sign))),
            None => shown.push(sign),
        }
    }
    Cow::Owned(shown)
}

/// Returns a JSON text with the same signs written as `\u` escapes, so that it means the same
/// and does nothing. The signs below U+0020 are escaped already by whoever wrote the JSON; a
/// line feed between two objects is left.
pub fn harmless_json(json: &str) -> Cow<'_, str> {
    let acts_in_json = |sign: char| ' ' <= sign && acts(sign);
    if !json.chars().any(acts_in_json) {
        return Cow::Borrowed(json);
    }
    let mut shown = String::with_capacity(json.len());
    for sign in json.chars() {
        if acts_in_json(sign) {
            put(&mut shown, format_args!("\\u{:04x}", u32::from(sign)));
        } else {
            shown.push(sign);
        }
    }
    Cow::Owned(shown)
}

/// Writing to a text cannot fail.
fn put(text: &mut String, words: std::fmt::Arguments<'_>) {
    let _cannot_fail = text.write_fmt(words);
}

/// Whether a sign acts: the controls C0, DEL and C1 (ISO 6429), the line and paragraph
/// separators, and the directional controls of Unicode Standard Annex 9, table 1 and 2.
fn acts(sign: char) -> bool {
    sign.is_control()
        || matches!(sign,
            '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}' | '\u{2029}'
            | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The pictures that Unicode has for C0 and DEL (block Control Pictures, U+2400).
fn picture(sign: char) -> Option<char> {
    match u32::from(sign) {
        code @ 0..=0x1f => char::from_u32(0x2400 + code),
        0x7f => Some('\u{2421}'),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{harmless, harmless_json};

    #[test]
    fn what_would_act_is_shown_and_the_rest_is_left() {
        assert_eq!(
            harmless("gap 1.2 mm, “tight” – ü"),
            "gap 1.2 mm, “tight” – ü"
        );
        assert_eq!(harmless("\u{1b}[2J\n\u{7f}"), "␛[2J␊␡");
        assert_eq!(harmless("a\u{9b}31mb"), "a‹U+009B›31mb");
        assert_eq!(harmless("g\u{202e}dlog\u{2069}"), "g‹U+202E›dlog‹U+2069›");
    }

    #[test]
    fn json_means_the_same_afterwards() {
        let text = "\u{9b}31m \u{202e} \u{1b}\u{7f} ü";
        let json = serde_json::to_string(text).unwrap() + "\n";
        let shown = harmless_json(&json);
        assert_eq!(shown, "\"\\u009b31m \\u202e \\u001b\\u007f ü\"\n");
        assert_eq!(serde_json::from_str::<String>(&shown).unwrap(), text);
    }
}
