//! The photographs of a figure on its report: one list of what was asked for, said and taken
//! in, and the pictures, those of before and now side by side.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::record::{Record, Stretch};
use super::reduced::LONGEST;
use super::sheet::{Block, Cell, Fact, MISSING_PICTURES, NO_FILE, Picture, Shot, Table, WHOLE};
use crate::reckon::counted;
use crate::report::late_words;
use crate::report::tell::work_of;
use crate::standing::{PhotoMissing, PhotoRow, PhotoSeen, Photos, photos};

/// Returns the list of all photographs, what is missing first; then the pictures: of each part
/// its first and its last side by side, and the others in three groups.
pub(super) fn pictures(record: &Record<'_>) -> Vec<Block> {
    let seen = photos(record.ask.house, &record.ask.figure.id);
    let mut blocks = missing(record, &seen.missing);
    let are_reduced = |shot: &Shot| matches!(shot, Shot::Reduced(_));
    if record.ask.pictures.values().any(are_reduced) {
        blocks.push(Block::Words(format!(
            "Large photographs are shown in this report as smaller copies, at most {LONGEST} pixels \
             long. The full ones are untouched, in the figure's folder at the shop and in the \
             folder for thirty years: each under the name and SHA-256 that its caption gives."
        )));
    }
    blocks.push(Block::Table(list(record, &seen)));
    blocks.push(Block::Words(DAYS.to_owned()));
    let pairs = pairs(record, &seen);
    let paired: Vec<u64> = pairs.iter().flatten().map(|one| one.line).collect();
    if !pairs.is_empty() {
        blocks.push(Block::Head(PAIRS.to_owned()));
        let pairs = pairs.into_iter();
        blocks.extend(pairs.map(|pair| Block::Pair(pair.map(|one| picture(record, &seen, one)))));
    }
    let said = seen.said_by_file();
    let filed = seen.all.iter().filter(|one| one.filed.is_some());
    let filed: Vec<(&PhotoSeen, Group)> =
        filed.map(|one| (one, group(record, &said, one))).collect();
    for (name, wanted) in [
        ("before the work", Group::Before),
        ("during the work", Group::During),
        ("after the work, once all is finished", Group::After),
    ] {
        let here = filed.iter().filter(|(_, group)| *group == wanted);
        let here: Vec<&PhotoSeen> = here.map(|(one, _)| *one).collect();
        let alone = here.iter().filter(|one| !paired.contains(&one.line));
        let alone: Vec<&PhotoSeen> = alone.copied().collect();
        if alone.is_empty() {
            let above = counted(here.len(), "picture");
            let known = (!here.is_empty()).then(|| format!("{above}, side by side above"));
            blocks.push(Block::Facts(vec![Fact::new(
                format!("pictures {name}"),
                known,
            )]));
            continue;
        }
        blocks.push(Block::Head(format!("Pictures {name}")));
        let alone = alone.into_iter();
        blocks.extend(alone.map(|one| Block::Picture(picture(record, &seen, one))));
    }
    blocks
}

/// Whose day stands in the list of photographs.
const DAYS: &str = "Of each photograph stands the day of its camera's clock; where that is not \
    known, the day on which a hand said that it was taken; else the day on which it was taken in.";

/// The heading over the pairs of pictures.
const PAIRS: &str = "Before and now, side by side: the first and the last picture of each part";

/// The first and the last straight picture of each part, where both can be shown.
fn pairs<'a>(record: &Record<'_>, seen: &'a Photos) -> Vec<[&'a PhotoSeen; 2]> {
    let mut targets: Vec<Option<&str>> = Vec::new();
    for one in &seen.all {
        if !targets.contains(&one.target.as_deref()) {
            targets.push(one.target.as_deref());
        }
    }
    let is_here = |one: &&PhotoSeen| {
        let shot = record.ask.pictures.get(&one.line);
        shot.is_some_and(|shot| shot.bytes().is_ok())
    };
    let pairs = targets.into_iter().filter_map(|target| {
        let (first, last) = seen.before_and_after(target);
        Some([first.filter(is_here)?, last.filter(is_here)?])
    });
    pairs.collect()
}

/// Every photograph that was taken, said or filed, a row for each.
fn list(record: &Record<'_>, seen: &Photos) -> Table {
    let there = seen.list().into_iter().filter(|one| one.missing.is_none());
    let rows = there.map(|one| {
        let camera = one.filed.and_then(PhotoSeen::taken);
        let camera = camera.map(|taken| format!("{}, camera", taken.format("%Y-%m-%d")));
        let said = one.said.map(|said| (said, "said"));
        let told = said.or(one.filed.map(|filed| (filed, "taken in")));
        let day = |(one, by): (&PhotoSeen, _)| format!("{}, {by}", record.date(one.at));
        let when = camera.or_else(|| told.map(day));
        let file = one.file().map_or_else(
            || NO_FILE.to_owned(),
            |kept| {
                let name = kept.file.strip_prefix("photos/").unwrap_or(&kept.file);
                let sum: String = kept.sha256.chars().take(SUM_SHOWN).collect();
                format!("{name} {sum}…")
            },
        );
        vec![
            Cell::of(in_short(record, one.target)),
            Cell::of(one.station),
            Cell::of(when.unwrap_or_default()),
            Cell::of(file),
        ]
    });
    Table {
        caption: "Photographs said to be taken or taken in, each with its file in photos/ and the \
                  first digits of its SHA-256"
            .to_owned(),
        heads: vec!["what", "view", WHOLE, "file"],
        rows: rows.collect(),
    }
}

