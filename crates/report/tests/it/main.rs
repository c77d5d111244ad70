//! The page as a reader gets it.

mod bar_map;
mod drawings;
mod edges;
mod markup;
mod sample;
mod structure;
mod words;
