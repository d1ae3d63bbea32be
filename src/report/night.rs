//! The ruler of the night on paper: words, and bars of plain signs that survive any printer.

use std::fmt::Write as _;

use chrono::{DateTime, FixedOffset};

use super::night_scale::{NightScale, Stretch};
use crate::plan::{Certainty, LaySpan, Leafing, Night};
use crate::reckon::counted;

/// Columns of a bar at most; with its name in front a line stays under 80.
const WIDEST: i64 = 60;

/// Width of the names in front of the bars.
const NAME: usize = 18;

/// Returns the page of a night. `name` is the figure's name.
pub fn night_page(night: &Night, name: &str) -> String {
    let mut page = format!("night ruler: {name}\n");
    words(&mut page, night);
    if let Some(scale) = NightScale::of(night, WIDEST) {
        page.push('\n');
        draw(&mut page, &scale, night);
    }
    if !night.order.is_empty() {
        page.push('\n');
    }
    let how = match night.certainty {
        Some(Certainty::Likely) => ", all of it only likely",
        Some(Certainty::Sure) | None => "",
    };
    for (row, nth) in night.order.iter().zip(1..) {
        line(&mut page, &format!("{nth}. {}{how}", panel(row)));
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
    if let Some(why) = &night.not_now {
        line(page, &format!("NOT NOW: {why}"));
    }
    if let Some(why) = &night.why_empty {
        line(page, &format!("NOTHING IS SURE: {why}"));
    }
    let spans = match night.certainty {
        Some(Certainty::Likely) => &night.likely,
        _ => &night.works,
    };
    if let (Some(best), Some(certainty)) = (night.best, night.certainty) {
        let times: Vec<String> = spans.iter().map(span).collect();
        let (times, best) = (times.join(", "), said(best));
        let words = match certainty {
            Certainty::Sure => format!("lay the size: {times} (sure), best {best}"),
            Certainty::Likely => {
                format!("likely, and the chip decides: size laid {times}, best {best}")
            }
        };
        line(page, &words);
    }
    if let (Some(come), Some(test)) = (night.come_in_at, night.first_test) {
        let (come, test) = (said(come), said(test));
        let words = if night.hand_at_test {
            format!(
                "a hand must be there at {test}, while the doors are shut: first test of the \
                 chip; come in: {come}"
            )
        } else {
            format!("come in: {come}; first test of the chip: {test}")
        };
        line(page, &words);
    }
    let sure = night.certainty == Some(Certainty::Sure);
    if let Some(margin) = night.margin.filter(|_| sure) {
        line(
            page,
            &format!("least margin before dead: {:.0} min", margin.0.floor()),
        );
    }
    if !night.would_open.is_empty() {
        line(page, "what would open a time:");
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
    format!(
        "{}: {}, {} and one spare; size {}, ready {}, leaf {} to {}, dead {}",
        row.piece.name,
        counted(row.piece.leaves, "leaf"),
        counted(row.piece.books, "book"),
        row.sized.from.format("%H:%M"),
        said(row.ready),
        said(row.start),
        row.end.format("%H:%M"),
        said(row.dead)
    )
}

fn draw(page: &mut String, scale: &NightScale, night: &Night) {
    bar(page, "", scale, |column| {
        if scale.is_marked(column) { '|' } else { ' ' }
    });
    hours(page, scale);
    bar(page, "somebody there", scale, |column| {
        sign(scale.presence(night, column))
    });
    bar(page, "lay the size", scale, |column| {
        sign(scale.laying(night, column))
    });
    for row in &night.order {
        bar(page, &row.piece.name, scale, |column| {
            sign(scale.panel(row, column))
        });
    }
    line(
        page,
        "# there  = may be laid  * best  s sizing  . not yet  - ready  L leaf  x dead",
    );
}

fn sign(stretch: Stretch) -> char {
    match stretch {
        Stretch::Before => ' ',
        Stretch::Away | Stretch::Shut | Stretch::Wet => '.',
        Stretch::There => '#',
        Stretch::Works => '=',
        Stretch::Best => '*',
        Stretch::Sizing => 's',
        Stretch::Ready => '-',
        Stretch::Leafing => 'L',
        Stretch::Dead => 'x',
    }
}

fn bar(page: &mut String, name: &str, scale: &NightScale, sign: impl Fn(i64) -> char) {
    let mut text: String = name.chars().take(NAME - 1).collect();
    while text.chars().count() < NAME {
        text.push(' ');
    }
    text.extend((0..scale.columns()).map(sign));
    line(page, text.trim_end());
}

/// The hours under their marks, every third one.
fn hours(page: &mut String, scale: &NightScale) {
    let mut text = " ".repeat(NAME);
    let mut column = 0;
    while column < scale.columns() {
        if scale.is_marked(column) && column + 1 < scale.columns() {
            // Writing to a text cannot fail.
            let _written = write!(text, "{}", scale.at(column).format("%H"));
            column += 2;
        } else {
            text.push(' ');
            column += 1;
        }
    }
    line(page, text.trim_end());
}
