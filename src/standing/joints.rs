//! Joints as boards and glue lines: what the card says, what the survey found, how the faces
//! meet, and what was done. Start reading at [`joints`].

use super::facts::{FigureStanding, Job, JobState, RecordKept};
use super::walk::gap_rows;
use super::{Depth, House, moisture};
use crate::card::{Figure, Joint, Measure};
use crate::deed::{Stamp, Value};
use crate::reckon::{GapRow, Millimetres, SumTrouble, counted, gap::GapVolume, gap_volume_at};

/// One joint of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct JointSeen {
    /// Number.
    pub id: String,
    /// The two parts that meet; the second is empty where the card names one word only.
    pub boards: [String; 2],
    /// Zones its seam runs through.
    pub zones: Vec<String>,
    /// Length of the glue line and width of the glued face, mm.
    pub face_mm: [f64; 2],
    /// Carries load.
    pub loaded: bool,
    /// How it stands.
    pub state: JointState,
    /// Since when, where a line tells.
    pub since: Option<Stamp>,
    /// What else the survey said, question and answer, in the order it asks.
    pub survey: Vec<(String, String)>,
    /// The answer that settled it: opened, left alone, injected; empty before.
    pub decision: String,
    /// What fills the seam, or filled it; empty while nobody has looked.
    pub filler: String,
    /// The gap map.
    pub gaps: GapMap,
    /// How the clamps go on.
    pub clamps: ClampPlan,
    /// Cups mixed for it, oldest first.
    pub cups: Vec<CupUsed>,
    /// What the camera or the open faces showed of the inside: what, as noted, who and when.
    pub inside: Vec<(String, String, Stamp)>,
}

impl JointSeen {
    /// Returns all grams that were mixed for it.
    pub fn grams(&self) -> f64 {
        self.cups.iter().map(|cup| cup.grams).sum()
    }

    /// Whether it was taken apart, or more.
    pub fn was_opened(&self) -> bool {
        matches!(
            self.state,
            JointState::Apart | JointState::InClamps | JointState::Reglued
        )
    }

    /// Returns what was settled, in the words of how far it is: a joint that is still shut is
    /// `to be opened`. Empty before.
    pub fn settled(&self) -> String {
        match self.decision.as_str() {
            act @ ("opened" | "injected") if !self.was_opened() => format!("to be {act}"),
            said => said.to_owned(),
        }
    }
}

/// How a joint stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JointState {
    /// Nobody has surveyed it.
    NotSurveyed,
    /// Shut, and nothing moves.
    Sound,
    /// A gap goes in, or it moves, and no glue is in it.
    Open,
    /// Something that does not bond hides the gap: putty, plaster, wax. Counts as open.
    FilledLoose,
    /// Glue is in it, and it moves all the same.
    Split,
    /// Taken apart on purpose.
    Apart,
    /// Glued anew, not yet released.
    InClamps,
    /// Glued anew and released.
    Reglued,
}

impl JointState {
    /// Returns what the day of a state is: the one on which it was found, or since when it is so
    /// by the shop's own hands.
    pub fn since_word(self) -> &'static str {
        match self {
            Self::Apart | Self::InClamps | Self::Reglued => "since",
            _ => "found",
        }
    }

    /// Returns the state in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::NotSurveyed => "not surveyed",
            Self::Sound => "sound",
            Self::Open => "open",
            Self::FilledLoose => "old filling, not bonded",
            Self::Split => "split",
            Self::Apart => "taken apart",
            Self::InClamps => "in clamps",
            Self::Reglued => "glued anew",
        }
    }
}

/// The gap readings of a joint.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GapMap {
    /// Rows along the joint: place in mm, readings across in mm.
    pub rows: Vec<(f64, Vec<Option<f64>>)>,
    /// The readings are those of an earlier visit, from the card.
    pub from_card: bool,
    /// Mean gap, volume and area, if the map gives them.
    pub volume: Option<GapVolume>,
}

impl GapMap {
    /// Returns the widest reading, mm.
    pub fn widest(&self) -> Option<f64> {
        let all = self.rows.iter().flat_map(|(_, row)| row).flatten();
        all.copied().reduce(f64::max)
    }

