//! The ruler of the night: the trade's own worked planning, the words where nothing is sure,
//! and a brute-force simulation that no offered lay time may fail.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset, TimeDelta, Timelike};
use knuckle::card::{Cards, CureHours, Hour, OpenHours, Panel, Span};
use knuckle::deed::{Air, Deed, Line};
use knuckle::plan::{Certainty, Night, NightAsk, night};
use knuckle::standing::{Book, House, Standing};

use crate::memory::{at, sample_cards};

/// A Wednesday in the sample shop's winter.
pub(crate) const NOW: &str = "2026-11-25T16:00:00+00:00";

pub(crate) fn open(from: (u32, u32), to: (u32, u32)) -> Hour {
    let time = |(hour, minute)| chrono::NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
    Hour(Some(Span {
        from: time(from),
        to: time(to),
    }))
}

/// The sample shop, open on Wednesday until 22:00 and on Thursday from 08:30 to `closes`, with
/// one panel of 0.25 m² on the hare, its ground done: nothing but leaf stands on its route.
pub(crate) fn shop(relief: f64, closes: (u32, u32)) -> Cards {
    let mut cards = sample_cards();
    cards.shop.open.wed = open((8, 30), (22, 0));
    cards.shop.open.thu = open((8, 30), closes);
    cards.shop.open.fri = Hour(None);
    let hare = cards.figures.get_mut("hare").unwrap();
    hare.panels = vec![Panel {
        id: "board".into(),
        name: "board".into(),
        zone: "strap".into(),
        area_m2: 0.25,
        relief,
        waste_percent: 10.0,
        leaf: "gold-leaf-80".into(),
    }];
    hare.route.retain(|stop| stop.operation == "size-and-leaf");
    for stop in &mut hare.route {
        stop.on.clear();
    }
    cards
}

/// Readings of the still room every hour of the nine days before `now`.
pub(crate) fn air(
    now: DateTime<FixedOffset>,
    read: impl Fn(DateTime<FixedOffset>) -> (f64, f64),
) -> Standing {
    let mut standing = Standing::default();
    let lines: Vec<Line> = (0..=216)
        .map(|hour| {
            let at = now - Duration::hours(216 - hour);
            let (temp_c, humidity_percent) = read(at);
            Line {
                n: u64::try_from(hour).unwrap() + 1,
                at,
                by: "wren".into(),
                bench: "bench 1".into(),
                deed: Deed::Air(Air {
                    room: "still-room".into(),
                    temp_c,
                    humidity_percent,
                    source: "hand".into(),
                }),
                entered_later: None,
                strange: Vec::new(),
            }
        })
        .collect();
    standing.replay_all(&Book::Shop, &lines);
    standing
}

pub(crate) fn asked(cards: &Cards, standing: &Standing, size: &str, pace: f64) -> Night {
    let mut cards = cards.clone();
    cards.figures.get_mut("hare").unwrap().room = "still-room".into();
    let house = House {
        cards: &cards,
        standing,
    };
    let panels: Vec<String> = cards.figures["hare"]
        .panels
        .iter()
        .map(|panel| panel.id.clone())
        .collect();
    let ask = NightAsk {
        figure: "hare",
        panels: &panels,
        size: Some(size),
        gilders: 1,
        leaves_per_h: Some(pace),
        tomorrow: *at(NOW).offset(),
    };
    night(house, &ask, at(NOW))
}

fn clock(moment: DateTime<FixedOffset>) -> String {
    moment.format("%d %H:%M").to_string()
}

