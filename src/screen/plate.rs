//! The plate: the one time that matters, large, with its sign, its end and its reason.

use ratatui::layout::Rect;

use crate::deed::Use;
use crate::report::grounds;
use crate::standing::{ClockState, ClockView};

use super::column::Column;
use super::ink::Ink;
use super::letters;
use super::look::{Sign, Tone};
use super::pane::{Pane, on_board};
use super::times;

/// Returns an area without its first rows.
pub(super) fn under(area: Rect, rows: u16) -> Rect {
    let rows = rows.min(area.height);
    Rect {
        y: area.y + rows,
        height: area.height - rows,
        ..area
    }
}

/// Draws the plate of one clock: sign and name, large figures, bar, because.
pub(super) fn time_plate(
    ink: &mut Ink<'_>,
    plate: Rect,
    pane: &Pane<'_>,
    clock: &ClockView,
    times: u16,
) {
    let sign = times::sign(clock);
    let loud = clock.ringing.is_some() && pane.sight.beat();
    let (ground, tone) = if loud {
        (Tone::BolePlate, Tone::BolePlate)
    } else if sign.tone == Tone::BolePlate {
        (Tone::Board, Tone::BoardBole)
    } else {
        (Tone::Board, on_board(sign.tone))
    };
    let plain = if loud { Tone::BolePlate } else { Tone::Board };
    ink.ground(plate, ground);
    let inner = Rect {
        x: plate.x + 2,
        width: plate.width.saturating_sub(4),
        ..plate
    };
    let head = Sign { tone, ..sign };
    let used = ink.sign(inner.x, inner.y, head, inner.width);
    let name = times::clock_name(clock.clock);
    let x = inner.x + used + 2;
    ink.put((x, inner.y), name, plain, inner.right().saturating_sub(x));
    ink.put((inner.x, inner.y + 1), &clock.about, plain, inner.width);
    let (figures, words) = times::figures(clock, pane.sight.now);
    let digits = under(inner, 2);
    letters::draw_figures(ink, digits, &figures, times, tone);
    let mut column = Column::new(ink, under(digits, letters::FIGURE_ROWS * times));
    column.line(&ends(clock, words, pane), tone);
    let share = if clock.side == Use::WaitUntil && clock.state == ClockState::Come {
        1.0
    } else {
        clock.share
    };
    column.line(&times::bar(share, inner.width.min(20)), tone);
    column.wrap(&grounds(clock), plain, 3);
}

fn ends(clock: &ClockView, words: &str, pane: &Pane<'_>) -> String {
    match clock.deadline() {
        Some(at) => {
            let word = match clock.state {
                ClockState::Running => "until",
                ClockState::Over => "it ended",
                ClockState::Unsure => "it may be dead from",
                ClockState::Waiting | ClockState::Frozen => "comes",
                ClockState::Come => "came",
            };
            format!("{words} · {word} {}", times::hour(at, pane.sight.now))
        }
        None => words.to_owned(),
    }
}

/// Draws the hour of the day, where no clock of the figure runs.
pub(super) fn hour_plate(ink: &mut Ink<'_>, plate: Rect, pane: &Pane<'_>, times: u16) {
    ink.ground(plate, Tone::Board);
    let inner = Rect {
        x: plate.x + 2,
        width: plate.width.saturating_sub(4),
        ..plate
    };
    ink.put(
        (inner.x, inner.y),
        "the hour",
        Tone::BoardRubbed,
        inner.width,
    );
    let hour = pane.sight.now.format("%H:%M").to_string();
    letters::draw_figures(ink, under(inner, 2), &hour, times, Tone::Board);
    let mut column = Column::new(ink, under(inner, 3 + letters::FIGURE_ROWS * times));
    column.wrap("no clock of this figure runs", Tone::BoardRubbed, 2);
    if !pane.sight.room.0.is_empty() {
        column.line(&format!("room: {}", pane.sight.room.0), Tone::Board);
    }
}
