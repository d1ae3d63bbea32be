//! What the trials share.

pub mod golden;
pub mod picture;
pub mod scenes;
