//! Words into a width: lines that break between words, and columns that share what room there
//! is. Letters on a screen and points on paper are the same to it.

/// Returns a text in lines no wider than `room`. Breaks between words; a word that is wider
/// than a line is cut. An empty text is one empty line.
pub(super) fn wrap(text: &str, room: f64, wide: &dyn Fn(&str) -> f64) -> Vec<String> {
    let mut lines = wrap_open(text, room, wide);
    for line in &mut lines {
        line.truncate(line.trim_end_matches(' ').len());
    }
    lines
}

/// As [`wrap`]; a line that breaks between two words keeps the space between them at its end,
/// one that breaks within a word does not.
pub(super) fn wrap_open(text: &str, room: f64, wide: &dyn Fn(&str) -> f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    // A hard space keeps two words together, and keeps room free.
    let breaks = |sign: char| sign.is_whitespace() && sign != '\u{a0}';
    for word in text.split(breaks).filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if wide(&longer) <= room {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            line.push(' ');
            lines.push(std::mem::take(&mut line));
        }
        line = cut(word, room, wide, &mut lines);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Puts the full lines of a word that is too wide into `lines` and returns its rest.
fn cut(word: &str, room: f64, wide: &dyn Fn(&str) -> f64, lines: &mut Vec<String>) -> String {
    let mut rest = String::new();
    for sign in word.chars() {
        rest.push(sign);
        if room < wide(&rest) && 1 < rest.chars().count() {
            rest.pop();
            lines.push(std::mem::take(&mut rest));
            rest.push(sign);
        }
    }
    rest
}

/// What a column asks for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Column {
    /// The width at which none of its cells breaks.
    pub(super) natural: f64,
    /// The width below which words of it are cut.
    pub(super) least: f64,
}

impl Column {
    /// Takes a cell in. A cell that is `whole` does not want to be broken at all.
    pub(super) fn take(&mut self, cell: &str, whole: bool, wide: &dyn Fn(&str) -> f64) {
        let natural = wide(cell);
        self.natural = natural.max(self.natural);
        let least = if whole {
            natural
        } else {
            cell.split_whitespace().map(wide).fold(0.0, f64::max)
        };
        self.least = least.max(self.least);
    }
}

/// Returns the widths of columns that have `room` together: each at least what its longest word
/// wants, where there is so much, and the rest by what their cells want.
pub(super) fn share(columns: &[Column], room: f64) -> Vec<f64> {
    let least: f64 = columns.iter().map(|column| column.least).sum();
    if room < least {
        let natural: Vec<f64> = columns.iter().map(|column| column.natural).collect();
        return filled(&natural, room);
    }
    let more = columns.iter().map(|column| column.natural - column.least);
    let more = filled(&more.collect::<Vec<_>>(), room - least);
    let columns = columns.iter().zip(more);
    columns.map(|(column, more)| column.least + more).collect()
}

/// Who asks for little gets it, the others share the rest evenly.
fn filled(asked: &[f64], room: f64) -> Vec<f64> {
    let mut given: Vec<Option<f64>> = vec![None; asked.len()];
    loop {
        let taken: f64 = given.iter().flatten().sum();
        let open = given.iter().filter(|width| width.is_none()).count();
        if open == 0 {
            break;
        }
        #[expect(
            clippy::cast_precision_loss,
            reason = "a table has a handful of columns"
        )]
        let fair = ((room - taken) / open as f64).max(0.0);
        let mut changed = false;
        for (width, wanted) in given.iter_mut().zip(asked) {
            if width.is_none() && *wanted <= fair {
                *width = Some(*wanted);
                changed = true;
            }
        }
        if !changed {
            for width in &mut given {
                width.get_or_insert(fair);
            }
        }
    }
    given.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::{Column, share, wrap};

    #[expect(clippy::cast_precision_loss, reason = "short words")]
    fn letters(text: &str) -> f64 {
        text.chars().count() as f64
    }

    #[test]
    fn lines_break_between_words_and_long_words_are_cut() {
        let wrapped = |text, room| wrap(text, room, &letters);
        assert_eq!(wrapped("the near ear", 8.0), ["the near", "ear"]);
        assert_eq!(wrapped("", 8.0), [""]);
        assert_eq!(wrapped("ab abcdefgh", 4.0), ["ab", "abcd", "efgh"]);
        assert_eq!(wrapped("abc", 0.5), ["a", "b", "c"]);
    }

    #[test]
    fn small_columns_get_what_they_ask_and_large_ones_share() {
        let ask = |asked: &[[f64; 2]], room| {
            let column = |[natural, least]: &[f64; 2]| Column {
                natural: *natural,
                least: *least,
            };
            share(&asked.iter().map(column).collect::<Vec<_>>(), room)
        };
        assert_eq!(ask(&[[5.0, 2.0], [9.0, 2.0]], 20.0), [5.0, 9.0]);
        assert_eq!(
            ask(&[[5.0, 5.0], [90.0, 5.0], [40.0, 5.0]], 45.0),
            [5.0, 20.0, 20.0]
        );
        // A date is not broken, however little is left for the others.
        assert_eq!(
            ask(&[[16.0, 16.0], [90.0, 7.0], [40.0, 7.0]], 30.0),
            [16.0, 7.0, 7.0]
        );
        assert_eq!(ask(&[], 20.0), Vec::<f64>::new());
        let cut = ask(&[[30.0, 30.0], [90.0, 40.0]], 20.0);
        assert!(cut.iter().sum::<f64>() <= 20.0);
    }
}
