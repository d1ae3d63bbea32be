//! What was measured, as drawings and tables: layers of old paint, joints, moisture, air, coats,
//! test words.

use super::joint::JointMap;
use super::plot::{Curve, Plot, Timeline};
use super::record::Record;
use super::sheet::{Block, Cell, Fact, Table};
use super::tables::rooms;
use crate::reckon::colour::Colour;
use crate::report::Shown;
use crate::report::shown::number;
use crate::standing::{
    Campaign, Depth, JointSeen, Layer, LayerColour, MoistureSeries, TimePoint, coats, joints,
    layers, marker_word, metal_word, moisture, moisture_target, test_words,
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
    /// Colour in CIELAB.
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
    /// The line that it was read in.
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
    let colour = layer.colour.as_ref().and_then(LayerColour::swatch);
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
        campaign: campaign.map_or_else(String::new, |it| it.number.to_string()),
        line: layer.stamp.n,
    }
}

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
    let mut blocks: Vec<Block> = stacks
        .into_iter()
        .map(|stack| {
            Block::Table(Table {
                caption: format!(
                    "Layers at {}, exposure {}, from the wood outward",
                    record.place(&stack.zone),
                    stack.exposure
                ),
                heads: heads.clone(),
                rows: stack.rows.into_iter().map(cells).collect(),
            })
        })
        .collect();
    blocks.push(Block::Words(
        "The patches are pointers: screens and printers show other colours. The numbers decide."
            .to_owned(),
    ));
    let known = layers(record.ask.house, &record.ask.figure.id);
    let doubts: Vec<String> = known
        .contradictions
        .into_iter()
        .map(|one| one.words)
        .collect();
    if !doubts.is_empty() {
        blocks.push(Block::Head("Readings that cannot all be right".to_owned()));
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

fn cells(row: LayerRow) -> Vec<Cell> {
    let colour = match row.lab.and_then(|[l, a, b]| Colour::lab(l, a, b).ok()) {
        Some(colour) => {
            let Colour { l, a, b } = colour;
            let words = format!("{} L* {l:.1} a* {a:.1} b* {b:.1}", row.word);
            Cell::Swatch(colour.to_srgb(), words.trim().to_owned())
        }
        None => Cell::of(row.word),
    };
    vec![
        Cell::of(row.number.to_string()),
        colour,
        Cell::of(row.munsell),
        Cell::of(row.material),
        Cell::of(row.metal),
        Cell::of(row.on_top),
        Cell::of(row.campaign),
    ]
}

/// Returns the gap map of every joint that has one.
pub(super) fn gap_rows(record: &Record<'_>) -> Vec<JointMap> {
    let all = joints(record.ask.house, &record.ask.figure.id);
    all.iter()
        .filter(|joint| !joint.gaps.rows.is_empty())
        .map(|joint| map(record, joint))
        .collect()
}

fn map(record: &Record<'_>, joint: &JointSeen) -> JointMap {
    let card = record.ask.figure.joints.iter();
    let between = card.clone().find(|card| card.id == joint.id);
    JointMap {
        id: joint.id.clone(),
        between: between.map(|card| card.between.clone()).unwrap_or_default(),
        size_mm: joint.face_mm,
        rows: joint.gaps.rows.clone(),
        read: if joint.gaps.from_card {
            "from the card: an earlier visit".to_owned()
        } else {
            "read at the bench".to_owned()
        },
    }
}

/// Returns how every joint stands, and the maps of their gaps.
pub(super) fn drawings(record: &Record<'_>) -> Vec<Block> {
    let all = joints(record.ask.house, &record.ask.figure.id);
    let rows = all.iter().map(|joint| {
        let [one, other] = &joint.boards;
        let since = joint.since.as_ref();
        let since = since.map_or_else(String::new, |stamp| record.day(stamp.at));
        let cups: Vec<String> = joint
            .cups
            .iter()
            .map(|cup| format!("{}, lots {}", cup.material, cup.lots.join(" + ")))
            .collect();
        vec![
            Cell::of(joint.id.clone()),
            Cell::of(format!("{one}, {other}").trim_end_matches(", ").to_owned()),
            Cell::of(joint.state.words()),
            Cell::of(since),
            Cell::of(record.voice.words(&joint.decision)),
            Cell::of(cups.join("; ")),
        ]
    });
    let mut blocks = vec![Block::Table(Table {
        caption: "Joints and how they stand".to_owned(),
        heads: vec![
            "joint",
            "between",
            "state",
            "since",
            "decided",
            "glued with",
        ],
        rows: rows.collect(),
    })];
    let maps = gap_rows(record);
    if maps.is_empty() {
        blocks.push(Block::Facts(vec![Fact::new("maps of gaps", None)]));
    }
    blocks.extend(maps.iter().filter_map(JointMap::draw).map(Block::Drawing));
    blocks
}

/// Returns moisture, air, coats and test words over time.
pub(super) fn measured(record: &Record<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut put = |name: &str, drawings: Vec<super::sheet::Drawing>| {
        if drawings.is_empty() {
            blocks.push(Block::Facts(vec![Fact::new(name, None)]));
        }
        blocks.extend(drawings.into_iter().map(Block::Drawing));
    };
    put("moisture of the wood", wood(record));
    put("air of the rooms", air(record));
    put("coats", coat_rows(record).draw().into_iter().collect());
    put(
        "tests of tack and drying",
        word_rows(record).draw().into_iter().collect(),
    );
    blocks
}

/// Moisture by place: the worst reading at each depth of each moment, for the worst decides.
fn wood(record: &Record<'_>) -> Vec<super::sheet::Drawing> {
    let all = moisture(record.ask.house, &record.ask.figure.id);
    let mut places: Vec<Option<String>> = Vec::new();
    for series in &all {
        if !places.contains(&series.target) {
            places.push(series.target.clone());
        }
    }
    let target = moisture_target(record.ask.house, &record.ask.figure.id);
    let plots = places.into_iter().filter_map(|place| {
        let here = || all.iter().filter(|one| one.target == place);
        let curve = |name: &str, depth: Depth| Curve {
            name: name.to_owned(),
            points: worst(here().filter(|one| one.depth == depth)),
        };
        let named = place.as_deref();
        let named = named.map_or_else(|| "on arrival".to_owned(), |at| record.place(at));
        Plot {
            title: format!("Moisture of the wood, {named}"),
            unit: "%".to_owned(),
            curves: vec![
                curve("skin, wettest point of each day", Depth::Skin),
                curve("core, wettest point of each day", Depth::Core),
            ],
            limit: Some((
                format!(
                    "not more than {} % before glue and paint",
                    number(target, 1)
                ),
                target,
            )),
        }
        .draw()
    });
    plots.collect()
}

/// The wettest reading of each day.
fn worst<'a>(all: impl Iterator<Item = &'a MoistureSeries>) -> Vec<super::plot::Point> {
    let mut days: Vec<super::plot::Point> = Vec::new();
    let mut points: Vec<&TimePoint> = all.flat_map(|series| &series.points).collect();
    points.sort_by_key(|point| point.at);
    for point in points {
        match days.last_mut() {
            Some((at, value)) if at.date_naive() == point.at.date_naive() => {
                *value = value.max(point.value);
            }
            _ => days.push((point.at, point.value)),
        }
    }
    days
}

