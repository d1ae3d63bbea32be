//! Sentences of the paint-layer study and of photographs.

use crate::card::Figure;
use crate::deed::{ChipRead, Deed, LayerRead, PhotoKept, Spot};
use crate::reckon::counted;
use crate::standing::{LateIn, marker_word, metal_word, place_words, tie_words};

/// Returns the sentence of a deed of the study.
pub(super) fn of_the_study(deed: &Deed, card: &Figure) -> String {
    match deed {
        Deed::LayerRead(read) => layer(read, card),
        Deed::LayersTied(tie) => format!("tied: {}", tie_words(card, tie)),
        Deed::ChipRead(chip) => chip_words(chip, card),
        Deed::PhotoKept(photo) => photo_words(photo, card),
        _ => String::new(),
    }
}

fn layer(read: &LayerRead, card: &Figure) -> String {
    let place = place_words(card, &read.place);
    if read.void {
        return format!("made void: {place}");
    }
    let mut said: Vec<String> = Vec::new();
    said.extend(read.word.clone());
    said.extend(read.material.clone());
    said.extend(read.munsell.clone());
    if let Some([l, a, b]) = read.lab.first() {
        let more = match read.lab.len() {
            1 => String::new(),
            all => format!(", first of {all}"),
        };
        said.push(format!("L*a*b* {l:.1} {a:.1} {b:.1}{more}"));
    }
    said.extend(read.light.as_ref().map(|light| format!("under {light}")));
    said.extend(read.metal.map(|metal| metal_word(metal).to_owned()));
    said.extend(read.on_top.as_ref().map(|markers| {
        let words: Vec<&str> = markers.iter().map(|it| marker_word(*it)).collect();
        match words.as_slice() {
            [] => "nothing on it".to_owned(),
            _ => format!("{} on it", words.join(", ")),
        }
    }));
    said.extend(read.dug_out.then(|| "out of the dark".to_owned()));
    format!("read {place}: {}", said.join(", "))
}

/// Returns what its camera says of a picture of the record before that came late.
pub fn late_words(late: LateIn) -> &'static str {
    match late.taken_before {
        Some(true) => "by its camera's clock it was taken before that",
        Some(false) => "by its camera's clock it was taken after that: it shows work under way",
        None => "nothing says that it was taken before that: it may show work under way",
    }
}

/// Returns how a chip was when it was measured.
pub(super) fn state_words(chip: &ChipRead) -> &'static str {
    match (chip.dry, chip.varnished) {
        (true, true) => "dry, varnished",
        (true, false) => "dry, not varnished",
        (false, _) => "not dry",
    }
}

/// Returns what the eye said under each light; empty where nobody looked.
pub(super) fn lights_words(chip: &ChipRead) -> String {
    let lights = chip.lights.iter().map(|seen| {
        let word = if seen.matches { "matches" } else { "no match" };
        format!("{word} under {}", seen.light)
    });
    lights.collect::<Vec<_>>().join(", ")
}

/// Returns the word for how a spot was when its colour was read.
pub(super) fn spot_word(spot: Spot) -> &'static str {
    match spot {
        Spot::Dry => "dry",
        Spot::Wetted => "wetted",
    }
}

fn chip_words(chip: &ChipRead, card: &Figure) -> String {
    let lights = match lights_words(chip) {
        none if none.is_empty() => none,
        lights => format!(", {lights}"),
    };
    format!(
        "measured a chip for {} against {}: {}, read {}{lights}",
        card.zone_name(&chip.zone),
        place_words(card, &chip.wanted),
        state_words(chip),
        counted(chip.lab.len(), "time")
    )
}

fn photo_words(photo: &PhotoKept, card: &Figure) -> String {
    let target = photo.target.as_deref();
    let target = target.map(|it| format!("{}, ", card.zone_name(it)));
    format!(
        "kept a photograph of {}{}: {}",
        target.unwrap_or_default(),
        photo.station,
        photo.file
    )
}
