//! The trade's arithmetic: pure sums, and the quantities with units that they take and give.
//!
//! Every sum documents its formula, the limits inside which it holds, its safe side, its
//! source, and one worked example. Outside its limits a sum refuses and names the limits;
//! it never extrapolates quietly. Start reading at [`Estimate`] and [`quantity`].

mod estimate;
pub mod quantity;

pub use estimate::Estimate;
pub use quantity::{
    Celsius, Grams, Hours, Litres, Micrometres, Millilitres, Millimetres, Minutes, Percent,
    SquareMetres,
};
