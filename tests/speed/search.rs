//! Half a gigabyte of journals: the day's lines and recalls, beside a plain search of the same
//! files for a word that does not stand there. The plain search is the fastest known way to
//! find a text in one thread (`memchr`'s two-way search with vector instructions); nothing of
//! the words is read. Everything lies in the kernel's memory for both; leaves out the start of
//! a process and the disk.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;
use std::sync::Arc;

use knuckle::command::{Outside, run};
use knuckle::disk::RealDisk;
use knuckle::screen::look::Depth;
use memchr::memmem::Finder;

use crate::big_shop::{DAY, WHOLE, big_shop};
use crate::tail::{beside, is_wanted};

/// How often each runs.
const ROUNDS: usize = 7;

/// What is asked: a name, the words of the command, and what the answer has to hold.
const ASKED: [(&str, &[&str], &str); 6] = [
    ("shop/day/1000x2000", &["day", DAY], "air of"),
    (
        "shop/recall/words in every figure/1000x2000",
        &["recall", "oil", "primer"],
        "oil primer",
    ),
    (
        "shop/recall/last time over that/1000x2000",
        &[
            "recall", "last", "time", "japan", "colour", "over", "primer", "in", "November",
        ],
        "over oil primer",
    ),
    (
        "shop/recall/--lot/1000x2000",
        &["recall", "--lot", "PW-2607-118"],
        "PW-2607-118",
    ),
    (
        "shop/recall/--humidity-above/1000x2000",
        &["recall", "--humidity-above", "50%"],
        "in air of",
    ),
    (
        "shop/recall/--colder-than/1000x2000",
        &["recall", "--colder-than", "12C"],
        "",
    ),
];

pub(crate) fn bench() {
    for (name, words, answer) in ASKED {
        if !is_wanted(name) {
            continue;
        }
        let folder = big_shop(WHOLE);
        let mut said_last = String::new();
        beside(
            (name, "plain search"),
            ROUNDS,
            || said_last = said(&folder, words),
            || assert_eq!(searched(&folder, "no such word"), 0),
        );
        assert!(said_last.contains(answer), "{said_last}");
        println!("{name:<60} {} lines of answer", said_last.lines().count());
    }
}

/// Runs a command in this process and returns what it says.
fn said(folder: &Path, words: &[&str]) -> String {
    let outside = Outside {
        disk: Arc::new(RealDisk),
        here: folder.to_owned(),
        memory: None,
        cache: None,
        passing: folder.to_owned(),
        depth: Depth::Plain,
        bench: "bench".to_owned(),
    };
    let all = ["knuckle"].iter().chain(words).map(OsString::from);
    let (mut out, mut notes) = (Vec::new(), Vec::new());
    run(all, &outside, (&mut out, &mut notes)).unwrap();
    String::from_utf8(out).unwrap()
}

/// Returns in how many journals of a shop a word stands, reading every one of them.
pub(crate) fn searched(folder: &Path, word: &str) -> usize {
    let finder = Finder::new(word);
    let mut bytes = Vec::new();
    let figures = fs::read_dir(folder.join("figures")).unwrap();
    let found = figures.filter(|figure| {
        let journal = figure.as_ref().unwrap().path().join("journal.jsonl");
        bytes.clear();
        let mut file = File::open(journal).unwrap();
        file.read_to_end(&mut bytes).unwrap();
        finder.find(&bytes).is_some()
    });
    found.count()
}
