//! What to do with the time at hand: windows that close come first, then hands that fit the
//! time, the air and the person's marks, by how near the promise is. Three choices at most,
//! each with its reasons and what is lost without it; a person picks, and what they picked
//! before settles what nothing else does.
//!
//! Source of the order: earliest deadline first among what closes (C. Liu, J. Layland,
//! Scheduling algorithms for multiprogramming in a hard-real-time environment, Journal of the
//! ACM 20, 1973); the rest is own judgement.

use std::cell::RefCell;
use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::ahead::Sittings;
use super::asked::{asked, question_words, said_of};
use super::hours::{presence, presence_ahead, whole};
use super::later::{Later, comes_next};
use super::lay_tonight::{LayTonight, lay_tonight};
use super::picks::Habits;
use super::refused::{REFUSED, puts_right, show_again, to_put_right};
use super::shut::{GATE_MIN, keeps_shut, many, shut_at, shut_before, shut_words};
use crate::card::{Checklist, ClockName, GateKind, Mark};
use crate::deed::Work;
use crate::reckon::counted;
use crate::standing::{
    Ask, ClockState, ClockView, House, Offer, OpenMatter, Prompt, Stage, air_conflicts,
    clock_views, flaws_of, hours_between, offers, openers, prompt,
};

/// How many choices are given (own choice: more is a list, not an answer).
pub(super) const CHOICES: usize = 3;

/// A test or a signature takes so long, minutes (own judgement).
pub(super) const LOOK_MIN: f64 = 10.0;

/// A window that closes later than this after the time at hand does not press yet, hours (own
/// judgement: the next chance is tomorrow at the same hour); one that closes before the doors of
/// the next day do presses anyway.
const PRESSES_H: f64 = 24.0;

/// Of work that is longer than the time at hand and has something that dies within it.
const LONGER: &str = "longer than the time at hand: see to what closes, or hand it over";

/// Why a signature comes first.
const SIGNATURE: &str = "waits for a signature";

/// What is asked.
#[derive(Debug, Clone, Copy, Default)]
pub struct NextAsk<'a> {
    /// Who asks; anybody's work without it.
    pub by: Option<&'a str>,
    /// Minutes at hand, of which those count until the doors close; all of these without it.
    pub minutes: Option<f64>,
    /// Figures whose journal is not sound: nothing of them is offered.
    pub damaged: &'a [String],
}

/// Returns why work on a figure is held back, by figure: its card has a flaw, so that nothing new
/// is begun on it, or its journal is not sound; `damaged` says what of those.
pub fn held_back(
    house: House<'_>,
    damaged: impl IntoIterator<Item = (String, String)>,
) -> BTreeMap<String, String> {
    let flawed = house.cards.flawed.figures.iter();
    let flawed = flawed.map(|(figure, flaw)| (figure.clone(), flaw.told()));
    flawed.chain(damaged).collect()
}

/// Something to do now.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Figure id.
    pub figure: String,
    /// The walk.
    pub work: Work,
    /// Whether it is being walked already.
    pub open: bool,
    /// The one action in front.
    pub act: String,
    /// Likely minutes of this sitting.
    pub minutes: f64,
    /// Why now, most important first.
    pub why: Vec<String>,
    /// What is lost if it is left.
    pub lost: String,
}

/// Something that could be done, with what makes it come first.
struct Candidate {
    choice: Choice,
    /// A question about it is open or was answered in these days: that is read first, and other
    /// work comes before it. Material that is laid waits for no answer.
    is_asked: bool,
    /// When its window closes, where that presses.
    closes: Option<DateTime<FixedOffset>>,
    /// The ruler finds no hour of tonight for its size: only its ground can be made ready.
    no_hour: bool,
    /// Walks left to each day left of the promise.
    pressure: f64,
    /// The hand was on this figure last.
    at_hand: bool,
}

/// Returns what to do now, best first; empty when nothing fits.
pub fn next(house: House<'_>, ask: &NextAsk<'_>, now: DateTime<FixedOffset>) -> Vec<Choice> {
    let look = Look::of(house, ask, now);
    choices(&look, &offered(house, ask))
}

/// As [`next`], and what comes next beside it.
pub fn next_and_later(
    house: House<'_>,
    ask: &NextAsk<'_>,
    now: DateTime<FixedOffset>,
) -> (Vec<Choice>, Vec<Later>) {
    let (look, offered) = (Look::of(house, ask, now), offered(house, ask));
    let choices = choices(&look, &offered);
    let later = comes_next(&look, &offered, &choices);
    (choices, later)
}

