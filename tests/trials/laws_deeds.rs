//! What is written comes back: every deed from its text, with newer fields and tags kept, and
//! lines of an unknown version replayed without harm.

use chrono::{Duration, NaiveDate};
use knuckle::card::{
    ClockName, CureHours, GateKind, Measure, PotLifePoint, RecoatHours, SizeClass,
};
use knuckle::deed::{
    Air, AlarmAnswered, ChipRead, ClockEnded, ClockJumped, ClockRule, ClockStart, CupRead, Deed,
    Deviated, DeviationKind, Done, Forecasted, LayerPlace, LayerRead, LayersTied, Line, Marker,
    Metal, Mixed, Offered, Overruled, PhotoKept, Picked, Place, Promise, Recorded, Relation, Use,
    Value, Work,
};
use knuckle::screen::Dossier;
use knuckle::standing::{Book, House, Intent, Replayed, Standing, decide};
use proptest::prelude::*;
use serde_json::{Map, Value as Json};

use crate::laws::{assert_comes_back, cards, look, start};
use crate::memory::Bench;

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -1e4..1e4_f64,
        any::<f64>().prop_filter("JSON has finite numbers only", |n| n.is_finite())
    ]
}

fn any_work() -> impl Strategy<Value = Work> {
    ("\\PC{0,8}", prop::option::of("\\PC{0,8}"), any::<u32>()).prop_map(
        |(operation, target, round)| Work {
            operation,
            target,
            round,
        },
    )
}

fn any_sheet() -> impl Strategy<Value = CureHours> {
    let numbers = [any_number(), any_number(), any_number(), any_number()];
    numbers.prop_map(|[early, likely, late, at_c]| CureHours {
        early,
        likely,
        late,
        at_c,
    })
}

fn any_pot_life() -> impl Strategy<Value = ClockRule> {
    let point = [any_number(), any_number(), any_number()];
    let point = point.prop_map(|[minutes, grams, temp_c]| PotLifePoint {
        minutes,
        grams,
        temp_c,
    });
    let sheet = prop::collection::vec(point, 0..3);
    (sheet, any_number(), prop::option::of(any_number())).prop_map(|(sheet, grams, resin_c)| {
        ClockRule::PotLife {
            sheet,
            grams,
            resin_c,
        }
    })
}

fn any_tack() -> impl Strategy<Value = ClockRule> {
    let place = prop::sample::select(vec![Place::Edge, Place::Flat, Place::Hollow]);
    let class = prop::sample::select(vec![
        SizeClass::Quick,
        SizeClass::ThreeHour,
        SizeClass::Slow,
        SizeClass::OldGold,
    ]);
    (class, place, any_sheet(), any_sheet()).prop_map(|(class, place, ready, dead)| {
        ClockRule::Tack {
            class,
            place,
            ready,
            dead,
        }
    })
}

fn any_span() -> impl Strategy<Value = ClockRule> {
    let side = prop::sample::select(vec![Use::DoBefore, Use::WaitUntil, Use::Window]);
    let minutes = [any_number(), any_number(), any_number()];
    (minutes, side).prop_map(
        |([early_min, likely_min, late_min], side)| ClockRule::Span {
            early_min,
            likely_min,
            late_min,
            side,
            because: "on the sheet".into(),
        },
    )
}

fn any_rule() -> impl Strategy<Value = ClockRule> {
    let recoat = ([any_number(), any_number()], prop::option::of(any_number()));
    let recoat = (recoat, any_number()).prop_map(|((min_h, max_h), at_c)| ClockRule::Recoat {
        sheet: RecoatHours { min_h, max_h, at_c },
    });
    let purge = [any_number(), any_number(), any_number()];
    let purge = purge.prop_map(|[changes_per_h, to_fraction, mixing]| ClockRule::Purge {
        room: "store".into(),
        changes_per_h,
        to_fraction,
        mixing,
    });
    prop_oneof![
        any_pot_life(),
        any_sheet().prop_map(|sheet| ClockRule::Film { sheet }),
        (any_sheet(), any::<bool>()).prop_map(|(sheet, loaded)| ClockRule::Cure { sheet, loaded }),
        any_tack(),
        recoat,
        any_span(),
        purge,
    ]
}

