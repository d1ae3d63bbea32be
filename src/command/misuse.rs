//! What the parser of arguments refuses, in our own three lines.

use clap::CommandFactory;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::{Door, names};
use crate::reckon::{Measured, QuantityTrouble, read};
use crate::trouble::{ExitKind, Trouble};

/// Returns the trouble of a wrong command line.
pub(super) fn trouble(misused: &clap::Error) -> Trouble {
    let word = |kind| word(misused, kind);
    let args = word(ContextKind::InvalidArg);
    let arg = bare(&args);
    let near = [ContextKind::SuggestedArg, ContextKind::SuggestedValue];
    let near = near.into_iter().map(word).find(|near| !near.is_empty());
    let near = perhaps(near.as_deref());
    let value = word(ContextKind::InvalidValue);
    let (what, remedy) = match misused.kind() {
        ErrorKind::InvalidSubcommand => {
            let written = word(ContextKind::InvalidSubcommand);
            let door = Door::command();
            let known = door.get_subcommands().filter(|known| !known.is_hide_set());
            let known: Vec<&str> = known.map(clap::Command::get_name).collect();
            let near = names::near(&written, known.into_iter());
            (
                format!("no command is called `{written}`{}", perhaps(near)),
                None,
            )
        }
        ErrorKind::UnknownArgument if arg.starts_with('-') => {
            (format!("there is no flag `{arg}` here{near}"), None)
        }
        ErrorKind::UnknownArgument => (format!("`{arg}` is one word too many{near}"), None),
        ErrorKind::InvalidValue if value.is_empty() => {
            (format!("`{arg}` needs a value"), one_of(misused))
        }
        ErrorKind::InvalidValue => (
            format!("`{value}` is not a value of `{arg}`{near}"),
            one_of(misused),
        ),
        ErrorKind::ValueValidation => {
            let source = std::error::Error::source(misused).map(ToString::to_string);
            let what = format!("`{value}` is not a value of `{arg}`");
            (what, source.map(plainly))
        }
        ErrorKind::MissingRequiredArgument => {
            let args = args.replace(['<', '>'], "").replace('|', " or ");
            (
                format!("missing: {args}"),
                example(&word(ContextKind::Usage)),
            )
        }
        ErrorKind::InvalidUtf8 => (
            "a word of this command is no UTF-8 text".to_owned(),
            Some("let terminal and keyboard write UTF-8, then type it again".to_owned()),
        ),
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            ("a command is missing".to_owned(), one_of_commands(misused))
        }
        ErrorKind::ArgumentConflict => {
            let other = word(ContextKind::PriorArg);
            if arg == bare(&other) {
                (format!("`{arg}` is given twice"), None)
            } else {
                (
                    format!("`{arg}` and `{}` do not go together", bare(&other)),
                    None,
                )
            }
        }
        _ => (first_line(misused), None),
    };
    let remedy = remedy
        .unwrap_or_else(|| "look at `knuckle --help`, or at `--help` after the command".to_owned());
    Trouble::new(ExitKind::Misuse, what).remedy(remedy)
}

/// What a parser says of a number, in words for who typed it.
fn plainly(why: String) -> String {
    if why.starts_with("invalid digit") {
        return "write a whole number".to_owned();
    }
    why
}

/// One worked example for each command that can miss something.
const EXAMPLES: [(&str, &str); 12] = [
    ("jot", "jot hare \"tail sits proud\" --as odile"),
    (
        "photo",
        "photo hare DSC0412.jpg --station \"before raking\" --as ines",
    ),
    ("layer", "layer hare body-near/1/2 --word fawn --as tobias"),
    (
        "chip",
        "chip hare ears ears/1/3 --lab 71.8,6.2,24.0 --dry --varnished --as tobias",
    ),
    ("air", "air store --temp 18C --humidity 71% --as odile"),
    (
        "read",
        "read hare moisture-core 12.9% --target tail --as odile",
    ),
    ("tonight", "tonight hare"),
    (
        "lot open",
        "lot open medium-epoxy A-2231 --part a --as odile",
    ),
    ("lot decant", "lot decant A-2231 jar-3 --as odile"),
    ("report", "report hare --out hare.pdf"),
    ("open-shop", "open-shop my-shop"),
    ("take-in", "take-in hare --carving animal"),
];

