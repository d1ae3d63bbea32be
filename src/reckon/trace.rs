//! A temperature trace: what the thermometer said, hour by hour. It answers what the
//! temperature was at any moment. It knows hours from a start that its caller chose, never a
//! time of day.

use super::limits::{Limits, SumTrouble};
use super::{Celsius, Hours};
use thiserror::Error;

/// The temperatures a trace takes. *From memory*: beyond them a shop thermometer is broken,
/// or lies in the sun or on the heater.
pub const READING: Limits = Limits {
    quantity: "temperature",
    low: -30.0,
    high: 60.0,
    unit: "°C",
    reason: "a thermometer in a shop reads no further",
};

/// What is wrong with the points of a trace.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TraceFlaw {
    /// No point was given.
    #[error("the temperature trace is empty: give at least one reading")]
    Empty,
    /// A point lies before its forerunner, or its hour is not a number.
    #[error(
        "reading {place} of the temperature trace, at {hour} h, lies before the reading above it, at {before} h"
    )]
    OutOfOrder {
        /// Which reading, counted from 1.
        place: usize,
        /// Its hour.
        hour: f64,
        /// The hour of the reading above it.
        before: f64,
    },
    /// An hour is not a finite number.
    #[error("reading {place} of the temperature trace has no hour")]
    NoHour {
        /// Which reading, counted from 1.
        place: usize,
    },
    /// A temperature is not one that a shop thermometer shows.
    #[error("reading {place} of the temperature trace: {source}")]
    Reading {
        /// Which reading, counted from 1.
        place: usize,
        /// The limits that were left.
        source: SumTrouble,
    },
}

impl TraceFlaw {
    /// Returns which reading is wrong, counted from 1; `None` when there is none at all.
    pub fn place(&self) -> Option<usize> {
        match self {
            Self::Empty => None,
            Self::OutOfOrder { place, .. }
            | Self::NoHour { place }
            | Self::Reading { place, .. } => Some(*place),
        }
    }
}

impl From<TraceFlaw> for SumTrouble {
    fn from(flaw: TraceFlaw) -> Self {
        Self::Contradiction {
            what: flaw.to_string(),
            remedy: "give the readings in order, each with its hour and its temperature",
        }
    }
}

/// A temperature trace: readings in order, at least one.
///
/// Between two readings the temperature is taken to run straight; before the first and after
/// the last the nearest reading holds. Two readings at one hour make a step.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    points: Vec<(Hours, Celsius)>,
}

impl Trace {
    /// Returns a trace over readings of (hours from the start, temperature).
    ///
    /// # Errors
    /// [`TraceFlaw`] when there is no reading, when one lies before the one above it, or when
    /// an hour or a temperature is none; it names the reading, counted from 1.
    pub fn new(points: Vec<(Hours, Celsius)>) -> Result<Self, TraceFlaw> {
        let mut before = f64::NEG_INFINITY;
        for (index, (hour, temperature)) in points.iter().enumerate() {
            let place = index + 1;
            if !hour.0.is_finite() {
                return Err(TraceFlaw::NoHour { place });
            }
            if hour.0 < before {
                return Err(TraceFlaw::OutOfOrder {
                    place,
                    hour: hour.0,
                    before,
                });
            }
            READING
                .hold(temperature.0)
                .map_err(|source| TraceFlaw::Reading { place, source })?;
            before = hour.0;
        }
        if points.is_empty() {
            return Err(TraceFlaw::Empty);
        }
        Ok(Self { points })
    }

    /// Returns a trace that stays at one temperature from hour 0 on.
    ///
    /// # Errors
    /// [`TraceFlaw::Reading`] when the temperature is not one that a shop thermometer shows.
    pub fn steady(temperature: Celsius) -> Result<Self, TraceFlaw> {
        Self::new(vec![(Hours(0.0), temperature)])
    }

    /// Returns the readings in order.
    pub fn points(&self) -> &[(Hours, Celsius)] {
        &self.points
    }

