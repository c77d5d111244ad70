//! Moves from measures: the anchor and the first balance.
