//! The rows of the ten points: what was kept on these days, and what stood at their end.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Days, FixedOffset, NaiveDate};

use super::{DayPage, PageAsk, PageRow, Point};
use crate::card::{ClockName, Mark};
use crate::deed::{Deed, Work};
use crate::plan::stock;
use crate::reckon::counted;
use crate::report::day::{DaySpan, book_name, struck_lines};
use crate::report::moved::moved;
use crate::report::shelf::amount;
use crate::report::shown::clock_name;
use crate::report::tell::{gate_name, tell, work_name, work_of};
use crate::shop::KeptLine;
use crate::standing::{
    Book, ClockState, ClockView, HoldWaiting, House, Matter, OpenMatter, OutOfTrend, all_matters,
    clock_views, floor, holds, out_of_trend, overrules,
};

/// Days ahead of a promise from which on the page names it. Chosen here: a month is about
/// what is left to move when a coat has to be laid anew.
const PROMISE_DAYS: i64 = 30;

/// Returns the page of a day or of several. `kept` are the lines of these days and after them,
/// `house` is what stood at `as_of`, which is now, or the end of days that are over.
pub fn day_page(
    kept: &[KeptLine],
    house: House<'_>,
    (ask, as_of): (&PageAsk, DateTime<FixedOffset>),
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
    };
    let ahead = if ask.span.is_long() {
        "fixed hours of the week to come"
    } else {
        "fixed hours until the next day is over"
    };
    let points: [(&'static str, Vec<PageRow>); 10] = [
        ("who was in, what moved", day.moved(ask)),
        ("waits for a signature or an answer", day.waiting()),
        ("gates overruled", day.overruled()),
        ("otherwise than planned", day.deviations()),
        ("readings outside the usual or out of trend", day.readings()),
        ("clocks over, cups not reported", day.overdue()),
        (ahead, day.fixed_hours()),
        ("lots opened, small or past their date", day.lots()),
        ("promises near, past or moved", day.promises()),
        ("questions from the bench", day.questions()),
    ];
    let points = (1u8..).zip(points).map(|(number, (title, mut rows))| {
        rows.retain(|row| ask.wants(row));
        Point {
            number,
            title,
            rows,
        }
    });
    DayPage {
        shop: house.cards.shop.name.clone(),
        ask: ask.clone(),
        as_of,
        points: points.collect(),
    }
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
}

