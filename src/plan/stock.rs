//! What is on the shelf: used, left, past its date; what the routes still need of it, and so
//! what to order. Every need is reckoned on the larger side, for running short in the middle
//! of an ornament is what hurts.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::Piece;
use crate::card::{
    Basis, Checklist, ClockName, Figure, Lot, Material, MaterialKind, Measure, Need, Panel, Ratio,
    Scope, Wear, Zone,
};
use crate::deed::{Value, Work};
use crate::reckon::{
    GapRow, Millimetres, SquareMetres, SquareMetresPerLitre, gap_volume_at, litres_for, resin_for,
};
use crate::standing::{
    FigureStanding, House, Job, Stage, gap_rows, is_lot_record, lot_on_tin, offers, tins,
};

/// The shelf of a shop.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// Every lot, by material and number; jars count with the tin they were filled from.
    pub lots: Vec<LotStock>,
    /// What the routes still need, by material.
    pub needs: Vec<MaterialNeed>,
    /// What could not be reckoned, in words.
    pub unknown: Vec<String>,
}

/// One lot.
#[derive(Debug, Clone, PartialEq)]
pub struct LotStock {
    /// Material id.
    pub material: String,
    /// Name of the material.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Number on the tin.
    pub lot: String,
    /// `a`, `b` or empty.
    pub part: String,
    /// The day it was opened; absent means sealed.
    pub opened: Option<NaiveDate>,
    /// Use by.
    pub expires: Option<NaiveDate>,
    /// `g`, `ml` or `leaves`.
    pub unit: &'static str,
    /// How much was used, in its unit, as far as the journals tell.
    pub used: f64,
    /// How often it was used.
    pub uses: u32,
    /// What was in it when full, if the card says so.
    pub holds: Option<f64>,
    /// What is left; absent where nobody said what it held.
    pub left: Option<f64>,
    /// Grams of skewings kept of a lot of leaf.
    pub skewings_g: f64,
    /// Jars that were filled from it.
    pub jars: Vec<String>,
    /// Whether its date is past.
    pub past_date: bool,
    /// Whether less is left than the largest job ahead takes.
    pub under_one_job: bool,
    /// Where it was used last: figure and line.
    pub last_use: Option<(String, u64)>,
}

/// What the routes still need of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialNeed {
    /// Material id.
    pub material: String,
    /// Name of the material.
    pub name: String,
    /// `a`, `b` or empty.
    pub part: String,
    /// `g`, `ml` or `leaves`.
    pub unit: &'static str,
    /// How much.
    pub need: f64,
    /// In how many jobs.
    pub jobs: u32,
    /// The largest of them.
    pub largest: f64,
    /// What is left of it in lots in date; absent where that is not known of any lot.
    pub left: Option<f64>,
    /// What is to be ordered; absent where it is not known what is left.
    pub order: Option<f64>,
}

/// Millilitres in a litre.
const ML: f64 = 1000.0;

/// Returns the shelf as it stands on a day.
pub fn stock(house: House<'_>, today: NaiveDate) -> Stock {
    let used = Used::of(house);
    let mut ahead = Ahead {
        today,
        ..Ahead::default()
    };
    for (id, card) in &house.cards.figures {
        ahead.figure(house, id, card);
    }
    let mut lots = Vec::new();
    for material in house.cards.materials.values() {
        let all = tins(house, material);
        let is_tin = |lot: &&Lot| lot_on_tin(house, &lot.lot) == lot.lot;
        for lot in all.iter().filter(is_tin) {
            lots.push(used.lot(house, material, (lot, today)));
        }
    }
    for lot in &mut lots {
        let largest = ahead.largest(&lot.material, &lot.part);
        lot.under_one_job = match (lot.left, largest) {
            (Some(left), Some(largest)) => left < largest,
            _ => false,
        };
    }
    Stock {
        needs: ahead.needs(house, &lots),
        lots,
        unknown: ahead.unknown.into_iter().collect(),
    }
}

