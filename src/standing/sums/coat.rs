//! A coat at its step: litres for the zone, the wet film to aim at, when the next one may
//! follow, and how many more the film may take.

use chrono::{DateTime, FixedOffset};

use super::{Here, StepSum, Weight, hour, short};
use crate::card::{ClockName, Material, MaterialKind, Measure, RecoatHours, Wear};
use crate::deed::Value;
use crate::reckon::{
    Estimate, Micrometres, Percent, SquareMetres, SquareMetresPerLitre, coats_left, litres_for,
    varnish_film, wet_film_for, wet_film_of,
};
use crate::standing::air::hours_between;
use crate::standing::clock::{ClockState, ClockView, view};
use crate::standing::facts::{CoatKept, JobState};
use crate::standing::starts;

/// Dry varnish that a zone nobody touches may carry, µm (*common practice*: four coats rubbed
/// between are 90–110).
const BUDGET_UM: f64 = 110.0;

/// Dry varnish that a worn zone may carry, µm (*common practice*: six coats rubbed between are
/// about 140, and the sixth is still to have room).
const WORN_BUDGET_UM: f64 = 145.0;

/// More coats than this are never reckoned ahead (*common practice*: six are the most).
const MOST_AHEAD: u32 = 12;

/// Returns what a coat step, or the rest after a coat, reckons with.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    let laid = here.flat.coat;
    let rests = here
        .step()
        .until
        .as_ref()
        .is_some_and(|until| until.clock == Some(ClockName::Recoat));
    let kind = here
        .step()
        .starts
        .iter()
        .find(|start| start.clock == ClockName::Recoat)
        .and_then(|start| start.by);
    let mut sums = Vec::new();
    if let (Some((number, of, _)), Some(kind)) = (laid, kind)
        && let Some(material) = starts::in_use(here.case, here.job, kind)
    {
        sums.push(amount(here, material, of.saturating_sub(number) + 1));
        if kind == MaterialKind::Varnish {
            sums.push(film(here, number, of));
        }
        sums.extend(material.recoat.map(|sheet| window(&sheet)));
    } else if rests {
        sums.extend(running(here).map(|clock| in_words(&clock, here.case.now)));
    }
    sums
}

/// Says where the area of a zone belongs.
pub(super) fn no_area(here: &Here<'_>) -> String {
    let target = here.case.work.target.as_deref().unwrap_or_default();
    format!(
        "the area of `{target}` is not known: put `area_m2` or `solids` at this zone in \
         figures/{}/figure.yaml",
        here.case.figure
    )
}

/// Litres for this coat and for all that are left, and the wet film.
fn amount(here: &Here<'_>, material: &Material, left: u32) -> StepSum {
    let Some(zone) = here.zone().filter(|zone| 0.0 < zone.flat_area_m2()) else {
        return StepSum::missing("coat", no_area(here));
    };
    let Some(spread) = material.spread_m2_per_l else {
        let line = format!(
            "litres are not known: put `spread_m2_per_l` of {} on materials/{}.yaml",
            material.name, material.id
        );
        return StepSum::missing("coat", line);
    };
    let surface = SquareMetres(zone.carved_area_m2());
    let rate = SquareMetresPerLitre(spread);
    let litres = |coats| litres_for(surface, rate, coats).map(|litres| litres.0);
    let (one, all) = match (litres(1), litres(left)) {
        (Ok(one), Ok(all)) => (one, all),
        (Err(refusal), _) | (_, Err(refusal)) => {
            return StepSum::missing("coat", refusal.to_string());
        }
    };
    let (wet, basis) = wet_film(here, material, rate);
    let aim = wet.map_or_else(String::new, |wet| {
        format!(", {} µm wet", short(wet.0.round()))
    });
    let rest = if left > 1 {
        format!("; {} ml for the {left} coats to come", millilitres(all))
    } else {
        String::new()
    };
    let sum = StepSum::new(
        "coat",
        format!("{} ml for this coat{aim}{rest}", millilitres(one)),
    )
    .more(format!(
        "{} m² measured flat, relief {}, {} m²/L on the flat by the card of {}",
        short(zone.flat_area_m2()),
        short(zone.relief),
        short(spread),
        material.name
    ))
    .more(basis)
    .number("coat_litres", one)
    .number("coats_to_come_litres", all)
    .number("coat_surface_m2", surface.0);
    match wet {
        Some(wet) => sum.number("coat_wet_film_um", wet.0),
        None => sum,
    }
}

/// To ten millilitres, up: running short in a zone leaves a lap.
fn millilitres(litres: f64) -> String {
    short((litres * 100.0 - 1e-9).ceil() * 10.0)
}

fn wet_film(
    here: &Here<'_>,
    material: &Material,
    rate: SquareMetresPerLitre,
) -> (Option<Micrometres>, String) {
    let (Some(solids), Some(dry)) = (material.solids_percent, material.dry_film_um) else {
        let because = format!(
            "wet film by the spread alone; with `solids_percent` and `dry_film_um` on \
             materials/{}.yaml it is the one that dries to the sheet's film",
            material.id
        );
        return (wet_film_of(rate).ok(), because);
    };
    let thinned = thinned(here);
    let wet = wet_film_for(Micrometres(dry), Percent(solids), Percent(thinned)).ok();
    let because = format!(
        "{} µm dry at {} % solids, thinned by {} %",
        short(dry),
        short(solids),
        short(thinned)
    );
    (wet, because)
}

