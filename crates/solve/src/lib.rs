//! Moves from measures: anchor, levels, lean, and what each of them does.
//!
//! [`fit_views`] is the numerical core: gains that make a mix look like a reference
//! from several sides at once. [`balance`] turns measures into moves a person
//! can make, in stages: the anchor, kick and bass, the core, the rest, left and
//! right.

mod anchor;
mod audible;
mod balance;
mod faders;
mod few;
mod hits;
mod input;
mod lean;
mod lean_windows;
mod levelling;
mod levels;
mod low_moves;
mod mix_scene;
mod mono;
mod ownership;
mod path;
mod point;
mod prior;
mod reasons;
mod remains;
mod scene;
mod shift;
mod tell;
mod view;
mod view_fit;
mod views;

pub use anchor::{anchor_trim_db, headroom_cut_db};
pub use audible::{Audible, audible, is_core};
pub use balance::{Balance, BandLeft, CannotTell, balance};
pub use faders::standing;
pub use hits::{LowHit, Polarity, polarity};
pub use input::{BalanceInput, Beside, MeasuredTrack, Stages};
pub use lean::{Beam, LeanElement, beams};
pub use levels::{
    AnchorOff, LevelInput, LevelTrack, Levels, PrintPlace, Prints, ReferenceKind, SONG_ERROR_DB,
    SONG_PART, Told,
};
pub use mix_scene::MixScene;
pub use mono::{MonoLoss, mono_losses};
pub use path::{Path, Step};
pub use prior::{UsualLevel, usual_level};
pub use remains::{Remains, band_differences, remains};
pub use scene::Scene;
pub use shift::{Offset, offset};
pub use view::{Belief, Reading, View};
pub use view_fit::{ViewFit, ViewProblem, cost_at, fit_views};
