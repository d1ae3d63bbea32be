//! The sheets of paper of a PDF: where the next line goes, when a sheet is full, and what
//! stands at the foot of each.

use std::fmt::Write as _;

use super::font::{Face, winansi};
use super::media::Packed;
use super::pdf_file::{File, shown, titled};
use super::pdf_tree::{Tag, Tree, artifact, at_the_foot};
use super::sheet::Ink;

/// A4, points (ISO 216: 210 × 297 mm).
const PAPER: [f64; 2] = [595.28, 841.89];

/// Left margin, points: 18 mm.
pub(super) const LEFT: f64 = 51.0;

/// Room between the margins, points.
pub(super) const ROOM: f64 = 493.0;

/// Upper margin, points.
const HEAD: f64 = 51.0;

/// Room between the upper and the lower margin, points.
pub(super) const FOOT: f64 = 728.0;

/// Height of the letters at the foot of a sheet, points.
const FOOT_LETTERS: f64 = 7.5;

/// Sheets being written.
#[derive(Debug)]
pub(super) struct Paper {
    label: String,
    sheets: Vec<String>,
    /// How far down the sheet the last line stands, from the upper margin.
    at: f64,
    photographs: Vec<Packed>,
    /// Headings, each with its sheet and how far down it stands.
    marks: Vec<(String, usize, f64)>,
    tree: Tree,
    /// Whether what is written now repeats what was read already.
    again: bool,
}

/// A line of words and where it begins.
#[derive(Debug)]
pub(super) struct Written<'a> {
    left: f64,
    text: &'a str,
}

impl<'a> Written<'a> {
    /// Returns a line that begins so far from the left edge of the paper.
    pub(super) fn at(left: f64, text: &'a str) -> Self {
        Self { left, text }
    }
}

impl Paper {
    /// Returns an empty first sheet.
    pub(super) fn new(label: &str) -> Self {
        Self {
            label: crate::report::harmless(label).into_owned(),
            sheets: vec![String::new()],
            at: 0.0,
            photographs: Vec::new(),
            marks: Vec::new(),
            tree: Tree::new(),
            again: false,
        }
    }

    /// Returns a new element within the open one; `says` is what a figure shows.
    pub(super) fn element(&mut self, tag: Tag, says: Option<&str>) -> usize {
        if self.again {
            return 0;
        }
        self.tree.add(tag, says)
    }

    /// Opens an element: what is written belongs to it.
    pub(super) fn open(&mut self, element: usize) {
        if !self.again {
            self.tree.open(element);
        }
    }

    /// Says where the open element stands: its left end, how far down the paper its head, its
    /// width and height.
    pub(super) fn frame(&mut self, [left, head, wide, high]: [f64; 4]) {
        let (foot, head) = (up(head + high), up(head));
        self.tree.frame([left, foot, left + wide, head]);
    }

    /// Closes the element that is open.
    pub(super) fn close(&mut self) {
        if !self.again {
            self.tree.close();
        }
    }

    /// From here on stands what has been read already, such as the heads of a table on its
    /// next sheet, until [`Paper::go_on`].
    pub(super) fn repeat(&mut self) {
        self.again = true;
    }

    /// From here on stands what is read for the first time.
    pub(super) fn go_on(&mut self) {
        self.again = false;
    }

    /// Returns how many sheets there are.
    pub(super) fn count(&self) -> usize {
        self.sheets.len()
    }

    /// Begins a new sheet.
    pub(super) fn turn(&mut self) {
        self.sheets.push(String::new());
        self.at = 0.0;
    }

    /// Begins a new sheet when less than `high` is left of this one.
    pub(super) fn need(&mut self, high: f64) {
        if self.left() < high && 0.0 < self.at {
            self.turn();
        }
    }

    /// Returns how much is left of this sheet.
    pub(super) fn left(&self) -> f64 {
        FOOT - self.at
    }

    /// Goes down the sheet.
    pub(super) fn down(&mut self, by: f64) {
        self.at += by;
    }

    /// Returns how far down the paper the last line stands.
    pub(super) fn top(&self) -> f64 {
        HEAD + self.at
    }

    /// Notes a heading for the contents that a reader shows beside the pages.
    pub(super) fn mark(&mut self, title: &str) {
        let sheet = self.sheets.len().saturating_sub(1);
        self.marks.push((title.to_owned(), sheet, self.top()));
    }

    /// Returns the number of the sheet on which each of the headings that were noted stands.
    pub(super) fn marked_on(&self) -> Vec<usize> {
        self.marks.iter().map(|(_, sheet, _)| sheet + 1).collect()
    }

