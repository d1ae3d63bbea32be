//! A page for a browser: one file without scripts that asks for nothing outside itself, for
//! small screens, large ones and paper.

use std::fmt::Write;

use super::draw::svg;
use super::media::{base64, kind_of};
use super::sheet::{Block, Cell, FRONT, Fact, NOT_RECORDED, Picture, Sheet, Table, WHOLE};
use crate::report::harmless;

/// How the page looks. It names no file and no host.
const STYLE: &str = include_str!("sheet.css");

/// What a browser may do with the page, whatever a note in it says: show its own styles and
/// the pictures inside it, and nothing else (Content Security Policy Level 3, W3C).
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// Returns a page as one HTML file. Words are shown and never acted on: every sign that HTML
/// would take for its own is escaped, what would act on a terminal or turn the direction of
/// reading is made visible.
pub fn html(sheet: &Sheet) -> String {
    let mut page = Page(String::new());
    let (title, label) = (safe(&sheet.title), safe(&sheet.label));
    let one = if sheet.wants_one {
        " class=\"one\""
    } else {
        ""
    };
    page.put(format_args!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"description\" content=\"{label}\">\n<title>{title}</title>\n\
         <style>\n{STYLE}{}</style>\n</head>\n<body{one}>\n<header>\n<h1>{title}</h1>\n\
         <p class=\"label\">{label}</p>\n<p class=\"dated\">{}</p>\n</header>\n",
        margins(&sheet.label),
        safe(&sheet.dated),
    ));
    if !sheet.front.is_empty() {
        page.put(format_args!(
            "<section class=\"front\" aria-labelledby=\"front\">\n<h2 id=\"front\">{FRONT}</h2>\n"
        ));
        page.facts(&sheet.front);
        page.put(format_args!("</section>\n"));
    }
    // One sheet is seen at a glance.
    if !sheet.wants_one && 1 < sheet.parts.len() {
        page.contents(sheet);
    }
    page.put(format_args!("<main>\n"));
    for (part, number) in sheet.parts.iter().zip(1..) {
        page.put(format_args!(
            "<section aria-labelledby=\"part-{number}\">\n<h2 id=\"part-{number}\">{number}. {}</h2>\n",
            safe(&part.title)
        ));
        for block in &part.blocks {
            page.block(block, &label, sheet);
        }
        page.put(format_args!("</section>\n"));
    }
    page.behind(sheet);
    page.put(format_args!(
        "</main>\n<footer class=\"foot\">\n<p>End of: {label}</p>\n</footer>\n</body>\n</html>\n"
    ));
    page.0
}

/// Returns words that mean nothing to HTML, inside an element or between quotes.
fn safe(words: &str) -> String {
    let mut safe = String::with_capacity(words.len());
    for sign in harmless(words).chars() {
        match sign {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            sign => safe.push(sign),
        }
    }
    safe
}

/// Returns the styles that write the label and the number of the page into the margins of
/// paper. A style sheet knows no HTML escapes, so every sign but plain ones is written by its
/// number, which ends at the space behind it (CSS Syntax Module Level 3, 4.3.7).
fn margins(label: &str) -> String {
    let mut quoted = String::new();
    for sign in harmless(label).chars() {
        if sign.is_ascii_alphanumeric() || sign == ' ' {
            quoted.push(sign);
        } else {
            // Writing to a text cannot fail.
            let _cannot_fail = write!(quoted, "\\{:06x} ", u32::from(sign));
        }
    }
    format!(
        "@page {{ @bottom-left {{ content: \"{quoted}\"; font: 8pt sans-serif; }} \
         @bottom-right {{ content: counter(page) \" of \" counter(pages); font: 8pt sans-serif; }} }}\n"
    )
}

