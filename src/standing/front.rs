//! Finds what is in front of a worker: walks gates, cautions, checks, records, mix, wait and
//! hold of the step in front, and stops at the first that is open. `decide` asks the same
//! question, so that screen and decision never differ.

use std::collections::BTreeSet;

use chrono::{DateTime, FixedOffset};

use super::clock::ClockView;
use super::facts::{Act, Clock, Job, JobState};
use super::gate::Case;
use super::interrupted::confirmed;
use super::prompt::{Ask, Prompt, Verdict};
use super::walk::FlatStep;
use super::{House, clock, gate, mixing, starts, sums, walk};
use crate::card::{
    Caution, Checklist, ClockName, GateAsk, LAID_BY, Mark, Material, MaterialKind, Measure, Record,
    SPRAYED, Step, Strength, When, hazard,
};
use crate::deed::{TickKind, Work};

/// Weight may be off the ratio by this much and count as good, percent (*common practice*).
pub(super) const OFF_GOOD: f64 = 2.0;
/// Beyond this a cup is thrown away or put right, percent (*common practice*).
pub(super) const OFF_REJECT: f64 = 5.0;

/// Rank of a statement with the signal word Danger: behind what saves a life at this step
/// (*choice of this program*).
const DANGER: u32 = 2;
/// Rank of a statement with the signal word Warning (*choice of this program*).
const WARNING: u32 = 6;

/// The record under which the gloves pulled on are kept.
pub(super) const GLOVE: &str = "glove";

/// A job with everything that a look at it needs.
pub(super) struct Front<'a> {
    pub(super) case: Case<'a>,
    pub(super) list: &'a Checklist,
    pub(super) job: &'a Job,
    pub(super) steps: Vec<FlatStep<'a>>,
    /// Place of the step in front; `None` when all are done.
    pub(super) at: Option<usize>,
}

/// Returns what is in front of a worker at a job; `None` when the job was never begun or
/// its figure or checklist has no card.
pub fn prompt(
    house: House<'_>,
    figure: &str,
    work: &Work,
    now: DateTime<FixedOffset>,
) -> Option<Prompt> {
    let front = Front::look(house, figure, work, now)?;
    Some(front.prompt())
}

impl<'a> Front<'a> {
    /// Returns the front of a job; `None` as for [`prompt`].
    pub(super) fn look(
        house: House<'a>,
        figure: &'a str,
        work: &'a Work,
        now: DateTime<FixedOffset>,
    ) -> Option<Self> {
        let standing = house.figure(figure)?;
        let job = standing.job(work)?;
        let list = walk::checklist(house, work)?;
        house.cards.figures.get(figure)?;
        let steps = walk::steps(house, figure, job);
        let at = walk::in_front(&steps, job);
        let case = Case {
            house,
            figure,
            standing,
            work,
            step: "",
            now,
        };
        Some(Self {
            case,
            list,
            job,
            steps,
            at,
        })
    }

