//! What each point of the supervisor's page says and leaves out: on a day that is over, on one
//! that has not been, and beside the forecast of the same minute.

use std::path::Path;

use chrono::NaiveDate;
use knuckle::card::Cards;
use knuckle::deed::{
    Air, Answered, Asked, Begun, Deed, Deviated, DeviationKind, Forecasted, Line, Signed, TickKind,
    Ticked, Work,
};
use knuckle::now::Zone;
use knuckle::report::{DayPage, DaySpan, PageAsk, PageRow, day_page};
use knuckle::shop::KeptLine;
use knuckle::standing::{Book, House, Standing};

use crate::kit::sealed::Sealed;
use crate::memory::{at, sample_cards};

fn line(n: u64, time: &str, deed: Deed) -> Line {
    Line {
        n,
        at: at(time),
        by: "marguerite".into(),
        bench: "bench 1".into(),
        deed,
        entered_later: None,
        strange: Vec::new(),
    }
}

/// The page of a day, told at some moment, of lines that were kept in one book.
fn page(cards: &Cards, book: &Book, lines: &[Line], (day, now): (&str, &str)) -> DayPage {
    let mut standing = Standing::default();
    standing.replay_all(book, lines);
    let kept = lines.iter().map(|line| KeptLine {
        book: book.clone(),
        line: line.clone(),
    });
    let kept: Vec<KeptLine> = kept.collect();
    let date: NaiveDate = day.parse().unwrap();
    let ask = PageAsk::whole(DaySpan::day(date, Zone::Named(chrono_tz::Tz::UTC)));
    let house = House {
        cards,
        standing: &standing,
    };
    day_page(&kept, house, (&ask, at(now)), None)
}

#[test]
fn a_sensor_on_a_closed_sunday_is_nobody_at_work() {
    let cards = sample_cards();
    let air = |source: &str| {
        Deed::Air(Air {
            room: "store".into(),
            temp_c: 11.0,
            humidity_percent: 60.0,
            source: source.into(),
        })
    };
    let who = |source: &str| {
        let lines = [line(1, "2026-11-22T01:00:00+00:00", air(source))];
        let sunday = ("2026-11-22", "2026-11-23T00:00:00+00:00");
        page(&cards, &Book::Shop, &lines, sunday).points[0]
            .rows
            .clone()
    };
    assert_eq!(who("store-sensor"), []);
    let hand = who("hand");
    assert_eq!(hand.len(), 1);
    assert!(hand[0].text.contains("marguerite"), "{hand:?}");
    assert_eq!(hand[0].number(), "shop:1");
}

#[test]
fn a_day_to_come_has_not_been_yet() {
    let cards = sample_cards();
    let told = |day, now| page(&cards, &Book::Shop, &[], (day, now)).dated();
    let ahead = told("2026-11-27", "2026-11-25T08:00:00+00:00");
    assert_eq!(ahead, "not yet; what waits is told as of Wed 25 Nov 08:00");
    let over = told("2026-11-24", "2026-11-25T00:00:00+00:00");
    assert_eq!(over, "as it stood at its end");
    let today = told("2026-11-25", "2026-11-25T08:00:00+00:00");
    assert_eq!(today, "as it stood at 08:00");
}

