//! What may not share air: what a job gives to the air, what others in it cannot bear.
//! Rooms that share air are one air. Common practice throughout.

use chrono::{DateTime, Duration, FixedOffset};

use super::House;
use super::clock::{ClockState, Reckoner};
use super::facts::{FigureStanding, Job, JobState};
use crate::card::{Checklist, ClockName, Effect};
use crate::deed::Work;

/// Dust and vapour hang in the air this long after the last act of a job.
const LINGERS: Duration = Duration::hours(2);

/// A job in the same air that a new one would harm, or that would harm it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AirConflict {
    /// Figure id of the other job.
    pub figure: String,
    /// The other job.
    pub work: Work,
    /// What is wrong, one line.
    pub why: String,
}

/// Returns the jobs whose air an operation on a figure cannot share now.
pub fn air_conflicts(
    house: House<'_>,
    figure: &str,
    operation: &str,
    now: DateTime<FixedOffset>,
) -> Vec<AirConflict> {
    let Some(list) = house.cards.checklists.get(operation) else {
        return Vec::new();
    };
    conflicts_in(house, house.room_of(figure), (figure, list), now)
}

/// Returns the names of the rooms to which a figure could be moved, so that an operation on it
/// shares its air with nothing that it harms or that harms it; the card's order.
pub(super) fn free_rooms<'a>(
    house: House<'a>,
    figure: &str,
    list: &Checklist,
    now: DateTime<FixedOffset>,
) -> Vec<&'a str> {
    let here = one_air(house, house.room_of(figure));
    let others = house.cards.shop.rooms.iter();
    others
        .filter(|room| !here.contains(&room.id))
        .filter(|room| conflicts_in(house, &room.id, (figure, list), now).is_empty())
        .map(|room| room.name.as_str())
        .collect()
}

/// What an operation meets in the air of a room, where its figure stands or would stand: its
/// own other jobs come along with it.
fn conflicts_in(
    house: House<'_>,
    room: &str,
    (figure, list): (&str, &Checklist),
    now: DateTime<FixedOffset>,
) -> Vec<AirConflict> {
    let rooms = one_air(house, room);
    let is_here = |other: &str| rooms.iter().any(|room| room == house.room_of(other));
    let standing = house.standing.figures.iter();
    let near = standing.filter(|(other, _)| *other == figure || is_here(other));
    let mut reckoner = Reckoner::new(house, now);
    let mut all = Vec::new();
    for (other, standing) in near {
        for job in &standing.jobs {
            let here = (other.as_str(), &**standing, job);
            let why = conflict((house, &mut reckoner), list, here, now);
            all.extend(why.map(|why| AirConflict {
                figure: other.clone(),
                work: job.work.clone(),
                why,
            }));
        }
    }
    all
}

/// Returns a room and all that share its air.
pub(super) fn one_air(house: House<'_>, room: &str) -> Vec<String> {
    let mut rooms = vec![room.to_owned()];
    for card in &house.cards.shop.rooms {
        if card.id == room {
            rooms.extend(card.shares_air_with.iter().cloned());
        } else if card.shares_air_with.iter().any(|shared| shared == room) {
            rooms.push(card.id.clone());
        }
    }
    rooms
}

fn conflict(
    (house, reckoner): (House<'_>, &mut Reckoner<'_>),
    list: &Checklist,
    (figure, standing, job): (&str, &FigureStanding, &Job),
    now: DateTime<FixedOffset>,
) -> Option<String> {
    let other = house.cards.checklists.get(&job.work.operation)?;
    let on = job.work.target.as_deref().unwrap_or("the whole figure");
    let at_work = || job.state == JobState::Open && is_touched(job, now);
    let harms = |a: &Checklist, b: &Checklist| -> Option<Effect> {
        a.emits
            .iter()
            .copied()
            .find(|effect| b.suffers.contains(effect))
    };
    if let Some(effect) = harms(list, other)
        && (at_work() || is_wet(reckoner, (figure, standing, job)))
    {
        return Some(format!(
            "{} on {figure}, {on}, cannot bear {} in the same air",
            other.title,
            word(effect)
        ));
    }
    let lingers = |_: &Effect| is_touched(job, now);
    harms(other, list).filter(lingers).map(|effect| {
        format!(
            "{} on {figure}, {on}, gives {} to the same air",
            other.title,
            word(effect)
        )
    })
}

/// Whether a hand did something in the job while its dust or vapour may still hang.
fn is_touched(job: &Job, now: DateTime<FixedOffset>) -> bool {
    let since = now - LINGERS;
    job.acts
        .values()
        .flat_map(|act| {
            act.done
                .iter()
                .chain(act.ticks.iter().map(|tick| &tick.stamp))
        })
        .any(|stamp| since < stamp.at && stamp.at <= now)
}

/// Whether something of the job is still wet: size not yet leafed, a coat not yet to be covered.
fn is_wet(
    reckoner: &mut Reckoner<'_>,
    (figure, standing, job): (&str, &FigureStanding, &Job),
) -> bool {
    let wet = [
        ClockName::Recoat,
        ClockName::TackEdge,
        ClockName::TackFlat,
        ClockName::TackHollow,
        ClockName::LeafSet,
    ];
    standing.clocks.iter().any(|clock| {
        clock.work == job.work
            && clock.ended.is_none()
            && wet.contains(&clock.clock)
            && reckoner.view(figure, clock).state == ClockState::Waiting
    })
}

fn word(effect: Effect) -> &'static str {
    match effect {
        Effect::Dust => "dust",
        Effect::Vapour => "vapour",
        Effect::Draught => "moving air",
        Effect::Damp => "damp",
        Effect::Swing => "swings of warmth",
        Effect::Heat => "heat or flame",
    }
}
