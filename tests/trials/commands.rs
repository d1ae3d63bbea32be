//! The commands from outside: the real program in a sealed environment, whole output, JSON
//! keys, exit codes, every message. Few, for each starts a program.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use knuckle::card::{ClockName, GateKind, Measure, PotLifePoint};
use knuckle::deed::{
    Asked, Begun, ClockRule, ClockStart, DayClosed, DayOpened, Deed, Deviated, DeviationKind,
    Jotted, Mixed, Overruled, Recorded, Struck, Use, Value, Work,
};
use knuckle::disk::RealDisk;
use knuckle::journal::{Draft, Journal};
use knuckle::standing::Ask;
use tempfile::TempDir;

use crate::kit::moment;
use crate::memory::Bench;

/// A temporary home with a copy of the sample shop, without journals.
struct Sealed {
    home: TempDir,
}

/// What a command said.
#[derive(Debug, PartialEq)]
struct Told {
    code: i32,
    out: String,
    err: String,
}

impl Sealed {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
        copy_cards(&sample, &home.path().join("shop"));
        Self { home }
    }

    fn shop(&self) -> PathBuf {
        self.home.path().join("shop")
    }

    /// Runs the program in the shop's folder on a Wednesday morning.
    fn run(&self, words: &[&str]) -> Told {
        self.run_in(&self.shop(), words)
    }

    fn run_in(&self, folder: &Path, words: &[&str]) -> Told {
        let home = self.home.path();
        let ended = Command::new(env!("CARGO_BIN_EXE_knuckle"))
            .args(words)
            .current_dir(folder)
            .env_clear()
            .env("HOME", home)
            .env("XDG_STATE_HOME", home.join("state"))
            .env("TMPDIR", home)
            .env("TZ", "UTC")
            .output()
            .unwrap();
        let shown = |bytes: &[u8]| {
            let text = String::from_utf8(bytes.to_vec()).unwrap();
            let shop = self.shop();
            let text = text.replace(&*shop.to_string_lossy(), "$SHOP");
            text.replace(&*home.to_string_lossy(), "$HOME")
        };
        Told {
            code: ended.status.code().unwrap(),
            out: shown(&ended.stdout),
            err: shown(&ended.stderr),
        }
    }

    /// Holds the whole answer of a command that went well.
    #[track_caller]
    fn says(&self, words: &[&str], out: &str) {
        let told = self.run(words);
        let wanted = Told {
            code: 0,
            out: out.to_owned(),
            err: String::new(),
        };
        assert_eq!(told, wanted, "knuckle {}", words.join(" "));
    }

    /// Holds the whole message of a command that did not.
    #[track_caller]
    fn refuses(&self, words: &[&str], code: i32, err: &str) {
        let told = self.run(words);
        let wanted = Told {
            code,
            out: String::new(),
            err: format!("{err}\n"),
        };
        assert_eq!(told, wanted, "knuckle {}", words.join(" "));
    }

    /// Holds the keys of every object of an answer, in their order, and returns the objects.
    #[track_caller]
    fn keys(&self, words: &[&str], keys: &[&str]) -> Vec<serde_json::Value> {
        let told = self.run(&[words, &["--json"]].concat());
        assert_eq!(told.err, "", "knuckle {}", words.join(" "));
        let objects: Vec<serde_json::Value> = told
            .out
            .lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect();
        assert!(
            !objects.is_empty(),
            "knuckle {} says nothing",
            words.join(" ")
        );
        for object in &objects {
            let found: Vec<&str> = object
                .as_object()
                .unwrap()
                .keys()
                .map(String::as_str)
                .collect();
            assert_eq!(found, keys, "knuckle {}", words.join(" "));
            let flat = object
                .as_object()
                .unwrap()
                .values()
                .all(|it| !it.is_object() && !it.is_array());
            assert!(flat, "{object} is not flat");
        }
        objects
    }

    /// Writes lines as a bench does: moment, who, deed.
    fn write(&self, book: &str, lines: &[(&str, &str, Deed)]) {
        let path = self.shop().join(book).join("journal.jsonl");
        let (mut journal, _) = Journal::open(Arc::new(RealDisk), path).unwrap();
        let drafts: Vec<Draft> = lines
            .iter()
            .map(|(at, by, deed)| Draft {
                at: moment(at),
                by: (*by).to_owned(),
                bench: "long bench".to_owned(),
                body: deed.fields(),
                entered_later: None,
            })
            .collect();
        journal.append(&drafts).unwrap();
    }

    /// A shop in the middle of a day: a joint glued, a gate overruled, a question asked.
    fn at_work() -> Self {
        let sealed = Self::new();
        sealed.write("", &shop_day());
        sealed.write("figures/hare", &hare_day());
        sealed
    }
}

