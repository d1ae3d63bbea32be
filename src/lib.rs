//! `knuckle`: a bench companion in the terminal for people who restore antique carved,
//! painted and gilded wooden figures.
//!
//! The rooms of the house, in reading order. Each room uses only what stands before it;
//! `tests/trials/tidy.rs` holds them to it.
//!
//! `reckon ‹ card ‹ deed ‹ standing ‹ plan ‹ journal ‹ shop ‹ report ‹ alarm ‹ screen ‹ command ‹ main`
//!
//! The first five are pure: no clock, no disk, no terminal, no environment.
//! [`now`] is the only reader of time, [`disk`] the only door to files, and [`trouble`]
//! the only thing that is printed as an error.

pub mod reckon;

pub mod card;

pub mod deed;

pub mod standing;

pub mod plan;

pub mod trouble;

pub mod now;

pub mod disk;

pub mod journal;

pub mod shop;

pub mod report;

pub mod alarm;

pub mod screen;

pub mod command;
