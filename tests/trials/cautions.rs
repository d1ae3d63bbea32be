//! One table: what a step does or takes in hand, and the caution that it must carry. A new
//! step that lacks its line fails here, and so does a new kind of hazardous material that no
//! row of the table knows. Which words an act is known by is *common practice*; the cautions
//! themselves name their sources, and `checklists` holds them to that.

use std::collections::BTreeSet;

use knuckle::card::{Caution, Checklist, ClockName, MaterialKind, Step, When, hazard};
use knuckle::deed::{Deed, Line, TickKind};
use knuckle::standing::{Ask, Book};

use crate::checklists::{all, steps};
use crate::memory::{Bench, at, sample_cards};

/// One row: what is known by words of the act, by a material in hand or by a clock that
/// starts, and words of which one must stand in a caution of the step or its operation.
struct Class {
    name: &'static str,
    acts: &'static [&'static str],
    kinds: &'static [MaterialKind],
    clocks: &'static [ClockName],
    needs: &'static [&'static str],
}

const CLASSES: [Class; 12] = [
    Class {
        name: "remover",
        acts: &["remover", "stripper"],
        kinds: &[MaterialKind::Stripper, MaterialKind::Rinse],
        clocks: &[ClockName::Dwell],
        needs: &["data sheet", "stripping"],
    },
    Class {
        name: "solvent",
        acts: &["thinner", "solvent"],
        kinds: &[
            MaterialKind::Thinner,
            MaterialKind::Primer,
            MaterialKind::Colour,
            MaterialKind::Glaze,
            MaterialKind::Varnish,
            MaterialKind::Isolating,
            MaterialKind::Size,
            MaterialKind::Consolidant,
            MaterialKind::Stripper,
        ],
        clocks: &[],
        needs: &[
            "flame",
            "spark",
            "vapour",
            "exhaust",
            "air the room",
            "ignition",
        ],
    },
    Class {
        name: "gloves",
        acts: &[],
        kinds: &[],
        clocks: &[ClockName::Glove],
        needs: &["glove"],
    },
    Class {
        name: "resin",
        acts: &["hardener"],
        kinds: &[MaterialKind::Epoxy],
        clocks: &[ClockName::Cup],
        needs: &["skin"],
    },
    Class {
        name: "filler",
        acts: &["putty", "filler"],
        kinds: &[MaterialKind::Filler],
        clocks: &[],
        needs: &["dust", "skin"],
    },
    Class {
        name: "oily rags",
        acts: &["rag", "rags"],
        kinds: &[],
        clocks: &[ClockName::TackEdge],
        needs: &["rag"],
    },
    Class {
        name: "dust",
        acts: &[
            "sand", "rub", "scrape", "scuff", "grind", "rasp", "vacuum", "sweep",
        ],
        kinds: &[],
        clocks: &[],
        needs: &[
            "dust",
            "dry-sand",
            "sand wet",
            "vacuum",
            "no sanding",
            "keep it wet",
            "extract at",
        ],
    },
    Class {
        name: "blades",
        acts: &[
            "cut", "recut", "carve", "saw", "chisel", "gouge", "notch", "scalpel", "knife",
            "blade", "pare", "drill", "plane", "trim",
        ],
        kinds: &[],
        clocks: &[],
        needs: &["away from", "cut wet"],
    },
    Class {
        name: "heat",
        acts: &["steam", "hot", "heat", "flame", "iron"],
        kinds: &[],
        clocks: &[],
        needs: &["burn", "heat"],
    },
    Class {
        name: "lifting",
        acts: &[
            "unload",
            "lift it",
            "hoist",
            "cradle",
            "tilt the figure",
            "stand the figure",
            "set the figure",
        ],
        kinds: &[],
        clocks: &[],
        needs: &["two people", "hoist", "support the figure"],
    },
    Class {
        name: "ultraviolet",
        acts: &["uv"],
        kinds: &[],
        clocks: &[],
        needs: &["uv lamp"],
    },
    Class {
        name: "wedges",
        acts: &["wedge", "wedges", "pry"],
        kinds: &[],
        clocks: &[],
        needs: &["eye cover"],
    },
];

