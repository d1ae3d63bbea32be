//! The real program while nobody presses a key: what it costs with thirty clocks, and how late
//! an alarm is. Both take a minute of the wall's own time.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::thread::sleep;
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset, TimeDelta, Utc};
use knuckle::disk::RealDisk;
use knuckle::journal::{Draft, Journal};
use serde_json::{Value, json};

use crate::start::home;
use crate::tail::{is_wanted, tail};
use crate::window::Window;

/// How long the idle screen is watched.
const WATCHED: Duration = Duration::from_mins(1);

/// What comes out of the program within so short a time is one drawing.
const ONE_DRAWING: Duration = Duration::from_millis(5);

/// Alarms whose lateness is taken.
const ALARMS: i64 = 100;

/// Time between two of them, ms.
const BETWEEN_MS: i64 = 300;

pub(crate) fn bench() {
    if is_wanted("program/idle/30 clocks") {
        idle();
    }
    if is_wanted("program/alarm lateness") {
        alarms();
    }
}

/// The screen of clocks with thirty of them, nobody at the keys: time on a processor, and how
/// often any thread woke, beside how often something was drawn. Beside it a bare thread that
/// sleeps as often. Six mixes of five clocks each, begun within the last quarter of an hour.
fn idle() {
    let shop = shop_with(&thirty());
    for (name, key) in [("Bench", "b"), ("Clocks", "c")] {
        let home = home();
        let mut window = Window::open(
            shop.path(),
            home.path(),
            &["--as", "odile", "bench", "hare"],
        );
        window.shows(&["Space"]);
        window.press(key);
        sleep(Duration::from_secs(3));
        let process = window.process();
        let (began, cpu, wakes) = (Instant::now(), cpu(process), wakes(process));
        sleep(WATCHED);
        let cpu = self::cpu(process).saturating_sub(cpu);
        let woken = self::wakes(process) - wakes;
        let mut drawn = 0_u32;
        let mut last: Option<Instant> = None;
        for (at, _) in window.came_since(began) {
            if last.is_none_or(|last| ONE_DRAWING < at.duration_since(last)) {
                drawn += 1;
            }
            last = Some(at);
        }
        println!(
            "program/idle/30 clocks ({name}): {:.2} % of a core, {:.1} wakes and {:.1} drawings a second",
            100.0 * cpu.as_secs_f64() / WATCHED.as_secs_f64(),
            f64::from(woken) / WATCHED.as_secs_f64(),
            f64::from(drawn) / WATCHED.as_secs_f64(),
        );
        bare_sleeper(woken);
    }
}

fn bare_sleeper(wakes: u32) {
    let sleeper = std::thread::spawn(move || {
        for _ in 0..wakes {
            sleep(Duration::from_millis(1));
        }
        schedstat(Path::new("/proc/thread-self/schedstat"))
    });
    println!(
        "program/idle/30 clocks (a bare thread that sleeps {wakes} times): {:?} on a processor",
        sleeper.join().unwrap()
    );
}

/// Returns the time that all threads of a process have had a processor (the kernel's
/// documentation, `sched-stats`: the first number, ns).
fn cpu(process: u32) -> Duration {
    tasks(process)
        .iter()
        .map(|task| schedstat(&task.join("schedstat")))
        .sum()
}

fn schedstat(path: &Path) -> Duration {
    let text = fs::read_to_string(path).unwrap();
    Duration::from_nanos(text.split_whitespace().next().unwrap().parse().unwrap())
}

/// Returns how often the threads of a process have gone to wait (proc(5)); each was woken once
/// since.
fn wakes(process: u32) -> u32 {
    let waits = tasks(process).into_iter().map(|task| {
        let status = fs::read_to_string(task.join("status")).unwrap();
        let waits = status
            .lines()
            .find_map(|line| line.strip_prefix("voluntary_ctxt_switches:"));
        waits.unwrap().trim().parse::<u32>().unwrap()
    });
    waits.sum()
}

fn tasks(process: u32) -> Vec<std::path::PathBuf> {
    let tasks = fs::read_dir(format!("/proc/{process}/task")).unwrap();
    tasks.map(|task| task.unwrap().path()).collect()
}

/// Six mixes with five clocks each.
fn thirty() -> Vec<(DateTime<FixedOffset>, Value)> {
    let now = Utc::now().fixed_offset();
    let clock = |name: &str, min: f64, side: &str| {
        json!({"clock": name, "about": "J1", "rule": "span", "early_min": min,
               "likely_min": min, "late_min": min, "side": side, "because": "the sheet"})
    };
    (0..6_i32)
        .map(|nth| {
            let at = now - TimeDelta::milliseconds(i64::from(nth) * 137_137);
            let later = f64::from(nth);
            let starts = json!([
                clock("cup", 40.0 + later, "do_before"),
                clock("closing", 70.0 + later, "do_before"),
                clock("clamps", 480.0, "wait_until"),
                clock("load", 1440.0, "wait_until"),
                clock("leftover", 90.0, "wait_until"),
            ]);
            (at, starts)
        })
        .collect()
}

