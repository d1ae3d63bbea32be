//! Every shipped card and checklist parses; each file in `flawed/` gives exactly its named
//! flaws, with places; no edit of a good card is read wrong in silence.

use std::fmt::Debug;
use std::fs;
use std::path::Path;

use knuckle::card::{
    Checklist, Figure, Flaw, Material, Shop, read_cards, read_checklist, read_figure,
    read_material, read_outline, read_shop,
};
use proptest::prelude::*;

/// Returns the flaws of a text, read as the card that the file's name begins with.
fn flaws_of(file: &str, text: &str) -> Vec<Flaw> {
    let sort = file.split('-').next().unwrap();
    match sort {
        "shop" => read_shop(file, text).err(),
        "figure" => read_figure(file, text).err(),
        "material" => read_material(file, text).err(),
        "checklist" => read_checklist(file, text).err(),
        "outline" => read_outline(file, text).err(),
        _ => None,
    }
    .unwrap_or_default()
}

/// Every flawed file names its flaws in its own head, one `#! line:column: message` each.
#[test]
fn each_flawed_file_gives_exactly_its_named_flaws() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/flawed");
    let mut wrong: Vec<String> = Vec::new();
    let mut count = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let file = path.file_name().unwrap().to_str().unwrap();
        let text = fs::read_to_string(&path).unwrap();
        let named: Vec<String> = text
            .lines()
            .filter_map(|line| line.strip_prefix("#! "))
            .map(|flaw| format!("{file}:{flaw}"))
            .collect();
        assert!(!named.is_empty(), "{file} names no flaw");
        let found: Vec<String> = flaws_of(file, &text)
            .iter()
            .map(ToString::to_string)
            .collect();
        for flaw in named.iter().filter(|flaw| !found.contains(flaw)) {
            wrong.push(format!("not found: {flaw}"));
        }
        for flaw in found.iter().filter(|flaw| !named.contains(flaw)) {
            wrong.push(format!("not named: {flaw}"));
        }
        assert_eq!(
            named.len(),
            found.len(),
            "a flaw is told twice in {file}: {wrong:#?}"
        );
        count += 1;
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
    assert!(30 <= count, "only {count} flawed files were looked at");
}

/// Returns the cards below a folder as pairs of a path inside it and a text.
pub(crate) fn cards_below(top: &Path, inside: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let Ok(entries) = fs::read_dir(top.join(inside)) else {
        return found;
    };
    for entry in entries {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let below = if inside.is_empty() {
            name.to_owned()
        } else {
            format!("{inside}/{name}")
        };
        if path.is_dir() {
            found.extend(cards_below(top, &below));
        } else if path.extension().is_some_and(|end| end == "yaml") {
            found.push((below, fs::read_to_string(&path).unwrap()));
        }
    }
    found.sort();
    found
}

#[test]
fn every_shipped_card_is_flawless() {
    let home = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files = cards_below(&home.join("sample-shop"), "");
    let builtin = cards_below(home, "checklists");
    let (cards, flaws) = read_cards(&files, &builtin);
    let told: Vec<String> = flaws.iter().map(ToString::to_string).collect();
    assert!(told.is_empty(), "\n{}", told.join("\n"));
    let shops = usize::from(!files.is_empty());
    let read = shops + cards.materials.len() + cards.figures.len() + cards.outlines.len();
    assert_eq!(
        read,
        files.len(),
        "a card of the sample shop was passed over"
    );
    assert_eq!(
        cards.checklists.len(),
        builtin.len(),
        "a checklist was passed over"
    );
}

/// One good card of each sort, with every field, nested lists, flow style and comments.
const SHOP: &str = include_str!("../cards/shop.yaml");
const MATERIAL: &str = include_str!("../cards/material.yaml");
const FIGURE: &str = include_str!("../cards/figure.yaml");
const CHECKLIST: &str = include_str!("../cards/checklist.yaml");

fn shop_of_the_cards() -> Vec<(String, String)> {
    [
        ("shop.yaml", SHOP),
        ("materials/medium-epoxy.yaml", MATERIAL),
        ("materials/gold.yaml", GOLD),
        ("checklists/glue.yaml", CHECKLIST),
        ("figures/test-hare/figure.yaml", FIGURE),
    ]
    .map(|(file, text)| (file.to_owned(), text.to_owned()))
    .to_vec()
}

const GOLD: &str = "id: gold\nname: gold leaf\nkind: leaf\nsource: common practice\nleaf_mm: 80\n";

#[track_caller]
fn check_across(replace: &[(&str, &str, &str)], expected: &[&str]) {
    let mut files = shop_of_the_cards();
    for (file, from, to) in replace {
        let (_, text) = files.iter_mut().find(|(name, _)| name == file).unwrap();
        assert!(text.contains(from), "`{from}` does not stand in {file}");
        *text = text.replacen(from, to, 1);
    }
    let (_, flaws) = read_cards(&files, &[]);
    let told: Vec<String> = flaws.iter().map(ToString::to_string).collect();
    assert_eq!(told, expected);
}

