//! Pure: decides and replays; gates and clocks.