/// Returns a worked example of the command whose usage this is.
fn example(usage: &str) -> Option<String> {
    let words: Vec<&str> = usage
        .split_whitespace()
        .skip_while(|word| *word != "knuckle")
        .collect();
    let rest = words.get(1..)?.join(" ");
    let is_meant = |command: &str| {
        let after = rest.strip_prefix(command);
        after.is_some_and(|after| after.is_empty() || after.starts_with(' '))
    };
    let (_, example) = EXAMPLES.iter().find(|(command, _)| is_meant(command))?;
    Some(format!("for example `knuckle {example}`"))
}

/// Returns the quantity that was typed after a flag.
///
/// # Errors
///
/// A misuse that names the flag and what it takes.
pub(super) fn taken<Q: Measured>(flag: &str, text: &str) -> Result<Q, Trouble> {
    read(text).map_err(|wrong| wrong_quantity(flag, &wrong))
}

/// Returns the trouble of a quantity that a flag cannot take.
pub(super) fn wrong_quantity(flag: &str, wrong: &QuantityTrouble) -> Trouble {
    Trouble::misuse(wrong.to_string(), flag, wrong.remedy())
}

/// The name of an argument without its brackets and without the value that it takes.
fn bare(arg: &str) -> &str {
    let flag = arg.split_once(" <").map_or(arg, |(flag, _)| flag);
    flag.trim_matches(['<', '>', '[', ']'])
}

fn perhaps(near: Option<&str>) -> String {
    near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

fn one_of(misused: &clap::Error) -> Option<String> {
    let values = word(misused, ContextKind::ValidValue);
    (!values.is_empty()).then(|| format!("one of {values}"))
}

fn one_of_commands(misused: &clap::Error) -> Option<String> {
    let commands = word(misused, ContextKind::ValidSubcommand);
    (!commands.is_empty()).then(|| format!("one of {commands}"))
}

/// What the parser knows of its refusal, as words.
fn word(misused: &clap::Error, kind: ContextKind) -> String {
    match misused.get(kind) {
        Some(ContextValue::String(word)) => word.clone(),
        Some(ContextValue::Strings(words)) => words.join(", "),
        Some(ContextValue::StyledStr(word)) => word.to_string(),
        Some(ContextValue::Number(number)) => number.to_string(),
        _ => String::new(),
    }
}

fn first_line(misused: &clap::Error) -> String {
    let text = misused.to_string();
    let line = text.lines().next().unwrap_or_default();
    line.trim_start_matches("error: ").to_owned()
}

#[cfg(test)]
mod tests {
    use clap::{CommandFactory, Parser};

    use super::{Door, EXAMPLES};

    fn can_miss(command: &clap::Command, name: &str, found: &mut Vec<String>) {
        for inner in command
            .get_subcommands()
            .filter(|inner| !inner.is_hide_set())
        {
            let name = format!("{name} {}", inner.get_name()).trim().to_owned();
            if inner.get_arguments().any(clap::Arg::is_required_set) {
                found.push(name.clone());
            }
            can_miss(inner, &name, found);
        }
    }

    #[test]
    fn every_command_that_can_miss_something_has_an_example_that_is_taken() {
        let mut found = Vec::new();
        can_miss(&Door::command(), "", &mut found);
        // Each sum of `reckon` shows its own example in its help.
        found.retain(|name| !name.starts_with("reckon"));
        for name in found {
            assert!(
                EXAMPLES.iter().any(|(command, _)| *command == name),
                "{name}"
            );
        }
        for (command, example) in EXAMPLES {
            let words = example
                .replace("\"tail sits proud\"", "proud")
                .replace("\"before raking\"", "raking");
            let words = std::iter::once("knuckle")
                .chain(words.split(' '))
                .map(str::to_owned);
            let read = Door::try_parse_from(words);
            assert!(read.is_ok(), "{command}: {:?}", read.err());
        }
    }
}