const HARE: &str = "figures/test-hare/figure.yaml";
const GLUE: &str = "checklists/glue.yaml";

#[test]
fn the_good_cards_have_no_flaw() {
    check_across(&[], &[]);
    let (cards, _) = read_cards(&shop_of_the_cards(), &[]);
    assert_eq!(cards.shop.name, "Test Rooms");
    let joint = &cards.figures["test-hare"].joints[0];
    assert_eq!(
        (joint.id.as_str(), joint.gaps[1].mm.as_slice()),
        ("J1", [0.4, 0.6, 0.3].as_slice())
    );
    let epoxy = &cards.materials["medium-epoxy"];
    assert_eq!(
        epoxy.lots[1].lot, "24E10",
        "a lot number is words, not a quantity"
    );
    let coats = cards.checklists["glue"].steps[2].coats.as_ref().unwrap();
    assert_eq!(coats.between[0].act, "Sand lightly");
}

#[test]
fn what_one_card_says_of_another_is_looked_at() {
    check_across(
        &[
            (HARE, "room: bench-room", "room: bench-rom"),
            (HARE, "leaf: gold", "leaf: medium-epoxy"),
            (HARE, "operation: glue", "operation: gleu"),
        ],
        &[
            "figures/test-hare/figure.yaml:6:7: no room is called `bench-rom`; did you mean `bench-room`?",
            "figures/test-hare/figure.yaml:32:11: the material `medium-epoxy` is not a leaf; name a card of `kind: leaf`",
            "figures/test-hare/figure.yaml:34:16: no checklist is called `gleu`; did you mean `glue`?",
        ],
    );
    check_across(
        &[(HARE, "leaf: gold", "leaf: silver"), (HARE, "[J1]", "[J2]")],
        &[
            "figures/test-hare/figure.yaml:32:11: no material is called `silver`; there is `gold` or `medium-epoxy`",
            "figures/test-hare/figure.yaml:35:10: no joint is called `J2`; there is `J1`",
        ],
    );
    check_across(
        &[
            (GLUE, "back_to: glue", "back_to: glu-up"),
            (GLUE, "ends: [closing]", "ends: [leaf_set]"),
        ],
        &[
            "checklists/glue.yaml:33:18: no checklist is called `glu-up`; there is `glue`",
            "checklists/glue.yaml:36:12: no step of any checklist starts the clock `leaf_set`; add it to `starts` of the step where it begins",
        ],
    );
    check_across(
        &[(HARE, "id: test-hare", "id: hare")],
        &[
            "figures/test-hare/figure.yaml:2:5: the figure is called `hare`, but its folder `test-hare`; give both the same name",
        ],
    );
}

#[test]
fn no_operation_may_be_routed_over_a_witness_patch() {
    check_across(
        &[
            (GLUE, "scope: joint", "scope: zone"),
            (GLUE, "need: gap", "need: area"),
            (HARE, "[J1]", "[body, patch]"),
        ],
        &[
            "figures/test-hare/figure.yaml:35:16: the zone `patch` has `path: leave`, on which `glue` is not done; take the zone out of `on`",
        ],
    );
    check_across(
        &[
            (GLUE, "scope: joint", "scope: figure"),
            (GLUE, "need: gap", "need: said"),
        ],
        &[
            "figures/test-hare/figure.yaml:35:9: `glue` is walked on the whole figure; leave `on` out",
        ],
    );
}

#[test]
fn one_broken_card_is_not_told_again_by_each_card_that_names_it() {
    check_across(
        &[
            (GLUE, "id: glue", "id: glue\nid: glue"),
            ("materials/gold.yaml", "kind: leaf", "kind: leaf: gold"),
        ],
        &[
            "checklists/glue.yaml:3:1: `id` stands here twice; keep one of them",
            "materials/gold.yaml:3:11: this colon starts a field in the middle of a text; put the whole text in quotes, or check the spaces at the start of the line",
        ],
    );
}

#[test]
fn an_id_belongs_to_one_card_but_the_shop_may_replace_a_built_in_checklist() {
    let mut files = shop_of_the_cards();
    files.push(("materials/other.yaml".to_owned(), GOLD.to_owned()));
    let builtin = vec![(
        "checklists/13-glue.yaml".to_owned(),
        CHECKLIST.replace("title: Glue", "title: Old"),
    )];
    let (cards, flaws) = read_cards(&files, &builtin);
    let told: Vec<String> = flaws.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "materials/other.yaml:1:5: `gold` is already the id of materials/gold.yaml; give each card its own"
        ]
    );
    assert_eq!(cards.checklists["glue"].title, "Glue the joint");
    let (cards, flaws) = read_cards(&shop_of_the_cards()[..1], &builtin);
    assert_eq!(
        (flaws.len(), cards.checklists["glue"].title.as_str()),
        (0, "Old the joint")
    );
}

