//! `layer FIGURE [PLACE …]`: a layer of old paint noted or tied; without a place, the table.
//! `chip FIGURE ZONE PLACE`: new colour measured against an old layer.

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::names;
use super::opened::Opened;
use super::paper::Paper;
use crate::card::Figure;
use crate::deed::{
    ChipRead, LayerPlace, LayerRead, LayersTied, LightSeen, Marker, Metal, Relation, Spot,
};
use crate::standing::{
    Book, Intent, Layer, Layers, NOT_SETTLED, Repaint, layers, marker_word, metal_word,
    place_words, repaint, verdict_words,
};
use crate::trouble::{ExitKind, Trouble};

/// The arguments of `layer`.
#[derive(Debug, Clone, Args)]
pub struct LayerArgs {
    /// Short name of the figure
    pub figure: String,
    /// Zone, exposure and layer, such as ears/1/3; layers are counted from the wood, which is 0
    #[arg(value_name = "ZONE/EXPOSURE/LAYER", value_parser = place)]
    pub place: Option<LayerPlace>,
    /// What was read
    #[command(flatten)]
    pub read: ReadArgs,
    /// It lies above this one
    #[arg(long, value_name = "PLACE", value_parser = place, requires = "place")]
    pub above: Vec<LayerPlace>,
    /// It lies below this one
    #[arg(long, value_name = "PLACE", value_parser = place, requires = "place")]
    pub below: Vec<LayerPlace>,
    /// It was laid in the same act as this one
    #[arg(long, value_name = "PLACE", value_parser = place, requires = "place")]
    pub same_as: Vec<LayerPlace>,
    /// It is not tied to this one after all: the tie is struck, with --why
    #[arg(long, value_name = "PLACE", value_parser = place, requires_all = ["place", "why"])]
    pub untie: Vec<LayerPlace>,
    /// Why a tie is struck, or a zone that the scheme leaves or keeps is cut into all the same
    #[arg(long, value_name = "REASON", requires = "place")]
    pub why: Option<String>,
    /// By what it is tied: gold leaf, a fat varnish, a dated coat
    #[arg(
        long = "by",
        value_name = "MARKER",
        default_value = "",
        hide_default_value = true
    )]
    pub tied_by: String,
}

/// What is said of a layer.
#[derive(Debug, Clone, Default, Args)]
pub struct ReadArgs {
    /// Its colour in a word
    #[arg(long, value_name = "WORD", requires = "place")]
    pub word: Option<String>,
    /// What it seems to be, such as "oil paint"
    #[arg(long, value_name = "WORDS", requires = "place")]
    pub material: Option<String>,
    /// Munsell notation, such as "5G 3/4"
    #[arg(long, value_name = "NOTATION", value_parser = munsell, requires = "place")]
    pub munsell: Option<String>,
    /// A reading of its colour, L*,a*,b*; three times
    #[arg(long, value_name = "L,a,b", value_parser = lab, allow_hyphen_values = true, requires = "place")]
    pub lab: Vec<[f64; 3]>,
    /// Whether the spot was dry or wetted
    #[arg(long, value_enum, value_name = "SPOT", requires = "place")]
    pub spot: Option<SpotWord>,
    /// The light it was read under
    #[arg(long, value_name = "LIGHT", requires = "place")]
    pub light: Option<String>,
    /// Gloss in a word
    #[arg(long, value_name = "WORD", requires = "place")]
    pub gloss: Option<String>,
    /// Thickness: thin, medium, thick, or in µm
    #[arg(long, value_name = "WORD", requires = "place")]
    pub band: Option<String>,
    /// Metal in it
    #[arg(long, value_enum, value_name = "METAL", requires = "place")]
    pub metal: Option<MetalWord>,
    /// What lies on it, once for each
    #[arg(long, value_enum, value_name = "MARKER", requires = "place")]
    pub on_top: Vec<MarkerWord>,
    /// Somebody looked, and nothing lies on it
    #[arg(long, conflicts_with = "on_top", requires = "place")]
    pub nothing_on_top: bool,
    /// It came out of the dark: it will bleach in daylight
    #[arg(long, requires = "place")]
    pub dug_out: bool,
    /// It was misread or lost: it no longer counts
    #[arg(long, requires = "place")]
    pub void: bool,
}

/// Dry or wetted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SpotWord {
    /// Clean and dry
    Dry,
    /// Clean and wetted
    Wetted,
}

/// A metal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MetalWord {
    /// Leaf
    Leaf,
    /// Bronze powder
    BronzePowder,
}

/// What shows that a layer once was the outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MarkerWord {
    /// A line of dirt
    Dirt,
    /// A varnish
    Varnish,
    /// Fine cracks
    Cracks,
    /// Wear
    Wear,
}

