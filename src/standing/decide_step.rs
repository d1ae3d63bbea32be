//! Acts at the step in front of a job. Each is judged against the one thing that the step
//! asks for now: an act that was not asked for is refused with the word what is.

use super::decide::{has_mark, is_over, one, person, said};
use super::decide_mix::part_word;
use super::facts::Act;
use super::front::Front;
use super::front_wait::is_word;
use super::intent::AtStep;
use super::prompt::{Ask, OpensBy, Verdict};
use super::{House, Moment, Refusal, Written, flawed, shelf, starts};
use crate::card::{ClockName, Mark, Step};
use crate::deed::{
    ClockEnded, CoatLaid, Deed, Deviated, DeviationKind, Done, Finished, GateSaid, Overruled,
    SentBack, ShownAgain, Signed, Tested, TickKind, Ticked, Use, Value, Work,
};

/// The deeds of an act, or why not.
pub(super) type Decided = Result<Vec<Written>, Refusal>;

/// Everything that the judgement of one act needs.
pub(super) struct Desk<'a> {
    pub(super) front: Front<'a>,
    pub(super) ask: Ask,
    pub(super) moment: &'a Moment,
}

pub(super) fn decide<'a>(
    house: House<'a>,
    moment: &'a Moment,
    (figure, work): (&'a str, &'a Work),
    what: &AtStep,
) -> Decided {
    let front = Front::look(house, figure, work, moment.at)
        .ok_or_else(|| Refusal::new("this work was never begun"))?;
    let ask = front.ask();
    if let Ask::Finished { .. } | Ask::SentBack { .. } = ask {
        return Err(Refusal::new("this work is closed: begin another round"));
    }
    if !matches!(what, AtStep::Sign { .. }) {
        has_mark(house, &moment.by, front.list)?;
    }
    let desk = Desk { front, ask, moment };
    flawed::goes_on(&desk, what)?;
    match what {
        AtStep::Tick => desk.tick(),
        AtStep::Vouch => desk.vouch(),
        AtStep::Overrule { why, second } => desk.overrule(why, second.as_deref()),
        AtStep::Enter { value, again } => desk.enter(value, *again),
        AtStep::ReadAgain => desk.read_again(),
        AtStep::Leave { why } => desk.leave(why),
        AtStep::Plan { material } => desk.plan(material),
        AtStep::Pour { grams } => desk.pour(*grams),
        AtStep::Start => desk.start(),
        AtStep::Discard { why } => desk.discard(why),
        AtStep::Test { place, word } => desk.test(place, word),
        AtStep::Done => desk.done(),
        AtStep::DoneEarly { why } => desk.done_early(why),
        AtStep::Sign { accepted, why } => desk.sign(*accepted, why),
        AtStep::ShowAgain { said } => desk.show_again(said),
        AtStep::SendBack { back_to, why } => desk.send_back(back_to, why),
    }
}

