//! From a house to what lies ahead of it: the rest of every route as blocks, behind each other
//! as the route has them at each place, with the people and rooms of the shop.
//!
//! Start reading at [`ahead`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};

use super::Change;
use super::ahead_job::{Draft, Walk, drafts, likely_hands};
use super::crew::{airs, hands, longest};
use super::hours::{Present, presence_over};
use super::leaf_time::LOOKED_AT;
use super::loops::Loops;
use super::outlook::Outlook;
use super::pace::paces;
use super::parts::{in_route_order, places, share};
use super::project::{Again, Block, Cause, GRAIN_MIN, Goal, JobAhead, Link, Project};
use crate::card::{Checklist, Figure, GateKind};
use crate::deed::{Attended, Work};
use crate::standing::{
    ClockView, House, MOISTURE_PERCENT, Stage, clock_views, hours_between, offers, openers,
    walk_ahead,
};

/// How far ahead a plan looks, days: three years. What is not done by then has no date.
pub const DAYS: u64 = 1096;

/// Returns what lies ahead of a house from `now` on, `change` made. `tomorrow` is the offset
/// after tonight where the shop card names no zone.
pub fn ahead(
    house: House<'_>,
    (now, tomorrow): (DateTime<FixedOffset>, FixedOffset),
    change: &Change,
) -> Project {
    let slots = u32::try_from(DAYS).unwrap_or(u32::MAX) * 24 * 60 / GRAIN_MIN;
    let there = presence_over(&house.cards.shop, (now, DAYS), tomorrow);
    let mut maker = Maker::new(Outlook::of(house, now, change), &there);
    maker.project = Project {
        hands: hands(house, now, &there, change),
        airs: airs(house.cards),
        slots,
        ..Project::default()
    };
    maker.paces = paces(house, |figure, work| maker.reckoned(figure, work));
    for card in house.cards.figures.values() {
        maker.figure(card);
    }
    maker.project
}

/// How long the next sitting of a walk is.
pub(super) struct Sittings<'a>(Maker<'a>);

impl<'a> Sittings<'a> {
    pub(super) fn of(house: House<'a>, now: DateTime<FixedOffset>) -> Self {
        let there = presence_over(&house.cards.shop, (now, 7), *now.offset());
        let change = &NO_CHANGE;
        Self(Maker::new(Outlook::of(house, now, change), &there))
    }

    /// Returns the likely minutes until the next wait of a walk, at most one sitting; `None`
    /// when nothing is left of it.
    pub(super) fn first(&self, figure: &str, work: &Work) -> Option<f64> {
        let house = self.0.outlook.house;
        let card = house.cards.figures.get(figure)?;
        let list = house.cards.checklists.get(&work.operation)?;
        let made = drafts(
            self.0.walk(card, list, work),
            &walk_ahead(house, figure, work),
        )
        .ok()?;
        let first = made.iter().find(|it| it.task.kind == Attended::Hands)?;
        let [_, likely, _] = first.task.minutes;
        Some(f64::from(likely))
    }
}

/// The shop as it is.
static NO_CHANGE: Change = Change {
    warmer: Vec::new(),
    humidity: Vec::new(),
    glue: None,
    second: Vec::new(),
};

/// What is put together, figure by figure.
struct Maker<'a> {
    outlook: Outlook<'a>,
    clocks: Vec<ClockView>,
    causes: BTreeMap<(usize, String), usize>,
    /// When somebody is there.
    there: Vec<Present>,
    /// Longest stretch that somebody is there, minutes.
    longest: f64,
    /// Ratios of hours spent to hours reckoned, by operation.
    paces: BTreeMap<String, Vec<f64>>,
    loops: Loops,
    /// Blocks of walks that are over and may be walked again, by operation and target.
    spares: BTreeMap<(usize, String, Option<String>), (usize, usize)>,
    project: Project,
}

/// What was put together of a figure so far.
#[derive(Default)]
struct Route {
    /// The last blocks at each place; none where nothing can go on.
    last: BTreeMap<String, Option<Vec<usize>>>,
    /// The last blocks about the whole figure.
    whole: Vec<usize>,
    /// Walks on each place in the order of the route: operation, target, blocks.
    walked: Vec<(Vec<String>, Work, (usize, usize))>,
    never: Option<String>,
    /// Nothing about the whole figure can go on.
    stuck: bool,
}

