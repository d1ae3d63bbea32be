//! Append, reopen, tamper, reorder, second writer, newer version's lines.

use std::path::Path;
use std::sync::Arc;
use std::thread;

use chrono::TimeDelta;
use knuckle::disk::{Disk, RealDisk};
use knuckle::journal::{
    AppendOutcome, Flaw, FlawKind, Journal, JournalFault, Kept, read_all, read_since, verify,
};
use proptest::prelude::{any, prop_assert_eq, proptest};
use serde_json::json;

use crate::kit::faulty::{Asked, FaultyDisk, Ill};
use crate::kit::{jot, later};

pub(crate) const HARE: &str = "figures/hare/journal.jsonl";

/// Returns a disk with a journal of `lines` jotted lines.
pub(crate) fn disk_with(lines: i64) -> FaultyDisk {
    let disk = FaultyDisk::default();
    let (mut journal, _) = open(&disk);
    for line in 1..=lines {
        journal
            .append(&[jot(later(line), &format!("line {line}"))])
            .unwrap();
    }
    disk
}

pub(crate) fn open(disk: &FaultyDisk) -> (Journal, Vec<Kept>) {
    let (journal, reading) = Journal::open(Arc::new(disk.clone()), HARE).unwrap();
    (journal, reading.lines)
}

fn texts(lines: &[Kept]) -> Vec<String> {
    let text = |line: &Kept| line.fields()["text"].as_str().unwrap().to_owned();
    lines.iter().map(text).collect()
}

fn counts(lines: &[Kept]) -> Vec<u64> {
    lines.iter().map(|line| line.n).collect()
}

fn flaws_of(bytes: &[u8]) -> Vec<Flaw> {
    let disk = FaultyDisk::default();
    disk.put(Path::new(HARE), bytes);
    verify(&disk, Path::new(HARE)).unwrap()
}

/// One body for the real disk and for the one in memory.
fn check_kept_and_found_again(disk: &Arc<dyn Disk>, path: &Path) {
    let (mut journal, before) = Journal::open(disk.clone(), path).unwrap();
    assert!(before.lines.is_empty());
    let kept = journal
        .append(&[
            jot(later(0), "joint dry fitted"),
            jot(later(1), "glue mixed"),
        ])
        .unwrap();
    assert_eq!(counts(&kept.lines), [1, 2]);
    let more = journal.append(&[jot(later(2), "clamped")]).unwrap();
    assert_eq!(counts(&more.lines), [3]);

    let (again, reading) = Journal::open(disk.clone(), path).unwrap();
    assert_eq!(again.last_n(), 3);
    assert_eq!(reading.lines, [kept.lines, more.lines].concat());
    assert_eq!(reading.all_flaws(), []);
    assert_eq!(
        texts(&reading.lines),
        ["joint dry fitted", "glue mixed", "clamped"]
    );
    let mark = again.mark().clone();
    let (resumed, rest) = Journal::resume(disk.clone(), path, mark).unwrap();
    assert_eq!((resumed.last_n(), rest.lines.len()), (3, 0));
}

#[test]
fn what_was_kept_is_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let real: Arc<dyn Disk> = Arc::new(RealDisk);
    check_kept_and_found_again(&real, &folder.path().join("journal.jsonl"));
    let memory: Arc<dyn Disk> = Arc::new(FaultyDisk::default());
    check_kept_and_found_again(&memory, Path::new(HARE));
}

#[test]
#[cfg(unix)]
fn a_new_journal_can_be_written_by_its_owner_only() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), &path).unwrap();
    journal.append(&[jot(later(0), "x")]).unwrap();
    let mode = std::fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o022, 0, "neither the group nor the world writes");
}

#[test]
fn a_line_is_acknowledged_only_after_write_and_sync_and_the_name_of_a_new_file() {
    let disk = FaultyDisk::default();
    let (mut journal, _) = open(&disk);
    journal.append(&[jot(later(0), "first")]).unwrap();
    let asked = disk.asked();
    let from_write = asked.iter().position(|act| *act == Asked::Write).unwrap();
    assert!(asked[..from_write].contains(&Asked::Lock));
    assert_eq!(
        asked[from_write..][..3],
        [Asked::Write, Asked::Sync, Asked::SyncFolder]
    );
    journal.append(&[jot(later(1), "second")]).unwrap();
    let writes = |acts: &[Asked]| acts.iter().filter(|act| **act == Asked::Write).count();
    assert_eq!(writes(&disk.asked()), 2, "one write for each append");
}

