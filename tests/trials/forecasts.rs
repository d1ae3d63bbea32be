//! The forecast of a shop: what is read from its cards and journals, and what it says of the
//! sample shop at a fixed moment. Whole outputs stand in `golden/commands`.

use std::slice;

use chrono::{DateTime, Datelike, FixedOffset};
use knuckle::card::{Cards, DaysOff, GateKind, Mark};
use knuckle::deed::{Attended, Begun, Deed, Done, Finished, Line, SentBack, Work};
use knuckle::plan::{
    Board, Change, Edge, Forecast, ForecastAsk, Luck, NextAsk, Outcome, Shift, ahead, forecast,
    next, order, prepare_what_if, spent,
};
use knuckle::standing::{Book, House, Standing};

use crate::ahead_kit::broken;
use crate::kit::golden;
use crate::kit::sealed::Sealed;
use crate::memory::{at, sample_cards};

/// A Wednesday morning of the sample shop, its journals just written.
const NOW: &str = "2026-11-25T08:00:00+00:00";

/// The sample shop with one figure and a short route.
fn short(route: &[(&str, &[&str])]) -> Cards {
    let mut cards = sample_cards();
    cards.figures.retain(|id, _| id == "heron");
    let heron = cards.figures.get_mut("heron").unwrap();
    heron.route.retain(|stop| {
        route
            .iter()
            .any(|(operation, _)| *operation == stop.operation)
    });
    for stop in &mut heron.route {
        let named = route
            .iter()
            .find(|(operation, _)| *operation == stop.operation);
        stop.on = named.unwrap().1.iter().map(|it| (*it).to_owned()).collect();
    }
    heron.promised = None;
    cards
}

fn asked(cards: &Cards, standing: &Standing, change: &Change) -> Forecast {
    let now = at(NOW);
    let ask = ForecastAsk {
        figure: Some("heron"),
        runs: 400,
        seed: 4,
        tomorrow: *now.offset(),
    };
    let house = House { cards, standing };
    if *change == Change::default() {
        return forecast(house, &ask, now);
    }
    let changes = slice::from_ref(change);
    let (mut is, then) =
        prepare_what_if(house, (&ask, changes), now).reckon_beside(|plans, play| play(plans));
    let then = &then[0];
    let row = &mut is.rows[0];
    let date = |is, shift| match shift {
        Shift::NotTold => is,
        Shift::To(at) => at,
    };
    row.ninety = date(row.ninety, then[0].ninety);
    row.fifty = date(row.fifty, then[0].fifty);
    row.never.clone_from(&then[0].never);
    is
}

fn only(forecast: &Forecast) -> &Outcome {
    assert_eq!(forecast.rows.len(), 1);
    &forecast.rows[0]
}

fn ninety(cards: &Cards, standing: &Standing, change: &Change) -> DateTime<FixedOffset> {
    only(&asked(cards, standing, change)).ninety.unwrap()
}

/// A week of one air in a room, read every hour.
fn week(room: &str, temp_c: f64, humidity_percent: f64) -> Standing {
    let mut standing = Standing::default();
    let lines: Vec<Line> = (1..=168)
        .map(|hour| Line {
            n: hour,
            at: at(NOW) - chrono::Duration::hours(168 - i64::try_from(hour).unwrap()),
            by: "wren".into(),
            bench: "bench 1".into(),
            deed: Deed::Air(knuckle::deed::Air {
                room: room.into(),
                temp_c,
                humidity_percent,
                source: "hand".into(),
            }),
            entered_later: None,
            strange: Vec::new(),
        })
        .collect();
    standing.replay_all(&Book::Shop, &lines);
    standing
        .figures
        .insert("heron".into(), std::sync::Arc::default());
    standing
}

const VARNISH: &[(&str, &[&str])] = &[("varnish", &["head"])];
const LEAF: &[(&str, &[&str])] = &[("size-and-leaf", &["wing-near", "wing-off"])];

