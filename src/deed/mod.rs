//! Pure: what can be written in a journal.
