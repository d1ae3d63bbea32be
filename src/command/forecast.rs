//! `forecast [FIGURE]`: when each figure is done, the late end first, and what moves it; with a
//! question, the dates now beside the dates then.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::misuse::{taken, wrong_quantity};
use super::opened::Opened;
use super::paper::Paper;
use super::{ForecastArgs, names};
use crate::card::MaterialKind;
use crate::plan::{
    Change, Forecast, ForecastAsk, Outcome, PathStop, Prepared, Shift, Shifted, prepare,
    prepare_what_if,
};
use crate::reckon::{Celsius, Percent, counted, read};
use crate::report::tomorrow;
use crate::shop::in_shares;
use crate::trouble::{ExitKind, Trouble};

/// A figure with `--json`. Moments are RFC 3339 in the shop's zone, `null` where there is none.
#[derive(Debug, Serialize)]
struct FigureJson<'a> {
    row: &'static str,
    figure: &'a str,
    by_90_percent: Option<String>,
    by_50_percent: Option<String>,
    /// Days by which chance alone may move the 90 % day.
    give_days: Option<u32>,
    promised: Option<String>,
    late_percent: Option<f64>,
    never: Option<&'a str>,
    walks_left: usize,
    moved_by: String,
    /// The same figure after what a question changes; `null` without one.
    then_by_90_percent: Option<String>,
    then_by_50_percent: Option<String>,
    /// Whether that is another date than now by more than luck; `false`: the date now is given.
    then_90_told: Option<bool>,
    then_50_told: Option<bool>,
    then_late_percent: Option<f64>,
    then_never: Option<&'a str>,
}

/// A walk with `--json`.
#[derive(Debug, Serialize)]
struct WalkJson<'a> {
    row: &'static str,
    operation: &'a str,
    target: Option<&'a str>,
    begins: Option<String>,
    by_50_percent: Option<String>,
    by_90_percent: Option<String>,
}

/// A fixed hour with `--json`.
#[derive(Debug, Serialize)]
struct FixedJson<'a> {
    row: &'static str,
    at: String,
    what: &'a str,
}

/// Tells the forecast.
///
/// # Errors
/// When a name or a quantity is not known or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &ForecastArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    if let Some(figure) = &args.figure {
        names::figure(&shop.cards, figure, "FIGURE")?;
    }
    let (change, question) = change(shop, args)?;
    let keeper = shop.keeper()?;
    let ask = ForecastAsk {
        figure: args.figure.as_deref(),
        runs: args.runs,
        seed: args.seed,
        tomorrow: tomorrow(shop.now, shop.zone),
    };
    let house = keeper.house();
    let prepared = if change.is_nothing() {
        prepare(house, &ask, shop.now)
    } else {
        prepare_what_if(house, (&ask, &change), shop.now)
    };
    let (is, then) = in_plans(&prepared);
    let told = Told {
        shop,
        only: args.figure.as_deref(),
        is: &is,
        then: then.as_deref(),
    };
    if paper.json {
        told.json(paper)?;
    } else {
        told.table(&question, paper)?;
        told.reasons(paper)?;
        told.way(paper)?;
    }
    Ok(ExitKind::Well)
}

/// Does the long sums of a forecast, its plans shared out among the cores.
pub(super) fn in_plans(prepared: &Prepared) -> (Forecast, Option<Vec<Shifted>>) {
    prepared.reckon_beside(|plans, play| {
        let shares = in_shares(plans, 1, play);
        shares.into_iter().flatten().collect()
    })
}

