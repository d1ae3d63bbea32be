//! The built-in checklists, held to the reader's rules: they parse, their names are unique,
//! every line can be read at two metres, every caution says where it comes from, and nothing
//! dangerous comes without its caution. Where they lead is looked at in `checklist_ways`.

use std::collections::{BTreeMap, BTreeSet};

use include_dir::{Dir, include_dir};
use knuckle::card::{Caution, Checklist, ClockName, MaterialKind, Record, Scope, Step, When};

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/checklists");

/// The journey of a figure: order, id, scope (*common practice*).
const JOURNEY: [(u32, &str, Scope); 24] = [
    (1, "receive", Scope::Figure),
    (2, "photograph", Scope::Zone),
    (3, "lead-test", Scope::Zone),
    (4, "layer-study", Scope::Zone),
    (5, "scheme", Scope::Figure),
    (6, "strip", Scope::Zone),
    (7, "detail-clean", Scope::Zone),
    (8, "wash", Scope::Zone),
    (9, "dry", Scope::Zone),
    (10, "joint-survey", Scope::Joint),
    (11, "open-joint", Scope::Joint),
    (12, "dry-fit", Scope::Joint),
    (13, "mix-and-lay-up", Scope::Joint),
    (14, "consolidate", Scope::Zone),
    (15, "splice", Scope::Zone),
    (16, "fill", Scope::Zone),
    (17, "sand", Scope::Zone),
    (18, "prime", Scope::Zone),
    (19, "body-colour", Scope::Zone),
    (20, "blend-and-line", Scope::Zone),
    (21, "size-and-leaf", Scope::Panel),
    (22, "varnish", Scope::Zone),
    (23, "final-inspection", Scope::Figure),
    (24, "hand-over", Scope::Figure),
];

/// Every built-in checklist with its file name, in the order of the journey.
#[expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a checklist that cannot be read fails every check here, with its place"
)]
pub(super) fn all() -> Vec<(String, Checklist)> {
    let mut lists: Vec<_> = BUILT_IN
        .files()
        .map(|file| {
            let name = file.path().display().to_string();
            let text = file.contents_utf8().expect("a checklist is UTF-8");
            let list: Checklist =
                serde_yaml::from_str(text).unwrap_or_else(|flaw| panic!("{name}: {flaw}"));
            (name, list)
        })
        .collect();
    lists.sort_by_key(|(_, list)| list.order);
    assert!(!lists.is_empty(), "no checklist was found");
    lists
}

/// Every step in the order of the walk, those between two coats after their coat.
pub(super) fn steps(list: &Checklist) -> Vec<&Step> {
    fn walk<'a>(steps: &'a [Step], into: &mut Vec<&'a Step>) {
        for step in steps {
            into.push(step);
            if let Some(coats) = &step.coats {
                walk(&coats.between, into);
            }
        }
    }
    let mut into = Vec::new();
    walk(&list.steps, &mut into);
    into
}

fn cautions(list: &Checklist) -> Vec<&Caution> {
    list.cautions
        .iter()
        .chain(steps(list).into_iter().flat_map(|step| &step.cautions))
        .collect()
}

/// Every sentence that a person reads, except the sources.
fn sentences(list: &Checklist) -> Vec<&str> {
    let mut said = vec![list.title.as_str(), list.why.as_str()];
    said.extend(
        cautions(list)
            .into_iter()
            .map(|caution| caution.say.as_str()),
    );
    for step in steps(list) {
        said.push(&step.act);
        said.extend(step.why.as_deref());
        said.extend(step.confirm.iter().map(String::as_str));
        said.extend(step.record.iter().map(|record| record.ask.as_str()));
        said.extend(
            step.record
                .iter()
                .flat_map(|record| &record.choice)
                .map(String::as_str),
        );
        said.extend(step.until.iter().filter_map(|until| until.hand.as_deref()));
        said.extend(step.branches.iter().map(|branch| branch.why.as_str()));
        said.extend(step.hold.iter().map(|hold| hold.sign.as_str()));
        for fault in &step.goes_wrong {
            said.extend([
                fault.sign.as_str(),
                fault.cause.as_str(),
                fault.remedy.as_str(),
            ]);
        }
    }
    said
}

fn length(text: &str) -> usize {
    text.chars().count()
}

#[test]
fn the_journey_is_whole_and_files_are_named_by_order_and_id() {
    let found: Vec<_> = all()
        .iter()
        .map(|(name, list)| (name.clone(), list.order, list.id.clone(), list.scope))
        .collect();
    let wanted: Vec<_> = JOURNEY
        .iter()
        .map(|(order, id, scope)| {
            (
                format!("{order:02}-{id}.yaml"),
                *order,
                (*id).to_owned(),
                *scope,
            )
        })
        .collect();
    assert_eq!(found, wanted);
}

