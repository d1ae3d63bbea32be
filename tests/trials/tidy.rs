//! The rules that a machine can hold: who may use whom, what the pure rooms never mention,
//! how long a file may be, and that the maps show the house as it stands.
//!
//! Every rule gathers all of its findings first, so that one run shows everything that is
//! to be mended. `texts` finds the files and takes the comments out; the rules stand here.

use super::texts::{self, Source};

/// The rooms in their order; a room uses only what stands left of it.
const ORDER: [&str; 11] = [
    "reckon", "card", "deed", "standing", "plan", "journal", "shop", "report", "alarm", "screen",
    "command",
];

/// The rooms that know no clock, no disk, no terminal and no environment.
const PURE: [&str; 5] = ["reckon", "card", "deed", "standing", "plan"];

/// The three doors of the rim, each a folder or a file beside the rooms.
const DOORS: [&str; 3] = ["disk", "now", "trouble"];

/// The longest file, its unit tests left out.
const LONGEST_FILE: usize = 600;

/// The longest file of trials; a trial is read one test at a time.
const LONGEST_TRIAL: usize = 800;

/// What stands at the top of the tree, apart from names that begin with a dot.
const TOP: [&str; 9] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "README.md",
    "checklists",
    "sample-shop",
    "src",
    "target",
    "tests",
];

/// Fails with all findings, each on a line of its own.
#[track_caller]
fn check_none(rule: &str, found: &[String]) {
    assert!(found.is_empty(), "{rule}:\n{}", found.join("\n"));
}

/// Returns a finding with its place.
fn at(source: &Source, line: usize, what: &str) -> String {
    format!("{}:{line}: {what}", source.path)
}

#[test]
fn a_room_uses_only_what_stands_left_of_it() {
    let mut found = Vec::new();
    for source in texts::sources() {
        for used in source.uses("crate") {
            if !may_use(&source, &used.words) {
                let (room, other) = (&source.room, used.words.join("::"));
                let what = format!("`{room}` may not use `{other}`");
                found.push(at(&source, used.line, &what));
            }
        }
    }
    check_none("rooms in their order", &found);
}

/// Says whether a file may name a path below `crate`.
fn may_use(source: &Source, words: &[String]) -> bool {
    let room = source.room.as_str();
    let Some(other) = words.first().map(String::as_str) else {
        return true;
    };
    if other == room || room == "main" {
        return true;
    }
    match other {
        // Its own shape of a message, for every room that can fail at the rim.
        "trouble" => !PURE.contains(&room),
        "disk" => ["journal", "shop", "report", "command"].contains(&room),
        "now" => may_hold_the_clock(source, words),
        _ if room == "disk" || room == "now" || room == "trouble" => false,
        // The journal keeps lines, whatever was decided on them.
        "standing" | "plan" if room == "journal" => false,
        _ => place(other) < place(room),
    }
}

/// The clock is made in `command` and handed to the terminal. A zone is no clock: a page needs
/// it to know where a day begins.
fn may_hold_the_clock(source: &Source, words: &[String]) -> bool {
    match source.room.as_str() {
        "command" => true,
        "screen" => source.path == "src/screen/terminal.rs",
        "report" => words.get(1).is_some_and(|word| word == "Zone"),
        _ => false,
    }
}

#[test]
fn the_order_of_the_rooms_is_the_one_that_is_written_down() {
    let may = |path: &str, used: &str| {
        let source = Source::of(path.to_owned(), String::new());
        let words: Vec<String> = used.split("::").map(str::to_owned).collect();
        may_use(&source, &words)
    };
    for (path, used) in [
        ("src/journal/line.rs", "disk::Disk"),
        ("src/journal/line.rs", "deed::Line"),
        ("src/report/day.rs", "now::Zone"),
        ("src/screen/terminal.rs", "now::Clock"),
        ("src/command/day.rs", "screen::run"),
        ("src/main.rs", "command::run"),
    ] {
        assert!(may(path, used), "{path} may use {used}");
    }
    for (path, used) in [
        ("src/reckon/dew.rs", "card::Cards"),
        ("src/standing/gate.rs", "journal::Journal"),
        ("src/standing/gate.rs", "trouble::Trouble"),
        ("src/journal/line.rs", "standing::Standing"),
        ("src/journal/line.rs", "plan"),
        ("src/report/day.rs", "now::Clock"),
        ("src/screen/pane.rs", "now::Clock"),
        ("src/screen/pane.rs", "disk::Disk"),
        ("src/disk/mod.rs", "deed::Deed"),
        ("src/now.rs", "disk::Disk"),
    ] {
        assert!(!may(path, used), "{path} may not use {used}");
    }
}

