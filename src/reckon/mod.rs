//! The trade's arithmetic: pure sums, and the quantities with units that they take and give.
//!
//! Every sum documents its formula, the limits inside which it holds, its safe side, its
//! source, and one worked example. Outside its limits a sum refuses and names the limits;
//! it never extrapolates quietly. Start reading at [`Estimate`] and [`quantity`].

pub mod approach;
pub mod colour;
pub mod dew;
pub mod dilution;
pub mod drying;
mod estimate;
pub mod exposure;
mod known;
pub mod learned;
pub mod limits;
pub mod line;
pub mod meter;
pub mod moisture;
pub mod movement;
pub mod purge;
pub mod quantity;
pub mod quantity_text;
pub mod readings;
pub mod solid;
mod twin;
pub mod woods;

pub use estimate::Estimate;
pub use known::Known;
pub use limits::{Limits, SumTrouble};
pub use quantity::{
    Celsius, CubicMetres, CubicMetresPerMinute, Grams, GramsPerMillilitre, Hours, Litres,
    Micrometres, Millilitres, Millimetres, Minutes, PartsPerMillion, Percent, SquareMetres,
    SquareMetresPerLitre,
};
pub use quantity_text::{Measured, QuantityTrouble, Unit, nearest, read};
