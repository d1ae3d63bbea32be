//! Pot life: how long a cup of mixed epoxy may be promised, from what its sheet says for one
//! mass and one temperature. A do-before sum: its early bound is the only promise. It never
//! models a reaction; it takes published rules of the trade on their safe side.

use super::limits::{Limits, SumTrouble};
use super::{Celsius, Estimate, Grams, Minutes};

/// Temperatures for which a pot life is promised. The trade's printed table runs from 14 °C
/// to 34 °C; below 5 °C many mixes stall, above 40 °C nothing can be promised (*from memory*).
pub const TEMPERATURE: Limits = Limits {
    quantity: "temperature of the cup",
    low: 5.0,
    high: 40.0,
    unit: "°C",
    reason: "the rules for pot life end there",
};

/// Masses for which a pot life is promised: from what is too little to weigh honestly up to
/// about a gallon, the largest mass for which a time is published.
pub const MASS: Limits = Limits {
    quantity: "mass in the cup",
    low: 5.0,
    high: 5000.0,
    unit: "g",
    reason: "no time is published beyond; split into smaller cups",
};

/// Pot lives that a sheet can state.
pub const SHEET_MINUTES: Limits = Limits {
    quantity: "pot life on the sheet",
    low: 1.0,
    high: 1440.0,
    unit: "min",
    reason: "a shorter one cannot be worked and a longer one is no pot life",
};

/// Least factor per 10 °C: "real factor 1.5 to 2.5 by chemistry" (technical article on epoxy).
const FACTOR_SLOW: f64 = 1.5;

/// Usual factor per 10 °C (two technical articles on epoxy); a primary amine reaction at 55 to
/// 60 kJ/mol gives 2.1 to 2.25 (Thermochimica Acta 447, 2006, 167–177, abstract).
const FACTOR_LIKELY: f64 = 2.0;

/// Greatest factor per 10 °C, from the article that gives [`FACTOR_SLOW`].
const FACTOR_FAST: f64 = 2.5;

/// The most that a cold cup is credited with, whatever the temperature: *common practice*.
const COLD_CREDIT: f64 = 1.5;

/// Exponent of the mass over the sheet's own, on the safe side: a gallon mixed at once goes
/// solid in about 5 minutes (technical article), which for a medium hardener is −0.40.
const MASS_SAFE: f64 = 0.4;

/// Exponent of the mass for the likely bound, over and under the sheet's own mass; the value
/// behind the trade's printed table (own calculation of the trade, not measured).
const MASS_LIKELY: f64 = 0.3;

/// Exponent of the mass for the late bound of a heavier cup: the weakest that the gallon in 5
/// minutes gives, for a fast hardener.
const MASS_LATE_HEAVIER: f64 = 0.2;

/// Exponent of the mass for the late bound of a lighter cup: the strongest that the gallon in 5
/// minutes gives, for a slow hardener.
const MASS_LATE_LIGHTER: f64 = 0.59;

/// A gallon of mixed epoxy in grams: 3.785 L at 1.15 kg/L.
const GALLON_G: f64 = 4353.0;

/// Minutes in which a gallon mixed at once goes solid (technical article on epoxy).
const GALLON_MIN: f64 = 5.0;

/// How many times the sheet's mass the printed table reaches: 400 g for a sheet of 100 g.
const TABLE_REACH: f64 = 4.0;

/// The card of the material has no statement of its sheet.
const NO_SHEET: SumTrouble = SumTrouble::TooFew {
    what: "pot lives of the data sheet",
    given: 0,
    needed: 1,
};

/// One statement of a data sheet: so many minutes, for so much in the cup, at such a warmth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetPoint {
    /// The pot life that the sheet states; of a range, its lower end.
    pub minutes: Minutes,
    /// The mass for which it states it.
    pub grams: Grams,
    /// The temperature for which it states it.
    pub temperature: Celsius,
}

