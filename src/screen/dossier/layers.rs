//! The leaf of layers: a column for each exposure, a row for each campaign, the outside on
//! top as it is on the wood. A gap is shown as a gap. Swatches only point; numbers decide.

use ratatui::layout::Rect;

use crate::standing::{
    Campaign, Exposure, Layer, LayerColour, Layers, Repaint, Unplaced, limit_words, marker_word,
    metal_word, place_words,
};

use super::super::column::Column;
use super::super::ink::{Ink, cells};
use super::super::keys::Act;
use super::super::look::Tone;
use super::super::pane::Pane;
use super::pixels;
use super::roll::Roll;
use super::seen::Dossier;
use crate::reckon::counted;

/// Cells of the words in front of a row.
const HEAD: u16 = 17;

/// Rows kept below the table.
const BELOW: u16 = 5;

/// Narrowest and widest column, cells.
const COLUMN: (u16, u16) = (14, 28);

/// Draws the leaf.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let layers = &dossier.layers;
    if layers.exposures.is_empty() {
        let mut column = Column::new(ink, area);
        column.line("no layer of this figure was noted yet", Tone::Rubbed);
        column.wrap(
            "note them with `knuckle layer`: zone, exposure and layer, its word, three readings",
            Tone::Rubbed,
            3,
        );
        return;
    }
    let mut column = Column::new(ink, area);
    if !layers.contradictions.is_empty() {
        let circles = counted(layers.contradictions.len(), "contradiction");
        column.line(&format!("▲ {circles}: told below the chart ↓"), Tone::Bole);
    }
    let rest = column.rest();
    let (used, hidden) = table(ink, rest, (pane, dossier));
    let below = Rect {
        y: rest.y + used,
        height: rest.height.saturating_sub(used),
        ..rest
    };
    let mut roll = Roll::new(below.width);
    contradictions(&mut roll, layers);
    exposure_in_full(&mut roll, (pane, dossier));
    chips(&mut roll, dossier);
    for hint in &layers.hints {
        roll.wrap(&format!("? {hint}"), Tone::Gilt);
    }
    if !layers.not_studied.is_empty() {
        let zones = layers.not_studied.join(", ");
        roll.wrap(&format!("nobody has looked at: {zones}"), Tone::Rubbed);
    }
    // The table is scrolled to its end first.
    roll.draw(ink, below, pane.view.scroll.saturating_sub(hidden));
}

/// What contradicts itself, with the lines in which it was said; right below the chart.
fn contradictions(roll: &mut Roll, layers: &Layers) {
    for circle in &layers.contradictions {
        roll.wrap(&format!("▲ {}", circle.words), Tone::Bole);
        for seen in &circle.observations {
            let words = format!("  line {}: {}", seen.line, seen.words);
            roll.wrap(&words, Tone::Chalk);
        }
    }
}

/// Draws the table; returns the rows used, and how many campaigns have to be scrolled to.
fn table(ink: &mut Ink<'_>, area: Rect, (pane, dossier): (&Pane<'_>, &Dossier)) -> (u16, usize) {
    let layers = &dossier.layers;
    let (first, width) = columns(area, pane, dossier);
    let shown: Vec<&Exposure> = layers.exposures.iter().skip(first).collect();
    heads(ink, area, (pane, dossier), (&shown, width));
    let table = Row::all(layers);
    let count = u16::try_from(table.len()).unwrap_or(u16::MAX);
    // Below the table there is always room to read one layer and what else there is.
    let room = area.height.saturating_sub(2 + BELOW).max(1);
    let each = (room / count.max(1)).clamp(1, 3);
    let fit = usize::from(room / each).min(table.len());
    let hidden = table.len() - fit;
    let above = pane.view.scroll.min(hidden);
    let mut y = 1;
    for kind in table.into_iter().skip(above).take(fit) {
        let row = Rect {
            y: area.y + y,
            height: each.min(area.height.saturating_sub(y)),
            ..area
        };
        match kind {
            Row::Of(place) => {
                if let Some(campaign) = layers.campaigns.get(place) {
                    campaign_head(ink, row, campaign);
                }
            }
            Row::Outside(why) => {
                ink.put((row.x, row.y), why.words(), Tone::Bole, HEAD - 1);
            }
        }
        for (x, exposure) in (area.x + HEAD..).step_by(usize::from(width)).zip(&shown) {
            if area.right() < x + width {
                break;
            }
            let cell = Rect {
                x,
                width: width - 1,
                ..row
            };
            one_cell(ink, cell, exposure, kind);
        }
        y += each;
    }
    let foot = Rect {
        y: area.y + y,
        height: 1.min(area.height.saturating_sub(y)),
        ..area
    };
    wood(ink, foot);
    let more = match (above, hidden - above) {
        (0, 0) => String::new(),
        (0, below) => format!(" … {below} more ↓ "),
        (above, 0) => format!(" … {above} above ↑ "),
        (above, below) => format!(" … {below} more ↓   {above} above ↑ "),
    };
    if 0 < foot.height {
        ink.put_right(foot, 0, &more, Tone::Gilt);
    }
    (y + 1, hidden)
}

