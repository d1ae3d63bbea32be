//! The facts that a journal adds up to. Plain records, no judgement.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Duration, FixedOffset};

use crate::card::{ClockName, GateKind, Measure};
use crate::deed::{
    ChipRead, ClockRule, CoatLaid, Deed, DeviationKind, Forecasted, LayerRead, LayersTied,
    LotDecanted, LotOpened, Mixed, PhotoKept, Picked, Planned, Poured, Stamp, TickKind, Value,
    Word, Work,
};
use crate::reckon::day_beside;

/// What the shop's own journal says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ShopStanding {
    /// Number of the last line; 0 before the first.
    pub last_n: u64,
    /// Whether the day is open, and since when.
    pub day: Option<Stamp>,
    /// Who is in.
    pub present: Vec<String>,
    /// How far the book of each figure went when it was noted longest, and where it was first.
    pub books: BTreeMap<String, NotedBook>,
    /// Figures whose books were noted last.
    pub noted_last: BTreeSet<String>,
    /// Air readings by room, oldest first.
    pub air: BTreeMap<String, Vec<AirReading>>,
    /// Extraction by room, oldest first.
    pub fans: BTreeMap<String, Vec<(DateTime<FixedOffset>, bool)>>,
    /// Lots opened.
    pub lots: Vec<(LotOpened, Stamp)>,
    /// Jars filled from a lot or from another jar, in order.
    pub decanted: Vec<(LotDecanted, Stamp)>,
    /// Lots whose own times may replace their sheets: material, lot, who and when.
    pub trusted: Vec<(String, String, Stamp)>,
    /// Who has read which sentence about what this tool is not: person, sentence.
    pub acknowledged: BTreeSet<(String, String)>,
    /// Jumps of the machine's clock: seconds, and when.
    pub jumps: Vec<(f64, Stamp)>,
    /// Forecasts noted, oldest first: the newest, those of the week before it, and one before
    /// these.
    pub forecasts: Vec<(Forecasted, Stamp)>,
    /// What people picked to do next, oldest first; the last hundreds only.
    pub picks: Vec<(Picked, Stamp)>,
    /// Corrections: the line that strikes, and the line that it strikes.
    pub struck: BTreeSet<(u64, u64)>,
    /// Lines of a newer version: number and tag.
    pub unknown: Vec<(u64, String)>,
}

/// How far a book went when it was noted in another one.
#[derive(Debug, Clone, PartialEq)]
pub struct NotedBook {
    /// The count of its last line then.
    pub lines: u64,
    /// The seal of that line; empty where it was not noted.
    pub seal: String,
    /// The line that noted it.
    pub stamp: Stamp,
}

impl NotedBook {
    /// Returns whether it says more of a book than what was noted before: more lines, or of as many
    /// the seal.
    pub fn says_more_than(&self, before: Option<&Self>) -> bool {
        before.is_none_or(|before| {
            let seals = before.seal.is_empty() && !self.seal.is_empty();
            before.lines < self.lines || (before.lines == self.lines && seals)
        })
    }
}

/// One reading of a room's air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirReading {
    /// When.
    pub at: DateTime<FixedOffset>,
    /// °C.
    pub temp_c: f64,
    /// %.
    pub humidity_percent: f64,
}

/// What one figure's journal says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FigureStanding {
    /// Number of the last line; 0 before the first.
    pub last_n: u64,
    /// The last line that counts, for "last act" and for striking.
    pub last: Option<Stamp>,
    /// Number of the first line that was written together with the last one.
    pub act_from: u64,
    /// What the last line was, for the line after it.
    pub ending: Ending,
    /// How far the shop's own book went when it was noted here longest.
    pub shop: Option<NotedBook>,
    /// Where it was moved to.
    pub room: Option<String>,
    /// Walks of operations in the order they began.
    pub jobs: Vec<Job>,
    /// Clocks in the order they started.
    pub clocks: Vec<Clock>,
    /// Places of clocks about which a hand has said how they really went.
    pub judged: Vec<usize>,
    /// Readings in the order they were taken.
    pub readings: Vec<Reading>,
    /// Coats laid, in order.
    pub coats: Vec<CoatKept>,
    /// Deviations, overrules and questions.
    pub matters: Vec<OpenMatter>,
    /// Photographs.
    pub photos: Vec<PhotoFact>,
    /// Layers of old paint read in exposures, in order.
    pub layers: Vec<(LayerRead, Stamp)>,
    /// Layers tied to each other, in order.
    pub ties: Vec<(LayersTied, Stamp)>,
    /// Chips of new colour, in order.
    pub chips: Vec<(ChipRead, Stamp)>,
    /// Corrections: the line that strikes, and the line that it strikes.
    pub struck: BTreeSet<(u64, u64)>,
    /// Lines of a newer version: number and tag.
    pub unknown: Vec<(u64, String)>,
}