/// The trade's planning backward (*common practice*): leaf from 08:30 to 12:30, slow size
/// (ready 10–12 h, dead 20–24 h at 20 °C), laying 3.5 h. Ready late by 08:30; dead early not
/// before 08:30 + 3.5 h + 0.5 h; both at a steady 20 °C, on a flat board.
#[test]
fn the_trades_own_planning_backward() {
    let cards = shop(1.0, (12, 30));
    let standing = air(at(NOW), |_| (20.0, 50.0));
    // 0.25 m² × 1.1 / (80 − 3 mm)² = 46.4, so 47 leaves in 3.5 h.
    let night = asked(&cards, &standing, "slow-size", 47.0 / 3.5);
    assert_eq!(night.certainty, Some(Certainty::Sure), "{night:?}");
    assert_eq!(night.why_empty, None);
    // 16:30 + 20 h = 12:30 = 08:30 + 3.5 h + 0.5 h. Laying the size takes 30 min, and the leaf
    // must begin at 09:00 at the latest: 20:30 + 0.5 h + 12 h.
    assert_eq!(clock(night.earliest.unwrap()), "25 16:30");
    assert_eq!(clock(night.latest.unwrap()), "25 20:30");
    assert_eq!(night.works.len(), 1);
    let board = &night.order[0];
    assert_eq!((board.piece.leaves, board.piece.books), (47, 2));
    // Best is the first with all the margin there is: ready at 08:30, dead at 16:00.
    assert_eq!(clock(night.best.unwrap()), "25 20:00");
    assert_eq!(clock(board.ready), "26 08:30");
    assert_eq!(clock(board.start), "26 08:30");
    assert_eq!(clock(board.end), "26 12:00");
    assert_eq!(clock(board.dead), "26 16:00");
    assert!((night.margin.unwrap().0 - 240.0).abs() < 1e-6);
    // 60 % of the early 10 h would be two in the night, when nobody is there; nothing is dead
    // before 16:00, so that the first test waits until the doors open.
    assert_eq!(clock(night.first_test.unwrap()), "26 08:30");
    assert!(!night.hand_at_test);
    assert_eq!(clock(night.come_in_at.unwrap()), "26 08:30");
}

/// The page that hangs on the board at closing.
#[test]
fn the_ruler_is_readable_on_paper() {
    let cards = shop(1.0, (12, 30));
    let standing = air(at(NOW), |_| (20.0, 50.0));
    let night = asked(&cards, &standing, "slow-size", 47.0 / 3.5);
    let page = knuckle::report::night_page(&night, "running hare");
    let expected = "\
night ruler: running hare
size: slow oil size, about 12 hours, lot ZS-2607-19
lay the size: Wed 16:30 to 20:30 (sure), best Wed 20:00
come in: Thu 08:30; first test of the chip: Thu 08:30
least margin before dead: 240 min
because: from sheet: ready 10–12 h, dead 20–24 h at 20 °C; 20 °C as in the last seven days, 50 % humidity; 30 min kept free before dead

                      |     |     |     |     |     |     |     |
                      18    21    00    03    06    09    12    15
somebody there    ############.....................########..........
lay the size      .=======*=.........................................
board                     s........................LLLLLLL--------xxx
# there  = may be laid  * best  s sizing  . not yet  - ready  L leaf  x dead

1. board: 47 leaves, 2 books and one spare; size 20:00, ready Thu 08:30, leaf Thu 08:30 to 12:00, dead Thu 16:00
note: lay the witness chip with the same brush; it may be touched
";
    assert_eq!(page, expected);
}

/// In a hollow the same size has 18 to 20 h (12 h × 1.5 against 20 h): less than 3.5 h of
/// laying and half an hour. That is said, with what helps, and likely times are shown apart.
#[test]
fn carving_leaves_no_sure_window_and_the_chip_is_named() {
    let cards = shop(1.3, (17, 30));
    let standing = air(at(NOW), |_| (20.0, 50.0));
    // 66 leaves in 99 min: more than the 51 min that are sure, less than what is likely.
    let night = asked(&cards, &standing, "slow-size", 40.0);
    assert!(night.works.is_empty());
    assert_eq!(night.certainty, Some(Certainty::Likely));
    assert!(!night.likely.is_empty());
    let why = night.why_empty.unwrap();
    assert!(why.starts_with("the sure window is "), "{why}");
    assert!(
        why.ends_with("lay a witness chip and let the knuckle decide"),
        "{why}"
    );
    assert!(
        night
            .would_open
            .iter()
            .any(|line| line.starts_with("edges and flats alone")),
        "{:?}",
        night.would_open
    );
}

