//! Names that were typed, held against those that are known; a near miss is offered.

use crate::card::{Cards, Figure, Person, SHOP_BOOK};
use crate::standing::Book;
use crate::trouble::{ExitKind, Trouble};

/// Returns the trouble that nothing of a kind has this name: `no figure is called `hair`; did
/// you mean `hare`?`, and all names that there are.
pub(super) fn unknown<'a>(
    (no, place): (&str, &str),
    written: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Trouble {
    let near = near(written, known.clone())
        .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    let all: Vec<&str> = known.collect();
    let remedy = match all.as_slice() {
        [] => "there is none yet".to_owned(),
        all => format!("there are {}", all.join(", ")),
    };
    Trouble::new(
        ExitKind::Misuse,
        format!("{no} is called `{written}`{near}"),
    )
    .at(place)
    .remedy(remedy)
}

/// Returns the name that was most likely meant: one that begins with what was written, else
/// the one with the fewest slips (a letter wrong, missing, too many, or two swapped), at most
/// two, and at most half of the letters.
pub(super) fn near<'a>(
    written: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Option<&'a str> {
    let plain = written.trim().to_lowercase();
    let letters = plain.chars().count();
    let mut longer = known
        .clone()
        .filter(|name| 3 <= letters && name.starts_with(&plain));
    if let (Some(only), None) = (longer.next(), longer.next()) {
        return Some(only);
    }
    known
        .map(|name| (strsim::osa_distance(&plain, name), name))
        .filter(|(slips, name)| *slips <= 2 && slips * 2 <= letters.min(name.chars().count()))
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, name)| name)
}

/// Returns the card of a figure.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn figure<'a>(cards: &'a Cards, id: &str, place: &str) -> Result<&'a Figure, Trouble> {
    if let Some(card) = cards.figures.get(id) {
        return Ok(card);
    }
    let known = cards.figures.keys().map(String::as_str);
    Err(unknown(("no figure", place), id, known))
}

/// Checks that a figure has a zone of this name.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn zone(cards: &Cards, (figure, id): (&str, &str)) -> Result<(), Trouble> {
    let zones = cards.figures.get(figure).map(|card| &card.zones);
    let known = zones.into_iter().flatten().map(|zone| zone.id.as_str());
    if known.clone().any(|name| name == id) {
        return Ok(());
    }
    Err(unknown(("no zone of this figure", "ZONE"), id, known))
}

/// Checks that a figure has a zone, joint or panel of this name.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn part(cards: &Cards, (figure, id): (&str, &str), place: &str) -> Result<(), Trouble> {
    let card = cards.figures.get(figure);
    let known = card.into_iter().flat_map(crate::card::Figure::places);
    if known.clone().any(|known| known == id) {
        return Ok(());
    }
    Err(unknown(("no part of this figure", place), id, known))
}

/// Returns the book that is meant by a figure's name or `shop`.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn book(cards: &Cards, name: &str, place: &str) -> Result<Book, Trouble> {
    if name == SHOP_BOOK {
        return Ok(Book::Shop);
    }
    figure(cards, name, place).map(|_| Book::Figure(name.to_owned()))
}

/// Returns the book among these that is meant by a figure's name or `shop`.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn book_among(books: &[Book], name: &str, place: &str) -> Result<Book, Trouble> {
    let figure = Book::Figure(name.to_owned());
    if books.contains(&figure) {
        return Ok(figure);
    }
    if name == SHOP_BOOK {
        return Ok(Book::Shop);
    }
    let known = books.iter().filter_map(|book| match book {
        Book::Shop => None,
        Book::Figure(id) => Some(id.as_str()),
    });
    Err(unknown(("no figure", place), name, known))
}

/// Checks that a room is known.
///
/// # Errors
/// The trouble with the near miss.
pub(super) fn room(cards: &Cards, id: &str) -> Result<(), Trouble> {
    let rooms = cards.shop.rooms.iter().map(|room| room.id.as_str());
    if rooms.clone().any(|known| known == id) {
        return Ok(());
    }
    Err(unknown(("no room", "ROOM"), id, rooms))
}

/// Returns the person who writes.
///
/// # Errors
/// When nobody is named, or nobody has that name.
pub(super) fn writer<'a>(cards: &'a Cards, by: Option<&str>) -> Result<&'a Person, Trouble> {
    let people = cards.shop.people.iter();
    let names = people.clone().map(|person| person.id.as_str());
    let Some(by) = by else {
        let all: Vec<&str> = names.collect();
        let remedy = match all.as_slice() {
            [] => "write the people of the shop on shop.yaml first".to_owned(),
            all => format!("say who you are, one of {}", all.join(", ")),
        };
        return Err(
            Trouble::new(ExitKind::Misuse, "a line in a journal needs a name")
                .at("--as")
                .remedy(remedy),
        );
    };
    // A name as it is spoken will do: `Wren` is `wren`.
    let spoken = |person: &&Person| [&person.id, &person.name].iter().any(|it| same(it, by));
    let mut exact = people.clone().filter(|person| person.id == by);
    let found = exact.next().or_else(|| people.clone().find(spoken));
    found.ok_or_else(|| unknown(("nobody in this shop", "--as"), by, names))
}

fn same(known: &str, written: &str) -> bool {
    known.to_lowercase() == written.trim().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::{near, writer};
    use crate::card::{Cards, Person};

    #[test]
    fn people_are_known_by_the_name_that_is_spoken() {
        let person = |id: &str, name: &str| Person {
            id: id.to_owned(),
            name: name.to_owned(),
            ..Person::default()
        };
        let mut cards = Cards::default();
        cards.shop.people = vec![person("wren", "Wren"), person("w2", "WREN")];
        let id = |by| writer(&cards, Some(by)).map(|person| person.id.as_str());
        assert_eq!(id("wren").ok(), Some("wren"));
        assert_eq!(id("Wren ").ok(), Some("wren"));
        assert_eq!(id("w2").ok(), Some("w2"));
        assert!(id("Jenny").is_err());
    }

    #[test]
    fn a_near_name_is_offered_and_a_far_one_is_not() {
        let names = [
            "hare",
            "heron",
            "lion-boss",
            "bandmaster",
            "day",
            "standing",
        ];
        let near = |written| near(written, names.into_iter());
        assert_eq!(near("hair"), Some("hare"));
        assert_eq!(near("Hare"), Some("hare"));
        assert_eq!(near("lion"), Some("lion-boss"));
        assert_eq!(near("bandmatser"), Some("bandmaster"));
        assert_eq!(near("dya"), Some("day"));
        assert_eq!(near("varnish"), None);
        assert_eq!(near("x"), None);
        assert_eq!(near(""), None);
    }
}
