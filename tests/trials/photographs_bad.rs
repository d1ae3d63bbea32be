//! Photographs that mean no good: heads that lie, files cut and damaged, links, and names and
//! notes that act on a terminal or climb out of their folder. Wherever they are shown (the
//! screen, the report in its three forms, the folder) they do nothing.

use std::collections::VecDeque;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use knuckle::card::DEFERRAL;
use knuckle::deed::{Acknowledged, Deed, Line, PhotoKept};
use knuckle::disk::{RealDisk, replace};
use knuckle::report::dossier::{Block, Part, Picture as Shown, Sheet, Shot, html, pdf, read_shots};
use knuckle::screen::{Event, NoEasel, Opening, Silent, Turn, go_round};
use knuckle::shop::{
    Keeper, NotAPicture, PhotoFault, PhotoIn, load, picture, picture_head, show_photo,
    take_photo_in,
};
use knuckle::standing::Book;
use proptest::prelude::*;
use ratatui::{Terminal, backend::TestBackend};

use crate::hostile::acts_or_hides;
use crate::kit::sealed::{Sealed, at_evening};
use crate::kit::{moment, photo_kept, png, sha256};
use crate::memory::at;
use crate::played::{Hand, Stands};

/// What clears the terminal, names its window, turns the order and hides letters.
const BAD: &str = "\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m\u{202e}gpj.x\u{2066}\u{200b}";

/// The two photographs of `tests/photos`.
fn fixtures() -> [Vec<u8>; 2] {
    ["on-its-side.jpg", "plain.jpg"].map(|name| {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        fs::read(root.join("tests/photos").join(name)).unwrap()
    })
}

/// The same JPEG whose frame (ITU-T T.81, B.2.2) says that it is 60000 × 60000 pixels.
fn huge_jpeg(mut bytes: Vec<u8>) -> Vec<u8> {
    let frame = bytes.windows(2).position(|two| two == [0xff, 0xc0]);
    let size = frame.expect("a baseline frame") + 5;
    bytes[size..size + 4].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
    bytes
}

/// A PNG whose head (ISO/IEC 15948, 11.2.2) says the same, with the check sum for it.
fn huge_png() -> Vec<u8> {
    let mut bytes = png(4, 4, [9, 9, 9]);
    bytes[16..24].copy_from_slice(&[0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60]);
    let sum = crate::kit::crc(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&sum.to_be_bytes());
    bytes
}

fn kept(file: &str, bytes: &[u8]) -> PhotoKept {
    photo_kept(file, sha256(bytes), (None, "before"))
}

fn put(path: &Path, bytes: &[u8]) {
    replace(&RealDisk, path, bytes).unwrap();
}

/// Files in the hare's folder of photographs, and a line for each.
pub(crate) fn with_photographs(files: &[(&str, &[u8])]) -> Sealed {
    let sealed = Sealed::new();
    let photos = sealed.shop().join("figures/hare/photos");
    fs::create_dir_all(&photos).unwrap();
    let mut lines = Vec::new();
    for (name, bytes) in files {
        put(&photos.join(name), bytes);
        let line = Deed::PhotoKept(kept(&format!("photos/{name}"), bytes));
        lines.push(("2026-11-25T09:00:00Z", "odile", line));
    }
    sealed.write("figures/hare", &lines);
    sealed
}

/// The pages of all photographs of the hare, as the real round of the screen shows them.
fn leaf_of_photographs(sealed: &Sealed) -> String {
    let (cards, flaws) = load(&RealDisk, &sealed.shop()).unwrap();
    assert!(flaws.is_empty(), "{flaws:?}");
    let said = DEFERRAL.to_owned();
    let read = Deed::Acknowledged(Acknowledged { said });
    sealed.write("", &[("2026-11-25T08:00:00Z", "ines", read)]);
    let mut keeper = Keeper::open(Arc::new(RealDisk), sealed.shop(), cards).unwrap();
    let opening = Opening {
        by: "ines".to_owned(),
        bench: "trial".to_owned(),
        figure: Some("hare".to_owned()),
        ..Opening::default()
    };
    let (mut dial, mut bell) = (Stands(moment("2026-11-25T18:00:00Z")), Silent);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let mut turn = Turn::new(&mut keeper, &mut dial, &mut bell, opening);
    let key = |sign| Event::Key(KeyEvent::new(KeyCode::Char(sign), KeyModifiers::NONE));
    let mut pages = String::new();
    let mut steps: Vec<VecDeque<Event>> = vec!["ivvv".chars().map(key).collect()];
    steps.extend("123456789".chars().map(|digit| [key(digit)].into()));
    for step in steps {
        go_round(&mut turn, &mut terminal, &mut Hand(step), &mut NoEasel).unwrap();
        let buffer = terminal.backend().buffer();
        for cell in buffer.content() {
            let acts = cell.symbol().chars().any(acts_or_hides);
            assert!(!acts, "{:?}", cell.symbol());
        }
        pages.push_str(&crate::kit::picture::text(buffer));
    }
    pages
}

