//! The supervisor's page as a page for paper: on one sheet where it can be.

use super::sheet::{Behind, Block, Fact, Part, Sheet};
use crate::card::DEFERRAL;
use crate::journal::Damage;
use crate::report::{DayPage, Entry, NOT_RECKONED, PageRow};

/// Returns the supervisor's page as a sheet: its ten points, each row with the line that it
/// leads to. `entries` are those lines; `damaged` are the books that are not whole, and why.
pub fn day_sheet(page: &DayPage, entries: Vec<Entry>, damaged: &[(String, Damage)]) -> Sheet {
    let name = if page.ask.span.is_long() {
        "Week page"
    } else {
        "Day page"
    };
    let mut parts: Vec<Part> = page
        .points
        .iter()
        .map(|point| {
            let title = capital(point.title);
            match point.none() {
                Some(NOT_RECKONED) => Part {
                    title: format!("{title}: {NOT_RECKONED}"),
                    blocks: Vec::new(),
                },
                Some(_) => Part {
                    title: format!("{title}: nothing to tell"),
                    blocks: Vec::new(),
                },
                None => Part {
                    title,
                    blocks: vec![Block::List(point.rows.iter().map(PageRow::told).collect())],
                },
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
        front: damaged.iter().map(not_whole).collect(),
        parts,
        wants_one: true,
        behind: entries.into_iter().map(behind).collect(),
    }
}

fn not_whole((book, damage): &(String, Damage)) -> Fact {
    let words = format!(
        "The book of {book} is not whole: {damage}. What this page does not tell may have happened."
    );
    Fact::new("please note", words)
}

fn behind(entry: Entry) -> Behind {
    let facts = entry.rows.into_iter();
    Behind {
        number: entry.number,
        facts: facts.map(|(head, words)| Fact::new(head, words)).collect(),
    }
}

fn capital(words: &str) -> String {
    let mut signs = words.chars();
    let first = signs.next().map(|sign| sign.to_uppercase().to_string());
    first.unwrap_or_default() + signs.as_str()
}