/// Reads what the question changes; returns it with its words, each in the unit it was asked in.
fn change(shop: &Opened, args: &ForecastArgs) -> Result<(Change, String), Trouble> {
    let mut change = Change {
        second: args.second.iter().map(|hand| (*hand).into()).collect(),
        ..Change::default()
    };
    let mut words: Vec<String> = Vec::new();
    for text in &args.warmer {
        let (room, by) = of_room(shop, "--warmer", text)?;
        let (by, shown) = degrees(text, by)?;
        words.push(format!("{room} were {shown}"));
        change.warmer.push((room, by));
    }
    for text in &args.humidity {
        let (room, to) = of_room(shop, "--humidity", text)?;
        let to = taken::<Percent>("--humidity", to)?;
        if !(0.0..=100.0).contains(&to.0) {
            return Err(Trouble::misuse(
                format!("`{text}`: air holds from 0 to 100 % of humidity"),
                "--humidity",
                "write it as `store=55%`",
            ));
        }
        words.push(format!("{room} were held at {:.0} %", to.0));
        change.humidity.push((room, to.0));
    }
    if let Some(material) = &args.slower_hardener {
        let all = shop.cards.materials.values();
        let epoxies = all.filter(|it| it.kind == MaterialKind::Epoxy);
        let known = epoxies.map(|it| it.id.as_str());
        if !known.clone().any(|id| id == material) {
            let place = ("no epoxy", "--slower-hardener");
            return Err(names::unknown(place, material, known));
        }
        let card = shop.cards.materials.get(material);
        let name = card.map_or(material, |card| &card.name);
        words.push(format!("every joint were glued with {name}"));
        change.glue = Some(material.clone());
    }
    let second = change.second.iter();
    words.extend(second.map(|mark| format!("one more could {mark:?}").to_lowercase()));
    Ok((change, words.join(", ")))
}

fn of_room<'t>(shop: &Opened, flag: &str, text: &'t str) -> Result<(String, &'t str), Trouble> {
    let Some((room, rest)) = text.split_once('=') else {
        return Err(Trouble::new(
            ExitKind::Misuse,
            format!("`{text}` does not name a room and a value"),
        )
        .at(flag)
        .remedy("write it as `bench-room=4C`, or `store=55%`"));
    };
    names::room(&shop.cards, room)?;
    Ok((room.to_owned(), rest))
}

/// A difference of temperature, °C, and in the words of the unit it was asked in; nought stays
/// nought in either unit.
fn degrees(text: &str, by: &str) -> Result<(f64, String), Trouble> {
    let at = |text: &str| read::<Celsius>(text).map(|it| it.0);
    let unit = by.trim_start_matches(|it: char| it.is_ascii_digit() || ".,-+".contains(it));
    let nought = at(&format!("0{unit}"));
    let change = at(by).and_then(|with| Ok((with - nought.clone()?, nought?)));
    let (change, nought) = change.map_err(|wrong| wrong_quantity("--warmer", &wrong))?;
    if change.abs() <= 20.0 {
        // Nought of °F is not nought of °C.
        let (shown, sign) = if nought == 0.0 {
            (change, "°C")
        } else {
            (change * 9.0 / 5.0, "°F")
        };
        let word = if shown < 0.0 { "colder" } else { "warmer" };
        let words = format!("{} {sign} {word}", tenth(shown.abs()));
        return Ok((change, words));
    }
    Err(Trouble::new(
        ExitKind::Misuse,
        format!("`{text}` changes the room by more than 20 °C, which is 36 °F"),
    )
    .at("--warmer")
    .remedy("ask for a smaller change"))
}

/// What stands for a date that no difference can be told of.
const AS_NOW: &str = "as now";

/// The date then; the one now where no difference can be told.
fn shifted(is: Option<DateTime<FixedOffset>>, shift: Shift) -> Option<DateTime<FixedOffset>> {
    match shift {
        Shift::NotTold => is,
        Shift::To(at) => at,
    }
}

/// What is told.
struct Told<'a> {
    shop: &'a Opened,
    only: Option<&'a str>,
    is: &'a Forecast,
    then: Option<&'a [Shifted]>,
}

