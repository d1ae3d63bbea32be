//! What moisture the air allows in wood, and what air a wanted moisture needs.

use super::limits::{Limits, SumTrouble};
use super::quantity::{Celsius, Percent};

/// Air temperatures of the Wood Handbook's Table 4-2: 30–270 °F, given in °C.
pub const EMC_AIR: Limits = Limits {
    quantity: "air temperature",
    low: -10.0 / 9.0,
    high: 1190.0 / 9.0,
    unit: "°C",
    reason: "the table runs from 30 to 270 °F",
};

/// Relative humidities of the Wood Handbook's Table 4-2.
pub const EMC_HUMIDITY: Limits = Limits {
    quantity: "relative humidity",
    low: 5.0,
    high: 95.0,
    unit: "%",
    reason: "the table ends there",
};

/// Returns the equilibrium moisture content: where wood stays that lies long enough in this air.
///
/// ```text
/// EMC = 1800/W · [Kh/(1−Kh) + (K₁Kh + 2K₁K₂K²h²)/(1 + K₁Kh + K₁K₂K²h²)],  h = RH/100
/// ```
/// with W, K, K₁, K₂ quadratic in °C. In percent of ovendry weight.
///
/// Holds for −1.1 to 132.2 °C and 5 to 95 % RH, within 0.07 points of the printed table. The
/// figures stand for Sitka spruce, midway between wetting and drying; other woods differ by a
/// point or so at high humidity, so a gate needs a reading and not this sum alone.
///
/// Source: Wood Handbook, Forest Products Laboratory, FPL-GTR-190 (2010), eq. (4-5), Table 4-2.
/// That table prints 12.0 % for 70 °F and 65 % RH:
///
/// ```
/// use knuckle::reckon::{Celsius, Percent, moisture::emc};
/// let it = emc(Celsius(21.1), Percent(65.0)).unwrap();
/// assert!((it.value() - 12.0).abs() < 0.07);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] beyond the table; there is no safe guess there.
pub fn emc(air: Celsius, humidity: Percent) -> Result<Percent, SumTrouble> {
    let t = EMC_AIR.hold(air.0)?;
    let share = EMC_HUMIDITY.hold(humidity.0)? / 100.0;
    Ok(Percent(hailwood_horrobin(t, share)))
}

/// Returns the highest relative humidity at which wood can still come down to `moisture`.
///
/// The inverse of [`emc`], by bisection to 10⁻⁹. Safe side: anything drier will do, and the last
/// point is approached ever more slowly, so keep the room some points below the answer.
///
/// Holds where [`emc`] holds. Source: as [`emc`]; 12 % at 70 °F needs 65 % RH or less:
///
/// ```
/// use knuckle::reckon::{Celsius, Percent, moisture::humidity_for};
/// let it = humidity_for(Percent(12.0), Celsius(21.1)).unwrap();
/// assert!((it.value() - 65.0).abs() < 0.5);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] when the temperature is beyond the table, or when no humidity in the
/// table leads to `moisture`; the limits named are what the table allows at this temperature.
pub fn humidity_for(moisture: Percent, air: Celsius) -> Result<Percent, SumTrouble> {
    let t = EMC_AIR.hold(air.0)?;
    let (mut low, mut high) = (EMC_HUMIDITY.low / 100.0, EMC_HUMIDITY.high / 100.0);
    let wanted = Limits {
        quantity: "wood moisture",
        low: hailwood_horrobin(t, low),
        high: hailwood_horrobin(t, high),
        unit: "%",
        reason: "what 5–95 % humidity leads to at this temperature",
    }
    .hold(moisture.0)?;
    while 1e-11 < high - low {
        let middle = f64::midpoint(low, high);
        if hailwood_horrobin(t, middle) <= wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    // The lower end errs on the dry side.
    Ok(Percent(low * 100.0))
}

/// Eq. (4-5) with its Celsius constants, all from FPL-GTR-190 p. 4-3; `share` is RH/100.
fn hailwood_horrobin(t: f64, share: f64) -> f64 {
    let w = 349.0 + 1.29 * t + 0.0135 * t * t;
    let k = 0.805 + 0.000_736 * t - 0.000_002_73 * t * t;
    let k1 = 6.27 - 0.009_38 * t - 0.000_303 * t * t;
    let k2 = 1.91 + 0.0407 * t - 0.000_293 * t * t;
    let kh = k * share;
    let once = k1 * kh;
    let twice = k1 * k2 * kh * kh;
    1800.0 / w * (kh / (1.0 - kh) + (once + 2.0 * twice) / (1.0 + once + twice))
}
