//! The half page in front of a treatment report and the contents under it: from the records
//! only, one source for all three forms, gaps shown as gaps, page numbers that are right.

use knuckle::card::{Figure, PeopleShown};
use knuckle::disk::{RealDisk, replace};
use knuckle::report::dossier::{Fact, NOT_RECORDED, ReportAsk, Sheet, html, pdf, report, text};

use crate::report::{of_nothing, of_the, plain, shown_on_paper, words_of};
use crate::report_pages::{has, sheets_of};

const FIGURES: [&str; 5] = ["hare", "heron", "bandmaster", "lantern-woman", "lion-boss"];

fn of(figure: &str) -> Sheet {
    of_the(figure, PeopleShown::Outward, |_, ask| report(ask))
}

fn known<'a>(sheet: &'a Sheet, name: &str) -> Option<&'a str> {
    let mut facts = sheet.front.iter();
    let fact = facts.find(|fact| fact.name == name);
    fact.unwrap_or_else(|| panic!("{name}")).known.as_deref()
}

#[test]
fn the_front_of_the_hare_says_what_its_cards_and_lines_say() {
    let sheet = of("hare");
    for (name, wanted) in [
        (
            "please note",
            "From a practice shop: what stands here need not have happened.",
        ),
        (
            "what it is",
            "Running hare with blanket and saddle. Maker or origin: unknown; the boards are \
             joined as on other figures of the same ride. Made: about 1905, from the style of \
             the trappings. Wood: Lime.",
        ),
        (
            "how it came in",
            "In the shop's record since 2 November 2026. Missing parts: tip of one ear, strip \
             of the cantle; the other ear shows the form. Could not wait: near ear bagged, \
             straps round the body boards.",
        ),
        (
            "what is new on it",
            "no material that stays on it is recorded so far",
        ),
        (
            "what can be undone",
            "The approved plan names as not to be undone: stripping of the zones on the list, \
             nothing else.",
        ),
        (
            "how to look after it",
            "Lead was found in 2 zones, and it must be assumed in all old paint: never sand, \
             scrape or heat it. Dust it with a soft dry brush, lift it by the body. Last \
             varnish: not recorded. Next look-over: not recorded.",
        ),
    ] {
        assert_eq!(known(&sheet, name), Some(wanted), "{name}");
    }
    let done = known(&sheet, "what was done").unwrap();
    assert!(
        done.starts_with("Strip layer by layer: 2 of 21 zones; Neutralise and wash: 2 of 21; "),
        "{done}"
    );
    let open = known(&sheet, "still open").unwrap();
    let lacking = sheet.lacking().len();
    for wanted in [
        "Not handed over yet. Promised for: 16 April 2027. ",
        &format!("{lacking} things asked for and not recorded"),
    ] {
        assert!(open.contains(wanted), "{wanted} in {open}");
    }
    // What was laid on the heron stays, and its card says how it comes off.
    let heron = of("heron");
    let new = known(&heron, "what is new on it").unwrap();
    assert!(new.contains("oil primer, grey-white"), "{new}");
    let undone = known(&heron, "what can be undone").unwrap();
    let off = "Oil primer, grey-white comes off: only with paint remover (common practice).";
    assert!(undone.contains(off), "{undone}");
}

/// Places are told of how many there are, and a plan that nobody approved is no plan that was
/// carried out.
#[test]
fn the_front_tells_places_and_a_plan_that_nobody_approved() {
    let boss = of("lion-boss");
    let done = known(&boss, "what was done").unwrap();
    assert_eq!(
        done,
        "the plan is proposed and not approved; no treatment is recorded so far"
    );
    let undone = known(&boss, "what can be undone").unwrap();
    let wanted = "The plan, proposed and not approved, names as not to be undone: ";
    assert!(undone.starts_with(wanted), "{undone}");
    // Two rounds on one zone are one zone, and its last round counts.
    let woman = of("lantern-woman");
    let done = known(&woman, "what was done").unwrap();
    assert_eq!(done, "Strip layer by layer: 1 of 12 zones (not finished)");
    let hare = of("hare");
    let done = known(&hare, "what was done").unwrap();
    assert!(
        done.contains("; Joint survey: 2 of 6 joints; Open and clean a joint: 1 of 6; "),
        "{done}"
    );
}

/// A boss has no tail to be lifted by, and a joint is named as the card names it.
#[test]
fn the_care_sheet_speaks_of_the_build_and_names_the_joints() {
    for (figure, lifted, joints) in [
        (
            "hare",
            "Lift it by the body. Never by ears, tail, wings or a raised leg.",
            "Joints to look at: J1 (neck and body); J2 (head and neck); ",
        ),
        (
            "heron",
            "Lift it by the body. Never by ears, tail, wings or a raised leg.",
            "near wing and body",
        ),
        (
            "lantern-woman",
            "Lift it by the trunk. Never by head, arms, hands or what they hold.",
            "J3 (raised arm and shoulder); J4 (lantern and hand).",
        ),
        (
            "bandmaster",
            "Lift it by the trunk. ",
            "J3 (head and collar).",
        ),
        (
            "lion-boss",
            "Lift it from below, with both hands. Never by ears, tongue, curls or what stands \
             out of its face.",
            "Joints to look at: J1 (upper board and lower board).",
        ),
    ] {
        let told = plain(&text(&of(figure)));
        for wanted in [lifted, joints] {
            assert!(told.contains(wanted), "{figure}: {wanted}");
        }
    }
}

