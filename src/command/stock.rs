//! `stock`: the lots of the shop, what was used and is left of each, and what the routes still
//! need.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use crate::plan::{LotStock, MaterialNeed, Stock, stock};
use crate::report::{amount, lot_remarks};
use crate::trouble::{ExitKind, Trouble};

/// A lot with `--json`. Amounts are in `unit`: grams, millilitres or leaves.
#[derive(Debug, Serialize)]
struct LotJson<'a> {
    /// `lot`.
    row: &'static str,
    material: &'a str,
    lot: &'a str,
    part: &'a str,
    opened: Option<String>,
    expires: Option<String>,
    unit: &'static str,
    used: f64,
    uses: u32,
    holds: Option<f64>,
    left: Option<f64>,
    skewings_g: f64,
    jars: String,
    past_date: bool,
    under_one_job: bool,
    last_book: Option<&'a str>,
    last_n: Option<u64>,
}

/// What the routes still need of a material, with `--json`.
#[derive(Debug, Serialize)]
struct NeedJson<'a> {
    /// `need`.
    row: &'static str,
    material: &'a str,
    part: &'a str,
    unit: &'static str,
    need: f64,
    jobs: u32,
    largest: f64,
    left: Option<f64>,
    order: Option<f64>,
}

/// Tells the shelf.
///
/// # Errors
/// When a journal cannot be read.
pub(super) fn run(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.keeper()?;
    let shelf = stock(keeper.house(), shop.now.date_naive());
    if paper.json {
        paper.objects(shelf.lots.iter().map(lot_json))?;
        paper.objects(shelf.needs.iter().map(need_json))?;
    } else {
        tell(&shelf, paper)?;
    }
    for unknown in &shelf.unknown {
        paper.note(unknown);
    }
    Ok(ExitKind::Well)
}

fn tell(shelf: &Stock, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    if shelf.lots.is_empty() {
        return paper.line("no lot stands on the cards of the materials");
    }
    let rows: Vec<[String; 5]> = shelf.lots.iter().map(lot_row).collect();
    paper.columns(&rows)?;
    paper.line("")?;
    if shelf.needs.is_empty() {
        return paper.line("the routes need nothing more of it");
    }
    paper.line("what the routes still need, on the larger side")?;
    let rows: Vec<[String; 4]> = shelf.needs.iter().map(need_row).collect();
    paper.columns(&rows)
}

fn named(name: &str, part: &str) -> String {
    match part {
        "a" => format!("{name}, resin"),
        "b" => format!("{name}, hardener"),
        _ => name.to_owned(),
    }
}

fn lot_row(lot: &LotStock) -> [String; 5] {
    let used = match lot.uses {
        0 => "not used".to_owned(),
        1 => format!("used {} in 1 job", amount(lot.used, lot.unit)),
        more => format!("used {} in {more} goes", amount(lot.used, lot.unit)),
    };
    let left = match lot.left {
        Some(left) => format!("left {}", amount(left, lot.unit)),
        None => "left not known".to_owned(),
    };
    [
        lot.lot.clone(),
        named(&lot.material, &lot.part),
        used,
        left,
        lot_remarks(lot).join("; "),
    ]
}

fn need_row(need: &MaterialNeed) -> [String; 4] {
    let jobs = if need.jobs == 1 { "job" } else { "jobs" };
    let order = match (need.left, need.order) {
        (Some(left), Some(order)) if 0.0 < order => format!(
            "left {}: order {}",
            amount(left, need.unit),
            amount(order, need.unit)
        ),
        (Some(left), _) => format!("left {}: enough", amount(left, need.unit)),
        _ => "what is left is not known: look".to_owned(),
    };
    [
        named(&need.material, &need.part),
        amount(need.need, need.unit),
        format!("{} {jobs}", need.jobs),
        order,
    ]
}

fn lot_json(lot: &LotStock) -> LotJson<'_> {
    LotJson {
        row: "lot",
        material: &lot.material,
        lot: &lot.lot,
        part: &lot.part,
        opened: lot.opened.map(|day| day.to_string()),
        expires: lot.expires.map(|day| day.to_string()),
        unit: lot.unit,
        used: rounded(lot.used),
        uses: lot.uses,
        holds: lot.holds,
        left: lot.left.map(rounded),
        skewings_g: rounded(lot.skewings_g),
        jars: lot.jars.join(", "),
        past_date: lot.past_date,
        under_one_job: lot.under_one_job,
        last_book: lot.last_use.as_ref().map(|(book, _)| book.as_str()),
        last_n: lot.last_use.as_ref().map(|(_, n)| *n),
    }
}

fn need_json(need: &MaterialNeed) -> NeedJson<'_> {
    NeedJson {
        row: "need",
        material: &need.material,
        part: &need.part,
        unit: need.unit,
        need: rounded(need.need),
        jobs: need.jobs,
        largest: rounded(need.largest),
        left: need.left.map(rounded),
        order: need.order.map(rounded),
    }
}

/// To the tenth of a gram or millilitre: more is not known.
fn rounded(amount: f64) -> f64 {
    (amount * 10.0).round() / 10.0
}
