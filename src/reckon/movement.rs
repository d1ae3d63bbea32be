//! How much a board or an open joint moves across the grain when its moisture changes.

use super::known::Known;
use super::limits::{Limits, SumTrouble};
use super::quantity::{Millimetres, Percent};
use super::woods::Wood;

/// Wood moistures between which wood moves at all: Wood Handbook, eq. 13-3, fibre saturation at 30 %.
pub const MOVING: Limits = Limits {
    quantity: "wood moisture",
    low: 0.0,
    high: 30.0,
    unit: "%",
    reason: "above fibre saturation wood no longer moves, so give 30 % for anything wetter",
};

/// Widths across the grain: our own choice, wider than any board.
pub const ACROSS: Limits = Limits {
    quantity: "width across the grain",
    low: 0.0,
    high: 10_000.0,
    unit: "mm",
    reason: "no board is wider",
};

/// Lowest wood moisture for the change coefficients, percent: Wood Handbook, eq. 13-2.
const COEFFICIENT_LOW: f64 = 6.0;
/// Highest wood moisture for the change coefficients, percent: Wood Handbook, eq. 13-2.
const COEFFICIENT_HIGH: f64 = 14.0;
/// Fibre saturation in eq. 13-3, percent: Wood Handbook.
const FIBRE_SATURATION: f64 = 30.0;

/// How the board was sawn, which says along what it moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cut {
    /// Flat-sawn: the width lies along the rings and moves most.
    Flat,
    /// Quarter-sawn: the width lies along the rays.
    Quarter,
}

/// What a piece of wood does between two moistures.
#[derive(Debug, Clone, PartialEq)]
pub struct Movement {
    /// The change of width; negative when it shrinks.
    pub change: Millimetres,
    /// By which figure, for the screen.
    pub because: String,
    /// How that figure is known.
    pub known: Known,
}

/// Returns the change of width of a piece of wood from one moisture to another.
///
/// Within 6–14 %: ΔD = D · C · (M₂ − M₁) with the printed coefficient C (eq. 13-2). Otherwise, or
/// where no coefficient is printed: ΔD = D (M₂ − M₁)/(30·100/S − 30 + M₁) with total shrinkage S
/// in percent (eq. 13-3). Negative when the wood shrinks.
///
/// Holds for 0–30 %; an average tree, straight grain, no restraint: single boards differ by a
/// third or so. Safe side: where two sources differ (mahogany) the larger movement is given.
///
/// Source: Wood Handbook, FPL-GTR-190 (2010), eq. 13-2, 13-3 (the form of both *from memory*,
/// confirmed by the coefficients that they reproduce), Tables 13-5, 4-3, 4-4; R. B. Hoadley in The
/// Structural Conservation of Panel Paintings (1998), Table 1. The handbook's example, a flat-sawn
/// board of 232 mm of white fir from 8 to 11 %, gains 1.7 mm:
///
/// ```
/// use knuckle::reckon::{Millimetres, Percent, woods::wood_called};
/// use knuckle::reckon::movement::{Cut, movement};
/// let fir = wood_called("white fir").unwrap();
/// let it = movement(fir, Millimetres(232.0), [Percent(8.0), Percent(11.0)], Cut::Flat).unwrap();
/// assert!((it.change.value() - 1.7).abs() < 0.05);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] for moisture above 30 %, for a width that is no board's, and for moisture
/// outside 6–14 % when only a coefficient is known of this wood.
pub fn movement(
    wood: &Wood,
    across: Millimetres,
    moisture: [Percent; 2],
    cut: Cut,
) -> Result<Movement, SumTrouble> {
    let width = ACROSS.hold(across.0)?;
    let [from, to] = moisture;
    let (from, to) = (MOVING.hold(from.0)?, MOVING.hold(to.0)?);
    let along = |[radial, tangential]: [f64; 2]| match cut {
        Cut::Flat => tangential,
        Cut::Quarter => radial,
    };
    let mut found: Option<Movement> = None;
    let mut offer = |change: f64, because: String| {
        if found
            .as_ref()
            .is_none_or(|it| it.change.0.abs() < change.abs())
        {
            found = Some(Movement {
                change: Millimetres(change),
                because,
                known: wood.known,
            });
        }
    };
    let by_coefficient = is_middling(from) && is_middling(to);
    if let (Some(pair), true) = (wood.coefficients, by_coefficient) {
        let c = along(pair);
        offer(
            width * c * (to - from),
            format!("{}: coefficient {c} per % (eq. 13-2)", wood.name),
        );
    }
    if wood.coefficients.is_none() || !by_coefficient || wood.sources_differ() {
        for pair in wood.shrinkages {
            let s = along(*pair);
            offer(
                width * (to - from) / (FIBRE_SATURATION * 100.0 / s - FIBRE_SATURATION + from),
                format!("{}: total shrinkage {s} % (eq. 13-3)", wood.name),
            );
        }
    }
    found.ok_or(SumTrouble::Outside {
        value: if is_middling(from) { to } else { from },
        limits: Limits {
            low: COEFFICIENT_LOW,
            high: COEFFICIENT_HIGH,
            reason: "only a coefficient is printed for this wood, and it holds there",
            ..MOVING
        },
    })
}

fn is_middling(moisture: f64) -> bool {
    (COEFFICIENT_LOW..=COEFFICIENT_HIGH).contains(&moisture)
}
