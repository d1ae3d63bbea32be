//! What is planned for tonight at all: the tins that stand on the shelf, the panels whose ground
//! is there, and the words where it is not.

use chrono::{DateTime, Datelike, Duration, FixedOffset, NaiveTime, TimeDelta, Timelike};
use knuckle::card::{Cards, CureHours, RouteStop};
use knuckle::deed::{Deed, Line, LotOpened};
use knuckle::plan::{Certainty, Night, NightAsk, night, waiting_panels};
use knuckle::screen::{View, look::Depth};
use knuckle::standing::{Book, House, Standing};

use crate::kit::{nights, picture};
use crate::memory::at;
use crate::night::{NOW, air, asked, minutes_until, open, shop};
use crate::screens::drawn;

/// A tin opened at the bench, as `lot open` writes it.
fn opened(standing: &mut Standing, lot: &str) {
    let line = Line {
        n: 1000,
        at: at(NOW),
        by: "odile".into(),
        bench: "bench 1".into(),
        deed: Deed::LotOpened(LotOpened {
            material: "slow-size".into(),
            kind: knuckle::card::MaterialKind::Size,
            lot: lot.into(),
            part: String::new(),
            expires: None,
            pack: knuckle::deed::Pack::default(),
        }),
        entered_later: None,
        strange: Vec::new(),
    };
    let _taken = standing.replay(&Book::Shop, &line);
}

#[test]
fn a_tin_opened_at_the_bench_is_planned_with_and_none_names_the_way_out() {
    let mut cards = shop(1.0, (12, 30));
    for size in ["slow-size", "quick-size", "three-hour-size"] {
        cards.materials.get_mut(size).unwrap().lots.clear();
    }
    let mut standing = air(at(NOW), |_| (20.0, 50.0));
    let none = asked(&cards, &standing, "slow-size", 47.0 / 3.5);
    assert_eq!(none.certainty, None);
    let said = format!("{:?} {:?}", none.why_empty, none.notes);
    assert!(said.contains("knuckle lot open slow-size NUMBER"), "{said}");
    opened(&mut standing, "ZS-2611-05");
    // Of the size asked for there is none: that is said, and which other one would do.
    let quick = asked(&cards, &standing, "quick-size", 47.0 / 3.5);
    let why = quick.why_empty.unwrap();
    assert!(why.contains("knuckle lot open quick-size NUMBER"), "{why}");
    assert!(
        quick.would_open[0].starts_with("slow oil size, about 12 hours instead: lay at "),
        "{:?}",
        quick.would_open
    );
    let night = asked(&cards, &standing, "slow-size", 47.0 / 3.5);
    assert_eq!(night.certainty, Some(Certainty::Sure), "{night:?}");
    assert_eq!(night.size.unwrap().lot, "ZS-2611-05");
}

/// The plan of the hare with nothing named, or one panel.
fn plan(cards: &Cards, standing: &Standing, panels: &[&str]) -> Night {
    let house = House { cards, standing };
    let panels: Vec<String> = panels.iter().map(|panel| (*panel).to_owned()).collect();
    let ask = NightAsk {
        figure: "hare",
        panels: &panels,
        size: Some("slow-size"),
        gilders: 1,
        leaves_per_h: Some(60.0),
        tomorrow: *at(NOW).offset(),
    };
    night(house, &ask, at(NOW))
}

