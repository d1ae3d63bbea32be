//! Laws of what rings, over any clocks: nothing is missed, nothing floods, quiet is quiet.

use chrono::{DateTime, FixedOffset};
use knuckle::alarm::{Quiet, Ring, Rung, Urgency, bell, due, next_look, ringing};
use knuckle::card::ClockName;
use knuckle::deed::Use;
use knuckle::standing::ClockView;
use proptest::prelude::{
    Just, ProptestConfig, Strategy, prop, prop_assert, prop_assert_eq, prop_oneof, proptest,
};

use crate::alarms::{CLOCKS, clock, marks, tell};
use crate::kit::later;

/// One clock in a property: which, on which side, when it reaches its marks (seconds).
fn any_clock(id: usize) -> impl Strategy<Value = (ClockView, Vec<(u32, i64)>)> {
    let kinds: Vec<(ClockName, Use)> = CLOCKS
        .iter()
        .flat_map(|(name, sides)| sides.iter().map(|side| (*name, *side)))
        .collect();
    (prop::sample::select(kinds), 0_i64..600).prop_map(move |((name, side), begins)| {
        let mut view = clock(name, side);
        view.id = format!("{id}.clock");
        let reached = marks(side)
            .iter()
            .enumerate()
            .map(|(step, mark)| (*mark, begins + 100 * i64::try_from(step).unwrap()))
            .collect();
        (view, reached)
    })
}

fn any_bench() -> impl Strategy<Value = Vec<(ClockView, Vec<(u32, i64)>)>> {
    (any_clock(0), any_clock(1), any_clock(2), any_clock(3))
        .prop_map(|(a, b, c, d)| vec![a, b, c, d])
}

fn at_second(bench: &[(ClockView, Vec<(u32, i64)>)], second: i64) -> Vec<ClockView> {
    let ringing = |(view, marks): &(ClockView, Vec<(u32, i64)>)| {
        let mut view = view.clone();
        let at = |(mark, at): &(u32, i64)| (*mark, later(*at));
        view.ringing = marks.iter().rev().find(|(_, at)| *at <= second).map(at);
        view.next_mark = marks.iter().find(|(_, at)| second < *at).map(at);
        view
    };
    bench.iter().map(ringing).collect()
}

fn ids(rings: &[Ring]) -> Vec<(String, u32)> {
    let id = |ring: &Ring| (ring.clock.clone(), ring.mark_percent);
    rings.iter().map(id).collect()
}

fn seconds(from: DateTime<FixedOffset>, to: DateTime<FixedOffset>) -> i64 {
    (to - from).num_seconds()
}

proptest! {
    // Each bench is followed second by second through its whole day.
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever runs: nothing that rings stays untold longer than its interval, nothing new
    /// waits, nothing old is told sooner than 20 s after the last time, and quiet is quiet.
    #[test]
    fn nothing_is_missed_and_nothing_floods(
        bench in any_bench(),
        quiet in prop_oneof![Just(Quiet::Off), Just(Quiet::On)],
    ) {
        let mut memory = Rung::default();
        let mut last: Option<i64> = None;
        let mut known: Vec<(String, u32)> = Vec::new();
        for second in 0..1500 {
            let views = at_second(&bench, second);
            let all = ringing(&views, quiet, later(second), &memory);
            let told = tell(&views, quiet, second, &mut memory);
            let is_new = ids(&all).iter().any(|id| !known.contains(id));
            let shortest = all.iter().map(|ring| match ring.urgency {
                Urgency::High => 20,
                Urgency::Middle => 60,
                Urgency::Low => 300,
            }).min();
            let is_due = match (shortest, last) {
                (Some(shortest), Some(last)) => shortest <= second - last,
                (Some(_), None) => true,
                (None, _) => false,
            };
            prop_assert_eq!(!told.is_empty(), is_new || is_due, "at {} s", second);
            if !told.is_empty() {
                prop_assert_eq!(&told, &all);
                prop_assert_eq!(bell(&told).unwrap().strokes == 0, quiet == Quiet::On);
                prop_assert!(told.iter().all(|ring| ring.late_by.is_none()));
                last = Some(second);
            }
            known = ids(&all);
        }
    }

    /// A screen that wakes only when told to misses nothing that one asking every second
    /// would tell.
    #[test]
    fn the_next_look_is_never_too_late(bench in any_bench()) {
        let every = |mut memory: Rung| -> Vec<i64> {
            (0..1500)
                .filter(|at| !tell(&at_second(&bench, *at), Quiet::Off, *at, &mut memory).is_empty())
                .collect()
        };
        let mut memory = Rung::default();
        let (mut at, mut woken) = (0, Vec::new());
        while at < 1500 {
            let views = at_second(&bench, at);
            if !tell(&views, Quiet::Off, at, &mut memory).is_empty() {
                woken.push(at);
            }
            let next = next_look(&views, Quiet::Off, later(at), &memory);
            let next = next.map_or(1500, |next| seconds(later(0), next));
            prop_assert!(at < next, "a look that wakes for nothing at {} s", at);
            at = next;
        }
        prop_assert_eq!(woken, every(Rung::default()));
    }

    /// The order of the list does not depend on the order of the clocks.
    #[test]
    fn the_list_is_the_same_whichever_clock_comes_first(
        bench in any_bench().prop_shuffle(),
        second in 0_i64..1500,
    ) {
        let mut sorted = bench.clone();
        sorted.sort_by(|a, b| a.0.id.cmp(&b.0.id));
        let told = |bench: &[_]| due(&at_second(bench, second), Quiet::Off, later(second), &Rung::default());
        prop_assert_eq!(told(&bench), told(&sorted));
    }
}
