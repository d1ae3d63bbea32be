//! A material card: what the data sheet of a product says, by generic type. No brands.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// One material.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Material {
    /// Short name, such as `medium-epoxy`.
    pub id: String,
    /// Generic name, such as `medium epoxy 100:45 by weight`.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Where the figures of this card come from: the data sheet, or common practice.
    pub source: String,
    /// With what it comes off again, or that it does not; for the successor in thirty years.
    pub comes_off: String,
    /// Mix ratio, for two-part materials.
    pub ratio: Option<Ratio>,
    /// Pot life as printed: minutes for grams at a temperature.
    pub pot_life: Vec<PotLifePoint>,
    /// Time in the joint until it must be closed and tight, minutes at `at_c`.
    pub closing_min: Option<CureHours>,
    /// Hours until clamps may come off.
    pub handling_h: Option<CureHours>,
    /// Hours until it may be sanded, loaded or coated.
    pub load_h: Option<CureHours>,
    /// Hours to full cure.
    pub full_cure_h: Option<CureHours>,
    /// Recoat window.
    pub recoat: Option<RecoatHours>,
    /// Class of an oil size.
    pub size_class: Option<SizeClass>,
    /// Hours of a size to readiness at `at_c`, flat places.
    pub tack_h: Option<CureHours>,
    /// Hours of a size until it takes no more leaf at `at_c`.
    pub dead_h: Option<CureHours>,
    /// Dwell of a stripper, minutes (`early` = look, `late` = never longer).
    pub dwell_min: Option<CureHours>,
    /// Spread, m² per litre and coat on the flat.
    pub spread_m2_per_l: Option<f64>,
    /// Volume solids as printed, percent.
    pub solids_percent: Option<f64>,
    /// Dry film of one coat as printed, micrometres.
    pub dry_film_um: Option<f64>,
    /// The solvent that it mostly gives off, by a name of the ventilation table.
    pub solvent: Option<String>,
    /// Solvent that goes into the air while it is worked with, millilitres of liquid a minute,
    /// where somebody has weighed it.
    pub evaporates_ml_per_min: Option<f64>,
    /// Lowest and highest temperature at which it may be used, °C.
    pub range_c: Option<[f64; 2]>,
    /// Highest humidity at which it may be used, %.
    pub most_humidity_percent: Option<f64>,
    /// What dangers it shares with cautions: lead, caustic, metal, epoxy …
    pub strength: Vec<Strength>,
    /// GHS hazard statements of the data sheet, such as `H317`.
    pub ghs: Vec<String>,
    /// Breakthrough by glove, from the data sheet.
    pub gloves: Vec<GloveFigure>,
    /// Side of one leaf, millimetres, and leaves in a book.
    pub leaf_mm: Option<f64>,
    /// Leaves in a book.
    pub leaves_per_book: Option<u32>,
    /// Lots in the shop.
    pub lots: Vec<Lot>,
}

/// What a material is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MaterialKind {
    /// Two-part epoxy.
    Epoxy,
    /// Thin resin that stiffens weak wood.
    Consolidant,
    /// Paint remover.
    Stripper,
    /// Neutralising rinse.
    Rinse,
    /// Filler.
    Filler,
    /// Primer.
    Primer,
    /// Colour ground in japan.
    Colour,
    /// Oil glaze or blending colour.
    Glaze,
    /// Oil size.
    Size,
    /// Metal leaf.
    Leaf,
    /// Clear coat, varnish, leaf seal.
    Varnish,
    /// Isolating layer.
    Isolating,
    /// Thinner or solvent.
    Thinner,
    /// Anything else.
    #[default]
    Other,
}

/// Parts of resin to hardener.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ratio {
    /// Parts of A (resin).
    pub a: f64,
    /// Parts of B (hardener).
    pub b: f64,
    /// By weight or by volume.
    pub basis: Basis,
    /// Density of A, g/ml; needed when the basis is volume.
    #[serde(default)]
    pub density_a: Option<f64>,
    /// Density of B, g/ml.
    #[serde(default)]
    pub density_b: Option<f64>,
}

/// What the parts are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Grams to grams.
    Weight,
    /// Millilitres to millilitres.
    Volume,
}

/// One printed pot life.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PotLifePoint {
    /// Minutes.
    pub minutes: f64,
    /// Mass in the cup, grams.
    pub grams: f64,
    /// Temperature, °C.
    pub temp_c: f64,
}

/// A span of time at one temperature, as a data sheet prints it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CureHours {
    /// Earliest.
    pub early: f64,
    /// Likely.
    pub likely: f64,
    /// Latest.
    pub late: f64,
    /// Temperature at which it holds, °C.
    pub at_c: f64,
}

