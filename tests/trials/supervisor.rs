//! What the supervisor and the shop manager ask besides: since when a hold point waits and to whom
//! it goes back, the page of a day on one sheet, the shelf of the coming weeks, places that nobody
//! knows, and lots taken on a yes.

use chrono::{DateTime, FixedOffset};
use knuckle::card::MaterialKind;
use knuckle::deed::{Deed, Line, Recorded, Value, Work};
use knuckle::plan::{coming, stock};
use knuckle::report::tell;
use knuckle::standing::{Ask, AtStep, Matter, Stage, floor, holds, offers};

use crate::kit::sealed::{Sealed, refuse_bodice};
use crate::memory::{Bench, at, sample_cards};

const NOW: &str = "2026-11-25T08:00:00+00:00";

fn sealed_says(words: &[&str]) -> String {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let told = sealed.run_in(&empty, words);
    assert_eq!(told.code, 0, "{}", told.err);
    told.out
}

/// The lion boss with its scheme shown to the supervisor.
fn at_hold() -> Bench {
    let mut bench = Bench::new(sample_cards(), at(NOW));
    bench.walk_until("lion-boss", "scheme", None, &mut |prompt| {
        matches!(prompt.ask, Ask::Hold { .. })
    });
    bench
}

#[test]
fn a_refused_hold_point_waits_since_its_refusal_and_is_signed_only_when_shown_again() {
    let mut bench = at_hold();
    let hand = bench.by.clone();
    let shown = holds(bench.house(), bench.now).remove(0);
    assert_eq!(shown.refused, None);
    bench.wait(90);
    let by = shown.may_sign[0].clone();
    bench.by.clone_from(&by);
    let sign = |accepted, why: &str| AtStep::Sign {
        accepted,
        why: why.to_owned(),
    };
    let refuse = sign(false, "the crown is not drawn");
    bench.at_step("lion-boss", &shown.work, refuse).unwrap();
    let again = holds(bench.house(), bench.now).remove(0);
    assert_eq!(
        (again.since.at, again.line()),
        (bench.now, shown.since.n + 1),
        "it waits since its refusal, which tells of it"
    );
    let told = format!("; refused by {by}: the crown is not drawn");
    assert!(again.told().ends_with(&told), "{}", again.told());
    let prompt = bench.prompt("lion-boss", &shown.work);
    let Ask::Hold { refused, .. } = prompt.ask else {
        panic!("it is still to be signed");
    };
    let refused = refused.unwrap();
    assert_eq!(
        (refused.stamp.by.as_str(), refused.stamp.at),
        (by.as_str(), bench.now)
    );
    assert_eq!(refused.why, "the crown is not drawn");
    let rows = floor(bench.house(), bench.now);
    let row = rows.iter().find(|row| row.figure == "lion-boss").unwrap();
    assert_eq!(
        row.waits_for,
        format!("the bench to put right what {by} refused: the crown is not drawn")
    );
    assert_eq!(row.since, Some(bench.now));
    assert_eq!((row.holds, row.refused), (0, 1));
    // While it is the bench's, nobody signs it and nobody refuses it once more.
    for (accepted, why) in [(true, ""), (false, "still not")] {
        let shut = bench.at_step("lion-boss", &shown.work, sign(accepted, why));
        assert_eq!(
            shut.unwrap_err().why,
            format!("this is back at the bench: refused by {by}: the crown is not drawn")
        );
    }
    // Shown once more and signed, nothing of it is left.
    let again = AtStep::ShowAgain {
        said: "drawn".to_owned(),
    };
    bench.by = hand;
    bench.at_step("lion-boss", &shown.work, again).unwrap();
    bench.by.clone_from(&by);
    bench
        .at_step("lion-boss", &shown.work, sign(true, ""))
        .unwrap();
    let figure = bench.house().figure("lion-boss").unwrap();
    let mut open = figure.unanswered();
    assert!(open.all(|matter| matter.matter != Matter::HoldRefused));
}

