//! When each figure is done, as a range with the late end first, and what moves it.
//!
//! The late end is the day by which nine of ten runs are done. What moves it is read from the
//! same runs: the rank correlation between the luck of each cause and the end (C. Spearman, The
//! proof and measurement of association between two things, American Journal of Psychology 15,
//! 1904), told as the days between its worst and its best third.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::Change;
use super::ahead::ahead;
use super::order::{SEARCH, order};
use super::project::{GRAIN_MIN, JobAhead, Project};
use super::simulate::{Runs, simulate};
use crate::deed::Work;
use crate::standing::{House, clock_views};

/// Runs of a forecast when nobody says how many (own choice: the 90 % end of 500 runs lies
/// within about two percent of all runs, √(0.9·0.1/500), of the true one).
pub const RUNS: u32 = 500;

/// Runs of a forecast that nobody reads day by day (own choice).
pub const COARSE_RUNS: u32 = 50;

/// A cause that moves the end by less is not told, days (own judgement).
const LEAST_DAYS: f64 = 0.5;

/// A cause whose luck goes less with the end than this, over the root of the number of runs, is
/// not told: with no connection at all one in 2,000 comes out above it (the normal
/// approximation of Spearman's coefficient, variance 1/(n − 1)).
const LEAST_LINK: f64 = 3.3;

/// Most causes told of a figure (own choice).
const MOST_MOVERS: usize = 3;

/// What a forecast is asked.
#[derive(Debug, Clone, Copy)]
pub struct ForecastAsk<'a> {
    /// The figure whose path is told.
    pub figure: Option<&'a str>,
    /// How many runs.
    pub runs: u32,
    /// The same seed gives the same answer.
    pub seed: u64,
    /// What is changed first.
    pub change: &'a Change,
    /// The offset after tonight where the shop card names no zone.
    pub tomorrow: FixedOffset,
}

/// When the figures of a shop are done.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forecast {
    /// Figures, the one whose promise is most at risk first.
    pub rows: Vec<Outcome>,
    /// The rest of the way of the figure that was asked for.
    pub path: Vec<PathStop>,
    /// Hours at which somebody must be at that figure: a clock opens or closes.
    pub fixed: Vec<(DateTime<FixedOffset>, String)>,
    /// How many runs.
    pub runs: u32,
}

/// When one figure is done.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Figure id.
    pub figure: String,
    /// Done by then in nine of ten runs; `None` when it is not, within three years.
    pub ninety: Option<DateTime<FixedOffset>>,
    /// Done by then in half of the runs.
    pub fifty: Option<DateTime<FixedOffset>>,
    /// The date promised.
    pub promised: Option<NaiveDate>,
    /// Share of runs that end after the promised day, 0 to 1; `None` without a promise.
    pub risk: Option<f64>,
    /// What moves the end most, most first.
    pub movers: Vec<Mover>,
    /// Why it is never done as things are.
    pub never: Option<String>,
    /// Walks left.
    pub walks: usize,
}

/// Something that moves the end of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Mover {
    /// What it is: `strip, hands`, with the figure where it is another one.
    pub words: String,
    /// Days between its worst and its best third.
    pub days: f64,
}

/// A walk on the way of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct PathStop {
    /// The walk.
    pub work: Work,
    /// Begun by then in half of the runs.
    pub begins: Option<DateTime<FixedOffset>>,
    /// Over by then in half of the runs.
    pub fifty: Option<DateTime<FixedOffset>>,
    /// Over by then in nine of ten runs.
    pub ninety: Option<DateTime<FixedOffset>>,
}

/// Returns when the figures of a house are done.
pub fn forecast(house: House<'_>, ask: &ForecastAsk<'_>, now: DateTime<FixedOffset>) -> Forecast {
    let project = ahead(house, (now, ask.tomorrow), ask.change);
    // A coarse forecast may not keep anybody waiting for a better order.
    let search = if ask.runs < RUNS { SEARCH / 10 } else { SEARCH };
    let best = order(&project, ask.seed, search);
    let watched = project
        .goals
        .iter()
        .position(|goal| Some(goal.figure.as_str()) == ask.figure);
    let runs = simulate(&project, &best, (ask.runs, ask.seed), watched);
    let mut rows: Vec<Outcome> = (0..project.goals.len())
        .filter_map(|goal| outcome(house, (&project, goal), &runs, now))
        .collect();
    rows.sort_by(|a, b| {
        let risk = |it: &Outcome| it.risk.unwrap_or(-1.0);
        let late = |it: &Outcome| it.ninety.map_or(i64::MAX, |at| at.timestamp());
        let by_risk = risk(b).total_cmp(&risk(a));
        by_risk
            .then(late(a).cmp(&late(b)))
            .then(a.figure.cmp(&b.figure))
    });
    Forecast {
        rows,
        path: path(&project, &runs, now),
        fixed: ask.figure.map_or_else(Vec::new, |id| fixed(house, id, now)),
        runs: ask.runs,
    }
}

