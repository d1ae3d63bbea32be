//! Keys on the real round of the screen over a bench in memory: `check(before, keys, after)`.

use std::collections::VecDeque;

use crossterm::event::{KeyCode, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use ratatui::{Terminal, backend::TestBackend};

use knuckle::card::ClockName;
use knuckle::deed::{Answered, Asked, Deed, Deviated, DeviationKind, Work};
use knuckle::screen::{
    Event, NoEasel, Opening, Over, Page, Reply, Said, Sight, Silent, Turn, go_round, keys,
    keys::Act,
};
use knuckle::standing::{Ask, AtStep, Book, Intent, LotChoice, OpensBy};

use crate::memory;
use crate::played::{After, Behind, Hand, Stands, check, events, play, shop, standing_at};

#[test]
fn a_wrong_key_does_nothing_at_all() {
    let before = play(shop(), "hare", VecDeque::new());
    for wrong in ["z", "<tab>", "<back>", "y", "x", "e", "o", "#", "."] {
        let after = check((shop(), "hare"), wrong, (&[], &[]));
        assert_eq!(after.view, before.view, "{wrong}");
        assert_eq!(after.page, before.page, "{wrong}");
    }
}

/// What was answered stands on the floor for whoever takes the figure up next.
#[test]
fn an_answer_to_a_question_stands_on_the_floor() {
    let mut bench = shop();
    let book = Book::Figure("hare".to_owned());
    let text = "may J4 be opened?".to_owned();
    let line = bench.keep(&book, Deed::Asked(Asked { text })).n;
    bench.by = "marguerite".to_owned();
    let answer = Answered {
        line,
        accepted: false,
        why: "not before J3 holds".to_owned(),
    };
    bench.keep(&book, Deed::Answered(answer));
    bench.by = "odile".to_owned();
    let words = ["marguerite said no on", "not before J3 holds"];
    let after = check((bench, "hare"), "f", (&[], &words));
    assert!(!after.page.contains("to answer"), "{}", after.page);
}

/// The hare before its dry fit, of which one thing was done otherwise, and refused.
fn refused_at_the_bench() -> (memory::Bench, &'static str) {
    let begun = |ask: &Ask| matches!(ask, Ask::Cautions(_));
    let (mut bench, figure) = standing_at("dry-fit", Some("J3"), begun);
    let book = Book::Figure(figure.to_owned());
    let open = bench.house().figure(figure).unwrap().open_jobs().next();
    let deviated = Deviated {
        work: open.unwrap().work.clone(),
        step: String::new(),
        kind: DeviationKind::TooEarly,
        what: "clamped before it was wetted".to_owned(),
    };
    let line = bench.keep(&book, Deed::Deviated(deviated)).n;
    let worker = std::mem::replace(&mut bench.by, "marguerite".to_owned());
    let refused = Answered {
        line,
        accepted: false,
        why: "open it, wet it".to_owned(),
    };
    bench.keep(&book, Deed::Answered(refused));
    bench.by = worker;
    (bench, figure)
}

#[test]
fn what_was_refused_at_the_bench_is_put_right_there() {
    let refusal = "refused by Marguerite: open it, wet it";
    let row = "put right: clamped before it was wetted";
    check(refused_at_the_bench(), "", (&[], &[refusal]));
    let list = check(refused_at_the_bench(), "p", (&[], &[row]));
    let line = list.page.lines().find(|line| line.contains(row)).unwrap();
    let digit = line
        .split_whitespace()
        .find(|word| word.parse::<u8>().is_ok());
    let keys = format!("p{}wetted anew<enter>", digit.unwrap());
    let kept = ["put right line"];
    let after = check(refused_at_the_bench(), &keys, (&["put_right"], &kept));
    assert!(!after.page.contains(refusal), "{}", after.page);
}

#[test]
fn letters_turn_to_the_screens_and_back() {
    let page = |keys| play(shop(), "hare", events(keys)).view.page;
    assert_eq!(page("c"), Page::Clocks);
    assert_eq!(page("<f2>"), Page::Clocks);
    assert_eq!(page("f"), Page::Floor);
    assert_eq!(page("d"), Page::Day);
    assert_eq!(page("dB"), Page::Bench);
    check((shop(), "hare"), "?", (&[], &["explains", "everywhere"]));
    check((shop(), "hare"), "??", (&[], &["which operation?"]));
}

#[test]
fn on_the_floor_one_key_offers_what_to_do_next_and_a_digit_takes_it_to_the_bench() {
    check((shop(), "hare"), "fn", (&[], &["what next?", "if left:"]));
    let after = check((shop(), "hare"), "fn1", (&["picked"], &["picked"]));
    assert_eq!(after.view.page, Page::Bench);
    let Deed::Picked(picked) = &after.lines[0].deed else {
        panic!("{:?}", after.lines);
    };
    assert_eq!(after.view.figure.as_ref(), Some(&picked.figure));
    assert_eq!((picked.place, picked.offered.len()), (1, 3));
    assert_eq!(picked.offered[0].work, picked.work);
    // Elsewhere the key means nothing.
    check((shop(), "hare"), "cn", (&[], &[]));
}

#[test]
fn a_day_that_is_closed_is_followed_by_the_forecast_of_that_evening() {
    let after = check(
        (shop(), "hare"),
        "g41g51",
        (
            &["day_opened", "day_closed", "forecasted"],
            &["closed the day"],
        ),
    );
    let Deed::Forecasted(forecast) = &after.lines[2].deed else {
        panic!("{:?}", after.lines);
    };
    assert_eq!(forecast.rows.len(), 5);
    assert!(forecast.rows.iter().all(|row| row.risk_percent.is_some()));
    // The next look at the floor tells which promises it saw at risk.
    let risk = forecast
        .rows
        .iter()
        .filter_map(|row| row.risk_percent)
        .max();
    assert!(25 <= risk.unwrap(), "{forecast:?}");
    let words = format!("late in {} %", risk.unwrap());
    check(
        (shop(), "hare"),
        "g41g51f",
        (&["day_opened", "day_closed", "forecasted"], &[&words]),
    );
}

#[test]
fn nobody_at_the_bench_is_asked_first() {
    let mut nobody = shop();
    nobody.by = String::new();
    let after = check((nobody, "hare"), "", (&[], &["who is at the bench?"]));
    assert_eq!(after.view.by, "");
    let mut nobody = shop();
    nobody.by = String::new();
    let after = check((nobody, "hare"), "1", (&[], &["Odile"]));
    assert_eq!(after.view.by, "odile");
}

#[test]
fn a_figure_is_begun_with_one_key() {
    let after = check(
        (shop(), "hare"),
        "1",
        (&["begun"], &["running hare", "step 1 of"]),
    );
    assert!(matches!(after.view.said, Some(Said::Kept(_))));
    assert!(after.view.work.is_some());
}

#[test]
fn the_last_act_is_struck_within_ten_seconds() {
    check(
        (shop(), "hare"),
        "1u",
        (&["begun", "struck"], &["which operation?"]),
    );
    check((shop(), "hare"), "u", (&[], &["nothing of the last 10 s"]));
}

#[test]
fn air_is_two_numbers() {
    let after = check(
        (shop(), "hare"),
        "a118.5<enter>62<enter>",
        (&["air"], &["18.5 °C, 62 %"]),
    );
    assert_eq!(after.view.entry, "");
    // A figure taken back is gone; Esc leaves everything as it was.
    check(
        (shop(), "hare"),
        "a119<back>8<enter>62<enter>",
        (&["air"], &["18 °C, 62 %"]),
    );
    check(
        (shop(), "hare"),
        "a118.5<esc>",
        (&[], &["which operation?"]),
    );
}

/// A live cup stands first among what a thermometer is held to.
#[test]
fn the_wall_of_a_live_cup_is_one_number() {
    let (mut shop, figure) = at_lots();
    let work = open_work(&shop);
    while !matches!(shop.prompt(figure, &work).ask, Ask::Act) {
        let prompt = shop.prompt(figure, &work);
        shop.answer(figure, &work, &prompt);
    }
    check(
        (shop, figure),
        "a134.5<enter>",
        (&["cup_read"], &["its wall at 34.5 °C"]),
    );
}

/// A mix whose lots are asked for.
fn at_lots() -> (memory::Bench, &'static str) {
    standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Lot { .. })
    })
}

