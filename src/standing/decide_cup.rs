//! The temperature of a cup's wall, read while its mix is live or entered since. The pot life
//! is reckoned anew by itself, and only ever shorter.

use super::clock;
use super::decide::{known_standing, one};
use super::facts::{Clock, FigureStanding, PRESSED};
use super::intent::Cup;
use super::{House, Moment, Refusal, Written};
use crate::card::ClockName;
use crate::deed::{CupRead, Deed, Deviated, DeviationKind};

/// Temperature of a cup's wall that can be believed, °C: a cup that runs away passes 100 °C
/// (technical articles on epoxy).
const WALL_C: [f64; 2] = [0.0, 250.0];

pub(super) fn decide(
    house: House<'_>,
    moment: &Moment,
    figure: &str,
    (cup, wall_c): (&Cup, f64),
) -> Result<Vec<Written>, Refusal> {
    let standing = known_standing(house, figure)?;
    let [low, high] = WALL_C;
    if !(low..=high).contains(&wall_c) {
        return Err(Refusal::new(format!("a cup wall of {wall_c} °C cannot be"))
            .remedy(format!("it is read between {low} and {high} °C")));
    }
    let cup = live(standing, moment, (figure, cup))?;
    let mut written = one(
        figure,
        Deed::CupRead(CupRead {
            clock: cup.id.clone(),
            wall_c,
        }),
    );
    let late = late(house, figure, (cup, wall_c));
    written.extend(late.into_iter().flat_map(|late| one(figure, late)));
    Ok(written)
}

/// Returns the cup that was live at that moment.
fn live<'a>(
    standing: &'a FigureStanding,
    moment: &Moment,
    (figure, cup): (&str, &Cup),
) -> Result<&'a Clock, Refusal> {
    let meant = |clock: &&Clock| match cup {
        Cup::Clock(id) => clock.id == *id,
        Cup::On(part) => part.is_none() || clock.work.target == *part,
    };
    let live = |clock: &&Clock| {
        let ended = clock.ended.as_ref();
        clock.started.at <= moment.at
            && ended.is_none_or(|(how, ended)| how != PRESSED && moment.at <= ended.at)
    };
    let cups = standing.clocks.iter();
    let mut cups =
        cups.filter(|clock| clock.clock == ClockName::Cup && meant(clock) && live(clock));
    let on = match cup {
        Cup::On(Some(part)) => part,
        _ => figure,
    };
    let Some(cup) = cups.next() else {
        return Err(
            Refusal::new(format!("no cup was live on {on} at that time"))
                .remedy("a cup is read between first contact and its end"),
        );
    };
    if let Some(other) = cups.next() {
        let parts = [cup, other].map(|cup| cup.work.target.as_deref().unwrap_or(figure));
        return Err(Refusal::new("more than one cup was live at that time")
            .remedy(format!("say on which part: {}", parts.join(", "))));
    }
    Ok(cup)
}

/// A cup that has ended already, in time by what was known: if the reading would have closed
/// it sooner, that is said, for the supervisor to answer.
fn late(house: House<'_>, figure: &str, (cup, wall_c): (&Clock, f64)) -> Option<Deed> {
    let (_, ended) = cup.ended.as_ref()?;
    let closes = |cup: &Clock| clock::view(house, figure, cup, ended.at).closes;
    let mut warmer = cup.clone();
    warmer.hear_wall(wall_c);
    let (before, now) = (closes(cup)?, closes(&warmer)?);
    let over = now < ended.at && ended.at <= before;
    over.then(|| {
        Deed::Deviated(Deviated {
            work: cup.work.clone(),
            step: String::new(),
            kind: DeviationKind::Reading,
            what: format!(
                "{} was in use {} min past its time, by the {wall_c} °C of its wall entered since",
                cup.about,
                (ended.at - now).num_minutes()
            ),
        })
    })
}
