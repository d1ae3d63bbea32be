//! Several benches at one shop: eight processes that write to one figure at once, a screen that
//! shows what another bench kept without a key being pressed, two hands that reach for one
//! alarm, and a shop on a disk that cannot lock.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::mpsc::channel;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use knuckle::card::{Cards, ClockName};
use knuckle::deed::{ClockRule, ClockStart, Deed, Done, Use, Work};
use knuckle::disk::{Disk, RealDisk, Way};
use knuckle::journal::{Draft, Journal, read_all, verify};
use knuckle::screen::{Event, NoEasel, Opening, Silent, Source, Turn, go_round};
use knuckle::shop::{Keeper, Stop, Watcher, book_path, load, sample_files};
use knuckle::standing::{Book, Intent, Moment, clock_views};
use ratatui::{Terminal, backend::TestBackend};

use crate::kit::faulty::{Asked, FaultyDisk, Ill};
use crate::kit::sealed::{Sealed, at_evening};
use crate::kit::{later, picture};
use crate::memory::at;
use crate::played::{Stands, events};
use crate::window::{Shop, Window};

const SHOP: &str = "/shop";

/// How long a word of another process is waited for before the trial gives up.
const GIVE_UP: Duration = Duration::from_mins(2);

/// The sample shop without its journals, on a disk in memory.
fn in_memory() -> (FaultyDisk, Cards) {
    let disk = FaultyDisk::default();
    for (name, bytes) in sample_files() {
        if !name.ends_with("journal.jsonl") {
            disk.put(&Path::new(SHOP).join(name), &bytes);
        }
    }
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
    let (cards, flaws) = load(&RealDisk, &sample).unwrap();
    assert!(flaws.is_empty(), "{flaws:?}");
    (disk, cards)
}

fn bench_of((disk, cards): &(FaultyDisk, Cards)) -> Keeper {
    Keeper::open(Arc::new(disk.clone()), SHOP, cards.clone()).unwrap()
}

fn moment(by: &str, at: DateTime<FixedOffset>) -> Moment {
    Moment {
        at,
        by: by.to_owned(),
        bench: format!("bench of {by}"),
    }
}

fn hare() -> Book {
    Book::Figure("hare".to_owned())
}

fn note(text: &str) -> Intent {
    Intent::Jot {
        book: hare(),
        text: text.to_owned(),
    }
}

/// A figure whose journal fell silent for a moment keeps what stood, whatever is done to it next.
#[test]
fn a_book_that_fell_silent_for_a_moment_is_not_taken_for_empty() {
    let mut met = 0;
    for act in 0..40 {
        let shop = in_memory();
        let (mut bench, mut other) = (bench_of(&shop), bench_of(&shop));
        let (morning, by) = (at("2026-11-25T08:00:00+00:00"), "odile");
        for text in ["first", "second"] {
            bench.act(&note(text), &moment(by, morning)).unwrap();
        }
        other.act(&note("there"), &moment("wren", morning)).unwrap();
        let disk = &shop.0;
        disk.ail(disk.asked().len() + act, Ill::Fails(ErrorKind::Other));
        let followed = bench.follow();
        disk.heal();
        if followed.is_err() || !bench.damaged().contains_key(&hare()) {
            continue;
        }
        met += 1;
        let line = Intent::Strike {
            book: hare(),
            line: 2,
            why: "twice".to_owned(),
        };
        bench.act(&line, &moment(by, morning)).unwrap();
        bench.follow().unwrap();
        let replayed = bench_of(&shop);
        assert_eq!(
            bench.house().figure("hare"),
            replayed.house().figure("hare"),
            "act {act}"
        );
        assert!(!bench.damaged().contains_key(&hare()), "it is read again");
    }
    assert!(0 < met, "no act of a look is a reading");
}

// ---- eight benches ----

/// Where a child of the trial below finds its shop. Not set in the parent.
const CHILD_SHOP: &str = "KNUCKLE_TRIAL_SHOP";
const CHILD_NAME: &str = "KNUCKLE_TRIAL_BENCH";

const BENCHES: usize = 8;
const DEEDS: usize = 1_000;

