//! A lot's own times: what hands said against what the sheet had for the air of the day. By
//! lot, so that a new lot starts again; misses count; nothing becomes more daring than the
//! sheet before five own cases and the supervisor's yes. The sum stands in `reckon::learned`.
//!
//! A hand looks now and then; what it finds lies between two looks. Each case is taken where it
//! does not hurt: come at the later look, dead or gelled at the earlier. Where the looks say
//! neither quicker nor slower than likely, the case says as likely, or nothing.

use std::collections::BTreeMap;

use super::clock_times::{Times, times_past};
use super::facts::Clock;
use super::size::SizeSheet;
use super::{House, Refusal, air, shelf};
use crate::card::{ClockName, CureHours, Mark};
use crate::deed::{ClockRule, Deed, LotTrusted, Place, Stamp};
use crate::reckon::learned::{Consent, ENOUGH, Past, learned};
use crate::reckon::{Estimate, Hours, Minutes};

/// The latest cases of a lot that count: an opened tin changes, old cases say less.
const LATEST: usize = 40;

/// Words for a cup that has gone off, as hands say them (*common practice*).
const GELLED: [&str; 6] = ["gel", "stiff", "hot", "smok", "hard", "thick"];

/// Words that say what was waited for has come: of size, of the nail, of sanding.
const COME: [&str; 3] = ["ready", "hard", "powder"];

/// What is learned about a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Side {
    /// How long a cup lasts.
    Cup,
    /// When what is waited for has come.
    Come,
    /// When size is dead.
    Dead,
}

/// What cases are alike in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Like {
    /// Clocks of one name.
    Clock(ClockName),
    /// One place of a size.
    Size(Place),
}

/// Cases of one kind: lot, what they are alike in, and what is learned.
type Kind = (String, Like, Side);

/// Cases of one kind, and whether they may make a time more daring than its sheet.
type Told = (Vec<Past>, Consent);

/// Every clock about which a hand has spoken, by what may be its lot.
#[derive(Debug, Default)]
pub(super) struct Learnt<'a> {
    by_lot: BTreeMap<&'a str, Vec<(&'a str, &'a Clock)>>,
    /// Cases that were asked for already: several clocks of one lot ask for the same.
    cases: BTreeMap<Kind, Vec<Past>>,
}

impl<'a> Learnt<'a> {
    /// Returns what was said over all figures, in the order in which the clocks started.
    pub(super) fn of(house: House<'a>) -> Self {
        let mut by_lot: BTreeMap<&str, Vec<(&str, &Clock)>> = BTreeMap::new();
        for (figure, standing) in &house.standing.figures {
            let judged = standing.judged.iter();
            for clock in judged.filter_map(|place| standing.clocks.get(*place)) {
                for lot in &clock.lots {
                    by_lot.entry(lot).or_default().push((figure, clock));
                }
            }
        }
        for told in by_lot.values_mut() {
            told.sort_by_key(|(_, clock)| clock.started.at);
        }
        Self {
            by_lot,
            cases: BTreeMap::new(),
        }
    }

    /// Returns the times of a clock with what its lot has shown, and where they come from.
    pub(super) fn apply(
        &mut self,
        house: House<'_>,
        clock: &Clock,
        sheet: Times,
    ) -> (Times, String) {
        let provenance = from_sheet(clock, &sheet);
        let Some(lot) = lot_of(house, clock) else {
            return (sheet, provenance);
        };
        let like = like(clock);
        let yes = consent(house, lot);
        match &clock.rule {
            // A cup that lasts longer than its sheet is a fire: it only ever learns shorter.
            ClockRule::PotLife { .. } => {
                let cups = self.past(house, lot, (like, Side::Cup)).to_vec();
                before(sheet, provenance, &[(cups, Consent::NotYet)])
            }
            ClockRule::Cure { .. } | ClockRule::Recoat { .. } => {
                let come = self.past(house, lot, (like, Side::Come)).to_vec();
                after(sheet, provenance, &[(come, yes)])
            }
            ClockRule::Tack { place, .. } => {
                let likely = sheet.likely;
                let come = self.of_size(house, lot, (*place, Side::Come));
                let (times, said) = after(sheet, provenance, &come);
                let dead = self.of_size(house, lot, (*place, Side::Dead));
                let learnt = times.likely;
                // The likely end is not kept in the times: its bound alone is moved.
                let bound = Times {
                    likely: times.closes,
                    ..times
                };
                let (times, said) = before(bound, said, &dead);
                let likely = learnt.or(likely);
                (Times { likely, ..times }, said)
            }
            ClockRule::Film { .. } | ClockRule::Span { .. } | ClockRule::Purge { .. } => {
                (sheet, provenance)
            }
        }
    }

