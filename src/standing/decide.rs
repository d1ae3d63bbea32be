//! What a hand may do: an intent becomes deeds to be written, or a refusal.

use super::{House, Intent, Moment, Refusal, Written};

/// Returns the deeds that an intent becomes, to be written together, or why not.
///
/// # Errors
/// A [`Refusal`], one line for the screen; nothing is to be written then.
pub fn decide(
    _house: House<'_>,
    _intent: &Intent,
    _moment: &Moment,
) -> Result<Vec<Written>, Refusal> {
    Err(Refusal::new("not yet"))
}
