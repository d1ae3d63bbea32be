//! How much time for leaf the hours of a shop leave between size that is ready and size that is
//! dead: what comes at night, when nobody is there, is no time for leaf.

use super::hours::Present;
use crate::standing::hours_between;

/// So many stretches of opening hours are looked at: two weeks hold every week day twice.
pub(super) const LOOKED_AT: usize = 14;

/// Moments within opening hours at which the laying of size may end, minutes apart.
const STEP_MIN: f64 = 15.0;

/// Returns the longest stretch, minutes, that somebody is there between `ready` and `dead`
/// minutes after the size was laid, whenever within opening hours that was; nothing where none
/// is there then.
pub(super) fn leaf_time(there: &[Present], [ready, dead]: [f64; 2]) -> f64 {
    let Some(first) = there.first() else {
        return 0.0;
    };
    let open: Vec<[f64; 2]> = there
        .iter()
        .map(|open| [open.from, open.to].map(|at| hours_between(first.from, at).0 * 60.0))
        .collect();
    let laid = open.iter().flat_map(|[from, to]| {
        let steps = (1..).map(move |step| from + f64::from(step) * STEP_MIN);
        steps.take_while(move |laid| laid <= to)
    });
    let stretches = laid.flat_map(|laid| {
        let stretch = move |[from, to]: &[f64; 2]| to.min(laid + dead) - from.max(laid + ready);
        open.iter().map(stretch)
    });
    stretches.fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, Duration};

    use super::super::hours::Present;
    use super::leaf_time;

    /// Five days from eight to five.
    fn week() -> Vec<Present> {
        let first = DateTime::parse_from_rfc3339("2026-11-23T08:00:00+00:00").unwrap();
        let days = (0..5).map(|day| first + Duration::days(day));
        days.map(|from| Present {
            from,
            to: from + Duration::hours(9),
        })
        .collect()
    }

    /// By hand: laid by five in the afternoon and ready twelve hours later at five; dead at one
    /// in the afternoon: from eight to one. The quick one is laid at any hour of the morning.
    #[test]
    fn time_for_leaf_lies_within_opening_hours() {
        let hours = |ready: f64, dead: f64| leaf_time(&week(), [ready * 60.0, dead * 60.0]) / 60.0;
        assert!((hours(12.0, 20.0) - 5.0).abs() < 1e-9);
        assert!((hours(9.0, 15.5) - 0.5).abs() < 1e-9);
        assert!((hours(2.0, 4.0) - 2.0).abs() < 1e-9);
        // Laid at a quarter past eight it is ready at a quarter past four.
        assert!((hours(8.0, 14.0) - 0.75).abs() < 1e-9);
        // Laid at five it is ready at two in the night, and dead when the doors open.
        assert!(hours(9.0, 15.0) < 1e-9);
        assert!(leaf_time(&[], [60.0, 120.0]) < 1e-9);
    }
}
