//! The folder of a shop: find, open, list.

mod keeper;

pub use keeper::{Keeper, KeptLine, Stop, book_path};
