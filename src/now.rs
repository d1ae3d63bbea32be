//! The only reader of time: wall time, fixed time, sped time.