/// The sample shop with these clocks begun on the hare as well, each list at its moment.
fn shop_with(begun: &[(DateTime<FixedOffset>, Value)]) -> tempfile::TempDir {
    let shop = home();
    for (path, bytes) in knuckle::shop::sample_files() {
        let file = shop.path().join(&path);
        // Of the journals only these clocks count.
        if file.extension().is_some_and(|end| end == "jsonl") {
            continue;
        }
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, bytes).unwrap();
    }
    let drafts = begun.iter().enumerate().map(|(nth, (at, starts))| {
        draft(
            *at,
            &json!({"deed": "done", "operation": "strip", "target": "head", "round": nth + 1,
                   "step": "gloves", "starts": starts}),
        )
    });
    let mut drafts: Vec<Draft> = drafts.collect();
    drafts.sort_by_key(|draft| draft.at);
    write(&shop.path().join("figures/hare/journal.jsonl"), &drafts);
    let read = json!({"deed": "acknowledged", "said": knuckle::card::DEFERRAL});
    write(
        &shop.path().join("journal.jsonl"),
        &[draft(Utc::now().fixed_offset(), &read)],
    );
    shop
}

fn write(path: &Path, drafts: &[Draft]) {
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), path).unwrap();
    journal.append(drafts).unwrap();
}

fn draft(at: DateTime<FixedOffset>, body: &Value) -> Draft {
    Draft {
        at,
        by: "odile".to_owned(),
        bench: "bench".to_owned(),
        body: body.as_object().unwrap().clone(),
        entered_later: None,
    }
}

/// A hundred clocks that end one after the other, and how long after its end each is told: by
/// `ring` on a line of its own, and by the bell of the screen. Beside it how late a bare sleep
/// to the same moments is. Every alarm must come, once.
fn alarms() {
    let (shop, ends) = ending();
    let ring = std::thread::spawn({
        let shop = shop.path().to_owned();
        move || told_by_ring(&shop)
    });
    let home = home();
    let window = Window::open(
        shop.path(),
        home.path(),
        &["--as", "odile", "bench", "hare"],
    );
    let began = (Instant::now(), Utc::now());
    let mut slept = Vec::new();
    for end in &ends {
        if let Ok(left) = (end.to_utc() - Utc::now()).to_std() {
            sleep(left);
        }
        slept.push(late(*end, Utc::now()));
    }
    sleep(Duration::from_secs(2));
    let heralded = ring.join().unwrap();
    let lateness = heralded.iter().map(|(nth, at)| late(ends[*nth], *at));
    let lateness: Vec<Duration> = lateness.collect();
    assert_eq!(lateness.len(), ends.len(), "an alarm was missed");
    tail("program/alarm lateness (told by ring)", &lateness);
    let strokes = bells(&window, began);
    let heard = ends.iter().map(|end| {
        let after = strokes.iter().find(|at| end.to_utc() <= **at);
        late(*end, *after.expect("an alarm was missed"))
    });
    tail(
        "program/alarm lateness (bell of the screen)",
        &heard.collect::<Vec<_>>(),
    );
    tail("program/alarm lateness (a bare sleep)", &slept);
}

/// A shop whose clocks end one after the other, the first in ten seconds; and when.
fn ending() -> (tempfile::TempDir, Vec<DateTime<FixedOffset>>) {
    let began = Utc::now().fixed_offset() - TimeDelta::minutes(10);
    let ends: Vec<i64> = (0..ALARMS)
        .map(|nth| 10_000 + nth * BETWEEN_MS + 600_000)
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "milliseconds of an hour")]
    let clocks: Vec<Value> = ends
        .iter()
        .enumerate()
        .map(|(nth, end_ms)| {
            let min = *end_ms as f64 / 60_000.0;
            json!({"clock": "clamps", "about": format!("end {nth} of all"), "rule": "span",
                   "early_min": min, "likely_min": min, "late_min": min,
                   "side": "wait_until", "because": "the sheet"})
        })
        .collect();
    // One name of a clock counts once in a line.
    let lists: Vec<_> = clocks
        .into_iter()
        .map(|clock| (began, json!([clock])))
        .collect();
    let ends = ends.iter().map(|ms| began + TimeDelta::milliseconds(*ms));
    (shop_with(&lists), ends.collect())
}

fn late(end: DateTime<FixedOffset>, at: DateTime<Utc>) -> Duration {
    (at - end.to_utc()).to_std().unwrap_or_default()
}

/// Runs `ring` until it has told every alarm; returns which was told when, first told only.
fn told_by_ring(shop: &Path) -> BTreeMap<usize, DateTime<Utc>> {
    let mut ring = Command::new(env!("CARGO_BIN_EXE_knuckle"))
        .env_clear()
        .env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere")
        .arg("--shop")
        .arg(shop)
        .arg("ring")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut told = BTreeMap::new();
    for line in BufReader::new(ring.stdout.take().unwrap()).lines() {
        let (line, at) = (line.unwrap(), Utc::now());
        let nth = line
            .split_once("end ")
            .and_then(|(_, rest)| rest.split(' ').next());
        if let Some(nth) = nth.and_then(|nth| nth.parse().ok()) {
            told.entry(nth).or_insert(at);
        }
        if told.len() == usize::try_from(ALARMS).unwrap() {
            break;
        }
    }
    ring.kill().unwrap();
    ring.wait().unwrap();
    told
}

/// Returns when the bell of the screen was struck.
fn bells(window: &Window, (began, wall): (Instant, DateTime<Utc>)) -> Vec<DateTime<Utc>> {
    let mut bells = Vec::new();
    let mut before = 0;
    for (at, count) in window.came_since(began) {
        if before < count {
            bells.push(wall + TimeDelta::from_std(at - began).unwrap());
        }
        before = count;
    }
    bells
}