/// Digits of a sum that the list shows, enough to find its file by (chosen here).
const SUM_SHOWN: usize = 12;

/// What part of the work a picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    Before,
    During,
    After,
}

/// By its camera's clock where it has one, else by when a hand said that it was taken, else by
/// when it was taken in; against the work on the very part that it shows.
fn group(
    record: &Record<'_>,
    said: &BTreeMap<u64, DateTime<FixedOffset>>,
    one: &PhotoSeen,
) -> Group {
    let local = |at: DateTime<FixedOffset>| record.ask.zone.show(at.to_utc()).naive_local();
    let taken = one
        .taken()
        .unwrap_or_else(|| local(*said.get(&one.line).unwrap_or(&one.at)));
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

/// What no hand even said to be taken, place by place; what bars work before all else.
fn missing(record: &Record<'_>, all: &[PhotoMissing]) -> Vec<Block> {
    let mut blocks = Vec::new();
    let missing = || all.iter().filter(|one| !one.said);
    let barring = missing().filter(|one| one.before_work).count();
    if 0 < barring {
        let words = counted(barring, "photograph");
        blocks.push(Block::Notice(format!(
            "missing of the record before work: {words}; nothing that cannot be undone may begin \
             on a part before it is taken there"
        )));
    }
    let mut places: Vec<(String, Vec<&str>)> = Vec::new();
    for one in missing() {
        let place = where_it_is(record, one.target.as_deref());
        match places.iter_mut().find(|(known, _)| *known == place) {
            Some((_, stations)) => stations.push(&one.station),
            None => places.push((place, vec![&one.station])),
        }
    }
    let line = |(place, stations): (String, Vec<&str>)| format!("{place}: {}", stations.join(", "));
    let lines: Vec<String> = places.into_iter().map(line).collect();
    if !lines.is_empty() {
        blocks.push(Block::Head(MISSING_PICTURES.to_owned()));
        blocks.push(Block::List(lines));
    }
    blocks
}

/// As [`where_it_is`], a joint by its number alone.
fn in_short(record: &Record<'_>, target: Option<&str>) -> String {
    let joints = &record.ask.figure.joints;
    match joints
        .iter()
        .find(|joint| Some(joint.id.as_str()) == target)
    {
        Some(joint) => format!("joint {}", joint.id),
        None => where_it_is(record, target),
    }
}

fn where_it_is(record: &Record<'_>, target: Option<&str>) -> String {
    target.map_or_else(|| "whole figure".to_owned(), |at| record.place(at))
}

/// When a picture was taken, and who says so. What its camera cannot have meant is told as such.
fn taken_words(record: &Record<'_>, seen: &Photos, one: &PhotoSeen) -> String {
    let camera = one.filed.as_ref().and_then(|kept| kept.taken.as_deref());
    let is_it = |row: &PhotoRow<'_>| row.filed.is_some_and(|filed| filed.line == one.line);
    let row = seen.list().into_iter().find(is_it);
    let said = row.and_then(|row| row.said).map_or_else(
        || "when it was taken is not recorded".to_owned(),
        |said| {
            let (when, who) = (record.when(said.at), record.voice.who(&said.by));
            format!("said to be taken {when}, {who}, line {}", said.line)
        },
    );
    match camera {
        None => said,
        Some(day) if one.taken().is_some() => format!("taken {day} by its camera's clock"),
        Some(day) => format!("its camera's clock cannot be believed, for it says {day}; {said}"),
    }
}

fn picture(record: &Record<'_>, seen: &Photos, one: &PhotoSeen) -> Picture {
    let place = where_it_is(record, one.target.as_deref());
    let who = record.voice.who(&one.by);
    let (when, line) = (record.when(one.at), one.line);
    let kept = one.filed.as_ref();
    let taken = taken_words(record, seen, one);
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
    if let Some(kept) = kept {
        caption = format!("{caption}; file {}, SHA-256 {}", kept.file, kept.sha256);
    }
    let shot = record.ask.pictures.get(&one.line).cloned();
    if let Some(Shot::Reduced(_)) = shot {
        caption.push_str("; shown here as a smaller copy");
    }
    Picture {
        caption,
        shot: shot.unwrap_or_else(|| Shot::Absent("its file was not opened".to_owned())),
    }
}
