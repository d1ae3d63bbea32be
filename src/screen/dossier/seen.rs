//! What the Dossier shows, taken once.

use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use crate::card::{Figure, Outline, PlacedShape};
use crate::deed::PhotoKept;
use crate::shop::Picture;
use crate::standing::{
    AirSeries, CoatPoint, Hollow, House, JointSeen, Layers, MoistureSeries, PhotoRow, Photos,
    Repaint, WordPoint, ZoneFacts, coats, hollow, joints, layers, moisture, moisture_target,
    photos, place_words, repaint, room_air, test_words, zone_facts,
};

/// One part of a figure that can be picked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// The whole figure.
    Whole,
    /// A zone, by its place in the list of zones.
    Zone(usize),
    /// A joint, by its place in the list of joints.
    Joint(usize),
}

/// One side of the outline, with the parts of its shapes.
#[derive(Debug, Clone, PartialEq)]
pub struct DossierSide {
    /// Its name.
    pub name: String,
    /// Its shapes, each with the place of its part.
    pub shapes: Vec<(usize, PlacedShape)>,
    /// Joints that the outline does not draw, where the zones of their seams meet: the parts
    /// of the zones.
    pub seams: Vec<(usize, Vec<usize>)>,
}

impl DossierSide {
    /// Returns whether a part is drawn here.
    pub fn shows(&self, part: usize) -> bool {
        self.shapes.iter().any(|(shown, _)| *shown == part)
            || self.seams.iter().any(|(shown, _)| *shown == part)
    }
}

/// A plot of readings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlotOf {
    /// Moisture of a zone or joint; the whole figure if empty.
    Moisture(String),
    /// Temperature of the room.
    Warmth,
    /// Humidity of the room.
    Humidity,
    /// Coats.
    Coats,
    /// Words of the knuckle test.
    Words,
}

/// A photograph on the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// It is being read.
    Unread,
    /// Its pixels.
    Picture(Arc<Picture>),
    /// Why it cannot be shown.
    Not(String),
}

/// All that the Dossier shows of one figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Dossier {
    /// Figure id.
    pub figure: String,
    /// Name.
    pub name: String,
    /// What the card says of the whole figure: question and answer.
    pub card: Vec<(&'static str, String)>,
    /// Parts that can be picked.
    pub parts: Vec<Part>,
    /// Zones.
    pub zones: Vec<ZoneFacts>,
    /// Joints.
    pub joints: Vec<JointSeen>,
    /// The hollow inside.
    pub hollow: Option<Hollow>,
    /// Sides of the outline.
    pub sides: Vec<DossierSide>,
    /// Old paint.
    pub layers: Layers,
    /// Chips of new colour, for which place and layer, and what is said of them.
    pub chips: Vec<(String, Repaint)>,
    /// Photographs.
    pub photos: Photos,
    /// Moisture.
    pub moisture: Vec<MoistureSeries>,
    /// The highest moisture that passes, percent.
    pub target: f64,
    /// Air of the room.
    pub air: AirSeries,
    /// Coats.
    pub coats: Vec<CoatPoint>,
    /// Test words.
    pub words: Vec<WordPoint>,
    /// Plots that can be shown.
    pub plots: Vec<PlotOf>,
    /// When it was taken.
    pub at: DateTime<FixedOffset>,
}

impl Dossier {
    /// Returns what is known of a figure; `None` for one without a card.
    pub fn take(house: House<'_>, figure: &str, now: DateTime<FixedOffset>) -> Option<Self> {
        let card = house.cards.figures.get(figure)?;
        let mut dossier = Self {
            figure: figure.to_owned(),
            name: card.name.clone(),
            card: of_card(card),
            parts: parts(card),
            zones: zone_facts(house, figure),
            joints: joints(house, figure),
            hollow: hollow(house, figure),
            layers: layers(house, figure),
            photos: photos(house, figure),
            moisture: moisture(house, figure),
            target: moisture_target(house, figure),
            air: room_air(house, figure),
            coats: coats(house, figure),
            words: test_words(house, figure),
            at: now,
            ..Self::default()
        };
        let chips = house.figure(figure).into_iter().flat_map(|it| &it.chips);
        dossier.chips = chips
            .map(|(chip, _)| {
                let (zone, against) = (card.zone_name(&chip.zone), &chip.wanted);
                let against = place_words(card, against);
                let verdict = repaint(card, &dossier.layers, chip);
                (format!("chip for {zone} against {against}"), verdict)
            })
            .collect();
        let own = house.cards.outlines.get(figure).cloned();
        let outline = own.unwrap_or_else(|| Outline::for_figure(card));
        dossier.sides = dossier.sides_of(&outline, card);
        dossier.plots = dossier.plots_there();
        Some(dossier)
    }

