//! What a hand may do: an intent becomes deeds to be written, or a refusal. Pure; asks the
//! same front that the screen shows. Acts at a step are judged in `decide_step.rs`.

use std::collections::BTreeMap;

use super::clock::{self, ClockState};
use super::decide_cup;
use super::decide_day;
use super::decide_late;
use super::decide_lot;
use super::decide_plan;
use super::decide_study;
use super::facts::{AirReading, FigureStanding, JobState, Matter, OpenMatter};
use super::flawed;
use super::shared_air::{air_conflicts, free_rooms};
use super::strike;
use super::{Book, House, Intent, Moment, Refusal, Written};
use super::{afterwards, decide_clock, decide_step, frozen, interrupted, learning};
use crate::card::{Checklist, DEFERRAL, Mark, Path, Person, Scope};
use crate::deed::{
    Acknowledged, Air, Answered, Asked, Begun, ClockJumped, DayOpened, Deed, Deviated,
    DeviationKind, Fan, Jotted, Moved, PutRight, Work,
};

/// Air temperature that can be believed, °C (*common practice*).
const AIR_C: [f64; 2] = [-10.0, 45.0];

/// Relative humidity that can be believed, % (*common practice*).
const AIR_PERCENT: [f64; 2] = [1.0, 100.0];

/// Returns the deeds that an intent becomes, to be written together, or why not.
///
/// # Errors
/// A [`Refusal`], one line for the screen; nothing is to be written then.
pub fn decide(house: House<'_>, intent: &Intent, moment: &Moment) -> Result<Vec<Written>, Refusal> {
    if !signs_itself(intent, &moment.by) {
        person(house, &moment.by)?;
    }
    match intent {
        Intent::Begin {
            figure,
            operation,
            target,
        } => begin(house, moment, figure, (operation, target.as_deref()), None),
        Intent::BeginDespite {
            figure,
            operation,
            target,
            why,
        } => begin(
            house,
            moment,
            figure,
            (operation, target.as_deref()),
            Some(why),
        ),
        Intent::Work { figure, work, what } => {
            decide_step::decide(house, moment, (figure, work), what)
        }
        Intent::EnterLater { figure, late } => decide_late::decide(house, moment, figure, late),
        Intent::Resume { figure, work } => interrupted::resume(house, moment, (figure, work)),
        Intent::ReadCup {
            figure,
            cup,
            wall_c,
        } => decide_cup::decide(house, moment, figure, (cup, *wall_c)),
        Intent::EndClock { figure, clock, how } => {
            decide_clock::end(house, moment, figure, (clock, how))
        }
        Intent::AnswerAlarm {
            figure,
            clock,
            mark,
            rang_at,
        } => decide_clock::answer_alarm(house, moment, (figure, clock), (*mark, *rang_at)),
        Intent::PutOff {
            figure,
            clock,
            mark,
            rang_at,
        } => decide_clock::put_off(house, moment, (figure, clock), (*mark, *rang_at)),
        Intent::Answer {
            figure,
            line,
            accepted,
            why,
        } => answer(house, moment, (figure, *line), (*accepted, why)),
        Intent::PutRight { figure, line, said } => put_right(house, moment, (figure, *line), said),
        Intent::Strike { book, line, why } => strike::decide(house, moment, book, (*line, why)),
        Intent::Jot { book, text } => jot(house, book, text),
        Intent::Ask { figure, text } => {
            said(text, "the question is empty")?;
            known_figure(house, figure)?;
            Ok(one(figure, Deed::Asked(Asked { text: text.clone() })))
        }
        _ => decide_study::decide(house, intent).unwrap_or_else(|| shop(house, moment, intent)),
    }
}

/// A sensor signs its own readings of the air, and nothing else.
fn signs_itself(intent: &Intent, by: &str) -> bool {
    matches!(intent, Intent::Air { source, .. } if source == by && !by.trim().is_empty())
}

