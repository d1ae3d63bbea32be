//! All figures at a glance, and what could be begun on one of them.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::House;
use super::ahead::gates_ahead;
use super::clock::{ClockState, ClockView, clock_views};
use super::decide::fits_path;
use super::facts::{FigureStanding, HoldRefused, Job, JobState, Matter, OpenMatter};
use super::front::prompt;
use super::frozen::{SCHEME, surprises};
use super::journey::{Leg, journey};
use super::prompt::{Ask, OpensBy, Prompt};
use crate::card::{Figure, RouteStop, Scope};
use crate::deed::{Stamp, Work};

/// One figure among all.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorRow {
    /// Figure id.
    pub figure: String,
    /// Name.
    pub name: String,
    /// Room name.
    pub room: String,
    /// The job worked on last that is still open, and the step in front in words.
    pub doing: Option<(Work, String)>,
    /// What could be begun next, where no job is open.
    pub ahead: Option<Work>,
    /// What it waits for, one line; empty when hands may go on.
    pub waits_for: String,
    /// Since when: the last act of the job, or the last line of a figure without one.
    pub since: Option<DateTime<FixedOffset>>,
    /// The clock of this figure that matters next.
    pub next: Option<ClockView>,
    /// What a question from its bench was answered with last, for some days.
    pub answered: Option<String>,
    /// Matters without an answer.
    pub unanswered: usize,
    /// Hold points waiting for a signature.
    pub holds: usize,
    /// Hold points and matters that were refused and are back at the bench.
    pub refused: usize,
    /// Stops of the route finished, and all of them.
    pub route: (usize, usize),
    /// Every operation of the journey in its order, and how this figure stands to it.
    pub journey: Vec<Leg>,
    /// Promised date.
    pub promised: Option<NaiveDate>,
    /// Whether its journal is there and cannot be read: nobody knows how it stands.
    pub unread: bool,
}

/// What stands for a figure whose journal is there and cannot be read.
pub const UNREAD: &str = "its book cannot be read";

/// A hold point that waits for a signature.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldWaiting {
    /// Figure id.
    pub figure: String,
    /// The job.
    pub work: Work,
    /// Step id.
    pub step: String,
    /// What is accepted.
    pub sign: String,
    /// Who may sign.
    pub may_sign: Vec<String>,
    /// The line from which on it waits: the last act of the work before it; of one that was
    /// refused the refusal, and where it was shown once more that.
    pub since: Stamp,
    /// That it was refused.
    pub refused: Option<HoldRefused>,
}

impl HoldWaiting {
    fn is_of(&self, figure: &str, work: &Work) -> bool {
        self.figure == figure && self.work == *work
    }

    /// Returns why it was refused, while it waits for the bench to put it right and show it once
    /// more.
    pub fn back(&self) -> Option<&HoldRefused> {
        let refused = self.refused.as_ref();
        refused.filter(|refused| refused.again.is_none())
    }

    /// Returns the line that tells of it.
    pub fn line(&self) -> u64 {
        self.since.n
    }

    /// Returns what is accepted; and, where it was refused, by whom and why.
    pub fn told(&self) -> String {
        let sign = &self.sign;
        match &self.refused {
            None => sign.clone(),
            Some(refused) => format!("{sign}; {}", refused.told()),
        }
    }
}

/// An operation on a target, as the bench lists it.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Operation, target and the round it would be.
    pub work: Work,
    /// Title of the operation.
    pub title: String,
    /// Where it stands.
    pub stage: Stage,
}

/// Where an offered operation stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Being walked: go on here.
    Open,
    /// Next on the route.
    Next,
    /// Later on the route.
    Later,
    /// Never begun, and what stands behind it on the route was begun there: filling that nobody did
    /// before the primer.
    Passed,
    /// Walked to its end.
    Done,
}

impl Stage {
    /// Returns whether there is still something to be done.
    pub fn is_ahead(self) -> bool {
        matches!(self, Self::Open | Self::Next | Self::Later)
    }
}

