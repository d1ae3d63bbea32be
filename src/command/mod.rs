//! One file per command; the argument table.

pub mod reckon;
