//! `recall`: where a lot was used, what touched a figure, what was laid in such air, and what
//! the past says to a few words.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::day::all_books;
use super::misuse::taken;
use super::opened::Opened;
use super::paper::Paper;
use super::{RecallArgs, names};
use crate::journal::Damage;
use crate::reckon::{Celsius, Percent};
use crate::report::{AirAsk, Archive, Found, Recalled, book_name, group, standing_until, tell};
use crate::shop::{load_figure, missed};
use crate::standing::{Book, Reach};
use crate::trouble::{ExitKind, Trouble};

/// A line that is brought back, with `--json`.
#[derive(Debug, Serialize)]
struct RecalledJson<'a> {
    /// `reachable`, `covered`, `gone_out`, or `shelf` for lines about the tin itself.
    reach: &'static str,
    /// The line that covered it or sent it out, in the same book, or `null`.
    reach_n: Option<u64>,
    /// Figure id, or `shop`.
    book: &'a str,
    /// The line's number in its journal.
    n: u64,
    /// When it happened, RFC 3339 in the shop's zone.
    at: String,
    /// Who did it.
    by: &'a str,
    /// Tag of the deed.
    deed: String,
    /// The lots, each from the jar to the tin with `<` between, parted by commas.
    lots: String,
    /// What more is known: the air, the layer below.
    note: &'a str,
    /// The line as a sentence.
    text: String,
}

/// Answers the question that was asked.
///
/// # Errors
/// When nothing or too much is asked, a lot or figure is not known, or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &RecallArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let books = all_books(shop)?;
    let archive = Archive {
        disk: shop.disk.as_ref(),
        folder: &shop.folder,
        books: &books,
        cards: &shop.cards,
    };
    let fault = |fault| shop.trouble(fault);
    let found = if let Some(lot) = &args.lot {
        let found = archive.of_lot(lot).map_err(fault)?;
        if found.recalled.is_empty() && found.unread.is_empty() {
            known(&archive, lot).map_err(|trouble| *trouble)?;
        }
        found
    } else if let Some(figure) = &args.figure {
        let Book::Figure(figure) = names::book_among(&books, figure, "--figure")? else {
            return Err(nothing_asked());
        };
        let found = archive.of_figure(&figure, args.zone.as_deref());
        let recalled = found.map_err(fault)?;
        if let (Some(zone), true) = (&args.zone, recalled.is_empty()) {
            place_known(shop, &figure, zone).map_err(|trouble| *trouble)?;
        }
        Found {
            recalled,
            ..Found::default()
        }
    } else if args.humidity_above.is_some() || args.colder_than.is_some() {
        let found = archive.in_air(air(args)?).map_err(fault)?;
        if 0 < found.not_read {
            paper.note(&format!(
                "{} more were laid at an hour without a reading of the room: neither in nor out",
                found.not_read
            ));
        }
        found
    } else if args.words.is_empty() {
        return Err(nothing_asked());
    } else {
        let found = archive.in_words(&args.words, args.most).map_err(fault)?;
        newest(shop, &found, paper)?;
        return Ok(paper.damaged(found.unread.iter().chain(&gone(shop))));
    };
    answer(shop, &found.recalled, paper)?;
    let mut gone = gone(shop);
    // Who asks for one figure is not told of the others.
    gone.retain(|book, _| {
        args.figure
            .as_deref()
            .is_none_or(|it| it == book_name(book))
    });
    Ok(paper.damaged(found.unread.iter().chain(&gone)))
}

/// The books that were noted and are not there: of what stood in them nothing is brought back. What
/// ails the shop's own book is told with what was found.
fn gone(shop: &Opened) -> BTreeMap<Book, Damage> {
    let (disk, folder) = (shop.disk.as_ref(), shop.folder.as_path());
    let every_line = DateTime::<Utc>::MAX_UTC.fixed_offset();
    let noted = standing_until(disk, folder, &[Book::Shop], every_line);
    noted.map_or_else(|_| BTreeMap::new(), |it| missed(disk, folder, &it))
}

fn nothing_asked() -> Trouble {
    Trouble::new(ExitKind::Misuse, "nothing is asked")
        .at("recall")
        .remedy("name words, --lot LOT, --figure FIGURE, --humidity-above 80% or --colder-than 12C")
}

/// A place at which nothing was used is known all the same, else its name is a slip. Of a figure
/// whose card cannot be read nobody knows the places.
fn place_known(shop: &Opened, figure: &str, place: &str) -> Result<(), Box<Trouble>> {
    let Some(card) = load_figure(shop.disk.as_ref(), &shop.folder, figure) else {
        return Ok(());
    };
    if card.places().any(|known| known == place) {
        return Ok(());
    }
    let no = format!("no zone, joint or panel of {figure}");
    Err(Box::new(names::unknown(
        (&no, "--zone"),
        place,
        card.places(),
    )))
}

