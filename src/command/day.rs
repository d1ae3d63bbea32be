//! `day [DATE]`: the day's journal over all books, or the supervisor's page of it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::forecast::in_plans;
use super::opened::Opened;
use super::paper::Paper;
use super::{DayArgs, Outside, names};
use crate::journal::Damage;
use crate::plan::prepare_usual;
use crate::report::dossier::day_sheet;
use crate::report::tomorrow;
use crate::report::{
    DayLine, DayMark, DayPage, DaySpan, Entry, Foreseen, PageAsk, book_name, day_lines, day_page,
    entry, gather_day, standing_until,
};
use crate::shop::{self, KeptLine};
use crate::standing::{Book, House};
use crate::trouble::{ExitKind, Trouble};

/// A line of the day with `--json`.
#[derive(Debug, Serialize)]
struct LineJson<'a> {
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
    /// `plain`, `finished`, `signed`, `deviation`, `overrule`, `question`, `struck` or `newer`.
    mark: &'static str,
    /// When it was typed, if that was after the fact; else `null`.
    entered_later: Option<String>,
    /// The line as a sentence.
    text: &'a str,
}

/// A row of the page with `--page --json`.
#[derive(Debug, Serialize)]
struct RowJson<'a> {
    /// Number of the point, 1 to 10.
    point: u8,
    /// What the point is about.
    title: &'a str,
    /// The row in words.
    text: &'a str,
    /// Book of the line that it leads to, or `null`.
    book: Option<&'a str>,
    /// Number of that line, or `null`.
    n: Option<u64>,
}

/// A line in full with `--line --json`: one object for each thing that is told of it.
#[derive(Debug, Serialize)]
struct EntryJson<'a> {
    /// The line's number, such as `hare:12`.
    line: &'a str,
    /// What is told: `who`, `when`, `figure`, `place`, `operation`, `what`, `how much`, `lot`,
    /// `air`, `corrections`.
    head: &'a str,
    /// In words.
    text: &'a str,
}

/// Tells the lines of the day.
///
/// # Errors
/// When the figure or person is unknown, or a journal cannot be read.
pub(super) fn lines(
    shop: &Opened,
    args: &DayArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let span = span(shop, args);
    let mut books = all_books(shop)?;
    if let Some(name) = &args.figure {
        books = vec![names::book_among(&books, name, "--figure")?];
    }
    let (kept, damaged) = gathered(shop, &books, span)?;
    tell_lines(shop, (&kept, span), args, paper)?;
    Ok(paper.damaged(&damaged))
}

/// Tells the supervisor's page of the day.
///
/// # Errors
/// When a journal cannot be read, or the page cannot be written.
pub(super) fn page(
    outside: &Outside,
    shop: &Opened,
    args: &DayArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let books = all_books(shop)?;
    let figure = args.figure.as_ref();
    let figure = figure.map(|name| names::book_among(&books, name, "--figure"));
    let ask = PageAsk {
        span: span(shop, args),
        figure: figure.transpose()?.map(|book| book_name(&book).to_owned()),
        by: args.by.clone(),
    };
    let (kept, damaged) = gathered(shop, &books, ask.span)?;
    let (page, missed) = page_of(shop, (&books, &kept), &ask)?;
    if let (None, Some(by)) = (page.rows().next(), &args.by) {
        known_by(shop, by)?;
    }
    if let Some(out) = &args.out {
        let all = missed.iter().chain(&damaged);
        let all = all.map(|(book, damage)| (book_name(book).to_owned(), damage.clone()));
        let entries = entries(shop, (&books, &page))?;
        let sheet = day_sheet(&page, entries, &all.collect::<Vec<_>>());
        super::report::write((outside, shop), (&sheet, out, args.replace), paper)?;
    } else {
        tell_page(&page, paper)?;
        paper.deferral()?;
    }
    Ok(paper.damaged(missed.iter().chain(&damaged)))
}

