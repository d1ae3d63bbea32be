//! The rows of the ten points: what was kept on these days, and what stood at their end. `work`
//! makes those of the first point, `answers` some of the second, `promises` those of the ninth.

mod answers;
mod promises;
mod work;

use std::collections::BTreeSet;

use chrono::{DateTime, Days, FixedOffset, NaiveDate};

use super::{DayPage, Foreseen, PageAsk, PageRow, Point};
use crate::card::{ClockName, Mark, SHOP_BOOK};
use crate::deed::Deed;
use crate::plan::stock;
use crate::reckon::day_beside;
use crate::report::day::{DaySpan, book_name, struck_lines};
use crate::report::shelf::amount;
use crate::report::shown::clock_name;
use crate::report::tell::{gate_name, material, room, tell, work_name};
use crate::shop::KeptLine;
use crate::standing::{
    ClockState, ClockView, HoldWaiting, House, Matter, OpenMatter, OutOfTrend, all_matters,
    clock_views, holds, out_of_trend, overrules,
};

/// The point that tells of promises.
const PROMISES: u8 = 9;

/// Returns the page of a day or of several. `kept` are the lines of these days and after them,
/// `house` is what stood at `as_of`, which is now, or the end of days that are over. Of today
/// the promises are told as `foreseen`, where a forecast was reckoned; else as they were noted.
pub fn day_page(
    kept: &[KeptLine],
    house: House<'_>,
    (ask, as_of): (&PageAsk, DateTime<FixedOffset>),
    foreseen: Option<&Foreseen>,
) -> DayPage {
    let struck = struck_lines(kept);
    let counts = |one: &&KeptLine| {
        ask.span.holds(one.line.at) && !struck.contains(&(one.book.clone(), one.line.n))
    };
    let day = Day {
        kept: kept.iter().filter(counts).collect(),
        clocks: clock_views(house, as_of),
        house,
        span: ask.span,
        as_of,
        foreseen,
    };
    let ahead = if ask.span.is_long() {
        "fixed hours of the week to come"
    } else {
        "fixed hours until the next day is over"
    };
    let points: [(&'static str, Vec<PageRow>); 10] = [
        ("who was in, what moved", day.moved(ask)),
        ("to sign or to answer; signed and answered", day.waiting()),
        ("gates overruled", day.overruled()),
        ("otherwise than planned", day.deviations()),
        ("readings: chips, unusual, out of trend", day.readings()),
        ("clocks over, cups not reported", day.overdue()),
        (ahead, day.fixed_hours()),
        ("lots opened, small or past their date", day.lots()),
        ("promises near, past, at risk or moved", day.promises()),
        ("questions and notes from the bench", day.questions()),
    ];
    let points = (1u8..).zip(points).map(|(number, (title, mut rows))| {
        rows.retain(|row| ask.wants(row));
        Point {
            is_reckoned: number != PROMISES || day.is_reckoned(),
            number,
            title,
            rows,
        }
    });
    let mut points: Vec<Point> = points.collect();
    say_once(&mut points);
    DayPage {
        shop: house.cards.shop.name.clone(),
        ask: ask.clone(),
        as_of,
        points,
    }
}

/// What was done otherwise and waits for an answer stands at the second point and is only
/// counted at the fourth.
fn say_once(points: &mut [Point]) {
    let [_, waiting, _, otherwise, ..] = points else {
        return;
    };
    let waiting = waiting.rows.iter().filter_map(|row| row.line.as_ref());
    let waiting: BTreeSet<&(String, u64)> = waiting.collect();
    let before = otherwise.rows.len();
    let is_told = |row: &PageRow| row.line.as_ref().is_some_and(|line| waiting.contains(line));
    otherwise.rows.retain(|row| !is_told(row));
    let words = match before - otherwise.rows.len() {
        0 => return,
        1 => "one that waits stands at point 2".to_owned(),
        many => format!("{many} that wait stand at point 2"),
    };
    otherwise.rows.push(plain(words));
}

/// Size has two hours that may cross: when it is ready at the latest, and dead at the soonest.
fn is_size(view: &ClockView) -> bool {
    matches!(
        view.clock,
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow
    )
}

fn surely(view: &ClockView) -> &'static str {
    if is_size(view) {
        "surely ready"
    } else {
        "ready"
    }
}

fn at_the_soonest(view: &ClockView) -> &'static str {
    if is_size(view) { "may be dead" } else { "over" }
}

/// What the points are made of.
struct Day<'a> {
    /// The lines of these days that count.
    kept: Vec<&'a KeptLine>,
    /// The clocks that no hand had ended.
    clocks: Vec<ClockView>,
    house: House<'a>,
    span: DaySpan,
    as_of: DateTime<FixedOffset>,
    foreseen: Option<&'a Foreseen>,
}

