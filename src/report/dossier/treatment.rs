//! The treatment report of one figure, part by part: what it is, how it came, what was found,
//! decided, done, added and taken away, what was done otherwise, and how to look after it.
//!
//! The parts answer, one by one, what conservation bodies ask of a record (AIC Commentaries 24
//! and 27; Icon Ethical Guidance 2020, principle 13). What was not recorded is said as such.

use super::care::{care, reversible, touched, witness};
use super::front::front;
use super::joint_record::joint_blocks;
use super::layers::{chips, layer_blocks};
use super::map::zone_map;
use super::materials::{added, removed};
use super::pictures::pictures;
use super::record::{GLOVE, NOT_DECIDED, Record, ReportAsk, Stretch, acts, is_act};
use super::sheet::{Block, Cell, Fact, Part, Sheet, Table};
use super::study::measured;
use crate::card::{DEFERRAL, Figure, Finish, Path, PeopleShown, Wear};
use crate::deed::{Deed, Line};
use crate::reckon::counted;
use crate::report::Shown;
use crate::standing::{FigureStanding, Matter};

/// What every record of treatment is for.
const PURPOSE: &str = "record of the examination, condition, treatment and care of this figure, \
    kept in dated lines while the work was done; for its owner and for whoever works on it next";

/// The number of the part that holds tests and studies; see [`report`].
const EVIDENCE: usize = 4;

/// Returns the treatment report.
pub fn report(ask: ReportAsk<'_>) -> Sheet {
    let record = Record::new(ask);
    let mut parts = vec![
        this_record(&record),
        identity(&record),
        before(&record),
        evidence(&record),
        decisions(&record),
        treatment(&record),
        found(&record),
        materials(&record),
        otherwise(&record),
        part("Pictures", pictures(&record)),
        part(
            "Zones and joints",
            [zone_map(&record), joint_blocks(&record)].concat(),
        ),
        part("What was measured", measured(&record)),
        after(&record),
        part("What can be undone, and with what", reversible(&record)),
        part("Untouched patches", witness(&record)),
        part("Care", care(&record)),
    ];
    let mut sheet = Sheet {
        title: format!("Treatment report: {}", ask.figure.name),
        label: label(&record),
        dated: dated(&record),
        front: Vec::new(),
        parts: std::mem::take(&mut parts),
        wants_one: false,
        behind: Vec::new(),
    };
    sheet.parts.push(lacking(&sheet));
    sheet.front = front(&record, &sheet);
    sheet
}

fn part(title: &str, blocks: Vec<Block>) -> Part {
    Part {
        title: title.to_owned(),
        blocks,
    }
}

/// Returns what every sheet, drawing and picture of the record carries.
pub(super) fn label(record: &Record<'_>) -> String {
    let Figure {
        id,
        owner_reference,
        ..
    } = record.ask.figure;
    let reference = if owner_reference.is_empty() {
        "not recorded"
    } else {
        owner_reference
    };
    let shop = &record.cards().shop.name;
    format!("{shop} · figure {id} · owner's reference: {reference}")
}

fn dated(record: &Record<'_>) -> String {
    let ask = &record.ask;
    let state = match handed_over(record) {
        Some(_) => "figure handed over",
        None => "interim: the treatment is not finished",
    };
    format!("As it stood on {}; {state}", record.when(ask.now))
}

/// Returns the line by which the figure left the shop.
pub(super) fn handed_over<'a>(record: &Record<'a>) -> Option<&'a Line> {
    let is_it = |line: &&Line| matches!(&line.deed, Deed::Finished(deed) if deed.work.operation == HAND_OVER);
    record.lines().rev().find(is_it)
}

/// The operation that ends a treatment; the id of its checklist.
pub(super) const HAND_OVER: &str = "hand-over";

