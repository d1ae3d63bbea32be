//! The report as a reader meets it: in a real browser on a small screen and on paper, printed
//! by it, and as a PDF turned into pixels. The tools are general-purpose: Chromium, and the
//! `pdftotext` and `pdftoppm` of poppler. Where they are absent a trial says so and is passed
//! over, except where the checks of the project run: there they must be present.

#![expect(
    clippy::print_stderr,
    reason = "what could not be shown here is said aloud"
)]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use knuckle::card::PeopleShown;
use knuckle::report::dossier::{
    Block, Cell, Ink, Part, Picture, Sheet, Shot, Stroke, Table, html, pdf, report, text,
};
use serde_json::Value;

use crate::kit::{painted, png};
use crate::report::of_the_hare;

/// Returns whether a tool is there. Under the project's checks all of them have to be.
#[expect(
    clippy::disallowed_methods,
    reason = "whether a missing tool is a fault is asked of the one who runs the trials"
)]
pub(crate) fn has(tool: &str) -> bool {
    let found = Command::new("sh")
        .args(["-c", &format!("command -v {tool}")])
        .output()
        .unwrap()
        .status
        .success();
    if !found {
        assert!(
            std::env::var_os("KNUCKLE_ALL_TOOLS").is_none(),
            "`{tool}` is missing, and the project's checks need it"
        );
        eprintln!("PASSED OVER: `{tool}` is not installed here");
    }
    found
}

fn hare() -> Sheet {
    of_the_hare(PeopleShown::Outward, |_, ask| report(ask))
}

/// A page with everything that can stand on one, a photograph and long words among it.
fn with_a_picture() -> Sheet {
    let mut sheet = hare();
    sheet.parts.push(Part {
        title: "A photograph".into(),
        blocks: vec![
            Block::Picture(Picture {
                caption: "body near side, before".into(),
                shot: Shot::Whole(png(120, 60, [0x8a, 0x2f, 0x22])),
            }),
            Block::Pair(["before", "primed"].map(|station| Picture {
                caption: format!("ears, {station}"),
                shot: Shot::Whole(png(90, 60, [0x1f, 0x6b, 0x57])),
            })),
            Block::Words("w".repeat(300)),
        ],
    });
    sheet
}

/// Runs Chromium on a page of a temporary folder of its own, with a limit after which it is
/// given up.
fn browser(home: &Path, words: &[&str]) -> String {
    let profile = format!("--user-data-dir={}", home.join("profile").display());
    let ended = Command::new("timeout")
        .args([
            "--kill-after=5",
            "240",
            "chromium",
            "--headless",
            "--no-sandbox",
        ])
        .args(["--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"])
        .args(["--disable-extensions", "--disable-background-networking"])
        .args(["--allow-file-access-from-files", &profile])
        .args(words)
        .env("HOME", home)
        .output()
        .unwrap();
    assert!(
        ended.status.success(),
        "{}",
        String::from_utf8_lossy(&ended.stderr)
    );
    String::from_utf8(ended.stdout).unwrap()
}

fn put(path: &Path, bytes: &[u8]) {
    knuckle::disk::replace(&knuckle::disk::RealDisk, path, bytes).unwrap();
}

