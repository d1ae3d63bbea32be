//! The gate that only a knuckle opens: size ready at edge, flat and hollow.

use super::air::hours_between;
use super::facts::TestKept;
use super::gate::{Case, Found, evidence_hours, open, shut};
use super::prompt::OpensBy;
use crate::card::{GateAsk, WordScale};

/// A word said of size stands this long, hours: a quick size takes leaf for about an hour and
/// then is dead (gilding leaflets and *common practice*).
pub(super) const READY_WORD_H: f64 = 1.0;

/// The places of a panel at which size is tried.
const SIZED: [&str; 3] = ["edge", "flat", "hollow"];

/// The last word said at each place of this walk.
pub(super) fn last_words(case: Case<'_>) -> Vec<&TestKept> {
    let job = case.standing.job(case.work);
    let tests = || {
        let acts = job.into_iter().flat_map(|job| job.acts.values());
        acts.flat_map(|act| &act.tests)
    };
    let last = |place: &&str| {
        let here = tests().filter(|test| test.place == *place);
        here.max_by_key(|test| (test.stamp.at, test.stamp.n))
    };
    SIZED.iter().filter_map(last).collect()
}

/// The last word said at each place of this walk decides, until it has grown old.
pub(super) fn size_ready(case: Case<'_>, ask: &GateAsk) -> Found {
    let (_, pass) = super::front_wait::words(WordScale::Tack);
    let last = last_words(case);
    let word = |place: &str| last.iter().find(|test| test.place == place);
    let is_ready = |test: &&TestKept| pass.contains(&test.word.as_str());
    let is_old = |test: &&TestKept| evidence_hours(ask) < hours_between(test.stamp.at, case.now).0;
    let unready: Vec<&str> = SIZED
        .into_iter()
        .filter(|place| word(place).is_none_or(|test| !is_ready(test)))
        .collect();
    let old: Vec<&str> = SIZED
        .into_iter()
        .filter(|place| word(place).is_some_and(is_old))
        .collect();
    if unready.is_empty() && !old.is_empty() {
        let why = format!("the word is too old, try again: {}", old.join(", "));
        return shut(why, OpensBy::Wait("the knuckle".to_owned()));
    }
    if unready.is_empty() {
        return open("edge, flat and hollow are ready");
    }
    let why = format!("not ready under the knuckle: {}", unready.join(", "));
    shut(why, OpensBy::Wait("the knuckle".to_owned()))
}