#[test]
fn a_walk_of_which_only_the_cautions_were_read_says_so() {
    let cards = sample_cards();
    let work = Work {
        operation: "strip".into(),
        target: Some("head".into()),
        round: 1,
    };
    let read = |step: &str| {
        Deed::Ticked(Ticked {
            work: work.clone(),
            step: step.into(),
            kind: TickKind::Caution,
            said: "Goggles on.".into(),
        })
    };
    let moment = ("2026-11-24", "2026-11-24T17:00:00+00:00");
    let book = Book::Figure("heron".into());
    let told = |steps: &[&str]| {
        let begun = Deed::Begun(Begun::of(work.clone()));
        let deeds = std::iter::once(begun).chain(steps.iter().map(|step| read(step)));
        let lines = (1..)
            .zip(deeds)
            .map(|(n, deed)| line(n, "2026-11-24T09:00:00+00:00", deed));
        let lines: Vec<Line> = lines.collect();
        let page = page(&cards, &book, &lines, moment);
        let rows = page.points[0].rows.iter().map(|row| row.text.clone());
        rows.filter(|row| row.starts_with("heron: "))
            .collect::<Vec<_>>()
    };
    let begun = "heron: Strip layer by layer on head, begun";
    assert_eq!(told(&[]), [begun]);
    assert_eq!(told(&["", ""]), [format!("{begun}, its cautions read")]);
    assert_eq!(
        told(&["", "product"]),
        [format!(
            "{begun}, last at “Set out one remover, its lid still shut”"
        )]
    );
}

#[test]
fn what_waits_for_an_answer_is_said_once() {
    let cards = sample_cards();
    let deviated = Deed::Deviated(Deviated {
        work: Work {
            operation: "prime".into(),
            target: Some("head".into()),
            round: 1,
        },
        step: "coat#1-dry".into(),
        kind: DeviationKind::Other,
        what: "laid over a damp coat".into(),
    });
    let lines = [line(1, "2026-11-24T09:00:00+00:00", deviated)];
    let book = Book::Figure("heron".into());
    let moment = ("2026-11-24", "2026-11-24T17:00:00+00:00");
    let page = page(&cards, &book, &lines, moment);
    let told = page.rows().filter(|(_, row)| row.number() == "heron:1");
    let told = told.map(|(point, _)| point.number);
    // The first point says who was there, the others what is to be done.
    let told: Vec<u8> = told.filter(|number| 1 < *number).collect();
    assert_eq!(told, [2], "{}", page.text());
    let counted = &page.points[3].rows;
    assert_eq!(counted.len(), 1);
    assert_eq!(counted[0].text, "one that waits stands at point 2");
}

#[test]
fn what_was_answered_today_stands_there_with_who_what_and_why() {
    let cards = sample_cards();
    let work = || Work {
        operation: "prime".into(),
        target: Some("head".into()),
        round: 1,
    };
    let asked = Deed::Asked(Asked {
        text: "thin the primer?".into(),
    });
    let answer = |line, accepted, why: &str| {
        Deed::Answered(Answered {
            line,
            accepted,
            why: why.into(),
        })
    };
    let deviated = Deed::Deviated(Deviated {
        work: work(),
        step: "coat#1-dry".into(),
        kind: DeviationKind::Other,
        what: "laid over a damp coat".into(),
    });
    let signed = Deed::Signed(Signed {
        work: work(),
        step: "look".into(),
        said: "the film is whole".into(),
        accepted: true,
        why: String::new(),
    });
    let mut lines = [
        line(1, "2026-11-24T09:00:00+00:00", asked),
        line(2, "2026-11-24T09:10:00+00:00", deviated),
        line(
            3,
            "2026-11-24T10:00:00+00:00",
            answer(1, true, "by no more than 5 %"),
        ),
        line(
            4,
            "2026-11-24T10:05:00+00:00",
            answer(2, false, "strip it again"),
        ),
        line(5, "2026-11-24T10:06:00+00:00", signed),
    ];
    for line in &mut lines[..2] {
        line.by = "wren".into();
    }
    let book = Book::Figure("heron".into());
    let told = page(
        &cards,
        &book,
        &lines,
        ("2026-11-24", "2026-11-24T17:00:00+00:00"),
    );
    let rows: Vec<String> = told.points[1].rows.iter().map(PageRow::told).collect();
    assert_eq!(
        rows,
        [
            "10:00 heron: answered: thin the primer? (wren): by no more than 5 % (marguerite)  [heron:3]",
            "10:05 heron: refused: laid over a damp coat (wren): strip it again (marguerite)  [heron:4]",
            "10:06 heron: signed: Prime, three coats on head: the film is whole (marguerite)  [heron:5]",
            "heron: back at the bench since 10:05: laid over a damp coat  [heron:4]",
        ]
    );
    assert!(told.points[9].rows.is_empty(), "{}", told.text());
}