#[test]
fn lines_of_another_bench_come_first_and_none_is_given_out_twice() {
    let disk = disk_with(1);
    let (mut ours, _) = open(&disk);
    let (mut theirs, _) = open(&disk);
    theirs.append(&[jot(later(2), "theirs")]).unwrap();
    let appended = ours.append(&[jot(later(3), "ours")]).unwrap();
    assert_eq!(texts(&appended.others), ["theirs"]);
    assert_eq!(counts(&appended.lines), [3]);
    assert_eq!(texts(&theirs.news().unwrap()), ["ours"]);
    assert_eq!(theirs.news().unwrap(), []);
    assert_eq!(ours.news().unwrap(), []);
}

#[test]
fn news_costs_one_look_when_there_is_none() {
    let disk = disk_with(3);
    let (mut journal, _) = open(&disk);
    let before = disk.asked().len();
    assert_eq!(journal.news().unwrap(), []);
    assert_eq!(disk.asked()[before..], [Asked::Stamp]);
}

#[test]
fn a_bench_that_decided_on_an_older_line_is_told_what_came_in_between() {
    let disk = disk_with(2);
    let (mut ours, _) = open(&disk);
    let (mut theirs, _) = open(&disk);
    theirs.append(&[jot(later(3), "theirs")]).unwrap();
    let size = disk.bytes(Path::new(HARE)).unwrap().len();
    let AppendOutcome::Behind(missed) = ours.append_if(2, &[jot(later(4), "ours")]).unwrap() else {
        panic!("written although line 3 was not known");
    };
    assert_eq!(texts(&missed), ["theirs"]);
    assert_eq!(disk.bytes(Path::new(HARE)).unwrap().len(), size);
    let AppendOutcome::Kept(kept) = ours.append_if(3, &[jot(later(4), "ours")]).unwrap() else {
        panic!("not written although line 3 was known");
    };
    assert_eq!(counts(&kept.lines), [4]);
    let AppendOutcome::Behind(old) = ours.append_if(1, &[jot(later(5), "late")]).unwrap() else {
        panic!("written although lines 2 to 4 were not looked at");
    };
    assert_eq!(counts(&old), [2, 3, 4]);
}

/// A writer that was killed between write and sync leaves a line that only the kernel knows.
#[test]
fn a_line_that_was_left_unsynced_is_synced_before_it_is_given_out() {
    type GiveOut = fn(&mut Journal) -> Vec<Kept>;
    let ways: [GiveOut; 3] = [
        |journal| journal.news().unwrap(),
        |journal| match journal.append_if(1, &[jot(later(4), "x")]).unwrap() {
            AppendOutcome::Behind(lines) => lines,
            AppendOutcome::Kept(_) => Vec::new(),
        },
        |journal| {
            journal.settle().unwrap();
            journal.news().unwrap()
        },
    ];
    for give_out in ways {
        let disk = disk_with(1);
        let (mut ours, _) = open(&disk);
        let (mut killed, _) = open(&disk);
        ill_at(&disk, Asked::Sync, Ill::Stops(0), &mut killed);
        disk.heal();
        assert_eq!(
            disk.plug_pulled(0).bytes(Path::new(HARE)),
            disk_with(1).bytes(Path::new(HARE))
        );
        assert_eq!(texts(&give_out(&mut ours)), ["x"]);
        let (_, after) = open(&disk.plug_pulled(0));
        assert_eq!(texts(&after), ["line 1", "x"]);
    }
}

#[test]
fn the_lines_of_a_day_are_read_from_the_end() {
    let disk = FaultyDisk::default();
    let (mut journal, _) = open(&disk);
    let drafts: Vec<_> = (0..1000)
        .map(|s| jot(later(s), "size laid on panel"))
        .collect();
    journal.append(&drafts).unwrap();
    let mut late = jot(later(-90), "typed the evening after");
    late.entered_later = Some(later(1000));
    journal.append(&[late]).unwrap();
    let since = |seconds| {
        read_since(&disk, Path::new(HARE), later(seconds))
            .unwrap()
            .0
    };
    for seconds in [-5, 0, 1, 500, 998, 999, 1000, 1001] {
        let first = u64::try_from(seconds.max(0)).unwrap() + 1;
        assert_eq!(counts(&since(seconds)), (first..=1001).collect::<Vec<_>>());
    }
    let missing = read_since(&disk, Path::new("figures/heron/journal.jsonl"), later(0));
    assert_eq!(missing.unwrap(), (Vec::new(), None));
}

