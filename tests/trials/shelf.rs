//! What an operation takes and the shelf lacks is said at its beginning; a balance of coarse
//! steps says why its cup is large.

use knuckle::card::{Cards, MaterialKind};
use knuckle::deed::{Begun, Deed, Forecasted, Promise, Work};
use knuckle::disk::{RealDisk, replace};
use knuckle::standing::{Book, Prompt, StepSum, Weight, shelf_lacks};

use crate::kit::sealed::Sealed;
use crate::memory::{Bench, at, sample_cards};

const NOW: &str = "2026-11-25T08:00:00+00:00";

fn work(operation: &str, target: &str) -> Work {
    Work {
        operation: operation.into(),
        target: Some(target.into()),
        round: 1,
    }
}

/// The sample shop's cards with the lots that stay.
fn with_lots(stays: impl Fn(MaterialKind, &str) -> bool) -> Cards {
    let mut cards = sample_cards();
    for card in cards.materials.values_mut() {
        let kind = card.kind;
        card.lots.retain(|lot| stays(kind, &lot.part));
    }
    cards
}

fn begun(cards: Cards, figure: &str, work: &Work) -> (Bench, Prompt) {
    let mut bench = Bench::new(cards, at(NOW));
    let deed = Deed::Begun(Begun::of(work.clone()));
    bench.keep(&Book::Figure(figure.into()), deed);
    let prompt = bench.prompt(figure, work);
    (bench, prompt)
}

fn shelf(prompt: &Prompt) -> Option<&StepSum> {
    prompt.sums.iter().find(|sum| sum.topic == "shelf")
}

#[test]
fn what_the_shelf_lacks_is_said_at_the_first_step_and_shuts_nothing() {
    let glue = work("mix-and-lay-up", "J3");
    let (_, full) = begun(sample_cards(), "hare", &glue);
    assert_eq!(shelf(&full), None);
    let no_hardener = with_lots(|kind, part| kind != MaterialKind::Epoxy || part != "b");
    let (_, prompt) = begun(no_hardener, "hare", &glue);
    let said = shelf(&prompt).unwrap();
    assert!(
        said.line.starts_with("the shelf lacks hardener of "),
        "{}",
        said.line
    );
    assert_eq!(said.weight, Weight::Mind);
    assert_eq!(prompt.sums[0].topic, "shelf", "it comes first");
    assert_eq!(prompt.ask, full.ask, "it gates nothing");
    let nothing = with_lots(|kind, _| kind != MaterialKind::Epoxy);
    let (_, prompt) = begun(nothing, "hare", &glue);
    assert!(
        shelf(&prompt)
            .unwrap()
            .line
            .starts_with("the shelf lacks resin and hardener of "),
        "{prompt:?}"
    );
}

#[test]
fn one_whole_material_of_a_kind_is_enough_and_past_its_date_is_none() {
    let glue = work("mix-and-lay-up", "J3");
    let lacks = |cards: &Cards, figure: &str, work: &Work| {
        let bench = Bench::new(cards.clone(), at(NOW));
        shelf_lacks(bench.house(), (figure, work), at(NOW).date_naive())
    };
    let mut cards = sample_cards();
    cards
        .materials
        .get_mut("medium-epoxy")
        .unwrap()
        .lots
        .clear();
    assert_eq!(lacks(&cards, "hare", &glue), Vec::<String>::new());
    cards
        .materials
        .retain(|id, card| card.kind != MaterialKind::Epoxy || id == "slow-epoxy");
    for lot in &mut cards.materials.get_mut("slow-epoxy").unwrap().lots {
        lot.expires = at("2026-11-24T08:00:00+00:00").date_naive().into();
    }
    let said = ["resin and hardener of slow epoxy 100:40 by weight in date"];
    assert_eq!(lacks(&cards, "hare", &glue), said);
    for lot in &mut cards.materials.get_mut("slow-epoxy").unwrap().lots {
        lot.expires = at(NOW).date_naive().into();
    }
    assert_eq!(
        lacks(&cards, "hare", &glue),
        Vec::<String>::new(),
        "its last day counts"
    );
    cards
        .materials
        .retain(|_, card| card.kind != MaterialKind::Epoxy);
    let said = ["a material of kind `epoxy`: no card is of it"];
    assert_eq!(lacks(&cards, "hare", &glue), said);
}

