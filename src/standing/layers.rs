//! Paint layers from the journal: the stack of every exposure, the campaigns that run across
//! zones, and the readings that contradict each other. What was not looked at is never
//! filled in. Start reading at [`layers`]; the colour of new paint is judged in `repaint`.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::FigureStanding;
use super::layers_tied::{Runs, Tie, Units, misread, ties};
use super::{House, air};
use crate::card::Figure;
use crate::deed::{LayerPlace, LayerRead, LayersTied, Marker, Metal, Relation, Spot, Stamp};
use crate::reckon::colour::{Colour, ColourDifference, difference, middle_colour};

/// Three readings further apart than this are asked for again, CIEDE2000 (*common practice*).
pub const SPREAD_DELTA_E: f64 = 1.5;

/// A layer read again after at least so many days tells how far it drifted, days: oil paint
/// dug out of the dark bleaches over one to three weeks (*common practice*).
pub const DRIFT_DAYS: f64 = 7.0;

/// What is said where something contradicts itself.
pub const NOT_SETTLED: &str = "no campaign has a number until that is settled";

/// How many ties are proposed at most (count; chosen here, so that they can be read).
const MOST_HINTS: usize = 5;

/// All that is known of a figure's old paint.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layers {
    /// Exposures in the order of the card's zones; those that are wholly void left out.
    pub exposures: Vec<Exposure>,
    /// Campaigns from the wood outward; none while anything contradicts itself.
    pub campaigns: Vec<Campaign>,
    /// Readings that cannot all be right.
    pub contradictions: Vec<Contradiction>,
    /// The ties that count, in the order in which they were said.
    pub ties: Vec<TieSeen>,
    /// Zones of the card without an exposure: nobody looked, which is not "nothing there".
    pub not_studied: Vec<String>,
    /// Ties that a metal suggests and nobody has said yet.
    pub hints: Vec<String>,
}

/// A tie that counts: what the campaigns rest on.
#[derive(Debug, Clone, PartialEq)]
pub struct TieSeen {
    /// What was said.
    pub said: LayersTied,
    /// By whom and when; the line that it stands in.
    pub stamp: Stamp,
}

/// Why a layer of paint stands in no campaign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unplaced {
    /// What was said of it cannot all be right.
    Contradicts,
    /// Something else cannot all be right: which campaigns there are is not settled, and a
    /// number given now would be another one tomorrow.
    NotSettled,
    /// Nothing ties it to another exposure, so it may be of any campaign.
    NotTied,
}

impl Unplaced {
    /// Returns the words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Contradicts => "contradicts",
            Self::NotSettled => "no number yet",
            Self::NotTied => "not tied",
        }
    }
}

/// One opening through the paint.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Zone id.
    pub zone: String,
    /// The zone as a person says it.
    pub name: String,
    /// Its number in the zone.
    pub exposure: String,
    /// Its layers from the wood outward.
    pub layers: Vec<Layer>,
    /// Layers that were read and then made void.
    pub void: usize,
}

impl Exposure {
    /// Returns where it is, in words.
    pub fn words(&self) -> String {
        format!("{}, exposure {}", self.name, self.exposure)
    }
}

/// One layer in one exposure, as it was read last.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Number from the wood outward; the wood is 0.
    pub number: u32,
    /// Colour in a word; empty where none was said.
    pub word: String,
    /// What it seems to be.
    pub material: Option<String>,
    /// Munsell as noted.
    pub munsell: Option<String>,
    /// The latest readings of its colour.
    pub colour: Option<LayerColour>,
    /// What was read of its colour at sittings before that, oldest first.
    pub earlier: Vec<LayerColour>,
    /// How it changed since it was first read, once weeks lie between.
    pub drift: Option<Drift>,
    /// Gloss.
    pub gloss: Option<String>,
    /// Thickness.
    pub band: Option<String>,
    /// Metal.
    pub metal: Option<Metal>,
    /// What lies on it; `None` where nobody said whether they looked.
    pub on_top: Option<Vec<Marker>>,
    /// It came out of the dark.
    pub dug_out: bool,
    /// Place in [`Layers::campaigns`]; `None` for the wood and for what stands in none.
    pub campaign: Option<usize>,
    /// Why it stands in none; `None` for the wood.
    pub unplaced: Option<Unplaced>,
    /// Who read it last and when; the line that it stands in.
    pub stamp: Stamp,
}

