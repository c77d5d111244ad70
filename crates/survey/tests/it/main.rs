//! Files measured whole, beside a second implementation.

mod sessions;
mod stored;