/// The arguments of `chip`.
#[derive(Debug, Clone, Args)]
pub struct ChipArgs {
    /// Short name of the figure
    pub figure: String,
    /// Zone that is to be painted
    pub zone: String,
    /// The layer that it repeats, such as ears/1/3
    #[arg(value_name = "ZONE/EXPOSURE/LAYER", value_parser = place)]
    pub wanted: LayerPlace,
    /// A reading of the chip, L*,a*,b*; three times
    #[arg(long, value_name = "L,a,b", value_parser = lab, allow_hyphen_values = true, required = true)]
    pub lab: Vec<[f64; 3]>,
    /// The chip is dry
    #[arg(long)]
    pub dry: bool,
    /// The chip is varnished, and the varnish dry
    #[arg(long)]
    pub varnished: bool,
    /// By eye it matches under this light: daylight, lamp, cool lamp, LED, tube
    #[arg(long, value_name = "LIGHT")]
    pub matches: Vec<String>,
    /// By eye it does not match under this light
    #[arg(long, value_name = "LIGHT")]
    pub no_match: Vec<String>,
    /// Why a zone that the scheme leaves is painted all the same
    #[arg(long, value_name = "REASON")]
    pub why: Option<String>,
    /// The difference agreed with the owner, CIEDE2000
    #[arg(long, value_name = "N")]
    pub agreed: Option<f64>,
}

fn place(text: &str) -> Result<LayerPlace, String> {
    let form = || "write zone, exposure and layer, such as ears/1/3".to_owned();
    let parts: Vec<&str> = text.split('/').collect();
    let [zone, exposure, layer] = parts.as_slice() else {
        return Err(form());
    };
    if zone.is_empty() || exposure.is_empty() {
        return Err(form());
    }
    let layer = layer.parse().map_err(|_not_a_number| form())?;
    Ok(LayerPlace {
        zone: (*zone).to_owned(),
        exposure: (*exposure).to_owned(),
        layer,
    })
}

fn lab(text: &str) -> Result<[f64; 3], String> {
    let parts = text.split(',').map(|part| part.trim().parse::<f64>());
    let numbers: Vec<f64> = parts
        .collect::<Result<_, _>>()
        .map_err(|_not_a_number| "write L*,a*,b* such as 41.2,-11.8,14.0".to_owned())?;
    <[f64; 3]>::try_from(numbers)
        .ok()
        .filter(|all| all.iter().all(|number| number.is_finite()))
        .ok_or_else(|| "write L*,a*,b* such as 41.2,-11.8,14.0".to_owned())
}

/// Notes and ties a layer; without a place, tells the table.
///
/// # Errors
/// When nobody is named, the figure or zone is unknown, or a line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &LayerArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let card = names::figure(&shop.cards, &args.figure, "FIGURE")?;
    let Some(place) = &args.place else {
        return table(shop, args, paper);
    };
    names::zone(&shop.cards, (&args.figure, &place.zone))?;
    let moment = shop.moment()?;
    let read = read(place, &args.read);
    let ties = ties(place, args);
    let untied = !args.untie.is_empty();
    if read == LayerRead::at(place.clone()) && ties.is_empty() && !untied {
        return Err(
            Trouble::new(ExitKind::Misuse, "nothing is said of this layer")
                .at("ZONE/EXPOSURE/LAYER")
                .remedy("say --word, --lab or --same-as; `knuckle layer --help` tells all"),
        );
    }
    let mut ended = ExitKind::Well;
    for strike in untie(shop, card, (place, args))? {
        ended = shop.act(&strike, &moment, paper)?;
    }
    if read != LayerRead::at(place.clone()) {
        let figure = args.figure.clone();
        let study = despite(Intent::ReadLayer { figure, read }, args.why.as_ref());
        ended = shop.act(&study, &moment, paper)?;
    }
    for tie in ties {
        let figure = args.figure.clone();
        ended = shop.act(&Intent::TieLayers { figure, tie }, &moment, paper)?;
    }
    let keeper = shop.keeper()?;
    let found = layers(keeper.house(), &args.figure);
    for line in contradictions(&found) {
        paper.note(&line);
    }
    Ok(ended)
}

/// All that was ever said of two layers is struck, so that no earlier word on them counts again.
fn untie(
    shop: &Opened,
    card: &Figure,
    (place, args): (&LayerPlace, &LayerArgs),
) -> Result<Vec<Intent>, Trouble> {
    let mut strikes = Vec::new();
    let keeper = shop.keeper()?;
    let standing = keeper.house().figure(&args.figure);
    for other in &args.untie {
        let ties = standing.into_iter().flat_map(|it| &it.ties);
        let ours = ties.filter(|(said, _)| {
            (&said.one == place && &said.other == other)
                || (&said.one == other && &said.other == place)
        });
        let before = strikes.len();
        strikes.extend(ours.map(|(_, stamp)| Intent::Strike {
            book: Book::Figure(args.figure.clone()),
            line: stamp.n,
            why: args.why.clone().unwrap_or_default(),
        }));
        if strikes.len() == before {
            let [one, other] = [place, other].map(|place| place_words(card, place));
            return Err(
                Trouble::new(ExitKind::Misuse, format!("{one} is not tied to {other}"))
                    .at("--untie")
                    .remedy(format!("`knuckle report {}` lists the ties", args.figure)),
            );
        }
    }
    Ok(strikes)
}

