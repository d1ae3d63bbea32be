//! Hand-made sights, so that drawing is tried apart from deciding. All people, figures and
//! lots are invented.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, TimeDelta};
use knuckle::card::{Caution, ClockName, Fault, GateKind, Mark, Measure, Person, Room, When};
use knuckle::card::{Manner, Shop, WordScale};
use knuckle::deed::{Attended, Pouring, Stamp, Use, Work};
use knuckle::report::{DayLine, DayMark};
use knuckle::screen::{Sight, View, Waiting, WaitingAt};
use knuckle::standing::{
    Ask, BatchOffer, ClockState, ClockView, FloorRow, LastDone, Leg, LotChoice, Offer, OpensBy,
    Prompt, ShutBy, Stage, StepSum, TestPlace, Verdict, Weight,
};

/// The fixed now of every scene: a Tuesday.
pub(crate) fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2031-03-04T14:02:30+01:00").unwrap()
}

/// A moment so many minutes from now.
pub(crate) fn minutes(minutes: i64) -> DateTime<FixedOffset> {
    now() + TimeDelta::minutes(minutes)
}

fn person(id: &str, name: &str, trade: &str, marks: &[Mark]) -> Person {
    Person {
        id: id.to_owned(),
        name: name.to_owned(),
        trade: trade.to_owned(),
        marks: marks.to_vec(),
        ..Person::default()
    }
}

/// The shop.
pub(crate) fn shop() -> Shop {
    let room = |id: &str, name: &str| Room {
        id: id.to_owned(),
        name: name.to_owned(),
        volume_m3: 90.0,
        air_changes_per_h: 6.0,
        shares_air_with: Vec::new(),
    };
    Shop {
        name: "Lantern Quay Carving Rooms".to_owned(),
        practice: true,
        rooms: vec![
            room("joinery", "joinery"),
            room("gilding", "gilding room"),
            room("stripping", "stripping room"),
        ],
        people: vec![
            person("odile", "Odile", "joiner", &[Mark::Join]),
            person("wren", "Wren", "gilder", &[Mark::Gild]),
            person("tobias", "Tobias", "painter", &[Mark::Paint]),
            person("ines", "Ines", "stripping room", &[Mark::Strip]),
            person(
                "marguerite",
                "Marguerite",
                "supervisor",
                &[Mark::Sign, Mark::Overrule],
            ),
        ],
        ..Shop::default()
    }
}

/// The joint at which the hare is being glued.
pub(crate) fn work() -> Work {
    Work {
        operation: "mix-and-lay-up".to_owned(),
        target: Some("J3".to_owned()),
        round: 1,
    }
}

/// A clock of a figure.
pub(crate) fn clock(
    figure: &str,
    name: ClockName,
    about: &str,
    state: ClockState,
    end: i64,
) -> ClockView {
    let waited = matches!(
        state,
        ClockState::Waiting | ClockState::Come | ClockState::Frozen
    );
    let at = minutes(end);
    ClockView {
        id: format!("41.{name:?}").to_lowercase(),
        figure: figure.to_owned(),
        work: work(),
        clock: name,
        about: about.to_owned(),
        started: minutes(-9),
        side: if waited {
            Use::WaitUntil
        } else {
            Use::DoBefore
        },
        attended: Attended::Hands,
        opens: waited.then_some(at),
        likely: Some(at),
        closes: (!waited).then_some(at),
        share: 0.4,
        state,
        because: "25 min on the sheet, 18 because 23 °C and 174 g".to_owned(),
        provenance: "from sheet".to_owned(),
        ringing: None,
        next_mark: None,
    }
}

