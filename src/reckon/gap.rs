//! Open joints: how much a gap holds, from readings of its width, and how many grams of resin
//! that takes. The hurting side is too little, so that missing readings are filled wide.

use super::limits::{Limits, SumTrouble};
use super::{Estimate, Grams, GramsPerMillilitre, Millilitres, Millimetres, SquareMetres};

/// Widths of a gap that is filled with resin. *Common practice*: a wider one is patched.
pub const WIDTH_OF_GAP: Limits = Limits {
    quantity: "reading of the gap",
    low: 0.0,
    high: 50.0,
    unit: "mm",
    reason: "a wider gap is patched with wood",
};

/// Lengths and widths of a joint.
pub const FACE: Limits = Limits {
    quantity: "side of the joint",
    low: 1.0,
    high: 5000.0,
    unit: "mm",
    reason: "no joint of a figure is smaller or larger",
};

/// Density of filled epoxy as it is mixed for a joint (*common practice*).
pub const RESIN_DENSITY: GramsPerMillilitre = GramsPerMillilitre(1.15);

/// What one face of bare wood drinks before the gap fills, in kg/m² (*common practice*).
const WET_OUT_KG_PER_M2: f64 = 0.15;

/// What is lost as squeeze-out, in the cup and on the stick (*common practice*, 30–50 %).
const WASTE: [f64; 3] = [0.3, 0.4, 0.5];

/// What lies open in a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapVolume {
    /// The mean width of the gap.
    pub mean: Millimetres,
    /// Its volume.
    pub volume: Millilitres,
    /// The area of one face.
    pub area: SquareMetres,
    /// How many readings were missing and were filled wide.
    pub filled: usize,
}

/// One row of readings across a joint, at one station along it.
#[derive(Debug, Clone, PartialEq)]
pub struct GapRow {
    readings: Vec<Option<f64>>,
}

impl GapRow {
    /// Returns a row of evenly spaced readings; `None` stands where none could be taken.
    ///
    /// A missing reading counts as the widest of the whole joint, or as the line through its
    /// two nearest neighbours on either side when that is wider still. That is the safe side:
    /// a gap is never taken narrower than its readings allow.
    ///
    /// # Errors
    /// [`SumTrouble::TooFew`] when the row has no reading, [`SumTrouble::Outside`] when one
    /// lies outside [`WIDTH_OF_GAP`].
    pub fn new(readings: &[Option<Millimetres>]) -> Result<Self, SumTrouble> {
        if readings.iter().flatten().next().is_none() {
            return Err(SumTrouble::TooFew {
                what: "readings in a row of the gap",
                given: 0,
                needed: 1,
            });
        }
        let readings = readings
            .iter()
            .map(|reading| reading.map(|mm| WIDTH_OF_GAP.hold(mm.0)).transpose())
            .collect::<Result<_, _>>()?;
        Ok(Self { readings })
    }

    fn widest(&self) -> f64 {
        self.readings.iter().flatten().fold(0.0, |a, b| a.max(*b))
    }

    fn missing(&self) -> usize {
        self.readings.iter().filter(|it| it.is_none()).count()
    }

    /// The mean of the row, with missing readings at least `widest`.
    fn mean(&self, widest: f64) -> f64 {
        let known: Vec<(f64, f64)> = places()
            .zip(&self.readings)
            .filter_map(|(place, reading)| reading.map(|mm| (place, mm)))
            .collect();
        let filled: Vec<f64> = places()
            .zip(&self.readings)
            .map(|(place, reading)| {
                reading.unwrap_or_else(|| widest.max(carried_to(place, &known)))
            })
            .collect();
        even_mean(&filled)
    }
}

/// Returns the volume of an open joint from rows of readings, evenly spaced along it.
///
/// Formula: composite Simpson across each row and then along the rows, first and last reading
/// at the very edges; the last three spaces by the 3/8 rule when their number is odd; a
/// straight line between two readings; one reading stands for all. Exact for gaps that open
/// like a curve of third degree. Validity: [`WIDTH_OF_GAP`], [`FACE`]. Safe side: more; see
/// [`GapRow::new`] for missing readings. Source: Simpson's rules (any textbook of numerical
/// analysis); for a parabola Archimedes' two thirds.
///
/// # Errors
/// [`SumTrouble`] when there is no row, or a side lies outside.
///
/// A gap of 0.3 mm in the middle and 2.4 mm at both edges, opening like a bow, has a mean of
/// 1.0 mm, not the 1.35 mm of the two readings (own example of the trade):
/// ```
/// use knuckle::reckon::{gap_volume, GapRow, Millimetres};
/// let row = GapRow::new(&[2.4, 0.3, 2.4].map(|mm| Some(Millimetres(mm))))?;
/// let gap = gap_volume(Millimetres(400.0), Millimetres(120.0), &[row])?;
/// assert!((gap.mean.0 - 1.0).abs() < 1e-9);
/// assert!((gap.volume.0 - 48.0).abs() < 1e-9);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn gap_volume(
    length: Millimetres,
    width: Millimetres,
    rows: &[GapRow],
) -> Result<GapVolume, SumTrouble> {
    let means = row_means(rows)?;
    volume_of(length, width, even_mean(&means), rows)
}

