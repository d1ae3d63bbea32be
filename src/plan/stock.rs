//! What is on the shelf: used, left, past its date; what the routes still need of it, and so
//! what to order. Every need is reckoned on the larger side, for running short in the middle
//! of an ornament is what hurts.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::Piece;
use super::uses::{Tin, area, coat_ml, uses};
use crate::card::{
    Basis, Checklist, ClockName, Figure, Lot, Material, MaterialKind, Need, Ratio, Scope, Wear,
};
use crate::deed::Work;
use crate::reckon::{GapRow, Millimetres, gap_volume_at, resin_for};
use crate::standing::{FigureStanding, House, gap_rows, lot_on_tin, offers, tins};

/// The shelf of a shop.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// Every lot, by material and number; jars count with the tin they were filled from.
    pub lots: Vec<LotStock>,
    /// What the routes still need, by material.
    pub needs: Vec<MaterialNeed>,
    /// The same, work by work.
    pub by_work: Vec<WorkNeed>,
    /// What could not be reckoned, in words.
    pub unknown: Vec<String>,
}

/// What one work ahead needs of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkNeed {
    /// Figure id.
    pub figure: String,
    /// The work.
    pub work: Work,
    /// Material id.
    pub material: String,
    /// `a`, `b` or empty.
    pub part: String,
    /// How much, in the unit of the material.
    pub amount: f64,
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
    /// Uses whose amount nobody wrote down: more was used, and less is left.
    pub unmeasured: u32,
    /// What was in it when full, if the card says so.
    pub holds: Option<f64>,
    /// What is left; absent where nobody said what it held.
    pub left: Option<f64>,
    /// What is left of its price; `None` where nobody said what it held, or what it cost.
    pub value: Option<f64>,
    /// Grams of skewings kept of a lot of leaf.
    pub skewings_g: f64,
    /// Jars that were filled from it.
    pub jars: Vec<String>,
    /// Whether its date is past.
    pub past_date: bool,
    /// Whether less is left than the largest job ahead takes; where none ahead was reckoned, than
    /// one job took of it so far.
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
    /// Lots of it in date.
    pub lots: usize,
    /// What is left of it in lots in date: nothing where there is none; absent where it is not
    /// known of any of them.
    pub left: Option<f64>,
    /// Lots in date of which nobody knows what is left; what the others hold is the least there is.
    pub unknown: usize,
    /// What is to be ordered; absent where it is not known what is left, and that may be enough.
    pub order: Option<f64>,
}

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
            lots.push(used.lot(material, (lot, today)));
        }
    }
    for lot in &mut lots {
        let largest = ahead.largest(&lot.material, &lot.part);
        let largest = largest.or_else(|| used.usual(&lot.material, &lot.part));
        lot.under_one_job = match (lot.left, largest) {
            (Some(left), Some(largest)) => left < largest,
            _ => false,
        };
    }
    Stock {
        needs: ahead.needs(house, &lots),
        by_work: ahead.by_work,
        lots,
        unknown: ahead.unknown.into_iter().collect(),
    }
}

/// What was used of one tin.
#[derive(Debug, Default)]
struct Use {
    amount: f64,
    times: u32,
    unmeasured: u32,
    skewings_g: f64,
    last: Option<(String, u64)>,
}

/// What was used, by tin, and the jars that were filled from it.
#[derive(Debug, Default)]
struct Used {
    tins: BTreeMap<Tin, Use>,
    jars: BTreeMap<String, BTreeSet<String>>,
    /// What was written down of each job: material, part, figure, work.
    jobs: BTreeMap<(String, String, String, Work), f64>,
}

impl Used {
    fn of(house: House<'_>) -> Self {
        let mut used = Self::default();
        for one in uses(house) {
            if let Some(amount) = one.amount {
                let tin = (one.tin.material.clone(), one.tin.part.clone());
                let job = (tin.0, tin.1, one.figure.clone(), one.work.clone());
                *used.jobs.entry(job).or_default() += amount;
            }
            let own = used.tins.entry(one.tin).or_default();
            own.amount += one.amount.unwrap_or(0.0);
            own.times += 1;
            own.unmeasured += u32::from(one.amount.is_none());
            own.skewings_g += one.skewings_g;
            own.last = Some((one.figure, one.n));
        }
        for (poured, _) in &house.standing.shop.decanted {
            let tin = lot_on_tin(house, &poured.into).to_owned();
            used.jars
                .entry(tin)
                .or_default()
                .insert(poured.into.clone());
        }
        used
    }

    /// What one job took of a material in the middle, as far as it was written down.
    fn usual(&self, material: &str, part: &str) -> Option<f64> {
        let mut jobs: Vec<f64> = self
            .jobs
            .iter()
            .filter(|((known, of, ..), _)| known == material && of == part)
            .map(|(_, amount)| *amount)
            .collect();
        jobs.sort_by(f64::total_cmp);
        jobs.get(jobs.len() / 2).copied()
    }

