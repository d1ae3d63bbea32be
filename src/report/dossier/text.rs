//! A page in plain letters: for the printer of any decade, for a screen reader, for a search.

use unicode_width::UnicodeWidthStr;

use super::fit::{Column, share, wrap};
use super::sheet::{Block, Cell, Drawing, FRONT, Fact, NOT_RECORDED, Picture, Sheet, Table, WHOLE};
use crate::report::harmless;

/// Columns of a line at most: what every terminal and every printer holds.
const WIDE: f64 = 79.0;

/// How far the inside of a part is set in.
const INDENT: &str = "  ";

/// Between two columns of a table.
const GAP: &str = "  ";

/// Returns a page as plain text in lines of at most 79 columns. What would act on a terminal
/// is shown; what was not recorded is written in capitals.
pub fn text(sheet: &Sheet) -> String {
    let mut page = Page(String::new());
    page.line(&sheet.title.to_uppercase());
    page.line(&"=".repeat(sheet.title.width().min(79)));
    page.wrapped("", &sheet.label);
    page.wrapped("", &sheet.dated);
    if !sheet.front.is_empty() {
        page.line("");
        page.line(FRONT);
        page.line(&"-".repeat(FRONT.width()));
        page.facts(&sheet.front);
    }
    for (part, number) in sheet.parts.iter().zip(1..) {
        page.line("");
        let title = format!("{number}  {}", part.title);
        page.line(&title);
        page.line(&"-".repeat(title.width().min(79)));
        for block in &part.blocks {
            page.block(block);
        }
    }
    page.line("");
    page.wrapped("", &format!("End of: {}", sheet.label));
    page.0
}

/// Lines under one another.
struct Page(String);

#[expect(clippy::cast_precision_loss, reason = "columns of a line")]
fn wide(text: &str) -> f64 {
    text.width() as f64
}

fn pad(text: &str, columns: f64) -> String {
    let mut padded = text.to_owned();
    while wide(&padded) < columns {
        padded.push(' ');
    }
    padded
}

impl Page {
    fn line(&mut self, text: &str) {
        self.0.push_str(harmless(text).trim_end());
        self.0.push('\n');
    }

    /// A paragraph set in by `lead`.
    fn wrapped(&mut self, lead: &str, text: &str) {
        self.hanging([lead, lead], text);
    }

    /// A paragraph with a lead of its own for its first line.
    fn hanging(&mut self, [first, rest]: [&str; 2], text: &str) {
        let text = harmless(text);
        let room = WIDE - wide(first).max(wide(rest));
        for (line, number) in wrap(&text, room, &wide).iter().zip(0..) {
            let lead = if number == 0 { first } else { rest };
            self.line(&format!("{lead}{line}"));
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Words(words) => self.wrapped(INDENT, words),
            Block::Notice(words) => self.hanging(["! ", "! "], words),
            Block::Head(words) => {
                self.line("");
                self.wrapped(INDENT, words);
            }
            Block::Facts(facts) => self.facts(facts),
            Block::List(lines) => {
                for line in lines {
                    self.hanging(["  - ", "    "], line);
                }
            }
            Block::Table(table) => self.table(table),
            Block::Drawing(drawing) => self.drawing(drawing),
            Block::Picture(picture) => self.picture(picture),
            Block::Pair(pair) => {
                for picture in pair {
                    self.picture(picture);
                }
            }
        }
    }

    fn facts(&mut self, facts: &[Fact]) {
        let names = facts.iter().map(|fact| wide(&fact.name));
        let names = names.fold(0.0, f64::max).min(38.0);
        for fact in facts {
            let known = fact.known.as_deref();
            let known = known.map_or_else(|| NOT_RECORDED.to_uppercase(), str::to_owned);
            let lead = format!("{INDENT}{}{GAP}", pad(&fact.name, names));
            let rest = pad("", wide(&lead).min(42.0));
            self.hanging([&lead, &rest], &known);
        }
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            let caption = &table.caption;
            self.wrapped(
                INDENT,
                &format!("{caption}: {}", NOT_RECORDED.to_uppercase()),
            );
            return;
        }
        self.wrapped(INDENT, &format!("{}:", table.caption));
        let heads: Vec<String> = table.heads.iter().map(|head| (*head).to_owned()).collect();
        let mut rows = vec![heads];
        rows.extend(table.rows.iter().map(|row| row.iter().map(cell).collect()));
        let mut columns = vec![Column::default(); table.heads.len()];
        for row in &rows {
            for ((column, cell), head) in columns.iter_mut().zip(row).zip(&table.heads) {
                column.take(cell, *head == WHOLE, &wide);
            }
        }
        let gaps = table.heads.iter().skip(1).map(|_| wide(GAP)).sum::<f64>();
        let columns: Vec<f64> = share(&columns, WIDE - wide(INDENT) - gaps)
            .into_iter()
            .map(f64::floor)
            .collect();
        for (row, number) in rows.iter().zip(0..) {
            self.row(row, &columns);
            if number == 0 {
                let rules = columns
                    .iter()
                    .map(|width| pad("", *width).replace(' ', "-"));
                self.line(&format!("{INDENT}{}", rules.collect::<Vec<_>>().join(GAP)));
            }
        }
    }

    fn row(&mut self, cells: &[String], columns: &[f64]) {
        let wrapped: Vec<Vec<String>> = cells
            .iter()
            .zip(columns)
            .map(|(cell, width)| wrap(cell, *width, &wide))
            .collect();
        let high = wrapped.iter().map(Vec::len).max().unwrap_or_default();
        for at in 0..high {
            let pieces = wrapped.iter().zip(columns).map(|(lines, width)| {
                let line = lines.get(at).map_or("", String::as_str);
                pad(line, *width)
            });
            let line = pieces.collect::<Vec<_>>().join(GAP);
            self.line(&format!("{INDENT}{line}"));
        }
    }

    fn drawing(&mut self, drawing: &Drawing) {
        self.line("");
        self.wrapped(INDENT, &drawing.title);
        for line in &drawing.letters {
            self.line(&format!("{INDENT}{line}"));
        }
        self.wrapped(INDENT, &drawing.says);
    }

    fn picture(&mut self, picture: &Picture) {
        let Picture { caption, shot } = picture;
        match shot.bytes() {
            Ok(_) => self.hanging(["  * ", "    "], caption),
            Err(why) => self.hanging(["  * ", "    "], &format!("{caption} ({why})")),
        }
    }
}

fn cell(cell: &Cell) -> String {
    match cell {
        cell if cell.lacks() => cell.words().to_uppercase(),
        Cell::Swatch([red, green, blue], words) => {
            format!("{} (#{red:02x}{green:02x}{blue:02x})", harmless(words))
        }
        cell => harmless(cell.words()).into_owned(),
    }
}
