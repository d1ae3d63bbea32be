//! A figure with a record worth looking at: layers, joints, readings, photographs. All of it
//! is written through the bench in memory.

use std::sync::Arc;

use chrono::Duration;
use knuckle::deed::{
    ChipRead, LayerPlace, LayerRead, LayersTied, LightSeen, Marker, Metal, PhotoKept, Relation,
    Spot, Value,
};
use knuckle::screen::{Dossier, Leaf, Page, Shown, Sight, View};
use knuckle::shop::Picture;
use knuckle::standing::{Ask, AtStep, Intent, Prompt};

use super::photo_kept;
use crate::memory::{Bench, at, sample_cards};

/// One layer: number, word, Munsell, colour, marker above it.
type Row = (u32, &'static str, &'static str, [f64; 3], Option<Marker>);

/// The old paint of three zones of the hare.
const STACKS: [(&str, &[Row]); 3] = [
    (
        "body-near",
        &[
            (1, "white ground", "N 9.25/", [92.4, -0.6, 5.1], None),
            (
                2,
                "fawn",
                "10YR 7/4",
                [71.8, 6.2, 24.0],
                Some(Marker::Varnish),
            ),
            (3, "grey ground", "N 6.5/", [66.0, -0.4, 1.2], None),
            (
                4,
                "dark green",
                "5G 3/4",
                [31.2, -19.6, 6.4],
                Some(Marker::Dirt),
            ),
            (5, "brown", "5YR 3/4", [32.0, 14.2, 19.8], None),
        ],
    ),
    (
        "strap",
        &[
            (1, "ochre ground", "10YR 6/8", [62.3, 14.0, 52.5], None),
            (2, "gold leaf", "", [0.0; 3], Some(Marker::Dirt)),
            (
                3,
                "bronze powder",
                "2.5Y 5/6",
                [52.0, 6.1, 38.0],
                Some(Marker::Dirt),
            ),
            (4, "brown", "5YR 3/4", [32.4, 14.0, 19.1], None),
        ],
    ),
    (
        "saddle-seat",
        &[
            (
                1,
                "red",
                "7.5R 4/12",
                [41.0, 50.2, 28.3],
                Some(Marker::Wear),
            ),
            (2, "brown", "5YR 3/4", [31.7, 14.6, 20.3], None),
        ],
    ),
];

pub(crate) fn place(zone: &str, layer: u32) -> LayerPlace {
    LayerPlace {
        zone: zone.into(),
        exposure: "1".into(),
        layer,
    }
}

fn read_layers(bench: &mut Bench) {
    for (zone, rows) in STACKS {
        for (number, word, munsell, [l, a, b], marker) in rows {
            let mut read = LayerRead::at(place(zone, *number));
            read.word = Some((*word).into());
            read.munsell = (!munsell.is_empty()).then(|| (*munsell).into());
            if *l > 0.0 {
                read.lab = vec![[*l, *a, *b], [l + 0.3, *a, b - 0.2], [l - 0.2, a + 0.2, *b]];
            }
            read.spot = Some(Spot::Dry);
            read.light = Some("daylight".into());
            read.metal = match *word {
                "gold leaf" => Some(Metal::Leaf),
                "bronze powder" => Some(Metal::BronzePowder),
                _ => None,
            };
            read.on_top = Some(marker.iter().copied().collect());
            read.dug_out = *word == "fawn";
            act(bench, |figure| Intent::ReadLayer { figure, read });
        }
    }
    let mut tie = |one: (&str, u32), relation, other: (&str, u32), by: &str| {
        let tie = LayersTied {
            one: place(one.0, one.1),
            relation,
            other: place(other.0, other.1),
            by_marker: by.into(),
        };
        act(bench, |figure| Intent::TieLayers { figure, tie });
    };
    tie(
        ("strap", 4),
        Relation::SameAs,
        ("body-near", 5),
        "the same brown",
    );
    tie(
        ("saddle-seat", 2),
        Relation::SameAs,
        ("body-near", 5),
        "the same brown",
    );
    tie(
        ("strap", 2),
        Relation::SameAs,
        ("body-near", 2),
        "fat varnish over both",
    );
    tie(
        ("strap", 3),
        Relation::SameAs,
        ("body-near", 4),
        "green dust in the bronze",
    );
}

fn act(bench: &mut Bench, intent: impl FnOnce(String) -> Intent) {
    bench.wait(2);
    bench.act(&intent("hare".into())).unwrap();
}

/// The fawn again after two weeks, and a chip for it.
fn read_again(bench: &mut Bench) {
    bench.now += Duration::days(15);
    let mut again = LayerRead::at(place("body-near", 2));
    again.lab = vec![[73.6, 5.1, 20.2], [73.4, 5.0, 20.4], [73.9, 5.2, 20.1]];
    again.spot = Some(Spot::Dry);
    act(bench, |figure| Intent::ReadLayer {
        figure,
        read: again,
    });
    let seen = |light: &str| LightSeen {
        light: light.into(),
        matches: true,
    };
    let mut chip = ChipRead {
        zone: "body-near".into(),
        wanted: place("body-near", 2),
        lab: vec![[72.9, 5.3, 21.6], [72.7, 5.4, 21.4], [73.0, 5.2, 21.9]],
        dry: true,
        varnished: true,
        lights: vec![seen("daylight"), seen("lamp")],
        agreed: None,
    };
    let good = chip.clone();
    act(bench, |figure| Intent::ReadChip { figure, chip: good });
    chip.varnished = false;
    act(bench, |figure| Intent::ReadChip { figure, chip });
}

