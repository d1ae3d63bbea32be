//! What was used of every lot, use by use, as the journals tell: for which figure and work, how
//! much, and what that cost where the lot has a price. A use whose amount nobody wrote down is
//! one without an amount, never one of nothing.

use std::collections::BTreeMap;

use super::spent::block_of;
use crate::card::{Lot, Material, MaterialKind, Measure, Panel, Zone};
use crate::deed::{Value, Work};
use crate::reckon::{SquareMetres, SquareMetresPerLitre, litres_for};
use crate::standing::{FigureStanding, House, Job, is_lot_record, lot_on_tin, tins};

/// Millilitres in a litre.
const ML: f64 = 1000.0;

/// One use of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct LotUse {
    /// Which tin.
    pub tin: Tin,
    /// Figure id.
    pub figure: String,
    /// The walk.
    pub work: Work,
    /// The line that tells of it.
    pub n: u64,
    /// How much, in the unit of the material; `None` where nobody wrote it down.
    pub amount: Option<f64>,
    /// Grams of skewings kept, of leaf.
    pub skewings_g: f64,
}

/// A tin: the material, the number on it, and its part. Two parts of a kit may share a number.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Tin {
    /// Material id.
    pub material: String,
    /// Number on the tin that a jar was filled from; empty where no lot was said.
    pub lot: String,
    /// `a`, `b` or empty.
    pub part: String,
}

/// What was used of one lot on a figure in a block of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockUse {
    /// Figure id.
    pub figure: String,
    /// Place of the block among [`BLOCKS`](super::BLOCKS).
    pub block: usize,
    /// Which tin.
    pub tin: Tin,
    /// `g`, `ml` or `leaves`; empty where no card knows the material.
    pub unit: &'static str,
    /// How much, as far as it was written down.
    pub amount: f64,
    /// Uses whose amount nobody wrote down.
    pub unmeasured: u32,
    /// What the amount cost; `None` where the lot has no price, or nothing was measured.
    pub cost: Option<f64>,
}

impl BlockUse {
    /// Returns whether the cost is that of all that was used.
    pub fn is_whole(&self) -> bool {
        self.cost.is_some() && self.unmeasured == 0
    }
}

/// Returns what was used of each lot, by figure, block and tin.
pub fn used_by_block(house: House<'_>) -> Vec<BlockUse> {
    let mut rows: BTreeMap<(String, usize, Tin), BlockUse> = BTreeMap::new();
    for one in uses(house) {
        let list = house.cards.checklists.get(&one.work.operation);
        let block = block_of(list.map_or(0, |list| list.order));
        let key = (one.figure, block, one.tin);
        let row = rows.entry(key).or_insert_with_key(|(figure, block, tin)| {
            let card = house.cards.materials.get(&tin.material);
            BlockUse {
                figure: figure.clone(),
                block: *block,
                tin: tin.clone(),
                unit: card.map_or("", Material::unit),
                amount: 0.0,
                unmeasured: 0,
                cost: None,
            }
        });
        row.amount += one.amount.unwrap_or(0.0);
        row.unmeasured += u32::from(one.amount.is_none());
    }
    let shelf = shelf(house);
    let rows = rows.into_values().map(|row| {
        let measured = 0.0 < row.amount || row.unmeasured == 0;
        let price = unit_price(&shelf, &row.tin).filter(|_| measured);
        BlockUse {
            cost: price.map(|price| price * row.amount),
            ..row
        }
    });
    rows.collect()
}

/// Every material with its tins and jars, gathered once: the journals tell of many uses.
type Shelf<'a> = Vec<(&'a Material, Vec<Lot>)>;

fn shelf(house: House<'_>) -> Shelf<'_> {
    let cards = house.cards.materials.values();
    cards.map(|card| (card, tins(house, card))).collect()
}

/// Returns the first tin of this number and part, if one is said, with its material; `only` may
/// name the material.
fn find<'s>(
    shelf: &'s Shelf<'_>,
    only: Option<&str>,
    (lot, part): (&str, Option<&str>),
) -> Option<(&'s Material, &'s Lot)> {
    let cards = shelf.iter();
    let mut cards = cards.filter(|(card, _)| only.is_none_or(|only| card.id == only));
    let fits = |tin: &&Lot| tin.lot == lot && part.is_none_or(|part| tin.part == part);
    cards.find_map(|(card, tins)| Some((*card, tins.iter().find(fits)?)))
}

/// Returns the price of one gram, millilitre or leaf of a tin.
fn unit_price(shelf: &Shelf<'_>, tin: &Tin) -> Option<f64> {
    let (card, lot) = find(shelf, Some(&tin.material), (&tin.lot, Some(&tin.part)))?;
    card.unit_price(lot)
}

/// Returns every use of a lot that the journals tell.
pub fn uses(house: House<'_>) -> Vec<LotUse> {
    let mut found = Vec::new();
    let shelf = shelf(house);
    for (figure, standing) in &house.standing.figures {
        let mut at = Figured {
            house,
            shelf: &shelf,
            figure,
            standing,
            found: &mut found,
        };
        at.coats();
        for job in &standing.jobs {
            at.cups(job);
            at.picked(job);
        }
    }
    found
}

/// The uses at one figure, as they are found.
struct Figured<'a, 'f> {
    house: House<'a>,
    shelf: &'a Shelf<'a>,
    figure: &'a str,
    standing: &'a FigureStanding,
    found: &'f mut Vec<LotUse>,
}

