//! `audit`: every journal of the shop: seals, gaps, order, torn ends, clocks set back, lines
//! that cannot be read. What may be so but should be known is told as well and counts not as
//! wrong: deeds of a newer version, jumps of the clock that the bench itself noted, torn ends
//! that were set aside.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use chrono::TimeDelta;
use serde::Serialize;

use super::Outside;
use super::opened::Opened;
use super::paper::Paper;
use crate::deed::{Deed, Line};
use crate::disk::{self, LINKED, Nature, NotPlain};
use crate::journal::{Flaw, FlawKind, Kept, read_all};
use crate::reckon::counted;
use crate::report::dossier::{JOURNAL, SUMS, verify_folder, verify_rows};
use crate::report::{book_name, tell};
use crate::shop::{book_path, kept_photo};
use crate::standing::{Book, NotedBook};
use crate::trouble::{ExitKind, Trouble};

/// One finding with `--json`.
#[derive(Debug, Serialize)]
struct Finding {
    /// The journal, as a path inside the shop's folder.
    file: String,
    /// The line in the file, from 1; `null` for what lies beside it.
    line: Option<u64>,
    /// `unread`, `unreadable`, `no_line`, `seal`, `gap`, `order`, `time_back`, `line_end`, `torn`,
    /// `short`, `gone`, `newer`, `jump`, `set_aside`, `link`, `not_plain` or `photo`; of a folder `missing`, `changed`, `not_listed`, `link`, `list` or `rows`.
    kind: &'static str,
    /// Whether it counts as wrong.
    wrong: bool,
    /// In words.
    text: String,
}

/// Tells what is found; exit code 1 when something of it is wrong.
///
/// # Errors
/// When the folder of figures cannot be listed.
pub(super) fn run(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let (mut findings, mut lines) = (Vec::new(), 0);
    let books = books(shop)?;
    let (mut notes, mut own) = (Notes::default(), Vec::new());
    // The shop's own comes first, and says what is to be expected of the others; they say so of it.
    for book in &books {
        let kept = look_through(shop, (book, notes.of(book)), &mut findings);
        lines += kept.len();
        notes.take(book, &kept);
        if *book == Book::Shop {
            own = kept;
        }
    }
    if books.contains(&Book::Shop) {
        let file = file_of(shop, &Book::Shop);
        against_notes((&file, &own), notes.of(&Book::Shop), &mut findings);
    }
    missing(shop, (&books, &notes), &mut findings);
    let sum = format!(
        "{}, {}",
        counted(books.len(), "journal"),
        counted(lines, "line")
    );
    told(&findings, (&sum, NEXT), paper)
}

/// The folder of a figure's photographs, beside its journal.
const PHOTOS: &str = "photos";

/// What to do about a journal that is not sound.
const NEXT: &str = "leave these files as they are and look for the same lines in a copy; \
    what is lost is entered anew, and the book goes on";

/// What to do about a folder that is not as it was made.
const NEXT_OF_FOLDER: &str = "leave the folder as it is and look into another copy of it";

/// Tells in what a folder for thirty years differs from its own sums, and what its journal
/// says of itself; exit code 1 when something of it is wrong.
///
/// # Errors
/// When the folder has no list of sums, or cannot be read.
pub(super) fn folder(
    outside: &Outside,
    folder: &Path,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let (disk, folder) = (outside.disk.as_ref(), outside.folder(folder));
    if !disk.stamp(&folder.join(SUMS)).is_ok_and(|it| it.is_some()) {
        return Err(Trouble::new(
            ExitKind::Misuse,
            format!("this folder has no list of sums ({SUMS})"),
        )
        .at(folder.display().to_string())
        .remedy(
            "name a folder that `knuckle report FIGURE --folder` made; a shop is named by --shop",
        ));
    }
    let (mut differs, listed) = verify_folder(disk, &folder)?;
    let reading = read_all(disk, &folder.join(JOURNAL))?;
    let lines = reading
        .lines
        .iter()
        .filter(|kept| Line::read(&kept.text).is_ok());
    let lines: Vec<u64> = lines.map(|kept| kept.n).collect();
    differs.extend(verify_rows(disk, &folder, &lines));
    let mut findings: Vec<Finding> = differs
        .into_iter()
        .map(|one| Finding {
            file: one.file,
            line: None,
            kind: one.kind,
            wrong: true,
            text: one.text,
        })
        .collect();
    findings.extend(reading.all_flaws().iter().map(|flaw| Finding {
        file: JOURNAL.to_owned(),
        line: Some(flaw.line),
        kind: kind(flaw),
        wrong: true,
        text: flaw.kind.to_string(),
    }));
    let sum = format!(
        "{} listed, {}",
        counted(listed, "file"),
        counted(reading.lines.len(), "line")
    );
    told(&findings, (&sum, NEXT_OF_FOLDER), paper)
}

