//! Pages made from a standing, never from the screen.

mod tell;

pub use tell::{DayLine, DayMark, mark, tell};
