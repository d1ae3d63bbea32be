//! One file per command; the argument table.
//!
//! A command reads its arguments from the table, opens what it needs, and writes to a
//! `Paper`. It knows nothing of the environment: `main` passes what it read there as
//! [`Outside`]. Start reading at [`run`], then at the table.

mod ahead_table;
mod air;
mod audit;
mod bench;
mod check;
mod clocks;
mod day;
mod days_off;
mod forecast;
pub mod help;
mod hours;
mod jot;
mod layer;
mod lot;
mod misuse;
mod names;
mod next;
mod open_shop;
mod opened;
mod paper;
mod photo;
mod printed;
mod read;
mod recall;
pub mod reckon;
mod report;
mod ring;
mod sign;
mod standing;
mod stock;
mod table;
mod take_in;
mod tonight;
mod trust;

use std::ffi::OsString;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Parser;

pub use ahead_table::{ForecastArgs, HoursArgs, NextArgs, SecondHand};
pub use bench::print_bug;
pub use layer::{ChipArgs, LayerArgs, MarkerWord, MetalWord, ReadArgs, SpotWord};
pub use photo::PhotoArgs;
pub use table::{
    AirArgs, AuditArgs, BenchArgs, CarvingKind, Command, Common, CompletionsArgs, DayArgs, Door,
    JotArgs, LotAct, LotArgs, NamesShown, OpenShopArgs, PracticeArgs, ReadingArgs, RecallArgs,
    ReportArgs, RingArgs, SignArgs, StandingArgs, TakeInArgs, TonightArgs, TrustArgs, TypedMoment,
    UnitsShown,
};

use crate::disk::{self, Disk};
use crate::report::harmless;
use crate::screen::look::Depth;
use crate::shop::Cache;
use crate::trouble::{ExitKind, Trouble};
use opened::Opened;
use paper::Paper;

/// What the world outside gives: read once, in `main`.
#[derive(Debug)]
pub struct Outside {
    /// The disk.
    pub disk: Arc<dyn Disk>,
    /// The folder in which the program was started.
    pub here: PathBuf,
    /// The folder in which the program remembers things, if this system has one.
    pub memory: Option<PathBuf>,
    /// Where pages of journals are kept that were read, if this system has a place for them.
    pub cache: Option<Cache>,
    /// The folder for what is thrown away.
    pub passing: PathBuf,
    /// How many colours the terminal shows.
    pub depth: Depth,
    /// The name of this bench: of this computer.
    pub bench: String,
}

impl Outside {
    /// Returns a folder as it was typed, seen from where the program was started.
    fn folder(&self, typed: &Path) -> PathBuf {
        // A `.` on the way says nothing and would be shown in messages.
        self.here.join(typed).components().collect()
    }
}

/// Runs one command. `words` are the arguments with the program's name first; what is asked
/// for goes to `out`, words beside it to `notes`.
///
/// # Errors
/// The [`Trouble`] to print; it holds the exit code. A reader of `out` that has gone away is
/// no trouble.
pub fn run(
    words: impl IntoIterator<Item = OsString>,
    outside: &Outside,
    (out, notes): (&mut dyn Write, &mut dyn Write),
) -> Result<ExitKind, Trouble> {
    let mut paper = Paper::new(out, notes);
    let words: Vec<OsString> = words.into_iter().collect();
    if help::is_asked_for(&words) {
        paper.page(&help::page())?;
        return Ok(ExitKind::Well);
    }
    let words = help::turned_round(words);
    let door = match Door::try_parse_from(words) {
        Ok(door) => door,
        Err(other) if !other.use_stderr() => {
            paper.page(&other.to_string())?;
            return Ok(ExitKind::Well);
        }
        Err(misused) => return Err(read_safely(misuse::trouble(&misused))),
    };
    paper.json = door.common.json;
    dispatch(door, outside, &mut paper).map_err(read_safely)
}

