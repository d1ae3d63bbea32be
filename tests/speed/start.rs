//! The real program among two hundred figures: from its start to its first picture, with the
//! cache and without, the memory that it takes, and what it weighs on the disk.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use crate::big_shop::{LIVE, NOW, big_shop};
use crate::search::searched;
use crate::tail::{is_wanted, tail, timed};
use crate::window::Window;

/// How often it is started.
const STARTS: usize = 15;

/// What stands on the first picture: the question over the list of figures, and the foot.
const PICTURE: [&str; 2] = ["which figure is at the bench?", "? help"];

pub(crate) fn bench() {
    if is_wanted("program/start/200x2000") {
        start();
    }
    if is_wanted("program/memory/200x2000") {
        memory();
    }
    if is_wanted("program/size") {
        size();
    }
}

/// From the start of the process to the last part of the first picture in a pseudo-terminal:
/// warm with pages that an earlier start left, cold with an empty folder for them. Beside it
/// the start of a process that says its version, and a plain read of all journals. The files
/// lie in the kernel's memory; leaves out the disk.
fn start() {
    let shop = big_shop(LIVE);
    let home = home();
    let warm_up = first_picture(&shop, home.path());
    let (mut warm, mut cold, mut bare, mut plain) = (vec![], vec![], vec![], vec![]);
    for _ in 0..STARTS {
        warm.push(first_picture(&shop, home.path()));
        cold.push(first_picture(&shop, self::home().path()));
        bare.push(timed(says_its_version));
        plain.push(timed(|| assert_eq!(searched(&shop, "no such word"), 0)));
    }
    println!("program/start/200x2000 the very first: {warm_up:?}");
    tail("program/start/200x2000 (warm cache)", &warm);
    tail("program/start/200x2000 (no cache)", &cold);
    tail(
        "program/start/200x2000 (a process that says its version)",
        &bare,
    );
    tail(
        "program/start/200x2000 (plain search of all journals)",
        &plain,
    );
}

fn first_picture(shop: &Path, home: &Path) -> Duration {
    let window = opened(shop, home);
    let shown = window.shows(&PICTURE);
    shown - window.began
}

fn opened(shop: &Path, home: &Path) -> Window {
    Window::open(shop, home, &["--as", "odile", "--clock", NOW, "bench"])
}

fn says_its_version() {
    let said = Command::new(env!("CARGO_BIN_EXE_knuckle"))
        .arg("--version")
        .stdout(Stdio::null())
        .status();
    assert!(said.unwrap().success());
}

/// The most memory that the program has taken, as the kernel counts it, after a look at every
/// page. Beside it the bytes of the journals that stand behind it.
fn memory() {
    let shop = big_shop(LIVE);
    let home = home();
    for cache in ["no cache", "warm cache"] {
        let mut window = opened(&shop, home.path());
        window.shows(&PICTURE);
        let opened = peak_kb(window.process());
        for key in ["f", "c", "d", "i", "t", "b"] {
            let pressed = std::time::Instant::now();
            window.press(key);
            while window.came_since(pressed).is_empty() {
                std::thread::sleep(Duration::from_millis(5));
            }
        }
        window.shows(&PICTURE);
        println!(
            "program/memory/200x2000 ({cache}): {:.1} MB at most when opened, {:.1} MB after every page",
            opened / 1000.0,
            peak_kb(window.process()) / 1000.0
        );
    }
    println!(
        "program/memory/200x2000 (bytes of the journals): {:.1} MB",
        journals(&shop) / 1e6
    );
}

/// Returns the peak of resident memory, kB of 1000 bytes (proc(5): `VmHWM`, in KiB).
fn peak_kb(process: u32) -> f64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let peak = peak.unwrap().trim().trim_end_matches(" kB");
    peak.parse::<f64>().unwrap() * 1.024
}

#[expect(clippy::cast_precision_loss, reason = "bytes of some hundred journals")]
fn journals(shop: &Path) -> f64 {
    let figures = fs::read_dir(shop.join("figures")).unwrap();
    let len = |folder: &Path| fs::metadata(folder.join("journal.jsonl")).unwrap().len();
    let all: u64 = figures.map(|figure| len(&figure.unwrap().path())).sum();
    (all + len(shop)) as f64
}

/// The program as it was built, and without its names where `strip` is there.
#[expect(clippy::cast_precision_loss, reason = "bytes of one program")]
fn size() {
    let program = Path::new(env!("CARGO_BIN_EXE_knuckle"));
    let mb = |path: &Path| fs::metadata(path).unwrap().len() as f64 / 1e6;
    println!("program/size: {:.2} MB as built", mb(program));
    let folder = home();
    let bare = folder.path().join("stripped");
    let stripped = Command::new("strip")
        .arg("-o")
        .arg(&bare)
        .arg(program)
        .status();
    match stripped {
        Ok(status) if status.success() => println!("program/size: {:.2} MB stripped", mb(&bare)),
        _ => println!("program/size: no strip here"),
    }
}

/// An empty folder for what the program keeps elsewhere than in the shop.
pub(crate) fn home() -> tempfile::TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}