/// 12 h × 1.5 = 18 h against 20 h, less half an hour and the half hour of sizing: one hour.
/// A panel of 90 min fits two pairs of hands and not one.
#[test]
fn a_second_gilder_opens_what_one_cannot_lay() {
    let mut cards = shop(1.3, (17, 30));
    cards.figures.get_mut("hare").unwrap().panels[0].area_m2 = 0.15;
    let standing = air(at(NOW), |_| (20.0, 50.0));
    // 0.15 × 1.3 × 1.1 / (80 − 6 mm)² = 39.2, so 40 leaves in 75 min.
    let night = asked(&cards, &standing, "slow-size", 32.0);
    assert!(night.works.is_empty(), "{night:?}");
    assert!(
        night
            .would_open
            .iter()
            .any(|line| line.starts_with("one more gilder tomorrow: lay at ")),
        "{:?}",
        night.would_open
    );
}

/// Ready at the latest after 3 h and dead at the earliest after 2 h, or both after 3 h: these
/// sizes leave no window one can promise.
#[test]
fn quick_sizes_say_lay_a_chip_and_name_the_slow_one() {
    let mut cards = shop(1.0, (17, 30));
    let lots = cards.materials["slow-size"].lots.clone();
    for size in ["quick-size", "three-hour-size"] {
        cards.materials.get_mut(size).unwrap().lots = lots.clone();
        let standing = air(at(NOW), |_| (20.0, 50.0));
        let night = asked(&cards, &standing, size, 47.0);
        assert!(night.works.is_empty());
        let why = night.why_empty.unwrap();
        assert!(why.starts_with("no sure window: "), "{why}");
        assert!(
            why.ends_with(
                ", and 30 min before that are kept free; lay a witness chip and let the knuckle \
                 decide"
            ),
            "{why}"
        );
        let slow = "slow oil size, about 12 hours instead: lay at ";
        assert!(
            night.would_open.iter().any(|line| line.starts_with(slow)),
            "{:?}",
            night.would_open
        );
    }
}

#[test]
fn a_closed_shop_and_an_unmeasured_panel_are_said() {
    let mut cards = shop(1.0, (22, 0));
    let standing = air(at(NOW), |_| (20.0, 50.0));
    cards.shop.open.fri = open((8, 30), (17, 30));
    cards.shop.open.wed = open((8, 30), (15, 0));
    let night = asked(&cards, &standing, "slow-size", 20.0);
    assert_eq!(
        night.not_now.as_deref(),
        Some("the shop is closed; this is for Thu 26 Nov from 08:30")
    );
    // Whoever asks again as the doors open gets the same evening.
    let (lay, morning) = (night.best.unwrap(), at(NOW) + Duration::hours(14));
    assert!(at(NOW) + Duration::hours(10) < lay, "{lay}");
    assert!(morning < night.come_in_at.unwrap());
    cards.shop.open = OpenHours::default();
    let night = asked(&cards, &standing, "slow-size", 20.0);
    let shut = "the shop is closed for weeks: nobody is there to lay size";
    assert_eq!(night.why_empty.as_deref(), Some(shut));
    cards.figures.get_mut("hare").unwrap().panels[0].area_m2 = 0.0;
    let night = asked(&cards, &standing, "slow-size", 20.0);
    assert_eq!(
        night.left_out,
        [(
            "board".to_owned(),
            "its area is not on the card: measure it".to_owned()
        )]
    );
}

/// A room that nobody read is a guess, and a guess makes nothing sure in a hollow.
#[test]
fn without_an_air_reading_it_says_guess() {
    let cards = shop(1.3, (17, 30));
    let night = asked(&cards, &Standing::default(), "slow-size", 60.0);
    assert!(night.works.is_empty());
    assert!(
        night.because.contains("guess, no air reading of this room"),
        "{}",
        night.because
    );
    assert!(
        night
            .notes
            .iter()
            .any(|note| note.starts_with("no humidity was read"))
    );
}

