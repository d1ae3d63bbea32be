//! The trade's arithmetic at the step: journals with readings in, and what the step says. The
//! sums themselves stand in the `sums_` files; here it is the way from card and reading to them.

use std::cell::RefCell;

use knuckle::card::{Cards, ClockName};
use knuckle::deed::{Attended, ClockRule, ClockStart, Deed, Done, Use, Value, Work};
use knuckle::reckon::drying::{Drying, Reading, drying};
use knuckle::reckon::meter::moisture_behind;
use knuckle::reckon::{Celsius, Hours, Percent};
use knuckle::standing::{
    Ask, AtStep, Book, ClockState, ClockView, Figured, Intent, Prompt, StepSum, Weight, clock_views,
};

use crate::clocks::Wall;
use crate::memory::{Bench, at, sample_cards};
use crate::published::near;

const MORNING: &str = "2026-11-23T08:00:00+00:00";

fn bench() -> Bench {
    Bench::new(sample_cards(), at(MORNING))
}

#[track_caller]
fn number(sum: &StepSum, name: &str) -> f64 {
    let found = sum.figures.iter().find(|(key, _)| *key == name);
    match found {
        Some((_, Figured::Number(number))) => *number,
        other => panic!("{name} is {other:?} in {sum:?}"),
    }
}

#[track_caller]
fn topic(prompt: &Prompt, topic: &str) -> StepSum {
    let found = prompt.sums.iter().find(|sum| sum.topic == topic);
    found
        .unwrap_or_else(|| panic!("no {topic} at {}: {:?}", prompt.step, prompt.sums))
        .clone()
}

fn enter(text: &str) -> AtStep {
    AtStep::Enter {
        value: Value::Text(text.to_owned()),
        again: true,
    }
}

fn entered(number: f64) -> AtStep {
    AtStep::Enter {
        value: Value::Number(number),
        again: true,
    }
}

/// A washed zone at its points, in air of these degrees and percent.
fn drying_bench(air: (f64, f64)) -> (Bench, Work) {
    let mut bench = bench();
    bench.air = air;
    bench.read_air("hare");
    let work = bench.walk_until("hare", "dry", Some("body-near"), &mut |prompt| {
        prompt.step == "read" && matches!(prompt.ask, Ask::Reading { .. })
    });
    // The walker writes down usual air at the step; the room is as it was read.
    bench.wait(1);
    bench.read_air("hare");
    (bench, work)
}

/// Reads skin and core at every point.
fn read_points(bench: &mut Bench, work: &Work, skin: f64, core: [f64; 3]) {
    let mut core = core.into_iter();
    while let Ask::Reading { ask, .. } = bench.prompt("hare", work).ask {
        let value = if ask.starts_with("Skin") {
            skin
        } else {
            core.next().unwrap()
        };
        bench.at_step("hare", work, entered(value)).unwrap();
    }
}

/// A day or more later: the same air, the same holes.
fn read_again(bench: &mut Bench, work: &Work, hours: i64) {
    bench.wait(hours * 60);
    bench.read_air("hare");
    bench.at_step("hare", work, AtStep::ReadAgain).unwrap();
}

fn drying_clock(bench: &Bench) -> ClockView {
    let views = clock_views(bench.house(), bench.now);
    let found = views
        .into_iter()
        .find(|view| view.clock == ClockName::Drying);
    found.expect("drying is among the clocks")
}

/// Three rounds: points 1 and 3 near the target, point 2 the wettest.
fn three_rounds(bench: &mut Bench, work: &Work) {
    read_points(bench, work, 12.0, [16.0, 22.0, 15.0]);
    read_again(bench, work, 24);
    read_points(bench, work, 11.0, [14.0, 19.0, 13.5]);
    read_again(bench, work, 48);
    read_points(bench, work, 10.0, [12.5, 17.0, 12.2]);
}

