//! Looking ahead over a large shop.

use std::collections::BTreeMap;
use std::hint::black_box;

use chrono::DateTime;
use criterion::Criterion;
use knuckle::card::{Cards, read_checklist, read_figure, read_material, read_shop};
use knuckle::plan::{Change, ForecastAsk, RUNS, forecast};
use knuckle::shop::{builtin_checklists, sample_files};
use knuckle::standing::{FigureStanding, House, Standing};

pub(crate) fn bench(criterion: &mut Criterion) {
    forecast_20x60(criterion);
}

/// Twenty figures with sixty open operations each, run through 500 times: from cards and
/// standing to dates. Beside it one run, which is mostly the search for a good order. Leaves
/// out reading cards and journals, which are empty here.
fn forecast_20x60(criterion: &mut Criterion) {
    let cards = large_shop();
    let mut standing = Standing::default();
    for figure in cards.figures.keys() {
        standing
            .figures
            .insert(figure.clone(), FigureStanding::default());
    }
    let house = House {
        cards: &cards,
        standing: &standing,
    };
    let now = DateTime::parse_from_rfc3339("2026-11-25T08:00:00+00:00").unwrap();
    let change = Change::default();
    let ask = |runs| ForecastAsk {
        figure: None,
        runs,
        seed: 1,
        change: &change,
        tomorrow: *now.offset(),
    };
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    for (name, runs) in [
        ("forecast/20x60", RUNS),
        (
            "forecast/20x60 (the order and one tenth of the runs)",
            RUNS / 10,
        ),
    ] {
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                let found = forecast(house, black_box(&ask(runs)), now);
                assert!(found.rows.len() == 20 && found.rows.iter().all(|row| row.walks == 60));
                assert!(found.rows.iter().all(|row| row.ninety.is_some()));
            });
        });
    }
    group.finish();
}

/// The sample shop with twenty herons, whose routes are cut to sixty operations each, and with
/// twice its people, so that they come to their end within three years.
fn large_shop() -> Cards {
    let mut cards = Cards::default();
    let mut heron = None;
    for (path, bytes) in sample_files() {
        let text = String::from_utf8(bytes).unwrap();
        if path == "shop.yaml" {
            cards.shop = read_shop(&path, &text).unwrap();
        } else if path.starts_with("materials/") {
            let card = read_material(&path, &text).unwrap();
            cards.materials.insert(card.id.clone(), card);
        } else if path == "figures/heron/figure.yaml" {
            heron = Some(read_figure(&path, &text).unwrap());
        }
    }
    let lists = builtin_checklists().into_iter();
    let lists = lists.map(|(path, text)| read_checklist(&path, &text).unwrap());
    cards.checklists = lists
        .map(|list| (list.id.clone(), list))
        .collect::<BTreeMap<_, _>>();
    let mut twins = cards.shop.people.clone();
    for twin in &mut twins {
        twin.id.push_str("-two");
    }
    cards.shop.people.extend(twins);
    let heron = heron.unwrap();
    for nth in 0..20 {
        let mut figure = heron.clone();
        figure.id = format!("heron-{nth}");
        cut(&mut figure);
        cards.figures.insert(figure.id.clone(), figure);
    }
    cards
}

/// Leaves sixty operations of a route: those of five zones, whole stops from its end on.
fn cut(figure: &mut knuckle::card::Figure) {
    let kept = [
        "head",
        "strap",
        "body-near",
        "legs",
        "tail",
        "breast-strap",
        "J1",
    ];
    figure.zones.retain(|zone| kept.contains(&zone.id.as_str()));
    figure
        .panels
        .retain(|panel| kept.contains(&panel.id.as_str()));
    figure
        .joints
        .retain(|joint| kept.contains(&joint.id.as_str()));
    for stop in &mut figure.route {
        stop.on.retain(|on| kept.contains(&on.as_str()));
    }
    let mut count = 0;
    let first = figure.route.iter().rposition(|stop| {
        count += match (stop.operation.as_str(), stop.on.len()) {
            ("receive" | "scheme" | "final-inspection" | "hand-over" | "joint-survey", _) => 1,
            (_, 0) => 5,
            (_, many) => many,
        };
        60 <= count
    });
    figure.route.drain(..first.unwrap_or(0));
}
