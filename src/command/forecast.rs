//! `forecast [FIGURE]`: when each figure is done, the late end first, and what moves it; with a
//! question, the dates now beside the dates then.

use std::iter;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::days_off::days_off;
use super::misuse::{taken, wrong_quantity};
use super::opened::Opened;
use super::paper::Paper;
use super::{ForecastArgs, names};
use crate::card::{Mark, MaterialKind};
use crate::plan::{
    Change, Forecast, ForecastAsk, Outcome, PathStop, Prepared, RUNS, Shift, Shifted,
    prepare_what_if,
};
use crate::reckon::{Celsius, Percent, counted, read};
use crate::report::{plainly, tomorrow};
use crate::shop::in_shares;
use crate::trouble::{ExitKind, Trouble};

/// Below so many runs the dates are called coarse (own choice: fewer than twenty of them then end
/// after the late date).
const FEW_RUNS: u32 = 200;

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
}

/// A figure after what a question changes, with `--json`; of several questions each has its
/// row, and all of them together have one.
#[derive(Debug, Serialize)]
struct WhatIfJson<'a> {
    row: &'static str,
    /// What is changed, in words.
    question: &'a str,
    figure: &'a str,
    by_90_percent: Option<String>,
    by_50_percent: Option<String>,
    /// Whether that is another date than now by more than luck; `false`: the date now is given.
    told_90: bool,
    told_50: bool,
    late_percent: Option<f64>,
    never: Option<&'a str>,
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
    let questions = questions(shop, args)?;
    let keeper = shop.told_keeper(None, paper)?;
    let ask = ForecastAsk {
        figure: args.figure.as_deref(),
        runs: args.runs,
        seed: args.seed,
        tomorrow: tomorrow(shop.now, shop.zone),
    };
    let house = keeper.house();
    let changes: Vec<Change> = questions.iter().map(|it| it.change.clone()).collect();
    let (is, then) = in_plans(&prepare_what_if(house, (&ask, &changes), shop.now));
    let told = Told {
        shop,
        only: args.figure.as_deref(),
        is: &is,
        then: questions.iter().zip(&then).collect(),
    };
    if paper.json {
        told.json(paper)?;
    } else {
        told.table(paper)?;
        told.reasons(paper)?;
        told.way(paper)?;
    }
    Ok(ExitKind::Well)
}

/// Does the long sums of a forecast, its plans shared out among the cores.
pub(super) fn in_plans(prepared: &Prepared) -> (Forecast, Vec<Vec<Shifted>>) {
    prepared.reckon_beside(|plans, play| {
        let shares = in_shares(plans, 1, play);
        shares.into_iter().flatten().collect()
    })
}

/// What is asked: what if.
#[derive(Debug)]
struct Question {
    /// What stands for it in the table: nothing but `then` where it is the only one.
    sign: String,
    change: Change,
    /// What is changed, in the unit it was asked in.
    words: String,
}

