//! Key, tuning, bass notes and the sound of the kick.
//!
//! [`HarmonyMeter`] and [`KickMeter`] listen along while samples are read and
//! keep little; everything else reads what they kept: [`find_key`],
//! [`tonalness`], [`pitch_facts`], [`bass_notes`], [`kick_sound`] and
//! [`kick_against`]. No files are opened, no threads started.

mod bass_notes;
mod bass_onsets;
mod bass_path;
mod envelopes;
#[doc(hidden)]
pub mod fitting;
mod halver;
mod harmony_frames;
mod harmony_meter;
mod key;
mod key_features;
mod key_finding;
mod key_weights;
mod key_windows;
mod kick_average;
mod kick_frames;
mod kick_meter;
mod kick_place;
mod kick_sound;
mod low_frames;
mod mixdown;
mod peaks;
mod pitch_facts;
mod tonal_peaks;
mod tuning;

pub use bass_notes::{Note, bass_notes};
pub use harmony_frames::HarmonyFrames;
pub use harmony_meter::HarmonyMeter;
pub use key::{Key, KeyError, Mode};
pub use key_finding::{KeyCandidate, KeyFinding, find_key};
pub use kick_frames::KickFrames;
pub use kick_meter::KickMeter;
pub use kick_place::{KickPlace, kick_against};
pub use kick_sound::{KickSound, kick_sound};
pub use pitch_facts::{PitchFacts, pitch_facts, tonalness};
