//! Whether the exported tracks can be trusted to add up to the mix.
