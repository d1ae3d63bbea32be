//! Joints, moisture, coats, words and photographs as the dossier shows them, from walks of
//! the built-in checklists.

use knuckle::deed::{Deed, Value};
use knuckle::standing::{
    Ask, AtStep, Book, Depth, Intent, JointState, Photos, Prompt, coats, hollow, joints, moisture,
    moisture_target, photos, room_air, test_words,
};

use crate::kit::photo_kept;
use crate::memory::{Bench, at, sample_cards};

fn bench() -> Bench {
    let mut bench = Bench::new(sample_cards(), at("2026-11-04T09:00:00+00:00"));
    bench.read_air("hare");
    bench
}

/// Answers choices as told: record id and word.
fn choosing(
    said: &'static [(&'static str, &'static str)],
) -> impl FnMut(&Prompt) -> Option<AtStep> {
    move |prompt| match &prompt.ask {
        Ask::Choice { record, .. } => {
            let (_, word) = said.iter().find(|(id, _)| id == record)?;
            Some(AtStep::Enter {
                value: Value::Text((*word).into()),
                again: false,
            })
        }
        _ => None,
    }
}

fn surveyed(said: &'static [(&'static str, &'static str)]) -> JointState {
    let mut bench = bench();
    bench.walk("hare", "joint-survey", Some("J4"), &mut choosing(said));
    let all = joints(bench.house(), "hare");
    all.iter().find(|joint| joint.id == "J4").unwrap().state
}

#[test]
fn what_does_not_bond_counts_as_open_whatever_it_feels_like() {
    assert_eq!(
        surveyed(&[
            ("depth", "not at all"),
            ("moves", "stands still"),
            ("filler", "glue")
        ]),
        JointState::Sound
    );
    assert_eq!(
        surveyed(&[
            ("depth", "not at all"),
            ("moves", "stands still"),
            ("filler", "hard putty")
        ]),
        JointState::FilledLoose
    );
    assert_eq!(
        surveyed(&[
            ("depth", "not at all"),
            ("moves", "ticks"),
            ("filler", "glue")
        ]),
        JointState::Split
    );
    assert_eq!(
        surveyed(&[
            ("depth", "deeper"),
            ("moves", "stands still"),
            ("filler", "nothing")
        ]),
        JointState::Open
    );
}

#[test]
fn a_joint_is_told_from_survey_to_clamps_with_grams_and_lots() {
    let mut bench = bench();
    let seen = |bench: &Bench| {
        let all = joints(bench.house(), "hare");
        all.into_iter().find(|joint| joint.id == "J3").unwrap()
    };
    let before = seen(&bench);
    assert_eq!(before.state, JointState::NotSurveyed);
    assert_eq!(
        before.boards,
        ["body boards, near side".to_owned(), "back board".to_owned()]
    );
    // The card's own map: the middle of the five rows bows from 2.2 to 0.3 and back.
    assert!(before.gaps.from_card);
    assert_eq!(before.gaps.widest(), Some(2.4));
    bench.walk("hare", "joint-survey", Some("J3"), &mut |_| None);
    bench.walk("hare", "open-joint", Some("J3"), &mut |_| None);
    let open = seen(&bench);
    assert_eq!(open.state, JointState::Apart);
    assert!(!open.survey.is_empty() && open.since.is_some());
    assert_eq!(open.inside.len(), 3, "{:?}", open.inside);
    bench.walk("hare", "dry-fit", Some("J3"), &mut |_| None);
    let fitted = seen(&bench);
    assert!(!fitted.gaps.from_card);
    assert_eq!(fitted.gaps.rows.len(), 5);
    // All gaps as the walker reads them are alike, so the volume is face times gap.
    let gap = fitted.gaps.widest().unwrap();
    let volume = fitted.gaps.volume.unwrap().volume.0;
    assert!((volume - 400.0 * 120.0 * gap / 1000.0).abs() < 1e-6);
    assert!(fitted.clamps.rehearsal_min.is_some() && fitted.clamps.clamps.is_some());
    bench.walk_until("hare", "mix-and-lay-up", Some("J3"), &mut |prompt| {
        prompt.step == "stir"
    });
    let clamped = seen(&bench);
    assert_eq!(clamped.state, JointState::InClamps);
    assert!(!clamped.cups.is_empty());
    assert!(
        clamped
            .cups
            .iter()
            .all(|cup| 0.0 < cup.grams && !cup.lots[0].is_empty())
    );
    let hollow = hollow(bench.house(), "hare").unwrap();
    assert_eq!(hollow.seen_at, ["J3"]);
    assert_eq!(hollow.unseen_at.len(), 5);
    assert_eq!(knuckle::standing::hollow(bench.house(), "lion-boss"), None);
}

