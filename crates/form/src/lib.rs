//! Sections on bar lines and the busiest passage.

mod bar_frames;
mod busiest;
mod find;
mod form;
mod naming;
mod segmentation;
mod similarity;

pub use find::{FormInput, find_form};
pub use form::{Form, Passage, Section, SectionName};
