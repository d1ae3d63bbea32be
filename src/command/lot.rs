//! `lot`: opens a tin, or pours one into a jar.

use super::opened::Opened;
use super::paper::Paper;
use super::{LotAct, LotArgs};
use crate::standing::Intent;
use crate::trouble::{ExitKind, Trouble};

/// Keeps the line.
///
/// # Errors
/// When nobody is named, the material or lot is not known, the name looks like another one,
/// or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &LotArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let moment = shop.moment()?;
    let intent = match &args.act {
        LotAct::Open {
            material,
            lot,
            part,
            expires,
        } => Intent::OpenLot {
            material: material.clone(),
            lot: lot.clone(),
            part: part.clone(),
            expires: *expires,
        },
        LotAct::Decant { lot, into } => Intent::Decant {
            lot: lot.clone(),
            into: into.clone(),
        },
    };
    shop.act(&intent, &moment, paper)
}
