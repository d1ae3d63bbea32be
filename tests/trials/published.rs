//! Published tables, read row by row from `tests/tables`.

use std::collections::BTreeMap;

/// One row of a published table.
#[derive(Debug)]
pub(crate) struct Published {
    cells: BTreeMap<String, String>,
}

impl Published {
    pub(crate) fn text(&self, column: &str) -> &str {
        let cell = self.cells.get(column);
        cell.unwrap_or_else(|| panic!("no column is called {column}"))
    }

    #[track_caller]
    pub(crate) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("`{text}` in {column} is not a number"))
    }

    pub(crate) fn number_if_given(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }
}

/// Returns every row of a table; stops when it has none, so that no loop over it is empty.
pub(crate) fn published(name: &str) -> Vec<Published> {
    let path = format!("{}/tests/tables/{name}.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the table is in the repository");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let heads = cells(lines.next().expect("the table has a head"));
    let rows: Vec<Published> = lines
        .map(|line| Published {
            cells: heads.iter().cloned().zip(cells(line)).collect(),
        })
        .collect();
    assert!(!rows.is_empty(), "{name} has no rows");
    rows
}

/// Cuts a line at commas that are not inside quotes.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cells.last_mut().unwrap().push(other),
        }
    }
    cells
}

/// Holds two numbers together within a tolerance.
#[track_caller]
pub(crate) fn near(value: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!(
        (value - wanted).abs() <= tolerance,
        "{what}: {value} is not within {tolerance} of {wanted}"
    );
}
