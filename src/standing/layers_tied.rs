//! How the layers of all exposures lie to each other: counted in one exposure, tied across
//! zones, parted by what lies on them. Start reading at [`Units`], then `misread`, then
//! [`Runs`].

use std::collections::{BTreeMap, BTreeSet};

use super::facts::FigureStanding;
use super::layers::{Contradiction, Exposure, Layer, Observation, TieSeen, marker_word, tie_words};
use super::strata::{Link, Relations, Strata, strata};
use super::tangle::{Tangle, WayOut, tangles};
use crate::card::Figure;
use crate::deed::{LayerPlace, LayersTied, Relation, Stamp};

/// The layers of all exposures, numbered through; the wood is none.
pub(super) struct Units {
    /// Exposure and layer by place in their lists.
    at: Vec<(usize, usize)>,
    of: BTreeMap<LayerPlace, usize>,
}

impl Units {
    pub(super) fn of(exposures: &[Exposure]) -> Self {
        let mut units = Self {
            at: Vec::new(),
            of: BTreeMap::new(),
        };
        for (which, exposure) in exposures.iter().enumerate() {
            for (nth, layer) in exposure.layers.iter().enumerate() {
                if layer.number == 0 {
                    continue;
                }
                let place = place(exposure, layer);
                units.of.insert(place, units.at.len());
                units.at.push((which, nth));
            }
        }
        units
    }

    fn layer<'e>(
        &self,
        exposures: &'e [Exposure],
        unit: usize,
    ) -> Option<(&'e Exposure, &'e Layer)> {
        let (which, nth) = self.at.get(unit)?;
        let exposure = exposures.get(*which)?;
        Some((exposure, exposure.layers.get(*nth)?))
    }

    pub(super) fn layer_mut<'e>(
        &self,
        exposures: &'e mut [Exposure],
        unit: usize,
    ) -> Option<&'e mut Layer> {
        let (which, nth) = self.at.get(unit)?;
        exposures.get_mut(*which)?.layers.get_mut(*nth)
    }
}

fn place(exposure: &Exposure, layer: &Layer) -> LayerPlace {
    LayerPlace {
        zone: exposure.zone.clone(),
        exposure: exposure.exposure.clone(),
        layer: layer.number,
    }
}

/// A tie between two layers that both still count.
pub(super) struct Tie<'a> {
    one: usize,
    other: usize,
    said: &'a LayersTied,
    /// It in a sentence.
    words: String,
    stamp: &'a Stamp,
    /// Lines of earlier words on the same two layers: struck, this one gives way to them.
    before: Vec<u64>,
}

/// Only the last word on two layers counts; an earlier one was looked at again. What was tied
/// to a layer that was then made void fell with it, also when the place is read anew.
pub(super) fn ties<'a>(card: &Figure, standing: &'a FigureStanding, units: &Units) -> Vec<Tie<'a>> {
    let mut last: BTreeMap<(usize, usize), Tie<'a>> = BTreeMap::new();
    for (said, stamp) in &standing.ties {
        let (Some(one), Some(other)) = (units.of.get(&said.one), units.of.get(&said.other)) else {
            continue;
        };
        let fell = standing.layers.iter().any(|(read, voided)| {
            let is_of_it = read.place == said.one || read.place == said.other;
            read.void && is_of_it && stamp.n < voided.n
        });
        if fell {
            continue;
        }
        let two = ((*one).min(*other), (*one).max(*other));
        let before = last.remove(&two).map_or_else(Vec::new, |tie| {
            let earlier = tie.before.into_iter();
            earlier.chain([tie.stamp.n]).collect()
        });
        let tie = Tie {
            one: *one,
            other: *other,
            said,
            words: tie_words(card, said),
            stamp,
            before,
        };
        last.insert(two, tie);
    }
    let mut ties: Vec<Tie<'a>> = last.into_values().collect();
    ties.sort_by_key(|tie| tie.stamp.n);
    ties
}

impl Tie<'_> {
    /// The tie as it is shown.
    pub(super) fn seen(&self) -> TieSeen {
        TieSeen {
            said: self.said.clone(),
            stamp: self.stamp.clone(),
        }
    }

    /// The lower and the upper of the two; `None` where they are level.
    fn below(&self) -> Option<(usize, usize)> {
        match self.said.relation {
            Relation::Above => Some((self.other, self.one)),
            Relation::Below => Some((self.one, self.other)),
            Relation::SameAs => None,
        }
    }

    fn observation(&self) -> Observation {
        Observation {
            line: self.stamp.n,
            words: self.words.clone(),
        }
    }
}

/// Relations between numbered things, each with what was said for it.
#[derive(Default)]
struct Said {
    /// First what the stacks themselves say, `counted` of them, then ties.
    below: Vec<((usize, usize), Observation)>,
    counted: usize,
    level: Vec<((usize, usize), Observation)>,
    /// Of the line of a tie the lines that it gives way to where it is struck.
    before: BTreeMap<u64, Vec<u64>>,
}