fn copy_cards(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_cards(&entry.path(), &to);
        } else if to.extension().is_some_and(|end| end == "yaml") {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

fn shop_day() -> Vec<(&'static str, &'static str, Deed)> {
    let present = vec!["marguerite".into(), "odile".into()];
    let closed = DayClosed {
        checked: vec!["rags".into()],
        left_open: vec!["hare: left-over cup not reported".into()],
        first_in: Some("wren".into()),
    };
    vec![
        (
            "2026-11-25T07:40:00Z",
            "marguerite",
            Deed::DayOpened(DayOpened { present }),
        ),
        (
            "2026-11-25T17:25:00Z",
            "marguerite",
            Deed::DayClosed(closed),
        ),
    ]
}

fn hare_day() -> Vec<(&'static str, &'static str, Deed)> {
    let work = Work {
        operation: "mix-and-lay-up".into(),
        target: Some("J3".into()),
        round: 1,
    };
    let gap = Recorded {
        work: work.clone(),
        step: "gaps".into(),
        record: "gap".into(),
        station: Some("200 mm, 1 of 5".into()),
        measure: Some(Measure::Gap),
        value: Value::Number(6.5),
        asked_again: true,
    };
    let overruled = Overruled {
        work: work.clone(),
        step: String::new(),
        gate: GateKind::Temperature,
        verdict: "16 °C, below 18 °C".into(),
        why: "the heater is on".into(),
        second: Some("marguerite".into()),
    };
    let deviated = Deviated {
        work: work.clone(),
        step: "mix".into(),
        kind: DeviationKind::TooLate,
        what: "closed 2 min after the cup was over".into(),
    };
    let note = Jotted {
        text: "clamp 4 slips \u{1b}[2J\u{202e}".into(),
    };
    let strike = Struck {
        line: 7,
        why: "it was clamp 3".into(),
    };
    vec![
        (
            "2026-11-25T13:50:00Z",
            "odile",
            Deed::Begun(Begun { work: work.clone() }),
        ),
        ("2026-11-25T13:52:00Z", "odile", Deed::Recorded(gap)),
        ("2026-11-25T13:55:00Z", "odile", Deed::Overruled(overruled)),
        ("2026-11-25T14:02:00Z", "odile", Deed::Mixed(mixed(work))),
        ("2026-11-25T14:21:00Z", "odile", Deed::Deviated(deviated)),
        (
            "2026-11-25T14:30:00Z",
            "odile",
            Deed::Asked(Asked {
                text: "may J4 be opened today?".into(),
            }),
        ),
        ("2026-11-25T14:31:00Z", "odile", Deed::Jotted(note)),
        ("2026-11-25T14:32:00Z", "odile", Deed::Struck(strike)),
        // Half past midnight at a bench one zone further east is still this day in the shop.
        (
            "2026-11-26T00:30:00+01:00",
            "odile",
            Deed::Jotted(Jotted {
                text: "lamp left on".into(),
            }),
        ),
        (
            "2026-11-26T08:00:00Z",
            "odile",
            Deed::Jotted(Jotted {
                text: "the day after".into(),
            }),
        ),
    ]
}

fn mixed(work: Work) -> Mixed {
    let cup = ClockRule::PotLife {
        sheet: vec![PotLifePoint {
            minutes: 30.0,
            grams: 100.0,
            temp_c: 20.0,
        }],
        grams: 99.9,
        resin_c: Some(20.0),
    };
    let clamps = ClockRule::Span {
        early_min: 900.0,
        likely_min: 1000.0,
        late_min: 1100.0,
        side: Use::WaitUntil,
        because: "from the sheet".into(),
    };
    let start = |clock, rule| ClockStart {
        clock,
        about: "J3, medium epoxy".into(),
        rule,
    };
    Mixed {
        work,
        step: "mix".into(),
        material: "medium-epoxy".into(),
        lots: ["A-1".into(), "B-1".into()],
        a_g: 68.9,
        b_g: 31.0,
        off_percent: 0.2,
        resin_c: Some(20.0),
        starts: vec![start(ClockName::Cup, cup), start(ClockName::Clamps, clamps)],
    }
}

/// The moment at which most trials look.
const EVENING: [&str; 2] = ["--clock", "2026-11-25T18:00:00Z"];

fn at_evening<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [words, &EVENING].concat()
}

