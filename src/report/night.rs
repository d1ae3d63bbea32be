//! The ruler of the night on paper: words, and bars of plain signs that survive any printer.

use std::fmt::Write as _;

use chrono::{DateTime, FixedOffset, Timelike};

use crate::plan::{Certainty, LaySpan, Leafing, Night};

/// Columns of a bar at most; with its name in front a line stays under 80.
const WIDEST: i64 = 60;

/// Minutes that a column may stand for, finest first.
const SCALES: [i64; 4] = [15, 20, 30, 60];

/// Width of the names in front of the bars.
const NAME: usize = 18;

/// The scale under the bars.
struct Bars {
    from: DateTime<FixedOffset>,
    column_min: i64,
    columns: i64,
}

/// Returns the page of a night. `name` is the figure's name.
pub fn night_page(night: &Night, name: &str) -> String {
    let mut page = format!("night ruler: {name}\n");
    words(&mut page, night);
    if let Some(bars) = Bars::of(night) {
        page.push('\n');
        bars.draw(&mut page, night);
    }
    if !night.order.is_empty() {
        page.push('\n');
    }
    for (row, nth) in night.order.iter().zip(1..) {
        line(&mut page, &format!("{nth}. {}", panel(row)));
    }
    for (panel, why) in &night.left_out {
        line(&mut page, &format!("not planned: {panel}, {why}"));
    }
    for note in &night.notes {
        line(&mut page, &format!("note: {note}"));
    }
    page
}

fn line(page: &mut String, text: &str) {
    page.push_str(text);
    page.push('\n');
}

/// A moment as it is said: the day only where it matters.
fn said(at: DateTime<FixedOffset>) -> String {
    at.format("%a %H:%M").to_string()
}

fn words(page: &mut String, night: &Night) {
    if let Some(size) = &night.size {
        line(page, &format!("size: {}, lot {}", size.name, size.lot));
    }
    if let Some(why) = &night.why_empty {
        line(page, &format!("NOTHING IS SURE: {why}"));
    }
    let spans = match night.certainty {
        Some(Certainty::Likely) => &night.likely,
        _ => &night.works,
    };
    if let (Some(best), Some(certainty)) = (night.best, night.certainty) {
        let sure = match certainty {
            Certainty::Sure => "sure",
            Certainty::Likely => "likely, the chip decides",
        };
        let times: Vec<String> = spans.iter().map(span).collect();
        line(
            page,
            &format!(
                "lay the size: {} ({sure}), best {}",
                times.join(", "),
                said(best)
            ),
        );
    }
    if let (Some(come), Some(test)) = (night.come_in_at, night.first_test) {
        line(
            page,
            &format!(
                "come in: {}; first test of the chip: {}",
                said(come),
                said(test)
            ),
        );
    }
    if let Some(margin) = night.margin {
        line(
            page,
            &format!("least margin before dead: {:.0} min", margin.0.floor()),
        );
    }
    if !night.would_open.is_empty() {
        line(page, "what would make a time sure:");
        for way in &night.would_open {
            line(page, &format!("  - {way}"));
        }
    }
    if !night.because.is_empty() {
        line(page, &format!("because: {}", night.because));
    }
}

fn span(span: &LaySpan) -> String {
    format!("{} to {}", said(span.from), span.to.format("%H:%M"))
}

fn panel(row: &Leafing) -> String {
    let books = if row.piece.books == 1 {
        "book"
    } else {
        "books"
    };
    format!(
        "{}: {} leaves, {} {books} and one spare; size {}, ready {}, leaf {} to {}, dead {}",
        row.piece.name,
        row.piece.leaves,
        row.piece.books,
        row.sized.from.format("%H:%M"),
        said(row.ready),
        said(row.start),
        row.end.format("%H:%M"),
        said(row.dead)
    )
}

impl Bars {
    fn of(night: &Night) -> Option<Self> {
        let from = night.present.first()?.from;
        let from = from - chrono::TimeDelta::minutes(i64::from(from.minute()));
        let last = night.order.iter().map(|row| row.dead.max(row.end)).max()?;
        let minutes = (last - from).num_minutes() + 60;
        let fits = |column: &&i64| minutes <= **column * WIDEST;
        let column_min = SCALES.iter().find(fits).copied().unwrap_or(60);
        Some(Self {
            from,
            column_min,
            columns: (minutes / column_min + 1).min(WIDEST),
        })
    }

    fn draw(&self, page: &mut String, night: &Night) {
        self.bar(page, "", |at| {
            if at.minute() == 0 && at.hour().is_multiple_of(3) {
                '|'
            } else {
                ' '
            }
        });
        self.hours(page);
        let there = |at| {
            night
                .present
                .iter()
                .any(|span| span.from <= at && at < span.to)
        };
        self.bar(
            page,
            "somebody there",
            |at| if there(at) { '#' } else { '.' },
        );
        let spans = if night.works.is_empty() {
            &night.likely
        } else {
            &night.works
        };
        let step = chrono::TimeDelta::minutes(self.column_min);
        self.bar(page, "lay the size", |at| {
            let is_best = night
                .best
                .is_some_and(|best| at <= best && best < at + step);
            let inside = spans
                .iter()
                .any(|span| span.from < at + step && at <= span.to);
            match (is_best, inside) {
                (true, _) => '*',
                (false, true) => '=',
                (false, false) => '.',
            }
        });
        for row in &night.order {
            self.bar(page, &row.piece.name, |at| state(row, at, at + step));
        }
        line(
            page,
            "# there  = may be laid  * best  s sizing  . not yet  - ready  L leaf  x dead",
        );
    }

    fn bar(&self, page: &mut String, name: &str, sign: impl Fn(DateTime<FixedOffset>) -> char) {
        let mut text: String = name.chars().take(NAME - 1).collect();
        while text.chars().count() < NAME {
            text.push(' ');
        }
        text.extend(
            (0..self.columns).map(|column| {
                sign(self.from + chrono::TimeDelta::minutes(column * self.column_min))
            }),
        );
        line(page, text.trim_end());
    }

    /// The hours under their marks, every third one.
    fn hours(&self, page: &mut String) {
        let mut text = " ".repeat(NAME);
        let mut column = 0;
        while column < self.columns {
            let at = self.from + chrono::TimeDelta::minutes(column * self.column_min);
            if at.minute() == 0 && at.hour().is_multiple_of(3) && column + 1 < self.columns {
                // Writing to a text cannot fail.
                let _written = write!(text, "{:02}", at.hour());
                column += 2;
            } else {
                text.push(' ');
                column += 1;
            }
        }
        line(page, text.trim_end());
    }
}

/// What a column of a panel shows. Where it holds two states, the one that warns wins.
fn state(row: &Leafing, from: DateTime<FixedOffset>, to: DateTime<FixedOffset>) -> char {
    if row.dead < to {
        'x'
    } else if row.start < to && from < row.end {
        'L'
    } else if row.sized.from < to && from < row.sized.to {
        's'
    } else if row.ready <= from {
        '-'
    } else if row.sized.to <= from {
        '.'
    } else {
        ' '
    }
}
