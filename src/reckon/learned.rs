//! What a shop's own record of one lot does to the times on its sheet.

use super::estimate::Estimate;
use super::quantity::Minutes;

/// One past use of the lot: what was predicted for that day, and what happened. Misses count too;
/// a record of successes only makes every lot look good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Past {
    /// The likely time that was predicted for the conditions of the day.
    pub predicted: Minutes,
    /// The time that it took.
    pub actual: Minutes,
}

/// Whether the supervisor lets this lot's own times replace its sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Consent {
    /// Not asked, or not given.
    NotYet,
    /// Given, by name, in the journal.
    Given,
}

/// How many own records it takes before a time may be more daring than the sheet. *Common
/// practice* of this program's design; no source.
pub const ENOUGH: usize = 5;

/// How many records weigh as much as the sheet: trust in the shop's own is n/(n + 4). Own choice.
const SHEET_WEIGHS: f64 = 4.0;

/// The share of cases that may turn out worse than the bound: one in ten, on either side.
const ONE_IN_TEN: f64 = 0.1;

/// Returns the sheet's estimate shifted by what this lot has done here.
///
/// rᵢ = ln(actual/predicted); k = n/(n + 4). likely · e^(k · median), early · e^(k · 10th percentile),
/// late · e^(k · 90th percentile). Median and percentiles are robust: one odd day moves them little.
/// Percentiles lie at p(n + 1), so few records give their extremes.
///
/// Safe side: what must be done before learns shorter at once, but is never longer than the sheet
/// before five records *and* the supervisor's yes; what must be waited for learns longer at once,
/// but is never shorter than the sheet before both. One lot only: another lot, an opened tin or another season
/// begins again. Records that are not positive are passed over.
///
/// Source: no published one; a shrinkage estimate of this program's own, weights as stated.
///
/// ```
/// use knuckle::reckon::{Estimate, Minutes};
/// use knuckle::reckon::learned::{Consent, Past, learned};
/// let sheet = Estimate::new(Minutes(20.0), Minutes(25.0), Minutes(30.0), "sheet");
/// let once = [Past { predicted: Minutes(25.0), actual: Minutes(12.5) }];
/// let it = learned(&sheet, &once, Consent::NotYet);
/// // One record at half the time: a fifth of the way there, on a scale of ratios.
/// assert!((it.do_before().value() - 20.0 * 0.5_f64.powf(0.2)).abs() < 1e-9);
/// assert_eq!(it.wait_until(), Minutes(30.0));
/// ```
pub fn learned(sheet: &Estimate<Minutes>, past: &[Past], consent: Consent) -> Estimate<Minutes> {
    let mut ratios: Vec<f64> = past
        .iter()
        .map(|it| (it.actual.0 / it.predicted.0).ln())
        .filter(|it| it.is_finite())
        .collect();
    ratios.sort_by(f64::total_cmp);
    let count = ratios.len();
    if count == 0 {
        return sheet.clone();
    }
    let n = u32::try_from(count).map_or(f64::MAX, f64::from);
    let trust = n / (n + SHEET_WEIGHS);
    let shift = |share: f64| (trust * percentile(&ratios, share, n)).exp();
    let mut early = sheet.do_before().0 * shift(ONE_IN_TEN);
    let mut late = sheet.wait_until().0 * shift(1.0 - ONE_IN_TEN);
    let likely = sheet.likely().0 * shift(0.5);
    let free = ENOUGH <= count && consent == Consent::Given;
    if !free {
        early = early.min(sheet.do_before().0);
        late = late.max(sheet.wait_until().0);
    }
    let kept = if free {
        ""
    } else {
        ", never more daring than the sheet yet"
    };
    // The likely value is kept between the bounds, so that sorting cannot loosen either of them.
    let likely = likely.clamp(early.min(late), late.max(early));
    Estimate::new(
        Minutes(early),
        Minutes(likely),
        Minutes(late),
        format!("{}; this lot here (n = {count}){kept}", sheet.because()),
    )
}

/// Returns the value below which this share of the sorted values lies, at place p(n + 1).
fn percentile(sorted: &[f64], share: f64, n: f64) -> f64 {
    let place = (share * (n + 1.0)).clamp(1.0, n) - 1.0;
    let between = place.fract();
    let mut from = sorted.iter().copied().zip((0_u32..).map(f64::from));
    let below = from
        .by_ref()
        .find(|it| place.floor() <= it.1)
        .map_or(0.0, |it| it.0);
    let above = from.next().map_or(below, |it| it.0);
    below + between * (above - below)
}

#[cfg(test)]
mod tests {
    use super::{Consent, Past, learned};
    use crate::reckon::{Estimate, Minutes};

    fn records(ratios: &[f64]) -> Vec<Past> {
        let one = |ratio: &f64| Past {
            predicted: Minutes(10.0),
            actual: Minutes(10.0 * ratio),
        };
        ratios.iter().map(one).collect()
    }

    fn sheet() -> Estimate<Minutes> {
        Estimate::new(Minutes(20.0), Minutes(25.0), Minutes(30.0), "sheet")
    }

    #[test]
    fn nothing_recorded_leaves_the_sheet_alone() {
        assert_eq!(learned(&sheet(), &[], Consent::Given), sheet());
        assert_eq!(learned(&sheet(), &records(&[0.0]), Consent::Given), sheet());
    }

    #[test]
    fn a_pot_life_is_never_promised_longer_before_five_records_and_a_yes() {
        let slow = [1.5; 8];
        for (count, consent, daring) in [
            (4, Consent::Given, false),
            (8, Consent::NotYet, false),
            (5, Consent::Given, true),
        ] {
            let it = learned(&sheet(), &records(&slow[..count]), consent);
            assert_eq!(
                Minutes(20.0) < it.do_before(),
                daring,
                "{count} {consent:?}"
            );
            assert!(Minutes(30.0) < it.wait_until());
        }
    }

    #[test]
    fn clamps_never_come_off_sooner_before_five_records_and_a_yes() {
        let quick = [0.6; 8];
        for (count, consent, daring) in [
            (4, Consent::Given, false),
            (8, Consent::NotYet, false),
            (5, Consent::Given, true),
        ] {
            let it = learned(&sheet(), &records(&quick[..count]), consent);
            assert_eq!(
                it.wait_until() < Minutes(30.0),
                daring,
                "{count} {consent:?}"
            );
            assert!(it.do_before() < Minutes(20.0));
        }
    }

    #[test]
    fn the_bounds_are_the_tenth_and_the_ninetieth_of_a_hundred() {
        // Nine equal steps of ln ratio: p(n + 1) = 1 and 9, so the least and the greatest, shrunk 9/13.
        let steps: Vec<f64> = (1..=9)
            .map(|it| (f64::from(it) / 10.0 - 0.5).exp())
            .collect();
        let it = learned(&sheet(), &records(&steps), Consent::Given);
        let trust = 9.0 / 13.0;
        assert!((it.do_before().0 - 20.0 * (-0.4_f64 * trust).exp()).abs() < 1e-9);
        assert!((it.likely().0 - 25.0).abs() < 1e-9);
        assert!((it.wait_until().0 - 30.0 * (0.4_f64 * trust).exp()).abs() < 1e-9);
        assert_eq!(it.because(), "sheet; this lot here (n = 9)");
    }
}
