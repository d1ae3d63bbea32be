//! The only door to files: append, sync, replace, lock, read.
