//! Reads a checklist, and looks at what its steps say of each other.

use super::super::{
    Branch, Caution, Checklist, ClockName, Coats, Condition, Fault, GateAsk, GateKind, Grid, Hold,
    Mark, MaterialKind, Measure, Mix, Need, Record, Scope, StartClock, Step, Until,
};
use super::fields::Fields;
use super::node::{Node, listed, once, shown};
use super::within::{HOURS, READING};
use crate::card::near::did_you_mean;

/// Longest action of a step that is read at two metres, characters (*choice of this program*).
const ACT: usize = 60;

/// Longest caution that is read before it is ticked, characters (*choice of this program*).
const CAUTION: usize = 90;

/// Longest line of explanation, characters (*choice of this program*).
const LINE: usize = 160;

/// Longest label on a key or in a table, characters (*choice of this program*).
const LABEL: usize = 60;

pub(super) fn checklist(node: &Node<'_>) -> Checklist {
    node.fields(|f| {
        let list = Checklist {
            id: f.id(),
            order: f
                .need("order")
                .map(|node| node.whole(1, 24))
                .unwrap_or_default(),
            title: f.line("title", LABEL),
            trade: f.word("trade", Mark::Any),
            scope: f.word("scope", Scope::Figure),
            why: f.line("why", LINE),
            hours: f.maybe("hours", super::work_hours::work_hours),
            paths: f.words("paths"),
            emits: f.words("emits"),
            suffers: f.words("suffers"),
            quiet: f.flag("quiet"),
            manner: f.maybe_word("manner").unwrap_or_default(),
            lone_work: f.flag("lone_work"),
            gates: f.each("gates", gate),
            cautions: f.each("cautions", caution),
            steps: steps(f),
        };
        let walk = walk(f.block());
        names_once(&walk);
        references(&walk);
        amounts(&walk, list.scope);
        super::work_hours::steps_there(f.block());
        list
    })
}

fn steps(f: &mut Fields<'_>) -> Vec<Step> {
    let held = f.need("steps");
    let steps = f.each("steps", step);
    if let Some(held) = held.filter(|_| steps.is_empty()) {
        held.slip(
            "`steps` holds no step",
            Some("write the first one after `- `".to_owned()),
        );
    }
    steps
}

fn step(node: &Node<'_>) -> Step {
    node.fields(|f| Step {
        id: f.id(),
        act: f.need("do").map(|node| act(&node)).unwrap_or_default(),
        why: f.maybe_line("why", LINE),
        gates: f.each("gates", gate),
        cautions: f.each("cautions", caution),
        confirm: f.lines("confirm", CAUTION),
        record: f.each("record", record),
        mix: f.maybe("mix", mix),
        starts: f.each("starts", start),
        until: f.maybe("until", until),
        coats: f.maybe("coats", coats),
        branches: f.each("if", branch),
        only_if: f.maybe("only_if", condition),
        hold: f.maybe("hold", hold),
        ends: f.words("ends"),
        rubs: f.flag("rubs"),
        goes_wrong: f.each("goes_wrong", fault),
    })
}

/// Reads the action of a step: one sentence.
fn act(node: &Node<'_>) -> String {
    let act = node.line(ACT);
    let next_starts = |end| {
        let mut later = act.split(end).skip(1);
        later.any(|next: &str| next.starts_with(char::is_uppercase))
    };
    let second = act.contains("; ") || [". ", "! ", "? "].into_iter().any(next_starts);
    if second {
        let hint = "keep the first action here and make a step of the second".to_owned();
        node.slip("`do` holds more than one action", Some(hint));
    }
    act
}

fn gate(node: &Node<'_>) -> GateAsk {
    node.fields(|f| GateAsk {
        gate: f.word("gate", GateKind::Before),
        hard: f.may("hard").map(|node| node.flag()),
        limit: f.maybe_number("limit", &READING),
        range: f.maybe_pair("range", &READING),
        hours: f.maybe_number("hours", &HOURS),
    })
}

fn caution(node: &Node<'_>) -> Caution {
    node.fields(|f| Caution {
        say: f.line("say", CAUTION),
        rank: f
            .need("rank")
            .map(|node| node.whole(1, 20))
            .unwrap_or_default(),
        source: f.line("source", LINE),
        when: f.maybe_word("when").unwrap_or_default(),
    })
}

fn record(node: &Node<'_>) -> Record {
    node.fields(|f| {
        let record = Record {
            id: f.id(),
            ask: f.line("ask", LABEL),
            measure: f.maybe_word("measure"),
            grid: f.maybe("grid", grid),
            at: f.lines("at", 30),
            plausible: f.maybe_pair("plausible", &READING),
            ask_again: f.maybe_pair("ask_again", &READING),
            choice: f.lines("choice", LABEL),
            lot: f.maybe_word("lot"),
            photo: f.maybe_line("photo", LABEL),
            line: f.flag("line"),
            optional: f.flag("optional"),
        };
        one_sort(f.block());
        readings(f.block(), &record);
        for list in ["at", "choice"] {
            once(&f.block().all(list), |item| item.written().to_owned());
        }
        record
    })
}

