//! What a pin meter's reading is worth in cold or warm wood.

use super::estimate::Estimate;
use super::limits::{Limits, SumTrouble};
use super::quantity::{Celsius, Percent};

/// Readings that a pin (resistance) meter can give: a small-kiln operator manual, *seen*.
pub const METER_READING: Limits = Limits {
    quantity: "meter reading",
    low: 7.0,
    high: 28.0,
    unit: "%",
    reason: "a pin meter says nothing certain beyond",
};

/// Wood temperatures for the rule. Its printed example lies at 30 °F; the upper end is our own
/// choice, for nobody gauges hotter wood at a bench.
pub const METER_WOOD: Limits = Limits {
    quantity: "wood temperature",
    low: -1.2,
    high: 40.0,
    unit: "°C",
    reason: "the rule is known only near room temperature",
};

/// Temperature at which the meter needs no correction: 70 °F, G. Wengert (2009), in °C.
const REFERENCE_C: f64 = 190.0 / 9.0;

/// Degrees Celsius that shift the reading by one point: 20 °F, G. Wengert (2009).
const DEGREES_PER_POINT: f64 = 100.0 / 9.0;

/// Returns the wood's moisture behind a pin meter's reading.
///
/// moisture = reading + (21.1 °C − wood)/11.1 °C: one point for every 20 °F away from 70 °F.
/// Early and likely follow the rule. Safe side: late, on which gates decide; two meter manuals
/// give about twice that correction in cold wood (*common practice*), so late doubles it, and in
/// warm wood late takes nothing off.
///
/// Holds for readings of 7–28 % and wood of −1.2–40 °C; not for wood with salts, metal leaf,
/// glue or consolidant in it, which has no valid reading at all. Species correction is not
/// included: use the meter's own setting.
///
/// Source: G. Wengert, public extension answer (2009), whose example is a reading of 7 % in wood
/// at 30 °F, in truth about 9 %:
///
/// ```
/// use knuckle::reckon::{Celsius, Percent, meter::moisture_behind};
/// let it = moisture_behind(Percent(7.0), Celsius(-10.0 / 9.0)).unwrap();
/// assert!((it.likely().value() - 9.0).abs() < 0.05);
/// assert!(it.likely() <= it.wait_until());
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`]: record "no reading" then.
pub fn moisture_behind(reading: Percent, wood: Celsius) -> Result<Estimate<Percent>, SumTrouble> {
    let read = METER_READING.hold(reading.0)?;
    let points = (REFERENCE_C - METER_WOOD.hold(wood.0)?) / DEGREES_PER_POINT;
    let ruled = Percent(read + points);
    let late = Percent(read + 2.0 * points.max(0.0));
    let because = format!(
        "{read:.1} % read in wood of {:.0} °C, {points:+.1} by the 70 °F rule",
        wood.0
    );
    Ok(Estimate::new(ruled, ruled, late, because))
}