/// The same key twice may be one that bounced: a lot with a warning is taken on a yes.
#[test]
fn a_lot_with_a_warning_is_taken_on_a_yes_and_not_by_the_same_key_again() {
    let (shop, figure) = at_lots();
    let work = open_work(&shop);
    let Ask::Lot { options, .. } = shop.prompt(figure, &work).ask else {
        unreachable!()
    };
    let warned = |lot: &LotChoice| lot.warning.is_some();
    let key = options.iter().position(warned).unwrap() + 1;
    let asked = &["still sealed: take it all the same?"][..];
    check(at_lots(), &format!("{key}{key}{key}"), (&[], asked));
    check(at_lots(), &format!("{key}n"), (&[], &["Lots of resin"]));
    check(at_lots(), &format!("{key}y"), (&["recorded"], &[]));
}

#[test]
fn a_refused_number_is_said_and_stays() {
    let after = check(
        (shop(), "hare"),
        "a1185<enter>62<enter>",
        (&[], &["✗ not now"]),
    );
    assert_eq!(after.view.entry, "62");
}

#[test]
fn a_note_is_one_line_of_text() {
    // Without a job in front: 1 asks the supervisor, 2 writes a note.
    check(
        (shop(), "hare"),
        "p2loose ear<enter>",
        (&["jotted"], &["noted: loose ear"]),
    );
    check(
        (shop(), "hare"),
        "p1May J4 follow?<enter>d",
        (&["asked"], &["question", "May J4 follow?"]),
    );
    check((shop(), "hare"), "p2q<esc>", (&[], &["which operation?"]));
}

