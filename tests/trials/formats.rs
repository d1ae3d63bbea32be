//! What was once written is read for ever: a row for every deed in `tests/frozen/deeds.jsonl`, a
//! whole shop in `tests/frozen/shop`, and what newer versions may add.
//!
//! The frozen files are never written anew. A new deed or field gets a new row.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use knuckle::deed::{Deed, Line};
use knuckle::disk::RealDisk;
use knuckle::journal::verify;
use knuckle::shop::{Keeper, book_path, load};
use knuckle::standing::{Book, JobState};
use serde_json::{Map, Value as Json};

use crate::texts;

type Fields = Map<String, Json>;

fn rows() -> Vec<(String, Fields)> {
    let text = texts::read("tests/frozen/deeds.jsonl");
    let row = |line: &str| (line.to_owned(), serde_json::from_str(line).unwrap());
    text.lines().map(row).collect()
}

/// A deed as a line of a journal.
fn as_line(fields: &str) -> String {
    let inner = fields.strip_prefix('{').unwrap().strip_suffix('}').unwrap();
    format!(
        r#"{{"n":7,"at":"2026-11-25T14:20:00.000+00:00","by":"odile","bench":"long bench",{inner},"seal":"8c"}}"#
    )
}

/// The tags of all deeds, read from the code that names them.
fn tags() -> BTreeSet<String> {
    let code = texts::read("src/deed/mod.rs");
    let (_, rest) = code.split_once("pub enum Deed {").unwrap();
    let (body, _) = rest.split_once("\n}").unwrap();
    let variants = body.lines().filter_map(|line| {
        let (name, _) = line.trim().split_once('(')?;
        name.chars().all(char::is_alphanumeric).then_some(name)
    });
    variants
        .filter(|name| *name != "Unknown")
        .map(|name| {
            let mut tag = String::new();
            for letter in name.chars() {
                if letter.is_uppercase() && !tag.is_empty() {
                    tag.push('_');
                }
                tag.extend(letter.to_lowercase());
            }
            tag
        })
        .collect()
}

#[test]
fn every_deed_has_its_row() {
    let tagged = rows().into_iter();
    let in_rows: BTreeSet<String> = tagged
        .map(|(_, fields)| fields["deed"].as_str().unwrap().to_owned())
        .collect();
    assert!(30 < in_rows.len());
    assert_eq!(in_rows, tags(), "rows of tests/frozen/deeds.jsonl");
}

#[test]
fn every_line_that_was_ever_written_is_read_and_says_the_same_again() {
    for (text, fields) in rows() {
        let deed = Deed::read(fields.clone());
        assert!(!matches!(deed, Deed::Unknown(_)), "no longer read: {text}");
        assert_eq!(serde_json::to_string(&deed.fields()).unwrap(), text);
        let line = Line::read(&as_line(&text)).unwrap();
        assert_eq!((&line.deed, line.strange.len()), (&deed, 0), "{text}");
    }
}

#[test]
fn a_field_of_a_newer_version_is_named_and_hinders_nothing() {
    for (text, fields) in rows() {
        let newer = format!(r#"{},"held_by":"tongs"}}"#, text.strip_suffix('}').unwrap());
        let line = Line::read(&as_line(&newer)).unwrap();
        assert_eq!(line.strange, ["held_by"], "{text}");
        assert_eq!(line.deed, Deed::read(fields), "{text}");
    }
}

#[test]
fn a_deed_of_a_newer_version_is_carried_along_with_all_its_fields() {
    for (_, mut fields) in rows() {
        fields.insert("deed".to_owned(), "carved_anew".into());
        let text = serde_json::to_string(&fields).unwrap();
        let line = Line::read(&as_line(&text)).unwrap();
        assert!(matches!(line.deed, Deed::Unknown(_)), "{text}");
        assert_eq!(serde_json::to_string(&line.deed.fields()).unwrap(), text);
    }
}

fn frozen() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/frozen/shop")
}

/// The shop as version 0.1.0 wrote it: its cards are read, its seals fit, and it stands where it
/// stood.
#[test]
fn the_shop_of_the_first_version_opens_and_stands_where_it_stood() {
    let (cards, flaws) = load(&RealDisk, &frozen()).unwrap();
    assert_eq!(flaws, []);
    let figures: Vec<String> = cards.figures.keys().cloned().collect();
    let books = figures.iter().cloned().map(Book::Figure);
    for book in books.chain([Book::Shop]) {
        let path = book_path(&frozen(), &book);
        assert_eq!(verify(&RealDisk, &path).unwrap(), [], "{book:?}");
    }
    let keeper = Keeper::open(Arc::new(RealDisk), frozen(), cards).unwrap();
    assert!(keeper.unreadable().is_empty());
    let mut found = format!("shop: {} lines\n", keeper.house().standing.shop.last_n);
    for figure in &figures {
        writeln!(found, "{}", stands(&keeper, figure)).unwrap();
    }
    assert_eq!(found, texts::read("tests/frozen/stands.txt"));
}

/// What a figure's journal adds up to, in counts.
fn stands(keeper: &Keeper, figure: &str) -> String {
    let it = keeper.house().figure(figure).unwrap();
    let open = it.jobs.iter().filter(|job| job.state == JobState::Open);
    let acts: usize = it.jobs.iter().map(|job| job.acts.len()).sum();
    let ended = it.clocks.iter().filter(|clock| clock.ended.is_some());
    format!(
        "{figure}: {} lines, {} jobs ({} open, {acts} steps), {} clocks ({} ended), \
         {} readings, {} coats, {} matters ({} unanswered), {} photographs, {} layers, \
         {} ties, {} chips, {} struck, {} unknown",
        it.last_n,
        it.jobs.len(),
        open.count(),
        it.clocks.len(),
        ended.count(),
        it.readings.len(),
        it.coats.len(),
        it.matters.len(),
        it.unanswered().count(),
        it.photos.len(),
        it.layers.len(),
        it.ties.len(),
        it.chips.len(),
        it.struck.len(),
        it.unknown.len(),
    )
}
