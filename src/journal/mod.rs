//! Lines on disk: append, seal, verify, torn end.
