//! The forecast behind the floor and behind a day that was closed: begun, awaited, and dropped
//! when a line was kept since. One at a time, never on the thread that draws.

use std::sync::Arc;
use std::sync::mpsc::Sender;
use std::thread::{self, JoinHandle};

use chrono::{DateTime, FixedOffset, TimeDelta};

use super::events::{Event, Preparing, Reckoned, Reckoner};
use crate::plan::Forecast;
use crate::report::Foreseen;

/// From one beginning to the next pass at least so many times what the last forecast took, so
/// that a shop of hundreds of figures leaves the machine to the hands (own choice).
const REST_TIMES: i32 = 10;

/// And at least so many seconds (own choice).
const REST_S: i64 = 60;

/// Does the sums in a thread of their own and sends them as an event.
#[derive(Debug)]
pub(super) struct InThread {
    events: Sender<Event>,
    begun: Option<JoinHandle<Reckoned>>,
}

impl InThread {
    pub(super) fn new(events: Sender<Event>) -> Self {
        let begun = None;
        Self { events, begun }
    }
}

impl Reckoner for InThread {
    fn begin(&mut self, ticket: u64, preparing: Preparing) -> Option<Reckoned> {
        let events = self.events.clone();
        self.begun = Some(thread::spawn(move || {
            let forecast = preparing().reckon();
            let reckoned = Reckoned { ticket, forecast };
            // Nobody listens any more when the screen is closed already.
            let _closed = events.send(Event::Reckoned(reckoned.clone()));
            reckoned
        }));
        None
    }

    fn wait(&mut self) -> Option<Reckoned> {
        self.begun.take()?.join().ok()
    }
}

/// Which forecast is under way, and what the last one saw.
#[derive(Default)]
pub(super) struct Reckoning<'a> {
    /// Nobody: the sums are done at once, and coarsely.
    worker: Option<&'a mut dyn Reckoner>,
    /// How often the lines have changed: what a forecast was made from.
    lines: u64,
    /// The forecast under way.
    begun: Option<u64>,
    /// The moment of the last beginning, and the lines it was made from.
    tried: Option<(DateTime<FixedOffset>, u64)>,
    /// What the last one took that came.
    took: TimeDelta,
    foreseen: Option<Arc<Foreseen>>,
    /// Who closed a day whose forecast is not noted yet.
    note: Option<String>,
}

impl<'a> Reckoning<'a> {
    pub(super) fn by(worker: &'a mut dyn Reckoner) -> Self {
        Self {
            worker: Some(worker),
            ..Self::default()
        }
    }

    /// Something was kept: a forecast made before tells of a shop that is no more.
    pub(super) fn lines_changed(&mut self) {
        self.lines += 1;
    }

    /// A day was closed: its forecast will be noted in this name.
    pub(super) fn note_for(&mut self, by: &str) {
        self.note = Some(by.to_owned());
        self.tried = None;
    }

    /// Returns whether a forecast is under way.
    pub(super) fn is_under_way(&self) -> bool {
        self.begun.is_some()
    }

    /// Returns whether a forecast is wanted now: none is under way, lines were kept since the
    /// last one, and that has had its rest or a day that was closed waits for the next.
    pub(super) fn is_due(&self, now: DateTime<FixedOffset>) -> bool {
        let is_old = self.tried.is_none_or(|(then, lines)| {
            lines != self.lines && (self.owes_note() || self.is_rested(now - then))
        });
        self.begun.is_none() && is_old
    }

    /// A clock that was set back has no patience to ask for.
    fn is_rested(&self, since: TimeDelta) -> bool {
        let rest = (self.took * REST_TIMES).max(TimeDelta::seconds(REST_S));
        since < TimeDelta::zero() || rest <= since
    }

    /// Returns whether a day that was closed still waits for its forecast.
    pub(super) fn owes_note(&self) -> bool {
        self.note.is_some()
    }

    /// Begins a forecast of the lines as they are; returns it where it comes at once.
    pub(super) fn begin(
        &mut self,
        now: DateTime<FixedOffset>,
        preparing: Preparing,
    ) -> Option<Reckoned> {
        self.tried = Some((now, self.lines));
        self.begun = Some(self.lines);
        match &mut self.worker {
            Some(worker) => worker.begin(self.lines, preparing),
            None => Some(Reckoned {
                ticket: self.lines,
                forecast: preparing().coarsely().reckon(),
            }),
        }
    }

    /// Takes a forecast that came; returns it, with the name it is to be noted in if a day
    /// was closed, unless a line was kept since it was begun.
    pub(super) fn take(
        &mut self,
        reckoned: Reckoned,
        now: DateTime<FixedOffset>,
    ) -> Option<(Forecast, Option<String>)> {
        if self.begun != Some(reckoned.ticket) {
            return None;
        }
        if let Some((began, _)) = self.tried {
            self.took = (now - began).max(TimeDelta::zero());
        }
        self.begun = None;
        let is_new = reckoned.ticket == self.lines;
        // What was seen before the last line is shown, with its hour, where else nothing would be:
        // no promise may look safe because nobody reckoned.
        if is_new || self.foreseen.is_none() {
            let at = self.tried.map_or(now, |(began, _)| began);
            let rows = reckoned.forecast.promises();
            self.foreseen = Some(Arc::new(Foreseen { rows, at }));
        }
        if !is_new {
            return None;
        }
        Some((reckoned.forecast, self.note.take()))
    }

