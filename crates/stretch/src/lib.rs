//! Time stretching and transposing for listening.
