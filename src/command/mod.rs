//! One file per command; the argument table.
