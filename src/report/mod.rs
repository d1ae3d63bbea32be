//! Pages made from a standing, never from the screen.
