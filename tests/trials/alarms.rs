//! What rings: the rules that say which alarm is told when, in which words and how loud. No
//! clock runs here; every moment is given. What the desktop makes of it stands in `heralds`.

use chrono::TimeDelta;
use knuckle::alarm::{
    Bell, Notice, Pulse, Quiet, Ring, Rung, Turn, Urgency, bell, due, next_look, pulse, ringing,
    urgency, words,
};
use knuckle::card::ClockName;
use knuckle::deed::{Attended, ClockRule, ClockStart, Deed, Done, Line, Use, Work};
use knuckle::standing::{Book, ClockState, ClockView, Intent, Replayed, Standing, clock_views};

use crate::kit::{later, moment};
use crate::memory::{Bench, at, sample_cards};

/// Every clock of the trade, with the sides on which it can run.
pub(crate) const CLOCKS: [(ClockName, &[Use]); 17] = [
    (ClockName::Cup, &[Use::DoBefore]),
    (ClockName::Closing, &[Use::DoBefore]),
    (ClockName::Clamps, &[Use::WaitUntil]),
    (ClockName::Load, &[Use::WaitUntil]),
    (ClockName::Leftover, &[Use::WaitUntil]),
    (ClockName::FullCure, &[Use::WaitUntil]),
    (ClockName::Glove, &[Use::DoBefore]),
    (ClockName::Cartridge, &[Use::DoBefore]),
    (ClockName::Dwell, &[Use::Window]),
    (ClockName::Purge, &[Use::WaitUntil]),
    (ClockName::Drying, &[Use::WaitUntil]),
    (ClockName::Recoat, &[Use::WaitUntil, Use::Window]),
    (ClockName::TackEdge, &[Use::Window]),
    (ClockName::TackFlat, &[Use::Window]),
    (ClockName::TackHollow, &[Use::Window]),
    (ClockName::LeafSet, &[Use::WaitUntil]),
    (ClockName::Dust, &[Use::WaitUntil]),
];

/// The marks that a clock reaches on a side, as `ClockView` documents them.
pub(crate) fn marks(side: Use) -> &'static [u32] {
    match side {
        Use::DoBefore => &[50, 75, 90, 100],
        Use::WaitUntil => &[100],
        Use::Window => &[0, 90, 100],
    }
}

/// A clock on a side, begun at the hour, for two hours; a window opens after one.
pub(crate) fn clock(name: ClockName, side: Use) -> ClockView {
    let (opens, closes) = match side {
        Use::DoBefore => (None, Some(later(7200))),
        Use::WaitUntil => (Some(later(7200)), None),
        Use::Window => (Some(later(3600)), Some(later(7200))),
    };
    ClockView {
        id: "12.clock".to_owned(),
        figure: "hare".to_owned(),
        work: Work {
            operation: "mix-and-lay-up".to_owned(),
            target: Some("J3".to_owned()),
            round: 1,
        },
        clock: name,
        about: "J3, medium epoxy".to_owned(),
        started: later(0),
        side,
        attended: Attended::Hands,
        opens,
        likely: None,
        closes,
        share: 0.5,
        state: ClockState::Running,
        because: "given".to_owned(),
        provenance: "from sheet".to_owned(),
        ringing: None,
        next_mark: None,
    }
}

fn rings(mut view: ClockView, mark: u32, since: i64) -> ClockView {
    view.ringing = Some((mark, later(since)));
    view
}

fn cup(mark: u32, since: i64) -> ClockView {
    rings(clock(ClockName::Cup, Use::DoBefore), mark, since)
}

/// Asks and remembers, as the screen does.
pub(crate) fn tell(views: &[ClockView], quiet: Quiet, at: i64, memory: &mut Rung) -> Vec<Ring> {
    let told = due(views, quiet, later(at), memory);
    memory.keep(views, &told, later(at));
    told
}

