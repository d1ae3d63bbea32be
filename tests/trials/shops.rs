//! The folder of a shop: which one is meant, what is loaded of it, what is made new.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use knuckle::card::Path as Treatment;
use knuckle::disk::{RealDisk, make_folders, replace};
use knuckle::shop::{
    Carving, Found, NewFigure, Search, ShopFault, builtin_checklists, check, copy_sample, figures,
    find, load, open_shop, remember, sample_files, take_in,
};
use knuckle::trouble::Trouble;

use crate::cards::cards_below;
use crate::kit::faulty::{FaultyDisk, Ill};

fn put(folder: &Path, file: &str, text: &str) {
    let path = folder.join(file);
    make_folders(&RealDisk, path.parent().unwrap()).unwrap();
    replace(&RealDisk, &path, text.as_bytes()).unwrap();
}

fn told(folder: &Path) -> Vec<String> {
    let flaws = check(&RealDisk, folder).unwrap();
    flaws.iter().map(ToString::to_string).collect()
}

#[test]
fn the_named_shop_comes_before_the_nearest_upwards_before_the_last() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    let (one, two, memory) = (home.join("one"), home.join("two"), home.join("memory"));
    let deep = one.join("figures/hare/photos");
    make_folders(&RealDisk, &deep).unwrap();
    put(&one, "shop.yaml", "name: One\n");
    put(&two, "shop.yaml", "name: Two\n");
    let look = |given: Option<&Path>, here: &Path| {
        let memory = Some(memory.as_path());
        find(
            &RealDisk,
            &Search {
                given,
                here,
                memory,
            },
        )
        .unwrap()
    };
    assert_eq!(look(None, home), Found::Practice);
    remember(&RealDisk, &memory, &two).unwrap();
    assert_eq!(look(None, home), Found::Last(two.clone()));
    assert_eq!(look(None, &deep), Found::Here(one.clone()));
    assert_eq!(look(Some(&two), &deep), Found::Given(two.clone()));
    fs::remove_file(two.join("shop.yaml")).unwrap();
    assert_eq!(look(None, home), Found::Practice, "the last shop is gone");
}

#[test]
fn a_wrong_name_never_opens_another_shop() {
    let home = tempfile::tempdir().unwrap();
    put(home.path(), "shop.yaml", "name: Here\n");
    let wrong = home.path().join("wrong");
    let search = Search {
        given: Some(&wrong),
        here: home.path(),
        memory: None,
    };
    let fault = find(&RealDisk, &search).unwrap_err();
    assert!(matches!(&fault, ShopFault::NoShop { folder } if *folder == wrong));
    let trouble = Trouble::from(fault);
    assert_eq!(trouble.what, "this folder is no shop: it has no shop.yaml");
    assert_eq!(
        trouble.remedy.as_deref(),
        Some("name the folder that holds shop.yaml, or make a new shop with `open-shop`")
    );
    assert_eq!(trouble.exit.code(), 2);
}

#[test]
fn a_new_shop_and_a_new_figure_are_flawless_and_decide_nothing() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("new/shop");
    open_shop(&RealDisk, &folder).unwrap();
    assert!(told(&folder).is_empty(), "{}", told(&folder).join("\n"));
    let (cards, _) = load(&RealDisk, &folder).unwrap();
    assert!(!cards.shop.practice);
    assert_eq!(cards.materials.len(), 6);
    assert!(cards.materials.values().all(|card| card.lots.is_empty()));
    assert_eq!(cards.checklists.len(), builtin_checklists().len());
    for (id, carving, zones) in [
        ("ibis", Carving::Standing, 13),
        ("hare-2", Carving::Animal, 41),
        ("boss", Carving::Other, 2),
    ] {
        take_in(&RealDisk, &folder, &cards, NewFigure { id, carving }).unwrap();
        assert!(told(&folder).is_empty(), "{}", told(&folder).join("\n"));
        let (cards, _) = load(&RealDisk, &folder).unwrap();
        let figure = &cards.figures[id];
        assert_eq!(figure.zones.len(), zones);
        assert!(
            figure
                .zones
                .iter()
                .all(|zone| zone.path == Treatment::Leave)
        );
        assert!(figure.zones.iter().any(|zone| zone.id == "witness-patch"));
        assert_eq!(figure.route.len(), cards.checklists.len());
    }
    assert_eq!(
        figures(&RealDisk, &folder).unwrap(),
        ["boss", "hare-2", "ibis"]
    );
}

