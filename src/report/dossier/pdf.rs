//! A page on paper: A4 sheets as a PDF, each with the label of its record and its number. Words
//! can be searched, copied and read aloud in their order; drawings are lines and not dots.

use super::font::{Face, is_rewritten};
use super::media::{Packed, packed};
use super::pdf_draw::strokes;
use super::pdf_paper::{FOOT, LEFT, Paper, ROOM, Written};
use super::pdf_room::{
    BODY, CAPTIONS, GAP, HALF, LEADING, PHOTOGRAPH, SMALL, UNDER_HEAD, beginning, columns_of,
    lines, room_for, shown_size, table_beginning, wide, words_of,
};
use super::pdf_tree::Tag;
use super::sheet::{
    Block, Cell, Drawing, FRONT, Fact, Ink, NOT_RECORDED, Part, Picture, Sheet, Table,
};
use super::text::text;

/// How small the letters and the room between lines become, one after the other, for a page that
/// is to stand on one sheet: at the last the letters of paragraphs are 7 points high, about the
/// least that is read without effort (own choice).
const CLOSER: [f64; 3] = [0.9, 0.82, 0.74];

/// Returns a page as a PDF file. The same page gives the same bytes: nothing in the file says
/// when or by which program it was made but the page itself.
pub fn pdf(sheet: &Sheet) -> Vec<u8> {
    let rewritten = text(sheet).chars().any(is_rewritten);
    // The numbers in the contents take the same room whatever they are.
    let on = if sheet.front.is_empty() {
        Vec::new()
    } else {
        laid(sheet, 1.0, (rewritten, &[])).marked_on()
    };
    let usual = laid(sheet, 1.0, (rewritten, &on));
    let is_one = |paper: &Paper| paper.count() == 1;
    let closer = if sheet.wants_one && !is_one(&usual) {
        let mut tried = CLOSER
            .iter()
            .map(|scale| laid(sheet, *scale, (rewritten, &on)));
        tried.find(is_one)
    } else {
        None
    };
    // What fits no single sheet is not made small.
    closer.unwrap_or(usual).finish(&sheet.title)
}

/// Lays a page out; `on` are the sheets on which its parts begin, as far as they are known.
fn laid(sheet: &Sheet, scale: f64, (rewritten, on): (bool, &[usize])) -> Paper {
    let mut desk = Desk {
        paper: Paper::new(&sheet.label),
        scale,
        heads: if sheet.wants_one { HEADS_ON_ONE } else { HEADS },
    };
    desk.heading(sheet, rewritten);
    if !sheet.front.is_empty() {
        desk.front(sheet, on);
    }
    for (part, number) in sheet.parts.iter().zip(1..) {
        desk.part(part, number);
    }
    desk.paragraph(&format!("End of: {}", sheet.label), SMALL, Ink::Slate);
    desk.paper
}

/// Said where the page holds letters that the fonts of the file do not.
const REWRITTEN: &str = "Some letters are not in the fonts of this file: they stand here without \
                         their marks or as their numbers, ‹U+4E2D›. The same page as text or HTML \
                         has them as they were written.";

/// How a part is headed: room above, height of its letters, room below, points.
const HEADS: [f64; 3] = [10.0, 13.0, 3.0];

/// The same on a page that is to stand on one sheet.
const HEADS_ON_ONE: [f64; 3] = [3.0, 10.5, 1.0];

/// Where the blocks are laid out.
struct Desk {
    paper: Paper,
    /// How much smaller letters and room between lines are than usual.
    scale: f64,
    heads: [f64; 3],
}

impl Desk {
    fn heading(&mut self, sheet: &Sheet, rewritten: bool) {
        let look = (Face::Bold, 18.0);
        self.within(Tag::Heading(1), |desk| {
            desk.words(&sheet.title, look, Ink::Black);
        });
        self.paragraph(&sheet.label, BODY, Ink::Slate);
        self.paragraph(&sheet.dated, BODY, Ink::Slate);
        if rewritten {
            self.paragraph(REWRITTEN, BODY, Ink::Slate);
        }
        self.paper.down(6.0);
    }

    /// What stands in front, and below it the contents.
    fn front(&mut self, sheet: &Sheet, on: &[usize]) {
        let [_, letters, under] = self.heads;
        self.within(Tag::Section, |desk| {
            desk.within(Tag::Heading(2), |desk| {
                desk.words(FRONT, (Face::Bold, letters), Ink::Bole);
            });
            desk.paper.down(under);
            desk.facts(&sheet.front);
        });
        self.paper.down(8.0);
        self.within(Tag::Contents, |desk| desk.contents(sheet, on));
        self.paper.down(4.0);
    }