/// Intents about rooms and the day.
fn shop(house: House<'_>, moment: &Moment, intent: &Intent) -> Result<Vec<Written>, Refusal> {
    match intent {
        Intent::Air {
            room,
            temp_c,
            humidity_percent,
            source,
        } => {
            known_room(house, room)?;
            let deed = air(room, *temp_c, *humidity_percent, source)?;
            let reading = AirReading {
                at: moment.at,
                temp_c: deed.temp_c,
                humidity_percent: deed.humidity_percent,
            };
            let mut written = at_shop(Deed::Air(deed));
            written.extend(afterwards::doubts(house, room, reading));
            Ok(written)
        }
        Intent::Fan { room, on } => {
            known_room(house, room)?;
            Ok(at_shop(Deed::Fan(Fan {
                room: room.clone(),
                on: *on,
            })))
        }
        Intent::Move { figure, room } => {
            known_figure(house, figure)?;
            known_room(house, room)?;
            Ok(one(figure, Deed::Moved(Moved { room: room.clone() })))
        }
        Intent::OpenDay { present } => {
            for id in present {
                person(house, id)?;
            }
            Ok(at_shop(Deed::DayOpened(DayOpened {
                present: present.clone(),
                books: house.books(),
                seals: BTreeMap::new(),
            })))
        }
        Intent::CloseDay { checked, first_in } => {
            decide_day::close(house, moment, checked, first_in.as_deref())
        }
        Intent::OpenLot {
            material,
            lot,
            part,
            expires,
            pack,
        } => decide_lot::open(house, material, (lot, part), (*expires, *pack)).map(at_shop),
        Intent::Decant { lot, into } => decide_lot::decant(house, lot, into).map(at_shop),
        Intent::Trust { material, lot } => {
            learning::trust(house, &moment.by, (material, lot)).map(at_shop)
        }
        Intent::Acknowledge => Ok(at_shop(Deed::Acknowledged(Acknowledged {
            said: DEFERRAL.to_owned(),
        }))),
        Intent::Jumped { by_s, how } => jumped(*by_s, how).map(at_shop),
        Intent::Pick { picked } => decide_plan::picked(house, picked).map(at_shop),
        Intent::NoteForecast { forecast } => decide_plan::forecasted(house, forecast).map(at_shop),
        _ => Err(Refusal::new("this cannot be done here")),
    }
}

fn jumped(by_s: f64, how: &str) -> Result<Deed, Refusal> {
    // A line of JSON holds no such number: it would come back as an unknown deed.
    if !by_s.is_finite() {
        return Err(Refusal::new(
            "the jump of the clock is not a number of seconds",
        ));
    }
    said(how, "say how the clock jumped")?;
    let how = how.to_owned();
    Ok(Deed::ClockJumped(ClockJumped { by_s, how }))
}

fn begin(
    house: House<'_>,
    moment: &Moment,
    figure: &str,
    (operation, target): (&str, Option<&str>),
    despite: Option<&str>,
) -> Result<Vec<Written>, Refusal> {
    if let Some(why) = despite {
        said(why, "say why it is begun all the same")?;
    }
    known_figure(house, figure)?;
    flawed::begins(house, figure, operation)?;
    let list = house
        .cards
        .checklists
        .get(operation)
        .ok_or_else(|| Refusal::new(format!("no checklist is called `{operation}`")))?;
    has_mark(house, &moment.by, list)?;
    fits_scope(house, figure, list, target)?;
    fits_path(house, figure, list, target)?;
    let empty = FigureStanding::default();
    let standing = house.figure(figure).unwrap_or(&empty);
    let target = target.map(str::to_owned);
    let previous = standing
        .jobs
        .iter()
        .rev()
        .find(|job| job.work.operation == operation && job.work.target == target);
    if previous.is_some_and(|job| job.state == JobState::Open) {
        return Err(Refusal::new("this work is open already: go on with it"));
    }
    let round = standing.rounds(operation, target.as_deref()) + 1;
    let work = Work {
        operation: operation.to_owned(),
        target,
        round,
    };
    let against = against(house, (figure, list, work.target.as_deref()), moment);
    let mut written = one(figure, Deed::Begun(Begun::of(work.clone())));
    match (against, despite) {
        (None, _) => Ok(written),
        (Some(refusal), None) => Err(refusal),
        (Some(refusal), Some(why)) => {
            written.extend(one(
                figure,
                Deed::Deviated(Deviated {
                    work,
                    step: String::new(),
                    kind: DeviationKind::Other,
                    what: format!("begun although {}: {why}", refusal.why),
                }),
            ));
            Ok(written)
        }
    }
}

