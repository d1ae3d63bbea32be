//! Least squares: a straight line, a polynomial, or several columns at once.

use super::limits::SumTrouble;
use super::twin::Twin;

/// A fitted sum of columns.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// One factor for each column; with a constant it comes first.
    pub factors: Vec<f64>,
    /// Their standard errors; none when there are no more points than factors.
    pub standard_errors: Option<Vec<f64>>,
    /// Standard deviation of what is left over; none likewise.
    pub residual_sd: Option<f64>,
    /// Sum of the squares of what is left over.
    pub residual_squares: f64,
    /// Share of the variation that is explained, about the mean with a constant and about nought
    /// without; none when nothing varies.
    pub r_squared: Option<f64>,
}

/// Returns the straight line y = intercept + slope · x as `[intercept, slope]`.
///
/// Least squares by orthogonal columns (Gram–Schmidt) in twice double precision. Exact to the
/// last digits for any table that a bench can fill. Safe side: a line is no law; never read it
/// beyond its points.
///
/// Source: tried against the Statistical Reference Datasets of NIST, as Norris: slope
/// 1.00211681802045, intercept −0.262323073774029. Three points in a row:
///
/// ```
/// use knuckle::reckon::line::straight_line;
/// let it = straight_line(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]).unwrap();
/// assert_eq!(it.factors, [1.0, 2.0]);
/// ```
///
/// # Errors
/// [`SumTrouble::TooFew`] below two points; [`SumTrouble::Contradiction`] when all x are the same.
pub fn straight_line(points: &[(f64, f64)]) -> Result<LeastSquares, SumTrouble> {
    polynomial(points, 1)
}

/// Returns the polynomial of this degree, constant first. As [`straight_line`].
///
/// # Errors
/// [`SumTrouble::TooFew`] with fewer points than factors; [`SumTrouble::Contradiction`] when the
/// x cannot tell the powers apart.
pub fn polynomial(points: &[(f64, f64)], degree: u8) -> Result<LeastSquares, SumTrouble> {
    let mut columns: Vec<Vec<Twin>> = vec![vec![Twin::of(1.0); points.len()]];
    for _ in 0..degree {
        let before = columns.last().into_iter().flatten();
        let next = before
            .zip(points)
            .map(|(power, point)| *power * Twin::of(point.0))
            .collect();
        columns.push(next);
    }
    let y: Vec<f64> = points.iter().map(|it| it.1).collect();
    solved(columns, &y, About::Mean)
}

/// Returns y = factor · x, a line through nought. As [`straight_line`].
///
/// # Errors
/// As [`straight_line`], from one point on.
pub fn through_nought(points: &[(f64, f64)]) -> Result<LeastSquares, SumTrouble> {
    let x = points.iter().map(|it| Twin::of(it.0)).collect();
    let y: Vec<f64> = points.iter().map(|it| it.1).collect();
    solved(vec![x], &y, About::Nought)
}

/// Returns y = constant + Σ factor · column, the columns given one by one, constant first.
/// As [`straight_line`].
///
/// # Errors
/// [`SumTrouble::TooFew`] with fewer points than factors; [`SumTrouble::Contradiction`] when one
/// column is made up of the others or a column is too short.
pub fn several_columns(columns: &[Vec<f64>], y: &[f64]) -> Result<LeastSquares, SumTrouble> {
    let twins = |column: &Vec<f64>| column.iter().copied().map(Twin::of).collect();
    let mut all: Vec<Vec<Twin>> = vec![vec![Twin::of(1.0); y.len()]];
    all.extend(columns.iter().map(twins));
    solved(all, y, About::Mean)
}

/// About what the variation of y is measured.
#[derive(Clone, Copy, PartialEq)]
enum About {
    Mean,
    Nought,
}

/// A column whose part that is new against the columns before it has shrunk below this share of
/// the whole is made up of them (own choice, between 31 digits kept and 16 given).
const NOTHING_NEW: f64 = 1e-20;

/// Returns the factors without a constant, for one step of a curve that is no sum of columns.
pub(super) fn step(columns: &[Vec<f64>], y: &[f64]) -> Result<LeastSquares, SumTrouble> {
    let twins = |column: &Vec<f64>| column.iter().copied().map(Twin::of).collect();
    solved(columns.iter().map(twins).collect(), y, About::Nought)
}