/// The fields of a record beside the one that says what it asks for.
const RECORD: [&str; 8] = [
    "id",
    "ask",
    "grid",
    "at",
    "plausible",
    "ask_again",
    "line",
    "optional",
];

/// Notes a record that asks for nothing, or for two sorts of thing at once.
fn one_sort(node: &Node<'_>) {
    let sorts = ["measure", "choice", "lot", "photo", "line"];
    let set = sorts.iter().filter(|sort| match node.at(sort) {
        Some(held) => **sort != "line" || held.written() != "false",
        None => false,
    });
    let hint = "a record is one of `measure`, `choice`, `lot`, `photo`, `line`".to_owned();
    match set.copied().collect::<Vec<_>>().as_slice() {
        [] if !node.has_besides(&RECORD) => node.slip("this record asks for nothing", Some(hint)),
        // A misspelt `measure` was noted already.
        [] | [_] => {}
        many => {
            let what = format!(
                "this record asks for {} things at once: `{}`",
                many.len(),
                many.join("`, `")
            );
            node.slip(what, Some(hint));
        }
    }
}

/// Notes limits that fit no reading, and choices that leave no choice.
fn readings(node: &Node<'_>, record: &Record) {
    for name in ["grid", "at", "plausible", "ask_again"] {
        if let Some(held) = node
            .at(name)
            .filter(|_| record.measure.is_none() && node.at("measure").is_none())
        {
            let hint = "add `measure`, or remove this".to_owned();
            held.slip(format!("`{name}` belongs to a reading only"), Some(hint));
        }
    }
    if let (Some(measure), Some(held)) = (record.measure, node.at("ask_again")) {
        let [lo, hi] = record.plausible.unwrap_or(measure.plausible());
        if let Some([from, to]) = record.ask_again
            && !(lo <= from && to <= hi)
        {
            let what = format!(
                "`ask_again` {from} to {to} reaches outside what is plausible, {lo} to {hi}"
            );
            held.slip(what, Some("narrow it, or widen `plausible`".to_owned()));
        }
    }
    if let Some(held) = node.at("choice").filter(|held| held.items().len() == 1) {
        held.slip(
            "`choice` offers one word only",
            Some("offer two at least".to_owned()),
        );
    }
}

fn grid(node: &Node<'_>) -> Grid {
    node.fields(|f| Grid {
        across: f
            .need("across")
            .map(|node| node.whole(1, 20))
            .unwrap_or_default(),
        every_mm: f
            .need("every_mm")
            .map(|node| node.whole(5, 2_000))
            .unwrap_or_default(),
    })
}

fn mix(node: &Node<'_>) -> Mix {
    node.fields(|f| Mix {
        of: f.word("of", MaterialKind::Other),
        need: f.word("need", Need::Said),
    })
}

fn start(node: &Node<'_>) -> StartClock {
    node.fields(|f| StartClock {
        clock: f.word("clock", ClockName::Dust),
        by: f.maybe_word("by"),
    })
}

fn until(node: &Node<'_>) -> Until {
    node.fields(|f| {
        let until = Until {
            clock: f.maybe_word("clock"),
            words: f.maybe_word("words"),
            at: f.lines("at", 30),
            hand: f.maybe_line("hand", CAUTION),
            gate: f.maybe_word("gate"),
        };
        let node = f.block();
        if ["clock", "words", "hand", "gate"]
            .iter()
            .all(|name| node.at(name).is_none())
        {
            let hint = "name a `clock`, `words`, a `gate` or what the `hand` feels".to_owned();
            node.slip("`until` waits for nothing", Some(hint));
        }
        if let Some(held) = node.at("at").filter(|_| node.at("words").is_none()) {
            let hint = "add `words`, or remove `at`".to_owned();
            held.slip(
                "`at` names places, but no test words are asked there",
                Some(hint),
            );
        }
        until
    })
}

fn coats(node: &Node<'_>) -> Coats {
    node.fields(|f| Coats {
        of: f.word("of", MaterialKind::Other),
        count: f
            .need("count")
            .map(|node| node.whole(1, 20))
            .unwrap_or_default(),
        wear_extra: f
            .may("wear_extra")
            .map(|node| node.whole(0, 20))
            .unwrap_or_default(),
        between: f.each("between", step),
    })
}

fn branch(node: &Node<'_>) -> Branch {
    node.fields(|f| Branch {
        record: f.line("record", 40),
        is: f.line("is", LABEL),
        back_to: f.line("back_to", 40),
        why: f.line("why", LINE),
    })
}

