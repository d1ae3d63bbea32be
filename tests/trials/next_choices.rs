//! What `next` says of its choices: windows of their own only, gates that are shut, the night ruler
//! for gilding, questions from the bench, what was refused, and whom the next morning binds.

use crate::kit::sealed::{Sealed, refuse_bodice};

/// The sample shop at an hour of its last day, told as whoever asks.
fn next(sealed: &Sealed, hour: &str, words: &[&str]) -> String {
    next_on(sealed, &format!("2026-11-25T{hour}:00Z"), words)
}

fn next_on(sealed: &Sealed, clock: &str, words: &[&str]) -> String {
    sealed.told_at(clock, &[&["next"], words].concat())
}

fn act(sealed: &Sealed, by: &str, words: &[&str]) {
    sealed.told_at("2026-11-25T14:00:00Z", &[words, &["--as", by]].concat());
}

/// The lines that belong to one choice.
fn choice<'a>(page: &'a str, words: &str) -> &'a str {
    let from = page.find(words);
    let from = from.unwrap_or_else(|| panic!("{words} is not offered\n{page}"));
    let rest = page.get(from..).unwrap_or_default();
    let left = rest.find("\n   if left").unwrap_or(rest.len());
    let behind = rest.get(left + 1..).and_then(|rest| rest.find('\n'));
    let end = behind.map_or(rest.len(), |more| left + 1 + more);
    rest.get(..end).unwrap_or_default()
}

#[test]
fn a_window_belongs_to_its_own_work() {
    let sealed = Sealed::whole();
    let thursday = "2026-11-26T14:00:00Z";
    let page = next_on(&sealed, thursday, &[]);
    let prime = choice(&page, "bandmaster: Prime");
    assert!(prime.contains("closes Fri 13:50"), "{prime}");
    let page = next_on(&sealed, thursday, &["--by", "odile"]);
    assert!(!page.contains("closes Fri 13:50"), "{page}");
}

#[test]
fn a_gate_that_is_shut_is_said_and_no_air_is_called_fit_on_an_old_reading() {
    let sealed = Sealed::whole();
    let page = next(&sealed, "14:00", &["--by", "wren"]);
    let prime = choice(&page, "bandmaster: Prime");
    assert!(
        prime.contains(
            "shut till a hand opens it: above the dew (air was read 6 h ago: read it again)"
        ),
        "{prime}"
    );
    assert!(!page.contains("air fit"), "{page}");
}

#[test]
fn air_that_was_read_just_now_and_does_not_fit_keeps_the_coat_back() {
    let sealed = Sealed::whole();
    act(
        &sealed,
        "wren",
        &["air", "bench-room", "--temp", "9C", "--humidity", "60%"],
    );
    let page = next(&sealed, "14:05", &["--by", "wren"]);
    assert!(!page.contains("Prime, three coats"), "{page}");
}

#[test]
fn the_night_ruler_and_the_open_question_stand_beside_the_gilding() {
    let sealed = Sealed::whole();
    let page = next(&sealed, "14:00", &["--by", "wren", "--minutes", "160"]);
    let gild = choice(&page, "heron: Oil size and leaf");
    for words in [
        "size is laid from Wed 14:00 to Wed 17:10",
        "hands after it of size laid at Wed 14:00, which is best: first test Thu 07:30, leaf likely Thu 08:20 to Thu 10:05",
        "wren asked on 24 Nov: size the strap tonight, or wait for the drier night? (not answered yet)",
        "after Wed 17:10 its size waits for another night",
    ] {
        assert!(gild.contains(words), "{words}\n{gild}");
    }
    let why = "wait for the drier night";
    act(
        &sealed,
        "tobias",
        &["sign", "heron", "687", "--accept", "--why", why],
    );
    let answered = "tobias answered on 25 Nov: wait for the drier night (asked: ";
    for words in [&["standing"][..], &["tonight", "heron"]] {
        let clock = ["--clock", "2026-11-25T15:00:00Z"];
        let told = sealed.run(&[words, &clock].concat());
        let told = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(answered), "{words:?}: {told}");
    }
    let page = next(&sealed, "15:00", &["--by", "wren"]);
    let gild = choice(&page, "heron: Oil size and leaf");
    assert!(
        gild.contains("(answered by tobias: wait for the drier night)"),
        "{gild}"
    );
    assert!(
        gild.contains("why: wren asked on 24 Nov")
            && gild.contains("if left: nothing closes; do as its answer says"),
        "{gild}"
    );
    assert!(
        page.find("bandmaster: Prime") < page.find("heron: Oil size"),
        "{page}"
    );
    // Where no hour of tonight is left, the gilding is no window that closes.
    let late = next(&sealed, "17:20", &["--by", "wren"]);
    let gild = choice(&late, "heron: Oil size and leaf");
    assert!(
        gild.contains("no hour of tonight to lay its size"),
        "{gild}"
    );
    assert!(
        late.find("bandmaster: Prime") < late.find("heron: Oil size"),
        "{late}"
    );
}

