//! The lists a hand picks from, each row with what picking it does.

use crate::card::{ClockName, Person};
use crate::deed::Work;
use crate::standing::{AtStep, CLOSING, ClockView, FloorRow, Intent, Offer, Stage, not_reported};

use super::field::Field;
use super::hand::take_job;
use super::problems;
use super::sight::{REFUSED, Sight, Waiting, WaitingAt};
use super::times;
use super::view::{AirEntry, List, Make, Question, Row, Then, View, Write};
use crate::reckon::counted;

pub(super) fn row(words: impl Into<String>, note: impl Into<String>, then: Then) -> Row {
    Row {
        words: words.into(),
        note: note.into(),
        then,
    }
}

pub(super) fn list(title: &str, rows: Vec<Row>) -> List {
    List {
        title: title.to_owned(),
        rows,
    }
}

pub(super) fn write(title: impl Into<String>, make: Make) -> Then {
    Then::Write(Write {
        title: title.into(),
        field: Field::default(),
        make,
    })
}

pub(super) fn at_step(figure: &str, work: &Work, what: AtStep) -> Then {
    Then::Do(Box::new(Intent::Work {
        figure: figure.to_owned(),
        work: work.clone(),
        what,
    }))
}

/// Returns the people of the shop.
pub(super) fn people(sight: &Sight) -> List {
    let people = sight.shop.people.iter();
    let rows =
        people.map(|person| row(&person.name, &person.trade, Then::Person(person.id.clone())));
    list("who is at the bench?", rows.collect())
}

/// Returns what can be said about the air of each room, this figure's room first.
pub(super) fn air(sight: &Sight) -> List {
    let mut rooms: Vec<_> = sight.shop.rooms.iter().collect();
    rooms.sort_by_key(|room| room.id != sight.room.1);
    let mut rows: Vec<_> = cups(sight).collect();
    for room in rooms {
        let fan = |on| {
            Then::Do(Box::new(Intent::Fan {
                room: room.id.clone(),
                on,
            }))
        };
        let name = &room.name;
        rows.push(row(
            format!("{name}: read the air"),
            "temperature, humidity",
            Then::Air(AirEntry::of_room(&room.id)),
        ));
        rows.push(row(format!("{name}: extraction is on"), "", fan(true)));
        rows.push(row(format!("{name}: extraction is off"), "", fan(false)));
    }
    list("air", rows)
}

/// The live cups: first, since a warm one is in a hurry.
fn cups(sight: &Sight) -> impl Iterator<Item = Row> {
    let cups = sight.clocks.iter();
    let cups = cups.filter(|clock| clock.clock == ClockName::Cup);
    cups.map(|clock| {
        let cup = AirEntry::Cup {
            figure: clock.figure.clone(),
            clock: clock.id.clone(),
            about: clock.about.clone(),
        };
        let words = format!("cup of {}: read its wall", clock.about);
        row(words, "the warmest reading counts", Then::Air(cup))
    })
}

/// Returns where the bench can go: operations, figures, rooms, the day.
pub(super) fn go(view: &View, sight: &Sight) -> List {
    let mut rows = Vec::new();
    if let Some(figure) = &view.figure {
        let name = sight.figure_name(figure);
        rows.push(row(
            format!("another operation of {name}"),
            "",
            Then::List(operations(figure, sight)),
        ));
        let rooms = sight.shop.rooms.iter().map(|room| {
            let moved = Intent::Move {
                figure: figure.clone(),
                room: room.id.clone(),
            };
            row(&room.name, "", Then::Do(Box::new(moved)))
        });
        let moves = list("to which room?", rooms.collect());
        rows.push(row(
            format!("move {name}"),
            "to another room",
            Then::List(moves),
        ));
    }
    let figures = sight.figures.iter();
    let figures = figures.map(|(id, name)| row(name, id, Then::Figure(id.clone())));
    let figures = list("which figure?", figures.collect());
    rows.push(row("another figure", "", Then::List(figures)));
    rows.push(row(
        "open the day",
        "who is in",
        Then::List(open_day(sight)),
    ));
    rows.push(row(
        "close the day",
        "the closing round",
        Then::List(close_day(sight)),
    ));
    list("go where?", rows)
}

