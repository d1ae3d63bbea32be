//! When each figure is done, as a range with the late end first, and what moves it.
//!
//! The late end is the day by which nine of ten runs are done. What moves it is read from the
//! same runs, in `movers`.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::Change;
use super::ahead::ahead;
use super::beside::{
    Beside, ERRORS, is_share_told, is_told, late_share, quantile, share_of, simulate_beside,
    standard_error,
};
use super::movers::{Mover, Tornado};
use super::order::{Rules, SEARCH};
use super::project::{GRAIN_MIN, Goal, JobAhead, Project};
use super::simulate::{Runs, Turns};
use crate::deed::{Promise, Stamp, Work};
use crate::standing::{House, clock_views};

/// Runs of a forecast when nobody says how many (own choice: the 90 % end of 500 runs lies
/// within about two percent of all runs, √(0.9·0.1/500), of the true one).
pub const RUNS: u32 = 500;

/// Runs of a forecast that nobody reads day by day (own choice).
pub const COARSE_RUNS: u32 = 50;

/// A promise is at risk where more runs than those beyond the late date end after it, percent: the
/// day that nine of ten runs keep lies behind it (own judgement: the late date is what is told
/// to an owner).
const AT_RISK_PERCENT: u32 = 10;

/// Returns whether a promise is at risk by what a forecast saw of its figure.
pub fn is_at_risk(seen: &Promise) -> bool {
    seen.risk_percent.is_some_and(|late| AT_RISK_PERCENT < late)
}

/// Returns what was noted last about the end of a figure, and when; `None` before a day was
/// closed with a forecast in which it stood.
pub fn noted<'a>(house: House<'a>, figure: &str) -> Option<(&'a Promise, &'a Stamp)> {
    let mut newest = house.standing.shop.forecasts.iter().rev();
    newest.find_map(|(forecast, stamp)| {
        let row = forecast.rows.iter().find(|row| row.figure == figure)?;
        Some((row, stamp))
    })
}

/// Plans over which the runs of a forecast are shared out (own choice).
const PLANS: u32 = 16;

/// So many walks ahead are run through as often as is usual: 20 figures of 60 each take some six
/// seconds (own choice; of tens of thousands a look would take minutes).
const MOST_WALKS: usize = 4_000;

/// What a forecast is asked.
#[derive(Debug, Clone, Copy)]
pub struct ForecastAsk<'a> {
    /// The figure whose path is told.
    pub figure: Option<&'a str>,
    /// How many runs.
    pub runs: u32,
    /// The same seed gives the same answer.
    pub seed: u64,
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
    /// Days by which chance alone may move the late end: twice its standard error over the
    /// plans; `None` where a plan has no end.
    pub give_days: Option<u32>,
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

/// Where a date of a changed shop lies beside the one of the shop as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shift {
    /// No difference that can be told from luck.
    NotTold,
    /// There; `None` when it is not done within three years.
    To(Option<DateTime<FixedOffset>>),
}

/// One figure in a changed shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shifted {
    /// Figure id.
    pub figure: String,
    /// Done by then in nine of ten runs.
    pub ninety: Shift,
    /// Done by then in half of the runs.
    pub fifty: Shift,
    /// Share of runs that end after the promised day, 0 to 1, that of now where no other can be told
    /// from luck; `None` without a promise.
    pub risk: Option<f64>,
    /// Why it is never done then.
    pub never: Option<String>,
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
    /// The changed shops beside it, one for each question.
    then: Vec<Project>,
    /// Dates promised, figure by figure of the project.
    promised: Vec<Option<NaiveDate>>,
    fixed: Vec<(DateTime<FixedOffset>, String)>,
    watched: Option<usize>,
    runs: u32,
    seed: u64,
    now: DateTime<FixedOffset>,
}

/// The same luck in every forecast that nobody gives another seed, so that dates move by what
/// happened and not by chance.
pub const SEED: u64 = 1;

/// Returns what is asked where nobody asks otherwise: on the floor, on the day page, when a day
/// is closed, and by `forecast` without flags. So all of them tell the same dates. `tomorrow` is
/// the offset after tonight.
fn usual(tomorrow: FixedOffset) -> ForecastAsk<'static> {
    ForecastAsk {
        figure: None,
        runs: RUNS,
        seed: SEED,
        tomorrow,
    }
}

