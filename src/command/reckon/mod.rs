//! `knuckle reckon TOPIC …`: the trade's arithmetic on its own, for the bench and for scripts.
//!
//! Each topic turns its flags into quantities, asks one sum of the room `reckon`, and gives an
//! [`Answer`] that is shown as a few lines or, with `--json`, as one flat object. Nothing here
//! computes. To add a topic: a variant of [`Topic`], an `Args` struct and a function in the file
//! of its group that returns an [`Answer`].

mod air;
mod answer;
mod epoxy;
mod flag;
mod gilding;
mod glove;
mod shape;
mod sheet;
mod trace_file;
mod wood;

use std::io;
use std::path::Path;

use clap::{Args, Subcommand};

pub use air::{AirflowArgs, DewArgs, PurgeArgs};
pub use answer::Answer;
pub use epoxy::{Basis, BatchArgs, CorrectArgs, GapArgs, PotLifeArgs};
pub use flag::ReckonTrouble;
pub use gilding::{CoatArgs, EquivalentArgs, LeafArgs, TackArgs};
pub use glove::GloveArgs;
pub use shape::{ColourArgs, FitArgs, SolidKind, SurfaceArgs};
pub use sheet::{Row, Sheet};
pub use wood::{AirForArgs, DryingArgs, EmcArgs, MovementArgs, SawnAs};

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
    /// When wetted wood is dry enough, or that this air never lets it
    Drying(DryingArgs),
    /// How much wood moves across the grain
    Movement(MovementArgs),
    /// Dew point, and whether a surface is warm enough to coat
    Dew(DewArgs),
    /// How long until a room's air is clear
    Purge(PurgeArgs),
    /// How much clean air holds a solvent's vapour down
    Airflow(AirflowArgs),
    /// How far a sample's colour is off, in numbers and words
    Colour(ColourArgs),
    /// Area of a plain solid
    Surface(SurfaceArgs),
    /// A straight line or an approach to an end through points
    Fit(FitArgs),
    /// What an open joint holds, and the grams for it
    Gap(GapArgs),
    /// What to weigh out of resin and hardener
    Batch(BatchArgs),
    /// How far a cup is off, and what to add
    Correct(CorrectArgs),
    /// How long a cup of resin may be promised
    PotLife(PotLifeArgs),
    /// What hours at changing temperatures are worth
    Equivalent(EquivalentArgs),
    /// When size takes leaf, and when no more
    Tack(TackArgs),
    /// How many leaves and books
    Leaf(LeafArgs),
    /// How many litres, and how thick
    Coat(CoatArgs),
    /// When to change gloves
    Glove(GloveArgs),
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

fn answered(topic: &Topic, files: Files<'_>) -> Result<Answer, ReckonTrouble> {
    match topic {
        Topic::Emc(args) => wood::answer_emc(args),
        Topic::AirFor(args) => wood::answer_air_for(args),
        Topic::Drying(args) => wood::answer_drying(args),
        Topic::Movement(args) => wood::answer_movement(args),
        Topic::Dew(args) => air::answer_dew(args),
        Topic::Purge(args) => air::answer_purge(args),
        Topic::Airflow(args) => air::answer_airflow(args),
        Topic::Colour(args) => shape::answer_colour(args),
        Topic::Surface(args) => shape::answer_surface(args),
        Topic::Fit(args) => shape::answer_fit(args, files),
        Topic::Gap(args) => epoxy::answer_gap(args),
        Topic::Batch(args) => epoxy::answer_batch(args),
        Topic::Correct(args) => epoxy::answer_correct(args),
        Topic::PotLife(args) => epoxy::answer_pot_life(args),
        Topic::Equivalent(args) => gilding::answer_equivalent(args, files),
        Topic::Tack(args) => gilding::answer_tack(args, files),
        Topic::Leaf(args) => gilding::answer_leaf(args),
        Topic::Coat(args) => gilding::answer_coat(args),
        Topic::Glove(args) => glove::answer_glove(args),
    }
}