#[test]
fn the_late_end_lies_behind_the_middle_and_never_on_a_closed_day() {
    let found = asked(
        &short(VARNISH),
        &week("still-room", 20.0, 50.0),
        &Change::default(),
    );
    let row = only(&found);
    assert!(
        at(NOW) < row.fifty.unwrap() && row.fifty <= row.ninety,
        "{row:?}"
    );
    // Six coats on a worn zone with at least 16 h between them (the varnish's card): the last is
    // laid on the sixth day at the earliest, and Sunday is closed.
    assert!(120 < (row.fifty.unwrap() - at(NOW)).num_hours(), "{row:?}");
    assert_eq!(found.path.len(), 1);
    assert!(
        row.ninety.unwrap().weekday() != chrono::Weekday::Sun,
        "{row:?}"
    );
}

#[test]
fn a_closed_week_and_somebody_away_move_the_end_by_as_much() {
    let standing = week("still-room", 20.0, 50.0);
    let mut cards = short(LEAF);
    let open = ninety(&cards, &standing, &Change::default());
    let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
    let off = DaysOff {
        from: day("2026-11-25"),
        to: day("2026-12-01"),
    };
    // Gilding is done by two people of the sample shop.
    for person in &mut cards.shop.people {
        if person.marks.contains(&Mark::Gild) {
            person.away = vec![off];
        }
    }
    let away = ninety(&cards, &standing, &Change::default());
    assert!(
        7 <= (away - open).num_days() && (away - open).num_days() <= 9,
        "{open} {away}"
    );
    for person in &mut cards.shop.people {
        person.away.clear();
    }
    cards.shop.closed = vec![off];
    let closed = ninety(&cards, &standing, &Change::default());
    assert!(7 <= (closed - open).num_days(), "{open} {closed}");
}

#[test]
fn a_warmer_room_dries_sooner_and_a_slower_hardener_later() {
    let warmer = |by| Change {
        warmer: vec![("still-room".into(), by)],
        ..Change::default()
    };
    let (cards, standing) = (short(VARNISH), week("still-room", 12.0, 60.0));
    let is = ninety(&cards, &standing, &Change::default());
    assert!(ninety(&cards, &standing, &warmer(8.0)) < is);
    assert!(is < ninety(&cards, &standing, &warmer(-4.0)));
    let (mut cards, standing) = (
        short(&[("mix-and-lay-up", &["J1"])]),
        week("still-room", 20.0, 50.0),
    );
    // The wood need not be read first here: its days would hide the hours of the glue.
    cards.checklists.remove("dry");
    let glued = |with: &str| {
        let change = Change {
            glue: Some(with.into()),
            ..Change::default()
        };
        ninety(&cards, &standing, &change)
    };
    assert!(glued("fast-epoxy") < glued("gap-paste"));
}

#[test]
fn a_second_gilder_never_makes_it_later() {
    let (cards, standing) = (short(LEAF), week("still-room", 20.0, 50.0));
    let second = Change {
        second: vec![Mark::Gild],
        ..Change::default()
    };
    let is = ninety(&cards, &standing, &Change::default());
    assert!(ninety(&cards, &standing, &second) <= is);
}

#[test]
fn wood_that_never_dries_has_no_date_and_says_which_air_would_do() {
    // Wood Handbook (2010), table 4-2: at 21.1 °C and 75 % wood comes to 14.4 %, and 12.0 % needs
    // 65 %, 11.0 % needs 60 %; so half a point to spare lies half-way between.
    let cards = short(&[
        ("dry", &["head"]),
        ("sand", &["head"]),
        ("varnish", &["head"]),
    ]);
    let damp = asked(&cards, &week("still-room", 21.1, 75.0), &Change::default());
    let row = only(&damp);
    assert_eq!((row.ninety, row.fifty), (None, None));
    assert_eq!(
        row.never.as_deref(),
        Some(
            "never dry in the still room (gilding): 21 °C and 75 % lead to 14.4 %, at most 12 % is needed; bring it to 62 % or below"
        )
    );
    let dried = Change {
        humidity: vec![("still-room".into(), 50.0)],
        ..Change::default()
    };
    let row = asked(&cards, &week("still-room", 20.0, 75.0), &dried);
    assert!(only(&row).never.is_none() && only(&row).ninety.is_some());
    // Air damper than the table has dries nothing either.
    let soaked = Change {
        humidity: vec![("still-room".into(), 99.0)],
        ..Change::default()
    };
    let row = asked(&cards, &week("still-room", 20.0, 75.0), &soaked);
    let never = only(&row).never.as_deref();
    assert!(
        never.is_some_and(|why| why.contains("99 % lead to") && why.contains("or more")),
        "{never:?}"
    );
    // Warm air with the same water in it is drier air: 75 % at 20 °C is 55 % at 25 °C.
    let warmed = Change {
        warmer: vec![("still-room".into(), 5.0)],
        ..Change::default()
    };
    assert!(
        only(&asked(&cards, &week("still-room", 20.0, 75.0), &warmed))
            .never
            .is_none()
    );
}

