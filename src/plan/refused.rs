//! What was refused and is back at the bench, as something to do next.

use super::next::{Choice, LOOK_MIN};
use crate::deed::Work;
use crate::standing::{HoldRefused, House};

/// Why what was refused comes before what is only open.
pub(super) const REFUSED: &str = "not signed: refused";

/// What is done about a hold point that was refused.
const SHOW: &str = "Put right what was refused, then show it once more";

/// What is done about anything else that was refused.
const WRITE: &str = "Put right what was refused, then write down what was done";

/// Returns whether a choice puts right what was refused: it is no other part of the same work.
pub(super) fn puts_right(choice: &Choice) -> bool {
    [SHOW, WRITE].contains(&choice.act.as_str())
}

/// Returns the choice that shows a refused hold point once more.
pub(super) fn show_again(figure: &str, work: &Work, refused: &HoldRefused) -> Choice {
    let (by, day) = (
        &refused.stamp.by,
        refused.stamp.at.format("%a %-d %b %H:%M"),
    );
    let why = format!("{REFUSED} by {by} on {day}: {}", refused.why);
    choice(figure, work, (SHOW, why))
}

/// Returns the choices that put right what was refused of a figure, for the hands of the walk; for
/// anybody without a name. Of a walk that can be gone on with it is read beside that.
pub(super) fn to_put_right(house: House<'_>, figure: &str, by: Option<&str>) -> Vec<Choice> {
    let Some(standing) = house.figure(figure) else {
        return Vec::new();
    };
    let refused = standing.matters.iter().filter(|open| open.is_back());
    let choices = refused.filter_map(|open| {
        let work = open.work.as_ref()?;
        let job = standing.job(work)?;
        let is_mine = by.is_none_or(|by| job.hands().contains(by));
        is_mine.then(|| choice(figure, work, (WRITE, open.told())))
    });
    choices.collect()
}

fn choice(figure: &str, work: &Work, (act, why): (&str, String)) -> Choice {
    Choice {
        figure: figure.to_owned(),
        work: work.clone(),
        open: true,
        act: act.to_owned(),
        minutes: LOOK_MIN,
        why: vec![why],
        lost: "nobody accepts it until it is put right".to_owned(),
    }
}
