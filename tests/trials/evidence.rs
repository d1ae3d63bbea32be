//! What the sample shop has to show in its dossiers: layers in exposures, ties, chips, and
//! photographs. The photographs are drawn from the outlines, small and few; they are written
//! anew together with the journals.

#![expect(
    clippy::disallowed_methods,
    reason = "whether the pictures are drawn anew is asked of the one who runs the trials"
)]

use std::path::{Path, PathBuf};

use knuckle::card::{Figure, Outline, PlacedShape};
use knuckle::deed::{
    ChipRead, LayerPlace, LayerRead, LayersTied, LightSeen, Marker, Metal, PhotoKept, Relation,
    Spot,
};
use knuckle::disk::{RealDisk, replace};
use knuckle::shop::picture_head;
use knuckle::standing::Intent;

use crate::kit::{photo_kept, sha256};
use crate::memory::sample_cards;

/// An act of the story: when, who, what.
pub(crate) type Told = (&'static str, &'static str, Intent);

/// One layer: its place as zone/exposure/layer, word, Munsell, L*a*b*, what lies on it.
type Row = (
    &'static str,
    &'static str,
    &'static str,
    [f64; 3],
    &'static str,
);

const NONE: [f64; 3] = [0.0; 3];

const HARE: [Row; 11] = [
    (
        "body-near/1/1",
        "white ground",
        "N 9.25/",
        [92.4, -0.6, 5.1],
        "",
    ),
    (
        "body-near/1/2",
        "fawn",
        "10YR 7/4",
        [71.8, 6.2, 24.0],
        "varnish",
    ),
    (
        "body-near/1/3",
        "grey ground",
        "N 6.5/",
        [66.0, -0.4, 1.2],
        "",
    ),
    (
        "body-near/1/4",
        "dark green",
        "5G 3/4",
        [31.2, -19.6, 6.4],
        "dirt",
    ),
    (
        "body-near/1/5",
        "brown house paint",
        "5YR 3/4",
        [32.0, 14.2, 19.8],
        "",
    ),
    (
        "saddle-seat/1/1",
        "red",
        "7.5R 4/12",
        [41.0, 50.2, 28.3],
        "wear",
    ),
    ("saddle-seat/1/2", "black", "N 2/", [22.4, 0.2, 0.6], "dirt"),
    (
        "saddle-seat/1/3",
        "brown house paint",
        "5YR 3/4",
        [31.7, 14.6, 20.3],
        "",
    ),
    (
        "strap/1/1",
        "ochre ground",
        "10YR 6/8",
        [62.3, 14.0, 52.5],
        "",
    ),
    ("strap/1/2", "gold leaf", "", NONE, "dirt"),
    (
        "strap/1/3",
        "brown house paint",
        "5YR 3/4",
        [32.4, 14.0, 19.1],
        "",
    ),
];

const HERON: [Row; 4] = [
    (
        "strap/1/1",
        "ochre ground",
        "10YR 6/8",
        [63.0, 13.1, 50.8],
        "",
    ),
    ("strap/1/2", "gold leaf", "", NONE, "varnish"),
    (
        "strap/1/3",
        "brown glaze",
        "7.5YR 4/6",
        [43.2, 12.9, 33.0],
        "dirt",
    ),
    ("strap/1/4", "gold leaf", "", NONE, ""),
];

/// The cap was read the other way round than the trousers: a circle that waits for a second
/// look.
const BANDMASTER: [Row; 7] = [
    (
        "trousers/2/1",
        "blue",
        "5PB 3/8",
        [32.5, 1.9, -33.4],
        "varnish",
    ),
    ("trousers/2/2", "red", "5R 4/12", [42.3, 49.0, 24.6], "dirt"),
    (
        "trousers/2/3",
        "cream house paint",
        "2.5Y 8/4",
        [81.9, 1.0, 25.2],
        "",
    ),
    ("cap/1/1", "red", "5R 4/12", [42.0, 49.6, 24.2], "dirt"),
    ("cap/1/2", "blue", "5PB 3/8", [32.9, 1.6, -33.0], ""),
    ("braid/1/1", "gold leaf", "", NONE, "dirt"),
    (
        "braid/1/2",
        "bronze powder",
        "2.5Y 5/6",
        [52.0, 6.1, 38.0],
        "",
    ),
];

/// Ties: one, how, the other, by what.
const TIES: [(&str, &str, Relation, &str, &str); 6] = [
    (
        "hare",
        "saddle-seat/1/3",
        Relation::SameAs,
        "body-near/1/5",
        "the same house paint",
    ),
    (
        "hare",
        "strap/1/3",
        Relation::SameAs,
        "body-near/1/5",
        "the same house paint",
    ),
    (
        "hare",
        "strap/1/2",
        Relation::SameAs,
        "body-near/1/2",
        "one varnish over both",
    ),
    (
        "hare",
        "saddle-seat/1/2",
        Relation::SameAs,
        "body-near/1/4",
        "green in the black",
    ),
    (
        "bandmaster",
        "cap/1/1",
        Relation::SameAs,
        "trousers/2/2",
        "the same red",
    ),
    (
        "bandmaster",
        "cap/1/2",
        Relation::SameAs,
        "trousers/2/1",
        "the same blue",
    ),
];