#[test]
fn moisture_stands_point_by_point_and_nothing_is_filled_in() {
    let mut bench = bench();
    bench.walk("heron", "dry", Some("strap"), &mut |_| None);
    let all = moisture(bench.house(), "heron");
    assert!(!all.is_empty());
    for series in &all {
        assert!(
            series
                .points
                .windows(2)
                .all(|pair| pair[0].at <= pair[1].at)
        );
    }
    let total: usize = all.iter().map(|series| series.points.len()).sum();
    let read = bench.standing.figures["heron"].readings.iter();
    let is_wood = |measure| {
        matches!(
            measure,
            knuckle::card::Measure::MoistureSkin | knuckle::card::Measure::MoistureCore
        )
    };
    assert_eq!(total, read.filter(|it| is_wood(it.measure)).count());
    assert!(all.iter().any(|series| series.depth == Depth::Core));
    assert!((moisture_target(bench.house(), "heron") - 12.0).abs() < 1e-9);
    let air = room_air(bench.house(), "heron");
    assert_eq!(air.temp_c.len(), air.humidity_percent.len());
    assert!(
        coats(bench.house(), "heron").is_empty() && test_words(bench.house(), "heron").is_empty()
    );
}

#[test]
fn a_picture_that_was_only_said_is_still_missing_from_the_folder() {
    let mut bench = bench();
    let look = |bench: &Bench| photos(bench.house(), "hare");
    let before = |photos: &Photos, zone: &str| -> Vec<(String, bool)> {
        let missing = photos.missing.iter().filter(|it| it.before_work);
        missing
            .filter(|it| it.target.as_deref() == Some(zone))
            .map(|it| (it.station.clone(), it.said))
            .collect()
    };
    let wanted = vec![
        ("before".to_owned(), false),
        ("before raking".to_owned(), false),
    ];
    assert_eq!(before(&look(&bench), "ears"), wanted);
    bench.walk("hare", "photograph", Some("ears"), &mut |_| None);
    // What may be left out lacks its file too, once a hand said that it was taken.
    let said = ["before", "before detail", "before raking", "before uv"];
    let said = said.map(|station| (station.to_owned(), true));
    assert_eq!(before(&look(&bench), "ears"), said);
    let photo = |station: &str, target: &str| {
        let file = format!("photos/hare-{target}-{station}.jpg");
        photo_kept(file, "0".repeat(64), (Some(target), station))
    };
    let figure = || "hare".to_owned();
    for station in ["before", "spliced", "before detail"] {
        let photo = photo(station, "ears");
        let figure = figure();
        bench.act(&Intent::KeepPhoto { figure, photo }).unwrap();
        bench.wait(1);
    }
    let photos = look(&bench);
    assert_eq!(
        before(&photos, "ears"),
        ["before raking", "before uv"].map(|station| (station.to_owned(), true))
    );
    let (first, last) = photos.before_and_after(Some("ears"));
    assert_eq!(first.unwrap().station, "before");
    assert_eq!(last.unwrap().station, "spliced");
    let strange = Intent::KeepPhoto {
        figure: figure(),
        photo: photo("before", "nose"),
    };
    let refused = bench.act(&strange).unwrap_err().why;
    assert_eq!(refused, "running hare has no zone, joint or panel `nose`");
    let book = Book::Figure("hare".into());
    let kept = bench.lines[&book].iter();
    assert_eq!(
        kept.filter(|line| matches!(line.deed, Deed::PhotoKept(_)))
            .count(),
        3
    );
}

#[test]
fn what_was_said_and_its_file_are_one_row_of_the_list() {
    let mut bench = bench();
    bench.walk("hare", "photograph", Some("ears"), &mut |_| None);
    for (station, file) in [("Before ", "a.jpg"), ("before", "b.jpg")] {
        let view = (Some("ears"), station);
        let photo = photo_kept(format!("photos/{file}"), "0".repeat(64), view);
        let figure = "hare".to_owned();
        bench.act(&Intent::KeepPhoto { figure, photo }).unwrap();
        bench.wait(1);
    }
    let photos = photos(bench.house(), "hare");
    let list = photos.list();
    let ears: Vec<_> = list.iter().filter(|it| it.target == Some("ears")).collect();
    let told = ears.iter().map(|row| {
        let file = row.file().map(|kept| kept.file.as_str());
        (row.station.trim(), row.said.is_some(), file, row.words())
    });
    assert_eq!(
        told.collect::<Vec<_>>(),
        [
            ("before", true, Some("photos/a.jpg"), "taken in"),
            ("before raking", true, None, "said to be taken, no file yet"),
            ("before uv", true, None, "said to be taken, no file yet"),
            ("before detail", true, None, "said to be taken, no file yet"),
            // What nobody said stands for itself.
            ("before", false, Some("photos/b.jpg"), "taken in"),
        ]
    );
    // What bars work stands before all else, and nothing stands twice.
    let missing = list.iter().take_while(|row| row.missing.is_some()).count();
    let not_said = photos.missing.iter().filter(|it| !it.said).count();
    assert_eq!(missing, not_said);
    assert_eq!(list.len(), not_said + 5);
    assert!(list[0].words().starts_with("missing; nothing irreversible"));
}

#[test]
fn what_was_settled_is_said_as_far_as_it_is_done() {
    let mut bench = bench();
    let settled = |bench: &Bench| {
        let all = joints(bench.house(), "hare");
        let joint = all.into_iter().find(|joint| joint.id == "J3").unwrap();
        joint.settled()
    };
    assert_eq!(settled(&bench), "");
    bench.walk("hare", "joint-survey", Some("J3"), &mut |_| None);
    assert_eq!(settled(&bench), "to be opened");
    bench.walk("hare", "open-joint", Some("J3"), &mut |_| None);
    assert_eq!(settled(&bench), "opened");
}