/// A panel whose zone is not primed yet is not planned, named or not; what comes first is said.
/// The panel beside it in a zone that is done is planned, and so is a second one there.
#[test]
fn a_panel_without_its_ground_has_no_time_and_says_what_comes_first() {
    let mut cards = shop(1.0, (17, 30));
    let hare = cards.figures.get_mut("hare").unwrap();
    let board = hare.panels[0].clone();
    for (id, zone) in [("edge", "strap"), ("spray", "fringe-near")] {
        hare.panels.push(knuckle::card::Panel {
            id: id.into(),
            name: id.into(),
            zone: zone.into(),
            area_m2: 0.02,
            ..board.clone()
        });
    }
    let prime = RouteStop {
        operation: "prime".into(),
        on: vec!["fringe-near".into()],
    };
    hare.route.insert(0, prime);
    let standing = air(at(NOW), |_| (20.0, 50.0));
    let house = House {
        cards: &cards,
        standing: &standing,
    };
    let waiting: Vec<String> = waiting_panels(house, "hare")
        .into_iter()
        .map(|(id, _)| id)
        .collect();
    assert_eq!(waiting, ["board", "edge"]);
    let title = &cards.checklists["prime"].title;
    for asked in [&[][..], &["board", "spray"]] {
        let night = plan(&cards, &standing, asked);
        assert!(
            night.pieces.iter().all(|piece| piece.panel != "spray") && !night.pieces.is_empty(),
            "{night:?}"
        );
        let (_, why) = night
            .left_out
            .iter()
            .find(|(panel, _)| panel == "spray")
            .unwrap();
        assert_eq!(
            *why,
            format!("its ground is not there yet: first “{title}”")
        );
    }
    let alone = plan(&cards, &standing, &["spray"]);
    assert_eq!((alone.best, alone.first_test), (None, None));
    assert_eq!(alone.works, []);
    assert!(
        alone
            .why_empty
            .unwrap()
            .contains("is ready for size tonight")
    );
}

/// A room of 20 °C by day whose nights fall to 13 °C or 18 °C, every other day.
fn uneven(at: DateTime<FixedOffset>) -> f64 {
    match at.hour() {
        9..18 => 20.0,
        hour => {
            let evening = at - TimeDelta::hours(if hour < 12 { 24 } else { 0 });
            if evening.ordinal().is_multiple_of(2) {
                13.0
            } else {
                18.0
            }
        }
    }
}

/// A night heating holds a floor: what may come last comes sooner, what may be dead first is
/// dead no sooner than a night that was warm anyway. The lay time is played through minute by
/// minute on the coldest heated and on the warmest night.
#[test]
fn a_room_held_warm_all_night_opens_a_morning() {
    let cards = shop(1.0, (12, 30));
    let standing = air(at(NOW), |at| (uneven(at), 60.0));
    let night = asked(&cards, &standing, "slow-size", 47.0 / 3.0);
    assert!(night.works.is_empty(), "{night:?}");
    let held = "the room held at 18 °C all night: lay at ";
    let way = night
        .would_open
        .iter()
        .find_map(|way| way.strip_prefix(held));
    let way = way.unwrap_or_else(|| panic!("{:?}", night.would_open));
    let laid = NaiveTime::parse_from_str(way, "%H:%M").unwrap();
    let laid = at(NOW).with_time(laid).unwrap();
    let by_day = |at: DateTime<FixedOffset>| (9..18).contains(&at.hour());
    let cold = |at| if by_day(at) { 20.0 } else { 18.0 };
    let done = laid + TimeDelta::minutes(30);
    let ready = done + TimeDelta::minutes(minutes_until(12.0, 2.4, done, &cold));
    let opens = at("2026-11-26T08:30:00+00:00");
    let start = ready.max(opens);
    let end = start + Duration::hours(3);
    assert!(end <= at("2026-11-26T12:30:00+00:00"), "ready {ready}");
    let dead = laid + TimeDelta::minutes(minutes_until(20.0, 1.6, laid, &cold));
    assert!(end + TimeDelta::minutes(30) <= dead, "{end} to {dead}");
}

/// One way is told, and it begins with these words.
fn opens_by(night: &Night, words: &str) {
    let ways = &night.would_open;
    assert_eq!(ways.len(), 1, "{ways:?}");
    assert!(ways[0].starts_with(words), "{ways:?}");
}

/// Six hours of leaf in a morning of four: a warm night alone leaves two hours too few, a
/// second pair of hands alone comes before the size is ready. Together they do.
#[test]
fn two_remedies_together_where_no_single_one_opens_a_time() {
    let mut cards = shop(1.0, (12, 30));
    cards.materials.retain(|id, material| {
        id == "slow-size" || material.kind != knuckle::card::MaterialKind::Size
    });
    let standing = air(at(NOW), |at| (uneven(at), 60.0));
    let night = asked(&cards, &standing, "slow-size", 47.0 / 6.0);
    let both = "one more gilder tomorrow, and the room held at 18 °C all night: lay at ";
    opens_by(&night, both);
}