/// Tells findings, their sum, and what to do next where something is wrong.
fn told(
    findings: &[Finding],
    (sum, next): (&str, &str),
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let wrong = findings.iter().filter(|finding| finding.wrong).count();
    if paper.json {
        paper.objects(findings)?;
    } else {
        for alike in findings.chunk_by(Finding::goes_on) {
            let [finding, .., last] = alike else {
                alike.iter().try_for_each(|it| paper.line(&it.told("")))?;
                continue;
            };
            paper.line(&finding.told(&to_line(last)))?;
        }
        match wrong {
            0 => paper.line(&format!("{sum}: nothing wrong"))?,
            wrong => {
                paper.line(&format!("{sum}: {wrong} wrong"))?;
                paper.line(next)?;
            }
        }
    }
    Ok(if wrong == 0 {
        ExitKind::Well
    } else {
        ExitKind::Found
    })
}

impl Finding {
    /// Returns whether the same is wrong with the next line of the same file.
    fn goes_on(&self, next: &Self) -> bool {
        let follows = self.line.map(|line| line + 1) == next.line && next.line.is_some();
        follows && (&self.file, self.kind, &self.text) == (&next.file, next.kind, &next.text)
    }

    /// Returns it in words; `to` is where the same ends that begins here.
    fn told(&self, to: &str) -> String {
        let place = self
            .line
            .map_or_else(String::new, |line| format!(":{line}{to}"));
        let lead = if self.wrong { "" } else { "note: " };
        format!("{lead}{}{place}: {}", self.file, self.text)
    }
}

/// To which line something goes on.
fn to_line(last: &Finding) -> String {
    last.line
        .map_or_else(String::new, |line| format!(" to {line}"))
}

/// The books that have a journal, also those of figures whose card cannot be read.
fn books(shop: &Opened) -> Result<Vec<Book>, Trouble> {
    let is_there = |path: &Path| shop.disk.stamp(path).is_ok_and(|stamp| stamp.is_some());
    let folder = shop.folder.join("figures");
    let mut figures: BTreeSet<String> = shop.cards.figures.keys().cloned().collect();
    if is_there(&folder) {
        let entries =
            disk::list(shop.disk.as_ref(), &folder).map_err(|fault| shop.trouble(fault))?;
        figures.extend(
            entries
                .into_iter()
                .filter(|entry| entry.is_folder)
                .map(|entry| entry.name),
        );
    }
    let all = std::iter::once(Book::Shop).chain(figures.into_iter().map(Book::Figure));
    Ok(all
        .filter(|book| shop.disk.nature(&book_path(&shop.folder, book)).is_ok())
        .collect())
}

/// How far books were noted to go in others.
#[derive(Debug, Default)]
struct Notes {
    /// In which line, and what, in the order of the lines.
    of: BTreeMap<Book, Vec<(String, NotedBook)>>,
    /// Those that the last day noted.
    last: BTreeSet<Book>,
}

impl Notes {
    fn of(&self, book: &Book) -> &[(String, NotedBook)] {
        self.of.get(book).map(Vec::as_slice).unwrap_or_default()
    }

    /// Takes in what the lines of a book note of others.
    fn take(&mut self, book: &Book, kept: &[Kept]) {
        for line in kept.iter().filter_map(|kept| Line::read(&kept.text).ok()) {
            let (books, seals) = match &line.deed {
                Deed::DayOpened(deed) => (&deed.books, &deed.seals),
                Deed::DayClosed(deed) => (&deed.books, &deed.seals),
                Deed::Begun(deed) => {
                    if let Some(end) = &deed.shop {
                        self.note(Book::Shop, (end.n, &end.seal), (book, &line));
                    }
                    continue;
                }
                _ => continue,
            };
            self.last.clear();
            for (figure, n) in books {
                let seal = seals.get(figure).map(String::as_str).unwrap_or_default();
                let of = Book::Figure(figure.clone());
                self.last.insert(of.clone());
                self.note(of, (*n, seal), (book, &line));
            }
        }
    }

    fn note(&mut self, of: Book, (lines, seal): (u64, &str), (book, line): (&Book, &Line)) {
        let place = format!("{}:{}", book_name(book), line.n);
        let noted = NotedBook {
            lines,
            seal: seal.to_owned(),
            stamp: line.stamp(),
        };
        self.of.entry(of).or_default().push((place, noted));
    }
}

/// How far the clocks of two benches may lie apart before a line counts as written anew (own
/// choice: far more than clocks of one shop differ, far less than a working day).
const APART: TimeDelta = TimeDelta::hours(1);

