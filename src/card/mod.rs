//! Pure: YAML text becomes the cards of a shop. A card is what people write; the program
//! never writes one back. Start reading at [`Cards`], then [`Checklist`].
//!
//! Every type here denies unknown fields, so that a slip of the pen is a flaw with a place
//! and not a silent nothing. A card with flaws is there as far as it was read, and named in
//! [`Flawed`].

mod checklist;
mod figure;
mod flaw;
mod ghs;
mod hours;
mod material;
mod measure;
mod near;
mod outline;
mod read;
mod rescue;
mod safety;
mod shop;
mod tree;
mod work_hours;

use std::collections::BTreeMap;

pub use checklist::{
    Branch, Caution, Checklist, Coats, Condition, Effect, Fault, GateAsk, GateKind, Grid, Hold,
    LAID_BY, Manner, Mix, Need, Record, SPRAYED, Scope, StartClock, Step, Until, When, WordScale,
};
pub use figure::{
    Figure, Finish, Joint, JointRow, Panel, Path, RouteStop, SHOP_BOOK, SolidShape, Wear, Zone,
    ZoneSolid,
};
pub use flaw::{Flaw, Flawed};
pub use ghs::{Hazard, hazard};
pub use hours::{Hour, OpenHours, Span};
pub use material::{
    Basis, ClockName, CureHours, GloveFigure, Lot, MOST_HELD, MOST_PRICE, Material, MaterialKind,
    PotLifePoint, Ratio, RecoatHours, SizeClass, Strength,
};
pub use measure::Measure;
pub use outline::{Build, Outline, OutlineSide, PlacedShape, Shape, builtin_outlines};
pub use read::{
    Parts, read_cards, read_checklist, read_figure, read_material, read_outline, read_parts,
    read_shop, take_apart,
};
pub use safety::{DEFERRAL, DEFERRAL_SHORT, SET_YOUR_NUMBER};
pub use shop::{
    DaysOff, Emergency, Mark, PeopleShown, Person, ReportWish, Room, Sensor, SensorKind, Shop,
    Units,
};
pub use tree::LONGEST_CARD;
pub use work_hours::{Each, Needs, StepHours, StepWait, WorkHours};

/// All cards of one shop, each under its id.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cards {
    /// The shop card.
    pub shop: Shop,
    /// Figure cards by figure id.
    pub figures: BTreeMap<String, Figure>,
    /// Material cards by material id.
    pub materials: BTreeMap<String, Material>,
    /// Drawings by figure id, of the figures that have one of their own.
    pub outlines: BTreeMap<String, Outline>,
    /// Checklists by id, the shop's own over the built-in ones.
    pub checklists: BTreeMap<String, Checklist>,
    /// Which of them were read only as far as their flaws let.
    pub flawed: Flawed,
}
