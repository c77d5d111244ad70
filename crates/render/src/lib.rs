//! Renders a session with its moves: pre-master, group stems, comparison pair.
//!
//! [`Plan`] resolves a session's moves into settings of every track; [`run`]
//! streams all tracks through the graph once, block by block, and hands each
//! block to sinks that measure it or write it. Rendering is deterministic: the
//! tracks are processed in parallel and summed in track order.

mod error;
mod measuring;
mod outputs;
mod pair;
mod pass;
mod plan;

pub use error::RenderError;
pub use measuring::{Heard, hear_mix, hear_passage, measure_mix, measure_passage};
pub use outputs::{OutputFolder, Outputs, remove_unfinished_renders, write_outputs};
pub use pair::{Pair, Side, write_pair};
pub use pass::{Block, Sink, Span, run};
pub use plan::{PlacedSection, Plan, PlannedTrack};
