//! The limits inside which a sum holds, and the one error for leaving them. Every sum of
//! this room that refuses a number refuses it through [`Limits::hold`], so that quantity,
//! value, range and unit are always named.

use thiserror::Error;

/// A number lies outside the limits inside which a sum holds.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{quantity} {value} {unit} is outside {low}\u{2013}{high} {unit} ({reason})")]
pub struct OutOfRange {
    /// What the number is, in the craft's words.
    pub quantity: &'static str,
    /// The number that was given.
    pub value: f64,
    /// The lowest number that is taken.
    pub low: f64,
    /// The highest number that is taken.
    pub high: f64,
    /// The unit of all three.
    pub unit: &'static str,
    /// Why the limits lie where they lie.
    pub reason: &'static str,
}

/// A closed range with its unit and the reason for its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// What is limited, in the craft's words.
    pub quantity: &'static str,
    /// The lowest number that is taken.
    pub low: f64,
    /// The highest number that is taken.
    pub high: f64,
    /// The unit of both ends.
    pub unit: &'static str,
    /// Why the limits lie where they lie.
    pub reason: &'static str,
}

impl Limits {
    /// Returns `value` when it lies within the limits, ends included.
    ///
    /// # Errors
    /// [`OutOfRange`] when it lies outside or is not a number.
    pub fn hold(&self, value: f64) -> Result<f64, OutOfRange> {
        if self.low <= value && value <= self.high {
            Ok(value)
        } else {
            Err(OutOfRange {
                quantity: self.quantity,
                value,
                low: self.low,
                high: self.high,
                unit: self.unit,
                reason: self.reason,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Limits;

    const GAP: Limits = Limits {
        quantity: "gap",
        low: 0.0,
        high: 50.0,
        unit: "mm",
        reason: "a wider gap is patched with wood",
    };

    #[test]
    fn the_ends_belong_to_the_range_and_no_number_does_not() {
        assert_eq!(GAP.hold(0.0), Ok(0.0));
        assert_eq!(GAP.hold(50.0), Ok(50.0));
        assert!(GAP.hold(-0.1).is_err());
        assert!(GAP.hold(f64::NAN).is_err());
    }

    #[test]
    fn the_refusal_names_quantity_value_range_and_unit() {
        assert_eq!(
            GAP.hold(64.0).unwrap_err().to_string(),
            "gap 64 mm is outside 0–50 mm (a wider gap is patched with wood)"
        );
    }
}
