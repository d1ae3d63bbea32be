//! Chance without surprise: numbers that look random and are the same for the same seed, and
//! the durations that are drawn with them. Nothing here asks the machine for randomness.

/// Returns an evenly spread number from 0 up to, not with, 1, which depends on nothing but the
/// three given.
///
/// The mixing function of `SplitMix64` (G. Steele, D. Lea, C. Flood, Fast splittable
/// pseudorandom number generators, OOPSLA 2014, figure 16) over a counter, so that one draw
/// never depends on how many came before it: a changed shop meets the same luck.
pub(super) fn draw(seed: u64, run: u64, cause: u64) -> f64 {
    even(mix(mix(mix(seed).wrapping_add(run)).wrapping_add(cause)))
}

/// A row of numbers for the search for a better order.
#[derive(Debug, Clone)]
pub(super) struct Dice(u64);

/// Odd constant of the golden ratio, 2⁶⁴/φ (as above, figure 16).
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(GOLDEN);
        stir(self.0)
    }

    /// Returns a number from 0 up to, not with, 1.
    pub(super) fn share(&mut self) -> f64 {
        even(self.next())
    }

    /// Returns a number below `of`; 0 when that is 0.
    pub(super) fn below(&mut self, of: usize) -> usize {
        let of = u64::try_from(of).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.next() % of).unwrap_or_default()
    }
}

fn mix(of: u64) -> u64 {
    stir(of.wrapping_add(GOLDEN))
}

fn stir(mut of: u64) -> u64 {
    of = (of ^ (of >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    of = (of ^ (of >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    of ^ (of >> 31)
}

/// The upper 53 bits as a share: as many as a double holds exactly.
fn even(of: u64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit in a double")]
    let upper = (of >> 11) as f64;
    upper / 9_007_199_254_740_992.0
}

/// Returns a number that stands for a name, the same in every run (FNV-1a, 64 bits;
/// draft-eastlake-fnv).
pub(super) fn name(of: &str) -> u64 {
    of.bytes().fold(0xcbf2_9ce4_8422_2325, |sum, byte| {
        (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Returns the value below which a share `u` of a triangular distribution lies.
///
/// The inverse of its distribution function between `early` and `late` with its peak at
/// `likely` (D. Johnson, The triangular distribution as a proxy for the beta distribution in
/// risk analysis, The Statistician 46, 1997). All equal gives that value.
pub(super) fn triangular([early, likely, late]: [f64; 3], u: f64) -> f64 {
    let whole = late - early;
    if whole <= 0.0 {
        return likely;
    }
    let peak = (likely - early) / whole;
    if u < peak {
        early + (u * whole * (likely - early)).sqrt()
    } else {
        late - ((1.0 - u) * whole * (late - likely)).sqrt()
    }
}

/// Returns the value below which a share `u` of what was seen lies, between two values in
/// proportion; `sorted` is in order and not empty, else the answer is 1.
pub(super) fn seen(sorted: &[f64], u: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return 1.0;
    };
    let spot = u * f64::from(u32::try_from(last).unwrap_or(u32::MAX));
    let low = sorted.get(whole(spot)).copied();
    let high = sorted.get(whole(spot) + 1).copied();
    match (low, high) {
        (Some(low), Some(high)) => low + (high - low) * spot.fract(),
        (Some(low), None) => low,
        (None, _) => sorted.last().copied().unwrap_or(1.0),
    }
}

fn whole(spot: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a short list, cut to its whole part"
    )]
    let whole = spot.max(0.0) as usize;
    whole
}

#[cfg(test)]
mod tests {
    use super::{Dice, draw, seen, triangular};

    #[test]
    fn the_row_of_numbers_is_the_published_one() {
        // SplitMix64 from 1234567: the first outputs of the public-domain reference program
        // by S. Vigna (splitmix64.c, 2015), as repeated in several test suites.
        let mut dice = Dice::new(1_234_567);
        assert_eq!(dice.next(), 6_457_827_717_110_365_317);
        assert_eq!(dice.next(), 3_203_168_211_198_807_973);
    }

    #[test]
    fn draws_are_even_and_repeat() {
        let mean = (0..10_000).map(|run| draw(7, run, 3)).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.01, "{mean}");
        assert_eq!(draw(7, 1, 2).to_bits(), draw(7, 1, 2).to_bits());
        assert_ne!(draw(7, 1, 2).to_bits(), draw(7, 2, 1).to_bits());
    }

    #[test]
    fn triangular_draws_have_the_published_mean() {
        // Mean (a + m + b) / 3 and variance (a² + m² + b² − ab − am − bm) / 18 (Johnson 1997).
        let all: Vec<f64> = (0..20_000)
            .map(|run| triangular([2.0, 3.0, 10.0], draw(1, run, 1)))
            .collect();
        let mean = all.iter().sum::<f64>() / 20_000.0;
        let spread = all.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / 20_000.0;
        assert!((mean - 5.0).abs() < 0.05, "{mean}");
        assert!((spread - 57.0 / 18.0).abs() < 0.1, "{spread}");
        assert!(all.iter().all(|it| 2.0 <= *it && *it <= 10.0));
        assert_eq!(triangular([4.0; 3], 0.9).to_bits(), 4.0_f64.to_bits());
    }

    #[test]
    fn what_was_seen_is_read_between_its_values() {
        assert!((seen(&[1.0, 2.0, 4.0], 0.75) - 3.0).abs() < 1e-12);
        assert!((seen(&[1.0, 2.0, 4.0], 1.0) - 4.0).abs() < 1e-12);
        assert!((seen(&[], 0.5) - 1.0).abs() < 1e-12);
    }
}