/// What could be worked on, figure by figure; nothing of one whose journal is not sound.
fn offered<'a>(house: House<'a>, ask: &NextAsk<'_>) -> Vec<(&'a str, Vec<Offer>)> {
    let figures = house.cards.figures.keys();
    let sound = figures.filter(|figure| !ask.damaged.contains(figure));
    let offered = sound.map(|figure| (figure.as_str(), offers(house, figure)));
    offered.collect()
}

fn choices(look: &Look<'_>, offered: &[(&str, Vec<Offer>)]) -> Vec<Choice> {
    let figures = offered.iter();
    let mut all: Vec<Candidate> = figures
        .flat_map(|(figure, offers)| look.of_figure(figure, offers))
        .collect();
    all.sort_by(|a, b| {
        let habit = |it: &Candidate| look.habits.share(&it.choice.work.operation);
        let closes = |it: &Candidate| it.closes.map_or(i64::MAX, |at| at.timestamp());
        a.is_asked
            .cmp(&b.is_asked)
            .then(a.no_hour.cmp(&b.no_hour))
            .then_with(|| closes(a).cmp(&closes(b)))
            .then(b.choice.open.cmp(&a.choice.open))
            .then(b.pressure.total_cmp(&a.pressure))
            .then_with(|| habit(b).total_cmp(&habit(a)))
            .then(b.at_hand.cmp(&a.at_hand))
            .then_with(|| a.choice.figure.cmp(&b.choice.figure))
    });
    let mut choices: Vec<(Choice, Vec<f64>)> = Vec::new();
    for candidate in all {
        let choice = candidate.choice;
        // The same work on another part is no other choice.
        let same = choices.iter_mut().find(|(it, _)| {
            it.figure == choice.figure
                && it.work.operation == choice.work.operation
                && !puts_right(it)
                && !puts_right(&choice)
        });
        match same {
            Some((_, more)) => more.push(choice.minutes),
            None => choices.push((choice, Vec::new())),
        }
    }
    let first = choices.into_iter().take(CHOICES);
    let told = first.map(|(mut choice, more)| {
        if !more.is_empty() {
            let all = choice.minutes + more.iter().sum::<f64>();
            let parts = counted(more.len(), "more part");
            choice
                .why
                .push(format!("the same on {parts}, about {all:.0} min in all"));
        }
        choice
    });
    told.collect()
}

/// Minutes until the doors close; a whole day where they are shut now.
fn until_closing(house: House<'_>, now: DateTime<FixedOffset>) -> f64 {
    let there = presence(&house.cards.shop, now, *now.offset());
    let today = there.first().filter(|span| span.from <= now);
    today.map_or(24.0 * 60.0, |span| hours_between(now, span.to).0 * 60.0)
}

/// The shop as who asks sees it, with what is worked out once for all figures.
pub(super) struct Look<'a> {
    pub(super) house: House<'a>,
    pub(super) now: DateTime<FixedOffset>,
    by: Option<&'a str>,
    minutes: f64,
    pub(super) clocks: Vec<ClockView>,
    sittings: Sittings<'a>,
    habits: Habits,
    /// Whether an operation shares the air of a room, by both; what was asked once is known.
    airs: RefCell<BTreeMap<(String, String), bool>>,
    /// What the ruler of the night says, by figure and work, in the same way.
    nights: RefCell<BTreeMap<(String, Work), Option<LayTonight>>>,
}

impl<'a> Look<'a> {
    pub(super) fn of(house: House<'a>, ask: &NextAsk<'a>, now: DateTime<FixedOffset>) -> Self {
        Self {
            house,
            now,
            by: ask.by,
            minutes: until_closing(house, now).min(ask.minutes.unwrap_or(f64::INFINITY)),
            clocks: clock_views(house, now),
            sittings: Sittings::of(house, now),
            habits: Habits::of(house, ask.by),
            airs: RefCell::default(),
            nights: RefCell::default(),
        }
    }
}