#[test]
fn names_are_unique_in_their_checklist() {
    for (name, list) in all() {
        let mut seen = BTreeSet::new();
        for step in steps(&list) {
            assert!(!step.id.is_empty(), "{name}: a step has no id");
            assert!(
                seen.insert(step.id.clone()),
                "{name}: two steps `{}`",
                step.id
            );
        }
        let mut seen = BTreeSet::new();
        for record in steps(&list).into_iter().flat_map(|step| &step.record) {
            assert!(!record.id.is_empty(), "{name}: a record has no id");
            assert!(
                seen.insert(record.id.clone()),
                "{name}: two records `{}`",
                record.id
            );
        }
        for id in steps(&list).into_iter().flat_map(|step| {
            step.record
                .iter()
                .map(|record| &record.id)
                .chain([&step.id])
        }) {
            assert!(
                id.chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
                "{name}: `{id}` is not lower case with dashes"
            );
        }
    }
}

/// Two metres: sixty characters, one action, no second verb hung on with a joining word.
#[test]
fn what_to_do_is_one_short_action() {
    for (name, list) in all() {
        for step in steps(&list) {
            let act = &step.act;
            assert!(
                (4..=60).contains(&length(act)),
                "{name}/{}: {} characters in `{act}`",
                step.id,
                length(act)
            );
            for joint in ["; ", ". ", " then ", " and ", " & "] {
                assert!(
                    !act.contains(joint),
                    "{name}/{}: two actions in `{act}`",
                    step.id
                );
            }
            assert!(
                act.starts_with(char::is_uppercase),
                "{name}: `{act}` has no capital"
            );
            assert!(!act.ends_with('.'), "{name}: `{act}` ends with a stop");
        }
    }
}

#[test]
fn lines_stay_on_one_line_and_ticks_ask_for_a_state() {
    for (name, list) in all() {
        assert!(
            !list.why.is_empty() && length(&list.why) <= 100,
            "{name}: why"
        );
        for step in steps(&list) {
            for why in step.why.iter().chain(step.branches.iter().map(|b| &b.why)) {
                assert!(length(why) <= 90, "{name}/{}: `{why}`", step.id);
            }
            for tick in &step.confirm {
                let state = tick
                    .split(|c: char| !c.is_alphabetic())
                    .any(|word| word.len() >= 2 && word.chars().all(char::is_uppercase));
                assert!(
                    state,
                    "{name}/{}: `{tick}` names no state in capitals",
                    step.id
                );
                assert!(length(tick) <= 80, "{name}/{}: `{tick}`", step.id);
            }
            for fault in &step.goes_wrong {
                assert!(
                    !fault.sign.is_empty() && !fault.remedy.is_empty(),
                    "{name}/{}: a fault without sign or remedy",
                    step.id
                );
            }
        }
    }
}

/// At most 90 characters, a source, the line that saves a life first, and no figure that
/// nobody has read in a text.
#[test]
fn cautions_are_short_sourced_and_in_order() {
    for (name, list) in all() {
        for caution in cautions(&list) {
            let say = &caution.say;
            assert!(
                (10..=90).contains(&length(say)),
                "{name}: {} in `{say}`",
                length(say)
            );
            assert!(
                !caution.source.trim().is_empty(),
                "{name}: no source for `{say}`"
            );
            assert!((1..=10).contains(&caution.rank), "{name}: rank of `{say}`");
            let from_memory = caution.source == "memory" || caution.source.contains("from memory");
            assert!(
                !from_memory || !say.contains(|c: char| c.is_ascii_digit()),
                "{name}: a number from memory in `{say}`"
            );
        }
        let lists = std::iter::once(&list.cautions)
            .chain(steps(&list).into_iter().map(|step| &step.cautions));
        for cautions in lists {
            assert!(
                cautions.iter().map(|caution| caution.rank).is_sorted(),
                "{name}: the most important caution does not come first"
            );
        }
    }
}

fn is_dangerous(step: &Step) -> bool {
    use MaterialKind::{
        Colour, Consolidant, Epoxy, Glaze, Isolating, Primer, Size, Stripper, Thinner, Varnish,
    };
    let wet = [
        Epoxy,
        Consolidant,
        Stripper,
        Primer,
        Colour,
        Glaze,
        Size,
        Varnish,
        Isolating,
        Thinner,
    ];
    step.mix.is_some()
        || step.coats.is_some()
        || step
            .starts
            .iter()
            .any(|start| start.clock == ClockName::Glove)
        || step
            .starts
            .iter()
            .any(|start| start.clock == ClockName::TackEdge)
        || step
            .record
            .iter()
            .any(|record| record.lot.is_some_and(|lot| wet.contains(&lot)))
}