/// Returns every figure of the shop, the one that needs a hand first first.
pub fn floor(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<FloorRow> {
    let clocks = clock_views(house, now);
    let waiting = holds(house, now);
    let mut rows: Vec<FloorRow> = house
        .cards
        .figures
        .values()
        .map(|card| row(house, now, card, (&clocks, &waiting)))
        .collect();
    let soonest = |row: &FloorRow| {
        let at = row.next.as_ref().and_then(ClockView::deadline);
        at.map_or(i64::MAX, |at| at.timestamp_millis())
    };
    // Where no clock runs, what somebody is waited for comes before what is only free.
    let is_free = |row: &FloorRow| row.holds + row.unanswered + row.refused == 0;
    rows.sort_by(|a, b| {
        soonest(a)
            .cmp(&soonest(b))
            .then(is_free(a).cmp(&is_free(b)))
            .then(a.doing.is_none().cmp(&b.doing.is_none()))
            .then_with(|| a.figure.cmp(&b.figure))
    });
    rows
}

fn row(
    house: House<'_>,
    now: DateTime<FixedOffset>,
    card: &Figure,
    (clocks, waiting): (&[ClockView], &[HoldWaiting]),
) -> FloorRow {
    let standing = house.figure(&card.id);
    let front = standing.and_then(|standing| {
        let job = standing.open_jobs().max_by_key(|job| last_act(job).n)?;
        Some((job, prompt(house, &card.id, &job.work, now)?))
    });
    let offers = offers(house, &card.id);
    let next = offers.iter().find(|offer| offer.stage == Stage::Next);
    let ahead = next.filter(|_| front.is_none()).map(|it| it.work.clone());
    let last = standing.and_then(|standing| standing.last.as_ref());
    let room = house.room_of(&card.id);
    let named = house.cards.shop.rooms.iter().find(|known| known.id == room);
    let waits_for = match (&front, &ahead) {
        (Some((_, prompt)), _) => waits_for(prompt),
        (None, Some(work)) => shut_before(house, card, work, now),
        (None, None) if house.is_unread(&card.id) => UNREAD.to_owned(),
        (None, None) => String::new(),
    };
    let own: Vec<&HoldWaiting> = waiting.iter().filter(|it| it.figure == card.id).collect();
    let back = own.iter().filter(|hold| hold.back().is_some()).count();
    let open: Vec<&OpenMatter> = matters(house, &card.id, waiting).collect();
    let refused = open.iter().filter(|open| open.refusal().is_some()).count();
    FloorRow {
        figure: card.id.clone(),
        name: card.name.clone(),
        room: named.map_or(room, |room| &room.name).to_owned(),
        waits_for,
        since: match &front {
            Some((job, _)) => {
                let hold = waiting.iter().find(|hold| hold.is_of(&card.id, &job.work));
                Some(hold.map_or_else(|| last_act(job), |hold| &hold.since).at)
            }
            None => last.map(|last| last.at),
        },
        doing: front.map(|(job, prompt)| (job.work.clone(), prompt.act)),
        ahead,
        next: clocks.iter().find(|view| view.figure == card.id).cloned(),
        answered: standing
            .and_then(|it| it.answered_lately(now).last())
            .and_then(|open| open.answer_told(now)),
        unanswered: open.len() - refused,
        holds: own.len() - back,
        refused: refused + back,
        route: progress(&offers, card),
        journey: journey(house.cards, &offers),
        promised: card.promised,
        unread: house.is_unread(&card.id),
    }
}

/// What stands before work that could be begun next and that no hand opens now; empty when
/// nothing does.
fn shut_before(house: House<'_>, card: &Figure, work: &Work, now: DateTime<FixedOffset>) -> String {
    let gates = gates_ahead(house, &card.id, work, now);
    let shut = gates.iter().find(|verdict| {
        let waits = matches!(verdict.opens_by, OpensBy::Wait(_) | OpensBy::Operation(_));
        !verdict.open && verdict.hard && waits
    });
    shut.map_or_else(String::new, |verdict| format!("gate: {}", verdict.why))
}

/// Returns the line at which a figure is held: its hold point that waits, the clock it waits for,
/// else the last act of the walk that was gone on with last; `None` of a figure without any.
pub fn held_at(
    house: House<'_>,
    figure: &str,
    (waiting, clocks): (&[HoldWaiting], &[ClockView]),
) -> Option<u64> {
    let hold = waiting.iter().find(|hold| hold.figure == figure);
    let standing = house.figure(figure)?;
    let open = standing.open_jobs().max_by_key(|job| last_act(job).n);
    let waits = clocks.iter().find(|view| {
        let here = open.is_some_and(|job| job.work == view.work);
        view.figure == figure && here && view.state == ClockState::Waiting
    });
    let clock = waits.and_then(|view| view.id.split('.').next()?.parse().ok());
    let act = open.map(|job| last_act(job).n);
    hold.map(HoldWaiting::line).or(clock).or(act)
}

/// The stamp of the last thing that happened in a job.
fn last_act(job: &Job) -> &Stamp {
    let stamps = job.acts.values().flat_map(|act| {
        act.done
            .iter()
            .chain(act.records.iter().map(|kept| &kept.stamp))
            .chain(act.ticks.iter().map(|kept| &kept.stamp))
            .chain(act.tests.iter().map(|kept| &kept.stamp))
            .chain(act.mixed.iter().map(|(_, stamp)| stamp))
    });
    stamps.max_by_key(|stamp| stamp.n).unwrap_or(&job.begun)
}

/// What a front waits for that hands cannot do now; empty when they may go on.
fn waits_for(prompt: &Prompt) -> String {
    let until = |clock: &Option<ClockView>| {
        clock
            .as_ref()
            .and_then(|view| view.opens)
            .map(|at| format!(", {}", at.format("%a %H:%M")))
            .unwrap_or_default()
    };
    match &prompt.ask {
        Ask::Gate(verdict) => format!("gate: {}", verdict.why),
        Ask::Wait {
            clock,
            ready: false,
            hand,
        } => format!("until {hand}{}", until(clock)),
        Ask::Test { ready_word, .. } => format!("test: {ready_word}?"),
        Ask::Hold {
            refused: Some(refused),
            ..
        } if refused.again.is_none() => format!(
            "the bench to put right what {} refused: {}",
            refused.stamp.by, refused.why
        ),
        Ask::Hold { sign, .. } => format!("signature: {sign}"),
        _ => String::new(),
    }
}

/// Stops of the route finished on all their targets, and all stops.
fn progress(offers: &[Offer], card: &Figure) -> (usize, usize) {
    let is_done = |stop: &&RouteStop| {
        let mut here = offers
            .iter()
            .filter(|offer| offer.work.operation == stop.operation)
            .peekable();
        here.peek().is_some() && here.all(|offer| offer.stage == Stage::Done)
    };
    (card.route.iter().filter(is_done).count(), card.route.len())
}

/// Returns every hold point that waits for a signature.
pub fn holds(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<HoldWaiting> {
    let mut all = Vec::new();
    for (figure, standing) in &house.standing.figures {
        for job in standing.open_jobs() {
            let Some(prompt) = prompt(house, figure, &job.work, now) else {
                continue;
            };
            if let Ask::Hold {
                sign,
                may_sign,
                refused,
            } = prompt.ask
            {
                let refusal = refused.as_ref().map(|it| {
                    let again = it.again.as_ref();
                    again.map_or(&it.stamp, |(_, stamp)| stamp)
                });
                let since = refusal.unwrap_or_else(|| last_act(job));
                all.push(HoldWaiting {
                    since: since.clone(),
                    figure: figure.clone(),
                    work: job.work.clone(),
                    step: prompt.step,
                    sign,
                    may_sign,
                    refused,
                });
            }
        }
    }
    all
}

fn is_refusal(open: &OpenMatter, work: &Work) -> bool {
    open.matter == Matter::HoldRefused && open.work.as_ref() == Some(work)
}

/// Returns the matters of a figure that nobody has accepted, but for refusals of a hold point
/// that waits for its signature again: that one says so itself.
pub fn matters<'a>(
    house: House<'a>,
    figure: &str,
    waiting: &[HoldWaiting],
) -> impl Iterator<Item = &'a OpenMatter> {
    let open = house.figure(figure).into_iter();
    let open = open.flat_map(FigureStanding::unanswered);
    open.filter(move |open| {
        let mut here = waiting.iter().filter(|hold| hold.figure == figure);
        !here.any(|hold| is_refusal(open, &hold.work))
    })
}

