//! The limits inside which a sum holds, and the refusal when it is asked beyond them.
//! A sum never extrapolates quietly: it names quantity, value, range, unit and reason.

use thiserror::Error;

/// Why a sum gives no answer.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SumTrouble {
    /// A quantity lies outside the range that the sum's source covers.
    #[error("{} {} {} is outside {}–{} {} ({})", limits.quantity, shown(*value), limits.unit,
        shown(limits.low), shown(limits.high), limits.unit, limits.reason)]
    Outside {
        /// What was given, in the unit of `limits`.
        value: f64,
        /// The range and why it ends there.
        limits: Limits,
    },
    /// A name is not in the table of the sum.
    #[error("no {kind} is called `{name}`{}", near.as_ref().map_or_else(String::new, |it| format!("; did you mean `{it}`?")))]
    Unknown {
        /// What the table lists, such as `wood`.
        kind: &'static str,
        /// The name as given.
        name: String,
        /// The listed name that comes closest, when one does.
        near: Option<String>,
        /// All listed names, for the line that says what to do.
        known: String,
    },
    /// A name fits several lines of the table.
    #[error("`{name}` could be any of several {kind}s")]
    Several {
        /// What the table lists, such as `wood`.
        kind: &'static str,
        /// The name as given.
        name: String,
        /// The names that it fits.
        known: String,
    },
    /// Too few readings for the sum.
    #[error("{given} {what} given, at least {needed} needed")]
    TooFew {
        /// What is counted, such as `readings`.
        what: &'static str,
        /// How many there are.
        given: usize,
        /// How many it takes.
        needed: usize,
    },
    /// The inputs contradict each other or leave nothing to compute.
    #[error("{what}")]
    Contradiction {
        /// What is wrong, in one line.
        what: String,
        /// What to do about it, in one line.
        remedy: &'static str,
    },
}

impl SumTrouble {
    /// Returns the line that says what to do.
    pub fn remedy(&self) -> String {
        match self {
            Self::Outside { limits, .. } => format!(
                "give a value within {}–{} {}, or measure instead of reckoning",
                shown(limits.low),
                shown(limits.high),
                limits.unit
            ),
            Self::Unknown { kind, known, .. } => format!("choose a {kind} from: {known}"),
            Self::Several { kind, known, .. } => format!("say which {kind}: {known}"),
            Self::TooFew { what, needed, .. } => format!("give at least {needed} {what}"),
            Self::Contradiction { remedy, .. } => (*remedy).to_owned(),
        }
    }
}

/// A closed range in which a sum holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The craft's word for the quantity, such as `air temperature`.
    pub quantity: &'static str,
    /// The lowest value that is still inside.
    pub low: f64,
    /// The highest value that is still inside.
    pub high: f64,
    /// The unit of all three numbers.
    pub unit: &'static str,
    /// Why the range ends there, such as `the table ends there`.
    pub reason: &'static str,
}

impl Limits {
    /// Returns `value` unchanged when it lies inside, ends included.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] when it does not, or is not a number; the caller can ask again.
    pub fn hold(self, value: f64) -> Result<f64, SumTrouble> {
        if self.low <= value && value <= self.high {
            Ok(value)
        } else {
            Err(SumTrouble::Outside {
                value,
                limits: self,
            })
        }
    }
}

/// Returns a number as it is shown in a message: at most six significant digits, no tail of noughts.
pub fn shown(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.abs().to_string();
    }
    let mut places: usize = 5;
    let mut size = value.abs();
    while 10.0 <= size && 0 < places {
        size /= 10.0;
        places -= 1;
    }
    while size < 1.0 && places < 15 {
        size *= 10.0;
        places += 1;
    }
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::{Limits, shown};

    #[test]
    fn numbers_in_messages_are_short() {
        for (value, text) in [
            (64.0, "64"),
            (0.0, "0"),
            (-0.0, "0"),
            (21.123_456_789, "21.1235"),
            (-3.5, "-3.5"),
            (0.002_312_34, "0.00231234"),
            (1_234_567.0, "1234567"),
        ] {
            assert_eq!(shown(value), text);
        }
    }

    #[test]
    fn a_value_outside_is_refused_with_all_that_is_needed_to_mend_it() {
        let limits = Limits {
            quantity: "wood moisture",
            low: 0.0,
            high: 30.0,
            unit: "%",
            reason: "the table ends there",
        };
        assert_eq!(limits.hold(30.0), Ok(30.0));
        let trouble = limits.hold(64.0).unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "wood moisture 64 % is outside 0–30 % (the table ends there)"
        );
        assert_eq!(
            trouble.remedy(),
            "give a value within 0–30 %, or measure instead of reckoning"
        );
        assert!(limits.hold(f64::NAN).is_err());
    }
}