/// Eight processes decide and keep a thousand deeds each, all on one figure. Every deed is
/// there once, each bench's in their order; numbers and seals are unbroken; and what stands at
/// each bench in the end is what the file says.
#[test]
#[expect(
    clippy::disallowed_methods,
    reason = "the parent tells its child by the environment what to do"
)]
fn eight_benches_keep_a_thousand_deeds_each_on_one_figure() {
    if let (Ok(shop), Ok(name)) = (std::env::var(CHILD_SHOP), std::env::var(CHILD_NAME)) {
        return work_at_a_bench(Path::new(&shop), &name);
    }
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(folder.path().join("figures/hare")).unwrap();
    let mut children: Vec<(Child, BufReader<_>)> = (0..BENCHES)
        .map(|bench| {
            let mut child = start_bench(folder.path(), bench);
            let out = BufReader::new(child.stdout.take().unwrap());
            (child, out)
        })
        .collect();
    for (_, out) in &mut children {
        assert!(says(out, "all kept"), "a bench stopped before its end");
    }
    for (child, out) in &mut children {
        writeln!(child.stdin.take().unwrap(), "look").unwrap();
        assert!(
            says(out, "all alike"),
            "what stands at a bench is not the file"
        );
        assert!(child.wait().unwrap().success());
    }
    check_all_deeds(&book_path(folder.path(), &hare()));
}

fn start_bench(shop: &Path, bench: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "benches::eight_benches_keep_a_thousand_deeds_each_on_one_figure",
            "--exact",
        ])
        .args(["--nocapture", "--test-threads=1"])
        .env(CHILD_SHOP, shop)
        .env(CHILD_NAME, bench.to_string())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

fn says(out: &mut impl BufRead, word: &str) -> bool {
    out.lines().map_while(Result::ok).any(|line| line == word)
}

fn say(word: &str) {
    let mut out = std::io::stdout();
    writeln!(out, "\n{word}")
        .and_then(|()| out.flush())
        .unwrap();
}

fn the_hare_alone() -> Cards {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
    let (mut cards, _) = load(&RealDisk, &sample).unwrap();
    cards.figures.retain(|id, _| id == "hare");
    cards
}

fn work_at_a_bench(shop: &Path, name: &str) {
    let cards = the_hare_alone();
    let mut keeper = Keeper::open(Arc::new(RealDisk), shop, cards.clone()).unwrap();
    for deed in 0..DEEDS {
        let text = format!("{name}-{deed}");
        let intent = match deed % 10 {
            0 => Intent::Ask {
                figure: "hare".to_owned(),
                text,
            },
            _ => note(&text),
        };
        // Somebody whose key is refused because others write presses it again.
        while let Err(stop) = keeper.act(&intent, &moment("odile", later(0))) {
            let Stop::Refused(refusal) = stop else {
                panic!("{stop:?}");
            };
            assert!(refusal.why.contains("without a pause"), "{}", refusal.why);
        }
    }
    say("all kept");
    std::io::stdin().read_line(&mut String::new()).unwrap();
    keeper.follow().unwrap();
    let replayed = Keeper::open(Arc::new(RealDisk), shop, cards).unwrap();
    assert_eq!(keeper.house().standing, replayed.house().standing);
    say("all alike");
}

#[track_caller]
fn check_all_deeds(journal: &Path) {
    assert_eq!(verify(&RealDisk, journal).unwrap(), []);
    let reading = read_all(&RealDisk, journal).unwrap();
    let counts: Vec<u64> = reading.lines.iter().map(|line| line.n).collect();
    let all = (BENCHES * DEEDS) as u64;
    assert!(counts.iter().copied().eq(1..=all), "numbers without a gap");
    let mut next = [0; BENCHES];
    for line in &reading.lines {
        let text = line.fields()["text"].as_str().unwrap().to_owned();
        let (bench, deed) = text.split_once('-').unwrap();
        let due = &mut next[bench.parse::<usize>().unwrap()];
        assert_eq!(deed.parse::<usize>().unwrap(), *due, "of bench {bench}");
        *due += 1;
    }
    assert_eq!(next, [DEEDS; BENCHES]);
}

// ---- the other benches' screens ----

#[test]
fn a_watcher_tells_each_change_once() {
    let disk = FaultyDisk::default();
    let path = |name: &str| PathBuf::from(SHOP).join(name);
    let files = [path("there.jsonl"), path("not-yet.jsonl")];
    disk.put(&files[0], b"one\n");
    let mut watcher = Watcher::of(Arc::new(disk.clone()), files.clone());
    assert!(watcher.look(), "it has looked at nothing before");
    assert!(!watcher.look());
    let append = |file: &Path, way| {
        let mut open = disk.open(file, way).unwrap();
        open.write(b"two\n").unwrap();
    };
    append(&files[0], Way::Append);
    assert!(watcher.look(), "a line more");
    assert!(!watcher.look());
    append(&files[1], Way::AppendOrMake);
    assert!(watcher.look(), "a new journal");
    assert!(!watcher.look());
    disk.ail(disk.asked().len(), Ill::Fails(std::io::ErrorKind::Other));
    assert!(watcher.look(), "a disk that does not answer");
    disk.heal();
    assert!(watcher.look(), "and one that answers again");
    assert!(!watcher.look());
    let asked = disk.asked();
    let looked = asked.iter().rev().take(2);
    assert!(
        looked.copied().eq([Asked::Stamp; 2]),
        "a look opens no file"
    );
}