/// Returns the same of all figures, each with its figure's id.
pub fn all_matters<'a>(
    house: House<'a>,
    waiting: &[HoldWaiting],
) -> impl Iterator<Item = (&'a str, &'a OpenMatter)> {
    house.standing.figures.keys().flat_map(move |figure| {
        let open = matters(house, figure, waiting);
        open.map(move |open| (figure.as_str(), open))
    })
}

/// Returns what could be worked on at a figure: open jobs first, then the route in order,
/// each operation on each target that its path allows.
pub fn offers(house: House<'_>, figure: &str) -> Vec<Offer> {
    let card = house.cards.figures.get(figure);
    let Some(card) = card.filter(|_| !house.is_unread(figure)) else {
        return Vec::new();
    };
    let mut all: Vec<Offer> = card
        .route
        .iter()
        .flat_map(|stop| {
            targets(house, card, stop)
                .into_iter()
                .map(move |target| (stop, target))
        })
        .filter_map(|(stop, target)| offer(house, card, (&stop.operation, target)))
        .collect();
    let planned: Vec<Work> = all.iter().map(|offer| offer.work.clone()).collect();
    let unplanned = house.figure(figure).into_iter().flat_map(|standing| {
        standing
            .open_jobs()
            .filter(|job| !planned.contains(&job.work))
    });
    all.extend(unplanned.filter_map(|job| {
        let target = job.work.target.clone();
        offer(house, card, (&job.work.operation, target))
    }));
    mark_passed(&mut all, house, card);
    mark_next(&mut all, card);
    let mut touched: BTreeMap<Option<&str>, u64> = BTreeMap::new();
    for job in house.figure(figure).iter().flat_map(|it| &it.jobs) {
        let last = touched.entry(place(card, &job.work)).or_default();
        *last = last_act(job).n.max(*last);
    }
    // What was worked on last comes first; the order of the route holds among the rest.
    all.sort_by_key(|offer| {
        let last = touched.get(&place(card, &offer.work)).copied();
        (offer.stage, std::cmp::Reverse(last.unwrap_or_default()))
    });
    all
}

