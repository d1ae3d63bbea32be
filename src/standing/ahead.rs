//! What still lies ahead in a walk, for plans: the steps not done, and the gates before an
//! operation that nobody has begun. It asks the same walk and the same gates as the bench.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::facts::{FigureStanding, Job, JobState};
use super::gate::{self, Case};
use super::overview::anew;
use super::prompt::{OpensBy, Verdict};
use super::target::targets;
use super::{House, walk};
use crate::card::{Mark, MaterialKind, StartClock, Until};
use crate::deed::{Stamp, Word, Work};

/// A step that is still to be done.
#[derive(Debug, Clone, PartialEq)]
pub struct StepAhead {
    /// Id of the step on its card: steps of a coat and between coats without their number.
    pub id: String,
    /// Whether it lays a coat.
    pub coat: bool,
    /// What must have come before it.
    pub until: Option<Until>,
    /// Who signs it, if it is a hold point.
    pub hold: Option<Mark>,
    /// What is mixed at it.
    pub mixes: Option<MaterialKind>,
    /// Clocks that it starts.
    pub starts: Vec<StartClock>,
}

/// The steps that are left of a walk.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WalkAhead {
    /// Steps not done, in order.
    pub steps: Vec<StepAhead>,
    /// How many steps the whole walk has.
    pub of: usize,
}

/// Returns what is left of a walk; the whole walk when it was not begun, nothing when it is
/// over or its operation has no card. Steps that an answer still to come may ask for are not
/// among them.
pub fn walk_ahead(house: House<'_>, figure: &str, work: &Work) -> WalkAhead {
    let begun = house.figure(figure).and_then(|standing| standing.job(work));
    let blank;
    let job = if let Some(job) = begun {
        job
    } else {
        blank = not_begun(work);
        &blank
    };
    if job.state != JobState::Open {
        return WalkAhead::default();
    }
    let all = walk::steps(house, figure, job);
    let of = all.len();
    let left = all
        .into_iter()
        .filter(|it| !walk::is_done(job, &it.step.id));
    let steps = left.map(|flat| StepAhead {
        id: on_card(&flat.step.id).to_owned(),
        coat: flat.coat.is_some(),
        until: flat.step.until.clone(),
        hold: flat.step.hold.as_ref().map(|hold| hold.mark),
        mixes: flat.step.mix.as_ref().map(|mix| mix.of),
        starts: flat.step.starts.clone(),
    });
    WalkAhead {
        steps: steps.collect(),
        of,
    }
}

/// Returns what the gates before an operation say, those of its first step among them; a walk
/// that is not begun has vouched for nothing.
pub fn gates_ahead(
    house: House<'_>,
    figure: &str,
    work: &Work,
    now: DateTime<FixedOffset>,
) -> Vec<Verdict> {
    let Some(list) = walk::checklist(house, work) else {
        return Vec::new();
    };
    let nothing = FigureStanding::default();
    let standing = house.figure(figure).unwrap_or(&nothing);
    let case = Case {
        house,
        figure,
        standing,
        work,
        step: "",
        now,
    };
    let first = list.steps.first().map_or(&[][..], |step| &step.gates);
    let all = list.gates.iter().chain(first);
    all.map(|ask| gate::judge(case, ask)).collect()
}

/// A gate that holds up work nobody has begun and that another operation opens.
#[derive(Debug, Clone, PartialEq)]
pub struct Opener {
    /// The gate that is shut.
    pub gate: Verdict,
    /// The walks of the operation that opens it, on the parts that the work touches.
    pub works: Vec<Work>,
}

/// Returns the gates before a walk that is not begun which only another operation opens, whether
/// that stands on the route or not: the wood of a figure that was never wetted is read all the same.
pub fn openers(
    house: House<'_>,
    figure: &str,
    work: &Work,
    now: DateTime<FixedOffset>,
) -> Vec<Opener> {
    let mut shut = gates_ahead(house, figure, work, now);
    shut.retain(|verdict| !verdict.open && verdict.hard);
    let openers = shut.into_iter().filter_map(|gate| {
        let OpensBy::Operation(operation) = &gate.opens_by else {
            return None;
        };
        let targets = targets(house, figure, work, operation).into_iter();
        let works = targets.filter_map(|target| anew(house, figure, (operation, target)));
        let works: Vec<Work> = works.collect();
        (!works.is_empty()).then_some(Opener { gate, works })
    });
    openers.collect()
}

fn not_begun(work: &Work) -> Job {
    Job {
        work: work.clone(),
        begun: Stamp {
            n: 0,
            at: DateTime::default(),
            by: Word::from(""),
        },
        acts: BTreeMap::new(),
        state: JobState::Open,
    }
}

/// Returns the id of a step as its card has it: `rub` of `coat#2-rub`, `coat` of `coat#2`.
pub fn on_card(id: &str) -> &str {
    let Some((coat, rest)) = id.split_once('#') else {
        return id;
    };
    rest.split_once('-').map_or(coat, |(_, between)| between)
}

#[cfg(test)]
mod tests {
    use super::on_card;

    #[test]
    fn a_step_of_a_coat_is_known_by_its_card() {
        let ids = ["coat#2", "coat#12-rub", "lay", "coat#1-tack-again"];
        assert_eq!(ids.map(on_card), ["coat", "rub", "lay", "tack-again"]);
    }
}
