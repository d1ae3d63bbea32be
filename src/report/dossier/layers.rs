//! Old paint on the report: the layers of each exposure with the colour as it was first read,
//! every sitting at which it was read with its drift, and the chips of new colour that were
//! judged against it.

use chrono::{DateTime, FixedOffset};

use super::record::Record;
use super::sheet::{Block, Cell, Fact, Table};
use crate::deed::{ChipRead, LayerPlace, Stamp};
use crate::reckon::colour::{Colour, difference};
use crate::reckon::counted;
use crate::report::study::{lights_words, spot_word, state_words};
use crate::standing::{
    Campaign, Contradiction, DRIFT_DAYS, Layer, LayerColour, NOT_SETTLED, TieSeen, Unplaced, find,
    layers, marker_word, metal_word, place_words, relation_words, repaint, verdict_words,
};

/// The layers of one exposure.
#[derive(Debug)]
pub(super) struct Stack {
    /// Zone.
    pub(super) zone: String,
    /// Its number in the zone.
    pub(super) exposure: String,
    /// From the wood outward.
    pub(super) rows: Vec<LayerRow>,
}

/// One layer in words and numbers.
#[derive(Debug)]
pub(super) struct LayerRow {
    /// Counted from the wood outward.
    pub(super) number: u32,
    /// Colour in a word.
    pub(super) word: String,
    /// Colour in CIELAB, as it was read first.
    pub(super) lab: Option<[f64; 3]>,
    /// Colour after Munsell.
    pub(super) munsell: String,
    /// Material, as guessed.
    pub(super) material: String,
    /// Metal.
    pub(super) metal: String,
    /// What lies on it.
    pub(super) on_top: String,
    /// The painting it belongs to.
    pub(super) campaign: String,
    /// It came out of the dark.
    pub(super) dug_out: bool,
    /// Its colour at every sitting, oldest first.
    pub(super) sittings: Vec<LayerColour>,
    /// The line in which that colour was read.
    pub(super) colour_line: Option<u64>,
    /// The line that it was read in last.
    pub(super) line: u64,
}

/// Returns the layers of every exposure.
pub(super) fn stacks(record: &Record<'_>) -> Vec<Stack> {
    let known = layers(record.ask.house, &record.ask.figure.id);
    let stacks = known.exposures.into_iter().map(|exposure| Stack {
        zone: exposure.zone,
        exposure: exposure.exposure,
        rows: exposure
            .layers
            .iter()
            .map(|one| row(record, &known.campaigns, one))
            .collect(),
    });
    stacks.collect()
}

fn row(record: &Record<'_>, campaigns: &[Campaign], layer: &Layer) -> LayerRow {
    let campaign = layer.campaign.and_then(|place| campaigns.get(place));
    // What a treatment is held against is the layer as it came to light. Of readings that lie too
    // far apart no middle is a colour.
    let first = layer.sittings().find(|one| !one.is_unsteady());
    let colour = first.and_then(LayerColour::swatch);
    let said = |words: &Option<String>| {
        let words = words.as_deref().unwrap_or_default();
        record.voice.words(words)
    };
    let on_top = layer.on_top.as_ref().map_or_else(String::new, |markers| {
        if markers.is_empty() {
            "nothing".to_owned()
        } else {
            let words: Vec<&str> = markers.iter().map(|one| marker_word(*one)).collect();
            words.join(", ")
        }
    });
    LayerRow {
        number: layer.number,
        word: record.voice.words(&layer.word),
        lab: colour.map(|colour| [colour.l, colour.a, colour.b]),
        munsell: said(&layer.munsell),
        material: said(&layer.material),
        metal: layer
            .metal
            .map_or_else(String::new, |metal| metal_word(metal).to_owned()),
        on_top,
        campaign: match (campaign, layer.unplaced) {
            (Some(it), _) => it.number.to_string(),
            (None, Some(why)) => why.words().to_owned(),
            (None, None) => String::new(),
        },
        dug_out: layer.dug_out,
        sittings: layer.sittings().cloned().collect(),
        colour_line: first.map(|one| one.stamp.n),
        line: layer.stamp.n,
    }
}

/// Words that speak of leaf or metal (*common practice*).
const METAL_WORDS: [&str; 18] = [
    "leaf",
    "foil",
    "metal",
    "metallic",
    "powder",
    "bronze",
    "gold",
    "gilt",
    "gilded",
    "gilding",
    "silver",
    "silvered",
    "aluminium",
    "copper",
    "brass",
    "tin",
    "platinum",
    "palladium",
];

