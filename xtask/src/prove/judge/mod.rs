//! Whether an answer is right: one judge a file, each by a published rule or one
//! written down beside it.

pub(crate) mod beats;
pub(crate) mod key;
pub(crate) mod layers;
pub(crate) mod loops;
pub(crate) mod roles;
pub(crate) mod sections;
pub(crate) mod sureness;
pub(crate) mod tempo;