    /// Returns mean, widest gap and what fills it, in words; empty without a map.
    pub fn words(&self) -> String {
        let mut said = Vec::new();
        if let Some(volume) = &self.volume {
            said.push(format!("mean {:.2} mm", volume.mean.0));
        }
        said.extend(self.widest().map(|widest| format!("widest {widest:.2} mm")));
        if let Some(volume) = &self.volume {
            said.push(format!("{:.0} ml to fill", volume.volume.0));
            let guessed = counted(volume.filled, "reading");
            said.extend((0 < volume.filled).then(|| format!("{guessed} missing and taken wide")));
        }
        said.join(", ")
    }
}

/// How the clamps go on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ClampPlan {
    /// What the survey wrote of clamps, cradle and what comes off with it.
    pub reach: String,
    /// Clamps counted in rehearsal.
    pub clamps: Option<f64>,
    /// Minutes of the rehearsal.
    pub rehearsal_min: Option<f64>,
    /// One cup, several, slower hardener, two stages.
    pub cups: String,
    /// The photograph of the clamps, as noted.
    pub photo: String,
}

impl ClampPlan {
    /// Returns the plan in words; empty while there is none.
    pub fn words(&self) -> String {
        let mut said: Vec<String> = Vec::new();
        said.extend(self.clamps.map(|count| format!("{count:.0} clamps")));
        let minutes = self.rehearsal_min;
        said.extend(minutes.map(|minutes| format!("rehearsed in {minutes:.0} min")));
        said.extend((!self.cups.is_empty()).then(|| self.cups.clone()));
        said.extend((!self.reach.is_empty()).then(|| self.reach.clone()));
        said.extend((!self.photo.is_empty()).then(|| format!("photograph {}", self.photo)));
        said.join(", ")
    }
}

/// A cup that was mixed for a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct CupUsed {
    /// Material id.
    pub material: String,
    /// Lots of its parts.
    pub lots: [String; 2],
    /// Grams of both parts.
    pub grams: f64,
    /// Hardener against the ratio, percent.
    pub off_percent: f64,
    /// Who and when.
    pub stamp: Stamp,
}

impl CupUsed {
    /// Returns the lots of its parts in words.
    pub fn lot(&self) -> String {
        self.lots.join(" + ")
    }

    /// Returns what was in it, in words. `name` is its material's; the line in which it was
    /// mixed tells one batch from another.
    pub fn words(&self, name: &str) -> String {
        let lot = self.lot();
        let (grams, off, line) = (self.grams, self.off_percent, self.stamp.n);
        format!("{grams:.1} g of {name} (lot {lot}), hardener {off:+.1} %, batch of line {line}")
    }
}

/// The hollow inside of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Hollow {
    /// As the card says it is built.
    pub build: String,
    /// Joints that were looked at from inside.
    pub seen_at: Vec<String>,
    /// Joints that were not.
    pub unseen_at: Vec<String>,
    /// The wettest last reading at depth: where, percent.
    pub wettest_core: Option<(String, f64)>,
}

/// Returns the joints of a figure in the order of its card.
pub fn joints(house: House<'_>, figure: &str) -> Vec<JointSeen> {
    let nothing = FigureStanding::default();
    let standing = house.figure(figure).unwrap_or(&nothing);
    let card = house.cards.figures.get(figure);
    let all = card.into_iter().flat_map(|card| &card.joints);
    all.map(|joint| seen(house, standing, joint)).collect()
}

fn seen(house: House<'_>, standing: &FigureStanding, joint: &Joint) -> JointSeen {
    let work = Done::of(standing, &joint.id);
    let (state, since) = work.state();
    let (one, other) = joint
        .between
        .rsplit_once(" and ")
        .unwrap_or((&joint.between, ""));
    JointSeen {
        id: joint.id.clone(),
        boards: [one, other].map(str::to_owned),
        zones: joint.zones.clone(),
        face_mm: [joint.length_mm, joint.width_mm],
        loaded: joint.loaded,
        state,
        since,
        survey: work.answers(house),
        decision: words(work.survey, "decision"),
        filler: words(work.survey, "filler"),
        gaps: gaps(standing, joint),
        clamps: work.clamps(),
        cups: work.cups(),
        inside: work.inside(),
    }
}

/// What the survey asks and what has a field of its own in [`JointSeen`].
const TOLD_APART: [&str; 4] = ["filler", "inside", "reach", "decision"];

