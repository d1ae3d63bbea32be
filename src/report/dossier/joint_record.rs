//! The joints on the report and in the folder: how each stands, what was found in it, what was
//! settled, how the clamps go on, and what it was glued with, beside the map of its gap.

use super::csv::Csv;
use super::joint::JointMap;
use super::record::Record;
use super::sheet::{Block, Cell, Fact, Table};
use crate::report::Shown;
use crate::report::shown::number;
use crate::report::tell::material;
use crate::standing::{CupUsed, JointSeen, JointState, joints};

fn all(record: &Record<'_>) -> Vec<JointSeen> {
    joints(record.ask.house, &record.ask.figure.id)
}

/// Returns how every joint stands, its own record where it has one, and the map of its gap.
pub(super) fn joint_blocks(record: &Record<'_>) -> Vec<Block> {
    let all = all(record);
    let mut blocks = vec![Block::Table(Table {
        caption: "Joints and how they stand".to_owned(),
        heads: vec![
            "joint",
            "between",
            "state",
            "found, or since",
            "settled",
            "glued with",
        ],
        rows: all.iter().map(|joint| stands(record, joint)).collect(),
    })];
    if !all.is_empty() {
        blocks.push(Block::Table(Table {
            caption: "Glue lines".to_owned(),
            heads: vec!["joint", "long", "face wide", "runs through", "carries load"],
            rows: all.iter().map(|joint| glue_line(record, joint)).collect(),
        }));
    }
    if all.iter().all(|joint| joint.gaps.rows.is_empty()) {
        blocks.push(Block::Facts(vec![Fact::new("maps of gaps", None)]));
    }
    for joint in &all {
        if joint.state != JointState::NotSurveyed {
            blocks.push(Block::Head(format!("Record of joint {}", joint.id)));
            blocks.push(Block::Facts(told(record, joint)));
        }
        let map = map(record, joint).draw();
        blocks.extend(map.map(Block::Drawing));
    }
    blocks
}

fn stands(record: &Record<'_>, joint: &JointSeen) -> Vec<Cell> {
    let [one, other] = &joint.boards;
    let glued: Vec<String> = joint
        .cups
        .iter()
        .map(|cup| format!("{}, lots {}", name(record, cup), cup.lot()))
        .collect();
    // Nothing is glued into a joint that was never opened: that is no gap of the record.
    let stays_shut = joint.state != JointState::NotSurveyed && !joint.was_opened();
    let glued = if joint.cups.is_empty() && stays_shut {
        Cell::of("nothing yet")
    } else {
        Cell::of(glued.join("; "))
    };
    vec![
        Cell::of(joint.id.clone()),
        Cell::of(format!("{one}, {other}").trim_end_matches(", ").to_owned()),
        Cell::of(joint.state.words()),
        Cell::of(since(record, joint).unwrap_or_default()),
        Cell::of(record.voice.words(&joint.settled())),
        glued,
    ]
}

fn since(record: &Record<'_>, joint: &JointSeen) -> Option<String> {
    let since = joint.since.as_ref();
    since.map(|stamp| record.day(stamp.at))
}

/// The material of a cup by its name on its card; by its id where the card is gone.
fn name(record: &Record<'_>, cup: &CupUsed) -> String {
    material(&cup.material, record.cards()).to_owned()
}

/// All that is known of one joint. What is never asked of a joint that stays shut is left out
/// where nobody wrote it.
fn told(record: &Record<'_>, joint: &JointSeen) -> Vec<Fact> {
    let words = |words: &str| record.voice.words(words);
    let mut state = joint.state.words().to_owned();
    if let (Some(since), Some(stamp)) = (since(record, joint), &joint.since) {
        let word = joint.state.since_word();
        state = format!("{state}, {word} {since}, {}", record.voice.who(&stamp.by));
    }
    let mut facts = vec![Fact::new("state", state)];
    let asked = joint.survey.iter();
    facts.extend(asked.map(|(question, answer)| Fact::new(question.as_str(), words(answer))));
    facts.push(Fact::new("old filler", words(&joint.filler)));
    facts.push(Fact::new("settled", words(&joint.settled())));
    let looked = joint.inside.iter().map(|(what, noted, stamp)| {
        let (noted, day) = (words(noted), record.day(stamp.at));
        format!("{what}: {noted}, {day}")
    });
    let looked = looked.collect::<Vec<_>>().join("; ");
    facts.extend((!looked.is_empty()).then(|| Fact::new("photographs of the inside", looked)));
    let later = [
        ("gap map", gap_words(joint)),
        ("clamp plan", words(&joint.clamps.words())),
        ("glued with", cups(record, joint)),
    ];
    let later = later.map(|(name, known)| Fact::new(name, known));
    let is_asked = |fact: &Fact| fact.known.is_some() || joint.was_opened();
    facts.extend(later.into_iter().filter(is_asked));
    if 1 < joint.cups.len() {
        facts.push(Fact::new("in all", format!("{:.1} g", joint.grams())));
    }
    facts
}

fn gap_words(joint: &JointSeen) -> String {
    let words = joint.gaps.words();
    if joint.gaps.from_card {
        format!("{words}; read at an earlier visit")
    } else {
        words
    }
}

