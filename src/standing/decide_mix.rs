//! Mixing at the step in front: the plan of a batch, each part on the scale, first contact, and
//! the cup that is thrown away. Start reading at `decide_step`.

use super::decide::said;
use super::decide_step::{Decided, Desk};
use super::facts::Act;
use super::front::OFF_GOOD;
use super::front_wait::off_percent;
use super::prompt::Ask;
use super::starts::Cup;
use super::{Refusal, mixing, starts};
use crate::card::{ClockName, GateKind, Material, StartClock, Step};
use crate::deed::{
    ClockStart, Deed, DeviationKind, Discarded, Mixed, Planned, Poured, Pouring, Stamp,
};

impl Desk<'_> {
    pub(super) fn plan(&self, material: &str) -> Decided {
        let Ask::Batch { offers } = &self.ask else {
            return Err(self.not_asked());
        };
        let offer = offers
            .iter()
            .find(|offer| offer.material == material)
            .ok_or_else(|| Refusal::new(format!("`{material}` is not among the offers")))?;
        if let Some(why) = &offer.refused {
            return Err(Refusal::new(why.clone()));
        }
        let [a_g, b_g] = offer.grams;
        Ok(self.write(Deed::Planned(Planned {
            work: self.work(),
            step: self.step_id(),
            material: offer.material.clone(),
            lots: offer.lots.clone(),
            a_g,
            b_g,
            cups: offer.cups,
            because: offer.because.clone(),
        })))
    }

    pub(super) fn pour(&self, grams: f64) -> Decided {
        let (part, asked_g) = match &self.ask {
            Ask::Pour { part, asked_g, .. }
            | Ask::PourOff {
                add: Some((part, asked_g)),
                ..
            }
            | Ask::Start {
                add: Some((part, asked_g)),
                ..
            } => (*part, *asked_g),
            Ask::PourOff { add: None, .. } => {
                return Err(Refusal::new("this cup cannot be put right: throw it away"));
            }
            _ => return Err(self.not_asked()),
        };
        let [low, high] = [0.1, 2000.0];
        if !(low <= grams && grams <= high) {
            return Err(Refusal::new(format!(
                "{grams} g is outside {low} to {high} g"
            )));
        }
        Ok(self.write(Deed::Poured(Poured {
            work: self.work(),
            step: self.step_id(),
            part,
            asked_g,
            got_g: grams,
            starts: self.first_contact(part, grams)?,
        })))
    }

    /// The cup's clock, where this pour brings resin and hardener together: whoever forgets to
    /// press is rung all the same. The cup counts with all that was planned for it.
    fn first_contact(&self, part: Pouring, grams: f64) -> Result<Vec<ClockStart>, Refusal> {
        let Some(act) = self.act().filter(|act| act.contact.is_none()) else {
            return Ok(Vec::new());
        };
        let [a_g, b_g] = mixing::in_cup(act);
        let other = match part {
            Pouring::Resin => b_g,
            Pouring::Hardener => a_g,
        };
        let Some((planned, _)) = act.planned.as_deref().filter(|_| 0.0 < other) else {
            return Ok(Vec::new());
        };
        // What is in the cup is written down, even where no card says how long it lives.
        let Ok(material) = self.planned_material(planned) else {
            return Ok(Vec::new());
        };
        let cup = Cup {
            material,
            grams: (a_g + b_g + grams).max(planned.a_g + planned.b_g),
        };
        let starts = self.step().map_or(&[][..], |step| &step.starts);
        let of_the_cup: Vec<StartClock> = starts
            .iter()
            .filter(|start| start.clock == ClockName::Cup)
            .cloned()
            .collect();
        starts::clocks(
            self.front.case,
            self.front.job,
            (&of_the_cup, &self.moment.by),
            Some(cup),
        )
        .map_err(Refusal::new)
    }

    fn planned_material(&self, planned: &Planned) -> Result<&Material, Refusal> {
        let materials = &self.front.case.house.cards.materials;
        materials
            .get(&planned.material)
            .ok_or_else(|| Refusal::new("the material has no card any more"))
    }

    pub(super) fn start(&self) -> Decided {
        if !matches!(self.ask, Ask::Start { .. }) {
            return Err(self.not_asked());
        }
        let act = self.act().ok_or_else(|| self.not_asked())?;
        let (planned, _) = act.planned.as_deref().ok_or_else(|| self.not_asked())?;
        let [a_g, b_g] = mixing::in_cup(act);
        let off = off_percent(a_g, b_g, planned.b_g / planned.a_g);
        let case = self.front.case;
        let cup = Some(Cup {
            material: self.planned_material(planned)?,
            grams: a_g + b_g,
        });
        let starts = self
            .step()
            .map(|step| step.starts.as_slice())
            .unwrap_or_default();
        let starts = starts::clocks(case, self.front.job, (starts, &self.moment.by), cup)
            .map_err(Refusal::new)?;
        let mut written = self.write(Deed::Mixed(Mixed {
            work: self.work(),
            step: self.step_id(),
            material: planned.material.clone(),
            lots: planned.lots.clone(),
            a_g,
            b_g,
            off_percent: (off * 100.0).round() / 100.0,
            resin_c: mixing::resin(case, self.front.job),
            starts,
        }));
        if OFF_GOOD < off.abs() {
            let what = format!("mixed {off:+.1} % off the ratio ({a_g} g to {b_g} g)");
            written.extend(self.deviated(DeviationKind::WeightOff, what));
        }
        if self.is_all_of_it(act, planned) {
            written.extend(self.finish_step()?);
        }
        Ok(written)
    }

    /// Whether the press for this cup is the last thing that the step wants.
    fn is_all_of_it(&self, act: &Act, planned: &Planned) -> bool {
        let is_last = planned.cups as usize <= act.mixed.len() + 1;
        let wants_no_more = |step: &Step| step.until.is_none() && step.hold.is_none();
        is_last && self.step().is_some_and(wants_no_more)
    }

    pub(super) fn discard(&self, why: &str) -> Decided {
        said(why, "say why the cup is thrown away")?;
        if self.act().is_none_or(|act| act.pours.is_empty()) {
            return self.discard_mixed(why);
        }
        // What has met goes on heating itself, in the cup or on the stone.
        let act = self.act();
        let has_met = act.is_some_and(|act| act.contact.is_some());
        let planned = act.and_then(|act| act.planned.as_deref());
        let materials = &self.front.case.house.cards.materials;
        let mixed = planned.and_then(|(planned, _)| materials.get(&planned.material));
        let leftover = StartClock {
            clock: ClockName::Leftover,
            by: mixed.map(|material| material.kind),
        };
        let wanted = if has_met { &[leftover][..] } else { &[] };
        let starts = starts::clocks(
            self.front.case,
            self.front.job,
            (wanted, &self.moment.by),
            None,
        )
        .map_err(Refusal::new)?;
        let mut written = self.write(Deed::Discarded(Discarded {
            work: self.work(),
            step: self.step_id(),
            why: why.to_owned(),
            starts,
            ends: Vec::new(),
        }));
        if let Ask::PourOff { off_percent, .. } = &self.ask {
            let what = format!("cup thrown away, {off_percent:+.1} % off the ratio: {why}");
            written.extend(self.deviated(DeviationKind::WeightOff, what));
        }
        Ok(written)
    }
}