#[test]
fn the_worst_point_of_all_readings_says_when_it_is_dry() {
    let (mut bench, work) = drying_bench((20.0, 50.0));
    three_rounds(&mut bench, &work);
    let sum = topic(&bench.prompt("hare", &work), "drying");
    // The published law and the published air, asked apart: wood at the air's 20 °C.
    let wet = |read: f64| {
        moisture_behind(Percent(read), Celsius(20.0))
            .unwrap()
            .wait_until()
    };
    let courses = [
        ("1", [16.0, 14.0, 12.5]),
        ("2", [22.0, 19.0, 17.0]),
        ("3", [15.0, 13.5, 12.2]),
    ];
    let mut readings = Vec::new();
    for (point, course) in courses {
        for (hours, read) in [0.0, 24.0, 72.0].into_iter().zip(course) {
            let (at, point) = (Hours(hours), point.to_owned());
            let moisture = wet(read);
            readings.push(Reading {
                at,
                moisture,
                point,
            });
        }
    }
    let air = (Celsius(20.0), Percent(50.0));
    let Ok(Drying::Reaches { at, .. }) = drying(&readings, air, Percent(12.0)) else {
        panic!("20 °C and 50 % lead to 9.3 %");
    };
    // The skin is at the target and moves nothing; hours count from now, the third round.
    near(
        number(&sum, "drying_likely_h"),
        at.likely().0 - 72.0,
        1e-3,
        "likely",
    );
    near(
        number(&sum, "drying_late_h"),
        at.wait_until().0 - 72.0,
        1e-3,
        "late",
    );
    assert!(number(&sum, "drying_early_h") <= number(&sum, "drying_likely_h"));
    // Wood Handbook, FPL-GTR-190, Table 4-2, by eq. 4-5: 9.3 % at 20 °C and 50 %.
    near(number(&sum, "drying_emc_percent"), 9.3, 0.05, "emc");
    near(
        number(&sum, "drying_worst_percent"),
        wet(17.0).0,
        1e-9,
        "worst",
    );
    assert!(sum.line.contains("at the latest"), "{}", sum.line);
    let words = sum.more.join("\n");
    assert!(words.contains("worst point: core 2"), "{words}");
}

#[test]
fn drying_is_a_clock_by_its_readings_that_no_word_ends_and_that_never_rings() {
    let (mut bench, work) = drying_bench((20.0, 50.0));
    read_points(&mut bench, &work, 12.0, [16.0, 22.0, 15.0]);
    let none = clock_views(bench.house(), bench.now);
    assert!(
        none.is_empty(),
        "one round of readings says nothing: {none:?}"
    );
    read_again(&mut bench, &work, 24);
    read_points(&mut bench, &work, 11.0, [14.0, 19.0, 13.5]);
    read_again(&mut bench, &work, 48);
    read_points(&mut bench, &work, 10.0, [12.5, 17.0, 12.2]);
    let view = drying_clock(&bench);
    let sum = topic(&bench.prompt("hare", &work), "drying");
    let opens = view.opens.unwrap();
    let late = number(&sum, "drying_late_h");
    #[expect(clippy::cast_precision_loss, reason = "seconds of a month")]
    let hours = (opens - bench.now).num_seconds() as f64 / 3600.0;
    // To the whole minute after it.
    assert!(late <= hours, "{late} {hours}");
    near(hours, late, 2e-2, "the late bound is what is shown");
    assert_eq!(
        (view.state, view.side, view.attended),
        (ClockState::Waiting, Use::WaitUntil, Attended::Air)
    );
    assert_eq!(view.provenance, "from readings");
    bench.now = opens + chrono::Duration::days(3);
    let view = drying_clock(&bench);
    assert_eq!((view.state, view.ringing), (ClockState::Come, None));
    let ends = Intent::EndClock {
        figure: "hare".into(),
        clock: view.id,
        how: "looks dry".into(),
    };
    assert!(bench.act(&ends).is_err(), "only readings end it");
    bench.assert_live_is_replayed();
}

