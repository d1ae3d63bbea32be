//! The texts of this tree as `tidy` reads them: files, and code without its comments.

use std::fs;
use std::path::Path;

/// The folder of the manifest.
const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// One file of code.
pub(crate) struct Source {
    /// Its path from the top, with slashes.
    pub(crate) path: String,
    /// The room, door or `main` it belongs to.
    pub(crate) room: String,
    /// How many modules deep it stands below the top of the house.
    pub(crate) depth: usize,
    /// The text as it is.
    text: String,
    /// The text with comments and the insides of strings blanked out, line by line the same.
    pub(crate) bare: String,
}

/// A path that begins with a given word: `crate::deed::Deed` is `["deed", "Deed"]`.
pub(crate) struct Used {
    /// The line, from 1.
    pub(crate) line: usize,
    /// The words after the first one.
    pub(crate) words: Vec<String>,
}

/// Returns every file of the library and its door.
pub(crate) fn sources() -> impl Iterator<Item = Source> {
    files_below("src")
        .into_iter()
        .filter(|path| path.rsplit('.').next() == Some("rs"))
        .map(Source::read)
}

/// Returns every file of the trials.
pub(crate) fn trials() -> impl Iterator<Item = Source> {
    files_below("tests/trials")
        .into_iter()
        .filter(|path| path.rsplit('.').next() == Some("rs"))
        .map(Source::read)
}

/// Returns every text of the tree with its path; pictures and other bytes are left out.
pub(crate) fn every_text() -> impl Iterator<Item = (String, String)> {
    let skipped = |name: &str| name == "target" || name == ".git";
    let top = names_in("").into_iter().filter(move |name| !skipped(name));
    top.flat_map(|name| files_below(&name))
        .filter_map(|path| Some((path.clone(), fs::read_to_string(whole(&path)).ok()?)))
}

/// Returns a file's text.
#[track_caller]
pub(crate) fn read(path: &str) -> String {
    fs::read_to_string(whole(path)).unwrap_or_else(|cause| panic!("{path}: {cause}"))
}

/// Says whether a path of the tree is there.
pub(crate) fn exists(path: &str) -> bool {
    Path::new(&whole(path)).exists()
}

/// Returns the names in a folder, sorted.
pub(crate) fn names_in(folder: &str) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(whole(folder))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort_unstable();
    names
}

/// Returns what stands between single backquotes in a page, its code blocks left out.
pub(crate) fn quoted(page: &str) -> impl Iterator<Item = &str> {
    let blocks = page.split("```").step_by(2);
    blocks.flat_map(|prose| prose.split('`').skip(1).step_by(2))
}

/// Returns the targets of a page's links and pictures.
pub(crate) fn linked(page: &str) -> impl Iterator<Item = &str> {
    let targets = page.split("](").skip(1);
    targets.filter_map(|rest| rest.split([')', '#']).next())
}

/// Returns the names in a section of a manifest, such as `dependencies`.
pub(crate) fn named_in<'a>(manifest: &'a str, section: &str) -> Vec<&'a str> {
    let opens = format!("\n[{section}]\n");
    let (_, rest) = manifest.split_once(&opens).unwrap();
    let lines = rest.lines().take_while(|line| !line.starts_with('['));
    lines
        .filter_map(|line| Some(line.split_once(" = ")?.0))
        .collect()
}

fn whole(path: &str) -> String {
    format!("{ROOT}/{path}")
}

/// Returns all files at or below a path, sorted.
fn files_below(path: &str) -> Vec<String> {
    if !Path::new(&whole(path)).is_dir() {
        return vec![path.to_owned()];
    }
    let below = names_in(path).into_iter();
    below
        .flat_map(|name| files_below(&format!("{path}/{name}")))
        .collect()
}

impl Source {
    fn read(path: String) -> Self {
        let text = read(&path);
        Self::of(path, text)
    }

    /// Returns a file of this path and text.
    pub(crate) fn of(path: String, text: String) -> Self {
        let inside = path.strip_prefix("src/").unwrap_or(&path);
        let parts: Vec<&str> = inside.trim_end_matches(".rs").split('/').collect();
        Self {
            room: parts[0].to_owned(),
            depth: parts.iter().filter(|part| **part != "mod").count(),
            bare: bare(&text),
            path,
            text,
        }
    }