#[test]
fn what_was_put_right_is_shown_once_more_and_waits_for_its_signature_again() {
    let mut bench = at_hold();
    let hand = bench.by.clone();
    let hold = holds(bench.house(), bench.now).remove(0);
    let again = |said: &str| AtStep::ShowAgain {
        said: said.to_owned(),
    };
    let early = bench.at_step("lion-boss", &hold.work, again("drawn"));
    assert_eq!(early.unwrap_err().why, "nothing was refused here");
    let refuse = |bench: &mut Bench, why: &str| {
        bench.wait(30);
        bench.by.clone_from(&hold.may_sign[0]);
        let refuse = AtStep::Sign {
            accepted: false,
            why: why.to_owned(),
        };
        bench.at_step("lion-boss", &hold.work, refuse).unwrap();
        bench.wait(45);
        bench.by.clone_from(&hand);
    };
    refuse(&mut bench, "the crown is not drawn");
    let silent = bench.at_step("lion-boss", &hold.work, again(" "));
    assert_eq!(silent.unwrap_err().why, "say what was put right");
    bench
        .at_step("lion-boss", &hold.work, again("crown drawn and numbered"))
        .unwrap();
    let waiting = holds(bench.house(), bench.now).remove(0);
    assert_eq!(waiting.back(), None, "it is no longer the bench's");
    assert_eq!(
        (waiting.since.at, waiting.line()),
        (bench.now, waiting.since.n)
    );
    let by = &hold.may_sign[0];
    let told = format!(
        "; refused by {by}: the crown is not drawn; put right by {hand}: crown drawn and numbered"
    );
    assert!(waiting.told().ends_with(&told), "{}", waiting.told());
    let rows = floor(bench.house(), bench.now);
    let row = rows.iter().find(|row| row.figure == "lion-boss").unwrap();
    assert!(
        row.waits_for.starts_with("signature: "),
        "{}",
        row.waits_for
    );
    assert_eq!(row.since, Some(bench.now));
    let twice = bench.at_step("lion-boss", &hold.work, again("drawn"));
    assert!(twice.unwrap_err().why.contains("already"));
    // Refused a second time, it is the bench's a second time.
    refuse(&mut bench, "the number is missing");
    let waiting = holds(bench.house(), bench.now).remove(0);
    assert_eq!(waiting.back().unwrap().why, "the number is missing");
    // Who puts it right does not sign it as well.
    let may_sign = |bench: &Bench| holds(bench.house(), bench.now).remove(0).may_sign;
    assert!(may_sign(&bench).contains(&"marguerite".to_owned()));
    bench.by = "marguerite".to_owned();
    bench
        .at_step("lion-boss", &hold.work, again("number written"))
        .unwrap();
    assert!(!may_sign(&bench).contains(&"marguerite".to_owned()));
    bench.assert_live_is_replayed();
}

