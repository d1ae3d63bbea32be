//! A value that nears an end ever more slowly: drying, curing, a room coming to temperature.

use super::limits::SumTrouble;
use super::line::{LeastSquares, step};

/// Whether the value at x = 0 is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Start {
    /// Fitted with the rest.
    Free,
    /// Known, as a weighing at the beginning or a nought by definition.
    Held(f64),
}

/// A fitted approach y = end + (start − end) e^(−rate · x).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// The value at x = 0.
    pub start: f64,
    /// The value that is neared.
    pub end: f64,
    /// The rate, in one over the unit of x; always positive.
    pub rate: f64,
    /// Standard errors of `[start, end, rate]`; none when there are no more points than unknowns.
    /// A held start has nought.
    pub standard_errors: Option<[f64; 3]>,
    /// Standard deviation of what is left over; none likewise.
    pub residual_sd: Option<f64>,
    /// Sum of the squares of what is left over.
    pub residual_squares: f64,
}

/// Returns the approach to an end that fits the points best.
///
/// For each rate the rest is a plain least square; the best rate is sought on a logarithmic scale
/// over all that the points can tell apart, and then polished by Gauss–Newton steps. No first guess
/// is needed.
///
/// Holds for points that bend; a straight or a flat row is refused. Safe side: the end is an
/// estimate from the part that was seen, so read its standard error.
///
/// Source: tried against the Statistical Reference Datasets of NIST; `BoxBOD` with its start held at
/// nought: end 213.80940889, rate 0.54723748542.
///
/// ```
/// use knuckle::reckon::approach::{Start, approach};
/// let seen = [(1.0, 109.0), (2.0, 149.0), (3.0, 149.0), (5.0, 191.0), (7.0, 213.0), (10.0, 224.0)];
/// let it = approach(&seen, Start::Held(0.0)).unwrap();
/// assert!((it.end - 213.809_408_89).abs() < 1e-6 && (it.rate - 0.547_237_485_42).abs() < 1e-9);
/// ```
///
/// # Errors
/// [`SumTrouble::TooFew`] with fewer points than unknowns; [`SumTrouble::Contradiction`] when the
/// points do not bend towards an end.
pub fn approach(points: &[(f64, f64)], start: Start) -> Result<Approach, SumTrouble> {
    let needed = match start {
        Start::Free => 3,
        Start::Held(_) => 2,
    };
    if points.len() < needed {
        return Err(SumTrouble::TooFew {
            what: "points",
            given: points.len(),
            needed,
        });
    }
    let curve = best_rate(points, start).ok_or_else(unbent)?;
    let (curve, last) = polished(points, start, curve)?;
    if !(0.0 < curve.rate && curve.end.is_finite() && curve.start.is_finite()) {
        return Err(unbent());
    }
    let errors = last.standard_errors.map(|errors| {
        let at = |place: usize| errors.get(place).copied().unwrap_or(0.0);
        match start {
            Start::Free => [at(2), at(0), at(1)],
            Start::Held(_) => [0.0, at(0), at(1)],
        }
    });
    Ok(Approach {
        start: curve.start,
        end: curve.end,
        rate: curve.rate,
        standard_errors: errors,
        residual_sd: last.residual_sd,
        residual_squares: curve.squares(points),
    })
}

fn unbent() -> SumTrouble {
    SumTrouble::Contradiction {
        what: "the points do not bend towards an end".to_owned(),
        remedy: "go on reading until the change grows smaller, then fit again",
    }
}

#[derive(Clone, Copy)]
struct Curve {
    start: f64,
    end: f64,
    rate: f64,
}

impl Curve {
    fn at(self, x: f64) -> f64 {
        self.end + (self.start - self.end) * (-self.rate * x).exp()
    }

    fn squares(self, points: &[(f64, f64)]) -> f64 {
        points.iter().map(|(x, y)| (y - self.at(*x)).powi(2)).sum()
    }
}

/// How fine the scale of rates is: steps over the whole range, own choice.
const STEPS: u32 = 600;

