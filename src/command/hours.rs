//! `hours [FIGURE]`: hours of hands by block of the work, and their cost where there is a price.

use std::collections::BTreeMap;

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{HoursArgs, names};
use crate::plan::{BLOCKS, Spent, block_of, spent};
use crate::trouble::{ExitKind, Trouble};

/// A block of a figure with `--json`.
#[derive(Debug, Serialize)]
struct BlockJson<'a> {
    figure: &'a str,
    block: &'static str,
    hands_h: f64,
    cost: Option<f64>,
    money: &'a str,
}

/// Hours and cost; no cost where somebody's hour has no price.
#[derive(Debug, Clone, Copy)]
struct Sum {
    minutes: f64,
    cost: Option<f64>,
}

impl Sum {
    const NONE: Self = Self {
        minutes: 0.0,
        cost: Some(0.0),
    };

    fn and(self, other: Self) -> Self {
        Self {
            minutes: self.minutes + other.minutes,
            cost: self.cost.zip(other.cost).map(|(a, b)| a + b),
        }
    }
}

/// Tells the hours.
///
/// # Errors
/// When the figure is not known or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &HoursArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    if let Some(figure) = &args.figure {
        names::figure(&shop.cards, figure, "FIGURE")?;
    }
    let keeper = shop.keeper()?;
    let mut sums: BTreeMap<(String, usize), Sum> = BTreeMap::new();
    for row in spent(keeper.house()) {
        if args.figure.as_ref().is_some_and(|only| *only != row.figure) {
            continue;
        }
        let list = shop.cards.checklists.get(&row.work.operation);
        let block = block_of(list.map_or(0, |list| list.order));
        let sum = Sum {
            minutes: row.minutes,
            cost: price(shop, &row).map(|price| price * row.minutes / 60.0),
        };
        let kept = sums.entry((row.figure, block)).or_insert(Sum::NONE);
        *kept = kept.and(sum);
    }
    if paper.json {
        paper.objects(sums.iter().map(|((figure, block), sum)| BlockJson {
            figure,
            block: name(*block),
            hands_h: hundredth(sum.minutes / 60.0),
            cost: sum.cost.map(hundredth),
            money: &shop.cards.shop.money,
        }))?;
    } else {
        table(shop, &sums, paper)?;
    }
    Ok(ExitKind::Well)
}

fn price(shop: &Opened, row: &Spent) -> Option<f64> {
    let card = &shop.cards.shop;
    let person = card.people.iter().find(|person| person.id == row.by);
    person
        .and_then(|person| person.hour_price)
        .or(card.hour_price)
}

fn table(
    shop: &Opened,
    sums: &BTreeMap<(String, usize), Sum>,
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    if sums.is_empty() {
        return paper.line("no hour of hands stands in the journals yet");
    }
    let cost = |sum: &Sum| {
        let money = &shop.cards.shop.money;
        sum.cost
            .map_or_else(String::new, |cost| format!("{cost:.0} {money}"))
    };
    let hours = |sum: &Sum| format!("{:.1} h", sum.minutes / 60.0);
    let mut rows: Vec<[String; 4]> = Vec::new();
    let mut whole = Sum::NONE;
    let mut before = "";
    for ((figure, block), sum) in sums {
        let shown = if figure == before { "" } else { figure };
        before = figure;
        rows.push([
            shown.to_owned(),
            name(*block).to_owned(),
            hours(sum),
            cost(sum),
        ]);
        whole = whole.and(*sum);
    }
    rows.push(["all".to_owned(), String::new(), hours(&whole), cost(&whole)]);
    paper.columns(&rows)?;
    paper.line("from the journals: the time before an act belongs to it, at most two hours; waits and nights do not count")
}

fn name(block: usize) -> &'static str {
    BLOCKS.get(block).copied().unwrap_or("other")
}

fn hundredth(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}