/// The clocks of an afternoon, what dies first first.
pub(crate) fn clocks() -> Vec<ClockView> {
    let mut cup = clock(
        "hare",
        ClockName::Cup,
        "J3, medium epoxy",
        ClockState::Running,
        12,
    );
    cup.closes = Some(now() + TimeDelta::seconds(12 * 60 + 34));
    let mut closing = clock(
        "hare",
        ClockName::Closing,
        "J3, medium epoxy",
        ClockState::Running,
        31,
    );
    closing.share = 0.22;
    let mut tack = clock(
        "lion",
        ClockName::TackHollow,
        "mane",
        ClockState::Waiting,
        190,
    );
    tack.share = 0.6;
    "slow oil size, 17 °C tonight, hollow +40 %".clone_into(&mut tack.because);
    let mut clamps = clock("hare", ClockName::Clamps, "J3", ClockState::Waiting, 1130);
    clamps.share = 0.01;
    "16 h at 20 °C on the sheet; 18.8 equivalent hours tonight".clone_into(&mut clamps.because);
    let mut glove = clock(
        "heron",
        ClockName::Glove,
        "nitrile, stripper",
        ClockState::Over,
        -3,
    );
    glove.share = 1.2;
    "first contact 13:31, breakthrough 28 min on the sheet".clone_into(&mut glove.because);
    let mut recoat = clock(
        "heron",
        ClockName::Recoat,
        "wing, primer",
        ClockState::Come,
        -75,
    );
    recoat.share = 1.4;
    vec![glove, cup, closing, tack, recoat, clamps]
}

/// The cautions of mixing.
pub(crate) fn cautions() -> Vec<Caution> {
    let caution = |say: &str, rank| Caution {
        say: say.to_owned(),
        rank,
        source: "the data sheet of the resin".to_owned(),
        when: When::Always,
    };
    vec![
        caution(
            "No skin contact: two pairs of gloves, change at the first drop",
            1,
        ),
        caution(
            "A cup over 150 g heats up by itself: set it on stone, outside",
            2,
        ),
        caution("Never seal a left-over cup", 3),
    ]
}

/// A prompt with everything but its ask.
pub(crate) fn prompt(ask: Ask) -> Prompt {
    Prompt {
        work: work(),
        title: "Mix and lay up".to_owned(),
        step: "butter".to_owned(),
        act: "Butter both faces of the joint".to_owned(),
        why: Some("a dry face drinks the resin out of the joint".to_owned()),
        number: 5,
        of: 11,
        again: None,
        last_done: Some(LastDone {
            act: "Stir two minutes, scrape the wall".to_owned(),
            at: now() - Duration::minutes(1),
            by: "odile".to_owned(),
        }),
        cautions: cautions(),
        goes_wrong: vec![Fault {
            sign: "resin strings or turns cloudy".to_owned(),
            cause: "the cup is near its end".to_owned(),
            remedy: "stop, throw the cup away, mix a fresh one".to_owned(),
        }],
        manner: Manner::ReadDo,
        checks: Vec::new(),
        interrupted: None,
        hands: vec!["odile".to_owned()],
        sums: Vec::new(),
        ask,
    }
}

/// What a coat step and a drying step reckon.
pub(crate) fn sums() -> Vec<StepSum> {
    let sum = |topic, line: &str, weight, more: &str| StepSum {
        topic,
        line: line.to_owned(),
        weight,
        more: vec![more.to_owned()],
        figures: Vec::new(),
    };
    vec![
        sum(
            "drying",
            "never 12 % as the air is: it stops at 13.1 %; bring it to 62 %",
            Weight::Mind,
            "air of 20 °C and 70 %, mean of a day",
        ),
        sum(
            "coat",
            "40 ml for this coat, 111 µm wet; 100 ml for the 3 coats to come",
            Weight::Plain,
            "0.24 m² measured flat, relief 1.15, 9 m²/L on the flat",
        ),
        sum(
            "film",
            "litres are not known: put `spread_m2_per_l` of oil varnish on materials/oil-varnish.yaml",
            Weight::Missing,
            "the data sheet prints it",
        ),
    ]
}

