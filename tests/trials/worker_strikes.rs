//! Lines struck from the joiner's evening: at once, with a reason, and not at all.

use chrono::Duration;
use knuckle::card::ClockName;
use knuckle::deed::{Deed, Pouring};
use knuckle::standing::{Ask, AtStep, Book, Intent, JobState};

use crate::worker::{asked, at_the_balance, deviations, pour_off, until};

fn strike(line: u64, why: &str) -> Intent {
    Intent::Strike {
        book: Book::Figure("hare".into()),
        line,
        why: why.into(),
    }
}

#[test]
fn the_last_act_is_struck_at_once_within_ten_seconds_and_with_a_reason_after() {
    let (mut bench, work) = at_the_balance();
    let (_, asked_g) = asked(&bench, &work);
    bench
        .at_step(
            "hare",
            &work,
            AtStep::Pour {
                grams: asked_g + 30.0,
            },
        )
        .unwrap();
    let line = bench.standing.figures["hare"].last_n;
    let poured = bench.now;
    bench.now = poured + Duration::milliseconds(10_001);
    let no = bench.act(&strike(line, "")).unwrap_err();
    assert_eq!(no.why, "after 10 s a line is struck with its reason only");
    bench.now = poured + Duration::seconds(10);
    bench.act(&strike(line, "")).unwrap();
    assert_eq!(
        asked(&bench, &work),
        (Pouring::Resin, asked_g),
        "the pour no longer counts"
    );
    bench.assert_live_is_replayed();

    bench
        .at_step("hare", &work, AtStep::Pour { grams: asked_g })
        .unwrap();
    bench
        .at_step("hare", &work, AtStep::Pour { grams: 3.0 })
        .unwrap();
    let line = bench.standing.figures["hare"].last_n;
    bench.wait(5);
    bench.act(&strike(line, "misread the balance")).unwrap();
    assert_eq!(asked(&bench, &work).0, Pouring::Hardener);
    bench.assert_live_is_replayed();
}

/// Several lines may be one act: a good cup thrown in with its deviation, a last step with the
/// end of its operation.
#[test]
fn striking_the_last_act_strikes_all_that_it_wrote() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 3.0);
    let lines = bench.at_step("hare", &work, AtStep::Start).unwrap();
    assert_eq!(lines.len(), 3, "the mix, that it was off, the step");
    bench.act(&strike(lines[1].n, "")).unwrap();
    assert!(
        matches!(bench.prompt("hare", &work).ask, Ask::Start { .. }),
        "nothing was mixed"
    );
    assert_eq!(deviations(&bench), []);
    // What has met in the cup is live, pressed or not.
    let clocks = &bench.standing.figures["hare"].clocks;
    let running = clocks.iter().filter(|clock| clock.ended.is_none());
    let running: Vec<ClockName> = running.map(|clock| clock.clock).collect();
    assert_eq!(running, [ClockName::Glove, ClockName::Cup]);
    bench.assert_live_is_replayed();
}

#[test]
fn a_deviation_an_overrule_and_a_signature_cannot_be_struck_away() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 3.0);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    let line = bench.standing.figures["hare"].matters[0].stamp.n;
    bench.wait(5);
    let no = bench.act(&strike(line, "never happened")).unwrap_err();
    assert!(no.why.contains("stays"), "{}", no.why);
    assert_eq!(deviations(&bench).len(), 1);
    bench.by = "marguerite".into();
    let answer = Intent::Answer {
        figure: "hare".into(),
        line,
        accepted: false,
        why: "too much".into(),
    };
    bench.act(&answer).unwrap();
    let line = bench.standing.figures["hare"].last_n;
    bench.wait(5);
    bench.by = "odile".into();
    assert!(
        bench.act(&strike(line, "did not like it")).is_err(),
        "an answer is not struck by another"
    );
    bench.by = "marguerite".into();
    bench.act(&strike(line, "wrong line")).unwrap();
}

#[test]
fn a_correction_is_not_struck_and_no_line_is_struck_twice() {
    let (mut bench, work) = at_the_balance();
    let (_, asked_g) = asked(&bench, &work);
    bench
        .at_step("hare", &work, AtStep::Pour { grams: asked_g })
        .unwrap();
    let line = bench.standing.figures["hare"].last_n;
    bench.act(&strike(line, "")).unwrap();
    let no = bench.act(&strike(line, "again")).unwrap_err();
    assert_eq!(no.why, format!("line {line} is struck already"));
    let no = bench
        .act(&strike(line + 1, "it was right after all"))
        .unwrap_err();
    assert_eq!(
        no.why,
        format!("line {} is itself a correction: do the act again", line + 1)
    );
}

/// The end of an operation alone struck out left a walk that could neither go on nor begin anew.
#[test]
fn a_walk_whose_end_was_struck_is_closed_again_by_a_hand() {
    let (mut bench, work) = at_the_balance();
    until(&mut bench, &work, &|prompt| {
        matches!(prompt.ask, Ask::Finished { .. })
    });
    let last = bench.lines[&Book::Figure("hare".into())]
        .last()
        .unwrap()
        .clone();
    assert!(matches!(last.deed, Deed::Finished(_)));
    bench.wait(5);
    bench.by = "marguerite".into();
    bench
        .act(&strike(last.n, "shown to the wrong person"))
        .unwrap();
    assert_eq!(bench.prompt("hare", &work).ask, Ask::Act);
    bench.by = "odile".into();
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    let state = &bench.standing.figures["hare"].job(&work).unwrap().state;
    assert!(matches!(state, JobState::Finished(_)), "{state:?}");
    bench.assert_live_is_replayed();
}
