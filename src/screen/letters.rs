//! Large figures and letters of our own drawing, for eyes two metres away.
//!
//! A figure is five points high; a point is two cells wide and one high, or a multiple of
//! that. A letter has the same five points, two of them stacked in a cell.

use ratatui::layout::Rect;

use super::ink::Ink;
use super::look::Tone;

/// Rows of a large figure at its single size.
pub(super) const FIGURE_ROWS: u16 = 5;
/// Rows of a line of large letters, with the gap below it.
pub(super) const LETTER_ROWS: u16 = 3;

/// Returns the five rows of points of a character; `None` if there is no drawing of it.
fn points(character: char) -> Option<[&'static str; 5]> {
    Some(match character.to_ascii_uppercase() {
        '0' => ["###", "# #", "# #", "# #", "###"],
        '1' => [" # ", "## ", " # ", " # ", "###"],
        '2' => ["###", "  #", "###", "#  ", "###"],
        '3' => ["###", "  #", "###", "  #", "###"],
        '4' => ["# #", "# #", "###", "  #", "  #"],
        '5' => ["###", "#  ", "###", "  #", "###"],
        '6' => ["###", "#  ", "###", "# #", "###"],
        '7' => ["###", "  #", "  #", "  #", "  #"],
        '8' => ["###", "# #", "###", "# #", "###"],
        '9' => ["###", "# #", "###", "  #", "###"],
        'A' => [" ## ", "#  #", "####", "#  #", "#  #"],
        'B' => ["### ", "#  #", "### ", "#  #", "### "],
        'C' => [" ###", "#   ", "#   ", "#   ", " ###"],
        'D' => ["### ", "#  #", "#  #", "#  #", "### "],
        'E' => ["###", "#  ", "## ", "#  ", "###"],
        'F' => ["###", "#  ", "## ", "#  ", "#  "],
        'G' => [" ###", "#   ", "# ##", "#  #", " ###"],
        'H' => ["#  #", "#  #", "####", "#  #", "#  #"],
        'I' => ["#", "#", "#", "#", "#"],
        'J' => ["  #", "  #", "  #", "# #", " # "],
        'K' => ["#  #", "# # ", "##  ", "# # ", "#  #"],
        'L' => ["#  ", "#  ", "#  ", "#  ", "###"],
        'M' => ["#   #", "## ##", "# # #", "#   #", "#   #"],
        'N' => ["#  #", "## #", "# ##", "#  #", "#  #"],
        'O' => [" ## ", "#  #", "#  #", "#  #", " ## "],
        'P' => ["### ", "#  #", "### ", "#   ", "#   "],
        'Q' => [" ## ", "#  #", "#  #", "# # ", " # #"],
        'R' => ["### ", "#  #", "### ", "# # ", "#  #"],
        'S' => [" ###", "#   ", " ## ", "   #", "### "],
        'T' => ["###", " # ", " # ", " # ", " # "],
        'U' => ["#  #", "#  #", "#  #", "#  #", " ## "],
        'V' => ["# #", "# #", "# #", "# #", " # "],
        'W' => ["#   #", "#   #", "# # #", "## ##", "#   #"],
        'X' => ["# #", "# #", " # ", "# #", "# #"],
        'Y' => ["# #", "# #", " # ", " # ", " # "],
        'Z' => ["####", "  # ", " #  ", "#   ", "####"],
        ' ' => ["  ", "  ", "  ", "  ", "  "],
        ':' => [" ", "#", " ", "#", " "],
        '.' => [" ", " ", " ", " ", "#"],
        ',' => ["  ", "  ", "  ", " #", "# "],
        ';' => ["  ", " #", "  ", " #", "# "],
        '-' | '–' => ["  ", "  ", "##", "  ", "  "],
        '+' => ["   ", " # ", "###", " # ", "   "],
        '/' => ["  #", "  #", " # ", "#  ", "#  "],
        '%' => ["# #", "  #", " # ", "#  ", "# #"],
        '(' => [" #", "# ", "# ", "# ", " #"],
        ')' => ["# ", " #", " #", " #", "# "],
        '\'' | '’' => ["#", "#", " ", " ", " "],
        '°' => ["##", "##", "  ", "  ", "  "],
        '?' => ["###", "  #", " ##", "   ", " # "],
        '!' => ["#", "#", "#", " ", "#"],
        _ => return None,
    })
}

fn width_of(character: char) -> u16 {
    let row = points(character).map_or(0, |[top, ..]| top.len());
    u16::try_from(row).unwrap_or(0)
}