/// The last walk of each operation on one joint.
#[derive(Debug, Clone, Copy)]
struct Done<'a> {
    survey: Option<&'a Job>,
    opened: Option<&'a Job>,
    fit: Option<&'a Job>,
    glued: Option<&'a Job>,
}

impl<'a> Done<'a> {
    fn of(standing: &'a FigureStanding, joint: &str) -> Self {
        let last = |operation: &str| {
            let mut all = standing.jobs.iter().rev();
            all.find(|job| {
                job.work.operation == operation && job.work.target.as_deref() == Some(joint)
            })
        };
        Self {
            survey: last("joint-survey"),
            opened: last("open-joint"),
            fit: last("dry-fit"),
            glued: last("mix-and-lay-up"),
        }
    }

    /// What was done last decides; before anything was done, what was found.
    fn state(self) -> (JointState, Option<Stamp>) {
        let since = |job: &Job| Some(last_stamp(job));
        let later =
            |job: &Job, other: Option<&Job>| other.is_none_or(|other| other.begun.n < job.begun.n);
        if let Some(job) = self.glued.filter(|job| later(job, self.survey)) {
            let mixed = job.acts.values().any(|act| !act.mixed.is_empty());
            let moves = words(Some(job), "seam") == "moves";
            match job.state {
                _ if moves => return (JointState::Split, since(job)),
                JobState::Finished(_) if mixed => return (JointState::Reglued, since(job)),
                JobState::Open if mixed => return (JointState::InClamps, since(job)),
                _ => {}
            }
        }
        if let Some(job) = self.opened.filter(|job| later(job, self.survey)) {
            let lifted = job.act("lift").is_some_and(|act| act.done.is_some());
            if lifted || matches!(job.state, JobState::Finished(_)) {
                return (JointState::Apart, since(job));
            }
        }
        match self.survey {
            Some(job) => (found(job), since(job)),
            None => (JointState::NotSurveyed, None),
        }
    }

    fn answers(self, house: House<'_>) -> Vec<(String, String)> {
        let list = house.cards.checklists.get("joint-survey");
        let records = list
            .into_iter()
            .flat_map(|list| list.steps.iter().flat_map(|step| &step.record));
        let mut answers = Vec::new();
        for record in records.filter(|record| !TOLD_APART.contains(&record.id.as_str())) {
            let kept = all(self.survey, &record.id);
            let unit = record.measure.map_or("", Measure::unit);
            let said: Vec<String> = kept.iter().map(|kept| answer(kept, unit)).collect();
            if !said.is_empty() {
                answers.push((record.ask.clone(), said.join(", ")));
            }
        }
        answers
    }

    fn clamps(self) -> ClampPlan {
        ClampPlan {
            reach: words(self.survey, "reach"),
            clamps: number(self.fit, "clamps"),
            rehearsal_min: number(self.fit, "rehearsal"),
            cups: words(self.fit, "plan"),
            photo: words(self.fit, "clamp-plan"),
        }
    }

    fn cups(self) -> Vec<CupUsed> {
        let acts = self.glued.into_iter().flat_map(|job| job.acts.values());
        let mut cups: Vec<CupUsed> = acts
            .flat_map(|act| &act.mixed)
            .map(|(mixed, stamp)| CupUsed {
                material: mixed.material.clone(),
                lots: mixed.lots.clone(),
                grams: mixed.a_g + mixed.b_g,
                off_percent: mixed.off_percent,
                stamp: stamp.clone(),
            })
            .collect();
        cups.sort_by_key(|cup| cup.stamp.n);
        cups
    }

    fn inside(self) -> Vec<(String, String, Stamp)> {
        let looked = [
            (self.survey, "inside", "from inside"),
            (self.opened, "face-a", "first face"),
            (self.opened, "face-b", "second face"),
        ];
        let kept = looked.into_iter().flat_map(|(job, record, words)| {
            let kept = all(job, record)
                .into_iter()
                .filter(|kept| !is_left_out(kept));
            kept.map(move |kept| (words.to_owned(), answer(kept, ""), kept.stamp.clone()))
        });
        kept.collect()
    }
}

/// A joint that holds something which does not bond counts as open whatever it feels like.
fn found(survey: &Job) -> JointState {
    let said = |record: &str| words(Some(survey), record);
    let moves = ["ticks", "moves"].contains(&said("moves").as_str());
    let deep = ["under 5 mm", "5 to 20 mm", "deeper"].contains(&said("depth").as_str());
    match said("filler").as_str() {
        "hard putty" | "plaster or wax" => JointState::FilledLoose,
        "glue" if moves => JointState::Split,
        _ if moves || deep => JointState::Open,
        "glue" | "nothing" => JointState::Sound,
        _ => JointState::NotSurveyed,
    }
}