impl<'a> Maker<'a> {
    fn new(outlook: Outlook<'a>, there: &[Present]) -> Self {
        Self {
            clocks: clock_views(outlook.house, outlook.now),
            causes: BTreeMap::new(),
            longest: longest(there),
            there: there.iter().take(LOOKED_AT).copied().collect(),
            paces: BTreeMap::new(),
            loops: Loops::of(outlook.house),
            outlook,
            spares: BTreeMap::new(),
            project: Project::default(),
        }
    }

    fn figure(&mut self, card: &'a Figure) {
        let house = self.outlook.house;
        let goal = self.project.goals.len();
        let due = card.promised.map(|day| self.end_of(day));
        self.project.goals.push(Goal {
            figure: card.id.clone(),
            due,
            ..Goal::default()
        });
        let mut route = Route::default();
        for offer in in_route_order(house.cards, card, offers(house, &card.id)) {
            let Some(list) = house.cards.checklists.get(&offer.work.operation) else {
                continue;
            };
            let places = places(card, list, offer.work.target.as_deref());
            match offer.stage {
                Stage::Passed => {}
                Stage::Done => route.walked.push((places, offer.work, (0, 0))),
                Stage::Open => self.job(card, &mut route, (list, offer.work, places), true),
                Stage::Next | Stage::Later => {
                    self.openers(card, &mut route, (list, &offer.work));
                    self.job(card, &mut route, (list, offer.work, places), false);
                }
            }
        }
        if let Some(kept) = self.project.goals.get_mut(goal) {
            kept.never = route.never;
        }
    }

    /// What the route does not name and a gate of the wood asks for all the same: the drying, with
    /// its readings two days apart, of a figure that was never wetted.
    fn openers(&mut self, card: &'a Figure, route: &mut Route, (list, work): (&Checklist, &Work)) {
        let house = self.outlook.house;
        let steps = list.steps.iter().take(1).flat_map(|step| &step.gates);
        let mut asks = list.gates.iter().chain(steps);
        if !asks.any(|ask| matches!(ask.gate, GateKind::Moisture | GateKind::Neutral)) {
            return;
        }
        let openers = openers(house, &card.id, work, self.outlook.now).into_iter();
        for by in openers.flat_map(|opener| opener.works) {
            let same = |it: &Work| (&it.operation, &it.target) == (&by.operation, &by.target);
            let is_named = card.route.iter().any(|it| it.operation == by.operation);
            let is_walked = route.walked.iter().any(|(_, it, _)| same(it));
            let list = house.cards.checklists.get(&by.operation);
            if let (false, false, Some(list)) = (is_named, is_walked, list) {
                self.opener(card, route, (list, by));
            }
        }
    }

