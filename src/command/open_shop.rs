//! `open-shop DIR`: a new shop, ready to be filled in.

use super::paper::Paper;
use super::{OpenShopArgs, Outside};
use crate::shop;
use crate::trouble::{ExitKind, Trouble};

/// Makes the shop, and remembers it as the one used last.
///
/// # Errors
/// When a shop is there already, or the folder cannot be written.
pub(super) fn run(
    outside: &Outside,
    args: &OpenShopArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let disk = outside.disk.as_ref();
    let folder = outside.folder(&args.dir);
    shop::open_shop(disk, &folder)?;
    if let Some(memory) = &outside.memory
        && let Err(fault) = shop::remember(disk, memory, &folder)
    {
        paper.note(&format!(
            "the shop is made, but cannot be remembered: {fault}"
        ));
    }
    let card = folder.join("shop.yaml");
    paper.line(&format!(
        "a new shop: write its rooms, people and emergency lines on {}, then `knuckle check`",
        card.display()
    ))?;
    Ok(ExitKind::Well)
}