fn dispatch(door: Door, outside: &Outside, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let Door { common, command } = door;
    let open = |paper: &mut Paper<'_>| Opened::to_read(outside, &common, paper);
    let to_write = |paper: &mut Paper<'_>| Opened::to_write(outside, &common, paper);
    match command.unwrap_or_else(|| Command::Bench(BenchArgs::default())) {
        Command::Bench(args) => bench::at_work(outside, &common, &args, paper),
        Command::Practice(args) => bench::in_practice(outside, &common, &args, paper),
        Command::Day(DayArgs {
            line: Some(line), ..
        }) => day::line(&open(paper)?, &line, paper),
        // Only the page goes into a file.
        Command::Day(args) if args.page || args.out.is_some() => {
            day::page(outside, &open(paper)?, &args, paper)
        }
        Command::Day(args) => day::lines(
            &Opened::to_tell_lines(outside, &common, paper)?,
            &args,
            paper,
        ),
        Command::Standing(args) => standing::run(&open(paper)?, &args, paper),
        Command::Clocks => clocks::run(&open(paper)?, paper),
        Command::Jot(args) => jot::run(&to_write(paper)?, &args, paper),
        Command::Photo(args) => photo::run(outside, &to_write(paper)?, &args, paper),
        Command::Layer(args) if args.place.is_none() => layer::run(&open(paper)?, &args, paper),
        Command::Layer(args) => layer::run(&to_write(paper)?, &args, paper),
        Command::Chip(args) => layer::chip(&to_write(paper)?, &args, paper),
        Command::Air(args) => air::run(&to_write(paper)?, &args, paper),
        Command::Read(args) => read::run(&to_write(paper)?, &args, paper),
        Command::Tonight(args) => tonight::run(&open(paper)?, &args, paper),
        Command::Recall(args) => recall::run(
            &Opened::to_tell_lines(outside, &common, paper)?,
            &args,
            paper,
        ),
        Command::Stock => stock::run(&open(paper)?, paper),
        Command::Lot(args) => lot::run(&to_write(paper)?, &args, paper),
        Command::Report(args) => report::run(outside, &open(paper)?, &args, paper),
        Command::Next(args) if args.pick.is_some() => next::pick(&to_write(paper)?, &args, paper),
        Command::Next(args) => next::run(&open(paper)?, &args, paper),
        Command::Forecast(args) => forecast::run(&open(paper)?, &args, paper),
        Command::Hours(args) => hours::run(&open(paper)?, &args, paper),
        Command::Ring(args) => {
            let shop = Opened::to_ring(outside, &common, paper)?;
            ring::run(&shop, (&args, &common), paper)
        }
        Command::Trust(args) => match trust::lot_of(&args) {
            Some(lot) => trust::run(&to_write(paper)?, &lot, paper),
            None => trust::list(&open(paper)?, paper),
        },
        Command::Sign(args) if args.figure.is_none() => sign::list(&open(paper)?, paper),
        Command::Sign(args) => sign::run(&to_write(paper)?, &args, paper),
        Command::Check => check::run(&open(paper)?, paper),
        Command::Audit(AuditArgs { folder: None }) => audit::run(&open(paper)?, paper),
        Command::Audit(AuditArgs {
            folder: Some(folder),
        }) => audit::folder(outside, &folder, paper),
        Command::OpenShop(args) => open_shop::run(outside, &args, paper),
        Command::TakeIn(args) => take_in::run(&to_write(paper)?, &args, paper),
        Command::Reckon(args) => reckoned(outside, args, paper),
        Command::Man => printed::manual(paper),
        Command::Completions(args) => printed::completions(&args, paper),
    }
}

fn reckoned(
    outside: &Outside,
    mut args: reckon::ReckonArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    args.json |= paper.json;
    let files = |path: &Path| -> io::Result<String> {
        let path = outside.here.join(path);
        let bytes = disk::read(outside.disk.as_ref(), &path).map_err(|fault| fault.cause)?;
        String::from_utf8(bytes).map_err(|cause| io::Error::new(ErrorKind::InvalidData, cause))
    };
    let mut answer = Vec::new();
    reckon::run(&args, &mut answer, &files).map_err(|refusal| {
        let exit = match refusal.exit_code() {
            3 => ExitKind::Disk,
            _ => ExitKind::Misuse,
        };
        Trouble::new(exit, refusal.to_string())
            .at(refusal.place())
            .remedy(refusal.remedy())
    })?;
    paper.page(&String::from_utf8_lossy(&answer))?;
    Ok(ExitKind::Well)
}

/// A trouble quotes what was typed or read; none of it may act on the terminal.
fn read_safely(trouble: Trouble) -> Trouble {
    let safe = |text: String| harmless(&text).into_owned();
    Trouble {
        what: safe(trouble.what),
        place: trouble.place.map(safe),
        remedy: trouble.remedy.map(safe),
        exit: trouble.exit,
    }
}
