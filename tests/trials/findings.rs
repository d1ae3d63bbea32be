//! What the hands of the sample shop find, count and write, figure by figure; what is not
//! here keeps the walker's usual value. The wood and the build are those of the cards.

/// Figure and place (empty for the whole figure), record, words.
type Wrote = (&'static str, &'static str, &'static str, &'static str);

/// Figure and place, record, number.
type Counted = (&'static str, &'static str, &'static str, f64);

/// Returns the words that stand in a record, if the story has some.
pub(crate) fn words(
    figure: &str,
    target: Option<&str>,
    (operation, record): (&str, &str),
) -> Option<String> {
    let place = target.unwrap_or_default();
    let of_place = WROTE.iter().find(|(one, at, name, _)| {
        *one == figure && *at == place && *name == format!("{operation}/{record}")
    });
    if let Some((.., said)) = of_place {
        return Some((*said).to_owned());
    }
    let said = match (operation, record) {
        ("receive", "papers") => "letter of the owner, use and date agreed by telephone",
        ("receive", "urgent") => "nothing that cannot wait",
        ("photograph", "finding") => "flaking at the edges, house paint crazed, no loose wood",
        ("lead-test", "chip") => "none sent, the spots were plain",
        ("lead-test", "plan") => "gel and scraper only, no dry sanding, P100 mask, lead waste drum",
        ("scheme", "targets") => "measured layer under varnish, one step lighter for its yellowing",
        ("scheme", "irreversible") => "stripping of the zones on the list, nothing else",
        ("scheme", "refused") => "hot air: lead; dipping: opens every glue line",
        ("layer-study", record) => return studied(figure, record).map(str::to_owned),
        ("detail-clean", "found") => "house paint in the hollows, no wood lost",
        ("dry", "species") => "lime, pin meter, correction minus 0.5",
        ("open-joint", "face-moisture") => "10.5 and 11.0 per cent",
        ("dry-fit", "thickener") => "silica, 4 parts by weight, from the shelf",
        ("body-colour", "recipe") => "100 g yellow as supplied, 10 g thinner, no oil",
        ("body-colour", "wanted") => "61.2, 8.4, 41.0",
        ("body-colour", "chip") => "61.0, 8.6, 40.5; 61.4, 8.5, 40.9; 61.1, 8.3, 40.7",
        _ => return None,
    };
    Some(said.to_owned())
}

/// What is written beside the layers that are read one by one, in figures that have such a
/// table; of the others the sheet on the wall holds them.
fn studied(figure: &str, record: &str) -> Option<&'static str> {
    let has_table = matches!(figure, "hare" | "heron" | "bandmaster");
    match (record, has_table) {
        ("exposure", _) if figure == "bandmaster" => {
            Some("2; 90 mm below the belt, on the outer seam")
        }
        ("exposure", _) => Some("1; 120 mm below the seam, 85 mm from the edge"),
        ("sample", _) => Some("none taken, the exposure is enough"),
        ("colours" | "relations", true) => Some("read one by one into the layer table"),
        ("colours" | "relations", false) => Some("on the exposure sheet, to be read in"),
        _ => None,
    }
}

/// Returns the number that stands in a record, if the story has one.
pub(crate) fn number(
    figure: &str,
    target: Option<&str>,
    (operation, record): (&str, &str),
) -> Option<f64> {
    let place = target.unwrap_or_default();
    let of_place = COUNTED.iter().find(|(one, at, name, _)| {
        *one == figure && *at == place && *name == format!("{operation}/{record}")
    });
    if let Some((.., counted)) = of_place {
        return Some(*counted);
    }
    match (operation, record) {
        ("lead-test", "spots") | ("wash", "changes") => Some(5.0),
        ("scheme", "version") => Some(1.0),
        ("strip", "passes") => Some(2.0),
        ("wash", "water") => Some(2400.0),
        ("sand", "first-grit") => Some(120.0),
        ("sand", "last-grit") => Some(180.0),
        ("sand", "lines-lost") => Some(0.0),
        ("prime", "faults") => Some(3.0),
        ("prime", "grit") => Some(240.0),
        _ => None,
    }
}

/// The neck of the hare: hard putty hides a gap, and it ticks under the hand.
pub(crate) fn hidden_joint(joint: &str, record: &str) -> Option<&'static str> {
    match (joint, record) {
        ("J1", "filler") => Some("hard putty"),
        ("J1", "moves") => Some("ticks"),
        ("J1", "depth") => Some("under 5 mm"),
        _ => None,
    }
}

