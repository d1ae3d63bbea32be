//! What would open a lay time where none is sure: one remedy, and where no single one does, two
//! together. What opens a likely time only says so. Each way is planned as the night itself is,
//! so that no way is named that does not work.

use std::collections::BTreeMap;

use super::leafing::Piece;
use super::lots::Shelf;
use super::night::Evening;
use super::ruler::{Certainty, Ruler, best};
use crate::reckon::{Celsius, Hours, Trace};
use crate::standing::Traces;

/// What a night heating holds a room at, °C, the milder first (*common practice*: size is laid
/// in a room of 18 to 20 °C).
const HELD_C: [f64; 2] = [18.0, 20.0];

/// The most ways that are told.
const WAYS: usize = 4;

/// What could be done otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Remedy {
    /// Another size, by its place on the shelf.
    Size(usize),
    /// One more gilder.
    Gilder,
    /// Only so many panels, those that are laid soonest.
    Keep(usize),
    /// Edges and flats, without the hollows.
    Flats,
    /// The room held at one of [`HELD_C`].
    Held(usize),
}

/// Rulers of one evening, each made once: by size and heating.
struct Search<'s, 'a> {
    evening: &'s Evening<'a>,
    size: usize,
    certainty: Certainty,
    rulers: BTreeMap<(usize, Option<usize>), Option<Ruler>>,
}

/// Returns the ways to a sure lay time; where there is none and the evening has no likely one
/// either, those to a likely one. `size` is the place on the shelf of the one planned with,
/// `tried` the sizes that are out of the question.
pub(super) fn ways(
    evening: &Evening<'_>,
    size: usize,
    (tried, has_likely): (&[(usize, &Shelf<'_>)], bool),
) -> Vec<String> {
    let groups = groups(evening, tried);
    let find = |certainty| {
        let mut search = Search {
            evening,
            size,
            certainty,
            rulers: BTreeMap::new(),
        };
        // What lays all of it comes before what lays less.
        let less = |one: &Remedy| matches!(one, Remedy::Keep(_) | Remedy::Flats);
        let parts = groups.iter().cloned();
        let (less, whole): (Vec<Vec<Remedy>>, Vec<Vec<Remedy>>) =
            parts.partition(|group| group.iter().any(less));
        let mut ways = search.alone(&whole);
        if ways.is_empty() {
            ways = search.together(&whole);
        }
        ways.extend(search.alone(&less));
        if ways.is_empty() {
            ways = search.together(&groups);
        }
        ways
    };
    let mut ways = find(Certainty::Sure);
    if ways.is_empty() && !has_likely {
        let likely = find(Certainty::Likely).into_iter();
        ways = likely
            .map(|way| format!("only likely, and the chip decides: {way}"))
            .collect();
    }
    ways.truncate(WAYS);
    ways
}

/// Returns the other sizes that would do, where the one asked for cannot be planned with.
pub(super) fn others(evening: &Evening<'_>) -> Vec<String> {
    let sizes = (0..evening.shelf.len()).map(|place| vec![Remedy::Size(place)]);
    let mut search = Search {
        evening,
        size: 0,
        certainty: Certainty::Sure,
        rulers: BTreeMap::new(),
    };
    search.alone(&sizes.collect::<Vec<_>>())
}

/// Remedies of one kind stand in one group, what asks least first.
fn groups(evening: &Evening<'_>, tried: &[(usize, &Shelf<'_>)]) -> Vec<Vec<Remedy>> {
    let had = |one: &Shelf<'_>| {
        tried
            .iter()
            .any(|(_, had)| had.material.id == one.material.id)
    };
    let others = evening.shelf.iter().enumerate();
    let others = others.filter(|(_, one)| !had(one));
    let mut groups: Vec<Vec<Remedy>> = others.map(|(place, _)| vec![Remedy::Size(place)]).collect();
    groups.push(vec![Remedy::Gilder]);
    groups.push((1..evening.pieces.len()).rev().map(Remedy::Keep).collect());
    if evening.pieces.iter().any(|piece| piece.hollows) {
        groups.push(vec![Remedy::Flats]);
    }
    groups.push((0..HELD_C.len()).map(Remedy::Held).collect());
    groups
}