/// The lines that the rows of a page lead to, each once, in the order of books and lines.
fn entries(shop: &Opened, (books, page): (&[Book], &DayPage)) -> Result<Vec<Entry>, Trouble> {
    let keeper = shop.keeper()?;
    let mut wanted: BTreeMap<&str, BTreeSet<u64>> = BTreeMap::new();
    for (book, n) in page.rows().filter_map(|(_, row)| row.line.as_ref()) {
        wanted.entry(book).or_default().insert(*n);
    }
    let mut all = Vec::new();
    for book in books {
        let Some(numbers) = wanted.get(book_name(book)) else {
            continue;
        };
        let lines = keeper.lines(book).map_err(|fault| shop.trouble(fault))?;
        let found = numbers
            .iter()
            .filter_map(|n| entry(keeper.house(), (book, &lines), (*n, shop.zone)));
        all.extend(found);
    }
    Ok(all)
}

/// Tells one line in full.
///
/// # Errors
/// When no such book or line is there, or the journal cannot be read.
pub(super) fn line(
    shop: &Opened,
    number: &str,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let no_line = |remedy: &str| {
        Trouble::new(ExitKind::Misuse, format!("no line is numbered `{number}`"))
            .at("--line")
            .remedy(remedy)
    };
    let Some((name, n)) = number.rsplit_once(':') else {
        return Err(no_line("write book and number, such as hare:12 or shop:3"));
    };
    let n: u64 = n
        .parse()
        .map_err(|_no_number| no_line("write book and number, such as hare:12 or shop:3"))?;
    let book = names::book_among(&all_books(shop)?, name, "--line")?;
    let keeper = shop.keeper()?;
    let lines = keeper.lines(&book).map_err(|fault| shop.trouble(fault))?;
    let entry = entry(keeper.house(), (&book, &lines), (n, shop.zone))
        .ok_or_else(|| no_line(&format!("{name} has lines 1 to {}", lines.len())))?;
    if !paper.json {
        paper.page(&entry.text())?;
        return Ok(ExitKind::Well);
    }
    let rows = entry.rows.iter().map(|(head, text)| EntryJson {
        line: &entry.number,
        head,
        text,
    });
    paper.objects(rows)?;
    Ok(ExitKind::Well)
}

fn span(shop: &Opened, args: &DayArgs) -> DaySpan {
    let date = args.date.unwrap_or_else(|| shop.now.date_naive());
    if args.week {
        DaySpan::week(date, shop.zone)
    } else {
        DaySpan::day(date, shop.zone)
    }
}

fn gathered(
    shop: &Opened,
    books: &[Book],
    span: DaySpan,
) -> Result<(Vec<KeptLine>, BTreeMap<Book, Damage>), Trouble> {
    gather_day(shop.disk.as_ref(), &shop.folder, books, &span).map_err(|fault| shop.trouble(fault))
}

/// All books of the shop, also those of figures whose card has a flaw.
pub(super) fn all_books(shop: &Opened) -> Result<Vec<Book>, Trouble> {
    let figures =
        shop::figures(shop.disk.as_ref(), &shop.folder).map_err(|fault| shop.trouble(fault))?;
    let figures = figures.into_iter().map(Book::Figure);
    Ok(std::iter::once(Book::Shop).chain(figures).collect())
}

fn page_of(
    shop: &Opened,
    (books, kept): (&[Book], &[KeptLine]),
    ask: &PageAsk,
) -> Result<(DayPage, BTreeMap<Book, Damage>), Trouble> {
    // The page of a day that is over is told as it stood at its end.
    let as_of = shop.now.min(ask.span.ends());
    let standing = standing_until(
        shop.disk.as_ref(),
        &shop.folder,
        books,
        just_after(as_of, shop),
    )
    .map_err(|fault| shop.trouble(fault))?;
    let house = House {
        cards: &shop.cards,
        standing: &standing,
    };
    // The promises of today are told by the same forecast as everywhere; days that are over keep
    // to the one that was noted.
    let foreseen = ask.span.holds(as_of).then(|| {
        let prepared = prepare_usual(house, tomorrow(as_of, shop.zone), as_of);
        let (forecast, _) = in_plans(&prepared);
        Foreseen {
            rows: forecast.promises(),
            at: as_of,
        }
    });
    let missed = shop::missed(shop.disk.as_ref(), &shop.folder, &standing);
    let page = day_page(kept, house, (ask, as_of), foreseen.as_ref());
    Ok((page, missed))
}

