//! Stops at every point: cut after every byte, a disk that tears, fails to sync and fills
//! up, the plug pulled after every act, and a child killed while it appends.

use std::collections::BTreeMap;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::io::{BufRead, BufReader, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;

use knuckle::disk::{self, Disk, RealDisk, Way};
use knuckle::journal::{Journal, Kept, read_all, verify};

use crate::kit::faulty::{FaultyDisk, Ill};
use crate::kit::{jot, later};

const LION: &str = "figures/lion/journal.jsonl";

fn open(disk: &FaultyDisk) -> (Journal, Vec<Kept>) {
    let (journal, reading) = Journal::open(Arc::new(disk.clone()), LION).unwrap();
    (journal, reading.lines)
}

fn texts(lines: &[Kept]) -> Vec<String> {
    let text = |line: &Kept| line.fields()["text"].as_str().unwrap().to_owned();
    lines.iter().map(text).collect()
}

/// Whatever prefix of a journal is left: every whole line is there, the rest is set aside
/// and not lost, and appending goes on.
#[test]
fn cut_after_every_byte_nothing_whole_is_lost_and_nothing_torn_counts() {
    let disk = FaultyDisk::default();
    let (mut journal, _) = open(&disk);
    for line in 1..=3 {
        journal.append(&[jot(later(line), "gesso sanded")]).unwrap();
    }
    let sound = disk.bytes(Path::new(LION)).unwrap();
    for len in 0..=sound.len() {
        let left = &sound[..len];
        let disk = FaultyDisk::default();
        disk.put(Path::new(LION), left);
        let (mut journal, read) = open(&disk);
        // A line without its line end, but with its seal, is whole: 1 byte earlier it is not.
        let whole = sound[..(len + 1).min(sound.len())]
            .split_inclusive(|byte| *byte == b'\n')
            .filter(|line| line.ends_with(b"\n"))
            .count();
        assert_eq!(read.len(), whole, "cut after {len} bytes");

        let kept = journal.append(&[jot(later(9), "work goes on")]).unwrap();
        assert_eq!(kept.lines[0].n, whole as u64 + 1);
        assert_eq!(verify(&disk, Path::new(LION)).unwrap(), []);
        let torn = left.iter().rev().take_while(|byte| **byte != b'\n').count();
        let kept_without_end = sound.get(len) == Some(&b'\n');
        match kept.set_aside {
            None => assert!(torn == 0 || kept_without_end),
            Some(aside) => {
                assert_eq!(disk.bytes(&aside.file).unwrap(), left[len - torn..]);
                let name = format!(
                    "figures/lion/journal.torn-{}-20310304T090009.txt",
                    whole + 1
                );
                assert_eq!(aside.file, Path::new(&name));
                assert_eq!((aside.line, aside.bytes), (whole as u64 + 1, torn as u64));
            }
        }
    }
}

/// What a file system may leave after a pulled plug besides a prefix: the length without the
/// bytes, and half a line closed by somebody's line feed.
#[test]
fn a_torn_end_of_any_kind_is_set_aside() {
    let ends: [&[u8]; 5] = [
        &[0; 4096],
        b"{\"n\":2,\"at\":\"20\n",
        b"\xff\xfe\n\n\n",
        b"\n",
        b"{\"n\":2,\"at\":\"2031-03-04T09:00:00.000+01:00\",\"seal\":\"\"}",
    ];
    for end in ends {
        let disk = FaultyDisk::default();
        let (mut journal, _) = open(&disk);
        journal.append(&[jot(later(0), "first")]).unwrap();
        let mut bytes = disk.bytes(Path::new(LION)).unwrap();
        bytes.extend(end);
        disk.put(Path::new(LION), &bytes);
        let (mut journal, read) = open(&disk);
        assert_eq!(texts(&read), ["first"]);
        let kept = journal.append(&[jot(later(1), "second")]).unwrap();
        let aside = kept.set_aside.unwrap();
        assert_eq!(disk.bytes(&aside.file).unwrap(), end);
        let (_, read) = open(&disk);
        assert_eq!(texts(&read), ["first", "second"]);
    }
}

#[test]
fn two_tears_in_the_same_second_are_set_aside_into_two_files() {
    let disk = FaultyDisk::default();
    for (torn, name) in [
        ("{\"n\":1,\"a", "1-20310304T090000"),
        ("{\"n\"", "1-20310304T090000-2"),
    ] {
        disk.put(Path::new(LION), torn.as_bytes());
        let (mut journal, _) = open(&disk);
        let kept = journal.append(&[jot(later(0), "x")]).unwrap();
        let file = PathBuf::from(format!("figures/lion/journal.torn-{name}.txt"));
        assert_eq!(kept.set_aside.unwrap().file, file);
        assert_eq!(disk.bytes(&file).unwrap(), torn.as_bytes());
    }
}

/// What a bench does in the trials below: appends one by one, and opens again after a fault.
/// Returns the texts that were acknowledged and those that were attempted.
fn work(disk: &FaultyDisk) -> (Vec<String>, Vec<String>) {
    let (mut acknowledged, mut attempted) = (Vec::new(), Vec::new());
    let shared: Arc<dyn Disk> = Arc::new(disk.clone());
    let mut journal = None;
    for count in 0..4 {
        if journal.as_ref().is_none_or(Journal::has_stopped) {
            journal = Journal::open(shared.clone(), LION)
                .ok()
                .map(|(open, _)| open);
        }
        let text = format!("act {count}");
        attempted.push(text.clone());
        let Some(journal) = journal.as_mut() else {
            continue;
        };
        if let Ok(kept) = journal.append(&[jot(later(count), &text)]) {
            assert_eq!(texts(&kept.lines), std::slice::from_ref(&text));
            acknowledged.push(text);
        }
    }
    (acknowledged, attempted)
}

/// Checks a disk on which `work` was done: everything acknowledged is there, once and in
/// order, nothing else but what was attempted, and appending goes on.
#[track_caller]
fn check_survivors(disk: &FaultyDisk, (acknowledged, attempted): &(Vec<String>, Vec<String>)) {
    let (mut journal, read) = open(disk);
    let found = texts(&read);
    let mut due = acknowledged.iter().peekable();
    for text in &found {
        assert!(attempted.contains(text), "a false line: {text}");
        due.next_if_eq(&text);
    }
    assert_eq!(due.next(), None, "a lost line; the disk holds {found:?}");
    let kept = journal.append(&[jot(later(99), "on")]).unwrap();
    assert_eq!(kept.lines[0].n, found.len() as u64 + 1);
    let (_, after) = open(disk);
    assert_eq!(texts(&after).last().unwrap(), "on");
}

/// Returns how many acts of the disk the work takes when all goes well, on a journal with a
/// torn end, so that setting it aside is among them.
fn torn_disk() -> FaultyDisk {
    let disk = FaultyDisk::default();
    disk.put(Path::new(LION), b"{\"n\":1,\"at\":\"2031-03");
    disk
}

fn acts_of_work(disk: &FaultyDisk) -> usize {
    let done = work(disk);
    assert_eq!(done.0, done.1, "on a sound disk everything is acknowledged");
    disk.asked().len()
}

#[test]
fn whatever_act_of_the_disk_fails_nothing_acknowledged_is_lost() {
    let kinds = [
        Ill::Fails(ErrorKind::StorageFull),
        Ill::Fails(ErrorKind::Other),
        Ill::Fails(ErrorKind::Interrupted),
        Ill::Tears(0),
        Ill::Tears(40),
        Ill::Tears(10_000),
        Ill::TakesOnly(0),
        Ill::TakesOnly(40),
    ];
    for start in [FaultyDisk::default, torn_disk] {
        let acts = acts_of_work(&start());
        for (at, ill) in (0..acts).flat_map(|at| kinds.map(|ill| (at, ill))) {
            let disk = start();
            disk.ail(at, ill);
            let done = work(&disk);
            disk.heal();
            assert!(3 <= done.0.len(), "one fault costs one act at most");
            check_survivors(&disk, &done);
            // And what was acknowledged is synced: it is there after a pulled plug as well.
            let disk = start();
            disk.ail(at, ill);
            let done = work(&disk);
            check_survivors(&disk.plug_pulled(0), &done);
        }
    }
}

/// The computer stops at any act, any number of bytes of the write being in; and of what was
/// not synced, any number of bytes happens to be on the disk.
///
/// This, and not the killed child below, proves the order write, sync, acknowledge.
#[test]
fn wherever_the_plug_is_pulled_nothing_acknowledged_is_lost() {
    for start in [FaultyDisk::default, torn_disk] {
        let acts = acts_of_work(&start());
        let mut torn_ends = 0;
        for (at, written) in (0..acts).flat_map(|at| [0, 1, 70, 10_000].map(|part| (at, part))) {
            let disk = start();
            disk.ail(at, Ill::Stops(written));
            let done = work(&disk);
            for spared in [0, 1, 50, 100, 10_000] {
                let after = disk.plug_pulled(spared);
                let reading = read_all(&after, Path::new(LION)).unwrap();
                torn_ends += usize::from(reading.torn.is_some());
                check_survivors(&after, &done);
            }
        }
        assert!(
            20 < torn_ends,
            "the trial has to tear ends, else it shows nothing"
        );
    }
}

#[test]
fn wherever_the_plug_is_pulled_a_torn_end_is_in_the_journal_or_beside_it() {
    let torn = torn_disk().bytes(Path::new(LION)).unwrap();
    let acts = acts_of_work(&torn_disk());
    for at in 0..acts {
        let disk = torn_disk();
        disk.ail(at, Ill::Stops(0));
        work(&disk);
        let after = disk.plug_pulled(0);
        let holds = |name: &PathBuf| after.bytes(name).is_some_and(|bytes| bytes == torn);
        assert!(after.names().iter().any(holds), "lost at act {at}");
    }
}

#[test]
fn a_disk_that_fills_up_at_any_byte_loses_nothing_and_goes_on_once_there_is_room() {
    let whole = FaultyDisk::default();
    acts_of_work(&whole);
    let most = whole.bytes(Path::new(LION)).unwrap().len();
    for room in 0..=most {
        let disk = FaultyDisk::default();
        disk.room(room);
        let done = work(&disk);
        let bytes = disk.bytes(Path::new(LION)).unwrap_or_default();
        assert!(bytes.is_empty() || bytes.ends_with(b"\n"), "half written");
        disk.room(usize::MAX);
        check_survivors(&disk, &done);
    }
}

#[test]
fn a_page_is_replaced_whole_or_not_at_all() {
    let page = Path::new("figures/lion/report.html");
    let start = || {
        let disk = FaultyDisk::default();
        disk.put(page, b"old");
        disk
    };
    let disk = start();
    disk::replace(&disk, page, b"new page").unwrap();
    let acts = disk.asked().len();
    assert_eq!(disk.plug_pulled(0).bytes(page).unwrap(), b"new page");
    assert_eq!(disk.names(), [page], "nothing unfinished is left beside it");
    for (at, ill) in (0..acts).flat_map(|at| [Ill::Tears(3), Ill::Stops(3)].map(|ill| (at, ill))) {
        let disk = start();
        disk.ail(at, ill);
        let fault = disk::replace(&disk, page, b"new page").unwrap_err();
        assert_eq!(fault.path, page);
        for spared in [0, 3, 100] {
            let left = disk.plug_pulled(spared).bytes(page).unwrap();
            assert!(left == b"old" || left == b"new page", "{left:?}");
        }
    }
}

#[test]
fn a_photograph_is_copied_in_whole_with_its_hash() {
    let folder = tempfile::tempdir().unwrap();
    let (from, to) = (folder.path().join("in.jpg"), folder.path().join("kept.jpg"));
    // The one-block message of FIPS 180-4's examples (NIST, SHA-256 example, "abc").
    disk::replace(&RealDisk, &from, b"abc").unwrap();
    let copied = disk::copy_in(&RealDisk, &from, &to).unwrap();
    assert_eq!(copied.bytes, 3);
    assert_eq!(
        copied.sha256,
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(disk::read(&RealDisk, &to).unwrap(), b"abc");
    let taken = disk::copy_in(&RealDisk, &from, &to).unwrap_err();
    assert_eq!(taken.cause.kind(), ErrorKind::AlreadyExists);
    assert_eq!(disk::list(&RealDisk, folder.path()).unwrap().len(), 2);
}

#[test]
fn folders_are_made_with_all_above_them_and_may_be_there_already() {
    let folder = tempfile::tempdir().unwrap();
    let deep = folder.path().join("figures/lion/photos");
    disk::make_folders(&RealDisk, &deep).unwrap();
    disk::make_folders(&RealDisk, &deep).unwrap();
    let entries = disk::list(&RealDisk, &folder.path().join("figures")).unwrap();
    assert!(entries[0].is_folder && entries[0].name == "lion");
}

#[test]
fn a_lock_on_the_real_disk_keeps_others_out_and_ends_with_its_file() {
    use knuckle::disk::Share;
    use std::time::Duration;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut first = RealDisk.open(&path, Way::AppendOrMake).unwrap();
    first.lock(Share::Alone, Duration::ZERO).unwrap();
    for share in [Share::Alone, Share::Together] {
        let mut second = RealDisk.open(&path, Way::Append).unwrap();
        let refused = second.lock(share, Duration::from_millis(1)).unwrap_err();
        assert_eq!(refused.kind(), ErrorKind::WouldBlock);
    }
    drop(first);
    let mut third = RealDisk.open(&path, Way::Append).unwrap();
    third.lock(Share::Alone, Duration::from_mins(1)).unwrap();
}

/// Where the child of the trial below finds its journal. Not set in the parent.
const CHILD_JOURNAL: &str = "KNUCKLE_TRIAL_JOURNAL";
/// What the child writes into its lines, so that they can be told apart.
const CHILD_NAME: &str = "KNUCKLE_TRIAL_NAME";
/// Repeats a run: the seed that a failed one printed.
const SEED: &str = "KNUCKLE_TRIAL_SEED";

/// How many lines have to be acknowledged in all, over some hundred kills, unless this
/// variable of the environment asks for more.
const LINES: &str = "KNUCKLE_TRIAL_LINES";
const ACKNOWLEDGED: usize = 10_000;
/// After how many a new journal is begun, so that reading it again stays quick.
const PER_JOURNAL: usize = 1_000;

/// Two children append to one journal, print each line that was acknowledged, and are killed
/// at a random moment; again and again. No acknowledged line may be missing, none may be
/// there twice, and none that nobody wrote.
///
/// A killed child proves what it says and no more: the kernel's memory of the file lives on,
/// so it does **not** prove that a pulled plug is survived.
#[test]
#[expect(
    clippy::disallowed_methods,
    reason = "the parent tells its child by the environment what to do"
)]
fn writers_killed_at_any_moment_lose_nothing() {
    if let (Ok(path), Ok(name)) = (std::env::var(CHILD_JOURNAL), std::env::var(CHILD_NAME)) {
        return append_until_killed(Path::new(&path), &name);
    }
    let seed = std::env::var(SEED).ok().and_then(|seed| seed.parse().ok());
    let seed = seed.unwrap_or_else(|| RandomState::new().build_hasher().finish());
    println!("{SEED}={seed}");
    let mut chance = Chance(seed | 1);
    let asked = std::env::var(LINES)
        .ok()
        .and_then(|lines| lines.parse().ok());
    let (mut total, mut kills) = (0, 0);
    while total < asked.unwrap_or(ACKNOWLEDGED) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal.jsonl");
        let mut acknowledged = BTreeMap::new();
        while acknowledged.len() < PER_JOURNAL {
            let children = [0, 1].map(|child| start_child(&path, &format!("{kills}-{child}")));
            kills += 2;
            for child in children {
                acknowledged.extend(kill_at_random(child, &mut chance));
            }
            check_nothing_lost(&path, &acknowledged);
        }
        total += acknowledged.len();
    }
    println!("{total} lines acknowledged, {kills} writers killed, none lost");
}

