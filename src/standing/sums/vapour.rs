//! What air a remover or a solvent asks for: clean air against the strictest limit, beside what
//! the fan of the room moves, and the share of the lower explosive limit.

use super::{Here, StepSum, Weight, short};
use crate::card::{Effect, GateKind, Material, MaterialKind, Step, Zone};
use crate::reckon::dilution::{
    DRAW_OFF_BELOW_PPM, Dilution, GivenOff, HAZARDOUS_LEL_PERCENT, POOREST_MIXING, dilution,
};
use crate::reckon::exposure::{Solvent, solvent_called};
use crate::reckon::{Known, Millilitres, PartsPerMillion};
use crate::standing::starts;

/// Kinds of material that are there to give off vapour, the strongest first.
const GIVING: [MaterialKind; 3] = [
    MaterialKind::Stripper,
    MaterialKind::Thinner,
    MaterialKind::Rinse,
];

/// What evaporates, millilitres in a minute, and where that is known from.
struct Rate {
    ml_per_min: f64,
    because: String,
}

/// Returns the air that the product in hand asks for, from its choice until it is laid.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    if !here.list.emits.contains(&Effect::Vapour) {
        return Vec::new();
    }
    let Some(kind) = GIVING.into_iter().find(|kind| is_used(here, *kind)) else {
        return Vec::new();
    };
    let handled = |step: &Step| names(step, kind) || asks_for_air(step);
    let opened = |step: &Step| names(step, kind);
    if !here.is_between(opened, handled) {
        return Vec::new();
    }
    let Some(material) = starts::in_use(here.case, here.job, kind) else {
        return Vec::new();
    };
    // Water and what is mostly water give off nothing that a limit names.
    if kind == MaterialKind::Rinse && material.solvent.is_none() {
        return Vec::new();
    }
    vec![told(here, material)]
}

/// What is only washed off is not picked: its gloves alone say nothing about the air.
fn is_used(here: &Here<'_>, kind: MaterialKind) -> bool {
    let mut records = here.steps.iter().flat_map(|flat| &flat.step.record);
    records.any(|record| record.lot == Some(kind))
}

fn names(step: &Step, kind: MaterialKind) -> bool {
    let by = step.starts.iter().filter_map(|start| start.by);
    let lots = step.record.iter().filter_map(|record| record.lot);
    by.chain(lots).any(|named| named == kind)
}

fn asks_for_air(step: &Step) -> bool {
    let mut gates = step.gates.iter();
    gates.any(|ask| ask.gate == GateKind::AirAndGloves)
}

fn told(here: &Here<'_>, material: &Material) -> StepSum {
    let name = &material.name;
    let Some(called) = &material.solvent else {
        return StepSum::missing(
            "vapour",
            format!(
                "what air {name} asks for is not known: put its main solvent as `solvent` on \
                 materials/{}.yaml",
                material.id
            ),
        );
    };
    let solvent = match solvent_called(called) {
        Ok(solvent) => solvent,
        Err(refusal) => return StepSum::missing("vapour", refusal.to_string()),
    };
    let rate = match rate(here, material) {
        Ok(rate) => rate,
        Err(lacking) => return StepSum::missing("vapour", lacking),
    };
    let given_off = GivenOff::Volume(Millilitres(rate.ml_per_min));
    let Some(limit) = solvent.strictest() else {
        return limitless(solvent, &rate);
    };
    let ppm = PartsPerMillion(limit.ppm);
    let held = match dilution(solvent, given_off, ppm, POOREST_MIXING) {
        Ok(held) => held,
        Err(refusal) => return StepSum::missing("vapour", refusal.to_string()),
    };
    let mut sum = against_the_fan(here, (solvent, given_off), held);
    let status = if limit.known == Known::Recalled {
        "preset to confirm on the data sheet"
    } else {
        limit.known.words()
    };
    sum = sum
        .more(format!(
            "limit {} ppm, {} ({}): {status}",
            short(limit.ppm),
            limit.authority,
            limit.source
        ))
        .more(rate.because)
        .more(format!(
            "lower explosive limit {} %: {}",
            short(solvent.lel_percent),
            solvent.lel_known.words()
        ))
        .more("an estimate, not a measurement: data sheet, label and local codes win")
        .word("vapour_solvent", solvent.name)
        .word("vapour_limit_known", status)
        .number("vapour_limit_ppm", limit.ppm)
        .number("vapour_evaporates_ml_per_min", rate.ml_per_min);
    sum
}