#[test]
fn a_head_that_claims_the_memory_is_refused_before_anything_is_unpacked() {
    let [turned, plain] = fixtures();
    let words = "this says it is 60000 × 60000 pixels: more than any camera takes";
    let files = [huge_jpeg(turned), huge_jpeg(plain), huge_png()];
    for bytes in &files {
        assert_eq!(picture_head(bytes).unwrap_err().to_string(), words);
        let refused = picture(bytes, [8, 8]).unwrap_err();
        assert!(matches!(refused, NotAPicture::TooLarge { .. }), "{refused}");
    }
    let [jpeg, _, drawn] = &files;
    let sealed = with_photographs(&[("near.jpg", jpeg), ("far.png", drawn)]);
    // Taken in by nobody.
    put(&sealed.home.path().join("huge.png"), drawn);
    let told = sealed.run(&[
        "photo",
        "hare",
        "../huge.png",
        "--station",
        "before",
        "--as",
        "odile",
    ]);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    assert!(told.err.starts_with(words), "{}", told.err);
    // And one that a journal from anywhere names is shown nowhere.
    let page = leaf_of_photographs(&sealed);
    assert!(page.contains("60000 × 60000"), "{page}");
    let lines = Keeper::open(
        Arc::new(RealDisk),
        sealed.shop(),
        load(&RealDisk, &sealed.shop()).unwrap().0,
    );
    let lines: Vec<Line> = lines.unwrap().lines(&Book::Figure("hare".into())).unwrap();
    let shots = read_shots(&RealDisk, &sealed.shop().join("figures/hare"), &lines);
    assert_eq!(shots.len(), 2);
    for shot in shots.values() {
        let why = "the file is no picture that a page can show";
        assert_eq!(shot, &Shot::Absent(why.to_owned()));
    }
}

/// A page with one photograph.
fn sheet_of(bytes: Vec<u8>) -> Sheet {
    Sheet {
        title: "Photograph".into(),
        label: "hare".into(),
        dated: "2026-11-25".into(),
        wants_one: false,
        behind: Vec::new(),
        front: Vec::new(),
        parts: vec![Part {
            title: "One".into(),
            blocks: vec![Block::Picture(Shown {
                caption: "before".into(),
                shot: Shot::Whole(bytes),
            })],
        }],
    }
}

proptest! {
    /// The reader, the page for a browser and the page of paper take whatever comes.
    #[test]
    fn no_cut_and_no_flipped_bit_of_a_photograph_stops_anything(
        which in 0..2_usize,
        flips in prop::collection::vec((any::<prop::sample::Index>(), 0..8_u8), 0..6),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = fixtures()[which].clone();
        for (at, bit) in &flips {
            let at = at.index(bytes.len());
            bytes[at] ^= 1 << bit;
        }
        if let Some(cut) = &cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let is_whole = flips.is_empty() && cut.is_none();
        let found = picture(&bytes, [16, 16]);
        prop_assert!(!is_whole || found.is_ok());
        if let Ok(found) = found {
            prop_assert!((1..=16).contains(&found.width) && (1..=16).contains(&found.height()));
        }
        let paper = pdf(&sheet_of(bytes.clone()));
        prop_assert!(paper.starts_with(b"%PDF-") && paper.ends_with(b"%%EOF\n"));
        prop_assert!(html(&sheet_of(bytes)).contains("</html>"));
    }
}

fn before(day: &str) -> PhotoIn<'static> {
    PhotoIn {
        figure: "hare",
        target: None,
        station: "before",
        at: at(&format!("{day}T12:00:00+00:00")),
        known: &[],
    }
}

#[test]
fn a_folder_of_photographs_that_is_a_link_is_not_followed() {
    let home = tempfile::tempdir().unwrap();
    let from = home.path().join("one.jpg");
    let [bytes, _] = fixtures();
    put(&from, &bytes);
    let figure = home.path().join("shop/figures/hare");
    let elsewhere = home.path().join("elsewhere");
    fs::create_dir_all(&figure).unwrap();
    fs::create_dir(&elsewhere).unwrap();
    put(&elsewhere.join("theirs.jpg"), &bytes);
    let shop = home.path().join("shop");
    for target in [elsewhere.clone(), home.path().join("nowhere")] {
        symlink(&target, figure.join("photos")).unwrap();
        let refused = take_photo_in(&RealDisk, &shop, &from, &before("2026-11-25")).unwrap_err();
        assert!(matches!(refused, PhotoFault::Elsewhere { .. }), "{refused}");
        let photo = kept("photos/theirs.jpg", &bytes);
        let refused = show_photo(&RealDisk, &figure, &photo, [8, 8]).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "the folder of this figure or of its photographs is a link to somewhere else"
        );
        fs::remove_file(figure.join("photos")).unwrap();
    }
    let theirs: Vec<PathBuf> = fs::read_dir(&elsewhere)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert_eq!(theirs, [elsewhere.join("theirs.jpg")]);
    assert!(!home.path().join("nowhere").exists());
}

