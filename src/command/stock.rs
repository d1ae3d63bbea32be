//! `stock`: the lots of the shop, what was used and is left of each, and what the routes still
//! need.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use crate::plan::{Besides, Coming, LotStock, MaterialNeed, Stock, WEEKS, WeekNeed, coming, stock};
use crate::reckon::counted;
use crate::report::{amount, lot_remarks, money, tomorrow};
use crate::standing::as_written;
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
    /// Uses whose amount nobody wrote down.
    unmeasured: u32,
    holds: Option<f64>,
    left: Option<f64>,
    /// What is left of its price, in the shop's money; `null` where price or amount is lacking.
    value: Option<f64>,
    money: &'a str,
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
    /// Lots of it in date.
    lots: usize,
    left: Option<f64>,
    order: Option<f64>,
}

/// What a week needs of a material by one likely plan, with `--json`.
#[derive(Debug, Serialize)]
struct WeekJson<'a> {
    /// `week`.
    row: &'static str,
    material: &'a str,
    part: &'a str,
    unit: &'static str,
    /// The Monday of the week.
    monday: String,
    need: f64,
}

/// What work ahead takes and of which no lot in date is there, with `--json`.
#[derive(Debug, Serialize)]
struct LackingJson<'a> {
    /// `lacking`.
    row: &'static str,
    /// What is lacking, in words.
    what: &'a str,
    jobs: u32,
    within_four_weeks: u32,
}

/// What work ahead takes and of which no sum says how much, with `--json`.
#[derive(Debug, Serialize)]
struct BesidesJson {
    /// `besides`.
    row: &'static str,
    /// The kind of material, as cards write it.
    kind: String,
    jobs: u32,
    within_four_weeks: u32,
    /// Lots of it in date.
    lots: usize,
}

/// Tells the shelf.
///
/// # Errors
/// When a journal cannot be read.
pub(super) fn run(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.told_keeper(None, paper)?;
    let shelf = stock(keeper.house(), shop.now.date_naive());
    if paper.json {
        let word = &shop.cards.shop.money;
        paper.objects(shelf.lots.iter().map(|lot| lot_json(lot, word)))?;
        paper.objects(shelf.needs.iter().map(need_json))?;
    } else {
        tell(&shelf, &shop.cards.shop.money, paper)?;
    }
    let days = (shop.now, tomorrow(shop.now, shop.zone));
    let coming = coming(keeper.house(), days, &shelf);
    if paper.json {
        paper.objects(week_rows(&coming))?;
        paper.objects(coming.besides.iter().map(besides_json))?;
        paper.objects(coming.lacking.iter().map(lacking_json))?;
    } else {
        tell_weeks(&coming, paper)?;
    }
    for unknown in &shelf.unknown {
        paper.note(unknown);
    }
    Ok(ExitKind::Well)
}

fn tell(shelf: &Stock, word: &str, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    if shelf.lots.is_empty() {
        return paper.line("no lot stands on the cards of the materials");
    }
    let rows = shelf.lots.iter().map(|lot| lot_row(lot, word));
    paper.columns(&rows.collect::<Vec<_>>())?;
    if let Some(words) = value_words(&shelf.lots, word) {
        paper.line(&words)?;
    }
    paper.line("")?;
    if shelf.needs.is_empty() {
        return paper.line("the routes need nothing more of it");
    }
    paper.line("what the routes still need, on the larger side")?;
    let rows: Vec<[String; 4]> = shelf.needs.iter().map(need_row).collect();
    paper.columns(&rows)
}

/// What the weeks need, and what stands nowhere.
fn tell_weeks(coming: &Coming, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    paper.line("")?;
    if coming.needs.is_empty() {
        paper.line("the next four weeks need no reckoned amount")?;
    } else {
        paper.line(
            "what the weeks need, as one likely plan of today begins the work; what `next` offers \
             may be begun, and take its material, sooner",
        )?;
        let weeks = coming.weeks;
        let head = weeks.map(|day| format!("from {}", day.format("%-d %b")));
        let head = in_weeks(String::new(), head, "");
        let rows = coming.needs.iter().map(week_row);
        paper.columns(&std::iter::once(head).chain(rows).collect::<Vec<_>>())?;
    }
    if !coming.besides.is_empty() {
        paper.line("")?;
        paper.line("taken by work ahead, and no sum says how much: look")?;
        let rows = coming.besides.iter().map(|one| {
            let lots = format!("{} in date", counted(one.lots, "lot"));
            let jobs = counted(one.jobs, "job");
            [as_written(one.kind), jobs, within(one.soon), lots]
        });
        paper.columns(&rows.collect::<Vec<_>>())?;
    }
    if coming.lacking.is_empty() {
        return Ok(());
    }
    paper.line("")?;
    paper.line("taken by work ahead, and no lot in date on the shelf")?;
    let rows = coming.lacking.iter();
    let rows = rows.map(|(lack, jobs, soon)| [lack.clone(), counted(*jobs, "job"), within(*soon)]);
    paper.columns(&rows.collect::<Vec<_>>())
}

fn within(soon: u32) -> String {
    match soon {
        0 => "none of them within four weeks".to_owned(),
        soon => format!("{soon} of them within four weeks"),
    }
}

