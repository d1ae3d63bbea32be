//! The ruler of the night: when to lay size this evening, panel by panel, so that all of it is
//! ready late and dead early inside tomorrow's hours. What it offers as sure is sure on the
//! safe side of everything the sheet, the air log and the trade know; what it cannot be sure
//! of it says, and names what would help.

use chrono::{DateTime, FixedOffset, Timelike};

use super::hours::{Place, Present, gilds_on, next_nights, presence_ahead};
use super::leafing::Piece;
use super::lots::{Shelf, no_lot, pieces, sizes};
use super::otherwise;
use super::remedies;
use super::ruler::{
    Ahead, Certainty, Course, MARGIN_MIN, Row, Ruler, Snag, best, nearest, spans, up,
};
use crate::reckon::{Hours, LeafPlace, Minutes};
use crate::standing::{Damp, House, Traces, after, damp, damp_held, hours_between, latest, traces};

/// From the closing of the doors to their next opening it is no longer than this, minutes, where
/// no day is left out (own choice).
const NIGHT_MIN: f64 = 20.0 * 60.0;

/// What the ruler is asked.
#[derive(Debug, Clone, Copy)]
pub struct NightAsk<'a> {
    /// Figure id.
    pub figure: &'a str,
    /// Panels; empty means all whose leaf is next or begun.
    pub panels: &'a [String],
    /// Material id of the size; absent means the one that works best.
    pub size: Option<&'a str>,
    /// Gilders present tomorrow, at least 1.
    pub gilders: u32,
    /// Leaves an hour, faulting included, where the gilder knows; absent means the slow end of
    /// the trade's pace.
    pub leaves_per_h: Option<f64>,
    /// Offset after tonight, for a shop whose card names no time zone.
    pub tomorrow: FixedOffset,
}

/// The size that was planned with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SizeChoice {
    /// Material id.
    pub material: String,
    /// Name.
    pub name: String,
    /// Lot.
    pub lot: String,
    /// Whether the tin is still sealed.
    pub sealed: bool,
    /// Where its times come from: `from sheet`, `from this lot (n = 6)`.
    pub provenance: String,
}

/// Lay times that work, from the first to the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LaySpan {
    /// First.
    pub from: DateTime<FixedOffset>,
    /// Last.
    pub to: DateTime<FixedOffset>,
}

/// When one place of a panel takes leaf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlaceSpan {
    /// Which place.
    pub place: LeafPlace,
    /// When it is ready.
    pub ready: DateTime<FixedOffset>,
    /// When it takes no more leaf.
    pub dead: DateTime<FixedOffset>,
}

/// One panel of the plan, in the order in which they are laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Leafing {
    /// What the panel asks.
    pub piece: Piece,
    /// When its size is laid.
    pub sized: LaySpan,
    /// When its last place is ready.
    pub ready: DateTime<FixedOffset>,
    /// When its first place is dead.
    pub dead: DateTime<FixedOffset>,
    /// When its leaf begins.
    pub start: DateTime<FixedOffset>,
    /// When it is laid and faulted.
    pub end: DateTime<FixedOffset>,
    /// Its places one by one, what dies first first: edge, flat and, where there are any,
    /// hollows.
    pub places: Vec<PlaceSpan>,
}

/// The ruler of one night.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Night {
    /// Figure id.
    pub figure: String,
    /// The size planned with.
    pub size: Option<SizeChoice>,
    /// How sure the plan below is; absent where there is none.
    pub certainty: Option<Certainty>,
    /// Lay times that surely work.
    pub works: Vec<LaySpan>,
    /// Lay times that likely work, where none surely does: chip and knuckle decide.
    pub likely: Vec<LaySpan>,
    /// The lay time with the greatest margin.
    pub best: Option<DateTime<FixedOffset>>,
    /// The first lay time.
    pub earliest: Option<DateTime<FixedOffset>>,
    /// The last lay time.
    pub latest: Option<DateTime<FixedOffset>>,
    /// The panels in the order in which their leaf is laid, for the best lay time.
    pub order: Vec<Leafing>,
    /// When the chip is tried first: while somebody is there, else when the doors open, if
    /// nothing can be dead by then.
    pub first_test: Option<DateTime<FixedOffset>>,
    /// Whether a hand must come for it while the doors are shut.
    pub hand_at_test: bool,
    /// When to come in.
    pub come_in_at: Option<DateTime<FixedOffset>>,
    /// The least time between the end of a panel and its dead size.
    pub margin: Option<Minutes>,
    /// When somebody is there.
    pub present: Vec<Present>,
    /// What the panels of tonight ask, on the card's order.
    pub pieces: Vec<Piece>,
    /// Panels that were not planned, and why.
    pub left_out: Vec<(String, String)>,
    /// Why no lay time surely works.
    pub why_empty: Option<String>,
    /// Why size is not laid in the air as it was last read.
    pub not_now: Option<String>,
    /// What would open a sure time.
    pub would_open: Vec<String>,
    /// What to know besides.
    pub notes: Vec<String>,
    /// Where the times come from, one line.
    pub because: String,
}

