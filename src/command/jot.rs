//! `jot FIGURE TEXT`: a note in a figure's journal, or in the shop's own.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{JotArgs, names};
use crate::card::Cards;
use crate::reckon::day_beside;
use crate::report::{book_name, tell};
use crate::shop::KeptLine;
use crate::standing::Intent;
use crate::trouble::{ExitKind, Trouble};

/// A kept line with `--json`.
#[derive(Debug, Serialize)]
struct KeptJson<'a> {
    /// Figure id, or `shop`.
    book: &'a str,
    /// The line's number in its journal.
    n: u64,
    /// When it happened, RFC 3339.
    at: String,
    /// Who did it.
    by: &'a str,
    /// Tag of the deed.
    deed: String,
    /// The line as a sentence.
    text: String,
}

/// Keeps the note.
///
/// # Errors
/// When nobody is named, the figure is unknown, or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &JotArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let book = names::book(&shop.cards, &args.figure, "FIGURE")?;
    let moment = shop.moment()?;
    let text = args.text.join(" ");
    shop.act(&Intent::Jot { book, text }, &moment, paper)
}

/// Tells which lines were kept.
pub(super) fn tell_kept(
    cards: &Cards,
    kept: &[KeptLine],
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    if paper.json {
        paper.objects(kept.iter().map(|one| KeptJson {
            book: book_name(&one.book),
            n: one.line.n,
            at: one.line.at.to_rfc3339(),
            by: &one.line.by,
            deed: one.line.deed.tag(),
            text: tell(&one.line, cards),
        }))?;
        return Ok(ExitKind::Well);
    }
    for one in kept {
        let (book, n) = (book_name(&one.book), one.line.n);
        // Of a reading entered later it is said for when it was taken.
        let taken = one.line.entered_later.map_or_else(String::new, |typed| {
            let day = day_beside(one.line.at.date_naive(), typed.date_naive());
            format!("{day} {}, ", one.line.at.format("%H:%M"))
        });
        let words = tell(&one.line, cards);
        paper.line(&format!("kept as {book}:{n}: {taken}{words}"))?;
    }
    Ok(ExitKind::Well)
}
