//! Recall both ways, against a search of the whole graph: random shops in which tins are poured
//! into jars and jars into jars, mixes and coats take of them, lines are struck, zones stripped and
//! figures handed over. What a search edge by edge reaches is what a recall brings back.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;
use knuckle::card::Cards;
use knuckle::deed::{
    Begun, CoatLaid, Deed, Done, Finished, LotDecanted, Mixed, Recorded, Struck, Value, Work,
};
use knuckle::disk::RealDisk;
use knuckle::report::{Archive, Recalled};
use knuckle::shop::load;
use knuckle::standing::{Book, Reach};

use crate::kit::sealed::Sealed;
use crate::memory::at;
use crate::night::Dice;

/// Figures of a random shop, two zones of each, and a joint of which the seam runs through both.
const FIGURES: [(&str, [&str; 2], &str); 2] = [
    ("heron", ["neck-near", "neck-off"], "J1"),
    ("hare", ["body-near", "body-off"], "J3"),
];

/// Tins and jars of a random shop: the first four are tins.
const LOTS: [&str; 9] = [
    "T-1", "T-2", "T-3", "T-4", "jar-a", "jar-b", "jar-c", "jar-d", "jar-e",
];

/// Of so many shops each lot and each figure is asked.
const SHOPS: u64 = 25;

/// One happening of a random shop, as the search sees it.
#[derive(Debug, Clone, PartialEq)]
enum Happening {
    Poured { from: usize, into: usize },
    Coat { zone: usize, lot: usize },
    Mix { lots: [usize; 2] },
    Stripped { zone: usize },
    Out,
    Back,
    Struck { line: u64 },
}

/// The lines of a random shop: book by book, each with its number from 1.
#[derive(Debug, Default)]
struct Random {
    shop: Vec<Happening>,
    figures: [Vec<Happening>; 2],
}

impl Random {
    fn of(seed: u64) -> Self {
        let mut dice = Dice(seed);
        let mut all = Self::default();
        for _ in 0..dice.below(9) + 3 {
            let jar = 4 + dice.below(5);
            let from = dice.below(LOTS.len());
            if from != jar {
                all.shop.push(Happening::Poured { from, into: jar });
            }
        }
        strike_some(&mut all.shop, &mut dice);
        for figure in &mut all.figures {
            for _ in 0..dice.below(12) + 2 {
                figure.push(match dice.below(10) {
                    0..=4 => Happening::Coat {
                        zone: dice.below(2),
                        lot: dice.below(LOTS.len()),
                    },
                    5..=6 => Happening::Mix {
                        lots: [dice.below(LOTS.len()), dice.below(LOTS.len())],
                    },
                    7 => Happening::Stripped {
                        zone: dice.below(2),
                    },
                    8 => Happening::Out,
                    _ => Happening::Back,
                });
            }
            strike_some(figure, &mut dice);
        }
        all
    }

    fn books(&self) -> [(Book, &[Happening]); 3] {
        let [first, second] = FIGURES.map(|(id, ..)| Book::Figure(id.to_owned()));
        [
            (Book::Shop, &self.shop),
            (first, &self.figures[0]),
            (second, &self.figures[1]),
        ]
    }
}

/// Strikes up to two lines that are there.
fn strike_some(lines: &mut Vec<Happening>, dice: &mut Dice) {
    for _ in 0..dice.below(3) {
        let line = dice.below(lines.len()) + 1;
        lines.push(Happening::Struck {
            line: u64::try_from(line).unwrap(),
        });
    }
}

/// The lines of a book that are not struck, with their numbers.
fn standing(lines: &[Happening]) -> Vec<(u64, &Happening)> {
    let struck: BTreeSet<u64> = lines
        .iter()
        .filter_map(|it| match it {
            Happening::Struck { line } => Some(*line),
            _ => None,
        })
        .collect();
    let all = (1..).zip(lines);
    all.filter(|(n, it)| !struck.contains(n) && !matches!(it, Happening::Struck { .. }))
        .collect()
}

fn lots_in(happening: &Happening) -> Vec<usize> {
    match happening {
        Happening::Poured { from, into } => vec![*from, *into],
        Happening::Coat { lot, .. } => vec![*lot],
        Happening::Mix { lots } => lots.to_vec(),
        _ => Vec::new(),
    }
}

/// The search: which lots hold something of a lot, pour by pour, again and again until nothing new
/// comes. With `up`, against the stream.
fn flood(shop: &Random, from: BTreeSet<usize>, up: bool) -> BTreeSet<usize> {
    let mut wet = from;
    loop {
        let before = wet.len();
        for (_, happening) in standing(&shop.shop) {
            if let Happening::Poured { from, into } = happening {
                let (source, end) = if up { (into, from) } else { (from, into) };
                if wet.contains(source) {
                    wet.insert(*end);
                }
            }
        }
        if wet.len() == before {
            return wet;
        }
    }
}

type Lines = BTreeSet<(Book, u64)>;

