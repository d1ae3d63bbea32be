//! What a reader of the treatment report must not be misled about: which colour was read when,
//! what was found before the work and what during it, and in whose words.

use knuckle::deed::{
    Begun, ChipRead, Deed, Deviated, DeviationKind, Done, LayerPlace, LayerRead, LightSeen,
    Recorded, Reread, SentBack, Spot, Value, Work,
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
             window; dry | CIEDE2000 2.0 in 17 days: ",
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
    // The colour stands in line 1, what was said last of the layer in line 2.
    assert!(layers.contains(",yes,1,2\r\n"), "{layers}");
    let colours = std::fs::read_to_string(folder.join("colours.csv")).unwrap();
    assert_eq!(
        colours.lines().count(),
        7,
        "two sittings of three: {colours}"
    );
    let row = "body-near,1,1,2026-11-20T09:00:00+00:00,joiner,2,50.4,0,-82.75,window,dry,,2\r\n";
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
            "body near side; repeats body near side, exposure 1, layer 1, as read on 3 November 2026 | L* 50.0 a* 0.0 b* -82.7; dry, \
             varnished; matches under daylight, matches under lamp | passes: CIEDE2000 2.0, \
             at most 3 (common practice, not agreed with the owner); ",
            "no verdict: seen under one light only",
            "no verdict: the chip is not varnished",
        ],
    );
    let made = sealed.run(&at_evening(&["report", "hare", "--folder", "kept"]));
    assert_eq!(made.code, 0, "{}", made.err);
    let chips = std::fs::read_to_string(sealed.shop().join("kept/chips.csv")).unwrap();
    let row = "body-near,body-near,1,1,2026-11-20T09:00:00+00:00,joiner,\
         50 0 -82.75; 50 0 -82.75; 50 0 -82.75,\"dry, varnished\",";
    assert!(chips.contains(row), "{chips}");
    assert_eq!(chips.matches("no verdict: ").count(), 2, "{chips}");
    assert_eq!(chips.matches("passes: CIEDE2000 2.0").count(), 1, "{chips}");
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

fn said(operation: &str, target: Option<&str>, step: &str, record: &str, value: &str) -> Deed {
    Deed::Recorded(Recorded {
        work: Work {
            operation: operation.into(),
            target: target.map(str::to_owned),
            round: 1,
        },
        step: step.into(),
        record: record.into(),
        value: Value::Text(value.into()),
        measure: None,
        station: None,
        asked_again: false,
    })
}

fn number(operation: &str, target: &str, (step, record): (&str, &str), value: f64) -> Deed {
    let mut deed = said(operation, Some(target), step, record, "");
    if let Deed::Recorded(recorded) = &mut deed {
        recorded.value = Value::Number(value);
        recorded.measure = match record {
            "waste" => Some(knuckle::card::Measure::Mass),
            "water" => Some(knuckle::card::Measure::Volume),
            _ => Some(knuckle::card::Measure::Count),
        };
    }
    deed
}

#[test]
fn no_inner_word_stands_where_a_reader_looks_for_a_sentence() {
    let sealed = Sealed::new();
    let ears = Some("ears");
    sealed.write(
        "figures/hare",
        &[
            (
                "2026-11-07T08:12:00Z",
                "ines",
                said("strip", ears, "", "within-call", "Odile"),
            ),
            (
                "2026-11-07T08:20:00Z",
                "ines",
                number("strip", "ears", ("waste", "waste"), 650.0),
            ),
        ],
    );
    let told = told(&sealed);
    has(
        &told,
        &[
            "2026-11-07 08:12 | stripping room | within call: [joiner] | 1",
            "Weigh the waste, not yet done. Sludge, rags, film: 650 g | 2",
        ],
    );
    assert!(!told.contains("within-call"), "{told}");
}

