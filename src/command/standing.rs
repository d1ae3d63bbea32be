//! `standing [FIGURE]`: where all figures stand, or one of them in full.

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;
use serde_json::{Map, Value};

use super::opened::{Opened, damaged_of};
use super::paper::Paper;
use super::{StandingArgs, clocks, names};
use crate::card::Flaw;
use crate::deed::{Promise, Work};
use crate::plan::{is_at_risk, noted};
use crate::reckon::counted;
use crate::report::{Shown, clock_name, work_name};
use crate::standing::{
    Ask, ClockView, CoatKept, Figured, FloorRow, House, Job, Stage, StepSum, UNREAD, clock_views,
    flaws_of, floor, holds, matters, offers, open_gates, openers, prompt, shelf_lacks,
};
use crate::trouble::{ExitKind, Trouble};

/// A figure among all, with `--json`.
#[derive(Debug, Serialize)]
struct FloorJson<'a> {
    /// Figure id.
    figure: &'a str,
    /// Name as a person says it.
    name: &'a str,
    /// Name of the room it stands in.
    room: &'a str,
    /// Checklist id of the job worked on last that is still open, or `null`.
    operation: Option<&'a str>,
    /// Its zone, joint or panel, or `null`.
    target: Option<&'a str>,
    /// The step in front, in words, or `null`.
    step: Option<&'a str>,
    /// What it waits for; empty when hands may go on.
    waits_for: &'a str,
    /// Since when, RFC 3339 in the shop's zone; `null` when hands may go on.
    since: Option<String>,
    /// The clock that matters next, in words, or `null`.
    clock: Option<&'static str>,
    /// Its deadline, RFC 3339 in the shop's zone, or `null`.
    clock_at: Option<String>,
    /// Stops of the route finished.
    route_done: usize,
    /// Stops of the route.
    route_of: usize,
    /// Hold points that wait.
    holds: usize,
    /// What a question was answered with last, for some days, or `null`.
    answered: Option<&'a str>,
    /// Deviations, overrules and questions without an answer.
    unanswered: usize,
    /// Hold points and matters that were refused and are back at the bench.
    refused: usize,
    /// Date promised to the owner, or `null`.
    promised: Option<String>,
    /// The first flaw of its card, which was read only as far as its flaws let, or `null`.
    flaw: Option<String>,
    /// What the forecast says that was noted last; each `null` without one.
    #[serde(flatten)]
    forecast: NotedJson,
}

/// What was noted last about the end of a figure.
#[derive(Debug, Serialize, Default)]
struct NotedJson {
    /// Done by then in nine of ten runs; `null` also where no end is in sight.
    by_90_percent: Option<String>,
    /// Share of runs that end after the promised day, or `null`.
    late_percent: Option<u32>,
    /// Whether the promise is at risk, or `null`.
    at_risk: Option<bool>,
    /// When the forecast was noted, RFC 3339 in the shop's zone.
    forecast_noted: Option<String>,
}

/// One thing that is known of a figure, with `standing FIGURE --json`.
#[derive(Debug, Serialize)]
struct FactJson {
    /// Figure id.
    figure: String,
    /// `card`, `flaw`, `promise`, `job`, `sum`, `gate`, `coat`, `clock`, `matter`, `next`, `passed` or `shelf`.
    about: &'static str,
    /// Checklist id, or `null`.
    operation: Option<String>,
    /// Zone, joint or panel, or `null`.
    target: Option<String>,
    /// The line that it leads to, or `null`.
    n: Option<u64>,
    /// In words.
    text: String,
    /// The figures of a sum or a promise, under names that end in their unit.
    #[serde(flatten)]
    figures: Map<String, Value>,
}

/// Tells the standing.
///
/// # Errors
/// When the figure is unknown, or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &StandingArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    if let Some(figure) = &args.figure {
        names::figure(&shop.cards, figure, "FIGURE")?;
    }
    let keeper = shop.keeper()?;
    match &args.figure {
        Some(figure) => one(shop, (keeper.house(), figure), paper)?,
        None => all(shop, keeper.house(), paper)?,
    }
    paper.deferral()?;
    Ok(shop.as_kept(damaged_of(&keeper, args.figure.as_deref()), paper))
}

