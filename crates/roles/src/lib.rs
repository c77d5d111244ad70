//! What each track plays, by file name and by sound; elements.
//!
//! [`role_of_name`] reads a file name, [`sound_of`] what was measured of the
//! samples, and [`role_of`] weighs both. [`elements`] puts tracks together that
//! do one job.

mod elements;
mod finding;
mod hit_finder;
mod hit_shape;
mod hop_levels;
mod name_words;
mod names;
mod network;
mod sound;
#[cfg(test)]
mod standard_names;
mod steady_lows;
mod timbre_features;
mod timbre_meter;
mod tone_frame;

pub use elements::{Element, Playing, elements};
pub use finding::{By, RoleFinding, role_of};
pub use names::{common_prefix_len, role_of_name};
pub use sound::{SoundFinding, SoundInput, sound_of};
pub use timbre_meter::{TimbreFrames, TimbreMeter};
