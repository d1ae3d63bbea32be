//! Every screen at the promised sizes under a fixed now, and tiny ones that must not panic.

use ratatui::{buffer::Buffer, layout::Rect};

use knuckle::card::{ClockName, Manner};
use knuckle::deed::Stamp;
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{
    AirEntry, Drawn, Over, Page, Pane, Question, Reply, Said, Sight, Then, View, act, keys::Act,
};
use knuckle::standing::{Ask, ClockState, HoldRefused, Interruption, Refusal};

use crate::kit::{golden, nights, picture, scenes};

/// The sizes at which every screen is kept: least, common, large, wall.
const SIZES: [(u16, u16); 4] = [(60, 20), (80, 24), (120, 40), (200, 60)];

pub(crate) fn drawn(
    sight: &Sight,
    view: &View,
    (width, height): (u16, u16),
    depth: Depth,
) -> (Buffer, Drawn) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let look = Look { depth };
    let drawn = Pane { sight, view, look }.draw(buffer.area, &mut buffer);
    (buffer, drawn)
}

/// Compares a screen at every size with its golden file; pictures of three sizes beside it.
#[track_caller]
fn check(name: &str, (sight, view): (Sight, View)) {
    for size in SIZES {
        let (buffer, _) = drawn(&sight, &view, size, Depth::Full);
        let file = format!("screens/{name}-{}x{}.txt", size.0, size.1);
        golden::check(&file, &picture::text(&buffer));
    }
}

/// Compares the picture of a screen with its golden file.
#[track_caller]
fn check_picture(name: &str, (sight, view): &(Sight, View), size: (u16, u16)) {
    let (buffer, _) = drawn(sight, view, size, Depth::Full);
    let file = format!("pictures/{name}-{}x{}.svg", size.0, size.1);
    golden::check(&file, &picture::svg(&buffer));
}

fn on_page(page: Page) -> (Sight, View) {
    let (mut sight, mut view) = scenes::bench(Ask::Act);
    view.page = page;
    sight.floor = scenes::floor();
    (sight.day, sight.waiting) = scenes::day();
    (sight, view)
}

fn reckoned() -> (Sight, View) {
    let (mut sight, view) = scenes::bench(Ask::Act);
    sight.prompt.as_mut().unwrap().sums = scenes::sums();
    (sight, view)
}

fn choice() -> Ask {
    Ask::Choice {
        record: "verdict".to_owned(),
        ask: "What does the core show?".to_owned(),
        options: ["sound", "soft, will hold resin", "rotten: cut back"]
            .map(str::to_owned)
            .to_vec(),
    }
}

fn start() -> Ask {
    Ask::Start {
        off_percent: 0.0,
        verdict: "120.2 g and 54.1 g".to_owned(),
        add: None,
        promise_min: 21.7,
        because: "25 min on the sheet, 18 because 23 °C and 174 g".to_owned(),
    }
}

fn wait() -> (Sight, View) {
    let clamps = scenes::clocks()[5].clone();
    let (mut sight, view) = scenes::bench(Ask::Wait {
        clock: Some(clamps.clone()),
        ready: false,
        hand: "the squeeze-out is hard to the nail at both ends".to_owned(),
    });
    sight.clocks = vec![clamps];
    (sight, view)
}

fn looked_at(nth: usize) -> (Sight, View) {
    let all = [
        "rags IN the lidded can, dust tent UP",
        "runs LOOKED FOR at 5, 15, 30 minutes",
        "edges COATED, hollows FREE of pools",
    ];
    let (mut sight, view) = scenes::bench(Ask::Confirm {
        say: all[nth - 1].to_owned(),
        nth,
        of: all.len(),
    });
    if let Some(prompt) = &mut sight.prompt {
        let checks = (1..).zip(all);
        prompt.checks = checks.map(|(at, say)| (say.to_owned(), at < nth)).collect();
    }
    (sight, view)
}

