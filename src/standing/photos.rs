//! Which photographs there are of a figure, zone by zone, and which are missing before work.
//!
//! A photograph is *filed* when its file was taken in with its hash, and *said* when a hand
//! only said at the bench that it was taken: then it is still in the camera.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset, NaiveDateTime, TimeDelta};

use super::decide::fits_path;
use super::{
    House,
    facts::{Job, RecordKept},
};
use crate::card::{Checklist, GateKind, Record, Scope};
use crate::deed::{PhotoKept, Value};

/// The operation that takes the record before work; the gate `before` asks for it.
const BEFORE: &str = "photograph";

/// One photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoSeen {
    /// Zone, joint or panel; `None` for the whole figure.
    pub target: Option<String>,
    /// Station, such as `before raking`.
    pub station: String,
    /// When it was filed, or when a hand said that it was taken.
    pub at: DateTime<FixedOffset>,
    /// Who.
    pub by: String,
    /// The line that it stands in.
    pub line: u64,
    /// The file, once it was taken in.
    pub filed: Option<PhotoKept>,
    /// A picture of the record before whose file came after the work there had begun.
    pub late: Option<LateIn>,
}

impl PhotoSeen {
    /// Returns when its camera says that it was taken, where that can be; see [`taken_at`].
    pub fn taken(&self) -> Option<NaiveDateTime> {
        taken_at(self.filed.as_ref()?, self.at)
    }

    /// Returns whether its camera names a moment that cannot have been yet, so that its clock
    /// runs ahead; `None` where it names none.
    pub fn is_clock_ahead(&self) -> Option<bool> {
        moment(self.filed.as_ref()?.taken.as_deref())?;
        Some(self.taken().is_none())
    }
}

/// A picture of the record before that came late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LateIn {
    /// When work that asks for the record before began on what it shows.
    pub began: DateTime<FixedOffset>,
    /// Whether its camera says that it was taken before that; `None` where the file says
    /// nothing. A camera's clock knows no zone and may be wrong: it is shown, not proven.
    pub taken_before: Option<bool>,
}

/// A photograph that an operation asks for and nobody has taken or filed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PhotoMissing {
    /// Zone, joint or panel; `None` for the whole figure.
    pub target: Option<String>,
    /// Operation id.
    pub operation: String,
    /// Station.
    pub station: String,
    /// A hand said that it was taken; the file is still to be taken in.
    pub said: bool,
    /// Nothing irreversible may begin here before it is taken.
    pub before_work: bool,
}

/// One photograph in the list of all: asked for, said to be taken, filed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhotoRow<'a> {
    /// Zone, joint or panel; `None` for the whole figure.
    pub target: Option<&'a str>,
    /// Station.
    pub station: &'a str,
    /// What a hand said at the bench.
    pub said: Option<&'a PhotoSeen>,
    /// Its file.
    pub filed: Option<&'a PhotoSeen>,
    /// It is asked for, and nobody took it.
    pub missing: Option<&'a PhotoMissing>,
}

impl<'a> PhotoRow<'a> {
    /// Returns what was kept of its file; `None` where there is no file yet.
    pub fn file(&self) -> Option<&'a PhotoKept> {
        self.filed?.filed.as_ref()
    }

    /// Returns what is known of it first: what a hand said, else its file.
    pub fn first(&self) -> Option<&'a PhotoSeen> {
        self.said.or(self.filed)
    }

    /// Returns how it stands, in words.
    pub fn words(&self) -> &'static str {
        match (self.missing, self.filed) {
            (Some(missing), _) if missing.before_work => {
                "missing; nothing irreversible may begin here before it is taken"
            }
            (Some(_), _) => "missing",
            (None, None) => "said to be taken, no file yet",
            (None, Some(filed)) if filed.late.is_some() => "taken in late, after work began",
            (None, Some(_)) => "taken in",
        }
    }
}

