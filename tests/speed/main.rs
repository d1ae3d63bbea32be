//! The one bench program: `cargo bench --bench speed [NAME]`.
//!
//! Names are `room/act/size`. Each bench stands beside a bare one on the same disk in the same
//! process; only their ratio means anything. The files lie under the build folder, so the
//! numbers are those of the disk that holds it; write machine and file system beside them.
#![expect(
    clippy::unwrap_used,
    reason = "a bench that cannot go on has no result; the lint's own exception stops at #[test] functions"
)]

mod journal;
mod plan;

use criterion::Criterion;

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    journal::bench(&mut criterion);
    plan::bench(&mut criterion);
    criterion.final_summary();
}