/// The act large, and the whole list under it.
fn do_confirm() -> (Sight, View) {
    let (mut sight, view) = looked_at(2);
    if let Some(prompt) = &mut sight.prompt {
        prompt.manner = Manner::DoConfirm;
    }
    (sight, view)
}

/// One line at a time, and a word on what was left half done.
fn interrupted() -> (Sight, View) {
    let (mut sight, view) = looked_at(1);
    if let Some(prompt) = &mut sight.prompt {
        prompt.interrupted = Some(Interruption {
            since: scenes::minutes(-47),
            by: "odile".to_owned(),
        });
    }
    (sight, view)
}

fn ringing() -> (Sight, View) {
    let (mut sight, view) = scenes::bench(Ask::Act);
    sight.clocks[1].ringing = Some((90, scenes::minutes(0)));
    (sight, view)
}

#[test]
fn the_bench_says_what_to_do() {
    check("bench-act", scenes::bench(Ask::Act));
    check("bench-gate", scenes::bench(scenes::gate()));
    check("bench-dead-cup", scenes::bench(scenes::dead_cup()));
    check(
        "bench-cautions",
        scenes::bench(Ask::Cautions(scenes::cautions())),
    );
    check(
        "bench-confirm",
        scenes::bench(Ask::Confirm {
            say: "Extraction hood over the cup, fan on, flap open".to_owned(),
            nth: 2,
            of: 4,
        }),
    );
    check("bench-reckoned", reckoned());
    let (sight, mut view) = reckoned();
    view.over = Over::Help;
    check("help-reckoned", (sight, view));
    check("bench-do-confirm", do_confirm());
    check("bench-interrupted", interrupted());
    check("bench-choice", scenes::bench(choice()));
    check("bench-lot", scenes::bench(scenes::lots()));
    check("bench-test", scenes::bench(scenes::tests()));
    check("bench-wait", wait());
}

#[test]
fn the_bench_takes_numbers() {
    let (sight, mut view) = scenes::bench(scenes::reading());
    "1.4".clone_into(&mut view.entry);
    check("bench-reading", (sight, view));
    let (mut sight, mut view) = scenes::bench(scenes::pour());
    sight.clocks.retain(|clock| clock.figure != "hare");
    check("bench-pour-asked", (sight.clone(), view.clone()));
    "53.8".clone_into(&mut view.entry);
    check("bench-pour-typed", (sight, view));
}

#[test]
fn the_bench_mixes() {
    check("bench-batch", scenes::bench(scenes::batches()));
    let (mut sight, view) = scenes::bench(start());
    sight.clocks.retain(|clock| clock.figure != "hare");
    check("bench-start", (sight, view));
    let (mut sight, view) = scenes::bench(Ask::Start {
        off_percent: 3.0,
        verdict: "off, but within 5 %: noted".to_owned(),
        add: Some((knuckle::deed::Pouring::Resin, 3.6)),
        promise_min: 18.2,
        because: "25 min on the sheet, 18 because 23 °C and 174 g".to_owned(),
    });
    sight.clocks.retain(|clock| clock.figure != "hare");
    check("bench-start-off", (sight, view));
    check(
        "bench-pour-off",
        scenes::bench(Ask::PourOff {
            off_percent: 6.2,
            add: Some((knuckle::deed::Pouring::Resin, 7.9)),
            poured: vec![
                (knuckle::deed::Pouring::Resin, 120.2),
                (knuckle::deed::Pouring::Hardener, 57.5),
            ],
        }),
    );
}

