//! Photographs taken in and looked at again, and what hostile or broken files come to. Two
//! small JPEG files stand in `tests/photos`; the PNG files are drawn here.

use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use knuckle::deed::{Begun, Deed, PhotoKept, Struck, Work};
use knuckle::disk::{RealDisk, replace};
use knuckle::shop::{
    NotAPicture, PhotoFault, PhotoIn, Picture, picture, picture_head, show_photo, take_photo_in,
};
use knuckle::trouble::Trouble;
use proptest::prelude::*;

use crate::kit::png;
use crate::kit::sealed::Sealed;
use crate::memory::at;

/// A photograph of `tests/photos`: 48 × 32 pixels, its camera held on its side, its left
/// column red.
fn on_its_side() -> Vec<u8> {
    fixture("on-its-side.jpg")
}

fn fixture(name: &str) -> Vec<u8> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    fs::read(root.join("tests/photos").join(name)).unwrap()
}

/// A PNG of one colour type, two pixels wide: dark, then light.
fn png_of(colour: png::ColorType, depth: png::BitDepth, row: &[u8]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 2, 1);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    if colour == png::ColorType::Indexed {
        encoder.set_palette(vec![0, 0, 0, 255, 255, 255]);
    }
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(row).unwrap();
    writer.finish().unwrap();
    bytes
}

/// A PNG of one grey.
fn grey_png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(Cursor::new(&mut bytes), width, height);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header().unwrap();
    let pixels = usize::try_from(width * height).unwrap();
    writer.write_image_data(&vec![90; pixels]).unwrap();
    writer.finish().unwrap();
    bytes
}

/// The same PNG with other numbers in its head, its check sum (PNG, third edition, annex D)
/// put right, so that only the size is a lie.
fn with_size(mut bytes: Vec<u8>, width: u32, height: u32) -> Vec<u8> {
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let mut sum = u32::MAX;
    for byte in &bytes[12..29] {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            sum = if sum & 1 == 1 {
                sum >> 1 ^ 0xedb8_8320
            } else {
                sum >> 1
            };
        }
    }
    bytes[29..33].copy_from_slice(&(!sum).to_be_bytes());
    bytes
}

#[test]
fn a_jpeg_is_turned_upright_and_says_when_it_was_taken() {
    let head = picture_head(&on_its_side()).unwrap();
    assert_eq!((head.ends, head.pixels), ("jpg", [48, 32]));
    assert_eq!(head.exif.taken.as_deref(), Some("2026-11-03 09:12:40"));
    assert_eq!(head.exif.turned, Some(6));
    let upright = picture(&on_its_side(), [1000, 1000]).unwrap();
    assert_eq!((upright.width, upright.height()), (32, 48));
    let near = |picture: &Picture, at: (usize, usize), wanted: [i16; 3]| {
        let found = picture.at(at.0, at.1).unwrap();
        let off = found.iter().zip(wanted);
        let off = off
            .map(|(one, other)| (i16::from(*one) - other).abs())
            .max();
        assert!(off.unwrap() <= 6, "{found:?} at {at:?}");
    };
    // The red that lies left in the file is the top; the rest is blue (drawn so, through the
    // rounding of a JPEG).
    near(&upright, (16, 2), [200, 40, 40]);
    near(&upright, (16, 40), [40, 60, 160]);
    let plain = picture_head(&fixture("plain.jpg")).unwrap();
    assert_eq!((plain.exif.taken, plain.exif.turned), (None, None));
    near(
        &picture(&fixture("plain.jpg"), [32, 24]).unwrap(),
        (2, 12),
        [200, 40, 40],
    );
}

#[test]
fn every_sort_of_png_comes_out_dark_then_light() {
    use png::{BitDepth::*, ColorType::*};
    for (colour, depth, row) in [
        (Grayscale, Eight, vec![0, 255]),
        (Grayscale, One, vec![0b0100_0000]),
        (Grayscale, Sixteen, vec![0, 0, 255, 255]),
        (GrayscaleAlpha, Eight, vec![0, 255, 255, 200]),
        (Rgb, Eight, vec![0, 0, 0, 255, 255, 255]),
        (Rgba, Eight, vec![0, 0, 0, 255, 255, 255, 255, 0]),
        (Indexed, Eight, vec![0, 1]),
    ] {
        let found = picture(&png_of(colour, depth, &row), [9, 9]).unwrap();
        assert_eq!(found.pixels, [[0; 3], [255; 3]], "{colour:?} {depth:?}");
    }
}

