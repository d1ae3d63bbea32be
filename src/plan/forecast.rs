//! When each figure is done, as a range with the late end first, and what moves it.
//!
//! The late end is the day by which nine of ten runs are done. What moves it is read from the
//! same runs, in `movers`.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::Change;
use super::ahead::ahead;
use super::movers::{Mover, Tornado};
use super::order::{SEARCH, order};
use super::project::{GRAIN_MIN, Goal, JobAhead, Project};
use super::simulate::{Runs, simulate};
use crate::deed::{Promise, Stamp, Work};
use crate::standing::{House, clock_views};

/// Runs of a forecast when nobody says how many (own choice: the 90 % end of 500 runs lies
/// within about two percent of all runs, √(0.9·0.1/500), of the true one).
pub const RUNS: u32 = 500;

/// Runs of a forecast that nobody reads day by day (own choice).
pub const COARSE_RUNS: u32 = 50;

/// From this share of runs on a promise is called at risk, percent (own judgement: one in four).
pub const AT_RISK_PERCENT: u32 = 25;

/// Returns what was noted last about the end of a figure, and when; `None` before a day was
/// closed with a forecast in which it stood.
pub fn noted<'a>(house: House<'a>, figure: &str) -> Option<(&'a Promise, &'a Stamp)> {
    let mut newest = house.standing.shop.forecasts.iter().rev();
    newest.find_map(|(forecast, stamp)| {
        let row = forecast.rows.iter().find(|row| row.figure == figure)?;
        Some((row, stamp))
    })
}

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

/// A forecast before its long sums: all that they need, taken from the house, so that they can
/// be done elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    project: Project,
    /// Dates promised, figure by figure of the project.
    promised: Vec<Option<NaiveDate>>,
    fixed: Vec<(DateTime<FixedOffset>, String)>,
    watched: Option<usize>,
    runs: u32,
    seed: u64,
    now: DateTime<FixedOffset>,
}

/// Returns when the figures of a house are done.
pub fn forecast(house: House<'_>, ask: &ForecastAsk<'_>, now: DateTime<FixedOffset>) -> Forecast {
    prepare(house, ask, now).reckon()
}

/// Takes from a house all that its forecast needs.
pub fn prepare(house: House<'_>, ask: &ForecastAsk<'_>, now: DateTime<FixedOffset>) -> Prepared {
    let project = ahead(house, (now, ask.tomorrow), ask.change);
    let is_watched = |goal: &Goal| Some(goal.figure.as_str()) == ask.figure;
    let card = |goal: &Goal| house.cards.figures.get(&goal.figure);
    let promised = |goal: &Goal| card(goal).and_then(|card| card.promised);
    Prepared {
        promised: project.goals.iter().map(promised).collect(),
        watched: project.goals.iter().position(is_watched),
        fixed: ask.figure.map_or_else(Vec::new, |id| fixed(house, id, now)),
        runs: ask.runs,
        seed: ask.seed,
        project,
        now,
    }
}

impl Prepared {
    /// Does the long sums: seeks an order of work and runs it over and over.
    pub fn reckon(&self) -> Forecast {
        let project = &self.project;
        // A coarse forecast may not keep anybody waiting for a better order.
        let search = if self.runs < RUNS {
            SEARCH / 10
        } else {
            SEARCH
        };
        let best = order(project, self.seed, search);
        let runs = simulate(project, &best, (self.runs, self.seed), self.watched);
        let tornado = Tornado::of(project, &runs);
        let mut rows: Vec<Outcome> = (0..project.goals.len())
            .filter_map(|goal| self.outcome(goal, (&runs, &tornado)))
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
            path: path(project, &runs, self.now),
            fixed: self.fixed.clone(),
            runs: self.runs,
        }
    }

    fn outcome(&self, goal: usize, (runs, tornado): (&Runs, &Tornado<'_>)) -> Option<Outcome> {
        let (project, now) = (&self.project, self.now);
        let it = project.goals.get(goal)?;
        let done = runs.done.get(goal)?;
        let ends: Vec<u32> = done.iter().map(|end| end.unwrap_or(u32::MAX)).collect();
        let mut sorted = ends.clone();
        sorted.sort_unstable();
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
            promised: self.promised.get(goal).copied().flatten(),
            risk: it.due.map(late),
            movers: tornado.movers(goal, &ends),
            never: it.never.clone(),
            walks: works.len(),
        })
    }
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
    use super::quantile;

    #[test]
    fn the_late_end_is_never_taken_too_early() {
        let ends: Vec<u32> = (1..=10).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (9, 5));
        let ends: Vec<u32> = (1..=11).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (10, 6));
        assert_eq!(quantile(&[], 9), u32::MAX);
    }
}
