//! The supervisor's page as a page for paper.

use super::sheet::{Block, Cell, Part, Sheet, Table};
use crate::card::DEFERRAL;
use crate::report::DayPage;

/// Returns the supervisor's page as a sheet: its ten points, each row with the line that it
/// leads to.
pub fn day_sheet(page: &DayPage) -> Sheet {
    let name = if page.ask.span.is_long() {
        "Week page"
    } else {
        "Day page"
    };
    let mut parts: Vec<Part> = page
        .points
        .iter()
        .map(|point| {
            let block = if point.rows.is_empty() {
                Block::Words("Nothing to tell.".to_owned())
            } else {
                Block::Table(rows(point))
            };
            Part {
                title: capital(point.title),
                blocks: vec![block],
            }
        })
        .collect();
    if let Some(last) = parts.last_mut() {
        last.blocks.push(Block::Notice(DEFERRAL.to_owned()));
    }
    Sheet {
        title: format!("{name}: {}", page.days()),
        label: format!("{} · {} of {}", page.shop, name.to_lowercase(), page.days()),
        dated: page.dated(),
        parts,
    }
}

fn rows(point: &crate::report::Point) -> Table {
    let rows = point.rows.iter().map(|row| {
        let line = match row.number() {
            none if none.is_empty() => "–".to_owned(),
            number => number,
        };
        vec![Cell::of(row.text.clone()), Cell::of(line)]
    });
    Table {
        caption: capital(point.title),
        heads: vec!["what", "line"],
        rows: rows.collect(),
    }
}

fn capital(words: &str) -> String {
    let mut signs = words.chars();
    let first = signs.next().map(|sign| sign.to_uppercase().to_string());
    first.unwrap_or_default() + signs.as_str()
}