    /// The parts in two columns, each with the sheet that it begins on.
    fn contents(&mut self, sheet: &Sheet, on: &[usize]) {
        let titles = sheet.parts.iter().zip(1..);
        let titles: Vec<String> = titles
            .map(|(part, number)| format!("{number} {}", part.title))
            .collect();
        let element = |_: &String| self.paper.element(Tag::ContentsItem, None);
        // Made in the order in which they are read: down the left column, then down the right.
        let elements: Vec<usize> = titles.iter().map(element).collect();
        let room = (ROOM - 3.0 * GAP) / 2.0;
        let half = titles.len().div_ceil(2);
        for row in 0..half {
            self.paper.need(BODY * LEADING);
            self.paper.down(BODY * LEADING);
            for (at, left) in [(row, LEFT), (row + half, LEFT + room + 3.0 * GAP)] {
                let (Some(title), Some(element)) = (titles.get(at), elements.get(at)) else {
                    continue;
                };
                let page = on.get(at).map_or_else(String::new, ToString::to_string);
                let short = lines(title, (Face::Plain, BODY), room - 4.0 * GAP);
                let title = short.first().map_or("", String::as_str);
                let right = left + room - wide(Face::Plain, BODY)(&page);
                self.inside(*element, |desk| {
                    for (left, words) in [(left, title), (right, page.as_str())] {
                        let words = Written::at(left, words);
                        desk.paper.write(&words, (Face::Plain, BODY), Ink::Black);
                    }
                });
            }
        }
    }

    fn part(&mut self, part: &Part, number: usize) {
        let [above, letters, under] = self.heads;
        self.paper.down(above * self.scale);
        // A heading never stands alone at the foot of a page.
        let own = (letters * LEADING + under) * self.scale;
        self.paper
            .need((own + beginning(&part.blocks, self.scale)).min(FOOT));
        self.paper.mark(&crate::report::harmless(&format!(
            "{number}. {}",
            part.title
        )));
        let title = format!("{number}. {}", part.title);
        self.within(Tag::Section, |desk| {
            desk.within(Tag::Heading(2), |desk| {
                desk.words(&title, (Face::Bold, letters), Ink::Bole);
            });
            desk.paper.down(under * desk.scale);
            for (nth, block) in part.blocks.iter().enumerate() {
                if let Block::Head(words) = block {
                    let rest = part.blocks.get(nth..).unwrap_or_default();
                    desk.paper.need(beginning(rest, desk.scale).min(FOOT));
                    desk.head(words);
                } else {
                    desk.block(block);
                }
                desk.paper.down((under + 1.0) * desk.scale);
            }
        });
    }

    /// Does something within a new element of the document.
    fn within(&mut self, tag: Tag, act: impl FnOnce(&mut Self)) {
        let element = self.paper.element(tag, None);
        self.inside(element, act);
    }

