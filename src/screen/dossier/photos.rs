//! The leaf of photographs: before and after side by side, what there is and what is missing.

use ratatui::layout::Rect;

use crate::deed::PhotoKept;
use crate::reckon::counted;
use crate::standing::{PhotoMissing, PhotoSeen};

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
    let id = dossier.id(part);
    let photos = dossier.photos_of(part);
    let missing: Vec<&PhotoMissing> = dossier
        .photos
        .missing
        .iter()
        .filter(|it| it.target.as_deref() == id)
        .collect();
    let mut roll = Roll::new(area.width);
    all(&mut roll, pane, (&photos, &missing_lines(&missing)));
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
            Some(Shown::Not(why)) => Column::new(ink, below).wrap(why, Tone::Bole, 4),
            None => {}
        }
    }
}

fn all(roll: &mut Roll, pane: &Pane<'_>, (photos, missing): (&[&PhotoSeen], &[(String, Tone)])) {
    for (words, tone) in missing {
        roll.wrap(words, *tone);
    }
    if photos.is_empty() {
        let words = "← → turns to another part; `knuckle photo` takes files in";
        roll.wrap(words, Tone::Rubbed);
        return;
    }
    let skip = list_skip(pane.view, photos.len());
    for (nth, photo) in photos.iter().skip(skip).take(9).enumerate() {
        let filed = match &photo.filed {
            Some(kept) => kept.file.clone(),
            None => "no file yet".to_owned(),
        };
        let hour = times::hour(photo.at, pane.sight.now);
        let how = match (&photo.filed, photo.late) {
            (None, _) => "said",
            (Some(_), None) => "taken in",
            (Some(_), Some(_)) => "▲ late, taken in",
        };
        let words = format!("{:<16} {how} {hour} by {}", photo.station, photo.by);
        roll.pick(nth + 1, &words, &filed);
    }
    if 9 < photos.len() {
        let words = format!("0 more: {} in all", counted(photos.len(), "photograph"));
        roll.wrap(&words, Tone::Gilt);
    }
}

/// What is missing of a part, a line for each sort of it, as `▲ missing: front, back`.
fn missing_lines(missing: &[&PhotoMissing]) -> Vec<(String, Tone)> {
    const SAID: &str = "◇ said to be taken, no file here yet";
    const BEFORE: &str = "▲ missing, nothing irreversible before";
    const MISSING: &str = "▲ missing";
    let sort = |it: &PhotoMissing| match (it.said, it.before_work) {
        (true, _) => SAID,
        (false, true) => BEFORE,
        (false, false) => MISSING,
    };
    let sorts = [
        (BEFORE, Tone::Bole),
        (MISSING, Tone::Bole),
        (SAID, Tone::Gilt),
    ];
    let lines = sorts.into_iter().map(|(words, tone)| {
        let of_it = missing.iter().filter(|it| sort(it) == words);
        let stations: Vec<&str> = of_it.map(|it| it.station.as_str()).collect();
        (words, stations, tone)
    });
    lines
        .filter(|(_, stations, _)| !stations.is_empty())
        .map(|(words, stations, tone)| (format!("{words}: {}", stations.join(", ")), tone))
        .collect()
}