#[test]
fn cautions_and_checks_are_ticked_with_the_space_bar() {
    let before = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Cautions(_))
    });
    let after = play(before.0, before.1, events("<space>"));
    assert!(!after.kept.is_empty());
    assert!(
        after.kept.iter().all(|tag| tag == "ticked"),
        "{:?}",
        after.kept
    );
}

#[test]
fn grams_are_typed_and_taken_with_enter() {
    let pouring = || {
        standing_at("mix-and-lay-up", Some("J3"), |ask| {
            matches!(ask, Ask::Pour { .. })
        })
    };
    let (shop, _) = pouring();
    let asked = asked_grams(&shop);
    check(pouring(), &format!("{asked}<enter>"), (&["poured"], &[]));
    check(pouring(), "<enter>", (&[], &["type the number first"]));
    check(pouring(), "x1", (&[], &["there is nothing in the cup"]));
    let spilled = format!("{asked}<enter>x3");
    check(pouring(), &spilled, (&["poured", "discarded"], &[]));
    // A second point is not taken.
    let after = check(pouring(), "1.2.3", (&[], &[]));
    assert_eq!(after.view.entry, "1.23");
    // Behind a number that was refused the next figure begins a new one.
    let anew = format!("9999<enter>{asked}<enter>");
    check(pouring(), &anew, (&["poured"], &[]));
}

fn asked_grams(shop: &memory::Bench) -> f64 {
    let work = open_work(shop);
    match shop.prompt("hare", &work).ask {
        Ask::Pour { asked_g, .. } => asked_g,
        other => panic!("{other:?}"),
    }
}

fn open_work(shop: &memory::Bench) -> Work {
    let hare = shop.house().figure("hare").unwrap();
    hare.open_jobs().last().unwrap().work.clone()
}

/// A batch that is refused is no end: its lots are picked anew, gloves on, with one key.
#[test]
fn from_a_batch_other_lots_are_one_key_away() {
    let at_batch = || {
        standing_at("mix-and-lay-up", Some("J3"), |ask| {
            matches!(ask, Ask::Batch { .. })
        })
    };
    let after = check(at_batch(), "r", (&["reread"], &["Lots of resin, hardener"]));
    let (shop, figure) = at_batch();
    let before = play(shop, figure, VecDeque::new());
    assert!(before.page.contains("other lots"), "{}", before.page);
    assert!(!after.page.contains("other lots"), "{}", after.page);
}

