//! A part of a card under reading: what it holds, where it stands, and the list into which its
//! slips go. Asking never stops at a slip; it notes it and hands back a stand-in, so that one
//! reading finds all flaws. A card with slips is handed out together with its flaws only.

use std::cell::RefCell;
use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime};
use serde::de::DeserializeOwned;

use super::super::near::{did_you_mean, word, words_of};
use super::super::tree::{Kind, Leaf, Step, Tree, most_flaws, place};
use super::super::{Flaw, Hour, Span};
use super::fields::Fields;
use super::within::Within;

/// The slips found in one card, in the order found.
#[derive(Debug, Default)]
pub(super) struct Slips(RefCell<Vec<Slip>>);

#[derive(Debug)]
struct Slip {
    trail: Vec<Step>,
    what: String,
    hint: Option<String>,
}

impl Slips {
    /// Returns whether nothing has slipped.
    pub(super) fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    /// Returns the slip that was found first, with its place.
    pub(super) fn first(&self, file: &str, text: &str) -> Option<Flaw> {
        let slips = self.0.borrow();
        slips.first().map(|slip| slip.placed(file, text))
    }

    /// Returns a card without those of its fields in which something slipped.
    pub(super) fn left_out_of(&self, tree: &Tree) -> Tree {
        let Tree::Block(block) = tree else {
            return Tree::Block(Vec::new());
        };
        let slips = self.0.borrow();
        let slipped = |field: usize| {
            let mut firsts = slips.iter().filter_map(|slip| slip.trail.first());
            firsts.any(|step| matches!(step, Step::Name(at) | Step::Held(at) if *at == field))
        };
        let whole = block.iter().enumerate();
        let whole = whole.filter(|(field, _)| !slipped(*field));
        Tree::Block(whole.map(|(_, held)| held.clone()).collect())
    }

    /// Turns slips into flaws with places, in the order of the text.
    ///
    /// Past [`most_flaws`] the rest is only counted, in one more flaw.
    pub(super) fn into_flaws(self, file: &str, text: &str) -> Vec<Flaw> {
        let slips = self.0.into_inner();
        let most = most_flaws(text);
        let rest = slips.len().saturating_sub(most);
        let mut flaws: Vec<Flaw> = slips
            .into_iter()
            .take(most)
            .map(|slip| slip.placed(file, text))
            .collect();
        flaws.sort();
        if 0 < rest {
            flaws.push(Flaw {
                file: file.to_owned(),
                line: flaws.last().map_or(1, |flaw| flaw.line),
                column: 1,
                what: format!("{rest} more flaws are in this file"),
                hint: Some("mend these first, then check again".to_owned()),
            });
        }
        flaws
    }
}

impl Slip {
    fn placed(&self, file: &str, text: &str) -> Flaw {
        let (line, column) = place(text, &self.trail);
        Flaw {
            file: file.to_owned(),
            line,
            column,
            what: self.what.clone(),
            hint: self.hint.clone(),
        }
    }
}

/// A part of a card.
#[derive(Debug, Clone)]
pub(super) struct Node<'t> {
    pub(super) tree: &'t Tree,
    trail: Vec<Step>,
    /// The field it stands in, for messages.
    name: &'t str,
    slips: &'t Slips,
}

impl<'t> Node<'t> {
    /// Returns the whole card as a part.
    pub(super) fn top(tree: &'t Tree, slips: &'t Slips) -> Self {
        Self {
            tree,
            trail: Vec::new(),
            name: "card",
            slips,
        }
    }

    pub(super) fn inner(&self, step: Step, tree: &'t Tree, name: &'t str) -> Self {
        let mut trail = self.trail.clone();
        trail.push(step);
        Self {
            tree,
            trail,
            name,
            slips: self.slips,
        }
    }

    /// Notes a slip at this part.
    pub(super) fn slip(&self, what: impl Into<String>, hint: Option<String>) {
        self.slips.0.borrow_mut().push(Slip {
            trail: self.trail.clone(),
            what: what.into(),
            hint,
        });
    }