    /// Whether the wood can come as far as the gate asks is told with the work that asks.
    fn opener(&mut self, card: &'a Figure, route: &mut Route, (list, by): (&'a Checklist, Work)) {
        let ahead = walk_ahead(self.outlook.house, &card.id, &by);
        let ends = drafts(self.walk(card, list, &by), &ahead).is_ok();
        if ends && self.stays_wet(&card.id, list, &by).is_none() {
            let places = places(card, list, by.target.as_deref());
            self.job(card, route, (list, by, places), false);
        }
    }

    /// The slot at which a day is over.
    fn end_of(&self, day: chrono::NaiveDate) -> u32 {
        let now = self.outlook.now;
        let days = (day - now.date_naive()).num_days() + 1;
        let midnight = i64::from(chrono::Timelike::num_seconds_from_midnight(&now.time())) / 60;
        let minutes = (days * 24 * 60 - midnight).max(0);
        u32::try_from(minutes / i64::from(GRAIN_MIN)).unwrap_or(u32::MAX)
    }

    fn job(
        &mut self,
        card: &'a Figure,
        route: &mut Route,
        (list, work, places): (&'a Checklist, Work, Vec<String>),
        begun: bool,
    ) {
        let goal = self.project.goals.len() - 1;
        let before = route.before(&places);
        // What was begun is gone on with; what comes behind it still waits for both.
        let goes_on = begun && !route.is_done_anew(&places);
        let made = match (&before, self.stays_wet(&card.id, list, &work)) {
            (None, _) => None,
            (Some(_), Some(why)) => Some(Err(why)),
            (Some(_), None) => {
                let ahead = walk_ahead(self.outlook.house, &card.id, &work);
                Some(drafts(self.walk(card, list, &work), &ahead))
            }
        };
        let made = match made {
            Some(Ok(made)) => made,
            Some(Err(why)) => {
                route.never.get_or_insert(why);
                route.stop(&places);
                return;
            }
            None => {
                route.stop(&places);
                return;
            }
        };
        let before = before.unwrap_or_default();
        let waits_for = if goes_on { Vec::new() } else { before.clone() };
        let blocks = self.push(&made, goal, (&work, waits_for), false);
        let job = self.project.jobs.len() - 1;
        if blocks.0 == blocks.1 {
            // Nothing of it takes time: what comes behind waits for what came before.
            route.walked.push((places, work, blocks));
            return;
        }
        if let Some(kept) = self.project.goals.get_mut(goal) {
            kept.blocks.extend(blocks.0..blocks.1);
        }
        let beside = if goes_on { before } else { Vec::new() };
        route.go_on(&places, beside.into_iter().chain([blocks.1 - 1]).collect());
        route.walked.push((places.clone(), work.clone(), blocks));
        let again = self.again(card, route, (list, &work, &places));
        if let Some(kept) = self.project.jobs.get_mut(job) {
            kept.again = again;
        }
    }

    fn stays_wet(&self, figure: &str, list: &Checklist, work: &Work) -> Option<String> {
        let limits = list
            .all_gates()
            .filter(|ask| ask.gate == GateKind::Moisture)
            .map(|ask| ask.limit.unwrap_or(MOISTURE_PERCENT));
        let most = limits.min_by(f64::total_cmp)?;
        self.outlook.stays_wet(figure, work.target.as_deref(), most)
    }

    fn walk<'w>(&'w self, card: &'w Figure, list: &'w Checklist, work: &'w Work) -> Walk<'w>
    where
        'a: 'w,
    {
        let house = self.outlook.house;
        let standing = house.figure(&card.id);
        let job = standing.and_then(|it| it.job(work));
        let touched = job.map(|job| {
            let done = job.acts.values().filter_map(|act| act.done.as_ref());
            done.map(|stamp| stamp.at).max().unwrap_or(job.begun.at)
        });
        let room = house.room_of(&card.id);
        let rooms = &house.cards.shop.rooms;
        Walk {
            outlook: &self.outlook,
            figure: &card.id,
            work,
            list,
            room: rooms.iter().position(|it| it.id == room).unwrap_or(0),
            share: share(card, list, work),
            clocks: job.map_or(&[], |_| &self.clocks),
            idle_h: touched.map_or(0.0, |at| hours_between(at, self.outlook.now).0.max(0.0)),
            longest: self.longest,
            there: &self.there,
        }
    }

    /// Minutes of hands that a whole walk is reckoned to take.
    fn reckoned(&self, figure: &str, work: &Work) -> Option<f64> {
        let house = self.outlook.house;
        let card = house.cards.figures.get(figure)?;
        let list = house.cards.checklists.get(&work.operation)?;
        let blank = Work {
            round: u32::MAX,
            ..work.clone()
        };
        let ahead = walk_ahead(house, figure, &blank);
        let made = drafts(self.walk(card, list, &blank), &ahead).ok()?;
        Some(likely_hands(&made)).filter(|it| 0.0 < *it)
    }

    /// Adds a walk's tasks as blocks of a new job; returns its first block and one past its last.
    fn push(
        &mut self,
        made: &[Draft],
        goal: usize,
        (work, before): (&Work, Vec<usize>),
        spare: bool,
    ) -> (usize, usize) {
        let first = self.project.blocks.len();
        let job = self.project.jobs.len();
        let mut begin = 0;
        for (nth, draft) in made.iter().enumerate() {
            let mut task = draft.task.clone();
            task.cause = self.cause(goal, &work.operation, draft.sort);
            if !draft.joined || nth == 0 {
                begin = nth;
                task.link = Link::After;
                let at = self.project.blocks.len();
                let before = if at == first {
                    before.clone()
                } else {
                    vec![at - 1]
                };
                self.project.blocks.push(Block {
                    first: self.project.tasks.len(),
                    end: self.project.tasks.len(),
                    before,
                    job,
                    spare,
                });
            }
            task.limit = task.limit.and_then(|limit| {
                Some(super::project::Limit {
                    from: limit.from.checked_sub(begin)?,
                    ..limit
                })
            });
            self.project.tasks.push(task);
            let end = self.project.tasks.len();
            if let Some(block) = self.project.blocks.last_mut() {
                block.end = end;
            }
        }
        let end = self.project.blocks.len();
        self.project.jobs.push(JobAhead {
            figure: goal,
            work: work.clone(),
            first,
            end,
            again: None,
        });
        (first, end)
    }

    fn cause(&mut self, goal: usize, operation: &str, sort: &str) -> usize {
        let words = format!("{operation}, {sort}");
        let causes = &mut self.project.causes;
        let place = *self.causes.entry((goal, words.clone())).or_insert_with(|| {
            causes.push(Cause {
                figure: goal,
                words,
            });
            causes.len() - 1
        });
        if self.project.ratios.len() <= place {
            let own = (sort == "hands")
                .then(|| self.paces.get(operation))
                .flatten();
            self.project.ratios.push(own.cloned().unwrap_or_default());
        }
        place
    }

    /// The way back from a walk, with all that is walked again on the same place.
    fn again(
        &mut self,
        card: &'a Figure,
        route: &Route,
        (list, work, places): (&Checklist, &Work, &[String]),
    ) -> Option<Again> {
        let goal = self.project.goals.len() - 1;
        let (chance, back_to) = self.loops.back(list)?;
        let cause = self.cause(goal, &work.operation, "walked again");
        let here = |it: &&(Vec<String>, Work, (usize, usize))| {
            it.1 == *work || it.0.iter().any(|place| places.contains(place))
        };
        let all: Vec<_> = route.walked.iter().filter(here).collect();
        let from = all.iter().rposition(|it| it.1.operation == back_to);
        let from = from.unwrap_or(all.len() - 1);
        let mut blocks = Vec::new();
        for (_, back, (first, end)) in all.get(from..)?.iter().copied() {
            let (first, end) = if first == end {
                self.spare(card, goal, back)
            } else {
                (*first, *end)
            };
            blocks.extend(first..end);
        }
        Some(Again {
            chance,
            blocks,
            cause,
        })
    }

    /// Blocks of a walk that is over, for when it is walked again.
    fn spare(&mut self, card: &'a Figure, goal: usize, work: &Work) -> (usize, usize) {
        let key = (goal, work.operation.clone(), work.target.clone());
        if let Some(made) = self.spares.get(&key) {
            return *made;
        }
        let house = self.outlook.house;
        let next = Work {
            round: u32::MAX,
            ..work.clone()
        };
        let made = house
            .cards
            .checklists
            .get(&work.operation)
            .and_then(|list| {
                let ahead = walk_ahead(house, &card.id, &next);
                drafts(self.walk(card, list, &next), &ahead).ok()
            });
        let blocks = self.push(&made.unwrap_or_default(), goal, (&next, Vec::new()), true);
        self.spares.insert(key, blocks);
        blocks
    }
}

