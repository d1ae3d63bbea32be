//! What the report and the folder say of photographs and joints: one list of photographs with
//! what is missing, pairs side by side, the record of each joint, the shop's own drawing.

use std::fs;
use std::os::unix::fs::symlink;

use knuckle::deed::{Begun, Deed, LayerPlace, LayerRead, Recorded, Value, Work};
use knuckle::disk::{RealDisk, replace};
use knuckle::report::dossier::{Block, Part, Picture, Sheet, Shot, pdf};

use crate::kit::sealed::{Sealed, at_evening};
use crate::kit::{photo_kept, png, sha256};
use crate::report_pages::{Sheets, has, pixels};

const MORNING: &str = "2026-11-25T09:00:00Z";

/// The walk of the record before on one zone.
fn work(target: &str) -> Work {
    Work {
        operation: "photograph".into(),
        target: Some(target.into()),
        round: 1,
    }
}

/// A hand says that a photograph was taken, or why not.
fn said(target: &str, [step, record, word]: [&str; 3]) -> Deed {
    Deed::Recorded(Recorded {
        work: work(target),
        step: step.into(),
        record: record.into(),
        value: Value::Text(word.into()),
        measure: None,
        station: None,
        asked_again: false,
    })
}

/// Puts a photograph into the shop and returns its line.
fn filed(sealed: &Sealed, name: &str, (target, station): (&str, &str), bytes: &[u8]) -> Deed {
    let folder = sealed.shop().join("figures/hare/photos");
    fs::create_dir_all(&folder).unwrap();
    replace(&RealDisk, &folder.join(name), bytes).unwrap();
    let file = format!("photos/{name}");
    Deed::PhotoKept(photo_kept(file, sha256(bytes), (Some(target), station)))
}

/// The blocks between two words of a text.
fn between<'a>(text: &'a str, [from, to]: [&str; 2]) -> &'a str {
    let (_, rest) = text
        .split_once(from)
        .unwrap_or_else(|| panic!("{from} in {text}"));
    rest.split_once(to)
        .unwrap_or_else(|| panic!("{to} in {rest}"))
        .0
}

/// The hare on the morning of its record before: two views said of one zone, one with its file
/// under a station that somebody typed with a capital; one withdrawn; one filed unsaid.
fn photographed() -> Sealed {
    let sealed = Sealed::new();
    let before = filed(&sealed, "a.png", ("ears", "Before"), &png(40, 30, [90; 3]));
    let now = filed(&sealed, "b.png", ("ears", "primed"), &png(40, 30, [180; 3]));
    let tail = filed(&sealed, "c.png", ("tail", "detail"), &png(40, 30, [50; 3]));
    let begun = |zone: &str| Deed::Begun(Begun::of(work(zone)));
    let lines: Vec<(&str, &str, Deed)> = [
        begun("ears"),
        said("ears", ["view", "before", "taken"]),
        said("ears", ["raking", "raking", "taken"]),
        begun("tail"),
        said("tail", ["view", "before", "taken"]),
        said("tail", ["view", "before", "not taken: the lamp is out"]),
        before,
        now,
        tail,
    ]
    .into_iter()
    .map(|deed| (MORNING, "odile", deed))
    .collect();
    sealed.write("figures/hare", &lines);
    sealed
}

