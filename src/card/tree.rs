//! A card as a tree of blocks, lists and leaves, before anybody asks what it means.
//! Answers for what cannot be read at all, and for the line and column of every part.
//!
//! The tree is read twice: once for its build, once for the words exactly as written, because
//! a lot number such as `24E10` must not turn into a quantity. A third reading, [`place`],
//! follows a trail into the text and fails at its end on purpose: the failure carries the
//! place.

use std::cell::Cell;
use std::fmt;

use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error, IgnoredAny, MapAccess, SeqAccess, Visitor,
};

use super::Flaw;

/// Longest card that is read, in bytes. The longest card of the trade is some 20 KiB; more than
/// this is not a card (*choice of this program*).
pub const LONGEST_CARD: usize = 128 * 1024;

/// Deepest nesting of blocks and lists. The deepest card has nine (*choice of this program*).
const DEEPEST: u8 = 24;

/// Most flaws that are given a place in one file (*choice of this program*).
const MOST_FLAWS: usize = 100;

/// Most bytes that are read again to find places in one file: each place costs one reading
/// (*choice of this program*). A card of 10 KiB gets all its places.
const MOST_REREADING: usize = 1024 * 1024;

/// Returns how many flaws of a text are given a place.
pub(super) fn most_flaws(text: &str) -> usize {
    MOST_FLAWS.min(MOST_REREADING / text.len().max(1))
}

/// A part of a card.
#[derive(Debug, Clone)]
pub(super) enum Tree {
    /// Words, a number, yes or no, or nothing.
    Leaf(Leaf),
    /// A list.
    List(Vec<Tree>),
    /// Fields and what they hold, in the order of the card; a field may stand there twice.
    Block(Vec<(Tree, Tree)>),
}

/// A single value.
#[derive(Debug, Clone)]
pub(super) struct Leaf {
    /// The words exactly as written, without quotes.
    pub(super) text: String,
    /// What YAML takes it for.
    pub(super) kind: Kind,
}

/// What YAML takes a single value for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Left empty.
    Nothing,
    /// `true` or `false`.
    Flag(bool),
    /// A number, without quotes.
    Number,
    /// Anything else.
    Words,
}

/// One step of a trail from the top of a card to a part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// To the entry of a list, from 0.
    Item(usize),
    /// To the name of a field, by its number in the block, from 0.
    Name(usize),
    /// To what a field holds, by its number in the block, from 0.
    Held(usize),
}

impl Tree {
    /// Reads a text as a tree.
    ///
    /// # Errors
    ///
    /// The one flaw at which reading stops: too long, too deep, blown up by repetition, not
    /// well formed, more than one document, or nothing in it.
    pub(super) fn read(file: &str, text: &str) -> Result<Self, Flaw> {
        let refuse = |line, column, what: String, hint: Option<&str>| Flaw {
            file: file.to_owned(),
            line,
            column,
            what,
            hint: hint.map(ToOwned::to_owned),
        };
        if LONGEST_CARD < text.len() {
            let what = format!("the file is longer than {} KiB", LONGEST_CARD / 1024);
            return Err(refuse(
                1,
                1,
                what,
                Some("a card is a page or two; split it"),
            ));
        }
        if let Some((line, column)) = no_text(text) {
            let what = "a sign here is not UTF-8 text".to_owned();
            return Err(refuse(line, column, what, Some("save the file as UTF-8")));
        }
        if let Some((line, column)) = steep(text) {
            return Err(refuse(line, column, too_deep(), Some(UNDEEPEN)));
        }
        let left = Cell::new(text.len().saturating_add(16));
        let stop = Cell::new(None);
        let build = Build {
            left: &left,
            stop: &stop,
            depth: 0,
        };
        let mut tree = build
            .deserialize(serde_yaml::Deserializer::from_str(text))
            .map_err(|error| {
                let (line, column) = place_of(&error, text);
                let (what, hint) = match stop.get() {
                    Some(stop) => stop.words(),
                    None => unreadable(&error, text),
                };
                refuse(line, column, what, hint)
            })?;
        if matches!(&tree, Self::Leaf(leaf) if leaf.kind == Kind::Nothing) {
            let hint = Some("fill it in, or remove it");
            return Err(refuse(1, 1, "the file holds no card".to_owned(), hint));
        }
        Fill(&mut tree)
            .deserialize(serde_yaml::Deserializer::from_str(text))
            .map_err(|error| {
                let (line, column) = place_of(&error, text);
                let (what, hint) = unreadable(&error, text);
                refuse(line, column, what, hint)
            })?;
        Ok(tree)
    }
}