#[test]
fn four_writers_at_once_leave_one_unbroken_journal() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let write = |who: i64| {
        let path = path.clone();
        move || {
            let (mut journal, _) = Journal::open(Arc::new(RealDisk), path).unwrap();
            for count in 0..50 {
                let text = format!("{who}-{count}");
                journal.append(&[jot(later(0), &text)]).unwrap();
            }
        }
    };
    let writers: Vec<_> = (0..4).map(|who| thread::spawn(write(who))).collect();
    for writer in writers {
        writer.join().unwrap();
    }
    let reading = read_all(&RealDisk, &path).unwrap();
    assert_eq!(reading.all_flaws(), []);
    assert_eq!(counts(&reading.lines), (1..=200).collect::<Vec<_>>());
    let mut found = texts(&reading.lines);
    found.sort();
    found.dedup();
    assert_eq!(found.len(), 200, "each line of each writer once");
}

#[test]
fn any_changed_byte_is_found_in_its_line() {
    let sound = disk_with(4).bytes(Path::new(HARE)).unwrap();
    assert_eq!(flaws_of(&sound), []);
    for place in 0..sound.len() {
        let line = sound[..=place]
            .split_inclusive(|byte| *byte == b'\n')
            .count() as u64;
        for changed in [sound[place] ^ 1, sound[place] ^ 0x80, b'\n', b'0', b'"'] {
            if changed == sound[place] {
                continue;
            }
            let mut bytes = sound.clone();
            bytes[place] = changed;
            let flaws = flaws_of(&bytes);
            let first = flaws.first().map(|flaw| flaw.line);
            assert_eq!(first, Some(line), "byte {place} to {changed}: {flaws:?}");
        }
    }
}

#[test]
fn one_changed_letter_accuses_no_other_line() {
    let sound = String::from_utf8(disk_with(4).bytes(Path::new(HARE)).unwrap()).unwrap();
    let flaw = |line, kind| Flaw { line, kind };
    let edited = sound.replace("line 2", "line X");
    assert_eq!(flaws_of(edited.as_bytes()), [flaw(2, FlawKind::Seal)]);
    let lines: Vec<&str> = sound.lines().collect();
    let (_, seal) = lines[1].rsplit_once(":\"").unwrap();
    let resealed = sound.replace(seal, &format!("{}\"}}", "0".repeat(32)));
    assert_eq!(flaws_of(resealed.as_bytes()), [flaw(2, FlawKind::Seal)]);
    let broken = sound.replace("\"text\":\"line 2", "\"text:\"line 2");
    assert_eq!(flaws_of(broken.as_bytes()), [flaw(2, FlawKind::Unreadable)]);
}

#[test]
fn moved_removed_and_doubled_lines_are_found() {
    let sound = String::from_utf8(disk_with(5).bytes(Path::new(HARE)).unwrap()).unwrap();
    let lines: Vec<&str> = sound.split_inclusive('\n').collect();
    let flaw = |line, kind| Flaw { line, kind };

    let removed = [lines[0], lines[1], lines[3], lines[4]].concat();
    assert_eq!(
        flaws_of(removed.as_bytes()),
        [
            flaw(3, FlawKind::Seal),
            flaw(3, FlawKind::Gap { from: 3, to: 3 })
        ]
    );
    let doubled = [lines[0], lines[1], lines[1], lines[2]].concat();
    let found = flaws_of(doubled.as_bytes());
    assert_eq!(
        found[..2],
        [
            flaw(3, FlawKind::Seal),
            flaw(3, FlawKind::OutOfOrder { due: 3, found: 2 })
        ]
    );
    for first in 0..4 {
        let mut swapped = lines.clone();
        swapped.swap(first, first + 1);
        let found = flaws_of(swapped.concat().as_bytes());
        assert_eq!(found[0], flaw(first as u64 + 1, FlawKind::Seal));
    }
}

#[test]
fn a_count_is_never_given_out_twice_even_behind_a_broken_line() {
    let sound = String::from_utf8(disk_with(3).bytes(Path::new(HARE)).unwrap()).unwrap();
    let disk = FaultyDisk::default();
    let lines: Vec<&str> = sound.split_inclusive('\n').collect();
    disk.put(Path::new(HARE), [lines[0], lines[2]].concat().as_bytes());
    let (mut journal, read) = open(&disk);
    assert_eq!(counts(&read), [1, 3]);
    let kept = journal.append(&[jot(later(9), "on")]).unwrap();
    assert_eq!(counts(&kept.lines), [4]);
}

#[test]
fn reading_goes_on_behind_every_flaw() {
    let sound = String::from_utf8(disk_with(4).bytes(Path::new(HARE)).unwrap()).unwrap();
    let disk = FaultyDisk::default();
    let broken = sound.replace("{\"n\":2", "n:2").replace("line 3", "line Z");
    disk.put(Path::new(HARE), broken.as_bytes());
    let reading = read_all(&disk, Path::new(HARE)).unwrap();
    assert_eq!(texts(&reading.lines), ["line 1", "line Z", "line 4"]);
    assert_eq!(reading.torn, None);
}

