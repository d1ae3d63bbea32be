//! The floor with few figures and with two hundred: what it shows, in which order, and that
//! what is picked is what is seen.

use chrono::Days;
use ratatui::{buffer::Buffer, layout::Rect};

use knuckle::screen::keys::Act;
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{AtRisk, Drawn, FloorOrder, Page, Pane, Sight, View, act};
use knuckle::standing::{Ask, Leg};

use crate::kit::{golden, picture, scenes};
use crate::played::floor_after;

/// Two hundred figures: those of the scene again and again, numbered and with promises apart.
fn many() -> (Sight, View) {
    let (mut sight, mut view) = scenes::bench(Ask::Act);
    view.page = Page::Floor;
    let rows = scenes::floor();
    sight.floor = (1..=200)
        .map(|nth: u64| {
            let mut row = rows[usize::try_from(nth - 1).unwrap() % rows.len()].clone();
            row.figure = format!("{}-{nth}", row.figure);
            row.name = format!("{} {nth}", row.name);
            row.promised = row.promised.map(|day| day + Days::new(nth * 37 % 300));
            row.since = row
                .since
                .map(|at| at - chrono::TimeDelta::minutes(i64::try_from(nth).unwrap()));
            row
        })
        .collect();
    let risk = |late_percent| AtRisk {
        late_percent,
        ninety: sight.floor[0].promised,
    };
    sight.at_risk = [
        ("lion-3".to_owned(), risk(40)),
        ("hare-97".to_owned(), risk(85)),
    ]
    .into();
    (sight, view)
}

fn drawn(sight: &Sight, view: &mut View, (width, height): (u16, u16)) -> (String, Drawn) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let look = Look { depth: Depth::Full };
    let drawn = Pane { sight, view, look }.draw(buffer.area, &mut buffer);
    view.rows = drawn.rows;
    (picture::text(&buffer), drawn)
}

/// Does acts on the floor, a drawing between each two, and returns the last page.
fn after(sight: &Sight, view: &mut View, size: (u16, u16), acts: &[Act]) -> String {
    let mut page = drawn(sight, view, size).0;
    for it in acts {
        act(view, sight, *it);
        page = drawn(sight, view, size).0;
    }
    page
}

fn seek(words: &str) -> Vec<Act> {
    let letters = words.chars().map(Act::Letter);
    std::iter::once(Act::Find)
        .chain(letters)
        .chain([Act::Next])
        .collect()
}

#[test]
fn two_hundred_figures_are_shown_at_every_size() {
    let (sight, mut view) = many();
    for size in [(60, 20), (80, 24), (120, 40), (200, 60)] {
        let page = drawn(&sight, &mut view, size).0;
        golden::check(
            &format!("screens/floor-many-{}x{}.txt", size.0, size.1),
            &page,
        );
    }
}

#[test]
fn the_rows_are_turned_over_and_the_place_is_told() {
    let (sight, mut view) = many();
    let size = (80, 24);
    let page = after(&sight, &mut view, size, &[]);
    assert!(page.contains("1–8 of 200"), "{page}");
    let page = after(&sight, &mut view, size, &[Act::FarDown, Act::Down]);
    assert!(page.contains("10–17 of 200"), "{page}");
    let page = after(&sight, &mut view, size, &[Act::Up, Act::Up, Act::FarUp]);
    assert!(page.contains("1–8 of 200"), "{page}");
    let page = after(&sight, &mut view, size, &[Act::FarDown; 40]);
    assert!(page.contains("193–200 of 200"), "{page}");
    // The page after the last is the first again.
    let page = after(&sight, &mut view, size, &[Act::More]);
    assert!(page.contains("1–8 of 200"), "{page}");
}

#[test]
fn a_number_takes_the_figure_beside_it_however_the_rows_were_turned() {
    let (sight, mut view) = many();
    let page = after(&sight, &mut view, (80, 24), &[Act::FarDown; 40]);
    let row = page.lines().find(|line| line.starts_with("  3  ")).unwrap();
    assert!(row.contains("Woman with the lantern"), "{page}");
    act(&mut view, &sight, Act::Pick(3));
    assert_eq!(view.figure.as_deref(), Some("lantern-woman-195"));
    assert_eq!(view.page, Page::Bench);
}

#[test]
fn a_touch_takes_the_figure_under_it_beyond_the_ninth_too() {
    let (sight, mut view) = many();
    let (page, drawn) = drawn(&sight, &mut view, (200, 60));
    let y = page
        .lines()
        .position(|line| line.contains("Bandmaster 24 "))
        .unwrap();
    let at = (20, u16::try_from(y).unwrap()).into();
    let touch = drawn.touches.iter().rev().find(|it| it.area.contains(at));
    act(&mut view, &sight, touch.unwrap().act);
    assert_eq!(view.figure.as_deref(), Some("bandmaster-24"));
}

