//! The leaf of old paint: a table for each exposure, from the wood outward, with its ties in
//! sentences below it. Swatches only point; numbers decide.

use ratatui::layout::Rect;

use crate::deed::{LayerPlace, LayersTied};
use crate::reckon::counted;
use crate::standing::{
    Campaign, Exposure, Layer, LayerColour, Layers, NOT_SETTLED, Repaint, Seen, by_words,
    limit_words, marker_word, metal_word, relation_words,
};

use super::super::column::Column;
use super::super::ink::{Ink, cells};
use super::super::look::Tone;
use super::super::pane::Pane;
use super::roll::Roll;
use super::seen::Dossier;

/// Widest column of a layer's word, cells.
const WORD: usize = 24;

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
    let mut roll = Roll::new(area.width);
    if !layers.contradictions.is_empty() {
        let all = counted(layers.contradictions.len(), "contradiction");
        let words = format!("▲ {all}, told below the first table: {NOT_SETTLED}");
        roll.wrap(&words, Tone::Bole);
    }
    let picked = dossier.id(pane.view.dossier.part);
    let mut exposures: Vec<&Exposure> = layers.exposures.iter().collect();
    exposures.sort_by_key(|exposure| Some(exposure.zone.as_str()) != picked);
    for (nth, exposure) in exposures.into_iter().enumerate() {
        head(&mut roll, (pane, dossier), exposure);
        table(&mut roll, layers, exposure);
        ties(&mut roll, layers, exposure);
        if nth == 0 {
            contradictions(&mut roll, layers);
        }
    }
    campaigns(&mut roll, layers);
    chips(&mut roll, dossier);
    for hint in &layers.hints {
        roll.wrap(&format!("? {hint}"), Tone::Gilt);
    }
    let unseen = layers.not_studied.iter().map(|id| dossier.zone_name(id));
    let unseen: Vec<&str> = unseen.collect();
    if !unseen.is_empty() {
        let zones = unseen.join("; ");
        roll.wrap(&format!("nobody has looked at: {zones}"), Tone::Rubbed);
    }
    roll.draw(ink, area, pane.view.scroll);
}

