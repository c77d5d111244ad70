//! What every step needs beside its input.

use cupel_store::Store;

/// The store, and where progress goes.
pub struct Context<'a> {
    /// What was measured before.
    pub store: &'a Store,
    /// Called with the part done, 0 to 1, and what is being done.
    pub progress: &'a (dyn Fn(f64, &str) + Sync),
}

impl std::fmt::Debug for Context<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Context")
            .field("store", self.store)
            .finish_non_exhaustive()
    }
}
