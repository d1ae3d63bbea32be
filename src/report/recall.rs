//! Where something was used, and what was used somewhere: over every journal of a shop, by
//! looking at its bytes first and reading only what may be meant. Nothing is replayed.
//!
//! Start reading at [`Archive::of_lot`]. What the words of a question mean is in
//! `recall_words`, what the air was in `recall_air`.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::Path;

use super::needle::Needles;
use super::tell::work_of;
use crate::card::{Cards, Checklist, Figure, MaterialKind};
use crate::deed::{Deed, Line};
use crate::disk::Disk;
use crate::journal::{Damage, JournalFault, read_bytes};
use crate::shop::{book_path, in_shares, load_figure, of_a_figure};
use crate::standing::{Book, Past, Pours, Reach, Spot, lots_of, struck};

/// The fewest journals that are worth a thread of their own. Chosen here, not measured.
pub(super) const FEWEST: usize = 16;

/// Every journal of a shop, as a recall needs them.
#[derive(Debug, Clone, Copy)]
pub struct Archive<'a> {
    /// The disk.
    pub disk: &'a dyn Disk,
    /// The shop's folder.
    pub folder: &'a Path,
    /// The journals.
    pub books: &'a [Book],
    /// The cards; those of the figures are read when they are needed and may be left out.
    pub cards: &'a Cards,
}

/// One line that a recall brings back.
#[derive(Debug, Clone, PartialEq)]
pub struct Recalled {
    /// What can be reached of it.
    pub reach: Reach,
    /// Its journal.
    pub book: Book,
    /// The line.
    pub line: Line,
    /// The lots that it has to do with, each as the way from the jar up to the tin.
    pub lots: Vec<Vec<String>>,
    /// What more is known of it, in words: the air, the layer below; empty for nothing.
    pub note: String,
}

/// What a question brings back.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Found {
    /// The lines.
    pub recalled: Vec<Recalled>,
    /// How many things were laid at an hour of which no reading of the room is known, where air
    /// was asked for; they are neither in nor out.
    pub not_read: usize,
    /// How many more lines there are than were asked for.
    pub more: usize,
    /// Journals of figures that the disk did not hand out: nothing of them is in.
    pub unread: BTreeMap<Book, Damage>,
}

impl Found {
    pub(super) fn of(shares: Vec<Result<Self, JournalFault>>) -> Result<Self, JournalFault> {
        let mut all = Self::default();
        for share in shares {
            let share = share?;
            all.recalled.extend(share.recalled);
            all.not_read += share.not_read;
            all.unread.extend(share.unread);
        }
        Ok(all)
    }
}

/// Lots of the shop: which material each is of, and how jars were filled.
#[derive(Debug)]
pub(super) struct Shelf<'a> {
    cards: &'a Cards,
    pours: Pours,
    materials: BTreeMap<String, (String, MaterialKind)>,
    /// Lines of the shop's journal about lots, struck ones left out.
    lines: Vec<Line>,
}

impl Shelf<'_> {
    pub(super) fn material_of(&self, lot: &str) -> Option<(String, MaterialKind)> {
        self.materials.get(lot).cloned()
    }

    /// The kinds of material of which a line picks a lot; none of a line that does anything else.
    pub(super) fn picked(&self, line: &Line) -> Vec<MaterialKind> {
        if !matches!(line.deed, Deed::Recorded(_)) {
            return Vec::new();
        }
        let lots = lots_of(line, self.cards).into_iter();
        let kinds = lots.filter_map(|lot| Some(self.materials.get(lot)?.1));
        kinds.collect()
    }
}

/// One figure's journal, what has come over its parts, and its card.
pub(super) struct OneFigure {
    pub(super) card: Option<Figure>,
    pub(super) past: Past,
    pub(super) struck: BTreeSet<u64>,
}

impl OneFigure {
    /// Returns what of the shop's own journal counts in this way: only what was struck.
    pub(super) fn of_shop(bytes: &[u8]) -> Self {
        Self {
            card: None,
            past: Past::default(),
            struck: struck_in(bytes),
        }
    }

    pub(super) fn spot(&self, line: &Line) -> Spot {
        let target = work_of(&line.deed).and_then(|work| work.target.as_deref());
        Spot::of(self.card.as_ref(), target)
    }
}

