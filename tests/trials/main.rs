//! The one test program. `tidy` fails if a file of this folder is not listed here.
#![expect(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a trial that cannot go on has failed; the lint's own exception stops at #[test] functions"
)]

mod cards;
mod checklist_ways;
mod checklists;
mod crash;
mod journal;
mod kit;
mod shops;