#[test]
fn a_panel_lacks_its_own_leaf_and_not_another() {
    let mut cards = sample_cards();
    let (figure, panel) = cards
        .figures
        .iter()
        .find_map(|(id, card)| {
            let gold = card
                .panels
                .iter()
                .find(|panel| panel.leaf == "gold-leaf-80")?;
            Some((id.clone(), gold.id.clone()))
        })
        .unwrap();
    cards
        .materials
        .get_mut("gold-leaf-80")
        .unwrap()
        .lots
        .clear();
    let bench = Bench::new(cards, at(NOW));
    let leafing = work("size-and-leaf", &panel);
    assert_eq!(
        shelf_lacks(bench.house(), (&figure, &leafing), at(NOW).date_naive()),
        ["gold leaf 80 mm, 25 leaves to the book"]
    );
}

#[test]
fn the_standing_of_a_figure_tells_it_before_anybody_begins() {
    let sealed = Sealed::as_of(NOW);
    let ask = ["standing", "hare", "--clock", NOW];
    let before = sealed.run(&ask).out;
    assert!(!before.contains("the shelf lacks"), "{before}");
    assert!(
        before.contains("promise  ") && before.contains("no forecast is noted yet"),
        "{before}"
    );
    for entry in std::fs::read_dir(sealed.shop().join("materials")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let (card, _) = text.split_once("\nlots:").unwrap();
        replace(&RealDisk, &path, format!("{card}\n").as_bytes()).unwrap();
    }
    let told = sealed.run(&ask);
    assert_eq!(told.code, 0, "{}", told.err);
    let rows: Vec<&str> = told
        .out
        .lines()
        .filter(|row| row.starts_with("shelf  "))
        .collect();
    assert!(!rows.is_empty(), "{}", told.out);
    assert!(
        rows.iter().all(|row| row.contains(": the shelf lacks ")),
        "{rows:?}"
    );
    let distinct: std::collections::BTreeSet<&&str> = rows.iter().collect();
    assert_eq!(distinct.len(), rows.len(), "each is said once");
}

/// A day was closed with a forecast: the promise is held against it, with its age.
#[test]
fn a_promise_is_held_against_the_forecast_that_was_noted_last() {
    let sealed = Sealed::new();
    let row = |figure: &str, risk_percent, day: &str| Promise {
        figure: figure.into(),
        ninety: Some(day.parse().unwrap()),
        fifty: None,
        give_days: None,
        risk_percent: Some(risk_percent),
        moved_by: Vec::new(),
    };
    let noted = Deed::Forecasted(Forecasted {
        rows: vec![row("hare", 62, "2027-05-03"), row("heron", 8, "2027-03-20")],
    });
    sealed.write("", &[("2026-11-24T17:30:00+00:00", "marguerite", noted)]);
    let clock = ["--clock", "2026-11-25T08:00:00Z"];
    let run = |words: &[&str]| sealed.run(&[words, &clock].concat()).out;
    let hare = run(&["standing", "hare"]);
    let said = "16 Apr 2027; ▲ at risk: 90 % by 3 May 2027, late in 62 % of runs; forecast noted 1 day ago";
    assert!(hare.contains(said), "{hare}");
    let heron = run(&["standing", "heron"]);
    let said = "26 Mar 2027; 90 % by 20 Mar 2027, late in 8 % of runs; forecast noted 1 day ago";
    assert!(heron.contains(said), "{heron}");
    let all = run(&["standing"]);
    let row = |name: &str| all.lines().find(|row| row.starts_with(name)).unwrap();
    assert!(
        row("hare").contains("▲ promised 16 Apr 2027, 90 % by 3 May 2027"),
        "{all}"
    );
    assert!(!row("heron").contains('▲'), "{all}");
    let json = run(&["standing", "--json"]);
    let rows: Vec<serde_json::Value> = json
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let of = |name: &str| rows.iter().find(|row| row["figure"] == name).unwrap();
    assert_eq!(of("hare")["at_risk"], true);
    assert_eq!(of("hare")["by_90_percent"], "2027-05-03");
    assert_eq!(of("heron")["at_risk"], false);
    assert_eq!(of("lion-boss")["at_risk"], serde_json::Value::Null);
}
