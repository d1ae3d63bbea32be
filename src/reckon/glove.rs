//! Gloves: when to change them, counted from the first contact. A do-before sum. It authorises
//! nothing: the data sheets of product and glove, local codes and licensed practice win.

use super::Minutes;
use super::limits::{Limits, SumTrouble};

/// Breakthrough times that a glove's table states.
pub const BREAKTHROUGH: Limits = Limits {
    quantity: "breakthrough time",
    low: 0.0,
    high: 1440.0,
    unit: "min",
    reason: "permeation tests run no longer than a day",
};

/// A third of the stated time, since tests run at about 23 °C and a worn glove is at 33 °C
/// (TRGS 401, June 2008 edition, as quoted on a data-sheet consultancy page).
const WORN_SHARE: f64 = 3.0;

/// Never longer than this, whatever the table says (own judgement, on the safe side).
const LONGEST_MIN: f64 = 120.0;

/// Level 2 of EN ISO 374-1 begins above 30 min; gloves of level 0 and 1 are for splashes only
/// (levels read on four makers' and safety pages; the rule is own judgement).
const SPLASH_ONLY_UP_TO_MIN: f64 = 30.0;

/// When a pair of gloves is changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GloveChange {
    /// So long after the first contact, worn or not: once wetted, the time runs on.
    pub after: Minutes,
    /// Whether it is changed at the first splash, because it only holds back splashes.
    pub at_first_splash: bool,
}

/// Returns when to change gloves with a stated breakthrough time.
///
/// Formula: a third of it, at most 120 min; at the first splash up to 30 min. Of a mixture,
/// give the shortest time of its parts. Validity: [`BREAKTHROUGH`], of this very glove and
/// maker, for gloves of the same kind differ tenfold. Safe side: earlier; a tear, swelling,
/// stiffness or a smear inside means now. Source: at the constants; EN ISO 374-1 levels.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond [`BREAKTHROUGH`].
///
/// Level 3 of the standard, above 60 min, is 20 min of wear:
/// ```
/// use knuckle::reckon::{change_gloves, Minutes};
/// let change = change_gloves(Minutes(60.0))?;
/// assert_eq!(change.after, Minutes(20.0));
/// assert!(!change.at_first_splash);
/// assert_eq!(change_gloves(Minutes(480.0))?.after, Minutes(120.0));
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn change_gloves(breakthrough: Minutes) -> Result<GloveChange, SumTrouble> {
    let stated = BREAKTHROUGH.hold(breakthrough.0)?;
    Ok(GloveChange {
        after: Minutes((stated / WORN_SHARE).min(LONGEST_MIN)),
        at_first_splash: stated <= SPLASH_ONLY_UP_TO_MIN,
    })
}

#[cfg(test)]
mod tests {
    use super::change_gloves;
    use crate::reckon::Minutes;

    /// Service minutes beside the levels of EN ISO 374-1, a third of each level's least time;
    /// level 6 (480 min) would give 160 and is held at 120.
    #[test]
    fn each_level_of_the_standard_gives_its_service_minutes() {
        for (stated, service) in [
            (0.0, 0.0),
            (10.0, 3.0),
            (30.0, 10.0),
            (60.0, 20.0),
            (120.0, 40.0),
            (240.0, 80.0),
            (480.0, 120.0),
        ] {
            let after = change_gloves(Minutes(stated)).unwrap().after;
            assert!((after.0.floor() - service).abs() < 1e-9, "{stated} min");
        }
    }

    #[test]
    fn gloves_of_the_lowest_levels_are_changed_at_the_first_splash() {
        assert!(change_gloves(Minutes(30.0)).unwrap().at_first_splash);
        assert!(!change_gloves(Minutes(30.1)).unwrap().at_first_splash);
        assert!(change_gloves(Minutes(-1.0)).is_err());
    }
}