#[test]
fn the_network_of_a_route_keeps_windows_waits_and_signatures() {
    let (cards, standing) = (short(LEAF), week("still-room", 20.0, 50.0));
    let house = House {
        cards: &cards,
        standing: &standing,
    };
    let project = ahead(house, (at(NOW), *at(NOW).offset()), &Change::default());
    let tack: Vec<_> = project
        .tasks
        .iter()
        .filter(|it| it.limit.is_some_and(|it| it.what == Edge::Over))
        .collect();
    assert!(2 <= tack.len(), "each panel's leaf has a window");
    for task in tack {
        // Slow size, dead after 20 h at the earliest at 20 °C; a degree warmer it dies sooner.
        let closes = task.limit.unwrap().minutes;
        assert!(18 * 60 < closes && closes < 20 * 60, "{closes}");
        assert_eq!((task.kind, task.mark), (Attended::Hands, Mark::Gild));
    }
    let signed = project
        .tasks
        .iter()
        .filter(|it| it.another && it.mark == Mark::Sign);
    assert_eq!(signed.count(), 4, "two hold points on each panel");
    // The referee of the small shops finds nothing in this one either.
    let best = order(&project, 1, 1_000);
    let luck = Luck::likely(&project);
    let mut board = Board::new(&project);
    board.place(&project, &best, &luck);
    assert_eq!(
        broken(&project, &luck, board.placed()),
        Vec::<String>::new()
    );
    assert!(board.done(&project, 0).is_some());
}

/// Lines of one figure's journal.
fn journal(all: &[(&str, &str, Deed)]) -> Vec<Line> {
    (1..)
        .zip(all)
        .map(|(n, (time, by, deed))| Line {
            n,
            at: at(time),
            by: (*by).into(),
            bench: "bench 1".into(),
            deed: deed.clone(),
            entered_later: None,
            strange: Vec::new(),
        })
        .collect()
}

fn work(operation: &str, round: u32) -> Work {
    Work {
        operation: operation.into(),
        target: Some("head".into()),
        round,
    }
}

fn done(operation: &str, step: &str) -> Deed {
    Deed::Done(Done {
        work: work(operation, 1),
        step: step.into(),
        starts: Vec::new(),
        ends: Vec::new(),
        coat: None,
    })
}