fn this_record(record: &Record<'_>) -> Part {
    let ask = &record.ask;
    let ends = ask.lines.first().zip(ask.lines.last());
    let span = ends.map(|(first, last)| {
        format!(
            "{} to {}, {}",
            record.day(first.at),
            record.day(last.at),
            counted(ask.lines.len(), "line")
        )
    });
    let sealed = ask.seal.map(|seal| {
        let sound = match ask.flaws {
            0 => "every line fits its seal".to_owned(),
            flaws => format!("{}: `knuckle audit` tells more", counted(flaws, "flaw")),
        };
        format!("last seal {seal}; {sound}")
    });
    let mut wrote: Vec<String> = Vec::new();
    for line in record.lines() {
        let who = record.voice.who(&line.by);
        if !wrote.contains(&who) {
            wrote.push(who);
        }
    }
    let mut blocks = vec![
        Block::Notice(DEFERRAL.to_owned()),
        Block::Facts(vec![
            Fact::new("purpose of this record", PURPOSE.to_owned()),
            Fact::new("documented by", wrote.join(", ")),
            Fact::new("put together by", ask.by.map(|by| record.voice.who(by))),
            Fact::new("date of this report", record.when(ask.now)),
            Fact::new("made from dated entries", span),
            Fact::new("entries sealed", sealed),
            Fact::new(
                "in custody since",
                ask.lines.first().map(|line| record.day(line.at)),
            ),
            Fact::new("stands in", room(record)),
            Fact::new("printed", record.stepped(HAND_OVER, "report")),
            Fact::new(
                "second copy kept",
                record.stepped("final-inspection", "copy"),
            ),
            record.fact("copy to the owner", (HAND_OVER, "receipt")),
        ]),
    ];
    if record.cards().shop.practice {
        let practice = "From a practice shop: it is there to learn in, and what stands here need \
                        not have happened.";
        blocks.insert(0, Block::Notice(practice.to_owned()));
    }
    if record.voice.names() == PeopleShown::Outward {
        let roles = "People are named by their trades here; the shop's own journal holds their \
                     names. A name in a note is shown as a trade in brackets.";
        blocks.push(Block::Words(roles.to_owned()));
    }
    part("This record", blocks)
}

fn room(record: &Record<'_>) -> Option<String> {
    if record.ask.lines.is_empty() {
        return None;
    }
    let id = record.ask.house.room_of(&record.ask.figure.id);
    let rooms = &record.cards().shop.rooms;
    let known = rooms.iter().find(|room| room.id == id);
    Some(known.map_or(id, |room| &room.name).to_owned())
}

fn identity(record: &Record<'_>) -> Part {
    let card = record.ask.figure;
    let text = |text: &str| text.to_owned();
    let shown = Shown(record.cards().shop.units);
    let size = card.size_mm;
    let measured = size.iter().any(|side| 0.0 < *side).then(|| {
        let [height, length, width] = size.map(|side| shown.of_unit(side, "mm"));
        format!("height {height}, length {length}, width {width}")
    });
    part(
        "What it is",
        vec![Block::Facts(vec![
            Fact::new("number in this shop", text(&card.id)),
            Fact::new("name", text(&card.name)),
            Fact::new("title or subject", text(&card.title)),
            Fact::new("owner or custodian", text(&card.owner)),
            Fact::new("owner's reference", text(&card.owner_reference)),
            Fact::new("maker or origin", text(&card.maker)),
            Fact::new("date of making", text(&card.made)),
            Fact::new("measurements", measured),
            record.fact("measured on arrival", ("receive", "sizes")),
            Fact::new("marks and labels", card.marks.join("; ")),
            Fact::new("use", text(&card.purpose)),
            Fact::new("wood", text(&card.wood)),
            Fact::new("build", text(&card.build)),
        ])],
    )
}

fn before(record: &Record<'_>) -> Part {
    let table = record.findings_of(
        Stretch::Before,
        "Findings on arrival and before any work",
        |line| record.is_before(line),
    );
    let noted = record.told_of("Notes before any work", |line| {
        matches!(line.deed, Deed::Jotted(_)) && record.is_before(line)
    });
    part(
        "Condition before",
        vec![
            Block::Facts(vec![
                Fact::new("survey accepted", record.stepped("receive", "signed")),
                record.fact(
                    "missing parts, evidence for their form",
                    ("receive", "missing"),
                ),
                record.fact("could not wait", ("receive", "urgent")),
            ]),
            Block::Table(table),
            none_or(record, noted),
        ],
    )
}

