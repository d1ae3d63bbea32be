//! Recall by air, against a search of the plain files of the sample shop.

use std::collections::BTreeSet;
use std::path::Path;

use chrono::Duration;
use serde_json::Value;

use knuckle::deed::{Deed, Mixed, Recorded, Value as Entered, Work};

use crate::kit::sealed::Sealed;
use crate::memory::at;

/// What the sample shop laid in such air, read from its files line by line, with nothing of the
/// program: the room from the card and the moves, the air from the latest reading of that room
/// within four hours before.
#[test]
fn what_was_laid_in_damp_air_is_what_a_search_of_the_plain_files_finds() {
    let sealed = Sealed::whole();
    let shop = sealed.shop();
    let picked = |(operation, target, record, lot): (&str, &str, &str, &str)| {
        Deed::Recorded(Recorded {
            work: work(operation, target),
            step: "picked".to_owned(),
            record: record.to_owned(),
            station: None,
            measure: None,
            value: Entered::Text(lot.to_owned()),
            asked_again: false,
        })
    };
    let more = [
        picked(("fill", "breast", "paste", "PA-2607-23")),
        picked(("size-and-leaf", "breast-strap", "size", "ZS-2607-19")),
        picked(("size-and-leaf", "breast-strap", "leaf", "AU-80-2231")),
        picked(("strip", "breast", "remover", "GS-2608-64")),
        Deed::Mixed(Mixed {
            work: work("mix-and-lay-up", "J1"),
            step: "mix".to_owned(),
            material: "medium-epoxy".to_owned(),
            lots: ["MR-2604-17", "MH-2604-09"].map(str::to_owned),
            a_g: 50.0,
            b_g: 25.0,
            off_percent: 0.0,
            resin_c: None,
            starts: Vec::new(),
        }),
    ];
    let more = more.map(|deed| ("2026-11-24T17:00:00Z", "wren", deed));
    sealed.write("figures/heron", &more);
    let air: Vec<Value> = plain(&shop.join("journal.jsonl"), "air");
    let mut seen = [0; 3];
    for above in [40.0, 52.0, 55.0, 60.0] {
        let mut want = BTreeSet::new();
        for entry in std::fs::read_dir(shop.join("figures")).unwrap() {
            let folder = entry.unwrap().path();
            let figure = folder.file_name().unwrap().to_str().unwrap().to_owned();
            for (line, room) in laid(&folder) {
                let now = at(line["at"].as_str().unwrap());
                let of_room = air.iter().filter(|it| it["room"] == room.as_str());
                let before = of_room.filter(|it| at(it["at"].as_str().unwrap()) <= now);
                let Some(last) = before.max_by_key(|it| it["n"].as_u64()) else {
                    continue;
                };
                let is_fresh = now - at(last["at"].as_str().unwrap()) <= Duration::hours(4);
                if is_fresh && above < last["humidity_percent"].as_f64().unwrap() {
                    want.insert((figure.clone(), line["n"].as_u64().unwrap()));
                    let sort = ["done", "mixed", "recorded"];
                    let sort = sort.iter().position(|deed| line["deed"] == *deed);
                    seen[sort.unwrap()] += 1;
                }
            }
        }
        let found = sealed.run(&["recall", "--humidity-above", &format!("{above}%"), "--json"]);
        let found: BTreeSet<(String, u64)> = found
            .out
            .lines()
            .map(|line| serde_json::from_str::<Value>(line).unwrap())
            .map(|row| {
                let figure = row["book"].as_str().unwrap().to_owned();
                (figure, row["n"].as_u64().unwrap())
            })
            .collect();
        assert_eq!(found, want, "above {above} %");
    }
    assert!(seen.iter().all(|count| 0 < *count), "{seen:?}");
}

fn work(operation: &str, target: &str) -> Work {
    Work {
        operation: operation.to_owned(),
        target: Some(target.to_owned()),
        round: 1,
    }
}