#[test]
fn nothing_that_is_there_is_written_over() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path();
    put(folder, "materials/slow-size.yaml", "mine\n");
    open_shop(&RealDisk, folder).unwrap();
    assert_eq!(
        fs::read_to_string(folder.join("materials/slow-size.yaml")).unwrap(),
        "mine\n"
    );
    for again in [open_shop(&RealDisk, folder), copy_sample(&RealDisk, folder)] {
        let trouble = Trouble::from(again.unwrap_err());
        assert_eq!(trouble.what, "a shop is there already");
        assert_eq!(
            trouble.remedy.as_deref(),
            Some("use it, or name another folder; nothing was changed")
        );
    }
    let cards = load(&RealDisk, folder).unwrap().0;
    let hare = NewFigure {
        id: "hare",
        carving: Carving::Animal,
    };
    let card = take_in(&RealDisk, folder, &cards, hare).unwrap();
    replace(&RealDisk, &card, b"mine\n").unwrap();
    let trouble = Trouble::from(take_in(&RealDisk, folder, &cards, hare).unwrap_err());
    assert_eq!(trouble.what, "a figure called `hare` is there already");
    assert_eq!(fs::read_to_string(card).unwrap(), "mine\n");
    for id in ["", "Hare", "../hare", "a b", "-a", "a-", &"a".repeat(41)] {
        let named = NewFigure {
            id,
            carving: Carving::Other,
        };
        let trouble = Trouble::from(take_in(&RealDisk, folder, &cards, named).unwrap_err());
        assert_eq!(trouble.what, format!("`{id}` is not a short name"));
    }
}

#[test]
fn the_sample_shop_in_the_program_is_the_one_in_the_repository() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("practice");
    copy_sample(&RealDisk, &folder).unwrap();
    assert!(told(&folder).is_empty(), "{}", told(&folder).join("\n"));
    let cards = load(&RealDisk, &folder).unwrap().0;
    assert!(
        cards.shop.practice,
        "a sped clock must be allowed to write there"
    );
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let hint = "touch src/shop/embedded.rs: files were added or taken away";
    let ours = cards_below(&top.join("sample-shop"), "");
    let theirs: Vec<(String, String)> = cards_below(&folder, "");
    assert_eq!(ours, theirs, "{hint}");
    assert_eq!(
        cards_below(top, "checklists").len(),
        builtin_checklists().len(),
        "{hint}"
    );
    assert!(ours.len() <= sample_files().len());
}

#[test]
fn flaws_of_the_files_themselves_are_told_too() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path();
    open_shop(&RealDisk, folder).unwrap();
    put(folder, "materials/a.yml", "id: a\n");
    put(folder, "materials/notes.txt", "nobody reads this\n");
    put(folder, "materials/.hidden.yaml", "nor this\n");
    make_folders(&RealDisk, &folder.join("figures/heron")).unwrap();
    let latin = folder.join("materials/latin.yaml");
    replace(&RealDisk, &latin, b"id: latin\nname: \xfcber\n").unwrap();
    put(folder, "materials/long.yaml", &"é".repeat(200 * 1024));
    put(folder, "checklists/wash.yaml", "id: wash\n");
    let told = told(folder);
    assert_eq!(
        told[..3],
        [
            "checklists/wash.yaml:1:1: missing field `order`; add `order: …` to this block",
            "checklists/wash.yaml:1:1: missing field `scope`; add `scope: …` to this block",
            "checklists/wash.yaml:1:1: missing field `steps`; add `steps: …` to this block",
        ]
    );
    assert_eq!(
        told[6..],
        [
            "figures/heron/figure.yaml:1:1: this figure has no card; write one, or move the folder out of figures",
            "materials/a.yml:1:1: this card is not read; let its name end in `.yaml`",
            "materials/latin.yaml:2:7: a sign here is not UTF-8 text; save the file as UTF-8",
            "materials/long.yaml:1:1: the file is longer than 128 KiB; a card is a page or two; split it",
        ]
    );
}

#[test]
fn a_shop_made_by_half_is_none_and_is_finished_the_next_time() {
    let folder = Path::new("/new");
    let whole = FaultyDisk::default();
    open_shop(&whole, folder).unwrap();
    let acts = whole.asked().len();
    assert!(30 < acts, "only {acts} acts were broken");
    assert_eq!(check(&whole, folder).unwrap(), []);
    for at in 0..acts {
        let disk = FaultyDisk::default();
        disk.ail(at, Ill::Fails(ErrorKind::StorageFull));
        let trouble = Trouble::from(open_shop(&disk, folder).unwrap_err());
        assert!(
            trouble.what.ends_with("the disk is full"),
            "{}",
            trouble.what
        );
        assert_eq!(trouble.exit.code(), 3);
        disk.heal();
        match open_shop(&disk, folder) {
            // Only the last sync of the folder can fail once the shop card is there.
            Err(ShopFault::ShopIsThere { .. }) => assert_eq!(at + 1, acts),
            made => made.unwrap(),
        }
        for name in whole.names() {
            assert_eq!(disk.bytes(&name), whole.bytes(&name), "after act {at}");
        }
    }
}
