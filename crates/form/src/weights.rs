//! What the weights of the cut are.

use crate::features::{SHARED, TYPED};
use crate::semi_markov::KINDS;

/// Weights of everything that speaks for a section; kinds in the order intro,
/// build, drop, break, outro.
pub(crate) struct Weights {
    /// Of the features of a run of bars, whatever its kind.
    pub shared: [f64; SHARED],
    /// Of the features that each kind weighs by itself.
    pub typed: [[f64; TYPED]; KINDS],
    /// Of one kind following another.
    pub changes: [[f64; KINDS]; KINDS],
}