/// Every line that has to do with one of these lots; of the shop's own, the pours.
fn lines_with(shop: &Random, lots: &BTreeSet<usize>, wanted: impl Fn(&Book) -> bool) -> Lines {
    let books = shop.books();
    let books = books.iter().filter(|(book, _)| wanted(book));
    books
        .flat_map(|(book, lines)| {
            let here = standing(lines).into_iter();
            let here = here.filter(|(_, it)| lots_in(it).iter().any(|lot| lots.contains(lot)));
            here.map(|(n, _)| (book.clone(), n)).collect::<Vec<_>>()
        })
        .collect()
}

/// What can be reached of each coat, found by laying and taking off layer on layer.
fn reaches(lines: &[Happening]) -> BTreeMap<u64, &'static str> {
    let (mut zones, mut word) = ([Vec::new(), Vec::new()], BTreeMap::new());
    for (n, happening) in standing(lines) {
        match happening {
            Happening::Coat { zone, .. } => zones[*zone].push(n),
            Happening::Stripped { zone } => {
                for coat in zones[*zone].drain(..) {
                    word.insert(coat, "stripped");
                }
            }
            // What was on it when it left is out until it is received again.
            _ => {}
        }
    }
    for zone in &zones {
        let (last, under) = zone
            .split_last()
            .map_or((None, [].as_slice()), |(a, b)| (Some(a), b));
        word.extend(under.iter().map(|coat| (*coat, "covered")));
        word.extend(last.map(|coat| (*coat, "reachable")));
    }
    let gone = standing(lines).into_iter().rev();
    let mut gone = gone.filter(|(_, it)| matches!(it, Happening::Out | Happening::Back));
    if let Some((out, Happening::Out)) = gone.next() {
        for (coat, reach) in &mut word {
            if *coat < out {
                *reach = "gone out";
            }
        }
    }
    word
}

fn reach_word(reach: Reach) -> &'static str {
    match reach {
        Reach::Reachable => "reachable",
        Reach::Covered(_) => "covered",
        Reach::GoneOut(_) => "gone out",
        Reach::Stripped(_) => "stripped",
        Reach::OnShelf => "on the shelf",
    }
}

/// The deed of a happening on a figure.
fn deed(happening: &Happening, (zones, joint): ([&str; 2], &str)) -> Deed {
    let lot = |lot: usize| LOTS[lot].to_owned();
    let work = |operation: &str, target: Option<&str>| Work {
        operation: operation.to_owned(),
        target: target.map(str::to_owned),
        round: 1,
    };
    match happening {
        Happening::Poured { from, into } => Deed::LotDecanted(LotDecanted {
            material: "oil-primer".to_owned(),
            lot: lot(*from),
            into: lot(*into),
        }),
        Happening::Coat { zone, lot: of } => Deed::Done(Done {
            work: work("prime", Some(zones[*zone])),
            step: "coat#1".to_owned(),
            starts: Vec::new(),
            ends: Vec::new(),
            coat: Some(CoatLaid {
                material: "oil-primer".to_owned(),
                lot: Some(lot(*of)),
                number: 1,
                of: 3,
                stripe: false,
            }),
        }),
        Happening::Mix { lots } => Deed::Mixed(Mixed {
            work: work("mix-and-lay-up", Some(joint)),
            step: "mix".to_owned(),
            material: "medium-epoxy".to_owned(),
            lots: lots.map(lot),
            a_g: 50.0,
            b_g: 25.0,
            off_percent: 0.0,
            resin_c: None,
            starts: Vec::new(),
        }),
        Happening::Stripped { zone } => Deed::Finished(Finished {
            work: work("strip", Some(zones[*zone])),
        }),
        Happening::Out => Deed::Finished(Finished {
            work: work("hand-over", None),
        }),
        Happening::Back => Deed::Begun(Begun::of(work("receive", None))),
        Happening::Struck { line } => Deed::Struck(Struck {
            line: *line,
            why: "wrong lot".to_owned(),
        }),
    }
}

fn written(shop: &Random, sealed: &Sealed) {
    let all = [
        (".", &shop.shop, ([""; 2], "")),
        (
            "figures/heron",
            &shop.figures[0],
            (FIGURES[0].1, FIGURES[0].2),
        ),
        (
            "figures/hare",
            &shop.figures[1],
            (FIGURES[1].1, FIGURES[1].2),
        ),
    ];
    for (book, happenings, places) in all {
        let moment = |n: usize| {
            let at = at("2026-11-02T08:00:00+00:00") + Duration::minutes(i64::try_from(n).unwrap());
            at.to_rfc3339()
        };
        let moments: Vec<String> = (0..happenings.len()).map(moment).collect();
        let lines: Vec<(&str, &str, Deed)> = happenings
            .iter()
            .zip(&moments)
            .map(|(it, at)| (at.as_str(), "wren", deed(it, places)))
            .collect();
        sealed.write(book, &lines);
    }
}

fn found(recalled: &[Recalled]) -> Lines {
    let lines = recalled.iter().map(|it| (it.book.clone(), it.line.n));
    lines.collect()
}

