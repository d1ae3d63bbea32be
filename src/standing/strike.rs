//! What may be struck from a book, by whom, and how much goes with it.
//!
//! A struck line stays in the journal and no longer counts. What waits for an answer, an
//! answer and a signature stay: they are what others rely on. Only the act just done may be
//! taken back with all that it wrote.

use std::collections::BTreeSet;

use super::decide::known_standing;
use super::facts::{Ending, FigureStanding, Matter};
use super::{Book, House, Moment, Refusal, Written};
use crate::deed::{Deed, Struck};

/// The last act may be struck without a reason for this long, seconds.
pub const STRIKE_S: i64 = 10;

/// Returns whether a deed belongs to the same act as the one written just before it: `decide`
/// writes some deeds together, and together they are struck.
pub(super) fn goes_with(before: Ending, deed: &Deed) -> bool {
    matches!(
        (before, deed),
        (Ending::Taken | Ending::Deviation, Deed::Deviated(_))
            | (Ending::Deviation, Deed::Done(_) | Deed::SentBack(_))
            | (Ending::Step, Deed::Finished(_))
    ) || (before == Ending::Caution && Ending::of(deed) == Ending::Caution)
}

pub(super) fn decide(
    house: House<'_>,
    moment: &Moment,
    book: &Book,
    (line, why): (u64, &str),
) -> Result<Vec<Written>, Refusal> {
    let (last_n, struck, figure) = match book {
        Book::Shop => (
            house.standing.shop.last_n,
            &house.standing.shop.struck,
            None,
        ),
        Book::Figure(figure) => {
            let standing = known_standing(house, figure)?;
            (standing.last_n, &standing.struck, Some(standing))
        }
    };
    if line == 0 || last_n < line {
        return Err(Refusal::new(format!("there is no line {line}")));
    }
    may_count(struck, line)?;
    let act = figure.and_then(|figure| last_act(figure, moment, line));
    if let (None, Some(figure)) = (&act, figure) {
        stays(figure, moment, line)?;
    }
    if act.is_none() && why.trim().is_empty() {
        return Err(Refusal::new(format!(
            "after {STRIKE_S} s a line is struck with its reason only"
        )));
    }
    let why = if why.trim().is_empty() {
        "struck at once"
    } else {
        why
    };
    let lines = act.unwrap_or(line..=line);
    Ok(lines
        .filter(|line| !struck.iter().any(|(by, at)| by == line || at == line))
        .map(|line| Written {
            book: book.clone(),
            deed: Deed::Struck(Struck {
                line,
                why: why.to_owned(),
            }),
        })
        .collect())
}

/// A correction is not corrected: two of them would leave nobody sure what counts.
fn may_count(struck: &BTreeSet<(u64, u64)>, line: u64) -> Result<(), Refusal> {
    if struck.iter().any(|(_, at)| *at == line) {
        return Err(Refusal::new(format!("line {line} is struck already")));
    }
    if struck.iter().any(|(by, _)| *by == line) {
        return Err(Refusal::new(format!(
            "line {line} is itself a correction: do the act again"
        )));
    }
    Ok(())
}

/// The lines of the last act, when the line is one of them, it is fresh, and one's own.
fn last_act(
    figure: &FigureStanding,
    moment: &Moment,
    line: u64,
) -> Option<std::ops::RangeInclusive<u64>> {
    let last = figure.last.as_ref()?;
    let lines = figure.act_from..=last.n;
    let age = moment.at - last.at;
    let fresh = age <= chrono::Duration::seconds(STRIKE_S);
    (fresh && last.by == moment.by && lines.contains(&line)).then_some(lines)
}

/// What others rely on is answered, not struck.
fn stays(figure: &FigureStanding, moment: &Moment, line: u64) -> Result<(), Refusal> {
    let open = figure.matters.iter().find(|open| open.stamp.n == line);
    if let Some(open) = open {
        let own_question = open.matter == Matter::Question && open.stamp.by == moment.by;
        if !own_question {
            return Err(
                Refusal::new(format!("line {line} stays: it waits for an answer"))
                    .remedy("say in a note what is wrong with it"),
            );
        }
    }
    let answers = figure
        .matters
        .iter()
        .filter_map(|open| open.answer.as_ref());
    let answers = answers.map(|(_, _, stamp)| stamp);
    let acts = figure.jobs.iter().flat_map(|job| job.acts.values());
    let signatures = acts.filter_map(|act| act.signed.as_ref().map(|(_, stamp)| stamp));
    match answers.chain(signatures).find(|stamp| stamp.n == line) {
        Some(stamp) if stamp.by != moment.by => Err(Refusal::new(format!(
            "line {line} stays: only {} can take that word back",
            stamp.by
        ))),
        _ => Ok(()),
    }
}
