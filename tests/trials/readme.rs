//! What the readme says is so: its checklist can be read and walked, its example of a sum
//! prints what stands below it, and its tables name what there is.

use std::collections::BTreeSet;
use std::io;

use clap::{Args, Command, CommandFactory, FromArgMatches};
use knuckle::card::read_checklist;
use knuckle::command::Door;
use knuckle::command::reckon::{ReckonArgs, run};
use knuckle::deed::Value;
use knuckle::standing::{Ask, AtStep, Prompt};

use crate::memory::{Bench, at, sample_cards};
use crate::texts;

/// Returns the first block of a kind in the readme, without its fences.
#[track_caller]
fn block(kind: &str) -> String {
    let page = texts::read("README.md");
    let opens = format!("```{kind}\n");
    let (_, rest) = page
        .split_once(&opens)
        .unwrap_or_else(|| panic!("no block `{kind}` in README.md"));
    rest.split("```").next().unwrap().to_owned()
}

/// Returns what stands between backquotes of the readme after `from`, up to the next
/// empty line.
#[track_caller]
fn quoted_after(from: &str) -> BTreeSet<String> {
    let page = texts::read("README.md");
    let (_, rest) = page
        .split_once(from)
        .unwrap_or_else(|| panic!("README.md says no longer `{from}`"));
    texts::quoted(rest.split("\n\n").next().unwrap())
        .map(str::to_owned)
        .collect()
}

/// A bench whose shop has the readme's checklist in the route of the hare.
fn bench_with_the_checklist() -> Bench {
    let text = block("yaml");
    let list = read_checklist("checklists/glass-eyes.yaml", &text).unwrap();
    let mut cards = sample_cards();
    let hare = cards.figures.get_mut("hare").unwrap();
    let mut stop = hare.route[0].clone();
    stop.operation.clone_from(&list.id);
    hare.route.push(stop);
    cards.checklists.insert(list.id.clone(), list);
    Bench::new(cards, at("2026-11-23T08:00:00+00:00"))
}

/// Walks the readme's checklist with one answer to its question; returns the steps done.
fn steps_walked(answer: &'static str) -> Vec<String> {
    let mut bench = bench_with_the_checklist();
    let work = bench.walk(
        "hare",
        "glass-eyes",
        Some("head-near"),
        &mut |prompt: &Prompt| {
            let is_choice = matches!(&prompt.ask, Ask::Choice { record, .. } if record == "seat");
            is_choice.then(|| AtStep::Enter {
                value: Value::Text(answer.to_owned()),
                again: false,
            })
        },
    );
    let job = bench.house().figure("hare").unwrap().job(&work).unwrap();
    job.acts
        .iter()
        .filter(|(_, act)| act.done.is_some())
        .map(|(step, _)| step.to_string())
        .collect()
}

#[test]
fn the_checklist_of_the_readme_is_flawless() {
    let text = block("yaml");
    let read = read_checklist("checklists/glass-eyes.yaml", &text);
    assert_eq!(read.map(|list| list.steps.len()), Ok(4));
}

#[test]
fn the_checklist_of_the_readme_can_be_walked_with_either_answer() {
    assert_eq!(steps_walked("firm"), ["look", "show"]);
    assert_eq!(steps_walked("loose"), ["bed", "lift", "look", "show"]);
}

#[test]
fn the_sum_of_the_readme_comes_out_as_printed() {
    let page = texts::read("README.md");
    let (_, rest) = page.split_once("$ knuckle reckon ").unwrap();
    let (line, printed) = rest.split("```").next().unwrap().split_once('\n').unwrap();
    let reckon = ReckonArgs::augment_args(Command::new("reckon").no_binary_name(true));
    let found = reckon.try_get_matches_from(line.split(' ')).unwrap();
    let args = ReckonArgs::from_arg_matches(&found).unwrap();
    let mut out = Vec::new();
    let no_files = |_: &std::path::Path| Err(io::ErrorKind::NotFound.into());
    run(&args, &mut out, &no_files).unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), printed);
}

#[test]
fn the_readme_names_every_topic_of_reckon_and_no_other() {
    let named = quoted_after("`reckon` knows");
    let reckon = ReckonArgs::augment_args(Command::new("reckon"));
    assert_eq!(named, names_of(&reckon));
}

/// Returns the visible names of a command's own commands.
fn names_of(command: &Command) -> BTreeSet<String> {
    command
        .get_subcommands()
        .filter(|inner| !inner.is_hide_set())
        .map(|inner| inner.get_name().to_owned())
        .collect()
}

#[test]
fn the_readme_names_every_command_and_no_other() {
    let page = texts::read("README.md");
    let (_, rest) = page.split_once("| command | does |\n").unwrap();
    let table = rest.split("\n\n").next().unwrap();
    let named: BTreeSet<String> = table
        .lines()
        .filter_map(|row| row.split('|').nth(1))
        .flat_map(texts::quoted)
        .filter_map(|quoted| quoted.split(' ').next())
        .map(str::to_owned)
        .collect();
    assert_eq!(named, names_of(&Door::command()));
}

#[test]
fn the_readme_names_only_flags_that_there_are() {
    let mut door = Door::command();
    door.build();
    let page = texts::read("README.md");
    let (_, commands) = page.split_once("## Commands").unwrap();
    let (commands, _) = commands.split_once("## Keys").unwrap();
    let known = flags_below(&door);
    let named = commands.split("--").skip(1).filter_map(|rest| {
        let end = |sign: char| !sign.is_ascii_lowercase() && sign != '-';
        rest.split(end)
            .next()
            .filter(|flag| flag.starts_with(|sign: char| sign.is_ascii_lowercase()))
    });
    let strange: Vec<&str> = named.filter(|flag| !known.contains(*flag)).collect();
    assert!(strange.is_empty(), "{strange:?}");
}

/// Returns the long flags of a command and of all below it.
fn flags_below(command: &Command) -> BTreeSet<String> {
    let own = command.get_arguments().filter_map(|flag| flag.get_long());
    let mut flags: BTreeSet<String> = own.map(str::to_owned).collect();
    for inner in command.get_subcommands() {
        flags.extend(flags_below(inner));
    }
    flags
}

/// Who opens the page meets the limits of the tool before its commands.
#[test]
fn the_readme_defers_to_codes_sheets_and_licensed_practice_before_anything_is_run() {
    let page = texts::read("README.md");
    let defers = "> **This tool reminds; it does not permit.** Local codes, the product safety \
                  data sheet and label, and qualified or licensed practice win wherever they \
                  differ from a card. It measures no air and knows no medical facts about you. \
                  In doubt, stop.\n";
    let place = page
        .find(defers)
        .expect("the note stands in README.md, whole");
    assert!(place < page.find("cargo run").unwrap());
}
