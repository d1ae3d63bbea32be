//! Old paint: stacks, campaigns across zones, misreads named, colours and what is said of
//! new paint. The order under random relations is held against brute force beside the sum.

use chrono::Duration;
use knuckle::deed::{
    ChipRead, LayerPlace, LayerRead, LayersTied, LightSeen, Marker, Metal, Relation,
};
use knuckle::reckon::colour::Colour;
use knuckle::standing::{Book, Intent, Layers, Repaint, Unplaced, layers, repaint};

use crate::memory::{Bench, at, sample_cards};
use crate::published::published;

pub(crate) fn place(zone: &str, exposure: &str, layer: u32) -> LayerPlace {
    LayerPlace {
        zone: zone.into(),
        exposure: exposure.into(),
        layer,
    }
}

fn bench() -> Bench {
    Bench::new(sample_cards(), at("2026-11-04T09:00:00+00:00"))
}

impl Bench {
    fn read(&mut self, read: LayerRead) {
        let figure = "hare".into();
        self.act(&Intent::ReadLayer { figure, read }).unwrap();
    }

    /// Reads a stack in words; what lies on a layer stands behind a slash.
    fn stack(&mut self, zone: &str, words: &[&str]) {
        for (number, word) in (1..).zip(words) {
            let (word, top) = word.split_once('/').unwrap_or((word, ""));
            let mut read = LayerRead::at(place(zone, "1", number));
            read.word = Some(word.into());
            read.metal = word.contains("gold").then_some(Metal::Leaf);
            read.on_top = Some(match top {
                "" => Vec::new(),
                "dirt" => vec![Marker::Dirt],
                _ => vec![Marker::Varnish],
            });
            self.read(read);
        }
    }

    fn tie(&mut self, one: LayerPlace, relation: Relation, other: LayerPlace) {
        let tie = LayersTied {
            one,
            relation,
            other,
            by_marker: "gold leaf".into(),
        };
        let figure = "hare".into();
        self.act(&Intent::TieLayers { figure, tie }).unwrap();
    }

    fn strike(&mut self, line: u64) {
        let (book, why) = (Book::Figure("hare".into()), "misread".into());
        self.act(&Intent::Strike { book, line, why }).unwrap();
    }

    fn layers(&self) -> Layers {
        layers(self.house(), "hare")
    }
}

/// Three zones: the strap was gilded twice, the body painted three times, the ears twice.
fn three_zones() -> Bench {
    let mut bench = bench();
    bench.stack(
        "body-near",
        &["white", "red/varnish", "P?", "green/dirt", "brown"],
    );
    bench.stack("strap", &["ochre", "gold/dirt", "brown/dirt", "bronze"]);
    bench.stack("ears", &["grey/dirt", "brown"]);
    bench.tie(
        place("body-near", "1", 2),
        Relation::SameAs,
        place("strap", "1", 2),
    );
    bench.tie(
        place("body-near", "1", 5),
        Relation::SameAs,
        place("strap", "1", 4),
    );
    bench.tie(
        place("ears", "1", 2),
        Relation::SameAs,
        place("body-near", "1", 5),
    );
    bench.tie(
        place("strap", "1", 3),
        Relation::SameAs,
        place("body-near", "1", 4),
    );
    bench
}