/// Returns a room's place in the order; what is no room stands behind all of them.
fn place(room: &str) -> usize {
    ORDER
        .iter()
        .position(|known| *known == room)
        .unwrap_or(usize::MAX)
}

/// A path that climbs out of its room by `super` would pass by the rule above.
#[test]
fn another_room_is_named_from_the_top_of_the_house() {
    let mut found = Vec::new();
    for source in texts::sources() {
        for (line, steps) in source.climbs() {
            if source.depth < steps {
                found.push(at(&source, line, "`super` climbs out of the room"));
            }
        }
    }
    check_none("rooms named as `crate::…`", &found);
}

#[test]
fn a_pure_room_never_mentions_clock_disk_terminal_or_environment() {
    const RIM: [&str; 22] = [
        "SystemTime",
        "Instant",
        "Local",
        "Utc",
        "println",
        "eprintln",
        "print",
        "eprint",
        "stdout",
        "stderr",
        "stdin",
        "File",
        "Command",
        "thread",
        "crossterm",
        "ratatui",
        "notify_rust",
        "signal_hook",
        "directories",
        "supports_color",
        "include_dir",
        "zbus",
    ];
    let mut found = Vec::new();
    for source in texts::sources().filter(|source| PURE.contains(&source.room.as_str())) {
        for used in source.uses("std") {
            let first = used.words.first().map_or("", String::as_str);
            if ["fs", "env", "io", "net", "process", "thread", "os"].contains(&first) {
                found.push(at(
                    &source,
                    used.line,
                    &format!("`{}` uses `std::{first}`", source.room),
                ));
            }
        }
        for (line, word) in source.words_before_tests() {
            if RIM.contains(&word) {
                found.push(at(
                    &source,
                    line,
                    &format!("`{}` mentions `{word}`", source.room),
                ));
            }
        }
    }
    check_none("pure rooms", &found);
}

#[test]
fn each_door_to_the_world_stands_in_its_own_place() {
    let mut found = Vec::new();
    for source in texts::sources() {
        for used in source.uses("std") {
            let first = used.words.first().map_or("", String::as_str);
            let allowed = match first {
                // The terminal is a device and no file of a shop: what it answers is read
                // beside its keys.
                "fs" => source.room == "disk" || source.path == "src/screen/asking.rs",
                "env" => ["main", "command"].contains(&source.room.as_str()),
                // Nothing here speaks to a network, in any room.
                "net" => false,
                _ => true,
            };
            if !allowed {
                found.push(at(
                    &source,
                    used.line,
                    &format!("`{}` uses `std::{first}`", source.room),
                ));
            }
        }
        for used in source.uses("chrono") {
            if used.words.iter().any(|word| word == "Local") && source.room != "now" {
                let what = format!("`{}` uses `chrono::Local`", source.room);
                found.push(at(&source, used.line, &what));
            }
        }
        for (line, word) in source.words_before_tests() {
            if !may_say(&source, word) {
                found.push(at(
                    &source,
                    line,
                    &format!("`{}` mentions `{word}`", source.room),
                ));
            }
        }
    }
    check_none("doors to the world", &found);
}

/// Says whether a file may use a word that reads the time or prints.
fn may_say(source: &Source, word: &str) -> bool {
    let room = source.room.as_str();
    match word {
        "SystemTime" => ["now", "disk"].contains(&room),
        "Instant" => room == "now",
        "println" | "eprintln" | "print" | "eprint" | "stderr" => {
            ["trouble", "command", "main"].contains(&room)
        }
        // The terminal is not printed on: one file draws it, one rings its bell.
        "stdout" => {
            ["trouble", "command", "main"].contains(&room)
                || ["src/screen/terminal.rs", "src/screen/ringer.rs"].contains(&&*source.path)
        }
        _ => true,
    }
}

