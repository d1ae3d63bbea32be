//! `knuckle reckon TOPIC …`: the trade's arithmetic on its own, for the bench and for scripts.
//!
//! Each topic turns its flags into quantities, asks one sum of the room `reckon`, and gives an
//! [`Answer`] that is shown as a few lines or, with `--json`, as one flat object. Nothing here
//! computes. To add a topic: a variant of [`Topic`], an `Args` struct and a function in the file
//! of its group that returns an [`Answer`].

mod answer;
mod flag;
mod sheet;
mod wood;

use std::io;
use std::path::Path;

use clap::{Args, Subcommand};

pub use answer::Answer;
pub use flag::ReckonTrouble;
pub use sheet::{Row, Sheet};
pub use wood::{AirForArgs, EmcArgs};

/// Reads a file as text. Given by the caller, because only `disk` may open files.
pub type Files<'a> = &'a dyn Fn(&Path) -> io::Result<String>;

/// The arguments of `knuckle reckon`.
#[derive(Debug, Clone, Args)]
pub struct ReckonArgs {
    /// Answer as one flat JSON object whose keys end in their unit
    #[arg(long, global = true)]
    pub json: bool,
    /// What to reckon
    #[command(subcommand)]
    pub topic: Topic,
}

/// What can be reckoned.
#[derive(Debug, Clone, Subcommand)]
pub enum Topic {
    /// What moisture wood comes to in this air
    Emc(EmcArgs),
    /// What air lets wood come down to a moisture
    AirFor(AirForArgs),
}

/// Answers one topic on `out`.
///
/// # Errors
/// [`ReckonTrouble`] when a flag cannot be read, a sum refuses, or a file cannot be read; it gives
/// the three lines to show and the exit code. Nothing is written to `out` in that case.
pub fn run(
    args: &ReckonArgs,
    out: &mut dyn io::Write,
    files: Files<'_>,
) -> Result<(), ReckonTrouble> {
    let answer = answered(&args.topic, files)?;
    let text = if args.json {
        answer.json()
    } else {
        answer.lines()
    };
    out.write_all(text.as_bytes())
        .map_err(|source| ReckonTrouble::Unwritable { source })
}

fn answered(topic: &Topic, _files: Files<'_>) -> Result<Answer, ReckonTrouble> {
    match topic {
        Topic::Emc(args) => wood::answer_emc(args),
        Topic::AirFor(args) => wood::answer_air_for(args),
    }
}