#[test]
fn a_clock_set_back_is_noted_but_a_line_entered_later_is_not() {
    let disk = disk_with(1);
    let (mut journal, _) = open(&disk);
    let mut late = jot(later(-7200), "what happened before breakfast");
    late.entered_later = Some(later(60));
    journal
        .append(&[late, jot(later(-10), "clock set back")])
        .unwrap();
    let by = TimeDelta::seconds(70);
    let back = Flaw {
        line: 3,
        kind: FlawKind::TimeBack { by },
    };
    assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), [back]);
    journal.append(&[jot(later(70), "work goes on")]).unwrap();
}

/// A line waits for the journal after its key was pressed: another's may come before it. But many
/// small steps back hide no clock: each is held against the latest line.
#[test]
fn a_line_that_waited_for_another_bench_is_no_clock_set_back() {
    let disk = disk_with(1);
    let (mut journal, _) = open(&disk);
    for (second, text) in [(100, "pressed later"), (98, "waited"), (40, "waited long")] {
        journal.append(&[jot(later(second), text)]).unwrap();
    }
    assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), []);
    journal.append(&[jot(later(39), "too long")]).unwrap();
    let by = TimeDelta::seconds(61);
    let back = Flaw {
        line: 5,
        kind: FlawKind::TimeBack { by },
    };
    assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), [back]);
}

#[test]
fn a_last_line_that_lost_only_its_line_end_is_whole() {
    let disk = disk_with(2);
    let mut bytes = disk.bytes(Path::new(HARE)).unwrap();
    bytes.pop();
    disk.put(Path::new(HARE), &bytes);
    let (mut journal, read) = open(&disk);
    assert_eq!(counts(&read), [1, 2]);
    let flaw = Flaw {
        line: 2,
        kind: FlawKind::LineEnd,
    };
    assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), [flaw]);
    let (mut other, _) = open(&disk);
    let kept = journal.append(&[jot(later(9), "on")]).unwrap();
    assert_eq!((counts(&kept.lines), kept.set_aside), (vec![3], None));
    assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), []);
    assert_eq!(counts(&other.news().unwrap()), [3]);
}

#[test]
fn a_newer_version_s_lines_are_kept_as_they_are() {
    let disk = disk_with(1);
    let (mut journal, _) = open(&disk);
    let mut newer = jot(later(5), "x");
    newer.body = json!({"deed": "gild_by_moonlight", "phase": {"of": ["moon", 0.25]}})
        .as_object()
        .unwrap()
        .clone();
    journal.append(&[newer]).unwrap();
    let (_, read) = open(&disk);
    assert_eq!(read[1].fields()["deed"], "gild_by_moonlight");
    assert_eq!(read[1].fields()["phase"]["of"][1], 0.25);
    let names: Vec<_> = read[1].fields().keys().cloned().collect();
    assert_eq!(names, ["n", "at", "by", "bench", "deed", "phase", "seal"]);
}

/// Lets the next act of a kind go wrong, while `act` is done.
pub(crate) fn ill_at(
    disk: &FaultyDisk,
    kind: Asked,
    ill: Ill,
    journal: &mut Journal,
) -> JournalFault {
    let from = disk.asked().len();
    let healthy = disk.plug_pulled(usize::MAX);
    let (mut probe, _) = open(&healthy);
    let before = healthy.asked().len();
    probe.append(&[jot(later(9), "x")]).unwrap();
    let at = healthy.asked()[before..]
        .iter()
        .position(|act| *act == kind);
    disk.ail(from + at.unwrap(), ill);
    journal.append(&[jot(later(9), "x")]).unwrap_err()
}

proptest! {
    #[test]
    fn whatever_people_write_comes_back(text in any::<String>(), by in any::<String>()) {
        let disk = FaultyDisk::default();
        let (mut journal, _) = open(&disk);
        let mut draft = jot(later(0), &text);
        draft.by.clone_from(&by);
        let kept = journal.append(&[draft]).unwrap();
        let (_, read) = open(&disk);
        prop_assert_eq!(&read, &kept.lines);
        prop_assert_eq!(&read[0].fields()["text"], &text);
        prop_assert_eq!(&read[0].fields()["by"], &by);
        prop_assert_eq!(verify(&disk, Path::new(HARE)).unwrap(), vec![]);
    }
}