    /// The day was opened again: nothing is noted about its evening.
    pub(super) fn forget_note(&mut self) {
        self.note = None;
    }

    /// The noting itself is no news for the forecast that was noted.
    pub(super) fn was_noted(&mut self) {
        if let Some((_, lines)) = &mut self.tried {
            *lines = self.lines;
        }
    }

    /// Waits for what is under way.
    pub(super) fn wait(&mut self) -> Option<Reckoned> {
        self.worker.as_mut()?.wait()
    }

    /// Returns what the last forecast saw, if one came.
    pub(super) fn foreseen(&self) -> Option<&Arc<Foreseen>> {
        self.foreseen.as_ref()
    }
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, FixedOffset, TimeDelta};

    use super::{Preparing, Reckoned, Reckoner, Reckoning};
    use crate::card::Cards;
    use crate::plan::{ForecastAsk, Prepared, prepare};
    use crate::standing::{House, Standing};

    /// Somebody whose forecasts come when the trial says so.
    struct Slow;

    impl Reckoner for Slow {
        fn begin(&mut self, _: u64, _: Preparing) -> Option<Reckoned> {
            None
        }

        fn wait(&mut self) -> Option<Reckoned> {
            None
        }
    }

    fn at(seconds: i64) -> DateTime<FixedOffset> {
        let begin = DateTime::parse_from_rfc3339("2026-11-25T08:00:00+00:00").unwrap();
        begin + TimeDelta::seconds(seconds)
    }

    fn nothing() -> Prepared {
        let (cards, standing) = (Cards::default(), Standing::default());
        let ask = ForecastAsk {
            figure: None,
            runs: 1,
            seed: 1,
            tomorrow: *at(0).offset(),
        };
        let house = House {
            cards: &cards,
            standing: &standing,
        };
        prepare(house, &ask, at(0))
    }

    /// Begins one and lets it come; a line is kept meanwhile.
    fn one(reckoning: &mut Reckoning<'_>, begins: i64, comes: i64) {
        assert!(reckoning.is_due(at(begins)));
        let ticket = reckoning.lines;
        assert!(reckoning.begin(at(begins), Box::new(nothing)).is_none());
        reckoning.lines_changed();
        for wait in [1, 3_600, 86_400] {
            assert!(!reckoning.is_due(at(begins + wait)), "one is under way");
        }
        let forecast = nothing().reckon();
        let reckoned = Reckoned { ticket, forecast };
        assert!(reckoning.take(reckoned, at(comes)).is_none(), "too old");
    }

    #[test]
    fn a_long_forecast_rests_ten_times_as_long_and_a_short_one_a_minute() {
        let mut slow = Slow;
        let mut reckoning = Reckoning::by(&mut slow);
        one(&mut reckoning, 0, 1);
        assert!(!reckoning.is_due(at(59)));
        one(&mut reckoning, 60, 90);
        assert!(!reckoning.is_due(at(60 + 299)));
        one(&mut reckoning, 60 + 300, 60 + 300 + 2);
        assert!(!reckoning.is_due(at(360 + 59)));
        assert!(reckoning.is_due(at(360 + 60)));
        assert!(reckoning.is_due(at(300)), "the clock was set back");
    }

    #[test]
    fn what_was_seen_before_the_last_line_is_better_than_nothing() {
        let mut slow = Slow;
        let mut reckoning = Reckoning::by(&mut slow);
        assert!(reckoning.foreseen().is_none());
        one(&mut reckoning, 0, 30);
        let seen = reckoning.foreseen().cloned();
        assert_eq!(seen.map(|it| it.at), Some(at(0)));
        // A newer one that is too old as well takes the place of none.
        one(&mut reckoning, 3_600, 3_630);
        let seen = reckoning.foreseen().cloned();
        assert_eq!(seen.map(|it| it.at), Some(at(0)));
    }

    #[test]
    fn a_closed_day_and_lines_that_did_not_change_know_no_rest() {
        let mut slow = Slow;
        let mut reckoning = Reckoning::by(&mut slow);
        one(&mut reckoning, 0, 30);
        assert!(!reckoning.is_due(at(31)));
        reckoning.note_for("ines");
        assert!(reckoning.is_due(at(31)));
        assert!(reckoning.begin(at(31), Box::new(nothing)).is_none());
        let forecast = nothing().reckon();
        let ticket = reckoning.lines;
        assert!(
            reckoning
                .take(Reckoned { ticket, forecast }, at(61))
                .is_some()
        );
        assert!(!reckoning.is_due(at(86_400)), "nothing was kept since");
    }
}