/// What came to light once the treatment had begun; it is no condition before.
fn found(record: &Record<'_>) -> Part {
    let began = record.treated_from();
    let noted = record.told_of("Notes and new findings", |line| {
        matches!(line.deed, Deed::Jotted(_)) && !record.is_before(line)
    });
    part(
        "Found during treatment",
        vec![
            Block::Facts(vec![Fact::new(
                "treatment began",
                began.map(|began| record.day(began)),
            )]),
            none_or(record, examined(record)),
            none_or(record, noted),
        ],
    )
}

/// What was examined once the treatment had begun, in the order of the lines: what was asked and
/// found anew of the condition, walks of tests and studies, and what was read of the layers.
fn examined(record: &Record<'_>) -> Table {
    let is_after = |line: &Line| !record.is_before(line);
    let mut rows: Vec<(u64, Vec<Cell>)> = Vec::new();
    let mut put = |line: &Line, what: String| {
        let cells = [record.when(line.at), record.voice.who(&line.by), what];
        let cells = cells.into_iter().chain([line.n.to_string()]);
        rows.push((line.n, cells.map(Cell::of).collect()));
    };
    for (work, lines) in record.walks(Stretch::Evidence) {
        let acts = lines.iter().filter(|line| is_act(&line.deed));
        let mut acts = acts.filter(|line| is_after(line));
        let Some(first) = acts.next() else {
            continue;
        };
        let last = acts.next_back().unwrap_or(first);
        let heading = record.heading(work);
        let until = record.day(last.at);
        put(
            first,
            format!("{heading}, until {until}; found: part {EVIDENCE}"),
        );
    }
    for line in record.lines().filter(|line| is_after(line)) {
        let is_it = match &line.deed {
            Deed::Recorded(deed) if deed.record == GLOVE => false,
            Deed::Recorded(deed) => record.stretch(&deed.work.operation) == Stretch::Before,
            Deed::LayerRead(_) | Deed::LayersTied(_) | Deed::ChipRead(_) => true,
            _ => false,
        };
        if is_it {
            put(line, record.sentence(line));
        }
    }
    rows.sort_by_key(|(n, _)| *n);
    Table {
        caption: "Examined after the treatment had begun".to_owned(),
        heads: vec!["when", "who", "what", "line"],
        rows: rows.into_iter().map(|(_, cells)| cells).collect(),
    }
}

fn evidence(record: &Record<'_>) -> Part {
    let table = record.findings(Stretch::Evidence, "Tests and study of the layers");
    let mut blocks = vec![
        Block::Facts(vec![
            Fact::new("lead in old paint", record.each("lead-test", "lead")),
            Fact::new("not tested for lead", untested(record)),
            record.fact("old photographs", ("scheme", "photographs")),
        ]),
        Block::Table(table),
    ];
    blocks.extend(layer_blocks(record));
    blocks.push(chips(record));
    part("Evidence", blocks)
}

/// Zones of which nobody recorded whether there is lead in them: there it is assumed.
fn untested(record: &Record<'_>) -> Option<String> {
    let zones = &record.ask.figure.zones;
    let is_tested = |id: &str| {
        record.lines().any(|line| match &line.deed {
            Deed::Recorded(deed) => {
                deed.work.operation == "lead-test"
                    && deed.record == "lead"
                    && deed.work.target.as_deref() == Some(id)
            }
            _ => false,
        })
    };
    let open: Vec<&str> = zones
        .iter()
        .filter(|zone| !is_tested(&zone.id))
        .map(|zone| zone.name.as_str())
        .collect();
    match (zones.is_empty(), open.is_empty()) {
        (true, _) => None,
        (false, true) => Some("no zone: all were tested".to_owned()),
        (false, false) => Some(format!("{}; lead is assumed there", open.join("; "))),
    }
}

