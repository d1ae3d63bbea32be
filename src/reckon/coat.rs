//! Coats: litres, wet and dry film, how many more the film may take, and whether the next one
//! may go on. Start reading at [`litres_for`] for the amount and [`judge_recoat`] for the time.

use super::SquareMetresPerLitre;
use super::count::round_down;
use super::limits::{Limits, SumTrouble};
use super::{Celsius, Estimate, Hours, Litres, Micrometres, Percent, SquareMetres};

/// Volume solids of a coating.
pub const SOLIDS: Limits = Limits {
    quantity: "volume solids",
    low: 1.0,
    high: 100.0,
    unit: "%",
    reason: "less is no paint and more is not possible",
};

/// Dry films of one coat.
pub const DRY_FILM: Limits = Limits {
    quantity: "dry film",
    low: 1.0,
    high: 2000.0,
    unit: "µm",
    reason: "thinner is no film and thicker no single coat",
};

/// Spreading rates: from gel stripper (about 1 m²/L) to slow size (about 17 m²/L) with room.
pub const SPREAD: Limits = Limits {
    quantity: "spreading rate",
    low: 0.1,
    high: 1000.0,
    unit: "m²/L",
    reason: "1000 m²/L is a film of 1 µm",
};

/// Areas to coat.
pub const AREA: Limits = Limits {
    quantity: "area to coat",
    low: 0.0001,
    high: 10_000.0,
    unit: "m²",
    reason: "a spot is touched in and more is no figure",
};

/// Numbers of coats in one scheme.
pub const COATS: Limits = Limits {
    quantity: "number of coats",
    low: 1.0,
    high: 50.0,
    unit: "coats",
    reason: "no scheme of the trade has more",
};

/// Thinner added, in parts of the paint's volume.
pub const THINNED: Limits = Limits {
    quantity: "thinner",
    low: 0.0,
    high: 200.0,
    unit: "%",
    reason: "more leaves no paint",
};

/// Returns the litres for so many coats over an area.
///
/// Formula: area × coats / spreading rate. Validity: [`AREA`], [`SPREAD`], [`COATS`]. Safe
/// side: more; give the rate on a carved figure, which is two thirds of that on a flat (*common
/// practice*). Source: definition of the spreading rate.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond these limits.
///
/// A primer coat on 3.9 m² of carved figure at 7 m²/L takes 0.5 to 0.6 L (own example of the
/// trade):
/// ```
/// use knuckle::reckon::{litres_for, SquareMetres, SquareMetresPerLitre};
/// let litres = litres_for(SquareMetres(3.9), SquareMetresPerLitre(7.0), 1)?;
/// assert!(0.5 <= litres.0 && litres.0 <= 0.6);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn litres_for(
    area: SquareMetres,
    spread: SquareMetresPerLitre,
    coats: u32,
) -> Result<Litres, SumTrouble> {
    let coats = COATS.hold(f64::from(coats))?;
    Ok(Litres(AREA.hold(area.0)? * coats / SPREAD.hold(spread.0)?))
}

/// Returns the spreading rate at which a coating leaves a dry film, with nothing lost.
///
/// Formula: 10 × volume solids % / dry film µm, in m²/L. Validity: [`SOLIDS`], [`DRY_FILM`].
/// Safe side: less; brush, cup and carving take their share. Source: printed estimating table
/// of a coatings bulletin (1604 × solids / mils in ft² per US gallon), metric form in two
/// public texts.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond these limits.
///
/// Printed: 65 % at 125 µm is 5.2 m²/L, 71 % is 5.68 m²/L:
/// ```
/// use knuckle::reckon::{spread_for_film, Micrometres, Percent};
/// let rate = spread_for_film(Percent(65.0), Micrometres(125.0))?;
/// assert!((rate.0 - 5.2).abs() < 1e-9);
/// assert!((spread_for_film(Percent(71.0), Micrometres(125.0))?.0 - 5.68).abs() < 1e-9);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn spread_for_film(
    solids: Percent,
    dry: Micrometres,
) -> Result<SquareMetresPerLitre, SumTrouble> {
    Ok(SquareMetresPerLitre(
        10.0 * SOLIDS.hold(solids.0)? / DRY_FILM.hold(dry.0)?,
    ))
}

/// Returns the wet film that dries to a dry film.
///
/// Formula: dry film × (1 + thinner) × 100 / volume solids %. Validity: [`SOLIDS`],
/// [`DRY_FILM`], [`THINNED`]. Source: worked examples of two public texts.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond these limits.
///
/// Printed: 2.8 mils dry at 35 % are 8 mils wet:
/// ```
/// use knuckle::reckon::{wet_film_for, Micrometres, Percent};
/// let mil = 25.4;
/// let wet = wet_film_for(Micrometres(2.8 * mil), Percent(35.0), Percent(0.0))?;
/// assert!((wet.0 / mil - 8.0).abs() < 1e-9);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn wet_film_for(
    dry: Micrometres,
    solids: Percent,
    thinned: Percent,
) -> Result<Micrometres, SumTrouble> {
    let with_thinner = 1.0 + THINNED.hold(thinned.0)? / 100.0;
    Ok(Micrometres(
        DRY_FILM.hold(dry.0)? * with_thinner * 100.0 / SOLIDS.hold(solids.0)?,
    ))
}

