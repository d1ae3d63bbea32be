//! The turn: wait for one event, let the hand act, look anew, draw what changed.
//!
//! There is one closed type of event, and the source of events is a parameter, so that
//! trials feed keys and nothing here knows a terminal. The time comes from a [`Dial`].

use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyEvent, KeyEventKind, MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::{Rect, Size};
use ratatui::{Terminal, backend::Backend, buffer::Buffer};

use crate::deed::{Deed, Picked, Work};
use crate::report::tell;
use crate::shop::{KeptLine, Stop};
use crate::standing::{ClockTimes, FloorRow, Intent, JobState, Moment, OpenGate, Stage, offers};

use super::ahead;
use super::behind::Bench;
use super::day_kept::DayKept;
use crate::alarm::Quiet;

use super::dossier::{Dossier, Leaf, Shown};
use super::easel::{Easel, Hung};
use super::events::{Bell, Dial, Event, Opening, PhotoReader, Reckoner, Source};
use super::hand::{self, Reply, places};
use super::keys::{Act, Place, act_for};
use super::lists;
use super::look::Look;
use super::pane::{Drawn, Pane};
use super::photographs::Photographs;
use super::reckoning::Reckoning;
use super::sight::{Sight, name_of};
use super::terminal::remember;
use super::tonight::Tonight;
use super::view::{Last, Over, Page, Said, View};

/// Figure, and the last lines of its journal and of the shop's.
type Lines = (String, u64, u64);

/// The screen between two events.
pub struct Turn<'a> {
    pub(super) bench: &'a mut dyn Bench,
    pub(super) dial: &'a mut dyn Dial,
    bell: &'a mut dyn Bell,
    look: Look,
    banner: String,
    /// The disk did not keep the act that was tried last.
    unkept: bool,
    pub(super) view: View,
    pub(super) sight: Sight,
    drawn: Drawn,
    day: DayKept,
    /// The overview of all figures, and the minute it was made in.
    pub(super) floor: Option<(i64, Vec<FloorRow>)>,
    night: Tonight,
    /// The times of the clocks, as they were reckoned within this minute.
    times: ClockTimes,
    /// The open gates of all figures, and the minute they were asked in.
    pub(super) gates: Option<(i64, Vec<OpenGate>)>,
    /// The job that was taken to the bench.
    taken: Option<(String, Work)>,
    /// The record of the figure in the Dossier, as it stood after these lines.
    dossier: Option<(Lines, Arc<Dossier>)>,
    photographs: Photographs<'a>,
    /// When the bell wants to be asked again.
    rings_next: Option<DateTime<FixedOffset>>,
    pub(super) reckoning: Reckoning<'a>,
}

impl std::fmt::Debug for Turn<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Turn")
            .field("view", &self.view)
            .finish_non_exhaustive()
    }
}

impl<'a> Turn<'a> {
    /// Returns the screen as it opens, looked at once.
    pub fn new(
        bench: &'a mut dyn Bench,
        dial: &'a mut dyn Dial,
        bell: &'a mut dyn Bell,
        opening: Opening,
    ) -> Self {
        let mut turn = Self {
            bench,
            dial,
            bell,
            look: opening.look,
            banner: opening.banner,
            unkept: false,
            view: View {
                by: opening.by,
                bench: opening.bench,
                ..View::default()
            },
            sight: Sight::default(),
            drawn: Drawn::default(),
            day: DayKept::default(),
            floor: None,
            night: Tonight::default(),
            times: ClockTimes::default(),
            gates: None,
            taken: None,
            dossier: None,
            photographs: Photographs::default(),
            rings_next: None,
            reckoning: Reckoning::default(),
        };
        if let Some(figure) = opening.figure {
            turn.take_figure(figure);
        }
        if let Err(stop) = turn.bench.try_keeping() {
            turn.stopped(stop);
        }
        turn.look();
        if turn.view.by.is_empty() {
            turn.view.over = Over::List(lists::people(&turn.sight));
        }
        turn
    }

