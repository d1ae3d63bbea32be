//! Which promised days moved by the forecasts that were noted, and why.

use chrono::{DateTime, FixedOffset};

use super::day::DaySpan;
use crate::deed::{Forecasted, Promise};
use crate::standing::House;

/// A date that moved by no more is not told, days (own judgement).
const LEAST_DAYS: i64 = 2;

/// Returns, for each figure whose late end moved by more than two days, its id, words about
/// it, and the line that noted it: the last forecast noted on these days and up to a moment,
/// against the last one before them, or against the first of them where nothing was before.
pub(super) fn moved(
    house: House<'_>,
    (span, until): (DaySpan, DateTime<FixedOffset>),
) -> Vec<(String, String, u64)> {
    let noted = house.standing.shop.forecasts.iter();
    let noted: Vec<_> = noted.filter(|(_, stamp)| stamp.at <= until).collect();
    let of_span = noted.partition_point(|(_, stamp)| !span.holds(stamp.at));
    let (earlier, ours) = noted.split_at(of_span);
    let Some((last, stamp)) = ours.last() else {
        return Vec::new();
    };
    let Some((before, _)) = earlier.last().or(ours.first()) else {
        return Vec::new();
    };
    last.rows
        .iter()
        .filter_map(|row| Some((row.figure.clone(), line(row, before)?, stamp.n)))
        .collect()
}

fn line(row: &Promise, before: &Forecasted) -> Option<String> {
    let old = before.rows.iter().find(|old| old.figure == row.figure)?;
    let why = if row.moved_by.is_empty() {
        String::new()
    } else {
        format!(": {}", row.moved_by.join("; "))
    };
    let figure = &row.figure;
    match (old.ninety, row.ninety) {
        (Some(old), Some(new)) => {
            let days = (new - old).num_days();
            let word = if days < 0 { "sooner" } else { "later" };
            (LEAST_DAYS < days.abs()).then(|| {
                format!("{figure}: done by {new} in nine of ten runs, {} days {word} than noted before{why}", days.abs())
            })
        }
        (Some(old), None) => Some(format!("{figure}: no end in sight, was {old}{why}")),
        (None, Some(new)) => Some(format!("{figure}: done by {new}, had no end before{why}")),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::line;
    use crate::deed::{Forecasted, Promise};
    use chrono::NaiveDate;

    fn row(day: Option<u32>, why: &str) -> Promise {
        Promise {
            figure: "hare".into(),
            ninety: day.map(|day| NaiveDate::from_ymd_opt(2027, 5, day).unwrap()),
            fifty: None,
            risk_percent: None,
            moved_by: vec![why.into()],
        }
    }

    #[test]
    fn only_what_moved_by_more_than_two_days_is_told() {
        let before = |day| Forecasted {
            rows: vec![row(day, "")],
        };
        let said = |old, new| line(&row(new, "strip, hands"), &before(old));
        assert_eq!(said(Some(10), Some(12)), None);
        assert_eq!(
            said(Some(10), Some(13)).unwrap(),
            "hare: done by 2027-05-13 in nine of ten runs, 3 days later than noted before: strip, hands"
        );
        assert_eq!(
            said(Some(10), Some(3)).unwrap(),
            "hare: done by 2027-05-03 in nine of ten runs, 7 days sooner than noted before: strip, hands"
        );
        assert_eq!(
            said(Some(10), None).unwrap(),
            "hare: no end in sight, was 2027-05-10: strip, hands"
        );
        assert_eq!(said(None, None), None);
    }
}
