//! `next`: what to do with the time at hand, and `next --pick N`, which notes what was picked.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{NextArgs, names};
use crate::card::Mark;
use crate::deed::{Offered, Picked};
use crate::plan::{Choice, NextAsk, hands_after, held_back, next, next_and_later, walk_name};
use crate::shop::Keeper;
use crate::standing::{House, Intent, all_matters, holds};
use crate::trouble::{ExitKind, Trouble};

/// A choice with `--json`.
#[derive(Debug, Serialize)]
struct ChoiceJson<'a> {
    place: usize,
    figure: &'a str,
    operation: &'a str,
    target: Option<&'a str>,
    round: u32,
    open: bool,
    act: &'a str,
    likely_min: f64,
    why: String,
    lost: &'a str,
}

/// Tells the choices. That nothing fits is an answer like any other.
///
/// # Errors
/// When a name is not known or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &NextArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let (args, keeper) = (&named(shop, args)?, shop.keeper()?);
    let house = keeper.house();
    let (choices, later) = asked(shop, args, &keeper, next_and_later);
    if paper.json {
        let rows = (1..).zip(&choices);
        paper.objects(rows.map(|(place, choice)| ChoiceJson {
            place,
            figure: &choice.figure,
            operation: &choice.work.operation,
            target: choice.work.target.as_deref(),
            round: choice.work.round,
            open: choice.open,
            act: &choice.act,
            likely_min: choice.minutes,
            why: choice.why.join("; "),
            lost: &choice.lost,
        }))?;
        return Ok(ExitKind::Well);
    }
    if choices.is_empty() {
        paper.line("nothing fits: all that is open waits, or needs another mark or more time")?;
    }
    for (place, choice) in (1..).zip(&choices) {
        let name = walk_name(house, &choice.figure, &choice.work);
        let minutes = choice.minutes;
        paper.line(&format!("{place}  {name}, about {minutes:.0} min"))?;
        paper.line(&format!("   {}", choice.act))?;
        paper.line(&format!("   why: {}", choice.why.join("; ")))?;
        paper.line(&format!("   if left: {}", choice.lost))?;
    }
    let later = later.iter().map(|one| one.told(house, shop.now));
    for words in later.chain(asked(shop, args, &keeper, hands_after)) {
        paper.line(&words)?;
    }
    if let Some(words) = to_answer(shop, args, &keeper) {
        paper.line(&words)?;
    }
    for (figure, why) in held_back(house, keeper.unsound()) {
        paper.line(&format!("not offered: {figure}: {why}"))?;
    }
    Ok(ExitKind::Well)
}

/// What waits for an answer, where who asks may give it.
fn to_answer(shop: &Opened, args: &NextArgs, keeper: &Keeper) -> Option<String> {
    let by = args.asks.as_deref()?;
    let mut people = shop.cards.shop.people.iter();
    people.find(|one| one.id == by && one.marks.contains(&Mark::Sign))?;
    let waiting = holds(keeper.house(), shop.now);
    let open = all_matters(keeper.house(), &waiting);
    let open = open.filter(|(_, open)| open.refusal().is_none() && *open.stamp.by != *by);
    match open.count() {
        0 => None,
        1 => Some("one question or deviation waits for an answer: `knuckle sign`".to_owned()),
        many => Some(format!(
            "{many} questions and deviations wait for an answer: `knuckle sign`"
        )),
    }
}

/// Notes a pick with all that was offered.
///
/// # Errors
/// When nobody is named, there is no such choice, or the line cannot be kept.
pub(super) fn pick(
    shop: &Opened,
    args: &NextArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let moment = shop.moment()?;
    let args = named(shop, args)?;
    if let Some(other) = args.asks.as_ref().filter(|by| **by != *moment.by) {
        let what = format!("{} picks for nobody else", moment.by);
        return Err(Trouble::new(ExitKind::Misuse, what)
            .at("--by")
            .remedy(format!(
                "who picks writes it down: `--as {other} --pick …`; nothing was written"
            )));
    }
    let mine = NextArgs {
        asks: Some(moment.by.clone()),
        ..args
    };
    let choices = asked(shop, &mine, &shop.keeper()?, next);
    let place = args.pick.unwrap_or_default();
    let intent = picked(&choices, place, args.minutes.map(f64::from)).ok_or_else(|| {
        Trouble::new(ExitKind::Misuse, format!("there is no choice {place} now"))
            .at("--pick")
            .remedy("ask `knuckle next` again; nothing was written")
    })?;
    shop.act(&intent, &moment, paper)
}

/// Returns the intent that notes a pick; `None` when there is no such choice.
fn picked(choices: &[Choice], place: u32, minutes: Option<f64>) -> Option<Intent> {
    let at = usize::try_from(place).ok()?.checked_sub(1)?;
    let choice = choices.get(at)?;
    let offered = |choice: &Choice| Offered {
        figure: choice.figure.clone(),
        work: choice.work.clone(),
    };
    Some(Intent::Pick {
        picked: Picked {
            figure: choice.figure.clone(),
            work: choice.work.clone(),
            place,
            offered: choices.iter().map(offered).collect(),
            minutes,
        },
    })
}

/// The arguments with the short name of whoever asks: a name as it is spoken will do.
fn named(shop: &Opened, args: &NextArgs) -> Result<NextArgs, Trouble> {
    let asks = args.asks.as_deref();
    let asks = asks.map(|by| names::writer(&shop.cards, Some(by)));
    Ok(NextArgs {
        asks: asks.transpose()?.map(|one| one.id.clone()),
        ..args.clone()
    })
}

/// Asks the plan for the person and the minutes of the arguments.
fn asked<T>(
    shop: &Opened,
    args: &NextArgs,
    keeper: &Keeper,
    answer: impl Fn(House<'_>, &NextAsk<'_>, DateTime<FixedOffset>) -> T,
) -> T {
    let damaged: Vec<String> = keeper.unsound().map(|(figure, _)| figure).collect();
    let ask = NextAsk {
        damaged: &damaged,
        by: args.asks.as_deref(),
        minutes: args.minutes.map(f64::from),
    };
    answer(keeper.house(), &ask, shop.now)
}
