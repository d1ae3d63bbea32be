//! Lines become facts. Replay decides nothing and cannot fail.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Duration, FixedOffset};

use super::facts::{
    Act, AirReading, Clock, CoatKept, Ending, FigureStanding, Job, JobState, Matter, NotedBook,
    OpenMatter, PhotoFact, Reading, RecordKept, ShopStanding, TestKept, TickKept,
};
use super::{Book, Standing, as_written, strike};
use crate::card::ClockName;
use crate::deed::{ClockStart, Deed, Forecasted, Line, Recorded, Stamp, Value, Work};

/// What a caller must do after a line was taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use = "after a struck line the book must be replayed whole"]
pub enum Replayed {
    /// The line counts now.
    Taken,
    /// The line strikes an earlier one: the whole book must be replayed.
    ReplayWhole,
}

/// Picks that are remembered; habits change, and a standing stays small (own choice).
const MOST_PICKS: usize = 300;

/// Days before the newest forecast whose forecasts are remembered: a page looks back over a
/// week, Monday to Sunday, and one day more covers every offset of a zone (own choice).
const FORECAST_DAYS: i64 = 8;

impl Standing {
    /// Takes one more line of a book in.
    ///
    /// The standing equals the one replayed from the whole file, except after a struck line,
    /// which takes an earlier one out: then [`Replayed::ReplayWhole`] comes back and the
    /// caller replays the book with [`Standing::replay_all`].
    pub fn replay(&mut self, book: &Book, line: &Line) -> Replayed {
        if matches!(line.deed, Deed::Struck(_)) {
            return Replayed::ReplayWhole;
        }
        self.take(book, line);
        Replayed::Taken
    }

    /// Replays a whole book from its lines, in place of what stood for it before.
    pub fn replay_all(&mut self, book: &Book, lines: &[Line]) {
        match book {
            Book::Shop => self.shop = ShopStanding::default(),
            Book::Figure(id) => {
                self.figures.insert(id.clone(), Arc::default());
            }
        }
        let corrections: BTreeSet<(u64, u64)> = lines
            .iter()
            .filter_map(|line| match &line.deed {
                Deed::Struck(struck) => Some((line.n, struck.line)),
                _ => None,
            })
            .collect();
        let struck: BTreeSet<u64> = corrections.iter().map(|(_, line)| *line).collect();
        for line in lines {
            if struck.contains(&line.n) || matches!(line.deed, Deed::Struck(_)) {
                self.count(book, line.n);
            } else {
                self.take(book, line);
            }
        }
        match book {
            Book::Shop => self.shop.struck = corrections,
            Book::Figure(id) => self.own(id).struck = corrections,
        }
    }

    fn count(&mut self, book: &Book, n: u64) {
        match book {
            Book::Shop => self.shop.last_n = n,
            Book::Figure(id) => self.own(id).last_n = n,
        }
    }

    fn take(&mut self, book: &Book, line: &Line) {
        match book {
            Book::Shop => self.shop.take(line),
            Book::Figure(id) => self.own(id).take(line),
        }
    }

    /// Returns the standing of a figure, to be changed: parted from whoever shares it.
    fn own(&mut self, id: &str) -> &mut FigureStanding {
        Arc::make_mut(self.figures.entry(id.to_owned()).or_default())
    }
}

impl ShopStanding {
    fn hear_books(
        &mut self,
        (books, seals): (&BTreeMap<String, u64>, &BTreeMap<String, String>),
        line: &Line,
    ) {
        for (figure, n) in books {
            let noted = NotedBook {
                lines: *n,
                seal: seals.get(figure).cloned().unwrap_or_default(),
                stamp: line.stamp(),
            };
            if noted.says_more_than(self.books.get(figure)) {
                self.books.insert(figure.clone(), noted);
            }
        }
        self.noted_last = books.keys().cloned().collect();
    }

