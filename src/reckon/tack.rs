//! Oil size: when it takes leaf and when it takes it no more. Three clocks for one laying,
//! because edges dry first and hollows last. *Ready* is waited for, *dead* is done before.
//! It never knows a leaf or a gilder's hours; those are planned with what it returns.

use super::equivalent::{Pace, hours_until};
use super::limits::{Limits, SumTrouble};
use super::{Celsius, Estimate, Hours, Percent, Trace};

/// The temperature at which the times of sizes are stated.
pub const REFERENCE: Celsius = Celsius(20.0);

/// Factors per 10 °C for oil size: about 2, between 1.6 and 2.4 (*from memory, common
/// practice*; no measurement is published).
pub const BAND: (f64, f64) = (1.6, 2.4);

/// Factor per 10 °C for the likely bound, the middle of [`BAND`] (*from memory*).
const LIKELY_FACTOR: f64 = 2.0;

/// A hollow holds a thicker film and takes so many times as long (*common practice*; the
/// direction in Cyclopedia of Painting, 1908, and Workshop Receipts, 1st series).
const HOLLOW: f64 = 1.5;

/// Relative humidity in % above which size dries slower (direction from trade leaflets, the
/// limit *from memory*).
const DAMP_ABOVE: f64 = 70.0;

/// Relative humidity in % below which size dries faster (as [`DAMP_ABOVE`]).
const DRY_BELOW: f64 = 35.0;

/// Times as long in damp air, likely (*from memory*).
const DAMP_LIKELY: f64 = 1.2;

/// Times as long in damp air, late (*from memory*).
const DAMP_LATE: f64 = 1.5;

/// Times as long in dry air, early and likely (*from memory*).
const DRY_EARLY: f64 = 0.8;

/// Relative humidities for which a size is reckoned.
pub const HUMIDITY: Limits = Limits {
    quantity: "humidity",
    low: 0.0,
    high: 100.0,
    unit: "%",
    reason: "air holds no more",
};

/// Times to tack and leaf times that a size can have, in hours at 20 °C.
pub const SIZE_HOURS: Limits = Limits {
    quantity: "time of the size at 20 °C",
    low: 0.1,
    high: 96.0,
    unit: "h",
    reason: "no oil size of the trade is quicker or slower",
};

/// The classes of oil size, by how long they take at about 20 °C and 50 % humidity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SizeClass {
    /// Tack in 1–3 h; leaf time about as long as it took to tack (trade article, 2019).
    Quick,
    /// Tack in 2–3 h; leaf time 1–3 h (leaflet of a 3-hour size).
    ThreeHour,
    /// Tack in 10–12 h; leaf time 10–12 h more (slow-size instruction).
    Slow,
    /// Tack in 12–18 h (Notes on Building Construction, part 3); leaf time "into the next
    /// day", taken as the 8–10 h that a gilder saw on a large ceiling (notes, 2011).
    OldGold,
}

impl SizeClass {
    /// Returns the class called `word`: `quick`, `three_hour`, `slow`, `old_gold`.
    pub fn named(word: &str) -> Option<Self> {
        match word {
            "quick" => Some(Self::Quick),
            "three_hour" => Some(Self::ThreeHour),
            "slow" => Some(Self::Slow),
            "old_gold" => Some(Self::OldGold),
            _ => None,
        }
    }

    /// Returns the times of the class at 20 °C and 50 % humidity; the likely one lies midway.
    pub fn times(self) -> SizeTimes {
        let (ready, leaf) = match self {
            Self::Quick => ((1.0, 3.0), (1.0, 3.0)),
            Self::ThreeHour => ((2.0, 3.0), (1.0, 3.0)),
            Self::Slow => ((10.0, 12.0), (10.0, 12.0)),
            Self::OldGold => ((12.0, 18.0), (8.0, 10.0)),
        };
        let spread = |(low, high): (f64, f64)| [low, f64::midpoint(low, high), high];
        SizeTimes {
            ready: spread(ready),
            leaf: spread(leaf),
        }
    }
}

/// The times of one size at 20 °C: hours to tack, and hours of leaf time after that, each
/// early, likely, late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeTimes {
    ready: [f64; 3],
    leaf: [f64; 3],
}

impl SizeTimes {
    /// Returns the times of a size from its own sheet: hours to tack and hours of leaf time,
    /// each early, likely, late, in any order.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] when one lies outside [`SIZE_HOURS`].
    pub fn new(ready: [Hours; 3], leaf: [Hours; 3]) -> Result<Self, SumTrouble> {
        let sorted = |hours: [Hours; 3]| -> Result<[f64; 3], SumTrouble> {
            for hour in hours {
                SIZE_HOURS.hold(hour.0)?;
            }
            let mut bounds = hours.map(Hours::value);
            bounds.sort_by(f64::total_cmp);
            Ok(bounds)
        };
        Ok(Self {
            ready: sorted(ready)?,
            leaf: sorted(leaf)?,
        })
    }

    /// Returns the hours at 20 °C from laying to ready: early, likely, late.
    pub fn ready(&self) -> [Hours; 3] {
        self.ready.map(Hours)
    }

    /// Returns the hours at 20 °C from laying to dead: early, likely, late.
    pub fn dead(&self) -> [Hours; 3] {
        let [early, likely, late] = self.ready;
        let [least, middle, most] = self.leaf;
        [early + least, likely + middle, late + most].map(Hours)
    }
}