impl Forecast {
    /// Returns what is noted of it in the journal of the shop.
    pub fn promises(&self) -> Vec<Promise> {
        let rows = self.rows.iter().map(|row| {
            let movers = row.movers.iter().map(|mover| &mover.words);
            Promise {
                figure: row.figure.clone(),
                ninety: row.ninety.map(|at| at.date_naive()),
                fifty: row.fifty.map(|at| at.date_naive()),
                give_days: row.give_days,
                risk_percent: row.risk.map(percent),
                moved_by: row.never.iter().chain(movers).cloned().collect(),
            }
        });
        rows.collect()
    }
}

fn percent(risk: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of at most one, as a whole percentage"
    )]
    let percent = (risk * 100.0).round() as u32;
    percent
}

/// Returns when the figures of a house are done.
pub fn forecast(house: House<'_>, ask: &ForecastAsk<'_>, now: DateTime<FixedOffset>) -> Forecast {
    prepare(house, ask, now).reckon()
}

/// As [`prepare`], as it is asked where nobody asks otherwise, and as far as that can be waited
/// for.
pub fn prepare_usual(
    house: House<'_>,
    tomorrow: FixedOffset,
    now: DateTime<FixedOffset>,
) -> Prepared {
    prepare(house, &usual(tomorrow), now).within_patience()
}

/// As [`prepare`], with what each of `changes` would shift beside it: all with the same luck and
/// the same plan.
pub fn prepare_what_if(
    house: House<'_>,
    (ask, changes): (&ForecastAsk<'_>, &[Change]),
    now: DateTime<FixedOffset>,
) -> Prepared {
    let changes = changes.iter();
    let then = changes.map(|change| ahead(house, (now, ask.tomorrow), change));
    Prepared {
        then: then.collect(),
        ..prepare(house, ask, now)
    }
}

/// Takes from a house all that its forecast needs.
pub fn prepare(house: House<'_>, ask: &ForecastAsk<'_>, now: DateTime<FixedOffset>) -> Prepared {
    let project = ahead(house, (now, ask.tomorrow), &Change::default());
    let is_watched = |goal: &Goal| Some(goal.figure.as_str()) == ask.figure;
    let card = |goal: &Goal| house.cards.figures.get(&goal.figure);
    let promised = |goal: &Goal| card(goal).and_then(|card| card.promised);
    Prepared {
        promised: project.goals.iter().map(promised).collect(),
        watched: project.goals.iter().position(is_watched),
        fixed: ask.figure.map_or_else(Vec::new, |id| fixed(house, id, now)),
        runs: ask.runs,
        seed: ask.seed,
        then: Vec::new(),
        project,
        now,
    }
}

/// What came of the runs of one plan: in the shop as it is, and in each changed one.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Played {
    is: Runs,
    then: Vec<Runs>,
}

impl Prepared {
    /// Returns the same with few runs, for where nobody does its sums elsewhere.
    #[must_use]
    pub fn coarsely(self) -> Self {
        let runs = self.runs.min(COARSE_RUNS);
        Self { runs, ..self }
    }

    /// Does the long sums: seeks orders of work and runs them over and over.
    pub fn reckon(&self) -> Forecast {
        self.reckon_beside(|plans, play| play(plans)).0
    }

