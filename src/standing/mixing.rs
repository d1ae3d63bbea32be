//! Batches at the bench: what a joint needs, which cups to offer, what a pour is worth.
//! The sums stand in `reckon`; here they meet cards, lots and readings.

use std::fmt::Write as _;

use super::air;
use super::facts::{Act, Job};
use super::flawed;
use super::gate::Case;
use super::prompt::{BatchOffer, LotChoice};
use super::shelf;
use super::walk::gap_rows;
use crate::card::{Checklist, Joint, Lot, Material, MaterialKind, Measure, Mix, Need, Ratio};
use crate::deed::{Pouring, Value};
use crate::reckon::batch::GOOD_WITHIN;
use crate::reckon::{
    Celsius, Estimate, GapRow, GapVolume, Grams, JointResin, Millimetres, Minutes, MixRatio,
    SheetPoint, gap_volume_at, promise, resin_for,
};

/// A rehearsal may take at most this share of a cup's promise (*common practice*).
const REHEARSAL_SHARE: f64 = 0.5;

/// Returns the batches that could be mixed for a step, refused ones with their reason.
pub(super) fn offers(case: Case<'_>, job: &Job, mix: &Mix) -> Vec<BatchOffer> {
    let picked = picked_material(case, job, mix.of);
    case.house
        .cards
        .materials
        .values()
        .filter(|material| material.kind == mix.of && material.ratio.is_some())
        .filter(|material| picked.as_deref().is_none_or(|picked| picked == material.id))
        .map(|material| offer(case, job, material, mix))
        .collect()
}

/// The material whose lots were picked earlier in this walk, if they were.
fn picked_material(case: Case<'_>, job: &Job, kind: MaterialKind) -> Option<String> {
    picked_lots(job)
        .iter()
        .find_map(|lot| {
            case.house
                .cards
                .materials
                .values()
                .find(|material| material.kind == kind && shelf::is_of(case.house, material, lot))
        })
        .map(|material| material.id.clone())
}

fn picked_lots(job: &Job) -> Vec<String> {
    job.acts
        .values()
        .flat_map(|act| &act.records)
        .filter_map(|kept| match &kept.value {
            Value::Text(text) => Some(text.clone()),
            Value::Number(_) => None,
        })
        .collect()
}

fn offer(case: Case<'_>, job: &Job, material: &Material, mix: &Mix) -> BatchOffer {
    let mut offer = BatchOffer {
        material: material.id.clone(),
        name: material.name.clone(),
        lots: lots(case, job, material),
        grams: [0.0; 2],
        cups: 1,
        promise_min: 0.0,
        because: String::new(),
        refused: None,
    };
    if let Err(why) = fill(&mut offer, case, job, (material, mix)) {
        offer.refused = Some(why);
    }
    offer
}

fn fill(
    offer: &mut BatchOffer,
    case: Case<'_>,
    job: &Job,
    (material, mix): (&Material, &Mix),
) -> Result<(), String> {
    if let Some(flaw) = flawed::batch(case.house, case.figure, material) {
        return Err(flaw);
    }
    let ratio = material.ratio.ok_or("the card has no mix ratio")?;
    let (need_g, because) = need(case, job, mix)?;
    offer.because = because;
    // A cup that the balance cannot weigh within the ratio is made larger, and says so.
    let least = least_honest(case, ratio);
    let each = |cups: u32| (need_g / f64::from(cups)).max(least);
    let temp_c = hottest(case, job);
    let cup =
        |cups: u32| promise_for(material, each(cups), temp_c).map(|promise| promise.do_before().0);
    let rehearsed = rehearsal(case);
    let fits = |promise: f64| rehearsed.is_none_or(|minutes| minutes <= promise * REHEARSAL_SHARE);
    let best =
        (1..=MOST_CUPS).find_map(|cups| cup(cups).ok().filter(|p| fits(*p)).map(|p| (cups, p)));
    let (cups, promise) = match best {
        Some(found) => found,
        None => (1, cup(1)?),
    };
    let [a, b] = split(ratio, each(cups))?;
    if need_g / f64::from(cups) < least {
        let steps = case.house.cards.shop.balance_g;
        let few = too_few(need_g / f64::from(cups), (least, steps));
        offer.because = format!("{few}; {}", offer.because);
    }
    offer.grams = [round_up(a), round_up(b)];
    offer.cups = cups;
    offer.promise_min = promise;
    offer
        .because
        .push_str(&on_demand(cups, (promise, rehearsed)));
    if offer.lots.iter().any(String::is_empty) {
        return Err("no open lot of both parts that is in date".to_owned());
    }
    if let Some([low, high]) = material
        .range_c
        .filter(|[low, high]| temp_c < *low || *high < temp_c)
    {
        return Err(format!(
            "{temp_c} °C at the cup, its sheet says {low} to {high} °C"
        ));
    }
    match rehearsed {
        Some(minutes) if best.is_none() => Err(format!(
            "the clamps took {:.0} min in rehearsal, over half of the {:.0} min a cup promises: slower hardener, or two stages",
            minutes.ceil(),
            promise.floor()
        )),
        _ => Ok(()),
    }
}