/// Returns how many operations of a figure's route have no place to be done on yet: on zones
/// (all left untouched, or none on their path), on joints, on panels. A new card has many.
pub fn without_place(house: House<'_>, figure: &str) -> [usize; 3] {
    let Some(card) = house.cards.figures.get(figure) else {
        return [0; 3];
    };
    let stops = card.route.iter();
    let lacking = stops.filter(|stop| targets(house, card, stop).is_empty());
    let mut counts = [0; 3];
    for stop in lacking {
        let list = house.cards.checklists.get(&stop.operation);
        let [zones, joints, panels] = &mut counts;
        match list.map(|list| list.scope) {
            Some(Scope::Zone) => *zones += 1,
            Some(Scope::Joint) => *joints += 1,
            Some(Scope::Panel) => *panels += 1,
            Some(Scope::Figure) | None => {}
        }
    }
    counts
}

/// The place a work is about: a panel of leaf lies in its zone.
fn place<'a>(card: &'a Figure, work: &'a Work) -> Option<&'a str> {
    let target = work.target.as_ref()?;
    let panel = card.panels.iter().find(|panel| panel.id == *target);
    Some(panel.map_or(target, |panel| &panel.zone))
}

/// What was never begun at a place where a coat of a later stop lies was passed over: done between
/// two of those coats, it would be no part of the route any more. What comes before the scheme (a
/// photograph, the test for lead) is owed all the same.
fn mark_passed(all: &mut [Offer], house: House<'_>, card: &Figure) {
    let standing = house.figure(&card.id);
    let coats = standing.map_or(&[][..], |it| it.coats.as_slice());
    let order = |id: &str| house.cards.checklists.get(id).map_or(0, |list| list.order);
    let is_study = |offer: &Offer| order(&offer.work.operation) <= order(SCHEME);
    let stop = |offer: &Offer| {
        let mut stops = card.route.iter();
        stops.position(|stop| stop.operation == offer.work.operation)
    };
    let mut farthest: BTreeMap<String, usize> = BTreeMap::new();
    for offer in all.iter() {
        let begun = matches!(offer.stage, Stage::Open | Stage::Done);
        let is_laid = begun && coats.iter().any(|coat| coat.work == offer.work);
        if let (true, Some(here), Some(stop)) = (is_laid, place(card, &offer.work), stop(offer)) {
            let reached = farthest.entry(here.to_owned()).or_default();
            *reached = stop.max(*reached);
        }
    }
    for offer in all {
        let reached = place(card, &offer.work).and_then(|here| farthest.get(here));
        let is_behind = stop(offer)
            .zip(reached)
            .is_some_and(|(own, reached)| own < *reached);
        let is_fresh = offer.stage == Stage::Later && offer.work.round == 1;
        if is_fresh && is_behind && !is_study(offer) {
            offer.stage = Stage::Passed;
        }
    }
}

