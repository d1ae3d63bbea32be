//! How much clean air holds a vapour down while it is given off.

use super::limits::{Limits, SumTrouble};
use super::purge::MIXING;
use super::quantity::{CubicMetresPerMinute, Grams, Millilitres, PartsPerMillion};

use super::exposure::Solvent;

/// Concentrations to hold: our own choice, from a billionth to the whole of the air.
pub const HELD: Limits = Limits {
    quantity: "limit of vapour",
    low: 0.001,
    high: 1.0e6,
    unit: "ppm",
    reason: "no limit lies beyond",
};

/// Amounts given off per minute: our own choice.
pub const GIVEN_OFF: Limits = Limits {
    quantity: "solvent given off",
    low: 0.0,
    high: 1.0e5,
    unit: "ml/min",
    reason: "beyond that it is no bench but a works",
};

/// The mixing factor of dilution when nobody gives one, no unit: the poorest of the range, for the
/// nose of the person at the bench is nearer to the source than the room's mean.
pub const POOREST_MIXING: f64 = 10.0;

/// Below this limit, in ppm, dilution alone is the wrong way and the vapour must be drawn off where
/// it arises (public lecture on dilution ventilation, *quoted*).
pub const DRAW_OFF_BELOW_PPM: f64 = 100.0;

/// The share of the lower explosive limit, in percent, from which air counts as hazardous
/// (29 CFR 1910.146(b), *quoted* in a glossary).
pub const HAZARDOUS_LEL_PERCENT: f64 = 10.0;

/// Litres of vapour from one mole at 20 °C and 1 atm, as the SI form of the formula rounds it.
const LITRES_PER_MOLE: f64 = 24.04;

/// How much solvent is given off in a minute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GivenOff {
    /// So much of the liquid.
    Volume(Millilitres),
    /// So much by the balance.
    Weight(Grams),
}

/// What dilution takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Clean air needed.
    pub airflow: CubicMetresPerMinute,
    /// The held concentration as a share of the lower explosive limit, percent.
    pub share_of_lel_percent: f64,
}

/// Returns the clean air that holds a vapour at a concentration.
///
/// Q = 24.04·10⁶ · SG · ER · K/(MW · C), Q and ER in m³ and litres of liquid in the same time.
///
/// Holds for steady evaporation at 20 °C and clean supply air. Safe side: K of 10 where nobody knows
/// the mixing. Below 100 ppm, and for methylene chloride, dilution is the wrong way: draw the
/// vapour off at the source. An estimate for planning; only measurement shows exposure, and the
/// safety data sheet, local codes and licensed practice win.
///
/// Source: ACGIH, Industrial Ventilation, dilution formula (*quoted* in a university handout). Its
/// example, *from memory*: 1.5 US pints/h of a liquid of SG 1.32 and MW 133.4 held at 350 ppm with
/// K = 5 takes 1,425 ft³/min.
///
/// ```
/// use knuckle::reckon::dilution::{GivenOff, dilution};
/// use knuckle::reckon::{Millilitres, PartsPerMillion, exposure::{SOLVENTS, Solvent}};
/// let liquid = Solvent { density_g_per_ml: 1.32, molar_mass: 133.4, ..SOLVENTS[0] };
/// let rate = GivenOff::Volume(Millilitres(1.5 * 473.176_473 / 60.0));
/// let it = dilution(&liquid, rate, PartsPerMillion(350.0), 5.0).unwrap();
/// let cfm = it.airflow.value() / 0.028_316_846_592;
/// assert!((cfm - 1425.0).abs() < 0.007 * 1425.0); // 20 °C here, 70 °F there
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] for a limit, an amount or a mixing factor beyond the ranges.
pub fn dilution(
    solvent: &Solvent,
    given_off: GivenOff,
    held: PartsPerMillion,
    mixing: f64,
) -> Result<Dilution, SumTrouble> {
    let ppm = HELD.hold(held.0)?;
    let factor = MIXING.hold(mixing)?;
    let ml = match given_off {
        GivenOff::Volume(it) => it.0,
        GivenOff::Weight(it) => it.0 / solvent.density_g_per_ml,
    };
    let grams = GIVEN_OFF.hold(ml)? * solvent.density_g_per_ml;
    let vapour_m3 = LITRES_PER_MOLE * grams / solvent.molar_mass / 1000.0;
    Ok(Dilution {
        airflow: CubicMetresPerMinute(vapour_m3 * 1.0e6 * factor / ppm),
        share_of_lel_percent: ppm / (solvent.lel_percent * 10_000.0) * 100.0,
    })
}