/// The photographs of a figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Photos {
    /// All of them, oldest first.
    pub all: Vec<PhotoSeen>,
    /// Those missing: all of the record before work, and those of walks that were begun.
    pub missing: Vec<PhotoMissing>,
}

impl Photos {
    /// Returns those of a part of the figure, oldest first; `None` is the whole figure.
    pub fn of<'a>(&'a self, target: Option<&'a str>) -> impl Iterator<Item = &'a PhotoSeen> {
        let mut all = self.all.iter();
        std::iter::from_fn(move || all.find(|photo| photo.target.as_deref() == target))
    }

    /// Returns every photograph once: what is missing first, that of the record before work
    /// before all else, then the others, oldest first. What a hand said is put together with
    /// the file of the same part and station, the first with the first.
    pub fn list(&self) -> Vec<PhotoRow<'_>> {
        let (mut files, said): (Vec<&PhotoSeen>, Vec<&PhotoSeen>) =
            self.all.iter().partition(|photo| photo.filed.is_some());
        let mut there: Vec<(Option<&PhotoSeen>, Option<&PhotoSeen>)> = Vec::new();
        for said in said {
            let view = (said.target.as_deref(), said.station.as_str());
            let file = files.iter().position(|file| shows(file, view));
            there.push((Some(said), file.map(|at| files.remove(at))));
        }
        there.extend(files.into_iter().map(|file| (None, Some(file))));
        there.sort_by_key(|(said, filed)| said.or(*filed).map(|it| (it.at, it.line)));
        let there = there.into_iter().filter_map(|(said, filed)| {
            let first = said.or(filed)?;
            Some(PhotoRow {
                target: first.target.as_deref(),
                station: &first.station,
                said,
                filed,
                missing: None,
            })
        });
        let missing = self.missing.iter().filter(|it| !it.said);
        let missing = missing.map(|it| PhotoRow {
            target: it.target.as_deref(),
            station: &it.station,
            said: None,
            filed: None,
            missing: Some(it),
        });
        missing.chain(there).collect()
    }

    /// Returns when a hand said that a filed photograph was taken, by the line of its file: what is
    /// known of its day where its camera says nothing.
    pub fn said_by_file(&self) -> BTreeMap<u64, DateTime<FixedOffset>> {
        let rows = self.list().into_iter();
        rows.filter_map(|row| Some((row.filed?.line, row.said?.at)))
            .collect()
    }

    /// Returns the photograph whose file has these bytes, by their SHA-256.
    pub fn kept_as(&self, sha256: &str) -> Option<&PhotoSeen> {
        let is_it = |kept: &PhotoKept| kept.sha256 == sha256;
        self.all
            .iter()
            .find(|photo| photo.filed.as_ref().is_some_and(is_it))
    }

    /// Returns the first and the last filed photograph of a part by the day on which each was
    /// taken, as far as it is known, to be looked at side by side: the record before, and how it
    /// is now. Raking light, UV and details are left out where straight views are there.
    pub fn before_and_after<'a>(
        &'a self,
        target: Option<&'a str>,
    ) -> (Option<&'a PhotoSeen>, Option<&'a PhotoSeen>) {
        let filed = || self.of(target).filter(|photo| photo.filed.is_some());
        let straight: Vec<&PhotoSeen> = filed().filter(|photo| is_straight(photo)).collect();
        let mut all = if straight.is_empty() {
            filed().collect()
        } else {
            straight
        };
        let said = self.said_by_file();
        let day = |photo: &PhotoSeen| {
            let known = || said.get(&photo.line).unwrap_or(&photo.at).naive_local();
            photo.taken().unwrap_or_else(known)
        };
        all.sort_by_cached_key(|photo| (day(photo), photo.line));
        let first = all.first().copied();
        let last = all.last().copied();
        (
            first,
            last.filter(|last| first.is_none_or(|it| it.line != last.line)),
        )
    }
}