    fn take(&mut self, line: &Line) {
        self.last_n = line.n;
        match &line.deed {
            Deed::DayOpened(deed) => {
                self.day = Some(line.stamp());
                self.present.clone_from(&deed.present);
                self.hear_books((&deed.books, &deed.seals), line);
            }
            Deed::DayClosed(deed) => {
                self.day = None;
                self.present.clear();
                self.hear_books((&deed.books, &deed.seals), line);
            }
            Deed::Air(deed) => {
                let reading = AirReading {
                    at: line.at,
                    temp_c: deed.temp_c,
                    humidity_percent: deed.humidity_percent,
                };
                self.hear_air(&deed.room, reading);
            }
            Deed::Fan(deed) => {
                let log = self.fans.entry(deed.room.clone()).or_default();
                // A switch entered later counts from when the hand was on it.
                let place = log.partition_point(|(at, _)| *at <= line.at);
                log.insert(place, (line.at, deed.on));
            }
            Deed::LotOpened(deed) => self.lots.push((deed.clone(), line.stamp())),
            Deed::LotDecanted(deed) => self.decanted.push((deed.clone(), line.stamp())),
            Deed::LotTrusted(deed) => {
                let (material, lot) = (deed.material.clone(), deed.lot.clone());
                self.trusted.push((material, lot, line.stamp()));
            }
            Deed::Acknowledged(deed) => {
                self.acknowledged
                    .insert((line.by.clone(), deed.said.clone()));
            }
            Deed::ClockJumped(deed) => self.jumps.push((deed.by_s, line.stamp())),
            Deed::Forecasted(deed) => self.take_forecast(deed, line.stamp()),
            Deed::Picked(deed) => {
                if MOST_PICKS <= self.picks.len() {
                    self.picks.remove(0);
                }
                self.picks.push((deed.clone(), line.stamp()));
            }
            Deed::Unknown(unknown) => self.unknown.push((line.n, unknown.tag.clone())),
            _ => {}
        }
    }
}

/// Puts something that was taken at a moment behind all that was taken before it: what is
/// entered later belongs where it was taken.
fn put_in<T>(all: &mut Vec<T>, one: T, at: impl Fn(&T) -> DateTime<FixedOffset>) {
    let before = all.iter().rposition(|kept| at(kept) <= at(&one));
    all.insert(before.map_or(0, |place| place + 1), one);
}

impl ShopStanding {
    /// Takes in a reading of a room's air.
    pub(super) fn hear_air(&mut self, room: &str, reading: AirReading) {
        let log = self.air.entry(room.to_owned()).or_default();
        put_in(log, reading, |kept| kept.at);
    }

    /// Keeps a forecast, those of the days before it that a page may look back on, and the last
    /// one before these.
    fn take_forecast(&mut self, deed: &Forecasted, stamp: Stamp) {
        let since = stamp.at - Duration::days(FORECAST_DAYS);
        let older = self.forecasts.iter().rposition(|(_, it)| it.at < since);
        self.forecasts.drain(..older.unwrap_or(0));
        self.forecasts.push((deed.clone(), stamp));
    }
}

impl Act {
    /// Takes in a word of a test.
    pub(super) fn hear_test(&mut self, test: TestKept) {
        put_in(&mut self.tests, test, |kept| kept.stamp.at);
    }
}

impl Clock {
    /// Takes in a temperature of the cup's wall: the warmest counts, since no cup wins back
    /// what heat has taken from it.
    pub(super) fn hear_wall(&mut self, wall_c: f64) {
        self.wall_c = Some(self.wall_c.map_or(wall_c, |warmest| warmest.max(wall_c)));
    }
}

impl FigureStanding {
    /// Takes in a reading.
    pub(super) fn hear_reading(&mut self, reading: Reading) {
        put_in(&mut self.readings, reading, |kept| kept.stamp.at);
    }

