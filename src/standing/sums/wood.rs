//! New wood beside old: how far apart their moistures are, and how the new piece moves across
//! the grain between its moisture and the air it will live in.

use super::{Here, StepSum, Weight, short};
use crate::card::{Measure, Record, Step};
use crate::deed::Value;
use crate::reckon::moisture::emc;
use crate::reckon::movement::{Cut, movement};
use crate::reckon::woods::{Wood, wood_called};
use crate::reckon::{Celsius, Known, Millimetres, Percent};

/// New wood may differ so much from the old, points of moisture (*common practice*).
const APART_PERCENT: f64 = 2.0;

/// Humidity of the rooms in which painted wood is kept, lowest and highest, % (a state museum's
/// care manual: 40–60 %, 15–25 °C).
const SERVICE_PERCENT: [f64; 2] = [40.0, 60.0];

/// Warmth of those rooms, °C, the middle of the same manual's range.
const SERVICE_C: f64 = 20.0;

/// The word for rings that lie along the width: the width of a flat-sawn board.
const LYING: &str = "lying";

/// Returns how new wood matches and moves, once both moistures are read.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    let reads = |step: &Step| {
        let mut measures = step.record.iter().filter_map(|record| record.measure);
        measures.any(|measure| measure == Measure::PieceMoisture)
    };
    let mut steps = here.steps.iter().take(here.at + 1);
    let Some(chosen) = steps.rfind(|flat| reads(&flat.step)) else {
        return Vec::new();
    };
    let follows = here.step().only_if.as_ref().is_some_and(|only| {
        let mut records = chosen.step.record.iter();
        records.any(|record| record.id == only.record)
    });
    if here.step().id != chosen.step.id && !follows {
        return Vec::new();
    }
    let kept = Kept {
        here,
        step: &chosen.step,
    };
    let Some((old, new)) = kept.moistures() else {
        return Vec::new();
    };
    let mut sums = vec![apart(old, new)];
    sums.push(kept.movement(new).unwrap_or_else(|lacking| {
        StepSum::missing("movement", format!("movement is not known: {lacking}"))
    }));
    sums
}

/// What was taken down at the step that chooses the wood.
struct Kept<'a, 'h> {
    here: &'a Here<'h>,
    step: &'a Step,
}

impl Kept<'_, '_> {
    fn values(&self, wanted: impl Fn(&Record) -> bool) -> Vec<(&str, &Value)> {
        let act = self.here.job.act(&self.step.id);
        let kept = act.into_iter().flat_map(|act| &act.records);
        kept.filter(|kept| {
            let mut records = self.step.record.iter();
            records.any(|record| record.id == kept.record && wanted(record))
        })
        .map(|kept| (kept.station.as_deref().unwrap_or_default(), &kept.value))
        .collect()
    }

    /// Old wood first, as the places of the record say.
    fn moistures(&self) -> Option<(f64, f64)> {
        let read = self.values(|record| record.measure == Some(Measure::PieceMoisture));
        let at = |word: &str| {
            read.iter().rev().find_map(|(place, value)| match value {
                Value::Number(percent) if place.contains(word) => Some(*percent),
                _ => None,
            })
        };
        Some((at("old")?, at("new")?))
    }

    fn text(&self, wanted: impl Fn(&Record) -> bool) -> Option<&str> {
        self.values(wanted)
            .last()
            .and_then(|(_, value)| match value {
                Value::Text(text) => Some(text.as_str()),
                Value::Number(_) => None,
            })
    }

    /// The species as it was written down; else the figure's own wood, for like goes to like.
    fn wood(&self) -> Result<&'static Wood, String> {
        let card = self
            .here
            .case
            .house
            .cards
            .figures
            .get(self.here.case.figure);
        let written = self.text(|record| record.line);
        let own = card.map(|card| card.wood.as_str());
        let named = written.or(own).filter(|name| !name.is_empty());
        let name = named.ok_or("write down the species")?;
        let first = name.split([',', ';', ':']).next().unwrap_or(name);
        wood_called(name)
            .or_else(|_| wood_called(first))
            .map_err(|refusal| format!("{refusal}; write the species by a name of the table"))
    }

    fn movement(&self, new: f64) -> Result<StepSum, String> {
        let across = self.values(|record| record.measure == Some(Measure::Width));
        let across = across.last().and_then(|(_, value)| match value {
            Value::Number(mm) => Some(*mm),
            Value::Text(_) => None,
        });
        let across = across.ok_or("read the width across the grain")?;
        let wood = self.wood()?;
        // Rings that nobody noted count as lying, which moves most.
        let standing = self
            .text(|record| record.choice.iter().any(|word| word == LYING))
            .is_some_and(|word| word != LYING);
        let cut = if standing { Cut::Quarter } else { Cut::Flat };
        let words = |refusal: crate::reckon::SumTrouble| refusal.to_string();
        let mut ends = [0.0; 2];
        let mut changes = [0.0; 2];
        let mut because = String::new();
        let mut known = Known::Read;
        for (place, humidity) in SERVICE_PERCENT.into_iter().enumerate() {
            let end = emc(Celsius(SERVICE_C), Percent(humidity)).map_err(words)?;
            let moved =
                movement(wood, Millimetres(across), [Percent(new), end], cut).map_err(words)?;
            if let (Some(slot), Some(change)) = (ends.get_mut(place), changes.get_mut(place)) {
                (*slot, *change) = (end.0, moved.change.0);
            }
            (because, known) = (moved.because, moved.known);
        }
        let [dry, damp] = changes;
        let [driest, dampest] = ends;
        Ok(StepSum::new(
            "movement",
            format!(
                "{} mm of {} across the grain: {dry:+.2} mm in dry rooms, {damp:+.2} mm in damp ones",
                short(across),
                wood.name
            ),
        )
        .more(because)
        .more(format!("figures of this wood: {}", known.words()))
        .more(format!(
            "rooms of {:.0}–{:.0} % and {SERVICE_C:.0} °C: wood of {driest:.1}–{dampest:.1} %; single boards differ by a third",
            SERVICE_PERCENT[0], SERVICE_PERCENT[1]
        ))
        .number("movement_dry_mm", dry)
        .number("movement_damp_mm", damp)
        .number("movement_across_mm", across)
        .number("movement_dry_percent", driest)
        .number("movement_damp_percent", dampest))
    }
}

fn apart(old: f64, new: f64) -> StepSum {
    let apart = new - old;
    let (words, weight) = if apart.abs() <= APART_PERCENT {
        (format!("within {}", short(APART_PERCENT)), Weight::Plain)
    } else if 0.0 < apart {
        (
            "too wet, it will shrink in: let it come level".to_owned(),
            Weight::Mind,
        )
    } else {
        (
            "too dry, it will swell proud: let it come level".to_owned(),
            Weight::Mind,
        )
    };
    StepSum::new(
        "match",
        format!(
            "old {} %, new {} %: {:.1} points apart, {words}",
            short(old),
            short(new),
            apart.abs()
        ),
    )
    .minded(weight)
    .more("new wood goes in within 2 points of the old: common practice")
    .number("match_old_percent", old)
    .number("match_new_percent", new)
    .number("match_apart_percent", apart.abs())
    .is("match_is_within", apart.abs() <= APART_PERCENT)
}
