//! What one panel asks of a gilder: leaves, books, how long the size takes to lay and how long
//! the leaf. All of it on the long side, for it has to fit between ready and dead.

use crate::card::{Cards, Panel};
use crate::reckon::{Hours, LeafPlace, count_leaves, laying_time};
use crate::standing::leaf_job;

/// What one panel asks.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Panel id.
    pub panel: String,
    /// Name as a person says it.
    pub name: String,
    /// Leaves, rounded up.
    pub leaves: usize,
    /// Books, rounded up; one spare of the same lot comes on top.
    pub books: usize,
    /// Whether it has hollows, where size stays wet longest.
    pub hollows: bool,
    /// Laying the size, minutes.
    pub sizing_min: f64,
    /// Laying and faulting the leaf by one pair of hands, minutes.
    pub laying_min: f64,
}

/// Up to this surface factor a panel has no hollows (*common practice*: a flat is 1.0).
const FLAT_RELIEF: f64 = 1.0;

/// How much surface is sized in an hour, m², carving followed (own judgement, slow end; no
/// source).
const SIZING_M2_PER_H: f64 = 0.5;

/// The least time for one panel of size, minutes (own judgement).
const SIZING_LEAST_MIN: f64 = 5.0;

impl Piece {
    /// Returns what a panel asks. `leaves_per_h` is a pace known of this gilder, faulting
    /// included; without it the slow end of the trade's pace counts.
    ///
    /// # Errors
    /// One line when the card does not say enough.
    pub fn of(cards: &Cards, panel: &Panel, leaves_per_h: Option<f64>) -> Result<Self, String> {
        if panel.area_m2 <= 0.0 {
            return Err("its area is not on the card: measure it".to_owned());
        }
        let leaf = cards.materials.get(&panel.leaf);
        let Some((leaf, side)) = leaf.and_then(|leaf| Some((leaf, leaf.leaf_mm?))) else {
            return Err(format!(
                "the side of its leaf `{}` is not known",
                panel.leaf
            ));
        };
        let (job, ground) = leaf_job(panel, side);
        let count = count_leaves(&job).map_err(|trouble| trouble.to_string())?;
        let sheets = u32::try_from(count.leaves).unwrap_or(u32::MAX);
        let slow = laying_time(sheets, ground).wait_until();
        let laying = match leaves_per_h.filter(|pace| 0.0 < *pace) {
            Some(pace) => Hours(f64::from(sheets) / pace),
            None => slow,
        };
        let book = leaf.leaves_per_book.filter(|book| 0 < *book);
        let books = book.map_or(count.books, |book| {
            usize::try_from(sheets.div_ceil(book)).unwrap_or(count.books)
        });
        let surface = panel.carved_area_m2();
        Ok(Self {
            panel: panel.id.clone(),
            name: panel.name.clone(),
            leaves: count.leaves,
            books,
            hollows: FLAT_RELIEF < panel.relief,
            sizing_min: (surface / SIZING_M2_PER_H * 60.0).max(SIZING_LEAST_MIN),
            laying_min: laying.0 * 60.0,
        })
    }

    /// Returns where on the panel the size comes last.
    pub(super) fn last_place(&self) -> LeafPlace {
        if self.hollows {
            LeafPlace::Hollow
        } else {
            LeafPlace::Flat
        }
    }
}
