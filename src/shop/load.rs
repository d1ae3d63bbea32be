//! Loads the cards of a shop: its own files, and the built-in checklists under them.

use std::collections::BTreeSet;
use std::path::Path;

use super::ShopFault;
use super::embedded::builtin_checklists;
use super::find::{is_shop, is_there};
use super::shares::in_shares;
use crate::card::{Cards, Figure, Flaw, LONGEST_CARD, read_cards, read_parts, take_apart};
use crate::disk::{self, Act, Ailment, Disk, DiskFault, LINKED, Way};

/// The fewest cards that are worth a thread of their own: some ten milliseconds of reading on
/// the machine named beside the table of speeds.
const FEWEST: usize = 16;

/// Returns the cards of a shop, each as far as it was read, and every flaw in its files; a file
/// that the disk does not hand out is a flaw like any other.
///
/// # Errors
///
/// [`ShopFault::NoShop`] when there is no `shop.yaml`; [`ShopFault::Disk`] when a folder of
/// cards cannot be listed.
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

/// Returns the card of one figure as far as it can be read, without a look at the other cards.
///
/// `None` when it is missing, a link, or the disk does not hand it out; `check` tells which.
pub fn load_figure(disk: &dyn Disk, folder: &Path, id: &str) -> Option<Figure> {
    let path = figure_card(folder, id);
    if disk::is_link(disk, &path) {
        return None;
    }
    let bytes = disk::read(disk, &path).ok()?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let file = format!("figures/{id}/figure.yaml");
    let (mut cards, _) = read_cards(&[(file, text)], &[]);
    cards.figures.remove(id)
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
    /// Of each card whose text cannot be had, why.
    unread: Vec<Flaw>,
    /// Those of them that the disk did not hand out.
    withheld: BTreeSet<String>,
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
            unread: Vec::new(),
            withheld: BTreeSet::new(),
        };
        gathered.card("shop.yaml".to_owned());
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
        let parts = parts.into_iter().flatten().collect();
        let (mut cards, mut flaws) = read_parts(&texts, own, parts, &self.unread);
        cards.flawed.unread = self.withheld;
        flaws.extend(self.flaws);
        flaws.sort();
        (cards, flaws)
    }

    fn figures(&mut self) -> Result<(), DiskFault> {
        for name in folders_in(self.disk, &self.folder.join("figures"))? {
            self.links(&name);
            let file = format!("figures/{name}/figure.yaml");
            let drawing = format!("figures/{name}/outline.yaml");
            let journal = format!("figures/{name}/journal.jsonl");
            if self.is_there(&drawing) {
                self.card(drawing);
            }
            if self.is_there(&file) {
                self.card(file);
            } else {
                let hint = "write one, or move the folder out of figures";
                let flaw = at_top(file, "this figure has no card".to_owned(), hint);
                // What runs in a journal runs on without a card.
                if self.is_there(&journal) {
                    self.unread.push(flaw);
                } else {
                    self.flaws.push(flaw);
                }
            }
        }
        Ok(())
    }

    /// Notes what of a figure's folder leads elsewhere: nothing is written through it.
    fn links(&mut self, name: &str) {
        let folder = format!("figures/{name}");
        for path in ["", "/journal.jsonl", "/photos"] {
            let path = format!("{folder}{path}");
            if disk::is_link(self.disk, &self.folder.join(&path)) {
                let hint = "put the file or folder itself in its place";
                self.flaws.push(at_top(path, LINKED.to_owned(), hint));
            }
        }
    }

    /// Returns whether a file is there; one that cannot be looked at is.
    fn is_there(&self, file: &str) -> bool {
        is_there(self.disk, &self.folder.join(file)).unwrap_or(true)
    }

    fn cards_of(&mut self, below: &str) -> Result<(), DiskFault> {
        if disk::is_link(self.disk, &self.folder.join(below)) {
            self.flaws
                .push(linked(below.to_owned(), "this folder of cards"));
            return Ok(());
        }
        let names = names_in(self.disk, &self.folder.join(below));
        if let Err(fault) = &names
            && Ailment::of(&fault.cause) == Ailment::NotAFolder
        {
            // What is built in is there without it, and what runs goes on.
            let what = "this is a file, and a folder of cards is meant".to_owned();
            let hint = "move the file away; no card of this kind is read until then";
            self.flaws.push(at_top(below.to_owned(), what, hint));
            return Ok(());
        }
        for (name, is_folder) in names? {
            let file = format!("{below}/{name}");
            let end = Path::new(&name).extension().and_then(|end| end.to_str());
            match end.map(str::to_lowercase).as_deref() {
                Some("yaml") if end == Some("yaml") => self.card(file),
                _ if is_folder => {}
                Some("yaml" | "yml") => {
                    let hint = "let its name end in `.yaml`";
                    let what = "this card is not read".to_owned();
                    self.flaws.push(at_top(file, what, hint));
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn card(&mut self, file: String) {
        let path = self.folder.join(&file);
        if disk::is_link(self.disk, &path) {
            self.unread.push(linked(file, "this card"));
            return;
        }
        // One byte more than a card may have is enough to see that it has too many.
        let most = u64::try_from(LONGEST_CARD).map_or(u64::MAX, |most| most + 1);
        let opened = self.disk.open(&path, Way::Read);
        let bytes = match opened.and_then(|mut open| open.read_from(0, most)) {
            Ok(bytes) => bytes,
            Err(cause) => {
                let act = Act::Read;
                let fault = DiskFault { act, path, cause };
                self.withheld.insert(file.clone());
                self.unread
                    .push(at_top(file, fault.to_string(), fault.remedy()));
                return;
            }
        };
        // A sign that is no text is a flaw at its place, and the fields around it count.
        let text = String::from_utf8_lossy(&bytes).into_owned();
        self.files.push((file, text));
    }
}

/// Returns the flaw of a card, or of a folder of them, that lies elsewhere: what lies there may
/// be anybody's, and its words would be told as the shop's own.
fn linked(file: String, this: &str) -> Flaw {
    let what = format!("{this} is a link to somewhere else, and is not read");
    at_top(file, what, "put the file or folder itself in its place")
}

/// Returns a flaw of a whole file.
fn at_top(file: String, what: String, hint: &str) -> Flaw {
    Flaw {
        file,
        line: 1,
        column: 1,
        what,
        hint: Some(hint.to_owned()),
    }
}