#[test]
fn the_name_that_a_photograph_came_with_acts_on_nothing() {
    let sealed = Sealed::new();
    let [_, plain] = fixtures();
    let name = format!("near{BAD}.jpg");
    put(&sealed.home.path().join(&name), &plain);
    let told = sealed.run(&[
        "photo",
        "hare",
        &format!("../{name}"),
        "--station",
        "before",
        "--as",
        "odile",
    ]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("near␛[2J"), "{}", told.err);
    let photos = fs::read_dir(sealed.shop().join("figures/hare/photos")).unwrap();
    let photos: Vec<String> = photos
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(photos.len(), 1, "{photos:?}");
    assert!(photos[0].starts_with("hare-before-20"), "{photos:?}");
    let broken = format!("bad{BAD}.jpg");
    put(&sealed.home.path().join(&broken), b"no picture");
    let refused = sealed.run(&[
        "photo",
        "hare",
        &format!("../{broken}"),
        "--station",
        "before",
        "--as",
        "odile",
    ]);
    assert_eq!(refused.code, 2);
    for text in [told.out, told.err, refused.out, refused.err] {
        let acts = |sign: &char| *sign != '\n' && acts_or_hides(*sign);
        let left: Vec<char> = text.chars().filter(acts).collect();
        assert!(left.is_empty(), "{left:?}: {text}");
    }
    shown_harmless(&sealed);
}

#[test]
fn a_line_whose_every_word_means_no_good_is_harmless_wherever_it_is_shown() {
    let [_, plain] = fixtures();
    let sealed = Sealed::new();
    let photos = sealed.shop().join("figures/hare/photos");
    fs::create_dir_all(&photos).unwrap();
    put(&photos.join("near.jpg"), &plain);
    put(&photos.join(format!("x{BAD}.jpg")), &plain);
    put(&sealed.home.path().join("secret.jpg"), &plain);
    let bad = |file: String| {
        let photo = PhotoKept {
            station: format!("note{BAD}</p><script>"),
            original: Some(format!("../../{BAD}")),
            taken: Some(format!("2026{BAD}")),
            ..kept(&file, &plain)
        };
        ("2026-11-25T09:00:00Z", "odile", Deed::PhotoKept(photo))
    };
    let lines = [
        bad("photos/near.jpg".into()),
        bad(format!("photos/x{BAD}.jpg")),
        bad("photos/../../../../secret.jpg".into()),
        bad(format!("../../{BAD}")),
    ];
    sealed.write("figures/hare", &lines);
    let pages = leaf_of_photographs(&sealed);
    assert!(pages.contains("note␛[2J"), "{pages}");
    assert!(
        pages.contains("which is no photograph of this folder"),
        "{pages}"
    );
    shown_harmless(&sealed);
    let files = fs::read_dir(sealed.home.path().join("thirty/photos")).unwrap();
    let files: Vec<String> = files
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(
        files,
        ["near.jpg"],
        "nothing from outside, no name that acts"
    );
}

/// The screen, the report in its three forms and the folder hold no sign that acts.
#[track_caller]
fn shown_harmless(sealed: &Sealed) {
    leaf_of_photographs(sealed);
    for file in ["hare.txt", "hare.html", "hare.pdf"] {
        let told = sealed.run(&at_evening(&["report", "hare", "--out", file]));
        assert_eq!((told.code, told.err.as_str()), (0, ""), "{file}");
        let bytes = fs::read(sealed.shop().join(file)).unwrap();
        if file == "hare.pdf" {
            // A photograph's own bytes stand in it as they are; everything else is letters.
            let text = String::from_utf8_lossy(&bytes);
            assert!(!text.contains('\u{202e}') && !text.contains("\u{1b}[2J"));
            continue;
        }
        let text = String::from_utf8(bytes).unwrap();
        let acts = |sign: &char| *sign != '\n' && acts_or_hides(*sign);
        let left: Vec<char> = text.chars().filter(acts).collect();
        assert!(left.is_empty(), "{file}: {left:?}");
        let is_letters = file == "hare.txt";
        assert!(is_letters || !text.contains("<script"), "{file}");
    }
    let folder = ["report", "hare", "--folder", "../thirty"];
    let told = sealed.run(&at_evening(&folder));
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{}", told.out);
    let folder = sealed.home.path().join("thirty");
    for entry in fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        assert!(!name.chars().any(acts_or_hides), "{name:?}");
        // The journal is kept as it is, escaped as JSON; a PDF was looked at above.
        let ends = path.extension().unwrap_or_default();
        if path.is_dir() || ends == "pdf" || ends == "jsonl" {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let acts = |sign: &char| !['\n', '\r', '\t'].contains(sign) && acts_or_hides(*sign);
        let left: Vec<char> = text.chars().filter(acts).collect();
        assert!(left.is_empty(), "{name}: {left:?}");
    }
}
