//! When a size laid at some moment takes leaf and when no more: the sheet of one size over
//! the three traces of a room. The clocks that run and the night ruler ask the same sum here,
//! so that they can never say different things.

use super::air::Traces;
use crate::card::{CureHours, SizeClass};
use crate::reckon::limits::SumTrouble;
use crate::reckon::tack::{BAND, REFERENCE, SIZE_HOURS};
use crate::reckon::{Air, Celsius, Hours, LeafPlace, Pace, Percent, SizeTimes, Tack, Trace, tack};

/// The times of one size and the temperature at which its sheet states them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SizeSheet {
    times: SizeTimes,
    at_c: f64,
}

/// Humidity as it may lie over the hours to come; `None` where nobody read it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Damp {
    /// Driest: for what must be done before.
    pub(crate) driest: Option<Percent>,
    /// The last reading: for reading.
    pub(crate) likely: Option<Percent>,
    /// Dampest: for what is waited for.
    pub(crate) dampest: Option<Percent>,
}

impl SizeSheet {
    /// Returns the sheet of a size; hours that no size can have give way to its class's own.
    pub(crate) fn new(class: SizeClass, ready: &CureHours, dead: &CureHours) -> Self {
        let dead = at_temperature(dead, ready.at_c);
        let hours = |bounds: [f64; 3]| bounds.map(Hours);
        // A lot that was seen to die early keeps its early end, though its sheet says ready later.
        let least = SIZE_HOURS.low;
        let ready_h = [
            ready.early.min(dead.early - least),
            ready.likely.min(dead.likely - least),
            ready.late,
        ];
        let leaf_h = [
            dead.early - ready_h[0],
            dead.likely - ready_h[1],
            (dead.late - ready.late).max(least),
        ];
        match SizeTimes::new(hours(ready_h), hours(leaf_h)) {
            Ok(times) => Self {
                times,
                at_c: ready.at_c,
            },
            Err(_unusual) => Self {
                times: class_times(class),
                at_c: REFERENCE.0,
            },
        }
    }

    /// Returns the times that are reckoned with, at the temperature of the sheet.
    pub(crate) fn times(&self) -> (SizeTimes, f64) {
        (self.times, self.at_c)
    }

    /// Returns what may come first: an edge over the hottest, driest air. Its early bounds count.
    ///
    /// # Errors
    /// [`SumTrouble`] when the air cannot be reckoned with.
    pub(crate) fn earliest(
        &self,
        (traces, damp): (&Traces, Damp),
        laid: Hours,
    ) -> Result<Tack, SumTrouble> {
        self.over(LeafPlace::Edge, (&traces.hot, damp.driest), laid)
    }

    /// Returns what is likely at a place. Its likely bounds count.
    ///
    /// # Errors
    /// [`SumTrouble`] when the room stays too cold.
    pub(crate) fn middling(
        &self,
        place: LeafPlace,
        (traces, damp): (&Traces, Damp),
        laid: Hours,
    ) -> Result<Tack, SumTrouble> {
        self.over(place, (&traces.likely, damp.likely), laid)
    }

    /// Returns what may come last at a place: over the coldest, dampest air. Its late bounds
    /// count.
    ///
    /// # Errors
    /// [`SumTrouble`] when the room stays too cold.
    pub(crate) fn latest(
        &self,
        place: LeafPlace,
        (traces, damp): (&Traces, Damp),
        laid: Hours,
    ) -> Result<Tack, SumTrouble> {
        self.over(place, (&traces.cold, damp.dampest), laid)
    }

    /// Returns the same place over the hottest air, for its own early bounds.
    ///
    /// # Errors
    /// [`SumTrouble`] when the air cannot be reckoned with.
    pub(crate) fn hottest(
        &self,
        place: LeafPlace,
        (traces, damp): (&Traces, Damp),
        laid: Hours,
    ) -> Result<Tack, SumTrouble> {
        self.over(place, (&traces.hot, damp.driest), laid)
    }

