//! Zone by zone: where the work stands, how many coats lie on it, how it was graded. Facts
//! for a map; nothing is judged here.

use std::collections::BTreeMap;

use super::House;
use super::facts::{FigureStanding, Job, JobState};
use super::provenance::TAKES_OFF;
use crate::card::{Figure, Finish, Path, Wear, Zone};
use crate::deed::{Stamp, Value};

/// How far the work on a zone has come, by the operations finished or begun on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Progress {
    /// Nothing was begun on it.
    #[default]
    Untouched,
    /// Photographs, tests, layers, scheme.
    Studied,
    /// Stripped to the end; what was only cleaned, washed or dried still bears its old paint.
    Bared,
    /// Joints, decay, new wood, fills, sanding.
    Mended,
    /// Primer, colour, blending, lines.
    Painted,
    /// Size and leaf.
    Gilt,
    /// Varnish.
    Varnished,
    /// Inspected and handed over.
    Released,
}

impl Progress {
    /// Returns the stage of an operation by its place in the journey, 1 to 24.
    fn of_order(order: u32) -> Self {
        match order {
            0..=5 => Self::Studied,
            6..=9 => Self::Bared,
            10..=17 => Self::Mended,
            18..=20 => Self::Painted,
            21 => Self::Gilt,
            22 => Self::Varnished,
            _ => Self::Released,
        }
    }
}

/// What is known of one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneFacts {
    /// The zone as its card has it.
    pub id: String,
    /// Name.
    pub name: String,
    /// Path.
    pub path: Path,
    /// Finish.
    pub finish: Finish,
    /// Wear.
    pub wear: Wear,
    /// Measured area with its relief, m²; `None` while nobody has measured it.
    pub area_m2: Option<f64>,
    /// How far it is.
    pub progress: Progress,
    /// What was done on it, latest first.
    pub walks: Vec<WalkSeen>,
    /// What the lead test settled, as it was answered; `None` where nobody tested it, which is
    /// not "no lead".
    pub lead: Option<(String, Stamp)>,
    /// Operations open on it.
    pub open: Vec<String>,
    /// Coats laid since it was bared last, by operation id: how many, and of how many.
    pub coats: Vec<(String, [u32; 2])>,
    /// Grade of condition, 0 sound to 4 failing, as taken last.
    pub grade: Option<f64>,
    /// What was found wrong, in words.
    pub finding: String,
    /// Times it was sent back to an earlier operation.
    pub sent_back: usize,
}

/// A walk of an operation on a zone or on a panel of it.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkSeen {
    /// Operation id.
    pub operation: String,
    /// 1 for the first walk.
    pub round: u32,
    /// How it stands.
    pub ended: WalkEnd,
    /// When and by whom it came to that.
    pub stamp: Stamp,
}

/// How a walk stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WalkEnd {
    /// Being walked.
    InHand,
    /// Walked to its end.
    Done,
    /// Turned back.
    SentBack,
}

impl ZoneFacts {
    /// Returns how many coats lie on it in all.
    pub fn coats_in_all(&self) -> u32 {
        self.coats.iter().map(|(_, [laid, _])| laid).sum()
    }
}

/// Returns the zones of a figure in the order of its card.
pub fn zone_facts(house: House<'_>, figure: &str) -> Vec<ZoneFacts> {
    let nothing = FigureStanding::default();
    let standing = house.figure(figure).unwrap_or(&nothing);
    let Some(card) = house.cards.figures.get(figure) else {
        return Vec::new();
    };
    let zones = card.zones.iter();
    zones
        .map(|zone| facts(house, standing, (card, zone)))
        .collect()
}