#[test]
fn dirt_and_varnish_part_campaigns_and_ties_carry_them_across_zones() {
    let layers = three_zones().layers();
    assert_eq!(layers.contradictions, []);
    let rows: Vec<Vec<String>> = layers
        .campaigns
        .iter()
        .map(|campaign| {
            let seen = campaign.seen.iter();
            seen.map(|seen| format!("{} {:?}", seen.zone, seen.layers))
                .collect()
        })
        .collect();
    // The ears' grey is under the brown; nobody has said which of the older ones it is, so it
    // stands in none and moves no other's number.
    let row = |seen: &[&str]| seen.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>();
    assert_eq!(
        rows,
        [
            row(&["strap [1, 2]", "body-near [1, 2]"]),
            row(&["strap [3]", "body-near [3, 4]"]),
            row(&["ears [2]", "strap [4]", "body-near [5]"]),
        ]
    );
    let ears = layers
        .exposures
        .iter()
        .find(|it| it.zone == "ears")
        .unwrap();
    assert_eq!(ears.layers[0].unplaced, Some(Unplaced::NotTied));
    assert_eq!(
        (layers.ties.len(), layers.ties[0].stamp.by.as_ref()),
        (4, "odile")
    );
    let first = &layers.campaigns[0];
    assert_eq!((first.coverage.zones, first.coverage.studied), (2, 3));
    // Body 0.24 × 1.15 and strap 0.07 × 1.6 of all zones with their relief,
    // added up by hand from the card.
    let share = first.coverage.area_percent.unwrap();
    assert!((share - 100.0 * (0.276 + 0.112) / area_of_hare()).abs() < 1e-9);
    assert_eq!(first.metals, [Metal::Leaf]);
    assert_eq!(layers.not_studied.len(), 18);
    assert!(!layers.not_studied.contains(&"ears".to_owned()));
}

/// Curved side of a cone, pi r sqrt(r² + h²), worked out by hand from r = 38 mm, h = 250 mm.
const TAIL_M2: f64 = 0.030_187_932_434;

fn area_of_hare() -> f64 {
    // Each zone of the card: flat area and relief.
    [
        (0.08, 1.3),
        (0.08, 1.15),
        (0.05, 1.15),
        (0.09, 1.3),
        (0.09, 1.15),
        (0.03, 1.3),
        (0.07, 1.6),
        (0.24, 1.15),
        (0.24, 1.15),
        (0.09, 1.15),
        (0.02, 1.3),
        (0.02, 1.15),
        (0.08, 1.3),
        (0.08, 1.3),
        (0.02, 1.6),
        (0.02, 1.6),
        (0.1, 1.15),
        (0.18, 1.15),
        (0.22, 1.15),
        // The tail is a cone, 38 mm by 250 mm upright: pi r s by its card.
        (TAIL_M2, 1.6),
        (0.001, 1.0),
    ]
    .iter()
    .map(|(flat, relief)| flat * relief)
    .sum()
}

/// What lies over layers that nobody read joins no campaign by itself, and leaves the one below
/// as it was.
#[test]
fn a_layer_over_unread_ones_is_not_tied() {
    let mut bench = three_zones();
    let before = bench.layers();
    let mut top = LayerRead::at(place("body-near", "1", 9));
    top.word = Some("top".into());
    bench.read(top);
    let after = bench.layers();
    assert_eq!(after.campaigns, before.campaigns);
    let body = |all: &Layers| {
        let mut exposures = all.exposures.iter();
        let body = exposures.find(|it| it.zone == "body-near").unwrap();
        body.layers.clone()
    };
    let layers = body(&after);
    let top = layers.last().unwrap();
    assert_eq!((top.number, top.unplaced), (9, Some(Unplaced::NotTied)));
    // Tied, it is a painting of its own above the others.
    let mut red = LayerRead::at(place("strap", "1", 6));
    red.word = Some("red".into());
    bench.read(red);
    bench.tie(
        place("body-near", "1", 9),
        Relation::SameAs,
        place("strap", "1", 6),
    );
    let tied = bench.layers();
    assert!(tied.contradictions.is_empty(), "{:?}", tied.contradictions);
    let layers = body(&tied);
    let [.., brown, top] = &layers[..] else {
        panic!("six layers were read");
    };
    assert!(brown.campaign < top.campaign, "{layers:?}");
}

