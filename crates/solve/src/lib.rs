//! Moves from measures: the anchor and the first balance.
//!
//! [`fit`] is the numerical core: faders that bring band energies near those of
//! a reference at equal loudness. [`balance`] turns measures into moves a person
//! can make.

mod anchor;
mod balance;
mod fit;
mod reasons;
mod scene;
mod view_fit;

pub use anchor::{anchor_trim_db, headroom_cut_db};
pub use balance::{Balance, BalanceInput, BandLeft, MeasuredTrack, balance};
pub use fit::{FitProblem, Fitted, fit};
pub use scene::Scene;
pub use view_fit::{Belief, Reading, View, ViewFit, ViewProblem, fit_views};