#[test]
fn every_clock_has_its_own_action_at_every_mark_it_can_reach() {
    let generic = [
        "look at the work; half of its time is gone",
        "finish this work soon",
        "finish this work, the last of its time runs",
        "stop here and look at the work",
        "finish here, the window closes",
        "test the work: the clock alone does not say that it is ready",
    ];
    for (name, sides) in CLOCKS {
        for side in sides {
            for mark in marks(*side) {
                let (headline, action) = words(&clock(name, *side), *mark);
                assert!(!generic.contains(&action), "{name:?} at {mark}: {action}");
                assert!(headline.ends_with(" (J3, medium epoxy)"), "{headline}");
                let text = format!("{headline}{action}");
                assert!(!text.ends_with('.') && !text.contains('\n'), "{text}");
                assert!(action.chars().count() <= 80, "too long at 2 m: {action}");
            }
        }
    }
}

/// A journal may hold a clock on a side that today's program gives it never. It still has to
/// ring with something to do.
#[test]
fn no_clock_on_any_side_at_any_mark_is_without_an_action() {
    for (name, _) in CLOCKS {
        for side in [Use::DoBefore, Use::WaitUntil, Use::Window] {
            for mark in 0..=100 {
                let (headline, action) = words(&clock(name, side), mark);
                assert!(3 <= action.split(' ').count(), "{name:?} {side:?} {mark}");
                assert!(headline.contains(": "), "{headline}");
            }
        }
    }
}

#[track_caller]
fn check_words(name: ClockName, side: Use, mark: u32, expected: (&str, &str, Urgency)) {
    let view = clock(name, side);
    let (headline, action) = words(&view, mark);
    let found = (headline.as_str(), action, urgency(&view, mark));
    assert_eq!(found, expected);
}

/// The acts are *common practice* of the trade.
#[test]
fn the_words_say_what_has_happened_and_what_to_do() {
    use Urgency::{High, Low, Middle};
    let over = "cup: time is over (J3, medium epoxy)";
    let stop = "stop using the cup, take it outside";
    check_words(ClockName::Cup, Use::DoBefore, 100, (over, stop, High));
    let soon = "cup: 75 % of the time gone (J3, medium epoxy)";
    let use_up = "use the cup up; begin nothing new with it";
    check_words(ClockName::Cup, Use::DoBefore, 75, (soon, use_up, Middle));
    let half = "gloves: 50 % of the time gone (J3, medium epoxy)";
    let ready = "lay fresh gloves ready";
    check_words(ClockName::Glove, Use::DoBefore, 50, (half, ready, Low));
    let over = "gloves: time is over (J3, medium epoxy)";
    let change = "change gloves now";
    check_words(ClockName::Glove, Use::DoBefore, 100, (over, change, High));
    let over = "joint closing: time is over (J3, medium epoxy)";
    let close = "close it while the film is wet; if it is not, open it, clean it, glue anew";
    check_words(ClockName::Closing, Use::DoBefore, 100, (over, close, High));
    let come = "clamps: the time has come (J3, medium epoxy)";
    let nail = "clamps may come off: nail test first";
    check_words(ClockName::Clamps, Use::WaitUntil, 100, (come, nail, Low));
    let open = "size, edge: the window is open (J3, medium epoxy)";
    let test = "test edge, flat, hollow";
    check_words(ClockName::TackEdge, Use::Window, 0, (open, test, Low));
    let gone = "stripper: 90 % of the window gone (J3, medium epoxy)";
    let lift = "lift the stripper now, before it dries or bites";
    check_words(ClockName::Dwell, Use::Window, 90, (gone, lift, Middle));
    let over = "recoat: time is over (J3, medium epoxy)";
    let sand = "sand to a key before the next coat";
    check_words(ClockName::Recoat, Use::Window, 100, (over, sand, Middle));
    let come = "clearing of the air: the time has come (J3, medium epoxy)";
    let masks = "see that every source is covered, only then masks off";
    check_words(ClockName::Purge, Use::WaitUntil, 100, (come, masks, Low));
}