/// Steps whose words sound like a class and are none of it, each with its reason.
const EXEMPT: [(&str, &str, &str, &str); 6] = [
    (
        "strip",
        "lift",
        "blades",
        "a blunt blade of wood or plastic",
    ),
    ("detail-clean", "pick", "blades", "the strokes are old ones"),
    ("detail-clean", "seats", "blades", "the holes are old ones"),
    ("varnish", "cut", "blades", "a run is cut by rubbing it wet"),
    ("varnish", "rub", "dust", "wet, on new varnish"),
    (
        "blend-and-line",
        "couch",
        "dust",
        "oil is rubbed on with a cloth",
    ),
];

fn spaced(text: &str) -> String {
    let letters = text.to_lowercase();
    let words = letters.split(|sign: char| !sign.is_alphabetic());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    format!(" {} ", words.join(" "))
}

/// The kinds of material that a step takes in hand.
fn kinds(step: &Step) -> BTreeSet<MaterialKind> {
    let lots = step.record.iter().filter_map(|record| record.lot);
    let clocks = step.starts.iter().filter_map(|start| start.by);
    let mix = step.mix.iter().map(|mix| mix.of);
    let coats = step.coats.iter().map(|coats| coats.of);
    lots.chain(clocks).chain(mix).chain(coats).collect()
}

impl Class {
    fn holds(&self, step: &Step) -> bool {
        let act = spaced(&step.act);
        let kinds = kinds(step);
        let words = self
            .acts
            .iter()
            .any(|word| act.contains(&format!(" {word} ")));
        words
            || self.kinds.iter().any(|kind| kinds.contains(kind))
            || step
                .starts
                .iter()
                .any(|start| self.clocks.contains(&start.clock))
    }

    /// A line that is shown to everybody, or to everybody who has not excluded lead.
    fn is_met(&self, list: &Checklist, step: &Step) -> bool {
        let shown = |caution: &&Caution| matches!(caution.when, When::Always | When::Lead);
        let cautions = list.cautions.iter().chain(&step.cautions).filter(shown);
        cautions.into_iter().any(|caution| {
            let say = caution.say.to_lowercase();
            let sourced = !caution.source.trim().is_empty();
            sourced && self.needs.iter().any(|word| say.contains(word))
        })
    }
}

/// What lacks its caution, and how many pairs of step and class were looked at.
fn lacking(list: &Checklist) -> (Vec<String>, usize) {
    let mut looked = 0;
    let mut lacking = Vec::new();
    for step in steps(list) {
        for class in CLASSES.iter().filter(|class| class.holds(step)) {
            looked += 1;
            let exempt = EXEMPT.iter().any(|(operation, id, name, _)| {
                *operation == list.id && *id == step.id && *name == class.name
            });
            if !exempt && !class.is_met(list, step) {
                lacking.push(format!("{}/{}: {}", list.id, step.id, class.name));
            }
        }
    }
    (lacking, looked)
}

#[test]
fn every_hazardous_step_carries_its_caution() {
    let mut looked = 0;
    for (name, list) in all() {
        let (lacking, here) = lacking(&list);
        assert_eq!(lacking, Vec::<String>::new(), "{name}");
        looked += here;
    }
    assert!(100 < looked, "only {looked} hazards were found");
}

/// The test itself is tried: a made-up operation without cautions lacks every class, and one
/// sourced line takes one class away.
#[test]
fn a_new_step_without_its_caution_is_found() {
    let text = "
id: made-up
order: 20
title: Made up
trade: any
scope: zone
why: To see that the table finds it.
steps:
  - {id: brush, do: Brush remover on, record: [{id: lot, ask: Lot, lot: stripper}]}
  - {id: gloves, do: Pull gloves on, starts: [{clock: glove, by: thinner}]}
  - {id: mix, do: Press start, mix: {of: epoxy, need: said}}
  - {id: fill, do: Press the paste in, record: [{id: paste, ask: Lot, lot: filler}]}
  - {id: size, do: Lay the size, starts: [{clock: tack_edge, by: size}]}
  - {id: rub, do: Rub it down}
  - {id: saw, do: Saw the slip to length}
  - {id: steam, do: Steam the seam}
  - {id: stand, do: Stand the figure on its feet}
  - {id: lamp, do: Look at it under UV}
  - {id: wedge, do: Drive the wedges in}
";
    let list: Checklist = serde_yaml::from_str(text).unwrap();
    let found: BTreeSet<String> = lacking(&list)
        .0
        .iter()
        .filter_map(|line| line.rsplit(": ").next().map(str::to_owned))
        .collect();
    let every: BTreeSet<String> = CLASSES.iter().map(|class| class.name.to_owned()).collect();
    assert_eq!(found, every);
    let mended = text.replace(
        "do: Saw the slip to length",
        "do: Saw the slip to length, cautions: [{say: Cut away from the body., rank: 1, source: judgement}]",
    );
    let list: Checklist = serde_yaml::from_str(&mended).unwrap();
    assert!(
        !lacking(&list)
            .0
            .iter()
            .any(|line| line.ends_with(": blades"))
    );
    let unsourced = mended.replace("source: judgement", "source: ' '");
    let list: Checklist = serde_yaml::from_str(&unsourced).unwrap();
    assert!(
        lacking(&list)
            .0
            .iter()
            .any(|line| line.ends_with(": blades"))
    );
}