    /// Returns the step in front.
    pub(super) fn flat(&self) -> Option<&FlatStep<'a>> {
        self.at.and_then(|at| self.steps.get(at))
    }

    /// Returns the id of the step that the ask in front belongs to: empty for the operation.
    pub(super) fn step_id(&self) -> &str {
        if self.operation_ask().is_some() {
            return "";
        }
        self.flat()
            .map(|flat| flat.step.id.as_str())
            .unwrap_or_default()
    }

    fn prompt(&self) -> Prompt {
        let ask = self.ask();
        let step = self.flat().map(|flat| &flat.step);
        let done = self.at.unwrap_or(self.steps.len());
        Prompt {
            work: self.case.work.clone(),
            title: self.list.title.clone(),
            step: self.step_id().to_owned(),
            act: step.map_or_else(
                || "Close this operation".to_owned(),
                |step| step.act.clone(),
            ),
            why: step.and_then(|step| step.why.clone()),
            number: (done + 1).min(self.steps.len()),
            of: self.steps.len(),
            again: self.again(),
            last_done: self.last_done(),
            cautions: self.cautions_here(),
            goes_wrong: step.map(|step| step.goes_wrong.clone()).unwrap_or_default(),
            manner: self.list.manner,
            checks: step.map(|step| self.checks(step)).unwrap_or_default(),
            interrupted: self.interruption(&ask),
            hands: self.job.hands().into_iter().map(str::to_owned).collect(),
            sums: match self.job.state {
                JobState::Open => sums::at(self),
                _ => Vec::new(),
            },
            ask,
        }
    }

    fn checks(&self, step: &Step) -> Vec<(String, bool)> {
        let counted = confirmed(step, self.job.act(&step.id), self.case.now);
        let lines = step.confirm.iter();
        lines
            .map(|say| (say.clone(), counted.contains(&say.as_str())))
            .collect()
    }

    /// Returns the one thing asked for now.
    pub(super) fn ask(&self) -> Ask {
        match &self.job.state {
            JobState::Finished(stamp) => return Ask::Finished { at: stamp.at },
            JobState::SentBack { back_to, why, .. } => {
                return Ask::SentBack {
                    back_to: back_to.clone(),
                    why: why.clone(),
                };
            }
            JobState::Open => {}
        }
        if let Some(ask) = self.operation_ask() {
            return ask;
        }
        match self.flat() {
            Some(flat) => self.step_ask(flat),
            // The end was struck, or the card grew shorter: a hand closes the walk again.
            None => Ask::Act,
        }
    }

    /// Gates, cautions and the question who is near stand before the first step.
    fn operation_ask(&self) -> Option<Ask> {
        if self.at != Some(0) {
            return None;
        }
        self.gates(&self.list.gates, "")
            .or_else(|| self.cautions(&self.list.cautions, ""))
            .or_else(|| self.within_call())
    }

    fn step_ask(&self, flat: &FlatStep<'_>) -> Ask {
        let step = &flat.step;
        let act = self.job.act(&step.id);
        // What opened the operation may have grown old by the act that cannot be undone.
        let anew: &[GateAsk] = if walk::is_for_good(flat) {
            &self.list.gates
        } else {
            &[]
        };
        self.before_the_mix(step, act, anew)
            .or_else(|| self.cautions_of_step(step))
            .or_else(|| confirm(step, &confirmed(step, act, self.case.now)))
            .or_else(|| self.record(step, act))
            .or_else(|| self.glove(step, act))
            .or_else(|| self.mix(step, act))
            .or_else(|| self.until(step, act))
            .or_else(|| self.hold(step.hold.as_ref()))
            .unwrap_or(Ask::Act)
    }

    /// The gates of a step, until its last cup is mixed: no gate stops what is live.
    fn before_the_mix(&self, step: &Step, act: Option<&Act>, anew: &[GateAsk]) -> Option<Ask> {
        let is_live = act.is_some_and(|act| {
            let cups = act.planned.as_ref().map(|planned| planned.0.cups as usize);
            cups.is_some_and(|cups| cups <= act.mixed.len())
        });
        if is_live {
            return None;
        }
        self.gates(anew, &step.id)
            .or_else(|| self.gates(&step.gates, &step.id))
    }

    pub(super) fn gates(&self, gates: &[GateAsk], step: &str) -> Option<Ask> {
        let case = Case { step, ..self.case };
        gates
            .iter()
            .map(|ask| gate::judge(case, ask))
            .find(|verdict| !verdict.open && !self.is_overruled(step, verdict))
            .map(Ask::Gate)
    }

    /// A gate that has grown hard since it was overruled by a reason alone is shut again. What
    /// was overruled for the operation is overruled at its steps.
    pub(super) fn is_overruled(&self, step: &str, verdict: &Verdict) -> bool {
        ["", step]
            .into_iter()
            .any(|step| self.is_passed(step, verdict))
    }

    fn is_passed(&self, step: &str, verdict: &Verdict) -> bool {
        self.job.act(step).is_some_and(|act| {
            let passes = if verdict.hard {
                &act.seconded
            } else {
                &act.overruled
            };
            passes.iter().any(|(gate, _)| *gate == verdict.gate)
        })
    }

    fn cautions(&self, cautions: &[Caution], step: &str) -> Option<Ask> {
        let open = self.unread(cautions, step);
        (!open.is_empty()).then_some(Ask::Cautions(open))
    }

    fn unread(&self, cautions: &[Caution], step: &str) -> Vec<Caution> {
        let act = self.job.act(step);
        let mut open = self.applying(cautions);
        open.retain(|caution| !is_ticked(act, TickKind::Caution, &caution.say));
        open
    }

    /// The cautions of a step, and what the card of the material in hand calls a danger: that
    /// is ticked once in a walk, as soon as the material is known.
    fn cautions_of_step(&self, step: &Step) -> Option<Ask> {
        let mut open = self.unread(&step.cautions, &step.id);
        let mut dangers = self.hazards_picked(step);
        dangers.retain(|hazard| {
            let mut acts = self.job.acts.values();
            let is_read = acts.any(|act| is_ticked(Some(act), TickKind::Caution, &hazard.say));
            hazard.rank == DANGER && !is_read
        });
        open.extend(dangers);
        open.sort_by_key(|caution| caution.rank);
        (!open.is_empty()).then_some(Ask::Cautions(open))
    }

    /// The cautions of operation and step together, most important first.
    fn cautions_here(&self) -> Vec<Caution> {
        let mut all = self.applying(&self.list.cautions);
        if let Some(flat) = self.flat() {
            all.extend(self.applying(&flat.step.cautions));
            all.extend(self.hazards(&flat.step));
        }
        all.sort_by_key(|caution| caution.rank);
        all.dedup_by(|a, b| a.say == b.say);
        all
    }

    /// What the data sheets of the materials in hand say, danger before warning.
    fn hazards(&self, step: &Step) -> Vec<Caution> {
        let kinds = kinds(step).into_iter();
        statements(kinds.filter_map(|kind| starts::in_use(self.case, self.job, kind)))
    }

    /// The same for those whose lot was picked in this walk.
    fn hazards_picked(&self, step: &Step) -> Vec<Caution> {
        let kinds = kinds(step).into_iter();
        statements(kinds.filter_map(|kind| starts::picked(self.case, self.job, kind)))
    }

    fn applying(&self, cautions: &[Caution]) -> Vec<Caution> {
        let mut all: Vec<Caution> = cautions
            .iter()
            .filter(|caution| self.applies(caution.when))
            .cloned()
            .map(Caution::as_shown)
            .collect();
        all.sort_by_key(|caution| caution.rank);
        all
    }

    /// Lead applies unless a test says no; the others where a card of the shop carries them, or
    /// where one could not be read whole and may.
    fn applies(&self, when: When) -> bool {
        let carried = |strength: Strength| {
            let carries = |material: &Material| material.strength.contains(&strength);
            let cards = self.case.house.cards;
            !cards.flawed.materials.is_empty() || cards.materials.values().any(carries)
        };
        match when {
            When::Always | When::Epoxy => true,
            When::Lead => !self.lead_is_excluded(),
            When::Caustic => carried(Strength::Caustic),
            When::Metal => carried(Strength::Metal),
            When::Dcm => carried(Strength::Dcm),
            When::Nmp => carried(Strength::Nmp),
            When::Acid => carried(Strength::Acid),
            When::Spray => self.is_sprayed(),
        }
    }

    fn is_sprayed(&self) -> bool {
        let said = self.job.recorded(LAID_BY).map(|kept| &kept.value);
        matches!(said, Some(crate::deed::Value::Text(how)) if how == SPRAYED)
    }

    fn lead_is_excluded(&self) -> bool {
        let word = |job: &Job| {
            job.recorded("lead").map(|kept| kept.value.clone())
                == Some(crate::deed::Value::Text("no".to_owned()))
        };
        let here = |job: &&Job| {
            job.work.operation == "lead-test" && job.work.target == self.case.work.target
        };
        self.case
            .standing
            .jobs
            .iter()
            .rev()
            .find(here)
            .is_some_and(word)
    }

    fn record(&self, step: &Step, act: Option<&Act>) -> Option<Ask> {
        step.record
            .iter()
            .find_map(|record| self.one_record(record, act))
    }

    fn one_record(&self, record: &Record, act: Option<&Act>) -> Option<Ask> {
        let kept = |station: Option<&str>| {
            act.is_some_and(|act| {
                act.records
                    .iter()
                    .any(|kept| kept.record == record.id && kept.station.as_deref() == station)
            })
        };
        if let Some(measure) = record.measure {
            return self.reading(record, measure, act);
        }
        if let Some(kind) = record.lot {
            return self.lot(record, kind, &kept);
        }
        if kept(None) {
            return None;
        }
        if let Some(station) = &record.photo {
            return Some(Ask::Photo {
                record: record.id.clone(),
                station: station.clone(),
            });
        }
        let (id, ask) = (record.id.clone(), record.ask.clone());
        Some(if record.choice.is_empty() {
            Ask::Words {
                record: id,
                ask,
                optional: record.optional,
            }
        } else {
            Ask::Choice {
                record: id,
                ask,
                options: record.choice.clone(),
            }
        })
    }

    fn reading(&self, record: &Record, measure: Measure, act: Option<&Act>) -> Option<Ask> {
        let stations = walk::stations(self.case.house, (self.case.figure, self.case.work), record);
        let here: Vec<(Option<String>, f64)> = act
            .into_iter()
            .flat_map(|act| &act.records)
            .filter(|kept| kept.record == record.id)
            .map(|kept| match kept.value {
                crate::deed::Value::Number(value) => (kept.station.clone(), value),
                crate::deed::Value::Text(_) => (kept.station.clone(), f64::NAN),
            })
            .collect();
        let is_taken = |station: &str| {
            here.iter()
                .any(|(kept, _)| kept.as_deref().is_none_or(|kept| kept == station))
                || (record.grid.is_some() && self.has_gap(station))
        };
        let nth = if stations.is_empty() {
            if !here.is_empty() {
                return None;
            }
            0
        } else {
            stations.iter().position(|station| !is_taken(station))?
        };
        let [plausible, usual] = record.ranges(measure);
        Some(Ask::Reading {
            record: record.id.clone(),
            ask: record.ask.clone(),
            measure,
            station: stations.get(nth).cloned(),
            nth: nth + 1,
            of: stations.len().max(1),
            taken: here
                .into_iter()
                .filter(|(_, value)| !value.is_nan())
                .map(|(station, value)| (station.unwrap_or_default(), value))
                .collect(),
            plausible,
            usual,
        })
    }

    /// A gap read at this station in any walk on this joint need not be read again.
    fn has_gap(&self, station: &str) -> bool {
        self.case.standing.readings.iter().any(|reading| {
            reading.measure == Measure::Gap
                && reading.work.target == self.case.work.target
                && reading.station.as_deref() == Some(station)
        })
    }

    /// A lot of one part is one pick; a resin is followed by a hardener of the same material.
    fn lot(
        &self,
        record: &Record,
        kind: crate::card::MaterialKind,
        kept: &dyn Fn(Option<&str>) -> bool,
    ) -> Option<Ask> {
        if kept(None) || kept(Some("b")) {
            return None;
        }
        let (id, ask) = (record.id.clone(), &record.ask);
        if !kept(Some("a")) {
            let mut options = mixing::lot_choices(self.case, kind, None);
            options.retain(|choice| choice.part != "b");
            let lacking = options
                .is_empty()
                .then(|| mixing::tin_of(self.case, kind, "a"));
            return Some(Ask::Lot {
                record: id,
                ask: ask.clone(),
                options,
                lacking,
            });
        }
        let resin = self
            .job
            .recorded(&record.id)
            .and_then(|kept| match &kept.value {
                crate::deed::Value::Text(lot) => mixing::material_of_lot(self.case, lot),
                crate::deed::Value::Number(_) => None,
            });
        let mut options = mixing::lot_choices(self.case, kind, resin.map(|m| m.id.as_str()));
        options.retain(|choice| choice.part == "b");
        let of = resin.map_or_else(String::new, |resin| resin.id.clone());
        let lacking = options.is_empty().then_some((of, "b"));
        Some(Ask::Lot {
            record: id,
            ask: format!("{ask}: now the hardener"),
            options,
            lacking,
        })
    }

    /// Which of the card's gloves are pulled on decides when they are changed.
    fn glove(&self, step: &Step, act: Option<&Act>) -> Option<Ask> {
        let start = step
            .starts
            .iter()
            .find(|start| start.clock == ClockName::Glove)?;
        let material = starts::in_use(self.case, self.job, start.by?)?;
        let chosen = act.is_some_and(|act| act.records.iter().any(|kept| kept.record == GLOVE));
        if chosen || material.gloves.len() < 2 {
            return None;
        }
        Some(Ask::Choice {
            record: GLOVE.to_owned(),
            ask: match starts::picked(self.case, self.job, material.kind) {
                Some(picked) => format!("Which gloves, against {}?", picked.name),
                None => format!("Which gloves, against any {}?", starts::kind_word(material)),
            },
            options: material
                .gloves
                .iter()
                .map(|glove| glove.glove.clone())
                .collect(),
        })
    }

    /// The last clock of a name on this target.
    pub(super) fn clock(&self, name: ClockName) -> Option<ClockView> {
        let same =
            |clock: &&Clock| clock.clock == name && clock.work.target == self.case.work.target;
        let clock = self.case.standing.clocks.iter().rfind(same)?;
        Some(clock::view(
            self.case.house,
            self.case.figure,
            clock,
            self.case.now,
        ))
    }

    /// The clocks of a name that still run: those of this walk, for of several cups the first
    /// mixed is the first to die, and the last one on this target, whatever walk began it.
    pub(super) fn running(&self, name: ClockName) -> Vec<ClockView> {
        let case = self.case;
        let clocks = &case.standing.clocks;
        let here = |clock: &&Clock| clock.clock == name && clock.work.target == case.work.target;
        let last = clocks.iter().rfind(here).map(|clock| clock.id.as_str());
        clocks
            .iter()
            .filter(here)
            .filter(|clock| clock.ended.is_none())
            .filter(|clock| clock.work == *case.work || Some(clock.id.as_str()) == last)
            .map(|clock| clock::view(case.house, case.figure, clock, case.now))
            .collect()
    }

    /// People with the mark, other than those who did a step of this walk.
    pub(super) fn may_sign(&self, mark: Mark) -> Vec<String> {
        let hands = self.job.hands();
        self.case
            .house
            .cards
            .shop
            .people
            .iter()
            .filter(|person| person.marks.contains(&mark) && !hands.contains(person.id.as_str()))
            .map(|person| person.id.clone())
            .collect()
    }
}

