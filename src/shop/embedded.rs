//! What the program carries in itself: the built-in checklists and the sample shop.

use include_dir::{Dir, include_dir};

/// The built-in checklists.
static CHECKLISTS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/checklists");

/// The sample shop, in the middle of its work.
static SAMPLE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/sample-shop");

/// Returns the built-in checklists: pairs of a path, which begins with `built-in/`, and a text.
pub fn builtin_checklists() -> Vec<(String, String)> {
    let mut found = Vec::new();
    walk(&CHECKLISTS, &mut |path, bytes| {
        let text = String::from_utf8_lossy(bytes).into_owned();
        found.push((format!("built-in/checklists/{path}"), text));
    });
    found
}

/// Returns the files of the sample shop: pairs of a path inside it and what it holds.
pub fn sample_files() -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    walk(&SAMPLE, &mut |path, bytes| {
        found.push((path, bytes.to_vec()));
    });
    found
}

fn walk(folder: &Dir<'static>, take: &mut impl FnMut(String, &[u8])) {
    for file in folder.files() {
        // Folders are parted by `/` in the paths of a shop on every system.
        let path = file.path().to_string_lossy().replace('\\', "/");
        take(path, file.contents());
    }
    for inner in folder.dirs() {
        walk(inner, take);
    }
}