/// What a line was, as far as the line after it may belong to the same act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ending {
    /// Nothing follows it in one act.
    #[default]
    Alone,
    /// A record, a mix, a cup thrown away: a deviation may follow.
    Taken,
    /// A deviation: the act itself may follow.
    Deviation,
    /// A step done or signed: the end of the operation may follow.
    Step,
    /// A caution: the next may follow.
    Caution,
}

impl Ending {
    /// Returns what a deed is.
    pub fn of(deed: &Deed) -> Self {
        match deed {
            Deed::Recorded(_) | Deed::Mixed(_) | Deed::Discarded(_) | Deed::CupRead(_) => {
                Self::Taken
            }
            Deed::Deviated(_) => Self::Deviation,
            Deed::Done(_) | Deed::Signed(_) => Self::Step,
            Deed::Ticked(tick) if tick.kind == TickKind::Caution => Self::Caution,
            _ => Self::Alone,
        }
    }
}

/// One walk of an operation on one target.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What and on what.
    pub work: Work,
    /// When it began.
    pub begun: Stamp,
    /// What was done at each step, by step id; the empty id is the operation as a whole.
    pub acts: BTreeMap<Word, Box<Act>>,
    /// Where it stands.
    pub state: JobState,
}

/// Where a job stands.
#[derive(Debug, Clone, PartialEq)]
pub enum JobState {
    /// Being walked.
    Open,
    /// Walked to its end.
    Finished(Stamp),
    /// Turned back to an earlier operation.
    SentBack {
        /// When.
        stamp: Stamp,
        /// To which operation.
        back_to: String,
        /// Why.
        why: String,
    },
}

/// What happened at one step.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Act {
    /// Cautions and checks ticked.
    pub ticks: Vec<TickKept>,
    /// Things taken down.
    pub records: Vec<RecordKept>,
    /// Gates vouched for by a hand.
    pub vouched: Vec<(GateKind, Stamp)>,
    /// Gates overruled.
    pub overruled: Vec<(GateKind, Stamp)>,
    /// Those of them that a second person agreed to: only these pass a hard gate.
    pub seconded: Vec<(GateKind, Stamp)>,
    /// The batch planned last.
    pub planned: Option<Box<(Planned, Stamp)>>,
    /// Pours into the cup in front, since it was planned, mixed or thrown away.
    pub pours: Vec<Poured>,
    /// When both parts stood in the cup at hand: its mix is live from then on.
    pub contact: Option<Stamp>,
    /// Cups mixed.
    pub mixed: Vec<(Mixed, Stamp)>,
    /// Cups thrown away, with what stood in them: it came from the same tins.
    pub wasted: Vec<(Mixed, Stamp)>,
    /// Test words.
    pub tests: Vec<TestKept>,
    /// The last signature asked for here: accepted or not.
    pub signed: Option<(bool, Stamp)>,
    /// It was taken up again after it had been left half done.
    pub resumed: Vec<Stamp>,
    /// The step was done.
    pub done: Option<Stamp>,
}

/// A ticked line.
#[derive(Debug, Clone, PartialEq)]
pub struct TickKept {
    /// Caution or check.
    pub kind: TickKind,
    /// The line in full.
    pub said: Word,
    /// Who and when.
    pub stamp: Stamp,
}

/// A recorded value at a step.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordKept {
    /// Record id.
    pub record: Word,
    /// Place, if it has one.
    pub station: Option<String>,
    /// Value.
    pub value: Value,
    /// Who and when.
    pub stamp: Stamp,
}

/// A reading, wherever in the work it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Where in the work.
    pub work: Work,
    /// What was measured.
    pub measure: Measure,
    /// Place, if it has one.
    pub station: Option<String>,
    /// In the measure's unit.
    pub value: f64,
    /// Who and when.
    pub stamp: Stamp,
}

/// A test word.
#[derive(Debug, Clone, PartialEq)]
pub struct TestKept {
    /// Place; empty for one place.
    pub place: String,
    /// Word.
    pub word: String,
    /// Who and when.
    pub stamp: Stamp,
}

/// How a clock that ran from the pour ended: the press goes on with the same cup.
pub(super) const PRESSED: &str = "pressed";

