//! The real program in a sealed environment: a temporary home, a copy of the sample shop's
//! cards, fixed moments; and a shop in the middle of a day.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use knuckle::card::{ClockName, GateKind, Measure, PotLifePoint};
use knuckle::deed::{
    Asked, Begun, ClockRule, ClockStart, DayClosed, DayOpened, Deed, Deviated, DeviationKind,
    Jotted, Mixed, Overruled, Recorded, Struck, Use, Value, Work,
};
use knuckle::disk::{RealDisk, replace};
use knuckle::journal::{Draft, Journal};
use tempfile::TempDir;

use super::moment;

/// A temporary home with a copy of the sample shop, without journals.
pub(crate) struct Sealed {
    pub(crate) home: TempDir,
}

/// What a command said.
#[derive(Debug, PartialEq)]
pub(crate) struct Told {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// What is typed to refuse the hold point of the sample's stripped bodice.
pub(crate) fn refuse_bodice(why: &str) -> [&str; 7] {
    [
        "sign",
        "lantern-woman",
        "strip",
        "bodice",
        "--refuse",
        "--why",
        why,
    ]
}

impl Sealed {
    pub(crate) fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
        copy_cards(&sample, &home.path().join("shop"));
        Self { home }
    }

    /// As [`Sealed::new`], with the sample's journals and photographs.
    pub(crate) fn whole() -> Self {
        let sealed = Self::new();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
        copied(&sample, &sealed.shop());
        sealed
    }

    pub(crate) fn shop(&self) -> PathBuf {
        self.home.path().join("shop")
    }

    /// Changes the first place of a file that holds one text into another.
    pub(crate) fn change(&self, file: &str, [from, to]: [&str; 2]) {
        let path = self.shop().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} holds no {from}");
        replace(&RealDisk, &path, text.replacen(from, to, 1).as_bytes()).unwrap();
    }

    /// Runs the program in the shop's folder of this home.
    pub(crate) fn run(&self, words: &[&str]) -> Told {
        self.run_in(&self.shop(), words)
    }

    pub(crate) fn run_in(&self, folder: &Path, words: &[&str]) -> Told {
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
    pub(crate) fn says(&self, words: &[&str], out: &str) {
        let told = self.run(words);
        let wanted = Told {
            code: 0,
            out: out.to_owned(),
            err: String::new(),
        };
        assert_eq!(told, wanted, "knuckle {}", words.join(" "));
    }

    /// What a command says at a moment; it goes well.
    #[track_caller]
    pub(crate) fn told_at(&self, clock: &str, words: &[&str]) -> String {
        let told = self.run(&[words, &["--clock", clock]].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        told.out
    }

    /// Holds the whole message of a command that did not.
    #[track_caller]
    pub(crate) fn refuses(&self, words: &[&str], code: i32, err: &str) {
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
    pub(crate) fn keys(&self, words: &[&str], keys: &[&str]) -> Vec<serde_json::Value> {
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
    pub(crate) fn write(&self, book: &str, lines: &[(&str, &str, Deed)]) {
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

    /// The sample shop as it stood at a moment: of every journal the lines up to then.
    pub(crate) fn as_of(at: &str) -> Self {
        let (sealed, until) = (Self::new(), moment(at));
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
        for book in ["", "figures/bandmaster", "figures/hare", "figures/heron"] {
            let book = Path::new(book).join("journal.jsonl");
            let text = fs::read_to_string(sample.join(&book)).unwrap();
            let stood = |line: &&str| {
                let line: serde_json::Value = serde_json::from_str(line).unwrap();
                moment(line["at"].as_str().unwrap()) <= until
            };
            let lines: String = text.split_inclusive('\n').take_while(stood).collect();
            replace(&RealDisk, &sealed.shop().join(book), lines.as_bytes()).unwrap();
        }
        sealed
    }

    /// A shop in the middle of a day: a joint glued, a gate overruled, a question asked.
    pub(crate) fn at_work() -> Self {
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
        books: BTreeMap::new(),
        seals: BTreeMap::new(),
    };
    vec![
        (
            "2026-11-25T07:40:00Z",
            "marguerite",
            Deed::DayOpened(DayOpened {
                present,
                books: BTreeMap::new(),
                seals: BTreeMap::new(),
            }),
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
            Deed::Begun(Begun::of(work.clone())),
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
pub(crate) const EVENING: [&str; 2] = ["--clock", "2026-11-25T18:00:00Z"];

pub(crate) fn at_evening<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [words, &EVENING].concat()
}

/// Copies a folder with all that is in it.
pub(crate) fn copied(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let (path, beside) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copied(&path, &beside);
        } else {
            std::fs::copy(&path, &beside).unwrap();
        }
    }
}
