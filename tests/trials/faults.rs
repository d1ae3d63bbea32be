//! Every fault of a journal and of a disk, caused and read whole; every flaw in its words.

use std::io::ErrorKind;
use std::path::Path;

use chrono::TimeDelta;
use knuckle::disk::{self, Disk, DiskFault, Share, Way};
use knuckle::journal::{Flaw, FlawKind, Journal, JournalFault, LOCK_LIMIT};
use knuckle::trouble::Trouble;
use serde_json::json;

use crate::journal::{HARE, disk_with, ill_at, open};
use crate::kit::faulty::{Asked, FaultyDisk, Ill};
use crate::kit::{jot, later, moment};

#[test]
fn every_flaw_has_its_words() {
    let words = |kind| Flaw { line: 7, kind }.to_string();
    assert_eq!(
        words(FlawKind::Unreadable),
        "line 7: cannot be read as a line of a journal"
    );
    assert_eq!(
        words(FlawKind::Seal),
        "line 7: the seal does not fit: this line was changed, or the one before it was changed or removed"
    );
    assert_eq!(
        words(FlawKind::Gap { from: 3, to: 3 }),
        "line 7: line n=3 is missing before it"
    );
    assert_eq!(
        words(FlawKind::Gap { from: 3, to: 5 }),
        "line 7: lines n=3 to n=5 are missing before it"
    );
    assert_eq!(
        words(FlawKind::OutOfOrder { due: 4, found: 2 }),
        "line 7: n=2 stands where n=4 was due"
    );
    let by = TimeDelta::seconds(90);
    assert_eq!(
        words(FlawKind::TimeBack { by }),
        "line 7: written 90 s before the line above it: a clock was set back"
    );
    assert_eq!(
        words(FlawKind::LineEnd),
        "line 7: the line end is missing; the line itself is whole"
    );
    assert_eq!(
        words(FlawKind::Torn { bytes: 12 }),
        "line 7: the end is torn: 12 bytes after the last whole line; the next act sets them aside"
    );
}

/// Causes a fault on a journal of two lines and compares the whole message.
#[track_caller]
fn check_fault(cause: impl FnOnce(&FaultyDisk, &mut Journal) -> JournalFault, message: &str) {
    let disk = disk_with(2);
    let (mut journal, _) = open(&disk);
    let fault = cause(&disk, &mut journal);
    assert_eq!(Trouble::from(fault).to_string(), message);
}