/// Returns what the figure can be worked on, one row for each operation: on many places it
/// opens into a list of them, so that a whole route is a page and not two hundred rows. What
/// is open keeps its own row.
fn operations(figure: &str, sight: &Sight) -> List {
    let mut groups: Vec<Vec<&Offer>> = Vec::new();
    for offer in sight.offers_to_pick() {
        let alike = groups.iter_mut().find(|group| {
            group.first().is_some_and(|first| {
                first.stage == offer.stage
                    && first.stage != Stage::Open
                    && first.work.operation == offer.work.operation
            })
        });
        match alike {
            Some(group) => group.push(offer),
            None => groups.push(vec![offer]),
        }
    }
    let one = |offer: &&Offer| {
        row(
            offer_words(&offer.title, &offer.work),
            stage_word(offer.stage),
            take_job(figure, &offer.work, offer.stage),
        )
    };
    let rows = groups.iter().filter_map(|group| match group.as_slice() {
        [] => None,
        [offer] => Some(one(offer)),
        [first, ..] => {
            let places = list(
                &format!("{}: where?", first.title),
                group.iter().map(one).collect(),
            );
            Some(row(
                format!("{} · {}", first.title, counted(group.len(), "place")),
                stage_word(first.stage),
                Then::List(places),
            ))
        }
    });
    list("which operation?", rows.collect())
}

fn offer_words(title: &str, work: &Work) -> String {
    let target = work.target.as_deref().unwrap_or_default();
    let gap = if target.is_empty() { "" } else { " · " };
    format!("{title}{gap}{target}")
}

/// Returns the word for where an operation stands.
pub(super) fn stage_word(stage: Stage) -> &'static str {
    match stage {
        Stage::Open => "open: go on",
        Stage::Next => "next on the route",
        Stage::Later => "later on the route",
        Stage::Passed => "passed over on the route",
        Stage::Done => "done",
    }
}

fn open_day(sight: &Sight) -> List {
    let everybody = sight.shop.people.iter().map(|person| person.id.clone());
    let open = |present| Then::Do(Box::new(Intent::OpenDay { present }));
    let mut rows = vec![row("everybody is in", "", open(everybody.collect()))];
    for person in &sight.shop.people {
        rows.push(row(
            format!("{} alone", person.name),
            "",
            open(vec![person.id.clone()]),
        ));
    }
    list("open the day", rows)
}

/// What a closing round finds, before who is first in: what nobody reported and what closes
/// before the doors open again. Picking goes to the figure.
fn close_day(sight: &Sight) -> List {
    let found = sight.clocks.iter().filter_map(|view| {
        let words = not_reported(view)?;
        Some((view, words, "open: see to it first"))
    });
    let closes = sight.overnight.iter().filter_map(|view| {
        let hour = times::hour(view.closes?, sight.now);
        let (clock, about) = (times::clock_name(view.clock), &view.about);
        let words = format!("{clock} closes {hour}, doors shut: {about}");
        Some((view, words, "tend to it today"))
    });
    let mut rows: Vec<Row> = found
        .chain(closes)
        .map(|(view, words, note)| {
            let name = sight.figure_name(&view.figure);
            let to = Then::Figure(view.figure.clone());
            row(format!("{name}: {words}"), note, to)
        })
        .collect();
    let opens = sight.opens_again.map(|at| at.date_naive());
    let is_away = |person: &&Person| opens.is_some_and(|day| person.is_away(day));
    let day = match opens {
        Some(day) if Some(day) != sight.now.date_naive().succ_opt() => {
            format!("on {}", day.format("%a %-d %b"))
        }
        _ => "tomorrow".to_owned(),
    };
    let (away, there): (Vec<&Person>, Vec<_>) = sight.shop.people.iter().partition(is_away);
    let people = there.into_iter().chain(away).map(|person| {
        let close = Intent::CloseDay {
            checked: CLOSING.map(str::to_owned).to_vec(),
            first_in: Some(person.id.clone()),
        };
        row(
            format!("all looked at; {} is first in {day}", person.name),
            if is_away(&person) {
                "away then, by the shop card"
            } else {
                ""
            },
            Then::Do(Box::new(close)),
        )
    });
    let title = format!("closing round: {}", CLOSING.join(" · "));
    rows.extend(people);
    list(&title, rows)
}