fn append_until_killed(path: &Path, name: &str) {
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), path).unwrap();
    let mut out = std::io::stdout();
    for count in 0.. {
        let text = format!("{name}-{count}");
        let kept = journal.append(&[jot(later(0), &text)]);
        let n = kept.unwrap().lines[0].n;
        // The parent may be gone already; then there is nothing left to show.
        if writeln!(out, "kept {n} {text}")
            .and_then(|()| out.flush())
            .is_err()
        {
            return;
        }
    }
}

fn start_child(path: &Path, name: &str) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "crash::writers_killed_at_any_moment_lose_nothing",
            "--exact",
        ])
        .args(["--nocapture", "--test-threads=1"])
        .env(CHILD_JOURNAL, path)
        .env(CHILD_NAME, name)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Kills a child after a random number of lines and a random bit of an append more; returns
/// what it had printed as acknowledged by then.
fn kill_at_random(mut child: Child, chance: &mut Chance) -> Vec<(u64, String)> {
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut acknowledged = Vec::new();
    for _ in 0..chance.below(80) {
        let line = next_line(&mut out).unwrap();
        acknowledged.extend(acknowledged_in(&line));
    }
    for _ in 0..chance.below(200_000) {
        std::hint::spin_loop();
    }
    child.kill().unwrap();
    // What stands in the pipe was printed before the kill.
    while let Some(line) = next_line(&mut out) {
        acknowledged.extend(acknowledged_in(&line));
    }
    child.wait().unwrap();
    acknowledged
}

