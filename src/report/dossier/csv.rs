//! Tables for a spreadsheet of any decade: commas, quotes, a head line (RFC 4180).

/// A table under way.
#[derive(Debug)]
pub(super) struct Csv(String);

impl Csv {
    /// Returns a table with its heads and no rows.
    pub(super) fn new(heads: &[&str]) -> Self {
        Self(format!("{}\r\n", heads.join(",")))
    }

    /// Adds a row.
    pub(super) fn row<T: AsRef<str>>(&mut self, cells: &[T]) {
        let cells: Vec<String> = cells.iter().map(|one| cell(one.as_ref())).collect();
        self.0.push_str(&cells.join(","));
        self.0.push_str("\r\n");
    }

    /// Returns the bytes of the file.
    pub(super) fn finish(self) -> Vec<u8> {
        self.0.into_bytes()
    }
}

/// Returns a cell that is only text: what would act is shown, and what a spreadsheet would
/// take for a sum gets an apostrophe in front. A number stays a number.
fn cell(words: &str) -> String {
    let shown = crate::report::harmless(words);
    let is_number = shown.parse::<f64>().is_ok();
    let acts = shown.starts_with(['=', '+', '-', '@', '␉', '␍']) && !is_number;
    let shown = if acts {
        format!("'{shown}")
    } else {
        shown.into_owned()
    };
    if shown.contains([',', '"', '\'']) || shown != shown.trim() {
        format!("\"{}\"", shown.replace('"', "\"\""))
    } else {
        shown
    }
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn a_cell_is_text_and_never_a_sum() {
        assert_eq!(cell("ear, \"near\""), "\"ear, \"\"near\"\"\"");
        assert_eq!(cell("=HYPERLINK(1)"), "\"'=HYPERLINK(1)\"");
        assert_eq!(cell("-cmd"), "\"'-cmd\"");
        assert_eq!(cell("-1.5"), "-1.5");
        assert_eq!(cell("two\r\nlines"), "two␍␊lines");
        assert_eq!(cell(""), "");
    }
}
