//! A card with a flaw is there as far as it was read: nothing is lost, no alarm falls silent,
//! and nothing new rests on it.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use knuckle::card::{Cards, Flaw, read_cards};
use knuckle::disk::make_folders;
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{Page, Pane, Sight, View};
use knuckle::shop::{builtin_checklists, load, sample_files};
use knuckle::standing::{Ask, AtStep, Book, Intent, floor};
use ratatui::{buffer::Buffer, layout::Rect};

use crate::kit::faulty::{Asked, FaultyDisk, Ill};
use crate::kit::picture;
use crate::kit::sealed::{Sealed, at_evening};
use crate::memory::{Bench, at};

const HARE: &str = "figures/hare/figure.yaml";
const ONE: &str = "1 flaw on the cards of this shop: `knuckle check` tells them\n";

/// A slip in one field, one that breaks the text, and a text that says nothing at all.
const SLIPS: [[&str; 2]; 3] = [
    ["promised: 2027-04-16", "promised: 16.4.2027"],
    ["name: running hare", "name: running: hare"],
    ["id: hare", "\t[ id: hare"],
];

/// The sample shop's cards with one place of a file changed.
fn with(file: &str, [from, to]: [&str; 2]) -> (Cards, Vec<Flaw>) {
    let mut files: Vec<(String, String)> = sample_files()
        .into_iter()
        .filter_map(|(name, bytes)| Some((name, String::from_utf8(bytes).ok()?)))
        .collect();
    let builtin = builtin_checklists();
    let own = files.iter_mut().find(|(name, _)| name == file);
    if let Some((_, text)) = own {
        assert!(text.contains(from), "{file} holds no {from}");
        *text = text.replacen(from, to, 1);
    } else {
        // A checklist of the shop's own, made from a built-in one.
        let (_, text) = builtin
            .iter()
            .find(|(_, text)| text.contains(from))
            .unwrap();
        files.push((file.to_owned(), text.replacen(from, to, 1)));
    }
    read_cards(&files, &builtin)
}

fn bench(cards: Cards) -> Bench {
    Bench::new(cards, at("2026-11-25T09:00:00+00:00"))
}

fn sound() -> Cards {
    let (cards, flaws) = with(HARE, ["id: hare", "id: hare"]);
    assert_eq!(flaws, []);
    cards
}

#[test]
fn clocks_run_and_ring_whatever_slipped_on_the_figure_s_card() {
    for slip in SLIPS {
        let sealed = Sealed::at_work();
        let commands = [["clocks"].as_slice(), &["ring", "--once"]];
        let before = commands.map(|words| sealed.run(&at_evening(words)));
        assert!(before.iter().all(|told| told.out.contains("hare")));
        sealed.change(HARE, slip);
        for (words, before) in commands.iter().zip(before) {
            let told = sealed.run(&at_evening(words));
            assert_eq!(
                (told.out, told.err),
                (before.out, ONE.to_owned()),
                "{slip:?}"
            );
            assert_eq!(told.code, 0);
        }
    }
}

#[test]
fn a_journal_whose_card_is_gone_still_rings() {
    let sealed = Sealed::at_work();
    let before = sealed.run(&at_evening(&["ring", "--once"]));
    fs::remove_file(sealed.shop().join(HARE)).unwrap();
    assert_eq!(sealed.run(&at_evening(&["ring", "--once"])).out, before.out);
}

#[test]
fn standing_says_which_card_is_flawed_and_where() {
    let sealed = Sealed::at_work();
    sealed.change(HARE, SLIPS[0]);
    let flaw = "card flawed: figures/hare/figure.yaml:31: `promised` is `16.4.2027`, which is \
                not a day of the calendar; `knuckle check` tells all";
    for words in [["standing"].as_slice(), &["standing", "hare"]] {
        let told = sealed.run(&at_evening(words));
        assert!(told.out.contains(flaw), "{}", told.out);
        assert_eq!((told.code, told.err.as_str()), (0, ONE));
    }
    let told = sealed.run(&at_evening(&["standing", "--json"]));
    let rows: Vec<serde_json::Value> = told
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    for row in rows {
        let wanted = if row["figure"] == "hare" {
            flaw.into()
        } else {
            serde_json::Value::Null
        };
        assert_eq!(row["flaw"], wanted);
    }
    let told = sealed.run(&["jot", "hare", "clamp 4 holds", "--as", "odile"]);
    assert_eq!((told.code, told.err.as_str()), (0, ONE), "{}", told.out);
}

