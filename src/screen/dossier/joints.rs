//! The leaf of joints: every joint with its state, the gap map of the one picked, and what
//! was done to it.

use ratatui::layout::Rect;

use crate::standing::{JointSeen, JointState};

use super::super::column::Column;
use super::super::hand::list_skip;
use super::super::ink::Ink;
use super::super::keys::Act;
use super::super::look::{Sign, Tone};
use super::super::pane::Pane;
use super::super::times;
use super::roll::Roll;
use super::seen::{Dossier, Part};

/// A gap from here on is filled and not squeezed, mm (*common practice*: thicker than a glue
/// line of resin).
const WIDE_MM: f64 = 0.5;

/// A gap from here on wants a slip of wood, mm (*common practice*).
const SLIP_MM: f64 = 5.0;

/// Returns the sign of a state.
pub(super) fn sign(state: JointState) -> Sign {
    let (symbol, tone) = match state {
        JointState::NotSurveyed => ("–", Tone::Rubbed),
        JointState::Sound => ("●", Tone::Verdigris),
        JointState::Open => ("◁", Tone::Bole),
        JointState::FilledLoose => ("▒", Tone::Bole),
        JointState::Split => ("✕", Tone::Bole),
        JointState::Apart => ("◫", Tone::Gilt),
        JointState::InClamps => ("◧", Tone::Gilt),
        JointState::Reglued => ("◉", Tone::Verdigris),
    };
    Sign::new(symbol, state.words(), tone)
}

/// Draws the leaf.
pub(super) fn draw(ink: &mut Ink<'_>, area: Rect, pane: &Pane<'_>, dossier: &Dossier) {
    let rows = dossier.parts_of(|part| matches!(part, Part::Joint(_)));
    if rows.is_empty() {
        Column::new(ink, area).line("the card of this figure names no joint", Tone::Rubbed);
        return;
    }
    let wide = (area.width / 3).clamp(22, 40);
    let list = Rect {
        width: wide,
        ..area
    };
    let one = Rect {
        x: area.x + wide + 2,
        width: area.width.saturating_sub(wide + 2),
        ..area
    };
    all(ink, list, (pane, dossier), &rows);
    let joint = picked(pane, dossier);
    if let Some(joint) = joint {
        let mut roll = Roll::new(one.width);
        about(&mut roll, pane, joint);
        roll.draw(ink, one, pane.view.scroll);
    }
}

/// The joint picked; where a zone is picked, the first whose seam runs through it.
fn picked<'a>(pane: &Pane<'_>, dossier: &'a Dossier) -> Option<&'a JointSeen> {
    let part = pane.view.dossier.part;
    let own = match dossier.parts.get(part) {
        Some(Part::Joint(at)) => dossier.joints.get(*at),
        _ => None,
    };
    let zone = dossier.id(part);
    let through = || {
        let mut joints = dossier.joints.iter();
        joints.find(|joint| joint.zones.iter().any(|id| Some(id.as_str()) == zone))
    };
    own.or_else(through).or_else(|| dossier.joints.first())
}

fn all(ink: &mut Ink<'_>, area: Rect, (pane, dossier): (&Pane<'_>, &Dossier), rows: &[usize]) {
    let mut column = Column::new(ink, area);
    let skip = list_skip(pane.view, rows.len());
    let shown = picked(pane, dossier).map(|joint| joint.id.as_str());
    for (nth, part) in rows.iter().skip(skip).take(9).enumerate() {
        let Some(Part::Joint(at)) = dossier.parts.get(*part) else {
            continue;
        };
        let Some(joint) = dossier.joints.get(*at) else {
            continue;
        };
        let row = column.rest();
        column.pick(nth + 1, &format!("  {:<4}", joint.id), "");
        let sign = sign(joint.state);
        let words = row.width.saturating_sub(11);
        column.ink.sign(row.x + 10, row.y, sign, words);
        if Some(joint.id.as_str()) == shown {
            column.ink.put((row.x + 4, row.y), "▸", Tone::Gilt, 1);
        }
    }
    if rows.len() > 9 {
        column.keys(&[("0", "more joints", Act::More)]);
    }
    if let Some(hollow) = &dossier.hollow {
        column.gap(1);
        let rest = column.rest();
        let mut roll = Roll::new(rest.width);
        roll.wrap(&format!("inside: {}", hollow.build), Tone::Rubbed);
        let unseen = hollow.unseen_at.join(", ");
        if !unseen.is_empty() {
            roll.wrap(&format!("not seen inside at {unseen}"), Tone::Rubbed);
        }
        if let Some((place, percent)) = &hollow.wettest_core {
            let words = format!("wettest core {percent:.1} % at {place}");
            roll.wrap(&words, Tone::Rubbed);
        }
        roll.draw(column.ink, rest, pane.view.scroll);
    }
}

