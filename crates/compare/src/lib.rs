//! Passages, equal loudness and the distance between a mix and its reference.
