//! The half page in front of a treatment report: what its owner wants to know first, in plain
//! words and from the records only. A gap is said as a gap; what would be long is cut and says
//! in which part all of it stands.

use super::care::{gentle_until, leaded, lifted};
use super::materials::{Used, used};
use super::record::{Record, Stretch, is_act};
use super::sheet::{Fact, Sheet};
use super::treatment::{HAND_OVER, handed_over};
use crate::card::Scope;
use crate::deed::{Deed, Line};
use crate::reckon::counted;
use crate::standing::{FigureStanding, offers};

/// The longest answer, signs; chosen here, so that all of them stand on half a page of A4.
const LONGEST: usize = 230;

/// The longest thing that somebody wrote within an answer, signs; chosen here, so that others
/// keep their room beside it.
const LONGEST_WORDS: usize = 90;

/// Between two sentences of an answer.
const SENTENCES: &str = " ";

/// Between two things of a list.
const THINGS: &str = "; ";

/// Returns the front of a report whose parts are made.
pub(super) fn front(record: &Record<'_>, sheet: &Sheet) -> Vec<Fact> {
    let number = |title: &str| {
        let mut parts = sheet.parts.iter().zip(1..);
        parts.find(|(part, _)| part.title == title).map(|it| it.1)
    };
    let told = |name: &str, all_in: &str, pieces: Option<Vec<String>>| {
        let sentences = |it: Vec<String>| it.iter().map(|one| sentence(one)).collect();
        let pieces: Option<Vec<String>> = pieces.map(sentences);
        Fact::new(
            name,
            pieces.map(|it| within(&it, SENTENCES, number(all_in))),
        )
    };
    let listed = |name: &str, all_in: &str, pieces: Option<Vec<String>>| {
        Fact::new(name, pieces.map(|it| within(&it, THINGS, number(all_in))))
    };
    let mut facts = Vec::new();
    if record.cards().shop.practice {
        let words = "From a practice shop: what stands here need not have happened.";
        facts.push(Fact::new("please note", words.to_owned()));
    }
    if let Some(damage) = record.ask.damage {
        let words = format!(
            "The journal behind this report is not whole: {damage}. What stands here as not \
             recorded may have been recorded."
        );
        facts.push(Fact::new("please note", words));
    }
    facts.extend([
        told("what it is", "What it is", Some(what(record))),
        told("how it came in", "Condition before", came(record)),
        listed("what was done", "Treatment", done(record)),
        listed(
            "what is new on it",
            "Materials added and removed",
            new(record),
        ),
        told(
            "what can be undone",
            "What can be undone, and with what",
            undone(record),
        ),
        told("how to look after it", "Care", Some(care(record))),
        told("still open", "Not recorded", Some(open(record, sheet))),
    ]);
    facts
}

/// Returns a piece as a sentence of its own.
fn sentence(piece: &str) -> String {
    let mut signs = piece.chars();
    let first = signs.next().map(|sign| sign.to_uppercase().to_string());
    let end = if piece.ends_with(['.', '!', '?', '…']) {
        ""
    } else {
        "."
    };
    format!("{}{}{end}", first.unwrap_or_default(), signs.as_str())
}

/// Returns pieces as one answer; those for which there is no room are counted.
fn within(pieces: &[String], apart: &str, part: Option<usize>) -> String {
    let mut words = String::new();
    for (piece, before) in pieces.iter().zip(0..) {
        let length = words.chars().count() + piece.chars().count();
        if LONGEST < length && 0 < before {
            let more = pieces.len() - before;
            let part = part.map_or_else(String::new, |part| format!(" in part {part}"));
            return format!("{words} (and {more} more{part})");
        }
        if 0 < before {
            words.push_str(apart);
        }
        words.push_str(piece);
    }
    words
}

/// Returns words cut between two of them where they are long.
fn short(words: &str) -> String {
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.chars().count() <= LONGEST_WORDS {
        return words;
    }
    let cut: String = words.chars().take(LONGEST_WORDS).collect();
    let whole = cut
        .rsplit_once(' ')
        .map_or(cut.as_str(), |(whole, _)| whole);
    format!("{whole}…")
}