    fn sides_of(&self, outline: &Outline, card: &Figure) -> Vec<DossierSide> {
        let sides = outline.sides.iter().map(|side| {
            let placed = outline.placed(side, card).into_iter();
            let shapes: Vec<(usize, PlacedShape)> = placed
                .filter_map(|shape| Some((self.part_of(&shape.part)?, shape)))
                .collect();
            let drawn = |part: usize| shapes.iter().any(|(shown, _)| *shown == part);
            let seams = self.joints.iter().filter_map(|joint| {
                let part = self.part_of(&joint.id).filter(|part| !drawn(*part))?;
                let zones = joint.zones.iter().filter_map(|zone| self.part_of(zone));
                let zones: Vec<usize> = zones.filter(|zone| drawn(*zone)).collect();
                (!zones.is_empty()).then_some((part, zones))
            });
            DossierSide {
                name: side.side.clone(),
                seams: seams.collect(),
                shapes,
            }
        });
        sides.filter(|side| !side.shapes.is_empty()).collect()
    }

    fn plots_there(&self) -> Vec<PlotOf> {
        let mut plots: Vec<PlotOf> = Vec::new();
        for series in &self.moisture {
            let plot = PlotOf::Moisture(series.target.clone().unwrap_or_default());
            if !plots.contains(&plot) {
                plots.push(plot);
            }
        }
        if !self.air.temp_c.is_empty() {
            plots.extend([PlotOf::Warmth, PlotOf::Humidity]);
        }
        if !self.coats.is_empty() {
            plots.push(PlotOf::Coats);
        }
        if self.words.iter().any(|word| word.step.is_some()) {
            plots.push(PlotOf::Words);
        }
        plots
    }

    /// Returns the id of a part; `None` is the whole figure.
    pub fn id(&self, part: usize) -> Option<&str> {
        match self.parts.get(part)? {
            Part::Whole => None,
            Part::Zone(at) => self.zones.get(*at).map(|zone| zone.id.as_str()),
            Part::Joint(at) => self.joints.get(*at).map(|joint| joint.id.as_str()),
        }
    }

    /// Returns the place of a part by its id.
    pub fn part_of(&self, id: &str) -> Option<usize> {
        (0..self.parts.len()).find(|part| self.id(*part) == Some(id))
    }

    /// Returns the name of a part.
    pub fn part_name(&self, part: usize) -> String {
        match self.parts.get(part) {
            Some(Part::Zone(at)) => self.zones.get(*at).map(|zone| zone.name.clone()),
            Some(Part::Joint(at)) => self.joints.get(*at).map(|joint| {
                let [one, other] = &joint.boards;
                let and = if other.is_empty() { "" } else { " and " };
                format!("{} {one}{and}{other}", joint.id)
            }),
            _ => None,
        }
        .unwrap_or_else(|| "the whole figure".to_owned())
    }

    /// Returns a zone as a person says it.
    pub fn zone_name<'a>(&'a self, id: &'a str) -> &'a str {
        let zone = self.zones.iter().find(|zone| zone.id == id);
        zone.map_or(id, |zone| &zone.name)
    }

    /// Returns the places of the parts that have a number: all but the whole figure. The number
    /// is the place, so that a zone has the same one on the map, in the report and in the folder.
    pub fn numbered(&self) -> Vec<usize> {
        self.parts_of(|part| *part != Part::Whole)
    }

