//! What is gone from a shop is missed: lines from the end of a book, a whole book, a folder of
//! cards. Nobody can stop a file from being cut; but then nothing is told as if it were sound.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use knuckle::deed::{Deed, Jotted};
use knuckle::disk::{Disk, RealDisk, replace};
use knuckle::journal::{Draft, Journal, read_all};
use serde_json::Value;

use crate::kit::moment;
use crate::kit::sealed::Sealed;

const HARE: &str = "figures/hare/journal.jsonl";

const MORNING: [&str; 2] = ["--clock", "2026-11-25T08:00:00Z"];

/// Puts a file there whole.
fn lay(path: &Path, bytes: &[u8]) {
    replace(&RealDisk, path, bytes).unwrap();
}

/// The last count that the shop has noted of the book of the hare, and in which line.
fn noted(sealed: &Sealed) -> (u64, u64) {
    let text = fs::read_to_string(sealed.shop().join("journal.jsonl")).unwrap();
    let lines = text
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap());
    let noted =
        lines.filter_map(|line| Some((line["books"]["hare"].as_u64()?, line["n"].as_u64()?)));
    let most = noted.clone().map(|(lines, _)| lines).max().unwrap();
    noted.into_iter().find(|(lines, _)| *lines == most).unwrap()
}

/// Leaves the first lines of a journal alone.
fn cut(sealed: &Sealed, left: u64) {
    let path = sealed.shop().join(HARE);
    let text = fs::read_to_string(&path).unwrap();
    let left: Vec<&str> = text.lines().take(usize::try_from(left).unwrap()).collect();
    lay(&path, format!("{}\n", left.join("\n")).as_bytes());
}

fn run(sealed: &Sealed, words: &[&str]) -> (i32, String, String) {
    let told = sealed.run(&[words, &MORNING].concat());
    (told.code, told.out, told.err)
}

#[test]
fn a_sound_shop_misses_nothing() {
    let sealed = Sealed::whole();
    let (code, out, err) = run(&sealed, &["audit"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(
        out.ends_with("nothing wrong\n") && !out.contains("note:"),
        "{out}"
    );
    assert!(
        0 < noted(&sealed).0,
        "its days note how long its books were"
    );
}

#[test]
fn lines_cut_from_the_end_of_a_book_are_missed_on_every_page() {
    let sealed = Sealed::whole();
    let (lines, n) = noted(&sealed);
    cut(&sealed, lines - 3);
    let (code, out, _) = run(&sealed, &["audit"]);
    let short = format!(
        "{HARE}: it ends at n={}, and had {lines} lines on ",
        lines - 3
    );
    assert!(code == 1 && out.contains(&short), "{out}");
    assert!(
        out.contains(&format!("(shop:{n}): what came after is gone")),
        "{out}"
    );
    for words in [&["standing"][..], &["clocks"], &["standing", "hare"]] {
        let (_, _, err) = run(&sealed, words);
        let words = format!(
            "hare: its book has {} lines, and had {lines} on ",
            lines - 3
        );
        assert!(err.starts_with(&words), "{err}");
    }
    // A photograph of which a line is gone is no photograph of nobody.
    assert!(out.contains("no line names this file"), "{out}");
}

#[test]
fn lines_written_in_the_place_of_lost_ones_are_told_from_them() {
    let sealed = Sealed::whole();
    let (lines, _) = noted(&sealed);
    cut(&sealed, lines - 2);
    for _ in 0..3 {
        let words = ["jot", "hare", "after the loss", "--as", "odile"];
        let clock = ["--clock", "2026-11-27T08:00:00Z"];
        assert_eq!(sealed.run(&[&words[..], &clock].concat()).code, 0);
    }
    let (code, out, _) = run(&sealed, &["audit"]);
    let anew = format!("n={lines} is not the line that was there on ");
    assert!(code == 1 && out.contains(&anew), "{out}");
    assert!(out.contains("others written in their place"), "{out}");
    let (_, _, err) = run(&sealed, &["standing"]);
    let told = format!("hare: line {lines} of its book is not the one that stood there on ");
    assert!(err.contains(&told), "{err}");
}

/// What was noted of a book is noted with its seal: the book of another figure is not taken for it.
#[test]
fn the_book_of_another_figure_is_seen() {
    let sealed = Sealed::whole();
    let book = |figure: &str| {
        sealed
            .shop()
            .join(format!("figures/{figure}/journal.jsonl"))
    };
    fs::copy(book("lantern-woman"), book("lion-boss")).unwrap();
    let (code, out, _) = run(&sealed, &["audit"]);
    assert!(
        code == 1 && out.contains("figures/lion-boss/journal.jsonl: n="),
        "{out}"
    );
    for words in [&["standing"][..], &["standing", "lion-boss"], &["sign"]] {
        let (_, _, err) = run(&sealed, words);
        assert!(
            err.contains("lion-boss: line ") && err.contains("or it is another book"),
            "{err}"
        );
    }
}

/// Each beginning of a walk notes how far the shop's own book goes.
#[test]
fn lines_gone_from_the_end_of_the_shops_own_book_are_missed() {
    let sealed = Sealed::whole();
    let own = sealed.shop().join("journal.jsonl");
    let text = fs::read_to_string(&own).unwrap();
    let short = |many: usize| text.split_inclusive('\n').take(many).collect::<String>();
    let lines = text.lines().count();
    replace(&RealDisk, &own, short(lines - 110).as_bytes()).unwrap();
    let (code, out, _) = run(&sealed, &["audit"]);
    let ends = format!("journal.jsonl: it ends at n={}, and had ", lines - 110);
    assert!(code == 1 && out.contains(&ends), "{out}");
    let (_, _, err) = run(&sealed, &["standing"]);
    assert!(err.contains("shop: its book has "), "{err}");
    // Gone altogether, and begun anew by the next act, it is missed all the same.
    fs::remove_file(&own).unwrap();
    for _ in 0..2 {
        let (code, out, _) = run(&sealed, &["audit"]);
        assert!(code == 1 && out.contains("journal.jsonl: it "), "{out}");
        let (_, _, err) = run(&sealed, &["clocks"]);
        assert!(err.contains("shop: its book has "), "{err}");
        let words = ["jot", "shop", "where is the book?", "--as", "odile"];
        let told = run(&sealed, &words);
        assert!(told.2.contains("shop: its book has "), "{}", told.2);
    }
}

/// The report of a figure of which lines are gone says so in front, and so does whoever reckons
/// with it.
#[test]
fn a_report_of_a_lost_book_does_not_say_that_nothing_was_done() {
    let sealed = Sealed::whole();
    let (lines, _) = noted(&sealed);
    let said = format!("and had {lines} on ");
    for left in [lines - 1, 0] {
        if left == 0 {
            fs::remove_file(sealed.shop().join(HARE)).unwrap();
        } else {
            cut(&sealed, left);
        }
        let (_, out, err) = run(&sealed, &["report", "hare"]);
        let plain = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            plain.contains("The journal behind this report is not whole: its book has ")
                && plain.contains(&said),
            "{out}"
        );
        let page = ["day", "--page", "--out", "day.txt", "--replace"];
        run(&sealed, &page);
        let printed = fs::read_to_string(sealed.shop().join("day.txt")).unwrap();
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            printed.contains("The book of hare is not whole: its book has ")
                && printed.contains(&said),
            "{printed}"
        );
        for words in [&["hours", "hare"][..], &["stock"], &["sign"]] {
            let (_, _, said_beside) = run(&sealed, words);
            assert!(said_beside.contains(&said), "{words:?}: {said_beside}");
        }
        assert!(err.contains(&said), "{err}");
    }
}