fn facts(house: House<'_>, standing: &FigureStanding, (card, zone): (&Figure, &Zone)) -> ZoneFacts {
    let jobs: Vec<&Job> = standing
        .jobs
        .iter()
        .filter(|job| is_on(job, card, zone))
        .collect();
    let order = |job: &Job| {
        let list = house.cards.checklists.get(&job.work.operation);
        list.map(|list| list.order)
    };
    let own = || jobs.iter().copied().filter(|job| job.work.target.is_some());
    let bare = is_bare(&jobs);
    let progress = own()
        .filter_map(order)
        .map(|order| match Progress::of_order(order) {
            Progress::Bared if !bare => Progress::Studied,
            reached => reached,
        });
    let progress = progress.max();
    let read = |record: &str| jobs.iter().rev().find_map(|job| job.recorded(record));
    ZoneFacts {
        id: zone.id.clone(),
        name: zone.name.clone(),
        path: zone.path,
        finish: zone.finish,
        wear: zone.wear,
        area_m2: Some(zone.carved_area_m2()).filter(|area| 0.0 < *area),
        progress: progress.unwrap_or_default(),
        walks: walks(own()),
        lead: jobs.iter().rev().find_map(|job| {
            let kept = job.recorded("lead")?;
            match &kept.value {
                Value::Text(words) => Some((words.clone(), kept.stamp.clone())),
                Value::Number(_) => None,
            }
        }),
        open: own()
            .filter(|job| job.state == JobState::Open)
            .map(|job| job.work.operation.clone())
            .collect(),
        coats: coats(standing, &jobs),
        grade: read("grade").and_then(|kept| match kept.value {
            Value::Number(grade) => Some(grade),
            Value::Text(_) => None,
        }),
        finding: read("finding")
            .and_then(|kept| match &kept.value {
                Value::Text(words) => Some(words.clone()),
                Value::Number(_) => None,
            })
            .unwrap_or_default(),
        sent_back: jobs
            .iter()
            .filter(|job| matches!(job.state, JobState::SentBack { .. }))
            .count(),
    }
}

fn walks<'a>(jobs: impl Iterator<Item = &'a Job>) -> Vec<WalkSeen> {
    let mut walks: Vec<WalkSeen> = jobs
        .map(|job| WalkSeen {
            operation: job.work.operation.clone(),
            round: job.work.round,
            ended: match job.state {
                JobState::Open => WalkEnd::InHand,
                JobState::Finished(_) => WalkEnd::Done,
                JobState::SentBack { .. } => WalkEnd::SentBack,
            },
            stamp: last_stamp(job).clone(),
        })
        .collect();
    walks.sort_by_key(|walk| std::cmp::Reverse(walk.stamp.n));
    walks
}

/// Work on a panel is work on the zone that it lies in.
fn is_on(job: &Job, card: &Figure, zone: &Zone) -> bool {
    let Some(target) = job.work.target.as_deref() else {
        return false;
    };
    let mut panels = card.panels.iter();
    target == zone.id || panels.any(|panel| panel.id == target && panel.zone == zone.id)
}

/// Whether old paint was taken off: the last strip was walked to its end. One that is being
/// walked again leaves it open, and old paint is then taken to be there.
fn is_bare(jobs: &[&Job]) -> bool {
    let mut strips = jobs
        .iter()
        .rev()
        .filter(|job| job.work.operation == TAKES_OFF);
    let last = strips.next();
    last.is_some_and(|job| matches!(job.state, JobState::Finished(_)))
}

fn last_stamp(job: &Job) -> &Stamp {
    if let JobState::Finished(stamp) | JobState::SentBack { stamp, .. } = &job.state {
        return stamp;
    }
    let done = job.acts.values().filter_map(|act| act.done.as_ref());
    done.max_by_key(|stamp| stamp.n).unwrap_or(&job.begun)
}

/// Coats that were stripped off again are no coats; a walk turned back and begun anew counts
/// with its last round.
fn coats(standing: &FigureStanding, jobs: &[&Job]) -> Vec<(String, [u32; 2])> {
    let bared = jobs
        .iter()
        .filter(|job| job.work.operation == TAKES_OFF)
        .map(|job| last_stamp(job).n)
        .max()
        .unwrap_or(0);
    let mut found: BTreeMap<&str, (u64, u32, [u32; 2])> = BTreeMap::new();
    for kept in &standing.coats {
        let here = jobs.iter().any(|job| job.work == kept.work);
        if !here || kept.stamp.n < bared {
            continue;
        }
        let round = kept.work.round;
        let entry =
            found
                .entry(&kept.work.operation)
                .or_insert((kept.stamp.n, round, [0, kept.coat.of]));
        if entry.1 < round {
            *entry = (kept.stamp.n, round, [0, kept.coat.of]);
        }
        let [laid, _] = entry.2;
        entry.2 = [laid + 1, kept.coat.of];
    }
    let mut coats: Vec<(u64, String, [u32; 2])> = found
        .into_iter()
        .map(|(operation, (n, _, laid))| (n, operation.to_owned(), laid))
        .collect();
    coats.sort_by_key(|(n, ..)| *n);
    coats
        .into_iter()
        .map(|(_, operation, laid)| (operation, laid))
        .collect()
}
