//! The reckon topics of the bench from outside: flags, keys, refusals.

use std::path::Path;

use clap::{Args, Command, FromArgMatches};
use knuckle::command::reckon::{ReckonArgs, run};
use knuckle::reckon::{Micrometres, Percent, SquareMetresPerLitre, spread_for_film};

/// What `knuckle reckon … --json` answers, or the three lines of its refusal.
fn asked(words: &[&str], file: &'static str) -> Result<serde_json::Value, String> {
    let command = ReckonArgs::augment_args(Command::new("reckon"));
    let line = ["reckon", "--json"].iter().chain(words);
    let matches = command
        .try_get_matches_from(line)
        .map_err(|misuse| misuse.to_string())?;
    let args = ReckonArgs::from_arg_matches(&matches).expect("the matches are of these arguments");
    let mut out = Vec::new();
    let files = |_: &Path| Ok(file.to_owned());
    run(&args, &mut out, &files).map_err(|trouble| trouble.three_lines())?;
    Ok(serde_json::from_slice(&out).expect("the answer is JSON"))
}

#[track_caller]
fn answers(words: &[&str], file: &'static str, wanted: &[(&str, f64)]) {
    let answer = asked(words, file).unwrap();
    for (key, value) in wanted {
        let found = answer[key].as_f64();
        let found = found.unwrap_or_else(|| panic!("`{key}` is a number in {answer}"));
        // Half of the last digit that is written here.
        assert!((found - value).abs() <= 0.05, "{key}: {found} for {value}");
    }
}

const NIGHT: &str = "time,celsius\n18:00,20\n05:00,13\n08:00,19\n09:03,19\n";

/// The flags and keys that scripts hold on to, with the trade's own worked examples.
#[test]
fn the_topics_of_resin_and_gloves_answer_with_their_keys() {
    answers(
        &[
            "gap",
            "--length",
            "400mm",
            "--width",
            "120mm",
            "--row",
            "2.4 0.3 2.4",
            "--row",
            "2.4 0.3 2.4",
        ],
        "",
        &[("mean_gap_mm", 1.0), ("volume_ml", 48.0)],
    );
    answers(
        &[
            "batch",
            "--need",
            "20g",
            "--ratio",
            "100:45",
            "--basis",
            "weight",
            "--balance",
            "0.1g",
        ],
        "",
        &[
            ("a_g", 13.8),
            ("b_g", 6.2),
            ("cups", 1.0),
            ("smallest_g", 16.1),
        ],
    );
    answers(
        &[
            "pot-life",
            "--at",
            "25min, 100g, 22C",
            "--grams",
            "100g",
            "--temp",
            "22C",
        ],
        "",
        &[
            ("early_min", 25.0),
            ("likely_min", 25.0),
            ("late_min", 25.0),
        ],
    );
    answers(
        &["glove", "--breakthrough", "60min"],
        "",
        &[("change_after_min", 20.0)],
    );
}

/// As above.
#[test]
fn the_topics_of_gilding_answer_with_their_keys() {
    answers(
        &["equivalent", "--trace", "night.csv", "--reference", "20C"],
        NIGHT,
        &[("equivalent_h", 12.0)],
    );
    answers(
        &["tack", "--class", "slow", "--trace", "steady.csv"],
        "hours,celsius\n0,20\n",
        &[
            ("ready_early_h", 10.0),
            ("ready_likely_h", 11.0),
            ("ready_late_h", 12.0),
            ("dead_early_h", 20.0),
        ],
    );
    answers(
        &[
            "leaf", "--area", "0.35m2", "--leaf", "85.7mm", "--waste", "20%", "--relief", "1.3",
        ],
        "",
        &[("leaves", 80.0), ("books", 4.0)],
    );
    answers(
        &[
            "coat",
            "--area",
            "5.2m2",
            "--coats",
            "2",
            "--solids",
            "65%",
            "--dry-film",
            "125um",
        ],
        "",
        &[("litres", 2.0), ("wet_film_um", 192.3)],
    );
}

#[test]
fn a_cup_poured_wrong_gets_its_verdict_and_only_one_thing_to_add() {
    for (b, off, verdict, add_a, add_b) in [
        ("45g", 0.0, "good", 0.0, 0.0),
        ("43g", -4.44, "amber", 0.0, 2.0),
        ("47.7g", 6.0, "reject", 6.0, 0.0),
    ] {
        let words = [
            "correct",
            "--ratio",
            "100:45",
            "--poured-a",
            "100g",
            "--poured-b",
            b,
        ];
        answers(
            &words,
            "",
            &[("off_percent", off), ("add_a_g", add_a), ("add_b_g", add_b)],
        );
        assert_eq!(asked(&words, "").unwrap()["verdict"], verdict);
    }
}

#[track_caller]
fn refuses(words: &[&str], file: &'static str, wanted: &str) {
    assert_eq!(asked(words, file).unwrap_err(), wanted);
}

