//! The one test program. `tidy` fails if a file of this folder is not listed here.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a trial that cannot go on has failed; the lints' own exceptions stop at #[test] functions"
)]

mod ahead;
mod ahead_kit;
mod alarm_laws;
mod alarms;
mod bench_sums;
mod benches;
mod bugs;
mod cache;
mod cards;
mod cautions;
mod checklist_ways;
mod checklists;
mod clocks;
mod clocks_air;
mod clocks_mix;
mod commands;
mod commands_refused;
mod costs;
mod crash;
mod crash_real;
mod day_pages;
mod deferral;
mod dossier;
mod evidence;
mod faults;
mod findings;
mod first_hour;
mod floors;
mod forecasts;
mod formats;
mod gates;
mod gates_air;
mod gates_anew;
mod hand_walks;
mod heralds;
mod hostile;
mod human_factors;
mod invented_day;
mod invented_shop;
mod joint_facts;
mod journal;
mod keys;
mod kinds;
mod kit;
mod later;
mod later_read;
mod laws;
mod laws_bench;
mod laws_deeds;
mod layers;
mod learning;
mod memory;
mod night;
mod outside;
mod overrules;
mod photographs;
mod photographs_bad;
mod picks;
mod pixels;
mod published;
mod putoff;
mod quantities;
mod readme;
mod reckon_topics;
mod reckoners;
mod report;
mod report_folder;
mod report_pages;
mod rework;
mod sample;
mod screens;
mod sensors;
mod shelf;
mod shops;
mod sums_air;
mod sums_bench;
mod sums_fit;
mod sums_shape;
mod sums_wood;
mod texts;
mod tidy;
mod tonight;
mod topics_bench;
mod walks;
mod window;
mod worker;
mod worker_strikes;
mod zones;
