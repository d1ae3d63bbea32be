//! What the step in front asks for while a cup is filled, and what it waits for: a gate, a word
//! said at each place, a clock and a hand. Start reading at `front`.

use chrono::{DateTime, FixedOffset};

use super::air::hours_between;
use super::clock::{ClockState, ClockView};
use super::facts::Act;
use super::front::{Front, OFF_GOOD, OFF_REJECT};
use super::gate_size::READY_WORD_H;
use super::prompt::{Ask, TestPlace};
use super::{Refusal, mixing, walk};
use crate::card::{ClockName, Hold, Step, Until, WordScale};
use crate::deed::Pouring;

impl Front<'_> {
    pub(super) fn mix(&self, step: &Step, act: Option<&Act>) -> Option<Ask> {
        let mix = step.mix.as_ref()?;
        let cups = act.and_then(|act| act.planned.as_deref());
        let Some((planned, _)) = cups else {
            return Some(Ask::Batch {
                offers: mixing::offers(self.case, self.job, mix),
            });
        };
        let act = act?;
        let mixed = u32::try_from(act.mixed.len()).unwrap_or(u32::MAX);
        if planned.cups <= mixed {
            return None;
        }
        if let Some(ask) = self.cup_at_work(act, (mixed, planned.cups)) {
            return Some(ask);
        }
        let [a, b] = mixing::in_cup(act);
        let name = self.material_name(&planned.material);
        let poured = poured(act);
        let pour = |part, asked_g: f64| Ask::Pour {
            part,
            material: name.clone(),
            asked_g,
            cup: mixed + 1,
            cups: planned.cups,
            poured: poured.clone(),
        };
        if a <= 0.0 {
            return Some(pour(Pouring::Resin, planned.a_g));
        }
        // The hardener is asked for by the resin that is really in the cup.
        let ratio = planned.b_g / planned.a_g;
        if b <= 0.0 {
            return Some(pour(Pouring::Hardener, tenth(a * ratio)));
        }
        let off = off_percent(a, b, ratio);
        if OFF_REJECT < off.abs() {
            return Some(Ask::PourOff {
                off_percent: off,
                add: to_add(a, b, ratio),
                poured,
            });
        }
        let live_min = act.contact.as_ref().map_or(0.0, |met| {
            hours_between(met.at, self.case.now).0.max(0.0) * 60.0
        });
        let add = to_add(a, b, ratio).filter(|_| OFF_GOOD < off.abs());
        Some(self.start_ask(planned, (a + b, live_min), (off, add)))
    }

    /// Several cups are mixed on demand: the next is weighed once the one before is used up.
    fn cup_at_work(&self, act: &Act, (mixed, cups): (u32, u32)) -> Option<Ask> {
        let is_weighed = !act.pours.is_empty();
        let running = self.running(ClockName::Cup).into_iter();
        let mut own = running.filter(|view| !is_weighed && view.work == *self.case.work);
        Some(Ask::Wait {
            clock: Some(own.next()?),
            ready: true,
            hand: format!(
                "cup {mixed} of {cups} is used up, cup {} comes next",
                mixed + 1
            ),
        })
    }

    /// Returns the running cup that the step in front waits for, if it is one of several and
    /// not the last.
    pub(super) fn cup_to_use_up(&self, step: &Step, act: Option<&Act>) -> Option<ClockView> {
        step.mix.as_ref()?;
        match self.mix(step, act) {
            Some(Ask::Wait { clock, .. }) => clock,
            _ => None,
        }
    }

    /// `live_min` is how long both parts stand in the cup already, minutes.
    fn start_ask(
        &self,
        planned: &crate::deed::Planned,
        (grams, live_min): (f64, f64),
        (off, add): (f64, Option<(Pouring, f64)>),
    ) -> Ask {
        let material = self.case.house.cards.materials.get(&planned.material);
        let promise = material
            .ok_or_else(|| "the material has no card any more".to_owned())
            .and_then(|material| mixing::promise_now(self.case, self.job, material, grams));
        let (promise_min, because) = match promise {
            Ok(promise) => (
                (promise.do_before().0 - live_min).max(0.0),
                promise.because().to_owned(),
            ),
            Err(why) => (0.0, why),
        };
        let verdict = if off.abs() <= OFF_GOOD {
            "good"
        } else {
            "off, but within 5 %: noted"
        };
        Ask::Start {
            off_percent: off,
            verdict: verdict.to_owned(),
            add,
            promise_min,
            because,
        }
    }

    fn material_name(&self, id: &str) -> String {
        let card = self.case.house.cards.materials.get(id);
        card.map_or_else(|| id.to_owned(), |material| material.name.clone())
    }

    pub(super) fn until(&self, step: &Step, act: Option<&Act>) -> Option<Ask> {
        let until = step.until.as_ref()?;
        let gate = until.gate.map(walk::ending_gate);
        if let Some(ask) = gate.and_then(|ask| self.gates(&[ask], &step.id)) {
            return Some(ask);
        }
        if let Some(ask) = until.words.and_then(|scale| self.test(until, scale, act)) {
            return Some(ask);
        }
        if until.clock.is_none() && until.hand.is_none() {
            return None;
        }
        let clock = until.clock.and_then(|name| self.clock(name));
        Some(Ask::Wait {
            ready: clock.as_ref().is_none_or(has_come),
            clock,
            hand: until
                .hand
                .clone()
                .unwrap_or_else(|| "it has come".to_owned()),
        })
    }

    pub(super) fn hold(&self, hold: Option<&Hold>) -> Option<Ask> {
        let hold = hold?;
        let standing = self.case.standing;
        let refused = standing.refused_hold(&self.job.work, &hold.sign);
        // Who put right what was refused is a hand of it.
        let again = refused.as_ref().and_then(|it| it.again.as_ref());
        let mut may_sign = self.may_sign(hold.mark);
        may_sign.retain(|id| again.is_none_or(|(_, stamp)| *stamp.by != **id));
        Some(Ask::Hold {
            refused,
            sign: hold.sign.clone(),
            may_sign,
        })
    }

    /// Size that was ready an hour ago may be dead.
    fn is_fresh(&self, at: DateTime<FixedOffset>) -> bool {
        hours_between(at, self.case.now).0 <= READY_WORD_H
    }

    fn test(&self, until: &Until, scale: WordScale, act: Option<&Act>) -> Option<Ask> {
        let (words, pass) = words(scale);
        let names = if until.at.is_empty() {
            vec![String::new()]
        } else {
            until.at.clone()
        };
        let places: Vec<TestPlace> = names
            .into_iter()
            .map(|place| {
                let last = act
                    .into_iter()
                    .flat_map(|act| &act.tests)
                    .rfind(|test| test.place == place)
                    .map(|test| (test.word.clone(), test.stamp.at));
                let is_fresh = |at| scale != WordScale::Tack || self.is_fresh(at);
                let ready = last
                    .as_ref()
                    .is_some_and(|(word, at)| pass.contains(&word.as_str()) && is_fresh(*at));
                TestPlace { place, last, ready }
            })
            .collect();
        if places.iter().all(|place| place.ready) {
            return None;
        }
        let clocks = match (scale, until.clock) {
            (WordScale::Tack, _) => [
                ClockName::TackEdge,
                ClockName::TackFlat,
                ClockName::TackHollow,
            ]
            .into_iter()
            .filter_map(|name| self.clock(name))
            .collect(),
            (_, Some(name)) => self.clock(name).into_iter().collect(),
            (_, None) => Vec::new(),
        };
        Some(Ask::Test {
            scale,
            words: words.to_vec(),
            ready_word: pass.first().copied().unwrap_or_default(),
            places,
            clocks,
        })
    }
}