/// Whether a photograph is one of a part and a station. Who types a station may write it
/// with capitals.
fn shows(photo: &PhotoSeen, (target, station): (Option<&str>, &str)) -> bool {
    let plain = |station: &str| station.trim().to_lowercase();
    photo.target.as_deref() == target && plain(&photo.station) == plain(station)
}

fn is_straight(photo: &PhotoSeen) -> bool {
    let mut special = ["raking", "uv", "detail", "crater"].iter();
    !special.any(|word| photo.station.contains(word))
}

/// Returns the photographs of a figure and what is missing.
pub fn photos(house: House<'_>, figure: &str) -> Photos {
    let Some(standing) = house.figure(figure) else {
        return Photos {
            missing: missing(house, figure, &[]),
            ..Photos::default()
        };
    };
    let filed = standing.photos.iter().map(|fact| PhotoSeen {
        target: fact.photo.target.clone(),
        station: fact.photo.station.clone(),
        at: fact.stamp.at,
        by: fact.stamp.by.to_string(),
        line: fact.stamp.n,
        filed: Some(fact.photo.clone()),
        late: late(house, figure, (&fact.photo, fact.stamp.at)),
    });
    let said = standing.jobs.iter().flat_map(|job| said(house, job));
    let mut all: Vec<PhotoSeen> = filed.chain(said).collect();
    all.sort_by_key(|photo| (photo.at, photo.line));
    Photos {
        missing: missing(house, figure, &all),
        all,
    }
}

fn late(
    house: House<'_>,
    figure: &str,
    (photo, at): (&PhotoKept, DateTime<FixedOffset>),
) -> Option<LateIn> {
    if !shows_before(house, &photo.station) {
        return None;
    }
    let began = work_began(house, figure, photo.target.as_deref()).filter(|began| *began <= at)?;
    Some(LateIn {
        began,
        taken_before: taken_at(photo, at).map(|taken| taken < began.naive_local()),
    })
}

/// Whether a station is one of the record before work: the checklists ask for it there, or it
/// says so itself.
fn shows_before(house: House<'_>, station: &str) -> bool {
    let list = house.cards.checklists.get(BEFORE);
    let mut stations = list.into_iter().flat_map(asked);
    let own = station.to_lowercase();
    own.split([' ', '-']).any(|word| word == BEFORE_WORD)
        || stations.any(|(_, station)| station == own)
}

/// The word in a station that says it shows the figure before the work.
const BEFORE_WORD: &str = "before";

/// Returns when the work that asks for the record before began on a part of a figure; on the
/// whole figure with its first part.
pub fn work_began(
    house: House<'_>,
    figure: &str,
    target: Option<&str>,
) -> Option<DateTime<FixedOffset>> {
    let card = house.cards.figures.get(figure);
    let zone_of = |panel: &str| {
        let mut panels = card.into_iter().flat_map(|card| &card.panels);
        panels.find(|it| it.id == panel).map(|it| it.zone.as_str())
    };
    let is_there = |job: &&Job| {
        let on = job.work.target.as_deref();
        target.is_none() || on == target || on.and_then(zone_of) == target
    };
    let asks = |job: &&Job| {
        let list = house.cards.checklists.get(&job.work.operation);
        list.is_some_and(|list| list.gates.iter().any(|ask| ask.gate == GateKind::Before))
    };
    let jobs = house.figure(figure).into_iter().flat_map(|it| &it.jobs);
    jobs.filter(is_there)
        .filter(asks)
        .map(|job| job.begun.at)
        .min()
}

/// Returns when the camera says that a photograph was taken, by the camera's own clock; `None`
/// where it does not say, and where it says a day after the one on which the picture was taken in,
/// for then its clock is wrong.
pub fn taken_at(photo: &PhotoKept, taken_in: DateTime<FixedOffset>) -> Option<NaiveDateTime> {
    camera_says(photo.taken.as_deref(), taken_in)
}

