//! Time and the real program: `ring` from a pipe, `tonight` and `trust` whole, a reading entered
//! later, and the wall clock set by a library under the program's feet.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use knuckle::card::ClockName;
use knuckle::deed::{Air, Begun, ClockRule, ClockStart, Deed, Done, Use, Work};
use serde_json::Value as Json;

use crate::kit::sealed::{Sealed, at_evening};

/// The program with the environment of a sealed home, its ends in our hands.
struct Started {
    child: Child,
    keys: ChildStdin,
    out: BufReader<ChildStdout>,
}

impl Started {
    fn with(sealed: &Sealed, words: &[&str]) -> Self {
        let mut child = command(sealed, words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        Self {
            keys: child.stdin.take().unwrap(),
            out: BufReader::new(child.stdout.take().unwrap()),
            child,
        }
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.out.read_line(&mut line).unwrap();
        line.trim_end().to_owned()
    }

    /// Tells it to end as the system does, and waits for its end.
    fn end(mut self, signal: &str) -> Option<i32> {
        let id = self.child.id().to_string();
        let sent = Command::new("kill").args([signal, &id]).status().unwrap();
        assert!(sent.success());
        self.child.wait().unwrap().code()
    }
}

fn command(sealed: &Sealed, words: &[&str]) -> Command {
    let home = sealed.home.path();
    let mut command = Command::new(env!("CARGO_BIN_EXE_knuckle"));
    command
        .args(words)
        .current_dir(sealed.shop())
        .env_clear()
        .env("HOME", home)
        .env("XDG_STATE_HOME", home.join("state"))
        .env("TMPDIR", home)
        // No message of a trial pops up on anybody's desktop.
        .env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere")
        .env("TZ", "UTC");
    command
}

/// The cup of the afternoon was over at 14:19; the program was started at 18:00.
const OVER: &str = "18:00 *** hare: cup: time is over (J3, medium epoxy); stop using the cup, \
                    take it outside; since 14:19, told 3 h 40 min late";

#[test]
fn ring_tells_each_alarm_as_one_line() {
    let sealed = Sealed::at_work();
    sealed.says(&at_evening(&["ring", "--once"]), &format!("{OVER}\n"));
    Sealed::new().says(&at_evening(&["ring", "--once"]), "");
    let json = sealed.run(&at_evening(&["ring", "--once", "--json"])).out;
    let rows: Vec<serde_json::Value> = json
        .lines()
        .map(|row| serde_json::from_str(row).unwrap())
        .collect();
    assert_eq!(rows.len(), OVER.lines().count());
    assert_eq!(rows[0]["row"], "alarm");
    assert!(OVER.contains(rows[0]["headline"].as_str().unwrap()));
    sealed.refuses(
        &at_evening(&["ring", "--as", "nobody"]),
        2,
        "nobody in this shop is called `nobody`\n where: --as\n    do: there are odile, wren, \
         tobias, ines, marguerite",
    );
}

#[test]
fn ring_answers_by_enter_and_ends_when_it_is_told_to() {
    for signal in ["-TERM", "-INT"] {
        let sealed = Sealed::at_work();
        let words = at_evening(&["ring", "--as", "odile"]);
        let mut ring = Started::with(&sealed, &words);
        assert_eq!(ring.line(), OVER);
        writeln!(ring.keys, "heard").unwrap();
        assert_eq!(
            ring.line(),
            "18:00 answered by odile: hare, J3, medium epoxy"
        );
        assert_eq!(ring.line(), "18:00 quiet: nothing rings");
        assert_eq!(ring.end(signal), Some(0), "{signal}");
        let day = sealed.run(&["day", "2026-11-25"]).out;
        let kept = "answered the alarm of cup (line 4), its time over, after";
        assert!(day.contains(kept), "{day}");
    }
}

/// A service has no input at all; without a name it answers nothing, and rings on.
#[test]
fn ring_works_without_anybody_and_without_input() {
    let sealed = Sealed::at_work();
    let mut ring = Started::with(&sealed, &at_evening(&["ring"]));
    assert_eq!(ring.line(), OVER);
    let mut ring = Started {
        keys: std::mem::replace(&mut ring.keys, nothing()),
        ..ring
    };
    writeln!(ring.keys, "heard").unwrap();
    assert_eq!(ring.end("-TERM"), Some(0));
    let day = sealed.run(&["day", "2026-11-25"]).out;
    assert!(!day.contains("answered the 100 %"), "{day}");
}

/// An input that nobody reads.
fn nothing() -> ChildStdin {
    let mut other = Command::new("true").stdin(Stdio::piped()).spawn().unwrap();
    let input = other.stdin.take().unwrap();
    other.wait().unwrap();
    input
}

/// Another bench answers while it rings: it follows that journal and is quiet.
#[test]
fn another_bench_s_answer_ends_it() {
    let sealed = Sealed::at_work();
    let mut ring = Started::with(&sealed, &at_evening(&["ring", "--as", "wren"]));
    assert_eq!(ring.line(), OVER);
    let mut other = Started::with(&sealed, &at_evening(&["ring", "--as", "odile"]));
    assert_eq!(other.line(), OVER);
    writeln!(other.keys).unwrap();
    assert_eq!(
        other.line(),
        "18:00 answered by odile: hare, J3, medium epoxy"
    );
    // On a clock that stands still any line makes it look again.
    writeln!(ring.keys).unwrap();
    assert_eq!(ring.line(), "18:00 quiet: nothing rings");
    assert_eq!(ring.end("-TERM"), Some(0));
    assert_eq!(other.end("-TERM"), Some(0));
}

#[test]
fn a_reading_entered_later_is_marked_and_never_lies_ahead() {
    let sealed = Sealed::new();
    let air = [
        "air",
        "still-room",
        "--temp",
        "18C",
        "--humidity",
        "60%",
        "--as",
        "wren",
    ];
    let with = |more: &[&'static str]| [&air, more].concat();
    let told = sealed.run(&at_evening(&with(&["--at", "2026-11-25T09:30:00Z"])));
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out.contains("(entered later, 25 Nov 18:00)"),
        "{told:?}"
    );
    sealed.refuses(
        &at_evening(&with(&["--at", "2026-11-25T18:30:00Z"])),
        2,
        "a reading cannot be taken in the time to come\n where: --at\n    do: leave --at out for \
         a reading of this moment",
    );
    assert_eq!(sealed.run(&["audit"]).code, 0);
}

/// The trousers of the bandmaster were dried twice and primed on what was read on Monday.
#[test]
fn a_reading_of_a_figure_from_a_slip_of_paper_goes_to_its_step() {
    let sealed = Sealed::as_of("2026-11-25T18:00:00+00:00");
    let slip = |percent: &'static str, more: &[&'static str]| {
        let read = ["read", "bandmaster", "moisture-core", percent];
        let who = ["--target", "trousers", "--as", "odile"];
        at_evening(&[&read[..], &who[..], more].concat())
    };
    let monday = ["--place", "2", "--at", "2026-11-23T10:00:00+00:00"];
    let told = sealed.run(&slip("14.5%", &monday));
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out.contains("(entered later, 25 Nov 18:00)"),
        "{told:?}"
    );
    // Primer went on after it: the supervisor must know.
    assert!(told.out.contains("would have been shut"), "{told:?}");
    let waits = sealed.run(&at_evening(&["sign"])).out;
    assert!(waits.contains("by the reading entered since"), "{waits}");
    sealed.refuses(
        &slip("14.5", &monday),
        2,
        "`14.5` has no unit, so it could be any percentage\n where: VALUE\n    do: write the \
         number with one of these units: %",
    );
    sealed.refuses(
        &slip("14.5%", &[]),
        2,
        "it is read at several places\n    do: say where with --place: 1; 2; 3",
    );
    // Photographs and two books of the sample are not copied along; the others are sound.
    let audit = sealed.run(&["audit"]).out;
    let flaws = audit.lines().filter(|line| line.contains("journal.jsonl:"));
    let flaws = flaws.filter(|line| !line.contains("it is not there"));
    assert_eq!(flaws.count(), 0, "{audit}");
}