    fn take(&mut self, line: &Line) {
        let stamp = line.stamp();
        self.take_last(&line.deed, &stamp);
        match &line.deed {
            Deed::Begun(_)
            | Deed::SentBack(_)
            | Deed::Finished(_)
            | Deed::Reread(_)
            | Deed::Resumed(_) => self.take_course(&line.deed, stamp),
            Deed::Ticked(_) | Deed::Recorded(_) | Deed::Done(_) | Deed::Tested(_) => {
                self.take_step(&line.deed, stamp);
            }
            Deed::Planned(_) | Deed::Poured(_) | Deed::Mixed(_) | Deed::Discarded(_) => {
                self.take_mix(&line.deed, &stamp);
            }
            Deed::ClockEnded(deed) => {
                let ended = self.clocks.iter().find(|clock| clock.id == deed.clock);
                let work = ended.map(|clock| clock.work.clone());
                self.hear_end(&deed.clock, &deed.how, &stamp);
                self.end_clock(&deed.clock, &deed.how, stamp.clone());
                if let Some(work) = work {
                    self.start_clocks(&work, (&deed.starts, &[]), &stamp);
                }
            }
            Deed::CupRead(deed) => {
                let cup = self.clocks.iter_mut().find(|clock| clock.id == deed.clock);
                if let Some(cup) = cup {
                    cup.hear_wall(deed.wall_c);
                }
            }
            Deed::AlarmAnswered(deed) => {
                if let Some(clock) = self.clocks.iter_mut().find(|clock| clock.id == deed.clock) {
                    clock.answered.push((deed.mark_percent, stamp));
                }
            }
            Deed::AlarmPutOff(deed) => {
                if let Some(clock) = self.clocks.iter_mut().find(|clock| clock.id == deed.clock) {
                    clock.put_off = Some((deed.mark_percent, deed.until, stamp));
                }
            }
            Deed::GateSaid(_)
            | Deed::Overruled(_)
            | Deed::Deviated(_)
            | Deed::Answered(_)
            | Deed::Signed(_)
            | Deed::ShownAgain(_)
            | Deed::PutRight(_)
            | Deed::Asked(_) => self.take_gate(&line.deed, stamp),
            Deed::Moved(deed) => self.room = Some(deed.room.clone()),
            Deed::PhotoKept(deed) => self.photos.push(PhotoFact {
                photo: deed.clone(),
                stamp,
            }),
            Deed::LayerRead(deed) => self.layers.push((deed.clone(), stamp)),
            Deed::LayersTied(deed) => self.ties.push((deed.clone(), stamp)),
            Deed::ChipRead(deed) => self.chips.push((deed.clone(), stamp)),
            Deed::Unknown(unknown) => self.unknown.push((line.n, unknown.tag.clone())),
            _ => {}
        }
    }

    /// Keeps what the last act was: the lines of one moment that `decide` writes together.
    fn take_last(&mut self, deed: &Deed, stamp: &Stamp) {
        let with_last = self.last.as_ref().is_some_and(|last| {
            last.n.checked_add(1) == Some(stamp.n)
                && last.at == stamp.at
                && last.by == stamp.by
                && strike::goes_with(self.ending, deed)
        });
        if !with_last {
            self.act_from = stamp.n;
        }
        self.ending = Ending::of(deed);
        self.last_n = stamp.n;
        self.last = Some(stamp.clone());
    }

    fn take_course(&mut self, deed: &Deed, stamp: Stamp) {
        match deed {
            Deed::Begun(deed) => {
                self.job_for(&deed.work, &stamp);
                let noted = deed.shop.as_ref().map(|end| NotedBook {
                    lines: end.n,
                    seal: end.seal.clone(),
                    stamp,
                });
                if let Some(noted) = noted.filter(|it| it.says_more_than(self.shop.as_ref())) {
                    self.shop = Some(noted);
                }
            }
            Deed::SentBack(deed) => {
                self.end_all(&deed.work, &deed.why, &stamp);
                let job = self.job_for(&deed.work, &stamp);
                job.state = JobState::SentBack {
                    stamp,
                    back_to: deed.back_to.clone(),
                    why: deed.why.clone(),
                };
            }
            Deed::Reread(deed) => {
                // A step behind the one in front comes to the front with it.
                let act = self.act_for(&deed.work, &deed.step, &stamp);
                act.records.clear();
                act.done = None;
            }
            Deed::Resumed(deed) => {
                let act = self.act_for(&deed.work, &deed.step, &stamp);
                act.resumed.push(stamp.clone());
            }
            Deed::Finished(deed) => {
                self.end_windows(&deed.work, &stamp);
                let job = self.job_for(&deed.work, &stamp);
                job.state = JobState::Finished(stamp);
            }
            _ => {}
        }
    }

