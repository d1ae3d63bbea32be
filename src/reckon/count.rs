//! Counting whole things out of a measured amount: leaves, books, cups.

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