/// Returns a row whose number at its end leads to the line behind the page.
fn row(words: &str, sheet: &Sheet) -> String {
    let parted = words.strip_suffix(']').and_then(|it| it.rsplit_once('['));
    let is_behind = |number: &str| sheet.behind.iter().any(|line| line.number == number);
    match parted.filter(|(_, number)| is_behind(number)) {
        Some((words, number)) => {
            let (words, id, number) = (safe(words), anchor(number), safe(number));
            format!("{words}<a href=\"#{id}\">[{number}]</a>")
        }
        None => safe(words),
    }
}

/// Returns the name of the place of a line within the page: letters, figures and dashes.
fn anchor(number: &str) -> String {
    let signs = number.chars();
    let plain = signs.map(|sign| {
        if sign.is_ascii_alphanumeric() {
            sign
        } else {
            '-'
        }
    });
    format!("line-{}", plain.collect::<String>())
}

/// Elements after one another.
struct Page(String);

impl Page {
    fn put(&mut self, words: std::fmt::Arguments<'_>) {
        // Writing to a text cannot fail.
        let _cannot_fail = self.0.write_fmt(words);
    }

    fn contents(&mut self, sheet: &Sheet) {
        self.put(format_args!("<nav aria-label=\"Contents\">\n<ol>\n"));
        for (part, number) in sheet.parts.iter().zip(1..) {
            self.put(format_args!(
                "<li><a href=\"#part-{number}\">{}</a></li>\n",
                safe(&part.title)
            ));
        }
        self.put(format_args!("</ol>\n</nav>\n"));
    }

    /// The lines that rows lead to, on the screen only: a printed page bears their numbers.
    fn behind(&mut self, sheet: &Sheet) {
        if sheet.behind.is_empty() {
            return;
        }
        let title = "The lines behind this page";
        self.put(format_args!(
            "<section class=\"behind\" aria-labelledby=\"behind\">\n<h2 id=\"behind\">{title}</h2>\n"
        ));
        for line in &sheet.behind {
            let (id, number) = (anchor(&line.number), safe(&line.number));
            self.put(format_args!("<h3 id=\"{id}\">{number}</h3>\n"));
            self.facts(&line.facts);
        }
        self.put(format_args!("</section>\n"));
    }

    fn block(&mut self, block: &Block, label: &str, sheet: &Sheet) {
        match block {
            Block::Words(words) => self.put(format_args!("<p>{}</p>\n", safe(words))),
            Block::Notice(words) => {
                self.put(format_args!("<p class=\"notice\">{}</p>\n", safe(words)));
            }
            Block::Head(words) => self.put(format_args!("<h3>{}</h3>\n", safe(words))),
            Block::Facts(facts) => self.facts(facts),
            Block::List(lines) => {
                self.put(format_args!("<ul>\n"));
                for line in lines {
                    self.put(format_args!("<li>{}</li>\n", row(line, sheet)));
                }
                self.put(format_args!("</ul>\n"));
            }
            Block::Table(table) => self.table(table),
            Block::Drawing(drawing) => {
                let (title, says) = (safe(&drawing.title), safe(&drawing.says));
                let drawn = svg(drawing, &safe);
                self.put(format_args!(
                    "<figure>\n{drawn}<figcaption>{title}. {says} <small>{label}</small></figcaption>\n</figure>\n"
                ));
            }
            Block::Picture(picture) => self.picture(picture, label),
            Block::Pair(pair) => {
                self.put(format_args!("<div class=\"pair\">\n"));
                for picture in pair {
                    self.picture(picture, label);
                }
                self.put(format_args!("</div>\n"));
            }
        }
    }

    fn facts(&mut self, facts: &[Fact]) {
        self.put(format_args!("<dl>\n"));
        for fact in facts {
            let known = match &fact.known {
                Some(known) => safe(known),
                None => lacking(),
            };
            let name = safe(&fact.name);
            self.put(format_args!("<dt>{name}</dt><dd>{known}</dd>\n"));
        }
        self.put(format_args!("</dl>\n"));
    }

