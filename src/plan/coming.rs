//! What the coming weeks need from the shelf: the work that lies ahead in the order in which one
//! likely plan begins it, week by week; and what all that lies ahead takes and of which no lot in
//! date is there. The plan is the one in which all takes its likely time and nothing goes wrong: it
//! says what to order first, and promises no day.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::beside::begun;
use super::board::{Board, Luck};
use super::forecast::SEED;
use super::order::{SEARCH, order};
use super::project::GRAIN_MIN;
use super::stock::{MaterialNeed, Stock, WorkNeed};
use super::{Change, ahead};
use crate::card::MaterialKind;
use crate::deed::Work;
use crate::standing::{House, offers, shelf_lacks, takes, tins as tins_of};

/// Weeks that are looked at, the one that runs among them (own choice: what is ordered today is
/// here by then).
pub const WEEKS: usize = 4;

/// The weeks by their numbers (by definition).
const WEEK_STARTS: [i64; WEEKS] = [0, 1, 2, 3];

/// Days of a week.
const WEEK_D: i64 = 7;

/// An order of the work is good enough for weeks after so much less seeking than for a promise
/// (own choice).
const LESS_SOUGHT: usize = 100;

/// What the coming weeks need.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Coming {
    /// The Monday of each week.
    pub weeks: [NaiveDate; WEEKS],
    /// Each material of which some is needed, in its unit, week by week.
    pub needs: Vec<WeekNeed>,
    /// What is taken and stands nowhere in date, in words: how many jobs ahead take it, and how
    /// many of them begin within these weeks. What is soonest needed comes first.
    pub lacking: Vec<(String, u32, u32)>,
    /// What is taken and of which no sum says how much. What is soonest needed comes first.
    pub besides: Vec<Besides>,
}

/// A kind of material that work ahead takes and of which no sum says how much.
#[derive(Debug, Clone, PartialEq)]
pub struct Besides {
    /// What it is.
    pub kind: MaterialKind,
    /// How many jobs ahead take it.
    pub jobs: u32,
    /// How many of them begin within these weeks.
    pub soon: u32,
    /// Lots of it in date.
    pub lots: usize,
}

/// What the weeks need of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekNeed {
    /// Material id.
    pub material: String,
    /// `a`, `b` or empty.
    pub part: String,
    /// `g`, `ml` or `leaves`.
    pub unit: &'static str,
    /// How much, by week.
    pub amounts: [f64; WEEKS],
    /// What is left of it in lots in date; absent where that is not known.
    pub left: Option<f64>,
    /// Lots in date of which nobody knows what is left.
    pub unknown: usize,
}

/// Returns what the weeks from `now` on need of what `stock` says that the routes need.
pub fn coming(
    house: House<'_>,
    (now, tomorrow): (DateTime<FixedOffset>, FixedOffset),
    stock: &Stock,
) -> Coming {
    let begins = begins(house, (now, tomorrow));
    let today = now.date_naive();
    let monday = today.week(chrono::Weekday::Mon).first_day();
    let place = |day: NaiveDate| usize::try_from((day - monday).num_days() / WEEK_D).ok();
    let week = |figure: &str, work: &Work| {
        let day = begins.get(&(figure.to_owned(), work.clone()))?;
        place(*day).filter(|week| *week < WEEKS)
    };
    let mut needs: BTreeMap<(&str, &str), [f64; WEEKS]> = BTreeMap::new();
    for WorkNeed {
        figure,
        work,
        material,
        part,
        amount,
    } in &stock.by_work
    {
        if let Some(week) = week(figure, work) {
            let row = needs.entry((material, part)).or_default();
            if let Some(sum) = row.get_mut(week) {
                *sum += amount;
            }
        }
    }
    let of = |material: &str, part: &str| {
        let is_it = |need: &&MaterialNeed| need.material == material && need.part == part;
        stock.needs.iter().find(is_it)
    };
    let needs = needs.into_iter().filter_map(|((material, part), amounts)| {
        let need = of(material, part)?;
        Some(WeekNeed {
            material: material.to_owned(),
            part: part.to_owned(),
            unit: need.unit,
            amounts,
            left: need.left,
            unknown: need.unknown,
        })
    });
    Coming {
        needs: needs.collect(),
        weeks: WEEK_STARTS.map(|week| monday + Duration::days(WEEK_D * week)),
        besides: besides(house, (stock, today), &week),
        lacking: tally(house, &week, |figure, work| {
            shelf_lacks(house, (figure, work), today)
        }),
    }
}