#[test]
fn a_clock_that_washing_began_goes_by_the_readings_once_there_are_some() {
    let (mut bench, work) = drying_bench((20.0, 50.0));
    let wash = Work {
        operation: "wash".into(),
        target: Some("body-near".into()),
        round: 1,
    };
    let starts = vec![ClockStart {
        clock: ClockName::Drying,
        about: "body-near".into(),
        rule: ClockRule::Span {
            early_min: 5760.0,
            likely_min: 10080.0,
            late_min: 14400.0,
            side: Use::WaitUntil,
            because: "4 to 10 days, readings decide; common practice".into(),
        },
    }];
    let done = Done {
        work: wash,
        step: "battens".into(),
        starts,
        ends: Vec::new(),
        coat: None,
    };
    bench.keep(&Book::Figure("hare".into()), Deed::Done(done));
    assert_eq!(drying_clock(&bench).provenance, "common practice");
    three_rounds(&mut bench, &work);
    let views = clock_views(bench.house(), bench.now);
    let drying: Vec<_> = views
        .iter()
        .filter(|view| view.clock == ClockName::Drying)
        .collect();
    assert_eq!(drying.len(), 1, "one wood, one clock");
    assert_eq!(drying[0].provenance, "from readings");
    assert!(
        drying[0].because.contains("core 2"),
        "{}",
        drying[0].because
    );
}

#[test]
fn damp_air_is_said_to_be_never_with_the_humidity_that_would_do() {
    let (mut bench, work) = drying_bench((20.0, 70.0));
    three_rounds(&mut bench, &work);
    let sum = topic(&bench.prompt("hare", &work), "drying");
    // Wood Handbook, Table 4-2: 13.1 % at 20 °C and 70 %; 12 % at 21 °C and 65 %.
    assert!(sum.line.starts_with("never 12 %"), "{}", sum.line);
    assert!(sum.line.contains("stops at 13.1 %"), "{}", sum.line);
    let needed = number(&sum, "drying_needs_humidity_percent");
    assert!((58.0..=65.0).contains(&needed), "{needed}");
    assert_eq!(sum.weight, Weight::Mind);
    assert_eq!(sum.figures[0], ("drying_reaches", Figured::Is(false)));
    let view = drying_clock(&bench);
    assert_eq!((view.opens, view.state), (None, ClockState::Waiting));
    assert!(
        view.because.contains("air here stops at 13.1 %"),
        "{}",
        view.because
    );
    // Drier air, read for a day, makes it a date again.
    bench.air = (20.0, 45.0);
    read_again(&mut bench, &work, 24);
    bench.wait(25 * 60);
    let sum = topic(&bench.prompt("hare", &work), "drying");
    assert!(!sum.line.starts_with("never"), "{}", sum.line);
}

#[test]
fn one_dry_reading_of_the_air_promises_nothing_that_the_day_does_not_hold() {
    let (mut bench, work) = drying_bench((20.0, 70.0));
    read_points(&mut bench, &work, 12.0, [16.0, 22.0, 15.0]);
    read_again(&mut bench, &work, 24);
    read_points(&mut bench, &work, 11.0, [14.0, 19.0, 13.5]);
    bench.air = (20.0, 45.0);
    bench.read_air("hare");
    let sum = topic(&bench.prompt("hare", &work), "drying");
    assert!(sum.line.starts_with("never"), "{}", sum.line);
    assert!(
        sum.more.join(" ").contains("mean of a day"),
        "{:?}",
        sum.more
    );
}

#[test]
fn what_no_meter_reads_is_no_reading() {
    let (mut bench, work) = drying_bench((20.0, 50.0));
    read_points(&mut bench, &work, 12.0, [16.0, 33.0, 15.0]);
    let sum = topic(&bench.prompt("hare", &work), "drying");
    assert_eq!(sum.weight, Weight::Missing);
    assert!(
        sum.line
            .contains("no valid reading at core 2: meter reading 33 % is outside 7–28 %"),
        "{}",
        sum.line
    );
}

/// Walks an operation and gives back what each step reckoned, in order.
fn sums_of(
    bench: &mut Bench,
    (figure, operation, target): (&str, &str, &str),
    special: &mut dyn FnMut(&Prompt) -> Option<AtStep>,
) -> Vec<(String, StepSum)> {
    let seen = RefCell::new(Vec::new());
    bench.walk(figure, operation, Some(target), &mut |prompt| {
        let sums = prompt.sums.iter().cloned();
        seen.borrow_mut()
            .extend(sums.map(|sum| (prompt.step.clone(), sum)));
        special(prompt)
    });
    seen.into_inner()
}