/// `wood: Lime`, or that it is not recorded.
fn said(name: &str, words: Option<&str>) -> String {
    match words.map(str::trim).filter(|words| !words.is_empty()) {
        Some(words) => format!("{name}: {}", short(words)),
        None => format!("{name}: not recorded"),
    }
}

fn what(record: &Record<'_>) -> Vec<String> {
    let card = record.ask.figure;
    let title = if card.title.is_empty() {
        &card.name
    } else {
        &card.title
    };
    vec![
        short(title),
        said("maker or origin", Some(&card.maker)),
        said("made", Some(&card.made)),
        said("wood", Some(&card.wood)),
    ]
}

fn came(record: &Record<'_>) -> Option<Vec<String>> {
    let first = record.ask.lines.first()?;
    let asked = [("missing parts", "missing"), ("could not wait", "urgent")];
    let asked = asked.map(|(name, id)| {
        let found = record.last_said("receive", id);
        said(name, found.map(|(words, _)| words).as_deref())
    });
    let since = format!("in the shop's record since {}", record.day(first.at));
    Some(std::iter::once(since).chain(asked).collect())
}

/// An operation of the treatment, and the places where it was done: each with its latest round,
/// and whether that was finished.
struct Done<'a> {
    operation: &'a str,
    places: Vec<(Option<&'a str>, u32, bool)>,
}

fn done(record: &Record<'_>) -> Option<Vec<String>> {
    if record.ask.lines.is_empty() {
        return None;
    }
    let mut all: Vec<Done<'_>> = Vec::new();
    for (work, lines) in record.walks(Stretch::Treatment) {
        if !lines.iter().any(|line| is_act(&line.deed)) {
            continue;
        }
        let is_finished = |line: &&Line| matches!(line.deed, Deed::Finished(_));
        let place = work.target.as_deref();
        let walk = (place, work.round, lines.iter().any(is_finished));
        let known = all.iter_mut().find(|one| one.operation == work.operation);
        let Some(known) = known else {
            let (operation, places) = (work.operation.as_str(), vec![walk]);
            all.push(Done { operation, places });
            continue;
        };
        match known.places.iter_mut().find(|(at, ..)| *at == place) {
            Some(one) if one.1 < work.round => *one = walk,
            Some(_) => {}
            None => known.places.push(walk),
        }
    }
    let mut sort = "";
    let told = all.iter().map(|one| done_words(record, one, &mut sort));
    let mut told: Vec<String> = told.collect();
    if told.is_empty() {
        told.push("no treatment is recorded so far".to_owned());
    }
    if is_only_proposed(record) {
        told.insert(0, "the plan is proposed and not approved".to_owned());
    }
    Some(told)
}

/// `Strip layer by layer: 2 of 18 zones (one of them not finished)`; what the places are is left
/// out where it was said of the operation before.
fn done_words(record: &Record<'_>, one: &Done<'_>, before: &mut &'static str) -> String {
    let list = record.cards().checklists.get(one.operation);
    let title = list.map_or(one.operation, |list| &list.title);
    let (sort, all) = places_of(record, list.map(|list| list.scope));
    let here = one.places.len();
    let is_known = |(at, ..): &(Option<&str>, u32, bool)| at.is_some_and(|at| all.contains(&at));
    let on = if !one.places.iter().any(|(at, ..)| at.is_some()) {
        String::new()
    } else if !one.places.iter().all(is_known) {
        format!(": {}", counted(here, sort))
    } else if *before == sort {
        format!(": {here} of {}", all.len())
    } else {
        format!(": {here} of {}", counted(all.len(), sort))
    };
    *before = sort;
    let open = one.places.iter().filter(|(.., is_finished)| !is_finished);
    let open = match (open.count(), here) {
        (0, _) => String::new(),
        (1, 1) => " (not finished)".to_owned(),
        (1, _) => " (one of them not finished)".to_owned(),
        (open, here) if open == here => " (none of them finished)".to_owned(),
        (open, _) => format!(" ({open} of them not finished)"),
    };
    format!("{title}{on}{open}")
}

/// What the places of an operation are, and all of them on the card.
fn places_of<'a>(record: &Record<'a>, scope: Option<Scope>) -> (&'static str, Vec<&'a str>) {
    let card = record.ask.figure;
    match scope {
        Some(Scope::Zone) => ("zone", card.zones.iter().map(|it| it.id.as_str()).collect()),
        Some(Scope::Joint) => (
            "joint",
            card.joints.iter().map(|it| it.id.as_str()).collect(),
        ),
        Some(Scope::Panel) => (
            "panel",
            card.panels.iter().map(|it| it.id.as_str()).collect(),
        ),
        Some(Scope::Figure) | None => ("place", Vec::new()),
    }
}

