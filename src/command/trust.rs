//! `trust [LOT]`: which lots have times of their own, and the supervisor's yes to one.

use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{TrustArgs, names};
use crate::standing::{Intent, OwnTimes, own_times};
use crate::trouble::{ExitKind, Trouble};

/// A lot with `--json`.
#[derive(Debug, Serialize)]
struct LotJson<'a> {
    /// Material id.
    material: &'a str,
    /// Lot; of two parts both, as `A + B`.
    lot: &'a str,
    /// The most cases of one kind.
    cases: usize,
    /// Whether they are enough to be trusted.
    enough: bool,
    /// Who trusted them, or `null`.
    trusted_by: Option<&'a str>,
    /// When, RFC 3339 in the shop's zone, or `null`.
    trusted_at: Option<String>,
}

/// Lists the lots that hands have said something about.
///
/// # Errors
/// When a journal cannot be read.
pub(super) fn list(shop: &Opened, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let keeper = shop.keeper()?;
    let all = own_times(keeper.house());
    if paper.json {
        paper.objects(all.iter().map(|own| json(shop, own)))?;
    } else if all.is_empty() {
        paper.line("no lot has times of its own yet")?;
    } else {
        let rows: Vec<[String; 4]> = all.iter().map(|own| row(shop, own)).collect();
        paper.columns(&rows)?;
    }
    Ok(ExitKind::Well)
}

fn row(shop: &Opened, own: &OwnTimes) -> [String; 4] {
    let stands = match &own.trusted {
        Some(stamp) => format!("trusted by {} {}", stamp.by, shop.hour(stamp.at)),
        None if own.enough => "may be trusted".to_owned(),
        None => "too few to be trusted".to_owned(),
    };
    let cases = format!("n = {}", own.cases);
    [own.material.clone(), own.lot.clone(), cases, stands]
}

fn json<'a>(shop: &Opened, own: &'a OwnTimes) -> LotJson<'a> {
    let trusted = own.trusted.as_ref();
    LotJson {
        material: &own.material,
        lot: &own.lot,
        cases: own.cases,
        enough: own.enough,
        trusted_by: trusted.map(|stamp| stamp.by.as_str()),
        trusted_at: trusted.map(|stamp| shop.rfc3339(stamp.at)),
    }
}

/// Trusts a lot.
///
/// # Errors
/// When no card has the lot, the person may not sign, it has too few cases, is trusted
/// already, or the line cannot be kept.
pub(super) fn run(shop: &Opened, lot: &str, paper: &mut Paper<'_>) -> Result<ExitKind, Trouble> {
    let moment = shop.moment()?;
    let keeper = shop.keeper()?;
    let known = own_times(keeper.house());
    let material = known.iter().find(|own| own.lot == lot);
    let material = material.map(|own| own.material.clone());
    let on_card = || {
        let mut cards = shop.cards.materials.values();
        let card = cards.find(|card| {
            let has = |part: &str| card.lots.iter().any(|lot| lot.lot == part);
            lot.split(" + ").all(has)
        });
        card.map(|card| card.id.clone())
    };
    let Some(material) = material.or_else(on_card) else {
        let lots = known.iter().map(|own| own.lot.as_str());
        return Err(names::unknown(("no lot", "LOT"), lot, lots));
    };
    let intent = Intent::Trust {
        material,
        lot: lot.to_owned(),
    };
    shop.act(&intent, &moment, paper)
}

/// Returns the lot that was typed; the two lots of a pair may stand apart.
pub(super) fn lot_of(args: &TrustArgs) -> Option<String> {
    (!args.lot.is_empty()).then(|| args.lot.join(" "))
}