impl Day<'_> {
    fn waiting(&self) -> Vec<PageRow> {
        let waiting = holds(self.house, self.as_of);
        let matters = self.matters(&waiting, |open| {
            open.matter != Matter::Question && open.refusal().is_none()
        });
        let refused: Vec<PageRow> = all_matters(self.house, &waiting)
            .filter_map(|(figure, open)| self.refused(figure, open))
            .collect();
        let (back, waiting): (Vec<_>, Vec<_>) =
            waiting.into_iter().partition(|hold| hold.back().is_some());
        let signatures = waiting.into_iter().map(|hold| self.hold(hold));
        let mut rows: Vec<PageRow> = signatures.chain(matters).collect();
        let answers = self.answers(&rows);
        rows.extend(answers);
        rows.extend(back.into_iter().map(|hold| self.hold(hold)));
        rows.extend(refused);
        rows
    }

    /// What was not accepted is back at the bench; it leads to its refusal.
    fn refused(&self, figure: &str, open: &OpenMatter) -> Option<PageRow> {
        let (_, stamp) = open.refusal()?;
        let row = self.matter(figure, open);
        // A refusal of these days stands among the answers, with its reason.
        let is_told = self.span.holds(stamp.at);
        let what = if is_told {
            open.what.clone()
        } else {
            open.told()
        };
        let since = self.hour(stamp.at);
        Some(PageRow {
            text: format!("{figure}: back at the bench since {since}: {what}"),
            line: Some((figure.to_owned(), stamp.n)),
            ..row
        })
    }

    /// A hold point leads to the line from which on it waits; one that was refused is back at the
    /// bench and leads to its refusal.
    fn hold(&self, hold: HoldWaiting) -> PageRow {
        let name = work_name(&hold.work, self.house.cards);
        let job = self
            .house
            .figure(&hold.figure)
            .and_then(|it| it.job(&hold.work));
        let hands = job.map(|job| job.hands()).unwrap_or_default();
        let by = hold.may_sign.join(" or ");
        let hands = hands.into_iter().map(str::to_owned);
        let line = hold.line();
        let text = if let Some(refused) = hold.back() {
            // A refusal of these days stands among the answers, with its reason.
            let is_told = self.span.holds(refused.stamp.at);
            let what = if is_told {
                hold.sign.clone()
            } else {
                hold.told()
            };
            let since = self.hour(refused.stamp.at);
            format!("back at the bench since {since}: {what}")
        } else {
            let since = self.hour(hold.since.at);
            format!("{} (since {since}, by {by})", hold.told())
        };
        PageRow {
            text: format!("{}: {name}: {text}", hold.figure),
            line: Some((hold.figure.clone(), line)),
            who: hands.chain(hold.may_sign).collect(),
            book: Some(hold.figure),
        }
    }

    /// What no answer was given to, as of the page's moment.
    fn matters(
        &self,
        waiting: &[HoldWaiting],
        wanted: impl Fn(&OpenMatter) -> bool,
    ) -> Vec<PageRow> {
        let open = all_matters(self.house, waiting);
        open.filter(|(_, open)| wanted(open))
            .map(|(figure, open)| self.matter(figure, open))
            .collect()
    }

    fn matter(&self, figure: &str, open: &OpenMatter) -> PageRow {
        let day = self.on_other_day(open.stamp.at);
        let kind = match open.matter {
            Matter::Overrule(gate) => format!("{} overruled: ", gate_name(gate)),
            Matter::Deviation(_) => "otherwise than planned: ".to_owned(),
            Matter::HoldRefused => "hold point refused: ".to_owned(),
            Matter::Question => String::new(),
        };
        // It waits for a second pair of eyes.
        let people = self.house.cards.shop.people.iter();
        let answer = people
            .filter(|one| one.marks.contains(&Mark::Sign) && one.id != *open.stamp.by)
            .map(|one| one.id.clone());
        PageRow {
            text: format!("{figure}: {kind}{} ({}{day})", open.told(), open.stamp.by),
            line: Some((figure.to_owned(), open.stamp.n)),
            book: Some(figure.to_owned()),
            who: std::iter::once(open.stamp.by.to_string())
                .chain(answer)
                .collect(),
        }
    }

    /// The day's overrules, and before them each gate that is overruled too often.
    fn overruled(&self) -> Vec<PageRow> {
        let counts = overrules(self.house, self.as_of).into_iter();
        let mut rows: Vec<PageRow> = counts
            .filter(|count| count.is_many())
            .map(|count| plain(count.words()))
            .collect();
        rows.extend(self.told(|deed| matches!(deed, Deed::Overruled(_))));
        rows
    }

    fn deviations(&self) -> Vec<PageRow> {
        self.told(|deed| {
            matches!(
                deed,
                Deed::Deviated(_) | Deed::Discarded(_) | Deed::SentBack(_) | Deed::ClockJumped(_)
            )
        })
    }

    /// Readings of chips, those that somebody had to confirm, and those out of the trend of their
    /// own series.
    fn readings(&self) -> Vec<PageRow> {
        let mut rows = self.told(|deed| match deed {
            Deed::ChipRead(_) => true,
            Deed::Recorded(deed) => deed.asked_again,
            _ => false,
        });
        let strays = out_of_trend(self.house, self.span.surely_before());
        let strays = strays.into_iter().filter(|one| self.span.holds(one.at));
        rows.extend(strays.map(|one| self.stray(one)));
        rows
    }

    fn stray(&self, one: OutOfTrend) -> PageRow {
        let book = one.figure.unwrap_or_else(|| "shop".to_owned());
        let line = one.line.or_else(|| self.air_line(&one.room, one.at));
        let words = one.words.replace(
            &format!(" in {},", one.room),
            &format!(" in {},", room(&one.room, self.house.cards)),
        );
        PageRow {
            text: format!("{} {book}: {words}", self.hour(one.at)),
            line: line.as_ref().map(|(n, _)| (book.clone(), *n)),
            who: line.map(|(_, by)| by).into_iter().collect(),
            book: Some(book),
        }
    }

    /// The line of a reading of the air, and who wrote it.
    fn air_line(&self, room: &str, at: DateTime<FixedOffset>) -> Option<(u64, String)> {
        let is_it = |deed: &Deed| matches!(deed, Deed::Air(air) if air.room == room);
        let found = self
            .kept
            .iter()
            .find(|one| one.line.at == at && is_it(&one.line.deed));
        found.map(|one| (one.line.n, one.line.by.clone()))
    }

    fn overdue(&self) -> Vec<PageRow> {
        let mut rows: Vec<PageRow> = self
            .clocks
            .iter()
            .filter_map(|view| {
                let since = match view.state {
                    ClockState::Over => format!("over since {}", self.hour(view.closes?)),
                    ClockState::Unsure => {
                        format!("may be dead since {}", self.hour(view.closes?))
                    }
                    ClockState::Come if view.clock == ClockName::Leftover => {
                        format!("due {}, not reported cold", self.hour(view.opens?))
                    }
                    _ => return None,
                };
                Some(self.clock_row(view, &since))
            })
            .collect();
        for one in &self.kept {
            if let Deed::DayClosed(deed) = &one.line.deed {
                rows.extend(deed.left_open.iter().map(|open| {
                    let figure = open.split_once(": ").map(|(figure, _)| figure.to_owned());
                    PageRow {
                        book: figure,
                        ..row(one, format!("left open at closing: {open}"))
                    }
                }));
            }
        }
        rows
    }

    /// Openings and closings of clocks from the page's moment to the end of the next day on
    /// which the shop is open; a closed day between them is told too, for clocks run on. For a
    /// week, to the end of the week after it.
    fn fixed_hours(&self) -> Vec<PageRow> {
        let (begin, zone) = (self.as_of, self.span.zone);
        let last = if self.span.is_long() {
            let week = self.span.date.checked_add_days(Days::new(7));
            week.unwrap_or(self.span.date)
        } else {
            self.next_open_day()
        };
        let end = DaySpan::day(last, zone).ends();
        let within = |at: &DateTime<FixedOffset>| begin <= *at && *at < end;
        let mut hours: Vec<(DateTime<FixedOffset>, PageRow)> = Vec::new();
        for view in &self.clocks {
            let edges = [
                (view.opens, surely(view)),
                (view.closes, at_the_soonest(view)),
            ];
            for (at, word) in edges {
                let Some(at) = at.filter(within) else {
                    continue;
                };
                let shut = if self.is_open(zone.show(at.to_utc()).date_naive()) {
                    ""
                } else {
                    ", the shop is shut that day"
                };
                let said = format!("{} {word}{shut}", self.hour(at));
                hours.push((at, self.clock_row(view, &said)));
            }
        }
        hours.sort_by_key(|(at, _)| *at);
        hours.into_iter().map(|(_, row)| row).collect()
    }

    /// The last of these days that has begun by the page's moment.
    fn last_seen(&self) -> NaiveDate {
        let now = self.span.zone.show(self.as_of.to_utc()).date_naive();
        now.clamp(self.span.first, self.span.date)
    }

    /// The next day on which the shop is open, within two weeks; tomorrow where it is on none.
    fn next_open_day(&self) -> NaiveDate {
        let ahead = |days| self.span.date.checked_add_days(Days::new(days));
        (1..=14)
            .filter_map(ahead)
            .find(|day| self.is_open(*day))
            .or_else(|| ahead(1))
            .unwrap_or(self.span.date)
    }

    fn is_open(&self, day: NaiveDate) -> bool {
        self.house.cards.shop.open_on(day).is_some()
    }

    fn lots(&self) -> Vec<PageRow> {
        let mut rows = self.told(|deed| {
            matches!(
                deed,
                Deed::LotOpened(_) | Deed::LotDecanted(_) | Deed::LotTrusted(_)
            )
        });
        let date = self.last_seen();
        for lot in stock(self.house, date).lots {
            let name = material(&lot.material, self.house.cards);
            let why = match (lot.past_date, lot.expires, lot.left) {
                (true, Some(expires), _) => {
                    format!("past its date: lot {} of {name}, {expires}", lot.lot)
                }
                (_, _, Some(left)) if lot.under_one_job => format!(
                    "under one job's worth: lot {} of {name}, {} left",
                    lot.lot,
                    amount(left, lot.unit)
                ),
                _ => continue,
            };
            let line = lot.last_use.or_else(|| self.opened(&lot.lot));
            // A lot that no journal knows has no line: its card alone names it.
            let card = match (&line, lot.opened) {
                (Some(_), _) => String::new(),
                (None, Some(since)) => {
                    format!(", open since {since}, on the card {}", lot.material)
                }
                (None, None) => format!(", not opened yet, on the card {}", lot.material),
            };
            rows.push(PageRow {
                line,
                book: Some("shop".to_owned()),
                ..plain(format!("{why}{card}"))
            });
        }
        rows
    }

    /// The line in which a lot was opened.
    fn opened(&self, lot: &str) -> Option<(String, u64)> {
        let mut opened = self.house.standing.shop.lots.iter().rev();
        let (_, stamp) = opened.find(|(deed, _)| deed.lot == lot)?;
        Some((SHOP_BOOK.to_owned(), stamp.n))
    }

    /// Questions without an answer, and what the day noted besides.
    fn questions(&self) -> Vec<PageRow> {
        let mut rows = self.matters(&[], |open| open.matter == Matter::Question);
        rows.extend(self.told(|deed| matches!(deed, Deed::Jotted(_))));
        rows
    }

    /// The lines of the day with a deed of this kind, in their own words.
    fn told(&self, wanted: impl Fn(&Deed) -> bool) -> Vec<PageRow> {
        let found = self.kept.iter().filter(|one| wanted(&one.line.deed));
        found
            .map(|one| {
                let said = tell(&one.line, self.house.cards);
                let (book, by) = (book_name(&one.book), &one.line.by);
                row(
                    one,
                    format!("{} {book}: {said} ({by})", self.hour(one.line.at)),
                )
            })
            .collect()
    }

    /// The hour in the shop's zone, with its day unless it is the page's only one.
    fn hour(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.span.zone.show(at.to_utc());
        let shown = match (self.span.holds(at), self.span.is_long()) {
            (true, false) => "%H:%M",
            (true, true) => "%a %H:%M",
            (false, _) => {
                let day = day_beside(local.date_naive(), self.span.date);
                return format!("{} {day} {}", local.format("%a"), local.format("%H:%M"));
            }
        };
        local.format(shown).to_string()
    }

    fn clock_row(&self, view: &ClockView, when: &str) -> PageRow {
        let name = clock_name(view.clock);
        let n = view.id.split('.').next().and_then(|n| n.parse().ok());
        let figure = self.house.figure(&view.figure);
        let clocks = figure.into_iter().flat_map(|figure| &figure.clocks);
        let who = clocks.filter(|clock| clock.id == view.id);
        PageRow {
            text: format!("{when}: {}, {name}: {}", view.figure, view.about),
            line: n.map(|n| (view.figure.clone(), n)),
            book: Some(view.figure.clone()),
            who: who.map(|clock| clock.started.by.to_string()).collect(),
        }
    }

    fn on_other_day(&self, at: DateTime<FixedOffset>) -> String {
        if self.span.holds(at) && !self.span.is_long() {
            String::new()
        } else {
            let local = self.span.zone.show(at.to_utc());
            format!(", {}", day_beside(local.date_naive(), self.span.date))
        }
    }
}

fn plain(text: String) -> PageRow {
    PageRow {
        text,
        ..PageRow::default()
    }
}

/// A row about a line: its book, and who wrote it or stood beside.
fn row(one: &KeptLine, text: String) -> PageRow {
    let book = book_name(&one.book).to_owned();
    let second = match &one.line.deed {
        Deed::Overruled(deed) => deed.second.clone(),
        _ => None,
    };
    PageRow {
        text,
        line: Some((book.clone(), one.line.n)),
        book: Some(book),
        who: std::iter::once(one.line.by.clone()).chain(second).collect(),
    }
}
