//! The figure as an outline with its zones numbered, side by side: where a zone lies, for who
//! has only the paper.

use super::care::touched;
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
    let left = figure.zones.iter().filter(|zone| {
        zone.path == Path::Leave && record.is_decided() && touched(record, zone).is_empty()
    });
    let crosses: Vec<&str> = left.map(|zone| zone.id.as_str()).collect();
    let drawn: Vec<Block> = outline
        .sides
        .iter()
        .filter_map(|side| draw(&outline, side, figure, &crosses))
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

fn draw(
    outline: &Outline,
    side: &OutlineSide,
    figure: &Figure,
    crosses: &[&str],
) -> Option<Drawing> {
    let placed = outline.placed(side, figure);
    let fit = Fit::of(&placed)?;
    let mut strokes: Vec<Stroke> = placed.iter().map(|shape| fit.shape(shape)).collect();
    let mut names: Vec<(usize, &str)> = Vec::new();
    for (shape, above) in placed.iter().zip(1..) {
        let zones = figure.zones.iter().zip(1_usize..);
        let Some((zone, number)) = zones.clone().find(|(zone, _)| zone.id == shape.part) else {
            continue;
        };
        let at = fit.label(shape, placed.get(above..).unwrap_or_default());
        let [mut x, y] = at;
        // A witness patch is smaller than its number, which stands beside its cross.
        if crosses.contains(&zone.id.as_str()) {
            strokes.push(Stroke::Sign {
                at,
                shape: Shape::Cross,
                ink: Ink::Bole,
            });
            x += 9.0;
        }
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
    let remark = if crosses.is_empty() {
        "no zone is said to be left untouched"
    } else {
        "a cross marks what is left untouched"
    };
    Some(Drawing {
        title: format!("Zones, {} side", side.side),
        says: format!("{}; {remark}", said.join(", ")),
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

    /// Where a number stands best: inside its zone, not under what lies on it, and as far from
    /// every line as can be.
    fn label(&self, shape: &PlacedShape, above: &[PlacedShape]) -> [f64; 2] {
        let covers: Vec<&PlacedShape> = above.iter().filter(|other| !other.is_joint).collect();
        let clear = |at: &[f64; 2]| {
            let others = covers.iter().map(|other| distance(*at, &other.line));
            others.fold(distance(*at, &shape.line), f64::min)
        };
        let seen = |at: &[f64; 2]| {
            inside(*at, &shape.line) && !covers.iter().any(|other| inside(*at, &other.line))
        };
        let best = grid(&shape.line)
            .filter(seen)
            .max_by(|one, other| clear(one).total_cmp(&clear(other)));
        best.map_or_else(|| self.middle(&shape.line), |at| self.place(at))
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

/// Points in each direction at which a number may stand.
const POINTS: i32 = 32;

/// Points spread over the box around a line.
fn grid(line: &[[f64; 2]]) -> impl Iterator<Item = [f64; 2]> {
    let ends = |pick: fn(&[f64; 2]) -> f64| {
        let all = || line.iter().map(pick);
        let low = all().fold(f64::INFINITY, f64::min);
        let high = all().fold(f64::NEG_INFINITY, f64::max);
        (low, high - low)
    };
    let (left, wide) = ends(|[x, _]| *x);
    let (top, high) = ends(|[_, y]| *y);
    let share = |step: i32| f64::from(step) / f64::from(POINTS);
    (1..POINTS).flat_map(move |down| {
        (1..POINTS).map(move |across| [left + wide * share(across), top + high * share(down)])
    })
}

/// The sides of a closed line.
fn sides(line: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> {
    let next = line.iter().cycle().skip(1);
    line.iter().copied().zip(next.copied())
}

/// Whether a point lies inside a closed line: a ray from it crosses an odd number of sides.
fn inside([x, y]: [f64; 2], line: &[[f64; 2]]) -> bool {
    let crossed = sides(line).filter(|([x1, y1], [x2, y2])| {
        (y < *y1) != (y < *y2) && x < x1 + (y - y1) / (y2 - y1) * (x2 - x1)
    });
    crossed.count() % 2 == 1
}

/// How far a point lies from the nearest side of a closed line.
fn distance([x, y]: [f64; 2], line: &[[f64; 2]]) -> f64 {
    let to = |([x1, y1], [x2, y2]): ([f64; 2], [f64; 2])| {
        let (dx, dy) = (x2 - x1, y2 - y1);
        let long = (dx * dx + dy * dy).max(1e-12);
        let along = (((x - x1) * dx + (y - y1) * dy) / long).clamp(0.0, 1.0);
        (x - x1 - along * dx).hypot(y - y1 - along * dy)
    };
    sides(line).map(to).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::{Fit, distance, inside};
    use crate::card::PlacedShape;

    const SQUARE: [[f64; 2]; 4] = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];

    #[test]
    fn a_point_is_inside_or_not_and_so_far_from_the_line() {
        assert!(inside([5.0, 5.0], &SQUARE));
        assert!(!inside([15.0, 5.0], &SQUARE));
        assert!((distance([5.0, 4.0], &SQUARE) - 4.0).abs() < 1e-9);
        assert!((distance([13.0, 14.0], &SQUARE) - 5.0).abs() < 1e-9);
    }

    #[test]
    fn a_number_stands_where_its_zone_can_be_seen() {
        let shape = |line: &[[f64; 2]]| PlacedShape {
            part: "body".into(),
            is_joint: false,
            line: line.to_vec(),
        };
        let body = shape(&SQUARE);
        let over = shape(&[[-1.0, -1.0], [7.0, -1.0], [7.0, 11.0], [-1.0, 11.0]]);
        let fit = Fit {
            corner: [0.0, 0.0],
            scale: 1.0,
            high: 10.0,
        };
        let [x, y] = fit.label(&body, &[over]);
        assert!(7.0 < x && x < 10.0 && 0.0 < y && y < 10.0, "{x}, {y}");
    }
}
