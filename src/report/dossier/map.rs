//! The figure as an outline with its zones numbered, side by side: where a zone lies, for who
//! has only the paper.

use super::record::Record;
use super::sheet::{Block, Dash, Drawing, Fact, Hold, Ink, Shape, Stroke, WIDEST};
use crate::card::{Figure, Outline, OutlineSide, Path, PlacedShape};

/// The highest drawing of a side, points.
const HIGHEST: f64 = 230.0;

/// Room around a drawing, points.
const ROOM: f64 = 12.0;

/// Returns the sides of a figure as drawings; the figure's own outline, else the built-in one
/// that shows most of its zones.
pub(super) fn zone_map(record: &Record<'_>) -> Vec<Block> {
    let figure = record.ask.figure;
    let own = record.cards().outlines.get(&figure.id).cloned();
    let is_own = own.is_some();
    let outline = own.unwrap_or_else(|| Outline::for_figure(figure));
    let drawn: Vec<Block> = outline
        .sides
        .iter()
        .filter_map(|side| draw(&outline, side, figure))
        .map(Block::Drawing)
        .collect();
    if drawn.is_empty() {
        return vec![Block::Facts(vec![Fact::new("drawing of the zones", None)])];
    }
    let missing: Vec<&str> = figure
        .zones
        .iter()
        .filter(|zone| !outline.shows(figure, &zone.id))
        .map(|zone| zone.name.as_str())
        .collect();
    let mut blocks = drawn;
    if !is_own {
        blocks.push(Block::Words(
            "A general drawing and not this figure's own: it shows where zones lie, not their shape."
                .to_owned(),
        ));
    }
    if !missing.is_empty() {
        let missing = Some(missing.join("; "));
        blocks.push(Block::Facts(vec![Fact::new("zones not drawn", missing)]));
    }
    blocks
}

fn draw(outline: &Outline, side: &OutlineSide, figure: &Figure) -> Option<Drawing> {
    let placed = outline.placed(side, figure);
    let fit = Fit::of(&placed)?;
    let mut strokes: Vec<Stroke> = placed.iter().map(|shape| fit.shape(shape)).collect();
    let mut names: Vec<(usize, &str)> = Vec::new();
    for shape in placed.iter().filter(|shape| !shape.is_joint) {
        let zones = figure.zones.iter().zip(1_usize..);
        let Some((zone, number)) = zones.clone().find(|(zone, _)| zone.id == shape.part) else {
            continue;
        };
        let at = fit.middle(&shape.line);
        // A witness patch is smaller than its number, so it has a cross as well.
        if zone.path == Path::Leave {
            strokes.push(Stroke::Sign {
                at,
                shape: Shape::Cross,
                ink: Ink::Bole,
            });
        }
        let [x, y] = at;
        strokes.push(Stroke::Word {
            at: [x, y + 2.5],
            text: number.to_string(),
            hold: Hold::Middle,
        });
        names.push((number, &zone.name));
    }
    strokes.extend(placed.iter().filter(|shape| shape.is_joint).map(|joint| {
        let [x, y] = fit.middle(&joint.line);
        Stroke::Word {
            at: [x + 4.0, y],
            text: joint.part.clone(),
            hold: Hold::Left,
        }
    }));
    names.sort_unstable();
    names.dedup();
    let said: Vec<String> = names
        .iter()
        .map(|(number, name)| format!("{number} {name}"))
        .collect();
    Some(Drawing {
        title: format!("Zones, {} side", side.side),
        says: format!("{}; a cross marks what is left untouched", said.join(", ")),
        size: [WIDEST, fit.high],
        strokes,
        letters: Vec::new(),
    })
}

/// How a drawing fits onto the paper.
struct Fit {
    corner: [f64; 2],
    scale: f64,
    high: f64,
}

impl Fit {
    fn of(placed: &[PlacedShape]) -> Option<Self> {
        let corners = || placed.iter().flat_map(|shape| &shape.line);
        let across = || corners().map(|[x, _]| *x);
        let down = || corners().map(|[_, y]| *y);
        let [left, right] = [
            across().min_by(f64::total_cmp)?,
            across().max_by(f64::total_cmp)?,
        ];
        let [top, foot] = [
            down().min_by(f64::total_cmp)?,
            down().max_by(f64::total_cmp)?,
        ];
        let scale = ((WIDEST - 2.0 * ROOM) / (right - left).max(1e-6))
            .min((HIGHEST - 2.0 * ROOM) / (foot - top).max(1e-6));
        let margin = (WIDEST / scale - (right - left)) / 2.0;
        Some(Self {
            corner: [left - margin, top - ROOM / scale],
            scale,
            high: (foot - top) * scale + 2.0 * ROOM,
        })
    }

    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [left, top] = self.corner;
        [(x - left) * self.scale, (y - top) * self.scale]
    }

    fn middle(&self, line: &[[f64; 2]]) -> [f64; 2] {
        let (mut x, mut y, mut many) = (0.0, 0.0, 0.0);
        for [across, down] in line {
            x += across;
            y += down;
            many += 1.0;
        }
        self.place([x / f64::max(many, 1.0), y / f64::max(many, 1.0)])
    }

    fn shape(&self, shape: &PlacedShape) -> Stroke {
        let corners = shape.line.iter().map(|corner| self.place(*corner));
        Stroke::Outline {
            corners: corners.collect(),
            closed: !shape.is_joint,
            dash: if shape.is_joint {
                Dash::Broken
            } else {
                Dash::Whole
            },
        }
    }
}
