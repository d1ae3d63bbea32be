//! Drawings on the web: strokes become an inline SVG (Scalable Vector Graphics 2, W3C).

use std::fmt::Write;

use super::sheet::{Dash, Drawing, Hold, Ink, LETTER, Shape, Stroke};

/// Half the size of a sign, points.
pub(super) const SIGN: f64 = 2.2;

/// Returns a drawing as an inline SVG whose words went through `safe`. It has a role and a
/// name, so that it is told to who cannot see it.
pub(super) fn svg(drawing: &Drawing, safe: &dyn Fn(&str) -> String) -> String {
    let [wide, high] = drawing.size;
    let name = safe(&format!("{}. {}", drawing.title, drawing.says));
    let mut text = format!(
        "<svg role=\"img\" aria-label=\"{name}\" viewBox=\"0 0 {wide:.1} {high:.1}\" \
         width=\"{wide:.0}\" height=\"{high:.0}\" xmlns=\"http://www.w3.org/2000/svg\" \
         font-family=\"sans-serif\" font-size=\"{LETTER}\">\n"
    );
    for stroke in &drawing.strokes {
        // Writing to a text cannot fail.
        let _cannot_fail = element(&mut text, stroke, safe);
    }
    text.push_str("</svg>\n");
    text
}

/// Returns an ink as it is written in SVG.
fn hex(ink: Ink) -> String {
    let [red, green, blue] = ink.rgb();
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn dashes(dash: Dash) -> &'static str {
    match dash {
        Dash::Whole => "",
        Dash::Broken => " stroke-dasharray=\"4 2\"",
        Dash::Dotted => " stroke-dasharray=\"1 2\"",
    }
}

fn element(
    text: &mut String,
    stroke: &Stroke,
    safe: &dyn Fn(&str) -> String,
) -> Result<(), std::fmt::Error> {
    match stroke {
        Stroke::Line {
            from: [x1, y1],
            to: [x2, y2],
            ink,
            dash,
        } => {
            writeln!(
                text,
                "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" \
                 stroke=\"{}\" stroke-width=\"0.8\"{}/>",
                hex(*ink),
                dashes(*dash)
            )
        }
        Stroke::Box {
            at: [x, y],
            size: [wide, high],
            fill,
        } => {
            let fill = fill.map_or_else(|| "none".to_owned(), hex);
            writeln!(
                text,
                "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{wide:.1}\" height=\"{high:.1}\" \
                 fill=\"{fill}\" stroke=\"{}\" stroke-width=\"0.6\"/>",
                hex(Ink::Black)
            )
        }
        Stroke::Outline {
            corners,
            closed,
            dash,
        } => {
            let (name, fill) = if *closed {
                ("polygon", "#ffffff")
            } else {
                ("polyline", "none")
            };
            let corners: Vec<String> = corners
                .iter()
                .map(|[x, y]| format!("{x:.1},{y:.1}"))
                .collect();
            writeln!(
                text,
                "<{name} points=\"{}\" fill=\"{fill}\" stroke=\"{}\" stroke-width=\"0.8\"{}/>",
                corners.join(" "),
                hex(Ink::Black),
                dashes(*dash)
            )
        }
        Stroke::Sign { at, shape, ink } => sign(text, *at, *shape, &hex(*ink)),
        Stroke::Word {
            at: [x, y],
            text: word,
            hold,
        } => {
            let anchor = match hold {
                Hold::Left => "start",
                Hold::Middle => "middle",
                Hold::Right => "end",
            };
            writeln!(
                text,
                "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"{}\">{}</text>",
                hex(Ink::Black),
                safe(word)
            )
        }
    }
}

fn sign(
    text: &mut String,
    [x, y]: [f64; 2],
    shape: Shape,
    ink: &str,
) -> Result<(), std::fmt::Error> {
    let (left, top) = (x - SIGN, y - SIGN);
    let (right, foot) = (x + SIGN, y + SIGN);
    match shape {
        Shape::Round => {
            writeln!(
                text,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{SIGN}\" fill=\"{ink}\"/>"
            )
        }
        Shape::Square => {
            let side = 2.0 * SIGN;
            writeln!(
                text,
                "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{side:.1}\" height=\"{side:.1}\" fill=\"{ink}\"/>"
            )
        }
        Shape::Cross => writeln!(
            text,
            "<path d=\"M{left:.1} {top:.1}L{right:.1} {foot:.1}M{left:.1} {foot:.1}L{right:.1} {top:.1}\" \
             stroke=\"{ink}\" stroke-width=\"1.2\"/>"
        ),
    }
}
