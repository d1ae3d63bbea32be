//! The folder for thirty years: a figure's whole record in files that explain themselves and
//! that common tools can read and check. It is written whole or not at all.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::html::html;
use super::pdf::pdf;
use super::record::{Record, ReportAsk};
use super::shots::{kept_bytes, plain_file, plain_parts};
use super::tables;
use super::text::text;
use super::treatment::{label, report};
use super::verify::SUMS;
use crate::card::{DEFERRAL, PeopleShown};
use crate::deed::Deed;
use crate::disk::{self, Act, Disk, DiskFault, hex};
use crate::shop::{book_path, builtin_checklists};
use crate::standing::Book;
use crate::trouble::{ExitKind, Trouble};

/// What the folder says of itself.
const READ_ME: &str = include_str!("read-me-first.txt");

/// The words of the shop, explained.
const GLOSSARY: &str = include_str!("glossary.txt");

/// A file of the folder: its path inside, and its bytes.
pub type FolderFile = (String, Vec<u8>);

/// Returns the files of a figure's folder, the list of sums last. `shop` is the folder of the
/// shop on `disk`. What could not be taken along is named in the read-me.
///
/// # Errors
/// [`DiskFault`] when the journal or the card cannot be read.
pub fn folder_files(
    disk: &dyn Disk,
    shop: &Path,
    ask: ReportAsk<'_>,
) -> Result<Vec<FolderFile>, DiskFault> {
    let sheet = report(ask);
    let record = Record::new(ask);
    let mut left_out = Vec::new();
    let mut files: Vec<FolderFile> = vec![
        ("report.txt".into(), text(&sheet).into_bytes()),
        ("report.html".into(), html(&sheet).into_bytes()),
        ("report.pdf".into(), pdf(&sheet)),
        ("GLOSSARY.txt".into(), GLOSSARY.as_bytes().to_vec()),
    ];
    files.extend(tables::all(&record));
    files.extend(journal(disk, shop, &record)?);
    files.extend(cards(disk, shop, &record, &mut left_out)?);
    files.extend(photographs(disk, shop, &record, &mut left_out));
    files.push((
        "READ-ME-FIRST.txt".into(),
        read_me(&record, &files, &left_out).into_bytes(),
    ));
    files.sort();
    let sums: Vec<String> = files
        .iter()
        .map(|(path, bytes)| format!("{}  {path}\n", hex(&Sha256::digest(bytes))))
        .collect();
    files.push((SUMS.into(), sums.concat().into_bytes()));
    Ok(files)
}

fn figure_folder(shop: &Path, record: &Record<'_>) -> PathBuf {
    shop.join("figures").join(&record.ask.figure.id)
}

/// The journal as it is, and torn ends that were set aside beside it.
fn journal(
    disk: &dyn Disk,
    shop: &Path,
    record: &Record<'_>,
) -> Result<Vec<FolderFile>, DiskFault> {
    let path = book_path(shop, &Book::Figure(record.ask.figure.id.clone()));
    let mut files = Vec::new();
    let is_there = disk.stamp(&path).is_ok_and(|stamp| stamp.is_some());
    if is_there {
        files.push(("journal.jsonl".to_owned(), disk::read(disk, &path)?));
    }
    let folder = figure_folder(shop, record);
    for entry in disk::list(disk, &folder).unwrap_or_default() {
        let is_torn = entry.name.starts_with("journal.torn-") && plain_parts(&entry.name).is_some();
        if let Some(bytes) = is_torn
            .then(|| plain_file(disk, &folder.join(&entry.name)))
            .flatten()
        {
            files.push((entry.name, bytes));
        }
    }
    Ok(files)
}

/// The cards that the journal refers to: the figure's, the materials', the checklists'.
fn cards(
    disk: &dyn Disk,
    shop: &Path,
    record: &Record<'_>,
    left_out: &mut Vec<String>,
) -> Result<Vec<FolderFile>, DiskFault> {
    let card = figure_folder(shop, record).join("figure.yaml");
    let mut files = Vec::new();
    if disk::is_link(disk, &card) {
        left_out.push("figure.yaml: it is a link to somewhere else".to_owned());
    } else {
        files.push(("cards/figure.yaml".to_owned(), disk::read(disk, &card)?));
    }
    // The figure's own drawing, where the shop made one.
    let outline = figure_folder(shop, record).join("outline.yaml");
    match plain_file(disk, &outline) {
        Some(bytes) => files.push(("cards/outline.yaml".to_owned(), bytes)),
        None if disk.nature(&outline).is_ok() => {
            left_out.push("outline.yaml: it is no plain file or cannot be read".to_owned());
        }
        None => {}
    }
    let used = super::materials::used(record);
    let materials: BTreeSet<&str> = used
        .iter()
        .map(|one| one.material.as_str())
        .filter(|id| plain_parts(id).is_some_and(|parts| parts.len() == 1))
        .collect();
    for id in materials {
        let name = format!("materials/{id}.yaml");
        match plain_file(disk, &shop.join(&name)) {
            Some(bytes) => files.push((format!("cards/{name}"), bytes)),
            None => left_out.push(format!("{name}: no such card in the shop")),
        }
    }
    let walked: BTreeSet<&str> = record
        .ask
        .lines
        .iter()
        .filter_map(|line| crate::report::tell::work_of(&line.deed))
        .map(|work| work.operation.as_str())
        .filter(|id| plain_parts(id).is_some_and(|parts| parts.len() == 1))
        .collect();
    let builtin = builtin_checklists();
    for id in walked {
        let name = format!("checklists/{id}.yaml");
        let own = plain_file(disk, &shop.join(&name));
        let of_program = || {
            let is_it = |path: &str| {
                let file = path.rsplit('/').next().unwrap_or_default();
                let bare = file.trim_start_matches(|sign: char| sign.is_ascii_digit());
                bare.strip_prefix('-').unwrap_or(bare) == format!("{id}.yaml")
            };
            let found = builtin.iter().find(|(path, _)| is_it(path));
            found.map(|(_, text)| text.clone().into_bytes())
        };
        match own.or_else(of_program) {
            Some(bytes) => files.push((format!("cards/{name}"), bytes)),
            None => left_out.push(format!("{name}: no such checklist")),
        }
    }
    Ok(files)
}

