//! The journal of one figure sorted for a report: which lines count, which walk they belong to,
//! what was asked and found.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};

use super::sheet::{Cell, Fact, Shot, Table};
use super::voice::{Voice, late};
use crate::card::{Cards, Figure, Measure, PeopleShown, Record as Asked};
use crate::deed::{Deed, Line, Recorded, Value, Work};
use crate::journal::Damage;
use crate::now::Zone;
use crate::report::Shown;
use crate::report::shelf::taken_on_a_yes;
use crate::report::tell::{work_name, work_of};
use crate::standing::{FigureStanding, House, WITHIN_CALL};

/// What a report of a figure is made of.
#[derive(Debug, Clone, Copy)]
pub struct ReportAsk<'a> {
    /// Cards and standing of the shop.
    pub house: House<'a>,
    /// The card of the figure.
    pub figure: &'a Figure,
    /// All lines of its journal.
    pub lines: &'a [Line],
    /// The seal of the last line; `None` for an empty journal.
    pub seal: Option<&'a str>,
    /// Flaws of the journal file, as the audit counts them.
    pub flaws: usize,
    /// What of the journal is not there or cannot be read, if anything.
    pub damage: Option<&'a Damage>,
    /// The photographs that lines speak of, by the number of the line.
    pub pictures: &'a BTreeMap<u64, Shot>,
    /// How people are named.
    pub names: PeopleShown,
    /// Short name of who puts the report together, if somebody is named.
    pub by: Option<&'a str>,
    /// The moment of the report.
    pub now: DateTime<FixedOffset>,
    /// The zone of the shop.
    pub zone: Zone,
}

/// A figure's journal, sorted.
#[derive(Debug)]
pub(super) struct Record<'a> {
    pub(super) ask: ReportAsk<'a>,
    pub(super) voice: Voice<'a>,
    struck: BTreeSet<u64>,
}

/// What part of the journey an operation belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stretch {
    /// Arrival and the pictures before.
    Before,
    /// Tests and the study of the layers.
    Evidence,
    /// The scheme.
    Decision,
    /// The work.
    Treatment,
    /// Inspection and hand-over.
    After,
}

/// What is said of the path of a zone before there is an approved scheme.
pub(super) const NOT_DECIDED: &str = "not decided yet; no scheme is approved";

/// What is said of a departure that no answer is asked for.
const NONE_ASKED: &str = "none is asked for";

/// The record of a gate's gloves; worn by people, so no part of a figure's record.
pub(super) const GLOVE: &str = "glove";

impl<'a> Record<'a> {
    pub(super) fn new(ask: ReportAsk<'a>) -> Self {
        let struck = ask.lines.iter().filter_map(|line| match &line.deed {
            Deed::Struck(deed) => Some(deed.line),
            _ => None,
        });
        Self {
            struck: struck.collect(),
            voice: Voice::new(ask.house.cards, Some(ask.figure), ask.names),
            ask,
        }
    }

    pub(super) fn cards(&self) -> &Cards {
        self.voice.cards()
    }

