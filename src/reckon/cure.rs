//! Clamps off: when a glued joint may be handled, from the hours on the sheet and the
//! temperature of the *joint* over the night. A wait-until sum: its late bound is the answer.

use super::equivalent::{Pace, hours_until};
use super::limits::{Limits, SumTrouble};
use super::{Celsius, Estimate, Hours, Trace};

/// Factors per 10 °C: 1.5 to 2.5 by chemistry, 2 as a rule (technical articles on epoxy). What
/// thin films do is disputed in print, so that the whole band is kept for a joint.
pub const BAND: (f64, f64) = (1.5, 2.5);

/// Factor per 10 °C for the likely bound (two technical articles on epoxy).
const LIKELY_FACTOR: f64 = 2.0;

/// A sprung or loaded joint stays in its clamps twice as long (*common practice*).
const SPRUNG: f64 = 2.0;

/// Times that a sheet states until clamps may come off.
pub const HANDLE_HOURS: Limits = Limits {
    quantity: "time to handle on the sheet",
    low: 0.05,
    high: 720.0,
    unit: "h",
    reason: "sheets state no shorter and no longer one",
};

/// What pulls at a joint once the clamps are off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Load {
    /// Nothing: the parts lie at rest.
    AtRest,
    /// The joint was sprung together or carries weight.
    Sprung,
}

/// How an adhesive cures: the hours on its sheet, and what they are stated for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cure {
    /// Hours until it may be handled, at the reference; of a range, early, likely, late.
    pub handle: [Hours; 3],
    /// The temperature for which the sheet states them.
    pub reference: Celsius,
    /// Below this the late bound credits nothing: 10 °C for a fast hardener, 15 °C for a slow
    /// one, unless the sheet says otherwise (*from memory, common practice*).
    pub stalls_below: Celsius,
}

/// Returns when the clamps may come off, in hours after closing at the hour `closed`.
///
/// Formula: the hour at which the [`equivalent hours`](super::equivalent_hours) of the joint
/// reach the sheet's. Likely with factor 2 per 10 °C; late with 2.5 colder and 1.5 hotter than
/// the reference, nothing below the stall; a sprung joint twice that. Validity:
/// [`HANDLE_HOURS`], [`Pace`]. Safe side: late. Time that is up takes no clamp off: test the
/// squeeze-out with a nail first. Source: technical articles on epoxy for the factors; the
/// late rule of × 2.5 per −10 °C is *common practice*.
///
/// # Errors
/// [`SumTrouble`] when hours or reference lie outside, or the joint stays too cold.
///
/// Clamps that come off after 10 h at 22 °C come off after 25 h at 12 °C:
/// ```
/// use knuckle::reckon::{clamps_off, Celsius, Cure, Hours, Load, Trace};
/// let hardener = Cure {
///     handle: [Hours(10.0); 3],
///     reference: Celsius(22.0),
///     stalls_below: Celsius(10.0),
/// };
/// let joint = Trace::steady(Celsius(12.0))?;
/// let off = clamps_off(&hardener, Load::AtRest, &joint, Hours(0.0))?;
/// assert!((off.wait_until().0 - 25.0).abs() < 1e-9);
/// assert!((off.likely().0 - 20.0).abs() < 1e-9);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn clamps_off(
    cure: &Cure,
    load: Load,
    joint: &Trace,
    closed: Hours,
) -> Result<Estimate<Hours>, SumTrouble> {
    let load_factor = match load {
        Load::AtRest => 1.0,
        Load::Sprung => SPRUNG,
    };
    let mut hours = cure.handle.map(Hours::value);
    hours.sort_by(f64::total_cmp);
    for hour in hours {
        HANDLE_HOURS.hold(hour)?;
    }
    let [early, likely, late] = hours.map(|hour| hour * load_factor);
    let after = |pace: Pace, need: f64| -> Result<Hours, SumTrouble> {
        let at = hours_until(joint, &pace, closed, Hours(need))?;
        Ok(Hours(at.0 - closed.0))
    };
    let slowest = Pace::slowest(cure.reference, BAND)?.stalling_below(cure.stalls_below);
    let off = [
        after(Pace::fastest(cure.reference, BAND)?, early)?,
        after(Pace::even(cure.reference, LIKELY_FACTOR)?, likely)?,
        after(slowest, late)?,
    ];
    let (coldest, _) = joint.range(closed, Hours(closed.0 + off[2].0));
    let because = format!(
        "{} h at {} °C on the sheet, the joint down to {:.0} °C",
        hours[2], cure.reference.0, coldest.0
    );
    Ok(Estimate::new(off[0], off[1], off[2], because))
}

#[cfg(test)]
mod tests {
    use super::{Cure, Load, clamps_off};
    use crate::reckon::{Celsius, Hours, Trace};

    const HARDENER: Cure = Cure {
        handle: [Hours(8.0), Hours(11.0), Hours(15.0)],
        reference: Celsius(22.0),
        stalls_below: Celsius(10.0),
    };

    #[test]
    fn a_sprung_joint_waits_twice_as_long() {
        let joint = Trace::steady(Celsius(20.0)).unwrap();
        let rest = clamps_off(&HARDENER, Load::AtRest, &joint, Hours(0.0)).unwrap();
        let sprung = clamps_off(&HARDENER, Load::Sprung, &joint, Hours(0.0)).unwrap();
        assert!((sprung.wait_until().0 - 2.0 * rest.wait_until().0).abs() < 1e-9);
    }

    #[test]
    fn hours_below_the_stall_are_not_counted_as_cure() {
        let night = Trace::new(vec![
            (Hours(0.0), Celsius(22.0)),
            (Hours(4.0), Celsius(22.0)),
            (Hours(4.0), Celsius(9.0)),
            (Hours(14.0), Celsius(9.0)),
            (Hours(14.0), Celsius(22.0)),
        ])
        .unwrap();
        let off = clamps_off(&HARDENER, Load::AtRest, &night, Hours(0.0)).unwrap();
        assert!((off.wait_until().0 - 25.0).abs() < 1e-9);
        assert!(off.likely() < off.wait_until());
    }

    #[test]
    fn a_joint_left_in_the_cold_is_never_promised() {
        let cellar = Trace::steady(Celsius(8.0)).unwrap();
        let trouble = clamps_off(&HARDENER, Load::AtRest, &cellar, Hours(0.0)).unwrap_err();
        assert_eq!(
            trouble.to_string(),
            "at 8 °C the work stands still with 15.0 h of it undone: warm the room above 10 °C"
        );
    }
}
