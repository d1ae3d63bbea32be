//! Dew point, frost point, and whether a surface is warm enough to coat.

use super::limits::{Limits, SumTrouble};
use super::quantity::{Celsius, Percent};

/// Air temperatures for which the dew point formula is used. Alduchov & Eskridge fitted −40 to
/// 50 °C.
pub const DEW_AIR: Limits = Limits {
    quantity: "air temperature",
    low: -40.0,
    high: 50.0,
    unit: "°C",
    reason: "the formula was fitted there",
};

/// Relative humidities for a dew point: our own choice; nought has none.
pub const DEW_HUMIDITY: Limits = Limits {
    quantity: "relative humidity",
    low: 1.0,
    high: 100.0,
    unit: "%",
    reason: "drier or wetter air is not met with in a room",
};

/// Surface temperatures for the margin: our own choice, wide around any workshop.
pub const SURFACE: Limits = Limits {
    quantity: "surface temperature",
    low: -40.0,
    high: 80.0,
    unit: "°C",
    reason: "no wooden surface lies beyond",
};

/// How far a surface must lie above the dew point before it is coated, in °C. One public text
/// cites ISO 8502-4 for it, *quoted*; the US handbook MIL-HDBK-1110 asks 5 °F (2.8 °C), *read*.
pub const COATING_MARGIN_C: f64 = 3.0;

/// Magnus factor over water: Alduchov & Eskridge (1996), no unit.
const WATER_FACTOR: f64 = 17.625;
/// Magnus temperature over water: Alduchov & Eskridge (1996), °C.
const WATER_C: f64 = 243.04;
/// Magnus factor over ice: WMO-No. 8, Annex 4.B, no unit, *from memory*, tried against the
/// ASHRAE frost points of the table in the tests.
const ICE_FACTOR: f64 = 22.46;
/// Magnus temperature over ice: WMO-No. 8, Annex 4.B, °C, *from memory*, tried likewise.
const ICE_C: f64 = 272.62;
/// Ratio of the saturation pressures over water and ice at 0 °C in the WMO form: both 6.112 hPa.
const PRESSURE_AT_ZERO_HPA: f64 = 6.112;
/// Saturation pressure over water at 0 °C: Alduchov & Eskridge (1996), hPa, *from memory*.
const WATER_PRESSURE_AT_ZERO_HPA: f64 = 6.1094;

/// Where the air's water settles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DewPoint {
    /// Where dew forms; below 0 °C this is super-cooled dew, over water.
    pub dew: Celsius,
    /// Where hoar frost forms, a little above the dew point; only when that is below 0 °C.
    pub frost: Option<Celsius>,
}

impl DewPoint {
    /// Returns the warmer of the two: the first at which a surface gets wet or white.
    pub fn first_wet(self) -> Celsius {
        match self.frost {
            Some(frost) if self.dew < frost => frost,
            _ => self.dew,
        }
    }

    /// Returns how far the surface lies above the dew point, negative when it is below.
    pub fn margin(self, surface: Celsius) -> Celsius {
        Celsius(surface.0 - self.dew.0)
    }

    /// Returns whether the surface may be coated: at least 3 °C above whatever wets it first.
    pub fn is_fit_to_coat(self, surface: Celsius) -> bool {
        COATING_MARGIN_C <= surface.0 - self.first_wet().0
    }
}

/// Returns the dew point of air, and the frost point where that lies below 0 °C.
///
/// γ = ln(RH/100) + 17.625 t/(243.04 + t); dew = 243.04 γ/(17.625 − γ); the frost point solves
/// the same vapour pressure over ice.
///
/// Holds for −40–50 °C and 1–100 % RH; within 0.03 °C of the ASHRAE equations where the dew point
/// is above 0 °C, and the frost point within 0.05 °C of theirs below. Safe side: measure the
/// *figure's* surface and not the room, for a figure from a cold store sweats in good air.
///
/// Source: Alduchov & Eskridge, J. Appl. Meteor. 35 (1996) 601–609. ASHRAE equations give 9.3 °C
/// for 20 °C and 50 %:
///
/// ```
/// use knuckle::reckon::{Celsius, Percent, dew::dew_point};
/// let it = dew_point(Celsius(20.0), Percent(50.0)).unwrap();
/// assert!((it.dew.value() - 9.27).abs() < 0.03);
/// assert!(it.is_fit_to_coat(Celsius(12.4)) && !it.is_fit_to_coat(Celsius(12.2)));
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] beyond those limits.
pub fn dew_point(air: Celsius, humidity: Percent) -> Result<DewPoint, SumTrouble> {
    let t = DEW_AIR.hold(air.0)?;
    let share = DEW_HUMIDITY.hold(humidity.0)? / 100.0;
    let gamma = share.ln() + WATER_FACTOR * t / (WATER_C + t);
    let dew = Celsius(WATER_C * gamma / (WATER_FACTOR - gamma));
    let over_ice = gamma + (WATER_PRESSURE_AT_ZERO_HPA / PRESSURE_AT_ZERO_HPA).ln();
    let frost = (over_ice < 0.0).then(|| Celsius(ICE_C * over_ice / (ICE_FACTOR - over_ice)));
    Ok(DewPoint { dew, frost })
}

/// Returns the relative humidity of the same air, warmed or cooled to another temperature with
/// no water put in or taken out: RH₂ = RH₁ e(t₁)/e(t₂), e(t) = exp(17.625 t/(243.04 + t)).
///
/// May come out above 100 %: then water falls out. Holds where [`dew_point`] does.
///
/// Source: Alduchov & Eskridge, as above. Its worked case is turned round: air of 20 °C and 50 %
/// is saturated at its own dew point of 9.27 °C:
///
/// ```
/// use knuckle::reckon::{Celsius, Percent, dew::warmed};
/// let there = warmed((Celsius(9.27), Percent(100.0)), Celsius(20.0));
/// assert!((there.value() - 50.0).abs() < 0.1);
/// ```
pub fn warmed((from, humidity): (Celsius, Percent), to: Celsius) -> Percent {
    let power = |t: Celsius| WATER_FACTOR * t.0 / (WATER_C + t.0);
    Percent(humidity.0 * (power(from) - power(to)).exp())
}