/// Before the first forecast nobody knows whether a promise moved.
#[test]
fn promises_that_nobody_reckoned_are_said_to_be_so() {
    let cards = sample_cards();
    let moment = ("2026-11-24", "2026-11-24T17:00:00+00:00");
    let told = page(&cards, &Book::Shop, &[], moment);
    assert_eq!(
        told.points[8].none(),
        Some("not reckoned"),
        "{}",
        told.text()
    );
    assert!(
        told.text().contains("\n    not reckoned\n"),
        "{}",
        told.text()
    );
    let noted = Deed::Forecasted(Forecasted { rows: Vec::new() });
    let lines = [line(1, "2026-11-24T09:00:00+00:00", noted)];
    let told = page(&cards, &Book::Shop, &lines, moment);
    assert_eq!(told.points[8].none(), Some("–"), "{}", told.text());
}

fn told(sealed: &Sealed, folder: &Path, words: &[&str]) -> String {
    let told = sealed.run_in(folder, words);
    assert_eq!(told.code, 0, "{}", told.err);
    told.out
}

#[test]
fn notes_chips_hours_and_lines_of_a_day_stand_on_its_page() {
    let sealed = Sealed::new();
    let clock = ["--clock", "2026-11-25T08:00:00Z"];
    let empty = sealed.home.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let day = ["day", "2026-11-24", "--page"];
    let page = told(&sealed, &empty, &[&day[..], &clock].concat());
    for words in [
        "noted: owner came to look, likes the mane as it is (tobias)  [lion-boss:190]",
        "measured a chip for body-near",
        "hands of wren: 4.1 h: bandmaster 4.1 h  [bandmaster:510]",
        "in: ines, marguerite, odile, tobias, wren  [shop:771]",
        "(since Wed 18 Nov 13:32, by tobias or marguerite)  [lion-boss:189]",
        "open since 2025-11-17, on the card fast-epoxy",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert!(!page.contains('#'), "no inner name of a step\n{page}");
    let line = ["day", "--line", "bandmaster:484"];
    let entry = told(&sealed, &empty, &[&line[..], &clock].concat());
    assert!(!entry.contains('#'), "{entry}");
}

/// One figure, so that the sums are soon done: the page of today and `forecast` tell one date.
#[test]
fn the_page_of_today_and_the_forecast_tell_the_same_date() {
    let sealed = Sealed::new();
    for figure in ["bandmaster", "hare", "heron", "lantern-woman"] {
        std::fs::remove_dir_all(sealed.shop().join("figures").join(figure)).unwrap();
    }
    let clock = ["--clock", "2026-11-25T08:00:00Z", "--json"];
    let forecast = told(
        &sealed,
        &sealed.shop(),
        &[&["forecast"], &clock[..]].concat(),
    );
    let forecast: serde_json::Value =
        serde_json::from_str(forecast.lines().next().unwrap()).unwrap();
    let (date, _) = forecast["by_90_percent"]
        .as_str()
        .unwrap()
        .split_once('T')
        .unwrap();
    let page = told(
        &sealed,
        &sealed.shop(),
        &[&["day", "--page"], &clock[..]].concat(),
    );
    let rows = page.lines().map(|row| serde_json::from_str(row).unwrap());
    let rows: Vec<serde_json::Value> = rows
        .filter(|row: &serde_json::Value| row["point"] == 9)
        .collect();
    let words = rows[0]["text"].as_str().unwrap();
    assert!(
        words.contains(&format!("done by {date} in nine of ten runs")),
        "{words} {date}"
    );
    assert!(words.contains("(reckoned at 08:00)"), "{words}");
}