#[test]
fn a_whole_joint_is_mixed_and_closed_with_keys_alone() {
    let (mut shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Batch { .. })
    });
    let work = open_work(&shop);
    let mut typed = Vec::new();
    let mut ended = false;
    for _ in 0..400 {
        let prompt = shop.prompt(figure, &work);
        let keys = match &prompt.ask {
            Ask::Finished { .. } | Ask::Hold { .. } => {
                ended = true;
                break;
            }
            Ask::Wait { ready: false, .. } => {
                shop.wait(60 * 6);
                shop.read_air(figure);
                continue;
            }
            Ask::Batch { offers } => {
                let good = offers.iter().position(|offer| offer.refused.is_none());
                (good.unwrap() + 1).to_string()
            }
            Ask::Pour { asked_g, .. } => format!("{asked_g}<enter>"),
            Ask::Reading { usual, .. } => format!("{}<enter>", usual[0]),
            Ask::Choice { .. } | Ask::Lot { .. } => "1".to_owned(),
            Ask::Test {
                words,
                ready_word,
                places,
                ..
            } if places.iter().any(|place| !place.ready) => {
                let ready = words.iter().position(|word| word == ready_word);
                (ready.unwrap() + 1).to_string()
            }
            Ask::Words { .. } => "<space>as planned<enter>".to_owned(),
            Ask::Gate(verdict) => match &verdict.opens_by {
                OpensBy::Vouch(_) | OpensBy::Renew { .. } => "<space>".to_owned(),
                OpensBy::AirReading(_) => "<space>20<enter>50<enter>".to_owned(),
                OpensBy::Surface => "20<enter>".to_owned(),
                other => panic!("{}: {other:?}", verdict.why),
            },
            _ => "<space>".to_owned(),
        };
        // An alarm that rings takes the first key; it is answered before.
        let mut behind = Behind(shop);
        press(&mut behind, figure, &keys);
        shop = behind.0;
        shop.wait(1);
        typed.push((prompt.step.clone(), keys));
    }
    assert!(ended, "stands still after {:?}", typed.last());
    let tags: Vec<String> = shop.lines[&Book::Figure("hare".to_owned())]
        .iter()
        .map(|line| line.deed.tag())
        .collect();
    assert!(tags.iter().any(|tag| tag == "mixed"), "{typed:?}");
    // Between opening the tins and the last clamp nothing but figures, Space and Enter.
    for (step, keys) in &typed {
        let bare = keys.replace("<space>", "").replace("<enter>", "");
        let words = keys.contains("as planned");
        assert!(
            words || bare.chars().all(|key| key.is_ascii_digit() || key == '.'),
            "{step}: {keys}"
        );
    }
}

fn press(behind: &mut Behind, figure: &str, keys: &str) {
    let opening = Opening {
        by: behind.0.by.clone(),
        bench: "trial".to_owned(),
        figure: Some(figure.to_owned()),
        ..Opening::default()
    };
    let mut dial = Stands(behind.0.now);
    let mut bell = Silent;
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut turn = Turn::new(behind, &mut dial, &mut bell, opening);
    let mut all = VecDeque::new();
    // Every alarm that rings first takes one key.
    for _ in 0..turn.pane().sight.ringing().len() {
        all.extend(events("<space>"));
    }
    all.extend(events(keys));
    go_round(&mut turn, &mut terminal, &mut Hand(all), &mut NoEasel).unwrap();
}

/// A bench where a cup of J3 runs and its half-way mark rings.
fn cup_ringing() -> (memory::Bench, &'static str) {
    let (mut shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Start { .. })
    });
    let work = open_work(&shop);
    shop.at_step(figure, &work, AtStep::Start).unwrap();
    let ends = knuckle::standing::clock_views(shop.house(), shop.now)
        .into_iter()
        .find(|clock| clock.clock == ClockName::Cup)
        .and_then(|clock| clock.closes)
        .unwrap();
    let half = (ends - shop.now).num_minutes() / 2 + 1;
    shop.wait(half);
    (shop, figure)
}

#[test]
fn any_key_answers_an_alarm_and_does_nothing_else() {
    for key in ["<space>", "v", "c", "<enter>"] {
        let after = check(cup_ringing(), key, (&["alarm_answered"], &[]));
        assert_eq!(after.view.page, Page::Bench, "{key}");
    }
    let after = play(cup_ringing().0, "hare", VecDeque::new());
    assert!(after.page.contains("Space or any key"), "{}", after.page);
}

/// After a power cut the program starts with a cup running and nobody at the bench: the list of
/// people is not hidden behind the alarm, and then any key answers.
#[test]
fn an_alarm_locks_nobody_out() {
    for keys in ["1<space>", "<esc>c1<space>", "<esc><space>1<space>"] {
        let (mut shop, figure) = cup_ringing();
        shop.by.clear();
        let after = play(shop, figure, events(keys));
        assert_eq!(after.kept, ["alarm_answered"], "{keys}: {}", after.page);
    }
    let (mut shop, figure) = cup_ringing();
    shop.by.clear();
    let after = play(shop, figure, VecDeque::new());
    assert!(
        after.page.contains("say who is at the bench"),
        "{}",
        after.page
    );
}

/// Gloves must be changed before their time: no key puts their alarm off.
#[test]
fn the_alarm_of_what_must_be_done_before_is_not_put_off() {
    let words = "must be done before its time: its alarm is not put off";
    check(cup_ringing(), "z", (&[], &[words]));
}

