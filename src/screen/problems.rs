//! The lists for what goes otherwise: problems, rework, leaving out, throwing away, overruling.

use crate::card::Mark;
use crate::deed::Work;
use crate::standing::{Ask, AtStep, Book, Intent, Stage};

use super::hand::book_of;
use super::lists::{at_step, list, row, write};
use super::sight::{Sight, has_mark};
use super::view::{List, Make, Then, View};

/// Returns what can be done about something that is wrong.
pub(super) fn problem(view: &View, sight: &Sight) -> List {
    let mut rows = Vec::new();
    let figure = view.figure.clone().unwrap_or_default();
    if let (Some(work), Some(prompt)) = (&view.work, &sight.prompt) {
        for fault in prompt.goes_wrong.iter().take(5) {
            let note = format!("{} → {}", fault.cause, fault.remedy);
            let text = format!("went wrong: {}; {}", fault.sign, fault.remedy);
            let book = Book::Figure(figure.clone());
            rows.push(row(
                &fault.sign,
                note.trim_start_matches(" → "),
                Then::Do(Box::new(Intent::Jot { book, text })),
            ));
        }
        let is_weighed = matches!(
            prompt.ask,
            Ask::Pour { .. } | Ask::PourOff { .. } | Ask::Start { .. }
        );
        if is_weighed || sight.live_cup(view).is_some() {
            rows.push(row(
                "throw the cup away",
                "",
                Then::List(discard(&figure, work)),
            ));
        }
        for open in sight.said.iter().filter(|open| open.refusal().is_some()) {
            let make = Make::PutRight(figure.clone(), open.stamp.n);
            let words = format!("put right: {}", open.what);
            rows.push(row(
                words,
                "refused; goes to be signed",
                write("what was put right?", make),
            ));
        }
        rows.push(row(
            "send it back",
            "to an earlier operation, or once more through this one",
            Then::List(send_back(&figure, work, sight)),
        ));
    }
    if view.figure.is_some() {
        let ask = write("ask the supervisor", Make::Ask(figure));
        rows.push(row("ask the supervisor", "stays on the day's page", ask));
    }
    let note = write("a note", Make::Jot(book_of(view.figure.as_deref())));
    rows.push(row("write a note", "", note));
    list("what is wrong?", rows)
}

fn send_back(figure: &str, work: &Work, sight: &Sight) -> List {
    let to = |operation: &str| {
        let make = Make::SendBack(figure.to_owned(), work.clone(), operation.to_owned());
        write("why does it go back?", make)
    };
    let mut rows = vec![row(
        format!("once more: {}", sight.operation_title(&work.operation)),
        "another round",
        to(&work.operation),
    )];
    let mut seen = vec![work.operation.as_str()];
    for offer in &sight.offers {
        let operation = offer.work.operation.as_str();
        if matches!(offer.stage, Stage::Done | Stage::Open) && !seen.contains(&operation) {
            seen.push(operation);
            rows.push(row(&offer.title, "", to(operation)));
        }
    }
    list("back to which operation?", rows)
}

/// Returns the words for leaving a record out.
pub(super) fn leave(figure: &str, work: &Work) -> List {
    let reason = |why: &str| {
        let why = why.to_owned();
        at_step(figure, work, AtStep::Leave { why })
    };
    let own = Make::Leave(figure.to_owned(), work.clone());
    list(
        "why is it left out?",
        vec![
            row("not done", "", reason("not done")),
            row("not known", "", reason("not known")),
            row("in my own words", "", write("why is it left out?", own)),
        ],
    )
}

/// Returns the reasons for throwing a cup away.
pub(super) fn discard(figure: &str, work: &Work) -> List {
    let reason = |why: &str| {
        let words = why.to_owned();
        row(
            why,
            "",
            at_step(figure, work, AtStep::Discard { why: words }),
        )
    };
    let own = Make::Discard(figure.to_owned(), work.clone());
    list(
        "why is the cup thrown away?",
        vec![
            reason("off the ratio"),
            reason("too warm, or thickening"),
            reason("spilled or dirty"),
            row("in my own words", "", write("why is it thrown away?", own)),
        ],
    )
}

/// Returns the people who may be the second one of an overrule.
pub(super) fn seconds(view: &View, sight: &Sight, figure: &str, work: &Work, why: &str) -> List {
    let people = &sight.shop.people;
    let hands = sight.prompt.as_ref().map(|prompt| prompt.hands.as_slice());
    let hands = hands.unwrap_or_default();
    let second = people
        .iter()
        .filter(|person| person.id != view.by && has_mark(people, &person.id, Mark::Overrule))
        .filter(|person| !hands.contains(&person.id));
    let rows = second.map(|person| {
        let overrule = AtStep::Overrule {
            why: why.to_owned(),
            second: Some(person.id.clone()),
        };
        row(&person.name, &person.trade, at_step(figure, work, overrule))
    });
    list("who stands by it as the second person?", rows.collect())
}