#[test]
fn a_circle_is_a_misread_and_its_observations_are_named() {
    let mut bench = three_zones();
    bench.tie(
        place("ears", "1", 1),
        Relation::Above,
        place("strap", "1", 4),
    );
    let layers = bench.layers();
    assert_eq!(
        layers.contradictions.len(),
        1,
        "{:?}",
        layers.contradictions
    );
    // Three ties lie on the one circle; which of them is wrong, nobody can tell from here.
    let words = &layers.contradictions[0].words;
    let lines = ["take away line ", " or line ", " and no circle is left"];
    assert!(lines.iter().all(|it| words.contains(it)), "{words}");
    let words: Vec<&str> = layers.contradictions[0]
        .observations
        .iter()
        .map(|it| it.words.as_str())
        .collect();
    assert_eq!(
        words,
        [
            "ears, exposure 1: layer 1 was counted under layer 2",
            "ears, exposure 1, layer 2 is the same as body near side, exposure 1, layer 5, by gold leaf",
            "body near side, exposure 1, layer 5 is the same as carved breast strap, exposure 1, layer 4, by gold leaf",
            "ears, exposure 1, layer 1 lies above carved breast strap, exposure 1, layer 4, by gold leaf",
        ]
    );
    let off: Vec<(&str, u32)> = layers
        .exposures
        .iter()
        .flat_map(|it| it.layers.iter().map(|layer| (it.zone.as_str(), layer)))
        .filter(|(_, layer)| layer.unplaced == Some(Unplaced::Contradicts))
        .map(|(zone, layer)| (zone, layer.number))
        .collect();
    let circle = [("ears", 1), ("ears", 2), ("strap", 4), ("body-near", 5)];
    assert_eq!(off, circle);
    // The hand looks again and says otherwise: only the last word on two layers counts.
    bench.tie(
        place("ears", "1", 1),
        Relation::Below,
        place("strap", "1", 4),
    );
    assert_eq!(bench.layers().contradictions, []);
}

/// One tie that is wrong makes circles over every right one; it alone lies on all of them.
#[test]
fn one_wrong_tie_is_told_once_and_its_line_takes_every_circle_away() {
    let mut bench = three_zones();
    let wrong = (place("strap", "1", 1), place("body-near", "1", 5));
    bench.tie(wrong.0, Relation::Above, wrong.1);
    let line = bench.lines[&Book::Figure("hare".into())].len() as u64;
    let layers = bench.layers();
    let told: Vec<&str> = layers.contradictions.iter().map(|it| &*it.words).collect();
    assert_eq!(
        told,
        [format!(
            "these run in several circles, of which the shortest stands here: one of them is a \
             misread; take away line {line} and no circle is left"
        )]
    );
    let lines: Vec<u64> = layers.contradictions[0]
        .observations
        .iter()
        .map(|it| it.line)
        .collect();
    assert!(lines.contains(&line), "{lines:?}");
    bench.strike(line);
    assert_eq!(bench.layers().contradictions, []);
    // Said twice, both have to go: struck alone, the later gives way to the earlier.
    let strap = || place("strap", "1", 1);
    let body = || place("body-near", "1", 5);
    let mut lines = Vec::new();
    for _ in 0..2 {
        bench.tie(strap(), Relation::Above, body());
        lines.push(bench.lines[&Book::Figure("hare".into())].len() as u64);
    }
    let told = bench.layers().contradictions;
    let words = format!("take away line {} with line {} and", lines[1], lines[0]);
    assert!(
        told.len() == 1 && told[0].words.contains(&words),
        "{told:?}"
    );
    for (line, left) in [(lines[1], 1), (lines[0], 0)] {
        bench.strike(line);
        assert_eq!(bench.layers().contradictions.len(), left);
    }
    // Two of them that share nothing are told together, circle by circle.
    let pairs = [("strap", 1, "body-near", 5), ("strap", 3, "ears", 2)];
    let mut wrong = Vec::new();
    for (one, layer, other, under) in pairs {
        let (one, other) = (place(one, "1", layer), place(other, "1", under));
        bench.tie(one, Relation::Above, other);
        wrong.push(bench.lines[&Book::Figure("hare".into())].len());
    }
    let told = bench.layers().contradictions;
    assert!(1 < told.len(), "{told:?}");
    let [first, second] = wrong[..] else {
        panic!("{wrong:?}")
    };
    let words = format!("take away line {first} and line {second} together");
    assert!(told[0].words.contains(&words), "{told:?}");
}

