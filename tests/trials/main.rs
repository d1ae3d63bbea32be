//! The one test program. `tidy` fails if a file of this folder is not listed here.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod laws_bench;
mod published;
mod quantities;
mod reckon_topics;
mod sums_air;
mod sums_bench;
mod sums_fit;
mod sums_shape;
mod sums_wood;
mod topics_bench;
