//! When wetted wood is dry enough, and whether this air lets it get there at all.

use super::count::counted;
use super::estimate::Estimate;
use super::limits::{Limits, SumTrouble};
use super::moisture::{emc, humidity_for};
use super::quantity::{Celsius, Hours, Percent};

/// Wood moistures that the drying sum takes: our own choice. Meters are uncertain above 28 %, and above fibre
/// saturation at about 30 % the water leaves by another law.
pub const DRYING_READING: Limits = Limits {
    quantity: "wood moisture",
    low: 4.0,
    high: 30.0,
    unit: "%",
    reason: "a meter says nothing certain beyond, and wetter wood dries by another law",
};

/// Times of readings: our own choice, ten years.
pub const DRYING_TIME: Limits = Limits {
    quantity: "time of a reading",
    low: 0.0,
    high: 87_600.0,
    unit: "h",
    reason: "hours since drying began, ten years at most",
};

/// How near to what the air allows a target is called doubtful, in points of moisture: woods
/// differ by about that from the table, *common practice*.
pub const DOUBTFUL_POINTS: f64 = 0.5;

/// How far a careful meter reading may be off, in points of moisture: *common practice*.
const READING_POINTS: f64 = 0.3;

/// The slowest rate that is still believed, as a share of the likely one: our own choice, so that
/// the late bound stays a date.
const SLOWEST_SHARE: f64 = 1.0 / 3.0;

/// One reading at one fixed point.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// When, in hours since any beginning that all readings share.
    pub at: Hours,
    /// Corrected moisture.
    pub moisture: Percent,
    /// Which point; readings of one point have one name.
    pub point: String,
}

/// What drying comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Drying {
    /// The worst point gets there, at these times on the readings' own scale.
    Reaches {
        /// When; never before the last reading.
        at: Estimate<Hours>,
        /// The worst point's name.
        point: String,
        /// Whether the target lies within half a point of what the air allows.
        doubtful: bool,
        /// Where this air leads.
        emc: Percent,
    },
    /// This air never lets the wood get there.
    Never {
        /// Where this air leads.
        emc: Percent,
        /// The highest humidity that would do, half a point of moisture to spare; none when even
        /// the driest air of the table would not.
        humidity_needed: Option<Percent>,
    },
}

/// Returns when the worst point comes down to `target` in steady air of this kind.
///
/// Excess E over what the air allows is fitted twice at each point, from its highest reading on:
/// as a board drying from the skin inwards, where E falls with the square root of time through the
/// first half and exponentially thereafter (the slab solution of the diffusion equation), and as a
/// plain exponential. The better fit is likely. Early and late add up, as the root of the sum of
/// squares, what comes of readings off by 0.3 points, of what the air allows being off by up to 0.5
/// points, and of the other fit where the readings do not rule it out; no single cause slows the
/// pace below a third. The worst point counts, never the mean.
///
/// Holds for 4–30 % and air inside Table 4-2. Safe side: `wait_until()`. Time is not dryness: only
/// a reading opens the gate; take one at each visit and ask again.
///
/// Source: Wood Handbook eq. (4-5) for the end; Forest Products Laboratory, Unidirectional Drying
/// of Wood (1939), for the square root; J. Crank, The Mathematics of Diffusion (1975), for the slab,
/// *from memory*. Half the water is gone in a quarter of the time, as the 1939 paper says:
///
/// ```
/// use knuckle::reckon::drying::share_left;
/// let (quarter, whole) = (1.0 - share_left(0.04), 1.0 - share_left(0.16));
/// assert!((quarter / whole - 0.5).abs() < 0.001);
/// ```
///
/// # Errors
/// [`SumTrouble::Outside`] for readings, target or air beyond the limits; [`SumTrouble::TooFew`]
/// below two readings of a point; [`SumTrouble::Contradiction`] when a point is not drying.
pub fn drying(
    readings: &[Reading],
    air: (Celsius, Percent),
    target: Percent,
) -> Result<Drying, SumTrouble> {
    let end = emc(air.0, air.1)?;
    let target = Percent(DRYING_READING.hold(target.0)?);
    for it in readings {
        DRYING_READING.hold(it.moisture.0)?;
        DRYING_TIME.hold(it.at.0)?;
    }
    if readings.is_empty() {
        return Err(too_few(0));
    }
    let points = by_point(readings);
    let last = readings.iter().map(|it| it.at.0).fold(0.0, f64::max);
    if target.0 <= end.0 && points.iter().any(|it| target.0 < it.newest()) {
        let wanted = Percent(target.0 - DOUBTFUL_POINTS);
        return Ok(Drying::Never {
            emc: end,
            humidity_needed: humidity_for(wanted, air.0)
                .or_else(|_| humidity_for(target, air.0))
                .ok(),
        });
    }
    let mut worst: Option<(Bounds, String)> = None;
    for point in &points {
        let bounds = point.bounds(end.0, target.0)?;
        worst = Some(match worst {
            Some((other, name)) if bounds.late <= other.late => (other.later_of(bounds), name),
            Some((other, _)) => (bounds.later_of(other), point.name.clone()),
            None => (bounds, point.name.clone()),
        });
    }
    let (bounds, point) = worst.ok_or_else(|| too_few(0))?;
    let because = format!(
        "{}, {}; this air leads to {:.1} %",
        counted(readings.len(), "reading"),
        counted(points.len(), "point"),
        end.0
    );
    let hours = |it: f64| Hours(it.max(last));
    Ok(Drying::Reaches {
        at: Estimate::new(
            hours(bounds.early),
            hours(bounds.likely),
            hours(bounds.late),
            because,
        ),
        point,
        doubtful: target.0 <= end.0 + DOUBTFUL_POINTS,
        emc: end,
    })
}