fn week_row(need: &WeekNeed) -> [String; 6] {
    let by_week = need.amounts.map(|sum| {
        if 0.0 < sum {
            amount(sum, need.unit)
        } else {
            "–".to_owned()
        }
    });
    let sum: f64 = need.amounts.iter().sum();
    let left = match need.left {
        None => "left not known",
        Some(left) if sum <= left => "enough",
        Some(_) if 0 < need.unknown => "a part of what is left is known: look",
        Some(_) => "not enough",
    };
    in_weeks(named(&need.material, &need.part), by_week, left)
}

fn in_weeks(name: String, [a, b, c, d]: [String; WEEKS], left: &str) -> [String; 6] {
    [name, a, b, c, d, left.to_owned()]
}

/// One row for each material and week of which some is needed.
fn week_rows(coming: &Coming) -> impl Iterator<Item = WeekJson<'_>> {
    coming.needs.iter().flat_map(|need| {
        let weeks = coming.weeks.iter().zip(&need.amounts);
        let weeks = weeks.filter(|(_, amount)| 0.0 < **amount);
        weeks.map(|(week, amount)| WeekJson {
            row: "week",
            material: &need.material,
            part: &need.part,
            unit: need.unit,
            monday: week.to_string(),
            need: rounded(*amount),
        })
    })
}

fn lacking_json((what, jobs, soon): &(String, u32, u32)) -> LackingJson<'_> {
    LackingJson {
        row: "lacking",
        what,
        jobs: *jobs,
        within_four_weeks: *soon,
    }
}

fn besides_json(one: &Besides) -> BesidesJson {
    BesidesJson {
        row: "besides",
        kind: as_written(one.kind),
        jobs: one.jobs,
        within_four_weeks: one.soon,
        lots: one.lots,
    }
}

fn named(name: &str, part: &str) -> String {
    match part {
        "a" => format!("{name}, resin"),
        "b" => format!("{name}, hardener"),
        _ => name.to_owned(),
    }
}

/// What stands on the shelf in value, what is past its date apart; nothing where no lot has a
/// price.
fn value_words(lots: &[LotStock], word: &str) -> Option<String> {
    let sum = |past: bool| {
        let here = lots.iter().filter(|lot| lot.past_date == past);
        let known: Vec<f64> = here.clone().filter_map(|lot| lot.value).collect();
        (known.iter().sum::<f64>(), known.len(), here.count())
    };
    let ((value, known, of), (gone, gone_known, _)) = (sum(false), sum(true));
    if known + gone_known == 0 {
        return None;
    }
    let of = counted(of, "lot");
    let value = money(value, word);
    let gone = if 0 < gone_known {
        format!("; past its date and not counted: {}", money(gone, word))
    } else {
        String::new()
    };
    Some(format!(
        "on the shelf and in date: {value}, by price and amount of {known} of {of}{gone}"
    ))
}

fn lot_row(lot: &LotStock, word: &str) -> [String; 6] {
    let used = match lot.uses {
        0 => "not used".to_owned(),
        all if all == lot.unmeasured => {
            format!("used in {}, amount not written", counted(all, "job"))
        }
        1 => format!("used {} in 1 job", amount(lot.used, lot.unit)),
        more => format!("used {} in {more} goes", amount(lot.used, lot.unit)),
    };
    let left = match lot.left {
        Some(left) if 0 < lot.unmeasured => {
            format!("left at most {}", amount(left, lot.unit))
        }
        Some(left) => format!("left {}", amount(left, lot.unit)),
        None => "left not known".to_owned(),
    };
    [
        lot.lot.clone(),
        named(&lot.material, &lot.part),
        used,
        left,
        lot.value
            .map_or_else(String::new, |value| money(value, word)),
        lot_remarks(lot).join("; "),
    ]
}

fn need_row(need: &MaterialNeed) -> [String; 4] {
    let order = match (need.left, need.order) {
        (Some(left), Some(order)) if 0.0 < order => format!(
            "left {}: order {}",
            amount(left, need.unit),
            amount(order, need.unit)
        ),
        (Some(left), Some(_)) => format!("left {}: enough", amount(left, need.unit)),
        (Some(left), None) => format!(
            "left at least {}, {} of {} lots not known: look",
            amount(left, need.unit),
            need.unknown,
            need.lots
        ),
        _ => "what is left is not known: look".to_owned(),
    };
    let order = match need.lots {
        0 => format!(
            "no lot in date on the shelf: order {}",
            amount(need.need, need.unit)
        ),
        _ => order,
    };
    [
        named(&need.material, &need.part),
        amount(need.need, need.unit),
        counted(need.jobs, "job"),
        order,
    ]
}

fn lot_json<'a>(lot: &'a LotStock, word: &'a str) -> LotJson<'a> {
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
        unmeasured: lot.unmeasured,
        holds: lot.holds,
        left: lot.left.map(rounded),
        value: lot.value.map(|value| (value * 100.0).round() / 100.0),
        money: word,
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
        lots: need.lots,
        left: need.left.map(rounded),
        order: need.order.map(rounded),
    }
}

/// To the tenth of a gram or millilitre: more is not known.
fn rounded(amount: f64) -> f64 {
    (amount * 10.0).round() / 10.0
}