const WROTE: [Wrote; 45] = [
    (
        "hare",
        "",
        "receive/sizes",
        "1050, 1350, 320 mm; about 38 kg",
    ),
    (
        "hare",
        "",
        "receive/sound",
        "hollow along the saddle, dead behind the near shoulder",
    ),
    (
        "hare",
        "",
        "receive/metal",
        "two nails in the saddle board, iron plate in the pole hole",
    ),
    (
        "hare",
        "",
        "receive/overpaint",
        "brown house paint over all, hard putty in the neck seam",
    ),
    (
        "hare",
        "",
        "receive/missing",
        "tip of one ear, strip of the cantle; the other ear shows the form",
    ),
    (
        "hare",
        "",
        "receive/urgent",
        "near ear bagged, straps round the body boards",
    ),
    (
        "hare",
        "",
        "scheme/campaign",
        "the fawn with green trappings, under the first dirt",
    ),
    (
        "hare",
        "",
        "scheme/paths",
        "copy, ridden and worn; keep the flowers; cover the belly; leave a patch",
    ),
    (
        "hare",
        "",
        "scheme/refused",
        "keeping the house paint: it hides the carving",
    ),
    (
        "hare",
        "",
        "scheme/estimate",
        "260 to 340 h, 6 to 7 books of leaf, spring",
    ),
    (
        "hare",
        "J3",
        "joint-survey/reach",
        "four bar clamps over the back, legs in a cradle",
    ),
    (
        "hare",
        "J1",
        "joint-survey/reach",
        "band clamp round the neck, wedge at the mane",
    ),
    (
        "heron",
        "",
        "receive/sizes",
        "1280, 1050, 340 mm; about 31 kg",
    ),
    (
        "heron",
        "",
        "receive/sound",
        "sound, a little hollow at the neck boards",
    ),
    (
        "heron",
        "",
        "receive/metal",
        "screws in both wing roots, one dowel in the neck",
    ),
    (
        "heron",
        "",
        "receive/overpaint",
        "brown over the gold of the strap, wing seams filled",
    ),
    (
        "heron",
        "",
        "receive/missing",
        "tip of the beak; an old photograph of the owner shows it",
    ),
    (
        "heron",
        "",
        "scheme/campaign",
        "the first gold, under the brown glaze",
    ),
    (
        "heron",
        "",
        "scheme/paths",
        "copy, ridden; cover the belly; leave the patch under the tail",
    ),
    (
        "heron",
        "",
        "scheme/estimate",
        "180 to 230 h, 4 books of leaf, spring",
    ),
    (
        "bandmaster",
        "",
        "receive/sizes",
        "1200, 420, 380 mm; about 44 kg",
    ),
    (
        "bandmaster",
        "",
        "receive/sound",
        "sound all round, the right shoulder rattles",
    ),
    (
        "bandmaster",
        "",
        "receive/metal",
        "iron pin in each shoulder, tacks in the braid",
    ),
    (
        "bandmaster",
        "",
        "receive/overpaint",
        "two house paints on the face, bronze over the braid",
    ),
    (
        "bandmaster",
        "",
        "receive/missing",
        "baton; hole in the fist gives its thickness",
    ),
    (
        "bandmaster",
        "",
        "scheme/campaign",
        "first face kept; coat as the first red and blue",
    ),
    (
        "bandmaster",
        "",
        "scheme/paths",
        "keep face and hands, copy the coat, cover the base, leave the back",
    ),
    (
        "bandmaster",
        "",
        "scheme/estimate",
        "200 to 280 h, 3 books of leaf, May",
    ),
    (
        "lantern-woman",
        "",
        "receive/sizes",
        "1560, 620, 540 mm; about 95 kg",
    ),
    (
        "lantern-woman",
        "",
        "receive/urgent",
        "two persons and a hoist; keep away from the heater",
    ),
    (
        "lion-boss",
        "",
        "receive/sizes",
        "440, 440, 210 mm; about 14 kg",
    ),
    (
        "lantern-woman",
        "",
        "receive/sound",
        "dull at the foot, near board ringing free",
    ),
    (
        "lantern-woman",
        "",
        "receive/metal",
        "iron bolts through the stem block, pin in the raised arm",
    ),
    (
        "lantern-woman",
        "",
        "receive/overpaint",
        "ship's paint over all, tar in the near seam",
    ),
    (
        "lantern-woman",
        "",
        "receive/missing",
        "two fingers; the other hand shows their form",
    ),
    (
        "lantern-woman",
        "",
        "scheme/campaign",
        "the white bodice under the ship's paint",
    ),
    (
        "lantern-woman",
        "",
        "scheme/paths",
        "keep the face, cover hair and block, copy the rest, leave the back",
    ),
    (
        "lantern-woman",
        "",
        "scheme/estimate",
        "380 to 520 h, 5 books of leaf, summer",
    ),
    (
        "lion-boss",
        "",
        "receive/sound",
        "sound; the seam of the two boards is closed",
    ),
    (
        "lion-boss",
        "",
        "receive/metal",
        "one iron bolt at the back, rusted fast",
    ),
    (
        "lion-boss",
        "",
        "receive/overpaint",
        "gate paint in many coats, lettering of the rim filled",
    ),
    (
        "lion-boss",
        "",
        "receive/missing",
        "nothing; a chip at the rim",
    ),
    (
        "lion-boss",
        "",
        "scheme/campaign",
        "none chosen, the face stays covered",
    ),
    (
        "lion-boss",
        "",
        "scheme/paths",
        "cover the face as it is, strip nothing",
    ),
    ("lion-boss", "", "scheme/estimate", "40 to 60 h, January"),
];

const COUNTED: [Counted; 22] = [
    ("hare", "", "receive/loose", 1.0),
    ("hare", "", "receive/moves", 3.0),
    ("hare", "", "receive/soft", 9.0),
    ("hare", "", "scheme/version", 2.0),
    ("hare", "J3", "joint-survey/fasteners", 4.0),
    ("hare", "J1", "joint-survey/fasteners", 2.0),
    ("hare", "J3", "open-joint/fasteners", 4.0),
    ("hare", "J3", "dry-fit/spacers", 5.0),
    ("hare", "J3", "dry-fit/clamps", 6.0),
    ("heron", "", "receive/loose", 0.0),
    ("heron", "", "receive/moves", 1.0),
    ("heron", "", "receive/soft", 2.0),
    ("bandmaster", "", "receive/loose", 2.0),
    ("bandmaster", "", "receive/moves", 1.0),
    ("bandmaster", "", "receive/soft", 4.0),
    ("bandmaster", "", "scheme/version", 3.0),
    ("lantern-woman", "", "receive/loose", 0.0),
    ("lantern-woman", "", "receive/moves", 2.0),
    ("lantern-woman", "", "receive/soft", 13.0),
    ("lion-boss", "", "receive/loose", 0.0),
    ("lion-boss", "", "receive/moves", 0.0),
    ("lion-boss", "", "receive/soft", 1.0),
];