fn too_few(given: usize) -> SumTrouble {
    SumTrouble::TooFew {
        what: "readings of a point at different times",
        given,
        needed: 2,
    }
}

/// Returns the share of excess moisture left in a slab after dimensionless time τ = Dt/L², L the
/// half thickness: 1 − 2√(τ/π) at first, the cosine series of the diffusion equation later.
pub fn share_left(tau: f64) -> f64 {
    use std::f64::consts::PI;
    if tau <= 0.0 {
        return 1.0;
    }
    // Below this the two forms agree to 10⁻⁶ and the series would need ever more terms.
    if tau < 0.05 {
        return 1.0 - 2.0 * (tau / PI).sqrt();
    }
    [1.0, 3.0, 5.0, 7.0, 9.0]
        .iter()
        .map(|n| {
            let square = n * n * PI * PI;
            8.0 / square * (-square * tau / 4.0).exp()
        })
        .sum()
}

/// The readings of one point from the highest on, worst first where two share a time.
struct Point {
    name: String,
    course: Vec<(f64, f64)>,
}

#[derive(Clone, Copy)]
struct Bounds {
    early: f64,
    likely: f64,
    late: f64,
}

impl Bounds {
    fn later_of(self, other: Self) -> Self {
        Self {
            early: self.early.max(other.early),
            likely: self.likely.max(other.likely),
            late: self.late.max(other.late),
        }
    }
}

fn by_point(readings: &[Reading]) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    for it in readings {
        let pair = (it.at.0, it.moisture.0);
        match points.iter_mut().find(|point| point.name == it.point) {
            Some(point) => point.course.push(pair),
            None => points.push(Point {
                name: it.point.clone(),
                course: vec![pair],
            }),
        }
    }
    for point in &mut points {
        // Of two readings at one time the wetter comes first and the other is dropped.
        point
            .course
            .sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
        point.course.dedup_by(|later, first| later.0 <= first.0);
        // A second wetting begins a new course, so only the readings since the wettest count.
        let wettest = point.course.iter().map(|it| it.1).fold(0.0, f64::max);
        let start = point.course.iter().rposition(|it| wettest <= it.1);
        point.course.drain(..start.unwrap_or(0));
    }
    points
}

/// How excess moisture falls.
#[derive(Clone, Copy)]
enum Law {
    FromTheSkin,
    Exponential,
}

impl Law {
    /// Returns the share left after `hours` at `rate` per hour.
    fn left(self, hours: f64, rate: f64) -> f64 {
        match self {
            Self::FromTheSkin => share_left(rate * hours),
            Self::Exponential => (-rate * hours).exp(),
        }
    }
}

/// One law fitted to one course.
#[derive(Clone, Copy)]
struct Fit {
    law: Law,
    begin: f64,
    excess: f64,
    rate: f64,
    /// Root mean square of what the law leaves unexplained, points.
    off: f64,
}

impl Fit {
    /// Returns when the excess has come down to `wanted`, at a share of the fitted rate.
    fn time(self, wanted: f64, pace: f64) -> f64 {
        let share = wanted / self.excess;
        if 1.0 <= share {
            return self.begin;
        }
        let rate = self.rate * pace;
        let (mut low, mut high) = (0.0, 1.0 / rate);
        while share < self.law.left(high, rate) && high < 1e12 {
            high *= 2.0;
        }
        // Sixty halvings reach the last digit of a double.
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if share < self.law.left(middle, rate) {
                low = middle;
            } else {
                high = middle;
            }
        }
        self.begin + high
    }
}

impl Point {
    fn newest(&self) -> f64 {
        self.course.last().map_or(0.0, |it| it.1)
    }

    fn newest_at(&self) -> f64 {
        self.course.last().map_or(0.0, |it| it.0)
    }

