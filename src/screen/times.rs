//! Times and numbers in words and figures. A time that is left is never shown longer than
//! it is; a time to wait is never shown shorter.

use chrono::{DateTime, FixedOffset, TimeDelta};

use crate::deed::{Pouring, Use};
use crate::standing::{ClockState, ClockView};

pub use crate::report::clock_name;

use super::look::{Sign, Tone};

/// Returns the large figures of a clock and the words under them.
///
/// Under an hour it is `mm:ss`, from then on `h:mm`; past its end it counts on as time over.
pub fn figures(clock: &ClockView, now: DateTime<FixedOffset>) -> (String, &'static str) {
    let Some(deadline) = clock.deadline() else {
        return ("--:--".to_owned(), state_words(clock.state));
    };
    let left = deadline - now;
    let text = match clock.state {
        ClockState::Over | ClockState::Come | ClockState::Unsure => span_down(-left),
        ClockState::Running => span_down(left),
        ClockState::Waiting | ClockState::Frozen => span_up(left),
    };
    (text, state_words(clock.state))
}

fn state_words(state: ClockState) -> &'static str {
    match state {
        ClockState::Over => "over by",
        ClockState::Unsure => "only a test tells, since",
        ClockState::Running => "left",
        ClockState::Waiting => "to wait",
        ClockState::Come => "has come, since",
        ClockState::Frozen => "stands still: the fan is off",
    }
}

/// Returns a span of what is left, rounded down: `mm:ss`, or `h:mm` from an hour on.
pub fn span_down(span: TimeDelta) -> String {
    figures_of(span.num_milliseconds().max(0).div_euclid(1000))
}

/// Returns a span of what is waited for, rounded up.
pub fn span_up(span: TimeDelta) -> String {
    let seconds = span.num_milliseconds().max(0).saturating_add(999) / 1000;
    if seconds < 3600 {
        return figures_of(seconds);
    }
    // Days alone are shown from here on; wood that dries is waited for by days.
    let unit = if seconds < 100 * 3600 { 60 } else { 86_400 };
    figures_of((seconds + unit - 1) / unit * unit)
}

fn figures_of(seconds: i64) -> String {
    if seconds < 3600 {
        format!("{:02}:{:02}", seconds / 60, seconds % 60)
    } else if seconds < 100 * 3600 {
        format!("{}:{:02}", seconds / 3600, seconds / 60 % 60)
    } else {
        format!("{}d", seconds / 86_400)
    }
}

/// Returns a span in words for a rail or a row: `45 s`, `17 min`, `3 h 05`, `2 d 4 h`.
pub fn in_words(clock: &ClockView, now: DateTime<FixedOffset>) -> String {
    let Some(deadline) = clock.deadline() else {
        return "no end".to_owned();
    };
    let span = deadline - now;
    match clock.state {
        ClockState::Over => format!("over by {}", words_down(-span)),
        ClockState::Unsure => format!("test it, since {}", words_down(-span)),
        ClockState::Come => format!("since {}", words_down(-span)),
        ClockState::Running => format!("{} left", words_down(span)),
        ClockState::Waiting => format!("in {}", words_up(span)),
        ClockState::Frozen => "stands still".to_owned(),
    }
}

fn words_down(span: TimeDelta) -> String {
    words_of(span.num_seconds().max(0))
}

fn words_up(span: TimeDelta) -> String {
    let seconds = span.num_milliseconds().max(0).saturating_add(999) / 1000;
    let unit = match seconds {
        ..60 => 1,
        60..86_400 => 60,
        _ => 3600,
    };
    words_of((seconds + unit - 1) / unit * unit)
}

fn words_of(seconds: i64) -> String {
    let (minutes, hours, days) = (seconds / 60, seconds / 3600, seconds / 86_400);
    if seconds < 60 {
        format!("{seconds} s")
    } else if hours < 1 {
        format!("{minutes} min")
    } else if days < 1 {
        format!("{hours} h {:02}", minutes % 60)
    } else {
        format!("{days} d {} h", hours % 24)
    }
}

/// Returns a moment as the hour, with its day when that is not today.
pub fn hour(at: DateTime<FixedOffset>, now: DateTime<FixedOffset>) -> String {
    let at = at.with_timezone(now.offset());
    if at.date_naive() == now.date_naive() {
        at.format("%H:%M").to_string()
    } else if (at - now).abs() < TimeDelta::days(6) {
        at.format("%a %H:%M").to_string()
    } else {
        at.format("%d %b %H:%M").to_string()
    }
}