/// Lines of a journal with this deed that no later line struck.
fn plain(journal: &Path, deed: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(journal).unwrap();
    let lines = text.lines().map(|line| serde_json::from_str(line).unwrap());
    let lines: Vec<Value> = lines.collect();
    let strikes = lines.iter().filter(|line| line["deed"] == "struck");
    let struck: Vec<&Value> = strikes.map(|line| &line["line"]).collect();
    let stands = |line: &&Value| line["deed"] == deed && !struck.contains(&&line["n"]);
    lines.iter().filter(stands).cloned().collect()
}

/// What was laid on a figure, each with the room it stood in: mixes, coats, size, and lots that
/// were taken down and stay on the wood, unless a coat or a mix of the same work tells them.
fn laid(folder: &Path) -> Vec<(Value, String)> {
    let journal = folder.join("journal.jsonl");
    let card: Value = yaml(&folder.join("figure.yaml"));
    let mixes = plain(&journal, "mixed");
    let is_laid = |done: &Value| {
        let starts = done["starts"].as_array().into_iter().flatten();
        let mut starts = starts.map(|start| &start["rule"]);
        !done["coat"].is_null() || starts.any(|rule| rule.to_string().contains("tack"))
    };
    let mut done = plain(&journal, "done");
    done.retain(is_laid);
    let work = |line: &Value| ["operation", "target", "round"].map(|key| line[key].clone());
    let told = |record: &Value| {
        let coats = done.iter().map(|line| (line, &line["coat"]["lot"]));
        let of_mixes = mixes.iter().flat_map(|line| {
            let lots = line["lots"].as_array().into_iter().flatten();
            lots.map(move |lot| (line, lot))
        });
        let is_it =
            |(line, lot): (&Value, &Value)| work(line) == work(record) && *lot == record["value"];
        coats.chain(of_mixes).any(is_it)
    };
    let stays = staying();
    let mut taken = plain(&journal, "recorded");
    taken.retain(|line| {
        let key = [&line["operation"], &line["record"]].map(|it| it.as_str().unwrap().to_owned());
        stays.contains(&key) && !told(line)
    });
    let moves = plain(&journal, "moved");
    let room = |line: &Value| {
        let before = moves
            .iter()
            .filter(|it| it["n"].as_u64() < line["n"].as_u64());
        let last = before
            .max_by_key(|it| it["n"].as_u64())
            .map_or(&card["room"], |it| &it["room"]);
        last.as_str().unwrap().to_owned()
    };
    let all = mixes.iter().chain(&done).chain(&taken);
    all.map(|line| (line.clone(), room(line))).collect()
}

/// Records of the built-in checklists that take down a lot which stays on the wood; size and
/// epoxy have lines of their own when they are laid.
fn staying() -> BTreeSet<[String; 2]> {
    const KINDS: [&str; 8] = [
        "filler",
        "primer",
        "colour",
        "glaze",
        "leaf",
        "varnish",
        "isolating",
        "consolidant",
    ];
    let lists = Path::new(env!("CARGO_MANIFEST_DIR")).join("checklists");
    let files = std::fs::read_dir(lists).unwrap();
    let lists = files.map(|file| yaml(&file.unwrap().path()));
    let mut all = BTreeSet::new();
    for list in lists {
        let steps = list["steps"].as_array().unwrap().iter();
        let between = steps
            .clone()
            .filter_map(|step| step["coats"]["between"].as_array());
        for step in steps.chain(between.flatten()) {
            for record in step["record"].as_array().into_iter().flatten() {
                if record["lot"]
                    .as_str()
                    .is_some_and(|kind| KINDS.contains(&kind))
                {
                    let name = |it: &Value| it["id"].as_str().unwrap().to_owned();
                    all.insert([name(&list), name(record)]);
                }
            }
        }
    }
    all
}

fn yaml(file: &Path) -> Value {
    serde_yaml::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}