/// The colour of a layer at one sitting.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerColour {
    /// The readings as they were taken.
    pub readings: Vec<Colour>,
    /// Their middle and how far the worst lies from it, CIEDE2000; `None` below three.
    pub middle: Option<(Colour, f64)>,
    /// How the spot was.
    pub spot: Option<Spot>,
    /// Under which light.
    pub light: Option<String>,
    /// It came out of the dark just then.
    pub dug_out: bool,
    /// By whom and when; the line that it stands in.
    pub stamp: Stamp,
}

impl LayerColour {
    /// Returns the middle where there is one, else the first reading: good for a swatch only.
    pub fn swatch(&self) -> Option<Colour> {
        let middle = self.middle.map(|(colour, _)| colour);
        middle.or_else(|| self.readings.first().copied())
    }

    /// Returns whether the readings lie too far apart to be relied on.
    pub fn is_unsteady(&self) -> bool {
        self.middle
            .is_some_and(|(_, spread)| SPREAD_DELTA_E < spread)
    }
}

/// How the colour of a layer changed between two sittings.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Days between them.
    pub days: f64,
    /// The first middle.
    pub from: Colour,
    /// The last middle.
    pub to: Colour,
    /// The difference.
    pub difference: ColourDifference,
}

/// All layers of one painting of the figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Campaign {
    /// Counted from the wood outward, from 1.
    pub number: usize,
    /// Where it was seen: zone, exposure, layers.
    pub seen: Vec<Seen>,
    /// How much of the figure it was found on.
    pub coverage: Coverage,
    /// Markers that lie on it somewhere.
    pub markers: Vec<Marker>,
    /// Metals in it.
    pub metals: Vec<Metal>,
}

/// The layers of a campaign in one exposure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Zone id.
    pub zone: String,
    /// Exposure.
    pub exposure: String,
    /// Layer numbers from the wood outward.
    pub layers: Vec<u32>,
}

/// How much of the figure a campaign was found on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Coverage {
    /// Zones in which it was seen.
    pub zones: usize,
    /// Zones with an exposure.
    pub studied: usize,
    /// Zones of the card.
    pub of: usize,
    /// Share of the measured area of all zones, percent; `None` where a zone that counts has
    /// no measured area.
    pub area_percent: Option<f64>,
}

/// Readings that cannot all be right: one of them is a misread.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction {
    /// What is wrong, one line.
    pub words: String,
    /// What was said, round the circle.
    pub observations: Vec<Observation>,
}

/// One thing that was said, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observation {
    /// Line of the figure's journal.
    pub line: u64,
    /// What it says.
    pub words: String,
}

/// Returns what is known of a figure's old paint; nothing for a figure without readings.
pub fn layers(house: House<'_>, figure: &str) -> Layers {
    let (Some(card), Some(standing)) = (house.cards.figures.get(figure), house.figure(figure))
    else {
        return Layers::default();
    };
    let mut exposures = exposures(card, standing);
    let units = Units::of(&exposures);
    let ties = ties(card, standing, &units);
    let (mut contradictions, circled) = misread(&exposures, &units, &ties);
    let runs = Runs::of(&exposures);
    let order = runs.order(&ties);
    if contradictions.is_empty() {
        contradictions.clone_from(&order.parted);
    }
    // With one exposure there is nothing to tie: its own order is all there is.
    let joined = (1 < exposures.len()).then(|| runs.tied(&ties));
    let mut count = 0;
    for group in &order.groups {
        let mut is_campaign = false;
        for run in group {
            for unit in runs.units.get(*run).into_iter().flatten() {
                let is_loose = joined.as_ref().is_some_and(|runs| !runs.contains(run));
                let unplaced = if circled.contains(unit) || order.circled.contains(run) {
                    Some(Unplaced::Contradicts)
                } else if is_loose {
                    Some(Unplaced::NotTied)
                } else {
                    (!contradictions.is_empty()).then_some(Unplaced::NotSettled)
                };
                is_campaign |= unplaced.is_none();
                if let Some(layer) = units.layer_mut(&mut exposures, *unit) {
                    layer.unplaced = unplaced;
                    layer.campaign = unplaced.is_none().then_some(count);
                }
            }
        }
        count += usize::from(is_campaign);
    }
    let ties = ties.iter().map(Tie::seen).collect();
    let campaigns: Vec<Campaign> = (0..count)
        .map(|place| campaign(card, &exposures, place))
        .collect();
    let studied: BTreeSet<&str> = exposures.iter().map(|it| it.zone.as_str()).collect();
    let zones = card.zones.iter().map(|zone| zone.id.clone());
    Layers {
        not_studied: zones.filter(|id| !studied.contains(id.as_str())).collect(),
        hints: hints(&campaigns, &exposures),
        ties,
        exposures,
        campaigns,
        contradictions,
    }
}