/// Lines of this very moment count as long as it is now.
fn just_after(
    as_of: chrono::DateTime<chrono::FixedOffset>,
    shop: &Opened,
) -> chrono::DateTime<chrono::FixedOffset> {
    if as_of == shop.now {
        as_of + chrono::TimeDelta::milliseconds(1)
    } else {
        as_of
    }
}

fn tell_page(page: &DayPage, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    if !paper.json {
        return paper.page(&page.text());
    }
    let rows = page.points.iter().flat_map(|point| {
        point.rows.iter().map(|row| RowJson {
            point: point.number,
            title: point.title,
            text: &row.text,
            book: row.line.as_ref().map(|(book, _)| book.as_str()),
            n: row.line.as_ref().map(|(_, n)| *n),
        })
    });
    paper.objects(rows)
}

fn tell_lines(
    shop: &Opened,
    (kept, span): (&[KeptLine], DaySpan),
    args: &DayArgs,
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    let of_day = kept.iter().filter(|one| span.holds(one.line.at));
    let told = day_lines(kept, &span, &shop.cards);
    let is_by = |by: &str| args.by.as_ref().is_none_or(|name| name == by);
    let lines: Vec<(&KeptLine, DayLine)> = of_day
        .zip(told)
        .filter(|(one, _)| is_by(&one.line.by))
        .collect();
    if let (true, Some(by)) = (lines.is_empty(), &args.by) {
        known_by(shop, by)?;
    }
    if paper.json {
        return paper.objects(lines.iter().map(|(one, told)| json(one, told)));
    }
    if lines.is_empty() {
        let days = if span.is_long() {
            format!("from {} to {}", span.first, span.date)
        } else {
            format!("on {}", span.date)
        };
        return paper.line(&format!("no line {days}"));
    }
    let offsets: BTreeSet<i32> = lines
        .iter()
        .map(|(_, told)| told.at.offset().local_minus_utc())
        .collect();
    // On the day that has an hour twice, the hour alone would tell nothing.
    let clock = match (span.is_long(), 1 < offsets.len()) {
        (false, false) => "%H:%M",
        (false, true) => "%H:%M%:z",
        (true, false) => "%a %H:%M",
        (true, true) => "%a %H:%M%:z",
    };
    let rows: Vec<[String; 4]> = lines
        .iter()
        .map(|(one, told)| {
            let struck = if told.mark == DayMark::Struck {
                "struck: "
            } else {
                ""
            };
            [
                told.at.format(clock).to_string(),
                format!("{}:{}", book_name(&one.book), told.n),
                told.by.clone(),
                format!("{struck}{}", told.text),
            ]
        })
        .collect();
    paper.columns(&rows)
}

/// Somebody without a line on this day may be a person, else the name is a slip.
fn known_by(shop: &Opened, by: &str) -> Result<(), Trouble> {
    let people = shop
        .cards
        .shop
        .people
        .iter()
        .map(|person| person.id.as_str());
    if people.clone().any(|known| known == by) {
        return Ok(());
    }
    Err(names::unknown(("nobody in this shop", "--by"), by, people))
}

fn json<'a>(one: &'a KeptLine, told: &'a DayLine) -> LineJson<'a> {
    LineJson {
        book: book_name(&one.book),
        n: told.n,
        at: told.at.to_rfc3339(),
        by: &told.by,
        deed: one.line.deed.tag(),
        mark: match told.mark {
            DayMark::Plain => "plain",
            DayMark::Finished => "finished",
            DayMark::Signed => "signed",
            DayMark::Deviation => "deviation",
            DayMark::Overrule => "overrule",
            DayMark::Question => "question",
            DayMark::Struck => "struck",
            DayMark::Unknown => "newer",
        },
        entered_later: one.line.entered_later.map(|at| at.to_rfc3339()),
        text: &told.text,
    }
}