/// Returns the grams under which the shop's balance cannot weigh a ratio within its limits; none
/// where no balance is on the card.
pub(super) fn least_honest(case: Case<'_>, ratio: Ratio) -> f64 {
    let balance = Grams(case.house.cards.shop.balance_g);
    by_weight(ratio)
        .ok()
        .and_then(|[a, b]| MixRatio::by_weight(a, b).ok())
        .and_then(|ratio| ratio.smallest_honest(balance).ok())
        .map_or(0.0, |least| least.0)
}

/// Why a cup is larger than what is needed, and what would make it smaller. By volume only the
/// sheet's own ratio by volume holds: that by weight is another one.
fn too_few(need_g: f64, (least_g, steps_g): (f64, f64)) -> String {
    format!(
        "{:.0} g and not {:.0} g: on steps of {steps_g} g less may be over {} % off the ratio; a finer balance, or syringes by the sheet's ratio by volume, make less (common practice)",
        least_g.ceil(),
        need_g.ceil(),
        GOOD_WITHIN.0,
    )
}

/// When each cup after the first is wanted: by the share of the rehearsal that lies before it,
/// or at the latest when the one before is over. Rounded down: a cup too early is the lesser
/// harm than a dry brush.
fn on_demand(cups: u32, (promise, rehearsed): (f64, Option<f64>)) -> String {
    let share = rehearsed.map_or(promise, |minutes| (minutes / f64::from(cups)).min(promise));
    let mut text = String::new();
    for cup in 1..cups {
        let lead = if cup == 1 { "; on demand:" } else { "," };
        let minute = (share * f64::from(cup)).floor();
        // Writing to a text cannot fail.
        let _written = write!(text, "{lead} cup {} by {minute} min", cup + 1);
    }
    text
}

/// More cups than this are two stages, not one joint (*common practice*).
const MOST_CUPS: u32 = 4;

/// Returns the pot life of a cup of so many grams, now and here.
pub(super) fn promise_now(
    case: Case<'_>,
    job: &Job,
    material: &Material,
    grams: f64,
) -> Result<Estimate<Minutes>, String> {
    promise_for(material, grams, hottest(case, job))
}

fn promise_for(material: &Material, grams: f64, temp_c: f64) -> Result<Estimate<Minutes>, String> {
    let sheet: Vec<SheetPoint> = material
        .pot_life
        .iter()
        .map(|point| SheetPoint {
            minutes: Minutes(point.minutes),
            grams: Grams(point.grams),
            temperature: Celsius(point.temp_c),
        })
        .collect();
    promise(&sheet, Grams(grams), Celsius(temp_c)).map_err(|refusal| refusal.to_string())
}

/// The hottest of the last air of the room and the resin read in this walk; 22 °C is taken
/// where neither was read, which the temperature gate does not let through.
fn hottest(case: Case<'_>, job: &Job) -> f64 {
    let room = case.house.room_of(case.figure);
    let air = air::latest(case.house, room, case.now).map(|air| air.temp_c);
    match (air, resin(case, job)) {
        (Some(air), Some(resin)) => air.max(resin),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => 22.0,
    }
}

