//! How often an operation goes wrong and to which it leads back: this shop's own count, held
//! against a common one.

use std::collections::BTreeMap;

use crate::card::Checklist;
use crate::standing::{House, JobState};

/// Before a shop has counted: one walk in ten goes back, believed as much as ten walks seen,
/// the prior Beta(1, 9) (own judgement; its mean after s of n walks is (1 + s)/(10 + n), e.g.
/// A. Gelman and others, Bayesian Data Analysis, chapter 2).
const PRIOR: (f64, f64) = (1.0, 10.0);

/// What the shop counted.
#[derive(Debug, Clone, Default)]
pub(super) struct Loops {
    /// Walks sent back and walks ended, by operation.
    walks: BTreeMap<String, (u32, u32)>,
    /// How often each way back was taken.
    ways: BTreeMap<(String, String), u32>,
}

impl Loops {
    pub(super) fn of(house: House<'_>) -> Self {
        let mut all = Self::default();
        let figures = house.standing.figures.values();
        for job in figures.flat_map(|figure| &figure.jobs) {
            let operation = &job.work.operation;
            let walks = all.walks.entry(operation.clone()).or_default();
            match &job.state {
                JobState::Open => {}
                JobState::Finished(_) => walks.1 += 1,
                JobState::SentBack { back_to, .. } => {
                    walks.0 += 1;
                    walks.1 += 1;
                    *all.ways
                        .entry((operation.clone(), back_to.clone()))
                        .or_default() += 1;
                }
            }
        }
        all
    }

    /// Returns the chance that a walk of a list goes back, and to which operation: the way
    /// taken most often, else the last one on its card; `None` for a list that never does.
    pub(super) fn back(&self, list: &Checklist) -> Option<(f64, String)> {
        let branches = list.steps.iter().flat_map(|step| &step.branches);
        let ways = branches.map(|branch| branch.back_to.clone());
        let taken = |to: &String| {
            let way = (list.id.clone(), to.clone());
            self.ways.get(&way).copied().unwrap_or_default()
        };
        let back_to = ways.max_by_key(taken)?;
        let (sent, walked) = self.walks.get(&list.id).copied().unwrap_or_default();
        let chance = (PRIOR.0 + f64::from(sent)) / (PRIOR.1 + f64::from(walked));
        Some((chance, back_to))
    }
}