/// The kinds of material that a step takes in hand.
fn kinds(step: &Step) -> BTreeSet<MaterialKind> {
    let clocks = step.starts.iter().filter_map(|start| start.by);
    let mix = step.mix.iter().map(|mix| mix.of);
    let lots = step.record.iter().filter_map(|record| record.lot);
    clocks.chain(mix).chain(lots).collect()
}

/// The hazard statements of materials as cautions.
fn statements<'a>(materials: impl Iterator<Item = &'a Material>) -> Vec<Caution> {
    materials
        .flat_map(|material| {
            let known = material.ghs.iter().filter_map(|code| hazard(code));
            known.map(|hazard| Caution {
                say: format!("{}: {}", material.name, hazard.text),
                rank: if hazard.danger { DANGER } else { WARNING },
                source: format!("GHS {}; the product's own data sheet wins", hazard.code),
                when: When::Always,
            })
        })
        .collect()
}

fn is_ticked(act: Option<&Act>, kind: TickKind, said: &str) -> bool {
    act.is_some_and(|act| {
        act.ticks
            .iter()
            .any(|tick| tick.kind == kind && tick.said == said)
    })
}

fn confirm(step: &Step, counted: &[&str]) -> Option<Ask> {
    let nth = step
        .confirm
        .iter()
        .position(|say| !counted.contains(&say.as_str()))?;
    let say = step.confirm.get(nth)?.clone();
    Some(Ask::Confirm {
        say,
        nth: nth + 1,
        of: step.confirm.len(),
    })
}
