//! `report FIGURE`: the treatment report, on the terminal, as a file, or as the folder for
//! thirty years.

use std::path::Path;

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{Outside, ReportArgs, names};
use crate::card::{Figure, PeopleShown};
use crate::deed::Line;
use crate::disk::{self, DiskFault};
use crate::journal::{Damage, Kept, read_all};
use crate::report::dossier::{
    Block, Cell, FRONT, ReportAsk, Sheet, folder_files, html, pdf, read_shots, report, text,
    write_folder,
};
use crate::report::standing_until;
use crate::shop::{book_path, missed};
use crate::standing::{Book, House, Standing};
use crate::trouble::{ExitKind, Trouble};

/// One thing that the report says, with `--json`.
#[derive(Debug, Serialize)]
struct SaidJson<'a> {
    /// Number of the part, from 1; 0 is what stands in front.
    part: usize,
    /// What the part is about.
    title: &'a str,
    /// `words`, `notice`, `head`, `fact`, `row`, `drawing` or `picture`.
    kind: &'static str,
    /// What is asked, or the caption of the table.
    name: &'a str,
    /// What is said; of a row its cells with ` | ` between.
    text: String,
    /// Whether it was recorded.
    recorded: bool,
}

/// Tells or writes the report.
///
/// # Errors
/// When the figure is unknown, its journal cannot be read, the file's ending is unknown, or
/// something of its name is there already.
pub(super) fn run(
    outside: &Outside,
    shop: &Opened,
    args: &ReportArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    names::figure(&shop.cards, &args.figure, "FIGURE")?;
    let Some(card) = shop.cards.figures.get(&args.figure) else {
        return Ok(ExitKind::Found);
    };
    if let Some(out) = &args.out {
        Kind::of(out)?;
    }
    let source = Source::read(shop, card)?;
    let book = Book::Figure(card.id.clone());
    let standing = standing_of(shop, card)?;
    let missed = || missed(shop.disk.as_ref(), &shop.folder, &standing).remove(&book);
    let damage = source.damage.clone().or_else(missed);
    let ended = paper.damaged(damage.as_ref().map(|damage| (&book, damage)));
    let folder = shop.folder.join("figures").join(&card.id);
    let pictures = read_shots(shop.disk.as_ref(), &folder, &source.lines);
    let ask = ReportAsk {
        house: House {
            cards: &shop.cards,
            standing: &standing,
        },
        figure: card,
        lines: &source.lines,
        seal: source.seal.as_deref(),
        flaws: source.flaws,
        damage: damage.as_ref(),
        pictures: &pictures,
        names: args
            .names
            .map_or(shop.cards.shop.report.names, PeopleShown::from),
        by: shop.writer_named()?,
        now: shop.now,
        zone: shop.zone,
    };
    if let Some(folder) = &args.folder {
        let files = folder_files(shop.disk.as_ref(), &shop.folder, ask)
            .map_err(|fault| shop.trouble(fault))?;
        let folder = outside.folder(folder);
        not_among_the_shops(shop, &folder)?;
        write_folder(outside.disk.as_ref(), &folder, &files)?;
        let line = format!("wrote {} files to {}", files.len(), folder.display());
        paper.line(&line)?;
        return Ok(ended);
    }
    let sheet = report(ask);
    match &args.out {
        Some(out) => write((outside, shop), (&sheet, out, args.replace), paper)?,
        None if paper.json => json(&sheet, paper)?,
        None => paper.page(&text(&sheet))?,
    }
    Ok(ended)
}

/// What stands of one figure and of the shop; the journals of the others are not opened.
fn standing_of(shop: &Opened, card: &Figure) -> Result<Standing, Trouble> {
    let books = [Book::Shop, Book::Figure(card.id.clone())];
    let every_line = DateTime::<Utc>::MAX_UTC.fixed_offset();
    standing_until(shop.disk.as_ref(), &shop.folder, &books, every_line)
        .map_err(|fault| shop.trouble(fault))
}

/// What a figure's journal holds.
struct Source {
    lines: Vec<Line>,
    seal: Option<String>,
    flaws: usize,
    damage: Option<Damage>,
}

impl Source {
    fn read(shop: &Opened, card: &Figure) -> Result<Self, Trouble> {
        let path = book_path(&shop.folder, &Book::Figure(card.id.clone()));
        let reading = read_all(shop.disk.as_ref(), &path).map_err(|fault| shop.trouble(fault))?;
        let seal = reading.lines.last().and_then(Kept::seal);
        Ok(Self {
            flaws: reading.all_flaws().len(),
            damage: reading.damage(),
            lines: reading
                .lines
                .iter()
                .filter_map(|kept| Line::read(&kept.text).ok())
                .collect(),
            seal,
        })
    }
}

/// What kind of file a page becomes.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Text,
    Html,
    Pdf,
}

