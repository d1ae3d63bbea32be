//! The Dossier at every promised size, with colours and without, and what its keys and
//! touches do.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{buffer::Buffer, layout::Rect};

use knuckle::disk::Disk;
use knuckle::screen::keys::{Act, TABLE};
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{
    Dial, Dossier, Drawn, Event, Leaf, MapMark, Opening, Pane, Part, Reply, Shown, Sight, Silent,
    Turn, View, act,
};
use knuckle::shop::{Keeper, SampleDisk};
use knuckle::standing::{JointState, Progress, Repaint};

use crate::kit::{golden, picture, record};
use crate::memory::at;

const SIZES: [(u16, u16); 4] = [(60, 20), (80, 24), (120, 40), (200, 60)];

fn drawn(sight: &Sight, view: &View, (width, height): (u16, u16), depth: Depth) -> (Buffer, Drawn) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let look = Look { depth };
    let drawn = Pane { sight, view, look }.draw(buffer.area, &mut buffer);
    (buffer, drawn)
}

fn check(name: &str, (sight, view): &(Sight, View)) {
    for size in SIZES {
        let (buffer, _) = drawn(sight, view, size, Depth::Full);
        let file = format!("screens/{name}-{}x{}.txt", size.0, size.1);
        golden::check(&file, &picture::text(&buffer));
    }
    let (buffer, _) = drawn(sight, view, (80, 24), Depth::Plain);
    let file = format!("screens/{name}-plain-80x24.txt");
    golden::check(&file, &picture::text(&buffer));
    let (buffer, _) = drawn(sight, view, (120, 40), Depth::Full);
    let file = format!("pictures/{name}-120x40.svg");
    golden::check(&file, &picture::svg(&buffer));
}

#[test]
fn every_leaf_is_kept_at_every_size() {
    let bench = record::hare();
    check("dossier-map", &record::sight(&bench, Leaf::Map));
    check("dossier-joints", &record::sight(&bench, Leaf::Joints));
    check("dossier-layers", &record::sight(&bench, Leaf::Layers));
    check("dossier-photos", &record::sight(&bench, Leaf::Photos));
    check("dossier-plots", &record::sight(&bench, Leaf::Plots));
}

#[test]
fn no_size_is_too_small_and_no_depth_too_shallow() {
    let bench = record::hare();
    for leaf in Leaf::ALL {
        let (sight, mut view) = record::sight(&bench, leaf);
        for part in [0, 3, 24, 400] {
            view.dossier.part = part;
            for size in [(1, 1), (20, 5), (60, 20), (61, 21), (99, 20), (60, 80)] {
                let _picture = drawn(&sight, &view, size, Depth::Full);
            }
        }
        for depth in [Depth::Plain, Depth::Sixteen, Depth::Many] {
            let _picture = drawn(&sight, &view, (120, 40), depth);
        }
        let _picture = drawn(&sight, &view, (250, 80), Depth::Full);
    }
}

#[test]
fn without_colour_every_mark_keeps_its_symbol_and_its_word() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    let mut seen = Vec::new();
    for _ in 0..6 {
        let (buffer, _) = drawn(&sight, &view, (120, 40), Depth::Plain);
        let page = picture::text(&buffer);
        let coloured = picture::text(&drawn(&sight, &view, (120, 40), Depth::Full).0);
        assert_eq!(page, coloured, "only colours differ");
        seen.push(page);
        assert_eq!(act(&mut view, &sight, Act::Mark), Reply::Nothing);
    }
    for (page, words) in seen.iter().zip([
        ["◆ copy", "◈ keep"],
        ["○ nothing begun", "◇ studied"],
        ["○ no coat", "coats"],
        ["– not graded", "◑ 2 marked"],
        ["✕ worn in use", "○ not touched"],
        ["★ gold leaf", "☆ aluminium leaf"],
    ]) {
        for word in words {
            assert!(page.contains(word), "{word} in\n{page}");
        }
    }
    assert_eq!(view.dossier.mark, MapMark::Path, "round and round");
}