/// Each coat of a recall is as reachable as the layers laid and taken off one by one say.
fn reach_agrees(shop: &Random, recalled: &[Recalled], seed: u64) {
    let books = shop.books();
    for one in recalled {
        let (_, lines) = books.iter().find(|(book, _)| *book == one.book).unwrap();
        if one.book != Book::Shop
            && let Some(expected) = reaches(lines).get(&one.line.n)
        {
            let told = reach_word(one.reach);
            let told_line = (&one.book, one.line.n);
            assert_eq!(told, *expected, "seed {seed}, {told_line:?} of {lines:?}");
        }
    }
}

fn asked(shop: &Random, archive: &Archive<'_>, seed: u64) -> usize {
    let mut lines = 0;
    for (place, lot) in LOTS.iter().enumerate() {
        let told = archive.of_lot(lot).unwrap().recalled;
        let below = flood(shop, BTreeSet::from([place]), false);
        let expected = lines_with(shop, &below, |_| true);
        assert_eq!(found(&told), expected, "seed {seed}, {lot}: {shop:?}");
        assert_eq!(told.len(), expected.len(), "each line once");
        reach_agrees(shop, &told, seed);
        let order = told.iter().map(|it| it.reach);
        assert!(order.is_sorted_by_key(group_of), "seed {seed}, {lot}");
        lines += told.len();
    }
    for ((id, ..), own) in FIGURES.iter().zip(&shop.figures) {
        let told = archive.of_figure(id, None).unwrap();
        let used = standing(own).into_iter().flat_map(|(_, it)| lots_in(it));
        let above = flood(shop, used.collect(), true);
        let book = Book::Figure((*id).to_owned());
        let every: BTreeSet<usize> = (0..LOTS.len()).collect();
        let mut expected = lines_with(shop, &every, |it| *it == book);
        expected.extend(lines_with(shop, &above, |it| *it == Book::Shop));
        assert_eq!(found(&told), expected, "seed {seed}, {id}: {shop:?}");
        reach_agrees(shop, &told, seed);
        lines += told.len();
    }
    lines
}

/// The place of what can be reached in the order of a recall.
fn group_of(reach: Reach) -> u8 {
    knuckle::report::group(reach).0
}

#[test]
fn a_recall_brings_back_what_a_search_of_the_whole_graph_reaches() {
    let mut lines = 0;
    for seed in 1..=SHOPS {
        let shop = Random::of(seed);
        let sealed = Sealed::new();
        written(&shop, &sealed);
        let folder = sealed.shop();
        let (cards, flaws): (Cards, _) = load(&RealDisk, &folder).unwrap();
        assert!(flaws.is_empty());
        let books = shop.books().map(|(book, _)| book);
        let archive = Archive {
            disk: &RealDisk,
            folder: &folder,
            books: &books,
            cards: &cards,
        };
        lines += asked(&shop, &archive, seed);
    }
    assert!(1_000 < lines, "too few to say anything: {lines} lines");
}

/// A pick touched the tin alone where no mix came of it; what was mixed of it lies in the joint.
#[test]
fn a_pick_of_which_a_mix_came_is_no_pick_of_the_tin_alone() {
    let at = "2026-11-24T17:00:00Z";
    let pick = Deed::Recorded(Recorded {
        work: Work {
            operation: "mix-and-lay-up".to_owned(),
            target: Some("J1".to_owned()),
            round: 1,
        },
        step: "mix".to_owned(),
        record: "epoxy".to_owned(),
        station: None,
        measure: None,
        value: Value::Text("MR-2604-17".to_owned()),
        asked_again: false,
    });
    let mixed = Deed::Mixed(Mixed {
        work: match &pick {
            Deed::Recorded(pick) => pick.work.clone(),
            other => panic!("{other:?}"),
        },
        step: "mix".to_owned(),
        material: "medium-epoxy".to_owned(),
        lots: ["MR-2604-17", "MH-2604-09"].map(str::to_owned),
        a_g: 50.0,
        b_g: 25.0,
        off_percent: 0.0,
        resin_c: None,
        starts: Vec::new(),
    });
    let told = |deeds: &[Deed], words: &[&str]| {
        let sealed = Sealed::whole();
        let lines: Vec<_> = deeds
            .iter()
            .map(|deed| (at, "wren", deed.clone()))
            .collect();
        sealed.write("figures/heron", &lines);
        sealed.told_at("2026-11-25T08:00:00Z", &[&["recall"], words].concat())
    };
    let lot = ["--lot", "MR-2604-17"];
    let alone = told(std::slice::from_ref(&pick), &lot);
    assert!(alone.contains(", picked, no cup of it mixed"), "{alone}");
    assert!(!alone.contains("still reachable"), "{alone}");
    let both = told(&[pick.clone(), mixed.clone()], &lot);
    assert!(!both.contains("no cup of it mixed"), "{both}");
    assert!(both.contains("still reachable: 1"), "{both}");
    // Asked by words the pick is told as it was written, and lies where its mix does.
    let words = told(&[pick, mixed], &["MR-2604-17", "--json"]);
    assert!(words.contains("\"recorded\""), "{words}");
    assert!(!words.contains("\"shelf\""), "{words}");
}