fn cups(record: &Record<'_>, joint: &JointSeen) -> String {
    let cups = joint.cups.iter().map(|cup| {
        let (said, who) = (
            cup.words(&name(record, cup)),
            record.voice.who(&cup.stamp.by),
        );
        format!("{said}, mixed {}, {who}", record.when(cup.stamp.at))
    });
    cups.collect::<Vec<_>>().join("; ")
}

fn map(record: &Record<'_>, joint: &JointSeen) -> JointMap {
    JointMap {
        id: joint.id.clone(),
        between: between(record, joint),
        size_mm: joint.face_mm,
        rows: joint.gaps.rows.clone(),
        read: if joint.gaps.from_card {
            "from the card: an earlier visit".to_owned()
        } else {
            "read at the bench".to_owned()
        },
    }
}

fn between(record: &Record<'_>, joint: &JointSeen) -> String {
    let mut cards = record.ask.figure.joints.iter();
    let card = cards.find(|card| card.id == joint.id);
    card.map(|card| card.between.clone()).unwrap_or_default()
}

fn glue_line(record: &Record<'_>, joint: &JointSeen) -> Vec<Cell> {
    let shown = Shown(record.cards().shop.units);
    let zones: Vec<String> = joint.zones.iter().map(|zone| record.place(zone)).collect();
    let [long, wide] = joint.face_mm.map(|mm| {
        if 0.0 < mm {
            Cell::of(shown.of_unit(mm, "mm"))
        } else {
            Cell::Lacking
        }
    });
    vec![
        Cell::of(joint.id.clone()),
        long,
        wide,
        Cell::of(zones.join("; ")),
        Cell::of(if joint.loaded { "yes" } else { "no" }),
    ]
}

/// Returns the joints as a table, a row for each.
pub(super) fn joints_table(record: &Record<'_>) -> Csv {
    let heads = [
        "joint",
        "between",
        "zones",
        "long_mm",
        "wide_mm",
        "loaded",
        "state",
        "since",
        "found",
        "old_filler",
        "decision",
        "gap_mean_mm",
        "gap_widest_mm",
        "to_fill_ml",
        "gap_read",
        "clamps",
        "rehearsed_min",
        "clamp_plan",
        "glue",
        "lots",
        "batch_lines",
        "glue_g",
    ];
    let mut csv = Csv::new(&heads);
    for joint in all(record) {
        csv.row(&row(record, &joint));
    }
    csv
}

fn row(record: &Record<'_>, joint: &JointSeen) -> Vec<String> {
    let words = |text: &str| record.voice.words(text);
    let known =
        |value: Option<f64>, places| value.map_or_else(String::new, |it| number(it, places));
    let [long, wide] = joint.face_mm.map(|mm| known((0.0 < mm).then_some(mm), 1));
    let found = joint.survey.iter();
    let found: Vec<String> = found.map(|(ask, said)| format!("{ask}: {said}")).collect();
    let of_cups = |of: &dyn Fn(&CupUsed) -> String| {
        let cups: Vec<String> = joint.cups.iter().map(of).collect();
        cups.join("; ")
    };
    let volume = joint.gaps.volume.as_ref();
    let grams = joint.grams();
    let read = match (joint.gaps.rows.is_empty(), joint.gaps.from_card) {
        (true, _) => "",
        (false, true) => "earlier visit",
        (false, false) => "at the bench",
    };
    let since = joint.since.as_ref().map(|stamp| stamp.at.to_rfc3339());
    vec![
        joint.id.clone(),
        between(record, joint),
        joint.zones.join("; "),
        long,
        wide,
        if joint.loaded { "yes" } else { "no" }.to_owned(),
        joint.state.words().to_owned(),
        since.unwrap_or_default(),
        words(&found.join("; ")),
        words(&joint.filler),
        words(&joint.settled()),
        known(volume.map(|it| it.mean.0), 2),
        known(joint.gaps.widest(), 2),
        known(volume.map(|it| it.volume.0), 1),
        read.to_owned(),
        known(joint.clamps.clamps, 0),
        known(joint.clamps.rehearsal_min, 1),
        words(&joint.clamps.words()),
        of_cups(&|cup| name(record, cup)),
        of_cups(&CupUsed::lot),
        of_cups(&|cup| cup.stamp.n.to_string()),
        known((0.0 < grams).then_some(grams), 1),
    ]
}

/// Returns the gaps of every joint, place by place, as a table.
pub(super) fn gaps_table(record: &Record<'_>) -> Csv {
    let mut csv = Csv::new(&["joint", "between", "at_mm", "reading_across", "gap_mm"]);
    for joint in all(record) {
        for (at, gaps) in &joint.gaps.rows {
            for (gap, number_across) in gaps.iter().zip(1..) {
                csv.row(&[
                    joint.id.clone(),
                    between(record, &joint),
                    number(*at, 1),
                    number_across.to_string(),
                    gap.map(|mm| number(mm, 2)).unwrap_or_default(),
                ]);
            }
        }
    }
    csv
}