/// Returns the unit in which a material is counted.
fn unit(material: &Material) -> &'static str {
    match material.kind {
        MaterialKind::Leaf => "leaves",
        _ if material.ratio.is_some() => "g",
        _ => "ml",
    }
}

/// What was used of one tin.
#[derive(Debug, Default)]
struct Use {
    amount: f64,
    times: u32,
    skewings_g: f64,
    jars: BTreeSet<String>,
    last: Option<(String, u64)>,
}

/// What was used, by the lot on the tin.
#[derive(Debug, Default)]
struct Used(BTreeMap<String, Use>);

impl Used {
    fn of(house: House<'_>) -> Self {
        let mut used = Self::default();
        for (figure, standing) in &house.standing.figures {
            used.coats(house, figure, standing);
            for job in &standing.jobs {
                used.cups(house, figure, job);
                used.picked(house, (figure, standing), job);
            }
        }
        for (poured, _) in &house.standing.shop.decanted {
            let tin = lot_on_tin(house, &poured.into).to_owned();
            used.0
                .entry(tin)
                .or_default()
                .jars
                .insert(poured.into.clone());
        }
        used
    }

    fn take(&mut self, house: House<'_>, lot: &str, (amount, at): (f64, (&str, u64))) {
        let own = self.0.entry(lot_on_tin(house, lot).to_owned()).or_default();
        own.amount += amount;
        own.times += 1;
        own.last = Some((at.0.to_owned(), at.1));
    }

    fn coats(&mut self, house: House<'_>, figure: &str, standing: &FigureStanding) {
        for kept in &standing.coats {
            let Some(lot) = &kept.coat.lot else {
                continue;
            };
            let material = house.cards.materials.get(&kept.coat.material);
            let area = area(house, figure, &kept.work);
            let ml = material.and_then(|card| coat_ml(card, area, 1));
            self.take(house, lot, (ml.unwrap_or(0.0), (figure, kept.stamp.n)));
        }
    }

    fn cups(&mut self, house: House<'_>, figure: &str, job: &Job) {
        for (mixed, stamp) in job.acts.values().flat_map(|act| &act.mixed) {
            for (lot, grams) in mixed.lots.iter().zip([mixed.a_g, mixed.b_g]) {
                self.take(house, lot, (grams, (figure, stamp.n)));
            }
        }
    }

    /// Size, leaf and what is fed by volume: their lot is picked, their amount follows from
    /// the panel or is read in the same walk.
    fn picked(&mut self, house: House<'_>, (figure, standing): (&str, &FigureStanding), job: &Job) {
        let operation = &job.work.operation;
        let records = job.acts.values().flat_map(|act| &act.records);
        // What was read in a walk counts once, however often its lot was picked there.
        let mut counted = BTreeSet::new();
        for kept in records {
            let (Value::Text(lot), true) = (
                &kept.value,
                is_lot_record(house.cards, operation, &kept.record),
            ) else {
                continue;
            };
            let on_tin = lot_on_tin(house, lot);
            let card = material_of(house, on_tin);
            let Some(card) = card else { continue };
            let read = |measure| read_in(standing, &job.work, measure);
            let amount = match card.kind {
                MaterialKind::Size => coat_ml(card, area(house, figure, &job.work), 1),
                MaterialKind::Leaf => read(Measure::Leaves).or_else(|| {
                    let book = card.leaves_per_book.map(f64::from)?;
                    Some(read(Measure::Books)? * book)
                }),
                MaterialKind::Consolidant | MaterialKind::Rinse => read(Measure::Volume),
                // Laid or mixed with a line of its own, which says how much.
                MaterialKind::Primer | MaterialKind::Colour | MaterialKind::Epoxy => continue,
                _ => None,
            };
            let amount = amount.filter(|_| counted.insert(card.kind));
            self.take(house, lot, (amount.unwrap_or(0.0), (figure, kept.stamp.n)));
            if card.kind == MaterialKind::Leaf {
                let own = self.0.entry(on_tin.to_owned()).or_default();
                own.skewings_g += read(Measure::Mass).unwrap_or(0.0);
            }
        }
    }