/// Returns the volume of an open joint whose rows stand at the given places along it.
///
/// As [`gap_volume`], with parabolas through each three neighbouring rows. Uneven spaces can
/// make such a parabola swing low, so that the larger of it and of straight lines is taken.
/// Before the first and after the last place, that row holds on to the edge.
///
/// # Errors
/// [`SumTrouble`] as [`gap_volume`], and when the places are not in order within the length or
/// are not as many as the rows.
pub fn gap_volume_at(
    length: Millimetres,
    width: Millimetres,
    rows: &[(Millimetres, GapRow)],
) -> Result<GapVolume, SumTrouble> {
    FACE.hold(length.0)?;
    let (places, rows): (Vec<f64>, Vec<GapRow>) = rows
        .iter()
        .map(|(place, row)| (place.0, row.clone()))
        .unzip();
    let means = row_means(&rows)?;
    let mut points: Vec<(f64, f64)> = places.into_iter().zip(means).collect();
    let in_order = points.windows(2).all(|pair| match pair {
        [left, right] => left.0 < right.0,
        _ => false,
    });
    let inside = points
        .iter()
        .all(|point| 0.0 <= point.0 && point.0 <= length.0);
    if !(in_order && inside) {
        return Err(SumTrouble::Contradiction {
            what: "the rows of the gap do not stand in order along the joint".to_owned(),
            remedy: "give each row its place, from one end to the other",
        });
    }
    if let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) {
        if 0.0 < first.0 {
            points.insert(0, (0.0, first.1));
        }
        if last.0 < length.0 {
            points.push((length.0, last.1));
        }
    }
    volume_of(length, width, uneven_integral(&points) / length.0, &rows)
}

/// How much resin a joint takes, and where it goes.
#[derive(Debug, Clone, PartialEq)]
pub struct JointResin {
    /// What fills the gap.
    pub fill: Grams,
    /// What the two faces drink.
    pub wet_out: Grams,
    /// All of it with the waste: mix [`Estimate::wait_until`], which is the most.
    pub mix: Estimate<Grams>,
}

/// Returns the grams of mixed resin for a joint.
///
/// Formula: area × mean gap × 1.15 kg/L + 2 × area × 0.15 kg/m², and 30, 40 or 50 % of that
/// for waste. Validity: as the gap's. Safe side: more, for a joint that runs dry cannot be
/// saved. Source: *common practice*.
///
/// 400 × 120 mm at 1.0 mm take about 55 + 14 + 28, in all about 100 g (own example of the
/// trade):
/// ```
/// use knuckle::reckon::{gap_volume, resin_for, GapRow, Millimetres};
/// let row = GapRow::new(&[Some(Millimetres(1.0))])?;
/// let resin = resin_for(gap_volume(Millimetres(400.0), Millimetres(120.0), &[row])?);
/// assert_eq!((resin.fill.0.round(), resin.wet_out.0.round()), (55.0, 14.0));
/// assert!((resin.mix.likely().0 - 100.0).abs() < 3.0);
/// assert!(resin.mix.wait_until().0 > 100.0);
/// # Ok::<(), knuckle::reckon::SumTrouble>(())
/// ```
pub fn resin_for(gap: GapVolume) -> JointResin {
    let fill = gap.volume.0 * RESIN_DENSITY.0;
    let wet_out = 2.0 * gap.area.0 * WET_OUT_KG_PER_M2 * 1000.0;
    let [least, likely, most] = WASTE.map(|waste| Grams((fill + wet_out) * (1.0 + waste)));
    JointResin {
        fill: Grams(fill),
        wet_out: Grams(wet_out),
        mix: Estimate::new(
            least,
            likely,
            most,
            format!("{fill:.0} g fill the gap, {wet_out:.0} g wet the faces, 30–50 % are lost"),
        ),
    }
}

fn row_means(rows: &[GapRow]) -> Result<Vec<f64>, SumTrouble> {
    if rows.is_empty() {
        return Err(SumTrouble::TooFew {
            what: "rows of readings",
            given: 0,
            needed: 1,
        });
    }
    let widest = rows.iter().map(GapRow::widest).fold(0.0, f64::max);
    Ok(rows.iter().map(|row| row.mean(widest)).collect())
}