/// Who reads "stripped" takes the old paint, and the lead in it, for gone.
#[test]
fn only_what_was_stripped_to_the_end_is_called_stripped() {
    let mut shop = crate::played::shop();
    let progress = |shop: &crate::memory::Bench| {
        let zones = knuckle::standing::zone_facts(shop.house(), "hare");
        let seat = zones.into_iter().find(|zone| zone.id == "saddle-seat");
        seat.unwrap().progress
    };
    shop.walk_until("hare", "dry", Some("saddle-seat"), &mut |_| true);
    assert_eq!(progress(&shop), Progress::Studied, "being dried");
    shop.walk_until("hare", "strip", Some("saddle-seat"), &mut |_| true);
    assert_eq!(progress(&shop), Progress::Studied, "being stripped");
    let mut shop = crate::played::shop();
    shop.walk("hare", "strip", Some("saddle-seat"), &mut |_| None);
    assert_eq!(progress(&shop), Progress::Bared, "stripped to the end");
}

#[test]
fn a_zone_is_picked_by_key_and_by_touch_and_its_side_comes_to_the_front() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    let dossier = sight.dossier.clone().unwrap();
    let part = |id: &str| dossier.part_of(id).unwrap();
    act(&mut view, &sight, Act::Pick(1));
    assert_eq!(dossier.id(view.dossier.part), Some("head-near"));
    act(&mut view, &sight, Act::NextPart);
    assert_eq!(dossier.id(view.dossier.part), Some("head-off"));
    assert_eq!(view.dossier.side, 1, "it is drawn on the off side only");
    act(&mut view, &sight, Act::PartBefore);
    assert_eq!(
        (view.dossier.part, view.dossier.side),
        (part("head-near"), 0)
    );
    act(&mut view, &sight, Act::Side);
    assert_eq!(view.dossier.side, 1);
    act(&mut view, &sight, Act::Side);
    let (_, drawn) = drawn(&sight, &view, (120, 40), Depth::Full);
    let touched = drawn
        .touches
        .iter()
        .rev()
        .find(|touch| touch.act == Act::Part(u8::try_from(part("body-near")).unwrap()));
    act(&mut view, &sight, touched.unwrap().act);
    assert_eq!(view.dossier.part, part("body-near"));
    // All parts are reached by walking on; the list turns over with them.
    for _ in 0..dossier.parts.len() {
        act(&mut view, &sight, Act::NextPart);
    }
    assert_eq!(view.dossier.part, part("body-near"));
    assert_eq!(view.skip, (part("body-near") - 1) / 9 * 9);
    act(&mut view, &sight, Act::Part(250));
    assert_eq!(view.dossier.part, part("body-near"), "nothing lies there");
}

/// The number of a zone is its place on the card, as in the report, however far the list is.
#[test]
fn a_zone_keeps_its_number_when_the_list_is_turned_over() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    let dossier = sight.dossier.clone().unwrap();
    for skip in [0, 9, 18] {
        view.skip = skip;
        let page = picture::text(&drawn(&sight, &view, (200, 60), Depth::Plain).0);
        for (place, zone) in (1..).zip(&dossier.zones).skip(skip).take(9) {
            let name: String = zone.name.chars().take(20).collect();
            let row = format!("{place} {name}");
            assert!(page.contains(&row), "{row} in\n{page}");
        }
        for number in ["1◆", "8◆", "10◆", "12◈"] {
            assert!(page.contains(number), "{number} after {skip} in\n{page}");
        }
    }
    view.skip = 9;
    act(&mut view, &sight, Act::Pick(1));
    let number = number_of(&dossier, view.dossier.part);
    assert_eq!(number, Some((10, "saddle-seat")));
}

fn number_of(dossier: &Dossier, part: usize) -> Option<(usize, &str)> {
    let mut zones = (1..).zip(&dossier.zones);
    let id = dossier.id(part)?;
    let (number, zone) = zones.find(|(_, zone)| zone.id == id)?;
    Some((number, &zone.id))
}

#[test]
fn the_leaves_turn_both_ways_and_each_says_its_truth() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    let page = |view: &View| picture::text(&drawn(&sight, view, (120, 40), Depth::Full).0);
    act(&mut view, &sight, Act::LeafBefore);
    assert_eq!(view.dossier.leaf, Leaf::Plots);
    assert!(page(&view).contains("at most 12 %"));
    for _ in 0..3 {
        act(&mut view, &sight, Act::NextLeaf);
    }
    assert_eq!(view.dossier.leaf, Leaf::Layers);
    let layers = rolled(&sight, &view, (120, 40));
    for words in [
        "4 is the same as 5 of body near side, exposure 1, by the same brown",
        "not seen at saddle seat, exposure 1",
        "moved",
        "no verdict: the chip is not varnished",
        "● passes",
        "nobody has looked at: head near side",
    ] {
        assert!(layers.contains(words), "{words} in\n{layers}");
    }
    act(&mut view, &sight, Act::LeafBefore);
    let joints = page(&view);
    for words in [
        "▒ old filling, not bonded",
        "◫ taken apart",
        "gap map, mm",
        "2.30▾",
    ] {
        assert!(joints.contains(words), "{words} in\n{joints}");
    }
    act(&mut view, &sight, Act::Leaf(3));
    let photos = page(&view);
    assert!(
        photos.contains("before raking    ◇ said") && photos.contains("no file yet"),
        "{photos}"
    );
    assert!(photos.contains("camera says 2026-11-24 16:05"), "{photos}");
}

