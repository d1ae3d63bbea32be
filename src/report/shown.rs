//! How quantities and clocks are shown. Journals and sums stay metric; only the showing
//! turns to inches, and never in JSON, whose keys name their unit.

use chrono::{DateTime, FixedOffset};

use crate::card::{ClockName, Units};
use crate::deed::Use;
use crate::standing::{ClockState, ClockView};

/// Shows quantities in the units of a shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown(pub Units);

/// One inch in millimetres (international inch of 1959, exact).
const INCH_MM: f64 = 25.4;

/// One avoirdupois ounce in grams (exact: 0.453 592 37 kg / 16).
const OUNCE_G: f64 = 28.349_523_125;

/// One US fluid ounce in millilitres (exact: 231 in³ / 128).
const FLUID_OUNCE_ML: f64 = 29.573_529_562_5;

impl Shown {
    /// Returns a temperature; `value` in °C.
    pub fn temperature(self, value: f64) -> String {
        self.of_unit(value, "°C")
    }

    /// Returns the sign of the degrees that are shown.
    pub fn degrees(self) -> &'static str {
        match self.0 {
            Units::Metric => "°C",
            Units::Inch => "°F",
        }
    }

    /// Returns a temperature as a bare number in the degrees that are shown; `value` in °C.
    pub fn number_in_degrees(self, value: f64) -> f64 {
        match self.0 {
            Units::Metric => value,
            Units::Inch => value * 9.0 / 5.0 + 32.0,
        }
    }

    /// Returns a mass; `value` in grams.
    pub fn mass(self, value: f64) -> String {
        self.of_unit(value, "g")
    }

    /// Returns a number with its metric `unit`, turned into °F, in, oz or fl oz where the shop
    /// shows inches. Units of other kinds stay as they are; an empty unit shows none.
    pub fn of_unit(self, value: f64, unit: &str) -> String {
        let (value, places, unit) = match (self.0, unit) {
            (Units::Inch, "°C") => (self.number_in_degrees(value), 1, self.degrees()),
            (Units::Inch, "mm") => (value / INCH_MM, 3, "in"),
            (Units::Inch, "g") => (value / OUNCE_G, 2, "oz"),
            (Units::Inch, "ml") => (value / FLUID_OUNCE_ML, 1, "fl oz"),
            _ => (value, 2, unit),
        };
        let number = number(value, places);
        match unit {
            "" => number,
            _ => format!("{number} {unit}"),
        }
    }
}

/// Returns a number with at most `places` digits after the point and no idle noughts.
pub(super) fn number(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let short = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    match short {
        "-0" => "0".to_owned(),
        short => short.to_owned(),
    }
}

/// Returns the name of a clock by what it ends in, as pages and screens say it beside a time.
pub fn clock_name(clock: ClockName) -> &'static str {
    names(clock).1
}

/// Returns the name of the thing itself that a clock is about, for a sentence about it.
pub fn clock_itself(clock: ClockName) -> &'static str {
    names(clock).0
}

/// The one table of what clocks are called: the thing itself, and what its time ends in.
fn names(clock: ClockName) -> (&'static str, &'static str) {
    match clock {
        ClockName::Cup => ("cup", "cup"),
        ClockName::Closing => ("joint closing", "close the joint"),
        ClockName::Clamps => ("clamps", "clamps off"),
        ClockName::Load => ("sand, load, coat", "sand, load, coat"),
        ClockName::Leftover => ("left-over cup", "left-over cup cold"),
        ClockName::FullCure => ("full cure", "full cure"),
        ClockName::Glove => ("gloves", "gloves"),
        ClockName::Cartridge => ("mask cartridge", "mask cartridge"),
        ClockName::Dwell => ("stripper", "stripper on"),
        ClockName::Purge => ("clearing of the air", "masks may come off"),
        ClockName::Drying => ("drying wood", "wood dry"),
        ClockName::Recoat => ("recoat", "recoat"),
        ClockName::TackEdge => ("size, edge", "size, edge"),
        ClockName::TackFlat => ("size, flat", "size, flat"),
        ClockName::TackHollow => ("size, hollow", "size, hollow"),
        ClockName::LeafSet => ("leaf setting", "leaf set"),
        ClockName::Dust => ("dust", "dust settled"),
    }
}

/// Returns what the times of a clock rest on: where they come from, and why they are these. Of
/// a window that is not open yet it says first when it closes again.
pub fn grounds(view: &ClockView) -> String {
    let (from, why) = (&view.provenance, &view.because);
    let hour = |at: DateTime<FixedOffset>| at.format("%a %-d %b %H:%M");
    let until = match (view.side, view.state, view.opens.zip(view.closes)) {
        (Use::Window, ClockState::Waiting | ClockState::Unsure, Some((opens, closes)))
            if closes < opens =>
        {
            let (dead, ready) = (hour(closes), hour(opens));
            format!(
                "NOTHING IS SURE: may be dead from {dead}, not ready till {ready}; chip and knuckle decide; "
            )
        }
        (Use::Window, ClockState::Waiting, Some((_, closes))) => {
            format!("then until {}; ", hour(closes))
        }
        _ => String::new(),
    };
    if why.is_empty() || why.contains(from.as_str()) {
        let why = if why.is_empty() { from } else { why };
        return format!("{until}{why}");
    }
    format!("{until}{from}: {why}")
}

#[cfg(test)]
mod tests {
    use super::Shown;
    use crate::card::Units;

    #[test]
    fn inches_are_shown_and_what_is_no_measure_is_left() {
        let inch = Shown(Units::Inch);
        assert_eq!(inch.temperature(20.0), "68 °F");
        assert_eq!(inch.of_unit(120.65, "mm"), "4.75 in");
        // One pound is 16 ounces, 453.592 37 g exactly (Units of weight and measure, 1959).
        assert_eq!(inch.mass(453.592_37), "16 oz");
        assert_eq!(inch.of_unit(12.0, "%"), "12 %");
        assert_eq!(inch.of_unit(3.0, ""), "3");
        let metric = Shown(Units::Metric);
        assert_eq!(metric.mass(68.9), "68.9 g");
        assert_eq!(metric.mass(31.0), "31 g");
        assert_eq!(metric.temperature(-0.001), "0 °C");
    }
}