/// Where a sign stands that came of bytes that are no text.
fn no_text(text: &str) -> Option<(usize, usize)> {
    let (before, _) = text.split_once(char::REPLACEMENT_CHARACTER)?;
    let last = before.rsplit('\n').next().unwrap_or_default();
    Some((before.matches('\n').count() + 1, last.chars().count() + 1))
}

/// Returns line and column, from 1, of the part at the end of a trail.
pub(super) fn place(text: &str, trail: &[Step]) -> (usize, usize) {
    match Follow(trail).deserialize(serde_yaml::Deserializer::from_str(text)) {
        Err(error) => place_of(&error, text),
        Ok(()) => (1, 1),
    }
}

/// Returns the place that an error of the YAML library names.
fn place_of(error: &serde_yaml::Error, text: &str) -> (usize, usize) {
    if let Some(at) = error.location() {
        return (at.line(), at.column());
    }
    // The library names no place for a second document; it begins at the last marker.
    let marker = text.lines().enumerate();
    let last = marker.filter(|(_, line)| line.starts_with("---")).last();
    (last.map_or(1, |(number, _)| number + 1), 1)
}

/// Returns where flow brackets nest past [`DEEPEST`], by their bare count.
///
/// The YAML scanner needs time that grows with the square of open brackets, so that a short
/// text could hold it for minutes. Brackets inside quotes count too; no card has so many.
fn steep(text: &str) -> Option<(usize, usize)> {
    let mut open = 0_usize;
    for (number, line) in text.lines().enumerate() {
        for (column, sign) in line.chars().enumerate() {
            match sign {
                '[' | '{' => open += 1,
                ']' | '}' => open = open.saturating_sub(1),
                _ => {}
            }
            if usize::from(DEEPEST) < open {
                return Some((number + 1, column + 1));
            }
        }
    }
    None
}

const UNDEEPEN: &str = "check for brackets or dashes that were left open";

fn too_deep() -> String {
    format!("blocks are nested deeper than {DEEPEST} levels")
}

/// Returns the trouble of the YAML library in words for the bench.
fn unreadable(error: &serde_yaml::Error, text: &str) -> (String, Option<&'static str>) {
    let said = error.to_string();
    let (line, column) = place_of(error, text);
    let sign = text
        .lines()
        .nth(line.saturating_sub(1))
        .and_then(|line| line.chars().nth(column.saturating_sub(1)));
    let has = |words: &str| said.contains(words);
    let (what, hint) = if has("more than one document") {
        ("a second card starts here", "keep one card in one file")
    } else if has("mapping values are not allowed") {
        (
            "this colon starts a field in the middle of a text",
            "put the whole text in quotes, or check the spaces at the start of the line",
        )
    } else if has("cannot start any token") && sign == Some('\t') {
        ("a tab stands here", "indent with spaces only")
    } else if has("cannot start any token") {
        (
            "a text cannot start with this sign",
            "put the text in quotes",
        )
    } else if has("unexpected end of stream") || has("found unexpected document indicator") {
        (
            "a quoted text above is not closed",
            "add the missing quote mark",
        )
    } else if has("could not find expected ':'") {
        (
            "the line before this one is neither a field nor a list entry",
            "write it as `name: value`, or start it with `- `",
        )
    } else if has("expected ',' or") {
        ("a bracket is not closed", "add the missing `]` or `}`")
    } else if has("did not find expected key") || has("expected <block end>") {
        (
            "this line does not fit in with the lines above",
            "give it as many spaces at its start as its neighbours, and put text with quote marks in it in quotes",
        )
    } else if has("did not find expected '-' indicator") {
        (
            "this line is not an entry of the list above",
            "start it with `- `, or give it fewer spaces at its start",
        )
    } else if has("unknown anchor") {
        ("a text cannot start with `*`", "put the text in quotes")
    } else if has("repetition limit exceeded") {
        return Stop::Repeats.words();
    } else if has("recursion limit exceeded") {
        return (too_deep(), Some(UNDEEPEN));
    } else {
        let bare = said.split(" at line ").next().unwrap_or_default();
        return (
            format!("the text is not well-formed YAML ({bare})"),
            Some("compare the line with its neighbours"),
        );
    };
    (what.to_owned(), Some(hint))
}

/// Why building a tree was given up.
#[derive(Debug, Clone, Copy)]
enum Stop {
    Deep,
    Repeats,
    Tagged,
}

impl Stop {
    fn words(self) -> (String, Option<&'static str>) {
        match self {
            Self::Deep => (too_deep(), Some(UNDEEPEN)),
            Self::Repeats => (
                "parts of the card are repeated by reference too often".to_owned(),
                Some("write them out instead of using `&` and `*`"),
            ),
            Self::Tagged => (
                "a text cannot start with `!`".to_owned(),
                Some("put the text in quotes"),
            ),
        }
    }
}

