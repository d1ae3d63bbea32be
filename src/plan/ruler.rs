//! The search behind the night ruler, in five-minute marks from the first moment at which size
//! could be laid. It knows marks, sizes and air; names, dates and words belong to `night.rs`.
//!
//! Each mark is asked once when size laid then is ready and dead; every plan is read off these.

use super::leafing::Piece;
use crate::reckon::limits::SumTrouble;
use crate::reckon::{Hours, LeafPlace};
use crate::standing::{Damp, SizeSheet, Traces};

/// Minutes between two marks.
pub(super) const MARK_MIN: f64 = 5.0;

/// Less than this is the dust of binary fractions, minutes; far below the margin.
const DUST_MIN: f64 = 1e-6;

/// What must be left between the end of laying and dead size, minutes: half an hour, as the
/// trade plans a morning (*common practice*).
pub(super) const MARGIN_MIN: f64 = 30.0;

/// The first test comes at this share of the early time (*common practice*).
const FIRST_TEST: f64 = 0.6;

/// How sure a plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// Ready late and dead early both fit.
    Sure,
    /// Only the likely times fit: the chip and the knuckle decide.
    Likely,
}

/// What size laid at one mark does, in minutes from the first mark.
#[derive(Debug, Clone, Copy)]
struct Moment {
    flat: f64,
    hollow: f64,
    dead: f64,
    /// Dead at the soonest, however sure the plan is.
    doomed: f64,
    test: f64,
}

/// Every mark of the evening, and when people are there.
#[derive(Debug, Clone)]
pub(super) struct Ruler {
    /// Minute of each mark and what size laid then does.
    moments: Vec<(f64, Moment)>,
    /// Spans of presence in minutes from the first mark.
    present: Vec<(f64, f64)>,
}

/// The air that is to come.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ahead<'a> {
    pub(super) traces: &'a Traces,
    pub(super) damp: Damp,
    /// Hours of the traces at which the first mark lies.
    pub(super) first: f64,
}

/// One panel on a plan, in minutes from the first mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    /// Which piece.
    pub(super) piece: usize,
    pub(super) sized: (f64, f64),
    pub(super) ready: f64,
    pub(super) dead: f64,
    pub(super) start: f64,
    pub(super) end: f64,
}

/// One evening and one morning, in minutes from the first mark.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    pub(super) laid: f64,
    pub(super) rows: Vec<Row>,
    pub(super) margin: f64,
    pub(super) first_test: f64,
    /// When the first of it may be dead, at the soonest.
    pub(super) doomed: f64,
}

/// Why size laid at a mark does not work, what comes nearest to working last.
#[derive(Debug, Clone, PartialEq, PartialOrd)]
pub(super) enum Snag {
    /// The room stays too cold for it ever to come.
    Never,
    /// It may be dead before it is ready: minutes from laying to dead, and to ready.
    NoWindow { dead: f64, ready: f64 },
    /// The window is shorter than the laying, minutes.
    TooShort { window: f64, laying: f64 },
    /// The window lies where nobody is there, minutes from the first mark.
    NobodyThere { from: f64, to: f64 },
    /// Each panel would fit, all together do not, minutes.
    Crowded { laying: f64 },
}

impl Ruler {
    /// Returns the ruler of an evening: one moment for each mark until the doors close.
    pub(super) fn new(
        sheet: &SizeSheet,
        ahead: Ahead<'_>,
        present: Vec<(f64, f64)>,
        certainty: Certainty,
    ) -> Self {
        let today = present.first().map_or(0.0, |span| span.1);
        let marks = (0..).map(|mark| f64::from(mark) * MARK_MIN);
        let moments = marks
            .take_while(|minute| *minute <= today + DUST_MIN)
            .map(|minute| (minute, moment(sheet, ahead, minute, certainty)))
            .collect();
        Self { moments, present }
    }

    /// Returns every mark at which size could be laid today so that all of it is laid before
    /// the doors close, with the plan or the snag.
    pub(super) fn courses(
        &self,
        pieces: &[&Piece],
        gilders: u32,
    ) -> Vec<(f64, Result<Course, Snag>)> {
        let closes = self.present.first().map_or(0.0, |span| span.1);
        let sizing: f64 = pieces.iter().map(|piece| up(piece.sizing_min)).sum();
        self.moments
            .iter()
            .map(|(laid, _)| *laid)
            .take_while(|laid| laid + sizing <= closes + DUST_MIN)
            .map(|laid| (laid, self.course(pieces, gilders, laid)))
            .collect()
    }

    fn at(&self, minute: f64) -> Option<Moment> {
        let after = self
            .moments
            .partition_point(|(mark, _)| *mark <= minute + DUST_MIN);
        let before = self.moments.get(after.checked_sub(1)?)?;
        Some(before.1)
    }

    fn course(&self, pieces: &[&Piece], gilders: u32, laid: f64) -> Result<Course, Snag> {
        let mut rows = Vec::new();
        let mut first = (f64::INFINITY, f64::INFINITY);
        let mut from = laid;
        for (piece, card) in pieces.iter().enumerate() {
            let to = from + up(card.sizing_min);
            // Dead counts from the first stroke, ready from the last.
            let (Some(begun), Some(ended)) = (self.at(from), self.at(to)) else {
                return Err(Snag::Never);
            };
            let ready = match card.last_place() {
                LeafPlace::Hollow => ended.hollow,
                LeafPlace::Edge | LeafPlace::Flat => ended.flat,
            };
            let laying = up(card.laying_min / f64::from(gilders.max(1)));
            let row = Row {
                piece,
                sized: (from, to),
                ready,
                dead: begun.dead,
                start: laying,
                end: laying,
            };
            self.alone(&row, laying)?;
            rows.push(row);
            first = (first.0.min(begun.test), first.1.min(begun.doomed));
            from = to;
        }
        self.schedule(rows, laid, first)
    }

