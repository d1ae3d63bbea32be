//! The trade's arithmetic: pure sums, and the quantities with units that they take and give.
//!
//! Every sum documents its formula, the limits inside which it holds, its safe side, its
//! source, and one worked example. Outside its limits a sum refuses and names the limits;
//! it never extrapolates quietly. Start reading at [`Estimate`] and [`quantity`].

pub mod approach;
pub mod batch;
pub mod coat;
pub mod colour;
mod count;
pub mod cure;
pub mod dew;
pub mod dilution;
pub mod drying;
pub mod equivalent;
mod estimate;
pub mod exposure;
pub mod gap;
pub mod glove;
mod known;
pub mod leaf;
pub mod learned;
pub mod limits;
pub mod line;
pub mod meter;
pub mod moisture;
pub mod movement;
pub mod pot_life;
pub mod purge;
pub mod quantity;
pub mod quantity_text;
pub mod readings;
pub mod solid;
pub mod tack;
pub mod trace;
mod twin;
pub mod woods;

pub use batch::{Batch, Correction, MixRatio, Verdict, correct, split_batch};
pub use coat::{
    Recoat, RecoatWindow, coats_left, judge_recoat, litres_for, spread_for_film, varnish_film,
    wet_film_for, wet_film_of,
};
pub use count::{counted, day_beside};
pub use cure::{Cure, Load, clamps_off};
pub use equivalent::{Pace, Stalled, equivalent_hours, hours_until};
pub use estimate::Estimate;
pub use gap::{GapRow, GapVolume, JointResin, gap_volume, gap_volume_at, resin_for};
pub use glove::{GloveChange, change_gloves};
pub use known::Known;
pub use leaf::{
    Ground, LeafCount, LeafJob, area_per_book, count_leaves, largest_panel, laying_time,
};
pub use limits::{Limits, SumTrouble};
pub use pot_life::{SheetPoint, promise};
pub use quantity::{
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, GramsPerMillilitre, Hours, Litres,
    Micrometres, Millilitres, Millimetres, Minutes, PartsPerMillion, Percent, SquareMetres,
    SquareMetresPerLitre,
};
pub use quantity_text::{Measured, QuantityTrouble, Unit, nearest, read};
pub use tack::{Air, LeafPlace, SizeClass, SizeTimes, Tack, tack};
pub use trace::{Trace, TraceFlaw};
