//! Hand-made nights, so that their drawing is tried apart from planning. All invented.

use chrono::{DateTime, FixedOffset, TimeDelta};
use knuckle::plan::{Certainty, LaySpan, Leafing, Night, Piece, PlaceSpan, Present, SizeChoice};
use knuckle::reckon::{LeafPlace, Minutes};
use knuckle::screen::{Page, Sight, View};
use knuckle::standing::{Ask, OwnTimes};

use super::scenes;

/// A moment so many hours after the noon before the night.
fn hour(hours: f64) -> DateTime<FixedOffset> {
    let noon = DateTime::parse_from_rfc3339("2031-03-04T12:00:00+01:00").unwrap();
    let minutes: i32 = format!("{:.0}", hours * 60.0).parse().unwrap();
    noon + TimeDelta::minutes(i64::from(minutes))
}

fn piece(panel: &str, name: &str, leaves: usize, hollows: bool) -> Piece {
    Piece {
        panel: panel.to_owned(),
        name: name.to_owned(),
        leaves,
        books: leaves.div_ceil(25),
        hollows,
        sizing_min: 20.0,
        laying_min: 90.0,
    }
}

/// Sized, leaf from and to, and for each place ready and dead, in hours after noon.
fn leafing(
    piece: Piece,
    sized: [f64; 2],
    leaf: [f64; 2],
    places: &[(LeafPlace, f64, f64)],
) -> Leafing {
    let places: Vec<PlaceSpan> = places
        .iter()
        .map(|(place, ready, dead)| PlaceSpan {
            place: *place,
            ready: hour(*ready),
            dead: hour(*dead),
        })
        .collect();
    Leafing {
        piece,
        sized: LaySpan {
            from: hour(sized[0]),
            to: hour(sized[1]),
        },
        ready: places.iter().map(|place| place.ready).max().unwrap(),
        dead: places.iter().map(|place| place.dead).min().unwrap(),
        start: hour(leaf[0]),
        end: hour(leaf[1]),
        places,
    }
}

/// A night with a sure time for two panels.
pub(crate) fn plan() -> Night {
    let (edge, flat, hollow) = (LeafPlace::Edge, LeafPlace::Flat, LeafPlace::Hollow);
    let strap = leafing(
        piece("strap", "breast strap", 47, false),
        [4.5, 4.75],
        [20.5, 22.0],
        &[(edge, 18.25, 26.5), (flat, 19.0, 27.5)],
    );
    let mane = leafing(
        piece("mane", "mane", 66, true),
        [4.75, 5.25],
        [22.0, 24.0],
        &[
            (edge, 18.5, 26.75),
            (flat, 19.5, 28.0),
            (hollow, 21.5, 30.0),
        ],
    );
    Night {
        figure: "hare".to_owned(),
        size: Some(SizeChoice {
            material: "slow-size".to_owned(),
            name: "slow oil size".to_owned(),
            lot: "ZS-2607-19".to_owned(),
            sealed: false,
            provenance: "from this lot (n = 6)".to_owned(),
        }),
        certainty: Some(Certainty::Sure),
        works: vec![LaySpan {
            from: hour(3.0),
            to: hour(5.0),
        }],
        best: Some(hour(4.5)),
        earliest: Some(hour(3.0)),
        latest: Some(hour(5.0)),
        pieces: vec![strap.piece.clone(), mane.piece.clone()],
        order: vec![strap, mane],
        first_test: Some(hour(12.5)),
        come_in_at: Some(hour(19.5)),
        margin: Some(Minutes(165.0)),
        present: [(2.1, 5.5), (19.5, 29.5)]
            .map(|(from, to)| Present {
                from: hour(from),
                to: hour(to),
            })
            .to_vec(),
        notes: vec!["lay the witness chip with the same brush; it may be touched".to_owned()],
        because: "from this lot (n = 6): ready 10–12 h, dead 20–24 h at 20 °C; 13–19 °C as in \
                  the last seven days; 30 min kept free before dead"
            .to_owned(),
        ..Night::default()
    }
}

/// The same night in which nothing is sure.
fn nothing_sure() -> Night {
    Night {
        certainty: Some(Certainty::Likely),
        works: Vec::new(),
        likely: plan().works,
        why_empty: Some(
            "the sure window is 1 h 10 min long and laying takes 3 h 30 min: lay a witness chip \
             and let the knuckle decide"
                .to_owned(),
        ),
        // The doors are shut at half past midnight.
        hand_at_test: true,
        would_open: [
            "old oil gold size, 12 to 18 hours instead: lay at 15:10",
            "one more gilder tomorrow: lay at 16:00",
            "fewer panels, breast strap: lay at 16:35",
            "the room held at 18 °C all night: lay at 17:05",
        ]
        .map(str::to_owned)
        .to_vec(),
        ..plan()
    }
}

fn shown(night: Night) -> (Sight, View) {
    let (mut sight, mut view) = scenes::bench(Ask::Act);
    view.page = Page::Night;
    sight.panels = [
        ("strap", "breast strap"),
        ("mane", "mane"),
        ("plume", "plume"),
    ]
    .map(|(id, name)| (id.to_owned(), name.to_owned()))
    .to_vec();
    sight.own_times = vec![OwnTimes {
        material: "slow-size".to_owned(),
        name: "slow oil size".to_owned(),
        lot: "ZS-2607-19".to_owned(),
        cases: 6,
        enough: true,
        trusted: None,
    }];
    view.night.without.insert("plume".to_owned());
    sight.night = Some(night);
    (sight, view)
}

/// The screen of a night with a sure time.
pub(crate) fn sure() -> (Sight, View) {
    shown(plan())
}

/// The screen of a night in which nothing is sure.
pub(crate) fn unsure() -> (Sight, View) {
    shown(nothing_sure())
}

/// The screen where no figure is at the bench.
pub(crate) fn whose() -> (Sight, View) {
    let (mut sight, mut view) = shown(plan());
    (sight.night, view.figure) = (None, None);
    (sight, view)
}
