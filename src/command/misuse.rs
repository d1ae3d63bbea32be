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
            (format!("`{value}` is not a value of `{arg}`"), source)
        }
        ErrorKind::MissingRequiredArgument => {
            (format!("missing: {}", args.replace(['<', '>'], "")), None)
        }
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            ("a command is missing".to_owned(), one_of_commands(misused))
        }
        ErrorKind::ArgumentConflict => {
            let other = word(ContextKind::PriorArg);
            (
                format!("`{arg}` and `{}` do not go together", bare(&other)),
                None,
            )
        }
        _ => (first_line(misused), None),
    };
    let remedy = remedy
        .unwrap_or_else(|| "look at `knuckle --help`, or at `--help` after the command".to_owned());
    Trouble::new(ExitKind::Misuse, what).remedy(remedy)
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
