//! Overrules counted gate by gate over the shop and the last thirty days, told to whoever
//! overrules and to the supervisor.

use chrono::Duration;
use knuckle::card::GateKind;
use knuckle::deed::{Deed, Overruled};
use knuckle::now::Zone;
use knuckle::report::{DaySpan, PageAsk, day_page};
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{Over, Page, Pane, Sight, View, keys::Act};
use knuckle::standing::{Ask, Book, OVERRULES_DAYS, OVERRULES_MANY, OverruleCount, overrules};
use ratatui::{buffer::Buffer, layout::Rect};

use crate::gates::{Gate, on};
use crate::kit::{picture, scenes};

fn overrule(gate: &mut Gate, figure: &str, kind: GateKind) -> u64 {
    let deed = Deed::Overruled(Overruled {
        work: on("trial", "front"),
        step: "s".into(),
        gate: kind,
        verdict: "air 71 %, at most 65 %".into(),
        why: "tented".into(),
        second: None,
    });
    let line = gate.bench.keep(&Book::Figure(figure.into()), deed);
    gate.wait(60);
    line.n
}

fn words(gate: &Gate) -> Vec<String> {
    let counts = overrules(gate.bench.house(), gate.bench.now);
    counts.into_iter().map(OverruleCount::words).collect()
}

#[test]
fn overrules_are_counted_by_gate_over_all_figures() {
    let mut gate = Gate::zone("gate: humidity");
    assert!(words(&gate).is_empty());
    overrule(&mut gate, "owl", GateKind::Humidity);
    overrule(&mut gate, "wren", GateKind::Humidity);
    overrule(&mut gate, "owl", GateKind::QuietAir);
    assert_eq!(
        words(&gate),
        [
            "gate `air dry enough` overruled twice in 30 days",
            "gate `no dust in the air` overruled once in 30 days"
        ]
    );
    overrule(&mut gate, "wren", GateKind::Humidity);
    overrule(&mut gate, "wren", GateKind::Humidity);
    assert_eq!(
        words(&gate)[0],
        "gate `air dry enough` overruled 4 times in 30 days: the rule or the work is wrong"
    );
}

#[test]
fn from_the_third_on_it_is_too_many_and_after_thirty_days_it_is_past() {
    let mut gate = Gate::zone("gate: humidity");
    for _ in 1..OVERRULES_MANY {
        overrule(&mut gate, "owl", GateKind::Humidity);
    }
    let many = |gate: &Gate| {
        let counts = overrules(gate.bench.house(), gate.bench.now);
        counts.iter().any(|count| count.is_many())
    };
    assert!(!many(&gate));
    overrule(&mut gate, "owl", GateKind::Humidity);
    assert!(many(&gate));
    // The first was an hour for each of them ago; a minute short of thirty days it counts.
    let hours = i64::try_from(OVERRULES_MANY).unwrap();
    gate.bench.now +=
        Duration::days(OVERRULES_DAYS) - Duration::hours(hours) - Duration::minutes(1);
    assert!(many(&gate));
    gate.bench.now += Duration::minutes(1);
    assert!(!many(&gate));
}

#[test]
fn the_supervisor_s_page_says_which_gate_and_how_often() {
    let mut gate = Gate::zone("gate: humidity");
    for _ in 0..OVERRULES_MANY {
        overrule(&mut gate, "owl", GateKind::Humidity);
    }
    let (now, house) = (gate.bench.now, gate.bench.house());
    let span = DaySpan::day(now.date_naive(), Zone::Named(chrono_tz::Tz::UTC));
    let page = day_page(&[], house, (&PageAsk::whole(span), now), None);
    let point = &page.points[2];
    assert_eq!(point.title, "gates overruled");
    assert_eq!(
        point.rows[0].text,
        "gate `air dry enough` overruled 3 times in 30 days: the rule or the work is wrong"
    );
    assert!(page.text().contains("overruled 3 times in 30 days"));
}

fn text(sight: &Sight, view: &View) -> String {
    let mut buffer = Buffer::empty(Rect::new(0, 0, 120, 40));
    let look = Look { depth: Depth::Full };
    Pane { sight, view, look }.draw(buffer.area, &mut buffer);
    picture::text(&buffer)
}

#[test]
fn who_overrules_is_told_and_the_day_page_of_the_screen_too() {
    let mut gate = Gate::zone("gate: humidity");
    for _ in 0..OVERRULES_MANY {
        overrule(&mut gate, "owl", GateKind::Moisture);
    }
    let ask = scenes::gate();
    assert!(matches!(&ask, Ask::Gate(verdict) if verdict.gate == GateKind::Moisture));
    let (mut sight, mut view) = scenes::bench(ask);
    sight.overrules = overrules(gate.bench.house(), gate.bench.now);
    assert!(text(&sight, &view).contains("overruled 3 times in 30 days"));
    knuckle::screen::act(&mut view, &sight, Act::Overrule);
    let Over::Write(write) = &view.over else {
        panic!("{:?}", view.over);
    };
    assert!(
        write
            .title
            .contains("overruled 3 times in 30 days: the rule or the work is wrong")
    );
    view.over = Over::Nothing;
    view.page = Page::Day;
    assert!(text(&sight, &view).contains("▲ gate `dry enough` overruled 3 times in 30 days"));
}
