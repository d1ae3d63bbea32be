//! What rings.
