//! What to do with the time at hand: windows that close come first, then hands that fit the
//! time, the air and the person's marks, by how near the promise is. Three choices at most,
//! each with its reasons and what is lost without it; a person picks, and what they picked
//! before settles what nothing else does.
//!
//! Source of the order: earliest deadline first among what closes (C. Liu, J. Layland,
//! Scheduling algorithms for multiprogramming in a hard-real-time environment, Journal of the
//! ACM 20, 1973); the rest is own judgement.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::ahead::Sittings;
use super::hours::presence;
use super::picks::Habits;
use crate::card::{Checklist, ClockName, Mark};
use crate::deed::Work;
use crate::reckon::counted;
use crate::standing::{
    Ask, ClockState, ClockView, House, OpensBy, Prompt, Stage, air_conflicts, clock_views,
    flaws_of, gates_ahead, hours_between, offers, prompt, shut_in_front,
};

/// How many choices are given (own choice: more is a list, not an answer).
const CHOICES: usize = 3;

/// A test or a signature takes so long, minutes (own judgement).
const LOOK_MIN: f64 = 10.0;

/// A window that closes later than this after the time at hand does not press yet, hours (own
/// judgement: the next chance is tomorrow at the same hour).
const PRESSES_H: f64 = 24.0;

/// Why a signature comes first.
const SIGNATURE: &str = "waits for a signature";

/// What is asked.
#[derive(Debug, Clone, Copy, Default)]
pub struct NextAsk<'a> {
    /// Who asks; anybody's work without it.
    pub by: Option<&'a str>,
    /// Minutes at hand; until the doors close without it.
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
    /// When its window closes, where that presses.
    closes: Option<DateTime<FixedOffset>>,
    /// Walks left to each day left of the promise.
    pressure: f64,
    /// The hand was on this figure last.
    at_hand: bool,
}

/// Returns what to do now, best first; empty when nothing fits.
pub fn next(house: House<'_>, ask: &NextAsk<'_>, now: DateTime<FixedOffset>) -> Vec<Choice> {
    let look = Look {
        house,
        now,
        by: ask.by,
        minutes: ask.minutes.unwrap_or_else(|| until_closing(house, now)),
        clocks: clock_views(house, now),
        sittings: Sittings::of(house, now),
        habits: Habits::of(house, ask.by),
    };
    let mut all: Vec<Candidate> = Vec::new();
    let figures = house.cards.figures.keys();
    for figure in figures.filter(|figure| !ask.damaged.contains(figure)) {
        all.extend(look.of_figure(figure));
    }
    all.sort_by(|a, b| {
        let habit = |it: &Candidate| look.habits.share(&it.choice.work.operation);
        let closes = |it: &Candidate| it.closes.map_or(i64::MAX, |at| at.timestamp());
        closes(a)
            .cmp(&closes(b))
            .then(b.choice.open.cmp(&a.choice.open))
            .then(b.pressure.total_cmp(&a.pressure))
            .then_with(|| habit(b).total_cmp(&habit(a)))
            .then(b.at_hand.cmp(&a.at_hand))
            .then_with(|| a.choice.figure.cmp(&b.choice.figure))
    });
    let mut choices: Vec<Choice> = Vec::new();
    for candidate in all {
        let choice = candidate.choice;
        // The same work on another zone is no other choice.
        let same =
            |it: &Choice| it.figure == choice.figure && it.work.operation == choice.work.operation;
        if !choices.iter().any(same) {
            choices.push(choice);
        }
    }
    choices.truncate(CHOICES);
    choices
}

/// Minutes until the doors close; a whole day where they are shut now.
fn until_closing(house: House<'_>, now: DateTime<FixedOffset>) -> f64 {
    let there = presence(&house.cards.shop, now, *now.offset());
    let today = there.first().filter(|span| span.from <= now);
    today.map_or(24.0 * 60.0, |span| hours_between(now, span.to).0 * 60.0)
}

struct Look<'a> {
    house: House<'a>,
    now: DateTime<FixedOffset>,
    by: Option<&'a str>,
    minutes: f64,
    clocks: Vec<ClockView>,
    sittings: Sittings<'a>,
    habits: Habits,
}

