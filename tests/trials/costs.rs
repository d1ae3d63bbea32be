//! What materials cost: prices of lots, what was used of them, and what is left in value.

use std::sync::OnceLock;

use chrono::NaiveDate;
use knuckle::card::{Cards, Lot, Measure};
use knuckle::deed::{CoatLaid, Deed, Done, Finished, Mixed, Pack, Recorded, Value, Work};
use knuckle::plan::{BlockUse, stock, used_by_block};
use knuckle::standing::{Book, Intent};
use proptest::prelude::*;

use crate::kit::sealed::Sealed;
use crate::memory::{Bench, at, sample_cards};

const NOW: &str = "2026-11-25T08:00:00+00:00";

/// The same tins of epoxy and nothing else: small enough to be made anew for every case.
fn glue_only() -> Bench {
    static CARDS: OnceLock<Cards> = OnceLock::new();
    let cards = CARDS.get_or_init(|| {
        let mut cards = bench().cards;
        cards.figures.clear();
        cards.checklists.retain(|id, _| id == "mix-and-lay-up");
        cards.materials.retain(|id, _| id == "medium-epoxy");
        cards
    });
    Bench::new(cards.clone(), at(NOW))
}

/// The lots of the worked example: 1,000 g of resin for 40.00, 450 g of hardener for 27.00,
/// 750 ml of primer for 18.00, a book of 25 leaves for 46.00, a size without a price.
fn bench() -> Bench {
    let mut bench = Bench::new(sample_cards(), at(NOW));
    let lots = |bench: &mut Bench, material: &str, lots: &[Lot]| {
        bench.cards.materials.get_mut(material).unwrap().lots = lots.to_vec();
    };
    let tin = |lot: &str, part: &str| Lot {
        lot: lot.into(),
        part: part.into(),
        ..Lot::default()
    };
    let resin = Lot {
        holds_g: Some(1000),
        price: Some(40.0),
        ..tin("R", "a")
    };
    let hardener = Lot {
        holds_g: Some(450),
        price: Some(27.0),
        ..tin("H", "b")
    };
    lots(&mut bench, "medium-epoxy", &[resin, hardener]);
    let primer = Lot {
        holds_ml: Some(750),
        price: Some(18.0),
        ..tin("P", "")
    };
    lots(&mut bench, "oil-primer", &[primer]);
    let gold = Lot {
        price: Some(46.0),
        ..tin("AU", "")
    };
    lots(&mut bench, "gold-leaf-80", &[gold]);
    lots(&mut bench, "slow-size", &[tin("Z", "")]);
    let heron = bench.cards.figures.get_mut("heron").unwrap();
    heron.zones[0].area_m2 = 0.9;
    heron.zones[0].solids.clear();
    heron.zones[0].relief = 1.0;
    bench
}

fn work(operation: &str, target: &str) -> Work {
    Work {
        operation: operation.into(),
        target: Some(target.into()),
        round: 1,
    }
}

fn heron() -> Book {
    Book::Figure("heron".into())
}

fn mixed(lots: [&str; 2], [a_g, b_g]: [f64; 2]) -> Deed {
    Deed::Mixed(Mixed {
        work: work("mix-and-lay-up", "J1"),
        step: "mix".into(),
        material: "medium-epoxy".into(),
        lots: lots.map(str::to_owned),
        a_g,
        b_g,
        off_percent: 0.0,
        resin_c: None,
        starts: Vec::new(),
    })
}

fn primed(bench: &mut Bench, lot: Option<&str>) {
    let zone = bench.cards.figures["heron"].zones[0].id.clone();
    let coat = CoatLaid {
        material: "oil-primer".into(),
        lot: lot.map(str::to_owned),
        number: 1,
        of: 2,
        stripe: false,
    };
    let done = Deed::Done(Done {
        work: work("prime", &zone),
        step: "coat#1".into(),
        starts: Vec::new(),
        ends: Vec::new(),
        coat: Some(coat),
    });
    bench.keep(&heron(), done);
}