    fn table(&mut self, table: &Table) {
        let caption = safe(&table.caption);
        if table.rows.is_empty() {
            self.put(format_args!("<p>{caption}: {}</p>\n", lacking()));
            return;
        }
        self.put(format_args!(
            "<table>\n<caption>{caption}</caption>\n<thead><tr>"
        ));
        for head in &table.heads {
            self.put(format_args!("<th scope=\"col\">{}</th>", safe(head)));
        }
        self.put(format_args!("</tr></thead>\n<tbody>\n"));
        for row in &table.rows {
            self.put(format_args!("<tr>"));
            for (cell, head) in row.iter().zip(&table.heads) {
                let class = if *head == WHOLE {
                    " class=\"when\""
                } else {
                    ""
                };
                let (head, words) = (safe(head), cell_words(cell));
                self.put(format_args!("<td{class} data-head=\"{head}\">{words}</td>"));
            }
            self.put(format_args!("</tr>\n"));
        }
        self.put(format_args!("</tbody>\n</table>\n"));
    }

    fn picture(&mut self, picture: &Picture, label: &str) {
        let caption = safe(&picture.caption);
        match picture.shot.bytes() {
            Ok(bytes) => {
                let kind = kind_of(bytes).map_or("application/octet-stream", |kind| kind.mime());
                let inside = base64(bytes);
                self.put(format_args!(
                    "<figure>\n<img alt=\"{caption}\" src=\"data:{kind};base64,{inside}\">\n\
                     <figcaption>{caption} <small>{label}</small></figcaption>\n</figure>\n"
                ));
            }
            Err(why) => {
                let why = safe(why);
                self.put(format_args!(
                    "<p>{caption} <em class=\"lacking\">{why}</em></p>\n"
                ));
            }
        }
    }
}

fn lacking() -> String {
    format!("<em class=\"lacking\">{NOT_RECORDED}</em>")
}

/// The longest word that a cell never breaks, letters (chosen here: longer than the words of
/// the trade, short enough for the narrowest column).
const WORD: usize = 32;

/// Returns the words of a cell. Cells break between words only, so a word that is none, such
/// as a long name of a file, gets places to break at.
fn breakable(words: &str) -> String {
    let mut shown = String::new();
    for (word, nth) in words.split(' ').zip(0_usize..) {
        if 0 < nth {
            shown.push(' ');
        }
        let signs: Vec<char> = word.chars().collect();
        for (piece, nth) in signs.chunks(WORD).zip(0_usize..) {
            if 0 < nth {
                shown.push_str("<wbr>");
            }
            shown.push_str(&safe(&piece.iter().collect::<String>()));
        }
    }
    shown
}

fn cell_words(cell: &Cell) -> String {
    match cell {
        cell if cell.lacks() => format!("<em class=\"lacking\">{}</em>", safe(cell.words())),
        Cell::Swatch([red, green, blue], words) => format!(
            "<span class=\"swatch\" style=\"background:#{red:02x}{green:02x}{blue:02x}\"></span>{}",
            breakable(words)
        ),
        cell => breakable(cell.words()),
    }
}

#[cfg(test)]
mod tests {
    use super::{breakable, margins, safe};

    #[test]
    fn words_that_html_or_a_style_sheet_would_act_on_are_only_words() {
        let bad = "</style><img src=x onerror='a()'>\" \u{202e}";
        assert_eq!(
            safe(bad),
            "&lt;/style&gt;&lt;img src=x onerror=&#39;a()&#39;&gt;&quot; ‹U+202E›"
        );
        let long = format!("{}<i", "w".repeat(40));
        let broken = format!("a {}<wbr>{}&lt;i", "w".repeat(32), "w".repeat(8));
        assert_eq!(breakable(&format!("a {long}")), broken);
        assert!(margins("hare · x's").contains("\"hare \\0000b7  x\\000027 s\""));
        let style = margins(bad);
        assert!(!style.contains('<') && !style.contains('\''), "{style}");
        assert_eq!(style.matches('"').count(), 4, "{style}");
    }
}
