//! A checklist laid out for one target: coats unrolled into steps, branches followed.

use std::borrow::Cow;

use crate::card::{
    Checklist, ClockName, Coats, GateAsk, GateKind, MaterialKind, Record, StartClock, Step, Until,
    Wear, WordScale,
};
use crate::deed::{Value, Work};

use super::House;
use super::facts::{FigureStanding, Job};

/// A step of a walk: the card's step under an id that is unique in the walk, and the coat
/// that it lays, if it lays one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FlatStep<'a> {
    /// The step, that of the card where it is one of them; its id is unique in the walk: `coat#2`,
    /// `coat#2-dry`, `coat#2-rub`.
    pub(super) step: Cow<'a, Step>,
    /// Number of the coat that it lays, how many there are, and whether it is a stripe.
    pub(super) coat: Option<(u32, u32, bool)>,
}

/// Returns the checklist of a work.
pub(super) fn checklist<'a>(house: House<'a>, work: &Work) -> Option<&'a Checklist> {
    house.cards.checklists.get(&work.operation)
}

/// Returns the steps of a walk in order, coats unrolled, branches not taken left out.
pub(super) fn steps<'a>(house: House<'a>, figure: &str, job: &Job) -> Vec<FlatStep<'a>> {
    let Some(list) = checklist(house, &job.work) else {
        return Vec::new();
    };
    let worn = is_worn(house, figure, &job.work);
    list.steps
        .iter()
        .flat_map(|step| unroll(step, worn))
        .filter(|flat| is_asked(&flat.step, job))
        .collect()
}

/// Returns the first step of a walk that is not done yet, with its place among all.
pub(super) fn in_front(steps: &[FlatStep<'_>], job: &Job) -> Option<usize> {
    steps.iter().position(|flat| !is_done(job, &flat.step.id))
}

pub(super) fn is_done(job: &Job, step: &str) -> bool {
    job.act(step).is_some_and(|act| act.done.is_some())
}

/// Returns the gates of a step: those before it, and the one that must open to end it.
pub(super) fn gates(step: &Step) -> Vec<GateAsk> {
    let ending = step.until.as_ref().and_then(|until| until.gate);
    step.gates
        .iter()
        .cloned()
        .chain(ending.map(ending_gate))
        .collect()
}

/// Returns what the gate is asked that must have opened before a step ends.
pub(super) fn ending_gate(gate: GateKind) -> GateAsk {
    GateAsk {
        gate,
        hard: Some(true),
        limit: None,
        range: None,
        hours: None,
    }
}

/// Returns whether a step cannot be undone: it mixes, lays a coat, size or leaf. What opened
/// its operation is judged again there.
pub(super) fn is_for_good(flat: &FlatStep<'_>) -> bool {
    let lasting = |start: &StartClock| {
        matches!(
            start.clock,
            ClockName::Recoat
                | ClockName::TackEdge
                | ClockName::TackFlat
                | ClockName::TackHollow
                | ClockName::LeafSet
        )
    };
    let step = &flat.step;
    let leaf = |record: &Record| record.lot == Some(MaterialKind::Leaf);
    step.mix.is_some()
        || flat.coat.is_some()
        || step.starts.iter().any(lasting)
        || step.record.iter().any(leaf)
}

fn is_worn(house: House<'_>, figure: &str, work: &Work) -> bool {
    let zone = work.target.as_deref().unwrap_or_default();
    house.cards.figures.get(figure).is_some_and(|card| {
        card.zones
            .iter()
            .any(|z| z.id == zone && z.wear == Wear::Worn)
    })
}

fn is_asked(step: &Step, job: &Job) -> bool {
    step.only_if.as_ref().is_none_or(|only| {
        job.recorded(&only.record)
            .is_some_and(|kept| kept.value == Value::Text(only.is.clone()))
    })
}

fn unroll(step: &Step, worn: bool) -> Vec<FlatStep<'_>> {
    let Some(coats) = &step.coats else {
        return vec![FlatStep {
            step: Cow::Borrowed(step),
            coat: None,
        }];
    };
    let stripes = if worn { coats.wear_extra } else { 0 };
    let of = stripes + coats.count;
    (1..=of)
        .flat_map(|number| one_coat(step, coats, (number, of, number <= stripes)))
        .collect()
}

fn one_coat(step: &Step, coats: &Coats, coat: (u32, u32, bool)) -> Vec<FlatStep<'static>> {
    let (number, of, stripe) = coat;
    let id = format!("{}#{number}", step.id);
    let kind = if stripe {
        "stripe on the wear, coat"
    } else {
        "coat"
    };
    let mut laid = Step {
        id: id.clone(),
        act: format!("{}: {kind} {number} of {of}", step.act),
        coats: None,
        ..step.clone()
    };
    if !laid
        .starts
        .iter()
        .any(|start| start.clock == ClockName::Recoat)
    {
        laid.starts.push(StartClock {
            clock: ClockName::Recoat,
            by: Some(coats.of),
        });
    }
    let mut all = vec![FlatStep {
        step: Cow::Owned(laid),
        coat: Some(coat),
    }];
    if number < of {
        all.push(FlatStep {
            step: Cow::Owned(rest(&id, number)),
            coat: None,
        });
        all.extend(coats.between.iter().map(|between| FlatStep {
            step: Cow::Owned(renamed(between, &id)),
            coat: None,
        }));
    }
    all
}