/// Everything a plan of tonight is read off.
pub(super) struct Evening<'a> {
    house: House<'a>,
    room: &'a str,
    now: DateTime<FixedOffset>,
    place: Place,
    pub(super) traces: Traces,
    pub(super) damp: Damp,
    /// Hours from now to the first mark.
    pub(super) first: f64,
    present: Vec<(f64, f64)>,
    pub(super) shelf: Vec<Shelf<'a>>,
    pub(super) pieces: Vec<Piece>,
    pub(super) gilders: u32,
}

/// The lay times of one size with their plans or snags.
pub(super) type Courses = Vec<(f64, Result<Course, Snag>)>;

/// Returns the ruler of the night that begins at `now`.
///
/// Candidates lie every five minutes from now, or from opening, until the doors close less the
/// time that laying the size takes. Ready counts from the last stroke, over the coldest and
/// dampest air of the last seven days, in the hollow; dead from the first stroke, over the
/// hottest and driest, at the edge; half an hour stays between the end of laying and dead.
pub fn night(house: House<'_>, ask: &NightAsk<'_>, now: DateTime<FixedOffset>) -> Night {
    let mut page = Night {
        figure: ask.figure.to_owned(),
        ..Night::default()
    };
    match evening(house, ask, now, &mut page) {
        Ok(evening) => plan(&evening, ask, page),
        Err(why) => {
            page.why_empty = Some(why);
            page
        }
    }
}

fn evening<'a>(
    house: House<'a>,
    ask: &NightAsk<'_>,
    now: DateTime<FixedOffset>,
    page: &mut Night,
) -> Result<Evening<'a>, String> {
    let card = house.cards.figures.get(ask.figure);
    let card = card.ok_or_else(|| format!("no figure is called `{}`", ask.figure))?;
    page.present = next_nights(&house.cards.shop, now, ask.tomorrow);
    let (pieces, left_out) = pieces(house, card, (ask, now, &page.present));
    page.left_out = left_out;
    page.pieces.clone_from(&pieces);
    if pieces.is_empty() {
        let how = if page.left_out.is_empty() {
            "waits"
        } else {
            "is ready"
        };
        return Err(format!("no panel of {} {how} for size tonight", card.name));
    }
    let place = Place::of(&house.cards.shop, ask.tomorrow);
    let today = place.show(now, now).date_naive();
    let tonight = page.present.first();
    let nobody = || {
        if presence_ahead(&house.cards.shop, now, ask.tomorrow).is_empty() {
            "the shop is closed for weeks: nobody is there to lay size"
        } else {
            "who may gild is away for weeks: nobody is there to lay size"
        }
    };
    let tonight = tonight.ok_or_else(nobody)?;
    if today < tonight.from.date_naive() {
        let from = tonight.from.format("%a %-d %b from %H:%M");
        let why = if gilds_on(&house.cards.shop, today) {
            "the shop is closed"
        } else {
            "who may gild is away today"
        };
        page.not_now = Some(format!("{why}; this is for {from}"));
    }
    let (mut shelf, lacking) = sizes(house, now);
    // The named size first; the others stay for what would open.
    shelf.sort_by_key(|one| ask.size.is_some_and(|named| one.material.id != named));
    let Some(sheet_c) = shelf.first().and_then(|one| one.material.tack_h) else {
        return Err(match lacking.as_slice() {
            [] => "no size has a card: write one in materials/ of the shop".to_owned(),
            lacking => lacking.join("; "),
        });
    };
    page.notes.extend(lacking);
    let standing = house.figure(ask.figure).into_iter();
    let answered = standing.flat_map(|it| it.answered_lately(now));
    page.notes
        .extend(answered.filter_map(|open| open.answer_told(now)));
    let room = house.room_of(ask.figure);
    let outlook = traces(house, room, (now, now), sheet_c.at_c);
    let outlook = outlook.ok_or("the air log cannot be read")?;
    // Marks lie on the fives of the clock on the wall.
    let wall = f64::from(tonight.from.time().num_seconds_from_midnight()) / 60.0;
    let first = hours_between(now, tonight.from).0 + (up(wall) - wall) / 60.0;
    let minutes = |at| (hours_between(now, at).0 - first) * 60.0;
    let present = page.present.iter();
    Ok(Evening {
        house,
        room,
        now,
        place,
        present: present
            .map(|span| (minutes(span.from), minutes(span.to)))
            .collect(),
        traces: outlook,
        damp: damp(house, room, (now, now)),
        first,
        shelf,
        pieces,
        gilders: ask.gilders.max(1),
    })
}