fn solved(columns: Vec<Vec<Twin>>, y: &[f64], about: About) -> Result<LeastSquares, SumTrouble> {
    let (count, points) = (columns.len(), y.len());
    if points < count {
        return Err(SumTrouble::TooFew {
            what: "points",
            given: points,
            needed: count,
        });
    }
    if columns.iter().any(|it| it.len() != points) {
        return Err(told_apart());
    }
    let mut left: Vec<Twin> = y.iter().copied().map(Twin::of).collect();
    let varied = varied(&left, about);
    let triangle = Triangle::of(columns, &mut left)?;
    let factors = triangle.solve();
    let residual_squares = dot(&left, &left).rounded();
    let spare = u32::try_from(points - count).map_or(f64::INFINITY, f64::from);
    let residual_sd = (0.0 < spare).then(|| (residual_squares / spare).sqrt());
    Ok(LeastSquares {
        standard_errors: residual_sd.map(|sd| {
            let spreads = triangle.spreads();
            spreads.into_iter().map(|it| sd * it).collect()
        }),
        residual_sd,
        residual_squares,
        r_squared: (0.0 < varied).then(|| 1.0 - residual_squares / varied),
        factors,
    })
}

fn told_apart() -> SumTrouble {
    SumTrouble::Contradiction {
        what: "the points cannot tell the parts of the curve apart".to_owned(),
        remedy: "give points that lie further apart in x",
    }
}

fn varied(y: &[Twin], about: About) -> f64 {
    let count = u32::try_from(y.len()).map_or(f64::INFINITY, f64::from);
    let middle = match about {
        About::Mean => sum(y.iter().copied()) / Twin::of(count),
        About::Nought => Twin::NOUGHT,
    };
    sum(y.iter().map(|it| (*it - middle) * (*it - middle))).rounded()
}

fn sum(all: impl Iterator<Item = Twin>) -> Twin {
    all.fold(Twin::NOUGHT, Twin::add_to)
}

fn dot(one: &[Twin], other: &[Twin]) -> Twin {
    sum(one.iter().zip(other).map(|(a, b)| *a * *b))
}

impl Twin {
    fn add_to(self, other: Self) -> Self {
        self + other
    }
}

/// The columns made orthogonal: row j holds what columns j, j+1, … and y have along direction j.
struct Triangle {
    rows: Vec<(Vec<Twin>, Twin)>,
}

impl Triangle {
    /// Takes the columns apart and leaves in `y` what none of them explains.
    fn of(columns: Vec<Vec<Twin>>, y: &mut [Twin]) -> Result<Self, SumTrouble> {
        let whole: Vec<f64> = columns.iter().map(|it| dot(it, it).rounded()).collect();
        let mut rows = Vec::new();
        let mut rest = columns;
        for whole in whole {
            let mut direction = rest.remove(0);
            let length = dot(&direction, &direction).root();
            let square = length.rounded() * length.rounded();
            if !square.is_finite() || square <= NOTHING_NEW * NOTHING_NEW * whole || whole <= 0.0 {
                return Err(told_apart());
            }
            for it in &mut direction {
                *it = *it / length;
            }
            let mut row = vec![length];
            row.extend(rest.iter_mut().map(|column| take_out(&direction, column)));
            let along = take_out(&direction, y);
            rows.push((row, along));
        }
        Ok(Self { rows })
    }

    fn solve(&self) -> Vec<f64> {
        let mut found: Vec<Twin> = Vec::new();
        for (row, along) in self.rows.iter().rev() {
            found.insert(0, back_step(row, *along, &found));
        }
        found.into_iter().map(Twin::rounded).collect()
    }

    /// Returns for each factor the root of its place on the diagonal of (XᵀX)⁻¹.
    fn spreads(&self) -> Vec<f64> {
        let count = self.rows.len();
        let mut squares = vec![Twin::NOUGHT; count];
        for unit in 0..count {
            let mut found: Vec<Twin> = Vec::new();
            for (place, (row, _)) in self.rows.iter().enumerate().rev() {
                let along = if place == unit {
                    Twin::of(1.0)
                } else {
                    Twin::NOUGHT
                };
                found.insert(0, back_step(row, along, &found));
            }
            for (square, it) in squares.iter_mut().zip(found) {
                *square = *square + it * it;
            }
        }
        squares.into_iter().map(|it| it.root().rounded()).collect()
    }
}

/// Takes the part along `direction` out of `column` and returns how much it was.
fn take_out(direction: &[Twin], column: &mut [Twin]) -> Twin {
    let along = dot(direction, column);
    for (it, part) in column.iter_mut().zip(direction) {
        *it = *it - along * *part;
    }
    along
}

fn back_step(row: &[Twin], along: Twin, found: &[Twin]) -> Twin {
    match row.split_first() {
        Some((own, others)) => (along - dot(others, found)) / *own,
        None => Twin::NOUGHT,
    }
}
