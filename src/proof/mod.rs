//! Claim + position → [`Verdict`] with its witness.
//!
//! Comes in: a resolved [`Game`]. Goes out: a verdict for each claim in it. Says *proven* or *refuted* only of what
//! was decided without doubt; everything else is *open*. With `game` the only room that names shakmaty.

use crate::game::{Game, NodeId};
use crate::source::Span;

/// What became of a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// It is true.
    Proven,
    /// It is false.
    Refuted,
    /// Neither was shown within the budget.
    Open,
}

/// A claim of the film with its verdict.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Index of the scene.
    pub scene: usize,
    /// The position the claim is about.
    pub node: NodeId,
    /// The phrase, as the timeline has it.
    pub claim: String,
    /// True, false or open.
    pub verdict: Verdict,
    /// The line that proves or refutes it, in SAN; or a sentence that says why it is open.
    pub witness: String,
    /// Where the claim is written.
    pub span: Span,
}

/// Judges every claim of the film.
pub fn judge(_game: &Game) -> Vec<Finding> {
    Vec::new()
}
