//! The half page in front of a treatment report: what its owner wants to know first, in plain
//! words and from the records only. A gap is said as a gap; what would be long is cut and says
//! in which part all of it stands.

use super::care::{gentle_until, leaded};
use super::materials::{Used, used};
use super::record::{Record, Stretch};
use super::sheet::{Fact, Sheet};
use super::treatment::{HAND_OVER, handed_over};
use crate::deed::{Deed, Line};
use crate::reckon::counted;
use crate::standing::{FigureStanding, Stage, offers};

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

/// An operation of the treatment: its title, at how many places it was begun, and at how many
/// it was finished.
struct Done {
    title: String,
    begun: usize,
    finished: usize,
}

fn done(record: &Record<'_>) -> Option<Vec<String>> {
    if record.ask.lines.is_empty() {
        return None;
    }
    let mut all: Vec<Done> = Vec::new();
    for (work, lines) in record.walks(Stretch::Treatment) {
        let list = record.cards().checklists.get(&work.operation);
        let title = list.map_or(&work.operation, |list| &list.title);
        let is_finished = |line: &&Line| matches!(line.deed, Deed::Finished(_));
        let finished = usize::from(lines.iter().any(is_finished));
        match all.iter_mut().find(|one| one.title == *title) {
            Some(one) => {
                one.begun += 1;
                one.finished += finished;
            }
            None => all.push(Done {
                title: title.clone(),
                begun: 1,
                finished,
            }),
        }
    }
    if all.is_empty() {
        return Some(vec!["no treatment is recorded so far".to_owned()]);
    }
    let told = all.iter().map(|one| {
        let Done {
            title,
            begun,
            finished,
        } = one;
        match (*begun, *finished) {
            (1, 1) => title.clone(),
            (1, _) => format!("{title} (not finished)"),
            (begun, finished) if begun == finished => format!("{title} ({begun} times)"),
            _ => format!("{title} ({begun} times, {finished} finished)"),
        }
    });
    Some(told.collect())
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
    let stated = said(
        "stated as not to be undone",
        stated.map(|(words, _)| words).as_deref(),
    );
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
        "dust it with a soft dry brush, lift it by the body".to_owned(),
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
    let left = route.iter().filter(|offer| offer.stage != Stage::Done);
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
