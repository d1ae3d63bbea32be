//! What a reading says that is entered after the fact. The clocks are reckoned anew by
//! themselves; a gate that was passed in between stays passed, but if the reading would have
//! shut it, that is said: a deviation, for the supervisor to answer.

use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use super::decide::one;
use super::facts::{AirReading, FigureStanding, Job, Reading, TestKept};
use super::gate::{Case, judge};
use super::prompt::Verdict;
use super::{House, ShopStanding, Standing, Written, walk};
use crate::card::{GateAsk, GateKind, Measure};
use crate::deed::{Deed, Deviated, DeviationKind, Stamp, Work};

/// What is learned after the fact.
pub(super) enum News {
    /// The air of a room.
    Air(String, AirReading),
    /// A reading of the figure. Its line comes after all that are there.
    Reading(Reading),
    /// A word of a test in this work. Its line comes after all that are there.
    Test(Work, TestKept),
}

impl News {
    /// When it was taken.
    fn at(&self) -> DateTime<FixedOffset> {
        match self {
            Self::Air(_, air) => air.at,
            Self::Reading(reading) => reading.stamp.at,
            Self::Test(_, test) => test.stamp.at,
        }
    }

    /// Whether a gate looks at such news at all.
    fn concerns(&self, gate: GateKind) -> bool {
        let measure = match self {
            Self::Air(..) => None,
            Self::Reading(reading) => Some(reading.measure),
            Self::Test(..) => return gate == GateKind::SizeReady,
        };
        match gate {
            GateKind::Humidity => measure.is_none(),
            GateKind::Temperature => matches!(
                measure,
                None | Some(Measure::SurfaceTemperature | Measure::ResinTemperature)
            ),
            GateKind::Dew => matches!(measure, None | Some(Measure::SurfaceTemperature)),
            GateKind::Moisture => matches!(
                measure,
                None | Some(
                    Measure::MoistureSkin | Measure::MoistureCore | Measure::SurfaceTemperature
                )
            ),
            GateKind::Neutral => measure == Some(Measure::Ph),
            _ => false,
        }
    }

    fn name(&self) -> &'static str {
        match self {
            Self::Air(..) => "air",
            Self::Reading(_) => "reading",
            Self::Test(..) => "word",
        }
    }
}

/// Returns a deviation for every gate that was passed in a room after a reading was taken, on
/// what was known by then, and that the reading would have shut. Empty for a reading entered
/// when it was taken.
pub(super) fn doubts(house: House<'_>, room: &str, reading: AirReading) -> Vec<Written> {
    let news = News::Air(room.to_owned(), reading);
    let figures = house.standing.figures.iter();
    figures
        .filter(|(figure, _)| house.room_of(figure) == room)
        .flat_map(|(figure, standing)| of_figure(house, &news, (figure, standing)))
        .collect()
}

/// Returns a deviation for every gate of a figure that was passed after the news was taken, on
/// what was known by then, and that the news would have shut.
pub(super) fn of_figure(
    house: House<'_>,
    news: &News,
    (figure, standing): (&str, &FigureStanding),
) -> Vec<Written> {
    let since = |job: &&Job| {
        let acts = job.acts.values();
        let mut done = acts.filter_map(|act| act.done.as_ref());
        done.any(|done| news.at() < done.at)
    };
    let jobs = standing.jobs.iter().filter(since);
    let doubts = jobs.flat_map(|job| of_job(house, news, (figure, standing, job)));
    doubts
        .flat_map(|doubt| one(figure, Deed::Deviated(doubt)))
        .collect()
}

fn of_job(
    house: House<'_>,
    news: &News,
    (figure, standing, job): (&str, &FigureStanding, &Job),
) -> Vec<Deviated> {
    let Some(list) = walk::checklist(house, &job.work) else {
        return Vec::new();
    };
    let steps = walk::steps(house, figure, job);
    let done = |id: &str| job.act(id).and_then(|act| act.done.as_ref());
    // The gates of the operation are passed with its first step.
    let first = steps.first().and_then(|flat| done(&flat.step.id));
    let whole = list.gates.iter().cloned();
    let whole = whole.filter_map(|ask| Some((String::new(), ask, first?)));
    let own = steps.iter().filter_map(|flat| {
        let passed = done(&flat.step.id)?;
        let gates = walk::gates(&flat.step).into_iter();
        Some(gates.map(move |ask| (flat.step.id.clone(), ask, passed)))
    });
    whole
        .chain(own.flatten())
        .filter(|(_, ask, passed)| news.concerns(ask.gate) && news.at() < passed.at)
        .filter(|(step, ask, _)| {
            let act = job.act(step);
            !act.is_some_and(|act| act.overruled.iter().any(|(gate, _)| *gate == ask.gate))
        })
        .filter_map(|(step, ask, passed)| {
            let here = (step.as_str(), &ask, passed);
            let verdict = would_be_shut(house, news, (figure, standing, job), here)?;
            Some(Deviated {
                work: job.work.clone(),
                step,
                kind: DeviationKind::Reading,
                what: format!(
                    "{} was passed {} by {}; by the {} entered since it would have been shut: {}",
                    verdict.name,
                    passed.at.format("%-d %b %H:%M"),
                    passed.by,
                    news.name(),
                    verdict.why
                ),
            })
        })
        .collect()
}

/// The verdict with the news, if it is shut and was open without.
fn would_be_shut(
    house: House<'_>,
    news: &News,
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
    then.figures
        .insert(figure.to_owned(), Arc::new(as_known(standing, passed.n)));
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
    match news {
        News::Air(room, reading) => {
            then.shop.hear_air(room, *reading);
        }
        News::Reading(reading) => {
            Arc::make_mut(then.figures.get_mut(figure)?).hear_reading(reading.clone());
        }
        News::Test(work, test) => {
            let known = Arc::make_mut(then.figures.get_mut(figure)?);
            let job = known.jobs.iter_mut().rfind(|known| known.work == *work)?;
            job.acts.values_mut().next()?.hear_test(test.clone());
        }
    }
    judged(&then).filter(|verdict| !verdict.open)
}

/// A figure's standing without what was read and tried in later lines.
fn as_known(standing: &FigureStanding, n: u64) -> FigureStanding {
    let mut known = standing.clone();
    known.readings.retain(|read| read.stamp.n <= n);
    let jobs = known.jobs.iter_mut();
    for act in jobs.flat_map(|job| job.acts.values_mut()) {
        act.tests.retain(|test| test.stamp.n <= n);
    }
    known
}
