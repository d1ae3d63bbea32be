//! The closing round on the screen: what it finds open, and what closes before the doors open
//! again; and what a rubbing does to a recoat window.

use chrono::{DateTime, Datelike, FixedOffset, TimeDelta, Weekday};

use knuckle::card::{ClockName, GateKind, Hour, Span};
use knuckle::deed::{Deed, Done};
use knuckle::standing::{Ask, Book, ClockState, ClockView, Prompt, clock_views};

use crate::kit::sealed::Sealed;
use crate::memory::Bench;
use crate::played::{check, shop};

/// The hare's near side with one coat of primer on it, in front of this step.
fn coated(step: &str) -> Bench {
    let mut bench = shop();
    let mut is_on = |prompt: &Prompt| prompt.step == step;
    bench.walk_until("hare", "prime", Some("body-near"), &mut is_on);
    bench
}

fn recoat(bench: &Bench) -> ClockView {
    let mut views = clock_views(bench.house(), bench.now).into_iter();
    views.find(|view| view.clock == ClockName::Recoat).unwrap()
}

/// Two hours before a window closes, in a shop with such doors on that day.
fn shortly_before(closes: DateTime<FixedOffset>, doors: Hour) -> Bench {
    let mut bench = coated("coat#1-dry");
    bench.now = closes - TimeDelta::hours(2);
    let open = &mut bench.cards.shop.open;
    let day = match closes.weekday() {
        Weekday::Mon => &mut open.mon,
        Weekday::Tue => &mut open.tue,
        Weekday::Wed => &mut open.wed,
        Weekday::Thu => &mut open.thu,
        Weekday::Fri => &mut open.fri,
        Weekday::Sat => &mut open.sat,
        Weekday::Sun => &mut open.sun,
    };
    *day = doors;
    bench
}

/// The sheet's end is that of an unsanded coat (its card: "unsanded not after").
#[test]
fn a_coat_that_was_rubbed_down_takes_the_next_one_after_its_window() {
    let mut bench = coated("coat#1-rub");
    let first = recoat(&bench);
    let window = first.closes.unwrap() - first.started;
    bench.now = first.closes.unwrap() + TimeDelta::days(1);
    assert_eq!(recoat(&bench).state, ClockState::Over);
    let work = first.work.clone();
    let rubbed = bench.now + TimeDelta::minutes(2);
    while bench.prompt("hare", &work).step == "coat#1-rub" {
        let prompt = bench.prompt("hare", &work);
        bench.answer("hare", &work, &prompt);
    }
    let now = recoat(&bench);
    assert!(rubbed + window <= now.closes.unwrap(), "{now:?}");
    assert_eq!(now.state, ClockState::Running);
    assert!(
        now.because.contains(", from the rubbing on: "),
        "{}",
        now.because
    );
    // Nobody is asked at the coat to vouch for what the walk has just done.
    loop {
        let prompt = bench.prompt("hare", &work);
        let gate = match &prompt.ask {
            Ask::Gate(verdict) => Some(verdict.gate),
            _ => None,
        };
        assert_ne!(gate, Some(GateKind::Recoat), "{prompt:?}");
        bench.answer("hare", &work, &prompt);
        if prompt.step == "coat#2" && gate.is_none() {
            break;
        }
    }
    // Left alone for as long as an unsanded coat may be, it is scuffed again.
    bench.now = now.closes.unwrap() + TimeDelta::minutes(1);
    assert_eq!(recoat(&bench).state, ClockState::Over);
}

/// What clogs the paper keys nothing (common practice: powder, not crumbs).
#[test]
fn what_was_rubbed_before_it_was_dry_counts_for_nothing() {
    let mut bench = coated("coat#1-rub");
    let before = recoat(&bench);
    bench.now = before.started + TimeDelta::minutes(30);
    let work = before.work.clone();
    let act = Deed::Done(Done {
        work,
        step: "coat#1-rub".into(),
        starts: Vec::new(),
        ends: Vec::new(),
        coat: None,
    });
    bench.keep(&Book::Figure("hare".into()), act);
    assert_eq!(recoat(&bench).closes, before.closes);
}

#[test]
fn the_closing_round_tells_a_window_that_closes_with_the_doors_shut() {
    let closes = recoat(&coated("coat#1-dry")).closes.unwrap();
    let hour = format!("recoat closes {}, doors shut: ", closes.format("%H:%M"));
    let words = ["closing round", "running hare: ", &hour];
    let bench = shortly_before(closes, Hour(None));
    check((bench, "hare"), " g5", (&["alarm_answered"], &words));
    // Where the doors open before it, it is work of tomorrow, and the round says nothing.
    let minutes = |minutes| (closes + TimeDelta::minutes(minutes)).time();
    let doors = Hour(Some(Span {
        from: minutes(-30),
        to: minutes(30),
    }));
    let bench = shortly_before(closes, doors);
    let after = check((bench, "hare"), " g5", (&["alarm_answered"], &words[..1]));
    assert!(!after.page.contains("doors shut"), "{}", after.page);
}

/// A day on which the shop is closed besides is one on which nobody is there, for every answer.
#[test]
fn a_closed_day_is_known_to_whatever_warns_of_a_window() {
    let sealed = Sealed::whole();
    let more = "closed:\n  - { from: 2026-11-27, to: 2026-11-28 }\n";
    sealed.change("shop.yaml", ["closed:\n", more]);
    let page = sealed.told_at("2026-11-26T09:00:00Z", &["next"]);
    let bound = "hands are bound then (doors open Mon 30 Nov 07:30):\n  Fri 13:50 over: bandmaster";
    assert!(page.contains(bound), "{page}");
    let page = sealed.told_at("2026-11-27T09:00:00Z", &["next"]);
    let shut = "the doors are shut until Mon 30 Nov 07:30";
    assert!(page.contains(shut), "{page}");
    let page = sealed.told_at("2026-11-26T16:00:00Z", &["day", "--page"]);
    let row = "Fri 27 Nov 13:50 over, the shop is shut that day: bandmaster, recoat";
    assert!(page.contains(row), "{page}");
    // From Christmas on the sample is closed until the second of January.
    let page = sealed.told_at("2026-12-24T10:00:00Z", &["next"]);
    assert!(
        page.contains("the doors are shut until Sat 2 Jan"),
        "{page}"
    );
}

/// Nobody lays size for a morning on which nobody may lay leaf.
#[test]
fn size_waits_for_a_morning_on_which_somebody_who_may_gild_is_in() {
    let sealed = Sealed::whole();
    let next = || sealed.told_at("2026-11-25T09:00:00Z", &["next", "--by", "wren"]);
    let size = "size is laid from Wed";
    assert!(next().contains(size));
    let leaves = |trade: &str| {
        let line = format!("    trade: {trade}\n");
        let away = format!("{line}    away: [{{ from: 2026-11-26, to: 2026-12-11 }}]\n");
        sealed.change("shop.yaml", [&line, &away]);
    };
    leaves("gilder");
    let page = next();
    let away = "wren is away from Thu 26 Nov to Fri 11 Dec, by the shop card";
    assert!(page.contains(size) && page.contains(away), "{page}");
    leaves("painter");
    let page = next();
    assert!(!page.contains(size), "{page}");
    assert!(
        page.contains("no hour of tonight to lay its size"),
        "{page}"
    );
}