fn decisions(record: &Record<'_>) -> Part {
    let signed = record.told("Accepted and signed", |deed| {
        matches!(deed, Deed::Signed(_))
    });
    let facts = DECIDED.map(|(name, asked)| record.fact(name, ("scheme", asked)));
    let mut facts = facts.to_vec();
    facts.push(Fact::new("the owner", owner(record)));
    facts.push(Fact::new(
        "approved in the shop",
        record.stepped("scheme", "signed"),
    ));
    part(
        "Decisions",
        vec![
            Block::Facts(facts),
            Block::Table(zones(record)),
            none_or(record, other_steps(record)),
            Block::Table(signed),
        ],
    )
}

/// What is told of the scheme, and the record in which it stands.
const DECIDED: [(&str, &str); 6] = [
    ("layer chosen", "campaign"),
    ("paths chosen, with reasons", "paths"),
    ("options refused, and why", "refused"),
    ("targets adjusted for ageing", "targets"),
    ("cannot be undone", "irreversible"),
    ("version", "version"),
];

/// What else was written down for the scheme, and what it said before: what is told as decided,
/// or among the evidence, is not said again.
fn other_steps(record: &Record<'_>) -> Table {
    let told = DECIDED.iter().map(|(_, asked)| *asked);
    let told: Vec<&str> = told.chain(["owner", "photographs"]).collect();
    let is_told = |line: &Line| {
        let Deed::Recorded(deed) = &line.deed else {
            return false;
        };
        let last = record.last_said("scheme", &deed.record);
        let is_last = last.is_some_and(|(said, _)| said == record.value(deed, line.at));
        deed.work.operation == "scheme" && told.contains(&deed.record.as_str()) && is_last
    };
    let caption = "Written down besides, and what an earlier version said";
    record.findings_of(Stretch::Decision, caption, |line| !is_told(line))
}

/// What the owner said of the plan, and who of the shop wrote it down.
fn owner(record: &Record<'_>) -> Option<String> {
    let (said, line) = record.last_said("scheme", "owner")?;
    let (day, who) = (record.day(line.at), record.voice.who(&line.by));
    Some(format!("{said} (written down {day} by {who})"))
}

fn zones(record: &Record<'_>) -> Table {
    let card = record.ask.figure;
    let numbered = card.zones.iter().zip(1_usize..);
    let rows = numbered.map(|(zone, number)| {
        let decided = record.is_decided();
        let path = match zone.path {
            _ if !decided => NOT_DECIDED,
            Path::Keep => "keep: an old layer is shown",
            Path::Cover => "cover: isolated and painted over",
            Path::Copy => "copy: stripped and repainted to the recorded scheme",
            Path::Leave if !touched(record, zone).is_empty() => {
                "leave: a witness patch, but no longer untouched"
            }
            Path::Leave => "leave: untouched",
        };
        let finish = match (zone.path, zone.finish) {
            _ if !decided => NOT_DECIDED,
            (Path::Leave | Path::Keep, _) => "as found",
            (_, Finish::Paint) => "paint under varnish",
            (_, Finish::Gold) => "gold leaf",
            (_, Finish::Aluminium) => "aluminium leaf, sealed",
            (_, Finish::Wood) => "wood",
        };
        let wear = match zone.wear {
            Wear::Worn => "worn by use",
            Wear::None => "no",
        };
        let number = number.to_string();
        [&number, zone.name.as_str(), path, finish, wear]
            .map(Cell::of)
            .to_vec()
    });
    Table {
        caption: "Path of each zone".to_owned(),
        heads: vec!["no.", "zone", "path", "finish", "wear"],
        rows: rows.collect(),
    }
}

fn treatment(record: &Record<'_>) -> Part {
    let walks = record.walks(Stretch::Treatment);
    let rows = walks.iter().map(|(work, lines)| {
        let day = |line: Option<&&Line>| line.map_or_else(String::new, |line| record.day(line.at));
        let acts: Vec<&Line> = acts(lines);
        let mut who: Vec<String> = Vec::new();
        for line in &acts {
            let by = record.voice.who(&line.by);
            if !who.contains(&by) {
                who.push(by);
            }
        }
        let ended = lines.iter().rev().find_map(|line| match &line.deed {
            Deed::Finished(_) => Some("finished".to_owned()),
            Deed::SentBack(deed) => Some(format!("sent back to {}", deed.back_to)),
            _ => None,
        });
        vec![
            Cell::of(record.heading(work)),
            Cell::of(day(acts.first())),
            Cell::of(day(acts.last())),
            Cell::of(who.join(", ")),
            Cell::of(ended.unwrap_or_else(|| "under way".to_owned())),
        ]
    });
    let mut blocks = vec![Block::Table(Table {
        caption: "Treatment in order".to_owned(),
        heads: vec!["operation", "from", "to", "who", "state"],
        rows: rows.collect(),
    })];
    for walk in &walks {
        blocks.push(Block::Table(record.entries(walk)));
    }
    part("Treatment", blocks)
}

