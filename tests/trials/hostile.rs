//! What comes from outside and means no good: keys without sense, names that steer or hide,
//! folders that lead elsewhere, a mask that gives every right away; and that the program never
//! opens a way to a network.

use std::collections::VecDeque;
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use chrono::{DateTime, FixedOffset, TimeDelta};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use knuckle::card::MaterialKind;
use knuckle::deed::{Asked, Deed, Deviated, DeviationKind, Jotted, LotOpened, Pack, Work};
use knuckle::report::{harmless, harmless_json};
use knuckle::screen::{Dial, Event, NoEasel, Opening, Silent, Turn, go_round, plain};
use portable_pty::CommandBuilder;
use proptest::prelude::*;
use proptest::string::string_regex;
use ratatui::{Terminal, backend::TestBackend};

use crate::crash_real::can;
use crate::kit::sealed::{Sealed, at_evening};
use crate::laws::{cards, start};
use crate::memory;
use crate::played::{Behind, Hand};
use crate::window::Window;

/// A dial that goes on by some minutes at each look, so that clocks run out and ring.
struct Goes(DateTime<FixedOffset>);

impl Dial for Goes {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        self.0 += TimeDelta::minutes(2);
        (self.0, None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<Duration> {
        None
    }
}

fn any_key() -> impl Strategy<Value = Event> {
    let code = prop_oneof![
        8 => prop::sample::select("0123456789?pbcfditwasnyqxgmroelhkuvz .-+".chars().collect::<Vec<_>>())
            .prop_map(KeyCode::Char),
        6 => Just(KeyCode::Char(' ')),
        6 => Just(KeyCode::Enter),
        2 => Just(KeyCode::Esc),
        3 => prop::sample::select(vec![
            KeyCode::Up, KeyCode::Down, KeyCode::Left, KeyCode::Right, KeyCode::Tab,
            KeyCode::BackTab, KeyCode::Backspace, KeyCode::Delete, KeyCode::Home, KeyCode::End,
            KeyCode::PageUp, KeyCode::PageDown, KeyCode::Insert, KeyCode::F(1), KeyCode::F(2),
            KeyCode::Null, KeyCode::Menu,
        ]),
        2 => any::<char>().prop_map(KeyCode::Char),
    ];
    let held = prop::sample::select(vec![
        KeyModifiers::NONE,
        KeyModifiers::NONE,
        KeyModifiers::NONE,
        KeyModifiers::SHIFT,
        KeyModifiers::CONTROL,
        KeyModifiers::ALT,
    ]);
    (code, held).prop_map(|(code, held)| Event::Key(KeyEvent::new(code, held)))
}

fn any_event() -> impl Strategy<Value = Event> {
    let mouse = (any::<u8>(), 0..260_u16, 0..90_u16).prop_map(|(kind, column, row)| {
        let kind = match kind % 5 {
            0 => MouseEventKind::ScrollUp,
            1 => MouseEventKind::ScrollDown,
            2 => MouseEventKind::Moved,
            _ => MouseEventKind::Down(MouseButton::Left),
        };
        Event::Mouse(MouseEvent {
            kind,
            column,
            row,
            modifiers: KeyModifiers::NONE,
        })
    });
    let pasted = prop_oneof![
        any::<String>(),
        prop::sample::select(vec!["12.5", "-1e999", "NaN", "\u{1b}[2J\u{202e}", "21C"])
            .prop_map(str::to_owned),
    ];
    prop_oneof![
        16 => any_key(),
        4 => mouse,
        1 => pasted.prop_map(Event::Pasted),
        1 => Just(Event::Kept),
        1 => Just(Event::Due),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, ..ProptestConfig::default() })]

    /// The terminal takes another size between the parts, also sizes that nothing fits into.
    #[test]
    fn no_keys_touches_pastes_and_sizes_make_the_screen_stumble(
        parts in prop::collection::vec(
            ((1..260_u16, 1..90_u16), prop::collection::vec(any_event(), 1..24)),
            1..5,
        ),
        figure in prop::sample::select(vec!["", "hare", "heron"]),
        by in prop::sample::select(vec!["", "odile", "marguerite"]),
    ) {
        let mut behind = Behind(memory::Bench::new(cards(), start()));
        if !by.is_empty() {
            behind.settle("hare");
        }
        let opening = Opening {
            by: by.to_owned(),
            bench: "trial".to_owned(),
            figure: (!figure.is_empty()).then(|| figure.to_owned()),
            ..Opening::default()
        };
        let (mut dial, mut bell) = (Goes(start()), Silent);
        let mut turn = Turn::new(&mut behind, &mut dial, &mut bell, opening);
        for ((wide, high), events) in parts {
            let mut terminal = Terminal::new(TestBackend::new(wide, high)).unwrap();
            let mut hand = Hand(VecDeque::from(events));
            go_round(&mut turn, &mut terminal, &mut hand, &mut NoEasel).unwrap();
            for cell in terminal.backend().buffer().content() {
                prop_assert!(!cell.symbol().chars().any(acts_or_hides), "{:?}", cell.symbol());
            }
        }
        behind.0.assert_live_is_replayed();
    }

    /// The signs come from the tables of another library, by the name of their property.
    #[test]
    fn every_sign_that_acts_or_hides_is_shown(
        sign in string_regex("[\\p{Default_Ignorable_Code_Point}\\p{Cc}\\p{Bidi_Control}\u{2028}\u{2029}\u{fff9}-\u{fffb}]").unwrap(),
    ) {
        let text = format!("ha{sign}re");
        for shown in [harmless(&text).into_owned(), plain(&text)] {
            prop_assert!(!shown.contains(&sign), "{:?} is left", sign);
            prop_assert!("hare".len() < shown.len());
        }
        let json = harmless_json(&serde_json::to_string(&text).unwrap()).into_owned();
        prop_assert!(!json.contains(&sign));
        prop_assert_eq!(serde_json::from_str::<String>(&json).unwrap(), text);
    }
}