#[test]
fn of_a_figure_s_card_every_field_is_kept_that_could_be_read() {
    let whole = &sound().figures["hare"];
    let (cards, flaws) = with(HARE, SLIPS[0]);
    let mut mended = cards.figures["hare"].clone();
    assert_eq!(mended.promised, None);
    mended.promised = whole.promised;
    assert_eq!((&mended, flaws.len()), (whole, 1));
    // Of a text that is no YAML each field is read by itself.
    let (cards, flaws) = with(HARE, SLIPS[1]);
    let mut mended = cards.figures["hare"].clone();
    assert_eq!(mended.name, "hare");
    mended.name.clone_from(&whole.name);
    assert_eq!((&mended, flaws.len()), (whole, 1));
    // Where not one can be read it stands in the first room, under its folder's name.
    let (cards, flaws) = read_cards(
        &[
            ("shop.yaml".to_owned(), "rooms: [{id: loft}]".to_owned()),
            ("figures/owl/figure.yaml".to_owned(), "\t".to_owned()),
        ],
        &[],
    );
    let owl = &cards.figures["owl"];
    assert_eq!([&owl.id, &owl.name, &owl.room], ["owl", "owl", "loft"]);
    assert!(flaws.contains(&cards.flawed.figures["owl"]));
}

#[test]
fn a_slip_in_the_shop_s_card_loses_nobody_and_no_number() {
    let number = ["ambulance: \"\"", "ambulance: \"112\""];
    let whole = with("shop.yaml", number).0.shop;
    for (slip, lost) in [
        (["practice: true", "practise: true"], 0),
        (["Lantern Quay Carving", "Lantern: Quay"], 0),
        (["trade: joiner", "trade: joiner: yes"], 1),
        (["balance_g: ", "balance_g: about "], 0),
    ] {
        let files: Vec<(String, String)> = sample_files()
            .into_iter()
            .filter(|(name, _)| name == "shop.yaml")
            .map(|(name, bytes)| (name, String::from_utf8(bytes).unwrap()))
            .map(|(name, text)| (name, text.replacen(number[0], number[1], 1)))
            .map(|(name, text)| {
                assert!(text.contains(slip[0]), "{slip:?}");
                (name, text.replacen(slip[0], slip[1], 1))
            })
            .collect();
        let (cards, flaws) = read_cards(&files, &[]);
        assert_eq!(cards.flawed.shop, flaws.first().cloned(), "{slip:?}");
        assert_eq!(cards.shop.emergency, whole.emergency, "{slip:?}");
        assert_eq!(cards.shop.rooms, whole.rooms, "{slip:?}");
        let people = &whole.people[lost..];
        assert_eq!(cards.shop.people, people, "{slip:?}");
        let balance = if slip[0].starts_with("balance") {
            0.0
        } else {
            whole.balance_g
        };
        assert!((cards.shop.balance_g - balance).abs() < f64::EPSILON);
    }
    // A number out of its range is nothing to reckon with: no air that was never there.
    let (cards, _) = with(
        "shop.yaml",
        ["air_changes_per_h: 12", "air_changes_per_h: 1200"],
    );
    let room = cards
        .shop
        .rooms
        .iter()
        .find(|room| room.id == "stripping-room");
    assert!(room.unwrap().air_changes_per_h.abs() < f64::EPSILON);
}

