//! What a reader of the treatment report must not be misled about: which colour was read when,
//! what was found before the work and what during it, and in whose words.

use knuckle::deed::{
    ChipRead, Deed, Done, LayerPlace, LayerRead, LightSeen, Recorded, Reread, Spot, Value, Work,
};

use crate::kit::sealed::{Sealed, at_evening};

/// The report as text, every run of spaces and line ends as one space.
fn told(sealed: &Sealed) -> String {
    let told = sealed.run(&at_evening(&["report", "hare", "--json"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    told.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn has(told: &str, wanted: &[&str]) {
    for words in wanted {
        assert!(told.contains(words), "{words}\nin {told}");
    }
}

fn place() -> LayerPlace {
    LayerPlace {
        zone: "body-near".into(),
        exposure: "1".into(),
        layer: 1,
    }
}

fn read(lab: [f64; 3], light: &str, dug_out: bool) -> Deed {
    let [l, a, b] = lab;
    Deed::LayerRead(LayerRead {
        word: dug_out.then(|| "blue".into()),
        lab: vec![[l, a, b], [l + 0.4, a, b], [l - 0.2, a + 0.1, b]],
        spot: Some(Spot::Dry),
        light: Some(light.into()),
        dug_out,
        ..LayerRead::at(place())
    })
}

fn chip(varnished: bool, lights: &[&str]) -> Deed {
    let seen = |light: &&str| LightSeen {
        light: (*light).into(),
        matches: true,
    };
    Deed::ChipRead(ChipRead {
        zone: "body-near".into(),
        wanted: place(),
        lab: vec![[50.0, 0.0, -82.7485]; 3],
        dry: true,
        varnished,
        lights: lights.iter().map(seen).collect(),
        agreed: None,
    })
}

/// The pair is the first of Sharma, Wu, Dalal 2005, table 1, which lies 2.0425 apart.
#[test]
fn a_layer_keeps_its_first_colour_and_a_later_reading_is_its_drift() {
    let sealed = Sealed::new();
    sealed.write(
        "figures/hare",
        &[
            (
                "2026-11-03T09:00:00Z",
                "odile",
                read([50.0, 2.6772, -79.7751], "daylight lamp", true),
            ),
            (
                "2026-11-20T09:00:00Z",
                "odile",
                read([50.0, 0.0, -82.7485], "window", false),
            ),
        ],
    );
    has(
        &told(&sealed),
        &[
            "1 | blue L* 50.0 a* 2.7 b* -79.8 |",
            "1 | 3 November 2026 | L* 50.0 a* 2.7 b* -79.8 | 0.4 | \
             daylight lamp; dry; out of the dark | first reading",
            "1 | 20 November 2026 | L* 50.0 a* 0.0 b* -82.7 | 0.4 | \
             window; dry; out of the dark | CIEDE2000 2.0 in 17 days: ",
        ],
    );
    let folder = sealed.shop().join("kept");
    let made = sealed.run(&at_evening(&["report", "hare", "--folder", "kept"]));
    assert_eq!(made.code, 0, "{}", made.err);
    let layers = std::fs::read_to_string(folder.join("layers.csv")).unwrap();
    assert!(
        layers.contains("body-near,1,1,blue,50,2.68,-79.78,"),
        "{layers}"
    );
    let colours = std::fs::read_to_string(folder.join("colours.csv")).unwrap();
    assert_eq!(
        colours.lines().count(),
        7,
        "two sittings of three: {colours}"
    );
    let row = "body-near,1,1,2026-11-20T09:00:00+00:00,2,50.4,0,-82.75,window,dry";
    assert!(colours.contains(row), "{colours}");
}

#[test]
fn a_layer_out_of_the_dark_that_nobody_read_again_is_said_to_bleach() {
    let sealed = Sealed::new();
    let first = read([50.0, 2.6772, -79.7751], "daylight lamp", true);
    sealed.write("figures/hare", &[("2026-11-03T09:00:00Z", "odile", first)]);
    has(
        &told(&sealed),
        &["not read again yet; it bleaches in daylight"],
    );
}

#[test]
fn every_chip_stands_in_the_report_with_its_verdict_and_its_lights() {
    let sealed = Sealed::new();
    let first = read([50.0, 2.6772, -79.7751], "daylight lamp", false);
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-03T09:00:00Z", "odile", first),
            (
                "2026-11-20T09:00:00Z",
                "odile",
                chip(true, &["daylight", "lamp"]),
            ),
            ("2026-11-20T09:10:00Z", "odile", chip(true, &["daylight"])),
            (
                "2026-11-20T09:20:00Z",
                "odile",
                chip(false, &["daylight", "lamp"]),
            ),
        ],
    );
    has(
        &told(&sealed),
        &[
            "body near side | body near side 1, layer 1 | L* 50.0 a* 0.0 b* -82.7; dry, \
             varnished; matches under daylight, matches under lamp | passes: CIEDE2000 2.0, \
             at most 3; ",
            "no verdict: seen under one light only",
            "no verdict: the chip is not varnished",
        ],
    );
}

fn drying(record: &str, value: f64, station: &str) -> Deed {
    Deed::Recorded(Recorded {
        work: work(),
        step: "read".into(),
        record: record.into(),
        value: Value::Number(value),
        measure: Some(knuckle::card::Measure::MoistureSkin),
        station: Some(station.into()),
        asked_again: false,
    })
}

fn work() -> Work {
    Work {
        operation: "dry".into(),
        target: Some("neck-near".into()),
        round: 1,
    }
}

#[test]
fn readings_taken_anew_leave_the_first_ones_under_their_own_day() {
    let sealed = Sealed::new();
    let again = Deed::Reread(Reread {
        work: work(),
        step: "read".into(),
    });
    let done = Deed::Done(Done {
        work: work(),
        step: "read".into(),
        coat: None,
        starts: Vec::new(),
        ends: Vec::new(),
    });
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-17T11:47:00Z", "odile", drying("skin", 14.0, "1")),
            ("2026-11-19T13:11:00Z", "odile", again),
            ("2026-11-19T15:03:00Z", "odile", drying("skin", 9.5, "1")),
            ("2026-11-19T15:08:00Z", "odile", done),
        ],
    );
    let told = told(&sealed);
    has(
        &told,
        &[
            "2026-11-17 11:47 | joiner | Read skin, core at the same holes, read again later. \
             Skin, 3 mm deep: 1: 14 %",
            "2026-11-19 13:11 | joiner | began to take the readings again: Read skin",
            "2026-11-19 15:08 | joiner | Read skin, core at the same holes. Skin, 3 mm deep: \
             1: 9.5 % |",
        ],
    );
    assert!(!told.contains("reads anew"), "{told}");
}