/// Builds a tree, with an eye on how large and how deep it grows.
#[derive(Clone, Copy)]
struct Build<'b> {
    left: &'b Cell<usize>,
    stop: &'b Cell<Option<Stop>>,
    depth: u8,
}

impl Build<'_> {
    fn give_up<E: Error>(self, stop: Stop) -> E {
        self.stop.set(Some(stop));
        E::custom("given up")
    }

    fn deeper<E: Error>(self) -> Result<Self, E> {
        if DEEPEST <= self.depth {
            return Err(self.give_up(Stop::Deep));
        }
        Ok(Self {
            depth: self.depth + 1,
            ..self
        })
    }
}

impl Tree {
    fn leaf(kind: Kind) -> Self {
        let text = String::new();
        Self::Leaf(Leaf { text, kind })
    }
}

impl<'de> DeserializeSeed<'de> for Build<'_> {
    type Value = Tree;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Tree, D::Error> {
        // A part written out takes at least one byte of text, so a tree with more parts than
        // bytes can only come from references to references.
        match self.left.get().checked_sub(1) {
            Some(left) => self.left.set(left),
            None => return Err(self.give_up(Stop::Repeats)),
        }
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Build<'_> {
    type Value = Tree;

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("a block, a list or a value")
    }

    fn visit_unit<E: Error>(self) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Nothing))
    }

    fn visit_none<E: Error>(self) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Nothing))
    }

    fn visit_bool<E: Error>(self, flag: bool) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Flag(flag)))
    }

    fn visit_u64<E: Error>(self, _: u64) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Number))
    }

    fn visit_i64<E: Error>(self, _: i64) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Number))
    }

    fn visit_u128<E: Error>(self, _: u128) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Number))
    }

    fn visit_i128<E: Error>(self, _: i128) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Number))
    }

    fn visit_f64<E: Error>(self, _: f64) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Number))
    }

    fn visit_str<E: Error>(self, _: &str) -> Result<Tree, E> {
        Ok(Tree::leaf(Kind::Words))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Tree, A::Error> {
        let inner = self.deeper()?;
        let mut list = Vec::new();
        while let Some(item) = seq.next_element_seed(inner)? {
            list.push(item);
        }
        Ok(Tree::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Tree, A::Error> {
        let inner = self.deeper()?;
        let mut block = Vec::new();
        while let Some(name) = map.next_key_seed(inner)? {
            block.push((name, map.next_value_seed(inner)?));
        }
        Ok(Tree::Block(block))
    }

    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<Tree, A::Error> {
        Err(self.give_up(Stop::Tagged))
    }
}

/// Fills the words exactly as written into a tree that has its build already.
struct Fill<'t>(&'t mut Tree);

impl<'de> DeserializeSeed<'de> for Fill<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        match self.0 {
            Tree::Leaf(_) => from.deserialize_str(self),
            Tree::List(_) | Tree::Block(_) => from.deserialize_any(self),
        }
    }
}

impl<'de> Visitor<'de> for Fill<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("the same card as before")
    }

    fn visit_str<E: Error>(self, written: &str) -> Result<(), E> {
        if let Tree::Leaf(leaf) = self.0 {
            written.clone_into(&mut leaf.text);
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        if let Tree::List(list) = self.0 {
            for item in list {
                seq.next_element_seed(Fill(item))?;
            }
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        if let Tree::Block(block) = self.0 {
            for (name, held) in block {
                map.next_key_seed(Fill(name))?;
                map.next_value_seed(Fill(held))?;
            }
        }
        Ok(())
    }
}

/// Follows a trail into a text and fails at its end, so that the error names the place.
struct Follow<'s>(&'s [Step]);

impl<'de> DeserializeSeed<'de> for Follow<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Follow<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("to fail at the end of the trail")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        if let Some((Step::Item(number), rest)) = self.0.split_first() {
            for _ in 0..*number {
                seq.next_element::<IgnoredAny>()?;
            }
            seq.next_element_seed(Follow(rest))?;
        }
        Err(A::Error::custom("here"))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let (number, rest, is_name) = match self.0.split_first() {
            Some((Step::Name(number), rest)) => (*number, rest, true),
            Some((Step::Held(number), rest)) => (*number, rest, false),
            _ => return Err(A::Error::custom("here")),
        };
        for _ in 0..number {
            map.next_entry::<IgnoredAny, IgnoredAny>()?;
        }
        if is_name {
            map.next_key_seed(Follow(rest))?;
        } else {
            map.next_key::<IgnoredAny>()?;
            map.next_value_seed(Follow(rest))?;
        }
        Err(A::Error::custom("here"))
    }
}