    fn bounds(&self, end: f64, target: f64) -> Result<Bounds, SumTrouble> {
        if self.newest() <= target {
            let now = self.newest_at();
            return Ok(Bounds {
                early: now,
                likely: now,
                late: now,
            });
        }
        if self.course.len() < 2 {
            return Err(if self.newest_at() <= 0.0 {
                too_few(1)
            } else {
                SumTrouble::Contradiction {
                    what: format!(
                        "the newest reading{} is the wettest: nothing dries",
                        self.called()
                    ),
                    remedy: "look for what wets it, then read again in a day",
                }
            });
        }
        let room = target - end;
        let fits = fitted(&self.course, end);
        let best = fits.first().ok_or_else(|| self.still())?;
        let likely = best.time(room, 1.0);
        let slowest = fits.iter().map(|it| it.time(room, SLOWEST_SHARE));
        let slowest = slowest.fold(likely, f64::max);
        let slack = DOUBTFUL_POINTS.min(room / 2.0);
        let (mut sooner, mut later) = (0.0, 0.0);
        let laws = fits.iter().map(|it| it.time(room, 1.0));
        let moved =
            [-READING_POINTS, READING_POINTS].map(|it| self.time_if(best.law, it, (end, target)));
        let ended = [-slack, slack].map(|it| self.time_if(best.law, 0.0, (end + it, target)));
        for causes in [laws.collect(), moved.to_vec(), ended.to_vec()] {
            let times = || causes.iter().map(|it| it.min(slowest));
            sooner += (likely - times().fold(likely, f64::min)).powi(2);
            later += (times().fold(likely, f64::max) - likely).powi(2);
        }
        Ok(Bounds {
            early: likely - sooner.sqrt(),
            likely,
            late: likely + later.sqrt(),
        })
    }

    /// Returns the time by this law when the newest reading is off by so many points and the first
    /// the other way; endless when nothing dries then.
    fn time_if(&self, law: Law, points: f64, (end, target): (f64, f64)) -> f64 {
        let mut course = self.course.clone();
        if let Some(first) = course.first_mut() {
            first.1 -= points;
        }
        if let Some(last) = course.last_mut() {
            last.1 += points;
        }
        excess(&course, end).map_or(f64::INFINITY, |(begin, wet)| {
            fit(law, begin, &wet).time(target - end, 1.0)
        })
    }

    fn called(&self) -> String {
        if self.name.is_empty() {
            String::new()
        } else {
            format!(" at `{}`", self.name)
        }
    }

    fn still(&self) -> SumTrouble {
        SumTrouble::Contradiction {
            what: format!(
                "the readings{} do not fall towards what the air allows",
                self.called()
            ),
            remedy: "move more air or dry it, then read again in a day",
        }
    }
}

/// Returns when the course begins and its excess from then on; none when nothing dries.
fn excess(course: &[(f64, f64)], end: f64) -> Option<(f64, Vec<(f64, f64)>)> {
    let (first, last) = (course.first()?, course.last()?);
    let dries = last.1 < first.1 && end < last.1;
    let wet = course.iter().map(|it| (it.0 - first.0, it.1 - end));
    dries.then(|| (first.0, wet.collect()))
}

/// Returns the believable laws for a course, best first; none when nothing dries.
fn fitted(course: &[(f64, f64)], end: f64) -> Vec<Fit> {
    let Some((begin, wet)) = excess(course, end) else {
        return Vec::new();
    };
    // Two readings fit both laws exactly; the slower one is the likely one then.
    let mut fits = [Law::FromTheSkin, Law::Exponential]
        .map(|law| fit(law, begin, &wet))
        .to_vec();
    if 2 < wet.len() {
        fits.sort_by(|a, b| a.off.total_cmp(&b.off));
    }
    let best = fits.iter().map(|it| it.off).fold(f64::INFINITY, f64::min);
    fits.retain(|it| it.off <= 2.0 * best + READING_POINTS / 2.0);
    fits
}

/// Returns the rate and first excess that fit best: for each rate the excess is a plain least
/// square, and the rate is sought on a logarithmic scale in ever finer steps.
fn fit(law: Law, begin: f64, wet: &[(f64, f64)]) -> Fit {
    let span = wet.last().map_or(1.0, |it| it.0).max(1e-6);
    let at = |power: f64| {
        let rate = power.exp() / span;
        let (mut over, mut under) = (0.0, 0.0);
        for (hours, excess) in wet {
            let left = law.left(*hours, rate);
            over += left * excess;
            under += left * left;
        }
        let excess = over / under;
        let squares: f64 = wet
            .iter()
            .map(|(hours, it)| (it - excess * law.left(*hours, rate)).powi(2))
            .sum();
        (squares, excess, rate)
    };
    let (mut middle, mut step) = (0.0, 0.5);
    let mut best = at(middle);
    // Each round looks as far as one step of the round before it, and a little further.
    for round in 0..20 {
        let centre = middle;
        let far = match round {
            0 => 20,
            1 => 12,
            _ => 5,
        };
        for side in -far..=far {
            let power = centre + step * f64::from(side);
            let tried = at(power);
            if tried.0 < best.0 {
                (middle, best) = (power, tried);
            }
        }
        step *= if round == 0 { 0.1 } else { 0.3 };
    }
    let count = u32::try_from(wet.len()).map_or(1.0, f64::from);
    Fit {
        law,
        begin,
        excess: best.1,
        rate: best.2,
        off: (best.0 / count).sqrt(),
    }
}