fn last_stamp(job: &Job) -> Stamp {
    if let JobState::Finished(stamp) | JobState::SentBack { stamp, .. } = &job.state {
        return stamp.clone();
    }
    let done = job.acts.values().filter_map(|act| act.done.as_ref());
    done.max_by_key(|stamp| stamp.n)
        .unwrap_or(&job.begun)
        .clone()
}

/// The bench's own readings come before those of the card.
fn gaps(standing: &FigureStanding, joint: &Joint) -> GapMap {
    let own = gap_rows(standing, &joint.id);
    let from_card = own.is_empty();
    let rows = if from_card {
        let known = joint.gaps.iter();
        known
            .map(|row| (row.at_mm, row.mm.iter().copied().map(Some).collect()))
            .collect()
    } else {
        own
    };
    GapMap {
        volume: volume(joint, &rows).ok(),
        from_card: from_card && !rows.is_empty(),
        rows,
    }
}

fn volume(joint: &Joint, rows: &[(f64, Vec<Option<f64>>)]) -> Result<GapVolume, SumTrouble> {
    let rows = rows
        .iter()
        .map(|(at, row)| {
            let row: Vec<_> = row.iter().map(|mm| mm.map(Millimetres)).collect();
            GapRow::new(&row).map(|row| (Millimetres(*at), row))
        })
        .collect::<Result<Vec<_>, _>>()?;
    let (length, width) = (Millimetres(joint.length_mm), Millimetres(joint.width_mm));
    gap_volume_at(length, width, &rows)
}

/// What was taken down under an id in a walk, in order.
fn all<'a>(job: Option<&'a Job>, record: &str) -> Vec<&'a RecordKept> {
    let acts = job.into_iter().flat_map(|job| job.acts.values());
    let mut kept: Vec<&RecordKept> = acts
        .flat_map(|act| &act.records)
        .filter(|kept| kept.record == record)
        .collect();
    kept.sort_by_key(|kept| kept.stamp.n);
    kept
}

fn words(job: Option<&Job>, record: &str) -> String {
    match job
        .and_then(|job| job.recorded(record))
        .map(|kept| &kept.value)
    {
        Some(Value::Text(text)) => text.clone(),
        _ => String::new(),
    }
}

fn number(job: Option<&Job>, record: &str) -> Option<f64> {
    match job
        .and_then(|job| job.recorded(record))
        .map(|kept| &kept.value)
    {
        Some(Value::Number(number)) => Some(*number),
        _ => None,
    }
}

fn is_left_out(kept: &RecordKept) -> bool {
    matches!(&kept.value, Value::Text(text) if text.starts_with("not taken"))
}

fn answer(kept: &RecordKept, unit: &str) -> String {
    let value = match &kept.value {
        Value::Text(text) => text.clone(),
        Value::Number(number) => format!("{number} {unit}").trim_end().to_owned(),
    };
    match &kept.station {
        Some(station) => format!("{station} {value}"),
        None => value,
    }
}

/// Returns the hollow inside of a figure; `None` for one that is not built hollow.
pub fn hollow(house: House<'_>, figure: &str) -> Option<Hollow> {
    let card: &Figure = house.cards.figures.get(figure)?;
    if !card.build.to_lowercase().contains("hollow") {
        return None;
    }
    let (seen, unseen): (Vec<JointSeen>, Vec<JointSeen>) = joints(house, figure)
        .into_iter()
        .partition(|joint| !joint.inside.is_empty());
    let cores = moisture(house, figure)
        .into_iter()
        .filter(|series| series.depth == Depth::Core)
        .filter_map(|series| {
            let last = series.points.last()?.value;
            Some((format!("{} {}", series.target?, series.point), last))
        });
    let ids = |joints: Vec<JointSeen>| joints.into_iter().map(|joint| joint.id).collect();
    Some(Hollow {
        build: card.build.clone(),
        seen_at: ids(seen),
        unseen_at: ids(unseen),
        wettest_core: cores.max_by(|a, b| a.1.total_cmp(&b.1)),
    })
}