/// A clock that was started.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    /// Line number and name, such as `812.cup`.
    pub id: String,
    /// Which clock.
    pub clock: ClockName,
    /// What it is about.
    pub about: String,
    /// The work it belongs to.
    pub work: Work,
    /// Its formula.
    pub rule: ClockRule,
    /// Who started it and when.
    pub started: Stamp,
    /// How and when a hand ended it.
    pub ended: Option<(String, Stamp)>,
    /// Marks answered: percent, who and when.
    pub answered: Vec<(u32, Stamp)>,
    /// The alarm put off last: percent, until when, who and when.
    pub put_off: Option<(u32, DateTime<FixedOffset>, Stamp)>,
    /// What may be its lot: that of the cup or the coat, or, for size, every word picked in
    /// the walk so far; only a card can tell which of these is a lot.
    pub lots: Vec<String>,
    /// Test words said about it, and when.
    pub words: Vec<(String, DateTime<FixedOffset>)>,
    /// The warmest that the wall of the cup was read, °C.
    pub wall_c: Option<f64>,
}

/// A coat on a target.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatKept {
    /// Where in the work.
    pub work: Work,
    /// The coat.
    pub coat: CoatLaid,
    /// Who and when.
    pub stamp: Stamp,
}

/// An answer to a question is told beside the work for so many days (own choice: what was
/// answered last week is known).
const ANSWER_DAYS: i64 = 3;

/// Something that waits for the supervisor's answer.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenMatter {
    /// The line it stands in.
    pub stamp: Stamp,
    /// What it is.
    pub matter: Matter,
    /// Where in the work, if in any.
    pub work: Option<Work>,
    /// What happened, one line.
    pub what: String,
    /// Accepted or not, with words, who and when.
    pub answer: Option<(bool, String, Stamp)>,
    /// Of what was refused: what was put right since, by whom and when.
    pub again: Option<(String, Stamp)>,
    /// Of an overruled gate: who stood by it beside the one who overruled it.
    pub second: Option<String>,
}

/// What kind of matter it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matter {
    /// A gate was overruled.
    Overrule(GateKind),
    /// Something was done otherwise.
    Deviation(DeviationKind),
    /// A question from the bench.
    Question,
    /// A hold point was refused.
    HoldRefused,
}

/// A photograph in the dossier.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoFact {
    /// What was taken in.
    pub photo: PhotoKept,
    /// Who and when.
    pub stamp: Stamp,
}

/// A hold point that was shown and not signed.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldRefused {
    /// Who refused it, when and in which line.
    pub stamp: Stamp,
    /// Why.
    pub why: String,
    /// What was put right before it was shown once more, by whom and when; `None` while it is
    /// the bench's.
    pub again: Option<(String, Stamp)>,
}

impl HoldRefused {
    /// Returns who refused it and why, and who put right what.
    pub fn told(&self) -> String {
        refused_words(&self.stamp, &self.why, self.again.as_ref())
    }
}

fn refused_words(by: &Stamp, why: &str, again: Option<&(String, Stamp)>) -> String {
    let again = again.map_or_else(String::new, |(said, stamp)| {
        format!("; put right by {}: {said}", stamp.by)
    });
    format!("refused by {}: {why}{again}", by.by)
}

impl OpenMatter {
    /// Returns whether somebody accepted it.
    pub fn is_accepted(&self) -> bool {
        let answer = self.answer.as_ref();
        answer.is_some_and(|(accepted, ..)| *accepted)
    }

    /// Returns whether it waits for somebody's answer, or was refused and is to be put right. A
    /// question that was answered with no is answered.
    pub fn is_open(&self) -> bool {
        let is_answered = self.matter == Matter::Question && self.answer.is_some();
        !self.is_accepted() && !is_answered
    }

    /// Returns what a question was answered with, by whom and on which day, as it is said then.
    pub fn answer_told(&self, now: DateTime<FixedOffset>) -> Option<String> {
        let (accepted, why, stamp) = self.answer.as_ref()?;
        let verb = if *accepted { "answered" } else { "said no" };
        let day = day_beside(stamp.at.date_naive(), now.date_naive());
        let asked = &self.what;
        let told = format!("{} {verb} on {day}: {why} (asked: {asked})", stamp.by);
        (self.matter == Matter::Question).then_some(told)
    }

    /// Returns why it was not accepted, by whom and when: it is back at the bench, and is answered
    /// once more when it was put right. A question has nothing to put right.
    pub fn refusal(&self) -> Option<(&str, &Stamp)> {
        match &self.answer {
            Some((false, why, stamp)) if self.matter != Matter::Question => {
                self.again.is_none().then_some((why, stamp))
            }
            _ => None,
        }
    }

