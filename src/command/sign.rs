//! `sign`: what waits for a signature or an answer; and giving one.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{SignArgs, names};
use crate::deed::Work;
use crate::report::work_name;
use crate::standing::{AtStep, HoldWaiting, House, Intent, Matter, all_matters, holds};
use crate::trouble::{ExitKind, Trouble};

/// Something that waits, with `--json`.
#[derive(Debug, Serialize)]
struct WaitingJson {
    /// Figure id.
    figure: String,
    /// `hold`, `overrule`, `deviation` or `question`; `refused_hold` or `refused`: a hold point, or
    /// one of the others, that was refused and is back at the bench.
    kind: &'static str,
    /// Line to answer; `null` for a hold, which is signed by its operation and target.
    line: Option<u64>,
    /// Checklist id, or `null`.
    operation: Option<String>,
    /// Zone, joint or panel, or `null`.
    target: Option<String>,
    /// When it was written, RFC 3339 in the shop's zone; `null` for a hold.
    since: Option<String>,
    /// Who wrote it; `null` for a hold.
    by: Option<String>,
    /// Who may sign, short names parted by commas; `null` where anybody with the mark may.
    may_sign: Option<String>,
    /// What is accepted, or what happened.
    text: String,
}

/// Lists what waits.
///
/// # Errors
/// When a journal cannot be read.
pub(super) fn list(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.told_keeper(None, paper)?;
    let house = keeper.house();
    let waiting = waiting(shop, house);
    if paper.json {
        paper.objects(&waiting)?;
    } else if waiting.is_empty() {
        paper.line("nothing waits for a signature or an answer")?;
    } else {
        let rows: Vec<[String; 4]> = waiting.iter().map(row).collect();
        paper.columns(&rows)?;
        if waiting.iter().any(|one| one.kind.starts_with("refused")) {
            paper.line("refused: once it is put right, `knuckle sign FIGURE LINE --again --why WHAT` asks anew; a hold point goes by its operation as well")?;
        }
    }
    Ok(ExitKind::Well)
}

/// Figure, what to type after it, what kind, and the words.
fn row(one: &WaitingJson) -> [String; 4] {
    let typed = match one.line {
        Some(line) => line.to_string(),
        None => [&one.operation, &one.target]
            .into_iter()
            .flatten()
            .cloned()
            .collect::<Vec<_>>()
            .join(" "),
    };
    let who = match (&one.may_sign, &one.by) {
        (Some(may), _) => format!(" (by {may})"),
        (None, Some(by)) => format!(" ({by})"),
        _ => String::new(),
    };
    let kind = one.kind.replace('_', " ");
    [
        one.figure.clone(),
        typed,
        kind,
        format!("{}{who}", one.text),
    ]
}

fn waiting(shop: &Opened, house: House<'_>) -> Vec<WaitingJson> {
    let waiting = holds(house, shop.now);
    let open = all_matters(house, &waiting).map(|(figure, open)| WaitingJson {
        figure: figure.to_owned(),
        kind: match (open.matter, open.refusal()) {
            (Matter::HoldRefused, _) => "refused_hold",
            (_, Some(_)) => "refused",
            (Matter::Overrule(_), _) => "overrule",
            (Matter::Deviation(_), _) => "deviation",
            (Matter::Question, _) => "question",
        },
        line: Some(open.stamp.n),
        operation: open.work.as_ref().map(|work| work.operation.clone()),
        target: open.work.as_ref().and_then(|work| work.target.clone()),
        since: Some(shop.rfc3339(open.stamp.at)),
        by: Some(open.stamp.by.to_string()),
        may_sign: None,
        text: open.told(),
    });
    let (refused, open): (Vec<_>, Vec<_>) = open.partition(|one| one.kind == "refused");
    // What was refused waits for the bench; it stands last.
    let (back, waiting): (Vec<_>, Vec<_>) =
        waiting.into_iter().partition(|hold| hold.back().is_some());
    let back = back.into_iter().map(|hold| WaitingJson {
        text: format!("back at the bench: {}", hold.told()),
        kind: "refused_hold",
        ..signature(shop, hold)
    });
    let signatures = waiting.into_iter().map(|hold| signature(shop, hold));
    signatures.chain(open).chain(back).chain(refused).collect()
}

/// A hold point that waits.
fn signature(shop: &Opened, hold: HoldWaiting) -> WaitingJson {
    WaitingJson {
        text: hold.told(),
        since: Some(shop.rfc3339(hold.since.at)),
        figure: hold.figure,
        kind: "hold",
        line: None,
        operation: Some(hold.work.operation),
        target: hold.work.target,
        by: None,
        may_sign: Some(hold.may_sign.join(", ")),
    }
}