#[test]
fn leaving_asks_only_while_an_alarm_rings() {
    check(cup_ringing(), "q", (&[], &["leave while an alarm rings?"]));
    let mut keys = events("qn");
    keys.push_back(Event::Due);
    let after = play(cup_ringing().0, "hare", keys);
    assert!(!after.view.leaving);
}

/// A question takes its own keys and Esc: the screens, the lists and the acts that lie behind
/// it are not reached by a slip, by key or by touch.
#[test]
fn a_question_takes_its_own_keys_and_nothing_behind_it() {
    let asked = || standing_at("scheme", None, |ask| matches!(ask, Ask::Hold { .. }));
    let asks = |after: &After| matches!(after.view.over, Over::Question(_));
    let (shop, figure) = asked();
    // Odile may not sign: Marguerite comes, reads the sentence above every card, and signs.
    let before = play(shop, figure, events("w5<space><space>"));
    assert!(asks(&before), "{}", before.page);
    let behind = "b c f d i t w a p g k u q ? h 1 9 0 o r x e s m l z <enter> <tab> <back>";
    for key in behind
        .split(' ')
        .map(|key| format!("w5<space><space>{key}"))
    {
        let (shop, figure) = asked();
        let after = play(shop, figure, events(&key));
        assert_eq!(after.view, before.view, "{key}");
        assert_eq!(after.page, before.page, "{key}");
        assert_eq!(after.kept, Vec::<String>::new(), "{key}");
    }
    let (shop, figure) = asked();
    let mut keys = events("w5<space><space>");
    keys.extend((1..=12).map(|n| Event::Key(KeyCode::F(n).into())));
    let after = play(shop, figure, keys);
    assert_eq!(after.view, before.view, "function keys");
    // A touch on a word that a page behind left over is no more than its key.
    for act in [
        Act::Turn(Page::Clocks),
        Act::Next,
        Act::Problem,
        Act::Go,
        Act::Strike,
        Act::Pick(1),
        Act::Down,
        Act::Help,
    ] {
        let mut view = before.view.clone();
        let reply = knuckle::screen::act(&mut view, &Sight::default(), act);
        assert_eq!((reply, &view), (Reply::Nothing, &before.view), "{act:?}");
    }
    let (shop, figure) = asked();
    let after = play(shop, figure, events("w5<space><space><esc>"));
    assert_eq!(after.view.over, Over::Nothing);
    assert_eq!(after.kept, Vec::<String>::new());
}

#[test]
fn touching_a_word_is_pressing_its_key() {
    let (shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Confirm { .. })
    });
    let blank = play(shop, figure, VecDeque::new());
    let row = blank
        .page
        .lines()
        .position(|line| line.contains("c Clocks"));
    let line = blank.page.lines().nth(row.unwrap()).unwrap();
    let column = line.split("c Clocks").next().unwrap().chars().count();
    let touch = Event::Mouse(MouseEvent {
        kind: MouseEventKind::Down(MouseButton::Left),
        column: u16::try_from(column + 3).unwrap(),
        row: u16::try_from(row.unwrap()).unwrap(),
        modifiers: KeyModifiers::NONE,
    });
    let (shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Confirm { .. })
    });
    let after = play(shop, figure, VecDeque::from([touch]));
    assert_eq!(after.view.page, Page::Clocks);
}

#[test]
fn pasted_text_is_made_harmless() {
    let mut all = events("p2");
    all.push_back(Event::Pasted("ear\u{1b}[2J\nloose".to_owned()));
    all.extend(events("<enter>"));
    let after = play(shop(), "hare", all);
    assert_eq!(after.kept, ["jotted"]);
    let text = after.lines[0].deed.fields()["text"].clone();
    assert_eq!(text, "ear␛[2J loose");
}

#[test]
fn the_table_as_markdown_names_every_key() {
    let page = keys::markdown();
    for row in keys::TABLE {
        assert!(
            page.contains(&format!("| `{}` |", row.shown)),
            "{}",
            row.shown
        );
    }
    assert_eq!(page.lines().count(), keys::TABLE.len() + 2);
}