    /// Returns the latest cases of a lot that are of one kind.
    fn past(&mut self, house: House<'_>, lot: &str, (wanted, side): (Like, Side)) -> &[Past] {
        let told = self.by_lot.get(lot).map_or(&[][..], Vec::as_slice);
        let kind = (lot.to_owned(), wanted, side);
        self.cases.entry(kind).or_insert_with(|| {
            let same = told.iter().rev().filter(|(_, clock)| like(clock) == wanted);
            same.filter_map(|(figure, clock)| case(house, (figure, clock), side))
                .take(LATEST)
                .collect()
        })
    }

    /// Returns what bounds a place of a size: its own cases, and those of the places that come
    /// before it, or die after it. An edge is dead no later than the flat beside it, a hollow
    /// comes no sooner. Where the place has no cases of its own, what was seen there may only
    /// make it more careful.
    fn of_size(&mut self, house: House<'_>, lot: &str, (place, side): (Place, Side)) -> Vec<Told> {
        let yes = match self.past(house, lot, (Like::Size(place), side)) {
            [] => Consent::NotYet,
            _ => consent(house, lot),
        };
        let all = [Place::Edge, Place::Flat, Place::Hollow];
        all.into_iter()
            .filter(|other| match side {
                Side::Dead => place <= *other,
                Side::Come | Side::Cup => *other <= place,
            })
            .map(|other| {
                let told = self.past(house, lot, (Like::Size(other), side));
                (told.to_vec(), yes)
            })
            .collect()
    }
}

fn like(clock: &Clock) -> Like {
    match &clock.rule {
        ClockRule::Tack { place, .. } => Like::Size(*place),
        _ => Like::Clock(clock.clock),
    }
}

/// Returns the lot of a clock, as far as a card knows it.
fn lot_of<'c>(house: House<'_>, clock: &'c Clock) -> Option<&'c str> {
    let is_size = matches!(clock.rule, ClockRule::Tack { .. });
    let mut lots = clock.lots.iter().map(String::as_str);
    lots.rfind(|lot| !lot.is_empty() && (!is_size || is_on_a_card(house, lot)))
}

fn is_on_a_card(house: House<'_>, lot: &str) -> bool {
    let mut all = house.cards.materials.values();
    all.any(|material| material.tack_h.is_some() && shelf::is_of(house, material, lot))
}

fn consent(house: House<'_>, lot: &str) -> Consent {
    let trusted = &house.standing.shop.trusted;
    if trusted.iter().any(|(_, known, _)| known == lot) {
        Consent::Given
    } else {
        Consent::NotYet
    }
}

/// Returns one case: what the sheet had for the air of that day, and what happened.
fn case(house: House<'_>, (figure, clock): (&str, &Clock), side: Side) -> Option<Past> {
    let since = |at| air::hours_between(clock.started.at, at).0;
    let (_, last) = clock.words.last()?;
    let predicted = match side {
        Side::Dead => likely_dead(house, (figure, clock))?,
        Side::Cup | Side::Come => times_past(house, figure, clock, *last).likely?,
    };
    let said = |words: &[&str]| {
        let mut all = clock.words.iter();
        all.find(|(word, _)| words.iter().any(|known| word.contains(known)))
            .map(|(_, at)| since(*at))
    };
    let longer = since(*last);
    let actual = match side {
        // A cup used up in time says nothing; one still good beyond its time says so much, and
        // one found gelled in the evening says no more.
        Side::Cup => said(&GELLED)
            .map(|gelled| gelled.min(predicted))
            .or_else(|| {
                said(&["used up"])
                    .filter(|_| predicted < longer)
                    .map(|_| predicted)
            }),
        Side::Come => come(predicted, said(&COME), clock),
        Side::Dead => {
            let alive = clock.words.iter().rev();
            let alive = alive
                .filter(|(word, _)| word == "ready" || word == "going")
                .map(|(_, at)| since(*at))
                .next();
            match (said(&["dead"]), alive) {
                (Some(_), Some(alive)) => Some(alive),
                (Some(dead), None) => Some(dead.min(predicted)),
                (None, alive) => alive.filter(|alive| predicted < *alive),
            }
        }
    }?;
    Some(Past {
        predicted: Minutes(predicted * 60.0),
        actual: Minutes(actual * 60.0),
    })
}

/// When what was waited for came, between the last look that said not yet and the first that
/// said it had come.
///
/// Who looks only once the late bound has passed finds it come, whatever the lot is like. To
/// take that look for the time it took would push the bound out further with every batch. So
/// a look counts as quick only before the likely time, as slow only after a not-yet beyond it.
fn come(predicted: f64, found: Option<f64>, clock: &Clock) -> Option<f64> {
    let since = |at| air::hours_between(clock.started.at, at).0;
    let is_come = |word: &str| COME.iter().any(|come| word.contains(come));
    let mut before = clock.words.iter().take_while(|(word, _)| !is_come(word));
    let not_yet = before.by_ref().last().map(|(_, at)| since(*at));
    match (not_yet, found) {
        (_, Some(found)) if found <= predicted => Some(found),
        (Some(not_yet), found) if predicted < not_yet => Some(found.unwrap_or(not_yet)),
        (Some(_), Some(_)) => Some(predicted),
        _ => None,
    }
}

