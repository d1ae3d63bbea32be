//! Leaf: how many leaves and books a figure takes, and how much of it can be laid while the
//! size holds. Short of leaf in the middle of an ornament hurts, for another book differs in
//! shade; so counts go up and never down.

use super::count::{round_down, round_up};
use super::limits::{Limits, SumTrouble};
use super::{Estimate, Hours, Millimetres, Percent, SquareMetres};

/// Leaves in a book, for all metals of the trade (trade specification of leaf).
pub const LEAVES_PER_BOOK: f64 = 25.0;

/// Lap of one leaf over the next when nothing else is asked for (Cyclopedia of Painting, 1908,
/// pp. 159–169: an eighth of an inch, 3 mm). On broken carving 5–6 mm (*common practice*).
pub const USUAL_LAP: Millimetres = Millimetres(3.0);

/// Sides of a leaf: from a trimmed quarter to the largest bundles.
pub const SIDE: Limits = Limits {
    quantity: "side of the leaf",
    low: 20.0,
    high: 300.0,
    unit: "mm",
    reason: "no leaf is cut smaller or larger",
};

/// Areas to gild.
pub const AREA: Limits = Limits {
    quantity: "area to gild",
    low: 0.0001,
    high: 1000.0,
    unit: "m²",
    reason: "a spot is patched and more is no figure",
};

/// Laps of one leaf over the next.
pub const LAP: Limits = Limits {
    quantity: "lap",
    low: 0.0,
    high: 15.0,
    unit: "mm",
    reason: "a wider lap is a second layer",
};

/// Shares lost: flats 10 %, mouldings 15–20 %, ornament 30–50 %, deep hollows laid twice 100 %
/// (*common practice*).
pub const WASTE: Limits = Limits {
    quantity: "waste",
    low: 0.0,
    high: 200.0,
    unit: "%",
    reason: "deep hollows laid twice are 100 %",
};

/// Carved surface over the flat measure: low relief 1.15, medium 1.3, deep 1.6 (*common
/// practice*).
pub const RELIEF: Limits = Limits {
    quantity: "relief",
    low: 1.0,
    high: 3.0,
    unit: "times the flat measure",
    reason: "the deepest carving of the trade is about 1.6",
};

/// What is to be gilded, and with what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeafJob {
    /// The area as measured flat.
    pub area: SquareMetres,
    /// The side of a leaf.
    pub leaf: Millimetres,
    /// How far a leaf lies over the next.
    pub lap: Millimetres,
    /// What is lost on top.
    pub waste: Percent,
    /// Carved surface over the flat measure.
    pub relief: f64,
}

/// How much leaf a job takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeafCount {
    /// Leaves, rounded up.
    pub leaves: usize,
    /// Books, rounded up; one spare of the same lot comes on top.
    pub books: usize,
    /// Books before rounding.
    pub books_exact: f64,
}

/// Returns the leaves and books that a job takes.
///
/// Formula: leaves = area × relief × (1 + waste) / (side − lap)²; books of 25. Validity:
/// [`AREA`], [`SIDE`], [`LAP`], [`WASTE`], [`RELIEF`]. Safe side: up; keep one spare book of
/// the same lot, for shades differ. Source: own calculation of the trade; it agrees with a
/// published book of 3⅜ in that covers 1.5 ft², and 500 leaves 30 ft² "with normal laps and
/// waste" (leaf specification).
///
/// # Errors
/// [`SumTrouble::Outside`] beyond these limits.
///
/// 0.35 m² measured, relief 1.3, lap 3 mm, waste 20 %: 92.09 leaves of 80 mm, so 93 (the
/// trade's example drops the odd tenth and prints 92) in 3.7 books, so 4; or 80 of 85.7 mm:
/// ```
/// use knuckle::reckon::{count_leaves, LeafJob, Millimetres, Percent, SquareMetres};
/// let job = LeafJob {
///     area: SquareMetres(0.35),
///     leaf: Millimetres(80.0),
///     lap: Millimetres(3.0),
///     waste: Percent(20.0),
///     relief: 1.3,
/// };
/// let count = count_leaves(&job)?;
/// assert_eq!((count.leaves, count.books), (93, 4));
/// assert_eq!((count.books_exact * 10.0).round(), 37.0);
/// let larger = LeafJob { leaf: Millimetres(85.7), ..job };
/// assert_eq!(count_leaves(&larger)?.leaves, 80);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn count_leaves(job: &LeafJob) -> Result<LeafCount, SumTrouble> {
    let surface = AREA.hold(job.area.0)? * RELIEF.hold(job.relief)?;
    let book = area_per_book(job.leaf, job.lap, job.waste)?;
    let books_exact = surface / book.0;
    let (leaves, whole) = round_up(books_exact * LEAVES_PER_BOOK);
    let (books, _) = round_up(whole / LEAVES_PER_BOOK);
    Ok(LeafCount {
        leaves,
        books,
        books_exact,
    })
}