impl Desk<'_> {
    /// A cup that was pressed already: its mixing comes to the front again. Where nothing of it
    /// is on the wood, the film's clock ends with it; the cup itself is watched until it is cold.
    fn discard_mixed(&self, why: &str) -> Decided {
        let (front, work) = (&self.front, self.work());
        let live = |(_, stamp): &&(Mixed, Stamp)| {
            let mut clocks = front.case.standing.clocks.iter();
            clocks.any(|clock| {
                clock.started.n == stamp.n && clock.clock == ClockName::Cup && clock.ended.is_none()
            })
        };
        let mut acts = front.job.acts.iter();
        let mixed = acts.find_map(|(step, act)| Some((step, act.mixed.iter().rev().find(live)?)));
        let Some((step, (_, stamp))) = mixed else {
            return Err(Refusal::new("there is nothing in the cup"));
        };
        let mut ends = vec![ClockName::Cup, ClockName::Clamps, ClockName::Load];
        let wets = |step: &Step| step.gates.iter().any(|ask| ask.gate == GateKind::MixLive);
        let is_done = |step: &Step| {
            let done = front.job.act(&step.id).and_then(|act| act.done.as_ref());
            done.is_some_and(|done| stamp.n < done.n)
        };
        let mut steps = front.steps.iter().map(|flat| &flat.step);
        if !steps.any(|step| wets(step) && is_done(step)) {
            ends.push(ClockName::Closing);
        }
        Ok(self.write(Deed::Discarded(Discarded {
            work,
            step: step.to_string(),
            why: why.to_owned(),
            starts: Vec::new(),
            ends,
        })))
    }
}

pub(super) fn part_word(part: Pouring) -> &'static str {
    match part {
        Pouring::Resin => "resin",
        Pouring::Hardener => "hardener",
    }
}