fn outcome(
    house: House<'_>,
    (project, goal): (&Project, usize),
    runs: &Runs,
    now: DateTime<FixedOffset>,
) -> Option<Outcome> {
    let it = project.goals.get(goal)?;
    let done = runs.done.get(goal)?;
    let ends: Vec<u32> = done.iter().map(|end| end.unwrap_or(u32::MAX)).collect();
    let mut sorted = ends.clone();
    sorted.sort_unstable();
    let card = house.cards.figures.get(&it.figure)?;
    let late = |due: u32| {
        let late = ends.iter().filter(|end| due < **end).count();
        of(late, ends.len())
    };
    let mut works: Vec<usize> = it
        .blocks
        .iter()
        .filter_map(|block| Some(project.blocks.get(*block)?.job))
        .collect();
    works.dedup();
    Some(Outcome {
        figure: it.figure.clone(),
        ninety: at(now, quantile(&sorted, 9)),
        fifty: at(now, quantile(&sorted, 5)),
        promised: card.promised,
        risk: it.due.map(late),
        movers: movers(project, goal, &ends, runs),
        never: it.never.clone(),
        walks: works.len(),
    })
}

/// The end by which `tenths` of all runs are done; the later one where it lies between two.
fn quantile(sorted: &[u32], tenths: usize) -> u32 {
    let place = (sorted.len() * tenths).div_ceil(10);
    let found = place.checked_sub(1).and_then(|place| sorted.get(place));
    found.copied().unwrap_or(u32::MAX)
}

fn at(now: DateTime<FixedOffset>, slot: u32) -> Option<DateTime<FixedOffset>> {
    (slot < u32::MAX).then(|| now + Duration::minutes(i64::from(slot) * i64::from(GRAIN_MIN)))
}

fn of(part: usize, whole: usize) -> f64 {
    let number = |it: usize| f64::from(u32::try_from(it).unwrap_or(u32::MAX));
    number(part) / number(whole.max(1))
}

fn movers(project: &Project, goal: usize, ends: &[u32], runs: &Runs) -> Vec<Mover> {
    if ends.contains(&u32::MAX) || ends.len() < 10 {
        return Vec::new();
    }
    let ends: Vec<f64> = ends.iter().map(|end| f64::from(*end)).collect();
    let end_ranks = ranks(&ends);
    let runs_count = f64::from(u32::try_from(ends.len()).unwrap_or(u32::MAX));
    let least = LEAST_LINK / (runs_count - 1.0).sqrt();
    let mut all: Vec<(f64, Mover)> = Vec::new();
    for (cause, drawn) in project.causes.iter().zip(&runs.drawn) {
        let own = ranks(drawn);
        let link = correlation(&own, &end_ranks);
        let days = swing(&own, &ends);
        // Bad luck of a way back is a high draw like any other.
        if link < least || days < LEAST_DAYS {
            continue;
        }
        let figure = project.goals.get(cause.figure);
        let words = match figure.filter(|_| cause.figure != goal) {
            Some(other) => format!("{}: {}", other.figure, cause.words),
            None => cause.words.clone(),
        };
        all.push((link, Mover { words, days }));
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.truncate(MOST_MOVERS);
    all.into_iter().map(|(_, mover)| mover).collect()
}

/// Ranks from 0; those alike share the middle of their ranks.
fn ranks(of: &[f64]) -> Vec<f64> {
    let mut order: Vec<(f64, usize)> = of.iter().copied().zip(0..).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut ranks = vec![0.0; of.len()];
    let mut begin = 0;
    for group in order.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        let count = f64::from(u32::try_from(group.len()).unwrap_or(u32::MAX));
        let rank = f64::from(u32::try_from(begin).unwrap_or(u32::MAX)) + (count - 1.0) / 2.0;
        for (_, place) in group {
            if let Some(slot) = ranks.get_mut(*place) {
                *slot = rank;
            }
        }
        begin += group.len();
    }
    ranks
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let count = f64::from(u32::try_from(a.len()).unwrap_or(u32::MAX));
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / count, b.iter().sum::<f64>() / count);
    let (mut both, mut own, mut other) = (0.0, 0.0, 0.0);
    for (a, b) in a.iter().zip(b) {
        let (a, b) = (a - mean_a, b - mean_b);
        both += a * b;
        own += a * a;
        other += b * b;
    }
    if own <= 0.0 || other <= 0.0 {
        0.0
    } else {
        both / (own * other).sqrt()
    }
}