#[test]
fn a_book_that_is_gone_is_missed() {
    let sealed = Sealed::whole();
    let (lines, _) = noted(&sealed);
    fs::remove_file(sealed.shop().join(HARE)).unwrap();
    let (code, out, _) = run(&sealed, &["audit"]);
    let gone = format!("{HARE}: it is not there, and had {lines} lines on ");
    assert!(code == 1 && out.contains(&gone), "{out}");
    let (_, _, err) = run(&sealed, &["standing"]);
    assert!(
        err.starts_with("hare: its book has 0 lines, and had "),
        "{err}"
    );
    // A figure that was taken out with its folder may be elsewhere with good reason.
    fs::remove_dir_all(sealed.shop().join("figures/hare")).unwrap();
    let (code, out, _) = run(&sealed, &["audit"]);
    assert!(
        code == 1 && out.contains("if it was not taken out of the shop"),
        "{out}"
    );
    let (_, _, err) = run(&sealed, &["standing"]);
    assert!(err.contains("hare: its book is gone, and had "), "{err}");
    RealDisk
        .rename(
            &sealed.shop().join("figures"),
            &sealed.shop().join("elsewhere"),
        )
        .unwrap();
    let (_, out, _) = run(&sealed, &["standing"]);
    assert!(out.contains("look for the folder `figures`"), "{out}");
    fs::remove_file(sealed.shop().join("journal.jsonl")).unwrap();
    RealDisk
        .rename(
            &sealed.shop().join("elsewhere"),
            &sealed.shop().join("figures"),
        )
        .unwrap();
    let (code, out, _) = run(&sealed, &["audit"]);
    assert!(
        code == 1 && out.starts_with("journal.jsonl: it is not there, and had "),
        "{out}"
    );
}

#[test]
fn a_book_that_cannot_be_read_is_no_untouched_figure() {
    let sealed = Sealed::whole();
    let path = sealed.shop().join(HARE);
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    let (_, out, _) = run(&sealed, &["standing"]);
    let row = out.lines().find(|row| row.starts_with("hare")).unwrap();
    assert!(
        row.contains("? of 24  not known: its book cannot be read"),
        "{row}"
    );
    let (_, out, _) = run(&sealed, &["standing", "hare"]);
    assert!(!out.contains("next "), "{out}");
    // The others are looked through without it.
    let (code, out, err) = run(&sealed, &["audit"]);
    assert!(code == 1 && out.contains(HARE), "{out} {err}");
    assert!(
        out.contains("journals, ") && out.contains("lines: 1 wrong"),
        "{out}"
    );
}