    fn lot(
        &self,
        house: House<'_>,
        material: &Material,
        (lot, today): (&Lot, NaiveDate),
    ) -> LotStock {
        let none = Use::default();
        let own = self.0.get(&lot.lot).unwrap_or(&none);
        let unit = unit(material);
        let holds = match unit {
            "g" => lot.holds_g,
            "ml" => lot.holds_ml,
            _ => lot.holds_leaves,
        };
        let holds = holds.map(f64::from);
        let full_lot = tins(house, material)
            .into_iter()
            .find(|tin| tin.lot == lot.lot);
        LotStock {
            material: material.id.clone(),
            name: material.name.clone(),
            kind: material.kind,
            lot: lot.lot.clone(),
            part: lot.part.clone(),
            opened: full_lot.and_then(|tin| tin.opened),
            expires: lot.expires,
            unit,
            used: own.amount,
            uses: own.times,
            holds,
            left: holds.map(|holds| (holds - own.amount).max(0.0)),
            skewings_g: own.skewings_g,
            jars: own.jars.iter().cloned().collect(),
            past_date: lot.expires.is_some_and(|expires| expires < today),
            under_one_job: false,
            last_use: own.last.clone(),
        }
    }
}

fn material_of<'a>(house: House<'a>, lot: &str) -> Option<&'a Material> {
    let mut all = house.cards.materials.values();
    all.find(|card| tins(house, card).iter().any(|tin| tin.lot == lot))
}

/// Returns the sum of what was read of a measure in a walk; `None` where nothing was.
fn read_in(standing: &FigureStanding, work: &Work, measure: Measure) -> Option<f64> {
    let here = standing.readings.iter();
    let mut here = here.filter(|one| one.measure == measure && one.work == *work);
    let first = here.next()?.value;
    Some(here.fold(first, |sum, one| sum + one.value))
}

/// Returns the surface of what a work is about, carving followed, m²; 0 where nobody knows.
fn area(house: House<'_>, figure: &str, work: &Work) -> f64 {
    let Some(card) = house.cards.figures.get(figure) else {
        return 0.0;
    };
    let target = work.target.as_deref().unwrap_or_default();
    let zone = card.zones.iter().find(|zone| zone.id == target);
    let panel = card.panels.iter().find(|panel| panel.id == target);
    zone.map(Zone::carved_area_m2)
        .or(panel.map(Panel::carved_area_m2))
        .unwrap_or(0.0)
}

/// Returns the millilitres of so many coats; `None` where card or area do not say.
fn coat_ml(card: &Material, area_m2: f64, coats: u32) -> Option<f64> {
    let spread = SquareMetresPerLitre(card.spread_m2_per_l?);
    if area_m2 <= 0.0 || coats == 0 {
        return None;
    }
    let litres = litres_for(SquareMetres(area_m2), spread, coats).ok()?;
    Some(litres.0 * ML)
}

/// What the routes still need, by material and part.
#[derive(Debug, Default)]
struct Ahead {
    today: NaiveDate,
    needs: BTreeMap<(String, String), (f64, u32, f64)>,
    unknown: BTreeSet<String>,
}

impl Ahead {
    fn figure(&mut self, house: House<'_>, id: &str, card: &Figure) {
        for offer in offers(house, id) {
            if offer.stage == Stage::Done {
                continue;
            }
            let Some(list) = house.cards.checklists.get(&offer.work.operation) else {
                continue;
            };
            match list.scope {
                Scope::Joint => self.joint(house, (id, card), (list, &offer.work)),
                Scope::Panel => self.panel(house, (id, card), (list, &offer.work)),
                Scope::Zone | Scope::Figure => self.coats(house, (id, card), (list, &offer.work)),
            }
        }
    }

    fn need(&mut self, material: &str, part: &str, amount: f64) {
        let key = (material.to_owned(), part.to_owned());
        let (sum, jobs, largest) = self.needs.entry(key).or_default();
        *sum += amount;
        *jobs += 1;
        *largest = largest.max(amount);
    }