fn all(shop: &Opened, house: House<'_>, paper: &mut Paper<'_>) -> Result<(), Trouble> {
    let rows = floor(house, shop.now);
    if paper.json {
        return paper.objects(rows.iter().map(|row| floor_json(shop, house, row)));
    }
    if rows.is_empty() {
        let noted = house.standing.shop.books.len();
        if 0 < noted {
            let noted = counted(noted, "figure");
            return paper.line(&format!(
                "no figure is here, and the shop has noted {noted}: look for the folder `figures`"
            ));
        }
        return paper.line("no figure is here yet: `knuckle take-in FIGURE`");
    }
    let rows = rows.iter().map(|row| floor_row(shop, house, row));
    paper.columns(&rows.collect::<Vec<_>>())
}

fn floor_row(shop: &Opened, house: House<'_>, row: &FloorRow) -> [String; 5] {
    let (done, of) = row.route;
    let doing = match &row.doing {
        Some((work, step)) => format!("{}: {step}", work_name(work, &shop.cards)),
        None if row.unread => format!("not known: {UNREAD}"),
        None => match &row.ahead {
            Some(work) => format!("next: {}", work_name(work, &shop.cards)),
            None => "no work open".to_owned(),
        },
    };
    let done = if row.unread {
        "?".to_owned()
    } else {
        done.to_string()
    };
    let mut notes: Vec<String> = flaw_of(shop, &row.figure).into_iter().collect();
    if !row.waits_for.is_empty() && !row.unread {
        let since = row.since.map(|at| format!("since {} ", shop.hour(at)));
        let since = since.unwrap_or_default();
        // A gate may have shut long after the last act.
        notes.push(match row.since {
            Some(at) if row.waits_for.starts_with("gate: ") => {
                format!("waits for {}, last act {}", row.waits_for, shop.hour(at))
            }
            _ => format!("waits {since}for {}", row.waits_for),
        });
    }
    if let Some(view) = &row.next {
        notes.push(format!(
            "{} {}",
            clock_name(view.clock),
            clocks::when(shop, view)
        ));
    }
    notes.extend(row.answered.clone());
    if 0 < row.unanswered {
        notes.push(format!("{} to answer", row.unanswered));
    }
    if 0 < row.refused {
        notes.push(format!("{} refused", row.refused));
    }
    if let Some(day) = row.promised {
        let seen = noted(house, &row.figure).filter(|(seen, _)| is_at_risk(seen));
        notes.push(match seen {
            None => format!("promised {}", date(day)),
            Some((seen, stamp)) => format!(
                "▲ promised {}, {}; forecast noted {}",
                date(day),
                end_words(seen),
                age(shop, stamp.at)
            ),
        });
    }
    [
        row.figure.clone(),
        row.room.clone(),
        format!("{done} of {of}"),
        doing,
        notes.join("; "),
    ]
}

/// Returns the flaw of a figure's card in words.
fn flaw_of(shop: &Opened, figure: &str) -> Option<String> {
    shop.cards.flawed.figures.get(figure).map(Flaw::told)
}