/// Returns a place in words, its zone as a person says it: `body near side, exposure 1, layer 3`.
pub fn place_words(card: &Figure, place: &LayerPlace) -> String {
    let LayerPlace {
        zone,
        exposure,
        layer,
    } = place;
    let zone = card.zone_name(zone);
    format!("{zone}, exposure {exposure}, layer {layer}")
}

/// Returns a tie as a sentence without its full stop.
pub fn tie_words(card: &Figure, tie: &LayersTied) -> String {
    let [one, other] = [&tie.one, &tie.other].map(|place| place_words(card, place));
    let by = by_words(tie);
    format!("{one} {} {other}{by}", relation_words(tie.relation))
}

/// Returns by what two layers were tied, as the end of a sentence; empty where nobody said it.
pub fn by_words(tie: &LayersTied) -> String {
    match tie.by_marker.as_str() {
        "" => String::new(),
        by => format!(", by {by}"),
    }
}

/// A reading and its stamp, as the standing keeps them.
type Kept = (LayerRead, Stamp);

fn exposures(card: &Figure, standing: &FigureStanding) -> Vec<Exposure> {
    let mut read: BTreeMap<(usize, &str, &str), BTreeMap<u32, Vec<&Kept>>> = BTreeMap::new();
    for kept in &standing.layers {
        let place = &kept.0.place;
        let zone = card.zones.iter().position(|zone| zone.id == place.zone);
        let key = (zone.unwrap_or(usize::MAX), &*place.zone, &*place.exposure);
        let stack = read.entry(key).or_default();
        stack.entry(place.layer).or_default().push(kept);
    }
    let exposures = read.into_iter().map(|((_, zone, exposure), stack)| {
        let all = stack.len();
        let layers: Vec<Layer> = stack
            .into_values()
            .filter_map(|kept| layer(&kept))
            .collect();
        Exposure {
            zone: zone.to_owned(),
            name: card.zone_name(zone).to_owned(),
            exposure: exposure.to_owned(),
            void: all - layers.len(),
            layers,
        }
    });
    exposures.filter(|it| !it.layers.is_empty()).collect()
}

/// Puts the readings of one layer together, the latest word counting; `None` once it is void.
fn layer(kept: &[&Kept]) -> Option<Layer> {
    let (last, stamp) = kept.last()?;
    if last.void {
        return None;
    }
    let mut colours: Vec<LayerColour> = kept.iter().filter_map(|kept| colour(kept)).collect();
    let drift = drift(&colours);
    let colour = colours.pop();
    Some(Layer {
        number: last.place.layer,
        word: latest(kept, |read| read.word.clone()).unwrap_or_default(),
        material: latest(kept, |read| read.material.clone()),
        munsell: latest(kept, |read| read.munsell.clone()),
        drift,
        colour,
        earlier: colours,
        gloss: latest(kept, |read| read.gloss.clone()),
        band: latest(kept, |read| read.band.clone()),
        metal: latest(kept, |read| read.metal),
        on_top: latest(kept, |read| read.on_top.clone()),
        dug_out: kept.iter().any(|(read, _)| read.dug_out),
        campaign: None,
        unplaced: None,
        stamp: stamp.clone(),
    })
}

fn latest<T>(kept: &[&Kept], said: impl Fn(&LayerRead) -> Option<T>) -> Option<T> {
    kept.iter().rev().find_map(|(read, _)| said(read))
}

fn colour((read, stamp): &Kept) -> Option<LayerColour> {
    let readings = colours(&read.lab);
    (!readings.is_empty()).then(|| LayerColour {
        middle: middle_colour(&readings).ok(),
        readings,
        spot: read.spot,
        light: read.light.clone(),
        dug_out: read.dug_out,
        stamp: stamp.clone(),
    })
}

/// Returns the readings that are colours at all.
pub(super) fn colours(lab: &[[f64; 3]]) -> Vec<Colour> {
    lab.iter()
        .filter_map(|[l, a, b]| Colour::lab(*l, *a, *b).ok())
        .collect()
}

impl Layer {
    /// Returns its colour at every sitting, oldest first.
    pub fn sittings(&self) -> impl Iterator<Item = &LayerColour> {
        self.earlier.iter().chain(&self.colour)
    }
}

/// Only like readings are compared: a wetted spot looks darker than a dry one.
fn drift(colours: &[LayerColour]) -> Option<Drift> {
    let last = colours.last()?;
    let first = colours.iter().find(|it| it.spot == last.spot)?;
    let days = air::hours_between(first.stamp.at, last.stamp.at).0 / 24.0;
    let (from, to) = (first.middle?.0, last.middle?.0);
    (DRIFT_DAYS <= days).then(|| Drift {
        days,
        from,
        to,
        difference: difference(from, to),
    })
}