fn plan(evening: &Evening<'_>, ask: &NightAsk<'_>, mut page: Night) -> Night {
    let all = evening.shelf.iter().enumerate();
    let is_asked = |one: &Shelf<'_>| ask.size.is_none_or(|named| one.material.id == named);
    let tried: Vec<(usize, &Shelf<'_>)> = all.filter(|(_, one)| is_asked(one)).collect();
    let sure = evening.choose(&tried, Certainty::Sure);
    let found = sure.filter(|(_, courses)| best(courses).is_some());
    if let Some(((_, shelf), courses)) = found {
        page.works = evening.lay_spans(&courses);
        evening.fill(&mut page, shelf, (&courses, Certainty::Sure));
        return page;
    }
    let Some(((place, shelf), likely)) = evening.choose(&tried, Certainty::Likely) else {
        // Only a size that was asked for and cannot be planned with leaves nothing to try.
        let named = ask.size.unwrap_or_default();
        page.why_empty = Some(no_size(evening.house, named));
        page.would_open = remedies::others(evening);
        return page;
    };
    let snags = evening.courses(shelf, Certainty::Sure);
    let has_likely = best(&likely).is_some();
    page.would_open = remedies::ways(evening, place, (&tried, has_likely));
    let open = !page.would_open.is_empty();
    page.why_empty = Some(otherwise::why(evening, nearest(&snags), open));
    page.likely = evening.lay_spans(&likely);
    evening.fill(&mut page, shelf, (&likely, Certainty::Likely));
    page
}

/// Why a size that was asked for cannot be planned with.
fn no_size(house: House<'_>, named: &str) -> String {
    match house.cards.materials.get(named) {
        None => format!("no size is called `{named}`"),
        Some(card) if card.tack_h.is_some() && card.dead_h.is_some() => no_lot(card),
        Some(card) => format!("{}: its card lacks the times of a size", card.name),
    }
}

impl<'a> Evening<'a> {
    /// Returns the size whose best plan has the greatest margin, with its place on the shelf;
    /// where none works, the first.
    fn choose<'s>(
        &self,
        tried: &[(usize, &'s Shelf<'a>)],
        certainty: Certainty,
    ) -> Option<((usize, &'s Shelf<'a>), Courses)> {
        let all = tried.iter();
        let all = all.map(|one| (*one, self.courses(one.1, certainty)));
        let margin = |courses: &Courses| best(courses).map_or(0.0, |course| course.margin);
        all.reduce(|chosen, other| {
            if margin(&chosen.1) < margin(&other.1) {
                other
            } else {
                chosen
            }
        })
    }

    pub(super) fn courses(&self, size: &Shelf<'_>, certainty: Certainty) -> Courses {
        let all: Vec<&Piece> = self.pieces.iter().collect();
        let ruler = self.ruler(size, (&self.traces, self.damp), certainty);
        ruler.courses(&all, self.gilders)
    }

    /// The humidity of the room if a heating keeps it from falling below a temperature.
    pub(super) fn damp_held(&self, celsius: f64) -> Damp {
        damp_held(self.house, self.room, (self.now, self.now), Some(celsius))
    }

    /// Returns when somebody is there again after tonight, minutes, where that is longer away
    /// than a night; infinite where nobody is there on the days that a night looks at.
    pub(super) fn nobody_till(&self) -> Option<f64> {
        let (_, shut) = self.present.first()?;
        let back = self.present.get(1).map_or(f64::INFINITY, |(from, _)| *from);
        (shut + NIGHT_MIN < back).then_some(back)
    }

    /// When the room was read last.
    pub(super) fn read_at(&self) -> Option<DateTime<FixedOffset>> {
        latest(self.house, self.room, self.now).map(|reading| reading.at)
    }

    /// Hours from a moment to now.
    pub(super) fn hours_since(&self, at: DateTime<FixedOffset>) -> f64 {
        hours_between(at, self.now).0
    }

    pub(super) fn ruler(
        &self,
        size: &Shelf<'_>,
        (traces, damp): (&Traces, Damp),
        certainty: Certainty,
    ) -> Ruler {
        let ahead = Ahead {
            traces,
            damp,
            first: self.first,
        };
        Ruler::new(&size.sheet, ahead, self.present.clone(), certainty)
    }

    pub(super) fn at(&self, minute: f64) -> DateTime<FixedOffset> {
        let moment = after(self.now, self.first + minute / 60.0);
        self.place.show(moment, self.now)
    }

    pub(super) fn lay_spans(&self, courses: &Courses) -> Vec<LaySpan> {
        let span = |(from, to)| LaySpan {
            from: self.at(from),
            to: self.at(to),
        };
        spans(courses).into_iter().map(span).collect()
    }

    /// The gates of the laying judge the air that was read last, whatever the night may bring.
    fn not_now(&self, size: &Shelf<'_>) -> Option<String> {
        let air = latest(self.house, self.room, self.now)?;
        let cold = size
            .material
            .range_c
            .filter(|[low, high]| air.temp_c < *low || *high < air.temp_c);
        let most = size.material.most_humidity_percent;
        let damp = most.filter(|most| *most < air.humidity_percent);
        let cold = cold.map(|[low, high]| {
            format!(
                "{:.1} °C, the card lays it at {low:.0} to {high:.0} °C",
                air.temp_c
            )
        });
        let damp = damp.map(|most| {
            format!(
                "{:.0} % humidity, the card allows {most:.0} %",
                air.humidity_percent
            )
        });
        let why: Vec<String> = cold.into_iter().chain(damp).collect();
        let read = air.at.format("%a %H:%M");
        (!why.is_empty()).then(|| format!("not in the air of {read}: {}", why.join("; ")))
    }

    fn fill(
        &self,
        page: &mut Night,
        size: &Shelf<'_>,
        (courses, certainty): (&Courses, Certainty),
    ) {
        page.size = Some(size.choice.clone());
        page.because = otherwise::because(self, size);
        page.notes.extend(otherwise::notes(self, size));
        page.not_now = page.not_now.take().or_else(|| self.not_now(size));
        let spans = self.lay_spans(courses);
        page.earliest = spans.first().map(|span| span.from);
        page.latest = spans.last().map(|span| span.to);
        let Some(course) = best(courses) else {
            return;
        };
        page.certainty = Some(certainty);
        page.best = Some(self.at(course.laid));
        page.margin = Some(Minutes(course.margin));
        let (test, needs_hand) = self.first_test(course);
        page.first_test = Some(self.at(test));
        page.hand_at_test = needs_hand;
        page.come_in_at = self.come_in(course, test).map(|minute| self.at(minute));
        page.order = course
            .rows
            .iter()
            .filter_map(|row| {
                let piece = self.pieces.get(row.piece)?.clone();
                Some(Leafing {
                    places: self.places(size, &piece, (row, certainty)),
                    piece,
                    sized: LaySpan {
                        from: self.at(row.sized.0),
                        to: self.at(row.sized.1),
                    },
                    ready: self.at(row.ready),
                    dead: self.at(row.dead),
                    start: self.at(row.start),
                    end: self.at(row.end),
                })
            })
            .collect();
    }

    /// Each place by itself: ready from the last stroke of its panel, dead from the first.
    fn places(
        &self,
        size: &Shelf<'_>,
        piece: &Piece,
        (row, certainty): (&Row, Certainty),
    ) -> Vec<PlaceSpan> {
        let laid = |minute: f64| Hours(self.first + minute / 60.0);
        let air = (&self.traces, self.damp);
        let at = |minute: f64, hours: Hours| self.at(minute + hours.0 * 60.0);
        let (from, to) = row.sized;
        let all = [LeafPlace::Edge, LeafPlace::Flat, LeafPlace::Hollow];
        all.into_iter()
            .filter(|place| piece.hollows || *place != LeafPlace::Hollow)
            .filter_map(|place| {
                let (ready, dead) = match certainty {
                    Certainty::Sure => (
                        size.sheet
                            .latest(place, air, laid(to))
                            .ok()?
                            .ready
                            .wait_until(),
                        size.sheet
                            .hottest(place, air, laid(from))
                            .ok()?
                            .dead
                            .do_before(),
                    ),
                    Certainty::Likely => (
                        size.sheet
                            .middling(place, air, laid(to))
                            .ok()?
                            .ready
                            .likely(),
                        size.sheet
                            .middling(place, air, laid(from))
                            .ok()?
                            .dead
                            .likely(),
                    ),
                };
                Some(PlaceSpan {
                    place,
                    ready: at(to, ready),
                    dead: at(from, dead),
                })
            })
            .collect()
    }

    /// On the day of the leaf: at opening, or for the first test if that comes later.
    fn come_in(&self, course: &Course, test: f64) -> Option<f64> {
        let start = course.rows.first()?.start;
        let day = self
            .present
            .iter()
            .find(|(from, to)| *from <= start && start < *to)?;
        Some(test.max(day.0).min(start))
    }

    /// When the chip is tried first, in minutes, and whether a hand must come for it while the
    /// doors are shut: not where the test may wait until they open, well before anything of it
    /// can be dead.
    fn first_test(&self, course: &Course) -> (f64, bool) {
        let test = course.first_test;
        match self.present.iter().find(|(_, to)| test < *to) {
            Some((from, _)) if *from <= test => (test, false),
            Some((from, _)) if from + MARGIN_MIN <= course.doomed => (*from, false),
            _ => (test, true),
        }
    }
}