fn date(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

/// The late end of a figure, and how often it comes after the promise.
fn end_words(noted: &Promise) -> String {
    let end = noted.ninety.map_or_else(
        || "no end in sight".to_owned(),
        |day| format!("90 % by {}", date(day)),
    );
    let late = noted
        .risk_percent
        .map_or_else(String::new, |late| format!(", late in {late} % of runs"));
    format!("{end}{late}")
}

/// How many days ago something was noted.
fn age(shop: &Opened, at: DateTime<FixedOffset>) -> String {
    let day = |at: DateTime<FixedOffset>| shop.zone.show(at.to_utc()).date_naive();
    match (day(shop.now) - day(at)).num_days() {
        days if days <= 0 => "today".to_owned(),
        days => format!("{} ago", counted(days, "day")),
    }
}

/// The promise against the forecast that was noted last, with the age of that.
fn promise_fact(
    shop: &Opened,
    house: House<'_>,
    figure: &str,
) -> Option<(String, Map<String, Value>)> {
    let card = house.cards.figures.get(figure)?;
    let promised = date(card.promised?);
    let Some((row, stamp)) = noted(house, figure) else {
        let words = format!(
            "{promised}; no forecast is noted yet: one is noted when the day is closed on the \
             screen; `knuckle forecast {figure}` reckons one now"
        );
        return Some((words, Map::new()));
    };
    let risk = if is_at_risk(row) { "▲ at risk: " } else { "" };
    let age = age(shop, stamp.at);
    let words = format!("{promised}; {risk}{}; forecast noted {age}", end_words(row));
    Some((words, fields(&noted_json(shop, house, figure))))
}

fn noted_json(shop: &Opened, house: House<'_>, figure: &str) -> NotedJson {
    let Some((row, stamp)) = noted(house, figure) else {
        return NotedJson::default();
    };
    NotedJson {
        by_90_percent: row.ninety.map(|day| day.to_string()),
        late_percent: row.risk_percent,
        at_risk: row.risk_percent.map(|_| is_at_risk(row)),
        forecast_noted: Some(shop.rfc3339(stamp.at)),
    }
}

fn floor_json<'a>(shop: &Opened, house: House<'_>, row: &'a FloorRow) -> FloorJson<'a> {
    let (route_done, route_of) = row.route;
    let work = row.doing.as_ref().map(|(work, _)| work);
    let clock_at = row.next.as_ref().and_then(ClockView::deadline);
    FloorJson {
        figure: &row.figure,
        name: &row.name,
        room: &row.room,
        operation: work.map(|work| work.operation.as_str()),
        target: work.and_then(|work| work.target.as_deref()),
        step: row.doing.as_ref().map(|(_, step)| step.as_str()),
        waits_for: &row.waits_for,
        since: row
            .since
            .filter(|_| !row.waits_for.is_empty())
            .map(|at| shop.rfc3339(at)),
        clock: row.next.as_ref().map(|view| clock_name(view.clock)),
        clock_at: clock_at.map(|at| shop.rfc3339(at)),
        route_done,
        route_of,
        holds: row.holds,
        answered: row.answered.as_deref(),
        unanswered: row.unanswered,
        refused: row.refused,
        promised: row.promised.map(|date| date.to_string()),
        forecast: noted_json(shop, house, &row.figure),
        flaw: flaw_of(shop, &row.figure),
    }
}

fn one(
    shop: &Opened,
    (house, figure): (House<'_>, &str),
    paper: &mut Paper<'_>,
) -> Result<(), Trouble> {
    let facts = facts(shop, house, figure);
    if paper.json {
        return paper.objects(&facts);
    }
    let mut rows: Vec<[String; 3]> = Vec::new();
    let mut before: Option<&FactJson> = None;
    for fact in &facts {
        match (rows.last_mut(), &fact.target) {
            // One operation that could be begun on twenty zones is one row.
            (Some([_, _, text]), Some(target)) if are_one_row(before, fact) => {
                text.push_str(", ");
                text.push_str(target);
            }
            _ => {
                let n = fact.n.map_or_else(String::new, |n| format!("{figure}:{n}"));
                rows.push([fact.about.to_owned(), n, fact.text.clone()]);
            }
        }
        before = Some(fact);
    }
    paper.columns(&rows)
}

fn are_one_row(before: Option<&FactJson>, fact: &FactJson) -> bool {
    let same = |before: &FactJson| before.about == fact.about && before.operation == fact.operation;
    fact.about == "next" && before.is_some_and(same)
}

fn fact(
    figure: &str,
    about: &'static str,
    work: Option<&Work>,
    n: Option<u64>,
    text: String,
) -> FactJson {
    FactJson {
        figure: figure.to_owned(),
        about,
        operation: work.map(|work| work.operation.clone()),
        target: work.and_then(|work| work.target.clone()),
        n,
        text,
        figures: Map::new(),
    }
}

fn facts(shop: &Opened, house: House<'_>, figure: &str) -> Vec<FactJson> {
    let card = card_text(house, figure);
    let mut all = vec![fact(figure, "card", None, None, card)];
    let flaws = flaws_of(house, figure, None).into_iter();
    all.extend(flaws.map(|flaw| fact(figure, "flaw", None, None, flaw.told())));
    let promise = promise_fact(shop, house, figure);
    all.extend(promise.map(|(words, figures)| FactJson {
        figures,
        ..fact(figure, "promise", None, None, words)
    }));
    if let Some(standing) = house.figure(figure) {
        let jobs = standing.open_jobs();
        all.extend(jobs.flat_map(|job| job_facts(shop, (house, figure), job)));
        all.extend(gate_facts(shop, house, figure));
        let coats = last_coats(&standing.coats).into_iter();
        all.extend(coats.map(|kept| coat_fact(house, figure, kept)));
    }
    let views = clock_views(house, shop.now);
    let views = views.iter().filter(|view| view.figure == figure);
    all.extend(views.map(|view| clock_fact(shop, figure, view)));
    for open in matters(house, figure, &holds(house, shop.now)) {
        let text = format!("{} ({})", open.told(), open.stamp.by);
        let n = Some(open.stamp.n);
        all.push(fact(figure, "matter", open.work.as_ref(), n, text));
    }
    let next = offers(house, figure).into_iter();
    for offer in next.filter(|offer| offer.stage == Stage::Next) {
        let mut name = work_name(&offer.work, house.cards);
        for opener in openers(house, figure, &offer.work, shop.now) {
            let by = opener.works.iter().map(|by| work_name(by, house.cards));
            let by = by.collect::<Vec<_>>().join(", ");
            name = format!("{name}; shut: {}; opened by {by}", opener.gate.why);
        }
        all.push(fact(figure, "next", Some(&offer.work), None, name));
    }
    let passed = offers(house, figure).into_iter();
    for offer in passed.filter(|offer| offer.stage == Stage::Passed) {
        let name = work_name(&offer.work, house.cards);
        let words = format!("{name}; what stands behind it on the route was begun without it");
        all.push(fact(figure, "passed", Some(&offer.work), None, words));
    }
    let lacking = lacking(shop, house, figure);
    all.extend(lacking.into_iter().map(|(work, words)| FactJson {
        target: None,
        ..fact(figure, "shelf", Some(&work), None, words)
    }));
    all
}

/// A walk that is open: the step in front, and what is reckoned there.
fn job_facts(shop: &Opened, (house, figure): (House<'_>, &str), job: &Job) -> Vec<FactJson> {
    let Some(front) = prompt(house, figure, &job.work, shop.now) else {
        return Vec::new();
    };
    let text = format!(
        "{}, step {} of {}: {}; {}",
        work_name(&job.work, house.cards),
        front.number,
        front.of,
        front.act,
        ask_text(shop, &front.ask)
    );
    let work = Some(&job.work);
    let mut all = vec![fact(figure, "job", work, Some(job.begun.n), text)];
    let list = house.cards.flawed.checklists.get(&job.work.operation);
    all.extend(list.map(|flaw| fact(figure, "flaw", work, None, flaw.told())));
    all.extend(front.sums.iter().map(|sum| FactJson {
        figures: figures(sum),
        ..fact(figure, "sum", work, None, sum.line.clone())
    }));
    all
}

/// The gates that stand open, and until when.
fn gate_facts(shop: &Opened, house: House<'_>, figure: &str) -> Vec<FactJson> {
    let gates = open_gates(house, Some(figure), shop.now);
    let facts = gates.iter().map(|gate| {
        let evidence = &gate.evidence;
        let hour = shop.hour(evidence.good_until);
        let name = work_name(&gate.work, house.cards);
        let text = format!("{name}: {} is open, good until {hour}", evidence.name);
        fact(figure, "gate", Some(&gate.work), None, text)
    });
    facts.collect()
}

fn coat_fact(house: House<'_>, figure: &str, kept: &CoatKept) -> FactJson {
    let coat = &kept.coat;
    let kind = if coat.stripe { "stripe coat" } else { "coat" };
    let name = work_name(&kept.work, house.cards);
    let text = format!(
        "{name}: {kind} {} of {}, {}",
        coat.number, coat.of, coat.material
    );
    fact(figure, "coat", Some(&kept.work), Some(kept.stamp.n), text)
}

fn clock_fact(shop: &Opened, figure: &str, view: &ClockView) -> FactJson {
    let when = clocks::when(shop, view);
    let text = format!(
        "{}, {}: {when}; {}",
        clock_name(view.clock),
        view.about,
        view.because
    );
    let n = view.id.split('.').next().and_then(|n| n.parse().ok());
    fact(figure, "clock", Some(&view.work), n, text)
}

/// What the shelf lacks for the operations that could be begun next, each said once.
fn lacking(shop: &Opened, house: House<'_>, figure: &str) -> Vec<(Work, String)> {
    let mut said: Vec<(Work, String)> = Vec::new();
    let next = offers(house, figure).into_iter();
    for offer in next.filter(|offer| offer.stage == Stage::Next) {
        let lacks = shelf_lacks(house, (figure, &offer.work), shop.now.date_naive());
        let words = format!("{}: the shelf lacks {}", offer.title, lacks.join("; "));
        let is_new = said.iter().all(|(_, known)| *known != words);
        if !lacks.is_empty() && is_new {
            said.push((offer.work, words));
        }
    }
    said
}

/// The fields of an answer as they stand in JSON.
fn fields(answer: &impl Serialize) -> Map<String, Value> {
    match serde_json::to_value(answer) {
        Ok(Value::Object(fields)) => fields,
        _ => Map::new(),
    }
}

fn figures(sum: &StepSum) -> Map<String, Value> {
    let topic = ("topic".to_owned(), Value::from(sum.topic));
    let figures = sum.figures.iter().map(|(name, figure)| {
        let value = match figure {
            Figured::Number(number) => Value::from(*number),
            Figured::Is(is) => Value::from(*is),
            Figured::Word(word) => Value::from(word.as_str()),
        };
        ((*name).to_owned(), value)
    });
    std::iter::once(topic).chain(figures).collect()
}

fn card_text(house: House<'_>, figure: &str) -> String {
    let room = house.room_of(figure);
    let Some(card) = house.cards.figures.get(figure) else {
        return format!("in {room}");
    };
    let promised = card
        .promised
        .map_or_else(String::new, |date| format!(", promised {date}"));
    format!("{}, in {room}{promised}", card.name)
}

/// The last coat of each operation on each target.
fn last_coats(coats: &[CoatKept]) -> Vec<&CoatKept> {
    let mut last: Vec<&CoatKept> = Vec::new();
    for coat in coats {
        last.retain(|earlier| earlier.work != coat.work);
        last.push(coat);
    }
    last
}

/// What a step asks for, in words.
fn ask_text(shop: &Opened, ask: &Ask) -> String {
    let shown = shop.shown();
    match ask {
        Ask::Gate(verdict) => format!("the gate {} is shut: {}", verdict.name, verdict.why),
        Ask::Cautions(cautions) => format!("{} to read", counted(cautions.len(), "caution")),
        Ask::Confirm { say, nth, of } => format!("to look at, {nth} of {of}: {say}"),
        Ask::Reading {
            ask,
            measure,
            nth,
            of,
            ..
        } => {
            format!(
                "to read, {nth} of {of}: {ask}{}",
                in_unit(shown, measure.unit())
            )
        }
        Ask::Choice { ask, options, .. } => format!("{ask}: {}", options.join(" / ")),
        Ask::Lot { ask, .. } | Ask::Words { ask, .. } => ask.clone(),
        Ask::Photo { station, .. } => format!("a photograph: {station}"),
        Ask::Batch { .. } => "a batch to choose".to_owned(),
        Ask::Pour {
            material,
            asked_g,
            cup,
            cups,
            ..
        } => {
            format!(
                "{} of {material} to pour, cup {cup} of {cups}",
                shown.mass(*asked_g)
            )
        }
        Ask::PourOff { off_percent, .. } => format!("the cup is off by {off_percent:+.1} %"),
        Ask::Start { promise_min, .. } => {
            format!(
                "the start at first contact: the cup promises {:.0} min",
                promise_min.floor()
            )
        }
        Ask::Act => "to do".to_owned(),
        Ask::Wait { clock, ready, hand } => {
            let when = clock.as_ref().map_or_else(String::new, |view| {
                format!(" ({})", clocks::when(shop, view))
            });
            let lead = if *ready {
                "a hand has to say"
            } else {
                "waits until"
            };
            format!("{lead}: {hand}{when}")
        }
        Ask::Test { ready_word, .. } => format!("a test has to say {ready_word}"),
        Ask::Hold {
            sign,
            may_sign,
            refused,
        } => {
            let refused = refused.as_ref().map_or_else(String::new, |refused| {
                let do_now = match refused.again {
                    None => "; put it right, then show it once more",
                    Some(_) => "",
                };
                format!("; {}{do_now}", refused.told())
            });
            format!("signature: {sign} (by {}){refused}", may_sign.join(", "))
        }
        Ask::Finished { .. } => "finished".to_owned(),
        Ask::SentBack { back_to, why } => format!("sent back to {back_to}: {why}"),
    }
}

fn in_unit(shown: Shown, unit: &str) -> String {
    let of_one = shown.of_unit(1.0, unit);
    match of_one.split_once(' ') {
        Some((_, unit)) => format!(", in {unit}"),
        None => String::new(),
    }
}