/// A week of readings of the still room, and the heron's panels waiting there.
fn week() -> Sealed {
    let sealed = Sealed::new();
    let readings: Vec<(String, Deed)> = (0..7 * 8)
        .map(|nth| {
            let (day, hour) = (18 + nth / 8, nth % 8 * 3);
            let warm = if (9..18).contains(&hour) { 20.0 } else { 17.0 };
            let air = Air {
                room: "still-room".into(),
                temp_c: warm,
                humidity_percent: 50.0,
                source: "hand".into(),
            };
            (format!("2026-11-{day}T{hour:02}:00:00Z"), Deed::Air(air))
        })
        .collect();
    let lines: Vec<(&str, &str, Deed)> = readings
        .iter()
        .map(|(at, deed)| (at.as_str(), "wren", deed.clone()))
        .collect();
    sealed.write("", &lines);
    sealed.change(
        "figures/lion-boss/figure.yaml",
        ["room:", "room: still-room #"],
    );
    // The rim is primed and painted: its leaf stands first on the route.
    let leaf = "  - operation: size-and-leaf\n    on: [rim-upper, rim-lower]\n";
    let first = format!("route:\n{leaf}");
    for change in [[leaf, ""], ["route:\n", &first]] {
        sealed.change("figures/lion-boss/figure.yaml", change);
    }
    sealed
}