    /// Returns the lines that count, in their order.
    pub(super) fn lines(&self) -> impl DoubleEndedIterator<Item = &'a Line> {
        let counts = |line: &&Line| !self.struck.contains(&line.n);
        self.ask.lines.iter().filter(counts)
    }

    /// Returns the lines that were struck.
    pub(super) fn struck(&self) -> impl Iterator<Item = &'a Line> {
        let out = |line: &&Line| self.struck.contains(&line.n);
        self.ask.lines.iter().filter(out)
    }

    /// Returns a moment in the shop's zone, `2026-11-03 09:12`.
    pub(super) fn when(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.ask.zone.show(at.to_utc());
        local.format("%Y-%m-%d %H:%M").to_string()
    }

    /// Returns a day in the shop's zone, `3 November 2026`.
    pub(super) fn day(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.ask.zone.show(at.to_utc());
        local.format("%-d %B %Y").to_string()
    }

    /// Returns a day in the shop's zone as tables hold it, `2026-11-03`.
    pub(super) fn date(&self, at: DateTime<FixedOffset>) -> String {
        let local = self.ask.zone.show(at.to_utc());
        local.format("%Y-%m-%d").to_string()
    }

    /// Returns a zone, joint or panel by its name on the card.
    pub(super) fn place(&self, target: &str) -> String {
        let card = self.ask.figure;
        let zone = card.zones.iter().find(|zone| zone.id == target);
        let panel = card.panels.iter().find(|panel| panel.id == target);
        let joint = card.joints.iter().find(|joint| joint.id == target);
        zone.map(|zone| zone.name.clone())
            .or_else(|| panel.map(|panel| format!("{} (leaf)", panel.name)))
            .or_else(|| joint.map(|joint| format!("joint {}, {}", joint.id, joint.between)))
            .unwrap_or_else(|| target.to_owned())
    }

    /// Returns what part of the journey an operation belongs to, by its place in it; work
    /// whose checklist is gone counts as treatment.
    pub(super) fn stretch(&self, operation: &str) -> Stretch {
        let list = self.cards().checklists.get(operation);
        match list.map_or(0, |list| list.order) {
            1 | 2 => Stretch::Before,
            3 | 4 => Stretch::Evidence,
            5 => Stretch::Decision,
            23 | 24 => Stretch::After,
            _ => Stretch::Treatment,
        }
    }

    /// Returns whether a scheme was approved: before that the paths of the card are no decision.
    pub(super) fn is_decided(&self) -> bool {
        self.ask.house.is_decided(&self.ask.figure.id)
    }

    /// Returns the walks of a stretch in the order of their first acts, each with its lines. One
    /// that was only opened stands where it was opened.
    pub(super) fn walks(&self, stretch: Stretch) -> Vec<(&'a Work, Vec<&'a Line>)> {
        let mut walks: Vec<(&Work, Vec<&Line>)> = Vec::new();
        for line in self.lines() {
            let Some(work) = work_of(&line.deed) else {
                continue;
            };
            if self.stretch(&work.operation) != stretch {
                continue;
            }
            match walks.iter_mut().find(|(known, _)| *known == work) {
                Some((_, lines)) => lines.push(line),
                None => walks.push((work, vec![line])),
            }
        }
        walks.sort_by_key(|(_, lines)| acts(lines).first().map(|line| (line.at, line.n)));
        walks
    }

    /// Returns the last thing recorded under an id in an operation, with its day and who.
    pub(super) fn last(&self, operation: &str, record: &str) -> Option<String> {
        let (value, line) = self.last_said(operation, record)?;
        let who = self.voice.who(&line.by);
        Some(format!("{value} ({}, {who})", self.day(line.at)))
    }

    /// Returns the last thing recorded under an id in an operation, and its line.
    pub(super) fn last_said(&self, operation: &str, record: &str) -> Option<(String, &'a Line)> {
        self.lines().rev().find_map(|line| match &line.deed {
            Deed::Recorded(deed) if deed.work.operation == operation && deed.record == record => {
                Some((self.value(deed, line.at), line))
            }
            _ => None,
        })
    }

    /// Returns the last thing recorded under an id at each place; one place must not hide another.
    pub(super) fn each(&self, operation: &str, record: &str) -> Option<String> {
        let mut places: Vec<(String, String)> = Vec::new();
        for line in self.lines() {
            let Deed::Recorded(deed) = &line.deed else {
                continue;
            };
            if deed.work.operation != operation || deed.record != record {
                continue;
            }
            let place = deed.work.target.as_deref();
            let place = place.map_or_else(|| "whole figure".to_owned(), |at| self.place(at));
            let said = format!("{} ({})", self.value(deed, line.at), self.day(line.at));
            match places.iter_mut().find(|(known, _)| *known == place) {
                Some((_, last)) => *last = said,
                None => places.push((place, said)),
            }
        }
        let all: Vec<String> = places
            .into_iter()
            .map(|(place, said)| format!("{place}: {said}"))
            .collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// Returns when and by whom a step was last done or signed.
    pub(super) fn stepped(&self, operation: &str, wanted: &str) -> Option<String> {
        self.lines().rev().find_map(|line| {
            let is_it = match &line.deed {
                Deed::Done(deed) => deed.work.operation == operation && deed.step == wanted,
                Deed::Signed(deed) => {
                    deed.accepted && deed.work.operation == operation && deed.step == wanted
                }
                _ => false,
            };
            let who = match &line.deed {
                Deed::Signed(_) => self.voice.signer(&line.by),
                _ => self.voice.who(&line.by),
            };
            is_it.then(|| format!("{}, {who}", self.day(line.at)))
        })
    }

    /// Returns what a checklist asks under a record, where it still stands there.
    pub(super) fn asked(&self, deed: &Recorded) -> Option<&Asked> {
        asked(self.cards(), &deed.work, &deed.record)
    }

    /// Returns in words what was asked under a record; where no checklist asks it any longer,
    /// the name under which it was kept.
    pub(super) fn asked_words(&self, deed: &Recorded) -> String {
        match self.asked(deed) {
            _ if deed.record == WITHIN_CALL => "within call".to_owned(),
            Some(asked) => asked.ask.clone(),
            None => deed.record.replace('-', " "),
        }
    }

    /// Returns a value that was recorded at a moment with its unit, in the units of the shop.
    pub(super) fn value(&self, deed: &Recorded, at: DateTime<FixedOffset>) -> String {
        let value = match &deed.value {
            Value::Number(number) => {
                let shown = Shown(self.cards().shop.units);
                match deed.measure.map(Measure::unit).unwrap_or_default() {
                    // Scales, not units: their name stands before the number.
                    scale @ ("pH" | "grade") => format!("{scale} {}", shown.of_unit(*number, "")),
                    unit => shown.of_unit(*number, unit),
                }
            }
            Value::Text(text) => self.voice.words(text),
        };
        match (&deed.value, deed.asked_again) {
            (_, false) => value,
            (Value::Text(lot), true) => {
                format!("{value} ({})", taken_on_a_yes(lot, at, self.cards()))
            }
            (Value::Number(_), true) => format!("{value} (outside the usual, confirmed)"),
        }
    }

    /// Returns when the treatment began: with its first act.
    pub(super) fn treated_from(&self) -> Option<DateTime<FixedOffset>> {
        let is_treatment = |line: &&Line| {
            let work = work_of(&line.deed).filter(|_| is_act(&line.deed));
            work.is_some_and(|work| self.stretch(&work.operation) == Stretch::Treatment)
        };
        self.lines().find(is_treatment).map(|line| line.at)
    }

    /// Returns whether a line was written before the treatment began.
    pub(super) fn is_before(&self, line: &Line) -> bool {
        self.treated_from().is_none_or(|began| line.at < began)
    }

    /// Returns what was asked and found in one stretch, as a table.
    pub(super) fn findings(&self, stretch: Stretch, caption: &str) -> Table {
        self.findings_of(stretch, caption, |_| true)
    }

    /// As [`Record::findings`], of the lines that are wanted only.
    pub(super) fn findings_of(
        &self,
        stretch: Stretch,
        caption: &str,
        wanted: impl Fn(&Line) -> bool,
    ) -> Table {
        let mut rows: Vec<Vec<Cell>> = Vec::new();
        for (work, mut lines) in self.walks(stretch) {
            lines.retain(|line| wanted(line));
            let place = work.target.as_deref();
            let place = place.map_or_else(|| "whole figure".to_owned(), |at| self.place(at));
            for found in self.found(&lines) {
                rows.push(vec![
                    Cell::of(self.when(found.at)),
                    Cell::of(found.who),
                    Cell::of(place.clone()),
                    Cell::of(found.asked),
                    Cell::of(found.said),
                ]);
            }
        }
        Table {
            caption: caption.to_owned(),
            heads: vec!["when", "who", "where", "asked", "found"],
            rows,
        }
    }

    /// Returns records of a walk, those of one step and one question together.
    pub(super) fn found(&self, lines: &[&'a Line]) -> Vec<Found> {
        let mut all: Vec<Found> = Vec::new();
        for line in lines {
            let Deed::Recorded(deed) = &line.deed else {
                continue;
            };
            if deed.record == GLOVE {
                continue;
            }
            let asked = self.asked_words(deed);
            let station = deed.station.as_ref();
            let value = self.value(deed, line.at) + &late(line);
            let said = station.map_or_else(|| value.clone(), |at| format!("{at}: {value}"));
            let who = self.voice.who(&line.by);
            let same = |found: &&mut Found| {
                found.key == (deed.step.clone(), deed.record.clone())
                    && found.who == who
                    && self.day(found.at) == self.day(line.at)
                    && station.is_some()
            };
            if let Some(found) = all.last_mut().filter(same) {
                found.said = format!("{}, {said}", found.said);
                found.at = line.at;
                continue;
            }
            all.push(Found {
                key: (deed.step.clone(), deed.record.clone()),
                at: line.at,
                who,
                asked,
                said,
            });
        }
        all
    }

    /// Returns operation, place and round of a walk.
    pub(super) fn heading(&self, work: &Work) -> String {
        let named = Work {
            target: work.target.as_deref().map(|target| self.place(target)),
            ..work.clone()
        };
        work_name(&named, self.cards())
    }

    /// Returns lines of a kind as a table of sentences.
    pub(super) fn told(&self, caption: &str, wanted: impl Fn(&Deed) -> bool) -> Table {
        self.told_of(caption, |line| wanted(&line.deed))
    }

    /// As [`Record::told`], of lines that are wanted by more than their deed.
    pub(super) fn told_of(&self, caption: &str, wanted: impl Fn(&Line) -> bool) -> Table {
        let lines = self.lines().filter(|line| wanted(line));
        let rows = lines.map(|line| {
            vec![
                Cell::of(self.when(line.at)),
                Cell::of(match &line.deed {
                    Deed::Signed(_) => self.voice.signer(&line.by),
                    _ => self.voice.who(&line.by),
                }),
                Cell::of(self.sentence(line)),
                Cell::of(line.n.to_string()),
            ]
        });
        Table {
            caption: caption.to_owned(),
            heads: vec!["when", "who", "what", "line"],
            rows: rows.collect(),
        }
    }

    /// As [`Record::told`], with the answer that each line got. What waits for none says so: only
    /// an answer that is lacking is not recorded.
    pub(super) fn answered(&self, caption: &str, wanted: impl Fn(&Deed) -> bool) -> Table {
        let mut table = self.told(caption, &wanted);
        table.heads.insert(3, "answer");
        let standing = self.ask.house.figure(&self.ask.figure.id);
        let waits = |n: u64| {
            let mut open = standing.into_iter().flat_map(FigureStanding::unanswered);
            open.any(|matter| matter.stamp.n == n)
        };
        let lines = self.lines().filter(|line| wanted(&line.deed));
        for (row, line) in table.rows.iter_mut().zip(lines) {
            let mut answer = self.answer(line.n);
            if answer.is_empty() && !waits(line.n) {
                NONE_ASKED.clone_into(&mut answer);
            }
            row.insert(3, Cell::of(answer));
        }
        table
    }

    /// Returns a line as a sentence with its place by its name on the card.
    pub(super) fn sentence(&self, line: &Line) -> String {
        let target = work_of(&line.deed).and_then(|work| work.target.as_deref());
        let place = target.map_or_else(String::new, |at| format!(" ({})", self.place(at)));
        format!("{}{place}{}", self.voice.deed(line), late(line))
    }

    fn answer(&self, to: u64) -> String {
        let answers = self.lines().filter_map(|line| match &line.deed {
            Deed::Answered(deed) if deed.line == to => {
                let word = if deed.accepted {
                    "accepted"
                } else {
                    "not accepted"
                };
                let who = self.voice.who(&line.by);
                let why = self.voice.words(&deed.why);
                Some(format!("{word}, {who}, {}: {why}", self.when(line.at)))
            }
            Deed::PutRight(deed) if deed.line == to => {
                let (who, said) = (self.voice.who(&line.by), self.voice.words(&deed.said));
                Some(format!("put right, {who}, {}: {said}", self.when(line.at)))
            }
            _ => None,
        });
        answers.collect::<Vec<_>>().join("; ")
    }

    /// Returns a fact of the last thing recorded under an id.
    pub(super) fn fact(&self, name: &str, (operation, record): (&str, &str)) -> Fact {
        Fact::new(name, self.last(operation, record))
    }
}

/// Whether a deed is an act, and neither the opening of a walk nor a reading of its cautions.
pub(super) fn is_act(deed: &Deed) -> bool {
    !matches!(
        deed,
        Deed::Begun(_) | Deed::Resumed(_) | Deed::Ticked(_) | Deed::GateSaid(_)
    )
}

/// Returns the acts of a walk; of one that was only opened all its lines.
pub(super) fn acts<'a>(lines: &[&'a Line]) -> Vec<&'a Line> {
    let acts = lines.iter().copied().filter(|line| is_act(&line.deed));
    let acts: Vec<&Line> = acts.collect();
    if acts.is_empty() {
        lines.to_vec()
    } else {
        acts
    }
}

/// Something asked and found.
pub(super) struct Found {
    /// Step and record.
    key: (String, String),
    /// When it was taken down, of several readings the last.
    pub(super) at: DateTime<FixedOffset>,
    who: String,
    /// What was asked.
    pub(super) asked: String,
    /// What was found.
    pub(super) said: String,
}

/// Returns what a checklist asks under a record, also between its coats.
pub(super) fn asked<'c>(cards: &'c Cards, work: &Work, record: &str) -> Option<&'c Asked> {
    let list = cards.checklists.get(&work.operation)?;
    let mut records = list.all_steps().flat_map(|step| &step.record);
    records.find(|asked| asked.id == record)
}