/// A clock whose end cannot be reckoned closes at once, also one that is waited for. It must
/// never be read as if the wait were over.
#[test]
fn a_wait_that_cannot_be_reckoned_never_says_that_it_has_come() {
    for (name, sides) in CLOCKS {
        for side in sides.iter().filter(|side| **side != Use::DoBefore) {
            let mut view = clock(name, *side);
            (view.opens, view.closes) = (None, Some(view.started));
            view.state = ClockState::Over;
            for mark in [0, 50, 90, 100] {
                let (headline, action) = words(&view, mark);
                assert!(headline.contains("cannot be reckoned"), "{headline}");
                assert!(action.contains("read the air"), "{action}");
                assert!(!action.contains(" off"), "{name:?}: {action}");
                assert_eq!(urgency(&view, mark), Urgency::Middle);
            }
        }
    }
}

#[test]
fn each_urgency_has_a_mark_and_a_word_of_its_own() {
    let found = [Urgency::Low, Urgency::Middle, Urgency::High].map(|u| (u.mark(), u.word()));
    assert_eq!(
        found,
        [("*", "when you can"), ("**", "soon"), ("***", "now")]
    );
}

#[track_caller]
fn check_repeat(view: ClockView, seconds: i64) {
    let mut memory = Rung::default();
    let views = [view];
    assert_eq!(
        tell(&views, Quiet::Off, 9000, &mut memory)[0].turn,
        Turn::First
    );
    for round in 1..=3 {
        let next = 9000 + round * seconds;
        let ahead = next_look(&views, Quiet::Off, later(next - 1), &memory);
        assert_eq!(ahead, Some(later(next)));
        assert_eq!(tell(&views, Quiet::Off, next - 1, &mut memory), []);
        assert_eq!(
            tell(&views, Quiet::Off, next, &mut memory)[0].turn,
            Turn::Again
        );
    }
}

/// Nobody answers, so it never ends by itself.
#[test]
fn an_alarm_comes_back_until_it_is_answered_and_sooner_when_it_is_urgent() {
    check_repeat(cup(100, 9000), 20);
    check_repeat(cup(90, 9000), 60);
    check_repeat(cup(75, 9000), 60);
    check_repeat(cup(50, 9000), 300);
    check_repeat(
        rings(clock(ClockName::Clamps, Use::WaitUntil), 100, 9000),
        300,
    );
    check_repeat(rings(clock(ClockName::TackFlat, Use::Window), 0, 9000), 300);
}

#[test]
fn an_answered_alarm_is_gone_and_the_next_mark_is_new() {
    let mut memory = Rung::default();
    tell(&[cup(50, 0)], Quiet::Off, 0, &mut memory);
    let answered = clock(ClockName::Cup, Use::DoBefore);
    assert_eq!(tell(&[answered], Quiet::Off, 600, &mut memory), []);
    let told = tell(&[cup(75, 601)], Quiet::Off, 601, &mut memory);
    assert_eq!((told[0].mark_percent, told[0].turn), (75, Turn::First));
}

#[test]
fn a_mark_that_moved_away_and_comes_again_is_new() {
    let mut memory = Rung::default();
    tell(&[cup(90, 0)], Quiet::Off, 0, &mut memory);
    // It got colder: the mark is not reached after all.
    tell(
        &[clock(ClockName::Cup, Use::DoBefore)],
        Quiet::Off,
        1,
        &mut memory,
    );
    let told = tell(&[cup(90, 5)], Quiet::Off, 5, &mut memory);
    assert_eq!(told[0].turn, Turn::First);
}

#[test]
fn alarms_of_one_moment_are_one_list_what_dies_first_on_top() {
    let mut over = cup(100, 9000);
    over.figure = "heron".to_owned();
    let mut soon = rings(clock(ClockName::Glove, Use::DoBefore), 50, 9000);
    soon.closes = Some(later(9060));
    let mut window = rings(clock(ClockName::TackFlat, Use::Window), 90, 9000);
    window.closes = Some(later(12000));
    let mut mended = rings(clock(ClockName::Recoat, Use::Window), 100, 9000);
    mended.closes = Some(later(7100));
    let come = rings(clock(ClockName::Clamps, Use::WaitUntil), 100, 9000);
    let views = [come, mended, window, soon, over];
    let told = due(&views, Quiet::Off, later(9000), &Rung::default());
    let heads: Vec<_> = told
        .iter()
        .map(|ring| ring.headline.split_once(':').unwrap().0)
        .collect();
    assert_eq!(heads, ["cup", "gloves", "size, flat", "recoat", "clamps"]);
    let one = Bell {
        urgency: Urgency::High,
        strokes: 3,
        pulse: Pulse::Quick,
    };
    assert_eq!(bell(&told), Some(one), "five alarms, one bell");
}

