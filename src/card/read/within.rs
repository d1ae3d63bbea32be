//! The ranges of numbers on cards, each with its unit. All bounds here only catch slips of the
//! pen, such as a lost point or a wrong unit; they are *common practice* widened by about ten,
//! and no sum uses them.

use std::fmt;

use super::super::MOST_PRICE;

/// A range with its unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Within {
    /// Lowest value.
    lo: f64,
    /// Highest value.
    hi: f64,
    /// Whether the lowest value itself is outside.
    above: bool,
    /// Unit; empty for a bare ratio.
    pub(super) unit: &'static str,
}

impl Within {
    /// More than nothing and at most `hi`.
    const fn up_to(hi: f64, unit: &'static str) -> Self {
        Self {
            lo: 0.0,
            hi,
            above: true,
            unit,
        }
    }

    /// From `lo` to `hi`, both included.
    const fn from(lo: f64, hi: f64, unit: &'static str) -> Self {
        Self {
            lo,
            hi,
            above: false,
            unit,
        }
    }

    /// Returns whether a number lies inside.
    pub(super) fn holds(&self, number: f64) -> bool {
        let low = if self.above {
            self.lo < number
        } else {
            self.lo <= number
        };
        low && number <= self.hi
    }

    /// Returns the unit with a space before it, or nothing.
    pub(super) fn unit_after(&self) -> String {
        if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        }
    }

    /// Returns ` in` and the unit, or nothing.
    pub(super) fn unit_in(&self) -> String {
        if self.unit.is_empty() {
            String::new()
        } else {
            format!(" in {}", self.unit)
        }
    }
}

impl fmt::Display for Within {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (lo, hi, unit) = (self.lo, self.hi, self.unit_after());
        if self.above {
            write!(to, "more than {lo} and at most {hi}{unit}")
        } else {
            write!(to, "from {lo} to {hi}{unit}")
        }
    }
}

/// A corner of a drawing, in its own unit.
pub(super) const CORNER: Within = Within::from(-10_000.0, 10_000.0, "");
/// Area of a zone or panel, m².
pub(super) const AREA: Within = Within::up_to(100.0, "m²");
/// Surface factor of carving: 1 is flat.
pub(super) const RELIEF: Within = Within::from(1.0, 4.0, "");
/// Percentages.
pub(super) const PERCENT: Within = Within::from(0.0, 100.0, "%");
/// A length of a figure or a joint, mm.
pub(super) const LENGTH: Within = Within::up_to(20_000.0, "mm");
/// A place along a joint, mm.
pub(super) const PLACE: Within = Within::from(0.0, 20_000.0, "mm");
/// A gap of a joint, mm.
pub(super) const GAP: Within = Within::from(0.0, 50.0, "mm");
/// Volume of a room, m³.
pub(super) const VOLUME: Within = Within::up_to(100_000.0, "m³");
/// Air changes per hour.
pub(super) const CHANGES: Within = Within::from(0.0, 300.0, "per hour");
/// Resolution of a balance, g.
pub(super) const BALANCE: Within = Within::up_to(50.0, "g");
/// Parts of a mix.
pub(super) const PARTS: Within = Within::up_to(1_000.0, "parts");
/// Density of a liquid or paste, g/ml.
pub(super) const DENSITY: Within = Within::from(0.3, 5.0, "g/ml");
/// A mass in a cup, g.
pub(super) const MASS: Within = Within::up_to(20_000.0, "g");
/// A temperature of work, °C.
pub(super) const TEMPERATURE: Within = Within::from(-20.0, 80.0, "°C");
/// Minutes.
pub(super) const MINUTES: Within = Within::up_to(20_000.0, "min");
/// Hours.
pub(super) const HOURS: Within = Within::up_to(20_000.0, "h");
/// Hours that may be none.
pub(super) const HOURS_OR_NONE: Within = Within::from(0.0, 20_000.0, "h");
/// Spread, m² per litre.
pub(super) const SPREAD: Within = Within::up_to(100.0, "m²/l");
/// Dry film of one coat, µm.
pub(super) const FILM: Within = Within::up_to(2_000.0, "µm");
/// Liquid that goes into the air, ml a minute.
pub(super) const EVAPORATES: Within = Within::up_to(10_000.0, "ml/min");
/// Share of a solid that a zone covers: 1 is all of it.
pub(super) const SHARE: Within = Within::up_to(1.0, "");
/// Side of a leaf, mm.
pub(super) const LEAF: Within = Within::from(5.0, 1_000.0, "mm");
/// Price of an hour, in the shop's money.
pub(super) const PRICE: Within = Within::from(0.0, 10_000.0, "");
/// Price of a lot, in the shop's money.
pub(super) const LOT_PRICE: Within = Within::from(0.0, MOST_PRICE, "");
/// Any reading, in the unit of its measure.
pub(super) const READING: Within = Within::from(-1_000.0, 100_000.0, "");
