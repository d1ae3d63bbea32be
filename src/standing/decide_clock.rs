//! What a hand may say to a clock: that it has ended, that its alarm was heard, that it shall
//! ring later.

use chrono::{DateTime, Duration, FixedOffset};

use super::clock;
use super::decide::{known_standing, one, person, said};
use super::{House, Moment, Refusal, Written};
use crate::card::ClockName;
use crate::deed::{AlarmAnswered, AlarmPutOff, ClockEnded, ClockRule, ClockStart, Deed, Use};

/// The word with which gloves or a cartridge are ended and fresh ones begun.
pub const CHANGED: &str = "changed";

/// An alarm that was put off rings again after this, minutes (own judgement: long enough to
/// finish a move, short against any wait of hours).
pub const PUT_OFF_MIN: i64 = 15;

/// Ends a clock by the word of a hand.
///
/// # Errors
/// A [`Refusal`] when it has ended, or is ended by its step only.
pub(super) fn end(
    house: House<'_>,
    moment: &Moment,
    figure: &str,
    (clock, how): (&str, &str),
) -> Result<Vec<Written>, Refusal> {
    said(how, "say how it ended")?;
    let standing = known_standing(house, figure)?;
    let kept = standing
        .clocks
        .iter()
        .find(|kept| kept.id == clock)
        .ok_or_else(|| match clock.strip_suffix(".drying") {
            // Seen by its readings alone: no line began it, and none ends it.
            Some(_) => Refusal::new("only readings end the drying: read the points again"),
            None => Refusal::new(format!("{figure} has no clock `{clock}`")),
        })?;
    if kept.ended.is_some() {
        return Err(Refusal::new("this clock has ended already"));
    }
    // A gate opens when the clock behind it has ended, so that what cures or dries is ended by
    // its step only, and washed wood by its readings once there are some. Cups, dwells and
    // gloves are judged by the hand.
    let view = clock::view(house, figure, kept, moment.at);
    let by_step = matches!(
        kept.rule,
        ClockRule::Cure { .. } | ClockRule::Recoat { .. } | ClockRule::Purge { .. }
    ) || view.provenance == clock::FROM_READINGS;
    let not_yet = view.opens.is_none_or(|opens| moment.at < opens);
    if by_step && not_yet {
        return Err(Refusal::new(format!(
            "{} has not come yet: no word ends it sooner",
            kept.about
        )));
    }
    // Fresh gloves and cartridges start their clock the moment the spent ones come off.
    let renewed = matches!(kept.clock, ClockName::Glove | ClockName::Cartridge) && how == CHANGED;
    let starts = if renewed {
        vec![ClockStart {
            clock: kept.clock,
            about: kept.about.clone(),
            rule: kept.rule.clone(),
        }]
    } else {
        Vec::new()
    };
    Ok(one(
        figure,
        Deed::ClockEnded(ClockEnded {
            clock: clock.to_owned(),
            how: how.to_owned(),
            starts,
        }),
    ))
}

/// Answers what rings.
///
/// # Errors
/// A [`Refusal`] when it does not ring any more.
pub(super) fn answer_alarm(
    house: House<'_>,
    moment: &Moment,
    (figure, clock): (&str, &str),
    (mark, rang_at): (u32, DateTime<FixedOffset>),
) -> Result<Vec<Written>, Refusal> {
    ringing(house, figure, (clock, mark), moment)?;
    #[expect(clippy::cast_precision_loss, reason = "milliseconds of a few days")]
    let after_s = (moment.at - rang_at).num_milliseconds().max(0) as f64 / 1000.0;
    let deed = AlarmAnswered {
        clock: clock.to_owned(),
        mark_percent: mark,
        rang_at,
        after_s,
    };
    Ok(one(figure, Deed::AlarmAnswered(deed)))
}

/// Returns the clock whose alarm rings at this mark.
fn ringing(
    house: House<'_>,
    figure: &str,
    (clock, mark): (&str, u32),
    moment: &Moment,
) -> Result<clock::ClockView, Refusal> {
    let standing = known_standing(house, figure)?;
    let kept = standing
        .clocks
        .iter()
        .find(|kept| kept.id == clock && kept.ended.is_none())
        .ok_or_else(|| Refusal::new("this clock has ended already"))?;
    let view = clock::view(house, figure, kept, moment.at);
    if view.ringing.is_some_and(|(ringing, _)| ringing == mark) {
        return Ok(view);
    }
    // At two benches two people reach for the same alarm.
    let answered = kept.answered.iter().rev();
    let by = answered
        .filter(|(answered, _)| mark <= *answered)
        .find_map(|(_, stamp)| person(house, &stamp.by).ok());
    Err(Refusal::new(by.map_or_else(
        || "this alarm does not ring now".to_owned(),
        |by| format!("{} has answered this alarm already", by.name),
    )))
}

/// Puts an alarm off. What must be done *before* its time does not wait; a window closes while
/// one waits; only what has come may be left a little longer without harm.
///
/// # Errors
/// A [`Refusal`] in words when it does not ring, or is nothing that is waited for.
pub(super) fn put_off(
    house: House<'_>,
    moment: &Moment,
    (figure, clock): (&str, &str),
    (mark, rang_at): (u32, DateTime<FixedOffset>),
) -> Result<Vec<Written>, Refusal> {
    let view = ringing(house, figure, (clock, mark), moment)?;
    let why = match view.side {
        Use::WaitUntil => None,
        Use::DoBefore => Some("must be done before its time"),
        Use::Window => Some("stands in a window that closes"),
    };
    if let Some(why) = why {
        let what = format!("{} {why}: its alarm is not put off", view.about);
        return Err(Refusal::new(what).remedy("answer it, and see to the work"));
    }
    let deed = AlarmPutOff {
        clock: clock.to_owned(),
        mark_percent: mark,
        rang_at,
        until: moment.at + Duration::minutes(PUT_OFF_MIN),
    };
    Ok(one(figure, Deed::AlarmPutOff(deed)))
}
