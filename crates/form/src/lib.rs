//! Sections on bar lines and the busiest passage.

mod bar_frames;
mod busiest;
mod certainty;
mod edges;
mod features;
mod find;
#[doc(hidden)]
pub mod fitting;
mod form;
mod music_end;
mod naming;
mod profile;
mod semi_markov;
mod similarity;
mod weights;
mod weights_mix;
mod weights_tracks;

pub use find::{FormInput, find_form};
pub use form::{Form, Passage, Section, SectionName};