#[track_caller]
fn at_step<'a>(seen: &'a [(String, StepSum)], step: &str, topic: &str) -> &'a StepSum {
    let found = seen
        .iter()
        .rev()
        .find(|(at, sum)| at == step && sum.topic == topic);
    &found.unwrap_or_else(|| panic!("no {topic} at {step}")).1
}

#[test]
fn a_remover_asks_for_air_against_the_strictest_limit_and_the_purge_says_who_noted_the_fan() {
    let mut bench = bench();
    let purges = RefCell::new(Vec::new());
    let mut seen = Vec::new();
    bench.read_air("hare");
    let work = bench.walk_until("hare", "strip", Some("body-near"), &mut |prompt| {
        let sums = prompt.sums.iter().cloned();
        seen.extend(sums.map(|sum| (prompt.step.clone(), sum)));
        if let Ask::Wait {
            clock: Some(clock), ..
        } = &prompt.ask
        {
            purges.borrow_mut().push(clock.clone());
        }
        prompt.step == "purge" && !purges.borrow().is_empty()
    });
    let sum = at_step(&seen, "lay", "vapour");
    // Q = 24.04·10⁶ · SG · ER · K/(MW · C), ACGIH as in `reckon::dilution`: 0.2 ml/min of benzyl
    // alcohol, 1.045 g/ml, 108.14 g/mol, 5 ppm, K = 10.
    let needs = 24.04 * 0.2 * 1.045 / 108.14 / 1000.0 * 1e6 * 10.0 / 5.0;
    near(
        number(sum, "vapour_airflow_m3_per_min"),
        needs,
        1e-6,
        "airflow",
    );
    // The bench room: 180 m³, 4 changes an hour.
    near(number(sum, "vapour_fan_m3_per_min"), 12.0, 1e-9, "fan");
    // 5 ppm × needs / 12 over 0.99 % of the air.
    let share = 5.0 * needs / 12.0 / 9900.0 * 100.0;
    near(
        number(sum, "vapour_share_of_lel_percent"),
        share,
        1e-6,
        "share",
    );
    assert!(sum.line.contains("preset to confirm"), "{}", sum.line);
    assert!(sum.more.join(" ").contains("TRGS 900"), "{:?}", sum.more);
    assert_eq!(sum.weight, Weight::Mind, "the fan moves too little");
    let purge = &purges.borrow()[0];
    assert_eq!(purge.clock, ClockName::Purge);
    assert!(
        purge.because.contains("nobody noted the fan"),
        "{}",
        purge.because
    );
    assert_eq!(
        purge.state,
        ClockState::Waiting,
        "a hand vouched for the air"
    );
    // The fan is noted off: the clock stands still.
    bench
        .act(&Intent::Fan {
            room: "bench-room".into(),
            on: false,
        })
        .unwrap();
    bench.wait(1);
    let Ask::Wait {
        clock: Some(clock), ..
    } = bench.prompt("hare", &work).ask
    else {
        panic!("the purge is waited for");
    };
    assert_eq!(clock.state, ClockState::Frozen);
}

#[test]
fn a_remover_without_a_solvent_on_its_card_says_where_to_put_it() {
    let mut cards = sample_cards();
    cards.materials.get_mut("gel-stripper").unwrap().solvent = None;
    let mut bench = Bench::new(cards, at(MORNING));
    let mut said = Vec::new();
    bench.walk_until("hare", "strip", Some("body-near"), &mut |prompt| {
        said.extend(prompt.sums.iter().map(|sum| sum.line.clone()));
        prompt.step == "lay"
    });
    assert!(
        said[0].contains("`solvent` on materials/gel-stripper.yaml"),
        "{said:?}"
    );
}