fn materials(record: &Record<'_>) -> Part {
    part(
        "Materials added and removed",
        vec![Block::Table(added(record)), removed(record)],
    )
}

/// Which deeds a table is about.
type Wanted = fn(&Deed) -> bool;

fn otherwise(record: &Record<'_>) -> Part {
    let mut blocks = Vec::new();
    let kinds: [(&str, Wanted); 3] = [
        ("Gates overruled", |deed| matches!(deed, Deed::Overruled(_))),
        (
            "Done otherwise than planned, sent back, refused",
            |deed| match deed {
                Deed::Deviated(_)
                | Deed::Discarded(_)
                | Deed::SentBack(_)
                | Deed::ShownAgain(_) => true,
                Deed::Signed(deed) => !deed.accepted,
                _ => false,
            },
        ),
        ("Questions from the bench", |deed| {
            matches!(deed, Deed::Asked(_))
        }),
    ];
    for (caption, wanted) in kinds {
        blocks.push(none_or(record, record.answered(caption, wanted)));
    }
    blocks.push(none_or(record, struck(record)));
    let open = record.ask.house.figure(&record.ask.figure.id);
    let open = open.into_iter().flat_map(FigureStanding::unanswered);
    let open = open
        .filter(|matter| matter.matter != Matter::Question)
        .count();
    if 0 < open {
        blocks.push(Block::Notice(format!(
            "{open} of these wait for the supervisor's answer"
        )));
    }
    part("Departures from the plan", blocks)
}

/// A record that exists and holds none of a kind says so; without a record nobody knows.
fn none_or(record: &Record<'_>, table: Table) -> Block {
    if table.rows.is_empty() && !record.ask.lines.is_empty() {
        Block::Words(format!("{}: none.", table.caption))
    } else {
        Block::Table(table)
    }
}

fn struck(record: &Record<'_>) -> Table {
    let why = |n: u64| {
        record.ask.lines.iter().find_map(|line| match &line.deed {
            Deed::Struck(deed) if deed.line == n => Some(format!(
                "{}, {}: {}",
                record.when(line.at),
                record.voice.who(&line.by),
                record.voice.words(&deed.why)
            )),
            _ => None,
        })
    };
    let rows = record.struck().map(|line| {
        vec![
            Cell::of(record.when(line.at)),
            Cell::of(record.voice.who(&line.by)),
            Cell::of(record.voice.line(line)),
            Cell::of(why(line.n).unwrap_or_default()),
            Cell::of(line.n.to_string()),
        ]
    });
    Table {
        caption: "Entries struck; they stay in the journal and no longer count".to_owned(),
        heads: vec!["when", "who", "what", "struck", "line"],
        rows: rows.collect(),
    }
}

fn after(record: &Record<'_>) -> Part {
    let table = record.findings(Stretch::After, "Inspection and hand-over");
    part(
        "Condition after",
        vec![
            Block::Facts(vec![
                record.fact("under load", ("final-inspection", "load")),
                record.fact("snags", ("final-inspection", "snag-list")),
                record.fact("lacking in the record", ("final-inspection", "lacking")),
                record.fact("samples kept", (HAND_OVER, "samples")),
                record.fact("next look-over", ("final-inspection", "review")),
            ]),
            Block::Table(table),
        ],
    )
}

fn lacking(sheet: &Sheet) -> Part {
    let lacking = sheet.lacking();
    let block = if lacking.is_empty() {
        Block::Words("Nothing that this report asks for is lacking.".to_owned())
    } else {
        Block::List(lacking)
    };
    part("Not recorded", vec![block])
}
