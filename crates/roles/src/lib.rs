//! What each track plays, by file name and by sound; elements.

mod names;

pub use names::{common_prefix_len, role_of_name};