fn noted(bench: &mut Bench, (step, record): (&str, &str), measure: Option<Measure>, value: Value) {
    let deed = Recorded {
        work: work("size-and-leaf", "crest"),
        step: step.into(),
        record: record.into(),
        station: None,
        measure,
        value,
        asked_again: false,
    };
    bench.keep(&heron(), Deed::Recorded(deed));
}

fn told(rows: &[BlockUse]) -> Vec<(&str, &str, Option<f64>)> {
    let cents = |cost: f64| (cost * 1000.0).round() / 1000.0;
    rows.iter()
        .map(|row| (row.tin.lot.as_str(), row.unit, row.cost.map(cents)))
        .collect()
}

/// By hand: 68.9 g of 1,000 g for 40.00 are 2.756; 31.0 g of 450 g for 27.00 are 1.86.
/// 0.9 m² at 9 m² a litre are 100 ml, of 750 ml for 18.00, so 2.40. 35 leaves of books of 25
/// for 46.00 are 64.40.
#[test]
fn what_was_used_costs_its_share_of_the_tin() {
    let mut bench = bench();
    bench.keep(&heron(), mixed(["R", "H"], [68.9, 31.0]));
    primed(&mut bench, Some("P"));
    noted(
        &mut bench,
        ("strain", "size"),
        None,
        Value::Text("Z".into()),
    );
    noted(&mut bench, ("leaf", "leaf"), None, Value::Text("AU".into()));
    let leaves = Some(Measure::Leaves);
    noted(&mut bench, ("count", "leaves"), leaves, Value::Number(35.0));
    let rows = used_by_block(bench.house());
    assert_eq!(
        told(&rows),
        [
            ("H", "g", Some(1.86)),
            ("R", "g", Some(2.756)),
            ("P", "ml", Some(2.4)),
            ("AU", "leaves", Some(64.4)),
            ("Z", "ml", None),
        ]
    );
    let left = stock(bench.house(), at(NOW).date_naive()).lots;
    let value = |lot: &str| left.iter().find(|it| it.lot == lot).unwrap().value;
    // 931.1 g of resin are left, at 4 cents a gram.
    assert!((value("R").unwrap() - 37.244).abs() < 1e-9);
    assert_eq!(value("AU"), None, "nobody said how many books there were");
    assert_eq!(value("Z"), None);
}

#[test]
fn a_use_without_lot_or_amount_is_never_free() {
    let mut bench = bench();
    primed(&mut bench, Some("P"));
    primed(&mut bench, None);
    noted(&mut bench, ("leaf", "leaf"), None, Value::Text("AU".into()));
    let rows = used_by_block(bench.house());
    let whole: Vec<(&str, bool, Option<f64>)> = rows
        .iter()
        .map(|row| (row.tin.lot.as_str(), row.is_whole(), row.cost))
        .collect();
    assert_eq!(
        whole,
        [
            ("", false, None),
            ("P", true, Some(2.4)),
            ("AU", false, None)
        ]
    );
    let shelf = stock(bench.house(), at(NOW).date_naive()).lots;
    let gold = shelf.iter().find(|lot| lot.lot == "AU").unwrap();
    assert_eq!((gold.uses, gold.unmeasured), (1, 1));
}

/// A lot for which no job ahead was reckoned is held against what a job took of it so far: one coat
/// on the zone of the worked example takes 100 ml.
#[test]
fn less_than_one_job_took_so_far_is_marked() {
    let marked = |holds: u32| {
        let mut bench = bench();
        for card in bench.cards.figures.values_mut() {
            card.route.clear();
        }
        let card = bench.cards.materials.get_mut("oil-primer").unwrap();
        card.lots[0].holds_ml = Some(holds);
        primed(&mut bench, Some("P"));
        let zone = bench.cards.figures["heron"].zones[0].id.clone();
        let work = work("prime", &zone);
        bench.keep(&heron(), Deed::Finished(Finished { work }));
        let lots = stock(bench.house(), at(NOW).date_naive()).lots;
        let tin = lots.into_iter().find(|one| one.lot == "P").unwrap();
        assert!((tin.used - 100.0).abs() < 0.5, "{tin:?}");
        tin.under_one_job
    };
    assert!(!marked(210), "110 ml are left");
    assert!(marked(190), "90 ml are left");
}