/// Every exemption still stands for a step that its class would find.
#[test]
fn no_exemption_outlives_its_step() {
    let lists = all();
    for (operation, id, name, why) in EXEMPT {
        let list = lists.iter().find(|(_, list)| list.id == operation).unwrap();
        let step = steps(&list.1).into_iter().find(|step| step.id == id);
        let class = CLASSES.iter().find(|class| class.name == name).unwrap();
        assert!(class.holds(step.unwrap()), "{operation}/{id}: {why}");
    }
}

/// A kind with hazard statements on a card of the shop is known to the table.
#[test]
fn every_kind_with_hazard_statements_has_its_row() {
    for card in sample_cards().materials.values() {
        let row = CLASSES.iter().any(|class| class.kinds.contains(&card.kind));
        assert!(
            row || card.ghs.is_empty(),
            "{}: no row for {:?}",
            card.id,
            card.kind
        );
        for code in &card.ghs {
            assert!(hazard(code).is_some(), "{}: {code} has no words", card.id);
        }
    }
}

/// What the card of the material in hand says stands among the cautions of the step, with its
/// code, and what can kill comes before what can smart.
#[test]
fn the_statements_of_the_material_in_hand_stand_at_the_step() {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let work = bench.walk_until("hare", "strip", Some("body-near"), &mut |prompt| {
        prompt.step == "gloves" && matches!(prompt.ask, Ask::Confirm { .. })
    });
    let prompt = bench.prompt("hare", &work);
    let said: Vec<&str> = prompt
        .cautions
        .iter()
        .map(|one| one.source.as_str())
        .collect();
    for code in ["H302", "H317", "H319", "H332"] {
        assert!(
            said.iter().any(|source| source.contains(code)),
            "{code} is not among {said:?}"
        );
    }
    assert!(prompt.cautions.iter().map(|one| one.rank).is_sorted());
}

/// What the card calls a danger is ticked and stands in the journal, once in a walk, before
/// the first pour.
#[test]
fn a_danger_on_the_card_is_ticked_before_the_material_is_used() {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let work = bench.walk("hare", "mix-and-lay-up", Some("J3"), &mut |_| None);
    let lines = &bench.lines[&Book::Figure("hare".into())];
    let burns = |line: &&Line| match &line.deed {
        Deed::Ticked(tick) => {
            tick.work == work
                && tick.kind == TickKind::Caution
                && tick
                    .said
                    .ends_with("Causes severe skin burns and eye damage")
        }
        _ => false,
    };
    let ticked: Vec<u64> = lines.iter().filter(burns).map(|line| line.n).collect();
    let poured = lines
        .iter()
        .find(|line| matches!(line.deed, Deed::Poured(_)));
    assert_eq!(ticked.len(), 1, "once: {ticked:?}");
    assert!(ticked[0] < poured.unwrap().n);
}

/// A number from memory is shown as what it is; a number that was read stands alone.
#[test]
fn a_number_from_memory_is_never_shown_as_a_fact() {
    let caution = |say: &str, source: &str| {
        let caution = Caution {
            say: say.to_owned(),
            rank: 1,
            source: source.to_owned(),
            when: When::Always,
        };
        caution.as_shown().say
    };
    assert_eq!(
        caution("Wait 40 minutes.", "memory"),
        "Wait 40 minutes. (preset: confirm on the data sheet)"
    );
    assert_eq!(
        caution("Wait 40 minutes.", "EN 1 (from memory)"),
        "Wait 40 minutes. (preset: confirm on the data sheet)"
    );
    assert_eq!(caution("Wait 40 minutes.", "29 CFR 1"), "Wait 40 minutes.");
    assert_eq!(caution("Wait.", "memory"), "Wait.");
}