    /// Returns every path in the code that begins with `root`, its groups spelt out.
    pub(crate) fn uses(&self, root: &str) -> Vec<Used> {
        let opens = format!("{root}::");
        let mut found = Vec::new();
        for (start, _) in self.bare.match_indices(&opens) {
            let (above, rest) = self.bare.split_at(start);
            let before = above.chars().next_back();
            if before.is_some_and(|sign| sign.is_alphanumeric() || sign == '_') {
                continue;
            }
            let line = above.matches('\n').count() + 1;
            for words in spelt_out(rest.split_at(opens.len()).1) {
                found.push(Used { line, words });
            }
        }
        found
    }

    /// Returns each climb by `super` with its line and how far it would have to be allowed to
    /// go: the tests at the foot of a file stand one module deeper than the file.
    pub(crate) fn climbs(&self) -> Vec<(usize, usize)> {
        let tests = self.lines_before_tests();
        let mut found = Vec::new();
        for (line, text) in self.bare.lines().enumerate() {
            let foot = usize::from(tests <= line);
            let longest = (1..9).filter(|steps| text.contains(&"super::".repeat(*steps)));
            if let Some(steps) = longest.max() {
                // From the file at depth 1, one step is the top of the house already.
                found.push((line + 1, steps + 1 - foot));
            }
        }
        found
    }

    /// Returns each word of the code before its tests, with its line.
    pub(crate) fn words_before_tests(&self) -> impl Iterator<Item = (usize, &str)> {
        let lines = self.bare.lines().take(self.lines_before_tests());
        lines.enumerate().flat_map(|(line, text)| {
            let words = text.split(|sign: char| !sign.is_alphanumeric() && sign != '_');
            words.map(move |word| (line + 1, word))
        })
    }

    /// Returns how many lines stand before the unit tests.
    pub(crate) fn lines_before_tests(&self) -> usize {
        let lines = self.text.lines();
        lines.take_while(|line| *line != "#[cfg(test)]").count()
    }

    /// Returns the lines of constants that have no doc line above them.
    pub(crate) fn constants_without_a_word(&self) -> Vec<usize> {
        let lines: Vec<&str> = self.text.lines().map(str::trim_start).collect();
        let mut found = Vec::new();
        let mut is_promised = false;
        for (line, code) in self.bare.lines().enumerate() {
            if self.lines_before_tests() <= line {
                break;
            }
            let code = code.trim_start();
            if code.starts_with("impl ") {
                // What a trait promises is documented there.
                is_promised = code.contains(" for ");
            }
            let rest = code.trim_start_matches("pub(super) ");
            let rest = rest
                .trim_start_matches("pub(crate) ")
                .trim_start_matches("pub ");
            let Some(rest) = rest.strip_prefix("const ") else {
                continue;
            };
            let above = lines[..line]
                .iter()
                .rev()
                .find(|above| !above.starts_with("#["));
            let has_word = above.is_some_and(|above| above.starts_with("///"));
            if !is_promised && !rest.starts_with("fn ") && !rest.starts_with('_') && !has_word {
                found.push(line + 1);
            }
        }
        found
    }

    /// Returns the names of all functions in the file.
    pub(crate) fn functions(&self) -> Vec<String> {
        let named = self.bare.split("fn ").skip(1);
        named
            .filter_map(|rest| rest.split(['(', '<', ' ']).next())
            .map(str::to_owned)
            .collect()
    }
}

/// Returns the paths that a use tree spells, each as its words.
fn spelt_out(text: &str) -> Vec<Vec<String>> {
    let text = text.trim_start();
    if let Some(group) = text.strip_prefix('{') {
        return members(group).into_iter().flat_map(spelt_out).collect();
    }
    let is_of_word = |sign: char| sign.is_alphanumeric() || sign == '_';
    let end = text.find(|sign| !is_of_word(sign)).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    if word.is_empty() {
        return Vec::new();
    }
    let mut paths = match rest.strip_prefix("::") {
        Some(rest) => spelt_out(rest),
        None => Vec::new(),
    };
    if paths.is_empty() {
        paths.push(Vec::new());
    }
    for path in &mut paths {
        path.insert(0, word.to_owned());
    }
    paths
}

