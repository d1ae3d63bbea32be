//! The treatment report, row by row against what conservation bodies ask of a record, from the
//! sample hare and from a figure of which nobody wrote anything. Sources stand beside the rows.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use knuckle::card::{DEFERRAL, Figure, PeopleShown};
use knuckle::deed::Line;
use knuckle::disk::Disk;
use knuckle::now::Zone;
use knuckle::report::dossier::{
    Block, ReportAsk, Sheet, Shot, folder_files, html, pdf, report, text,
};
use knuckle::shop::{Keeper, SampleDisk, load};
use knuckle::standing::Book;

use crate::kit::golden;
use crate::kit::moment;
use crate::texts;

/// The moment of every report here.
pub(crate) const NOW: &str = "2026-11-25T08:00:00+00:00";

/// Makes something of the sample hare's report, and of the disk it lies on.
pub(crate) fn of_the_hare<T>(
    names: PeopleShown,
    make: impl FnOnce(&dyn Disk, ReportAsk<'_>) -> T,
) -> T {
    of_the("hare", names, make)
}

/// As [`of_the_hare`], of any figure of the sample shop.
pub(crate) fn of_the<T>(
    figure: &str,
    names: PeopleShown,
    make: impl FnOnce(&dyn Disk, ReportAsk<'_>) -> T,
) -> T {
    let disk: Arc<dyn Disk> = Arc::new(SampleDisk::new());
    let (cards, flaws) = load(disk.as_ref(), Path::new("")).unwrap();
    assert_eq!(flaws, []);
    let keeper = Keeper::open(disk.clone(), "", cards).unwrap();
    let lines = keeper.lines(&Book::Figure(figure.into())).unwrap();
    let pictures = BTreeMap::new();
    let ask = ReportAsk {
        house: keeper.house(),
        figure: &keeper.house().cards.figures[figure],
        lines: &lines,
        seal: Some("0123456789abcdef0123456789abcdef"),
        flaws: 0,
        damage: None,
        pictures: &pictures,
        names,
        by: Some("marguerite"),
        now: moment(NOW),
        zone: Zone::Named(chrono_tz::Tz::Europe__Lisbon),
    };
    make(disk.as_ref(), ask)
}

/// Makes something of the report of a figure of which nothing at all is known.
pub(crate) fn of_nothing<T>(make: impl FnOnce(ReportAsk<'_>) -> T) -> T {
    let disk: Arc<dyn Disk> = Arc::new(SampleDisk::new());
    let (cards, _) = load(disk.as_ref(), Path::new("")).unwrap();
    let keeper = Keeper::open(disk, "", cards).unwrap();
    let figure = Figure {
        id: "blank".into(),
        name: "blank".into(),
        ..Figure::default()
    };
    let (lines, pictures): (Vec<Line>, BTreeMap<u64, Shot>) = (Vec::new(), BTreeMap::new());
    make(ReportAsk {
        house: keeper.house(),
        figure: &figure,
        lines: &lines,
        seal: None,
        flaws: 0,
        damage: None,
        pictures: &pictures,
        names: PeopleShown::Outward,
        by: None,
        now: moment(NOW),
        zone: Zone::Named(chrono_tz::Tz::Europe__Lisbon),
    })
}

fn hare(names: PeopleShown) -> Sheet {
    of_the_hare(names, |_, ask| report(ask))
}

/// Returns a text with every run of spaces and line ends as one space.
pub(crate) fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the words of an HTML page, a space for each tag.
pub(crate) fn words_of(html: &str) -> String {
    let (_, body) = html.split_once("<body>").unwrap();
    let mut words = String::new();
    let mut inside = true;
    for sign in body.chars() {
        match sign {
            '<' => {
                inside = false;
                words.push(' ');
            }
            '>' => inside = true,
            sign if inside => words.push(sign),
            _ => {}
        }
    }
    let words = words.replace("&#39;", "'").replace("&quot;", "\"");
    plain(
        &words
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&amp;", "&"),
    )
}

/// One row of what a record must hold: its number, where that stands, what is looked for in the
/// report of the hare, and what the report of an unknown figure says was not recorded.
struct Row {
    id: &'static str,
    source: &'static str,
    found: &'static [&'static str],
    lacking: &'static [&'static str],
}

const AIC_24: &str = "AIC Code of Ethics and Guidelines for Practice, Commentary 24";
const AIC_27: &str = "AIC Code of Ethics and Guidelines for Practice, Commentary 27";
const ICON: &str = "Icon Ethical Guidance (2020), principle 13";

const ROWS: [Row; 16] = [
    Row {
        id: "A1 exists from examination on",
        source: AIC_24,
        found: &["in custody since 2 November 2026"],
        lacking: &["in custody since not recorded"],
    },
    Row {
        id: "A2 purpose, who documents, date",
        source: AIC_24,
        found: &[
            "purpose of this record record of the examination",
            "documented by joiner, stripping room, painter, supervisor",
            "put together by supervisor",
            "date of this report 2026-11-25 08:00",
        ],
        lacking: &["documented by not recorded", "put together by not recorded"],
    },
    Row {
        id: "A3 the piece itself",
        source: AIC_24,
        found: &[
            "number in this shop hare",
            "title or subject running hare with blanket and saddle",
            "owner or custodian the seaside roundabout",
            "owner's reference ride 2, outer row, place 5",
            "maker or origin unknown; the boards",
            "date of making about 1905",
            "measurements height 1050 mm, length 1350 mm, width 320 mm",
            "marks and labels 5, stamped into the pole hole",
        ],
        lacking: &[
            "title or subject not recorded",
            "owner or custodian not recorded",
            "owner's reference not recorded",
            "maker or origin not recorded",
            "date of making not recorded",
            "measurements not recorded",
            "marks and labels not recorded",
        ],
    },
    Row {
        id: "A4 every part is labelled",
        source: AIC_24,
        found: &[
            "Lantern Quay Carving Rooms · figure hare · owner's reference: ride 2, outer row, place 5",
            "End of: Lantern Quay Carving Rooms · figure hare",
        ],
        lacking: &["figure blank · owner's reference: not recorded"],
    },
    Row {
        id: "A5 a dated entry for each act, with names",
        source: AIC_27,
        found: &[
            "Treatment in order",
            "2026-11-07 10:59 stripping room Try a corner at half the dwell",
            "2026-11-24 10:16 painter signed: The gap map, the clamp plan and the number of cups",
        ],
        lacking: &["Treatment in order: not recorded"],
    },
    Row {
        id: "A6 procedures and variations from the plan",
        source: AIC_27,
        found: &[
            "Strip layer by layer on body near side",
            "Done otherwise than planned, sent back, refused",
            "otherwise than planned: gloves against saddle-seat, gel stripper",
            "accepted, supervisor, 2026-11-12 16:00: seen, talked over",
        ],
        lacking: &[
            "Gates overruled: not recorded",
            "Done otherwise than planned, sent back, refused: not recorded",
        ],
    },
    Row {
        id: "A7 materials added and removed",
        source: AIC_27,
        found: &[
            "gel stripper, benzyl alcohol type GS-2608-64",
            "old paint with remover, rags and film 650 g",
        ],
        lacking: &[
            "Materials added, by generic type and lot: not recorded",
            "Materials removed, samples taken: not recorded",
        ],
    },
    Row {
        id: "A8 changes, state after, new findings",
        source: AIC_27,
        found: &[
            "J3 opened by itself at the saddle end while the wedges went in",
            "Condition after",
            "Inspection and hand-over: not recorded",
        ],
        lacking: &[
            "Notes and new findings: not recorded",
            "Inspection and hand-over: not recorded",
        ],
    },
    Row {
        id: "A9 images before, during, after",
        source: "AIC Commentary 27, which refers to 25",
        found: &[
            "Pictures before the work",
            "body near side before raking 2026-11-02, said hare-body-near-",
            "Pictures during the work",
            "pictures after the work, once all is finished not recorded",
        ],
        lacking: &[
            "pictures before the work not recorded",
            "pictures during the work not recorded",
            "pictures after the work, once all is finished not recorded",
        ],
    },
    Row {
        id: "A10 a report from these dated records",
        source: AIC_27,
        found: &["made from dated entries 2 November 2026 to 24 November 2026, 974 lines"],
        lacking: &["made from dated entries not recorded"],
    },
    Row {
        id: "A11 goes onto paper",
        source: AIC_27,
        found: &["printed not recorded"],
        lacking: &["printed not recorded"],
    },
    Row {
        id: "A12 options, and why one was chosen",
        source: ICON,
        found: &[
            "paths chosen, with reasons copy, ridden and worn; keep the flowers; cover the belly; leave a patch (5 November 2026, joiner)",
            "options refused, and why keeping the house paint: it hides the carving (5 November 2026, joiner)",
            "the owner approves this version (written down 6 November 2026 by joiner)",
            "approved in the shop 6 November 2026, painter",
        ],
        lacking: &[
            "paths chosen, with reasons not recorded",
            "options refused, and why not recorded",
            "the owner not recorded",
            "approved in the shop not recorded",
        ],
    },
    Row {
        id: "A13 what was used; care and maintenance",
        source: ICON,
        found: &[
            "Materials added, by generic type and lot",
            "Air of 40 to 60 % humidity and 15 °C to 25 °C",
            "Joints to look at: J1 (neck and body); J2 (head and neck);",
            "flower spray on the back of the cantle",
            "There lead must be assumed",
        ],
        lacking: &[
            "Materials added, by generic type and lot: not recorded",
            "handle gently until not recorded",
            "What stays on the figure, and with what it comes off: not recorded",
        ],
    },
    Row {
        id: "A14 archived within reach",
        source: ICON,
        found: &[
            "second copy kept not recorded",
            "last seal 0123456789abcdef0123456789abcdef; every line fits its seal",
        ],
        lacking: &[
            "second copy kept not recorded",
            "entries sealed not recorded",
        ],
    },
    Row {
        id: "A15 examination, investigation and treatment for good",
        source: "AIC Code of Ethics VII, as a practice reprints it",
        found: &[
            "Findings on arrival and before any work",
            "Tests and study of the layers",
            "joiner body near side First reader lead",
        ],
        lacking: &[
            "Findings on arrival and before any work: not recorded",
            "Tests and study of the layers: not recorded",
            "Treatment in order: not recorded",
        ],
    },
    Row {
        id: "A16 diagnosis, interventions, images, all who worked; a copy to the owner",
        source: "E.C.C.O. Professional Guidelines II (2003), article 10 (from memory)",
        found: &[
            "documented by joiner, stripping room, painter, supervisor",
            "copy to the owner not recorded",
        ],
        lacking: &[
            "documented by not recorded",
            "copy to the owner not recorded",
        ],
    },
];

/// The tables of a text break within cells, so what is looked for in rows is looked for on the
/// page for a browser; what stands in facts and captions must be in both.
#[test]
fn the_report_of_the_hare_meets_every_row_of_what_a_record_must_hold() {
    let sheet = hare(PeopleShown::Outward);
    let (page, letters) = (words_of(&html(&sheet)), plain(&text(&sheet)).to_lowercase());
    let mut wanting = Vec::new();
    for row in &ROWS {
        for found in row.found {
            if !page.contains(found) {
                wanting.push(format!("{} ({}): html: {found}", row.id, row.source));
            }
        }
        let facts = row.found.iter().filter(|found| {
            sheet.parts.iter().flat_map(|part| &part.blocks).any(|block| {
                matches!(block, Block::Facts(facts) if facts.iter().any(|fact| found.starts_with(&fact.name)))
            })
        });
        for found in facts {
            if !letters.contains(&plain(found).to_lowercase()) {
                wanting.push(format!("{} ({}): txt: {found}", row.id, row.source));
            }
        }
    }
    assert!(wanting.is_empty(), "{}", wanting.join("\n"));
}

#[test]
fn of_a_figure_that_nobody_wrote_about_every_row_says_not_recorded() {
    let sheet = of_nothing(report);
    let (page, letters) = (words_of(&html(&sheet)), plain(&text(&sheet)));
    let mut wanting = Vec::new();
    for row in &ROWS {
        assert!(!row.lacking.is_empty(), "{}", row.id);
        for lacking in row.lacking {
            if !page.contains(lacking) {
                wanting.push(format!("{}: html: {lacking}", row.id));
            }
            let capitals = lacking.replace("not recorded", "NOT RECORDED");
            if !letters.contains(&capitals) && !letters.contains(lacking) {
                wanting.push(format!("{}: txt: {capitals}", row.id));
            }
        }
    }
    assert!(wanting.is_empty(), "{}", wanting.join("\n"));
    let last = sheet.parts.last().unwrap();
    assert_eq!(last.title, "Not recorded");
    assert!(
        matches!(&last.blocks[..], [Block::List(lacking)] if 40 < lacking.len()),
        "{last:?}"
    );
}

/// The numbers of the rows stand for the sixteen of the list, none left out, none twice.
#[test]
fn the_rows_are_numbered_through() {
    for (row, number) in ROWS.iter().zip(1..) {
        assert!(row.id.starts_with(&format!("A{number} ")), "{}", row.id);
        assert!(!row.found.is_empty());
    }
}

#[test]
fn people_are_trades_outward_and_names_inward() {
    let outward = words_of(&html(&hare(PeopleShown::Outward)));
    let inward = words_of(&html(&hare(PeopleShown::Inward)));
    for name in ["Odile", "Wren", "Tobias", "Ines", "Marguerite"] {
        let is_named = |word: &str| word.eq_ignore_ascii_case(name);
        let mut words = outward.split(|sign: char| !sign.is_alphanumeric());
        assert!(!words.any(is_named), "{name} outward");
    }
    assert!(inward.contains("documented by Odile, Ines, Tobias, Marguerite"));
    assert!(inward.contains("2026-11-07 10:59 Ines Try a corner"));
    assert!(outward.contains("People are named by their trades here"));
    assert!(!inward.contains("People are named by their trades here"));
}

/// Exposure and medical records are kept apart from the job record (29 CFR 1910.1020, as quoted
/// in the duties of the shop): gloves, masks and doctors are none of the owner's business.
#[test]
fn nothing_about_health_stands_in_a_report_or_a_table() {
    let files = of_the_hare(PeopleShown::Inward, |disk, ask| {
        folder_files(disk, Path::new(""), ask).unwrap()
    });
    let told = files
        .iter()
        .filter(|(path, _)| ["report.txt", "report.html"].contains(&path.as_str()));
    let mut looked = 0;
    for (path, bytes) in told {
        let text = String::from_utf8(bytes.clone()).unwrap().to_lowercase();
        for word in [
            "blood",
            "doctor",
            "ambulance",
            "sensitis",
            "laminate under nitrile",
        ] {
            assert!(!text.contains(word), "{path}: {word}");
        }
        looked += 1;
    }
    assert_eq!(looked, 2);
    assert!(
        files.iter().all(|(path, _)| !path.contains("shop.yaml")),
        "the shop card holds the doctor's number"
    );
}

#[test]
fn the_page_defers_as_the_readme_does() {
    let readme = plain(&texts::read("README.md").replace("**", "").replace("> ", ""));
    assert!(readme.contains(DEFERRAL));
    assert!(words_of(&html(&hare(PeopleShown::Outward))).contains(DEFERRAL));
}

/// The heron was primed and painted, so its coats and the words of its tests are drawn, and
/// what stays on it says with what it comes off.
#[test]
fn coats_and_test_words_are_drawn_and_what_stays_says_how_it_comes_off() {
    let sheet = of_the("heron", PeopleShown::Outward, |_, ask| report(ask));
    let page = words_of(&html(&sheet));
    for wanted in [
        "Coats, zone by zone. carved breast strap: 13 Nov 15:01 prime 1/3",
        "Test words, place by place. carved breast strap: 16 Nov 07:37 powder",
        "oil primer, grey-white PW-2607-118 Prime, three coats on carved breast strap",
        "3 coats stays",
        "only with paint remover (common practice)",
    ] {
        assert!(page.contains(wanted), "{wanted}: {page}");
    }
    let drawn = sheet.parts.iter().flat_map(|part| &part.blocks);
    let drawn = drawn.filter(|block| matches!(block, Block::Drawing(_)));
    assert!(6 < drawn.count());
}

/// Every word of the text stands on paper too: nothing is lost between the renderers.
#[test]
fn text_and_paper_say_the_same() {
    let sheet = hare(PeopleShown::Outward);
    let paper = shown_on_paper(&pdf(&sheet));
    let mut missing = Vec::new();
    for part in &sheet.parts {
        for block in &part.blocks {
            let said: Vec<String> = match block {
                Block::Words(words) | Block::Notice(words) | Block::Head(words) => {
                    vec![words.clone()]
                }
                Block::Facts(facts) => facts
                    .iter()
                    .flat_map(|fact| [Some(fact.name.clone()), fact.known.clone()])
                    .flatten()
                    .collect(),
                Block::List(lines) => lines.clone(),
                Block::Table(table) => table
                    .rows
                    .iter()
                    .flatten()
                    .map(|cell| cell.words().to_owned())
                    .collect(),
                Block::Drawing(drawing) => vec![drawing.title.clone(), drawing.says.clone()],
                Block::Picture(picture) => vec![picture.caption.clone()],
                Block::Pair(pair) => pair.iter().map(|it| it.caption.clone()).collect(),
            };
            let words = said.iter().flat_map(|said| said.split_whitespace());
            missing.extend(
                words
                    .filter(|word| !paper.contains(*word))
                    .map(|word| format!("{}: {word}", part.title)),
            );
        }
    }
    assert!(missing.is_empty(), "{missing:?}");
}

/// Returns the words of a PDF of ours: its pages are not packed.
pub(crate) fn shown_on_paper(pdf: &[u8]) -> String {
    let mut all = String::new();
    let text: String = pdf.iter().copied().map(char::from).collect();
    for piece in text.split(" Td (").skip(1) {
        let mut signs = piece.chars();
        while let Some(sign) = signs.next() {
            match sign {
                ')' => break,
                '\\' => {
                    let next = signs.next().unwrap();
                    match next.to_digit(8) {
                        None => all.push(next),
                        Some(first) => {
                            let code = [signs.next(), signs.next()]
                                .into_iter()
                                .fold(first, |code, digit| {
                                    code * 8 + digit.unwrap().to_digit(8).unwrap()
                                });
                            all.push(winansi(code));
                        }
                    }
                }
                sign => all.push(sign),
            }
        }
        all.push('\n');
    }
    all
}

/// The signs of `WinAnsi` that the hare's report uses beyond Latin-1 (ISO 32000-1, annex D.2).
fn winansi(code: u32) -> char {
    match code {
        0x85 => '…',
        0x8b => '‹',
        0x92 => '’',
        0x95 => '•',
        0x96 => '–',
        0x9b => '›',
        code => char::from_u32(code).unwrap(),
    }
}

#[test]
fn the_same_journal_and_moment_give_the_same_bytes() {
    let (one, other) = (hare(PeopleShown::Outward), hare(PeopleShown::Outward));
    assert_eq!(pdf(&one), pdf(&other));
    let files = || {
        of_the_hare(PeopleShown::Outward, |disk, ask| {
            folder_files(disk, Path::new(""), ask).unwrap()
        })
    };
    assert_eq!(files(), files());
    golden::check("report/hare.txt", &text(&one));
    golden::check("report/hare.html", &html(&one));
}
