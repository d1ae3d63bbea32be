//! One wrong place in a card: where it stands, what is wrong, what was perhaps meant.

/// One flaw of a card, with its place. Lines and columns count from 1; a column counts
/// characters, not bytes.
///
/// Shown as `materials/x.yaml:12:3: unknown field pot_lif; did you mean pot_life?`, with the
/// words of the card in back-quotes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
#[error("{file}:{line}:{column}: {what}{}", hint.as_ref().map(|hint| format!("; {hint}")).unwrap_or_default())]
pub struct Flaw {
    /// The file, as a path inside the shop's folder.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong there.
    pub what: String,
    /// What to do, or what was perhaps meant.
    pub hint: Option<String>,
}