    /// Does the long sums for this shop, and for each changed one beside it. `share_out` is given
    /// the numbers of the plans and what plays some of them; it returns what was played in the
    /// order of the numbers. Nothing depends on who plays which.
    pub fn reckon_beside(
        &self,
        share_out: impl FnOnce(&[u32], &(dyn Fn(&[u32]) -> Vec<Played> + Sync)) -> Vec<Played>,
    ) -> (Forecast, Vec<Vec<Shifted>>) {
        let plans: Vec<u32> = (0..PLANS).collect();
        let rules = Rules::of(&self.project).lived_through(&self.project, (self.runs, self.seed));
        let then = self.then.iter();
        let beside: Vec<_> = then
            .map(|then| Beside::blank((&self.project, then), self.seed))
            .collect();
        let play = |plans: &[u32]| {
            let plans = plans.iter();
            plans.map(|nth| self.play(*nth, &rules, &beside)).collect()
        };
        let played = share_out(&plans, &play);
        let (is, others): (Vec<Runs>, Vec<Vec<Runs>>) =
            played.into_iter().map(|it| (it.is, it.then)).unzip();
        let is = Runs::in_turn(&is.iter().collect::<Vec<_>>());
        let shifts = self.then.iter().enumerate().map(|(question, then)| {
            let other = others.iter().filter_map(|plan| plan.get(question));
            let other = Runs::in_turn(&other.collect::<Vec<_>>());
            let goals = 0..self.project.goals.len();
            let shifts = goals.filter_map(|goal| self.shifted(then, goal, (&is, &other)));
            shifts.collect()
        });
        let shifts = shifts.collect();
        (self.told(&is), shifts)
    }

    /// Plays the runs of one of several good plans, for nobody knows which one a shop will keep
    /// to: of one alone a look an hour later, that finds another, would move dates by weeks.
    fn play(&self, nth: u32, rules: &Rules, beside: &[Beside<'_>]) -> Played {
        // A coarse forecast may not keep anybody waiting for a better order.
        let search = if self.runs < RUNS {
            SEARCH / 10
        } else {
            SEARCH
        };
        let seed = self.seed.wrapping_add(u64::from(nth) * 1_000_003);
        let search = (search / PLANS as usize, self.runs);
        let order = rules.plan(&self.project, (nth, PLANS), seed, search);
        let turns = Turns {
            first: nth,
            step: PLANS,
            end: self.runs,
            seed: self.seed,
        };
        let (is, then) = simulate_beside(&self.project, beside, &order, (turns, self.watched));
        Played { is, then }
    }

    /// Returns the same as far as it can be waited for: a shop with very much ahead is run
    /// through fewer times.
    fn within_patience(self) -> Self {
        if self.project.jobs.len() <= MOST_WALKS {
            return self;
        }
        self.coarsely()
    }

    /// One figure in the changed shop, whose figures are the same in the same order.
    fn shifted(&self, then: &Project, goal: usize, (is, other): (&Runs, &Runs)) -> Option<Shifted> {
        let (it, due) = (then.goals.get(goal)?, self.project.goals.get(goal)?.due);
        let (is, other) = (is.done.get(goal)?, other.done.get(goal)?);
        let shift = |tenths| {
            let mut sorted = ends(other);
            sorted.sort_unstable();
            if is_told(is, other, tenths) {
                Shift::To(at(self.now, quantile(&sorted, tenths)))
            } else {
                Shift::NotTold
            }
        };
        let late = |due| {
            let told = is_share_told(is, other, due);
            late_share(&ends(if told { other } else { is }), due)
        };
        Some(Shifted {
            figure: it.figure.clone(),
            ninety: shift(9),
            fifty: shift(5),
            risk: due.map(late),
            never: it.never.clone(),
        })
    }

    fn told(&self, runs: &Runs) -> Forecast {
        let project = &self.project;
        let tornado = Tornado::of(project, runs);
        let mut rows: Vec<Outcome> = (0..project.goals.len())
            .filter_map(|goal| self.outcome(goal, (runs, &tornado)))
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
            path: path(project, runs, self.now),
            fixed: self.fixed.clone(),
            runs: self.runs,
        }
    }

    fn outcome(&self, goal: usize, (runs, tornado): (&Runs, &Tornado<'_>)) -> Option<Outcome> {
        let (project, now) = (&self.project, self.now);
        let it = project.goals.get(goal)?;
        let done = runs.done.get(goal)?;
        let ends = ends(done);
        let mut sorted = ends.clone();
        sorted.sort_unstable();
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
            give_days: give_days(done),
            promised: self.promised.get(goal).copied().flatten(),
            risk: it.due.map(|due| late_share(&ends, due)),
            movers: tornado.movers(goal, &ends),
            never: it.never.clone(),
            walks: works.len(),
        })
    }
}

