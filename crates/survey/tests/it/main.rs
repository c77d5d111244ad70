//! Files measured whole, beside a second implementation.

#![allow(clippy::unwrap_used)] // in tests a failed step should end the test

mod sessions;
mod stored;