    /// Returns the first reading.
    pub fn first(&self) -> (Hours, Celsius) {
        self.points.first().copied().unwrap_or_default()
    }

    /// Returns the last reading.
    pub fn last(&self) -> (Hours, Celsius) {
        self.points.last().copied().unwrap_or_default()
    }

    /// Returns the temperature at an hour; on a step, the later of its two readings.
    pub fn at(&self, hour: Hours) -> Celsius {
        let after = self.points.partition_point(|point| point.0 <= hour);
        let Some(&(from, left)) = after.checked_sub(1).and_then(|i| self.points.get(i)) else {
            return self.first().1;
        };
        let Some(&(to, right)) = self.points.get(after) else {
            return left;
        };
        Celsius(left.0 + (right.0 - left.0) * (hour.0 - from.0) / (to.0 - from.0))
    }

    /// Returns the trace as if the air stood at `temperature` from its last reading on.
    ///
    /// # Errors
    /// [`TraceFlaw::Reading`] when the temperature is not one that a shop thermometer shows.
    pub fn followed_by(&self, temperature: Celsius) -> Result<Self, TraceFlaw> {
        let mut points = self.points.clone();
        points.push((self.last().0, temperature));
        Self::new(points)
    }

    /// Returns the lowest and the highest temperature between two hours.
    pub fn range(&self, from: Hours, to: Hours) -> (Celsius, Celsius) {
        let inside = self
            .points
            .iter()
            .filter(|point| from <= point.0 && point.0 <= to)
            .map(|point| point.1.0);
        let ends = [self.at(from).0, self.at(to).0];
        let (low, high) = ends
            .into_iter()
            .chain(inside)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| {
                (low.min(t), high.max(t))
            });
        (Celsius(low), Celsius(high))
    }

    /// Returns nothing when every reading lies within `limits`.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] with the first reading that does not.
    pub fn hold(&self, limits: Limits) -> Result<(), SumTrouble> {
        self.points
            .iter()
            .try_for_each(|point| limits.hold(point.1.0).map(drop))
    }
}

#[cfg(test)]
mod tests {
    use super::{Trace, TraceFlaw};
    use crate::reckon::{Celsius, Hours};

    fn trace(points: &[(f64, f64)]) -> Result<Trace, TraceFlaw> {
        Trace::new(
            points
                .iter()
                .map(|&(hour, temperature)| (Hours(hour), Celsius(temperature)))
                .collect(),
        )
    }

    #[test]
    fn between_readings_the_line_is_straight_and_outside_the_nearest_holds() {
        let night = trace(&[(1.0, 20.0), (11.0, 10.0), (11.0, 15.0), (13.0, 19.0)]).unwrap();
        for (hour, expected) in [
            (0.0, 20.0),
            (1.0, 20.0),
            (6.0, 15.0),
            (11.0, 15.0),
            (12.0, 17.0),
            (13.0, 19.0),
            (40.0, 19.0),
        ] {
            assert_eq!(night.at(Hours(hour)), Celsius(expected), "at {hour} h");
        }
        assert_eq!(
            night.range(Hours(6.0), Hours(12.0)),
            (Celsius(10.0), Celsius(17.0))
        );
    }

    #[test]
    fn a_trace_refuses_what_is_no_order_and_no_reading() {
        assert_eq!(trace(&[]), Err(TraceFlaw::Empty));
        assert_eq!(
            trace(&[(2.0, 20.0), (1.0, 20.0)]).unwrap_err().to_string(),
            "reading 2 of the temperature trace, at 1 h, lies before the reading above it, at 2 h"
        );
        assert_eq!(
            trace(&[(f64::NAN, 20.0)]),
            Err(TraceFlaw::NoHour { place: 1 })
        );
        assert_eq!(
            trace(&[(0.0, 20.0), (1.0, 70.0)]).unwrap_err().to_string(),
            "reading 2 of the temperature trace: temperature 70 °C is outside -30–60 °C (a thermometer in a shop reads no further)"
        );
    }
}