/// The likely hours to dead size over the air of the day.
fn likely_dead(house: House<'_>, (figure, clock): (&str, &Clock)) -> Option<f64> {
    let ClockRule::Tack {
        class,
        place,
        ready,
        dead,
    } = &clock.rule
    else {
        return None;
    };
    let (_, end) = clock.words.last()?;
    let room = house.room_of(figure);
    let traces = air::behind(house, room, (clock.started.at, *end), ready.at_c)?;
    let sheet = SizeSheet::new(*class, ready, dead);
    let place = super::clock_times::leaf_place(*place);
    let air = (&traces, super::Damp::default());
    let tack = sheet.middling(place, air, Hours(0.0)).ok()?;
    Some(tack.dead.likely().0)
}

/// Moves what must be done before.
fn before(sheet: Times, from: String, told: &[Told]) -> (Times, String) {
    let (Some(closes), Some(likely)) = (sheet.closes, sheet.likely) else {
        return (sheet, from);
    };
    let bounds = [closes, likely.max(closes), likely.max(closes)];
    match soonest(bounds, &sheet.because, told) {
        Some(own) => {
            let times = Times {
                closes: Some(own.do_before().0 / 60.0),
                likely: Some(own.likely().0 / 60.0),
                because: own.because().to_owned(),
                ..sheet
            };
            (times, from_lot(most(told)))
        }
        None => (sheet, from),
    }
}

/// Moves what is waited for.
fn after(sheet: Times, from: String, told: &[Told]) -> (Times, String) {
    let (Some(opens), Some(likely)) = (sheet.opens, sheet.likely) else {
        return (sheet, from);
    };
    let bounds = [likely.min(opens), likely.min(opens), opens];
    match last(bounds, &sheet.because, told) {
        Some(own) => {
            let times = Times {
                opens: Some(own.wait_until().0 / 60.0),
                likely: Some(own.likely().0 / 60.0),
                because: own.because().to_owned(),
                ..sheet
            };
            (times, from_lot(most(told)))
        }
        None => (sheet, from),
    }
}

/// The sheet as each kind of cases moves it, hours to minutes.
fn moved<'t>(
    hours: [f64; 3],
    because: &str,
    told: &'t [Told],
) -> impl Iterator<Item = Estimate<Minutes>> + use<'t> {
    let sheet = in_minutes(hours, because);
    let told = told.iter().filter(|(past, _)| !past.is_empty());
    told.map(move |(past, yes)| learned(&sheet, past, *yes))
}

fn in_minutes(hours: [f64; 3], because: &str) -> Estimate<Minutes> {
    let [early, likely, late] = hours.map(|hours| Minutes(hours * 60.0));
    Estimate::new(early, likely, late, because)
}

/// Of what is done before, the soonest end that any of the cases asks for.
fn soonest(hours: [f64; 3], because: &str, told: &[Told]) -> Option<Estimate<Minutes>> {
    moved(hours, because, told).min_by(|a, b| a.do_before().0.total_cmp(&b.do_before().0))
}

/// Of what is waited for, the last.
fn last(hours: [f64; 3], because: &str, told: &[Told]) -> Option<Estimate<Minutes>> {
    moved(hours, because, told).max_by(|a, b| a.wait_until().0.total_cmp(&b.wait_until().0))
}

/// How many cases the largest kind has.
fn most(told: &[Told]) -> usize {
    told.iter().map(|(past, _)| past.len()).max().unwrap_or(0)
}

fn from_lot(cases: usize) -> String {
    format!("from this lot (n = {cases})")
}

fn from_sheet(clock: &Clock, times: &Times) -> String {
    let is_span = matches!(clock.rule, ClockRule::Span { .. });
    if times.because.starts_with("guess") {
        "guess"
    } else if matches!(clock.rule, ClockRule::Purge { .. }) {
        "from the shop card"
    } else if is_span && times.because.contains("common practice") {
        "common practice"
    } else {
        "from sheet"
    }
    .to_owned()
}