/// What speaks against beginning an operation now, and may be passed with a reason: the place
/// went back and waits, or somebody's air is harmed.
fn against(
    house: House<'_>,
    (figure, list, target): (&str, &Checklist, Option<&str>),
    moment: &Moment,
) -> Option<Refusal> {
    let despite = "or say why it is begun all the same";
    let refusal = |why: String, remedy: String| Refusal {
        ask_again: true,
        ..Refusal::new(why).remedy(remedy)
    };
    if let Some(frozen) = frozen::look(house, figure, (list, target)) {
        return Some(refusal(frozen.why, format!("{}, {despite}", frozen.first)));
    }
    let conflicts = air_conflicts(house, figure, &list.id, moment.at);
    let conflict = conflicts.into_iter().next()?;
    let rooms = free_rooms(house, figure, list, moment.at);
    let way = match rooms.as_slice() {
        [] => "no other room would do: another hour".to_owned(),
        rooms => format!(
            "it would do in the {}; another hour",
            rooms.join(" or the ")
        ),
    };
    Some(refusal(conflict.why, format!("{way}, {despite}")))
}

/// Returns whether a person may walk an operation by the mark that its card names.
///
/// # Errors
/// [`Refusal`]: who has no mark, and who has.
pub fn has_mark(house: House<'_>, by: &str, list: &Checklist) -> Result<(), Refusal> {
    let person = person(house, by)?;
    if list.trade == Mark::Any || person.marks.contains(&list.trade) {
        return Ok(());
    }
    let able: Vec<&str> = house
        .cards
        .shop
        .people
        .iter()
        .filter(|other| other.marks.contains(&list.trade))
        .map(|other| other.name.as_str())
        .collect();
    Err(
        Refusal::new(format!("{} has no mark for: {}", person.name, list.title))
            .remedy(format!("ask {}", able.join(" or "))),
    )
}

fn fits_scope(
    house: House<'_>,
    figure: &str,
    list: &Checklist,
    target: Option<&str>,
) -> Result<(), Refusal> {
    let Some(card) = house.cards.figures.get(figure) else {
        return known_figure(house, figure);
    };
    let ids: Vec<&str> = match list.scope {
        Scope::Figure => Vec::new(),
        Scope::Zone => card.zones.iter().map(|zone| zone.id.as_str()).collect(),
        Scope::Joint => card.joints.iter().map(|joint| joint.id.as_str()).collect(),
        Scope::Panel => card.panels.iter().map(|panel| panel.id.as_str()).collect(),
    };
    match (target, list.scope) {
        (None, Scope::Figure) => Ok(()),
        (Some(_), Scope::Figure) => Err(Refusal::new(format!(
            "{} is about the whole figure",
            list.title
        ))),
        (Some(target), _) if ids.contains(&target) => Ok(()),
        (Some(target), _) => Err(Refusal::new(format!("{figure} has no `{target}`"))
            .remedy(format!("it has {}", ids.join(", ")))),
        (None, _) => Err(Refusal::new(format!("{}: on which?", list.title))
            .remedy(format!("one of {}", ids.join(", ")))),
    }
}