/// A reason given makes a study of a zone that the scheme leaves possible.
fn despite(study: Intent, why: Option<&String>) -> Intent {
    match why {
        Some(why) => Intent::StudyDespite {
            study: Box::new(study),
            why: why.clone(),
        },
        None => study,
    }
}

fn read(place: &LayerPlace, said: &ReadArgs) -> LayerRead {
    let on_top = said.on_top.iter().map(|marker| match marker {
        MarkerWord::Dirt => Marker::Dirt,
        MarkerWord::Varnish => Marker::Varnish,
        MarkerWord::Cracks => Marker::Cracks,
        MarkerWord::Wear => Marker::Wear,
    });
    let looked = said.nothing_on_top || !said.on_top.is_empty();
    LayerRead {
        place: place.clone(),
        word: said.word.clone(),
        material: said.material.clone(),
        munsell: said.munsell.clone(),
        lab: said.lab.clone(),
        spot: said.spot.map(|spot| match spot {
            SpotWord::Dry => Spot::Dry,
            SpotWord::Wetted => Spot::Wetted,
        }),
        light: said.light.clone(),
        gloss: said.gloss.clone(),
        band: said.band.clone(),
        metal: said.metal.map(|metal| match metal {
            MetalWord::Leaf => Metal::Leaf,
            MetalWord::BronzePowder => Metal::BronzePowder,
        }),
        on_top: looked.then(|| on_top.collect()),
        dug_out: said.dug_out,
        void: said.void,
    }
}

/// Reads a Munsell notation: hue value/chroma, or a grey as N value/ (ASTM D1535).
fn munsell(text: &str) -> Result<String, String> {
    let text = text.trim();
    let number = |text: &str, most: f64| {
        let plain = text
            .bytes()
            .all(|sign| sign.is_ascii_digit() || sign == b'.');
        let number = text.parse().ok().filter(|_| plain);
        number.is_some_and(|number: f64| number <= most)
    };
    let is_hue = |hue: &str| {
        let letters = hue.trim_start_matches(|sign: char| sign.is_ascii_digit() || sign == '.');
        let step = hue.strip_suffix(letters).unwrap_or_default();
        MUNSELL_HUES.contains(&letters) && number(step, 10.0)
    };
    let fits = text.split_once(' ').is_some_and(|(hue, rest)| {
        let rest = rest.trim().split_once('/');
        rest.is_some_and(|(value, chroma)| {
            let grey = hue == "N" && chroma.is_empty();
            number(value, 10.0) && (grey || is_hue(hue) && number(chroma, MOST_CHROMA))
        })
    });
    fits.then(|| text.to_owned()).ok_or_else(|| {
        "write hue, value and chroma, such as \"5YR 4/6\", or a grey as \"N 5/\"".to_owned()
    })
}

/// The ten hue families of the Munsell system (ASTM D1535).
const MUNSELL_HUES: [&str; 10] = ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"];

/// No surface is more saturated: above this a number was misread (from memory; fluorescent
/// colours reach about 30).
const MOST_CHROMA: f64 = 40.0;

fn ties(place: &LayerPlace, args: &LayerArgs) -> Vec<LayersTied> {
    let all = [
        (Relation::Above, &args.above),
        (Relation::Below, &args.below),
        (Relation::SameAs, &args.same_as),
    ];
    let ties = all.into_iter().flat_map(|(relation, others)| {
        others.iter().map(move |other| LayersTied {
            one: place.clone(),
            relation,
            other: other.clone(),
            by_marker: args.tied_by.clone(),
        })
    });
    ties.collect()
}

/// A layer with `--json`; absent values are left out.
#[derive(Debug, Serialize)]
struct LayerJson<'a> {
    zone: &'a str,
    exposure: &'a str,
    layer: u32,
    campaign: Option<usize>,
    word: &'a str,
    munsell: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    l: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    b: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spread_delta_e: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift_delta_e: Option<f64>,
    line: u64,
}