    fn coats(
        &mut self,
        house: House<'_>,
        (id, card): (&str, &Figure),
        (list, work): (&Checklist, &Work),
    ) {
        let target = work.target.as_deref().unwrap_or_default();
        let zone = card.zones.iter().find(|zone| zone.id == target);
        let is_worn = zone.is_some_and(|zone| zone.wear == Wear::Worn);
        let laid = house.figure(id).map_or(0, |standing| {
            let here = standing.coats.iter();
            here.filter(|kept| kept.work == *work).count()
        });
        let mut laid = u32::try_from(laid).unwrap_or(u32::MAX);
        for coats in list.steps.iter().filter_map(|step| step.coats.as_ref()) {
            let all = coats.count + if is_worn { coats.wear_extra } else { 0 };
            let open = all.saturating_sub(laid);
            laid = laid.saturating_sub(all);
            let ml = usual(house, coats.of, self.today).and_then(|card| {
                let ml = coat_ml(card, area(house, id, work), open)?;
                Some((card.id.clone(), ml))
            });
            match ml {
                Some((material, ml)) => self.need(&material, "", ml),
                None if open == 0 => {}
                None => {
                    let what = format!("{id}, {target}: {} not reckoned", list.title);
                    let why = "area, spread or material is not on the cards";
                    self.unknown.insert(format!("{what}; {why}"));
                }
            }
        }
    }

    fn panel(
        &mut self,
        house: House<'_>,
        (id, card): (&str, &Figure),
        (list, work): (&Checklist, &Work),
    ) {
        let target = work.target.as_deref().unwrap_or_default();
        let Some(panel) = card.panels.iter().find(|panel| panel.id == target) else {
            return;
        };
        // What lies on the panel already is not laid once more.
        let running = house.figure(id).is_some_and(|standing| {
            let clocks = standing.clocks.iter();
            let mut here = clocks.filter(|clock| clock.work == *work);
            here.any(|clock| clock.clock == ClockName::LeafSet)
        });
        if running {
            return;
        }
        match Piece::of(house.cards, panel, None) {
            Ok(piece) => {
                let leaves = u32::try_from(piece.leaves).unwrap_or(u32::MAX);
                self.need(&panel.leaf, "", f64::from(leaves));
            }
            Err(why) => {
                self.unknown
                    .insert(format!("{id}, {target}: {}: {why}", list.title));
            }
        }
        if let Some(size) = usual(house, MaterialKind::Size, self.today)
            && let Some(ml) = coat_ml(size, panel.carved_area_m2(), 1)
        {
            self.need(&size.id, "", ml);
        }
    }

    fn joint(
        &mut self,
        house: House<'_>,
        (id, card): (&str, &Figure),
        (list, work): (&Checklist, &Work),
    ) {
        let mixes = list.steps.iter().filter_map(|step| step.mix.as_ref());
        for mix in mixes.filter(|mix| mix.need == Need::Gap) {
            let begun = house.figure(id).and_then(|standing| standing.job(work));
            if begun.is_some_and(|job| job.acts.values().any(|act| !act.mixed.is_empty())) {
                continue;
            }
            let target = work.target.as_deref().unwrap_or_default();
            let grams = joint_g(house.figure(id), card, target);
            let split = usual(house, mix.of, self.today).and_then(|card| {
                let (a, b) = by_weight(card.ratio?)?;
                let grams = grams?;
                Some((card.id.clone(), grams * a / (a + b), grams * b / (a + b)))
            });
            if let Some((material, a, b)) = split {
                self.need(&material, "a", a);
                self.need(&material, "b", b);
            } else {
                let what = format!("{id}, {target}: {} not reckoned", list.title);
                self.unknown
                    .insert(format!("{what}; its gaps were not read yet"));
            }
        }
    }

    fn largest(&self, material: &str, part: &str) -> Option<f64> {
        let key = (material.to_owned(), part.to_owned());
        self.needs.get(&key).map(|(_, _, largest)| *largest)
    }