#[test]
fn hours_are_the_time_before_each_act_breaks_cut_and_waits_left_out() {
    let cards = sample_cards();
    let mut standing = Standing::default();
    let begun = |operation: &str| Deed::Begun(Begun::of(work(operation, 1)));
    let finished = |operation: &str| {
        let work = work(operation, 1);
        Deed::Finished(Finished { work })
    };
    let lines = journal(&[
        ("2026-11-23T08:00:00+00:00", "tobias", begun("sand")),
        // Forty minutes of hands.
        ("2026-11-23T08:40:00+00:00", "tobias", done("sand", "look")),
        // Three hours to the next act: two of them count.
        ("2026-11-23T11:40:00+00:00", "tobias", done("sand", "paper")),
        // The end of a wait: the hours before it are nobody's.
        (
            "2026-11-23T13:00:00+00:00",
            "tobias",
            done("sand", "settle"),
        ),
        // The first act of a day brings nothing.
        ("2026-11-24T09:00:00+00:00", "tobias", done("sand", "wipe")),
        ("2026-11-24T09:15:00+00:00", "tobias", begun("prime")),
        ("2026-11-24T09:30:00+00:00", "ines", begun("wash")),
        // An hour before the coat that time alone let be laid: a look at the gate counts.
        (
            "2026-11-24T10:15:00+00:00",
            "tobias",
            done("prime", "coat#1"),
        ),
        // Who signs between two other things did no hour of work.
        ("2026-11-24T11:00:00+00:00", "marguerite", begun("scheme")),
        ("2026-11-24T11:30:00+00:00", "marguerite", finished("prime")),
    ]);
    standing.replay_all(&Book::Figure("heron".into()), &lines);
    let rows = spent(House {
        cards: &cards,
        standing: &standing,
    });
    let rows: Vec<(&str, &str, f64)> = rows
        .iter()
        .map(|row| (row.work.operation.as_str(), row.by.as_str(), row.minutes))
        .collect();
    assert_eq!(rows, [("prime", "tobias", 30.0), ("sand", "tobias", 160.0)]);
}

#[test]
fn a_shop_that_sends_back_often_is_told_later_ends() {
    let cards = short(&[("varnish", &["neck-near"])]);
    let mut often = week("still-room", 20.0, 50.0);
    let seldom = often.clone();
    let deeds: Vec<(&str, &str, Deed)> = (1..=30)
        .flat_map(|round| {
            let work = Work {
                target: Some("head".into()),
                ..work("varnish", round)
            };
            let begun = Deed::Begun(Begun::of(work.clone()));
            let back = Deed::SentBack(SentBack {
                work,
                step: "rest".into(),
                back_to: "varnish".into(),
                why: "runs".into(),
            });
            [
                ("2026-11-20T08:00:00+00:00", "tobias", begun),
                ("2026-11-20T09:00:00+00:00", "tobias", back),
            ]
        })
        .collect();
    often.replay_all(&Book::Figure("heron".into()), &journal(&deeds));
    let change = Change::default();
    assert!(ninety(&cards, &seldom, &change) < ninety(&cards, &often, &change));
}

/// The sample shop from inside the program, at a fixed moment.
fn sample(words: &[&str]) -> String {
    sample_at("2026-11-25T08:00:00Z", words)
}

fn sample_at(clock: &str, words: &[&str]) -> String {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let words = [words, &["--clock", clock]].concat();
    let told = sealed.run_in(&empty, &words);
    assert_eq!(told.code, 0, "{}", told.err);
    told.out
}

#[test]
fn the_forecast_of_the_sample_shop_is_the_one_that_was_read() {
    golden::check(
        "commands/forecast.txt",
        &sample(&["forecast", "--runs", "150"]),
    );
}

#[test]
fn one_figure_is_told_with_the_rest_of_its_way_and_a_question_beside_it() {
    let words = [
        "forecast",
        "lion-boss",
        "--runs",
        "60",
        "--warmer",
        "bench-room=4C",
    ];
    golden::check("commands/forecast-lion-boss.txt", &sample(&words));
}

#[test]
fn what_to_do_next_in_the_sample_shop_is_what_was_read() {
    let wren = sample(&["next", "--by", "wren", "--minutes", "160"]);
    let anybody = sample(&["next"]);
    let ines = sample(&["next", "--by", "ines", "--minutes", "30"]);
    let page =
        format!("wren, 160 min\n{wren}\nanybody, until closing\n{anybody}\nines, 30 min\n{ines}");
    golden::check("commands/next.txt", &page);
}