impl<'a> Told<'a> {
    fn rows(&self) -> impl Iterator<Item = (&'a Outcome, Option<&'a Shifted>)> {
        let (only, then) = (self.only, self.then);
        let rows = self.is.rows.iter();
        let rows = rows.filter(move |row| only.is_none_or(|only| only == row.figure));
        rows.map(move |row| {
            let same = |it: &&Shifted| it.figure == row.figure;
            (row, then.and_then(|then| then.iter().find(same)))
        })
    }

    fn table(&self, question: &str, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        let what = if question.is_empty() {
            String::new()
        } else {
            format!("; if {question}")
        };
        paper.line(&format!(
            "{}; 90 %: done by then in nine of ten; give: days it moves by chance alone{what}",
            counted(self.is.runs, "run")
        ))?;
        let head = [
            "figure",
            "90 %",
            "give",
            "50 %",
            "promised",
            "late",
            "then 90 %",
            "then 50 %",
            "then late",
        ];
        let mut rows = vec![head.map(str::to_owned)];
        if self.then.is_none() {
            let plain = [
                "figure", "90 %", "give", "50 %", "promised", "late", "", "", "",
            ];
            rows = vec![plain.map(str::to_owned)];
        }
        rows.extend(self.rows().map(|(row, then)| {
            [
                row.figure.clone(),
                self.end(row, row.ninety),
                row.give_days
                    .filter(|_| 0 < row.walks)
                    .map_or_else(String::new, |days| days.to_string()),
                self.end(row, row.fifty),
                row.promised
                    .map_or_else(String::new, |day| day.format("%-d %b %Y").to_string()),
                row.risk.map_or_else(String::new, percent),
                then.map_or_else(String::new, |then| {
                    self.shift((row, row.ninety), then, then.ninety)
                }),
                then.map_or_else(String::new, |then| {
                    self.shift((row, row.fifty), then, then.fifty)
                }),
                then.and_then(|then| then.risk)
                    .map_or_else(String::new, percent),
            ]
        }));
        paper.columns(&rows)?;
        self.notes(question, paper)
    }

    /// What the dates then are to be read by.
    fn notes(&self, question: &str, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        if self.then.is_none() {
            return Ok(());
        }
        paper.line(
            "then: with the luck and the plan of now, moved only where the question moves it",
        )?;
        let shifts = |(row, then): (&'a Outcome, Option<&'a Shifted>)| {
            let then = then.filter(|_| row.never.is_none() && 0 < row.walks);
            let all = then.map(|then| [(row.ninety, then.ninety), (row.fifty, then.fifty)]);
            all.into_iter().flatten()
        };
        if self
            .rows()
            .flat_map(shifts)
            .any(|(_, then)| then == Shift::NotTold)
        {
            paper.line(&format!(
                "{AS_NOW}: no difference of a day that can be told from luck over {}",
                counted(self.is.runs, "run")
            ))?;
        }
        let is_later = |(is, then): (Option<DateTime<FixedOffset>>, Shift)| matches!(then, Shift::To(at) if is.is_some() && (at.is_none() || is < at));
        if question.contains("warmer") && self.rows().flat_map(shifts).any(is_later) {
            paper.line("later where it is warmer: windows close sooner too, and more of them when nobody is there")?;
        }
        Ok(())
    }

    fn shift(
        &self,
        (row, is): (&Outcome, Option<DateTime<FixedOffset>>),
        then: &Shifted,
        shift: Shift,
    ) -> String {
        let same_day =
            |at: DateTime<FixedOffset>| is.is_some_and(|is| self.day(is) == self.day(at));
        match shift {
            _ if then.never.is_some() => "never".to_owned(),
            _ if row.walks == 0 => "done".to_owned(),
            Shift::NotTold => AS_NOW.to_owned(),
            Shift::To(Some(at)) if same_day(at) => AS_NOW.to_owned(),
            Shift::To(Some(at)) => self.day(at),
            Shift::To(None) => "after 3 years".to_owned(),
        }
    }

