//! When somebody is there: the opening hours of the shop card over today and the next two
//! days, with the offset that each of these days has.

use chrono::{
    DateTime, Days, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Timelike,
};
use chrono_tz::Tz;

use crate::card::{Mark, Shop};

/// A span in which somebody is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Present {
    /// Doors open, or now if they are open already.
    pub from: DateTime<FixedOffset>,
    /// Doors close.
    pub to: DateTime<FixedOffset>,
}

/// How moments are said at the place of the shop.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    zone: Option<Tz>,
    tomorrow: FixedOffset,
}

impl Place {
    /// Returns the place of a shop. A shop that names no zone follows the machine, whose offset
    /// of tomorrow the caller knows.
    pub(super) fn of(shop: &Shop, tomorrow: FixedOffset) -> Self {
        Self {
            zone: shop.time_zone.parse().ok(),
            tomorrow,
        }
    }

    /// Returns the same moment with the offset that holds there.
    pub(super) fn show(
        self,
        moment: DateTime<FixedOffset>,
        now: DateTime<FixedOffset>,
    ) -> DateTime<FixedOffset> {
        match self.zone {
            Some(zone) => moment.with_timezone(&zone).fixed_offset(),
            None if moment.date_naive() == now.date_naive() => moment,
            None => moment.with_timezone(&self.tomorrow),
        }
    }

    /// The moments that a clock on the wall may mean: two in the hour that comes twice, that of
    /// the offset before in the hour that is left out.
    fn moments(self, wall: NaiveDateTime, offset: FixedOffset) -> [DateTime<FixedOffset>; 2] {
        let plain = || {
            let moment = offset.from_local_datetime(&wall).single();
            moment.unwrap_or_else(|| wall.and_utc().fixed_offset())
        };
        let Some(zone) = self.zone else {
            return [plain(); 2];
        };
        let found = zone.from_local_datetime(&wall);
        let fixed = |moment: Option<DateTime<Tz>>| moment.map(|moment| moment.fixed_offset());
        [
            fixed(found.earliest()).unwrap_or_else(plain),
            fixed(found.latest()).unwrap_or_else(plain),
        ]
    }
}

/// Returns the next day's noon: by then the offset of tomorrow holds, whatever happens to the
/// clocks tonight.
pub fn noon_after(now: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    now + TimeDelta::hours(36 - i64::from(now.hour()))
}

/// Returns when somebody is there, from now on, over today and the next two days. `tomorrow` is
/// the offset after tonight where the shop card names no zone.
pub fn presence(shop: &Shop, now: DateTime<FixedOffset>, tomorrow: FixedOffset) -> Vec<Present> {
    presence_over(shop, (now, 3), tomorrow)
}

/// Days that a night is planned over: its evening, the day of the leaf, one more.
const NIGHT_DAYS: u64 = 3;

/// Days after which a shop that opens on none of them counts as closed: two weeks and a day
/// (own choice).
const CLOSED_DAYS: u64 = 15;

/// As [`presence`], over two weeks: a shop that is closed for some days opens again within them.
pub(super) fn presence_ahead(
    shop: &Shop,
    now: DateTime<FixedOffset>,
    tomorrow: FixedOffset,
) -> Vec<Present> {
    presence_over(shop, (now, CLOSED_DAYS), tomorrow)
}

/// Returns whether somebody who may gild is in on a day, by the shop card; a shop that gave nobody
/// the mark has not said who gilds.
pub(super) fn gilds_on(shop: &Shop, day: NaiveDate) -> bool {
    let mut gilders = shop
        .people
        .iter()
        .filter(|one| one.marks.contains(&Mark::Gild));
    gilders.clone().next().is_none() || gilders.any(|one| !one.is_away(day))
}

/// As [`presence`], of the days on which somebody may gild; where the doors open no more today, or
/// nobody is in to gild, from the next day on that they do.
pub(super) fn next_nights(
    shop: &Shop,
    now: DateTime<FixedOffset>,
    tomorrow: FixedOffset,
) -> Vec<Present> {
    let mut spans = presence_ahead(shop, now, tomorrow);
    spans.retain(|span| gilds_on(shop, span.from.date_naive()));
    let first = spans.first().map(|span| span.from.date_naive());
    let end = first.and_then(|first| first.checked_add_days(Days::new(NIGHT_DAYS)));
    spans.retain(|span| end.is_none_or(|end| span.from.date_naive() < end));
    spans
}

/// As [`presence`], over so many days.
pub(super) fn presence_over(
    shop: &Shop,
    (now, days): (DateTime<FixedOffset>, u64),
    tomorrow: FixedOffset,
) -> Vec<Present> {
    let place = Place::of(shop, tomorrow);
    let here = place.show(now, now);
    let today = here.date_naive();
    (0..days)
        .filter_map(|ahead| {
            let day = today.checked_add_days(Days::new(ahead))?;
            let hours = shop.open_on(day)?;
            let offset = if ahead == 0 { *here.offset() } else { tomorrow };
            // In an hour that comes twice the doors surely stand open from its second time on.
            let [_, from] = place.moments(day.and_time(hours.from), offset);
            let [to, _] = place.moments(day.and_time(hours.to), offset);
            let from = if from < here { here } else { from };
            (from < to).then_some(Present { from, to })
        })
        .collect()
}

/// Returns whole minutes, at most a century of them.
pub(super) fn whole(minutes: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "held within a century just here"
    )]
    let whole = minutes.clamp(0.0, 5e7) as i64;
    whole
}

#[cfg(test)]
mod tests {
    use super::presence;
    use crate::card::{Hour, OpenHours, Shop, Span};
    use chrono::{DateTime, FixedOffset, NaiveTime};

    fn shop(time_zone: &str) -> Shop {
        let at = |hour, minute| NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
        let day = Hour(Some(Span {
            from: at(7, 30),
            to: at(17, 30),
        }));
        Shop {
            time_zone: time_zone.into(),
            open: OpenHours {
                fri: day,
                sat: day,
                sun: day,
                ..OpenHours::default()
            },
            ..Shop::default()
        }
    }

    fn at(text: &str) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339(text).unwrap()
    }

    fn said(shop: &Shop, now: &str, tomorrow: &str) -> Vec<String> {
        let tomorrow = *at(tomorrow).offset();
        presence(shop, at(now), tomorrow)
            .iter()
            .map(|span| format!("{}/{}", span.from.to_rfc3339(), span.to.to_rfc3339()))
            .collect()
    }

    #[test]
    fn the_night_of_the_clock_change_is_an_hour_shorter() {
        // Summer time begins on the last Sunday of March at 01:00 UTC (IANA time zone
        // database, rule EU).
        let saturday = "2027-03-27T16:00:00+00:00";
        let expected = [
            "2027-03-27T16:00:00+00:00/2027-03-27T17:30:00+00:00",
            "2027-03-28T07:30:00+01:00/2027-03-28T17:30:00+01:00",
        ];
        assert_eq!(said(&shop("Europe/Lisbon"), saturday, saturday), expected);
        // A shop that follows its machine is told the offset of tomorrow.
        assert_eq!(
            said(&shop(""), saturday, "2027-03-28T12:00:00+01:00"),
            expected
        );
    }

    #[test]
    fn before_opening_the_day_begins_with_the_doors_and_closed_days_are_none() {
        let friday = "2026-11-27T05:00:00+00:00";
        assert_eq!(said(&shop("Europe/Lisbon"), friday, friday).len(), 3);
        let sunday_night = "2026-11-29T18:00:00+00:00";
        assert!(said(&shop("Europe/Lisbon"), sunday_night, sunday_night).is_empty());
    }
}