/// What the air never brings has not come either: a stalled cure has no opening at all.
fn has_come(view: &ClockView) -> bool {
    !matches!(view.state, ClockState::Waiting | ClockState::Frozen)
}

fn poured(act: &Act) -> Vec<(Pouring, f64)> {
    act.pours
        .iter()
        .map(|pour| (pour.part, pour.got_g))
        .collect()
}

/// Returns how far the hardener is off what the resin asks for, percent.
pub(super) fn off_percent(a: f64, b: f64, ratio: f64) -> f64 {
    (b / (a * ratio) - 1.0) * 100.0
}

/// Which part to add, and how much, to bring a cup back to its ratio; `None` where the cup
/// would grow by more than a quarter: then only a new one helps.
fn to_add(a: f64, b: f64, ratio: f64) -> Option<(Pouring, f64)> {
    let (part, grams) = if a * ratio < b {
        (Pouring::Resin, b / ratio - a)
    } else {
        (Pouring::Hardener, a * ratio - b)
    };
    (grams <= (a + b) * 0.25).then_some((part, tenth(grams)))
}

fn tenth(grams: f64) -> f64 {
    (grams * 10.0).round() / 10.0
}

/// Returns the words of a scale in order, and those that pass, the best first.
pub fn words(scale: WordScale) -> (&'static [&'static str], &'static [&'static str]) {
    match scale {
        WordScale::Tack => (
            &["wet", "sticky", "coming", "ready", "going", "dead"],
            &["ready", "going"],
        ),
        WordScale::Powder => (&["crumbs", "powder"], &["powder"]),
        WordScale::Nail => (&["soft", "marks", "hard"], &["hard"]),
        WordScale::Cup => (&["hot", "warm", "cold"], &["cold"]),
    }
}

/// Refuses what is not a word of a test.
pub(super) fn is_word(words: &[&str], word: &str) -> Result<(), Refusal> {
    if words.contains(&word) {
        return Ok(());
    }
    let one = format!("one of {}", words.join(", "));
    Err(Refusal::new(format!("`{word}` is not a word of this test")).remedy(one))
}