#[test]
fn bombs_are_refused_in_words() {
    let mut bomb = vec!["a0: &a0 [x, x, x, x, x, x, x, x, x]".to_owned()];
    for n in 1..30 {
        let again = vec![format!("*a{}", n - 1); 9].join(", ");
        bomb.push(format!("a{n}: &a{n} [{again}]"));
    }
    let bomb = bomb.join("\n");
    let refused = |text: &str| read_material("x.yaml", text).unwrap_err()[0].to_string();
    assert!(refused(&bomb).ends_with("parts of the card are repeated by reference too often; write them out instead of using `&` and `*`"));
    assert_eq!(
        refused(&format!("a: {}", "[".repeat(100_000))),
        "x.yaml:1:28: blocks are nested deeper than 24 levels; check for brackets or dashes that were left open"
    );
    let dashes = refused(&"- ".repeat(50_000));
    assert_eq!(
        dashes,
        "x.yaml:1:49: blocks are nested deeper than 24 levels; check for brackets or dashes that were left open"
    );
    assert_eq!(
        refused(&"#\n".repeat(200_000)),
        "x.yaml:1:1: the file is longer than 128 KiB; a card is a page or two; split it"
    );
    assert_eq!(
        refused(""),
        "x.yaml:1:1: the file holds no card; fill it in, or remove it"
    );
    assert_eq!(
        refused("# only a comment\n"),
        "x.yaml:1:1: the file holds no card; fill it in, or remove it"
    );
    assert!(refused("a: &a [*a]\n").contains("nested deeper"));
}

#[test]
fn past_a_hundred_flaws_the_rest_is_counted() {
    let many: Vec<String> = (0..250).map(|n| format!("zz{n}: 1")).collect();
    let flaws = read_material("x.yaml", &(GOLD.to_owned() + &many.join("\n"))).unwrap_err();
    assert_eq!(flaws.len(), 101);
    assert_eq!(
        flaws[100].to_string(),
        "x.yaml:105:1: 150 more flaws are in this file; mend these first, then check again"
    );
}

/// Reads a text by this program's reader and, where that finds no flaw, also by the bare YAML
/// library; both must have read the same.
#[track_caller]
fn read_twice<T: Debug + serde::de::DeserializeOwned>(
    text: &str,
    read: fn(&str, &str) -> Result<T, Vec<Flaw>>,
) -> Result<T, Vec<Flaw>> {
    let ours = read("x.yaml", text);
    match &ours {
        Ok(card) => {
            let theirs: T = match serde_yaml::from_str(text) {
                Ok(theirs) => theirs,
                // We take a field left blank as one left out; the bare library cannot.
                Err(refusal) => {
                    assert!(
                        has_blank(&serde_yaml::from_str(text).unwrap()),
                        "{refusal}\n{text}"
                    );
                    return ours;
                }
            };
            // We drop the line end of folded texts.
            let plain = |card: &T| format!("{card:?}").replace("\\n\"", "\"");
            assert_eq!(plain(card), plain(&theirs), "\n{text}");
        }
        Err(flaws) => {
            assert!(!flaws.is_empty());
            for flaw in flaws {
                let line = text.split('\n').nth(flaw.line - 1);
                let long = line.map_or(0, |line| line.chars().count());
                assert!(flaw.column <= long + 1, "{flaw} is outside of\n{text}");
            }
        }
    }
    ours
}

/// Whether a field anywhere in a text was left blank.
fn has_blank(value: &serde_yaml::Value) -> bool {
    match value {
        serde_yaml::Value::Null => true,
        serde_yaml::Value::Sequence(all) => all.iter().any(has_blank),
        serde_yaml::Value::Mapping(all) => all.iter().any(|(_, held)| has_blank(held)),
        _ => false,
    }
}

#[test]
fn a_field_left_blank_counts_as_left_out() {
    let blank = FIGURE.replacen("relief: 1.15", "relief: ", 1);
    assert_ne!(blank, FIGURE, "the card of this trial names a relief");
    let card = read_twice::<Figure>(&blank, read_figure).unwrap();
    assert!(card.zones.iter().all(|zone| 1.0 <= zone.relief));
}

fn all_four(text: &str) {
    drop(read_twice::<Shop>(text, read_shop));
    drop(read_twice::<Material>(text, read_material));
    drop(read_twice::<Figure>(text, read_figure));
    drop(read_twice::<Checklist>(text, read_checklist));
}