#[test]
fn two_parts_that_share_a_number_are_two_tins() {
    let mut bench = bench();
    for lot in &mut bench.cards.materials.get_mut("medium-epoxy").unwrap().lots {
        lot.lot = "KIT-7".into();
    }
    bench.keep(&heron(), mixed(["KIT-7", "KIT-7"], [100.0, 45.0]));
    let left = stock(bench.house(), at(NOW).date_naive()).lots;
    let left: Vec<_> = left.iter().filter(|lot| lot.lot == "KIT-7").collect();
    let left: Vec<_> = left.iter().map(|lot| (lot.used, lot.left)).collect();
    assert_eq!(left, [(100.0, Some(900.0)), (45.0, Some(405.0))]);
}

#[test]
fn a_tin_that_came_since_brings_its_price_and_a_price_says_for_how_much() {
    let mut bench = bench();
    let open = |material: &str, lot: &str, pack: Pack| Intent::OpenLot {
        material: material.into(),
        lot: lot.into(),
        part: String::new(),
        expires: NaiveDate::from_ymd_opt(2028, 1, 31),
        pack,
    };
    let priced = Pack {
        price: Some(24.0),
        ..Pack::default()
    };
    let refused = bench.act(&open("oil-primer", "NEW", priced)).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "24 is the price of how much of oil primer, grey-white?"
    );
    let grams = Pack {
        holds_g: Some(500),
        ..priced
    };
    let refused = bench.act(&open("oil-primer", "NEW", grams)).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "oil primer, grey-white is counted in ml, not in g"
    );
    for price in [-1.0, f64::NAN, f64::INFINITY] {
        let wrong = Pack {
            holds_ml: Some(500),
            price: Some(price),
            ..Pack::default()
        };
        bench.act(&open("oil-primer", "NEW", wrong)).unwrap_err();
    }
    let whole = Pack {
        holds_ml: Some(500),
        ..priced
    };
    bench.act(&open("oil-primer", "NEW", whole)).unwrap();
    primed(&mut bench, Some("NEW"));
    // 100 ml of 500 ml for 24.00.
    assert_eq!(
        told(&used_by_block(bench.house())),
        [("NEW", "ml", Some(4.8))]
    );
    bench.assert_live_is_replayed();
}

proptest! {
    /// Over all figures and blocks the costs come to what each tin lost of its price.
    #[test]
    fn the_parts_come_to_the_whole(
        prices in prop::array::uniform2(0.0..500.0_f64),
        holds in prop::array::uniform2(1..5000_u32),
        cups in prop::collection::vec((0.1..400.0_f64, 0.1..200.0_f64, any::<bool>()), 0..12),
    ) {
        let mut bench = glue_only();
        let lots = &mut bench.cards.materials.get_mut("medium-epoxy").unwrap().lots;
        for ((lot, price), holds) in lots.iter_mut().zip(prices).zip(holds) {
            (lot.price, lot.holds_g) = (Some(price), Some(holds));
        }
        let mut grams = [0.0, 0.0];
        for (a, b, on_hare) in &cups {
            let figure = if *on_hare { "hare" } else { "heron" };
            bench.keep(&Book::Figure(figure.into()), mixed(["R", "H"], [*a, *b]));
            grams = [grams[0] + a, grams[1] + b];
        }
        let rows = used_by_block(bench.house());
        let sum: f64 = rows.iter().map(|row| row.cost.unwrap()).sum();
        let each = grams.iter().zip(prices).zip(holds);
        let whole: f64 = each.map(|((g, price), holds)| g / f64::from(holds) * price).sum();
        prop_assert!((sum - whole).abs() <= 1e-9 * whole.max(1.0), "{sum} and {whole}");
        // And what was used and what is left are the tin, where it was not overdrawn.
        let shelf = stock(bench.house(), at(NOW).date_naive()).lots;
        for ((lot, price), (grams, holds)) in
            shelf.iter().filter(|lot| lot.material == "medium-epoxy").zip(prices).zip(grams.iter().zip(holds))
        {
            let gone: f64 = rows.iter().filter(|row| row.tin.lot == lot.lot).filter_map(|row| row.cost).sum();
            if *grams <= f64::from(holds) {
                prop_assert!((gone + lot.value.unwrap() - price).abs() < 1e-6);
            } else {
                prop_assert_eq!(lot.value, Some(0.0));
            }
        }
    }
}

