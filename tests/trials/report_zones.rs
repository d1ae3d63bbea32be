//! What the report may say of a zone: that lead was found there, that it is untouched, that
//! its path is decided.

use knuckle::deed::{Begun, Deed, Finished, LayerPlace, LayerRead, Recorded, Signed, Value, Work};

use crate::kit::sealed::{Sealed, at_evening};

/// The report of a figure as text, every run of spaces and line ends as one space.
fn told(sealed: &Sealed, figure: &str) -> String {
    let told = sealed.run(&at_evening(&["report", figure, "--json"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    told.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A part of the report from its heading to the next words.
fn between<'a>(told: &'a str, [from, to]: [&str; 2]) -> &'a str {
    let (_, rest) = told
        .split_once(from)
        .unwrap_or_else(|| panic!("{from} in {told}"));
    rest.split_once(to)
        .unwrap_or_else(|| panic!("{to} in {rest}"))
        .0
}

fn work(operation: &str, target: Option<&str>) -> Work {
    Work {
        operation: operation.into(),
        target: target.map(str::to_owned),
        round: 1,
    }
}

fn said(operation: &str, zone: &str, [record, word]: [&str; 2]) -> Deed {
    Deed::Recorded(Recorded {
        work: work(operation, Some(zone)),
        step: "decide".into(),
        record: record.into(),
        value: Value::Text(word.into()),
        measure: None,
        station: None,
        asked_again: false,
    })
}

fn read(zone: &str) -> Deed {
    let (zone, exposure) = (zone.into(), "1".into());
    Deed::LayerRead(LayerRead {
        word: Some("blue".into()),
        ..LayerRead::at(LayerPlace {
            zone,
            exposure,
            layer: 1,
        })
    })
}

/// Lines of one day for the hare, the scheme approved before them.
fn after_the_scheme(deeds: Vec<Deed>) -> Sealed {
    let work = work("scheme", None);
    let begun = Deed::Begun(Begun::of(work.clone()));
    let scheme = [begun, Deed::Finished(Finished { work })];
    let lines: Vec<_> = scheme
        .into_iter()
        .chain(deeds)
        .map(|deed| ("2026-11-03T09:00:00Z", "odile", deed))
        .collect();
    let sealed = Sealed::new();
    sealed.write("figures/hare", &lines);
    sealed
}

fn stripped(zone: &str) -> [Deed; 2] {
    let work = work("strip", Some(zone));
    [
        Deed::Begun(Begun::of(work.clone())),
        Deed::Finished(Finished { work }),
    ]
}

#[test]
fn a_zone_with_proved_lead_stays_on_the_care_sheet_and_only_bare_wood_ends_the_warning() {
    let bare = ["rest-lead", "bare wood only"];
    let mut deeds = vec![
        said("lead-test", "body-near", ["lead", "yes"]),
        read("body-near"),
        said("lead-test", "ears", ["lead", "no"]),
        said("sand", "ears", bare),
        read("strap"),
        said("sand", "strap", bare),
        said("sand", "bridle", ["rest-lead", "paint left here"]),
        said("sand", "belly", bare),
    ];
    deeds.extend(
        ["body-near", "ears", "strap", "bridle"]
            .into_iter()
            .flat_map(stripped),
    );
    deeds.extend(stripped("saddle-seat"));
    let told = told(&after_the_scheme(deeds), "hare");
    assert!(
        told.contains("Lead was found here: body near side. It stands here whatever"),
        "{told}"
    );
    let left = between(
        &told,
        ["Old paint is left at: ", ". There lead must be assumed"],
    );
    let left: Vec<&str> = left.split("; ").collect();
    for name in [
        "body near side",      // stripped, an exposure is kept
        "saddle seat",         // stripped, nobody said that it is bare
        "carved breast strap", // bare but for its exposure
        "bridle",              // stripped in part
        "belly and pole hole", // covered by its path
    ] {
        assert!(left.contains(&name), "{name} in {left:?}");
    }
    assert!(!left.contains(&"ears"), "{left:?}");
}

#[test]
fn a_witness_patch_that_was_cut_into_is_not_said_to_be_untouched() {
    let whole = told(&after_the_scheme(Vec::new()), "hare");
    let row = r#""text":"21 | witness patch beside the pole hole | 10 cm²""#;
    assert!(whole.contains(row), "{whole}");
    assert!(whole.contains("leave: untouched"), "{whole}");
    let cut = told(&after_the_scheme(vec![read("witness-belly")]), "hare");
    assert!(!cut.contains("leave: untouched"), "{cut}");
    assert!(!cut.contains(row), "{cut}");
    for words in [
        "Zones left untouched, with all their layers: none.",
        r#""text":"Left by the scheme, but no longer untouched""#,
        r#""text":"witness patch beside the pole hole: exposure 1""#,
    ] {
        assert!(cut.contains(words), "{words} in {cut}");
    }
}

#[test]
fn before_a_scheme_no_zone_is_said_to_be_left() {
    let sealed = Sealed::new();
    let made = sealed.run(&["take-in", "ox", "--carving", "animal"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let told = told(&sealed, "ox");
    assert!(!told.contains("leave: untouched"), "{told}");
    assert!(told.contains("with all their layers: not decided yet; no scheme is approved."));
    assert!(
        told.contains("no zone is said to be left untouched"),
        "{told}"
    );
}

#[test]
fn a_zone_that_the_scheme_leaves_is_cut_or_painted_with_a_reason_only() {
    let sealed = after_the_scheme(vec![read("ears"), read("witness-belly")]);
    let cut = |zone: &str, more: &[&str]| {
        let place = format!("{zone}/2/1");
        let words = ["--as", "tobias", "layer", "hare", &place, "--word", "cut"];
        sealed.run(&[&words[..], more].concat())
    };
    for zone in ["witness-belly", "cantle-back"] {
        let told = cut(zone, &[]);
        assert_ne!(told.code, 0, "{zone}");
        assert!(told.err.contains("by the approved scheme"), "{}", told.err);
        assert!(told.err.contains("--why"), "{}", told.err);
    }
    let again = sealed.run(&[
        "--as",
        "tobias",
        "layer",
        "hare",
        "witness-belly/1/1",
        "--gloss",
        "flat",
    ]);
    assert_eq!(
        again.code, 0,
        "what is open already may be read: {}",
        again.err
    );
    assert_eq!(cut("ears", &[]).code, 0);
    let why = cut(
        "witness-belly",
        &["--why", "the owner asks for the first colour"],
    );
    assert_eq!(why.code, 0, "{}", why.err);
    let chip = |more: &[&str]| {
        let words = [
            "--as",
            "tobias",
            "chip",
            "hare",
            "witness-belly",
            "ears/1/1",
            "--lab",
            "50,0,0",
        ];
        sealed.run(&[&words[..], more].concat())
    };
    assert!(chip(&[]).err.contains("no new colour goes onto it"));
    assert_eq!(
        chip(&["--why", "asked for"]).code,
        1,
        "kept, and no verdict"
    );
    let told = told(&sealed, "hare");
    assert!(
        told.contains("all the same: the owner asks for the first colour"),
        "{told}"
    );
}

#[test]
fn a_tie_stands_in_the_report_until_it_is_struck_with_its_reason() {
    let sealed = Sealed::new();
    let layer =
        |words: &[&str]| sealed.run(&[&["--as", "tobias", "layer", "hare"], words].concat());
    for place in ["ears/1/1", "tail/1/1"] {
        assert_eq!(layer(&[place, "--word", "brown"]).code, 0);
    }
    let none = layer(&["ears/1/1", "--untie", "tail/1/1", "--why", "a slip"]);
    assert!(
        none.err
            .contains("is not tied to tail, exposure 1, layer 1"),
        "{}",
        none.err
    );
    for how in ["--below", "--same-as"] {
        assert_eq!(
            layer(&["tail/1/1", how, "ears/1/1", "--by", "fat varnish"]).code,
            0
        );
    }
    let report = |folder: &str| {
        let words = ["report", "hare", "--folder", folder];
        let made = sealed.run(&words);
        assert_eq!(made.code, 0, "{}", made.err);
        let read =
            |name: &str| std::fs::read_to_string(sealed.shop().join(folder).join(name)).unwrap();
        (told(&sealed, "hare"), read("ties.csv"))
    };
    let (told, csv) = report("tied");
    let row = "tail, exposure 1, layer 1 | is the same as | ears, exposure 1, layer 1 | fat varnish | painter | 4";
    assert!(told.contains(row), "{told}");
    assert!(
        csv.contains("tail,1,1,is the same as,ears,1,1,fat varnish,"),
        "{csv}"
    );
    assert_ne!(
        layer(&["ears/1/1", "--untie", "tail/1/1"]).code,
        0,
        "no reason given"
    );
    let struck = layer(&[
        "ears/1/1",
        "--untie",
        "tail/1/1",
        "--why",
        "the varnish is not the same",
    ]);
    assert_eq!(struck.code, 0, "{}", struck.err);
    let (told, csv) = report("untied");
    assert_eq!(csv.lines().count(), 1, "no earlier word comes back: {csv}");
    assert!(told.contains("the varnish is not the same"), "{told}");
    assert!(told.contains("| not tied"), "{told}");
}

/// What stands as not recorded anywhere stands in the last part too.
#[test]
fn the_last_part_gathers_cells_and_pictures_that_lack() {
    let work = work("photograph", Some("ears"));
    let begun = Deed::Begun(Begun::of(work));
    let told = told(&after_the_scheme(vec![read("ears"), begun]), "hare");
    let (_, last) = told.split_once(r#""title":"Not recorded""#).unwrap();
    for gap in [
        "Evidence: Layers at ears, exposure 1, from the wood outward, colours as first read: \
         material, in 1 of 1 rows",
        "Zones and joints: Joints and how they stand: glued with, in 6 of 6 rows",
        "Pictures: asked for, ears: ",
    ] {
        assert!(last.contains(gap), "{gap} in {last}");
    }
}

#[test]
fn who_signed_is_shown_with_the_mark_that_entitles_to_it() {
    let signed = Deed::Signed(Signed {
        work: work("scheme", None),
        step: "shop".into(),
        said: "scheme and targets".into(),
        accepted: true,
        why: String::new(),
    });
    let sealed = after_the_scheme(Vec::new());
    sealed.write(
        "figures/heron",
        &[
            ("2026-11-03T09:00:00Z", "tobias", signed.clone()),
            ("2026-11-03T09:01:00Z", "odile", signed),
        ],
    );
    let told = told(&sealed, "heron");
    assert!(told.contains("| painter, may sign hold points |"), "{told}");
    assert!(
        told.contains("| joiner, no mark to sign hold points"),
        "{told}"
    );
}