/// Signs a hold point, or answers a line.
///
/// # Errors
/// When nothing of that name waits, the person may not sign, or the line cannot be kept.
pub(super) fn run(
    shop: &Opened,
    args: &SignArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    let typed = args.figure.as_deref().unwrap_or_default();
    let (figure, what) = match (typed.rsplit_once(':'), args.what.as_deref()) {
        (Some((figure, line)), None) => (figure.to_owned(), line),
        (_, Some(what)) => (typed.to_owned(), what),
        (None, None) => return Err(missing("what is to be signed is missing")),
    };
    if !args.accept && !args.refuse && !args.again {
        return Err(missing("whether it is accepted or refused is missing"));
    }
    names::figure(&shop.cards, &figure, "FIGURE")?;
    let moment = shop.moment()?;
    if args.refuse && args.why.trim().is_empty() {
        return Err(Trouble::new(ExitKind::Misuse, "a refusal needs its reason")
            .at("--why")
            .remedy("say why in a few words; nothing was written"));
    }
    let (accepted, why) = (args.accept, args.why.clone());
    let work = match what.parse::<u64>() {
        Ok(line) => hold_of_line(shop, &figure, line)?.ok_or(line),
        Err(_a_name) => Ok(waiting_work(shop, &figure, (what, args.target.as_deref()))?),
    };
    let intent = match work {
        Ok(work) => {
            let what = if args.again {
                AtStep::ShowAgain { said: why }
            } else {
                AtStep::Sign { accepted, why }
            };
            Intent::Work { figure, work, what }
        }
        Err(line) if args.again => Intent::PutRight {
            figure,
            line,
            said: why,
        },
        Err(line) => Intent::Answer {
            figure,
            line,
            accepted,
            why,
        },
    };
    shop.act(&intent, &moment, paper)
}

/// Returns the work whose hold point a line tells of, if one waits there.
fn hold_of_line(shop: &Opened, figure: &str, line: u64) -> Result<Option<Work>, Trouble> {
    let keeper = shop.keeper()?;
    let waiting = holds(keeper.house(), shop.now);
    let mut here = waiting.into_iter().filter(|hold| hold.figure == figure);
    Ok(here.find(|hold| hold.line() == line).map(|hold| hold.work))
}

fn missing(what: &str) -> Trouble {
    let example =
        "for example `knuckle sign hare:12 --accept --as marguerite`; nothing was written";
    Trouble::misuse(what, "knuckle sign", example)
}

/// Returns the work whose hold point waits.
fn waiting_work(
    shop: &Opened,
    figure: &str,
    (operation, target): (&str, Option<&str>),
) -> Result<Work, Trouble> {
    let keeper = shop.keeper()?;
    let mut waiting = holds(keeper.house(), shop.now);
    waiting.retain(|hold| hold.figure == figure);
    let is_meant = |hold: &&HoldWaiting| {
        let here = hold.work.target.as_deref();
        hold.work.operation == operation && (target.is_none() || here == target)
    };
    let mut meant = waiting.iter().filter(is_meant);
    match (meant.next(), meant.next()) {
        (Some(one), None) => Ok(one.work.clone()),
        (Some(_), Some(_)) => Err(Trouble::new(
            ExitKind::Misuse,
            format!("{operation} of {figure} waits on more than one target"),
        )
        .at("TARGET")
        .remedy(format!("name one of {}", targets(&waiting, operation)))),
        (None, _) => Err(none_waits(shop, (figure, operation, target), &waiting)),
    }
}

fn targets(waiting: &[HoldWaiting], operation: &str) -> String {
    let same = waiting
        .iter()
        .filter(|hold| hold.work.operation == operation);
    let targets: Vec<&str> = same
        .filter_map(|hold| hold.work.target.as_deref())
        .collect();
    targets.join(", ")
}

fn none_waits(
    shop: &Opened,
    (figure, operation, target): (&str, &str, Option<&str>),
    waiting: &[HoldWaiting],
) -> Trouble {
    let lists = shop.cards.checklists.keys().map(String::as_str);
    if !shop.cards.checklists.contains_key(operation) {
        return names::unknown(("no operation", "OPERATION"), operation, lists);
    }
    let target = target.map_or_else(String::new, |target| format!(" on {target}"));
    let what = format!("{operation}{target} of {figure} waits for no signature");
    let names: Vec<String> = waiting
        .iter()
        .map(|hold| work_name(&hold.work, &shop.cards))
        .collect();
    let remedy = match names.as_slice() {
        [] => format!("no hold point of {figure} waits; `knuckle sign` lists what does"),
        names => format!("there waits {}", names.join(", ")),
    };
    Trouble::new(ExitKind::Misuse, what)
        .at("OPERATION")
        .remedy(remedy)
}