    /// Returns the places of all parts of a kind.
    pub fn parts_of(&self, is_it: impl Fn(&Part) -> bool) -> Vec<usize> {
        let parts = self.parts.iter().enumerate();
        parts
            .filter(|(_, part)| is_it(part))
            .map(|(at, _)| at)
            .collect()
    }

    /// Returns the parts of zones with an exposure.
    pub fn studied_parts(&self) -> Vec<usize> {
        let mut parts: Vec<usize> = self
            .layers
            .exposures
            .iter()
            .filter_map(|exposure| self.part_of(&exposure.zone))
            .collect();
        parts.dedup();
        parts
    }

    /// Returns the parts of which a photograph was taken or is missing, those with one filed
    /// first.
    pub fn parts_with_photos(&self) -> Vec<usize> {
        let is_there = |part: usize| {
            let id = self.id(part);
            let missing = self
                .photos
                .missing
                .iter()
                .any(|it| it.target.as_deref() == id);
            missing || self.photos.of(id).next().is_some()
        };
        let is_filed = |part: usize| {
            let mut photos = self.photos.of(self.id(part));
            photos.any(|photo| photo.filed.is_some())
        };
        let mut parts: Vec<usize> = (0..self.parts.len()).filter(|it| is_there(*it)).collect();
        parts.sort_by_key(|part| !is_filed(*part));
        parts
    }

    /// Returns the photographs of a part that were taken, what a hand said in one row with its
    /// file: those that can be looked at before those whose file is not here, each the last
    /// first.
    pub fn photos_of(&self, part: usize) -> Vec<PhotoRow<'_>> {
        let list = self.photos.list().into_iter();
        let here = |row: &PhotoRow<'_>| row.target == self.id(part) && row.missing.is_none();
        let mut photos: Vec<PhotoRow<'_>> = list.filter(here).collect();
        photos.reverse();
        photos.sort_by_key(|photo| photo.filed.is_none());
        photos
    }

    /// Returns the two photographs to be looked at side by side: the first of a part, and the
    /// one picked, or the last.
    pub fn pair(&self, part: usize, picked: Option<usize>) -> [Option<&PhotoKept>; 2] {
        let (first, last) = self.photos.before_and_after(self.id(part));
        let all = self.photos_of(part);
        let chosen = picked.and_then(|picked| all.get(picked));
        let second = chosen.and_then(|photo| photo.filed).or(last);
        let second = second.filter(|it| first.is_none_or(|first| first.line != it.line));
        [first, second].map(|photo| photo.and_then(|photo| photo.filed.as_ref()))
    }
}

fn parts(card: &Figure) -> Vec<Part> {
    let zones = (0..card.zones.len()).map(Part::Zone);
    let joints = (0..card.joints.len()).map(Part::Joint);
    std::iter::once(Part::Whole)
        .chain(zones)
        .chain(joints)
        .collect()
}

fn of_card(card: &Figure) -> Vec<(&'static str, String)> {
    let [high, long, wide] = card.size_mm.map(|mm| format!("{mm:.0}"));
    let promised = card.promised.map(|day| day.format("%d %b %Y").to_string());
    let size = if card.size_mm.iter().any(|side| 0.0 < *side) {
        format!("{high} × {long} × {wide} mm")
    } else {
        String::new()
    };
    let said = [
        ("title", card.title.clone()),
        ("owner", card.owner.clone()),
        ("owner's number", card.owner_reference.clone()),
        ("maker", card.maker.clone()),
        ("made", card.made.clone()),
        ("marks", card.marks.join("; ")),
        ("for", card.purpose.clone()),
        ("wood", card.wood.clone()),
        ("build", card.build.clone()),
        ("size", size),
        ("promised", promised.unwrap_or_default()),
    ];
    let known = |words: String| {
        if words.is_empty() {
            "not recorded".to_owned()
        } else {
            words
        }
    };
    said.into_iter()
        .map(|(what, words)| (what, known(words)))
        .collect()
}