#[test]
fn a_contradiction_is_told_in_words_with_its_lines() {
    let mut bench = record::hare();
    let tie = knuckle::deed::LayersTied {
        one: record::place("saddle-seat", 1),
        relation: knuckle::deed::Relation::Above,
        other: record::place("strap", 4),
        by_marker: "red in the brown".into(),
    };
    let figure = "hare".into();
    bench
        .act(&knuckle::standing::Intent::TieLayers { figure, tie })
        .unwrap();
    let (sight, view) = record::sight(&bench, Leaf::Layers);
    for size in SIZES {
        let page = picture::text(&drawn(&sight, &view, size, Depth::Plain).0);
        // One line above the tables counts it; the first table stays in sight.
        for wanted in ["▲ 1 contradiction", "from the wood", "no number yet"] {
            assert!(page.contains(wanted), "{wanted} in\n{page}");
        }
        let all = rolled(&sight, &view, size);
        assert!(
            all.contains("▲ these run in a circle: one of them is a"),
            "{all}"
        );
        assert!(
            all.contains("saddle seat, exposure 1, layer 1 lies above"),
            "{all}"
        );
        let words = all.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("and no circle is left"), "{words}");
    }
}

#[test]
fn a_photograph_that_cannot_be_shown_says_why() {
    let bench = record::hare();
    let (mut sight, view) = record::sight(&bench, Leaf::Photos);
    let why = "this is not the photograph that was taken in: its hash differs";
    sight.pictures[0] = Some(Shown::Not(why.into()));
    let page = picture::text(&drawn(&sight, &view, (120, 40), Depth::Full).0);
    assert!(page.contains("taken in: its hash"), "{page}");
    let plain = picture::text(&drawn(&sight, &view, (120, 40), Depth::Plain).0);
    assert!(
        plain.contains('▓') || plain.contains('▒'),
        "shades of chalk:\n{plain}"
    );
}

/// The real round of the screen over the sample shop as the program carries it.
fn in_the_sample_shop(figure: &str, acts: &[Act]) -> (Sight, View) {
    let disk: Arc<dyn Disk> = Arc::new(SampleDisk::new());
    let (cards, flaws) = knuckle::shop::load(disk.as_ref(), Path::new("")).unwrap();
    assert_eq!(flaws, []);
    let mut keeper = Keeper::open(disk, "", cards).unwrap();
    let mut dial = Stands;
    let mut bell = Silent;
    let opening = Opening {
        look: Look::default(),
        banner: String::new(),
        by: "odile".into(),
        bench: "bench 1".into(),
        figure: Some(figure.into()),
    };
    let mut turn = Turn::new(&mut keeper, &mut dial, &mut bell, opening);
    let press = |code| Event::Key(KeyEvent::new(code, KeyModifiers::NONE));
    // The sentence above every card comes first; a disk that cannot be written says so.
    turn.look();
    for key in [KeyCode::Char(' '), KeyCode::Esc, KeyCode::Char('i')] {
        turn.take(press(key));
        turn.look();
    }
    for act in acts {
        let key = TABLE.iter().find(|row| row.act == *act).unwrap();
        turn.take(press(key.on[0]));
        turn.look();
    }
    let pane = turn.pane();
    (pane.sight.clone(), pane.view.clone())
}

struct Stands;

