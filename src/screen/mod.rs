//! The terminal: events, keys, look, and one file per screen.