/// Returns the printed hours of a size as a lot of it has shown them, ready and dead, and how
/// many cases stand behind them. They hold for the whole of a panel: ready as the slowest of
/// flat and hollow has it, dead as the edge, each by the rule of the clocks.
pub(crate) fn sized_by_lot(
    house: House<'_>,
    (ready, dead): (CureHours, CureHours),
    lot: &str,
) -> (CureHours, CureHours, usize) {
    let mut learnt = Learnt::of(house);
    let hours = |sheet: CureHours, own: Option<Estimate<Minutes>>| {
        own.map_or(sheet, |own| CureHours {
            early: own.do_before().0 / 60.0,
            likely: own.likely().0 / 60.0,
            late: own.wait_until().0 / 60.0,
            ..sheet
        })
    };
    let bounds = |sheet: CureHours| [sheet.early, sheet.likely, sheet.late];
    let [flat, hollow] =
        [Place::Flat, Place::Hollow].map(|place| learnt.of_size(house, lot, (place, Side::Come)));
    let gone = learnt.of_size(house, lot, (Place::Edge, Side::Dead));
    // A place without cases stands by its sheet.
    let come = [&flat, &hollow].map(|told| {
        let own = last(bounds(ready), "", told);
        own.unwrap_or_else(|| in_minutes(bounds(ready), ""))
    });
    let slowest = come
        .into_iter()
        .max_by(|a, b| a.wait_until().0.total_cmp(&b.wait_until().0))
        .filter(|_| 0 < most(&hollow));
    (
        hours(ready, slowest),
        hours(dead, soonest(bounds(dead), "", &gone)),
        most(&hollow).max(most(&gone)),
    )
}

/// Returns the deed with which a supervisor lets a lot's own times replace its sheet.
///
/// # Errors
/// A [`Refusal`] when the person may not sign, the lot is not on the card, it is trusted
/// already, or it has too few cases.
pub(super) fn trust(
    house: House<'_>,
    by: &str,
    (material, lot): (&str, &str),
) -> Result<Deed, Refusal> {
    let who = super::decide::person(house, by)?;
    if !who.marks.contains(&Mark::Sign) {
        return Err(Refusal::new(format!(
            "{} has no mark to trust a lot",
            who.name
        )));
    }
    let card = house.cards.materials.get(material);
    let card = card.ok_or_else(|| Refusal::new(format!("no material is called `{material}`")))?;
    if !lot.split(" + ").all(|part| shelf::is_of(house, card, part)) {
        return Err(Refusal::new(format!("{} has no lot `{lot}`", card.name)));
    }
    if consent(house, lot) == Consent::Given {
        return Err(Refusal::new(format!("lot {lot} is trusted already")));
    }
    let cases = Learnt::of(house).most_cases(house, lot);
    if cases < ENOUGH {
        return Err(Refusal::new(format!(
            "lot {lot} has {cases} own cases of one kind, {ENOUGH} are needed"
        )));
    }
    Ok(Deed::LotTrusted(LotTrusted {
        material: material.to_owned(),
        lot: lot.to_owned(),
    }))
}

/// A lot with times of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnTimes {
    /// Material id.
    pub material: String,
    /// Name of the material.
    pub name: String,
    /// Lot; of two parts both, as `A + B`.
    pub lot: String,
    /// The most cases of one kind.
    pub cases: usize,
    /// Whether they are enough to be trusted.
    pub enough: bool,
    /// Who trusted them, and when.
    pub trusted: Option<Stamp>,
}

/// Returns the lots on the cards that hands have said something about, by material and lot.
pub fn own_times(house: House<'_>) -> Vec<OwnTimes> {
    let mut learnt = Learnt::of(house);
    let lots: Vec<&str> = learnt.by_lot.keys().copied().collect();
    let mut all: Vec<OwnTimes> = lots
        .into_iter()
        .filter_map(|lot| {
            let mut materials = house.cards.materials.values();
            let card = materials
                .find(|card| lot.split(" + ").all(|part| shelf::is_of(house, card, part)))?;
            let cases = learnt.most_cases(house, lot);
            let trusted = house.standing.shop.trusted.iter();
            let trusted = trusted.rev().find(|(_, known, _)| known == lot);
            (0 < cases).then(|| OwnTimes {
                material: card.id.clone(),
                name: card.name.clone(),
                lot: lot.to_owned(),
                cases,
                enough: ENOUGH <= cases,
                trusted: trusted.map(|(.., stamp)| stamp.clone()),
            })
        })
        .collect();
    all.sort_by(|a, b| (&a.material, &a.lot).cmp(&(&b.material, &b.lot)));
    all
}

impl Learnt<'_> {
    /// Returns the most cases of one kind that a lot has.
    fn most_cases(&mut self, house: House<'_>, lot: &str) -> usize {
        let told = self.by_lot.get(lot).cloned().unwrap_or_default();
        let mut most = 0;
        for (_, clock) in told {
            for side in [Side::Cup, Side::Come, Side::Dead] {
                most = most.max(self.past(house, lot, (like(clock), side)).len());
            }
        }
        most
    }
}
