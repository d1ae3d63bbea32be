//! What may be written of old paint, of chips and of photographs. None of it changes how far
//! a figure is; it only has to be about something that is there.

use super::decide::{known_figure, one, path_of, said};
use super::frozen::STUDY;
use super::repaint::{light_kind, light_words};
use super::{House, Intent, Refusal, Written};
use crate::card::{Figure, Path};
use crate::deed::{
    ChipRead, Deed, Deviated, DeviationKind, LayerPlace, LayerRead, LayersTied, PhotoKept, Work,
};
use crate::reckon::colour::Colour;

/// Highest number of a layer that can be believed (count, *common practice*: the thickest
/// stacks of old house paint have some forty).
const MOST_LAYERS: u32 = 60;

/// Most readings of one colour at one sitting (count; chosen here, so that a slip of a
/// script does not fill a journal).
const MOST_READINGS: usize = 30;

pub(super) fn decide(house: House<'_>, intent: &Intent) -> Option<Result<Vec<Written>, Refusal>> {
    let (intent, despite) = match intent {
        Intent::StudyDespite { study, why } => (study.as_ref(), Some(why.as_str())),
        intent => (intent, None),
    };
    let (figure, deed) = match intent {
        Intent::ReadLayer { figure, read } => (figure, Deed::LayerRead(read.clone())),
        Intent::TieLayers { figure, tie } => (figure, Deed::LayersTied(tie.clone())),
        Intent::ReadChip { figure, chip } => (figure, Deed::ChipRead(chip.clone())),
        Intent::KeepPhoto { figure, photo } => (figure, Deed::PhotoKept(photo.clone())),
        _ => return None,
    };
    Some(judged(house, figure, &deed).and_then(|()| written(house, figure, deed, despite)))
}

/// A zone that the approved scheme leaves is not cut into or painted by the way, and one that
/// it keeps is not cut into: that takes a reason, which the supervisor answers.
fn written(
    house: House<'_>,
    figure: &str,
    deed: Deed,
    despite: Option<&str>,
) -> Result<Vec<Written>, Refusal> {
    let Some((zone, what)) = against(house, figure, &deed) else {
        return Ok(one(figure, deed));
    };
    let Some(why) = despite.map(str::trim).filter(|why| !why.is_empty()) else {
        return Err(Refusal::new(what).remedy(
            "read an exposure that is there already or one on another zone; if it must be here, \
             say why with --why: it is kept as a deviation and the report shows it",
        ));
    };
    let rounds = house.figure(figure).map(|it| it.rounds(STUDY, Some(&zone)));
    let work = Work {
        operation: STUDY.to_owned(),
        target: Some(zone),
        round: rounds.unwrap_or_default().max(1),
    };
    let mut written = one(figure, deed);
    let deviated = Deviated {
        work,
        step: String::new(),
        kind: DeviationKind::Other,
        what: format!("{what}; done all the same: {why}"),
    };
    written.extend(one(figure, Deed::Deviated(deviated)));
    Ok(written)
}

/// The zone, and what speaks against a deed there; nothing before there is a scheme, for the
/// study comes before it.
fn against(house: House<'_>, figure: &str, deed: &Deed) -> Option<(String, String)> {
    let path = |zone: &str| path_of(house, figure, Some(zone));
    let (zone, what) = match deed {
        Deed::LayerRead(read) if !read.void => {
            let place = &read.place;
            let is_kept = matches!(path(&place.zone)?, Path::Leave | Path::Keep);
            let mut known = house.figure(figure)?.layers.iter();
            let is_cut = known.any(|(other, _)| {
                other.place.zone == place.zone && other.place.exposure == place.exposure
            });
            (is_kept && !is_cut).then_some((&place.zone, "a new exposure cuts into it"))?
        }
        Deed::ChipRead(chip) => (path(&chip.zone)? == Path::Leave)
            .then_some((&chip.zone, "no new colour goes onto it"))?,
        _ => return None,
    };
    let is_said = match path(zone)? {
        Path::Leave => "left as found by the approved scheme",
        _ => "shown as an old layer by the approved scheme",
    };
    let words = format!("`{zone}` is {is_said}: {what}");
    house.is_decided(figure).then(|| (zone.clone(), words))
}