/// Returns the resin temperature read in this walk.
pub(super) fn resin(case: Case<'_>, job: &Job) -> Option<f64> {
    case.standing
        .readings
        .iter()
        .rev()
        .find(|reading| reading.measure == Measure::ResinTemperature && reading.work == job.work)
        .map(|reading| reading.value)
}

/// Returns the temperatures that the sheets of this walk's mixes allow: of the lot picked, else
/// from the least to the most of any that could be.
pub(super) fn sheets_range(case: Case<'_>, job: &Job, list: &Checklist) -> Option<[f64; 2]> {
    let mixes = || list.steps.iter().filter_map(|step| step.mix.as_ref());
    let is_mixed = |card: &&Material| {
        let picked = picked_material(case, job, card.kind);
        card.ratio.is_some()
            && mixes().any(|mix| mix.of == card.kind)
            && picked.is_none_or(|picked| picked == card.id)
    };
    let cards = case.house.cards.materials.values().filter(is_mixed);
    cards
        .filter_map(|card| card.range_c)
        .reduce(|[low, high], [least, most]| [low.min(least), high.max(most)])
}

/// The clamp rehearsal of this joint, minutes: any duration read on it as `rehearsal`.
fn rehearsal(case: Case<'_>) -> Option<f64> {
    case.standing
        .jobs
        .iter()
        .rev()
        .filter(|job| job.work.target == case.work.target)
        .find_map(|job| match job.recorded("rehearsal")?.value {
            Value::Number(minutes) => Some(minutes),
            Value::Text(_) => None,
        })
}

fn need(case: Case<'_>, job: &Job, mix: &Mix) -> Result<(f64, String), String> {
    match mix.need {
        Need::Gap => need_of_gap(case),
        Need::Said => case
            .standing
            .readings
            .iter()
            .rev()
            .find(|reading| reading.measure == Measure::Mass && reading.work == job.work)
            .map(|reading| (reading.value, format!("{} g asked for", reading.value)))
            .ok_or_else(|| "say first how many grams are needed".to_owned()),
        Need::Area => Err("the spread of this material by weight is not on its card".to_owned()),
    }
}

/// What the gap of a joint holds and takes.
pub(super) struct JointNeed {
    pub(super) gap: GapVolume,
    pub(super) resin: JointResin,
}

/// Returns what the joint of a work takes by its latest gap readings.
///
/// # Errors
/// One line when the joint has no card, no row or no size.
pub(super) fn joint_resin(case: Case<'_>) -> Result<JointNeed, String> {
    let joint = joint(case)?;
    let rows = gap_rows(case.standing, &joint.id)
        .into_iter()
        .map(|(at, row)| {
            let row: Vec<_> = row.into_iter().map(|mm| mm.map(Millimetres)).collect();
            GapRow::new(&row).map(|row| (Millimetres(at), row))
        })
        .collect::<Result<Vec<_>, _>>()
        .map_err(|refusal| refusal.to_string())?;
    let (length, width) = (Millimetres(joint.length_mm), Millimetres(joint.width_mm));
    let gap = gap_volume_at(length, width, &rows).map_err(|refusal| refusal.to_string())?;
    let resin = resin_for(gap);
    Ok(JointNeed { gap, resin })
}

fn joint(case: Case<'_>) -> Result<&Joint, String> {
    let card = case.house.cards.figures.get(case.figure);
    let joints = card.into_iter().flat_map(|card| &card.joints);
    joints
        .into_iter()
        .find(|joint| Some(&joint.id) == case.work.target.as_ref())
        .ok_or_else(|| "this joint has no card".to_owned())
}

fn need_of_gap(case: Case<'_>) -> Result<(f64, String), String> {
    let joint = joint(case)?;
    let JointNeed { gap, resin } = joint_resin(case)?;
    // Running short in mid joint is what hurts, so the largest waste is reckoned with.
    let grams = resin.mix.wait_until();
    let because = format!(
        "{:.0} × {:.0} mm at {:.2} mm mean gap, {:.0} ml; {}",
        joint.length_mm,
        joint.width_mm,
        gap.mean.0,
        gap.volume.0.ceil(),
        resin.mix.because()
    );
    Ok((grams.0, because))
}

/// Returns grams of A and B for a cup.
fn split(ratio: Ratio, grams: f64) -> Result<[f64; 2], String> {
    let [a, b] = by_weight(ratio)?;
    Ok([grams * a / (a + b), grams * b / (a + b)])
}

