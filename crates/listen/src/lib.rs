//! The listening page: a local server that plays a session before and after its
//! moves beside the reference, all at one loudness, and takes yes or no to each move.
//!
//! [`Room`] holds what is listened to, [`serve`] opens it to one browser on this
//! machine. Nothing leaves the machine: the server binds to loopback, answers only
//! its own page, opened with its token, and gives no file but the session's sound
//! as samples.

mod assets;
mod blind;
mod decide;
mod error;
mod guard;
mod laid;
mod live;
mod matching;
mod pcm;
mod room;
mod room_facts;
mod server;
mod sources;

pub use error::ListenError;
pub use room::Room;
pub use server::{Serving, serve};
