//! [`Timeline`] → [`Game`]: the tree of positions, every ply legal, with its time and span.
//!
//! Comes in: a timeline, and the texts of the PGN files it names. Goes out: a [`Game`] and every mistake. With
//! `proof` the only room that names shakmaty. Must not know: pixels, sound, how long a motion takes.

mod model;

pub use model::{
    Action, Arrow, Board, Body, Card, Claim, Claimed, Game, Ghost, Mark, Node, NodeId, Ply, Scene, State, Step, When,
    Words,
};

use crate::diag::Diagnostic;
use crate::source::Source;
use crate::timeline::Timeline;
use std::collections::HashMap;
use std::sync::Arc;

/// The PGN files a timeline names, by the name it uses; `Err` holds why one could not be read.
pub type PgnFiles = HashMap<String, Result<Arc<Source>, String>>;

/// Replays the timeline by the laws of chess.
pub fn resolve(_timeline: &Timeline, _files: &PgnFiles) -> (Game, Vec<Diagnostic>) {
    (Game::default(), Vec::new())
}