/// Controls, signs that turn the reading order, and signs without a width (Unicode Standard,
/// chapter 23.2 and 23.3; tags in 23.9), as far as the trials write them.
pub(crate) fn acts_or_hides(sign: char) -> bool {
    sign.is_control()
        || matches!(sign,
            '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}')
}

/// What clears the terminal, turns the order, and hides letters.
const BAD: &str = "\u{1b}[2J\u{9b}31m\u{202e}xof\u{200b}\u{2066}\u{e0041}\u{7f}\u{ad}";

/// A name that turns the order and hides letters, as a card can hold it.
const HIDING: &str = "\\u202Exof\\u200B\\u2066\\U000E0041\\u00AD";

/// Puts more behind a name on a card.
fn rename(sealed: &Sealed, (file, plain): (&str, &str), more: &str) {
    let said = format!("name: {plain}");
    sealed.change(file, [&said, &format!("name: \"{plain}{more}\"")]);
}

/// A shop with names that hide on its cards, and a journal whose every word means no good.
fn with_bad_names() -> Sealed {
    let sealed = Sealed::at_work();
    for named in [
        ("shop.yaml", "Odile"),
        ("shop.yaml", "Marguerite"),
        ("figures/hare/figure.yaml", "running hare"),
    ] {
        rename(&sealed, named, HIDING);
    }
    let text = |what: &str| format!("{what}{BAD}");
    let lines = [
        Deed::Jotted(Jotted { text: text("note") }),
        Deed::Asked(Asked {
            text: text("may I?"),
        }),
        Deed::Deviated(Deviated {
            work: Work {
                operation: text("strip"),
                target: Some(text("zone")),
                round: 1,
            },
            step: text("step"),
            kind: DeviationKind::Other,
            what: text("otherwise"),
        }),
    ];
    let lines = lines.map(|deed| ("2026-11-25T15:00:00Z", BAD, deed));
    sealed.write("figures/hare", &lines);
    let lot = Deed::LotOpened(LotOpened {
        material: "gel-stripper".to_owned(),
        kind: MaterialKind::Stripper,
        lot: text("L"),
        part: String::new(),
        expires: None,
        pack: Pack::default(),
    });
    sealed.write("", &[("2026-11-25T18:00:00Z", BAD, lot)]);
    sealed
}

