//! Equivalent hours: cure and tack follow the *history* of temperature, so an hour in a warm
//! shop counts for more than an hour in a cold one. Start reading at [`equivalent_hours`];
//! a [`Pace`] says how much faster or slower, and on which safe side.

use super::limits::{Limits, SumTrouble};
use super::{Celsius, Hours, Trace};
use thiserror::Error;

/// The factors per 10 °C that a [`Pace`] takes. Published for the materials of this trade:
/// 1.5 to 2.5 by chemistry (technical articles on epoxy), about 1.6 to 2.4 for oil size
/// (*from memory*); the ends leave room around them.
pub const FACTOR: Limits = Limits {
    quantity: "factor per 10 °C",
    low: 1.0,
    high: 4.0,
    unit: "×",
    reason: "no oil and no epoxy of this trade is known to change more",
};

/// The reference temperatures a [`Pace`] takes: those at which sheets state their times.
pub const REFERENCE: Limits = Limits {
    quantity: "reference temperature",
    low: 5.0,
    high: 40.0,
    unit: "°C",
    reason: "sheets state their times within it",
};

/// Temperatures for which the plain law is asked on its own. The rule of a fixed factor is read
/// for 5 to 35 °C; the ends leave a little room. [`Pace::fastest`] and [`Pace::slowest`] need
/// no such limit, for they err on their safe side beyond it.
pub const PLAIN_LAW: Limits = Limits {
    quantity: "temperature of the trace",
    low: 0.0,
    high: 45.0,
    unit: "°C",
    reason: "the rule of a factor per 10 °C is stated for shop temperatures",
};

/// Below this no hour is credited to what must be waited for. *From memory, common
/// practice*: many materials stall in the cold, and go on when it is warm again.
pub const COLD_STALL: Celsius = Celsius(5.0);

/// Above this no further speed is credited to what must be waited for. *From memory*: the
/// rule of a fixed factor per 10 °C is stated for shop temperatures only.
pub const HEAT_CREDIT_ENDS: Celsius = Celsius(40.0);

/// How fast a material goes at a temperature, as a multiple of its speed at a reference.
///
/// The plain law is `q^((T − reference) / 10)`. A band of factors has a fastest and a slowest
/// edge: hotter than the reference the high factor is the fast one, colder the low one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    reference: f64,
    colder: f64,
    hotter: f64,
    stall: f64,
    ceiling: f64,
}

impl Pace {
    /// Returns the plain law with one factor: for the likely bound.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] outside [`FACTOR`] or [`REFERENCE`].
    pub fn even(reference: Celsius, q10: f64) -> Result<Self, SumTrouble> {
        Self::checked(reference, q10, q10)
    }

    /// Returns the fastest edge of a band of factors: for what must be done **before**.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] outside [`FACTOR`] or [`REFERENCE`].
    pub fn fastest(reference: Celsius, band: (f64, f64)) -> Result<Self, SumTrouble> {
        Self::checked(reference, band.0.min(band.1), band.0.max(band.1))
    }

    /// Returns the slowest edge of a band of factors: for what must be waited **for**.
    ///
    /// Nothing is credited below [`COLD_STALL`], and no more above [`HEAT_CREDIT_ENDS`] than
    /// at it.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] outside [`FACTOR`] or [`REFERENCE`].
    pub fn slowest(reference: Celsius, band: (f64, f64)) -> Result<Self, SumTrouble> {
        let pace = Self::checked(reference, band.0.max(band.1), band.0.min(band.1))?;
        Ok(Self {
            stall: COLD_STALL.0,
            ceiling: HEAT_CREDIT_ENDS.0,
            ..pace
        })
    }

    /// Returns the same pace, with nothing credited below `stall`.
    #[must_use]
    pub fn stalling_below(self, stall: Celsius) -> Self {
        Self {
            stall: stall.0.max(self.stall),
            ..self
        }
    }

    /// Returns how many hours at the reference one hour at `temperature` is worth.
    pub fn rate(&self, temperature: Celsius) -> f64 {
        if temperature.0 < self.stall {
            0.0
        } else {
            self.log_rate(temperature.0).exp()
        }
    }

