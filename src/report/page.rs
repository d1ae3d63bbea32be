//! The supervisor's page: one day in ten points, each row with the number of the line that it
//! leads to, to be read in three minutes.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Days, FixedOffset, NaiveDate};

use super::day::{DaySpan, book_name, struck_lines};
use super::harmless::harmless;
use super::shown::clock_name;
use super::tell::{gate_name, tell, work_name, work_of};
use crate::card::ClockName;
use crate::deed::{Deed, Work};
use crate::shop::KeptLine;
use crate::standing::{
    Book, ClockState, ClockView, House, Matter, clock_views, floor, holds, overrules,
};

/// The supervisor's page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayPage {
    /// Name over the door.
    pub shop: String,
    /// The day.
    pub date: NaiveDate,
    /// As of when what waits and what runs is told.
    pub as_of: DateTime<FixedOffset>,
    /// The ten points in their order.
    pub points: Vec<Point>,
}

/// One point of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// Its number, 1 to 10.
    pub number: u8,
    /// What it is about.
    pub title: &'static str,
    /// Its rows; empty when there is nothing to tell.
    pub rows: Vec<PageRow>,
}

/// One row of a point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageRow {
    /// The row in words.
    pub text: String,
    /// The line it leads to: book and number.
    pub line: Option<(String, u64)>,
}

/// Days ahead of a promise from which on the page names it. Chosen here: a month is about
/// what is left to move when a coat has to be laid anew.
const PROMISE_DAYS: i64 = 30;

/// Returns the page of a day. `kept` are the lines of the day and after it, `house` is what
/// stood at `as_of`, which is now, or the end of a day that is over.
pub fn day_page(
    kept: &[KeptLine],
    house: House<'_>,
    (span, as_of): (DaySpan, DateTime<FixedOffset>),
) -> DayPage {
    let struck = struck_lines(kept);
    let counts = |one: &&KeptLine| {
        span.holds(one.line.at) && !struck.contains(&(one.book.clone(), one.line.n))
    };
    let day = Day {
        kept: kept.iter().filter(counts).collect(),
        clocks: clock_views(house, as_of),
        house,
        span,
        as_of,
    };
    let points: [(&'static str, Vec<PageRow>); 10] = [
        ("who was in, what moved", day.moved()),
        ("waits for a signature or an answer", day.waiting()),
        ("gates overruled", day.overruled()),
        ("otherwise than planned", day.deviations()),
        ("readings outside the usual", day.readings()),
        ("clocks over, cups not reported", day.overdue()),
        ("fixed hours until the next day is over", day.fixed_hours()),
        ("lots opened, lots past their date", day.lots()),
        ("promises near, past or moved", day.promises()),
        ("questions from the bench", day.questions()),
    ];
    DayPage {
        shop: house.cards.shop.name.clone(),
        date: span.date,
        as_of,
        points: (1u8..)
            .zip(points)
            .map(|(number, (title, rows))| Point {
                number,
                title,
                rows,
            })
            .collect(),
    }
}

impl DayPage {
    /// Returns the page as plain text, each row with its line in brackets.
    pub fn text(&self) -> String {
        let date = self.date.format("%A %-d %B %Y");
        let as_of = if self.as_of.date_naive() == self.date {
            format!("at {}", self.as_of.format("%H:%M"))
        } else {
            "at its end".to_owned()
        };
        let mut lines = vec![
            harmless(&self.shop).into_owned(),
            format!("{date}, as it stood {as_of}"),
        ];
        for point in &self.points {
            lines.push(format!("\n{:>2}  {}", point.number, point.title));
            lines.extend(point.rows.iter().map(PageRow::text));
            if point.rows.is_empty() {
                lines.push("    –".to_owned());
            }
        }
        lines.push(String::new());
        lines.join("\n")
    }
}

impl PageRow {
    fn text(&self) -> String {
        let line = self.line.as_ref();
        let line = line.map_or_else(String::new, |(book, n)| format!("  [{book}:{n}]"));
        format!("    {}{line}", harmless(&self.text))
    }
}

/// What the points are made of.
struct Day<'a> {
    /// The lines of the day that count.
    kept: Vec<&'a KeptLine>,
    /// The clocks that no hand had ended.
    clocks: Vec<ClockView>,
    house: House<'a>,
    span: DaySpan,
    as_of: DateTime<FixedOffset>,
}

