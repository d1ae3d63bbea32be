//! The one test program. `tidy` fails if a file of this folder is not listed here.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a trial that cannot go on has failed; the lints' own exceptions stop at #[test] functions"
)]

mod alarm_laws;
mod alarms;
mod cards;
mod checklist_ways;
mod checklists;
mod clocks;
mod clocks_air;
mod clocks_mix;
mod commands;
mod commands_refused;
mod crash;
mod dossier;
mod evidence;
mod faults;
mod gates;
mod gates_air;
mod heralds;
mod joint_facts;
mod journal;
mod keys;
mod kit;
mod laws;
mod laws_bench;
mod laws_deeds;
mod layers;
mod learning;
mod memory;
mod night;
mod photographs;
mod published;
mod quantities;
mod readme;
mod reckon_topics;
mod sample;
mod screens;
mod sensors;
mod shops;
mod sums_air;
mod sums_bench;
mod sums_fit;
mod sums_shape;
mod sums_wood;
mod texts;
mod tidy;
mod topics_bench;
mod walks;
mod window;
mod worker;
mod worker_strikes;