    fn checked(reference: Celsius, colder: f64, hotter: f64) -> Result<Self, SumTrouble> {
        Ok(Self {
            reference: REFERENCE.hold(reference.0)?,
            colder: FACTOR.hold(colder)?,
            hotter: FACTOR.hold(hotter)?,
            stall: f64::NEG_INFINITY,
            ceiling: f64::INFINITY,
        })
    }

    fn log_rate(&self, temperature: f64) -> f64 {
        let over = temperature.min(self.ceiling) - self.reference;
        let factor = if 0.0 < over { self.hotter } else { self.colder };
        factor.ln() * over / 10.0
    }

    /// The temperatures at which the law changes its shape.
    fn corners(&self) -> [f64; 3] {
        [self.stall, self.reference, self.ceiling]
    }
}

/// The work comes to a stop before it is done.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error(
    "at {temperature} °C the work stands still with {missing_h:.1} h of it undone: warm the room above {needs} °C"
)]
pub struct Stalled {
    /// The temperature after the last reading.
    pub temperature: f64,
    /// How many hours at the reference are still missing.
    pub missing_h: f64,
    /// Above which temperature it goes on.
    pub needs: f64,
}

impl From<Stalled> for SumTrouble {
    fn from(stalled: Stalled) -> Self {
        Self::Contradiction {
            what: stalled.to_string(),
            remedy: "warm the room, or ask again with a warmer one",
        }
    }
}

/// Returns the hours at the reference that the hours between `from` and `to` are worth.
///
/// Formula: `∫ q^((T(t) − T_ref) / 10) dt`, exact for a temperature that runs straight between
/// readings. `to` before `from` gives 0. Validity: shop temperatures, see [`Pace`]; the factor
/// per 10 °C is a rule and not a constant of nature, so a promise uses [`Pace::fastest`] or
/// [`Pace::slowest`]. Source: the rule "10 °C doubles the rate" as printed by technical
/// articles on epoxy; for oil size *common practice*.
///
/// A size of 12 h at 20 °C needs 13.8 h at 18 °C (own table of the trade, q = 2):
/// ```
/// use knuckle::reckon::{equivalent_hours, Celsius, Hours, Pace, Trace};
/// let shop = Trace::steady(Celsius(18.0))?;
/// let pace = Pace::even(Celsius(20.0), 2.0)?;
/// let worth = equivalent_hours(&shop, &pace, Hours(0.0), Hours(13.8));
/// assert!((worth.0 - 12.0).abs() < 0.05);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn equivalent_hours(trace: &Trace, pace: &Pace, from: Hours, to: Hours) -> Hours {
    Hours(
        stretches(trace, pace, from, Some(to))
            .map(|stretch| stretch.worth())
            .sum(),
    )
}

/// Returns the hour of the trace at which `need` hours at the reference have been gathered,
/// counted from the hour `from`. After the last reading, that reading holds
/// ([`Trace::followed_by`] says otherwise).
///
/// The inverse of [`equivalent_hours`], with the same limits and sources. A need of 0 or less
/// is met at `from`.
///
/// # Errors
/// [`Stalled`] when the air stays too cold after the last reading.
///
/// Size of 12 h at 20 °C, laid at 18:00 in a shop that falls from 20 °C to 13 °C by 05:00 and
/// is back at 19 °C at 08:00, is ready about 09:03, not at 06:00 (own example of the trade;
/// exact to its last minute: 09:03:58):
/// ```
/// use knuckle::reckon::{hours_until, Celsius, Hours, Pace, Trace};
/// let night = Trace::new(vec![
///     (Hours(0.0), Celsius(20.0)),
///     (Hours(11.0), Celsius(13.0)),
///     (Hours(14.0), Celsius(19.0)),
/// ])?;
/// let ready = hours_until(&night, &Pace::even(Celsius(20.0), 2.0)?, Hours(0.0), Hours(12.0))?;
/// let clock_minutes = (18.0 + ready.0 - 24.0) * 60.0;
/// assert_eq!(clock_minutes.floor(), 9.0 * 60.0 + 3.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn hours_until(trace: &Trace, pace: &Pace, from: Hours, need: Hours) -> Result<Hours, Stalled> {
    let mut missing = need.0;
    if missing <= 0.0 {
        return Ok(from);
    }
    let mut reached = from.0;
    for stretch in stretches(trace, pace, from, None) {
        let worth = stretch.worth();
        if missing <= worth {
            return Ok(Hours(stretch.from + stretch.time_for(missing)));
        }
        missing -= worth;
        reached = stretch.to;
    }
    let (_, temperature) = trace.last();
    let rate = pace.rate(temperature);
    if rate <= 0.0 {
        return Err(Stalled {
            temperature: temperature.0,
            missing_h: missing,
            needs: pace.stall,
        });
    }
    Ok(Hours(reached + missing / rate))
}