/// The number of a campaign that somebody read yesterday is no other one's today: while anything
/// contradicts itself there are none, and once it is settled each has the one it had.
#[test]
fn while_a_circle_stands_no_campaign_has_a_number_and_afterwards_each_has_its_own() {
    let mut bench = three_zones();
    let before = bench.layers();
    // The circle is of the oldest painting; the ones above it are not on it.
    let (strap, body) = (place("strap", "1", 1), place("body-near", "1", 2));
    bench.tie(strap, Relation::Above, body);
    let line = bench.lines[&Book::Figure("hare".into())].len() as u64;
    let layers = bench.layers();
    assert_eq!(layers.contradictions.len(), 1);
    assert_eq!(layers.campaigns, []);
    let why = |zone: &str, number: u32| {
        let mut exposures = layers.exposures.iter();
        let exposure = exposures.find(|it| it.zone == zone).unwrap();
        let mut all = exposure.layers.iter();
        all.find(|it| it.number == number).unwrap().unplaced
    };
    assert_eq!(why("strap", 1), Some(Unplaced::Contradicts));
    assert_eq!(why("body-near", 5), Some(Unplaced::NotSettled));
    assert_eq!(why("ears", 1), Some(Unplaced::NotTied));
    bench.strike(line);
    assert_eq!(bench.layers(), before);
}

#[test]
fn a_struck_line_takes_its_circle_with_it() {
    let mut bench = three_zones();
    bench.tie(
        place("ears", "1", 1),
        Relation::Above,
        place("strap", "1", 4),
    );
    let line = bench.lines[&Book::Figure("hare".into())].len() as u64;
    bench.strike(line);
    assert_eq!(bench.layers().contradictions, []);
    bench.assert_live_is_replayed();
}

#[test]
fn what_was_tied_to_a_void_layer_fell_with_it() {
    let mut bench = three_zones();
    bench.tie(
        place("ears", "1", 1),
        Relation::Above,
        place("strap", "1", 4),
    );
    assert_eq!(bench.layers().contradictions.len(), 1);
    let mut void = LayerRead::at(place("ears", "1", 1));
    void.void = true;
    bench.read(void);
    let tie = LayersTied {
        one: place("ears", "1", 1),
        relation: Relation::Below,
        other: place("strap", "1", 4),
        by_marker: String::new(),
    };
    let figure = "hare".into();
    let refused = bench.act(&Intent::TieLayers { figure, tie }).unwrap_err();
    assert!(refused.why.ends_with("was made void"), "{}", refused.why);
    let mut again = LayerRead::at(place("ears", "1", 1));
    again.word = Some("grey".into());
    bench.read(again);
    let layers = bench.layers();
    assert_eq!(layers.contradictions, [], "the old tie does not come back");
    assert_eq!(layers.ties.len(), 4);
    bench.assert_live_is_replayed();
}

#[test]
fn one_exposure_that_parts_what_another_holds_together_is_told() {
    let mut bench = bench();
    bench.stack("body-near", &["white/dirt", "red"]);
    bench.stack("ears", &["white", "red"]);
    bench.tie(
        place("body-near", "1", 1),
        Relation::SameAs,
        place("ears", "1", 1),
    );
    assert_eq!(bench.layers().contradictions, []);
    bench.tie(
        place("body-near", "1", 2),
        Relation::SameAs,
        place("ears", "1", 2),
    );
    let found = bench.layers().contradictions;
    assert_eq!(found.len(), 1);
    assert!(found[0].words.starts_with("one exposure parts"));
    assert!(
        found[0]
            .observations
            .iter()
            .any(|it| it.words == "body near side, exposure 1: dirt on layer 1")
    );
}

#[test]
fn a_void_layer_no_longer_counts_and_the_wood_is_no_campaign() {
    let mut bench = bench();
    let mut wood = LayerRead::at(place("ears", "1", 0));
    wood.word = Some("lime, dark".into());
    bench.read(wood);
    bench.stack("ears", &["white/dirt", "red"]);
    let mut void = LayerRead::at(place("ears", "1", 2));
    void.void = true;
    bench.read(void);
    let layers = bench.layers();
    assert_eq!(layers.campaigns.len(), 1);
    assert_eq!(layers.exposures[0].void, 1);
    let numbers: Vec<u32> = layers.exposures[0]
        .layers
        .iter()
        .map(|it| it.number)
        .collect();
    assert_eq!(numbers, [0, 1]);
    assert_eq!(layers.exposures[0].layers[0].campaign, None);
}