fn air(record: &Record<'_>) -> Vec<super::sheet::Drawing> {
    let shown = Shown(record.cards().shop.units);
    let mut plots = Vec::new();
    let rooms = rooms(record);
    for (title, unit, is_humidity) in [
        ("Temperature of the air", "°C", false),
        ("Humidity of the air", "%", true),
    ] {
        let curves = rooms.iter().map(|(room, readings)| {
            let known = record.cards().shop.rooms.iter().find(|one| one.id == *room);
            Curve {
                name: known.map_or(room.as_str(), |room| &room.name).to_owned(),
                points: readings
                    .iter()
                    .map(|one| {
                        let value = if is_humidity {
                            one.humidity_percent
                        } else {
                            shown.number_in_degrees(one.temp_c)
                        };
                        (one.at, value)
                    })
                    .collect(),
            }
        });
        plots.push(Plot {
            title: title.to_owned(),
            unit: if is_humidity { unit } else { shown.degrees() }.to_owned(),
            curves: curves.collect(),
            limit: None,
        });
    }
    plots.iter().filter_map(Plot::draw).collect()
}

fn coat_rows(record: &Record<'_>) -> Timeline {
    let mut rows: Vec<(String, Vec<_>)> = Vec::new();
    for coat in coats(record.ask.house, &record.ask.figure.id) {
        let name = record.place(&coat.target);
        let [number, of] = coat.number;
        let said = format!("{} {number}/{of}", coat.operation);
        match rows.iter_mut().find(|(known, _)| *known == name) {
            Some((_, row)) => row.push((coat.at, said)),
            None => rows.push((name, vec![(coat.at, said)])),
        }
    }
    Timeline {
        title: "Coats, zone by zone".to_owned(),
        rows,
    }
}

fn word_rows(record: &Record<'_>) -> Timeline {
    let mut rows: Vec<(String, Vec<_>)> = Vec::new();
    for test in test_words(record.ask.house, &record.ask.figure.id) {
        let place = record.place(&test.target);
        let name = if test.place.is_empty() {
            place
        } else {
            format!("{place}, {}", test.place)
        };
        match rows.iter_mut().find(|(known, _)| *known == name) {
            Some((_, row)) => row.push((test.at, test.word)),
            None => rows.push((name, vec![(test.at, test.word)])),
        }
    }
    Timeline {
        title: "Test words, place by place".to_owned(),
        rows,
    }
}
