//! The folder of a shop: find, open, list.