/// Where on a carving the size lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeafPlace {
    /// Sharp edges dry first. Nobody publishes by how much, so that an edge is taken to be as
    /// likely at its early bound as a flat is at its likely one.
    Edge,
    /// The flats, for which times are stated.
    Flat,
    /// Hollows, where size pools and stays wet.
    Hollow,
}

/// The air over a laying: how warm, and how damp when that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air<'a> {
    /// Temperature over the hours; after its last reading, that reading holds.
    pub trace: &'a Trace,
    /// Relative humidity; `None` reckons with the 50 % of the stated times.
    pub humidity: Option<Percent>,
}

/// When one laying of size takes leaf, in hours after it was laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Tack {
    /// When it is ready: to be waited for, so plan with [`Estimate::wait_until`].
    pub ready: Estimate<Hours>,
    /// When it is dead: to be done before, so plan with [`Estimate::do_before`].
    pub dead: Estimate<Hours>,
}

/// Returns when size laid at the hour `laid` of the air's trace is ready and dead.
///
/// Formula: the hour at which the [`equivalent hours`](super::equivalent_hours) since laying
/// reach the size's time, with factor 2 for the likely bound, the fastest edge of [`BAND`] for
/// the early and the slowest for the late ones. A hollow takes 1.5 times as long on its likely
/// and late bounds. Above 70 % humidity likely × 1.2, late × 1.5; below 35 % early and likely
/// × 0.8. Validity: see [`Pace`]; real sizes spread by about 40 % (*from memory*), so that a
/// witness chip is always laid with the work. Safe side: ready late, dead early. Sources: at
/// the classes and constants.
///
/// # Errors
/// [`SumTrouble`] when the humidity is outside 0–100 %, or the room stays too cold for the late bound.
///
/// A size of 12 h at 20 °C in a shop at 14 °C: 18.2 h (own table of the trade, factor 2):
/// ```
/// use knuckle::reckon::{tack, Air, Celsius, Hours, LeafPlace, SizeTimes, Trace};
/// let size = SizeTimes::new([Hours(12.0); 3], [Hours(10.0); 3])?;
/// let shop = Trace::steady(Celsius(14.0))?;
/// let air = Air { trace: &shop, humidity: None };
/// let flat = tack(&size, LeafPlace::Flat, air, Hours(0.0))?;
/// assert!((flat.ready.likely().0 - 18.2).abs() < 0.05);
/// assert!(flat.ready.wait_until().0 > 18.2);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn tack(
    size: &SizeTimes,
    place: LeafPlace,
    air: Air<'_>,
    laid: Hours,
) -> Result<Tack, SumTrouble> {
    let factors = factors(place, air.humidity)?;
    let ready = size.ready;
    let dead = size.dead().map(Hours::value);
    Ok(Tack {
        ready: over_the_trace(at_place(ready, place), factors, air, laid)?,
        dead: over_the_trace(at_place(dead, place), factors, air, laid)?,
    })
}

fn factors(place: LeafPlace, humidity: Option<Percent>) -> Result<[f64; 3], SumTrouble> {
    let [early, likely, late] = match place {
        LeafPlace::Edge | LeafPlace::Flat => [1.0, 1.0, 1.0],
        LeafPlace::Hollow => [1.0, HOLLOW, HOLLOW],
    };
    let Some(humidity) = humidity else {
        return Ok([early, likely, late]);
    };
    let humidity = HUMIDITY.hold(humidity.0)?;
    Ok(if DAMP_ABOVE < humidity {
        [early, likely * DAMP_LIKELY, late * DAMP_LATE]
    } else if humidity < DRY_BELOW {
        [early * DRY_EARLY, likely * DRY_EARLY, late]
    } else {
        [early, likely, late]
    })
}

fn at_place([early, likely, late]: [f64; 3], place: LeafPlace) -> [f64; 3] {
    match place {
        LeafPlace::Edge => [early, early, late],
        LeafPlace::Flat | LeafPlace::Hollow => [early, likely, late],
    }
}

fn over_the_trace(
    [early, likely, late]: [f64; 3],
    [early_factor, likely_factor, late_factor]: [f64; 3],
    air: Air<'_>,
    laid: Hours,
) -> Result<Estimate<Hours>, SumTrouble> {
    let after = |pace: Pace, need: f64| -> Result<Hours, SumTrouble> {
        let at = hours_until(air.trace, &pace, laid, Hours(need))?;
        Ok(Hours(at.0 - laid.0))
    };
    let fastest = Pace::fastest(REFERENCE, BAND)?;
    let even = Pace::even(REFERENCE, LIKELY_FACTOR)?;
    let slowest = Pace::slowest(REFERENCE, BAND)?;
    let bounds = [
        after(fastest, early * early_factor)?,
        after(even, likely * likely_factor)?,
        after(slowest, late * late_factor)?,
    ];
    let (low, high) = air.trace.range(laid, Hours(laid.0 + bounds[2].0));
    let shop = if high.0 - low.0 < 1.0 {
        format!("{:.0} °C", low.0)
    } else {
        format!("{:.0}–{:.0} °C", low.0, high.0)
    };
    let damp = match air.humidity {
        Some(damp) if DAMP_ABOVE < damp.0 => format!(", damp at {:.0} %", damp.0),
        Some(dry) if dry.0 < DRY_BELOW => format!(", dry at {:.0} %", dry.0),
        _ => String::new(),
    };
    let because = format!("{early}–{late} h at 20 °C, the shop at {shop}{damp}");
    Ok(Estimate::new(bounds[0], bounds[1], bounds[2], because))
}