/// A sight and a view of the bench with an ask in front.
pub(crate) fn bench(ask: Ask) -> (Sight, View) {
    let figures = [
        ("hare", "Running hare"),
        ("heron", "Heron"),
        ("lion", "Lion boss"),
        ("bandmaster", "Bandmaster"),
        ("lantern-woman", "Woman with the lantern"),
    ];
    let operations = [
        ("mix-and-lay-up", "Mix and lay up"),
        ("joint-survey", "Joint survey"),
        ("size-and-leaf", "Size and leaf"),
        ("prime", "Prime"),
        ("strip", "Strip"),
        ("dry", "Dry"),
    ];
    let text = |(id, name): (&str, &str)| (id.to_owned(), name.to_owned());
    let sight = Sight {
        now: now(),
        shop: shop(),
        banner: "practice".to_owned(),
        person: "Odile".to_owned(),
        figures: figures.map(text).into_iter().collect(),
        operations: operations.map(text).into_iter().collect(),
        room: ("joinery".to_owned(), "joinery".to_owned()),
        target: "J3 neck to body".to_owned(),
        prompt: Some(prompt(ask)),
        clocks: clocks(),
        last: Some(Stamp {
            n: 43,
            at: minutes(-1),
            by: "odile".into(),
        }),
        ..Sight::default()
    };
    let view = View {
        figure: Some("hare".to_owned()),
        work: Some(work()),
        by: "odile".to_owned(),
        bench: "bench-1".to_owned(),
        ..View::default()
    };
    (sight, view)
}

/// A reading of a grid, the seventh.
pub(crate) fn reading() -> Ask {
    Ask::Reading {
        record: "gap".to_owned(),
        ask: "Gap across the joint".to_owned(),
        measure: Measure::Gap,
        station: Some("120 mm, 2 of 3".to_owned()),
        nth: 8,
        of: 15,
        taken: vec![
            ("0 mm, 1".to_owned(), 0.4),
            ("0 mm, 2".to_owned(), 0.9),
            ("0 mm, 3".to_owned(), 0.5),
            ("60 mm, 1".to_owned(), 0.4),
            ("60 mm, 2".to_owned(), 1.2),
            ("60 mm, 3".to_owned(), 0.6),
            ("120 mm, 1".to_owned(), 0.3),
        ],
        plausible: [0.0, 15.0],
        usual: [0.0, 5.0],
    }
}

/// A pour of hardener on top of resin.
pub(crate) fn pour() -> Ask {
    Ask::Pour {
        part: Pouring::Hardener,
        material: "medium epoxy 100:45 by weight".to_owned(),
        asked_g: 54.0,
        cup: 1,
        cups: 2,
        poured: vec![(Pouring::Resin, 120.2)],
    }
}

/// A shut gate.
pub(crate) fn gate() -> Ask {
    Ask::Gate(Verdict {
        shut_by: ShutBy::Other,
        gate: GateKind::Moisture,
        name: "wood moisture",
        hard: true,
        open: false,
        why: "worst core 14.1 % near the neck, limit 12 %; the air here stops at 12.6 %".to_owned(),
        opens_by: OpensBy::Operation("dry".to_owned()),
    })
}

/// A cup that has gone off before it was on the wood.
pub(crate) fn dead_cup() -> Ask {
    Ask::Gate(Verdict {
        shut_by: ShutBy::Other,
        gate: GateKind::MixLive,
        name: "mix live",
        hard: true,
        open: false,
        why: "the cup is over since Tue 13:51: nothing of it goes on wood".to_owned(),
        opens_by: OpensBy::Wait("a new cup: x throws this one away".to_owned()),
    })
}

