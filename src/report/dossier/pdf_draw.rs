//! Drawings on paper: strokes become the lines of a PDF page (ISO 32000-1, 8.5).

use std::fmt::Write as _;

use super::draw::SIGN;
use super::font::{Face, winansi};
use super::pdf_paper::{Written, filled, letters, stroked, up};
use super::sheet::{Dash, Drawing, Hold, Ink, LETTER, Shape, Stroke};

/// Returns a drawing whose upper left corner lies at `corner`, right and down from that of the
/// paper.
pub(super) fn strokes(drawing: &Drawing, corner: [f64; 2]) -> String {
    let mut page = String::from("q\n");
    for stroke in &drawing.strokes {
        page.push_str(&one(stroke, corner));
    }
    page.push_str("Q\n");
    page
}

fn dashes(dash: Dash) -> &'static str {
    match dash {
        Dash::Whole => "[] 0 d",
        Dash::Broken => "[4 2] 0 d",
        Dash::Dotted => "[1 2] 0 d",
    }
}

fn one(stroke: &Stroke, [left, top]: [f64; 2]) -> String {
    match stroke {
        Stroke::Line {
            from: [x1, y1],
            to: [x2, y2],
            ink,
            dash,
        } => {
            format!(
                "{} {} 0.8 w {:.2} {:.2} m {:.2} {:.2} l S [] 0 d\n",
                stroked(*ink),
                dashes(*dash),
                left + x1,
                up(top + y1),
                left + x2,
                up(top + y2)
            )
        }
        Stroke::Box {
            at: [x, y],
            size: [wide, high],
            fill,
        } => {
            let (inside, act) = match fill {
                Some(ink) => (filled(*ink), "B"),
                None => (String::new(), "S"),
            };
            format!(
                "{inside} {} 0.6 w {:.2} {:.2} {wide:.2} {high:.2} re {act}\n",
                stroked(Ink::Black),
                left + x,
                up(top + y + high)
            )
        }
        Stroke::Outline {
            corners,
            closed,
            dash,
        } => {
            // Closed, it is filled with the white of the paper and covers what lies below it.
            let act = if *closed { "b" } else { "S" };
            format!(
                "{} {} {} 0.8 w {}{act} [] 0 d\n",
                filled(Ink::Measured([0xff; 3])),
                stroked(Ink::Black),
                dashes(*dash),
                way(corners, [left, top])
            )
        }
        Stroke::Sign {
            at: [x, y],
            shape,
            ink,
        } => sign([left + x, up(top + y)], *shape, *ink),
        Stroke::Word {
            at: [x, y],
            text,
            hold,
        } => {
            let text = crate::report::harmless(text);
            let wide = Face::Plain.wide(&winansi(&text), LETTER);
            let begin = match hold {
                Hold::Left => 0.0,
                Hold::Middle => wide / 2.0,
                Hold::Right => wide,
            };
            let line = Written::at(left + x - begin, &text);
            letters(&line, (Face::Plain, LETTER), (top + y, Ink::Black))
        }
    }
}

/// The way from corner to corner.
fn way(corners: &[[f64; 2]], [left, top]: [f64; 2]) -> String {
    let mut way = String::new();
    for ([x, y], number) in corners.iter().zip(0_usize..) {
        let act = if number == 0 { "m" } else { "l" };
        // Writing to a text cannot fail.
        let _cannot_fail = write!(way, "{:.2} {:.2} {act} ", left + x, up(top + y));
    }
    way
}

fn sign([x, y]: [f64; 2], shape: Shape, ink: Ink) -> String {
    let (left, foot, side) = (x - SIGN, y - SIGN, 2.0 * SIGN);
    match shape {
        Shape::Square => format!(
            "{} {left:.2} {foot:.2} {side:.2} {side:.2} re f\n",
            filled(ink)
        ),
        Shape::Cross => format!(
            "{} 1.2 w {left:.2} {foot:.2} m {:.2} {:.2} l {left:.2} {:.2} m {:.2} {foot:.2} l S\n",
            stroked(ink),
            x + SIGN,
            y + SIGN,
            y + SIGN,
            x + SIGN
        ),
        Shape::Round => round([x, y], ink),
    }
}

/// How far the handles of four curves stand out, so that they make a circle: 4/3·(√2 − 1).
const HANDLE: f64 = 0.552_284_749_8;

fn round([x, y]: [f64; 2], ink: Ink) -> String {
    let (r, h) = (SIGN, SIGN * HANDLE);
    let mut page = format!("{} {:.2} {y:.2} m ", filled(ink), x + r);
    let turns = [
        [x + r, y + h, x + h, y + r, x, y + r],
        [x - h, y + r, x - r, y + h, x - r, y],
        [x - r, y - h, x - h, y - r, x, y - r],
        [x + h, y - r, x + r, y - h, x + r, y],
    ];
    for [x1, y1, x2, y2, x3, y3] in turns {
        // Writing to a text cannot fail.
        let _cannot_fail = write!(page, "{x1:.2} {y1:.2} {x2:.2} {y2:.2} {x3:.2} {y3:.2} c ");
    }
    page.push_str("f\n");
    page
}
