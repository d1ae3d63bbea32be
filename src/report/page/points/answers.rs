//! What the supervisor signed, answered and refused on these days: of the second point, below what
//! still waits.

use std::collections::BTreeSet;

use super::{Day, PageRow, row};
use crate::deed::{Answered, Deed};
use crate::report::day::book_name;
use crate::report::tell::work_name;
use crate::shop::KeptLine;
use crate::standing::{Book, Matter, OpenMatter};

impl Day<'_> {
    /// Every answer with who gave it, to what and why, and the line it stands in. `waiting` are the
    /// rows above: a refusal that stands among them, by its line, is not said twice.
    pub(super) fn answers(&self, waiting: &[PageRow]) -> Vec<PageRow> {
        let waiting: BTreeSet<&(String, u64)> =
            waiting.iter().filter_map(|row| row.line.as_ref()).collect();
        let rows = self.kept.iter().filter_map(|one| {
            let book = book_name(&one.book);
            let said = match &one.line.deed {
                Deed::Signed(deed) => {
                    let name = work_name(&deed.work, self.house.cards);
                    let (said, why) = (&deed.said, with_why(&deed.why));
                    let word = if deed.accepted { "signed" } else { "refused" };
                    format!("{word}: {name}: {said}{why}")
                }
                Deed::Answered(deed) => self.answer(one, deed),
                Deed::ShownAgain(deed) => {
                    let name = work_name(&deed.work, self.house.cards);
                    format!("put right: {name}: {}", deed.said)
                }
                Deed::PutRight(deed) => {
                    let matter = self.matter_of(&one.book, deed.line)?;
                    // While it waits it stands above, with what was put right.
                    matter.is_accepted().then_some(())?;
                    format!("put right: {}: {}", matter.what, deed.said)
                }
                _ => return None,
            };
            let hour = self.hour(one.line.at);
            Some(row(one, format!("{hour} {book}: {said} ({})", one.line.by)))
        });
        rows.filter(|row| row.line.as_ref().is_none_or(|line| !waiting.contains(line)))
            .collect()
    }

    /// What waits, or waited, for an answer in a line.
    fn matter_of(&self, book: &Book, line: u64) -> Option<&OpenMatter> {
        let Book::Figure(figure) = book else {
            return None;
        };
        let mut matters = self.house.figure(figure)?.matters.iter();
        matters.find(|open| open.stamp.n == line)
    }

    /// An answer beside what it answers.
    fn answer(&self, one: &KeptLine, deed: &Answered) -> String {
        let matter = self.matter_of(&one.book, deed.line);
        let word = match (matter.map(|open| open.matter), deed.accepted) {
            (Some(Matter::Question), true) => "answered",
            (_, true) => "accepted",
            (_, false) => "refused",
        };
        let what = matter.map_or_else(
            || format!("line {}", deed.line),
            |open| format!("{} ({})", open.what, open.stamp.by),
        );
        format!("{word}: {what}{}", with_why(&deed.why))
    }
}

fn with_why(why: &str) -> String {
    if why.is_empty() {
        String::new()
    } else {
        format!(": {why}")
    }
}
