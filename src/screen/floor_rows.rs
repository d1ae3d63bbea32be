//! Which figures the floor shows, and in which order: what was sought, what comes first.

use chrono::{Datelike, NaiveDate};

use crate::standing::{ClockState, FloorRow, Leg};

use super::field::Field;
use super::keys::Act;
use super::look::{Sign, Tone};
use super::sight::Sight;
use super::view::{FloorOrder, Make, Over, View, Write};

/// A promise as the last forecast saw it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AtRisk {
    /// Share of runs that end after the promised day, %.
    pub late_percent: u32,
    /// Done by then in nine of ten runs; `None` where no end is in sight.
    pub ninety: Option<NaiveDate>,
}

impl AtRisk {
    /// Returns the risk in words, the late date first.
    pub fn words(self, promised: Option<NaiveDate>) -> String {
        let late = self.ninety.map(|_| self.late_percent);
        let late = late.map_or_else(String::new, |late| format!(", late in {late} %"));
        format!("{}{late}", self.short(promised))
    }

    /// Returns the late date alone, with its year where that is not the year of the promise.
    pub fn short(self, promised: Option<NaiveDate>) -> String {
        let Some(day) = self.ninety else {
            return "▲ no end in sight".to_owned();
        };
        let is_same = promised.is_some_and(|promised| promised.year() == day.year());
        let day = day.format(if is_same { "%d %b" } else { "%d %b %Y" });
        format!("▲ 90 % by {day}")
    }
}

/// Returns the figures that were sought, in the order asked for.
pub(super) fn shown<'s>(view: &View, sight: &'s Sight) -> Vec<&'s FloorRow> {
    let sought = sought(view).to_lowercase();
    let fits = |row: &&FloorRow| {
        let text = text(row, sight);
        sought.split_whitespace().all(|word| text.contains(word))
    };
    let mut rows: Vec<&FloorRow> = sight.floor.iter().filter(fits).collect();
    match view.floor.order {
        // The overview has them in this order.
        FloorOrder::DiesFirst => {}
        FloorOrder::Promise => rows.sort_by_key(|row| {
            let risk = sight.at_risk.get(&row.figure);
            let late = risk.map_or(0, |risk| risk.late_percent);
            (
                std::cmp::Reverse(late),
                row.promised.unwrap_or(NaiveDate::MAX),
            )
        }),
        FloorOrder::Name => rows.sort_by_key(|row| (row.name.to_lowercase(), &row.figure)),
        FloorOrder::Waiting => rows.sort_by_key(|row| {
            let since = row.since.filter(|_| !row.waits_for.is_empty());
            since.map_or(i64::MAX, |at| at.timestamp())
        }),
    }
    rows
}

/// Turns the rows over, or shows others; says whether the act was about that.
pub(super) fn turn(view: &mut View, sight: &Sight, act: Act) -> bool {
    let fit = view.rows.max(1);
    let last = shown(view, sight).len().saturating_sub(fit);
    let skip = view.skip.min(last);
    view.skip = match act {
        Act::Up => skip.saturating_sub(1),
        Act::Down => (skip + 1).min(last),
        Act::FarUp => skip.saturating_sub(fit),
        Act::FarDown => (skip + fit).min(last),
        Act::More if skip == last => 0,
        Act::More => (skip + fit.min(9)).min(last),
        Act::Order => {
            view.floor.order = view.floor.order.next();
            0
        }
        Act::Find => {
            view.over = Over::Write(Write {
                title: "seek a figure: name, room, operation, wait; the past: `knuckle recall`"
                    .to_owned(),
                field: Field::default(),
                make: Make::Find,
            });
            0
        }
        _ => return false,
    };
    true
}

/// Returns the figure at a place of the page, from 1.
pub(super) fn picked<'s>(view: &View, sight: &'s Sight, place: u8) -> Option<&'s FloorRow> {
    let rows = shown(view, sight);
    let skip = view.skip.min(rows.len().saturating_sub(view.rows));
    let place = (skip + usize::from(place)).checked_sub(1)?;
    rows.get(place).copied()
}

/// Returns what is sought: the words being written, else those that were taken.
pub(super) fn sought(view: &View) -> &str {
    match &view.over {
        Over::Write(write) if write.make == Make::Find => write.field.words(),
        _ => &view.floor.find,
    }
}

/// All that a figure is found by.
fn text(row: &FloorRow, sight: &Sight) -> String {
    let work = row.doing.as_ref().map(|(work, _)| work);
    let work = work.or(row.ahead.as_ref());
    let (operation, target) = work.map_or(("", ""), |work| {
        let title = sight.operation_title(&work.operation);
        (title, work.target.as_deref().unwrap_or_default())
    });
    let (name, room, waits) = (&row.name, &row.room, &row.waits_for);
    let stands = state(row).word;
    let id = &row.figure;
    format!("{name} {id} {room} {operation} {target} {stands} {waits}").to_lowercase()
}

/// Returns how a figure stands now.
pub(super) fn state(row: &FloorRow) -> Sign {
    let clock = row.next.as_ref().map(|clock| clock.state);
    if row.unread {
        return Sign::new("✗", "not known", Tone::Bole);
    }
    match (clock, row.waits_for.is_empty(), &row.doing) {
        (Some(ClockState::Over), _, _) => Sign::new("▲", "over", Tone::BolePlate),
        (Some(ClockState::Come), _, _) => Sign::new("●", "come", Tone::Verdigris),
        (_, false, _) => Sign::new("◇", "waits", Tone::Rubbed),
        (_, true, Some(_)) => Sign::new("◆", "in hand", Tone::Gilt),
        (_, true, None) if is_done(row) => Sign::new("✓", "done", Tone::Verdigris),
        (_, true, None) => Sign::new("○", "free", Tone::Verdigris),
    }
}

/// Returns whether a figure has come to the end of its route.
pub(super) fn is_done(row: &FloorRow) -> bool {
    let (done, of) = row.route;
    0 < of && done == of && row.doing.is_none()
}

/// Returns the sign of a leg of the journey.
pub(super) fn leg(leg: Leg) -> Sign {
    match leg {
        Leg::Done => Sign::new("■", "done", Tone::Verdigris),
        Leg::AtWork => Sign::new("◆", "at work", Tone::Gilt),
        Leg::Ahead => Sign::new("□", "ahead", Tone::Chalk),
        Leg::Off => Sign::new("·", "not on the route", Tone::Rubbed),
    }
}
