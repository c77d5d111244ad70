//! The session file: tracks, targets and moves, with hand edits kept.
//!
//! [`Session`] is the typed content of `session.toml` together with the text it
//! came from: [`Session::to_toml`] writes changed keys into that text and leaves
//! comments, blank lines and order alone. [`SessionLock`] keeps two commands
//! from writing at once, and [`Session::save`] refuses to write over an edit
//! made meanwhile.
//!
//! ```
//! use cupel_session::Session;
//!
//! let text = "format = 1 # by hand\n\n[targets]\nkick_peak_dbfs = -10\n";
//! let mut session = Session::parse(text)?;
//! assert_eq!(session.targets.kick_peak_dbfs, -10.0);
//! session.targets.kick_peak_dbfs = -12.5;
//! assert_eq!(
//!     session.to_toml(),
//!     "format = 1 # by hand\n\n[targets]\nkick_peak_dbfs = -12.5\n"
//! );
//! # Ok::<(), cupel_session::SessionError>(())
//! ```

mod adopt;
mod editor;
mod error;
mod file;
mod ids;
mod lock;
mod merge;
mod model;
mod moves;
mod origin;
mod pan_law;
mod parameters;
mod parse;
mod parse_move;
mod reader;
mod replace;
mod round;
mod suggest;
mod target;
mod values;
mod version_name;
mod words;
mod write;
mod write_tables;

pub use adopt::{Adoption, Changed, FoundTrack, Renamed, Twin};
pub use error::{Problem, SessionError};
pub use ids::ids_from_names;
pub use lock::SessionLock;
pub use model::{
    FORMAT, FileEntry, MusicSettings, Passage, ReferenceEntry, Session, Targets, Track,
};
pub use moves::{At, Breakpoint, By, Move, stage_rank};
pub use pan_law::PanLaw;
pub use parameters::{Delay, MoveKind, Parameters};
pub use replace::{Keep, Replaced};
pub use round::round_for_hand;
pub use target::Target;
pub use version_name::name_without_version;

pub use cupel_units::{Group, Role};