    /// Writes a line whose foot is where the paper has come to.
    pub(super) fn write(&mut self, line: &Written<'_>, (face, height): (Face, f64), ink: Ink) {
        let foot = self.top() - height * 0.2;
        let words = letters(line, (face, height), (foot, ink));
        self.draw(&words);
    }

    /// Draws a bar left of a line that has just been gone down.
    pub(super) fn bar(&mut self, left: f64, high: f64, ink: Ink) {
        let foot = up(self.top());
        self.decorate(&format!(
            "{} {left:.2} {foot:.2} 3 {high:.2} re f\n",
            filled(ink)
        ));
    }

    /// Draws a patch of colour where the next line will begin.
    pub(super) fn patch(&mut self, left: f64, height: f64, ink: Ink) {
        let foot = up(self.top() + height * 1.1);
        let high = height * 0.8;
        self.decorate(&format!(
            "{} {} 0.5 w {left:.2} {foot:.2} 12 {high:.2} re B\n",
            filled(ink),
            stroked(Ink::Black)
        ));
    }

    /// Draws a thin line across, a little below where the paper has come to.
    pub(super) fn rule(&mut self, ink: Ink) {
        self.at += 1.5;
        let (down, right) = (up(self.top()), LEFT + ROOM);
        self.decorate(&format!(
            "{} 0.3 w {LEFT:.2} {down:.2} m {right:.2} {down:.2} l S\n",
            stroked(ink)
        ));
        self.at += 0.5;
    }

    /// Puts a photograph with its foot where the paper has come to.
    pub(super) fn place(&mut self, photograph: &Packed, [left, wide, high]: [f64; 3]) {
        self.photographs.push(photograph.clone());
        let number = self.photographs.len();
        let foot = up(self.top());
        let (right, head) = (left + wide, foot + high);
        // Where its first row and its first column lie (Exif 2.3, tag 0x0112).
        let matrix = match photograph.turned {
            2 => [-wide, 0.0, 0.0, high, right, foot],
            3 => [-wide, 0.0, 0.0, -high, right, head],
            4 => [wide, 0.0, 0.0, -high, left, head],
            5 => [0.0, -high, -wide, 0.0, right, head],
            6 => [0.0, -high, wide, 0.0, left, head],
            7 => [0.0, high, wide, 0.0, left, foot],
            8 => [0.0, high, -wide, 0.0, right, foot],
            _ => [wide, 0.0, 0.0, high, left, foot],
        };
        let matrix = matrix.map(|number: f64| format!("{number:.2}"));
        self.draw(&format!("q {} cm /P{number} Do Q\n", matrix.join(" ")));
    }

