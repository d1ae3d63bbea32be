//! The night as the screen keeps it between two looks: planned when its page opens, when the
//! hand asks otherwise and when something was kept, never at each drawing.

use chrono::{DateTime, FixedOffset, TimeDelta};

use crate::plan::{Night, NightAsk, night, noon_after};
use crate::standing::{House, OwnTimes, own_times};

use super::events::Dial;
use super::sight::Sight;
use super::view::{NightWish, Page, View};

/// A plan begins at the present moment and is made in marks of five minutes; after as long it
/// is made anew.
const GOOD_FOR: TimeDelta = TimeDelta::minutes(5);

/// What was worked out, and for what.
#[derive(Debug, Default)]
pub(super) struct Tonight {
    planned: Option<Planned>,
    own_times: Option<Vec<OwnTimes>>,
}

#[derive(Debug)]
struct Planned {
    figure: String,
    wish: NightWish,
    at: DateTime<FixedOffset>,
    night: Night,
}

impl Tonight {
    /// Puts into the sight what its page shows of night and lots.
    pub(super) fn look(
        &mut self,
        house: House<'_>,
        (view, sight): (&View, &mut Sight),
        dial: &dyn Dial,
    ) {
        match view.page {
            Page::Night => self.plan(house, (view, sight), dial),
            Page::Clocks => {}
            Page::Bench | Page::Floor | Page::Day | Page::Dossier => return,
        }
        let own = self.own_times.get_or_insert_with(|| own_times(house));
        sight.own_times.clone_from(own);
    }

    fn plan(&mut self, house: House<'_>, (view, sight): (&View, &mut Sight), dial: &dyn Dial) {
        let Some(figure) = &view.figure else {
            return;
        };
        let now = sight.now;
        let fits = |planned: &&Planned| {
            let age = now - planned.at;
            planned.figure == *figure
                && planned.wish == view.night
                && TimeDelta::zero() <= age
                && age < GOOD_FOR
        };
        if !self.planned.as_ref().is_some_and(|planned| fits(&planned)) {
            let waiting = sight.panels.iter().map(|(id, _)| id.clone());
            let mut panels: Vec<String> = waiting
                .filter(|id| !view.night.without.contains(id))
                .collect();
            if panels.len() == sight.panels.len() {
                // All that wait: the plan then says of the others what must come first.
                panels.clear();
            } else if panels.is_empty() {
                let why = "every panel is left for another night: take one in by its number";
                sight.night = Some(Night {
                    figure: figure.clone(),
                    why_empty: Some(why.to_owned()),
                    ..Night::default()
                });
                return;
            }
            let ask = NightAsk {
                figure,
                panels: &panels,
                size: view.night.size.as_deref(),
                gilders: view.night.gilders(),
                leaves_per_h: None,
                tomorrow: *dial.show(noon_after(now)).offset(),
            };
            self.planned = Some(Planned {
                figure: figure.clone(),
                wish: view.night.clone(),
                at: now,
                night: night(house, &ask, now),
            });
        }
        sight.night = self.planned.as_ref().map(|planned| planned.night.clone());
    }
}