#[test]
fn no_file_is_longer_than_can_be_kept_in_mind() {
    let long = |source: &Source, limit: usize| {
        let lines = source.lines_before_tests();
        (limit < lines).then(|| format!("{}: {lines} lines, at most {limit}", source.path))
    };
    let mut found: Vec<String> = texts::sources()
        .filter_map(|source| long(&source, LONGEST_FILE))
        .collect();
    found.extend(texts::trials().filter_map(|trial| long(&trial, LONGEST_TRIAL)));
    check_none("file sizes", &found);
}

#[test]
fn every_constant_of_the_trade_says_where_it_comes_from() {
    let mut found = Vec::new();
    for source in texts::sources().filter(|s| ["reckon", "standing"].contains(&s.room.as_str())) {
        for line in source.constants_without_a_word() {
            found.push(at(&source, line, "a constant without a doc line"));
        }
    }
    check_none("constants", &found);
}

#[test]
fn every_file_of_trials_is_run() {
    let main = texts::read("tests/trials/main.rs");
    let mut listed: Vec<&str> = main
        .lines()
        .filter_map(|line| line.strip_prefix("mod ")?.strip_suffix(';'))
        .collect();
    let sorted = listed.clone();
    listed.sort_unstable();
    assert_eq!(
        sorted, listed,
        "the list in main.rs is in the order of the alphabet"
    );
    let stand: Vec<String> = texts::names_in("tests/trials")
        .into_iter()
        .map(|name| name.trim_end_matches(".rs").to_owned())
        .filter(|name| name != "main" && name != "proptest-regressions")
        .collect();
    assert_eq!(
        listed, stand,
        "modules in main.rs, and files in tests/trials"
    );
}

/// Returns the names of the rooms and doors that stand in `src`, sorted.
fn standing_rooms() -> Vec<String> {
    texts::names_in("src")
        .into_iter()
        .map(|name| name.trim_end_matches(".rs").to_owned())
        .filter(|name| name != "main" && name != "lib")
        .collect()
}

#[test]
fn the_map_in_lib_is_the_house_as_it_stands() {
    let lib = texts::read("src/lib.rs");
    let mut mapped: Vec<&str> = lib
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'))
        .collect();
    mapped.sort_unstable();
    assert_eq!(mapped, standing_rooms(), "`pub mod` in src/lib.rs, and src");
    let mut ruled: Vec<&str> = ORDER.into_iter().chain(DOORS).collect();
    ruled.sort_unstable();
    assert_eq!(
        ruled,
        standing_rooms(),
        "the rooms that this trial knows, and src"
    );
    let order = format!("//! `{} ‹ main`", ORDER.join(" ‹ "));
    assert!(lib.contains(&order), "src/lib.rs says no longer\n{order}");
}

#[test]
fn the_map_for_developers_is_the_house_as_it_stands() {
    let page = texts::read("DEVELOPERS.md");
    let order = format!("`{} ‹ main`", ORDER.join(" ‹ "));
    assert!(
        page.contains(&order),
        "DEVELOPERS.md says no longer\n{order}"
    );
    let mut mapped: Vec<&str> = page
        .lines()
        .filter_map(|line| line.strip_prefix("| `src/")?.split('`').next())
        .map(|path| path.trim_end_matches('/').trim_end_matches(".rs"))
        .filter(|room| *room != "main" && *room != "lib")
        .collect();
    mapped.sort_unstable();
    assert_eq!(mapped, standing_rooms(), "rows of the code map, and src");
}

#[test]
fn the_readme_shows_the_key_table_of_the_program() {
    let table = knuckle::screen::keys::markdown();
    assert!(
        texts::read("README.md").contains(&table),
        "README.md does not hold this table:\n{table}"
    );
}