    /// Lets somebody else do the long sums of a forecast than the thread that draws; they are
    /// done at once without.
    #[must_use]
    pub fn with_reckoner(mut self, worker: &'a mut dyn Reckoner) -> Self {
        self.reckoning = Reckoning::by(worker);
        self
    }

    /// Lets somebody else read photographs than the thread that draws; they are read at once
    /// without.
    #[must_use]
    pub fn with_photo_reader(mut self, worker: &'a mut dyn PhotoReader) -> Self {
        self.photographs = Photographs::by(worker);
        self
    }

    /// Takes a figure to the bench, with the job worked on last that is still open.
    fn take_figure(&mut self, figure: String) {
        let house = self.bench.house();
        let open = house
            .figure(&figure)
            .and_then(|figure| figure.open_jobs().last().map(|job| job.work.clone()));
        self.view.work = open;
        self.view.figure = Some(figure);
    }

    /// Looks at everything anew.
    pub fn look(&mut self) {
        let (now, jump) = self.dial.look();
        if let Some((by_s, how)) = jump {
            self.ask(&Intent::Jumped { by_s, how }, now);
        }
        self.sight = Sight::take_kept(self.bench.house(), &self.view, now, &mut self.times);
        if self.sight.acknowledged && self.take_up(now) {
            self.sight = Sight::take_kept(self.bench.house(), &self.view, now, &mut self.times);
        }
        if self.must_read() {
            self.view.over = Over::Deferral;
        }
        if self.unkept {
            "nothing is kept now".clone_into(&mut self.sight.banner);
        } else if !self.banner.is_empty() {
            self.sight.banner.clone_from(&self.banner);
        }
        if let Some(damage) = self.bench.damage(self.view.figure.as_deref()) {
            // Before anything else that stands there: who works here has to see it.
            self.sight.banner = damage;
        }
        self.take_floor(now);
        self.take_gates(now);
        self.reckon_for_page(now);
        if self.view.page == Page::Day {
            let shown = (&self.view, &mut self.sight);
            let foreseen = self.reckoning.foreseen().cloned();
            if let Err(stop) = self.day.look(&*self.bench, shown, foreseen.as_deref()) {
                self.stopped(stop);
            }
        }
        if self.view.page == Page::Dossier {
            self.open_dossier(now);
        }
        self.night
            .look(self.bench.house(), (&self.view, &mut self.sight), self.dial);
        let quiet = if self.sight.quiet {
            Quiet::On
        } else {
            Quiet::Off
        };
        self.rings_next = self.bell.hear(&self.sight.clocks, quiet, now);
    }

    /// Whoever comes to the bench for the first time reads what this tool is not.
    fn must_read(&self) -> bool {
        let view = &self.view;
        let is_excused = view.excused.as_ref() == Some(&view.by);
        let is_known = self.sight.acknowledged || is_excused;
        let is_free = view.over == Over::Nothing && view.fault.is_none();
        is_free && !view.by.is_empty() && !is_known
    }

    /// A job that comes to the bench with a step half done is marked as taken up again; says
    /// whether anything was written.
    fn take_up(&mut self, at: DateTime<FixedOffset>) -> bool {
        let job = self.view.figure.clone().zip(self.view.work.clone());
        if job == self.taken {
            return false;
        }
        self.taken.clone_from(&job);
        let Some((figure, work)) = job else {
            return false;
        };
        let moment = self.moment(at);
        match self.bench.act(&Intent::Resume { figure, work }, &moment) {
            Ok(kept) if !kept.is_empty() => {
                self.forget();
                true
            }
            Err(Stop::Trouble(trouble)) => {
                self.view.fault = Some(*trouble);
                false
            }
            _ => false,
        }
    }

    pub(super) fn moment(&self, at: DateTime<FixedOffset>) -> Moment {
        Moment {
            at,
            by: self.view.by.clone(),
            bench: self.view.bench.clone(),
        }
    }