#[test]
fn every_fault_of_writing_is_told_whole() {
    check_fault(
        |disk, journal| {
            ill_at(
                disk,
                Asked::Write,
                Ill::Fails(ErrorKind::StorageFull),
                journal,
            )
        },
        "cannot keep the last act: the disk is full\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: make room, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| ill_at(disk, Asked::Write, Ill::TakesOnly(20), journal),
        "cannot keep the last act: the disk is full\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: make room, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| ill_at(disk, Asked::Write, Ill::Tears(20), journal),
        "cannot keep the last act: the disk answers `broken pipe`\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: check the disk and its cable, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| ill_at(disk, Asked::Write, Ill::Stops(20), journal),
        "cannot keep the last act, and cannot take back what was written of it: the disk answers `broken pipe`\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: check the disk, then open the shop again: it sets aside what is half written; the lines before are untouched",
    );
    check_fault(
        |disk, journal| ill_at(disk, Asked::Sync, Ill::Fails(ErrorKind::Other), journal),
        "cannot be sure that the last act is kept: the disk did not confirm it (the disk answers `other error`)\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: check the disk, open the shop again, and look whether the act is there before doing it again; the lines before are untouched",
    );
    check_fault(
        |disk, journal| {
            ill_at(disk, Asked::Sync, Ill::Fails(ErrorKind::Other), journal);
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "cannot keep the last act: writing stopped before: cannot be sure that the last act is kept: the disk did not confirm it (the disk answers `other error`)\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: check the disk, open the shop again, and look whether the act is there before doing it again; the lines before are untouched",
    );
}

#[test]
fn every_fault_of_opening_is_told_whole() {
    check_fault(
        |disk, journal| {
            disk.only_read();
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "cannot keep the last act: the disk can only be read\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: make the disk writable, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| {
            ill_at(
                disk,
                Asked::Open,
                Ill::Fails(ErrorKind::PermissionDenied),
                journal,
            )
        },
        "cannot keep the last act: this user is not allowed to\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: ask whoever keeps this computer for the right to write it, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| {
            disk.without_locks();
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "nothing can be kept here: this disk cannot lock files, and without locks two benches could spoil each other's lines\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: keep the shop on a disk of this computer, or on a share that can lock files; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| {
            let mut other = disk.open(Path::new(HARE), Way::Append).unwrap();
            other.lock(Share::Alone, LOCK_LIMIT).unwrap();
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "cannot keep the last act: another bench has held this journal for more than 5 s\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: look for a bench that was stopped while it wrote, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |disk, journal| ill_at(disk, Asked::Read, Ill::Fails(ErrorKind::Other), journal),
        "cannot read the journal: the disk answers `other error`\n \
         where: figures/hare/journal.jsonl\n    \
         do: check the disk and its cable; the journal was left untouched",
    );
    check_fault(
        |disk, journal| {
            ill_at(
                disk,
                Asked::Read,
                Ill::Fails(ErrorKind::PermissionDenied),
                journal,
            )
        },
        "cannot read the journal: this user is not allowed to\n \
         where: figures/hare/journal.jsonl\n    \
         do: ask whoever keeps this computer for the right to read it",
    );
}

#[test]
fn every_other_fault_is_told_whole() {
    let changed = "nothing can be kept: the journal was changed by something else than a bench\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: write on paper what is done from here on; open the shop again and run `knuckle audit`; a copy of the journal from a backup may be needed";
    check_fault(
        |disk, journal| {
            let bytes = disk.bytes(Path::new(HARE)).unwrap();
            disk.put(Path::new(HARE), &bytes[..bytes.len() - 9]);
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "nothing can be kept: line 2, which was kept, is gone from the journal: something else than a bench changed it\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: write on paper what is done from here on; bring back the folder or a copy of the journal, then open the shop again and run `knuckle audit`",
    );
    check_fault(
        |disk, journal| {
            disk.remove(Path::new(HARE)).unwrap();
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "nothing can be kept: the journal is gone: the shop's folder or this file was moved or deleted\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: write on paper what is done from here on; bring back the folder or a copy of the journal, then open the shop again and run `knuckle audit`",
    );
    check_fault(
        |disk, journal| {
            let mut bytes = disk.bytes(Path::new(HARE)).unwrap();
            bytes.extend(b"{\"n\":3,\"at\":\"2031-03-04T09:00:00.000+01:00\",\"deed\":\"jot\"}\n");
            disk.put(Path::new(HARE), &bytes);
            journal.news().unwrap_err()
        },
        changed,
    );
    check_fault(
        |disk, journal| {
            let mut bytes = disk.bytes(Path::new(HARE)).unwrap();
            bytes.extend(b"{\"n\":3,");
            disk.put(Path::new(HARE), &bytes);
            disk.room(1);
            journal.append(&[jot(later(9), "x")]).unwrap_err()
        },
        "cannot set the torn end of the journal aside: the disk is full\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: make room, then try again; nothing was lost and nothing is half written",
    );
    check_fault(
        |_, journal| {
            let mut draft = jot(later(9), "x");
            draft.body.insert("seal".into(), json!("mine"));
            journal.append(&[draft]).unwrap_err()
        },
        "cannot keep the last act: its field `seal` is not in its place\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: write the act on paper and tell whoever keeps this program; nothing was lost and nothing is half written",
    );
    check_fault(
        // A year of five digits can be written but not read; RFC 3339 has four.
        |_, journal| {
            let far = moment("9999-12-31T23:00:00Z") + TimeDelta::days(2);
            journal.append(&[jot(far, "x")]).unwrap_err()
        },
        "cannot keep the last act: its line could not be read again\n \
         where: figures/hare/journal.jsonl, after line 2\n    \
         do: write the act on paper and tell whoever keeps this program; nothing was lost and nothing is half written",
    );
}

#[test]
fn before_the_first_line_the_place_says_so() {
    let disk = FaultyDisk::default();
    disk.only_read();
    let (mut journal, _) = open(&disk);
    let fault = journal.append(&[jot(later(0), "x")]).unwrap_err();
    let place = Trouble::from(fault).place.unwrap();
    assert_eq!(place, "figures/hare/journal.jsonl, before its first line");
}

#[track_caller]
fn check_told(fault: DiskFault, message: &str) {
    assert_eq!(Trouble::from(fault).to_string(), message);
}

#[test]
fn every_fault_of_a_disk_is_told_whole() {
    let page = Path::new("figures/lion/report.html");
    let full = FaultyDisk::default();
    full.room(2);
    check_told(
        disk::replace(&full, page, b"a page").unwrap_err(),
        "cannot write the file: the disk is full\n \
         where: figures/lion/report.html\n    \
         do: make room, then try again; what was there before is untouched",
    );
    let fixed = FaultyDisk::default();
    fixed.only_read();
    check_told(
        disk::replace(&fixed, page, b"a page").unwrap_err(),
        "cannot write the file: the disk can only be read\n \
         where: figures/lion/report.html\n    \
         do: make the disk writable or use a folder on another one; what was there before is untouched",
    );
    check_told(
        disk::read(&fixed, page).unwrap_err(),
        "cannot read the file: there is no such file or folder\n \
         where: figures/lion/report.html\n    \
         do: check the name and whether the disk is connected",
    );
    let failing = |kind| {
        let disk = FaultyDisk::default();
        disk.ail(0, Ill::Fails(kind));
        disk
    };
    check_told(
        disk::list(&failing(ErrorKind::PermissionDenied), Path::new("figures")).unwrap_err(),
        "cannot list the folder: this user is not allowed to\n \
         where: figures\n    \
         do: ask whoever keeps this computer for the right to read it",
    );
    check_told(
        disk::make_folders(&failing(ErrorKind::PermissionDenied), Path::new("f")).unwrap_err(),
        "cannot make the folder: this user is not allowed to\n \
         where: f\n    \
         do: ask whoever keeps this computer for the right to write there; what was there before is untouched",
    );
    check_told(
        disk::copy_in(&failing(ErrorKind::Other), page, Path::new("x.jpg")).unwrap_err(),
        "cannot copy the file in: the disk answers `other error`\n \
         where: x.jpg\n    \
         do: check the disk and its cable, and copy the shop to another disk before going on",
    );
}