    fn lot(&self, material: &Material, (lot, today): (&Lot, NaiveDate)) -> LotStock {
        let none = Use::default();
        let tin = Tin {
            material: material.id.clone(),
            lot: lot.lot.clone(),
            part: lot.part.clone(),
        };
        let own = self.tins.get(&tin).unwrap_or(&none);
        let holds = material.holds(lot);
        let left = holds.map(|holds| (holds - own.amount).max(0.0));
        LotStock {
            material: material.id.clone(),
            name: material.name.clone(),
            kind: material.kind,
            lot: lot.lot.clone(),
            part: lot.part.clone(),
            opened: lot.opened,
            expires: lot.expires,
            unit: material.unit(),
            used: own.amount,
            uses: own.times,
            unmeasured: own.unmeasured,
            holds,
            left,
            value: left
                .zip(material.unit_price(lot))
                .map(|(left, price)| left * price),
            skewings_g: own.skewings_g,
            jars: self
                .jars
                .get(&lot.lot)
                .into_iter()
                .flatten()
                .cloned()
                .collect(),
            past_date: lot.expires.is_some_and(|expires| expires < today),
            under_one_job: false,
            last_use: own.last.clone(),
        }
    }
}

/// What the routes still need, by material and part.
#[derive(Debug, Default)]
struct Ahead {
    today: NaiveDate,
    needs: BTreeMap<(String, String), (f64, u32, f64)>,
    by_work: Vec<WorkNeed>,
    unknown: BTreeSet<String>,
    /// Ids of the materials that the shop works with, by their kind; what was asked once is known.
    usual: BTreeMap<MaterialKind, Option<String>>,
}

impl Ahead {
    /// As [`usual`], looked for once.
    fn usual<'a>(&mut self, house: House<'a>, kind: MaterialKind) -> Option<&'a Material> {
        let today = self.today;
        let known = self.usual.entry(kind);
        let id = known.or_insert_with(|| usual(house, kind, today).map(|card| card.id.clone()));
        house.cards.materials.get(id.as_deref()?)
    }

    fn figure(&mut self, house: House<'_>, id: &str, card: &Figure) {
        for offer in offers(house, id) {
            if !offer.stage.is_ahead() {
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

    fn need(&mut self, (figure, work): (&str, &Work), (material, part): (&str, &str), amount: f64) {
        self.by_work.push(WorkNeed {
            figure: figure.to_owned(),
            work: work.clone(),
            material: material.to_owned(),
            part: part.to_owned(),
            amount,
        });
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
            let ml = self.usual(house, coats.of).and_then(|card| {
                let ml = coat_ml(card, area(house, id, work), open)?;
                Some((card.id.clone(), ml))
            });
            match ml {
                Some((material, ml)) => self.need((id, work), (&material, ""), ml),
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
                self.need((id, work), (&panel.leaf, ""), f64::from(leaves));
            }
            Err(why) => {
                self.unknown
                    .insert(format!("{id}, {target}: {}: {why}", list.title));
            }
        }
        if let Some(size) = self.usual(house, MaterialKind::Size)
            && let Some(ml) = coat_ml(size, panel.carved_area_m2(), 1)
        {
            self.need((id, work), (&size.id, ""), ml);
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
            let split = self.usual(house, mix.of).and_then(|card| {
                let (a, b) = by_weight(card.ratio?)?;
                let grams = grams?;
                Some((card.id.clone(), grams * a / (a + b), grams * b / (a + b)))
            });
            if let Some((material, a, b)) = split {
                self.need((id, work), (&material, "a"), a);
                self.need((id, work), (&material, "b"), b);
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
            let count = here.clone().count();
            let known: Vec<f64> = here.filter_map(|lot| lot.left).collect();
            let is_known = !known.is_empty() || count == 0;
            let left = is_known.then(|| known.iter().sum::<f64>());
            let unknown = count - known.len();
            let order = left.map(|left| (need - left).max(0.0));
            Some(MaterialNeed {
                lots: count,
                unknown,
                material: material.clone(),
                name: card.name.clone(),
                part: part.clone(),
                unit: card.unit(),
                need: *need,
                jobs: *jobs,
                largest: *largest,
                left,
                order: order.filter(|order| unknown == 0 || *order <= 0.0),
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
    let mut of_kind: Vec<&Material> = all.filter(|card| card.kind == kind).collect();
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
    // A card without any lot comes last: what it names is still to be ordered.
    let here = |card: &Material| !tins(house, card).is_empty();
    of_kind.sort_by_key(|card| std::cmp::Reverse((here(card), often(card), ready(card))));
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
