//! What can be read of a text that is no card as a whole: each of its fields by itself, so that
//! a slip of the pen takes away only what stands around it.

use super::tree::{LONGEST_CARD, Tree};

/// Reads the fields of a text that are well formed by themselves, and of a field that is not
/// its entries that are. What was read so is told nowhere as flawless.
pub(super) fn rescued(text: &str) -> Tree {
    let mut block = Vec::new();
    if text.len() <= LONGEST_CARD {
        for field in fields(&untabbed(text)) {
            match Tree::read("", &field) {
                Ok(Tree::Block(whole)) => block.extend(whole),
                _ => block.extend(entries(&field)),
            }
        }
    }
    Tree::Block(block)
}

/// Puts two spaces for each tab at the beginning of a line: YAML takes none there, and what is
/// meant is plain.
fn untabbed(text: &str) -> String {
    let lines = text.lines().map(|line| {
        let rest = line.trim_start_matches([' ', '\t']);
        let tabs = line.len() - rest.len();
        let margin = line.chars().take(tabs);
        let margin: String = margin
            .map(|it| if it == '\t' { "  " } else { " " })
            .collect();
        format!("{margin}{rest}\n")
    });
    lines.collect()
}

/// Parts a text before each line that begins a field of the card; a second card is left out.
fn fields(text: &str) -> Vec<String> {
    let mut fields: Vec<String> = Vec::new();
    for line in text.lines() {
        let inside = [' ', '\t', '#', '-', ']', '}'];
        let begins = !line.is_empty() && !line.starts_with(inside);
        match fields.last_mut() {
            Some(_) if line.starts_with("---") => break,
            Some(field) if !begins => put(field, line),
            _ if begins => fields.push(format!("{line}\n")),
            _ => {}
        }
    }
    fields
}

/// Reads the entries of a field one by one, each as if it were alone.
fn entries(field: &str) -> Option<(Tree, Tree)> {
    let (head, rest) = field.split_once('\n')?;
    let says = |line: &&str| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    let deep = indent(rest.lines().find(says)?);
    let mut entries: Vec<String> = Vec::new();
    for line in rest.lines().filter(says) {
        match entries.last_mut() {
            Some(entry) if deep < indent(line) => put(entry, line),
            _ => entries.push(format!("{head}\n{line}\n")),
        }
    }
    let read = entries
        .iter()
        .filter_map(|entry| match Tree::read("", entry) {
            Ok(Tree::Block(block)) => block.into_iter().next(),
            _ => None,
        });
    read.reduce(|(name, mut all), (_, one)| {
        match (&mut all, one) {
            (Tree::List(all), Tree::List(one)) => all.extend(one),
            (Tree::Block(all), Tree::Block(one)) => all.extend(one),
            _ => {}
        }
        (name, all)
    })
}

fn put(text: &mut String, line: &str) {
    text.push_str(line);
    text.push('\n');
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start().len()
}
