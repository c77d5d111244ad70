//! What is wrong in a mix, where, on which track, by how much, and how to hear it.
//!
//! [`judge`] takes [`Evidence`] (plain figures that were measured before) and gives
//! [`Finding`]s, those that hold the mix back most first, what follows from another
//! folded under its cause. Every finding has one file in `kinds/`, under the same
//! headings: they are the fields of its [`Kind`], which people read too.
//!
//! It opens no files and starts no threads; same evidence, same findings.

mod catalogue;
mod evidence;
mod finding;
mod fold;
mod judge;
mod kind;
mod kinds;
mod needs;
mod rank;
mod say;
#[cfg(test)]
mod trial;

pub use catalogue::{all_kinds, kind_named};
pub use evidence::*;
pub use finding::*;
pub use judge::{judge, judge_all};
pub use kind::*;
pub use needs::{Need, needs};
