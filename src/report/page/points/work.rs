//! The first point: who was in, how long with hands on what, and which walks moved from where to
//! where.

use std::collections::{BTreeMap, BTreeSet};

use super::{Day, PageAsk, PageRow, row};
use crate::deed::{Deed, HAND, Work};
use crate::plan::hands_when;
use crate::reckon::counted;
use crate::report::day::book_name;
use crate::report::tell::{operation, step, step_of, work_name, work_of};
use crate::shop::KeptLine;
use crate::standing::Book;

/// Hands on a figure for less are not told, minutes: half of the tenth of an hour that is shown.
const LEAST_MIN: f64 = 3.0;

impl Day<'_> {
    pub(super) fn moved(&self, ask: &PageAsk) -> Vec<PageRow> {
        let mut rows = self.present(ask.by.as_deref());
        rows.extend(self.others(ask.by.as_deref()));
        rows.extend(self.hands(ask));
        rows.extend(self.walks(ask.by.as_deref()));
        rows.extend(self.told(|deed| matches!(deed, Deed::Moved(_))));
        rows
    }

    /// Who was in, as each opening of a day says it.
    fn present(&self, by: Option<&str>) -> Vec<PageRow> {
        let mut rows = Vec::new();
        for one in &self.kept {
            let Deed::DayOpened(deed) = &one.line.deed else {
                continue;
            };
            let present = deed.present.iter().map(String::as_str);
            let names: BTreeSet<&str> =
                present.filter(|it| by.is_none_or(|by| by == *it)).collect();
            if names.is_empty() {
                continue;
            }
            let day = if self.span.is_long() {
                let local = self.span.zone.show(one.line.at.to_utc());
                format!("{} ", local.format("%a"))
            } else {
                String::new()
            };
            rows.push(PageRow {
                text: format!("{day}in: {}", joined(&names)),
                who: names.into_iter().map(str::to_owned).collect(),
                book: None,
                ..row(one, String::new())
            });
        }
        rows
    }

    /// Who wrote lines without being in; a sensor that read the air is nobody at work.
    fn others(&self, by: Option<&str>) -> Option<PageRow> {
        let opened = self.kept.iter().filter_map(|one| match &one.line.deed {
            Deed::DayOpened(deed) => Some(&deed.present),
            _ => None,
        });
        let present: BTreeSet<&String> = opened.flatten().collect();
        let is_at_work = |one: &&&KeptLine| {
            let is_sensor = matches!(&one.line.deed, Deed::Air(air) if air.source != HAND);
            let by = by.is_none_or(|by| by == one.line.by);
            by && !is_sensor && !present.contains(&one.line.by)
        };
        let wrote: Vec<&&KeptLine> = self.kept.iter().filter(is_at_work).collect();
        let names: BTreeSet<&str> = wrote.iter().map(|one| one.line.by.as_str()).collect();
        let last = wrote.last()?;
        Some(PageRow {
            text: format!("wrote lines, not said to be in: {}", joined(&names)),
            who: names.into_iter().map(str::to_owned).collect(),
            book: None,
            line: Some((book_name(&last.book).to_owned(), last.line.n)),
        })
    }

    /// Hours of hands, by person; each row leads to the last act that counts in it.
    fn hands(&self, ask: &PageAsk) -> Vec<PageRow> {
        let mut hands = hands_when(self.house, |at| self.span.holds(at));
        // What rounds to no hour at all is not told.
        hands.retain(|it| LEAST_MIN <= it.minutes);
        hands.retain(|it| {
            ask.figure
                .as_ref()
                .is_none_or(|figure| *figure == it.figure)
        });
        let people = hands.chunk_by(|a, b| a.by == b.by);
        let row = |mine: &[crate::plan::Hands]| {
            let last = mine.iter().max_by(|a, b| a.minutes.total_cmp(&b.minutes))?;
            let hours = |minutes: f64| format!("{:.1} h", minutes / 60.0);
            let sum: f64 = mine.iter().map(|it| it.minutes).sum();
            let each = mine
                .iter()
                .map(|it| format!("{} {}", it.figure, hours(it.minutes)));
            let each: Vec<String> = each.collect();
            Some(PageRow {
                text: format!("hands of {}: {}: {}", last.by, hours(sum), each.join(", ")),
                line: Some((last.figure.clone(), last.line)),
                book: ask.figure.clone(),
                who: vec![last.by.clone()],
            })
        };
        people.filter_map(row).collect()
    }

    /// What was walked on each figure, from where to where; by one person, where one is named.
    fn walks(&self, by: Option<&str>) -> Vec<PageRow> {
        let mut walks: BTreeMap<(&str, &Work), Walk<'_>> = BTreeMap::new();
        let walked = self.kept.iter();
        for one in walked.filter(|one| by.is_none_or(|by| by == one.line.by)) {
            let (Book::Figure(figure), Some(work)) = (&one.book, work_of(&one.line.deed)) else {
                continue;
            };
            let walk = walks.entry((figure.as_str(), work)).or_default();
            walk.last = one.line.n;
            // The cautions of an operation as a whole belong to no step.
            walk.is_read |= matches!(&one.line.deed, Deed::Ticked(it) if it.step.is_empty());
            if let Some(at) = step_of(&one.line.deed).filter(|at| !at.is_empty()) {
                walk.from.get_or_insert(at);
                walk.to = Some(at);
            }
            walk.who.insert(&one.line.by);
            match &one.line.deed {
                Deed::Begun(_) => walk.begun = true,
                Deed::Done(_) => walk.done += 1,
                Deed::Finished(_) => ", finished".clone_into(&mut walk.ending),
                Deed::SentBack(deed) => {
                    walk.ending = {
                        let to = operation(&deed.back_to, self.house.cards);
                        format!(", sent back to {to}")
                    }
                }
                _ => {}
            }
        }
        walks
            .into_iter()
            .map(|((figure, work), walk)| self.walk(figure, work, &walk))
            .collect()
    }

    fn walk(&self, figure: &str, work: &Work, walk: &Walk<'_>) -> PageRow {
        let begun = if walk.begun { "begun" } else { "gone on with" };
        let done = match walk.done {
            0 => String::new(),
            steps => format!(", {} done", counted(steps, "step")),
        };
        let name = work_name(work, self.house.cards);
        let at = |id: &str| {
            let coat = id.split_once('#').filter(|(_, coat)| !coat.contains('-'));
            let coat = coat.map_or_else(String::new, |(_, coat)| format!(", coat {coat}"));
            format!("“{}”{coat}", step(work, id, self.house.cards))
        };
        let from = walk
            .from
            .filter(|from| !walk.begun && walk.to != Some(*from));
        let from = from.map_or_else(String::new, |from| format!(" from {}", at(from)));
        let to = walk.to.filter(|_| walk.ending.is_empty());
        let to = to.map_or_else(String::new, |to| {
            let lead = if from.is_empty() { ", last at" } else { " to" };
            format!("{lead} {}", at(to))
        });
        let is_only_read = walk.is_read && walk.to.is_none() && walk.ending.is_empty();
        let read = if is_only_read {
            ", its cautions read"
        } else {
            ""
        };
        let so_far = format!("{begun}{read}{from}{to}{done}{}", walk.ending);
        PageRow {
            text: format!("{figure}: {name}, {so_far}"),
            line: Some((figure.to_owned(), walk.last)),
            book: Some(figure.to_owned()),
            who: walk.who.iter().map(|by| (*by).to_owned()).collect(),
        }
    }
}

/// What these days did to one walk.
#[derive(Debug, Default)]
struct Walk<'a> {
    begun: bool,
    /// The cautions of the operation as a whole were read.
    is_read: bool,
    done: usize,
    ending: String,
    /// The first step at which something was done, and the last one.
    from: Option<&'a str>,
    to: Option<&'a str>,
    last: u64,
    who: BTreeSet<&'a str>,
}

fn joined(names: &BTreeSet<&str>) -> String {
    names.iter().copied().collect::<Vec<_>>().join(", ")
}
