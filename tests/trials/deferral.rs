//! The sentence that this tool reminds and does not permit: at the first start of everybody,
//! under every caution of the first rank, under every printed record; and the shop's own
//! emergency lines, empty ones as SET YOUR NUMBER.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use knuckle::card::{Caution, DEFERRAL, DEFERRAL_SHORT, Emergency, SET_YOUR_NUMBER, When};
use knuckle::deed::{Deed, Line};
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{Event, Opening, Over, Pane, Sight, Silent, Turn, View};
use knuckle::shop::{KeptLine, Stop};
use knuckle::standing::{Ask, Book, House, Intent, Moment};
use knuckle::trouble::{ExitKind, Trouble};
use ratatui::{buffer::Buffer, layout::Rect};

use crate::kit::{picture, scenes};
use crate::memory::{Bench, at, sample_cards};
use crate::played::{Behind, Stands, first_start};

fn shop() -> Bench {
    Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"))
}

fn text(sight: &Sight, view: &View, (width, height): (u16, u16)) -> String {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let look = Look { depth: Depth::Full };
    Pane { sight, view, look }.draw(buffer.area, &mut buffer);
    picture::text(&buffer)
}

/// The short sentence beside a column of times: each of its parts stands on a row.
fn reads_across(page: &str) -> bool {
    ["Local codes, the data sheet", "before this card", "stop."]
        .iter()
        .all(|part| page.contains(part))
}

/// Words of a page without the breaks of its lines.
fn flat(page: &str) -> String {
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn whoever_comes_first_reads_the_sentence_and_the_journal_keeps_it() {
    let (after, page) = first_start(Behind(shop()), "odile", "");
    assert!(
        flat(&page).contains("This tool reminds; it does not permit."),
        "{page}"
    );
    assert!(page.contains(SET_YOUR_NUMBER), "{page}");
    assert!(
        after.0.lines.is_empty(),
        "nothing is kept before it is read"
    );
    let (after, page) = first_start(after, "odile", "x<esc>f<space>");
    assert!(!flat(&page).contains("This tool reminds; it"), "{page}");
    let kept = &after.0.lines[&Book::Shop][0];
    assert_eq!(kept.by, "odile");
    assert!(matches!(&kept.deed, Deed::Acknowledged(deed) if deed.said == DEFERRAL));
    // Once for each person: not again for Odile, but for Wren, who comes after her.
    let (after, page) = first_start(after, "odile", "");
    assert!(!flat(&page).contains("This tool reminds; it"), "{page}");
    let (after, page) = first_start(after, "wren", "");
    assert!(flat(&page).contains("This tool reminds; it"), "{page}");
    assert_eq!(after.0.lines[&Book::Shop].len(), 1);
}

/// A sentence that was changed is read anew, because what was read is kept in full.
#[test]
fn only_this_sentence_counts_as_read() {
    let mut bench = shop();
    let said = "This tool permits.".to_owned();
    let deed = Deed::Acknowledged(knuckle::deed::Acknowledged { said });
    bench.keep(&Book::Shop, deed);
    let (_, page) = first_start(Behind(bench), "odile", "");
    assert!(flat(&page).contains("This tool reminds; it does not permit."));
}

#[test]
fn somebody_else_at_the_bench_reads_it_too() {
    let mut bench = shop();
    bench.act(&Intent::Acknowledge).unwrap();
    let (after, page) = first_start(Behind(bench), "odile", "w2");
    assert!(
        flat(&page).contains("Wren, before the first tin is opened"),
        "{page}"
    );
    assert_eq!(after.0.lines[&Book::Shop].len(), 1);
}

/// A shop on a full disk.
struct Full(Bench);

impl knuckle::screen::Bench for Full {
    fn house(&self) -> House<'_> {
        self.0.house()
    }

    fn act(&mut self, _: &Intent, _: &Moment) -> Result<Vec<KeptLine>, Stop> {
        let full = Trouble::new(ExitKind::Disk, "cannot keep the last act: the disk is full");
        Err(Stop::Trouble(Box::new(full)))
    }

    fn follow(&mut self) -> Result<Vec<KeptLine>, Stop> {
        Ok(Vec::new())
    }

    fn lines(&self, _: &Book) -> Result<Vec<Line>, Stop> {
        Ok(Vec::new())
    }
}