/// The thinning written down at this step, percent.
fn thinned(here: &Here<'_>) -> f64 {
    let measured = |id: &str| {
        let mut records = here.step().record.iter();
        records.any(|record| record.id == id && record.measure == Some(Measure::Thinning))
    };
    let act = here.job.act(&here.step().id);
    let mut kept = act.into_iter().flat_map(|act| &act.records);
    let last = kept.rfind(|kept| measured(&kept.record));
    match last.map(|kept| &kept.value) {
        Some(Value::Number(percent)) => *percent,
        _ => 0.0,
    }
}

/// How much more varnish the film may take: every coat on this zone that did not come off again.
fn film(here: &Here<'_>, number: u32, of: u32) -> StepSum {
    let laid = u32::try_from(varnished(here).len()).unwrap_or(u32::MAX);
    let worn = here.zone().is_some_and(|zone| zone.wear == Wear::Worn);
    let budget = if worn { WORN_BUDGET_UM } else { BUDGET_UM };
    let film = varnish_film(laid, laid.saturating_sub(1));
    let least = coats_left(Micrometres(budget), &film);
    let likely = (1..=MOST_AHEAD)
        .take_while(|more| after_more(laid, *more).likely().0 <= budget)
        .last()
        .map_or(0.0, f64::from);
    let kind = if worn { "a worn zone" } else { "this zone" };
    let (room, weight) = if likely < 1.0 {
        ("no room for one more".to_owned(), Weight::Mind)
    } else if f64::from(u32::try_from(least).unwrap_or(0)) < likely {
        (
            format!("room for {least} thick or {likely:.0} likely coats more"),
            Weight::Plain,
        )
    } else {
        (format!("room for {likely:.0} more"), Weight::Plain)
    };
    let line = format!(
        "varnish so far {:.0}–{:.0} µm of {budget:.0}: {room}; this is coat {number} of {of}",
        film.do_before().0,
        film.wait_until().0
    );
    StepSum::new("film", line)
        .minded(weight)
        .more(format!(
            "{}; {budget:.0} µm on {kind}, common practice: a thick film cracks",
            film.because()
        ))
        .number("film_late_um", film.wait_until().0)
        .number("film_likely_um", film.likely().0)
        .number("film_budget_um", budget)
        .number(
            "film_least_left_coats",
            f64::from(u32::try_from(least).unwrap_or(0)),
        )
        .number("film_likely_left_coats", likely)
}

/// The film with so many coats more, each rubbed before the next.
fn after_more(laid: u32, more: u32) -> Estimate<Micrometres> {
    let coats = laid.saturating_add(more);
    varnish_film(coats, coats.saturating_sub(1))
}

fn varnished<'a>(here: &Here<'a>) -> Vec<&'a CoatKept> {
    let standing = here.case.standing;
    let is_varnish = |material: &str| {
        let card = here.case.house.cards.materials.get(material);
        card.is_some_and(|card| card.kind == MaterialKind::Varnish)
    };
    let came_off = |coat: &CoatKept| {
        standing.job(&coat.work).is_some_and(|job| {
            matches!(&job.state, JobState::SentBack { back_to, .. }
                if *back_to == coat.work.operation)
        })
    };
    standing
        .coats
        .iter()
        .filter(|kept| kept.work.target == here.case.work.target)
        .filter(|kept| is_varnish(&kept.coat.material) && !came_off(kept))
        .collect()
}

/// The window of the sheet in words, before the coat is on.
fn window(sheet: &RecoatHours) -> StepSum {
    let [_, longest] = sheet.min_h;
    let end = match sheet.max_h {
        Some(most) => format!("unsanded not after {} h", short(most)),
        None => "at any time after".to_owned(),
    };
    let sum = StepSum::new(
        "recoat",
        format!(
            "next coat not before {} h, {end} ({} °C; under 14 °C double the wait)",
            short(longest),
            short(sheet.at_c)
        ),
    )
    .more("hours of the card; the powder test at the coat beats the clock")
    .number("recoat_opens_h", longest);
    match sheet.max_h {
        Some(most) => sum.number("recoat_closes_h", most),
        None => sum,
    }
}

/// The recoat clock of this walk that runs.
fn running(here: &Here<'_>) -> Option<ClockView> {
    let case = here.case;
    let clock = case.standing.clocks.iter().rfind(|clock| {
        clock.clock == ClockName::Recoat && clock.ended.is_none() && clock.work == *case.work
    })?;
    Some(view(case.house, case.figure, clock, case.now))
}

fn in_words(clock: &ClockView, now: DateTime<FixedOffset>) -> StepSum {
    let (opens, closes) = (clock.opens, clock.closes);
    let line = match (clock.state, opens, closes) {
        (ClockState::Over, _, _) => "too old to key: scuff it before the next coat".to_owned(),
        (_, None, _) => "the next coat never comes as the air is: warm the room".to_owned(),
        (_, Some(opens), closes) if now < opens => {
            let end = closes.map_or_else(String::new, |at| {
                format!(", unsanded not after {}", hour(at))
            });
            format!("next coat not before {}{end}", hour(opens))
        }
        (_, Some(_), Some(closes)) => {
            format!("next coat may follow, unsanded not after {}", hour(closes))
        }
        (_, Some(_), None) => "next coat may follow once it rubs to powder".to_owned(),
    };
    let weight = match (clock.state, opens) {
        (ClockState::Over, _) | (_, None) => Weight::Mind,
        _ => Weight::Plain,
    };
    let sum = StepSum::new("recoat", line)
        .minded(weight)
        .more(format!("{}; {}", clock.because, clock.provenance));
    let hours = |at: DateTime<FixedOffset>| hours_between(now, at).0;
    let sum = match opens {
        Some(at) => sum.number("recoat_opens_in_h", hours(at)),
        None => sum,
    };
    match closes {
        Some(at) => sum.number("recoat_closes_in_h", hours(at)),
        None => sum,
    }
}