/// The first column shown and the width of all, so that the picked one is among them.
fn columns(area: Rect, pane: &Pane<'_>, dossier: &Dossier) -> (usize, u16) {
    let room = area.width.saturating_sub(HEAD);
    let count = dossier.layers.exposures.len();
    let even = room / u16::try_from(count).unwrap_or(u16::MAX).max(1);
    let width = even.clamp(COLUMN.0, COLUMN.1);
    let fit = usize::from(room / width).max(1);
    let picked = picked(pane, dossier).unwrap_or(0);
    ((picked + 1).saturating_sub(fit), width)
}

/// The exposure of the zone picked.
fn picked(pane: &Pane<'_>, dossier: &Dossier) -> Option<usize> {
    let zone = dossier.id(pane.view.dossier.part)?;
    let mut exposures = dossier.layers.exposures.iter();
    exposures.position(|exposure| exposure.zone == zone)
}

fn heads(
    ink: &mut Ink<'_>,
    area: Rect,
    (pane, dossier): (&Pane<'_>, &Dossier),
    (shown, width): (&[&Exposure], u16),
) {
    let fit = usize::from(area.width.saturating_sub(HEAD) / width);
    let hidden = dossier.layers.exposures.len().saturating_sub(fit);
    if hidden == 0 {
        ink.put((area.x, area.y), "outside", Tone::Rubbed, HEAD);
    } else {
        let words = format!("… {hidden} more ← →");
        ink.put((area.x, area.y), &words, Tone::Gilt, HEAD - 1);
    }
    let zone = dossier.id(pane.view.dossier.part);
    for (x, exposure) in (area.x + HEAD..).step_by(usize::from(width)).zip(shown) {
        if area.right() < x + width {
            break;
        }
        let words = format!("{} {}", exposure.zone, exposure.exposure);
        let tone = if Some(exposure.zone.as_str()) == zone {
            Tone::GiltPlate
        } else {
            Tone::Gilt
        };
        ink.put((x, area.y), &words, tone, width - 1);
        let part = dossier.part_of(&exposure.zone);
        if let Some(part) = part.and_then(|part| u8::try_from(part).ok()) {
            ink.touch(
                Rect::new(x, area.y, width - 1, area.height),
                Act::Part(part),
            );
        }
    }
}

fn campaign_head(ink: &mut Ink<'_>, row: Rect, campaign: &Campaign) {
    let coverage = campaign.coverage;
    let lines = [
        format!("campaign {}", campaign.number),
        format!("{} of {} zones", coverage.zones, coverage.studied),
        coverage.area_percent.map_or_else(
            || "area not measured".to_owned(),
            |percent| format!("{percent:.0} % of area"),
        ),
    ];
    for (y, (words, tone)) in
        (row.y..row.bottom()).zip(lines.iter().zip([Tone::Chalk, Tone::Rubbed, Tone::Rubbed]))
    {
        ink.put((row.x, y), words, tone, HEAD - 1);
    }
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
enum Row {
    /// A campaign, by its place.
    Of(usize),
    /// Layers that stand in none.
    Outside(Unplaced),
}

impl Row {
    /// The rows from the top: the outside first as it is on the wood, then what has no place.
    fn all(layers: &Layers) -> Vec<Self> {
        let all = || layers.exposures.iter().flat_map(|it| &it.layers);
        let outside = [Unplaced::Contradicts, Unplaced::NotTied];
        let outside = outside
            .into_iter()
            .filter(|why| all().any(|layer| layer.unplaced == Some(*why)));
        let campaigns = (0..layers.campaigns.len()).rev().map(Self::Of);
        campaigns.chain(outside.map(Self::Outside)).collect()
    }

    fn holds(self, layer: &Layer) -> bool {
        match self {
            Self::Of(place) => layer.campaign == Some(place),
            Self::Outside(why) => layer.unplaced == Some(why),
        }
    }
}

fn one_cell(ink: &mut Ink<'_>, cell: Rect, exposure: &Exposure, row: Row) {
    let all = exposure.layers.iter();
    let here: Vec<&Layer> = all.filter(|layer| row.holds(layer)).collect();
    let Some(outer) = here.last() else {
        ink.put((cell.x, cell.y), "╌╌ gap ╌╌", Tone::Rubbed, cell.width);
        return;
    };
    let colour = outer.colour.as_ref().and_then(LayerColour::swatch);
    let used = colour.map_or(0, |colour| pixels::swatch(ink, (cell.x, cell.y), colour, 3));
    let gap = u16::from(0 < used);
    let more = match here.len() {
        1 => String::new(),
        all => format!(" +{}", all - 1),
    };
    let metal = outer.metal.map_or("", |_| "★ ");
    let words = format!("{}{more} {metal}{}", outer.number, outer.word);
    let x = cell.x + used + gap;
    ink.put(
        (x, cell.y),
        &words,
        Tone::Chalk,
        cell.right().saturating_sub(x),
    );
    if 1 < cell.height {
        ink.put(
            (cell.x, cell.y + 1),
            &numbers(outer),
            Tone::Rubbed,
            cell.width,
        );
    }
    if 2 < cell.height {
        let markers = outer.on_top.iter().flatten().map(|it| marker_word(*it));
        let markers: Vec<&str> = markers.collect();
        if !markers.is_empty() {
            let words = format!("{} on it", markers.join(", "));
            ink.put((cell.x, cell.y + 2), &words, Tone::Rubbed, cell.width);
        }
    }
}

fn numbers(layer: &Layer) -> String {
    let Some(colour) = &layer.colour else {
        let munsell = layer.munsell.clone();
        return munsell.unwrap_or_else(|| "not measured".to_owned());
    };
    match colour.middle {
        Some((it, spread)) => {
            let mark = if colour.is_unsteady() { "!" } else { "" };
            let [l, a, b] = [it.l, it.a, it.b].map(rounded);
            format!("{l} {a} {b} ±{spread:.1}{mark}")
        }
        None => format!("read {} of 3", colour.readings.len()),
    }
}

/// A number without its point; nothing below nothing is nothing.
fn rounded(number: f64) -> String {
    let words = format!("{number:.0}");
    if words == "-0" { "0".to_owned() } else { words }
}

fn wood(ink: &mut Ink<'_>, row: Rect) {
    if row.height == 0 {
        return;
    }
    let grain: String = std::iter::repeat_n('═', usize::from(row.width)).collect();
    ink.put((row.x, row.y), &grain, Tone::Rubbed, row.width);
    ink.put((row.x, row.y), "wood ", Tone::Gilt, 5);
}

/// The exposure picked, layer by layer, with all that was noted.
fn exposure_in_full(roll: &mut Roll, (pane, dossier): (&Pane<'_>, &Dossier)) {
    let exposures = &dossier.layers.exposures;
    let at = picked(pane, dossier).unwrap_or(0);
    let Some(exposure) = exposures.get(at) else {
        return;
    };
    let void = match exposure.void {
        0 => String::new(),
        void => format!(", {void} void"),
    };
    let words = format!(
        "{} {}, from outside in{void}; L* a* b* with the spread of its readings",
        exposure.zone, exposure.exposure
    );
    roll.wrap(&words, Tone::Gilt);
    for layer in exposure.layers.iter().rev() {
        let colour = layer.colour.as_ref().and_then(LayerColour::swatch);
        roll.swatch(colour, &in_full(layer), Tone::Chalk);
    }
}

fn in_full(layer: &Layer) -> String {
    let mut said = vec![format!("{:>2} {}", layer.number, layer.word)];
    said.extend(layer.material.clone());
    said.extend(layer.munsell.clone());
    match layer.earlier.first().and_then(|first| first.middle) {
        // The layer as it came to light stands first; a later reading is its drift.
        Some((first, _)) => {
            let [l, a, b] = [first.l, first.a, first.b].map(rounded);
            said.push(format!("first {l} {a} {b}, now {}", numbers(layer)));
        }
        None if layer.colour.is_some() => said.push(numbers(layer)),
        None => {}
    }
    said.extend(layer.metal.map(|metal| metal_word(metal).to_owned()));
    let markers = layer.on_top.iter().flatten().map(|it| marker_word(*it));
    said.extend(markers.map(|word| format!("{word} on it")));
    said.extend(layer.gloss.clone());
    said.extend(layer.band.clone());
    said.push(format!("line {}", layer.stamp.n));
    match (&layer.drift, layer.dug_out) {
        (Some(drift), _) => {
            let (apart, days) = (drift.difference.delta_e_2000, drift.days);
            let how = drift.difference.drift_words();
            said.push(format!("moved {apart:.1} in {days:.0} days: {how}"));
        }
        (None, true) => said.push("out of the dark, still bleaching".to_owned()),
        (None, false) => {}
    }
    said.join(" · ")
}

fn chips(roll: &mut Roll, dossier: &Dossier) {
    for (chip, _, verdict) in &dossier.chips {
        let against = place_words(&chip.wanted);
        let (words, tone) = match verdict {
            Repaint::NoVerdict { why } => (format!("○ no verdict: {why}"), Tone::Gilt),
            Repaint::Judged {
                delta_e_2000,
                limit,
                agreed,
                passes,
                words,
            } => {
                let (sign, word, tone) = if *passes {
                    ("●", "passes", Tone::Verdigris)
                } else {
                    ("✕", "does not pass", Tone::Bole)
                };
                let apart = {
                    let limit = limit_words(*limit, *agreed);
                    format!("{delta_e_2000:.1} apart, {limit}")
                };
                (format!("{sign} {word}, {apart}: {words}"), tone)
            }
        };
        let head = format!("chip for {} against {against}: ", chip.zone);
        if cells(&head) + cells(&words) < roll.width() {
            roll.wrap(&format!("{head}{words}"), tone);
        } else {
            roll.wrap(&head, Tone::Chalk);
            roll.wrap(&words, tone);
        }
    }
}