    /// Returns whether it is to be put right by its line: a hold point is shown again at its step.
    pub fn is_back(&self) -> bool {
        self.refusal().is_some() && self.matter != Matter::HoldRefused
    }

    /// Returns what happened; and, where it was refused, by whom and why, and who put right what.
    pub fn told(&self) -> String {
        match &self.answer {
            Some((false, why, stamp)) => {
                let refused = refused_words(stamp, why, self.again.as_ref());
                format!("{}; {refused}", self.what)
            }
            _ => self.what.clone(),
        }
    }
}

impl FigureStanding {
    /// Returns the job with exactly this work, if it was begun.
    pub fn job(&self, work: &Work) -> Option<&Job> {
        self.jobs.iter().rev().find(|job| job.work == *work)
    }

    /// Returns the jobs that are being walked, oldest first.
    pub fn open_jobs(&self) -> impl Iterator<Item = &Job> {
        self.jobs.iter().filter(|job| job.state == JobState::Open)
    }

    /// Returns how often an operation was begun on a target.
    pub fn rounds(&self, operation: &str, target: Option<&str>) -> u32 {
        let same =
            |job: &&Job| job.work.operation == operation && job.work.target.as_deref() == target;
        u32::try_from(self.jobs.iter().filter(same).count()).unwrap_or(u32::MAX)
    }

    /// Returns when an operation was last finished on a target, or on the whole figure.
    pub fn finished(&self, operation: &str, target: Option<&str>) -> Option<&Stamp> {
        self.jobs.iter().rev().find_map(|job| match &job.state {
            JobState::Finished(stamp)
                if job.work.operation == operation
                    && (job.work.target.is_none() || job.work.target.as_deref() == target) =>
            {
                Some(stamp)
            }
            _ => None,
        })
    }

    /// Returns the matters that nobody has accepted: those without an answer, and those that
    /// were refused and must be put right and answered once more.
    pub fn unanswered(&self) -> impl Iterator<Item = &OpenMatter> {
        self.matters.iter().filter(|matter| matter.is_open())
    }

    /// Returns the questions that somebody has answered within these days, the last one last: the
    /// next hand at the figure goes by what was said.
    pub fn answered_lately(&self, now: DateTime<FixedOffset>) -> impl Iterator<Item = &OpenMatter> {
        let since = now - Duration::days(ANSWER_DAYS);
        let is_fresh = move |open: &&OpenMatter| {
            let answer = open.answer.as_ref();
            open.matter == Matter::Question && answer.is_some_and(|(.., it)| since <= it.at)
        };
        let mut all: Vec<&OpenMatter> = self.matters.iter().filter(is_fresh).collect();
        all.sort_by_key(|open| open.answer.as_ref().map(|(.., stamp)| stamp.n));
        all.into_iter()
    }

    /// Returns who refused the hold point of a work last, and why, as long as it is not signed.
    /// `sign` is what it accepts.
    pub fn refused_hold(&self, work: &Work, sign: &str) -> Option<HoldRefused> {
        let here = |open: &&OpenMatter| {
            open.matter == Matter::HoldRefused && open.work.as_ref() == Some(work)
        };
        let open = self.unanswered().filter(here).last()?;
        let why = open.what.strip_prefix(sign);
        let why = why.and_then(|why| why.strip_prefix(": "));
        Some(HoldRefused {
            stamp: open.stamp.clone(),
            why: why.unwrap_or(&open.what).to_owned(),
            again: open.again.clone(),
        })
    }
}

impl Job {
    /// Returns what happened at a step; `None` before anything did.
    pub fn act(&self, step: &str) -> Option<&Act> {
        self.acts.get(step).map(Box::as_ref)
    }

    /// Returns who did a step of this walk; who only signed a hold point is not among them.
    pub fn hands(&self) -> BTreeSet<&str> {
        let acts = self.acts.values().filter(|act| act.signed.is_none());
        let done = acts.filter_map(|act| act.done.as_ref());
        done.map(|stamp| stamp.by.as_str()).collect()
    }

    /// Returns the last value recorded under an id anywhere in this walk.
    pub fn recorded(&self, record: &str) -> Option<&RecordKept> {
        self.acts
            .values()
            .flat_map(|act| &act.records)
            .filter(|kept| kept.record == record)
            .max_by_key(|kept| (kept.stamp.at, kept.stamp.n))
    }
}