    fn take_step(&mut self, deed: &Deed, stamp: Stamp) {
        match deed {
            Deed::Ticked(deed) => {
                let tick = TickKept {
                    kind: deed.kind,
                    said: deed.said.as_str().into(),
                    stamp: stamp.clone(),
                };
                self.act_for(&deed.work, &deed.step, &stamp)
                    .ticks
                    .push(tick);
            }
            Deed::Recorded(deed) => self.take_record(deed, stamp),
            Deed::Tested(deed) => {
                let test = TestKept {
                    place: deed.place.clone(),
                    word: deed.word.clone(),
                    stamp: stamp.clone(),
                };
                self.hear(deed, stamp.at);
                self.act_for(&deed.work, &deed.step, &stamp).hear_test(test);
            }
            Deed::Done(deed) => {
                self.act_for(&deed.work, &deed.step, &stamp).done = Some(stamp.clone());
                for name in &deed.ends {
                    let running: Vec<String> = self
                        .clocks
                        .iter()
                        .filter(|clock| {
                            clock.clock == *name
                                && clock.ended.is_none()
                                && clock.work.target == deed.work.target
                        })
                        .map(|clock| clock.id.clone())
                        .collect();
                    for id in running {
                        self.end_clock(&id, &deed.step, stamp.clone());
                    }
                }
                // A new coat ends the window below it before it opens its own.
                let lots = self.lots_of(deed);
                self.start_clocks(&deed.work, (&deed.starts, &lots), &stamp);
                if let Some(coat) = &deed.coat {
                    self.coats.push(CoatKept {
                        work: deed.work.clone(),
                        coat: coat.clone(),
                        stamp,
                    });
                }
            }
            _ => {}
        }
    }

    fn take_record(&mut self, deed: &Recorded, stamp: Stamp) {
        let kept = RecordKept {
            record: deed.record.as_str().into(),
            station: deed.station.clone(),
            value: deed.value.clone(),
            stamp: stamp.clone(),
        };
        let act = self.act_for(&deed.work, &deed.step, &stamp);
        put_in(&mut act.records, kept, |kept| kept.stamp.at);
        if let (Some(measure), Value::Number(value)) = (deed.measure, &deed.value) {
            self.hear_reading(Reading {
                work: deed.work.clone(),
                measure,
                station: deed.station.clone(),
                value: *value,
                stamp,
            });
        }
    }

    fn take_gate(&mut self, deed: &Deed, stamp: Stamp) {
        match deed {
            Deed::GateSaid(deed) => {
                let said = (deed.gate, stamp.clone());
                self.act_for(&deed.work, &deed.step, &stamp)
                    .vouched
                    .push(said);
            }
            Deed::Overruled(deed) => {
                let over = (deed.gate, stamp.clone());
                let act = self.act_for(&deed.work, &deed.step, &stamp);
                if deed.second.is_some() {
                    act.seconded.push(over.clone());
                }
                act.overruled.push(over);
                let what = format!("{}: {}", deed.verdict, deed.why);
                self.open(Matter::Overrule(deed.gate), Some(&deed.work), what, stamp);
                if let Some(open) = self.matters.last_mut() {
                    open.second.clone_from(&deed.second);
                }
            }
            Deed::Deviated(deed) => {
                self.open(
                    Matter::Deviation(deed.kind),
                    Some(&deed.work),
                    deed.what.clone(),
                    stamp,
                );
            }
            Deed::Asked(deed) => self.open(Matter::Question, None, deed.text.clone(), stamp),
            Deed::Answered(deed) => {
                if let Some(open) = self.matter_in(deed.line) {
                    open.answer = Some((deed.accepted, deed.why.clone(), stamp));
                    open.again = open.again.take().filter(|_| deed.accepted);
                }
                if !deed.accepted {
                    self.shut_again(deed.line);
                }
            }
            Deed::Signed(deed) => {
                let act = self.act_for(&deed.work, &deed.step, &stamp);
                act.signed = Some((deed.accepted, stamp.clone()));
                if deed.accepted {
                    act.done = Some(stamp.clone());
                    self.settle_refused(&deed.work, &stamp);
                } else {
                    let what = format!("{}: {}", deed.said, deed.why);
                    self.open(Matter::HoldRefused, Some(&deed.work), what, stamp);
                }
            }
            Deed::ShownAgain(deed) => {
                let mut refused = self.matters.iter_mut().rev();
                let here = |open: &&mut OpenMatter| {
                    open.matter == Matter::HoldRefused && open.work.as_ref() == Some(&deed.work)
                };
                if let Some(open) = refused.find(here) {
                    open.again = Some((deed.said.clone(), stamp));
                }
            }
            Deed::PutRight(deed) => {
                if let Some(open) = self.matter_in(deed.line) {
                    open.again = Some((deed.said.clone(), stamp));
                }
            }
            _ => {}
        }
    }

