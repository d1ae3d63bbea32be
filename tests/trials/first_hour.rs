//! A stranger's first hour on the real binary: a shop and a figure of one's own, made with the
//! two commands that make them, and the first joint in it by what the screen says.

#![expect(
    clippy::disallowed_methods,
    reason = "the stranger edits cards with an editor of their own"
)]

use std::path::Path;
use std::process::{Command, Output};

use knuckle::deed::Deed;
use knuckle::standing::{Ask, OpensBy};

use crate::window::{Shop, Window, take_up, walk_on};

/// Runs the program with nothing of the environment, as `env -i` would.
fn run(here: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_knuckle"));
    command.env_clear().current_dir(here).args(words);
    command.output().unwrap()
}

#[track_caller]
fn told(here: &Path, words: &[&str]) -> String {
    let output = run(here, words);
    let text = String::from_utf8(output.stdout).unwrap();
    let notes = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.success(), "{words:?}: {text}{notes}");
    text
}

/// Takes the `# ` away from the example of a card, as the card says.
fn uncommented(card: &str, from: &str) -> String {
    let (before, rest) = card.split_once(&format!("# {from}\n")).unwrap();
    let (example, after) = rest.split_once("\n\n").unwrap();
    let example = example.replace("\n# ", "\n");
    let example = example.strip_prefix("# ").unwrap();
    format!("{before}{from}\n{example}\n\n{after}")
}

/// A new shop with a new figure, its card filled in as its own words say.
fn new_shop() -> Shop {
    let temp = tempfile::tempdir().unwrap();
    told(temp.path(), &["open-shop", "shop"]);
    let folder = temp.path().join("shop");
    told(&folder, &["take-in", "seahorse"]);
    let path = folder.join("figures/seahorse/figure.yaml");
    let card = std::fs::read_to_string(&path).unwrap();
    let card = uncommented(&card, "joints:");
    let body = "id: body, name: body, path: ";
    let card = card.replace(&format!("{body}leave"), &format!("{body}copy"));
    // A broken leg and no more: what the figure does not need is struck out.
    let needs = |line: &&str| {
        let operation = line.strip_prefix("  - operation: ");
        operation.is_none_or(|id| {
            [
                "dry",
                "dry-fit",
                "mix-and-lay-up",
                "varnish",
                "size-and-leaf",
            ]
            .contains(&id)
        })
    };
    let card: Vec<&str> = card.lines().filter(needs).collect();
    let card = card.join("\n");
    std::fs::write(&path, card).unwrap();
    // The clock of a shop to learn in may be set, so that nothing here waits for days.
    let path = folder.join("shop.yaml");
    let card = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, card.replace("practice: false", "practice: true")).unwrap();
    Shop::at(temp)
}

/// A window on the new shop at a moment.
fn window(shop: &Shop, now: &str) -> Window {
    let args = ["--as", "first-person", "--clock", now, "bench", "seahorse"];
    Window::open(&shop.folder, &args, (24, 80))
}

/// Walks what is at the bench to its end, or to where it waits for another day or hand.
fn walk(shop: &Shop, window: &mut Window, operation: &str, now: &str) -> Ask {
    let job = ("seahorse", operation, now);
    let prompt = walk_on(shop, window, job, &|prompt| match &prompt.ask {
        Ask::Gate(verdict) => matches!(verdict.opens_by, OpensBy::Operation(_)),
        Ask::Finished { .. } | Ask::Hold { .. } | Ask::Wait { ready: false, .. } => true,
        Ask::Lot { options, .. } => options.is_empty(),
        _ => false,
    });
    prompt.ask
}

/// Presses what brings a line into a journal.
fn kept(shop: &Shop, window: &mut Window, keys: &str) {
    let before = shop.count();
    window.press(keys);
    shop.wait_for_lines(window, before);
}

#[test]
fn the_first_joint_of_a_new_shop_is_glued_by_what_is_on_the_screen() {
    let shop = new_shop();
    let monday = "2026-11-23T08:00:00+00:00";
    let mut window = window(&shop, monday);
    window.wait_for_text("This tool reminds; it does not permit.");
    kept(&shop, &mut window, " ");
    window.wait_for_text("the card names no panel");
    // The wood is read twice, two days apart.
    let before = shop.count();
    take_up(&mut window, "Dry to target");
    shop.wait_for_lines(&window, before);
    walk(&shop, &mut window, "dry", monday);
    window.wait_for_text("take the readings again");
    window.leave();
    let thursday = "2026-11-26T08:00:00+00:00";
    let mut window = self::window(&shop, thursday);
    window.wait_for_text("take the readings again");
    kept(&shop, &mut window, " ");
    let ask = walk(&shop, &mut window, "dry", thursday);
    assert!(matches!(ask, Ask::Hold { .. }), "{ask:?}");
    window.wait_for_text("may sign: Second person");
    window.wait_for_text("one of them is here");
    // The joint does not wait for the signature.
    take_next(&shop, &mut window, "Dry fit and gap map");
    let ask = walk(&shop, &mut window, "dry-fit", thursday);
    assert!(matches!(ask, Ask::Hold { .. }), "{ask:?}");
    take_next(&shop, &mut window, "Mix, lay up, clamp");
    // No tin stands on the shelf of a new shop: the screen says how one gets there.
    for part in ["a", "b"] {
        let ask = walk(&shop, &mut window, "mix-and-lay-up", thursday);
        assert!(matches!(ask, Ask::Lot { .. }), "{ask:?}");
        window.wait_for_text("knuckle lot open medium-epoxy NUMBER");
        window.wait_for_text(&format!("--part {part} --as first-person"));
        let number = format!("{part}-1");
        let open = ["lot", "open", "medium-epoxy", &number, "--part", part];
        let by = ["--as", "first-person", "--clock", thursday];
        told(&shop.folder, &[&open[..], &by[..]].concat());
        window.wait_for_text(&format!("1 {number}"));
        kept(&shop, &mut window, "1");
    }
    let ask = walk(&shop, &mut window, "mix-and-lay-up", thursday);
    assert!(matches!(ask, Ask::Wait { .. }), "{ask:?}");
    let page = window.wait_for_text("cup");
    assert!(page.contains("clamps"), "{page}");
    window.leave();
    let lines = shop.lines("seahorse");
    let mixed = lines.iter().find_map(|line| match &line.deed {
        Deed::Mixed(mixed) => Some(mixed),
        _ => None,
    });
    let mixed = mixed.expect("the mix is in the journal");
    assert_eq!(mixed.starts.len(), 5, "one mix starts five clocks");
    assert_eq!(mixed.lots, ["a-1", "b-1"]);
}

/// Takes up another operation of the figure at the bench: `g`, its list, its row.
fn take_next(shop: &Shop, window: &mut Window, title: &str) {
    window.press("g");
    window.wait_for_text("1 another operation of seahorse");
    window.press("1");
    let before = shop.count();
    take_up(window, title);
    shop.wait_for_lines(window, before);
}