#[test]
fn of_a_figure_that_nobody_wrote_about_the_front_invents_nothing() {
    let sheet = of_nothing(report);
    for name in [
        "how it came in",
        "what was done",
        "what is new on it",
        "what can be undone",
    ] {
        assert_eq!(known(&sheet, name), None, "{name}");
    }
    assert_eq!(
        known(&sheet, "what it is"),
        Some("Blank. Maker or origin: not recorded. Made: not recorded. Wood: not recorded.")
    );
    // That lead has to be assumed is no record, it is caution: it stands with or without one.
    let care = known(&sheet, "how to look after it").unwrap();
    assert!(
        care.starts_with("Lead must be assumed in old paint"),
        "{care}"
    );
    assert!(care.ends_with("Next look-over: not recorded."), "{care}");
    let letters = text(&sheet);
    let (_, front) = letters.split_once("In short\n--------\n").unwrap();
    let (front, _) = front.split_once("\n\n").unwrap();
    let gaps = front.matches(&NOT_RECORDED.to_uppercase()).count();
    assert_eq!(gaps, 4, "{front}");
}

#[test]
fn the_front_says_the_same_on_every_form_of_the_report() {
    for figure in FIGURES {
        let sheet = of(figure);
        let page = words_of(&html(&sheet));
        let letters = plain(&text(&sheet));
        let paper = plain(&shown_on_paper(&pdf(&sheet)));
        for Fact { name, known } in &sheet.front {
            let said = known.as_deref().unwrap_or(NOT_RECORDED);
            let wanted = format!("{name} {said}");
            assert!(page.contains(&wanted), "{wanted} in html");
            let words = [(&letters, "txt"), (&paper, "pdf")];
            for (whole, form) in words {
                let lines = whole.to_lowercase();
                for word in wanted.to_lowercase().split_whitespace() {
                    assert!(lines.contains(word), "{word} in {form}");
                }
            }
        }
    }
}

/// How far up the first sheet a word stands that begins a line, points: the second number of
/// `Td` (ISO 32000-1, 9.4.2), in pages that are not packed.
fn height_of(pdf: &[u8], word: &str) -> f64 {
    let all: String = pdf.iter().copied().map(char::from).collect();
    let (before, _) = all.split_once(&format!(" Td ({word}")).unwrap();
    before.rsplit(' ').next().unwrap().parse().unwrap()
}

/// The upper half of A4 ends 421 points above its lower edge (ISO 216).
#[test]
fn the_front_takes_at_most_half_a_page_whatever_was_written() {
    for figure in FIGURES {
        let up = height_of(&pdf(&of(figure)), "1 This record");
        assert!(421.0 < up, "{figure}: {up}");
    }
    let long = "a long word about the figure and about its history ".repeat(60);
    let figure = Figure {
        id: "long".into(),
        name: "long".into(),
        title: long.clone(),
        maker: long.clone(),
        made: long.clone(),
        wood: long.clone(),
        ..Figure::default()
    };
    let sheet = of_nothing(|ask| {
        report(ReportAsk {
            figure: &figure,
            ..ask
        })
    });
    let what = known(&sheet, "what it is").unwrap();
    assert!(what.contains('…') && what.contains("in part 2"), "{what}");
    assert!(421.0 < height_of(&pdf(&sheet), "1 This record"));
}

#[test]
fn the_contents_of_the_pdf_name_the_sheet_on_which_each_part_begins() {
    if !has("pdftotext") {
        return;
    }
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("hare.pdf");
    let sheet = of("hare");
    replace(&RealDisk, &file, &pdf(&sheet)).unwrap();
    let sheets = sheets_of(&file);
    let first = plain(&sheets[0]);
    let mut begins = Vec::new();
    for (part, number) in sheet.parts.iter().zip(1..) {
        let heading = format!("{number}. {}", part.title);
        let is_it = |sheet: &String| sheet.lines().any(|line| line.trim() == heading);
        let on = 1 + sheets.iter().position(is_it).unwrap();
        let wanted = format!("{number} {} {on}", part.title);
        let mut behind = first.split(&wanted).skip(1);
        let found = behind.any(|rest| !rest.starts_with(|sign: char| sign.is_ascii_digit()));
        assert!(found, "{wanted} in {first}");
        begins.push(on);
    }
    assert!(
        begins.is_sorted() && 10 < *begins.last().unwrap(),
        "{begins:?}"
    );
}
