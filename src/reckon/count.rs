//! Counting whole things out of a measured amount: leaves, books, cups; and saying how many.

use std::fmt::Display;

use chrono::{Datelike, NaiveDate};

/// What lies this near above a whole number counts as whole: the dust of binary fractions.
const DUST: f64 = 1e-9;

/// Returns the next whole number, at least 1, as a count and as a number to divide by.
///
/// Callers hold their quantities within limits first; past 10⁹ it counts no further.
pub(super) fn round_up(amount: f64) -> (usize, f64) {
    let whole = (amount - DUST).ceil().clamp(1.0, 1e9);
    (to_count(whole), whole)
}

/// Returns the whole number below, at least 0.
pub(super) fn round_down(amount: f64) -> usize {
    to_count((amount + DUST).floor().clamp(0.0, 1e9))
}

/// Returns a count with its word, one or many.
///
/// ```
/// use knuckle::reckon::counted;
/// assert_eq!(counted(1, "lot"), "1 lot");
/// assert_eq!(counted(0, "lot"), "0 lots");
/// assert_eq!(counted(2, "leaf"), "2 leaves");
/// assert_eq!(counted(2, "entry"), "2 entries");
/// assert_eq!(counted(2, "batch"), "2 batches");
/// ```
pub fn counted<N: Copy + Display + PartialEq + From<u8>>(count: N, one: &str) -> String {
    if count == N::from(1) {
        return format!("{count} {one}");
    }
    format!("{count} {}", many(one))
}

/// Returns a day as it is said beside another one: with its year where that is a different one.
///
/// ```
/// use chrono::NaiveDate;
/// use knuckle::reckon::day_beside;
/// let day = |year, month| NaiveDate::from_ymd_opt(year, month, 3).unwrap();
/// assert_eq!(day_beside(day(2031, 12), day(2031, 1)), "3 Dec");
/// assert_eq!(day_beside(day(2030, 12), day(2031, 1)), "3 Dec 2030");
/// ```
pub fn day_beside(day: NaiveDate, other: NaiveDate) -> String {
    let format = if day.year() == other.year() {
        "%-d %b"
    } else {
        "%-d %b %Y"
    };
    day.format(format).to_string()
}

/// Returns the word for several of a thing.
fn many(one: &str) -> String {
    if let Some(stem) = one.strip_suffix("leaf") {
        return format!("{stem}leaves");
    }
    if let Some(stem) = one.strip_suffix('y')
        && !stem.ends_with(['a', 'e', 'i', 'o', 'u'])
    {
        return format!("{stem}ies");
    }
    let hisses = ["s", "x", "ch", "sh"].iter().any(|end| one.ends_with(end));
    format!("{one}{}", if hisses { "es" } else { "s" })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the callers give a whole number between 0 and 10⁹"
)]
fn to_count(whole: f64) -> usize {
    whole as usize
}

#[cfg(test)]
mod tests {
    use super::{round_down, round_up};

    #[test]
    fn dust_is_no_leaf_and_a_tenth_is_one() {
        assert_eq!(round_up(92.0).0, 92);
        assert_eq!(round_up(0.3 / 0.1).0, 3);
        assert_eq!(round_up(92.09).0, 93);
        assert_eq!(round_up(0.0).0, 1);
        assert_eq!(round_down(0.1 * 30.0), 3);
        assert_eq!(round_down(2.9), 2);
        assert_eq!(round_down(-1.0), 0);
    }
}