#[test]
fn a_hold_is_signed_from_the_day_by_whoever_may() {
    let holding = || {
        let (mut shop, figure) = standing_at("scheme", None, |ask| matches!(ask, Ask::Hold { .. }));
        shop.by = "marguerite".to_owned();
        (shop, figure)
    };
    let page = &["to sign"];
    check(holding(), "d", (&[], page));
    check(holding(), "d1", (&[], &["Marguerite signs?"]));
    check(
        holding(),
        "d1y",
        (&["signed", "finished"], &["kept: signed"]),
    );
    check(holding(), "d1nnot as drawn<enter>", (&["signed"], &[]));
    check(holding(), "d1<esc>", (&[], page));
    let (mut shop, figure) = holding();
    let refuse = AtStep::Sign {
        accepted: false,
        why: "the crown is not drawn".to_owned(),
    };
    shop.at_step(figure, &open_work(&shop), refuse).unwrap();
    shop.by = "odile".to_owned();
    check(
        (shop, figure),
        " crown drawn<enter>",
        (&["shown_again"], &["put right by Odile", "crown drawn"]),
    );
    let (mut shop, figure) = holding();
    let Ask::Hold { may_sign, .. } = shop.prompt(figure, &open_work(&shop)).ask else {
        panic!("the scheme waits for a signature");
    };
    let people = shop.cards.shop.people.iter();
    let other = people.map(|person| person.id.clone()).find(|id| {
        let name = &shop
            .cards
            .shop
            .people
            .iter()
            .find(|p| p.id == *id)
            .unwrap()
            .name;
        !may_sign.contains(id) && !may_sign.contains(name)
    });
    shop.by = other.unwrap();
    check((shop, figure), "d1y", (&[], &["✗ not now"]));
}

/// Several cautions are read by one key, and one key takes all of them back.
#[test]
fn what_one_key_kept_one_key_strikes() {
    let (shop, figure) = standing_at(
        "mix-and-lay-up",
        Some("J3"),
        |ask| matches!(ask, Ask::Cautions(cautions) if 1 < cautions.len()),
    );
    let after = play(shop, figure, events(" u"));
    assert!(after.page.contains("struck"), "{}", after.page);
    let of = |tag: &str| after.kept.iter().filter(|kept| *kept == tag).count();
    assert!(1 < of("ticked"));
    assert_eq!(of("ticked"), of("struck"));
}

/// Who may not walk an operation reads it on the page, and not only when the key was pressed.
#[test]
fn who_has_no_mark_is_told_before_any_key() {
    let before = |by: &str| {
        let (mut shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |_| true);
        shop.by = by.to_owned();
        play(shop, figure, VecDeque::new()).page
    };
    let page = before("ines");
    assert!(page.contains("Ines has no mark for: Mix, lay up"), "{page}");
    assert!(page.contains("somebody else is here"), "{page}");
    assert!(!before("odile").contains("has no mark"));
}

/// What the supervisor answers stands at the bench, beside the step in front, for some days.
#[test]
fn an_answer_is_read_at_the_bench() {
    let asked = "may J3 stand over night?";
    let page = |answers: bool, days: i64| {
        let (mut shop, figure) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
            matches!(ask, Ask::Start { .. })
        });
        let hand = shop.by.clone();
        let ask = Intent::Ask {
            figure: figure.to_owned(),
            text: asked.to_owned(),
        };
        shop.act(&ask).unwrap();
        if answers {
            shop.by = "marguerite".to_owned();
            let matters = &shop.standing.figures[figure].matters;
            let said = Intent::Answer {
                figure: figure.to_owned(),
                line: matters.last().unwrap().stamp.n,
                accepted: true,
                why: "no, close it today".to_owned(),
            };
            shop.act(&said).unwrap();
        }
        shop.by = hand;
        shop.wait(days * 24 * 60);
        play(shop, figure, VecDeque::new()).page
    };
    let open = page(false, 0);
    assert!(!open.contains(asked), "{open}");
    let answered = page(true, 0);
    let words = format!("▸ Marguerite answers: no, close it today · {asked}");
    assert!(answered.contains(&words), "{answered}");
    let known = page(true, 4);
    assert!(!known.contains("answers:"), "{known}");
}

#[test]
fn every_kept_line_is_told_in_words() {
    let (shop, _) = standing_at("mix-and-lay-up", Some("J3"), |ask| {
        matches!(ask, Ask::Start { .. })
    });
    for line in shop.lines.values().flatten() {
        let words = knuckle::report::tell(line, &shop.cards);
        assert!(words.contains(' '), "{words}");
        assert_ne!(words, line.deed.tag());
    }
    let told: Vec<String> = shop
        .lines
        .values()
        .flatten()
        .map(|line| knuckle::report::tell(line, &shop.cards))
        .collect();
    for words in [
        "began ",
        "poured resin: ",
        "done: ",
        "looked and confirmed: ",
    ] {
        assert!(told.iter().any(|line| line.starts_with(words)), "{words}");
    }
}
