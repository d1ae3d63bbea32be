//! Which promised days moved by the forecasts that were noted, and why.

use chrono::{DateTime, FixedOffset};

use super::day::DaySpan;
use super::page::Foreseen;
use super::tell::operation;
use crate::card::Cards;
use crate::deed::{Forecasted, Promise, Stamp};
use crate::reckon::{counted, day_beside};
use crate::standing::{House, JobState, Matter};

/// A date that moved by no more is not told, days (own judgement).
const LEAST_DAYS: i64 = 2;

/// Returns, for each figure whose late end moved by more than two days and by more than chance
/// alone moves it, its id, words about it, and the line that noted it: the last forecast noted on these days and up to a moment,
/// against the last one before them, or against the first of them where nothing was before. A
/// forecast reckoned for the page stands for the last one; it leads to the line it is held
/// against.
pub(super) fn moved(
    house: House<'_>,
    (span, until): (DaySpan, DateTime<FixedOffset>),
    foreseen: Option<&Foreseen>,
) -> Vec<(String, String, u64)> {
    let noted = house.standing.shop.forecasts.iter();
    let noted: Vec<_> = noted.filter(|(_, stamp)| stamp.at <= until).collect();
    let of_span = noted.partition_point(|(_, stamp)| !span.holds(stamp.at));
    let (earlier, ours) = noted.split_at(of_span);
    let Some((before, old)) = earlier.last().or(ours.first()) else {
        return Vec::new();
    };
    let (rows, n) = match (foreseen, ours.last()) {
        (Some(foreseen), _) => (&foreseen.rows, old.n),
        (None, Some((last, stamp))) => (&last.rows, stamp.n),
        (None, None) => return Vec::new(),
    };
    let when = span.zone.show(old.at.to_utc()).date_naive();
    let when = day_beside(when, span.date);
    let told = rows.iter().filter_map(|row| {
        let moved = line(row, (before, &when), house.cards)?;
        let happened = happened(house, &row.figure, (old.at, until));
        Some((row.figure.clone(), format!("{moved}; {happened}"), n))
    });
    told.collect()
}

/// What happened on a figure between two forecasts, which the later one knows.
fn happened(
    house: House<'_>,
    figure: &str,
    (from, until): (DateTime<FixedOffset>, DateTime<FixedOffset>),
) -> String {
    let within = |stamp: &Stamp| from < stamp.at && stamp.at <= until;
    let (mut finished, mut back, mut refused) = (0, 0, 0);
    if let Some(standing) = house.figure(figure) {
        for job in &standing.jobs {
            match &job.state {
                JobState::Finished(stamp) if within(stamp) => finished += 1,
                JobState::SentBack { stamp, .. } if within(stamp) => back += 1,
                _ => {}
            }
        }
        let holds = standing.matters.iter();
        refused += holds
            .filter(|open| open.matter == Matter::HoldRefused && within(&open.stamp))
            .count();
    }
    let mut words = match finished {
        0 => vec!["no job finished".to_owned()],
        many => vec![format!("{} finished", counted(many, "job"))],
    };
    let others = [(back, "sent back"), (refused, "refused")];
    let others = others.into_iter().filter(|(count, _)| 0 < *count);
    words.extend(others.map(|(count, word)| format!("{count} {word}")));
    format!("since then {}", words.join(", "))
}

/// Returns what moves an end, with the title of the operation for its short name.
pub fn plainly(words: &str, cards: &Cards) -> String {
    let (figure, rest) = words.split_once(": ").unwrap_or(("", words));
    let Some((operation_id, sort)) = rest.split_once(", ") else {
        return words.to_owned();
    };
    let title = operation(operation_id, cards);
    match figure {
        "" => format!("{title}, {sort}"),
        _ => format!("{figure}: {title}, {sort}"),
    }
}