fn condition(node: &Node<'_>) -> Condition {
    node.fields(|f| Condition {
        record: f.line("record", 40),
        is: f.line("is", LABEL),
    })
}

fn hold(node: &Node<'_>) -> Hold {
    node.fields(|f| Hold {
        sign: f.line("sign", LINE),
        mark: f.word("mark", Mark::Sign),
    })
}

fn fault(node: &Node<'_>) -> Fault {
    node.fields(|f| Fault {
        sign: f.line("sign", LINE),
        cause: f.note("cause", LINE),
        remedy: f.line("do", LINE),
    })
}

/// Returns all steps in the order in which they are walked; what is done between two coats
/// comes after the step of the coats.
pub(super) fn walk<'t>(list: &Node<'t>) -> Vec<Node<'t>> {
    let mut walk = Vec::new();
    for step in list.all("steps") {
        with_between(step, &mut walk);
    }
    walk
}

fn with_between<'t>(step: Node<'t>, walk: &mut Vec<Node<'t>>) {
    let between = step
        .at("coats")
        .map(|coats| coats.all("between"))
        .unwrap_or_default();
    walk.push(step);
    for inner in between {
        with_between(inner, walk);
    }
}

/// Notes ids of steps and of records that are used twice.
fn names_once(walk: &[Node<'_>]) {
    let steps: Vec<Node<'_>> = walk.iter().filter_map(|step| step.at("id")).collect();
    once(&steps, |id| id.written().to_owned());
    let all = walk.iter().flat_map(|step| step.all("record"));
    let records: Vec<Node<'_>> = all.filter_map(|record| record.at("id")).collect();
    once(&records, |id| id.written().to_owned());
    for step in walk {
        let starts = step.all("starts");
        let clocks: Vec<Node<'_>> = starts
            .iter()
            .filter_map(|start| start.at("clock"))
            .collect();
        once(&clocks, |clock| clock.written().to_owned());
    }
}

/// Notes conditions on records that come later or nowhere, and on words nobody can choose.
fn references(walk: &[Node<'_>]) {
    let mut known: Vec<(&str, Node<'_>)> = Vec::new();
    for step in walk {
        // A step is asked for or skipped before its own records are taken.
        if let Some(condition) = step.at("only_if") {
            chosen(&condition, &known);
        }
        for record in step.all("record") {
            known.extend(record.at("id").map(|id| (id.written(), record)));
        }
        for branch in step.all("if") {
            chosen(&branch, &known);
        }
    }
}

fn chosen(condition: &Node<'_>, known: &[(&str, Node<'_>)]) {
    let Some(name) = condition.at("record") else {
        return;
    };
    if !name.known_as("record up to this step", known.iter().map(|(id, _)| *id)) {
        return;
    }
    let Some((_, record)) = known.iter().find(|(id, _)| *id == name.written()) else {
        return;
    };
    let words = record.all("choice");
    if words.is_empty() {
        let hint = "name a record that has `choice`".to_owned();
        name.slip(format!("`{}` is not a choice", name.written()), Some(hint));
    } else if let Some(is) = condition.at("is") {
        offered(&is, name.written(), &words);
    }
}

/// Notes a word that the choice does not offer.
fn offered(is: &Node<'_>, choice: &str, words: &[Node<'_>]) {
    let offered: Vec<&str> = words.iter().map(Node::written).collect();
    if !offered.contains(&is.written()) {
        let hint = did_you_mean(is.written(), offered.iter().copied())
            .unwrap_or_else(|| format!("it can be {}", listed(&offered)));
        let what = format!("`{choice}` cannot be `{}`", shown(is.written()));
        is.slip(what, Some(hint));
    }
}

/// Notes batches whose amount nothing gives.
fn amounts(walk: &[Node<'_>], scope: Scope) {
    let mut weighed = false;
    for step in walk {
        let records = step.all("record");
        weighed |= records
            .iter()
            .filter_map(|record| record.at("measure"))
            .any(|measure| super::super::near::word(measure.written()) == Some(Measure::Mass));
        let Some(need) = step.at("mix").and_then(|mix| mix.at("need")) else {
            continue;
        };
        let gives = match need.written() {
            "gap" => scope == Scope::Joint,
            "area" => matches!(scope, Scope::Zone | Scope::Panel),
            "said" => weighed,
            _ => true,
        };
        if !gives {
            let (what, hint) = match need.written() {
                "gap" => (
                    "only a joint has a gap map",
                    "make the `scope` joint, or ask for `said`",
                ),
                "area" => (
                    "only a zone or a panel has an area",
                    "change the `scope`, or ask for `said`",
                ),
                _ => (
                    "nobody has said how much by then",
                    "record a `measure: mass` in this step or before",
                ),
            };
            need.slip(what, Some(hint.to_owned()));
        }
    }
}