/// The place of an exposure, with the digit that brings its zone to the front.
fn head(roll: &mut Roll, (pane, dossier): (&Pane<'_>, &Dossier), exposure: &Exposure) {
    let void = match exposure.void {
        0 => String::new(),
        void => format!(", {void} void"),
    };
    let note = format!("{}{void}", counted(exposure.layers.len(), "layer"));
    let rows = dossier.studied_parts();
    let skip = super::super::hand::list_skip(pane.view, rows.len());
    let part = dossier.part_of(&exposure.zone);
    let at = rows.iter().position(|row| Some(*row) == part);
    match at.and_then(|at| (at + 1).checked_sub(skip)) {
        Some(digit @ 1..=9) => roll.pick(digit, &exposure.words(), &note),
        _ => roll.wrap(&format!("{}  {note}", exposure.words()), Tone::Gilt),
    }
}

/// The layers of an exposure in columns: number and word, colour, campaign, what else is known.
fn table(roll: &mut Roll, layers: &Layers, exposure: &Exposure) {
    let said = |layer: &Layer| {
        let campaign = layer.campaign.and_then(|at| layers.campaigns.get(at));
        let why = layer.unplaced.map_or("wood", |why| why.words());
        let campaign = campaign.map_or_else(|| why.to_owned(), |it| it.number.to_string());
        let word = format!("{:>2} {}", layer.number, layer.word);
        [word, numbers(layer), campaign]
    };
    let heads = [" from the wood", "L* a* b*", "campaign"].map(str::to_owned);
    let rows: Vec<[String; 3]> = exposure.layers.iter().map(said).collect();
    let wide = |column: usize, most: usize| {
        let all = rows
            .iter()
            .chain([&heads])
            .filter_map(|row| row.get(column));
        all.map(|words| usize::from(cells(words)))
            .max()
            .unwrap_or_default()
            .min(most)
    };
    let most = WORD.min(usize::from(roll.width() / 3));
    let wide = [wide(0, most), wide(1, WORD), wide(2, WORD)];
    roll.row(None, (&heads, wide), "", Tone::Rubbed);
    for (layer, row) in exposure.layers.iter().zip(&rows) {
        let colour = layer.colour.as_ref().and_then(LayerColour::swatch);
        roll.row(colour, (row, wide), &in_full(layer), Tone::Chalk);
    }
}

fn numbers(layer: &Layer) -> String {
    let Some(colour) = &layer.colour else {
        return "not measured".to_owned();
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

fn in_full(layer: &Layer) -> String {
    let mut said: Vec<String> = Vec::new();
    said.extend(layer.metal.map(|metal| format!("★ {}", metal_word(metal))));
    let markers = layer.on_top.iter().flatten().map(|it| marker_word(*it));
    said.extend(markers.map(|word| format!("{word} on it")));
    said.extend(layer.material.clone());
    said.extend(layer.munsell.clone());
    said.extend(layer.gloss.clone());
    said.extend(layer.band.clone());
    if let Some((first, _)) = layer.earlier.first().and_then(|first| first.middle) {
        let [l, a, b] = [first.l, first.a, first.b].map(rounded);
        said.push(format!("first read {l} {a} {b}"));
    }
    match (&layer.drift, layer.dug_out) {
        (Some(drift), _) => {
            let (apart, days) = (drift.difference.delta_e_2000, drift.days);
            let how = drift.difference.drift_words();
            said.push(format!("moved {apart:.1} in {days:.0} days: {how}"));
        }
        (None, true) => said.push("out of the dark, still bleaching".to_owned()),
        (None, false) => {}
    }
    said.push(format!("line {}", layer.stamp.n));
    said.join(" · ")
}

/// The ties of an exposure as sentences, each told from its own layer.
fn ties(roll: &mut Roll, layers: &Layers, exposure: &Exposure) {
    let is_here = |at: &LayerPlace| at.zone == exposure.zone && at.exposure == exposure.exposure;
    let mut said: Vec<(u32, String)> = Vec::new();
    for tie in &layers.ties {
        let LayersTied {
            one,
            relation,
            other,
            ..
        } = &tie.said;
        let (own, relation, other) = if is_here(one) {
            (one, *relation, other)
        } else if is_here(other) {
            (other, relation.turned(), one)
        } else {
            continue;
        };
        let mut exposures = layers.exposures.iter();
        let there = exposures.find(|it| it.zone == other.zone && it.exposure == other.exposure);
        let there = there.map_or_else(|| other.zone.clone(), Exposure::words);
        let by = by_words(&tie.said);
        let words = format!(
            "{} {} {} of {there}{by} · line {}",
            own.layer,
            relation_words(relation),
            other.layer,
            tie.stamp.n
        );
        said.push((own.layer, words));
    }
    said.sort_by_key(|(layer, _)| *layer);
    for (_, words) in said {
        roll.set_in(&words, Tone::Chalk);
    }
}

/// What contradicts itself, with the lines in which it was said.
fn contradictions(roll: &mut Roll, layers: &Layers) {
    for circle in &layers.contradictions {
        roll.wrap(&format!("▲ {}", circle.words), Tone::Bole);
        for seen in &circle.observations {
            roll.set_in(&format!("line {}: {}", seen.line, seen.words), Tone::Chalk);
        }
    }
}

/// The campaigns from the wood outward, a sentence for each.
fn campaigns(roll: &mut Roll, layers: &Layers) {
    if layers.campaigns.is_empty() {
        return;
    }
    roll.wrap("Campaigns, from the wood outward", Tone::Gilt);
    for campaign in &layers.campaigns {
        roll.set_in(&campaign_words(layers, campaign), Tone::Chalk);
    }
}

fn campaign_words(layers: &Layers, campaign: &Campaign) -> String {
    let here = |exposure: &Exposure, seen: &Seen| {
        seen.zone == exposure.zone && seen.exposure == exposure.exposure
    };
    let (mut found, mut lacking) = (Vec::new(), Vec::new());
    for exposure in &layers.exposures {
        let place = exposure.words();
        match campaign.seen.iter().find(|seen| here(exposure, seen)) {
            Some(seen) => {
                let layers: Vec<String> = seen.layers.iter().map(u32::to_string).collect();
                let layers = layers.join(", ");
                let s = if 1 < seen.layers.len() { "s" } else { "" };
                found.push(format!("{place}, layer{s} {layers}"));
            }
            None => lacking.push(place),
        }
    }
    let coverage = campaign.coverage;
    let mut said = vec![
        format!("{}: {}", campaign.number, found.join("; ")),
        format!(
            "on {} of {} zones looked at",
            coverage.zones, coverage.studied
        ),
        coverage.area_percent.map_or_else(
            || "area not measured".to_owned(),
            |percent| format!("{percent:.0} % of the area"),
        ),
    ];
    said.extend(
        campaign
            .metals
            .iter()
            .map(|metal| format!("★ {}", metal_word(*metal))),
    );
    if !lacking.is_empty() {
        said.push(format!("not seen at {}", lacking.join("; ")));
    }
    said.join(" · ")
}

fn chips(roll: &mut Roll, dossier: &Dossier) {
    for (chip, verdict) in &dossier.chips {
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
                let limit = limit_words(*limit, *agreed);
                (
                    format!("{sign} {word}, {delta_e_2000:.1} apart, {limit}: {words}"),
                    tone,
                )
            }
        };
        let head = format!("{chip}: ");
        if cells(&head) + cells(&words) < roll.width() {
            roll.wrap(&format!("{head}{words}"), tone);
        } else {
            roll.wrap(&head, Tone::Chalk);
            roll.wrap(&words, tone);
        }
    }
}