#[test]
fn what_was_recorded_after_the_treatment_began_is_no_condition_before() {
    let sealed = Sealed::new();
    let note = |text: &str| Deed::Jotted(knuckle::deed::Jotted { text: text.into() });
    let found = |zone, words| said("photograph", Some(zone), "grade", "finding", words);
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-02T09:00:00Z", "odile", note("came on straw")),
            (
                "2026-11-02T10:00:00Z",
                "odile",
                found("ears", "flaking early"),
            ),
            (
                "2026-11-07T08:12:00Z",
                "ines",
                said("strip", Some("ears"), "", "within-call", "Odile"),
            ),
            (
                "2026-11-08T09:00:00Z",
                "odile",
                note("a nail came to light"),
            ),
            (
                "2026-11-09T10:00:00Z",
                "odile",
                found("tail", "cracked late"),
            ),
        ],
    );
    let told = told(&sealed);
    let part = |title: &str| -> String {
        let lines = told
            .split("} {")
            .filter(|line| line.contains(&format!("\"title\":\"{title}\"")));
        lines.collect::<Vec<_>>().join(" ")
    };
    let (before, during) = (part("Condition before"), part("Found during treatment"));
    for (words, is_before) in [
        ("came on straw", true),
        ("flaking early", true),
        ("a nail came to light", false),
        ("cracked late", false),
    ] {
        assert_eq!(before.contains(words), is_before, "{words} in {before}");
        assert_eq!(during.contains(words), !is_before, "{words} in {during}");
    }
    has(&during, &["7 November 2026"]);
}

#[test]
fn what_was_examined_after_the_treatment_began_is_listed_and_an_opened_walk_is_no_work() {
    let sealed = Sealed::new();
    let study = |record: &str, value: &str| said("layer-study", Some("ears"), "at", record, value);
    let opened = Deed::Begun(knuckle::deed::Begun::of(Work {
        operation: "strip".into(),
        target: Some("tail".into()),
        round: 1,
    }));
    let call = |zone| said("strip", Some(zone), "", "within-call", "Odile");
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-02T10:00:00Z", "odile", study("texture", "early")),
            ("2026-11-05T07:00:00Z", "ines", opened),
            (
                "2026-11-06T10:00:00Z",
                "odile",
                read([50.0, 0.0, 0.0], "lamp", false),
            ),
            ("2026-11-07T08:00:00Z", "ines", call("ears")),
            (
                "2026-11-08T10:00:00Z",
                "odile",
                read([51.0, 0.0, 0.0], "lamp", false),
            ),
            ("2026-11-09T10:00:00Z", "odile", study("texture", "later")),
            ("2026-11-10T08:00:00Z", "ines", call("tail")),
        ],
    );
    let out = sealed.run(&at_evening(&["report", "hare", "--out", "hare.txt"]));
    assert_eq!((out.code, out.err.as_str()), (0, ""));
    let text = std::fs::read_to_string(sealed.shop().join("hare.txt")).unwrap();
    let part = |from: &str, to: &str| {
        let (_, rest) = text.split_once(from).unwrap();
        let words: Vec<&str> = rest.split_once(to).unwrap().0.split_whitespace().collect();
        words.join(" ")
    };
    let found = part("7  Found during treatment\n", "8  Materials");
    has(
        &found,
        &[
            // Not the day on which a walk was opened, but that of the first act.
            "treatment began 7 November 2026 Examined",
            "read body near side, exposure 1, layer 1:",
            "Paint-layer study on ears, until 9",
            "found: part 4",
        ],
    );
    assert!(!found.contains("L*a*b* 50"), "{found}");
    assert!(text.contains("\n4  Evidence\n"), "{text}");
    let order = part("Treatment in order:\n", "Strip layer by layer on ears:");
    let (ears, tail) = (order.find("ears").unwrap(), order.find("tail").unwrap());
    assert!(ears < tail, "{order}");
    assert!(
        order.contains("10 November") && !order.contains("5 November"),
        "{order}"
    );
}

#[test]
fn materials_tell_what_was_taken_off_and_how_much_water_was_used() {
    let sealed = Sealed::new();
    let ears = Some("ears");
    sealed.write(
        "figures/hare",
        &[
            (
                "2026-11-03T09:00:00Z",
                "odile",
                said("lead-test", ears, "chip", "chip", "none sent"),
            ),
            (
                "2026-11-07T09:00:00Z",
                "ines",
                said("strip", ears, "layer", "layer", "as planned"),
            ),
            (
                "2026-11-07T09:10:00Z",
                "ines",
                number("strip", "ears", ("waste", "waste"), 650.0),
            ),
            (
                "2026-11-08T09:00:00Z",
                "ines",
                said("wash", ears, "kind", "rinse", "tap"),
            ),
            (
                "2026-11-08T09:10:00Z",
                "ines",
                number("wash", "ears", ("sponge", "changes"), 5.0),
            ),
            (
                "2026-11-08T09:20:00Z",
                "ines",
                number("wash", "ears", ("sponge", "water"), 2400.0),
            ),
        ],
    );
    let told = told(&sealed);
    has(
        &told,
        &[
            "Strip layer by layer on ears | old paint with remover, rags and film | 650 g",
            "| tap | Neutralise and wash on ears | 8 November 2026 | 2400 ml | used and taken off",
        ],
    );
    for odd in [
        "chip for a laboratory",
        "ears | What shows?",
        "ears | Changes of water",
    ] {
        assert!(!told.contains(odd), "{odd}\nin {told}");
    }
    let made = sealed.run(&at_evening(&["report", "hare", "--folder", "kept"]));
    assert_eq!(made.code, 0, "{}", made.err);
    let table = std::fs::read_to_string(sealed.shop().join("kept/materials.csv")).unwrap();
    let row = table.lines().find(|row| row.contains(",tap,")).unwrap();
    assert!(row.contains(",2026-11-08,2026-11-08,"), "{row}");
    assert!(
        row.contains(",,2400,,no,"),
        "what is unknown is empty: {row}"
    );
}