#[test]
fn a_name_that_would_act_is_a_flaw_of_its_card_with_its_place() {
    let sealed = Sealed::new();
    rename(&sealed, ("shop.yaml", "Odile"), "\\e[2J");
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 1, "{}", told.err);
    let flaw = "`name` holds a sign that cannot be shown (code 0x1b); write it on one line";
    let found = told.out.lines().find(|line| line.ends_with(flaw));
    assert!(found.unwrap().starts_with("shop.yaml:"), "{}", told.out);
    assert!(!told.out.contains('\u{1b}'));
}

#[test]
fn no_command_lets_a_name_or_a_note_act_or_hide() {
    let sealed = with_bad_names();
    let mut shown = 0;
    for words in [
        "standing",
        "standing hare",
        "clocks",
        "day 2026-11-25",
        "day 2026-11-25 --page",
        "next",
        "forecast --runs 20",
        "hours",
        "recall xof",
        "recall --lot A-1",
        "stock",
        "sign",
        "trust",
        "layer hare",
        "report hare",
        "tonight hare",
        "check",
        "audit",
    ] {
        for json in [&[][..], &["--json"]] {
            let words: Vec<&str> = words.split(' ').chain(json.iter().copied()).collect();
            let told = sealed.run(&at_evening(&words));
            for text in [&told.out, &told.err] {
                let left: Vec<char> = text
                    .chars()
                    .filter(|sign| *sign != '\n' && acts_or_hides(*sign))
                    .collect();
                assert!(left.is_empty(), "{words:?} lets {left:?} through:\n{text}");
                shown += usize::from(text.contains("202E") || text.contains("202e"));
            }
        }
    }
    assert!(
        10 < shown,
        "only {shown} answers showed what they were given"
    );
}

#[test]
fn nothing_that_the_program_makes_may_be_written_by_others() {
    let sealed = Sealed::new();
    let script = r#"umask 0 && "$KNUCKLE" open-shop new &&
        "$KNUCKLE" --as odile --clock 2026-11-25T08:00:00Z jot hare "made""#;
    let ended = Command::new("sh")
        .args(["-c", script])
        .current_dir(sealed.shop())
        .env("KNUCKLE", env!("CARGO_BIN_EXE_knuckle"))
        .env("HOME", sealed.home.path())
        .output()
        .unwrap();
    assert!(ended.status.success(), "{ended:?}");
    let mut made = vec![sealed.shop().join("figures/hare/journal.jsonl")];
    all_below(&sealed.shop().join("new"), &mut made);
    assert!(3 < made.len(), "{made:?}");
    for path in made {
        let bits = fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(bits & 0o022, 0, "{}: {bits:o}", path.display());
    }
}

fn all_below(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    found.push(folder.to_owned());
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all_below(&path, found);
        } else {
            found.push(path);
        }
    }
}