/// Returns how long a cup of `grams` at `temperature` lives, from the statements of its sheet.
///
/// Give the **highest** of resin, room and cup-wall temperature. Each statement is carried to
/// the cup by these rules; the early bound is the shortest that any of them gives, the other
/// bounds come from the statement nearest to the cup:
///
/// | bound | hotter, per 10 °C | colder, per 10 °C | heavier | lighter |
/// |---|---|---|---|---|
/// | early | ÷ 2.5 | × 1.5, at most × 1.5 | × (m/m₀)^−0.4 | no credit |
/// | likely | ÷ 2 | × 2 | × (m/m₀)^−0.3 | × (m/m₀)^−0.3 |
/// | late | ÷ 1.5 | × 2.5 | × (m/m₀)^−0.2 | × (m/m₀)^−0.59 |
///
/// Past four times the sheet's mass, where the printed table ends, the early bound falls at
/// least as steeply as it takes to reach 5 minutes at a gallon: for a slow hardener −0.4
/// alone would promise more than is published. Validity: [`TEMPERATURE`], [`MASS`], for cup
/// and sheet. Safe side: early. Spreading the mix in a tray buys time, never promised here.
/// A cup that is warm to the hand is over, whatever the clock says. Sources: technical
/// articles on epoxy for factor and gallon; the rules are *common practice*.
///
/// # Errors
/// [`SumTrouble::TooFew`] when the sheet says nothing, [`SumTrouble::Outside`] when a number lies outside its limits.
///
/// The trade's table for 25 min at 22 °C and 100 g prints 13 (likely 15) for 200 g at 26 °C:
/// ```
/// use knuckle::reckon::{promise, Celsius, Grams, Minutes, SheetPoint};
/// let sheet = [SheetPoint {
///     minutes: Minutes(25.0),
///     grams: Grams(100.0),
///     temperature: Celsius(22.0),
/// }];
/// let cup = promise(&sheet, Grams(200.0), Celsius(26.0))?;
/// assert_eq!(cup.do_before().0.round(), 13.0);
/// assert_eq!(cup.likely().0.round(), 15.0);
/// assert_eq!(cup.because(), "25 min on the sheet, 13 because 26 °C and 200 g");
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn promise(
    sheet: &[SheetPoint],
    grams: Grams,
    temperature: Celsius,
) -> Result<Estimate<Minutes>, SumTrouble> {
    TEMPERATURE.hold(temperature.0)?;
    MASS.hold(grams.0)?;
    for point in sheet {
        SHEET_MINUTES.hold(point.minutes.0)?;
        TEMPERATURE.hold(point.temperature.0)?;
        MASS.hold(point.grams.0)?;
    }
    let carried = sheet
        .iter()
        .map(|point| Carried::to_cup(point, grams, temperature));
    let early = carried
        .clone()
        .map(|one| one.early)
        .fold(f64::INFINITY, f64::min);
    let nearest = carried
        .min_by(|a, b| a.distance.total_cmp(&b.distance))
        .ok_or(NO_SHEET)?;
    Ok(Estimate::new(
        Minutes(early),
        Minutes(nearest.likely),
        Minutes(nearest.late),
        format!(
            "{} min on the sheet, {} because {} °C and {} g",
            nearest.sheet_minutes,
            early.floor(),
            round_tenth(temperature.0),
            round_tenth(grams.0),
        ),
    ))
}

/// One statement of the sheet, carried to the cup.
#[derive(Debug, Clone, Copy)]
struct Carried {
    sheet_minutes: f64,
    early: f64,
    likely: f64,
    late: f64,
    /// How far the likely bound had to be carried, as a logarithm.
    distance: f64,
}

impl Carried {
    fn to_cup(point: &SheetPoint, grams: Grams, temperature: Celsius) -> Self {
        let minutes = point.minutes.0;
        let tens = (temperature.0 - point.temperature.0) / 10.0;
        let mass = grams.0 / point.grams.0;
        let (early_heat, late_heat) = if 0.0 < tens {
            (FACTOR_FAST.powf(-tens), FACTOR_SLOW.powf(-tens))
        } else {
            (
                FACTOR_SLOW.powf(-tens).min(COLD_CREDIT),
                FACTOR_FAST.powf(-tens),
            )
        };
        let late_mass = if 1.0 < mass {
            mass.powf(-MASS_LATE_HEAVIER)
        } else {
            mass.powf(-MASS_LATE_LIGHTER)
        };
        let likely_change = FACTOR_LIKELY.powf(-tens) * mass.powf(-MASS_LIKELY);
        let early = early_heat * minutes_by_mass(point, grams);
        // The gallon's ceiling may pull the early bound below every rule; the likely bound
        // stays a reading of its own and is never under it.
        Self {
            sheet_minutes: minutes,
            early,
            likely: minutes * likely_change,
            late: minutes * late_heat * late_mass,
            distance: tens.abs() * FACTOR_LIKELY.ln() + MASS_LIKELY * mass.ln().abs(),
        }
    }
}