/// A witness patch stays untouched; other zones take the operations of their path.
pub(super) fn fits_path(
    house: House<'_>,
    figure: &str,
    list: &Checklist,
    target: Option<&str>,
) -> Result<(), Refusal> {
    let Some(path) = path_of(house, figure, target) else {
        return Ok(());
    };
    let allowed = if list.paths.is_empty() {
        path != Path::Leave
    } else {
        list.paths.contains(&path)
    };
    if allowed {
        return Ok(());
    }
    let why = match path {
        Path::Leave => {
            let zone = target.unwrap_or_default();
            return Err(Refusal::new(format!("`{zone}` is left untouched"))
                .remedy("its path on the figure's card says so; the scheme decides"));
        }
        Path::Keep => "this zone keeps its old layer: the operation is not on its path",
        Path::Cover => "this zone is covered, not stripped: the operation is not on its path",
        Path::Copy => "the operation is not on the path of this zone",
    };
    Err(Refusal::new(why))
}

pub(super) fn path_of(house: House<'_>, figure: &str, target: Option<&str>) -> Option<Path> {
    let card = house.cards.figures.get(figure)?;
    let target = target?;
    let panel = card.panels.iter().find(|panel| panel.id == target);
    let zone = panel.map_or(target, |panel| panel.zone.as_str());
    card.zones
        .iter()
        .find(|card| card.id == zone)
        .map(|zone| zone.path)
}

fn jot(house: House<'_>, book: &Book, text: &str) -> Result<Vec<Written>, Refusal> {
    said(text, "the note is empty")?;
    if let Book::Figure(figure) = book {
        known_figure(house, figure)?;
    }
    Ok(vec![Written {
        book: book.clone(),
        deed: Deed::Jotted(Jotted {
            text: text.to_owned(),
        }),
    }])
}

fn answer(
    house: House<'_>,
    moment: &Moment,
    (figure, line): (&str, u64),
    (accepted, why): (bool, &str),
) -> Result<Vec<Written>, Refusal> {
    let who = person(house, &moment.by)?;
    if !who.marks.contains(&Mark::Sign) {
        return Err(Refusal::new(format!(
            "{} has no mark to answer this",
            who.name
        )));
    }
    let matter = matter(house, figure, line)?;
    // What was not accepted is put right and then answered once more.
    if matter.is_accepted() {
        return Err(Refusal::new(format!("line {line} is answered already")));
    }
    // Who stood by an overruled gate has answered for it already, unless nobody else may.
    let is_second = matter.second.as_ref() == Some(&moment.by);
    let others = house.cards.shop.people.iter().any(|one| {
        let is_own = one.id == moment.by || *matter.stamp.by == *one.id;
        one.marks.contains(&Mark::Sign) && !is_own
    });
    let again = matter.again.as_ref();
    let is_own = matter.stamp.by == moment.by || again.is_some_and(|(_, it)| it.by == moment.by);
    if is_own || (is_second && others) {
        return Err(Refusal::new("a second pair of eyes must answer this"));
    }
    if matter.matter == Matter::Question {
        said(why, "a question is answered in words")?;
    } else if !accepted {
        said(why, "a refusal needs its reason")?;
    } else if matter.refusal().is_some() {
        said(why, "it was refused: say what was put right since")?;
    }
    Ok(one(
        figure,
        Deed::Answered(Answered {
            line,
            accepted,
            why: why.to_owned(),
        }),
    ))
}

/// What waits for an answer in a line of a figure, or was answered.
fn matter<'a>(house: House<'a>, figure: &str, line: u64) -> Result<&'a OpenMatter, Refusal> {
    let mut matters = known_standing(house, figure)?.matters.iter();
    let found = matters.find(|matter| matter.stamp.n == line);
    found.ok_or_else(|| Refusal::new(format!("line {line} of {figure} asks for no answer")))
}