/// A page that names a test which is gone promises what nobody holds.
#[test]
fn every_guard_named_for_developers_is_a_test() {
    let page = texts::read("DEVELOPERS.md");
    let tests: Vec<(String, Vec<String>)> = texts::trials()
        .map(|trial| (trial.path.clone(), trial.functions()))
        .collect();
    let found: Vec<String> = texts::quoted(&page)
        .filter_map(|quoted| quoted.split_once("::"))
        .filter(|(file, _)| texts::exists(&format!("tests/trials/{file}.rs")))
        .filter(|(file, test)| {
            let path = format!("tests/trials/{file}.rs");
            let stands = |(at, names): &(String, Vec<String>)| {
                *at == path && names.iter().any(|name| name == test)
            };
            !tests.iter().any(stands)
        })
        .map(|(file, test)| format!("DEVELOPERS.md: `{file}::{test}` is no test"))
        .collect();
    check_none("guards of the invariants", &found);
    assert!(
        texts::quoted(&page)
            .filter(|quoted| quoted.contains("::"))
            .count()
            > 20,
        "the invariants name their guards"
    );
}

/// Each crate costs building time, size and trust; the page says what for.
#[test]
fn every_crate_has_its_reason_and_none_is_shipped_for_nothing() {
    let manifest = texts::read("Cargo.toml");
    let shipped = texts::named_in(&manifest, "dependencies");
    let tools = texts::named_in(&manifest, "dev-dependencies");
    assert!(10 < shipped.len() && !tools.is_empty());
    let page = texts::read("DEVELOPERS.md");
    let rows: Vec<&str> = page
        .lines()
        .filter(|line| line.starts_with("| `"))
        .filter_map(|line| line.split('|').nth(1))
        .collect();
    let has_reason = |name: &str| rows.iter().any(|row| row.contains(&format!("`{name}`")));
    let mut found: Vec<String> = shipped
        .iter()
        .chain(&tools)
        .filter(|name| !has_reason(name))
        .map(|name| format!("{name}: no reason in DEVELOPERS.md"))
        .collect();
    let code: String = texts::sources().map(|source| source.bare).collect();
    let unused = shipped
        .iter()
        .filter(|name| !code.contains(&format!("{}::", name.replace('-', "_"))));
    found.extend(unused.map(|name| format!("{name}: used nowhere in src")));
    check_none("crates", &found);
}

#[test]
fn only_what_belongs_there_stands_at_the_top() {
    let found: Vec<String> = texts::names_in("")
        .into_iter()
        .filter(|name| !name.starts_with('.') && !TOP.contains(&name.as_str()))
        .collect();
    check_none("top of the tree", &found);
}

#[test]
fn no_text_speaks_of_a_workplace_or_leaves_work_undone() {
    // Put together here, so that this file does not find itself.
    let words = [
        ["sha", "red/"],
        ["/wo", "rk/"],
        ["/tm", "p/"],
        ["/ro", "ot/"],
        ["/ho", "me/"],
        ["TO", "DO"],
        ["FIX", "ME"],
        ["X", "XX"],
    ]
    .map(|parts| parts.concat());
    let mut found = Vec::new();
    for (path, text) in texts::every_text() {
        for (line, text) in text.lines().enumerate() {
            for word in words.iter().filter(|word| text.contains(word.as_str())) {
                found.push(format!("{path}:{}: `{word}`", line + 1));
            }
        }
    }
    check_none("words that do not belong here", &found);
}

#[test]
fn every_file_that_the_pages_name_is_there() {
    let mut found = Vec::new();
    for page in ["README.md", "DEVELOPERS.md"] {
        let text = texts::read(page);
        let linked = texts::linked(&text).filter(|link| !link.starts_with('#'));
        let quoted = texts::quoted(&text).filter(|quoted| {
            let top = quoted.split('/').next().unwrap_or_default();
            quoted.contains('/') && ["src", "tests", "checklists", "sample-shop"].contains(&top)
        });
        for path in linked.chain(quoted) {
            let is_pattern = path.contains(['*', '<', '…', ' ', ':']);
            if !is_pattern && !texts::exists(path) {
                found.push(format!("{page}: `{path}` is not there"));
            }
        }
    }
    check_none("files named in the pages", &found);
}
