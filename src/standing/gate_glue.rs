//! The gates of glue: gap map complete, cured, washed free of blush.

use super::air::after;
use super::clock::{self, ClockState};
use super::facts::JobState;
use super::gate::{Case, Found, joints, open, shut, vouch};
use super::prompt::OpensBy;
use super::walk::gap_rows;
use crate::card::ClockName;
use crate::deed::ClockRule;

pub(super) fn gap(case: Case<'_>) -> Found {
    let by = || OpensBy::Operation("dry-fit".to_owned());
    let card = case.house.cards.figures.get(case.figure);
    let joint = card.and_then(|card| {
        card.joints
            .iter()
            .find(|j| Some(&j.id) == case.work.target.as_ref())
    });
    let Some(joint) = joint else {
        return shut("this joint has no card", by());
    };
    let rows = gap_rows(case.standing, &joint.id);
    let full = |row: &(f64, Vec<Option<f64>>)| 3 <= row.1.iter().flatten().count();
    let places: Vec<f64> = rows
        .iter()
        .filter(|row| full(row))
        .map(|row| row.0)
        .collect();
    let ends = places.first().is_some_and(|first| *first <= 1.0)
        && places
            .last()
            .is_some_and(|last| joint.length_mm - 1.0 <= *last);
    let close = places
        .windows(2)
        .all(|pair| matches!(pair, [a, b] if b - a <= 101.0));
    if ends && close {
        open(format!("{} rows of gap readings", places.len()))
    } else {
        shut(
            "the gap map is not complete: 3 across, every 100 mm, both ends",
            by(),
        )
    }
}

pub(super) fn cured(case: Case<'_>) -> Found {
    let joints = joints(case);
    let waiting = case.standing.clocks.iter().find_map(|clock| {
        let here = clock.clock == ClockName::Load
            && clock.ended.is_none()
            && clock
                .work
                .target
                .as_ref()
                .is_some_and(|target| joints.contains(target));
        let view = here.then(|| clock::view(case.house, case.figure, clock, case.now));
        view.filter(|view| view.state != ClockState::Come)
    });
    match waiting {
        None => match joints.iter().find_map(|joint| spoilt(case, joint)) {
            None => open("no glue still curing here"),
            Some((joint, back_to)) => shut(
                format!("{joint} went back with glue in it that may never harden"),
                OpensBy::Operation(back_to.to_owned()),
            ),
        },
        Some(view) => {
            let until = view.opens.map_or_else(
                || "not known".to_owned(),
                |at| at.format("%a %H:%M").to_string(),
            );
            shut(
                format!("{} cures until {until}", view.about),
                OpensBy::Wait(until),
            )
        }
    }
}

/// A joint sent back after a mix and not walked again where it was sent: its clocks have ended,
/// its glue has not cured. Sanding half-cured epoxy is a usual way to allergy (builder pages).
fn spoilt<'a>(case: Case<'a>, joint: &'a str) -> Option<(&'a str, &'a str)> {
    let here = || {
        let all = case.standing.jobs.iter();
        all.filter(|job| job.work.target.as_deref() == Some(joint))
    };
    let glued = here().rfind(|job| job.acts.values().any(|act| !act.mixed.is_empty()))?;
    let JobState::SentBack { stamp, back_to, .. } = &glued.state else {
        return None;
    };
    let opened = here().any(|job| {
        job.work.operation == *back_to
            && matches!(&job.state, JobState::Finished(opened) if stamp.n < opened.n)
    });
    (!opened).then_some((joint, back_to.as_str()))
}

/// What has gone off in the cup wets no wood and sticks to nothing; stirred or spread it looks
/// like glue all the same.
pub(super) fn mix_live(case: Case<'_>) -> Found {
    let cups = case.standing.clocks.iter().filter(|clock| {
        clock.clock == ClockName::Cup && clock.work == *case.work && clock.ended.is_none()
    });
    let views = cups.map(|cup| clock::view(case.house, case.figure, cup, case.now));
    let last = views.max_by_key(|view| view.started);
    match last.filter(|view| view.state == ClockState::Over) {
        None => open("no cup here has gone off"),
        Some(view) => {
            let since = view.closes.unwrap_or(case.now).format("%a %H:%M");
            shut(
                format!("the cup is over since {since}: nothing of it goes on wood"),
                OpensBy::Wait("a new cup: x throws this one away".to_owned()),
            )
        }
    }
}

/// Past the longest time that its sheet gives a film, two halves that are pressed together hold
/// nowhere, whatever the clamps do.
pub(super) fn open_time(case: Case<'_>) -> Found {
    let films = case.standing.clocks.iter().filter_map(|clock| {
        let is_here = clock.work == *case.work && clock.ended.is_none();
        match &clock.rule {
            ClockRule::Film { sheet } if is_here => {
                let dead = after(clock.started.at, sheet.late / 60.0);
                Some((dead, sheet.late))
            }
            _ => None,
        }
    });
    let gone = films
        .filter(|(dead, _)| *dead <= case.now)
        .min_by_key(|(dead, _)| *dead);
    match gone {
        None => open("the film is not past its sheet"),
        Some((dead, late)) => shut(
            format!(
                "the film is over since {}, past the {late:.0} min of its sheet: do not force it",
                dead.format("%a %H:%M")
            ),
            OpensBy::Wait("the joint opened, cleaned, glued anew: p sends it back".to_owned()),
        ),
    }
}

pub(super) fn washed(case: Case<'_>) -> Found {
    let joints = joints(case);
    let glued = case
        .standing
        .jobs
        .iter()
        .filter(|job| {
            job.work
                .target
                .as_ref()
                .is_some_and(|target| joints.contains(target))
        })
        .flat_map(|job| {
            job.acts
                .values()
                .flat_map(move |act| act.mixed.iter().map(move |mixed| (job, mixed)))
        })
        .max_by_key(|(_, (_, stamp))| stamp.n);
    let Some((job, (_, mixed))) = glued else {
        return open("no epoxy here");
    };
    match job.recorded("blush") {
        Some(kept) if mixed.n < kept.stamp.n => open("blush washed off"),
        _ => vouch("Cured epoxy washed with water and pad, water sheets off"),
    }
}