/// The ends run by run; what is not done within the slots looked at comes last.
fn ends(done: &[Option<u32>]) -> Vec<u32> {
    done.iter().map(|end| end.unwrap_or(u32::MAX)).collect()
}

/// Days by which the late end may lie elsewhere by the chance of plans and luck alone, from ends
/// run by run, the plans by turns.
///
/// The runs of one plan are alike, so that the plans count as clusters: the share of runs done
/// by the late end is as uncertain as those shares differ from plan to plan, and the ends at
/// nine tenths less and more twice its standard error bound the late end (R. Woodruff,
/// Confidence intervals for medians and other position measures, Journal of the American
/// Statistical Association 47, 1952). So it tells too of a few plans that end much later than
/// the others. The further of both bounds counts. `None` where a bound has no end.
fn give_days(done: &[Option<u32>]) -> Option<u32> {
    let plans = usize::try_from(PLANS).unwrap_or(1).min(done.len());
    if plans < 2 {
        return None;
    }
    let mut sorted = ends(done);
    sorted.sort_unstable();
    let late = quantile(&sorted, 9);
    let in_time = |plan| {
        let ends = done.iter().skip(plan).step_by(plans);
        let over = ends.clone().flatten().filter(|end| **end <= late).count();
        share_of(over, ends.count())
    };
    let doubt = ERRORS * standard_error((0..plans).map(in_time));
    let (sooner, later) = (
        share_done(&sorted, 0.9 - doubt),
        share_done(&sorted, 0.9 + doubt),
    );
    let slots = (later < u32::MAX).then(|| (late - sooner).max(later - late))?;
    Some(slots.saturating_mul(GRAIN_MIN).div_ceil(DAY_MIN))
}

/// The end by which a share of the runs is done; the last one from the whole on.
fn share_done(sorted: &[u32], share: f64) -> u32 {
    let done = |nth: usize| share <= share_of(nth + 1, sorted.len());
    let nth = (0..sorted.len()).find(|nth| done(*nth));
    let found = nth.and_then(|nth| sorted.get(nth)).or(sorted.last());
    found.copied().unwrap_or(u32::MAX)
}

/// Minutes of a day (by definition).
const DAY_MIN: u32 = 24 * 60;

/// Share of runs that end after the promised slot.
fn at(now: DateTime<FixedOffset>, slot: u32) -> Option<DateTime<FixedOffset>> {
    (slot < u32::MAX).then(|| now + Duration::minutes(i64::from(slot) * i64::from(GRAIN_MIN)))
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
    use super::{DAY_MIN, GRAIN_MIN, PLANS, RUNS, give_days};

    /// Ends in slots of 500 runs, the plans by turns: each plan spreads evenly over ten days,
    /// and the last `late` plans end forty days later.
    fn ends_with(late: u32) -> Vec<Option<u32>> {
        let day = DAY_MIN / GRAIN_MIN;
        let end = |run: u32| {
            let is_late = PLANS - late <= run % PLANS;
            Some(day * 10 * (run / PLANS) / (RUNS / PLANS) + if is_late { 40 * day } else { 0 })
        };
        (0..RUNS).map(end).collect()
    }

    #[test]
    fn one_late_plan_more_or_less_lies_within_the_give() {
        // Plans that agree leave nothing to chance but the tie of the last slot.
        assert!(give_days(&ends_with(0)) <= Some(1));
        // With one plan of sixteen late nine tenths lie before it, with two behind it.
        let days = |late| {
            let mut ends: Vec<u32> = ends_with(late).into_iter().flatten().collect();
            ends.sort_unstable();
            super::quantile(&ends, 9) * GRAIN_MIN / DAY_MIN
        };
        let apart = days(2) - days(1);
        assert!(30 < apart);
        assert!(Some(apart) <= give_days(&ends_with(1)));
        assert!(Some(apart) <= give_days(&ends_with(2)));
    }

    #[test]
    fn nothing_is_told_of_chance_where_a_bound_has_no_end() {
        let mut ends = ends_with(0);
        assert!(give_days(&ends).is_some());
        ends.iter_mut().step_by(8).for_each(|end| *end = None);
        assert_eq!(give_days(&ends), None);
        assert_eq!(give_days(&ends[..1]), None);
    }
}