/// Returns the layers as tables, what contradicts itself, and where nobody looked.
pub(super) fn layer_blocks(record: &Record<'_>) -> Vec<Block> {
    let stacks = stacks(record);
    let heads = vec![
        "layer", "colour", "Munsell", "material", "metal", "on top", "campaign",
    ];
    if stacks.is_empty() {
        return vec![Block::Table(Table {
            caption: "Layers of old paint, one by one".to_owned(),
            heads,
            rows: Vec::new(),
        })];
    }
    let mut blocks = Vec::new();
    for stack in stacks {
        let place = format!(
            "at {}, exposure {}",
            record.place(&stack.zone),
            stack.exposure
        );
        let read: Vec<Vec<Cell>> = stack
            .rows
            .iter()
            .flat_map(|row| sittings(record, row))
            .collect();
        blocks.push(Block::Table(Table {
            caption: format!("Layers {place}, from the wood outward, colours as first read"),
            heads: heads.clone(),
            rows: stack.rows.into_iter().map(cells).collect(),
        }));
        if !read.is_empty() {
            blocks.push(Block::Table(Table {
                caption: format!("Colours {place}, each time they were read"),
                heads: vec!["layer", "read", "colour", "spread", "how", "since first"],
                rows: read,
            }));
        }
    }
    blocks.push(Block::Words(
        "The patches are pointers: screens and printers show other colours. The numbers decide. \
         They are CIELAB, the middle of three readings; the spread is how far the worst of the \
         three lies from it, and a drift how far a later middle lies from the first, both in \
         CIEDE2000."
            .to_owned(),
    ));
    let known = layers(record.ask.house, &record.ask.figure.id);
    blocks.push(Block::Table(ties(record, &known.ties)));
    let doubts: Vec<String> = known.contradictions.into_iter().map(doubt).collect();
    if !doubts.is_empty() {
        blocks.push(Block::Head(format!(
            "Readings that cannot all be right: {NOT_SETTLED}"
        )));
        blocks.push(Block::List(doubts));
    }
    let unseen: Vec<String> = known
        .not_studied
        .iter()
        .map(|at| record.place(at))
        .collect();
    if !unseen.is_empty() {
        let unseen = unseen.join("; ");
        blocks.push(Block::Facts(vec![Fact::new(
            "no exposure was cut at",
            Some(unseen),
        )]));
    }
    blocks
}

/// What the campaigns rest on: which layers were tied, by what, and who says so.
fn ties(record: &Record<'_>, ties: &[TieSeen]) -> Table {
    let place = |at: &LayerPlace| place_words(record.ask.figure, at);
    let rows = ties.iter().map(|TieSeen { said, stamp }| {
        vec![
            Cell::of(place(&said.one)),
            Cell::of(relation_words(said.relation)),
            Cell::of(place(&said.other)),
            Cell::of(record.voice.words(&said.by_marker)),
            Cell::of(record.voice.who(&stamp.by)),
            Cell::of(stamp.n.to_string()),
        ]
    });
    Table {
        caption: "Ties between exposures, on which the campaigns rest".to_owned(),
        heads: vec!["layer", "how", "other layer", "by what", "who", "line"],
        rows: rows.collect(),
    }
}

/// What cannot all be right, with each thing that was said and the line it stands in.
fn doubt(one: Contradiction) -> String {
    let said = one.observations.into_iter();
    let said = said.map(|seen| format!("line {}: {}", seen.line, seen.words));
    let said = said.collect::<Vec<_>>().join("; ");
    format!("{}. What was said: {said}", one.words)
}

/// The metal of a layer. Plain paint has none, and nobody is asked to write that down; where
/// its words speak of metal and the kind was not noted, it is lacking.
fn metal(row: &LayerRow) -> Cell {
    let said = format!("{} {}", row.word, row.material).to_lowercase();
    let mut words = said.split(|sign: char| !sign.is_alphanumeric());
    let is_spoken_of = words.any(|word| METAL_WORDS.contains(&word));
    if row.metal.is_empty() && !is_spoken_of {
        Cell::of("none noted")
    } else {
        Cell::of(row.metal.as_str())
    }
}

fn cells(row: LayerRow) -> Vec<Cell> {
    let metal = metal(&row);
    let colour = match row.lab.and_then(|[l, a, b]| Colour::lab(l, a, b).ok()) {
        Some(colour) => Cell::Swatch(
            colour.to_srgb(),
            format!("{} {}", row.word, lab_words(colour))
                .trim()
                .to_owned(),
        ),
        None => Cell::of(row.word),
    };
    let campaign = if row.campaign == Unplaced::Contradicts.words() {
        format!("{}, see below", row.campaign)
    } else if row.number == 0 {
        "wood".to_owned()
    } else {
        row.campaign
    };
    vec![
        Cell::of(row.number.to_string()),
        colour,
        Cell::of(row.munsell),
        Cell::of(row.material),
        metal,
        Cell::of(row.on_top),
        Cell::of(campaign),
    ]
}

fn lab_words(colour: Colour) -> String {
    let Colour { l, a, b } = colour;
    format!("L* {l:.1} a* {a:.1} b* {b:.1}")
}

/// A layer's colour at every sitting, a row for each.
fn sittings(record: &Record<'_>, row: &LayerRow) -> Vec<Vec<Cell>> {
    let first = row.sittings.first();
    let rows = row.sittings.iter().zip(0_usize..).filter_map(|(one, nth)| {
        let since = match first {
            Some(first) if 0 < nth => drifted(first, one),
            _ if row.dug_out && row.sittings.len() == 1 => {
                "not read again yet; it bleaches in daylight".to_owned()
            }
            _ => "first reading".to_owned(),
        };
        let colour = one.swatch()?;
        let patch = if one.is_unsteady() {
            Cell::of(lab_words(colour))
        } else {
            Cell::Swatch(colour.to_srgb(), lab_words(colour))
        };
        Some(vec![
            Cell::of(row.number.to_string()),
            Cell::of(record.day(one.stamp.at)),
            patch,
            Cell::of(spread(one)),
            Cell::of(how(record, one)),
            Cell::of(since),
        ])
    });
    rows.collect()
}

