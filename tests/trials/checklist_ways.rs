//! The ways through the built-in checklists: gates, clocks, branches, mixes and signatures,
//! so that nobody is sent where nothing is or waits for what nothing has started.
//!
//! Which gates and sign-offs an operation needs is *common practice*; it is written down
//! here once more, by hand, so that a slip in a checklist cannot pass unseen.

use std::collections::{BTreeMap, BTreeSet};

use knuckle::card::{
    Checklist, ClockName, GateKind, Measure, Need, Path, Record, Scope, Until, WordScale,
};

use super::checklists::{all, steps};

fn gates(list: &Checklist) -> BTreeSet<GateKind> {
    list.gates
        .iter()
        .chain(steps(list).into_iter().flat_map(|step| &step.gates))
        .map(|ask| ask.gate)
        .chain(
            steps(list)
                .into_iter()
                .filter_map(|step| step.until.as_ref()?.gate),
        )
        .collect()
}

/// A branch and a condition speak of a choice that was asked before them in the same walk.
#[test]
fn branches_and_conditions_rest_on_an_earlier_choice() {
    let known: BTreeSet<_> = all().into_iter().map(|(_, list)| list.id).collect();
    for (name, list) in all() {
        let mut asked: BTreeMap<&str, &Vec<String>> = BTreeMap::new();
        for step in steps(&list) {
            if let Some(condition) = &step.only_if {
                let choice = asked.get(condition.record.as_str());
                assert!(
                    choice.is_some_and(|words| words.contains(&condition.is)),
                    "{name}/{}: only_if {condition:?}",
                    step.id
                );
            }
            for record in &step.record {
                asked.insert(&record.id, &record.choice);
            }
            for branch in &step.branches {
                let choice = asked.get(branch.record.as_str());
                assert!(
                    choice.is_some_and(|words| words.contains(&branch.is)),
                    "{name}/{}: if {branch:?}",
                    step.id
                );
                assert!(
                    known.contains(&branch.back_to),
                    "{name}/{}: no operation `{}`",
                    step.id,
                    branch.back_to
                );
                assert!(
                    !branch.why.is_empty(),
                    "{name}/{}: a loop without why",
                    step.id
                );
            }
        }
    }
}

/// Work that is sent back is put away like any other (*common practice*): nobody is led off
/// in spent gloves, or with the mask off before the air is clear.
#[test]
fn nobody_is_sent_back_in_gloves_or_before_the_air_is_clear() {
    for (name, list) in all() {
        let (mut gloved, mut purging) = (false, false);
        // Between the coats of a step gloves change; the step itself ends the last pair.
        for step in &list.steps {
            let starts = |clock| step.starts.iter().any(|start| start.clock == clock);
            let awaited = step.until.as_ref().and_then(|until| until.clock);
            gloved = (gloved || starts(ClockName::Glove)) && !step.ends.contains(&ClockName::Glove);
            purging = (purging || starts(ClockName::Purge)) && awaited != Some(ClockName::Purge);
            assert!(
                step.branches.is_empty() || !(gloved || purging),
                "{name}/{}: sent back with gloves on: {gloved}, before the air is clear: {purging}",
                step.id
            );
        }
    }
}

/// Nobody waits for a clock that nothing has started, and every wait waits for something.
#[test]
fn every_clock_waited_for_was_started_before() {
    let mut started: BTreeSet<ClockName> = BTreeSet::new();
    for (name, list) in all() {
        for step in steps(&list) {
            if let Some(until) = &step.until {
                assert_ne!(
                    until,
                    &Until::default(),
                    "{name}/{}: waits for nothing",
                    step.id
                );
                if let Some(clock) = until.clock {
                    assert!(started.contains(&clock), "{name}/{}: {clock:?}", step.id);
                }
            }
            for clock in &step.ends {
                let here = step.starts.iter().any(|start| start.clock == *clock);
                assert!(
                    started.contains(clock) || here,
                    "{name}/{}: ends {clock:?}",
                    step.id
                );
            }
            started.extend(step.starts.iter().map(|start| start.clock));
        }
    }
}