/// Returns where work can begin when nothing is in front: offers of the figure, or figures.
pub(super) fn beginnings(view: &View, sight: &Sight) -> List {
    match &view.figure {
        Some(figure) => operations(figure, sight),
        None => figures(sight),
    }
}

/// Returns the figures in the floor's order; picking takes the open job along.
pub(super) fn figures(sight: &Sight) -> List {
    let rows = sight.floor.iter();
    let rows = rows.map(|figure| row(&figure.name, &figure.waits_for, to_bench(figure)));
    list("which figure?", rows.collect())
}

/// Takes a figure to the bench, with its open job.
pub(super) fn to_bench(figure: &FloorRow) -> Then {
    match &figure.doing {
        Some((work, _)) => Then::Job(figure.figure.clone(), work.clone()),
        None => Then::Figure(figure.figure.clone()),
    }
}

/// Returns what the page of the day can be narrowed to: nothing, a figure, a person.
pub(super) fn only(sight: &Sight) -> List {
    let all = row("all figures, all people", "", Then::Only(None, None));
    let figures = sight.figures.iter();
    let figures = figures.map(|(id, name)| row(name, "figure", Then::Only(Some(id.clone()), None)));
    let people = sight.shop.people.iter().map(|person| {
        let then = Then::Only(None, Some(person.id.clone()));
        row(&person.name, &person.trade, then)
    });
    let rows = std::iter::once(all).chain(people).chain(figures);
    list("the page of whom or what?", rows.collect())
}

/// Returns what waits for the supervisor; picking asks yes or no.
pub(super) fn waiting(sight: &Sight) -> List {
    let rows = sight.waiting.iter().map(|waiting| {
        let question = match &waiting.at {
            WaitingAt::Hold(work) => sign(&waiting.figure, work, &waiting.what, &sight.person),
            WaitingAt::Line(line) => answer(waiting, *line, sight),
        };
        row(
            &waiting.what,
            waiting.kind,
            Then::Question(Box::new(question)),
        )
    });
    list("which one?", rows.collect())
}

/// Returns the question at a hold point.
pub(super) fn sign(figure: &str, work: &Work, what: &str, person: &str) -> Question {
    Question {
        title: format!("{person} signs?"),
        words: vec![what.to_owned(), place_of(figure, work)],
        yes: at_step(
            figure,
            work,
            AtStep::Sign {
                accepted: true,
                why: String::new(),
            },
        ),
        no: write(
            "why is it not signed?",
            Make::RefuseHold(figure.to_owned(), work.clone()),
        ),
    }
}

/// Where a signature counts: figure, place, round.
fn place_of(figure: &str, work: &Work) -> String {
    let target = work.target.as_deref().unwrap_or("whole figure");
    format!("{figure}, {target}, round {}", work.round)
}

fn answer(waiting: &Waiting, line: u64, sight: &Sight) -> Question {
    let figure = waiting.figure.clone();
    let no = write("why not?", Make::Answer(figure.clone(), line, false));
    let yes = if waiting.kind == "question" {
        write("the answer", Make::Answer(figure, line, true))
    } else if waiting.kind == REFUSED {
        write(
            "what was put right since?",
            Make::Answer(figure, line, true),
        )
    } else {
        Then::Do(Box::new(Intent::Answer {
            figure,
            line,
            accepted: true,
            why: String::new(),
        }))
    };
    let title = if waiting.kind == "question" {
        format!("{} answers it now? yes writes the answer", sight.person)
    } else {
        format!("{} accepts? ({})", sight.person, waiting.kind)
    };
    Question {
        title,
        words: vec![
            waiting.what.clone(),
            format!("{}, {}", waiting.figure, waiting.who),
        ],
        yes,
        no,
    }
}

/// Returns the figures whose night can be planned.
pub(super) fn nights(sight: &Sight) -> List {
    let figures = sight.figures.iter();
    let rows = figures.map(|(id, name)| row(name, id, Then::Night(id.clone())));
    list("whose size is laid tonight?", rows.collect())
}