/// Returns when the shown time of a clock changes next: at a full second under an hour, at a
/// full minute from then on, and at its next alarm mark.
pub fn changes_at(clock: &ClockView, now: DateTime<FixedOffset>) -> Option<DateTime<FixedOffset>> {
    let deadline = clock.deadline()?;
    let away = (deadline - now).num_milliseconds();
    let unit = if away.abs() < 3_600_000 { 1000 } else { 60_000 };
    let into = away.rem_euclid(unit);
    let tick = now + TimeDelta::milliseconds(if into == 0 { unit } else { into });
    let mark = clock.next_mark.map(|(_, at)| at).filter(|at| now < *at);
    Some(mark.map_or(tick, |mark| mark.min(tick)))
}

/// Returns the sign of a clock.
pub fn sign(clock: &ClockView) -> Sign {
    match (clock.state, clock.side) {
        (ClockState::Over, _) => Sign::new("▲", "over", Tone::BolePlate),
        (ClockState::Unsure, _) => Sign::new("▲", "not sure", Tone::Bole),
        (ClockState::Running, Use::Window) => Sign::new("◈", "open", Tone::Gilt),
        (ClockState::Running, _) if clock.share >= 0.75 => Sign::new("◆", "soon", Tone::Bole),
        (ClockState::Running, _) => Sign::new("◆", "running", Tone::Gilt),
        (ClockState::Waiting, _) => Sign::new("◇", "waiting", Tone::Rubbed),
        (ClockState::Come, _) => Sign::new("●", "come", Tone::Verdigris),
        (ClockState::Frozen, _) => Sign::new("■", "stands still", Tone::Bole),
    }
}

/// Returns the name of a part.
pub fn part(part: Pouring) -> &'static str {
    match part {
        Pouring::Resin => "resin (A)",
        Pouring::Hardener => "hardener (B)",
    }
}

/// Returns a number with at most two places and no idle noughts.
pub fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Returns grams with one place, as a balance shows them.
pub fn grams(value: f64) -> String {
    format!("{value:.1}")
}

/// Returns a bar of so many squares, as leaves laid filled to a share, 0 to 1.
pub fn bar(share: f64, cells: u16) -> String {
    let whole = usize::from(cells);
    let full = (0..whole)
        .filter(|cell| {
            let middle = (u32::try_from(*cell).map_or(0.0, f64::from) + 0.5) / f64::from(cells);
            middle <= share
        })
        .count();
    format!("{}{}", "■".repeat(full), "□".repeat(whole - full))
}

#[cfg(test)]
mod tests {
    use super::{TimeDelta, bar, number, span_down, span_up, words_of, words_up};

    #[test]
    fn what_is_left_is_rounded_down_and_what_is_waited_for_up() {
        assert_eq!(span_down(TimeDelta::milliseconds(599_999)), "09:59");
        assert_eq!(span_up(TimeDelta::milliseconds(599_001)), "10:00");
        assert_eq!(span_down(TimeDelta::milliseconds(3_659_999)), "1:00");
        assert_eq!(span_up(TimeDelta::milliseconds(3_600_001)), "1:01");
        assert_eq!(span_up(TimeDelta::hours(120) + TimeDelta::seconds(1)), "6d");
        assert_eq!(span_down(TimeDelta::hours(143)), "5d");
        assert_eq!(words_up(TimeDelta::minutes(24 * 60 + 1)), "1 d 1 h");
        assert_eq!(span_down(TimeDelta::seconds(-4)), "00:00");
    }

    #[test]
    fn spans_in_words() {
        assert_eq!(words_of(45), "45 s");
        assert_eq!(words_of(1020), "17 min");
        assert_eq!(words_of(11_100), "3 h 05");
        assert_eq!(words_of(187_200), "2 d 4 h");
    }

    #[test]
    fn numbers_carry_no_noise() {
        assert_eq!(number(1.40), "1.4");
        assert_eq!(number(0.1 + 0.2), "0.3");
        assert_eq!(number(-0.001), "0");
        assert_eq!(bar(0.5, 4), "■■□□");
        assert_eq!(bar(7.0, 2), "■■");
    }
}
