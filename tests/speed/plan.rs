//! Looking ahead over a large shop.

use std::collections::BTreeMap;
use std::hint::black_box;
use std::sync::Arc;

use chrono::DateTime;
use criterion::Criterion;
use knuckle::card::{Cards, read_checklist, read_figure, read_material, read_shop};
use knuckle::plan::{Forecast, ForecastAsk, NextAsk, RUNS, forecast, next, prepare};
use knuckle::shop::{builtin_checklists, in_shares, sample_files};
use knuckle::standing::{House, Standing, floor};

use crate::big_shop::{LIVE, NOW, big_shop};
use crate::keys::keeper;

pub(crate) fn bench(criterion: &mut Criterion) {
    forecast_20x60(criterion);
    many(criterion);
}

/// Twenty figures with sixty open operations each, run through 500 times: from cards and
/// standing to dates, the plans shared out among the cores as `forecast` does, and in one thread
/// as beside the screen. Leaves out reading cards and journals, which are empty here.
fn forecast_20x60(criterion: &mut Criterion) {
    let cards = large_shop();
    let mut standing = Standing::default();
    for figure in cards.figures.keys() {
        standing.figures.insert(figure.clone(), Arc::default());
    }
    let house = House {
        cards: &cards,
        standing: &standing,
    };
    let now = DateTime::parse_from_rfc3339("2026-11-25T08:00:00+00:00").unwrap();
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    let ask = ForecastAsk {
        figure: None,
        runs: RUNS,
        seed: 1,
        tomorrow: *now.offset(),
    };
    let is_whole = |found: &Forecast| {
        let mut rows = found.rows.iter();
        found.rows.len() == 20 && rows.all(|row| row.walks == 60 && row.ninety.is_some())
    };
    group.bench_function("forecast/20x60", |bencher| {
        bencher.iter(|| {
            let prepared = prepare(house, black_box(&ask), now);
            let (found, _) = prepared.reckon_beside(|plans, play| {
                in_shares(plans, 1, play).into_iter().flatten().collect()
            });
            assert!(is_whole(&found));
        });
    });
    group.bench_function("forecast/20x60 (one thread)", |bencher| {
        bencher.iter(|| assert!(is_whole(&forecast(house, black_box(&ask), now))));
    });
    group.finish();
}

/// What the floor asks of 200 live figures: the overview of a minute, what a forecast needs from
/// the house, both on the thread that draws; the forecast itself, which is on another;
/// and what to do next. Leaves out reading cards and journals.
fn many(criterion: &mut Criterion) {
    let keeper = keeper(&big_shop(LIVE));
    let house = keeper.house();
    let now = DateTime::parse_from_rfc3339(NOW).unwrap();
    let ask = ForecastAsk {
        figure: None,
        runs: RUNS,
        seed: 1,
        tomorrow: *now.offset(),
    };
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    group.bench_function("floor/200", |bencher| {
        bencher.iter(|| assert_eq!(floor(house, black_box(now)).len(), 200));
    });
    group.bench_function("prepare/200", |bencher| {
        bencher.iter(|| prepare(house, black_box(&ask), now));
    });
    let prepared = prepare(house, &ask, now);
    group.bench_function("forecast/200", |bencher| {
        bencher.iter(|| assert_eq!(black_box(&prepared).reckon().rows.len(), 200));
    });
    group.bench_function("next/200", |bencher| {
        let ask = NextAsk {
            damaged: &[],
            by: Some("odile"),
            minutes: None,
        };
        bencher.iter(|| assert!(!next(house, black_box(&ask), now).is_empty()));
    });
    group.finish();
}

/// The sample shop with twenty herons, whose routes are cut to sixty operations each, and with
/// twice its people, so that they come to their end within three years.
fn large_shop() -> Cards {
    let mut cards = Cards::default();
    let mut heron = None;
    for (path, bytes) in sample_files() {
        // The sample shop also holds photographs.
        let Ok(text) = String::from_utf8(bytes) else {
            continue;
        };
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