/// Photographs: figure, part, station, day and hour, who. A figure's part is drawn alone.
const PHOTOS: [(&str, Option<&str>, &str, &str, &str); 10] = [
    (
        "hare",
        None,
        "near side",
        "2026-11-02T09:02:00+00:00",
        "ines",
    ),
    (
        "hare",
        Some("body-near"),
        "before",
        "2026-11-03T11:20:00+00:00",
        "ines",
    ),
    (
        "hare",
        Some("body-near"),
        "before raking",
        "2026-11-03T11:24:00+00:00",
        "ines",
    ),
    (
        "hare",
        Some("body-near"),
        "layer reached",
        "2026-11-10T15:31:00+00:00",
        "ines",
    ),
    (
        "hare",
        Some("saddle-seat"),
        "before",
        "2026-11-03T15:10:00+00:00",
        "ines",
    ),
    (
        "hare",
        Some("J3"),
        "clamp plan",
        "2026-11-24T15:40:00+00:00",
        "odile",
    ),
    (
        "heron",
        Some("strap"),
        "before",
        "2026-11-03T15:32:00+00:00",
        "wren",
    ),
    (
        "heron",
        Some("strap"),
        "body colour",
        "2026-11-24T16:02:00+00:00",
        "tobias",
    ),
    (
        "bandmaster",
        Some("trousers"),
        "before",
        "2026-11-05T14:20:00+00:00",
        "ines",
    ),
    (
        "bandmaster",
        Some("trousers"),
        "layer reached",
        "2026-11-12T14:05:00+00:00",
        "ines",
    ),
];

fn place(text: &str) -> LayerPlace {
    let parts: Vec<&str> = text.split('/').collect();
    LayerPlace {
        zone: parts[0].into(),
        exposure: parts[1].into(),
        layer: parts[2].parse().unwrap(),
    }
}

fn three([l, a, b]: [f64; 3]) -> Vec<[f64; 3]> {
    let tenth = |number: f64| (number * 10.0).round() / 10.0;
    [[l, a, b], [l + 0.3, a, b - 0.2], [l - 0.2, a + 0.2, b]]
        .map(|reading| reading.map(tenth))
        .to_vec()
}

fn read((at, word, munsell, lab, on_top): Row) -> LayerRead {
    let mut read = LayerRead::at(place(at));
    read.word = Some(word.into());
    read.munsell = (!munsell.is_empty()).then(|| munsell.into());
    if lab != NONE {
        read.lab = three(lab);
        read.spot = Some(Spot::Dry);
        read.light = Some("daylight lamp".into());
    }
    read.metal = match word {
        "gold leaf" => Some(Metal::Leaf),
        "bronze powder" => Some(Metal::BronzePowder),
        _ => None,
    };
    read.on_top = Some(match on_top {
        "" => Vec::new(),
        "dirt" => vec![Marker::Dirt],
        "wear" => vec![Marker::Wear],
        _ => vec![Marker::Varnish],
    });
    read.dug_out = word == "fawn";
    read
}

fn chip(zone: &str, wanted: &str, lab: [f64; 3], varnished: bool) -> ChipRead {
    let seen = |light: &str| LightSeen {
        light: light.into(),
        matches: true,
    };
    ChipRead {
        zone: zone.into(),
        wanted: place(wanted),
        lab: three(lab),
        dry: true,
        varnished,
        lights: vec![seen("daylight"), seen("lamp")],
        agreed: None,
    }
}

/// Returns how many layers or campaigns the walker of the layer study counts in a zone.
pub(crate) fn count(figure: &str, zone: &str, record: &str) -> Option<f64> {
    let rows: &[Row] = match figure {
        "hare" => &HARE,
        "heron" => &HERON,
        "bandmaster" => &BANDMASTER,
        _ => return None,
    };
    let here = rows.iter().filter(|row| place(row.0).zone == zone);
    let (layers, parted) = here.fold((0, 1), |(layers, parted), row| {
        (layers + 1, parted + u32::from(!row.4.is_empty()))
    });
    match (layers, record) {
        (0, _) => None,
        (_, "layers") => Some(f64::from(layers)),
        (_, "campaigns") => Some(f64::from(parted)),
        _ => None,
    }
}

