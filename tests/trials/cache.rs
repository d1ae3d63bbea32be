//! The cache of a shop: whatever lies there, what stands is the journal replayed.

#![expect(
    clippy::disallowed_methods,
    reason = "the trial damages files behind the back of the program"
)]

use std::fs;
use std::io::Write;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use knuckle::card::Cards;
use knuckle::disk::RealDisk;
use knuckle::shop::{Cache, Keeper, book_path, load};
use knuckle::standing::{Book, Standing};
use proptest::prelude::*;
use tempfile::TempDir;

/// A shop with the hare of the sample shop, and a place for a cache.
struct Kept {
    home: TempDir,
    cards: Cards,
    /// The journal of the hare as the sample shop has it.
    whole: Vec<u8>,
}

impl Kept {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
        let (mut cards, _) = load(&RealDisk, &sample).unwrap();
        cards.figures.retain(|id, _| id == "hare");
        let whole = fs::read(book_path(&sample, &hare())).unwrap();
        fs::create_dir_all(home.path().join("shop/figures/hare")).unwrap();
        Self { home, cards, whole }
    }

    fn journal(&self) -> PathBuf {
        book_path(&self.home.path().join("shop"), &hare())
    }

    /// Leaves the first lines of the journal there.
    fn cut(&self, lines: usize) {
        let kept = self.whole.split_inclusive(|byte| *byte == b'\n');
        let kept: Vec<u8> = kept.take(lines).flatten().copied().collect();
        fs::write(self.journal(), kept).unwrap();
    }

    /// Adds what is missing of the journal, as another bench does.
    fn grow(&self) {
        let there = fs::read(self.journal()).unwrap().len();
        let mut file = fs::OpenOptions::new()
            .append(true)
            .open(self.journal())
            .unwrap();
        file.write_all(&self.whole[there..]).unwrap();
    }

    fn open(&self, cache: Option<&Cache>) -> Standing {
        let (disk, shop) = (Arc::new(RealDisk), self.home.path().join("shop"));
        let keeper = Keeper::open_with(disk, shop, self.cards.clone(), cache).unwrap();
        keeper.house().standing.clone()
    }

    fn cache(&self, program: &str) -> Cache {
        Cache {
            folder: self.home.path().join("cache"),
            program: program.to_owned(),
        }
    }

    /// Opens from cache and holds the result against the file replayed.
    #[track_caller]
    fn agrees(&self, cache: &Cache) {
        let (from_page, from_file) = (self.open(Some(cache)), self.open(None));
        assert!(from_page == from_file, "a page tells something else");
    }

    /// The one page that lies there, if any.
    fn page(&self) -> Option<PathBuf> {
        let folder = fs::read_dir(self.home.path().join("cache")).ok()?.next()?;
        let mut files = fs::read_dir(folder.unwrap().path()).unwrap();
        let file = files.next().unwrap().unwrap().path();
        assert!(files.next().is_none(), "one journal, one page");
        Some(file)
    }

    /// Which file the page is: another one when it was made anew.
    fn which(&self) -> u64 {
        fs::metadata(self.page().unwrap()).unwrap().ino()
    }
}

fn hare() -> Book {
    Book::Figure("hare".to_owned())
}

#[test]
fn an_untouched_journal_is_told_from_its_page_and_a_grown_one_from_both() {
    let kept = Kept::new();
    let cache = kept.cache("this program");
    kept.cut(700);
    kept.agrees(&cache);
    let first = kept.which();
    kept.agrees(&cache);
    assert_eq!(kept.which(), first, "the page was not made anew");
    kept.grow();
    kept.agrees(&cache);
    let second = kept.which();
    kept.agrees(&cache);
    assert_eq!(kept.which(), second);
    let mode = fs::metadata(kept.page().unwrap())
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600, "only its owner reads it");
}

#[test]
fn another_program_s_page_is_none() {
    let kept = Kept::new();
    kept.cut(823);
    kept.agrees(&kept.cache("this program"));
    let first = kept.which();
    kept.agrees(&kept.cache("this program, built anew"));
    assert_ne!(kept.which(), first);
}

#[test]
fn a_journal_that_was_edited_replaced_or_cut_is_read_again() {
    let kept = Kept::new();
    let cache = kept.cache("this program");
    kept.cut(823);
    kept.agrees(&cache);
    // A word far from the end, of the same length: only the seal of all bytes can tell.
    let edited = String::from_utf8(kept.whole.clone()).unwrap();
    let edited = edited.replacen("\"by\":\"odile\"", "\"by\":\"elido\"", 1);
    fs::write(kept.journal(), edited).unwrap();
    kept.agrees(&cache);
    assert_eq!(
        kept.open(Some(&cache)).figures["hare"].jobs[0].begun.by,
        "elido"
    );
    kept.cut(500);
    kept.agrees(&cache);
    fs::remove_file(kept.journal()).unwrap();
    kept.agrees(&cache);
    assert_eq!(kept.open(Some(&cache)).figures["hare"].last_n, 0);
}

#[test]
fn a_short_journal_and_one_with_lines_that_cannot_be_read_have_no_page() {
    let kept = Kept::new();
    let cache = kept.cache("this program");
    kept.cut(50);
    kept.agrees(&cache);
    assert_eq!(kept.page(), None);
    // A sealed line without its `bench`: told at every opening, so it must be read each time.
    let text = String::from_utf8(kept.whole.clone()).unwrap();
    fs::write(
        kept.journal(),
        text.replacen("\"bench\":\"bench 1\",", "", 1),
    )
    .unwrap();
    kept.agrees(&cache);
    assert_eq!(kept.page(), None);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    /// However far the page goes, and whatever became of it, what stands is the journal.
    #[test]
    fn a_page_and_what_came_after_it_is_the_journal_replayed(
        lines in 0_usize..824, place in any::<prop::sample::Index>(), change in 0_u8..=255,
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let kept = Kept::new();
        let cache = kept.cache("this program");
        kept.cut(lines);
        kept.agrees(&cache);
        if let Some(page) = kept.page() {
            let mut bytes = fs::read(&page).unwrap();
            let place = place.index(bytes.len());
            bytes[place] ^= change;
            if let Some(cut) = cut {
                bytes.truncate(cut.index(bytes.len()));
            }
            fs::write(&page, bytes).unwrap();
        }
        kept.grow();
        kept.agrees(&cache);
    }
}
