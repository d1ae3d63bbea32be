//! Big shops to measure on, made once from the sample shop and kept under the build folder.
//!
//! Every figure is one of the sample shop's, its story told again and again, each time later
//! and as the next rounds of its work, until it has so many lines; the last lines are the ones
//! that stay, so that each figure ends in the middle of its work. The lines go through the
//! program's own journal, so every seal holds; a sample of the journals is verified.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, Days, FixedOffset};
use knuckle::disk::RealDisk;
use knuckle::journal::{Draft, Journal, verify};
use serde_json::{Map, Value};

/// The day on which the newest figures were last worked on: the last full day of the sample
/// shop's own story.
pub(crate) const DAY: &str = "2026-11-24";

/// A moment at which the screen opens: after the last line of the story.
pub(crate) const NOW: &str = "2026-11-25T09:00:00Z";

/// The seed of what is drawn: how long ago each figure was worked on last.
const SEED: u64 = 20_261_124;

/// How big a shop is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Size {
    /// Figures.
    pub(crate) figures: usize,
    /// Lines in each journal.
    pub(crate) lines: usize,
    /// Days over which the last acts are spread.
    pub(crate) days: u64,
}

/// 200 figures in work, each touched within two months.
pub(crate) const LIVE: Size = Size {
    figures: 200,
    lines: 2000,
    days: 60,
};

/// A thousand figures over eight years: half a gigabyte.
pub(crate) const WHOLE: Size = Size {
    figures: 1000,
    lines: 2000,
    days: 8 * 365,
};

/// Returns the folder of a shop of this size; makes it when it is not there yet.
pub(crate) fn big_shop(size: Size) -> PathBuf {
    let name = format!("shop-{}x{}-{}", size.figures, size.lines, size.days);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    if !folder.is_dir() {
        let unfinished = folder.with_extension("unfinished");
        if unfinished.is_dir() {
            fs::remove_dir_all(&unfinished).unwrap();
        }
        make(&unfinished, size);
        fs::rename(&unfinished, &folder).unwrap();
    }
    folder
}

fn make(folder: &Path, size: Size) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
    fs::create_dir_all(folder.join("materials")).unwrap();
    fs::copy(sample.join("shop.yaml"), folder.join("shop.yaml")).unwrap();
    for card in names(&sample.join("materials")) {
        let file = format!("materials/{card}");
        fs::copy(sample.join(&file), folder.join(&file)).unwrap();
    }
    let shop = Story::read(&sample);
    shop.write(&folder.join("journal.jsonl"), size.lines, 0);
    acknowledge(&folder.join("journal.jsonl"), &shop.lines);
    let figures = names(&sample.join("figures"));
    let stories: Vec<(String, Story)> = figures
        .iter()
        .map(|name| {
            (
                name.clone(),
                Story::read(&sample.join("figures").join(name)),
            )
        })
        .collect();
    let mut draw = Draw(SEED);
    for (count, (name, story)) in stories.iter().cycle().take(size.figures).enumerate() {
        let id = format!("{name}-{count:04}");
        let at = folder.join("figures").join(&id);
        fs::create_dir_all(&at).unwrap();
        let card = story
            .card
            .replacen(&format!("id: {name}\n"), &format!("id: {id}\n"), 1);
        fs::write(at.join("figure.yaml"), card).unwrap();
        let journal = at.join("journal.jsonl");
        story.write(&journal, size.lines, draw.below(size.days));
        if count % 50 == 0 {
            let flaws = verify(&RealDisk, &journal).unwrap();
            assert!(
                flaws.iter().all(knuckle::journal::Flaw::is_only_a_clock),
                "{flaws:?}"
            );
        }
    }
}

