//! The one test program. `tidy` fails if a file of this folder is not listed here.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "clippy's test settings do not reach the functions that tests share"
)]

mod cards;
