//! Verdicts of earlier runs, found again by all that they depend on.

use super::decide::Ruling;
use super::{Budget, Verdict};
use crate::game::{Claim, Node, NodeId};
use crate::units::Fnv;

/// The version of all that decides verdicts and their wording: a hash of their sources, made when the program was built.
pub const VERSION: &str = env!("PLYREEL_PROOF");

/// A place where verdicts are kept from one run to the next. Neither call fails: what cannot be kept is decided again.
pub trait Memory {
    /// The verdict and the witness kept under this number, whole and as they were put.
    fn recall(&self, question: u128) -> Option<(Verdict, String)>;

    /// Keeps a verdict with its witness.
    fn keep(&self, question: u128, verdict: Verdict, witness: &str);
}

/// Remembers nothing.
#[derive(Clone, Copy, Debug)]
pub struct NoMemory;

impl Memory for NoMemory {
    fn recall(&self, _: u128) -> Option<(Verdict, String)> {
        None
    }

    fn keep(&self, _: u128, _: Verdict, _: &str) {}
}

/// A number for a question and all that its verdict and its witness depend on: what comes first is what is asked, behind
/// it stand the budget, the user's tables and the program's own sources.
fn question(asked: &[&str], budget: Budget) -> u128 {
    let Budget { positions, bytes, men, fives, syzygy } = budget;
    let published = syzygy.map_or(0, super::Syzygy::identity);
    let within = format!("{positions} {bytes} {men} {fives:?} {published:x}");
    let mut hash = Fnv::default();
    for part in asked.iter().chain(&[VERSION, &within]) {
        hash.bytes(&(part.len() as u64).to_le_bytes());
        hash.bytes(part.as_bytes());
    }
    hash.value()
}

/// The ruling of an earlier run, or that of `decide`, which is kept. What the laws and the motifs' geometry tell at once
/// is not worth keeping.
pub(super) fn remembered(
    memory: &dyn Memory,
    (nodes, last, claim, budget): (&[Node], NodeId, &Claim, Budget),
    decide: impl FnOnce() -> Ruling,
) -> Ruling {
    if is_told_at_once(claim) {
        return decide();
    }
    // The position has its move number, which the witness counts from; some claims need the move before too.
    let (before, san) = match &nodes[last.0].came {
        Some((before, ply)) if claim.needs_a_move() => (nodes[before.0].fen.as_str(), ply.san.as_str()),
        _ => ("", ""),
    };
    recalled(memory, question(&[&nodes[last.0].fen, before, san, &claim.to_string()], budget), decide)
}

/// The same for what is no claim, asked of a position in words of its own.
pub(super) fn remembered_as(
    memory: &dyn Memory,
    (fen, asked, budget): (&str, &str, Budget),
    decide: impl FnOnce() -> Ruling,
) -> Ruling {
    recalled(memory, question(&[fen, asked], budget), decide)
}

fn recalled(memory: &dyn Memory, question: u128, decide: impl FnOnce() -> Ruling) -> Ruling {
    if let Some((verdict, witness)) = memory.recall(question) {
        return Ruling { verdict, witness };
    }
    let ruling = decide();
    memory.keep(question, ruling.verdict, &ruling.witness);
    ruling
}

fn is_told_at_once(claim: &Claim) -> bool {
    match claim {
        Claim::Check | Claim::Mate | Claim::Stalemate | Claim::OnlyMove | Claim::Motif(..) | Claim::Flights(..) => true,
        Claim::MateIn(_)
        | Claim::Threat(_)
        | Claim::ThreatMateIn(_)
        | Claim::Wins(_)
        | Claim::Draw
        | Claim::OnlyWinningMove
        | Claim::OnlyDrawingMove
        | Claim::Zugzwang => false,
    }
}
