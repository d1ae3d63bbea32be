//! A batch of two-part resin: grams for each cup, whether the balance can weigh it, and what
//! to do when a cup was poured wrong. By weight always; a ratio by volume is turned into one by
//! weight first, for the two differ for the same system.

use super::count::round_up;
use super::limits::{Limits, SumTrouble};
use super::{Grams, GramsPerMillilitre, Percent};

/// Ratios of hardener to resin by weight.
pub const RATIO: Limits = Limits {
    quantity: "parts of hardener to one of resin by weight",
    low: 0.01,
    high: 10.0,
    unit: "parts",
    reason: "no two-part resin of the trade lies beyond",
};

/// Densities of resins and hardeners, filled or not.
pub const DENSITY: Limits = Limits {
    quantity: "density",
    low: 0.7,
    high: 3.0,
    unit: "g/ml",
    reason: "resins and hardeners lie within it",
};

/// Grams that are mixed in one go.
pub const NEED: Limits = Limits {
    quantity: "grams to mix",
    low: 0.1,
    high: 20_000.0,
    unit: "g",
    reason: "less cannot be weighed and more is no bench batch",
};

/// Grams that may stand in a cup when it is weighed.
pub const POURED: Limits = Limits {
    quantity: "grams poured",
    low: 0.01,
    high: 20_000.0,
    unit: "g",
    reason: "less cannot be weighed and more is no bench batch",
};

/// Readabilities of balances.
pub const BALANCE: Limits = Limits {
    quantity: "readability of the balance",
    low: 0.0001,
    high: 100.0,
    unit: "g",
    reason: "bench balances read within it",
};

/// The most for one cup when nothing else is asked for: the largest cup in the trade's printed
/// table of pot lives. Above it, cups are started one by one, never one big one.
pub const LARGEST_CUP: Grams = Grams(400.0);

/// Hardener off by no more than this is good (*common practice*).
pub const GOOD_WITHIN: Percent = Percent(2.0);

/// Hardener off by more than this is rejected: about 5 % can leave unreacted material (trade
/// pages on mix ratios, weak evidence; the limit is *common practice*).
pub const REJECT_ABOVE: Percent = Percent(5.0);

/// A share this near to a limit counts as on it, so that 100 g and 47.25 g at 100:45 are 5 %.
const ON_THE_LIMIT: f64 = 1e-9;

/// How much hardener goes to the resin, by weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixRatio {
    hardener: f64,
}

impl MixRatio {
    /// Returns the ratio of `resin` to `hardener` parts by weight.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] beyond [`RATIO`].
    pub fn by_weight(resin: f64, hardener: f64) -> Result<Self, SumTrouble> {
        Ok(Self {
            hardener: RATIO.hold(hardener / resin)?,
        })
    }

    /// Returns the ratio by weight of a ratio by volume, from the densities of its two parts.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] beyond [`RATIO`] or [`DENSITY`].
    ///
    /// 2:1 by volume is about 100:44 to 100:47 by weight for the usual densities (trade page):
    /// ```
    /// use knuckle::reckon::{GramsPerMillilitre, MixRatio};
    /// let ratio = MixRatio::by_volume(
    ///     (2.0, GramsPerMillilitre(1.15)),
    ///     (1.0, GramsPerMillilitre(1.03)),
    /// )?;
    /// assert!(44.0 <= ratio.hardener_to_100() && ratio.hardener_to_100() <= 47.0);
    /// # Ok::<(), knuckle::reckon::SumTrouble>(())
    /// ```
    pub fn by_volume(
        resin: (f64, GramsPerMillilitre),
        hardener: (f64, GramsPerMillilitre),
    ) -> Result<Self, SumTrouble> {
        let (a, b) = (DENSITY.hold(resin.1.0)?, DENSITY.hold(hardener.1.0)?);
        Self::by_weight(resin.0 * a, hardener.0 * b)
    }

    /// Returns the grams of hardener to 100 g of resin.
    pub fn hardener_to_100(self) -> f64 {
        self.hardener * 100.0
    }