#[test]
fn what_is_no_picture_is_said_in_words() {
    let no = |bytes: &[u8]| picture(bytes, [8, 8]).unwrap_err();
    assert_eq!(no(b"").to_string(), "the file is empty");
    let text = no(b"#!/bin/sh\nrm -rf /\n").to_string();
    assert_eq!(
        text,
        "this is no JPEG and no PNG, whatever its name ends in"
    );
    let huge = with_size(grey_png(4, 4), 60_000, 60_000);
    let words = "this says it is 60000 × 60000 pixels: more than any camera takes";
    assert_eq!(picture_head(&huge).unwrap_err().to_string(), words);
    assert_eq!(no(&huge).to_string(), words);
    let most = with_size(grey_png(4, 4), u32::MAX >> 1, u32::MAX >> 1);
    assert!(matches!(
        no(&most),
        NotAPicture::TooLarge { .. } | NotAPicture::Broken { .. }
    ));
    let longer = with_size(grey_png(4, 4), 4, 400);
    assert!(matches!(
        no(&longer),
        NotAPicture::Broken { kind: "PNG", .. }
    ));
}

#[test]
fn a_picture_cut_anywhere_is_broken_and_never_stops_the_reader() {
    for (whole, kind) in [(on_its_side(), "JPEG"), (grey_png(64, 64), "PNG")] {
        let most = whole.len() - 2;
        for cut in (12..most).step_by(7) {
            let found = picture(&whole[..cut], [8, 8]);
            assert!(
                matches!(&found, Err(NotAPicture::Broken { kind: told, .. }) if *told == kind),
                "{kind} cut at {cut} of {}: {found:?}",
                whole.len()
            );
        }
    }
}

proptest! {
    #[test]
    fn no_slip_of_a_byte_stops_the_reader(
        slips in prop::collection::vec((0..400_usize, any::<u8>()), 1..8),
        jpeg in any::<bool>(),
    ) {
        let mut bytes = if jpeg { on_its_side() } else { grey_png(40, 30) };
        for (at, byte) in slips {
            if let Some(slot) = bytes.get_mut(at) {
                *slot = byte;
            }
        }
        if let Ok(found) = picture(&bytes, [16, 16]) {
            prop_assert!(found.width <= 16 && found.height() <= 16);
        }
    }
}

fn shop() -> (tempfile::TempDir, PathBuf) {
    let home = tempfile::tempdir().unwrap();
    let from = home.path().join("IMG_0412.JPG");
    replace(&RealDisk, &from, &on_its_side()).unwrap();
    (home, from)
}

fn take<'a>(station: &'a str, target: Option<&'a str>) -> PhotoIn<'a> {
    PhotoIn {
        figure: "hare",
        target,
        station,
        at: at("2026-11-25T12:00:00+00:00"),
        known: &[],
    }
}

#[test]
fn a_photograph_is_named_by_what_is_known_of_it_and_is_found_again() {
    let (home, from) = shop();
    let what = take("Before raking", Some("body-near"));
    let kept = take_photo_in(&RealDisk, home.path(), &from, &what).unwrap();
    assert_eq!(
        kept.file,
        "photos/hare-body-near-before-raking-2026-11-03.jpg"
    );
    assert_eq!(kept.original.as_deref(), Some("IMG_0412.JPG"));
    assert_eq!((kept.pixels, kept.turned), (Some([48, 32]), Some(6)));
    assert_eq!(kept.station, "Before raking");
    let again = take_photo_in(&RealDisk, home.path(), &from, &what).unwrap();
    assert_eq!(
        again.file,
        "photos/hare-body-near-before-raking-2026-11-03-2.jpg"
    );
    assert_eq!(again.sha256, kept.sha256);
    let folder = home.path().join("figures/hare");
    assert_eq!(fs::read(folder.join(&kept.file)).unwrap(), on_its_side());
    let shown = show_photo(&RealDisk, &folder, &kept, [16, 16]).unwrap();
    assert_eq!((shown.width, shown.height()), (10, 16));
    assert!(from.exists(), "the original stays");
    // Without a moment of its own it is named by the day it was taken in.
    let plain = home.path().join("p.png");
    replace(&RealDisk, &plain, &grey_png(4, 4)).unwrap();
    let kept = take_photo_in(&RealDisk, home.path(), &plain, &take("near side", None)).unwrap();
    assert_eq!(kept.file, "photos/hare-near-side-2026-11-25.png");
}