#[test]
fn a_watcher_tells_at_once_what_was_kept_before_it_watched_and_ends_when_nobody_listens() {
    let disk = FaultyDisk::default();
    let watcher = Watcher::of(Arc::new(disk), [PathBuf::from("/shop/journal.jsonl")]);
    let (sender, told) = channel();
    let watching = watcher.start(move || sender.send(()).is_ok()).unwrap();
    told.recv_timeout(GIVE_UP).unwrap();
    drop(watching);
    // The thread has gone, and what it told with is dropped with it.
    assert!(told.recv_timeout(GIVE_UP).is_err());
}

/// Keys at this bench, then one act at another one that is told as an event.
struct OneActElsewhere {
    keys: VecDeque<Event>,
    elsewhere: Keeper,
    act: Option<Intent>,
}

impl Source for OneActElsewhere {
    fn next(&mut self, _wait: Option<Duration>) -> Event {
        if let Some(key) = self.keys.pop_front() {
            return key;
        }
        let Some(act) = self.act.take() else {
            return Event::Quit;
        };
        let wren = moment("wren", at(NOON));
        self.elsewhere.act(&act, &wren).unwrap();
        Event::Kept
    }
}

const NOON: &str = "2026-11-25T12:00:00+00:00";

/// Opens the screen of Odile, plays keys, lets another bench do one act, and returns the page.
fn seen_by_odile(shop: &(FaultyDisk, Cards), keys: &str, act: Option<Intent>) -> String {
    let mut odile = bench_of(shop);
    let opening = Opening {
        by: "odile".to_owned(),
        figure: Some("hare".to_owned()),
        ..Opening::default()
    };
    let mut source = OneActElsewhere {
        keys: events(keys),
        elsewhere: bench_of(shop),
        act,
    };
    let (mut dial, mut bell) = (Stands(at(NOON)), Silent);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let mut turn = Turn::new(&mut odile, &mut dial, &mut bell, opening);
    go_round(&mut turn, &mut terminal, &mut source, &mut NoEasel).unwrap();
    picture::text(terminal.backend().buffer())
}

#[test]
fn a_line_of_another_bench_is_on_the_page_after_its_event() {
    let shop = in_memory();
    let mut odile = bench_of(&shop);
    odile
        .act(&Intent::Acknowledge, &moment("odile", at(NOON)))
        .unwrap();
    let note = note("the left ear is loose");
    let before = seen_by_odile(&shop, "d", None);
    assert!(!before.contains("the left ear is loose"), "{before}");
    let after = seen_by_odile(&shop, "d", Some(note));
    assert!(after.contains("the left ear is loose"), "{after}");
}

/// The clock of the program stands still, so that nothing but the watcher can wake its screen.
#[test]
fn the_real_screen_shows_what_another_bench_kept_without_a_key() {
    let shop = Shop::new();
    let args = ["--as", "wren", "--clock", NOON, "bench", "heron"];
    let mut window = Window::open(&shop.folder, &args, (40, 120));
    window.wait_for_text("? help");
    // The recoat window of the sample has opened by now: any key answers its alarm first.
    window.press(" ");
    window.press("d");
    window.wait_for_text("lines, the last first");
    let note = note("the left ear is loose");
    shop.keeper()
        .act(&note, &moment("odile", at(NOON)))
        .unwrap();
    window.wait_for_text("the left ear is loose");
    window.leave();
}

// ---- one alarm, two hands ----

/// A cup that is over, so that its alarm rings at every bench.
fn with_a_cup_that_is_over(disk: &FaultyDisk) {
    let work = Work {
        operation: "mix-and-lay-up".into(),
        target: Some("J3".into()),
        round: 1,
    };
    let rule = ClockRule::Span {
        early_min: 20.0,
        likely_min: 25.0,
        late_min: 30.0,
        side: Use::DoBefore,
        because: "trial".into(),
    };
    let starts = vec![ClockStart {
        clock: ClockName::Cup,
        about: "J3, medium epoxy".into(),
        rule,
    }];
    let done = Deed::Done(Done {
        work,
        step: "mix".into(),
        starts,
        ends: Vec::new(),
        coat: None,
    });
    let path = book_path(Path::new(SHOP), &hare());
    let (mut journal, _) = Journal::open(Arc::new(disk.clone()), path).unwrap();
    let draft = Draft {
        at: at("2026-11-25T11:00:00+00:00"),
        by: "odile".into(),
        bench: "long bench".into(),
        body: done.fields(),
        entered_later: None,
    };
    journal.append(&[draft]).unwrap();
}