fn any_start() -> impl Strategy<Value = ClockStart> {
    let clock = prop::sample::select(vec![ClockName::Cup, ClockName::Load, ClockName::TackHollow]);
    (clock, "\\PC{0,12}", any_rule()).prop_map(|(clock, about, rule)| ClockStart {
        clock,
        about,
        rule,
    })
}

fn any_starts() -> impl Strategy<Value = Vec<ClockStart>> {
    prop::collection::vec(any_start(), 0..4)
}

fn any_shop_deed() -> impl Strategy<Value = Deed> {
    let air = ("\\PC{0,8}", any_number(), any_number());
    let air = air.prop_map(|(room, temp_c, humidity_percent)| {
        Deed::Air(Air {
            room,
            temp_c,
            humidity_percent,
            source: "hand".into(),
        })
    });
    let jumped = any_number().prop_map(|by_s| {
        let how = "asleep".into();
        Deed::ClockJumped(ClockJumped { by_s, how })
    });
    let offered = prop::collection::vec(("\\PC{0,8}", any_work()), 1..4);
    let picked = (offered, prop::option::of(any_number())).prop_map(|(offered, minutes)| {
        let all = offered.into_iter();
        let offered: Vec<Offered> = all.map(|(figure, work)| Offered { figure, work }).collect();
        Deed::Picked(Picked {
            figure: offered[0].figure.clone(),
            work: offered[0].work.clone(),
            place: 1,
            offered,
            minutes,
        })
    });
    let row = (
        "\\PC{0,8}",
        prop::option::of(1..28_u32),
        prop::option::of(0..=100_u32),
    );
    let row = row.prop_map(|(figure, day, risk_percent)| Promise {
        figure,
        ninety: day.and_then(|day| NaiveDate::from_ymd_opt(2027, 2, day)),
        fifty: None,
        give_days: day,
        risk_percent,
        moved_by: day
            .map(|day| format!("strip, hands {day}"))
            .into_iter()
            .collect(),
    });
    let rows = prop::collection::vec(row, 0..4);
    let forecasted = rows.prop_map(|rows| Deed::Forecasted(Forecasted { rows }));
    prop_oneof![air, jumped, picked, forecasted]
}

fn any_recorded() -> impl Strategy<Value = Deed> {
    let value = prop_oneof![
        any_number().prop_map(Value::Number),
        "\\PC{0,20}".prop_map(Value::Text),
    ];
    let measure = prop::option::of(prop::sample::select(vec![Measure::Gap, Measure::Ph]));
    let station = prop::option::of("\\PC{0,9}");
    (any_work(), station, measure, value, any::<bool>()).prop_map(
        |(work, station, measure, value, asked_again)| {
            Deed::Recorded(Recorded {
                work,
                step: "read".into(),
                record: "gap".into(),
                station,
                measure,
                value,
                asked_again,
            })
        },
    )
}

fn any_mixed() -> impl Strategy<Value = Deed> {
    let grams = [any_number(), any_number(), any_number()];
    let resin = prop::option::of(any_number());
    (any_work(), grams, resin, any_starts()).prop_map(|(work, grams, resin_c, starts)| {
        let [a_g, b_g, off_percent] = grams;
        Deed::Mixed(Mixed {
            work,
            step: "mix".into(),
            material: "m".into(),
            lots: ["A".into(), "B".into()],
            a_g,
            b_g,
            off_percent,
            resin_c,
            starts,
        })
    })
}