impl Dial for Stands {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        (at("2026-11-25T08:00:00+00:00"), None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<Duration> {
        None
    }
}

#[test]
fn the_sample_shop_has_evidence_worth_looking_at() {
    let (sight, _) = in_the_sample_shop("hare", &[]);
    let hare = sight.dossier.unwrap();
    assert_eq!(hare.sides.len(), 2);
    assert_eq!(hare.layers.contradictions, []);
    assert!(3 <= hare.layers.campaigns.len());
    let states: Vec<JointState> = hare.joints.iter().map(|joint| joint.state).collect();
    assert!(states.contains(&JointState::FilledLoose) && states.contains(&JointState::Apart));
    assert!(hare.joints.iter().any(|joint| joint.gaps.volume.is_some()));
    let verdicts = |dossier: &Dossier| -> Vec<bool> {
        let chips = dossier.chips.iter();
        chips
            .map(|(.., it)| matches!(it, Repaint::Judged { passes: true, .. }))
            .collect()
    };
    assert_eq!(verdicts(&hare), [false]);
    let (sight, _) = in_the_sample_shop("heron", &[]);
    let heron = sight.dossier.unwrap();
    assert_eq!(verdicts(&heron), [true]);
    assert!(
        heron.sides[0]
            .shapes
            .iter()
            .any(|(_, shape)| shape.is_joint)
    );
    let (sight, _) = in_the_sample_shop("bandmaster", &[]);
    assert_eq!(sight.dossier.unwrap().layers.contradictions.len(), 1);
    for figure in ["lantern-woman", "lion-boss"] {
        let (sight, view) = in_the_sample_shop(figure, &[]);
        let dossier = sight.dossier.clone().unwrap();
        let zones = dossier.parts_of(|part| matches!(part, Part::Zone(_)));
        let shown = |part: &&usize| dossier.sides.iter().any(|side| side.shows(**part));
        assert_eq!(zones.iter().filter(shown).count(), zones.len(), "{figure}");
        let _page = drawn(&sight, &view, (120, 40), Depth::Full);
    }
}

#[test]
fn before_and_after_are_read_from_the_shop_and_shown_side_by_side() {
    let leaves = [Act::NextLeaf, Act::NextLeaf, Act::NextLeaf];
    let (sight, mut view) = in_the_sample_shop("hare", &leaves);
    assert_eq!(view.dossier.leaf, Leaf::Photos);
    // The whole figure has one picture; the next part with photographs has two.
    assert!(matches!(sight.pictures, [Some(Shown::Picture(_)), None]));
    let dossier = sight.dossier.clone().unwrap();
    for _ in 0..40 {
        act(&mut view, &sight, Act::NextPart);
        if dossier.id(view.dossier.part) == Some("body-near") {
            break;
        }
    }
    let [before, after] = dossier.pair(view.dossier.part, None);
    assert_eq!(before.unwrap().station, "before");
    assert_eq!(after.unwrap().station, "layer reached");
}

/// Everything that the page shows when it is rolled from its head to its foot.
fn rolled(sight: &Sight, view: &View, size: (u16, u16)) -> String {
    let mut view = view.clone();
    view.scroll = 0;
    let mut pages: Vec<String> = Vec::new();
    for _ in 0..200 {
        let page = picture::text(&drawn(sight, &view, size, Depth::Full).0);
        if pages.last() == Some(&page) {
            return pages.concat();
        }
        pages.push(page);
        act(&mut view, sight, Act::Down);
    }
    panic!("it never comes to its end");
}

#[test]
fn nothing_is_dropped_on_a_small_screen_without_being_counted_and_reached() {
    let bench = record::hare();
    for size in [(60, 20), (80, 24)] {
        let (sight, mut view) = record::sight(&bench, Leaf::Map);
        view.dossier.part = 0;
        let head = picture::text(&drawn(&sight, &view, size, Depth::Full).0);
        for wanted in ["photographs missing", "more ↓"] {
            assert!(head.contains(wanted), "{wanted} in\n{head}");
        }
        let all = rolled(&sight, &view, size);
        for wanted in [
            "title: running hare",
            "owner: the seaside",
            "owner's number: ride 2",
            "maker: unknown; the",
            "made: about 1905",
            "marks: 5, stamped",
            "▲ lead: 19 of 21 zones",
            "not tested for lead:",
            "promised: 16 Apr 2027",
            "wettest core",
        ] {
            assert!(all.contains(wanted), "{wanted} in\n{all}");
        }
        let (sight, view) = record::sight(&bench, Leaf::Joints);
        let all = rolled(&sight, &view, size);
        for wanted in ["settled: opened", "mean 0.97 mm", "photograph, second"] {
            assert!(all.contains(wanted), "{wanted} in\n{all}");
        }
        let (sight, view) = record::sight(&bench, Leaf::Layers);
        let all = rolled(&sight, &view, size);
        for wanted in [
            "moved 2.4 in",
            "white ground",
            "no verdict",
            "passes,",
            "witness patch",
        ] {
            assert!(all.contains(wanted), "{wanted} in\n{all}");
        }
        let (sight, view) = record::sight(&bench, Leaf::Photos);
        let all = rolled(&sight, &view, size);
        for wanted in ["before raking", "taken in", "said"] {
            assert!(all.contains(wanted), "{wanted} in\n{all}");
        }
    }
}

#[test]
fn a_zone_tells_its_lead_and_every_operation_done_on_it() {
    let bench = record::hare();
    let (sight, view) = record::sight(&bench, Leaf::Map);
    let page = rolled(&sight, &view, (120, 40));
    for wanted in [
        "lead: yes 28 Nov 22:17, odile",
        "✓ Dry to target, round 3, done 29 Nov 00:12",
        "✓ Lead test and hazard plan, done 28 Nov",
        "✓ Dry to target, done 20 Nov 14:32",
        "✓ Photographs, drawing, grade, done 02 Nov",
    ] {
        assert!(page.contains(wanted), "{wanted} in\n{page}");
    }
    let mut view = view;
    view.dossier.part = sight.dossier.as_ref().unwrap().part_of("tail").unwrap();
    let page = rolled(&sight, &view, (120, 40));
    for wanted in ["▲ lead: not tested, so assumed", "nothing was done on it"] {
        assert!(page.contains(wanted), "{wanted} in\n{page}");
    }
}

#[test]
fn readings_of_one_day_have_their_day_on_the_axis() {
    let mut bench = crate::memory::Bench::new(
        crate::memory::sample_cards(),
        at("2026-11-12T08:10:00+00:00"),
    );
    bench.read_air("hare");
    bench.walk("hare", "dry", Some("body-near"), &mut |_| None);
    let (sight, view) = record::sight(&bench, Leaf::Plots);
    let page = picture::text(&drawn(&sight, &view, (80, 24), Depth::Full).0);
    assert!(page.contains("12 Nov "), "{page}");
}

/// Eight points of one round on arrival are no course over time.
#[test]
fn readings_of_one_round_are_told_in_words_and_not_drawn() {
    let (sight, mut view) = in_the_sample_shop("lion-boss", &[]);
    view.dossier.leaf = Leaf::Plots;
    for size in [(60, 20), (80, 24), (120, 40)] {
        let page = picture::text(&drawn(&sight, &view, size, Depth::Plain).0);
        assert!(page.contains("moisture, read in one round:"), "{page}");
        assert!(page.contains("1 skin: 9.5 %, 16 Nov 1"), "{page}");
        assert!(!page.contains('│') && !page.contains('┄'), "{page}");
    }
}

#[test]
fn a_picture_before_that_came_after_the_work_began_is_marked_on_the_leaf() {
    let mut bench = record::hare();
    let photo = knuckle::deed::PhotoKept {
        file: "photos/hare-body-near-before-raking.png".into(),
        sha256: "1".repeat(64),
        station: "before raking".into(),
        target: Some("body-near".into()),
        original: None,
        taken: None,
        pixels: None,
        turned: None,
    };
    let figure = "hare".to_owned();
    let kept = knuckle::standing::Intent::KeepPhoto { figure, photo };
    bench.act(&kept).unwrap();
    let (sight, view) = record::sight(&bench, Leaf::Photos);
    let all = rolled(&sight, &view, (80, 24));
    let marked = all.lines().filter(|line| line.contains("▲ late, taken in"));
    let marked: Vec<&str> = marked.collect();
    assert!(!marked.is_empty(), "{all}");
    assert!(
        marked.iter().all(|line| line.contains("before raking")),
        "the one that came in time is not marked: {marked:?}"
    );
}

/// The runs of signs of labels in the rows of the map, each with the row it stands in.
fn labels_of(page: &str, wide: u16) -> Vec<(String, String)> {
    let signs = "◈◐◆■○◇◌◧★◉✓◔◑◕●–✕☆≡";
    let beside = usize::from((wide * 2 / 5).clamp(24, 46) + 4);
    let is_of_label = |sign: char| sign.is_ascii_digit() || sign == 'J' || signs.contains(sign);
    let rows = page.lines().skip(3);
    let rows = rows.take_while(|row| !row.contains('━'));
    let mut rows: Vec<String> = rows
        .map(|row| row.chars().take(usize::from(wide) - beside).collect())
        .collect();
    // The last rows are the key of the map.
    while rows.last().is_some_and(|row| {
        row.trim().is_empty() || row.contains(|it: char| it.is_ascii_lowercase())
    }) {
        rows.pop();
    }
    let runs = rows.iter().flat_map(|row| {
        let runs = row
            .split(|sign| !is_of_label(sign))
            .filter(|run| !run.is_empty());
        runs.map(|run| (run.to_owned(), row.clone()))
    });
    runs.collect()
}

#[test]
fn no_two_labels_of_the_map_run_into_one_word() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    let is_one = |run: &str| {
        let joint = run
            .strip_prefix('J')
            .is_some_and(|it| it.parse::<u8>().is_ok());
        let mut signs = run.chars().rev();
        let symbol = signs
            .next()
            .is_some_and(|sign| !sign.is_ascii_alphanumeric());
        joint || (symbol && signs.all(|sign| sign.is_ascii_digit()))
    };
    for size in SIZES {
        for _ in 0..12 {
            let page = picture::text(&drawn(&sight, &view, size, Depth::Plain).0);
            let labels = labels_of(&page, size.0);
            assert!(8 < labels.len(), "{size:?}\n{page}");
            for (run, row) in labels {
                assert!(is_one(&run), "{run} in {row} at {size:?}");
            }
            act(&mut view, &sight, Act::Mark);
            if view.dossier.mark == MapMark::Path {
                act(&mut view, &sight, Act::Side);
            }
        }
    }
}

