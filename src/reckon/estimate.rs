//! An estimate with its two safe sides. Choosing the wrong side must not compile:
//! a caller asks for [`Estimate::do_before`] or [`Estimate::wait_until`], never for "the value".

/// A time or amount that is known only as a range, with its reason.
///
/// `early ≤ likely ≤ late` always holds; [`Estimate::new`] sorts what it is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate<T> {
    early: T,
    likely: T,
    late: T,
    because: String,
}

impl<T: Copy + PartialOrd> Estimate<T> {
    /// Returns the estimate over three bounds, sorted so that `early ≤ likely ≤ late`.
    ///
    /// `because` is one line for the screen, such as `25 min on the sheet, 17 because 26 °C`.
    pub fn new(early: T, likely: T, late: T, because: impl Into<String>) -> Self {
        let lower = |a: T, b: T| if b < a { b } else { a };
        let upper = |a: T, b: T| if b < a { a } else { b };
        let least = lower(early, lower(likely, late));
        let most = upper(early, upper(likely, late));
        let middle = upper(lower(early, likely), lower(upper(early, likely), late));
        Self {
            early: least,
            likely: middle,
            late: most,
            because: because.into(),
        }
    }

    /// Returns the early bound: for what must be finished before (pot life, leaf time, gloves).
    pub fn do_before(&self) -> T {
        self.early
    }

    /// Returns the late bound: for what must be waited for (clamps off, tack, dry wood, purge).
    pub fn wait_until(&self) -> T {
        self.late
    }

    /// Returns the likely value: for reading and planning, never for a promise.
    pub fn likely(&self) -> T {
        self.likely
    }

    /// Returns the one-line reason.
    pub fn because(&self) -> &str {
        &self.because
    }

    /// Returns the same estimate with each bound passed through `change`.
    pub fn map<U: Copy + PartialOrd>(&self, change: impl Fn(T) -> U) -> Estimate<U> {
        Estimate::new(
            change(self.early),
            change(self.likely),
            change(self.late),
            self.because.clone(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::Estimate;

    #[test]
    fn the_bounds_are_sorted_whatever_order_they_come_in() {
        for (a, b, c) in [(3, 1, 2), (1, 2, 3), (2, 3, 1), (3, 2, 1), (1, 1, 0)] {
            let estimate = Estimate::new(a, b, c, "");
            assert!(estimate.do_before() <= estimate.likely());
            assert!(estimate.likely() <= estimate.wait_until());
            let mut given = [a, b, c];
            given.sort_unstable();
            assert_eq!(
                given,
                [
                    estimate.do_before(),
                    estimate.likely(),
                    estimate.wait_until()
                ]
            );
        }
    }
}