/// A small generator, so that a seed that fails can be run again.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn share(&mut self) -> f64 {
        // Constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2).
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// A whole number from nothing to one below `many`.
    pub(crate) fn below(&mut self, many: usize) -> usize {
        self.share();
        usize::try_from(self.0 >> 33).unwrap() % many
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

/// A winter room: warm by day, cooler by night, each day a little off the others.
struct Room {
    mean: f64,
    swing: f64,
    off: BTreeMap<chrono::NaiveDate, f64>,
}

impl Room {
    fn base(&self, at: DateTime<FixedOffset>) -> f64 {
        let hour = f64::from(at.num_seconds_from_midnight()) / 3600.0;
        let warm = ((hour - 15.0) / 24.0 * std::f64::consts::TAU).cos();
        // Straight between the hours, as a thermometer read on the hour is.
        self.mean + self.swing * warm
    }

    fn read(&self, at: DateTime<FixedOffset>) -> f64 {
        self.base(at) + self.off.get(&at.date_naive()).copied().unwrap_or_default()
    }
}

/// Adds up minutes at a factor until a need is met; minutes from the laying. Independent of
/// the sums of the program: it knows the law, and nothing of traces or closed forms.
pub(crate) fn minutes_until(
    need_h: f64,
    q: f64,
    from: DateTime<FixedOffset>,
    room: &dyn Fn(DateTime<FixedOffset>) -> f64,
) -> i64 {
    let mut gathered = 0.0;
    for minute in 0..60 * 96 {
        let celsius = room(from + TimeDelta::minutes(minute));
        gathered += q.powf((celsius - 20.0) / 10.0) / 60.0;
        if need_h <= gathered {
            return minute + 1;
        }
    }
    60 * 96
}

/// Every lay time that is offered as sure is played through on many days that the sheet, the
/// band of factors and the log allow: at the planned start every place is ready, and half an
/// hour after the planned end none is dead. The corners of what is allowed are among the days.
#[test]
fn no_offered_lay_time_fails_in_a_simulated_night() {
    let mut offered = 0;
    for seed in 1..=24 {
        offered += one_evening(seed);
    }
    // Sums that never offer anything would be safe and useless.
    assert!(24 <= offered, "only {offered} lay times were offered");
}

fn one_evening(seed: u64) -> usize {
    let mut dice = Dice(seed);
    let now = at(NOW);
    let mut room = Room {
        mean: dice.within(18.0, 22.0),
        swing: dice.within(0.0, 2.5),
        off: BTreeMap::new(),
    };
    let stray = dice.within(0.0, 1.0);
    for day in 0..12 {
        let date = (now - Duration::days(10 - day)).date_naive();
        room.off.insert(date, dice.within(-stray, stray));
    }
    let standing = air(now, |at| (room.read(at), 50.0));
    let (mut cards, sheets) = evening_cards(&mut dice);
    cards.shop.open.wed = open((8, 0), (20, 0));
    let night = asked(&cards, &standing, "slow-size", dice.within(30.0, 90.0));
    let mut offered = 0;
    for span in &night.works {
        let mut laid = span.from;
        while laid <= span.to {
            offered += 1;
            laid += Duration::minutes(5);
        }
        // The ends of a span are where a plan fails first: ask again with the day narrowed
        // to each, so that the plan shown is the one of that lay time.
        for laid in [span.from, span.to] {
            let mut then = cards.clone();
            let until = laid + Duration::minutes(sizing(&night));
            then.shop.open.wed = open((laid.hour(), laid.minute()), (until.hour(), until.minute()));
            let plan = asked(&then, &standing, "slow-size", pace_of(&night));
            assert_eq!(
                plan.best,
                Some(laid),
                "seed {seed}: the plan of {laid} is not the one asked for"
            );
            play(seed, &mut dice, &plan, (&room, sheets));
        }
    }
    if night.certainty == Some(Certainty::Sure) {
        play(seed, &mut dice, &night, (&room, sheets));
    }
    offered
}

/// Minutes from the first stroke to the last, in whole marks.
fn sizing(night: &Night) -> i64 {
    let from = night.order.iter().map(|row| row.sized.from).min().unwrap();
    let to = night.order.iter().map(|row| row.sized.to).max().unwrap();
    (to - from).num_minutes()
}

fn pace_of(night: &Night) -> f64 {
    let piece = &night.order[0].piece;
    f64::from(u32::try_from(piece.leaves).unwrap()) / piece.laying_min * 60.0
}

fn evening_cards(dice: &mut Dice) -> (Cards, (CureHours, CureHours)) {
    let mut cards = shop(1.0, (17, 30));
    let hours = |early: f64, late: f64| CureHours {
        early,
        likely: f64::midpoint(early, late),
        late,
        at_c: 20.0,
    };
    let early = dice.within(8.0, 11.0);
    let ready = hours(early, early + dice.within(0.5, 1.5));
    let dead = ready.late + dice.within(8.0, 12.0);
    let dead = hours(dead, dead + dice.within(1.0, 4.0));
    let size = cards.materials.get_mut("slow-size").unwrap();
    (size.tack_h, size.dead_h) = (Some(ready), Some(dead));
    let panels = 1.0 + dice.share() * 2.99;
    let hare = cards.figures.get_mut("hare").unwrap();
    let one = hare.panels[0].clone();
    hare.panels = ["strap", "rim", "board"]
        .iter()
        .zip([1.0, 2.0, 3.0])
        .filter(|(_, nth)| *nth <= panels)
        .map(|(id, _)| Panel {
            id: (*id).into(),
            area_m2: dice.within(0.02, 0.12),
            relief: if dice.share() < 0.5 { 1.0 } else { 1.3 },
            ..one.clone()
        })
        .collect();
    (cards, (ready, dead))
}

/// Plays a plan through on days that may come.
fn play(
    seed: u64,
    dice: &mut Dice,
    plan: &Night,
    (room, (ready, dead)): (&Room, (CureHours, CureHours)),
) {
    let stray = |lowest: bool| {
        let days = room.off.iter().filter(|(day, _)| {
            // The days that the plan can have looked back on.
            **day <= at(NOW).date_naive() && at(NOW).date_naive() - Duration::days(6) <= **day
        });
        let fold = if lowest { f64::min } else { f64::max };
        days.map(|(_, off)| *off).reduce(fold).unwrap()
    };
    let (cold, hot) = (stray(true), stray(false));
    for day in 0..12 {
        // The first two days are the corners: all slow and cold, all fast and hot.
        let (slow, off) = match day {
            0 => (1.0, cold),
            1 => (0.0, hot),
            _ => (dice.share(), dice.within(cold, hot)),
        };
        let air = |at: DateTime<FixedOffset>| room.base(at) + off;
        for row in &plan.order {
            for q in [1.6, 2.4, dice.within(1.6, 2.4)] {
                let hollow = if row.piece.hollows {
                    1.0 + 0.5 * slow
                } else {
                    1.0
                };
                let need = (ready.early + (ready.late - ready.early) * slow) * hollow;
                let comes = row.sized.to
                    + TimeDelta::minutes(minutes_until(need, q, row.sized.to, &air) - 1);
                assert!(
                    comes <= row.start,
                    "seed {seed}, day {day}: {} is not ready: {comes}, {row:?}",
                    row.piece.panel
                );
                let need = dead.early + (dead.late - dead.early) * slow;
                let dies = row.sized.from
                    + TimeDelta::minutes(minutes_until(need, q, row.sized.from, &air));
                assert!(
                    row.end + Duration::minutes(30) <= dies,
                    "seed {seed}, day {day}: {} dies at {dies} under the hand: {row:?}",
                    row.piece.panel
                );
            }
        }
    }
    for pair in plan.order.windows(2) {
        assert!(
            pair[0].end <= pair[1].start,
            "seed {seed}: two panels at once"
        );
    }
}
