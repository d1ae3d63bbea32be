//! Loads the cards of a shop: its own files, and the built-in checklists under them.

use std::path::Path;

use super::ShopFault;
use super::embedded::builtin_checklists;
use super::find::{is_shop, is_there};
use super::shares::in_shares;
use crate::card::{Cards, Figure, Flaw, LONGEST_CARD, read_figure, read_parts, take_apart};
use crate::disk::{self, Act, Ailment, Disk, DiskFault, Nature, Way};

/// The fewest cards that are worth a thread of their own: some ten milliseconds of reading on
/// the machine named beside the table of speeds.
const FEWEST: usize = 16;

/// Returns the cards of a shop and every flaw in its files. A card with a flaw in its own text
/// is not among the cards.
///
/// # Errors
///
/// [`ShopFault::NoShop`] when there is no `shop.yaml`; [`ShopFault::Disk`] when a file or
/// folder cannot be read.
pub fn load(disk: &dyn Disk, folder: &Path) -> Result<(Cards, Vec<Flaw>), ShopFault> {
    let mut gathered = Gathered::but_figures(disk, folder)?;
    gathered.figures()?;
    Ok(gathered.read())
}

/// As [`load`], but without the figure cards, for what only tells lines: in a shop of a
/// thousand figures those cards are nearly all there is to read.
///
/// # Errors
///
/// As [`load`].
pub fn load_but_figures(disk: &dyn Disk, folder: &Path) -> Result<(Cards, Vec<Flaw>), ShopFault> {
    Gathered::but_figures(disk, folder).map(Gathered::read)
}

/// Returns every flaw in the files of a shop, by file, line and column.
///
/// # Errors
///
/// As [`load`].
pub fn check(disk: &dyn Disk, folder: &Path) -> Result<Vec<Flaw>, ShopFault> {
    load(disk, folder).map(|(_, flaws)| flaws)
}

/// Returns the ids of all figures that have a folder with a card, sorted.
///
/// # Errors
///
/// [`ShopFault::Disk`] when the folder cannot be read.
pub fn figures(disk: &dyn Disk, folder: &Path) -> Result<Vec<String>, ShopFault> {
    let mut found = Vec::new();
    for name in folders_in(disk, &folder.join("figures"))? {
        if is_there(disk, &figure_card(folder, &name))? {
            found.push(name);
        }
    }
    Ok(found)
}

/// Returns the card of one figure as it can be read, without a look at the other cards.
///
/// `None` when it is missing or has a flaw of its own; `check` tells which.
pub fn load_figure(disk: &dyn Disk, folder: &Path, id: &str) -> Option<Figure> {
    let path = figure_card(folder, id);
    let bytes = disk::read(disk, &path).ok()?;
    let text = String::from_utf8(bytes).ok()?;
    read_figure(&format!("figures/{id}/figure.yaml"), &text).ok()
}

/// Returns the card of a figure.
pub fn figure_card(folder: &Path, id: &str) -> std::path::PathBuf {
    folder.join("figures").join(id).join("figure.yaml")
}

/// Returns the names of the folders in a folder; none when it is not there.
fn folders_in(disk: &dyn Disk, folder: &Path) -> Result<Vec<String>, DiskFault> {
    let entries = names_in(disk, folder)?.into_iter();
    Ok(entries
        .filter(|(_, is_folder)| *is_folder)
        .map(|(name, _)| name)
        .collect())
}

/// Returns the names in a folder, hidden ones left out; none when the folder is not there.
fn names_in(disk: &dyn Disk, folder: &Path) -> Result<Vec<(String, bool)>, DiskFault> {
    if !is_there(disk, folder)? {
        return Ok(Vec::new());
    }
    let entries = disk::list(disk, folder)?.into_iter();
    Ok(entries
        .filter(|entry| !entry.name.starts_with('.'))
        .map(|entry| (entry.name, entry.is_folder))
        .collect())
}

/// The texts of a shop's cards, and what is wrong with the files themselves.
struct Gathered<'d> {
    disk: &'d dyn Disk,
    folder: &'d Path,
    files: Vec<(String, String)>,
    flaws: Vec<Flaw>,
}

impl<'d> Gathered<'d> {
    fn but_figures(disk: &'d dyn Disk, folder: &'d Path) -> Result<Self, ShopFault> {
        if !is_shop(disk, folder)? {
            let folder = folder.to_owned();
            return Err(ShopFault::NoShop { folder });
        }
        let mut gathered = Gathered {
            disk,
            folder,
            files: Vec::new(),
            flaws: Vec::new(),
        };
        gathered.card("shop.yaml".to_owned())?;
        gathered.cards_of("materials")?;
        gathered.cards_of("checklists")?;
        Ok(gathered)
    }

