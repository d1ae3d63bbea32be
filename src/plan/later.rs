//! What cannot be gone on with yet: from when on it can, or what keeps it shut while its window
//! closes. It stands below the choices of what to do now.

use chrono::{DateTime, FixedOffset};

use super::next::{CHOICES, Choice, Look, lost, walk_name};
use super::shut::{keeps_shut, shut_at, shut_before, why_shut};
use crate::deed::Work;
use crate::standing::{ClockState, House, Offer, OpensBy, Stage, Verdict, flaws_of, prompt};

/// Work that cannot be gone on with yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Later {
    /// From when on it can; `None` while something keeps it shut.
    pub at: Option<DateTime<FixedOffset>>,
    /// Figure id.
    pub figure: String,
    /// The walk.
    pub work: Work,
    /// What keeps it shut, when it closes and what is lost then; empty where nothing does.
    pub words: String,
    /// Whether something of it closes soon.
    presses: bool,
}

impl Later {
    /// Returns it as a line, such as `from 12:07 bandmaster: Prime, three coats, trousers`.
    pub fn told(&self, house: House<'_>, now: DateTime<FixedOffset>) -> String {
        let name = walk_name(house, &self.figure, &self.work);
        let from = self.at.map_or_else(
            || "kept shut:".to_owned(),
            |at| {
                let today = at.date_naive() == now.date_naive();
                let hour = at.format(if today { "%H:%M" } else { "%a %-d %b %H:%M" });
                format!("from {hour}")
            },
        );
        let words = match self.words.as_str() {
            "" => String::new(),
            words => format!("; {words}"),
        };
        format!("{from} {name}{words}")
    }
}

/// Returns what comes next, and what is kept shut while it closes, the first first: as many as
/// there are places left beside the choices, and whatever closes soon besides.
pub(super) fn comes_next(
    look: &Look<'_>,
    offered: &[(&str, Vec<Offer>)],
    choices: &[Choice],
) -> Vec<Later> {
    let figures = offered.iter();
    let mut all: Vec<Later> = figures
        .flat_map(|(figure, offers)| look.later(figure, offers))
        .collect();
    all.retain(|one| {
        let is_it = |it: &Choice| (&it.figure, &it.work) == (&one.figure, &one.work);
        !choices.iter().any(is_it)
    });
    all.sort_by(|a, b| {
        let press = b.presses.cmp(&a.presses);
        press
            .then(a.at.cmp(&b.at))
            .then_with(|| a.figure.cmp(&b.figure))
    });
    let mut left = CHOICES.saturating_sub(choices.len());
    all.retain(|one| {
        let is_told = one.presses || 0 < left;
        left = left.saturating_sub(1);
        is_told
    });
    all.truncate(CHOICES);
    all.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.figure.cmp(&b.figure)));
    all
}

impl Look<'_> {
    /// The walks of a figure that this person may go on with later, or only when what keeps them
    /// shut is seen to.
    fn later<'o>(&'o self, figure: &'o str, offers: &'o [Offer]) -> impl Iterator<Item = Later> {
        let mine = offers.iter().filter(|offer| {
            let list = self.house.cards.checklists.get(&offer.work.operation);
            list.is_some_and(|list| self.may(list.trade))
        });
        mine.filter_map(|offer| self.one_later(figure, offer))
    }

    fn one_later(&self, figure: &str, offer: &Offer) -> Option<Later> {
        let is_fresh = flaws_of(self.house, figure, Some(&offer.work)).is_empty();
        let at = match offer.stage {
            Stage::Open => {
                let clocks = self.clocks.iter().filter(|view| {
                    (view.figure.as_str(), &view.work) == (figure, &offer.work)
                        && view.state == ClockState::Waiting
                });
                clocks.filter_map(|view| view.opens).min()
            }
            Stage::Next if is_fresh => self.lay_tonight(figure, &offer.work)?.first,
            _ => return None,
        };
        let at = at.filter(|at| self.now < *at);
        let closing = self.closing(figure, &offer.work);
        let hour = closing.and_then(|view| Some((view, view.closes?.format("%a %H:%M"))));
        let mut words: Vec<String> = Vec::new();
        if at.is_none() {
            let shut = self.kept_shut(figure, offer);
            // Nothing that no window presses is told: it waits without harm.
            hour.as_ref().filter(|_| !shut.is_empty())?;
            words.extend(shut.iter().map(why_shut));
        }
        if let Some((view, hour)) = hour {
            words.push(format!(
                "closes {hour}, {}",
                lost(view.clock, &hour.to_string())
            ));
        }
        Some(Later {
            at,
            figure: figure.to_owned(),
            words: words.join("; "),
            presses: closing.is_some(),
            work: offer.work.clone(),
        })
    }

    /// The gates that keep a walk shut and that neither a hand nor an hour opens now.
    fn kept_shut(&self, figure: &str, offer: &Offer) -> Vec<Verdict> {
        let walk = (figure, &offer.work);
        let mut shut = if offer.stage == Stage::Open {
            let front = prompt(self.house, figure, &offer.work, self.now);
            front.map_or_else(Vec::new, |front| {
                shut_at(self.house, walk, &front, self.now)
            })
        } else {
            shut_before(self.house, walk, self.now)
        };
        shut.retain(|it| keeps_shut(it) && !matches!(it.opens_by, OpensBy::Wait(_)));
        shut
    }
}