#[test]
fn a_station_never_leads_out_of_the_folder() {
    let (home, from) = shop();
    for station in [
        "../../etc",
        "a/b",
        "..",
        "",
        "  ",
        "a\0b",
        "ä",
        "x\u{202e}y",
        "con:",
        "-",
    ] {
        let refused = take_photo_in(&RealDisk, home.path(), &from, &take(station, None));
        assert!(
            matches!(refused, Err(PhotoFault::Station { .. })),
            "{station:?}: {refused:?}"
        );
    }
    let long = "x".repeat(41);
    assert!(take_photo_in(&RealDisk, home.path(), &from, &take(&long, None)).is_err());
    assert!(!home.path().join("figures").exists(), "nothing was made");
}

#[test]
fn a_journal_never_opens_a_file_outside_and_a_changed_one_is_told() {
    let (home, from) = shop();
    let kept = take_photo_in(&RealDisk, home.path(), &from, &take("before", None)).unwrap();
    let folder = home.path().join("figures/hare");
    for file in [
        "../../../IMG_0412.JPG",
        "photos/../figure.yaml",
        "photos/.hidden.png",
        "photos/a/b.png",
        "photos\\x.png",
        "/etc/passwd",
        "photos/",
    ] {
        let photo = PhotoKept {
            file: file.into(),
            ..kept.clone()
        };
        let refused = show_photo(&RealDisk, &folder, &photo, [8, 8]);
        assert!(matches!(refused, Err(PhotoFault::Outside { .. })), "{file}");
    }
    replace(&RealDisk, &folder.join(&kept.file), &grey_png(4, 4)).unwrap();
    let changed = show_photo(&RealDisk, &folder, &kept, [8, 8]).unwrap_err();
    assert_eq!(
        changed.to_string(),
        "this is not the photograph that was taken in: its hash differs"
    );
}

#[cfg(unix)]
#[test]
fn a_link_a_folder_and_a_pipe_are_no_photographs() {
    let (home, from) = shop();
    let link = home.path().join("link.jpg");
    std::os::unix::fs::symlink(&from, &link).unwrap();
    let pipe = home.path().join("pipe.jpg");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    for (path, what) in [
        (link, "a link"),
        (home.path().to_owned(), "a folder"),
        (pipe, "a device or a pipe"),
    ] {
        if what.ends_with("pipe") && !made.as_ref().is_ok_and(std::process::ExitStatus::success) {
            continue;
        }
        let refused = take_photo_in(&RealDisk, home.path(), &path, &take("before", None));
        let words = refused.unwrap_err().to_string();
        assert_eq!(words, format!("this is {what}, not a photograph"));
    }
    let missing = home.path().join("gone.jpg");
    let refused = take_photo_in(&RealDisk, home.path(), &missing, &take("before", None));
    let trouble = Trouble::from(refused.unwrap_err());
    assert_eq!(trouble.exit.code(), 3, "{trouble}");
}