/// As [`taken_at`], from the words of the camera, such as `2026-11-03 09:12:40`.
pub fn camera_says(taken: Option<&str>, taken_in: DateTime<FixedOffset>) -> Option<NaiveDateTime> {
    let taken = moment(taken)?;
    // The camera may keep the time of another zone.
    (taken <= taken_in.naive_local() + TimeDelta::days(1)).then_some(taken)
}

fn moment(taken: Option<&str>) -> Option<NaiveDateTime> {
    NaiveDateTime::parse_from_str(taken?, "%Y-%m-%d %H:%M:%S").ok()
}

/// What a hand said at the bench. What was left out with a word why is no photograph.
fn said(house: House<'_>, job: &Job) -> Vec<PhotoSeen> {
    let Some(list) = house.cards.checklists.get(&job.work.operation) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (asked, station) in asked(list) {
        let acts = job.acts.values().flat_map(|act| &act.records);
        // Said again, the later word counts.
        let mut told: BTreeMap<Option<&str>, &RecordKept> = BTreeMap::new();
        for kept in acts.filter(|kept| kept.record == asked.id) {
            let at = told.entry(kept.station.as_deref()).or_insert(kept);
            if at.stamp.n < kept.stamp.n {
                *at = kept;
            }
        }
        for kept in told.into_values() {
            let taken = matches!(&kept.value, Value::Text(text) if !text.starts_with("not taken"));
            if taken {
                found.push(PhotoSeen {
                    target: job.work.target.clone(),
                    station: station.to_owned(),
                    at: kept.stamp.at,
                    by: kept.stamp.by.to_string(),
                    line: kept.stamp.n,
                    filed: None,
                    late: None,
                });
            }
        }
    }
    found
}

/// The photographs that a checklist asks for, also those that may be left out: record, station.
fn asked(list: &Checklist) -> impl Iterator<Item = (&Record, &str)> {
    let records = list.steps.iter().flat_map(|step| &step.record);
    records.filter_map(|record| Some((record, record.photo.as_deref()?)))
}

fn missing(house: House<'_>, figure: &str, all: &[PhotoSeen]) -> Vec<PhotoMissing> {
    let mut missing = BTreeSet::new();
    for (operation, target) in wanted(house, figure) {
        let Some(list) = house.cards.checklists.get(&operation) else {
            continue;
        };
        for (record, station) in asked(list) {
            let view = (target.as_deref(), station);
            let here = || all.iter().filter(|photo| shows(photo, view));
            let (said, filed) = (here().count(), here().any(|photo| photo.filed.is_some()));
            // What may be left out lacks nothing but the file of what was said.
            if !filed && (0 < said || !record.optional) {
                missing.insert(PhotoMissing {
                    target: target.clone(),
                    operation: operation.clone(),
                    station: station.to_owned(),
                    said: 0 < said,
                    before_work: operation == BEFORE,
                });
            }
        }
    }
    let mut missing: Vec<PhotoMissing> = missing.into_iter().collect();
    missing.sort_by_key(|it| (!it.before_work, it.said));
    missing
}

/// Operations and targets whose photographs are wanted by now.
fn wanted(house: House<'_>, figure: &str) -> Vec<(String, Option<String>)> {
    let begun = house.figure(figure).into_iter().flat_map(|it| &it.jobs);
    let mut wanted: Vec<(String, Option<String>)> = begun
        .map(|job| (job.work.operation.clone(), job.work.target.clone()))
        .collect();
    let card = house.cards.figures.get(figure);
    let list = house.cards.checklists.get(BEFORE);
    if let (Some(card), Some(list)) = (card, list) {
        let stop = card.route.iter().find(|stop| stop.operation == BEFORE);
        let zones = card.zones.iter().filter(|zone| {
            let on = stop.is_some_and(|stop| stop.on.is_empty() || stop.on.contains(&zone.id));
            on && list.scope == Scope::Zone
                && fits_path(house, figure, list, Some(&zone.id)).is_ok()
        });
        wanted.extend(zones.map(|zone| (BEFORE.to_owned(), Some(zone.id.clone()))));
    }
    wanted
}