fn photographs(
    disk: &dyn Disk,
    shop: &Path,
    record: &Record<'_>,
    left_out: &mut Vec<String>,
) -> Vec<FolderFile> {
    let folder = figure_folder(shop, record);
    let mut files: Vec<FolderFile> = Vec::new();
    for line in record.ask.lines {
        let Deed::PhotoKept(deed) = &line.deed else {
            continue;
        };
        let taken =
            deed.file.starts_with("photos/") && files.iter().any(|(path, _)| *path == deed.file);
        if taken {
            continue;
        }
        let is_photo = deed.file.starts_with("photos/");
        match kept_bytes(disk, &folder, deed, u64::MAX) {
            Ok(bytes) if is_photo => files.push((deed.file.clone(), bytes)),
            Ok(_) => left_out.push(format!("line {}: it lies outside photos/", line.n)),
            Err(why) => left_out.push(format!("photograph of line {}: {why}", line.n)),
        }
    }
    files
}

fn read_me(record: &Record<'_>, files: &[FolderFile], left_out: &[String]) -> String {
    let ask = &record.ask;
    let names = match ask.names {
        PeopleShown::Outward => {
            "In the report and the tables people are named by their trades. In journal.jsonl \
             their short names stand as they were written, because the seals hold them in place: \
             pass that file on only where the law on people's data lets you."
        }
        PeopleShown::Inward => {
            "People are named in the report, the tables and journal.jsonl: pass this folder on \
             only where the law on people's data lets you."
        }
    };
    let mut listed: Vec<&str> = files.iter().map(|(path, _)| path.as_str()).collect();
    listed.sort_unstable();
    let lines = |lines: Vec<String>| {
        if lines.is_empty() {
            "  nothing".to_owned()
        } else {
            lines.join("\n")
        }
    };
    let wrapped = |words: &str| {
        let wide = |text: &str| f64::from(u32::try_from(text.chars().count()).unwrap_or(u32::MAX));
        super::fit::wrap(&crate::report::harmless(words), 78.0, &wide).join("\n")
    };
    READ_ME
        .replace("{figure}", &wrapped(&ask.figure.name))
        .replace("{label}", &wrapped(&label(record)))
        .replace("{made}", &record.when(ask.now))
        .replace("{names}", &wrapped(names))
        .replace("{defers}", &wrapped(DEFERRAL))
        .replace(
            "{files}",
            &lines(listed.iter().map(|path| format!("  {path}")).collect()),
        )
        .replace(
            "{left_out}",
            &lines(
                left_out
                    .iter()
                    .map(|why| format!("  {}", crate::report::harmless(why)))
                    .collect(),
            ),
        )
}

/// Writes a folder that is not there yet. All of it is written beside its place and then given
/// its name, so that there is either the whole folder or none.
///
/// # Errors
/// When something of that name is there, or the disk fails; what was begun is taken away again.
pub fn write_folder(disk: &dyn Disk, folder: &Path, files: &[FolderFile]) -> Result<(), Trouble> {
    let there =
        disk::is_link(disk, folder) || disk.stamp(folder).is_ok_and(|stamp| stamp.is_some());
    if there {
        return Err(
            Trouble::new(ExitKind::Misuse, "the folder is there already")
                .at(folder.display().to_string())
                .remedy("name another one; nothing was written and nothing was changed"),
        );
    }
    let name = folder.file_name().unwrap_or_default().to_string_lossy();
    let beside = folder.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let met = |cause| DiskFault {
        act: Act::MakeFolder,
        path: folder.to_owned(),
        cause,
    };
    disk.make_folder(&beside).map_err(met)?;
    let placed = fill(disk, &beside, files)
        .and_then(|()| disk.rename(&beside, folder).map_err(met))
        .and_then(|()| disk.sync_folder(disk::parent_of(folder)).map_err(met));
    if placed.is_err() {
        clear(disk, &beside, files);
    }
    placed.map_err(Trouble::from)
}

fn fill(disk: &dyn Disk, folder: &Path, files: &[FolderFile]) -> Result<(), DiskFault> {
    for (path, bytes) in files {
        let file = folder.join(path);
        disk::make_folders(disk, disk::parent_of(&file))?;
        disk::replace(disk, &file, bytes)?;
    }
    Ok(())
}

/// Takes away what was begun. What cannot be taken away stays under a hidden name.
fn clear(disk: &dyn Disk, folder: &Path, files: &[FolderFile]) {
    let mut inner: BTreeSet<PathBuf> = BTreeSet::new();
    for (path, _) in files {
        drop(disk.remove(&folder.join(path)));
        let above = Path::new(path).ancestors().skip(1);
        inner.extend(above.map(|above| folder.join(above)));
    }
    // The deepest first.
    for folder in inner.iter().rev() {
        drop(disk.remove_folder(folder));
    }
    drop(disk.remove_folder(folder));
}
