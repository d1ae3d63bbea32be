//! The cache of a shop: what each journal added up to when it was last read whole, as one page
//! a journal, kept outside the shop in the user's own folder for such things, so that a start
//! reads only what came after. It may be deleted at any time; the journal is the only memory.
//!
//! A page is taken only when its own seal fits, when this very program made it, and when the
//! journal is the same file, untouched since, or begins with the same bytes. Anything else
//! counts as no page: the journal is read whole. Nothing of a page is ever shown or decided
//! upon without that.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use sha2::{Digest, Sha256};

use super::page::{Page, from_bytes, to_bytes};
use crate::disk::{self, Disk};
use crate::journal::Mark;
use crate::standing::{Book, FigureStanding, ShopStanding, Standing};

/// Where pages are kept, and by which program.
#[derive(Debug, Clone)]
pub struct Cache {
    /// The folder for them; may not be there yet.
    pub folder: PathBuf,
    /// What tells this program from every other, also from the same version built anew:
    /// another one may replay in another way.
    pub program: String,
}

/// The pages of one shop.
#[derive(Debug)]
pub(super) struct Shelf<'a> {
    pub(super) disk: &'a dyn Disk,
    folder: PathBuf,
    program: &'a str,
}

/// What a page gives: the facts, how far they go, and whether there is nothing to add.
#[derive(Debug)]
pub(super) struct Taken {
    pub(super) standing: Standing,
    pub(super) mark: Mark,
    pub(super) is_fresh: bool,
}

/// Journals shorter than this, bytes, are read as fast as their pages would be: some 200 lines,
/// about a millisecond on the machine named beside the table of speeds.
pub(super) const WORTH_IT: u64 = 1 << 16;

/// What the first word of a page is; it changes with the order of what follows.
const FORMAT: &str = "knuckle cache page 4";

/// Bytes of a SHA-256 (FIPS 180-4).
const SEAL_LEN: usize = 32;

impl Cache {
    /// Returns where this program keeps pages, in the user's folder for what can be made
    /// anew; `None` where nothing tells this program from another.
    pub fn of(disk: &dyn Disk, cache: &Path, program: &Path) -> Option<Self> {
        let stamp = disk.stamp(program).ok()??.in_words()?;
        Some(Self {
            folder: cache.join("knuckle"),
            program: format!("{} {stamp}", env!("CARGO_PKG_VERSION")),
        })
    }

    pub(super) fn shelf<'a>(&'a self, disk: &'a dyn Disk, shop: &Path) -> Shelf<'a> {
        let name = disk::hex(&Sha256::digest(shop.as_os_str().as_encoded_bytes()));
        Shelf {
            disk,
            folder: self.folder.join(name),
            program: &self.program,
        }
    }
}

/// What a page says before the facts.
struct Head {
    format: String,
    program: String,
    /// What was known of the journal's file, where the system can tell.
    stamp: Option<String>,
    /// The seal of all bytes before the mark, as text.
    before: String,
    mark: Mark,
}

impl Page for Head {
    fn put(&self, pen: &mut super::page::Pen) {
        self.format.put(pen);
        self.program.put(pen);
        self.stamp.put(pen);
        self.before.put(pen);
        self.mark.put(pen);
    }

    fn take(eye: &mut super::page::Eye<'_>) -> Option<Self> {
        Some(Self {
            format: Page::take(eye)?,
            program: Page::take(eye)?,
            stamp: Page::take(eye)?,
            before: Page::take(eye)?,
            mark: Page::take(eye)?,
        })
    }
}

impl Shelf<'_> {
    fn file(&self, book: &Book) -> PathBuf {
        self.folder.join(match book {
            Book::Shop => "shop.page".to_owned(),
            Book::Figure(id) => format!("figure-{id}.page"),
        })
    }

    /// Returns what the page of a book holds, if it can be trusted.
    pub(super) fn take(&self, book: &Book, journal: &Path) -> Option<Taken> {
        let bytes = disk::read(self.disk, &self.file(book)).ok()?;
        let (told, seal) = bytes.split_at_checked(bytes.len().checked_sub(SEAL_LEN)?)?;
        if Sha256::digest(told).as_slice() != seal {
            return None;
        }
        let (head_len, rest) = told.split_first_chunk::<8>()?;
        let head_len = usize::try_from(u64::from_le_bytes(*head_len)).ok()?;
        let (head, facts) = rest.split_at_checked(head_len)?;
        let head: Head = from_bytes(head)?;
        if head.format != FORMAT || head.program != self.program {
            return None;
        }
        let is_untouched = head.stamp.is_some() && head.stamp == self.stamp(journal);
        if !is_untouched && self.seal_before(journal, &head.mark)? != head.before {
            return None;
        }
        Some(Taken {
            standing: standing_from(book, facts)?,
            mark: head.mark,
            is_fresh: is_untouched,
        })
    }

    /// Keeps a page of a book. It need not be on the disk when this returns: a page that was
    /// lost or torn is none. What goes wrong here hinders nobody, so nothing is told.
    pub(super) fn keep(&self, book: &Book, journal: &Path, (mark, facts): (&Mark, &[u8])) {
        let stamp = self.stamp(journal);
        let Some(before) = self.seal_before(journal, mark) else {
            return;
        };
        let head = to_bytes(&Head {
            format: FORMAT.to_owned(),
            program: self.program.to_owned(),
            // A file that has grown meanwhile is not the one of this page.
            stamp: stamp.filter(|_| self.len(journal) == Some(mark.len)),
            before,
            mark: mark.clone(),
        });
        let mut bytes = (head.len() as u64).to_le_bytes().to_vec();
        bytes.extend(head);
        bytes.extend(facts);
        let seal = Sha256::digest(&bytes);
        bytes.extend(seal);
        let kept = disk::make_folders(self.disk, &self.folder)
            .and_then(|()| disk::lay(self.disk, &self.file(book), &bytes));
        drop(kept);
    }

    fn len(&self, journal: &Path) -> Option<u64> {
        self.disk.stamp(journal).ok()?.map(|stamp| stamp.len)
    }

    fn stamp(&self, journal: &Path) -> Option<String> {
        self.disk.stamp(journal).ok()??.in_words()
    }

    /// Returns the seal of everything that stands in a journal before a mark.
    fn seal_before(&self, journal: &Path, mark: &Mark) -> Option<String> {
        let mut file = self.disk.open(journal, disk::Way::Read).ok()?;
        let bytes = file.read_from(0, mark.len).ok()?;
        let is_all = bytes.len() as u64 == mark.len;
        is_all.then(|| disk::hex(&Sha256::digest(&bytes)))
    }
}

/// Returns what stands by a book as bytes.
pub(super) fn standing_to(book: &Book, standing: &Standing) -> Vec<u8> {
    match book {
        Book::Shop => to_bytes(&standing.shop),
        Book::Figure(id) => match standing.figures.get(id) {
            Some(figure) => to_bytes(figure.as_ref()),
            None => to_bytes(&FigureStanding::default()),
        },
    }
}

/// Returns what stands by a book from its bytes, each word held once.
pub(super) fn standing_from(book: &Book, bytes: &[u8]) -> Option<Standing> {
    let mut standing = Standing::default();
    match book {
        Book::Shop => standing.shop = from_bytes::<ShopStanding>(bytes)?,
        Book::Figure(id) => {
            let figure = from_bytes::<FigureStanding>(bytes)?;
            standing.figures.insert(id.clone(), Arc::new(figure));
        }
    }
    Some(standing)
}