#[test]
fn a_coat_says_litres_wet_film_window_and_what_the_film_still_takes() {
    let mut bench = bench();
    let seen = sums_of(&mut bench, ("hare", "varnish", "tail"), &mut |_| None);
    let first = at_step(&seen, "coat#1", "coat");
    // A cone of 38 and 250 mm: π · 38 · √(38² + 250²) mm² = 0.0302 m², times 1.6, at 10 m²/L.
    let area = std::f64::consts::PI * 38.0 * 38.0_f64.hypot(250.0) * 1e-6 * 1.6;
    near(number(first, "coat_surface_m2"), area, 1e-12, "surface");
    near(number(first, "coat_litres"), area / 10.0, 1e-12, "litres");
    near(
        number(first, "coats_to_come_litres"),
        area * 0.4,
        1e-12,
        "four coats",
    );
    // 30 µm dry at 40 %, thinned as the walker wrote down.
    let thinned = number(first, "coat_wet_film_um") / (30.0 * 100.0 / 40.0);
    assert!((1.0..=1.2).contains(&thinned), "{thinned}");
    let film = at_step(&seen, "coat#4", "film");
    // Three coats of 25–35 µm, two rubbings of 5–10 (common practice).
    near(
        number(film, "film_late_um"),
        3.0 * 35.0 - 2.0 * 5.0,
        1e-9,
        "late",
    );
    near(
        number(film, "film_likely_left_coats"),
        1.0,
        1e-9,
        "the fourth has room",
    );
    assert!(film.line.contains("coat 4 of 4"), "{}", film.line);
    let before = at_step(&seen, "coat#1", "recoat");
    assert!(
        before
            .line
            .contains("not before 24 h, unsanded not after 48 h"),
        "{}",
        before.line
    );
    let rests = at_step(&seen, "coat#1-dry", "recoat");
    assert!(rests.line.contains("next coat"), "{}", rests.line);
}

#[test]
fn worn_zones_have_a_budget_of_their_own() {
    let mut bench = bench();
    let seen = sums_of(&mut bench, ("hare", "varnish", "saddle-seat"), &mut |_| {
        None
    });
    let last = at_step(&seen, "coat#6", "film");
    near(
        number(last, "film_budget_um"),
        145.0,
        1e-9,
        "six coats are about 140 µm",
    );
    near(
        number(last, "film_likely_left_coats"),
        1.0,
        1e-9,
        "the sixth has room",
    );
}

#[test]
fn what_a_card_lacks_is_said_with_its_place() {
    let without = |change: fn(&mut Cards)| {
        let mut cards = sample_cards();
        change(&mut cards);
        let mut bench = Bench::new(cards, at(MORNING));
        let mut said = Vec::new();
        bench.walk_until("hare", "varnish", Some("tail"), &mut |prompt| {
            said.extend(prompt.sums.iter().map(|sum| (sum.weight, sum.line.clone())));
            prompt.step == "coat#1"
        });
        let work = Work {
            operation: "varnish".into(),
            target: Some("tail".into()),
            round: 1,
        };
        let sum = topic(&bench.prompt("hare", &work), "coat");
        assert_eq!(sum.weight, Weight::Missing);
        sum.line
    };
    let spread = without(|cards| {
        let varnish = cards.materials.get_mut("oil-varnish").unwrap();
        varnish.spread_m2_per_l = None;
    });
    assert!(spread.contains("`spread_m2_per_l`"), "{spread}");
    assert!(spread.contains("materials/oil-varnish.yaml"), "{spread}");
    let area = without(|cards| {
        let hare = cards.figures.get_mut("hare").unwrap();
        hare.zones
            .iter_mut()
            .find(|zone| zone.id == "tail")
            .unwrap()
            .solids
            .clear();
    });
    assert!(area.contains("figures/hare/figure.yaml"), "{area}");
}

#[test]
fn a_panel_says_leaves_books_and_the_pace_against_its_window() {
    let mut bench = bench();
    let seen = sums_of(
        &mut bench,
        ("heron", "size-and-leaf", "breast-strap"),
        &mut |_| None,
    );
    let leaf = at_step(&seen, "strain", "leaf");
    // 0.11 m² × 1.3 × 1.2 / (77 mm)² = 28.9 leaves of 80 mm, two books.
    near(number(leaf, "leaf_leaves"), 29.0, 1e-9, "leaves");
    near(number(leaf, "leaf_books"), 2.0, 1e-9, "books");
    let pace = at_step(&seen, "lay", "pace");
    // Ornament: 25 leaves an hour, faulting half as much again (common practice).
    near(
        number(pace, "pace_laying_late_h"),
        29.0 / 25.0 * 1.5,
        1e-9,
        "laying",
    );
    let (window, most) = (
        number(pace, "pace_window_h"),
        number(pace, "pace_most_leaves"),
    );
    assert!(
        most <= window.max(0.0) * 25.0 / 1.5 + 1e-9,
        "{most} in {window} h"
    );
}

