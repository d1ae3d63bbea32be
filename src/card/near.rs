//! Near misses, and the words of a closed list. The list is asked of the type itself, so that
//! it stands in one place only.

use serde::de::{
    DeserializeOwned, Deserializer, Error, IntoDeserializer, Visitor, value::Error as ValueError,
    value::StrDeserializer,
};

/// Returns the word of `known` that was most likely meant by `written`, if one is near.
///
/// Near means: equal but for capitals, `-`, `_` and spaces, or at most one slip in four letters
/// (a letter wrong, missing, too many, or two letters swapped).
pub(super) fn near_miss<'k>(
    written: &str,
    known: impl IntoIterator<Item = &'k str>,
) -> Option<&'k str> {
    let plain = plain(written);
    known
        .into_iter()
        .map(|word| (strsim::osa_distance(&plain, &self::plain(word)), word))
        .filter(|(slips, word)| {
            let long = word.chars().count();
            // A word of two letters is as near to any other; only its capitals can be wrong.
            *slips == 0 || (2 < long && slips * 4 <= long.max(4))
        })
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, word)| word)
}

/// Returns the question to put behind a flaw when a word is near.
pub(super) fn did_you_mean<'k>(
    written: &str,
    known: impl IntoIterator<Item = &'k str>,
) -> Option<String> {
    near_miss(written, known).map(|word| format!("did you mean `{word}`?"))
}

fn plain(word: &str) -> String {
    let folded = word.trim().to_lowercase();
    folded.replace(['-', ' '], "_")
}

/// Returns the words of a closed list, as they are written on a card.
pub(super) fn words_of<T: DeserializeOwned>() -> &'static [&'static str] {
    let mut found: &'static [&'static str] = &[];
    // Asking always ends in an error; the answer is what was asked for on the way.
    let _asked: Result<T, ValueError> = T::deserialize(Ask(&mut found));
    found
}

/// Returns the member of a closed list that is written so.
pub(super) fn word<T: DeserializeOwned>(written: &str) -> Option<T> {
    let from: StrDeserializer<'_, ValueError> = written.into_deserializer();
    T::deserialize(from).ok()
}

/// Takes down the words that a closed list asks for, and gives it none.
struct Ask<'f>(&'f mut &'static [&'static str]);

impl<'de> Deserializer<'de> for Ask<'_> {
    type Error = ValueError;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, ValueError> {
        Err(ValueError::custom("not a closed list"))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        words: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, ValueError> {
        *self.0 = words;
        Err(ValueError::custom("only asked"))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf
        option unit unit_struct newtype_struct seq tuple tuple_struct map struct identifier
        ignored_any
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::card::{MaterialKind, Units};

    #[test]
    fn a_closed_list_names_its_own_words() {
        assert_eq!(words_of::<Units>(), ["metric", "inch"]);
        assert_eq!(word::<MaterialKind>("epoxy"), Some(MaterialKind::Epoxy));
        assert_eq!(word::<MaterialKind>("epoxi"), None);
        assert!(words_of::<String>().is_empty());
    }

    #[test]
    fn near_is_one_slip_in_four_letters() {
        let known = ["pot_life", "load_h", "recoat"];
        assert_eq!(near_miss("pot_lif", known), Some("pot_life"));
        assert_eq!(near_miss("Pot life", known), Some("pot_life"));
        assert_eq!(near_miss("potlief", known), Some("pot_life"));
        assert_eq!(near_miss("weight", known), None);
        assert_eq!(near_miss("", known), None);
        assert_eq!(near_miss("J2", ["J1"]), None);
        assert_eq!(near_miss("j1", ["J1"]), Some("J1"));
    }
}
