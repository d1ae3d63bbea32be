//! The leaf of photographs: before and after side by side, what there is and what is missing.

use chrono::{DateTime, FixedOffset};
use ratatui::layout::Rect;

use crate::deed::PhotoKept;
use crate::reckon::counted;
use crate::standing::{PhotoRow, PhotoSeen};

use super::super::column::Column;
use super::super::hand::list_skip;
use super::super::ink::Ink;
use super::super::look::Tone;
use super::super::pane::Pane;
use super::super::times;
use super::super::view::Over;
use super::pixels;
use super::roll::Roll;
use super::seen::{Dossier, Shown};

/// Draws the leaf.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let part = pane.view.dossier.part;
    let mut roll = Roll::new(area.width);
    all(&mut roll, pane, dossier);
    let list = (roll.len() + 1).min(area.height / 2).max(3);
    let head = Rect { height: 1, ..area };
    ink.put(
        (head.x, head.y),
        &dossier.part_name(part),
        Tone::Gilt,
        head.width,
    );
    let pictures = Rect {
        y: area.y + 1,
        height: area.height.saturating_sub(list + 1),
        ..area
    };
    let pair = dossier.pair(part, pane.view.dossier.photo);
    side_by_side(ink, pictures, pane, pair);
    let list = Rect {
        y: pictures.bottom(),
        height: area.bottom().saturating_sub(pictures.bottom()),
        ..area
    };
    roll.draw(ink, list, pane.view.scroll);
}

/// Returns the words above a picture: its station, and when it was taken.
fn caption(photo: &PhotoKept) -> String {
    match &photo.taken {
        Some(taken) => {
            let minute = taken.get(..16).unwrap_or(taken);
            format!("{} · camera says {minute}", photo.station)
        }
        None => format!("{} · taken when not known", photo.station),
    }
}

fn side_by_side(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, pair: [Option<&PhotoKept>; 2]) {
    let half = area.width / 2;
    // Under a card cells do: a photograph in the terminal's own pixels would lie on top of it.
    let in_pixels = pane.sight.cell.is_some() && pane.view.over == Over::Nothing;
    for (nth, (photo, shown)) in pair.into_iter().zip(&pane.sight.pictures).enumerate() {
        let x = if nth == 0 { area.x } else { area.x + half };
        let place = Rect {
            x,
            width: half.saturating_sub(1),
            ..area
        };
        let Some(photo) = photo else {
            if x == area.x {
                ink.put(
                    (x, area.y),
                    "no photograph is filed yet",
                    Tone::Rubbed,
                    place.width,
                );
            }
            continue;
        };
        ink.put((x, area.y), &caption(photo), Tone::Chalk, place.width);
        let below = Rect {
            y: area.y + 1,
            height: area.height.saturating_sub(1),
            ..place
        };
        match shown {
            Some(Shown::Picture(_)) if in_pixels => ink.photograph(below, nth),
            Some(Shown::Picture(picture)) => {
                pixels::draw(ink, below, picture);
            }
            Some(Shown::Unread) => {
                let words = "this photograph is being read…";
                Column::new(ink, below).wrap(words, Tone::Rubbed, 2);
            }
            Some(Shown::Not(why)) => Column::new(ink, below).wrap(why, Tone::Bole, 4),
            None => {}
        }
    }
}