impl Desk<'_> {
    pub(super) fn work(&self) -> Work {
        self.front.case.work.clone()
    }

    pub(super) fn step(&self) -> Option<&Step> {
        self.front.flat().map(|flat| flat.step.as_ref())
    }

    pub(super) fn step_id(&self) -> String {
        self.front.step_id().to_owned()
    }

    pub(super) fn act(&self) -> Option<&Act> {
        self.front.job.act(self.front.step_id())
    }

    pub(super) fn write(&self, deed: Deed) -> Vec<Written> {
        one(self.front.case.figure, deed)
    }

    /// Another act than the one asked for.
    pub(super) fn not_asked(&self) -> Refusal {
        Refusal::new(match &self.ask {
            Ask::Gate(verdict) => format!("the gate `{}` is shut: {}", verdict.name, verdict.why),
            Ask::Cautions(_) => "read the cautions and tick them first".to_owned(),
            Ask::Confirm { say, .. } => format!("look first: {say}"),
            Ask::Reading { ask, .. } => format!("read first: {ask}"),
            Ask::Choice { ask, .. } | Ask::Lot { ask, .. } => format!("choose first: {ask}"),
            Ask::Photo { station, .. } => format!("photograph first: {station}"),
            Ask::Words { ask, .. } => format!("write first: {ask}"),
            Ask::Batch { .. } => "choose the batch first".to_owned(),
            Ask::Pour { part, asked_g, .. } => {
                format!("weigh first: {asked_g} g of {}", part_word(*part))
            }
            Ask::PourOff { off_percent, .. } => {
                format!("the cup is off by {off_percent:.1} %: put it right or throw it away")
            }
            Ask::Start { .. } => "press start at first contact".to_owned(),
            Ask::Act => "do the act, then say so".to_owned(),
            Ask::Wait { hand, .. } => format!("wait until: {hand}"),
            Ask::Test { ready_word, .. } => format!("test first: every place must be {ready_word}"),
            Ask::Hold { sign, .. } => format!("waits for a signature: {sign}"),
            Ask::Finished { .. } | Ask::SentBack { .. } => "this work is closed".to_owned(),
        })
    }

    fn tick(&self) -> Decided {
        let ticked = |kind, said: &str| {
            Deed::Ticked(Ticked {
                work: self.work(),
                step: self.step_id(),
                kind,
                said: said.to_owned(),
            })
        };
        match &self.ask {
            Ask::Cautions(cautions) => Ok(cautions
                .iter()
                .flat_map(|caution| self.write(ticked(TickKind::Caution, &caution.say)))
                .collect()),
            Ask::Confirm { say, .. } => Ok(self.write(ticked(TickKind::Confirm, say))),
            _ => Err(self.not_asked()),
        }
    }

    fn gate(&self) -> Result<&Verdict, Refusal> {
        match &self.ask {
            Ask::Gate(verdict) => Ok(verdict),
            _ => Err(Refusal::new("no gate is shut here")),
        }
    }

    fn vouch(&self) -> Decided {
        let verdict = self.gate()?;
        let OpensBy::Vouch(said) = &verdict.opens_by else {
            return Err(Refusal::new(format!(
                "looking does not open this: {}",
                verdict.why
            )));
        };
        let deed = GateSaid {
            work: self.work(),
            step: self.step_id(),
            gate: verdict.gate,
            said: said.clone(),
        };
        Ok(self.write(Deed::GateSaid(deed)))
    }

    fn overrule(&self, why: &str, second: Option<&str>) -> Decided {
        let verdict = self.gate()?;
        said(why, "passing a shut gate needs its reason")?;
        let second = if verdict.hard {
            Some(self.second(verdict, second)?)
        } else {
            None
        };
        Ok(self.write(Deed::Overruled(Overruled {
            work: self.work(),
            step: self.step_id(),
            gate: verdict.gate,
            verdict: verdict.why.clone(),
            why: why.to_owned(),
            second,
        })))
    }

    fn second(&self, verdict: &Verdict, second: Option<&str>) -> Result<String, Refusal> {
        let Some(second) = second else {
            return Err(Refusal::new(format!(
                "`{}` is a hard gate: a second person must agree",
                verdict.name
            )));
        };
        let who = person(self.front.case.house, second)?;
        if second == self.moment.by {
            return Err(Refusal::new("the second person must be somebody else"));
        }
        if self.front.job.hands().contains(second) {
            return Err(Refusal::new(format!(
                "{} did a step of this work: the second person must come to it fresh",
                who.name
            )));
        }
        if !who.marks.contains(&Mark::Overrule) {
            return Err(Refusal::new(format!(
                "{} has no mark to overrule a gate",
                who.name
            )));
        }
        Ok(second.to_owned())
    }

    pub(super) fn deviated(&self, kind: DeviationKind, what: String) -> Vec<Written> {
        self.write(Deed::Deviated(Deviated {
            work: self.work(),
            step: self.step_id(),
            kind,
            what,
        }))
    }

    fn test(&self, place: &str, word: &str) -> Decided {
        let Ask::Test { words, places, .. } = &self.ask else {
            return Err(self.not_asked());
        };
        if !places.iter().any(|known| known.place == place) {
            return Err(Refusal::new(format!(
                "`{place}` is not a place of this test"
            )));
        }
        is_word(words, word)?;
        let deed = Tested {
            work: self.work(),
            step: self.step_id(),
            place: place.to_owned(),
            word: word.to_owned(),
        };
        Ok(self.write(Deed::Tested(deed)))
    }

    fn done(&self) -> Decided {
        if let Some(cup) = self.cup_used_up() {
            return Ok(cup);
        }
        match &self.ask {
            Ask::Act | Ask::Wait { ready: true, .. } => self.finish_step(),
            Ask::Wait {
                ready: false,
                clock,
                ..
            } => {
                let until = clock.as_ref().and_then(|view| view.opens);
                let until = until.map_or_else(
                    || "it does not come in this air".to_owned(),
                    |at| format!("not before {}", at.format("%a %H:%M")),
                );
                Err(Refusal::new(until).remedy("wait, or say why it is done early"))
            }
            _ => Err(self.not_asked()),
        }
    }

    /// Of several cups mixed on demand one is used up: its clock ends, the step goes on.
    fn cup_used_up(&self) -> Option<Vec<Written>> {
        let Ask::Wait { ready: true, .. } = &self.ask else {
            return None;
        };
        let cup = self.front.cup_to_use_up(self.step()?, self.act())?;
        let mut written = self.late(&[ClockName::Cup]);
        written.extend(self.write(Deed::ClockEnded(ClockEnded {
            clock: cup.id,
            how: "used up".to_owned(),
            starts: Vec::new(),
        })));
        Some(written)
    }

    fn done_early(&self, why: &str) -> Decided {
        said(why, "say why it is done early")?;
        let Ask::Wait {
            ready: false, hand, ..
        } = &self.ask
        else {
            return Err(self.not_asked());
        };
        let mut written = self.deviated(
            DeviationKind::TooEarly,
            format!("before its time: {hand}: {why}"),
        );
        written.extend(self.finish_step()?);
        Ok(written)
    }

    pub(super) fn finish_step(&self) -> Decided {
        let Some(flat) = self.front.flat() else {
            return Ok(self.write(Deed::Finished(Finished { work: self.work() })));
        };
        if let Some(branch) = flat
            .step
            .branches
            .iter()
            .find(|branch| self.is_taken(&branch.record, &branch.is))
        {
            return self.send_back(&branch.back_to, &branch.why);
        }
        let case = self.front.case;
        let starts = if flat.step.mix.is_some() {
            &[]
        } else {
            flat.step.starts.as_slice()
        };
        let starts = starts::clocks(case, self.front.job, (starts, &self.moment.by), None)
            .map_err(Refusal::new)?;
        let ends = ends(&flat.step);
        let mut written = self.late(&ends);
        written.extend(self.write(Deed::Done(Done {
            work: self.work(),
            step: flat.step.id.clone(),
            starts,
            ends,
            coat: self.coat()?,
        })));
        written.extend(self.finished());
        Ok(written)
    }

    fn is_taken(&self, record: &str, word: &str) -> bool {
        self.front
            .job
            .recorded(record)
            .is_some_and(|kept| kept.value == Value::Text(word.to_owned()))
    }

    /// A clock that had run out before the act that ends it is a deviation; of several of one
    /// name, the one that ran out first.
    fn late(&self, ends: &[ClockName]) -> Vec<Written> {
        ends.iter()
            .filter_map(|name| {
                let over = self.front.running(*name).into_iter().filter(is_over);
                over.min_by_key(|view| view.closes)
            })
            .flat_map(|view| {
                let late = view
                    .closes
                    .map_or(0, |closes| (self.moment.at - closes).num_minutes());
                let kind = if view.side == Use::DoBefore {
                    DeviationKind::TooLate
                } else {
                    DeviationKind::WindowMissed
                };
                // What was worn is told from what it was worn against.
                let what = match view.clock {
                    ClockName::Glove => format!("gloves against {}", view.about),
                    ClockName::Cartridge => format!("mask cartridge against {}", view.about),
                    _ => view.about,
                };
                self.deviated(kind, format!("{what} ended {late} min after its time"))
            })
            .collect()
    }

    fn coat(&self) -> Result<Option<CoatLaid>, Refusal> {
        let Some(flat) = self.front.flat() else {
            return Ok(None);
        };
        let Some((number, of, stripe)) = flat.coat else {
            return Ok(None);
        };
        let kind = flat.step.starts.iter().find_map(|start| start.by);
        let material = kind.and_then(|kind| starts::in_use(self.front.case, self.front.job, kind));
        let material = material.ok_or_else(|| Refusal::new("no lot was picked for this coat"))?;
        let lot = self.act().and_then(|act| {
            act.records.iter().rev().find_map(|kept| match &kept.value {
                Value::Text(lot) if shelf::is_of(self.front.case.house, material, lot) => {
                    Some(lot.clone())
                }
                _ => None,
            })
        });
        Ok(Some(CoatLaid {
            material: material.id.clone(),
            lot,
            number,
            of,
            stripe,
        }))
    }

    /// The operation is finished with its last step.
    fn finished(&self) -> Vec<Written> {
        let last = self.front.at.map(|at| at + 1) == Some(self.front.steps.len());
        if last {
            self.write(Deed::Finished(Finished { work: self.work() }))
        } else {
            Vec::new()
        }
    }

    fn sign(&self, accepted: bool, why: &str) -> Decided {
        let Ask::Hold {
            sign,
            may_sign,
            refused,
        } = &self.ask
        else {
            return Err(Refusal::new("nothing waits for a signature here"));
        };
        if !may_sign.contains(&self.moment.by) {
            let who = person(self.front.case.house, &self.moment.by)?;
            return Err(Refusal::new(format!("{} may not sign this", who.name))
                .remedy(format!("{} may", may_sign.join(" or "))));
        }
        if let Some(refused) = refused.as_ref().filter(|refused| refused.again.is_none()) {
            return Err(
                Refusal::new(format!("this is back at the bench: {}", refused.told())).remedy(
                    "the bench says what was put right; then it waits for a signature again",
                ),
            );
        }
        if !accepted {
            said(why, "a refusal needs its reason")?;
        }
        let mut written = self.write(Deed::Signed(Signed {
            work: self.work(),
            step: self.step_id(),
            said: sign.clone(),
            accepted,
            why: why.to_owned(),
        }));
        if accepted {
            written.extend(self.finished());
        }
        Ok(written)
    }

    fn show_again(&self, what: &str) -> Decided {
        let Ask::Hold {
            refused: Some(refused),
            ..
        } = &self.ask
        else {
            return Err(Refusal::new("nothing was refused here"));
        };
        if let Some((_, stamp)) = &refused.again {
            return Err(Refusal::new(format!(
                "{} has shown it once more already; it waits for a signature",
                stamp.by
            )));
        }
        said(what, "say what was put right")?;
        Ok(self.write(Deed::ShownAgain(ShownAgain {
            work: self.work(),
            step: self.step_id(),
            said: what.to_owned(),
        })))
    }

    fn send_back(&self, back_to: &str, why: &str) -> Decided {
        said(why, "say why it goes back")?;
        if !self.front.case.house.cards.checklists.contains_key(back_to) {
            return Err(Refusal::new(format!("no checklist is called `{back_to}`")));
        }
        Ok(self.write(Deed::SentBack(SentBack {
            work: self.work(),
            step: self
                .front
                .flat()
                .map(|flat| flat.step.id.clone())
                .unwrap_or_default(),
            back_to: back_to.to_owned(),
            why: why.to_owned(),
        })))
    }
}

/// Clocks that a step ends: those it names, the one it waited for, and the recoat window
/// below a new coat.
fn ends(step: &Step) -> Vec<ClockName> {
    let mut ends = step.ends.clone();
    let waited = step.until.as_ref().and_then(|until| until.clock);
    ends.extend(waited.filter(|name| *name != ClockName::Recoat));
    if step
        .starts
        .iter()
        .any(|start| start.clock == ClockName::Recoat)
    {
        ends.push(ClockName::Recoat);
    }
    ends.sort_unstable();
    ends.dedup();
    ends
}
