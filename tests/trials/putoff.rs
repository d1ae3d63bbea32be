//! Putting an alarm off: only what is waited for, for a quarter of an hour, kept in the journal.

use chrono::Duration;
use knuckle::card::ClockName;
use knuckle::deed::{ClockRule, Deed, Use};
use knuckle::report::tell;
use knuckle::standing::{ClockView, Intent};

use crate::clocks::{MORNING, Wall, span};

fn put_off(view: &ClockView) -> Intent {
    let (mark, rang_at) = view.ringing.expect("it rings");
    Intent::PutOff {
        figure: "owl".into(),
        clock: view.id.clone(),
        mark,
        rang_at,
    }
}

#[test]
fn what_has_come_rings_again_after_a_quarter_of_an_hour() {
    let mut wall = Wall::new(MORNING);
    wall.start(ClockName::Leftover, span(60.0, Use::WaitUntil));
    wall.bench.wait(61);
    let lines = wall.bench.act(&put_off(&wall.view(0))).unwrap();
    let now = wall.bench.now;
    let again = now + Duration::minutes(15);
    let Deed::AlarmPutOff(deed) = &lines[0].deed else {
        panic!("{lines:?}");
    };
    assert_eq!((deed.mark_percent, deed.until), (100, again));
    assert_eq!(
        tell(&lines[0], &wall.bench.cards),
        "put off the alarm of left-over cup (line 1), its time over, until 09:16"
    );
    for minute in [0, 14] {
        assert_eq!(wall.view(minute).ringing, None, "minute {minute}");
        assert_eq!(wall.view(minute).next_mark, Some((100, again)));
    }
    // It rings anew, as of then: nobody is told that it was forgotten for an hour.
    assert_eq!(wall.view(15).ringing, Some((100, again)));
    wall.bench.wait(16);
    let (mark, rang_at) = wall.view(0).ringing.unwrap();
    let answer = Intent::AnswerAlarm {
        figure: "owl".into(),
        clock: wall.view(0).id,
        mark,
        rang_at,
    };
    wall.bench.act(&answer).unwrap();
    assert_eq!(wall.view(0).ringing, None);
    assert_eq!(wall.view(600).ringing, None);
    wall.bench.assert_live_is_replayed();
}

#[test]
fn what_must_be_done_before_and_what_closes_is_not_put_off() {
    let window = ClockRule::Span {
        early_min: 10.0,
        likely_min: 40.0,
        late_min: 90.0,
        side: Use::Window,
        because: "trial".into(),
    };
    for (name, rule, why) in [
        (
            ClockName::Cup,
            span(60.0, Use::DoBefore),
            "plain must be done before its time: its alarm is not put off",
        ),
        (
            ClockName::Dwell,
            window,
            "plain stands in a window that closes: its alarm is not put off",
        ),
    ] {
        let mut wall = Wall::new(MORNING);
        wall.start(name, rule);
        wall.bench.wait(45);
        let refusal = wall.bench.act(&put_off(&wall.view(0))).unwrap_err();
        assert_eq!(refusal.why, why);
        assert_eq!(
            refusal.remedy.as_deref(),
            Some("answer it, and see to the work")
        );
        assert!(wall.view(0).ringing.is_some(), "it goes on ringing");
    }
}

#[test]
fn a_clock_set_back_keeps_nothing_still() {
    let mut wall = Wall::new(MORNING);
    wall.start(ClockName::Leftover, span(60.0, Use::WaitUntil));
    wall.bench.wait(90);
    wall.bench.act(&put_off(&wall.view(0))).unwrap();
    assert_eq!(wall.view(-1).ringing.map(|(mark, _)| mark), Some(100));
}

#[test]
fn what_does_not_ring_is_not_put_off() {
    let mut wall = Wall::new(MORNING);
    wall.start(ClockName::Leftover, span(60.0, Use::WaitUntil));
    let intent = Intent::PutOff {
        figure: "owl".into(),
        clock: wall.view(0).id,
        mark: 100,
        rang_at: wall.bench.now,
    };
    let refusal = wall.bench.act(&intent).unwrap_err();
    assert_eq!(refusal.why, "this alarm does not ring now");
}