fn any_clock_deed() -> impl Strategy<Value = Deed> {
    let done = (any_work(), any_starts()).prop_map(|(work, starts)| {
        Deed::Done(Done {
            work,
            step: "s".into(),
            starts,
            ends: vec![ClockName::Cup, ClockName::FullCure],
            coat: None,
        })
    });
    let ended = ("\\PC{0,9}", any_starts()).prop_map(|(clock, starts)| {
        let how = "changed".into();
        Deed::ClockEnded(ClockEnded { clock, how, starts })
    });
    let answered = (any::<u32>(), any_number()).prop_map(|(mark_percent, after_s)| {
        Deed::AlarmAnswered(AlarmAnswered {
            clock: "1.cup".into(),
            mark_percent,
            rang_at: start(),
            after_s,
        })
    });
    let read = any_number().prop_map(|wall_c| {
        let clock = "1.cup".into();
        Deed::CupRead(CupRead { clock, wall_c })
    });
    prop_oneof![done, ended, answered, read]
}

fn any_gate_deed() -> impl Strategy<Value = Deed> {
    let overruled = (any_work(), prop::option::of("\\PC{1,9}")).prop_map(|(work, second)| {
        Deed::Overruled(Overruled {
            work,
            step: String::new(),
            gate: GateKind::SizeReady,
            verdict: "v".into(),
            why: "w".into(),
            second,
        })
    });
    let deviated = any_work().prop_map(|work| {
        Deed::Deviated(Deviated {
            work,
            step: String::new(),
            kind: DeviationKind::WindowMissed,
            what: "late".into(),
        })
    });
    prop_oneof![overruled, deviated]
}

fn any_place() -> impl Strategy<Value = LayerPlace> {
    let zone = prop_oneof!["ears|tail|strap", "\\PC{0,6}"];
    (zone, "[12]|\\PC{0,4}", 0..6_u32).prop_map(|(zone, exposure, layer)| LayerPlace {
        zone,
        exposure,
        layer,
    })
}

fn any_lab() -> impl Strategy<Value = Vec<[f64; 3]>> {
    let reading = prop_oneof![
        [any_number(), any_number(), any_number()],
        [0.0..100.0_f64, -90.0..90.0_f64, -90.0..90.0_f64],
    ];
    prop::collection::vec(reading, 0..5)
}

fn any_study_deed() -> impl Strategy<Value = Deed> {
    let markers = prop::sample::subsequence(vec![Marker::Dirt, Marker::Varnish], 0..=2);
    let said = (prop::option::of("\\PC{0,9}"), prop::option::of(markers));
    let read = (any_place(), any_lab(), said, any::<[bool; 2]>()).prop_map(
        |(place, lab, (word, on_top), [dug_out, void])| {
            Deed::LayerRead(LayerRead {
                lab,
                word,
                on_top,
                dug_out,
                void,
                metal: dug_out.then_some(Metal::Leaf),
                ..LayerRead::at(place)
            })
        },
    );
    let relation = prop::sample::select(vec![Relation::Above, Relation::Below, Relation::SameAs]);
    let tied = (any_place(), relation, any_place(), "\\PC{0,9}").prop_map(
        |(one, relation, other, by_marker)| {
            Deed::LayersTied(LayersTied {
                one,
                relation,
                other,
                by_marker,
            })
        },
    );
    let chip = (
        any_place(),
        any_lab(),
        any::<[bool; 2]>(),
        prop::option::of(any_number()),
    );
    let chip = chip.prop_map(|(wanted, lab, [dry, varnished], agreed)| {
        Deed::ChipRead(ChipRead {
            zone: wanted.zone.clone(),
            wanted,
            lab,
            dry,
            varnished,
            lights: Vec::new(),
            agreed,
        })
    });
    let photo = (
        prop::option::of("ears|J3"),
        "before( raking)?|\\PC{0,9}",
        any::<[u32; 2]>(),
    );
    let photo = photo.prop_map(|(target, station, pixels)| {
        Deed::PhotoKept(PhotoKept {
            file: format!("photos/{station}.png"),
            sha256: String::new(),
            station,
            target,
            original: None,
            taken: None,
            pixels: Some(pixels),
            turned: Some(9),
        })
    });
    prop_oneof![read, tied, chip, photo]
}

