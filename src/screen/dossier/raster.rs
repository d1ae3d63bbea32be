//! An outline laid out on cells: which part lies in which cell, where its lines run, and where
//! its name goes. What comes later hides what lies under it.

use crate::card::PlacedShape;

use super::dots::{Dots, whole};

/// Dots across and down in one cell.
const DOTS: (usize, usize) = (2, 4);

/// Rounds of corner cutting: each corner becomes two, a quarter of its sides away.
const ROUNDS: usize = 2;

/// An outline on cells.
#[derive(Debug, Clone)]
pub(super) struct Raster {
    width: u16,
    height: u16,
    /// The part at each dot, counted from 1 in the list of parts; 0 is none.
    at: Vec<u16>,
    /// Lines between parts.
    pub(super) edges: Dots,
}

impl Raster {
    /// Lays shapes out so that they fill the cells, their form kept. `part` gives each shape
    /// its place in the list of parts.
    pub(super) fn of(
        shapes: &[PlacedShape],
        (width, height): (u16, u16),
        part: impl Fn(&PlacedShape) -> Option<usize>,
    ) -> Self {
        let (wide, high) = (usize::from(width) * DOTS.0, usize::from(height) * DOTS.1);
        let mut raster = Self {
            width,
            height,
            at: vec![0; wide * high],
            edges: Dots::new(width, height),
        };
        let Some(fit) = Fit::of(shapes, (wide, high)) else {
            return raster;
        };
        for shape in shapes.iter().filter(|shape| !shape.is_joint) {
            if let Some(part) = part(shape).and_then(|part| u16::try_from(part + 1).ok()) {
                let corners: Vec<[f64; 2]> = shape.line.iter().map(|at| fit.dot(*at)).collect();
                raster.fill(&rounded(corners), part);
            }
        }
        raster.draw_edges();
        for shape in shapes.iter().filter(|shape| shape.is_joint) {
            for pair in shape.line.windows(2) {
                if let [from, to] = pair {
                    raster.edges.line(fit.dot(*from), fit.dot(*to));
                }
            }
        }
        raster
    }

    /// Fills a closed line row by row, between its first crossing and its second, and so on.
    fn fill(&mut self, corners: &[[f64; 2]], part: u16) {
        let wide = usize::from(self.width) * DOTS.0;
        for (row, dots) in self.at.chunks_mut(wide.max(1)).enumerate() {
            let y = f64::from(u32::try_from(row).unwrap_or(u32::MAX));
            let mut crossings = crossings(corners, y);
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let [from, to] = pair else { continue };
                let from = whole(from.max(0.0).ceil()).unwrap_or(wide);
                let to = whole(to.max(-1.0).floor() + 1.0).unwrap_or(wide);
                for dot in dots.iter_mut().take(to).skip(from) {
                    *dot = part;
                }
            }
        }
    }

    fn dot(&self, x: usize, y: usize) -> u16 {
        let wide = usize::from(self.width) * DOTS.0;
        let inside = x < wide;
        let place = y * wide + x;
        self.at.get(place).copied().filter(|_| inside).unwrap_or(0)
    }

    fn draw_edges(&mut self) {
        for y in 0..usize::from(self.height) * DOTS.1 {
            for x in 0..usize::from(self.width) * DOTS.0 {
                let here = self.dot(x, y);
                let above = y.checked_sub(1).map_or(0, |y| self.dot(x, y));
                let before = x.checked_sub(1).map_or(0, |x| self.dot(x, y));
                let last = here != 0 && (self.dot(x + 1, y) == 0 || self.dot(x, y + 1) == 0);
                if (here != 0 && (here != above || here != before)) || last {
                    self.edges.set(x, y);
                }
            }
        }
    }

    /// Returns the part in the middle of a cell, its place in the list of parts.
    pub(super) fn part(&self, x: u16, y: u16) -> Option<usize> {
        let dot = self.dot(usize::from(x) * DOTS.0 + 1, usize::from(y) * DOTS.1 + 2);
        usize::from(dot).checked_sub(1)
    }

    /// Returns the cell in which a part's name goes: the one of its own nearest to its middle.
    pub(super) fn middle(&self, part: usize) -> Option<(u16, u16)> {
        let cells = (0..self.height)
            .flat_map(|y| (0..self.width).map(move |x| (x, y)))
            .filter(|(x, y)| self.part(*x, *y) == Some(part));
        let cells: Vec<(u16, u16)> = cells.collect();
        let count = u64::try_from(cells.len()).ok().filter(|count| 0 < *count)?;
        let mean = |pick: fn(&(u16, u16)) -> u16| {
            let sum: u64 = cells.iter().map(|cell| u64::from(pick(cell))).sum();
            u16::try_from(sum / count).unwrap_or(0)
        };
        let (x, y) = (mean(|cell| cell.0), mean(|cell| cell.1));
        // A cell is twice as high as it is wide.
        let far = |cell: &(u16, u16)| {
            let across = u32::from(cell.0.abs_diff(x));
            let down = u32::from(cell.1.abs_diff(y)) * 2;
            across * across + down * down
        };
        cells.into_iter().min_by_key(far)
    }
}

