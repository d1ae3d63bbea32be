//! The trade's arithmetic at the step in front, so that nobody at the bench types a formula:
//! when the wood is dry, what air a remover asks for, how a piece moves, litres, leaves, grams.
//! Each sum stands in `reckon`; here it meets cards, readings and the moment, and becomes one
//! line to read, more behind the help, and figures for programs. What a card lacks is said with
//! the place where it belongs. Start reading at [`at`].

mod coat;
mod colour;
pub(super) mod dry;
mod joint;
pub(super) mod leaf;
pub(super) mod shelf;
mod vapour;
mod wood;

use chrono::{DateTime, FixedOffset};

use super::facts::Job;
use super::front::Front;
use super::gate::Case;
use super::walk::FlatStep;
use crate::card::{Checklist, Step, Zone};

/// A sum of the trade at a step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepSum {
    /// What it is about: `drying`, `vapour`, `match`, `movement`, `coat`, `recoat`, `film`,
    /// `leaf`, `pace`, `joint`, `colour` or `shelf`.
    pub topic: &'static str,
    /// One line for the bench.
    pub line: String,
    /// How it is to be taken.
    pub weight: Weight,
    /// Where it comes from and what else it says, for the help.
    pub more: Vec<String>,
    /// Its figures under names that end in their unit.
    pub figures: Vec<(&'static str, Figured)>,
}

/// How a sum is to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// To know.
    Plain,
    /// Something is not as it should be.
    Mind,
    /// It cannot be reckoned; the line says what is missing and where it belongs.
    Missing,
}

/// A figure of a sum.
#[derive(Debug, Clone, PartialEq)]
pub enum Figured {
    /// In the unit that its name ends in.
    Number(f64),
    /// Yes or no.
    Is(bool),
    /// A word or a name.
    Word(String),
}

impl StepSum {
    fn new(topic: &'static str, line: impl Into<String>) -> Self {
        Self {
            topic,
            line: line.into(),
            weight: Weight::Plain,
            more: Vec::new(),
            figures: Vec::new(),
        }
    }

    /// A sum that lacks something; the line says what and where to put it.
    fn missing(topic: &'static str, line: impl Into<String>) -> Self {
        Self {
            weight: Weight::Missing,
            ..Self::new(topic, line)
        }
    }

    fn minded(self, weight: Weight) -> Self {
        Self { weight, ..self }
    }

    fn more(mut self, line: impl Into<String>) -> Self {
        self.more.push(line.into());
        self
    }

    fn number(mut self, name: &'static str, value: f64) -> Self {
        self.figures.push((name, Figured::Number(value)));
        self
    }

    fn is(mut self, name: &'static str, value: bool) -> Self {
        self.figures.push((name, Figured::Is(value)));
        self
    }

    fn word(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.figures.push((name, Figured::Word(value.into())));
        self
    }
}

/// A step in front, with all that a sum may look at.
#[derive(Clone, Copy)]
struct Here<'a> {
    case: Case<'a>,
    job: &'a Job,
    list: &'a Checklist,
    steps: &'a [FlatStep<'a>],
    /// Place of the step in the walk.
    at: usize,
    flat: &'a FlatStep<'a>,
}

impl<'a> Here<'a> {
    fn step(&self) -> &'a Step {
        &self.flat.step
    }

    /// Returns the zone that is worked on, or in which the panel lies.
    fn zone(&self) -> Option<&'a Zone> {
        let target = self.case.work.target.as_deref()?;
        let card = self.case.house.cards.figures.get(self.case.figure)?;
        card.zones.iter().find(|zone| zone.id == target)
    }

    /// Returns whether the step lies between the first and the last step of the walk that fit.
    fn is_between(&self, first: impl Fn(&Step) -> bool, last: impl Fn(&Step) -> bool) -> bool {
        let from = self.steps.iter().position(|flat| first(&flat.step));
        let to = self.steps.iter().rposition(|flat| last(&flat.step));
        from.is_some_and(|from| from <= self.at) && to.is_some_and(|to| self.at <= to)
    }
}

/// Returns the sums at the step in front, most pressing first; none when nothing stands in
/// front or the step reckons with nothing.
pub(super) fn at(front: &Front<'_>) -> Vec<StepSum> {
    let (Some(at), Some(flat)) = (front.at, front.flat()) else {
        return Vec::new();
    };
    let here = Here {
        case: front.case,
        job: front.job,
        list: front.list,
        steps: &front.steps,
        at,
        flat,
    };
    let mut sums: Vec<StepSum> = [
        shelf::at,
        dry::at,
        vapour::at,
        wood::at,
        coat::at,
        leaf::at,
        joint::at,
        colour::at,
    ]
    .iter()
    .flat_map(|sum| sum(&here))
    .collect();
    sums.sort_by_key(|sum| sum.weight != Weight::Mind);
    sums
}

/// A day as people say it.
fn day(at: DateTime<FixedOffset>) -> String {
    at.format("%a %-d %b").to_string()
}

/// An hour with its day.
fn hour(at: DateTime<FixedOffset>) -> String {
    at.format("%a %-d %b %H:%M").to_string()
}

/// A number with as many places as a reading at the bench has.
fn short(value: f64) -> String {
    crate::reckon::limits::shown((value * 100.0).round() / 100.0)
}