#[test]
fn a_window_that_closes_comes_before_all_else_with_what_is_lost() {
    // The first coat of primer on the bandmaster's trousers was rubbed down on Tuesday at 13:50.
    // Its card gives 72 h at 20 °C before a coat must be scuffed; the early side is shown, over
    // air that may be warmer and silences as warm as the same hours of other days: Friday
    // afternoon at the soonest.
    let friday = sample_at("2026-11-27T10:30:00Z", &["next", "--by", "tobias"]);
    let first: Vec<&str> = friday.lines().take(4).collect();
    assert_eq!(
        first[0],
        "1  bandmaster: Prime, three coats, trousers, about 21 min"
    );
    assert!(
        first[2].contains("why: trousers, oil primer, grey-white closes Fri 13:50;"),
        "{friday}"
    );
    assert_eq!(
        first[3],
        "   if left: after Fri 13:50 it must be scuffed and wiped first"
    );
}

#[test]
fn the_hours_of_the_sample_shop_are_the_ones_that_were_read() {
    golden::check("commands/hours.txt", &sample(&["hours"]));
}

#[test]
fn a_pick_is_kept_with_all_that_was_offered() {
    let sealed = Sealed::new();
    let moment = ["--clock", "2026-11-25T08:00:00Z", "--as", "odile"];
    let pick = |place| [&["next", "--pick", place], &moment[..]].concat();
    let told = sealed.run(&pick("2"));
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.out.contains("picked"), "{}", told.out);
    let journal = std::fs::read_to_string(sealed.shop().join("journal.jsonl")).unwrap();
    let line: serde_json::Value = serde_json::from_str(journal.trim()).unwrap();
    assert_eq!(
        (&line["deed"], &line["place"]),
        (&"picked".into(), &2.into())
    );
    assert_eq!(line["offered"][1]["operation"], line["operation"]);
    sealed.refuses(
        &["next", "--pick", "1", "--clock", "2026-11-25T08:00:00Z", "--as", "odile", "--minutes", "5"],
        2,
        "there is no choice 1 now\n where: --pick\n    do: ask `knuckle next` again; nothing was written",
    );
}

#[test]
fn the_days_ahead_in_json_have_their_keys() {
    let sealed = Sealed::new();
    let clock = ["--clock", "2026-11-25T08:00:00Z"];
    let figure = [
        "row",
        "figure",
        "by_90_percent",
        "by_50_percent",
        "give_days",
        "promised",
        "late_percent",
        "never",
        "walks_left",
        "moved_by",
    ];
    let rows = sealed.keys(
        &[&["forecast", "--runs", "10"][..], &clock].concat(),
        &figure,
    );
    assert_eq!(rows.len(), 5);
    let choice = [
        "place",
        "figure",
        "operation",
        "target",
        "round",
        "open",
        "act",
        "likely_min",
        "why",
        "lost",
    ];
    let rows = sealed.keys(&[&["next"][..], &clock].concat(), &choice);
    assert_eq!(rows.len(), 3);
}