/// Batches to choose from.
pub(crate) fn batches() -> Ask {
    let offer = |material: &str, name: &str, refused: Option<&str>| BatchOffer {
        material: material.to_owned(),
        name: name.to_owned(),
        lots: ["A-2107".to_owned(), "B-2093".to_owned()],
        grams: [120.0, 54.0],
        cups: 2,
        promise_min: 21.7,
        because: "gap map 96 ml + 30 %; 25 min on the sheet, 18 because 23 °C and 174 g".to_owned(),
        refused: refused.map(str::to_owned),
    };
    Ask::Batch {
        offers: vec![
            offer("medium-epoxy", "medium epoxy 100:45", None),
            offer(
                "quick-epoxy",
                "quick epoxy 1:1",
                Some("9 min in the cup, your rehearsal took 13"),
            ),
        ],
    }
}

/// Test words at three places.
pub(crate) fn tests() -> Ask {
    let place = |place: &str, last: Option<&str>, ready| TestPlace {
        place: place.to_owned(),
        last: last.map(|word| (word.to_owned(), minutes(-5))),
        ready,
    };
    Ask::Test {
        scale: WordScale::Tack,
        words: vec!["wet", "sticky", "coming", "ready", "going", "dead"],
        ready_word: "ready",
        places: vec![
            place("edge", Some("ready"), true),
            place("flat", Some("coming"), false),
            place("hollow", None, false),
        ],
        clocks: Vec::new(),
    }
}

/// Lots to pick from.
pub(crate) fn lots() -> Ask {
    let lot = |lot: &str, warning: Option<&str>| LotChoice {
        material: "medium-epoxy".to_owned(),
        name: "medium epoxy 100:45".to_owned(),
        lot: lot.to_owned(),
        part: "a".to_owned(),
        warning: warning.map(str::to_owned),
    };
    Ask::Lot {
        record: "lot".to_owned(),
        ask: "Lot of the resin".to_owned(),
        options: vec![lot("A-2107", None), lot("A-1988", Some("past its date"))],
        lacking: None,
    }
}

/// The floor of an afternoon.
pub(crate) fn floor() -> Vec<FloorRow> {
    let all = clocks();
    let row = |figure: &str, name: &str, room: &str| FloorRow {
        figure: figure.to_owned(),
        name: name.to_owned(),
        room: room.to_owned(),
        doing: None,
        ahead: None,
        waits_for: String::new(),
        since: None,
        next: None,
        answered: None,
        unanswered: 0,
        holds: 0,
        refused: 0,
        route: (0, 14),
        journey: journey("□□□□·□□□□□□□□□□··□······"),
        promised: NaiveDate::from_ymd_opt(2031, 5, 30),
        unread: false,
    };
    let job = |operation: &str, target: &str, step: &str| {
        let work = Work {
            operation: operation.to_owned(),
            target: Some(target.to_owned()),
            round: 1,
        };
        Some((work, step.to_owned()))
    };
    vec![
        FloorRow {
            doing: job("strip", "wing", "Scrape off"),
            next: Some(all[0].clone()),
            route: (3, 14),
            journey: journey("■■■◆·□□□□□□□□□□··□······"),
            unanswered: 1,
            ..row("heron", "Heron", "stripping room")
        },
        FloorRow {
            doing: job("mix-and-lay-up", "J3", "Butter both faces"),
            next: Some(all[1].clone()),
            route: (6, 14),
            journey: journey("■■■■·■■◆◆□□□□□□··□······"),
            ..row("hare", "Running hare", "joinery")
        },
        FloorRow {
            doing: job("size-and-leaf", "mane", "Test the size"),
            waits_for: "size in the hollow".to_owned(),
            since: Some(minutes(-300)),
            next: Some(all[3].clone()),
            holds: 1,
            route: (9, 12),
            journey: journey("■■■·■■■·■·■■◆□□·······□·"),
            ..row("lion", "Lion boss", "gilding room")
        },
        FloorRow {
            waits_for: "owner's word on the scheme".to_owned(),
            since: Some(minutes(-60 * 70)),
            promised: None,
            ..row("bandmaster", "Bandmaster", "store")
        },
        row("lantern-woman", "Woman with the lantern", "joinery"),
    ]
}

