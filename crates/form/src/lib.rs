//! Sections on bar lines and the busiest passage.