#[test]
fn ten_clocks_that_began_apart_ring_as_often_as_one() {
    let views: Vec<_> = (0..10)
        .map(|n| {
            let mut view = cup(90, n);
            view.id = format!("{n}.cup");
            view
        })
        .collect();
    let mut memory = Rung::default();
    let mut told = Vec::new();
    for second in 0..130 {
        let begun = usize::try_from(second + 1).unwrap().min(10);
        let rings = tell(&views[..begun], Quiet::Off, second, &mut memory);
        if !rings.is_empty() {
            assert_eq!(rings.len(), begun, "everything that rings is in the list");
            told.push(second);
        }
    }
    // Each is told when it is new; from then on all together, 60 s after the last.
    let expected: Vec<i64> = (0..10).chain([69, 129]).collect();
    assert_eq!(told, expected);
}

#[test]
fn two_figures_may_have_clocks_of_the_same_name() {
    let mut other = cup(50, 0);
    other.figure = "lion".to_owned();
    let mut memory = Rung::default();
    tell(&[cup(50, 0)], Quiet::Off, 0, &mut memory);
    let told = tell(&[cup(50, 0), other], Quiet::Off, 1, &mut memory);
    let turns: Vec<_> = told.iter().map(|r| (r.figure.as_str(), r.turn)).collect();
    assert_eq!(turns, [("hare", Turn::Again), ("lion", Turn::First)]);
}

#[test]
fn in_quiet_work_nothing_sounds_and_everything_is_seen() {
    let views = [
        cup(100, 0),
        rings(clock(ClockName::Dust, Use::WaitUntil), 100, 0),
    ];
    let mut memory = Rung::default();
    let told = tell(&views, Quiet::On, 0, &mut memory);
    assert_eq!(told.len(), 2);
    let silent = bell(&told).unwrap();
    assert_eq!((silent.strokes, silent.pulse), (0, Pulse::Slow));
    for urgency in [Urgency::Low, Urgency::Middle, Urgency::High] {
        assert_eq!(pulse(urgency, Quiet::On), Pulse::Slow);
    }
    let notice = Notice::of(&told, later(0)).unwrap();
    assert_eq!(notice.quiet, Quiet::On);
    // Between the tellings it is still seen.
    assert_eq!(tell(&views, Quiet::On, 1, &mut memory), []);
    assert_eq!(ringing(&views, Quiet::On, later(1), &memory).len(), 2);
    // When the leaf is laid, what nobody heard sounds at once.
    let heard = tell(&views, Quiet::Off, 2, &mut memory);
    assert_eq!(bell(&heard).unwrap().strokes, 3);
}

#[test]
fn no_beat_flashes_more_than_three_times_a_second() {
    // WCAG 2.2, success criterion 2.3.1: no more than three flashes in any second.
    for pulse in [Pulse::Slow, Pulse::Quick] {
        let whole = pulse.half().unwrap() * 2;
        assert!(whole * 3 >= std::time::Duration::from_secs(1), "{pulse:?}");
    }
    assert_eq!(Pulse::Steady.half(), None);
}

#[test]
fn an_end_that_passed_while_nobody_watched_is_told_late_with_its_true_time() {
    let mut memory = Rung::default();
    let now = 3 * 3600 + 300;
    let told = tell(&[cup(100, 7200)], Quiet::Off, now, &mut memory);
    assert_eq!(told[0].since, later(7200), "the true end, not now");
    assert_eq!(told[0].turn, Turn::First);
    assert_eq!(told[0].late_by, Some(TimeDelta::seconds(3900)));
    assert_eq!(
        told[0].when(later(now)),
        "since 11:00, told 1 h 05 min late"
    );
    // It stays as late as it was told, however long it goes on.
    let again = tell(&[cup(100, 7200)], Quiet::Off, now + 600, &mut memory);
    assert_eq!(again[0].late_by, Some(TimeDelta::seconds(3900)));
}