/// Holds a book against all that was noted of it: lines gone from its end, lines that were written
/// in the place of such, and another book in its place.
fn against_notes(
    (file, lines): (&str, &[Kept]),
    notes: &[(String, NotedBook)],
    findings: &mut Vec<Finding>,
) {
    let has = lines.last().map_or(0, |kept| kept.n);
    let by_n: BTreeMap<u64, &Kept> = lines.iter().map(|kept| (kept.n, kept)).collect();
    let longest = notes.iter().rev().max_by_key(|(_, noted)| noted.lines);
    let short = longest.filter(|(_, noted)| has < noted.lines);
    let is_other = |(_, noted): &&(String, NotedBook)| {
        by_n.get(&noted.lines).is_some_and(|kept| {
            let anew = noted.stamp.at + APART < kept.written();
            anew || (!noted.seal.is_empty() && kept.seal().as_ref() != Some(&noted.seal))
        })
    };
    let short = short.map(|(place, noted)| {
        let (most, day) = (noted.lines, noted.stamp.at.format("%-d %b %Y"));
        format!(
            "it ends at n={has}, and had {most} lines on {day} ({place}): what came after is gone"
        )
    });
    let other = notes.iter().find(is_other).map(|(place, noted)| {
        let (n, day) = (noted.lines, noted.stamp.at.format("%-d %b %Y"));
        format!(
            "n={n} is not the line that was there on {day} ({place}): lines were lost and others written in their place, or it is another book"
        )
    });
    findings.extend(short.into_iter().chain(other).map(|text| Finding {
        file: file.to_owned(),
        line: None,
        kind: "short",
        wrong: true,
        text,
    }));
}

/// Books that were noted and are not there, and a shop without a book of its own.
fn missing(shop: &Opened, (books, all): (&[Book], &Notes), findings: &mut Vec<Finding>) {
    for (book, own) in all.of.iter().filter(|(book, _)| !books.contains(book)) {
        let Some((place, noted)) = own.iter().rev().max_by_key(|(_, noted)| noted.lines) else {
            continue;
        };
        let (most, day) = (noted.lines, noted.stamp.at.format("%-d %b %Y"));
        let is_here = match book {
            Book::Shop => true,
            Book::Figure(id) => shop.cards.figures.contains_key(id),
        };
        let taken_out = if is_here {
            ""
        } else {
            ", if it was not taken out of the shop"
        };
        findings.push(Finding {
            file: file_of(shop, book),
            line: None,
            kind: "gone",
            wrong: is_here || all.last.contains(book),
            text: format!("it is not there, and had {most} lines on {day} ({place}): bring back a copy{taken_out}"),
        });
    }
    let is_noted = !all.of(&Book::Shop).is_empty();
    if !books.contains(&Book::Shop) && !books.is_empty() && !is_noted {
        findings.push(Finding {
            file: "journal.jsonl".to_owned(),
            line: None,
            kind: "gone",
            wrong: false,
            text: "the shop has no book of its own: days, air and lots were never written down, or it was moved away".to_owned(),
        });
    }
}

/// The journal of a book, as a path inside the shop's folder.
fn file_of(shop: &Opened, book: &Book) -> String {
    let path = book_path(&shop.folder, book);
    let inside = path.strip_prefix(&shop.folder).unwrap_or(&path);
    inside.display().to_string()
}

/// Looks through one journal and returns its lines.
fn look_through(
    shop: &Opened,
    (book, notes): (&Book, &[(String, NotedBook)]),
    findings: &mut Vec<Finding>,
) -> Vec<Kept> {
    let (path, file) = (book_path(&shop.folder, book), file_of(shop, book));
    if !is_plain(shop, (book, &path, &file), findings) {
        return Vec::new();
    }
    let reading = match read_all(shop.disk.as_ref(), &path) {
        Ok(reading) => reading,
        // The others are looked through without it.
        Err(fault) => {
            findings.push(Finding {
                file,
                line: None,
                kind: "unread",
                wrong: true,
                text: fault.to_string(),
            });
            return Vec::new();
        }
    };
    findings.extend(reading.all_flaws().iter().map(|flaw| Finding {
        file: file.clone(),
        line: Some(flaw.line),
        kind: kind(flaw),
        wrong: true,
        text: flaw.kind.to_string(),
    }));
    // What cannot be read at all is not among the lines, but has its place in the file.
    let left_out = |place: &u64| {
        let mut flaws = reading.flaws.iter();
        flaws.any(|flaw| flaw.line == *place && flaw.kind == FlawKind::Unreadable)
    };
    let places = (1u64..).filter(|place| !left_out(place));
    for (place, kept) in places.zip(&reading.lines) {
        let (kind, wrong, text) = match Line::read(&kept.text) {
            Err(why) => ("unreadable", true, why.to_string()),
            Ok(line) => match noted(shop, &line) {
                Some((kind, text)) => (kind, false, text),
                None => continue,
            },
        };
        let (file, line) = (file.clone(), Some(place));
        findings.push(Finding {
            file,
            line,
            kind,
            wrong,
            text,
        });
    }
    against_notes((&file, &reading.lines), notes, findings);
    photographs(shop, (&path, &reading.lines), findings);
    beside(shop, &path, findings);
    reading.lines
}