fn judged(house: House<'_>, figure: &str, deed: &Deed) -> Result<(), Refusal> {
    known_figure(house, figure)?;
    let card = house.cards.figures.get(figure);
    let card = card.ok_or_else(|| Refusal::new(format!("figure `{figure}` has no card")))?;
    match deed {
        Deed::LayerRead(read) => layer(card, read),
        Deed::LayersTied(tie) => tied(house, (figure, card), tie),
        Deed::ChipRead(chip) => chip_read(card, chip),
        Deed::PhotoKept(photo) => photo_kept(card, photo),
        _ => Ok(()),
    }
}

fn layer(card: &Figure, read: &LayerRead) -> Result<(), Refusal> {
    placed(card, &read.place)?;
    lab(&read.lab)?;
    let nothing = LayerRead::at(read.place.clone());
    if *read == nothing {
        return Err(Refusal::new("nothing is said of this layer")
            .remedy("say its colour in a word, or read it"));
    }
    Ok(())
}

fn placed(card: &Figure, place: &LayerPlace) -> Result<(), Refusal> {
    zone(card, &place.zone)?;
    said(&place.exposure, "the exposure has no number")?;
    if MOST_LAYERS < place.layer {
        return Err(Refusal::new(format!(
            "layer {} cannot be: counted from the wood outward, at most {MOST_LAYERS}",
            place.layer
        )));
    }
    Ok(())
}

fn zone(card: &Figure, id: &str) -> Result<(), Refusal> {
    if card.zones.iter().any(|zone| zone.id == *id) {
        return Ok(());
    }
    Err(Refusal::new(format!("{} has no zone `{id}`", card.name)))
}

fn lab(readings: &[[f64; 3]]) -> Result<(), Refusal> {
    if MOST_READINGS < readings.len() {
        return Err(Refusal::new(format!(
            "{} readings of one colour: at most {MOST_READINGS} at one sitting",
            readings.len()
        )));
    }
    for [l, a, b] in readings {
        Colour::lab(*l, *a, *b).map_err(|trouble| Refusal::new(trouble.to_string()))?;
    }
    Ok(())
}

/// Both layers must have been read: a tie to nothing would hold nothing.
fn tied(
    house: House<'_>,
    (figure, card): (&str, &Figure),
    tie: &LayersTied,
) -> Result<(), Refusal> {
    let read = house.figure(figure).map(|it| &it.layers);
    for place in [&tie.one, &tie.other] {
        placed(card, place)?;
        let mut last = read.into_iter().flatten().rev();
        let last = last.find(|(read, _)| read.place == *place);
        if last.is_some_and(|(read, _)| read.void) {
            let words = super::place_words(card, place);
            return Err(Refusal::new(format!("{words} was made void"))
                .remedy("note the layer anew, then tie it"));
        }
        let known = last.is_some();
        if place.layer == 0 || !known {
            return Err(Refusal::new(format!(
                "{} was never read",
                super::place_words(card, place)
            ))
            .remedy("note the layer first, then tie it"));
        }
    }
    if tie.one == tie.other {
        return Err(Refusal::new("a layer is not tied to itself"));
    }
    Ok(())
}

fn chip_read(card: &Figure, chip: &ChipRead) -> Result<(), Refusal> {
    zone(card, &chip.zone)?;
    placed(card, &chip.wanted)?;
    lab(&chip.lab)?;
    if let Some(seen) = chip
        .lights
        .iter()
        .find(|it| light_kind(&it.light).is_none())
    {
        return Err(
            Refusal::new(format!("`{}` is no kind of light known here", seen.light))
                .remedy(format!("say one of: {}", light_words())),
        );
    }
    if chip.lab.is_empty() {
        return Err(Refusal::new("the chip was not read: a word is no measure"));
    }
    match chip.agreed {
        Some(agreed) if !(0.0 < agreed && agreed <= 20.0) => Err(Refusal::new(format!(
            "an agreed difference of {agreed} cannot be: above 0, at most 20"
        ))),
        _ => Ok(()),
    }
}

fn photo_kept(card: &Figure, photo: &PhotoKept) -> Result<(), Refusal> {
    said(&photo.station, "say from which station it was taken")?;
    let Some(target) = &photo.target else {
        return Ok(());
    };
    if card.places().any(|id| id == target) {
        return Ok(());
    }
    Err(Refusal::new(format!(
        "{} has no zone, joint or panel `{target}`",
        card.name
    )))
}
