//! `clocks`: all running clocks, what dies first first.

use chrono::TimeDelta;
use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use crate::deed::Use;
use crate::report::{clock_name, grounds, work_name};
use crate::standing::{ClockState, ClockView, OpenGate, clock_views, open_gates, shelf_lives};
use crate::trouble::{ExitKind, Trouble};

/// A clock with `--json`. Moments are RFC 3339 in the shop's zone, or `null` where the clock
/// has none.
#[derive(Debug, Serialize)]
struct ClockJson<'a> {
    /// Figure id.
    figure: &'a str,
    /// Line number and name, such as `812.cup`.
    id: &'a str,
    /// Which clock, in words.
    clock: &'static str,
    /// What it is about.
    about: &'a str,
    /// `over`, `running`, `waiting`, `come` or `frozen`.
    state: &'static str,
    /// `do_before`, `wait_until` or `window`.
    side: &'static str,
    /// When it started.
    started: String,
    /// When what is waited for has come, on the late side.
    opens: Option<String>,
    /// When it is likely.
    likely: Option<String>,
    /// When it must be finished, on the early side.
    closes: Option<String>,
    /// Minutes to the moment that matters next, negative past it.
    left_min: Option<f64>,
    /// Why these times.
    because: &'a str,
    /// Where they come from: `from sheet`, `from this lot (n = 6)`, `common practice`, `guess`.
    provenance: &'a str,
}

/// An open gate whose evidence grows old, with `--json`, after the clocks.
#[derive(Debug, Serialize)]
struct GateJson<'a> {
    /// Figure id.
    figure: &'a str,
    /// Which gate, in words.
    gate: &'static str,
    /// Checklist id.
    operation: &'a str,
    /// Zone, joint or panel, or `null`.
    target: Option<&'a str>,
    /// When the oldest of its evidence was taken, RFC 3339.
    since: String,
    /// Until when it is good, RFC 3339.
    good_until: String,
    /// Minutes until then.
    left_min: f64,
}

/// Tells the clocks, and until when the gates that stand open do so.
///
/// # Errors
/// When a journal cannot be read.
pub(super) fn run(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.keeper()?;
    let views = clock_views(keeper.house(), shop.now);
    let gates = open_gates(keeper.house(), None, shop.now);
    if paper.json {
        paper.objects(views.iter().map(|view| json(shop, view)))?;
        paper.objects(gates.iter().map(|gate| gate_json(shop, gate)))?;
        return Ok(shop.as_kept(keeper.damaged(), paper));
    }
    if views.is_empty() {
        paper.line("no clock runs")?;
    } else {
        let rows: Vec<[String; 5]> = views
            .iter()
            .map(|view| {
                [
                    when(shop, view),
                    view.figure.clone(),
                    clock_name(view.clock).to_owned(),
                    view.about.clone(),
                    grounds(view),
                ]
            })
            .collect();
        paper.columns(&rows)?;
    }
    for gate in &gates {
        paper.line(&gate_words(shop, gate))?;
    }
    for lot in shelf_lives(keeper.house(), shop.now) {
        let word = if lot.days_left < 0 { "past" } else { "near" };
        paper.line(&format!(
            "{word} its date: lot {} of {}, {}",
            lot.lot, lot.material, lot.expires
        ))?;
    }
    Ok(shop.as_kept(keeper.damaged(), paper))
}

/// Returns until when a gate stands open on what was read or looked at.
fn gate_words(shop: &Opened, gate: &OpenGate) -> String {
    let evidence = &gate.evidence;
    format!(
        "{}: open, good until {}: {}, {}",
        evidence.name,
        shop.hour(evidence.good_until),
        gate.figure,
        work_name(&gate.work, &shop.cards)
    )
}

/// Returns the deadline of a clock in words. What is left is rounded down, what is waited for
/// up, so that nobody comes too late or too early.
pub(super) fn when(shop: &Opened, view: &ClockView) -> String {
    let Some(at) = view.deadline() else {
        return match view.state {
            ClockState::Frozen => "stands still".to_owned(),
            _ => "never, as things are".to_owned(),
        };
    };
    let hour = shop.hour(at);
    let away = at - shop.now;
    match view.state {
        ClockState::Over => format!("over since {hour}"),
        ClockState::Unsure => format!("not sure since {hour}: test it"),
        ClockState::Running => format!("until {hour}, {} left", span(away)),
        ClockState::Waiting => format!("ready {hour}, in {}", span(away + rounding_up(away))),
        ClockState::Come => format!("ready since {hour}"),
        ClockState::Frozen => format!("stands still, not before {hour}"),
    }
}

/// Turns rounding down into rounding up: to the minute, or to the hour where days are told.
fn rounding_up(away: TimeDelta) -> TimeDelta {
    if away < TimeDelta::days(1) {
        TimeDelta::milliseconds(59_999)
    } else {
        TimeDelta::milliseconds(3_599_999)
    }
}

fn span(span: TimeDelta) -> String {
    let minutes = span.num_minutes().max(0);
    match (minutes / 1440, minutes / 60 % 24, minutes % 60) {
        (0, 0, minutes) => format!("{minutes} min"),
        (0, hours, minutes) => format!("{hours} h {minutes:02} min"),
        (days, hours, _) => format!("{days} d {hours} h"),
    }
}

fn gate_json<'a>(shop: &Opened, gate: &'a OpenGate) -> GateJson<'a> {
    let moment = |at| shop.rfc3339(at);
    let evidence = &gate.evidence;
    GateJson {
        figure: &gate.figure,
        gate: evidence.name,
        operation: &gate.work.operation,
        target: gate.work.target.as_deref(),
        since: moment(evidence.since),
        good_until: moment(evidence.good_until),
        left_min: minutes(evidence.good_until - shop.now),
    }
}

fn json<'a>(shop: &Opened, view: &'a ClockView) -> ClockJson<'a> {
    let moment = |at| shop.rfc3339(at);
    ClockJson {
        figure: &view.figure,
        id: &view.id,
        clock: clock_name(view.clock),
        about: &view.about,
        state: match view.state {
            ClockState::Over => "over",
            ClockState::Unsure => "unsure",
            ClockState::Running => "running",
            ClockState::Waiting => "waiting",
            ClockState::Come => "come",
            ClockState::Frozen => "frozen",
        },
        side: match view.side {
            Use::DoBefore => "do_before",
            Use::WaitUntil => "wait_until",
            Use::Window => "window",
        },
        started: moment(view.started),
        opens: view.opens.map(moment),
        likely: view.likely.map(moment),
        closes: view.closes.map(moment),
        left_min: view.deadline().map(|at| minutes(at - shop.now)),
        because: &view.because,
        provenance: &view.provenance,
    }
}

#[expect(clippy::cast_precision_loss, reason = "seconds of some years")]
fn minutes(span: TimeDelta) -> f64 {
    (span.num_seconds() as f64 / 60.0 * 10.0).round() / 10.0
}
