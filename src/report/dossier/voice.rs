//! Who is named how on a page that may leave the shop, and journal lines in those words.

use std::borrow::Cow;

use crate::card::{Cards, Figure, Mark, PeopleShown, Person};
use crate::deed::Line;
use crate::report::tell::sentence;

/// Says people and lines as a report wants them.
#[derive(Debug)]
pub(super) struct Voice<'a> {
    /// The cards, with the people on them renamed as they are shown.
    cards: Cow<'a, Cards>,
    /// The figure that is told of.
    figure: Option<&'a Figure>,
    people: &'a [Person],
    names: PeopleShown,
}

/// What a person without a trade on the card is called outward.
const WORKER: &str = "worker";

impl<'a> Voice<'a> {
    /// Returns the voice of a shop that tells of a figure.
    pub(super) fn new(cards: &'a Cards, figure: Option<&'a Figure>, names: PeopleShown) -> Self {
        let people = cards.shop.people.as_slice();
        let mut voice = Self {
            cards: Cow::Borrowed(cards),
            figure,
            people,
            names,
        };
        if names == PeopleShown::Outward {
            let roles: Vec<String> = people.iter().map(|one| voice.who(&one.id)).collect();
            let mut renamed = cards.clone();
            for (person, role) in renamed.shop.people.iter_mut().zip(roles) {
                person.name = role;
            }
            voice.cards = Cow::Owned(renamed);
        }
        voice
    }

    /// Returns the cards, their people named as they are shown.
    pub(super) fn cards(&self) -> &Cards {
        &self.cards
    }

    /// Returns how people are named here.
    pub(super) fn names(&self) -> PeopleShown {
        self.names
    }

    /// Returns a person as shown: the name, or the trade; of two with one trade `joiner 2`.
    pub(super) fn who(&self, id: &str) -> String {
        let Some(place) = self.people.iter().position(|person| person.id == id) else {
            return match self.names {
                PeopleShown::Inward => id.to_owned(),
                PeopleShown::Outward => format!("{WORKER} (not on the shop card)"),
            };
        };
        let Some(person) = self.people.get(place) else {
            return id.to_owned();
        };
        if self.names == PeopleShown::Inward {
            let name = if person.name.is_empty() {
                id
            } else {
                &person.name
            };
            return name.to_owned();
        }
        let role = role(person);
        let same = |other: &&Person| self::role(other) == role;
        let before = self.people.iter().take(place).filter(same).count();
        let all = self.people.iter().filter(same).count();
        if all < 2 {
            role.to_owned()
        } else {
            format!("{role} {}", before + 1)
        }
    }

    /// Returns a person who signed, as shown, with whether the card entitles to it.
    pub(super) fn signer(&self, id: &str) -> String {
        let mut people = self.people.iter();
        let person = people.find(|person| person.id == id);
        let mark = match person.map(|person| person.marks.contains(&Mark::Sign)) {
            Some(true) => "may sign hold points",
            _ => "no mark to sign hold points on the shop card now",
        };
        format!("{}, {mark}", self.who(id))
    }

    /// Returns a line as a sentence without its target.
    pub(super) fn line(&self, line: &Line) -> String {
        self.deed(line) + &late(line)
    }

    /// Returns the deed of a line as a sentence without its target.
    pub(super) fn deed(&self, line: &Line) -> String {
        self.words(&sentence(line, &self.cards, self.figure))
    }

    /// Returns words that somebody wrote. Outward the names of people in them, whole, first or
    /// short, in letters of either size, become their trades in brackets, so that the reader sees
    /// that something was put in their place.
    pub(super) fn words(&self, text: &str) -> String {
        if self.names == PeopleShown::Inward {
            return text.to_owned();
        }
        let mut names: Vec<(String, String)> = Vec::new();
        for person in self.people {
            let trade = format!("[{}]", self.who(&person.id));
            let first = person.name.split_whitespace().next();
            let known = [Some(person.name.as_str()), first, Some(person.id.as_str())];
            let known = known.into_iter().flatten().map(str::to_lowercase);
            let known = known.filter(|name| !name.trim().is_empty());
            names.extend(known.map(|name| (name, trade.clone())));
        }
        // A whole name before the first name that it begins with.
        names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
        put_in(text, &names)
    }
}

