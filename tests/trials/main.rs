//! The one test program. `tidy` fails if a file of this folder is not listed here.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::disallowed_methods,
    unreachable_pub,
    reason = "a trial that cannot go on says so by panicking, and reads its golden files"
)]

mod kit;
mod screens;