#[test]
fn an_alarm_told_within_a_minute_is_not_late() {
    let told = due(&[cup(100, 0)], Quiet::Off, later(60), &Rung::default());
    assert_eq!(told[0].late_by, None);
    assert_eq!(told[0].when(later(60)), "since 09:00");
}

#[track_caller]
fn check_when(since: &str, now: &str, expected: &str) {
    let (since, now) = (moment(since), moment(now));
    let mut view = cup(100, 0);
    view.ringing = Some((100, since));
    view.closes = Some(since);
    assert_eq!(
        due(&[view], Quiet::Off, now, &Rung::default())[0].when(now),
        expected
    );
}

#[test]
fn the_time_of_an_alarm_is_shown_on_the_clock_of_the_reader() {
    check_when(
        "2031-03-30T00:30:00+01:00",
        "2031-03-30T03:30:20+02:00",
        "since 01:30, told 2 h 00 min late",
    );
    check_when(
        "2031-03-03T18:00:00+01:00",
        "2031-03-05T07:10:00+01:00",
        "since 2031-03-03 18:00, told 1 d 13 h late",
    );
    check_when(
        "2031-03-05T07:05:00+01:00",
        "2031-03-05T07:10:00+01:00",
        "since 07:05, told 5 min late",
    );
}

#[test]
fn a_clock_set_back_silences_nothing() {
    let mut memory = Rung::default();
    tell(&[cup(100, 0)], Quiet::Off, 7200, &mut memory);
    let told = tell(&[cup(100, 0)], Quiet::Off, 3600, &mut memory);
    assert_eq!(told.len(), 1);
    assert_eq!(tell(&[cup(100, 0)], Quiet::Off, 3619, &mut memory), []);
    assert_eq!(tell(&[cup(100, 0)], Quiet::Off, 3620, &mut memory).len(), 1);
}

#[test]
fn a_sped_clock_does_not_ring_faster_than_the_ear() {
    let mut memory = Rung::at_pace(60);
    tell(&[cup(100, 0)], Quiet::Off, 0, &mut memory);
    assert_eq!(tell(&[cup(100, 0)], Quiet::Off, 1199, &mut memory), []);
    assert_eq!(tell(&[cup(100, 0)], Quiet::Off, 1200, &mut memory).len(), 1);
    assert_eq!(Rung::at_pace(0), Rung::default());
}

#[test]
fn nothing_rings_where_nothing_runs() {
    let memory = Rung::default();
    assert_eq!(due(&[], Quiet::Off, later(0), &memory), []);
    assert_eq!(next_look(&[], Quiet::Off, later(0), &memory), None);
    assert_eq!(bell(&[]), None);
    assert_eq!(Notice::of(&[], later(0)), None);
}

#[test]
fn the_next_look_is_at_the_next_mark_of_any_clock() {
    let mut view = clock(ClockName::Cup, Use::DoBefore);
    view.next_mark = Some((50, later(3600)));
    let mut sooner = clock(ClockName::Glove, Use::DoBefore);
    sooner.next_mark = Some((90, later(1800)));
    let look = |now| {
        next_look(
            &[view.clone(), sooner.clone()],
            Quiet::Off,
            now,
            &Rung::default(),
        )
    };
    assert_eq!(look(later(0)), Some(later(1800)));
    assert_eq!(look(later(1900)), Some(later(1900)), "never in the past");
}