/// Whether a plan was put down and nobody approved it.
fn is_only_proposed(record: &Record<'_>) -> bool {
    let is_begun = |(_, lines): &(_, Vec<&Line>)| lines.iter().any(|line| is_act(&line.deed));
    !record.is_decided() && record.walks(Stretch::Decision).iter().any(is_begun)
}

/// What stays on the figure, each material once.
fn staying(record: &Record<'_>) -> Vec<Used> {
    let mut staying: Vec<Used> = Vec::new();
    for one in used(record).into_iter().filter(|one| !one.is_passing()) {
        if !staying.iter().any(|known| known.name == one.name) {
            staying.push(one);
        }
    }
    staying
}

fn new(record: &Record<'_>) -> Option<Vec<String>> {
    if record.ask.lines.is_empty() {
        return None;
    }
    let names: Vec<String> = staying(record).into_iter().map(|one| one.name).collect();
    Some(if names.is_empty() {
        vec!["no material that stays on it is recorded so far".to_owned()]
    } else {
        names
    })
}

fn undone(record: &Record<'_>) -> Option<Vec<String>> {
    let stated = record.last_said("scheme", "irreversible");
    let staying = staying(record);
    if stated.is_none() && staying.is_empty() {
        return None;
    }
    let plan = if record.is_decided() {
        "the approved plan names as not to be undone"
    } else {
        "the plan, proposed and not approved, names as not to be undone"
    };
    let stated = said(plan, stated.map(|(words, _)| words).as_deref());
    let off = staying.iter().map(|one| {
        let card = record.cards().materials.get(&one.material);
        let off = card.map(|card| card.comes_off.as_str());
        said(&format!("{} comes off", one.name), off)
    });
    Some(std::iter::once(stated).chain(off).collect())
}

fn care(record: &Record<'_>) -> Vec<String> {
    let leaded = leaded(record);
    let lead = if leaded.is_empty() {
        "lead must be assumed in old paint: never sand, scrape or heat it".to_owned()
    } else {
        let zones = counted(leaded.len(), "zone");
        let assumed = "it must be assumed in all old paint";
        format!("lead was found in {zones}, and {assumed}: never sand, scrape or heat it")
    };
    let gentle = gentle_until(record);
    let review = record.last_said("final-inspection", "review");
    vec![
        lead,
        format!(
            "dust it with a soft dry brush, lift it {}",
            lifted(record).by
        ),
        gentle.map_or_else(
            || said("last varnish", None),
            |until| format!("handle it gently until {until}"),
        ),
        said("next look-over", review.map(|(words, _)| words).as_deref()),
    ]
}

fn open(record: &Record<'_>, sheet: &Sheet) -> Vec<String> {
    let (ask, card) = (&record.ask, record.ask.figure);
    let mut open = Vec::new();
    if let Some(line) = handed_over(record) {
        open.push(format!("handed over on {}", record.day(line.at)));
    } else {
        open.push("not handed over yet".to_owned());
        let promised = card.promised.map(|day| day.format("%-d %B %Y").to_string());
        open.push(said("promised for", promised.as_deref()));
    }
    let mut route = offers(ask.house, &card.id);
    route.retain(|offer| offer.work.operation != HAND_OVER);
    let left = route.iter().filter(|offer| offer.stage.is_ahead());
    let left = left.count();
    if 0 < left {
        let operations = counted(route.len(), "operation");
        open.push(format!("{left} of {operations} of its route not finished"));
    }
    let standing = ask.house.figure(&card.id).into_iter();
    let waiting = standing.flat_map(FigureStanding::unanswered).count();
    if 0 < waiting {
        let matters = counted(waiting, "matter");
        open.push(format!("{matters} waiting for the supervisor's answer"));
    }
    let lacking = sheet.lacking().len();
    if 0 < lacking {
        let things = counted(lacking, "thing");
        open.push(format!(
            "{things} asked for and not recorded: the last part lists them"
        ));
    }
    open
}