/// Returns a relation in words.
pub fn relation_words(relation: Relation) -> &'static str {
    match relation {
        Relation::Above => "lies above",
        Relation::Below => "lies below",
        Relation::SameAs => "is the same as",
    }
}

/// Returns the word for a marker.
pub fn marker_word(marker: Marker) -> &'static str {
    match marker {
        Marker::Dirt => "dirt",
        Marker::Varnish => "varnish",
        Marker::Cracks => "cracks",
        Marker::Wear => "wear",
    }
}

/// Returns the word for a metal.
pub fn metal_word(metal: Metal) -> &'static str {
    match metal {
        Metal::Leaf => "leaf",
        Metal::BronzePowder => "bronze powder",
    }
}

fn campaign(card: &Figure, exposures: &[Exposure], place: usize) -> Campaign {
    let is_here = |layer: &&Layer| layer.campaign == Some(place);
    let here = || exposures.iter().flat_map(|it| &it.layers).filter(is_here);
    let seen = exposures.iter().filter_map(|exposure| {
        let layers = exposure.layers.iter().filter(is_here);
        let layers: Vec<u32> = layers.map(|layer| layer.number).collect();
        (!layers.is_empty()).then(|| Seen {
            zone: exposure.zone.clone(),
            exposure: exposure.exposure.clone(),
            layers,
        })
    });
    let seen: Vec<Seen> = seen.collect();
    let markers: BTreeSet<Marker> = here()
        .filter_map(|layer| layer.on_top.as_ref())
        .flatten()
        .copied()
        .collect();
    let metals: BTreeSet<Metal> = here().filter_map(|layer| layer.metal).collect();
    Campaign {
        number: place + 1,
        coverage: coverage(card, exposures, &seen),
        seen,
        markers: markers.into_iter().collect(),
        metals: metals.into_iter().collect(),
    }
}

fn coverage(card: &Figure, exposures: &[Exposure], seen: &[Seen]) -> Coverage {
    let zones: BTreeSet<&str> = seen.iter().map(|it| it.zone.as_str()).collect();
    let studied: BTreeSet<&str> = exposures.iter().map(|it| it.zone.as_str()).collect();
    // A zone that nobody has measured may be large: then no share can be said.
    let area = |among: Option<&BTreeSet<&str>>| -> Option<f64> {
        card.zones
            .iter()
            .filter(|zone| among.is_none_or(|among| among.contains(zone.id.as_str())))
            .map(|zone| Some(zone.carved_area_m2()).filter(|area| 0.0 < *area))
            .sum()
    };
    let share = area(Some(&zones)).zip(area(None));
    Coverage {
        zones: zones.len(),
        studied: studied.len(),
        of: card.zones.len(),
        area_percent: share
            .filter(|(_, all)| 0.0 < *all)
            .map(|(part, all)| 100.0 * part / all),
    }
}

/// What shows a metal: a campaign, or a layer in none.
struct Metallic {
    name: String,
    zones: BTreeSet<String>,
    metals: Vec<Metal>,
}

/// Two with the same metal that share no zone may be one painting. Only a hand can say so.
fn hints(campaigns: &[Campaign], exposures: &[Exposure]) -> Vec<String> {
    let numbered = campaigns.iter().map(|one| Metallic {
        name: format!("campaign {}", one.number),
        zones: one.seen.iter().map(|seen| seen.zone.clone()).collect(),
        metals: one.metals.clone(),
    });
    let loose = exposures.iter().flat_map(|exposure| {
        let layers = exposure.layers.iter();
        let layers = layers.filter(|it| it.unplaced == Some(Unplaced::NotTied));
        layers.map(|layer| Metallic {
            name: format!("{}, layer {}", exposure.words(), layer.number),
            zones: BTreeSet::from([exposure.zone.clone()]),
            metals: layer.metal.into_iter().collect(),
        })
    });
    let all: Vec<Metallic> = numbered.chain(loose).collect();
    let mut hints = Vec::new();
    for (nth, one) in all.iter().enumerate() {
        for other in all.iter().skip(nth + 1) {
            let shared = one.metals.iter().find(|metal| other.metals.contains(metal));
            if let (true, Some(metal)) = (one.zones.is_disjoint(&other.zones), shared) {
                hints.push(format!(
                    "{} and {} both show {}: one painting? tie them if the wood says so",
                    one.name,
                    other.name,
                    metal_word(*metal)
                ));
            }
        }
    }
    hints.truncate(MOST_HINTS);
    hints
}