    /// Whether a panel would fit if it were the only one.
    fn alone(&self, row: &Row, laying: f64) -> Result<(), Snag> {
        let since = row.sized.0;
        if !row.ready.is_finite() {
            return Err(Snag::Never);
        }
        let window = row.dead - MARGIN_MIN - row.ready;
        if window <= 0.0 {
            let (dead, ready) = (row.dead - since, row.ready - since);
            return Err(Snag::NoWindow { dead, ready });
        }
        if window < laying {
            return Err(Snag::TooShort { window, laying });
        }
        let start = self.when_there(row.ready, laying);
        if start.is_none_or(|start| row.dead - MARGIN_MIN < start + laying) {
            let (from, to) = (row.ready, row.dead - MARGIN_MIN);
            return Err(Snag::NobodyThere { from, to });
        }
        Ok(())
    }

    /// Lays the panels one after the other, what dies first first.
    fn schedule(
        &self,
        mut rows: Vec<Row>,
        laid: f64,
        (first_test, doomed): (f64, f64),
    ) -> Result<Course, Snag> {
        let laying: f64 = rows.iter().map(|row| row.end).sum();
        rows.sort_by(|a, b| {
            let dead = a.dead.total_cmp(&b.dead);
            dead.then_with(|| a.ready.total_cmp(&b.ready))
        });
        let mut free = f64::NEG_INFINITY;
        let mut margin = f64::INFINITY;
        for row in &mut rows {
            let long = row.end;
            let start = self.when_there(row.ready.max(free), long);
            let start = start.ok_or(Snag::Crowded { laying })?;
            (row.start, row.end) = (start, start + long);
            if row.dead - MARGIN_MIN < row.end {
                return Err(Snag::Crowded { laying });
            }
            margin = margin.min(row.dead - row.end);
            free = row.end;
        }
        Ok(Course {
            laid,
            rows,
            margin,
            first_test,
            doomed,
        })
    }

    /// The first mark from `minute` on at which somebody is there for so long.
    fn when_there(&self, minute: f64, long: f64) -> Option<f64> {
        self.present.iter().find_map(|(from, to)| {
            let start = up(minute.max(*from));
            (start + long <= *to + DUST_MIN).then_some(start)
        })
    }
}

/// A margin that is so little longer is no better, minutes (own choice: nobody lays size to the
/// minute).
const ALIKE_MIN: f64 = 1.0;

/// Returns the plan with the greatest least margin; of those that are alike the earliest, so that
/// the minute at which one asks does not choose among them.
pub(super) fn best(courses: &[(f64, Result<Course, Snag>)]) -> Option<&Course> {
    let works = courses
        .iter()
        .filter_map(|(_, course)| course.as_ref().ok());
    let most = works.clone().map(|course| course.margin).reduce(f64::max)?;
    let mut works = works;
    works.find(|course| most <= course.margin + ALIKE_MIN)
}

/// Returns the spans of marks that work, each from its first to its last mark.
pub(super) fn spans(courses: &[(f64, Result<Course, Snag>)]) -> Vec<(f64, f64)> {
    let mut spans: Vec<(f64, f64)> = Vec::new();
    for (laid, _) in courses.iter().filter(|(_, course)| course.is_ok()) {
        match spans.last_mut() {
            Some((_, to)) if laid - *to <= MARK_MIN => *to = *laid,
            _ => spans.push((*laid, *laid)),
        }
    }
    spans
}

/// Returns the snag that came nearest to working.
pub(super) fn nearest(courses: &[(f64, Result<Course, Snag>)]) -> Option<&Snag> {
    let snags = courses
        .iter()
        .filter_map(|(_, course)| course.as_ref().err());
    snags.reduce(|nearest, snag| if nearest < snag { snag } else { nearest })
}

/// Rounds up to a mark, so that no plan is shorter than what it stands for.
pub(super) fn up(minute: f64) -> f64 {
    ((minute - DUST_MIN) / MARK_MIN).ceil() * MARK_MIN
}

fn moment(sheet: &SizeSheet, ahead: Ahead<'_>, minute: f64, certainty: Certainty) -> Moment {
    let laid = Hours(ahead.first + minute / 60.0);
    let air = (ahead.traces, ahead.damp);
    let since = |hours: f64| minute + hours * 60.0;
    let early = sheet.earliest(air, laid);
    // What cannot be reckoned never comes ready, and is dead at once.
    let ready = |place| match certainty {
        Certainty::Sure => hours(sheet.latest(place, air, laid), |tack| {
            tack.ready.wait_until()
        }),
        Certainty::Likely => hours(sheet.middling(place, air, laid), |tack| tack.ready.likely()),
    };
    let doomed = early.as_ref().map_or(0.0, |tack| tack.dead.do_before().0);
    let dead = match certainty {
        Certainty::Sure => doomed,
        Certainty::Likely => sheet
            .middling(LeafPlace::Edge, air, laid)
            .map_or(0.0, |tack| tack.dead.likely().0),
    };
    let test = early.map_or(0.0, |tack| tack.ready.do_before().0 * FIRST_TEST);
    Moment {
        flat: since(ready(LeafPlace::Flat)),
        hollow: since(ready(LeafPlace::Hollow)),
        dead: since(dead),
        doomed: since(doomed),
        test: since(test),
    }
}

fn hours<T>(found: Result<T, SumTrouble>, of: impl Fn(T) -> Hours) -> f64 {
    found.map_or(f64::INFINITY, |found| of(found).0)
}