/// Returns the day on which each work ahead begins by the likely plan.
fn begins(
    house: House<'_>,
    (now, tomorrow): (DateTime<FixedOffset>, FixedOffset),
) -> BTreeMap<(String, Work), NaiveDate> {
    let project = ahead(house, (now, tomorrow), &Change::default());
    let found = order(&project, SEED, SEARCH / LESS_SOUGHT);
    let mut board = Board::new(&project);
    board.place(&project, &found, &Luck::likely(&project));
    let begun = begun(&project, &board);
    let jobs = project.jobs.iter().filter_map(|job| {
        let goal = project.goals.get(job.figure)?;
        let from = begun.get(job.first..job.end)?.iter().min()?;
        // What fitted nowhere is begun nowhere.
        (*from < project.slots).then_some(())?;
        let at = now + Duration::minutes(i64::from(*from) * i64::from(GRAIN_MIN));
        Some(((goal.figure.clone(), job.work.clone()), at.date_naive()))
    });
    jobs.collect()
}

/// Counts what all work ahead takes, thing by thing: by how many jobs, and by how many that begin
/// within these weeks. What is soonest needed comes first.
fn tally<T: Ord>(
    house: House<'_>,
    week: &impl Fn(&str, &Work) -> Option<usize>,
    takes: impl Fn(&str, &Work) -> Vec<T>,
) -> Vec<(T, u32, u32)> {
    let mut all: BTreeMap<T, (u32, u32)> = BTreeMap::new();
    for figure in house.cards.figures.keys() {
        let left = offers(house, figure);
        for offer in left.iter().filter(|offer| offer.stage.is_ahead()) {
            let soon = u32::from(week(figure, &offer.work).is_some());
            for thing in takes(figure, &offer.work) {
                let (jobs, within) = all.entry(thing).or_default();
                *jobs += 1;
                *within += soon;
            }
        }
    }
    let all = all
        .into_iter()
        .map(|(thing, (jobs, soon))| (thing, jobs, soon));
    let mut all: Vec<(T, u32, u32)> = all.collect();
    all.sort_by_key(|(_, jobs, soon)| (std::cmp::Reverse(*soon), std::cmp::Reverse(*jobs)));
    all
}

/// What all work ahead takes besides what is reckoned, where some of it stands on the shelf.
fn besides(
    house: House<'_>,
    (stock, today): (&Stock, NaiveDate),
    week: &impl Fn(&str, &Work) -> Option<usize>,
) -> Vec<Besides> {
    let kind_of = |material: &str| house.cards.materials.get(material).map(|card| card.kind);
    let unreckoned = |figure: &str, work: &Work| {
        let needs = stock.by_work.iter();
        let here = needs.filter(|need| need.figure == figure && need.work == *work);
        let reckoned: Vec<Option<MaterialKind>> =
            here.map(|need| kind_of(&need.material)).collect();
        let mut kinds = takes(house, work);
        kinds.retain(|kind| !reckoned.contains(&Some(*kind)));
        kinds
    };
    let in_date = |kind: MaterialKind| {
        let cards = house.cards.materials.values();
        let tins = cards.filter(|card| card.kind == kind);
        let tins = tins.flat_map(|card| tins_of(house, card));
        tins.filter(|tin| tin.expires.is_none_or(|expires| today <= expires))
            .count()
    };
    let all = tally(house, week, unreckoned).into_iter();
    let all = all.map(|(kind, jobs, soon)| Besides {
        kind,
        jobs,
        soon,
        lots: in_date(kind),
    });
    all.filter(|it| 0 < it.lots).collect()
}