#[test]
fn a_day_is_told_over_all_books_by_time() {
    let sealed = Sealed::at_work();
    sealed.says(&at_evening(&["day"]), "\
07:40  shop:1  marguerite  opened the day; in: marguerite, odile
13:50  hare:1  odile       began Mix, lay up, clamp, release on J3
13:52  hare:2  odile       gap at 200 mm, 1 of 5: 6.5 mm, outside the usual and confirmed (J3)
13:55  hare:3  odile       overruled temperature with Marguerite (16 °C, below 18 °C): the heater is on (J3)
14:02  hare:4  odile       mixed 68.9 + 31.0 g of medium epoxy for J3 (off +0.2 %), lots A-1 and B-1
14:21  hare:5  odile       otherwise than planned: closed 2 min after the cup was over (J3)
14:30  hare:6  odile       asked: may J4 be opened today?
14:31  hare:7  odile       struck: noted: clamp 4 slips ␛[2J‹U+202E›
14:32  hare:8  odile       struck line 7: it was clamp 3
17:25  shop:2  marguerite  closed the day; left open: hare: left-over cup not reported
23:30  hare:9  odile       noted: lamp left on
");
    sealed.says(
        &["day", "2026-11-26", "--figure", "hare", "--by", "odile"],
        "08:00  hare:10  odile  noted: the day after\n",
    );
    sealed.says(&["day", "2026-11-24"], "no line on 2026-11-24\n");
    sealed.says(
        &["day", "2026-11-25", "--figure", "shop", "--units", "inch"],
        "07:40  shop:1  marguerite  opened the day; in: marguerite, odile\n\
         17:25  shop:2  marguerite  closed the day; left open: hare: left-over cup not reported\n",
    );
}

#[test]
fn the_page_tells_its_ten_points() {
    let sealed = Sealed::at_work();
    sealed.says(
        &at_evening(&["day", "--page"]),
        "\
Lantern Quay Carving Rooms
Wednesday 25 November 2026, as it stood at 18:00

 1  who was in, what moved
    in: marguerite, odile
    hare: Mix, lay up, clamp, release on J3, begun  [hare:5]

 2  waits for a signature or an answer
    hare: temperature overruled: 16 °C, below 18 °C: the heater is on (odile)  [hare:3]
    hare: otherwise than planned: closed 2 min after the cup was over (odile)  [hare:5]

 3  gates overruled
    13:55 hare: overruled temperature with Marguerite (16 °C, below 18 °C): the heater is on (J3) (odile)  [hare:3]

 4  otherwise than planned
    14:21 hare: otherwise than planned: closed 2 min after the cup was over (J3) (odile)  [hare:5]

 5  readings outside the usual
    13:52 hare: gap at 200 mm, 1 of 5: 6.5 mm, outside the usual and confirmed (J3) (odile)  [hare:2]

 6  clocks over, cups not reported
    over since 14:19: hare, cup: J3, medium epoxy  [hare:4]
    left open at closing: hare: left-over cup not reported  [shop:2]

 7  fixed hours until the next day is over
    Thu 26 Nov 08:22 ready: hare, clamps off: J3, medium epoxy  [hare:4]

 8  lots opened, lots past their date
    past its date: lot FH-2409-18 of fast-epoxy, 2026-09-30
    past its date: lot ZQ-2409-55 of quick-size, 2026-10-31

 9  promises near or past
    –

10  questions from the bench
    hare: may J4 be opened today? (odile)  [hare:6]
",
    );
    // The morning before, nothing of it had happened, and the page says so.
    let before = sealed.run(&[
        "day",
        "2026-11-24",
        "--page",
        "--clock",
        "2026-11-25T18:00:00Z",
    ]);
    assert!(
        before
            .out
            .contains("Tuesday 24 November 2026, as it stood at its end"),
        "{}",
        before.out
    );
    assert!(!before.out.contains("hare"), "{}", before.out);
}

#[test]
fn every_answer_in_json_has_its_keys() {
    let sealed = Sealed::at_work();
    let day = [
        "book",
        "n",
        "at",
        "by",
        "deed",
        "mark",
        "entered_later",
        "text",
    ];
    let lines = sealed.keys(&at_evening(&["day"]), &day);
    assert_eq!(lines.len(), 11);
    assert_eq!(lines[4]["at"], "2026-11-25T14:02:00+00:00");
    assert_eq!(lines[4]["deed"], "mixed");
    assert_eq!(lines[7]["mark"], "struck");
    sealed.keys(
        &at_evening(&["day", "--page"]),
        &["point", "title", "text", "book", "n"],
    );
    let floor = [
        "figure",
        "name",
        "room",
        "operation",
        "target",
        "step",
        "waits_for",
        "clock",
        "clock_at",
        "route_done",
        "route_of",
        "holds",
        "unanswered",
        "promised",
    ];
    let rows = sealed.keys(&at_evening(&["standing"]), &floor);
    let hare = rows.iter().find(|row| row["figure"] == "hare").unwrap();
    assert_eq!(
        (&hare["operation"], &hare["target"]),
        (&"mix-and-lay-up".into(), &"J3".into())
    );
    assert_eq!(hare["unanswered"], 3);
    let facts = ["figure", "about", "operation", "target", "n", "text"];
    sealed.keys(&at_evening(&["standing", "hare"]), &facts);
    let clock = [
        "figure", "id", "clock", "about", "state", "side", "started", "opens", "likely", "closes",
        "left_min", "because",
    ];
    let clocks = sealed.keys(&at_evening(&["clocks"]), &clock);
    assert_eq!(clocks[0]["id"], "4.cup");
    assert_eq!(clocks[0]["state"], "over");
    assert_eq!(clocks[1]["opens"], "2026-11-26T08:22:00+00:00");
    assert_eq!(clocks[1]["left_min"], 862.0);
    let waiting = [
        "figure",
        "kind",
        "line",
        "operation",
        "target",
        "since",
        "by",
        "may_sign",
        "text",
    ];
    let waits = sealed.keys(&at_evening(&["sign"]), &waiting);
    let kinds: Vec<_> = waits
        .iter()
        .map(|one| one["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["overrule", "deviation", "question"]);
    let jot = ["jot", "hare", "ear", "found", "--as", "odile"];
    let kept = sealed.keys(
        &at_evening(&jot),
        &["book", "n", "at", "by", "deed", "text"],
    );
    assert_eq!(
        (&kept[0]["book"], &kept[0]["n"]),
        (&"hare".into(), &11.into())
    );
}

#[test]
fn standing_clocks_and_what_waits_are_told_in_columns() {
    let sealed = Sealed::at_work();
    sealed.says(
        &at_evening(&["clocks"]),
        "\
over since 14:19                        hare  cup         J3, medium epoxy  guess, no air reading of this room: 30 min on the sheet, 17 because 26 °C and 99.9 g
ready Thu 26 Nov 08:22, in 14 h 22 min  hare  clamps off  J3, medium epoxy  from the sheet
",
    );
    sealed.says(
        &at_evening(&["sign"]),
        "\
hare  3  overrule   16 °C, below 18 °C: the heater is on (odile)
hare  5  deviation  closed 2 min after the cup was over (odile)
hare  6  question   may J4 be opened today? (odile)
",
    );
    sealed.says(
        &at_evening(&["standing", "hare"]),
        "\
card            running hare, in bench-room, promised 2027-04-16
job     hare:1  Mix, lay up, clamp, release on J3, step 1 of 31: Lay out the clamps in the rehearsed order; the gate dry enough is shut: no moisture reading at depth here
clock   hare:4  cup, J3, medium epoxy: over since 14:19; guess, no air reading of this room: 30 min on the sheet, 17 because 26 °C and 99.9 g
clock   hare:4  clamps off, J3, medium epoxy: ready Thu 26 Nov 08:22, in 14 h 22 min; from the sheet
matter  hare:3  16 °C, below 18 °C: the heater is on (odile)
matter  hare:5  closed 2 min after the cup was over (odile)
matter  hare:6  may J4 be opened today? (odile)
next            Receive, quarantine, survey
",
    );
    let floor = sealed.run(&at_evening(&["standing"])).out;
    let hare = "hare           bench room            0 of 24  Mix, lay up, clamp, release on J3: Lay out the clamps in the rehearsed order  waits for gate: no moisture reading at depth here; cup over since 14:19; 3 to answer\n";
    assert!(
        floor.starts_with(hare),
        "what dies first comes first: {floor}"
    );
    assert_eq!(floor.lines().count(), 5);
}

#[test]
fn lines_are_kept_by_people_and_by_sensors() {
    let sealed = Sealed::new();
    let odile = ["--as", "odile", "--clock", "2026-11-25T08:00:00Z"];
    let with = |words: &[&'static str]| [words, &odile].concat();
    sealed.says(
        &with(&["jot", "hare", "left", "ear", "found"]),
        "kept as hare:1: noted: left ear found\n",
    );
    sealed.says(
        &with(&["jot", "shop", "rain"]),
        "kept as shop:1: noted: rain\n",
    );
    sealed.says(
        &with(&["air", "bench-room", "--temp", "68F", "--humidity", "48%"]),
        "kept as shop:2: air of bench room: 20 °C, 48 % (hand)\n",
    );
    sealed.says(
        &[
            "air",
            "bench-room",
            "--temp",
            "-2C",
            "--humidity",
            "48%",
            "--source",
            "wall-3",
            "--units",
            "inch",
        ],
        "kept as shop:3: air of bench room: 28.4 °F, 48 % (wall-3)\n",
    );
    let text = fs::read_to_string(sealed.shop().join("journal.jsonl")).unwrap();
    let last: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    assert_eq!(
        (&last["by"], &last["source"]),
        (&"wall-3".into(), &"wall-3".into())
    );
    assert_eq!(
        last["temp_c"], -2.0,
        "journals are metric whatever is shown"
    );
    sealed.says(&["audit"], "2 journals, 4 lines: nothing wrong\n");
}

/// Walks the first operation in memory until its hold point waits, and writes the lines.
#[test]
fn a_hold_is_signed_and_a_question_answered() {
    let sealed = Sealed::at_work();
    let mut bench = Bench::new(
        crate::memory::sample_cards(),
        moment("2026-11-24T08:00:00Z"),
    );
    let work = bench.begin("heron", "receive", None);
    for _ in 0..300 {
        let front = bench.prompt("heron", &work);
        if matches!(front.ask, Ask::Hold { .. }) {
            break;
        }
        bench.answer("heron", &work, &front);
    }
    let book = knuckle::standing::Book::Figure("heron".into());
    let times: Vec<String> = bench.lines[&book]
        .iter()
        .map(|line| line.at.to_rfc3339())
        .collect();
    let lines: Vec<(&str, &str, Deed)> = bench.lines[&book]
        .iter()
        .zip(&times)
        .map(|(line, at)| (at.as_str(), line.by.as_str(), line.deed.clone()))
        .collect();
    sealed.write("figures/heron", &lines);
    let n = lines.len() + 1;
    let waits = sealed.run(&at_evening(&["sign"])).out;
    assert!(waits.starts_with("heron  receive  hold"), "{waits}");
    let sign = |who: &'static str, words: &[&'static str]| {
        [
            &["sign"],
            words,
            &["--as", who, "--clock", "2026-11-25T18:00:00Z"],
        ]
        .concat()
    };
    let told = sealed.run(&sign("marguerite", &["heron", "receive", "--accept"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    assert!(
        told.out
            .starts_with(&format!("kept as heron:{n}: signed: ")),
        "{}",
        told.out
    );
    sealed.says(
        &sign(
            "marguerite",
            &["hare", "6", "--accept", "--why", "yes, after the clamps"],
        ),
        "kept as hare:11: accepted line 6 yes, after the clamps\n",
    );
    sealed.refuses(
        &sign("marguerite", &["hare", "6", "--accept"]),
        2,
        "line 6 is answered already\n    do: nothing was written",
    );
    sealed.refuses(
        &sign("odile", &["hare", "5", "--accept"]),
        2,
        "Odile has no mark to answer this\n    do: nothing was written",
    );
}

#[test]
fn check_and_audit_tell_what_is_wrong_with_its_place() {
    let sealed = Sealed::at_work();
    sealed.says(&["audit"], "2 journals, 12 lines: nothing wrong\n");
    let card = sealed.shop().join("figures/hare/figure.yaml");
    let text = fs::read_to_string(&card)
        .unwrap()
        .replacen("owner_reference", "owner_referenc", 1);
    fs::write(&card, text).unwrap();
    let journal = sealed.shop().join("figures/hare/journal.jsonl");
    let text = fs::read_to_string(&journal)
        .unwrap()
        .replacen("68.9", "69.9", 1);
    fs::write(&journal, text + "{\"n\":11,").unwrap();
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 1);
    assert_eq!(
        told.out,
        "figures/hare/figure.yaml:13:1: unknown field `owner_referenc`; did you mean `owner_reference`?\n"
    );
    let keys = ["file", "line", "column", "what", "hint"];
    sealed_keys_with_note(&sealed, &["check"], &keys);
    let told = sealed.run(&["audit"]);
    assert_eq!(told.code, 1);
    assert_eq!(told.out, "\
figures/hare/journal.jsonl:4: the seal does not fit: this line was changed, or the one before it was changed or removed
figures/hare/journal.jsonl:11: the end is torn: 8 bytes after the last whole line; the next act sets them aside
2 journals, 12 lines: 2 wrong
");
    sealed_keys_with_note(
        &sealed,
        &["audit"],
        &["file", "line", "kind", "wrong", "text"],
    );
}

/// As [`Sealed::keys`], for a shop whose cards have a flaw, which is said beside the answer.
#[track_caller]
fn sealed_keys_with_note(sealed: &Sealed, words: &[&str], keys: &[&str]) {
    let told = sealed.run(&[words, &["--json"]].concat());
    assert_eq!(
        told.err,
        "1 flaw on the cards of this shop: `knuckle check` tells them\n"
    );
    let first: serde_json::Value = serde_json::from_str(told.out.lines().next().unwrap()).unwrap();
    let found: Vec<&str> = first
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    assert_eq!(found, keys);
}

#[test]
fn every_refusal_says_what_where_and_what_to_do() {
    let sealed = Sealed::at_work();
    let help = "look at `knuckle --help`, or at `--help` after the command";
    let cases: &[(&[&str], &str)] = &[
        (
            &["jot", "hair", "x"],
            "no figure is called `hair`; did you mean `hare`?\n where: FIGURE\n    do: there are bandmaster, hare, heron, lantern-woman, lion-boss",
        ),
        (
            &["standing", "lion"],
            "no figure is called `lion`; did you mean `lion-boss`?\n where: FIGURE\n    do: there are bandmaster, hare, heron, lantern-woman, lion-boss",
        ),
        (
            &["day", "--figure", "x"],
            "no figure is called `x`\n where: --figure\n    do: there are bandmaster, hare, heron, lantern-woman, lion-boss",
        ),
        (
            &["day", "--by", "odil"],
            "nobody in this shop is called `odil`; did you mean `odile`?\n where: --by\n    do: there are odile, wren, tobias, ines, marguerite",
        ),
        (
            &["jot", "hare", "x"],
            "a line in a journal needs a name\n where: --as\n    do: say who you are, one of odile, wren, tobias, ines, marguerite",
        ),
        (
            &["jot", "hare", "x", "--as", "Odile"],
            "nobody in this shop is called `Odile`; did you mean `odile`?\n where: --as\n    do: there are odile, wren, tobias, ines, marguerite",
        ),
        (
            &["jot", "hare", " ", "--as", "odile"],
            "the note is empty\n    do: nothing was written",
        ),
        (
            &["air", "store", "--temp", "20", "--humidity", "50%"],
            "`20` has no unit, so it could be any temperature\n where: --temp\n    do: write the number with one of these units: C, F",
        ),
        (
            &[
                "air",
                "store",
                "--temp",
                "20C",
                "--humidity",
                "150%",
                "--as",
                "odile",
            ],
            "humidity 150 % is outside 1 to 100 %\n    do: nothing was written",
        ),
        (
            &["air", "stroe", "--temp", "20C", "--humidity", "50%"],
            "no room is called `stroe`; did you mean `store`?\n where: ROOM\n    do: there are bench-room, still-room, stripping-room, store",
        ),
        (
            &[
                "air",
                "store",
                "--temp",
                "20C",
                "--humidity",
                "50%",
                "--source",
                "odile",
            ],
            "`odile` is no name for a sensor\n where: --source\n    do: give it a name that no person has; a person signs with --as",
        ),
        (
            &["sign", "hare", "6", "--refuse", "--as", "marguerite"],
            "a refusal needs its reason\n where: --why\n    do: say why in a few words; nothing was written",
        ),
        (
            &["sign", "hare", "2", "--accept", "--as", "marguerite"],
            "line 2 of hare asks for no answer\n    do: nothing was written",
        ),
        (
            &["sign", "hare", "stripe", "--accept", "--as", "marguerite"],
            "no operation is called `stripe`; did you mean `strip`?\n where: OPERATION\n    do: there are blend-and-line, body-colour, consolidate, detail-clean, dry, dry-fit, fill, final-inspection, hand-over, joint-survey, layer-study, lead-test, mix-and-lay-up, open-joint, photograph, prime, receive, sand, scheme, size-and-leaf, splice, strip, varnish, wash",
        ),
        (
            &[
                "sign",
                "hare",
                "strip",
                "ears",
                "--accept",
                "--as",
                "marguerite",
            ],
            "strip on ears of hare waits for no signature\n where: OPERATION\n    do: no hold point of hare waits; `knuckle sign` lists what does",
        ),
        (
            &["sign", "hare"],
            &format!("missing: --accept|--refuse, LINE|OPERATION\n    do: {help}"),
        ),
        (
            &["dya"],
            &format!("no command is called `dya`; did you mean `day`?\n    do: {help}"),
        ),
        (
            &["day", "--figur", "x"],
            &format!("there is no flag `--figur` here; did you mean `--figure`?\n    do: {help}"),
        ),
        (
            &["clocks", "x"],
            &format!("`x` is one word too many\n    do: {help}"),
        ),
        (
            &["day", "--page", "--by", "odile"],
            &format!("`--page` and `--by` do not go together\n    do: {help}"),
        ),
        (
            &["day", "--units", "inches"],
            "`inches` is not a value of `--units`; did you mean `inch`?\n    do: one of metric, inch",
        ),
        (
            &["day", "--units"],
            "`--units` needs a value\n    do: one of metric, inch",
        ),
        (
            &["day", "--clock", "noon"],
            "`noon` is not a value of `--clock`\n    do: write date, time and offset, such as 2026-11-25T08:00:00+00:00",
        ),
        (
            &["day", "tomorrow"],
            "`tomorrow` is not a value of `[DATE]`\n    do: write a date such as 2026-11-25",
        ),
        (
            &["reckon", "emc", "--air", "21", "--humidity", "50%"],
            "`21` has no unit, so it could be any temperature\n where: --air\n    do: write the number with one of these units: C, F",
        ),
        (
            &["open-shop", "."],
            "a shop is there already\n where: $SHOP/.\n    do: use it, or name another folder; nothing was changed",
        ),
        (
            &["take-in", "hare"],
            "a figure called `hare` is there already\n where: figures/hare\n    do: give the new one another name; nothing was changed",
        ),
        (
            &["take-in", "the hare"],
            "`the hare` is not a short name\n where: the hare\n    do: use small letters, digits and hyphens inside, at most 40, such as `hare-2`",
        ),
        (
            &["day", "--shop", "figures"],
            "this folder is no shop: it has no shop.yaml\n where: $SHOP/figures\n    do: name the folder that holds shop.yaml, or make a new shop with `open-shop`",
        ),
    ];
    for (words, message) in cases {
        sealed.refuses(words, 2, message);
    }
}

#[test]
fn a_clock_that_is_not_the_walls_never_writes_to_a_real_shop() {
    let sealed = Sealed::new();
    let card = sealed.shop().join("shop.yaml");
    let text = fs::read_to_string(&card)
        .unwrap()
        .replace("practice: true", "practice: false");
    fs::write(&card, text).unwrap();
    sealed.refuses(
        &at_evening(&["jot", "hare", "x", "--as", "odile"]),
        2,
        "under --clock nothing is written to a shop that is not for practice\n \
         where: $SHOP/shop.yaml\n    \
         do: leave --clock out, or use a shop with `practice: true`; nothing was changed",
    );
    sealed.says(&at_evening(&["clocks"]), "no clock runs\n");
}

#[test]
fn without_a_shop_the_sample_is_read_and_nothing_is_written() {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    fs::create_dir(&empty).unwrap();
    let told = sealed.run_in(&empty, &["check"]);
    assert_eq!(told.code, 0);
    assert_eq!(
        told.err,
        "no shop here: this is the sample shop; name yours with --shop DIR\n"
    );
    let told = sealed.run_in(&empty, &["jot", "hare", "x", "--as", "odile"]);
    assert_eq!(told.code, 2);
    assert_eq!(
        told.err,
        "there is no shop to write into\n where: $HOME/empty\n    do: name it with --shop DIR, \
         go into its folder, or make one with `knuckle open-shop DIR`\n"
    );
    assert_eq!(fs::read_dir(&empty).unwrap().count(), 0);
}

#[test]
fn a_shop_is_opened_and_a_figure_taken_in() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    let told = sealed.run_in(home, &["open-shop", "new"]);
    assert_eq!(
        (told.code, told.out.as_str()),
        (
            0,
            "a new shop: write its rooms, people and emergency lines on $HOME/new/shop.yaml, then `knuckle check`\n"
        )
    );
    // It is the shop used last now, from wherever.
    let told = sealed.run_in(home, &["take-in", "otter", "--carving", "animal"]);
    assert_eq!(
        (told.code, told.out.as_str()),
        (
            0,
            "otter is taken in: measure its zones and write them on $HOME/new/figures/otter/figure.yaml, then `knuckle check`\n"
        )
    );
}

#[test]
fn help_manual_and_completions_come_from_the_one_table() {
    let sealed = Sealed::new();
    let help = sealed.run(&["--help"]).out;
    let manual = sealed.run(&["man"]).out;
    let completions = sealed.run(&["completions", "bash"]).out;
    for command in [
        "bench",
        "practice",
        "day",
        "standing",
        "clocks",
        "jot",
        "air",
        "sign",
        "check",
        "audit",
        "open-shop",
        "take-in",
        "reckon",
    ] {
        assert!(
            help.contains(&format!("\n  {command} ")),
            "{command} in the help"
        );
        let roff = command.replace('-', "\\-");
        assert!(manual.contains(&roff), "{command} in the manual");
        assert!(
            completions.contains(command),
            "{command} in the completions"
        );
    }
}
