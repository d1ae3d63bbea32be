//! The photographs of a figure on its report: before, during and after the work, each with
//! what it shows, and those that were asked for and are not there.

use chrono::{DateTime, FixedOffset};

use super::record::{Record, Stretch};
use super::sheet::{Block, Fact, Picture, Shot};
use crate::standing::{PhotoMissing, PhotoSeen, photos};

/// Returns the pictures in three groups.
pub(super) fn pictures(record: &Record<'_>) -> Vec<Block> {
    let seen = photos(record.ask.house, &record.ask.figure.id);
    let begun = |stretch| {
        let walks = record.walks(stretch);
        walks
            .first()
            .and_then(|(_, lines)| lines.first().map(|line| line.at))
    };
    let (work, after) = (begun(Stretch::Treatment), begun(Stretch::After));
    let group = |at: DateTime<FixedOffset>| {
        if after.is_some_and(|after| after <= at) {
            2
        } else {
            usize::from(work.is_some_and(|work| work <= at))
        }
    };
    let mut blocks = Vec::new();
    for (name, number) in [
        ("before the work", 0),
        ("during the work", 1),
        ("after the work", 2),
    ] {
        let here: Vec<&PhotoSeen> = seen
            .all
            .iter()
            .filter(|one| group(one.at) == number)
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
                .map(|one| Block::Picture(picture(record, one))),
        );
    }
    let missing = missing(record, &seen.missing);
    if !missing.is_empty() {
        blocks.push(Block::Head(
            "Pictures asked for and not recorded".to_owned(),
        ));
        blocks.push(Block::List(missing));
    }
    blocks
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

fn picture(record: &Record<'_>, one: &PhotoSeen) -> Picture {
    let place = where_it_is(record, one.target.as_deref());
    let who = record.voice.who(&one.by);
    let mut caption = format!(
        "{place}, {}; {}, {who}, line {}",
        one.station,
        record.when(one.at),
        one.line
    );
    if let Some(kept) = &one.filed {
        caption = format!("{caption}; file {}, SHA-256 {}", kept.file, kept.sha256);
    }
    let shot = record.ask.pictures.get(&one.line).cloned();
    Picture {
        caption,
        shot: shot.unwrap_or_else(|| {
            Shot::Absent("said to be taken; the file is not recorded".to_owned())
        }),
    }
}
