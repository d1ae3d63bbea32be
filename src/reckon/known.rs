//! How surely a figure is known, so that a value from memory is never shown as a fact.

/// Where a figure of a table comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// Read in the source itself or in a copy of its page.
    Read,
    /// Read in a text that quotes the source, or computed from figures read there.
    Quoted,
    /// Written from memory; only a preset until someone reads the source.
    Recalled,
}

impl Known {
    /// Returns whether the figure was read somewhere and may be shown as the source's own.
    pub fn is_read(self) -> bool {
        self != Self::Recalled
    }

    /// Returns the words that stand behind the figure on the screen.
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read in the source",
            Self::Quoted => "quoted by another text",
            Self::Recalled => "preset, confirm on the data sheet",
        }
    }
}