#[test]
fn the_next_morning_is_told_where_the_minutes_run_past_closing() {
    let sealed = Sealed::whole();
    let thursday = "2026-11-26T16:30:00Z";
    let page = next_on(&sealed, thursday, &["--by", "wren", "--minutes", "160"]);
    for words in [
        "the doors close at 17:30: reckoned with 60 of 160 min",
        "hands are bound then (doors open Fri 27 Nov 07:30):",
        "Fri 13:50 over: bandmaster, trousers, oil primer, grey-white",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    let within = next(&sealed, "14:00", &["--by", "wren", "--minutes", "160"]);
    assert!(!within.contains("hands are bound"), "{within}");
}

#[test]
fn a_refused_hold_point_is_the_benchs_again() {
    let sealed = Sealed::whole();
    let why = "two patches of red left on the hem";
    let hold = refuse_bodice(why);
    act(&sealed, "tobias", &hold);
    let page = next(&sealed, "15:00", &["--by", "ines"]);
    let mine = choice(&page, "lantern-woman: Strip");
    assert!(
        mine.contains("Put right what was refused")
            && mine.contains("not signed: refused by tobias on Wed 25 Nov 14:00: two patches"),
        "{mine}"
    );
    let page = next(&sealed, "15:00", &["--by", "tobias"]);
    assert!(!page.contains("lantern-woman: Strip"), "{page}");
}

/// What the supervisor did not accept stands before all other reasons, and the work behind others.
#[test]
fn what_was_refused_is_told_before_the_work_goes_on() {
    let sealed = Sealed::whole();
    let before = next(&sealed, "14:30", &["--by", "wren"]);
    let prime = choice(&before, "bandmaster: Prime");
    assert!(!prime.contains("refused by"), "{prime}");
    let waiting = sealed
        .run(&["sign", "--json", "--clock", "2026-11-25T14:00:00Z"])
        .out;
    let row = waiting
        .lines()
        .map(|row| serde_json::from_str::<serde_json::Value>(row).unwrap())
        .find(|row| row["kind"] == "deviation" && row["figure"] == "bandmaster")
        .expect("the sample's primer has a deviation that waits");
    let line = row["line"].to_string();
    let refuse = [
        "sign",
        "bandmaster",
        &line,
        "--refuse",
        "--why",
        "sand it again",
    ];
    act(&sealed, "marguerite", &refuse);
    let after = next(&sealed, "14:30", &["--by", "wren"]);
    let prime = choice(&after, "bandmaster: Prime");
    assert!(
        prime.contains("refused by marguerite: sand it again"),
        "{prime}"
    );
}

/// What was read at the points has grown old: hands read them anew, so the window that closes
/// today is still offered, with the gate named.
#[test]
fn a_closing_window_is_not_dropped_for_a_reading_that_grew_old() {
    let sealed = Sealed::whole();
    for hour in ["12:35", "13:25"] {
        let clock = format!("2026-11-27T{hour}:00Z");
        let page = next_on(&sealed, &clock, &["--by", "wren", "--minutes", "160"]);
        assert!(page.starts_with("1  bandmaster: Prime"), "{page}");
        let prime = choice(&page, "bandmaster: Prime");
        assert!(
            prime.contains("closes Fri 13:50")
                && prime.contains("dry enough (a point was last read")
                && prime.contains("h ago: read the points anew)"),
            "{prime}"
        );
    }
}

/// The window closes before the doors of the next day do: a gap of any length tells it.
#[test]
fn a_window_that_closes_on_the_next_day_is_a_loss_today() {
    let sealed = Sealed::whole();
    let page = next_on(
        &sealed,
        "2026-11-26T12:30:00Z",
        &["--by", "wren", "--minutes", "160"],
    );
    let prime = choice(&page, "bandmaster: Prime");
    assert!(
        prime.contains("if left: after Fri 13:50 it must be scuffed and wiped first"),
        "{prime}"
    );
    let page = next_on(&sealed, "2026-11-26T08:00:00Z", &[]);
    assert!(
        page.contains("Fri 13:50 over: bandmaster") && !page.contains("no fixed hour"),
        "{page}"
    );
}

#[test]
fn a_gap_in_which_nothing_can_be_begun_is_told_what_comes_next() {
    let sealed = Sealed::whole();
    for minutes in ["15", "160"] {
        let page = next(&sealed, "08:00", &["--by", "wren", "--minutes", minutes]);
        let want = "\
nothing fits: all that is open waits, or needs another mark or more time
from 11:59 bandmaster: Prime, three coats, trousers
from 12:20 heron: Oil size and leaf, breast-strap
";
        assert!(page.starts_with(want), "{page}");
    }
    // The gap that reaches the hour is no such gap.
    let page = next(&sealed, "08:00", &["--by", "wren", "--minutes", "300"]);
    assert!(page.starts_with("1  heron: Oil size"), "{page}");
}

/// The question names the strap: it is no reason for work on the head.
#[test]
fn a_question_about_one_place_says_nothing_of_another() {
    let sealed = Sealed::whole();
    let page = next(&sealed, "08:00", &["--by", "ines", "--minutes", "30"]);
    let head = choice(&page, "heron: Photographs, drawing, grade, head");
    assert!(!head.contains("asked on"), "{head}");
}

/// What is filled is read at depth first (common practice: at most 12 % before fill and primer),
/// also where nothing was wetted and no drying stands on the route.
#[test]
fn a_gate_that_another_work_opens_leads_to_that_work() {
    let sealed = Sealed::whole();
    act(
        &sealed,
        "marguerite",
        &["sign", "lion-boss", "scheme", "--accept"],
    );
    let clock = ["--clock", "2026-11-25T14:05:00Z"];
    let told = sealed.run(&[&["standing", "lion-boss"], &clock[..]].concat());
    let fill = "Fill on mask; shut: no moisture reading at depth here; opened by Dry to target on \
                mask";
    assert!(told.out.contains(fill), "{}", told.out);
    for other in ["bandmaster", "hare", "heron", "lantern-woman"] {
        std::fs::remove_dir_all(sealed.shop().join("figures").join(other)).unwrap();
    }
    let told = sealed.run(&[&["next", "--minutes", "180"], &clock[..]].concat());
    let dry = choice(&told.out, "lion-boss: Dry to target, mask");
    assert!(
        dry.contains("opens Fill, shut: no moisture reading at depth here"),
        "{dry}"
    );
    let told = sealed.run(&[&["forecast", "lion-boss", "--runs", "16"], &clock[..]].concat());
    let place = |walk: &str| {
        told.out
            .find(walk)
            .unwrap_or_else(|| panic!("{}", told.out))
    };
    for zone in ["mask", "mane", "muzzle"] {
        let of = |operation: &str| place(&format!("{operation:<18}{zone}"));
        assert!(of("dry") < of("fill"), "{}", told.out);
    }
}

/// Filling that nobody did before the primer is not put between two of its coats.
#[test]
fn what_was_passed_over_on_the_route_is_told_and_not_laid_between_coats() {
    let sealed = Sealed::whole();
    let clock = ["--clock", "2026-11-25T14:05:00Z"];
    let told = sealed.run(&[&["standing", "bandmaster"], &clock[..]].concat());
    let passed = told.out.lines().find(|line| line.starts_with("passed"));
    assert!(
        passed.is_some_and(|line| line.contains("Fill on trousers")),
        "{}",
        told.out
    );
    let told = sealed.run(&[&["standing", "hare"], &clock[..]].concat());
    assert!(!told.out.contains("\npassed"), "{}", told.out);
    let told = sealed.run(&[&["forecast", "bandmaster", "--runs", "16"], &clock[..]].concat());
    let fills = told.out.lines().filter(|line| line.starts_with("fill "));
    let on_trousers = fills.filter(|line| line.contains("trousers")).count();
    assert_eq!(on_trousers, 0, "{}", told.out);
}

/// In the evening it is said first that nobody is let in.
#[test]
fn doors_that_are_shut_are_said() {
    let sealed = Sealed::whole();
    let page = next(&sealed, "20:30", &["--minutes", "60"]);
    assert!(
        page.contains("the doors are shut until Thu 26 Nov 07:30"),
        "{page}"
    );
    let page = next(&sealed, "10:00", &["--minutes", "60"]);
    assert!(!page.contains("the doors are shut"), "{page}");
}

/// No crack is filled before the joints through its zone are closed (common practice): J3 to J6 run
/// through the near side, and only J3 is ready to be glued.
#[test]
fn a_zone_waits_for_the_joints_that_run_through_it() {
    let sealed = Sealed::whole();
    for by in [&["--by", "odile"][..], &["--by", "tobias"], &[]] {
        let page = next(&sealed, "08:05", by);
        assert!(!page.contains("hare: Fill"), "{page}");
    }
    let told = sealed.told_at("2026-11-25T08:05:00Z", &["standing", "hare"]);
    let is_next = |words: &str| {
        let mut lines = told.lines();
        lines.any(|line| line.contains(words) && line.contains("next"))
    };
    assert!(is_next("Mix, lay up, clamp, release"), "{told}");
    assert!(!is_next("Fill"), "{told}");
}

/// Its walk waits for a signature, or is over: what was refused in it is for its hands all the same.
#[test]
fn what_was_refused_of_a_walk_that_nobody_can_go_on_with_is_its_hands_again() {
    let sealed = Sealed::whole();
    act(
        &sealed,
        "marguerite",
        &[
            "sign",
            "lantern-woman",
            "388",
            "--refuse",
            "--why",
            "look at the hands",
        ],
    );
    let words = "Put right what was refused, then write down what was done";
    let page = next(&sealed, "14:10", &["--by", "ines"]);
    let first = choice(&page, "1  lantern-woman: ");
    assert!(
        first.contains(words) && first.contains("refused by marguerite: look at the hands"),
        "{page}"
    );
    let other = next(&sealed, "14:10", &["--by", "wren"]);
    assert!(!other.contains(words), "{other}");
    let again = [
        "sign",
        "lantern-woman",
        "388",
        "--again",
        "--why",
        "no drop inside",
    ];
    act(&sealed, "ines", &again);
    let page = next(&sealed, "14:10", &["--by", "ines"]);
    assert!(!page.contains(words), "{page}");
}

/// A gap that reaches past the hour at which the coat opens says so, whatever else is offered.
#[test]
fn what_comes_within_the_gap_is_told_beside_the_choices() {
    let sealed = Sealed::whole();
    let page = next(&sealed, "08:00", &["--by", "wren", "--minutes", "300"]);
    let prime = "from 11:59 bandmaster: Prime, three coats, trousers\n";
    assert!(
        page.starts_with("1  heron: Oil size") && page.contains(prime),
        "{page}"
    );
}

/// Damp air keeps the coat back while its window closes: what opens it and what is lost is told.
#[test]
fn a_window_that_closes_behind_bad_air_is_told() {
    let sealed = Sealed::whole();
    let air = [
        "air",
        "bench-room",
        "--temp",
        "18C",
        "--humidity",
        "86%",
        "--as",
        "wren",
    ];
    sealed.told_at("2026-11-26T12:10:00Z", &air);
    for minutes in ["60", "160"] {
        let page = next_on(
            &sealed,
            "2026-11-26T12:11:00Z",
            &["--by", "wren", "--minutes", minutes],
        );
        let line = page.lines().find(|line| line.starts_with("kept shut: "));
        let line = line.unwrap_or_else(|| panic!("{page}"));
        for words in [
            "bandmaster: Prime, three coats, trousers; ",
            "air dry enough (air 86 %, at most 65 %)",
            "closes Fri 13:50, after Fri 13:50 it must be scuffed and wiped first",
        ] {
            assert!(line.contains(words), "{words}\n{line}");
        }
    }
}

/// What was refused at a step of the walk does not send its hands elsewhere.
#[test]
fn a_refused_deviation_hides_no_refused_hold_point() {
    let sealed = Sealed::whole();
    let refuse = [
        "sign",
        "lantern-woman",
        "388",
        "--refuse",
        "--why",
        "gloves",
    ];
    act(&sealed, "marguerite", &refuse);
    act(&sealed, "marguerite", &refuse_bodice("hem"));
    let page = next(&sealed, "14:10", &["--by", "ines", "--minutes", "60"]);
    let first = choice(&page, "1  lantern-woman: ");
    for words in [
        "then show it once more",
        "refused by marguerite: gloves",
        "hem",
    ] {
        assert!(first.contains(words), "{words}\n{page}");
    }
}

/// The journal has no pick of somebody who picked nothing.
#[test]
fn nobody_picks_for_somebody_else() {
    let sealed = Sealed::whole();
    let pick = ["next", "--by", "wren", "--pick", "1", "--as", "odile"];
    let clock = ["--clock", "2026-11-25T14:00:00Z"];
    sealed.refuses(
        &[&pick[..], &clock].concat(),
        2,
        "odile picks for nobody else\n where: --by\n    do: who picks writes it down: `--as wren --pick …`; nothing was written",
    );
    // A name as it is spoken is the same person.
    let own = ["next", "--by", "Wren", "--pick", "1", "--as", "wren"];
    let told = sealed.run(&[&own[..], &clock].concat());
    assert_eq!(told.code, 0, "{}", told.err);
}
