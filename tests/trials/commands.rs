//! The commands from outside: the real program in a sealed environment, whole output, JSON
//! keys, exit codes. Few, for each starts a program.

use std::collections::BTreeSet;
use std::fs;

use clap::CommandFactory;
use knuckle::command::{Door, help::SHORT};
use knuckle::deed::Deed;
use knuckle::standing::Ask;

use crate::kit::sealed::{Sealed, at_evening};
use crate::kit::{golden, moment};
use crate::memory::{Bench, sample_cards};

#[test]
fn a_day_is_told_over_all_books_by_time() {
    let sealed = Sealed::at_work();
    sealed.says(&at_evening(&["day"]), "\
07:40  shop:1  marguerite  opened the day; in: marguerite, odile
13:50  hare:1  odile       began Mix, lay up, clamp, release on J3
13:52  hare:2  odile       gap at 200 mm, 1 of 5: 6.5 mm, outside the usual and confirmed (J3)
13:55  hare:3  odile       overruled temperature with Marguerite (16 °C, below 18 °C): the heater is on (J3)
14:02  hare:4  odile       mixed 68.9 + 31.0 g of medium epoxy for J3 (off +0.2 %), lots A-1 and B-1
14:21  hare:5  odile       otherwise than planned: closed 2 min after the cup was over (J3)
14:30  hare:6  odile       asked: may J4 be opened today?
14:31  hare:7  odile       struck: noted: clamp 4 slips ␛[2J‹U+202E›
14:32  hare:8  odile       struck line 7: it was clamp 3
17:25  shop:2  marguerite  closed the day; left open: hare: left-over cup not reported
23:30  hare:9  odile       noted: lamp left on
");
    sealed.says(
        &["day", "2026-11-26", "--figure", "hare", "--by", "odile"],
        "08:00  hare:10  odile  noted: the day after\n",
    );
    sealed.says(&["day", "2026-11-24"], "no line on 2026-11-24\n");
    sealed.says(
        &["day", "2026-11-25", "--figure", "shop", "--units", "inch"],
        "07:40  shop:1  marguerite  opened the day; in: marguerite, odile\n\
         17:25  shop:2  marguerite  closed the day; left open: hare: left-over cup not reported\n",
    );
}

#[test]
fn the_page_tells_its_ten_points() {
    let sealed = Sealed::at_work();
    sealed.says(
        &at_evening(&["day", "--page"]),
        "\
Lantern Quay Carving Rooms
Wednesday 25 November 2026, as it stood at 18:00

point 1: who was in, what moved
    in: marguerite, odile  [shop:1]
    hands of odile: 0.2 h: hare 0.2 h  [hare:4]
    hare: Mix, lay up, clamp, release on J3, begun, last at “Press start as hardener meets resin”  [hare:5]

point 2: to sign or to answer; signed and answered
    hare: temperature overruled: 16 °C, below 18 °C: the heater is on (odile)  [hare:3]
    hare: otherwise than planned: closed 2 min after the cup was over (odile)  [hare:5]

point 3: gates overruled
    13:55 hare: overruled temperature with Marguerite (16 °C, below 18 °C): the heater is on (J3) (odile)  [hare:3]

point 4: otherwise than planned
    one that waits stands at point 2

point 5: readings: chips, unusual, out of trend
    13:52 hare: gap at 200 mm, 1 of 5: 6.5 mm, outside the usual and confirmed (J3) (odile)  [hare:2]

point 6: clocks over, cups not reported
    over since 14:19: hare, cup: J3, medium epoxy  [hare:4]
    left open at closing: hare: left-over cup not reported  [shop:2]

point 7: fixed hours until the next day is over
    Thu 26 Nov 08:22 ready: hare, clamps off: J3, medium epoxy  [hare:4]

point 8: lots opened, small or past their date
    past its date: lot FH-2409-18 of fast epoxy 100:45 by weight, 2026-09-30, open since 2025-11-17, on the card fast-epoxy
    past its date: lot ZQ-2409-55 of quick oil size, 1 to 3 hours, 2026-10-31, open since 2025-10-20, on the card quick-size

point 9: promises near, past, at risk or moved
    lion-boss: promised 2027-03-12, in 107 days; 0 jobs finished, 42 to go; ▲ at risk: done by 2027-05-06 in nine of ten runs, late in 92 %, by chance alone 6 days to either side (reckoned at 18:00)
    heron: promised 2027-03-26, in 121 days; 0 jobs finished, 163 to go; ▲ at risk: done by 2027-05-11 in nine of ten runs, late in 84 %, by chance alone 6 days to either side (reckoned at 18:00)
    hare: promised 2027-04-16, in 142 days; 0 jobs finished, 244 to go; ▲ at risk: done by 2027-06-09 in nine of ten runs, late in 95 %, by chance alone 6 days to either side (reckoned at 18:00); waits for gate: no moisture reading at depth here  [hare:4]
    bandmaster: promised 2027-05-14, in 170 days; 0 jobs finished, 106 to go; ▲ at risk: done by 2027-06-11 in nine of ten runs, late in 32 %, by chance alone 18 days to either side (reckoned at 18:00)
    lantern-woman: promised 2027-05-28, in 184 days; 0 jobs finished, 129 to go; ▲ at risk: done by 2027-05-31 in nine of ten runs, late in 13 %, by chance alone 3 days to either side (reckoned at 18:00)

point 10: questions and notes from the bench
    hare: may J4 be opened today? (odile)  [hare:6]
    23:30 hare: noted: lamp left on (odile)  [hare:9]

This tool reminds; it does not permit. Local codes, the product safety data sheet and label, and qualified or licensed practice win wherever they differ from a card. It measures no air and knows no medical facts about you. In doubt, stop.
",
    );
    // The morning before, nothing of it had happened, and the page says so.
    let before = sealed.run(&[
        "day",
        "2026-11-24",
        "--page",
        "--clock",
        "2026-11-25T18:00:00Z",
    ]);
    assert!(
        before
            .out
            .contains("Tuesday 24 November 2026, as it stood at its end"),
        "{}",
        before.out
    );
    assert!(!before.out.contains("hare"), "{}", before.out);
}

#[test]
fn the_page_is_narrowed_to_a_figure_or_a_person_and_widened_to_a_week() {
    let sealed = Sealed::at_work();
    let told = |more: &[&str]| {
        let args: Vec<&str> = ["day", "--page"].iter().chain(more).copied().collect();
        let told = sealed.run(&at_evening(&args));
        assert_eq!(told.code, 0, "{}", told.err);
        told.out
    };
    let has_all = |page: &str, lines: &[&str]| {
        for line in lines {
            assert!(page.contains(line), "{line}\n{page}");
        }
    };
    let supervisor = told(&["--by", "marguerite"]);
    has_all(
        &supervisor,
        &[
            "as it stood at 18:00, only marguerite",
            "    in: marguerite  [shop:1]\n",
            // She stood beside when the gate was overruled.
            "overruled temperature with Marguerite",
            "left open at closing: hare",
            // What others wrote waits for her answer.
            "hare: may J4 be opened today? (odile)  [hare:6]",
        ],
    );
    // Who asks narrows nothing.
    let asked = told(&["--as", "marguerite"]);
    assert_eq!(asked, told(&[]));
    let odile = told(&["--by", "odile", "--figure", "hare"]);
    has_all(
        &odile,
        &[
            ", only hare, only odile",
            "hare: may J4 be opened today? (odile)  [hare:6]",
            "clamps off: J3",
        ],
    );
    assert!(!odile.contains("lot FH-2409-18"), "{odile}");
    let shop = told(&["--figure", "shop"]);
    has_all(&shop, &["past its date: lot FH-2409-18"]);
    assert!(!shop.contains("hare:"), "{shop}");
    // The week holds the day, Monday to Sunday, and the day after it that is not yet over.
    let week = told(&["--week"]);
    has_all(
        &week,
        &[
            "Monday 23 November to Sunday 29 November 2026, as it stood at Wed 18:00",
            "Wed 13:55 hare: overruled temperature with Marguerite",
            "point 7: fixed hours of the week to come\n    Thu 08:22 ready: hare, clamps off",
        ],
    );
}

#[test]
fn a_line_is_told_in_full_by_its_number() {
    let sealed = Sealed::at_work();
    sealed.says(
        &at_evening(&["day", "--line", "hare:4"]),
        "\
hare:4
who           Odile (joiner), at long bench
when          Wednesday 25 November 2026, 14:02:00 +00:00
figure        running hare (hare)
place         joint J3, body boards, near side and back board
operation     Mix, lay up, clamp, release, step: Press start as hardener meets resin
what          mixed 68.9 + 31.0 g of medium epoxy for J3 (off +0.2 %), lots A-1 and B-1
how much      68.9 g + 31 g, hardener +0.2 % off
lot           A-1 and B-1
air           bench-room: not read in the 12 h before
corrections   none
",
    );
    let struck = sealed.run(&at_evening(&["day", "--line", "hare:7"]));
    assert!(
        struck
            .out
            .contains("struck by hare:8 (odile, 2026-11-25): it was clamp 3"),
        "{}",
        struck.out
    );
    let strikes = sealed.run(&at_evening(&["day", "--line", "hare:8"]));
    assert!(strikes.out.contains("strikes hare:7"), "{}", strikes.out);
    let none = sealed.run(&at_evening(&["day", "--line", "hare:99"]));
    assert_eq!(none.code, 2);
    assert!(none.err.contains("hare has lines 1 to 10"), "{}", none.err);
}

#[test]
fn every_answer_in_json_has_its_keys() {
    let sealed = Sealed::at_work();
    let day = [
        "book",
        "n",
        "at",
        "by",
        "deed",
        "mark",
        "entered_later",
        "text",
    ];
    let lines = sealed.keys(&at_evening(&["day"]), &day);
    assert_eq!(lines.len(), 11);
    assert_eq!(lines[4]["at"], "2026-11-25T14:02:00+00:00");
    assert_eq!(lines[4]["deed"], "mixed");
    assert_eq!(lines[7]["mark"], "struck");
    sealed.keys(
        &at_evening(&["day", "--page"]),
        &["point", "title", "text", "book", "n"],
    );
}

/// The keys of a clock.
const CLOCK: [&str; 13] = [
    "figure",
    "id",
    "clock",
    "about",
    "state",
    "side",
    "started",
    "opens",
    "likely",
    "closes",
    "left_min",
    "because",
    "provenance",
];

#[test]
fn standing_and_clocks_in_json_have_their_keys() {
    let sealed = Sealed::at_work();
    let floor = [
        "figure",
        "name",
        "room",
        "operation",
        "target",
        "step",
        "waits_for",
        "since",
        "clock",
        "clock_at",
        "route_done",
        "route_of",
        "holds",
        "answered",
        "unanswered",
        "refused",
        "promised",
        "flaw",
        "by_90_percent",
        "late_percent",
        "at_risk",
        "forecast_noted",
    ];
    let rows = sealed.keys(&at_evening(&["standing"]), &floor);
    let hare = rows.iter().find(|row| row["figure"] == "hare").unwrap();
    assert_eq!(
        (&hare["operation"], &hare["target"]),
        (&"mix-and-lay-up".into(), &"J3".into())
    );
    assert_eq!(hare["unanswered"], 3);
    let facts = ["figure", "about", "operation", "target", "n", "text"];
    sealed.keys(&at_evening(&["standing", "hare"]), &facts);
    let clocks = sealed.keys(&at_evening(&["clocks"]), &CLOCK);
    assert_eq!(clocks[0]["id"], "4.cup");
    assert_eq!(clocks[0]["state"], "over");
    assert_eq!(clocks[1]["opens"], "2026-11-26T08:22:00+00:00");
    assert_eq!(clocks[1]["left_min"], 862.0);
    let waiting = [
        "figure",
        "kind",
        "line",
        "operation",
        "target",
        "since",
        "by",
        "may_sign",
        "text",
    ];
    let waits = sealed.keys(&at_evening(&["sign"]), &waiting);
    let kinds: Vec<_> = waits
        .iter()
        .map(|one| one["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["overrule", "deviation", "question"]);
    let jot = ["jot", "hare", "ear", "found", "--as", "odile"];
    let kept = sealed.keys(
        &at_evening(&jot),
        &["book", "n", "at", "by", "deed", "text"],
    );
    assert_eq!(
        (&kept[0]["book"], &kept[0]["n"]),
        (&"hare".into(), &11.into())
    );
}

#[test]
fn what_is_reckoned_at_a_step_stands_in_the_standing_with_flat_figures() {
    // The afternoon on which the first coat of primer dries on the trousers of the sample shop.
    let sealed = Sealed::as_of("2026-11-23T15:00:00Z");
    let words = ["standing", "bandmaster", "--json", "--clock"];
    let words = [&words[..], &["2026-11-23T15:00:00+00:00"]].concat();
    let told = sealed.run(&words).out;
    let sum = told
        .lines()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap())
        .find(|fact| fact["about"] == "sum")
        .unwrap();
    assert_eq!(sum["topic"], "recoat");
    assert_eq!(sum["target"], "trousers");
    let hours = |key: &str| sum[key].as_f64().unwrap();
    assert!(0.0 < hours("recoat_opens_in_h"));
    assert!(hours("recoat_opens_in_h") < hours("recoat_closes_in_h"));
    assert!(
        sum["text"]
            .as_str()
            .unwrap()
            .starts_with("next coat not before")
    );
}

#[test]
fn standing_clocks_and_what_waits_are_told_in_columns() {
    let sealed = Sealed::at_work();
    sealed.says(
        &at_evening(&["clocks"]),
        "\
over since 14:19                        hare  cup         J3, medium epoxy  guess, no air reading of this room: 30 min on the sheet, 17 because 26 °C and 99.9 g
ready Thu 26 Nov 08:22, in 14 h 22 min  hare  clamps off  J3, medium epoxy  from sheet: from the sheet
past its date: lot FH-2409-18 of fast-epoxy, 2026-09-30
past its date: lot ZQ-2409-55 of quick-size, 2026-10-31
",
    );
    sealed.says(
        &at_evening(&["sign"]),
        "\
hare  3  overrule   16 °C, below 18 °C: the heater is on (odile)
hare  5  deviation  closed 2 min after the cup was over (odile)
hare  6  question   may J4 be opened today? (odile)
",
    );
    sealed.says(
        &at_evening(&["standing", "hare"]),
        "\
card             running hare, in bench-room, promised 2027-04-16
promise          16 Apr 2027; no forecast is noted yet: one is noted when the day is closed on the screen; `knuckle forecast hare` reckons one now
job      hare:1  Mix, lay up, clamp, release on J3, step 1 of 31: Lay out the clamps in the rehearsed order; the gate dry enough is shut: no moisture reading at depth here
clock    hare:4  cup, J3, medium epoxy: over since 14:19; guess, no air reading of this room: 30 min on the sheet, 17 because 26 °C and 99.9 g
clock    hare:4  clamps off, J3, medium epoxy: ready Thu 26 Nov 08:22, in 14 h 22 min; from the sheet
matter   hare:3  16 °C, below 18 °C: the heater is on (odile)
matter   hare:5  closed 2 min after the cup was over (odile)
matter   hare:6  may J4 be opened today? (odile)
next             Receive, quarantine, survey

This tool reminds; it does not permit. Local codes, the product safety data sheet and label, and qualified or licensed practice win wherever they differ from a card. It measures no air and knows no medical facts about you. In doubt, stop.
",
    );
    let floor = sealed.run(&at_evening(&["standing"])).out;
    let hare = "hare           bench room            0 of 24  Mix, lay up, clamp, release on J3: Lay out the clamps in the rehearsed order  waits for gate: no moisture reading at depth here, last act 14:02; cup over since 14:19; 3 to answer; promised 16 Apr 2027\n";
    assert!(
        floor.starts_with(hare),
        "what dies first comes first: {floor}"
    );
    let (rows, sentence) = floor.rsplit_once("\n\n").unwrap();
    assert_eq!(rows.lines().count(), 5);
    assert_eq!(sentence.trim_end(), knuckle::card::DEFERRAL);
}

#[test]
fn lines_are_kept_by_people_and_by_sensors() {
    let sealed = Sealed::new();
    let odile = ["--as", "odile", "--clock", "2026-11-25T08:00:00Z"];
    let with = |words: &[&'static str]| [words, &odile].concat();
    sealed.says(
        &with(&["jot", "hare", "left", "ear", "found"]),
        "kept as hare:1: noted: left ear found\n",
    );
    sealed.says(
        &with(&["jot", "shop", "rain"]),
        "kept as shop:1: noted: rain\n",
    );
    sealed.says(
        &with(&["air", "bench-room", "--temp", "68F", "--humidity", "48%"]),
        "kept as shop:2: air of bench room: 20 °C, 48 % (hand)\n",
    );
    sealed.says(
        &[
            "air",
            "bench-room",
            "--temp",
            "-2C",
            "--humidity",
            "48%",
            "--source",
            "wall-3",
            "--units",
            "inch",
        ],
        "kept as shop:3: air of bench room: 28.4 °F, 48 % (wall-3)\n",
    );
    let text = fs::read_to_string(sealed.shop().join("journal.jsonl")).unwrap();
    let last: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    assert_eq!(
        (&last["by"], &last["source"]),
        (&"wall-3".into(), &"wall-3".into())
    );
    assert_eq!(
        last["temp_c"], -2.0,
        "journals are metric whatever is shown"
    );
    sealed.says(&["audit"], "2 journals, 4 lines: nothing wrong\n");
}

/// Walks the first operation in memory until its hold point waits, and writes the lines.
#[test]
fn a_hold_is_signed_and_a_question_answered() {
    let sealed = Sealed::at_work();
    let mut bench = Bench::new(sample_cards(), moment("2026-11-24T08:00:00Z"));
    bench.walk_until("heron", "receive", None, &mut |front| {
        matches!(front.ask, Ask::Hold { .. })
    });
    let book = knuckle::standing::Book::Figure("heron".into());
    let times: Vec<String> = bench.lines[&book]
        .iter()
        .map(|line| line.at.to_rfc3339())
        .collect();
    let lines: Vec<(&str, &str, Deed)> = bench.lines[&book]
        .iter()
        .zip(&times)
        .map(|(line, at)| (at.as_str(), line.by.as_str(), line.deed.clone()))
        .collect();
    sealed.write("figures/heron", &lines);
    let n = lines.len() + 1;
    let waits = sealed.run(&at_evening(&["sign"])).out;
    assert!(waits.starts_with("heron  receive  hold"), "{waits}");
    let sign = |who: &'static str, words: &[&'static str]| {
        [
            &["sign"],
            words,
            &["--as", who, "--clock", "2026-11-25T18:00:00Z"],
        ]
        .concat()
    };
    let told = sealed.run(&sign("marguerite", &["heron", "receive", "--accept"]));
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    assert!(
        told.out
            .starts_with(&format!("kept as heron:{n}: signed: ")),
        "{}",
        told.out
    );
    sealed.says(
        &sign(
            "marguerite",
            &["hare", "6", "--accept", "--why", "yes, after the clamps"],
        ),
        "kept as hare:11: answered line 6: yes, after the clamps\n",
    );
    sealed.refuses(
        &sign("marguerite", &["hare", "6", "--accept"]),
        2,
        "line 6 is answered already\n    do: nothing was written",
    );
    sealed.refuses(
        &sign("odile", &["hare", "5", "--accept"]),
        2,
        "Odile has no mark to answer this\n    do: nothing was written",
    );
}

#[test]
fn check_and_audit_tell_what_is_wrong_with_its_place() {
    let sealed = Sealed::at_work();
    sealed.says(&["audit"], "2 journals, 12 lines: nothing wrong\n");
    let owner = ["owner_reference", "owner_referenc"];
    sealed.change("figures/hare/figure.yaml", owner);
    sealed.change("figures/hare/journal.jsonl", ["68.9", "69.9"]);
    let last = "\"text\":\"the day after\"";
    let text = fs::read_to_string(sealed.shop().join("figures/hare/journal.jsonl")).unwrap();
    let line = text.lines().find(|line| line.contains(last)).unwrap();
    let torn = format!("{line}\n{{\"n\":11,");
    sealed.change("figures/hare/journal.jsonl", [&format!("{line}\n"), &torn]);
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 1);
    assert_eq!(
        told.out,
        "figures/hare/figure.yaml:21:1: unknown field `owner_referenc`; did you mean `owner_reference`?\n"
    );
    let keys = ["file", "line", "column", "what", "hint"];
    sealed_keys_with_note(&sealed, &["check"], (&keys, UNSET));
    let told = sealed.run(&["audit"]);
    assert_eq!(told.code, 1);
    assert_eq!(told.out, "\
figures/hare/journal.jsonl:4: the seal does not fit: this line was changed, or the one before it was changed or removed
figures/hare/journal.jsonl:11: the end is torn: 8 bytes after the last whole line; the next act sets them aside
2 journals, 12 lines: 2 wrong
leave these files as they are and look for the same lines in a copy; what is lost is entered anew, and the book goes on
");
    sealed_keys_with_note(
        &sealed,
        &["audit"],
        (&["file", "line", "kind", "wrong", "text"], ""),
    );
}

/// What `check` says of a shop that has not set its emergency lines.
const UNSET: &str =
    "shop.yaml: emergency: SET YOUR NUMBER: no number for ambulance, poison information, doctor\n";

/// As [`Sealed::keys`], for a shop whose cards have a flaw, which is said beside the answer.
#[track_caller]
fn sealed_keys_with_note(sealed: &Sealed, words: &[&str], (keys, note): (&[&str], &str)) {
    let told = sealed.run(&[words, &["--json"]].concat());
    let flaw = "1 flaw on the cards of this shop: `knuckle check` tells them\n";
    assert_eq!(told.err, format!("{flaw}{note}"));
    let first: serde_json::Value = serde_json::from_str(told.out.lines().next().unwrap()).unwrap();
    let found: Vec<&str> = first
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    assert_eq!(found, keys);
}

#[test]
fn without_a_shop_the_sample_is_read_and_nothing_is_written() {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    fs::create_dir(&empty).unwrap();
    let told = sealed.run_in(&empty, &["check"]);
    assert_eq!(told.code, 0);
    let nowhere = "no shop here: this is the sample shop; name yours with --shop DIR\n";
    assert_eq!(told.err, format!("{nowhere}{UNSET}"));
    let told = sealed.run_in(&empty, &["jot", "hare", "x", "--as", "odile"]);
    assert_eq!(told.code, 2);
    assert_eq!(
        told.err,
        "there is no shop to write into\n where: $HOME/empty\n    do: name it with --shop DIR, \
         go into its folder, or make one with `knuckle open-shop DIR`\n"
    );
    assert_eq!(fs::read_dir(&empty).unwrap().count(), 0);
}

/// What names the lot is counted in the journals themselves; how it is told is the golden file.
#[test]
fn recall_tells_of_a_lot_where_it_went_and_how_to_reach_it() {
    let now = "2026-11-25T08:00:00Z";
    let sealed = Sealed::as_of(now);
    let of_one = sealed.run(&["--clock", now, "recall", "--figure", "hare"]);
    assert_eq!((of_one.code, of_one.err.as_str()), (0, ""));
    let told = sealed.run(&["--clock", now, "recall", "--lot", "PW-2607-118"]);
    // This copy lacks the books of two figures that the shop's own book has noted.
    let gone = told.err.matches(": its book is gone, and had ").count();
    assert_eq!((told.code, gone), (1, 2), "{}", told.err);
    // Each naming of the lot in a journal is followed by the one coat that took of it.
    let mut named = 0;
    for figure in ["hare", "heron", "bandmaster"] {
        let journal = sealed
            .shop()
            .join(format!("figures/{figure}/journal.jsonl"));
        let journal = fs::read_to_string(journal).unwrap();
        let here = journal.matches("\"lot\":\"PW-2607-118\"").count();
        let place = format!("  {figure}:");
        assert_eq!(told.out.matches(&place).count(), here, "{}", told.out);
        named += here;
    }
    assert!(2 < named, "several figures took of it");
    golden::check("commands/recall-lot.txt", &told.out);
}

#[test]
fn a_shop_is_opened_and_a_figure_taken_in() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    let told = sealed.run_in(home, &["open-shop", "new"]);
    assert_eq!(
        (told.code, told.out.as_str()),
        (
            0,
            "a new shop: write its rooms, people and emergency lines on $HOME/new/shop.yaml, then `knuckle check`\n"
        )
    );
    // It is the shop used last now, from wherever.
    let told = sealed.run_in(home, &["take-in", "otter", "--carving", "animal"]);
    assert_eq!(
        (told.code, told.out.as_str()),
        (
            0,
            "otter is taken in: write its zones, joints and panels on $HOME/new/figures/otter/figure.yaml, then `knuckle check`\n"
        )
    );
}

#[test]
fn help_manual_and_completions_come_from_the_one_table() {
    let sealed = Sealed::new();
    let help = sealed.run(&["--help"]).out;
    assert_eq!(sealed.run(&["help"]).out, help);
    assert_eq!(
        sealed.run(&["help", "lot", "open"]).out,
        sealed.run(&["lot", "open", "-h"]).out
    );
    let manual = sealed.run(&["man"]).out;
    let completions = sealed.run(&["completions", "bash"]).out;
    let table = Door::command();
    let shown = table.get_subcommands().filter(|one| !one.is_hide_set());
    let shown: BTreeSet<&str> = shown.map(clap::Command::get_name).collect();
    assert_eq!(shown, SHORT.iter().map(|(name, _)| *name).collect());
    assert!(help.lines().count() <= 23, "{help}");
    assert!(help.lines().all(|line| line.len() <= 80), "{help}");
    for command in shown {
        assert!(
            help.contains(&format!("  {command} ")),
            "{command} in the help"
        );
        let roff = command.replace('-', "\\-");
        assert!(manual.contains(&roff), "{command} in the manual");
        assert!(
            completions.contains(command),
            "{command} in the completions"
        );
    }
}