const AFTERNOON: [&str; 2] = ["--clock", "2026-11-25T13:00:00Z"];

#[test]
fn tonight_says_the_same_in_words_and_in_json() {
    let sealed = week();
    let words = [&["tonight", "lion-boss"][..], &AFTERNOON].concat();
    let page = sealed.run(&words);
    assert_eq!((page.code, page.err.as_str()), (0, ""), "{page:?}");
    let json = sealed.run(&[&words[..], &["--json"]].concat());
    let rows: Vec<Json> = json
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let night = &rows[0];
    assert_eq!(
        (&night["row"], &night["figure"]),
        (&"night".into(), &"lion-boss".into())
    );
    assert_eq!(night["provenance"], "from sheet");
    // Nothing is sure in this air, so that no lay time is given out as the best: the likely one
    // has its own name, in words as in JSON.
    assert_eq!(night["certainty"], "likely", "{night}");
    for key in ["best", "earliest", "latest", "margin_min"] {
        assert!(night[key].is_null(), "{key}: {night}");
    }
    assert!(page.out.contains("NOTHING IS SURE: "), "{}", page.out);
    let best = night["likely_best"].as_str().unwrap();
    let best = chrono::DateTime::parse_from_rfc3339(best).unwrap();
    let said = format!("best {}", best.format("%a %H:%M"));
    assert!(page.out.contains(&said), "{said}\n{}", page.out);
    // Both halves of the rim wait, and each is ready before its leaf begins and laid before
    // it is dead.
    let moment = |row: &Json, key: &str| {
        chrono::DateTime::parse_from_rfc3339(row[key].as_str().unwrap()).unwrap()
    };
    assert_eq!(rows.len(), 3, "{json:?}");
    for row in &rows[1..] {
        assert_eq!(
            (&row["row"], &row["certainty"]),
            (&"panel".into(), &"likely".into())
        );
        for pair in [
            ["size_from", "size_to"],
            ["size_to", "ready"],
            ["ready", "start"],
        ] {
            assert!(
                moment(row, pair[0]) <= moment(row, pair[1]),
                "{pair:?} {row}"
            );
        }
        assert!(moment(row, "end") < moment(row, "dead"), "{row}");
    }
}

#[test]
fn tonight_takes_panels_sizes_and_hands_and_refuses_what_is_not_there() {
    let sealed = week();
    let ask = |more: &[&str]| {
        let words = [&["tonight", "lion-boss", "--json"], more, &AFTERNOON].concat();
        let told = sealed.run(&words);
        assert_eq!(told.code, 0, "{told:?}");
        let rows = told
            .out
            .lines()
            .map(|line| serde_json::from_str::<Json>(line).unwrap());
        rows.collect::<Vec<Json>>()
    };
    let one = ask(&["--panel", "rim-upper", "--size", "three-hour-size"]);
    assert_eq!(one[0]["size"], "three-hour-size");
    assert!(
        one[1..].iter().all(|row| row["panel"] == "rim-upper"),
        "{one:?}"
    );
    let both = ask(&["--gilders", "2"]);
    assert_eq!(both[0]["figure"], "lion-boss");
    let refused = |words: &[&str]| {
        let told = sealed.run(&[&["tonight"], words, &AFTERNOON].concat());
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{told:?}");
        told.err
    };
    assert!(refused(&["lion-bos"]).contains("did you mean `lion-boss`?"));
    assert!(refused(&["lion-boss", "--panel", "rim"]).contains("no panel is called `rim`"));
    assert!(refused(&["lion-boss", "--size", "slow"]).contains("did you mean `slow-size`?"));
}