/// Returns the acts, by their moments.
pub(crate) fn events() -> Vec<Told> {
    let mut told: Vec<Told> = Vec::new();
    let mut all = |figure: &str, at: &'static str, rows: &[Row]| {
        told.extend(rows.iter().map(|row| {
            let intent = Intent::ReadLayer {
                figure: figure.into(),
                read: read(*row),
            };
            (at, "tobias", intent)
        }));
    };
    all("hare", "2026-11-06T13:20:00+00:00", &HARE);
    all("heron", "2026-11-06T14:05:00+00:00", &HERON);
    all("bandmaster", "2026-11-09T10:40:00+00:00", &BANDMASTER);
    told.extend(TIES.iter().map(|(figure, one, relation, other, by)| {
        let tie = LayersTied {
            one: place(one),
            relation: *relation,
            other: place(other),
            by_marker: (*by).into(),
        };
        let figure = (*figure).into();
        (
            "2026-11-09T11:15:00+00:00",
            "tobias",
            Intent::TieLayers { figure, tie },
        )
    }));
    // The fawn was yellow from the dark; two weeks of daylight later it was read again.
    let mut again = LayerRead::at(place("body-near/1/2"));
    again.lab = three([73.6, 5.1, 20.2]);
    again.spot = Some(Spot::Dry);
    again.light = Some("daylight lamp".into());
    let read = |read| Intent::ReadLayer {
        figure: "hare".into(),
        read,
    };
    told.push(("2026-11-23T13:10:00+00:00", "tobias", read(again)));
    for (at, figure, chip) in [
        (
            "2026-11-20T11:45:00+00:00",
            "heron",
            chip("strap", "strap/1/1", [62.1, 13.6, 49.4], true),
        ),
        (
            "2026-11-24T11:30:00+00:00",
            "hare",
            chip("body-near", "body-near/1/2", [72.9, 5.3, 21.6], false),
        ),
    ] {
        let figure = figure.into();
        told.push((at, "tobias", Intent::ReadChip { figure, chip }));
    }
    told.extend(photos());
    told
}

fn file_of(figure: &str, part: Option<&str>, station: &str, at: &str) -> String {
    let part = part.map_or_else(String::new, |part| format!("-{part}"));
    let station = station.replace(' ', "-");
    let day = at.split('T').next().unwrap();
    format!("photos/{figure}{part}-{station}-{day}.png")
}

fn photos() -> Vec<Told> {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop/figures");
    let update = std::env::var_os("UPDATE_GOLDEN").is_some();
    let photos = PHOTOS.iter().map(|(figure, part, station, at, by)| {
        let file = file_of(figure, *part, station, at);
        let path: PathBuf = sample.join(figure).join(&file);
        if update {
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            replace(&RealDisk, &path, &drawn(figure, *part, station)).unwrap();
        }
        let bytes = std::fs::read(&path).unwrap_or_default();
        let photo = PhotoKept {
            pixels: picture_head(&bytes).ok().map(|head| head.pixels),
            ..photo_kept(file, sha256(&bytes), (*part, station))
        };
        let figure = (*figure).into();
        (*at, *by, Intent::KeepPhoto { figure, photo })
    });
    photos.collect()
}

const WIDE: usize = 144;
const HIGH: usize = 100;

/// Draws a photograph: the figure's outline before a grey ground, the part in its colour of
/// the day, a row of colour targets at the foot. Eight colours, so that it stays small.
fn drawn(figure: &str, part: Option<&str>, station: &str) -> Vec<u8> {
    let cards = sample_cards();
    let card = &cards.figures[figure];
    let zones: Vec<&str> = match part.and_then(|id| card.joints.iter().find(|it| it.id == id)) {
        Some(joint) => joint.zones.iter().map(String::as_str).collect(),
        None => part.into_iter().collect(),
    };
    let own = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("sample-shop/figures")
            .join(figure)
            .join("outline.yaml"),
    );
    let outline = own.map_or_else(
        |_| Outline::for_figure(card),
        |text| knuckle::card::read_outline("outline.yaml", &text).unwrap(),
    );
    let shapes = shapes(&outline, card);
    let palette = palette(station);
    let mut pixels = Vec::with_capacity(WIDE * HIGH);
    let frame = Frame::of(&shapes, &zones);
    for y in 0..HIGH {
        for x in 0..WIDE {
            pixels.push(colour_at((x, y), &frame, (&shapes, &zones), station));
        }
    }
    png_of(&pixels, &palette)
}

fn shapes(outline: &Outline, card: &Figure) -> Vec<PlacedShape> {
    let side = &outline.sides[0];
    let placed = outline.placed(side, card).into_iter();
    placed.filter(|shape| !shape.is_joint).collect()
}