/// Returns the curve of the best rate on the scale; none when the best lies at one of its ends.
fn best_rate(points: &[(f64, f64)], start: Start) -> Option<Curve> {
    let mut x: Vec<f64> = points.iter().map(|it| it.0).collect();
    x.sort_by(f64::total_cmp);
    let (first, last) = (x.first()?, x.last()?);
    let span = match start {
        Start::Free => last - first,
        Start::Held(_) => last.abs().max(first.abs()),
    };
    let gaps = x.iter().zip(x.iter().skip(1)).map(|(a, b)| b - a);
    let gap = gaps.filter(|it| 0.0 < *it).fold(span, f64::min);
    if span <= 0.0 {
        return None;
    }
    // Slower than this is straight to six digits; faster is over before the second point.
    let (slow, fast) = ((1e-4 / span).ln(), (40.0 / gap).ln());
    let power = |place: f64| slow + (fast - slow) * place / f64::from(STEPS);
    let squares = |place: f64| {
        let curve = with_rate(points, start, power(place).exp());
        curve.map_or(f64::INFINITY, |it| it.squares(points))
    };
    let best = (0..=STEPS).min_by(|a, b| {
        let (a, b) = (squares(f64::from(*a)), squares(f64::from(*b)));
        a.total_cmp(&b)
    })?;
    if best == 0 || best == STEPS {
        return None;
    }
    let (mut low, mut high) = (f64::from(best) - 1.0, f64::from(best) + 1.0);
    for _ in 0..80 {
        let third = (high - low) / 3.0;
        if squares(low + third) <= squares(high - third) {
            high -= third;
        } else {
            low += third;
        }
    }
    with_rate(points, start, power(f64::midpoint(low, high)).exp())
}

/// Returns the best curve of this rate, a plain least square.
fn with_rate(points: &[(f64, f64)], start: Start, rate: f64) -> Option<Curve> {
    let fading: Vec<f64> = points.iter().map(|it| (-rate * it.0).exp()).collect();
    let curve = match start {
        Start::Held(start) => {
            let (mut over, mut under) = (0.0, 0.0);
            for (fade, (_, y)) in fading.iter().zip(points) {
                over += (1.0 - fade) * (y - start);
                under += (1.0 - fade).powi(2);
            }
            Curve {
                start,
                end: start + over / under,
                rate,
            }
        }
        Start::Free => {
            let count = u32::try_from(points.len()).map_or(f64::INFINITY, f64::from);
            let fade_mean = fading.iter().sum::<f64>() / count;
            let y_mean = points.iter().map(|it| it.1).sum::<f64>() / count;
            let (mut over, mut under) = (0.0, 0.0);
            for (fade, (_, y)) in fading.iter().zip(points) {
                over += (fade - fade_mean) * (y - y_mean);
                under += (fade - fade_mean).powi(2);
            }
            let reach = over / under;
            let end = y_mean - reach * fade_mean;
            Curve {
                start: end + reach,
                end,
                rate,
            }
        }
    };
    (curve.end.is_finite() && curve.start.is_finite()).then_some(curve)
}

/// Returns the curve after Gauss–Newton steps until nothing moves, and the last step's fit, whose
/// errors are those of `[end, rate, start]`.
fn polished(
    points: &[(f64, f64)],
    start: Start,
    curve: Curve,
) -> Result<(Curve, LeastSquares), SumTrouble> {
    let mut curve = curve;
    let mut fit = newton(points, start, curve)?;
    for _ in 0..100 {
        let part = |place: usize| fit.factors.get(place).copied().unwrap_or(0.0);
        let next = Curve {
            end: curve.end + part(0),
            rate: curve.rate + part(1),
            start: curve.start + part(2),
        };
        let moved = (next.rate - curve.rate).abs() / curve.rate;
        // Near the foot the squares are flat to the last digit while the rate still gains some, so
        // only a step that clearly climbs is refused.
        if curve.squares(points) * (1.0 + 1e-9) < next.squares(points) || next.rate <= 0.0 {
            break;
        }
        curve = next;
        fit = newton(points, start, curve)?;
        if moved < 1e-15 {
            break;
        }
    }
    Ok((curve, fit))
}

fn newton(points: &[(f64, f64)], start: Start, curve: Curve) -> Result<LeastSquares, SumTrouble> {
    let column = |of: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        let one = |it: &(f64, f64)| of(it.0, (-curve.rate * it.0).exp());
        points.iter().map(one).collect()
    };
    let mut columns = vec![
        column(&|_, fade| 1.0 - fade),
        column(&|x, fade| -(curve.start - curve.end) * x * fade),
    ];
    if start == Start::Free {
        columns.push(column(&|_, fade| fade));
    }
    let left: Vec<f64> = points.iter().map(|(x, y)| y - curve.at(*x)).collect();
    step(&columns, &left)
}