/// What is asked stands side by side, each question with its rows, and all of them together.
#[test]
fn each_question_is_answered_alone_and_all_of_them_together() {
    let sealed = Sealed::new();
    let clock = ["--clock", "2026-11-25T08:00:00Z", "--json"];
    let rows = |questions: &[&str]| -> Vec<serde_json::Value> {
        let told = sealed.run(&[&["forecast", "--runs", "48"], questions, &clock].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        let rows = told.out.lines();
        let rows = rows.map(|row| serde_json::from_str::<serde_json::Value>(row).unwrap());
        rows.filter(|row| row["row"] == "what_if").collect()
    };
    let warmer = rows(&["--warmer", "bench-room=4C"]);
    let second = rows(&["--second", "gilder"]);
    let both = rows(&["--warmer", "bench-room=4C", "--second", "gilder"]);
    assert_eq!((warmer.len(), second.len(), both.len()), (5, 5, 15));
    let keys: Vec<&String> = both[0].as_object().unwrap().keys().collect();
    let expected = [
        "row",
        "question",
        "figure",
        "by_90_percent",
        "by_50_percent",
        "told_90",
        "told_50",
        "late_percent",
        "never",
    ];
    assert_eq!(keys, expected);
    // A question is answered alike whatever else is asked.
    let of = |words: &str| -> Vec<serde_json::Value> {
        let rows = both.iter().filter(|row| row["question"] == words);
        rows.cloned().collect()
    };
    assert_eq!(of("bench-room were 4 °C warmer"), warmer);
    assert_eq!(of("one more could gild"), second);
    assert_eq!(
        of("bench-room were 4 °C warmer, one more could gild").len(),
        5
    );
}

#[test]
fn several_questions_stand_side_by_side() {
    let words = [
        "forecast",
        "--runs",
        "48",
        "--warmer",
        "bench-room=4C",
        "--slower-hardener",
        "slow-epoxy",
        "--second",
        "gilder",
    ];
    golden::check("commands/forecast-questions.txt", &sample(&words));
}

#[test]
fn questions_that_name_nothing_are_told_what_there_is() {
    let sealed = Sealed::new();
    let runs = ["forecast", "--runs", "10"];
    let refused = |flag: [&str; 2], err: &str| {
        sealed.refuses(&[&runs[..], &flag].concat(), 2, err);
    };
    refused(
        ["--warmer", "bench-room"],
        "`bench-room` does not name a room and a value\n where: --warmer\n    do: write it as `bench-room=4C`, or `store=55%`",
    );
    refused(
        ["--warmer", "store=40C"],
        "`store=40C` changes the room by more than 20 °C, which is 36 °F\n where: --warmer\n    do: ask for a smaller change",
    );
    refused(
        ["--slower-hardener", "medium-epxy"],
        "no epoxy is called `medium-epxy`; did you mean `medium-epoxy`?\n where: --slower-hardener\n    do: there are fast-epoxy, gap-paste, medium-epoxy, slow-epoxy",
    );
}

#[test]
fn nobody_is_offered_what_has_no_mark_or_no_time() {
    let cards = sample_cards();
    let mut standing = week("still-room", 20.0, 50.0);
    for figure in cards.figures.keys() {
        standing.figures.entry(figure.clone()).or_default();
    }
    let house = House {
        cards: &cards,
        standing: &standing,
    };
    let ask = |by, minutes| NextAsk {
        by,
        minutes,
        damaged: &[],
    };
    for choice in next(house, &ask(Some("wren"), None), at(NOW)) {
        let mark = cards.checklists[&choice.work.operation].trade;
        assert!(
            [Mark::Any, Mark::Gild, Mark::Paint].contains(&mark),
            "{choice:?}"
        );
    }
    assert!(next(house, &ask(None, Some(1.0)), at(NOW)).is_empty());
    let free = next(house, &ask(None, Some(600.0)), at(NOW));
    assert!(!free.is_empty() && free.len() <= 3);
    assert!(free.iter().all(|choice| choice.minutes <= 600.0));
}

#[test]
fn drying_aims_at_what_the_gate_asks_and_not_at_what_is_usual() {
    // Wood Handbook (2010), table 4-2: at 21.1 °C and 55 % wood comes to 10.1 %: under the usual
    // 12 %, over a card that asks for 9 %. At 75 % it comes to 14.4 %: a gate that lets 16 % pass
    // is no longer in its way, the usual one is.
    let route: &[(&str, &[&str])] = &[("varnish", &["head"]), ("prime", &["head"])];
    let asks = |limit: Option<f64>| {
        let mut cards = short(route);
        for list in cards.checklists.values_mut() {
            let steps = list.steps.iter_mut().flat_map(|step| &mut step.gates);
            for ask in list.gates.iter_mut().chain(steps) {
                if ask.gate == GateKind::Moisture {
                    ask.limit = limit;
                }
            }
        }
        cards
    };
    let never = |limit, humidity| {
        let week = week("still-room", 21.1, humidity);
        let found = asked(&asks(limit), &week, &Change::default());
        only(&found).never.clone()
    };
    assert_eq!(never(None, 55.0), None);
    let why = never(Some(9.0), 55.0).unwrap();
    assert!(why.contains("at most 9 % is needed"), "{why}");
    assert!(
        never(None, 75.0)
            .unwrap()
            .contains("at most 12 % is needed")
    );
    assert_eq!(never(Some(16.0), 75.0), None);
}