/// A recoat window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecoatHours {
    /// Not before, hours: shortest and longest printed.
    pub min_h: [f64; 2],
    /// Without sanding not after, hours; absent means any time.
    #[serde(default)]
    pub max_h: Option<f64>,
    /// Temperature at which it holds, °C.
    pub at_c: f64,
}

/// Classes of oil size by time to tack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SizeClass {
    /// One to three hours.
    Quick,
    /// About three hours.
    ThreeHour,
    /// Ten to twelve hours.
    Slow,
    /// Old oil gold size, twelve to eighteen hours.
    OldGold,
}

/// What a material shares with the cautions' `when`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Strength {
    /// Methylene chloride.
    Dcm,
    /// N-methylpyrrolidone.
    Nmp,
    /// Caustic.
    Caustic,
    /// Acid.
    Acid,
    /// Imitation metal.
    Metal,
    /// Epoxy.
    Epoxy,
    /// Self-heating drying oil.
    DryingOil,
    /// Flammable vapour.
    Flammable,
}

/// Breakthrough of one glove.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GloveFigure {
    /// The glove, such as `double nitrile`.
    pub glove: String,
    /// Stated breakthrough, minutes.
    pub breakthrough_min: f64,
}

/// More than this is no lot of a shop for figures: whole grams, millilitres or leaves (own
/// judgement, to catch a slip of the pen).
pub const MOST_HELD: u32 = 1_000_000;

/// More than this is no price of a lot, in the shop's money (own judgement, for the same).
pub const MOST_PRICE: f64 = 100_000.0;

/// One maker's lot in the shop.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lot {
    /// Number on the tin.
    pub lot: String,
    /// `a` or `b` for two-part materials; empty for one part.
    #[serde(default)]
    pub part: String,
    /// Day it was opened; absent means sealed.
    #[serde(default)]
    pub opened: Option<NaiveDate>,
    /// Use by.
    #[serde(default)]
    pub expires: Option<NaiveDate>,
    /// What is in it when full, grams; of a lot of several tins, all of them together.
    #[serde(default)]
    pub holds_g: Option<u32>,
    /// The same, millilitres.
    #[serde(default)]
    pub holds_ml: Option<u32>,
    /// The same, leaves.
    #[serde(default)]
    pub holds_leaves: Option<u32>,
    /// What all of it cost, in the shop's money. Of leaf that does not say what it holds, what
    /// one book cost.
    #[serde(default)]
    pub price: Option<f64>,
}

impl Material {
    /// Returns the unit in which it is counted: `g`, `ml` or `leaves`.
    pub fn unit(&self) -> &'static str {
        match self.kind {
            MaterialKind::Leaf => "leaves",
            _ if self.ratio.is_some() => "g",
            _ => "ml",
        }
    }

    /// Returns what a lot holds when full, in the unit of the material; `None` where nobody
    /// said so in that unit.
    pub fn holds(&self, lot: &Lot) -> Option<f64> {
        let holds = match self.unit() {
            "g" => lot.holds_g,
            "ml" => lot.holds_ml,
            _ => lot.holds_leaves,
        };
        holds.map(f64::from)
    }

    /// Returns for how much, in the unit of the material, the price of a lot is: for what it
    /// holds; of leaf that does not say so, for one book.
    pub fn priced_amount(&self, lot: &Lot) -> Option<f64> {
        let book = self.leaves_per_book.map(f64::from);
        let book = book.filter(|_| self.kind == MaterialKind::Leaf);
        self.holds(lot).or(book)
    }

    /// Returns the price of one gram, millilitre or leaf of a lot; `None` without a price, or
    /// where nobody said what it is for.
    pub fn unit_price(&self, lot: &Lot) -> Option<f64> {
        Some(lot.price? / self.priced_amount(lot)?)
    }
}

/// The clocks of the trade, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClockName {
    /// Pot life in the cup.
    Cup,
    /// Closing time of the joint.
    Closing,
    /// Clamps may come off.
    Clamps,
    /// Sand, load, coat.
    Load,
    /// Left-over cup until cold.
    Leftover,
    /// Full cure.
    FullCure,
    /// Gloves.
    Glove,
    /// Mask cartridge.
    Cartridge,
    /// Dwell of stripper.
    Dwell,
    /// Purge before masks come off.
    Purge,
    /// Drying of washed wood.
    Drying,
    /// Recoat window.
    Recoat,
    /// Size at an edge.
    TackEdge,
    /// Size on a flat.
    TackFlat,
    /// Size in a hollow.
    TackHollow,
    /// Leaf set, may be rubbed.
    LeafSet,
    /// Dust settling.
    Dust,
}