/// Whether work at one place waits for work at the other: it is the same place, or a seam runs
/// through the zone. A crack is not filled before its joint is closed, nor a joint opened before
/// its zones are stripped (*common practice*).
fn meet(card: &Figure, one: &str, other: &str) -> bool {
    let runs = |joint: &str, zone: &str| {
        let mut joints = card.joints.iter();
        joints.any(|it| it.id == joint && it.zones.iter().any(|through| through == zone))
    };
    one == other || runs(one, other) || runs(other, one)
}

/// At each place, the first stop of the route that is not done is next there.
fn mark_next(all: &mut [Offer], card: &Figure) {
    let mut seen: Vec<Option<String>> = Vec::new();
    let mut figure_first = false;
    for offer in all {
        let here = place(card, &offer.work).map(str::to_owned);
        // What is about the whole figure waits for all that stands before it on the route.
        let first = match &here {
            None => seen.is_empty(),
            Some(here) => !seen.iter().flatten().any(|it| meet(card, it, here)),
        } && !figure_first;
        // Nothing on a part is next before what stands earlier about the whole figure.
        figure_first |= here.is_none() && offer.stage.is_ahead();
        if offer.stage.is_ahead() && first {
            seen.push(here);
        }
        if offer.stage == Stage::Later && first {
            offer.stage = Stage::Next;
        }
    }
}

/// The targets of a stop: those it names, else all of its scope that its path allows.
fn targets(house: House<'_>, card: &Figure, stop: &RouteStop) -> Vec<Option<String>> {
    let Some(list) = house.cards.checklists.get(&stop.operation) else {
        return Vec::new();
    };
    if !stop.on.is_empty() {
        return stop.on.iter().cloned().map(Some).collect();
    }
    let all: Vec<&String> = match list.scope {
        Scope::Figure => return vec![None],
        Scope::Zone => card.zones.iter().map(|zone| &zone.id).collect(),
        Scope::Joint => card.joints.iter().map(|joint| &joint.id).collect(),
        Scope::Panel => card.panels.iter().map(|panel| &panel.id).collect(),
    };
    all.into_iter()
        .filter(|target| fits_path(house, &card.id, list, Some(target)).is_ok())
        .cloned()
        .map(Some)
        .collect()
}

/// Returns the walk of an operation on a part that is open or would be begun now, whether it
/// stands on the route or not and was walked before or not; `None` where there is no such card.
pub(super) fn anew(
    house: House<'_>,
    figure: &str,
    (operation, target): (&str, Option<String>),
) -> Option<Work> {
    let card = house.cards.figures.get(figure)?;
    let mut offer = offer(house, card, (operation, target))?;
    if offer.stage == Stage::Done {
        offer.work.round += 1;
    }
    Some(offer.work)
}

fn offer(
    house: House<'_>,
    card: &Figure,
    (operation, target): (&str, Option<String>),
) -> Option<Offer> {
    let list = house.cards.checklists.get(operation)?;
    let jobs = house
        .figure(&card.id)
        .map_or(&[][..], |standing| standing.jobs.as_slice());
    let mine = |job: &&Job| job.work.operation == operation && job.work.target == target;
    let latest = jobs.iter().rev().find(mine);
    let sent_here = jobs.iter().rev().find_map(|job| match &job.state {
        JobState::SentBack { stamp, back_to, .. }
            if back_to == operation && job.work.target == target =>
        {
            Some(stamp.n)
        }
        _ => None,
    });
    let rounds = u32::try_from(jobs.iter().filter(mine).count()).unwrap_or(u32::MAX);
    let is_outrun = operation == SCHEME
        && house
            .figure(&card.id)
            .is_some_and(|standing| surprises(standing).next().is_some());
    let again = |n: u64| is_outrun || sent_here.is_some_and(|sent| n < sent);
    let (stage, round) = match latest.map(|job| (&job.state, job)) {
        None => (Stage::Later, 1),
        Some((JobState::Open, job)) => (Stage::Open, job.work.round),
        Some((JobState::Finished(stamp), job)) if !again(stamp.n) => (Stage::Done, job.work.round),
        Some((JobState::Finished(_), _)) => (Stage::Next, rounds + 1),
        Some((JobState::SentBack { .. }, _)) => (Stage::Later, rounds + 1),
    };
    let work = Work {
        operation: operation.to_owned(),
        target,
        round,
    };
    Some(Offer {
        work,
        title: list.title.clone(),
        stage,
    })
}