/// How circles are told.
struct Words {
    /// A circle.
    one: &'static str,
    /// Several at once.
    many: &'static str,
    /// What is so without the lines that are named.
    gone: &'static str,
}

impl Said {
    fn pairs(list: &[((usize, usize), Observation)]) -> Vec<(usize, usize)> {
        list.iter().map(|(pair, _)| *pair).collect()
    }

    fn strata(&self, units: usize) -> Strata {
        strata(units, &Self::pairs(&self.below), &Self::pairs(&self.level))
    }

    fn at(&self, link: Link) -> Option<&((usize, usize), Observation)> {
        match link {
            Link::Below(at) => self.below.get(at),
            Link::Level(at) => self.level.get(at),
        }
    }

    /// The things that stand on any of the circles.
    fn circled(&self, circles: &[Vec<Link>]) -> BTreeSet<usize> {
        let pairs = circles.iter().flatten().filter_map(|link| self.at(*link));
        pairs.flat_map(|((one, other), _)| [*one, *other]).collect()
    }

    fn told(&self, links: &[Link]) -> Vec<Observation> {
        let told = links.iter().filter_map(|link| self.at(*link));
        told.map(|(_, observation)| observation.clone()).collect()
    }

    /// What is said of circles, tangle by tangle. Only ties are told as what may be taken away:
    /// without a layer that was counted the others of its stack still lie over each other.
    fn contradictions(
        &self,
        (units, circles): (usize, &[Vec<Link>]),
        words: &Words,
    ) -> Vec<Contradiction> {
        let (below, level) = (Self::pairs(&self.below), Self::pairs(&self.level));
        let is_tie = |link: Link| match link {
            Link::Below(at) => self.counted <= at,
            Link::Level(_) => true,
        };
        let relations = Relations::new(units, &below, &level);
        let tangles = tangles(&relations, circles.to_vec(), is_tie);
        let told = tangles.iter().flat_map(|tangle| self.tangle(tangle, words));
        told.collect()
    }

    /// Where all circles of a tangle share a tie, the shortest circle stands for all of them.
    fn tangle(&self, tangle: &Tangle, words: &Words) -> Vec<Contradiction> {
        let Words { one, many, gone } = words;
        let (first, shown) = match &tangle.way_out {
            WayOut::AnyOf(shared) => {
                let what = if tangle.circles.len() == 1 { one } else { many };
                let lines = self.lines(shared, "or");
                (format!("{what}; take away {lines} and {gone}"), 1)
            }
            WayOut::AllOf(together) => {
                let lines = self.lines(together, "and");
                let first = format!(
                    "{one}; other circles hang together with it and no tie is in all of them: \
                     take away {lines} together and {gone}"
                );
                (first, usize::MAX)
            }
            WayOut::Unknown => ((*one).to_owned(), usize::MAX),
        };
        let heads = std::iter::once(first).chain(std::iter::repeat((*one).to_owned()));
        let told = tangle.circles.iter().take(shown).zip(heads);
        let told = told.map(|(circle, words)| Contradiction {
            words,
            observations: self.told(circle),
        });
        told.collect()
    }

    /// Lines of the journal in words, such as `line 9 or line 12`. What was said earlier of the
    /// same two layers goes with a line, for it would count again: `line 12 with line 10`.
    fn lines(&self, ties: &[Link], joined: &str) -> String {
        let all: BTreeSet<u64> = self.told(ties).into_iter().map(|it| it.line).collect();
        let words = |line: &u64| {
            let before = self.before.get(line).into_iter().flatten();
            let before: Vec<String> = before.map(|line| format!(" with line {line}")).collect();
            format!("line {line}{}", before.concat())
        };
        let all: Vec<String> = all.iter().map(words).collect();
        match all.as_slice() {
            [more @ .., last] if !more.is_empty() => {
                format!("{} {joined} {last}", more.join(", "))
            }
            one => one.concat(),
        }
    }
}