    /// Takes the record of the figure anew where a line was kept since; reads the photographs
    /// of the part in front.
    fn open_dossier(&mut self, now: DateTime<FixedOffset>) {
        let Some(figure) = self.view.figure.clone() else {
            return;
        };
        let house = self.bench.house();
        let last_n = house.figure(&figure).map_or(0, |figure| figure.last_n);
        let lines = (figure, last_n, house.standing.shop.last_n);
        if self
            .dossier
            .as_ref()
            .is_none_or(|(taken, _)| *taken != lines)
        {
            let dossier = Dossier::take(house, &lines.0, now);
            self.dossier = dossier.map(|dossier| (lines, Arc::new(dossier)));
        }
        let dossier = self
            .dossier
            .as_ref()
            .map(|(_, dossier)| Arc::clone(dossier));
        if let Some(dossier) = dossier.as_deref()
            && self.view.dossier.leaf == Leaf::Photos
        {
            let pair = dossier.pair(self.view.dossier.part, self.view.dossier.photo);
            let bench = &*self.bench;
            self.sight.pictures = self.photographs.look(bench, &dossier.figure, pair);
        }
        self.sight.dossier = dossier;
        self.sight.cell = self.photographs.cell();
    }

    /// Returns the photographs with the places that a drawing kept free for them.
    fn hung(&self, drawn: &Drawn) -> Vec<Hung> {
        let place = |(nth, area): &(usize, Rect)| match self.sight.pictures.get(*nth) {
            Some(Some(Shown::Picture(picture))) => Some(Hung {
                area: *area,
                picture: Arc::clone(picture),
            }),
            _ => None,
        };
        drawn.photographs.iter().filter_map(place).collect()
    }

    fn follow(&mut self) {
        match self.bench.follow() {
            Ok(news) if news.is_empty() => {}
            Ok(news) => {
                self.forget();
                self.say_who_answered(&news);
            }
            Err(stop) => self.stopped(stop),
        }
    }

    /// An alarm that rang here was answered elsewhere: it does not just fall silent.
    fn say_who_answered(&mut self, news: &[KeptLine]) {
        let rang = self.sight.ringing();
        let is_ours = |one: &&KeptLine| {
            let Deed::AlarmAnswered(answered) = &one.line.deed else {
                return false;
            };
            rang.iter().any(|clock| clock.id == answered.clock)
        };
        let house = self.bench.house();
        if let Some(one) = news.iter().rfind(is_ours) {
            let who = name_of(&house.cards.shop.people, &one.line.by);
            let words = format!("{who} {}", tell(&one.line, house.cards));
            self.view.said = Some(Said::Hint(words));
        }
    }

    /// Something was kept: what was worked out from the lines before is worked out anew.
    pub(super) fn forget(&mut self) {
        self.day.forget();
        self.floor = None;
        self.reckoning.lines_changed();
        self.night = Tonight::default();
        self.times = ClockTimes::default();
        self.gates = None;
    }