    fn inside(&mut self, element: usize, act: impl FnOnce(&mut Self)) {
        self.paper.open(element);
        act(self);
        self.paper.close();
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Words(words) => self.paragraph(words, BODY, Ink::Black),
            Block::Notice(words) => self.notice(words),
            Block::Head(words) => self.head(words),
            Block::Facts(facts) => self.facts(facts),
            Block::List(list) => self.within(Tag::List, |desk| {
                for line in list {
                    desk.hung("•", line);
                }
            }),
            Block::Table(table) => self.table(table),
            Block::Drawing(drawing) => self.drawing(drawing),
            Block::Picture(picture) => self.picture(picture),
            Block::Pair(pair) => self.pair(pair),
        }
    }

    fn head(&mut self, words: &str) {
        self.paper.down(4.0);
        self.within(Tag::Heading(3), |desk| {
            desk.words(words, (Face::Bold, UNDER_HEAD), Ink::Black);
        });
    }

    fn paragraph(&mut self, text: &str, height: f64, ink: Ink) {
        self.within(Tag::Paragraph, |desk| {
            desk.words(text, (Face::Plain, height), ink);
        });
    }

    fn words(&mut self, text: &str, (face, height): (Face, f64), ink: Ink) {
        let height = height * self.scale;
        for line in lines(text, (face, height), ROOM) {
            self.paper.need(height * LEADING);
            self.paper.down(height * LEADING);
            self.paper
                .write(&Written::at(LEFT, &line), (face, height), ink);
        }
    }

    fn notice(&mut self, text: &str) {
        let (inset, body) = (10.0, BODY * self.scale);
        let written = lines(text, (Face::Bold, body), ROOM - inset);
        self.paper.need(body * LEADING * 3.0);
        self.within(Tag::Paragraph, |desk| {
            for line in written {
                desk.paper.need(body * LEADING);
                desk.paper.down(body * LEADING);
                desk.paper.bar(LEFT, body * LEADING, Ink::Bole);
                let at = Written::at(LEFT + inset, &line);
                desk.paper.write(&at, (Face::Bold, body), Ink::Black);
            }
        });
    }

    /// A line of a list, its sign hung out to the left.
    fn hung(&mut self, sign: &str, text: &str) {
        let (inset, body) = (12.0, BODY * self.scale);
        let written = lines(text, (Face::Plain, body), ROOM - inset);
        self.within(Tag::ListItem, |desk| {
            desk.paper.need(body * LEADING);
            desk.paper.down(body * LEADING);
            desk.within(Tag::Label, |desk| {
                let at = Written::at(LEFT, sign);
                desk.paper.write(&at, (Face::Plain, body), Ink::Bole);
            });
            desk.within(Tag::ListBody, |desk| {
                for (line, number) in written.iter().zip(0..) {
                    if 0 < number {
                        desk.paper.need(body * LEADING);
                        desk.paper.down(body * LEADING);
                    }
                    let at = Written::at(LEFT + inset, line);
                    desk.paper.write(&at, (Face::Plain, body), Ink::Black);
                }
            });
        });
    }

    fn facts(&mut self, facts: &[Fact]) {
        let names = ROOM * 0.3;
        self.within(Tag::Table, |desk| {
            for fact in facts {
                let known = fact.known.as_deref();
                let ink = if known.is_some() {
                    Ink::Black
                } else {
                    Ink::Bole
                };
                let row = [
                    (fact.name.as_str(), Ink::Slate, Tag::RowHead),
                    (known.unwrap_or(NOT_RECORDED), ink, Tag::Cell),
                ];
                desk.row(&row, &[names, ROOM - names - GAP], (Face::Plain, BODY));
            }
        });
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            let text = format!("{}: {NOT_RECORDED}", table.caption);
            self.paragraph(&text, BODY, Ink::Bole);
            return;
        }
        self.within(Tag::Table, |desk| desk.full_table(table));
    }

    fn full_table(&mut self, table: &Table) {
        let columns = columns_of(table);
        self.paper.need(table_beginning(table, &columns).min(FOOT));
        self.within(Tag::Caption, |desk| {
            desk.words(&table.caption, (Face::Bold, BODY), Ink::Slate);
        });
        self.heads(table, &columns);
        for row in &table.rows {
            let words: Vec<String> = row.iter().map(words_of).collect();
            let cells: Vec<(&str, Ink, Tag)> = words
                .iter()
                .zip(row)
                .map(|(words, cell)| (words.as_str(), ink_of(cell), Tag::Cell))
                .collect();
            if self.paper.left() < SMALL * LEADING {
                self.paper.turn();
                self.paper.repeat();
                self.heads(table, &columns);
                self.paper.go_on();
            }
            self.swatches(row, &columns);
            self.row(&cells, &columns, (Face::Plain, SMALL));
            self.paper.rule(Ink::Slate);
        }
    }

    fn heads(&mut self, table: &Table, columns: &[f64]) {
        let heads = table.heads.iter();
        let heads: Vec<(&str, Ink, Tag)> = heads
            .map(|head| (*head, Ink::Black, Tag::ColumnHead))
            .collect();
        self.row(&heads, columns, (Face::Bold, SMALL));
        self.paper.rule(Ink::Black);
    }

    /// Patches of colour in the first line of a row; the words keep room for them.
    fn swatches(&mut self, row: &[Cell], columns: &[f64]) {
        let mut left = LEFT;
        for (cell, width) in row.iter().zip(columns) {
            if let Cell::Swatch(rgb, _) = cell {
                self.paper.patch(left, SMALL, Ink::Measured(*rgb));
            }
            left += width + GAP;
        }
    }

    fn row(&mut self, cells: &[(&str, Ink, Tag)], columns: &[f64], letters: (Face, f64)) {
        let height = letters.1;
        let wrapped: Vec<Vec<String>> = cells
            .iter()
            .zip(columns)
            .map(|((words, ..), width)| lines(words, letters, *width))
            .collect();
        let high = wrapped.iter().map(Vec::len).max().unwrap_or_default();
        self.within(Tag::Row, |desk| {
            let tags = cells.iter().map(|(_, ink, tag)| (*ink, *tag));
            let elements: Vec<(Ink, usize)> = tags
                .map(|(ink, tag)| (ink, desk.paper.element(tag, None)))
                .collect();
            for at in 0..high {
                desk.paper.need(height * LEADING);
                desk.paper.down(height * LEADING);
                let mut left = LEFT;
                for ((lines, width), (ink, element)) in wrapped.iter().zip(columns).zip(&elements) {
                    if let Some(line) = lines.get(at) {
                        desk.inside(*element, |desk| {
                            desk.paper.write(&Written::at(left, line), letters, *ink);
                        });
                    }
                    left += width + GAP;
                }
            }
        });
    }

    fn drawing(&mut self, drawing: &Drawing) {
        let [_, high] = drawing.size;
        self.paper.need(room_for(drawing));
        self.within(Tag::Paragraph, |desk| {
            desk.words(&drawing.title, (Face::Bold, BODY), Ink::Slate);
        });
        self.paper.down(4.0);
        let top = self.paper.top();
        let figure = self.paper.element(Tag::Figure, Some(&drawing.says));
        self.inside(figure, |desk| {
            let [wide, high] = drawing.size;
            desk.paper.frame([LEFT, top, wide, high]);
            desk.paper.draw(&strokes(drawing, [LEFT, top]));
        });
        self.paper.down(high + 2.0);
        self.paragraph(&drawing.says, SMALL, Ink::Slate);
    }

    fn picture(&mut self, picture: &Picture) {
        let Picture { caption, shot } = picture;
        let bytes = match shot.bytes() {
            Ok(bytes) => bytes,
            Err(why) => return self.no_picture(caption, why),
        };
        let Some(photograph) = packed(bytes) else {
            let why = "this kind of picture cannot be put on paper; the file holds it";
            return self.no_picture(caption, why);
        };
        let [wide, high] = shown_size(&photograph, PHOTOGRAPH);
        self.paper.need(high + CAPTIONS);
        self.paper.down(high);
        self.place(&photograph, caption, [LEFT, wide, high]);
        self.paragraph(caption, SMALL, Ink::Slate);
        self.paper.down(6.0);
    }

    /// Puts a photograph with its foot where the paper has come to.
    fn place(&mut self, photograph: &Packed, caption: &str, [left, wide, high]: [f64; 3]) {
        let figure = self.paper.element(Tag::Figure, Some(caption));
        self.inside(figure, |desk| {
            let head = desk.paper.top() - high;
            desk.paper.frame([left, head, wide, high]);
            desk.paper.place(photograph, [left, wide, high]);
        });
    }

    /// Two photographs side by side, what they show below them. Where one cannot be put on
    /// paper, they stand below one another.
    fn pair(&mut self, pair: &[Picture; 2]) {
        let packed = pair.each_ref().map(|picture| {
            let bytes = picture.shot.bytes().ok()?;
            packed(bytes)
        });
        let [Some(one), Some(other)] = packed else {
            for picture in pair {
                self.picture(picture);
            }
            return;
        };
        let sizes = [&one, &other].map(|it| shown_size(it, HALF));
        let high = sizes.iter().map(|[_, high]| *high).fold(0.0, f64::max);
        self.paper.need(high + CAPTIONS);
        self.paper.down(high);
        let lefts = [LEFT, LEFT + HALF[0] + GAP];
        let placed = [&one, &other].into_iter().zip(pair).zip(sizes).zip(lefts);
        for (((photograph, picture), [wide, high]), left) in placed {
            self.place(photograph, &picture.caption, [left, wide, high]);
        }
        for (side, picture) in ["Left", "Right"].iter().zip(pair) {
            let words = format!("{side}: {}", picture.caption);
            self.paragraph(&words, SMALL, Ink::Slate);
        }
        self.paper.down(6.0);
    }

    fn no_picture(&mut self, caption: &str, why: &str) {
        self.within(Tag::List, |desk| {
            desk.hung("•", &format!("{caption} ({why})"));
        });
    }
}

fn ink_of(cell: &Cell) -> Ink {
    if cell.lacks() { Ink::Bole } else { Ink::Black }
}