/// Returns the width in cells of large figures; one gap point is one cell per `times`.
pub(super) fn figures_width(text: &str, times: u16) -> u16 {
    let cells: u16 = text
        .chars()
        .map(|character| width_of(character) * 2 + 1)
        .sum();
    cells.saturating_sub(1) * times
}

/// Draws figures with their top left at the area's; what does not fit is left out whole.
/// Returns the columns used.
pub(super) fn draw_figures(
    ink: &mut Ink<'_>,
    area: Rect,
    text: &str,
    times: u16,
    tone: Tone,
) -> u16 {
    let mut x = area.x;
    for character in text.chars() {
        let Some(rows) = points(character) else {
            continue;
        };
        let wide = width_of(character) * 2 * times;
        if x + wide > area.right() {
            break;
        }
        for (row, line) in (0u16..).zip(rows) {
            for (column, point) in (0u16..).zip(line.chars()) {
                if point != '#' {
                    continue;
                }
                for down in 0..times {
                    let y = area.y + row * times + down;
                    if y < area.bottom() {
                        let block = "█".repeat(usize::from(2 * times));
                        ink.put((x + column * 2 * times, y), &block, tone, 2 * times);
                    }
                }
            }
        }
        x += wide + times;
    }
    x.saturating_sub(area.x)
}

/// Returns lines of words for large letters in a width; `None` if a letter has no drawing
/// or a word is too long for a line.
pub(super) fn letter_lines(text: &str, width: u16) -> Option<Vec<String>> {
    lines(text, width, letters_width)
}

/// As [`letter_lines`], for letters drawn like figures, five rows high.
pub(super) fn figure_lines(text: &str, width: u16) -> Option<Vec<String>> {
    lines(text, width, |text| figures_width(text, 1))
}

fn lines(text: &str, width: u16, wide: impl Fn(&str) -> u16) -> Option<Vec<String>> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !can_draw(word) || wide(word) > width {
            return None;
        }
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if wide(&longer) <= width {
            line = longer;
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    lines.push(line);
    Some(lines)
}

/// Returns the width in cells of one line of large letters.
pub(super) fn letters_width(text: &str) -> u16 {
    text.chars()
        .map(|character| width_of(character) + 1)
        .sum::<u16>()
        .saturating_sub(1)
}

/// Returns whether every letter has a drawing.
pub(super) fn can_draw(text: &str) -> bool {
    text.chars().all(|character| points(character).is_some())
}

/// Draws one line of large letters, three rows high.
pub(super) fn draw_letters(ink: &mut Ink<'_>, area: Rect, text: &str, tone: Tone) {
    let mut x = area.x;
    for character in text.chars() {
        let Some([one, two, three, four, five]) = points(character) else {
            continue;
        };
        if x + width_of(character) > area.right() {
            return;
        }
        for (row, (upper, lower)) in (0u16..).zip([(one, two), (three, four), (five, "")]) {
            let mut lower = lower.chars();
            for (column, point) in (0u16..).zip(upper.chars()) {
                let cell = match (point == '#', lower.next() == Some('#')) {
                    (true, true) => "█",
                    (true, false) => "▀",
                    (false, true) => "▄",
                    (false, false) => continue,
                };
                if area.y + row < area.bottom() {
                    ink.put((x + column, area.y + row), cell, tone, 1);
                }
            }
        }
        x += width_of(character) + 1;
    }
}

#[cfg(test)]
mod tests {
    use super::{figures_width, letter_lines, points};

    #[test]
    fn every_drawing_is_five_rows_of_one_width() {
        for character in ('!'..='~').chain(['°', '–', '’', ' ']) {
            if let Some(rows) = points(character) {
                assert!(
                    rows.iter().all(|row| row.len() == rows[0].len()),
                    "{character}"
                );
            }
        }
    }

    #[test]
    fn figures_differ_from_one_another() {
        let all: Vec<_> = ('0'..='9').map(points).collect();
        for (place, one) in all.iter().enumerate() {
            assert!(one.is_some());
            assert!(!all[..place].contains(one));
        }
    }

    #[test]
    fn a_time_is_thirty_one_cells_wide() {
        // Four figures of six cells, a colon of two, four gaps of one.
        assert_eq!(figures_width("59:59", 1), 4 * 6 + 2 + 4);
        assert_eq!(figures_width("59:59", 2), 2 * (4 * 6 + 2 + 4));
    }

    #[test]
    fn a_word_too_long_for_a_line_is_not_drawn_large() {
        assert_eq!(letter_lines("butter both faces", 10), None);
        assert_eq!(letter_lines("lay up", 30), Some(vec!["lay up".to_owned()]));
        assert_eq!(letter_lines("naïve", 80), None);
    }
}