/// The air that holds the limit, beside the air that the room's fan moves.
fn against_the_fan(
    here: &Here<'_>,
    (solvent, given_off): (&Solvent, GivenOff),
    held: Dilution,
) -> StepSum {
    let needs = held.airflow.0;
    let limit = solvent.strictest();
    let ppm = limit.map_or(0.0, |limit| limit.ppm);
    let preset = limit.is_some_and(|limit| limit.known == Known::Recalled);
    let confirm = if preset { " (preset to confirm)" } else { "" };
    let asks = format!(
        "{}: {} m³/min hold {} ppm{confirm}",
        solvent.name,
        short(needs.ceil()),
        short(ppm)
    );
    let figures = |sum: StepSum| {
        sum.number("vapour_airflow_m3_per_min", needs).number(
            "vapour_limit_share_of_lel_percent",
            held.share_of_lel_percent,
        )
    };
    let room = here.case.house.room_of(here.case.figure);
    let rooms = &here.case.house.cards.shop.rooms;
    let moved = rooms
        .iter()
        .find(|card| card.id == room)
        .map_or(0.0, |card| card.volume_m3 * card.air_changes_per_h / 60.0);
    if moved <= 0.0 {
        let line = format!("{asks}; the fan here: set volume and air changes in shop.yaml");
        return figures(StepSum::missing("vapour", line));
    }
    // What settles with this fan is as much over the limit as its air falls short.
    let settles = (ppm * needs / moved).min(1.0e6);
    let share = dilution(solvent, given_off, PartsPerMillion(settles), POOREST_MIXING)
        .map_or(100.0, |here| here.share_of_lel_percent);
    let (tail, weight) = if HAZARDOUS_LEL_PERCENT <= share {
        (
            format!(
                "the fan moves {}: up to {:.0} % of the explosive limit. Less at a time, more air",
                short(moved),
                share.ceil()
            ),
            Weight::Mind,
        )
    } else if moved < needs {
        (
            format!(
                "the fan moves {}: draw it off at the zone, mask ON",
                short(moved)
            ),
            Weight::Mind,
        )
    } else {
        (format!("the fan moves {}", short(moved)), Weight::Plain)
    };
    let mut sum = StepSum::new("vapour", format!("{asks}; {tail}"))
        .minded(weight)
        .more(format!(
            "mixing factor {POOREST_MIXING:.0}, the poorest: the nose is nearer than the room's mean"
        ))
        .more(format!(
            "with this fan up to {} ppm, {:.2} % of the lower explosive limit; hazardous from {HAZARDOUS_LEL_PERCENT:.0} %",
            short(settles.ceil()),
            share
        ));
    if ppm < DRAW_OFF_BELOW_PPM {
        sum = sum.more("a limit under 100 ppm: draw the vapour off where it arises");
    }
    figures(sum)
        .number("vapour_fan_m3_per_min", moved)
        .number("vapour_share_of_lel_percent", share)
}

/// No authority named here sets a limit: nothing can be called enough.
fn limitless(solvent: &Solvent, rate: &Rate) -> StepSum {
    StepSum::missing(
        "vapour",
        format!(
            "{}: no exposure limit is known here; take the one of its data sheet, mask ON",
            solvent.name
        ),
    )
    .more(rate.because.clone())
    .word("vapour_solvent", solvent.name)
    .number("vapour_evaporates_ml_per_min", rate.ml_per_min)
}

/// As the card says, else as if all of one pass over the zone evaporated while it is open.
fn rate(here: &Here<'_>, material: &Material) -> Result<Rate, String> {
    if let Some(ml_per_min) = material.evaporates_ml_per_min {
        let because = format!("{} ml/min evaporate, says the card", short(ml_per_min));
        return Ok(Rate {
            ml_per_min,
            because,
        });
    }
    let place = format!("materials/{}.yaml", material.id);
    let (Some(spread), Some(dwell)) = (material.spread_m2_per_l, material.dwell_min) else {
        return Err(format!(
            "what air {} asks for is not known: put `evaporates_ml_per_min` on {place}",
            material.name
        ));
    };
    let area = here.zone().map_or(0.0, Zone::carved_area_m2);
    if area <= 0.0 {
        return Err(super::coat::no_area(here));
    }
    let litres = area / spread;
    let ml_per_min = litres * 1000.0 / dwell.likely;
    let because = format!(
        "assumed: one pass over the zone, {} L, is gone into the air within {:.0} min; film over it makes it less",
        short(litres),
        dwell.likely
    );
    Ok(Rate {
        ml_per_min,
        because,
    })
}