fn volume_of(
    length: Millimetres,
    width: Millimetres,
    mean: f64,
    rows: &[GapRow],
) -> Result<GapVolume, SumTrouble> {
    let face_mm2 = FACE.hold(length.0)? * FACE.hold(width.0)?;
    Ok(GapVolume {
        mean: Millimetres(mean),
        volume: Millilitres(face_mm2 * mean / 1000.0),
        area: SquareMetres(face_mm2 / 1e6),
        filled: rows.iter().map(GapRow::missing).sum(),
    })
}

/// The places of a row's readings, in spaces from its first one.
fn places() -> impl Iterator<Item = f64> {
    (0u32..).map(f64::from)
}

/// What the lines through the two nearest readings on either side make of a place.
fn carried_to(place: f64, known: &[(f64, f64)]) -> f64 {
    let split = known.partition_point(|point| point.0 < place);
    let (left, right) = known.split_at_checked(split).unwrap_or((known, &[]));
    let line = |near: (f64, f64), far: (f64, f64)| {
        near.1 + (near.1 - far.1) * (place - near.0) / (near.0 - far.0)
    };
    let from_left = match left {
        [.., far, near] => line(*near, *far),
        _ => 0.0,
    };
    let from_right = match right {
        [near, far, ..] => line(*near, *far),
        _ => 0.0,
    };
    from_left.max(from_right)
}

/// The mean of evenly spaced readings from edge to edge.
fn even_mean(readings: &[f64]) -> f64 {
    match readings {
        [] => 0.0,
        [all] => *all,
        [left, right] => f64::midpoint(*left, *right),
        [a, b, c, d] => three_eighths([*a, *b, *c, *d]) / 3.0,
        _ if readings.len() % 2 == 1 => simpson(readings) / spaces(readings),
        _ => {
            let cut = readings.len().saturating_sub(4);
            let (head, tail) = (readings.get(..=cut), readings.get(cut..));
            let tail: f64 = match tail {
                Some([a, b, c, d]) => three_eighths([*a, *b, *c, *d]),
                _ => 0.0,
            };
            (head.map_or(0.0, simpson) + tail) / spaces(readings)
        }
    }
}

/// How many spaces lie between the readings.
fn spaces(readings: &[f64]) -> f64 {
    readings.iter().skip(1).map(|_| 1.0).sum()
}

/// Simpson's rule over an odd number of readings at a spacing of 1.
fn simpson(readings: &[f64]) -> f64 {
    let starts = readings.iter().step_by(2);
    let middles = readings.iter().skip(1).step_by(2);
    let ends = readings.iter().skip(2).step_by(2);
    starts
        .zip(middles)
        .zip(ends)
        .map(|((start, middle), end)| (start + 4.0 * middle + end) / 3.0)
        .sum()
}

/// Simpson's second rule over four readings at a spacing of 1.
fn three_eighths([a, b, c, d]: [f64; 4]) -> f64 {
    0.375 * (a + 3.0 * b + 3.0 * c + d)
}

/// The larger of parabolas through each three neighbours and of straight lines.
fn uneven_integral(points: &[(f64, f64)]) -> f64 {
    let straight: f64 = points
        .windows(2)
        .map(|pair| match pair {
            [left, right] => (right.0 - left.0) * f64::midpoint(left.1, right.1),
            _ => 0.0,
        })
        .sum();
    // Each inner space is covered by two parabolas, whose mean is taken; the outer ones by one.
    let last = points.len().saturating_sub(2);
    let bent: f64 = (0..=last)
        .map(|space| {
            let before = space.checked_sub(1).and_then(|at| points.get(at..at + 3));
            let after = points.get(space..space + 3);
            let from_before = before.map(|three| parabola_over(three, 1));
            let from_after = after.map(|three| parabola_over(three, 0));
            match (from_before, from_after) {
                (Some(one), Some(other)) => f64::midpoint(one, other),
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => f64::NEG_INFINITY,
            }
        })
        .sum();
    straight.max(bent)
}

/// The area under the parabola through three points, over their first or second space.
fn parabola_over(three: &[(f64, f64)], space: usize) -> f64 {
    let [a, b, c] = three else { return 0.0 };
    let first = (b.1 - a.1) / (b.0 - a.0);
    let bend = ((c.1 - b.1) / (c.0 - b.0) - first) / (c.0 - a.0);
    let height = |x: f64| a.1 + first * (x - a.0) + bend * (x - a.0) * (x - b.0);
    let (from, to) = if space == 0 { (a.0, b.0) } else { (b.0, c.0) };
    let middle = f64::midpoint(from, to);
    (to - from) * (height(from) + 4.0 * height(middle) + height(to)) / 6.0
}