#[test]
fn a_joint_says_millilitres_grams_and_cups() {
    let mut bench = bench();
    let seen = sums_of(&mut bench, ("hare", "dry-fit", "J3"), &mut |_| None);
    let sum = at_step(&seen, "plan", "joint");
    // 400 × 120 mm at 1.0 mm all over: 48 ml, 55.2 g, 14.4 g wet the faces, 40 and 50 % lost.
    near(number(sum, "joint_gap_ml"), 48.0, 1e-9, "volume");
    near(number(sum, "joint_mean_gap_mm"), 1.0, 1e-9, "mean");
    near(
        number(sum, "joint_mix_likely_g"),
        69.6 * 1.4,
        1e-9,
        "likely",
    );
    near(number(sum, "joint_mix_late_g"), 69.6 * 1.5, 1e-9, "to mix");
    let words = sum.more.join("\n");
    assert!(words.contains("medium epoxy 100:45 by weight: "), "{words}");
    assert!(
        words.contains("a cup under 17 g cannot be weighed honestly on a balance of 0.1 g"),
        "{words}"
    );
}

#[test]
fn new_wood_says_how_far_it_is_apart_and_how_it_moves() {
    let mut bench = bench();
    let seen = sums_of(&mut bench, ("hare", "splice", "ears"), &mut |prompt| {
        if prompt.step != "wood" {
            return None;
        }
        match &prompt.ask {
            Ask::Words { record, .. } if record == "species" => Some(enter("Lime, dry board")),
            Ask::Reading { station: None, .. } => Some(entered(42.0)),
            Ask::Reading {
                station: Some(place),
                ..
            } if place == "old wood" => Some(entered(11.2)),
            Ask::Reading { .. } => Some(entered(9.8)),
            _ => None,
        }
    });
    let apart = at_step(&seen, "wood", "match");
    near(number(apart, "match_apart_percent"), 1.4, 1e-9, "apart");
    assert_eq!(apart.weight, Weight::Plain);
    let moves = at_step(&seen, "wood", "movement");
    // Eq. 13-3, total tangential shrinkage of lime 9.5 % (Hoadley 1998, Table 1), rooms of 40 and
    // 60 %: wood of 7.7 and 11.0 % (Table 4-2): −0.30 and +0.17 mm.
    let by = 42.0 / (3000.0 / 9.5 - 30.0 + 9.8);
    near(
        number(moves, "movement_dry_mm"),
        by * (7.7 - 9.8),
        0.01,
        "dry rooms",
    );
    near(
        number(moves, "movement_damp_mm"),
        by * (11.0 - 9.8),
        0.01,
        "damp rooms",
    );
}

#[test]
fn a_chip_is_judged_dry_and_varnished_and_not_otherwise() {
    // Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21, Table 1, pair 25: 1.2644.
    let wanted = "60.2574,-34.0099,36.2677";
    let sample = "60.4626,-34.1751,39.4387";
    let said = |state: &'static str| {
        let mut bench = bench();
        let seen = sums_of(
            &mut bench,
            ("hare", "body-colour", "body-off"),
            &mut |prompt| match &prompt.ask {
                Ask::Words { record, .. } if record == "wanted" => Some(enter(wanted)),
                Ask::Words { record, .. } if record == "chip" => {
                    Some(enter(&format!("{sample} {sample} {sample}")))
                }
                Ask::Choice { record, .. } if record == "chip-state" => Some(enter(state)),
                _ => None,
            },
        );
        at_step(&seen, "target", "colour").clone()
    };
    let judged = said("dry and varnished");
    near(
        number(&judged, "colour_delta_e_2000"),
        1.2644,
        5.1e-5,
        "pair 25",
    );
    assert!(
        judged.line.starts_with("chip is too warm, too strong"),
        "{}",
        judged.line
    );
    for state in ["still wet", "dry and bare"] {
        let none = said(state);
        assert!(none.line.starts_with("no verdict"), "{}", none.line);
        assert!(none.figures.is_empty());
    }
}

