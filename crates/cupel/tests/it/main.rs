//! User stories: files in, answers out, through the built program.

// A test that cannot go on should stop where it is.
#![allow(clippy::unwrap_used)]

mod support;

mod adding_up;
mod assay;
mod balance;
mod balance_kick;
mod balance_levels;
mod balance_low_end;
mod balance_sections;
mod balance_sides;
mod cache;
mod findings;
mod help;
mod listen;
mod listen_server;
mod looping;
mod made_mix;
mod measure;
mod next;
mod open;
mod render;
mod render_levels;
mod reopen;
mod report;
mod safety;
mod session_file;