#[test]
fn one_message_tells_all_and_says_what_it_leaves_out() {
    let mut views = vec![cup(100, 0)];
    for n in 1..=5 {
        let mut view = rings(clock(ClockName::Dust, Use::WaitUntil), 100, 0);
        view.id = format!("{n}.dust");
        view.about = "neck <oil & wax>\u{1b}".to_owned();
        views.push(view);
    }
    let told = due(&views, Quiet::Off, later(0), &Rung::default());
    let notice = Notice::of(&told, later(0)).unwrap();
    assert_eq!(notice.summary, "*** cup: time is over (J3, medium epoxy)");
    let other = "* hare: dust: the time has come (neck ‹oil and wax› ); \
                 look along the surface in raking light, then the coat may go on; since 09:00";
    let expected = [
        "hare: stop using the cup, take it outside",
        "since 09:00",
        other,
        other,
        other,
        "and 2 more on the screen",
    ];
    assert_eq!(notice.body.lines().collect::<Vec<_>>(), expected);
    assert_eq!((notice.urgency, notice.turn), (Urgency::High, Turn::First));
}

/// Through the journal: a pair of gloves for an hour, answered at the half; then the program
/// is off from 08:40 to 09:30, over the end at 09:00.
#[test]
fn a_journal_replayed_after_a_stop_rings_what_ended_meanwhile() {
    let start = at("2026-11-23T08:00:00+00:00");
    let mut bench = Bench::new(sample_cards(), start);
    pull_on_gloves(&mut bench, 60.0);
    let look = |bench: &Bench, memory: &mut Rung| {
        let views = clock_views(bench.house(), bench.now);
        let told = due(&views, Quiet::Off, bench.now, memory);
        memory.keep(&views, &told, bench.now);
        (told, next_look(&views, Quiet::Off, bench.now, memory))
    };
    let mut memory = Rung::default();
    let half = start + TimeDelta::minutes(30);
    assert_eq!(look(&bench, &mut memory), (vec![], Some(half)));
    bench.wait(30);
    let (told, _) = look(&bench, &mut memory);
    let rang = |ring: &Ring| (ring.mark_percent, ring.since, ring.action);
    let expected = (50, half, "lay fresh gloves ready");
    assert_eq!(told.iter().map(rang).collect::<Vec<_>>(), [expected]);
    let answer = Intent::AnswerAlarm {
        figure: told[0].figure.clone(),
        clock: told[0].clock.clone(),
        mark: told[0].mark_percent,
        rang_at: told[0].since,
    };
    bench.act(&answer).unwrap();
    let next = start + TimeDelta::minutes(45);
    assert_eq!(look(&bench, &mut memory), (vec![], Some(next)));

    bench.wait(60);
    let mut again = Standing::default();
    for (book, lines) in &bench.lines {
        again.replay_all(book, lines);
    }
    bench.standing = again;
    let (told, _) = look(&bench, &mut Rung::default());
    let end = start + TimeDelta::minutes(60);
    let expected = (100, end, "change gloves now");
    assert_eq!(told.iter().map(rang).collect::<Vec<_>>(), [expected]);
    assert_eq!(told[0].when(bench.now), "since 09:00, told 30 min late");
}

/// Keeps the line that starts a clock of gloves on the hare, as the program writes it.
fn pull_on_gloves(bench: &mut Bench, minutes: f64) {
    let book = Book::Figure("hare".to_owned());
    let work = Work {
        operation: "mix-and-lay-up".to_owned(),
        target: Some("J3".to_owned()),
        round: 1,
    };
    let deed = Deed::Done(Done {
        work,
        step: "gloves".to_owned(),
        starts: vec![ClockStart {
            clock: ClockName::Glove,
            about: "J3".to_owned(),
            rule: ClockRule::Span {
                early_min: minutes,
                likely_min: minutes,
                late_min: minutes,
                side: Use::DoBefore,
                because: "given".to_owned(),
            },
        }],
        ends: Vec::new(),
        coat: None,
    });
    let line = Line {
        n: 1,
        at: bench.now,
        by: bench.by.clone(),
        bench: "trial".to_owned(),
        deed,
        entered_later: None,
        strange: Vec::new(),
    };
    assert_eq!(bench.standing.replay(&book, &line), Replayed::Taken);
    bench.lines.entry(book).or_default().push(line);
}
