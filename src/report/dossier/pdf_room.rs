//! How much room the blocks of a page take on paper, so that none begins where only its heading
//! would fit. Points throughout.

use super::fit::{Column, share, wrap_open};
use super::font::{Face, winansi};
use super::media::{Packed, packed};
use super::pdf_paper::{FOOT, ROOM};
use super::sheet::{Block, Cell, Drawing, Picture, Table, WHOLE};

/// Height of letters in paragraphs, points.
pub(super) const BODY: f64 = 9.5;

/// Height of letters in tables, points.
pub(super) const SMALL: f64 = 8.5;

/// From one line to the next, as a part of the height of its letters.
pub(super) const LEADING: f64 = 1.32;

/// Between two columns, points.
pub(super) const GAP: f64 = 8.0;

/// Widest and highest photograph, points.
pub(super) const PHOTOGRAPH: [f64; 2] = [340.0, 250.0];

/// Widest and highest of two photographs side by side, points.
pub(super) const HALF: [f64; 2] = [(ROOM - GAP) / 2.0, PHOTOGRAPH[1]];

/// Room for what is said below photographs, points.
pub(super) const CAPTIONS: f64 = SMALL * LEADING * 8.0;

/// Height of the letters of a heading within a part, points.
pub(super) const UNDER_HEAD: f64 = 10.5;

/// Room that the rules under the heads of a table and under its first row take, points.
const RULES: f64 = 4.0;

/// Between a heading within a part and what follows it, points.
const BETWEEN: f64 = 4.0;

/// Returns how wide words are in letters so high, points.
pub(super) fn wide(face: Face, height: f64) -> impl Fn(&str) -> f64 {
    move |text| face.wide(&winansi(text), height)
}

/// Returns words in lines that fit into so much room.
pub(super) fn lines(text: &str, (face, height): (Face, f64), room: f64) -> Vec<String> {
    let text = crate::report::harmless(text);
    // Who reads the page aloud finds no other sign of where two words part at the end of a line
    // (ISO 32000-1, 14.8.2.5).
    wrap_open(&text, room, &wide(face, height))
}

/// The room that the beginning of some blocks takes: of words two lines, of a table its
/// heads and first row, a drawing or photograph whole, a heading with what follows it; points.
pub(super) fn beginning(blocks: &[Block], scale: f64) -> f64 {
    let Some((first, rest)) = blocks.split_first() else {
        return 0.0;
    };
    let line = BODY * LEADING * scale;
    match first {
        Block::Words(_) | Block::Facts(_) | Block::List(_) => line * 2.0,
        Block::Notice(_) => line * 3.0,
        Block::Head(words) => {
            let look = (Face::Bold, UNDER_HEAD);
            let own = high(&lines(words, look, ROOM), UNDER_HEAD) * scale;
            4.0 + own + BETWEEN + beginning(rest, scale)
        }
        Block::Table(table) if table.rows.is_empty() => line,
        Block::Table(table) => table_beginning(table, &columns_of(table)),
        Block::Drawing(drawing) => room_for(drawing),
        Block::Picture(picture) => room_of(std::slice::from_ref(picture)),
        Block::Pair(pair) => room_of(pair),
    }
}

/// The room that photographs beside each other take with what is said below them, points; where
/// one cannot be put on paper, words stand there.
fn room_of(pictures: &[Picture]) -> f64 {
    let most = if pictures.len() == 1 {
        PHOTOGRAPH
    } else {
        HALF
    };
    let high = |picture: &Picture| {
        let photograph = picture.shot.bytes().ok().and_then(packed);
        photograph.map_or(0.0, |photograph| shown_size(&photograph, most)[1])
    };
    pictures.iter().map(high).fold(0.0, f64::max) + CAPTIONS
}

/// Returns how wide the columns of a table are, points.
pub(super) fn columns_of(table: &Table) -> Vec<f64> {
    let mut columns = vec![Column::default(); table.heads.len()];
    for (column, head) in columns.iter_mut().zip(&table.heads) {
        column.take(head, false, &wide(Face::Bold, SMALL));
    }
    for row in &table.rows {
        for ((column, cell), head) in columns.iter_mut().zip(row).zip(&table.heads) {
            column.take(&words_of(cell), *head == WHOLE, &wide(Face::Plain, SMALL));
        }
    }
    for column in &mut columns {
        // A hair more than the widest cell, so that rounding breaks no line.
        column.natural += 0.5;
        column.least += 0.5;
    }
    let gaps = table.heads.iter().skip(1).map(|_| GAP).sum::<f64>();
    share(&columns, ROOM - gaps)
}

/// The room that the caption, the heads and the first row of a table take, points.
pub(super) fn table_beginning(table: &Table, columns: &[f64]) -> f64 {
    let tallest = |cells: &[String], face: Face| {
        let cells = cells.iter().zip(columns);
        let high = cells.map(|(words, width)| high(&lines(words, (face, SMALL), *width), SMALL));
        high.fold(0.0, f64::max)
    };
    let heads: Vec<String> = table.heads.iter().map(|head| (*head).to_owned()).collect();
    let first: Vec<String> = table
        .rows
        .first()
        .into_iter()
        .flatten()
        .map(words_of)
        .collect();
    high(&lines(&table.caption, (Face::Bold, BODY), ROOM), BODY)
        + RULES
        + tallest(&heads, Face::Bold)
        + tallest(&first, Face::Plain)
}

/// How high lines stand, points.
fn high(lines: &[String], letters: f64) -> f64 {
    lines.iter().map(|_| letters * LEADING).sum()
}

/// Returns how wide and high a photograph stands on paper so that it fits; it is never larger
/// than its pixels at 72 to the inch.
pub(super) fn shown_size(photograph: &Packed, [most_wide, most_high]: [f64; 2]) -> [f64; 2] {
    let [mut wide, mut high] = photograph.size.map(f64::from);
    if 4 < photograph.turned {
        // Lying on its side.
        (wide, high) = (high, wide);
    }
    let scale = (most_wide / wide).min(most_high / high).min(1.0);
    [wide * scale, high * scale]
}

/// Returns the words of a cell.
pub(super) fn words_of(cell: &Cell) -> String {
    match cell {
        // Hard spaces keep the room of the patch.
        Cell::Swatch([red, green, blue], words) => {
            format!("\u{a0}\u{a0}\u{a0}\u{a0}\u{a0}\u{a0}#{red:02x}{green:02x}{blue:02x} {words}")
        }
        cell => cell.words().to_owned(),
    }
}

/// The room that a drawing takes with its title and the beginning of what it says, points.
pub(super) fn room_for(drawing: &Drawing) -> f64 {
    let [_, high] = drawing.size;
    (high + BODY * LEADING * 4.0).min(FOOT)
}