impl Search<'_, '_> {
    /// Of each group the first remedy that opens a time by itself.
    fn alone(&mut self, groups: &[Vec<Remedy>]) -> Vec<String> {
        let mut ways = Vec::new();
        for group in groups {
            ways.extend(group.iter().find_map(|one| self.way(&[*one])));
        }
        ways
    }

    /// Of each two groups the first two remedies that open a time together.
    fn together(&mut self, groups: &[Vec<Remedy>]) -> Vec<String> {
        let mut ways = Vec::new();
        for (place, first) in groups.iter().enumerate() {
            for second in groups.iter().skip(place + 1) {
                let both = first
                    .iter()
                    .flat_map(|a| second.iter().map(move |b| [*a, *b]));
                let sizes = |two: &[Remedy; 2]| matches!(two, [Remedy::Size(_), Remedy::Size(_)]);
                let mut both = both.filter(|two| !sizes(two));
                ways.extend(both.find_map(|two| self.way(&two)));
            }
        }
        ways
    }

    /// What some remedies open, in words; `None` where they open nothing.
    fn way(&mut self, remedies: &[Remedy]) -> Option<String> {
        let evening = self.evening;
        let (mut size, mut held, mut gilders) = (self.size, None, evening.gilders);
        let mut pieces = evening.pieces.clone();
        let mut said = Vec::new();
        for remedy in remedies {
            said.push(match *remedy {
                Remedy::Size(other) => {
                    size = other;
                    format!("{} instead", evening.shelf.get(other)?.choice.name)
                }
                Remedy::Gilder => {
                    gilders += 1;
                    "one more gilder tomorrow".to_owned()
                }
                Remedy::Keep(few) => {
                    pieces.sort_by(|a, b| a.laying_min.total_cmp(&b.laying_min));
                    pieces.truncate(few);
                    let names: Vec<&str> = pieces.iter().map(|piece| piece.name.as_str()).collect();
                    format!("fewer panels, {}", names.join(" and "))
                }
                Remedy::Flats => {
                    for piece in &mut pieces {
                        piece.hollows = false;
                    }
                    "edges and flats alone, hollows sized again later".to_owned()
                }
                Remedy::Held(nth) => {
                    held = Some(nth);
                    format!("the room held at {:.0} °C all night", HELD_C.get(nth)?)
                }
            });
        }
        let ruler = self.ruler(size, held)?;
        let pieces: Vec<&Piece> = pieces.iter().collect();
        let courses = ruler.courses(&pieces, gilders);
        let laid = evening.at(best(&courses)?.laid).format("%H:%M");
        Some(format!("{}: lay at {laid}", said.join(", and ")))
    }

    fn ruler(&mut self, size: usize, held: Option<usize>) -> Option<&Ruler> {
        let (evening, certainty) = (self.evening, self.certainty);
        let make = || {
            let size = evening.shelf.get(size)?;
            let air = match held {
                None => (evening.traces.clone(), evening.damp),
                Some(nth) => {
                    let held = *HELD_C.get(nth)?;
                    (held_at(&evening.traces, held)?, evening.damp_held(held))
                }
            };
            Some(evening.ruler(size, (&air.0, air.1), certainty))
        };
        let ruler = self.rulers.entry((size, held)).or_insert_with(make);
        ruler.as_ref()
    }
}

/// The traces of a room that a heating keeps from falling below a temperature. The hot side
/// stays as hot as it may be.
fn held_at(traces: &Traces, floor: f64) -> Option<Traces> {
    Some(Traces {
        hot: at_least(&traces.hot, floor)?,
        likely: at_least(&traces.likely, floor)?,
        cold: at_least(&traces.cold, floor)?,
        read: traces.read,
    })
}

/// A trace cut off below a temperature, with a point where it passes through it.
fn at_least(trace: &Trace, floor: f64) -> Option<Trace> {
    let all = trace.points();
    let mut points: Vec<(Hours, Celsius)> = Vec::new();
    for pair in all.windows(2) {
        let [(from, left), (to, right)] = pair else {
            continue;
        };
        points.push((*from, Celsius(left.0.max(floor))));
        let share = (floor - left.0) / (right.0 - left.0);
        if 0.0 < share && share < 1.0 {
            points.push((Hours(from.0 + share * (to.0 - from.0)), Celsius(floor)));
        }
    }
    let (end, last) = trace.last();
    points.push((end, Celsius(last.0.max(floor))));
    Trace::new(points).ok()
}
