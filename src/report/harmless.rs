//! Signs that would act or hide instead of being read, shown so that they can be read.
//!
//! A journal line may come from a sensor, from an old disk or from somebody who means no
//! good. What it says is shown; what it would do to a terminal, or to the order in which
//! the letters of a line stand, is not done; and two names that look alike because a sign
//! without a width stands in one of them are told apart.

use std::borrow::Cow;
use std::fmt::Write;

/// Returns the text with every control sign made visible: `␛` for an escape, `␊` for a line
/// feed, `‹U+202E›` for a sign that turns the direction of reading, `‹U+200B›` for one that
/// nobody would see. One line goes in, one line comes out.
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
            for unit in sign.encode_utf16(&mut [0; 2]) {
                put(&mut shown, format_args!("\\u{unit:04x}"));
            }
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

/// Whether a sign acts or hides: the controls C0, DEL and C1 (ISO 6429), the line and paragraph
/// separators, the directional controls (Unicode Standard Annex 9, tables 1 and 2), the marks of
/// annotations, and every other sign that is not drawn (the property
/// `Default_Ignorable_Code_Point` of the Unicode Character Database, version 16).
fn acts(sign: char) -> bool {
    sign.is_control()
        || matches!(sign,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}'..='\u{1160}'
            | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
            | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}'
            | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}')
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
        assert_eq!(harmless("ha\u{200b}re\u{e0041}"), "ha‹U+200B›re‹U+E0041›");
        assert_eq!(harmless("金箔 e\u{301}"), "金箔 e\u{301}");
    }

    #[test]
    fn json_means_the_same_afterwards() {
        let text = "\u{9b}31m \u{202e} \u{1b}\u{7f} ü\u{e0041}";
        let json = serde_json::to_string(text).unwrap() + "\n";
        let shown = harmless_json(&json);
        assert_eq!(
            shown,
            "\"\\u009b31m \\u202e \\u001b\\u007f ü\\udb40\\udc41\"\n"
        );
        assert_eq!(serde_json::from_str::<String>(&shown).unwrap(), text);
    }
}