fn spread(one: &LayerColour) -> String {
    match one.middle {
        Some((_, spread)) if one.is_unsteady() => format!("{spread:.1}, too far apart"),
        Some((_, spread)) => format!("{spread:.1}"),
        None => format!("none: read {}", counted(one.readings.len(), "time")),
    }
}

fn how(record: &Record<'_>, one: &LayerColour) -> String {
    let light = one.light.as_ref();
    let light = light.map_or_else(
        || "light not recorded".to_owned(),
        |light| record.voice.words(light),
    );
    let spot = one.spot.map_or("spot not recorded", spot_word);
    let dark = if one.dug_out { "; out of the dark" } else { "" };
    format!("{light}; {spot}{dark}")
}

/// How far a colour went since the first sitting. Unlike sittings are no drift.
fn drifted(first: &LayerColour, one: &LayerColour) -> String {
    let days = (one.stamp.at - first.stamp.at).as_seconds_f64() / 86_400.0;
    let after = format!("{days:.0} days");
    let (Some((from, _)), Some((to, _))) = (first.middle, one.middle) else {
        return format!("{after}; not to be compared: one was not read three times");
    };
    if first.spot != one.spot {
        return format!("{after}; not to be compared: wetted and dry differ");
    }
    let apart = difference(from, to);
    let early = if days < DRIFT_DAYS {
        "; too soon to call it drift"
    } else {
        ""
    };
    format!(
        "CIEDE2000 {:.1} in {after}: {}{early}",
        apart.delta_e_2000,
        apart.drift_words()
    )
}

/// A chip of new colour and what may be said of it.
pub(super) struct Tried<'a> {
    /// The chip.
    pub(super) chip: &'a ChipRead,
    /// Who measured it and when.
    pub(super) stamp: &'a Stamp,
    /// What was judged, or why nothing was.
    pub(super) verdict: String,
    /// When the colour that it is held against was read; `None` where nobody read it.
    against: Option<DateTime<FixedOffset>>,
}

/// Returns the chips of new colour in the order in which they were measured.
pub(super) fn tried<'a>(record: &Record<'a>) -> Vec<Tried<'a>> {
    let id = &record.ask.figure.id;
    let standing = record.ask.house.figure(id);
    let known = layers(record.ask.house, id);
    let chips = standing.into_iter().flat_map(|it| &it.chips);
    let tried = chips.map(|(chip, stamp)| Tried {
        verdict: verdict_words(&repaint(record.ask.figure, &known, chip), |apart| {
            format!("CIEDE2000 {apart:.1}")
        }),
        against: find(&known, &chip.wanted)
            .and_then(|layer| layer.colour.as_ref())
            .map(|colour| colour.stamp.at),
        chip,
        stamp,
    });
    tried.collect()
}

/// Returns the chips as a table.
pub(super) fn chips(record: &Record<'_>) -> Block {
    let rows = tried(record).into_iter().map(|one| chip_row(record, one));
    Block::Table(Table {
        caption: "New colour tried against them: a dry, varnished chip under two lights is judged"
            .to_owned(),
        heads: vec!["when", "who", "chip for", "chip", "verdict", "line"],
        rows: rows.collect(),
    })
}

fn chip_row(record: &Record<'_>, one: Tried<'_>) -> Vec<Cell> {
    let (chip, stamp) = (one.chip, one.stamp);
    let readings = chip.lab.iter();
    let readings: Vec<Colour> = readings
        .filter_map(|[l, a, b]| Colour::lab(*l, *a, *b).ok())
        .collect();
    let middle = crate::reckon::colour::middle_colour(&readings).ok();
    let colour = middle.map(|(middle, _)| middle);
    let colour = colour.or_else(|| readings.first().copied());
    let lights = lights_words(chip);
    let lights = record.voice.words(if lights.is_empty() {
        "seen under no light"
    } else {
        &lights
    });
    let said = format!("{}; {lights}", state_words(chip));
    let shown = match colour {
        Some(colour) => Cell::Swatch(colour.to_srgb(), format!("{}; {said}", lab_words(colour))),
        None => Cell::of(said),
    };
    let zone = record.place(&chip.zone);
    let repeats = place_words(record.ask.figure, &chip.wanted);
    let as_read = one
        .against
        .map_or_else(String::new, |at| format!(", as read on {}", record.day(at)));
    vec![
        Cell::of(record.when(stamp.at)),
        Cell::of(record.voice.who(&stamp.by)),
        Cell::of(format!("{zone}; repeats {repeats}{as_read}")),
        shown,
        Cell::of(one.verdict),
        Cell::of(stamp.n.to_string()),
    ]
}
