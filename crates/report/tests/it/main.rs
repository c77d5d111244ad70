//! The page as a reader gets it.

mod bar_map;
mod drawings;
mod edges;
mod markup;
mod more_drawings;
mod sample;
mod structure;
mod words;