    /// What waits, or waited, for an answer in a line.
    fn matter_in(&mut self, line: u64) -> Option<&mut OpenMatter> {
        self.matters.iter_mut().find(|open| open.stamp.n == line)
    }

    /// A hold point that is signed after all settles what was refused there before.
    fn settle_refused(&mut self, work: &Work, stamp: &Stamp) {
        for open in &mut self.matters {
            let here = open.matter == Matter::HoldRefused && open.work.as_ref() == Some(work);
            if here && !open.is_accepted() {
                open.answer = Some((true, "signed".to_owned(), stamp.clone()));
            }
        }
    }

    /// A gate whose overruling was not accepted counts as overruled no more.
    fn shut_again(&mut self, line: u64) {
        let acts = self.jobs.iter_mut().flat_map(|job| job.acts.values_mut());
        for act in acts {
            act.overruled.retain(|(_, stamp)| stamp.n != line);
            act.seconded.retain(|(_, stamp)| stamp.n != line);
        }
    }

    fn open(&mut self, matter: Matter, work: Option<&Work>, what: String, stamp: Stamp) {
        self.matters.push(OpenMatter {
            stamp,
            matter,
            work: work.cloned(),
            what,
            answer: None,
            again: None,
            second: None,
        });
    }

    pub(super) fn start_clocks(
        &mut self,
        work: &Work,
        (starts, lots): (&[ClockStart], &[String]),
        stamp: &Stamp,
    ) {
        for start in starts {
            let name = as_written(start.clock);
            self.clocks.push(Clock {
                id: format!("{}.{name}", stamp.n),
                clock: start.clock,
                about: start.about.clone(),
                work: work.clone(),
                rule: start.rule.clone(),
                started: stamp.clone(),
                ended: None,
                answered: Vec::new(),
                put_off: None,
                lots: lots.to_vec(),
                words: Vec::new(),
                wall_c: None,
            });
        }
    }

    /// A walk that turns back ends what it started, but for the cup that must still grow cold
    /// and the gloves on the hands.
    fn end_all(&mut self, work: &Work, how: &str, stamp: &Stamp) {
        let kept_on = [ClockName::Leftover, ClockName::Glove, ClockName::Purge];
        for clock in self.clocks.iter_mut().filter(|clock| clock.work == *work) {
            if clock.ended.is_none() && !kept_on.contains(&clock.clock) {
                clock.ended = Some((how.to_owned(), stamp.clone()));
            }
        }
    }

    /// A finished walk has nothing more to lay: its recoat window rings no more. The gate of
    /// the next coat still looks at it.
    fn end_windows(&mut self, work: &Work, stamp: &Stamp) {
        for clock in self.clocks.iter_mut().filter(|clock| clock.work == *work) {
            if clock.clock == ClockName::Recoat && clock.ended.is_none() {
                clock.ended = Some(("finished".to_owned(), stamp.clone()));
            }
        }
    }

    fn end_clock(&mut self, id: &str, how: &str, stamp: Stamp) {
        if let Some(clock) = self.clocks.iter_mut().find(|clock| clock.id == id) {
            clock.ended.get_or_insert((how.to_owned(), stamp));
        }
    }

    /// Returns the job of a work; a line about a job that was never begun begins it.
    pub(super) fn job_for(&mut self, work: &Work, stamp: &Stamp) -> &mut Job {
        let place = self.jobs.iter().rposition(|job| job.work == *work);
        let place = place.unwrap_or_else(|| {
            self.jobs.push(Job {
                work: work.clone(),
                begun: stamp.clone(),
                acts: std::collections::BTreeMap::new(),
                state: JobState::Open,
            });
            self.jobs.len() - 1
        });
        #[expect(
            clippy::indexing_slicing,
            reason = "the place was found or made just above"
        )]
        &mut self.jobs[place]
    }

    pub(super) fn act_for(&mut self, work: &Work, step: &str, stamp: &Stamp) -> &mut Act {
        self.job_for(work, stamp)
            .acts
            .entry(step.into())
            .or_default()
    }
}