    /// Returns the smallest batch that a balance weighs within [`GOOD_WITHIN`].
    ///
    /// Formula: the smaller part must be at least the balance's readability / 2 %. Rounding
    /// alone is half a step; a balance in use may be off by a whole one (OIML R 76-1:2006, 3.5.1
    /// and 3.5.2, class III up to 500 steps: half a step when verified, twice that in service;
    /// from memory), so a whole step is reckoned with. Safe side: larger for the ratio. It is
    /// not so for the heat: what is larger goes off sooner, so whoever offers the batch
    /// reckons its pot life from these grams and not from those needed.
    ///
    /// # Errors
    /// [`SumTrouble::Outside`] beyond [`BALANCE`].
    ///
    /// At 100:45 about 16 g on a 0.1 g balance and 160 g on a 1 g one:
    /// ```
    /// use knuckle::reckon::{Grams, MixRatio};
    /// let ratio = MixRatio::by_weight(100.0, 45.0)?;
    /// assert_eq!(ratio.smallest_honest(Grams(0.1))?.0.round(), 16.0);
    /// assert!((ratio.smallest_honest(Grams(1.0))?.0 - 160.0).abs() < 2.0);
    /// # Ok::<(), knuckle::reckon::SumTrouble>(())
    /// ```
    pub fn smallest_honest(self, balance: Grams) -> Result<Grams, SumTrouble> {
        let smaller = self.hardener.min(1.0) / (1.0 + self.hardener);
        Ok(Grams(
            BALANCE.hold(balance.0)? / (GOOD_WITHIN.0 / 100.0) / smaller,
        ))
    }
}

/// A batch as it is weighed out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// Resin in all.
    pub resin: Grams,
    /// Hardener in all.
    pub hardener: Grams,
    /// Into how many cups it is split, started one by one.
    pub cups: usize,
    /// Resin in one cup.
    pub cup_resin: Grams,
    /// Hardener in one cup.
    pub cup_hardener: Grams,
}

/// Returns what to weigh out for `need` grams in cups of at most `cup` grams.
///
/// Formula: the shares of the ratio; as few equal cups as hold it. Validity: [`NEED`]. Safe
/// side: more cups. Source: *common practice*; a large mass heats itself and goes off early.
///
/// # Errors
/// [`SumTrouble::Outside`] beyond [`NEED`], for the cup as well.
///
/// 20 g at 100:45 are 13.8 g and 6.2 g (own example of the trade):
/// ```
/// use knuckle::reckon::{split_batch, Grams, MixRatio};
/// let batch = split_batch(Grams(20.0), MixRatio::by_weight(100.0, 45.0)?, Grams(400.0))?;
/// assert_eq!((batch.hardener.0 * 10.0).round(), 62.0);
/// assert_eq!((batch.resin.0 * 10.0).round(), 138.0);
/// assert_eq!(batch.cups, 1);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn split_batch(need: Grams, ratio: MixRatio, cup: Grams) -> Result<Batch, SumTrouble> {
    let need = NEED.hold(need.0)?;
    let (cups, equal) = round_up(need / NEED.hold(cup.0)?);
    let resin = need / (1.0 + ratio.hardener);
    let hardener = need - resin;
    Ok(Batch {
        resin: Grams(resin),
        hardener: Grams(hardener),
        cups,
        cup_resin: Grams(resin / equal),
        cup_hardener: Grams(hardener / equal),
    })
}

/// What is said of a cup as it was poured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within 2 %: stir.
    Good,
    /// Within 5 %: put it right before stirring.
    Amber,
    /// More than 5 % off: never use it as it is.
    Reject,
}

impl Verdict {
    /// Returns the verdict's word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Amber => "amber",
            Self::Reject => "reject",
        }
    }
}

/// How far a poured cup is off and what would put it right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// Hardener against what the resin asks for: above 0 too much, below 0 too little.
    pub off: Percent,
    /// What is said of it.
    pub verdict: Verdict,
    /// Resin to add for the exact ratio; 0 unless there is too much hardener.
    pub add_resin: Grams,
    /// Hardener to add for the exact ratio; 0 unless there is too little.
    pub add_hardener: Grams,
    /// Whether the cup can be put right within its limit; when not, nothing is to be added.
    pub is_saved: bool,
}