/// Only a mix has a card of its own; every other clock of a material names the kind.
#[test]
fn clocks_of_a_material_say_which() {
    use ClockName::{
        Cartridge, Clamps, Closing, Cup, Drying, Dust, Dwell, FullCure, Glove, LeafSet, Leftover,
        Load, Purge, Recoat, TackEdge, TackFlat, TackHollow,
    };
    for (name, list) in all() {
        for step in steps(&list) {
            for start in &step.starts {
                let right = match start.clock {
                    Cup | Closing | Clamps | Load | Leftover => step.mix.is_some(),
                    Purge | Drying | Dust => start.by.is_none(),
                    Glove | Cartridge | Dwell | Recoat | TackEdge | TackFlat | TackHollow
                    | LeafSet | FullCure => start.by.is_some(),
                };
                assert!(right, "{name}/{}: {start:?}", step.id);
            }
            if step.mix.is_some() {
                let clocks: Vec<_> = step.starts.iter().map(|start| start.clock).collect();
                if list.scope == Scope::Joint {
                    assert_eq!(clocks, [Cup, Closing, Clamps, Load, Leftover], "{name}");
                } else {
                    assert_eq!(clocks, [Cup, Load, Leftover], "{name}");
                }
            }
        }
    }
}

/// Every operation of the journey has a sign-off (*common practice*), and it ends the list.
#[test]
fn every_operation_ends_with_a_signature() {
    for (name, list) in all() {
        let last = list.steps.last().expect("a checklist has steps");
        let hold = last
            .hold
            .as_ref()
            .unwrap_or_else(|| panic!("{name}: no hold at the end"));
        assert!(!hold.sign.is_empty(), "{name}: what is signed?");
    }
}

/// The gates of each operation (*common practice*).
#[test]
fn gates_stand_where_the_trade_wants_them() {
    use GateKind::{
        AirAndGloves, Before, Cured, Dew, Gap, Humidity, Lead, MixLive, Moisture, Neutral,
        OpenTime, QuietAir, RagsAway, Recoat, Scheme, SizeReady, Temperature, Washed,
    };
    let wanted: [(&str, &[GateKind]); 16] = [
        ("layer-study", &[Before, Lead]),
        ("strip", &[Before, Lead, Scheme, AirAndGloves]),
        ("detail-clean", &[Before, Lead, Scheme, AirAndGloves]),
        ("wash", &[AirAndGloves]),
        ("dry", &[Moisture]),
        ("open-joint", &[Before, Lead]),
        ("dry-fit", &[Moisture]),
        (
            "mix-and-lay-up",
            &[
                Moisture,
                Neutral,
                Gap,
                Temperature,
                Dew,
                AirAndGloves,
                MixLive,
                OpenTime,
            ],
        ),
        ("consolidate", &[Before, Moisture, AirAndGloves, MixLive]),
        ("splice", &[Moisture, Cured]),
        ("fill", &[Moisture, Cured, Washed, MixLive]),
        ("sand", &[Lead, Cured, Washed, AirAndGloves]),
        (
            "prime",
            &[Moisture, Neutral, Dew, Humidity, QuietAir, Recoat],
        ),
        ("body-colour", &[Scheme, Dew, Humidity, QuietAir, Recoat]),
        ("size-and-leaf", &[Dew, Humidity, QuietAir, RagsAway]),
        ("varnish", &[Dew, Humidity, Temperature, QuietAir, Recoat]),
    ];
    let lists: BTreeMap<_, _> = all().into_iter().map(|(_, l)| (l.id.clone(), l)).collect();
    for (id, wanted) in wanted {
        let found = gates(&lists[id]);
        for gate in wanted {
            assert!(found.contains(gate), "{id}: gate {gate:?} is missing");
        }
    }
    let asked: BTreeSet<_> = lists.values().flat_map(gates).collect();
    assert!(
        asked.len() == 17 && !asked.contains(&SizeReady),
        "every gate is asked for somewhere, but for the one that the knuckle answers: {asked:?}"
    );
    let knuckle = steps(&lists["size-and-leaf"])
        .into_iter()
        .filter_map(|step| step.until.as_ref())
        .find(|until| until.words == Some(WordScale::Tack))
        .expect("leaf is laid by the knuckle");
    assert_eq!(knuckle.at, ["edge", "flat", "hollow"]);
}

/// A witness patch gets only what looks and leaves (*common practice*: operations 1 to 5).
#[test]
fn a_witness_patch_is_looked_at_and_never_worked_on() {
    for (name, list) in all() {
        let reaches_leave = list.paths.contains(&Path::Leave);
        assert_eq!(
            reaches_leave,
            list.order <= 5,
            "{name}: paths {:?}",
            list.paths
        );
        if list.order <= 5 {
            assert_eq!(list.paths.len(), 4, "{name}: every path is surveyed");
        }
    }
}