/// Reads what is asked, one question for each flag, and behind several all of them together.
fn questions(shop: &Opened, args: &ForecastArgs) -> Result<Vec<Question>, Trouble> {
    let mut all: Vec<(Change, String)> = Vec::new();
    for text in &args.warmer {
        all.push(warmer(shop, text)?);
    }
    for text in &args.humidity {
        all.push(humidity(shop, text)?);
    }
    let rooms = |of: fn(&Change) -> &[(String, f64)]| {
        let named = all.iter().flat_map(move |(change, _)| of(change));
        named.map(|(room, _)| room.as_str()).collect::<Vec<_>>()
    };
    only_once("--warmer", &rooms(|it| &it.warmer))?;
    only_once("--humidity", &rooms(|it| &it.humidity))?;
    if let Some(material) = &args.slower_hardener {
        all.push(glue(shop, material)?);
    }
    for hand in &args.second {
        let mark: Mark = (*hand).into();
        let words = format!("one more could {mark:?}").to_lowercase();
        let change = Change {
            second: vec![mark],
            ..Change::default()
        };
        all.push((change, words));
    }
    let is_one = all.len() == 1;
    let signs = ('A'..='Z').map(|sign| {
        if is_one {
            "then".to_owned()
        } else {
            sign.to_string()
        }
    });
    let mut questions: Vec<Question> = signs
        .zip(all)
        .map(|(sign, (change, words))| Question {
            sign,
            change,
            words,
        })
        .collect();
    if !is_one && !questions.is_empty() {
        let each = questions.iter();
        questions.push(Question {
            sign: "all".to_owned(),
            change: each
                .clone()
                .map(|it| it.change.clone())
                .fold(Change::default(), Change::and),
            words: each
                .map(|it| it.words.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        });
    }
    Ok(questions)
}

/// A room of which two things are asked at once would have to be both of them.
fn only_once(flag: &str, rooms: &[&str]) -> Result<(), Trouble> {
    let before = |nth: usize| rooms.get(..nth).unwrap_or_default();
    let twice = rooms.iter().enumerate();
    let twice = twice.filter(|(nth, room)| before(*nth).contains(room));
    twice.map(|(_, room)| *room).next().map_or(Ok(()), |room| {
        let what = format!("`{room}` is given twice");
        Err(Trouble::new(ExitKind::Misuse, what)
            .at(flag)
            .remedy("ask one after the other, for all questions are also put together"))
    })
}

fn warmer(shop: &Opened, text: &str) -> Result<(Change, String), Trouble> {
    let (room, by) = of_room(shop, "--warmer", text)?;
    let (by, shown) = degrees(text, by)?;
    let words = format!("{room} were {shown}");
    let change = Change {
        warmer: vec![(room, by)],
        ..Change::default()
    };
    Ok((change, words))
}

fn humidity(shop: &Opened, text: &str) -> Result<(Change, String), Trouble> {
    let (room, to) = of_room(shop, "--humidity", text)?;
    let to = taken::<Percent>("--humidity", to)?;
    if !(0.0..=100.0).contains(&to.0) {
        return Err(Trouble::misuse(
            format!("`{text}`: air holds from 0 to 100 % of humidity"),
            "--humidity",
            "write it as `store=55%`",
        ));
    }
    let words = format!("{room} were held at {:.0} %", to.0);
    let change = Change {
        humidity: vec![(room, to.0)],
        ..Change::default()
    };
    Ok((change, words))
}

fn glue(shop: &Opened, material: &str) -> Result<(Change, String), Trouble> {
    let all = shop.cards.materials.values();
    let epoxies = all.filter(|it| it.kind == MaterialKind::Epoxy);
    let known = epoxies.map(|it| it.id.as_str());
    if !known.clone().any(|id| id == material) {
        let place = ("no epoxy", "--slower-hardener");
        return Err(names::unknown(place, material, known));
    }
    let card = shop.cards.materials.get(material);
    let name = card.map_or(material, |card| &card.name);
    let change = Change {
        glue: Some(material.to_owned()),
        ..Change::default()
    };
    Ok((change, format!("every joint were glued with {name}")))
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
    if change == 0.0 {
        let what = format!("`{text}` leaves the room as it is");
        return Err(Trouble::misuse(
            what,
            "--warmer",
            "ask for a change, such as `4C`",
        ));
    }
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
    /// What was asked, with what comes of it.
    then: Vec<(&'a Question, &'a Vec<Shifted>)>,
}

impl<'a> Told<'a> {
    fn rows(&self) -> impl Iterator<Item = &'a Outcome> {
        let only = self.only;
        let rows = self.is.rows.iter();
        rows.filter(move |row| only.is_none_or(|only| only == row.figure))
    }

    /// The same figure after what each question changes.
    fn then(&self, row: &'a Outcome) -> impl Iterator<Item = (&'a Question, &'a Shifted)> {
        let then = self.then.iter();
        then.filter_map(|(question, all)| {
            let it = all.iter().find(|it| it.figure == row.figure)?;
            Some((*question, it))
        })
    }

    fn table(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        paper.line(&format!(
            "{}; 90 %: done by then in nine of ten; give: days it moves by chance alone",
            counted(self.is.runs, "run")
        ))?;
        if self.is.runs < FEW_RUNS {
            paper.line(&format!(
                "few runs: read the dates as coarse; --runs {RUNS} is usual"
            ))?;
        }
        for (question, _) in &self.then {
            let words = match question.sign.as_str() {
                "all" => "all of these together",
                _ => &question.words,
            };
            paper.line(&format!("{}: if {words}", question.sign))?;
        }
        let sign = if self.then.is_empty() { "" } else { "if" };
        let head = ["figure", sign, "90 %", "give", "50 %", "promised", "late"];
        let mut rows = vec![head.map(str::to_owned)];
        for row in self.rows() {
            rows.push(self.row(row));
            rows.extend(self.then(row).map(|then| self.row_then(row, then)));
        }
        paper.columns(&rows)?;
        self.notes(paper)
    }

    fn row(&self, row: &Outcome) -> [String; 7] {
        let give = row.give_days.filter(|_| 0 < row.walks);
        let promised = row.promised;
        [
            row.figure.clone(),
            String::new(),
            self.end(row, row.ninety),
            give.map_or_else(String::new, |days| days.to_string()),
            self.end(row, row.fifty),
            promised.map_or_else(String::new, |day| day.format("%-d %b %Y").to_string()),
            row.risk.map_or_else(String::new, percent),
        ]
    }

    fn row_then(&self, row: &Outcome, (question, then): (&Question, &Shifted)) -> [String; 7] {
        [
            String::new(),
            question.sign.clone(),
            self.shift((row, row.ninety), then, then.ninety),
            String::new(),
            self.shift((row, row.fifty), then, then.fifty),
            String::new(),
            then.risk.map_or_else(String::new, percent),
        ]
    }

    /// What the dates then are to be read by.
    fn notes(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        if self.then.is_empty() {
            return Ok(());
        }
        paper.line(
            "if: with the luck and the plan of now, moved only where the question moves it; so it \
             may be told though it is less than give",
        )?;
        let stop: Vec<&str> = self
            .rows()
            .filter(|row| row.never.is_none())
            .filter(|row| self.then(row).any(|(_, then)| then.never.is_some()))
            .map(|row| row.figure.as_str())
            .collect();
        if !stop.is_empty() {
            paper.line(&format!(
                "where {} never ends, its hands are free for the others: their sooner dates are no gain",
                stop.join(" or ")
            ))?;
        }
        let going = self
            .rows()
            .filter(|row| row.never.is_none() && 0 < row.walks);
        let shifts: Vec<(&Question, Option<DateTime<FixedOffset>>, Shift)> = going
            .flat_map(|row| self.then(row).map(move |then| (row, then)))
            .flat_map(|(row, (question, then))| {
                [
                    (question, row.ninety, then.ninety),
                    (question, row.fifty, then.fifty),
                ]
            })
            .collect();
        if shifts.iter().any(|(_, _, then)| *then == Shift::NotTold) {
            paper.line(&format!(
                "{AS_NOW}: no difference of a day that can be told from luck over {}",
                counted(self.is.runs, "run")
            ))?;
        }
        let is_later =
            |(question, is, then): &(&Question, Option<DateTime<FixedOffset>>, Shift)| {
                let warmer = question.change.warmer.iter().any(|(_, by)| 0.0 < *by);
                warmer && matches!(then, Shift::To(at) if is.is_some() && (at.is_none() || is < at))
            };
        if shifts.iter().any(is_later) {
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
        for row in self.rows() {
            let never = self.then(row).map(|(question, then)| {
                let when = match question.sign.as_str() {
                    sign @ "then" => format!(" {sign}"),
                    sign => format!(", if {sign}"),
                };
                (&then.never, when)
            });
            for (never, when) in iter::once((&row.never, String::new())).chain(never) {
                if let Some(why) = never {
                    paper.line(&format!("{}{when}: {why}", row.figure))?;
                }
            }
            if !row.movers.is_empty() {
                let movers = movers(row, |words| plainly(words, &self.shop.cards));
                paper.line(&format!("{} is moved by {movers}", row.figure))?;
            }
        }
        let off = days_off(&self.shop.cards.shop, self.shop.now.date_naive());
        off.map_or(Ok(()), |words| paper.line(&words))
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
        paper.line(
            "begins: as one likely plan shares out hands and rooms among all figures; what `next` \
             offers may be begun sooner",
        )?;
        for (at, what) in &self.is.fixed {
            paper.line(&format!("fixed hour: {} {what}", self.shop.hour(*at)))?;
        }
        Ok(())
    }

    fn json(&self, paper: &mut Paper<'_>) -> Result<(), Trouble> {
        let moment = |at: Option<DateTime<FixedOffset>>| at.map(|at| self.shop.rfc3339(at));
        paper.objects(self.rows().map(|row| FigureJson {
            row: "figure",
            figure: &row.figure,
            by_90_percent: moment(row.ninety),
            by_50_percent: moment(row.fifty),
            give_days: row.give_days,
            promised: row.promised.map(|day| day.to_string()),
            late_percent: row.risk.map(hundred),
            never: row.never.as_deref(),
            walks_left: row.walks,
            moved_by: movers(row, str::to_owned),
        }))?;
        let then = self
            .rows()
            .flat_map(|row| self.then(row).map(move |it| (row, it)));
        paper.objects(then.map(|(row, (question, then))| WhatIfJson {
            row: "what_if",
            question: &question.words,
            figure: &row.figure,
            by_90_percent: moment(shifted(row.ninety, then.ninety)),
            by_50_percent: moment(shifted(row.fifty, then.fifty)),
            told_90: then.ninety != Shift::NotTold,
            told_50: then.fifty != Shift::NotTold,
            late_percent: then.risk.map(hundred),
            never: then.never.as_deref(),
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
fn movers(row: &Outcome, shown: impl Fn(&str) -> String) -> String {
    let movers = row.movers.iter();
    let movers: Vec<String> = movers
        .map(|mover| format!("{} ({:.0} days)", shown(&mover.words), mover.days))
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