/// A span of time over which the logarithm of the rate runs straight.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: f64,
    to: f64,
    /// The rate at the start; 0 over the whole span while the work stands still.
    rate: f64,
    /// The change of the logarithm of the rate over the whole span.
    rise: f64,
}

impl Stretch {
    /// `r₀ · Δt · (e^x − 1) / x`, with its limit for a flat span.
    fn worth(&self) -> f64 {
        let mean = if self.rise.abs() < f64::EPSILON {
            1.0
        } else {
            self.rise.exp_m1() / self.rise
        };
        self.rate * (self.to - self.from) * mean
    }

    /// How long into the span `need` is gathered; the caller knows that the span is enough.
    fn time_for(&self, need: f64) -> f64 {
        let length = self.to - self.from;
        let flat = need / self.rate;
        let slope = self.rise / length;
        let time = if self.rise.abs() < f64::EPSILON {
            flat
        } else {
            (slope * flat).ln_1p() / slope
        };
        time.clamp(0.0, length)
    }
}

/// Cuts the trace from `from` up to `to` (or to its last reading) into stretches, one by one,
/// so that a clock that began an hour ago does not pay for a year of readings.
fn stretches<'a>(
    trace: &'a Trace,
    pace: &'a Pace,
    from: Hours,
    to: Option<Hours>,
) -> impl Iterator<Item = Stretch> + 'a {
    let readings = trace.points();
    let end = to.unwrap_or(Hours(trace.last().0.0.max(from.0)));
    let begun = readings.partition_point(|reading| reading.0 <= from);
    // A step at the very end has its earlier reading among these, so that the run up to it
    // keeps its slope; the span of no length behind it is left out below.
    let inside = readings
        .get(begun..)
        .unwrap_or_default()
        .iter()
        .copied()
        .take_while(move |reading| reading.0 <= end);
    let rights = inside.chain(std::iter::once((end, trace.at(end))));
    let mut left = (from, trace.at(from));
    rights.flat_map(move |right| cut_at_corners(pace, std::mem::replace(&mut left, right), right))
}