impl Day<'_> {
    fn moved(&self) -> Vec<PageRow> {
        let mut rows = Vec::new();
        let mut present: BTreeSet<&str> = BTreeSet::new();
        for one in &self.kept {
            if let Deed::DayOpened(deed) = &one.line.deed {
                present.extend(deed.present.iter().map(String::as_str));
            }
        }
        if !present.is_empty() {
            rows.push(plain(format!("in: {}", joined(&present))));
        }
        let wrote = self.kept.iter().map(|one| one.line.by.as_str());
        let others: BTreeSet<&str> = wrote.filter(|by| !present.contains(by)).collect();
        if !others.is_empty() {
            rows.push(plain(format!("wrote lines: {}", joined(&others))));
        }
        rows.extend(self.walks());
        rows.extend(self.told(|deed| matches!(deed, Deed::Moved(_))));
        rows
    }

    /// What was walked on each figure, from where to where.
    fn walks(&self) -> Vec<PageRow> {
        let mut walks: BTreeMap<(&str, &Work), Walk> = BTreeMap::new();
        for one in &self.kept {
            let (Book::Figure(figure), Some(work)) = (&one.book, work_of(&one.line.deed)) else {
                continue;
            };
            let walk = walks.entry((figure.as_str(), work)).or_default();
            walk.last = one.line.n;
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
            .map(|((figure, work), walk)| {
                let begun = if walk.begun { "begun" } else { "gone on with" };
                let done = match walk.done {
                    0 => String::new(),
                    1 => ", 1 step done".to_owned(),
                    more => format!(", {more} steps done"),
                };
                let name = work_name(work, self.house.cards);
                let text = format!("{figure}: {name}, {begun}{done}{}", walk.ending);
                PageRow {
                    text,
                    line: Some((figure.to_owned(), walk.last)),
                }
            })
            .collect()
    }

    fn waiting(&self) -> Vec<PageRow> {
        let cards = self.house.cards;
        let signatures = holds(self.house, self.as_of).into_iter().map(|hold| {
            let name = work_name(&hold.work, cards);
            let by = hold.may_sign.join(" or ");
            plain(format!("{}: {name}: {} (by {by})", hold.figure, hold.sign))
        });
        signatures
            .chain(self.matters(|matter| matter != Matter::Question))
            .collect()
    }

    /// What no answer was given to, as of the page's moment.
    fn matters(&self, wanted: impl Fn(Matter) -> bool) -> Vec<PageRow> {
        let mut rows = Vec::new();
        for (figure, standing) in &self.house.standing.figures {
            for open in standing.unanswered().filter(|open| wanted(open.matter)) {
                let day = self.on_other_day(open.stamp.at);
                let kind = match open.matter {
                    Matter::Overrule(gate) => format!("{} overruled: ", gate_name(gate)),
                    Matter::Deviation(_) => "otherwise than planned: ".to_owned(),
                    Matter::HoldRefused => "hold point refused: ".to_owned(),
                    Matter::Question => String::new(),
                };
                rows.push(PageRow {
                    text: format!("{figure}: {kind}{} ({}{day})", open.what, open.stamp.by),
                    line: Some((figure.clone(), open.stamp.n)),
                });
            }
        }
        rows
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

    fn readings(&self) -> Vec<PageRow> {
        self.told(|deed| matches!(deed, Deed::Recorded(deed) if deed.asked_again))
    }

    fn overdue(&self) -> Vec<PageRow> {
        let mut rows: Vec<PageRow> = self
            .clocks
            .iter()
            .filter_map(|view| {
                let since = match view.state {
                    ClockState::Over => format!("over since {}", self.hour(view.closes?)),
                    ClockState::Come if view.clock == ClockName::Leftover => {
                        format!("due {}, not reported cold", self.hour(view.opens?))
                    }
                    _ => return None,
                };
                Some(clock_row(view, &since))
            })
            .collect();
        for one in &self.kept {
            if let Deed::DayClosed(deed) = &one.line.deed {
                rows.extend(
                    deed.left_open
                        .iter()
                        .map(|open| row(one, format!("left open at closing: {open}"))),
                );
            }
        }
        rows
    }

    /// Openings and closings of clocks from the end of this day to the end of the next day on
    /// which the shop is open; a closed day between them is told too, for clocks run on.
    fn fixed_hours(&self) -> Vec<PageRow> {
        let begin = self.span.ends();
        let end = DaySpan {
            date: self.next_open_day(),
            zone: self.span.zone,
        }
        .ends();
        let within = |at: &DateTime<FixedOffset>| begin <= *at && *at < end;
        let mut hours: Vec<(DateTime<FixedOffset>, PageRow)> = Vec::new();
        for view in &self.clocks {
            if let Some(at) = view.opens.filter(within) {
                hours.push((at, clock_row(view, &format!("{} ready", self.hour(at)))));
            }
            if let Some(at) = view.closes.filter(within) {
                hours.push((at, clock_row(view, &format!("{} over", self.hour(at)))));
            }
        }
        hours.sort_by_key(|(at, _)| *at);
        hours.into_iter().map(|(_, row)| row).collect()
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
        let opened =
            self.house.standing.shop.lots.iter().filter_map(|(lot, _)| {
                Some((lot.expires?, lot.material.as_str(), lot.lot.as_str()))
            });
        let on_cards = self.house.cards.materials.values().flat_map(|card| {
            let lots = card.lots.iter();
            lots.filter_map(|lot| Some((lot.expires?, card.id.as_str(), lot.lot.as_str())))
        });
        let past: BTreeSet<_> = opened
            .chain(on_cards)
            .filter(|(expires, _, _)| *expires < self.span.date)
            .collect();
        rows.extend(past.into_iter().map(|(expires, material, lot)| {
            plain(format!("past its date: lot {lot} of {material}, {expires}"))
        }));
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
                        past if past < 0 => format!("{} days ago", -past),
                        0 => "today".to_owned(),
                        ahead => format!("in {ahead} days"),
                    };
                    let text = format!(
                        "{}: promised {promised}, {when}; {done} of {of} operations finished",
                        figure.figure
                    );
                    (promised, plain(text))
                })
            })
            .collect();
        near.sort_by_key(|(promised, _)| *promised);
        let mut rows: Vec<PageRow> = near.into_iter().map(|(_, row)| row).collect();
        rows.extend(
            super::moved::moved(self.house, self.as_of)
                .into_iter()
                .map(plain),
        );
        rows
    }

    fn questions(&self) -> Vec<PageRow> {
        self.matters(|matter| matter == Matter::Question)
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

    /// The hour in the shop's zone, with its day unless it is the page's own.
    fn hour(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.span.zone.show(at.to_utc());
        if local.date_naive() == self.span.date {
            local.format("%H:%M").to_string()
        } else {
            local.format("%a %-d %b %H:%M").to_string()
        }
    }

    fn on_other_day(&self, at: DateTime<FixedOffset>) -> String {
        if self.span.holds(at) {
            String::new()
        } else {
            let local = self.span.zone.show(at.to_utc());
            format!(", {}", local.format("%-d %b"))
        }
    }
}

/// What a day did to one walk.
#[derive(Debug, Default)]
struct Walk {
    begun: bool,
    done: usize,
    ending: String,
    last: u64,
}

fn clock_row(view: &ClockView, when: &str) -> PageRow {
    let name = clock_name(view.clock);
    let n = view.id.split('.').next().and_then(|n| n.parse().ok());
    PageRow {
        text: format!("{when}: {}, {name}: {}", view.figure, view.about),
        line: n.map(|n| (view.figure.clone(), n)),
    }
}

fn plain(text: String) -> PageRow {
    PageRow { text, line: None }
}

fn row(one: &KeptLine, text: String) -> PageRow {
    PageRow {
        text,
        line: Some((book_name(&one.book).to_owned(), one.line.n)),
    }
}

fn joined(names: &BTreeSet<&str>) -> String {
    names.iter().copied().collect::<Vec<_>>().join(", ")
}
