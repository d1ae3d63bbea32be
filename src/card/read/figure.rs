//! Reads a figure card.

use super::super::{Figure, Joint, JointRow, Panel, RouteStop, SolidShape, Zone, ZoneSolid};
use super::fields::Fields;
use super::node::Node;
use super::within::{AREA, GAP, LENGTH, PERCENT, PLACE, RELIEF, SHARE};

pub(super) fn figure(node: &Node<'_>) -> Figure {
    node.fields(|f| {
        let figure = Figure {
            id: f.id(),
            name: f.line("name", 60),
            title: f.note("title", 120),
            owner: f.note("owner", 120),
            owner_reference: f.note("owner_reference", 120),
            maker: f.note("maker", 160),
            made: f.note("made", 160),
            marks: f.lines("marks", 160),
            purpose: f.note("purpose", 120),
            wood: f.note("wood", 60),
            build: f.note("build", 120),
            size_mm: f.may("size_mm").map(|node| size(&node)).unwrap_or_default(),
            promised: f.date("promised"),
            room: f.line("room", 40),
            zones: f.each("zones", zone),
            joints: f.each("joints", joint),
            panels: f.each("panels", panel),
            route: f.each("route", stop),
        };
        for list in ["zones", "joints", "panels"] {
            f.unique(list, "id");
        }
        zones_named(f.block());
        figure
    })
}

fn size(node: &Node<'_>) -> [f64; 3] {
    let items = node.items();
    let [height, length, width] = items.as_slice() else {
        let hint = "write `[height, length, width]` in mm".to_owned();
        node.slip("`size_mm` must be three numbers", Some(hint));
        return [0.0; 3];
    };
    [
        height.number(&LENGTH),
        length.number(&LENGTH),
        width.number(&LENGTH),
    ]
}

fn zone(node: &Node<'_>) -> Zone {
    let usual = Zone::default();
    node.fields(|f| Zone {
        id: f.id(),
        name: f.line("name", 60),
        path: f.word("path", usual.path),
        area_m2: f.maybe_number("area_m2", &AREA).unwrap_or(usual.area_m2),
        solids: f.each("solids", solid),
        relief: f.maybe_number("relief", &RELIEF).unwrap_or(usual.relief),
        finish: f.word("finish", usual.finish),
        wear: f.maybe_word("wear").unwrap_or_default(),
    })
}

/// Reads a plain solid; its sizes must make one.
fn solid(node: &Node<'_>) -> ZoneSolid {
    node.fields(|f| {
        let shape: Option<SolidShape> = f.maybe_word("solid");
        if f.block().at("solid").is_none() {
            f.lacks("solid");
        }
        let solid = ZoneSolid {
            solid: shape.unwrap_or(SolidShape::Ellipsoid),
            size_mm: f.each("size_mm", |size| size.number(&LENGTH)),
            share: f.maybe_number("share", &SHARE).unwrap_or(1.0),
        };
        // Of a shape that is none, and of a size that is no length, is told already.
        if let (Some(sizes), Some(_), Err(wanted)) = (f.need("size_mm"), shape, solid.solid()) {
            sizes.slip(
                format!("{} sizes do not make this solid", solid.size_mm.len()),
                Some(format!("write {wanted}, in mm: radii and half-lengths")),
            );
        }
        solid
    })
}

fn joint(node: &Node<'_>) -> Joint {
    node.fields(|f| {
        let joint = Joint {
            id: f.need("id").map(|node| node.mark()).unwrap_or_default(),
            between: f.line("between", 80),
            zones: f.lines("zones", 40),
            length_mm: f.maybe_number("length_mm", &LENGTH).unwrap_or_default(),
            width_mm: f.maybe_number("width_mm", &LENGTH).unwrap_or_default(),
            loaded: f.flag("loaded"),
            gaps: f.each("gaps", row),
        };
        rows_in_order(f, &joint);
        joint
    })
}

fn row(node: &Node<'_>) -> JointRow {
    node.fields(|f| {
        let at_mm = f.number("at_mm", &PLACE);
        let readings = f.need("mm");
        let mm = f.each("mm", |reading| reading.number(&GAP));
        if let Some(readings) = readings
            && readings.items().is_empty()
        {
            readings.slip(
                "`mm` holds no reading",
                Some("write `[0.4, 0.6, 0.3]`".to_owned()),
            );
        }
        JointRow { at_mm, mm }
    })
}

/// Notes gap rows that do not run along the joint.
fn rows_in_order(f: &Fields<'_>, joint: &Joint) {
    let mut last = f64::NEG_INFINITY;
    let places = f.block().all("gaps");
    for (node, row) in places
        .iter()
        .filter_map(|row| row.at("at_mm"))
        .zip(&joint.gaps)
    {
        let at = row.at_mm;
        if at <= last {
            let what = format!("the row at {at} mm stands after the row at {last} mm");
            node.slip(
                what,
                Some("write the rows in order along the joint".to_owned()),
            );
        }
        if 0.0 < joint.length_mm && joint.length_mm < at {
            let long = joint.length_mm;
            node.slip(
                format!("the row at {at} mm is past the end of the joint ({long} mm)"),
                None,
            );
        }
        last = at;
    }
}

fn panel(node: &Node<'_>) -> Panel {
    let usual = Panel::default();
    node.fields(|f| Panel {
        id: f.id(),
        name: f.line("name", 60),
        zone: f.line("zone", 40),
        area_m2: f.maybe_number("area_m2", &AREA).unwrap_or(usual.area_m2),
        relief: f.maybe_number("relief", &RELIEF).unwrap_or(usual.relief),
        waste_percent: f
            .maybe_number("waste_percent", &PERCENT)
            .unwrap_or(usual.waste_percent),
        leaf: f.line("leaf", 40),
    })
}

fn stop(node: &Node<'_>) -> RouteStop {
    node.fields(|f| RouteStop {
        operation: f.line("operation", 40),
        on: f.lines("on", 40),
    })
}

/// Notes joints and panels that name a zone which the figure has not.
fn zones_named(figure: &Node<'_>) {
    let zones: Vec<Node<'_>> = figure
        .all("zones")
        .iter()
        .filter_map(|zone| zone.at("id"))
        .collect();
    let known = || zones.iter().map(Node::written);
    for joint in figure.all("joints") {
        for zone in joint.all("zones") {
            zone.known_as("zone", known());
        }
    }
    for zone in figure
        .all("panels")
        .iter()
        .filter_map(|panel| panel.at("zone"))
    {
        zone.known_as("zone", known());
    }
}