    fn needs(&self, house: House<'_>, lots: &[LotStock]) -> Vec<MaterialNeed> {
        let all = self.needs.iter();
        all.filter_map(|((material, part), (need, jobs, largest))| {
            let card = house.cards.materials.get(material)?;
            let here = lots
                .iter()
                .filter(|lot| lot.material == *material && lot.part == *part && !lot.past_date);
            let known: Vec<f64> = here.filter_map(|lot| lot.left).collect();
            let left = (!known.is_empty()).then(|| known.iter().sum::<f64>());
            Some(MaterialNeed {
                material: material.clone(),
                name: card.name.clone(),
                part: part.clone(),
                unit: unit(card),
                need: *need,
                jobs: *jobs,
                largest: *largest,
                left,
                order: left.map(|left| (need - left).max(0.0)),
            })
        })
        .collect()
    }
}

/// The material of a kind that this shop works with: the one laid or mixed most often, else
/// one whose lots are open and in date.
fn usual(house: House<'_>, kind: MaterialKind, today: NaiveDate) -> Option<&Material> {
    let often = |card: &Material| {
        let figures = house.standing.figures.values();
        let coats = figures.clone().flat_map(|one| &one.coats);
        let coats = coats.filter(|kept| kept.coat.material == card.id).count();
        let cups = figures
            .flat_map(|one| &one.jobs)
            .flat_map(|job| job.acts.values());
        let cups = cups.flat_map(|act| &act.mixed);
        coats + cups.filter(|(mixed, _)| mixed.material == card.id).count()
    };
    let all = house.cards.materials.values();
    let mut of_kind: Vec<&Material> = all
        .filter(|card| card.kind == kind && !card.lots.is_empty())
        .collect();
    let ready = |card: &Material| {
        let parts: &[&str] = if card.ratio.is_some() {
            &["a", "b"]
        } else {
            &[""]
        };
        let open = |part: &&str| {
            let mut lots = card.lots.iter().filter(|lot| lot.part == **part);
            lots.any(|lot| {
                let in_date = lot.expires.is_none_or(|expires| today <= expires);
                lot.opened.is_some() && in_date
            })
        };
        parts.iter().filter(|part| open(part)).count() == parts.len()
    };
    // Stable: where nothing was used yet, what is open and in date comes first.
    of_kind.sort_by_key(|card| std::cmp::Reverse((often(card), ready(card))));
    of_kind.into_iter().next()
}

/// Returns the parts by weight; a ratio by volume needs both densities.
fn by_weight(ratio: Ratio) -> Option<(f64, f64)> {
    match ratio.basis {
        Basis::Weight => Some((ratio.a, ratio.b)),
        Basis::Volume => Some((ratio.a * ratio.density_a?, ratio.b * ratio.density_b?)),
    }
}

/// Returns the grams of mix that a joint asks for by its gaps, waste reckoned in.
fn joint_g(standing: Option<&FigureStanding>, card: &Figure, joint: &str) -> Option<f64> {
    let joint = card.joints.iter().find(|known| known.id == joint)?;
    let read = standing.map(|standing| gap_rows(standing, &joint.id));
    let mut rows: Vec<(f64, Vec<Option<f64>>)> = read.unwrap_or_default();
    if rows.is_empty() {
        let known = joint.gaps.iter();
        rows = known
            .map(|row| (row.at_mm, row.mm.iter().copied().map(Some).collect()))
            .collect();
    }
    let rows = rows.into_iter().map(|(at, row)| {
        let row: Vec<_> = row.into_iter().map(|mm| mm.map(Millimetres)).collect();
        GapRow::new(&row).map(|row| (Millimetres(at), row))
    });
    let rows = rows.collect::<Result<Vec<_>, _>>().ok()?;
    let (length, width) = (Millimetres(joint.length_mm), Millimetres(joint.width_mm));
    let gap = gap_volume_at(length, width, &rows).ok()?;
    Some(resin_for(gap).mix.wait_until().0)
}