    /// Returns the words written here, or nothing for a block, a list or an empty place.
    pub(super) fn written(&self) -> &'t str {
        match self.tree {
            Tree::Leaf(leaf) if leaf.kind != Kind::Nothing => leaf.text.trim_end(),
            _ => "",
        }
    }

    /// Returns the part that a field holds, without asking for it; blank fields hold nothing.
    pub(super) fn at(&self, name: &str) -> Option<Self> {
        let Tree::Block(block) = self.tree else {
            return None;
        };
        block.iter().enumerate().find_map(|(number, (key, held))| {
            let Tree::Leaf(Leaf { text, .. }) = key else {
                return None;
            };
            (text == name && !is_blank(held))
                .then(|| self.inner(Step::Held(number), held, text.as_str()))
        })
    }

    /// Returns whether this block has a field that is none of these.
    pub(super) fn has_besides(&self, names: &[&str]) -> bool {
        let Tree::Block(block) = self.tree else {
            return false;
        };
        let mut keys = block.iter().map(|(key, _)| key);
        keys.any(|key| !matches!(key, Tree::Leaf(leaf) if names.contains(&leaf.text.as_str())))
    }

    /// Returns the entries of the list that a field holds, without asking for it.
    pub(super) fn all(&self, name: &str) -> Vec<Self> {
        self.at(name).map(|list| list.items()).unwrap_or_default()
    }

    /// Returns the entries of this list; of anything else none.
    pub(super) fn items(&self) -> Vec<Self> {
        let Tree::List(list) = self.tree else {
            return Vec::new();
        };
        let entries = list.iter().enumerate();
        entries
            .map(|(number, item)| self.inner(Step::Item(number), item, self.name))
            .collect()
    }

    /// Reads the fields of this block: `read` asks for each by name, and what it never asked
    /// for is a slip.
    pub(super) fn fields<T>(&self, read: impl FnOnce(&mut Fields<'t>) -> T) -> T {
        if !matches!(self.tree, Tree::Block(_)) {
            let what = format!("`{}` must hold fields, not {}", self.name, self.sort());
            self.slip(what, Some("write them as `name: value`".to_owned()));
        }
        let mut fields = Fields::of(self.clone());
        let card = read(&mut fields);
        fields.close();
        card
    }

    /// Says in a word what stands here.
    pub(super) fn sort(&self) -> &'static str {
        match self.tree {
            Tree::Leaf(leaf) if leaf.kind == Kind::Nothing => "nothing",
            Tree::Leaf(_) => "a single value",
            Tree::List(_) => "a list",
            Tree::Block(_) => "a block of fields",
        }
    }

    fn leaf(&self, wanted: &str) -> Option<&'t Leaf> {
        match self.tree {
            Tree::Leaf(leaf) if leaf.kind != Kind::Nothing => Some(leaf),
            _ => {
                let what = format!("`{}` must be {wanted}, not {}", self.name, self.sort());
                self.slip(what, None);
                None
            }
        }
    }

    /// Reads one line of text of at most `most` characters.
    pub(super) fn line(&self, most: usize) -> String {
        let Some(leaf) = self.leaf("a line of text") else {
            return String::new();
        };
        let text = leaf.text.trim_end();
        let name = self.name;
        let long = text.chars().count();
        if text.trim().is_empty() {
            self.slip(format!("`{name}` is empty"), Some("fill it in".to_owned()));
        } else if let Some(sign) = text.chars().find(|sign| sign.is_control()) {
            // A control sign could also steer the terminal that shows the card.
            let what = match sign {
                '\n' => format!("`{name}` runs over several lines"),
                _ => format!(
                    "`{name}` holds a sign that cannot be shown (code {:#x})",
                    u32::from(sign)
                ),
            };
            self.slip(what, Some("write it on one line".to_owned()));
        } else if most < long {
            let what = format!("`{name}` has {long} characters; at most {most} can be read there");
            self.slip(what, Some("say it shorter".to_owned()));
        }
        text.to_owned()
    }

    /// Reads a short name: small letters, digits and hyphens, at most 40, fit for a folder.
    pub(super) fn id(&self) -> String {
        self.short_name(|sign| sign.is_ascii_lowercase(), "small letters")
    }

    /// Reads a short name that may also have capitals, such as the joint `J3`.
    pub(super) fn mark(&self) -> String {
        self.short_name(|sign| sign.is_ascii_alphabetic(), "letters")
    }

    fn short_name(&self, letter: fn(char) -> bool, letters: &str) -> String {
        let before = self.slips.0.borrow().len();
        let id = self.line(40);
        let fits = |sign: char| letter(sign) || sign.is_ascii_digit() || sign == '-';
        let clean = self.slips.0.borrow().len() == before;
        if clean && !(id.chars().all(fits) && !id.starts_with('-') && !id.ends_with('-')) {
            let what = format!("`{id}` is not a short name");
            let hint = format!("use {letters}, digits and hyphens inside, such as `body-near`");
            self.slip(what, Some(hint));
        }
        id
    }

    /// Reads a number within a range; a stand-in of 0 after a slip.
    pub(super) fn number(&self, within: &Within) -> f64 {
        let name = self.name;
        let Some(leaf) = self.leaf("a number") else {
            return 0.0;
        };
        let parsed = match leaf.kind {
            Kind::Number => leaf.text.parse::<f64>().ok().filter(|n| n.is_finite()),
            _ => None,
        };
        let Some(number) = parsed else {
            self.slip(
                format!("`{name}` must be a number, not `{}`", shown(&leaf.text)),
                number_hint(&leaf.text, within.unit),
            );
            return 0.0;
        };
        if !within.holds(number) {
            let unit = within.unit_after();
            self.slip(
                format!("`{name}` is {number}{unit}; it must be {within}"),
                None,
            );
        }
        number
    }

    /// Reads a whole number from `lo` to `hi`; a stand-in of 0 after a slip.
    pub(super) fn whole(&self, lo: u32, hi: u32) -> u32 {
        let name = self.name;
        let Some(leaf) = self.leaf("a whole number") else {
            return 0;
        };
        let number = match leaf.kind {
            Kind::Number => leaf.text.parse::<u32>().ok(),
            _ => None,
        };
        match number {
            Some(number) if lo <= number && number <= hi => number,
            _ => {
                let text = shown(&leaf.text);
                self.slip(
                    format!("`{name}` is `{text}`; it must be a whole number from {lo} to {hi}"),
                    None,
                );
                0
            }
        }
    }

    /// Reads two numbers, the lower one first.
    pub(super) fn pair(&self, within: &Within) -> [f64; 2] {
        let items = self.items();
        let [low, high] = items.as_slice() else {
            let what = format!("`{}` must be two numbers", self.name);
            let hint = format!("write `[lowest, highest]`{}", within.unit_in());
            self.slip(what, Some(hint));
            return [0.0, 0.0];
        };
        let (lo, hi) = (low.number(within), high.number(within));
        if hi < lo {
            let what = format!("`{}` runs from {lo} down to {hi}", self.name);
            self.slip(what, Some("write the lower number first".to_owned()));
        }
        [lo, hi]
    }

    /// Reads yes or no.
    pub(super) fn flag(&self) -> bool {
        match self.leaf("`true` or `false`").map(|leaf| (leaf.kind, leaf)) {
            Some((Kind::Flag(flag), _)) => flag,
            Some((_, leaf)) => {
                let text = shown(&leaf.text);
                let what = format!("`{}` must be `true` or `false`, not `{text}`", self.name);
                self.slip(what, None);
                false
            }
            None => false,
        }
    }

    /// Reads a word of a closed list; none after a slip.
    pub(super) fn word<T: DeserializeOwned>(&self) -> Option<T> {
        let leaf = self.leaf("a word")?;
        let found = word(&leaf.text);
        if found.is_none() {
            let known = words_of::<T>();
            let hint = did_you_mean(&leaf.text, known.iter().copied())
                .or_else(|| Some(format!("it can be {}", listed(known))));
            let text = shown(&leaf.text);
            self.slip(format!("`{}` cannot be `{text}`", self.name), hint);
        }
        found
    }

    /// Reads a date such as `2031-03-28`.
    pub(super) fn date(&self) -> Option<NaiveDate> {
        let leaf = self.leaf("a date")?;
        let date = NaiveDate::parse_from_str(&leaf.text, "%Y-%m-%d").ok();
        let found = date.filter(|_| leaf.text.len() == 10);
        if found.is_none() {
            let text = shown(&leaf.text);
            let what = format!(
                "`{}` is `{text}`, which is not a day of the calendar",
                self.name
            );
            self.slip(
                what,
                Some("write year-month-day, such as `2031-03-28`".to_owned()),
            );
        }
        found
    }

    /// Reads the hours of a day, such as `07:30-17:30`, or `closed`.
    pub(super) fn hours(&self) -> Hour {
        let Some(leaf) = self.leaf("hours") else {
            return Hour(None);
        };
        let text = leaf.text.trim();
        if text == "closed" {
            return Hour(None);
        }
        let time = |part: &str| NaiveTime::parse_from_str(part.trim(), "%H:%M").ok();
        let ends = text.split_once('-');
        let span = ends.and_then(|(from, to)| Some((time(from)?, time(to)?)));
        let hint = "write `07:30-17:30` with the quotes, or `closed`".to_owned();
        match span {
            Some((from, to)) if from < to => Hour(Some(Span { from, to })),
            Some(_) => {
                let what = format!("`{}` closes before it opens (`{text}`)", self.name);
                self.slip(what, Some(hint));
                Hour(None)
            }
            None => {
                let text = shown(text);
                let what = format!("`{}` is `{text}`, which is not opening hours", self.name);
                self.slip(what, Some(hint));
                Hour(None)
            }
        }
    }

    /// Notes a slip unless the name written here is one of `known`; an empty one was noted
    /// before.
    pub(super) fn known_as<'k>(
        &self,
        sort: &str,
        known: impl IntoIterator<Item = &'k str>,
    ) -> bool {
        let known: BTreeSet<&str> = known.into_iter().collect();
        let known: Vec<&str> = known.into_iter().collect();
        let name = self.written();
        if name.is_empty() || known.contains(&name) {
            return true;
        }
        let hint = did_you_mean(name, known.iter().copied()).or_else(|| match known.as_slice() {
            [] => Some("there is none yet; add it first".to_owned()),
            few if few.len() <= 8 => Some(format!("there is {}", listed(few))),
            _ => Some(format!("add the {sort}, or correct the name")),
        });
        self.slip(format!("no {sort} is called `{}`", shown(name)), hint);
        false
    }
}

