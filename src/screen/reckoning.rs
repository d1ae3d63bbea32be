//! The forecast behind the floor and behind a day that was closed: begun, awaited, and dropped
//! when a line was kept since. One at a time, never on the thread that draws.

use std::collections::BTreeMap;
use std::sync::mpsc::Sender;
use std::thread::{self, JoinHandle};

use super::ahead;
use super::events::{Event, Reckoned, Reckoner};
use super::floor_rows::AtRisk;
use crate::plan::{Forecast, Prepared};

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
    fn begin(&mut self, ticket: u64, prepared: Prepared) -> Option<Reckoned> {
        let events = self.events.clone();
        self.begun = Some(thread::spawn(move || {
            let forecast = prepared.reckon();
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
    /// Nobody: the sums are done at once.
    worker: Option<&'a mut dyn Reckoner>,
    /// How often the lines have changed: what a forecast was made from.
    lines: u64,
    /// The forecast under way.
    begun: Option<u64>,
    /// The minute of the last beginning, and the lines it was made from.
    tried: Option<(i64, u64)>,
    risk: Option<BTreeMap<String, AtRisk>>,
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
    /// last one, and that was not begun within this minute.
    pub(super) fn is_due(&self, minute: i64) -> bool {
        let owes = self.owes_note();
        let is_old = self
            .tried
            .is_none_or(|(then, lines)| lines != self.lines && (owes || then != minute));
        self.begun.is_none() && is_old
    }

    /// Returns whether a day that was closed still waits for its forecast.
    pub(super) fn owes_note(&self) -> bool {
        self.note.is_some()
    }

    /// Begins a forecast of the lines as they are; returns it where it comes at once.
    pub(super) fn begin(&mut self, minute: i64, prepared: Prepared) -> Option<Reckoned> {
        self.tried = Some((minute, self.lines));
        self.begun = Some(self.lines);
        match &mut self.worker {
            Some(worker) => worker.begin(self.lines, prepared),
            None => Some(Reckoned {
                ticket: self.lines,
                forecast: prepared.reckon(),
            }),
        }
    }

    /// Takes a forecast that came; returns it, with the name it is to be noted in if a day
    /// was closed, unless a line was kept since it was begun.
    pub(super) fn take(&mut self, reckoned: Reckoned) -> Option<(Forecast, Option<String>)> {
        if self.begun != Some(reckoned.ticket) {
            return None;
        }
        self.begun = None;
        if reckoned.ticket != self.lines {
            return None;
        }
        self.risk = Some(ahead::seen_at_risk(&reckoned.forecast));
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

    /// Returns the promises at risk that the last forecast saw, if one came.
    pub(super) fn risk(&self) -> Option<&BTreeMap<String, AtRisk>> {
        self.risk.as_ref()
    }
}
