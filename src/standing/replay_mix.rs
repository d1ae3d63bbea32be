//! A cup becomes facts: what is planned, poured, pressed and thrown away, and the clocks that
//! run from it. Start reading at `replay`.

use super::facts::{Act, FigureStanding, PRESSED, TickKept};
use super::judged::both_parts;
use super::mixing;
use crate::card::ClockName;
use crate::deed::{ClockRule, Deed, Discarded, Mixed, Stamp, TickKind};

impl Act {
    /// What was weighed into the cup at hand, by the batch that was planned; `None` while it is
    /// empty.
    fn cup_at_hand(&self) -> Option<Mixed> {
        let (planned, _) = self.planned.as_deref()?;
        let [a_g, b_g] = mixing::in_cup(self);
        (0.0 < a_g + b_g).then(|| Mixed {
            work: planned.work.clone(),
            step: planned.step.clone(),
            material: planned.material.clone(),
            lots: planned.lots.clone(),
            a_g,
            b_g,
            off_percent: 0.0,
            resin_c: None,
            starts: Vec::new(),
        })
    }

    /// The cup at hand is done with; returns the pour by which both parts met in it.
    fn empty_cup(&mut self) -> Option<Stamp> {
        self.pours.clear();
        self.contact.take()
    }
}

impl FigureStanding {
    pub(super) fn take_mix(&mut self, deed: &Deed, stamp: &Stamp) {
        match deed {
            Deed::Planned(deed) => {
                let act = self.act_for(&deed.work, &deed.step, stamp);
                let met = act.empty_cup();
                act.planned = Some(Box::new((deed.clone(), stamp.clone())));
                self.end_poured(met, "planned anew", stamp);
            }
            Deed::Poured(deed) => {
                let act = self.act_for(&deed.work, &deed.step, stamp);
                act.pours.push(deed.clone());
                if act.contact.is_none() && mixing::in_cup(act).iter().all(|grams| 0.0 < *grams) {
                    act.contact = Some(stamp.clone());
                }
                let planned = act.planned.as_deref();
                let lots = planned.map(|(planned, _)| both_parts(&planned.lots));
                self.start_clocks(&deed.work, (&deed.starts, lots.as_slice()), stamp);
            }
            Deed::Discarded(deed) if !deed.ends.is_empty() => self.take_back(deed, stamp),
            Deed::Discarded(deed) => {
                let act = self.act_for(&deed.work, &deed.step, stamp);
                let wasted = act.cup_at_hand().map(|cup| (cup, stamp.clone()));
                act.wasted.extend(wasted);
                let met = act.empty_cup();
                self.end_poured(met, "thrown away", stamp);
                self.start_clocks(&deed.work, (&deed.starts, &[]), stamp);
            }
            Deed::Mixed(deed) => {
                let act = self.act_for(&deed.work, &deed.step, stamp);
                let met = act.empty_cup();
                act.mixed.push((deed.clone(), stamp.clone()));
                let lots = [both_parts(&deed.lots)];
                self.start_clocks(&deed.work, (&deed.starts, &lots), stamp);
                self.live_since(met.as_ref(), stamp.n);
                self.take_over(met.as_ref(), stamp.n);
                self.end_poured(met, PRESSED, stamp);
            }
            _ => {}
        }
    }

    /// What must be done before its mix goes off runs from first contact, which is no later than
    /// the pour that was kept. What is waited for runs from the press, the later of the two.
    fn live_since(&mut self, met: Option<&Stamp>, mixed: u64) {
        let started = self.clocks.iter_mut();
        for clock in started.filter(|clock| clock.started.n == mixed) {
            let goes_off = matches!(
                clock.rule,
                ClockRule::PotLife { .. } | ClockRule::Film { .. }
            );
            if let (true, Some(met)) = (goes_off, met) {
                clock.started.at = clock.started.at.min(met.at);
            }
        }
    }

    /// A cup that was mixed is thrown away: its mixing comes to the front again, and what was
    /// done and looked at since is done with the next cup.
    fn take_back(&mut self, deed: &Discarded, stamp: &Stamp) {
        let act = self.act_for(&deed.work, &deed.step, stamp);
        let Some((cup, mixed)) = act.mixed.pop() else {
            return;
        };
        act.wasted.push((cup, stamp.clone()));
        act.done = None;
        for act in self.job_for(&deed.work, stamp).acts.values_mut() {
            act.done = act.done.take().filter(|done| done.n < mixed.n);
            let is_of_before =
                |tick: &TickKept| tick.stamp.n < mixed.n || tick.kind != TickKind::Confirm;
            act.ticks.retain(is_of_before);
        }
        let of_it = self.clocks.iter_mut().filter(|it| it.started.n == mixed.n);
        for clock in of_it.filter(|clock| deed.ends.contains(&clock.clock)) {
            let how = || ("thrown away".to_owned(), stamp.clone());
            clock.ended.get_or_insert_with(how);
        }
    }

    /// What was read and answered of the cup before the press holds after it.
    fn take_over(&mut self, met: Option<&Stamp>, mixed: u64) {
        let poured = met.and_then(|met| self.clocks.iter().find(|it| it.started.n == met.n));
        let Some((wall_c, answered)) = poured.map(|it| (it.wall_c, it.answered.clone())) else {
            return;
        };
        let started = self.clocks.iter_mut().filter(|it| it.started.n == mixed);
        for cup in started.filter(|clock| clock.clock == ClockName::Cup) {
            cup.wall_c = wall_c;
            cup.answered.clone_from(&answered);
        }
    }

    /// The clock that ran from the pour is over with the cup at hand: pressed, it goes on under
    /// the clock of the press.
    fn end_poured(&mut self, met: Option<Stamp>, how: &str, stamp: &Stamp) {
        let Some(met) = met else { return };
        for clock in self.clocks.iter_mut().filter(|it| it.started.n == met.n) {
            clock
                .ended
                .get_or_insert_with(|| (how.to_owned(), stamp.clone()));
        }
    }
}
