//! Words that a journal says again and again: who, which step, which caution.

use std::borrow::Borrow;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// A word whose copies share one place in memory. In a shop of two hundred figures the same
/// few names stand beside every fact.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Word(Arc<str>);

impl Word {
    /// Returns the word.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Deref for Word {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Word {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl From<&str> for Word {
    fn from(word: &str) -> Self {
        Self(word.into())
    }
}

impl From<&String> for Word {
    fn from(word: &String) -> Self {
        word.as_str().into()
    }
}

impl From<String> for Word {
    fn from(word: String) -> Self {
        word.as_str().into()
    }
}

impl PartialEq<str> for Word {
    fn eq(&self, other: &str) -> bool {
        **self == *other
    }
}

impl PartialEq<&str> for Word {
    fn eq(&self, other: &&str) -> bool {
        **self == **other
    }
}

impl PartialEq<String> for Word {
    fn eq(&self, other: &String) -> bool {
        **self == **other
    }
}

impl PartialEq<Word> for String {
    fn eq(&self, other: &Word) -> bool {
        **self == **other
    }
}

impl fmt::Display for Word {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self)
    }
}

impl fmt::Debug for Word {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&**self, f)
    }
}