#[test]
fn of_two_hands_at_one_alarm_one_line_counts_and_the_other_is_told() {
    let shop = in_memory();
    with_a_cup_that_is_over(&shop.0);
    let (mut first, mut second) = (bench_of(&shop), bench_of(&shop));
    let answer = |keeper: &Keeper| {
        let views = clock_views(keeper.house(), at(NOON));
        let (view, (mark, rang_at)) = views
            .iter()
            .find_map(|view| Some((view, view.ringing?)))
            .expect("it rings");
        Intent::AnswerAlarm {
            figure: view.figure.clone(),
            clock: view.id.clone(),
            mark,
            rang_at,
        }
    };
    // Both have seen it ring before either of them reached for a key.
    let (one, other) = (answer(&first), answer(&second));
    let kept = first.act(&one, &moment("odile", at(NOON))).unwrap();
    assert_eq!(kept.len(), 1);
    let Err(Stop::Refused(told)) = second.act(&other, &moment("wren", at(NOON))) else {
        panic!("the second hand is to be told");
    };
    assert_eq!(told.why, "Odile has answered this alarm already");
    let lines = second.lines(&hare()).unwrap();
    let answers = lines
        .iter()
        .filter(|line| line.deed.tag() == "alarm_answered");
    assert_eq!(answers.count(), 1);
    assert_eq!(first.house().standing, second.house().standing);
    let rings = |keeper: &Keeper| {
        let views = clock_views(keeper.house(), at(NOON));
        views.iter().any(|view| view.ringing.is_some())
    };
    assert!(!rings(&first) && !rings(&second), "quiet at both benches");
}

// ---- a disk without locks ----

#[test]
fn a_shop_on_a_disk_that_cannot_lock_is_told_on_a_page_and_read_on() {
    let shop = in_memory();
    with_a_cup_that_is_over(&shop.0);
    let path = book_path(Path::new(SHOP), &hare());
    let before = shop.0.bytes(&path);
    shop.0.without_locks();
    let page = seen_by_odile(&shop, "", None);
    for words in [
        "WRITING HAS STOPPED",
        "nothing can be kept here: this disk cannot lock files, and without locks two benches",
        "where: /shop/figures/hare/journal.jsonl, after line 1",
        "do: keep the shop on a disk of this computer, or on a share that can lock files",
    ] {
        assert!(page.contains(words), "{words}:\n{page}");
    }
    // A key closes the page; the clocks are shown, and no act is written.
    let page = seen_by_odile(&shop, "<space>c", None);
    assert!(page.contains("J3, medium epoxy"), "{page}");
    seen_by_odile(&shop, "<space><space><space>", None);
    assert_eq!(shop.0.bytes(&path), before);
    assert_eq!(shop.0.bytes(Path::new("/shop/journal.jsonl")), None);
}

/// Commands of the true clock that write to one journal at once: each takes its moment before it
/// waits for the journal, and none of them set a clock back.
#[test]
fn commands_that_wait_for_each_other_set_no_clock_back() {
    let sealed = Sealed::new();
    std::thread::scope(|scope| {
        for bench in 0..BENCHES {
            let sealed = &sealed;
            scope.spawn(move || {
                for line in 0..4 {
                    let text = format!("{bench}-{line}");
                    let told = sealed.run(&["--as", "odile", "jot", "hare", &text]);
                    assert_eq!(told.code, 0, "{}", told.err);
                }
            });
        }
    });
    let audit = sealed.run(&["audit"]);
    assert_eq!(audit.code, 0, "{}", audit.out);
}

/// A page that two write at once under one name is written once, and the other is told.
#[test]
fn of_several_pages_of_one_name_one_is_written() {
    let sealed = Sealed::new();
    let write = || {
        let words = ["report", "hare", "--out", "hare.txt"];
        sealed.run(&at_evening(&words)).code
    };
    let codes: Vec<i32> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..4).map(|_| scope.spawn(write)).collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let count = |code| codes.iter().filter(|one| **one == code).count();
    assert_eq!((count(0), count(2)), (1, 3), "{codes:?}");
}