/// Returns that a line was typed after the fact, if it was.
pub(super) fn late(line: &Line) -> String {
    line.entered_later.map_or_else(String::new, |typed| {
        format!(" (entered later, {})", typed.format("%-d %b %Y %H:%M"))
    })
}

fn role(person: &Person) -> &str {
    if person.trade.trim().is_empty() {
        WORKER
    } else {
        person.trade.trim()
    }
}

/// Returns a text with others in place of whole words. The words are in small letters.
fn put_in(text: &str, words: &[(String, String)]) -> String {
    let mut shown = String::with_capacity(text.len());
    let mut rest = text;
    let mut within = false;
    while let Some(sign) = rest.chars().next() {
        let begun = words.iter().filter(|_| !within);
        let met = begun.filter_map(|(word, other)| Some((behind(rest, word)?, other)));
        if let Some((after, other)) = met.into_iter().next() {
            shown.push_str(other);
            rest = after;
            continue;
        }
        shown.push(sign);
        within = sign.is_alphanumeric();
        rest = rest.get(sign.len_utf8()..).unwrap_or_default();
    }
    shown
}

/// What stands behind a whole word at the beginning of a text; letters of either size are alike.
fn behind<'t>(text: &'t str, word: &str) -> Option<&'t str> {
    let mut wanted = word.chars();
    let mut signs = text.chars();
    while !wanted.as_str().is_empty() {
        for small in signs.next()?.to_lowercase() {
            (wanted.next()? == small).then_some(())?;
        }
    }
    let after = signs.as_str();
    (!after.starts_with(char::is_alphanumeric)).then_some(after)
}

#[cfg(test)]
mod tests {
    use super::{Voice, put_in};
    use crate::card::{Cards, PeopleShown, Person};

    fn shop() -> Cards {
        let mut cards = Cards::default();
        for (id, name, trade) in [
            ("odile", "Odile", "joiner"),
            ("ida", "Ida", "joiner"),
            ("wren", "Wren", ""),
        ] {
            cards.shop.people.push(Person {
                id: id.into(),
                name: name.into(),
                trade: trade.into(),
                ..Person::default()
            });
        }
        cards
    }

    #[test]
    fn outward_people_are_their_trades_and_can_be_told_apart() {
        let cards = shop();
        let voice = Voice::new(&cards, None, PeopleShown::Outward);
        assert_eq!(voice.who("odile"), "joiner 1");
        assert_eq!(voice.who("ida"), "joiner 2");
        assert_eq!(voice.who("wren"), "worker");
        assert_eq!(voice.who("zed"), "worker (not on the shop card)");
        assert_eq!(
            voice.words("Wren saw it, Wrenshaw did not; ask Ida"),
            "[worker] saw it, Wrenshaw did not; ask [joiner 2]"
        );
        assert_eq!(
            voice.words("ask WREN or odile; ida@x, Ida's"),
            "ask [worker] or [joiner 1]; [joiner 2]@x, [joiner 2]'s"
        );
    }

    #[test]
    fn inward_people_are_their_names_and_words_stay() {
        let cards = shop();
        let voice = Voice::new(&cards, None, PeopleShown::Inward);
        assert_eq!(voice.who("odile"), "Odile");
        assert_eq!(voice.words("Wren saw it"), "Wren saw it");
    }

    #[test]
    fn only_whole_words_are_put_in() {
        let words = [("a".to_owned(), "x".to_owned())];
        assert_eq!(put_in("ab a ab,a A's é", &words), "ab x ab,x x's é");
    }
}
