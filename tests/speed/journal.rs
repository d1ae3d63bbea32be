//! Keeping one line, and reading a journal of ten thousand.

use std::cell::RefCell;
use std::path::Path;
use std::sync::Arc;

use chrono::DateTime;
use criterion::{Criterion, Throughput};
use knuckle::disk::{Disk, RealDisk, Way, read, write_all};
use knuckle::journal::{Draft, Journal, read_all};
use tempfile::TempDir;

use crate::tail::{beside, is_wanted};

/// Lines kept, one by one.
const KEPT: usize = 2000;

pub(crate) fn bench(criterion: &mut Criterion) {
    append_synced();
    read_whole(criterion);
}

/// One line kept: lock, number, seal, read back, write, sync. Beside it the same bytes
/// written and synced bare, by turns. Leaves out the making of the file and of the deed.
fn append_synced() {
    let name = "journal/append_synced/1";
    if !is_wanted(name) {
        return;
    }
    let folder = folder();
    let path = folder.path().join("journal.jsonl");
    let (journal, _) = Journal::open(Arc::new(RealDisk), &path).unwrap();
    let journal = RefCell::new(journal);
    let keep = || journal.borrow_mut().append(&[draft()]).unwrap();
    let mut line = keep().lines.into_iter().next().unwrap().text;
    line.push('\n');
    let bare = folder.path().join("bare.jsonl");
    let mut bare = RealDisk.open(&bare, Way::AppendOrMake).unwrap();
    beside(
        (name, "bare write and sync"),
        KEPT,
        || drop(keep()),
        || {
            write_all(bare.as_mut(), line.as_bytes()).unwrap();
            bare.sync().unwrap();
        },
    );
    let reading = read_all(&RealDisk, &path).unwrap();
    assert_eq!(reading.all_flaws(), []);
    assert_eq!(reading.lines.len(), KEPT + 1);
}

/// Ten thousand lines read with every seal compared. Beside it the same file read and its
/// line ends counted. The file is in the kernel's memory for both; leaves out the disk.
fn read_whole(criterion: &mut Criterion) {
    let folder = folder();
    let path = folder.path().join("journal.jsonl");
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), &path).unwrap();
    journal.append(&vec![draft(); 10_000]).unwrap();
    let len = read(&RealDisk, &path).unwrap().len();

    let mut group = criterion.benchmark_group("journal");
    group.throughput(Throughput::Bytes(len as u64));
    group.bench_function("read/10000", |bencher| {
        bencher.iter(|| {
            let reading = read_all(&RealDisk, &path).unwrap();
            assert!(reading.lines.len() == 10_000 && reading.flaws.is_empty());
        });
    });
    group.bench_function("read/10000 (bare read and count)", |bencher| {
        bencher.iter(|| assert_eq!(count_lines(&path), 10_000));
    });
    group.finish();
}

fn count_lines(path: &Path) -> usize {
    let bytes = read(&RealDisk, path).unwrap();
    bytes.split_inclusive(|byte| *byte == b'\n').count()
}

/// A folder on the disk that holds the build.
fn folder() -> TempDir {
    TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}

fn draft() -> Draft {
    let body = serde_json::json!({
        "deed": "reading", "room": "joinery", "temperature_c": 19.5, "humidity_percent": 52.0,
        "note": "after the doors stood open for the delivery of the lime boards",
    });
    Draft {
        at: DateTime::parse_from_rfc3339("2031-03-04T09:00:00.000+01:00").unwrap(),
        by: "Odile".to_owned(),
        bench: "long bench".to_owned(),
        body: body.as_object().unwrap().clone(),
        entered_later: None,
    }
}
