//! A sheet of numbers from a CSV file: `#` lines and blank lines are skipped, one row of names may
//! come first, every other row holds as many numbers as the first one.

use std::path::Path;

use super::Files;
use super::flag::ReckonTrouble;

/// The rows of a CSV file.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The names over the columns in small letters, empty when the file has none.
    pub names: Vec<String>,
    /// The rows in the order of the file; never empty.
    pub rows: Vec<Row>,
}

/// One row of numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its line in the file, counted from 1.
    pub line: usize,
    /// Its numbers from left to right.
    pub cells: Vec<f64>,
}

impl Sheet {
    /// Returns the sheet in the file at `path`, with at least `columns` numbers in each row.
    ///
    /// # Errors
    /// [`ReckonTrouble::Unreadable`] when the file cannot be read, [`ReckonTrouble::Line`] with
    /// the line when a cell is no finite number or a row is too short.
    pub fn read(path: &Path, columns: usize, files: Files<'_>) -> Result<Self, ReckonTrouble> {
        let name = path.display().to_string();
        let text = files(path).map_err(|source| ReckonTrouble::Unreadable {
            path: name.clone(),
            source,
        })?;
        Self::parse(&name, columns, &text)
    }

    fn parse(path: &str, columns: usize, text: &str) -> Result<Self, ReckonTrouble> {
        let mut names = Vec::new();
        let mut rows: Vec<Row> = Vec::new();
        let text = text.trim_start_matches('\u{feff}');
        for (line, words) in (1..).zip(text.lines()) {
            let words = words.trim();
            if words.is_empty() || words.starts_with('#') {
                continue;
            }
            let cells: Vec<&str> = words.split([',', ';', '\t']).map(bare).collect();
            let heads = rows.is_empty() && names.is_empty();
            if heads && cells.iter().all(|cell| number(cell).is_none()) {
                names = cells.iter().map(|cell| cell.to_lowercase()).collect();
                continue;
            }
            rows.push(Row {
                line,
                cells: numbers(path, line, &cells, columns)?,
            });
        }
        if rows.is_empty() {
            return Err(ReckonTrouble::Line {
                path: path.to_owned(),
                line: 0,
                what: "the file holds no row of numbers".to_owned(),
                remedy: format!("write {columns} numbers on each line, with commas between"),
            });
        }
        Ok(Self { names, rows })
    }
}

fn bare(cell: &str) -> &str {
    cell.trim().trim_matches('"').trim()
}

fn number(cell: &str) -> Option<f64> {
    let begins = |it: char| it.is_ascii_digit() || matches!(it, '-' | '+' | '.');
    let value: f64 = cell.parse().ok()?;
    (cell.starts_with(begins) && value.is_finite()).then_some(value)
}

fn numbers(
    path: &str,
    line: usize,
    cells: &[&str],
    columns: usize,
) -> Result<Vec<f64>, ReckonTrouble> {
    let flaw = |what: String| ReckonTrouble::Line {
        path: path.to_owned(),
        line,
        what,
        remedy: format!("write {columns} numbers on each line, with commas between"),
    };
    if cells.len() < columns {
        return Err(flaw(format!(
            "{} numbers on the line, {columns} needed",
            cells.len()
        )));
    }
    cells
        .iter()
        .take(columns)
        .map(|cell| number(cell).ok_or_else(|| flaw(format!("`{cell}` is not a number"))))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Row, Sheet};

    #[test]
    fn names_remarks_and_blank_lines_are_passed_over() {
        let sheet =
            Sheet::parse("a.csv", 2, "\u{feff}# a remark\nX,Y\n\n1,2\n\"3\" ; 4e1\n").unwrap();
        assert_eq!(sheet.names, ["x", "y"]);
        let row = |line, cells: [f64; 2]| Row {
            line,
            cells: cells.to_vec(),
        };
        assert_eq!(sheet.rows, [row(4, [1.0, 2.0]), row(5, [3.0, 40.0])]);
    }

    #[track_caller]
    fn flawed(text: &str, wanted: &str) {
        let trouble = Sheet::parse("a.csv", 2, text).unwrap_err();
        assert_eq!(trouble.three_lines(), wanted);
    }

    #[test]
    fn a_flaw_names_its_line() {
        flawed(
            "x,y\n1,nan\n",
            "`nan` is not a number\n where: a.csv, line 2\n    do: write 2 numbers on each line, with commas between\n",
        );
        flawed(
            "1\n",
            "1 numbers on the line, 2 needed\n where: a.csv, line 1\n    do: write 2 numbers on each line, with commas between\n",
        );
        flawed(
            "# empty\n",
            "the file holds no row of numbers\n where: a.csv\n    do: write 2 numbers on each line, with commas between\n",
        );
    }
}