#[test]
fn the_bench_ends() {
    let hold = |refused| {
        scenes::bench(Ask::Hold {
            sign: "the joint is closed, flush and clamped as rehearsed".to_owned(),
            may_sign: vec!["Marguerite".to_owned()],
            refused,
        })
    };
    let stamp = |n, minutes, by: &str| Stamp {
        n,
        at: scenes::now() - chrono::TimeDelta::minutes(minutes),
        by: by.into(),
    };
    let refused = |again| {
        Some(HoldRefused {
            stamp: stamp(41, 20, "marguerite"),
            why: "the seam stands open at the tail".to_owned(),
            again,
        })
    };
    let again = "one more clamp at the tail, seam closed".to_owned();
    let again = Some((again, stamp(42, 5, "odile")));
    check("bench-hold", hold(None));
    check("bench-hold-refused", hold(refused(None)));
    check("bench-hold-shown-again", hold(refused(again)));
    check(
        "bench-finished",
        scenes::bench(Ask::Finished { at: scenes::now() }),
    );
    check(
        "bench-sent-back",
        scenes::bench(Ask::SentBack {
            back_to: "dry".to_owned(),
            why: "the core is still wet".to_owned(),
        }),
    );
    let (mut sight, mut view) = scenes::bench(Ask::Act);
    sight.prompt = None;
    view.work = None;
    sight.offers = scenes::offers();
    check("bench-offers", (sight.clone(), view.clone()));
    view.figure = None;
    sight.floor = scenes::floor();
    check("bench-figures", (sight, view));
}

#[test]
fn the_other_screens_show_all() {
    check("clocks", on_page(Page::Clocks));
    check("floor", on_page(Page::Floor));
    check("day", on_page(Page::Day));
    check("night", nights::sure());
    check("night-unsure", nights::unsure());
    check("night-whose", nights::whose());
    let (sight, mut view) = scenes::bench(Ask::Act);
    view.over = Over::Help;
    check("help", (sight, view));
}

#[test]
fn what_lies_over_a_screen_is_readable() {
    check("alarm", ringing());
    let (mut sight, mut view) = ringing();
    sight.quiet = true;
    check("alarm-quiet", (sight, view.clone()));
    let (sight, _) = scenes::bench(Ask::Act);
    knuckle::screen::act(&mut view, &sight, Act::Problem);
    check("problem", (sight.clone(), view.clone()));
    view.over = Over::Air(AirEntry::Room {
        room: "gilding".to_owned(),
        temp_c: Some(18.5),
    });
    "62".clone_into(&mut view.entry);
    check("air", (sight.clone(), view.clone()));
    view.over = Over::Question(Question {
        title: "Marguerite signs?".to_owned(),
        words: vec!["the scheme, version 2, as drawn".to_owned()],
        yes: Then::Close,
        no: Then::Close,
    });
    check("question", (sight.clone(), view.clone()));
    view.over = Over::Nothing;
    view.fault = Some(
        knuckle::trouble::Trouble::new(
            knuckle::trouble::ExitKind::Disk,
            "cannot keep the last act: the disk is full",
        )
        .at("figures/hare/journal.jsonl, after line 812"),
    );
    check("fault", (sight, view));
}

#[test]
fn a_refusal_stands_above_the_rail() {
    let (sight, mut view) = scenes::bench(scenes::reading());
    let mut refusal = Refusal::new("gap 6.4 mm is outside the usual 0–5 mm");
    refusal.ask_again = true;
    view.said = Some(Said::Refused(refusal));
    view.again = true;
    "6.4".clone_into(&mut view.entry);
    check("refused", (sight, view));
}

#[test]
fn pictures_for_the_readme() {
    for size in [(80, 24), (120, 40), (200, 60)] {
        check_picture("bench", &scenes::bench(Ask::Act), size);
    }
    check_picture("clocks", &on_page(Page::Clocks), (120, 40));
    check_picture("floor", &on_page(Page::Floor), (120, 40));
    check_picture("day", &on_page(Page::Day), (120, 40));
    check_picture("night", &nights::sure(), (120, 40));
    check_picture("alarm", &ringing(), (120, 40));
}