    fn end(&self, row: &Outcome, at: Option<DateTime<FixedOffset>>) -> String {
        match at {
            _ if row.never.is_some() => "never".to_owned(),
            _ if row.walks == 0 => "done".to_owned(),
            Some(at) => self.day(at),
            None => "after 3 years".to_owned(),
        }
    }

    fn day(&self, at: DateTime<FixedOffset>) -> String {
        self.shop
            .zone
            .show(at.to_utc())
            .format("%a %-d %b %Y")
            .to_string()
    }

    /// Why, figure by figure: what moves it, or why it never comes.
    fn reasons(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        for (row, then) in self.rows() {
            for (never, when) in [
                (&row.never, ""),
                (&then.and_then(|it| it.never.clone()), " then"),
            ] {
                if let Some(why) = never {
                    paper.line(&format!("{}{when}: {why}", row.figure))?;
                }
            }
            if !row.movers.is_empty() {
                paper.line(&format!("{} is moved by {}", row.figure, movers(row)))?;
            }
        }
        Ok(())
    }

    /// The rest of the way of one figure, and the hours at which somebody must be there.
    fn way(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        if self.only.is_none() {
            return Ok(());
        }
        let head = ["operation", "on", "begins", "over, 50 %", "over, 90 %"];
        let mut rows = vec![head.map(str::to_owned)];
        let day = |at: Option<DateTime<FixedOffset>>| {
            at.map_or_else(|| "after 3 years".to_owned(), |at| self.day(at))
        };
        rows.extend(self.is.path.iter().map(|stop| {
            [
                stop.work.operation.clone(),
                stop.work
                    .target
                    .clone()
                    .unwrap_or_else(|| "whole figure".to_owned()),
                day(stop.begins),
                day(stop.fifty),
                day(stop.ninety),
            ]
        }));
        paper.columns(&rows)?;
        for (at, what) in &self.is.fixed {
            paper.line(&format!("fixed hour: {} {what}", self.shop.hour(*at)))?;
        }
        Ok(())
    }

    fn json(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        let moment = |at: Option<DateTime<FixedOffset>>| at.map(|at| self.shop.rfc3339(at));
        paper.objects(self.rows().map(|(row, then)| FigureJson {
            row: "figure",
            figure: &row.figure,
            by_90_percent: moment(row.ninety),
            by_50_percent: moment(row.fifty),
            give_days: row.give_days,
            promised: row.promised.map(|day| day.to_string()),
            late_percent: row.risk.map(hundred),
            never: row.never.as_deref(),
            walks_left: row.walks,
            moved_by: movers(row),
            then_by_90_percent: moment(then.and_then(|it| shifted(row.ninety, it.ninety))),
            then_by_50_percent: moment(then.and_then(|it| shifted(row.fifty, it.fifty))),
            then_90_told: then.map(|it| it.ninety != Shift::NotTold),
            then_50_told: then.map(|it| it.fifty != Shift::NotTold),
            then_late_percent: then.and_then(|it| it.risk).map(hundred),
            then_never: then.and_then(|it| it.never.as_deref()),
        }))?;
        paper.objects(self.is.path.iter().map(|stop: &PathStop| WalkJson {
            row: "walk",
            operation: &stop.work.operation,
            target: stop.work.target.as_deref(),
            begins: moment(stop.begins),
            by_50_percent: moment(stop.fifty),
            by_90_percent: moment(stop.ninety),
        }))?;
        paper.objects(self.is.fixed.iter().map(|(at, what)| FixedJson {
            row: "fixed_hour",
            at: at.to_rfc3339(),
            what,
        }))
    }
}

/// What moves a figure most, each with its days between good and bad luck.
fn movers(row: &Outcome) -> String {
    let movers = row.movers.iter();
    let movers: Vec<String> = movers
        .map(|mover| format!("{} ({:.0} days)", mover.words, mover.days))
        .collect();
    movers.join("; ")
}

fn hundred(share: f64) -> f64 {
    tenth(share * 100.0)
}

fn tenth(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}
