//! The fields of one block under reading. What was never asked for is unknown; what was needed
//! and is not there is missing. Both are noted when the block is closed.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::de::DeserializeOwned;

use super::super::near::near_miss;
use super::super::tree::{Leaf, Step, Tree};
use super::node::{Node, listed, once, shown};
use super::within::Within;

/// The fields of one block under reading.
#[derive(Debug)]
pub(super) struct Fields<'t> {
    node: Node<'t>,
    asked: Vec<&'static str>,
    missing: Vec<&'static str>,
}

impl<'t> Fields<'t> {
    /// Returns the fields of a block, none asked for yet.
    pub(super) fn of(node: Node<'t>) -> Self {
        Self {
            node,
            asked: Vec::new(),
            missing: Vec::new(),
        }
    }

    /// Returns the block itself, for slips that belong to no single field.
    pub(super) fn block(&self) -> &Node<'t> {
        &self.node
    }

    /// Returns the part that a field holds; a blank field counts as absent.
    pub(super) fn may(&mut self, name: &'static str) -> Option<Node<'t>> {
        self.asked.push(name);
        self.node.at(name)
    }

    /// Returns the part that a field must hold; its absence is a slip.
    pub(super) fn need(&mut self, name: &'static str) -> Option<Node<'t>> {
        let found = self.may(name);
        if found.is_none() {
            self.missing.push(name);
        }
        found
    }

    /// Notes that a field is missing that only some cards need.
    pub(super) fn lacks(&mut self, name: &'static str) {
        self.missing.push(name);
    }

    /// Notes unknown, doubled and missing fields.
    pub(super) fn close(self) {
        let Self {
            node,
            asked,
            missing,
        } = self;
        let Tree::Block(block) = node.tree else {
            return;
        };
        let absent: Vec<&str> = asked
            .iter()
            .copied()
            .filter(|name| node.at(name).is_none())
            .collect();
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        let mut meant: Vec<&str> = Vec::new();
        for (number, (key, _)) in block.iter().enumerate() {
            let key_node = node.inner(Step::Name(number), key, "name");
            let Tree::Leaf(Leaf { text, .. }) = key else {
                key_node.slip("a field's name must be a word", None);
                continue;
            };
            if seen.insert(text, number).is_some() {
                let hint = "keep one of them".to_owned();
                key_node.slip(format!("`{}` stands here twice", shown(text)), Some(hint));
            } else if !asked.contains(&text.as_str()) {
                let near = near_miss(text, absent.iter().copied());
                meant.extend(near);
                let hint = near.map_or_else(
                    || free_fields(&asked),
                    |name| format!("did you mean `{name}`?"),
                );
                key_node.slip(format!("unknown field `{}`", shown(text)), Some(hint));
            }
        }
        for name in missing.into_iter().filter(|name| !meant.contains(name)) {
            let (what, hint) = if seen.contains_key(name) && node.at(name).is_none() {
                (
                    format!("`{name}` was left blank"),
                    format!("write something after `{name}:`"),
                )
            } else {
                (
                    format!("missing field `{name}`"),
                    format!("add `{name}: …` to this block"),
                )
            };
            node.slip(what, Some(hint));
        }
    }

    /// Reads a needed line of text.
    pub(super) fn line(&mut self, name: &'static str, most: usize) -> String {
        self.need(name)
            .map(|node| node.line(most))
            .unwrap_or_default()
    }

    /// Reads a line of text that may be absent or empty, as an empty one.
    pub(super) fn note(&mut self, name: &'static str, most: usize) -> String {
        self.maybe_line(name, most).unwrap_or_default()
    }

    /// Reads a line of text that may be absent.
    pub(super) fn maybe_line(&mut self, name: &'static str, most: usize) -> Option<String> {
        let node = self.may(name)?;
        let empty = matches!(node.tree, Tree::Leaf(leaf) if leaf.text.is_empty());
        if empty {
            Some(String::new())
        } else {
            Some(node.line(most))
        }
    }

    /// Reads a needed short name.
    pub(super) fn id(&mut self) -> String {
        self.need("id").map(|node| node.id()).unwrap_or_default()
    }

    /// Reads a needed number.
    pub(super) fn number(&mut self, name: &'static str, within: &Within) -> f64 {
        self.need(name).map_or(0.0, |node| node.number(within))
    }

    /// Reads a number that may be absent.
    pub(super) fn maybe_number(&mut self, name: &'static str, within: &Within) -> Option<f64> {
        self.may(name).map(|node| node.number(within))
    }

    /// Reads a pair of numbers that may be absent.
    pub(super) fn maybe_pair(&mut self, name: &'static str, within: &Within) -> Option<[f64; 2]> {
        self.may(name).map(|node| node.pair(within))
    }

    /// Reads yes or no; absent means no.
    pub(super) fn flag(&mut self, name: &'static str) -> bool {
        self.may(name).is_some_and(|node| node.flag())
    }

    /// Reads a needed word of a closed list; `stand_in` after a slip.
    pub(super) fn word<T: DeserializeOwned>(&mut self, name: &'static str, stand_in: T) -> T {
        self.need(name)
            .and_then(|node| node.word())
            .unwrap_or(stand_in)
    }

    /// Reads a word of a closed list that may be absent.
    pub(super) fn maybe_word<T: DeserializeOwned>(&mut self, name: &'static str) -> Option<T> {
        self.may(name).and_then(|node| node.word())
    }

    /// Reads a list of words of a closed list, each once; absent means none.
    pub(super) fn words<T: DeserializeOwned>(&mut self, name: &'static str) -> Vec<T> {
        let words = self.each(name, Node::word::<T>);
        if let Some(list) = self.node.at(name) {
            once(&list.items(), |item| item.written().to_owned());
        }
        words.into_iter().flatten().collect()
    }

    /// Reads a list of lines; absent means none.
    pub(super) fn lines(&mut self, name: &'static str, most: usize) -> Vec<String> {
        self.each(name, |node| node.line(most))
    }

    /// Reads a list; absent means none.
    pub(super) fn each<T>(&mut self, name: &'static str, read: impl Fn(&Node<'t>) -> T) -> Vec<T> {
        let Some(node) = self.may(name) else {
            return Vec::new();
        };
        if !matches!(node.tree, Tree::List(_)) {
            let what = format!("`{name}` must be a list, not {}", node.sort());
            node.slip(
                what,
                Some("write `[one, two]`, or one entry on a line after `- `".to_owned()),
            );
        }
        node.items().iter().map(read).collect()
    }

    /// Reads a block that may be absent.
    pub(super) fn maybe<T>(
        &mut self,
        name: &'static str,
        read: impl FnOnce(&Node<'t>) -> T,
    ) -> Option<T> {
        self.may(name).map(|node| read(&node))
    }

    /// Reads a date that may be absent.
    pub(super) fn date(&mut self, name: &'static str) -> Option<NaiveDate> {
        self.may(name).and_then(|node| node.date())
    }

    /// Notes a slip at each entry of a list whose `field` was used by an entry before.
    pub(super) fn unique(&self, list: &str, field: &str) {
        let named: Vec<Node<'t>> = self
            .node
            .all(list)
            .iter()
            .filter_map(|item| item.at(field))
            .collect();
        once(&named, |node| node.written().to_owned());
    }
}

/// Returns what to do about a field that nothing is near to.
fn free_fields(asked: &[&str]) -> String {
    if asked.len() <= 10 {
        format!("remove it; this block can have {}", listed(asked))
    } else {
        "remove it, or compare with a card of the sample shop".to_owned()
    }
}
