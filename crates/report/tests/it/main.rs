//! The page as a reader gets it.

mod drawings;
mod edges;
mod markup;
mod sample;
mod structure;
mod words;
