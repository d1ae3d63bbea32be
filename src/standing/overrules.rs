//! How often each gate was overruled lately. A gate that is passed again and again guards
//! nothing any more: either its rule is wrong, or the work is, and the supervisor has to know.

use chrono::{DateTime, Duration, FixedOffset};

use super::facts::Matter;
use super::{House, gate};
use crate::card::GateKind;

/// Overrules are counted this far back, days (*own judgement*: a month of the shop).
pub const OVERRULES_DAYS: i64 = 30;

/// From so many overrules of one gate in that time on, the rule or the work is wrong
/// (*own judgement*: once is a case, twice is bad luck).
pub const OVERRULES_MANY: usize = 3;

/// One gate and how often it was overruled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OverruleCount {
    /// Which gate.
    pub gate: GateKind,
    /// Its name in the trade's words.
    pub name: &'static str,
    /// How often, over all figures.
    pub times: usize,
}

impl OverruleCount {
    /// Returns whether it is too many.
    pub fn is_many(self) -> bool {
        OVERRULES_MANY <= self.times
    }

    /// Returns the count in words, with what it means where it is too many.
    pub fn words(self) -> String {
        let times = match self.times {
            1 => "once".to_owned(),
            2 => "twice".to_owned(),
            more => format!("{more} times"),
        };
        let means = if self.is_many() {
            ": the rule or the work is wrong"
        } else {
            ""
        };
        let name = self.name;
        format!("gate `{name}` overruled {times} in {OVERRULES_DAYS} days{means}")
    }
}

/// Returns every gate that was overruled within [`OVERRULES_DAYS`] before a moment, over the
/// whole shop, the one overruled most first. What was struck does not count.
pub fn overrules(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<OverruleCount> {
    let since = now - Duration::days(OVERRULES_DAYS);
    let figures = house.standing.figures.values();
    let lately = figures
        .flat_map(|figure| &figure.matters)
        .filter(|matter| since < matter.stamp.at && matter.stamp.at <= now)
        .filter_map(|matter| match matter.matter {
            Matter::Overrule(gate) => Some(gate),
            _ => None,
        });
    let mut counts: Vec<OverruleCount> = Vec::new();
    for kind in lately {
        match counts.iter_mut().find(|count| count.gate == kind) {
            Some(count) => count.times += 1,
            None => counts.push(OverruleCount {
                gate: kind,
                name: gate::title(kind).0,
                times: 1,
            }),
        }
    }
    counts.sort_by_key(|count| (std::cmp::Reverse(count.times), count.gate));
    counts
}
