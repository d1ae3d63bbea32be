//! The outline of a figure: its zones as closed lines, side by side, to be drawn and pointed
//! at. Four come with the program; a figure's own lies beside its card as `outline.yaml`.

use super::Figure;
use super::read::read_outline;

/// A drawing of a figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// Its sides, such as near and off.
    pub sides: Vec<OutlineSide>,
}

/// One side of a figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OutlineSide {
    /// Its name: near, off, front, back.
    pub side: String,
    /// The side that it mirrors, for one that has no shapes of its own.
    pub mirrors: Option<String>,
    /// Its shapes; what comes later lies on top.
    pub shapes: Vec<Shape>,
}

/// A closed line around a zone, or the line of a joint.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shape {
    /// Zone id; in the built-in drawings also one without its side, such as `body`.
    pub zone: String,
    /// Other zones that this may be, for the built-in drawings.
    pub also: Vec<String>,
    /// Joint id, for the line of a joint.
    pub joint: String,
    /// Corners: across and down, in any unit that is the same for the whole drawing.
    pub line: Vec<[f64; 2]>,
}

/// A shape that belongs to a part of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedShape {
    /// Zone or joint id.
    pub part: String,
    /// Whether it is a joint.
    pub is_joint: bool,
    /// Corners.
    pub line: Vec<[f64; 2]>,
}

/// How a figure is built, as far as its zones tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Build {
    /// An animal on its legs.
    Animal,
    /// A person who stands.
    Standing,
    /// A head on its own.
    Head,
    /// A round boss.
    Boss,
}

impl Build {
    /// Returns the build whose drawing shows most zones of a figure; `None` where none shows any.
    pub fn of(figure: &Figure) -> Option<Self> {
        best(figure).map(|(build, _)| build)
    }
}

/// The built-in drawings.
const BUILT_IN: [(Build, &str); 4] = [
    (Build::Animal, include_str!("outlines/animal.yaml")),
    (Build::Standing, include_str!("outlines/standing.yaml")),
    (Build::Head, include_str!("outlines/head.yaml")),
    (Build::Boss, include_str!("outlines/boss.yaml")),
];

/// Returns the built-in drawings.
pub fn builtin_outlines() -> Vec<Outline> {
    built_in().map(|(_, outline)| outline).collect()
}

fn built_in() -> impl DoubleEndedIterator<Item = (Build, Outline)> {
    let read = |text: &str| read_outline("built-in/outline.yaml", text).ok();
    let all = BUILT_IN.into_iter();
    all.filter_map(move |(build, text)| Some((build, read(text)?)))
}

/// Returns the built-in drawing that shows most zones of a figure, if one shows any.
fn best(figure: &Figure) -> Option<(Build, Outline)> {
    let shown = |outline: &Outline| -> usize {
        let zones = figure.zones.iter();
        zones.filter(|zone| outline.shows(figure, &zone.id)).count()
    };
    let counted = built_in().map(|(build, outline)| (shown(&outline), build, outline));
    let some = counted.rev().filter(|(count, ..)| 0 < *count);
    let best = some.max_by_key(|(count, ..)| *count);
    best.map(|(_, build, outline)| (build, outline))
}

impl Outline {
    /// Returns the built-in drawing that shows most zones of a figure; an empty one where none
    /// shows any.
    pub fn for_figure(figure: &Figure) -> Self {
        best(figure).map(|(_, outline)| outline).unwrap_or_default()
    }

    /// Returns whether a zone or joint is drawn on any side.
    pub fn shows(&self, figure: &Figure, part: &str) -> bool {
        let mut sides = self.sides.iter();
        sides.any(|side| self.placed(side, figure).iter().any(|it| it.part == part))
    }

    /// Returns the shapes of a side that belong to parts of a figure, in their order; those
    /// of a mirrored side are mirrored.
    pub fn placed(&self, side: &OutlineSide, figure: &Figure) -> Vec<PlacedShape> {
        let mirrored = side.mirrors.as_ref();
        let from = mirrored.and_then(|name| self.sides.iter().find(|it| it.side == *name));
        let shapes = side.shapes.iter().map(|shape| (shape, false)).chain(
            from.into_iter()
                .flat_map(|from| from.shapes.iter().map(|it| (it, true))),
        );
        let placed = shapes.filter_map(|(shape, mirrored)| {
            let (part, is_joint) = part_of(shape, &side.side, figure)?;
            let turn = |[x, y]: &[f64; 2]| if mirrored { [-x, *y] } else { [*x, *y] };
            Some(PlacedShape {
                part,
                is_joint,
                line: shape.line.iter().map(turn).collect(),
            })
        });
        placed.collect()
    }
}

/// The part a shape stands for on a side: by its own name, or by its name with the side.
fn part_of(shape: &Shape, side: &str, figure: &Figure) -> Option<(String, bool)> {
    if !shape.joint.is_empty() {
        let joint = figure.joints.iter().find(|joint| joint.id == shape.joint)?;
        return Some((joint.id.clone(), true));
    }
    let names = std::iter::once(&shape.zone).chain(&shape.also);
    let ids = names.flat_map(|name| [format!("{name}-{side}"), name.clone()]);
    let mut known = ids.filter(|id| figure.zones.iter().any(|zone| zone.id == *id));
    known.next().map(|id| (id, false))
}

#[cfg(test)]
mod tests {
    use super::{Outline, builtin_outlines};
    use crate::card::{Figure, Zone};

    fn figure(zones: &[&str]) -> Figure {
        let zone = |id: &&str| Zone {
            id: (*id).to_owned(),
            ..Zone::default()
        };
        Figure {
            zones: zones.iter().map(zone).collect(),
            ..Figure::default()
        }
    }

    #[test]
    fn every_built_in_drawing_can_be_read() {
        assert_eq!(builtin_outlines().len(), 4);
    }

    #[test]
    fn a_side_s_own_zone_comes_before_the_one_of_both_sides_and_is_mirrored() {
        let hare = figure(&["body-near", "body-off", "tail", "saddle-seat"]);
        let outline = Outline::for_figure(&hare);
        let parts = |nth: usize| -> Vec<(String, [f64; 2])> {
            let side = &outline.sides[nth];
            let placed = outline.placed(side, &hare);
            placed.into_iter().map(|it| (it.part, it.line[0])).collect()
        };
        let (near, off) = (parts(0), parts(1));
        // The nearer is drawn later, so the body is not the first of a side.
        let body = |side: &[(String, [f64; 2])], zone: &str| -> f64 {
            side.iter().find(|it| it.0 == zone).unwrap().1[0]
        };
        assert!((body(&near, "body-near") + body(&off, "body-off")).abs() < 1e-9);
        assert!(!near.iter().any(|it| it.0 == "body-off"));
        assert!(near.iter().any(|it| it.0 == "tail") && off.iter().any(|it| it.0 == "tail"));
        assert_eq!(Outline::for_figure(&figure(&["wheel"])), Outline::default());
        assert!(outline.shows(&hare, "saddle-seat") && !outline.shows(&hare, "wheel"));
    }
}