/// Everybody who wrote in the shop's journal has read the sentence above every card, so that no
/// picture is hidden behind it.
fn acknowledge(journal: &Path, lines: &[Map<String, Value>]) {
    let people: BTreeSet<&str> = lines
        .iter()
        .filter_map(|line| line["by"].as_str())
        .collect();
    let drafts = people.into_iter().map(|by| Draft {
        at: at(lines.last().unwrap()),
        by: by.to_owned(),
        bench: "bench".to_owned(),
        body: Map::from_iter([
            ("deed".to_owned(), "acknowledged".into()),
            ("said".to_owned(), knuckle::card::DEFERRAL.into()),
        ]),
        entered_later: None,
    });
    let (mut journal, _) = Journal::open(Arc::new(RealDisk), journal).unwrap();
    let _kept = journal.append(&drafts.collect::<Vec<_>>()).unwrap();
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// Numbers that are the same in every run (the generator of Knuth, The Art of Computer
/// Programming, vol. 2, MMIX's multiplier).
struct Draw(u64);

impl Draw {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

/// A card and a journal of the sample shop.
struct Story {
    card: String,
    lines: Vec<Map<String, Value>>,
}

/// One telling of a story among others.
struct Telling {
    /// Lines before it, less those that were left out at the beginning.
    before: i64,
    /// Days later than in the sample shop, or earlier.
    days: i64,
    /// Rounds of work before it.
    rounds: u64,
}

impl Story {
    fn read(folder: &Path) -> Self {
        let text = fs::read_to_string(folder.join("journal.jsonl")).unwrap();
        let lines = text.lines().map(|line| serde_json::from_str(line).unwrap());
        Self {
            card: fs::read_to_string(folder.join("figure.yaml")).unwrap_or_default(),
            lines: lines.collect(),
        }
    }

    /// Tells the story so often that it has `count` lines, the last of them so many days
    /// before the sample shop's.
    fn write(&self, path: &Path, count: usize, days_ago: u64) {
        let [first, last] = [self.lines.first(), self.lines.last()].map(|line| at(line.unwrap()));
        let span = (last.date_naive() - first.date_naive()).num_days() + 1;
        let tellings = count.div_ceil(self.lines.len());
        let left_out = tellings * self.lines.len() - count;
        let drafts: Vec<Draft> = (0..tellings)
            .flat_map(|told| {
                let later = i64::try_from(tellings - 1 - told).unwrap() * span;
                let telling = Telling {
                    before: i64::try_from(told * self.lines.len()).unwrap()
                        - i64::try_from(left_out).unwrap(),
                    days: -later - i64::try_from(days_ago).unwrap(),
                    // No story of the sample shop has as many rounds of one work.
                    rounds: 10 * u64::try_from(told).unwrap(),
                };
                self.lines.iter().map(move |line| telling.draft(line))
            })
            .skip(left_out)
            .collect();
        let (mut journal, _) = Journal::open(Arc::new(RealDisk), path).unwrap();
        let kept = journal.append(&drafts).unwrap();
        assert_eq!(kept.lines.len(), count);
    }
}

impl Telling {
    fn draft(&self, line: &Map<String, Value>) -> Draft {
        let mut body = line.clone();
        for name in ["n", "at", "by", "bench", "seal", "entered_later"] {
            body.shift_remove(name);
        }
        if let Some(round) = body.get_mut("round") {
            *round = (round.as_u64().unwrap() + self.rounds).into();
        }
        if let Some(clock) = body.get_mut("clock") {
            let (n, name) = clock.as_str().unwrap().split_once('.').unwrap();
            *clock = format!("{}.{name}", self.line(n.parse().unwrap())).into();
        }
        if let Some(pointed) = body.get_mut("line") {
            *pointed = self.line(pointed.as_i64().unwrap()).into();
        }
        let text = |name: &str| line[name].as_str().unwrap().to_owned();
        Draft {
            at: self.moved(at(line)),
            by: text("by"),
            bench: text("bench"),
            body,
            entered_later: line
                .get("entered_later")
                .map(|typed| self.moved(moment(typed))),
        }
    }

    fn line(&self, n: i64) -> u64 {
        u64::try_from(n + self.before).unwrap_or_default()
    }

    fn moved(&self, at: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
        let days = Days::new(self.days.unsigned_abs());
        if self.days < 0 { at - days } else { at + days }
    }
}

fn at(line: &Map<String, Value>) -> DateTime<FixedOffset> {
    moment(&line["at"])
}

fn moment(value: &Value) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(value.as_str().unwrap()).unwrap()
}