/// Returns the area that a book of 25 leaves covers.
///
/// Formula: 25 × (side − lap)² / (1 + waste). Validity and source: as [`count_leaves`]. Safe
/// side: less.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond [`SIDE`], [`LAP`], [`WASTE`].
///
/// 80 mm, lap 6 mm, 20 % waste: 0.114 m² (own table of the trade):
/// ```
/// use knuckle::reckon::{area_per_book, Millimetres, Percent};
/// let book = area_per_book(Millimetres(80.0), Millimetres(6.0), Percent(20.0))?;
/// assert_eq!((book.0 * 1000.0).round(), 114.0);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn area_per_book(
    leaf: Millimetres,
    lap: Millimetres,
    waste: Percent,
) -> Result<SquareMetres, SumTrouble> {
    let seen = SIDE.hold(leaf.0)? - LAP.hold(lap.0)?;
    let lost = 1.0 + WASTE.hold(waste.0)? / 100.0;
    Ok(SquareMetres(LEAVES_PER_BOOK * seen * seen / 1e6 / lost))
}

/// What is being gilded, by how fast it goes (*common practice*).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Flats: 80–150 leaves an hour.
    Flats,
    /// Ornament: 25–50 leaves an hour.
    Ornament,
}

impl Ground {
    /// Leaves an hour, slow and fast.
    fn pace(self) -> (f64, f64) {
        match self {
            Self::Flats => (80.0, 150.0),
            Self::Ornament => (25.0, 50.0),
        }
    }
}

/// Faulting on top of laying: 30–50 % of the laying time (*common practice*).
const FAULTING: (f64, f64) = (0.3, 0.5);

/// Returns how long laying and faulting so many leaves take.
///
/// Formula: leaves / pace × (1 + faulting); the likely bound lies midway. Safe side: late, when
/// it has to fit a leaf time. Source: pace and faulting *common practice*.
pub fn laying_time(leaves: u32, ground: Ground) -> Estimate<Hours> {
    let (slow, fast) = ground.pace();
    let leaves = f64::from(leaves);
    let early = leaves / fast * (1.0 + FAULTING.0);
    let late = leaves / slow * (1.0 + FAULTING.1);
    Estimate::new(
        Hours(early),
        Hours(f64::midpoint(early, late)),
        Hours(late),
        format!("{slow}–{fast} leaves an hour, faulting 30–50 % on top"),
    )
}

/// Returns the most leaves that a panel may have to be laid and faulted within `window`.
///
/// Formula: window × slow pace / (1 + most faulting), rounded down. Safe side: fewer. Time and
/// not leaf usually decides the size of a panel. Source: as [`laying_time`].
///
/// ```
/// use knuckle::reckon::{largest_panel, laying_time, Ground, Hours};
/// let leaves = largest_panel(Hours(3.0), Ground::Flats);
/// assert_eq!(leaves, 160);
/// assert!(laying_time(160, Ground::Flats).wait_until() <= Hours(3.0));
/// ```
pub fn largest_panel(window: Hours, ground: Ground) -> usize {
    round_down(window.0 * ground.pace().0 / (1.0 + FAULTING.1))
}