    fn read(self) -> (Cards, Vec<Flaw>) {
        let mut texts = self.files;
        let own = texts.len();
        texts.extend(builtin_checklists());
        let parts = in_shares(&texts, FEWEST, |share| {
            let share = share.iter();
            share
                .map(|(file, text)| take_apart(file, text))
                .collect::<Vec<_>>()
        });
        let (cards, mut flaws) = read_parts(&texts, own, parts.into_iter().flatten().collect());
        flaws.extend(self.flaws);
        flaws.sort();
        (cards, flaws)
    }

    fn flaw(&mut self, file: String, what: &str, hint: &str) {
        self.flaws.push(Flaw {
            file,
            line: 1,
            column: 1,
            what: what.to_owned(),
            hint: Some(hint.to_owned()),
        });
    }

    fn figures(&mut self) -> Result<(), DiskFault> {
        for name in folders_in(self.disk, &self.folder.join("figures"))? {
            self.links(&name);
            let file = format!("figures/{name}/figure.yaml");
            let drawing = format!("figures/{name}/outline.yaml");
            if is_there(self.disk, &self.folder.join(&drawing))? {
                self.card(drawing)?;
            }
            if is_there(self.disk, &self.folder.join(&file))? {
                self.card(file)?;
            } else {
                let hint = "write one, or move the folder out of figures";
                self.flaw(file, "this figure has no card", hint);
            }
        }
        Ok(())
    }

    /// Notes what of a figure's folder leads elsewhere: nothing is written through it.
    fn links(&mut self, name: &str) {
        let folder = format!("figures/{name}");
        for path in ["", "/journal.jsonl", "/photos"] {
            let path = format!("{folder}{path}");
            if matches!(self.disk.nature(&self.folder.join(&path)), Ok(Nature::Link)) {
                let what = "this is a link to somewhere else: nothing is written through it";
                self.flaw(path, what, "put the file or folder itself in its place");
            }
        }
    }

    fn cards_of(&mut self, below: &str) -> Result<(), DiskFault> {
        for (name, is_folder) in names_in(self.disk, &self.folder.join(below))? {
            let file = format!("{below}/{name}");
            let end = Path::new(&name).extension().and_then(|end| end.to_str());
            match end.map(str::to_lowercase).as_deref() {
                _ if is_folder => {}
                Some("yaml") if end == Some("yaml") => self.card(file)?,
                Some("yaml" | "yml") => {
                    let hint = "let its name end in `.yaml`";
                    self.flaw(file, "this card is not read", hint);
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn card(&mut self, file: String) -> Result<(), DiskFault> {
        let path = self.folder.join(&file);
        // One byte more than a card may have is enough to see that it has too many.
        let most = u64::try_from(LONGEST_CARD).map_or(u64::MAX, |most| most + 1);
        let read = self
            .disk
            .open(&path, Way::Read)
            .and_then(|mut open| open.read_from(0, most));
        let bytes = match read {
            Ok(bytes) => bytes,
            Err(cause) if matches!(Ailment::of(&cause), Ailment::NotPlain(_)) => {
                let hint = "put the card itself there; it was not opened";
                self.flaw(file, &disk::in_words(&cause), hint);
                return Ok(());
            }
            Err(cause) => {
                let act = Act::Read;
                return Err(DiskFault { act, path, cause });
            }
        };
        let is_long = LONGEST_CARD < bytes.len();
        match String::from_utf8(bytes) {
            Ok(text) => self.files.push((file, text)),
            Err(not_text) if is_long => {
                let text = String::from_utf8_lossy(not_text.as_bytes()).into_owned();
                self.files.push((file, text));
            }
            Err(not_text) => {
                let good = not_text.utf8_error().valid_up_to();
                let before = not_text.as_bytes().get(..good).unwrap_or_default();
                let before = String::from_utf8_lossy(before);
                self.flaws.push(Flaw {
                    file,
                    line: before.matches('\n').count() + 1,
                    column: before
                        .rsplit('\n')
                        .next()
                        .unwrap_or_default()
                        .chars()
                        .count()
                        + 1,
                    what: "a sign here is not UTF-8 text".to_owned(),
                    hint: Some("save the file as UTF-8".to_owned()),
                });
            }
        }
        Ok(())
    }
}