/// Somebody lays a link under the name that the practice shop would get.
#[test]
fn a_practice_shop_is_never_laid_where_a_link_leads() {
    let sealed = Sealed::new();
    let home = sealed.home.path();
    fs::create_dir(home.join("elsewhere")).unwrap();
    let script =
        r#"ln -s "$TMPDIR/elsewhere" "$TMPDIR/knuckle-practice-$$" && exec "$KNUCKLE" practice"#;
    let mut command = CommandBuilder::new("sh");
    command.args(["-c", script]);
    command.cwd(home);
    command.env("TERM", "xterm-256color");
    command.env("KNUCKLE", env!("CARGO_BIN_EXE_knuckle"));
    command.env("HOME", home);
    command.env("TMPDIR", home);
    command.env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere");
    let window = Window::of(command, (40, 120));
    window.wait_for_text("practice");
    assert_eq!(fs::read_dir(home.join("elsewhere")).unwrap().count(), 0);
    let copies = fs::read_dir(home).unwrap().map(|entry| entry.unwrap());
    let copy = copies
        .filter(|entry| {
            entry
                .file_name()
                .to_string_lossy()
                .starts_with("knuckle-practice-")
        })
        .find(|entry| entry.file_type().unwrap().is_dir())
        .expect("a folder of its own");
    assert!(copy.path().join("shop.yaml").is_file());
    assert_eq!(copy.metadata().unwrap().mode() & 0o022, 0);
    window.leave();
    assert!(!copy.path().exists(), "practice leaves nothing");
    let names = fs::read_dir(home)
        .unwrap()
        .map(|entry| entry.unwrap().file_name());
    let left: Vec<_> = names
        .filter(|name| name != "shop" && name != "elsewhere")
        .collect();
    assert!(left.len() == 1, "only the link is left: {left:?}");
}

#[test]
fn without_a_terminal_no_practice_shop_is_laid() {
    let sealed = Sealed::new();
    let told = sealed.run(&["practice"]);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    assert!(
        told.err.starts_with("there is no terminal here"),
        "{told:?}"
    );
    let names = fs::read_dir(sealed.home.path()).unwrap();
    assert_eq!(names.count(), 1, "only the shop of the trial");
}

#[test]
fn a_card_cannot_name_a_figure_out_of_its_folder() {
    let sealed = Sealed::new();
    sealed.change("figures/hare/figure.yaml", ["id: hare", "id: ../../../out"]);
    let told = sealed.run(&["check"]);
    assert_eq!(told.code, 1, "{told:?}");
    assert!(told.out.contains("figures/hare/figure.yaml"), "{told:?}");
    for id in ["../out", "..", "/out", "a/b", "", "CON ", "x\u{200b}"] {
        let told = sealed.run(&["--as", "marguerite", "take-in", id]);
        assert_eq!(told.code, 2, "{id:?}: {told:?}");
        let told = sealed.run(&["--as", "odile", "jot", id, "x"]);
        assert_eq!(told.code, 2, "{id:?}: {told:?}");
    }
    assert!(!sealed.home.path().join("out").exists());
}

/// The message bus is a socket of this machine (`AF_UNIX`); any other family would be a way out.
#[test]
fn the_program_opens_no_way_to_a_network() {
    if !can(&["strace", "-f", "-qq", "-o", "/dev/null", "true"]) {
        return;
    }
    let sealed = Sealed::at_work();
    let home = sealed.home.path();
    for words in [
        "--as odile --clock 2026-11-26T08:00:00Z jot hare x",
        "--clock 2026-11-25T18:00:00Z ring --once",
        "--clock 2026-11-25T18:00:00Z day",
        "--clock 2026-11-25T18:00:00Z report hare --out page.html",
    ] {
        let ended = Command::new("strace")
            .args(["-f", "-qq", "-e", "trace=socket,connect", "-o"])
            .arg(home.join("calls"))
            .arg(env!("CARGO_BIN_EXE_knuckle"))
            .args(words.split(' '))
            .current_dir(sealed.shop())
            .env("HOME", home)
            .env("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere")
            .output()
            .unwrap();
        assert!(ended.status.success(), "{words}: {ended:?}");
        let calls = fs::read_to_string(home.join("calls")).unwrap();
        for call in calls.lines().filter(|line| line.contains("socket(")) {
            assert!(call.contains("AF_UNIX"), "{words}: {call}");
        }
        let rang = words.contains("ring");
        assert!(
            !rang || calls.contains("AF_UNIX"),
            "the trace shows the bus"
        );
    }
}
