//! Pure: YAML text becomes figures, materials, checklists and the shop card.