#[test]
fn what_cannot_be_reckoned_is_refused_with_what_to_do() {
    refuses(
        &[
            "pot-life",
            "--at",
            "25min, 100g",
            "--grams",
            "100g",
            "--temp",
            "22C",
        ],
        "",
        "`25min, 100g` is not minutes, grams and temperature\n where: --at\n    do: write it like \"25min, 100g, 22C\"\n",
    );
    refuses(
        &[
            "batch", "--need", "100g", "--ratio", "2:1", "--basis", "volume",
        ],
        "",
        "a ratio by volume needs the densities of both parts\n where: --density-a\n    do: copy it from the data sheet, such as 1.15g/ml\n",
    );
    refuses(
        &["tack", "--class", "slo", "--trace", "steady.csv"],
        "0,20\n",
        "no class of size is called `slo`; did you mean `slow`?\n where: reckon tack\n    do: choose a class of size from: quick, three_hour, slow, old_gold\n",
    );
    refuses(
        &["tack", "--class", "slow", "--trace", "steady.csv"],
        "0,4\n",
        "at 4 °C the work stands still with 12.0 h of it undone: warm the room above 5 °C\n where: reckon tack\n    do: warm the room, or ask again with a warmer one\n",
    );
    refuses(
        &["equivalent", "--trace", "attic.csv", "--reference", "20C"],
        "0,20\n1,48\n",
        "temperature of the trace 48 °C is outside 0–45 °C (the rule of a factor per 10 °C is stated for shop temperatures)\n where: reckon equivalent\n    do: give a value within 0–45 °C, or measure instead of reckoning\n",
    );
    refuses(
        &[
            "gap", "--length", "400mm", "--width", "120mm", "--row", "- - -",
        ],
        "",
        "0 readings in a row of the gap given, at least 1 needed\n where: reckon gap\n    do: give at least 1 readings in a row of the gap\n",
    );
}

#[test]
fn a_batch_too_small_for_its_balance_says_so() {
    let words = [
        "batch",
        "--need",
        "100g",
        "--ratio",
        "100:45",
        "--basis",
        "weight",
        "--balance",
        "1g",
    ];
    let answer = asked(&words, "").unwrap();
    assert_eq!(answer["can_be_weighed"], false);
    assert_eq!(
        answer["caution"],
        "100.0 g is too little for a balance that reads 1 g: mix 162 g or take a finer balance"
    );
}

/// A file with humidity: what must be done before goes by its driest hour, what is waited for
/// by its dampest.
#[test]
fn the_humidity_of_a_file_counts_on_its_safe_side() {
    let tack = ["tack", "--class", "slow", "--trace", "night.csv"];
    let of = |words: &[&str], file| asked(&[&tack[..], words].concat(), file).unwrap();
    let night = "hour,temp_c,rh\n0,20,30\n6,20,75\n12,20,50\n";
    let read = of(&[], night);
    let (dry, damp) = (
        of(&["--humidity", "30%"], night),
        of(&["--humidity", "75%"], night),
    );
    for (key, side) in [
        ("ready_early_h", &dry),
        ("dead_early_h", &dry),
        ("edge_dead_early_h", &dry),
        ("ready_late_h", &damp),
        ("hollow_ready_late_h", &damp),
    ] {
        assert_eq!(read[key], side[key], "{key}");
    }
    assert_ne!(dry["ready_late_h"], damp["ready_late_h"]);
    let flawed = asked(&tack, "0,20,50\n6,20,wet\n").unwrap_err();
    assert!(
        flawed.contains("`wet` is no relative humidity from 0 to 100 %\n where: night.csv, line 2"),
        "{flawed}"
    );
}

#[test]
fn a_gap_takes_units_and_missing_readings() {
    let words = [
        "gap",
        "--length",
        "40cm",
        "--width",
        "120mm",
        "--row",
        "- 0.3mm 2.4",
    ];
    answers(
        &words,
        "",
        &[("mean_gap_mm", 1.0), ("filled_readings", 1.0)],
    );
    // Nothing between two commas is a place where no reading could be taken.
    let blank = [&words[..6], &[",0.3,2.4"]].concat();
    answers(
        &blank,
        "",
        &[("mean_gap_mm", 1.0), ("filled_readings", 1.0)],
    );
}

#[test]
fn a_spread_that_cannot_leave_the_film_is_not_believed() {
    let words = [
        "coat",
        "--area",
        "5.2m2",
        "--spread",
        "70m2/L",
        "--solids",
        "65%",
        "--dry-film",
        "125um",
    ];
    answers(&words, "", &[("litres", 1.0)]);
    let rate = spread_for_film(Percent(65.0), Micrometres(125.0)).unwrap();
    assert!(rate < SquareMetresPerLitre(70.0));
}
