//! How heavily a dual of a study weighs.
//!
//! - *cook*: another first move.
//! - *minor*: at the line's last move; or another piece for the same pawn; or by another order of moves, that is,
//!   play can be back in a later position of the main line within three plies after it, no man of the other side's being
//!   given away on the way.
//! - *serious*: any other.
//!
//! Moves that only waste time are no duals at all (`only`).

use super::super::motif;
use super::super::notation::{after, numbered};
use super::lines::Line;
use crate::game::rules;
use shakmaty::{Chess, EnPassantMode, Move, Position};

/// At most so many positions are looked at for a way back.
const LOOKED_AT: usize = 30_000;

/// What a dual amounts to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    Cook,
    /// Why it is no more.
    Minor(String),
    Serious,
}

/// The solver's first and last ply in the main line, counted from 0.
#[derive(Clone, Copy)]
pub(super) struct Ends {
    pub first: usize,
    pub last: usize,
}

/// Weighs another move of the solver's at a ply of the main line.
pub(super) fn weigh(main: &Line, ply: usize, ends: Ends, dual: Move) -> Weight {
    let Some(played) = main.moves.get(ply) else { return Weight::Serious };
    if ply == ends.first {
        return Weight::Cook;
    }
    if dual.from() == played.chosen.from() && dual.to() == played.chosen.to() && dual.is_promotion() {
        return Weight::Minor("only the promotion differs".into());
    }
    if let Some(line) = transposed(main, ply, dual) {
        return Weight::Minor(format!("{line} transposes"));
    }
    if ply == ends.last {
        return Weight::Minor("it is the last move".into());
    }
    Weight::Serious
}

/// Whether men, side to move and rights are the same.
fn same(one: &Chess, other: &Chess) -> bool {
    one.turn() == other.turn()
        && one.board() == other.board()
        && one.castles().castling_rights() == other.castles().castling_rights()
        && one.ep_square(EnPassantMode::Legal) == other.ep_square(EnPassantMode::Legal)
}

/// The shortest way, of at most three plies after the dual, into a later position of the main line.
fn transposed(main: &Line, ply: usize, dual: Move) -> Option<String> {
    let start = &main.moves[ply].before;
    let later: Vec<&Chess> =
        main.moves[ply + 1..].iter().map(|played| &played.before).chain([&main.end]).skip(1).collect();
    let mut front: Vec<(Chess, Vec<Move>)> = vec![(after(start, dual), vec![dual])];
    for _ in 0..3 {
        let mut next = Vec::new();
        for (here, line) in &front {
            for chosen in here.legal_moves() {
                let reached = after(here, chosen);
                // A reply that puts its man where it is taken is not what anyone would transpose by.
                if here.turn() != start.turn() && motif::is_lost(&reached, rules::target(chosen)) {
                    continue;
                }
                let mut line = line.clone();
                line.push(chosen);
                if later.iter().any(|position| same(position, &reached)) {
                    return Some(numbered(start, &line));
                }
                next.push((reached, line));
            }
        }
        if next.len() > LOOKED_AT {
            return None;
        }
        front = next;
    }
    None
}