/// Returns the next line of a child, `None` at the end; half a line counts for nothing.
fn next_line(out: &mut impl BufRead) -> Option<String> {
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    line.strip_suffix('\n').map(str::to_owned)
}

/// Returns what a line of the child acknowledges, if it is one of ours.
fn acknowledged_in(line: &str) -> Option<(u64, String)> {
    let (n, text) = line.strip_prefix("kept ")?.split_once(' ')?;
    Some((n.parse().unwrap(), text.to_owned()))
}

fn check_nothing_lost(path: &Path, acknowledged: &BTreeMap<u64, String>) {
    let (mut journal, reading) = Journal::open(Arc::new(RealDisk), path).unwrap();
    assert_eq!(reading.flaws, []);
    let mut next: BTreeMap<String, u64> = BTreeMap::new();
    let mut found = BTreeMap::new();
    for (line, text) in reading.lines.iter().zip(texts(&reading.lines)) {
        let (writer, count) = text.rsplit_once('-').unwrap();
        // Each writer's lines stand there in its order, each once and without a gap.
        let due = next.entry(writer.to_owned()).or_default();
        assert_eq!(count.parse::<u64>().unwrap(), *due, "of writer {writer}");
        *due += 1;
        found.insert(line.n, text);
    }
    for (n, text) in acknowledged {
        assert_eq!(found.get(n), Some(text), "acknowledged line {n}");
    }
    journal.settle().unwrap();
}

/// A small source of chance that can be repeated (xorshift64, G. Marsaglia, "Xorshift RNGs",
/// Journal of Statistical Software 8(14), 2003).
struct Chance(u64);

impl Chance {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % bound
    }
}
