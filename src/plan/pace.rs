//! This shop's own pace: hours of hands spent on finished walks against the hours reckoned for
//! them, by operation.

use std::collections::BTreeMap;

use super::spent::spent;
use crate::deed::Work;
use crate::standing::{House, JobState};

/// So many walks before the shop's own pace says anything (*common practice* of small samples;
/// the same number as for the times of a lot).
const LEAST_WALKS: usize = 5;

/// A walk that took less, or more, than this of what was reckoned was typed in afterwards or
/// lay open over other work, and teaches nothing (own judgement).
const BELIEVED: (f64, f64) = (0.2, 5.0);

/// Returns ratios of minutes spent to minutes reckoned, in order, for each operation of which
/// enough walks were seen. `reckoned` gives the likely minutes of a whole walk.
pub(super) fn paces(
    house: House<'_>,
    reckoned: impl Fn(&str, &Work) -> Option<f64>,
) -> BTreeMap<String, Vec<f64>> {
    let mut minutes: BTreeMap<(String, Work), f64> = BTreeMap::new();
    for row in spent(house) {
        *minutes.entry((row.figure, row.work)).or_default() += row.minutes;
    }
    let mut all: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for ((figure, work), minutes) in minutes {
        let job = house.figure(&figure).and_then(|it| it.job(&work));
        let is_over = job.is_some_and(|job| matches!(job.state, JobState::Finished(_)));
        let Some(usual) = reckoned(&figure, &work).filter(|_| is_over) else {
            continue;
        };
        let ratio = minutes / usual;
        if BELIEVED.0 <= ratio && ratio <= BELIEVED.1 {
            all.entry(work.operation).or_default().push(ratio);
        }
    }
    all.retain(|_, ratios| LEAST_WALKS <= ratios.len());
    for ratios in all.values_mut() {
        ratios.sort_by(f64::total_cmp);
    }
    all
}