/// Circles of single layers: above, below and same as lead back to where they began; and the
/// layers on them.
pub(super) fn misread(
    exposures: &[Exposure],
    units: &Units,
    ties: &[Tie<'_>],
) -> (Vec<Contradiction>, BTreeSet<usize>) {
    let mut said = Said::default();
    for unit in 1..units.at.len() {
        let both = (
            units.layer(exposures, unit - 1),
            units.layer(exposures, unit),
        );
        if let (Some((below, low)), Some((above, high))) = both
            && std::ptr::eq(below, above)
        {
            said.below
                .push(((unit - 1, unit), stacked(above, low, high)));
        }
    }
    said.counted = said.below.len();
    said.before = before(ties);
    for tie in ties {
        match tie.below() {
            Some(pair) => said.below.push((pair, tie.observation())),
            None => said.level.push(((tie.one, tie.other), tie.observation())),
        }
    }
    let units = units.at.len();
    let circles = said.strata(units).circles;
    let told = said.contradictions(
        (units, &circles),
        &Words {
            one: "these run in a circle: one of them is a misread",
            many: "these run in several circles, of which the shortest stands here: one of them \
                   is a misread",
            gone: "no circle is left",
        },
    );
    (told, said.circled(&circles))
}

fn before(ties: &[Tie<'_>]) -> BTreeMap<u64, Vec<u64>> {
    let ties = ties.iter();
    ties.map(|tie| (tie.stamp.n, tie.before.clone())).collect()
}

fn stacked(exposure: &Exposure, low: &Layer, high: &Layer) -> Observation {
    Observation {
        line: high.stamp.n,
        words: format!(
            "{}: layer {} was counted under layer {}",
            exposure.words(),
            low.number,
            high.number
        ),
    }
}

/// Runs of layers in one exposure that nothing parts: the same day's work.
pub(super) struct Runs {
    /// The units of each run.
    pub(super) units: Vec<Vec<usize>>,
    /// The run of each unit.
    of: Vec<usize>,
    /// Runs that follow each other in one exposure, and what parts them.
    parted: Vec<((usize, usize), Observation)>,
}

/// Runs in their order.
pub(super) struct Order {
    pub(super) groups: Vec<Vec<usize>>,
    /// Runs that stand on a circle.
    pub(super) circled: BTreeSet<usize>,
    /// One exposure parts what another holds together.
    pub(super) parted: Vec<Contradiction>,
}

impl Runs {
    /// Dirt, varnish, cracks or wear on a layer say that it once was the outside; so may do what
    /// lies between two layers and was not read.
    pub(super) fn of(exposures: &[Exposure]) -> Self {
        let mut runs = Self {
            units: Vec::new(),
            of: Vec::new(),
            parted: Vec::new(),
        };
        for exposure in exposures {
            let mut before: Option<&Layer> = None;
            for layer in exposure.layers.iter().filter(|layer| layer.number != 0) {
                let parts = before.and_then(|low| {
                    let unread = || unread(exposure, low, layer);
                    parts(exposure, low).or_else(unread)
                });
                if before.is_none() || parts.is_some() {
                    runs.units.push(Vec::new());
                }
                let run = runs.units.len().saturating_sub(1);
                if let Some(observation) = parts {
                    runs.parted
                        .push(((run.saturating_sub(1), run), observation));
                }
                if let Some(units) = runs.units.last_mut() {
                    units.push(runs.of.len());
                }
                runs.of.push(run);
                before = Some(layer);
            }
        }
        runs
    }

    /// Returns the runs that a tie joins to another run.
    pub(super) fn tied(&self, ties: &[Tie<'_>]) -> BTreeSet<usize> {
        let run = |unit: usize| self.of.get(unit).copied();
        let joined = ties.iter().map(|tie| [run(tie.one), run(tie.other)]);
        let joined = joined.filter(|[one, other]| one != other);
        joined.flatten().flatten().collect()
    }

    pub(super) fn order(&self, ties: &[Tie<'_>]) -> Order {
        let mut said = Said {
            below: self.parted.clone(),
            counted: self.parted.len(),
            level: Vec::new(),
            before: before(ties),
        };
        let run = |unit: usize| self.of.get(unit).copied().unwrap_or_default();
        for tie in ties {
            match tie.below() {
                // One coat above another may well be of the same campaign.
                Some((low, high)) if run(low) == run(high) => {}
                Some((low, high)) => said.below.push(((run(low), run(high)), tie.observation())),
                None => {
                    let pair = (run(tie.one), run(tie.other));
                    said.level.push((pair, tie.observation()));
                }
            }
        }
        let units = self.units.len();
        let found = said.strata(units);
        let parted = said.contradictions(
            (units, &found.circles),
            &Words {
                one: "one exposure parts what another holds together: dirt missed, or a tie too \
                      many",
                many: "exposures part in several ways what others hold together, of which the \
                       shortest stands here: dirt missed, or a tie too many",
                gone: "that is settled",
            },
        );
        Order {
            circled: said.circled(&found.circles),
            parted,
            groups: found.groups,
        }
    }
}

/// Layers between two that nobody read: what lies there may part them.
fn unread(exposure: &Exposure, low: &Layer, high: &Layer) -> Option<Observation> {
    (low.number + 1 < high.number).then(|| Observation {
        line: high.stamp.n,
        words: format!(
            "{}: layer {} lies over layer {}, and nothing between was read",
            exposure.words(),
            high.number,
            low.number
        ),
    })
}

/// What on a layer parts it from the next, if anything does.
fn parts(exposure: &Exposure, low: &Layer) -> Option<Observation> {
    let markers = low.on_top.as_deref().filter(|it| !it.is_empty())?;
    let words: Vec<&str> = markers.iter().map(|it| marker_word(*it)).collect();
    Some(Observation {
        line: low.stamp.n,
        words: format!(
            "{}: {} on layer {}",
            exposure.words(),
            words.join(", "),
            low.number
        ),
    })
}
