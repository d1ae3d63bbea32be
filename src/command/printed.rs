//! The argument table printed: the manual page, and completions for a shell.

use clap::CommandFactory;

use super::paper::Paper;
use super::{CompletionsArgs, Door};
use crate::disk::in_words;
use crate::trouble::{ExitKind, Trouble};

/// Prints the manual page of the program and of every command, as roff.
///
/// # Errors
/// When it cannot be written.
pub(super) fn manual(paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let mut door = Door::command();
    door.build();
    let mut roff = Vec::new();
    let commands = door
        .get_subcommands()
        .filter(|command| !command.is_hide_set());
    for command in std::iter::once(&door).chain(commands) {
        let page = clap_mangen::Man::new(command.clone());
        page.render(&mut roff).map_err(|cause| {
            Trouble::new(
                ExitKind::Disk,
                format!("cannot write the manual: {}", in_words(&cause)),
            )
        })?;
    }
    paper.page(&String::from_utf8_lossy(&roff))?;
    Ok(ExitKind::Well)
}

/// Prints what a shell needs to complete commands and flags.
///
/// # Errors
/// When it cannot be written.
pub(super) fn completions(
    args: &CompletionsArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Door::command(), "knuckle", &mut script);
    paper.page(&String::from_utf8_lossy(&script))?;
    Ok(ExitKind::Well)
}
