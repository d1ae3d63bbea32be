//! The one bench program.

fn main() {}
