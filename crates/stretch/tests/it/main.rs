//! Goals of the stretching, measured on made passages and, where
//! `CUPEL_SESSIONS` names them, on references of shared sessions.

// A test that cannot go on should stop where it is; channels are cloned for plainness.
#![allow(clippy::unwrap_used, clippy::cloned_ref_to_slice_refs)]

mod edges;
mod hits;
mod material;
mod meters;
mod pitch;
mod shared;
mod spectrum;
mod stereo;