/// A wet or biting step has a caution of its own, or one of its checklist was ticked before.
#[test]
fn nothing_dangerous_comes_without_its_caution() {
    let mut looked_at = 0;
    for (name, list) in all() {
        for step in steps(&list) {
            if is_dangerous(step) {
                looked_at += 1;
                assert!(
                    !step.cautions.is_empty() || !list.cautions.is_empty(),
                    "{name}/{}: no caution",
                    step.id
                );
            }
            if step
                .starts
                .iter()
                .any(|start| start.clock == ClockName::Glove)
            {
                assert!(
                    !step.cautions.is_empty(),
                    "{name}/{}: gloves, no caution",
                    step.id
                );
            }
        }
    }
    assert!(
        looked_at > 20,
        "only {looked_at} dangerous steps were found"
    );
}

/// A line for one kind of remover or leaf would stay unseen if the bench asked before the
/// material was picked; so it stands behind the step that picks it.
#[test]
fn a_line_for_one_material_stands_behind_its_pick() {
    let of_material =
        |caution: &Caution| !matches!(caution.when, When::Always | When::Lead | When::Spray);
    for (name, list) in all() {
        assert!(
            !list.cautions.iter().any(of_material),
            "{name}: shown before the pick"
        );
        let mut picked = false;
        for step in steps(&list) {
            assert!(
                picked || !step.cautions.iter().any(of_material),
                "{name}/{}: shown before the pick",
                step.id
            );
            picked |= step.record.iter().any(|record| record.lot.is_some());
        }
    }
}

/// What must bear a line of rank 1 for everybody, whatever material is picked.
#[test]
fn the_worst_work_opens_with_a_line_that_saves_a_life() {
    let lists: BTreeMap<_, _> = all().into_iter().map(|(_, l)| (l.id.clone(), l)).collect();
    for id in [
        "strip",
        "wash",
        "detail-clean",
        "dry",
        "lead-test",
        "mix-and-lay-up",
        "consolidate",
        "sand",
        "prime",
        "body-colour",
        "size-and-leaf",
        "varnish",
    ] {
        let first = &lists[id].cautions;
        assert!(
            first
                .iter()
                .any(|caution| caution.rank == 1 && caution.when == When::Always),
            "{id}: no line of rank 1"
        );
    }
}

/// No maker, brand, shop or person: a capital inside a sentence is only allowed to words of
/// this list, to units and to words wholly in capitals.
#[test]
fn no_name_of_a_maker_stands_in_a_line() {
    const ALLOWED: [&str; 2] = ["Munsell", "Lab"];
    for (name, list) in all() {
        for line in sentences(&list) {
            assert!(!line.contains(['®', '™', '©']), "{name}: `{line}`");
            for sentence in line.split(['.', ':', '?', '!']) {
                for word in sentence.split_whitespace().skip(1) {
                    let letters: String = word.chars().filter(|c| c.is_alphabetic()).collect();
                    let capital = letters.starts_with(char::is_uppercase)
                        && letters.contains(char::is_lowercase);
                    assert!(
                        !capital || ALLOWED.contains(&letters.as_str()),
                        "{name}: is `{word}` a name? `{line}`"
                    );
                }
            }
        }
    }
}

fn kinds(record: &Record) -> usize {
    [
        record.measure.is_some(),
        !record.choice.is_empty(),
        record.lot.is_some(),
        record.photo.is_some(),
        record.line,
    ]
    .into_iter()
    .filter(|set| *set)
    .count()
}

#[test]
fn each_record_asks_for_exactly_one_thing() {
    for (name, list) in all() {
        for record in steps(&list).into_iter().flat_map(|step| &step.record) {
            let place = format!("{name}: record `{}`", record.id);
            assert_eq!(kinds(record), 1, "{place}");
            assert!(
                (2..=50).contains(&length(&record.ask)),
                "{place}: `{}`",
                record.ask
            );
            assert_ne!(record.choice.len(), 1, "{place}: a choice of one");
            assert!(
                record.choice.len() <= 9,
                "{place}: a digit cannot pick a tenth"
            );
            let words: BTreeSet<_> = record.choice.iter().collect();
            assert_eq!(words.len(), record.choice.len(), "{place}: a word twice");
            let needs_measure = record.grid.is_some()
                || !record.at.is_empty()
                || record.plausible.is_some()
                || record.ask_again.is_some();
            assert!(
                !needs_measure || record.measure.is_some(),
                "{place}: range without measure"
            );
            if let Some(measure) = record.measure {
                let [lowest, highest] = record.plausible.unwrap_or(measure.plausible());
                let [low, high] = record.ask_again.unwrap_or(measure.ask_again());
                assert!(
                    lowest <= low && low < high && high <= highest,
                    "{place}: ranges"
                );
            }
        }
    }
}
