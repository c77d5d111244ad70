//! One file a kind of finding, by family.

pub(crate) mod dynamics;
pub(crate) mod files;
pub(crate) mod level;
pub(crate) mod low_end;
pub(crate) mod masking;
pub(crate) mod reference;
pub(crate) mod sound;
pub(crate) mod space;
pub(crate) mod stereo;
pub(crate) mod top_and_middle;
pub(crate) mod translation;
