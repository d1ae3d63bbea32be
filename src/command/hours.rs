//! `hours [FIGURE]`: hours of hands and materials used by block of the work, and what they cost
//! where there is a price. A sum in which a price is lacking says so; nothing counts as free.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{HoursArgs, names};
use crate::plan::{BLOCKS, BlockUse, Spent, Tin, block_of, spent, used_by_block};
use crate::reckon::counted;
use crate::report::money;
use crate::trouble::{ExitKind, Trouble};

/// A block of a figure with `--json`.
#[derive(Debug, Serialize)]
struct BlockJson<'a> {
    /// `block`.
    row: &'static str,
    figure: &'a str,
    block: &'static str,
    hands_h: f64,
    cost: Option<f64>,
    /// Of the lots that could be priced; `null` where none could.
    materials_cost: Option<f64>,
    /// Lots whose whole use is priced, of all that were used.
    lots_priced: usize,
    lots_used: usize,
    money: &'a str,
}

/// A lot that was used in a block, with `--json`.
#[derive(Debug, Serialize)]
struct MaterialJson<'a> {
    /// `material`.
    row: &'static str,
    figure: &'a str,
    block: &'static str,
    material: &'a str,
    lot: &'a str,
    part: &'a str,
    unit: &'static str,
    used: f64,
    /// Uses whose amount nobody wrote down.
    unmeasured: u32,
    cost: Option<f64>,
    money: &'a str,
}

/// Hours and cost; no cost where somebody's hour has no price.
#[derive(Debug, Clone, Default)]
struct Sum<'a> {
    minutes: f64,
    no_price: bool,
    cost: f64,
    lots: Lots<'a>,
}

/// Lots that were used: the cost of what is priced, and of how many lots that is not all.
#[derive(Debug, Clone, Default)]
struct Lots<'a> {
    cost: f64,
    used: BTreeSet<&'a Tin>,
    /// Lots without a price, or with a use whose amount nobody wrote.
    lacking: BTreeSet<&'a Tin>,
    unmeasured: BTreeSet<&'a Tin>,
    unpriced: BTreeSet<&'a Tin>,
}

impl<'a> Lots<'a> {
    fn take(&mut self, row: &'a BlockUse) {
        self.cost += row.cost.unwrap_or(0.0);
        self.used.insert(&row.tin);
        if !row.is_whole() {
            self.lacking.insert(&row.tin);
        }
        if 0 < row.unmeasured {
            self.unmeasured.insert(&row.tin);
        }
        if row.cost.is_none() {
            self.unpriced.insert(&row.tin);
        }
    }

    /// Lots whose whole use is priced.
    fn priced(&self) -> usize {
        self.used.len() - self.lacking.len()
    }

    /// The cost of what is priced; `None` where nothing is.
    fn known(&self) -> Option<f64> {
        (self.unpriced.len() < self.used.len()).then_some(self.cost)
    }

    fn words(&self) -> String {
        let of = counted(self.used.len(), "lot");
        let mut words = match self.priced() {
            all if all == self.used.len() => of,
            priced => format!("{priced} of {of} priced"),
        };
        if !self.unmeasured.is_empty() {
            let some = format!("; of {} no amount was written", self.unmeasured.len());
            words.push_str(&some);
        }
        words
    }
}

impl Sum<'_> {
    fn hands(&mut self, minutes: f64, price: Option<f64>) {
        self.minutes += minutes;
        self.no_price |= price.is_none();
        self.cost += price.unwrap_or(0.0) * minutes / 60.0;
    }

    fn known(&self) -> Option<f64> {
        (!self.no_price).then_some(self.cost)
    }
}

/// Tells the hours and the materials.
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
    let keeper = shop.told_keeper(args.figure.as_deref(), paper)?;
    let house = keeper.house();
    let is_asked = |figure: &String| args.figure.as_ref().is_none_or(|only| only == figure);
    let mut used = used_by_block(house);
    used.retain(|row| is_asked(&row.figure));
    let mut sums: BTreeMap<(String, usize), Sum<'_>> = BTreeMap::new();
    for row in spent(house).into_iter().filter(|row| is_asked(&row.figure)) {
        let list = shop.cards.checklists.get(&row.work.operation);
        let block = block_of(list.map_or(0, |list| list.order));
        let price = price(shop, &row);
        let sum = sums.entry((row.figure, block)).or_default();
        sum.hands(row.minutes, price);
    }
    for row in &used {
        let sum = sums.entry((row.figure.clone(), row.block)).or_default();
        sum.lots.take(row);
    }
    if paper.json {
        paper.objects(sums.iter().map(|(at, sum)| block_json(shop, at, sum)))?;
        paper.objects(used.iter().map(|row| material_json(shop, row)))?;
    } else {
        table(shop, (&sums, &used), paper)?;
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

fn block_json<'a>(
    shop: &'a Opened,
    (figure, block): &'a (String, usize),
    sum: &Sum<'_>,
) -> BlockJson<'a> {
    BlockJson {
        row: "block",
        figure,
        block: name(*block),
        hands_h: hundredth(sum.minutes / 60.0),
        cost: sum.known().map(hundredth),
        materials_cost: sum.lots.known().map(hundredth),
        lots_priced: sum.lots.priced(),
        lots_used: sum.lots.used.len(),
        money: &shop.cards.shop.money,
    }
}