#[test]
fn the_command_takes_in_tells_what_is_missing_and_keeps_what_stands_beside_a_bad_file() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    replace(&RealDisk, &home.join("one.jpg"), &on_its_side()).unwrap();
    replace(&RealDisk, &home.join("two.jpg"), b"<html>").unwrap();
    let words = [
        "photo",
        "hare",
        "../two.jpg",
        "../one.jpg",
        "--zone",
        "ears",
        "--station",
        "before",
        "--as",
        "odile",
    ];
    let told = sealed.run(&words);
    assert_eq!(told.code, 2, "{}", told.err);
    assert_eq!(
        told.out,
        "kept as hare:1: kept a photograph of ears, before: photos/hare-ears-before-2026-11-03.jpg\n"
    );
    assert_eq!(
        told.err,
        "this is no JPEG and no PNG, whatever its name ends in\n where: ../two.jpg\n    do: \
         save it from the camera anew as JPEG or PNG; nothing was taken in\n"
    );
    replace(&RealDisk, &home.join("three.jpg"), &fixture("plain.jpg")).unwrap();
    let told = sealed.run(&photo("../three.jpg", "ears", "before raking"));
    assert_eq!(
        (told.code, told.err.as_str()),
        (
            0,
            "three.jpg does not say when it was taken: its name tells today\n"
        )
    );
    sealed.refuses(
        &[
            "photo",
            "hare",
            "../one.jpg",
            "--zone",
            "aers",
            "--station",
            "x",
            "--as",
            "odile",
        ],
        2,
        "no part of this figure is called `aers`; did you mean `ears`?\n where: --zone\n    do: \
         there are head-near, head-off, ears, neck-near, neck-off, bridle, strap, body-near, \
         body-off, saddle-seat, cantle-edge, cantle-back, blanket-near, blanket-off, fringe-near, \
         fringe-off, belly, legs-fore, legs-hind, tail, witness-belly, J1, J2, J3, J4, J5, J6, \
         breast-strap, fringe-near-gold, fringe-off-gold, bridle-silver",
    );
    assert_eq!(sealed.run(&["audit"]).code, 0);
}

fn photo<'a>(file: &'a str, zone: &'a str, station: &'a str) -> Vec<&'a str> {
    let words = ["photo", "hare", file, "--zone", zone, "--station", station];
    [words.as_slice(), &["--as", "odile"]].concat()
}

#[test]
fn one_picture_is_not_taken_in_twice_under_any_name() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    for name in ["one.jpg", "same.jpg"] {
        replace(&RealDisk, &home.join(name), &on_its_side()).unwrap();
    }
    let first = sealed.run(&photo("../one.jpg", "ears", "before"));
    assert_eq!(first.code, 0, "{}", first.err);
    let twice = "this picture is taken in already: it is \
         photos/hare-ears-before-2026-11-03.jpg, which shows ears, `before`\n where: \
         ../same.jpg\n    do: nothing was taken in; where it was named wrongly, or shows both, add \
         --again: the journal then holds it under both names";
    sealed.refuses(&photo("../same.jpg", "tail", "before raking"), 2, twice);
    let photos = || fs::read_dir(sealed.shop().join("figures/hare/photos")).unwrap();
    assert_eq!(photos().count(), 1, "nothing was copied");
    let again = photo("../same.jpg", "tail", "before raking");
    let again = sealed.run(&[again.as_slice(), &["--again"]].concat());
    assert_eq!(again.code, 0, "{}", again.err);
    assert_eq!(photos().count(), 2);
    // Two names of one picture in one command are one picture as well.
    let other = Sealed::new();
    for name in ["one.jpg", "same.jpg"] {
        replace(&RealDisk, &other.home.path().join(name), &on_its_side()).unwrap();
    }
    let words = photo("../one.jpg", "ears", "before");
    let both = other.run(&[words.as_slice(), &["../same.jpg"]].concat());
    assert_eq!(both.code, 2, "{}", both.out);
    assert_eq!(both.out.lines().count(), 1, "{}", both.out);
    assert!(both.err.contains("taken in already"), "{}", both.err);
}

#[test]
fn a_picture_whose_line_was_struck_may_come_in_under_its_right_name() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    replace(&RealDisk, &home.join("one.jpg"), &on_its_side()).unwrap();
    assert_eq!(sealed.run(&photo("../one.jpg", "ears", "before")).code, 0);
    let struck = Deed::Struck(Struck {
        line: 1,
        why: "wrong zone".into(),
    });
    sealed.write("figures/hare", &[("2026-11-25T09:00:00Z", "odile", struck)]);
    let again = sealed.run(&photo("../one.jpg", "tail", "before"));
    assert_eq!(again.code, 0, "{}", again.err);
}