    /// Puts finished strokes of the open element onto this sheet.
    pub(super) fn draw(&mut self, strokes: &str) {
        if self.again {
            return self.decorate(strokes);
        }
        let number = self.sheets.len().saturating_sub(1);
        let marked = self.tree.marked(number, strokes);
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.push_str(&marked);
        }
    }

    /// Puts strokes onto this sheet that nobody reads.
    fn decorate(&mut self, strokes: &str) {
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.push_str(&artifact(strokes));
        }
    }

    /// Returns the file.
    pub(super) fn finish(mut self, title: &str) -> Vec<u8> {
        self.feet();
        let mut file = File::default();
        let (root, pages, outlines) = (file.keep(), file.keep(), file.keep());
        let resources = self.resources(&mut file);
        let [wide, high] = PAPER;
        let mut sheets = Vec::new();
        for (sheet, number) in self.sheets.iter().zip(0_usize..) {
            let strokes = file.stream("", sheet.as_bytes());
            sheets.push(file.add(format!(
                "<< /Type /Page /Parent {pages} 0 R /MediaBox [0 0 {wide} {high}] \
                 /Resources {resources} 0 R /Contents {strokes} 0 R \
                 /StructParents {number} /Tabs /S >>"
            )));
        }
        let kids: Vec<String> = sheets.iter().map(|sheet| format!("{sheet} 0 R")).collect();
        file.put(
            pages,
            format!(
                "<< /Type /Pages /Count {} /Kids [{}] >>",
                kids.len(),
                kids.join(" ")
            ),
        );
        self.outline(&mut file, outlines, &sheets);
        let tree = self.tree.put(&mut file, &sheets);
        file.put(
            root,
            format!(
                "<< /Type /Catalog /Pages {pages} 0 R /Outlines {outlines} 0 R /Lang (en) \
                 /MarkInfo << /Marked true >> /StructTreeRoot {tree} 0 R \
                 /ViewerPreferences << /DisplayDocTitle true >> >>"
            ),
        );
        let info = file.add(format!(
            "<< /Title {} /Subject {} >>",
            titled(&crate::report::harmless(title)),
            titled(&self.label)
        ));
        file.finish(root, info)
    }

    /// Writes label and number at the foot of every sheet.
    fn feet(&mut self) {
        let count = self.sheets.len();
        let down = HEAD + FOOT + 24.0;
        let label = self.cut_label(ROOM - 70.0);
        for (sheet, number) in self.sheets.iter_mut().zip(1..) {
            let page = format!("page {number} of {count}");
            let wide = Face::Plain.wide(&winansi(&page), FOOT_LETTERS);
            let look = (Face::Plain, FOOT_LETTERS);
            let left = Written::at(LEFT, &label);
            let right = Written::at(LEFT + ROOM - wide, &page);
            let foot = [left, right].map(|line| letters(&line, look, (down, Ink::Slate)));
            sheet.push_str(&at_the_foot(&foot.concat()));
        }
    }

    fn cut_label(&self, room: f64) -> String {
        let mut label = self.label.clone();
        while room < Face::Plain.wide(&winansi(&label), FOOT_LETTERS) {
            label.truncate(label.trim_end_matches('…').len());
            label.pop();
            label.push('…');
        }
        label
    }

    fn resources(&self, file: &mut File) -> usize {
        let mut entries = String::from("<< /Font <<");
        for (face, name) in [(Face::Plain, "F1"), (Face::Bold, "F2")] {
            let widths: Vec<String> = (32..=255)
                .map(|sign| face.width(sign).to_string())
                .collect();
            let font = file.add(format!(
                "<< /Type /Font /Subtype /Type1 /BaseFont /{} /Encoding /WinAnsiEncoding \
                 /FirstChar 32 /LastChar 255 /Widths [{}] >>",
                face.name(),
                widths.join(" ")
            ));
            let _cannot_fail = write!(entries, " /{name} {font} 0 R");
        }
        entries.push_str(" >> /XObject <<");
        for (photograph, number) in self.photographs.iter().zip(1..) {
            let [wide, high] = photograph.size;
            let image = file.stream(
                &format!(
                    "/Type /XObject /Subtype /Image /Width {wide} /Height {high} {}",
                    photograph.entries
                ),
                &photograph.bytes,
            );
            let _cannot_fail = write!(entries, " /P{number} {image} 0 R");
        }
        entries.push_str(" >> >>");
        file.add(entries)
    }

    /// The contents that a reader shows beside the pages (12.3.3).
    fn outline(&self, file: &mut File, outlines: usize, sheets: &[usize]) {
        let items: Vec<usize> = self.marks.iter().map(|_| file.keep()).collect();
        for ((title, sheet, down), number) in self.marks.iter().zip(0_usize..) {
            let (Some(item), Some(sheet)) = (items.get(number), sheets.get(*sheet)) else {
                continue;
            };
            let mut entry = format!(
                "<< /Title {} /Parent {outlines} 0 R /Dest [{sheet} 0 R /XYZ null {:.2} null]",
                titled(title),
                up(*down)
            );
            let before = number.checked_sub(1).and_then(|before| items.get(before));
            if let Some(before) = before {
                let _cannot_fail = write!(entry, " /Prev {before} 0 R");
            }
            if let Some(next) = items.get(number + 1) {
                let _cannot_fail = write!(entry, " /Next {next} 0 R");
            }
            entry.push_str(" >>");
            file.put(*item, entry);
        }
        let ends = match (items.first(), items.last()) {
            (Some(first), Some(last)) => {
                format!(
                    " /First {first} 0 R /Last {last} 0 R /Count {}",
                    items.len()
                )
            }
            _ => String::new(),
        };
        file.put(outlines, format!("<< /Type /Outlines{ends} >>"));
    }
}

/// Returns a line of words with its foot so far down the paper.
pub(super) fn letters(
    line: &Written<'_>,
    (face, height): (Face, f64),
    (foot, ink): (f64, Ink),
) -> String {
    let name = match face {
        Face::Plain => "F1",
        Face::Bold => "F2",
    };
    format!(
        "BT {} /{name} {height:.2} Tf {:.2} {:.2} Td {} Tj ET\n",
        filled(ink),
        line.left,
        up(foot),
        shown(&winansi(line.text))
    )
}

/// Returns an ink as the colour of what is filled.
pub(super) fn filled(ink: Ink) -> String {
    format!("{} rg", parts(ink))
}

/// Returns an ink as the colour of lines.
pub(super) fn stroked(ink: Ink) -> String {
    format!("{} RG", parts(ink))
}

fn parts(ink: Ink) -> String {
    let parts = ink
        .rgb()
        .map(|part| format!("{:.3}", f64::from(part) / 255.0));
    parts.join(" ")
}

/// Returns a height of the paper as PDF counts it, from the lower edge.
pub(super) fn up(down: f64) -> f64 {
    let [_, high] = PAPER;
    high - down
}
