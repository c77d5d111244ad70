//! What music the samples hold: so far, roles by file name.

mod names;

pub use names::{common_prefix_len, role_of_name};