/// The safe minutes for a mass at the sheet's own temperature.
fn minutes_by_mass(point: &SheetPoint, grams: Grams) -> f64 {
    let minutes = point.minutes.0;
    let mass = grams.0 / point.grams.0;
    if mass <= 1.0 {
        return minutes;
    }
    if mass <= TABLE_REACH {
        return minutes * mass.powf(-MASS_SAFE);
    }
    let at_reach = minutes * TABLE_REACH.powf(-MASS_SAFE);
    let gallon = GALLON_G / point.grams.0 / TABLE_REACH;
    let to_gallon = if 1.0 < gallon {
        (at_reach / GALLON_MIN).ln() / gallon.ln()
    } else {
        MASS_SAFE
    };
    at_reach * (mass / TABLE_REACH).powf(-MASS_SAFE.max(to_gallon))
}

fn round_tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::{NO_SHEET, SheetPoint, promise};
    use crate::reckon::{Celsius, Grams, Minutes};

    fn point(minutes: f64, grams: f64, temperature: f64) -> SheetPoint {
        SheetPoint {
            minutes: Minutes(minutes),
            grams: Grams(grams),
            temperature: Celsius(temperature),
        }
    }

    #[test]
    fn several_statements_never_promise_more_than_any_of_them() {
        let sheet = [point(25.0, 100.0, 22.0), point(12.0, 100.0, 30.0)];
        let both = promise(&sheet, Grams(150.0), Celsius(27.0)).unwrap();
        for one in sheet {
            let alone = promise(&[one], Grams(150.0), Celsius(27.0)).unwrap();
            assert!(both.do_before() <= alone.do_before());
        }
        assert!(both.do_before() <= both.likely() && both.likely() <= both.wait_until());
    }

    #[test]
    fn a_gallon_is_never_promised_more_than_the_published_five_minutes() {
        for minutes in [8.0, 12.0, 25.0, 50.0, 60.0, 120.0] {
            let gallon = promise(&[point(minutes, 100.0, 22.0)], Grams(4353.0), Celsius(22.0));
            assert!(gallon.unwrap().do_before().0 <= 5.0 + 1e-9, "{minutes} min");
        }
    }

    #[test]
    fn a_steep_fall_to_the_gallon_leaves_no_jump_where_the_table_ends() {
        let sheet = [point(50.0, 100.0, 22.0)];
        let just = promise(&sheet, Grams(400.0), Celsius(22.0)).unwrap();
        let over = promise(&sheet, Grams(400.01), Celsius(22.0)).unwrap();
        assert!((just.do_before().0 - over.do_before().0).abs() < 0.01);
        assert!(over.do_before() < just.do_before());
    }

    #[test]
    fn it_refuses_with_the_limits_named() {
        let sheet = [point(25.0, 100.0, 22.0)];
        assert_eq!(promise(&[], Grams(100.0), Celsius(22.0)), Err(NO_SHEET));
        assert_eq!(
            promise(&sheet, Grams(100.0), Celsius(45.0))
                .unwrap_err()
                .to_string(),
            "temperature of the cup 45 °C is outside 5–40 °C (the rules for pot life end there)"
        );
        assert_eq!(
            promise(&sheet, Grams(9000.0), Celsius(22.0))
                .unwrap_err()
                .to_string(),
            "mass in the cup 9000 g is outside 5–5000 g (no time is published beyond; split into smaller cups)"
        );
        assert!(promise(&sheet, Grams(f64::NAN), Celsius(22.0)).is_err());
        assert!(promise(&[point(0.0, 100.0, 22.0)], Grams(100.0), Celsius(22.0)).is_err());
    }
}
