//! The map: the figure as an outline, its zones marked and coloured, one part picked.

use std::collections::BTreeMap;

use ratatui::layout::Rect;

use crate::card::PlacedShape;
use crate::standing::{JointSeen, WalkEnd, ZoneFacts};

use super::super::column::Column;
use super::super::hand::list_skip;
use super::super::ink::{Ink, cells};
use super::super::keys::Act;
use super::super::look::Tone;
use super::super::pane::{Pane, on_board};
use super::super::times;
use super::classes::{self, Class};
use super::raster::Raster;
use super::roll::Roll;
use super::seen::{Dossier, DossierSide, Part};
use crate::reckon::counted;

/// From this width on two sides stand beside each other, cells.
const BOTH_SIDES: u16 = 96;

/// Cells kept free for a count of what does not fit.
const MORE: u16 = 10;

/// Draws the map and, beside it, what is known of the part picked.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let wide = (area.width * 2 / 5).clamp(24, 46);
    let beside = Rect {
        x: area.right().saturating_sub(wide),
        width: wide,
        ..area
    };
    let map = Rect {
        width: area.width.saturating_sub(wide + 2),
        ..area
    };
    sides(ink, map, pane, dossier);
    facts(ink, beside, pane, dossier);
}

fn sides(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    if dossier.sides.is_empty() {
        let mut column = Column::new(ink, area);
        column.wrap(
            "no built-in drawing shows the zones of this figure: put an outline.yaml beside its card",
            Tone::Rubbed,
            4,
        );
        return;
    }
    let legend = Rect {
        y: area.bottom().saturating_sub(1),
        height: 1,
        ..area
    };
    let drawing = Rect {
        height: area.height.saturating_sub(1),
        ..area
    };
    let first = pane.view.dossier.side % dossier.sides.len();
    if BOTH_SIDES <= area.width && 1 < dossier.sides.len() {
        let half = area.width / 2;
        let second = (first + 1) % dossier.sides.len();
        let left = Rect {
            width: half - 1,
            ..drawing
        };
        let right = Rect {
            x: drawing.x + half,
            width: drawing.width - half,
            ..drawing
        };
        one_side(ink, left, (pane, dossier), dossier.sides.get(first));
        one_side(ink, right, (pane, dossier), dossier.sides.get(second));
    } else {
        one_side(ink, drawing, (pane, dossier), dossier.sides.get(first));
    }
    key(ink, legend, pane, dossier);
}

