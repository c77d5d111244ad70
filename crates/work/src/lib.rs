//! The path from a folder of exported tracks to an answer.
//!
//! Each step is one function that takes what the step before gave: [`open`]
//! writes the session file, [`assay`] measures and judges whether the tracks can
//! be trusted, [`balance`] computes moves and writes them down, [`render`] makes
//! the pre-master, stems and comparison pair and measures again. Nothing is
//! printed here; progress goes to [`Context::progress`].

mod apart;
mod asked;
mod assay;
mod balance;
mod bar_read;
mod bars;
mod beats;
mod beside;
mod context;
mod element;
mod error;
mod evidence;
mod figures;
mod hearing;
mod in_key;
mod kept;
mod kick;
mod looping;
mod low_tracks;
mod low_waves_read;
mod measure;
mod musical;
mod names;
mod open;
mod passages;
mod place;
mod place_audio;
mod problem;
mod raw;
mod render;
mod report;
mod roles;
mod scene_read;
mod sections;
mod session_music;
mod sources;
mod surveyed;
mod tempo_range;
mod trusting;

pub use assay::{Assayed, assay};
pub use balance::{BalanceOptions, Balanced, Predicted, balance};
pub use bars::{BarSide, Bars};
pub use beats::Beats;
pub use context::Context;
pub use error::WorkError;
pub use figures::{MixFigures, mix_figures};
pub use hearing::{Hearing, Stereo, hear_path, hear_plan, renders, stereo_lufs};
pub use kick::{FoundBy, Kick};
pub use looping::{Laid, LoopOptions, Looped, lay_reference, loop_reference, semitones_to_session};
pub use measure::measure;
pub use musical::{Musical, SURE, music_of_file};
pub use open::{OpenOptions, Opened, open};
pub use passages::{Passages, ReferenceSide};
pub use place::Place;
pub use problem::Problem;
pub use raw::RawTracks;
pub use render::{RenderOptions, Rendered, render};
pub use report::{Reported, report};
pub use surveyed::{FileState, Surveyed, TrackState};
pub use tempo_range::TempoRange;
