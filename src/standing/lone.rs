//! Who is within call: people who stripped alone died because nobody was (OSHA and NIOSH,
//! hazard alert on bathtub refinishing with methylene chloride, 2013).

use super::front::Front;
use super::prompt::Ask;

/// The record under which it is kept who is within call.
pub const WITHIN_CALL: &str = "within-call";

/// The answer of somebody whom nobody would hear; it stays on the day's page.
pub const ALONE: &str = "nobody: I work alone";

/// A digit picks at most nine rows; the last one is [`ALONE`] (*choice of this program*).
const NEAR: usize = 8;

impl Front<'_> {
    /// Asks before the first step who is within call, where the operation is none to be done
    /// out of call.
    pub(super) fn within_call(&self) -> Option<Ask> {
        let is_asked = self.job.act("").is_some_and(|act| {
            let mut records = act.records.iter();
            records.any(|kept| kept.record == WITHIN_CALL)
        });
        if !self.list.lone_work || is_asked {
            return None;
        }
        let present = &self.case.house.standing.shop.present;
        let near = self.case.house.cards.shop.people.iter().filter(|person| {
            let is_in = present.is_empty() || present.contains(&person.id);
            is_in && person.id != self.job.begun.by
        });
        let mut options: Vec<String> = near.map(|person| person.name.clone()).take(NEAR).collect();
        options.push(ALONE.to_owned());
        Some(Ask::Choice {
            record: WITHIN_CALL.to_owned(),
            ask: "Who is within call, and looks in?".to_owned(),
            options,
        })
    }
}
