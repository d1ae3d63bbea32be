//! What a card with a flaw stops. Clocks run, alarms ring and what runs is finished; nothing new
//! rests on a card of which a part could not be read.

use super::decide_step::Desk;
use super::intent::AtStep;
use super::prompt::Ask;
use super::{House, Refusal, mixing};
use crate::card::{Flaw, Material};
use crate::deed::{Value, Work};

/// Refuses to begin work on a figure or by a checklist whose card has a flaw.
pub(super) fn begins(house: House<'_>, figure: &str, operation: &str) -> Result<(), Refusal> {
    let flawed = &house.cards.flawed;
    let card = flawed.figures.get(figure);
    match card.or_else(|| flawed.checklists.get(operation)) {
        Some(flaw) => Err(refusal(
            flaw,
            "finish what runs; for new work mend the card",
        )),
        None => Ok(()),
    }
}

/// Refuses to go on by a checklist whose card has a flaw, for a caution or a gate may be what
/// could not be read, and to take up a lot of a flawed material. A cup that is being weighed,
/// tests and what is thrown away go on.
pub(super) fn goes_on(desk: &Desk<'_>, what: &AtStep) -> Result<(), Refusal> {
    let case = desk.front.case;
    let flawed = &case.house.cards.flawed;
    match what {
        AtStep::Pour { .. } | AtStep::Start | AtStep::Discard { .. } | AtStep::Test { .. } => {
            return Ok(());
        }
        AtStep::Enter {
            value: Value::Text(lot),
            ..
        } if matches!(desk.ask, Ask::Lot { .. }) => {
            let material = mixing::material_of_lot(case, lot);
            if let Some(flaw) = material.and_then(|card| flawed.materials.get(&card.id)) {
                return Err(refusal(flaw, "take another material, or mend the card"));
            }
        }
        _ => {}
    }
    match flawed.checklists.get(&case.work.operation) {
        Some(flaw) => Err(refusal(flaw, "mend the card to go on by it; clocks run on")),
        None => Ok(()),
    }
}

/// Returns why no batch is weighed: a flaw on the card of the figure or of the material, or a
/// balance that could not be read.
pub(super) fn batch(house: House<'_>, figure: &str, material: &Material) -> Option<String> {
    let flawed = &house.cards.flawed;
    let balance = flawed.shop.as_ref();
    let balance = balance.filter(|_| house.cards.shop.balance_g <= 0.0);
    let flaw = flawed.figures.get(figure);
    let flaw = flaw.or_else(|| flawed.materials.get(&material.id));
    flaw.or(balance).map(Flaw::told)
}

/// Returns the flaws of the cards that a work rests on: its figure's and its checklist's.
pub fn flaws_of<'a>(house: House<'a>, figure: &str, work: Option<&Work>) -> Vec<&'a Flaw> {
    let flawed = &house.cards.flawed;
    let list = work.and_then(|work| flawed.checklists.get(&work.operation));
    flawed.figures.get(figure).into_iter().chain(list).collect()
}

fn refusal(flaw: &Flaw, help: &str) -> Refusal {
    let hint = flaw.hint.as_deref().unwrap_or("`knuckle check` tells all");
    let Flaw {
        file,
        line,
        column,
        what,
        ..
    } = flaw;
    let why = format!("the card has a flaw: {file}:{line}:{column}: {what}");
    Refusal::new(why).remedy(format!("{hint}; {help}, then start again"))
}