/// Deeds with numbers, clocks and options in them; those of words alone are in every walk.
fn any_deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        any_shop_deed(),
        any_recorded(),
        any_mixed(),
        any_clock_deed(),
        any_gate_deed(),
        any_study_deed(),
    ]
}

/// Fields of a line that no version wrote yet, or that are damaged.
fn any_json() -> impl Strategy<Value = Json> {
    let leaf = prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        any::<i64>().prop_map(Json::from),
        any_number().prop_map(Json::from),
        "\\PC{0,10}".prop_map(Json::from),
    ];
    leaf.prop_recursive(2, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Json::from),
            prop::collection::vec(("[a-z_]{1,8}", inner), 0..4)
                .prop_map(|all| Json::Object(all.into_iter().collect())),
        ]
    })
}

/// Damages a deed: some of its fields become anything, its tag perhaps too.
fn any_damage() -> impl Strategy<Value = Map<String, Json>> {
    let fields = prop::collection::vec((any::<prop::sample::Index>(), any_json()), 0..4);
    (any_deed(), fields).prop_map(|(deed, damage)| {
        let mut fields = deed.fields();
        for (index, json) in damage {
            let keys: Vec<String> = fields.keys().cloned().collect();
            fields.insert(index.get(&keys).clone(), json);
        }
        fields
    })
}

fn line(n: u64, deed: Deed) -> Line {
    Line {
        n,
        at: start() + Duration::minutes(i64::try_from(n % 100_000).unwrap()),
        by: "odile".into(),
        bench: "bench 1".into(),
        deed,
        entered_later: None,
        strange: Vec::new(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn a_deed_comes_back_from_its_text(deed in any_deed(), n in 1..u64::MAX) {
        assert_comes_back(&line(n, deed));
    }

    /// What cannot be read is kept whole; what can be read says what else came with it.
    #[test]
    fn a_damaged_or_newer_deed_is_kept(fields in any_damage()) {
        match Deed::read(fields.clone()) {
            Deed::Unknown(unknown) => prop_assert_eq!(unknown.fields, fields),
            known => {
                let again = known.fields();
                let strange = known.strange_fields(&fields);
                for (key, value) in fields {
                    let carried = again.contains_key(&key) || strange.contains(&key);
                    prop_assert!(carried || value.is_null(), "{key} was lost");
                }
            }
        }
    }

    #[test]
    fn lines_of_an_unknown_version_replay_into_something_that_can_be_looked_at(
        lines in prop::collection::vec((any_damage(), any::<u64>(), any::<bool>()), 1..12),
    ) {
        let cards = cards();
        let mut standing = Standing::default();
        let books = [Book::Shop, Book::Figure("hare".into())];
        let mut kept = [Vec::new(), Vec::new()];
        for (fields, n, shop) in lines {
            let line = line(n, Deed::read(fields));
            let place = usize::from(!shop);
            kept[place].push(line.clone());
            if standing.replay(&books[place], &line) == Replayed::ReplayWhole {
                standing.replay_all(&books[place], &kept[place]);
            }
        }
        let mut again = Standing::default();
        for (book, lines) in books.iter().zip(&kept).filter(|(_, lines)| !lines.is_empty()) {
            again.replay_all(book, lines);
        }
        prop_assert_eq!(&again, &standing);
        let house = House { cards: &cards, standing: &standing };
        for now in [start() - Duration::days(1), start() + Duration::days(2)] {
            look(house, now);
            // The record of a figure can be looked at whatever the journal holds.
            prop_assert!(Dossier::take(house, "hare", now).is_some());
        }
        let moment = Bench::new(cards.clone(), start()).moment();
        let jot = Intent::Jot { book: Book::Figure("hare".into()), text: "still writing".into() };
        prop_assert!(decide(house, &jot, &moment).is_ok());
    }
}
