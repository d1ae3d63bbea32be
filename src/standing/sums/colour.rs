//! Colours written down as readings: the middle of three, how far they lie apart, and how a
//! chip differs from its target in a painter's words. Only a dry, varnished chip is judged.

use super::{Here, StepSum, Weight, short};
use crate::card::{Record, Step};
use crate::deed::Value;
use crate::reckon::colour::{Colour, colours_in, difference, middle_colour};

/// Records that hold the readings of layers.
const LAYERS: &str = "colours";
/// The record that holds the readings of a chip.
const CHIP: &str = "chip";
/// The record that says in which state the chip was read.
const STATE: &str = "chip-state";
/// The state in which a chip is judged.
const JUDGED: &str = "dry and varnished";
/// The record that holds the target at the bench itself.
const WANTED: &str = "wanted";
/// The record of the scheme that holds the targets of all zones.
const TARGETS: &str = "targets";

/// Readings that lie further apart than this are read again, CIEDE2000 (*common practice*).
const SPREAD: f64 = 1.0;

/// How readings are written.
const FORM: &str = "write three readings as L,a,b, such as 62.1,8.4,21.0 61.9,8.3,20.8 62,8.5,21";

/// Returns what the colours written at this step say.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    if has(here.step(), LAYERS) {
        return layers(here);
    }
    if has(here.step(), CHIP) {
        return vec![chip(here)];
    }
    Vec::new()
}

fn has(step: &Step, id: &str) -> bool {
    let is = |record: &Record| record.id == id && record.line;
    step.record.iter().any(is)
}

fn written<'a>(here: &Here<'a>, id: &str) -> Option<&'a str> {
    match &here.job.recorded(id)?.value {
        Value::Text(text) => Some(text),
        Value::Number(_) => None,
    }
}

/// The readings of each layer, layers parted by semicolons.
fn layers(here: &Here<'_>) -> Vec<StepSum> {
    let Some(text) = written(here, LAYERS) else {
        return vec![StepSum::missing(
            "colour",
            format!("{FORM}; part the layers by ;"),
        )];
    };
    text.split(';')
        .enumerate()
        .filter_map(|(place, layer)| {
            let readings = colours_in(layer);
            (!readings.is_empty()).then(|| middle(&format!("layer {}", place + 1), &readings))
        })
        .collect()
}

fn middle(what: &str, readings: &[Colour]) -> StepSum {
    match middle_colour(readings) {
        Ok((colour, spread)) => spread_of(
            StepSum::new(
                "colour",
                format!("{what}: {}, readings within {spread:.1}", shown(colour)),
            ),
            colour,
            spread,
        ),
        Err(refusal) => StepSum::missing("colour", format!("{what}: {refusal}; {FORM}")),
    }
}

fn spread_of(sum: StepSum, colour: Colour, spread: f64) -> StepSum {
    let sum = sum
        .number("colour_l", colour.l)
        .number("colour_a", colour.a)
        .number("colour_b", colour.b)
        .number("colour_spread_delta_e_2000", spread);
    if SPREAD < spread {
        sum.minded(Weight::Mind)
            .more("the readings lie too far apart: clean, dry, seat the instrument, read again")
    } else {
        sum
    }
}

fn shown(colour: Colour) -> String {
    format!("{:.1},{:.1},{:.1}", colour.l, colour.a, colour.b)
}

fn chip(here: &Here<'_>) -> StepSum {
    let readings = written(here, CHIP).map(colours_in).unwrap_or_default();
    let state = written(here, STATE);
    if let Some(state) = state.filter(|state| *state != JUDGED) {
        return StepSum::missing(
            "colour",
            format!("no verdict: the chip is {state}; judged is only a dry, varnished one"),
        );
    }
    let wanted = target(here);
    if readings.is_empty() {
        let aim = wanted.map_or_else(
            || "no target is recorded".to_owned(),
            |wanted| format!("the target is {}", shown(wanted)),
        );
        return StepSum::missing("colour", format!("{aim}; {FORM}"));
    }
    let (sample, spread) = match middle_colour(&readings) {
        Ok(middle) => middle,
        Err(refusal) => {
            return StepSum::missing("colour", format!("no verdict: {refusal}; {FORM}"));
        }
    };
    let Some(wanted) = wanted else {
        let sum = middle("chip", &readings);
        return StepSum {
            line: format!(
                "{}; no verdict: no target is recorded in the scheme",
                sum.line
            ),
            ..sum
        };
    };
    if state.is_none() {
        return StepSum::missing(
            "colour",
            "no verdict: say first whether the chip is dry and varnished",
        );
    }
    let off = difference(wanted, sample);
    let weight = if off.delta_e_2000 < SPREAD {
        Weight::Plain
    } else {
        Weight::Mind
    };
    let sum = StepSum::new(
        "colour",
        format!(
            "chip is {}: {:.1} off the target (CIEDE2000)",
            off.words(),
            off.delta_e_2000
        ),
    )
    .minded(weight)
    .more(format!("target {}, chip {}", shown(wanted), shown(sample)))
    .more(format!(
        "lighter by {}, stronger by {}; look under two lights, the person decides",
        short(off.delta_l),
        short(off.delta_c)
    ))
    .number("colour_delta_e_2000", off.delta_e_2000)
    .number("colour_delta_l", off.delta_l)
    .number("colour_delta_c", off.delta_c)
    .number("colour_delta_h", off.delta_h)
    .word("colour_words", off.words());
    spread_of(sum, sample, spread)
}

/// The target written at this bench, else the one that the scheme names for the zone.
fn target(here: &Here<'_>) -> Option<Colour> {
    let one = |text: &str| {
        let readings = colours_in(text);
        match middle_colour(&readings) {
            Ok((colour, _)) => Some(colour),
            Err(_too_few) => readings.last().copied(),
        }
    };
    if let Some(colour) = written(here, WANTED).and_then(one) {
        return Some(colour);
    }
    let mut jobs = here.case.standing.jobs.iter().rev();
    let text = jobs.find_map(|job| job.recorded(TARGETS))?;
    let Value::Text(text) = &text.value else {
        return None;
    };
    let parts: Vec<&str> = text.split(';').collect();
    let zone = here.zone();
    let names = |part: &&&str| {
        zone.is_some_and(|zone| {
            let said = part.to_lowercase();
            said.contains(&zone.id.to_lowercase()) || said.contains(&zone.name.to_lowercase())
        })
    };
    match (parts.iter().find(names), parts.as_slice()) {
        (Some(part), _) => one(part),
        (None, [only]) => one(only),
        (None, _) => None,
    }
}
