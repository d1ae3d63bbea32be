//! The only thing that is printed as an error: what, where, what to do.