/// A journey as its bar shows it.
fn journey(bar: &str) -> Vec<Leg> {
    let leg = |sign| match sign {
        '■' => Leg::Done,
        '◆' => Leg::AtWork,
        '□' => Leg::Ahead,
        _ => Leg::Off,
    };
    bar.chars().map(leg).collect()
}

/// Lines of a day: number, minutes ago, figure, person, sentence, mark.
const LINES: [(u64, i64, &str, &str, &str, DayMark); 10] = [
    (
        210,
        385,
        "",
        "marguerite",
        "opened the day; in: odile, wren, tobias",
        DayMark::Plain,
    ),
    (
        211,
        380,
        "",
        "wren",
        "air of gilding room: 18.5 °C, 62 % (hand)",
        DayMark::Plain,
    ),
    (
        37,
        302,
        "lion",
        "wren",
        "test at edge says ready",
        DayMark::Plain,
    ),
    (
        19,
        251,
        "heron",
        "ines",
        "overruled wood moisture with Marguerite (core 13.1 %, limit 12 %): only the beak",
        DayMark::Overrule,
    ),
    (
        20,
        190,
        "heron",
        "ines",
        "poured hardener: 61 g, asked 54 g",
        DayMark::Struck,
    ),
    (
        39,
        12,
        "hare",
        "odile",
        "otherwise than planned: hardener 6 % over",
        DayMark::Deviation,
    ),
    (
        40,
        11,
        "hare",
        "odile",
        "threw the cup away: off the ratio",
        DayMark::Deviation,
    ),
    (
        41,
        9,
        "hare",
        "odile",
        "mixed medium epoxy 100:45 (lots A-2107 and B-2093): 120.2 g and 54.1 g, +0.0 % off the ratio",
        DayMark::Plain,
    ),
    (
        42,
        7,
        "hare",
        "odile",
        "asked: may J4 follow today?",
        DayMark::Question,
    ),
    (
        43,
        1,
        "hare",
        "odile",
        "done: Stir two minutes, scrape the wall",
        DayMark::Plain,
    ),
];

/// The day's page.
pub(crate) fn day() -> (Vec<DayLine>, Vec<Waiting>) {
    let lines = LINES.map(|(n, ago, figure, by, text, mark)| DayLine {
        n,
        at: minutes(-ago),
        figure: figure.to_owned(),
        by: by.to_owned(),
        text: text.to_owned(),
        mark,
    });
    let one = |figure: &str, kind, what: &str, who: &str, at| Waiting {
        figure: figure.to_owned(),
        kind,
        what: what.to_owned(),
        who: who.to_owned(),
        line: 1,
        at,
    };
    let waiting = vec![
        one(
            "lion",
            "to sign",
            "the scheme, version 2, as drawn",
            "may sign: Marguerite",
            WaitingAt::Hold(work()),
        ),
        one(
            "heron",
            "gate overruled",
            "core 13.1 %, limit 12 %: only the beak is coated today",
            "ines 09:51",
            WaitingAt::Line(19),
        ),
        one(
            "hare",
            "question",
            "may J4 follow today?",
            "odile 13:55",
            WaitingAt::Line(42),
        ),
    ];
    (lines.to_vec(), waiting)
}

/// What could be begun on the hare.
pub(crate) fn offers() -> Vec<Offer> {
    let offer = |operation: &str, target: &str, title: &str, stage| Offer {
        work: Work {
            operation: operation.to_owned(),
            target: Some(target.to_owned()),
            round: 1,
        },
        title: title.to_owned(),
        stage,
    };
    vec![
        offer("mix-and-lay-up", "J3", "Mix and lay up", Stage::Open),
        offer("mix-and-lay-up", "J4", "Mix and lay up", Stage::Next),
        offer("prime", "body", "Prime", Stage::Later),
        offer("joint-survey", "J3", "Joint survey", Stage::Done),
    ]
}