impl Look<'_> {
    fn of_figure(&self, figure: &str) -> Vec<Candidate> {
        let all = offers(self.house, figure);
        let left = all.iter().filter(|it| it.stage != Stage::Done).count();
        let promised = self
            .house
            .cards
            .figures
            .get(figure)
            .and_then(|card| card.promised);
        let pressure = self.pressure(promised, left);
        let mut found = Vec::new();
        for offer in all {
            let Some(list) = self.house.cards.checklists.get(&offer.work.operation) else {
                continue;
            };
            let flaws = flaws_of(self.house, figure, Some(&offer.work));
            let of_list = self.house.cards.flawed.checklists.contains_key(&list.id);
            let choice = match offer.stage {
                // What runs is finished, but not by a list of which a part could not be read.
                _ if of_list => None,
                Stage::Next if !flaws.is_empty() => None,
                Stage::Open => self.open(figure, &offer.work, list),
                Stage::Next if self.may(list.trade) => self.begin(figure, &offer.work, list),
                _ => None,
            };
            let Some(mut choice) = choice.filter(|it| it.minutes <= self.minutes) else {
                continue;
            };
            let closing = self.closing(figure, &offer.work);
            self.tell(&mut choice, closing, (promised, left));
            found.push(Candidate {
                closes: closing.and_then(|view| view.closes),
                pressure,
                at_hand: self.was_at(figure),
                choice,
            });
        }
        found
    }

    fn pressure(&self, promised: Option<NaiveDate>, left: usize) -> f64 {
        let left = f64::from(u32::try_from(left).unwrap_or(u32::MAX));
        promised.map_or(0.0, |day| {
            let days = (day - self.now.date_naive()).num_days().max(1);
            left / f64::from(i32::try_from(days).unwrap_or(i32::MAX))
        })
    }

    fn may(&self, mark: Mark) -> bool {
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
        let signs = matches!(&front.ask, Ask::Hold { may_sign, .. }
            if self.by.is_none_or(|by| may_sign.iter().any(|it| it == by)));
        if !signs && (!self.may(list.trade) || !self.can_go_on(&front)) {
            return None;
        }
        if let Ask::Gate(_) = &front.ask {
            let shut = shut_in_front(self.house, figure, work, self.now);
            if shut.iter().any(|it| it.hard && !by_hand(&it.opens_by)) {
                return None;
            }
        }
        let short = signs || matches!(front.ask, Ask::Test { .. });
        let minutes = if short {
            LOOK_MIN
        } else {
            self.sittings.first(figure, work).unwrap_or(LOOK_MIN)
        };
        let mut why = vec![format!("open: {}", list.title)];
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
            Ask::Gate(verdict) => by_hand(&verdict.opens_by) || !verdict.hard,
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

    /// A walk that could be begun: its gates are open or a hand opens them, and its air is fit.
    fn begin(&self, figure: &str, work: &Work, list: &Checklist) -> Option<Choice> {
        let shut = gates_ahead(self.house, figure, work, self.now);
        let mut shut = shut.iter().filter(|it| it.hard && !it.open);
        if shut.any(|verdict| !by_hand(&verdict.opens_by)) {
            return None;
        }
        if !air_conflicts(self.house, figure, &work.operation, self.now).is_empty() {
            return None;
        }
        let minutes = self.sittings.first(figure, work).unwrap_or(LOOK_MIN);
        Some(Choice {
            figure: figure.to_owned(),
            work: work.clone(),
            open: false,
            act: format!("Begin {}", list.title),
            minutes,
            why: vec!["next on its route, its gates open by hand, its air fit".to_owned()],
            lost: String::new(),
        })
    }

    /// The clock of this work or its place whose closing presses most.
    fn closing(&self, figure: &str, work: &Work) -> Option<&ClockView> {
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
        let here = self.clocks.iter().filter(|view| {
            view.figure == figure
                && view.work.target == work.target
                && tied.contains(&view.clock)
                && view.closes.is_some_and(|at| self.now < at && at <= presses)
        });
        here.min_by_key(|view| view.closes)
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
                counted(left, "walk")
            )
        });
        let signs = choice.why.iter().any(|it| it == SIGNATURE);
        if let Some((view, at)) = closing.and_then(|view| Some((view, view.closes?))) {
            let hour = at.format("%a %H:%M");
            choice
                .why
                .insert(0, format!("{} closes {hour}", view.about));
            choice.lost = match view.clock {
                ClockName::Recoat => format!("after {hour} it must be scuffed and wiped first"),
                ClockName::Dwell => "the remover dries on the wood".to_owned(),
                ClockName::Cup | ClockName::Closing => "the cup and the joint".to_owned(),
                _ => format!("the size is dead from {hour}: it is laid anew"),
            };
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

fn by_hand(opens_by: &OpensBy) -> bool {
    match opens_by {
        OpensBy::Nothing
        | OpensBy::Vouch(_)
        | OpensBy::AirReading(_)
        | OpensBy::Surface
        | OpensBy::Renew { .. } => true,
        OpensBy::Operation(_) | OpensBy::Wait(_) => false,
    }
}

fn whole(minutes: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "held within a century just here"
    )]
    let whole = minutes.clamp(0.0, 5e7) as i64;
    whole
}