fn report(sealed: &Sealed, name: &str) -> String {
    let told = sealed.run(&at_evening(&["report", "hare", "--out", name]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    fs::read_to_string(sealed.shop().join(name)).unwrap()
}

fn folder(sealed: &Sealed) -> std::path::PathBuf {
    let told = sealed.run(&at_evening(&["report", "hare", "--folder", "../thirty"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    sealed.home.path().join("thirty")
}

#[test]
fn what_a_hand_said_stands_in_one_row_with_its_file_and_what_lacks_stands_before_it() {
    let sealed = photographed();
    let page = report(&sealed, "hare.html");
    let pictures = between(&page, ["Pictures</h2>", "</section>"]);
    let (missing, list) = pictures.split_once("<table>").unwrap();
    assert!(
        missing.contains("nothing that cannot be undone may begin on a part before it is taken"),
        "{missing}"
    );
    assert!(
        missing.contains("<li>tail: before, before raking</li>"),
        "{missing}"
    );
    assert!(!missing.contains("<li>ears"), "{missing}");
    let rows: Vec<&str> = between(list, ["<tbody>", "</tbody>"]).lines().collect();
    let row = |view: &str| {
        let view = format!("<td data-head=\"view\">{view}</td>");
        let here = rows.iter().filter(|row| row.contains(&view));
        let here: Vec<&&str> = here.collect();
        assert_eq!(here.len(), 1, "{view} in {rows:?}");
        *here[0]
    };
    let sum = sha256(&png(40, 30, [90; 3]));
    let before = row("before");
    assert!(
        before.contains("2026-11-25") && before.contains("a.png"),
        "{before}"
    );
    assert!(before.contains(sum.get(..12).unwrap()), "{before}");
    assert!(row("before raking").contains("no file yet"));
    assert!(row("primed").contains("b.png"));
    let lacking = between(&page, ["Not recorded</h2>", "</section>"]);
    assert!(lacking.contains("file, in 1 of 4 rows"), "{lacking}");
    assert!(
        lacking.contains("asked for, tail: before, before raking"),
        "{lacking}"
    );
}

#[test]
fn the_table_of_photographs_in_the_folder_is_the_same_list() {
    let sealed = photographed();
    let folder = folder(&sealed);
    let table = fs::read_to_string(folder.join("photos.csv")).unwrap();
    let rows = |wanted: &str| -> Vec<&str> {
        table
            .lines()
            .filter(|row| row.starts_with(wanted))
            .collect()
    };
    let sum = sha256(&png(40, 30, [90; 3]));
    let before = rows("ears,before,");
    assert_eq!(before.len(), 1, "{table}");
    assert!(
        before[0].contains(&format!(",photos/a.png,{sum},")),
        "{table}"
    );
    assert!(rows("ears,before raking,")[0].contains("\"said to be taken, no file yet\""));
    let tail = rows("tail,before,");
    assert_eq!(tail.len(), 1, "{table}");
    assert!(
        tail[0]
            .contains("missing; nothing irreversible may begin here before it is taken,photograph"),
        "{table}"
    );
    let first = table.lines().nth(1).unwrap();
    assert!(
        first.contains("missing; nothing irreversible"),
        "what bars work first: {table}"
    );
}

#[test]
fn before_and_now_stand_side_by_side_in_the_page_for_a_browser() {
    let sealed = photographed();
    let page = report(&sealed, "hare.html");
    let pair = between(&page, ["<div class=\"pair\">", "</div>"]);
    assert_eq!(pair.matches("<img ").count(), 2, "{pair}");
    let (first, second) = pair.split_once("</figure>").unwrap();
    assert!(
        first.contains("ears, Before") && second.contains("ears, primed"),
        "{pair}"
    );
    assert_eq!(
        page.matches("class=\"pair\"").count(),
        1,
        "the tail has one picture only"
    );
    // What stands in a pair is not shown twice.
    assert_eq!(page.matches("<img ").count(), 3);
    // A picture whose file is gone is no half of a pair.
    fs::remove_file(sealed.shop().join("figures/hare/photos/b.png")).unwrap();
    let page = report(&sealed, "again.html");
    assert!(!page.contains("class=\"pair\""));
    assert!(page.contains("the file is not in the folder"));
}

/// What the camera cannot have meant counts for nothing; what it can have meant orders the pair.
#[test]
fn each_picture_stands_by_the_day_that_is_known_and_says_whose_day_it_is() {
    let sealed = Sealed::new();
    let ears = |name: &str, station: &str, grey: u8, camera: Option<&str>| {
        let mut deed = filed(&sealed, name, ("ears", station), &png(40, 30, [grey; 3]));
        if let Deed::PhotoKept(kept) = &mut deed {
            kept.taken = camera.map(str::to_owned);
        }
        (MORNING, "odile", deed)
    };
    let raking = ["raking", "raking", "taken"];
    sealed.write(
        "figures/hare",
        &[
            (
                "2026-11-03T09:00:00Z",
                "odile",
                said("ears", ["ultraviolet", "ultraviolet", "taken"]),
            ),
            ("2026-11-04T09:00:00Z", "odile", said("ears", raking)),
            ears("a.png", "before", 90, Some("2031-01-01 10:00:00")),
            ears("b.png", "found", 80, Some("2019-05-01 10:00:00")),
            ears("c.png", "before raking", 70, None),
        ],
    );
    let page = report(&sealed, "hare.html");
    let pair = between(&page, ["<div class=\"pair\">", "</div>"]);
    let (first, second) = pair.split_once("</figure>").unwrap();
    assert!(
        first.contains("ears, found; taken 2019-05-01 10:00:00 by its camera"),
        "{first}"
    );
    assert!(second.contains("ears, before; its camera"), "{second}");
    assert!(
        second.contains("cannot be believed, for it says 2031-01-01 10:00:00; when it was taken"),
        "{second}"
    );
    assert!(
        page.contains("said to be taken 2026-11-04 09:00, joiner, line 2; taken in 2026-11-25"),
        "{page}"
    );
    for day in [
        "2019-05-01, camera",
        "2026-11-04, said",
        "2026-11-25, taken in",
    ] {
        assert_eq!(page.matches(&format!(">{day}<")).count(), 1, "{day}");
    }
    let folder = folder(&sealed);
    the_camera_s_words_are_kept_and_its_clock_judged(&folder);
    let table = fs::read_to_string(folder.join("photos.csv")).unwrap();
    // A view that may be left out stands in the list once a hand said that it was taken.
    assert!(
        table.contains("ears,before uv,\"said to be taken, no file yet\""),
        "{table}"
    );
}

/// What a camera says is kept as it is, and a column tells whether it can have been.
fn the_camera_s_words_are_kept_and_its_clock_judged(folder: &std::path::Path) {
    let table = fs::read_to_string(folder.join("photos.csv")).unwrap();
    let heads = table.lines().next().unwrap();
    assert!(
        heads.contains(",taken_by_camera_clock,camera_clock_ahead,taken_in,"),
        "{heads}"
    );
    for (station, camera) in [
        ("before", ",2031-01-01 10:00:00,yes,2026-11-25T"),
        ("found", ",2019-05-01 10:00:00,no,2026-11-25T"),
        ("before raking", ",,,2026-11-25T"),
    ] {
        let mut rows = table.lines();
        let row = rows
            .find(|row| row.starts_with(&format!("ears,{station},")) && row.contains("photos/"));
        assert!(
            row.is_some_and(|row| row.contains(camera)),
            "{station}: {table}"
        );
    }
    let read_me = fs::read_to_string(folder.join("READ-ME-FIRST.txt")).unwrap();
    assert!(read_me.contains("camera_clock_ahead"), "{read_me}");
}

/// A picture whose camera says nothing was taken when a hand said so, however late its file
/// came; and it is not the last one because its file came last.
#[test]
fn a_picture_stands_in_its_group_by_the_day_it_was_taken_and_not_by_that_of_its_file() {
    let sealed = Sealed::new();
    let strip = Deed::Begun(Begun::of(Work {
        operation: "strip".into(),
        ..work("ears")
    }));
    let file = |name: &str, station: &str, grey: u8| {
        filed(&sealed, name, ("ears", station), &png(40, 30, [grey; 3]))
    };
    sealed.write(
        "figures/hare",
        &[
            (
                "2026-11-03T09:00:00Z",
                "odile",
                said("ears", ["view", "before", "taken"]),
            ),
            ("2026-11-07T09:00:00Z", "odile", strip),
            ("2026-11-08T09:00:00Z", "odile", file("b.png", "primed", 80)),
            (MORNING, "odile", file("a.png", "before", 90)),
        ],
    );
    let page = report(&sealed, "hare.txt");
    for words in [
        "pictures before the work  1 picture, side by side above",
        "pictures during the work  1 picture, side by side above",
    ] {
        assert!(page.contains(words), "{page}");
    }
    let (first, second) = (page.find("* ears, before;"), page.find("* ears, primed;"));
    assert!(first.is_some() && first < second, "{page}");
}

/// Both halves of a pair stand on the same lines of the sheet, the earlier left.
#[test]
fn before_and_now_stand_side_by_side_on_paper() {
    if !has("pdftoppm") {
        return;
    }
    let half = |grey: u8| Picture {
        caption: "body near side".into(),
        shot: Shot::Whole(png(120, 60, [grey; 3])),
    };
    let sheet = Sheet {
        wants_one: false,
        behind: Vec::new(),
        front: Vec::new(),
        title: "A pair".into(),
        label: "a label".into(),
        dated: "today".into(),
        parts: vec![Part {
            title: "Pictures".into(),
            blocks: vec![Block::Pair([half(60), half(200)])],
        }],
    };
    let pages = pixels(&pdf(&sheet));
    assert_eq!(pages.len(), 1);
    let Sheets { wide, greys, .. } = &pages[0];
    let places = |grey: u8| -> Vec<(usize, usize)> {
        let near = |one: &u8| one.abs_diff(grey) <= 1;
        let found = greys.iter().enumerate().filter(|(_, one)| near(one));
        found.map(|(at, _)| (at / wide, at % wide)).collect()
    };
    let (dark, light) = (places(60), places(200));
    assert!(
        dark.len() > 6000 && light.len() > 6000,
        "{} {}",
        dark.len(),
        light.len()
    );
    assert!(dark[100].0.abs_diff(light[100].0) <= 2, "on the same lines");
    let right = dark.iter().map(|(_, x)| *x).max().unwrap();
    assert!(right < light[light.len() / 2].1, "the earlier stands left");
}

#[test]
fn the_record_of_a_joint_stands_in_report_and_table_from_one_source() {
    let sealed = Sealed::at_work();
    let page = report(&sealed, "hare.txt");
    let joint = between(&page, ["Record of joint J3", "Joint J3:"]);
    let joint = joint.split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "state in clamps",
        "gap map mean",
        "ml to fill",
        "glued with 99.9 g of medium epoxy 100:45 by weight (lot A-1 + B-1), hardener +0.2 %, batch of line",
        "old filler NOT RECORDED",
    ] {
        assert!(joint.contains(wanted), "{wanted} in {joint}");
    }
    assert!(!page.contains("Record of joint J2"), "nobody looked at it");
    let folder = folder(&sealed);
    let table = fs::read_to_string(folder.join("joints.csv")).unwrap();
    let heads: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    for head in [
        "state",
        "old_filler",
        "decision",
        "gap_mean_mm",
        "clamp_plan",
        "lots",
        "batch_lines",
        "glue_g",
    ] {
        assert!(heads.contains(&head), "{head} in {heads:?}");
    }
    let row = table.lines().find(|row| row.starts_with("J3,")).unwrap();
    assert!(
        row.contains(",in clamps,") && row.contains(",A-1 + B-1,"),
        "{row}"
    );
    assert!(row.ends_with(",99.9"), "{row}");
    let gaps = fs::read_to_string(folder.join("gaps.csv")).unwrap();
    assert!(
        gaps.contains("J3,\"body boards, near side and back board\",200,1,6.5"),
        "{gaps}"
    );
}

#[test]
fn the_shop_s_own_drawing_of_a_figure_goes_into_its_folder() {
    let sealed = Sealed::new();
    let told = sealed.run(&at_evening(&["report", "heron", "--folder", "../heron"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    let there = |folder: &str, file: &str| fs::read(sealed.home.path().join(folder).join(file));
    let own = fs::read(sealed.shop().join("figures/heron/outline.yaml")).unwrap();
    assert_eq!(there("heron", "cards/outline.yaml").unwrap(), own);
    let sums = String::from_utf8(there("heron", "SHA256SUMS").unwrap()).unwrap();
    assert!(
        sums.contains(&format!("{}  cards/outline.yaml\n", sha256(&own))),
        "{sums}"
    );
    let read_me = String::from_utf8(there("heron", "READ-ME-FIRST.txt").unwrap()).unwrap();
    assert!(
        read_me.contains("the shop's own drawing of this figure"),
        "{read_me}"
    );
    // A figure without one has none, and a link is not followed.
    let link = sealed.shop().join("figures/hare/outline.yaml");
    symlink("/etc/passwd", link).unwrap();
    let told = sealed.run(&at_evening(&["report", "hare", "--folder", "../hare"]));
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(there("hare", "cards/outline.yaml").is_err());
    let read_me = String::from_utf8(there("hare", "READ-ME-FIRST.txt").unwrap()).unwrap();
    assert!(
        read_me.contains("outline.yaml: it is no plain file"),
        "{read_me}"
    );
}

/// Nobody is asked to write down that plain paint holds no metal.
#[test]
fn plain_paint_lacks_no_metal_and_a_layer_called_leaf_does() {
    let told = |word: &str, material: &str| {
        let sealed = Sealed::new();
        let place = LayerPlace {
            zone: "ears".into(),
            exposure: "1".into(),
            layer: 1,
        };
        let read = Deed::LayerRead(LayerRead {
            word: Some(word.into()),
            material: Some(material.into()),
            ..LayerRead::at(place)
        });
        sealed.write("figures/hare", &[(MORNING, "odile", read)]);
        let page = report(&sealed, "hare.html");
        between(&page, ["Not recorded</h2>", "</section>"]).contains(": metal, in 1 of 1 rows")
    };
    assert!(!told("dark green", "oil paint"));
    assert!(told("Gold", "oil-gilding"));
    assert!(told("yellow", "bronze powder?"));
}
