//! `check`: every card of the shop, all flaws at once, each with its place.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use crate::card::SET_YOUR_NUMBER;
use crate::reckon::counted;
use crate::trouble::{ExitKind, Trouble};

/// A flaw with `--json`.
#[derive(Debug, Serialize)]
struct FlawJson<'a> {
    /// The file, as a path inside the shop's folder.
    file: &'a str,
    /// Line, from 1.
    line: usize,
    /// Column in characters, from 1.
    column: usize,
    /// What is wrong there.
    what: &'a str,
    /// What to do, or what was perhaps meant; `null` when nothing is known to help.
    hint: Option<&'a str>,
}

/// Tells the flaws.
///
/// # Errors
/// When they cannot be written.
pub(super) fn run(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let flaws = &shop.flaws;
    if paper.json {
        paper.objects(flaws.iter().map(|flaw| FlawJson {
            file: &flaw.file,
            line: flaw.line,
            column: flaw.column,
            what: &flaw.what,
            hint: flaw.hint.as_deref(),
        }))?;
    } else if flaws.is_empty() {
        let cards = &shop.cards;
        paper.line(&format!(
            "no flaw: {}, {}, {}, the built-in ones among them",
            counted(cards.figures.len(), "figure"),
            counted(cards.materials.len(), "material"),
            counted(cards.checklists.len(), "checklist")
        ))?;
    } else {
        for flaw in flaws {
            paper.line(&flaw.to_string())?;
        }
    }
    let missing = shop.cards.shop.emergency.missing();
    if !missing.is_empty() {
        let missing = missing.join(", ");
        paper.note(&format!(
            "shop.yaml: emergency: {SET_YOUR_NUMBER}: no number for {missing}"
        ));
    }
    Ok(if flaws.is_empty() {
        ExitKind::Well
    } else {
        shop.as_read().max(ExitKind::Found)
    })
}
