//! The words of a night that has no sure lay time: why, and what would open one. And the words
//! that go with every plan: where its times come from, and what to know besides.

use super::leafing::Piece;
use super::lots::Shelf;
use super::night::{Courses, Evening};
use super::ruler::{Certainty, MARGIN_MIN, Ruler, Snag, best};
use crate::reckon::{Celsius, Hours, Trace};
use crate::standing::Traces;

/// The longest outlook that a plan of one night looks at, hours.
const NIGHT_H: f64 = 24.0;

/// What helps when nothing is sure.
const CHIP: &str = "lay a witness chip and let the knuckle decide";

/// Returns why no lay time surely works.
pub(super) fn why(evening: &Evening<'_>, snag: Option<&Snag>) -> String {
    let clock = |minute| evening.at(minute).format("%a %H:%M").to_string();
    match snag {
        None => "too late to lay all of it before the doors close".to_owned(),
        Some(Snag::Never) => format!("the room may stay too cold for it to come ready: {CHIP}"),
        Some(Snag::NoWindow { dead, ready }) => format!(
            "no sure window: the last place may come ready only {} after laying, the first be dead after {}; {CHIP}",
            span(*ready),
            span(*dead)
        ),
        Some(Snag::TooShort { window, laying }) => format!(
            "the sure window is {} long and laying takes {}: {CHIP}",
            span(*window),
            span(*laying)
        ),
        Some(Snag::NobodyThere { from, to }) => format!(
            "the sure window, {} to {}, falls where nobody is there long enough",
            clock(*from),
            clock(*to)
        ),
        Some(Snag::Crowded { laying }) => format!(
            "each panel alone would fit, all together take {}: some die before their turn",
            span(*laying)
        ),
    }
}

fn span(minutes: f64) -> String {
    let (hours, rest) = ((minutes / 60.0).floor(), (minutes % 60.0).floor());
    if hours < 1.0 {
        format!("{rest:.0} min")
    } else {
        format!("{hours:.0} h {rest:02.0} min")
    }
}

/// Returns what would open a sure lay time, each as one line with its first time.
pub(super) fn would_open(
    evening: &Evening<'_>,
    shelf: &Shelf<'_>,
    tried: &[&Shelf<'_>],
) -> Vec<String> {
    let ruler = evening.ruler(shelf, &evening.traces, Certainty::Sure);
    let all: Vec<&Piece> = evening.pieces.iter().collect();
    let opens = |what: String, courses: &Courses| -> Option<String> {
        best(courses).map(|course| {
            let laid = evening.at(course.laid).format("%H:%M");
            format!("{what}: lay at {laid}")
        })
    };
    let mut lines = Vec::new();
    let others = evening.shelf.iter();
    for other in others.filter(|one| tried.iter().all(|had| had.material.id != one.material.id)) {
        let courses = evening.courses(other, Certainty::Sure);
        lines.extend(opens(format!("{} instead", other.choice.name), &courses));
    }
    let second = ruler.courses(&all, evening.gilders + 1);
    lines.extend(opens("one more gilder tomorrow".to_owned(), &second));
    lines.extend(fewer(evening, &ruler, &all).and_then(|(what, courses)| opens(what, &courses)));
    lines.extend(flats_first(evening, &ruler).and_then(|courses| {
        let what = "edges and flats alone, hollows sized again later";
        opens(what.to_owned(), &courses)
    }));
    for warmer in [2.0, 4.0] {
        let Some(traces) = shifted(&evening.traces, warmer) else {
            continue;
        };
        let ruler = evening.ruler(shelf, &traces, Certainty::Sure);
        let courses = ruler.courses(&all, evening.gilders);
        lines.extend(opens(
            format!("the room {warmer:.0} °C warmer all night"),
            &courses,
        ));
    }
    lines
}

/// Leaves out what takes longest until the rest fits.
fn fewer(evening: &Evening<'_>, ruler: &Ruler, all: &[&Piece]) -> Option<(String, Courses)> {
    let mut rest = all.to_vec();
    rest.sort_by(|a, b| a.laying_min.total_cmp(&b.laying_min));
    while 1 < rest.len() {
        rest.pop();
        let courses = ruler.courses(&rest, evening.gilders);
        if best(&courses).is_some() {
            let names: Vec<&str> = rest.iter().map(|piece| piece.name.as_str()).collect();
            return Some((format!("fewer panels, {}", names.join(" and ")), courses));
        }
    }
    None
}

fn flats_first(evening: &Evening<'_>, ruler: &Ruler) -> Option<Courses> {
    if !evening.pieces.iter().any(|piece| piece.hollows) {
        return None;
    }
    let flat: Vec<Piece> = evening
        .pieces
        .iter()
        .map(|piece| Piece {
            hollows: false,
            ..piece.clone()
        })
        .collect();
    let flat: Vec<&Piece> = flat.iter().collect();
    Some(ruler.courses(&flat, evening.gilders))
}

fn shifted(traces: &Traces, by: f64) -> Option<Traces> {
    let warmer = |trace: &Trace| {
        let points = trace.points().iter();
        let points = points.map(|(hour, celsius)| (*hour, Celsius(celsius.0 + by)));
        Trace::new(points.collect()).ok()
    };
    Some(Traces {
        hot: warmer(&traces.hot)?,
        likely: warmer(&traces.likely)?,
        cold: warmer(&traces.cold)?,
        read: traces.read,
    })
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
    let air = if evening.traces.read {
        format!("{span} as in the last seven days")
    } else {
        format!("guess, no air reading of this room: {span}")
    };
    let hours = |early: f64, late: f64| format!("{early}–{late} h");
    let (ready, dead) = (shelf.material.tack_h, shelf.material.dead_h);
    let sheet = ready.zip(dead).map_or_else(String::new, |(ready, dead)| {
        format!(
            "ready {}, dead {} at {} °C; ",
            hours(ready.early, ready.late),
            hours(dead.early, dead.late),
            ready.at_c
        )
    });
    format!(
        "{}: {sheet}{air}; {MARGIN_MIN:.0} min kept free before dead",
        shelf.choice.provenance
    )
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