/// Cuts one straight run of temperature where the pace changes its law. A run of no length
/// has no stretches.
fn cut_at_corners(
    pace: &Pace,
    left: (Hours, Celsius),
    right: (Hours, Celsius),
) -> impl Iterator<Item = Stretch> {
    let (from, length) = (left.0.0, right.0.0 - left.0.0);
    let (start, climb) = (left.1.0, right.1.0 - left.1.0);
    // Shares of the run at which to cut; what lies outside, or is no number because the run
    // is level, becomes its end.
    let [stall, reference, ceiling] = pace.corners().map(|corner| {
        let share = (corner - start) / climb;
        if 0.0 < share && share < 1.0 {
            share
        } else {
            1.0
        }
    });
    let mut cuts = [stall, reference, ceiling, 1.0];
    cuts.sort_by(f64::total_cmp);
    let pace = *pace;
    let mut done = 0.0;
    cuts.into_iter().filter_map(move |share| {
        let begun = std::mem::replace(&mut done, share);
        if !(begun < share && 0.0 < length) {
            return None;
        }
        let log_rate = |share: f64| pace.log_rate(start + climb * share);
        let is_still = start + climb * f64::midpoint(begun, share) < pace.stall;
        Some(Stretch {
            from: from + length * begun,
            to: from + length * share,
            rate: if is_still { 0.0 } else { log_rate(begun).exp() },
            rise: log_rate(share) - log_rate(begun),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::{Pace, equivalent_hours, hours_until};
    use crate::reckon::{Celsius, Hours, Trace};

    /// Adds up a hundred thousand slices, the slow way round.
    fn add_up(trace: &Trace, pace: &Pace, hours: f64) -> f64 {
        let slice = hours / 100_000.0;
        (0..100_000)
            .map(|n| pace.rate(trace.at(Hours((f64::from(n) + 0.5) * slice))) * slice)
            .sum()
    }

    fn night() -> Trace {
        Trace::new(vec![
            (Hours(0.0), Celsius(24.0)),
            (Hours(3.0), Celsius(24.0)),
            (Hours(3.0), Celsius(12.0)),
            (Hours(8.0), Celsius(2.0)),
            (Hours(14.0), Celsius(44.0)),
        ])
        .unwrap()
    }

    #[test]
    fn every_pace_agrees_with_adding_up_slices() {
        let reference = Celsius(20.0);
        for pace in [
            Pace::even(reference, 2.0).unwrap(),
            Pace::even(reference, 1.0).unwrap(),
            Pace::fastest(reference, (1.6, 2.4)).unwrap(),
            Pace::slowest(reference, (1.6, 2.4)).unwrap(),
        ] {
            let exact = equivalent_hours(&night(), &pace, Hours(0.0), Hours(15.0)).0;
            // Slices that hold a step or the stall are wrong by less than their own length.
            assert!(
                (exact - add_up(&night(), &pace, 15.0)).abs() < 1e-3,
                "{pace:?}"
            );
        }
    }

    #[test]
    fn a_step_at_the_very_end_does_not_bend_the_run_up_to_it() {
        let pace = Pace::even(Celsius(20.0), 2.0).unwrap();
        let whole = equivalent_hours(&night(), &pace, Hours(0.0), Hours(3.0)).0;
        assert!((whole - 3.0 * 2f64.powf(0.4)).abs() < 1e-12);
    }

    #[test]
    fn the_slow_edge_credits_nothing_in_the_cold_and_says_what_is_missing() {
        let pace = Pace::slowest(Celsius(20.0), (1.6, 2.4)).unwrap();
        let cellar = Trace::steady(Celsius(4.0)).unwrap();
        assert_eq!(
            equivalent_hours(&cellar, &pace, Hours(0.0), Hours(99.0)),
            Hours(0.0)
        );
        let stalled = hours_until(&cellar, &pace, Hours(0.0), Hours(12.0)).unwrap_err();
        assert_eq!(
            stalled.to_string(),
            "at 4 °C the work stands still with 12.0 h of it undone: warm the room above 5 °C"
        );
    }

    #[test]
    fn the_edges_of_a_band_enclose_its_middle() {
        let reference = Celsius(20.0);
        let fast = Pace::fastest(reference, (1.6, 2.4)).unwrap();
        let even = Pace::even(reference, 2.0).unwrap();
        let slow = Pace::slowest(reference, (1.6, 2.4)).unwrap();
        for temperature in [-5.0, 4.0, 10.0, 20.0, 25.0, 39.0, 50.0] {
            let at = Celsius(temperature);
            assert!(slow.rate(at) <= even.rate(at) && even.rate(at) <= fast.rate(at));
        }
    }

    #[test]
    fn a_need_is_met_where_the_hours_say_so() {
        let pace = Pace::even(Celsius(20.0), 2.0).unwrap();
        for need in [0.1, 3.0, 3.9, 4.5, 7.0, 20.0] {
            let at = hours_until(&night(), &pace, Hours(1.0), Hours(need)).unwrap();
            let back = equivalent_hours(&night(), &pace, Hours(1.0), at);
            assert!((back.0 - need).abs() < 1e-9, "{need}");
        }
        assert_eq!(
            hours_until(&night(), &pace, Hours(2.0), Hours(0.0)),
            Ok(Hours(2.0))
        );
    }
}
