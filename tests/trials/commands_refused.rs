//! What the commands refuse, each message whole: what, where, what to do; and the exit code.

use std::fmt::Write;

use crate::kit::golden;
use crate::kit::sealed::{Sealed, at_evening};

/// Commands that are refused, whatever the day.
const REFUSED: &[&[&str]] = &[
    &["jot", "hair", "x"],
    &["standing", "lion"],
    &["day", "--figure", "x"],
    &["day", "--by", "odil"],
    &["jot", "hare", "x"],
    &["jot", "hare", "x", "--as", "Odil"],
    &["jot", "hare", " ", "--as", "odile"],
    &["air", "store", "--temp", "20", "--humidity", "50%"],
    &[
        "air",
        "store",
        "--temp",
        "20C",
        "--humidity",
        "150%",
        "--as",
        "odile",
    ],
    &["air", "stroe", "--temp", "20C", "--humidity", "50%"],
    &[
        "air",
        "store",
        "--temp",
        "20C",
        "--humidity",
        "50%",
        "--source",
        "odile",
    ],
    &["sign", "hare", "6", "--refuse", "--as", "marguerite"],
    &["sign", "hare", "2", "--accept", "--as", "marguerite"],
    &["sign", "hare", "stripe", "--accept", "--as", "marguerite"],
    &[
        "sign",
        "hare",
        "strip",
        "ears",
        "--accept",
        "--as",
        "marguerite",
    ],
    &["sign", "hare"],
    &["dya"],
    &["day", "--figur", "x"],
    &["clocks", "x"],
    &["day", "--page", "--by", "odil"],
    &["day", "--line", "hare"],
    &["day", "--line", "hare:4", "--page"],
    &["day", "--units", "inches"],
    &["day", "--units"],
    &["day", "--clock", "noon"],
    &["day", "tomorrow"],
    &["reckon", "emc", "--air", "21", "--humidity", "50%"],
    &["open-shop", "."],
    &["take-in", "hare"],
    &["take-in", "the hare"],
    &["day", "--shop", "figures"],
    &["bench", "hair"],
    &["bench", "hare"],
    &["bench", "--as", "odil"],
    &["practice", "--speed", "0"],
    &["completions", "fishy"],
];

#[test]
fn every_refusal_says_what_where_and_what_to_do() {
    let sealed = Sealed::at_work();
    let mut page = String::new();
    for words in REFUSED {
        let told = sealed.run(words);
        assert_eq!(told.out, "", "{words:?} answers and refuses at once");
        let typed: Vec<String> = words.iter().map(|word| quoted(word)).collect();
        let (typed, err, code) = (typed.join(" "), told.err, told.code);
        writeln!(page, "$ knuckle {typed}\n{err}exit {code}\n").unwrap();
    }
    golden::check("commands/refused.txt", &page);
}

/// A word as it is typed in a shell.
fn quoted(word: &str) -> String {
    if word.trim().is_empty() || word.contains(' ') {
        format!("'{word}'")
    } else {
        word.to_owned()
    }
}

#[test]
fn a_clock_that_is_not_the_walls_never_writes_to_a_real_shop() {
    let sealed = Sealed::new();
    sealed.change("shop.yaml", ["practice: true", "practice: false"]);
    sealed.refuses(
        &at_evening(&["jot", "hare", "x", "--as", "odile"]),
        2,
        "under --clock nothing is written to a shop that is not for practice\n \
         where: $SHOP/shop.yaml\n    \
         do: leave --clock out, or use a shop with `practice: true`; nothing was changed",
    );
    let told = sealed.run(&at_evening(&["clocks"]));
    assert!(told.out.starts_with("no clock runs\n"), "{told:?}");
}