#[test]
fn trust_lists_lots_and_refuses_in_words() {
    let sealed = Sealed::at_work();
    sealed.says(&at_evening(&["trust"]), "no lot has times of its own yet\n");
    let trust = |lot: &'static str, by: &'static str| at_evening(&["trust", lot, "--as", by]);
    sealed.refuses(
        &trust("ZS-2607-19", "odile"),
        2,
        "Odile has no mark to trust a lot\n    do: nothing was written",
    );
    sealed.refuses(
        &trust("ZS-2607-19", "marguerite"),
        2,
        "lot ZS-2607-19 has 0 own cases of one kind, 5 are needed\n    do: nothing was written",
    );
    let unknown = sealed.run(&trust("XX", "marguerite"));
    assert_eq!(unknown.code, 2);
    assert!(
        unknown.err.starts_with("no lot is called `XX`"),
        "{unknown:?}"
    );
}

/// The library that sets the wall clock of a program, where this machine has it.
fn faketime() -> Option<PathBuf> {
    let found = std::fs::read_dir("/usr/lib").into_iter().flatten();
    let mut folders: Vec<PathBuf> = found.flatten().map(|entry| entry.path()).collect();
    folders.push(PathBuf::from("/usr/lib"));
    let library = |folder: &Path| folder.join("faketime/libfaketime.so.1");
    let mut all = folders.iter().map(|folder| library(folder));
    all.find(|file| file.exists())
}

/// A wait of two hours on the hare, begun at a moment.
fn waiting(started: &str) -> Sealed {
    let sealed = Sealed::new();
    let work = Work {
        operation: "sand".into(),
        target: Some("head".into()),
        round: 1,
    };
    let rule = ClockRule::Span {
        early_min: 120.0,
        likely_min: 120.0,
        late_min: 120.0,
        side: Use::WaitUntil,
        because: "trial".into(),
    };
    let done = Done {
        work: work.clone(),
        step: "damp".into(),
        starts: vec![ClockStart {
            clock: ClockName::Dust,
            about: "head".into(),
            rule,
        }],
        ends: Vec::new(),
        coat: None,
    };
    let lines = [
        (started, "odile", Deed::Begun(Begun::of(work))),
        (started, "odile", Deed::Done(done)),
    ];
    sealed.write("figures/hare", &lines);
    sealed
}

/// Runs `clocks --json` with the wall clock of the machine at a moment, UTC.
fn clock_at(sealed: &Sealed, library: &Path, wall: &str) -> Json {
    let told = command(sealed, &["clocks", "--json"])
        .env("LD_PRELOAD", library)
        .env("FAKETIME", wall)
        .env("FAKETIME_DONT_FAKE_MONOTONIC", "1")
        .output()
        .unwrap();
    assert!(told.status.success(), "{told:?}");
    let out = String::from_utf8(told.stdout).unwrap();
    serde_json::from_str(out.lines().next().unwrap()).unwrap()
}

#[track_caller]
fn says(clock: &Json, state: &str, opens: &str, left: std::ops::RangeInclusive<f64>) {
    assert_eq!(clock["state"], state, "{clock}");
    assert_eq!(clock["opens"], opens, "{clock}");
    let left_min = clock["left_min"].as_f64().unwrap();
    assert!(left.contains(&left_min), "{clock}");
}

