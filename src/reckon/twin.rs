//! Numbers of twice the usual precision, kept as a pair whose sum they are.
//!
//! Least squares on ill-matched columns (year, thousands, millions) loses half of all digits; with
//! some 31 of them at hand, enough are left. Source of the steps: T. J. Dekker, Numer. Math. 18
//! (1971) 224–242, *from memory*; the certified fits in the tests prove them.

use std::ops::{Add, Div, Mul, Sub};

/// A number as `high + low`, `low` at most half a last place of `high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Twin {
    high: f64,
    low: f64,
}

impl Twin {
    /// Nothing; where a sum begins.
    pub(super) const NOUGHT: Self = Self::of(0.0);

    pub(super) const fn of(value: f64) -> Self {
        Self {
            high: value,
            low: 0.0,
        }
    }

    pub(super) fn rounded(self) -> f64 {
        self.high + self.low
    }

    pub(super) fn root(self) -> Self {
        if self.high <= 0.0 {
            return Self::NOUGHT;
        }
        let near = self.high.sqrt();
        let rest = self - Self::of(near) * Self::of(near);
        Self::summed(near, rest.high / (2.0 * near))
    }

    /// Returns the exact sum of two plain numbers.
    fn summed(a: f64, b: f64) -> Self {
        let high = a + b;
        let taken = high - a;
        Self {
            high,
            low: (a - (high - taken)) + (b - taken),
        }
    }
}

impl Add for Twin {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let high = Self::summed(self.high, other.high);
        let low = Self::summed(self.low, other.low);
        let joined = Self::summed(high.high, high.low + low.high);
        Self::summed(joined.high, joined.low + low.low)
    }
}

impl Sub for Twin {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + Self {
            high: -other.high,
            low: -other.low,
        }
    }
}

impl Mul for Twin {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let high = self.high * other.high;
        let rest = self.high.mul_add(other.high, -high);
        Self::summed(high, rest + (self.high * other.low + self.low * other.high))
    }
}

impl Div for Twin {
    type Output = Self;

    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        let rest = self - other * Self::of(first);
        let second = rest.high / other.high;
        let rest = rest - other * Self::of(second);
        Self::summed(first, second) + Self::of(rest.high / other.high)
    }
}

#[cfg(test)]
mod tests {
    use super::Twin;

    #[test]
    fn thirty_digits_are_kept() {
        let third = Twin::of(1.0) / Twin::of(3.0);
        let back = third * Twin::of(3.0) - Twin::of(1.0);
        assert!(back.rounded().abs() < 1e-31);
        let two = Twin::of(2.0).root();
        assert!((two * two - Twin::of(2.0)).rounded().abs() < 1e-31);
        let tiny = Twin::of(1.0) + Twin::of(1e-25) - Twin::of(1.0);
        assert!((tiny.rounded() - 1e-25).abs() < 1e-31);
    }
}