impl<'a> Figured<'a, '_> {
    fn take(&mut self, tin: Tin, (work, n): (&Work, u64), amount: Option<f64>) {
        self.found.push(LotUse {
            tin,
            figure: self.figure.to_owned(),
            work: work.clone(),
            n,
            amount,
            skewings_g: 0.0,
        });
    }

    fn coats(&mut self) {
        let house = self.house;
        for kept in &self.standing.coats {
            let lot = kept.coat.lot.as_deref().unwrap_or_default();
            let card = house.cards.materials.get(&kept.coat.material);
            let area = area(house, self.figure, &kept.work);
            let ml = card.and_then(|card| coat_ml(card, area, 1));
            let tin = self.tin(&kept.coat.material, lot, None);
            self.take(tin, (&kept.work, kept.stamp.n), ml);
        }
    }

    fn cups(&mut self, job: &Job) {
        // What was thrown away came from the tins as well.
        let acts = job.acts.values();
        let cups = acts.flat_map(|act| act.mixed.iter().chain(&act.wasted));
        for (mixed, stamp) in cups {
            let parts = [("a", mixed.a_g), ("b", mixed.b_g)];
            for (lot, (part, grams)) in mixed.lots.iter().zip(parts) {
                let tin = self.tin(&mixed.material, lot, Some(part));
                self.take(tin, (&job.work, stamp.n), Some(grams));
            }
        }
    }

    /// Size, leaf and what is fed by volume: their lot is picked, their amount follows from
    /// the panel or is read in the same walk.
    fn picked(&mut self, job: &'a Job) {
        let (house, operation) = (self.house, &job.work.operation);
        let records = job.acts.values().flat_map(|act| &act.records);
        // What was read in a walk counts once, however often its lot was picked there; how much
        // of it came from another lot nobody wrote.
        let mut counted: BTreeMap<MaterialKind, Tin> = BTreeMap::new();
        for kept in records {
            let (Value::Text(lot), true) = (
                &kept.value,
                is_lot_record(house.cards, operation, &kept.record),
            ) else {
                continue;
            };
            let found = find(self.shelf, None, (lot_on_tin(house, lot), None));
            let Some((card, _)) = found else {
                continue;
            };
            // Laid or mixed with a line of its own, which says how much.
            if matches!(
                card.kind,
                MaterialKind::Primer | MaterialKind::Colour | MaterialKind::Epoxy
            ) {
                continue;
            }
            let tin = self.tin(&card.id, lot, None);
            let amount = self.amount(card, &job.work);
            let (amount, is_first) = match counted.get(&card.kind) {
                None => (amount, true),
                Some(first) if *first == tin => (amount.map(|_counted| 0.0), false),
                Some(_other) => (None, false),
            };
            counted.entry(card.kind).or_insert_with(|| tin.clone());
            let mass = read_in(self.standing, &job.work, Measure::Mass);
            let skewings = mass.filter(|_| is_first && card.kind == MaterialKind::Leaf);
            self.take(tin, (&job.work, kept.stamp.n), amount);
            if let Some(last) = self.found.last_mut() {
                last.skewings_g = skewings.unwrap_or(0.0);
            }
        }
    }

    /// How much of a picked material a walk took, by what was read in it.
    fn amount(&self, card: &Material, work: &Work) -> Option<f64> {
        let read = |measure| read_in(self.standing, work, measure);
        match card.kind {
            MaterialKind::Size => coat_ml(card, area(self.house, self.figure, work), 1),
            MaterialKind::Leaf => read(Measure::Leaves).or_else(|| {
                let book = card.leaves_per_book.map(f64::from)?;
                Some(read(Measure::Books)? * book)
            }),
            MaterialKind::Consolidant | MaterialKind::Rinse => read(Measure::Volume),
            _ => None,
        }
    }

    /// The tin behind a lot or jar. Where no part was said it is that of the tin, and a card
    /// that does not know the lot gives way to the one that does.
    fn tin(&self, material: &str, lot: &str, part: Option<&str>) -> Tin {
        let lot = lot_on_tin(self.house, lot);
        let known = find(self.shelf, Some(material), (lot, part));
        // Another material only where its first tin of this number has the part that was said.
        let known = known.or_else(|| {
            let (card, _) = find(self.shelf, None, (lot, None))?;
            find(self.shelf, Some(&card.id), (lot, part))
        });
        let (material, own) = known.map_or_else(
            || (material, part.unwrap_or_default()),
            |(card, tin)| (card.id.as_str(), tin.part.as_str()),
        );
        Tin {
            material: material.to_owned(),
            lot: lot.to_owned(),
            part: own.to_owned(),
        }
    }
}

/// Returns the sum of what was read of a measure in a walk; `None` where nothing was.
fn read_in(standing: &FigureStanding, work: &Work, measure: Measure) -> Option<f64> {
    let here = standing.readings.iter();
    let mut here = here.filter(|one| one.measure == measure && one.work == *work);
    let first = here.next()?.value;
    Some(here.fold(first, |sum, one| sum + one.value))
}

/// Returns the surface of what a work is about, carving followed, m²; 0 where nobody knows.
pub(super) fn area(house: House<'_>, figure: &str, work: &Work) -> f64 {
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
pub(super) fn coat_ml(card: &Material, area_m2: f64, coats: u32) -> Option<f64> {
    let spread = SquareMetresPerLitre(card.spread_m2_per_l?);
    if area_m2 <= 0.0 || coats == 0 {
        return None;
    }
    let litres = litres_for(SquareMetres(area_m2), spread, coats).ok()?;
    Some(litres.0 * ML)
}