    /// Returns what is to be drawn.
    pub fn pane(&self) -> Pane<'_> {
        Pane {
            sight: &self.sight,
            view: &self.view,
            look: self.look,
        }
    }

    /// Returns what the screen remembers.
    pub fn view(&self) -> &View {
        &self.view
    }

    /// Takes note of what a drawing left behind.
    pub fn drawn(&mut self, drawn: Drawn) {
        self.view.hidden = drawn.hidden;
        self.view.rows = drawn.rows;
        self.drawn = drawn;
    }

    /// Returns how long nothing changes by itself.
    pub fn wait(&self) -> Option<Duration> {
        let due = self.sight.due(&self.view);
        self.dial
            .wait_for(self.rings_next.map_or(due, |rings| rings.min(due)))
    }

    /// Takes an event; says whether the screen stays open.
    pub fn take(&mut self, event: Event) -> bool {
        let act = match event {
            Event::Key(key) => self.act_of_key(&key),
            Event::Mouse(mouse) => self.act_of_mouse(mouse),
            Event::Pasted(text) => {
                if let Over::Write(write) = &mut self.view.over {
                    write.field.paste(&text);
                }
                None
            }
            Event::Kept => {
                self.follow();
                None
            }
            Event::Reckoned(reckoned) => {
                self.reckoned(reckoned);
                None
            }
            Event::PhotoRead(read) => {
                self.photographs.take(read);
                None
            }
            Event::Resize | Event::Due => None,
            Event::Quit => return false,
        };
        act.is_none_or(|act| self.act(act))
    }

    /// A key that means nothing does nothing, except that any key answers an alarm.
    fn act_of_key(&self, key: &KeyEvent) -> Option<Act> {
        if key.kind == KeyEventKind::Release {
            return None;
        }
        let places = places(&self.view, &self.sight);
        let act = act_for(&places, key);
        let rings = !self.sight.ringing().is_empty() && !places.contains(&Place::Text);
        act.or_else(|| rings.then_some(Act::Next))
    }

    fn act_of_mouse(&self, mouse: MouseEvent) -> Option<Act> {
        match mouse.kind {
            MouseEventKind::ScrollUp => Some(Act::Up),
            MouseEventKind::ScrollDown => Some(Act::Down),
            MouseEventKind::Down(MouseButton::Left) => {
                let at = (mouse.column, mouse.row).into();
                let touched = self.drawn.touches.iter().rev();
                touched
                    .filter(|touch| touch.area.contains(at))
                    .map(|touch| touch.act)
                    .next()
            }
            _ => None,
        }
    }

    fn act(&mut self, act: Act) -> bool {
        // A ringing alarm takes any key first, this one too.
        let is_behind = self.view.fault.is_some();
        if act == Act::WhatNext && self.sight.ringing().is_empty() && !is_behind {
            let house = self.bench.house();
            let whose = (self.view.by.as_str(), self.sight.now);
            let choices = ahead::choices(house, self.bench.unsound(), whose);
            self.view.over = Over::List(choices);
            return true;
        }
        let before = self.view.over.clone();
        match hand::act(&mut self.view, &self.sight, act) {
            Reply::Nothing => true,
            Reply::Leave => false,
            Reply::Ask(intents) => {
                let (now, _) = self.dial.look();
                // One strike takes back all lines of its act.
                let is_struck = |turn: &Self, intent: &Intent| match intent {
                    Intent::Strike { book, line, .. } => turn.bench.house().is_struck(book, *line),
                    _ => false,
                };
                let mut todo = intents.iter();
                let all = todo.all(|intent| is_struck(self, intent) || self.ask(intent, now));
                // What was typed is not lost to a refusal.
                if !all && matches!(before, Over::Write(_) | Over::Air(_)) {
                    self.view.over = before;
                }
                true
            }
        }
    }

    fn ask(&mut self, intent: &Intent, at: DateTime<FixedOffset>) -> bool {
        let moment = self.moment(at);
        match self.bench.act(intent, &moment) {
            Ok(kept) => {
                self.forget();
                self.kept(intent, &kept, at);
                self.note_forecast(intent, at);
                true
            }
            Err(stop) => {
                // Lines of another bench may have been taken in before it was refused.
                self.forget();
                self.ask_why_despite(intent, &stop);
                if self.ask_whether(intent, &stop) {
                    return false;
                }
                // A disk that takes no word hides no clock: reading goes on.
                if let (Intent::Acknowledge, Stop::Trouble(_)) = (intent, &stop) {
                    self.view.excused = Some(self.view.by.clone());
                }
                self.stopped(stop);
                false
            }
        }
    }

    pub(super) fn stopped(&mut self, stop: Stop) {
        match stop {
            Stop::Refused(refusal) => {
                self.view.again = refusal.ask_again;
                self.view.said = Some(Said::Refused(refusal));
            }
            Stop::Trouble(trouble) => {
                self.unkept = true;
                self.view.fault = Some(*trouble);
            }
        }
    }

    /// An act was kept: what was typed for it is done with, and it can be struck.
    fn kept(&mut self, intent: &Intent, kept: &[KeptLine], at: DateTime<FixedOffset>) {
        self.unkept = false;
        if let (Some(first), Some(last)) = (kept.first(), kept.last()) {
            let cards = self.bench.house().cards;
            remember(&last.book, last.line.n, &tell(&last.line, cards));
            // What the hand did stands first; what followed from it comes behind.
            self.view.said = Some(Said::Kept(tell(&first.line, cards)));
        }
        match intent {
            Intent::AnswerAlarm { .. } | Intent::Jumped { .. } => return,
            Intent::Strike { .. } => self.view.last = None,
            _ if kept.is_empty() => {}
            _ => {
                let lines = kept.iter().map(|one| (one.book.clone(), one.line.n));
                self.view.last = Some(Last {
                    lines: lines.collect(),
                    at,
                });
            }
        }
        if let Intent::Begin {
            figure, operation, ..
        }
        | Intent::BeginDespite {
            figure, operation, ..
        } = intent
        {
            self.begun(figure, operation, kept);
        }
        if let Intent::Pick { picked } = intent {
            self.picked(picked);
        }
        let view = &mut self.view;
        view.over = Over::Nothing;
        view.entry.clear();
        view.again = false;
        (view.place, view.skip, view.scroll) = (0, 0, 0);
    }

    /// Takes what was picked to the bench: the walk if it is open, else its figure.
    fn picked(&mut self, picked: &Picked) {
        let house = self.bench.house();
        let job = house
            .figure(&picked.figure)
            .and_then(|it| it.job(&picked.work));
        let open = job.filter(|job| job.state == JobState::Open);
        self.view.work = open.map(|job| job.work.clone());
        self.view.figure = Some(picked.figure.clone());
        self.view.page = Page::Bench;
    }

    /// Takes the job that was begun to the bench, or the open one that goes on.
    fn begun(&mut self, figure: &str, operation: &str, kept: &[KeptLine]) {
        let begun = kept.iter().find_map(|one| match &one.line.deed {
            Deed::Begun(deed) => Some(deed.work.clone()),
            _ => None,
        });
        let open = || {
            offers(self.bench.house(), figure)
                .into_iter()
                .find(|offer| offer.stage == Stage::Open && offer.work.operation == operation)
                .map(|offer| offer.work)
        };
        let work = begun.or_else(open);
        self.view.page = Page::Bench;
        self.view.figure = Some(figure.to_owned());
        self.view.work = work;
    }
}