/// Lisbon goes to summer time on 2027-03-28 at 01:00 UTC and back on 2026-10-25 at 01:00 UTC
/// (IANA time zone database): two hours stay two hours, and the hour is said as the wall has it.
#[test]
fn the_real_program_across_a_change_of_the_clocks_and_after_jumps() {
    let Some(library) = faketime() else {
        eprintln!("NOT TRIED: libfaketime is not on this machine; the package is `faketime`");
        return;
    };
    let spring = waiting("2027-03-28T00:30:00+00:00");
    let opens = "2027-03-28T03:30:00+01:00";
    let at = |wall: &str| clock_at(&spring, &library, wall);
    says(&at("2027-03-28 00:40:00"), "waiting", opens, 109.0..=110.0);
    says(&at("2027-03-28 01:10:00"), "waiting", opens, 79.0..=80.0);
    says(&at("2027-03-28 02:30:01"), "come", opens, -1.0..=0.0);
    // Set back to the evening before: nothing has come, nothing is lost.
    says(&at("2027-03-27 20:30:00"), "waiting", opens, 359.0..=360.0);
    // Set forward by three days: it has come, and says since when.
    says(&at("2027-03-31 02:30:00"), "come", opens, -4321.0..=-4319.0);
    let autumn = waiting("2026-10-25T00:30:00+01:00");
    let opens = "2026-10-25T01:30:00+00:00";
    let at = |wall: &str| clock_at(&autumn, &library, wall);
    says(&at("2026-10-25 00:30:00"), "waiting", opens, 59.0..=60.0);
    says(&at("2026-10-25 01:30:01"), "come", opens, -1.0..=0.0);
}

/// A year or a month typed wrong is no reading of long ago.
#[test]
fn a_reading_of_long_ago_is_a_slip_in_the_date() {
    let sealed = Sealed::new();
    let told = |at: &str| {
        let words = ["air", "still-room", "--temp", "18C", "--humidity", "71%"];
        let clock = [
            "--as",
            "wren",
            "--clock",
            "2026-11-25T14:00:00Z",
            "--at",
            at,
        ];
        sealed.run(&[&words[..], &clock].concat())
    };
    let slip = told("1990-11-25T08:30:00Z");
    assert_eq!(slip.code, 2);
    let words = "25 Nov 1990 is more than 31 days ago\n where: --at\n    do: look at the year";
    assert!(slip.err.starts_with(words), "{}", slip.err);
    assert_eq!(told("2026-11-01T08:30:00Z").code, 0);
}

/// Of several who take in a figure of one name at once, one does.
#[test]
fn of_several_who_take_in_one_name_one_does() {
    let sealed = Sealed::new();
    let codes: Vec<i32> = std::thread::scope(|scope| {
        let take_in = || sealed.run(&["take-in", "twin", "--as", "odile"]).code;
        let all: Vec<_> = (0..6).map(|_| scope.spawn(take_in)).collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    assert_eq!(
        codes.iter().filter(|code| **code == 0).count(),
        1,
        "{codes:?}"
    );
}

/// Among its cards and journals a shop takes no page and no folder.
#[test]
fn no_report_is_written_among_the_cards_of_the_shop() {
    let sealed = Sealed::new();
    for (flag, place) in [
        ("--out", "figures/hare/x.txt"),
        ("--folder", "figures/newfig"),
        ("--out", "materials/x.pdf"),
    ] {
        let place = sealed.shop().join(place);
        let words = ["report", "hare", flag, place.to_str().unwrap()];
        let told = sealed.run(&[&words[..], &["--clock", "2026-11-25T08:00:00Z"]].concat());
        assert_eq!(told.code, 2);
        assert!(
            told.err
                .contains("holds its cards and journals, and nothing else is written there"),
            "{}",
            told.err
        );
        assert!(!place.exists());
    }
    let shop = sealed.shop();
    std::os::unix::fs::symlink(shop.join("figures/hare"), sealed.home.path().join("way")).unwrap();
    let by_a_link = sealed.home.path().join("way/x.txt");
    let around = shop.join("materials/../figures/hare/y.txt");
    for place in [&by_a_link, &around] {
        let words = ["report", "hare", "--out", place.to_str().unwrap()];
        let told = sealed.run(&[&words[..], &["--clock", "2026-11-25T08:00:00Z"]].concat());
        assert_eq!(told.code, 2, "{}", told.err);
        assert!(told.err.contains("the folder `figures`"), "{}", told.err);
        assert!(!place.exists());
    }
    let out_again = shop.join("figures/../z.txt");
    let words = ["report", "hare", "--out", out_again.to_str().unwrap()];
    let told = sealed.run(&[&words[..], &["--clock", "2026-11-25T08:00:00Z"]].concat());
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(shop.join("z.txt").exists());
    let twice = sealed.run(&["--as", "wren", "--as", "odile", "jot", "shop", "x"]);
    assert!(
        twice.err.starts_with("`--as` is given twice"),
        "{}",
        twice.err
    );
}