/// What was refused is put right by whoever works on it, and waits for its answer once more. A
/// hold point is shown again at its step.
fn put_right(
    house: House<'_>,
    moment: &Moment,
    (figure, line): (&str, u64),
    what: &str,
) -> Result<Vec<Written>, Refusal> {
    person(house, &moment.by)?;
    if !matter(house, figure, line).is_ok_and(OpenMatter::is_back) {
        return Err(Refusal::new(format!(
            "line {line} of {figure} is nothing that was refused and waits to be put right"
        )));
    }
    said(what, "say what was put right")?;
    Ok(one(
        figure,
        Deed::PutRight(PutRight {
            line,
            said: what.to_owned(),
        }),
    ))
}

/// Returns an air reading that can be believed.
pub(super) fn air(
    room: &str,
    temp_c: f64,
    humidity_percent: f64,
    source: &str,
) -> Result<Air, Refusal> {
    let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
    if !inside(temp_c, AIR_C) {
        return Err(Refusal::new(format!(
            "air {temp_c} °C is outside {} to {} °C",
            AIR_C[0], AIR_C[1]
        )));
    }
    if !inside(humidity_percent, AIR_PERCENT) {
        return Err(Refusal::new(format!(
            "humidity {humidity_percent} % is outside {} to {} %",
            AIR_PERCENT[0], AIR_PERCENT[1]
        )));
    }
    Ok(Air {
        room: room.to_owned(),
        temp_c,
        humidity_percent,
        source: source.to_owned(),
    })
}

pub(super) fn person<'a>(house: House<'a>, id: &str) -> Result<&'a Person, Refusal> {
    let people = &house.cards.shop.people;
    people.iter().find(|person| person.id == id).ok_or_else(|| {
        let names: Vec<&str> = people.iter().map(|person| person.id.as_str()).collect();
        Refusal::new(format!("nobody in this shop is called `{id}`"))
            .remedy(format!("say who you are: {}", names.join(", ")))
    })
}

pub(super) fn may_sign(house: House<'_>, by: &str) -> bool {
    person(house, by).is_ok_and(|person| person.marks.contains(&Mark::Sign))
}

pub(super) fn said(text: &str, why: &str) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        Err(Refusal::new(why))
    } else {
        Ok(())
    }
}

pub(super) fn known_figure(house: House<'_>, figure: &str) -> Result<(), Refusal> {
    if house.cards.figures.contains_key(figure) {
        return Ok(());
    }
    let names: Vec<&str> = house.cards.figures.keys().map(String::as_str).collect();
    Err(Refusal::new(format!("no figure is called `{figure}`"))
        .remedy(format!("there are {}", names.join(", "))))
}

pub(super) fn known_standing<'a>(
    house: House<'a>,
    figure: &str,
) -> Result<&'a FigureStanding, Refusal> {
    known_figure(house, figure)?;
    house
        .figure(figure)
        .ok_or_else(|| Refusal::new(format!("nothing was ever written about {figure}")))
}

fn known_room(house: House<'_>, room: &str) -> Result<(), Refusal> {
    let rooms = &house.cards.shop.rooms;
    if rooms.iter().any(|known| known.id == room) {
        return Ok(());
    }
    let names: Vec<&str> = rooms.iter().map(|room| room.id.as_str()).collect();
    Err(Refusal::new(format!("no room is called `{room}`"))
        .remedy(format!("there are {}", names.join(", "))))
}

pub(super) fn one(figure: &str, deed: Deed) -> Vec<Written> {
    vec![Written {
        book: Book::Figure(figure.to_owned()),
        deed,
    }]
}

pub(super) fn at_shop(deed: Deed) -> Vec<Written> {
    vec![Written {
        book: Book::Shop,
        deed,
    }]
}

/// Whether a do-before clock has passed its early bound.
pub(super) fn is_over(view: &clock::ClockView) -> bool {
    view.state == ClockState::Over
}