/// Returns the ratio by weight.
pub(super) fn by_weight(ratio: Ratio) -> Result<[f64; 2], String> {
    match (ratio.basis, ratio.density_a, ratio.density_b) {
        (crate::card::Basis::Weight, _, _) => Ok([ratio.a, ratio.b]),
        (crate::card::Basis::Volume, Some(a), Some(b)) => Ok([ratio.a * a, ratio.b * b]),
        (crate::card::Basis::Volume, _, _) => {
            Err("the ratio is by volume: the card needs both densities".to_owned())
        }
    }
}

/// To the tenth of a gram, up.
fn round_up(grams: f64) -> f64 {
    (grams * 10.0).ceil() / 10.0
}

/// The lots of A and B: those picked in this walk, else the lot opened last that is in date.
fn lots(case: Case<'_>, job: &Job, material: &Material) -> [String; 2] {
    let picked = picked_lots(job);
    let on_shelf = shelf::tins(case.house, material);
    let lot = |part: &str| -> String {
        let known = on_shelf.iter().filter(|lot| lot.part == part);
        let chosen = known.clone().find(|lot| picked.contains(&lot.lot));
        let usable = known
            .filter(|lot| is_usable(case, lot))
            .max_by_key(|lot| lot.opened);
        chosen
            .or(usable)
            .map(|lot| lot.lot.clone())
            .unwrap_or_default()
    };
    [lot("a"), lot("b")]
}

fn is_usable(case: Case<'_>, lot: &Lot) -> bool {
    let today = case.now.date_naive();
    lot.opened.is_some_and(|opened| opened <= today)
        && lot.expires.is_none_or(|expires| today <= expires)
}

/// Returns the lots of a kind, or of one material of it, the usable ones first.
pub(super) fn lot_choices(case: Case<'_>, kind: MaterialKind, of: Option<&str>) -> Vec<LotChoice> {
    let materials = case
        .house
        .cards
        .materials
        .values()
        .filter(|material| material.kind == kind && of.is_none_or(|of| of == material.id));
    let mut choices: Vec<(bool, LotChoice)> = materials
        .flat_map(|material| {
            shelf::tins(case.house, material)
                .into_iter()
                .map(move |lot| (material, lot))
        })
        .map(|(material, lot)| {
            let warning = warning(case, &lot);
            let choice = LotChoice {
                material: material.id.clone(),
                name: material.name.clone(),
                lot: lot.lot,
                part: lot.part,
                warning,
            };
            (choice.warning.is_some(), choice)
        })
        .collect();
    choices.sort_by_key(|(warned, _)| *warned);
    choices.into_iter().map(|(_, choice)| choice).collect()
}

/// Returns the first card of a kind, empty without one, and the part of it that is asked for;
/// no part where the material has one only.
pub(super) fn tin_of(
    case: Case<'_>,
    kind: MaterialKind,
    part: &'static str,
) -> (String, &'static str) {
    let mut cards = case.house.cards.materials.values();
    cards.find(|card| card.kind == kind).map_or_else(
        || (String::new(), ""),
        |card| (card.id.clone(), card.ratio.as_ref().map_or("", |_| part)),
    )
}

fn warning(case: Case<'_>, lot: &Lot) -> Option<String> {
    let today = case.now.date_naive();
    match (lot.opened, lot.expires) {
        (_, Some(expires)) if expires < today => Some(format!("past its date, {expires}")),
        (None, _) => Some("still sealed".to_owned()),
        _ => None,
    }
}

/// Returns the material a picked lot belongs to.
pub(super) fn material_of_lot<'a>(case: Case<'a>, lot: &str) -> Option<&'a Material> {
    case.house
        .cards
        .materials
        .values()
        .find(|material| shelf::is_of(case.house, material, lot))
}

/// Returns the grams in the cup of each part.
pub(super) fn in_cup(act: &Act) -> [f64; 2] {
    let sum = |part: Pouring| {
        act.pours
            .iter()
            .filter(|pour| pour.part == part)
            .map(|pour| pour.got_g)
            .sum()
    };
    [sum(Pouring::Resin), sum(Pouring::Hardener)]
}