/// Everything that is drawn anywhere in this file.
fn everything() -> Vec<(Sight, View)> {
    let mut all = vec![
        scenes::bench(Ask::Act),
        scenes::bench(scenes::gate()),
        scenes::bench(Ask::Cautions(scenes::cautions())),
        scenes::bench(choice()),
        scenes::bench(scenes::lots()),
        scenes::bench(scenes::tests()),
        scenes::bench(scenes::reading()),
        scenes::bench(scenes::pour()),
        scenes::bench(scenes::batches()),
        scenes::bench(start()),
        wait(),
        ringing(),
        nights::sure(),
        nights::unsure(),
        nights::whose(),
    ];
    all.extend(Page::ALL.map(on_page));
    let (sight, mut view) = scenes::bench(Ask::Act);
    for act in [Act::Help, Act::Problem, Act::Who, Act::Air, Act::Go] {
        knuckle::screen::act(&mut view, &sight, act);
        all.push((sight.clone(), view.clone()));
    }
    all
}

#[test]
fn no_size_makes_it_stumble() {
    for (nth, (sight, view)) in everything().into_iter().enumerate() {
        // Every scene at the ends and at some sizes between; three of them at every size.
        let step = if nth < 3 { 1 } else { 7 };
        for width in (1..=80).step_by(step) {
            for height in (1..=30).step_by(step) {
                drawn(&sight, &view, (width, height), Depth::Full);
            }
        }
        for size in [(60, 20), (61, 20), (60, 21), (80, 30), (250, 80)] {
            drawn(&sight, &view, size, Depth::Full);
        }
    }
}

#[test]
fn without_colour_every_word_is_the_same() {
    for (sight, view) in everything() {
        for size in SIZES {
            let (coloured, _) = drawn(&sight, &view, size, Depth::Full);
            let (plain, _) = drawn(&sight, &view, size, Depth::Plain);
            assert_eq!(picture::text(&coloured), picture::text(&plain));
            let colours = plain.content.iter().filter(|cell| {
                cell.fg != ratatui::style::Color::Reset || cell.bg != ratatui::style::Color::Reset
            });
            assert_eq!(colours.count(), 0);
        }
    }
}

#[test]
fn the_first_caution_is_never_cut_off() {
    let (mut sight, view) = scenes::bench(scenes::reading());
    let prompt = sight.prompt.as_mut().unwrap();
    prompt.cautions[0].say = "Lead: no dry sanding, no hot air, wet methods and a P100 mask only, \
                              wash before you eat"
        .to_owned();
    for width in (60..=250).step_by(10) {
        for height in (20..=80).step_by(5) {
            let (buffer, _) = drawn(&sight, &view, (width, height), Depth::Full);
            let page = picture::text(&buffer).replace('\n', " ");
            let words: Vec<&str> = page.split_whitespace().collect();
            for word in prompt_words(&sight) {
                assert!(words.contains(&word.as_str()), "{word} at {width}x{height}");
            }
        }
    }
}

fn prompt_words(sight: &Sight) -> Vec<String> {
    let say = &sight.prompt.as_ref().unwrap().cautions[0].say;
    say.split_whitespace().map(str::to_owned).collect()
}

#[test]
fn a_running_cup_has_its_time_in_blocks_of_five_rows() {
    let cup = scenes::clock("hare", ClockName::Cup, "J3", ClockState::Running, 12);
    for ask in [
        Ask::Act,
        scenes::reading(),
        scenes::pour(),
        scenes::gate(),
        scenes::batches(),
        choice(),
    ] {
        let (mut sight, view) = scenes::bench(ask);
        sight.clocks = vec![cup.clone()];
        for size in SIZES {
            let (buffer, _) = drawn(&sight, &view, size, Depth::Full);
            let page = picture::text(&buffer);
            let times = if size.0 >= 150 { 2 } else { 1 };
            // 12:00 begins with the upright of a 1 at its second point.
            let stroke = "█".repeat(2 * times);
            let rows = page.lines().filter(|line| line.contains(&stroke)).count();
            assert!(rows >= 5 * times, "{size:?}\n{page}");
        }
    }
}