/// Nothing that was read is kept then, and reading goes on: no clock is hidden by it.
#[test]
fn a_full_disk_shuts_nobody_out_from_reading() {
    let mut full = Full(shop());
    let (mut dial, mut bell) = (Stands(full.0.now), Silent);
    let opening = Opening {
        by: "odile".to_owned(),
        ..Opening::default()
    };
    let mut turn = Turn::new(&mut full, &mut dial, &mut bell, opening);
    let mut press = |code| {
        turn.take(Event::Key(KeyEvent::new(code, KeyModifiers::NONE)));
        turn.look();
        (turn.view().over.clone(), turn.view().fault.is_some())
    };
    assert_eq!(press(KeyCode::Char('x')), (Over::Deferral, false));
    let (_, fault) = press(KeyCode::Char(' '));
    assert!(fault, "it says that writing has stopped");
    assert_eq!(press(KeyCode::Esc), (Over::Nothing, false));
}

#[test]
fn under_a_caution_of_the_first_rank_stands_what_comes_before_every_card() {
    for size in [(60, 20), (80, 24), (120, 40), (200, 60)] {
        for ask in [Ask::Act, Ask::Cautions(scenes::cautions())] {
            let (sight, view) = scenes::bench(ask);
            let page = text(&sight, &view, size);
            let brief = size.0 == 60 && page.contains("in doubt, stop");
            assert!(
                brief || flat(&page).contains(DEFERRAL_SHORT) || reads_across(&page),
                "{size:?}\n{page}"
            );
            let is_read = page.contains("I have read them");
            assert!(
                page.contains(SET_YOUR_NUMBER) || (size.0 == 60 && !is_read),
                "no emergency line at {size:?}\n{page}"
            );
        }
    }
    let (mut sight, view) = scenes::bench(Ask::Act);
    if let Some(prompt) = &mut sight.prompt {
        prompt.cautions.retain(|caution| 1 < caution.rank);
    }
    assert!(!flat(&text(&sight, &view, (120, 40))).contains(DEFERRAL_SHORT));
}

#[test]
fn the_shop_s_own_numbers_are_shown_where_they_are_set() {
    let mut emergency = Emergency {
        ambulance: "112".into(),
        poison: " ".into(),
        doctor: "555 01".into(),
    };
    assert_eq!(
        emergency.in_words(),
        "emergency: ambulance 112, poison information SET YOUR NUMBER, doctor 555 01"
    );
    assert_eq!(emergency.missing(), ["poison information"]);
    emergency.poison = "555 02".into();
    assert!(emergency.missing().is_empty());
    let (mut sight, view) = scenes::bench(Ask::Cautions(scenes::cautions()));
    sight.shop.emergency = emergency;
    let page = text(&sight, &view, (120, 40));
    assert!(page.contains("ambulance 112, poison information 555 02, doctor 555 01"));
}

#[test]
fn what_hurts_at_once_is_known_by_its_words() {
    let caution = |say: &str| Caution {
        say: say.to_owned(),
        rank: 1,
        source: "judgement".to_owned(),
        when: When::Always,
    };
    assert!(caution("Amine hardener burns eyes: goggles on.").is_of_first_aid());
    assert!(caution("Keep resin and hardener off skin.").is_of_first_aid());
    assert!(!caution("Photograph it first.").is_of_first_aid());
}

#[test]
fn the_board_of_the_sentence_fits_the_smallest_screen() {
    for size in [(60, 20), (80, 24), (120, 40)] {
        let (mut sight, mut view) = scenes::bench(Ask::Act);
        "Odile".clone_into(&mut sight.person);
        view.over = Over::Deferral;
        let page = text(&sight, &view, size);
        assert!(flat(&page).contains("In doubt, stop."), "{size:?}\n{page}");
        assert!(page.contains("I have read it"), "{size:?}\n{page}");
    }
}
