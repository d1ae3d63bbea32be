//! The page of help that fits a screen: every command with a few words, in the order in which a
//! day meets them. What a command takes is told by `--help` after it, from the argument table.

use std::ffi::OsString;

/// Every command of the table that is shown, with words for half a line; a trial holds both
/// lists together.
pub const SHORT: [(&str, &str); 27] = [
    ("bench", "the screen, at one figure"),
    ("practice", "the screen, to learn on"),
    ("ring", "only rings the alarms"),
    ("standing", "where the figures stand"),
    ("clocks", "what dies first"),
    ("day", "the day's journal, its page"),
    ("tonight", "when to lay size"),
    ("next", "what to do now"),
    ("forecast", "when the figures are done"),
    ("hours", "hours of hands, their cost"),
    ("stock", "the shelf, what to order"),
    ("recall", "what the past says"),
    ("report", "the treatment report"),
    ("jot", "a note"),
    ("air", "a reading of a room's air"),
    ("read", "a reading taken earlier"),
    ("photo", "takes photographs in"),
    ("layer", "a layer of old paint"),
    ("chip", "a chip of new colour"),
    ("lot", "opens a tin, fills a jar"),
    ("trust", "a lot's own times"),
    ("sign", "signs and answers"),
    ("check", "flaws on the cards"),
    ("audit", "flaws in the journals"),
    ("open-shop", "a new shop"),
    ("take-in", "a new figure"),
    ("reckon", "the trade's arithmetic"),
];

/// Returns the page: 23 lines of at most 80 cells, so that it stands above the next prompt.
pub fn page() -> String {
    let mut page = "\
knuckle: a bench companion for restorers of carved, painted and gilded figures
knuckle [COMMAND] [FLAGS]         without a command the screen opens

"
    .to_owned();
    let (left, right) = SHORT.split_at(SHORT.len().div_ceil(2));
    for (row, (name, words)) in left.iter().enumerate() {
        let (other, more) = right.get(row).copied().unwrap_or_default();
        let line = format!("  {name:<10} {words:<27}  {other:<10} {more}");
        page.extend([line.trim_end(), "\n"]);
    }
    page + "
--shop DIR  where the shop is     --json    answers for programs
--as NAME   who writes            --units metric|inch
--clock TIME  as if it were then; writes to practice shops only
COMMAND --help  says what it takes; man prints the manual, completions SHELL
exit codes: 0 well, 1 found wrong, 2 misuse, 3 could not read or write
"
}

/// Returns whether the page is asked for, and not the help of one command.
pub(super) fn is_asked_for(words: &[OsString]) -> bool {
    matches!(words, [_, only] if only == "--help" || only == "-h" || only == "help")
}

/// Returns `help COMMAND` as `COMMAND --help`, everything else as it is.
pub(super) fn turned_round(words: Vec<OsString>) -> Vec<OsString> {
    match words.as_slice() {
        [name, help, rest @ ..] if help == "help" && !rest.is_empty() => {
            let words = [std::slice::from_ref(name), rest].concat();
            words.into_iter().chain(["--help".into()]).collect()
        }
        _ => words,
    }
}
