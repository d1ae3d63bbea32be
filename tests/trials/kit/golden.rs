//! Expected pages kept as files. `UPDATE_GOLDEN=1` writes them anew; read the difference as
//! text before keeping it.

use std::path::{Path, PathBuf};

/// Returns the folder of expected pages.
pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden")
}

/// Compares a page with its file, whole; the message shows the first line that differs.
#[track_caller]
#[expect(
    clippy::disallowed_methods,
    reason = "a trial may be asked by the environment to write its golden file anew"
)]
pub(crate) fn check(name: &str, found: &str) {
    let path = folder().join(name);
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, found).unwrap();
        return;
    }
    let expected = std::fs::read_to_string(&path)
        .unwrap_or_else(|why| panic!("{name}: {why}; UPDATE_GOLDEN=1 writes it"));
    if expected == found {
        return;
    }
    let place = expected
        .lines()
        .zip(found.lines())
        .position(|(one, other)| one != other);
    let line = place.unwrap_or_else(|| expected.lines().count().min(found.lines().count()));
    panic!(
        "{name} differs from line {}:\nexpected: {}\n   found: {}\n\nwhole page found:\n{found}",
        line + 1,
        expected.lines().nth(line).unwrap_or("(nothing)"),
        found.lines().nth(line).unwrap_or("(nothing)"),
    );
}
