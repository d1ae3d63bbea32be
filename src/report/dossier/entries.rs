//! A walk as dated entries: each step with what was taken down at it, each mix, coat,
//! deviation and signature, in the order in which it was written.

use super::record::{GLOVE, Record};
use super::sheet::{Cell, Table};
use super::voice::late;
use crate::deed::{Deed, Done, Line, Work};
use crate::report::tell::{coat_words, step};

impl<'a> Record<'a> {
    /// Returns a walk as a table of entries.
    pub(super) fn entries(&self, (work, lines): &(&'a Work, Vec<&'a Line>)) -> Table {
        let mut rows: Vec<(u64, Vec<Cell>)> = Vec::new();
        let mut taken: Vec<&Line> = Vec::new();
        for line in lines {
            let row = match &line.deed {
                Deed::Recorded(deed) if deed.record == GLOVE => continue,
                // What is asked before the first step belongs to no step.
                Deed::Recorded(deed) if deed.step.is_empty() => {
                    let asked = self.asked_words(deed);
                    self.entry(
                        line,
                        &format!("{asked}: {}", self.value(deed, line.at)),
                        &[],
                    )
                }
                Deed::Recorded(_) | Deed::Tested(_) => {
                    taken.push(line);
                    continue;
                }
                Deed::Reread(deed) => {
                    let here = taken_at(&mut taken, &deed.step);
                    if let Some(last) = here.last() {
                        let act = step(work, &deed.step, self.cards());
                        let act = format!("{act}, read again later");
                        rows.push((last.n, self.entry(last, &act, &here)));
                    }
                    self.entry(line, &self.voice.deed(line), &[])
                }
                Deed::Done(deed) => {
                    let here = taken_at(&mut taken, &deed.step);
                    self.entry(line, &self.act(work, deed), &here)
                }
                Deed::Ticked(_)
                | Deed::Planned(_)
                | Deed::Poured(_)
                | Deed::GateSaid(_)
                | Deed::Begun(_) => continue,
                Deed::Finished(_) => self.entry(line, "finished", &[]),
                _ => self.entry(line, &self.voice.deed(line), &[]),
            };
            rows.push((line.n, row));
        }
        while let Some(first) = taken.first().and_then(|line| step_of(&line.deed)).cloned() {
            let here = taken_at(&mut taken, &first);
            if let Some(last) = here.last() {
                let act = step(work, &first, self.cards());
                let act = format!("{act}, not yet done");
                rows.push((last.n, self.entry(last, &act, &here)));
            }
        }
        rows.sort_by_key(|(n, _)| *n);
        Table {
            caption: self.heading(work),
            heads: vec!["when", "who", "what", "line"],
            rows: rows.into_iter().map(|(_, row)| row).collect(),
        }
    }

    fn act(&self, work: &Work, deed: &Done) -> String {
        let act = step(work, &deed.step, self.cards());
        let Some(coat) = &deed.coat else {
            return act;
        };
        let lot = coat.lot.as_ref();
        let lot = lot.map_or_else(String::new, |lot| format!(", lot {lot}"));
        format!("{act}: {}{lot}", coat_words(coat, self.cards()))
    }

    fn entry(&self, line: &Line, act: &str, taken: &[&'a Line]) -> Vec<Cell> {
        let found = self.found(taken);
        let said = found.into_iter().map(|found| {
            // A reading of an earlier day keeps its own.
            let day = if self.day(found.at) == self.day(line.at) {
                String::new()
            } else {
                format!(" (read {})", self.when(found.at))
            };
            format!("{}: {}{day}", found.asked, found.said)
        });
        let mut said: Vec<String> = said.collect();
        said.extend(taken.iter().filter_map(|one| match &one.deed {
            Deed::Tested(_) => Some(self.voice.deed(one)),
            _ => None,
        }));
        let mut who = vec![self.voice.who(&line.by)];
        for one in taken {
            let other = self.voice.who(&one.by);
            if !who.contains(&other) {
                who.push(other);
            }
        }
        let act = format!("{act}{}", late(line));
        let what = if said.is_empty() {
            act
        } else {
            format!("{act}. {}", said.join("; "))
        };
        vec![
            Cell::of(self.when(line.at)),
            Cell::of(who.join(", ")),
            Cell::of(what),
            Cell::of(line.n.to_string()),
        ]
    }
}

/// Takes out what was taken down at one step.
fn taken_at<'a>(taken: &mut Vec<&'a Line>, step: &str) -> Vec<&'a Line> {
    let (here, rest) = std::mem::take(taken)
        .into_iter()
        .partition(|line| step_of(&line.deed).is_some_and(|at| at == step));
    *taken = rest;
    here
}

fn step_of(deed: &Deed) -> Option<&String> {
    match deed {
        Deed::Recorded(deed) => Some(&deed.step),
        Deed::Tested(deed) => Some(&deed.step),
        _ => None,
    }
}