fn one_side(
    ink: &mut Ink<'_>,
    area: Rect,
    (pane, dossier): (&Pane<'_>, &Dossier),
    side: Option<&DossierSide>,
) {
    let Some(side) = side else { return };
    ink.put((area.x, area.y), &side.name, Tone::Rubbed, area.width);
    let drawing = Rect {
        y: area.y + 1,
        height: area.height.saturating_sub(1),
        ..area
    };
    let shapes: Vec<PlacedShape> = side.shapes.iter().map(|(_, it)| it.clone()).collect();
    let part_of = |shape: &PlacedShape| dossier.part_of(&shape.part);
    let raster = Raster::of(&shapes, (drawing.width, drawing.height), part_of);
    for y in 0..drawing.height {
        row(ink, (drawing, y), (pane, dossier), &raster);
    }
    labels(ink, drawing, (pane, dossier), (&raster, side));
}

/// One row of cells: lines where parts meet, the texture of its class inside a part.
fn row(
    ink: &mut Ink<'_>,
    (area, y): (Rect, u16),
    (pane, dossier): (&Pane<'_>, &Dossier),
    raster: &Raster,
) {
    let mut from = 0;
    let mut run = None;
    for x in 0..=area.width {
        let part = (x < area.width).then(|| raster.part(x, y)).flatten();
        if part != run || x == area.width {
            if let Some(act) = run.and_then(part_act) {
                ink.touch(Rect::new(area.x + from, area.y + y, x - from, 1), act);
            }
            (from, run) = (x, part);
        }
        if x == area.width {
            return;
        }
        let picked = part.is_some_and(|part| part == pane.view.dossier.part);
        let class = part.and_then(|part| class_of(pane, dossier, part));
        let tone = match class {
            _ if picked => Tone::GiltPlate,
            Some(class) => class.tone,
            None => Tone::Rubbed,
        };
        let at = (area.x + x, area.y + y);
        match (raster.edges.sign(x, y), class) {
            (Some(sign), _) => {
                let tone = if picked { tone } else { Tone::Chalk };
                ink.put(at, &sign.to_string(), tone, 1);
            }
            (None, Some(class)) => {
                ink.put(at, class.texture, tone, 1);
            }
            (None, None) => {}
        }
    }
}

fn part_act(part: usize) -> Option<Act> {
    u8::try_from(part).ok().map(Act::Part)
}

fn class_of(pane: &Pane<'_>, dossier: &Dossier, part: usize) -> Option<Class> {
    match dossier.parts.get(part)? {
        Part::Zone(at) => Some(classes::of(pane.view.dossier.mark, dossier.zones.get(*at)?)),
        _ => None,
    }
}

/// The number of a zone, the name of a joint, and its symbol, in its middle.
fn labels(
    ink: &mut Ink<'_>,
    area: Rect,
    (pane, dossier): (&Pane<'_>, &Dossier),
    (raster, side): (&Raster, &DossierSide),
) {
    let numbered = dossier.numbered().len();
    let skip = list_skip(pane.view, numbered);
    let mut taken: Vec<Rect> = Vec::new();
    let mut put = |part: usize, at: (u16, u16), (symbol, other): (&str, Tone)| {
        // The number never changes; on a plate it can be picked by its place in the list now.
        let full = match dossier.parts.get(part) {
            Some(Part::Zone(_)) => format!("{part}{symbol}"),
            _ => symbol.to_owned(),
        };
        let is_near = (skip + 1..=skip + 9).contains(&part);
        let tone = if is_near { Tone::GiltPlate } else { other };
        let tone = if part == pane.view.dossier.part {
            Tone::BolePlate
        } else {
            tone
        };
        let is_zone = matches!(dossier.parts.get(part), Some(Part::Zone(_)));
        // Half a number is a wrong one: where there is no room for all, the symbol stands alone.
        let own = |x: u16, y: u16| !is_zone || raster.part(x, y) == Some(part);
        let fits = [full.as_str(), symbol].into_iter().find_map(|words| {
            let place = free_place(area, (at, cells(words)), &taken, &own)?;
            Some((words, place))
        });
        let Some((words, place)) = fits else { return };
        taken.push(place);
        ink.put((place.x, place.y), words, tone, place.width);
        if let Some(act) = part_act(part) {
            ink.touch(place, act);
        }
    };
    for part in 0..dossier.parts.len() {
        if let Some(at) = raster.middle(part) {
            let class = class_of(pane, dossier, part);
            let sign = class.map_or(("", Tone::Board), |class| {
                (class.symbol, on_board(class.tone))
            });
            put(part, at, sign);
        }
    }
    for (joint, zones) in &side.seams {
        let middles: Vec<(u16, u16)> = zones
            .iter()
            .filter_map(|zone| raster.middle(*zone))
            .collect();
        let count = u16::try_from(middles.len()).unwrap_or(0);
        if count == 0 {
            continue;
        }
        let sum = |pick: fn(&(u16, u16)) -> u16| -> u16 { middles.iter().map(pick).sum() };
        let at = (sum(|it| it.0) / count, sum(|it| it.1) / count);
        // Beside the names of the zones, never over them.
        let at = (
            at.0.saturating_add(3).min(area.width.saturating_sub(3)),
            at.1,
        );
        let name = dossier.id(*joint).unwrap_or_default();
        put(*joint, at, (name, Tone::Board));
    }
    part_neighbours(ink, &taken);
}

/// How far a label may be moved from its middle so that it stands free, cells across and down;
/// the nearest first.
const MOVES: [(i32, i32); 17] = [
    (0, 0),
    (-1, 0),
    (1, 0),
    (-2, 0),
    (2, 0),
    (0, -1),
    (0, 1),
    (-3, 0),
    (3, 0),
    (-1, -1),
    (1, -1),
    (-1, 1),
    (1, 1),
    (-4, 0),
    (4, 0),
    (5, 0),
    (6, 0),
];

/// Returns the place nearest to a label's own that keeps a cell between it and every other
/// label. `own` tells whether a label may begin in a cell: no name may lie in another zone.
fn free_place(
    area: Rect,
    ((x, y), wide): ((u16, u16), u16),
    taken: &[Rect],
    own: &dyn Fn(u16, u16) -> bool,
) -> Option<Rect> {
    let moved = |(across, down): (i32, i32)| {
        let x = u16::try_from(i32::from(x) + across).ok()?;
        let y = u16::try_from(i32::from(y) + down).ok()?;
        if !own(x, y) || area.height <= y {
            return None;
        }
        let x = (area.x + x).min(area.right().saturating_sub(wide));
        let place = Rect::new(x, area.y + y, wide, 1);
        let around = Rect {
            x: place.x.saturating_sub(1),
            width: wide + 2,
            ..place
        };
        let is_free = !taken.iter().any(|one| one.intersects(around));
        (is_free && wide <= area.width).then_some(place)
    };
    MOVES.into_iter().find_map(moved)
}

/// Where one cell alone parts two labels, it is left blank: no line of the drawing may make one
/// word of them.
fn part_neighbours(ink: &mut Ink<'_>, labels: &[Rect]) {
    for one in labels {
        let beside = |other: &&Rect| other.y == one.y && other.x == one.right() + 1;
        if labels.iter().any(|other| beside(&other)) {
            ink.put((one.right(), one.y), " ", Tone::Chalk, 1);
        }
    }
}

/// The classes that this figure has, symbol and word.
fn key(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let mark = pane.view.dossier.mark;
    let mut x = area.x;
    x += ink.put((x, area.y), mark.name(), Tone::Gilt, area.width) + 2;
    ink.touch(Rect::new(area.x, area.y, area.width, 1), Act::Mark);
    let mut shown: Vec<Class> = Vec::new();
    for zone in &dossier.zones {
        let class = classes::of(mark, zone);
        if !shown.contains(&class) {
            shown.push(class);
        }
    }
    shown.sort_by_key(|class| class.word);
    let mut left = shown.len();
    for class in shown {
        let words = format!("{} {}", class.symbol, class.word);
        let room = area.right().saturating_sub(x);
        // What does not fit is counted; the zone that has it names it when it is picked.
        let kept = if left == 1 { 0 } else { MORE };
        if room < cells(&words) + kept {
            ink.put((x, area.y), &format!("… {left} more"), Tone::Gilt, room);
            return;
        }
        x += ink.put((x, area.y), &words, class.tone, room) + 2;
        left -= 1;
    }
}

/// What is known of the part picked, and the parts with their numbers.
fn facts(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let part = pane.view.dossier.part;
    let list = 11.min(u16::try_from(dossier.parts.len()).unwrap_or(10) + 1);
    let list = list.min(area.height.saturating_sub(4));
    let about = Rect {
        height: area.height.saturating_sub(list),
        ..area
    };
    let mut roll = Roll::new(about.width);
    roll.wrap(&dossier.part_name(part), Tone::Gilt);
    match dossier.parts.get(part) {
        Some(Part::Zone(at)) => {
            if let Some(zone) = dossier.zones.get(*at) {
                of_zone(&mut roll, (pane, dossier), zone);
            }
        }
        Some(Part::Joint(at)) => {
            if let Some(joint) = dossier.joints.get(*at) {
                of_joint(&mut roll, joint);
            }
        }
        _ => of_whole(&mut roll, dossier),
    }
    roll.draw(ink, about, pane.view.scroll);
    let rows = Rect {
        y: about.bottom(),
        height: list,
        ..area
    };
    parts(ink, rows, pane, dossier);
}

/// What warns comes first, then what the figure is.
fn of_whole(roll: &mut Roll, dossier: &Dossier) {
    let missing = dossier
        .photos
        .missing
        .iter()
        .filter(|it| it.before_work && !it.said);
    let missing = missing.count();
    if 0 < missing {
        let words = format!("▲ {} missing before work", counted(missing, "photograph"));
        roll.wrap(&words, Tone::Bole);
    }
    let circles = dossier.layers.contradictions.len();
    if 0 < circles {
        let circles = counted(circles, "contradiction");
        roll.wrap(&format!("▲ {circles} among the layers"), Tone::Bole);
    }
    lead_of_all(roll, dossier);
    for (what, words) in &dossier.card {
        roll.wrap(&format!("{what}: {words}"), Tone::Chalk);
    }
    if let Some(hollow) = &dossier.hollow {
        let (seen, unseen) = (hollow.seen_at.len(), hollow.unseen_at.len());
        let words = format!("hollow: seen inside at {seen} of {} joints", seen + unseen);
        roll.wrap(&words, Tone::Chalk);
        if let Some((place, percent)) = &hollow.wettest_core {
            let words = format!("wettest core: {percent:.1} % at {place}");
            roll.wrap(&words, Tone::Chalk);
        }
    }
    let zones = dossier.zones.iter().filter(|zone| zone.lead.is_none());
    let zones: Vec<&str> = zones.map(|zone| zone.id.as_str()).collect();
    if !zones.is_empty() {
        let words = format!("not tested for lead: {}", zones.join(", "));
        roll.wrap(&words, Tone::Rubbed);
    }
}

/// The zones by what the lead test settled; where nobody tested, lead is assumed.
fn lead_of_all(roll: &mut Roll, dossier: &Dossier) {
    let mut answers: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut untested = 0;
    for zone in &dossier.zones {
        match &zone.lead {
            Some((answer, _)) => answers.entry(answer).or_default().push(&zone.id),
            None => untested += 1,
        }
    }
    for (answer, zones) in answers {
        let tone = if answer == "no" {
            Tone::Verdigris
        } else {
            Tone::Bole
        };
        roll.wrap(&format!("lead, {answer}: {}", zones.join(", ")), tone);
    }
    if 0 < untested {
        let all = dossier.zones.len();
        let words = format!("▲ lead: {untested} of {all} zones not tested, so assumed there");
        roll.wrap(&words, Tone::Bole);
    }
}

fn of_zone(roll: &mut Roll, (pane, dossier): (&Pane<'_>, &Dossier), zone: &ZoneFacts) {
    match &zone.lead {
        Some((answer, stamp)) => {
            let hour = times::hour(stamp.at, pane.sight.now);
            let tone = if answer == "no" {
                Tone::Verdigris
            } else {
                Tone::Bole
            };
            roll.wrap(&format!("lead: {answer} {hour}, {}", stamp.by), tone);
        }
        None => roll.wrap("▲ lead: not tested, so assumed", Tone::Bole),
    }
    for mark in [
        classes::MapMark::Path,
        classes::MapMark::Stage,
        classes::MapMark::Leaf,
        classes::MapMark::Grade,
    ] {
        let class = classes::of(mark, zone);
        let finding = if mark == classes::MapMark::Grade && !zone.finding.is_empty() {
            format!(": {}", zone.finding)
        } else {
            String::new()
        };
        let words = format!("{} {} {}{finding}", class.symbol, mark.name(), class.word);
        roll.wrap(&words, class.tone);
    }
    for (operation, [laid, of]) in &zone.coats {
        let title = pane.sight.operation_title(operation);
        roll.wrap(&format!("{title}: coat {laid} of {of}"), Tone::Chalk);
    }
    for walk in &zone.walks {
        let (sign, word) = match walk.ended {
            WalkEnd::Done => ("✓", "done"),
            WalkEnd::InHand => ("▸", "in hand"),
            WalkEnd::SentBack => ("↶", "sent back"),
        };
        let title = pane.sight.operation_title(&walk.operation);
        let round = match walk.round {
            0 | 1 => String::new(),
            round => format!(", round {round}"),
        };
        let hour = times::hour(walk.stamp.at, pane.sight.now);
        let words = format!("{sign} {title}{round}, {word} {hour}, {}", walk.stamp.by);
        roll.wrap(&words, Tone::Chalk);
    }
    if zone.walks.is_empty() {
        roll.wrap("nothing was done on it", Tone::Rubbed);
    }
    let area = zone.area_m2.map_or_else(
        || "not measured".to_owned(),
        |area| format!("{area:.2} m² with its relief"),
    );
    let worn = classes::of(classes::MapMark::Wear, zone);
    roll.wrap(&format!("{area}, {}", worn.word), Tone::Rubbed);
    let part = pane.view.dossier.part;
    if !dossier.sides.iter().any(|side| side.shows(part)) {
        roll.wrap("not on the drawing", Tone::Rubbed);
    }
}

fn of_joint(roll: &mut Roll, joint: &JointSeen) {
    roll.sign(super::joints::sign(joint.state), "", Tone::Chalk);
    let [long, wide] = joint.face_mm;
    let load = if joint.loaded { ", loaded" } else { "" };
    roll.wrap(&format!("{long:.0} × {wide:.0} mm{load}"), Tone::Chalk);
    if let Some(widest) = joint.gaps.widest() {
        roll.wrap(&format!("widest gap {widest:.2} mm"), Tone::Chalk);
    }
    if !joint.decision.is_empty() {
        roll.wrap(&format!("settled: {}", joint.settled()), Tone::Chalk);
    }
    let grams = joint.grams();
    if 0.0 < grams {
        roll.wrap(&format!("{grams:.0} g mixed for it"), Tone::Chalk);
    }
}

fn parts(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let mut column = Column::new(ink, area);
    let numbered = dossier.numbered();
    let skip = list_skip(pane.view, numbered.len());
    let more = 9 < numbered.len();
    let whole = column.rest();
    column.line("      the whole figure", Tone::Chalk);
    if let Some(act) = part_act(0) {
        column.ink.touch(Rect { height: 1, ..whole }, act);
    }
    if pane.view.dossier.part == 0 {
        column.ink.put((whole.x + 3, whole.y), "▸", Tone::Gilt, 1);
    }
    for (nth, part) in numbered.iter().copied().skip(skip).take(9).enumerate() {
        if column.free() <= u16::from(more) {
            break;
        }
        let at = column.rest();
        let class = class_of(pane, dossier, part);
        let name = match dossier.parts.get(part) {
            Some(Part::Joint(_)) => dossier.id(part).unwrap_or_default().to_owned(),
            _ => format!("{part} {}", dossier.part_name(part)),
        };
        let symbol = class.map_or(" ", |class| class.symbol);
        column.pick(nth + 1, &format!("  {name}"), "");
        let tone = class.map_or(Tone::Chalk, |class| class.tone);
        column.ink.put((at.x + 4, at.y), symbol, tone, 1);
        if part == pane.view.dossier.part {
            column.ink.put((at.x + 3, at.y), "▸", Tone::Gilt, 1);
        }
    }
    if more {
        let all = numbered.len();
        column.keys(&[("0", &format!("{all} parts"), Act::More)]);
    }
}