#[test]
fn the_same_metal_elsewhere_is_a_question_and_no_answer() {
    let mut bench = bench();
    bench.stack("strap", &["ochre", "gold"]);
    bench.stack("fringe-near", &["gold"]);
    let layers = bench.layers();
    assert_eq!(
        layers.campaigns,
        [],
        "nothing ties the two: neither is numbered"
    );
    assert_eq!(
        layers.hints,
        [
            "carved breast strap, exposure 1, layer 2 and blanket fringe near side, exposure 1, layer 1 both show leaf: \
             one painting? tie them if the wood says so"
        ]
    );
}

fn lab(l: f64, a: f64, b: f64) -> Vec<[f64; 3]> {
    vec![[l, a, b], [l + 0.4, a, b], [l - 0.2, a + 0.1, b]]
}

fn coloured(bench: &mut Bench, readings: Vec<[f64; 3]>, dug_out: bool) {
    let mut read = LayerRead::at(place("ears", "1", 2));
    read.word = Some("green".into());
    read.lab = readings;
    read.dug_out = dug_out;
    bench.read(read);
}

#[test]
fn the_middle_of_three_readings_counts_and_drift_is_told_after_weeks() {
    let mut bench = bench();
    coloured(&mut bench, lab(50.0, 2.6772, -79.7751), true);
    let layer = |bench: &Bench| bench.layers().exposures[0].layers[0].clone();
    let first = layer(&bench).colour.unwrap().middle.unwrap();
    assert_eq!(first.0, Colour::lab(50.0, 2.6772, -79.7751).unwrap());
    assert!(0.0 < first.1 && first.1 < 1.0);
    bench.now += Duration::days(5);
    coloured(&mut bench, lab(50.0, 2.0, -80.0), false);
    assert_eq!(layer(&bench).drift, None, "five days are no weeks");
    bench.now += Duration::days(12);
    // Sharma, Wu, Dalal 2005, table 1: the first pair lies 2.0425 apart.
    coloured(&mut bench, lab(50.0, 0.0, -82.7485), false);
    let drift = layer(&bench).drift.unwrap();
    assert!((drift.days - 17.0).abs() < 1e-9);
    let row = &published("ciede2000_sharma")[0];
    let expected = row.number("de00_expected");
    assert!((drift.difference.delta_e_2000 - expected).abs() < 1e-4);
    assert!(layer(&bench).dug_out, "what was not said anew still holds");
}

fn chip(bench: &Bench, change: impl FnOnce(&mut ChipRead)) -> Repaint {
    let seen = |light: &str| LightSeen {
        light: light.into(),
        matches: true,
    };
    let mut chip = ChipRead {
        zone: "ears".into(),
        wanted: place("ears", "1", 2),
        lab: lab(50.0, 0.0, -82.7485),
        dry: true,
        varnished: true,
        lights: vec![seen("daylight"), seen("lamp")],
        agreed: None,
    };
    change(&mut chip);
    repaint(&bench.cards.figures["hare"], &bench.layers(), &chip)
}