/// How a drawing is brought onto dots.
struct Fit {
    least: [f64; 2],
    scale: f64,
    offset: [f64; 2],
}

impl Fit {
    fn of(shapes: &[PlacedShape], (wide, high): (usize, usize)) -> Option<Self> {
        let corners = || shapes.iter().flat_map(|shape| &shape.line);
        let low = |axis: fn(&[f64; 2]) -> f64| corners().map(axis).reduce(f64::min);
        let high_of = |axis: fn(&[f64; 2]) -> f64| corners().map(axis).reduce(f64::max);
        let least = [low(|at| at[0])?, low(|at| at[1])?];
        let most = [high_of(|at| at[0])?, high_of(|at| at[1])?];
        let span = [
            (most[0] - least[0]).max(1e-6),
            (most[1] - least[1]).max(1e-6),
        ];
        let dots = [wide, high].map(|dots| {
            let dots = u32::try_from(dots).unwrap_or(u32::MAX);
            (f64::from(dots) - 2.0).max(1.0)
        });
        let scale = (dots[0] / span[0]).min(dots[1] / span[1]);
        let offset = [
            (dots[0] - span[0] * scale) / 2.0,
            (dots[1] - span[1] * scale) / 2.0,
        ];
        Some(Self {
            least,
            scale,
            offset,
        })
    }

    fn dot(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.offset[0] + (x - self.least[0]) * self.scale,
            self.offset[1] + (y - self.least[1]) * self.scale,
        ]
    }
}

/// Cuts the corners of a closed line, so that a few corners make a carved form.
fn rounded(mut corners: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    for _ in 0..ROUNDS {
        let next = corners.iter().cycle().skip(1);
        let cut = corners.iter().zip(next).flat_map(|(from, to)| {
            let at = |share: f64| {
                [
                    from[0] + (to[0] - from[0]) * share,
                    from[1] + (to[1] - from[1]) * share,
                ]
            };
            [at(0.25), at(0.75)]
        });
        corners = cut.collect();
    }
    corners
}

/// Where a closed line crosses a row of dots.
fn crossings(corners: &[[f64; 2]], y: f64) -> Vec<f64> {
    let next = corners.iter().cycle().skip(1);
    let sides = corners.iter().zip(next);
    let crossed = sides.filter(|(from, to)| (from[1] <= y) != (to[1] <= y));
    crossed
        .map(|(from, to)| from[0] + (to[0] - from[0]) * (y - from[1]) / (to[1] - from[1]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::Raster;
    use crate::card::PlacedShape;

    fn square(part: &str, from: f64, to: f64) -> PlacedShape {
        PlacedShape {
            part: part.to_owned(),
            is_joint: false,
            line: vec![[from, from], [to, from], [to, to], [from, to]],
        }
    }

    #[test]
    fn what_comes_later_lies_on_top_and_every_part_has_a_middle_of_its_own() {
        let shapes = [square("under", 0.0, 40.0), square("over", 10.0, 30.0)];
        let place = |shape: &PlacedShape| Some(usize::from(shape.part == "over"));
        let raster = Raster::of(&shapes, (40, 20), place);
        assert_eq!(raster.part(20, 10), Some(1));
        assert_eq!(raster.part(3, 10), Some(0));
        assert_eq!(raster.part(0, 0), None, "corners are cut");
        for part in 0..2 {
            let (x, y) = raster.middle(part).unwrap();
            assert_eq!(raster.part(x, y), Some(part));
        }
        assert_eq!(raster.middle(7), None);
        assert!(raster.edges.sign(0, 10).is_some());
    }

    #[test]
    fn nothing_and_next_to_nothing_can_be_drawn() {
        let none = Raster::of(&[], (10, 5), |_| Some(0));
        assert_eq!(none.part(1, 1), None);
        let dot = [square("dot", 3.0, 3.0)];
        for size in [(0, 0), (1, 1), (200, 1), (1, 60)] {
            let _drawn = Raster::of(&dot, size, |_| Some(0));
        }
    }
}
