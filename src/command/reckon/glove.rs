//! The topic of gloves: when to change them.

use clap::Args;

use super::Answer;
use super::flag::{ReckonTrouble, refused, taken};
use crate::reckon::change_gloves;

/// Flags of `reckon glove`.
#[derive(Debug, Clone, Args)]
pub struct GloveArgs {
    /// Breakthrough time of this very glove against this product, such as 60min; of a mixture,
    /// the shortest of its parts
    #[arg(long)]
    pub breakthrough: String,
}

/// Answers `reckon glove`.
///
/// # Errors
/// A flag that cannot be read; a time beyond the test.
pub(super) fn answer_glove(args: &GloveArgs) -> Result<Answer, ReckonTrouble> {
    let stated = taken("--breakthrough", &args.breakthrough)?;
    let change = change_gloves(stated).map_err(refused("glove"))?;
    Ok(Answer::new()
        .number(
            "change_after_min",
            change.after.0,
            ("change after", 1, "min"),
        )
        .truth(
            "at_first_splash",
            change.at_first_splash,
            "at the first splash",
            ["yes", "no"],
        )
        .note(
            "because",
            "a third of the stated time, never more than 120 min, from first contact",
        )
        .note(
            "caution",
            "a tear, swelling, stiffness or a smear inside means now; the data sheets win",
        )
        .note(
            "source",
            "TRGS 401 (June 2008) as quoted; levels of EN ISO 374-1; 120 min: own judgement",
        ))
}