/// Returns what is to be said of a cup with these grams in it, and what to add to it.
///
/// Formula: off = hardener / (resin × ratio) − 1; the part that is short is brought up, never
/// the other taken out. What would lift the cup over `cup` grams is not saved: it goes off in
/// the hand. Only before stirring and at once; a stirred cup is put outside. Validity:
/// [`POURED`]. More hardener never speeds a resin up, it weakens it (trade page). Source:
/// limits *common practice*, see [`GOOD_WITHIN`] and [`REJECT_ABOVE`].
///
/// # Errors
/// [`SumTrouble::Outside`] beyond [`POURED`].
///
/// ```
/// use knuckle::reckon::{correct, Grams, MixRatio, Verdict};
/// let ratio = MixRatio::by_weight(100.0, 45.0)?;
/// let cup = correct(ratio, (Grams(100.0), Grams(47.7)), Grams(400.0))?;
/// assert!((cup.off.0 - 6.0).abs() < 1e-9);
/// assert_eq!(cup.verdict, Verdict::Reject);
/// assert!((cup.add_resin.0 - 6.0).abs() < 1e-9);
/// assert_eq!(cup.add_hardener, Grams(0.0));
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn correct(
    ratio: MixRatio,
    (resin, hardener): (Grams, Grams),
    cup: Grams,
) -> Result<Correction, SumTrouble> {
    let (resin, hardener) = (POURED.hold(resin.0)?, POURED.hold(hardener.0)?);
    let off = 100.0 * (hardener / (resin * ratio.hardener) - 1.0);
    let verdict = if off.abs() <= GOOD_WITHIN.0 + ON_THE_LIMIT {
        Verdict::Good
    } else if off.abs() <= REJECT_ABOVE.0 + ON_THE_LIMIT {
        Verdict::Amber
    } else {
        Verdict::Reject
    };
    let more_resin = (hardener / ratio.hardener - resin).max(0.0);
    let more_hardener = (resin * ratio.hardener - hardener).max(0.0);
    let is_saved = resin + hardener + more_resin + more_hardener <= cup.0 + ON_THE_LIMIT;
    let added = |grams: f64| Grams(if is_saved { grams } else { 0.0 });
    Ok(Correction {
        off: Percent(off),
        verdict,
        add_resin: added(more_resin),
        add_hardener: added(more_hardener),
        is_saved,
    })
}

#[cfg(test)]
mod tests {
    use super::{LARGEST_CUP, MixRatio, Verdict, correct, split_batch};
    use crate::reckon::Grams;

    #[test]
    fn the_verdict_changes_at_two_and_at_five_percent_on_both_sides() {
        let ratio = MixRatio::by_weight(100.0, 45.0).unwrap();
        for (hardener, verdict) in [
            (45.0, Verdict::Good),
            (45.9, Verdict::Good),
            (44.1, Verdict::Good),
            (45.95, Verdict::Amber),
            (47.25, Verdict::Amber),
            (42.75, Verdict::Amber),
            (47.3, Verdict::Reject),
            (42.7, Verdict::Reject),
        ] {
            let cup = correct(ratio, (Grams(100.0), Grams(hardener)), LARGEST_CUP).unwrap();
            assert_eq!(cup.verdict, verdict, "{hardener} g");
        }
    }

    #[test]
    fn what_does_not_fit_the_cup_is_not_saved() {
        let ratio = MixRatio::by_weight(100.0, 45.0).unwrap();
        let cup = correct(ratio, (Grams(100.0), Grams(150.0)), LARGEST_CUP).unwrap();
        assert!(!cup.is_saved);
        assert_eq!((cup.add_resin, cup.add_hardener), (Grams(0.0), Grams(0.0)));
    }

    #[test]
    fn a_large_need_is_split_into_equal_cups() {
        let ratio = MixRatio::by_weight(2.0, 1.0).unwrap();
        let batch = split_batch(Grams(900.0), ratio, LARGEST_CUP).unwrap();
        assert_eq!(batch.cups, 3);
        assert!((batch.cup_resin.0 - 200.0).abs() < 1e-9);
        assert!((batch.cup_hardener.0 - 100.0).abs() < 1e-9);
        assert_eq!(
            split_batch(Grams(800.0), ratio, LARGEST_CUP).unwrap().cups,
            2
        );
    }

    #[test]
    fn it_refuses_a_ratio_without_parts() {
        assert!(MixRatio::by_weight(0.0, 1.0).is_err());
        assert!(MixRatio::by_weight(1.0, 0.0).is_err());
        assert!(MixRatio::by_weight(f64::NAN, 1.0).is_err());
    }
}