fn line(row: &Promise, (before, when): (&Forecasted, &str), cards: &Cards) -> Option<String> {
    let before = before.rows.iter().find(|old| old.figure == row.figure)?;
    let why = if row.moved_by.is_empty() {
        String::new()
    } else {
        let words: Vec<String> = row.moved_by.iter().map(|it| plainly(it, cards)).collect();
        format!(": {}", words.join("; "))
    };
    let figure = &row.figure;
    match (before.ninety, row.ninety) {
        (Some(old), Some(new)) => {
            let days = (new - old).num_days();
            let chance = [before.give_days, row.give_days].map(|give| f64::from(give.unwrap_or(0)));
            #[expect(clippy::cast_possible_truncation, reason = "days of a few years")]
            let chance = chance[0].hypot(chance[1]) as i64;
            let word = if days < 0 { "sooner" } else { "later" };
            let days = days.abs();
            // What chance alone may have moved did not move, as far as anybody can tell.
            (LEAST_DAYS.max(chance) < days).then(|| {
                format!("{figure}: done by {new} in nine of ten runs, {days} days {word} than noted on {when}{why}")
            })
        }
        (Some(old), None) => Some(format!("{figure}: no end in sight, was {old}{why}")),
        (None, Some(new)) => Some(format!("{figure}: done by {new}, had no end before{why}")),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{line, moved};
    use crate::card::Cards;
    use crate::deed::{Deed, Forecasted, Line, Promise, Stamp};
    use crate::now::Zone;
    use crate::report::DaySpan;
    use crate::standing::{Book, House, Standing};
    use chrono::{DateTime, Duration, NaiveDate};

    fn row(day: Option<u32>, why: &str) -> Promise {
        Promise {
            figure: "hare".into(),
            ninety: day.map(|day| NaiveDate::from_ymd_opt(2027, 5, day).unwrap()),
            fifty: None,
            give_days: None,
            risk_percent: None,
            moved_by: vec![why.into()],
        }
    }

    #[test]
    fn only_what_moved_by_more_than_two_days_is_told() {
        let before = |day| Forecasted {
            rows: vec![row(day, "")],
        };
        let said = |old, new| {
            line(
                &row(new, "strip, hands"),
                (&before(old), "9 Nov"),
                &Cards::default(),
            )
        };
        assert_eq!(said(Some(10), Some(12)), None);
        assert_eq!(
            said(Some(10), Some(13)).unwrap(),
            "hare: done by 2027-05-13 in nine of ten runs, 3 days later than noted on 9 Nov: strip, hands"
        );
        assert_eq!(
            said(Some(10), Some(3)).unwrap(),
            "hare: done by 2027-05-03 in nine of ten runs, 7 days sooner than noted on 9 Nov: strip, hands"
        );
        assert_eq!(
            said(Some(10), None).unwrap(),
            "hare: no end in sight, was 2027-05-10: strip, hands"
        );
        assert_eq!(said(None, None), None);
    }

    /// Two errors of 6 and 8 days are one of 10 of their difference (the root of the squares).
    #[test]
    fn what_chance_alone_may_have_moved_is_not_told() {
        let with = |day, give| Promise {
            give_days: Some(give),
            ..row(Some(day), "")
        };
        let before = Forecasted {
            rows: vec![with(10, 6)],
        };
        let said = |day| line(&with(day, 8), (&before, "9 Nov"), &Cards::default());
        assert_eq!(said(12), None);
        assert_eq!(said(20), None);
        assert!(said(21).unwrap().contains("11 days later"));
    }

    /// The standing remembers the last week of forecasts; no page may say less for it.
    #[test]
    fn what_a_standing_remembers_tells_as_much_as_all_forecasts_do() {
        let begin = DateTime::parse_from_rfc3339("2026-11-02T17:30:00+00:00").unwrap();
        let mut short = Standing::default();
        let mut whole: Vec<(Forecasted, Stamp)> = Vec::new();
        let utc = Zone::Named(chrono_tz::Tz::UTC);
        let (cards, mut told) = (Cards::default(), 0);
        for n in 0..90_u32 {
            // Evenings, some with two, and weeks in which nobody noted any.
            let evening = i64::from(n) * 17 / 24 + i64::from(n / 30) * 12;
            let at = begin + Duration::days(evening) + Duration::minutes(i64::from(n));
            let deed = Forecasted {
                rows: vec![row(Some(1 + n * 7 % 28), "strip, hands")],
            };
            let line = Line {
                n: u64::from(n) + 1,
                at,
                by: "ines".into(),
                bench: "long bench".into(),
                deed: Deed::Forecasted(deed.clone()),
                entered_later: None,
                strange: Vec::new(),
            };
            whole.push((deed, line.stamp()));
            let _taken = short.replay(&Book::Shop, &line);
            let mut long = Standing::default();
            long.shop.forecasts.clone_from(&whole);
            for later in 0..9 {
                let until = at + Duration::days(later);
                let date = until.date_naive();
                for span in [DaySpan::day(date, utc), DaySpan::week(date, utc)] {
                    let says = |standing: &Standing| {
                        let cards = &cards;
                        moved(House { cards, standing }, (span, until), None)
                    };
                    assert_eq!(says(&short), says(&long), "{n}, {span:?}");
                    told += says(&long).len();
                }
            }
            assert!(short.shop.forecasts.len() <= 20);
        }
        assert!(100 < told, "{told}");
    }
}
