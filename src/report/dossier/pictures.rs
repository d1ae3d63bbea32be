//! The photographs of a figure on its report: before, during and after the work, each with
//! what it shows, and those that were asked for and are not there.

use chrono::{DateTime, FixedOffset};

use super::record::{Record, Stretch};
use super::sheet::{Block, Fact, MISSING_PICTURES, Picture, Shot};
use crate::report::late_words;
use crate::report::tell::work_of;
use crate::standing::{PhotoMissing, PhotoSeen, photos, taken_at};

/// Returns the pictures in three groups.
pub(super) fn pictures(record: &Record<'_>) -> Vec<Block> {
    let seen = photos(record.ask.house, &record.ask.figure.id);
    let mut blocks = Vec::new();
    for (name, wanted) in [
        ("before the work", Group::Before),
        ("during the work", Group::During),
        ("after the work", Group::After),
    ] {
        let here: Vec<&PhotoSeen> = seen
            .all
            .iter()
            .filter(|one| group(record, one) == wanted)
            .collect();
        if here.is_empty() {
            blocks.push(Block::Facts(vec![Fact::new(
                format!("pictures {name}"),
                None,
            )]));
            continue;
        }
        blocks.push(Block::Head(format!("Pictures {name}")));
        blocks.extend(
            here.into_iter()
                .map(|one| Block::Picture(picture(record, one, &seen.all))),
        );
    }
    let missing = missing(record, &seen.missing);
    if !missing.is_empty() {
        blocks.push(Block::Head(MISSING_PICTURES.to_owned()));
        blocks.push(Block::List(missing));
    }
    blocks
}

/// What part of the work a picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    Before,
    During,
    After,
}

/// By its camera's clock where it has one, else by when it was taken in, against the work on
/// the very part that it shows.
fn group(record: &Record<'_>, one: &PhotoSeen) -> Group {
    let local = |at: DateTime<FixedOffset>| record.ask.zone.show(at.to_utc()).naive_local();
    let taken = one.filed.as_ref().and_then(taken_at);
    let taken = taken.unwrap_or_else(|| local(one.at));
    let has_begun =
        |began: Option<DateTime<FixedOffset>>| began.is_some_and(|began| local(began) <= taken);
    let target = one.target.as_deref();
    let work = record.lines().find_map(|line| {
        let work = work_of(&line.deed)?;
        let is_here = target.is_none() || work.target.as_deref() == target;
        (is_here && record.stretch(&work.operation) == Stretch::Treatment).then_some(line.at)
    });
    let after = record.lines().find_map(|line| {
        let work = work_of(&line.deed)?;
        (record.stretch(&work.operation) == Stretch::After).then_some(line.at)
    });
    if has_begun(after) {
        Group::After
    } else if has_begun(work) {
        Group::During
    } else {
        Group::Before
    }
}

/// What no hand even said to be taken, place by place.
fn missing(record: &Record<'_>, all: &[PhotoMissing]) -> Vec<String> {
    let mut places: Vec<(String, Vec<&str>)> = Vec::new();
    for one in all.iter().filter(|one| !one.said) {
        let place = where_it_is(record, one.target.as_deref());
        match places.iter_mut().find(|(known, _)| *known == place) {
            Some((_, stations)) => stations.push(&one.station),
            None => places.push((place, vec![&one.station])),
        }
    }
    let line = |(place, stations): (String, Vec<&str>)| format!("{place}: {}", stations.join(", "));
    places.into_iter().map(line).collect()
}

fn where_it_is(record: &Record<'_>, target: Option<&str>) -> String {
    target.map_or_else(|| "whole figure".to_owned(), |at| record.place(at))
}

fn picture(record: &Record<'_>, one: &PhotoSeen, all: &[PhotoSeen]) -> Picture {
    let place = where_it_is(record, one.target.as_deref());
    let who = record.voice.who(&one.by);
    let (when, line) = (record.when(one.at), one.line);
    let Some(kept) = &one.filed else {
        return Picture {
            caption: format!(
                "{place}, {}; said at the bench to be taken {when}, {who}, line {line}",
                one.station
            ),
            shot: Shot::Absent(no_file(one, all)),
        };
    };
    let taken = kept.taken.as_deref();
    let taken = taken.map_or_else(
        || "when it was taken is not recorded".to_owned(),
        |taken| format!("taken {taken} by its camera's clock"),
    );
    let mut caption = format!(
        "{place}, {}; {taken}; taken in {when}, {who}, line {line}",
        one.station
    );
    if let Some(late) = one.late {
        caption = format!(
            "{caption}; TAKEN IN AFTER WORK BEGAN HERE ({}): {}",
            record.when(late.began),
            late_words(late)
        );
    }
    let shot = record.ask.pictures.get(&one.line).cloned();
    Picture {
        caption: format!("{caption}; file {}, SHA-256 {}", kept.file, kept.sha256),
        shot: shot.unwrap_or_else(|| Shot::Absent("its file was not opened".to_owned())),
    }
}

/// Where the file of a picture is that a hand only said to be taken.
fn no_file(one: &PhotoSeen, all: &[PhotoSeen]) -> String {
    let same = all.iter().find(|other| {
        let is_same = other.target == one.target && other.station == one.station;
        is_same && other.filed.is_some()
    });
    match same {
        Some(filed) => format!("a file of this view was taken in, line {}", filed.line),
        None => "no file was taken in".to_owned(),
    }
}