#[test]
fn the_commands_tell_hours_materials_and_the_shelf() {
    let sealed = Sealed::at_work();
    let hours = sealed.run(&["hours"]).out;
    assert!(
        hours.contains("materials: no lot that was used has a price; `price` stands beside a lot"),
        "{hours}"
    );
    let lots =
        "lots:\n  - { lot: A-1, part: a, holds_g: 1000, price: 40 }\n  - { lot: B-1, part: b }\n";
    let file = "materials/medium-epoxy.yaml";
    sealed.change(file, ["lots:\n", lots]);
    let hours = sealed.run(&["hours"]).out;
    // 68.9 g of 1,000 g for 40.00.
    for row in ["  materials", "at least 2.76 EUR", "1 of 2 lots priced"] {
        assert!(hours.contains(row), "{row}: {hours}");
    }
    let keys = [
        "row",
        "figure",
        "block",
        "material",
        "lot",
        "part",
        "unit",
        "used",
        "unmeasured",
        "cost",
        "money",
    ];
    let all = sealed.run(&["hours", "--json"]).out;
    let rows: Vec<serde_json::Value> = all
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let used: Vec<_> = rows.iter().filter(|row| row["row"] == "material").collect();
    assert_eq!(used.len(), 2);
    assert!(keys.iter().all(|key| used[0].get(key).is_some()));
    assert_eq!(
        (&used[0]["cost"], &used[1]["cost"]),
        (&2.76.into(), &serde_json::Value::Null)
    );
    let block = rows
        .iter()
        .find(|row| row["row"] == "block" && row["lots_used"] == 2);
    assert_eq!(block.unwrap()["lots_priced"], 1);
    let stock = sealed.run(&["stock"]).out;
    assert!(stock.contains("on the shelf and in date: "), "{stock}");
    assert!(stock.contains("37.24 EUR"), "{stock}");
}

#[test]
fn what_a_tin_holds_is_typed_with_its_unit() {
    let sealed = Sealed::at_work();
    let open = |holds: &str| {
        let words = [
            "lot",
            "open",
            "oil-primer",
            "NEW-1",
            "--holds",
            holds,
            "--price",
            "24",
        ];
        sealed.run(&[&words[..], &["--as", "odile"]].concat())
    };
    for (holds, said) in [
        ("750", "`750` is not what a tin holds"),
        ("0ml", "`0ml` is no amount of a tin"),
        ("500g", "is counted in ml, not in g"),
    ] {
        let told = open(holds);
        assert!(told.err.contains(said), "{holds}: {}", told.err);
        assert_ne!(told.code, 0);
    }
    assert_eq!(open("0.75 L").code, 0);
    let stock = sealed.run(&["stock"]).out;
    let row = stock.lines().find(|row| row.starts_with("NEW-1")).unwrap();
    assert!(
        row.contains("left 750 ml") && row.contains("24.00 EUR"),
        "{row}"
    );
}
