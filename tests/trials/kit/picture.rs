//! A buffer as text and as an SVG picture, in our own colours.

use std::fmt::Write as _;

use ratatui::{
    buffer::{Buffer, Cell},
    layout::Rect,
    style::{Color, Modifier},
};
use unicode_width::UnicodeWidthStr;

/// Width and height of a cell in the picture, points.
const CELL: (u16, u16) = (9, 19);

/// Returns the buffer as plain text, blanks at line ends taken off.
pub(crate) fn text(buffer: &Buffer) -> String {
    let mut page = String::new();
    for row in buffer.area.rows() {
        let mut line = String::new();
        let mut skip = 0;
        for position in row.positions() {
            if skip > 0 {
                skip -= 1;
                continue;
            }
            let symbol = buffer[position].symbol();
            skip = symbol.width().saturating_sub(1);
            line.push_str(symbol);
        }
        page.push_str(line.trim_end());
        page.push('\n');
    }
    page
}

/// Returns the buffer as an SVG picture: a ground for each run of one colour, then the text.
pub(crate) fn svg(buffer: &Buffer) -> String {
    let Rect { width, height, .. } = buffer.area;
    let (wide, high) = (width * CELL.0, height * CELL.1);
    let mut page = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide} {high}\" \
         width=\"{wide}\" height=\"{high}\" font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" \
         font-size=\"15\">\n<rect width=\"{wide}\" height=\"{high}\" fill=\"#1b1f22\"/>\n"
    );
    for row in 0..height {
        grounds(&mut page, buffer, row, width);
    }
    for row in 0..height {
        for column in 0..width {
            letter(&mut page, &buffer[(column, row)], column, row);
        }
    }
    page.push_str("</svg>\n");
    page
}

fn grounds(page: &mut String, buffer: &Buffer, row: u16, width: u16) {
    let mut from = 0;
    while from < width {
        let ground = colours(&buffer[(from, row)]).1;
        let mut to = from + 1;
        while to < width && colours(&buffer[(to, row)]).1 == ground {
            to += 1;
        }
        if ground != "#1b1f22" {
            let (x, y) = (from * CELL.0, row * CELL.1);
            let wide = (to - from) * CELL.0;
            writeln!(
                page,
                "<rect x=\"{x}\" y=\"{y}\" width=\"{wide}\" height=\"{}\" fill=\"{ground}\"/>",
                CELL.1
            )
            .unwrap();
        }
        from = to;
    }
}

fn letter(page: &mut String, cell: &Cell, column: u16, row: u16) {
    let symbol = cell.symbol();
    let (x, y) = (column * CELL.0, row * CELL.1);
    let colour = colours(cell).0;
    let half = CELL.1.div_ceil(2);
    // Blocks are drawn, not written, so that no font leaves gaps between them.
    let block = match symbol {
        " " => return,
        "█" => Some((0, CELL.1)),
        "▀" => Some((0, half)),
        "▄" => Some((half, CELL.1 - half)),
        _ => None,
    };
    if let Some((down, high)) = block {
        writeln!(
            page,
            "<rect x=\"{x}\" y=\"{}\" width=\"{}\" height=\"{high}\" fill=\"{colour}\"/>",
            y + down,
            CELL.0
        )
        .unwrap();
        return;
    }
    let bold = if cell.modifier.contains(Modifier::BOLD) {
        " font-weight=\"bold\""
    } else {
        ""
    };
    let escaped = symbol.replace('&', "&amp;").replace('<', "&lt;");
    writeln!(
        page,
        "<text x=\"{x}\" y=\"{}\" fill=\"{colour}\"{bold}>{escaped}</text>",
        y + CELL.1 - 5
    )
    .unwrap();
}

fn colours(cell: &Cell) -> (String, String) {
    let hex = |colour: Color, otherwise: &str| match colour {
        Color::Rgb(red, green, blue) => format!("#{red:02x}{green:02x}{blue:02x}"),
        _ => otherwise.to_owned(),
    };
    (hex(cell.fg, "#f1ece0"), hex(cell.bg, "#1b1f22"))
}