#[cfg(test)]
mod tests {
    use super::{GapRow, gap_volume, gap_volume_at};
    use crate::reckon::Millimetres;

    fn row(readings: &[f64]) -> GapRow {
        let readings: Vec<_> = readings.iter().map(|mm| Some(Millimetres(*mm))).collect();
        GapRow::new(&readings).unwrap()
    }

    const SIDE: Millimetres = Millimetres(1000.0);

    /// x³ over 0–1 has the mean ¼; a cubic is exact from three readings on.
    #[test]
    fn a_cubic_is_exact_from_three_readings_on() {
        for count in 3u32..=12 {
            let last = f64::from(count - 1);
            let cubic: Vec<f64> = (0..count).map(|n| (f64::from(n) / last).powi(3)).collect();
            let mean = gap_volume(SIDE, SIDE, &[row(&cubic)]).unwrap().mean.0;
            assert!((mean - 0.25).abs() < 1e-12, "{count} readings");
            let along: Vec<GapRow> = cubic.iter().map(|mm| row(&[*mm])).collect();
            let mean = gap_volume(SIDE, SIDE, &along).unwrap().mean.0;
            assert!((mean - 0.25).abs() < 1e-12, "{count} rows");
        }
    }

    #[test]
    fn uneven_rows_follow_a_parabola_and_never_fall_below_straight_lines() {
        let dome = |x: f64| 4.0 * x * (1.0 - x);
        let rows: Vec<_> = [0.0, 0.1, 0.35, 0.8, 1.0]
            .map(|x| (Millimetres(x * 1000.0), row(&[dome(x)])))
            .into();
        let mean = gap_volume_at(SIDE, SIDE, &rows).unwrap().mean.0;
        assert!((mean - 2.0 / 3.0).abs() < 1e-12);
        let bow: Vec<_> = [0.0, 0.1, 1.0]
            .map(|x| (Millimetres(x * 1000.0), row(&[2.0 - dome(x)])))
            .into();
        let mean = gap_volume_at(SIDE, SIDE, &bow).unwrap().mean.0;
        let straight = 0.1 * (2.0 + 1.64) / 2.0 + 0.9 * (1.64 + 2.0) / 2.0;
        assert!((mean - straight).abs() < 1e-12);
        assert!(gap_volume_at(SIDE, SIDE, &[bow[1].clone(), bow[0].clone()]).is_err());
    }

    #[test]
    fn a_missing_reading_is_never_taken_narrower() {
        let whole = [0.0, 0.9, 1.6, 2.1, 2.4, 2.1, 1.6];
        let known = gap_volume(SIDE, SIDE, &[row(&whole)]).unwrap();
        for missing in 0..whole.len() {
            let readings: Vec<_> = whole
                .iter()
                .enumerate()
                .map(|(n, mm)| (n != missing).then_some(Millimetres(*mm)))
                .collect();
            let gap = gap_volume(SIDE, SIDE, &[GapRow::new(&readings).unwrap()]).unwrap();
            assert!(known.volume.0 - 1e-9 <= gap.volume.0, "without {missing}");
            assert_eq!(gap.filled, 1);
        }
    }

    #[test]
    fn a_missing_edge_counts_as_the_widest_of_the_joint() {
        let some = |mm: f64| Some(Millimetres(mm));
        let edge = GapRow::new(&[None, some(0.3), some(0.3)]).unwrap();
        let gap = gap_volume(SIDE, SIDE, &[edge, row(&[2.4, 0.3, 2.4])]).unwrap();
        // (2.4 + 4 · 0.3 + 0.3) / 6 and (2.4 + 4 · 0.3 + 2.4) / 6, midway.
        assert!((gap.mean.0 - f64::midpoint(0.65, 1.0)).abs() < 1e-12);
    }

    #[test]
    fn it_refuses_no_reading_and_what_is_no_gap() {
        assert_eq!(
            GapRow::new(&[None, None]).unwrap_err().to_string(),
            "0 readings in a row of the gap given, at least 1 needed"
        );
        assert_eq!(
            GapRow::new(&[Some(Millimetres(-1.0))])
                .unwrap_err()
                .to_string(),
            "reading of the gap -1 mm is outside 0–50 mm (a wider gap is patched with wood)"
        );
        assert!(gap_volume(SIDE, SIDE, &[]).is_err());
        assert!(gap_volume(Millimetres(0.0), SIDE, &[row(&[1.0])]).is_err());
    }
}