impl<'a> Archive<'a> {
    /// Returns every use of a lot or jar and of all jars filled from it: what can still be
    /// reached first, then what is covered, what has gone out, what is stripped off, and the
    /// tin itself; the newest first in each. Empty when no line names it.
    ///
    /// # Errors
    /// [`JournalFault`] when the shop's own journal is there and cannot be read.
    pub fn of_lot(&self, lot: &str) -> Result<Found, JournalFault> {
        let ledger = self.shelf()?;
        let names = ledger.pours.below(lot);
        let needles = Needles::values(names.iter().map(String::as_str));
        let shares = in_shares(self.books, FEWEST, |books| {
            self.lot_in(books, (&names, &needles), &ledger)
        });
        let mut found = Found::of(shares)?;
        found.recalled.extend(on_shelf(&ledger, &names));
        for one in &mut found.recalled {
            one.lots
                .retain(|way| way.first().is_some_and(|lot| names.contains(lot)));
        }
        sort(&mut found.recalled);
        Ok(found)
    }

    /// Returns the bytes of a journal; `None` of a figure's that the disk does not hand out, which
    /// is noted in `unread`, so that one figure's fault keeps nobody from the others.
    pub(super) fn bytes(
        &self,
        book: &Book,
        unread: &mut BTreeMap<Book, Damage>,
    ) -> Result<Option<Vec<u8>>, JournalFault> {
        match read_bytes(self.disk, &book_path(self.folder, book)) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(fault) => {
                unread.insert(book.clone(), of_a_figure(book, fault)?);
                Ok(None)
            }
        }
    }

    fn lot_in(
        &self,
        books: &[Book],
        (names, needles): (&BTreeSet<String>, &Needles),
        ledger: &Shelf<'_>,
    ) -> Result<Found, JournalFault> {
        let is_meant = |line: &Line| {
            let lots = lots_of(line, self.cards);
            lots.iter().any(|lot| names.contains(*lot))
        };
        let mut found = Found::default();
        for (book, figure) in figures(books) {
            let Some(bytes) = self.bytes(book, &mut found.unread)? else {
                continue;
            };
            let lines = needles.lines_in(&bytes);
            let Some(first) = lines.first().map(|line| line.start) else {
                continue;
            };
            let mut used = read(&bytes, &lines);
            used.retain(is_meant);
            let one = self.look_at(figure, bytes.get(first..).unwrap_or_default(), ledger);
            used.retain(|line| !one.struck.contains(&line.n));
            found
                .recalled
                .extend(recalled_uses(book, used, (&one, ledger)));
        }
        Ok(found)
    }

    /// Returns everything that touched a figure, or one zone, joint or panel of it, back to
    /// the tins that it came from, in the order of [`Archive::of_lot`].
    ///
    /// # Errors
    /// [`JournalFault`] when the journal of the figure or of the shop is there and cannot be read.
    pub fn of_figure(
        &self,
        figure: &str,
        zone: Option<&str>,
    ) -> Result<Vec<Recalled>, JournalFault> {
        let ledger = self.shelf()?;
        let book = Book::Figure(figure.to_owned());
        let bytes = read_bytes(self.disk, &book_path(self.folder, &book))?;
        let one = self.look_at(figure, &bytes, &ledger);
        let mut used = read(&bytes, &Needles::new([""]).lines_in(&bytes));
        // What lies under a panel was laid on its whole zone.
        let panels = one.card.iter().flat_map(|card| &card.panels);
        let mut panels = panels.filter(|panel| Some(panel.id.as_str()) == zone);
        let under = panels.next().map(|panel| Spot::Zone(panel.zone.clone()));
        used.retain(|line| {
            let spot = one.spot(line);
            let is_under = under.as_ref().is_some_and(|under| *under == spot);
            let here = is_under || zone.is_none_or(|zone| spot.touches(zone));
            let counts = here && !one.struck.contains(&line.n);
            counts && !lots_of(line, self.cards).is_empty()
        });
        let mut all = recalled_uses(&book, used, (&one, &ledger));
        let mut names = BTreeSet::new();
        for lot in all.iter().flat_map(|one| lots_of(&one.line, self.cards)) {
            names.extend(ledger.pours.above(lot));
        }
        all.extend(on_shelf(&ledger, &names));
        sort(&mut all);
        Ok(all)
    }

    /// Returns the lots and jars that cards and the shop's journal know, by name.
    ///
    /// # Errors
    /// As [`Archive::of_lot`].
    pub fn known_lots(&self) -> Result<Vec<String>, JournalFault> {
        let ledger = self.shelf()?;
        Ok(ledger.materials.into_keys().collect())
    }

    /// Reads what the shop's journal says about lots.
    pub(super) fn shelf(&self) -> Result<Shelf<'a>, JournalFault> {
        let bytes = read_bytes(self.disk, &book_path(self.folder, &Book::Shop))?;
        let about = Needles::new([
            r#""deed":"lot_opened""#,
            r#""deed":"lot_decanted""#,
            r#""deed":"struck""#,
        ]);
        let mut lines = read(&bytes, &about.lines_in(&bytes));
        let struck = struck(&lines);
        lines.retain(|line| !struck.contains(&line.n) && !matches!(line.deed, Deed::Struck(_)));
        let mut materials = BTreeMap::new();
        for card in self.cards.materials.values() {
            for lot in &card.lots {
                materials.insert(lot.lot.clone(), (card.id.clone(), card.kind));
            }
        }
        for line in &lines {
            let (name, material) = match &line.deed {
                Deed::LotOpened(deed) => (&deed.lot, (deed.material.clone(), deed.kind)),
                Deed::LotDecanted(deed) => {
                    let card = self.cards.materials.get(&deed.material);
                    let kind = card.map_or(MaterialKind::Other, |card| card.kind);
                    (&deed.into, (deed.material.clone(), kind))
                }
                _ => continue,
            };
            materials.insert(name.clone(), material);
        }
        Ok(Shelf {
            cards: self.cards,
            pours: Pours::of(&lines),
            materials,
            lines,
        })
    }

    /// Reads from a figure's journal, or the end of it, what may have come over its parts.
    pub(super) fn look_at(&self, figure: &str, bytes: &[u8], ledger: &Shelf<'_>) -> OneFigure {
        let lots = self.lot_records();
        let records = lots.iter().map(|record| format!(r#""record":"{record}""#));
        let deeds = [r#""coat":{"#, r#""deed":"mixed""#, r#""deed":"struck""#];
        let ends = [
            r#""deed":"finished","operation":"hand-over""#,
            r#""deed":"finished","operation":"strip""#,
        ];
        let begins = [r#""deed":"begun","operation":"receive""#];
        let fixed = deeds.into_iter().chain(ends).chain(begins);
        let needles = Needles::new(fixed.map(str::to_owned).chain(records));
        let lines = read(bytes, &needles.lines_in(bytes));
        let struck = struck(&lines);
        let card = load_figure(self.disk, self.folder, figure);
        let mut past = Past::default();
        let material_of = |lot: &str| ledger.material_of(lot);
        for line in lines.iter().filter(|line| !struck.contains(&line.n)) {
            past.take(line, card.as_ref(), (self.cards, &material_of));
        }
        OneFigure { card, past, struck }
    }

    /// The ids of records under which lots are taken down.
    pub(super) fn lot_records(&self) -> BTreeSet<&str> {
        let lists = self.cards.checklists.values();
        let steps = lists.flat_map(Checklist::all_steps);
        let records = steps.flat_map(|step| &step.record);
        records
            .filter(|record| record.lot.is_some())
            .map(|record| record.id.as_str())
            .collect()
    }
}

/// Returns the numbers of the lines of a journal that were struck.
pub(super) fn struck_in(bytes: &[u8]) -> BTreeSet<u64> {
    let lines = Needles::new([r#""deed":"struck""#]).lines_in(bytes);
    struck(&read(bytes, &lines))
}

/// Returns the figures among some books.
pub(super) fn figures(books: &[Book]) -> impl Iterator<Item = (&Book, &str)> {
    books.iter().filter_map(|book| match book {
        Book::Shop => None,
        Book::Figure(id) => Some((book, id.as_str())),
    })
}

/// Returns lines read from their places; what is no line is left out, the audit tells of it.
pub(super) fn read(bytes: &[u8], lines: &[Range<usize>]) -> Vec<Line> {
    lines
        .iter()
        .filter_map(|line| {
            let text = std::str::from_utf8(bytes.get(line.clone())?).ok()?;
            Line::read(text).ok()
        })
        .collect()
}

/// Leaves out where a lot was picked for something that was then mixed or laid with it.
pub(super) fn taken_once(lines: Vec<Line>, cards: &Cards) -> Vec<Line> {
    let lots = |line: &Line| -> Vec<String> {
        lots_of(line, cards)
            .into_iter()
            .map(str::to_owned)
            .collect()
    };
    let laid: Vec<_> = lines
        .iter()
        .filter(|line| matches!(line.deed, Deed::Mixed(_) | Deed::Done(_)))
        .filter_map(|line| Some((work_of(&line.deed)?.clone(), lots(line))))
        .collect();
    let mut lines = lines;
    lines.retain(|line| {
        let (Deed::Recorded(deed), own) = (&line.deed, lots(line)) else {
            return true;
        };
        let is_same = |(work, used): &(_, Vec<String>)| {
            *work == deed.work && own.iter().all(|lot| used.contains(lot))
        };
        !laid.iter().any(is_same)
    });
    lines
}

/// Returns lines of one figure with what can be reached of each and where its lots came from.
pub(super) fn recalled(
    book: &Book,
    lines: Vec<Line>,
    (one, ledger): (&OneFigure, &Shelf<'_>),
) -> Vec<Recalled> {
    let lines = lines.into_iter();
    lines
        .map(|line| Recalled {
            reach: one.past.reach(line.n, &one.spot(&line)),
            book: book.clone(),
            lots: ways(&line, ledger),
            line,
            note: String::new(),
        })
        .collect()
}

/// As [`recalled`], of all uses of a figure: of what is mixed before it is laid a pick tells only
/// where no mix came of it, and then it touched the tin alone.
fn recalled_uses(
    book: &Book,
    used: Vec<Line>,
    (one, ledger): (&OneFigure, &Shelf<'_>),
) -> Vec<Recalled> {
    let used = taken_once(used, ledger.cards);
    let mut all = recalled(book, used, (one, ledger));
    for use_of in &mut all {
        if ledger.picked(&use_of.line).contains(&MaterialKind::Epoxy) {
            use_of.reach = Reach::OnShelf;
            PICKED.clone_into(&mut use_of.note);
        }
    }
    all
}

/// What is said of a tin that was picked for a mix which never came, or was thrown away.
const PICKED: &str = "picked, no cup of it mixed";

/// The lots in a line, each with its way up to the tin.
fn ways(line: &Line, ledger: &Shelf<'_>) -> Vec<Vec<String>> {
    let lots = lots_of(line, ledger.cards);
    let lots = lots.into_iter().filter(|lot| !lot.is_empty());
    lots.map(|lot| ledger.pours.way_up(lot)).collect()
}

/// Returns the lines of the shop's journal about these lots.
fn on_shelf(ledger: &Shelf<'_>, names: &BTreeSet<String>) -> Vec<Recalled> {
    let about = |line: &&Line| {
        let lots = lots_of(line, ledger.cards);
        lots.iter().any(|lot| names.contains(*lot))
    };
    let lines = ledger.lines.iter().filter(about);
    lines
        .map(|line| Recalled {
            reach: Reach::OnShelf,
            book: Book::Shop,
            line: line.clone(),
            lots: match &line.deed {
                Deed::LotDecanted(deed) => vec![ledger.pours.way_up(&deed.into)],
                _ => ways(line, ledger),
            },
            note: String::new(),
        })
        .collect()
}

/// Sorts by what can be reached, the newest first in each group.
pub(super) fn sort(all: &mut [Recalled]) {
    all.sort_by(|a, b| {
        let place = |one: &Recalled| group(one.reach).0;
        let newest = b.line.at.cmp(&a.line.at).then(b.line.n.cmp(&a.line.n));
        place(a).cmp(&place(b)).then(newest)
    });
}

/// Returns the place of a group in the order of a recall, its word for programs and its
/// words on a page.
pub fn group(reach: Reach) -> (u8, &'static str, &'static str) {
    match reach {
        Reach::Reachable => (0, "reachable", "still reachable"),
        Reach::Covered(_) => (1, "covered", "covered by a later layer"),
        Reach::GoneOut(_) => (2, "gone_out", "gone out of the house"),
        Reach::Stripped(_) => (3, "stripped", "stripped off since"),
        Reach::OnShelf => (4, "shelf", "the tin itself"),
    }
}