/// Leaf flies at a sudden sound (*common practice*).
#[test]
fn only_leaf_is_laid_in_quiet() {
    let quiet: Vec<_> = all()
        .into_iter()
        .filter(|(_, list)| list.quiet)
        .map(|(_, list)| list.id)
        .collect();
    assert_eq!(quiet, ["size-and-leaf"]);
}

/// One grid for the gap map, or two maps of one joint would not fit together.
#[test]
fn every_gap_map_has_the_same_grid() {
    let mut found = Vec::new();
    for (name, list) in all() {
        for record in steps(&list).into_iter().flat_map(|step| &step.record) {
            if let Some(grid) = record.grid {
                assert_eq!(record.measure, Some(Measure::Gap), "{name}/{}", record.id);
                assert_eq!(
                    (grid.across, grid.every_mm),
                    (5, 100),
                    "{name}/{}",
                    record.id
                );
                assert_eq!(list.scope, Scope::Joint, "{name}/{}", record.id);
                found.push(list.id.clone());
            }
        }
    }
    assert_eq!(found, ["dry-fit", "mix-and-lay-up"]);
}

/// A moisture point is read again for as long as anything rests on it; only `dry` comes back
/// to its points. The figure as a whole is read once, when it comes in.
#[test]
fn moisture_points_are_read_where_they_are_read_again() {
    for (name, list) in all() {
        let reads = steps(&list)
            .into_iter()
            .flat_map(|step| &step.record)
            .any(|record| {
                matches!(
                    record.measure,
                    Some(Measure::MoistureSkin | Measure::MoistureCore)
                )
            });
        let may = list.id == "dry" || list.scope == Scope::Figure;
        assert!(!reads || may, "{name} reads moisture at points of its own");
    }
}

/// Temperature and humidity of the air belong to the same minute, so to the same step.
#[test]
fn air_is_read_whole_before_a_coat() {
    for (name, list) in all() {
        let mut air_known = false;
        for step in steps(&list) {
            let reads = |wanted| {
                step.record
                    .iter()
                    .any(|record| record.measure == Some(wanted))
            };
            let (air, humidity) = (reads(Measure::AirTemperature), reads(Measure::Humidity));
            assert!(
                list.order == 1 || air == humidity,
                "{name}/{}: half of the air",
                step.id
            );
            if step.gates.iter().any(|ask| ask.gate == GateKind::Dew) {
                assert!(
                    air_known,
                    "{name}/{}: dew asked before the air was read",
                    step.id
                );
            }
            air_known |= air && humidity && reads(Measure::SurfaceTemperature);
        }
    }
}

/// What is mixed was weighed out for something, from lots that were picked; what is laid
/// has its lot in the line.
#[test]
fn a_mix_and_a_coat_know_their_lot_and_their_amount() {
    let (mut mixes, mut coats_found) = (0, 0);
    for (name, list) in all() {
        let mut before: Vec<&Record> = Vec::new();
        for step in steps(&list) {
            // A record is taken before the mix of its own step.
            before.extend(&step.record);
            if let Some(mix) = &step.mix {
                mixes += 1;
                let lot = before.iter().any(|record| record.lot == Some(mix.of));
                assert!(lot, "{name}/{}: no lot of {:?} picked", step.id, mix.of);
                let amount = before.iter().any(|record| match mix.need {
                    Need::Gap => record.grid.is_some(),
                    Need::Said => record.measure == Some(Measure::Mass),
                    Need::Area => false,
                });
                assert!(amount, "{name}/{}: no amount for the mix", step.id);
            }
            if let Some(coats) = &step.coats {
                coats_found += 1;
                let lot = step
                    .record
                    .iter()
                    .any(|record| record.lot == Some(coats.of));
                assert!(lot, "{name}/{}: no lot of the coat", step.id);
                assert!((1..=6).contains(&coats.count), "{name}/{}: coats", step.id);
                let recoat = step
                    .starts
                    .iter()
                    .any(|s| s.clock == ClockName::Recoat && s.by == Some(coats.of));
                assert!(
                    recoat,
                    "{name}/{}: no recoat window by its own kind",
                    step.id
                );
            }
        }
    }
    assert_eq!((mixes, coats_found), (3, 4));
}