/// Days between the mean ends of the worst and the best third of a cause's luck.
fn swing(ranks: &[f64], ends: &[f64]) -> f64 {
    let count = f64::from(u32::try_from(ranks.len()).unwrap_or(u32::MAX));
    let mean = |keep: &dyn Fn(f64) -> bool| {
        let kept = ranks.iter().zip(ends).filter(|(rank, _)| keep(**rank));
        let (sum, count) = kept.fold((0.0, 0.0), |(sum, count), (_, end)| {
            (sum + end, count + 1.0)
        });
        sum / f64::max(count, 1.0)
    };
    let (low, high) = (count / 3.0, 2.0 * count / 3.0);
    let slots = mean(&|rank| high <= rank) - mean(&|rank| rank < low);
    slots * f64::from(GRAIN_MIN) / (24.0 * 60.0)
}

fn path(project: &Project, runs: &Runs, now: DateTime<FixedOffset>) -> Vec<PathStop> {
    let mut stops: Vec<PathStop> = runs
        .jobs
        .iter()
        .filter_map(|(job, spans)| {
            let ahead = project.jobs.get(*job)?;
            is_on_the_way(project, ahead).then(|| stop(ahead, spans, now))
        })
        .collect();
    stops.sort_by_key(|stop| stop.begins.map_or(i64::MAX, |at| at.timestamp()));
    stops
}

fn is_on_the_way(project: &Project, job: &JobAhead) -> bool {
    let first = project.blocks.get(job.first);
    job.first < job.end && first.is_some_and(|block| !block.spare)
}

fn stop(job: &JobAhead, spans: &[(u32, u32)], now: DateTime<FixedOffset>) -> PathStop {
    let sorted = |end: fn(&(u32, u32)) -> u32| {
        let mut all: Vec<u32> = spans.iter().map(end).collect();
        all.sort_unstable();
        all
    };
    let (begun, over) = (sorted(|it| it.0), sorted(|it| it.1));
    PathStop {
        work: job.work.clone(),
        begins: at(now, quantile(&begun, 5)),
        fifty: at(now, quantile(&over, 5)),
        ninety: at(now, quantile(&over, 9)),
    }
}

fn fixed(
    house: House<'_>,
    figure: &str,
    now: DateTime<FixedOffset>,
) -> Vec<(DateTime<FixedOffset>, String)> {
    let views = clock_views(house, now);
    let mut all: Vec<(DateTime<FixedOffset>, String)> = Vec::new();
    for view in views.iter().filter(|view| view.figure == figure) {
        let ends = [(view.opens, "ready"), (view.closes, "closes")];
        for (at, word) in ends {
            if let Some(at) = at.filter(|at| now < *at) {
                all.push((at, format!("{word}: {}", view.about)));
            }
        }
    }
    all.sort();
    all
}

#[cfg(test)]
mod tests {
    use super::{correlation, quantile, ranks};

    #[test]
    fn the_late_end_is_never_taken_too_early() {
        let ends: Vec<u32> = (1..=10).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (9, 5));
        let ends: Vec<u32> = (1..=11).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (10, 6));
        assert_eq!(quantile(&[], 9), u32::MAX);
    }

    #[test]
    fn ranks_and_their_correlation_come_out_as_published() {
        // IQ against hours of television, ten people: ρ = −29/165 (worked example of many
        // textbooks on Spearman's coefficient, as in Wikipedia's article on it).
        let iq = [
            106.0, 100.0, 86.0, 101.0, 99.0, 103.0, 97.0, 113.0, 112.0, 110.0,
        ];
        let hours = [7.0, 27.0, 2.0, 50.0, 28.0, 29.0, 20.0, 12.0, 6.0, 17.0];
        let rho = correlation(&ranks(&iq), &ranks(&hours));
        assert!((rho + 29.0 / 165.0).abs() < 1e-12, "{rho}");
        assert_eq!(ranks(&[2.0, 1.0, 2.0]), [1.5, 0.0, 1.5]);
    }
}