fn photo(bench: &mut Bench, target: &str, station: &str, taken: &str) {
    let file = format!("photos/hare-{target}-{}.png", station.replace(' ', "-"));
    let photo = PhotoKept {
        taken: Some(taken.into()),
        pixels: Some([120, 90]),
        ..photo_kept(file, "0".repeat(64), (Some(target), station))
    };
    act(bench, |figure| Intent::KeepPhoto { figure, photo });
}

/// The bowed gap of the third joint's card, read by the bench.
fn bowed(prompt: &Prompt) -> Option<AtStep> {
    let Ask::Reading {
        measure: knuckle::card::Measure::Gap,
        station: Some(station),
        ..
    } = &prompt.ask
    else {
        return None;
    };
    let place = station.split_once(" mm, ")?.1;
    let value = match place.chars().next()? {
        '1' | '5' => 2.3,
        '2' | '4' => 0.8,
        _ => 0.3,
    };
    Some(AtStep::Enter {
        value: Value::Number(value),
        again: false,
    })
}

/// Moisture that falls from reading to reading, the core behind the skin.
fn falling() -> impl FnMut(&Prompt) -> Option<AtStep> {
    let mut read = 0.0_f64;
    move |prompt| {
        let Ask::Reading { measure, .. } = &prompt.ask else {
            return None;
        };
        let over = match measure {
            knuckle::card::Measure::MoistureSkin => 0.0,
            knuckle::card::Measure::MoistureCore => 1.3,
            _ => return None,
        };
        read += 1.0;
        let value = 9.6 + 5.5 * (-read / 14.0).exp() + over;
        Some(AtStep::Enter {
            value: Value::Number((value * 10.0).round() / 10.0),
            again: false,
        })
    }
}

/// A joint of two boards is held by a handful of dowels.
fn four_dowels(prompt: &Prompt) -> Option<AtStep> {
    let Ask::Reading { record, .. } = &prompt.ask else {
        return None;
    };
    (record == "fasteners").then_some(AtStep::Enter {
        value: Value::Number(4.0),
        again: false,
    })
}

/// The hare after three weeks of work.
pub(crate) fn hare() -> Bench {
    let mut bench = Bench::new(sample_cards(), at("2026-11-02T08:10:00+00:00"));
    bench.read_air("hare");
    bench.walk("hare", "photograph", Some("saddle-seat"), &mut |_| None);
    bench.walk("hare", "photograph", Some("body-near"), &mut |_| None);
    photo(&mut bench, "body-near", "before", "2026-11-02 09:41:07");
    read_layers(&mut bench);
    for hours in 0..60 {
        let warm = f64::from((hours * 7 % 11) * 4) / 10.0;
        bench.air = (17.5 + warm, 56.0 - warm * 2.0);
        bench.now += Duration::hours(4);
        bench.read_air("hare");
    }
    bench.air = (20.0, 50.0);
    bench.walk("hare", "dry", Some("body-near"), &mut falling());
    bench.walk("hare", "joint-survey", Some("J3"), &mut four_dowels);
    bench.walk("hare", "joint-survey", Some("J1"), &mut |prompt| {
        let Ask::Choice { record, .. } = &prompt.ask else {
            return None;
        };
        let value = match record.as_str() {
            "filler" => "hard putty",
            "moves" => "ticks",
            _ => return None,
        };
        Some(AtStep::Enter {
            value: Value::Text(value.into()),
            again: false,
        })
    });
    bench.walk("hare", "open-joint", Some("J3"), &mut |_| None);
    bench.walk("hare", "dry-fit", Some("J3"), &mut bowed);
    photo(
        &mut bench,
        "body-near",
        "body colour",
        "2026-11-24 16:05:30",
    );
    read_again(&mut bench);
    bench
}

/// Sight and view of the hare's record.
pub(crate) fn sight(bench: &Bench, leaf: Leaf) -> (Sight, View) {
    let mut view = View {
        page: Page::Dossier,
        figure: Some("hare".into()),
        by: "odile".into(),
        ..View::default()
    };
    view.dossier.leaf = leaf;
    let now = bench.now;
    let mut sight = Sight::take(bench.house(), &view, now);
    let dossier = Dossier::take(bench.house(), "hare", now).unwrap();
    view.dossier.part = dossier.part_of("body-near").unwrap();
    sight.dossier = Some(Arc::new(dossier));
    sight.pictures = [
        Some(Shown::Picture(Arc::new(painted([138, 98, 74])))),
        Some(Shown::Picture(Arc::new(painted([196, 168, 128])))),
    ];
    (sight, view)
}

/// A picture with a horizon, a round body, and a light from the left.
pub(crate) fn painted([red, green, blue]: [u8; 3]) -> Picture {
    let (width, height) = (96_i32, 72_i32);
    let pixel = |at: i32| {
        let (x, y) = (at % width, at / width);
        let (dx, dy) = (x - 48, (y - 38) * 3 / 2);
        let light = |channel: u8, by: i32| u8::try_from((i32::from(channel) + by).clamp(0, 255));
        let shade = (48 - x) / 2;
        if dx * dx + dy * dy < 1100 {
            [red, green, blue].map(|channel| light(channel, shade).unwrap())
        } else {
            let ground = if y < 50 { [88, 96, 102] } else { [58, 54, 50] };
            ground.map(|channel| light(channel, -y / 4).unwrap())
        }
    };
    Picture {
        width: usize::try_from(width).unwrap(),
        pixels: (0..width * height).map(pixel).collect(),
    }
}