fn material_json<'a>(shop: &'a Opened, row: &'a BlockUse) -> MaterialJson<'a> {
    MaterialJson {
        row: "material",
        figure: &row.figure,
        block: name(row.block),
        material: &row.tin.material,
        lot: &row.tin.lot,
        part: &row.tin.part,
        unit: row.unit,
        used: hundredth(row.amount),
        unmeasured: row.unmeasured,
        cost: row.cost.map(hundredth),
        money: &shop.cards.shop.money,
    }
}

/// Figure, block, hours, cost, and of how many lots that is the cost.
type Row = [String; 5];

fn table(
    shop: &Opened,
    (sums, used): (&BTreeMap<(String, usize), Sum<'_>>, &[BlockUse]),
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    if sums.is_empty() {
        return paper.line("no hour of hands stands in the journals yet");
    }
    let word = &shop.cards.shop.money;
    // Where no lot of the shop has a price, one line says so and not each block.
    let is_priced = used.iter().any(|row| row.cost.is_some());
    let mut rows: Vec<Row> = Vec::new();
    let mut whole = Sum::default();
    let mut before = "";
    for ((figure, block), sum) in sums {
        let shown = if figure == before { "" } else { figure };
        before = figure;
        rows.push(hands_row((shown, name(*block)), sum, word));
        rows.extend(lots_row(&sum.lots, word).filter(|_| is_priced));
        whole.minutes += sum.minutes;
        whole.no_price |= sum.no_price;
        whole.cost += sum.cost;
    }
    for row in used {
        whole.lots.take(row);
    }
    rows.push(hands_row(("all", ""), &whole, word));
    rows.extend(lots_row(&whole.lots, word).filter(|_| is_priced));
    rows.extend(together(&whole, word).filter(|_| is_priced));
    paper.columns(&rows)?;
    if !used.is_empty() && !is_priced {
        paper.line("materials: no lot that was used has a price; `price` stands beside a lot on its material's card")?;
    }
    paper.line("how it counts: from one act of a person at a work to their next on the same day, at most two hours, is time on the later; the first act of a day and the end of a wait bring none, the first act behind a gate that time opens a quarter of an hour at most; nor do signatures, photographs, chips and notes beside the work")
}

fn hands_row((figure, block): (&str, &str), sum: &Sum<'_>, word: &str) -> Row {
    let cost = sum.known().filter(|_| 0.0 < sum.minutes);
    let cost = cost.map_or_else(String::new, |cost| format!("{cost:.0} {word}"));
    let hours = format!("{:.1} h", sum.minutes / 60.0);
    [
        figure.to_owned(),
        block.to_owned(),
        hours,
        cost,
        String::new(),
    ]
}

fn lots_row(lots: &Lots<'_>, word: &str) -> Option<Row> {
    let cost = match lots.known() {
        Some(cost) if lots.lacking.is_empty() => money(cost, word),
        Some(cost) => format!("at least {}", money(cost, word)),
        None => "not known".to_owned(),
    };
    let row = ["", "  materials", "", &cost, &lots.words()].map(str::to_owned);
    (!lots.used.is_empty()).then_some(row)
}

/// Hands and materials in one sum, where both are known; the least of it where a lot lacks a
/// price.
fn together(whole: &Sum<'_>, word: &str) -> Option<Row> {
    let sum = money(whole.known()? + whole.lots.known()?, word);
    let cost = if whole.lots.lacking.is_empty() {
        sum
    } else {
        format!("at least {sum}")
    };
    Some(["", "  together", "", &cost, ""].map(str::to_owned))
}

fn name(block: usize) -> &'static str {
    BLOCKS.get(block).copied().unwrap_or("other")
}

fn hundredth(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}