impl Kind {
    /// Returns the kind that a file's ending names.
    ///
    /// # Errors
    /// When it names none.
    fn of(file: &Path) -> Result<Self, Trouble> {
        let end = file.extension().and_then(|end| end.to_str());
        match end.map(str::to_lowercase).as_deref() {
            Some("txt") => Ok(Self::Text),
            Some("html" | "htm") => Ok(Self::Html),
            Some("pdf") => Ok(Self::Pdf),
            _ => Err(Trouble::new(
                ExitKind::Misuse,
                "a page becomes a file that ends in .html, .pdf or .txt",
            )
            .at(file.display().to_string())
            .remedy("give the file one of these endings; nothing was written")),
        }
    }

    /// Returns the page as the bytes of a file.
    fn draw(self, sheet: &Sheet) -> Vec<u8> {
        match self {
            Self::Text => text(sheet).into_bytes(),
            Self::Html => html(sheet).into_bytes(),
            Self::Pdf => pdf(sheet),
        }
    }
}

/// Writes a page to a file and says so; a file that is there stays, unless it may be replaced.
///
/// # Errors
/// When the file's ending is unknown, a file is there, or the disk fails.
pub(super) fn write(
    (outside, shop): (&Outside, &Opened),
    (sheet, out, may_replace): (&Sheet, &Path, bool),
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    let kind = Kind::of(out)?;
    let (disk, out) = (outside.disk.as_ref(), outside.folder(out));
    not_among_the_shops(shop, &out)?;
    if disk::is_link(disk, &out) {
        return Err(Trouble::new(
            ExitKind::Misuse,
            "this is a link to somewhere else, and nothing is written through it",
        )
        .at(out.display().to_string())
        .remedy("name another file, or take the link away; nothing was written"));
    }
    let page = kind.draw(sheet);
    if may_replace {
        disk::replace(disk, &out, &page)?;
    } else {
        disk::make(disk, &out, &page).map_err(|fault| there_already(fault, &out))?;
    }
    paper.line(&format!("wrote {}", out.display()))
}

/// The folders of a shop that hold its cards and journals.
const OWN_FOLDERS: [&str; 3] = ["figures", "materials", "checklists"];

/// A name that somebody else has, perhaps since a moment ago, is theirs.
fn there_already(fault: DiskFault, out: &Path) -> Trouble {
    if !fault.is_taken() {
        return fault.into();
    }
    Trouble::new(ExitKind::Misuse, "the file is there already")
        .at(out.display().to_string())
        .remedy("name another one, or add --replace; nothing was written")
}

/// Refuses to write a page or a folder among what the shop itself is made of, by whatever way.
fn not_among_the_shops(shop: &Opened, out: &Path) -> Result<(), Trouble> {
    let true_path = |path: &Path| disk::true_path(shop.disk.as_ref(), path);
    let leads_to = true_path(out);
    let own = OWN_FOLDERS
        .iter()
        .find(|own| leads_to.starts_with(true_path(&shop.folder.join(own))));
    own.map_or(Ok(()), |own| {
        Err(Trouble::new(
            ExitKind::Misuse,
            format!("the folder `{own}` of the shop holds its cards and journals, and nothing else is written there"),
        )
        .at(out.display().to_string())
        .remedy("name a place outside of it; nothing was written"))
    })
}

fn json(sheet: &Sheet, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    let mut said = Vec::new();
    for fact in &sheet.front {
        said.push(SaidJson {
            part: 0,
            title: FRONT,
            kind: "fact",
            name: &fact.name,
            text: fact.known.clone().unwrap_or_default(),
            recorded: fact.known.is_some(),
        });
    }
    for (part, number) in sheet.parts.iter().zip(1..) {
        let one = |kind, name, text: String, recorded| SaidJson {
            part: number,
            title: &part.title,
            kind,
            name,
            text,
            recorded,
        };
        for block in &part.blocks {
            match block {
                Block::Words(words) => said.push(one("words", "", words.clone(), true)),
                Block::Notice(words) => said.push(one("notice", "", words.clone(), true)),
                Block::Head(words) => said.push(one("head", "", words.clone(), true)),
                Block::Facts(facts) => said.extend(facts.iter().map(|fact| {
                    let known = fact.known.clone();
                    let recorded = known.is_some();
                    one("fact", &fact.name, known.unwrap_or_default(), recorded)
                })),
                Block::List(lines) => {
                    said.extend(
                        lines
                            .iter()
                            .map(|line| one("words", "", line.clone(), true)),
                    );
                }
                Block::Table(table) if table.rows.is_empty() => {
                    said.push(one("row", &table.caption, String::new(), false));
                }
                Block::Table(table) => said.extend(table.rows.iter().map(|row| {
                    let cells: Vec<&str> = row.iter().map(Cell::words).collect();
                    one("row", &table.caption, cells.join(" | "), true)
                })),
                Block::Drawing(drawing) => {
                    said.push(one("drawing", &drawing.title, drawing.says.clone(), true));
                }
                Block::Picture(picture) => {
                    said.push(one("picture", "", picture.caption.clone(), true));
                }
                Block::Pair(pair) => said.extend(
                    pair.iter()
                        .map(|picture| one("picture", "", picture.caption.clone(), true)),
                ),
            }
        }
    }
    paper.objects(said)
}