#[test]
fn figures_are_sought_by_any_of_their_words() {
    let (sight, mut view) = many();
    let page = after(&sight, &mut view, (120, 40), &seek("GILDING 13"));
    // Every fifth from the third is a lion, and the lions stand in the gilding room.
    assert!(page.contains("sought: GILDING 13"), "{page}");
    for name in [
        "Lion boss 13 ",
        "Lion boss 113",
        "Lion boss 133",
        "Lion boss 138",
    ] {
        assert!(page.contains(name), "{name}\n{page}");
    }
    assert!(!page.contains("Heron 1"), "{page}");
    let page = after(&sight, &mut view, (120, 40), &seek("no such"));
    assert!(page.contains("no figure has these words"), "{page}");
    assert!(page.contains("0–0 of 0"), "{page}");
    let page = after(&sight, &mut view, (120, 40), &[Act::Back]);
    assert!(page.contains("of 200"), "{page}");
    // What is being written seeks already.
    let writing = [
        Act::Find,
        Act::Letter('1'),
        Act::Letter('9'),
        Act::Letter('9'),
    ];
    let page = after(&sight, &mut view, (120, 40), &writing);
    assert!(page.contains("1–1 of 1"), "{page}");
}

#[test]
fn another_order_comes_with_one_key() {
    let (sight, mut view) = many();
    let first = |page: &str| {
        let row = page.lines().find(|line| line.starts_with("  1  ")).unwrap();
        row.chars().skip(5).take(24).collect::<String>()
    };
    // The promise most at risk, then those at less, then the earliest.
    let page = after(&sight, &mut view, (120, 40), &[Act::Order]);
    assert_eq!(view.floor.order, FloorOrder::Promise);
    assert!(first(&page).contains("Running hare 97"), "{page}");
    assert!(page.contains("85 %"), "{page}");
    let page = after(&sight, &mut view, (120, 40), &[Act::Order]);
    assert!(first(&page).contains("Bandmaster 104"), "{page}");
    // Bandmaster waits for 70 hours and a minute for each of his number: 199 waits longest.
    let page = after(&sight, &mut view, (120, 40), &[Act::Order]);
    assert!(first(&page).contains("Bandmaster 199"), "{page}");
    after(&sight, &mut view, (120, 40), &[Act::Order]);
    assert_eq!(view.floor.order, FloorOrder::DiesFirst);
}

#[test]
fn a_figure_without_open_work_says_what_is_next_and_one_that_is_done_says_so() {
    let (mut sight, mut view) = many();
    sight.floor.truncate(5);
    sight.floor[4].ahead = sight.floor[0].doing.clone().map(|it| it.0);
    sight.floor[3].waits_for.clear();
    sight.floor[3].route = (14, 14);
    sight.floor[3].journey = vec![Leg::Done; 24];
    let page = drawn(&sight, &mut view, (120, 40)).0;
    assert!(page.contains("○ free  next: Strip · wing"), "{page}");
    assert!(page.contains("✓ done  its route is walked"), "{page}");
    assert!(!page.contains("nothing begun"), "{page}");
}

#[test]
fn a_line_kept_shows_on_the_floor_in_the_same_minute() {
    // The overview is made once in a minute; what was kept since is never hidden by that.
    let before = floor_after("f");
    let after = floor_after("fb<space>f");
    let row = |page: &str| {
        let at = page
            .lines()
            .position(|it| it.contains("running hare"))
            .unwrap();
        page.lines()
            .skip(at + 1)
            .take(2)
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_ne!(row(&before), row(&after), "{before}\n{after}");
}

/// On a small screen the wait may be longer than its row: since when stands before it, and the
/// promise stays a promise beside its risk.
#[test]
fn since_when_and_the_promise_stand_on_a_small_floor() {
    let (mut sight, mut view) = scenes::bench(Ask::Act);
    view.page = Page::Floor;
    let mut row = scenes::floor()[0].clone();
    row.waits_for = "signature: this version of the scheme and of the plan, approved".to_owned();
    row.next = None;
    row.since = Some(sight.now - chrono::TimeDelta::minutes(65));
    row.promised = Some(sight.now.date_naive() + Days::new(40));
    let risk = AtRisk {
        late_percent: 37,
        ninety: row.promised,
    };
    sight.at_risk = [(row.figure.clone(), risk)].into();
    let since = (sight.now - chrono::TimeDelta::minutes(65)).format("since %H:%M for signature");
    sight.floor = vec![row];
    let page = drawn(&sight, &mut view, (80, 24)).0;
    assert!(page.contains(&since.to_string()), "{page}");
    assert!(page.contains(" 13 Apr ▲ 90 % by 13 Apr"), "{page}");
}

/// A late day of another year has its year: else it reads as before the promise.
#[test]
fn a_late_day_of_another_year_has_its_year() {
    let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
    let risk = |ninety: &str| AtRisk {
        late_percent: 76,
        ninety: Some(day(ninety)),
    };
    let promised = Some(day("2027-05-28"));
    let words = |ninety: &str| risk(ninety).words(promised);
    assert_eq!(words("2028-02-23"), "▲ 90 % by 23 Feb 2028, late in 76 %");
    assert_eq!(words("2027-06-23"), "▲ 90 % by 23 Jun, late in 76 %");
}