/// Returns whether a field was left blank.
fn is_blank(tree: &Tree) -> bool {
    matches!(tree, Tree::Leaf(leaf) if leaf.kind == Kind::Nothing)
}

/// Returns words as they may stand in a message: short, and without control signs.
pub(super) fn shown(words: &str) -> String {
    let clean = words.chars().filter(|sign| !sign.is_control());
    let mut short: String = clean.clone().take(40).collect();
    if 40 < clean.count() {
        short.push('…');
    }
    short
}

/// Returns a list in words: "`a`, `b` or `c`".
pub(super) fn listed(words: &[&str]) -> String {
    let quoted: Vec<String> = words
        .iter()
        .map(|word| format!("`{}`", shown(word)))
        .collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// Returns what to do when a number was wanted and something near it was written.
fn number_hint(text: &str, unit: &str) -> Option<String> {
    let with_point = text.replace(',', ".");
    if text.contains(',') && with_point.parse::<f64>().is_ok() {
        return Some(format!("write `{with_point}` with a point"));
    }
    if text.trim().parse::<f64>().is_ok_and(f64::is_finite) {
        return Some("write it plainly, without quotes and without noughts in front".to_owned());
    }
    let digits: String = text
        .chars()
        .take_while(|sign| sign.is_ascii_digit() || matches!(sign, '.' | '-'))
        .collect();
    let is_number = !digits.is_empty() && digits.parse::<f64>().is_ok();
    is_number.then(|| match unit {
        "" => format!("write the number alone: `{digits}`"),
        _ => format!("write the number alone, in {unit}"),
    })
}

/// Notes a slip at each part whose key a part before has.
pub(super) fn once(nodes: &[Node<'_>], key: impl Fn(&Node<'_>) -> String) {
    let mut seen = BTreeSet::new();
    for node in nodes {
        let key = key(node);
        if !key.is_empty() && !seen.insert(key) {
            let what = format!("`{}` is used a second time", shown(node.written()));
            node.slip(what, Some("give each its own".to_owned()));
        }
    }
}