#[test]
fn good_cards_read_the_same_by_the_bare_library() {
    read_twice::<Shop>(SHOP, read_shop).unwrap();
    read_twice::<Material>(MATERIAL, read_material).unwrap();
    read_twice::<Figure>(FIGURE, read_figure).unwrap();
    read_twice::<Checklist>(CHECKLIST, read_checklist).unwrap();
}

/// Returns the lines of a card on which a field's name stands, with the ends of the name.
fn field_lines(text: &str) -> Vec<(usize, usize, usize)> {
    let lines = text.lines().enumerate();
    lines
        .filter_map(|(number, line)| {
            let start = line.find(|sign: char| sign != ' ' && sign != '-')?;
            let (name, _) = line.get(start..)?.split_once(':')?;
            let is_name = name
                .chars()
                .all(|sign| sign.is_ascii_lowercase() || "_123".contains(sign));
            let end = start + name.len();
            (is_name && start < end).then_some((number, start, end))
        })
        .collect()
}

fn a_card() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![SHOP, MATERIAL, FIGURE, CHECKLIST])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// Any edit of any sign: never a panic, places inside the text, and what is read without a
    /// flaw is what the text says.
    #[test]
    fn any_edit_reads_equal_or_is_told(
        card in a_card(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..6, "[ -~\n\t:éß*&!{}\\[\\]#|>'\"-]{0,4}"), 1..4),
    ) {
        let mut signs: Vec<char> = card.chars().collect();
        for (at, gone, new) in edits {
            let from = at.index(signs.len());
            let to = (from + gone).min(signs.len());
            signs.splice(from..to, new.chars());
            if signs.is_empty() {
                signs.push('x');
            }
        }
        all_four(&signs.into_iter().collect::<String>());
    }

    /// A slip in any field's name is told, and the place is that of the name.
    #[test]
    fn a_slip_in_any_name_is_told(card in a_card(), at in any::<prop::sample::Index>()) {
        let fields = field_lines(card);
        let (number, start, end) = fields[at.index(fields.len())];
        let mut lines: Vec<String> = card.lines().map(ToOwned::to_owned).collect();
        lines[number].insert(end, 'q');
        lines[number].insert(start, 'q');
        let text = lines.join("\n");
        for flaws in [
            (card == SHOP).then(|| read_shop("x", &text).unwrap_err()),
            (card == MATERIAL).then(|| read_material("x", &text).unwrap_err()),
            (card == FIGURE).then(|| read_figure("x", &text).unwrap_err()),
            (card == CHECKLIST).then(|| read_checklist("x", &text).unwrap_err()),
        ].into_iter().flatten() {
            let here = flaws.iter().any(|flaw| (flaw.line, flaw.column) == (number + 1, start + 1));
            prop_assert!(here, "{:?}\n{}", flaws, text);
        }
    }

    /// A line written twice is told, unless it is a list entry or a comment.
    #[test]
    fn a_field_written_twice_is_told(card in a_card(), at in any::<prop::sample::Index>()) {
        let fields: Vec<_> = field_lines(card).into_iter().filter(|(number, start, _)| {
            let line = card.lines().nth(*number).unwrap();
            !line.get(..*start).unwrap().contains('-')
        }).collect();
        let (number, start, end) = fields[at.index(fields.len())];
        let mut lines: Vec<&str> = card.lines().collect();
        let again = format!("{}: 1", lines[number].get(..end).unwrap());
        lines.insert(number, &again);
        let text = lines.join("\n");
        let told = |flaws: Vec<Flaw>| flaws.iter().any(|flaw| {
            flaw.what.ends_with("stands here twice") && (flaw.line, flaw.column) == (number + 2, start + 1)
        });
        let is_told = match card {
            SHOP => told(read_shop("x", &text).unwrap_err()),
            MATERIAL => told(read_material("x", &text).unwrap_err()),
            FIGURE => told(read_figure("x", &text).unwrap_err()),
            _ => told(read_checklist("x", &text).unwrap_err()),
        };
        prop_assert!(is_told, "{}", text);
    }
}

#[test]
fn a_drawing_of_a_zone_that_the_figure_has_not_is_told_with_its_line() {
    let files = [
        ("figures/test-hare/figure.yaml".to_owned(), FIGURE.to_owned()),
        (
            "figures/test-hare/outline.yaml".to_owned(),
            "sides:\n  - side: near\n    shapes:\n      - { zone: wheel, line: [[0, 0], [4, 0], [2, 3]] }\n"
                .to_owned(),
        ),
    ];
    let (_, flaws) = read_cards(&files, &[]);
    let told = flaws.iter().map(ToString::to_string);
    let told: Vec<String> = told.filter(|flaw| flaw.contains("outline.yaml")).collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].starts_with("figures/test-hare/outline.yaml:4:17: no zone is called `wheel`"),
        "{told:?}"
    );
}