#[test]
fn new_work_on_a_flawed_card_is_refused_with_its_place_and_what_runs_is_finished() {
    let mut bench = bench(sound());
    let work = bench.begin("hare", "receive", None);
    bench.cards = with(HARE, SLIPS[0]).0;
    let begin = Intent::Begin {
        figure: "hare".into(),
        operation: "photograph".into(),
        target: None,
    };
    let no = bench.act(&begin).unwrap_err();
    assert_eq!(
        no.why,
        "the card has a flaw: figures/hare/figure.yaml:31:11: `promised` is `16.4.2027`, which \
         is not a day of the calendar"
    );
    let remedy = no.remedy.unwrap();
    assert!(
        remedy.contains("finish what runs; for new work mend the card"),
        "{remedy}"
    );
    let prompt = bench.prompt("hare", &work);
    bench.answer("hare", &work, &prompt);
    bench
        .act(&Intent::Jot {
            book: Book::Figure("hare".into()),
            text: "quarantine bag is whole".into(),
        })
        .unwrap();
    bench.read_air("hare");
    let on_another = Intent::Begin {
        figure: "heron".into(),
        operation: "receive".into(),
        target: None,
    };
    bench.act(&on_another).unwrap();
}

#[test]
fn work_by_a_flawed_checklist_is_seen_and_stands_still() {
    let file = "checklists/receive.yaml";
    let mut bench = bench(sound());
    let work = bench.begin("hare", "receive", None);
    let wanted = bench.prompt("hare", &work);
    // A slip that takes a field, one that breaks the text, one before the steps.
    for slip in [
        ["id: receive\norder: 1", "id: receive\nordre: 1"],
        ["id: receive\norder: 1", "id: receive\norder: 1: 2"],
        [
            "id: receive\norder: 1",
            "id: receive\nsteps: none: at all\norder: 1",
        ],
    ] {
        bench.cards = with(file, slip).0;
        let flaw = bench.cards.flawed.checklists["receive"].clone();
        assert_eq!(flaw.file, file);
        assert_eq!(bench.prompt("hare", &work).act, wanted.act, "{slip:?}");
        let rows = floor(bench.house(), bench.now);
        let row = rows.iter().find(|row| row.figure == "hare").unwrap();
        assert_eq!(row.doing.as_ref().map(|(work, _)| work), Some(&work));
        for what in [AtStep::Tick, AtStep::Done] {
            let no = bench.at_step("hare", &work, what).unwrap_err();
            let place = format!("the card has a flaw: {file}:{}:", flaw.line);
            assert!(no.why.starts_with(&place), "{}", no.why);
        }
    }
    bench.cards = sound();
    let prompt = bench.prompt("hare", &work);
    bench.answer("hare", &work, &prompt);
}

#[test]
fn a_flawed_material_is_taken_up_by_nobody_and_keeps_its_dangers() {
    let mut bench = bench(sound());
    let mut lots = Vec::new();
    let work = bench.walk_until("hare", "strip", Some("body-near"), &mut |front| {
        if let Ask::Lot { options, .. } = &front.ask {
            lots.clone_from(options);
        }
        !lots.is_empty()
    });
    let lot = lots[0].clone();
    let file = format!("materials/{}.yaml", lot.material);
    let whole = bench.cards.materials[&lot.material].clone();
    bench.cards = with(&file, ["kind: ", "colour: 7\nkind: "]).0;
    assert_eq!(bench.cards.materials[&lot.material], whole);
    let no = bench.at_step(
        "hare",
        &work,
        AtStep::Enter {
            value: knuckle::deed::Value::Text(lot.lot),
            again: true,
        },
    );
    let why = no.unwrap_err().why;
    assert!(
        why.starts_with(&format!("the card has a flaw: {file}:")),
        "{why}"
    );
    // No sum gets half a field: with one figure of a field wrong, the field is not there.
    let (cards, _) = with("materials/medium-epoxy.yaml", ["  b: 45", "  b: 45 parts"]);
    let epoxy = &cards.materials["medium-epoxy"];
    assert_eq!(epoxy.ratio, None);
    let sheet = &sound().materials["medium-epoxy"];
    assert_eq!(
        (&epoxy.pot_life, &epoxy.gloves, &epoxy.strength),
        (&sheet.pot_life, &sheet.gloves, &sheet.strength)
    );
}

