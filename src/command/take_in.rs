//! `take-in FIGURE`: the folder and the card of a new figure.

use super::TakeInArgs;
use super::opened::Opened;
use super::paper::Paper;
use crate::shop::{self, NewFigure};
use crate::trouble::{ExitKind, Trouble};

/// Makes the folder and the card.
///
/// # Errors
/// When the name is no short name or is taken, or the folder cannot be written.
pub(super) fn run(
    shop: &Opened,
    args: &TakeInArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let figure = NewFigure {
        id: &args.figure,
        carving: args.carving.into(),
    };
    let card = shop::take_in(shop.disk.as_ref(), &shop.folder, &shop.cards, figure)
        .map_err(|fault| shop.trouble(fault))?;
    paper.line(&format!(
        "{} is taken in: write its zones, joints and panels on {}, then `knuckle check`",
        args.figure,
        card.display()
    ))?;
    Ok(ExitKind::Well)
}
