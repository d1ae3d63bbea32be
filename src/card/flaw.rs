//! One wrong place in a card: where it stands, what is wrong, what was perhaps meant; and
//! which cards have one.

use std::collections::{BTreeMap, BTreeSet};

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

impl Flaw {
    /// Returns the flaw as it is told where its card is in use.
    pub fn told(&self) -> String {
        let Self {
            file, line, what, ..
        } = self;
        format!("card flawed: {file}:{line}: {what}; `knuckle check` tells all")
    }
}

/// The cards that were read only as far as their flaws let, each under its id with the flaw
/// that was found first. What only names something unknown is not among them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Flawed {
    /// The shop card.
    pub shop: Option<Flaw>,
    /// Figure cards by figure id.
    pub figures: BTreeMap<String, Flaw>,
    /// Material cards by material id.
    pub materials: BTreeMap<String, Flaw>,
    /// Checklists by id.
    pub checklists: BTreeMap<String, Flaw>,
    /// Files of the shop that the disk did not hand out, as paths inside its folder.
    pub unread: BTreeSet<String>,
}

impl Flawed {
    /// Returns the flaws, one for each card, the shop's first.
    pub fn all(&self) -> impl Iterator<Item = &Flaw> {
        let cards = self.figures.values().chain(self.checklists.values());
        self.shop.iter().chain(cards).chain(self.materials.values())
    }
}
