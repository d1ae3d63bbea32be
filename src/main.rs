//! The door: arguments go to the library, the exit code comes back.

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use knuckle::command::reckon::{self, ReckonArgs};

/// A bench companion for people who restore antique carved, painted and gilded wooden figures.
#[derive(Debug, Parser)]
#[command(name = "knuckle", version)]
struct Door {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// The trade's arithmetic on its own
    Reckon(ReckonArgs),
}

fn main() -> ExitCode {
    let Command::Reckon(args) = Door::parse().command;
    let files = |path: &std::path::Path| std::fs::read_to_string(path);
    match reckon::run(&args, &mut std::io::stdout().lock(), &files) {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            use std::io::Write;
            let shown = std::io::stderr().write_all(trouble.three_lines().as_bytes());
            drop(shown);
            ExitCode::from(trouble.exit_code())
        }
    }
}