fn rest(id: &str, number: u32) -> Step {
    Step {
        id: format!("{id}-dry"),
        act: format!("Let coat {number} dry; it must sand to powder"),
        why: Some("Powder, not crumbs: the test beats the clock".to_owned()),
        until: Some(Until {
            clock: Some(ClockName::Recoat),
            words: Some(WordScale::Powder),
            hand: Some("a rub gives powder, not crumbs".to_owned()),
            ..Until::default()
        }),
        ..Step::default()
    }
}

/// A step between coats keeps its records apart from those of the other coats.
fn renamed(between: &Step, id: &str) -> Step {
    Step {
        id: format!("{id}-{}", between.id),
        ..between.clone()
    }
}

/// Returns how many rows and columns a grid of readings has on a joint, as stations in order.
pub(super) fn grid_stations(length_mm: f64, every_mm: u32, across: u32) -> Vec<String> {
    let every = f64::from(every_mm.max(1));
    let mut rows = Vec::new();
    let mut at = 0.0;
    while at < length_mm {
        rows.push(at);
        at += every;
    }
    rows.push(length_mm);
    rows.iter()
        .flat_map(|row| (1..=across).map(move |place| grid_station(*row, place, across)))
        .collect()
}

/// Returns the places at which a record is read, in order; empty where it is read once.
pub(super) fn stations(
    house: House<'_>,
    (figure, work): (&str, &Work),
    record: &Record,
) -> Vec<String> {
    let Some(grid) = record.grid else {
        return record.at.clone();
    };
    let card = house.cards.figures.get(figure);
    let joints = card.into_iter().flat_map(|card| &card.joints);
    let mut joints = joints.filter(|joint| Some(&joint.id) == work.target.as_ref());
    joints.next().map_or_else(Vec::new, |joint| {
        grid_stations(joint.length_mm, grid.every_mm, grid.across)
    })
}

/// Returns the name of one station of a grid.
pub(super) fn grid_station(at_mm: f64, place: u32, across: u32) -> String {
    format!("{at_mm:.0} mm, {place} of {across}")
}

/// Returns the latest gap readings of a joint as rows in order along it: place, readings.
pub(crate) fn gap_rows(figure: &FigureStanding, joint: &str) -> Vec<(f64, Vec<Option<f64>>)> {
    let mut rows: Vec<(f64, Vec<Option<f64>>)> = Vec::new();
    for reading in &figure.readings {
        let is_here = reading.work.target.as_deref() == Some(joint)
            && reading.measure == crate::card::Measure::Gap;
        let Some((at, place, across)) = reading
            .station
            .as_deref()
            .filter(|_| is_here)
            .and_then(read_station)
        else {
            continue;
        };
        let index = rows.iter().position(|row| (row.0 - at).abs() < 0.5);
        let index = index.unwrap_or_else(|| {
            let index = rows.partition_point(|row| row.0 < at);
            rows.insert(index, (at, vec![None; across]));
            index
        });
        if let Some(slot) = rows.get_mut(index).and_then(|row| row.1.get_mut(place - 1)) {
            *slot = Some(reading.value);
        }
    }
    rows
}

fn read_station(station: &str) -> Option<(f64, usize, usize)> {
    let (at, rest) = station.split_once(" mm, ")?;
    let (place, across) = rest.split_once(" of ")?;
    let place: usize = place.parse().ok()?;
    let across: usize = across.parse().ok()?;
    let at = at.parse().ok()?;
    (1 <= place && place <= across && across <= 25).then_some((at, place, across))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_has_both_ends_and_every_station_between() {
        let stations = grid_stations(400.0, 100, 5);
        assert_eq!(stations.len(), 25);
        assert_eq!(stations[0], "0 mm, 1 of 5");
        assert_eq!(stations[24], "400 mm, 5 of 5");
        assert_eq!(grid_stations(250.0, 100, 3).len(), 12);
        assert_eq!(read_station("250 mm, 3 of 5"), Some((250.0, 3, 5)));
        assert_eq!(read_station("hollow"), None);
    }

    #[test]
    fn coats_unroll_with_stripes_first_and_rests_between() {
        let step = Step {
            id: "coat".into(),
            act: "Lay it".into(),
            coats: Some(Coats {
                of: crate::card::MaterialKind::Varnish,
                count: 2,
                wear_extra: 1,
                between: vec![Step {
                    id: "rub".into(),
                    act: "Rub".into(),
                    ..Step::default()
                }],
            }),
            ..Step::default()
        };
        let ids = |worn| -> Vec<String> {
            unroll(&step, worn)
                .into_iter()
                .map(|flat| flat.step.id.clone())
                .collect()
        };
        assert_eq!(ids(false), ["coat#1", "coat#1-dry", "coat#1-rub", "coat#2"]);
        assert_eq!(
            ids(true),
            [
                "coat#1",
                "coat#1-dry",
                "coat#1-rub",
                "coat#2",
                "coat#2-dry",
                "coat#2-rub",
                "coat#3"
            ]
        );
    }
}