/// Runs the screen until it is left: looks, draws what changed, waits. Photographs hang on the
/// easel, [`NoEasel`](super::NoEasel) draws them in cells.
///
/// # Errors
/// The backend's, when the terminal cannot be written to.
pub fn go_round<B: Backend>(
    turn: &mut Turn<'_>,
    terminal: &mut Terminal<B>,
    source: &mut dyn Source,
    easel: &mut dyn Easel,
) -> Result<(), B::Error> {
    let mut shown: Option<Buffer> = None;
    loop {
        turn.photographs.fit(easel.cell());
        turn.look();
        let size: Size = terminal.size()?;
        let mut page = Buffer::empty(Rect::new(0, 0, size.width, size.height));
        let mut drawn = turn.pane().draw(page.area, &mut page);
        let hung = turn.hung(&drawn);
        if easel.take_down(size, &hung) {
            terminal.clear()?;
            shown = None;
        }
        if shown.as_ref() != Some(&page) {
            terminal.draw(|frame| {
                let area = frame.area();
                drawn = turn.pane().draw(area, frame.buffer_mut());
            })?;
            shown = Some(page);
        }
        easel.hang(size, hung);
        turn.drawn(drawn);
        if !turn.take(source.next(turn.wait())) {
            return Ok(());
        }
    }
}