/// Ready after 6 to 18 h: sure is one hour, likely the whole morning. Five hours of leaf fit
/// neither; with two pairs of hands they fit what is likely, and that word stands before it.
/// Where even that would not, the page says that nothing tried opens a time.
#[test]
fn what_opens_only_a_likely_time_says_so() {
    let mut cards = shop(1.0, (17, 30));
    cards.materials.retain(|id, material| {
        id == "slow-size" || material.kind != knuckle::card::MaterialKind::Size
    });
    cards.shop.open.wed = open((8, 30), (17, 0));
    let size = cards.materials.get_mut("slow-size").unwrap();
    size.tack_h = Some(CureHours {
        early: 6.0,
        likely: 9.0,
        late: 18.0,
        at_c: 20.0,
    });
    size.dead_h = Some(CureHours {
        early: 20.0,
        likely: 24.0,
        late: 34.0,
        at_c: 20.0,
    });
    let standing = air(at(NOW), |_| (20.0, 50.0));
    let night = asked(&cards, &standing, "slow-size", 47.0 / 5.0);
    assert_eq!((night.certainty, night.best), (None, None));
    let only = "only likely, and the chip decides: one more gilder tomorrow: lay at ";
    opens_by(&night, only);
    let never = asked(&cards, &standing, "slow-size", 47.0 / 40.0);
    assert!(never.would_open.is_empty(), "{:?}", never.would_open);
    let why = never.why_empty.unwrap();
    assert!(
        why.ends_with("No other size, fewer panels, second hand or warmer night opens a time"),
        "{why}"
    );
}

/// A log that ends in August is no outlook on a night in November.
#[test]
fn air_read_months_ago_is_a_guess_with_its_date() {
    let cards = shop(1.0, (12, 30));
    let standing = air(at(NOW) - Duration::days(100), |_| (20.0, 50.0));
    let night = asked(&cards, &standing, "slow-size", 47.0 / 3.5);
    assert!(
        night.because.contains("guess, last read on 17 Aug 2026: "),
        "{}",
        night.because
    );
    assert!(
        !night.because.contains("last seven days"),
        "{}",
        night.because
    );
}

/// One day in seven was hot, so that the size may be dead before the doors open: a test at
/// opening would come too late, and one in the night needs a hand. Both page and screen say it.
#[test]
fn a_first_test_behind_shut_doors_asks_for_a_hand() {
    let mut cards = shop(1.0, (17, 30));
    cards.shop.open.wed = open((8, 30), (17, 0));
    let standing = air(at(NOW), |at| {
        (if at.ordinal() % 7 == 0 { 26.0 } else { 16.0 }, 50.0)
    });
    let night = asked(&cards, &standing, "slow-size", 47.0);
    assert_eq!(night.certainty, Some(Certainty::Likely), "{night:?}");
    assert!(night.hand_at_test, "{night:?}");
    let test = night.first_test.unwrap();
    let there = |span: &knuckle::plan::Present| span.from <= test && test < span.to;
    assert!(!night.present.iter().any(there));
    let page = knuckle::report::night_page(&night, "hare");
    let said = format!(
        "a hand must be there at {}, while the doors",
        test.format("%a %H:%M")
    );
    assert!(page.contains(&said), "{page}");
}

/// On the least terminals nothing of the reason is lost: it wraps, the ruler gives way, and what
/// lies below the foot is turned to with the key that the foot names.
#[test]
fn why_nothing_is_sure_is_read_in_full_on_a_small_screen() {
    let (sight, mut view) = nights::unsure();
    let night = sight.night.clone().unwrap();
    let folded = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for size in [(80, 24), (60, 20)] {
        view.scroll = 0;
        let page = |view: &View| {
            let (buffer, _) = drawn(&sight, view, size, Depth::Full);
            folded(&picture::text(&buffer))
        };
        let first = page(&view);
        assert!(
            first.contains(&folded(night.why_empty.as_ref().unwrap())),
            "{first}"
        );
        assert!(first.contains("PgDn"), "{first}");
        assert!(first.contains("a hand must be there Wed 00:30"), "{first}");
        let mut seen = first;
        for scroll in 1..40 {
            view.scroll = scroll;
            seen.push_str(&page(&view));
        }
        let ways = night.would_open.iter().chain([&night.because]);
        for words in ways {
            assert!(seen.contains(words.as_str()), "{size:?}: never `{words}`");
        }
        assert!(page(&view).contains("PgUp back up"));
    }
}