/// What a script of ours measures in a frame of one width that holds the report. The contrast
/// is that of WCAG 2.2, success criterion 1.4.3, by its definitions of contrast ratio and
/// relative luminance.
const MEASURE: &str = r"
const part = (c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
const rgb = (css) => css.match(/[\d.]+/g).map(Number);
const ground = (el) => {
  for (; el; el = el.parentElement) {
    const c = rgb(getComputedStyle(el).backgroundColor);
    if (c.length < 4 || c[3] > 0) return c.slice(0, 3);
  }
  return [255, 255, 255];
};
const ratio = (a, b) => {
  const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
  return (x + 0.05) / (y + 0.05);
};
const torn = (cell) => {
  const doc = cell.ownerDocument, walk = doc.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
  for (let text = walk.nextNode(); text; text = walk.nextNode()) {
    for (const word of text.data.matchAll(/\p{L}+/gu)) {
      const range = doc.createRange();
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      if (range.getClientRects().length > 1) return true;
    }
  }
  return false;
};
const frame = document.getElementById('page');
frame.onload = () => {
  const d = frame.contentDocument, all = [...d.querySelectorAll('body *')];
  const wide = d.documentElement.clientWidth;
  let worst = 21, where = '';
  for (const el of all) {
    const own = [...el.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    if (!own) continue;
    const svg = el instanceof frame.contentWindow.SVGElement;
    const ink = svg ? getComputedStyle(el).fill : getComputedStyle(el).color;
    const r = ratio(rgb(ink).slice(0, 3), ground(el));
    if (r < worst) { worst = r; where = el.outerHTML.slice(0, 80); }
  }
  const levels = [...d.querySelectorAll('h1,h2,h3')].map((h) => Number(h.tagName[1]));
  document.getElementById('told').textContent = JSON.stringify({
    wide,
    scrolls: d.documentElement.scrollWidth,
    over: all.filter((el) => el.getBoundingClientRect().right > wide + 1).length,
    texts: all.length,
    worst, where,
    scripts: d.querySelectorAll('script, iframe, object, embed, link, base, form').length,
    handlers: all.filter((el) => [...el.attributes].some((a) => a.name.startsWith('on'))).length,
    outside: all.filter((el) => ['src', 'href', 'xlink:href', 'data', 'action'].some((n) => {
      const v = el.getAttribute(n);
      return v && !v.startsWith('#') && !v.startsWith('data:image/');
    })).length,
    mute: [...d.querySelectorAll('img')].filter((i) => !i.alt).length
      + [...d.querySelectorAll('svg')].filter((s) => !s.getAttribute('aria-label') || s.getAttribute('role') !== 'img').length,
    images: d.querySelectorAll('img').length, drawings: d.querySelectorAll('svg').length,
    torn: [...d.querySelectorAll('td')].filter(torn).length,
    broken: [...d.querySelectorAll('img')].filter((i) => !i.naturalWidth).length,
    jumps: levels.filter((l, n) => n && l > levels[n - 1] + 1).length,
    tops: levels.filter((l) => l === 1).length,
    landmarks: ['header', 'main', 'footer', 'nav'].filter((n) => d.querySelectorAll('body > ' + n).length === 1).length,
    heads: [...d.querySelectorAll('table')].filter((t) => !t.caption || !t.querySelector('th[scope=col]')).length,
    language: d.documentElement.lang,
    ids: [...d.querySelectorAll('[aria-labelledby]')].filter((e) => !d.getElementById(e.getAttribute('aria-labelledby'))).length,
  });
};
";

/// Returns what the browser measured of a page in a frame so many CSS pixels wide.
fn measured(page: &str, wide: u32) -> Value {
    let home = tempfile::tempdir().unwrap();
    let inside = page.replace('&', "&amp;").replace('"', "&quot;");
    // The handler stands before the frame is filled, so that no load is missed.
    let wrapper = format!(
        "<!DOCTYPE html><meta charset=utf-8><body><pre id=told></pre>\
         <iframe id=page style=\"width:{wide}px;height:900px;border:0\"></iframe>\
         <template id=kept data-page=\"{inside}\"></template>\
         <script>{MEASURE}\nframe.srcdoc = document.getElementById('kept').dataset.page;</script>"
    );
    let file = home.path().join("measure.html");
    put(&file, wrapper.as_bytes());
    let url = format!("file://{}", file.display());
    let dom = browser(
        home.path(),
        &["--virtual-time-budget=30000", "--dump-dom", &url],
    );
    let (_, told) = dom.split_once("<pre id=\"told\">").unwrap();
    let told = told.split("</pre>").next().unwrap();
    let told = told
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&");
    serde_json::from_str(&told).unwrap_or_else(|why| panic!("{why}: {told}"))
}

/// 390 CSS pixels is a telephone held upright; 794 are the 210 mm of A4 at 96 to the inch (CSS
/// Values and Units Level 3, 5.2).
#[test]
fn a_browser_finds_nothing_too_wide_too_faint_or_nameless() {
    if !has("chromium") {
        return;
    }
    let page = html(&with_a_picture());
    for wide in [390, 794] {
        let told = measured(&page, wide);
        let number = |key: &str| told[key].as_f64().unwrap();
        let none = |key: &str| assert!(number(key) < 0.5, "{key} at {wide}: {told}");
        assert!(
            number("scrolls") <= number("wide"),
            "it scrolls sideways at {wide}: {told}"
        );
        none("over");
        assert!(500.0 < number("texts"), "{told}");
        // WCAG 2.2, success criterion 1.4.3 (AA).
        assert!(4.5 <= number("worst"), "{told}");
        for key in [
            "torn", "scripts", "handlers", "outside", "mute", "broken", "jumps", "heads", "ids",
        ] {
            none(key);
        }
        assert!(4.0 < number("drawings") && 0.5 < number("images"), "{told}");
        assert!((number("tops") - 1.0).abs() < 0.1, "{told}");
        assert!((number("landmarks") - 4.0).abs() < 0.1, "{told}");
        assert_eq!(told["language"], "en");
    }
}

#[test]
fn printed_from_a_browser_every_sheet_is_a4_and_carries_label_and_number() {
    if !has("chromium") || !has("pdftotext") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let (file, out) = (home.path().join("hare.html"), home.path().join("out.pdf"));
    put(&file, html(&hare()).as_bytes());
    let print = format!("--print-to-pdf={}", out.display());
    let url = format!("file://{}", file.display());
    browser(home.path(), &["--no-pdf-header-footer", &print, &url]);
    let sheets = sheets_of(&out);
    assert!(4 < sheets.len());
    for (sheet, number) in sheets.iter().zip(1..) {
        let label = "Carving Rooms · figure hare · owner's reference: ride 2, outer row";
        assert!(sheet.contains(label), "sheet {number}: {sheet}");
        let count = format!("{number} of {}", sheets.len());
        assert!(sheet.contains(&count), "sheet {number}: {sheet}");
    }
}

/// Returns the words of each sheet of a PDF as poppler finds them.
pub(crate) fn sheets_of(file: &Path) -> Vec<String> {
    let told = Command::new("pdftotext")
        .args(["-enc", "UTF-8", "-layout"])
        .arg(file)
        .arg("-")
        .output()
        .unwrap();
    assert!(
        told.status.success(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    assert!(
        told.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let text = String::from_utf8(told.stdout).unwrap();
    text.trim_end_matches('\u{c}')
        .split('\u{c}')
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_words_of_the_pdf_can_be_taken_out_and_each_sheet_is_labelled() {
    if !has("pdftotext") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("hare.pdf");
    put(&file, &pdf(&with_a_picture()));
    let sheets = sheets_of(&file);
    assert!(5 < sheets.len());
    for (sheet, number) in sheets.iter().zip(1..) {
        let foot = "Lantern Quay Carving Rooms · figure hare · owner's reference: ride 2";
        assert!(sheet.contains(foot), "sheet {number}: {sheet}");
        let count = format!("page {number} of {}", sheets.len());
        assert!(sheet.contains(&count), "sheet {number}: {sheet}");
    }
    // What stands in the text stands on paper, as another program reads it.
    let paper = sheets.join(" ");
    let found: std::collections::BTreeSet<&str> = paper.split_whitespace().collect();
    let is_rule = |word: &&str| word.chars().any(char::is_alphanumeric);
    let wanted = "humidity owner's 2026-11-07 GS-2608-64 supervisor: µ";
    let letters = text(&hare());
    let words = wanted
        .split_whitespace()
        .filter(|word| letters.contains(word));
    for word in words.filter(is_rule) {
        assert!(found.contains(word), "{word}");
    }
}

/// What another program finds when it follows the elements of a PDF (ISO 32000-1, 14.7 and 14.8)
/// instead of its strokes.
fn told_of(file: &Path, ask: &str) -> String {
    let told = Command::new("pdfinfo").arg(ask).arg(file).output().unwrap();
    let troubles = String::from_utf8_lossy(&told.stderr);
    assert!(told.status.success() && troubles.is_empty(), "{troubles}");
    String::from_utf8(told.stdout).unwrap()
}

/// The words that stand in the drawings of a page.
fn signs_of(sheet: &Sheet) -> Vec<&str> {
    let blocks = sheet.parts.iter().flat_map(|part| &part.blocks);
    let drawings = blocks.filter_map(|block| match block {
        Block::Drawing(drawing) => Some(drawing),
        _ => None,
    });
    let words = drawings.flat_map(|it| &it.strokes).filter_map(|stroke| {
        let Stroke::Word { text, .. } = stroke else {
            return None;
        };
        Some(text.as_str())
    });
    words.flat_map(str::split_whitespace).collect()
}

#[test]
fn the_pdf_can_be_read_aloud_in_its_order_with_nothing_left_out() {
    if !has("pdftotext") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("hare.pdf");
    let sheet = with_a_picture();
    let bytes = pdf(&sheet);
    put(&file, &bytes);
    assert!(told_of(&file, "-isodates").contains("Tagged:          yes"));

    let tree = told_of(&file, "-struct-text");
    let quoted = tree.lines().filter_map(|line| {
        let line = line.trim().strip_prefix('"')?;
        line.strip_suffix('"')
    });
    let aloud: Vec<&str> = quoted.flat_map(str::split_whitespace).collect();
    // A line that breaks between two words ends with the space between them (14.8.2.5).
    let line = tree
        .lines()
        .find(|line| line.contains("This tool reminds;"));
    assert!(line.unwrap().ends_with(" \""), "{line:?}");
    // In its order: every heading of a part comes after the one before.
    let mut rest = aloud.as_slice();
    for (part, number) in sheet.parts.iter().zip(1..) {
        let title = format!("{number}. {}", part.title);
        let title: Vec<&str> = title.split_whitespace().collect();
        let at = rest.windows(title.len()).position(|words| words == title);
        let at = at.unwrap_or_else(|| panic!("{title:?} is not read where it stands"));
        rest = &rest[at + title.len()..];
    }
    // Nothing left out but the feet of the sheets; the signs in a drawing run into each other.
    let drawn = signs_of(&sheet);
    let aloud: std::collections::BTreeSet<&str> = aloud.into_iter().collect();
    let sheets = sheets_of(&file);
    let feet = sheets
        .iter()
        .map(|sheet| sheet.trim_end().lines().last().unwrap());
    let feet: std::collections::BTreeSet<&str> = feet.flat_map(str::split_whitespace).collect();
    for word in sheets.iter().flat_map(|sheet| sheet.split_whitespace()) {
        let in_drawing = || drawn.contains(&word);
        assert!(
            aloud.contains(word) || feet.contains(word) || in_drawing(),
            "{word}"
        );
    }

    for (kind, at_least) in [
        ("Table", 10),
        ("TH", 50),
        ("LI", 3),
        ("H3", 1),
        ("Figure", 3),
    ] {
        let is = |line: &&str| line.trim().split([' ', ':']).next() == Some(kind);
        let many = tree.lines().filter(is).count();
        assert!(at_least <= many, "{many} of {kind}");
    }
    // Every figure says what it shows, for who cannot see it (14.9.3).
    let plain: String = bytes.iter().map(|byte| char::from(*byte)).collect();
    let figures: Vec<&str> = plain.split("/S /Figure ").skip(1).collect();
    assert!(!figures.is_empty());
    for figure in figures {
        let object = figure.split("endobj").next().unwrap();
        assert!(object.contains("/Alt <FEFF00"), "{object}");
        // At the left margin, or the right half of a pair.
        let is_placed = ["/BBox [51.00 ", "/BBox [301.50 "];
        assert!(is_placed.iter().any(|at| object.contains(at)), "{object}");
    }
}

/// One sheet of paper in greys: 0 is black.
pub(crate) struct Sheets {
    pub(crate) wide: usize,
    pub(crate) high: usize,
    pub(crate) greys: Vec<u8>,
}

/// Reads a portable grey map, P5 (Netpbm).
fn grey_map(bytes: &[u8]) -> Sheets {
    let mut fields = Vec::new();
    let mut at = 0;
    while fields.len() < 4 {
        let rest = &bytes[at..];
        let end = rest.iter().position(u8::is_ascii_whitespace).unwrap();
        fields.push(String::from_utf8(rest[..end].to_vec()).unwrap());
        at += end + 1;
    }
    assert_eq!((fields[0].as_str(), fields[3].as_str()), ("P5", "255"));
    let (wide, high) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
    let greys = bytes[at..].to_vec();
    assert_eq!(greys.len(), wide * high);
    Sheets { wide, high, greys }
}

/// Returns the sheets of a PDF as pixels, 72 to the inch: one for each point.
pub(crate) fn pixels(pdf: &[u8]) -> Vec<Sheets> {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("page.pdf");
    put(&file, pdf);
    let told = Command::new("pdftoppm")
        .args(["-gray", "-r", "72"])
        .arg(&file)
        .arg(home.path().join("sheet"))
        .output()
        .unwrap();
    assert!(
        told.status.success(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    assert!(
        told.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let mut names: Vec<_> = fs::read_dir(home.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "pgm"))
        .collect();
    names.sort();
    names
        .iter()
        .map(|name| grey_map(&fs::read(name).unwrap()))
        .collect()
}

/// A margin of 15 mm is kept free on all sides but the foot, where label and number stand
/// 10 mm above the edge; what a printer cannot reach is at most 6 mm (*common practice*).
#[test]
fn no_sheet_is_blank_and_nothing_runs_past_the_margins() {
    if !has("pdftoppm") {
        return;
    }
    let sheets = pixels(&pdf(&with_a_picture()));
    assert!(5 < sheets.len());
    let (side, foot) = (42, 17);
    for (sheet, number) in sheets.iter().zip(1..) {
        let Sheets { wide, high, greys } = sheet;
        // A4 is 210 by 297 mm (ISO 216): 595 by 842 points.
        assert!(wide.abs_diff(595) <= 1 && high.abs_diff(842) <= 1);
        let dark = greys.iter().filter(|grey| **grey < 128).count();
        assert!(300 < dark, "sheet {number} is blank: {dark} dark pixels");
        // Between the last line and the label there is a gap, so that neither runs into the other.
        let gap = greys.iter().skip(785 * wide).take(9 * wide);
        assert!(
            Some(&250) <= gap.min(),
            "sheet {number}: ink above the label"
        );
        for (grey, place) in greys.iter().zip(0..) {
            let (across, down) = (place % wide, place / wide);
            let inside =
                side <= across && across < wide - side && side <= down && down < high - foot;
            assert!(
                inside || 250 < *grey,
                "sheet {number}: ink at {across}, {down}"
            );
        }
    }
}

/// Below so many lines stand headings of every kind of block, so that over all runs each of
/// them comes to the foot of a sheet once.
fn headed(above: usize) -> Sheet {
    let table = |caption: &str, row: &str| {
        Block::Table(Table {
            caption: caption.into(),
            heads: vec![
                "one",
                "a head of two lines where it has little room",
                "three",
            ],
            rows: vec![
                [row, "red paint ".repeat(30).trim(), "c"]
                    .map(Cell::of)
                    .to_vec(),
            ],
        })
    };
    let picture = |caption: &str| Picture {
        caption: caption.into(),
        shot: Shot::Whole(png(120, 90, [0x8a, 0x2f, 0x22])),
    };
    let head = |words: &str| Block::Head(words.into());
    let mut blocks = vec![Block::List(vec!["line".into(); above])];
    blocks.extend([head("head-words"), Block::Words("with-words ".repeat(40))]);
    blocks.extend([
        head("head-table"),
        table("head-caption", "with-table with-caption"),
    ]);
    blocks.extend([
        head("head-picture"),
        Block::Picture(picture("with-picture")),
    ]);
    let pair = ["with-pair", "other"].map(picture);
    blocks.extend([head("head-pair"), Block::Pair(pair)]);
    let part = |title: &str, blocks: Vec<Block>| Part {
        title: title.into(),
        blocks,
    };
    Sheet {
        parts: vec![
            part("first", blocks),
            part("head-part", vec![table("head-only", "with-part with-only")]),
        ],
        ..photographed(Vec::new())
    }
}

#[test]
fn no_heading_stands_alone_at_the_foot_of_a_sheet() {
    if !has("pdftotext") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("headed.pdf");
    let mut ends = 0;
    for above in 0..60 {
        put(&file, &pdf(&headed(above)));
        let sheets = sheets_of(&file);
        ends += sheets.len();
        for what in [
            "words", "table", "caption", "picture", "pair", "part", "only",
        ] {
            let (head, with) = (format!("head-{what}"), format!("with-{what}"));
            let sheet = sheets.iter().position(|sheet| sheet.contains(&head));
            let sheet = sheet.unwrap_or_else(|| panic!("{head} is on no sheet"));
            assert!(
                sheets[sheet].contains(&with),
                "{above} lines above {head}: {}",
                sheets[sheet]
            );
        }
    }
    assert!(60 < ends, "nothing came to the foot of a sheet");
}

/// A page with one photograph.
fn photographed(bytes: Vec<u8>) -> Sheet {
    Sheet {
        title: "One photograph".into(),
        label: "a label".into(),
        dated: "today".into(),
        wants_one: false,
        behind: Vec::new(),
        front: Vec::new(),
        parts: vec![Part {
            title: "Pictures".into(),
            blocks: vec![Block::Picture(Picture {
                caption: "one colour".into(),
                shot: Shot::Whole(bytes),
            })],
        }],
    }
}

/// A PNG whose left half is dark and whose right half is light.
fn two_tones() -> Vec<u8> {
    painted(200, 100, |x| if x < 100 { [40; 3] } else { [200; 3] })
}

/// The red of the photograph's only colour comes out of the PDF where it was put: PNG and, by
/// way of poppler's own JPEG, both kinds that go onto paper.
#[test]
fn photographs_come_out_of_the_pdf_as_they_went_in() {
    if !has("pdftoppm") {
        return;
    }
    let grey = |sheet: &Sheets| {
        let mut seen: BTreeMap<u8, usize> = BTreeMap::new();
        for one in sheet.greys.iter().filter(|grey| **grey < 250) {
            *seen.entry(*one).or_default() += 1;
        }
        seen.into_iter().max_by_key(|(_, many)| *many).unwrap()
    };
    let first = photographed(png(200, 100, [0x8a, 0x2f, 0x22]));
    let (shade, many) = grey(&pixels(&pdf(&first))[0]);
    assert!(19_000 < many, "200 by 100 points of one shade, not {many}");
    let home = tempfile::tempdir().unwrap();
    put(&home.path().join("page.pdf"), &pdf(&first));
    let told = Command::new("pdftoppm")
        .args([
            "-jpeg", "-r", "72", "-x", "60", "-y", "150", "-W", "120", "-H", "40", "page.pdf",
            "cut",
        ])
        .current_dir(home.path())
        .output()
        .unwrap();
    assert!(told.status.success());
    let jpeg = fs::read_dir(home.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| path.extension().is_some_and(|end| end == "jpg"))
        .unwrap();
    let (again, many) = grey(&pixels(&pdf(&photographed(fs::read(jpeg).unwrap())))[0]);
    assert!(4_000 < many, "120 by 40 points of one shade, not {many}");
    assert!(again.abs_diff(shade) <= 3, "{again} is not {shade}");
}

/// A photograph taken with the camera on its side says so in its Exif (tag 0x0112, orientation
/// 6: the first row is the right side, the first column the top). Its left half is dark, so on
/// paper its upper half has to be.
#[test]
fn a_photograph_taken_sideways_stands_upright_on_paper() {
    if !has("pdftoppm") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let jpeg = halves(home.path());
    let sheet = &pixels(&pdf(&photographed(turned(&jpeg, 6))))[0];
    let dark: Vec<(usize, usize)> = places(sheet, |grey| grey < 100);
    let light: Vec<(usize, usize)> = places(sheet, |grey| (150..230).contains(&grey));
    assert!(2_000 < dark.len() && 2_000 < light.len());
    let middle = |all: &[(usize, usize)]| {
        let sum: (usize, usize) = all
            .iter()
            .fold((0, 0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
        (sum.0 / all.len(), sum.1 / all.len())
    };
    let (dark, light) = (middle(&dark), middle(&light));
    assert!(
        dark.1 + 30 < light.1,
        "dark {dark:?} is above light {light:?}"
    );
    assert!(dark.0.abs_diff(light.0) < 10, "{dark:?}, {light:?}");
}

fn places(sheet: &Sheets, wanted: impl Fn(u8) -> bool) -> Vec<(usize, usize)> {
    let all = sheet.greys.iter().zip(0..);
    all.filter(|(grey, _)| wanted(**grey))
        .map(|(_, place)| (place % sheet.wide, place / sheet.wide))
        // The heading above the picture is dark too.
        .filter(|(_, down)| 135 < *down)
        .collect()
}

/// Makes a JPEG whose left half is dark and whose right half is light: poppler draws it.
fn halves(home: &Path) -> Vec<u8> {
    put(&home.join("page.pdf"), &pdf(&photographed(two_tones())));
    let told = Command::new("pdftoppm")
        .args([
            "-jpeg", "-r", "72", "-x", "51", "-y", "140", "-W", "200", "-H", "60",
        ])
        .args(["page.pdf", "cut"])
        .current_dir(home)
        .output()
        .unwrap();
    assert!(told.status.success());
    let name = fs::read_dir(home)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| path.extension().is_some_and(|end| end == "jpg"));
    fs::read(name.unwrap()).unwrap()
}

/// Puts an Exif block with an orientation behind the beginning of a JPEG (Exif 2.3, 4.5.4:
/// APP1, a TIFF head, one entry).
fn turned(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let mut block = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01".to_vec();
    block.extend([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0]);
    block.extend([0, 0, 0, 0]);
    let length = u16::try_from(block.len() + 2).unwrap().to_be_bytes();
    let (begin, rest) = jpeg.split_at(2);
    [begin, &[0xff, 0xe1], &length, &block, rest].concat()
}

/// Relative luminance (WCAG 2.2, definition of that name).
fn luminance(rgb: [u8; 3]) -> f64 {
    let part = |byte: u8| {
        let share = f64::from(byte) / 255.0;
        if share <= 0.04045 {
            share / 12.92
        } else {
            ((share + 0.055) / 1.055).powf(2.4)
        }
    };
    let [red, green, blue] = rgb.map(part);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Contrast ratio (WCAG 2.2, definition of that name): from 1 to 21.
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Returns the named colours of a style sheet.
fn colours(style: &str) -> BTreeMap<&str, [u8; 3]> {
    let (_, root) = style.split_once(":root {").unwrap();
    let root = root.split('}').next().unwrap();
    root.split(';')
        .filter_map(|line| line.trim().strip_prefix("--")?.split_once(": #"))
        .map(|(name, hex)| {
            let byte = |at: usize| u8::from_str_radix(hex.get(at..at + 2).unwrap(), 16).unwrap();
            (name, [byte(0), byte(2), byte(4)])
        })
        .collect()
}

/// The thresholds are those of success criterion 1.4.3 (text, 4.5:1) and 1.4.11 (graphics,
/// 3:1) of WCAG 2.2.
#[test]
fn every_colour_of_words_stands_out_from_every_ground() {
    assert!(
        (contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9,
        "black on white is 21:1"
    );
    assert!((contrast([255; 3], [255; 3]) - 1.0).abs() < 1e-9);
    let page = html(&hare());
    let (_, style) = page.split_once("<style>").unwrap();
    let style = style.split("</style>").next().unwrap();
    let named = colours(style);
    let mut words: Vec<&str> = style
        .split("color: var(--")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .collect();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words, ["bole", "ink", "slate"]);
    let mut grounds: Vec<&str> = style
        .split("background: var(--")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .collect();
    grounds.sort_unstable();
    grounds.dedup();
    assert_eq!(grounds, ["chalk", "paper"]);
    for word in words {
        for ground in &grounds {
            let found = contrast(named[word], named[ground]);
            assert!(4.5 <= found, "{word} on {ground}: {found:.2}");
        }
    }
    for ink in [Ink::Black, Ink::Slate, Ink::Bole, Ink::Verdigris, Ink::Gilt] {
        let found = contrast(ink.rgb(), [255; 3]);
        assert!(4.5 <= found, "{ink:?} on paper: {found:.2}");
    }
}

/// A file for a browser names no host and no file: whatever it would fetch is inside it.
#[test]
fn the_page_for_a_browser_asks_for_nothing() {
    let page = html(&with_a_picture());
    for word in [
        "http:",
        "https:",
        "@import",
        "url(",
        "<script",
        "<link",
        "src=\"/",
        "javascript:",
    ] {
        let allowed = page.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
        let found = page.matches(word).count();
        let names_only = if word == "http:" { allowed } else { 0 };
        assert_eq!(found, names_only, "{word}");
    }
}