#[test]
fn the_screen_says_on_each_page_which_card_is_flawed() {
    let bench = bench(with(HARE, SLIPS[0]).0);
    let look = Look { depth: Depth::Full };
    for page in [Page::Bench, Page::Floor, Page::Day, Page::Clocks] {
        let view = View {
            page,
            by: "odile".into(),
            ..View::default()
        };
        for (width, height) in [(60, 20), (120, 40)] {
            let sight = Sight::take(bench.house(), &view, bench.now);
            let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
            Pane {
                sight: &sight,
                view: &view,
                look,
            }
            .draw(buffer.area, &mut buffer);
            let text = picture::text(&buffer);
            let told = "▲ card flawed: figures/hare/figure.yaml:31:";
            assert!(text.contains(told), "{page:?} {width}\n{text}");
        }
    }
}

#[test]
fn a_file_that_the_disk_withholds_takes_no_other_with_it() {
    let sealed = Sealed::at_work();
    for file in [HARE, "materials/thinner.yaml"] {
        fs::remove_file(sealed.shop().join(file)).unwrap();
        fs::create_dir(sealed.shop().join(file)).unwrap();
    }
    let ring = sealed.run(&at_evening(&["ring", "--once"]));
    assert!(ring.out.contains("hare: cup: time is over"), "{}", ring.out);
    for words in ["standing", "clocks", "check"] {
        let told = sealed.run(&at_evening(&[words]));
        assert_eq!(told.code, 3, "{words}");
        for file in [HARE, "materials/thinner.yaml"] {
            let flaw = format!("{file}:1:1: cannot read the file: ");
            assert!(told.err.contains(&flaw), "{words}: {}", told.err);
        }
    }
    let told = sealed.run(&at_evening(&["standing"]));
    for figure in ["hare", "heron", "bandmaster", "lantern-woman", "lion-boss"] {
        assert!(told.out.contains(figure), "{figure}: {}", told.out);
    }
}

#[test]
fn whichever_act_of_reading_fails_every_figure_stays() {
    let shop = Path::new("/shop");
    let disk = || {
        let disk = FaultyDisk::default();
        let files = sample_files().into_iter();
        let few = ["shop", "hare", "heron", "medium"];
        for (name, bytes) in files.filter(|(name, _)| few.iter().any(|few| name.contains(few))) {
            let path = shop.join(name);
            make_folders(&disk, path.parent().unwrap()).unwrap();
            disk.put(&path, &bytes);
        }
        disk
    };
    let whole = disk();
    let before = whole.asked().len();
    let (cards, _) = load(&whole, shop).unwrap();
    assert_eq!((cards.figures.len(), cards.materials.len()), (2, 1));
    let acts = whole.asked().split_off(before);
    let (mut withheld, mut refused) = (0, 0);
    for (nth, act) in acts.iter().enumerate() {
        let disk = disk();
        disk.ail(before + nth, Ill::Fails(ErrorKind::PermissionDenied));
        if let Ok((read, flaws)) = load(&disk, shop) {
            assert!(read.figures.keys().eq(cards.figures.keys()), "{nth}");
            for file in &read.flawed.unread {
                assert!(flaws.iter().any(|flaw| flaw.file == *file), "{nth}: {file}");
            }
            withheld += usize::from(!read.flawed.unread.is_empty());
        } else {
            // What lies in a folder that cannot be looked into is known to nobody.
            assert!(matches!(act, Asked::List | Asked::Stamp), "{nth}: {act:?}");
            refused += 1;
        }
    }
    // The card of the shop, those of its figures, materials and drawings: opened and read.
    assert!(2 * (1 + cards.figures.len() + cards.materials.len()) <= withheld);
    assert!(refused <= 7, "{refused}");
}