impl Look<'_> {
    fn of_figure(&self, figure: &str, offers: &[Offer]) -> Vec<Candidate> {
        let left = offers.iter().filter(|it| it.stage.is_ahead()).count();
        let promised = self
            .house
            .cards
            .figures
            .get(figure)
            .and_then(|card| card.promised);
        let pressure = self.pressure(promised, left);
        let promise = (promised, left, pressure);
        let mut found: Vec<Candidate> = offers
            .iter()
            .filter_map(|offer| self.candidate(figure, offer, promise))
            .collect();
        let mut refused = to_put_right(self.house, figure, self.by);
        refused.retain(|refused| found.iter().all(|it| it.choice.work != refused.work));
        found.extend(refused.into_iter().map(|choice| Candidate {
            is_asked: false,
            closes: None,
            no_hour: false,
            pressure,
            at_hand: self.was_at(figure),
            choice,
        }));
        found
    }

    /// What could be done of an offer in the time at hand. `promised` is the day of the promise,
    /// the jobs left, and how much that presses.
    fn candidate(
        &self,
        figure: &str,
        offer: &Offer,
        (promised, left, pressure): (Option<NaiveDate>, usize, f64),
    ) -> Option<Candidate> {
        let list = self.house.cards.checklists.get(&offer.work.operation)?;
        let flaws = flaws_of(self.house, figure, Some(&offer.work));
        let mut choice = match offer.stage {
            // What runs is finished, but not by a list of which a part could not be read.
            _ if self.house.cards.flawed.checklists.contains_key(&list.id) => None,
            Stage::Next if !flaws.is_empty() => None,
            Stage::Open => self.open(figure, &offer.work, list),
            Stage::Next => self.begin_or_open(figure, &offer.work, list),
            _ => None,
        }?;
        let work = choice.work.clone();
        let closing = self.closing(figure, &work);
        let fits = choice.minutes <= self.minutes;
        // What dies within the time at hand is seen to, however long the rest of it takes.
        let closes = closing.and_then(|view| view.closes);
        let dies = choice.open && closes.is_some_and(|at| self.until(at) <= self.minutes);
        if !fits && !dies {
            return None;
        }
        if !fits {
            choice.why.insert(0, LONGER.to_owned());
        }
        let size = self.lay_tonight(figure, &work);
        let first = size.as_ref().and_then(|size| size.first);
        if first.is_some_and(|first| self.until(first) + choice.minutes > self.minutes) {
            return None;
        }
        self.tell(&mut choice, closing, (promised, left));
        let lay_until = size.as_ref().and_then(|size| size.last);
        let no_hour = size.as_ref().is_some_and(|size| size.last.is_none());
        if let (Some(until), None) = (lay_until, closing) {
            let hour = until.format("%a %H:%M");
            choice.lost = format!("after {hour} its size waits for another night");
        }
        choice
            .why
            .splice(0..0, size.into_iter().flat_map(|size| size.words));
        Some(Candidate {
            is_asked: self.read_first(&mut choice, closing.is_some()),
            closes: closes.or(lay_until),
            no_hour,
            pressure,
            at_hand: self.was_at(figure),
            choice,
        })
    }

    /// Puts in front what is read before the hand goes on: what was refused in the work, and the
    /// questions about it; says whether other work comes before it.
    fn read_first(&self, choice: &mut Choice, closes: bool) -> bool {
        let here = (choice.figure.as_str(), &choice.work);
        let asked: Vec<&OpenMatter> = asked(self.house, here, self.now).collect();
        let said = said_of(self.house, here, self.now).into_iter();
        let refused = said.filter(|open| open.refusal().is_some());
        let refused: Vec<String> = refused.map(OpenMatter::told).collect();
        let is_asked = !asked.is_empty() && !closes;
        if is_asked && asked.iter().all(|open| open.answer.is_some()) {
            "nothing closes; do as its answer says".clone_into(&mut choice.lost);
        }
        let asked: Vec<String> = asked.into_iter().map(question_words).collect();
        choice.why.splice(0..0, refused.into_iter().chain(asked));
        is_asked
    }

    /// Minutes from now until a moment.
    fn until(&self, at: DateTime<FixedOffset>) -> f64 {
        hours_between(self.now, at).0 * 60.0
    }

    fn pressure(&self, promised: Option<NaiveDate>, left: usize) -> f64 {
        let left = f64::from(u32::try_from(left).unwrap_or(u32::MAX));
        promised.map_or(0.0, |day| {
            let days = (day - self.now.date_naive()).num_days().max(1);
            left / f64::from(i32::try_from(days).unwrap_or(i32::MAX))
        })
    }

    pub(super) fn may(&self, mark: Mark) -> bool {
        let people = &self.house.cards.shop.people;
        mark == Mark::Any
            || self.by.is_none_or(|by| {
                let me = people.iter().find(|person| person.id == by);
                me.is_some_and(|person| person.marks.contains(&mark))
            })
    }

    fn was_at(&self, figure: &str) -> bool {
        let last = self.house.figure(figure).and_then(|it| it.last.as_ref());
        last.is_some_and(|last| Some(last.by.as_str()) == self.by)
    }

    /// A walk that is open, if hands can go on with it now.
    fn open(&self, figure: &str, work: &Work, list: &Checklist) -> Option<Choice> {
        let front = prompt(self.house, figure, work, self.now)?;
        if let Ask::Hold {
            refused: Some(refused),
            ..
        } = &front.ask
            && refused.again.is_none()
        {
            // It is for the hands that showed it.
            let is_mine = |by: &str| front.hands.iter().any(|hand| hand == by);
            let is_mine = self.by.is_none_or(is_mine);
            return is_mine.then(|| show_again(figure, work, refused));
        }
        let signs = matches!(&front.ask, Ask::Hold { may_sign, .. }
            if self.by.is_none_or(|by| may_sign.iter().any(|it| it == by)));
        if !signs && (!self.may(list.trade) || !self.can_go_on(&front)) {
            return None;
        }
        let shut = shut_at(self.house, (figure, work), &front, self.now);
        if shut.iter().any(keeps_shut) {
            return None;
        }
        let short = signs || matches!(front.ask, Ask::Test { .. });
        let minutes = if short {
            LOOK_MIN
        } else {
            self.sittings.first(figure, work).unwrap_or(LOOK_MIN)
        };
        let minutes = minutes + GATE_MIN * many(&shut);
        let mut why = vec![format!("open: {}", list.title)];
        if !shut.is_empty() {
            why.insert(0, shut_words(&shut));
        }
        if signs {
            why.insert(0, SIGNATURE.to_owned());
        }
        Some(Choice {
            figure: figure.to_owned(),
            work: work.clone(),
            open: true,
            act: front.act,
            minutes,
            why,
            lost: String::new(),
        })
    }

    fn can_go_on(&self, front: &Prompt) -> bool {
        match &front.ask {
            Ask::Gate(verdict) => !keeps_shut(verdict),
            Ask::Wait { ready, .. } => *ready,
            Ask::Test { clocks, .. } => clocks.is_empty() || clocks.iter().any(|it| self.comes(it)),
            Ask::Hold { .. } | Ask::Finished { .. } | Ask::SentBack { .. } => false,
            _ => true,
        }
    }

    /// Whether a clock has come, or comes within the time at hand.
    fn comes(&self, view: &ClockView) -> bool {
        let at = view.likely.or(view.opens);
        let hand = Duration::minutes(whole(self.minutes));
        view.state != ClockState::Frozen && at.is_none_or(|at| at <= self.now + hand)
    }

    /// A walk that could be begun; where a gate keeps it shut that another operation opens, that
    /// one, unless it runs already.
    fn begin_or_open(&self, figure: &str, work: &Work, list: &Checklist) -> Option<Choice> {
        let begun = || self.may(list.trade).then(|| self.begin(figure, work, list));
        begun()
            .flatten()
            .or_else(|| self.opener(figure, work, list))
    }

    fn opener(&self, figure: &str, work: &Work, list: &Checklist) -> Option<Choice> {
        let standing = self.house.figure(figure);
        let is_open = |work: &Work| standing.is_some_and(|it| it.job(work).is_some());
        let openers = openers(self.house, figure, work, self.now).into_iter();
        let mut walks = openers.flat_map(|it| {
            it.works
                .into_iter()
                .map(move |by| (by, it.gate.why.clone()))
        });
        walks.find_map(|(by, why)| {
            let own = self.house.cards.checklists.get(&by.operation)?;
            let is_sound = flaws_of(self.house, figure, Some(&by)).is_empty()
                && !self.house.cards.flawed.checklists.contains_key(&own.id);
            let free = is_sound && !is_open(&by) && self.may(own.trade);
            let mut choice = free.then(|| self.begin(figure, &by, own)).flatten()?;
            choice.why = vec![format!("opens {}, shut: {why}", list.title)];
            Some(choice)
        })
    }

    /// A walk that could be begun: its gates are open or a hand opens them, and nothing in its
    /// air harms it.
    fn begin(&self, figure: &str, work: &Work, list: &Checklist) -> Option<Choice> {
        let shut = shut_before(self.house, (figure, work), self.now);
        if shut.iter().any(keeps_shut) {
            return None;
        }
        let gates = if shut.is_empty() {
            "its gates open".to_owned()
        } else {
            shut_words(&shut)
        };
        if !self.shares_air(figure, &work.operation) {
            return None;
        }
        let minutes = self.sittings.first(figure, work).unwrap_or(LOOK_MIN);
        let minutes = minutes + GATE_MIN * many(&shut);
        Some(Choice {
            figure: figure.to_owned(),
            work: work.clone(),
            open: false,
            act: format!("Begin {}", list.title),
            minutes,
            why: vec![format!("next on its route, {gates}")],
            lost: String::new(),
        })
    }

    /// Whether nothing in the air where a figure stands harms an operation, or is harmed by it: the
    /// same for all that stands there.
    fn shares_air(&self, figure: &str, operation: &str) -> bool {
        let room = self.house.room_of(figure).to_owned();
        let mut airs = self.airs.borrow_mut();
        let known = airs.entry((room, operation.to_owned()));
        let met = || air_conflicts(self.house, figure, operation, self.now);
        *known.or_insert_with(|| met().is_empty())
    }

    /// What the ruler of the night says of the panel of a work, asked for once.
    pub(super) fn lay_tonight(&self, figure: &str, work: &Work) -> Option<LayTonight> {
        let mut nights = self.nights.borrow_mut();
        let known = nights.entry((figure.to_owned(), work.clone()));
        let ask = || lay_tonight(self.house, (figure, work), self.now);
        known.or_insert_with(ask).clone()
    }

    /// The clock of this work whose closing presses most, or that of the coat below, where the
    /// work lays the next one.
    pub(super) fn closing(&self, figure: &str, work: &Work) -> Option<&ClockView> {
        let list = self.house.cards.checklists.get(&work.operation)?;
        let recoats = list.asks(GateKind::Recoat);
        let is_below = |view: &ClockView| {
            recoats && view.clock == ClockName::Recoat && view.work.target == work.target
        };
        let tied = [
            ClockName::TackEdge,
            ClockName::TackFlat,
            ClockName::TackHollow,
            ClockName::Recoat,
            ClockName::Cup,
            ClockName::Closing,
            ClockName::Dwell,
        ];
        let presses = self.now + Duration::minutes(whole(self.minutes + PRESSES_H * 60.0));
        let presses = presses.max(self.next_day_ends());
        let here = self.clocks.iter().filter(|view| {
            view.figure == figure
                && (view.work == *work || is_below(view))
                && tied.contains(&view.clock)
                && view.closes.is_some_and(|at| self.now < at && at <= presses)
        });
        here.min_by_key(|view| view.closes)
    }

    /// When the doors of the next day close; now where none is near on which they open.
    fn next_day_ends(&self) -> DateTime<FixedOffset> {
        let there = presence_ahead(&self.house.cards.shop, self.now, *self.now.offset());
        let mut days = there.iter().filter(|span| self.now < span.from);
        days.next().map_or(self.now, |span| span.to)
    }

    fn tell(
        &self,
        choice: &mut Choice,
        closing: Option<&ClockView>,
        (promised, left): (Option<NaiveDate>, usize),
    ) {
        let promise = promised.map(|day| {
            let days = (day - self.now.date_naive()).num_days();
            format!(
                "promised {}, {} and {} to go",
                day.format("%-d %b %Y"),
                counted(days, "day"),
                counted(left, "job")
            )
        });
        let signs = choice
            .why
            .iter()
            .any(|it| it == SIGNATURE || it.starts_with(REFUSED));
        if let Some((view, at)) = closing.and_then(|view| Some((view, view.closes?))) {
            let hour = at.format("%a %H:%M");
            choice
                .why
                .insert(0, format!("{} closes {hour}", view.about));
            choice.lost = lost(view.clock, &hour.to_string());
        } else if signs {
            "nobody goes on with it until it is signed".clone_into(&mut choice.lost);
        } else {
            "nothing closes; the figure stands a day longer".clone_into(&mut choice.lost);
        }
        choice.why.extend(promise);
        let title = |id: &str| {
            let list = self.house.cards.checklists.get(id);
            list.map_or_else(|| id.to_owned(), |list| list.title.clone())
        };
        let habit = self.habits.words(&choice.work.operation, title);
        choice.why.extend(habit);
    }
}

/// What is lost when a clock has closed.
pub(super) fn lost(clock: ClockName, hour: &str) -> String {
    match clock {
        ClockName::Recoat => format!("after {hour} it must be scuffed and wiped first"),
        ClockName::Dwell => "the remover dries on the wood".to_owned(),
        ClockName::Cup | ClockName::Closing => "the cup and the joint".to_owned(),
        _ => format!("the size is dead from {hour}: it is laid anew"),
    }
}

/// Returns a walk as it is said of a figure: `bandmaster: Prime, three coats, trousers`.
pub fn walk_name(house: House<'_>, figure: &str, work: &Work) -> String {
    let list = house.cards.checklists.get(&work.operation);
    let title = list.map_or(work.operation.as_str(), |list| &list.title);
    let target = work.target.as_deref().unwrap_or("whole figure");
    format!("{figure}: {title}, {target}")
}