/// Returns the members of a group, up to its closing brace.
fn members(group: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let (mut depth, mut start) = (0, 0);
    for (at, sign) in group.char_indices() {
        match sign {
            '{' => depth += 1,
            '}' if depth == 0 => {
                found.push(group.get(start..at).unwrap());
                return found;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                found.push(group.get(start..at).unwrap());
                start = at + 1;
            }
            _ => {}
        }
    }
    found
}

/// Returns code with its comments and the insides of its strings blanked out.
fn bare(text: &str) -> String {
    let mut bare = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(sign) = rest.chars().next() {
        let len = token(rest);
        let (token, after) = rest.split_at(len);
        if len == sign.len_utf8() {
            bare.push(sign);
        } else {
            bare.extend(token.chars().filter(|sign| *sign == '\n'));
            bare.push(' ');
        }
        rest = after;
    }
    bare
}

/// Returns the length of the comment, string or sign at the beginning of a text.
fn token(text: &str) -> usize {
    let one = text.chars().next().map_or(0, char::len_utf8);
    if text.starts_with("//") {
        return text.find('\n').unwrap_or(text.len());
    }
    if text.starts_with("/*") {
        return text.find("*/").map_or(text.len(), |end| end + 2);
    }
    if let Some(raw) = text.strip_prefix("r#\"") {
        return raw.find("\"#").map_or(text.len(), |end| end + 5);
    }
    if let Some(string) = text.strip_prefix('"') {
        return end_of(string, '"').map_or(text.len(), |end| end + 1);
    }
    // A letter in quotes, which may be a quote; a lifetime has no second quote so near.
    if let Some(letter) = text.strip_prefix('\'') {
        let is_escaped = letter.starts_with('\\');
        let first = letter.chars().next().map_or(0, char::len_utf8);
        if is_escaped || letter.split_at(first).1.starts_with('\'') {
            return end_of(letter, '\'').map_or(one, |end| end + 1);
        }
    }
    one
}

/// Returns where a string ends, past its closing sign; an escaped one does not close it.
fn end_of(text: &str, closing: char) -> Option<usize> {
    let mut escaped = false;
    for (at, sign) in text.char_indices() {
        match sign {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            sign if sign == closing => return Some(at + sign.len_utf8()),
            _ => {}
        }
    }
    None
}

#[test]
fn paths_are_found_in_groups_and_not_in_comments_or_strings() {
    let text = "//! crate::shop\nuse crate::{card::{self, Cards}, deed::Deed};\n\
                let a = ('\"', '\\'', \"crate::plan \\\" crate::plan\"); // crate::alarm\n\
                let b: crate::standing::House<'a> = my_crate::reckon();\n";
    let source = Source::of("src/journal/line.rs".to_owned(), text.to_owned());
    let uses: Vec<(usize, String)> = source
        .uses("crate")
        .into_iter()
        .map(|used| (used.line, used.words.join("::")))
        .collect();
    let expected = [
        (2, "card::self"),
        (2, "card::Cards"),
        (2, "deed::Deed"),
        (4, "standing::House"),
    ];
    assert_eq!(uses, expected.map(|(line, path)| (line, path.to_owned())));
    assert_eq!((source.room.as_str(), source.depth), ("journal", 2));
}

#[test]
fn a_climb_is_measured_from_where_the_file_stands() {
    let text = "use super::super::plan;\nuse super::line;\n#[cfg(test)]\nmod tests {\n    use super::super::line;\n}\n";
    let source = Source::of("src/journal/line.rs".to_owned(), text.to_owned());
    assert_eq!(source.climbs(), [(1, 3), (2, 2), (5, 2)]);
}

#[test]
fn a_constant_without_a_doc_line_is_found() {
    let text = "/// Mm.\nconst A: f64 = 1.0;\n// Mm.\npub(super) const B: f64 = 1.0;\n\
                /// Mm.\n#[expect(x, reason = \"y\")]\npub const C: f64 = 1.0;\npub const fn d() {}\n";
    let source = Source::of("src/reckon/x.rs".to_owned(), text.to_owned());
    assert_eq!(source.constants_without_a_word(), [4]);
}