#[test]
fn no_cup_is_smaller_than_its_balance_weighs_honestly() {
    let mut cards = sample_cards();
    cards.shop.balance_g = 1.0;
    let mut bench = Bench::new(cards, at(MORNING));
    let work = bench.walk_until("hare", "mix-and-lay-up", Some("J3"), &mut |prompt| {
        matches!(prompt.ask, Ask::Batch { .. })
    });
    let Ask::Batch { offers } = bench.prompt("hare", &work).ask else {
        panic!("a batch is asked for");
    };
    let medium = offers.iter().find(|offer| offer.material == "medium-epoxy");
    let medium = medium.unwrap();
    // 1 g off in the hardener's 2 % of 100:45: 161 g (own calculation of the trade), where the
    // joint itself takes 104 g.
    let grams: f64 = medium.grams.iter().sum();
    assert!((161.0..162.0).contains(&grams), "{medium:?}");
    assert!(
        medium
            .because
            .contains("162 g and not 105 g: on steps of 1 g less may be over 2 % off"),
        "{}",
        medium.because
    );
}

#[test]
fn a_purge_that_nobody_noted_or_vouched_for_stands_still() {
    let purge = |changes_per_h: f64| {
        let mut wall = Wall::new(MORNING);
        let rule = ClockRule::Purge {
            room: "bench".into(),
            changes_per_h,
            to_fraction: 0.01,
            mixing: 3.0,
        };
        wall.start(ClockName::Purge, rule);
        wall
    };
    let wall = purge(12.0);
    for minute in [0, 69, 600] {
        let view = wall.view(minute);
        assert_eq!(view.state, ClockState::Frozen, "after {minute} min");
        assert!(
            view.because.contains("nobody noted the fan"),
            "{}",
            view.because
        );
    }
    let never = purge(0.0).view(600);
    assert_eq!((never.opens, never.state), (None, ClockState::Waiting));
    assert!(
        never.because.contains("set the room's air changes"),
        "{}",
        never.because
    );
}

#[test]
fn wet_wood_says_at_the_gate_of_other_work_when_it_will_be_dry() {
    let (mut bench, work) = drying_bench((20.0, 50.0));
    three_rounds(&mut bench, &work);
    bench.by = bench.worker("prime");
    let prime = bench.begin("hare", "prime", Some("body-near"));
    let prompt = bench.prompt("hare", &prime);
    assert!(matches!(prompt.ask, Ask::Gate(_)), "{:?}", prompt.ask);
    let sum = topic(&prompt, "drying");
    assert!(sum.line.starts_with("dry to 12 %: likely"), "{}", sum.line);
}

#[test]
fn three_readings_of_a_layer_have_a_middle_and_two_have_none() {
    let mut bench = bench();
    let layers = "ochre 62.1,8.4,21.0 61.9,8.3,20.8 62.0,8.5,21.1; red 40,30,20 41,30,20";
    let seen = sums_of(
        &mut bench,
        ("hare", "layer-study", "body-off"),
        &mut |prompt| match &prompt.ask {
            Ask::Words { record, .. } if record == "colours" => Some(enter(layers)),
            _ => None,
        },
    );
    let said: Vec<&StepSum> = seen
        .iter()
        .filter(|(step, sum)| step == "colour" && !sum.line.starts_with("write"))
        .map(|(_, sum)| sum)
        .collect();
    assert!(
        said[0].line.starts_with("layer 1: 62.0,8.4,21.0"),
        "{}",
        said[0].line
    );
    near(
        number(said[0], "colour_l"),
        62.0,
        1e-9,
        "the middle of each axis",
    );
    assert_eq!(said[1].weight, Weight::Missing);
    assert!(
        said[1].line.contains("at least 3 needed"),
        "{}",
        said[1].line
    );
}