/// Notes what leads out of the shop, and says whether there is a file to read.
fn is_plain(
    shop: &Opened,
    (book, path, file): (&Book, &Path, &str),
    findings: &mut Vec<Finding>,
) -> bool {
    let mut wrong = |file: String, kind, text: String| {
        findings.push(Finding {
            file,
            line: None,
            kind,
            wrong: true,
            text,
        });
    };
    if let Book::Figure(id) = book
        && disk::is_link(shop.disk.as_ref(), disk::parent_of(path))
    {
        wrong(format!("figures/{id}"), "link", LINKED.to_owned());
    }
    match shop.disk.nature(path) {
        Ok(Nature::Link) => wrong(file.to_owned(), "link", LINKED.to_owned()),
        Ok(other @ (Nature::Folder | Nature::Other)) => {
            wrong(file.to_owned(), "not_plain", NotPlain(other).to_string());
            return false;
        }
        _ => {}
    }
    true
}

/// Holds each photograph that was taken in against its hash.
fn photographs(shop: &Opened, (journal, lines): (&Path, &[Kept]), findings: &mut Vec<Finding>) {
    let folder = disk::parent_of(journal);
    let shown = folder.strip_prefix(&shop.folder).unwrap_or(folder);
    let mut named = BTreeSet::new();
    for kept in lines {
        let Ok(Deed::PhotoKept(photo)) = Line::read(&kept.text).map(|line| line.deed) else {
            continue;
        };
        named.insert(photo.file.clone());
        let Err(fault) = kept_photo(shop.disk.as_ref(), folder, &photo) else {
            continue;
        };
        findings.push(Finding {
            file: shown.join(&photo.file).display().to_string(),
            line: None,
            kind: "photo",
            wrong: true,
            text: format!("line n={} took it in: {fault}", kept.n),
        });
    }
    let lying = shop.disk.list(&folder.join(PHOTOS)).unwrap_or_default();
    let lying = lying
        .into_iter()
        .map(|entry| format!("{PHOTOS}/{}", entry.name));
    findings.extend(
        lying
            .filter(|file| !named.contains(file))
            .map(|file| Finding {
                file: shown.join(file).display().to_string(),
                line: None,
                kind: "no_line",
                wrong: false,
                text: "no line names this file: it was put there by hand, or its line is gone"
                    .to_owned(),
            }),
    );
}

/// What a sound line tells that should be known.
fn noted(shop: &Opened, line: &Line) -> Option<(&'static str, String)> {
    match &line.deed {
        Deed::Unknown(_) => Some(("newer", tell(line, &shop.cards))),
        Deed::ClockJumped(_) => Some(("jump", tell(line, &shop.cards))),
        _ if !line.strange.is_empty() => Some(("newer", tell(line, &shop.cards))),
        _ => None,
    }
}

/// Torn ends that were set aside into files beside the journal.
fn beside(shop: &Opened, journal: &Path, findings: &mut Vec<Finding>) {
    let folder = disk::parent_of(journal);
    let entries = shop.disk.list(folder);
    let entries = entries.unwrap_or_default();
    for entry in entries
        .iter()
        .filter(|entry| entry.name.starts_with("journal.torn-"))
    {
        let file = folder.join(&entry.name);
        let file = file.strip_prefix(&shop.folder).unwrap_or(&file);
        findings.push(Finding {
            file: file.display().to_string(),
            line: None,
            kind: "set_aside",
            wrong: false,
            text: "a torn end that was set aside; look whether something has to be entered anew"
                .to_owned(),
        });
    }
}

fn kind(flaw: &Flaw) -> &'static str {
    match flaw.kind {
        FlawKind::Unreadable => "unreadable",
        FlawKind::Seal => "seal",
        FlawKind::Gap { .. } => "gap",
        FlawKind::OutOfOrder { .. } => "order",
        FlawKind::TimeBack { .. } => "time_back",
        FlawKind::LineEnd => "line_end",
        FlawKind::NoLine { .. } => "no_line",
        FlawKind::Torn { .. } => "torn",
    }
}