#[test]
fn every_next_act_can_be_touched() {
    for ask in [Ask::Act, scenes::gate(), start(), scenes::pour(), choice()] {
        let digits = matches!(ask, Ask::Choice { .. });
        let (sight, view) = scenes::bench(ask);
        for size in SIZES {
            let (_, drawn) = drawn(&sight, &view, size, Depth::Full);
            let wanted = if digits { Act::Pick(2) } else { Act::Next };
            assert!(
                drawn.touches.iter().any(|touch| touch.act == wanted),
                "{wanted:?} at {size:?}"
            );
            for page in Page::ALL {
                assert!(
                    drawn
                        .touches
                        .iter()
                        .any(|touch| touch.act == Act::Turn(page)),
                    "{page:?} at {size:?}"
                );
            }
        }
    }
}

#[test]
fn every_row_that_can_be_picked_is_on_the_page() {
    let lots = |count: usize| {
        let Ask::Lot {
            record,
            ask,
            options,
            lacking,
        } = scenes::lots()
        else {
            panic!("lots are lots");
        };
        Ask::Lot {
            record,
            ask,
            options: options.into_iter().cycle().take(count).collect(),
            lacking,
        }
    };
    for (ask, rows) in [
        (choice(), 3),
        (lots(2), 2),
        (lots(7), 7),
        (scenes::batches(), 2),
    ] {
        let (sight, view) = scenes::bench(ask);
        for size in SIZES {
            let (_, drawn) = drawn(&sight, &view, size, Depth::Full);
            for row in 1..=rows {
                let wanted = Act::Pick(row);
                assert!(
                    drawn.touches.iter().any(|touch| touch.act == wanted),
                    "row {row} at {size:?}"
                );
            }
        }
    }
    let (sight, view) = scenes::bench(scenes::tests());
    for size in SIZES {
        let (_, drawn) = drawn(&sight, &view, size, Depth::Full);
        for word in 0..6 {
            let wanted = Act::Say { place: 1, word };
            assert!(
                drawn.touches.iter().any(|touch| touch.act == wanted),
                "word {word} at {size:?}"
            );
        }
    }
}

#[test]
fn a_page_too_small_or_at_fault_still_says_what_rings() {
    let (sight, mut view) = ringing();
    let (buffer, _) = drawn(&sight, &view, (40, 10), Depth::Full);
    assert!(picture::text(&buffer).contains("of the time"));
    view.fault = Some(knuckle::trouble::Trouble::new(
        knuckle::trouble::ExitKind::Disk,
        "cannot keep the last act: the disk is full",
    ));
    let (buffer, _) = drawn(&sight, &view, (80, 24), Depth::Full);
    let page = picture::text(&buffer);
    assert!(page.contains("last strokes"), "{page}");
    assert!(page.contains("WRITING HAS STOPPED"), "{page}");
}

/// A fault is read and put aside; what was being typed stands there again.
#[test]
fn what_was_typed_outlasts_a_fault() {
    let (sight, mut view) = scenes::bench(Ask::Act);
    "18.4".clone_into(&mut view.entry);
    view.fault = Some(knuckle::trouble::Trouble::new(
        knuckle::trouble::ExitKind::Disk,
        "cannot keep the last act: the disk is full",
    ));
    assert_eq!(act(&mut view, &sight, Act::Back), Reply::Nothing);
    assert_eq!((view.fault.is_none(), view.entry.as_str()), (true, "18.4"));
    act(&mut view, &sight, Act::Back);
    assert_eq!(view.entry, "");
}

/// A name, however wide, leaves room for the page and the hour.
#[test]
fn a_wide_name_leaves_room_in_the_head() {
    let (mut sight, view) = on_page(Page::Clocks);
    sight.person = "金箔師の長い名前".repeat(4);
    let (buffer, _) = drawn(&sight, &view, (80, 24), Depth::Full);
    let page = picture::text(&buffer);
    let head = page.lines().next().unwrap_or_default();
    for words in ["Clocks", "…", "14:02"] {
        assert!(head.contains(words), "{words}: {head}");
    }
}
