//! The one bench program: `cargo bench --bench speed [NAME]`.
//!
//! Names are `room/act/size`. Each bench stands beside a bare one on the same disk in the same
//! process; only their ratio means anything. The files lie under the build folder, so the
//! numbers are those of the disk that holds it; write machine and file system beside them.
//! Two big shops are made there at the first run: 100 MB and 0.5 GB.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a bench that cannot go on has no result; the lint's own exception stops at #[test] functions"
)]
#![expect(
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench prints what it measured, reads the steady clock and makes its own files"
)]

mod big_shop;
mod journal;
mod keys;
mod plan;
mod search;
mod start;
mod tail;
mod watch;
mod window;

use criterion::Criterion;

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    search::bench();
    keys::bench();
    start::bench();
    watch::bench();
    journal::bench(&mut criterion);
    plan::bench(&mut criterion);
    criterion.final_summary();
}
