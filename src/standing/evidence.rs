//! How long what opened a gate is still good. A gate that stands open shows nothing by itself;
//! here it says until when, so that nobody is stopped by surprise in the middle of a coat.

use chrono::{DateTime, Duration, FixedOffset};

use super::clock::view;
use super::front::Front;
use super::gate::{Case, evidence_hours, fresh, judge, last_by_point, readings, title};
use super::gate_size::last_words;
use super::prompt::Verdict;
use super::{House, air};
use crate::card::{ClockName, GateAsk, GateKind, Measure};
use crate::deed::Work;

/// An open gate whose evidence grows old.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evidence {
    /// Which gate.
    pub gate: GateKind,
    /// Its name in the trade's words.
    pub name: &'static str,
    /// When the oldest of what it stands open on was read or looked at.
    pub since: DateTime<FixedOffset>,
    /// Until when it stands open on what was read or looked at.
    pub good_until: DateTime<FixedOffset>,
}

/// Returns the open gates of the step in front whose evidence grows old, what goes first
/// first; empty where none does or the job was never begun.
pub fn evidence(
    house: House<'_>,
    figure: &str,
    work: &Work,
    now: DateTime<FixedOffset>,
) -> Vec<Evidence> {
    let Some(front) = Front::look(house, figure, work, now) else {
        return Vec::new();
    };
    let asks = asks(&front).into_iter();
    let mut all: Vec<Evidence> = asks
        .filter_map(|(step, ask)| good(Case { step, ..front.case }, ask))
        .collect();
    all.sort_by_key(|one| one.good_until);
    all
}

/// Returns every gate of the step in front that is shut, not only the first: behind one that a
/// reading opens may stand one that only hours open.
pub fn shut_in_front(
    house: House<'_>,
    figure: &str,
    work: &Work,
    now: DateTime<FixedOffset>,
) -> Vec<Verdict> {
    let Some(front) = Front::look(house, figure, work, now) else {
        return Vec::new();
    };
    let asks = asks(&front).into_iter();
    let verdicts = asks.map(|(step, ask)| (step, judge(Case { step, ..front.case }, ask)));
    verdicts
        .filter(|(step, verdict)| !verdict.open && !front.is_overruled(step, verdict))
        .map(|(_, verdict)| verdict)
        .collect()
}

/// The gates of the step in front, with the step they belong to.
fn asks<'f>(front: &'f Front<'_>) -> Vec<(&'f str, &'f GateAsk)> {
    let whole = front.list.gates.iter().filter(|_| front.at == Some(0));
    let whole = whole.map(|ask| ("", ask));
    let step = front.flat().map(|flat| &flat.step);
    let own = step.into_iter().flat_map(|step| {
        let gates = step.gates.iter();
        gates.map(|ask| (step.id.as_str(), ask))
    });
    whole.chain(own).collect()
}

/// An open gate of a work somewhere in the shop whose evidence grows old.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenGate {
    /// Figure id.
    pub figure: String,
    /// The work.
    pub work: Work,
    /// The gate, and until when it stands open.
    pub evidence: Evidence,
}

/// Returns the open gates of all works of the shop, or of one figure, whose evidence grows old,
/// what goes first first.
pub fn open_gates(
    house: House<'_>,
    only: Option<&str>,
    now: DateTime<FixedOffset>,
) -> Vec<OpenGate> {
    let figures = house.standing.figures.iter();
    let figures = figures.filter(|(figure, _)| only.is_none_or(|only| figure.as_str() == only));
    let mut all: Vec<OpenGate> = figures
        .flat_map(|(figure, standing)| {
            standing.open_jobs().flat_map(move |job| {
                let own = evidence(house, figure, &job.work, now);
                own.into_iter().map(move |evidence| OpenGate {
                    figure: figure.clone(),
                    work: job.work.clone(),
                    evidence,
                })
            })
        })
        .collect();
    all.sort_by_key(|one| one.evidence.good_until);
    all
}

fn good(case: Case<'_>, ask: &GateAsk) -> Option<Evidence> {
    let hours = evidence_hours(ask);
    if !hours.is_finite() {
        return None;
    }
    // Most gates rest on nothing yet; that is known sooner than a verdict.
    let since = since(case, ask)?;
    let good_until = super::after(since, hours);
    let worn_out = spent(case, ask.gate).into_iter();
    judge(case, ask).open.then(|| Evidence {
        gate: ask.gate,
        name: title(ask.gate).0,
        since,
        good_until: worn_out.chain([good_until]).min().unwrap_or(good_until),
    })
}

/// When the first gloves or cartridge of this work are spent: no word about the air outlasts
/// them.
fn spent(case: Case<'_>, gate: GateKind) -> Option<DateTime<FixedOffset>> {
    if gate != GateKind::AirAndGloves {
        return None;
    }
    let worn = case.standing.clocks.iter().filter(|clock| {
        matches!(clock.clock, ClockName::Glove | ClockName::Cartridge)
            && clock.ended.is_none()
            && clock.work == *case.work
    });
    worn.filter_map(|clock| view(case.house, case.figure, clock, case.now).closes)
        .min()
}

/// The moment of what grows old first among all that a gate rests on.
fn since(case: Case<'_>, ask: &GateAsk) -> Option<DateTime<FixedOffset>> {
    let room = case.house.room_of(case.figure);
    let air = || air::latest(case.house, room, case.now).map(|air| air.at);
    let oldest = |measure| {
        let all = last_by_point(&readings(case, measure));
        all.into_iter().map(|reading| reading.stamp.at).min()
    };
    match ask.gate {
        GateKind::Temperature | GateKind::Humidity => air(),
        GateKind::Dew => {
            let surface = fresh(case, ask, Measure::SurfaceTemperature);
            let surface = surface.into_iter().map(|reading| reading.stamp.at).min();
            surface.into_iter().chain(air()).min()
        }
        GateKind::Moisture => {
            let skin = oldest(Measure::MoistureSkin);
            skin.into_iter().chain(oldest(Measure::MoistureCore)).min()
        }
        GateKind::Neutral => oldest(Measure::Ph),
        GateKind::SizeReady => last_words(case).into_iter().map(|test| test.stamp.at).min(),
        _ => vouched(case, ask.gate),
    }
}

fn vouched(case: Case<'_>, gate: GateKind) -> Option<DateTime<FixedOffset>> {
    let act = case.standing.job(case.work)?.act(case.step)?;
    let said = act.vouched.iter().filter(|(kind, _)| *kind == gate);
    said.map(|(_, stamp)| stamp.at).max()
}

impl Evidence {
    /// Returns how long it is still good; never less than nothing.
    pub fn left(&self, now: DateTime<FixedOffset>) -> Duration {
        (self.good_until - now).max(Duration::zero())
    }
}