/// Everything that stands on the help, rolled from its head to its foot.
#[test]
fn the_help_names_every_leaf_key_mark_symbol_and_colour() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Map);
    for size in [(60, 20), (80, 24), (120, 40)] {
        view.over = knuckle::screen::Over::Nothing;
        act(&mut view, &sight, Act::Help);
        // Where a line breaks is no matter here.
        let help = rolled(&sight, &view, size);
        let words: Vec<&str> = help.split_whitespace().collect();
        let words = words.join(" ");
        for leaf in [
            "leaf map",
            "leaf joints",
            "leaf old paint",
            "leaf photographs",
            "leaf readings",
        ] {
            assert!(help.contains(leaf), "{leaf} in\n{help}");
        }
        for key in TABLE
            .iter()
            .filter(|row| row.place == knuckle::screen::keys::Place::Dossier)
        {
            let row = format!("  {}", key.shown);
            assert!(
                help.lines()
                    .any(|line| line.trim_start().starts_with(row.trim())),
                "{row}"
            );
        }
        for mark in [
            "by path",
            "by stage",
            "by coats",
            "by condition",
            "by wear",
            "by leaf",
        ] {
            assert!(help.contains(mark), "{mark}");
        }
        for class in [
            "◈ ▒▒▒ keep, gold",
            "◐ ··· cover, white",
            "◆ ░░░ copy, green",
            "■ ▓▓▓ leave, red",
            "nothing begun, grey",
            "✓ ▓▓▓ released, green",
            "9 coats or more",
            "4 failing",
            "not graded",
            "worn in use",
            "★ ▓▓▓ gold leaf",
            "≡ ░░░ wood",
            "▒ old filling, not bonded, red",
            "◉ glued anew, green",
            "◧ in clamps",
            "not seen at",
            "no file yet",
        ] {
            assert!(words.contains(class), "{class} in\n{help}");
        }
    }
}

#[test]
fn the_page_of_the_whole_figure_lists_the_photographs_of_every_part() {
    let bench = record::hare();
    let (sight, mut view) = record::sight(&bench, Leaf::Photos);
    view.dossier.part = 0;
    let all = rolled(&sight, &view, (80, 24));
    for wanted in [
        "▲ 38 photographs of its parts missing before work",
        "▲ missing, nothing irreversible before: before, before raking",
        "● taken in",
        "◇ said",
        "hare-body-near-before.png",
        "no file yet",
    ] {
        assert!(all.contains(wanted), "{wanted} in\n{all}");
    }
    view.dossier.part = sight
        .dossier
        .as_ref()
        .unwrap()
        .part_of("body-near")
        .unwrap();
    let all = rolled(&sight, &view, (80, 24));
    let before = all.lines().filter(|row| row.contains(" before  "));
    let before: Vec<&str> = before.collect();
    assert!(
        before
            .iter()
            .all(|row| row.contains("hare-body-near-before.png")),
        "{before:?}"
    );
    // The one picked is told in full.
    assert!(all.contains(&"0".repeat(40)), "{all}");
}