fn about(roll: &mut Roll, pane: &Pane<'_>, joint: &JointSeen) {
    let [one, other] = &joint.boards;
    let boards = if other.is_empty() {
        one.clone()
    } else {
        format!("{one}  ╪  {other}")
    };
    roll.wrap(&format!("{}  {boards}", joint.id), Tone::Gilt);
    let since = joint.since.as_ref().map_or_else(String::new, |stamp| {
        let hour = times::hour(stamp.at, pane.sight.now);
        format!("{} {hour}, {}", joint.state.since_word(), stamp.by)
    });
    roll.sign(sign(joint.state), &since, Tone::Rubbed);
    let [long, wide] = joint.face_mm;
    let load = if joint.loaded { ", loaded" } else { "" };
    let zones = joint.zones.join(", ");
    let face = format!("glue line {long:.0} mm, face {wide:.0} mm{load}; through {zones}");
    roll.wrap(&face, Tone::Chalk);
    gap_map(roll, joint);
    glue(roll, pane, joint);
    clamps(roll, joint);
    for (question, answer) in &joint.survey {
        roll.wrap(&format!("{question}: {answer}"), Tone::Rubbed);
    }
    for (what, noted, stamp) in &joint.inside {
        let hour = times::hour(stamp.at, pane.sight.now);
        roll.wrap(&format!("photograph, {what}: {noted} {hour}"), Tone::Rubbed);
    }
}

/// The gap as numbers, one row across the joint, one column each hand's width along it.
fn gap_map(roll: &mut Roll, joint: &JointSeen) {
    let rows = &joint.gaps.rows;
    if rows.is_empty() {
        roll.wrap("no gap map yet", Tone::Rubbed);
        return;
    }
    let from = if joint.gaps.from_card {
        "gap map of an earlier visit, mm"
    } else {
        "gap map, mm"
    };
    roll.wrap(from, Tone::Gilt);
    let across = rows.iter().map(|(_, row)| row.len()).max().unwrap_or(0);
    let most = usize::from(roll.width().saturating_sub(8) / 6).max(1);
    // A long glue line is folded: so many places along it stand side by side.
    for rows in rows.chunks(most) {
        let mut along = vec![("along   ".to_owned(), Tone::Rubbed)];
        along.extend(
            rows.iter()
                .map(|(at, _)| (format!("{at:>5.0} "), Tone::Rubbed)),
        );
        roll.cells(along);
        for place in 0..across {
            let side = match place {
                0 => "edge",
                _ if place + 1 == across => "edge",
                _ if place * 2 + 1 == across => "centre",
                _ => "between",
            };
            let mut cells = vec![(format!("{side:<8}"), Tone::Rubbed)];
            cells.extend(
                rows.iter()
                    .map(|(_, row)| gap_words(row.get(place).copied().flatten())),
            );
            roll.cells(cells);
        }
    }
    roll.wrap(&joint.gaps.words(), Tone::Chalk);
}

fn gap_words(reading: Option<f64>) -> (String, Tone) {
    match reading {
        None => ("   –  ".to_owned(), Tone::Rubbed),
        Some(mm) if SLIP_MM < mm => (format!("{mm:>5.2}!"), Tone::Bole),
        Some(mm) if WIDE_MM < mm => (format!("{mm:>5.2}▾"), Tone::Gilt),
        Some(mm) => (format!("{mm:>5.2} "), Tone::Verdigris),
    }
}

fn glue(roll: &mut Roll, pane: &Pane<'_>, joint: &JointSeen) {
    if !joint.filler.is_empty() {
        roll.wrap(&format!("in the seam: {}", joint.filler), Tone::Chalk);
    }
    if !joint.decision.is_empty() {
        roll.wrap(&format!("settled: {}", joint.settled()), Tone::Chalk);
    }
    for cup in &joint.cups {
        let hour = times::hour(cup.stamp.at, pane.sight.now);
        let said = cup.words(&cup.material);
        let words = format!("{said}, {hour} by {}", cup.stamp.by);
        roll.wrap(&words, Tone::Chalk);
    }
}

fn clamps(roll: &mut Roll, joint: &JointSeen) {
    let plan = joint.clamps.words();
    if !plan.is_empty() {
        roll.wrap(&format!("clamps: {plan}"), Tone::Chalk);
    }
}
