//! What a reading says that is entered after the fact. The clocks are reckoned anew by
//! themselves; a gate that was passed in between stays passed, but if the reading would have
//! shut it, that is said: a deviation, for the supervisor to answer.

use super::facts::{AirReading, FigureStanding, Job};
use super::gate::{Case, judge};
use super::prompt::Verdict;
use super::{Book, House, ShopStanding, Standing, Written, walk};
use crate::card::{GateAsk, GateKind};
use crate::deed::{Deed, Deviated, DeviationKind, Stamp};

/// The gates that look at the air of the room.
const BY_AIR: [GateKind; 4] = [
    GateKind::Temperature,
    GateKind::Humidity,
    GateKind::Dew,
    GateKind::Moisture,
];

/// Returns a deviation for every gate that was passed in a room after a reading was taken, on
/// what was known by then, and that the reading would have shut. Empty for a reading entered
/// when it was taken.
pub(super) fn doubts(house: House<'_>, room: &str, reading: AirReading) -> Vec<Written> {
    let mut all = Vec::new();
    for (figure, standing) in &house.standing.figures {
        let later = standing
            .last
            .as_ref()
            .is_some_and(|last| reading.at < last.at);
        if !later || house.room_of(figure) != room {
            continue;
        }
        for job in &standing.jobs {
            let found = of_job(house, (room, reading), (figure, standing, job));
            all.extend(found.into_iter().map(|deed| Written {
                book: Book::Figure(figure.clone()),
                deed: Deed::Deviated(deed),
            }));
        }
    }
    all
}

fn of_job(
    house: House<'_>,
    air: (&str, AirReading),
    (figure, standing, job): (&str, &FigureStanding, &Job),
) -> Vec<Deviated> {
    let Some(list) = walk::checklist(house, &job.work) else {
        return Vec::new();
    };
    let steps = walk::steps(house, figure, job);
    let done = |id: &str| job.act(id).and_then(|act| act.done.as_ref());
    // The gates of the operation are passed with its first step.
    let first = steps.first().and_then(|flat| done(&flat.step.id));
    let whole = list.gates.iter().filter_map(|ask| Some(("", ask, first?)));
    let own = steps.iter().filter_map(|flat| {
        let passed = done(&flat.step.id)?;
        Some(
            flat.step
                .gates
                .iter()
                .map(move |ask| (flat.step.id.as_str(), ask, passed)),
        )
    });
    whole
        .chain(own.flatten())
        .filter(|(_, ask, passed)| BY_AIR.contains(&ask.gate) && air.1.at < passed.at)
        .filter(|(step, ask, _)| {
            let act = job.act(step);
            !act.is_some_and(|act| act.overruled.iter().any(|(gate, _)| *gate == ask.gate))
        })
        .filter_map(|(step, ask, passed)| {
            let verdict = would_be_shut(house, air, (figure, standing, job), (step, ask, passed))?;
            Some(Deviated {
                work: job.work.clone(),
                step: step.to_owned(),
                kind: DeviationKind::Reading,
                what: format!(
                    "{} was passed {} by {}; by the air entered since it would have been shut: {}",
                    verdict.name,
                    passed.at.format("%-d %b %H:%M"),
                    passed.by,
                    verdict.why
                ),
            })
        })
        .collect()
}

/// The verdict with the reading, if it is shut and was open without.
fn would_be_shut(
    house: House<'_>,
    (room, reading): (&str, AirReading),
    (figure, standing, job): (&str, &FigureStanding, &Job),
    (step, ask, passed): (&str, &GateAsk, &Stamp),
) -> Option<Verdict> {
    let mut then = Standing {
        shop: ShopStanding {
            air: house.standing.shop.air.clone(),
            ..ShopStanding::default()
        },
        ..Standing::default()
    };
    let mut known = standing.clone();
    known.readings.retain(|read| read.stamp.n <= passed.n);
    then.figures.insert(figure.to_owned(), known);
    let judged = |then: &Standing| {
        let house = House {
            cards: house.cards,
            standing: then,
        };
        let case = Case {
            house,
            figure,
            standing: house.figure(figure)?,
            work: &job.work,
            step,
            now: passed.at,
        };
        Some(judge(case, ask))
    };
    if !judged(&then)?.open {
        return None;
    }
    let log = then.shop.air.entry(room.to_owned()).or_default();
    let place = log.partition_point(|kept| kept.at <= reading.at);
    log.insert(place, reading);
    judged(&then).filter(|verdict| !verdict.open)
}