impl Day<'_> {
    fn moved(&self, ask: &PageAsk) -> Vec<PageRow> {
        let mut rows = Vec::new();
        let mut present: BTreeSet<&str> = BTreeSet::new();
        for one in &self.kept {
            if let Deed::DayOpened(deed) = &one.line.deed {
                present.extend(deed.present.iter().map(String::as_str));
            }
        }
        let wrote = self.kept.iter().map(|one| one.line.by.as_str());
        let mut others: BTreeSet<&str> = wrote.filter(|by| !present.contains(by)).collect();
        if let Some(by) = &ask.by {
            present.retain(|name| name == by);
            others.retain(|name| name == by);
        }
        for (words, names) in [("in", present), ("wrote lines", others)] {
            if !names.is_empty() {
                rows.push(PageRow {
                    text: format!("{words}: {}", joined(&names)),
                    who: names.into_iter().map(str::to_owned).collect(),
                    ..PageRow::default()
                });
            }
        }
        rows.extend(self.walks(ask.by.as_deref()));
        rows.extend(self.told(|deed| matches!(deed, Deed::Moved(_))));
        rows
    }

    /// What was walked on each figure, from where to where; by one person, where one is named.
    fn walks(&self, by: Option<&str>) -> Vec<PageRow> {
        let mut walks: BTreeMap<(&str, &Work), Walk<'_>> = BTreeMap::new();
        let walked = self.kept.iter();
        for one in walked.filter(|one| by.is_none_or(|by| by == one.line.by)) {
            let (Book::Figure(figure), Some(work)) = (&one.book, work_of(&one.line.deed)) else {
                continue;
            };
            let walk = walks.entry((figure.as_str(), work)).or_default();
            walk.last = one.line.n;
            walk.who.insert(&one.line.by);
            match &one.line.deed {
                Deed::Begun(_) => walk.begun = true,
                Deed::Done(_) => walk.done += 1,
                Deed::Finished(_) => ", finished".clone_into(&mut walk.ending),
                Deed::SentBack(deed) => walk.ending = format!(", sent back to {}", deed.back_to),
                _ => {}
            }
        }
        walks
            .into_iter()
            .map(|((figure, work), walk)| self.walk(figure, work, &walk))
            .collect()
    }

    fn walk(&self, figure: &str, work: &Work, walk: &Walk<'_>) -> PageRow {
        let begun = if walk.begun { "begun" } else { "gone on with" };
        let done = match walk.done {
            0 => String::new(),
            steps => format!(", {} done", counted(steps, "step")),
        };
        let name = work_name(work, self.house.cards);
        PageRow {
            text: format!("{figure}: {name}, {begun}{done}{}", walk.ending),
            line: Some((figure.to_owned(), walk.last)),
            book: Some(figure.to_owned()),
            who: walk.who.iter().map(|by| (*by).to_owned()).collect(),
        }
    }

    fn waiting(&self) -> Vec<PageRow> {
        let waiting = holds(self.house, self.as_of);
        let matters = self.matters(&waiting, |matter| matter != Matter::Question);
        let signatures = waiting.into_iter().map(|hold| self.hold(hold));
        signatures.chain(matters).collect()
    }

    /// A hold point leads to the line after which it waits.
    fn hold(&self, hold: HoldWaiting) -> PageRow {
        let name = work_name(&hold.work, self.house.cards);
        let job = self
            .house
            .figure(&hold.figure)
            .and_then(|it| it.job(&hold.work));
        let n = job.map(|job| {
            let done = job.acts.values().filter_map(|act| act.done.as_ref());
            done.map(|stamp| stamp.n).fold(job.begun.n, u64::max)
        });
        let hands = job.map(|job| job.hands()).unwrap_or_default();
        let by = hold.may_sign.join(" or ");
        let hands = hands.into_iter().map(str::to_owned);
        PageRow {
            text: format!("{}: {name}: {} (by {by})", hold.figure, hold.told()),
            line: n.map(|n| (hold.figure.clone(), n)),
            who: hands.chain(hold.may_sign).collect(),
            book: Some(hold.figure),
        }
    }

    /// What no answer was given to, as of the page's moment.
    fn matters(&self, waiting: &[HoldWaiting], wanted: impl Fn(Matter) -> bool) -> Vec<PageRow> {
        let open = all_matters(self.house, waiting);
        open.filter(|(_, open)| wanted(open.matter))
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
        self.told(|deed| match deed {
            Deed::Deviated(_) | Deed::Discarded(_) | Deed::SentBack(_) | Deed::ClockJumped(_) => {
                true
            }
            Deed::Signed(deed) => !deed.accepted,
            Deed::Answered(deed) => !deed.accepted,
            _ => false,
        })
    }

    /// Readings that somebody had to confirm, and those out of the trend of their own series.
    fn readings(&self) -> Vec<PageRow> {
        let mut rows = self.told(|deed| matches!(deed, Deed::Recorded(deed) if deed.asked_again));
        let strays = out_of_trend(self.house, self.span.surely_before());
        let strays = strays.into_iter().filter(|one| self.span.holds(one.at));
        rows.extend(strays.map(|one| self.stray(one)));
        rows
    }

    fn stray(&self, one: OutOfTrend) -> PageRow {
        let book = one.figure.unwrap_or_else(|| "shop".to_owned());
        let line = one.line.or_else(|| self.air_line(&one.room, one.at));
        PageRow {
            text: format!("{} {book}: {}", self.hour(one.at), one.words),
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
            if let Some(at) = view.opens.filter(within) {
                hours.push((
                    at,
                    self.clock_row(view, &format!("{} ready", self.hour(at))),
                ));
            }
            if let Some(at) = view.closes.filter(within) {
                hours.push((at, self.clock_row(view, &format!("{} over", self.hour(at)))));
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

    /// The next day with opening hours; tomorrow where the shop has none at all.
    fn next_open_day(&self) -> NaiveDate {
        use chrono::Datelike;
        let ahead = |days| self.span.date.checked_add_days(Days::new(days));
        let open = |day: &NaiveDate| self.house.cards.shop.open.on(day.weekday()).0.is_some();
        (1..=7)
            .filter_map(ahead)
            .find(open)
            .or_else(|| ahead(1))
            .unwrap_or(self.span.date)
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
            let why = match (lot.past_date, lot.expires, lot.left) {
                (true, Some(expires), _) => format!(
                    "past its date: lot {} of {}, {expires}",
                    lot.lot, lot.material
                ),
                (_, _, Some(left)) if lot.under_one_job => format!(
                    "under one job's worth: lot {} of {}, {} left",
                    lot.lot,
                    lot.material,
                    amount(left, lot.unit)
                ),
                _ => continue,
            };
            rows.push(PageRow {
                line: lot.last_use,
                book: Some("shop".to_owned()),
                ..plain(why)
            });
        }
        rows
    }

    fn promises(&self) -> Vec<PageRow> {
        let mut near: Vec<(NaiveDate, PageRow)> = floor(self.house, self.as_of)
            .into_iter()
            .filter_map(|figure| {
                let promised = figure.promised?;
                let (done, of) = figure.route;
                let days = (promised - self.span.date).num_days();
                (days <= PROMISE_DAYS && done < of).then(|| {
                    let when = match days {
                        past if past < 0 => format!("{} ago", counted(-past, "day")),
                        0 => "today".to_owned(),
                        ahead => format!("in {}", counted(ahead, "day")),
                    };
                    let text = format!(
                        "{}: promised {promised}, {when}; {done} of {of} operations finished",
                        figure.figure
                    );
                    let book = Some(figure.figure);
                    (
                        promised,
                        PageRow {
                            book,
                            ..plain(text)
                        },
                    )
                })
            })
            .collect();
        near.sort_by_key(|(promised, _)| *promised);
        let mut rows: Vec<PageRow> = near.into_iter().map(|(_, row)| row).collect();
        let moved = moved(self.house, (self.span, self.as_of)).into_iter();
        rows.extend(moved.map(|(figure, text, n)| PageRow {
            line: Some(("shop".to_owned(), n)),
            book: Some(figure),
            ..plain(text)
        }));
        rows
    }

    fn questions(&self) -> Vec<PageRow> {
        self.matters(&[], |matter| matter == Matter::Question)
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
            (false, _) => "%a %-d %b %H:%M",
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
            format!(", {}", local.format("%-d %b"))
        }
    }
}

/// What these days did to one walk.
#[derive(Debug, Default)]
struct Walk<'a> {
    begun: bool,
    done: usize,
    ending: String,
    last: u64,
    who: BTreeSet<&'a str>,
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

fn joined(names: &BTreeSet<&str>) -> String {
    names.iter().copied().collect::<Vec<_>>().join(", ")
}