#[test]
fn zones_that_nobody_tested_for_lead_are_named() {
    let sealed = Sealed::new();
    let lead = said("lead-test", Some("ears"), "decide", "lead", "yes");
    sealed.write("figures/hare", &[("2026-11-03T09:00:00Z", "odile", lead)]);
    let told = told(&sealed);
    let (_, rest) = told.split_once("not tested for lead").unwrap();
    let (line, _) = rest.split_once('}').unwrap();
    assert!(
        line.contains("head near side; head off side; neck near side"),
        "{line}"
    );
    assert!(line.contains("lead is assumed there"), "{line}");
    assert!(!line.contains("ears"), "{line}");
}

#[test]
fn whom_to_call_has_the_address_of_the_shop_card_or_says_whose_is_lacking() {
    let sealed = Sealed::new();
    let address = "address: 3 Net Loft Steps, Lantern Quay\n";
    has(&told(&sealed), &["3 Net Loft Steps, Lantern Quay"]);
    sealed.change("shop.yaml", [address, ""]);
    let lacking = sealed.run(&at_evening(&["report", "hare"])).out;
    assert!(
        lacking.contains("- Care: address and telephone of this shop"),
        "{lacking}"
    );
}

#[test]
fn readings_that_contradict_each_other_are_named_with_their_lines() {
    let sealed = Sealed::new();
    let layer = |number: u32| {
        Deed::LayerRead(LayerRead {
            word: Some("green".into()),
            ..LayerRead::at(LayerPlace {
                layer: number,
                ..place()
            })
        })
    };
    let tie = Deed::LayersTied(knuckle::deed::LayersTied {
        one: place(),
        relation: knuckle::deed::Relation::Above,
        other: LayerPlace {
            layer: 2,
            ..place()
        },
        by_marker: String::new(),
    });
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-03T09:00:00Z", "odile", layer(1)),
            ("2026-11-03T09:10:00Z", "odile", layer(2)),
            ("2026-11-03T09:20:00Z", "odile", tie),
        ],
    );
    has(
        &told(&sealed),
        &[
            "Readings that cannot all be right",
            "line 3: body near side, exposure 1, layer 1 lies above",
        ],
    );
}

/// Work that was sent back waits for nobody's yes; a deviation does until it is answered.
#[test]
fn only_an_answer_that_is_asked_for_is_lacking() {
    let sealed = Sealed::new();
    let work = || Work {
        operation: "strip".into(),
        target: Some("ears".into()),
        round: 1,
    };
    let begun = Deed::Begun(Begun::of(work()));
    let back = Deed::SentBack(SentBack {
        work: work(),
        step: "look".into(),
        back_to: "layer-study".into(),
        why: "a layer that nobody knew".into(),
    });
    let otherwise = Deed::Deviated(Deviated {
        work: work(),
        step: "look".into(),
        kind: DeviationKind::Other,
        what: "by daylight alone".into(),
    });
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-03T09:00:00Z", "odile", begun),
            ("2026-11-03T09:10:00Z", "odile", otherwise),
            ("2026-11-03T09:20:00Z", "odile", back),
        ],
    );
    let told = told(&sealed);
    let row = "a layer that nobody knew (ears) | none is asked for | 3";
    has(&told, &[row, "by daylight alone (ears) | not recorded | 2"]);
    has(&told, &["1 of these wait for the supervisor's answer"]);
}