/// Returns the wet film that a spreading rate leaves, with nothing lost.
///
/// Formula: 1000 / spreading rate, in µm: a litre over 1 m² stands 1 mm high. Validity:
/// [`SPREAD`]. Source: definition; printed: 1 µm of 100 % solids is 1000 m²/L.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond [`SPREAD`].
///
/// ```
/// use knuckle::reckon::{wet_film_of, SquareMetresPerLitre};
/// assert_eq!(wet_film_of(SquareMetresPerLitre(1000.0))?.0, 1.0);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn wet_film_of(spread: SquareMetresPerLitre) -> Result<Micrometres, SumTrouble> {
    Ok(Micrometres(1000.0 / SPREAD.hold(spread.0)?))
}

/// Dry film of one coat of oil varnish in µm, thin and thick (*common practice*).
const VARNISH_COAT: (f64, f64) = (25.0, 35.0);

/// What one rubbing takes off in µm, little and much (*common practice*).
const RUBBING: (f64, f64) = (5.0, 10.0);

/// Returns the varnish film after so many coats and rubbings.
///
/// Formula: coats × 25–35 µm − rubbings × 5–10 µm, never below 0. Safe side: late for "is it
/// too thick", early for "does a wear zone have enough". Source: *common practice*.
///
/// 4 coats rubbed between are about 90–110 µm, 6 coats about 140 µm (own figures of the trade):
/// ```
/// use knuckle::reckon::varnish_film;
/// let four = varnish_film(4, 3).likely().0;
/// assert!(90.0 <= four && four <= 110.0);
/// assert!((varnish_film(6, 5).likely().0 - 140.0).abs() < 5.0);
/// ```
pub fn varnish_film(coats: u32, rubbings: u32) -> Estimate<Micrometres> {
    let (coats, rubbings) = (f64::from(coats), f64::from(rubbings));
    let film = |coat: f64, rubbing: f64| Micrometres((coats * coat - rubbings * rubbing).max(0.0));
    Estimate::new(
        film(VARNISH_COAT.0, RUBBING.1),
        film(
            f64::midpoint(VARNISH_COAT.0, VARNISH_COAT.1),
            f64::midpoint(RUBBING.0, RUBBING.1),
        ),
        film(VARNISH_COAT.1, RUBBING.0),
        format!("{coats} coats of 25–35 µm, {rubbings} rubbings of 5–10 µm"),
    )
}

/// Returns how many more coats of varnish a film may take before it passes `budget`.
///
/// Formula: (budget − late film) / 35 µm, rounded down. Safe side: fewer, for a thick film
/// cracks. Source: *common practice*.
///
/// ```
/// use knuckle::reckon::{coats_left, varnish_film, Micrometres};
/// assert_eq!(coats_left(Micrometres(140.0), &varnish_film(2, 1)), 2);
/// assert_eq!(coats_left(Micrometres(110.0), &varnish_film(4, 3)), 0);
/// ```
pub fn coats_left(budget: Micrometres, film: &Estimate<Micrometres>) -> usize {
    round_down((budget.0 - film.wait_until().0) / VARNISH_COAT.1)
}

/// When a coat may be followed by the next, as its sheet says for about 20 °C and 50 % humidity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecoatWindow {
    /// The sheet's least hours; of a range, its upper end.
    pub opens: Hours,
    /// The sheet's most hours without scuffing; of a range, its lower end. `None`: any time.
    pub closes: Option<Hours>,
}

/// Below this the least hours count double (*common practice*).
const COLD_BELOW: Celsius = Celsius(14.0);

/// How many times the least hours count in the cold (*common practice*).
const COLD_FACTOR: f64 = 2.0;

/// Whether the next coat may go on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recoat {
    /// Not yet: so many hours are missing.
    TooSoon {
        /// Hours still to wait.
        wait: Hours,
    },
    /// It may, once the powder test says so too.
    Open {
        /// Hours until it must be scuffed first; `None`: no end.
        left: Option<Hours>,
    },
    /// The coat is too old to key: scuff first.
    ScuffFirst,
}

/// Returns whether a coat laid `since` hours ago may be followed by the next.
///
/// Formula: open from `opens`, doubled when it was ever below 14 °C, up to `closes`, which the
/// cold never stretches. Both ends on their safe side: too soon wrinkles and cracks, too late
/// peels. When both hold, it is too soon and will need scuffing. The powder test at the coat
/// beats the clock. Source: *common practice*.
///
/// ```
/// use knuckle::reckon::{judge_recoat, Celsius, Hours, Recoat, RecoatWindow};
/// let varnish = RecoatWindow { opens: Hours(24.0), closes: Some(Hours(48.0)) };
/// let warm = judge_recoat(varnish, Hours(30.0), Celsius(18.0));
/// assert_eq!(warm, Recoat::Open { left: Some(Hours(18.0)) });
/// let cold = judge_recoat(varnish, Hours(30.0), Celsius(12.0));
/// assert_eq!(cold, Recoat::TooSoon { wait: Hours(18.0) });
/// assert_eq!(judge_recoat(varnish, Hours(49.0), Celsius(18.0)), Recoat::ScuffFirst);
/// ```
pub fn judge_recoat(window: RecoatWindow, since: Hours, coldest: Celsius) -> Recoat {
    let opens = if coldest < COLD_BELOW {
        window.opens.0 * COLD_FACTOR
    } else {
        window.opens.0
    };
    if since.0 < opens {
        return Recoat::TooSoon {
            wait: Hours(opens - since.0),
        };
    }
    match window.closes {
        Some(closes) if closes <= since => Recoat::ScuffFirst,
        Some(closes) => Recoat::Open {
            left: Some(Hours(closes.0 - since.0)),
        },
        None => Recoat::Open { left: None },
    }
}