/// A lot that nobody used is known all the same, else its name is a slip.
fn known(archive: &Archive<'_>, lot: &str) -> Result<(), Box<Trouble>> {
    let known = archive
        .known_lots()
        .map_err(|fault| Box::new(fault.into()))?;
    if known.iter().any(|name| name == lot) {
        return Ok(());
    }
    let all = known.iter().map(String::as_str);
    let near = names::near(lot, all);
    let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    Err(Box::new(
        Trouble::new(
            ExitKind::Misuse,
            format!("no lot or jar is called `{lot}`, and no line names it{near}"),
        )
        .at("--lot")
        .remedy("`knuckle stock` lists the lots; copy the number from there"),
    ))
}

fn air(args: &RecallArgs) -> Result<AirAsk, Trouble> {
    let above = args.humidity_above.as_deref();
    let colder = args.colder_than.as_deref();
    let above = above.map(|text| taken::<Percent>("--humidity-above", text));
    let colder = colder.map(|text| taken::<Celsius>("--colder-than", text));
    Ok(AirAsk {
        humidity_above_percent: above.transpose()?.map(|percent| percent.0),
        colder_than_c: colder.transpose()?.map(|celsius| celsius.0),
    })
}

/// Tells the newest of what words brought back, and how much there is beyond them.
fn newest(shop: &Opened, answer: &Found, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    let found = &answer.recalled;
    if paper.json {
        paper.objects(found.iter().map(|one| json(shop, one)))?;
    } else if found.is_empty() {
        paper.line("no line says that")?;
    } else {
        let rows: Vec<[String; 5]> = found.iter().map(|one| row(shop, one)).collect();
        paper.columns(&rows)?;
    }
    if 0 < answer.more {
        let (most, all) = (found.len(), found.len() + answer.more);
        paper.note(&format!(
            "the newest {most} of {all} lines; --most {all} tells all"
        ));
    }
    Ok(())
}

fn answer(shop: &Opened, found: &[Recalled], paper: &mut Paper<'_>) -> Result<(), Trouble> {
    if paper.json {
        paper.objects(found.iter().map(|one| json(shop, one)))?;
        return Ok(());
    }
    if found.is_empty() {
        paper.line("nothing was used there")?;
        return Ok(());
    }
    for part in found.chunk_by(|a, b| group(a.reach).0 == group(b.reach).0) {
        let title = part.first().map_or("", |one| group(one.reach).2);
        paper.line(&format!("{title}: {}", part.len()))?;
        let rows: Vec<[String; 5]> = part.iter().map(|one| row(shop, one)).collect();
        paper.columns(&rows)?;
    }
    Ok(())
}

/// Day and hour, line, who, lots, and the sentence with what more is known.
fn row(shop: &Opened, one: &Recalled) -> [String; 5] {
    let at = shop.zone.show(one.line.at.to_utc());
    let reach = match one.reach {
        Reach::Covered(n) => format!("  [under line {n}]"),
        Reach::GoneOut(n) => format!("  [out with line {n}]"),
        Reach::Stripped(n) => format!("  [off with line {n}]"),
        Reach::Reachable | Reach::OnShelf => String::new(),
    };
    let note = if one.note.is_empty() {
        String::new()
    } else {
        format!(", {}", one.note)
    };
    [
        format!("  {}", at.format("%Y-%m-%d %H:%M")),
        format!("{}:{}", book_name(&one.book), one.line.n),
        one.line.by.clone(),
        lots(one),
        format!("{}{note}{reach}", tell(&one.line, &shop.cards)),
    ]
}

/// The lots, each from the jar up to the tin.
fn lots(one: &Recalled) -> String {
    let ways: Vec<String> = one.lots.iter().map(|way| way.join(" < ")).collect();
    ways.join(", ")
}

fn json<'a>(shop: &Opened, one: &'a Recalled) -> RecalledJson<'a> {
    RecalledJson {
        reach: group(one.reach).1,
        reach_n: match one.reach {
            Reach::Covered(n) | Reach::GoneOut(n) | Reach::Stripped(n) => Some(n),
            Reach::Reachable | Reach::OnShelf => None,
        },
        book: book_name(&one.book),
        n: one.line.n,
        at: shop.rfc3339(one.line.at),
        by: &one.line.by,
        deed: one.line.deed.tag(),
        lots: lots(one),
        note: &one.note,
        text: tell(&one.line, &shop.cards),
    }
}
