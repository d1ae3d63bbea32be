//! Reads the outline of a figure.

use super::super::{Outline, OutlineSide, Shape};
use super::node::Node;
use super::within::CORNER;

pub(super) fn outline(node: &Node<'_>) -> Outline {
    node.fields(|f| {
        let outline = Outline {
            sides: f.each("sides", side),
        };
        f.unique("sides", "side");
        let sides = f.block().all("sides");
        let names = || sides.iter().filter_map(|side| side.at("side"));
        let known: Vec<&str> = names().map(|name| name.written()).collect();
        for side in &sides {
            let Some(mirrors) = side.at("mirrors") else {
                continue;
            };
            mirrors.known_as("side", known.iter().copied());
            let own = side.at("side");
            if own.is_some_and(|own| own.written() == mirrors.written()) {
                let hint = "name the side that has the shapes".to_owned();
                mirrors.slip("a side cannot mirror itself", Some(hint));
            } else if mirrors_too(&sides, mirrors.written()) {
                let what = format!("`{}` only mirrors another side", mirrors.written());
                let hint = "name the side that has the shapes".to_owned();
                mirrors.slip(what, Some(hint));
            }
        }
        outline
    })
}

/// Whether a side of this name has no shapes of its own and mirrors one.
fn mirrors_too(sides: &[Node<'_>], name: &str) -> bool {
    let named = |side: &&Node<'_>| side.at("side").is_some_and(|own| own.written() == name);
    let first = sides.iter().find(named);
    first.is_some_and(|side| side.at("mirrors").is_some() && side.at("shapes").is_none())
}

fn side(node: &Node<'_>) -> OutlineSide {
    node.fields(|f| {
        let side = OutlineSide {
            side: f.line("side", 20),
            mirrors: f.maybe_line("mirrors", 20),
            shapes: f.each("shapes", shape),
        };
        if side.shapes.is_empty() && side.mirrors.is_none() {
            let hint = "draw its `shapes:`, or write `mirrors: near`".to_owned();
            node.slip(
                "a side has neither shapes nor one that it mirrors",
                Some(hint),
            );
        }
        side
    })
}

fn shape(node: &Node<'_>) -> Shape {
    node.fields(|f| {
        let shape = Shape {
            zone: f.maybe_line("zone", 40).unwrap_or_default(),
            also: f.lines("also", 40),
            joint: f.maybe_line("joint", 40).unwrap_or_default(),
            line: f.each("line", corner),
        };
        if shape.zone.is_empty() == shape.joint.is_empty() {
            let hint = "write `zone: body` or `joint: J3`".to_owned();
            node.slip("a shape is either a zone or a joint", Some(hint));
        }
        let needed = if shape.joint.is_empty() { 3 } else { 2 };
        if shape.line.len() < needed {
            let what = format!("`line` needs {needed} corners or more");
            let hint = "write `line: [[0, 0], [10, 0], [5, 8]]`: across, down".to_owned();
            node.slip(what, Some(hint));
        }
        shape
    })
}

fn corner(node: &Node<'_>) -> [f64; 2] {
    let items = node.items();
    let [across, down] = items.as_slice() else {
        let hint = "write `[across, down]`".to_owned();
        node.slip("a corner must be two numbers", Some(hint));
        return [0.0; 2];
    };
    [across.number(&CORNER), down.number(&CORNER)]
}
