//! New colour judged against an old layer: only by numbers, only on a dry and varnished chip,
//! only under two lights. Everything else gets no verdict, with the reason.

use std::collections::BTreeSet;

use super::layers::{Layer, Layers, SPREAD_DELTA_E, colours, place_words};
use crate::card::Figure;
use crate::deed::{ChipRead, LayerPlace};
use crate::reckon::colour::{Colour, difference, middle_colour};

/// Largest difference that passes where nothing else was agreed, CIEDE2000 (*common
/// practice*).
pub const AGREED_DELTA_E: f64 = 3.0;

/// Kinds of light under which a chip is looked at, for a match in one may be none in another
/// (count, *common practice*).
const LIGHTS: usize = 2;

/// A kind of light: lights of one kind show a colour alike, those of different kinds may not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LightKind {
    /// Daylight, or a lamp that stands in for it.
    Daylight,
    /// Warm light: a glowing wire or a warm diode.
    Warm,
    /// Cool light: a cool diode or a tube.
    Cool,
}

/// The words for lights and their kinds. Paint is compared in daylight, natural or from a lamp
/// made for it, and in the light of a glowing wire (ISO 3668, from memory); cool diodes and
/// tubes are what many rooms have now (*common practice*).
const LIGHT_WORDS: [(&str, LightKind); 9] = [
    ("daylight", LightKind::Daylight),
    ("daylight lamp", LightKind::Daylight),
    ("lamp", LightKind::Warm),
    ("warm lamp", LightKind::Warm),
    ("warm led", LightKind::Warm),
    ("cool lamp", LightKind::Cool),
    ("cool led", LightKind::Cool),
    ("led", LightKind::Cool),
    ("tube", LightKind::Cool),
];

/// Returns the kind of a light by its word, whatever its letters' case and spacing; `None` for
/// a word that is not on the list.
pub fn light_kind(word: &str) -> Option<LightKind> {
    let parts = word.split(|sign: char| sign.is_whitespace() || sign == '-');
    let parts: Vec<String> = parts
        .filter(|part| !part.is_empty())
        .map(str::to_lowercase)
        .collect();
    let plain = parts.join(" ");
    let mut known = LIGHT_WORDS.iter();
    known
        .find(|(name, _)| *name == plain)
        .map(|(_, kind)| *kind)
}

/// Returns the words for lights, in one line.
pub(super) fn light_words() -> String {
    let words: Vec<&str> = LIGHT_WORDS.iter().map(|(word, _)| *word).collect();
    words.join(", ")
}

/// What can be said of a chip.
#[derive(Debug, Clone, PartialEq)]
pub enum Repaint {
    /// Nothing, and why.
    NoVerdict {
        /// Why, one line.
        why: String,
    },
    /// A verdict.
    Judged {
        /// CIEDE2000 between the middles.
        delta_e_2000: f64,
        /// What it is held against.
        limit: f64,
        /// Whether the owner agreed to it; else it is common practice.
        agreed: bool,
        /// Whether it passes: by number and under every light.
        passes: bool,
        /// How it differs, in a painter's words.
        words: String,
    },
}

/// Returns the limit in words; one that nobody agreed to says so.
pub fn limit_words(limit: f64, agreed: bool) -> String {
    if agreed {
        format!("at most {limit}, as agreed")
    } else {
        format!("at most {limit} (common practice, not agreed with the owner)")
    }
}

/// Returns a verdict in words; `apart` says the distance of the colours.
pub fn verdict_words(verdict: &Repaint, apart: impl FnOnce(f64) -> String) -> String {
    match verdict {
        Repaint::NoVerdict { why } => format!("no verdict: {why}"),
        Repaint::Judged {
            delta_e_2000,
            limit,
            agreed,
            passes,
            words,
        } => {
            let word = if *passes { "passes" } else { "does not pass" };
            let limit = limit_words(*limit, *agreed);
            format!("{word}: {}, {limit}; {words}", apart(*delta_e_2000))
        }
    }
}

/// Returns what can be said of a chip on the figure of this card.
pub fn repaint(card: &Figure, layers: &Layers, chip: &ChipRead) -> Repaint {
    match (ready(chip), wanted(card, layers, &chip.wanted)) {
        (Err(why), _) | (_, Err(why)) => Repaint::NoVerdict { why },
        (Ok(chip_colour), Ok(wanted)) => judged(chip, wanted, chip_colour),
    }
}

fn judged(chip: &ChipRead, wanted: Colour, found: Colour) -> Repaint {
    let apart = difference(wanted, found);
    let limit = chip.agreed.unwrap_or(AGREED_DELTA_E);
    let missed = chip.lights.iter().find(|seen| !seen.matches);
    let words = match missed {
        Some(seen) => format!("{}; no match by eye under {}", apart.words(), seen.light),
        None => apart.words(),
    };
    Repaint::Judged {
        delta_e_2000: apart.delta_e_2000,
        limit,
        agreed: chip.agreed.is_some(),
        passes: apart.delta_e_2000 <= limit && missed.is_none(),
        words,
    }
}

fn ready(chip: &ChipRead) -> Result<Colour, String> {
    if !chip.dry {
        return Err("the chip is not dry: a colour changes as it dries".to_owned());
    }
    if !chip.varnished {
        return Err("the chip is not varnished: flat paint is paler than it will be".to_owned());
    }
    let lights: BTreeSet<LightKind> = chip
        .lights
        .iter()
        .filter_map(|seen| light_kind(&seen.light))
        .collect();
    if lights.len() < LIGHTS {
        return Err(
            "seen under one light only: a match there may be none elsewhere; look in daylight \
             and under a lamp"
                .to_owned(),
        );
    }
    if !lights.contains(&LightKind::Daylight) {
        return Err("not seen in daylight: lamps alone do not settle a match".to_owned());
    }
    let readings = colours(&chip.lab);
    steady(middle_colour(&readings).ok(), "the chip")
}

fn steady(middle: Option<(Colour, f64)>, what: &str) -> Result<Colour, String> {
    match middle {
        None => Err(format!("{what} was not read three times")),
        Some((_, spread)) if SPREAD_DELTA_E < spread => Err(format!(
            "the readings of {what} lie {spread:.1} apart, at most {SPREAD_DELTA_E}: read again"
        )),
        Some((colour, _)) => Ok(colour),
    }
}

fn wanted(card: &Figure, layers: &Layers, place: &LayerPlace) -> Result<Colour, String> {
    let words = place_words(card, place);
    let layer =
        find(layers, place).ok_or_else(|| format!("nobody has read the colour of {words}"))?;
    let colour = layer.colour.as_ref();
    let colour = colour.ok_or_else(|| format!("the colour of {words} was never measured"))?;
    if layer.dug_out && layer.drift.is_none() {
        return Err(format!(
            "{words} came out of the dark and is still bleaching: read it again after a week or more"
        ));
    }
    steady(colour.middle, &words)
}

/// Returns a layer by its place.
pub fn find<'a>(layers: &'a Layers, place: &LayerPlace) -> Option<&'a Layer> {
    let exposure = layers
        .exposures
        .iter()
        .find(|it| it.zone == place.zone && it.exposure == place.exposure)?;
    let mut all = exposure.layers.iter();
    all.find(|layer| layer.number == place.layer)
}
