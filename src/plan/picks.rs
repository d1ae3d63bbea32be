//! What a person picked of what was offered, and what they did instead. It is told as it is
//! counted, and puts in order only what nothing else does: a habit opens no gate and stops no
//! window from closing.

use std::collections::{BTreeMap, BTreeSet};

use crate::standing::House;

/// Fewer offers of an operation say nothing about a habit (own judgement).
const LEAST_OFFERS: u32 = 3;

/// How often an operation was offered to somebody, and what came of it.
#[derive(Debug, Clone, Default)]
struct Seen {
    offered: u32,
    picked: u32,
    /// What was picked when it was not, and how often.
    instead: BTreeMap<String, u32>,
}

/// What somebody has picked so far, by operation.
#[derive(Debug, Clone, Default)]
pub(super) struct Habits(BTreeMap<String, Seen>);

impl Habits {
    /// Returns the habits of a person; none of nobody. A pick that was struck never was.
    pub(super) fn of(house: House<'_>, by: Option<&str>) -> Self {
        let mut all: BTreeMap<String, Seen> = BTreeMap::new();
        let shop = &house.standing.shop;
        let mine = shop.picks.iter().filter(|(_, stamp)| {
            let is_struck = shop.struck.iter().any(|(_, n)| *n == stamp.n);
            Some(stamp.by.as_str()) == by && !is_struck
        });
        for (pick, _) in mine {
            let took = &pick.work.operation;
            let offered: BTreeSet<&String> =
                pick.offered.iter().map(|it| &it.work.operation).collect();
            for operation in offered {
                let seen = all.entry(operation.clone()).or_default();
                seen.offered += 1;
                if operation == took {
                    seen.picked += 1;
                } else {
                    *seen.instead.entry(took.clone()).or_default() += 1;
                }
            }
        }
        Self(all)
    }

    /// Returns the share of its offers in which an operation was picked; one half where too
    /// few say it.
    pub(super) fn share(&self, operation: &str) -> f64 {
        match self.0.get(operation) {
            Some(seen) if LEAST_OFFERS <= seen.offered => {
                f64::from(seen.picked) / f64::from(seen.offered)
            }
            _ => 0.5,
        }
    }

    /// Returns what the record says of an operation, in words; none where it says too little.
    pub(super) fn words(&self, operation: &str, title: impl Fn(&str) -> String) -> Option<String> {
        let seen = self.0.get(operation)?;
        if seen.offered < LEAST_OFFERS {
            return None;
        }
        let of = seen.offered;
        if of < 2 * seen.picked {
            return Some(format!("you picked it {} of {of} times", seen.picked));
        }
        let (other, times) = seen.instead.iter().max_by_key(|(_, times)| **times)?;
        (of < 2 * times).then(|| {
            format!(
                "you picked {} over this {times} of {of} times",
                title(other)
            )
        })
    }
}