#[test]
fn a_repaint_is_judged_on_a_dry_varnished_chip_under_two_lights_only() {
    let mut bench = bench();
    coloured(&mut bench, lab(50.0, 2.6772, -79.7751), false);
    let Repaint::Judged {
        delta_e_2000,
        passes,
        limit,
        ..
    } = chip(&bench, |_| {})
    else {
        panic!("a chip as it should be has a verdict")
    };
    // Sharma, Wu, Dalal 2005, table 1, first pair.
    assert!((delta_e_2000 - 2.0425).abs() < 1e-4 && passes && (limit - 3.0).abs() < 1e-9);
    let no = |change: fn(&mut ChipRead)| match chip(&bench, change) {
        Repaint::NoVerdict { why } => why,
        judged @ Repaint::Judged { .. } => panic!("{judged:?}"),
    };
    assert!(no(|chip| chip.dry = false).starts_with("the chip is not dry"));
    assert!(no(|chip| chip.varnished = false).starts_with("the chip is not varnished"));
    assert!(no(|chip| chip.lights.truncate(1)).starts_with("seen under one light only"));
    let twice = no(|chip| chip.lights[1].light = " daylight".into());
    assert!(twice.starts_with("seen under one light only"), "{twice}");
    assert!(no(|chip| chip.lab.truncate(2)).contains("not read three times"));
    assert!(no(|chip| chip.lab[0][0] = 70.0).contains("lie"));
    assert!(no(|chip| chip.wanted.layer = 9).starts_with("nobody has read"));
    // Two words for one kind of light are one light, and no word makes a kind of its own.
    for [one, other] in [
        ["daylight", "Daylight "],
        ["daylight", "daylight  LAMP"],
        ["lamp", "Warm-Lamp"],
        ["x", "y"],
        ["lamp", "my lamp"],
        ["daylight", "my lamp"],
    ] {
        let lit = |chip: &mut ChipRead| {
            chip.lights[0].light = one.into();
            chip.lights[1].light = other.into();
        };
        let judged = chip(&bench, lit);
        let Repaint::NoVerdict { why } = judged else {
            panic!("{one} and {other}: {judged:?}");
        };
        assert!(why.starts_with("seen under one light only"), "{why}");
    }
    assert!(
        no(|chip| chip.lights[0].light = "LED".into()).starts_with("not seen in daylight"),
        "two lamps are no daylight"
    );
    let cool = chip(&bench, |chip| chip.lights[1].light = "Cool  LED".into());
    assert!(matches!(cool, Repaint::Judged { passes: true, .. }));
    let missed = chip(&bench, |chip| chip.lights[1].matches = false);
    assert!(
        matches!(missed, Repaint::Judged { passes: false, words, .. }
        if words.ends_with("no match by eye under lamp"))
    );
    let strict = chip(&bench, |chip| chip.agreed = Some(2.0));
    assert!(matches!(strict, Repaint::Judged { passes: false, .. }));
}

#[test]
fn a_layer_out_of_the_dark_is_no_target_before_it_has_bleached() {
    let mut bench = bench();
    coloured(&mut bench, lab(50.0, 2.6772, -79.7751), true);
    assert!(matches!(chip(&bench, |_| {}), Repaint::NoVerdict { why }
        if why.contains("still bleaching")));
    bench.now += Duration::days(10);
    coloured(&mut bench, lab(50.0, 2.0, -80.0), false);
    assert!(matches!(chip(&bench, |_| {}), Repaint::Judged { .. }));
}

#[test]
fn what_is_not_there_is_not_written() {
    let mut bench = bench();
    bench.stack("ears", &["white"]);
    let mut refused = |intent: Intent| bench.act(&intent).unwrap_err().why;
    let figure = || "hare".to_owned();
    let mut read = LayerRead::at(place("nose", "1", 1));
    read.word = Some("red".into());
    let intent = |read: &LayerRead| Intent::ReadLayer {
        figure: figure(),
        read: read.clone(),
    };
    assert_eq!(refused(intent(&read)), "running hare has no zone `nose`");
    read.place = place("ears", "", 1);
    assert_eq!(refused(intent(&read)), "the exposure has no number");
    read.place = place("ears", "1", 99);
    assert!(refused(intent(&read)).starts_with("layer 99 cannot be"));
    read.place = place("ears", "1", 2);
    read.lab = vec![[120.0, 0.0, 0.0]];
    assert!(refused(intent(&read)).starts_with("lightness L*"));
    let nothing = LayerRead::at(place("ears", "1", 2));
    assert_eq!(refused(intent(&nothing)), "nothing is said of this layer");
    let tie = |one, other| Intent::TieLayers {
        figure: figure(),
        tie: LayersTied {
            one,
            relation: Relation::SameAs,
            other,
            by_marker: String::new(),
        },
    };
    let here = place("ears", "1", 1);
    assert_eq!(
        refused(tie(here.clone(), here.clone())),
        "a layer is not tied to itself"
    );
    assert_eq!(
        refused(tie(here, place("tail", "1", 1))),
        "tail, exposure 1, layer 1 was never read"
    );
}
