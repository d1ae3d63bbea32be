//! What is typed at the commands, taken as it is meant or refused in plain words.

use std::fs;

use crate::kit::sealed::{Sealed, at_evening};

/// A shop in a zone that sets its clocks, in the morning after they were set back.
fn zoned() -> Sealed {
    let sealed = Sealed::at_work();
    let path = sealed.shop().join("shop.yaml");
    let text = fs::read_to_string(&path).unwrap();
    let lines = text.lines().filter(|line| !line.starts_with("time_zone:"));
    let text: Vec<&str> = lines.chain(["time_zone: Europe/Berlin"]).collect();
    knuckle::disk::replace(&knuckle::disk::RealDisk, &path, text.join("\n").as_bytes()).unwrap();
    sealed
}

fn air(at: &str) -> Vec<&str> {
    let noted =
        "air store --temp 18C --humidity 60% --as odile --clock 2026-11-25T18:00:00+01:00 --at";
    noted.split(' ').chain([at]).collect()
}

/// The last Sundays of March and October at 01:00 UTC (Directive 2000/84/EC, articles 2 and 3).
#[test]
fn a_time_without_an_offset_is_the_shop_s_own() {
    let sealed = zoned();
    for (at, written) in [
        (
            "2026-11-25 08:30",
            "\"at\":\"2026-11-25T08:30:00.000+01:00\"",
        ),
        (
            "2026-10-25T01:30",
            "\"at\":\"2026-10-25T01:30:00.000+02:00\"",
        ),
        (
            "2026-11-25T08:30:00+00:00",
            "\"at\":\"2026-11-25T09:30:00.000+01:00\"",
        ),
    ] {
        let told = sealed.run(&air(at));
        assert_eq!((told.code, told.err.as_str()), (0, ""), "{at}");
        let journal = fs::read_to_string(sealed.shop().join("journal.jsonl")).unwrap();
        assert!(journal.lines().last().unwrap().contains(written), "{at}");
    }
    sealed.refuses(
        &air("2026-10-25 02:30"),
        2,
        "this time comes twice: the clocks are set back over it\n where: --at 2026-10-25 02:30\n    \
         do: write it with its offset, 2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00",
    );
    sealed.refuses(
        &air("2026-03-29 02:30"),
        2,
        "this time is left out: the clocks are set forward over it\n where: --at 2026-03-29 02:30\n    \
         do: write it with its offset, 2026-03-29T02:30:00+01:00 or 2026-03-29T02:30:00+02:00",
    );
    let told = sealed.run(&air("half past eight"));
    assert_eq!(told.code, 2);
    assert!(
        told.err.contains("such as \"2026-11-25 08:30\""),
        "{told:?}"
    );
}

/// All questions are also put together, which two airs of one room cannot be.
#[test]
fn a_question_asks_for_one_change_of_a_room() {
    let sealed = Sealed::at_work();
    let asked = ["forecast", "--humidity", "store=50%", "--humidity"];
    let twice = [&asked[..], &["store=60%"]].concat();
    sealed.refuses(
        &twice,
        2,
        "`store` is given twice\n where: --humidity\n    do: ask one after the other, for all \
         questions are also put together",
    );
    sealed.refuses(
        &["forecast", "--warmer", "store=0C"],
        2,
        "`store=0C` leaves the room as it is\n where: --warmer\n    do: ask for a change, such as \
         `4C`",
    );
}

/// What was read in the old year and is typed in the new one is told with its year.
#[test]
fn a_moment_of_another_year_has_its_year() {
    let sealed = Sealed::at_work();
    let noted = "air store --temp 18C --humidity 60% --as odile --clock 2027-01-02T09:00:00+00:00";
    let words: Vec<&str> = noted.split(' ').collect();
    let old = [&words[..], &["--at", "2026-12-31 17:40"]].concat();
    let told = sealed.run(&old);
    assert!(told.out.contains(": 31 Dec 2026 17:40, "), "{told:?}");
    assert!(
        told.out.contains("(entered later, 2 Jan 2027 09:00)"),
        "{told:?}"
    );
    let new = [&words[..], &["--at", "2027-01-01 17:40"]].concat();
    let told = sealed.run(&new);
    assert!(told.out.contains(": 1 Jan 17:40, "), "{told:?}");
    assert!(
        told.out.contains("(entered later, 2 Jan 09:00)"),
        "{told:?}"
    );
}

#[test]
fn a_line_is_signed_by_its_name() {
    let sealed = Sealed::at_work();
    let mut sign = vec!["sign", "hare:6", "--accept", "--as", "marguerite"];
    // A bare yes is no answer to a question.
    let told = sealed.run(&at_evening(&sign));
    assert!(
        told.code == 2 && told.err.contains("answered in words"),
        "{told:?}"
    );
    sign.extend(["--why", "yes, after the second coat"]);
    let told = sealed.run(&at_evening(&sign));
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("answered line 6"), "{told:?}");
    let missing = |what: &str| {
        format!(
            "{what} is missing\n where: knuckle sign\n    \
             do: for example `knuckle sign hare:12 --accept --as marguerite`; nothing was written"
        )
    };
    sealed.refuses(&["sign", "hare"], 2, &missing("what is to be signed"));
    sealed.refuses(
        &["sign", "hare:5"],
        2,
        &missing("whether it is accepted or refused"),
    );
}

#[test]
fn what_cannot_be_taken_is_refused_in_plain_words() {
    let sealed = Sealed::at_work();
    let munsell = "write hue, value and chroma, such as \"5YR 4/6\", or a grey as \"N 5/\"";
    let whole = "write a whole number from 5 to 1440";
    for (words, says) in [
        (&["next", "--minutes", "abc"][..], whole),
        (&["next", "--minutes", "-5"], whole),
        (&["next", "--pick", "9"], "write a whole number from 1 to 3"),
        (&["forecast", "--seed", "abc"], "write a whole number"),
        (
            &["forecast", "--humidity", "store=400%"],
            "air holds from 0 to 100 % of humidity",
        ),
        (&["read", "hare"], "for example `knuckle read hare"),
        (&["layer", "hare", "tail/1/1", "--munsell", "xyz"], munsell),
        (
            &["layer", "hare", "tail/1/1", "--munsell", "5YR 11/2"],
            munsell,
        ),
        (
            &["layer", "hare", "tail/1/1", "--munsell", "N 5/2"],
            munsell,
        ),
        (
            &[
                "air",
                "store",
                "--temp",
                "18C",
                "--humidity",
                "60%",
                "--source",
                "../x",
            ],
            "letters and digits",
        ),
    ] {
        let told = sealed.run(words);
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{words:?}");
        assert!(told.err.contains(says), "{words:?}: {told:?}");
    }
    for notation in ["5YR 4/6", "2.5PB 3/12", "N 5/", "10R 9.5/0.5"] {
        let layer = [
            "layer",
            "hare",
            "tail/1/1",
            "--munsell",
            notation,
            "--as",
            "odile",
        ];
        let told = sealed.run(&at_evening(&layer));
        assert_eq!(told.code, 0, "{notation}: {told:?}");
    }
}

#[test]
fn a_tin_past_its_date_is_told() {
    let sealed = Sealed::at_work();
    let open = "lot open gold-leaf-80 G-77 --expires 2026-01-31 --as odile";
    let words: Vec<&str> = open.split(' ').collect();
    let told = sealed.run(&at_evening(&words));
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        told.err,
        "lot G-77 is past its date: look at the tin again\n"
    );
}