/// Refused, a deviation is the bench's until somebody says what was put right since.
#[test]
fn a_refused_deviation_is_accepted_only_with_what_was_put_right() {
    let sealed = Sealed::at_work();
    let clock = ["--clock", "2026-11-25T18:10:00Z", "--as", "marguerite"];
    let said = |words: &[&str]| sealed.run(&[words, &clock[..]].concat());
    let rows = |words: &[&str]| -> Vec<serde_json::Value> {
        let told = said(&[words, &["--json"]].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        let lines = told.out.lines();
        lines
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    };
    let kinds = || -> Vec<String> {
        let waiting = rows(&["sign"]);
        let kinds = waiting.iter().map(|one| one["kind"].as_str().unwrap());
        kinds.map(str::to_owned).collect()
    };
    let waiting = rows(&["sign"]);
    let deviation = waiting.iter().find(|one| one["kind"] == "deviation");
    let line = deviation.unwrap()["line"].to_string();
    let refuse = ["sign", "hare", &line, "--refuse", "--why", "weigh it anew"];
    assert_eq!(said(&refuse).code, 0);
    assert_eq!(kinds(), ["overrule", "question", "refused"]);
    let floor = rows(&["standing"]);
    let hare = floor.iter().find(|row| row["figure"] == "hare").unwrap();
    assert_eq!(
        (&hare["unanswered"], &hare["refused"]),
        (&2.into(), &1.into())
    );
    let page = said(&["day", "--page"]).out;
    assert_eq!(
        page.matches("back at the bench since 18:10").count(),
        1,
        "{page}"
    );
    let silent = said(&["sign", "hare", &line, "--accept"]);
    assert_eq!(silent.code, 2);
    assert!(
        silent
            .err
            .contains("it was refused: say what was put right since"),
        "{}",
        silent.err
    );
    let accept = ["sign", "hare", &line, "--accept", "--why", "weighed anew"];
    assert_eq!(said(&accept).code, 0);
    assert_eq!(kinds(), ["overrule", "question"]);
}

/// Put right at the bench, it waits for its answer again, and who mended it does not answer.
#[test]
fn a_refused_deviation_that_was_put_right_waits_for_a_second_pair_of_eyes_again() {
    let sealed = Sealed::at_work();
    let said = |by: &str, words: &[&str]| {
        let clock = ["--clock", "2026-11-25T18:10:00Z", "--as", by];
        sealed.run(&[words, &clock].concat())
    };
    let kinds = || -> Vec<(String, String)> {
        let told = said("marguerite", &["sign", "--json"]).out;
        let lines = told.lines().map(|line| serde_json::from_str(line).unwrap());
        let lines: Vec<serde_json::Value> = lines.collect();
        let text = |it: &serde_json::Value| it.as_str().unwrap().to_owned();
        let rows = lines.iter().filter(|one| one["figure"] == "hare");
        rows.map(|one| (text(&one["kind"]), text(&one["text"])))
            .collect()
    };
    let line = said("marguerite", &["sign", "--json"]).out;
    let mut lines = line.lines().map(|line| serde_json::from_str(line).unwrap());
    let deviation: serde_json::Value = lines
        .find(|one: &serde_json::Value| one["kind"] == "deviation")
        .unwrap();
    let line = deviation["line"].to_string();
    // Nothing was refused yet.
    let early = said(
        "odile",
        &["sign", "hare", &line, "--again", "--why", "weighed anew"],
    );
    assert_eq!(early.code, 2);
    let words = "is nothing that was refused and waits to be put right";
    assert!(early.err.contains(words), "{}", early.err);
    let refuse = ["sign", "hare", &line, "--refuse", "--why", "weigh it anew"];
    assert_eq!(said("marguerite", &refuse).code, 0);
    assert_eq!(said("tobias", &["sign", "hare", &line, "--again"]).code, 2);
    let again = ["sign", "hare", &line, "--again", "--why", "weighed anew"];
    let told = said("tobias", &again);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(
        told.out
            .contains(&format!("put right line {line}: weighed anew")),
        "{}",
        told.out
    );
    let (kind, text) = kinds().into_iter().find(|it| it.0 == "deviation").unwrap();
    assert_eq!(kind, "deviation");
    let whole = "refused by marguerite: weigh it anew; put right by tobias: weighed anew";
    assert!(text.ends_with(whole), "{text}");
    let page = said("marguerite", &["day", "--page"]).out;
    assert!(!page.contains("back at the bench"), "{page}");
    assert!(page.contains("put right by tobias: weighed anew"), "{page}");
    // Tobias may sign, but not what he put right.
    let own = said("tobias", &["sign", "hare", &line, "--accept"]);
    assert!(
        own.err.contains("a second pair of eyes must answer this"),
        "{}",
        own.err
    );
    assert_eq!(said("tobias", &again).code, 2);
    // Refused once more it is the bench's once more; put right and accepted it is done.
    assert_eq!(said("marguerite", &refuse).code, 0);
    assert!(kinds().iter().any(|(kind, _)| kind == "refused"));
    assert_eq!(said("tobias", &again).code, 0);
    let accept = said("marguerite", &["sign", "hare", &line, "--accept"]);
    assert_eq!(accept.code, 0, "{}", accept.err);
    let left: Vec<String> = kinds().into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(left, ["overrule", "question"]);
    let entry = said("marguerite", &["day", "--line", &format!("hare:{line}")]);
    assert_eq!(
        entry.out.matches("put right by hare:").count(),
        2,
        "{}",
        entry.out
    );
}

/// The line that tells of a hold point names it, to whoever shows it again and to whoever signs.
#[test]
fn a_hold_point_is_shown_again_and_signed_by_its_line() {
    let sealed = Sealed::whole();
    let said = |by: &str, words: &[&str]| {
        let clock = ["--clock", "2026-11-25T15:00:00Z", "--json", "--as", by];
        sealed.run(&[words, &clock[..]].concat())
    };
    let line = |told: crate::kit::sealed::Told| {
        assert_eq!(told.code, 0, "{}", told.err);
        let last: serde_json::Value =
            serde_json::from_str(told.out.lines().next_back().unwrap()).unwrap();
        format!("lantern-woman:{}", last["n"])
    };
    let refuse = refuse_bodice("red left");
    let refused = line(said("tobias", &refuse));
    let shut = said("tobias", &["sign", &refused, "--accept"]);
    assert_eq!(shut.code, 2);
    assert!(shut.err.contains("back at the bench"), "{}", shut.err);
    let elsewhere = said(
        "ines",
        &["sign", "hare:2", "--again", "--why", "red taken off"],
    );
    assert!(
        elsewhere
            .err
            .contains("line 2 of hare is nothing that was refused and waits to be put right"),
        "{}",
        elsewhere.err
    );
    let again = ["sign", &refused, "--again", "--why", "red taken off"];
    let shown = line(said("ines", &again));
    line(said("tobias", &["sign", &shown, "--accept"]));
}

/// Of a day with more rows than one sheet takes in letters of the usual size, smaller letters keep
/// all of them on one sheet.
#[test]
fn the_busiest_day_of_the_sample_stands_on_one_sheet() {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let words = [
        "day",
        "2026-11-12",
        "--page",
        "--clock",
        "2026-11-25T08:00:00Z",
    ];
    let out = ["--out", "day.pdf"];
    let told = sealed.run_in(&empty, &[&words[..], &out].concat());
    assert_eq!(told.code, 0, "{}", told.err);
    let file = std::fs::read(empty.join("day.pdf")).unwrap();
    let file = String::from_utf8_lossy(&file);
    assert!(file.contains("/Type /Pages /Count 1 "));
}

/// What the shelf says of a kind of which there is no lot at all.
#[test]
fn a_material_without_a_lot_is_to_be_ordered_whole() {
    let mut cards = sample_cards();
    for card in cards.materials.values_mut() {
        if card.kind == MaterialKind::Varnish {
            card.lots.clear();
        }
    }
    let bench = Bench::new(cards, at(NOW));
    let shelf = stock(bench.house(), bench.now.date_naive());
    let varnish = shelf
        .needs
        .iter()
        .find(|need| need.material == "oil-varnish");
    let varnish = varnish.expect("the routes end with varnish");
    assert_eq!((varnish.lots, varnish.left), (0, Some(0.0)));
    assert_eq!(varnish.order, Some(varnish.need));
    let weeks = coming(bench.house(), (bench.now, *bench.now.offset()), &shelf);
    let name = &bench.cards.materials["oil-varnish"].name;
    let lacking = weeks
        .lacking
        .iter()
        .find(|(lack, ..)| lack.contains(name.as_str()));
    assert!(
        lacking.is_some_and(|(_, jobs, _)| 0 < *jobs),
        "{:?}",
        weeks.lacking
    );
}

/// What no sum reckons is told by its kind: every work that takes remover or rinse is counted, and
/// nothing that a sum reckons is among it.
#[test]
fn what_no_sum_reckons_is_told_with_its_jobs() {
    let bench = Bench::new(sample_cards(), at(NOW));
    let house = bench.house();
    let shelf = stock(house, bench.now.date_naive());
    let weeks = coming(house, (bench.now, *bench.now.offset()), &shelf);
    let kinds: Vec<MaterialKind> = weeks.besides.iter().map(|one| one.kind).collect();
    for kind in [MaterialKind::Stripper, MaterialKind::Rinse] {
        assert!(kinds.contains(&kind), "{kinds:?}");
    }
    for kind in [MaterialKind::Primer, MaterialKind::Leaf, MaterialKind::Size] {
        assert!(!kinds.contains(&kind), "{kinds:?}");
    }
    let strippers = |id: &str| {
        let list = &bench.cards.checklists[id];
        let mut records = list.steps.iter().flat_map(|step| &step.record);
        records.any(|record| record.lot == Some(MaterialKind::Stripper))
    };
    let ahead = bench.cards.figures.keys().flat_map(|id| offers(house, id));
    let jobs = ahead
        .filter(|offer| offer.stage != Stage::Done && strippers(&offer.work.operation))
        .count();
    let told = weeks.besides.iter();
    let told = told.clone().find(|one| one.kind == MaterialKind::Stripper);
    assert_eq!(told.map(|one| one.jobs as usize), Some(jobs));
}

/// The weeks add up to no more than all that the routes need, each falls on its Monday, and what is
/// begun first is needed first.
#[test]
fn the_weeks_are_a_part_of_what_the_routes_need() {
    let page = sealed_says(&["stock", "--json", "--clock", NOW]);
    let rows: Vec<serde_json::Value> = page
        .lines()
        .map(|row| serde_json::from_str(row).unwrap())
        .collect();
    let of = |kind: &str| {
        let kind = kind.to_owned();
        rows.iter().filter(move |row| row["row"] == kind)
    };
    assert!(0 < of("week").count(), "{page}");
    for need in of("need") {
        let same = |row: &&serde_json::Value| {
            row["material"] == need["material"] && row["part"] == need["part"]
        };
        let weeks: f64 = of("week")
            .filter(same)
            .map(|row| row["need"].as_f64().unwrap())
            .sum();
        // Each week is rounded to a tenth by itself.
        let all = need["need"].as_f64().unwrap();
        assert!(weeks <= all + 0.2, "{need} {weeks}");
    }
    for week in of("week") {
        let monday: chrono::NaiveDate = week["monday"].as_str().unwrap().parse().unwrap();
        assert_eq!(monday.format("%a").to_string(), "Mon");
        assert!(("2026-11-23".."2026-12-15").contains(&week["monday"].as_str().unwrap()));
    }
    // The strap is sized tonight by the likely plan, and its leaf follows.
    let gold = of("week")
        .find(|row| row["material"] == "gold-leaf-80")
        .unwrap();
    assert_eq!(gold["monday"], "2026-11-23", "{page}");
}

#[test]
fn a_place_that_nobody_knows_is_said_to_be_so_and_a_panel_brings_its_zone() {
    let sealed = Sealed::new();
    let empty = sealed.home.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let recall =
        |zone: &str| sealed.run_in(&empty, &["recall", "--figure", "heron", "--zone", zone]);
    let slip = recall("strop");
    assert_eq!((slip.code, slip.out.as_str()), (2, ""));
    assert!(
        slip.err
            .contains("no zone, joint or panel of heron is called `strop`; did you mean `strap`?"),
        "{}",
        slip.err
    );
    let panel = recall("breast-strap");
    assert!(
        panel.out.contains("heron:670"),
        "the ground of the panel\n{}",
        panel.out
    );
}

#[test]
fn a_lot_taken_on_a_yes_is_told_with_its_date() {
    let cards = sample_cards();
    let line = |lot: &str, at: DateTime<FixedOffset>| Line {
        n: 1,
        at,
        by: "wren".into(),
        bench: "bench 1".into(),
        deed: Deed::Recorded(Recorded {
            work: Work {
                operation: "size-and-leaf".into(),
                target: Some("breast-strap".into()),
                round: 1,
            },
            step: "strain".into(),
            record: "size".into(),
            station: None,
            measure: None,
            value: Value::Text(lot.into()),
            asked_again: true,
        }),
        entered_later: None,
        strange: Vec::new(),
    };
    let told = |lot: &str, day: &str| tell(&line(lot, at(day)), &cards);
    assert_eq!(
        told("ZQ-2409-55", NOW),
        "size: ZQ-2409-55, past its date, 2026-10-31, taken all the same (breast-strap)"
    );
    // On its last day it was not past; it was asked for as a sealed tin.
    assert_eq!(
        told("ZQ-2409-55", "2026-10-31T08:00:00+00:00"),
        "size: ZQ-2409-55, still sealed till then (breast-strap)"
    );
    assert_eq!(
        told("X-1", NOW),
        "size: X-1, past its date or still sealed, taken all the same (breast-strap)"
    );
}

/// Lots of which nobody knows what is left are not empty: nothing is ordered past them.
#[test]
fn one_known_lot_makes_no_nothing_of_the_others() {
    let holding = |amount: &str| {
        let sealed = Sealed::whole();
        let lot = [
            "lot",
            "open",
            "slow-size",
            "ZS-2700-01",
            "--as",
            "marguerite",
        ];
        let at = "2026-11-25T15:00:00Z";
        sealed.told_at(at, &[&lot[..], &["--holds", amount]].concat());
        sealed.told_at(at, &["stock"])
    };
    let page = holding("20ml");
    let mut rows = page.lines().filter(|row| row.starts_with("slow-size "));
    let row = rows.find(|row| row.contains(" jobs ")).unwrap();
    let words = "left at least 20 ml, 3 of 4 lots not known: look";
    assert!(row.ends_with(words) && !row.contains("order"), "{row}");
    // A known drop makes no "not enough" of the weeks either.
    let page = holding("1ml");
    let weeks = page.split("what the weeks need").nth(1).unwrap();
    let row = weeks.lines().find(|row| row.starts_with("slow-size "));
    let row = row.unwrap();
    assert!(
        row.ends_with("a part of what is left is known: look"),
        "{row}"
    );
}

/// A refusal is among the answers with its time and reason; the hold point is the bench's again.
#[test]
fn a_refusal_stands_among_the_answers_and_its_hold_point_at_the_bench() {
    let sealed = Sealed::whole();
    let says = |words: &[&str]| {
        let told = sealed.run(words);
        assert_eq!(told.code, 0, "{}", told.err);
        told.out
    };
    let why = "witness patch touched";
    let hold = ["sign", "lantern-woman", "strip", "bodice", "--refuse"];
    let by = ["--as", "marguerite", "--clock", "2026-11-25T14:00:00Z"];
    says(&[&hold[..], &["--why", why], &by].concat());
    let clock = ["--clock", "2026-11-25T15:00:00Z"];
    let list = says(&[&["sign"], &clock[..]].concat());
    let mut rows = list.lines().rev();
    let way = rows.next().unwrap();
    assert!(way.contains("`knuckle sign FIGURE LINE --again --why WHAT`"));
    let row = rows.next().unwrap();
    assert!(
        row.starts_with("lantern-woman  strip bodice  refused hold  back at the bench: ")
            && row.contains("refused by marguerite: witness patch touched"),
        "{list}"
    );
    let page = says(&[&["day", "--page"], &clock[..]].concat());
    let (_, from) = page.split_once("point 2").unwrap();
    let (point, _) = from.split_once("point 3").unwrap();
    for words in [
        "14:00 lantern-woman: refused: Strip layer by layer on bodice, round 2: ",
        "untouched: witness patch touched (marguerite)",
        "round 2: back at the bench since 14:00: The zone stands",
    ] {
        assert!(point.contains(words), "{words}\n{point}");
    }
    assert!(
        !point.contains("by tobias or marguerite)  [lantern-woman"),
        "{point}"
    );
}
