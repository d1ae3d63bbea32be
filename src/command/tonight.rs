//! `tonight FIGURE`: the night ruler, when to lay size this evening, panel by panel.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::opened::Opened;
use super::paper::Paper;
use super::{TonightArgs, names};
use crate::plan::{Certainty, LaySpan, Leafing, Night, NightAsk, night, noon_after};
use crate::report::night_page;
use crate::trouble::{ExitKind, Trouble};

/// The night with `--json`; its panels follow, each on a line of its own. Moments are RFC 3339
/// in the shop's zone, spans two moments with `/` between, `null` where there is none.
#[derive(Debug, Serialize)]
struct NightJson<'a> {
    row: &'static str,
    figure: &'a str,
    size: Option<&'a str>,
    lot: Option<&'a str>,
    provenance: Option<&'a str>,
    /// `sure`, `likely` or `none`.
    certainty: &'static str,
    works: Vec<String>,
    likely: Vec<String>,
    best: Option<String>,
    earliest: Option<String>,
    latest: Option<String>,
    margin_min: Option<f64>,
    /// The best of the likely lay times, where none is sure.
    likely_best: Option<String>,
    first_test: Option<String>,
    /// Whether a hand must come for it while the doors are shut.
    hand_at_test: bool,
    come_in_at: Option<String>,
    why_empty: Option<&'a str>,
    not_now: Option<&'a str>,
    would_open: &'a [String],
    left_out: Vec<String>,
    notes: &'a [String],
    because: &'a str,
}

/// A panel with `--json`.
#[derive(Debug, Serialize)]
struct PanelJson<'a> {
    row: &'static str,
    /// `sure` or `likely`: of all moments of the row.
    certainty: &'static str,
    panel: &'a str,
    name: &'a str,
    leaves: usize,
    books: usize,
    size_from: String,
    size_to: String,
    ready: String,
    start: String,
    end: String,
    dead: String,
}

/// Tells the night. That nothing is sure is an answer like any other.
///
/// # Errors
/// When a name is not known or a journal cannot be read.
pub(super) fn run(
    shop: &Opened,
    args: &TonightArgs,
    paper: &mut Paper<'_>,
) -> Result<ExitKind, Trouble> {
    names::figure(&shop.cards, &args.figure, "FIGURE")?;
    named(shop, args)?;
    let keeper = shop.told_keeper(Some(&args.figure), paper)?;
    let noon = noon_after(shop.now);
    let ask = NightAsk {
        figure: &args.figure,
        panels: &args.panel,
        size: args.size.as_deref(),
        gilders: args.gilders,
        leaves_per_h: args.leaves_per_h.map(f64::from),
        tomorrow: *shop.zone.show(noon.to_utc()).offset(),
    };
    let night = night(keeper.house(), &ask, shop.now);
    if paper.json {
        paper.objects([json(&night)])?;
        paper.objects(night.order.iter().map(|row| panel_json(&night, row)))?;
    } else {
        let card = shop.cards.figures.get(&args.figure);
        let name = card.map_or(args.figure.as_str(), |card| card.name.as_str());
        for line in night_page(&night, name).lines() {
            paper.line(line)?;
        }
        paper.deferral()?;
    }
    Ok(ExitKind::Well)
}

/// Checks the panels and the size that were named.
fn named(shop: &Opened, args: &TonightArgs) -> Result<(), Trouble> {
    let card = shop.cards.figures.get(&args.figure);
    let panels = card.map_or(&[][..], |card| card.panels.as_slice());
    let known = panels.iter().map(|panel| panel.id.as_str());
    for panel in &args.panel {
        if !known.clone().any(|id| id == panel) {
            return Err(names::unknown(("no panel", "--panel"), panel, known));
        }
    }
    let sizes = shop.cards.materials.values();
    let sizes = sizes
        .filter(|material| material.kind == crate::card::MaterialKind::Size)
        .map(|material| material.id.as_str());
    match &args.size {
        Some(size) if !sizes.clone().any(|id| id == size) => {
            Err(names::unknown(("no size", "--size"), size, sizes))
        }
        _ => Ok(()),
    }
}

fn moment(at: DateTime<FixedOffset>) -> String {
    at.to_rfc3339()
}

fn json(night: &Night) -> NightJson<'_> {
    let spans = |spans: &[LaySpan]| {
        let span = |span: &LaySpan| format!("{}/{}", moment(span.from), moment(span.to));
        spans.iter().map(span).collect()
    };
    let size = night.size.as_ref();
    let sure = night.certainty == Some(Certainty::Sure);
    NightJson {
        row: "night",
        figure: &night.figure,
        size: size.map(|size| size.material.as_str()),
        lot: size.map(|size| size.lot.as_str()),
        provenance: size.map(|size| size.provenance.as_str()),
        certainty: certainty(night),
        works: spans(&night.works),
        likely: spans(&night.likely),
        best: night.best.filter(|_| sure).map(moment),
        earliest: night.earliest.filter(|_| sure).map(moment),
        latest: night.latest.filter(|_| sure).map(moment),
        margin_min: night.margin.filter(|_| sure).map(|margin| margin.0.floor()),
        likely_best: night.best.filter(|_| !sure).map(moment),
        first_test: night.first_test.map(moment),
        hand_at_test: night.hand_at_test,
        come_in_at: night.come_in_at.map(moment),
        why_empty: night.why_empty.as_deref(),
        not_now: night.not_now.as_deref(),
        would_open: &night.would_open,
        left_out: night
            .left_out
            .iter()
            .map(|(panel, why)| format!("{panel}: {why}"))
            .collect(),
        notes: &night.notes,
        because: &night.because,
    }
}

fn certainty(night: &Night) -> &'static str {
    match night.certainty {
        Some(Certainty::Sure) => "sure",
        Some(Certainty::Likely) => "likely",
        None => "none",
    }
}

fn panel_json<'a>(night: &Night, row: &'a Leafing) -> PanelJson<'a> {
    PanelJson {
        row: "panel",
        certainty: certainty(night),
        panel: &row.piece.panel,
        name: &row.piece.name,
        leaves: row.piece.leaves,
        books: row.piece.books,
        size_from: moment(row.sized.from),
        size_to: moment(row.sized.to),
        ready: moment(row.ready),
        start: moment(row.start),
        end: moment(row.end),
        dead: moment(row.dead),
    }
}