impl Route {
    /// The blocks a walk on these places waits for; none when something before it never ends.
    fn before(&self, places: &[String]) -> Option<Vec<usize>> {
        if self.stuck {
            return None;
        }
        let mut before: BTreeSet<usize> = BTreeSet::new();
        if places.is_empty() {
            for last in self.last.values() {
                before.extend(last.as_ref()?);
            }
        }
        for place in places {
            if let Some(last) = self.last.get(place) {
                before.extend(last.as_ref()?);
            }
        }
        before.extend(&self.whole);
        Some(before.into_iter().collect())
    }

    /// What comes behind a walk on these places waits for these blocks.
    fn go_on(&mut self, places: &[String], blocks: Vec<usize>) {
        for place in places {
            self.last.insert(place.clone(), Some(blocks.clone()));
        }
        if places.is_empty() {
            self.last.clear();
            self.whole = blocks;
        }
    }

    /// Whether something before a walk on these places is walked anew: then the place is frozen
    /// and what was begun there waits.
    fn is_done_anew(&self, places: &[String]) -> bool {
        self.walked.iter().any(|(there, work, (first, end))| {
            let met = |place: &String| places.contains(place);
            let touches = places.is_empty() || there.is_empty() || there.iter().any(met);
            first < end && 1 < work.round && touches
        })
    }

    fn stop(&mut self, places: &[String]) {
        self.stuck |= places.is_empty();
        for place in places {
            self.last.insert(place.clone(), None);
        }
    }
}