    fn over(
        &self,
        place: LeafPlace,
        (trace, humidity): (&Trace, Option<Percent>),
        laid: Hours,
    ) -> Result<Tack, SumTrouble> {
        let trace = &self.as_at_reference(trace)?;
        tack(&self.times, place, Air { trace, humidity }, laid)
    }

    /// The law counts the distance from the sheet's temperature only, so that a sheet of 23 °C
    /// in a shop of 20 °C goes like one of 20 °C in a shop of 17 °C.
    fn as_at_reference(&self, trace: &Trace) -> Result<Trace, SumTrouble> {
        let off = REFERENCE.0 - self.at_c;
        let moved = trace
            .points()
            .iter()
            .map(|(hour, celsius)| (*hour, Celsius(celsius.0 + off)))
            .collect();
        Ok(Trace::new(moved)?)
    }
}

/// A span printed at one temperature as it is at another, each bound on its safe side. A
/// temperature at which no sheet states times is taken as it stands.
fn at_temperature(printed: &CureHours, at_c: f64) -> CureHours {
    let rates = |pace: Result<Pace, SumTrouble>| pace.map_or(1.0, |pace| pace.rate(Celsius(at_c)));
    let reference = Celsius(printed.at_c);
    let fast = rates(Pace::fastest(reference, BAND)).max(f64::MIN_POSITIVE);
    let slow = rates(Pace::slowest(reference, BAND)).max(f64::MIN_POSITIVE);
    CureHours {
        early: printed.early / fast,
        likely: printed.likely / (fast * slow).sqrt(),
        late: printed.late / slow,
        at_c,
    }
}

fn class_times(class: SizeClass) -> SizeTimes {
    match class {
        SizeClass::Quick => crate::reckon::SizeClass::Quick,
        SizeClass::ThreeHour => crate::reckon::SizeClass::ThreeHour,
        SizeClass::Slow => crate::reckon::SizeClass::Slow,
        SizeClass::OldGold => crate::reckon::SizeClass::OldGold,
    }
    .times()
}

#[cfg(test)]
mod tests {
    use super::{Damp, SizeSheet};
    use crate::card::{CureHours, SizeClass};
    use crate::reckon::{Celsius, Hours, LeafPlace, Trace};
    use crate::standing::air::Traces;

    fn steady(celsius: f64) -> Traces {
        let trace = Trace::steady(Celsius(celsius)).unwrap();
        Traces {
            hot: trace.clone(),
            likely: trace.clone(),
            cold: trace,
            read: true,
        }
    }

    fn sheet(at_c: f64) -> SizeSheet {
        let span = |early, likely, late| CureHours {
            early,
            likely,
            late,
            at_c,
        };
        SizeSheet::new(
            SizeClass::Slow,
            &span(10.0, 11.0, 12.0),
            &span(20.0, 22.0, 24.0),
        )
    }

    #[test]
    fn a_sheet_of_another_temperature_counts_from_its_own() {
        let damp = Damp::default();
        let flat = LeafPlace::Flat;
        // At the temperature of the sheet the printed hours hold as they stand.
        let own = steady(25.0);
        let late = sheet(25.0).latest(flat, (&own, damp), Hours(0.0)).unwrap();
        assert!((late.ready.wait_until().0 - 12.0).abs() < 1e-9);
        let early = sheet(25.0).earliest((&own, damp), Hours(0.0)).unwrap();
        assert!((early.dead.do_before().0 - 20.0).abs() < 1e-9);
        // A sheet of 25 °C in a shop of 20 °C: later than printed, on the slow edge of the
        // band 12 h × 2.4^0.5 = 18.6 h.
        let cooler = steady(20.0);
        let late = sheet(25.0)
            .latest(flat, (&cooler, damp), Hours(0.0))
            .unwrap();
        assert!((late.ready.wait_until().0 - 12.0 * 2.4_f64.sqrt()).abs() < 1e-9);
    }
}
