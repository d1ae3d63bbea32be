//! Pure: looks ahead.