/// The camera of `on-its-side.jpg` says 2026-11-03 09:12:40; `plain.jpg` says nothing.
#[test]
fn a_picture_before_that_comes_after_work_began_is_kept_and_marked() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    replace(&RealDisk, &home.join("one.jpg"), &on_its_side()).unwrap();
    replace(&RealDisk, &home.join("plain.jpg"), &fixture("plain.jpg")).unwrap();
    let begun = |zone: &str| {
        Deed::Begun(Begun::of(Work {
            operation: "strip".into(),
            target: Some(zone.into()),
            round: 1,
        }))
    };
    sealed.write(
        "figures/hare",
        &[
            ("2026-11-07T08:00:00Z", "odile", begun("ears")),
            ("2026-11-02T08:00:00Z", "odile", begun("tail")),
        ],
    );
    let clock = ["--clock", "2026-11-25T18:00:00Z"];
    let run = |words: &[&str]| sealed.run(&[clock.as_slice(), words].concat());
    let before = run(&photo("../one.jpg", "ears", "before"));
    assert!(
        before.err.starts_with(
            "kept and marked: work on ears began on 7 November 2026, before this was taken in; by \
             its camera's clock it was taken before that\n"
        ),
        "{}",
        before.err
    );
    let unsaid = run(&photo("../plain.jpg", "tail", "before"));
    assert!(
        unsaid.err.contains(
            "work on tail began on 2 November 2026, before this was taken in; nothing says that \
             it was taken before that: it may show work under way"
        ),
        "{}",
        unsaid.err
    );
    let report = run(&["report", "hare"]);
    let words: Vec<&str> = report.out.split_whitespace().collect();
    let words = words.join(" ");
    let (before, rest) = words.split_once("Pictures during the work").unwrap();
    let wanted = "ears, before; taken 2026-11-03 09:12:40 by its camera's clock; taken in \
         2026-11-25 18:00, joiner, line 3; TAKEN IN AFTER WORK BEGAN HERE (2026-11-07 08:00): by \
         its camera's clock it was taken before that";
    assert!(before.contains(wanted), "{wanted}\n{words}");
    let wanted = "tail, before; when it was taken is not recorded; taken in 2026-11-25 18:00, \
         joiner, line 4; TAKEN IN AFTER WORK BEGAN HERE (2026-11-02 08:00): nothing says";
    assert!(rest.contains(wanted), "{wanted}\n{words}");
}