/// What is missing first, then every photograph of the part in one row with its file; of the
/// whole figure, those of its parts as well.
fn all(roll: &mut Roll, pane: &Pane<'_>, dossier: &Dossier) {
    let part = pane.view.dossier.part;
    let id = dossier.id(part);
    for (words, tone) in missing_lines(dossier, id) {
        roll.wrap(&words, tone);
    }
    let barring = dossier.photos.missing.iter();
    let barring = barring.filter(|it| it.before_work && !it.said).count();
    if id.is_none() && 0 < barring {
        let words = counted(barring, "photograph");
        let words = format!("▲ {words} of its parts missing before work: told below ↓");
        roll.wrap(&words, Tone::Bole);
    }
    let photos = dossier.photos_of(part);
    if photos.is_empty() {
        let words = "← → turns to another part; `knuckle photo` takes files in";
        roll.wrap(words, Tone::Rubbed);
    }
    let skip = list_skip(pane.view, photos.len());
    for (nth, photo) in photos.iter().skip(skip).take(9).enumerate() {
        let (words, file) = row(photo, pane.sight.now);
        roll.pick(nth + 1, &words, &file);
    }
    if 9 < photos.len() {
        let words = format!("0 more: {} in all", counted(photos.len(), "photograph"));
        roll.wrap(&words, Tone::Gilt);
    }
    let picked = pane.view.dossier.photo.unwrap_or(0);
    if let Some(photo) = photos.get(picked) {
        roll.wrap(&in_full(photo, pane.sight.now), Tone::Rubbed);
    }
    if id.is_none() {
        of_parts(roll, dossier, pane.sight.now);
    }
}

/// A photograph in a row: its station and how it stands, and its file.
fn row(photo: &PhotoRow<'_>, now: DateTime<FixedOffset>) -> (String, String) {
    let how = match (photo.filed, photo.filed.and_then(|filed| filed.late)) {
        (None, _) => "◇ said",
        (Some(_), None) => "● taken in",
        (Some(_), Some(_)) => "▲ late, taken in",
    };
    let at = photo.filed.or(photo.said);
    let hour = at.map_or_else(String::new, |at| times::hour(at.at, now));
    let file = photo.file().map_or("no file yet", |kept| {
        // All files lie in that folder.
        kept.file.strip_prefix("photos/").unwrap_or(&kept.file)
    });
    let words = format!("{:<16} {how} {hour}", photo.station);
    (words, file.to_owned())
}

/// All that is known of a photograph: who said it, who took it in, its file and its hash.
fn in_full(photo: &PhotoRow<'_>, now: DateTime<FixedOffset>) -> String {
    let told = |one: &PhotoSeen| {
        let hour = times::hour(one.at, now);
        format!("{hour} by {} (line {})", one.by, one.line)
    };
    let mut said = vec![photo.station.to_owned()];
    said.extend(photo.said.map(|one| format!("said {}", told(one))));
    said.extend(photo.filed.map(|one| format!("taken in {}", told(one))));
    said.push(photo.file().map_or_else(
        || "no file yet".to_owned(),
        |kept| format!("{}, SHA-256 {}", kept.file, kept.sha256),
    ));
    said.join(" · ")
}

/// The photographs of all parts of the figure, part by part.
fn of_parts(roll: &mut Roll, dossier: &Dossier, now: DateTime<FixedOffset>) {
    let parts = (1..dossier.parts.len()).map(|part| (part, dossier.photos_of(part)));
    for (part, photos) in parts {
        let id = dossier.id(part);
        let missing = missing_lines(dossier, id);
        if missing.is_empty() && photos.is_empty() {
            continue;
        }
        roll.wrap(&dossier.part_name(part), Tone::Gilt);
        for (words, tone) in missing {
            roll.wrap(&format!("  {words}"), tone);
        }
        for photo in &photos {
            let (words, file) = row(photo, now);
            let tone = photo.filed.map_or(Tone::Gilt, |_| Tone::Chalk);
            roll.wrap(&format!("  {words}  {file}"), tone);
        }
    }
}

/// What is missing of a part, a line for each sort of it, as `▲ missing: front, back`.
fn missing_lines(dossier: &Dossier, id: Option<&str>) -> Vec<(String, Tone)> {
    let sorts = [
        ("▲ missing, nothing irreversible before", true),
        ("▲ missing", false),
    ];
    let lines = sorts.into_iter().map(|(words, before_work)| {
        let missing =
            dossier.photos.missing.iter().filter(|it| {
                !it.said && it.before_work == before_work && it.target.as_deref() == id
            });
        let stations: Vec<&str> = missing.map(|it| it.station.as_str()).collect();
        (words, stations.join(", "))
    });
    lines
        .filter(|(_, stations)| !stations.is_empty())
        .map(|(words, stations)| (format!("{words}: {stations}"), Tone::Bole))
        .collect()
}