fn table(shop: &Opened, args: &LayerArgs, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.keeper()?;
    let found = layers(keeper.house(), &args.figure);
    let all = || {
        found
            .exposures
            .iter()
            .flat_map(|exposure| exposure.layers.iter().map(move |layer| (exposure, layer)))
    };
    let ended = if found.contradictions.is_empty() {
        ExitKind::Well
    } else {
        ExitKind::Found
    };
    if paper.json {
        paper.objects(all().map(|(exposure, layer)| {
            let middle = layer.colour.as_ref().and_then(|colour| colour.middle);
            LayerJson {
                zone: &exposure.zone,
                exposure: &exposure.exposure,
                layer: layer.number,
                campaign: campaign(&found, layer),
                word: &layer.word,
                munsell: layer.munsell.as_deref(),
                l: middle.map(|(colour, _)| colour.l),
                a: middle.map(|(colour, _)| colour.a),
                b: middle.map(|(colour, _)| colour.b),
                spread_delta_e: middle.map(|(_, spread)| spread),
                drift_delta_e: layer.drift.as_ref().map(|it| it.difference.delta_e_2000),
                line: layer.stamp.n,
            }
        }))?;
        return Ok(ended);
    }
    let rows: Vec<[String; 5]> = all()
        .map(|(exposure, layer)| {
            let campaign = campaign(&found, layer);
            [
                format!("{}/{}/{}", exposure.zone, exposure.exposure, layer.number),
                match (campaign, layer.unplaced) {
                    (Some(nth), _) => format!("campaign {nth}"),
                    (None, Some(why)) => why.words().to_owned(),
                    (None, None) => "wood".to_owned(),
                },
                layer.word.clone(),
                colour_words(layer),
                marks(layer),
            ]
        })
        .collect();
    if rows.is_empty() {
        paper.line("no layer of this figure was noted yet")?;
    }
    paper.columns(&rows)?;
    for line in contradictions(&found)
        .into_iter()
        .chain(found.hints.clone())
    {
        paper.line(&line)?;
    }
    Ok(ended)
}

fn campaign(found: &Layers, layer: &Layer) -> Option<usize> {
    let campaign = found.campaigns.get(layer.campaign?)?;
    Some(campaign.number)
}

fn colour_words(layer: &Layer) -> String {
    let Some(colour) = &layer.colour else {
        return "not measured".to_owned();
    };
    let drift = layer.drift.as_ref().map_or_else(String::new, |drift| {
        let apart = drift.difference.delta_e_2000;
        format!(", moved {apart:.1} in {:.0} days", drift.days)
    });
    match colour.middle {
        Some((middle, spread)) => format!(
            "L*a*b* {:.1} {:.1} {:.1} ± {spread:.1}{drift}",
            middle.l, middle.a, middle.b
        ),
        None => format!("read {} of 3 times", colour.readings.len()),
    }
}

fn marks(layer: &Layer) -> String {
    let on_top = layer.on_top.iter().flatten().map(|it| marker_word(*it));
    let metal = layer.metal.map(metal_word);
    let words: Vec<&str> = metal.into_iter().chain(on_top).collect();
    words.join(", ")
}

fn contradictions(found: &Layers) -> Vec<String> {
    let told = found.contradictions.iter().flat_map(|it| {
        let head = format!("contradiction: {}", it.words);
        let said = it.observations.iter();
        let said = said.map(|seen| format!("  line {}: {}", seen.line, seen.words));
        std::iter::once(head).chain(said)
    });
    let settled = (!found.contradictions.is_empty()).then(|| NOT_SETTLED.to_owned());
    told.chain(settled).collect()
}

/// Notes a chip and tells the verdict, or why there is none.
///
/// # Errors
/// When nobody is named, the figure or zone is unknown, or the line cannot be kept.
pub(super) fn chip(
    shop: &Opened,
    args: &ChipArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let card = names::figure(&shop.cards, &args.figure, "FIGURE")?;
    names::zone(&shop.cards, (&args.figure, &args.zone))?;
    let moment = shop.moment()?;
    let seen = |lights: &[String], matches: bool| -> Vec<LightSeen> {
        let lights = lights.iter().cloned();
        lights.map(|light| LightSeen { light, matches }).collect()
    };
    let chip = ChipRead {
        zone: args.zone.clone(),
        wanted: args.wanted.clone(),
        lab: args.lab.clone(),
        dry: args.dry,
        varnished: args.varnished,
        lights: [seen(&args.matches, true), seen(&args.no_match, false)].concat(),
        agreed: args.agreed,
    };
    let figure = args.figure.clone();
    let intent = Intent::ReadChip {
        figure,
        chip: chip.clone(),
    };
    shop.act(&despite(intent, args.why.as_ref()), &moment, paper)?;
    let keeper = shop.keeper()?;
    let found = layers(keeper.house(), &args.figure);
    let verdict = repaint(card, &found, &chip);
    paper.note(&verdict_words(&verdict, |apart| {
        format!("{apart:.1} apart")
    }));
    Ok(match verdict {
        Repaint::Judged { passes: true, .. } => ExitKind::Well,
        _ => ExitKind::Found,
    })
}