#[test]
fn layers_and_chips_are_noted_by_command_and_circles_come_back_in_words() {
    let sealed = Sealed::new();
    let layer = |words: &[&str]| {
        let all = [&["layer", "hare"], words, &["--as", "tobias"]].concat();
        sealed.run(&all)
    };
    let read = [
        "ears/1/1",
        "--word",
        "red",
        "--on-top",
        "dirt",
        "--lab",
        "41,50.2,28.3",
        "--lab",
        "41.2,50,28.4",
        "--lab",
        "40.9,50.3,28.1",
    ];
    let told = layer(&read);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    assert_eq!(
        told.out,
        "kept as hare:1: read ears, exposure 1, layer 1: red, L*a*b* 41.0 50.2 28.3, first of 3, dirt on it\n"
    );
    layer(&["ears/1/2", "--word", "brown"]);
    layer(&[
        "tail/1/1",
        "--word",
        "brown",
        "--same-as",
        "ears/1/2",
        "--by",
        "the same brown",
    ]);
    let circle = layer(&["tail/1/1", "--below", "ears/1/1", "--by", "a slip"]);
    assert!(
        circle.err.starts_with(
            "contradiction: these run in a circle: one of them is a misread; take away line 4 or \
             line 5 and no circle is left\n"
        ),
        "{}",
        circle.err
    );
    let unsettled = "no campaign has a number until that is settled\n";
    assert!(circle.err.ends_with(unsettled), "{}", circle.err);
    sealed.says(
        &["layer", "heron"],
        "no layer of this figure was noted yet\n",
    );
    let table = sealed.run(&["layer", "hare"]);
    assert_eq!(table.code, 1, "a contradiction is something found wrong");
    assert!(
        table.out.contains("L*a*b* 41.0 50.2 28.3 ± 0."),
        "{}",
        table.out
    );
    let refused = layer(&["ears/1", "--word", "x"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("such as ears/1/3"), "{}", refused.err);
}

#[test]
fn a_chip_under_one_light_gets_no_verdict_by_command_either() {
    let sealed = Sealed::new();
    let lab = [
        "--lab", "41,50,28", "--lab", "41,50,28", "--lab", "41,50,28",
    ];
    let read = [
        &[
            "layer", "hare", "ears/1/1", "--word", "red", "--as", "tobias",
        ][..],
        &lab,
    ]
    .concat();
    assert_eq!(sealed.run(&read).code, 0);
    let words = [
        "chip",
        "hare",
        "ears",
        "ears/1/1",
        "--dry",
        "--varnished",
        "--as",
        "tobias",
    ];
    let one = [&words[..], &lab, &["--matches", "daylight"]].concat();
    let told = sealed.run(&one);
    assert_eq!(told.code, 1);
    assert_eq!(
        told.err,
        "no verdict: seen under one light only: a match there may be none elsewhere; \
         look in daylight and under a lamp\n"
    );
    let own = sealed.run(&[&one[..], &["--matches", "my lamp"]].concat());
    assert_eq!(own.code, 2, "{}", own.err);
    assert!(
        own.err.contains("`my lamp` is no kind of light"),
        "{}",
        own.err
    );
    assert!(own.err.contains("say one of: daylight, "), "{}", own.err);
    let both = [&one[..], &["--matches", "lamp"]].concat();
    let told = sealed.run(&both);
    let words = "passes: 0.0 apart, at most 3 (common practice, not agreed with the owner); no \
                 difference worth a word\n";
    assert_eq!((told.code, told.err.as_str()), (0, words));
}

#[test]
fn a_camera_whose_clock_runs_ahead_names_no_day_that_is_still_to_come() {
    let sealed = Sealed::new();
    let one = sealed.home.path().join("one.jpg");
    replace(&RealDisk, &one, &on_its_side()).unwrap();
    let words = [
        "photo",
        "hare",
        "../one.jpg",
        "--zone",
        "ears",
        "--station",
        "before",
    ];
    let by = ["--as", "odile", "--clock", "2026-10-20T08:00:00Z"];
    let told = sealed.run(&[&words[..], &by].concat());
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(
        told.out
            .ends_with("photos/hare-ears-before-2026-10-20.jpg\n"),
        "{told:?}"
    );
    assert!(
        told.err.starts_with(
            "one.jpg says that it was taken at 2026-11-03 09:12:40, which is still to come: its \
             name tells today\n"
        ),
        "{told:?}"
    );
}

/// Of several who take in photographs at once, each keeps its own: no name is taken twice.
#[test]
fn photographs_taken_in_at_once_lie_side_by_side() {
    let sealed = Sealed::new();
    let files: Vec<PathBuf> = (0..12_u8)
        .map(|nth| {
            let file = sealed.home.path().join(format!("r{nth}.png"));
            replace(&RealDisk, &file, &png(8, 8, [nth * 20, 40, 90])).unwrap();
            file
        })
        .collect();
    let take_in = |file: &Path| {
        let file = file.to_str().unwrap();
        let words = ["photo", "hare", file, "--station", "race", "--as", "odile"];
        sealed.run(&[&words[..], &["--clock", "2026-11-25T08:00:00Z"]].concat())
    };
    std::thread::scope(|scope| {
        let all: Vec<_> = files
            .iter()
            .map(|file| scope.spawn(|| take_in(file)))
            .collect();
        for one in all {
            let told = one.join().unwrap();
            assert_eq!(told.code, 0, "{}", told.err);
        }
    });
    let photos = sealed.shop().join("figures/hare/photos");
    assert_eq!(fs::read_dir(photos).unwrap().count(), files.len());
    let audit = sealed.run(&["audit"]);
    assert_eq!(audit.code, 0, "{}", audit.out);
    assert!(
        audit.out.ends_with("12 lines: nothing wrong\n"),
        "{}",
        audit.out
    );
}
