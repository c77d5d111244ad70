//! An invented session and its reference, made from a seed.
