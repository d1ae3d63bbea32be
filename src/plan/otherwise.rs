//! The words of a night that has no sure lay time: why. And the words that go with every plan:
//! where its times come from, and what to know besides.

use super::lots::Shelf;
use super::night::Evening;
use super::ruler::{MARGIN_MIN, Snag};
use crate::reckon::{Hours, Percent, Trace};
use crate::standing::OUTLOOK_DAYS;

/// The longest outlook that a plan of one night looks at, hours.
const NIGHT_H: f64 = 24.0;

/// What helps when nothing is sure.
const CHIP: &str = "lay a witness chip and let the knuckle decide";

/// Returns why no lay time surely works; `open` is whether anything tried would open one.
pub(super) fn why(evening: &Evening<'_>, snag: Option<&Snag>, open: bool) -> String {
    let clock = |minute| evening.at(minute).format("%a %H:%M").to_string();
    let why = match snag {
        None => "too late to lay all of it before the doors close".to_owned(),
        Some(Snag::Never) => format!("the room may stay too cold for it to come ready: {CHIP}"),
        Some(Snag::NoWindow { dead, ready }) => format!(
            "no sure window: the last place may come ready only {} after laying, the first be dead after {}, and {MARGIN_MIN:.0} min before that are kept free; {CHIP}",
            late_span(*ready),
            span(*dead)
        ),
        Some(Snag::TooShort { window, laying }) => format!(
            "the sure window is {} long and laying takes {}: {CHIP}",
            span(*window),
            late_span(*laying)
        ),
        Some(Snag::NobodyThere { from, to }) => format!(
            "the sure window, {} to {}, falls where nobody is there long enough",
            clock(*from),
            clock(*to)
        ),
        Some(Snag::Crowded { laying }) => format!(
            "each panel alone would fit, all together take {}: some die before their turn",
            late_span(*laying)
        ),
    };
    let why = match evening.nobody_till() {
        Some(back) if back.is_finite() => {
            format!("{why}. Nobody is there till {}", clock(back))
        }
        Some(_) => format!("{why}. Nobody is there on the next days"),
        None => why,
    };
    if open {
        why
    } else {
        format!("{why}. No other size, fewer panels, second hand or warmer night opens a time")
    }
}

/// What is waited for, rounded up to the minute; the dust of binary fractions is none.
fn late_span(minutes: f64) -> String {
    span((minutes - 1e-6).ceil())
}

fn span(minutes: f64) -> String {
    let (hours, rest) = ((minutes / 60.0).floor(), (minutes % 60.0).floor());
    if hours < 1.0 {
        format!("{rest:.0} min")
    } else {
        format!("{hours:.0} h {rest:02.0} min")
    }
}

/// The coldest and hottest that the night may be, °C.
fn outlook(evening: &Evening<'_>) -> (f64, f64) {
    let night = |trace: &Trace| trace.range(Hours(evening.first), Hours(evening.first + NIGHT_H));
    (
        night(&evening.traces.cold).0.0,
        night(&evening.traces.hot).1.0,
    )
}

/// Returns where the times of a plan come from, one line.
pub(super) fn because(evening: &Evening<'_>, shelf: &Shelf<'_>) -> String {
    let (coldest, hottest) = outlook(evening);
    let (low, high) = (format!("{coldest:.0}"), format!("{hottest:.0}"));
    let span = if low == high {
        format!("{low} °C")
    } else {
        format!("{low}–{high} °C")
    };
    #[expect(clippy::cast_precision_loss, reason = "a few days")]
    let recent = OUTLOOK_DAYS as f64 * 24.0;
    let air = match evening.read_at() {
        None => format!("guess, no air reading of this room: {span}"),
        Some(at) if recent < evening.hours_since(at) => {
            format!("guess, last read on {}: {span}", at.format("%d %b %Y"))
        }
        Some(_) => format!("{span} as in the last seven days"),
    };
    let percent = |damp: Option<Percent>| damp.map_or(0.0, |damp| damp.0);
    let (driest, dampest) = (percent(evening.damp.driest), percent(evening.damp.dampest));
    let (driest, dampest) = (format!("{driest:.0}"), format!("{dampest:.0}"));
    let percent = if driest == dampest {
        driest
    } else {
        format!("{driest}–{dampest}")
    };
    let air = format!("{air}, {percent} % humidity");
    let (times, at_c) = shelf.sheet.times();
    let [[ready, _, ready_late], [dead, _, dead_late]] = [times.ready(), times.dead()];
    format!(
        "{}: ready {}, dead {} at {at_c} °C; {air}; {MARGIN_MIN:.0} min kept free before dead",
        shelf.choice.provenance,
        between(ready, ready_late),
        between(dead, dead_late)
    )
}

/// Hours from and to, the first rounded down to the minute, the second up: `10–12 h`,
/// `10 h 35 min to 24 h`.
fn between(from: Hours, to: Hours) -> String {
    let from = (from.0 * 60.0 + 1e-6).floor();
    let to = (to.0 * 60.0 - 1e-6).ceil();
    if from % 60.0 == 0.0 && to % 60.0 == 0.0 {
        return format!("{:.0}–{:.0} h", from / 60.0, to / 60.0);
    }
    let exact = |minutes: f64| match minutes % 60.0 {
        0.0 => format!("{:.0} h", minutes / 60.0),
        _ => span(minutes),
    };
    format!("{} to {}", exact(from), exact(to))
}

/// Returns what to know besides.
pub(super) fn notes(evening: &Evening<'_>, shelf: &Shelf<'_>) -> Vec<String> {
    let mut notes = vec!["lay the witness chip with the same brush; it may be touched".to_owned()];
    let (coldest, hottest) = outlook(evening);
    if let Some([low, high]) = shelf.material.range_c {
        if coldest < low {
            notes.push(format!(
                "the room may fall to {coldest:.0} °C, below the {low:.0} °C of the card: set the night heating"
            ));
        }
        if high < hottest {
            notes.push(format!(
                "the room may rise to {hottest:.0} °C, above the {high:.0} °C of the card"
            ));
        }
    }
    let dampest = evening.damp.dampest.map_or(0.0, |dampest| dampest.0);
    match (evening.damp.likely, shelf.material.most_humidity_percent) {
        (None, _) => notes.push("no humidity was read in seven days: read it now".to_owned()),
        (Some(_), Some(most)) if most < dampest => notes.push(format!(
            "humidity reached {dampest:.0} % in these days, the card allows {most:.0} %"
        )),
        _ => {}
    }
    if shelf.choice.sealed {
        notes.push(format!("lot {} is still sealed", shelf.choice.lot));
    }
    notes
}