/// Ground, floor, old paint, dirt, the part's colour, its light, its shade, white.
fn palette(station: &str) -> [[u8; 3]; 8] {
    let part = match station {
        "layer reached" => [[196, 164, 120], [216, 188, 146], [158, 128, 92]],
        "body colour" => [[190, 146, 62], [214, 174, 92], [150, 110, 40]],
        "clamp plan" => [[176, 142, 100], [198, 166, 124], [60, 62, 68]],
        _ => [[112, 74, 52], [136, 96, 70], [78, 50, 36]],
    };
    [
        [104, 112, 118],
        [66, 62, 58],
        [92, 72, 60],
        [48, 40, 34],
        part[0],
        part[1],
        part[2],
        [232, 228, 218],
    ]
}

/// The part of the drawing that the camera sees.
struct Frame {
    from: [f64; 2],
    scale: f64,
}

impl Frame {
    fn of(shapes: &[PlacedShape], zones: &[&str]) -> Self {
        let near: Vec<&[f64; 2]> = shapes
            .iter()
            .filter(|shape| zones.is_empty() || zones.contains(&shape.part.as_str()))
            .flat_map(|shape| &shape.line)
            .collect();
        let span = |axis: usize| {
            let all = near.iter().map(|corner| corner[axis]);
            let (low, high) = (
                all.clone().fold(f64::INFINITY, f64::min),
                all.fold(f64::NEG_INFINITY, f64::max),
            );
            (f64::midpoint(low, high), (high - low) * 1.3)
        };
        let ((x, wide), (y, high)) = (span(0), span(1));
        let scale = (wide / 144.0).max(high / 88.0);
        Self {
            from: [x - 72.0 * scale, y - 46.0 * scale],
            scale,
        }
    }
}

fn colour_at(
    (x, y): (usize, usize),
    frame: &Frame,
    (shapes, zones): (&[PlacedShape], &[&str]),
    station: &str,
) -> u8 {
    if y >= HIGH - 8 {
        return if x % 18 < 14 && y < HIGH - 2 {
            u8::try_from(x / 18).unwrap()
        } else {
            1
        };
    }
    let number = |n: usize| f64::from(u32::try_from(n).unwrap());
    let at = [
        frame.from[0] + number(x) * frame.scale,
        frame.from[1] + number(y) * frame.scale,
    ];
    let on_top = shapes.iter().rev().find(|shape| inside(&shape.line, at));
    let Some(shape) = on_top else {
        return u8::from(y > HIGH * 3 / 4);
    };
    let is_part = zones.is_empty() || zones.contains(&shape.part.as_str());
    // Losses and lines, scattered alike on every machine.
    let speck = (x * 7919 + y * 104_729) % 97;
    match (is_part, station) {
        (false, _) => 2 + u8::from(speck < 4),
        (true, "before raking") => [5, 4, 6][(x + y) / 5 % 3],
        (true, "clamp plan") if x / 12 % 3 == 1 => 6,
        (true, "before" | "near side") if speck < 9 => 3,
        (true, _) if (x + 2 * y) % 60 < 14 => 5,
        (true, _) if speck < 3 => 6,
        (true, _) => 4,
    }
}

fn inside(line: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let next = line.iter().cycle().skip(1);
    let crossed = line.iter().zip(next).filter(|(from, to)| {
        (from[1] <= y) != (to[1] <= y)
            && x < from[0] + (to[0] - from[0]) * (y - from[1]) / (to[1] - from[1])
    });
    crossed.count() % 2 == 1
}

fn png_of(pixels: &[u8], palette: &[[u8; 3]; 8]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let wide = u32::try_from(WIDE).unwrap();
    let high = u32::try_from(HIGH).unwrap();
    let mut encoder = png::Encoder::new(&mut bytes, wide, high);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Four);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    let mut writer = encoder.write_header().unwrap();
    let packed: Vec<u8> = pixels
        .chunks_exact(2)
        .map(|two| two[0] << 4 | two[1])
        .collect();
    writer.write_image_data(&packed).unwrap();
    writer.finish().unwrap();
    bytes
}

#[test]
fn every_photograph_of_the_sample_shop_is_the_one_its_journal_tells_of() {
    use knuckle::deed::{Deed, Line};
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop/figures");
    let mut found = 0;
    let mut bytes = 0;
    for figure in sample_cards().figures.keys() {
        let folder = sample.join(figure);
        let text = std::fs::read_to_string(folder.join("journal.jsonl")).unwrap();
        for line in text.lines().map(|line| Line::read(line).unwrap()) {
            if let Deed::PhotoKept(photo) = line.deed {
                let shown = knuckle::shop::show_photo(&RealDisk, &folder, &photo, [64, 64]);
                shown.unwrap_or_else(|why| panic!("{figure}: {}: {why}", photo.file));
                bytes += std::fs::metadata(folder.join(&photo.file)).unwrap().len();
                found += 1;
            }
        }
    }
    assert_eq!(found, PHOTOS.len());
    assert!(bytes < 100_000, "{bytes} bytes: the program carries them");
}