/// Returns the panels that wait for size, those of the plan in its order; picking one leaves
/// it out or takes it in again.
pub(super) fn panels(view: &View, sight: &Sight) -> List {
    let order = sight.night.as_ref().map_or(&[][..], |night| &night.order);
    let certainty = sight.night.as_ref().and_then(|night| night.certainty);
    let toggle = |id: &str| Then::Panel(id.to_owned());
    let planned = order.iter().map(|leafing| {
        let words = super::night::panel_words(leafing, certainty);
        row(words, "", toggle(&leafing.piece.panel))
    });
    let is_planned = |id: &str| order.iter().any(|leafing| leafing.piece.panel == *id);
    let others = sight.panels.iter().filter(|(id, _)| !is_planned(id));
    let others = others.map(|(id, name)| {
        let out = view.night.without.contains(id);
        let words = if out {
            "left for another night"
        } else {
            "asked for"
        };
        row(format!("{name}: {words}"), "", toggle(id))
    });
    list("which panel?", planned.chain(others).collect())
}

/// Returns the sizes on the shelf.
pub(super) fn sizes(sight: &Sight) -> List {
    let mut rows = vec![row("what works best", "", Then::Size(None))];
    let sizes = sight.sizes.iter();
    rows.extend(sizes.map(|(id, name)| row(name, id, Then::Size(Some(id.clone())))));
    list("plan the night with which size?", rows)
}

/// Returns the lots whose own times are enough to be trusted and are not yet.
pub(super) fn own_times(sight: &Sight) -> List {
    let open = sight.own_times.iter();
    let open = open.filter(|own| own.enough && own.trusted.is_none());
    let rows = open.map(|own| {
        let trust = Intent::Trust {
            material: own.material.clone(),
            lot: own.lot.clone(),
        };
        let question = Question {
            title: format!("{} trusts the own times of {}?", sight.person, own.lot),
            words: vec![
                format!("{}: {} cases of its own", own.name, own.cases),
                "its times then count also where they are more daring than the sheet; a cup is \
                 never promised longer"
                    .to_owned(),
            ],
            yes: Then::Do(Box::new(trust)),
            no: Then::Close,
        };
        row(
            format!("{}, lot {}", own.name, own.lot),
            format!("n = {}", own.cases),
            Then::Question(Box::new(question)),
        )
    });
    list("whose own times replace the sheet?", rows.collect())
}

/// Returns the running clocks; picking asks how a hand ends it.
pub(super) fn clocks(sight: &Sight) -> List {
    let rows = sight.clocks.iter().map(|clock| {
        let words = format!("{} · {}", times::clock_name(clock.clock), clock.about);
        row(words, "", Then::List(endings(clock)))
    });
    list("which clock?", rows.collect())
}

/// The word with which a cup is ended that nothing more is taken from.
const THROWN_AWAY: &str = "thrown away";

fn endings(clock: &ClockView) -> List {
    let words: &[&str] = match clock.clock {
        ClockName::Cup => &["used up", THROWN_AWAY],
        ClockName::Leftover => &["cold", "taken away safely"],
        ClockName::Glove | ClockName::Cartridge => &["changed", "taken off"],
        ClockName::Dwell => &["scraped off", "wiped off"],
        ClockName::Closing => &["closed and tight", "given up"],
        _ => &["looked at: it has come", "no longer needed"],
    };
    let rows = words.iter().map(|how| {
        // Whatever was begun with it begins anew: the work asks for its mix again.
        if clock.clock == ClockName::Cup && *how == THROWN_AWAY {
            let reasons = problems::discard(&clock.figure, &clock.work);
            return row(*how, "", Then::List(reasons));
        }
        let end = Intent::EndClock {
            figure: clock.figure.clone(),
            clock: clock.id.clone(),
            how: (*how).to_owned(),
        };
        row(*how, "", Then::Do(Box::new(end)))
    });
    let title = format!(
        "end the clock {} · {}: how?",
        times::clock_name(clock.clock),
        clock.about
    );
    list(&title, rows.collect())
}
