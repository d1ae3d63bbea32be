//! A folder held against its own list of sums: what is missing, changed, or was put in.

use std::collections::BTreeSet;
use std::path::Path;

use sha2::{Digest, Sha256};

use super::shots::{plain_file, plain_parts};
use crate::disk::{self, Disk, DiskFault, Nature, hex};
use crate::reckon::counted;

/// The file that lists the sums of all others, in the form that `sha256sum -c` reads.
pub const SUMS: &str = "SHA256SUMS";

/// The journal of the folder.
pub const JOURNAL: &str = "journal.jsonl";

/// The journal as a table, a row for each of its lines.
const TABLE: &str = "journal.csv";

/// One thing that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Differs {
    /// The file, as a path inside the folder.
    pub file: String,
    /// What kind of difference: `missing`, `changed`, `not_listed`, `link`, `list` or `rows`.
    pub kind: &'static str,
    /// In words.
    pub text: String,
}

/// Returns everything in which a folder differs from its list, and how many files it lists.
/// Nothing outside the folder is looked at, whatever the list says.
///
/// # Errors
/// [`DiskFault`] when the list or a folder cannot be read.
pub fn verify_folder(disk: &dyn Disk, folder: &Path) -> Result<(Vec<Differs>, usize), DiskFault> {
    let list = disk::read(disk, &folder.join(SUMS))?;
    let list = String::from_utf8_lossy(&list);
    let mut found = Vec::new();
    let mut listed = BTreeSet::new();
    for (line, number) in list.lines().zip(1..) {
        let differs = |kind, file: &str, text: &str| Differs {
            file: file.to_owned(),
            kind,
            text: text.to_owned(),
        };
        let Some((sum, file)) = line.split_once("  ") else {
            let text = format!("line {number} is no sum and file");
            found.push(differs("list", SUMS, &text));
            continue;
        };
        let Some(parts) = plain_parts(file) else {
            let text = format!("line {number} names a file outside the folder");
            found.push(differs("list", SUMS, &text));
            continue;
        };
        listed.insert(file.to_owned());
        match state(disk, folder, &parts, sum) {
            State::Sound => {}
            State::Missing => found.push(differs("missing", file, "it is listed and not there")),
            State::Link => found.push(differs(
                "link",
                file,
                "it is a link to something elsewhere, or no plain file",
            )),
            State::Changed => found.push(differs(
                "changed",
                file,
                "it is not what it was: its SHA-256 differs from the list",
            )),
        }
    }
    let mut there = Vec::new();
    walk(disk, folder, "", &mut there)?;
    for file in there {
        if file != SUMS && !listed.contains(&file) {
            found.push(Differs {
                file,
                kind: "not_listed",
                text: "it was put in later: the list does not have it".to_owned(),
            });
        }
    }
    found.sort_by(|one, other| (&one.file, one.kind).cmp(&(&other.file, other.kind)));
    Ok((found, listed.len()))
}

/// Returns in what the table of a folder's journal differs from the journal beside it, of which
/// the numbers of the lines are given: of the two files one was cut short or added to. A table
/// that is not there is told by [`verify_folder`].
pub fn verify_rows(disk: &dyn Disk, folder: &Path, journal: &[u64]) -> Vec<Differs> {
    let Some(table) = plain_file(disk, &folder.join(TABLE)) else {
        return Vec::new();
    };
    let table = String::from_utf8_lossy(&table);
    // No cell of it holds a line end, and the first one is the number of the line.
    let rows = table.lines().skip(1).filter(|row| !row.is_empty());
    let number = |row: &str| row.split(',').next().and_then(|cell| cell.parse().ok());
    let rows: Vec<Option<u64>> = rows.map(number).collect();
    let there: BTreeSet<u64> = rows.iter().copied().flatten().collect();
    let kept: BTreeSet<u64> = journal.iter().copied().collect();
    let lacks = |file: &str, lacking: Vec<u64>, other: &str| {
        let first = lacking.first()?;
        let from = match lacking.len() {
            1 => format!("line {first} is not here"),
            many => format!("{many} lines are not here, the first of them {first}"),
        };
        Some(Differs {
            file: file.to_owned(),
            kind: "rows",
            text: format!("{from}, and {other} has it: one of the two was changed later"),
        })
    };
    let gone = there.difference(&kept).copied().collect();
    let more = kept.difference(&there).copied().collect();
    let found = [lacks(JOURNAL, gone, TABLE), lacks(TABLE, more, JOURNAL)];
    let mut found: Vec<Differs> = found.into_iter().flatten().collect();
    if found.is_empty() && rows.len() != journal.len() {
        found.push(Differs {
            file: TABLE.to_owned(),
            kind: "rows",
            text: format!(
                "it has {}, and {JOURNAL} {}: one of the two was changed later",
                counted(rows.len(), "row"),
                counted(journal.len(), "line")
            ),
        });
    }
    found
}

enum State {
    Sound,
    Missing,
    Link,
    Changed,
}

fn state(disk: &dyn Disk, folder: &Path, parts: &[&str], sum: &str) -> State {
    let mut path = folder.to_owned();
    for part in parts {
        path.push(part);
        match disk.nature(&path) {
            Ok(Nature::File | Nature::Folder) => {}
            Ok(Nature::Link | Nature::Other) => return State::Link,
            Err(_not_there) => return State::Missing,
        }
    }
    match disk::read(disk, &path) {
        Ok(bytes) if hex(&Sha256::digest(&bytes)) == sum => State::Sound,
        Ok(_) => State::Changed,
        Err(_) => State::Missing,
    }
}

/// Gathers every file below a folder; a link is named and not followed.
fn walk(
    disk: &dyn Disk,
    folder: &Path,
    inner: &str,
    there: &mut Vec<String>,
) -> Result<(), DiskFault> {
    for entry in disk::list(disk, folder)? {
        let path = folder.join(&entry.name);
        let file = if inner.is_empty() {
            entry.name.clone()
        } else {
            format!("{inner}/{}", entry.name)
        };
        if entry.is_folder && !disk::is_link(disk, &path) {
            walk(disk, &path, &file, there)?;
        } else {
            there.push(file);
        }
    }
    Ok(())
}