/// An editor that saves every line with another end floods nobody.
#[test]
fn the_same_fault_of_many_lines_is_told_once() {
    let sealed = Sealed::whole();
    let path = sealed.shop().join(HARE);
    let text = fs::read_to_string(&path).unwrap();
    let lines = text.lines().count();
    lay(&path, text.replace('\n', "\r\n").as_bytes());
    let (code, out, _) = run(&sealed, &["audit"]);
    assert_eq!(code, 1);
    assert!(out.contains(&format!("{HARE}:1 to {lines}: ")), "{out}");
    assert!(out.lines().count() < 12, "{out}");
}

#[test]
fn a_torn_end_is_told_until_it_is_set_aside() {
    let sealed = Sealed::whole();
    let path = sealed.shop().join(HARE);
    // A line that no day has noted yet.
    assert_eq!(
        run(&sealed, &["jot", "hare", "a note", "--as", "odile"]).0,
        0
    );
    let bytes = fs::read(&path).unwrap();
    lay(&path, &bytes[..bytes.len() - 20]);
    let torn = "hare: the end of its book is torn: ";
    for _ in 0..2 {
        let (code, _, err) = run(&sealed, &["standing"]);
        assert!(code == 0 && err.starts_with(torn), "{err}");
    }
    let told = run(&sealed, &["jot", "hare", "looked at", "--as", "odile"]);
    assert!(told.0 == 0 && told.2.contains("was set aside"), "{told:?}");
    let (_, _, err) = run(&sealed, &["standing"]);
    assert!(!err.contains(torn), "{err}");
}

#[test]
fn a_sign_that_is_no_text_takes_away_its_own_field_only() {
    let sealed = Sealed::whole();
    let card = sealed.shop().join("shop.yaml");
    let text = fs::read(&card).unwrap();
    let at = text.windows(9).position(|it| it == b"address: ").unwrap() + 9;
    let mut bytes = text.clone();
    bytes[at] = 0xe9;
    lay(&card, &bytes);
    let (code, out, _) = run(&sealed, &["check"]);
    assert!(
        code == 1 && out.contains(": a sign here is not UTF-8 text; save the file as UTF-8"),
        "{out}"
    );
    // People, rooms and the practice clock stand on the same card.
    let (code, out, err) = run(&sealed, &["jot", "hare", "kept", "--as", "odile"]);
    assert_eq!(code, 0, "{out} {err}");
    let figure = sealed.shop().join("figures/hare/figure.yaml");
    let text = fs::read_to_string(&figure).unwrap();
    lay(&figure, text.replace("\n  - ", "\n\t- ").as_bytes());
    let (_, out, _) = run(&sealed, &["standing"]);
    let row = out.lines().find(|row| row.starts_with("hare")).unwrap();
    assert!(row.contains(" of 24 "), "{row}");
}

#[test]
fn a_file_in_the_place_of_a_folder_of_cards_stops_no_clock() {
    let sealed = Sealed::whole();
    let sound = run(&sealed, &["clocks"]).1;
    assert!(!sealed.shop().join("checklists").exists());
    lay(&sealed.shop().join("checklists"), b"x");
    let (code, out, err) = run(&sealed, &["clocks"]);
    assert_eq!((code, &out), (0, &sound), "{err}");
    let (_, out, _) = run(&sealed, &["check"]);
    assert!(
        out.contains("checklists:1:1: this is a file, and a folder of cards is meant"),
        "{out}"
    );
}

/// What was kept and is gone is said, and the first cause stays to be read.
#[test]
fn a_writer_whose_lines_are_gone_says_which() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let draft = |text: &str| Draft {
        at: moment("2026-11-25T08:00:00Z"),
        by: "odile".to_owned(),
        bench: "bench 1".to_owned(),
        body: Deed::Jotted(Jotted {
            text: text.to_owned(),
        })
        .fields(),
        entered_later: None,
    };
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), &path).unwrap();
    for text in ["one", "two", "three", "four"] {
        journal.append(&[draft(text)]).unwrap();
    }
    let text = fs::read_to_string(&path).unwrap();
    let two: Vec<&str> = text.lines().take(2).collect();
    lay(&path, format!("{}\n", two.join("\n")).as_bytes());
    let gone = "lines 3 to 4, which were kept, are gone from the journal";
    let first = journal.append(&[draft("five")]).unwrap_err().to_string();
    assert!(first.contains(gone), "{first}");
    let second = journal.append(&[draft("five")]).unwrap_err().to_string();
    assert!(
        second.contains("writing stopped before") && second.contains(gone),
        "{second}"
    );
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), &path).unwrap();
    fs::remove_file(&path).unwrap();
    let first = journal.append(&[draft("five")]).unwrap_err().to_string();
    assert!(first.contains("the journal is gone"), "{first}");
    assert!(
        read_all(&RealDisk, &path).unwrap().lines.is_empty(),
        "nothing was begun anew"
    );
}
