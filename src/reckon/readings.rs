//! Three readings instead of one: the middle one counts, their spread says how far to trust it.

use super::limits::SumTrouble;

/// The middle of some readings and how far apart they lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Middle {
    /// The median.
    pub median: f64,
    /// Highest less lowest, never negative.
    pub spread: f64,
}

/// Returns the median and spread of an odd or even number of readings in any one unit.
///
/// Of an even number the median is the mean of the two in the middle. Safe side: none; where one
/// side hurts (wood moisture) use the worst reading and not the middle one. *Common practice*:
/// three readings of a colour or a glue gap, the middle one written down.
///
/// ```
/// use knuckle::reckon::readings::middle_of;
/// let it = middle_of(&[61.2, 60.8, 66.0]).unwrap();
/// assert_eq!(it.median, 61.2);
/// assert!((it.spread - 5.2).abs() < 1e-12);
/// ```
///
/// # Errors
/// [`SumTrouble::TooFew`] below three readings; [`SumTrouble::Contradiction`] when one is not a
/// number.
pub fn middle_of(readings: &[f64]) -> Result<Middle, SumTrouble> {
    if readings.len() < 3 {
        return Err(SumTrouble::TooFew {
            what: "readings",
            given: readings.len(),
            needed: 3,
        });
    }
    if readings.iter().any(|it| !it.is_finite()) {
        return Err(SumTrouble::Contradiction {
            what: "one of the readings is not a number".to_owned(),
            remedy: "take that reading again",
        });
    }
    let mut sorted = readings.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |place: usize| sorted.get(place).copied().unwrap_or(f64::NAN);
    let last = sorted.len() - 1;
    Ok(Middle {
        median: f64::midpoint(at(last / 2), at(sorted.len() / 2)),
        spread: at(last) - at(0),
    })
}
